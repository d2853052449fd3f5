"""Where each page of a screen edition leads: found from its keys, and from what is drawn there.

Whatever shows a time leads to the page about it: the narrowest one, a day's before its week's. What
a page says of its own time leads to the next wider page, and so back.
"""

from __future__ import annotations

import datetime as dt
import re
from collections.abc import Iterator, Mapping, Sequence
from functools import cached_property

import pypdfium2 as pdfium

from pipeline.base.geometry import Rect
from pipeline.fill.template import TemplateFile
from pipeline.impose.leaf import geometry_of
from pipeline.impose.screen import Face, PageLink
from pipeline.impose.sheet import Placement
from pipeline.plan.calendar import month_end, months_of
from pipeline.plan.facts import in_month
from pipeline.plan.model import Facts, MonthGrid, Page, SetPlan, Side
from pipeline.plan.season import LENGTHS
from pipeline.proof.findings.dated import cells, day_said_in
from pipeline.proof.findings.subject import LINK, Slot, Slots, days_on, slots_of
from pipeline.proof.read.objects import middle
from pipeline.proof.read.raster import opened
from pipeline.proof.read.text import LeafText, leaf_texts

OF_DAYS = ("number", "name", "date", "month")
"""What of a day's keys leads to its page: what names it, not what is told of it."""
AROUND_MM = 0.8
"""A link is so much larger than what is read in it: a finger is thicker than a figure (by eye)."""


