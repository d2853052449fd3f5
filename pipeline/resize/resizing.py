"""Redraws templates for another binder size: what goes where, and then the putting there."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from pathlib import Path

from lxml import etree

from pipeline.errors import UserError
from pipeline.fill.ruling import whole_pitches
from pipeline.fill.template import rect_of
from pipeline.folders import write_whole
from pipeline.geometry import Rect
from pipeline.impose.leaf import Face, widest_closed_flap
from pipeline.plan.model import Binder, Side
from pipeline.plan.sizes import Sizes
from pipeline.resize.anchors import told_stretches
from pipeline.resize.clusters import Cluster, Sort, clusters
from pipeline.resize.drawing import Drawing
from pipeline.resize.guides import redraw_guides
from pipeline.resize.lettering import (
    SMALLEST_MM,
    Class,
    Measure,
    line_of,
    measure_with,
    month_scales,
    new_spot,
    scales,
    too_wide,
)
from pipeline.resize.moving import (
    Mover,
    Similar,
    move_paths,
    move_shape,
    move_text,
    move_whole,
    set_rect,
    similar,
    stretch_box,
)
from pipeline.resize.source import Source, source_of
from pipeline.resize.stretch import Down, Span, Stretch, across, down
from pipeline.resize.things import Things, Words, bounds_below, things_of
from pipeline.text.fonts import FontBook

_SMALL_MM = 14.0
"""Artwork no higher than this keeps its height and its distance to what is near it."""

_TINY_MM, _LARGE_MM = 5.0, 20.0
"""Artwork up to the first keeps its size where it can, from the second on it goes by its room."""

_NEAR = 0.2
"""Artwork within this share of a panel from its edge is held by that edge."""

_WIDE = 0.6
"""Artwork over this share of a panel's width grows with it."""


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
    measure = measure_with(book)
    height = {sheet.source.binder.height_mm for sheet in sheets}
    if len(height) > 1:
        raise UserError(
            sheets[1].drawing.name,
            "is not as high as the page it is resized with",
            "resize pages of one size together",
        )
    line = _down(sheets)
    return [_resized(sheet, line, measure, smallest_mm) for sheet in sheets]


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
    held: list[Span] = []
    ruled: list[tuple[Span, float]] = []
    for sheet in sheets:
        for words in sheet.things.words:
            line = line_of(sheet.drawing, words)
            if line.upright:
                held.append(line.height)
        for pieces in sheet.things.pieces.values():
            for cluster in clusters(pieces):
                if cluster.sort is Sort.ART and cluster.bounds.height <= _SMALL_MM:
                    held.append((cluster.bounds.y, cluster.bounds.bottom))
        for box in sheet.things.boxes:
            if box.pitch_mm is not None and box.from_top:
                ruled.append(((box.bounds.y, box.bounds.bottom), box.pitch_mm))
    first = sheets[0]
    return down(first.source.face, first.target.face, held, ruled)


def _resized(sheet: _Sheet, line: Down, measure: Measure, smallest_mm: float) -> Resized:
    drawing, old, new = sheet.drawing, sheet.source.face, sheet.target.face
    notes = list(_lay(sheet, sheet.things, across(old, new), line, measure, smallest_mm))
    redraw_guides(drawing, new)
    drawing.set_size(new.flat.width, new.flat.height)
    return Resized(drawing.data(), sheet.target.flap_mm, tuple(notes))


