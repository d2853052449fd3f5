"""Puts the things of a page in their new places."""

from __future__ import annotations

import itertools
from collections.abc import Iterable, Iterator, Sequence
from typing import NamedTuple

from lxml import etree

from pipeline.base.geometry import Rect
from pipeline.drawings.resize.anchors import Stretches, anchored, is_on_flap, safe_panel, sliced
from pipeline.drawings.resize.points import (
    Mover,
    Similar,
    move_paths,
    move_points,
    move_shape,
    move_text,
    move_whole,
    set_rect,
    similar,
    stretch_box,
)
from pipeline.drawings.resize.saved import SavedDrawing
from pipeline.drawings.resize.stretch import Stretch, down_inside
from pipeline.drawings.resize.things import (
    ArtPiece,
    Cluster,
    DrawnOnce,
    Sort,
    TextLine,
    Things,
    bounds_below,
    gap_between,
    side_by_side,
)
from pipeline.drawings.resize.typesizes import Neighbour, TypeSizes
from pipeline.fill.areas import whole_pitches
from pipeline.impose.leaf import LeafFace
from pipeline.svg.path import Point
from pipeline.svg.tree import inherited

_TINY_MM, _LARGE_MM = 5.0, 20.0
"""Artwork up to the first keeps its size where it can, from the second on it goes by its room."""
_NEAR = 0.2
"""Artwork within this share of a panel from its edge is held by that edge."""
_WIDE = 0.6
"""Artwork over this share of a panel's width grows with it."""
_LONG = 0.25
"""Pieces of a frame over this share of its side stretch with it, shorter ones are moved."""
_AIR_MM = 0.5
"""Artwork stays so far from what it was at least as far from."""
_TRIES = 5
_LEAST_IN_A_ROW = 0.4
"""Little things get no smaller than so: boxes to be ticked are of no use then (by eye)."""


class Surroundings(NamedTuple):
    """How the page stretches, and how frames and wreaths do, for what they surround."""

    page: Stretches
    around: Sequence[tuple[Cluster, Stretches]]

    @classmethod
    def on(cls, art: Iterable[Cluster], face: LeafFace, page: Stretches) -> Surroundings:
        """Those of a page with this artwork on its (old) ``face``."""
        around: list[tuple[Cluster, Stretches]] = []
        for cluster in art:
            box = cluster.bounds
            if cluster.sort is Sort.FRAME:
                around.append((cluster, sliced(box, cluster.depth, page)))
            elif cluster.is_large:
                new = _in_proportion(box, face, page).rect(box)
                x = Stretch((box.x, box.right), (new.x, new.right))
                y = Stretch((box.y, box.bottom), (new.y, new.bottom))
                around.append((cluster, Stretches(x, y)))
        return cls(page, around)

    def of(self, box: Rect, but: Cluster | None = None) -> Stretches:
        """How what is in a box stretches; ``but`` is the thing itself and surrounds nothing."""
        found = [
            (cluster.bounds.width, place)
            for place, (cluster, _) in enumerate(self.around)
            if cluster is not but and cluster.surrounds(box)
        ]
        return self.around[min(found)[1]][1] if found else self.page


def _moved(
    cluster: Cluster, face: LeafFace, stretch: Stretches, neighbours: Sequence[Neighbour]
) -> Iterable[tuple[ArtPiece, Mover]]:
    """Where each piece goes on the page with this (old) ``face``, by its cluster's sort."""
    bounds, pieces = cluster.bounds, cluster.pieces
    if cluster.sort is Sort.STRIP:
        return [(piece, _spread(piece.bounds, bounds, stretch)) for piece in pieces]
    if cluster.sort is Sort.ROW:
        return _in_a_row(side_by_side(cluster), stretch)
    if cluster.sort is Sort.FRAME:
        along = sliced(bounds, cluster.depth, stretch)
        return [(piece, _framed(piece.bounds, bounds, along)) for piece in pieces]
    to: Mover
    if cluster.sort is Sort.STRAIGHT:
        to = stretch.point
    elif cluster.sort is Sort.RULE:
        to = _drawn_out(bounds, stretch)
    else:
        to = _in_proportion(bounds, face, stretch, neighbours)
    return [(piece, to) for piece in pieces]


