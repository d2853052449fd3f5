"""Where on the page an element can leave ink: a box that is never too small."""

from __future__ import annotations

from lxml import etree

from pipeline.base.geometry import Rect
from pipeline.fill.template import inherited, page_matrix, rect_of
from pipeline.fill.texts import room_of
from pipeline.svg.shapes import SHAPES, outline
from pipeline.svg.styles import SVG
from pipeline.svg.transform import Matrix, parse_transform
from pipeline.text.style import length

_GROUPS = frozenset((SVG + "g", SVG + "a"))
_MARKERS = ("marker-start", "marker-mid", "marker-end")
_ASKED = ("stroke", "stroke-width", *_MARKERS)


class Inks:
    """Tells where elements of a page (``page``, mm) can leave ink.

    Curves count with their control points and strokes with their longest mitre, so a box may be
    larger than the ink but not smaller.
    """

    def __init__(self, page: Rect) -> None:
        self._page = page
        self._around: dict[etree._Element, tuple[dict[str, str], Matrix]] = {}

    def __call__(self, element: etree._Element) -> Rect | None:
        """The box in page mm that holds all of an element's ink; None when it may be anywhere."""
        parent = element.getparent()
        if parent is None:
            return None
        if parent not in self._around:
            found = {name: inherited(parent, name) for name in _ASKED}
            style = {name: value for name, value in found.items() if value is not None}
            self._around[parent] = style, page_matrix(parent)
        return _ink(element, self._page, *self._around[parent])


def _ink(
    element: etree._Element, page: Rect, around: dict[str, str], outside: Matrix
) -> Rect | None:
    attributes = element.attrib
    own = {name: str(attributes[name]) for name in _ASKED if name in attributes}
    style = {**around, **own} if own else around
    transform = attributes.get("transform")
    matrix = outside @ parse_transform(str(transform)) if transform else outside
    if element.tag in _GROUPS:
        return _union([_ink(child, page, style, matrix) for child in element])
    if element.tag == SVG + "text":
        room = room_of(element, [page], "")
        return room.ink if room else None
    if any(style.get(marker, "none") != "none" for marker in _MARKERS):
        return None
    shape = _shape(element)
    if shape is None:
        return None
    stroke = length(style.get("stroke-width"), default=1.0)
    if style.get("stroke", "none") == "none":
        stroke = 0.0
    return matrix.bounds(shape.grown(2 * stroke))  # a mitre of limit 4 reaches two widths out


def _shape(element: etree._Element) -> Rect | None:
    def number(name: str) -> float:
        return length(element.get(name))

    tag = str(element.tag).removeprefix(SVG)
    if tag == "rect":
        return rect_of(element)
    if tag in ("circle", "ellipse"):
        rx, ry = number("rx") or number("r"), number("ry") or number("r")
        return Rect(number("cx") - rx, number("cy") - ry, 2 * rx, 2 * ry)
    return outline(element).hull if tag in SHAPES else None


def _union(boxes: list[Rect | None]) -> Rect | None:
    known = [box for box in boxes if box is not None]
    if not known or len(known) < len(boxes):
        return None
    return Rect.union(known)
