"""A specimen sheet: how a collection's type looks in every language it is sold in."""

from __future__ import annotations

import datetime as dt
from collections.abc import Sequence
from dataclasses import dataclass

import svgwrite

from pipeline.draw import draw
from pipeline.text.fonts import FontBook

WIDTH_MM, HEIGHT_MM = 210.0, 297.0
"""ISO 216 A4, whatever paper the season is for: the sheet is for looking at."""

_MARGIN = 15.0
_INK, _QUIET = "#333333", "#777777"


@dataclass(frozen=True)
class SpecimenLine:
    """One language on the sheet: its locale, day names, a month, a range, figures and labels."""

    language: str
    right_to_left: bool
    names: str
    month: str
    interval: str
    figures: str
    labels: str


SPECIMEN_WEEK = (dt.date(2027, 3, 29), dt.date(2027, 4, 4))
"""A week across a month's end: its range is the longest kind."""


def specimen(
    title: str, families: Sequence[str], lines: Sequence[SpecimenLine], book: FontBook
) -> bytes:
    """A PDF with each of ``families`` at its weights, then each language set in all of them.

    There is at least one family; the first is taken for names, the last for labels. Raises
    UserError for characters that no face has.
    """
    pages: list[svgwrite.Drawing] = []
    top = HEIGHT_MM
    block = 22.2
    for line in lines:
        if top + block > HEIGHT_MM - _MARGIN:
            pages.append(_page())
            top = _MARGIN + 6
            if len(pages) == 1:
                top = _head(pages[0], title, families, book)
        _language(pages[-1], line, families, top)
        top += block
    return draw([page.tostring().encode() for page in pages], book, language="en")


def _page() -> svgwrite.Drawing:
    return svgwrite.Drawing(
        size=(f"{WIDTH_MM}mm", f"{HEIGHT_MM}mm"),
        viewBox=f"0 0 {WIDTH_MM:g} {HEIGHT_MM:g}",
        debug=False,
    )


def _head(page: svgwrite.Drawing, title: str, families: Sequence[str], book: FontBook) -> float:
    page.add(_text(title, _MARGIN, 27, families[0], 12))
    y = 38.0
    for family in families:
        faces = book.faces(family)
        low = min((face.weights[0] for face in faces), default=400)
        high = max((face.weights[1] for face in faces), default=400)
        weights = sorted(
            {low, *(weight for weight in (400, 550, 700) if low < weight < high), high}
        )
        page.add(_text(family, _MARGIN, y, families[-1], 2.6, _QUIET))
        for number, weight in enumerate(weights):
            x = _MARGIN + 34 + number * (WIDTH_MM - 2 * _MARGIN - 34) / len(weights)
            page.add(_text("Garden 27", x, y, family, 4.8, font_weight=f"{weight:g}"))
            page.add(_text(f"{weight:g}", x, y + 3.4, families[-1], 2.0, _QUIET))
        y += 10
    return y - 1


def _language(
    page: svgwrite.Drawing, line: SpecimenLine, families: Sequence[str], top: float
) -> None:
    right = WIDTH_MM - _MARGIN
    start = right if line.right_to_left else _MARGIN
    end = _MARGIN if line.right_to_left else right
    page.add(page.line((_MARGIN, top), (right, top), stroke="#bbbbbb", stroke_width=0.2))
    page.add(_text(line.language, _MARGIN, top + 3.6, families[-1], 2.2, _QUIET))
    way = {"direction": "rtl"} if line.right_to_left else {}
    last = {**way, "text_anchor": "end"}
    page.add(_text(line.month, start, top + 9.6, families[0], 7.2, **way))
    page.add(_text(line.interval, end, top + 10.5, families[-1], 4.6, font_weight="300", **last))
    page.add(_text(line.names, start, top + 16.6, families[0], 4, **way))
    page.add(_text(line.figures, start, top + 20.4, families[-1], 2.7, **way))
    page.add(_text(line.labels, end, top + 20.4, families[-1], 2.3, _QUIET, **last))


def _text(
    content: str, x: float, y: float, family: str, size: float, fill: str = _INK, **other: str
) -> svgwrite.text.Text:
    insert, family = (round(x, 3), round(y, 3)), f"'{family}'"
    return svgwrite.text.Text(
        content, insert, font_family=family, font_size=size, fill=fill, debug=False, **other
    )
