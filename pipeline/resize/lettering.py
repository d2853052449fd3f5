"""How large type is set on the new page: as it was, or as small as its room makes it."""

from __future__ import annotations

import datetime as dt
import functools
import re
from collections.abc import Callable, Iterable, Mapping, Sequence
from dataclasses import dataclass

from lxml import etree

from pipeline.errors import UserError
from pipeline.fill.template import computed_style, inherited, rect_of
from pipeline.fill.texts import SMALLEST
from pipeline.geometry import Rect
from pipeline.plan.words import words_for
from pipeline.resize.drawing import Drawing
from pipeline.resize.stretch import Span, Stretch
from pipeline.resize.things import Month, Words, is_level
from pipeline.text.fonts import FontBook
from pipeline.text.shape import Style, advance
from pipeline.text.style import length

SMALLEST_MM = 2.1
"""Type is not set smaller than this (six points) for want of room (common practice)."""

_ABOVE, _BELOW = 0.8, 0.25
"""How far letters reach above and below their line, as shares of their size."""

_FIGURES_WIDE, _FIGURES_HIGH = 0.68, 0.72
"""The most of a small month's cell that its figures are high: wide enough for two beside air."""

Class = tuple[object, ...]
"""Texts that look alike are set alike: their faces, size and weight."""


_SAID = re.compile(r"label-|.*-number$|day\d+-(?:name|month)$|month\d*-name$|month\d*-year$|year$")
"""Keys whose widest text is known: it is the sample or one of the names below."""

Measure = Callable[[str, Style], float | None]
"""How wide a text is, in the unit of its style; None when its face cannot be had."""


@dataclass(frozen=True)
class Line:
    """A text as it stands: its style, sizes in page mm, where it begins, and what it says."""

    words: Words
    style: Style
    size_mm: float
    spot: tuple[float, float]
    anchor: str
    sample: str
    box: Rect | None
    upright: bool

    @property
    def look(self) -> Class:
        """What it shares with texts that look alike."""
        style = self.style
        return style.families, round(self.size_mm, 2), round(style.weight), style.italic

    @property
    def height(self) -> Span:
        """From the top of its letters to the bottom, mm."""
        _, y = self.spot
        return y - _ABOVE * self.size_mm, y + _BELOW * self.size_mm

    def width_of(self, text: str, measure: Measure) -> float | None:
        """How wide a text is in this style, mm; None when its face cannot be had."""
        width = measure(text, self.style)
        return None if width is None else width / self.style.size * self.size_mm

    def need(self, forms: Sequence[str], room: float, measure: Measure) -> float | None:
        """The width of the longest of ``forms`` that fits ``room`` mm; None when none does."""
        for form in forms:
            width = self.width_of(form, measure)
            if width is not None and width <= room + 1e-6:
                return width
        return None


def line_of(drawing: Drawing, words: Words) -> Line:
    """A text of a drawing, measured."""
    text = words.text
    matrix = drawing.matrix(text)
    run = next((e for e in text.iter() if (e.text or "").strip()), text)
    step: etree._Element | None = run
    x = y = None
    while step is not None:
        x = _first(step.get("x")) if x is None else x
        y = _first(step.get("y")) if y is None else y
        if step is text:
            break
        step = step.getparent()
    style = computed_style(run)
    box = None
    if words.box is not None:
        box = drawing.matrix(words.box).bounds(rect_of(words.box))
    return Line(
        words=words,
        style=style,
        size_mm=style.size * matrix.scale_x,
        spot=matrix.point(x or 0.0, y or 0.0),
        anchor=inherited(run, "text-anchor") or "start",
        sample=" ".join("".join(map(str, text.itertext())).split()),
        box=box,
        upright=is_level(matrix),
    )


def _first(value: str | None) -> float | None:
    parts = (value or "").replace(",", " ").split()
    return length(parts[0]) if parts else None


def measure_with(book: FontBook) -> Measure:
    """Measures with a book's faces."""

    def measured(text: str, style: Style) -> float | None:
        try:
            return advance(text, style, book)
        except UserError:
            return None

    return measured


