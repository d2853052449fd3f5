"""Moves and scales elements of a drawing in place, whatever transforms lie around them."""

from __future__ import annotations

import math
import re
from collections.abc import Callable, Mapping
from dataclasses import dataclass

from lxml import etree

from pipeline.base.geometry import NUMBER, Rect
from pipeline.drawings.resize.drawing import Drawing
from pipeline.drawings.resize.shapes import points_of
from pipeline.drawings.resize.stretch import Stretch
from pipeline.drawings.resize.subpaths import number, path_text, subpaths
from pipeline.svg.path import PathData
from pipeline.svg.transform import Matrix, parse_transform
from pipeline.svg.tree import SVG
from pipeline.text.style import length

_SIZED = re.compile(rf"\s*({NUMBER.pattern})\s*(px|pt|pc|in|cm|mm|q|Q)?\s*$")
_TEXT_LENGTHS = ("font-size", "letter-spacing", "word-spacing")

Point = tuple[float, float]


@dataclass(frozen=True)
class Similar:
    """Scales by ``scale`` and moves by ``dx`` and ``dy``, on the page (mm)."""

    scale: float
    dx: float
    dy: float

    def __call__(self, x: float, y: float) -> Point:
        return self.scale * x + self.dx, self.scale * y + self.dy

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


Mover = Callable[[float, float], Point]


def move_paths(drawing: Drawing, element: etree._Element, parts: Mapping[int, Mover]) -> None:
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


def move_shape(drawing: Drawing, element: etree._Element, to: Similar) -> None:
    """Moves and scales a shape that is no path; the width of its stroke stays."""
    raw, own = drawing.raw(element), to.within(drawing.matrix(element))
    decimals = decimals_of(drawing.matrix(element)) + 1
    tag = str(element.tag).removeprefix(SVG)
    if tag in ("polygon", "polyline"):
        moved = [own(x, y) for x, y in points_of(element)]
        raw.set(
            "points", " ".join(f"{number(x, decimals)},{number(y, decimals)}" for x, y in moved)
        )
        return
    spots = {"rect": ("x", "y"), "line": ("x1", "y1"), "circle": ("cx", "cy"),
             "ellipse": ("cx", "cy")}[tag]  # fmt: skip
    ends = [spots, ("x2", "y2")] if tag == "line" else [spots]
    for across, along in ends:
        x, y = own(length(element.get(across)), length(element.get(along)))
        raw.set(across, number(x, decimals))
        raw.set(along, number(y, decimals))
    for name in ("width", "height", "r", "rx", "ry"):
        if element.get(name) is not None:
            raw.set(name, number(length(element.get(name)) * own.scale, decimals))


def move_points(drawing: Drawing, element: etree._Element, to: Mover) -> None:
    """Takes the points of a shape that is no path elsewhere; a round one is moved as it is."""
    matrix = drawing.matrix(element)
    points = points_of(element)
    if element.tag not in (SVG + "line", SVG + "polygon", SVG + "polyline"):
        box = Rect.around(matrix.point(x, y) for x, y in points)
        x, y = box.x + box.width / 2, box.y + box.height / 2
        move_shape(drawing, element, similar(1.0, (x, y), to(x, y)))
        return
    raw, decimals = drawing.raw(element), decimals_of(matrix) + 1
    own = _through(matrix, matrix.inverse(), to)
    moved = [tuple(number(value, decimals) for value in own(x, y)) for x, y in points]
    if element.tag == SVG + "line":
        for name, (x_word, y_word) in zip("12", moved, strict=True):
            raw.set("x" + name, x_word)
            raw.set("y" + name, y_word)
    else:
        raw.set("points", " ".join(",".join(pair) for pair in moved))


def move_whole(drawing: Drawing, element: etree._Element, to: Similar) -> None:
    """Moves and scales an element as it is, by its transform."""
    outer = to.within(drawing.outer_matrix(element))
    moved = Matrix(outer.scale, 0, 0, outer.scale, outer.dx, outer.dy)
    raw = drawing.raw(element)
    raw.set("transform", str(moved @ parse_transform(element.get("transform"))))


