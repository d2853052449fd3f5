"""Draws the guides layer of a page anew: trim, safe area, punch zone, holes and fold."""

from __future__ import annotations

from lxml import etree

from pipeline.base.geometry import Rect, decimal
from pipeline.drawings.resize.drawing import INKSCAPE, Drawing, guides_of
from pipeline.impose.leaf import Face
from pipeline.svg.tree import SVG

_LINE = "#4f86b8"
_ZONE = "#e8eef4"
_WIDTH_MM = 0.15


def redraw_guides(drawing: Drawing, face: Face) -> None:
    """Puts a face's guides into the layer called ``guides``; makes it when there is none."""
    found = guides_of(drawing)
    if found is None:
        layer = etree.SubElement(
            drawing.root,
            SVG + "g",
            {
                "id": "guides",
                INKSCAPE + "groupmode": "layer",
                INKSCAPE + "label": "guides",
                "fill": "none",
            },
        )
        to_own = drawing.matrix(drawing.plain).inverse()
    else:
        layer, to_own = drawing.raw(found), drawing.matrix(found).inverse()
        for child in list(layer):
            layer.remove(child)
        layer.text = None
    unit = to_own.scale_x

    def rect(name: str, area: Rect, **style: str) -> None:
        own = to_own.bounds(area)
        values = dict(zip(("x", "y", "width", "height"), map(decimal, own), strict=True))
        etree.SubElement(layer, SVG + "rect", {"id": name, **values, **style})

    thin = {"fill": "none", "stroke": _LINE, "stroke-width": decimal(_WIDTH_MM * unit)}
    dashed = {**thin, "stroke-dasharray": f"{decimal(1.5 * unit)} {decimal(unit)}"}
    rect("guide-punch-zone", face.punch_zone, fill=_ZONE, stroke="none")
    rect("guide-trim", face.flat, **thin)
    rect("guide-safe", face.safe, **dashed)
    if face.flap_safe is not None:
        rect("guide-safe-flap", face.flap_safe, **dashed)
    if face.fold_x is not None:
        x1, y1 = to_own.point(face.fold_x, 0)
        x2, y2 = to_own.point(face.fold_x, face.flat.height)
        ends = {"x1": decimal(x1), "y1": decimal(y1), "x2": decimal(x2), "y2": decimal(y2)}
        etree.SubElement(layer, SVG + "line", {"id": "guide-fold", **ends, **dashed})
    for number, hole in enumerate(face.holes, 1):
        x, y = to_own.point(hole.x, hole.y)
        values = {"cx": decimal(x), "cy": decimal(y), "r": decimal(hole.diameter / 2 * unit)}
        etree.SubElement(layer, SVG + "circle", {"id": f"guide-hole{number}", **values, **thin})
    etree.indent(layer, level=_depth(layer))


def _depth(element: etree._Element) -> int:
    return sum(1 for _ in element.iterancestors())
