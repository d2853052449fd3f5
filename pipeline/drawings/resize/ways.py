"""Which way things go: with the page, or with the artwork that lies around them."""

from __future__ import annotations

from collections.abc import Sequence
from typing import NamedTuple

from pipeline.base.geometry import Rect
from pipeline.drawings.resize.clusters import Cluster
from pipeline.drawings.resize.stretch import Stretch


class Way(NamedTuple):
    """From left to right and from top to bottom."""

    x: Stretch
    y: Stretch

    def rect(self, box: Rect) -> Rect:
        """Where a box goes."""
        (left, right), (top, bottom) = self.x.span(box.x, box.right), self.y.span(box.y, box.bottom)
        return Rect(left, top, right - left, bottom - top)

    def least(self, box: Rect) -> float:
        """How much larger a box becomes, by the side that grows less."""
        return min(self.x.slope(box.x, box.right), self.y.slope(box.y, box.bottom))


class Ways(NamedTuple):
    """The page's way, and those of what surrounds things on it."""

    page: Way
    around: Sequence[tuple[Cluster, Way]]

    def of(self, box: Rect, but: Cluster | None = None) -> Way:
        """The way of what is in a box; ``but`` surrounds nothing, as it is the thing itself."""
        found = [
            (cluster.bounds.width, place)
            for place, (cluster, _) in enumerate(self.around)
            if cluster is not but and cluster.bounds.holds(box) and cluster.surrounds(box)
        ]
        return self.around[min(found)[1]][1] if found else self.page


def sliced(bounds: Rect, depth: float, page: Way) -> Way:
    """A frame's way: its four sides keep their thickness, what is between them stretches."""
    return Way(
        _sliced(bounds.x, bounds.right, depth, page.x),
        _sliced(bounds.y, bounds.bottom, depth, page.y),
    )


def _sliced(start: float, end: float, depth: float, line: Stretch) -> Stretch:
    first, last = line.span(start, end)
    if last - first <= 2 * depth or end - start <= 2 * depth:
        return Stretch((start, end), (first, last))
    return Stretch(
        (start, start + depth, end - depth, end), (first, first + depth, last - depth, last)
    )
