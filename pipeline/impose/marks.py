"""Where marks stand: crop, fold, punch and registration marks, outside every trimmed leaf; the
outline of tabs, and the dots at the holes that are punched away.

Side 1 is computed; side 2 is side 1 seen from behind, so that nothing can be off by a hair.
Sheet coordinates, mm.
"""

from __future__ import annotations

import itertools
import math
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace
from enum import StrEnum
from typing import NamedTuple

from pipeline.base.errors import UserError
from pipeline.base.geometry import MM_PER_INCH, Rect
from pipeline.impose.layout import APART_MM, SHORTEST_MARK_MM, Layout
from pipeline.impose.leaf import LeafFace
from pipeline.impose.sheet import Point, Position

RING_MM = 1.3
"""The ring at the end of a punch mark, across."""

DOT_MM = 0.8
"""The dot in the middle of a hole, across: the narrowest hole takes it away."""

PUNCH_MARK_MM = 3.2
"""A punch mark with its ring, at most."""

PILE_MM = 9 / 72 * MM_PER_INCH
"""The pile's number is looked for while cutting: 9 pt, where there is room."""

READABLE_MM = 3.0
"""A smaller register mark tells little that larger ones in other margins do not (by eye)."""

CLEAR_MM = 0.6
"""Registration marks and words keep this far from other marks."""


class MarkKind(StrEnum):
    """What a mark is for."""

    CROP = "crop"
    FOLD = "fold"
    PUNCH = "punch"
    HOLE = "hole"
    REGISTER = "register"
    PILE = "pile"
    TAB = "tab"


@dataclass(frozen=True)
class Line:
    """A hairline from one point to another."""

    kind: MarkKind
    start: Point
    end: Point

    @property
    def covers(self) -> Rect:
        """What it takes up."""
        return Rect.around((self.start, self.end))

    def behind(self, sheet_width: float) -> Line:
        """Seen from the back."""
        return Line(self.kind, self.start.behind(sheet_width), self.end.behind(sheet_width))


@dataclass(frozen=True)
class Ring:
    """A small circle, ``diameter`` mm across."""

    kind: MarkKind
    centre: Point
    diameter: float

    @property
    def covers(self) -> Rect:
        """What it takes up."""
        return self.centre.amid(self.diameter, self.diameter)

    def behind(self, sheet_width: float) -> Ring:
        """Seen from the back."""
        return replace(self, centre=self.centre.behind(sheet_width))


@dataclass(frozen=True)
class Label:
    """Words ``width`` mm wide, set at ``size`` mm around ``centre``, turned clockwise."""

    kind: MarkKind
    text: str
    centre: Point
    turned: int
    size: float
    width: float

    @property
    def covers(self) -> Rect:
        """What it takes up."""
        wide, high = (self.size, self.width) if self.turned % 180 else (self.width, self.size)
        return self.centre.amid(wide, high)

    def behind(self, sheet_width: float) -> Label:
        """At the same place of the paper, seen from the back, and still to be read."""
        return replace(self, centre=self.centre.behind(sheet_width), turned=-self.turned % 360)


Mark = Line | Ring | Label


def _length(layout: Layout, number: int, at: Point, towards: Point) -> float:
    """How long a mark of leaf ``number`` may be from its edge on, mm: full, or shorter.

    ``towards`` is a step of 1 mm outwards; the paper's end and a neighbour's marks set the limit.
    Raises UserError saying how much is missing when not even the shortest mark fits.
    """
    rooms = layout.rooms
    gap = rooms.gap
    free = _reach(rooms.area, at, towards)[1]
    for other, position in enumerate(layout.positions):
        ahead, _ = _reach(position.covers, at, towards)
        left, right = _reach(position.covers, at, Point(towards.y, towards.x))
        if other != number and ahead > -1e-9 and left < gap and right > -gap:
            free = min(free, (ahead - APART_MM) / 2)
    free -= gap
    if free < SHORTEST_MARK_MM - 1e-6:
        raise UserError(
            rooms.where,
            f"{SHORTEST_MARK_MM - free:.1f} mm are missing for {rooms.beside} beside a leaf",
            f"the shortest mark is {SHORTEST_MARK_MM:g} mm long and begins {gap:g} mm from the "
            f"leaf; {rooms.remedy}",
        )
    return min(rooms.longest_mm, free)


def _reach(rect: Rect, at: Point, towards: Point) -> tuple[float, float]:
    """How far off, seen from a point along a step, a rectangle begins and ends."""
    one, other = (
        (x - at.x) * towards.x + (y - at.y) * towards.y
        for x, y in ((rect.x, rect.y), (rect.right, rect.bottom))
    )
    return min(one, other), max(one, other)


class MarkPlace(NamedTuple):
    """Where a mark of a leaf begins once the gap is added, mm of its face, and a step outwards."""

    kind: MarkKind
    at: Point
    step: Point

    def on_sheet(self, position: Position) -> tuple[Point, Point]:
        """The same two on a sheet where the leaf lies so."""
        at, beyond = position.point(*self.at), position.point(*self.at.along(self.step, 1))
        return at, Point(round(beyond.x - at.x), round(beyond.y - at.y))


