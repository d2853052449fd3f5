"""Does anything lie where a knife, a punch or a fold will spoil it, or beyond the page?

Texts are judged by the boxes of their lines, shapes by the lines they are drawn with.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from typing import NamedTuple

from lxml import etree

from pipeline.base.findings import Severity
from pipeline.base.geometry import Rect
from pipeline.drawings.checks.inspection import (
    DrawingFinding,
    Inspection,
    Item,
    contrast,
    ink_of,
    is_inked,
    is_key,
    text_boxes,
)
from pipeline.fill.keys import ruled
from pipeline.fill.template import rect_of
from pipeline.impose.leaf import LeafFace
from pipeline.svg.paint import Colour
from pipeline.svg.path import Point, outline
from pipeline.svg.tree import SVG, lineage, names

_SLACK_MM = 0.05
"""So far over a line counts as on it: editors round, and no knife is as exact."""

_NEAR_CUT_MM = 1.0
"""So far off a cut by hand or in a stack may be (common practice)."""

_SEEN = 1.1
"""From this contrast with the paper on, an edge that a cut lays bare is seen (by eye)."""

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
    yield from _near_cuts(
        inspection, [one for one in on_page if ("punch", one.element) not in seen]
    )


def _near_cuts(inspection: Inspection, things: Sequence[_Thing]) -> Iterator[DrawingFinding]:
    """Artwork that ends near a cut or on it, where a cut slightly off shows, edge by edge."""
    if not inspection.faces:
        return
    flat, paper = inspection.faces[0].flat, Colour(255, 255, 255)
    found: dict[str, list[tuple[float, etree._Element]]] = {}
    for thing in things:
        paints = ink_of(thing.element)
        if not thing.lines or not any(
            one is None or contrast(one, paper) >= _SEEN for one in paints
        ):
            continue
        box = thing.box
        inside = {
            "left": box.x - flat.x,
            "top": box.y - flat.y,
            "right": flat.right - box.right,
            "bottom": flat.bottom - box.bottom,
        }
        for edge, distance in inside.items():
            if -_SLACK_MM <= distance < _NEAR_CUT_MM - _SLACK_MM:
                found.setdefault(edge, []).append((max(0.0, distance), thing.element))
    edges: dict[tuple[etree._Element, ...], list[tuple[str, float]]] = {}
    for edge, those in found.items():
        elements = tuple(element for _, element in those)
        edges.setdefault(elements, []).append((edge, min(distance for distance, _ in those)))
    for elements, ends in edges.items():
        where = ", ".join(edge for edge, _ in ends)
        nearest = min(distance for _, distance in ends)
        gap = f"{nearest:.1f} mm from the cut" if nearest > _SLACK_MM else "on the cut"
        message = f"ends {gap} ({where}) and does not run past it; a cut slightly off shows that"
        yield inspection.finding("art-near-cut", elements, message)


def _verdict(face: LeafFace, thing: _Thing) -> _Verdict | None:
    art, box = bool(thing.lines), thing.box
    if art and box.holds(face.trim, 1.0):
        return None  # a ground for the whole page runs below holes and folds as it should
    if face.punch_zone.width and _comes_into(thing, face.punch_zone):
        return _Verdict(
            "punch",
            f"lies where holes are punched, in the {face.punch_zone.width:g} mm beside the rings",
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
    lines = [line for text in texts for line in text_boxes(text, inspection.book)]
    if len(lines) != 1 or area.height > 2.5 * lines[0].height:
        return area
    return Rect(area.x, lines[0].y, area.width, lines[0].height)


def _thing(item: Item, inspection: Inspection) -> Iterator[_Thing]:
    element, matrix = item
    if element.tag == SVG + "text":
        boxes = text_boxes(item, inspection.book)
        yield from (_Thing(element, box) for box in boxes if box.width > 0)
    elif element.tag == SVG + "rect" and any(map(ruled, names(element))):
        yield _Thing(element, matrix.bounds(rect_of(element)))
    elif element.tag == SVG + "image":
        x, y, width, height = rect_of(element)
        corners = [(x, y), (x + width, y), (x + width, y + height), (x, y + height), (x, y)]
        line = [matrix.point(*corner) for corner in corners]
        yield _Thing(element, Rect.around(line), [line])
    elif is_inked(element):
        lines: list[list[Point]] = []
        for segment in outline(element).segments():
            if segment.operator == "M":
                lines.append([])
            lines[-1] += [matrix.point(x, y) for x, y in segment.flattened(_CURVE_STEPS)]
        if lines:
            yield _Thing(element, Rect.around(point for line in lines for point in line), lines)


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
