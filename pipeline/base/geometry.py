"""Millimetres, points and rectangles: the arithmetic every stage shares.

All coordinates are millimetres with the origin at the top left and y growing downwards, as in
SVG, until a PDF is written; only there are points used (1 pt = 1/72 in, ISO 32000-1, 8.3.2.3).
"""

from __future__ import annotations

from collections.abc import Iterable
from typing import NamedTuple

MM_PER_INCH = 25.4
PT_PER_MM = 72 / MM_PER_INCH


def pt(mm: float) -> float:
    """Points for a length in millimetres.

    >>> round(pt(210), 3)
    595.276
    """
    return mm * PT_PER_MM


def mm(points: float) -> float:
    """Millimetres for a length in points.

    >>> round(mm(72), 3)
    25.4
    """
    return points / PT_PER_MM


class Rect(NamedTuple):
    """A rectangle in millimetres: its top left corner, width and height."""

    x: float
    y: float
    width: float
    height: float

    @classmethod
    def around(cls, points: Iterable[tuple[float, float]]) -> Rect:
        """The smallest rectangle that holds all of some points, of which there is one at least.

        >>> Rect.around([(3, 1), (1, 4)])
        Rect(x=1, y=1, width=2, height=3)
        """
        xs, ys = zip(*points, strict=True)
        return cls(min(xs), min(ys), max(xs) - min(xs), max(ys) - min(ys))

    @classmethod
    def union(cls, boxes: Iterable[Rect]) -> Rect:
        """The smallest rectangle that holds all of some others, of which there is one at least."""
        return cls.around(
            corner for box in boxes for corner in ((box.x, box.y), (box.right, box.bottom))
        )

    @property
    def right(self) -> float:
        """The x of the right edge, mm."""
        return self.x + self.width

    @property
    def bottom(self) -> float:
        """The y of the bottom edge, mm."""
        return self.y + self.height

    def moved(self, dx: float, dy: float) -> Rect:
        """The same rectangle elsewhere.

        >>> Rect(1, 2, 3, 4).moved(10, 20)
        Rect(x=11, y=22, width=3, height=4)
        """
        return Rect(self.x + dx, self.y + dy, self.width, self.height)

    def mirrored_x(self, span: float) -> Rect:
        """Mirrored left to right within a sheet ``span`` mm wide; twice gives the same again.

        >>> Rect(10, 0, 30, 5).mirrored_x(100)
        Rect(x=60, y=0, width=30, height=5)
        """
        return Rect(span - self.x - self.width, self.y, self.width, self.height)

    def mirrored_y(self, span: float) -> Rect:
        """Mirrored top to bottom within a sheet ``span`` mm high."""
        return Rect(self.x, span - self.y - self.height, self.width, self.height)

    def grown(self, by: float) -> Rect:
        """Grown by ``by`` mm on every side (shrunk when negative).

        >>> Rect(10, 10, 20, 20).grown(3)
        Rect(x=7, y=7, width=26, height=26)
        """
        return Rect(self.x - by, self.y - by, self.width + 2 * by, self.height + 2 * by)

    def overlaps(self, other: Rect, slack: float = 1e-9) -> bool:
        """Whether the two share more than an edge (``slack`` in mm)."""
        return (
            self.x < other.right - slack
            and other.x < self.right - slack
            and self.y < other.bottom - slack
            and other.y < self.bottom - slack
        )

    def holds(self, other: Rect, slack: float = 1e-9) -> bool:
        """Whether ``other`` lies wholly inside (``slack`` in mm)."""
        return (
            other.x >= self.x - slack
            and other.y >= self.y - slack
            and other.right <= self.right + slack
            and other.bottom <= self.bottom + slack
        )
