"""What CairoSVG would draw as pixels, or not as SVG says, drawn with cairo itself.

Shapes come from our own path data, patterns and masks are recorded drawings that stay vectors in
the PDF, clips know their fill rule. All expect the plain form that ``pipeline.fill`` makes.
"""

from __future__ import annotations

import itertools
import math
from collections.abc import Iterable
from typing import Any

import cairocffi
from cairosvg import defs as cairosvg_defs
from cairosvg import surface as cairosvg_surface
from cairosvg.helpers import transform
from cairosvg.parser import Node
from cairosvg.url import parse_url

from pipeline.base.geometry import Rect
from pipeline.svg.path import SHAPES, PathData, Point, outline
from pipeline.svg.transform import Matrix, parse_transform
from pipeline.text.style import length

_MOST_TILES = 3_000
"""How many tiles of a pattern are laid out one by one; more make a tiling pattern of the PDF."""


def trace(context: cairocffi.Context, data: PathData) -> None:
    """Adds path data to the context's current path."""
    for operator, _, points in data.segments():
        if operator == "M":
            context.move_to(*points[0])
        elif operator == "L":
            context.line_to(*points[0])
        elif operator == "C":
            context.curve_to(*itertools.chain.from_iterable(points))
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


def _record(
    surface: Any,
    holder: Node,
    room: Rect,
    opacity: float = 1.0,
    corners: Iterable[Point] = ((0.0, 0.0),),
    extents: Rect | None = None,
) -> cairocffi.SurfacePattern:
    """What of a pattern's or mask's content lies in ``room``, once at each of ``corners``."""
    recording = cairocffi.RecordingSurface(cairocffi.CONTENT_COLOR_ALPHA, extents)
    outer, surface.context = surface.context, cairocffi.Context(recording)
    context = surface.context
    try:
        for x, y in corners:
            context.save()
            context.translate(x, y)
            context.rectangle(*room)
            context.clip()
            for child in holder.children:
                child["opacity"] = opacity
                surface.draw(child)
            context.restore()
    finally:
        surface.context = outer
    return cairocffi.SurfacePattern(recording)


def _pattern(surface: Any, node: Node, name: str, opacity: float) -> bool:
    """Takes up a pattern as the paint of ``node``.

    Tiles are laid out one by one where they are not too many: some readers round the step of a
    PDF's own tiling patterns to their pixels, so that tiles drift.
    """
    holder = surface.patterns[name]
    width, height = length(holder.get("width")), length(holder.get("height"))
    tile = Rect(0, 0, width, height)
    place = parse_transform(holder.get("patternTransform")) @ Matrix(
        e=length(holder.get("x")), f=length(holder.get("y"))
    )
    area = place.inverse().bounds(_reach(surface.context))
    columns = range(math.floor(area.x / width), math.ceil(area.right / width))
    rows = range(math.floor(area.y / height), math.ceil(area.bottom / height))
    if len(columns) * len(rows) <= _MOST_TILES:
        corners = [(column * width, row * height) for row in rows for column in columns]
        pattern = _record(surface, holder, tile, opacity, corners)
    else:
        pattern = _record(surface, holder, tile, opacity, extents=tile)
        pattern.set_extend(cairocffi.EXTEND_REPEAT)
    matrix = cairocffi.Matrix(*place)
    matrix.invert()
    pattern.set_matrix(matrix)
    surface.context.set_source(pattern)
    return True


def _reach(context: cairocffi.Context) -> Rect:
    """The box that the current path can leave ink in; the whole clip where there is no path."""
    boxes = [context.fill_extents(), context.stroke_extents()]
    boxes = [box for box in boxes if box != (0.0, 0.0, 0.0, 0.0)] or [context.clip_extents()]
    return Rect.around(corner for box in boxes for corner in (box[:2], box[2:]))


def _mask(surface: Any, node: Node, name: str, opacity: float) -> None:
    """Paints the context's source through a mask."""
    holder, context = surface.masks[name], surface.context
    room = Rect(*(length(holder.get(side)) for side in ("x", "y", "width", "height")))
    pattern = _record(surface, holder, room)
    source = context.get_source()
    context.push_group()
    context.set_source(source)
    context.mask(pattern)
    context.pop_group_to_source()
    context.paint_with_alpha(opacity)


for _name in SHAPES:
    cairosvg_surface.TAGS[_name] = _shape
cairosvg_defs.draw_pattern = _pattern
cairosvg_surface.paint_mask = _mask
