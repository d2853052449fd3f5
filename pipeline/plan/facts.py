"""The facts a page can show: every key with its forms, for a week, a month or a whole period."""

from __future__ import annotations

import calendar
import datetime as dt
import re
import unicodedata
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, field, replace
from typing import NamedTuple

from pipeline.plan.almanac import PHASES, TURNS, Almanac
from pipeline.plan.calendar import (
    Week,
    WeekNumbers,
    days_from,
    month_end,
    months_of,
    week_with,
)
from pipeline.plan.model import DayCell, Facts, MonthGrid, Period
from pipeline.plan.season import MOST_MONTHS
from pipeline.plan.words import Words, distinct


def line_of(name: str) -> str:
    """What the keys of a list's lines begin with; their number comes after it."""
    return f"line-of-{name}-"


Texts = dict[str, tuple[str, ...]]

PAGES = {
    "day": "a page for a day",
    "half-week": "a page for half a week",
    "week": "a page for a week",
    "month": "a page for a month",
    "quarter": "a page for a quarter",
    "year": "a page for a year",
    "once": "a page that comes once in a set",
    "undated": "an undated page",
    "flap": "the outside of a flap",
}
"""Every kind of page, as errors call it."""

MOST_DAYS = 31
"""The days of the longest month."""

NO_TEXT = ("",)

TAB_LABEL = "tab-label"
"""What stands on the tab of a page's leaf: nothing where it has none."""

TAB_NAME = "tab-name"
"""The same words on the page itself."""

BUYER_KEYS = ("buyer-name", *(f"buyer-line-{n}" for n in range(1, 9)))
"""What is a buyer's own, on pages of any kind: nothing but where a set is made to order."""

NO_MONTH = MonthGrid(heads=(), rows=(), week_numbers=())


@dataclass(frozen=True)
class Setting:
    """What the facts of every page of a set share.

    ``first`` and ``last`` are the first and last day its pages cover, ``None`` in an undated set;
    ``labels`` are the collection's, without the ``label-`` that their keys begin with.
    ``week_numbers`` says how weeks are numbered; ``phases`` what the moon's are called;
    ``lists`` are the collection's, line by line.
    """

    words: Words
    first_weekday: int
    labels: Mapping[str, tuple[str, ...]]
    set_title: str
    period: Period
    first: dt.date | None = None
    last: dt.date | None = None
    week_numbers: WeekNumbers = "iso"
    lists: Mapping[str, tuple[str, ...]] = field(default_factory=dict)
    almanac: Almanac | None = None
    phases: tuple[str, ...] = ("",) * len(PHASES)
    dates_in_months: bool = False
    """Whether pages about several months tell each date of them too."""

    buyer: Mapping[str, tuple[str, ...]] = field(default_factory=dict)
    """What is said of whom a set is made to order for, by key."""

    def number_of(self, week: Week) -> int:
        """The number of a week."""
        by_locale = self.week_numbers == "locale"
        return week.number_with(self.words.least_days) if by_locale else week.number

    def is_free(self, day: dt.date) -> bool:
        """Whether a day is of the weekend or, in a dated set, has a feast of the almanac."""
        feasts = self.almanac is not None and self.first is not None and self.almanac.of(day).feasts
        return day.weekday() in self.words.weekend or bool(feasts)

    def counts(self, **counts: int) -> dict[str, int]:
        """How many there are of each family: those of a page, and the lines of every list."""
        lists = {line_of(name): len(lines) for name, lines in self.lists.items()}
        return counts | {"weekday": 7} | lists

    def flags(self, **flags: bool) -> dict[str, bool]:
        """What is so on a page, which weekdays are of the weekend, and what a buyer's keys say."""
        weekend = self.words.weekend
        flags |= {key: key in self.buyer for key in BUYER_KEYS}
        if "undated" in flags:
            flags["dated"] = not flags["undated"]
        return flags | {
            f"weekday{n + 1}-weekend": (self.first_weekday + n) % 7 in weekend for n in range(7)
        }

    def texts(self) -> Texts:
        """The texts of every page: set title, labels, a buyer's own and, with dates, the period."""
        texts: Texts = {f"label-{key}": forms for key, forms in self.labels.items()}
        texts |= {f"hour{hour}": self.words.hour(hour) for hour in range(25)}
        for name, lines in self.lists.items():
            texts |= {f"{line_of(name)}{n}": (line,) for n, line in enumerate(lines, start=1)}
        for n in range(7):
            texts[f"weekday{n + 1}-name"] = self.words.day_name(_on(self.first_weekday + n))
        texts["set-title"] = (self.set_title,)
        texts |= {TAB_LABEL: NO_TEXT, TAB_NAME: NO_TEXT}
        texts |= {key: self.buyer.get(key, NO_TEXT) for key in BUYER_KEYS}
        if self.first is not None and self.last is not None:
            texts["period-name"] = (self.period.title,)
            texts["period-range"] = distinct(
                self.words.interval(self.first, self.last, skeleton)
                for skeleton in ("yMMMMd", "yMMMd")
            )
        return texts


