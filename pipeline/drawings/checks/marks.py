"""Lines, letters and pictures that will not print as they look: hairlines, fonts, pixels."""

from __future__ import annotations

import math
from typing import NamedTuple

from lxml import etree

from pipeline.base.errors import UserError
from pipeline.base.geometry import MM_PER_INCH
from pipeline.drawings.checks.drawing import Drawing, Item, property_of
from pipeline.drawings.checks.finding import Severity
from pipeline.drawings.checks.ink import is_stroked
from pipeline.drawings.checks.known import ALL_KEYS
from pipeline.fill.template import computed_style, rect_of
from pipeline.svg.tree import SVG, href, lineage, names, size_of
from pipeline.text.shape import advance
from pipeline.text.style import length

HAIRLINE_MM = 0.2
"""Thinner lines print unevenly, more so in greys, on printers at home (common practice)."""

BROKEN_MM = 0.1
"""Thinner lines than this, a quarter of a point, are lost in places (common practice)."""

_COARSE_DPI, _SOFT_DPI = 150, 200
"""Pixels to the inch below which a picture shows its pixels on paper, and below which it looks
soft; print shops ask for 300 (common practice)."""

_SLACK_MM = 0.0005
"""Editors round lengths to about this."""


class Hairline(NamedTuple):
    """A stroke that is too thin: what it is on, and how wide it comes out, mm."""

    element: etree._Element
    width_mm: float


def hairlines(drawing: Drawing) -> list[Hairline]:
    """Every stroke below ``HAIRLINE_MM``."""
    found = []
    for element, matrix in drawing.painted:
        if element.tag != SVG + "image" and is_stroked(element):
            scale = math.sqrt(abs(matrix.a * matrix.d - matrix.b * matrix.c))
            width = length(property_of(element, "stroke-width"), default=1.0) * scale
            if _SLACK_MM < width < HAIRLINE_MM - _SLACK_MM:
                found.append(Hairline(element, width))
    return found


def check_hairlines(drawing: Drawing) -> None:
    """One finding for the strokes that are thin, one for those that are too thin."""
    from pipeline.drawings.checks.fixing import can_thicken

    thin = hairlines(drawing)
    for severity, low, high in ((Severity.LOOK, 0.0, BROKEN_MM), (Severity.NOTE, BROKEN_MM, 1.0)):
        those = [line for line in thin if low <= line.width_mm + _SLACK_MM < high]
        if those:
            least = min(line.width_mm for line in those)
            drawing.say_of_all(
                severity,
                "hairline",
                [line.element for line in those],
                f"has a stroke only {least:.2f} mm wide",
                f"make it {HAIRLINE_MM:g} mm",
                mendable=any(can_thicken(drawing, line) for line in those),
            )


def check_fonts(drawing: Drawing) -> None:
    """Families that are not there, and characters of fixed words that no face has."""
    told: set[str] = set()
    for text, _ in drawing.painted:
        if text.tag != SVG + "text":
            continue
        for run in text.iter(SVG + "text", SVG + "tspan", SVG + "textPath"):
            words = (run.text or "").strip()
            if not words:
                continue
            try:
                style = computed_style(run)
                drawing.book.find(style.families, style.weight, style.italic)
                if not _is_key(text):
                    advance(words, style, drawing.book)
            except UserError as problem:
                if problem.what not in told:
                    told.add(problem.what)
                    drawing.say(
                        Severity.MEND, "font", run, f"cannot be set: {problem.what}", problem.remedy
                    )


def _is_key(text: etree._Element) -> bool:
    return any(
        name in ALL_KEYS or name.startswith("label-")
        for step in lineage(text)
        for name in names(step)
    )


def check_pictures(drawing: Drawing) -> None:
    """Raster pictures: how many pixels an inch they have on paper."""
    for item in drawing.painted:
        if item.element.tag == SVG + "image":
            _check_picture(drawing, item)


def _check_picture(drawing: Drawing, item: Item) -> None:
    element = item.element
    size = size_of(href(element))
    if size is None:
        return
    width, height = size
    box = item.matrix.bounds(rect_of(element))
    if not (box.width and box.height):
        return
    dpi = max(width / box.width, height / box.height) * MM_PER_INCH
    if (element.get("preserveAspectRatio") or "").startswith("none"):
        dpi = min(width / box.width, height / box.height) * MM_PER_INCH
    coarse, soft = dpi < _COARSE_DPI, dpi < _SOFT_DPI
    drawing.say(
        Severity.MEND if coarse else Severity.LOOK if soft else Severity.NOTE,
        "picture",
        element,
        f"is a picture of {width} × {height} pixels, {dpi:.0f} to the inch on paper",
        "place a larger one, 300 to the inch" if soft else "nothing to do if it is meant so",
    )