def _drawn_out(bounds: Rect, stretch: Stretches) -> Mover:
    """Makes a rule as long as its room and leaves its thickness."""
    middle_x, middle_y = bounds.x + bounds.width / 2, bounds.y + bounds.height / 2
    shift_x, shift_y = stretch.x(middle_x) - middle_x, stretch.y(middle_y) - middle_y
    new = stretch.rect(bounds)
    if bounds.width >= bounds.height:
        longer = new.width / bounds.width
        return lambda x, y: (new.x + (x - bounds.x) * longer, y + shift_y)
    taller = new.height / bounds.height
    return lambda x, y: (x + shift_x, new.y + (y - bounds.y) * taller)


def _spread(piece: Rect, strip: Rect, stretch: Stretches) -> Similar:
    """Moves a little thing along its strip, as it is."""
    level = strip.width >= strip.height
    across, along = (piece, strip) if level else (strip, piece)
    x, y = across.x + across.width / 2, along.y + along.height / 2
    return Similar(1.0, stretch.x(x) - x, stretch.y(y) - y)


def _in_a_row(things: Sequence[Cluster], stretch: Stretches) -> list[tuple[ArtPiece, Mover]]:
    """Moves little things with their sample; they get no smaller than they must to stay apart
    from one another and within it."""
    boxes = [one.bounds for one in things]
    middles = [(box.x + box.width / 2, box.y + box.height / 2) for box in boxes]
    spots = [stretch.point(*middle) for middle in middles]
    scale = 1.0
    for line, along, size in ((stretch.x, 0, "width"), (stretch.y, 1, "height")):
        edges = [(line.old[0], line.new[0], 0.0), (line.old[-1], line.new[-1], 0.0)]
        lengths: list[float] = [getattr(box, size) for box in boxes]
        every = [
            (middle[along], spot[along], length / 2)
            for middle, spot, length in zip(middles, spots, lengths, strict=True)
        ]
        for one, other in itertools.combinations([*edges, *every], 2):
            halves = one[2] + other[2]
            gap = abs(one[0] - other[0]) - halves
            if halves and gap > 0:
                room = abs(one[1] - other[1]) - min(_AIR_MM, gap)
                scale = min(scale, room / halves)
    scale = max(scale, _LEAST_IN_A_ROW)
    return [
        (piece, similar(scale, middle, spot))
        for one, middle, spot in zip(things, middles, spots, strict=True)
        for piece in one.pieces
    ]


def _framed(piece: Rect, frame: Rect, stretch: Stretches) -> Mover:
    """Stretches a frame's long pieces lengthwise and moves its short ones."""
    x, y = piece.x + piece.width / 2, piece.y + piece.height / 2
    shift_x, shift_y = stretch.x(x) - x, stretch.y(y) - y
    wide, high = piece.width > _LONG * frame.width, piece.height > _LONG * frame.height
    if wide or high:
        return lambda x, y: (
            stretch.x(x) if wide else x + shift_x,
            stretch.y(y) if high else y + shift_y,
        )
    return Similar(1.0, shift_x, shift_y)


def _in_proportion(
    bounds: Rect, face: LeafFace, stretch: Stretches, neighbours: Sequence[Neighbour] = ()
) -> Similar:
    """Keeps artwork's proportions and the edge or corner it is near.

    It gets no smaller than it must to stay clear of neighbours that it was clear of.
    """
    panel = safe_panel(face, is_on_flap(face, bounds))
    room = stretch.least(bounds)
    wanted = _scale(bounds, panel, room)
    near = [
        (each.new, min(_AIR_MM, gap))
        for each in neighbours
        if (gap := gap_between(each.old, bounds)) > -0.05
    ]
    for attempt in range(_TRIES + 1):
        scale = wanted + (min(room, wanted) - wanted) * attempt / _TRIES
        spot_x, to_x = _held(bounds.x, bounds.right, panel.x, panel.right, stretch.x)
        spot_y, to_y = _held(bounds.y, bounds.bottom, panel.y, panel.bottom, stretch.y)
        to = similar(scale, (spot_x, spot_y), (to_x, to_y))
        new = to.rect(bounds)
        if not any(gap_between(other, new) < air - 0.05 for other, air in near):
            break
    return to