class Links:
    """All links of a set. ``pages_pdf`` has its pages as they are drawn, in their order."""

    def __init__(
        self, plan: SetPlan, templates: Mapping[str, TemplateFile], pages_pdf: bytes
    ) -> None:
        self._plan = plan
        self._templates = templates
        self._known: dict[Face, Slots] = {}
        self._faces = {
            (leaf, side): page
            for leaf, one in enumerate(plan.leaves)
            for side in (Side.RECTO, Side.VERSO)
            if (page := one.page(side)) is not None
        }
        with opened(pages_pdf) as document:
            self._read = {
                face: self._texts(document[number], face) for number, face in enumerate(self._faces)
            }

    def _texts(self, page: pdfium.PdfPage, face: Face) -> list[LeafText]:
        leaf, side = face
        geometry, drawn = geometry_of(self._plan, self._plan.leaves[leaf]), self._faces[face]
        where, bleed = geometry.page(side, drawn.beside_mm), self._plan.bleed_mm
        flat = Rect(bleed - where.x, bleed - where.y, geometry.width_mm, geometry.height_mm)
        return list(leaf_texts(page, [Placement(leaf, side, flat, flat)], 0, 1))

    def of(self, leaf: int, side: Side) -> list[PageLink]:
        """The links of a face, their places in mm of the leaf's flat area; none on a blank one."""
        face = leaf, side
        page = self._faces.get(face)
        if page is None:
            return []
        slots = self._slots(face)
        found: list[PageLink] = []
        dated = page.facts.kind in (*LENGTHS, "once")
        days = dict(days_on(page.facts)) if dated else {}
        for slot in slots.texts:
            told = self._days_of(page, slot.key, days)
            to = self._target(face, told, self._kind_of(slot.key))
            said = [one.box for one in self._read[face] if slot.area.holds(middle(one.box))]
            if to is not None and said:
                found.append(PageLink(Rect.union(said).grown(AROUND_MM), to))
        for slot in slots.grids:
            found += self._month(face, slot, page.facts.months[slot.key])
        for name, area in slots.links:
            to = self._asked(face, name.removeprefix(LINK))
            if to is not None:
                found.append(PageLink(area, to))
        return found

    def _month(self, face: Face, slot: Slot, month: MonthGrid) -> Iterator[PageLink]:
        over = [one for one in self._read[face] if slot.area.overlaps(one.box)]
        for cell in cells(over, slot.area):
            day = day_said_in(cell, slot.area, month)
            to = self._target(face, (day,), "day") if day else None
            if to is not None:
                yield PageLink(cell.box.grown(AROUND_MM), to)

    def _days_of(self, page: Page, key: str, days: Mapping[str, dt.date]) -> tuple[dt.date, ...]:
        """The days that a key of a page tells of; none where it tells no time.

        ``days`` are those of the page, by what their keys begin with.
        """
        facts = page.facts
        if facts.kind == "undated" or not (facts.dates or facts.kind == "once"):
            return ()
        family, _, part = key.rpartition("-")
        if part in OF_DAYS and family in days:
            return (days[family],)
        month = re.fullmatch(r"month(\d+)-(?:name|year)", key)
        if month:
            return self._months(facts)[int(month[1]) - 1 : int(month[1])]
        within, rest = in_month(key)
        week = re.fullmatch(r"week(\d+)-(?:number|range)", rest)
        if week:
            first = 7 * (int(week[1]) - 1)
            return facts.calendars[within][first : first + 7]
        if key in ("week-number", "week-range", "month-name", "month-number", "quarter-name"):
            return facts.dates
        return facts.dates if key in ("year", "quarter-number") else ()

    def _months(self, facts: Facts) -> tuple[dt.date, ...]:
        """The first days of the months in a row that a page knows."""
        period = self._plan.period
        ends = (facts.dates[0], facts.dates[-1]) if facts.dates else (period.first, period.last)
        return tuple(months_of(ends[0], ends[1])) if ends[0] and ends[1] else ()

    @staticmethod
    def _kind_of(key: str) -> str:
        """The time that a key names."""
        kinds = {"month": "month", "week": "week", "year": "year", "quarter": "quarter"}
        _, rest = in_month(key)
        return next((kind for begin, kind in kinds.items() if rest.startswith(begin)), "day")

    @cached_property
    def _by_day(self) -> dict[dt.date, list[tuple[int, Face]]]:
        """The pages about each day, each with the place of its time among ``LENGTHS``."""
        found: dict[dt.date, list[tuple[int, Face]]] = {}
        for face, page in self._faces.items():
            if page.facts.kind in LENGTHS:
                rank = LENGTHS.index(page.facts.kind)
                for day in page.facts.dates:
                    found.setdefault(day, []).append((rank, face))
        return {day: sorted(faces, key=lambda one: one[0]) for day, faces in found.items()}

    def _target(self, face: Face, days: Sequence[dt.date], kind: str) -> Face | None:
        """The page that a place of a face leads to, which tells of days as a time of a kind."""
        own = self._faces[face].facts
        least = LENGTHS.index(kind)
        own_rank = LENGTHS.index(own.kind) if own.kind in LENGTHS else len(LENGTHS)
        if kind in ("month", "quarter", "year") and days:
            days = self._whole(days, kind)
        for rank in range(least, len(LENGTHS)):
            for day in days:
                there = [one for at, one in self._by_day.get(day, ()) if at == rank]
                if not there or (rank == own_rank and day in own.dates):
                    continue
                return next((one for one in there if self._shows(one, day)), there[0])
        if own_rank > least:  # a month that no page is about: the first of its days that has one
            for day in days:
                there = [one for at, one in self._by_day.get(day, ()) if at < own_rank]
                if there:
                    return there[0]
        return None

    @staticmethod
    def _whole(days: Sequence[dt.date], kind: str) -> list[dt.date]:
        """All days of the month, quarter or year that most of some days are in."""
        middle_day = days[len(days) // 2]
        first = middle_day.replace(day=1)
        if kind == "quarter":
            first = first.replace(month=3 * ((first.month - 1) // 3) + 1)
        elif kind == "year":
            first = first.replace(month=1)
        months = {"month": 1, "quarter": 3, "year": 12}[kind]
        last = month_end(dt.date(first.year, first.month + months - 1, 1))
        return [first + dt.timedelta(days=number) for number in range((last - first).days + 1)]

    def _shows(self, face: Face, day: dt.date) -> bool:
        """Whether a page has a place of a day's own, such as that of its figure."""
        page = self._faces[face]
        families = [family for family, one in days_on(page.facts) if one == day]
        drawn = [slot.key for slot in self._slots(face).texts]
        return any(key == one or key.startswith(f"{one}-") for one in families for key in drawn)

    def _slots(self, face: Face) -> Slots:
        page, geometry = self._faces[face], geometry_of(self._plan, self._plan.leaves[face[0]])
        if face not in self._known:
            self._known[face] = slots_of(self._plan, self._templates, page, geometry)
        return self._known[face]

    def _asked(self, face: Face, name: str) -> Face | None:
        """What a place named after a time leads to, such as "month-3" or "year"."""
        kind, _, number = name.partition("-")
        if kind not in LENGTHS or (number and not number.isdecimal()):
            return None
        for day in sorted(self._by_day):
            month = kind == "month" and number and day.month != int(number)
            week = kind == "week" and number and day.isocalendar().week != int(number)
            if not month and not week:
                return self._target(face, (day,), kind)
        return None
