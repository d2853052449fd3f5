"""Paint made plain: colours, and gradients and patterns in the units of the shape they fill."""

from __future__ import annotations

import copy
import functools
import re
from collections.abc import Callable, Mapping, Sequence
from typing import NamedTuple

import numpy as np
import numpy.typing as npt
from lxml import etree
from tinycss2.color4 import parse_color

from pipeline.base.geometry import Rect
from pipeline.svg.path import box_of
from pipeline.svg.refusals import BOX_OF_TEXT, ENDLESS, NO_COLOUR, error
from pipeline.svg.transform import Aspect, Matrix, fitted, parse_transform, view_box
from pipeline.svg.tree import SVG, fallback, href, lineage, strip, target
from pipeline.text.style import length

_ICC = re.compile(r"\s*icc-color\([^)]*\)\s*$")


class Colour(NamedTuple):
    """A colour in sRGB: red, green and blue from 0 to 255, opacity from 0 to 1.

    >>> str(Colour(18, 52, 86)), str(Colour(0, 0, 0, 0.5))
    ('#123456', 'rgba(0,0,0,0.5)')
    """

    red: int
    green: int
    blue: int
    alpha: float = 1.0

    @staticmethod
    @functools.lru_cache(maxsize=4096)
    def read(value: str) -> Colour | None:
        """The colour that CSS writes so, in any of its ways (CSS Color 4); None if invalid.

        >>> Colour.read("hsl(120 100% 25%)"), Colour.read("#00000080"), Colour.read("blurple")
        (Colour(red=0, green=128, blue=0, alpha=1.0), Colour(red=0, green=0, blue=0, alpha=0.502), \
None)
        """
        try:
            found = parse_color(_ICC.sub("", value.strip()))
            if found is None or found == "currentcolor":
                return None
            red, green, blue = (
                round(255 * min(max(part or 0.0, 0.0), 1.0))
                for part in found.to("srgb").coordinates
            )
        except NotImplementedError:
            return None
        return Colour(red, green, blue, float(f"{min(max(found.alpha, 0.0), 1.0):.3g}"))

    @property
    def luminance(self) -> float:
        """How light it is, from 0 (black) to 1 (white), by SVG 1.1, 14.4."""
        red, green, blue = (part / 255 for part in self[:3])
        return 0.2125 * red + 0.7154 * green + 0.0721 * blue

    def __str__(self) -> str:
        if self.alpha < 1:
            return f"rgba({self.red},{self.green},{self.blue},{self.alpha:.3g})"
        return f"#{self.red:02x}{self.green:02x}{self.blue:02x}"


def linear_light(parts: npt.NDArray[np.float64]) -> npt.NDArray[np.float64]:
    """Parts of colours in sRGB as amounts of light, from 0 to 1 (IEC 61966-2-1)."""
    return np.where(parts <= 0.04045, parts / 12.92, ((parts + 0.055) / 1.055) ** 2.4)


def share(value: str | None, default: float = 1.0) -> float:
    """An opacity or a stop's offset, also in per cent, between 0 and 1.

    >>> share("50%"), share("2"), share(None)
    (0.5, 1.0, 1.0)
    """
    text = (value or "").strip()
    try:
        number = float(text.removesuffix("%")) / (100 if text.endswith("%") else 1)
    except ValueError:
        return default
    return min(max(number, 0.0), 1.0)


INITIAL: Mapping[str, str] = {
    "fill": "#000000", "fill-opacity": "1", "fill-rule": "nonzero",
    "stroke": "none", "stroke-opacity": "1", "stroke-width": "1", "stroke-linecap": "butt",
    "stroke-linejoin": "miter", "stroke-miterlimit": "4", "stroke-dasharray": "none",
    "stroke-dashoffset": "0", "color": "#000000", "visibility": "visible",
    "clip-rule": "nonzero", "marker-start": "none", "marker-mid": "none", "marker-end": "none",
    "paint-order": "normal",
}  # fmt: skip
"""Inherited properties that shapes ask for, and what they are where nothing is said."""


class Context(NamedTuple):
    """Where an element stands: its viewport's size and font size (user units), the properties it
    inherits, the ids of the elements it is a copy of, and how heavy its type is."""

    width: float
    height: float
    em: float
    style: Mapping[str, str]
    within: frozenset[str] = frozenset()
    weight: float = 400.0

    def whole(self, axis: str) -> float:
        """What 100 % is across ("x"), down ("y") and for all else (SVG 1.1, 7.10)."""
        if axis == "x":
            return self.width
        if axis == "y":
            return self.height
        return float(((self.width**2 + self.height**2) / 2) ** 0.5)


SIDES = ("x", "y", "width", "height")

