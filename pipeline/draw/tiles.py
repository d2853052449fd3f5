"""What CairoSVG would draw as pixels, or not as SVG says, drawn with cairo itself.

Shapes come from our own path data, patterns and masks are recorded drawings that stay vectors in
the PDF, clips know their fill rule. All expect the plain form that ``pipeline.fill`` makes.
"""

from __future__ import annotations

import contextlib
import copy
import functools
import io
import itertools
import math
from collections.abc import Callable, Iterable, Iterator, Mapping, Sequence
from typing import TYPE_CHECKING, NamedTuple

import cairocffi
import numpy as np
import numpy.typing as npt
import resvg_py
from cairosvg.url import parse_url
from lxml import etree
from PIL import Image

from pipeline.base.cache import key_of
from pipeline.base.errors import UserError
from pipeline.base.geometry import Rect, mm, pt
from pipeline.draw.faces import Rgba
from pipeline.draw.node import Node
from pipeline.svg.paint import SIDES, box_matrix, linear_light
from pipeline.svg.path import PathData, Point, outline
from pipeline.svg.refusals import MOST_UNITS, TOO_FINE, TOO_LARGE, TOO_MANY_TILES, error
from pipeline.svg.transform import Matrix, parse_transform
from pipeline.svg.tree import SVG, link_to, picture_of, strip
from pipeline.text.style import length, lengths

if TYPE_CHECKING:
    from pipeline.draw.canvas import Canvas

_SAME = Matrix()
_MOST_PIXELS = 40_000_000
"""The most pixels of a picture: a page of A3 has 17 million at 300 an inch."""

_MOST_THICKER = 60
"""The most pixels that a filter makes shapes thicker: 5 mm at 300 an inch."""

_MOST_TILES, _MOST_ELEMENTS = 3_000, 30_000
"""How many tiles of a pattern are laid out one by one, or more while they hold fewer elements; of
others, the PDF repeats a block of tiles."""

_MOST_LAID = 120_000
"""Elements in all tiles that are laid out on a layer: some seconds of work."""

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


def record(
    canvas: Canvas,
    draw: Callable[[], None],
    room: Rect | None = None,
    *,
    place: Matrix = _SAME,
    frame: Matrix = _SAME,
    corners: Iterable[Point] = ((0.0, 0.0),),
    extents: Rect | None = None,
) -> cairocffi.RecordingSurface:
    """A recorded drawing of what lies in ``room``, once at each of ``corners``.

    ``place`` is where its units will lie in those of the canvas's context, ``frame`` where the
    units of what ``draw`` puts onto the canvas lie in its own.
    """
    recording = cairocffi.RecordingSurface(cairocffi.CONTENT_COLOR_ALPHA, extents)
    with canvas.onto(cairocffi.Context(recording), place) as context:
        for x, y in corners:
            context.save()
            context.translate(x, y)
            _draw_in(context, draw, room, frame)
            context.restore()
    return recording


def _draw_in(
    context: cairocffi.Context, draw: Callable[[], None], room: Rect | None, frame: Matrix
) -> None:
    if room is not None:
        context.rectangle(*room)
        context.clip()
    context.transform(cairocffi.Matrix(*frame))
    draw()


class Grid(NamedTuple):
    """Pixels over a part of a drawing: what part, and how many of them a user unit has."""

    x: float
    y: float
    scale: float
    columns: int
    rows: int

    @property
    def area(self) -> Rect:
        """What is covered, user units."""
        return Rect(self.x, self.y, self.columns / self.scale, self.rows / self.scale)

    @property
    def matrix(self) -> Matrix:
        """From user units to pixels."""
        return Matrix(self.scale, 0, 0, self.scale, -self.x * self.scale, -self.y * self.scale)


