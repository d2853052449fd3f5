"""Does anything lie where a knife, a punch or a fold will spoil it, or beyond the page?"""

from __future__ import annotations

from collections.abc import Sequence
from typing import NamedTuple

from lxml import etree

from pipeline.base.geometry import Rect
from pipeline.drawings.checks.drawing import Drawing, Item
from pipeline.drawings.checks.finding import Severity
from pipeline.drawings.checks.ink import Points, hull, is_inked, outlines, runs_through, text_boxes
from pipeline.drawings.checks.known import ALL_KEYS
from pipeline.fill.keys import ruled
from pipeline.fill.template import rect_of
from pipeline.impose.leaf import Face
from pipeline.svg.tree import SVG, lineage, names

_SLACK_MM = 0.05
"""So far over a line counts as on it: editors round, and no knife is as exact."""


class _Thing(NamedTuple):
    """Something on the page: ``what`` it is, its box, and its lines where it is a shape."""

    what: str
    element: etree._Element
    box: Rect
    lines: list[Points]


def check_places(drawing: Drawing) -> None:
    """Text and other things off the page, in the punch zone, across the fold, near the cut."""
    flat = Rect(0, 0, drawing.template.width_mm, drawing.template.height_mm)
    things = _things(drawing)
    off = [
        thing
        for thing in things
        if not thing.box.overlaps(flat, 1e-6) and not _touches(thing, flat)
    ]
    drawing.say_of_all(
        Severity.LOOK,
        "outside",
        [thing.element for thing in off],
        "lies wholly outside the page",
        "delete it, or move it onto the page",
    )
    on_page = [thing for thing in things if thing not in off]
    judged = [_judged(face, on_page) for face in drawing.faces]
    if not judged:
        return
    if drawing.side_is_known:
        # A page that is used on both sides must do for both.
        said = [verdict for one in judged for verdict in one]
    else:
        said = min(judged, key=len)
    _say(drawing, said)


class _Verdict(NamedTuple):
    severity: Severity
    rule: str
    message: str
    remedy: str


def _say(drawing: Drawing, said: list[tuple[_Verdict, _Thing]]) -> None:
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
            drawing.say(*verdict[:2], thing.element, *verdict[2:])
    for verdict, elements in gathered.items():
        drawing.say_of_all(*verdict[:2], elements, *verdict[2:])


def _judged(face: Face, things: list[_Thing]) -> list[tuple[_Verdict, _Thing]]:
    judged = ((_verdict(face, thing), thing) for thing in things)
    return [(verdict, thing) for verdict, thing in judged if verdict is not None]


def _verdict(face: Face, thing: _Thing) -> _Verdict | None:
    art = thing.what == "artwork"
    if art and _covers(thing.box, face.trim):
        return None  # a ground for the whole page runs below holes and folds as it should
    if _comes_into(thing, face.punch_zone):
        return _Verdict(
            Severity.LOOK if art else Severity.MEND,
            "punch",
            f"lies in the punch zone, {face.punch_zone.width:g} mm along the rings",
            "move it away from the punched edge",
        )
    if face.fold_x is not None and _crosses(thing.box, face.fold_x):
        return _Verdict(
            Severity.NOTE if art else Severity.MEND,
            "fold",
            f"runs across the fold, {face.fold_x:g} mm from the left",
            "keep it on one side of the fold",
        )
    return None if art else _cut(face, thing)


def _cut(face: Face, thing: _Thing) -> _Verdict | None:
    """What is to be read or written on, too near a cut."""
    if not face.flat.holds(thing.box, _SLACK_MM):
        severity, message = Severity.MEND, "runs over the edge of the page and will be cut off"
    elif not any(area.holds(thing.box, _SLACK_MM) for area in (face.safe, face.flap_safe) if area):
        severity, message = Severity.LOOK, "lies outside the safe area, where a trimming error cuts"
    else:
        return None
    return _Verdict(severity, "safe", message, "move it 3 mm or more inside the edges")


def _covers(box: Rect, page: Rect) -> bool:
    return box.holds(page, 1.0)


def _crosses(box: Rect, x: float) -> bool:
    return box.x < x - _SLACK_MM and box.right > x + _SLACK_MM


def _comes_into(thing: _Thing, zone: Rect) -> bool:
    if not thing.box.grown(-_SLACK_MM / 2).overlaps(zone) and thing.box.width > _SLACK_MM:
        return False
    return runs_through(thing.lines, zone) if thing.lines else thing.box.overlaps(zone, _SLACK_MM)


def _touches(thing: _Thing, flat: Rect) -> bool:
    """Whether a line, whose box has no area, comes onto the page."""
    return bool(thing.lines) and runs_through(thing.lines, flat)


def _things(drawing: Drawing) -> list[_Thing]:
    """Everything that leaves ink or will, with its box on the page."""
    found: list[_Thing] = []
    groups: dict[etree._Element, list[Item]] = {}
    for item in drawing.painted:
        group = _key_group(item.element)
        if group is not None:
            groups.setdefault(group, []).append(item)
        else:
            found += _thing(item, drawing)
    for group, inside in groups.items():
        boxes = [item for item in inside if item.element.tag == SVG + "rect"]
        texts = [item for item in inside if item.element.tag == SVG + "text"]
        if boxes and texts:
            found.append(_Thing("text", group, _box_of_key(boxes[0], texts, drawing), []))
        else:
            found += [thing for item in inside for thing in _thing(item, drawing)]
    return found


def _key_group(element: etree._Element) -> etree._Element | None:
    """The group with a key that an element is in."""
    for step in lineage(element):
        if step.tag == SVG + "g" and any(
            name in ALL_KEYS or name.startswith("label-") for name in names(step)
        ):
            return step
    return None


def _box_of_key(box: Item, texts: Sequence[Item], drawing: Drawing) -> Rect:
    """How far a key's text may run: as wide as its box and as high as its letters.

    A small month, which has several texts or a box for many lines, is as large as its box.
    """
    area = box.matrix.bounds(rect_of(box.element))
    lines = [line for text in texts for line in text_boxes(*text, drawing.book)]
    if len(lines) != 1 or area.height > 2.5 * lines[0].height:
        return area
    return Rect(area.x, lines[0].y, area.width, lines[0].height)


def _thing(item: Item, drawing: Drawing) -> list[_Thing]:
    element, matrix = item
    if element.tag == SVG + "text":
        return [
            _Thing("text", element, box, [])
            for box in text_boxes(element, matrix, drawing.book)
            if box.width > 0
        ]
    if element.tag == SVG + "rect" and any(ruled(name) for name in names(element)):
        return [_Thing("area", element, matrix.bounds(rect_of(element)), [])]
    if element.tag != SVG + "image" and not is_inked(element):
        return []
    lines = outlines(element, matrix)
    box = hull(lines)
    return [_Thing("artwork", element, box, lines)] if box else []