OUTERMOST = ("opacity", "mix-blend-mode", "isolation")
WHOLE = (*OUTERMOST, "clip-path", "mask", "filter")
"""What holds for an element as a whole once it is drawn, and what of it comes after all else."""


def viewport(
    get: Callable[[str, str], str],
    context: Context,
    defaults: Sequence[str] = ("0", "0", "0", "0"),
    box: Rect | None = None,
) -> Rect:
    """The rectangle that four attributes give, in shares of a ``box`` if there is one."""
    x, y, width, height = (
        length(get(side, default), context.em, 1.0 if box else context.whole(axis))
        for side, default, axis in zip(SIDES, defaults, "xyxy", strict=True)
    )
    room = Rect(x, y, width, height)
    return box_matrix(box).bounds(room) if box else room


def declared(element: etree._Element) -> dict[str, str]:
    """The inherited properties that an element itself sets."""
    return {str(name): str(value) for name, value in element.attrib.items() if name in INITIAL}


class Definitions:
    """The template as it was, by id, and the definitions made for its plain form."""

    simplify_children: Callable[[etree._Element, Context], None]
    """Simplifies all that is in an element; set by the walk that these definitions serve."""

    def __init__(self, root: etree._Element, name: str) -> None:
        self.name = name
        self._pristine = copy.deepcopy(root)
        self._by_id: dict[str, etree._Element] = {}
        for element in self._pristine.iter(etree.Element):
            if "id" in element.attrib:
                self._by_id.setdefault(str(element.get("id")), element)
        self.tree = etree.Element(SVG + "defs")
        self._made: dict[bytes, str] = {}

    def find(self, name: str | None) -> etree._Element | None:
        """The element of an id as the file had it; it must be copied before it is changed."""
        return self._by_id.get(name) if name else None

    def add(self, element: etree._Element) -> str:
        """Puts a definition into the template, once; gives its id."""
        key = bytes(etree.tostring(element))
        if key not in self._made:
            self._made[key] = f"plain-{len(self._made) + 1}"
            element.set("id", self._made[key])
            self.tree.append(element)
        return self._made[key]

    def content(self, holder: etree._Element, context: Context) -> etree._Element:
        """All that is in a pattern, mask or marker as a plain group that inherits nothing more."""
        twin = copy.deepcopy(holder)
        self.simplify_children(twin, context)
        group = styled_group(context.style)
        group.extend(list(twin))
        return group

    def style_of(self, element: etree._Element) -> dict[str, str]:
        """What an element of the file as it was inherits and sets, initial values included."""
        style = dict(INITIAL)
        for step in reversed(list(lineage(element))):
            style.update(declared(step))
        return style


def wrap(element: etree._Element, *moved: str) -> etree._Element:
    """Puts a new group around an element; ``moved`` attributes go over to the group."""
    group = etree.Element(SVG + "g")
    for name in moved:
        if name in element.attrib:
            group.set(name, str(element.get(name)))
    strip(element, *moved)
    parent = element.getparent()
    if parent is not None:
        parent.replace(element, group)
    group.tail, element.tail = element.tail, None
    group.append(element)
    return group


def box_matrix(box: Rect) -> Matrix:
    """From shares of a box to the coordinates it is given in."""
    return Matrix(box.width, 0.0, 0.0, box.height, box.x, box.y)


def put_transform(element: etree._Element, matrix: Matrix) -> None:
    """Appends a matrix to an element's own transform (it comes to act first)."""
    result = parse_transform(element.get("transform")) @ matrix
    if result == Matrix():
        strip(element, "transform")
    else:
        element.set("transform", written_matrix(result))


def written_matrix(matrix: Matrix) -> str:
    """A matrix as a ``transform``, exact enough for what is scaled from inches to millimetres."""
    return "matrix(" + " ".join(f"{value:.12g}" for value in matrix) + ")"


_AXES = {
    "x1": "x", "x2": "x", "cx": "x", "fx": "x", "y1": "y", "y2": "y", "cy": "y", "fy": "y", "r": "",
}  # fmt: skip
_DEFAULTS = {
    "linearGradient": {"x1": "0%", "y1": "0%", "x2": "100%", "y2": "0%"},
    "radialGradient": {"cx": "50%", "cy": "50%", "r": "50%"},
}
_ROOM = 1 / 31
"""How far a gradient goes on past stops that share its end, as a share of its length."""
_TEXTS = (SVG + "text", SVG + "tspan", SVG + "textPath")
_KEYWORDS = ("none", "inherit", "currentColor", "context-fill", "context-stroke")


def colour(value: str, element: etree._Element, defs: Definitions) -> str:
    """A colour in its plain form; keywords and references stay as they are.

    Raises UserError for an invalid colour.
    """
    value = value.strip()
    if value.lower() == "currentcolor":
        return "currentColor"
    if value in _KEYWORDS or value.startswith("url("):
        return value
    found = Colour.read(value)
    if found is None:
        raise error(element, NO_COLOUR._replace(what=f"{value!r} isn't a colour"), defs.name)
    return str(found) if found.alpha else "none"