def mark_places(face: LeafFace) -> Iterator[MarkPlace]:
    """Where crop, fold and punch marks begin around one leaf whose face is ``face``.

    A tab's edge has a mark in line with the cut beside the tab, but for where the tab begins at the
    leaf's corner: whoever cut on through both would take the tab off. Punch marks are a pin at each
    hole's height beside the binding edge, and one at the holes' line above and below: two rulers
    laid across the pins cross where a hole's centre is.
    """
    ends = ((0.0, Point(0, -1)), (face.flat.height, Point(0, 1)))
    for u, out in ((0.0, Point(-1, 0)), (face.flat.width, Point(1, 0))):
        for v, up in ends:
            for step in (out, up):
                yield MarkPlace(MarkKind.CROP, Point(u, v), step)
    if face.fold_x is not None:
        for v, up in ends:
            yield MarkPlace(MarkKind.FOLD, Point(face.fold_x, v), up)
    for run in (face.outline, face.outline[::-1]):
        for end, before in itertools.pairwise(run[:2]):
            away = Point(*(math.copysign(a != b, a - b) for a, b in zip(end, before, strict=True)))
            # A tab at this corner begins beside it: the cut to it isn't the edge's own.
            if away.x * (end[0] - run[-1][0]) + away.y * (end[1] - run[-1][1]) > 0:
                yield MarkPlace(MarkKind.TAB, Point(*end), away)
    away = Point(-1 if face.binding_x == 0 else 1, 0)
    for hole in face.holes:
        yield MarkPlace(MarkKind.PUNCH, Point(face.binding_x, hole.y), away)
    for hole in face.holes[:1]:
        for v, up in ends:
            yield MarkPlace(MarkKind.PUNCH, Point(hole.x, v), up)


def leaf_marks(layout: Layout, number: int, face: LeafFace) -> Iterator[Mark]:
    """Crop, fold, tab and punch marks around one leaf of side 1, whose face is ``face``."""
    position, gap = layout.positions[number], layout.rooms.gap
    for place in mark_places(face):
        at, towards = place.on_sheet(position)
        length, ring = _length(layout, number, at, towards), 0.0
        if place.kind is MarkKind.PUNCH:
            length = min(PUNCH_MARK_MM, length)
            ring = min(RING_MM, length * 0.6)
        yield Line(place.kind, at.along(towards, gap), at.along(towards, gap + (length - ring)))
        if ring:
            yield Ring(place.kind, at.along(towards, gap + length - ring / 2), ring)


def tab_outline(position: Position, face: LeafFace) -> Iterator[Line]:
    """The cut around a leaf's tab and along the edge it stands out from, short of the corners."""
    for start, end in face.outline_lines:
        yield Line(MarkKind.TAB, position.point(*start), position.point(*end))


def hole_dots(layout: Layout, number: int, face: LeafFace) -> Iterator[Ring]:
    """A dot in the middle of each hole of one leaf of side 1, whose face is ``face``."""
    for hole in face.holes:
        yield Ring(MarkKind.HOLE, layout.positions[number].point(hole.x, hole.y), DOT_MM)


def pile_size(layout: Layout, number: int, face: LeafFace) -> float:
    """The type size of the pile's number at a leaf's head, as large as there is room for, mm."""
    at = face.trim.x + face.trim.width / 2, 0.0
    place = MarkPlace(MarkKind.PILE, Point(*at), Point(0, -1))
    return min(PILE_MM, _length(layout, number, *place.on_sheet(layout.positions[number])))


def pile_label(
    layout: Layout, number: int, face: LeafFace, words: str, width: float, size: float
) -> Label:
    """Which pile a leaf is cut for, at its head; ``width`` mm is how wide the ``words`` run."""
    position = layout.positions[number]
    centre = position.point(face.trim.x + face.trim.width / 2, -layout.rooms.gap - size / 2)
    return Label(MarkKind.PILE, words, centre, position.turned, size, width)


def registration(layout: Layout, others: Sequence[Mark]) -> Iterator[Mark]:
    """Register marks in the middle of each margin that has room; none is put where none is.

    Where another mark stands in the way they move along the margin. One that would be too small to
    be read beside larger ones is left out.
    """
    block, area, gap = layout.block, layout.rooms.area, layout.rooms.gap
    taken = [mark.covers.grown(CLEAR_MM) for mark in others]
    middle_x, middle_y = block.x + block.width / 2, block.y + block.height / 2
    margins = (
        (Point(0, -1), Point(middle_x, block.y), block.y - area.y, block.width),
        (Point(0, 1), Point(middle_x, block.bottom), area.bottom - block.bottom, block.width),
        (Point(-1, 0), Point(block.x, middle_y), block.x - area.x, block.height),
        (Point(1, 0), Point(block.right, middle_y), area.right - block.right, block.height),
    )
    largest = min(layout.rooms.longest_mm, max(room for _, _, room, _ in margins) - gap)
    least = READABLE_MM if largest >= READABLE_MM else SHORTEST_MARK_MM
    for towards, at, room, reach in margins:
        size = min(layout.rooms.longest_mm, room - gap)
        if size < least - 1e-6:
            continue
        outside = at.along(towards, gap + size / 2)
        halves = max(0, int(reach - 2 * size))  # to and fro by half millimetres
        for step in sorted(range(halves, -halves - 1, -1), key=abs):
            centre = outside.along(Point(abs(towards.y), abs(towards.x)), step / 2)
            box = centre.amid(size, size)
            if not any(box.overlaps(other) for other in taken):
                yield Ring(MarkKind.REGISTER, centre, size * 0.56)
                for arm in (Point(1, 0), Point(0, 1)):
                    start, end = centre.along(arm, -size / 2), centre.along(arm, size / 2)
                    yield Line(MarkKind.REGISTER, start, end)
                break
