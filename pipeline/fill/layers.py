"""Splits a template into what never changes and what carries dates, without changing the picture.

What is painted later lies above what was painted before, so a piece may only move to another
layer past pieces that it does not touch. Each kind of piece gets its own layers: artwork, labels,
things shown only sometimes (a layer for each fact) and dated text. Layers are numbered from the
bottom; a piece takes the lowest layer of its kind that lies above everything it covers.
"""

from __future__ import annotations

import copy
import math
from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass
from enum import Enum

import numpy as np
from lxml import etree

from pipeline.base.geometry import Rect
from pipeline.fill.template import rect_of
from pipeline.fill.texts import MIRRORED, room_of
from pipeline.svg.path import SHAPES, outline
from pipeline.svg.transform import Matrix, parse_transform
from pipeline.svg.tree import DEFINITIONS, SVG, inherited, links, page_matrix, strip
from pipeline.text.style import length

SHOWN = "data-show"
"""Marks an element that is printed only when the fact it names holds."""

DATED = "data-dated"
"""Marks an element whose text or month is another on every page; its value is the key."""

PLACE = "data-place"
"""Numbers the dated texts of a template, so that each is found again in a copy."""

LABEL = "data-label"
"""Marks a text that is the same on every page of a language."""


class Kind(Enum):
    """What a layer holds."""

    ART = "art"
    LABEL = "label"
    SHOWN = "shown"
    DATED = "dated"


@dataclass(frozen=True)
class Layer:
    """One layer of a template, as a whole SVG tree with only its own pieces in it.

    ``facts`` are the facts that must hold for it to be shown.
    """

    kind: Kind
    facts: tuple[str, ...]
    root: etree._Element


@dataclass
class _Piece:
    element: etree._Element
    kind: Kind
    facts: tuple[str, ...]
    layer: int = 0


def split(root: etree._Element, ink: Callable[[etree._Element], Rect | None]) -> tuple[Layer, ...]:
    """The layers of a marked template from the bottom up.

    ``ink`` gives the box (page mm) that an element can leave ink in, or None for anywhere. It is
    asked only where the order of painting matters.
    """
    pieces = list(_pieces(root, ()))
    kinds = list(dict.fromkeys((piece.kind, piece.facts) for piece in pieces))
    kinds.sort(key=lambda kind: [*Kind].index(kind[0]))
    layer_of = np.zeros(len(pieces), dtype=int)
    boxes = np.full((len(pieces), 4), math.nan)  # left, top, right, bottom of those asked for
    for number, piece in enumerate(pieces):
        rank = floor = kinds.index((piece.kind, piece.facts))
        above = np.flatnonzero(layer_of[:number] > rank)
        if above.size:
            for each in (number, *above[np.isnan(boxes[above, 0])]):
                boxes[each] = _corners(ink(pieces[each].element))
            left, top, right, bottom = boxes[number]
            lefts, tops, rights, bottoms = boxes[above].T
            touch = (lefts < right) & (left < rights) & (tops < bottom) & (top < bottoms)
            floor = int(layer_of[above[touch]].max(initial=rank))
        layer_of[number] = piece.layer = floor + (rank - floor) % len(kinds)
    layers: dict[int, list[_Piece]] = {}
    for piece in pieces:
        layers.setdefault(piece.layer, []).append(piece)
    return tuple(
        Layer(held[0].kind, held[0].facts, only(root, {piece.element for piece in held}))
        for _, held in sorted(layers.items())
    )


def _corners(box: Rect | None) -> tuple[float, float, float, float]:
    """Left, top, right and bottom; a box that may be anywhere is everywhere."""
    if box is None:
        return (-math.inf, -math.inf, math.inf, math.inf)
    return (box.x, box.y, box.right, box.bottom)


def _pieces(element: etree._Element, facts: tuple[str, ...]) -> Iterator[_Piece]:
    """The pieces under an element in the order they are painted."""
    for child in element:
        if child.tag in DEFINITIONS:
            continue
        shown = child.get(SHOWN)
        needed = (*facts, shown) if shown else facts
        if DATED in child.attrib:
            yield _Piece(child, Kind.DATED, needed)
        elif not _has_any(child, (SHOWN, DATED, LABEL)):
            yield _Piece(child, Kind.SHOWN if needed else Kind.ART, needed)
        elif LABEL in child.attrib:
            yield _Piece(child, Kind.SHOWN if needed else Kind.LABEL, needed)
        elif _can_be_split(child):
            yield from _pieces(child, needed)
        elif _has_any(child, (DATED,)) or _has_any(child, (SHOWN,), below=True):
            yield _Piece(child, Kind.DATED, needed)
        else:
            yield _Piece(child, Kind.SHOWN if needed else Kind.LABEL, needed)


