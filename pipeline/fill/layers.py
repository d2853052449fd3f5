"""Splits a template into what never changes and what carries dates, without changing the picture.

What is painted later lies above what was painted before, so a piece may only move past pieces
that it does not touch. Each kind of piece gets its own layers: artwork, artwork shown only
sometimes (a layer for each fact) and text. Layers are numbered from the bottom; a piece takes the
lowest layer of its kind that lies above everything it covers. Readers of a finished file go
through it as it is painted, so the texts of a layer are painted in the order they are read in.
"""

from __future__ import annotations

import copy
import math
import re
from collections.abc import Iterator, Sequence
from itertools import takewhile

import numpy as np
from lxml import etree

from pipeline.base.geometry import Rect
from pipeline.fill.template import computed_style, rect_of
from pipeline.fill.texts import MIRRORED, Room, find_text, room_of
from pipeline.svg.path import SHAPES, outline
from pipeline.svg.transform import Matrix, parse_transform
from pipeline.svg.tree import DEFINITIONS, FLOW, SVG, by_id, lineage, links, page_matrix, strip
from pipeline.text.style import length, lengths

SHOWN = "data-show"
"""Marks an element that is printed only when the fact it names holds."""

DATED = "data-dated"
"""Marks an element whose text or month is another on every page; its value is the key."""

PLACE = "data-place"
"""Numbers the dated texts of a template, so that each is found again in a copy."""

LABEL = "data-label"
"""Marks a text that is the same on every page of a language."""

PIECE = "data-piece"
"""Marks text that its layer may have before or after other text than its template does."""

_KINDS = ("art", SHOWN, "text")
"""What a layer can hold, from the bottom up."""

_Numbers = np.ndarray[tuple[int], np.dtype[np.intp]]
"""Pieces of a template, by their number in the order they are stacked in."""

_NOBODY: _Numbers = np.zeros(0, dtype=np.intp)

_Facts = tuple[str, ...]
"""The facts that must all hold for something to be shown."""

_LINES = frozenset(SVG + name for name in SHAPES)
_MARKERS = ("marker-start", "marker-mid", "marker-end")
_LINE = frozenset(("stroke", "stroke-width", *_MARKERS))


def split(
    root: etree._Element, page: Rect, rooms: Sequence[Rect] = ()
) -> list[tuple[_Facts, etree._Element]]:
    """The layers of a marked template from the bottom up: a whole SVG tree each, with only its
    own pieces in it, and the facts that must hold for it to be shown.

    ``page`` is the page's area, ``rooms`` what dated texts and labels stay in, by their number in
    the template; all in mm of the page.
    """
    pieces = list(_pieces(root, ()))
    kinds = list(dict.fromkeys(kind for _, kind in pieces))
    kinds.sort(key=lambda kind: _KINDS.index(kind[0]))
    ranks = np.array([kinds.index(kind) for _, kind in pieces], dtype=int)
    layer_of = ranks.copy()  # of pieces still to come: the lowest that lies above what they cover
    ink = _Ink(root, [element for element, _ in pieces], page, rooms)
    for number, rank in enumerate(ranks.tolist()):
        layer_of[number] += (rank - layer_of[number]) % len(kinds)
        layer = layer_of[number]
        later = number + 1 + np.flatnonzero(layer_of[number + 1 :] < layer) if layer else _NOBODY
        if later.size:
            layer_of[later[ink.touch(number, later)]] = layer
    layers = []
    for layer in np.unique(layer_of):
        held = np.flatnonzero(layer_of == layer)
        kind, facts = pieces[held[0]][1]
        order = _as_read(held, ink) if kind == "text" else held.tolist()
        layers.append((facts, _only(root, [pieces[number][0] for number in order])))
    return layers


