"""Redraws templates for another binder size."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

from pipeline.base.errors import UserError
from pipeline.base.geometry import Rect
from pipeline.drawings.resize.alike import Alike, Mark, Span, columns, rows
from pipeline.drawings.resize.clusters import Sort
from pipeline.drawings.resize.drawing import Drawing
from pipeline.drawings.resize.guides import redraw_guides
from pipeline.drawings.resize.laying import Laying
from pipeline.drawings.resize.lettering import SMALLEST_MM, Lettering, line_of
from pipeline.drawings.resize.source import Source, source_of
from pipeline.drawings.resize.stretch import Down, Stretch, across, down
from pipeline.drawings.resize.things import Things, things_of
from pipeline.drawings.resize.ways import Way
from pipeline.fill.template import TemplateFile, rect_of
from pipeline.impose.leaf import widest_closed_flap
from pipeline.plan.model import Binder, Side
from pipeline.plan.sizes import Sizes
from pipeline.svg.refusals import reading
from pipeline.text.fonts import FontBook

_SMALL_MM = 14.0
"""Artwork no higher than this keeps its height and its distance to what is near it."""


@dataclass(frozen=True)
class Resized:
    """A template for the new size: its file, its flap (mm), and what to look at in it."""

    data: bytes
    flap_mm: float
    notes: tuple[str, ...]


@dataclass(frozen=True)
class _Sheet:
    """One template on its way."""

    drawing: Drawing
    source: Source
    target: Source
    things: Things


def resize(
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
    one side of the leaf never face each other and go by themselves. What is as high or as wide as
    its like on a page stays so.
    Their flaps get ``flap_mm`` wide (when none has a flap, all get one), else what ``flaps_mm``
    says for a template's name, else as wide as they were in proportion to the page. Type is set
    smaller where it must, down to ``smallest_mm``. Raises UserError for a file that is no
    template of a known size, and for a flap that cannot be.
    """
    read = [_read(page, sizes, side) for page in pages]
    if not read:
        return []
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
        flap = (flaps_mm or {}).get(page.path.stem, _new_flap(source, to))
        if flap_mm is not None and (source.flap_mm or not any_flap):
            flap = flap_mm
        sheets.append(_sheet(drawing, source, to, flap))
    lettering = Lettering(book, smallest_mm)
    if len({sheet.source.side for sheet in sheets}) == 1:
        return [_resized(sheet, _down([sheet]), lettering) for sheet in sheets]
    line = _down(sheets)
    return [_resized(sheet, line, lettering) for sheet in sheets]


def _read(page: TemplateFile, sizes: Sizes, side: Side | None) -> tuple[Drawing, Source]:
    path = page.path
    with reading(path.name):
        drawing = Drawing(path.name, page.data)
        return drawing, source_of(drawing, path.stem, path.resolve().parent.name, sizes, side)


def _sheet(drawing: Drawing, source: Source, to: Binder, flap_mm: float) -> _Sheet:
    if source.flap_mm and not flap_mm:
        raise UserError(drawing.name, "its flap cannot go", "give --flap more than 0")
    target = Source(to, source.side, flap_mm)
    target.check()
    return _Sheet(drawing, source, target, things_of(drawing))


def _new_flap(source: Source, to: Binder) -> float:
    """A flap in proportion to the page, in whole mm, that clears the rings; 0 for none."""
    wanted = round(source.flap_mm * to.width_mm / source.binder.width_mm)
    return float(min(wanted, int(widest_closed_flap(to))))


def _down(sheets: Sequence[_Sheet]) -> Down:
    """From top to bottom, for all: type, small months and small artwork keep their height."""
    held: list[Span] = []
    ruled: list[tuple[Span, float]] = []
    alike: list[Alike] = []
    for sheet in sheets:
        face = sheet.source.face
        boxes = [line_of(sheet.drawing, words).extent for words in sheet.things.words]
        boxes += _months(sheet)
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


def _across(sheet: _Sheet) -> Stretch:
    """From left to right, for one of them."""
    face, marks = sheet.source.face, _marks(sheet)
    alike: list[Alike] = []
    for panel, safe in ((face.trim, face.safe), (face.flap, face.flap_safe or face.flap)):
        if panel is not None and safe is not None:
            alike += columns([mark for mark in marks if panel.holds(mark.box)], safe.right)
    return across(face, sheet.target.face, alike)


def _marks(sheet: _Sheet) -> list[Mark]:
    """What goes with the page, to look for rows and columns in."""
    things = sheet.things
    marks = [Mark(box.bounds) for box in things.boxes]
    marks += [Mark(area) for area in _months(sheet)]
    marks += [Mark(cluster.bounds, cluster.sort) for cluster in things.art]
    for line in (line_of(sheet.drawing, words) for words in things.words):
        marks.append(Mark(Rect(*line.spot, 0, 0), (line.look, line.anchor)))
    return [mark for mark in marks if not _is_surrounded(sheet, mark.box)]


def _months(sheet: _Sheet) -> list[Rect]:
    """Where its small months are; their figures are lines of type."""
    areas = [month.area for month in sheet.things.months]
    return [sheet.drawing.matrix(area).bounds(rect_of(area)) for area in areas]


def _is_surrounded(sheet: _Sheet, box: Rect) -> bool:
    """Whether artwork lies around a box, with which it then goes."""
    return any(
        cluster.is_large and cluster.bounds.holds(box) and cluster.surrounds(box)
        for cluster in sheet.things.art
    )


def _resized(sheet: _Sheet, line: Down, lettering: Lettering) -> Resized:
    drawing, old, new = sheet.drawing, sheet.source.face, sheet.target.face
    with reading(drawing.name):
        laying = Laying(drawing, old, new, lettering)
        notes = tuple(laying.lay(sheet.things, Way(_across(sheet), line.stretch), line.held))
    redraw_guides(drawing, new)
    drawing.set_size(new.flat.width, new.flat.height)
    return Resized(drawing.data(), sheet.target.flap_mm, notes)
