"""Whether things lie where they should: pages on their sheets, backs behind fronts, texts on pages.

Texts must be whole, apart, and off the cuts, the holes and the fold.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Iterator, Mapping
from functools import partial
from typing import NamedTuple

from pipeline.base.geometry import Rect, pt
from pipeline.impose.contents import upright
from pipeline.impose.leaf import LeafFace
from pipeline.impose.sheet import Placement, Sheet
from pipeline.plan.model import Side
from pipeline.proof.findings.reading import FaceRead, SideRead
from pipeline.proof.findings.subject import SetFinding, Subject
from pipeline.proof.read.objects import Shown, overlap, top_forms
from pipeline.svg.transform import Matrix

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
    subject, shown = side.subject, Shown(side.page)
    there = [_corner(matrix, shown) for matrix in top_forms(side.page)]
    free = list(there)
    for placement in (face.placement for face in side.faces):
        leaf = subject.contents.leaves[placement.leaf]
        note = leaf.page(placement.face)
        if note is None:
            continue
        own = leaf.flap_mm if note.flap_mm is None else note.flap_mm
        page = subject.geometry(placement.leaf).page(placement.face, own)
        page = page.grown(subject.plan.bleed_mm)
        wanted = _Corner(*placement.position.point(page.x, page.bottom), placement.turned)
        match = next((one for one in free if _same(one, wanted)), None)
        if match is not None:
            free.remove(match)
        else:
            yield _what_is_wrong(side, placement, wanted, there)


def _same(one: _Corner, other: _Corner) -> bool:
    near = math.dist(one[:2], other[:2]) <= OFF_MM
    return near and abs(_angle(one.turned - other.turned)) <= _TURNED


def _what_is_wrong(
    side: SideRead, placement: Placement, wanted: _Corner, there: list[_Corner]
) -> SetFinding:
    where = (side.number, side.side, placement.leaf, placement.face)
    pages = [one for one in there if (one.x, one.y) != (0.0, 0.0)] or there
    if not pages:
        return side.subject.finding("page-missing", "nothing is printed here", *where)
    near = min(pages, key=lambda one: math.dist(one[:2], wanted[:2]))
    turn = abs(_angle(near.turned - wanted.turned))
    if turn > _TURNED:
        message = f"the page is turned by {turn:.0f}°"
        return side.subject.finding("back-turned", message, *where)
    right, down = near.x - wanted.x, near.y - wanted.y
    message = (
        f"the page lies {abs(right):.1f} mm too far {'right' if right > 0 else 'left'} and"
        f" {abs(down):.1f} mm too far {'down' if down > 0 else 'up'}"
    )
    return side.subject.finding("back-shifted", message, *where)


def unregistered(subject: Subject, sheet: Sheet) -> Iterator[SetFinding]:
    """Backs that, by the set's contents, are not behind their fronts."""
    short, (right, down) = subject.printer.flip == "short", subject.printer.back_shift_mm
    behind = {placement.leaf: placement for placement in sheet.side_2}
    for front in sheet.side_1:
        back = behind.pop(front.leaf, None)
        finding = partial(
            subject.finding, sheet=sheet.number, side=2, leaf=front.leaf, face=Side.VERSO
        )
        if back is None or back.face == front.face:
            yield finding("back-elsewhere", "it has no back behind it")
            continue
        flat = front.flat.mirrored_x(sheet.width_mm)
        if short:
            flat = flat.mirrored_x(sheet.width_mm).mirrored_y(sheet.height_mm)
        flat = flat.moved(-right, -down)  # made up for
        if abs(_angle(back.turned + front.turned - (180 if short else 0))) > _TURNED:
            yield finding(
                "back-turned", f"it is turned by {back.turned}° and its front by {front.turned}°"
            )
        elif max(abs(a - b) for a, b in zip(flat, back.flat, strict=True)) > OFF_MM:
            yield finding(
                "back-shifted",
                f"it lies {back.flat.x - flat.x:+.1f} mm across and"
                f" {back.flat.y - flat.y:+.1f} mm down from behind its front",
            )
    for leaf in behind:
        yield subject.finding(
            "back-elsewhere", "it has no front before it", sheet.number, 2, leaf, Side.VERSO
        )


def _corner(matrix: Matrix, shown: Shown) -> _Corner:
    """Where a form with a matrix of PDF space lies."""
    at, along = (shown.rect(*matrix.point(length, 0) * 2) for length in (0, pt(10)))
    return _Corner(at.x, at.y, math.degrees(math.atan2(along.y - at.y, along.x - at.x)))


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


def _over_edge(inked: Rect, face: LeafFace) -> str | None:
    return None if face.flat.holds(inked) else "runs over the edge of the leaf"


def _across_fold(inked: Rect, face: LeafFace) -> str | None:
    fold = face.fold_x
    if fold is None or not inked.x < fold < inked.right:
        return None
    return f"runs across the fold, {fold - inked.x + _SLACK_MM:.1f} mm from its left"


def _in_punch(inked: Rect, face: LeafFace) -> str | None:
    return "is where holes are punched" if inked.overlaps(face.punch_zone) else None


def _unsafe(inked: Rect, face: LeafFace) -> str | None:
    if any(panel is not None and panel.holds(inked) for panel in (face.safe, face.flap_safe)):
        return None
    flat = face.flat
    lines = [flat.x, flat.right] + ([face.fold_x] if face.fold_x is not None else [])
    across = min(abs(edge - x) for x in lines for edge in (inked.x, inked.right))
    near = min(across, inked.y - flat.y, flat.bottom - inked.bottom)
    return f"is {near:.1f} mm from a cut or fold"


TEXT_RULES: Mapping[str, Callable[[Rect, LeafFace], str | None]] = {
    "text-clipped": _over_edge,
    "text-across-fold": _across_fold,
    "text-in-punch": _in_punch,
    "text-unsafe": _unsafe,
}
"""What is wrong with the place of a text's ink, gravest first; only the first is said."""


def placing_findings(face: FaceRead) -> Iterator[SetFinding]:
    """What is wrong with where the texts of a face stand."""
    for text in face.texts:
        for rule, check in TEXT_RULES.items():
            if wrong := check(text.box.grown(-_SLACK_MM), face.shape):
                yield face.finding(rule, f"'{text.text}' {wrong}", text.box)
                break


def overlapping(face: FaceRead) -> Iterator[SetFinding]:
    """Texts of a face that lie on each other."""
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
        if item.kind != "text" or item.clip is None or item.clip.holds(item.box, _CUT_MM):
            continue
        for face in side.faces:
            if face.placement.flat.overlaps(item.box):
                box = upright(item.box, face.placement)
                yield face.finding(
                    "text-clipped", f"'{face.words_in(box)}' is cut off by a clip", box
                )
                break
