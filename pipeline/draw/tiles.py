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
import numpy as np
from cairosvg.url import parse_url
from PIL import Image

from pipeline.base.geometry import Rect
from pipeline.draw.node import Node
from pipeline.svg.path import PathData, Point, outline
from pipeline.svg.transform import Matrix, parse_transform
from pipeline.svg.tree import picture_of
from pipeline.text.style import length

if TYPE_CHECKING:
    from pipeline.draw.canvas import Canvas

_MOST_TILES, _MOST_ELEMENTS = 3_000, 30_000
"""How many tiles of a pattern are laid out one by one, or more while they hold fewer elements; of
others, the PDF repeats a block of tiles."""

_FINE = 0.01
"""How far (pt) a line painted with a pattern may lie off: cairo makes it a polygon first."""


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


def take_gradient(canvas: Canvas, owner: Node, holder: Node, opacity: float) -> bool:
    """Takes up a gradient as the paint of what is to be drawn; tells whether there is any.

    A gradient in units of a box lies in that of the whole text.
    """
    matrix = parse_transform(holder.get("gradientTransform"))
    if holder.get("gradientUnits") != "userSpaceOnUse":
        box = owner.get("text_bounding_box") or Rect(0, 0, 0, 0)
        if not box.width or not box.height:
            return False
        matrix = Matrix(box.width, 0, 0, box.height, box.x, box.y) @ matrix
    if holder.tag == "linearGradient":
        ends = (length(holder.get(name)) for name in ("x1", "y1", "x2", "y2"))
        pattern: cairocffi.Gradient = cairocffi.LinearGradient(*ends)
    else:
        circles = (length(holder.get(name)) for name in ("fx", "fy", "fr", "cx", "cy", "r"))
        pattern = cairocffi.RadialGradient(*circles)
    for stop in holder.children:
        alpha = float(stop.get("stop-opacity", 1)) * opacity
        colour = canvas.map_color(stop["stop-color"], alpha)
        pattern.add_color_stop_rgba(float(stop["offset"]), *colour)
    spread = {"reflect": cairocffi.EXTEND_REFLECT, "repeat": cairocffi.EXTEND_REPEAT}
    pattern.set_extend(spread.get(holder.get("spreadMethod", ""), cairocffi.EXTEND_PAD))
    to_gradient = cairocffi.Matrix(*matrix)
    to_gradient.invert()
    pattern.set_matrix(to_gradient)
    canvas.context.set_source(pattern)
    return True


def take_pattern(canvas: Canvas, holder: Node, opacity: float) -> None:
    """Takes up a pattern as the paint of what is to be drawn.

    Tiles are laid out one by one where they are not too many: some readers round the size of a
    PDF's own tiling patterns to their pixels.
    """
    width, height = length(holder.get("width")), length(holder.get("height"))
    tile = Rect(0, 0, width, height)
    place = parse_transform(holder.get("patternTransform")) @ Matrix(
        e=length(holder.get("x")), f=length(holder.get("y"))
    )
    area = place.inverse().bounds(_reach(canvas.context))
    columns = range(math.floor(area.x / width), math.ceil(area.right / width))
    rows = range(math.floor(area.y / height), math.ceil(area.bottom / height))
    held = sum(1 for _ in holder.element.iter())
    laid_out = len(columns) * len(rows) <= max(_MOST_TILES, _MOST_ELEMENTS // held)
    if not laid_out:
        columns = rows = range(math.isqrt(_MOST_TILES))
    corners = [(column * width, row * height) for row in rows for column in columns]
    block = Rect(0, 0, len(columns) * width, len(rows) * height)
    pattern = _record(canvas, holder, tile, opacity, corners, None if laid_out else block)
    if not laid_out:
        pattern.set_extend(cairocffi.EXTEND_REPEAT)
    matrix = cairocffi.Matrix(*place)
    matrix.invert()
    pattern.set_matrix(matrix)
    canvas.context.set_source(pattern)
    canvas.context.set_tolerance(_FINE)


def _reach(context: cairocffi.Context) -> Rect:
    """The box that the current path can leave ink in; the whole clip where there is no path."""
    boxes = [context.fill_extents(), context.stroke_extents()]
    boxes = [box for box in boxes if box != (0.0, 0.0, 0.0, 0.0)] or [context.clip_extents()]
    return Rect.around(corner for box in boxes for corner in (box[:2], box[2:]))


def paint_picture(canvas: Canvas, node: Node, opacity: float) -> None:
    """Paints a picture with its first pixel at the origin, a pixel a unit."""
    picture = picture_of(node.get_href() or "")
    if picture is None:
        return
    crisp = node.get("image-rendering") in _CRISP
    if crisp:  # readers smooth what they enlarge, whatever the file says
        times = max(1, _CRISP_PIXELS // max(picture.size))
        picture = picture.resize((picture.width * times, picture.height * times), _NEAREST)
    clear = picture.mode == "RGBA"
    pixels = np.asarray(picture.convert("RGBA"), dtype=np.uint16)
    light = pixels[..., :3] * pixels[..., 3:] + 127
    blue_first = np.dstack([light[..., ::-1] // 255, pixels[..., 3:]]).astype(np.uint8)
    kind = cairocffi.FORMAT_ARGB32 if clear else cairocffi.FORMAT_RGB24
    surface = cairocffi.ImageSurface(kind, *picture.size)
    surface.get_data()[:] = blue_first.tobytes()
    surface.mark_dirty()
    context = canvas.context
    context.save()
    wide, high = (length(node.get(side)) for side in ("width", "height"))
    context.scale(wide / picture.width, high / picture.height)
    context.set_source_surface(surface)
    context.get_source().set_filter(cairocffi.FILTER_NEAREST if crisp else cairocffi.FILTER_GOOD)
    context.paint_with_alpha(opacity)
    context.restore()


_CRISP = frozenset(("pixelated", "crisp-edges", "optimizeSpeed", "-webkit-optimize-contrast"))
"""Ways of ``image-rendering`` that show pixels as squares."""

_CRISP_PIXELS = 2_000
_NEAREST = Image.Resampling.NEAREST


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
