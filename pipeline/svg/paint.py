"""Paint made plain: colours, and gradients and patterns in the units of the shape they fill."""

from __future__ import annotations

import copy
import functools
import itertools
import math
import re
from collections.abc import Callable, Mapping, Sequence
from typing import NamedTuple

import numpy as np
import numpy.typing as npt
from lxml import etree
from tinycss2.color4 import Color, parse_color

from pipeline.base.geometry import Rect
from pipeline.svg.path import box_of
from pipeline.svg.refusals import (
    BOX_OF_TEXT,
    ENDLESS,
    MOST_ELEMENTS,
    MOST_LETTERS,
    MOST_NESTED,
    MOST_UNITS,
    NO_COLOUR,
    NO_TRANSFORM,
    TOO_FINE,
    TOO_LARGE,
    TOO_MANY,
    TOO_MANY_LETTERS,
    TOO_NESTED,
    error,
    letters_in,
)
from pipeline.svg.transform import (
    Aspect,
    Matrix,
    Reference,
    css_origin,
    css_transform,
    fitted,
    is_plain,
    parse_transform,
    shows_nothing,
    view_box,
)
from pipeline.svg.tree import SVG, by_id, fallback, href, inherited, lineage, strip, target
from pipeline.text.style import font_size, length

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
                round(255 * min(max(part or 0.0, 0.0), 1.0)) for part in _in_srgb(found)
            )
        except (NotImplementedError, OverflowError, ValueError):
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


def _in_srgb(found: Color) -> Sequence[float | None]:
    """Red, green and blue from 0 to 1, or past that where sRGB does not have the colour.

    Raises NotImplementedError for spaces that no drawing is saved in. Numbers: CSS Color 4, 18.
    """
    space, parts = found.space, [part or 0.0 for part in found.coordinates]
    if space == "hsl":
        shares = (min(max(part, 0.0), 100.0) for part in parts[1:])
        return tuple(Color("hsl", (parts[0] % 360, *shares), 1).to("srgb").coordinates)
    if space in ("srgb", "hwb"):
        return tuple(found.to("srgb").coordinates)
    if space in ("srgb-linear", "display-p3"):
        wide = space == "display-p3"
        xyz = _times(_FROM_P3, linear_light(np.array(parts)).tolist()) if wide else None
        return [from_light(part) for part in (_times(_TO_SRGB, xyz) if xyz else parts)]
    if space in ("lab", "lch", "xyz-d50"):
        xyz = _times(_FROM_D50, found.to("xyz-d50").coordinates)
    else:
        xyz = list(found.to("xyz-d65").coordinates)
    return [from_light(part) for part in _times(_TO_SRGB, xyz)]


_FROM_D50 = (
    (0.955473421488075, -0.02309845494876471, 0.06325924320057072),
    (-0.0283697093338637, 1.0099953980813041, 0.021041441191917323),
    (0.012314014864481998, -0.020507649298898964, 1.330365926242124),
)
_TO_SRGB = (
    (12831 / 3959, -329 / 214, -1974 / 3959),
    (-851781 / 878810, 1648619 / 878810, 36519 / 878810),
    (705 / 12673, -2585 / 12673, 705 / 667),
)
_FROM_P3 = (
    (608311 / 1250200, 189793 / 714400, 198249 / 1000160),
    (35783 / 156275, 247089 / 357200, 198249 / 2500400),
    (0.0, 32229 / 714400, 5220557 / 5000800),
)


def _times(matrix: Sequence[Sequence[float]], vector: Sequence[float]) -> list[float]:
    return [sum(a * b for a, b in zip(row, vector, strict=True)) for row in matrix]


def linear_light(parts: npt.NDArray[np.float64]) -> npt.NDArray[np.float64]:
    """Parts of colours in sRGB as amounts of light, from 0 to 1 or past that (IEC 61966-2-1)."""
    size = np.abs(parts)
    light = np.where(size <= 0.04045, size / 12.92, ((size + 0.055) / 1.055) ** 2.4)
    return np.copysign(light, parts)


