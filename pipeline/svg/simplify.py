"""Turns every way that SVG has of saying a thing into one, so that drawing is short and dull.

What is left: groups, shapes, texts and pictures with plain numbers; flat colours, and gradients
and patterns in user units; clips of one path. Gone are ``use``, symbols, nested viewports,
``switch``, percentages, keywords, markers, the order of painting and everything in units of a
box. Expects styles to be attributes already.
"""

from __future__ import annotations

import copy
import math
import re
from collections.abc import Callable

from lxml import etree

from pipeline.base.errors import UserError
from pipeline.base.geometry import NUMBER, Rect
from pipeline.svg.clip import clip, clip_to, filtered, mask
from pipeline.svg.markers import KINDS, MARKED, marks
from pipeline.svg.paint import (
    INITIAL,
    SIDES,
    WHOLE,
    Context,
    Definitions,
    colour,
    declared,
    paint,
    put_transform,
    share,
    viewport,
    wrap,
    written_matrix,
)
from pipeline.svg.path import SHAPES, box_of, outline, written
from pipeline.svg.refusals import ENDLESS, NO_TRANSFORM, error, reading
from pipeline.svg.transform import Aspect, Matrix, angle, fitted, parse_transform, view_box
from pipeline.svg.tree import DEFINITIONS, HREFS, SVG, href, lineage, remove, size_of, strip
from pipeline.text.style import font_size, font_weight, length, lengths

_GEOMETRY = {
    "rect": {"x": "x", "y": "y", "width": "x", "height": "y", "rx": "x", "ry": "y"},
    "image": {"x": "x", "y": "y", "width": "x", "height": "y"},
    "circle": {"cx": "x", "cy": "y", "r": ""},
    "ellipse": {"cx": "x", "cy": "y", "rx": "x", "ry": "y"},
    "line": {"x1": "x", "y1": "y", "x2": "x", "y2": "y"},
    "text": {"x": "x", "y": "y", "dx": "x", "dy": "y"},
}
"""Lengths of each element, and what their percentages are shares of."""

_KEYWORDS = frozenset(("inherit", "unset", "initial", "revert"))
_PAINTED = ("fill", "stroke", "markers")
"""What a shape is painted with, in the usual order."""

_STROKE = ("stroke-width", "stroke-dashoffset")
_SHARES = ("opacity", "fill-opacity", "stroke-opacity")
_PLAIN_TRANSFORM = re.compile(
    r"\s*(?:(?:matrix|translate|scale|rotate|skewX|skewY)\s*\([-+\d.eE\s,]*\)[\s,]*)*"
)
_CSS_CALL = re.compile(r"\s*([a-zA-Z]+)\s*\(([^()]*)\)\s*,?")
_CSS_CALLS = {
    "matrix": "matrix({})", "rotate": "rotate({})", "rotateZ": "rotate({})",
    "translate": "translate({})", "translateX": "translate({})", "translateY": "translate(0 {})",
    "scale": "scale({})", "scaleX": "scale({} 1)", "scaleY": "scale(1 {})",
    "skewX": "skewX({})", "skewY": "skewY({})",
}  # fmt: skip
"""Flat transforms of CSS, and how SVG writes them."""

_TEXT_INSIDES = frozenset(SVG + name for name in ("tspan", "textPath", "a"))


def simplify(root: etree._Element, name: str, refused: list[UserError] | None = None) -> None:
    """Simplifies a drawing in place; ``name`` is its file's, for errors.

    Raises UserError for the first thing that would not be drawn right. With a list ``refused``,
    what is refused is taken out and its error added to the list, and the rest is simplified.
    """
    defs = Definitions(root, name)
    box = view_box(root.get("viewBox"))
    width, height = (
        box[2:]
        if box
        else (length(root.get(side), whole=100.0, default=100.0) for side in ("width", "height"))
    )
    _Simplifier(defs, refused).run(root, Context(width, height, 16.0, dict(INITIAL)))


