"""Turns every way that SVG has of saying a thing into one, so that drawing is short and dull.

What is left: groups, shapes, texts and pictures with plain numbers; flat colours, and gradients
and patterns in user units; clips of one path. Gone are ``use``, symbols, nested viewports,
``switch``, percentages, keywords, markers, the order of painting and everything in units of a
box. Expects styles to be attributes already.
"""

from __future__ import annotations

import copy
import functools
import math
import operator
import re
from collections.abc import Callable, Mapping, Sequence

from lxml import etree

from pipeline.base.errors import UserError
from pipeline.base.geometry import NUMBER, Rect
from pipeline.svg.clip import clip, clip_to, filtered, mask, text_shadow
from pipeline.svg.markers import (
    KINDS,
    draw_points,
    encloses,
    marks,
    may_have_points,
    plain_dashes,
    reference,
)
from pipeline.svg.paint import (
    COST,
    INITIAL,
    MASK_COST,
    PLAIN_COLOUR,
    SIDES,
    WHOLE,
    Context,
    Definitions,
    bind_context,
    colour,
    declared,
    drop_context,
    paint,
    paint_order,
    put_transform,
    share,
    styled_group,
    viewport,
    wrap,
    written_matrix,
)
from pipeline.svg.path import (
    SHAPES,
    PathData,
    box_of,
    outline,
    path_data,
    tight_box,
    written,
)
from pipeline.svg.refusals import (
    COLUMN_ON_PATH,
    ENDLESS,
    FLOW_SHAPE,
    MOST_DEPTH,
    MOST_UNITS,
    PART_FOR_LANGUAGE,
    PART_SHADOW,
    PART_UNSCALED,
    STRETCHED_UNSCALED,
    TOO_DEEP,
    TOO_FINE,
    TOO_LARGE,
    Unsupported,
    error,
    reading,
    refuse,
    refuse_depth,
    refuse_excess,
)
from pipeline.svg.styles import KEYWORDS, resolve_styles
from pipeline.svg.transform import Aspect, Matrix, fitted, is_plain, parse_transform, view_box
from pipeline.svg.tree import (
    DEFINITIONS,
    FLOW,
    HREFS,
    LANGUAGES,
    NAMES,
    SVG,
    Languages,
    drawing_of,
    href,
    inherited,
    lineage,
    page_matrix,
    remove,
    size_of,
    strip,
    target,
)
from pipeline.text.style import (
    INITIAL_TYPE,
    VARIANTS,
    font_size,
    font_weight,
    leading,
    length,
    lengths,
)

_GEOMETRY = {
    "rect": {"x": "x", "y": "y", "width": "x", "height": "y", "rx": "x", "ry": "y"},
    "image": {"x": "x", "y": "y", "width": "x", "height": "y"},
    "circle": {"cx": "x", "cy": "y", "r": ""},
    "ellipse": {"cx": "x", "cy": "y", "rx": "x", "ry": "y"},
    "line": {"x1": "x", "y1": "y", "x2": "x", "y2": "y"},
    "text": {"x": "x", "y": "y", "dx": "x", "dy": "y", "textLength": "x"},
}
"""Lengths of each element, and what their percentages are shares of."""

_OPEN = frozenset(("path", "line", "polyline", "polygon"))
"""Shapes that may have no area, or parts of no length."""

_PLACES = {**_GEOMETRY, "path": ("d",), "polyline": ("points",), "polygon": ("points",)}
"""Attributes that say where a shape is."""

_STROKE = ("stroke-width", "stroke-dashoffset")
_LINE = (*_STROKE, "stroke-dasharray")
_WORDS = {
    "stroke-linejoin": ("miter", "round", "bevel"),
    "stroke-linecap": ("butt", "round", "square"),
}  # fmt: skip
_NEAREST = {"arcs": "miter", "miter-clip": "miter"}
"""Joins that PDF does not have, and those most like them."""

