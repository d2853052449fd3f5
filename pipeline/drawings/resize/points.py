"""The points and paths of a drawing: read, moved and written back short."""

from __future__ import annotations

import functools
import math
import re
from collections.abc import Callable, Iterable, Mapping
from dataclasses import dataclass

from lxml import etree

from pipeline.base.geometry import NUMBER, Rect, decimal
from pipeline.drawings.resize.saved import SavedDrawing
from pipeline.fill.template import rect_of
from pipeline.svg.path import SHAPES, PathData, Point, outline, path_data
from pipeline.svg.transform import Matrix, parse_transform
from pipeline.svg.tree import SVG, inherited
from pipeline.text.style import length

Mover = Callable[[float, float], Point]

_SIZED = re.compile(rf"\s*({NUMBER.pattern})\s*(px|pt|pc|in|cm|mm|q|Q)?\s*$")
_INHERITED = ("font-size", "letter-spacing", "word-spacing", "text-underline-offset")
_TEXT_LENGTHS = (*_INHERITED, "baseline-shift", "text-decoration-thickness")
_DECLARED = re.compile(rf"((?:^|;)\s*(?:{'|'.join(_TEXT_LENGTHS)})\s*:)([^;]*)")
_POINTED = frozenset(SVG + name for name in ("line", "polygon", "polyline"))


def shape_points(element: etree._Element) -> list[Point]:
    """Points that a shape lies within, in its own units: corners or control points."""
    tag = str(element.tag).removeprefix(SVG)
    if tag in ("rect", "image", "svg", "use", "foreignObject"):
        rect = rect_of(element)
        return [(x, y) for x in (rect.x, rect.right) for y in (rect.y, rect.bottom)]
    return [*outline(element).points] if tag in SHAPES else []


def points_along(part: PathData) -> list[Point]:
    """Points that a path goes through: its ends, and three on each curve."""
    return [
        point
        for segment in part.segments()
        if segment.operator != "Z"
        for point in segment.flattened(4)
    ]


def is_straight(part: PathData) -> bool:
    """Whether all lines of a path run level or upright, as a drawn box's do."""
    return len(part.points) > 1 and all(
        operator != "C" and any(abs(a - b) < 1e-6 for a, b in zip(start, points[0], strict=True))
        for operator, start, points in part.segments()
        if operator != "M"
    )


@functools.lru_cache(maxsize=20_000)
def subpaths(d: str) -> tuple[PathData, ...]:
    """The parts of a path's data."""
    return path_data(d).subpaths()


def path_text(parts: Iterable[PathData], decimals: int = 2) -> str:
    """The ``d`` that says these parts, in steps from point to point, without adding up roundings.

    >>> path_text(subpaths("M1 2 C 2 2 3 3 3.004 4 Z"))
    'M1 2c1 0 2 1 2 2z'
    """
    unit = 10**decimals
    text: list[str] = []
    for part in parts:
        before = ""
        grid = part.moved(lambda x, y: (round(x * unit), round(y * unit)))
        for operator, start, points in grid.segments():
            if operator == "Z":
                text.append("z")
            elif operator == "M":
                text.append("M" + _numbers(points, (0, 0), unit, decimals))
            else:
                steps = _numbers(points, start, unit, decimals)
                again = " " * (steps[0] != "-") if operator == before else operator.lower()
                text.append(again + steps)
            before = operator
    return "".join(text)


def _numbers(points: Iterable[Point], origin: Point, unit: int, n: int) -> str:
    pairs = ((value - start) / unit for p in points for value, start in zip(p, origin, strict=True))
    return " ".join(short_number(value, n) for value in pairs).replace(" -", "-")


def short_number(value: float, decimals: int = 2) -> str:
    """A number in as few characters as it takes.

    >>> short_number(1.5), short_number(-0.25), short_number(3.0), short_number(-0.001)
    ('1.5', '-.25', '3', '0')
    """
    text = decimal(value, decimals)
    return text.replace("0.", ".", 1) if text.startswith(("0.", "-0.")) else text