def grid_over(
    canvas: Canvas, area: Rect, widest: float = 0.0, most: float = _MOST_PIXELS
) -> Grid | None:
    """The pixels for an area of the context's user space, as fine as the canvas's pictures are.

    None where no part of it can show; the grid is coarser where pixels would be more than ``most``,
    or too many in ``widest`` (user units), as far as a filter makes shapes thicker.
    """
    matrix = canvas.matrix
    scale = canvas.paper.dpi / 72 * max(matrix.scale_x, matrix.scale_y)
    if area.width <= 0 or area.height <= 0 or not scale:
        return None
    scale *= min(1.0, math.sqrt(most / (area.width * area.height * scale**2)))
    scale = min(scale, _MOST_THICKER / widest) if widest > 0 else scale
    columns, rows = (max(1, math.ceil(side * scale)) for side in (area.width, area.height))
    return Grid(area.x, area.y, scale, columns, rows)


def rastered(
    canvas: Canvas,
    draw: Callable[[], None],
    grid: Grid,
    room: Rect | None = None,
    frame: Matrix = _SAME,
) -> cairocffi.ImageSurface:
    """A drawing in pixels, with nothing behind it; see ``record`` for the rest."""
    surface = cairocffi.ImageSurface(cairocffi.FORMAT_ARGB32, grid.columns, grid.rows)
    context = cairocffi.Context(surface)
    context.set_matrix(cairocffi.Matrix(*grid.matrix))
    with canvas.onto(context, grid.matrix.inverse(), in_pixels=True):
        _draw_in(context, draw, room, frame)
    surface.flush()
    return surface


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


def take_pattern(canvas: Canvas, owner: Node, holder: Node, opacity: float) -> None:
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
    canvas.laid += len(columns) * len(rows) * held
    if canvas.laid > _MOST_LAID:
        raise error(owner.element, TOO_MANY_TILES, canvas.where)
    corners = [(column * width, row * height) for row in rows for column in columns]
    block = None if laid_out else Rect(0, 0, len(columns) * width, len(rows) * height)
    for child in holder.children:
        child["opacity"] = opacity
    draw = functools.partial(canvas.draw_all, holder.children)
    tiles = record(canvas, draw, tile, place=place, corners=corners, extents=block)
    pattern = cairocffi.SurfacePattern(tiles)
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
    surface = surface_of(canvas, picture)
    context = canvas.context
    context.save()
    wide, high = (length(node.get(side)) for side in ("width", "height"))
    context.scale(wide / picture.width, high / picture.height)
    context.set_source_surface(surface)
    context.get_source().set_filter(cairocffi.FILTER_NEAREST if crisp else cairocffi.FILTER_GOOD)
    context.paint_with_alpha(opacity)
    context.restore()