_SHARES = ("opacity", "fill-opacity", "stroke-opacity")
_KNOWN = SHAPES | {"svg", "g", "a", "use", "switch", "text", "flowRoot", "image"}
"""What is drawn; what nobody knows is passed over with all in it (SVG 2, 5.3)."""

_MOST_PLAIN_DEPTH = 2 * MOST_DEPTH
"""Groups in each other in the plain form, which may put several around what was one."""

_TEXT_INSIDES = frozenset(SVG + name for name in ("tspan", "textPath", "a"))


def simplify(
    root: etree._Element, name: str, refused: list[UserError] | None = None, work: int = 0
) -> None:
    """Simplifies a drawing in place; ``name`` is its file's, for errors, ``work`` what was done on
    the drawing that it is a picture in.

    Raises UserError for the first thing that would not be drawn right. With a list ``refused``,
    what is refused is taken out and its error added to the list, and the rest is simplified.
    """
    defs = Definitions(root, name, work)
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
    with reading(name):
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
        self._pictures = 0
        """How many drawings have been put into this one as pictures."""
        self._blends = False
        """Whether anything blends with what is below it."""
        defs.simplify_children = self.children

    def run(self, root: etree._Element, context: Context) -> None:
        """Makes all under the root plain and puts the definitions made on the way into it."""
        self._root = root
        self._keywords(root)
        self._blends = any("mix-blend-mode" in element.attrib for element in root.iter())
        inside = self._inside(root, context)
        self.children(root, inside)
        self._own_effects(root, inside)
        for element in list(root.iter(*DEFINITIONS)):
            remove(element)
        for tree in (root, self._defs.tree):
            drop_context(tree)
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
        if self._refused is None:
            work(element, context)
            return
        parent = element.getparent()
        try:
            with reading(self._defs.name):
                work(element, context)
        except UserError as problem:
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
        if not self._blends and _is_plain(element):
            own = declared(element)
            style = {**context.style, **own} if own else context.style
            if tag == "g":
                if element.get("opacity", "1") != "1":
                    self._defs.count(element, COST)
                self.children(element, context._replace(style=style))
                return
            if tag == "path" and _is_plain_path(element, style):
                return
        self._languages(element)
        self._keywords(element)
        self._transform(element, context)
        used = tag == "use"
        if tag == "switch":
            self._switch(element)
            tag = "g"
        elif tag == "flowRoot":
            self._flow_root(element, context)
            tag = "text"
        elif used:
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
            if used:
                bind_context(element, element, inside, self._defs)
            strip(element, *KINDS)
            _drop_references(element)
        elif tag == "text":
            self._defs.count(element, COST)
            self._defs.count_letters(element)
            self._text(element, inside)
        elif tag == "image":
            if not href(element):
                remove(element)
                return
            self._defs.count(element, COST)
            self._lengths(element, "image", inside)
            element = self._picture(element, inside)
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
            if name in attributes and not str(attributes[name]).strip():
                strip(element, name)
            elif name in attributes:
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
        if "text-decoration-line" in attributes and "text-decoration" not in attributes:
            element.set("text-decoration", str(attributes["text-decoration-line"]))
        strip(element, "text-decoration-line")
        variant = element.get("font-variant")
        if variant is not None:
            strip(element, "font-variant")
            for name, words in VARIANTS.items():
                own = " ".join(word for word in variant.split() if word in words)
                element.set(name, element.get(name, own or "normal"))

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
        for part in probe.iter(etree.Element):  # a stroke is no part of a box
            strip(part, "vector-effect")
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
        spacing = str(attributes.get("line-height", ""))
        if spacing and not NUMBER.fullmatch(spacing):  # a length, for all that is inside
            element.set("line-height", f"{leading(spacing, em):.9g}px")
        for name in _STROKE:
            if name in attributes and not NUMBER.fullmatch(str(attributes[name])):
                whole = context.whole("")
                value = length(str(attributes[name]), em, whole, math.nan)
                if math.isnan(value):  # as if it were not there
                    del attributes[name]
                else:
                    element.set(name, f"{value:.9g}")
        for name in ("stroke-width", "font-size"):
            if name in attributes and not _sound([length(attributes[name], em)]):
                raise error(element, TOO_LARGE, self._defs.name)
        for name, words in _WORDS.items():
            if name in attributes and attributes[name] not in words:
                plain = _NEAREST.get(str(attributes[name]))
                element.set(name, plain) if plain else strip(element, name)
        limit = attributes.get("stroke-miterlimit")
        if limit is not None and not (NUMBER.fullmatch(str(limit)) and float(limit) >= 1):
            strip(element, "stroke-miterlimit")  # an error, by SVG 2, 13.5.5
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
            room = _referred(element, context.em, box, room, aspect)
        shown = _shown(element, room, context)
        element.tag = SVG + "g"
        strip(element, *SIDES, "viewBox", "preserveAspectRatio", "overflow", "clip", "version")
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
        if shown is not None:
            clip_to(content, shown, self._defs)
        strip(element, *KINDS)
        _drop_references(element)

    def _picture(self, element: etree._Element, context: Context) -> etree._Element:
        """Gives a picture its pixels as its size, so that it lies in its box as it asks to."""
        drawing = drawing_of(href(element))
        size = _size_of_drawing(drawing) if drawing is not None else size_of(href(element))
        if size is None:
            return element
        width = length(element.get("width"), default=-1.0)
        height = length(element.get("height"), default=-1.0)
        if width < 0:
            width = size[0] * (height / size[1] if height >= 0 else 1.0)
        if height < 0:
            height = size[1] * width / size[0]
        room = Rect(length(element.get("x")), length(element.get("y")), width, height)
        if not width or not height or context.style["visibility"] != "visible":
            strip(element, *HREFS)
            return element
        aspect = Aspect.of(element.get("preserveAspectRatio"))
        shown = _shown(element, room, context)
        group = wrap(element, "transform", *WHOLE)
        strip(element, *SIDES, "overflow", "clip")
        if drawing is not None:
            self._drawing(element, drawing)
        else:
            element.set("width", f"{size[0]:g}")
            element.set("height", f"{size[1]:g}")
        element.set("preserveAspectRatio", "none")
        box = (drawing is not None and view_box(drawing.get("viewBox"))) or Rect(0, 0, *size)
        put_transform(element, fitted(box, room, aspect))
        if shown is not None and (drawing is not None or aspect.slice or shown != room):
            clip_to(element, shown, self._defs)
        return group

    def _drawing(self, element: etree._Element, drawing: etree._Element) -> None:
        """Puts a picture's drawing into it, with styles and definitions of its own."""
        name = self._defs.name
        try:
            refuse_excess(drawing, name)
            self._defs.count(element, sum(1 for _ in drawing.iter()))
            resolve_styles(drawing)
            refuse(drawing, name)
            style = {**INITIAL, **declared(drawing)}
            simplify(drawing, name, work=self._defs.work)
        except UserError as problem:
            feature = Unsupported(
                f"a picture that is a drawing with {problem.what}", "", problem.remedy
            )
            raise error(element, feature, name) from None
        self._pictures += 1
        for inner in drawing.iter(etree.Element):
            self._defs.count(element)
            if LANGUAGES in inner.attrib and element.getroottree().getroot() is not self._root:
                raise error(element, PART_FOR_LANGUAGE, name)
            for attribute, value in inner.attrib.items():
                if attribute == "id" or "#plain-" in str(value):
                    said = str(value).replace("plain-", f"picture-{self._pictures}-plain-")
                    inner.set(attribute, said)
        element.tag = SVG + "g"
        strip(element, *HREFS)
        content = styled_group(style)
        if any("mix-blend-mode" in inner.attrib for inner in drawing.iter(etree.Element)):
            content.set("isolation", "isolate")
        for child in drawing:
            (self._defs.tree if child.tag in DEFINITIONS else content).append(child)
        element.append(content)

    # What leaves ink

    def _text(self, element: etree._Element, context: Context) -> None:
        self._lengths(element, "text", context)
        if element.tag == SVG + "text" and FLOW not in element.attrib:
            self._flow(element, context)
        self._paints(element, context)
        if element.get("stroke", context.style["stroke"]) != "none":
            plain_dashes(element, context.style)
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
        around = element.getparent()
        shadow = (around is not None and inherited(around, "text-shadow")) or "none"
        if element.get("text-shadow", shadow) != shadow:
            raise error(element, PART_SHADOW, self._defs.name)
        # A text runs one way (SVG 2, 11.6.1) and is filtered and blended as a whole.
        strip(element, "writing-mode", "filter", "mix-blend-mode", "isolation")
        inside = self._inside(element, context)
        self._text(element, inside)
        for name, make_plain in (("mask", mask), ("clip-path", clip)):
            if element.get(name) and not make_plain(element, inside, self._defs):
                element.set("opacity", "0")

    def _flow_root(self, element: etree._Element, context: Context) -> None:
        """Makes a flowRoot, as an older draft of SVG 1.2 had it, a text that flows."""
        regions = [child for child in element if child.tag in _REGIONS]
        shapes = [shape for region in regions for shape in region.iterchildren(tag=etree.Element)]
        for region in regions:
            remove(region)
        written_out = "".join(map(str, element.itertext())).strip()
        for para in list(element.iter(SVG + "flowPara", SVG + "flowLine", SVG + "flowDiv")):
            last = para[-1] if len(para) else None
            if para.tag != SVG + "flowDiv" and (len(para) or para.text):
                if last is None:
                    para.text = (para.text or "") + "\u2028"
                else:
                    last.tail = (last.tail or "") + "\u2028"
            para.tail = None
        for part in element.iterdescendants(tag=etree.Element):
            if str(part.tag).startswith(SVG + "flow"):
                part.tag = SVG + "tspan"
        element.tag = SVG + "text"
        element.text = None
        room = self._upright(shapes[0], context) if len(shapes) == 1 else None
        if room is None and written_out:
            raise error(element, FLOW_SHAPE, self._defs.name)
        if room is not None:
            element.set(FLOW, _numbers(*room))

    def _flow(self, element: etree._Element, context: Context) -> None:
        """Says what a text flows into (SVG 2, 11.5) if its lines are not in the file.

        An editor's own lines stay as they are, but for those below the shape: it hides them.
        """
        shape = target(element.get("shape-inside"))
        shape = shape if self._defs.find(shape) is not None else None
        wide = length(element.get("inline-size"), context.em, context.width)
        lines = [part for part in element.iterdescendants(SVG + "tspan") if part.get("y")]
        cut = shape is not None and element.get("shape-subtract", "none") != "none"
        room = self._upright(self._defs.find(shape), context) if shape else None
        if lines:
            held = self._held(self._defs.find(shape), context) if shape else None
            for line in lines:
                if held is not None and length(line.get("y")) > held.bottom:
                    remove(line)
        elif shape and "".join(map(str, element.itertext())).strip():
            if room is None or cut:
                raise error(element, FLOW_SHAPE, self._defs.name)
            padding = length(element.get("shape-padding"), context.em)
            element.set(FLOW, _numbers(*room.grown(-padding)))
        elif wide > 0:
            x, y = (length((element.get(name) or "0").split()[0]) for name in ("x", "y"))
            element.set(FLOW, _numbers(x, y, wide))
        strip(element, "shape-inside", "shape-padding", "shape-subtract", "inline-size")

    def _held(self, shape: etree._Element | None, context: Context) -> Rect | None:
        """The box of a shape that text flows into, in the text's units."""
        data = self._outlined(shape, context)
        return tight_box(data) if data is not None else None

    def _upright(self, shape: etree._Element | None, context: Context) -> Rect | None:
        """The box of a shape if it is a rectangle that stands upright."""
        data = self._outlined(shape, context)
        box = tight_box(data) if data is not None else None
        if data is None or box is None or "C" in data.operators:
            return None
        ends = (points[-1] for _, _, points in data.segments())
        corners = {(round(x - box.x, 4), round(y - box.y, 4)) for x, y in ends}
        width, height = round(box.width, 4), round(box.height, 4)
        wanted = {(0.0, 0.0), (width, 0.0), (0.0, height), (width, height)}
        return box if corners == wanted else None

    def _outlined(self, shape: etree._Element | None, context: Context) -> PathData | None:
        """The path of a shape of the file, its ``transform`` counted; None for what is no shape."""
        if shape is None or str(shape.tag).removeprefix(SVG) not in SHAPES:
            return None
        twin = copy.deepcopy(shape)
        self._keywords(twin)
        self._transform(twin, context)
        self._lengths(twin, str(twin.tag).removeprefix(SVG), context)
        return outline(twin).moved(parse_transform(twin.get("transform")).point)

    def _path_of_text(self, element: etree._Element, context: Context) -> None:
        """Gives a text its path as a definition of its own, wherever it came from.

        Without one its letters are not drawn (SVG 2, 11.8.1).
        """
        if (inherited(element, "writing-mode") or "").startswith(("tb", "vertical", "sideways")):
            raise error(element, COLUMN_ON_PATH, self._defs.name)
        plain = etree.Element(SVG + "path")
        shown = self._defs.find(href(element).removeprefix("#"))
        if path_data(element.get("path", "")).coordinates:  # goes before a link
            plain.set("d", written(path_data(str(element.get("path")))))
        elif shown is not None and (data := self._outlined(shown, context)) is not None:
            plain.set("d", written(data))
            if shown.get("pathLength"):
                plain.set("pathLength", str(shown.get("pathLength")))
        else:
            remove(element)
            return
        strip(element, *HREFS, "path")
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
        """Filter, clip, mask, markers, order of painting of an element that is plain else."""
        if self._blends:
            _isolate(element)
        if "mix-blend-mode" in element.attrib or (
            tag not in SHAPES and element.get("opacity", "1") != "1"
        ):
            self._defs.count(element, COST)
        for name, make_plain in (("filter", filtered), ("mask", mask), ("clip-path", clip)):
            if target(element.get(name)):
                self._defs.count(element, MASK_COST if name == "mask" else COST)
            if element.get(name) and not make_plain(element, context, self._defs):
                remove(element)
                return
        if tag in SHAPES:
            self._shape(element, tag, context)
        elif tag == "text" and inherited(element, "text-shadow"):
            text_shadow(element, context, self._defs)

    def _shape(self, element: etree._Element, tag: str, context: Context) -> None:
        drawn = []
        said = " ".join(element.get(name) or "" for name in _PLACES.get(tag, ()))
        if ("e" in said or "E" in said or _LARGE.search(said)) and not _sound(
            outline(element).coordinates
        ):
            raise error(element, TOO_LARGE, self._defs.name)
        if element.get("vector-effect") == "non-scaling-stroke":
            context = self._unscaled(element, tag, context)
        if any(context.style[kind] != "none" for kind in KINDS):
            if context.style["visibility"] == "visible":
                drawn = marks(element, context, self._defs)
            strip(element, *KINDS)
        if element.get("stroke", context.style["stroke"]) != "none":
            plain_dashes(element, context.style)
        fill = element.get("fill", context.style["fill"])
        stroke = element.get("stroke", context.style["stroke"])
        if tag in _OPEN:
            if fill != "none" and not encloses(outline(element)):
                fill = "none"
                element.set("fill", fill)
            if stroke != "none":
                draw_points(element, context.style)
        both = fill != "none" and stroke != "none"
        order = paint_order(context.style["paint-order"])
        strip(element, "paint-order")
        opaque = float(element.get("opacity") or 1) >= 1
        at_once = order.index("stroke") == order.index("fill") + 1
        if not drawn and (not both or (opaque and order.index("stroke") > order.index("fill"))):
            return
        group = wrap(element, "transform", *WHOLE)
        parts = {"fill": [element], "stroke": [], "markers": drawn}
        if both and not at_once:
            line = copy.deepcopy(element)
            strip(line, "id")
            line.set("fill", "none")
            element.set("stroke", "none")
            parts["stroke"] = [line]
        elif not both and fill == "none":
            parts = {**parts, "fill": [], "stroke": [element]}
        for step in order:
            group.extend(parts[step])

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
        if to_page.is_flat:
            return context
        scale = abs(to_page.a * to_page.d - to_page.b * to_page.c) ** 0.5
        even = math.isclose(to_page.scale_x, to_page.scale_y, rel_tol=1e-4) and math.isclose(
            to_page.scale_x, scale, rel_tol=1e-4
        )
        if not even:
            paints = (element.get(which, context.style[which]) for which in ("fill", "stroke"))
            marked = any(context.style[kind] != "none" for kind in KINDS)
            if marked or any(paint.startswith(("url(", "context-")) for paint in paints):
                raise error(element, STRETCHED_UNSCALED, self._defs.name)
            data = outline(element).moved(to_page.point)
            wrap(element, "transform", *WHOLE)
            strip(element, *_GEOMETRY.get(tag, {}), "points")
            element.tag = SVG + "path"
            element.set("d", written(data))
            element.set("transform", written_matrix(to_page.inverse()))
            scale = 1.0
        style = dict(context.style)
        shares = "pathLength" in element.attrib  # which dashes are, at any scale
        for name in ("stroke-width",) if shares else _LINE:
            if style[name] != "none":
                style[name] = " ".join(f"{part / scale:.9g}" for part in lengths(style[name]))
                element.set(name, style[name])
        return context._replace(style=style)

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


