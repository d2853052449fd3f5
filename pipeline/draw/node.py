"""The elements of an SVG as CairoSVG's functions take them: dictionaries of what holds for each.

CairoSVG's own tree asks a stylesheet about each element; in the plain form there is none to ask.
"""

from __future__ import annotations

import functools
import re
from collections.abc import Iterator
from typing import Any

from cairosvg.parser import COLOR_ATTRIBUTES, NOT_INHERITED_ATTRIBUTES
from lxml import etree

from pipeline.svg.tree import SVG, href

_SPACE = "{http://www.w3.org/XML/1998/namespace}space"
_PARSER = etree.XMLParser(
    huge_tree=True, remove_comments=True, remove_pis=True, resolve_entities=False
)


class Node(dict[str, Any]):
    """An element with the properties that hold for it; ``own`` are those it states itself."""

    url = None

    def __init__(self, element: etree._Element, parent: Node | None = None) -> None:
        self.element = element
        self.parent = parent
        self.tag = str(element.tag).removeprefix(SVG)
        self.own = {str(name): str(value) for name, value in element.attrib.items()}
        super().__init__(parent.handed_down if parent is not None else {}, **self.own)
        for name, value in self.own.items():
            if value == "inherit":
                self[name] = parent.get(name) if parent is not None else None
            elif value == "currentColor" and name in COLOR_ATTRIBUTES:
                self[name] = self.get("color", "black")
        self.text = element.text or ""
        self.in_text: bool = self.tag == "text" or (parent is not None and parent.in_text)
        self.children = list(self._inner(element))
        if self.tag == "text":
            _settle(self, True)
            if not self.children and self.get(_SPACE) != "preserve":
                self.text = self.text.rstrip(" ")

    def _inner(self, element: etree._Element) -> Iterator[Node]:
        """Its children; words that stand after one within a text become children too."""
        for child in element:
            yield Node(child, self)
            if self.in_text and child.tail:
                words = Node(etree.Element(SVG + "tspan"), self)
                words.text = child.tail
                yield words

    @functools.cached_property
    def handed_down(self) -> dict[str, Any]:
        """What its children inherit."""
        return {name: value for name, value in self.items() if name not in NOT_INHERITED_ATTRIBUTES}

    def get_href(self) -> str | None:
        """What it refers to."""
        return href(self.element)


def tree(svg: bytes) -> Node:
    """The root of an SVG in its plain form, with all that is in it."""
    return Node(etree.fromstring(svg, _PARSER))


def _settle(node: Node, spaced: bool) -> bool:
    """Leaves the white space of a text that SVG wants kept (1.1, 10.15).

    ``spaced`` tells whether what comes before ends in a space; so does the result for the text.
    """
    if node.get(_SPACE) == "preserve":
        node.text = re.sub(r"[\n\r\t]", " ", node.text)
    else:
        node.text = re.sub(r"[ \t]+", " ", re.sub(r"[\n\r]", "", node.text))
        node.text = node.text.lstrip(" ") if spaced else node.text
    spaced = node.text.endswith(" ") if node.text else spaced
    for child in node.children:
        spaced = _settle(child, spaced)
    return spaced
