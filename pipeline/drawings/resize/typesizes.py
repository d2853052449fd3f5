"""How large type is set on the new page: as it was, or as small as its room makes it."""

from __future__ import annotations

import datetime as dt
import functools
import re
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from typing import NamedTuple

from lxml import etree

from pipeline.base.errors import UserError
from pipeline.base.geometry import Rect
from pipeline.drawings.resize.anchors import Stretches
from pipeline.drawings.resize.saved import SavedDrawing
from pipeline.drawings.resize.things import TextElement, is_level
from pipeline.fill.template import computed_style, rect_of
from pipeline.fill.texts import SMALLEST
from pipeline.plan.words import words_for
from pipeline.svg.tree import inherited
from pipeline.text.fonts import FontBook
from pipeline.text.shape import Style, advance
from pipeline.text.style import length

SMALLEST_MM = 2.1
"""Type is not set smaller than this (six points) for want of room (common practice)."""

_ABOVE, _BELOW = 0.8, 0.25
"""How far letters reach above and below their line, as shares of their size."""

_FIGURES_WIDE, _FIGURES_HIGH = 0.68, 0.72
"""How high figures of a small month are at most, as shares of their cell's sides."""

_FIGURES_APART = 0.8
"""Nor are they ever larger than this share of their cell's width: two figures are about as wide as
they are large, and a quarter of that is left between those of neighbours."""

_AIR_MM = 0.6
"""Words stay this far from what they were clear of, and keep as much spare room in their box."""

_EASE = 0.995
"""A text that just fits is set a hair smaller, so that it fits after rounding too."""

_SAID = re.compile(r"label-|.*-number$|day\d+-(?:name|month)$|month\d*-name$|month\d*-year$|year$")
"""Keys whose widest text is known: it is the sample or one of the names below."""

Look = tuple[object, ...]
"""Texts that look alike are set alike: their faces, size and weight."""


@dataclass(frozen=True)
class TextLine:
    """A text as it stands: its style, sizes in page mm, where it begins, and what it says.

    ``extent`` is the box (mm) that its sample fills, ``box`` the one it was given.
    """

    words: TextElement
    style: Style
    size_mm: float
    spot: tuple[float, float]
    anchor: str
    sample: str
    box: Rect | None
    upright: bool

    @property
    def look(self) -> Look:
        """What it shares with texts that look alike."""
        style = self.style
        return style.families, round(self.size_mm, 2), round(style.weight), style.italic

    @property
    def extent(self) -> Rect:
        """About the box that the sample fills, by the average width of letters, mm."""
        width = 0.45 * self.size_mm * len(self.sample)
        x, y = self.spot
        start = {"middle": x - width / 2, "end": x - width}.get(self.anchor, x)
        return Rect(start, y - _ABOVE * self.size_mm, width, (_ABOVE + _BELOW) * self.size_mm)


