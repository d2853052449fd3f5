"""Fills areas: rules at a pitch that never scales, and small months.

Of rules, only whole pitches are drawn, so that no box is ever cut off at the edge of its area.
A small month is a row of weekday heads over rows of figures.
"""

from __future__ import annotations

import copy
import math
from collections.abc import Iterator

from lxml import etree

from pipeline.base.errors import UserError
from pipeline.base.geometry import Rect
from pipeline.fill.keys import Ruled
from pipeline.fill.template import computed_style, rect_of
from pipeline.fill.texts import MIRRORED, put, turned_back
from pipeline.plan.model import DayCell, MonthGrid
from pipeline.svg.refusals import MOST_ELEMENTS, TOO_FINE, error
from pipeline.svg.tree import SVG, inherited, page_matrix, remove, strip
from pipeline.text.style import length

_KEPT = (
    "id", "transform", "opacity", "stroke", "stroke-width", "stroke-opacity", "stroke-dasharray",
    "stroke-linecap",
)  # fmt: skip
"""What the rules have of the rectangle that asks for them."""


def whole_pitches(extent: float, pitch: float) -> int:
    """How many whole pitches go into an extent (same unit), a rounding error forgiven.

    >>> whole_pitches(30, 6), whole_pitches(29.9, 6), whole_pitches(0.3 * 3, 0.3)
    (5, 4, 3)
    """
    return int(extent / pitch + 1e-6)


def rule(element: etree._Element, wanted: Ruled, where: str) -> None:
    """Puts the rules in the place of the ``<rect>`` that asked for them.

    The rect's stroke draws the rules (a dot is twice the stroke's width across); the rect itself
    is not drawn. The pitch is in millimetres on the page, whatever the transforms around it.
    Raises UserError, for the file at ``where``, for more rules than anybody can tell apart.
    """
    area, matrix = rect_of(element), page_matrix(element)
    step = (wanted.pitch_mm / matrix.scale_x, wanted.pitch_mm / matrix.scale_y)
    across, down = (side / one for side, one in zip((area.width, area.height), step, strict=True))
    if (across * down if wanted.kind == "dots" else across + down) > MOST_ELEMENTS:
        raise error(element, TOO_FINE, where)
    stroke_width = length(inherited(element, "stroke-width"), default=1.0)
    attributes = {"d": " ".join(_strokes(area, wanted, step)), "fill": "none"}
    if wanted.kind == "dots":
        # A dot is a stroke of next to no length with round ends: one path for a whole area.
        attributes |= {"stroke-linecap": "round", "stroke-width": f"{2 * stroke_width:.6g}"}
    rules = etree.Element(SVG + "path", attributes)
    for name in _KEPT:
        if element.get(name) is not None and rules.get(name) is None:
            rules.set(name, element.get(name, ""))
    if inherited(element, "stroke") in (None, "none"):
        rules.set("stroke", "#888888")
    parent = element.getparent()
    if parent is not None:
        rules.tail = element.tail
        parent.replace(element, rules)


def _strokes(area: Rect, wanted: Ruled, step: tuple[float, float]) -> Iterator[str]:
    step_x, step_y = step
    columns, rows = whole_pitches(area.width, step_x), whole_pitches(area.height, step_y)
    left = area.x + (area.width - columns * step_x) / 2
    top = area.y + ((area.height - rows * step_y) / 2 if wanted.align == "centre" else 0.0)
    right, bottom = left + columns * step_x, top + rows * step_y
    xs = [left + number * step_x for number in range(columns + 1)]
    ys = [top + number * step_y for number in range(rows + 1)]
    if wanted.kind == "lines":
        for y in ys[1:]:
            yield f"M{area.x:.4f} {y:.4f}H{area.right:.4f}"
    elif wanted.kind == "dots":
        for y in ys:
            for x in xs:
                yield f"M{x:.4f} {y:.4f}h.001"
    elif wanted.kind == "grid":
        for y in ys:
            yield f"M{left:.4f} {y:.4f}H{right:.4f}"
        for x in xs:
            yield f"M{x:.4f} {top:.4f}V{bottom:.4f}"
    else:
        side_x, side_y = step_x / 2, step_y / 2
        for y in ys[1:]:
            foot = y - 0.14 * step_y
            yield f"M{area.x:.4f} {foot:.4f}v{-side_y:.4f}h{side_x:.4f}v{side_y:.4f}z"
            yield f"M{area.x + side_x + 0.3 * step_x:.4f} {y:.4f}H{area.right:.4f}"


_MOON = (SVG + "rect", SVG + "circle", SVG + "ellipse")


def can_be_moon(element: etree._Element) -> bool:
    """Whether a moon can be drawn in an element's place: in a rectangle or a circle."""
    return element.tag in _MOON


def draw_moon(element: etree._Element, lit: float | None) -> None:
    """Puts the moon in the place of a rectangle or circle: as large as goes into it.

    Its stroke draws the disc, its fill (its stroke's colour where it has none) the part in shadow,
    as almanacs do: the part that is lit, a share of ``lit`` of the disc, on the left where that is
    below 0, is left as paper. No moon for None.
    """
    parent = element.getparent()
    assert parent is not None
    moon = etree.Element(SVG + "g")
    moon.tail = element.tail
    for name in ("id", "transform", "opacity", "display"):
        if element.get(name) is not None:
            moon.set(name, element.get(name, ""))
    if lit is not None:
        matrix = page_matrix(element)
        mirrored = matrix.a * matrix.d < matrix.b * matrix.c
        moon.extend(_moon_parts(element, -lit if mirrored else lit))
    parent.replace(element, moon)


