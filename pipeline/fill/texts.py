"""Sets a key's text in its template: which form fits, at what size, and putting it there."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from lxml import etree

from pipeline.errors import UserError
from pipeline.fill.cascade import SVG
from pipeline.fill.template import (
    computed_style,
    inherited,
    lineage,
    page_matrix,
    rect_of,
    remove,
    strip,
)
from pipeline.geometry import Rect
from pipeline.text.fonts import FontBook
from pipeline.text.shape import Style, advance
from pipeline.text.style import length

SMALLEST = 0.85
"""How far a text may be set smaller than it was drawn before it counts as too wide."""

_STEP = 0.01


@dataclass(frozen=True)
class Slot:
    """The place a text goes: the element holding its first run, and the room it has.

    ``room`` is how wide the text may run, in the run's user units; ``room_mm`` the same on paper.
    """

    text: etree._Element
    run: etree._Element
    style: Style
    room: float
    room_mm: float


@dataclass(frozen=True)
class Fitting:
    """What was chosen for a slot: which form (0 = the longest) and how far it is set smaller."""

    form: int
    scale: float


def find_text(element: etree._Element) -> etree._Element | None:
    """The ``<text>`` a key speaks of: the element itself or the first one in a group."""
    return element if element.tag == SVG + "text" else element.find(f".//{SVG}text")


def slot_of(element: etree._Element, panels: Sequence[Rect], language: str) -> Slot | None:
    """The slot of a key's element; None when there is no text in it.

    ``panels`` are the areas text must stay in when its group holds no box (page mm, one for the
    page and one for a flap).
    """
    text = find_text(element)
    if text is None:
        return None
    run = _first_run(text)
    x = y = 0.0
    for step in reversed(list(_between(run, text))):
        x, y = _first(step.get("x"), x), _first(step.get("y"), y)
    matrix = page_matrix(text)
    box = _own_box(element, text)
    if box is None:
        spot = matrix.point(x, y)
        held = [panel for panel in panels if panel.holds(Rect(*spot, 0, 0))]
        box = matrix.inverse().bounds((held or list(panels))[0])
    anchor = inherited(run, "text-anchor") or "start"
    before, after = x - box.x, box.right - x
    room = {"middle": 2 * min(before, after), "end": before}.get(anchor, after)
    return Slot(text, run, computed_style(run, language), room, room * matrix.scale_x)


def fit(forms: Sequence[str], slot: Slot, book: FontBook, where: str) -> Fitting:
    """The longest form that fits at full size, else the shortest at down to ``SMALLEST``.

    Raises UserError, with both widths in mm, when even that is too wide.
    """
    widths = [advance(form, slot.style, book, where) for form in forms]
    for number, width in enumerate(widths):
        if width <= slot.room + 1e-6:
            return Fitting(number, 1.0)
    narrowest = min(range(len(widths)), key=widths.__getitem__)
    scale = slot.room / widths[narrowest] if slot.room > 0 else 0.0
    if scale < SMALLEST:
        per_unit = slot.room_mm / slot.room if slot.room else 1.0
        raise UserError(
            where,
            f"{forms[narrowest]!r} needs {widths[narrowest] * per_unit:.1f} mm "
            f"but has {max(slot.room_mm, 0):.1f} mm",
            f"make its box wider or its type smaller (it was tried down to {SMALLEST:.0%} of it)",
        )
    return Fitting(narrowest, int(scale / _STEP) * _STEP)


def put(text: str, slot: Slot, scale: float = 1.0) -> None:
    """Replaces the slot's sample with ``text`` in the style of its first run; empty removes it."""
    if not text:
        remove(slot.text)
        return
    kept = set(_between(slot.run, slot.text))
    for element in list(slot.text.iter()):
        parent = element.getparent()
        if element not in kept and parent is not None:
            parent.remove(element)
    for element in kept:
        element.text = None
        if element is not slot.text:
            element.tail = None
        strip(element, "dx", "dy", "rotate", "textLength", "lengthAdjust")
        for attribute in ("x", "y"):
            if element.get(attribute):
                element.set(attribute, f"{_first(element.get(attribute), 0.0):.6g}")
    slot.run.text = text
    if scale != 1.0:
        slot.run.set("font-size", f"{slot.style.size * scale:.6g}")


def _first_run(text: etree._Element) -> etree._Element:
    """The element that holds the text's first characters."""
    for element in text.iter():
        if (element.text or "").strip():
            return element
    return text


def _between(inner: etree._Element, outer: etree._Element) -> list[etree._Element]:
    steps = []
    for step in lineage(inner):
        steps.append(step)
        if step is outer:
            break
    return steps


def _first(value: str | None, default: float) -> float:
    parts = (value or "").replace(",", " ").split()
    return length(parts[0], default=default) if parts else default


def _own_box(element: etree._Element, text: etree._Element) -> Rect | None:
    """A group's own rectangle, in the coordinates of its text."""
    if element is text:
        return None
    rect = element.find(f".//{SVG}rect")
    if rect is None:
        return None
    return (page_matrix(text).inverse() @ page_matrix(rect)).bounds(rect_of(rect))
