"""The proof folder of a set: every picture as a small PNG, and the contact sheet of them all."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from functools import cache, partial
from html import escape
from pathlib import Path
from typing import NamedTuple

import numpy as np
from PIL import Image, ImageChops

from pipeline.base.errors import UserError
from pipeline.base.folders import whole_folder
from pipeline.base.geometry import MM_PER_INCH
from pipeline.draw import draw
from pipeline.impose.contents import Contents
from pipeline.impose.sheet import SheetSide
from pipeline.plan.model import Binding, Side
from pipeline.proof.pictures.pictures import MARGIN_MM, SetPictures, View, open_set, view_faces
from pipeline.proof.pictures.scene import GROUND
from pipeline.proof.read.raster import opened, page_picture, pixels
from pipeline.text import FontBook, Style, advance

PROOF = "proof"
PROOF_DPI = 110.0
"""Enough to read the smallest figure of a week on a screen; an A5 spread is 1,800 pixels wide."""


def write_proofs(set_folder: Path, dpi: float = PROOF_DPI) -> tuple[Path, ...]:
    """Draw all pictures of an imposed set into its ``proof`` folder; gives their paths, sorted.

    The folder appears whole: until the last picture is drawn, an earlier proof stays. Raises
    ``UserError`` when the set is not whole or its folder cannot be written to.
    """
    with open_set(set_folder, dpi) as pictures, whole_folder(set_folder / PROOF) as fresh:
        for name, picture in _pictures(pictures):
            save_png(picture, fresh / f"{name}.png")
    return tuple(sorted((set_folder / PROOF).iterdir()))


def _pictures(pictures: SetPictures) -> Iterator[tuple[str, Image.Image]]:
    """Every picture of a set with its name."""
    contents, last = pictures.contents, len(pictures.contents.leaves) - 1
    sides: tuple[SheetSide, SheetSide] = (1, 2)
    for index, sheet in enumerate(contents.sheets):
        for side in sides:
            yield f"sheet-{sheet.number:02d}-side-{side}", pictures.sheet(index, side)
    for index in range(len(contents.spreads)):
        draw_it = partial(pictures.spread, index)
        yield from _with_flaps(f"spread-{index + 1:02d}", draw_it, pictures.has_flap(index))
    for name, leaf, face in (("first-page", 0, Side.RECTO), ("last-page", last, Side.VERSO)):
        if contents.leaves[leaf].page(face) is not None:
            draw_it = partial(pictures.single, leaf, face)
            yield from _with_flaps(name, draw_it, pictures.folds(leaf, face))
    yield "contact-sheet", contact_sheet(pictures)


def _with_flaps(
    name: str, draw_it: Callable[..., Image.Image], flaps: bool
) -> Iterator[tuple[str, Image.Image]]:
    """What is seen, with its flaps open and shut where it has any."""
    yield f"{name}-open" if flaps else name, draw_it()
    if flaps:
        yield f"{name}-shut", draw_it(shut=True)


VIEW_WIDTH = 580
"""About how many pixels one small spread is wide, with the table around it."""
_EDGE = 44
_CAPTION = 58
_HEAD = 118
_DARK = (66, 63, 58)
_QUIET = (140, 135, 127)
_REGULAR, _SEMIBOLD = 400, 600
FACES = {Side.RECTO: "front", Side.VERSO: "back"}
"""What a leaf's faces are called by people who cut and punch."""


