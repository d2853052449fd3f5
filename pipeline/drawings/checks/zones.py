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
from pipeline.drawings.checks.inspection import Inspection, Item, is_key, is_stroked, property_of
from pipeline.fill.keys import ruled
from pipeline.fill.template import computed_style, rect_of
from pipeline.impose.leaf import LeafFace
from pipeline.svg.path import PathData, outline
from pipeline.svg.transform import Matrix
from pipeline.svg.tree import SVG, inherited, lineage, names
from pipeline.text.fonts import FontBook
from pipeline.text.shape import advance
from pipeline.text.style import length

_SLACK_MM = 0.05
"""So far over a line counts as on it: editors round, and no knife is as exact."""


class _Thing(NamedTuple):
    """Something on the page: ``what`` it is, its box, and its lines where it is a shape."""

    what: str
    element: etree._Element
    box: Rect
    lines: list[Points]


def check_zones(inspection: Inspection) -> None:
    """Text and other things off the page, in the punch zone, across the fold, near the cut."""
    flat = Rect(0, 0, inspection.template.width_mm, inspection.template.height_mm)
    things = _things(inspection)
    off = [
        thing
        for thing in things
        if not thing.box.overlaps(flat, 1e-6) and not _touches(thing, flat)
    ]
    if off:
        inspection.say("outside", [thing.element for thing in off], "lies wholly outside the page")
    on_page = [thing for thing in things if thing not in off]
    judged = [_judged(face, on_page) for face in inspection.faces]
    if not judged:
        return
    if inspection.side_is_known:
        # A page that is used on both sides must do for both.
        said = [verdict for one in judged for verdict in one]
    else:
        said = min(judged, key=len)
    _say(inspection, said)


class _Verdict(NamedTuple):
    rule: str
    message: str
    milder: Severity | None = None


def _say(inspection: Inspection, said: list[tuple[_Verdict, _Thing]]) -> None:
    """Texts and areas one by one; artwork that is alike gathered into a line."""
    gathered: dict[_Verdict, list[etree._Element]] = {}
    seen: set[tuple[str, etree._Element]] = set()
    for verdict, thing in said:
        if (verdict.rule, thing.element) in seen:
            continue
        seen.add((verdict.rule, thing.element))
        if thing.what == "artwork":
            gathered.setdefault(verdict, []).append(thing.element)
        else:
            inspection.say(verdict.rule, [thing.element], verdict.message, milder=verdict.milder)
    for verdict, elements in gathered.items():
        inspection.say(verdict.rule, elements, verdict.message, milder=verdict.milder)


def _judged(face: LeafFace, things: list[_Thing]) -> list[tuple[_Verdict, _Thing]]:
    judged = ((_verdict(face, thing), thing) for thing in things)
    return [(verdict, thing) for verdict, thing in judged if verdict is not None]


def _verdict(face: LeafFace, thing: _Thing) -> _Verdict | None:
    art = thing.what == "artwork"
    if art and thing.box.holds(face.trim, 1.0):
        return None  # a ground for the whole page runs below holes and folds as it should
    if _comes_into(thing, face.punch_zone):
        return _Verdict(
            "punch",
            f"lies where holes are punched, in the {face.punch_zone.width:g} mm along the rings",
            Severity.LOOK if art else None,
        )
    if face.fold_x is not None and _crosses(thing.box, face.fold_x):
        return _Verdict(
            "fold",
            f"runs across the fold, {face.fold_x:g} mm from the left",
            Severity.NOTE if art else None,
        )
    return None if art else _cut(face, thing)


def _cut(face: LeafFace, thing: _Thing) -> _Verdict | None:
    """What is to be read or written on, too near a cut."""
    if not face.flat.holds(thing.box, _SLACK_MM):
        return _Verdict("safe", "runs over the edge of the page and will be cut off")
    if not any(area.holds(thing.box, _SLACK_MM) for area in (face.safe, face.flap_safe) if area):
        message = "lies outside the safe area, where a cut that is slightly off takes it away"
        return _Verdict("safe", message, Severity.LOOK)
    return None


def _crosses(box: Rect, x: float) -> bool:
    return box.x < x - _SLACK_MM and box.right > x + _SLACK_MM


def _comes_into(thing: _Thing, zone: Rect) -> bool:
    if not thing.box.grown(-_SLACK_MM / 2).overlaps(zone) and thing.box.width > _SLACK_MM:
        return False
    return runs_through(thing.lines, zone) if thing.lines else thing.box.overlaps(zone, _SLACK_MM)


def _touches(thing: _Thing, flat: Rect) -> bool:
    """Whether a line, whose box has no area, comes onto the page."""
    return bool(thing.lines) and runs_through(thing.lines, flat)