def stretch_box(drawing: Drawing, element: etree._Element, x: Stretch, y: Stretch) -> None:
    """Takes the corners of a level ``<rect>``, or the ends of a ``<line>``, where they go."""
    raw, matrix = drawing.raw(element), drawing.matrix(element)
    back, decimals = matrix.inverse(), decimals_of(matrix) + 1

    def to(across: float, along: float) -> Point:
        left, top = matrix.point(across, along)
        return back.point(x(left), y(top))

    def own(name: str) -> float:
        return length(element.get(name))

    if element.tag == SVG + "line":
        for across, along in (("x1", "y1"), ("x2", "y2")):
            left, top = to(own(across), own(along))
            raw.set(across, number(left, decimals))
            raw.set(along, number(top, decimals))
        return
    one = to(own("x"), own("y"))
    other = to(own("x") + own("width"), own("y") + own("height"))
    set_rect(drawing, element, Rect.around((one, other)))


def set_rect(drawing: Drawing, element: etree._Element, area: Rect) -> None:
    """Gives a ``<rect>`` a place and a size in its own units."""
    raw, decimals = drawing.raw(element), decimals_of(drawing.matrix(element)) + 1
    for name, value in zip(("x", "y", "width", "height"), area, strict=True):
        raw.set(name, number(value, decimals))


def move_text(drawing: Drawing, text: etree._Element, to: Similar) -> None:
    """Moves a ``<text>`` and sets it larger or smaller, its runs and spacings with it."""
    matrix = drawing.matrix(text)
    own, decimals = to.within(matrix), decimals_of(matrix) + 1
    raw = drawing.raw(text)
    for element in raw.iter():
        if not isinstance(element.tag, str):
            continue
        for name, shift in (("x", own.dx), ("y", own.dy), ("dx", 0.0), ("dy", 0.0)):
            if element.get(name) is not None or (element is raw and shift):
                parts = (element.get(name) or "0").replace(",", " ").split()
                values = [own.scale * length(part) + shift for part in parts]
                element.set(name, " ".join(number(value, decimals) for value in values))
        if element.get("textLength") is not None:
            stretched = own.scale * length(element.get("textLength"))
            element.set("textLength", number(stretched, decimals))
    if abs(own.scale - 1) > 1e-6:
        _scale_type(raw, text, own.scale)


def _scale_type(raw: etree._Element, plain: etree._Element, scale: float) -> None:
    for element in raw.iter():
        if not isinstance(element.tag, str):
            continue
        for name in _TEXT_LENGTHS:
            if element.get(name) is not None:
                element.set(name, _scaled(element.get(name, ""), scale))
        if element.get("style"):
            element.set("style", _scaled_style(element.get("style", ""), scale))
    # What is said further up, or by a style sheet, is said anew on the text.
    rules = (raw.get("style") or "").strip().rstrip(";")
    for name in _TEXT_LENGTHS:
        above = _computed(plain, name)
        if raw.get(name) is None and name not in (raw.get("style") or "") and above is not None:
            rules += f"{';' if rules else ''}{name}:{_scaled(above, scale)}"
            raw.set("style", rules)


def _computed(element: etree._Element, name: str) -> str | None:
    current: etree._Element | None = element
    while current is not None:
        if current.get(name) is not None:
            return current.get(name)
        current = current.getparent()
    return None


def _scaled_style(style: str, scale: float) -> str:
    declarations = []
    for declaration in style.split(";"):
        name, colon, value = declaration.partition(":")
        if colon and name.strip() in _TEXT_LENGTHS:
            value = _scaled(value, scale)
        declarations.append(name + colon + value)
    return ";".join(declarations)


def _scaled(value: str, scale: float) -> str:
    """A length times ``scale``; shares and words stay, as they go by what is scaled already.

    >>> _scaled("14", 0.5), _scaled("4.2px", 0.5), _scaled("1.25", 1), _scaled("65%", 0.5)
    ('7', '2.1px', '1.25', '65%')
    """
    match = _SIZED.match(value)
    if not match:
        return value
    return number(float(match[1]) * scale, 3) + (match[2] or "")