def _on(weekday: int) -> dt.date:
    """Some day of a weekday, 0 = Monday."""
    return dt.date(2001, 1, 1) + dt.timedelta(days=weekday % 7)


def undated_facts(setting: Setting) -> Facts:
    """The facts of a page without dates."""
    return Facts(
        kind="undated",
        texts=setting.texts(),
        flags=setting.flags(undated=True),
        counts=setting.counts(),
    )


_ALWAYS = r"label-.*|hour\d+|line-of-.*|weekday\d+-name|set-title|buyer-.*"
"""What pages of every kind say, whatever day it is."""


def flap_facts(facts: Facts) -> Facts:
    """The facts of the outside of a flap that lies beside a page: what all pages of a set say."""
    kept = re.compile(rf"{_ALWAYS}|period-(?:name|range)|weekday\d+-weekend")
    return Facts(
        kind="flap",
        texts={key: forms for key, forms in facts.texts.items() if kept.fullmatch(key)},
        flags={
            flag: holds
            for flag, holds in facts.flags.items()
            if flag in ("undated", "dated") or kept.fullmatch(flag)
        },
        counts={
            name: n for name, n in facts.counts.items() if kept.fullmatch(name) or name == "weekday"
        },
    )


def week_facts(setting: Setting, week: Week, place: int, of: int) -> Facts:
    """The facts of a page about ``week``, the one at ``place`` (from 0) ``of`` so many."""
    words = setting.words
    texts = setting.texts()
    flags = setting.flags(undated=False)
    flags |= {"first-week": place == 0, "last-week": place == of - 1}
    flags |= _month_flags(week.middle)
    for n, day in enumerate(week.days, start=1):
        own_texts, own_flags = _day(setting, day)
        texts |= {f"day{n}-{part}": forms for part, forms in own_texts.items()}
        flags |= {f"day{n}-{part}": holds for part, holds in own_flags.items()}
    texts["week-number"] = (words.number(setting.number_of(week)),)
    texts["week-range"] = _week_range(words, week)
    texts |= _month_texts(words, week.middle)
    grid = month_grid(setting, week.middle)
    counts = setting.counts(day=len(week.days))
    moons = _moons(setting, "day", week.days)
    return Facts("week", texts, flags, {"month-grid": grid}, week.days, counts, moons=moons)


def without_dates(facts: Facts) -> Facts:
    """The facts of a page of the same kind in an undated edition: names of weekdays and words stay.

    Everything that a month or a week may have is there: six rows of cells, 31 dates, 12 months.
    """
    kept = re.compile(rf"(?:month\d+-)?(?:day|cell)\d*-name|{_ALWAYS}")
    if facts.kind == "day":  # nobody knows which weekday it will be
        kept = re.compile(_ALWAYS)
    texts = {key: forms if kept.fullmatch(key) else NO_TEXT for key, forms in facts.texts.items()}
    texts |= {"period-name": NO_TEXT, "period-range": NO_TEXT}
    always = re.compile(
        r"(?:month\d+-)?(?:(?:cell|date|day|week)\d+|(?:cell|day|weekday)\d+-(?:weekend|workday))"
    )
    months, flags = facts.counts.get("month", 0), {}
    for flag, holds in facts.flags.items():
        month = re.fullmatch(r"month(\d+)", flag)
        if month is not None:
            flags[flag] = int(month[1]) <= months
        elif flag in BUYER_KEYS:
            flags[flag] = holds
        elif always.fullmatch(flag):
            flags[flag] = holds or not flag.endswith(("-weekend", "-workday"))
        else:
            flags[flag] = False
    flags["undated"] = True
    full = {"cell": 42, "date": MOST_DAYS, "week": 6}
    counts = {
        family: full.get(in_month(family)[1], count) for family, count in facts.counts.items()
    }
    return replace(
        facts, texts=texts, flags=flags, months=dict.fromkeys(facts.months, NO_MONTH),
        dates=(), counts=counts, calendars={}, moons=dict.fromkeys(facts.moons, 1.0),
    )  # fmt: skip