def _is_plain(element: etree._Element) -> bool:
    """Whether all that an element itself says is in the plain form already."""
    for name, value in element.items():
        if name[0] == "{":
            if value in KEYWORDS:
                return False
        elif name not in _FREE and not _is_plain_value(name, value):
            return False
    return True


_FREE = frozenset(("d", "id", NAMES))


@functools.lru_cache(maxsize=20_000)
def _is_plain_value(name: str, value: str) -> bool:
    """Whether a property of lines or colours is in its plain form; of others it is not known."""
    if name in ("fill", "stroke"):
        return PLAIN_COLOUR.fullmatch(value) is not None
    if name == "transform":
        return is_plain(value) and _sound(parse_transform(value))
    if name in _PLAIN_WORDS:
        return value in _PLAIN_WORDS[name]
    least, most = _PLAIN_NUMBERS.get(name, (1, 0))
    return NUMBER.fullmatch(value) is not None and least <= float(value) <= most


_PLAIN_WORDS = {**_WORDS, "fill-rule": ("nonzero", "evenodd")}
_PLAIN_NUMBERS = {
    **dict.fromkeys(_SHARES, (0, 1)),
    "stroke-width": (0, MOST_UNITS),
    "stroke-miterlimit": (1, MOST_UNITS),
}


def _is_plain_path(element: etree._Element, style: Mapping[str, str]) -> bool:
    """Whether a path that says nothing but plain things is drawn as it stands, in a ``style``."""
    d, fill, stroke = str(element.get("d") or ""), style["fill"], style["stroke"]
    if d[:1] not in ("M", "m") or _BESIDES(style) != _NOTHING_BESIDES:
        return False
    data = path_data(d)
    places = data.coordinates
    if not places or min(places) < -MOST_UNITS or max(places) > MOST_UNITS:
        return False
    if fill != "none" and not (fill[0] == "#" and encloses(data)):
        return False
    if stroke == "none":
        return True
    if stroke[0] != "#" or (style["stroke-linecap"] != "butt" and may_have_points(data)):
        return False
    return fill == "none" or float(element.get("opacity") or 1) >= 1


