"""Letters and pictures that will not print as they look: missing fonts, too few pixels."""

from __future__ import annotations

from collections.abc import Iterator

from pipeline.base.errors import UserError
from pipeline.base.findings import Severity
from pipeline.base.geometry import MM_PER_INCH
from pipeline.drawings.checks.inspection import DrawingFinding, Inspection, is_key
from pipeline.fill.template import computed_style, rect_of
from pipeline.svg.tree import SVG, href, lineage, names, size_of
from pipeline.text.shape import advance

_COARSE_DPI, _SOFT_DPI = 150, 200
"""Pixels to the inch below which a picture shows its pixels on paper, and below which it looks
soft; print shops ask for 300 (common practice)."""


def check_fonts(inspection: Inspection) -> Iterator[DrawingFinding]:
    """Families that are not there, and characters of fixed words that no face has."""
    seen: set[str] = set()
    for text, _ in inspection.painted:
        if text.tag != SVG + "text":
            continue
        for run in text.iter(SVG + "text", SVG + "tspan", SVG + "textPath"):
            words = (run.text or "").strip()
            if not words:
                continue
            try:
                style = computed_style(run)
                inspection.book.find(style.families, style.weight, style.italic)
                if not any(is_key(name) for step in lineage(text) for name in names(step)):
                    advance(words, style, inspection.book)
            except UserError as problem:
                if problem.what not in seen:
                    seen.add(problem.what)
                    message = f"cannot be set: {problem.what}"
                    yield inspection.finding("font", [run], message, problem.remedy)


def check_pictures(inspection: Inspection) -> Iterator[DrawingFinding]:
    """Raster pictures: how many pixels an inch they have on paper."""
    for element, matrix in inspection.painted:
        if element.tag != SVG + "image":
            continue
        size, box = size_of(href(element)), matrix.bounds(rect_of(element))
        if size is None or not (box.width and box.height):
            continue
        width, height = size
        stretched = (element.get("preserveAspectRatio") or "").startswith("none")
        counted = min if stretched else max
        dpi = counted(width / box.width, height / box.height) * MM_PER_INCH
        soft = dpi < _SOFT_DPI
        yield inspection.finding(
            "picture",
            [element],
            f"is a picture of {width} × {height} pixels, {dpi:.0f} to the inch on paper",
            "" if soft else "that is fine if you mean it so",
            milder=None if dpi < _COARSE_DPI else Severity.LOOK if soft else Severity.NOTE,
        )
