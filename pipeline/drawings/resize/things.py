"""What is on a page, sorted by how it takes to another size."""

from __future__ import annotations

import functools
import re
from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass, field
from enum import StrEnum

from lxml import etree

from pipeline.base.geometry import Rect
from pipeline.drawings.resize.anchors import Anchor, anchor_of
from pipeline.drawings.resize.points import is_straight, points_along, shape_points, subpaths
from pipeline.drawings.resize.saved import SavedDrawing, is_drawn, names_of_element
from pipeline.fill.keys import ruled
from pipeline.fill.template import rect_of
from pipeline.svg.transform import Matrix
from pipeline.svg.tree import SVG, inherited
from pipeline.text.style import length

TOUCHING_MM = 1.0
"""Pieces no further apart are one picture."""

GROUPED_MM = 3.0
"""Pieces of one group no further apart are one picture."""

_RULE_LENGTH_MM = 12.0

_RULE_SHARE = 12.0

_STRIP_MM = 6.0

_STRIP_SHARE = 8.0

_HUGGED = 0.4

_LARGE_MM = 25.0

_DEEPEST = 0.12
"""How deep a frame is at most, as a share of its shorter side; a circle is 0.146 deep."""

_KEY = re.compile(r"(?:day|week|month|date|year|period|label|set)\d*(?:-|$)")

_GROUPS = frozenset((SVG + "g", SVG + "a", SVG + "switch"))

_SHAPES = frozenset(
    SVG + name for name in ("path", "circle", "ellipse", "polygon", "polyline", "rect", "line")
)

_BOUND = ("clip-path", "mask", "filter")
"""What refers to shapes that lie in the element's own coordinates: it moves with them, whole."""


@dataclass(frozen=True)
class ArtPiece:
    """A shape of artwork, or one part of a path; ``part`` is None for the whole element."""

    element: etree._Element
    part: int | None
    bounds: Rect
    points: tuple[tuple[float, float], ...]
    """Points on its outline, on the page: corners, ends and middles of curves."""
    straight: bool = False
    """Whether it is made of level and upright lines only."""


def gap_between(one: Rect, other: Rect) -> float:
    """How far two boxes are apart, mm; less than 0 when they overlap."""
    across = max(one.x - other.right, other.x - one.right)
    along = max(one.y - other.bottom, other.y - one.bottom)
    return max(across, along)


class Sort(StrEnum):
    """How a cluster takes to another size."""

    ART = "art"
    """Keeps its proportions."""
    RULE = "rule"
    """A drawn line: as long as its room, no thicker."""
    STRIP = "strip"
    """A band of little things: spread along it, no thicker."""
    FRAME = "frame"
    """Artwork all along the four sides of a box: as large as the box, no thicker."""
    STRAIGHT = "straight"
    """Level and upright lines: every corner goes where it goes."""


@dataclass(frozen=True)
class Cluster:
    """Pieces that go together, the box around them (mm) and their sort."""

    pieces: tuple[ArtPiece, ...]
    bounds: Rect
    sort: Sort
    depth: float = 0.0
    """How far a frame reaches in from its sides, mm."""

    @property
    def is_large(self) -> bool:
        """Whether it is artwork that something may stand in, as in a wreath."""
        smaller = min(self.bounds.width, self.bounds.height)
        return self.sort in (Sort.ART, Sort.FRAME) and smaller >= _LARGE_MM

    def surrounds(self, box: Rect) -> bool:
        """Whether it lies around a box: it has pieces on all four sides of its middle."""
        if self.sort is Sort.FRAME:
            return self.bounds.grown(-0.5 * self.depth).holds(box)
        if not self.is_large:
            return False
        x, y = box.x + box.width / 2, box.y + box.height / 2
        sides = set()
        for piece in self.pieces:
            around = piece.bounds
            if around.y <= y <= around.bottom:
                sides |= {"left"} if around.right < x else {"right"} if around.x > x else set()
            if around.x <= x <= around.right:
                sides |= {"above"} if around.bottom < y else {"below"} if around.y > y else set()
        return len(sides) == 4


