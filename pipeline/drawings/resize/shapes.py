"""The points of basic shapes."""

from __future__ import annotations

from lxml import etree

from pipeline.fill.template import rect_of
from pipeline.svg.path import outline
from pipeline.svg.tree import SVG
from pipeline.text.style import length


def points_of(element: etree._Element) -> list[tuple[float, float]]:
    """Points that a shape lies within, in its own units: corners or control points."""

    def of(name: str) -> float:
        return length(element.get(name))

    tag = str(element.tag).removeprefix(SVG)
    if tag in ("rect", "image", "svg", "use", "foreignObject"):
        rect = rect_of(element)
        return [(x, y) for x in (rect.x, rect.right) for y in (rect.y, rect.bottom)]
    if tag in ("circle", "ellipse"):
        rx, ry = of("rx") or of("r"), of("ry") or of("r")
        x, y = of("cx"), of("cy")
        return [(x - rx, y - ry), (x + rx, y + ry), (x - rx, y + ry), (x + rx, y - ry)]
    if tag in ("line", "polygon", "polyline", "path"):
        return [*outline(element).points]
    return []
