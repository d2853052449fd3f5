"""Splits a template into what never changes and what carries dates, without changing the picture.

What is painted later lies above what was painted before, so a piece may only move to another
layer past pieces that it does not touch. Each kind of piece gets its own layers: artwork, labels,
things shown only sometimes (a layer for each fact) and dated text. Layers are numbered from the
bottom; a piece takes the lowest layer of its kind that lies above everything it covers.
"""

from __future__ import annotations

import copy
import math
from collections.abc import Iterator

import numpy as np
from lxml import etree

from pipeline.base.geometry import Rect
from pipeline.fill.template import computed_style, rect_of
from pipeline.fill.texts import MIRRORED, Room, room_of
from pipeline.svg.path import SHAPES, outline
from pipeline.svg.transform import Matrix, parse_transform
from pipeline.svg.tree import DEFINITIONS, FLOW, SVG, links, page_matrix, strip
from pipeline.text.style import length, lengths

SHOWN = "data-show"
"""Marks an element that is printed only when the fact it names holds."""

DATED = "data-dated"
"""Marks an element whose text or month is another on every page; its value is the key."""

PLACE = "data-place"
"""Numbers the dated texts of a template, so that each is found again in a copy."""

LABEL = "data-label"
"""Marks a text that is the same on every page of a language."""


_KINDS = ("art", LABEL, SHOWN, DATED)
"""What a layer can hold, from the bottom up."""

_Facts = tuple[str, ...]
"""The facts that must all hold for something to be shown."""

_Around = dict[etree._Element, tuple[dict[str, str], Matrix]]
"""How elements are stroked, with what markers, and their matrices to the page."""


def split(root: etree._Element, page: Rect) -> list[tuple[_Facts, etree._Element]]:
    """The layers of a marked template from the bottom up: a whole SVG tree each, with only its
    own pieces in it, and the facts that must hold for it to be shown.

    ``page`` is the page's area in mm.
    """
    pieces = list(_pieces(root, ()))
    kinds = list(dict.fromkeys(kind for _, kind in pieces))
    kinds.sort(key=lambda kind: _KINDS.index(kind[0]))
    layer_of = np.zeros(len(pieces), dtype=int)
    boxes = np.full((len(pieces), 4), math.nan)  # left, top, right, bottom of those asked for
    around: _Around = {}
    for number, (_, kind) in enumerate(pieces):
        rank = floor = kinds.index(kind)
        above = np.flatnonzero(layer_of[:number] > rank)
        if above.size:
            for each in (number, *above[np.isnan(boxes[above, 0])]):
                box = _ink(pieces[each][0], page, around)
                everywhere = (-math.inf, -math.inf, math.inf, math.inf)
                boxes[each] = (box.x, box.y, box.right, box.bottom) if box else everywhere
            left, top, right, bottom = boxes[number]
            lefts, tops, rights, bottoms = boxes[above].T
            touch = (lefts < right) & (left < rights) & (tops < bottom) & (top < bottoms)
            floor = int(layer_of[above[touch]].max(initial=rank))
        layer_of[number] = floor + (rank - floor) % len(kinds)
    layers = []
    for layer in np.unique(layer_of):
        held = [pieces[number] for number in np.flatnonzero(layer_of == layer)]
        layers.append((held[0][1][1], _only(root, {element for element, _ in held})))
    return layers


def _pieces(
    element: etree._Element, facts: _Facts
) -> Iterator[tuple[etree._Element, tuple[str, _Facts]]]:
    """The pieces under an element in the order they are painted, each with its kind of layer."""
    for child in element:
        if child.tag in DEFINITIONS:
            continue
        shown = child.get(SHOWN)
        needed = (*facts, shown) if shown else facts
        within = {mark for inner in child.iterdescendants() for mark in inner.attrib}
        if DATED in child.attrib:
            kind = DATED
        elif LABEL in child.attrib:
            kind = LABEL
        elif shown is None and not within & {SHOWN, DATED, LABEL}:
            kind = "art"
        elif _can_be_split(child):
            yield from _pieces(child, needed)
            continue
        else:
            kind = DATED if within & {SHOWN, DATED} else LABEL
        yield child, (SHOWN if needed and kind != DATED else kind, needed)


