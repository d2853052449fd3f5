"""Clips, masks and filters made plain: clips of one path each, or masks of all that is in a clip.

Sources: SVG 1.1, 14 and 15; CSS Masking 1; Filter Effects 1.
"""

from __future__ import annotations

import copy
import itertools
import math
from collections.abc import Callable, Iterator, Mapping, Sequence
from typing import Any, NamedTuple

import numpy as np
from lxml import etree
from tinycss2 import parse_component_value_list, serialize

from pipeline.base.geometry import Rect
from pipeline.svg.paint import (
    INITIAL,
    OUTERMOST,
    SIDES,
    Colour,
    Context,
    Definitions,
    box_matrix,
    colour,
    linear_light,
    put_transform,
    share,
    viewport,
    wrap,
)
from pipeline.svg.path import SHAPES, PathData, box_of, outline, path_data, written
from pipeline.svg.refusals import BOX_OF_TEXT, ENDLESS, MOST_NESTED, TOO_NESTED, error
from pipeline.svg.transform import Matrix, angle, parse_transform
from pipeline.svg.tree import (
    HREFS,
    SVG,
    href,
    inherited,
    lineage,
    link_to,
    picture_of,
    strip,
    target,
)
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


def clip(element: etree._Element, context: Context, defs: Definitions) -> bool:
    """Makes an element's ``clip-path`` plain; tells whether anything of the element can show.

    Groups may come around it. Raises UserError for clips that are refused.
    """
    value = str(element.get("clip-path"))
    strip(element, "clip-path")
    if target(value) is None and value != "none":
        data = _basic_shape(value, element, context, defs)
        if data is None:
            return True
        _put(element, _clip_path(*data), defs)
        return bool(data.data.coordinates)
    holder = defs.find(target(value))
    chain: list[etree._Element] = []
    while holder is not None and holder.tag == SVG + "clipPath":
        if holder in chain or holder.get("id") in context.within:
            raise error(holder if holder in chain else element, ENDLESS, defs.name)
        if len(chain) >= MOST_NESTED:
            raise error(element, TOO_NESTED, defs.name)
        chain.append(holder)
        holder = defs.find(target(holder.get("clip-path")))
    shown = element
    for link in chain:
        plain = _one_clip(link, element, context, defs)
        if plain is None:
            return False
        shown = _put(shown, plain, defs)
    return True


def _put(element: etree._Element, plain: etree._Element, defs: Definitions) -> etree._Element:
    """Clips or masks an element, or a new group around it if it is clipped or masked already.

    Gives what was clipped.
    """
    name = "mask" if plain.tag == SVG + "mask" else "clip-path"
    if "clip-path" in element.attrib or name in element.attrib:
        element = wrap(element, "transform", *OUTERMOST)
    element.set(name, f"url(#{defs.add(plain)})")
    return element


class _Part(NamedTuple):
    """A shape of a clip path, and its fill rule."""

    data: PathData
    rule: str


def _one_clip(
    holder: etree._Element, element: etree._Element, context: Context, defs: Definitions
) -> etree._Element | None:
    """A clip path of one path; a mask of what the clip shows where one path cannot say that."""
    matrix = defs.matrix_of(holder, holder.get, "transform", context) or Matrix()
    by_box, in_text = holder.get("clipPathUnits") == "objectBoundingBox", _has_text(element)
    style = defs.style_of(holder)
    context = context._replace(style={**style, **_CLIPPING})
    if by_box:
        box = None if in_text else box_of(element)
        if box is None and not in_text:
            return None
        matrix = (box_matrix(box) if box else Matrix()) @ matrix
        context = context._replace(width=1.0, height=1.0)
    content = copy.deepcopy(holder)
    for inner in content.iter(etree.Element):
        strip(inner, *_WITHOUT_EFFECT)
    context = context._replace(within=context.within | {str(holder.get("id"))})
    defs.simplify_children(content, context)
    parts = list(_parts(content, matrix, style["clip-rule"], style["visibility"]))
    if not parts:
        return None
    plain = [part for part in parts if part is not None]
    holes = any(part.rule == "evenodd" and part.data.operators.count("M") > 1 for part in plain)
    if len(plain) == len(parts) and not (by_box and in_text) and (len(plain) == 1 or not holes):
        return (
            _clip_path(plain[0].data, plain[0].rule)
            if len(plain) == 1
            else _clip_path(_united(plain), "nonzero")
        )
    group = etree.Element(SVG + "g", {"fill": "white", "fill-rule": style["clip-rule"]})
    put_transform(group, matrix)
    group.extend(list(content))
    _without_effects(group)
    result = etree.Element(SVG + "mask", {"mask-type": "alpha"})
    if by_box and in_text:
        result.set("maskContentUnits", "objectBoundingBox")
    result.append(group)
    return result