def text_line(drawing: SavedDrawing, words: TextElement) -> TextLine:
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
    return TextLine(
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


@dataclass(frozen=True)
class TextRoom:
    """Where a text goes: the ``room`` its box has there, and how much wider its sample may be.

    ``start`` is where a text without a box begins, ``base`` its line, mm; ``clear`` the widest
    that keeps the sample off its neighbours (None without any).
    """

    room: Rect | None
    start: float
    base: float
    clear: float | None

    def spot(self, line: TextLine, scale: float) -> tuple[float, float]:
        """Where a text set at a scale begins: as far from its box's wall as it was, scaled."""
        room, box = self.room, line.box
        if room is None or box is None:
            return self.start, self.base
        across = line.spot[0]
        if line.anchor == "end":
            return room.right - (box.right - across) * scale, self.base
        if line.anchor == "middle":
            middle = across - box.x - box.width / 2
            return room.x + room.width / 2 + middle * scale, self.base
        return room.x + (across - box.x) * scale, self.base


class Neighbour(NamedTuple):
    """A thing that others stay clear of: where it was and where it is now, mm."""

    old: Rect
    new: Rect


class TypeSizes:
    """Measures with a book's faces; sets nothing smaller than ``smallest_mm``."""

    def __init__(self, book: FontBook, smallest_mm: float = SMALLEST_MM) -> None:
        self._book = book
        self._smallest = smallest_mm

    def width_of(self, text: str, line: TextLine) -> float | None:
        """How wide a text is in a line's style, mm; None when its face cannot be had."""
        try:
            width = advance(text, line.style, self._book)
        except UserError:
            return None
        return width / line.style.size * line.size_mm if line.style.size else None

    def place(
        self, line: TextLine, stretch: Stretches, neighbours: Sequence[Neighbour]
    ) -> TextRoom:
        """Where a line goes by its stretch, off neighbours that it is clear of."""
        x, y = line.spot
        room = None
        if line.box is not None and line.upright:
            left, right = stretch.x.span(line.box.x, line.box.right)
            room = Rect(left, stretch.y(y), right - left, line.box.height)
        clear = self._clear(line, stretch, neighbours) if line.upright else None
        return TextRoom(room, stretch.x(x), stretch.y(y), clear)

    def _clear(
        self, line: TextLine, stretch: Stretches, neighbours: Sequence[Neighbour]
    ) -> float | None:
        """How wide a sample may be, so as not to run into what is beside it."""
        width = self.width_of(line.sample, line)
        if width is None or line.anchor == "middle":
            return None
        x, _ = line.spot
        top, bottom = line.extent.y, line.extent.bottom
        level = [n for n in neighbours if n.old.y < bottom and n.old.bottom > top]
        if line.anchor == "end":
            walls = [n.new.right for n in level if n.old.right <= x - width + 0.3]
            return max(0.1, stretch.x(x) - max(walls) - _AIR_MM) if walls else None
        walls = [n.new.x for n in level if n.old.x >= x + width - 0.3]
        return max(0.1, min(walls) - stretch.x(x) - _AIR_MM) if walls else None

    def scales(self, lines: Iterable[tuple[TextLine, TextRoom]], held: float) -> dict[Look, float]:
        """How much smaller each look is set, so that what fitted its room fits the new one.

        ``held`` is how much lower lines get. No look gets smaller than the smallest allowed; what
        is still too wide then takes its shorter form.
        """
        result: dict[Look, float] = {}
        for line, place in lines:
            scale = min(1.0, held)
            if place.room is not None and line.box is not None and line.box.width > 0:
                scale = min(scale, self._fitting(line, line.box.width, place.room.width))
            if place.clear is not None:
                width = self.width_of(line.sample, line)
                scale = min(scale, place.clear / width) if width else scale
            floor = min(1.0, self._smallest / line.size_mm) if line.size_mm > 0 else 1.0
            result[line.look] = min(result.get(line.look, 1.0), max(scale, floor))
        return result

    def _fitting(self, line: TextLine, old: float, new: float) -> float:
        """How much smaller a text must be, to say in the new width what it could in the old."""
        key = line.words.key
        if key is None or _SAID.match(key):
            needs = [self._need(line, forms, old) for forms in said(line)]
            known = [need for need in needs if need]
            if known:
                air = min(_AIR_MM, max(0.0, old - max(known)))
                return min(1.0, _EASE * max(new - air, 0.5 * new) / max(known))
        return min(1.0, _EASE * new / old) if new < old else 1.0

    def _need(self, line: TextLine, forms: Sequence[str], room: float) -> float | None:
        """The width of the longest of ``forms`` that fits ``room`` mm; None when none does."""
        widths = [self.width_of(form, line) for form in forms]
        return next((width for width in widths if width and width <= room + 1e-6), None)

    def too_wide(self, line: TextLine, place: TextRoom, scale: float) -> str | None:
        """What to tell of a text that will not fit its room, not even smaller; else None."""
        if place.room is None or not line.sample:
            return None
        shortest = said(line)[-1][-1]
        width = self.width_of(shortest, line)
        if width is None or width * scale * SMALLEST <= place.room.width + 1e-6:
            return None
        name = line.words.key or line.words.text.get("id") or "text"
        return f"{name}: {shortest!r} needs {width * scale:.1f} mm, has {place.room.width:.1f} mm"

    def month_scales(self, samples: Iterable[tuple[TextLine, Rect, Rect]]) -> dict[Look, float]:
        """The same for figures of small months, which come with their old and new area (mm)."""
        result: dict[Look, float] = {}
        for line, old, new in samples:
            size = line.size_mm
            most = min(
                max(_FIGURES_WIDE * new.width / 7, new.width / old.width * size),
                max(_FIGURES_HIGH * new.height / 7, new.height / old.height * size),
            )
            cell = min(0.98 * new.height, _FIGURES_APART * new.width) / 7
            floor = min(size, self._smallest, cell)
            scale = max(min(size, most), floor) / size
            result[line.look] = min(result.get(line.look, 1.0), scale)
        return result


def said(line: TextLine) -> list[tuple[str, ...]]:
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
