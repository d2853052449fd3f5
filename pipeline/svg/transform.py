"""Affine transforms as SVG writes them (SVG 1.1, 7.6): parsing, composing, undoing."""

from __future__ import annotations

import math
import re
from typing import NamedTuple

from pipeline.base.geometry import NUMBER, Rect

_CALL = re.compile(r"(matrix|translate|scale|rotate|skewX|skewY)\s*\(([^)]*)\)")


class Matrix(NamedTuple):
    """Maps (x, y) to (a·x + c·y + e, b·x + d·y + f)."""

    a: float = 1.0
    b: float = 0.0
    c: float = 0.0
    d: float = 1.0
    e: float = 0.0
    f: float = 0.0

    def __matmul__(self, inner: Matrix) -> Matrix:
        """First ``inner``, then this."""
        return Matrix(
            self.a * inner.a + self.c * inner.b,
            self.b * inner.a + self.d * inner.b,
            self.a * inner.c + self.c * inner.d,
            self.b * inner.c + self.d * inner.d,
            self.a * inner.e + self.c * inner.f + self.e,
            self.b * inner.e + self.d * inner.f + self.f,
        )

    def inverse(self) -> Matrix:
        """The transform that undoes this one; raises ZeroDivisionError when it is flat.

        >>> Matrix(2, 0, 0, 2, 10, 0).inverse() @ Matrix(2, 0, 0, 2, 10, 0) == Matrix()
        True
        """
        det = self.a * self.d - self.b * self.c
        a, b, c, d = self.d / det, -self.b / det, -self.c / det, self.a / det
        return Matrix(a, b, c, d, -(a * self.e + c * self.f), -(b * self.e + d * self.f))

    def point(self, x: float, y: float) -> tuple[float, float]:
        """Where a point goes."""
        return self.a * x + self.c * y + self.e, self.b * x + self.d * y + self.f

    def bounds(self, rect: Rect) -> Rect:
        """The upright box around where a rectangle's corners go."""
        if self.b == 0 == self.c and self.a > 0 and self.d > 0:
            x, y, width, height = rect
            return Rect(self.a * x + self.e, self.d * y + self.f, self.a * width, self.d * height)
        corners = [self.point(x, y) for x in (rect.x, rect.right) for y in (rect.y, rect.bottom)]
        return Rect.around(corners)

    @property
    def scale_x(self) -> float:
        """How much longer a horizontal line becomes."""
        return math.hypot(self.a, self.b)

    @property
    def scale_y(self) -> float:
        """How much longer a vertical line becomes."""
        return math.hypot(self.c, self.d)

    def __str__(self) -> str:
        return "matrix(" + " ".join(f"{value:.8g}" for value in self) + ")"


def parse_transform(value: str | None) -> Matrix:
    """The matrix of a ``transform`` attribute.

    >>> parse_transform("translate(10 5) scale(2)")
    Matrix(a=2.0, b=0.0, c=0.0, d=2.0, e=10.0, f=5.0)
    """
    result = Matrix()
    for name, inside in _CALL.findall(value or ""):
        numbers = [float(number) for number in NUMBER.findall(inside)]
        result = result @ _one(name, numbers)
    return result


def _one(name: str, n: list[float]) -> Matrix:
    if name == "matrix" and len(n) == 6:
        return Matrix(*n)
    if name == "translate" and n:
        return Matrix(e=n[0], f=n[1] if len(n) > 1 else 0.0)
    if name == "scale" and n:
        return Matrix(a=n[0], d=n[1] if len(n) > 1 else n[0])
    if name == "rotate" and n:
        turn = math.radians(n[0])
        spin = Matrix(math.cos(turn), math.sin(turn), -math.sin(turn), math.cos(turn))
        if len(n) == 3:
            return Matrix(e=n[1], f=n[2]) @ spin @ Matrix(e=-n[1], f=-n[2])
        return spin
    if name == "skewX" and n:
        return Matrix(c=math.tan(math.radians(n[0])))
    if name == "skewY" and n:
        return Matrix(b=math.tan(math.radians(n[0])))
    return Matrix()