@dataclass(frozen=True)
class Similar:
    """Scales by ``scale`` and moves by ``dx`` and ``dy``, on the page (mm)."""

    scale: float
    dx: float
    dy: float

    def __call__(self, x: float, y: float) -> Point:
        return self.scale * x + self.dx, self.scale * y + self.dy

    def rect(self, box: Rect) -> Rect:
        """Where a box goes."""
        return Rect(*self(box.x, box.y), self.scale * box.width, self.scale * box.height)

    def within(self, matrix: Matrix) -> Similar:
        """The same in the coordinates that ``matrix`` takes to the page."""
        back = matrix.inverse()
        x, y = back.point(*self(matrix.e, matrix.f))
        return Similar(self.scale, x, y)


def similar(scale: float, spot: Point, to: Point) -> Similar:
    """Scales by ``scale`` so that ``spot`` comes to lie at ``to``.

    >>> similar(0.5, (10, 10), (3, 4))(12, 10)
    (4.0, 4.0)
    """
    return Similar(scale, to[0] - scale * spot[0], to[1] - scale * spot[1])


def move_paths(drawing: SavedDrawing, element: etree._Element, parts: Mapping[int, Mover]) -> None:
    """Takes parts of a path elsewhere, each by a function on the page."""
    matrix = drawing.matrix(element)
    back = matrix.inverse()
    result: list[PathData] = []
    for place, part in enumerate(subpaths(element.get("d") or "")):
        to = parts.get(place)
        result.append(part if to is None else part.moved(_through(matrix, back, to)))
    drawing.raw(element).set("d", path_text(result, decimals_of(matrix)))


def _through(matrix: Matrix, back: Matrix, to: Mover) -> Mover:
    return lambda x, y: back.point(*to(*matrix.point(x, y)))


def decimals_of(matrix: Matrix) -> int:
    """Decimals that say a hundredth of a millimetre in an element's own units."""
    scale = max(matrix.scale_x, matrix.scale_y, 1e-9)
    return max(0, 2 + math.ceil(math.log10(scale) - 1e-9))


def move_shape(drawing: SavedDrawing, element: etree._Element, to: Similar) -> None:
    """Moves and scales a basic shape; the width of its stroke stays."""
    own = to.within(drawing.matrix(element))
    if element.tag in _POINTED:
        _set_points(drawing, element, own)
        return
    across, along = ("x", "y") if element.tag == SVG + "rect" else ("cx", "cy")
    x, y = own(length(element.get(across)), length(element.get(along)))
    sizes = {
        name: length(element.get(name)) * own.scale
        for name in ("width", "height", "r", "rx", "ry")
        if element.get(name) is not None
    }
    _set_numbers(drawing, element, {across: x, along: y, **sizes})


def move_points(drawing: SavedDrawing, element: etree._Element, to: Mover) -> None:
    """Takes the points of a basic shape elsewhere; a round one is moved as it is."""
    matrix = drawing.matrix(element)
    if element.tag in _POINTED:
        _set_points(drawing, element, _through(matrix, matrix.inverse(), to))
        return
    box = Rect.around(matrix.point(x, y) for x, y in shape_points(element))
    middle = box.x + box.width / 2, box.y + box.height / 2
    move_shape(drawing, element, similar(1.0, middle, to(*middle)))


def _set_points(drawing: SavedDrawing, element: etree._Element, to: Mover) -> None:
    """Takes the points of a line or a polygon elsewhere, in its own units."""
    points = [to(x, y) for x, y in shape_points(element)]
    if element.tag == SVG + "line":
        (x1, y1), (x2, y2) = points
        _set_numbers(drawing, element, {"x1": x1, "y1": y1, "x2": x2, "y2": y2})
        return
    decimals = decimals_of(drawing.matrix(element)) + 1
    pairs = (",".join(short_number(value, decimals) for value in point) for point in points)
    drawing.raw(element).set("points", " ".join(pairs))


