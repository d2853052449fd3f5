"""Affine transforms as SVG writes them, and how a viewport's content is laid into it.

Sources: SVG 1.1, 7.6 (transforms) and 7.7 to 7.9 (viewports).
"""

from __future__ import annotations

import functools
import math
import re
from collections.abc import Callable
from typing import NamedTuple

from fontTools.misc.transform import Transform

from pipeline.base.geometry import NUMBER, Rect
from pipeline.text.style import length

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
        a, b, c, d, e, f = self
        x, y, across, down, right, low = inner
        return Matrix(
            a * x + c * y,
            b * x + d * y,
            a * across + c * down,
            b * across + d * down,
            a * right + c * low + e,
            b * right + d * low + f,
        )

    def inverse(self) -> Matrix:
        """The transform that undoes this one; raises ZeroDivisionError when it is flat.

        >>> Matrix(2, 0, 0, 2, 10, 0).inverse() @ Matrix(2, 0, 0, 2, 10, 0) == Matrix()
        True
        """
        return Matrix(*Transform(*self).inverse())

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
    def is_flat(self) -> bool:
        """Whether it leaves nothing of any area, so that it cannot be undone."""
        return abs(self.a * self.d - self.b * self.c) < 1e-15

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


@functools.lru_cache(maxsize=4096)
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


_PLAIN_TRANSFORM = re.compile(
    r"\s*+(?:(?:matrix|translate|scale|rotate|skewX|skewY)\s*+\([-+\d.eE\s,]*+\)[\s,]*+)*+"
)
_CSS_CALL = re.compile(r"\s*([a-z0-9]+)\s*\(([^()]*(?:\([^()]*\)[^()]*)*)\)\s*,?", re.IGNORECASE)


def is_plain(transform: str) -> bool:
    """Whether a transform is one as SVG 1.1 writes it, without units."""
    return _PLAIN_TRANSFORM.fullmatch(transform) is not None


class Reference(NamedTuple):
    """What a transform's shares and units go by: the box it refers to, and the size of type."""

    box: Callable[[], Rect]
    em: float


def css_transform(value: str, by: Reference) -> Matrix | None:
    """The matrix of a ``transform`` as CSS writes it; None for what is not flat or not CSS."""
    if value.strip().lower() == "none":
        return Matrix()
    result, place = Matrix(), 0
    while place < len(value.rstrip()):
        call = _CSS_CALL.match(value, place)
        one = _css_call(call[1].lower(), call[2], by) if call is not None else None
        if call is None or one is None:
            return None
        result, place = result @ one, call.end()
    return result


def _css_call(name: str, inside: str, by: Reference) -> Matrix | None:
    """One function of CSS Transforms 1 and 2, as far as it leaves things flat."""
    words = inside.replace(",", " ").split() if "(" not in inside else inside.split(",")
    if name in ("rotate", "rotatez", "skew", "skewx", "skewy"):
        turns = [angle(word) for word in words[:1] if name.startswith("rotate")] or [
            angle(word) for word in words
        ]
        moves = [_css_length(word, by, axis) for axis, word in enumerate(words[len(turns) :])]
        numbers = [*turns, *moves]
    elif name.startswith("translate"):
        axis = 1 if name == "translatey" else 0
        numbers = [_css_length(word, by, axis + place) for place, word in enumerate(words)]
    else:
        numbers = [_css_number(word) for word in words]
    known = [number for number in numbers if number is not None]
    if len(known) != len(numbers) or len(known) not in _CSS_TAKES.get(name, ()):
        return None
    return _flat(name, known)


_CSS_TAKES = {
    "matrix": (6,), "matrix3d": (16,), "translate": (1, 2), "translatex": (1,), "translatey": (1,),
    "translatez": (1,), "translate3d": (3,), "scale": (1, 2), "scalex": (1,), "scaley": (1,),
    "scalez": (1,), "scale3d": (3,), "rotate": (1, 3), "rotatez": (1,), "skew": (1, 2),
    "skewx": (1,), "skewy": (1,),
}  # fmt: skip
"""Flat functions of CSS, and those in space that leave flat things flat; their arguments."""


def _flat(name: str, n: list[float]) -> Matrix | None:
    if name == "matrix3d":
        flat = [n[place] for place in (2, 3, 6, 7, 8, 9, 11, 14)] == [0.0] * 8 and n[15] == 1
        return Matrix(n[0], n[1], n[4], n[5], n[12], n[13]) if flat else None
    if name in ("translatez", "scalez"):
        return Matrix()
    if name == "skew":
        down = math.tan(math.radians(n[1])) if len(n) > 1 else 0.0
        return Matrix(b=down, c=math.tan(math.radians(n[0])))
    if name in ("translatey", "scaley"):
        n = [0.0 if name == "translatey" else 1.0, *n]
    if name == "scalex":
        n = [*n, 1.0]
    kind = next(kind for kind in ("matrix", "translate", "scale", "rotate", "skewx", "skewy")
                if name.startswith(kind))  # fmt: skip
    return _one({"skewx": "skewX", "skewy": "skewY"}.get(kind, kind), n[:2] if "3d" in name else n)


