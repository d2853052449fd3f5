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
_REFERRING = frozenset(("inherit", "currentColor"))
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
        super().__init__(parent.handed_down if parent is not None else {})
        self.update(self.own)
        if not _REFERRING.isdisjoint(self.own.values()):
            self._refer(parent)
        self.text = element.text or ""
        self.in_text: bool = self.tag == "text" or (parent is not None and parent.in_text)
        self.children = list(self._inner(element))
        if self.tag == "text":
            _settle(self)

    def _refer(self, parent: Node | None) -> None:
        """Puts values in the place of words that stand for those of the parent, or for a colour."""
        for name, value in self.own.items():
            if value == "inherit":
                self[name] = parent.get(name) if parent is not None else None
            elif value == "currentColor" and name in COLOR_ATTRIBUTES:
                self[name] = self.get("color", "black")

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


def _settle(text: Node) -> None:
    """Leaves the white space of a text that is kept, across the borders of its elements.

    Newlines part words like spaces (SVG 2, 11.7.1, by CSS Text 3, 4.1); those that begin a line
    of preformatted text stay.
    """
    spaced = True
    last: Node | None = None
    for node in _pieces(text):
        way = _white_space(node)
        if way == "preserve":
            node.text = re.sub(r"\r\n?", "\n", node.text).replace("\t", " ")
        elif way == "preserve-spaces":
            node.text = re.sub(r"[\t\n\r]", " ", node.text)
        else:
            if way == "preserve-breaks":
                node.text = re.sub(r"[ \t\r]*\n[ \t\r]*", "\n", node.text)
                node.text = re.sub(r"[ \t\r]+", " ", node.text)
            else:
                node.text = re.sub(r"[ \t\n\r]+", " ", node.text)
            node.text = node.text.lstrip(" ") if spaced else node.text
        if node.text:
            folds = way in ("collapse", "preserve-breaks")
            spaced = node.text[-1] == "\n" or (folds and node.text[-1] == " ")
            last = node if spaced else None
    if last is not None:
        last.text = last.text.rstrip(" ")


def _pieces(node: Node) -> Iterator[Node]:
    """A text's elements in the order of their words."""
    yield node
    for child in node.children:
        yield from _pieces(child)


_KEPT = {"pre": "preserve", "pre-wrap": "preserve", "break-spaces": "preserve",
         "pre-line": "preserve-breaks"}  # fmt: skip
"""What ``white-space`` keeps of a text's white space, as ``white-space-collapse`` says it."""


def _white_space(node: Node | None) -> str:
    """Which white space of an element's text is kept, by the nearest element that says so."""
    while node is not None:
        if "white-space-collapse" in node.own:
            return str(node.own["white-space-collapse"])
        if "white-space" in node.own:
            return _KEPT.get(node.own["white-space"].strip(), "collapse")
        if _SPACE in node.own:  # SVG 2, 11.7.1: as a style sheet of the browser's would
            return "preserve-spaces" if node.own[_SPACE] == "preserve" else "collapse"
        node = node.parent
    return "collapse"