def _can_be_split(element: etree._Element) -> bool:
    """Whether painting an element's children apart from each other gives the same picture."""
    if element.tag not in (SVG + "g", SVG + "svg", SVG + "a"):
        return False
    if any(name in element.attrib for name in ("mask", "filter", "mix-blend-mode", "isolation")):
        return False
    return float(element.get("opacity") or 1) >= 1


def _only(root: etree._Element, kept: set[etree._Element]) -> etree._Element:
    """A copy of the tree with nothing in it but ``kept`` elements, and what they refer to."""
    result = _pruned(root, kept)
    wanted = [name for element in result.iter() for name in links(element)]
    there = {element.get("id") for element in result.iter()}
    found: list[etree._Element] = []
    for name in wanted:  # which grows as what is found refers to more
        target = None if name in there else next(root.iterfind(f".//*[@id='{name}']"), None)
        there.add(name)
        if target is not None and not any(target in set(other.iter()) for other in found):
            found.append(target)
            wanted += [name for element in target.iter() for name in links(element)]
    if found:
        defs = etree.Element(SVG + "defs")
        defs.extend(copy.deepcopy(target) for target in found)
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


def unmark(root: etree._Element) -> None:
    """Takes the program's marks off a finished tree."""
    for element in root.iter():
        strip(element, SHOWN, DATED, PLACE, LABEL, MIRRORED)


_MARKERS = ("marker-start", "marker-mid", "marker-end")


def _ink(element: etree._Element, page: Rect, around: _Around) -> Rect | None:
    """The box in page mm that holds all of an element's ink; None when it may be anywhere.

    Curves count with their control points and strokes with their longest mitre, so a box may be
    larger than the ink but not smaller.
    """
    if "filter" in element.attrib:
        return None
    if element.tag in (SVG + "g", SVG + "a"):
        boxes = [_ink(child, page, around) for child in element]
        known = [box for box in boxes if box is not None]
        return Rect.union(known) if known and len(known) == len(boxes) else None
    if element.tag == SVG + "text":
        room = room_of(element, [page], "")
        return _all_lines(element, room) if room else None
    style, matrix = _surroundings(element, around)
    if any(style.get(marker, "none") != "none" for marker in _MARKERS):
        return None
    if element.tag == SVG + "rect":
        shape = rect_of(element)
    elif element.tag in (SVG + "circle", SVG + "ellipse"):
        cx, cy, r, rx, ry = (length(element.get(name)) for name in ("cx", "cy", "r", "rx", "ry"))
        rx, ry = rx or r, ry or r
        shape = Rect(cx - rx, cy - ry, 2 * rx, 2 * ry)
    elif str(element.tag).removeprefix(SVG) in SHAPES and (hull := outline(element).hull):
        shape = hull
    else:
        return None
    stroked = style.get("stroke", "none") != "none"
    stroke = length(style.get("stroke-width"), default=1.0) if stroked else 0.0
    return matrix.bounds(shape.grown(2 * stroke))  # a mitre of limit 4 reaches two widths out


def _all_lines(text: etree._Element, room: Room) -> Rect | None:
    """The ink of a text, of which a room only knows its first line; None on a path."""
    if text.find(f".//{SVG}textPath") is not None:
        return None
    if FLOW in text.attrib:
        return room.ink
    matrix, column = page_matrix(text), bool(room.style.orientation)
    places, largest = [], room.style.size
    for step in text.iter(SVG + "text", SVG + "tspan", SVG + "a"):
        places += lengths(step.get("x" if column else "y"), largest)
        places += [0.0] if step is text and not places else []
        largest = max(largest, computed_style(step).size)
    from_first = [place - places[0] for place in places]
    moved = [matrix.point(by, 0) if column else matrix.point(0, by) for by in from_first]
    lines = [room.ink.moved(x - moved[0][0], y - moved[0][1]) for x, y in moved]
    return Rect.union(lines).grown(1.6 * (largest - room.style.size) * matrix.scale_y)


def _surroundings(element: etree._Element, around: _Around) -> tuple[dict[str, str], Matrix]:
    if element not in around:
        parent = element.getparent()
        style, matrix = ({}, Matrix()) if parent is None else _surroundings(parent, around)
        own = {
            name: str(element.attrib[name])
            for name in ("stroke", "stroke-width", *_MARKERS)
            if element.get(name, "inherit") != "inherit"
        }
        own_matrix = parse_transform(element.get("transform"))
        around[element] = ({**style, **own} if own else style, matrix @ own_matrix)
    return around[element]