def _css_length(word: str, by: Reference, axis: int) -> float | None:
    if axis > 1 or "%" not in word:
        number = length(word, by.em, default=math.nan)
    else:
        number = length(word, by.em, by.box()[2 + axis], math.nan)
    return None if math.isnan(number) else number


def _css_number(word: str) -> float | None:
    word = word.strip()
    if word.endswith("%") and NUMBER.fullmatch(word[:-1]):
        return float(word[:-1]) / 100
    return float(word) if NUMBER.fullmatch(word) else None


_SIDES = {"left": 0.0, "top": 0.0, "center": 0.5, "right": 1.0, "bottom": 1.0}


def css_origin(value: str, by: Reference) -> tuple[float, float]:
    """Where a ``transform-origin`` lies (CSS Transforms 1, 6); what is left out is the middle."""
    words = value.lower().split() if "(" not in value else [value]
    if words and (words[0] in ("top", "bottom") or words[1:2] in (["left"], ["right"])):
        words[:2] = words[1::-1] if len(words) > 1 else ["center", words[0]]
    box, found = by.box(), []
    for axis, word in enumerate([*words, "center", "center"][:2]):
        whole = box[2 + axis]
        along = _SIDES[word] * whole if word in _SIDES else length(word, by.em, whole)
        found.append(box[axis] + along)
    return found[0], found[1]


def angle(word: str) -> float | None:
    """Degrees for an angle with or without a unit; None for anything else.

    >>> angle("0.25turn"), angle("30"), angle("2em")
    (90.0, 30.0, None)
    """
    word = word.strip().lower()
    for unit, factor in (("grad", 0.9), ("deg", 1.0), ("rad", 180 / math.pi), ("turn", 360.0)):
        if word.endswith(unit):
            word = word.removesuffix(unit)
            return float(word) * factor if NUMBER.fullmatch(word) else None
    return float(word) if NUMBER.fullmatch(word) else None


_ALIGNED = {"min": 0.0, "mid": 0.5, "max": 1.0}


class Aspect(NamedTuple):
    """What ``preserveAspectRatio`` asks for: None stretches; else shares of the room left over."""

    x: float | None
    y: float
    slice: bool

    @classmethod
    def of(cls, value: str | None) -> Aspect:
        """Reads the attribute.

        >>> Aspect.of("xMinYMax slice"), Aspect.of(None).x, Aspect.of("none").x
        (Aspect(x=0.0, y=1.0, slice=True), 0.5, None)
        """
        words = [word for word in (value or "").split() if word != "defer"]
        align = words[0] if words else "xMidYMid"
        if align == "none":
            return cls(None, 0.0, False)
        x, y = _ALIGNED.get(align[1:4].lower()), _ALIGNED.get(align[5:8].lower())
        if x is None or y is None:
            x = y = 0.5
        return cls(x, y, len(words) > 1 and words[1] == "slice")


def fitted(box: Rect, room: Rect, aspect: Aspect) -> Matrix:
    """From the coordinates of ``box`` to those of the ``room`` it is shown in.

    >>> fitted(Rect(0, 0, 10, 10), Rect(5, 0, 40, 20), Aspect.of(None))
    Matrix(a=2.0, b=0.0, c=0.0, d=2.0, e=15.0, f=0.0)
    """
    scale_x, scale_y = room.width / box.width, room.height / box.height
    if aspect.x is None:
        return Matrix(scale_x, 0, 0, scale_y, room.x - box.x * scale_x, room.y - box.y * scale_y)
    scale = max(scale_x, scale_y) if aspect.slice else min(scale_x, scale_y)
    left = room.x + aspect.x * (room.width - box.width * scale)
    top = room.y + aspect.y * (room.height - box.height * scale)
    return Matrix(scale, 0.0, 0.0, scale, left - box.x * scale, top - box.y * scale)


def shows_nothing(value: str | None) -> bool:
    """Whether a ``viewBox`` has no width or height: what it is on is not drawn (SVG 2, 8.6).

    >>> shows_nothing("0 0 0 5"), shows_nothing("0 0 5 5"), shows_nothing(None)
    (True, False, False)
    """
    sides = [float(number) for number in NUMBER.findall(value or "")][2:]
    return len(sides) == 2 and min(sides) == 0


def view_box(value: str | None) -> Rect | None:
    """A ``viewBox``; None when there is none or it is empty.

    >>> view_box("0,0 10 20"), view_box("0 0 0 5")
    (Rect(x=0.0, y=0.0, width=10.0, height=20.0), None)
    """
    try:
        numbers = [float(part) for part in (value or "").replace(",", " ").split()]
    except ValueError:
        return None
    if len(numbers) != 4 or min(numbers[2:]) <= 0:
        return None
    return Rect(*numbers)
