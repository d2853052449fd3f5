"""Millimetres, points, rectangles and written numbers: the arithmetic every stage shares.

All coordinates are millimetres with the origin at the top left and y growing downwards, as in
SVG, until a PDF is written; only there are points used (1 pt = 1/72 in, ISO 32000-1, 8.3.2.3).
"""

from __future__ import annotations

import re
from collections.abc import Iterable
from typing import NamedTuple

MM_PER_INCH = 25.4
PT_PER_MM = 72 / MM_PER_INCH


NUMBER = re.compile(r"[-+]?(?:\d+(?:\.\d*)?|\.\d+)(?:[eE][-+]?\d+)?", re.ASCII)
"""A number as SVG and CSS write it (SVG 1.1, 4.2)."""


def decimal(value: float, places: int = 6) -> str:
    """A number without an exponent and idle noughts, as both SVG and PDF take it.

    >>> decimal(0.5), decimal(2.0), decimal(120, 0), decimal(-1e-9)
    ('0.5', '2', '120', '0')
    """
    text = f"{value:.{places}f}"
    if places:
        text = text.rstrip("0").rstrip(".")
    return "0" if text == "-0" else text


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
        """The smallest rectangle that holds all points (mm); raises ValueError for none.

        >>> Rect.around([(1, 5), (4, 2)])
        Rect(x=1, y=2, width=3, height=3)
        """
        xs, ys = zip(*points, strict=True)
        left, top = min(xs), min(ys)
        return cls(left, top, max(xs) - left, max(ys) - top)

    @classmethod
    def union(cls, boxes: Iterable[Rect]) -> Rect:
        """The smallest rectangle that holds all ``boxes``; raises ValueError for none.

        >>> Rect.union([Rect(0, 0, 1, 1), Rect(4, 2, 1, 1)])
        Rect(x=0, y=0, width=5, height=3)
        """
        edges = [(left, top, left + wide, top + high) for left, top, wide, high in boxes]
        lefts, tops, rights, bottoms = zip(*edges, strict=True)
        left, top = min(lefts), min(tops)
        return cls(left, top, max(rights) - left, max(bottoms) - top)

    @property
    def right(self) -> float:
        """The x of the right edge, mm."""
        return self.x + self.width

    @property
    def bottom(self) -> float:
        """The y of the bottom edge, mm."""
        return self.y + self.height

    @property
    def edges(self) -> tuple[float, float, float, float]:
        """Its left, top, right and bottom edge, mm."""
        return self.x, self.y, self.x + self.width, self.y + self.height

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
        (left, top, wide, high), (x, y, width, height) = self, other
        return (
            left < x + width - slack
            and x < left + wide - slack
            and top < y + height - slack
            and y < top + high - slack
        )

    def holds(self, other: Rect, slack: float = 1e-9) -> bool:
        """Whether ``other`` lies wholly inside (``slack`` in mm)."""
        (left, top, wide, high), (x, y, width, height) = self, other
        return (
            x >= left - slack
            and y >= top - slack
            and x + width <= left + wide + slack
            and y + height <= top + high + slack
        )
