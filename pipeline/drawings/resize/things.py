"""What there is on a page, sorted by how it takes to another size."""

from __future__ import annotations

import functools
import re
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, field

from lxml import etree

from pipeline.base.geometry import Rect
from pipeline.drawings.resize.anchors import Told, told_of
from pipeline.drawings.resize.clusters import Cluster, clusters
from pipeline.drawings.resize.drawing import Drawing, is_drawn, names
from pipeline.drawings.resize.pieces import Piece
from pipeline.drawings.resize.shapes import points_of
from pipeline.drawings.resize.subpaths import is_straight, outline, subpaths
from pipeline.fill.keys import ruled
from pipeline.svg.transform import Matrix, parse_transform
from pipeline.svg.tree import SVG
from pipeline.text.style import length

_KEY = re.compile(r"(?:day|week|month|date|year|period|label|set)\d*(?:-|$)")
_GROUPS = frozenset((SVG + "g", SVG + "a", SVG + "switch"))
_SHAPES = frozenset(
    SVG + name for name in ("path", "circle", "ellipse", "polygon", "polyline", "rect", "line")
)
_BOUND = ("clip-path", "mask", "filter")
"""What refers to shapes that lie in the element's own coordinates: it moves with them, whole."""


@dataclass(frozen=True)
class Box:
    """A level ``<rect>`` or a ``<line>``: its corners go where they go. ``pitch_mm``: of rules."""

    element: etree._Element
    bounds: Rect
    pitch_mm: float | None = None
    from_top: bool = False


@dataclass(frozen=True)
class Words:
    """A ``<text>``, with the key and the box it has, if it has them, and its visible ``frame``."""

    text: etree._Element
    key: str | None = None
    box: etree._Element | None = None
    visible: bool = False


@dataclass(frozen=True)
class Month:
    """A small month: its area and the samples for its figures."""

    area: etree._Element
    samples: tuple[etree._Element, ...]


@dataclass(frozen=True)
class Whole:
    """What can only be moved and scaled as it is: an image, a ``<use>``, something clipped."""

    element: etree._Element
    bounds: Rect


@dataclass
class Things:
    """The things of a page, or of a group whose anchor is told."""

    told: Told | None = None
    scope: etree._Element | None = None
    pieces: dict[etree._Element | None, list[Piece]] = field(default_factory=dict)
    """Pieces of artwork by what is shown with them: a ``show-…`` group or None."""
    boxes: list[Box] = field(default_factory=list)
    words: list[Words] = field(default_factory=list)
    months: list[Month] = field(default_factory=list)
    wholes: list[Whole] = field(default_factory=list)
    inner: list[Things] = field(default_factory=list)
    """Groups within it whose anchors are told."""

    @functools.cached_property
    def art(self) -> tuple[Cluster, ...]:
        """Its artwork, in clusters; what is shown at different times is kept apart."""
        return tuple(found for pieces in self.pieces.values() for found in clusters(pieces))


def things_of(drawing: Drawing) -> Things:
    """All that a page draws, guides left out."""
    found = Things()
    _walk(drawing, drawing.plain, found, None)
    return found


def _walk(
    drawing: Drawing, parent: etree._Element, into: Things, shown: etree._Element | None
) -> None:
    for element in parent:
        if not is_drawn(element):
            continue
        called = names(element)
        if "guides" in called or _goes_by_shares(element):
            continue
        target = into
        told = told_of(element)
        if told is not None:
            target = Things(told, element)
            into.inner.append(target)
        _sort(drawing, element, called, target, shown)