def from_light(light: float) -> float:
    """What a part of linear light is in sRGB (IEC 61966-2-1)."""
    size = abs(light)
    part = size * 12.92 if size <= 0.0031308 else 1.055 * size ** (1 / 2.4) - 0.055
    return math.copysign(part, light)


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
    return default if math.isnan(number) else min(max(number, 0.0), 1.0)


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


_PAINTED = ("fill", "stroke", "markers")


@functools.lru_cache(maxsize=100)
def paint_order(value: str | None) -> tuple[str, ...]:
    """What is painted first, next and last, by a ``paint-order``.

    >>> paint_order("stroke"), paint_order("normal"), paint_order("fill fill")
    (('stroke', 'fill', 'markers'), ('fill', 'stroke', 'markers'), ('fill', 'stroke', 'markers'))
    """
    words = (value or "").split()
    if not set(words) <= set(_PAINTED) or len(set(words)) < len(words):
        words = []
    return (*words, *(word for word in _PAINTED if word not in words))


COST = 7
"""How much more work a text, gradient, pattern, clip or filter, or a blend or opacity of a group,
is than a flat shape."""
MASK_COST = 40

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

    def __init__(self, root: etree._Element, name: str, work: int = 0) -> None:
        self.name = name
        self.work = work
        """What was drawn so far, as so many flat shapes."""
        self._pristine = copy.deepcopy(root)
        self._by_id = by_id(self._pristine)
        self.tree = etree.Element(SVG + "defs")
        self._made: dict[bytes, str] = {}
        self._nested = 0
        self._letters = 0

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

    def count(self, element: etree._Element, work: int = 1) -> None:
        """Counts what is drawn, copies too; raises UserError when it becomes too much."""
        self.work += work
        if self.work > MOST_ELEMENTS:
            raise error(element, TOO_MANY, self.name)

    def count_letters(self, text: etree._Element) -> None:
        """Counts the letters of a text, in copies too; raises UserError when they are too many."""
        self._letters += letters_in(text)
        if self._letters > MOST_LETTERS:
            raise error(text, TOO_MANY_LETTERS, self.name)

    def content(self, holder: etree._Element, context: Context) -> etree._Element:
        """All that is in a pattern, mask or marker as a plain group that inherits nothing more.

        Raises UserError where too many are in each other.
        """
        if self._nested >= MOST_NESTED:
            raise error(holder, TOO_NESTED, self.name)
        twin = copy.deepcopy(holder)
        self._nested += 1
        try:
            self.simplify_children(twin, context)
        finally:
            self._nested -= 1
        group = styled_group(context.style)
        group.extend(list(twin))
        return group

    def em_of(self, element: etree._Element) -> float:
        """The font size (user units) of an element of the file as it was."""
        em = 16.0
        for step in reversed(list(lineage(element))):
            em = font_size(step.get("font-size"), em)
        return em

    def matrix_of(
        self,
        element: etree._Element,
        get: Callable[[str], str | None],
        name: str,
        context: Context,
        box: Callable[[etree._Element, Context], Rect | None] | None = None,
    ) -> Matrix | None:
        """What the attribute ``name`` of an element transforms by, about its origin; None where it
        is not there.

        ``get`` gives its attributes, ``box`` its own box. Raises UserError for what is not flat.
        """
        value = get(name)
        if value is None:
            return None

        def reference() -> Rect:
            own = None
            if box is not None and (get("transform-box") or "view-box") != "view-box":
                own = box(element, context)
            return own or Rect(0.0, 0.0, context.width, context.height)

        by = Reference(reference, context.em)
        origin = get("transform-origin")
        matrix = parse_transform(value) if is_plain(value) else css_transform(value, by)
        if matrix is None:
            raise error(element, NO_TRANSFORM, self.name)
        if origin is not None:
            x, y = css_origin(origin, by)
            matrix = Matrix(e=x, f=y) @ matrix @ Matrix(e=-x, f=-y)
        return matrix

    def style_of(self, element: etree._Element) -> dict[str, str]:
        """What an element of the file as it was inherits and sets, initial values included."""
        style = dict(INITIAL)
        for step in reversed(list(lineage(element))):
            style.update(declared(step))
        return style


