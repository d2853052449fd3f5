"""Whether things lie where they should: pages on their sheets, backs behind fronts, texts on pages.

Texts must be whole, apart, and off the cuts, the holes and the fold.
"""

from __future__ import annotations

import math
from collections.abc import Iterator
from typing import NamedTuple

from pipeline.base.geometry import Rect, pt
from pipeline.impose.contents import upright
from pipeline.impose.leaf import LeafFace
from pipeline.impose.sheet import Placement, Sheet
from pipeline.plan.model import Side
from pipeline.proof.findings.reading import FaceRead, SideRead
from pipeline.proof.findings.subject import SetFinding, Subject
from pipeline.proof.read.objects import Form, Shown, overlap

OFF_MM = 0.1
"""A page so far from its place is off. Both are computed; only the rounding of a file differs."""
_TURNED = 2.0
"""Degrees that a page may lean before it counts as turned."""


class _Corner(NamedTuple):
    """Where a page's lower left corner lies on a sheet (mm), and its turn, clockwise degrees."""

    x: float
    y: float
    turned: float


def misplaced(side: SideRead) -> Iterator[SetFinding]:
    """Pages of a side that do not lie where the set's contents say."""
    subject = side.subject
    shown = Shown(side.page)
    there = [_corner(form, shown) for form in side.forms]
    free = list(there)
    for placement in side.placements:
        leaf = subject.contents.leaves[placement.leaf]
        note = leaf.page(placement.face)
        if note is None:
            continue
        own = leaf.flap_mm if note.flap_mm is None else note.flap_mm
        wanted = _wanted(subject.page_rect(own, placement), placement)
        match = next((one for one in free if _same(one, wanted)), None)
        if match is not None:
            free.remove(match)
            continue
        yield _what_is_wrong(side, placement, wanted, there)


def _what_is_wrong(
    side: SideRead, placement: Placement, wanted: _Corner, there: list[_Corner]
) -> SetFinding:
    def finding(code: str, message: str) -> SetFinding:
        leaf, face = placement.leaf, placement.face
        return side.subject.finding(code, message, side.number, side.side, leaf, face)

    pages = [one for one in there if (one.x, one.y) != (0.0, 0.0)] or there
    if not pages:
        return finding("page-missing", "nothing is printed here")
    near = min(pages, key=lambda one: math.dist(one[:2], wanted[:2]))
    turn = _angle(near.turned - wanted.turned)
    if abs(turn) > _TURNED:
        return finding("back-turned", f"the page is turned by {abs(turn):.0f}°")
    right, down = near.x - wanted.x, near.y - wanted.y
    return finding(
        "back-shifted",
        f"the page lies {abs(right):.1f} mm too far {'right' if right > 0 else 'left'} and"
        f" {abs(down):.1f} mm too far {'down' if down > 0 else 'up'}",
    )


def unregistered(subject: Subject, sheet: Sheet) -> Iterator[SetFinding]:
    """Backs that, by the set's contents, are not behind their fronts."""
    behind = {placement.leaf: placement for placement in sheet.side_2}
    for front in sheet.side_1:
        back = behind.pop(front.leaf, None)
        at = _Back(subject, sheet.number, front.leaf)
        if back is None or back.face == front.face:
            yield at.finding("back-elsewhere", "it has no back behind it")
            continue
        flat = _behind(subject, sheet, front.flat)
        turned = -front.turned + (180 if subject.printer.flip == "short" else 0)
        if abs(_angle(back.turned - turned)) > _TURNED:
            yield at.finding(
                "back-turned", f"it is turned by {back.turned}° and its front by {front.turned}°"
            )
        elif max(abs(a - b) for a, b in zip(flat, back.flat, strict=True)) > OFF_MM:
            right, down = back.flat.x - flat.x, back.flat.y - flat.y
            yield at.finding(
                "back-shifted",
                f"it lies {right:+.1f} mm across and {down:+.1f} mm down from behind its front",
            )
    for leaf in behind:
        yield _Back(subject, sheet.number, leaf).finding(
            "back-elsewhere", "it has no front before it"
        )


class _Back(NamedTuple):
    """The verso of a leaf, on side 2 of a sheet."""

    subject: Subject
    sheet: int
    leaf: int

    def finding(self, code: str, message: str) -> SetFinding:
        return self.subject.finding(code, message, self.sheet, 2, self.leaf, Side.VERSO)


def _behind(subject: Subject, sheet: Sheet, front: Rect) -> Rect:
    """Where side 2 shows what lies at ``front`` on side 1, the printer's own shift made up for."""
    flat = front.mirrored_x(sheet.width_mm)
    if subject.printer.flip == "short":
        flat = flat.mirrored_x(sheet.width_mm).mirrored_y(sheet.height_mm)
    right, down = subject.printer.back_shift_mm
    return flat.moved(-right, -down)