def _lay(
    sheet: _Sheet, things: Things, x: Stretch, line: Down, measure: Measure, smallest_mm: float
) -> Iterator[str]:
    """Puts things in their new places; yields what to look at."""
    drawing, y = sheet.drawing, line.stretch
    for box in things.boxes:
        stretch_box(drawing, box.element, x, y)
        if box.pitch_mm and not whole_pitches(y.slope(*_level(box.bounds)) * box.bounds.height,
                                              box.pitch_mm):  # fmt: skip
            yield f"{box.element.get('id')}: too low for a whole pitch of {box.pitch_mm:g} mm"
    yield from _lay_words(drawing, things, x, line, measure, smallest_mm)
    _lay_months(drawing, things, x, y, smallest_mm)
    movers = _Movers(drawing)
    for pieces in things.pieces.values():
        for cluster in clusters(pieces):
            _lay_cluster(sheet, cluster, x, y, movers)
    movers.move()
    for whole in things.wholes:
        move_whole(drawing, whole.element, _kept(sheet, whole.bounds, x, y))
    for inner in things.inner:
        assert inner.told is not None
        assert inner.scope is not None
        bounds = bounds_below(drawing, inner.scope)
        if bounds is None:
            continue
        told_x, told_y = told_stretches(
            inner.told, bounds, sheet.source.face, sheet.target.face, x, y
        )
        held = min(1.0, told_y.slope(bounds.y, bounds.bottom))
        yield from _lay(sheet, inner, told_x, Down(told_y, held), measure, smallest_mm)


def _level(bounds: Rect) -> Span:
    return bounds.y, bounds.bottom


def _lay_words(
    drawing: Drawing, things: Things, x: Stretch, down: Down, measure: Measure, smallest_mm: float
) -> Iterator[str]:
    lines = [line_of(drawing, words) for words in things.words]
    rooms = [_room(line.box, line.spot[1], x) for line in lines]
    by_look = scales(zip(lines, rooms, strict=True), measure, down.held, smallest_mm)
    for line, room in zip(lines, rooms, strict=True):
        scale = by_look[line.look]
        spot = new_spot(line, room if line.upright else None, scale, x, down.stretch)
        box = line.words.box
        if box is not None and line.box is not None and line.words.visible:
            stretch_box(drawing, box, x, down.stretch)
        elif box is not None and line.box is not None:
            top = spot[1] + (line.box.y - line.spot[1]) * scale
            area = Rect(room.x, top, room.width, line.box.height * scale)
            set_rect(drawing, box, drawing.matrix(box).inverse().bounds(area))
        move_text(drawing, line.words.text, similar(scale, line.spot, spot))
        note = too_wide(line, room, scale, measure)
        if note:
            yield note


def _room(box: Rect | None, top: float, x: Stretch) -> Rect:
    """The width that a text has on the new page."""
    if box is None:
        return Rect(0, top, 0, 0)
    left, right = x.span(box.x, box.right)
    return Rect(left, top, right - left, box.height)


def _lay_months(
    drawing: Drawing, things: Things, x: Stretch, y: Stretch, smallest_mm: float
) -> None:
    areas = []
    for month in things.months:
        old = drawing.matrix(month.area).bounds(rect_of(month.area))
        left, right = x.span(old.x, old.right)
        top, bottom = y.span(old.y, old.bottom)
        areas.append((month, old, Rect(left, top, right - left, bottom - top)))
    by_look: dict[Class, float] = month_scales(areas, drawing, smallest_mm)
    for month, old, new in areas:
        stretch_box(drawing, month.area, x, y)
        for sample in month.samples:
            line = line_of(drawing, Words(sample))
            share_x = (line.spot[0] - old.x) / old.width
            share_y = (line.spot[1] - old.y) / old.height
            spot = new.x + share_x * new.width, new.y + share_y * new.height
            move_text(drawing, sample, similar(by_look[line.look], line.spot, spot))


class _Movers:
    """Gathers where the parts of each path go, so that each path is written once."""

    def __init__(self, drawing: Drawing) -> None:
        self._drawing = drawing
        self._parts: dict[etree._Element, dict[int, Mover]] = {}

    def add(self, cluster: Cluster, to: Mover) -> None:
        for piece in cluster.pieces:
            if piece.part is not None:
                self._parts.setdefault(piece.element, {})[piece.part] = to
            elif isinstance(to, Similar):
                move_shape(self._drawing, piece.element, to)

    def move(self) -> None:
        for element, parts in self._parts.items():
            move_paths(self._drawing, element, parts)


