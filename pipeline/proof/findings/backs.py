"""Whether every page lies where its sheet says, and every back behind its front."""

from __future__ import annotations

import math
from collections.abc import Iterator
from typing import NamedTuple

from pipeline.base.geometry import Rect, pt
from pipeline.plan.model import Side
from pipeline.proof.findings.finding import Finding
from pipeline.proof.findings.reading import SideRead
from pipeline.proof.findings.subject import Subject
from pipeline.proof.read.contents import Placement, SheetNote
from pipeline.proof.read.objects import Form, Shown

OFF_MM = 0.1
"""A page so far from its place is off. Both are computed; only the rounding of a file differs."""
_TURNED = 2.0
"""Degrees that a page may lean before it counts as turned."""


class _Corner(NamedTuple):
    """Where a page's lower left corner lies on a sheet (mm), and its turn, clockwise degrees."""

    x: float
    y: float
    turned: float


def misplaced(subject: Subject, side: SideRead) -> Iterator[Finding]:
    """Pages of a side that do not lie where the set's contents say."""
    shown = Shown(side.page)
    there = [_corner(form, shown) for form in side.forms]
    free = list(there)
    for placement in side.placements:
        note = subject.contents.leaves[placement.leaf].page(placement.face)
        if note is None:
            continue
        flap = subject.contents.leaves[placement.leaf].flap_mm
        own = flap if note.flap_mm is None else note.flap_mm
        wanted = _wanted(subject.page_rect(own, placement), placement)
        match = next((one for one in free if _same(one, wanted)), None)
        if match is not None:
            free.remove(match)
            continue
        yield _what_is_wrong(subject, side, placement, wanted, there)


def _what_is_wrong(
    subject: Subject, side: SideRead, placement: Placement, wanted: _Corner, there: list[_Corner]
) -> Finding:
    def finding(code: str, message: str) -> Finding:
        leaf, face = placement.leaf, placement.face
        return Finding(code, subject.name, message, side.number, side.side, leaf, face)

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


def unregistered(subject: Subject, sheet: SheetNote) -> Iterator[Finding]:
    """Backs that, by the set's contents, are not behind their fronts."""
    behind = {placement.leaf: placement for placement in sheet.side_2}
    for front in sheet.side_1:
        back = behind.pop(front.leaf, None)
        at = _Back(subject.name, sheet.number, front.leaf)
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
                f"it is {right:+.1f} mm across and {down:+.1f} mm down from behind its front",
            )
    for leaf in behind:
        yield _Back(subject.name, sheet.number, leaf).finding(
            "back-elsewhere", "it has no front before it"
        )


class _Back(NamedTuple):
    """The verso of a leaf, on side 2 of a sheet."""

    set: str
    sheet: int
    leaf: int

    def finding(self, code: str, message: str) -> Finding:
        return Finding(code, self.set, message, self.sheet, 2, self.leaf, Side.VERSO)


def _behind(subject: Subject, sheet: SheetNote, front: Rect) -> Rect:
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
