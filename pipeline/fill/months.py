"""Draws a small month into a template's area: weekday heads over rows of figures."""

from __future__ import annotations

import copy

from lxml import etree

from pipeline.base.errors import UserError
from pipeline.fill.mirror import MIRRORED, turned_back
from pipeline.fill.template import computed_style, rect_of, remove, strip
from pipeline.fill.texts import put
from pipeline.plan.model import MonthGrid
from pipeline.svg.styles import SVG

ROWS = 7
"""Heads and six weeks, the most a month can touch: every month gets the same row height."""

_MIDDLE = 0.33
"""How far below a row's middle figures' baseline lies, as a share of their size."""


def check_month(group: etree._Element, where: str) -> None:
    """Raises UserError when a group lacks what a month needs, or figures taller than a row.

    It needs a ``<rect>`` (the area) and a ``<text>`` (the figures' style).
    """
    rect, sample = group.find(f".//{SVG}rect"), group.find(f".//{SVG}text")
    if rect is None or sample is None:
        raise UserError(
            where,
            "a month needs a group with a rectangle (its area) and a text (its figures)",
            "group the two and give the group this id",
        )
    if computed_style(sample).size > rect_of(rect).height / ROWS:
        raise UserError(
            where, "the figures are taller than a row of the month", "make the area higher"
        )


def draw_month(group: etree._Element, month: MonthGrid) -> None:
    """Fills a group that ``check_month`` has passed.

    A second ``<text>`` in the group gives the style of weekend figures, a third that of the
    heads; without them all are alike.
    """
    rect = group.find(f".//{SVG}rect")
    samples = list(group.iter(SVG + "text"))
    assert rect is not None
    area = rect_of(rect)
    row, column = area.height / ROWS, area.width / 7
    plain, weekend, head = samples[0], samples[min(1, len(samples) - 1)], samples[-1]
    if len(samples) < 3:
        head = plain
    cells: list[tuple[str, etree._Element, int, int]] = []
    if month.rows:
        cells += [(text, head, 0, number) for number, text in enumerate(month.heads)]
    for line, days in enumerate(month.rows, start=1):
        for number, day in enumerate(days):
            if day is not None:
                cells.append((day.text, weekend if day.weekend else plain, line, number))
    sizes = {sample: computed_style(sample).size for sample in samples}
    parent = samples[0].getparent()
    for text, sample, line, number in cells:
        figure = copy.deepcopy(sample)
        strip(figure, "transform", "id")
        for element in figure.iter():
            strip(element, "x", "y")
        put(text, figure)
        x = area.x + (number + 0.5) * column
        figure.set("x", f"{x:.4f}")
        if MIRRORED in figure.attrib:
            figure.set("transform", turned_back(x))
        figure.set("y", f"{area.y + (line + 0.5) * row + _MIDDLE * sizes[sample]:.4f}")
        figure.set("text-anchor", "middle")
        if parent is not None:
            parent.append(figure)
    for sample in samples:
        remove(sample)
    if rect.get("fill") == "none" and rect.get("stroke") in (None, "none"):
        remove(rect)
