"""Redraws templates for another binder size."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from pathlib import Path
from typing import NamedTuple, TypedDict, Unpack

from lxml import etree

from pipeline.base.errors import UserError
from pipeline.base.folders import write_whole
from pipeline.base.geometry import Rect
from pipeline.drawings.resize.anchors import Stretches
from pipeline.drawings.resize.laying import Laying
from pipeline.drawings.resize.saved import PageFormat, SavedDrawing, drawn_for
from pipeline.drawings.resize.stretch import (
    Alike,
    Down,
    Mark,
    Span,
    Stretch,
    across,
    columns,
    down,
    rows,
)
from pipeline.drawings.resize.things import Sort, Things, things_of
from pipeline.drawings.resize.typesizes import SMALLEST_MM, TypeSizes
from pipeline.drawings.starters.starter import draw_guides
from pipeline.fill.lettering import own_fonts
from pipeline.fill.template import TemplateFile, open_template
from pipeline.impose.leaf import widest_closed_flap
from pipeline.plan.model import Binder, Side
from pipeline.plan.sizes import Sizes
from pipeline.plan.tomlfile import read_toml
from pipeline.svg.refusals import reading
from pipeline.text.fonts import Faces, FontBook

_SMALL_MM = 14.0
"""Artwork and rooms no higher than this keep their height and their distance to what is near."""
_COLLECTION = "collection.toml"


class Resized(NamedTuple):
    """A template for the new size: its file, its flap (mm), and what to look at in it."""

    data: bytes
    flap_mm: float
    notes: tuple[str, ...]


class _Page(NamedTuple):
    """A template, what it was drawn for and what it becomes."""

    drawing: SavedDrawing
    source: PageFormat
    target: PageFormat
    things: Things


def resize_templates(
    pages: Sequence[TemplateFile],
    to: Binder,
    sizes: Sizes,
    book: FontBook,
    *,
    flap_mm: float | None = None,
    flaps_mm: Mapping[str, float] | None = None,
    side: Side | None = None,
    smallest_mm: float = SMALLEST_MM,
) -> list[Resized]:
    """Templates for the binder size ``to``.

    The two pages of a spread, given together, keep their lines level with one another; pages for
    one side of the leaf never face each other and are resized one by one. Rows that are equally
    high on a page, and columns that are equally wide, stay so.

    Flaps become ``flap_mm`` wide (when no page has a flap, all get one), else what ``flaps_mm``
    says for a template's name, else as wide as before in proportion to the page. Type is set
    smaller where it has to be, down to ``smallest_mm``. Raises UserError for a template whose
    size isn't known, and for a flap that cannot be.
    """
    read: list[tuple[SavedDrawing, PageFormat]] = []
    for path, data in pages:
        with reading(path.name):
            drawing = SavedDrawing(path.name, data)
            folder = path.resolve().parent.name
            read.append((drawing, drawn_for(drawing, path.stem, folder, sizes, side)))
    for drawing, source in read:
        if source.binder.height_mm != read[0][1].binder.height_mm:
            raise UserError(
                drawing.name,
                "is not as high as the page it is resized with",
                "resize pages of one size together",
            )
    any_flap = any(source.flap_mm for _, source in read)
    sheets = []
    for page, (drawing, source) in zip(pages, read, strict=True):
        if source.flap_of is not None:
            alone = to.flap_only(flap_mm or _flap_alone(source, to, flaps_mm or {}))
            target = PageFormat(alone, source.side, 0.0, to)
            sheets.append(_Page(drawing, source, target, things_of(drawing)))
            continue
        # In proportion to the page, in whole mm, clear of the rings.
        wanted = round(source.flap_mm * to.width_mm / source.binder.width_mm)
        flap = float(min(wanted, int(widest_closed_flap(to))))
        flap = (flaps_mm or {}).get(page.path.stem, flap)
        if flap_mm is not None and (source.flap_mm or not any_flap):
            flap = flap_mm
        if source.flap_mm and not flap:
            raise UserError(drawing.name, "its flap cannot be left out", "give it a width")
        target = PageFormat(to, source.side, flap)
        sheets.append(_Page(drawing, source, target, things_of(drawing)))
    type_sizes = TypeSizes(book, smallest_mm)
    facing = len({sheet.source.side for sheet in sheets}) > 1
    together = _down(sheets) if facing else None
    return [_resized(sheet, together or _down([sheet]), type_sizes) for sheet in sheets]


def _flap_alone(source: PageFormat, to: Binder, flaps_mm: Mapping[str, float]) -> float:
    """How wide a flap becomes whose outside a page is: as all flaps of the size are, or else in
    proportion to the page."""
    assert source.flap_of is not None
    widths = set(flaps_mm.values())
    wanted = round(source.binder.width_mm * to.width_mm / source.flap_of.width_mm)
    return widths.pop() if len(widths) == 1 else float(min(wanted, int(widest_closed_flap(to))))


def _down(sheets: Sequence[_Page]) -> Down:
    """From top to bottom, for all: type, small months and small artwork keep their height."""
    held: list[Span] = []
    ruled: list[tuple[Span, float]] = []
    alike: list[Alike] = []
    for sheet in sheets:
        face = sheet.source.face
        boxes = [line.extent for line in sheet.things.words]
        boxes += [month.bounds for month in sheet.things.months]
        rooms = (sample.room for sample in sheet.things.samples)
        boxes += [room for room in rooms if room.height <= _SMALL_MM]
        boxes += [
            cluster.bounds
            for cluster in sheet.things.art
            if cluster.sort is Sort.ART and cluster.bounds.height <= _SMALL_MM
        ]
        for box in boxes:  # a flap goes along with its page
            if face.trim.overlaps(box) and not _is_surrounded(sheet, box):
                held.append((box.y, box.bottom))
        for area in sheet.things.boxes:
            if area.pitch_mm is not None and area.from_top:
                ruled.append(((area.bounds.y, area.bounds.bottom), area.pitch_mm))
        alike += rows(_marks(sheet), face.safe.bottom)
    first = sheets[0]
    return down(first.source.face, first.target.face, held, ruled, alike)


def _across(sheet: _Page) -> Stretch:
    """From left to right, for one of them."""
    face, marks = sheet.source.face, _marks(sheet)
    alike: list[Alike] = []
    for panel, safe in ((face.trim, face.safe), (face.flap, face.flap_safe or face.flap)):
        if panel is not None and safe is not None:
            alike += columns([mark for mark in marks if panel.holds(mark.box)], safe.right)
    return across(face, sheet.target.face, alike)


def _marks(sheet: _Page) -> list[Mark]:
    """What goes with the page, to look for rows and columns in."""
    things = sheet.things
    marks = [Mark(box.bounds) for box in things.boxes]
    marks += [Mark(month.bounds) for month in things.months]
    marks += [Mark(cluster.bounds, cluster.sort) for cluster in things.art]
    for line in things.words:
        marks.append(Mark(Rect(*line.spot, 0, 0), (line.look, line.anchor)))
    return [mark for mark in marks if not _is_surrounded(sheet, mark.box)]


def _is_surrounded(sheet: _Page, box: Rect) -> bool:
    """Whether artwork lies around a box, with which it then goes."""
    return any(cluster.surrounds(box) for cluster in sheet.things.art)


def _resized(sheet: _Page, line: Down, type_sizes: TypeSizes) -> Resized:
    drawing, old, new = sheet.drawing, sheet.source.face, sheet.target.face
    with reading(drawing.name):
        laying = Laying(drawing, old, new, type_sizes)
        notes = tuple(laying.lay(sheet.things, Stretches(_across(sheet), line.stretch), line.held))
    layer, to_units = drawing.emptied_guides()
    draw_guides(layer, new, to_units)
    etree.indent(layer, level=sum(1 for _ in layer.iterancestors()))
    drawing.set_size(new.flat.width, new.flat.height)
    return Resized(drawing.data(), sheet.target.flap_mm, notes)


class Wishes(TypedDict, total=False):
    """What can be asked of resizing: flaps, places for files, a side, the smallest type."""

    flap_mm: float | None
    out: Path | None
    side: Side | None
    smallest_mm: float


def resize_files(
    files: Sequence[Path], to: Binder, sizes: Sizes, **wishes: Unpack[Wishes]
) -> list[str]:
    """Writes templates for a size beside those they are made from; says what was done.

    In a collection they go into its folder for that size, elsewhere beside the file with the
    size in their name; ``out`` is another file, or a folder for several. Flaps are as wide as
    ``flap_mm``, or as the collection says for that size. Raises UserError where there is a file
    already, and as ``resize_templates`` does.
    """
    made = resized_files(files, to, sizes, **wishes)
    flaps = _flaps_of(_collection(files[0]), to)
    lines, missing = [], []
    for target, one in made:
        write_whole(target, one.data)
        lines += [str(target), *(f"    look at {note}" for note in one.notes)]
        if one.flap_mm and flaps.get(target.stem) != one.flap_mm:
            missing.append(f"    {target.stem} = {one.flap_mm:g}")
    if missing:
        lines += ["collection.toml needs:", f"    [flaps_mm.{to.name}]", *missing]
    return lines


def resized_files(
    files: Sequence[Path], to: Binder, sizes: Sizes, **wishes: Unpack[Wishes]
) -> list[tuple[Path, Resized]]:
    """What ``resize_files`` would write, and where; nothing is written."""
    targets = [_target(file, to, wishes.get("out"), len(files) > 1) for file in files]
    for target in targets:
        if target.exists():
            raise UserError(
                str(target), "is there already", "move it away, or choose another place for it"
            )
    pages = [open_template(file) for file in files]
    collection = _collection(files[0])
    book = Faces(own_fonts(collection), {}, True).book()
    flaps = _flaps_of(collection, to)
    resized = resize_templates(
        pages,
        to,
        sizes,
        book,
        flap_mm=wishes.get("flap_mm"),
        flaps_mm=flaps,
        side=wishes.get("side"),
        smallest_mm=wishes.get("smallest_mm", SMALLEST_MM),
    )
    return list(zip(targets, resized, strict=True))


def _target(file: Path, to: Binder, out: Path | None, several: bool) -> Path:
    if out is not None:
        return out / file.name if several or out.is_dir() else out
    if _collection(file):
        return file.parent.parent / to.name / file.name
    return file.with_name(f"{file.stem}-{to.name}{file.suffix}")


def _collection(file: Path) -> Path | None:
    """The collection that a template lies in, in the folder of its size."""
    folder = file.resolve().parent.parent
    return folder if (folder / _COLLECTION).is_file() else None


def _flaps_of(collection: Path | None, to: Binder) -> Mapping[str, float]:
    """The flaps that a collection has for a size already, mm; a broken one is found elsewhere."""
    if collection is None:
        return {}
    flaps = read_toml(collection / _COLLECTION).data.get("flaps_mm")
    widths = flaps.get(to.name) if isinstance(flaps, Mapping) else None
    if not isinstance(widths, Mapping):
        return {}
    return {name: float(width) for name, width in widths.items() if isinstance(width, int | float)}
