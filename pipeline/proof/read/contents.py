"""What an imposed set says about itself: ``contents.json`` read back into values."""

from __future__ import annotations

import datetime as dt
from collections.abc import Iterator
from dataclasses import dataclass
from pathlib import Path
from typing import Literal

from pydantic import TypeAdapter, ValidationError

from pipeline.base.errors import UserError
from pipeline.base.geometry import Rect
from pipeline.plan.model import Binding, Holes, Side
from pipeline.proof.read.raster import Turn

CONTENTS = "contents.json"

SheetSide = Literal[1, 2]


@dataclass(frozen=True)
class PeriodNote:
    """The days a set is for; an undated set has a name and a title only."""

    name: str
    title: str
    first: dt.date | None = None
    last: dt.date | None = None


@dataclass(frozen=True)
class SetNote:
    """A set's name for files and its title for people."""

    name: str
    title: str


@dataclass(frozen=True)
class BinderNote:
    """The trim size of the leaves, in mm, and where they are punched."""

    name: str
    width_mm: float
    height_mm: float
    holes: Holes


@dataclass(frozen=True)
class PaperNote:
    """The paper printed on, in mm, portrait."""

    name: str
    width_mm: float
    height_mm: float
    media: str


@dataclass(frozen=True)
class PageNote:
    """What one face of a leaf shows. ``flap_mm`` is the flap the page itself asks for.

    A leaf has a flap when either face has; it folds over the face whose page asked for it.
    ``drawn`` is a key of all it was drawn from: pages with the same one look alike.
    """

    label: str
    template: str
    dates: tuple[dt.date, ...] = ()
    flap_mm: float | None = None
    drawn: str = ""


@dataclass(frozen=True)
class LeafNote:
    """One leaf: the pages on its faces (``None`` for a blank face) and its flap's width, mm."""

    recto: PageNote | None
    verso: PageNote | None
    flap_mm: float = 0.0

    def page(self, face: Side) -> PageNote | None:
        """The page on a face."""
        return self.recto if face is Side.RECTO else self.verso

    def folds_over(self, face: Side) -> bool:
        """Whether the flap folds over this face: its page asked for one."""
        page = self.page(face)
        if page is None or self.flap_mm == 0:
            return False
        return page.flap_mm is None or page.flap_mm > 0


@dataclass(frozen=True)
class Placement:
    """Where one face of a leaf lies on a side of a sheet, in mm from that side's top left.

    ``flat`` is the whole leaf with its flap open, ``trim`` the closed part, ``turned`` how many
    degrees clockwise it was turned.
    """

    leaf: int
    face: Side
    flat: Rect
    trim: Rect
    turned: Turn = 0


@dataclass(frozen=True)
class SheetNote:
    """One sheet of paper as it goes through the printer, in mm, and what is on its two sides."""

    number: int
    width_mm: float
    height_mm: float
    side_1: tuple[Placement, ...]
    side_2: tuple[Placement, ...]

    def placements(self, side: SheetSide) -> tuple[Placement, ...]:
        """What lies on side 1 or side 2."""
        return self.side_1 if side == 1 else self.side_2


@dataclass(frozen=True)
class Placed:
    """A placement with the sheet (its place in the list, from 0) and the side it is on."""

    sheet: int
    side: SheetSide
    placement: Placement


@dataclass(frozen=True)
class Contents:
    """All that ``contents.json`` says and a proof needs.

    With ``reverse_side_2`` the file side-2.pdf runs from the last sheet to the first. ``flip`` is
    the edge over which the sheets are turned for their second side.
    """

    season: str
    period: PeriodNote
    set: SetNote
    language: str
    binding: Binding
    binder: BinderNote
    paper: PaperNote
    leaves: tuple[LeafNote, ...]
    sheets: tuple[SheetNote, ...]
    reverse_side_2: bool = False
    flip: Literal["long", "short"] = "long"

    def page_number(self, sheet: int, side: SheetSide) -> int:
        """Which page of its side's file shows a sheet; both are counted from 0."""
        return len(self.sheets) - 1 - sheet if side == 2 and self.reverse_side_2 else sheet

    @property
    def spreads(self) -> tuple[tuple[int, int], ...]:
        """The leaves that face each other, in reading order: verso of one, recto of the next."""
        return tuple((i, i + 1) for i in range(len(self.leaves) - 1))

    def placed(self) -> Iterator[Placed]:
        """Every placement, sheet by sheet, side 1 before side 2."""
        sides: tuple[SheetSide, SheetSide] = (1, 2)
        for index, sheet in enumerate(self.sheets):
            for side in sides:
                for placement in sheet.placements(side):
                    yield Placed(index, side, placement)

    def find(self, leaf: int, face: Side) -> Placed | None:
        """Where a face of a leaf was laid; ``None`` when it is on no sheet."""
        for placed in self.placed():
            if (placed.placement.leaf, placed.placement.face) == (leaf, face):
                return placed
        return None