def _lay_cluster(sheet: _Sheet, cluster: Cluster, x: Stretch, y: Stretch, movers: _Movers) -> None:
    bounds = cluster.bounds
    if cluster.sort is Sort.STRAIGHT:
        movers.add(cluster, lambda across, along: (x(across), y(along)))
    elif cluster.sort is Sort.RULE:
        movers.add(cluster, _drawn_out(bounds, x, y))
    elif cluster.sort is Sort.STRIP:
        for piece in cluster.pieces:
            alone = Cluster((piece,), piece.bounds, Sort.ART)
            movers.add(alone, _spread(piece.bounds, bounds, x, y))
    else:
        movers.add(cluster, _kept(sheet, bounds, x, y))


def _drawn_out(bounds: Rect, x: Stretch, y: Stretch) -> Mover:
    """Makes a rule as long as its room and leaves its thickness."""
    level = bounds.width >= bounds.height
    middle_x, middle_y = bounds.x + bounds.width / 2, bounds.y + bounds.height / 2
    shift_x, shift_y = x(middle_x) - middle_x, y(middle_y) - middle_y
    if level:
        left, right = x.span(bounds.x, bounds.right)
        longer = (right - left) / bounds.width
        return lambda across, along: (left + (across - bounds.x) * longer, along + shift_y)
    top, bottom = y.span(bounds.y, bounds.bottom)
    taller = (bottom - top) / bounds.height
    return lambda across, along: (across + shift_x, top + (along - bounds.y) * taller)


def _spread(piece: Rect, strip: Rect, x: Stretch, y: Stretch) -> Similar:
    """Moves a little thing along its strip, as it is."""
    across, along = piece.x + piece.width / 2, piece.y + piece.height / 2
    middle_x, middle_y = strip.x + strip.width / 2, strip.y + strip.height / 2
    if strip.width >= strip.height:
        return Similar(1.0, x(across) - across, y(middle_y) - middle_y)
    return Similar(1.0, x(middle_x) - middle_x, y(along) - along)


def _kept(sheet: _Sheet, bounds: Rect, x: Stretch, y: Stretch) -> Similar:
    """Keeps artwork's proportions and the edge or corner it is near."""
    panel = _panel_of(sheet.source.face, bounds)
    scale = _art_scale(bounds, panel, x, y)
    spot_x, to_x = _held(bounds.x, bounds.right, panel.x, panel.right, scale, x)
    spot_y, to_y = _held(bounds.y, bounds.bottom, panel.y, panel.bottom, scale, y)
    return similar(scale, (spot_x, spot_y), (to_x, to_y))


def _art_scale(bounds: Rect, panel: Rect, x: Stretch, y: Stretch) -> float:
    across, along = x.slope(bounds.x, bounds.right), y.slope(bounds.y, bounds.bottom)
    room = min(across, along)
    if room >= 1:
        return room if bounds.width > _WIDE * panel.width else 1.0
    largest = max(bounds.width, bounds.height)
    by_room = min(1.0, max(0.0, (largest - _TINY_MM) / (_LARGE_MM - _TINY_MM)))
    return by_room * room + (1 - by_room) * 1.0


def _panel_of(face: Face, bounds: Rect) -> Rect:
    middle = bounds.x + bounds.width / 2
    if face.flap and face.flap.x <= middle <= face.flap.right:
        return face.flap_safe or face.flap
    return face.safe


def _held(
    first: float, last: float, start: float, end: float, scale: float, line: Stretch
) -> tuple[float, float]:
    """A spot of what lies from ``first`` to ``last`` in a panel, and where it goes."""
    before, after, near = first - start, end - last, _NEAR * (end - start)
    if abs(before) <= near and before < after - 0.5:
        return first, line(first)
    if abs(after) <= near and after < before - 0.5:
        return last, line(last)
    return (first + last) / 2, (line(first) + line(last)) / 2