_CLIPPING = {
    "fill": "#ffffff", "stroke": "none", "fill-opacity": "1", "marker-start": "none",
    "marker-mid": "none", "marker-end": "none", "paint-order": "normal",
}  # fmt: skip
_WITHOUT_EFFECT = (
    *_CLIPPING, "opacity", "mask", "filter", "mix-blend-mode", "stroke-opacity", "marker",
    "text-decoration", "text-decoration-line",
)  # fmt: skip
"""What does nothing on what is in a clip path: it cuts by its geometry (CSS Masking 1, 5)."""


def _without_effects(group: etree._Element) -> None:
    """Gives all that is in a clip, and what it uses of elsewhere, one colour and its own rule."""
    for inner in group.iterdescendants(etree.Element):
        strip(inner, *(_WITHOUT_EFFECT[len(_CLIPPING) :]), "fill", "stroke", "fill-opacity")
        strip(inner, "fill-rule")
        if "clip-rule" in inner.attrib:
            inner.set("fill-rule", str(inner.get("clip-rule")))


def _parts(
    content: etree._Element, matrix: Matrix, rule: str, visibility: str
) -> Iterator[_Part | None]:
    """The shapes of a clip in its user space; None for each part that is not just a shape."""
    for child in content:
        tag = str(child.tag).removeprefix(SVG)
        if child.get("display") == "none":
            continue
        own = matrix @ parse_transform(child.get("transform"))
        own_rule = child.get("clip-rule", rule)
        shown = child.get("visibility", visibility)
        if tag == "text" or "clip-path" in child.attrib or "mask" in child.attrib:
            yield None
        elif tag == "g":
            yield from _parts(child, own, own_rule, shown)
        elif tag in SHAPES and shown == "visible":
            data = outline(child)
            if data.coordinates:
                yield _Part(data.moved(own.point), own_rule)


def _united(parts: list[_Part]) -> PathData:
    """All parts as one path that is filled wherever one of them is, by the nonzero rule."""
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


def _has_text(element: etree._Element) -> bool:
    """Whether there is text in an element, or it is part of one."""
    held = next(element.iter(SVG + "text"), None) is not None
    return held or any(step.tag == SVG + "text" for step in lineage(element))


def mask(element: etree._Element, context: Context, defs: Definitions) -> bool:
    """Makes an element's ``mask`` plain; tells whether anything of the element can show.

    Groups may come around it. Where a text's box counts, which is known only when the text is
    set, the plain mask keeps the units of a box. Raises UserError for masks that are refused.
    """
    name = target(element.get("mask"))
    strip(element, "mask")
    holder = defs.find(name)
    shown, seen = element, context.within
    while holder is not None and holder.tag == SVG + "mask":
        if name is None or name in seen:
            raise error(element, ENDLESS, defs.name)
        seen |= {name}
        plain = _one_mask(holder, element, context._replace(within=seen), defs)
        if plain is None:
            return False
        shown = _put(shown, plain, defs)
        name = target(holder.get("mask"))
        holder = defs.find(name)
    return True