def fore_edge_on_right(face: Side, binding: Binding) -> bool:
    """Whether the fore edge (and so the flap) is on the right of this face.

    >>> fore_edge_on_right(Side.RECTO, Binding.LEFT), fore_edge_on_right(Side.RECTO, Binding.RIGHT)
    (True, False)
    """
    return (face is Side.RECTO) == (binding is Binding.LEFT)


def other_face(face: Side) -> Side:
    """The face on the back."""
    return Side.VERSO if face is Side.RECTO else Side.RECTO


def upright(on_sheet: Rect, placement: Placement) -> Rect:
    """A rectangle of the sheet as it lies on its leaf, in mm from the leaf's own top left.

    >>> turned = Placement(0, Side.RECTO, Rect(20, 10, 210, 148), Rect(20, 10, 210, 148), 90)
    >>> upright(Rect(220, 15, 10, 30), turned)  # at the right of the sheet is the leaf's top
    Rect(x=5, y=0, width=30, height=10)
    """
    flat = placement.flat
    left, top = on_sheet.x - flat.x, on_sheet.y - flat.y
    right, bottom = flat.right - on_sheet.right, flat.bottom - on_sheet.bottom
    x, y = {0: (left, top), 90: (top, right), 180: (right, bottom), 270: (bottom, left)}[
        placement.turned
    ]
    if placement.turned % 180:
        return Rect(x, y, on_sheet.height, on_sheet.width)
    return Rect(x, y, on_sheet.width, on_sheet.height)


def from_upright(on_leaf: Rect, placement: Placement) -> Rect:
    """A rectangle of an upright leaf as it lies on the sheet: the way back from ``upright``.

    >>> turned = Placement(0, Side.RECTO, Rect(20, 10, 210, 148), Rect(20, 10, 210, 148), 90)
    >>> from_upright(Rect(5, 0, 30, 10), turned)
    Rect(x=220, y=15, width=10, height=30)
    """
    flat, on_its_side = placement.flat, placement.turned % 180 != 0
    across, down = (flat.height, flat.width) if on_its_side else (flat.width, flat.height)
    from_right, from_bottom = across - on_leaf.right, down - on_leaf.bottom
    x, y = {
        0: (on_leaf.x, on_leaf.y),
        90: (from_bottom, on_leaf.x),
        180: (from_right, from_bottom),
        270: (on_leaf.y, from_right),
    }[placement.turned]
    width, height = on_leaf.width, on_leaf.height
    if on_its_side:
        width, height = height, width
    return Rect(flat.x + x, flat.y + y, width, height)


_CONTENTS: TypeAdapter[Contents] = TypeAdapter(Contents)


def read_contents(set_folder: Path) -> Contents:
    """The contents of an imposed set's folder.

    Raises ``UserError`` when the folder holds no ``contents.json``, or one that does not say what
    it should; the field is named.
    """
    path = set_folder / CONTENTS
    try:
        text = path.read_bytes()
    except OSError as error:
        raise UserError(
            str(path), "cannot be read", "is this the folder of a built set? Build it again"
        ) from error
    try:
        return _CONTENTS.validate_json(text)
    except ValidationError as error:
        first = error.errors()[0]
        field = ".".join(str(step) for step in first["loc"])
        where = f"{path}, {field}" if field else str(path)
        raise UserError(where, first["msg"], "build the set again") from error
