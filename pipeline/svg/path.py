"""Path data and basic shapes (SVG 1.1, 8.3 and 9) as absolute lines and curves, and their boxes.

Arcs and quadratic curves become cubic ones, shorthand is written out: what remains is four
operators, which is all that PDF knows as well.
"""

from __future__ import annotations

import functools
import itertools
import math
import re
from collections.abc import Callable, Iterator, Sequence
from typing import NamedTuple

from fontTools.misc.bezierTools import calcCubicBounds, cubicPointAtT
from fontTools.pens.recordingPen import RecordingPen
from fontTools.svgLib.path.arc import EllipticalArc
from lxml import etree

from pipeline.base.geometry import NUMBER, Rect
from pipeline.svg.transform import Matrix, parse_transform
from pipeline.svg.tree import SVG
from pipeline.text.style import length

Point = tuple[float, float]

_STEP = re.compile(r"([MmZzLlHhVvCcSsQqTtAa])([^MmZzLlHhVvCcSsQqTtAa]*)")
_MOVE = re.compile(r"\s*[Mm]")
_FOREIGN = re.compile(r"[^\x00-\x7f]")
_TAKES = {"M": 2, "L": 2, "H": 1, "V": 1, "C": 6, "S": 4, "Q": 4, "T": 2, "A": 7}
_SMOOTH = {"S": "C", "T": "Q"}
"""Curves that go on smoothly from one of another kind."""

_TOKEN = re.compile(NUMBER.pattern + r"|\A\s*,|,(?=\s*(?:,|\Z))|[^\s,]")
"""A number, or what cannot stand between numbers."""

_ODD = re.compile(r"[^-+.,\d\sMmZzLlHhVvCcSsQqTtAa]", re.ASCII)
_STRAY = re.compile(r",\s*(?:[A-Za-z,]|\Z)|(?:[A-Za-z]|\A)\s*,")
"""A sign that is seldom in path data, and a comma that parts no numbers."""

_WHOLE = f"((?>{NUMBER.pattern}))"
_SEPARATOR = r"\s*+(?:,\s*+)?+"
_ARC = re.compile(_SEPARATOR + _SEPARATOR.join([_WHOLE] * 3 + ["([01])"] * 2 + [_WHOLE] * 2))
"""Radii, turn, flags and end of an arc; a flag is one digit, whatever follows (8.3.9)."""


def readable(text: str) -> str:
    """A text up to the first sign that no path data has."""
    return text if text.isascii() else _FOREIGN.split(text, maxsplit=1)[0]


def begins_with_move(d: str) -> bool:
    """Whether path data has a point to begin at (8.3.2); empty data needs none."""
    return not d.strip() or _MOVE.match(d) is not None


class Segment(NamedTuple):
    """A step of a path: its operator, where it starts, and its points, the last where it ends."""

    operator: str
    start: Point
    points: tuple[Point, ...]

    def flattened(self, steps: int) -> list[Point]:
        """Points it goes through after its start: its end, or ``steps`` of them on a curve."""
        if self.operator != "C":
            return [*self.points]
        return [
            cubicPointAtT(self.start, *self.points, number / steps)
            for number in range(1, steps + 1)
        ]