class _Ink:
    """Where the pieces of a template have their ink; found out for those that are asked for.

    Curves count with their control points, strokes with their longest mitre and texts with all of
    their room, so a box may be larger than the ink but not smaller.
    """

    def __init__(
        self, root: etree._Element, elements: Sequence[etree._Element], page: Rect,
        rooms: Sequence[Rect],
    ) -> None:  # fmt: skip
        self.elements = elements
        self._page = page
        self._room_of = {
            find_text(element): rooms[int(str(element.get(PLACE)))]
            for element in root.iter()
            if PLACE in element.attrib
        }
        self._boxes = np.full((len(elements), 4), math.nan)  # left, top, right, bottom
        self._around: dict[etree._Element, tuple[dict[str, str], Matrix]] = {}

    def boxes(self, numbers: _Numbers) -> np.ndarray[tuple[int, ...], np.dtype[np.float64]]:
        """Left, top, right and bottom of these pieces (mm); infinite where they may be anywhere."""
        for each in numbers[np.isnan(self._boxes[numbers, 0])]:
            box = self.box(self.elements[each])
            everywhere = (-math.inf, -math.inf, math.inf, math.inf)
            self._boxes[each] = (box.x, box.y, box.right, box.bottom) if box else everywhere
        return self._boxes[numbers]

    def touch(self, number: int, others: _Numbers) -> np.ndarray[tuple[int], np.dtype[np.bool_]]:
        """Which of the other pieces one piece may touch."""
        left, top, right, bottom = self.boxes(np.array([number]))[0]
        lefts, tops, rights, bottoms = self.boxes(others).T
        across, down = (lefts < right) & (left < rights), (tops < bottom) & (top < bottoms)
        return np.asarray(across & down, dtype=np.bool_)

    def box(self, element: etree._Element) -> Rect | None:
        """The box in page mm that holds all of an element's ink; None when it may be anywhere."""
        if "filter" in element.attrib:
            return None
        if element.tag in (SVG + "g", SVG + "a"):
            if DATED in element.attrib and PLACE not in element.attrib:
                return self._month(element)
            return _around_all([self.box(child) for child in element])
        if element.tag == SVG + "text":
            if element in self._room_of:
                return self._room_of[element]
            room = room_of(element, [self._page], "")
            return _all_lines(element, room) if room else None
        style, matrix = self._surroundings(element)
        if any(style.get(marker, "none") != "none" for marker in _MARKERS if marker in style):
            return None
        if element.tag == SVG + "rect":
            shape = rect_of(element)
        elif element.tag in (SVG + "circle", SVG + "ellipse"):
            cx, cy, r, rx, ry = (
                length(element.get(name)) for name in ("cx", "cy", "r", "rx", "ry")
            )
            rx, ry = rx or r, ry or r
            shape = Rect(cx - rx, cy - ry, 2 * rx, 2 * ry)
        elif str(element.tag).removeprefix(SVG) in SHAPES and (hull := outline(element).hull):
            shape = hull
        else:
            return None
        stroked = style.get("stroke", "none") != "none"
        stroke = length(style.get("stroke-width"), default=1.0) if stroked else 0.0
        return matrix.bounds(shape.grown(2 * stroke))  # a mitre of limit 4 reaches two widths out

    def _month(self, element: etree._Element) -> Rect | None:
        """The box of a month, whose figures stand in its area, whatever their samples' places."""
        boxes = [self.box(child) for child in element if child.tag != SVG + "text"]
        area = _around_all(boxes)
        sizes = [computed_style(sample).size for sample in element.iter(SVG + "text")]
        return area.grown(2 * page_matrix(element).scale_x * max(sizes)) if area else None

    def _surroundings(self, element: etree._Element) -> tuple[dict[str, str], Matrix]:
        """How an element is stroked, with what markers, and its matrix to the page."""
        if element not in self._around:
            parent = element.getparent()
            style, matrix = ({}, Matrix()) if parent is None else self._surroundings(parent)
            own = {
                str(name): str(value)
                for name, value in element.items()
                if name in _LINE and value != "inherit"
            }
            if "transform" in element.attrib:
                matrix = matrix @ parse_transform(element.get("transform"))
            self._around[element] = ({**style, **own} if own else style, matrix)
        return self._around[element]


def _around_all(boxes: Sequence[Rect | None]) -> Rect | None:
    """The box around all boxes; None when one may be anywhere, or there are none."""
    known = [box for box in boxes if box is not None]
    return Rect.union(known) if known and len(known) == len(boxes) else None


