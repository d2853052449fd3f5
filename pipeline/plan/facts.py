"""The facts a page can show: every key with its forms, for a week, a month or a whole period."""

from __future__ import annotations

import calendar
import datetime as dt
from collections.abc import Mapping
from dataclasses import dataclass

from pipeline.plan.calendar import Week, WeekNumbers, month_end, months_of
from pipeline.plan.model import DayCell, Facts, MonthGrid, Period
from pipeline.plan.season import MOST_MONTHS
from pipeline.plan.words import Words, distinct

Texts = dict[str, tuple[str, ...]]

NO_TEXT = ("",)
NO_MONTH = MonthGrid(heads=(), rows=(), week_numbers=())


@dataclass(frozen=True)
class Setting:
    """What the facts of every page of a set share.

    ``first`` and ``last`` are the first and last day its pages cover, ``None`` in an undated set;
    ``labels`` are the collection's, without the ``label-`` that their keys begin with.
    ``week_numbers`` says how weeks are numbered.
    """

    words: Words
    first_weekday: int
    labels: Mapping[str, tuple[str, ...]]
    set_title: str
    period: Period
    first: dt.date | None = None
    last: dt.date | None = None
    week_numbers: WeekNumbers = "iso"

    def number_of(self, week: Week) -> int:
        """The number of a week."""
        by_locale = self.week_numbers == "locale"
        return week.number_with(self.words.least_days) if by_locale else week.number

    def texts(self) -> Texts:
        """The texts of every page: set title, labels and, in a dated set, the period."""
        texts: Texts = {f"label-{key}": forms for key, forms in self.labels.items()}
        texts["set-title"] = (self.set_title,)
        if self.first is not None and self.last is not None:
            texts["period-name"] = (self.period.title,)
            texts["period-range"] = distinct(
                self.words.interval(self.first, self.last, skeleton)
                for skeleton in ("yMMMMd", "yMMMd")
            )
        return texts


def undated_facts(setting: Setting) -> Facts:
    """The facts of a page without dates."""
    return Facts(kind="undated", texts=setting.texts())


def week_facts(setting: Setting, week: Week, place: int, of: int) -> Facts:
    """The facts of a page about ``week``, the one at ``place`` (from 0) ``of`` so many."""
    words = setting.words
    texts = setting.texts()
    flags = {"first-week": place == 0, "last-week": place == of - 1}
    for n, day in enumerate(week.days, start=1):
        weekend = day.weekday() in words.weekend
        texts[f"day{n}-name"] = words.day_name(day)
        texts[f"day{n}-number"] = (words.number(day.day),)
        texts[f"day{n}-month"] = words.month_name(day)
        texts[f"day{n}-date"] = distinct(words.date(day, s) for s in ("MMMMd", "MMMd"))
        texts[f"day{n}-of-year"] = (words.number(day.timetuple().tm_yday),)
        flags[f"day{n}-weekend"] = weekend
        flags[f"day{n}-workday"] = not weekend
        flags[f"day{n}-month-start"] = day.day == 1
    texts["week-number"] = (words.number(setting.number_of(week)),)
    texts["week-range"] = distinct(
        words.interval(week.first, week.last, skeleton) for skeleton in ("MMMMd", "MMMd")
    )
    texts |= _month_texts(words, week.middle)
    grid = month_grid(setting, week.middle)
    return Facts("week", texts, flags, {"month-grid": grid}, week.days)


def month_facts(setting: Setting, month: dt.date) -> Facts:
    """The facts of a page about the month that ``month`` is in."""
    words = setting.words
    texts = setting.texts() | _month_texts(words, month)
    flags = {}
    last = month_end(month).day
    dates = tuple(month.replace(day=n) for n in range(1, last + 1))
    for n in range(1, 32):
        there = n <= last
        flags[f"date{n}"] = there
        texts[f"date{n}-name"] = words.day_name(dates[n - 1]) if there else NO_TEXT
        texts[f"date{n}-number"] = (words.number(n),) if there else NO_TEXT
    grid = month_grid(setting, month)
    return Facts("month", texts, flags, {"month-grid": grid}, dates)


def once_facts(setting: Setting) -> Facts:
    """The facts of a page about the whole period: its months, by number from 1."""
    words = setting.words
    first, last = setting.period.first, setting.period.last
    assert first is not None
    assert last is not None
    texts = setting.texts()
    one_year = first.year == last.year
    texts["year"] = (words.number(first.year) if one_year else words.interval(first, last, "y"),)
    months = months_of(first, last)
    flags = {"one-month": len(months) == 1, "many-months": len(months) > 1}
    grids = {}
    for k in range(1, MOST_MONTHS + 1):
        month = months[k - 1] if k <= len(months) else None
        flags[f"month{k}"] = month is not None
        texts[f"month{k}-name"] = words.month_name(month) if month else NO_TEXT
        texts[f"month{k}-year"] = (words.number(month.year),) if month else NO_TEXT
        grids[f"month{k}-grid"] = month_grid(setting, month) if month else NO_MONTH
    return Facts("once", texts, flags, grids)


def month_grid(setting: Setting, month: dt.date) -> MonthGrid:
    """The small month ``month`` is in: a row a week, from the set's first weekday on."""
    words, first_weekday = setting.words, setting.first_weekday
    weeks = calendar.Calendar(first_weekday).monthdatescalendar(month.year, month.month)
    rows = tuple(
        tuple(
            DayCell(words.number(day.day), day.weekday() in words.weekend, day)
            if day.month == month.month
            else None
            for day in week
        )
        for week in weeks
    )
    numbers = tuple(words.number(setting.number_of(Week(week[0]))) for week in weeks)
    heads = tuple(words.weekday_head((first_weekday + n) % 7) for n in range(7))
    return MonthGrid(heads, rows, numbers)


def _month_texts(words: Words, day: dt.date) -> Texts:
    return {
        "month-name": words.month_name(day),
        "month-number": (words.number(day.month),),
        "year": (words.number(day.year),),
    }
