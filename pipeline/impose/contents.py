"""``contents.json``: what is in an imposed set, written beside its files and read back."""

from __future__ import annotations

import datetime as dt
import hashlib
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from pathlib import Path
from types import MappingProxyType
from typing import TypeVar

from pydantic import TypeAdapter, ValidationError

from pipeline.base.errors import UserError
from pipeline.base.geometry import Rect
from pipeline.impose.bench import Bench
from pipeline.impose.leaf import LeafFace, LeafGeometry
from pipeline.impose.sheet import Flip, Placement, PrinterSettings, Sheet, SheetSide
from pipeline.plan.model import (
    Binder,
    Binding,
    Holes,
    LeftOut,
    Page,
    Paper,
    Period,
    SetPlan,
    Side,
    Tab,
)

CONTENTS = "contents.json"
SCREEN = "screen.pdf"
"""The edition for screens, where one is asked for."""
PRESS, FOR_PRINTER = "press.pdf", "for-the-printer.pdf"
"""The edition for print shops, where one is asked for, and the sheet that goes with it."""

_C = TypeVar("_C", bound="Contents")

SCHEMA = 1
"""The version of what is written; raised when an older program could no longer read it."""


@dataclass(frozen=True)
class SetName:
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
    ``flap_back`` is the template of the outside of the other face's flap, "" for none.
    ``drawn`` is a key of all it was drawn from: pages with the same one look alike.
    """

    label: str
    template: str
    dates: tuple[dt.date, ...] = ()
    flap_mm: float | None = None
    drawn: str = ""
    flap_back: str = ""


@dataclass(frozen=True)
class LeafNote:
    """One leaf: the pages on its faces (``None`` for a blank face), its flap in mm, its tab."""

    recto: PageNote | None
    verso: PageNote | None
    flap_mm: float = 0.0
    tab: Tab | None = None

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
class FileNote:
    """A file: its name, its SHA-256 in hexadecimal, its size and, where it is a PDF, its pages."""

    name: str
    sha256: str
    bytes: int
    pages: int | None = None


@dataclass(frozen=True)
class Placed:
    """A placement with the sheet (its place in the list, from 0) and the side it is on."""

    sheet: int
    side: SheetSide
    placement: Placement


@dataclass(frozen=True, kw_only=True)
class Contents:
    """All that ``contents.json`` says; its fields are named as they are there.

    With ``reverse_side_2`` the file side-2.pdf runs from the last sheet to the first. ``flip`` is
    the edge over which the sheets are turned for their second side, ``built_from`` a key of all
    that the files depend on, ``made_of`` a digest of each of those things by what it is called.
    ``sources`` names the data of feast days and the sky; with ``holes_inside`` dots within the
    leaves show the holes. ``left_out`` tells which days' feasts and notes have no room for all,
    page by page: what is printed, and what would be.
    """

    schema_version: int = SCHEMA
    season: str
    period: Period
    set: SetName
    language: str
    binding: Binding
    binder: BinderNote
    paper: PaperNote
    flip: Flip = Flip.LONG
    reverse_side_2: bool = False
    files: tuple[FileNote, ...]
    leaves: tuple[LeafNote, ...]
    sheets: tuple[Sheet, ...]
    bench: Bench
    built_from: str = ""
    made_of: Mapping[str, str] = field(default_factory=dict, hash=False)
    sources: str = ""
    holes_inside: bool = False
    left_out: tuple[LeftOut, ...] = ()

    def page_number(self, sheet: int, side: SheetSide) -> int:
        """Which page of its side's file shows a sheet; both are counted from 0."""
        return len(self.sheets) - 1 - sheet if side == 2 and self.reverse_side_2 else sheet

    @property
    def spreads(self) -> tuple[tuple[int, int], ...]:
        """The leaves that face each other, in reading order: verso of one, recto of the next."""
        return tuple((i, i + 1) for i in range(len(self.leaves) - 1))

    def month(self, spread: int) -> dt.date | None:
        """The first of the month that heads a spread, that of the middle one of its days; None if
        it has no dates."""
        first, second = self.spreads[spread]
        pages = (self.leaves[first].verso, self.leaves[second].recto)
        days = sorted({day for page in pages if page for day in page.dates})
        return days[len(days) // 2].replace(day=1) if days else None

    def shape(self, leaf: int, face: Side) -> LeafFace:
        """Where the page, flap, tab and holes of a leaf lie on one of its faces."""
        note, size = self.leaves[leaf], self.binder
        binder = Binder(size.name, size.name, size.width_mm, size.height_mm, size.holes, "")
        return LeafGeometry(binder, note.flap_mm, self.binding, tab=note.tab).face(face)

    def find(self, leaf: int, face: Side) -> Placed | None:
        """Where a face of a leaf was laid; ``None`` when it is on no sheet."""
        sides: tuple[SheetSide, SheetSide] = (1, 2)
        for index, sheet in enumerate(self.sheets):
            for side in sides:
                for placement in sheet.placements(side):
                    if (placement.leaf, placement.face) == (leaf, face):
                        return Placed(index, side, placement)
        return None


def contents_of(
    season: str,
    plan: SetPlan,
    paper: Paper,
    printer: PrinterSettings,
    sheets: tuple[Sheet, ...],
    files: Mapping[str, bytes],
    bench: Bench,
    *,
    drawn: Sequence[str] = (),
    built_from: str = "",
    made_of: Mapping[str, str] = MappingProxyType({}),
    left_out: Sequence[LeftOut] = (),
) -> Contents:
    """The table of contents of one imposed set. ``drawn`` has a key for each of its pages."""
    binder = plan.binder
    keys = iter(drawn)

    def note(page: Page | None) -> PageNote | None:
        if page is None:
            return None
        dates, drawn = page.facts.dates, next(keys, "")
        return PageNote(page.label, page.template, dates, page.flap_mm, drawn, page.flap_back)

    return Contents(
        season=season,
        period=plan.period,
        set=SetName(plan.name, plan.title),
        language=plan.language,
        binding=plan.binding,
        binder=BinderNote(binder.name, binder.width_mm, binder.height_mm, binder.holes),
        paper=PaperNote(paper.name, paper.width_mm, paper.height_mm, paper.media),
        flip=printer.flip,
        reverse_side_2=printer.reverse_side_2,
        files=tuple(file_note(name, data, _pages_in(name, sheets)) for name, data in files.items()),
        leaves=tuple(
            LeafNote(note(leaf.recto), note(leaf.verso), leaf.flap_mm, leaf.tab)
            for leaf in plan.leaves
        ),
        sheets=sheets,
        bench=bench,
        built_from=built_from,
        made_of=dict(made_of),
        sources=plan.sources,
        holes_inside=plan.holes_inside,
        left_out=tuple(left_out),
    )


def _pages_in(name: str, sheets: Sequence[Sheet]) -> int | None:
    """The pages of a file of sheets; how many others have doesn't follow from those."""
    if name in (SCREEN, PRESS, FOR_PRINTER):
        return None
    return len(sheets) * (2 if name.startswith("both") else 1)


def file_note(name: str, data: bytes, pages: int | None = None) -> FileNote:
    """What is said of a file."""
    return FileNote(name, hashlib.sha256(data).hexdigest(), len(data), pages)


def contents_json(contents: Contents) -> bytes:
    """The bytes of a ``contents.json``; a key that is empty is left out."""
    may_be_empty = ("built_from", "made_of", "sources", "holes_inside")
    unsaid = {name for name in may_be_empty if not getattr(contents, name)}
    adapter: TypeAdapter[Contents] = TypeAdapter(type(contents))
    return adapter.dump_json(contents, indent=1, exclude=unsaid) + b"\n"


@dataclass(frozen=True)
class _Versioned:
    """What tells whether the rest can be read; files before the first number have none."""

    schema_version: int = 1


_VERSIONED: TypeAdapter[_Versioned] = TypeAdapter(_Versioned)
CONTENTS_MODEL: TypeAdapter[Contents] = TypeAdapter(Contents)


def read_contents(set_folder: Path) -> Contents:
    """The contents of an imposed set's folder.

    Raises ``UserError`` when the folder holds no ``contents.json``, one that a newer program made,
    or one that does not say what it should; the field is named.
    """
    return read_contents_as(set_folder, CONTENTS_MODEL)


def read_contents_as(set_folder: Path, kind: TypeAdapter[_C]) -> _C:
    """The contents of a folder that say more than ``Contents`` has; raises as ``read_contents``."""
    path = set_folder / CONTENTS
    try:
        text = path.read_bytes()
    except OSError as error:
        raise UserError(
            str(path), "cannot be read", "is this the folder of a built set? Build it again"
        ) from error
    try:
        if _VERSIONED.validate_json(text).schema_version > SCHEMA:
            raise UserError(
                str(path),
                "made by a newer leafset",
                "update this one, or run 'leafset build' again",
            )
        return kind.validate_json(text)
    except ValidationError as error:
        first = error.errors()[0]
        field = ".".join(str(step) for step in first["loc"])
        where = f"{path}, {field}" if field else str(path)
        raise UserError(where, first["msg"], "run 'leafset build' again") from error


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
    if placement.turned == 0:
        return Rect(left, top, on_sheet.width, on_sheet.height)
    right, bottom = flat.right - on_sheet.right, flat.bottom - on_sheet.bottom
    x, y = {90: (top, right), 180: (right, bottom), 270: (bottom, left)}[placement.turned]
    if placement.turned % 180:
        return Rect(x, y, on_sheet.height, on_sheet.width)
    return Rect(x, y, on_sheet.width, on_sheet.height)


SET_FILES = (CONTENTS, "side-1.pdf", "side-2.pdf")
"""The files of a set that its pages are read from."""


def edition_digest(set_folder: Path) -> str:
    """A digest of all that a set's files hold; nothing shown of them can be stale under it."""
    digest = hashlib.sha256()
    for name in SET_FILES:
        data = (set_folder / name).read_bytes()
        digest.update(len(data).to_bytes(8, "big") + data)
    return digest.hexdigest()