def _set_numbers(
    drawing: SavedDrawing, element: etree._Element, values: Mapping[str, float]
) -> None:
    decimals = decimals_of(drawing.matrix(element)) + 1
    for name, value in values.items():
        drawing.raw(element).set(name, short_number(value, decimals))


def move_whole(drawing: SavedDrawing, element: etree._Element, to: Similar) -> None:
    """Moves and scales an element as it is, by its transform."""
    outer = to.within(drawing.outer_matrix(element))
    moved = Matrix(outer.scale, 0, 0, outer.scale, outer.dx, outer.dy)
    raw = drawing.raw(element)
    raw.set("transform", str(moved @ parse_transform(element.get("transform"))))


def stretch_box(drawing: SavedDrawing, element: etree._Element, move: Mover) -> None:
    """Takes the corners of a level ``<rect>``, or the ends of a ``<line>``, where they go."""
    matrix = drawing.matrix(element)
    to = _through(matrix, matrix.inverse(), move)
    if element.tag == SVG + "line":
        _set_points(drawing, element, to)
        return
    box = rect_of(element)
    set_rect(drawing, element, Rect.around([to(box.x, box.y), to(box.right, box.bottom)]))


def set_rect(drawing: SavedDrawing, element: etree._Element, area: Rect) -> None:
    """Gives a ``<rect>`` a place and a size in its own units."""
    _set_numbers(drawing, element, area._asdict())


def move_text(drawing: SavedDrawing, text: etree._Element, to: Similar) -> None:
    """Moves a ``<text>`` and sets it larger or smaller, its runs and spacings with it."""
    matrix = drawing.matrix(text)
    own, decimals = to.within(matrix), decimals_of(matrix) + 1
    raw = drawing.raw(text)
    for element in raw.iter("*"):
        for name, shift in (("x", own.dx), ("y", own.dy), ("dx", 0.0), ("dy", 0.0)):
            if element.get(name) is not None or (element is raw and shift):
                parts = (element.get(name) or "0").replace(",", " ").split()
                values = [own.scale * length(part) + shift for part in parts]
                element.set(name, " ".join(short_number(value, decimals) for value in values))
        if element.get("textLength") is not None:
            stretched = own.scale * length(element.get("textLength"))
            element.set("textLength", short_number(stretched, decimals))
    if abs(own.scale - 1) > 1e-6:
        _scale_type(raw, text, own.scale)


def _scale_type(raw: etree._Element, plain: etree._Element, scale: float) -> None:
    for element in raw.iter("*"):
        for name in _TEXT_LENGTHS:
            if element.get(name) is not None:
                element.set(name, _scaled(element.get(name, ""), scale))
        if element.get("style"):
            style = _DECLARED.sub(lambda m: m[1] + _scaled(m[2], scale), element.get("style", ""))
            element.set("style", style)
    # Lengths inherited from a group or a style sheet are written on the text itself.
    rules = (raw.get("style") or "").strip().rstrip(";")
    for name in _INHERITED:
        above = inherited(plain, name)
        if raw.get(name) is None and name not in (raw.get("style") or "") and above is not None:
            rules += f"{';' if rules else ''}{name}:{_scaled(above, scale)}"
            raw.set("style", rules)


def _scaled(value: str, scale: float) -> str:
    """A length times ``scale``; percentages and words stay, as they follow what is scaled already.

    >>> _scaled("14", 0.5), _scaled("4.2px", 0.5), _scaled("1.25", 1), _scaled("65%", 0.5)
    ('7', '2.1px', '1.25', '65%')
    """
    match = _SIZED.match(value)
    if not match:
        return value
    return short_number(float(match[1]) * scale, 3) + (match[2] or "")