def _scale(bounds: Rect, panel: Rect, room: float) -> float:
    """How large artwork would be if it had no neighbours."""
    if room >= 1:
        return room if bounds.width > _WIDE * panel.width else 1.0
    largest = max(bounds.width, bounds.height)
    by_room = min(1.0, max(0.0, (largest - _TINY_MM) / (_LARGE_MM - _TINY_MM)))
    return by_room * room + (1 - by_room) * 1.0


def _held(first: float, last: float, start: float, end: float, line: Stretch) -> Point:
    """A spot of what lies from ``first`` to ``last`` in a panel, and where it goes."""
    before, after, near = first - start, end - last, _NEAR * (end - start)
    if abs(before) <= near and before < after - 0.5:
        return first, line(first)
    if abs(after) <= near and after < before - 0.5:
        return last, line(last)
    return (first + last) / 2, (line(first) + line(last)) / 2


class Laying:
    """Lays the things of one drawing from the page ``old`` to the page ``new``."""

    def __init__(
        self, drawing: SavedDrawing, old: LeafFace, new: LeafFace, type_sizes: TypeSizes
    ) -> None:
        self._drawing = drawing
        self._old, self._new = old, new
        self._type_sizes = type_sizes

    def lay(self, things: Things, page: Stretches, held: float) -> Iterator[str]:
        """Puts things in their places; yields what the illustrator should look at.

        ``held`` is how much lower lines of type get.
        """
        around = Surroundings.on(things.art, self._old, page)
        neighbours: list[Neighbour] = []
        for box in things.boxes:
            stretch = around.of(box.bounds)
            new = stretch.rect(box.bounds)
            neighbours.append(Neighbour(box.bounds, new))
            stretch_box(self._drawing, box.element, stretch.point)
            if box.pitch_mm and not whole_pitches(new.height, box.pitch_mm):
                name = box.element.get("id", "an area")
                yield f"{name}: too low for a whole pitch of {box.pitch_mm:g} mm"
        yield from self._lay_words(things.words, things.art, around, held, neighbours)
        self._lay_months(things, around)
        self._lay_art(things.art, around, neighbours)
        for element, bounds in things.wholes:
            move_whole(self._drawing, element, _in_proportion(bounds, self._old, page))
        for sample in things.samples:
            line = _in_room(sample, around.of(sample.room))
            yield from self.lay(sample.things, *line)
        for inner in things.inner:
            assert inner.scope is not None
            extent = bounds_below(self._drawing, inner.scope)
            if extent is not None:
                stretches = anchored(inner.edges, extent, self._old, self._new, page)
                slope = stretches.y.slope(extent.y, extent.bottom)
                yield from self.lay(inner, stretches, min(1.0, slope))

    def _lay_art(
        self, art: Sequence[Cluster], around: Surroundings, neighbours: Sequence[Neighbour]
    ) -> None:
        parts: dict[etree._Element, dict[int, Mover]] = {}
        for cluster in art:
            stretch = around.of(cluster.bounds, but=cluster)
            for piece, to in _moved(cluster, self._old, stretch, neighbours):
                if piece.part is not None:
                    parts.setdefault(piece.element, {})[piece.part] = to
                elif isinstance(to, Similar):
                    move_shape(self._drawing, piece.element, to)
                else:
                    move_points(self._drawing, piece.element, to)
        for element, movers in parts.items():
            move_paths(self._drawing, element, movers)

    def _lay_words(
        self,
        lines: Sequence[TextLine],
        art: Sequence[Cluster],
        around: Surroundings,
        held: float,
        neighbours: list[Neighbour],
    ) -> Iterator[str]:
        """Sets the words; adds where they stand to the neighbours."""
        stretches = [around.of(line.extent) for line in lines]
        beside = [*neighbours, *map(_as_neighbour, lines, stretches)]
        beside += [
            Neighbour(cluster.bounds, around.of(cluster.bounds, but=cluster).rect(cluster.bounds))
            for cluster in art
            if not cluster.is_large
        ]
        places = [
            self._type_sizes.place(
                line, stretch, [each for each in beside if each.old not in (line.extent, line.box)]
            )
            for line, stretch in zip(lines, stretches, strict=True)
        ]
        by_look = self._type_sizes.scales(zip(lines, places, strict=True), held)
        for line, place, stretch in zip(lines, places, stretches, strict=True):
            scale = by_look[line.look]
            spot = place.spot(line, scale)
            self._set_box(line, place.room, spot, scale, stretch)
            to = similar(scale, line.spot, spot)
            move_text(self._drawing, line.text, to)
            neighbours.append(Neighbour(line.extent, to.rect(line.extent)))
            note = self._type_sizes.too_wide(line, place, scale)
            if note:
                yield note

    def _set_box(
        self, line: TextLine, room: Rect | None, spot: Point, scale: float, stretch: Stretches
    ) -> None:
        """Makes a text's box as wide as its room, and high enough for its type."""
        if line.holder is None or line.box is None or room is None:
            return
        drawn = inherited(line.holder, "fill"), inherited(line.holder, "stroke") or "none"
        if drawn != ("none", "none"):
            stretch_box(self._drawing, line.holder, stretch.point)
            return
        top = spot[1] + (line.box.y - line.spot[1]) * scale
        area = Rect(room.x, top, room.width, line.box.height * scale)
        to_own = self._drawing.matrix(line.holder).inverse()
        set_rect(self._drawing, line.holder, to_own.bounds(area))

    def _lay_months(self, things: Things, around: Surroundings) -> None:
        samples: list[tuple[TextLine, Rect, Rect]] = []
        for month in things.months:
            stretch = around.of(month.bounds)
            new = stretch.rect(month.bounds)
            samples += [(line, month.bounds, new) for line in month.samples]
            stretch_box(self._drawing, month.area, stretch.point)
        by_look = self._type_sizes.month_scales(samples)
        for line, old, new in samples:
            across = new.x + (line.spot[0] - old.x) / old.width * new.width
            along = new.y + (line.spot[1] - old.y) / old.height * new.height
            to = similar(by_look[line.look], line.spot, (across, along))
            move_text(self._drawing, line.text, to)


def _in_room(sample: DrawnOnce, stretch: Stretches) -> tuple[Stretches, float]:
    """How a sample stretches: its place stays the same share of the room, its words as high.

    The second is how much lower these get where there is no room for that.
    """
    old, cell, new = sample.room, sample.cell, stretch.rect(sample.room)
    wider, higher = new.width / old.width, new.height / old.height
    left, top = new.x + (cell.x - old.x) * wider, new.y + (cell.y - old.y) * higher
    held = [(line.extent.y, line.extent.bottom) for line in sample.things.words]
    y = down_inside((cell.y, cell.bottom), (top, top + cell.height * higher), held)
    x = Stretch((cell.x, cell.right), (left, left + cell.width * wider))
    return Stretches(x, y.stretch), y.held


def _as_neighbour(line: TextLine, stretch: Stretches) -> Neighbour:
    """A line as a neighbour of others: its box, as it stays in that; without one as it was."""
    if line.box is not None:
        return Neighbour(line.box, stretch.rect(line.box))
    old, (x, y) = line.extent, line.spot
    return Neighbour(old, old.moved(stretch.x(x) - x, stretch.y(y) - y))