def day_facts(setting: Setting, day: dt.date) -> Facts:
    """The facts of a page about one day: its own keys, and those of its week and month."""
    week = week_with(day, setting.first_weekday)
    facts = week_facts(setting, week, 0, 1)
    texts, flags = _day(setting, day)
    month = _month_texts(setting.words, day)
    grids = {"month-grid": month_grid(setting, day)}
    own = {f"day-{part}": forms for part, forms in texts.items()}
    shown = setting.flags(undated=False)
    shown |= {f"day-{part}": holds for part, holds in flags.items()}
    shown |= _month_flags(day)
    kept = {key: forms for key, forms in facts.texts.items() if not key.startswith("day")}
    (lit,) = _moons(setting, "day", (day,)).values() or (None,)
    moons = dict.fromkeys((MOON_DISC, f"day-{MOON_DISC}"), lit) if setting.almanac else {}
    counts = setting.counts()
    return Facts("day", {**kept, **month, **own}, shown, grids, (day,), counts, moons=moons)


def half_week_facts(
    setting: Setting, week: Week, place: int, of: int, half: int, days: tuple[dt.date, ...]
) -> Facts:
    """The facts of a page about half a week: ``days`` of its first (0) or second (1) ``half``.

    Its days count from 1; a half that is shorter says nothing for its last ones.
    """
    facts = week_facts(setting, week, place, of)
    texts, flags = dict(facts.texts), dict(facts.flags)
    flags |= {"first-half": half == 0, "second-half": half == 1}
    for n in range(1, 8):
        own_texts, own_flags = _day(setting, days[n - 1] if n <= len(days) else None)
        texts |= {f"day{n}-{part}": forms for part, forms in own_texts.items()}
        flags |= {f"day{n}-{part}": holds for part, holds in own_flags.items()}
        flags[f"day{n}"] = n <= len(days)
    counts = setting.counts(day=len(days))
    moons = dict.fromkeys(facts.moons) | _moons(setting, "day", days)
    return Facts("half-week", texts, flags, facts.months, days, counts, moons=moons)


def month_facts(setting: Setting, month: dt.date) -> Facts:
    """The facts of a page about the month that ``month`` is in."""
    held = _dates_of(setting, month)
    return Facts(
        "month",
        setting.texts() | _month_texts(setting.words, month) | held.texts,
        setting.flags(undated=False) | _month_flags(month) | held.flags,
        {"month-grid": month_grid(setting, month)},
        days_from(month.replace(day=1), month_end(month)),
        setting.counts(**held.counts),
        {"": held.cells},
        held.moons,
    )


class _Dates(NamedTuple):
    """What can be said of the dates, the cells and the weeks of a month; ``cells`` are six rows."""

    texts: Texts
    flags: dict[str, bool]
    counts: dict[str, int]
    cells: tuple[dt.date, ...]
    moons: dict[str, float | None]


def _dates_of(setting: Setting, month: dt.date) -> _Dates:
    texts: Texts = {}
    flags: dict[str, bool] = {}
    last = month_end(month).day
    dates = tuple(month.replace(day=n) for n in range(1, last + 1))
    for n in range(1, MOST_DAYS + 1):
        flags[f"date{n}"] = n <= last
        own_texts, own_flags = _day(setting, dates[n - 1] if n <= last else None)
        texts |= {f"date{n}-{part}": forms for part, forms in own_texts.items()}
        flags |= {f"date{n}-{part}": holds for part, holds in own_flags.items()}
    weeks = [Week(row[0]) for row in _rows(setting, month)]
    rows = sum(any(day.month == month.month for day in week.days) for week in weeks)
    cells = tuple(day for week in weeks for day in week.days)
    for n, day in enumerate(cells, start=1):
        within = day.month == month.month
        own_texts, own_flags = _day(setting, day)
        texts |= {f"cell{n}-{part}": forms for part, forms in own_texts.items()}
        flags |= {f"cell{n}-{part}": holds for part, holds in own_flags.items()}
        flags |= {f"cell{n}": within, f"cell{n}-outside": not within}
    for n, week in enumerate(weeks, start=1):
        texts[f"week{n}-number"] = (setting.words.number(setting.number_of(week)),)
        texts[f"week{n}-range"] = _week_range(setting.words, week)
        flags[f"week{n}"] = n <= rows
    moons = dict.fromkeys(_moons(setting, "date", cells[:MOST_DAYS]))
    moons |= _moons(setting, "date", dates) | _moons(setting, "cell", cells)
    return _Dates(texts, flags, {"date": last, "cell": 7 * rows, "week": rows}, cells, moons)