def paint(value: str, element: etree._Element, context: Context, defs: Definitions) -> str:
    """A fill or stroke of ``element`` in its plain form: a colour, "none" or a plain reference."""
    value = colour(value, element, defs)
    if value == "currentColor":
        return colour(context.style.get("color", "black"), element, defs)
    name = target(value)
    if name is None:
        return "none" if value.startswith(("url(", "context-")) else value
    server = defs.find(name)
    kind = str(server.tag).removeprefix(SVG) if server is not None else ""
    other = paint(fallback(value), element, context, defs)
    if server is None:
        return other
    if kind in _DEFAULTS:
        return _gradient(server, kind, element, context, defs) or other
    if kind == "pattern":
        return _pattern(server, element, context, defs) or other
    return other


def _chain(
    server: etree._Element, defs: Definitions
) -> tuple[list[etree._Element], dict[str, str]]:
    """A gradient or pattern and those it takes attributes from, in turn; the attributes."""
    found = [server]
    while True:
        link = href(found[-1])
        following = defs.find(link[1:]) if link.startswith("#") else None
        if following is None:
            break
        if following in found:
            raise error(server, ENDLESS, defs.name)
        found.append(following)
    said: dict[str, str] = {}
    for one in reversed(found):
        said.update({str(name): str(value) for name, value in one.attrib.items()})
    return found, said


def _gradient(
    server: etree._Element, kind: str, element: etree._Element, context: Context, defs: Definitions
) -> str | None:
    chain, said = _chain(server, defs)
    stops = _stops(chain, defs)
    if not stops:
        return "none"
    if len(stops) == 1:
        return _flat(stops[0])
    in_text = element.tag in _TEXTS
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
    return f"url(#{defs.add(result)})"


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


def _stops(chain: list[etree._Element], defs: Definitions) -> list[etree._Element]:
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
            wanted = defs.style_of(stop)["color"]
        plain = etree.Element(SVG + "stop")
        plain.set("offset", f"{reached:.6g}")
        plain.set("stop-color", str(Colour.read(wanted) or colour(wanted, stop, defs)))
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
    found = Colour.read(str(stop.get("stop-color")))
    assert found is not None  # a plain stop has a colour
    return str(found._replace(alpha=found.alpha * share(stop.get("stop-opacity"))))


def _pattern(
    server: etree._Element,
    element: etree._Element,
    context: Context,
    defs: Definitions,
) -> str | None:
    name = str(server.get("id"))
    if name in context.within:
        raise error(element, ENDLESS, defs.name)
    chain, said = _chain(server, defs)
    by_box = said.get("patternUnits") != "userSpaceOnUse"
    content_by_box = said.get("patternContentUnits") == "objectBoundingBox"
    box: Rect | None = None
    if by_box or content_by_box:
        if element.tag in _TEXTS:
            raise error(element, BOX_OF_TEXT, defs.name)
        box = box_of(element)
        if box is None or not box.width or not box.height:
            return None
    room = viewport(said.get, context, box=box if by_box else None)
    holder = next((each for each in chain if len(each)), None)
    if room.width <= 0 or room.height <= 0 or holder is None:
        return "none"
    inner = context._replace(style=defs.style_of(holder), within=context.within | {name})
    view = view_box(said.get("viewBox"))
    if view is not None:
        inner = inner._replace(width=view.width, height=view.height)
    group = defs.content(holder, inner)
    if view is not None:
        whole = Rect(0, 0, room.width, room.height)
        put_transform(group, fitted(view, whole, Aspect.of(said.get("preserveAspectRatio"))))
    elif content_by_box and box is not None:
        put_transform(group, Matrix(box.width, 0, 0, box.height, 0, 0))
    result = etree.Element(SVG + "pattern", {"patternUnits": "userSpaceOnUse"})
    for side, value in zip(SIDES, room, strict=True):
        result.set(side, f"{value:.9g}")
    if said.get("patternTransform"):
        result.set("patternTransform", written_matrix(parse_transform(said["patternTransform"])))
    result.append(group)
    return f"url(#{defs.add(result)})"


def styled_group(style: Mapping[str, str]) -> etree._Element:
    """A group that sets all it would otherwise inherit from where it comes to stand."""
    group = etree.Element(SVG + "g")
    for name, value in style.items():
        plain = name not in ("paint-order", "marker-start", "marker-mid", "marker-end")
        if plain and not value.startswith(("url(", "context-")) and value != "currentColor":
            group.set(name, value)
        elif name in ("fill", "stroke"):
            group.set(name, INITIAL[name])
    return group