def clusters(pieces: Sequence[ArtPiece]) -> list[Cluster]:
    """Pieces by what they belong to.

    Pieces that touch are one picture, as are those near each other in one group. A long thin
    piece is a rule, unless pictures stand along a good part of it, as plants do on their soil.
    """
    frames, pieces = _frames(pieces)
    straight = [piece for piece in pieces if piece.straight and not _is_tiny(piece.bounds)]
    rules = [piece for piece in pieces if piece not in straight and _is_rule(piece.bounds)]
    apart = set(map(id, straight)) | set(map(id, rules))
    groups = _grouped([piece for piece in pieces if id(piece) not in apart])
    groups, free = _take_in(rules, groups)
    found = frames + [Cluster((piece,), piece.bounds, Sort.STRAIGHT) for piece in straight]
    found += [Cluster((piece,), piece.bounds, Sort.RULE) for piece in free]
    for group in groups:
        bounds = _bounds_of(group)
        found.append(Cluster(tuple(group), bounds, Sort.STRIP if _is_strip(group) else Sort.ART))
    return found


def _frames(pieces: Sequence[ArtPiece]) -> tuple[list[Cluster], list[ArtPiece]]:
    """Frames among artwork, and the pieces that are in none."""
    frames: list[Cluster] = []
    others: list[ArtPiece] = []
    for group in _grouped(pieces):
        bounds = _bounds_of(group)
        depth = max((_inside(bounds, x, y) for piece in group for x, y in piece.points), default=0)
        shorter = min(bounds.width, bounds.height)
        straight = all(piece.straight for piece in group)
        if shorter >= _LARGE_MM and depth <= _DEEPEST * shorter and not straight:
            frames.append(Cluster(tuple(group), bounds, Sort.FRAME, depth))
        else:
            others += group
    return frames, others


def _inside(box: Rect, x: float, y: float) -> float:
    """How far a point is from the nearest side of a box around it."""
    return min(x - box.x, box.right - x, y - box.y, box.bottom - y)


def _is_tiny(box: Rect) -> bool:
    return max(box.width, box.height) < 3.0


def _is_rule(box: Rect) -> bool:
    longest, thinnest = max(box.width, box.height), min(box.width, box.height)
    return longest >= _RULE_LENGTH_MM and longest >= _RULE_SHARE * thinnest


def _is_strip(group: Sequence[ArtPiece]) -> bool:
    box = _bounds_of(group)
    longest, thinnest = max(box.width, box.height), min(box.width, box.height)
    return (
        len(group) > 4
        and longest >= 2 * _RULE_LENGTH_MM
        and thinnest <= _STRIP_MM
        and longest >= _STRIP_SHARE * thinnest
    )


def _take_in(
    rules: Sequence[ArtPiece], groups: list[list[ArtPiece]]
) -> tuple[list[list[ArtPiece]], list[ArtPiece]]:
    """Rules that pictures stand along become part of them; the others stay free."""
    free = []
    for rule in rules:
        near = rule.bounds.grown(0.3)
        hugging = [
            group
            for group in groups
            if not _is_strip(group) and any(near.overlaps(piece.bounds) for piece in group)
        ]
        level = rule.bounds.width >= rule.bounds.height
        if hugging and _covered(rule.bounds, map(_bounds_of, hugging), level) >= _HUGGED:
            joined = [piece for group in hugging for piece in group]
            kept = set(map(id, hugging))
            groups = [group for group in groups if id(group) not in kept]
            groups.append([*joined, rule])
        else:
            free.append(rule)
    return groups, free


def _covered(rule: Rect, boxes: Iterable[Rect], level: bool) -> float:
    """How much of a rule's length boxes cover."""
    start, end = (rule.x, rule.right) if level else (rule.y, rule.bottom)
    spans = sorted((b.x, b.right) if level else (b.y, b.bottom) for b in boxes)
    covered, at = 0.0, start
    for first, last in spans:
        first, last = max(first, at), min(last, end)
        if last > first:
            covered += last - first
            at = last
    return covered / (end - start)


def _bounds_of(group: Sequence[ArtPiece]) -> Rect:
    return Rect.union(piece.bounds for piece in group)


def _grouped(pieces: Sequence[ArtPiece]) -> list[list[ArtPiece]]:
    """Pieces that hang together, found in one sweep from left to right."""
    order = sorted(range(len(pieces)), key=lambda place: pieces[place].bounds.x)
    leader = list(range(len(pieces)))

    def head(place: int) -> int:
        while leader[place] != place:
            leader[place] = leader[leader[place]]
            place = leader[place]
        return place

    group_of = {place: _group_of(pieces[place]) for place in order}
    active: list[int] = []
    for place in order:
        box = pieces[place].bounds
        active = [a for a in active if pieces[a].bounds.right + GROUPED_MM >= box.x]
        for other in active:
            reach = GROUPED_MM if group_of[other] == group_of[place] else TOUCHING_MM
            if gap_between(box, pieces[other].bounds) <= reach:
                leader[head(other)] = head(place)
        active.append(place)
    found: dict[int, list[ArtPiece]] = {}
    for place in range(len(pieces)):
        found.setdefault(head(place), []).append(pieces[place])
    return list(found.values())