def scales(
    lines: Iterable[tuple[Line, Rect]], measure: Measure, held: float, smallest_mm: float
) -> dict[Class, float]:
    """How much smaller each look is set, so that what fitted its room fits the new one.

    ``lines`` come with their room on the new page. ``held`` is how much lower lines get. No look
    gets smaller than ``smallest_mm``; what is still too wide then takes its shorter form.
    """
    result: dict[Class, float] = {}
    for line, room in lines:
        scale = min(1.0, held)
        if line.upright and line.box is not None and line.box.width > 0:
            scale = min(scale, _fitting(line, line.box.width, room.width, measure))
        floor = min(1.0, smallest_mm / line.size_mm) if line.size_mm > 0 else 1.0
        result[line.look] = min(result.get(line.look, 1.0), max(scale, floor))
    return result


def _fitting(line: Line, old_width: float, new_width: float, measure: Measure) -> float:
    """How much smaller a text must be, to say in the new width what it could in the old."""
    needs = [line.need(forms, old_width, measure) for forms in said(line)]
    if line.words.key and not _SAID.match(line.words.key):
        needs = []  # it may need all the room it was given
    known = [need for need in needs if need]
    if not known:
        return min(1.0, new_width / old_width)
    return min(1.0, new_width / max(known))


def said(line: Line) -> list[tuple[str, ...]]:
    """What a text may have to say: its sample, and the widest of what its key shows in English.

    Each as its forms, longest first.
    """
    key = line.words.key or ""
    found: list[tuple[str, ...]] = [(line.sample,)] if line.sample else []
    if re.fullmatch(r"day\d+-name", key):
        found.append(_widest_names()["day"])
    elif re.fullmatch(r"month\d*-name|day\d+-month", key):
        found.append(_widest_names()["month"])
    elif re.fullmatch(r"(?:day|date)\d+-number|week-number", key):
        found.append(("30",))
    return found


@functools.cache
def _widest_names() -> Mapping[str, tuple[str, ...]]:
    """The longest names of days and months, with their shorter forms, from CLDR."""
    words = words_for("en")
    days = [words.day_name(dt.date(2027, 3, day)) for day in range(1, 8)]
    months = [words.month_name(dt.date(2027, month, 1)) for month in range(1, 13)]

    def longest(names: Sequence[tuple[str, ...]]) -> tuple[str, ...]:
        return max(names, key=lambda forms: len(forms[0]))

    return {"day": longest(days), "month": longest(months)}


def too_wide(line: Line, room: Rect, scale: float, measure: Measure) -> str | None:
    """What to tell of a text that may not fit its room at this scale, even smaller; else None."""
    if line.box is None or not line.upright or not line.sample:
        return None
    shortest = said(line)[-1][-1]
    width = line.width_of(shortest, measure)
    if width is None:
        return None
    needs = width * scale
    if needs * SMALLEST <= room.width + 1e-6:
        return None
    name = line.words.key or line.words.text.get("id") or "text"
    return f"{name}: {shortest!r} needs {needs:.1f} mm but has {room.width:.1f} mm"


def month_scales(
    months: Iterable[tuple[Month, Rect, Rect]], drawing: Drawing, smallest_mm: float
) -> dict[Class, float]:
    """The same for the figures of small months, by their cells: old and new area, mm."""
    result: dict[Class, float] = {}
    for month, old, new in months:
        for sample in month.samples:
            line = line_of(drawing, Words(sample))
            size = line.size_mm
            across, along = new.width / old.width, new.height / old.height
            most = min(
                max(_FIGURES_WIDE * new.width / 7, across * size),
                max(_FIGURES_HIGH * new.height / 7, along * size),
            )
            floor = min(size, smallest_mm, 0.98 * new.height / 7)
            scale = max(min(size, most), floor) / size
            result[line.look] = min(result.get(line.look, 1.0), scale)
    return result


def new_spot(
    line: Line, room: Rect | None, scale: float, x: Stretch, y: Stretch
) -> tuple[float, float]:
    """Where a text goes: its line where lines go, its end kept from the wall it is set against."""
    left, top = line.spot
    if room is None or line.box is None:
        return x(left), y(top)
    box = line.box
    if line.anchor == "end":
        across = room.right - (box.right - left) * scale
    elif line.anchor == "middle":
        across = room.x + room.width / 2 + (left - box.x - box.width / 2) * scale
    else:
        across = room.x + (left - box.x) * scale
    return across, y(top)