def _wanted(page: Rect, placement: Placement) -> _Corner:
    """Where the lower left corner of an upright page of a leaf comes to lie on the sheet."""
    flat, turned = placement.flat, placement.turned
    x, y = page.x, page.bottom
    at = {
        0: (flat.x + x, flat.y + y),
        90: (flat.right - y, flat.y + x),
        180: (flat.right - x, flat.bottom - y),
        270: (flat.x + y, flat.bottom - x),
    }[turned]
    return _Corner(*at, turned)


def _corner(form: Form, shown: Shown) -> _Corner:
    matrix = form.matrix
    at = shown.rect(matrix.e, matrix.f, matrix.e, matrix.f)
    along = shown.rect(
        matrix.e + matrix.a * pt(10),
        matrix.f + matrix.b * pt(10),
        matrix.e + matrix.a * pt(10),
        matrix.f + matrix.b * pt(10),
    )
    turned = math.degrees(math.atan2(along.y - at.y, along.x - at.x))
    return _Corner(at.x, at.y, turned)


def _same(one: _Corner, other: _Corner) -> bool:
    return (
        math.dist(one[:2], other[:2]) <= OFF_MM
        and abs(_angle(one.turned - other.turned)) <= _TURNED
    )


def _angle(degrees: float) -> float:
    """An angle between -180 and 180 degrees.

    >>> _angle(350), _angle(180)
    (-10, 180)
    """
    turned = degrees % 360
    return turned - 360 if turned > 180 else turned


_SLACK_MM = 0.1
"""Boxes of letters are a little larger than their ink."""
_SHARED = 0.12
"""Two texts that share so much of the smaller one's box lie on each other; tails may cross."""
_TOUCH_MM = 0.4
"""They share at least so much each way."""
_CUT_MM = 0.3
"""A clip that takes so little off a letter takes only the air around it."""


def placing_findings(face: FaceRead) -> Iterator[SetFinding]:
    """What is wrong with where the texts of a face stand."""
    geometry = face.subject.on_face(face.leaf, face.face)
    for text in face.texts:
        wrong = _wrong(text.box, geometry)
        if wrong:
            code, how = wrong
            yield face.finding(code, f"'{text.text}' {how}", text.box)
    yield from _overlaps(face)


def _wrong(box: Rect, face: LeafFace) -> tuple[str, str] | None:
    """The gravest thing about a text's place, as a code and in words."""
    inked = box.grown(-_SLACK_MM)
    if not face.flat.holds(inked):
        return "text-clipped", "runs over the edge of the leaf"
    fold = face.fold_x
    if fold is not None and inked.x < fold < inked.right:
        return "text-across-fold", f"runs across the fold, {fold - box.x:.1f} mm from its left"
    if inked.overlaps(face.punch_zone):
        return "text-in-punch", "is where holes are punched"
    panels = [panel for panel in (face.safe, face.flap_safe) if panel is not None]
    if not any(panel.holds(inked) for panel in panels):
        return "text-unsafe", f"is {_distance(inked, face):.1f} mm from a cut or fold"
    return None


def _distance(box: Rect, face: LeafFace) -> float:
    """How near a text comes to the next cut or fold."""
    lines = [face.flat.x, face.flat.right] + ([face.fold_x] if face.fold_x is not None else [])
    across = min(min(abs(box.x - x), abs(box.right - x)) for x in lines)
    return min(across, box.y - face.flat.y, face.flat.bottom - box.bottom)


def _overlaps(face: FaceRead) -> Iterator[SetFinding]:
    texts = sorted(face.texts, key=lambda text: text.box.y)
    for index, one in enumerate(texts):
        for other in texts[index + 1 :]:
            if other.box.y >= one.box.bottom:
                break
            shared = overlap(one.box, other.box)
            if shared is None or min(shared.width, shared.height) < _TOUCH_MM:
                continue
            smaller = min(text.box.width * text.box.height for text in (one, other))
            if shared.width * shared.height >= _SHARED * smaller:
                yield face.finding(
                    "text-overlaps", f"'{one.text}' and '{other.text}' overlap", shared
                )


def clipped(side: SideRead) -> Iterator[SetFinding]:
    """Texts that a clip of the drawing cuts off, by what is painted and what may be seen of it."""
    for item in side.art:
        if item.kind != "text" or item.clip is None:
            continue
        if item.clip.holds(item.box, _CUT_MM):
            continue
        for face in side.faces:
            if face.placement.flat.overlaps(item.box):
                box = upright(item.box, face.placement)
                said = face.words_in(box)
                yield face.finding("text-clipped", f"'{said}' is cut off by a clip", box)
                break
