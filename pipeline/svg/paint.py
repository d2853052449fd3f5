"""Paint made plain: colours, and gradients and patterns in the units of the shape they fill."""

from __future__ import annotations

import copy
from collections.abc import Callable

from lxml import etree

from pipeline.base.geometry import Rect
from pipeline.svg.colour import plain_colour, share
from pipeline.svg.definitions import (
    INITIAL,
    Context,
    Workshop,
    box_matrix,
    put_transform,
    written_matrix,
)
from pipeline.svg.references import fallback, href, target
from pipeline.svg.refusals import BOX_OF_TEXT, ENDLESS, NO_COLOUR, error
from pipeline.svg.shapes import box_of
from pipeline.svg.styles import SVG
from pipeline.svg.transform import Matrix, parse_transform
from pipeline.svg.viewport import Aspect, fitted, view_box
from pipeline.text.style import length

_AXES = {
    "x1": "x", "x2": "x", "cx": "x", "fx": "x", "y1": "y", "y2": "y", "cy": "y", "fy": "y", "r": "",
}  # fmt: skip
_DEFAULTS = {
    "linearGradient": {"x1": "0%", "y1": "0%", "x2": "100%", "y2": "0%"},
    "radialGradient": {"cx": "50%", "cy": "50%", "r": "50%"},
}
_ROOM = 1 / 31
"""How far a gradient goes on past stops that share its end, as a share of its length."""
_KEYWORDS = ("none", "inherit", "currentColor", "context-fill", "context-stroke")

PlainChildren = Callable[[etree._Element, Context], None]


def colour(value: str, element: etree._Element, shop: Workshop) -> str:
    """A colour in its plain form; keywords and references stay as they are.

    Raises UserError for what is no colour.
    """
    value = value.strip()
    if value.lower() == "currentcolor":
        return "currentColor"
    if value in _KEYWORDS or value.startswith("url("):
        return value
    plain = plain_colour(value)
    if plain is None:
        raise error(element, NO_COLOUR._replace(what=f"{value!r} is no colour"), shop.name)
    return "none" if plain.endswith(",0)") else plain


def paint(
    value: str,
    element: etree._Element,
    context: Context,
    shop: Workshop,
    plain_children: PlainChildren,
) -> str:
    """A fill or stroke of ``element`` in its plain form: a colour, "none" or a plain reference."""
    value = colour(value, element, shop)
    if value == "currentColor":
        return colour(context.style.get("color", "black"), element, shop)
    name = target(value)
    if name is None:
        return "none" if value.startswith(("url(", "context-")) else value
    server = shop.find(name)
    kind = str(server.tag).removeprefix(SVG) if server is not None else ""
    other = paint(fallback(value), element, context, shop, plain_children)
    if server is None:
        return other
    if kind in _DEFAULTS:
        return _gradient(server, kind, element, context, shop) or other
    if kind == "pattern":
        return _pattern(server, element, context, shop, plain_children) or other
    return other


def _chain(server: etree._Element, shop: Workshop) -> list[etree._Element]:
    """A gradient or pattern and those it takes its attributes from, in turn."""
    found = [server]
    while True:
        link = href(found[-1])
        following = shop.find(link[1:]) if link.startswith("#") else None
        if following is None:
            return found
        if following in found:
            raise error(server, ENDLESS, shop.name)
        found.append(following)


def _merged(chain: list[etree._Element]) -> dict[str, str]:
    merged: dict[str, str] = {}
    for server in reversed(chain):
        merged.update({str(name): str(value) for name, value in server.attrib.items()})
    return merged


