"""How large type is set on the new page: as it was, or as small as its room makes it."""

from __future__ import annotations

import datetime as dt
import functools
import re
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from typing import NamedTuple

from pipeline.base.errors import UserError
from pipeline.base.geometry import Rect
from pipeline.drawings.resize.anchors import Stretches
from pipeline.drawings.resize.things import TextLine
from pipeline.fill.texts import SMALLEST
from pipeline.plan.words import words_for
from pipeline.text.fonts import FontBook
from pipeline.text.shape import advance

SMALLEST_MM = 2.1
"""Type is not set smaller than this (six points) for want of room (common practice)."""

_FIGURES_WIDE, _FIGURES_HIGH = 0.68, 0.72
"""How high figures of a small month are at most, as shares of their cell's sides."""
_FIGURES_APART = 0.8
"""Nor are they ever larger than this share of their cell's width: two figures are about as wide as
they are large, and a quarter of that is left between those of neighbours."""
_AIR_MM = 0.6
"""Words stay this far from what they were clear of, and keep as much spare room in their box."""
_EASE = 0.995
"""A text that just fits is set a hair smaller, so that it fits after rounding too."""
_SAID = re.compile(
    r"label-|.*-number$|(?:week)?day\d*-(?:name|month)$|month\d*-name$|month\d*-year$|year$|hour$"
)
"""Keys whose widest text is known: it is the sample or one of the names below."""

Scales = dict[tuple[object, ...], float]
"""How much smaller each look is set."""


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

    def scales(self, lines: Iterable[tuple[TextLine, TextRoom]], held: float) -> Scales:
        """How much smaller each look is set, so that what fitted its room fits the new one.

        ``held`` is how much lower lines get. No look gets smaller than the smallest allowed; what
        is still too wide then takes its shorter form.
        """
        result: Scales = {}
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
        if line.key is None or _SAID.match(line.key):
            known = [need for forms in said(line) if (need := self._need(line, forms, old))]
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
        name = line.key or line.text.get("id") or "text"
        return f"{name}: {shortest!r} needs {width * scale:.1f} mm, has {place.room.width:.1f} mm"

    def month_scales(self, samples: Iterable[tuple[TextLine, Rect, Rect]]) -> Scales:
        """The same for figures of small months, which come with their old and new area (mm)."""
        result: Scales = {}
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
    key = line.key or ""
    found: list[tuple[str, ...]] = [(line.sample,)] if line.sample else []
    if re.fullmatch(r"(?:week)?day\d*-name", key):
        found.append(_widest_names()[0])
    elif re.fullmatch(r"month\d*-name|day\d*-month", key):
        found.append(_widest_names()[1])
    elif re.fullmatch(r"(?:day|date)\d*-number|week-number", key):
        found.append(("30",))
    return found


@functools.cache
def _widest_names() -> tuple[tuple[str, ...], ...]:
    """The longest name of a day and of a month, with their shorter forms, from CLDR."""
    words = words_for("en")
    days = [words.day_name(dt.date(2027, 3, day)) for day in range(1, 8)]
    months = [words.month_name(dt.date(2027, month, 1)) for month in range(1, 13)]
    return tuple(max(names, key=lambda forms: len(forms[0])) for names in (days, months))