def in_month(key: str) -> tuple[str, str]:
    """A key, or a family, parted into the month that it is of and the rest, on pages that tell the
    dates of several months.

    >>> in_month("month3-cell9-number"), in_month("month3-name"), in_month("cell9-number")
    (('month3-', 'cell9-number'), ('', 'month3-name'), ('', 'cell9-number'))
    """
    match = _IN_MONTH.match(key)
    return (match[0], key[match.end() :]) if match else ("", key)


_IN_MONTH = re.compile(r"month\d+-(?=(?:cell|date|week)(?:\d|$))")


MOON_DISC = "moon-disc"
"""The key of a rectangle or circle that shows the moon."""


def _moons(setting: Setting, family: str, days: Sequence[dt.date]) -> dict[str, float | None]:
    """How the moon is lit on each of some days, by key; empty without an almanac."""
    if setting.almanac is None:
        return {}
    lit = [setting.almanac.of(day).moonlit for day in days]
    return {f"{family}{n}-{MOON_DISC}": share for n, share in enumerate(lit, 1)}


def _day(setting: Setting, day: dt.date | None) -> tuple[Texts, dict[str, bool]]:
    """What a page can say of a day, and what is so about it: by the rest of the key.

    The keys of no day are there and say nothing.
    """
    words, there = setting.words, day is not None
    day = day or dt.date(2000, 1, 1)
    free = setting.is_free(day)
    week = week_with(day, setting.first_weekday)
    texts: Texts = {
        "name": words.day_name(day),
        "number": (words.number(day.day),),
        "month": words.month_name(day),
        "date": distinct(words.date(day, s) for s in ("MMMMd", "MMMd")),
        "of-year": (words.number(day.timetuple().tm_yday),),
        "week-of-year": (words.number(setting.number_of(week)),),
    }
    flags = {"weekend": free, "workday": not free, "month-start": day.day == 1}
    if setting.almanac is not None:
        notes = setting.almanac.of(day)
        texts |= {
            "feast": in_one_line(notes.feasts, words),
            "note": in_one_line(notes.notes, words),
            "moon": (setting.phases[PHASES.index(notes.phase)] if notes.phase else "",),
            "sunrise": (words.time(notes.sunrise) if notes.sunrise else "",),
            "sunset": (words.time(notes.sunset) if notes.sunset else "",),
        }
        flags |= {phase: notes.phase == phase for phase in PHASES}
        flags |= {turn: notes.turn == turn for turn in TURNS}
        flags |= {"feast": bool(notes.feasts), "note": bool(notes.notes)}
    if there:
        return texts, flags
    return dict.fromkeys(texts, NO_TEXT), dict.fromkeys(flags, False)


ALMANAC_PARTS = ("feast", "note", "moon", "sunrise", "sunset", *TURNS, *PHASES, MOON_DISC)
"""What only a season with an almanac knows of a day."""


def in_one_line(said: Sequence[str], words: Words) -> tuple[str, ...]:
    """Several things in one line, and shorter: the first with how many more, then less of that.

    >>> from pipeline.plan.words import words_for
    >>> in_one_line(("Early May Bank Holiday", "Anna"), words_for("en"))
    ('Early May Bank Holiday, Anna', 'Early May Bank Holiday +1', 'Early May Bank… +1', \
'Early May… +1', 'Early… +1')
    >>> in_one_line(("Pfingstmontag",), words_for("de"))
    ('Pfingstmontag', 'Pfingstm…', 'Pfing…')
    >>> in_one_line((), words_for("en"))
    ('',)
    """
    if not said:
        return NO_TEXT
    parts = said[0].split()
    more = f" +{words.number(len(said) - 1)}" if len(said) > 1 else ""
    cut = [" ".join(parts[:count]) + "…" for count in range(len(parts) - 1, 0, -1)]
    cut += [begun + "…" for begun in _beginnings(parts[0])]
    return distinct((", ".join(said), said[0] + more, *(one + more for one in cut)))


def hides_some(said: str, forms: Sequence[str]) -> bool:
    """Whether a form of ``in_one_line`` counts what it doesn't say.

    >>> forms = ("Anna, Onions", "Anna +1")
    >>> hides_some("Anna +1", forms), hides_some("Anna, Onions", forms)
    (True, False)
    """
    return said != forms[0] and re.search(r" \+\d+$", said) is not None


def _beginnings(word: str) -> Iterator[str]:
    """The first letters of a long word, with the signs that belong to them."""
    for count in (8, 5):
        while count < len(word) and unicodedata.category(word[count]).startswith("M"):
            count += 1
        if count < len(word) - 1:
            yield word[:count]


def _week_range(words: Words, week: Week) -> tuple[str, ...]:
    """The days of a week; where its years don't fit, which other texts tell, without them."""
    return distinct(
        words.interval(week.first, week.last, skeleton, in_years=in_years)
        for in_years in (True, False)
        for skeleton in ("MMMMd", "MMMd")
    )


