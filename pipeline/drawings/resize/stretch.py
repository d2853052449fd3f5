"""How positions of one page become positions of another: a line bent at a few knots."""

from __future__ import annotations

import bisect
from collections.abc import Iterable, Sequence
from dataclasses import dataclass

from pipeline.base.geometry import Rect
from pipeline.drawings.resize.alike import Alike, Span
from pipeline.fill.areas import whole_pitches
from pipeline.impose.leaf import Face

EDGE_MM = 3.0
"""So far inside the safe area all keeps its distance to the edge."""

HELD_TOGETHER_MM = 6.5
"""Things this near each other, one above the other, keep their distance."""

_LEAST_GIVE = 0.5
"""Empty room shrinks at most to half of what the page as a whole shrinks to."""

_SLIVER_MM = 0.06
"""What differs by less between rows is how the drawing was rounded."""


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


def across(old: Face, new: Face, alike: Sequence[Alike] = ()) -> Stretch:
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
    edge = _edge(safe.width, new_safe.width)
    left, right = _clear(edge, (safe.x, safe.right), alike)
    return [
        (trim.x, new_trim.x),
        (safe.x, new_safe.x),
        (safe.x + left, new_safe.x + left),
        (safe.right - right, new_safe.right - right),
        (safe.right, new_safe.right),
        (trim.right, new_trim.right),
    ]


def _edge(*extents: float) -> float:
    return min(EDGE_MM, *(0.1 * extent for extent in extents))


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


@dataclass(frozen=True)
class Down:
    """From top to bottom: the line, and the slope that type and small artwork get by it."""

    stretch: Stretch
    held: float


def down(
    old: Face,
    new: Face,
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
    edge = _edge(old.safe.height, new.safe.height)
    above, below = _clear(edge, (old.safe.y, old.safe.bottom), alike)
    top, bottom = old.safe.y + above, old.safe.bottom - below
    new_top, new_bottom = new.safe.y + above, new.safe.bottom - below
    spans = _repeated(_joined(held), alike)
    spans = [(max(start, top), min(end, bottom)) for start, end in spans if start < bottom]
    spans = [(start, end) for start, end in spans if end > start]
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
    knots = [(old.trim.y, new.trim.y), (old.safe.y, new.safe.y), (top, new_top)]
    at, to = top, new_top
    for start, end in spans:
        to += (start - at) * give
        knots.append((start, to))
        to += (end - start) * firm
        knots.append((end, to))
        at = end
    knots += [(bottom, new_bottom), (old.safe.bottom, new.safe.bottom)]
    knots.append((old.trim.bottom, new.trim.bottom))
    line = through(knots)
    rows = [span for each in alike for span in each.spans]
    # What a ruled area leaves over must not push at the rows below it.
    line = through([*knots, *((place, line(place)) for span in rows for place in span)])
    for span, pitch in _apart([each for each in ruled if not _meets(each[0], rows)]):
        line = _whole(line, span, pitch)
    return Down(line, min(1.0, firm))


def _joined(spans: Iterable[Span]) -> list[Span]:
    """Spans that overlap or lie near each other, as one."""
    joined: list[Span] = []
    for start, end in sorted(spans):
        if joined and start - joined[-1][1] < HELD_TOGETHER_MM:
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


def _meets(area: Span, rows: Sequence[Span]) -> bool:
    """Whether an area lies beside some rows, or ends where one begins."""
    return any(area[0] < end - 0.01 and area[1] > start - 0.01 for start, end in rows)


def _apart(ruled: Sequence[tuple[Span, float]]) -> list[tuple[Span, float]]:
    """Ruled areas from the top down, without those beside one that was taken already."""
    taken: list[tuple[Span, float]] = []
    for (start, end), pitch in sorted(ruled, key=lambda each: (each[0][0], -each[0][1])):
        if not taken or start > taken[-1][0][1] - 0.01:
            taken.append(((start, end), pitch))
    return taken


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
