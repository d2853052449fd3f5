"""What is on a page, sorted by how it takes to another size."""

from __future__ import annotations

import functools
import itertools
import re
from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass, field, replace
from enum import StrEnum
from typing import NamedTuple

from lxml import etree

from pipeline.base.geometry import Rect
from pipeline.drawings.resize.anchors import anchor_of
from pipeline.drawings.resize.points import is_straight, points_along, shape_points, subpaths
from pipeline.drawings.resize.saved import SavedDrawing, is_drawn
from pipeline.fill.keys import ruled
from pipeline.fill.repeats import cell_of, is_repeated, room_and_sample
from pipeline.fill.template import computed_style, rect_of
from pipeline.fill.texts import is_unpainted
from pipeline.svg.path import SHAPES, Point
from pipeline.svg.transform import Matrix
from pipeline.svg.tree import SVG, href, inherited, lineage, names
from pipeline.text.shape import Style
from pipeline.text.style import length

_TOUCHING_MM, _GROUPED_MM = 1.0, 3.0
"""Pieces no further apart are one picture; so are pieces of one group no further than that."""
_RULE_LENGTH_MM, _RULE_SHARE = 12.0, 12.0
_STRIP_MM, _STRIP_SHARE = 6.0, 8.0
_HUGGED = 0.4
_SQUARE_MM = 0.05
_LITTLE_MM, _LIKE = 6.0, 1.5
"""Things up to so large make a row, where none is larger than so many times another (by eye)."""
_LARGE_MM = 25.0
_DEEPEST = 0.12
"""How deep a frame is at most, as a share of its shorter side; a circle is 0.146 deep."""
_ABOVE, _BELOW = 0.8, 0.25
"""How far letters reach above and below their line, as shares of their size."""

_KEY = re.compile(r"(?:day|week|weekday|month|date|cell|hour|line|year|period|label|set)\d*(?:-|$)")
_GROUPS = frozenset((SVG + "g", SVG + "a", SVG + "switch"))
_SHAPES = frozenset(SVG + name for name in SHAPES)
_SIDES = ("x", "y", "width", "height", "cx", "cy", "r", "x1", "y1", "x2", "y2")
_BOUND = ("clip-path", "mask", "filter")
"""What refers to shapes that lie in the element's own coordinates: it moves with them, whole."""


@dataclass(frozen=True)
class ArtPiece:
    """A shape of artwork, or one part of a path; ``part`` is None for the whole element.

    ``points`` are on its outline, on the page: corners, ends and middles of curves. ``straight``
    is what is made of level and upright lines only.
    """

    element: etree._Element
    part: int | None
    bounds: Rect
    points: tuple[Point, ...]
    straight: bool = False


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
    ROW = "row"
    """A few little things side by side in a sample: each keeps its proportions and its turn."""
    STRAIGHT = "straight"
    """Level and upright lines: every corner goes where it goes."""


@dataclass(frozen=True)
class Cluster:
    """Pieces that go together, the box around them (mm), and how far in from it a frame reaches."""

    pieces: tuple[ArtPiece, ...]
    bounds: Rect
    sort: Sort
    depth: float = 0.0

    @property
    def is_large(self) -> bool:
        """Whether it is artwork that something may stand in, as in a wreath."""
        smaller = min(self.bounds.width, self.bounds.height)
        return self.sort in (Sort.ART, Sort.FRAME) and smaller >= _LARGE_MM

    def surrounds(self, box: Rect) -> bool:
        """Whether it lies around a box: it has pieces on all four sides of its middle."""
        if self.sort is Sort.FRAME:
            return self.bounds.grown(-0.5 * self.depth).holds(box)
        if not (self.is_large and self.bounds.holds(box)):
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
    found, others = _frames(pieces)
    rules: list[ArtPiece] = []
    rest: list[ArtPiece] = []
    for piece in others:
        box = piece.bounds
        longest, thinnest = max(box.width, box.height), min(box.width, box.height)
        if piece.straight and longest >= 3.0:
            found.append(Cluster((piece,), box, Sort.STRAIGHT))
        elif longest >= _RULE_LENGTH_MM and longest >= _RULE_SHARE * thinnest:
            rules.append(piece)
        else:
            rest.append(piece)
    groups, free = _take_in(rules, _grouped(rest))
    found += [Cluster((piece,), piece.bounds, Sort.RULE) for piece in free]
    for group in groups:
        sort = Sort.STRIP if _is_strip(group) else Sort.ART
        found.append(Cluster(tuple(group), _bounds_of(group), sort))
    return found