def _things(inspection: Inspection) -> list[_Thing]:
    """Everything that leaves ink or will, with its box on the page."""
    found: list[_Thing] = []
    groups: dict[etree._Element, list[Item]] = {}
    for item in inspection.painted:
        group = _key_group(item.element)
        if group is not None:
            groups.setdefault(group, []).append(item)
        else:
            found += _thing(item, inspection)
    for group, inside in groups.items():
        boxes = [item for item in inside if item.element.tag == SVG + "rect"]
        texts = [item for item in inside if item.element.tag == SVG + "text"]
        if boxes and texts:
            found.append(_Thing("text", group, _box_of_key(boxes[0], texts, inspection), []))
        else:
            found += [thing for item in inside for thing in _thing(item, inspection)]
    return found


def _key_group(element: etree._Element) -> etree._Element | None:
    """The group with a key that an element is in."""
    for step in lineage(element):
        if step.tag == SVG + "g" and any(map(is_key, names(step))):
            return step
    return None


def _box_of_key(box: Item, texts: Sequence[Item], inspection: Inspection) -> Rect:
    """How far a key's text may run: as wide as its box and as high as its letters.

    A small month, which has several texts or a box for many lines, is as large as its box.
    """
    area = box.matrix.bounds(rect_of(box.element))
    lines = [line for text in texts for line in text_boxes(*text, inspection.book)]
    if len(lines) != 1 or area.height > 2.5 * lines[0].height:
        return area
    return Rect(area.x, lines[0].y, area.width, lines[0].height)


def _thing(item: Item, inspection: Inspection) -> list[_Thing]:
    element, matrix = item
    if element.tag == SVG + "text":
        return [
            _Thing("text", element, box, [])
            for box in text_boxes(element, matrix, inspection.book)
            if box.width > 0
        ]
    if element.tag == SVG + "rect" and any(ruled(name) for name in names(element)):
        return [_Thing("area", element, matrix.bounds(rect_of(element)), [])]
    if element.tag != SVG + "image" and not is_inked(element):
        return []
    lines = outlines(element, matrix)
    points = [point for chain in lines for point in chain]
    return [_Thing("artwork", element, Rect.around(points), lines)] if points else []


_ASCENT, _DESCENT = 0.75, 0.22
"""How far letters reach above and below their baseline, as shares of their size (by eye)."""

_CURVE_STEPS = 8
"""Of a curve so many points are looked at: enough to tell what it is near."""

Points = list[tuple[float, float]]


def text_boxes(text: etree._Element, matrix: Matrix, book: FontBook) -> list[Rect]:
    """The boxes of a text's lines, mm on the page; none where its font is not there.

    Text on a path is left out: it lies where the path does.
    """
    boxes = []
    for run, words, x, y in _lines(text):
        style = computed_style(run)
        try:
            width = advance(words, style, book)
        except UserError:
            continue
        anchor = inherited(run, "text-anchor") or "start"
        left = x - {"middle": width / 2, "end": width}.get(anchor, 0.0)
        size = style.size
        boxes.append(
            matrix.bounds(Rect(left, y - _ASCENT * size, width, (_ASCENT + _DESCENT) * size))
        )
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


def is_inked(element: etree._Element) -> bool:
    """Whether a shape is filled or stroked at all, and seen."""
    fill, stroke = property_of(element, "fill") or "black", property_of(element, "stroke")
    if property_of(element, "visibility") in ("hidden", "collapse"):
        return False
    return fill not in ("none", "transparent") or is_stroked(element, stroke)


def outlines(element: etree._Element, matrix: Matrix) -> list[Points]:
    """A shape's subpaths as chains of points, mm on the page."""
    data = _corners(rect_of(element)) if element.tag == SVG + "image" else outline(element)
    chains: list[Points] = []
    for segment in data.segments():
        if segment.operator == "M":
            chains.append([])
        chains[-1] += [matrix.point(x, y) for x, y in segment.flattened(_CURVE_STEPS)]
    return chains


def _corners(box: Rect) -> PathData:
    x, y, right, bottom = box.x, box.y, box.right, box.bottom
    return PathData("MLLLZ", (x, y, right, y, right, bottom, x, bottom))


def runs_through(chains: list[Points], zone: Rect) -> bool:
    """Whether the lines between the points come into a rectangle (more than to its edge)."""
    slack = 0.01
    inner = zone.grown(-slack)
    for chain in chains:
        for (ax, ay), (bx, by) in zip(chain, chain[1:] or chain, strict=False):
            if _meets(ax, ay, bx, by, inner):
                return True
    return False


def _meets(ax: float, ay: float, bx: float, by: float, zone: Rect) -> bool:
    """Whether a straight line has a point inside a rectangle (Liang and Barsky's clipping)."""
    low, high = 0.0, 1.0
    for start, step, least, most in (
        (ax, bx - ax, zone.x, zone.right),
        (ay, by - ay, zone.y, zone.bottom),
    ):
        if abs(step) < 1e-12:
            if not least <= start <= most:
                return False
            continue
        one, other = (least - start) / step, (most - start) / step
        low, high = max(low, min(one, other)), min(high, max(one, other))
        if low > high:
            return False
    return True
