"""Captions of proof pictures, set as pages are: in every script, with faces that stand in."""

from __future__ import annotations

from dataclasses import dataclass
from functools import cache
from html import escape
from typing import NamedTuple

from PIL import Image, ImageChops

from pipeline.base.errors import UserError
from pipeline.draw import draw
from pipeline.proof.read.raster import opened, page_picture
from pipeline.text import FontBook, Style, advance

_FAMILY = "Source Sans 3"
_STAND_INS = {_FAMILY: ("Noto Sans Arabic 105%", "Noto Sans Devanagari", "Noto Sans JP 90%")}
_DPI = 96.0
"""CSS pixels to the inch (CSS Values 3, absolute lengths): one of the SVG's is one drawn."""
_UNKNOWN = "·"
"""Stands for a character that no face has; the page itself is set with the collection's own."""


class Type(NamedTuple):
    """A size in pixels, a weight and a colour."""

    size: float
    weight: int
    colour: tuple[int, int, int]

    @property
    def style(self) -> Style:
        """As text is shaped."""
        return Style((_FAMILY,), self.size, self.weight)


@dataclass(frozen=True)
class _Line:
    x: float
    y: float
    text: str
    type: Type
    anchor: str


class Captions:
    """Lines of text to be laid over a picture, all at once."""

    def __init__(self) -> None:
        self._lines: list[_Line] = []

    def add(
        self, at: tuple[float, float], text: str, style: Type, width: float, anchor: str = "start"
    ) -> None:
        """One line with its baseline's start (or "end") ``at`` a pixel, cut to ``width`` pixels."""
        self._lines.append(_Line(*at, fitted(text, style, width), style, anchor))

    def lay_over(self, picture: Image.Image) -> Image.Image:
        """The picture with the lines on it; lines multiply, as ink does."""
        width, height = picture.size
        texts = "".join(
            f'<text x="{line.x:g}" y="{line.y:g}" text-anchor="{line.anchor}"'
            f' font-size="{line.type.size:g}" font-weight="{line.type.weight}"'
            f' fill="#{bytes(line.type.colour).hex()}">{escape(line.text)}</text>'
            for line in self._lines
        )
        svg = (
            f'<svg xmlns="http://www.w3.org/2000/svg" width="{width}px" height="{height}px"'
            f' viewBox="0 0 {width} {height}" font-family="{_FAMILY}">{texts}</svg>'
        )
        with opened(draw([svg.encode()], _book())) as document:
            return ImageChops.multiply(picture, page_picture(document[0], _DPI))


def fitted(text: str, style: Type, width: float) -> str:
    """The text, cut with an ellipsis where it is wider than ``width`` pixels.

    >>> fitted("Sowing list and bed plan", Type(20, 400, (0, 0, 0)), 60)
    'Sowi…'
    """
    text = "".join(sign if _known(sign) else _UNKNOWN for sign in text)
    if advance(text, style.style, _book()) <= width:
        return text
    while text and advance(text + "…", style.style, _book()) > width:
        text = text[:-1]
    return text.rstrip() + "…"


@cache
def _book() -> FontBook:
    return FontBook(None, _STAND_INS)


@cache
def _known(sign: str) -> bool:
    """Whether a face has a character."""
    try:
        advance(sign, Type(10, 400, (0, 0, 0)).style, _book())
    except UserError:
        return False
    return True