def wrap(element: etree._Element, *moved: str) -> etree._Element:
    """Puts a new group around an element; ``moved`` attributes go over to the group.

    Around a part of a text it is a part of the text too.
    """
    parent = element.getparent()
    in_text = parent is not None and any(step.tag == SVG + "text" for step in lineage(parent))
    group = etree.Element(SVG + ("tspan" if in_text else "g"))
    for name in moved:
        if name in element.attrib:
            group.set(name, str(element.get(name)))
    strip(element, *moved)
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
    "fr": "",
}  # fmt: skip
_DEFAULTS: Mapping[str, Mapping[str, str | None]] = {
    "linearGradient": {"x1": "0%", "y1": "0%", "x2": "100%", "y2": "0%"},
    "radialGradient": {"cx": "50%", "cy": "50%", "r": "50%", "fx": None, "fy": None, "fr": "0%"},
}
"""What gradients may say of themselves, and what holds if they do not; a focus is the centre."""
_ROOM = 1 / 31
"""How far a gradient goes on past stops that share its end, as a share of its length."""
_TEXTS = (SVG + "text", SVG + "tspan", SVG + "textPath")
_MOST_SHOWN = 60
"""Letters of a wrong value that a message shows."""
PLAIN_COLOUR = re.compile("none|#[0-9a-f]{6}")
_KEYWORDS = ("none", "inherit", "currentColor", "context-fill", "context-stroke")


def colour(value: str, element: etree._Element, defs: Definitions) -> str:
    """A colour in its plain form; keywords and references stay as they are.

    Raises UserError for an invalid colour.
    """
    value = value.strip()
    if value.lower() == "currentcolor":
        return "currentColor"
    if value in _KEYWORDS or value.startswith("url(") or PLAIN_COLOUR.fullmatch(value):
        return value
    found = Colour.read(value)
    if found is None:
        shown = value if len(value) <= _MOST_SHOWN else f"{value[:_MOST_SHOWN]}…"
        raise error(element, NO_COLOUR._replace(what=f"{shown!r} isn't a colour"), defs.name)
    return str(found) if found.alpha else "none"


def paint(value: str, element: etree._Element, context: Context, defs: Definitions) -> str:
    """A fill or stroke of ``element`` in its plain form: a colour, "none" or a plain reference."""
    value = colour(value, element, defs)
    if value == "currentColor":
        return colour(context.style.get("color", "black"), element, defs)
    name = target(value)
    if name is None:
        return "none" if value.startswith("url(") else value
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


def bind_context(
    group: etree._Element, owner: etree._Element, context: Context, defs: Definitions
) -> None:
    """Gives what is in a group the paint of its context element where it asks for that.

    ``owner`` is the shape whose marker the group is, or the group itself where it was a ``use``:
    gradients and patterns lie in its units, wherever they are seen (SVG 2, 13.2).
    """
    asking = [one for one in group.iter(etree.Element) if _asks(one) and one is not owner]
    if not asking:
        return
    paints = {
        f"context-{which}": paint(context.style[which], owner, context, defs)
        for which in ("fill", "stroke")
    }
    for one in asking:
        matrix = Matrix()
        for step in lineage(one):
            if step is owner or step is owner.getparent():
                break
            matrix = parse_transform(step.get("transform")) @ matrix
        for which in _asks(one):
            one.set(which, _moved_paint(paints[str(one.get(which))], matrix, defs))


def drop_context(root: etree._Element) -> None:
    """Paints nothing where the paint of a context element is asked for and there is none."""
    for element in root.iter(etree.Element):
        for which in _asks(element):
            element.set(which, "none")


def _asks(element: etree._Element) -> list[str]:
    """Which paints of an element are to be those of its context element."""
    return [
        which
        for which in ("fill", "stroke")
        if element.get(which) in ("context-fill", "context-stroke")
    ]


