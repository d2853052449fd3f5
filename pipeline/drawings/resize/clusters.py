"""Puts pieces of artwork together that belong together: a sprig, a row of plants, a drawn rule."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from enum import StrEnum

from pipeline.base.geometry import Rect
from pipeline.drawings.resize.pieces import Piece, gap_between

TOUCHING_MM = 1.0
"""Pieces no further apart are one picture."""

GROUPED_MM = 3.0
"""Pieces of one group no further apart are one picture."""

_RULE_LENGTH_MM = 12.0
_RULE_SHARE = 12.0
_STRIP_MM = 6.0
_STRIP_SHARE = 8.0
_HUGGED = 0.4
_LARGE_MM = 25.0
_DEEPEST = 0.12
"""How deep a frame is at most, as a share of its shorter side; a circle is 0.146 deep."""


class Sort(StrEnum):
    """How a cluster takes to another size."""

    ART = "art"
    """Keeps its proportions."""
    RULE = "rule"
    """A drawn line: as long as its room, no thicker."""
    STRIP = "strip"
    """A band of little things: spread along it, no thicker."""
    FRAME = "frame"
    """Artwork all along the four sides of a box: as large as the box, no thicker."""
    STRAIGHT = "straight"
    """Level and upright lines: every corner goes where it goes."""


@dataclass(frozen=True)
class Cluster:
    """Pieces that go together, the box around them (mm) and their sort."""

    pieces: tuple[Piece, ...]
    bounds: Rect
    sort: Sort
    depth: float = 0.0
    """How far a frame reaches in from its sides, mm."""

    @property
    def is_large(self) -> bool:
        """Whether it is artwork that something may stand in, as in a wreath."""
        smaller = min(self.bounds.width, self.bounds.height)
        return self.sort in (Sort.ART, Sort.FRAME) and smaller >= _LARGE_MM

    def surrounds(self, box: Rect) -> bool:
        """Whether it lies around a box: it has pieces on all four sides of its middle."""
        if self.sort is Sort.FRAME:
            return self.bounds.grown(-0.5 * self.depth).holds(box)
        if not self.is_large:
            return False
        x, y = box.x + box.width / 2, box.y + box.height / 2
        sides = set()
        for piece in self.pieces:
            around = piece.bounds
            if around.y <= y <= around.bottom:
                sides |= {"left"} if around.right < x else {"right"} if around.x > x else set()
            if around.x <= x <= around.right:
                sides |= {"above"} if around.bottom < y else {"below"} if around.y > y else set()
        return len(sides) == 4


def clusters(pieces: Sequence[Piece]) -> list[Cluster]:
    """Pieces by what they belong to.

    Pieces that touch are one picture, as are those near each other in one group. A long thin
    piece is a rule, unless pictures stand along a good part of it, as plants do on their soil.
    """
    frames, pieces = _frames(pieces)
    straight = [piece for piece in pieces if piece.straight and not _is_tiny(piece.bounds)]
    rules = [piece for piece in pieces if piece not in straight and _is_rule(piece.bounds)]
    apart = set(map(id, straight)) | set(map(id, rules))
    groups = _grouped([piece for piece in pieces if id(piece) not in apart])
    groups, free = _take_in(rules, groups)
    found = frames + [Cluster((piece,), piece.bounds, Sort.STRAIGHT) for piece in straight]
    found += [Cluster((piece,), piece.bounds, Sort.RULE) for piece in free]
    for group in groups:
        bounds = _around(group)
        found.append(Cluster(tuple(group), bounds, Sort.STRIP if _is_strip(group) else Sort.ART))
    return found


def _frames(pieces: Sequence[Piece]) -> tuple[list[Cluster], list[Piece]]:
    """Frames among artwork, and the pieces that are in none."""
    frames: list[Cluster] = []
    others: list[Piece] = []
    for group in _grouped(pieces):
        bounds = _around(group)
        depth = max((_inside(bounds, x, y) for piece in group for x, y in piece.points), default=0)
        shorter = min(bounds.width, bounds.height)
        straight = all(piece.straight for piece in group)
        if shorter >= _LARGE_MM and depth <= _DEEPEST * shorter and not straight:
            frames.append(Cluster(tuple(group), bounds, Sort.FRAME, depth))
        else:
            others += group
    return frames, others


def _inside(box: Rect, x: float, y: float) -> float:
    """How far a point is from the nearest side of a box around it."""
    return min(x - box.x, box.right - x, y - box.y, box.bottom - y)


def _is_tiny(box: Rect) -> bool:
    return max(box.width, box.height) < 3.0


def _is_rule(box: Rect) -> bool:
    longest, thinnest = max(box.width, box.height), min(box.width, box.height)
    return longest >= _RULE_LENGTH_MM and longest >= _RULE_SHARE * thinnest


def _is_strip(group: Sequence[Piece]) -> bool:
    box = _around(group)
    longest, thinnest = max(box.width, box.height), min(box.width, box.height)
    return (
        len(group) > 4
        and longest >= 2 * _RULE_LENGTH_MM
        and thinnest <= _STRIP_MM
        and longest >= _STRIP_SHARE * thinnest
    )


def _take_in(
    rules: Sequence[Piece], groups: list[list[Piece]]
) -> tuple[list[list[Piece]], list[Piece]]:
    """Rules that pictures stand along become part of them; the others stay free."""
    free = []
    for rule in rules:
        near = rule.bounds.grown(0.3)
        hugging = [
            group
            for group in groups
            if not _is_strip(group) and any(near.overlaps(piece.bounds) for piece in group)
        ]
        level = rule.bounds.width >= rule.bounds.height
        if hugging and _covered(rule.bounds, map(_around, hugging), level) >= _HUGGED:
            joined = [piece for group in hugging for piece in group]
            kept = set(map(id, hugging))
            groups = [group for group in groups if id(group) not in kept]
            groups.append([*joined, rule])
        else:
            free.append(rule)
    return groups, free


def _covered(rule: Rect, boxes: Iterable[Rect], level: bool) -> float:
    """How much of a rule's length boxes cover."""
    start, end = (rule.x, rule.right) if level else (rule.y, rule.bottom)
    spans = sorted((b.x, b.right) if level else (b.y, b.bottom) for b in boxes)
    covered, at = 0.0, start
    for first, last in spans:
        first, last = max(first, at), min(last, end)
        if last > first:
            covered += last - first
            at = last
    return covered / (end - start)