def _frames(pieces: Sequence[ArtPiece]) -> tuple[list[Cluster], list[ArtPiece]]:
    """Frames among artwork, and the pieces that are in none."""
    frames: list[Cluster] = []
    others: list[ArtPiece] = []
    for group in _grouped(pieces):
        bounds = _bounds_of(group)
        depth = max(
            min(x - bounds.x, bounds.right - x, y - bounds.y, bounds.bottom - y)
            for piece in group
            for x, y in piece.points
        )
        shorter = min(bounds.width, bounds.height)
        straight = all(piece.straight for piece in group)
        if shorter >= _LARGE_MM and depth <= _DEEPEST * shorter and not straight:
            frames.append(Cluster(tuple(group), bounds, Sort.FRAME, depth))
        else:
            others += group
    return frames, others


def _is_strip(group: Sequence[ArtPiece]) -> bool:
    box = _bounds_of(group)
    longest, thinnest = max(box.width, box.height), min(box.width, box.height)
    return (
        len(group) > 4
        and longest >= 2 * _RULE_LENGTH_MM
        and thinnest <= _STRIP_MM
        and longest >= _STRIP_SHARE * thinnest
    )


def side_by_side(cluster: Cluster) -> list[Cluster]:
    """The things of a row from its first to its last; none of what is no row."""
    things = [Cluster(tuple(one), _bounds_of(one), Sort.ART) for one in _touching(cluster.pieces)]
    level = cluster.bounds.width >= cluster.bounds.height
    things.sort(key=lambda one: one.bounds.x if level else one.bounds.y)
    boxes = [one.bounds for one in things]
    sizes = [max(box.width, box.height) for box in boxes]
    turned = [box if level else Rect(box.y, box.x, box.height, box.width) for box in boxes]
    is_row = (
        len(things) > 1
        and max(sizes) <= min(_LITTLE_MM, _LIKE * min(sizes))
        and all(one.right < other.x for one, other in itertools.pairwise(turned))
        and max(box.y for box in turned) < min(box.bottom for box in turned)
    )
    return things if is_row else []


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


def _touching(pieces: Sequence[ArtPiece]) -> list[list[ArtPiece]]:
    """Pieces that are one thing, whatever they are grouped with."""
    return _grouped(pieces, _TOUCHING_MM)


def _grouped(pieces: Sequence[ArtPiece], in_a_group: float = _GROUPED_MM) -> list[list[ArtPiece]]:
    """Pieces that hang together, found in one sweep from left to right.

    Those of one group are ``in_a_group`` mm apart at most.
    """
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
        active = [a for a in active if pieces[a].bounds.right + in_a_group >= box.x]
        for other in active:
            reach = in_a_group if group_of[other] == group_of[place] else _TOUCHING_MM
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


class Box(NamedTuple):
    """A level ``<rect>`` or a ``<line>``: its corners go where they go. ``pitch_mm``: of rules."""

    element: etree._Element
    bounds: Rect
    pitch_mm: float | None = None
    from_top: bool = False


@dataclass(frozen=True)
class TextLine:
    """A text as it stands: its style, sizes in page mm, where it begins, and what it says.

    ``key`` is what it was named and ``holder`` the ``<rect>`` it was given, if it was, which is
    ``box`` on the page.
    """

    text: etree._Element
    key: str | None
    holder: etree._Element | None
    style: Style
    size_mm: float
    spot: Point
    anchor: str
    sample: str
    box: Rect | None
    upright: bool

    @property
    def look(self) -> tuple[object, ...]:
        """What it shares with texts that look alike, and so are set alike."""
        style = self.style
        return style.families, round(self.size_mm, 2), round(style.weight), style.italic

    @property
    def extent(self) -> Rect:
        """About the box that the sample fills, by the average width of letters, mm."""
        width = 0.45 * self.size_mm * len(self.sample)
        x, y = self.spot
        start = {"middle": x - width / 2, "end": x - width}.get(self.anchor, x)
        return Rect(start, y - _ABOVE * self.size_mm, width, (_ABOVE + _BELOW) * self.size_mm)