_EVERYWHERE = ("-10%", "-10%", "120%", "120%")


def _one_mask(
    holder: etree._Element, element: etree._Element, context: Context, defs: Definitions
) -> etree._Element | None:
    by_box = holder.get("maskUnits") != "userSpaceOnUse"
    content_by_box = holder.get("maskContentUnits") == "objectBoundingBox"
    result = etree.Element(SVG + "mask")
    box: Rect | None = None
    if by_box or content_by_box:
        if _has_text(element):
            box = Rect(0, 0, 1, 1)
            if by_box:
                result.set("maskUnits", "objectBoundingBox")
            if content_by_box:
                result.set("maskContentUnits", "objectBoundingBox")
        else:
            box = box_of(element)
            if box is None:
                return None
    room = viewport(holder.get, context, _EVERYWHERE, box if by_box else None)
    if room.width <= 0 or room.height <= 0:
        return None
    inner = context._replace(style=defs.style_of(holder))
    if content_by_box:
        inner = inner._replace(width=1.0, height=1.0)
    group = defs.content(holder, inner)
    if content_by_box and box is not None:
        put_transform(group, box_matrix(box))
    for side, value in zip(SIDES, room, strict=True):
        result.set(side, f"{value:.9g}")
    if holder.get("mask-type") == "alpha":
        result.set("mask-type", "alpha")
    if (inherited(holder, "color-interpolation") or "").lower() == "linearrgb":
        result.set("color-interpolation", "linearRGB")
    result.append(group)
    return result


_BOXES = frozenset(
    ("fill-box", "stroke-box", "view-box", "border-box", "margin-box", "content-box", "padding-box")
)


def _basic_shape(
    value: str, element: etree._Element, context: Context, defs: Definitions
) -> _Part | None:
    """The path of a clip that CSS says as a shape and a box (CSS Masking 1, 5.1); None for none.

    The boxes are those that elements of SVG have (CSS Masking 1, 2, "geometry-box").
    """
    tokens = [each for each in parse_component_value_list(value) if each.type != "whitespace"]
    words = [each.lower_value for each in tokens if each.type == "ident"]
    calls = [each for each in tokens if each.type == "function"]
    if len(calls) > 1 or len(tokens) != len(words) + len(calls) or set(words) - _BOXES:
        return None
    kind = words[0] if words else "border-box"
    if kind == "view-box":
        box: Rect | None = Rect(0, 0, context.width, context.height)
    elif _has_text(element):
        raise error(element, BOX_OF_TEXT, defs.name)
    else:
        box = box_of(element)
    if box is None:
        return _Part(PathData("", ()), "nonzero")
    if kind in ("stroke-box", "border-box", "margin-box"):
        stroked = context.style["stroke"] != "none"
        width = element.get("stroke-width", context.style["stroke-width"])
        box = box.grown(length(width, default=1.0) / 2) if stroked else box
    if not calls:
        return _Part(_rectangle(box), "nonzero")
    try:
        return read_shape(calls[0].lower_name, calls[0].arguments, box, context.em)
    except (ValueError, IndexError, KeyError):  # too few values: as if nothing were said
        return None


def _rectangle(box: Rect) -> PathData:
    x, y, right, bottom = box.x, box.y, box.right, box.bottom
    return PathData("MLLLZ", (x, y, right, y, right, bottom, x, bottom))


_SHARES = {"left": 0.0, "top": 0.0, "center": 0.5, "right": 1.0, "bottom": 1.0}


