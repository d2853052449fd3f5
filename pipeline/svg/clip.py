"""Clip paths as one path each, and masks as lightness that is already opacity (SVG 1.1, 14)."""

from __future__ import annotations

import copy
import itertools
from collections.abc import Iterator, Mapping

from lxml import etree

from pipeline.base.geometry import Rect
from pipeline.svg.paint import (
    SIDES,
    Colour,
    Context,
    Definitions,
    box_matrix,
    put_transform,
    share,
    viewport,
    wrap,
)
from pipeline.svg.path import SHAPES, PathData, box_of, outline, tight_box, written
from pipeline.svg.refusals import (
    BOX_OF_TEXT,
    CLIP_OF_CLIPS,
    CLIP_OF_MANY,
    ENDLESS,
    MOST_NESTED,
    OVERLAP_IN_MASK,
    PICTURE_IN_MASK,
    TEXT_AS_CLIP,
    TOO_NESTED,
    error,
)
from pipeline.svg.transform import Matrix, parse_transform
from pipeline.svg.tree import SVG, strip, target
from pipeline.text.style import length


def clip_to(element: etree._Element, room: Rect, defs: Definitions) -> etree._Element:
    """A group around an element that shows only what lies in a rectangle of its parent's units."""
    x, y, right, bottom = room.x, room.y, room.right, room.bottom
    data = PathData("MLLLZ", (x, y, right, y, right, bottom, x, bottom))
    group = wrap(element)
    group.set("clip-path", f"url(#{defs.add(_clip_path(data, 'nonzero'))})")
    return group


def _clip_path(data: PathData, rule: str) -> etree._Element:
    holder = etree.Element(SVG + "clipPath")
    path = etree.SubElement(holder, SVG + "path", {"d": written(data)})
    if rule == "evenodd":
        path.set("clip-rule", rule)
    return holder


def clip(element: etree._Element, context: Context, defs: Definitions) -> etree._Element | None:
    """Makes an element's ``clip-path`` plain; gives what now stands in its place, None for nothing.

    Raises UserError for clips that are refused.
    """
    holder = defs.find(target(element.get("clip-path")))
    strip(element, "clip-path")
    if holder is not None and holder.tag != SVG + "clipPath":
        return element  # as if it were not there (CSS Masking 1, 5.1)
    chain: list[etree._Element] = []
    while holder is not None:
        if holder in chain or holder.get("id") in context.within:
            raise error(element, ENDLESS, defs.name)
        if len(chain) >= MOST_NESTED:
            raise error(element, TOO_NESTED, defs.name)
        chain.append(holder)
        holder = defs.find(target(holder.get("clip-path")))
    for number, link in enumerate(chain):
        plain = _one_clip(link, element, context, defs)
        if plain is None:
            return None
        if number:
            element = wrap(element, "transform")
        element.set("clip-path", f"url(#{defs.add(plain)})")
    return element


_Part = tuple[PathData, str]
"""A shape of a clip path, and its fill rule."""


def _one_clip(
    holder: etree._Element,
    element: etree._Element,
    context: Context,
    defs: Definitions,
) -> etree._Element | None:
    matrix = defs.matrix_of(holder, holder.get, "transform", context) or Matrix()
    if holder.get("clipPathUnits") == "objectBoundingBox":
        matrix = matrix @ box_matrix(_box(element, defs))
        context = context._replace(width=1.0, height=1.0)
    style = defs.style_of(holder)
    content = copy.deepcopy(holder)
    within = context.within | {str(holder.get("id"))}
    defs.simplify_children(content, context._replace(style=style, within=within))
    parts = list(_parts(content, matrix, style["clip-rule"], style["visibility"], holder, defs))
    if not parts:
        return None
    if len(parts) == 1:
        return _clip_path(*parts[0])
    return _clip_path(_united(parts, holder, defs), "nonzero")


def _parts(
    content: etree._Element,
    matrix: Matrix,
    rule: str,
    visibility: str,
    holder: etree._Element,
    defs: Definitions,
) -> Iterator[_Part]:
    for child in content:
        tag = str(child.tag).removeprefix(SVG)
        if child.get("display") == "none":
            continue
        if "clip-path" in child.attrib:
            raise error(holder, CLIP_OF_CLIPS, defs.name)
        own = matrix @ parse_transform(child.get("transform"))
        own_rule = child.get("clip-rule", rule)
        shown = child.get("visibility", visibility)
        if tag == "text":
            raise error(holder, TEXT_AS_CLIP, defs.name)
        if tag == "g":
            yield from _parts(child, own, own_rule, shown, holder, defs)
        elif tag in SHAPES and shown == "visible":
            data = outline(child)
            if data.coordinates:
                yield data.moved(own.point), own_rule


def _united(parts: list[_Part], holder: etree._Element, defs: Definitions) -> PathData:
    """All parts as one path that is filled wherever one of them is, by the nonzero rule."""
    if any(rule == "evenodd" and data.operators.count("M") > 1 for data, rule in parts):
        raise error(holder, CLIP_OF_MANY, defs.name)
    # Drawn the same way round, parts that overlap add up and never cancel each other out.
    turned = [data if _area(data) >= 0 else _reversed(data) for data, _ in parts]
    return PathData(
        "".join(data.operators for data in turned),
        tuple(itertools.chain.from_iterable(data.coordinates for data in turned)),
    )