def _text_line(
    drawing: SavedDrawing,
    text: etree._Element,
    key: str | None = None,
    holder: etree._Element | None = None,
) -> TextLine:
    matrix = drawing.matrix(text)
    run = next((e for e in text.iter() if (e.text or "").strip()), text)
    place: list[float] = []
    for name in ("x", "y"):
        steps = itertools.takewhile(lambda step: step is not text.getparent(), lineage(run))
        said = ((step.get(name) or "").replace(",", " ").split() for step in steps)
        place.append(next((length(numbers[0]) for numbers in said if numbers), 0.0))
    style = computed_style(run)
    return TextLine(
        text=text,
        key=key,
        holder=holder,
        style=style,
        size_mm=style.size * matrix.scale_x,
        spot=matrix.point(*place),
        anchor=inherited(run, "text-anchor") or "start",
        sample=" ".join("".join(map(str, text.itertext())).split()),
        box=None if holder is None else drawing.matrix(holder).bounds(rect_of(holder)),
        upright=is_level(matrix),
    )


class Month(NamedTuple):
    """A small month: its area, the box of that (page mm), and the samples for its figures."""

    area: etree._Element
    bounds: Rect
    samples: tuple[TextLine, ...]


class DrawnOnce(NamedTuple):
    """What is drawn once for many places: its things, the room for all, and one place, page mm."""

    things: Things
    room: Rect
    cell: Rect


@dataclass
class Things:
    """The things of a page, of a sample, or of a group with an anchor of its own (``scope``).

    ``pieces`` of artwork are kept by what is shown with them: a ``show-…`` group or None.
    ``wholes`` can only be moved and scaled as they are: an image, a ``<use>``, something clipped.
    ``inner`` are groups within it that have anchors of their own. Rooms of ``samples`` are boxes.
    ``cell`` is the rectangle that says how large a sample is, None elsewhere.
    """

    edges: frozenset[str] = frozenset()
    scope: etree._Element | None = None
    cell: etree._Element | None = None
    pieces: dict[etree._Element | None, list[ArtPiece]] = field(default_factory=dict)
    boxes: list[Box] = field(default_factory=list)
    words: list[TextLine] = field(default_factory=list)
    months: list[Month] = field(default_factory=list)
    wholes: list[tuple[etree._Element, Rect]] = field(default_factory=list)
    inner: list[Things] = field(default_factory=list)
    samples: list[DrawnOnce] = field(default_factory=list)

    @functools.cached_property
    def art(self) -> tuple[Cluster, ...]:
        """Its artwork, in clusters; what is shown at different times is kept apart."""
        found = [one for pieces in self.pieces.values() for one in clusters(pieces)]
        if self.cell is None:
            return tuple(found)
        in_rows = (one.sort in (Sort.ART, Sort.STRIP) and side_by_side(one) for one in found)
        return tuple(
            replace(one, sort=Sort.ROW) if in_row else one
            for one, in_row in zip(found, in_rows, strict=True)
        )


def things_of(drawing: SavedDrawing) -> Things:
    """All that a page draws, guides left out."""
    found = Things()
    _walk(drawing, drawing.plain, found, None)
    return found


def _walk(
    drawing: SavedDrawing, parent: etree._Element, into: Things, shown: etree._Element | None
) -> None:
    for element in parent:
        if not is_drawn(element) or "guides" in names(element):
            continue
        if element.tag in _SHAPES and any("%" in element.get(side, "") for side in _SIDES):
            continue  # it is measured in shares of the page and follows it by itself
        target = into
        edges = anchor_of(element)
        if edges is not None:
            target = Things(edges, element)
            into.inner.append(target)
        _sort(drawing, element, target, shown)