def contact_sheet(pictures: SetPictures) -> Image.Image:
    """All spreads of a set with their flaps open, and the first and last page, with captions.

    A set bound on the right runs from right to left, as it is read.
    """
    contents, views = pictures.contents, pictures.views
    columns = min(len(views), 4 if len(views) > 6 else 3)
    rows = -(-len(views) // columns)
    small = pictures.at(VIEW_WIDTH / (pictures.view_width_mm / MM_PER_INCH))
    width, height = small.view(*views[0]).size
    sheet = Image.new(
        "RGB",
        (2 * _EDGE + columns * width, _HEAD + rows * (height + _CAPTION) + _EDGE // 2),
        GROUND,
    )
    margin = pixels(MARGIN_MM, small.dpi)
    captions = Captions()
    x, room = _EDGE + margin, sheet.width - 2 * (_EDGE + margin)
    sizes = f"{size_name(contents.binder.name)} on {size_name(contents.paper.name)}"
    facts = (contents.period.title, sizes, *amounts(contents))
    captions.add((x, 44), contents.set.title, Type(31, _SEMIBOLD, _DARK), room)
    captions.add((x, 80), "   ·   ".join(filter(None, facts)), Type(20, _REGULAR, _QUIET), room)
    for index, view in enumerate(views):
        row, column = divmod(index, columns)
        if contents.binding is Binding.RIGHT:
            column = columns - 1 - column
        left, top = _EDGE + column * width, _HEAD + row * (height + _CAPTION)
        sheet.paste(small.view(*view), (left, top))
        _captions(captions, small, view, left, top + height - margin + 8)
    return captions.lay_over(sheet)


def size_name(name: str) -> str:
    """A size's file name as people write it.

    >>> size_name("a5"), size_name("half-letter")
    ('A5', 'Half letter')
    """
    words = name.replace("-", " ")
    return words.upper() if any(sign.isdigit() for sign in words) else words.capitalize()


def amounts(contents: Contents) -> tuple[str, str]:
    """How many leaves and sheets a set has, in words."""
    leaves, sheets = len(contents.leaves), len(contents.sheets)
    return (
        f"{leaves} {'leaf' if leaves == 1 else 'leaves'}",
        f"{sheets} {'sheet' if sheets == 1 else 'sheets'}",
    )


def page_place(contents: Contents, leaf: int, face: Side) -> str:
    """Where a page is, in words: its leaf, the face, and where that is printed."""
    place, placed = f"leaf {leaf + 1} {FACES[face]}", contents.find(leaf, face)
    if placed is None:
        return place
    return f"{place}, sheet {contents.sheets[placed.sheet].number} side {placed.side}"


def _captions(captions: Captions, pictures: SetPictures, view: View, left: int, top: int) -> None:
    """Under each page of a view its label, its leaf and the side of the sheet it is printed on."""
    contents = pictures.contents
    width = pixels(contents.binder.width_mm, pictures.dpi)
    for leaf, face in view_faces(view):
        x = left + pixels(pictures.page_x_mm(face), pictures.dpi)
        page = contents.leaves[leaf].page(face)
        where = page_place(contents, leaf, face)
        label = Type(17, _REGULAR, _DARK if page else _QUIET)
        shows = page.label[:1].upper() + page.label[1:] if page else "Blank"
        captions.add((x, top + 14), shows, label, width)
        captions.add((x, top + 32), where, Type(14, _REGULAR, _QUIET), width)


_FAMILY = "Source Sans 3"
_STAND_INS = {_FAMILY: ("Noto Sans Arabic 105%", "Noto Sans Devanagari", "Noto Sans JP 90%")}
_DPI = 96.0
"""An SVG's own resolution: one of its pixels is one of the picture's."""
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


class Captions:
    """Lines of text to be laid over a picture, all at once."""

    def __init__(self) -> None:
        self._lines: list[str] = []

    def add(self, at: tuple[float, float], text: str, style: Type, width: float) -> None:
        """One line with its baseline's start ``at`` a pixel, cut to ``width`` pixels."""
        self._lines.append(
            f'<text x="{at[0]:g}" y="{at[1]:g}" font-size="{style.size:g}"'
            f' font-weight="{style.weight}" fill="#{bytes(style.colour).hex()}">'
            f"{escape(shortened(text, style, width))}</text>"
        )

    def lay_over(self, picture: Image.Image) -> Image.Image:
        """The picture with the lines on it; lines multiply, as ink does."""
        width, height = picture.size
        svg = (
            f'<svg xmlns="http://www.w3.org/2000/svg" width="{width}px" height="{height}px"'
            f' viewBox="0 0 {width} {height}" font-family="{_FAMILY}">{"".join(self._lines)}</svg>'
        )
        with opened(draw([svg.encode()], _book())) as document:
            return ImageChops.multiply(picture, page_picture(document[0], _DPI))


def shortened(text: str, style: Type, width: float) -> str:
    """The text, cut with an ellipsis where it is wider than ``width`` pixels.

    >>> shortened("Sowing list and bed plan", Type(20, 400, (0, 0, 0)), 60)
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


MOST_LOST = 6
"""How many of a channel's 255 levels a palette may be off by; more would be seen as banding."""


def with_palette(picture: Image.Image) -> Image.Image:
    """The picture with at most 256 colours, or as it is if that would be seen.

    >>> with_palette(Image.new("RGB", (4, 4), "white")).mode
    'P'
    """
    colour = picture.convert("RGB")
    few = colour.quantize(256, method=Image.Quantize.MEDIANCUT, dither=Image.Dither.NONE)
    lost = np.asarray(ImageChops.difference(few.convert("RGB"), colour)).max()
    return few if int(lost) <= MOST_LOST else colour


def save_png(picture: Image.Image, path: Path) -> None:
    """Write a picture as a small PNG, the same bytes for the same pixels."""
    with_palette(picture).save(path, format="PNG", optimize=True)