def _gradient(
    server: etree._Element, kind: str, element: etree._Element, context: Context, shop: Workshop
) -> str | None:
    chain = _chain(server, shop)
    said = _merged(chain)
    stops = _stops(chain, shop)
    if not stops:
        return "none"
    if len(stops) == 1:
        return _flat(stops[0])
    in_text = element.tag in (SVG + "text", SVG + "tspan", SVG + "textPath")
    by_box = said.get("gradientUnits") != "userSpaceOnUse"
    box = None if in_text else box_of(element)
    if by_box and not in_text and (box is None or not box.width or not box.height):
        return None
    numbers = {}
    for name, axis in _AXES.items():
        value = said.get(name, _DEFAULTS[kind].get(name))
        if value is not None and (name in _DEFAULTS[kind] or name in ("fx", "fy")):
            whole = 1.0 if by_box else context.whole(axis)
            numbers[name] = length(value, em=context.em, whole=whole)
    if kind == "linearGradient":
        names: tuple[str, ...] = ("x1", "y1", "x2", "y2")
        if (numbers["x1"], numbers["y1"]) == (numbers["x2"], numbers["y2"]):
            return _flat(stops[-1])  # SVG 1.1, 13.2.2
    else:
        names = ("cx", "cy", "r", "fx", "fy")
        if numbers["r"] <= 0:
            return _flat(stops[-1])  # SVG 1.1, 13.2.3
        _bring_focus_inside(numbers)
    spread = said.get("spreadMethod", "pad")
    if spread == "pad":
        stops = _ends_apart(kind, numbers, stops)
    matrix = parse_transform(said.get("gradientTransform"))
    if by_box and box is not None:
        matrix = box_matrix(box) @ matrix
    result = etree.Element(SVG + kind)
    result.set("gradientUnits", "objectBoundingBox" if by_box and in_text else "userSpaceOnUse")
    for name in names:
        result.set(name, f"{numbers[name]:.9g}")
    if matrix != Matrix():
        result.set("gradientTransform", written_matrix(matrix))
    if spread != "pad":
        result.set("spreadMethod", spread)
    result.extend(stops)
    return f"url(#{shop.add(result)})"


def _bring_focus_inside(numbers: dict[str, float]) -> None:
    """A focus outside the circle counts as lying on it (SVG 1.1, 13.2.3)."""
    cx, cy, r = numbers["cx"], numbers["cy"], numbers["r"]
    dx, dy = numbers.get("fx", cx) - cx, numbers.get("fy", cy) - cy
    far = (dx * dx + dy * dy) ** 0.5
    pull = min(1.0, 0.9999 * r / far) if far else 1.0
    numbers["fx"], numbers["fy"] = cx + dx * pull, cy + dy * pull


def _ends_apart(
    kind: str, numbers: dict[str, float], stops: list[etree._Element]
) -> list[etree._Element]:
    """Makes a gradient longer where two stops share its very end, and moves the stops along.

    The last colour shows beyond the end (SVG 1.1, 13.2.4), but PDF readers take what is beyond
    from just before the end. Changes ``numbers`` and the offsets, and gives all stops.
    """
    offsets = [float(str(stop.get("offset"))) for stop in stops]
    linear = kind == "linearGradient"
    before = _ROOM if linear and offsets[1] == 0 else 0.0
    after = _ROOM if offsets[-2] == 1 else 0.0
    if not before and not after:
        return stops
    axes = (("x1", "x2"), ("y1", "y2")) if linear else (("fx", "cx"), ("fy", "cy"))
    for start, end in axes:
        way = numbers[end] - numbers[start]
        numbers[start] -= before * way
        numbers[end] += after * way
    if not linear:
        numbers["r"] *= 1 + after
    head = [copy.deepcopy(stops[0])] if before else []
    tail = [copy.deepcopy(stops[-1])] if after else []
    for stop, offset in zip(stops, offsets, strict=True):
        stop.set("offset", f"{(offset + before) / (1 + before + after):.6g}")
    return [*head, *stops, *tail]


def _stops(chain: list[etree._Element], shop: Workshop) -> list[etree._Element]:
    holder = next((each for each in chain if each.find(SVG + "stop") is not None), None)
    if holder is None:
        return []
    stops, reached = [], 0.0
    for stop in holder.iterchildren(SVG + "stop"):
        reached = max(reached, share(stop.get("offset"), 0.0))
        wanted = stop.get("stop-color") or "black"
        if wanted == "inherit":
            wanted = holder.get("stop-color") or "black"
        if wanted.lower() == "currentcolor":
            wanted = shop.style_of(stop)["color"]
        plain = etree.Element(SVG + "stop")
        plain.set("offset", f"{reached:.6g}")
        plain.set("stop-color", plain_colour(wanted) or colour(wanted, stop, shop))
        opacity = share(stop.get("stop-opacity"))
        if opacity < 1:
            plain.set("stop-opacity", f"{opacity:.6g}")
        stops.append(plain)
    # Said outright, as PDF gradients whose first stops lie on one spot lose their first colour.
    if len(stops) > 1 and float(str(stops[0].get("offset"))) > 0:
        first = copy.deepcopy(stops[0])
        first.set("offset", "0")
        stops.insert(0, first)
    return stops