def _sort(
    drawing: SavedDrawing, element: etree._Element, into: Things, shown: etree._Element | None
) -> None:
    tag, called = element.tag, names(element)
    key = next((name for name in called if _KEY.match(name)), None)
    if _is_whole(element):
        bounds = bounds_below(drawing, element)
        if bounds is not None:
            into.wholes.append((element, bounds))
    elif is_repeated(element) and _add_sample(drawing, element, into):
        pass
    elif tag in _GROUPS:
        texts = list(element.iter(SVG + "text"))
        rects = [each for each in element.iter(SVG + "rect") if not any(map(ruled, names(each)))]
        if key and texts and rects and key.endswith("-grid"):
            bounds = drawing.matrix(rects[0]).bounds(rect_of(rects[0]))
            samples = tuple(_text_line(drawing, text) for text in texts)
            into.months.append(Month(rects[0], bounds, samples))
        elif key and len(texts) == 1:
            box = rects[0] if rects else None
            into.words.append(_text_line(drawing, texts[0], key, box))
            for child in element.iter(*_SHAPES):
                if child is not box:
                    _sort(drawing, child, into, shown)
        else:
            show = any(name.startswith("show-") for name in called)
            _walk(drawing, element, into, element if show else shown)
    elif tag == SVG + "text":
        into.words.append(_text_line(drawing, element, key))
    elif tag in (SVG + "rect", SVG + "line") and is_level(drawing.matrix(element)):
        bounds = _bounds(drawing, element)
        wanted = next((found for found in map(ruled, called) if found), None)
        thin = bounds is not None and min(bounds.width, bounds.height) < 0.05
        if bounds is not None and wanted is not None:
            into.boxes.append(Box(element, bounds, wanted.pitch_mm, wanted.align == "top"))
        elif bounds is not None and _is_tick_box(element, bounds, into.cell):
            _add_pieces(drawing, element, into, shown)
        elif bounds is not None and (tag == SVG + "rect" or thin):
            into.boxes.append(Box(element, bounds))
        else:
            _add_pieces(drawing, element, into, shown)
    elif tag in _SHAPES:
        _add_pieces(drawing, element, into, shown)


def _add_sample(drawing: SavedDrawing, group: etree._Element, into: Things) -> bool:
    """Takes in a group that is repeated, if it holds what it should."""
    found = room_and_sample(group)
    cell = cell_of(found[1]) if found else None
    if found is None or cell is None:
        return False
    room, sample = found
    area, place = (drawing.matrix(one).bounds(rect_of(one)) for one in (room, cell))
    if min(area.width, area.height, place.width, place.height) <= 0:
        return False
    into.boxes.append(Box(room, area))
    things = Things(cell=cell)
    _sort(drawing, sample, things, None)
    into.samples.append(DrawnOnce(things, area, place))
    return True


def _is_tick_box(element: etree._Element, bounds: Rect, cell: etree._Element | None) -> bool:
    """Whether a rectangle in a sample is a little square to be ticked, which stays one."""
    square = abs(bounds.width - bounds.height) < _SQUARE_MM
    little = bounds.width <= _LITTLE_MM
    return (
        cell is not None
        and element is not cell
        and square
        and little
        and (not is_unpainted(element))
    )


def _is_whole(element: etree._Element) -> bool:
    return (
        element.tag not in _SHAPES | _GROUPS | {SVG + "text"}
        or any(element.get(name, "none") != "none" for name in _BOUND)
        or any("url(" in element.get(paint, "") for paint in ("fill", "stroke"))
        or (element.tag == SVG + "text" and element.find(f".//{SVG}textPath") is not None)
    )


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
    for inner in filter(is_drawn, element.iter()):
        matrix = drawing.matrix(inner)
        if inner.tag == SVG + "use":
            link = href(inner)
            target = next((e for e in drawing.plain.iter() if f"#{e.get('id')}" == link), None)
            if target is not None:
                shift = Matrix(e=length(inner.get("x")), f=length(inner.get("y")))
                placed = matrix @ shift @ drawing.outer_matrix(target).inverse()
                shapes = [(placed @ drawing.matrix(s), shape_points(s)) for s in target.iter()]
                points = [to.point(x, y) for to, inside in shapes for x, y in inside]
                if points:
                    yield Rect.around(points)
        elif inner.tag == SVG + "text":
            yield Rect(*matrix.point(length(inner.get("x")), length(inner.get("y"))), 0, 0)
        elif (bounds := _bounds(drawing, inner)) is not None:
            yield bounds