def _area(data: PathData) -> float:
    """Twice the signed area of the polygon through a path's points."""
    return sum(
        x0 * y1 - x1 * y0
        for points in (part.points for part in data.subpaths())
        for (x0, y0), (x1, y1) in itertools.pairwise([*points, points[0]])
    )


def _reversed(data: PathData) -> PathData:
    operators = ""
    flat: list[float] = []
    for part in data.subpaths():
        operators += "M" + part.operators.replace("Z", "")[:0:-1] + "Z"
        flat += itertools.chain.from_iterable(reversed(part.points))
    return PathData(operators, tuple(flat))


def _box(element: etree._Element, defs: Definitions) -> Rect:
    box = box_of(element)
    if box is None or next(element.iter(SVG + "text"), None) is not None:
        raise error(element, BOX_OF_TEXT, defs.name)
    return box


def mask(element: etree._Element, context: Context, defs: Definitions) -> etree._Element | None:
    """Makes an element's ``mask`` plain; gives the element, None when nothing of it shows.

    Raises UserError for masks that are refused.
    """
    name = target(element.get("mask"))
    strip(element, "mask")
    holder = defs.find(name)
    if holder is None or holder.tag != SVG + "mask" or name is None:
        return element
    if name in context.within:
        raise error(element, ENDLESS, defs.name)
    by_box = holder.get("maskUnits") != "userSpaceOnUse"
    content_by_box = holder.get("maskContentUnits") == "objectBoundingBox"
    box = _box(element, defs) if by_box or content_by_box else None
    defaults = ("-10%", "-10%", "120%", "120%")
    room = viewport(holder.get, context, defaults, box if by_box else None)
    if room.width <= 0 or room.height <= 0:
        return None
    style = defs.style_of(holder)
    inner = context._replace(style=style, within=context.within | {name})
    if content_by_box:
        inner = inner._replace(width=1.0, height=1.0)
    group = defs.content(holder, inner)
    if content_by_box and box is not None:
        put_transform(group, box_matrix(box))
    if holder.get("mask-type") != "alpha":
        _Lightness(holder, defs).turn(group, Matrix(), style)
    result = etree.Element(SVG + "mask", {"maskUnits": "userSpaceOnUse"})
    for side, value in zip(SIDES, room, strict=True):
        result.set(side, f"{value:.9g}")
    result.append(group)
    element.set("mask", f"url(#{defs.add(result)})")
    return element


class _Lightness:
    """Turns the colours of a mask into white that is as opaque as they are light.

    What is painted over something lighter would have to take opacity away, which cannot be drawn.
    """

    def __init__(self, holder: etree._Element, defs: Definitions) -> None:
        self._holder = holder
        self._defs = defs
        self._below: list[Rect | None] = []
        """Where something that is not black has been painted; None for anywhere."""

    def turn(self, element: etree._Element, outside: Matrix, style: Mapping[str, str]) -> None:
        """Changes the colours of all in an element; raises UserError where it cannot be."""
        matrix = outside @ parse_transform(element.get("transform"))
        style = {**style, **{str(name): str(value) for name, value in element.attrib.items()}}
        tag = str(element.tag).removeprefix(SVG)
        if tag == "image":
            raise error(self._holder, PICTURE_IN_MASK, self._defs.name)
        if tag in SHAPES or tag == "text":
            box = None
            if tag != "text":
                own = tight_box(outline(element))
                if own is None:
                    return
                box = matrix.bounds(own)
            for which in ("fill", "stroke"):
                value = style.get(which, "none")
                if value == "none":
                    continue
                if which == "stroke" and box is not None:
                    wide = 2 * length(style.get("stroke-width"), default=1.0)
                    box = box.grown(wide * max(matrix.scale_x, matrix.scale_y))
                element.set(which, self._lighter(value, box))
            return
        for child in element:
            self.turn(child, matrix, style)

    def _lighter(self, value: str, box: Rect | None) -> str:
        name = target(value)
        if name is None:
            light, alpha = _light(value)
            self._paint_over(light < 1, light * alpha > 0, box)
            return f"rgba(255,255,255,{light * alpha:.4g})" if light * alpha > 0 else "none"
        server = next(each for each in self._defs.tree if each.get("id") == name)
        if server.tag == SVG + "pattern":
            raise error(self._holder, PICTURE_IN_MASK, self._defs.name)
        lighter = copy.deepcopy(server)
        strip(lighter, "id")
        lights = []
        for stop in lighter.iter(SVG + "stop"):
            light, alpha = _light(str(stop.get("stop-color")))
            lights.append(light)
            stop.set("stop-opacity", f"{light * alpha * share(stop.get('stop-opacity')):.6g}")
            stop.set("stop-color", "#ffffff")
        self._paint_over(min(lights) < 1, True, box)
        return f"url(#{self._defs.add(lighter)})"

    def _paint_over(self, darkens: bool, lightens: bool, box: Rect | None) -> None:
        if darkens and any(
            box is None or other is None or box.overlaps(other) for other in self._below
        ):
            raise error(self._holder, OVERLAP_IN_MASK, self._defs.name)
        if lightens:
            self._below.append(box)


def _light(plain: str) -> tuple[float, float]:
    """How light a plain colour is, and how opaque."""
    colour = Colour.read(plain)
    assert colour is not None
    return colour.luminance, colour.alpha