_BESIDES = operator.itemgetter(*KINDS, "paint-order", "stroke-dasharray")
_NOTHING_BESIDES = ("none", "none", "none", "normal", "none")


_REGIONS = (SVG + "flowRegion", SVG + "flowRegionExclude")


def _numbers(*values: float) -> str:
    return " ".join(f"{value:.9g}" for value in values)


def _size_of_drawing(drawing: etree._Element) -> tuple[float, float]:
    """How large a drawing is by itself, in user units (CSS Images 3, 4.3 where it does not say)."""
    box = view_box(drawing.get("viewBox"))
    said = [drawing.get(side, "") for side in ("width", "height")]
    width, height = (length(one, default=-1.0) if "%" not in one else -1.0 for one in said)
    ratio = box.width / box.height if box is not None else 2.0
    if width <= 0:
        width = height * ratio if height > 0 else box.width if box is not None else 300.0
    return width, height if height > 0 else width / ratio


def _shown(element: etree._Element, room: Rect, context: Context) -> Rect | None:
    """What of an element's room is to be seen, by its ``overflow`` and the old ``clip``, whose
    numbers are from the room's top and left (CSS 2, 11.1.2); None for all of it and more."""
    if element.get("overflow", "hidden") not in ("hidden", "scroll"):
        return None
    ends = (element.get("clip") or "").strip().lower().removeprefix("rect(").removesuffix(")")
    said = ends.replace(",", " ").split()
    if len(said) != 4:
        return room
    top, right, bottom, left = (
        whole if one == "auto" else length(one, context.em)
        for one, whole in zip(said, (0.0, room.width, room.height, 0.0), strict=True)
    )
    return Rect(room.x + left, room.y + top, max(right - left, 0.0), max(bottom - top, 0.0))


