"""Draws the marks of a sheet side as SVG, at true size in millimetres."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import svgwrite
from svgwrite.base import BaseElement
from svgwrite.container import Group

from pipeline.base.geometry import decimal
from pipeline.impose.marks import Kind, Line, Mark, Note
from pipeline.impose.slug import (
    BAR_HEIGHT_MM,
    BAR_LABEL,
    BAR_MM,
    LABEL_GAP_MM,
    SEPARATOR,
    Slug,
    Strip,
)

FAMILY = "Source Sans 3"
HAIRLINE_MM = 0.09
"""A quarter of a point: thin enough to cut on, thick enough for a home printer."""

INK = "#000000"
GREY = "#5a5a5a"
DASHES = "0.8,0.6"
STRONG = (2, 3)
"""Fields a hand looks for at the bench: set a little stronger."""

STRONG_WEIGHT = 600
_EMBEDDED = ("\N{RIGHT-TO-LEFT EMBEDDING}", "\N{POP DIRECTIONAL FORMATTING}")
BASELINE = 0.78
"""The baseline of a strip, as a part of its type size from the top."""


@dataclass(frozen=True)
class Furniture:
    """All that is printed outside the leaves of one sheet side."""

    width: float
    height: float
    marks: tuple[Mark, ...]
    slug: Slug
    fields: tuple[str, ...]
    families: tuple[str, ...] = (FAMILY,)
    right_to_left: bool = False
    shift: tuple[float, float] = (0.0, 0.0)
    upside_down: bool = False


def furniture_svg(furniture: Furniture) -> bytes:
    """The SVG of a sheet side's marks, in mm, as big as the sheet."""
    width, height = furniture.width, furniture.height
    drawing = svgwrite.Drawing(
        size=(f"{width:.6g}mm", f"{height:.6g}mm"),
        viewBox=f"0 0 {width:.6g} {height:.6g}",
        debug=False,
    )
    families = ", ".join(furniture.families)
    sheet = drawing.g(**_sheet_transform(furniture))
    for kind in Kind:
        group = drawing.g(
            id=f"{kind.value}-marks", fill="none", stroke=INK, stroke_width=HAIRLINE_MM
        )
        if kind is Kind.FOLD:
            group["stroke-dasharray"] = DASHES
        for mark in furniture.marks:
            if mark.kind is kind:
                group.add(_shape(drawing, mark, families))
        sheet.add(group)
    words = drawing.g(id="slug", fill=GREY, font_family=families)
    for strip, part in zip(furniture.slug.strips, furniture.slug.parts, strict=True):
        words.add(_words(drawing, strip, furniture, part))
    words.add(_bar(drawing, furniture.slug.bar))
    sheet.add(words)
    drawing.add(sheet)
    return str(drawing.tostring()).encode()


def _sheet_transform(furniture: Furniture) -> dict[str, str]:
    steps = []
    if any(furniture.shift):
        steps.append(f"translate({n(furniture.shift[0])} {n(furniture.shift[1])})")
    if furniture.upside_down:
        steps.append(f"rotate(180 {n(furniture.width / 2)} {n(furniture.height / 2)})")
    return {"transform": " ".join(steps)} if steps else {}


def n(value: float) -> str:
    """A number as SVG takes it, to the hundredth of a micrometre."""
    return decimal(value, 5)


def _shape(drawing: svgwrite.Drawing, mark: Mark, families: str) -> BaseElement:
    if isinstance(mark, Line):
        return drawing.line((n(mark.start.x), n(mark.start.y)), (n(mark.end.x), n(mark.end.y)))
    if isinstance(mark, Note):
        return drawing.text(
            mark.text,
            insert=("0", n(mark.size * (BASELINE - 0.5))),
            transform=f"translate({n(mark.centre.x)} {n(mark.centre.y)}) rotate({mark.turned})",
            font_size=n(mark.size),
            font_family=families,
            text_anchor="middle",
            fill=GREY,
            stroke="none",
        )
    half_line = HAIRLINE_MM / 2  # the ring's outer rim, not its middle, is its diameter
    return drawing.circle((n(mark.centre.x), n(mark.centre.y)), n(mark.diameter / 2 - half_line))


def _at(drawing: svgwrite.Drawing, strip: Strip) -> Group:
    """A group in which the strip's words run along x from its own top left corner."""
    rect = strip.rect
    if strip.turned == 270:
        transform = f"translate({n(rect.x)} {n(rect.bottom)}) rotate(-90)"
    else:
        transform = f"translate({n(rect.x)} {n(rect.y)})"
    return drawing.g(transform=transform)


def _words(
    drawing: svgwrite.Drawing, strip: Strip, furniture: Furniture, part: Sequence[int]
) -> Group:
    """Some of the fields; from right to left they are embedded so (UAX #9), all of them as one."""
    group = _at(drawing, strip)
    line = drawing.text("", insert=("0", n(strip.size * BASELINE)), font_size=n(strip.size))
    opening, closing = _EMBEDDED if furniture.right_to_left else ("", "")
    shown = [number for number in part if furniture.fields[number]]
    for number in shown:
        before = opening if number == shown[0] else SEPARATOR
        if before:
            line.add(drawing.tspan(before))
        span = drawing.tspan(furniture.fields[number])
        if number in STRONG:
            span["font-weight"] = STRONG_WEIGHT
            span["fill"] = INK
        line.add(span)
    if closing:
        line.add(drawing.tspan(closing))
    group.add(line)
    return group


def _bar(drawing: svgwrite.Drawing, strip: Strip) -> Group:
    """A bar of exactly 100 mm between the middles of its end ticks, every 10 mm marked."""
    group = _at(drawing, strip)
    thick = min(strip.rect.width, strip.rect.height)
    middle, half = thick / 2, BAR_HEIGHT_MM / 2
    bar = drawing.g(id="bar-100mm", fill="none", stroke=INK, stroke_width=HAIRLINE_MM)
    bar.add(drawing.line(("0", n(middle)), (n(BAR_MM), n(middle))))
    for number in range(11):
        reach = half if number in (0, 10) else half * (0.7 if number == 5 else 0.45)
        x = n(number * BAR_MM / 10)
        bar.add(drawing.line((x, n(middle - reach)), (x, n(middle + reach))))
    group.add(bar)
    group.add(
        drawing.text(
            BAR_LABEL,
            insert=(n(BAR_MM + LABEL_GAP_MM), n(middle + strip.size * 0.33)),
            font_size=n(strip.size),
        )
    )
    return group