def _moon_parts(element: etree._Element, lit: float) -> Iterator[etree._Element]:
    x, y, radius = _disc(element)
    fill, stroke = (inherited(element, name) for name in ("fill", "stroke"))
    paints = {
        str(name): str(value)
        for name, value in element.attrib.items()
        if str(name).startswith(("stroke", "fill-opacity"))
    }
    colour = stroke if fill == "none" and stroke else fill or "#000000"
    shadow = -math.copysign(1 - abs(lit), lit)
    if abs(shadow) > 0:
        # The terminator is half an ellipse, seen from its side: as wide as the share asks for
        # (Meeus, Astronomical Algorithms, chapter 48).
        edge = radius * (1 - 2 * abs(shadow))
        sweeps = (1, 0) if shadow > 0 else (0, 1)
        bulges = sweeps[1] if edge > 0 else sweeps[0]
        data = (
            f"M{x:.4f} {y - radius:.4f}A{radius:.4f} {radius:.4f} 0 0 {sweeps[0]} "
            f"{x:.4f} {y + radius:.4f}A{abs(edge):.4f} {radius:.4f} 0 0 {bulges} "
            f"{x:.4f} {y - radius:.4f}Z"
        )
        shadow_paint = {"fill": colour, "stroke": "none"}
        if "fill-opacity" in paints:
            shadow_paint["fill-opacity"] = paints["fill-opacity"]
        yield etree.Element(SVG + "path", {"d": data, **shadow_paint})
    if stroke not in (None, "none"):
        disc = {"cx": f"{x:.4f}", "cy": f"{y:.4f}", "r": f"{radius:.4f}", "fill": "none"}
        yield etree.Element(SVG + "circle", disc | paints)


def _disc(element: etree._Element) -> tuple[float, float, float]:
    """The middle and the radius of the largest disc in a rectangle or circle."""
    if element.tag == SVG + "rect":
        area = rect_of(element)
        x, y = area.x + area.width / 2, area.y + area.height / 2
        return x, y, min(area.width, area.height) / 2
    cx, cy, r, rx, ry = (length(element.get(name)) for name in ("cx", "cy", "r", "rx", "ry"))
    return cx, cy, min(rx or r, ry or r)


_ROWS = 7
"""Heads and six weeks, the most a month can touch: every month gets the same row height."""


def check_month(group: etree._Element, where: str, identifier: str = "") -> None:
    """Raises UserError when a group lacks what a month needs, or figures taller than a row.

    It needs a ``<rect>`` (the area) and a ``<text>`` (the figures' style).
    """
    rect, sample = group.find(f".//{SVG}rect"), group.find(f".//{SVG}text")
    if rect is None or sample is None:
        raise UserError(
            where,
            "a month needs a group with a rectangle (its area) and a text (its figures)",
            "group the two and give the group this id",
            element=identifier,
        )
    if computed_style(sample).size > rect_of(rect).height / _ROWS:
        what = "the figures are taller than a row of the month"
        raise UserError(where, what, "make the area higher", element=identifier)


def month_cell(area: Rect, line: int, column: int) -> Rect:
    """A cell of a small month: its heads are line 0, columns count from the left, from 0.

    >>> month_cell(Rect(0, 0, 70, 70), 1, 6)
    Rect(x=60.0, y=10.0, width=10.0, height=10.0)
    """
    row, across = area.height / _ROWS, area.width / 7
    return Rect(area.x + column * across, area.y + line * row, across, row)


def draw_month(group: etree._Element, month: MonthGrid) -> None:
    """Fills a group that ``check_month`` has passed.

    A second ``<text>`` in the group gives the style of weekend figures, a third that of the
    heads, a fourth that of days outside the set's pages; without them all are alike.
    """
    rect = group.find(f".//{SVG}rect")
    samples = list(group.iter(SVG + "text"))
    assert rect is not None
    area = rect_of(rect)
    plain, weekend = samples[0], samples[min(1, len(samples) - 1)]
    head = samples[2] if len(samples) > 2 else plain

    def style(day: DayCell) -> etree._Element:
        if day.outside and len(samples) > 3:
            return samples[3]
        return weekend if day.weekend else plain

    cells: list[tuple[str, etree._Element, int, int]] = []
    if month.rows:
        cells += [(text, head, 0, number) for number, text in enumerate(month.heads)]
    for line, days in enumerate(month.rows, start=1):
        for number, day in enumerate(days):
            if day is not None:
                cells.append((day.text, style(day), line, number))
    sizes = {sample: computed_style(sample).size for sample in samples}
    parent = samples[0].getparent()
    for text, sample, line, number in cells:
        figure = copy.deepcopy(sample)
        strip(figure, "transform", "id")
        for element in figure.iter():
            strip(element, "x", "y")
        put(text, figure)
        cell = month_cell(area, line, number)
        x = cell.x + cell.width / 2
        figure.set("x", f"{x:.4f}")
        if MIRRORED in figure.attrib:
            figure.set("transform", turned_back(x))
        # The baseline lies a third of the figures' size below the row's middle.
        figure.set("y", f"{cell.y + cell.height / 2 + 0.33 * sizes[sample]:.4f}")
        figure.set("text-anchor", "middle")
        if parent is not None:
            parent.append(figure)
    for sample in samples:
        remove(sample)
    if rect.get("fill") == "none" and rect.get("stroke") in (None, "none"):
        remove(rect)
