"""What making a template plain needs: the elements as they were, and a place for new ones."""

from __future__ import annotations

import copy
from collections.abc import Mapping
from typing import NamedTuple

from lxml import etree

from pipeline.base.geometry import Rect
from pipeline.svg.styles import SVG
from pipeline.svg.transform import Matrix, parse_transform
from pipeline.svg.tree import lineage, strip

INITIAL: Mapping[str, str] = {
    "fill": "#000000", "fill-opacity": "1", "fill-rule": "nonzero",
    "stroke": "none", "stroke-opacity": "1", "stroke-width": "1", "stroke-linecap": "butt",
    "stroke-linejoin": "miter", "stroke-miterlimit": "4", "stroke-dasharray": "none",
    "stroke-dashoffset": "0", "color": "#000000", "visibility": "visible",
    "clip-rule": "nonzero", "marker-start": "none", "marker-mid": "none", "marker-end": "none",
    "paint-order": "normal",
}  # fmt: skip
"""Inherited properties that shapes ask for, and what they are where nothing is said."""

_STYLED = ("paint-order",)
"""Those of them that stay in ``style``."""


class Context(NamedTuple):
    """Where an element stands: its viewport's size and font size (user units), the properties it
    inherits, and the ids of the elements it is a copy of."""

    width: float
    height: float
    em: float
    style: Mapping[str, str]
    within: frozenset[str] = frozenset()

    def whole(self, axis: str) -> float:
        """What 100 % is across ("x"), down ("y") and for all else (SVG 1.1, 7.10)."""
        if axis == "x":
            return self.width
        if axis == "y":
            return self.height
        return float(((self.width**2 + self.height**2) / 2) ** 0.5)


def declared(element: etree._Element) -> dict[str, str]:
    """The inherited properties that an element itself sets."""
    attributes = element.attrib
    found = {str(name): str(value) for name, value in attributes.items() if name in INITIAL}
    if "style" in attributes:
        for part in str(attributes["style"]).split(";"):
            name, _, value = part.partition(":")
            if name.strip() in _STYLED:
                found[name.strip()] = value.strip()
    return found


class Workshop:
    """The template as it was, by id, and the definitions made for its plain form."""

    def __init__(self, root: etree._Element, name: str) -> None:
        self.name = name
        self._pristine = copy.deepcopy(root)
        self._by_id: dict[str, etree._Element] = {}
        for element in self._pristine.iter(etree.Element):
            if "id" in element.attrib:
                self._by_id.setdefault(str(element.get("id")), element)
        self.defs = etree.Element(SVG + "defs")
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
            self.defs.append(element)
        return self._made[key]

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
