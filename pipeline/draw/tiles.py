"""What CairoSVG would draw as pixels, or not as SVG says, drawn with cairo itself.

Shapes come from our own path data, patterns and masks are recorded drawings that stay vectors in
the PDF, clips know their fill rule. All expect the plain form that ``pipeline.fill`` makes.
"""

from __future__ import annotations

from typing import Any

import cairocffi
from cairosvg import defs as cairosvg_defs
from cairosvg import surface as cairosvg_surface
from cairosvg.helpers import transform
from cairosvg.parser import Node
from cairosvg.url import parse_url

from pipeline.fill.matrix import parse_transform
from pipeline.fill.pathdata import PathData
from pipeline.fill.shapes import SHAPES, outline
from pipeline.text.style import length


def trace(context: cairocffi.Context, data: PathData) -> None:
    """Adds path data to the context's current path."""
    numbers = iter(data.coordinates)
    for operator in data.operators:
        if operator == "M":
            context.move_to(next(numbers), next(numbers))
        elif operator == "L":
            context.line_to(next(numbers), next(numbers))
        elif operator == "C":
            context.curve_to(*(next(numbers) for _ in range(6)))
        else:
            context.close_path()


def steady(context: cairocffi.Context) -> None:
    """Takes back what elements around have said of the pen; each says all it inherits itself."""
    context.set_line_cap(cairocffi.LINE_CAP_BUTT)
    context.set_line_join(cairocffi.LINE_JOIN_MITER)
    context.set_dash([])


def clip_plainly(surface: Any, node: Node) -> None:
    """Clips to the path that a node's ``clip-path`` names, by that path's own rule."""
    holder = surface.paths.get(parse_url(node.get("clip-path")).fragment)
    if holder is None or not holder.children:
        return
    path, context = holder.children[0], surface.context
    before = context.get_matrix()
    transform(surface, node.get("transform"))
    context.new_path()
    trace(context, outline(path.element.etree_element))
    if path.get("clip-rule") == "evenodd":
        context.set_fill_rule(cairocffi.FILL_RULE_EVEN_ODD)
    context.clip()
    context.set_fill_rule(cairocffi.FILL_RULE_WINDING)
    context.set_matrix(before)


def _shape(surface: Any, node: Node) -> None:
    surface.context.new_path()
    trace(surface.context, outline(node.element.etree_element))


def _recorded(surface: Any, holder: Node, opacity: float) -> cairocffi.SurfacePattern:
    """The content of a pattern or mask as a drawing, its corner at the origin."""
    x, y, width, height = (length(holder.get(side)) for side in ("x", "y", "width", "height"))
    recording = cairocffi.RecordingSurface(cairocffi.CONTENT_COLOR_ALPHA, (0.0, 0.0, width, height))
    outer, surface.context = surface.context, cairocffi.Context(recording)
    try:
        surface.context.rectangle(0, 0, width, height)
        surface.context.clip()
        surface.context.translate(-x, -y)
        for child in holder.children:
            child["opacity"] = opacity
            surface.draw(child)
    finally:
        surface.context = outer
    return cairocffi.SurfacePattern(recording)


def _pattern(surface: Any, node: Node, name: str, opacity: float) -> bool:
    """Takes up a pattern as the paint of ``node``."""
    holder = surface.patterns[name]
    pattern = _recorded(surface, holder, opacity)
    pattern.set_extend(cairocffi.EXTEND_REPEAT)
    matrix = cairocffi.Matrix(*parse_transform(holder.get("patternTransform")))
    matrix.translate(length(holder.get("x")), length(holder.get("y")))
    matrix.invert()
    pattern.set_matrix(matrix)
    surface.context.set_source(pattern)
    return True


def _mask(surface: Any, node: Node, name: str, opacity: float) -> None:
    """Paints the context's source through a mask."""
    holder, context = surface.masks[name], surface.context
    pattern = _recorded(surface, holder, 1.0)
    source = context.get_source()
    context.push_group()
    context.set_source(source)
    context.translate(length(holder.get("x")), length(holder.get("y")))
    context.mask(pattern)
    context.pop_group_to_source()
    context.paint_with_alpha(opacity)


for _name in SHAPES:
    cairosvg_surface.TAGS[_name] = _shape
cairosvg_defs.draw_pattern = _pattern
cairosvg_surface.paint_mask = _mask