class PathData(NamedTuple):
    """Operators ``M``, ``L``, ``C`` and ``Z``, and the coordinates they take one after another."""

    operators: str
    coordinates: tuple[float, ...]

    @property
    def points(self) -> tuple[Point, ...]:
        """All points in order, control points too."""
        return tuple(zip(self.coordinates[::2], self.coordinates[1::2], strict=True))

    @property
    def hull(self) -> Rect | None:
        """The box around all points, control points too; None for an empty path."""
        if not self.coordinates:
            return None
        xs, ys = self.coordinates[::2], self.coordinates[1::2]
        left, top = min(xs), min(ys)
        return Rect(left, top, max(xs) - left, max(ys) - top)

    def moved(self, to: Callable[[float, float], Point]) -> PathData:
        """The same path with every point taken elsewhere."""
        moved = itertools.chain.from_iterable(to(x, y) for x, y in self.points)
        return PathData(self.operators, tuple(moved))

    def segments(self) -> Iterator[Segment]:
        """The steps of the path in order; a ``Z`` leads back to where its subpath began.

        >>> [(one.operator, one.points) for one in PathData("MLZ", (1, 2, 3, 4)).segments()]
        [('M', ((1, 2),)), ('L', ((3, 4),)), ('Z', ((1, 2),))]
        """
        points = iter(self.points)
        at = begun = (0.0, 0.0)
        for operator in self.operators:
            if operator == "C":
                taken: tuple[Point, ...] = (next(points), next(points), next(points))
            elif operator == "Z":
                taken = (begun,)
            else:
                taken = (next(points),)
            yield Segment(operator, at, taken)
            at = taken[-1]
            if operator == "M":
                begun = at

    def subpaths(self) -> tuple[PathData, ...]:
        """Each part of the path by itself; what goes on after a ``Z`` begins where that part did.

        >>> [part.operators for part in path_data("M0 0h5M10 10v5h5zl3 3").subpaths()]
        ['ML', 'MLLZ', 'ML']
        """
        parts: list[tuple[str, list[Point]]] = []
        for operator, at, points in self.segments():
            if operator == "M":
                parts.append(("", []))
            elif parts[-1][0].endswith("Z") and operator != "Z":
                parts.append(("M", [at]))
            operators, taken = parts[-1]
            if operator != "Z":
                taken += points
            parts[-1] = operators + operator, taken
        return tuple(
            PathData(operators, tuple(itertools.chain.from_iterable(points)))
            for operators, points in parts
        )


@functools.lru_cache(maxsize=20_000)
def path_data(d: str) -> PathData:
    """The path that a ``d`` attribute describes; what comes after an error is left out (F.2).

    Data that does not begin with a move is an error from the start, and nothing is drawn.

    >>> path_data("m1 2h3v4z")
    PathData(operators='MLLZ', coordinates=(1.0, 2.0, 4.0, 2.0, 4.0, 6.0))
    """
    steps: list[str] = []
    flat: list[float] = []
    x = y = 0.0
    begun = control = (x, y)  # where the subpath began; the last control point
    before = ""  # the operator before, for curves that go on smoothly
    parted = _parted(d)
    signs = readable(d) if parted is None else parted
    for command, text in _STEP.findall(signs) if begins_with_move(d) else ():
        kind = command.upper()
        relative = command != kind
        if kind == "Z":
            steps.append("Z")
            (x, y), before = begun, "Z"
            if text.strip():
                break
            continue
        given, whole = _arguments(kind, text, parted is not None)
        takes = _TAKES[kind]
        from_x = from_y = 0.0
        for first in range(0, len(given), takes):
            if relative:
                from_x, from_y = x, y
            if kind == "C":
                a, b, c, e, x, y = given[first : first + 6]
                c, e, x, y = c + from_x, e + from_y, x + from_x, y + from_y
                steps.append("C")
                flat += (a + from_x, b + from_y, c, e, x, y)
                control, before = (c, e), "C"
                continue
            if kind == "M":
                x, y = begun = (given[first] + from_x, given[first + 1] + from_y)
                steps.append("M")
                flat += begun
                kind = before = "L"
                continue
            own = given[first : first + takes]
            end = (own[-2:][0] + from_x, own[-1] + from_y)
            if kind == "A":
                for operator, points in _arc((x, y), own, end):
                    steps.append(operator)
                    flat += itertools.chain.from_iterable(points)
            elif kind in "LHV":
                end = (x if kind == "V" else end[0], y if kind == "H" else end[1])
                steps.append("L")
                flat += end
            else:
                handle = (own[0] + from_x, own[1] + from_y)
                mirrored = (2 * x - control[0], 2 * y - control[1])
                smooth = mirrored if before == _SMOOTH.get(kind) else (x, y)
                *handles, control = _handles(kind, (x, y), smooth, handle, end)
                steps.append("C")
                flat += (*handles[0], *handles[1], *end)
            x, y = end
            before = _SMOOTH.get(kind, kind)
        if not whole:
            break
    return PathData("".join(steps), tuple(flat))


