"""Stretches of a page that are alike: rows as high as one another, columns as wide."""

from __future__ import annotations

from collections.abc import Callable, Hashable, Iterable, Iterator, Sequence
from typing import NamedTuple

from pipeline.base.geometry import Rect

SAME_MM = 0.03
"""Lengths and distances no further apart are the same; drawings round to hundredths."""

_LEAST_MM = 0.5
"""Nothing shorter is looked after."""

Span = tuple[float, float]


class Mark(NamedTuple):
    """A thing on a page: its box, mm, and what it must have in common with its like."""

    box: Rect
    look: Hashable = None

    def turned(self) -> Mark:
        """The same with left to right for top to bottom."""
        box = self.box
        return Mark(Rect(box.y, box.x, box.height, box.width), self.look)


class Alike(NamedTuple):
    """Equal stretches: where they start and how long each is, mm."""

    starts: tuple[float, ...]
    length: float

    @property
    def spans(self) -> tuple[Span, ...]:
        """Each of them, from where to where."""
        return tuple((start, start + self.length) for start in self.starts)


def rows(marks: Iterable[Mark], bottom: float) -> list[Alike]:
    """What is alike from top to bottom on a page whose safe area ends at ``bottom`` (mm).

    Boxes of one size are alike, and so are the distances of like things in a column, three or
    more of them. Where a row of that height follows the last of them, it counts as well. Boxes
    that stand so but are not as high as one another are alike as far as the lowest of them goes.

    >>> rows([Mark(Rect(13, y, 129, 0)) for y in (36, 60, 84)], bottom=204)
    [Alike(starts=(36, 60), length=24.0)]
    >>> rows([Mark(Rect(13, y, 129, 0)) for y in (36, 60, 84)], bottom=108)
    [Alike(starts=(36, 60, 84), length=24.0)]
    """
    kept = list(marks)
    edges = [bottom, *(edge for mark in kept for edge in (mark.box.y, mark.box.bottom))]
    found: list[Alike] = []
    for look in {mark.look: None for mark in kept}:
        like = [mark.box for mark in kept if mark.look == look]
        for high in _near(like, lambda box: box.height):
            for wide in _near(high, lambda box: box.width):
                if look is None:
                    found += _equals(wide)
                for column in _near(wide, lambda box: box.x):
                    found += _steps(column, edges)
    plain = [mark.box for mark in kept if mark.look is None and mark.box.height >= _LEAST_MM]
    for wide in _near(plain, lambda box: box.width):
        for column in _near(wide, lambda box: box.x):
            found += _beginnings(column)
    return list(dict.fromkeys(found))


def columns(marks: Iterable[Mark], right: float) -> list[Alike]:
    """The same from left to right, in a panel whose safe area ends at ``right`` (mm)."""
    return rows((mark.turned() for mark in marks), right)


def _equals(boxes: Sequence[Rect]) -> Iterator[Alike]:
    """Boxes of one size, where they do not all stand side by side."""
    starts = _distinct(box.y for box in boxes)
    length = boxes[0].height
    if len(starts) > 1 and length >= _LEAST_MM:
        yield Alike(tuple(starts), length)


def _steps(column: Sequence[Rect], edges: Sequence[float]) -> Iterator[Alike]:
    """Distances of like things that stand equally far from one to the next."""
    for starts in _even(column):
        length = (starts[-1] - starts[0]) / (len(starts) - 1)
        closed = any(_same(edge, starts[-1] + length) for edge in edges)
        yield Alike(tuple(starts if closed else starts[:-1]), length)


def _beginnings(column: Sequence[Rect]) -> Iterator[Alike]:
    """What boxes at even distances have in common, where they are not as high."""
    for starts in _even(column):
        lowest = min(box.height for box in column if any(_same(box.y, start) for start in starts))
        yield Alike(tuple(starts), min(lowest, starts[1] - starts[0]))


def _even(column: Sequence[Rect]) -> Iterator[list[float]]:
    """Where three things or more begin at the same distance from one to the next."""
    starts = _distinct(box.y for box in column)
    first = 0
    while first + 2 < len(starts):
        step = starts[first + 1] - starts[first]
        last = first + 1
        while last + 1 < len(starts) and _same(starts[last + 1] - starts[last], step):
            last += 1
        if last > first + 1 and step >= _LEAST_MM:
            yield starts[first : last + 1]
        first = last


def _same(one: float, other: float) -> bool:
    return abs(one - other) <= SAME_MM


def _distinct(places: Iterable[float]) -> list[float]:
    kept: list[float] = []
    for place in sorted(places):
        if not kept or not _same(place, kept[-1]):
            kept.append(place)
    return kept


def _near(boxes: Iterable[Rect], by: Callable[[Rect], float]) -> list[list[Rect]]:
    """Boxes in groups that have nearly the same of something."""
    groups: list[list[Rect]] = []
    for box in sorted(boxes, key=by):
        if groups and _same(by(box), by(groups[-1][-1])):
            groups[-1].append(box)
        else:
            groups.append([box])
    return groups
