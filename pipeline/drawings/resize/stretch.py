"""Where positions go on a page of another size: a line bent at a few knots."""

from __future__ import annotations

import bisect
from collections.abc import Callable, Hashable, Iterable, Iterator, Sequence
from dataclasses import dataclass
from typing import NamedTuple

from pipeline.base.geometry import Rect
from pipeline.fill.areas import whole_pitches
from pipeline.impose.leaf import LeafFace

Span = tuple[float, float]

_SAME_MM = 0.03
"""Lengths and distances no further apart are the same; drawings round to hundredths."""
_LEAST_MM = 0.5
"""Nothing shorter is looked after."""
_EDGE_MM = 3.0
"""So far inside the safe area all keeps its distance to the edge."""
_HELD_TOGETHER_MM = 6.5
"""Things this near each other, one above the other, keep their distance."""
_LEAST_GIVE = 0.5
"""Empty room shrinks at most to half of what the page as a whole shrinks to."""
_SLIVER_MM = 0.06
"""What differs by less between rows is how the drawing was rounded."""


class Mark(NamedTuple):
    """A thing on a page: its box, mm, and what it must have in common with its like."""

    box: Rect
    look: Hashable = None


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
                starts, length = _distinct(box.y for box in wide), wide[0].height
                if look is None and len(starts) > 1 and length >= _LEAST_MM:
                    found.append(Alike(tuple(starts), length))
                for column in _near(wide, lambda box: box.x):
                    found += _steps(column, edges)
    plain = [mark.box for mark in kept if mark.look is None and mark.box.height >= _LEAST_MM]
    for wide in _near(plain, lambda box: box.width):
        for column in _near(wide, lambda box: box.x):
            found += _beginnings(column)
    return list(dict.fromkeys(found))


def columns(marks: Iterable[Mark], right: float) -> list[Alike]:
    """The same from left to right, in a panel whose safe area ends at ``right`` (mm)."""
    turned = (Mark(Rect(box.y, box.x, box.height, box.width), look) for box, look in marks)
    return rows(turned, right)


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
    return abs(one - other) <= _SAME_MM


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


@dataclass(frozen=True)
class Stretch:
    """A rising line through knots: where each ``old`` position (mm) goes; slope 1 beyond them.

    >>> wider = Stretch((0, 10), (0, 30))
    >>> wider(5), wider(12), wider.slope(0, 10)
    (15.0, 32, 3.0)
    """

    old: tuple[float, ...]
    new: tuple[float, ...]

    def __call__(self, position: float) -> float:
        old, new = self.old, self.new
        if position <= old[0]:
            return new[0] + position - old[0]
        if position >= old[-1]:
            return new[-1] + position - old[-1]
        after = bisect.bisect_right(old, position)
        share = (position - old[after - 1]) / (old[after] - old[after - 1])
        return new[after - 1] + share * (new[after] - new[after - 1])

    def slope(self, start: float, end: float) -> float:
        """How much longer what lies from ``start`` to ``end`` becomes."""
        if end - start < 1e-6:
            start, end = start - 0.5, end + 0.5
        return (self(end) - self(start)) / (end - start)

    def span(self, start: float, end: float) -> Span:
        """Where both ends go."""
        return self(start), self(end)


def through(knots: Iterable[tuple[float, float]]) -> Stretch:
    """The line through pairs of (old, new); of knots at the same place the first counts."""
    kept: list[tuple[float, float]] = []
    for old, new in sorted(knots):
        if not kept or old - kept[-1][0] > 1e-6:
            kept.append((old, max(new, kept[-1][1]) if kept else new))
    return Stretch(tuple(old for old, _ in kept), tuple(new for _, new in kept))


def across(old: LeafFace, new: LeafFace, alike: Sequence[Alike] = ()) -> Stretch:
    """From left to right: page to page and flap to flap, in proportion between their edges.

    Stretches that are ``alike`` stay so.
    """
    knots = _edges(old.trim, old.safe, new.trim, new.safe, alike)
    if old.flap and new.flap:
        safe, new_safe = old.flap_safe or old.flap, new.flap_safe or new.flap
        knots += _edges(old.flap, safe, new.flap, new_safe, alike)
    return through(knots)