def _sound(numbers: Sequence[float]) -> bool:
    """Whether numbers can be on a page or near it."""
    return not numbers or (
        min(numbers) >= -MOST_UNITS and max(numbers) <= MOST_UNITS and math.isfinite(sum(numbers))
    )


_FINEST = 0.01
"""Dashes and gaps that make less than this together, in CSS pixels, no printer can tell apart."""
_LARGE = re.compile(r"\d{8}")
"""Digits that may be a number too large; so may be what has an exponent."""


def _referred(
    element: etree._Element, em: float, box: Rect | None, room: Rect, aspect: Aspect
) -> Rect:
    """The room of a symbol, moved so that its point of reference lies at its place (SVG 2, 5.5)."""
    matrix = fitted(box, room, aspect) if box else Matrix(e=room.x, f=room.y)
    said = element.get("refX"), element.get("refY")
    shown = box or Rect(0, 0, room.width, room.height)
    point = matrix.point(*(reference(said[axis], em, shown, axis) for axis in (0, 1)))
    dx, dy = (room[axis] - point[axis] if said[axis] is not None else 0.0 for axis in (0, 1))
    return room.moved(dx, dy)


def _drop_references(element: etree._Element) -> None:
    """Takes paint that only what is inside can use off a group; those have it themselves."""
    for which in ("fill", "stroke"):
        value = element.get(which) or ""
        if value.startswith(("url(", "context-")) or value == "currentColor":
            strip(element, which)
            _hand_down_lines(element)


def _hand_down_lines(group: etree._Element) -> None:
    """Lets the texts in a group draw its lines, with their own paint in place of the group's."""
    names = [str(name) for name in group.attrib if str(name).startswith("text-decoration")]
    said = {name: str(group.get(name)) for name in names}
    strip(group, *names)
    for text in group.iter(SVG + "text") if said else ():
        for name, value in said.items():
            text.set(name, text.get(name, value))
