"""How a leaf lies on a sheet: where, and turned how far; and what that does to a point.

Sheet and leaf coordinates are millimetres from the top left, y downwards.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import NamedTuple

from pipeline.base.geometry import Rect, pt


class Point(NamedTuple):
    """A place in mm."""

    x: float
    y: float


@dataclass(frozen=True)
class Pose:
    """A leaf ``width`` × ``height`` mm (unturned), turned clockwise by 0, 90, 180 or 270 degrees.

    ``x`` and ``y`` are the top left corner, on the sheet, of what it covers once turned.

    >>> pose = Pose(10, 20, 148, 210, 90)
    >>> pose.covers
    Rect(x=10, y=20, width=210, height=148)
    >>> pose.point(0, 0)
    Point(x=220, y=20)
    """

    x: float
    y: float
    width: float
    height: float
    turned: int = 0

    @property
    def covers(self) -> Rect:
        """The rectangle of the sheet it takes up."""
        if self.turned % 180:
            return Rect(self.x, self.y, self.height, self.width)
        return Rect(self.x, self.y, self.width, self.height)

    def point(self, u: float, v: float) -> Point:
        """Where the leaf's own point (u, v) comes to lie on the sheet."""
        if self.turned == 90:
            return Point(self.x + self.height - v, self.y + u)
        if self.turned == 180:
            return Point(self.x + self.width - u, self.y + self.height - v)
        if self.turned == 270:
            return Point(self.x + v, self.y + self.width - u)
        return Point(self.x + u, self.y + v)

    def rect(self, inner: Rect) -> Rect:
        """Where a rectangle of the leaf comes to lie on the sheet."""
        one, other = self.point(inner.x, inner.y), self.point(inner.right, inner.bottom)
        return Rect(
            min(one.x, other.x), min(one.y, other.y), abs(one.x - other.x), abs(one.y - other.y)
        )

    def behind(self, sheet_width: float) -> Pose:
        """The same leaf seen from the back, the sheet turned over on its upright edge.

        Twice is where it was.

        >>> Pose(10, 20, 148, 210, 90).behind(300)
        Pose(x=80, y=20, width=148, height=210, turned=270)
        """
        over = self.covers.mirrored_x(sheet_width)
        return Pose(over.x, over.y, self.width, self.height, -self.turned % 360)

    def upside_down(self, sheet_width: float, sheet_height: float) -> Pose:
        """The same with the whole sheet turned by 180 degrees in its plane."""
        over = self.covers.mirrored_x(sheet_width).mirrored_y(sheet_height)
        return Pose(over.x, over.y, self.width, self.height, (self.turned + 180) % 360)

    def moved(self, dx: float, dy: float) -> Pose:
        """The same, shifted on the sheet."""
        return Pose(self.x + dx, self.y + dy, self.width, self.height, self.turned)

    def matrix(self, page: Rect, sheet_height: float) -> tuple[float, ...]:
        """The PDF matrix that puts a drawing of ``page``'s size there (points, y upwards).

        ``page`` is the part of the leaf, in its own mm, that the drawing fills; the drawing's
        origin is its bottom left. Gives a, b, c, d, e, f of ISO 32000-1, 8.3.3.
        """
        origin = self.point(page.x, page.bottom)
        right, up = self.point(page.x + 1, page.bottom), self.point(page.x, page.bottom - 1)
        return (
            right.x - origin.x,
            origin.y - right.y,
            up.x - origin.x,
            origin.y - up.y,
            pt(origin.x),
            pt(sheet_height - origin.y),
        )
