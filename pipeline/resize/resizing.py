"""Redraws templates for another binder size: what goes where, and then the putting there."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from pathlib import Path

from pipeline.errors import UserError
from pipeline.folders import write_whole
from pipeline.impose.leaf import widest_closed_flap
from pipeline.plan.model import Binder, Side
from pipeline.plan.sizes import Sizes
from pipeline.resize.clusters import Sort
from pipeline.resize.drawing import Drawing
from pipeline.resize.guides import redraw_guides
from pipeline.resize.laying import Laying
from pipeline.resize.lettering import SMALLEST_MM, Lettering, line_of
from pipeline.resize.source import Source, source_of
from pipeline.resize.stretch import Down, Span, across, down
from pipeline.resize.things import Things, things_of
from pipeline.resize.ways import Way
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
    pages: Sequence[tuple[Path, bytes]],
    to: Binder,
    sizes: Sizes,
    book: FontBook,
    *,
    flap_mm: float | None = None,
    side: Side | None = None,
    smallest_mm: float = SMALLEST_MM,
) -> list[Resized]:
    """Templates (path and file) for the binder size ``to``.

    Pages given together, such as the two of a spread, keep their lines level with one another.
    A flap of the drawing gets ``flap_mm`` wide, or as wide as it is in proportion to the page.
    Type is set smaller where it must, down to ``smallest_mm``. Raises UserError for a file that
    is no template of a known size, and for a flap that cannot be.
    """
    sheets = [_sheet(path, data, to, sizes, flap_mm, side) for path, data in pages]
    if not sheets:
        return []
    lettering = Lettering(book, smallest_mm)
    height = {sheet.source.binder.height_mm for sheet in sheets}
    if len(height) > 1:
        raise UserError(
            sheets[1].drawing.name,
            "is not as high as the page it is resized with",
            "resize pages of one size together",
        )
    line = _down(sheets)
    return [_resized(sheet, line, lettering) for sheet in sheets]


def resize_files(
    files: Sequence[tuple[Path, Path]],
    to: Binder,
    sizes: Sizes,
    book: FontBook,
    *,
    flap_mm: float | None = None,
    side: Side | None = None,
    smallest_mm: float = SMALLEST_MM,
) -> list[str]:
    """Writes each file's template (from, to) for a size; returns lines that say what was done.

    Raises UserError where there is a file already, and as ``resize`` does.
    """
    for _, target in files:
        if target.exists():
            raise UserError(str(target), "is there already", "choose another file with --out")
    pages = []
    for source, _ in files:
        try:
            pages.append((source, source.read_bytes()))
        except OSError as problem:
            raise UserError(str(source), f"cannot be read ({problem.strerror})") from None
    made = resize(pages, to, sizes, book, flap_mm=flap_mm, side=side, smallest_mm=smallest_mm)
    lines, flaps = [], []
    for (_, target), one in zip(files, made, strict=True):
        write_whole(target, one.data)
        lines += [str(target), *(f"    look at {note}" for note in one.notes)]
        if one.flap_mm:
            flaps.append(f"    {target.stem} = {one.flap_mm:g}")
    if flaps:
        lines += ["collection.toml needs:", f"    [flaps_mm.{to.name}]", *flaps]
    return lines


def _sheet(
    path: Path, data: bytes, to: Binder, sizes: Sizes, flap_mm: float | None, side: Side | None
) -> _Sheet:
    drawing = Drawing(path.name, data)
    source = source_of(drawing, path.stem, path.resolve().parent.name, sizes, side)
    flap = _new_flap(source, to) if flap_mm is None else flap_mm
    if source.flap_mm and not flap:
        raise UserError(path.name, "its flap would be gone", "give --flap more than 0")
    if not source.flap_mm and flap_mm is None:
        flap = 0.0
    target = Source(to, source.side, flap)
    target.check()
    return _Sheet(drawing, source, target, things_of(drawing))


def _new_flap(source: Source, to: Binder) -> float:
    """A flap in proportion to the page, in whole mm, that clears the rings."""
    wanted = round(source.flap_mm * to.width_mm / source.binder.width_mm)
    return float(min(wanted, int(widest_closed_flap(to))))


def _down(sheets: Sequence[_Sheet]) -> Down:
    """From top to bottom, for all of them: lines of type and small artwork keep their height."""
    held: list[Span] = []
    ruled: list[tuple[Span, float]] = []
    for sheet in sheets:
        art = sheet.things.art
        surrounding = [cluster for cluster in art if cluster.is_large]
        boxes = [line_of(sheet.drawing, words).extent for words in sheet.things.words]
        boxes += [c.bounds for c in art if c.sort is Sort.ART and c.bounds.height <= _SMALL_MM]
        trim = sheet.source.face.trim  # a flap goes along with its page
        for box in boxes:
            if trim.overlaps(box) and not any(
                each.bounds.holds(box) and each.surrounds(box) for each in surrounding
            ):
                held.append((box.y, box.bottom))
        for area in sheet.things.boxes:
            if area.pitch_mm is not None and area.from_top:
                ruled.append(((area.bounds.y, area.bounds.bottom), area.pitch_mm))
    first = sheets[0]
    return down(first.source.face, first.target.face, held, ruled)


def _resized(sheet: _Sheet, line: Down, lettering: Lettering) -> Resized:
    drawing, old, new = sheet.drawing, sheet.source.face, sheet.target.face
    laying = Laying(drawing, old, new, lettering)
    notes = tuple(laying.lay(sheet.things, Way(across(old, new), line.stretch), line.held))
    redraw_guides(drawing, new)
    drawing.set_size(new.flat.width, new.flat.height)
    return Resized(drawing.data(), sheet.target.flap_mm, notes)