def _as_read(numbers: _Numbers, ink: _Ink) -> list[int]:
    """Texts in the order they are read in, as far as none passes another that it touches.

    First comes what stands above all days, then the days (or months) by number, then the rest,
    such as lists; what is alike in this stays as the template stacks it.
    """
    days = [_day(ink.elements[number]) for number in numbers.tolist()]
    boxes = ink.boxes(numbers)
    first = min((top for top, day in zip(boxes[:, 1], days, strict=True) if day), default=math.inf)
    rank: dict[int, float] = {}
    for number, day, (_, top, _, bottom) in zip(numbers.tolist(), days, boxes, strict=True):
        rank[number] = day or (0 if top > -math.inf and (top + bottom) / 2 < first else math.inf)
    order: list[int] = []
    for number in rank:
        place, touched = len(order), ink.touch(number, np.array(order, dtype=int))
        while place and rank[order[place - 1]] > rank[number] and not touched[place - 1]:
            place -= 1
        order.insert(place, number)
    return order


def _day(element: etree._Element) -> int:
    """The number in the key of a dated piece, such as the day's; 0 where it has none."""
    keys = (str(inner.get(DATED)) for inner in element.iter() if DATED in inner.attrib)
    found = (re.search(r"\d+", key) for key in keys)
    return next((int(match[0]) for match in found if match), 0)


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
        if DATED in child.attrib or LABEL in child.attrib:
            yield child, ("text", ())
        elif shown is None and not within & {SHOWN, DATED, LABEL}:
            yield child, (SHOWN, needed) if needed else ("art", ())
        elif _can_be_split(child):
            yield from _pieces(child, needed)
        else:
            yield child, ("text", ())


def _can_be_split(element: etree._Element) -> bool:
    """Whether painting an element's children apart from each other gives the same picture."""
    if element.tag not in (SVG + "g", SVG + "svg", SVG + "a"):
        return False
    if any(name in element.attrib for name in ("mask", "filter", "mix-blend-mode", "isolation")):
        return False
    return float(element.get("opacity") or 1) >= 1


def _only(root: etree._Element, kept: Sequence[etree._Element]) -> etree._Element:
    """A copy of the tree with nothing in it but ``kept`` elements, in this order, and what they
    refer to.
    """
    result = _chosen(root, kept)
    wanted = [name for element in result.iter() for name in links(element)]
    there = {element.get("id") for element in result.iter()}
    found: list[etree._Element] = []
    known, within = by_id(root) if wanted else {}, set[etree._Element]()
    for name in wanted:  # which grows as what is found refers to more
        target = None if name in there else known.get(name)
        there.add(name)
        if target is not None and target not in within:
            found.append(target)
            within.update(target.iter())
            wanted += [name for element in target.iter() for name in links(element)]
    if found:
        defs = etree.Element(SVG + "defs")
        defs.extend(copy.deepcopy(target) for target in found)
        result.insert(0, defs)
    return result


def _chosen(root: etree._Element, kept: Sequence[etree._Element]) -> etree._Element:
    """Copies of elements one after the other, each within copies of the groups around it."""
    result = _emptied(root)
    within = [(root, result)]  # the last one's groups, from the outside in, with their copies
    for element in kept:
        if element.getparent() is not within[-1][0]:
            groups = list(lineage(element))[:0:-1]
            shared = [mine is other for (mine, _), other in zip(within, groups, strict=False)]
            del within[len(list(takewhile(bool, shared))) :]
            for group in groups[len(within) :]:
                within[-1][1].append(copied := _emptied(group))
                within.append((group, copied))
        within[-1][1].append(copied := copy.deepcopy(element))
        copied.tail = None
        if element.tag not in _LINES and next(copied.iter(SVG + "text"), None) is not None:
            copied.set(PIECE, "")
    return result


def _emptied(element: etree._Element) -> etree._Element:
    attributes = {str(name): str(value) for name, value in element.attrib.items()}
    return etree.Element(element.tag, attributes, nsmap=element.nsmap)  # type: ignore[arg-type]


def unmark(root: etree._Element) -> None:
    """Takes the program's marks off a finished tree."""
    for element in root.iter():
        strip(element, SHOWN, DATED, PLACE, LABEL, MIRRORED)


def box_of_ink(element: etree._Element) -> Rect | None:
    """The box that holds all ink of an element that isn't text, in the units around its tree."""
    return _Ink(element, (), Rect(0, 0, 0, 0), ()).box(element)


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