def _handles(
    kind: str, start: Point, smooth: Point, handle: Point, end: Point
) -> tuple[Point, Point, Point]:
    """Both handles of a curve as a cubic one, and the control point that the next one mirrors.

    ``smooth`` is the handle of one that goes on smoothly, ``handle`` the first point it names.
    """
    if kind == "S":
        return smooth, handle, handle
    control = smooth if kind == "T" else handle
    (x, y), (c, e), (f, g) = start, control, end
    first = (x + 2 / 3 * (c - x), y + 2 / 3 * (e - y))
    return first, (f + 2 / 3 * (c - f), g + 2 / 3 * (e - g)), control


def _parted(d: str) -> str | None:
    """Path data with nothing but spaces between its numbers, which most editors' is but for commas
    and minus signs; None where more than that would have to be looked at."""
    if _ODD.search(d) is not None or ("," in d and _STRAY.search(d) is not None):
        return None
    return d.replace(",", " ").replace("-", " -")


def _arguments(kind: str, text: str, parted: bool) -> tuple[list[float], bool]:
    """The arguments of steps up to the first error, one after another, and whether all are good.

    ``parted`` tells that there is nothing between them but spaces.
    """
    if kind != "A":
        takes = _TAKES[kind]
        if parted:
            try:
                found = [*map(float, text.split())]
            except ValueError:  # two numbers run together
                return _numbers(text, takes)
            if found and not len(found) % takes:
                return found, True
            return found[: len(found) // takes * takes], False
        return _numbers(text, takes)
    arcs: list[float] = []
    at = 0
    while (match := _ARC.match(text, at)) and (arcs or not match[0].lstrip().startswith(",")):
        arcs += map(float, match.groups())
        at = match.end()
    return arcs, bool(arcs) and not text[at:].strip()


def _numbers(text: str, takes: int) -> tuple[list[float], bool]:
    """Numbers up to the first error, ``takes`` at a time, and whether all are good."""
    tokens = _TOKEN.findall(text)
    try:
        found = [*map(float, tokens)]
    except ValueError:
        found = [*map(float, itertools.takewhile(NUMBER.fullmatch, tokens))]
    good = len(found) // takes * takes
    return found[:good], bool(good) and good == len(tokens)


def _arc(start: Point, given: Sequence[float], end: Point) -> Iterator[tuple[str, Sequence[Point]]]:
    """An elliptical arc as cubic curves; one without a radius is a line (F.6.2)."""
    rx, ry, turn, large, sweep, *_ = given
    if start == end:
        return
    rx, ry, far = abs(rx), abs(ry), math.dist(start, end)
    if 0 < max(rx, ry) < 1e-6 * far:  # no number may be too small; it will be made larger (F.6.6)
        rx, ry = rx * (far / max(rx, ry) / 4), ry * (far / max(rx, ry) / 4)
    if not rx or not ry or not rx * rx < math.inf > ry * ry or not math.isfinite(turn):
        yield "L", (end,)
        return
    pen = RecordingPen()
    EllipticalArc(complex(*start), rx, ry, turn, int(large), int(sweep), complex(*end)).draw(pen)
    for name, points in pen.value:
        yield {"curveTo": "C", "lineTo": "L"}[name], points


_NOTHING = PathData("", ())
SHAPES = frozenset(("path", "rect", "circle", "ellipse", "line", "polyline", "polygon"))

_CIRCLE = 0.5522847498307936
"""How long a quarter circle's handles are, as a share of its radius."""


def outline(element: etree._Element) -> PathData:
    """A shape as path data, in its own user units; lengths must not be percentages."""
    tag = str(element.tag).removeprefix(SVG)
    if tag == "path":
        return path_data(str(element.get("d") or ""))

    def measure(name: str) -> float:
        return length(element.get(name))

    if tag == "rect":
        x, y, width, height = (measure(name) for name in ("x", "y", "width", "height"))
        rx, ry = _radii(element)
        if width <= 0 or height <= 0:
            return _NOTHING
        return _rounded(x, y, width, height, min(rx, width / 2), min(ry, height / 2))
    if tag in ("circle", "ellipse"):
        rx, ry = _radii(element)
        if tag == "circle":
            rx = ry = measure("r")
        if rx <= 0 or ry <= 0:
            return _NOTHING
        return _ellipse(measure("cx"), measure("cy"), rx, ry)
    if tag == "line":
        return PathData("ML", tuple(measure(name) for name in ("x1", "y1", "x2", "y2")))
    flat, _ = _numbers(readable(str(element.get("points") or "")), 2)
    closed = "Z" if tag == "polygon" else ""
    return PathData("M" + "L" * (len(flat) // 2 - 1) + closed, tuple(flat)) if flat else _NOTHING


def _radii(element: etree._Element) -> tuple[float, float]:
    """Both radii; one that is not given, or not as a length, is like the other (SVG 2, 10.2)."""
    rx, ry = length(element.get("rx"), default=-1), length(element.get("ry"), default=-1)
    return max(rx if rx >= 0 else ry, 0.0), max(ry if ry >= 0 else rx, 0.0)


def _ellipse(cx: float, cy: float, rx: float, ry: float) -> PathData:
    """An ellipse, begun at three o'clock and drawn clockwise (SVG 2, 10.3 and 10.4)."""
    kx, ky = rx * _CIRCLE, ry * _CIRCLE
    left, top, right, bottom = cx - rx, cy - ry, cx + rx, cy + ry
    return PathData(
        "MCCCCZ",
        (
            right, cy,
            right, cy + ky, cx + kx, bottom, cx, bottom,
            cx - kx, bottom, left, cy + ky, left, cy,
            left, cy - ky, cx - kx, top, cx, top,
            cx + kx, top, right, cy - ky, right, cy,
        ),
    )  # fmt: skip


def _rounded(x: float, y: float, width: float, height: float, rx: float, ry: float) -> PathData:
    """A rectangle with rounded corners, begun where SVG says and drawn the way round it says."""
    right, bottom = x + width, y + height
    if rx <= 0 or ry <= 0:
        return PathData("MLLLZ", (x, y, right, y, right, bottom, x, bottom))
    kx, ky = rx * (1 - _CIRCLE), ry * (1 - _CIRCLE)
    return PathData(
        "MLCLCLCLCZ",
        (
            x + rx, y, right - rx, y,
            right - kx, y, right, y + ky, right, y + ry,
            right, bottom - ry,
            right, bottom - ky, right - kx, bottom, right - rx, bottom,
            x + rx, bottom,
            x + kx, bottom, x, bottom - ky, x, bottom - ry,
            x, y + ry,
            x, y + ky, x + kx, y, x + rx, y,
        ),
    )  # fmt: skip


def written(data: PathData) -> str:
    """Path data as a ``d`` attribute.

    >>> written(PathData("MLZ", (0, 0, 2, 0.5)))
    'M0 0L2 0.5Z'
    """
    return "".join(
        "Z" if operator == "Z" else operator + " ".join(f"{x:.9g} {y:.9g}" for x, y in points)
        for operator, _, points in data.segments()
    )


def tight_box(data: PathData) -> Rect | None:
    """The box around a path itself, not its control points; None for an empty one.

    Moves that nothing follows do not count: nothing is drawn of them.
    """
    reached: list[Point] = []
    following = data.operators[1:] + "M"
    for (operator, start, points), then in zip(data.segments(), following, strict=True):
        if operator == then == "M":
            continue
        if operator == "C":
            left, top, right, bottom = calcCubicBounds(start, *points)
            reached += ((left, top), (right, bottom))
        else:
            reached += points
    return Rect.around(reached) if reached else None


def box_of(element: etree._Element) -> Rect | None:
    """The box that an element's own units refer to, in its user units.

    Strokes do not count (SVG 1.1, 7.11). None for what is empty; text counts for nothing.
    """
    boxes = list(_boxes(element, Matrix()))
    return Rect.union(boxes) if boxes else None


def _boxes(element: etree._Element, matrix: Matrix) -> list[Rect]:
    tag = str(element.tag).removeprefix(SVG)
    if tag in SHAPES:
        box = tight_box(outline(element).moved(matrix.point))
        return [box] if box is not None else []
    if tag == "image":
        sides = (length(element.get(name)) for name in ("x", "y", "width", "height"))
        return [matrix.bounds(Rect(*sides))]
    found = []
    if tag in ("g", "a", "svg"):
        for child in element:
            found += _boxes(child, matrix @ parse_transform(child.get("transform")))
    return found