def _moved_paint(plain: str, matrix: Matrix, defs: Definitions) -> str:
    """A plain paint for what is drawn in other units; ``matrix`` leads from those to its own."""
    server = next((each for each in defs.tree if each.get("id") == target(plain)), None)
    if server is None or matrix == Matrix():
        return plain
    if matrix.is_flat:
        return "none"
    moved = copy.deepcopy(server)
    strip(moved, "id")
    name = "patternTransform" if moved.tag == SVG + "pattern" else "gradientTransform"
    moved.set(name, written_matrix(matrix.inverse() @ parse_transform(moved.get(name))))
    return f"url(#{defs.add(moved)})"


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
    own = context._replace(em=defs.em_of(server))
    numbers = _numbers_of(said, kind, by_box, own)
    if _endless(kind, numbers):
        return _flat(stops[-1])
    if numbers.get("fr", 0.0) >= numbers.get("r", 1.0):  # it never leaves the circle it starts at
        return "none"
    spread = said.get("spreadMethod", "pad")
    matrix = defs.matrix_of(server, said.get, "gradientTransform", own) or Matrix()
    if not all(abs(number) <= MOST_UNITS for number in (*numbers.values(), *matrix)):
        raise error(element, TOO_LARGE, defs.name)
    if spread in ("reflect", "repeat"):
        whole = 1.0 if by_box else math.hypot(context.width, context.height)
        _check_repeats(numbers, matrix, whole, element, defs)
    else:
        stops, spread = _ends_apart(kind, numbers, stops), "pad"
    if by_box and box is not None:
        matrix = box_matrix(box) @ matrix
    if matrix.is_flat:
        return "none"
    result = etree.Element(SVG + kind)
    result.set("gradientUnits", "objectBoundingBox" if by_box and in_text else "userSpaceOnUse")
    for name, number in numbers.items():
        if number or name != "fr":
            result.set(name, f"{number:.9g}")
    if matrix != Matrix():
        result.set("gradientTransform", written_matrix(matrix))
    if spread != "pad":
        result.set("spreadMethod", spread)
    result.extend(stops)
    return f"url(#{defs.add(result)})"


def _check_repeats(
    numbers: Mapping[str, float],
    matrix: Matrix,
    whole: float,
    element: etree._Element,
    defs: Definitions,
) -> None:
    """Raises UserError for a gradient that is repeated thousands of times along ``whole``."""
    if "r" in numbers:
        once = numbers["r"] - numbers["fr"]
    else:
        once = math.hypot(numbers["x2"] - numbers["x1"], numbers["y2"] - numbers["y1"])
    if whole > once * max(matrix.scale_x, matrix.scale_y) * _MOST_REPEATS:
        raise error(element, TOO_FINE, defs.name)


_MOST_REPEATS = 2_000
"""Repeats of a gradient on a page or in a box."""


def _numbers_of(
    said: Mapping[str, str], kind: str, by_box: bool, context: Context
) -> dict[str, float]:
    """The ends of a gradient, or its circles, in user units or shares of a box."""
    numbers: dict[str, float] = {}
    for name, default in _DEFAULTS[kind].items():
        whole = 1.0 if by_box else context.whole(_AXES[name])
        fallback = numbers["c" + name[1:]] if default is None else length(default, whole=whole)
        numbers[name] = length(said.get(name), context.em, whole, fallback)
    if numbers.get("fr", 0.0) < 0:
        numbers["fr"] = 0.0  # an error, by SVG 2, 14.2.3
    return numbers


def _endless(kind: str, numbers: Mapping[str, float]) -> bool:
    """Whether all of a gradient lies past its end (SVG 1.1, 13.2.2 and 13.2.3)."""
    if kind == "linearGradient":
        return (numbers["x1"], numbers["y1"]) == (numbers["x2"], numbers["y2"])
    return numbers["r"] <= 0


