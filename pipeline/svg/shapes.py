"""Basic shapes as path data, and the boxes that boxes' own units refer to (SVG 1.1, 9 and 7.11)."""

from __future__ import annotations

from fontTools.misc.bezierTools import calcCubicBounds
from lxml import etree

from pipeline.base.geometry import Rect
from pipeline.svg.path import PathData, Point, numbers, path_data, readable
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
        return _rounded(x, y, width, height, min(rx, width / 2), min(ry, height / 2))
    if tag in ("circle", "ellipse"):
        rx, ry = _radii(element)
        if tag == "circle":
            rx = ry = measure("r")
        if rx <= 0 or ry <= 0:
            return PathData("", ())
        return _ellipse(measure("cx"), measure("cy"), rx, ry)
    if tag == "line":
        return PathData("ML", tuple(measure(name) for name in ("x1", "y1", "x2", "y2")))
    flat, _ = numbers(readable(str(element.get("points") or "")), 2)
    closed = "Z" if tag == "polygon" else ""
    return PathData("M" + "L" * (len(flat) // 2 - 1) + closed, tuple(flat)) if flat else _NOTHING


_NOTHING = PathData("", ())


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
    """The box around a path itself, not its control points; None for an empty one."""
    reached: list[Point] = []
    for operator, start, points in data.segments():
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
