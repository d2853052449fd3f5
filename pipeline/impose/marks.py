"""Where marks stand: crop, fold, punch and registration marks, all outside every trimmed leaf.

Side 1 is computed; side 2 is side 1 seen from behind, so that nothing can be off by a hair.
Sheet coordinates, mm.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace
from enum import StrEnum

from pipeline.base.errors import UserError
from pipeline.base.geometry import Rect
from pipeline.impose.layout import APART_MM, SHORTEST_MARK_MM, Layout, Rooms
from pipeline.impose.leaf import LeafFace
from pipeline.impose.sheet import Point, Position

RING_MM = 1.3
"""The ring at the end of a punch mark, across."""

PUNCH_MARK_MM = 3.2
"""A punch mark with its ring, at most."""

CLEAR_MM = 0.6
"""Registration marks and words keep this far from other marks."""


class MarkKind(StrEnum):
    """What a mark is for."""

    CROP = "crop"
    FOLD = "fold"
    PUNCH = "punch"
    REGISTER = "register"
    PILE = "pile"


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
        return replace(self, start=self.start.behind(sheet_width), end=self.end.behind(sheet_width))


@dataclass(frozen=True)
class Ring:
    """A small circle, ``diameter`` mm across."""

    kind: MarkKind
    centre: Point
    diameter: float

    @property
    def covers(self) -> Rect:
        """What it takes up."""
        half = self.diameter / 2
        return Rect(self.centre.x - half, self.centre.y - half, self.diameter, self.diameter)

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
        return Rect(self.centre.x - wide / 2, self.centre.y - high / 2, wide, high)

    def behind(self, sheet_width: float) -> Label:
        """At the same place of the paper, seen from the back, and still to be read."""
        return replace(self, centre=self.centre.behind(sheet_width), turned=-self.turned % 360)


Mark = Line | Ring | Label


@dataclass(frozen=True)
class Ground:
    """What marks must respect: the printable area, and the leaves of the sheet."""

    area: Rect
    layout: Layout
    rooms: Rooms
    where: str

    def reach(self, at: Point, towards: Point, own: int) -> float:
        """How far a mark may run from a leaf's edge, mm, before a neighbour's or the paper's end.

        ``towards`` is a step of 1 mm outwards; ``own`` the number of the leaf it belongs to.
        """
        free = _to_edge(at, towards, self.area)
        for number, position in enumerate(self.layout.positions):
            if number == own:
                continue
            ahead = _ahead(at, towards, position.covers, self.rooms.gap)
            if ahead is not None:
                free = min(free, (ahead - APART_MM) / 2)
        return free

    def length(self, at: Point, towards: Point, own: int) -> float:
        """How long a mark may be there, mm: full, or shorter when there is less room.

        Raises UserError saying how much is missing when not even the shortest fits.
        """
        free = self.reach(at, towards, own) - self.rooms.gap
        if free < SHORTEST_MARK_MM - 1e-6:
            raise UserError(
                self.where,
                f"{SHORTEST_MARK_MM - free:.1f} mm are missing for marks beside a leaf",
                f"the shortest mark is {SHORTEST_MARK_MM:g} mm long and begins "
                f"{self.rooms.gap:g} mm from the leaf; take a larger paper, or set the printer's "
                "unprintable_mm",
            )
        return min(self.rooms.longest_mm, free)


def _to_edge(at: Point, towards: Point, area: Rect) -> float:
    if towards.x:
        return area.right - at.x if towards.x > 0 else at.x - area.x
    return area.bottom - at.y if towards.y > 0 else at.y - area.y


def _ahead(at: Point, towards: Point, other: Rect, gap: float) -> float | None:
    """How far ahead another leaf begins, None when it is not in the way."""
    if towards.x:
        beside = other.y - gap < at.y < other.bottom + gap
        distance = other.x - at.x if towards.x > 0 else at.x - other.right
    else:
        beside = other.x - gap < at.x < other.right + gap
        distance = other.y - at.y if towards.y > 0 else at.y - other.bottom
    return distance if beside and distance > -1e-9 else None


def leaf_marks(ground: Ground, number: int, face: LeafFace) -> tuple[Mark, ...]:
    """Crop, fold and punch marks around one leaf of side 1, whose face is ``face``."""
    position = ground.layout.positions[number]
    return (
        *_crops(ground, number, position, face.flat),
        *_folds(ground, number, position, face),
        *_punches(ground, number, position, face),
    )


def pile_label(
    ground: Ground, number: int, face: LeafFace, words: str, width: float, size: float
) -> Label:
    """Which pile a leaf is cut for, at its head; ``width`` mm is how wide the ``words`` run."""
    position = ground.layout.positions[number]
    centre = position.point(face.trim.x + face.trim.width / 2, -ground.rooms.gap - size / 2)
    return Label(MarkKind.PILE, words, centre, position.turned, size, width)


def _outwards(position: Position, u: float, v: float, du: int, dv: int) -> tuple[Point, Point]:
    """A point of the leaf's edge on the sheet, and a step of 1 mm from it, outwards."""
    at, step = position.point(u, v), position.point(u + du, v + dv)
    return at, Point(round(step.x - at.x), round(step.y - at.y))


