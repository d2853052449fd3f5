"""Does anything lie where a knife, a punch or a fold will spoil it, or beyond the page?

Texts are judged by the boxes of their lines, shapes by the lines they are drawn with.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from typing import NamedTuple

from lxml import etree

from pipeline.base.errors import UserError
from pipeline.base.findings import Severity
from pipeline.base.geometry import Rect
from pipeline.drawings.checks.inspection import (
    DrawingFinding,
    Inspection,
    Item,
    is_key,
    is_stroked,
    property_of,
)
from pipeline.fill.keys import ruled
from pipeline.fill.template import computed_style, rect_of
from pipeline.impose.leaf import LeafFace
from pipeline.svg.path import Point, outline
from pipeline.svg.tree import SVG, inherited, lineage, names
from pipeline.text.fonts import FontBook
from pipeline.text.shape import advance
from pipeline.text.style import length

_SLACK_MM = 0.05
"""So far over a line counts as on it: editors round, and no knife is as exact."""

_ASCENT, _DESCENT = 0.75, 0.22
"""How far letters reach above and below their baseline, as shares of their size (by eye)."""

_CURVE_STEPS = 8
"""Of a curve so many points are looked at: enough to tell what it is near."""


class _Thing(NamedTuple):
    """Something on the page: its box and, where it is artwork, the points its lines go through."""

    element: etree._Element
    box: Rect
    lines: Sequence[Sequence[Point]] = ()

    def runs_through(self, zone: Rect) -> bool:
        """Whether its lines come into a rectangle (more than to its edge)."""
        inner = zone.grown(-0.01)
        return any(
            _meets(one, other, inner)
            for chain in self.lines
            for one, other in zip(chain, chain[1:] or chain, strict=False)
        )


class _Verdict(NamedTuple):
    rule: str
    message: str
    milder: Severity | None = None


def check_zones(inspection: Inspection) -> Iterator[DrawingFinding]:
    """Text and other things off the page, in the punch zone, across the fold, near the cut.

    Texts and areas are told of one by one, artwork that is alike is gathered into a line.
    """
    flat = Rect(0, 0, inspection.template.width_mm, inspection.template.height_mm)
    off: list[etree._Element] = []
    on_page: list[_Thing] = []
    for thing in _things(inspection):
        if thing.box.overlaps(flat, 1e-6) or thing.runs_through(flat):
            on_page.append(thing)
        else:
            off.append(thing.element)
    if off:
        yield inspection.finding("outside", off, "lies wholly outside the page")
    judged = [
        [(verdict, thing) for thing in on_page if (verdict := _verdict(face, thing))]
        for face in inspection.faces
    ]
    if not inspection.side_is_known:  # else a page used on both sides must do for both
        judged = [min(judged, key=len)] if judged else []
    gathered: dict[tuple[_Verdict, int], list[etree._Element]] = {}
    seen: set[tuple[str, etree._Element]] = set()
    for verdict, thing in (said for face in judged for said in face):
        if (verdict.rule, thing.element) not in seen:
            seen.add((verdict.rule, thing.element))
            alike = 0 if thing.lines else len(seen)
            gathered.setdefault((verdict, alike), []).append(thing.element)
    for (verdict, _), elements in gathered.items():
        yield inspection.finding(verdict.rule, elements, verdict.message, milder=verdict.milder)


def _verdict(face: LeafFace, thing: _Thing) -> _Verdict | None:
    art, box = bool(thing.lines), thing.box
    if art and box.holds(face.trim, 1.0):
        return None  # a ground for the whole page runs below holes and folds as it should
    if _comes_into(thing, face.punch_zone):
        return _Verdict(
            "punch",
            f"lies where holes are punched, in the {face.punch_zone.width:g} mm along the rings",
            Severity.LOOK if art else None,
        )
    fold = face.fold_x
    if fold is not None and box.x < fold - _SLACK_MM and box.right > fold + _SLACK_MM:
        message = f"runs across the fold, {fold:g} mm from the left"
        return _Verdict("fold", message, Severity.NOTE if art else None)
    if art:
        return None
    if not face.flat.holds(box, _SLACK_MM):
        return _Verdict("safe", "runs over the edge of the page and will be cut off")
    if not any(area.holds(box, _SLACK_MM) for area in (face.safe, face.flap_safe) if area):
        message = "lies outside the safe area, where a cut that is slightly off takes it away"
        return _Verdict("safe", message, Severity.LOOK)
    return None


def _comes_into(thing: _Thing, zone: Rect) -> bool:
    if not thing.box.grown(-_SLACK_MM / 2).overlaps(zone) and thing.box.width > _SLACK_MM:
        return False
    return thing.runs_through(zone) if thing.lines else thing.box.overlaps(zone, _SLACK_MM)


def _things(inspection: Inspection) -> list[_Thing]:
    """Everything that leaves ink or will, with its box on the page."""
    found: list[_Thing] = []
    groups: dict[etree._Element, list[Item]] = {}
    for item in inspection.painted:
        around = (s for s in lineage(item.element) if s.tag == SVG + "g")
        group = next((step for step in around if any(map(is_key, names(step)))), None)
        if group is not None:
            groups.setdefault(group, []).append(item)
        else:
            found += _thing(item, inspection)
    for group, inside in groups.items():
        boxes = [item for item in inside if item.element.tag == SVG + "rect"]
        texts = [item for item in inside if item.element.tag == SVG + "text"]
        if boxes and texts:
            found.append(_Thing(group, _box_of_key(boxes[0], texts, inspection)))
        else:
            found += [thing for item in inside for thing in _thing(item, inspection)]
    return found


def _box_of_key(box: Item, texts: Sequence[Item], inspection: Inspection) -> Rect:
    """How far a key's text may run: as wide as its box and as high as its letters.

    A small month, which has several texts or a box for many lines, is as large as its box.
    """
    area = box.matrix.bounds(rect_of(box.element))
    lines = [line for text in texts for line in _text_boxes(text, inspection.book)]
    if len(lines) != 1 or area.height > 2.5 * lines[0].height:
        return area
    return Rect(area.x, lines[0].y, area.width, lines[0].height)


def _thing(item: Item, inspection: Inspection) -> Iterator[_Thing]:
    element, matrix = item
    if element.tag == SVG + "text":
        boxes = _text_boxes(item, inspection.book)
        yield from (_Thing(element, box) for box in boxes if box.width > 0)
    elif element.tag == SVG + "rect" and any(map(ruled, names(element))):
        yield _Thing(element, matrix.bounds(rect_of(element)))
    elif element.tag == SVG + "image":
        x, y, width, height = rect_of(element)
        corners = [(x, y), (x + width, y), (x + width, y + height), (x, y + height), (x, y)]
        line = [matrix.point(*corner) for corner in corners]
        yield _Thing(element, Rect.around(line), [line])
    elif _is_inked(element):
        lines: list[list[Point]] = []
        for segment in outline(element).segments():
            if segment.operator == "M":
                lines.append([])
            lines[-1] += [matrix.point(x, y) for x, y in segment.flattened(_CURVE_STEPS)]
        if lines:
            yield _Thing(element, Rect.around(point for line in lines for point in line), lines)


def _text_boxes(item: Item, book: FontBook) -> list[Rect]:
    """The boxes of a text's lines, mm on the page; none where its font is not there.

    Text on a path is left out: it lies where the path does.
    """
    boxes = []
    for run, words, x, y in _lines(item.element):
        style = computed_style(run)
        try:
            width = advance(words, style, book)
        except UserError:
            continue
        anchor = inherited(run, "text-anchor") or "start"
        left = x - {"middle": width / 2, "end": width}.get(anchor, 0.0)
        top, height = y - _ASCENT * style.size, (_ASCENT + _DESCENT) * style.size
        boxes.append(item.matrix.bounds(Rect(left, top, width, height)))
    return boxes


def _lines(text: etree._Element) -> Iterator[tuple[etree._Element, str, float, float]]:
    """A text's lines: what begins at a place of its own, with its words and that place."""
    x = y = 0.0
    words, run = "", text
    for element in text.iter():
        if element.tag == SVG + "textPath":
            return
        own = [_first(element.get(name)) for name in ("x", "y")]
        moves = [_first(element.get(name)) or 0.0 for name in ("dx", "dy")]
        if any(value is not None for value in own) or moves[1]:
            if words.strip():
                yield run, words.strip(), x, y
            x = (own[0] if own[0] is not None else x) + moves[0]
            y = (own[1] if own[1] is not None else y) + moves[1]
            words, run = "", element
        if not words.strip():
            run = element
        words += " ".join((element.text or "").split())
    if words.strip():
        yield run, words.strip(), x, y


def _first(value: str | None) -> float | None:
    parts = (value or "").replace(",", " ").split()
    return length(parts[0]) if parts else None


def _is_inked(element: etree._Element) -> bool:
    """Whether a shape is filled or stroked at all, and seen."""
    if property_of(element, "visibility") in ("hidden", "collapse"):
        return False
    fill = property_of(element, "fill") or "black"
    return fill not in ("none", "transparent") or is_stroked(element)


def _meets(one: Point, other: Point, zone: Rect) -> bool:
    """Whether a straight line has a point inside a rectangle.

    It has when their boxes meet and the corners do not all lie on one side of it.
    """
    (ax, ay), (bx, by) = one, other
    if (
        max(ax, bx) < zone.x
        or min(ax, bx) > zone.right
        or max(ay, by) < zone.y
        or min(ay, by) > zone.bottom
    ):
        return False
    corners = [(x, y) for x in (zone.x, zone.right) for y in (zone.y, zone.bottom)]
    sides = [(bx - ax) * (y - ay) - (by - ay) * (x - ax) for x, y in corners]
    return min(sides) <= 0 <= max(sides)