def _has_any(element: etree._Element, marks: Sequence[str], below: bool = False) -> bool:
    elements = element.iterdescendants() if below else element.iter()
    return any(mark in inner.attrib for inner in elements for mark in marks)


def _can_be_split(element: etree._Element) -> bool:
    """Whether painting an element's children apart from each other gives the same picture."""
    if element.tag not in (SVG + "g", SVG + "svg", SVG + "a"):
        return False
    if any(element.get(name, "none") != "none" for name in ("mask", "filter")):
        return False
    return float(element.get("opacity") or 1) >= 1


def only(root: etree._Element, kept: set[etree._Element]) -> etree._Element:
    """A copy of the tree with nothing in it but ``kept`` elements, and what they refer to."""
    result = _pruned(root, kept)
    wanted = _references(result)
    there = {element.get("id") for element in result.iter()}
    found: list[etree._Element] = []
    while wanted:
        name = wanted.pop()
        target = None if name in there else next(root.iterfind(f".//*[@id='{name}']"), None)
        there.add(name)
        if target is not None and not any(target in set(other.iter()) for other in found):
            found.append(target)
            wanted |= _references(target)
    if found:
        defs = etree.Element(SVG + "defs")
        for target in found:
            defs.append(copy.deepcopy(target))
        result.insert(0, defs)
    return result


def _pruned(element: etree._Element, kept: set[etree._Element]) -> etree._Element:
    attributes = {str(name): str(value) for name, value in element.attrib.items()}
    result = etree.Element(element.tag, attributes, nsmap=element.nsmap)  # type: ignore[arg-type]
    for child in element:
        if child in kept:
            result.append(copy.deepcopy(child))
        elif child.tag not in DEFINITIONS and any(inner in kept for inner in child.iter()):
            result.append(_pruned(child, kept))
    for child in result:
        child.tail = None
    return result


def _references(root: etree._Element) -> set[str]:
    return {name for element in root.iter() for name in links(element)}


def unmark(root: etree._Element) -> None:
    """Takes the program's marks off a finished tree."""
    for element in root.iter():
        strip(element, SHOWN, DATED, PLACE, LABEL, MIRRORED)


_GROUPS = frozenset((SVG + "g", SVG + "a"))
_MARKERS = ("marker-start", "marker-mid", "marker-end")
_ASKED = ("stroke", "stroke-width", *_MARKERS)


class Inks:
    """Tells where elements of a page (``page``, mm) can leave ink.

    Curves count with their control points and strokes with their longest mitre, so a box may be
    larger than the ink but not smaller.
    """

    def __init__(self, page: Rect) -> None:
        self._page = page
        self._around: dict[etree._Element, tuple[dict[str, str], Matrix]] = {}

    def __call__(self, element: etree._Element) -> Rect | None:
        """The box in page mm that holds all of an element's ink; None when it may be anywhere."""
        parent = element.getparent()
        if parent is None:
            return None
        if parent not in self._around:
            found = {name: inherited(parent, name) for name in _ASKED}
            style = {name: value for name, value in found.items() if value is not None}
            self._around[parent] = style, page_matrix(parent)
        return _ink(element, self._page, *self._around[parent])


def _ink(
    element: etree._Element, page: Rect, around: dict[str, str], outside: Matrix
) -> Rect | None:
    attributes = element.attrib
    own = {name: str(attributes[name]) for name in _ASKED if name in attributes}
    style = {**around, **own} if own else around
    transform = attributes.get("transform")
    matrix = outside @ parse_transform(str(transform)) if transform else outside
    if element.tag in _GROUPS:
        return _union([_ink(child, page, style, matrix) for child in element])
    if element.tag == SVG + "text":
        room = room_of(element, [page], "")
        return room.ink if room else None
    if any(style.get(marker, "none") != "none" for marker in _MARKERS):
        return None
    shape = _shape(element)
    if shape is None:
        return None
    stroke = length(style.get("stroke-width"), default=1.0)
    if style.get("stroke", "none") == "none":
        stroke = 0.0
    return matrix.bounds(shape.grown(2 * stroke))  # a mitre of limit 4 reaches two widths out


def _shape(element: etree._Element) -> Rect | None:
    def number(name: str) -> float:
        return length(element.get(name))

    tag = str(element.tag).removeprefix(SVG)
    if tag == "rect":
        return rect_of(element)
    if tag in ("circle", "ellipse"):
        rx, ry = number("rx") or number("r"), number("ry") or number("r")
        return Rect(number("cx") - rx, number("cy") - ry, 2 * rx, 2 * ry)
    return outline(element).hull if tag in SHAPES else None


def _union(boxes: list[Rect | None]) -> Rect | None:
    known = [box for box in boxes if box is not None]
    if not known or len(known) < len(boxes):
        return None
    return Rect.union(known)