def _tick(kind: MarkKind, at: Point, towards: Point, start: float, length: float) -> Line:
    return Line(kind, at.along(towards, start), at.along(towards, start + length))


def _crops(ground: Ground, number: int, position: Position, flat: Rect) -> Iterator[Mark]:
    for u, out_u in ((0.0, -1), (flat.width, 1)):
        for v, out_v in ((0.0, -1), (flat.height, 1)):
            for du, dv in ((out_u, 0), (0, out_v)):
                at, towards = _outwards(position, u, v, du, dv)
                length = ground.length(at, towards, number)
                yield _tick(MarkKind.CROP, at, towards, ground.rooms.gap, length)


def _folds(ground: Ground, number: int, position: Position, face: LeafFace) -> Iterator[Mark]:
    if face.fold_x is None:
        return
    for v, dv in ((0.0, -1), (face.flat.height, 1)):
        at, towards = _outwards(position, face.fold_x, v, 0, dv)
        length = ground.length(at, towards, number)
        yield _tick(MarkKind.FOLD, at, towards, ground.rooms.gap, length)


def _punches(ground: Ground, number: int, position: Position, face: LeafFace) -> Iterator[Mark]:
    """A pin at each hole's height beside the binding edge, and at the holes' line above and below.

    Two rulers laid across the pins cross where a hole's centre is.
    """
    away = -1 if face.binding_x == 0 else 1
    places = [(face.binding_x, hole.y, away, 0) for hole in face.holes]
    if face.holes:
        line = face.holes[0].x
        places += [(line, 0.0, 0, -1), (line, face.flat.height, 0, 1)]
    for u, v, du, dv in places:
        at, towards = _outwards(position, u, v, du, dv)
        length = min(PUNCH_MARK_MM, ground.length(at, towards, number))
        ring = min(RING_MM, length * 0.6)
        yield _tick(MarkKind.PUNCH, at, towards, ground.rooms.gap, length - ring)
        centre = ground.rooms.gap + length - ring / 2
        yield Ring(MarkKind.PUNCH, at.along(towards, centre), ring)


def registration(ground: Ground, others: Sequence[Mark]) -> tuple[Mark, ...]:
    """Register marks in the middle of each margin that has room; none is put where none is.

    Where another mark stands in the way they move along the margin.
    """
    block, area, gap = ground.layout.block, ground.area, ground.rooms.gap
    taken = [mark.covers.grown(CLEAR_MM) for mark in others]
    middle_x, middle_y = block.x + block.width / 2, block.y + block.height / 2
    found: list[Mark] = []
    for towards, at, room, reach in (
        (Point(0, -1), Point(middle_x, block.y), block.y - area.y, block.width),
        (Point(0, 1), Point(middle_x, block.bottom), area.bottom - block.bottom, block.width),
        (Point(-1, 0), Point(block.x, middle_y), block.x - area.x, block.height),
        (Point(1, 0), Point(block.right, middle_y), area.right - block.right, block.height),
    ):
        size = min(ground.rooms.longest_mm, room - gap)
        if size < SHORTEST_MARK_MM - 1e-6:
            continue
        away = gap + size / 2
        for step in _to_and_fro(reach / 2 - size):
            centre = Point(
                at.x + towards.x * away + abs(towards.y) * step,
                at.y + towards.y * away + abs(towards.x) * step,
            )
            box = Rect(centre.x - size / 2, centre.y - size / 2, size, size)
            if not any(box.overlaps(other) for other in taken):
                found += _target(centre, size)
                break
    return tuple(found)


def _to_and_fro(limit: float) -> Iterator[float]:
    yield 0.0
    step = 0.5
    while step <= limit:
        yield from (step, -step)
        step += 0.5


def _target(centre: Point, size: float) -> Iterator[Mark]:
    half = size / 2
    yield Ring(MarkKind.REGISTER, centre, size * 0.56)
    for arm in (Point(1, 0), Point(0, 1)):
        yield Line(MarkKind.REGISTER, centre.along(arm, -half), centre.along(arm, half))