def _edges(
    trim: Rect, safe: Rect, new_trim: Rect, new_safe: Rect, alike: Sequence[Alike]
) -> list[tuple[float, float]]:
    edge = min(_EDGE_MM, 0.1 * safe.width, 0.1 * new_safe.width)
    left, right = _clear(edge, (safe.x, safe.right), alike)
    return [
        (trim.x, new_trim.x),
        (safe.x, new_safe.x),
        (safe.x + left, new_safe.x + left),
        (safe.right - right, new_safe.right - right),
        (safe.right, new_safe.right),
        (trim.right, new_trim.right),
    ]


def _clear(edge: float, safe: Span, alike: Sequence[Alike]) -> Span:
    """How wide the edges at both ends are that keep their width.

    They end where what is alike begins: part of it cannot keep its length while the rest gives
    way.
    """
    first, last = safe
    spans = [span for each in alike for span in each.spans if span[1] > first and span[0] < last]
    start = min((span[0] - first for span in spans), default=edge)
    end = min((last - span[1] for span in spans), default=edge)
    return min(edge, max(0.0, start)), min(edge, max(0.0, end))


class Down(NamedTuple):
    """From top to bottom: the line, and the slope that type and small artwork get by it."""

    stretch: Stretch
    held: float


def down(
    old: LeafFace,
    new: LeafFace,
    held: Iterable[Span],
    ruled: Sequence[tuple[Span, float]] = (),
    alike: Sequence[Alike] = (),
) -> Down:
    """From top to bottom: what is ``held`` keeps its height, room between gives way.

    ``ruled`` are areas that are ruled from their top, with their pitch: they get as long as whole
    pitches are. When there is not enough room to give way, what is held shrinks as well.

    Stretches that are ``alike`` stay so: what is held in one of them is held in all, at the same
    place. Ruled areas among them get as long as their room.

    >>> from pipeline.impose.leaf import LeafGeometry
    >>> from pipeline.plan.model import Side
    >>> from pipeline.plan.sizes import load_sizes
    >>> a5, personal = (load_sizes(None).binder(name) for name in ("a5", "personal"))
    >>> faces = [LeafGeometry(size).face(Side.RECTO) for size in (a5, personal)]
    >>> line = down(*faces, held=[(20, 40)])
    >>> line.held, round(line.stretch.slope(20, 40), 3), round(line.stretch.slope(50, 150), 3)
    (1.0, 1.0, 0.781)
    """
    edge = min(_EDGE_MM, 0.1 * old.safe.height, 0.1 * new.safe.height)
    above, below = _clear(edge, (old.safe.y, old.safe.bottom), alike)
    top, bottom = old.safe.y + above, old.safe.bottom - below
    new_top, new_bottom = new.safe.y + above, new.safe.bottom - below
    spans = _repeated(_joined(held), alike)
    spans = [(max(start, top), min(end, bottom)) for start, end in spans if start < bottom]
    spans = [(start, end) for start, end in spans if end > start]
    inner, firm = _giving((top, bottom), (new_top, new_bottom), spans)
    knots = [(old.trim.y, new.trim.y), (old.safe.y, new.safe.y), *inner]
    knots += [(bottom, new_bottom), (old.safe.bottom, new.safe.bottom)]
    knots.append((old.trim.bottom, new.trim.bottom))
    line = through(knots)
    rows = [span for each in alike for span in each.spans]
    # What a ruled area leaves over must not push at the rows below it.
    line = through([*knots, *((place, line(place)) for span in rows for place in span)])
    taken = float("-inf")
    for (start, end), pitch in sorted(ruled, key=lambda each: (each[0][0], -each[0][1])):
        # Areas beside some rows, or ending where one begins, go with these.
        beside = any(start < last - 0.01 and end > first - 0.01 for first, last in rows)
        if not beside and start > taken - 0.01:
            line, taken = _whole(line, (start, end), pitch), end
    return Down(line, min(1.0, firm))


