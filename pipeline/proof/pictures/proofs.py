"""The proof folder of a set: every picture as a small PNG, and the contact sheet of them all."""

from __future__ import annotations

import secrets
import shutil
from collections.abc import Callable, Iterator, Mapping
from functools import cache, partial
from html import escape
from pathlib import Path
from typing import NamedTuple

from PIL import Image, ImageChops
from pypdf import PdfReader

from pipeline.base.cache import key_of
from pipeline.base.errors import UserError
from pipeline.base.folders import whole_folder
from pipeline.base.geometry import MM_PER_INCH
from pipeline.base.records import Record, read_record, write_record
from pipeline.draw import draw
from pipeline.impose.contents import Contents, edition_digest
from pipeline.impose.sheet import SheetSide
from pipeline.plan.model import Binding, Side
from pipeline.proof.pictures.pictures import MARGIN_MM, SetPictures, View, open_set, view_faces
from pipeline.proof.pictures.scene import GROUND
from pipeline.proof.read.pagecontent import pages_content
from pipeline.proof.read.raster import opened, page_picture, pixels, png_of
from pipeline.text import FontBook, Style, advance

PROOF = "proof"
PROOF_DPI = 110.0
"""Enough to read the smallest figure of a week on a screen; an A5 spread is 1,800 pixels wide."""


_NOTE = ".drawn.json"


class ProofRecord(Record):
    """What pictures were drawn from: the whole set's files, and for each by name its own pages."""

    edition: str
    pictures: Mapping[str, str]


def write_proofs(set_folder: Path, dpi: float = PROOF_DPI) -> tuple[Path, ...]:
    """Draw all pictures of an imposed set into its ``proof`` folder; gives their paths, sorted.

    A picture whose pages are as they were is kept. The folder appears whole: until the last picture
    is drawn, an earlier proof stays. Raises ``UserError`` when the set is not whole or its folder
    cannot be written to.
    """
    target, edition = set_folder / PROOF, key_of(edition_digest(set_folder), dpi)
    try:
        before = read_record(target / _NOTE, ProofRecord, "")
    except UserError:
        before = None
    known = {
        name: key
        for name, key in (before.pictures if before else {}).items()
        if (target / name).is_file()
    }
    if before is None or before.edition != edition or len(known) < len(before.pictures):
        with open_set(set_folder, dpi) as pictures, whole_folder(target) as fresh:
            made = dict[str, str]()
            for one in _pictures(pictures, _Sources(set_folder, pictures)):
                name = f"{one.name}.png"
                made[name] = one.key
                if known.get(name) == one.key:
                    shutil.copy2(target / name, fresh / name)
                else:
                    save_png(one.draw(), fresh / name)
            write_record(fresh / _NOTE, ProofRecord(edition=edition, pictures=made))
    return tuple(sorted(target.glob("*.png")))


class _Picture(NamedTuple):
    """A picture to be drawn, its name without the ending, and a digest of all it is drawn from."""

    name: str
    key: str
    draw: Callable[..., Image.Image]


class _Sources:
    """Digests of what pictures of a set are drawn from."""

    def __init__(self, set_folder: Path, pictures: SetPictures) -> None:
        contents = pictures.contents
        self._contents = contents
        self._dpi = pictures.dpi
        self._common = (
            contents.binder,
            contents.binding,
            pictures.reach_mm,
            pictures.page_y_mm,
        )
        self._pages = {
            side: pages_content(PdfReader(set_folder / f"side-{side}.pdf")) for side in _SIDES
        }
        tabbed = any(leaf.tab for leaf in contents.leaves)
        self._below = [self.sheet(n) for n in range(len(contents.sheets))] if tabbed else []

    def sheet(self, index: int) -> str:
        """Of both sides of a sheet, counted from 0."""
        return self._side(index, 1) + self._side(index, 2)

    def _side(self, index: int, side: SheetSide) -> str:
        note = self._contents.sheets[index]
        page = self._pages[side][self._contents.page_number(index, side)]
        if page is None:  # it cannot be told from another, so it is drawn each time
            return secrets.token_hex()
        return key_of(page.digest, note.number, note.width_mm, note.height_mm, self._dpi)

    def view(self, *leaves: int | None) -> str:
        """Of what is seen of some leaves, on both their faces."""
        parts: list[object] = [self._common, *self._below]
        for leaf in leaves:
            parts.append(leaf if leaf is None or self._below else "")
            if leaf is None:
                continue
            note = self._contents.leaves[leaf]
            parts += [note.flap_mm, note.tab, note.folds_over(Side.RECTO)]
            for face in Side:
                placed = self._contents.find(leaf, face)
                if placed is not None:
                    parts += [placed.placement.flat, placed.placement.turned]
                    parts.append(self._side(placed.sheet, placed.side))
        return key_of(*parts)


_SIDES: tuple[SheetSide, SheetSide] = (1, 2)


def _pictures(pictures: SetPictures, sources: _Sources) -> Iterator[_Picture]:
    """Every picture of a set."""
    contents, last = pictures.contents, len(pictures.contents.leaves) - 1
    for index, sheet in enumerate(contents.sheets):
        for side in _SIDES:
            name, key = f"sheet-{sheet.number:02d}-side-{side}", key_of(sources.sheet(index), side)
            yield _Picture(name, key, partial(pictures.sheet, index, side))
    for index, spread in enumerate(contents.spreads):
        one = _Picture(
            f"spread-{index + 1:02d}", sources.view(*spread), partial(pictures.spread, index)
        )
        yield from _with_flaps(one, pictures.has_flap(index))
    for name, leaf, face in (("first-page", 0, Side.RECTO), ("last-page", last, Side.VERSO)):
        if contents.leaves[leaf].page(face) is not None:
            one = _Picture(name, sources.view(leaf), partial(pictures.single, leaf, face))
            yield from _with_flaps(one, pictures.folds(leaf, face))
    # All there is is on it, and its captions say how much that is.
    everything = key_of(contents, *(sources.sheet(n) for n in range(len(contents.sheets))))
    yield _Picture("contact-sheet", everything, partial(contact_sheet, pictures))


def _with_flaps(picture: _Picture, flaps: bool) -> Iterator[_Picture]:
    """What is seen, with its flaps open and shut where it has any."""
    name, key, draw_it = picture
    if not flaps:
        yield picture
        return
    yield _Picture(f"{name}-open", key_of(key, "open"), draw_it)
    yield _Picture(f"{name}-shut", key_of(key, "shut"), partial(draw_it, shut=True))


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


def save_png(picture: Image.Image, target: Path) -> None:
    """Writes a picture as a PNG, the same bytes for the same pixels."""
    target.write_bytes(png_of(picture))