def _flat(stop: etree._Element) -> str:
    """A stop's colour as a paint."""
    value, opacity = str(stop.get("stop-color")), share(stop.get("stop-opacity"))
    if opacity == 1:
        return value
    if value.startswith("#"):
        parts = [str(int(value[i : i + 2], 16)) for i in (1, 3, 5)] if len(value) == 7 else [
            str(17 * int(digit, 16)) for digit in value[1:]
        ]  # fmt: skip
        return f"rgba({','.join(parts)},{opacity:.3g})"
    *rgb, alpha = value.removeprefix("rgba(").removesuffix(")").split(",")
    return f"rgba({','.join(rgb)},{float(alpha) * opacity:.3g})"


def _pattern(
    server: etree._Element,
    element: etree._Element,
    context: Context,
    shop: Workshop,
    plain_children: PlainChildren,
) -> str | None:
    name = str(server.get("id"))
    if name in context.within:
        raise error(element, ENDLESS, shop.name)
    chain = _chain(server, shop)
    said = _merged(chain)
    by_box = said.get("patternUnits") != "userSpaceOnUse"
    content_by_box = said.get("patternContentUnits") == "objectBoundingBox"
    box: Rect | None = None
    if by_box or content_by_box:
        if element.tag in (SVG + "text", SVG + "tspan", SVG + "textPath"):
            raise error(element, BOX_OF_TEXT, shop.name)
        box = box_of(element)
        if box is None or not box.width or not box.height:
            return None
    x, y, width, height = (
        length(
            said.get(side),
            em=context.em,
            whole=1.0 if by_box else context.whole("x" if side in ("x", "width") else "y"),
        )
        for side in ("x", "y", "width", "height")
    )
    if by_box and box is not None:
        x, y = box.x + x * box.width, box.y + y * box.height
        width, height = width * box.width, height * box.height
    holder = next((each for each in chain if len(each)), None)
    if width <= 0 or height <= 0 or holder is None:
        return "none"
    content = copy.deepcopy(holder)
    style = shop.style_of(holder)
    view = view_box(said.get("viewBox"))
    inner = context
    if view is not None:
        inner = inner._replace(width=view.width, height=view.height)
    plain_children(content, inner._replace(style=style, within=context.within | {name}))
    group = styled_group(style)
    group.extend(list(content))
    if view is not None:
        room = Rect(0, 0, width, height)
        put_transform(group, fitted(view, room, Aspect.of(said.get("preserveAspectRatio"))))
    elif content_by_box and box is not None:
        put_transform(group, Matrix(box.width, 0, 0, box.height, 0, 0))
    result = etree.Element(SVG + "pattern", {"patternUnits": "userSpaceOnUse"})
    for side, value in (("x", x), ("y", y), ("width", width), ("height", height)):
        result.set(side, f"{value:.9g}")
    if said.get("patternTransform"):
        result.set("patternTransform", written_matrix(parse_transform(said["patternTransform"])))
    result.append(group)
    return f"url(#{shop.add(result)})"


def styled_group(style: dict[str, str]) -> etree._Element:
    """A group that sets all it would otherwise inherit from where it comes to stand."""
    group = etree.Element(SVG + "g")
    for name, value in style.items():
        plain = name not in ("paint-order", "marker-start", "marker-mid", "marker-end")
        if plain and not value.startswith(("url(", "context-")) and value != "currentColor":
            group.set(name, value)
        elif name in ("fill", "stroke"):
            group.set(name, INITIAL[name])
    return group
