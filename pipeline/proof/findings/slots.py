"""Where a template says that a key's text stands: what a reader of the finished page looks for.

Read from the template itself, not from what was filled, so that it is told what should be there.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, replace
from functools import lru_cache

from lxml import etree

from pipeline.base.geometry import Rect
from pipeline.fill.template import TemplateFile, read_template, rect_of
from pipeline.fill.texts import find_text, room_of
from pipeline.impose.leaf import SAFE_MM, LeafGeometry
from pipeline.plan.model import Binder, Binding, Page, Side
from pipeline.svg.tree import SVG, lineage, names, page_matrix


@dataclass(frozen=True)
class Slot:
    """A place that a key's text is set in, in mm of the leaf's flat area, upright.

    ``area`` is where the middle of what it says can lie, ``room`` the width it may run to.
    ``sample`` is what the template has there, ``flags`` the facts it is shown for.
    """

    key: str
    area: Rect
    room: Rect
    sample: str
    flags: tuple[str, ...] = ()


@dataclass(frozen=True)
class Slots:
    """All places of a template: for texts, and for small months."""

    texts: tuple[Slot, ...]
    grids: tuple[Slot, ...]


def slots_of(page: Page, file: TemplateFile, geometry: LeafGeometry) -> Slots:
    """The places a page shows, those left out for it left out."""
    facts = page.facts
    drawn = _drawn(
        file,
        page.side,
        page.flap_mm,
        geometry.binder,
        frozenset(facts.texts),
        frozenset(facts.months),
    )
    offset = geometry.page(page.side, page.flap_mm).x
    width = geometry.binder.width_mm + page.flap_mm

    def on_leaf(area: Rect) -> Rect:
        right_bound = geometry.binding is Binding.RIGHT
        return (area.mirrored_x(width) if right_bound else area).moved(offset, 0)

    def placed(slots: tuple[Slot, ...]) -> tuple[Slot, ...]:
        return tuple(
            replace(slot, area=on_leaf(slot.area), room=on_leaf(slot.room))
            for slot in slots
            if all(facts.flags.get(flag, True) for flag in slot.flags)
        )

    return Slots(placed(drawn.texts), placed(drawn.grids))


@lru_cache(maxsize=256)
def _drawn(
    file: TemplateFile,
    side: Side,
    flap_mm: float,
    binder: Binder,
    text_keys: frozenset[str],
    grid_keys: frozenset[str],
) -> Slots:
    """The places as they are drawn, bound on the left, in mm of the page."""
    root = read_template(file).root
    panels = _panels(side, flap_mm, binder)
    texts: list[Slot] = []
    grids: list[Slot] = []
    taken: set[etree._Element] = set()
    for element in root.iter():
        if any(step in taken for step in lineage(element)):
            continue
        for name in names(element):
            flags = tuple(_flags(element))
            if name in grid_keys:
                rect = element.find(f".//{SVG}rect")
                if rect is not None:
                    area = page_matrix(rect).bounds(rect_of(rect))
                    grids.append(Slot(name, area, area, "", flags))
                    taken.add(element)
                    break
            room = room_of(element, panels, "") if name in text_keys else None
            if room is not None:
                text = find_text(element)
                assert text is not None
                texts.append(Slot(name, *_line(room.ink, text), _said(text), flags))
                taken.add(element)
                break
    return Slots(tuple(texts), tuple(grids))


def _flags(element: etree._Element) -> Iterator[str]:
    for step in lineage(element):
        for name in names(step):
            if name.startswith("show-"):
                yield name.removeprefix("show-")


def _said(text: etree._Element) -> str:
    return " ".join("".join(str(part) for part in text.itertext()).split())


def _line(ink: Rect, text: etree._Element) -> tuple[Rect, Rect]:
    """Where the middle of a text's ink can lie (a little wider than its box), and the box itself.

    ``ink`` is the generous box that filling keeps free for it, an em wider on either side.
    """
    matrix = page_matrix(text)
    if abs(matrix.b) > 0.1 * abs(matrix.a):
        return ink, ink  # turned on the page
    em = ink.height / 2.5
    y, height = ink.y + 0.35 * em, 1.7 * em
    area = Rect(ink.x + 0.7 * em, y, ink.width - 1.4 * em, height)
    return area, Rect(ink.x + em, y, ink.width - 2 * em, height)


def _panels(side: Side, flap_mm: float, binder: Binder) -> tuple[Rect, ...]:
    """Page and flap, without their safe edges, as they are drawn: bound on the left."""
    at = flap_mm if side is Side.VERSO else 0.0
    panels = [Rect(at, 0, binder.width_mm, binder.height_mm)]
    if flap_mm:
        beside = 0.0 if side is Side.VERSO else binder.width_mm
        panels.append(Rect(beside, 0, flap_mm, binder.height_mm))
    return tuple(panel.grown(-SAFE_MM) for panel in panels)
