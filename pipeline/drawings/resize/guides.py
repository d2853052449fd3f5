"""Draws the guides layer of a page anew: trim, safe area, punch zone, holes and fold."""

from __future__ import annotations

from lxml import etree

from pipeline.base.geometry import Rect
from pipeline.drawings.resize.drawing import INKSCAPE, Drawing, guides_of
from pipeline.impose.leaf import Face
from pipeline.svg.styles import SVG

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
        values = dict(zip(("x", "y", "width", "height"), map(_number, own), strict=True))
        etree.SubElement(layer, SVG + "rect", {"id": name, **values, **style})

    thin = {"fill": "none", "stroke": _LINE, "stroke-width": _number(_WIDTH_MM * unit)}
    dashed = {**thin, "stroke-dasharray": f"{_number(1.5 * unit)} {_number(unit)}"}
    rect("guide-punch-zone", face.punch_zone, fill=_ZONE, stroke="none")
    rect("guide-trim", face.flat, **thin)
    rect("guide-safe", face.safe, **dashed)
    if face.flap_safe is not None:
        rect("guide-safe-flap", face.flap_safe, **dashed)
    if face.fold_x is not None:
        x1, y1 = to_own.point(face.fold_x, 0)
        x2, y2 = to_own.point(face.fold_x, face.flat.height)
        ends = {"x1": _number(x1), "y1": _number(y1), "x2": _number(x2), "y2": _number(y2)}
        etree.SubElement(layer, SVG + "line", {"id": "guide-fold", **ends, **dashed})
    for number, hole in enumerate(face.holes, 1):
        x, y = to_own.point(hole.x, hole.y)
        values = {"cx": _number(x), "cy": _number(y), "r": _number(hole.diameter / 2 * unit)}
        etree.SubElement(layer, SVG + "circle", {"id": f"guide-hole{number}", **values, **thin})
    etree.indent(layer, level=_depth(layer))


def _depth(element: etree._Element) -> int:
    return sum(1 for _ in element.iterancestors())


def _number(value: float) -> str:
    return f"{round(value, 4) or 0.0:.4f}".rstrip("0").rstrip(".")