def _sort(
    drawing: Drawing,
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
            into.months.append(Month(rects[0], tuple(texts)))
        elif key and len(texts) == 1:
            box = rects[0] if rects else None
            into.words.append(Words(texts[0], key, box, box is not None and _is_seen(box)))
            for child in element.iter(*_SHAPES):
                if child is not box:
                    _sort(drawing, child, names(child), into, shown)
        else:
            show = any(name.startswith("show-") for name in called)
            _walk(drawing, element, into, element if show else shown)
    elif tag == SVG + "text":
        key = next((name for name in called if _KEY.match(name)), None)
        into.words.append(Words(element, key))
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
    """Whether a shape is said in shares of the page: it follows the page by itself."""
    sides = ("x", "y", "width", "height", "cx", "cy", "r", "x1", "y1", "x2", "y2")
    return element.tag in _SHAPES and any("%" in element.get(side, "") for side in sides)


def _is_ruled(element: etree._Element) -> bool:
    return any(ruled(name) for name in names(element))


def _is_seen(rect: etree._Element) -> bool:
    paints = (("fill", "black"), ("stroke", "none"))
    return any(_inherited(rect, paint, default) != "none" for paint, default in paints)


def _inherited(element: etree._Element, name: str, default: str) -> str:
    current: etree._Element | None = element
    while current is not None:
        if current.get(name) is not None:
            return current.get(name, "")
        current = current.getparent()
    return default


def _is_whole(element: etree._Element) -> bool:
    if element.tag not in _SHAPES | _GROUPS | {SVG + "text"}:
        return True
    if any(element.get(name, "none") != "none" for name in _BOUND):
        return True
    if any("url(" in element.get(paint, "") for paint in ("fill", "stroke")):
        return True
    return element.tag == SVG + "text" and element.find(f".//{SVG}textPath") is not None


def _add_pieces(
    drawing: Drawing, element: etree._Element, into: Things, shown: etree._Element | None
) -> None:
    kept = into.pieces.setdefault(shown, [])
    matrix = drawing.matrix(element)
    level = is_level(matrix)
    if element.tag == SVG + "path":
        for place, part in enumerate(subpaths(element.get("d") or "")):
            if part.points:
                line = [matrix.point(x, y) for x, y in outline(part)]
                straight = is_straight(part) and level
                kept.append(Piece(element, place, Rect.around(line), tuple(line), straight))
        return
    points = [matrix.point(x, y) for x, y in points_of(element)]
    if points:
        kept.append(Piece(element, None, Rect.around(points), tuple(points)))


def is_level(matrix: Matrix) -> bool:
    """Whether level lines stay level and upright ones upright."""
    return abs(matrix.b) + abs(matrix.c) < 1e-6 * (abs(matrix.a) + abs(matrix.d))


def _around(matrix: Matrix, points: Sequence[tuple[float, float]]) -> Rect:
    return Rect.around(matrix.point(x, y) for x, y in points)


def _bounds(drawing: Drawing, element: etree._Element) -> Rect | None:
    """The box in page mm around a shape's geometry, its stroke left out."""
    points = points_of(element)
    return _around(drawing.matrix(element), points) if points else None


def bounds_below(drawing: Drawing, element: etree._Element) -> Rect | None:
    """The box in page mm around all that an element draws; text by where it begins."""
    boxes = list(_boxes_below(drawing, element))
    return Rect.union(boxes) if boxes else None


def _boxes_below(drawing: Drawing, element: etree._Element) -> Iterator[Rect]:
    for inner in element.iter():
        if not is_drawn(inner):
            continue
        matrix = drawing.matrix(inner)
        if inner.tag == SVG + "use":
            target = _used(drawing, inner)
            shift = Matrix(e=length(inner.get("x")), f=length(inner.get("y")))
            if target is not None:
                below = [p for shape in target.iter() for p in _points_in(shape, target)]
                if below:
                    yield _around(matrix @ shift, below)
            continue
        if inner.tag == SVG + "text":
            spot = matrix.point(length(inner.get("x")), length(inner.get("y")))
            yield Rect(*spot, 0, 0)
            continue
        points = points_of(inner)
        if points:
            yield _around(matrix, points)


def _used(drawing: Drawing, use: etree._Element) -> etree._Element | None:
    href = use.get("href") or use.get("{http://www.w3.org/1999/xlink}href") or ""
    if not href.startswith("#"):
        return None
    return next((e for e in drawing.plain.iter() if e.get("id") == href[1:]), None)


def _points_in(shape: etree._Element, top: etree._Element) -> list[tuple[float, float]]:
    """A shape's points in the coordinates that ``top``'s own transform leads to."""
    matrix, step = Matrix(), shape
    while True:
        matrix = parse_transform(step.get("transform")) @ matrix
        parent = step.getparent()
        if step is top or parent is None:
            break
        step = parent
    return [matrix.point(x, y) for x, y in points_of(shape)]