def _around(group: Sequence[Piece]) -> Rect:
    return Rect.union(piece.bounds for piece in group)


def _grouped(pieces: Sequence[Piece]) -> list[list[Piece]]:
    """Pieces that hang together, found in one sweep from left to right."""
    order = sorted(range(len(pieces)), key=lambda place: pieces[place].bounds.x)
    leader = list(range(len(pieces)))

    def head(place: int) -> int:
        while leader[place] != place:
            leader[place] = leader[leader[place]]
            place = leader[place]
        return place

    group_of = {place: _group_of(pieces[place]) for place in order}
    active: list[int] = []
    for place in order:
        box = pieces[place].bounds
        active = [a for a in active if pieces[a].bounds.right + GROUPED_MM >= box.x]
        for other in active:
            reach = GROUPED_MM if group_of[other] == group_of[place] else TOUCHING_MM
            if gap_between(box, pieces[other].bounds) <= reach:
                leader[head(other)] = head(place)
        active.append(place)
    found: dict[int, list[Piece]] = {}
    for place in range(len(pieces)):
        found.setdefault(head(place), []).append(pieces[place])
    return list(found.values())


def _group_of(piece: Piece) -> int:
    parent = piece.element.getparent()
    layer = parent is None or "layer" in parent.attrib.values() or len(parent) > 60
    return id(piece.element) if layer else id(parent)