class _Simplifier:
    """One walk down a drawing, with what its elements inherit."""

    def __init__(self, defs: Definitions, refused: list[UserError] | None) -> None:
        self._defs = defs
        self._refused = refused
        self._blends = False
        """Whether anything blends with what is below it."""
        defs.simplify_children = self.children

    def run(self, root: etree._Element, context: Context) -> None:
        """Makes all under the root plain and puts the definitions made on the way into it."""
        self._keywords(root)
        self._blends = any("mix-blend-mode" in element.attrib for element in root.iter())
        inside = self._inside(root, context)
        self.children(root, inside)
        self._own_effects(root, inside)
        for element in list(root.iter(*DEFINITIONS)):
            remove(element)
        if len(self._defs.tree):
            root.insert(0, self._defs.tree)

    def children(self, parent: etree._Element, context: Context) -> None:
        """Makes all elements in ``parent`` plain."""
        for child in list(parent):
            if isinstance(child.tag, str) and child.tag.startswith(SVG):
                self._or_refuse(self._element, child, context)

    def _or_refuse(
        self,
        work: Callable[[etree._Element, Context], None],
        element: etree._Element,
        context: Context,
    ) -> None:
        """Works on an element; where refusals are collected, takes it out if that fails."""
        parent = element.getparent()
        try:
            with reading(self._defs.name):
                work(element, context)
        except UserError as problem:
            if self._refused is None:
                raise
            known = {(other.element, other.what) for other in self._refused}
            if (problem.element, problem.what) not in known:
                self._refused.append(problem)
            for step in lineage(element):  # groups may have come around it
                if step.getparent() is parent:
                    remove(step)

    def _element(self, element: etree._Element, context: Context) -> None:
        tag = str(element.tag).removeprefix(SVG)
        if element.tag in DEFINITIONS or element.get("display") == "none":
            return
        if "requiredExtensions" in element.attrib:
            remove(element)
            return
        self._keywords(element)
        self._transform(element, context)
        if tag == "switch":
            self._switch(element)
            tag = "g"
        elif tag == "use":
            placed = self._use(element, context)
            if placed is None:
                remove(element)
                return
            context = context._replace(within=placed)
            tag = "g"
        inside = self._inside(element, context)
        if tag == "svg":
            self._viewport(element, inside)
        elif tag in ("g", "a"):
            self.children(element, inside)
            strip(element, *KINDS)
            _drop_references(element)
        elif tag == "text":
            self._text(element, inside)
        elif tag == "image":
            self._lengths(element, "image", inside)
            element = self._picture(element)
        elif tag in SHAPES:
            self._lengths(element, tag, inside)
            self._paints(element, inside)
        self._finish(element, tag, inside)

    # What an element says of itself

    def _keywords(self, element: etree._Element) -> None:
        """Resolves words that stand for other values, and writes colours and shares plainly."""
        attributes = element.attrib
        for name, value in attributes.items():
            if value in _KEYWORDS:
                self._keyword(element, str(name), str(value))
        for name in ("fill", "stroke", "color"):
            if name in attributes:
                plain = colour(str(attributes[name]), element, self._defs)
                if plain != attributes[name]:
                    element.set(name, plain)
        for name in _SHARES:
            if name in attributes:
                text = str(attributes[name])
                if not NUMBER.fullmatch(text) or not 0 <= float(text) <= 1:
                    element.set(name, f"{share(text):.6g}")
        if attributes.get("visibility") == "collapse":
            element.set("visibility", "hidden")
        marker = element.get("marker")
        if marker is not None:
            strip(element, "marker")
            for kind in KINDS:
                element.set(kind, element.get(kind, marker))
        if "text-decoration-line" in attributes and "text-decoration" not in attributes:
            element.set("text-decoration", str(attributes["text-decoration-line"]))
        strip(element, "text-decoration-line")

    def _keyword(self, element: etree._Element, name: str, value: str) -> None:
        parent = element.getparent()
        if name in INITIAL and value == "initial":
            element.set(name, INITIAL[name])
        elif value == "inherit" and name not in INITIAL and parent is not None:
            if parent.get(name) is not None:
                element.set(name, str(parent.get(name)))
            else:
                del element.attrib[name]
        elif name not in ("id", "class"):
            del element.attrib[name]

    def _transform(self, element: etree._Element, context: Context) -> None:
        value = element.get("transform")
        if value is None:
            strip(element, "transform-origin", "transform-box")
            return
        matrix = parse_transform(value) if _PLAIN_TRANSFORM.fullmatch(value) else _css_matrix(value)
        if matrix is None:
            raise error(element, NO_TRANSFORM, self._defs.name)
        origin = element.get("transform-origin")
        if origin is not None:
            x, y = self._origin(element, origin, context)
            matrix = Matrix(e=x, f=y) @ matrix @ Matrix(e=-x, f=-y)
        if origin is not None or not _PLAIN_TRANSFORM.fullmatch(value):
            element.set("transform", written_matrix(matrix))
        strip(element, "transform-origin", "transform-box")

    def _origin(
        self, element: etree._Element, origin: str, context: Context
    ) -> tuple[float, float]:
        room = Rect(0, 0, context.width, context.height)
        if element.get("transform-box", "view-box") != "view-box":
            probe = copy.deepcopy(element)
            strip(probe, "transform", "transform-origin", "transform-box")
            holder = etree.Element(SVG + "g")
            holder.append(probe)
            self.children(holder, context)
            room = box_of(holder) or room
        words = origin.split()
        if words[0] in ("top", "bottom") or words[-1] in ("left", "right"):
            words.reverse()
        x, y = (*words, "center", "center")[:2] if len(words) < 2 else words[:2]
        shares = {"left": 0.0, "top": 0.0, "center": 0.5, "right": 1.0, "bottom": 1.0}
        along = shares[x] * room.width if x in shares else length(x, context.em, room.width)
        down = shares[y] * room.height if y in shares else length(y, context.em, room.height)
        return room.x + along, room.y + down

    def _inside(self, element: etree._Element, context: Context) -> Context:
        """What the children of an element inherit; plain numbers for its type and stroke."""
        attributes = element.attrib
        em, weight = context.em, context.weight
        if "font-size" in attributes:
            said = str(attributes["font-size"])
            em = font_size(said, em)
            if font_size(said, 0.0) != em:  # it goes by the parent's
                element.set("font-size", str(em))
        if "font-weight" in attributes:
            said = str(attributes["font-weight"])
            weight = font_weight(said, weight)
            if said in ("bolder", "lighter"):
                element.set("font-weight", f"{weight:g}")
        for name in _STROKE:
            if name in attributes and not NUMBER.fullmatch(str(attributes[name])):
                value = length(str(attributes[name]), em=em, whole=context.whole(""), default=1.0)
                element.set(name, f"{value:.9g}")
        dashes = attributes.get("stroke-dasharray")
        if dashes is not None and dashes != "none":
            parts = lengths(str(dashes), em, context.whole(""))
            usable = parts and min(parts) >= 0 and sum(parts)
            plain = " ".join(f"{part:.9g}" for part in parts) if usable else "none"
            element.set("stroke-dasharray", plain)
        own = declared(element)
        style = {**context.style, **own} if own else context.style
        return context._replace(em=em, weight=weight, style=style)

    def _lengths(self, element: etree._Element, tag: str, context: Context) -> None:
        for name, axis in _GEOMETRY.get(tag, {}).items():
            value = element.get(name)
            if value is None or NUMBER.fullmatch(value):
                continue
            if tag == "text":
                plain = lengths(value, context.em, context.whole(axis))
                element.set(name, " ".join(map(str, plain)))
                continue
            number = length(value, em=context.em, whole=context.whole(axis), default=math.nan)
            if math.isnan(number):
                strip(element, name)
            else:
                element.set(name, f"{number:.9g}")

    # What stands for other things

    def _switch(self, element: etree._Element) -> None:
        element.tag = SVG + "g"
        chosen = None
        for child in list(element):
            plain = isinstance(child.tag, str) and child.tag.startswith(SVG)
            if chosen is None and plain and "requiredExtensions" not in child.attrib:
                chosen = child
            else:
                remove(child)

    def _use(self, element: etree._Element, context: Context) -> frozenset[str] | None:
        """Puts a copy of what a ``use`` shows into it and makes it a group; None for nothing."""
        name = href(element).removeprefix("#")
        shown = self._defs.find(name)
        if shown is None:
            return None
        if name in context.within:
            raise error(element, ENDLESS, self._defs.name)
        twin = copy.deepcopy(shown)
        twin.tail = None
        for inner in twin.iter(etree.Element):
            strip(inner, "id")
        if twin.tag in (SVG + "symbol", SVG + "svg"):
            twin.tag = SVG + "svg"
            for side in ("width", "height"):
                if side in element.attrib:
                    twin.set(side, str(element.get(side)))
        x = length(element.get("x"), em=context.em, whole=context.width)
        y = length(element.get("y"), em=context.em, whole=context.height)
        element.tag = SVG + "g"
        strip(element, "x", "y", "width", "height", *HREFS)
        for child in list(element):
            element.remove(child)
        element.append(twin)
        if x or y:
            put_transform(element, Matrix(e=x, f=y))
        return context.within | {name}

    def _viewport(self, element: etree._Element, context: Context) -> None:
        """Makes a nested ``svg`` a group that is clipped to its viewport."""
        room = viewport(element.get, context, ("0", "0", "100%", "100%"))
        box = view_box(element.get("viewBox"))
        aspect = Aspect.of(element.get("preserveAspectRatio"))
        clipped = element.get("overflow", "hidden") in ("hidden", "scroll")
        element.tag = SVG + "g"
        strip(element, *SIDES, "viewBox", "preserveAspectRatio", "overflow", "version")
        content = etree.Element(SVG + "g")
        content.extend(list(element))
        element.append(content)
        if room.width <= 0 or room.height <= 0:
            element.remove(content)
            return
        inside = box or room
        self.children(content, context._replace(width=inside.width, height=inside.height))
        put_transform(content, fitted(box, room, aspect) if box else Matrix(e=room.x, f=room.y))
        if clipped:
            clip_to(content, room, self._defs)
        strip(element, *KINDS)
        _drop_references(element)

    def _picture(self, element: etree._Element) -> etree._Element:
        """Gives a picture its pixels as its size, so that it lies in its box as it asks to."""
        size = size_of(href(element))
        if size is None:
            return element
        box = Rect(0, 0, *map(float, size))
        width = length(element.get("width"), default=-1.0)
        height = length(element.get("height"), default=-1.0)
        if width < 0:
            width = box.width * (height / box.height if height >= 0 else 1.0)
        if height < 0:
            height = box.height * width / box.width
        room = Rect(length(element.get("x")), length(element.get("y")), width, height)
        if not width or not height:
            return element
        aspect = Aspect.of(element.get("preserveAspectRatio"))
        group = wrap(element, "transform", *WHOLE)
        strip(element, "x", "y")
        element.set("preserveAspectRatio", "none")
        element.set("width", f"{box.width:g}")
        element.set("height", f"{box.height:g}")
        put_transform(element, fitted(box, room, aspect))
        if aspect.slice and element.get("overflow", "hidden") == "hidden":
            clip_to(element, room, self._defs)
        return group

    # What leaves ink

    def _text(self, element: etree._Element, context: Context) -> None:
        self._lengths(element, "text", context)
        self._paints(element, context)
        for child in list(element):
            if child.tag in _TEXT_INSIDES:
                self._or_refuse(self._run, child, context)
        if element.tag == SVG + "textPath":
            self._path_of_text(element, context)
        if element.tag == SVG + "text":
            strip(element, *KINDS)

    def _run(self, element: etree._Element, context: Context) -> None:
        self._keywords(element)
        self._text(element, self._inside(element, context))

    def _path_of_text(self, element: etree._Element, context: Context) -> None:
        """Gives a text its path as a definition of its own, wherever it came from."""
        shown = self._defs.find(href(element).removeprefix("#"))
        if shown is None:
            return
        path = copy.deepcopy(shown)
        self._keywords(path)
        self._transform(path, context)
        self._lengths(path, str(path.tag).removeprefix(SVG), context)
        plain = etree.Element(SVG + "path", {"d": written(outline(path))})
        if path.get("transform"):
            plain.set("transform", str(path.get("transform")))
        strip(element, *HREFS)
        element.set(HREFS[1], f"#{self._defs.add(plain)}")

    def _paints(self, element: etree._Element, context: Context) -> None:
        for which in ("fill", "stroke"):
            value = context.style[which]
            if value.startswith(("url(", "context-")) or value == "currentColor":
                plain = paint(value, element, context, self._defs)
                element.set(which, plain)

    def _finish(self, element: etree._Element, tag: str, context: Context) -> None:
        """Filter, clip, mask, markers, order of painting of an element that is plain else."""
        if self._blends:
            _isolate(element)
        for name, make_plain in (("filter", filtered), ("mask", mask), ("clip-path", clip)):
            if element.get(name) and not make_plain(element, context, self._defs):
                remove(element)
                return
        if tag in SHAPES:
            self._shape(element, tag, context)

    def _shape(self, element: etree._Element, tag: str, context: Context) -> None:
        drawn = []
        if tag in MARKED and any(context.style[kind] != "none" for kind in KINDS):
            drawn = marks(element, context, self._defs)
            strip(element, *KINDS)
        fill = element.get("fill", context.style["fill"])
        stroke = element.get("stroke", context.style["stroke"])
        both = fill != "none" and stroke != "none"
        words = [word for word in context.style["paint-order"].split() if word in _PAINTED]
        order = (*words, *(word for word in _PAINTED if word not in words))
        strip(element, "paint-order")
        opaque = float(element.get("opacity") or 1) >= 1
        turned = both and order.index("stroke") < order.index("fill")
        if not drawn and not turned and (opaque or not both):
            return
        group = wrap(element, "transform", *WHOLE)
        if turned:
            first = copy.deepcopy(element)
            strip(first, "id")
            first.set("fill", "none")
            element.set("stroke", "none")
            element.addprevious(first)
        below = 0 if order[0] == "markers" else len(group)
        for number, mark in enumerate(drawn):
            group.insert(below + number, mark)

    def _own_effects(self, root: etree._Element, context: Context) -> None:
        """An opacity, clip, mask or filter on the root is one of all that is drawn."""
        strip(root, "mix-blend-mode", "isolation")  # there is nothing below it
        if any(root.get(name) not in (None, "1", "none") for name in WHOLE):
            group = etree.Element(SVG + "g", {n: str(root.get(n)) for n in WHOLE if root.get(n)})
            strip(root, *WHOLE)
            group.extend(list(root))
            root.append(group)
            self._finish(group, "g", context)