def _ends_apart(
    kind: str, numbers: dict[str, float], stops: list[etree._Element]
) -> list[etree._Element]:
    """Makes a gradient longer where two stops share its very end, and moves the stops along.

    The last colour shows beyond the end (SVG 1.1, 13.2.4), but PDF readers take what is beyond
    from just before the end. Changes ``numbers`` and the offsets, and gives all stops.
    """
    offsets = [float(str(stop.get("offset"))) for stop in stops]
    linear = kind == "linearGradient"
    inner = 1.0 if linear else numbers["fr"] / (numbers["r"] - numbers["fr"])
    before = min(_ROOM, inner) if offsets[1] == 0 else 0.0
    after = _ROOM if offsets[-2] == 1 else 0.0
    if not before and not after:
        return stops
    pairs = (("x1", "x2"), ("y1", "y2")) if linear else (("fx", "cx"), ("fy", "cy"), ("fr", "r"))
    for start, end in pairs:
        way = numbers[end] - numbers[start]
        numbers[start] -= before * way
        numbers[end] += after * way
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
        said = stop.get("stop-opacity")
        opacity = share(holder.get("stop-opacity") if said == "inherit" else said)
        if opacity < 1:
            plain.set("stop-opacity", f"{opacity:.6g}")
        stops.append(plain)
    # Said outright, as PDF gradients whose outermost stops lie on one spot lose a colour.
    offsets = [float(str(stop.get("offset"))) for stop in stops]
    if len(stops) > 1 and offsets[0] > 0:
        stops.insert(0, _stop_at(0.0, stops[0]))
    if len(stops) > 1 and offsets[-1] == offsets[-2] < 1:
        stops.append(_stop_at(1.0, stops[-1]))
    linear = (inherited(holder, "color-interpolation") or "").lower() == "linearrgb"
    return _in_linear_light(stops) if linear else stops


def _stop_at(offset: float, like: etree._Element) -> etree._Element:
    """A plain stop elsewhere in the colour of another."""
    twin = copy.deepcopy(like)
    twin.set("offset", f"{offset:.6g}")
    return twin


_LIGHT_STEPS = 16
"""How many steps stand for colours mixed in linear light; by eye, no edge is seen."""


def _in_linear_light(stops: list[etree._Element]) -> list[etree._Element]:
    """Stops between which colours mix as light does (SVG 1.1, 11.7.1), for readers that mix them
    as they are written."""
    result = stops[:1]
    for one, other in itertools.pairwise(stops):
        start, end = (float(str(stop.get("offset"))) for stop in (one, other))
        clear = [share(stop.get("stop-opacity")) for stop in (one, other)]
        for step in range(1, _LIGHT_STEPS if end > start else 0):
            part = step / _LIGHT_STEPS
            stop = _stop_at(start + part * (end - start), one)
            stop.set("stop-color", str(_mixed_light(one, other, part)))
            stop.set("stop-opacity", f"{clear[0] + part * (clear[1] - clear[0]):.6g}")
            result.append(stop)
        result.append(other)
    return result


def _mixed_light(one: etree._Element, other: etree._Element, part: float) -> Colour:
    """The colour between two plain stops, ``part`` of the way to the other."""
    pair = [Colour.read(str(stop.get("stop-color"))) or Colour(0, 0, 0) for stop in (one, other)]
    light, other_light = (linear_light(np.array(each[:3]) / 255) for each in pair)
    mixed = (1 - part) * light + part * other_light
    red, green, blue = (round(255 * from_light(float(each))) for each in mixed)
    return Colour(red, green, blue, (1 - part) * pair[0].alpha + part * pair[1].alpha)


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
    own = context._replace(em=defs.em_of(server))
    room = viewport(said.get, own, box=box if by_box else None)
    holder = next((each for each in chain if len(each)), None)
    turn = defs.matrix_of(server, said.get, "patternTransform", own) or Matrix()
    if room.width <= 0 or room.height <= 0 or shows_nothing(said.get("viewBox")) or turn.is_flat:
        return "none"
    if holder is None or not all(map(math.isfinite, room)):
        return "none"
    _check_tile(room, turn, element, context, defs)
    inner = context._replace(
        em=defs.em_of(holder), style=defs.style_of(holder), within=context.within | {name}
    )
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
        result.set("patternTransform", written_matrix(turn))
    result.append(group)
    return f"url(#{defs.add(result)})"


def _check_tile(
    room: Rect, matrix: Matrix, element: etree._Element, context: Context, defs: Definitions
) -> None:
    """Raises UserError for tiles past all paper or too fine to be told apart."""
    wide, high = room.width * matrix.scale_x, room.height * matrix.scale_y
    whole = max(context.width, context.height)
    if max(wide, high) > whole * _MOST_TIMES:
        raise error(element, TOO_LARGE, defs.name)
    if min(wide, high) * _MOST_TIMES * 10 < whole:
        raise error(element, TOO_FINE, defs.name)


_MOST_TIMES = 1_000
"""How many times as large as the page a tile may be, and a tenth of how many times smaller."""


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
