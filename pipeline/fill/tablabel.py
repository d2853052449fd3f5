"""Puts a page on a leaf with a tab: there is more paper, and what is drawn for the tab goes there.

A tab's label is drawn on the page, wherever there is room for it. It is a group named
``tab-label`` with a text in it, a box and what else is to stand on the tab; the middle of its box
goes to the middle of the tab, and the text runs along the longer side of that. So one drawing does
for every step of either edge, and for leaves without a tab, where it is left out.
"""

from __future__ import annotations

import copy

from lxml import etree

from pipeline.base.errors import UserError
from pipeline.base.geometry import Rect
from pipeline.fill.template import Template, computed_style, move_page, rect_of
from pipeline.fill.texts import find_text, is_unpainted
from pipeline.plan.facts import TAB_LABEL
from pipeline.plan.model import Side, Tab
from pipeline.svg.transform import Matrix, parse_transform
from pipeline.svg.tree import SVG, inherited, lineage, names, page_matrix, remove
from pipeline.text.style import length

TAB_EDGE_MM = 1.0
"""A label stays so far from the edges of its tab (by eye)."""

GROUND_MM = 3.0
"""The ground of a tab is printed past its cut so far, as a bleed is (common practice)."""

_SAME_MM = 0.01

_CAPITALS = 0.66
"""How high capitals are, as a part of the type size (by eye)."""


def on_leaf(template: Template, tab: Tab | None, side: Side, beside: float) -> Template:
    """A page that is as large as its leaf with the strip of a ``tab``, bound on the left.

    It is drawn with a flap ``beside`` it, so many mm wide. Without a tab, what is drawn for one is
    gone. Raises UserError for type larger than the tab.
    """
    if tab is None and not any(TAB_LABEL in names(one) for one in template.root.iter()):
        return template
    root = copy.deepcopy(template.root)
    width, height = template.width_mm, template.height_mm
    area, page = None, Rect(0, 0, width, height)
    if tab is not None:
        flat, page = tab.flat(width, height), tab.page(width, height)
        area = tab.area(width - beside, height)
        if side is Side.VERSO:
            page = page.mirrored_x(flat.width)
            area = area.mirrored_x(flat.width) if area else None
        width, height = flat.width, flat.height
        move_page(root, (width, height), (page.x, page.y))
    for element in [one for one in root.iter() if TAB_LABEL in names(one)]:
        outer = [step for step in lineage(element) if TAB_LABEL in names(step)]
        if len(outer) > 1 or root not in lineage(element):
            continue
        if area is None:
            remove(element)
        else:
            _lift(element, area, page, side is Side.RECTO, template.name)
    return Template(template.path, root, width, height)


def _lift(element: etree._Element, area: Rect, page: Rect, at_right: bool, where: str) -> None:
    """Moves what is drawn for a tab to the ``area`` of the tab, and widens its box to it.

    A painted box is the ground of the tab: it covers the tab, and some of what falls off around.
    ``at_right`` tells that letters that run down or up have their heads at the right.
    """
    text = find_text(element)
    rect = None if element is text else element.find(f".//{SVG}rect")
    if rect is not None:
        drawn = page_matrix(rect).bounds(rect_of(rect))
    elif text is not None:
        drawn = page_matrix(text).bounds(_line(text))
        for step in text.iter():
            step.set("text-anchor", "middle")
    else:
        return
    turn = _turn(page_matrix(text), area, at_right) if text is not None else Matrix()
    by = _to(_middle(area)) @ turn @ _to(_middle(drawn)).inverse()
    parent = element.getparent()
    around = page_matrix(parent) if parent is not None else Matrix()
    own = parse_transform(element.get("transform"))
    element.set("transform", str(around.inverse() @ by @ around @ own))
    if text is None:
        return
    room = page_matrix(text).inverse().bounds(area.grown(-TAB_EDGE_MM))
    size = computed_style(text).size
    if size * _CAPITALS > room.height + 1e-6:
        scale = page_matrix(text).scale_y
        raise UserError(
            where,
            f"its type is {size * scale:.1f} mm high and the tab has {room.height * scale:.1f} mm",
            "set it smaller, or give the tab more room with 'of' or 'reach_mm' in the season file",
            element=TAB_LABEL,
        )
    if rect is None:
        return
    if not is_unpainted(rect):
        box = copy.deepcopy(rect)
        box.set("fill", "none")
        box.set("stroke", "none")
        rect.addprevious(box)
        ground = page_matrix(rect).inverse().bounds(_beyond(page, area))
        for name, value in ground._asdict().items():
            rect.set(name, f"{value:.6g}")
        rect = box
    _widen(text, rect, room)


def _beyond(page: Rect, area: Rect) -> Rect:
    """A tab, and what is coloured around it where it is cut, as no cut is exact."""
    x, y, right, bottom = area.x, area.y, area.right, area.bottom
    x -= 0.0 if abs(x - page.right) < _SAME_MM else GROUND_MM
    right += 0.0 if abs(right - page.x) < _SAME_MM else GROUND_MM
    y -= GROUND_MM
    bottom += 0.0 if abs(bottom - page.y) < _SAME_MM else GROUND_MM
    return Rect.around([(x, y), (right, bottom)])


def _turn(drawn: Matrix, area: Rect, at_right: bool) -> Matrix:
    """What makes a text run along the longer side of a tab, heads outwards."""
    runs_level, is_level = abs(drawn.a) >= abs(drawn.b), area.width >= area.height
    if runs_level == is_level:
        return Matrix()
    if is_level:
        return Matrix(0, -1, 1, 0) if drawn.b > 0 else Matrix(0, 1, -1, 0)
    return Matrix(0, 1, -1, 0) if at_right else Matrix(0, -1, 1, 0)


def _to(point: tuple[float, float]) -> Matrix:
    return Matrix(e=point[0], f=point[1])


def _widen(text: etree._Element, rect: etree._Element, room: Rect) -> None:
    """Gives a label's box the ``room`` of the tab, in the text's units; the text keeps its side."""
    to_text = page_matrix(text).inverse() @ page_matrix(rect)
    box = to_text.bounds(rect_of(rect))
    anchor = inherited(text, "text-anchor") or "start"
    dx = {"middle": 0.0, "end": room.right - box.right}.get(anchor, room.x - box.x)
    for name, value in to_text.inverse().bounds(room)._asdict().items():
        rect.set(name, f"{value:.6g}")
    text.set("transform", str(parse_transform(text.get("transform")) @ Matrix(e=dx)))


def _line(text: etree._Element) -> Rect:
    """The middle of a text without a box: a line as high as its capitals, in its own units."""
    x, y = (length(text.get(name), default=0.0) for name in ("x", "y"))
    high = _CAPITALS * computed_style(text).size
    return Rect(x, y - high, 0, high)


def _middle(area: Rect) -> tuple[float, float]:
    return area.x + area.width / 2, area.y + area.height / 2