def down_inside(old: Span, new: Span, held: Iterable[Span]) -> Down:
    """From one end of a thing to the other: what is ``held`` in it keeps its height.

    >>> line = down_inside((0, 40), (0, 20), held=[(2, 8)])
    >>> line.held, line.stretch.slope(2, 8), line.stretch(40)
    (1.0, 1.0, 20)
    """
    start, end = old
    kept = [(max(start, first), min(end, last)) for first, last in held]
    knots, firm = _giving(old, new, _joined(span for span in kept if span[1] > span[0]))
    return Down(through([*knots, (end, new[1])]), min(1.0, firm))


def _giving(old: Span, new: Span, spans: Sequence[Span]) -> tuple[list[tuple[float, float]], float]:
    """Knots at both ends of held spans, room between them giving way, and how stiff they are."""
    (top, bottom), (new_top, new_bottom) = old, new
    length, room = bottom - top, new_bottom - new_top
    stiff = sum(end - start for start, end in spans)
    slack = length - stiff
    if slack < 0.05 * length:
        firm = give = room / length
    else:
        give = (room - stiff) / slack
        firm = 1.0
        if room < length and give < _LEAST_GIVE * room / length:
            give = _LEAST_GIVE * room / length
            firm = (room - give * slack) / stiff
    knots = [(top, new_top)]
    at, to = top, new_top
    for start, end in spans:
        to += (start - at) * give
        knots.append((start, to))
        to += (end - start) * firm
        knots.append((end, to))
        at = end
    return knots, firm


def _joined(spans: Iterable[Span]) -> list[Span]:
    """Spans that overlap or lie near each other, as one."""
    joined: list[Span] = []
    for start, end in sorted(spans):
        if joined and start - joined[-1][1] < _HELD_TOGETHER_MM:
            joined[-1] = (joined[-1][0], max(end, joined[-1][1]))
        else:
            joined.append((start, end))
    return joined


def _repeated(spans: Sequence[Span], alike: Sequence[Alike]) -> list[Span]:
    """Spans with all that is alike like: what is in one stretch is in all of its like."""
    found = list(spans)
    while True:
        more = [span for each in alike for span in _missing(found, each)]
        if not more:
            return found
        found = _joined([*found, *more])


def _missing(spans: Sequence[Span], alike: Alike) -> list[Span]:
    """What some of the stretches have and others lack."""
    inside = [
        (max(start - first, 0.0), min(end - first, alike.length))
        for first, last in alike.spans
        for start, end in spans
        if start < last and end > first
    ]
    return [
        (first + start, first + end)
        for start, end in sorted(set(inside))
        for first in alike.starts
        if end - start > _SLIVER_MM and not _has(spans, (first + start, first + end))
    ]


def _has(spans: Sequence[Span], wanted: Span) -> bool:
    start, end = wanted[0] + _SLIVER_MM, wanted[1] - _SLIVER_MM
    return end <= start or any(first <= start and end <= last for first, last in spans)


def _whole(line: Stretch, span: Span, pitch: float) -> Stretch:
    """The line with one area pulled in to whole pitches; what is below stays where it was."""
    start, end = span
    first, last = line.span(start, end)
    drawn = whole_pitches(end - start, pitch) * pitch
    over = end - start - drawn
    count = whole_pitches(last - first - over + 0.02 * pitch, pitch)
    if count < 1 or drawn <= 0 or last - first < 1e-6:
        return line
    share = (count * pitch + over) / (last - first)
    knots = [(start, first), (end, first + (last - first) * share)]
    for old, new in zip(line.old, line.new, strict=True):
        inside = start < old < end
        knots.append((old, first + (new - first) * share if inside else new))
    return through(knots)
