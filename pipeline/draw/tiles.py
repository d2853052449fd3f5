"""What CairoSVG would draw as pixels, or not as SVG says, drawn with cairo itself.

Shapes come from our own path data, patterns and masks are recorded drawings that stay vectors in
the PDF, clips know their fill rule. All expect the plain form that ``pipeline.fill`` makes.
"""

from __future__ import annotations

import itertools
import math
from collections.abc import Iterable
from typing import TYPE_CHECKING

import cairocffi
from cairosvg.url import parse_url

from pipeline.base.geometry import Rect
from pipeline.draw.node import Node
from pipeline.svg.path import PathData, Point, outline
from pipeline.svg.transform import Matrix, parse_transform
from pipeline.text.style import length

if TYPE_CHECKING:
    from pipeline.draw.canvas import Canvas

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


def set_clip(canvas: Canvas, node: Node) -> None:
    """Clips to the path that a node's ``clip-path`` names, by that path's own rule."""
    holder = canvas.paths.get(parse_url(node.get("clip-path")).fragment)
    if holder is None or not holder.children:
        return
    path, context = holder.children[0], canvas.context
    context.new_path()
    trace(context, outline(path.element))
    if path.get("clip-rule") == "evenodd":
        context.set_fill_rule(cairocffi.FILL_RULE_EVEN_ODD)
    context.clip()
    context.set_fill_rule(cairocffi.FILL_RULE_WINDING)


def _record(
    canvas: Canvas,
    holder: Node,
    room: Rect,
    opacity: float = 1.0,
    corners: Iterable[Point] = ((0.0, 0.0),),
    extents: Rect | None = None,
) -> cairocffi.SurfacePattern:
    """What of a pattern's or mask's content lies in ``room``, once at each of ``corners``."""
    recording = cairocffi.RecordingSurface(cairocffi.CONTENT_COLOR_ALPHA, extents)
    outer, canvas.context = canvas.context, cairocffi.Context(recording)
    context = canvas.context
    try:
        for x, y in corners:
            context.save()
            context.translate(x, y)
            context.rectangle(*room)
            context.clip()
            for child in holder.children:
                child["opacity"] = opacity
                canvas.draw(child)
            context.restore()
    finally:
        canvas.context = outer
    return cairocffi.SurfacePattern(recording)


def take_pattern(canvas: Canvas, holder: Node, opacity: float) -> None:
    """Takes up a pattern as the paint of what is to be drawn.

    Tiles are laid out one by one where they are not too many: some readers round the step of a
    PDF's own tiling patterns to their pixels, so that tiles drift.
    """
    width, height = length(holder.get("width")), length(holder.get("height"))
    tile = Rect(0, 0, width, height)
    place = parse_transform(holder.get("patternTransform")) @ Matrix(
        e=length(holder.get("x")), f=length(holder.get("y"))
    )
    area = place.inverse().bounds(_reach(canvas.context))
    columns = range(math.floor(area.x / width), math.ceil(area.right / width))
    rows = range(math.floor(area.y / height), math.ceil(area.bottom / height))
    if len(columns) * len(rows) <= _MOST_TILES:
        corners = [(column * width, row * height) for row in rows for column in columns]
        pattern = _record(canvas, holder, tile, opacity, corners)
    else:
        pattern = _record(canvas, holder, tile, opacity, extents=tile)
        pattern.set_extend(cairocffi.EXTEND_REPEAT)
    matrix = cairocffi.Matrix(*place)
    matrix.invert()
    pattern.set_matrix(matrix)
    canvas.context.set_source(pattern)


def _reach(context: cairocffi.Context) -> Rect:
    """The box that the current path can leave ink in; the whole clip where there is no path."""
    boxes = [context.fill_extents(), context.stroke_extents()]
    boxes = [box for box in boxes if box != (0.0, 0.0, 0.0, 0.0)] or [context.clip_extents()]
    return Rect.around(corner for box in boxes for corner in (box[:2], box[2:]))


def paint_mask(canvas: Canvas, holder: Node, opacity: float) -> None:
    """Paints the context's source through a mask."""
    context = canvas.context
    room = Rect(*(length(holder.get(side)) for side in ("x", "y", "width", "height")))
    pattern = _record(canvas, holder, room)
    source = context.get_source()
    context.push_group()
    context.set_source(source)
    context.mask(pattern)
    context.pop_group_to_source()
    context.paint_with_alpha(opacity)
