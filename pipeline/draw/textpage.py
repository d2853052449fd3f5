"""Layers with nothing in them but plain text, drawn without building a tree for CairoSVG.

The text itself is set by the very code that sets it on a ``Canvas``; only the way to it is short.
"""

from __future__ import annotations

import functools
from typing import Any

import cairocffi
from cairosvg.colors import color
from cairosvg.parser import NOT_INHERITED_ATTRIBUTES
from lxml import etree

from pipeline.base.geometry import pt
from pipeline.draw.blank import BlankFace
from pipeline.draw.canvas import SET_TEXT, set_text
from pipeline.draw.paper import Paper
from pipeline.svg.transform import parse_transform
from pipeline.svg.tree import SVG
from pipeline.text.fonts import FontBook
from pipeline.text.style import length

_PLAIN = frozenset(SVG + name for name in ("svg", "g", "a", "text", "tspan"))
_NOT_PLAIN = frozenset(
    ("mask", "filter", "clip-path", "clip", "transform-origin", "display", "class", "font")
)


class _Plain:
    """What text setting asks of a surface, and no more."""

    dpi = 96
    stroke_and_fill = True

    def __init__(
        self,
        context: cairocffi.Context,
        size: tuple[float, float],
        book: FontBook,
        where: str,
        language: str,
        blank: BlankFace | None,
    ) -> None:
        self.context = context
        self.context_width, self.context_height = size
        self.font_size = 16.0
        self.book, self.where, self.language, self.blank = book, where, language, blank
        self.gradients: dict[str, Any] = {}
        self.patterns: dict[str, Any] = {}
        self.paths: dict[str, Any] = {}

    def map_color(self, string: str, opacity: float = 1) -> tuple[float, float, float, float]:
        """Red, green, blue and alpha of a colour."""
        red, green, blue, alpha = color(string, opacity)
        return red, green, blue, alpha


class _Element:
    """Where a node keeps the attributes that are its own."""

    def __init__(self, etree_element: dict[str, str]) -> None:
        self.etree_element = etree_element


class _Node(dict[str, Any]):
    """An element with its inherited properties, as CairoSVG's nodes give them."""

    def __init__(self, element: etree._Element, parent: _Node | None) -> None:
        own = {str(name): str(value) for name, value in element.attrib.items()}
        style = own.pop("style", "")
        for declaration in style.split(";") if style else ():
            name, colon, value = declaration.partition(":")
            if colon:
                own[name.strip()] = value.strip()
        super().__init__(parent.handed_down if parent is not None else {}, **own)
        self.element = _Element(own)
        self.parent = parent
        self.tag = str(element.tag).removeprefix(SVG)
        self.text = element.text
        self.children: tuple[_Node, ...] = ()
        self.text_children_kept: tuple[_Node, ...] = ()

    @functools.cached_property
    def handed_down(self) -> dict[str, Any]:
        """What its children inherit."""
        return {name: value for name, value in self.items() if name not in NOT_INHERITED_ATTRIBUTES}


def draw_text_page(
    svg: bytes,
    paper: Paper,
    book: FontBook,
    where: str,
    language: str,
    blank: BlankFace | None,
) -> bool:
    """Draws an SVG in mm onto the paper's page, if there is nothing in it but plain text.

    Tells whether it did; if not, nothing was drawn. Raises UserError for fonts or characters that
    cannot be had.
    """
    root = etree.fromstring(svg)
    if not all(_is_plain(element) for element in root.iter()):
        return False
    wide, high = (float(str(root.get(side, "")).removesuffix("mm")) for side in ("width", "height"))
    context = cairocffi.Context(paper.page(pt(wide), pt(high)))
    # By way of CSS pixels as on a canvas: readers snap letters to pixels, and the last digit of
    # a place may decide to which.
    context.scale(0.75, 0.75)
    context.scale(length("1mm"), length("1mm"))
    canvas = _Plain(context, (wide, high), book, where, language, blank)
    _draw(root, None, canvas)
    return True


def _is_plain(element: etree._Element) -> bool:
    if element.tag not in _PLAIN:
        return False
    attributes = element.attrib
    if any(name in _NOT_PLAIN for name in attributes):
        return False
    if element.tag == SVG + "svg":
        return element.getparent() is None and str(element.get("width", "")).endswith("mm")
    if element.tag in (SVG + "g", SVG + "a") and float(element.get("opacity") or 1) < 1:
        return False
    if any("url(" in str(value) or value == "inherit" for value in attributes.values()):
        return False
    if element.tag == SVG + "text":
        return _is_chain(element)
    return True


def _is_chain(text: etree._Element) -> bool:
    """Whether a text is one element in another with nothing beside them, and no spare space."""
    element = text
    while len(element):
        if len(element) > 1 or (element.text or "").strip() or (element[0].tail or "").strip():
            return False
        element = element[0]
    words = element.text or ""
    return words == " ".join(words.split(" ")) and words == words.strip() and "\n" not in words


def _draw(element: etree._Element, parent: _Node | None, canvas: _Plain) -> None:
    node = _Node(element, parent)
    context = canvas.context
    transform = element.get("transform")
    if transform:
        context.save()
        context.transform(cairocffi.Matrix(*parse_transform(transform)))
    if element.tag == SVG + "text":
        inner, at = element, node
        while len(inner):
            at.text = None
            child = _Node(inner[0], at)
            at.children = at.text_children_kept = (child,)
            inner, at = inner[0], child
        node.tag = SET_TEXT
        canvas.font_size = length(str(node.get("font-size", "")), default=16.0)
        set_text(canvas, node)
    else:
        for child_element in element:
            _draw(child_element, node, canvas)
    if transform:
        context.restore()
