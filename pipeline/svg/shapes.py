"""Basic shapes as path data, and the boxes that boxes' own units refer to (SVG 1.1, 9 and 7.11)."""

from __future__ import annotations

import re

from fontTools.misc.bezierTools import calcCubicBounds
from lxml import etree

from pipeline.base.geometry import Rect
from pipeline.svg.path import PathData, path_data
from pipeline.svg.styles import SVG
from pipeline.svg.transform import Matrix, parse_transform
from pipeline.text.style import length

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
            return PathData("", ())
        return rounded(x, y, width, height, min(rx, width / 2), min(ry, height / 2))
    if tag in ("circle", "ellipse"):
        rx, ry = _radii(element)
        if tag == "circle":
            rx = ry = measure("r")
        if rx <= 0 or ry <= 0:
            return PathData("", ())
        return rounded(measure("cx") - rx, measure("cy") - ry, 2 * rx, 2 * ry, rx, ry)
    if tag == "line":
        return PathData("ML", tuple(measure(name) for name in ("x1", "y1", "x2", "y2")))
    flat = _numbers(str(element.get("points") or ""))
    flat = flat[: len(flat) // 2 * 2]
    closed = "Z" if tag == "polygon" else ""
    return PathData("M" + "L" * (len(flat) // 2 - 1) + closed, tuple(flat)) if flat else _NOTHING


_NOTHING = PathData("", ())
_NUMBER = re.compile(r"[\s,]*([-+]?(?:\d+\.?\d*|\.\d+)(?:[eE][-+]?\d+)?)")


def _numbers(points: str) -> list[float]:
    """The numbers of a ``points`` attribute, as far as they go (SVG 1.1, F.2).

    >>> _numbers("1,2 3-4, x 5")
    [1.0, 2.0, 3.0, -4.0]
    """
    found, at = [], 0
    while match := _NUMBER.match(points, at):
        found.append(float(match[1]))
        at = match.end()
    return found


def _radii(element: etree._Element) -> tuple[float, float]:
    """Both radii; one that is not given, or not as a length, is like the other (SVG 2, 10.2)."""
    rx, ry = length(element.get("rx"), default=-1), length(element.get("ry"), default=-1)
    return max(rx if rx >= 0 else ry, 0.0), max(ry if ry >= 0 else rx, 0.0)


def rounded(x: float, y: float, width: float, height: float, rx: float, ry: float) -> PathData:
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


def moved(data: PathData, matrix: Matrix) -> PathData:
    """Path data in other coordinates."""
    flat = data.coordinates
    points = (matrix.point(flat[i], flat[i + 1]) for i in range(0, len(flat), 2))
    return PathData(data.operators, tuple(value for point in points for value in point))


def written(data: PathData) -> str:
    """Path data as a ``d`` attribute.

    >>> written(PathData("MLZ", (0, 0, 2, 0.5)))
    'M0 0L2 0.5Z'
    """
    numbers = iter(data.coordinates)
    counts = {"M": 2, "L": 2, "C": 6, "Z": 0}
    return "".join(
        operator + " ".join(f"{next(numbers):.9g}" for _ in range(counts[operator]))
        for operator in data.operators
    )


def tight_box(data: PathData) -> Rect | None:
    """The box around a path itself, not its control points; None for an empty one."""
    boxes: list[tuple[float, float, float, float]] = []
    at = (0.0, 0.0)
    flat, place = data.coordinates, 0
    for operator in data.operators:
        if operator == "Z":
            continue
        count = 6 if operator == "C" else 2
        points = [(flat[i], flat[i + 1]) for i in range(place, place + count, 2)]
        place += count
        end = points[-1]
        boxes.append(calcCubicBounds(at, *points) if operator == "C" else (*end, *end))
        at = end
    if not boxes:
        return None
    left, top = min(box[0] for box in boxes), min(box[1] for box in boxes)
    right, bottom = max(box[2] for box in boxes), max(box[3] for box in boxes)
    return Rect(left, top, right - left, bottom - top)


def box_of(element: etree._Element) -> Rect | None:
    """The box that an element's own units refer to, in its user units.

    Strokes do not count (SVG 1.1, 7.11). None for what is empty; text counts for nothing.
    """
    boxes = list(_boxes(element, Matrix()))
    if not boxes:
        return None
    left, top = min(box.x for box in boxes), min(box.y for box in boxes)
    right, bottom = max(box.right for box in boxes), max(box.bottom for box in boxes)
    return Rect(left, top, right - left, bottom - top)


def _boxes(element: etree._Element, matrix: Matrix) -> list[Rect]:
    tag = str(element.tag).removeprefix(SVG)
    if tag in SHAPES:
        box = tight_box(moved(outline(element), matrix))
        return [box] if box is not None else []
    if tag == "image":
        sides = (length(element.get(name)) for name in ("x", "y", "width", "height"))
        return [matrix.bounds(Rect(*sides))]
    found = []
    if tag in ("g", "a", "svg"):
        for child in element:
            found += _boxes(child, matrix @ parse_transform(child.get("transform")))
    return found