def _isolate(element: etree._Element) -> None:
    """Keeps a group apart from what is below it, as its blending parts must not see that.

    A clip path does so too (CSS Masking 1, 5.1); opacity, a mask and a filter do by themselves.
    """
    if element.get("mix-blend-mode") == "normal":
        strip(element, "mix-blend-mode")
    apart = element.get("isolation") == "isolate" or element.get("clip-path", "none") != "none"
    strip(element, "isolation")
    if apart and any("mix-blend-mode" in inner.attrib for inner in element.iterdescendants()):
        element.set("isolation", "isolate")


def _drop_references(element: etree._Element) -> None:
    """Takes paint that only what is inside can use off a group; those have it themselves."""
    for which in ("fill", "stroke"):
        value = element.get(which) or ""
        if value.startswith(("url(", "context-")) or value == "currentColor":
            strip(element, which)


def _css_matrix(value: str) -> Matrix | None:
    """The matrix of a ``transform`` as CSS writes it; None for what is not plain and flat."""
    if value.strip() == "none":
        return Matrix()
    result, place = Matrix(), 0
    while place < len(value.rstrip()):
        call = _CSS_CALL.match(value, place)
        if call is None or call[1] not in _CSS_CALLS:
            return None
        turns = call[1].startswith(("rotate", "skew"))
        numbers = [
            angle(word) if turns and not number else _css_length(word)
            for number, word in enumerate(call[2].replace(",", " ").split())
        ]
        if not numbers or None in numbers:
            return None
        said = _CSS_CALLS[call[1]].format(" ".join(map(repr, numbers)))
        result, place = result @ parse_transform(said), call.end()
    return result


def _css_length(word: str) -> float | None:
    if NUMBER.fullmatch(word):
        return float(word)
    number = length(word, default=math.nan)
    return None if math.isnan(number) or word.endswith(("%", "em", "ex")) else number
