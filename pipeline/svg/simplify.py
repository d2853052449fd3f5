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
from collections.abc import Callable, Sequence

from lxml import etree

from pipeline.base.errors import UserError
from pipeline.base.geometry import NUMBER, Rect
from pipeline.svg.clip import clip, clip_to, mask
from pipeline.svg.markers import KINDS, MARKED, marks, reference
from pipeline.svg.paint import (
    COST,
    INITIAL,
    SIDES,
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
from pipeline.svg.path import SHAPES, PathData, box_of, outline, written
from pipeline.svg.refusals import (
    ENDLESS,
    MOST_DEPTH,
    MOST_UNITS,
    PART_FOR_LANGUAGE,
    PART_UNSCALED,
    TOO_DEEP,
    TOO_FINE,
    TOO_LARGE,
    error,
    reading,
    refuse_depth,
)
from pipeline.svg.styles import KEYWORDS
from pipeline.svg.transform import Aspect, Matrix, fitted, is_plain, parse_transform, view_box
from pipeline.svg.tree import (
    DEFINITIONS,
    HREFS,
    LANGUAGES,
    NAMES,
    SVG,
    Languages,
    href,
    lineage,
    page_matrix,
    remove,
    size_of,
    strip,
    target,
)
from pipeline.text.style import INITIAL_TYPE, font_size, font_weight, length, lengths

_GEOMETRY = {
    "rect": {"x": "x", "y": "y", "width": "x", "height": "y", "rx": "x", "ry": "y"},
    "image": {"x": "x", "y": "y", "width": "x", "height": "y"},
    "circle": {"cx": "x", "cy": "y", "r": ""},
    "ellipse": {"cx": "x", "cy": "y", "rx": "x", "ry": "y"},
    "line": {"x1": "x", "y1": "y", "x2": "x", "y2": "y"},
    "text": {"x": "x", "y": "y", "dx": "x", "dy": "y"},
}
"""Lengths of each element, and what their percentages are shares of."""

_PAINTED = ("fill", "stroke", "markers")
"""What a shape is painted with, in the usual order."""

_PLACES = {**_GEOMETRY, "path": ("d",), "polyline": ("points",), "polygon": ("points",)}
"""Attributes that say where a shape is."""

_STROKE = ("stroke-width", "stroke-dashoffset")
_SHARES = ("opacity", "fill-opacity", "stroke-opacity")
_KNOWN = SHAPES | {"svg", "g", "a", "use", "switch", "text", "image"}
"""What is drawn; what nobody knows is passed over with all in it (SVG 2, 5.3)."""

_MOST_PLAIN_DEPTH = 2 * MOST_DEPTH
"""Groups in each other in the plain form, which may put several around what was one."""

_TEXT_INSIDES = frozenset(SVG + name for name in ("tspan", "textPath", "a"))


def simplify(root: etree._Element, name: str, refused: list[UserError] | None = None) -> None:
    """Simplifies a drawing in place; ``name`` is its file's, for errors.

    Raises UserError for the first thing that would not be drawn right. With a list ``refused``,
    what is refused is taken out and its error added to the list, and the rest is simplified.
    """
    defs = Definitions(root, name)
    box = view_box(root.get("viewBox"))
    width, height = (
        length(root.get(side), whole=box[2 + axis] if box else 100.0, default=100.0)
        for axis, side in enumerate(("width", "height"))
    )
    to_pixels = Matrix()
    if box and width > 0 and height > 0:
        room = Rect(0, 0, width, height)
        to_pixels = fitted(box, room, Aspect.of(root.get("preserveAspectRatio")))
    whole = box[2:] if box else (width, height)
    context = Context(*whole, 16.0, dict(INITIAL))
    _Simplifier(defs, refused, to_pixels).run(root, context)


class _Simplifier:
    """One walk down a drawing, with what its elements inherit."""

    _root: etree._Element

    def __init__(
        self, defs: Definitions, refused: list[UserError] | None, to_pixels: Matrix
    ) -> None:
        self._defs = defs
        self._to_pixels = to_pixels
        self._depth = 0
        self._refused = refused
        defs.simplify_children = self.children

    def run(self, root: etree._Element, context: Context) -> None:
        """Makes all under the root plain and puts the definitions made on the way into it."""
        self._root = root
        self._keywords(root)
        self.children(root, self._inside(root, context))
        self._own_opacity(root)
        for element in list(root.iter(*DEFINITIONS)):
            remove(element)
        refuse_depth(root, _MOST_PLAIN_DEPTH, self._defs.name)
        if len(self._defs.tree):
            root.insert(0, self._defs.tree)

    def children(self, parent: etree._Element, context: Context) -> None:
        """Makes all elements in ``parent`` plain; raises UserError where they are too deep."""
        if self._depth >= MOST_DEPTH:
            raise error(parent, TOO_DEEP, self._defs.name)
        self._depth += 1
        try:
            for child in list(parent):
                if isinstance(child.tag, str) and child.tag.startswith(SVG):
                    self._or_refuse(self._element, child, context)
        finally:
            self._depth -= 1

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
        if "requiredExtensions" in element.attrib or tag not in _KNOWN:
            remove(element)
            return
        self._defs.count(element)
        self._languages(element)
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
            if not href(element):
                remove(element)
                return
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
            if value in KEYWORDS:
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
        first = INITIAL.get(name) or INITIAL_TYPE.get(name)
        if first is not None and value == "initial":
            element.set(name, first)
        elif value == "inherit" and name not in INITIAL and parent is not None:
            if parent.get(name) is not None:
                element.set(name, str(parent.get(name)))
            else:
                del element.attrib[name]
        elif name not in ("id", "class", NAMES):
            del element.attrib[name]

    def _transform(self, element: etree._Element, context: Context) -> None:
        value = element.get("transform")
        if value is not None and not (is_plain(value) and element.get("transform-origin") is None):
            defs, box = self._defs, self._box_of
            matrix = defs.matrix_of(element, element.get, "transform", context, box)
            value = written_matrix(matrix or Matrix())
            element.set("transform", value)
        if value is not None and not _sound(parse_transform(value)):
            raise error(element, TOO_LARGE, self._defs.name)
        strip(element, "transform-origin", "transform-box")

    def _box_of(self, element: etree._Element, context: Context) -> Rect | None:
        """The box of an element as the file has it, in its own units."""
        probe = copy.deepcopy(element)
        strip(probe, "id", "transform", "transform-origin", "transform-box", "clip-path", "mask")
        holder = etree.Element(SVG + "g")
        holder.append(probe)
        self.children(holder, context)
        return box_of(holder)

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
                whole = context.whole("")
                value = length(str(attributes[name]), em=em, whole=whole, default=math.nan)
                if math.isnan(value):  # as if it were not there
                    del attributes[name]
                else:
                    element.set(name, f"{value:.9g}")
        for name in ("stroke-width", "font-size"):
            if name in attributes and not _sound([length(attributes[name], em)]):
                raise error(element, TOO_LARGE, self._defs.name)
        dashes = attributes.get("stroke-dasharray")
        if dashes is not None and dashes != "none":
            parts = lengths(str(dashes), em, context.whole(""))
            usable = parts and min(parts) >= 0 and sum(parts)
            if usable and sum(parts) < 0.1 and sum(parts) * self._size_on_page(element) < _FINEST:
                raise error(element, TOO_FINE, self._defs.name)
            plain = " ".join(f"{part:.9g}" for part in parts) if usable else "none"
            element.set("stroke-dasharray", plain)
        own = declared(element)
        style = {**context.style, **own} if own else context.style
        return context._replace(em=em, weight=weight, style=style)

    def _size_on_page(self, element: etree._Element) -> float:
        """How many CSS pixels one of an element's units is on the page, at most."""
        matrix = self._to_pixels @ page_matrix(element)
        return max(matrix.scale_x, matrix.scale_y)

    def _lengths(self, element: etree._Element, tag: str, context: Context) -> None:
        for name, axis in _GEOMETRY.get(tag, {}).items():
            value = element.get(name)
            if value is None or (NUMBER.fullmatch(value) and tag != "text"):
                continue
            if tag == "text":
                plain = lengths(value, context.em, context.whole(axis))
                if not _sound(plain):
                    raise error(element, TOO_LARGE, self._defs.name)
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
        before: list[str] = []  # languages that an earlier child is for
        decided = False
        for child in list(element):
            tag = str(child.tag).removeprefix(SVG)
            if decided or tag not in _KNOWN or "requiredExtensions" in child.attrib:
                remove(child)
                continue
            said = child.get("systemLanguage")
            if said in before:
                remove(child)
                continue
            decided = said is None
            if said is None and before:
                child.set("systemLanguage", str(Languages("", ",".join(before))))
            elif said and said.strip():
                child.set("systemLanguage", str(Languages(said, ",".join(before))))
                before.append(said)

    def _languages(self, element: etree._Element) -> None:
        """Puts what is for some languages only into a group that says so."""
        said = element.get("systemLanguage")
        if said is None:
            return
        strip(element, "systemLanguage")
        group = wrap(element)
        if not said.strip():
            group.remove(element)
        elif element.getroottree().getroot() is not self._root:
            raise error(element, PART_FOR_LANGUAGE, self._defs.name)
        group.set(LANGUAGES, said if "/" in said else f"{said}/")

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
        if twin.tag != SVG + "symbol":
            strip(twin, "refX", "refY")
        for inner in twin.iter(etree.Element):
            strip(inner, "id")
        if twin.tag in (SVG + "symbol", SVG + "svg"):
            twin.tag = SVG + "svg"
            for side in ("width", "height"):
                if length(element.get(side), default=-1.0) >= 0:
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
        for side in ("width", "height"):
            if length(element.get(side)) < 0:  # as if it were not there
                strip(element, side)
        room = viewport(element.get, context, ("0", "0", "100%", "100%"))
        box = view_box(element.get("viewBox"))
        aspect = Aspect.of(element.get("preserveAspectRatio"))
        if room.width > 0 and room.height > 0:
            room = _referred(element, box, room, aspect)
        clipped = element.get("overflow", "hidden") in ("hidden", "scroll")
        element.tag = SVG + "g"
        strip(element, *SIDES, "viewBox", "preserveAspectRatio", "overflow", "version")
        strip(element, "refX", "refY")
        content = etree.Element(SVG + "g")
        content.extend(list(element))
        element.append(content)
        if room.width <= 0 or room.height <= 0:
            element.remove(content)
            return
        inside = box or room
        put_transform(content, fitted(box, room, aspect) if box else Matrix(e=room.x, f=room.y))
        self.children(content, context._replace(width=inside.width, height=inside.height))
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
        group = wrap(element, "transform", "clip-path", "mask", "opacity")
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
        if "systemLanguage" in element.attrib:
            raise error(element, PART_FOR_LANGUAGE, self._defs.name)
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
                if plain.startswith("url("):
                    self._defs.count(element, COST)
                element.set(which, plain)

    def _finish(self, element: etree._Element, tag: str, context: Context) -> None:
        """Clip, mask, markers, order of painting and opacity of an element that is plain else."""
        for name, make_plain in (("clip-path", clip), ("mask", mask)):
            if target(element.get(name)):
                self._defs.count(element, COST)
                if make_plain(element, context, self._defs) is None:
                    remove(element)
                    return
        if tag in SHAPES:
            self._shape(element, tag, context)

    def _shape(self, element: etree._Element, tag: str, context: Context) -> None:
        drawn = []
        said = " ".join(element.get(name) or "" for name in _PLACES.get(tag, ()))
        if ("e" in said or "E" in said or _LARGE.search(said)) and not _sound(
            outline(element).coordinates
        ):
            raise error(element, TOO_LARGE, self._defs.name)
        if element.get("vector-effect") == "non-scaling-stroke":
            context = self._unscaled(element, tag, context)
        if tag in MARKED and any(context.style[kind] != "none" for kind in KINDS):
            drawn = marks(element, context, self._defs)
            strip(element, *KINDS)
        fill = element.get("fill", context.style["fill"])
        stroke = element.get("stroke", context.style["stroke"])
        flat = tag == "line" or (_LINES.match(said) and _is_flat(outline(element)))
        if flat and fill != "none" and self._shows_through(element, context):
            fill = "none"  # which PDF would draw as a hairline (ISO 32000-1, 8.5.3.3.1)
            element.set("fill", fill)
        both = fill != "none" and stroke != "none"
        words = [word for word in context.style["paint-order"].split() if word in _PAINTED]
        order = (*words, *(word for word in _PAINTED if word not in words))
        strip(element, "paint-order")
        opaque = float(element.get("opacity") or 1) >= 1
        turned = both and order.index("stroke") < order.index("fill")
        if not drawn and not turned and (opaque or not both):
            return
        group = wrap(element, "transform", "opacity", "clip-path", "mask")
        if turned:
            first = copy.deepcopy(element)
            strip(first, "id")
            first.set("fill", "none")
            element.set("stroke", "none")
            element.addprevious(first)
        below = 0 if order[0] == "markers" else len(group)
        for number, mark in enumerate(drawn):
            group.insert(below + number, mark)

    def _shows_through(self, element: etree._Element, context: Context) -> bool:
        """Whether what lies under a shape's stroke may be seen."""
        style = context.style
        clear = any(share(element.get(name, style.get(name))) < 1 for name in _SHARES)
        wide = length(element.get("stroke-width", style["stroke-width"]))
        dashes = element.get("stroke-dasharray", style["stroke-dasharray"])
        stroke = element.get("stroke", style["stroke"])
        return clear or not wide or dashes != "none" or stroke[:4] in ("none", "rgba", "url(")

    def _unscaled(self, element: etree._Element, tag: str, context: Context) -> Context:
        """Gives a stroke that does not scale its width in the shape's own units (SVG 2, 13.7.2).

        Where those are stretched or skewed, the shape becomes a path in the page's pixels.
        """
        strip(element, "vector-effect")
        if context.style["stroke"] == "none":
            return context
        if element.getroottree().getroot() is not self._root:
            raise error(element, PART_UNSCALED, self._defs.name)
        to_page = self._to_pixels @ page_matrix(element)
        scale = abs(to_page.a * to_page.d - to_page.b * to_page.c) ** 0.5
        if not scale:
            return context
        even = math.isclose(to_page.scale_x, to_page.scale_y, rel_tol=1e-4) and math.isclose(
            to_page.scale_x, scale, rel_tol=1e-4
        )
        if not even:
            paints = (element.get(which, context.style[which]) for which in ("fill", "stroke"))
            marked = any(context.style[kind] != "none" for kind in KINDS)
            if marked or any(paint.startswith("url(") for paint in paints):
                raise error(element, PART_UNSCALED, self._defs.name)
            data = outline(element).moved(to_page.point)
            wrap(element, "transform", "clip-path", "mask", "opacity")
            strip(element, *_GEOMETRY.get(tag, {}), "points")
            element.tag = SVG + "path"
            element.set("d", written(data))
            element.set("transform", written_matrix(to_page.inverse()))
            scale = 1.0
        style = dict(context.style)
        for name in ("stroke-width", "stroke-dashoffset", "stroke-dasharray"):
            if style[name] != "none":
                style[name] = " ".join(f"{part / scale:.9g}" for part in lengths(style[name]))
                element.set(name, style[name])
        return context._replace(style=style)

    def _own_opacity(self, root: etree._Element) -> None:
        """An opacity on the root is one of all that is drawn."""
        if root.get("opacity") not in (None, "1") or root.get("clip-path") or root.get("mask"):
            moved = ("opacity", "clip-path", "mask")
            group = etree.Element(SVG + "g", {n: str(root.get(n)) for n in moved if root.get(n)})
            strip(root, *moved)
            group.extend(list(root))
            root.append(group)


def _sound(numbers: Sequence[float]) -> bool:
    """Whether numbers can be on a page or near it."""
    return not numbers or (
        min(numbers) >= -MOST_UNITS and max(numbers) <= MOST_UNITS and math.isfinite(sum(numbers))
    )


def _is_flat(data: PathData) -> bool:
    """Whether a path is made of single lines, which have no inside."""
    return _FLAT.fullmatch(data.operators) is not None


_FINEST = 0.01
"""Dashes and gaps that make less than this together, in CSS pixels, no printer can tell apart."""
_FLAT = re.compile(r"(?:ML?Z?)*+")
_LINES = re.compile(r"[^CcSsQqTtAa]{0,100}+\Z")
"""Short path data without curves, which may be flat."""
_LARGE = re.compile(r"\d{8}")
"""Digits that may be a number too large; so may be what has an exponent."""


def _referred(element: etree._Element, box: Rect | None, room: Rect, aspect: Aspect) -> Rect:
    """The room of a symbol, moved so that its point of reference lies at its place (SVG 2, 5.5)."""
    matrix = fitted(box, room, aspect) if box else Matrix(e=room.x, f=room.y)
    said = element.get("refX"), element.get("refY")
    point = matrix.point(reference(said[0], box, 0), reference(said[1], box, 1))
    dx, dy = (room[axis] - point[axis] if said[axis] is not None else 0.0 for axis in (0, 1))
    return room.moved(dx, dy)


def _drop_references(element: etree._Element) -> None:
    """Takes paint that only what is inside can use off a group; those have it themselves."""
    for which in ("fill", "stroke"):
        value = element.get(which) or ""
        if value.startswith(("url(", "context-")) or value == "currentColor":
            strip(element, which)