def _rows(setting: Setting, month: dt.date) -> list[list[dt.date]]:
    """The six weeks of a calendar from the one that the month's first day is in."""
    first = week_with(month.replace(day=1), setting.first_weekday).first
    days = days_from(first, first + dt.timedelta(days=41))
    return [list(days[n : n + 7]) for n in range(0, 42, 7)]


def once_facts(setting: Setting) -> Facts:
    """The facts of a page about the whole period: its months, by number from 1."""
    first, last = setting.period.first, setting.period.last
    assert first is not None
    assert last is not None
    return months_facts(setting, "once", months_of(first, last))


def months_facts(setting: Setting, kind: str, months: Sequence[dt.date]) -> Facts:
    """The facts of a page about some months in a row, by number from 1.

    ``kind`` is "quarter", "year" or, for all of the period's, "once".
    """
    words, first, last = setting.words, months[0], months[-1]
    texts = setting.texts()
    one_year = first.year == last.year
    texts["year"] = (words.number(first.year) if one_year else words.interval(first, last, "y"),)
    flags = setting.flags(undated=False)
    flags |= {"one-month": len(months) == 1, "many-months": len(months) > 1}
    flags |= _month_flags(first)
    grids = {}
    counts = setting.counts(month=len(months))
    calendars: dict[str, tuple[dt.date, ...]] = {}
    moons: dict[str, float | None] = {}
    for k in range(1, MOST_MONTHS + 1):
        month = months[k - 1] if k <= len(months) else None
        flags[f"month{k}"] = month is not None
        texts[f"month{k}-name"] = _name_in_row(words, month) if month else NO_TEXT
        texts[f"month{k}-year"] = (words.number(month.year),) if month else NO_TEXT
        grids[f"month{k}-grid"] = (
            month_grid(setting, month, months if kind == "once" else ()) if month else NO_MONTH
        )
    for k, month in enumerate(months if setting.dates_in_months else (), start=1):
        held, within = _dates_of(setting, month), f"month{k}-"
        texts |= {within + key: forms for key, forms in held.texts.items()}
        flags |= {within + flag: holds for flag, holds in held.flags.items()}
        counts |= {within + family: count for family, count in held.counts.items()}
        moons |= {within + key: lit for key, lit in held.moons.items()}
        calendars[within] = held.cells
    dates = () if kind == "once" else days_from(first, month_end(last))
    return Facts(kind, texts, flags, grids, dates, counts, calendars, moons)


def _name_in_row(words: Words, month: dt.date) -> tuple[str, ...]:
    """Its name, its short one and its number: as many for all months, who take the same form."""
    names = words.month_name(month)
    return names[0], names[-1], words.number(month.month)


def month_grid(setting: Setting, month: dt.date, period: Sequence[dt.date] = ()) -> MonthGrid:
    """The small month ``month`` is in: a row a week, from the set's first weekday on.

    On a page about the months of a whole ``period``, days that the set's pages do not show are
    outside, and days of its weeks that belong to no month of the period stand in their weeks.
    """
    words, first_weekday = setting.words, setting.first_weekday
    own = {(one.year, one.month) for one in period}

    def shown(day: dt.date) -> bool:
        first, last = setting.first or day, setting.last or day
        return first <= day <= last

    def cell(day: dt.date) -> DayCell | None:
        beside = own and (day.year, day.month) not in own and shown(day)
        if day.month != month.month and not beside:
            return None
        outside = bool(own) and not shown(day)
        return DayCell(words.number(day.day), setting.is_free(day), day, outside)

    weeks = calendar.Calendar(first_weekday).monthdatescalendar(month.year, month.month)
    rows = tuple(tuple(cell(day) for day in week) for week in weeks)
    numbers = tuple(words.number(setting.number_of(Week(week[0]))) for week in weeks)
    heads = tuple(words.weekday_head((first_weekday + n) % 7) for n in range(7))
    return MonthGrid(heads, rows, numbers)


MONTH_FLAGS = (
    "january", "february", "march", "april", "may", "june", "july", "august", "september",
    "october", "november", "december",
)  # fmt: skip
"""What is shown in one month alone, whatever the page's language."""


def _month_flags(day: dt.date) -> dict[str, bool]:
    """Which month a page is of."""
    return {name: number == day.month for number, name in enumerate(MONTH_FLAGS, 1)}


def _month_texts(words: Words, day: dt.date) -> Texts:
    return {
        "month-name": words.month_name(day),
        "month-number": (words.number(day.month),),
        "year": (words.number(day.year),),
    }