def _group_of(piece: ArtPiece) -> int:
    parent = piece.element.getparent()
    layer = parent is None or "layer" in parent.attrib.values() or len(parent) > 60
    return id(piece.element) if layer else id(parent)


@dataclass(frozen=True)
class Box:
    """A level ``<rect>`` or a ``<line>``: its corners go where they go. ``pitch_mm``: of rules."""

    element: etree._Element
    bounds: Rect
    pitch_mm: float | None = None
    from_top: bool = False


@dataclass(frozen=True)
class TextElement:
    """A ``<text>``, with the key and the box it has, if it has them, and its visible ``frame``."""

    text: etree._Element
    key: str | None = None
    box: etree._Element | None = None
    visible: bool = False


@dataclass(frozen=True)
class Month:
    """A small month: its area, the box of that (page mm), and the samples for its figures."""

    area: etree._Element
    bounds: Rect
    samples: tuple[etree._Element, ...]


@dataclass(frozen=True)
class Whole:
    """What can only be moved and scaled as it is: an image, a ``<use>``, something clipped."""

    element: etree._Element
    bounds: Rect


@dataclass
class Things:
    """The things of a page, or of a group with an anchor of its own."""

    anchor: Anchor | None = None
    scope: etree._Element | None = None
    pieces: dict[etree._Element | None, list[ArtPiece]] = field(default_factory=dict)
    """Pieces of artwork by what is shown with them: a ``show-…`` group or None."""
    boxes: list[Box] = field(default_factory=list)
    words: list[TextElement] = field(default_factory=list)
    months: list[Month] = field(default_factory=list)
    wholes: list[Whole] = field(default_factory=list)
    inner: list[Things] = field(default_factory=list)
    """Groups within it that have anchors of their own."""

    @functools.cached_property
    def art(self) -> tuple[Cluster, ...]:
        """Its artwork, in clusters; what is shown at different times is kept apart."""
        return tuple(found for pieces in self.pieces.values() for found in clusters(pieces))


def things_of(drawing: SavedDrawing) -> Things:
    """All that a page draws, guides left out."""
    found = Things()
    _walk(drawing, drawing.plain, found, None)
    return found


def _walk(
    drawing: SavedDrawing, parent: etree._Element, into: Things, shown: etree._Element | None
) -> None:
    for element in parent:
        if not is_drawn(element):
            continue
        called = names_of_element(element)
        if "guides" in called or _goes_by_shares(element):
            continue
        target = into
        anchor = anchor_of(element)
        if anchor is not None:
            target = Things(anchor, element)
            into.inner.append(target)
        _sort(drawing, element, called, target, shown)


def _sort(
    drawing: SavedDrawing,
    element: etree._Element,
    called: tuple[str, ...],
    into: Things,
    shown: etree._Element | None,
) -> None:
    tag = element.tag
    if _is_whole(element):
        bounds = bounds_below(drawing, element)
        if bounds is not None:
            into.wholes.append(Whole(element, bounds))
    elif tag in _GROUPS:
        key = next((name for name in called if _KEY.match(name)), None)
        texts = list(element.iter(SVG + "text"))
        rects = [rect for rect in element.iter(SVG + "rect") if not _is_ruled(rect)]
        if key and texts and rects and key.endswith("-grid"):
            bounds = drawing.matrix(rects[0]).bounds(rect_of(rects[0]))
            into.months.append(Month(rects[0], bounds, tuple(texts)))
        elif key and len(texts) == 1:
            box = rects[0] if rects else None
            into.words.append(TextElement(texts[0], key, box, box is not None and _is_seen(box)))
            for child in element.iter(*_SHAPES):
                if child is not box:
                    _sort(drawing, child, names_of_element(child), into, shown)
        else:
            show = any(name.startswith("show-") for name in called)
            _walk(drawing, element, into, element if show else shown)
    elif tag == SVG + "text":
        key = next((name for name in called if _KEY.match(name)), None)
        into.words.append(TextElement(element, key))
    elif tag in (SVG + "rect", SVG + "line") and is_level(drawing.matrix(element)):
        bounds = _bounds(drawing, element)
        wanted = next((found for found in map(ruled, called) if found), None)
        if bounds is not None and wanted is not None:
            from_top = wanted.align == "top"
            into.boxes.append(Box(element, bounds, wanted.pitch_mm, from_top))
        elif bounds is not None and (
            tag == SVG + "rect" or min(bounds.width, bounds.height) < 0.05
        ):
            into.boxes.append(Box(element, bounds))
        else:
            _add_pieces(drawing, element, into, shown)
    elif tag in _SHAPES:
        _add_pieces(drawing, element, into, shown)