def read_shape(name: str, arguments: list[Any], box: Rect, em: float) -> _Part | None:
    """The path of a basic shape in a box (CSS Shapes 1, 3); None for one that is invalid."""
    words = serialize(arguments).replace("/**/", "").strip()
    if name in ("path", "polygon"):
        rule = "nonzero"
        for each in ("nonzero", "evenodd"):
            if words.startswith(each):
                rule, words = each, words.removeprefix(each).lstrip(" ,")
        if name == "path":
            data = path_data(words.strip("'\" "))
            return _Part(data.moved(lambda x, y: (x + box.x, y + box.y)), rule)
        flat: list[float] = []
        for pair in words.split(","):
            x, y = pair.split()
            flat += (box.x + length(x, em, box.width), box.y + length(y, em, box.height))
        return _Part(PathData("M" + "L" * (len(flat) // 2 - 1) + "Z", tuple(flat)), rule)
    if name in ("circle", "ellipse"):
        return _Part(_round(name, words, box, em), "nonzero")
    return _Part(_inset(name, words, box, em), "nonzero") if name in _INSETS else None


def _round(name: str, words: str, box: Rect, em: float) -> PathData:
    sizes, _, place = words.partition("at ")
    cx, cy = _position(place.split() or ["center"], box, em)
    left, right, top, bottom = cx - box.x, box.right - cx, cy - box.y, box.bottom - cy
    near = {"x": (left, right), "y": (top, bottom), "": (left, right, top, bottom)}
    mean = ((box.width**2 + box.height**2) / 2) ** 0.5

    def radius(word: str, axis: str, whole: float) -> float:
        if word in ("closest-side", "farthest-side"):
            sides = [abs(side) for side in near[axis]]
            return min(sides) if word == "closest-side" else max(sides)
        return length(word, em, whole)

    said = sizes.split() or ["closest-side"]
    if name == "circle":
        rx = ry = radius(said[0], "", mean)
    else:
        rx, ry = radius(said[0], "x", box.width), radius(said[-1], "y", box.height)
    sides = zip(("cx", "cy", "rx", "ry"), (cx, cy, rx, ry), strict=True)
    return outline(etree.Element(SVG + "ellipse", {name: str(value) for name, value in sides}))


def _position(words: list[str], box: Rect, em: float) -> tuple[float, float]:
    """A place in a box by CSS Values 4, 8.3: up to two words, or a side with how far from it."""
    x: float | None = None
    y: float | None = None
    if len(words) == 4:
        for side, away in (words[:2], words[2:]):
            far = side in ("right", "bottom")
            if side in ("left", "right"):
                by = length(away, em, box.width)
                x = box.right - by if far else box.x + by
            else:
                by = length(away, em, box.height)
                y = box.bottom - by if far else box.y + by
        return (box.x if x is None else x), (box.y if y is None else y)
    if words[0] in ("top", "bottom"):
        words = [*words[1:], "center"][:1] + words[:1]
    elif words[-1] in ("left", "right"):
        words = [words[-1], *words[:-1]]
    along, down = (*words, "center")[:2]
    x = _SHARES[along] * box.width if along in _SHARES else length(along, em, box.width)
    y = _SHARES[down] * box.height if down in _SHARES else length(down, em, box.height)
    return box.x + x, box.y + y


_INSETS = ("inset", "rect", "xywh")


def _inset(name: str, words: str, box: Rect, em: float) -> PathData:
    sides, _, radii = words.partition("round ")
    said = sides.split()
    if name == "inset":
        top, right, bottom, left = _four(said)
        x, y = length(left, em, box.width), length(top, em, box.height)
        wide = box.width - x - length(right, em, box.width)
        high = box.height - y - length(bottom, em, box.height)
    elif name == "xywh":
        x, wide = (length(each, em, box.width) for each in said[::2])
        y, high = (length(each, em, box.height) for each in said[1::2])
    else:
        top, right, bottom, left = said
        x, y = length(left, em, box.width), length(top, em, box.height)
        wide = (box.width if right == "auto" else length(right, em, box.width)) - x
        high = (box.height if bottom == "auto" else length(bottom, em, box.height)) - y
    if wide <= 0 or high <= 0:
        return PathData("", ())
    room = Rect(box.x + x, box.y + y, wide, high)
    return _rounded(room, radii, box, em) if radii else _rectangle(room)


def _four(said: Sequence[str]) -> tuple[str, str, str, str]:
    """One to four values as CSS spreads them: top, right, bottom, left.

    >>> _four(["1", "2"]), _four(["1", "2", "3"])
    (('1', '2', '1', '2'), ('1', '2', '3', '2'))
    """
    top = said[0]
    right = said[1] if len(said) > 1 else top
    return top, right, said[2] if len(said) > 2 else top, said[3] if len(said) > 3 else right


def _rounded(room: Rect, radii: str, box: Rect, em: float) -> PathData:
    """A rectangle with a radius for each corner, from the top left (CSS Backgrounds 3, 5)."""
    across, _, down = radii.partition("/")
    rx = [length(each, em, box.width) for each in _four(across.split())]
    ry = [length(each, em, box.height) for each in _four((down or across).split())]
    tight = min(
        [1.0]
        + [room.width / (rx[a] + rx[b]) for a, b in ((0, 1), (3, 2)) if rx[a] + rx[b]]
        + [room.height / (ry[a] + ry[b]) for a, b in ((0, 3), (1, 2)) if ry[a] + ry[b]]
    )
    rx, ry = [each * tight for each in rx], [each * tight for each in ry]
    x, y, right, bottom = room.x, room.y, room.right, room.bottom
    return path_data(
        f"M{x + rx[0]} {y}H{right - rx[1]}A{rx[1]} {ry[1]} 0 0 1 {right} {y + ry[1]}"
        f"V{bottom - ry[2]}A{rx[2]} {ry[2]} 0 0 1 {right - rx[2]} {bottom}"
        f"H{x + rx[3]}A{rx[3]} {ry[3]} 0 0 1 {x} {bottom - ry[3]}"
        f"V{y + ry[0]}A{rx[0]} {ry[0]} 0 0 1 {x + rx[0]} {y}z"
    )


def filtered(element: etree._Element, context: Context, defs: Definitions) -> bool:
    """Makes an element's ``filter`` plain: references to filters with numbers in user units.

    Filters that are functions become filters of their own, with how far they reach; they have no
    region. Where a box counts, filters keep its shares. Tells whether anything of the element can
    show. Raises UserError for what is refused of a filter.
    """
    value = str(element.get("filter"))
    strip(element, "filter")
    found: list[etree._Element] = []
    for each in parse_component_value_list(value):
        if each.type in ("whitespace", "comment") or (each.type == "ident" and value == "none"):
            continue
        link = target(serialize([each]))
        holder = defs.find(link)
        if link is not None:
            if holder is None or holder.tag != SVG + "filter":
                return True  # the whole chain counts for nothing (Filter Effects 1, 5)
            plain = _one_filter(holder, context, defs)
        else:
            plain = _function(each, element, context, defs)
        if plain is None:
            return link is None  # an invalid function is no filter at all; an empty one hides
        if not (found and _blurred_at_once(found[-1], plain)):
            found.append(plain)
    if found:
        element.set("filter", " ".join(f"url(#{defs.add(plain)})" for plain in found))
    return True


def _blurred_at_once(before: etree._Element, after: etree._Element) -> bool:
    """Adds a function's blur to the one before it: of two, the variances add up."""
    parts = []
    for each in (before, after):
        if "reach" not in each.attrib or len(each) != 1 or each[0].tag != SVG + "feGaussianBlur":
            return False
        parts.append(each[0])
    blur = math.hypot(*(length(part.get("stdDeviation")) for part in parts))
    before.set("reach", f"{3 * blur:.9g}")
    parts[0].set("stdDeviation", f"{blur:.9g}")
    return True


def _one_filter(
    holder: etree._Element, context: Context, defs: Definitions
) -> etree._Element | None:
    """A filter with its region and its parts plain; None for one that shows nothing."""
    name = str(holder.get("id"))
    if name in context.within:
        raise error(holder, ENDLESS, defs.name)
    context = context._replace(within=context.within | {name})
    result = etree.Element(SVG + "filter")
    units = "userSpaceOnUse" if holder.get("filterUnits") == "userSpaceOnUse" else None
    region = viewport(holder.get, context, _EVERYWHERE, None if units else Rect(0, 0, 1, 1))
    if region.width <= 0 or region.height <= 0:
        return None
    for side, number in zip(SIDES, region, strict=True):
        result.set(side, f"{number:.9g}")
    if units:
        result.set("filterUnits", units)
    of_box = holder.get("primitiveUnits") == "objectBoundingBox"
    if of_box:
        result.set("primitiveUnits", "objectBoundingBox")
    for part in holder.iterchildren(etree.Element):
        if str(part.tag).startswith(SVG + "fe"):
            result.append(_plain_part(part, of_box, context, defs))
    _spell_out_shadows(result)
    return result if len(result) else None


def _spell_out_shadows(plain: etree._Element) -> None:
    """Puts in place of each shadow what it is short for (Filter Effects 1, 9.13): resvg gives it
    another colour where colours aren't mixed in linear light."""
    for number, part in enumerate(plain.findall(SVG + "feDropShadow")):
        before, source = part.getprevious(), part.get("in")
        if source is None and before is not None:
            source = before.get("result") or f"below-{number}"
            before.set("result", source)
        source = source or "SourceGraphic"
        steps = [*_shadow(dict(part.attrib), source, number), _merged(["", source])]
        light = str(part.get("color-interpolation-filters"))
        made = [_added(plain, step, light) for step in steps]
        for step in made:
            part.addprevious(step)
        for name in ("result", *SIDES):
            if name in part.attrib:
                made[-1].set(name, str(part.get(name)))
        plain.remove(part)


def _shadow(said: Mapping[Any, Any], source: str, number: int) -> list[_Made]:
    """The parts that make a shadow alone of what a ``feDropShadow`` says."""
    moved = f"moved-{number}"
    return [
        ("feGaussianBlur", {"in": source, "stdDeviation": str(said.get("stdDeviation", "2"))}, ()),
        ("feOffset", {**{n: str(said.get(n, "2")) for n in ("dx", "dy")}, "result": moved}, ()),
        ("feFlood", {name: str(said.get(name, _PLAIN[name])) for name in _PLAIN}, ()),
        ("feComposite", {"in2": moved, "operator": "in"}, ()),
    ]


def _merged(sources: Sequence[str]) -> _Made:
    """A part that lays results over each other; an empty name is what came last."""
    return "feMerge", {}, [("feMergeNode", {"in": one} if one else {}) for one in sources]


def _added(plain: etree._Element, made: _Made, light: str = "sRGB") -> etree._Element:
    """Adds a part to a filter."""
    tag, attributes, inside = made
    part = etree.SubElement(plain, SVG + tag, attributes)
    part.set("color-interpolation-filters", light)
    for inner, inner_attributes in inside:
        etree.SubElement(part, SVG + inner, inner_attributes)
    return part


def text_shadow(element: etree._Element, context: Context, defs: Definitions) -> None:
    """Gives a text its shadows as a filter before its other ones (CSS Text Decoration 3, 4).

    The first lies over the others, all below the text. What cannot be read counts for nothing.
    """
    value = (inherited(element, "text-shadow") or "none").strip()
    parsed = parse_component_value_list(value)
    shadows: list[list[Any]] = [[]]
    for each in parsed:
        if each.type == "literal" and each.value == ",":
            shadows.append([])
        elif each.type not in ("whitespace", "comment"):
            shadows[-1].append(each)
    if value in ("none", ""):
        return
    made = [_blurred("drop-shadow", said, element, context, defs) for said in shadows]
    result, reach, order = etree.Element(SVG + "filter"), 0.0, ["SourceGraphic"]
    for number, one in enumerate(made):
        if one is None:
            return
        reach, (_, said, _) = max(reach, one[0]), one[1]
        said["stdDeviation"] = f"{length(said['stdDeviation']) / 2:.9g}"
        *steps, (tag, attributes, _) = _shadow(said, "SourceAlpha", number)
        for step in (*steps, (tag, {**attributes, "result": f"shadow-{number}"}, ())):
            _added(result, step)
        order.insert(0, f"shadow-{number}")
    _added(result, _merged(order))
    result.set("reach", f"{reach:.9g}")
    element.set("filter", f"url(#{defs.add(result)}) {element.get('filter', '')}".strip())


_PLAIN = {"flood-color": "#000000", "flood-opacity": "1"}


_FLOODS = ("flood-color", "lighting-color")


def _plain_part(
    part: etree._Element, of_box: bool, context: Context, defs: Definitions
) -> etree._Element:
    """A part of a filter without units, keywords and references."""
    plain = copy.deepcopy(part)
    plain.tail = None
    strip(plain, "id")
    for inner in plain.iter(etree.Element):
        for name, axis in zip(SIDES, ("x", "y", "x", "y"), strict=True):
            if inner is plain and name in inner.attrib:
                whole = 1.0 if of_box else context.whole(axis)
                inner.set(name, f"{length(inner.get(name), context.em, whole):.9g}")
        for name in _FLOODS:
            if name in inner.attrib:
                said = str(inner.get(name))
                if said == "inherit":
                    said = inherited(part, name) or "black"
                if said.lower() == "currentcolor":
                    said = defs.style_of(part)["color"]
                inner.set(name, colour(said, part, defs))
        if "flood-opacity" in inner.attrib:
            inner.set("flood-opacity", f"{share(inner.get('flood-opacity')):.6g}")
    light = inherited(part, "color-interpolation-filters") or "linearRGB"
    light = "sRGB" if light.lower() == "srgb" else "linearRGB"
    plain.set("color-interpolation-filters", light)
    lit = Colour.read(plain.get("lighting-color", ""))
    if lit is not None and light == "linearRGB":  # as numbers, which is how resvg takes them
        numbers = (linear_light(np.array(lit[:3]) / 255) * 255).round().astype(int)
        plain.set("lighting-color", str(Colour(*map(int, numbers))))
    link = href(plain) if plain.tag == SVG + "feImage" else ""
    picture = picture_of(link) if link.startswith("data:") else None
    if picture is not None:  # as pictures on the page are read, whatever resvg makes of them
        strip(plain, *HREFS)
        plain.set("href", link_to(picture))
    shown = defs.find(link.removeprefix("#"))
    if shown is not None:
        strip(plain, *HREFS)
        holder = etree.Element(SVG + "g")
        etree.SubElement(holder, SVG + "use", {"href": f"#{shown.get('id')}"})
        defs.simplify_children(holder, context._replace(style=dict(INITIAL)))
        plain.append(holder)
    return plain


_RGB = ("feFuncR", "feFuncG", "feFuncB")
_Made = tuple[str, dict[str, str], Sequence[tuple[str, dict[str, str]]]]
"""A part of a filter: its name, its attributes, and the same of what is in it."""


def _function(
    call: Any, element: etree._Element, context: Context, defs: Definitions
) -> etree._Element | None:
    """A filter function as a filter (Filter Effects 1, 6); None for one that is invalid."""
    if call.type != "function":
        return None
    said = [each for each in call.arguments if each.type != "whitespace"]
    if call.lower_name in ("blur", "drop-shadow"):
        made = _blurred(call.lower_name, said, element, context, defs)
    else:
        made = _coloured(call.lower_name, said)
    if made is None:
        return None
    reach, part = made
    result = etree.Element(SVG + "filter", {"reach": f"{reach:.9g}"})
    _added(result, part)
    _spell_out_shadows(result)
    return result


def _blurred(
    name: str, said: list[Any], element: etree._Element, context: Context, defs: Definitions
) -> tuple[float, _Made] | None:
    """A blur or a shadow, and how far it reaches (user units)."""
    sizes = [
        length(serialize([each]), context.em, default=math.nan)
        for each in said
        if each.type in ("number", "dimension")
    ]
    wanted = serialize([each for each in said if each.type not in ("number", "dimension")])
    fits = len(sizes) <= 1 if name == "blur" else 2 <= len(sizes) <= 3
    if not fits or not all(math.isfinite(size) for size in sizes):
        return None
    if name == "blur":
        dx, dy, blur = 0.0, 0.0, (*sizes, 0.0)[0]
    else:
        dx, dy, blur = (*sizes, 0.0)[:3]
    if blur < 0:
        return None
    attributes = {"stdDeviation": f"{blur:.9g}"}
    if name == "blur":
        return 3 * blur, ("feGaussianBlur", attributes, ())
    if wanted.lower() in ("", "currentcolor"):
        wanted = context.style["color"]
    attributes |= {"dx": f"{dx:.9g}", "dy": f"{dy:.9g}"}
    attributes["flood-color"] = colour(wanted, element, defs)
    return 3 * blur + max(abs(dx), abs(dy)), ("feDropShadow", attributes, ())


def _coloured(name: str, said: list[Any]) -> tuple[float, _Made] | None:
    """A change of colours by Filter Effects 1, 12."""
    if len(said) > 1:
        return None
    if name == "hue-rotate":
        turn = angle(serialize(said)) if said else 0.0
        if turn is None:
            return None
        return 0.0, ("feColorMatrix", {"type": "hueRotate", "values": f"{turn:.6g}"}, ())
    amount = 1.0
    if said:
        if said[0].type not in ("number", "percentage"):
            return None
        amount = said[0].value / (100 if said[0].type == "percentage" else 1)
    if amount < 0:
        return None
    if name in ("grayscale", "sepia", "invert", "opacity"):
        amount = min(amount, 1.0)
    if name == "saturate":
        return 0.0, ("feColorMatrix", {"type": "saturate", "values": f"{amount:.6g}"}, ())
    if name in _TOWARDS:
        values = [
            f"{amount * full + (1 - amount) * (row == column):.6g}"
            for row, line in enumerate(_TOWARDS[name])
            for column, full in enumerate((*line, 0.0, 0.0))
        ]
        matrix = {"type": "matrix", "values": " ".join([*values, "0 0 0 1 0"])}
        return 0.0, ("feColorMatrix", matrix, ())
    if name not in _TRANSFERS:
        return None
    channels, function = _TRANSFERS[name]
    inside = [(channel, function(amount)) for channel in channels]
    return 0.0, ("feComponentTransfer", {}, inside)


_GREY = (0.2126, 0.7152, 0.0722)
_TOWARDS = {
    "grayscale": (_GREY, _GREY, _GREY),
    "sepia": ((0.393, 0.769, 0.189), (0.349, 0.686, 0.168), (0.272, 0.534, 0.131)),
}
"""What colours become by functions that go from them to that."""

_TRANSFERS: Mapping[str, tuple[Sequence[str], Callable[[float], dict[str, str]]]] = {
    "invert": (_RGB, lambda by: {"type": "table", "tableValues": f"{by:.6g} {1 - by:.6g}"}),
    "opacity": (("feFuncA",), lambda by: {"type": "table", "tableValues": f"0 {by:.6g}"}),
    "brightness": (_RGB, lambda by: {"type": "linear", "slope": f"{by:.6g}"}),
    "contrast": (
        _RGB,
        lambda by: {"type": "linear", "slope": f"{by:.6g}", "intercept": f"{0.5 - by / 2:.6g}"},
    ),
}
"""Functions that change channels one by one: which, and how."""