def surface_of(canvas: Canvas, picture: Image.Image) -> cairocffi.ImageSurface:
    """A picture for cairo, in greys while the canvas draws a mask."""
    clear = picture.has_transparency_data
    picture = picture if canvas.map_image is None else canvas.map_image(picture)
    pixels = np.asarray(picture.convert("RGBA"), dtype=np.uint16)
    light = pixels[..., :3] * pixels[..., 3:] + 127
    blue_first = np.dstack([light[..., ::-1] // 255, pixels[..., 3:]]).astype(np.uint8)
    kind = cairocffi.FORMAT_ARGB32 if clear else cairocffi.FORMAT_RGB24
    surface = cairocffi.ImageSurface(kind, *picture.size)
    surface.get_data()[:] = blue_first.tobytes()
    surface.mark_dirty()
    return surface


_CRISP = frozenset(("pixelated", "crisp-edges", "optimizeSpeed", "-webkit-optimize-contrast"))
"""Ways of ``image-rendering`` that show pixels as squares."""

_CRISP_PIXELS = 2_000
_NEAREST = Image.Resampling.NEAREST


class Lightness(NamedTuple):
    """How what is in a mask becomes greys that are as light as the mask lets through."""

    alpha: bool
    """Whether only opacity counts (``mask-type``)."""
    linear: bool
    """Whether lightness is that of linear light (``color-interpolation``)."""

    def colour(self, rgba: Rgba) -> Rgba:
        """The grey for a colour, all from 0 to 1."""
        grey = float(self._grey(np.array(rgba[:3])))
        return grey, grey, grey, rgba[3]

    def picture(self, image: Image.Image) -> Image.Image:
        """A picture in greys."""
        parts = np.asarray(image.convert("RGBA"))
        grey = np.rint(255 * self._grey(parts[..., :3] / 255))
        return Image.fromarray(np.dstack([grey, grey, grey, parts[..., 3]]).astype(np.uint8))

    def _grey(self, rgb: npt.NDArray[np.float64]) -> npt.NDArray[np.float64]:
        """How light colours along the last axis are (CSS Masking 1, 7.10.1)."""
        if self.alpha:
            return np.ones(rgb.shape[:-1])
        rgb = linear_light(rgb) if self.linear else rgb
        return np.asarray(rgb @ np.array([0.2125, 0.7154, 0.0721]))


def paint_mask(canvas: Canvas, node: Node, holder: Node, opacity: float, operator: int) -> None:
    """Paints the context's source, which is a drawing of ``node``, through a mask.

    Masks are greys on black. A PDF takes their lightness (see ``PageSurface``); pixels are given
    it as their opacity.
    """
    context, own = canvas.context, holder.own
    by_box, content_by_box = (
        own.get(units) == "objectBoundingBox" for units in ("maskUnits", "maskContentUnits")
    )
    box = canvas.box(node) if by_box or content_by_box else None
    frame = box_matrix(box) if box is not None else Matrix()
    room = None
    if "width" in own:
        room = Rect(*(length(own.get(side)) for side in SIDES))
        room = frame.bounds(room) if by_box else room
    frame = frame if content_by_box else Matrix()
    source = context.get_source()
    lightness = Lightness(own.get("mask-type") == "alpha", "color-interpolation" in own)
    draw = functools.partial(canvas.draw_all, holder.children)
    with canvas.in_greys(lightness):
        if canvas.in_pixels:
            pattern = _opacities(canvas, draw, room, frame)
        else:
            canvas.paper.masked = True
            pattern = cairocffi.SurfacePattern(record(canvas, draw, room, frame=frame))
    context.push_group()
    if pattern is not None:
        context.set_source(source)
        context.mask(pattern)
    context.pop_group_to_source()
    context.set_operator(operator)
    context.paint_with_alpha(opacity)


def _opacities(
    canvas: Canvas, draw: Callable[[], None], room: Rect | None, frame: Matrix
) -> cairocffi.SurfacePattern | None:
    """A mask of pixels that are as opaque as what is drawn is light."""
    seen = _seen(canvas.context)
    grid = grid_over(canvas, seen if room is None else _common(seen, room))
    if grid is None:
        return None
    surface = rastered(canvas, draw, grid, room, frame)
    values = np.frombuffer(surface.get_data(), np.uint8).reshape(grid.rows, -1, 4)
    values[..., 3] = values[..., 0]
    surface.mark_dirty()
    return _placed(surface, grid)


def _seen(context: cairocffi.Context) -> Rect:
    """The box around what can be drawn on."""
    left, top, right, bottom = context.clip_extents()
    return Rect(left, top, right - left, bottom - top)


def _common(one: Rect, other: Rect) -> Rect:
    left, top = max(one.x, other.x), max(one.y, other.y)
    return Rect(left, top, min(one.right, other.right) - left, min(one.bottom, other.bottom) - top)


def _placed(surface: cairocffi.ImageSurface, grid: Grid) -> cairocffi.SurfacePattern:
    """A picture as a paint that lies where its grid lies."""
    pattern = cairocffi.SurfacePattern(surface)
    pattern.set_matrix(cairocffi.Matrix(*grid.matrix))
    return pattern


class Effect(NamedTuple):
    """A filtered element that was drawn as a picture, its size on the page and its fineness."""

    element: etree._Element
    width_mm: float
    height_mm: float
    dpi: float


_OUTSIDE_MM = 20.0
"""How far outside of what can be seen filters look for what to blur or move into it. By eye."""


def paint_filtered(canvas: Canvas, node: Node, filters: Sequence[Node]) -> None:
    """Paints a node with its filters as a picture, and its words over it for readers to find.

    Our own drawing of the node goes through the filters of resvg. Pictures are kept by all that
    they are made from. Sources: Filter Effects 1.
    """
    draw = functools.partial(canvas.draw_own, node, 1.0)
    _paint_through(canvas, node, filters, draw)
    with canvas.only_words():
        draw()


def _paint_through(
    canvas: Canvas, node: Node, filters: Sequence[Node], draw: Callable[[], None]
) -> None:
    box = canvas.box(node)
    outside = pt(_OUTSIDE_MM) / (max(canvas.matrix.scale_x, canvas.matrix.scale_y) or 1)
    seen = _seen(canvas.context).grown(outside)
    area: Rect | None = None
    for each in filters:
        if "reach" in each.own:
            area = _ink(canvas, draw, seen) if area is None else area
            area = area.grown(length(each.get("reach")))
        else:
            region = _region(each, box)
            area = region if area is None else Rect.union([area, region])
    widest = max((_widest(each, box) for each in filters), default=0.0)
    if widest > MOST_UNITS:
        raise error(node.element, TOO_LARGE, canvas.where)
    steps = 1 + sum(map(_work, filters))
    most = min(_MOST_PIXELS, max(_MOST_WORK - canvas.filtered, 1.0) / steps)
    grid = grid_over(canvas, _common(area, seen), widest, most) if area is not None else None
    if grid is None:
        return
    tile = next((one for each in filters for one in _tiles(each, box)), None)
    if tile is not None and min(tile.width, tile.height) * grid.scale < _FINEST_TILE:
        raise error(node.element, TOO_FINE, canvas.where)
    grid = _fitted_to(tile, grid) if tile is not None else grid
    canvas.filtered += grid.columns * grid.rows * steps
    if _fineness(canvas, grid) < min(_COARSEST, canvas.paper.dpi) and widest <= 0:
        raise UserError(
            canvas.where,
            "an effect of so many steps on so large a part of the page would take too long to draw",
            "use fewer steps, or embed the result as a picture",
            element=str(node.own.get("id", "")),
        )
    svg = etree.Element(SVG + "svg")
    svg.set("width", str(grid.columns))
    svg.set("height", str(grid.rows))
    svg.set("viewBox", _numbers(grid.area))
    for number, each in enumerate(filters):
        svg.append(_settled(canvas, each, f"f{number}", box, grid))
    source = _picture(SVG + "image", rastered(canvas, draw, grid), grid)
    source.set("filter", " ".join(f"url(#f{number})" for number in range(len(filters))))
    svg.append(source)
    _paint_effect(canvas, node, etree.tostring(svg, encoding="unicode"), grid)


def _tiles(each: Node, box: Rect | None) -> Iterator[Rect]:
    """What of a filter's parts is repeated by a tile of it, in user units."""
    results: dict[str, etree._Element] = {}
    before: etree._Element | None = None
    for part in each.element:
        tiled = results.get(part.get("in", ""), before) if part.tag == SVG + "feTile" else None
        if tiled is not None and all(side in tiled.attrib for side in SIDES):
            room = Rect(*(length(tiled.get(side)) for side in SIDES))
            if each.get("primitiveUnits") == "objectBoundingBox":
                room = box_matrix(box).bounds(room) if box is not None else Rect(0, 0, 0, 0)
            if room.width > 0 and room.height > 0:
                yield room
        before = part
        results[part.get("result", "")] = part


_WITHIN = 0.001
"""How far (pixels) the edges of a tile lie within those of pixels: resvg rounds outwards."""


def _fitted_to(tile: Rect, grid: Grid) -> Grid:
    """A grid, up to a third finer, in which a tile begins and ends with a pixel, or nearly: resvg
    repeats whole pixels, and what is cut off would add up from tile to tile."""
    scales = [
        (count - 2 * _WITHIN) / tile.width
        for count in range(
            math.ceil(tile.width * grid.scale), math.ceil(tile.width * grid.scale * 4 / 3) + 1
        )
    ]
    scale = min(scales, key=lambda one: math.ceil(tile.height * one + _WITHIN) - tile.height * one)
    x, y = (
        start - (math.ceil((start - edge) * scale) + _WITHIN) / scale
        for start, edge in ((tile.x, grid.x), (tile.y, grid.y))
    )
    area = grid.area
    return Grid(
        x, y, scale,
        math.ceil((area.right - x) * scale), math.ceil((area.bottom - y) * scale),
    )  # fmt: skip


_MOST_WORK = 5e7
"""The most work that effects of a layer may be, in pixels that one step of them goes through:
some 5 seconds. What is more is drawn coarser, down to ``_COARSEST`` (pixels to the inch)."""

_COARSEST = 100.0
_FINEST_TILE = 0.5
"""Pixels of a side of a tile in an effect: less is no tile any more."""


def _work(each: Node) -> float:
    """How many times a filter goes through all pixels, about (measured)."""
    steps = 0.0
    for part in each.element.iter():
        if part.tag == SVG + "feTurbulence":
            steps += 4 * max(1.0, min(length(part.get("numOctaves"), default=1.0), 10.0))
        elif part.tag == SVG + "feConvolveMatrix":
            across, down = (lengths(part.get("order")) * 2 or [3.0, 3.0])[:2]
            steps += max(1.0, across * down / 4)
        elif part.tag == SVG + "feGaussianBlur":
            steps += 2
        elif part.tag == SVG + "feColorMatrix":
            steps += 1.3
        elif part.tag == SVG + "feMergeNode":
            steps += 0.5
        elif str(part.tag).startswith(f"{SVG}fe") and part.getparent() is each.element:
            steps += part.tag != SVG + "feMerge"
    return steps


def _fineness(canvas: Canvas, grid: Grid) -> float:
    """How many pixels to the inch a grid has on the page."""
    return 72 * grid.scale / (max(canvas.matrix.scale_x, canvas.matrix.scale_y) or 1)


def _widest(each: Node, box: Rect | None) -> float:
    """By how many user units a filter makes shapes thicker or thinner at most."""
    by_box = each.get("primitiveUnits") == "objectBoundingBox"
    unit = max(box.width, box.height) if by_box and box is not None else 1.0
    parts = each.element.iter(SVG + "feMorphology")
    return unit * max((max(lengths(part.get("radius")), default=0.0) for part in parts), default=0)


def _ink(canvas: Canvas, draw: Callable[[], None], room: Rect) -> Rect:
    return Rect(*record(canvas, draw, room).ink_extents())


def _numbers(values: Iterable[float]) -> str:
    return " ".join(f"{value:.9g}" for value in values)


def _region(each: Node, box: Rect | None) -> Rect:
    """What of a drawing a filter works on, in user units; empty where it works on nothing."""
    region = Rect(*(length(each.get(side)) for side in SIDES))
    if each.get("filterUnits") == "userSpaceOnUse":
        return region
    return box_matrix(box).bounds(region) if box is not None else Rect(0, 0, 0, 0)


def _settled(canvas: Canvas, each: Node, name: str, box: Rect | None, grid: Grid) -> etree._Element:
    """A filter in user units, with all the pictures in it that it needs.

    An element in it stands where its part's own region begins and is cut by that, as Chromium and
    resvg have it.
    """
    element = copy.deepcopy(each.element)
    region = grid.area if "reach" in each.own else _region(each, box)
    for part in element.iterdescendants(etree.Element):
        _bound(part)
    element.attrib.clear()
    element.set("id", name)
    element.set("filterUnits", "userSpaceOnUse")
    for side, value in zip(SIDES, region, strict=True):
        element.set(side, f"{value:.9g}")
    if each.get("primitiveUnits") == "objectBoundingBox" and box is not None:
        for part in element.iterdescendants(etree.Element):
            _out_of_box(part, box)
    for part, drawn in zip(element, each.children, strict=True):
        if drawn.children and part.tag == SVG + "feImage":
            own = Rect(
                *(
                    length(part.get(side), default=whole)
                    for side, whole in zip(SIDES, region, strict=True)
                )
            )
            shown = functools.partial(canvas.draw_all, drawn.children)
            surface = rastered(canvas, shown, grid, own, Matrix(e=own.x, f=own.y))
            element.replace(part, _feimage(part, surface, grid))
    for part in element.findall(SVG + "feMorphology"):
        _in_steps(part, grid.scale)
    for number, part in enumerate(element.findall(SVG + "feDisplacementMap")):
        _by_root(part, f"turned-{number}")
    return element


_BOUNDS = {
    "numOctaves": 10.0, "baseFrequency": 1e3,
    **dict.fromkeys(("dx", "dy", "stdDeviation", "scale", *SIDES), 1e6),
}  # fmt: skip
"""Numbers beyond which nothing changes any more, but resvg breaks off or takes for ever."""


def _bound(part: etree._Element) -> None:
    for name, most in _BOUNDS.items():
        if name in part.attrib:
            numbers = [min(max(value, -most), most) for value in lengths(part.get(name))]
            part.set(name, _numbers(numbers) or "0")


def _by_root(part: etree._Element, name: str) -> None:
    """Gives a displacement the root of its scale, which resvg squares; its sign turns the map.

    A page of ``tests/draw/feature_pages`` tells when it does so no longer.
    """
    scale = length(part.get("scale"))
    part.set("scale", f"{math.sqrt(abs(scale)):.9g}")
    if scale < 0:
        light = {n: str(v) for n, v in part.attrib.items() if n == "color-interpolation-filters"}
        turned = etree.Element(SVG + "feComponentTransfer", {**light, "result": name})
        if part.get("in2"):
            turned.set("in", str(part.get("in2")))
        for channel in "RGB":
            etree.SubElement(
                turned, f"{SVG}feFunc{channel}", {"type": "table", "tableValues": "1 0"}
            )
        before = part.getprevious()
        if part.get("in") is None:
            if before is not None:
                before.set("result", before.get("result") or f"{name}-below")
            part.set("in", "SourceGraphic" if before is None else str(before.get("result")))
        part.set("in2", name)
        part.addprevious(turned)


def _in_steps(part: etree._Element, scale: float) -> None:
    """Grows or shrinks along one axis after the other, which is the same and many times faster.

    Each step of resvg reaches one pixel further after than before; a shift of one makes up for it.
    """
    radii = (lengths(part.get("radius")) * 2)[:2]
    if not radii or min(radii) <= 0:
        return
    across, down = (max(1, round(radius * scale)) - 0.5 for radius in radii)
    steps = [copy.copy(part), copy.copy(part), copy.copy(part)]
    steps[2].tag = SVG + "feOffset"
    steps[0].set("radius", _numbers((across / scale, 0.5 / scale)))
    steps[1].set("radius", _numbers((0.5 / scale, down / scale)))
    for name in ("dx", "dy"):
        steps[2].set(name, f"{-1 / scale:.9g}")
    for number, step in enumerate(steps):
        strip(step, *(("in",) if number else ()), *(("result", *SIDES) if number < 2 else ()))
        part.addprevious(step)
    parent = part.getparent()
    assert parent is not None
    parent.remove(part)


def _feimage(part: etree._Element, surface: cairocffi.ImageSurface, grid: Grid) -> etree._Element:
    """A ``feImage`` of an element, drawn."""
    result = _picture(SVG + "feImage", surface, grid)
    if part.get("result"):
        result.set("result", str(part.get("result")))
    return result


def _picture(tag: str, surface: cairocffi.ImageSurface, grid: Grid) -> etree._Element:
    """An element that shows a picture just where its grid lies."""
    size = (grid.columns, grid.rows)
    image = Image.frombuffer("RGBA", size, bytes(surface.get_data()), "raw", "BGRa", 0, 1)
    element = etree.Element(tag)
    for side, value in zip(SIDES, grid.area, strict=True):
        element.set(side, f"{value:.9g}")
    element.set("preserveAspectRatio", "none")
    element.set("image-rendering", "optimizeSpeed")
    element.set("href", link_to(image))
    return element


_BOXED: Mapping[str, str] = {
    "x": "x", "y": "y", "pointsAtX": "x", "pointsAtY": "y", "width": "width", "height": "height",
    "dx": "width", "dy": "height", "z": "both", "pointsAtZ": "both", "scale": "both",
    "stdDeviation": "pair", "radius": "pair",
}  # fmt: skip
"""What of a filter's parts ``primitiveUnits`` holds for, and which sides of the box it goes by."""


def _out_of_box(part: etree._Element, box: Rect) -> None:
    """Turns shares of a box into user units."""
    both = math.sqrt((box.width**2 + box.height**2) / 2)
    for name, kind in _BOXED.items():
        if name not in part.attrib:
            continue
        numbers = lengths(part.get(name))
        if kind == "pair":
            pair = (numbers * 2)[:2]
            numbers = [pair[0] * box.width, pair[1] * box.height]
        elif kind == "both":
            numbers = [numbers[0] * both]
        else:
            side = box.height if kind in ("y", "height") else box.width
            start = {"x": box.x, "y": box.y}.get(kind, 0.0)
            numbers = [start + numbers[0] * side]
        part.set(name, _numbers(numbers))


def _paint_effect(canvas: Canvas, node: Node, svg: str, grid: Grid) -> None:
    """Paints what resvg makes of a drawing, cut to its ink; nothing where there is none."""
    kept, context = canvas.paper.pictures, canvas.context
    key = key_of("filtered", svg)
    again = key in kept
    if not again:

        def make() -> bytes:
            with _breaking_off(canvas, node):
                return _drawn(svg)

        head, _, png = canvas.paper.cache.get_or_make(key, make).partition(b"\n")
        kept[key] = (*map(int, head.split()), _surface(png)) if png else None
    found = kept[key]
    if found is None:
        return
    left, top, surface = found
    fine = _fineness(canvas, grid) / 72
    width, height = mm(surface.get_width() / fine), mm(surface.get_height() / fine)
    canvas.paper.effects.append(Effect(node.element, width, height, 72 * fine))
    context.save()
    context.translate(grid.x + left / grid.scale, grid.y + top / grid.scale)
    context.scale(1 / grid.scale, 1 / grid.scale)
    if again:  # a group has a list of pictures of its own: cairo would list this one twice
        context.push_group()
    context.set_source_surface(surface)
    context.paint()
    if again:
        context.pop_group_to_source()
        context.paint()
    context.restore()


@contextlib.contextmanager
def _breaking_off(canvas: Canvas, node: Node) -> Iterator[None]:
    """Tells whatever breaks off in resvg as a fault of the drawing."""
    try:
        yield
    except BaseException as problem:
        if not isinstance(problem, Exception) and type(problem).__name__ != "PanicException":
            raise
        raise UserError(
            canvas.where,
            "its filter cannot be drawn",
            "remove the effect, or embed the result as a picture",
            element=str(node.own.get("id", "")),
        ) from problem


def _drawn(svg: str) -> bytes:
    """The ink of a drawing as resvg draws it: a line with its corner in pixels, then a PNG."""
    whole = Image.open(io.BytesIO(resvg_py.svg_to_bytes(svg_string=svg, skip_system_fonts=True)))
    inked = whole.convert("RGBA").getchannel("A").getbbox()
    if inked is None:
        return b""
    data = io.BytesIO()
    whole.convert("RGBA").crop(inked).save(data, "PNG")
    return f"{inked[0]} {inked[1]}\n".encode() + data.getvalue()


def _surface(png: bytes) -> cairocffi.ImageSurface:
    return cairocffi.ImageSurface.create_from_png(io.BytesIO(png))