def _goes_by_shares(element: etree._Element) -> bool:
    """Whether a shape is measured in percentages: it follows the page by itself."""
    sides = ("x", "y", "width", "height", "cx", "cy", "r", "x1", "y1", "x2", "y2")
    return element.tag in _SHAPES and any("%" in element.get(side, "") for side in sides)


def _is_ruled(element: etree._Element) -> bool:
    return any(ruled(name) for name in names_of_element(element))


def _is_seen(rect: etree._Element) -> bool:
    return inherited(rect, "fill") != "none" or (inherited(rect, "stroke") or "none") != "none"


def _is_whole(element: etree._Element) -> bool:
    if element.tag not in _SHAPES | _GROUPS | {SVG + "text"}:
        return True
    if any(element.get(name, "none") != "none" for name in _BOUND):
        return True
    if any("url(" in element.get(paint, "") for paint in ("fill", "stroke")):
        return True
    return element.tag == SVG + "text" and element.find(f".//{SVG}textPath") is not None


def _add_pieces(
    drawing: SavedDrawing, element: etree._Element, into: Things, shown: etree._Element | None
) -> None:
    kept = into.pieces.setdefault(shown, [])
    matrix = drawing.matrix(element)
    level = is_level(matrix)
    if element.tag == SVG + "path":
        for place, part in enumerate(subpaths(element.get("d") or "")):
            if part.points:
                line = [matrix.point(x, y) for x, y in points_along(part)]
                straight = is_straight(part) and level
                kept.append(ArtPiece(element, place, Rect.around(line), tuple(line), straight))
        return
    points = [matrix.point(x, y) for x, y in shape_points(element)]
    if points:
        kept.append(ArtPiece(element, None, Rect.around(points), tuple(points)))


def is_level(matrix: Matrix) -> bool:
    """Whether level lines stay level and upright ones upright."""
    return abs(matrix.b) + abs(matrix.c) < 1e-6 * (abs(matrix.a) + abs(matrix.d))


def _bounds(drawing: SavedDrawing, element: etree._Element) -> Rect | None:
    """The box in page mm around a shape's geometry, its stroke left out."""
    matrix, points = drawing.matrix(element), shape_points(element)
    return Rect.around(matrix.point(x, y) for x, y in points) if points else None


def bounds_below(drawing: SavedDrawing, element: etree._Element) -> Rect | None:
    """The box in page mm around all that an element draws; text by where it begins."""
    boxes = list(_boxes_below(drawing, element))
    return Rect.union(boxes) if boxes else None


def _boxes_below(drawing: SavedDrawing, element: etree._Element) -> Iterator[Rect]:
    for inner in element.iter():
        if not is_drawn(inner):
            continue
        matrix = drawing.matrix(inner)
        if inner.tag == SVG + "use":
            target = _used(drawing, inner)
            shift = Matrix(e=length(inner.get("x")), f=length(inner.get("y")))
            if target is None:
                continue
            placed = matrix @ shift @ drawing.outer_matrix(target).inverse()
            shapes = [(placed @ drawing.matrix(s), shape_points(s)) for s in target.iter()]
            points = [to.point(x, y) for to, inside in shapes for x, y in inside]
            if points:
                yield Rect.around(points)
            continue
        if inner.tag == SVG + "text":
            spot = matrix.point(length(inner.get("x")), length(inner.get("y")))
            yield Rect(*spot, 0, 0)
            continue
        bounds = _bounds(drawing, inner)
        if bounds is not None:
            yield bounds


def _used(drawing: SavedDrawing, use: etree._Element) -> etree._Element | None:
    href = use.get("href") or use.get("{http://www.w3.org/1999/xlink}href") or ""
    if not href.startswith("#"):
        return None
    return next((e for e in drawing.plain.iter() if e.get("id") == href[1:]), None)
