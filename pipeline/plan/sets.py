"""From a set's entry to its spreads, and from spreads to the leaves that follow from them."""

from __future__ import annotations

import datetime as dt
import re
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, replace
from functools import cache
from itertools import groupby
from pathlib import Path
from typing import Any, NamedTuple

from pipeline.base.errors import UserError
from pipeline.plan.almanac import SOURCES, Almanac
from pipeline.plan.calendar import WEEKDAYS, Week, days_from, months_of, week_with, weeks_of
from pipeline.plan.collection import Collection, Labels
from pipeline.plan.facts import (
    Setting,
    day_facts,
    half_week_facts,
    month_facts,
    months_facts,
    once_facts,
    undated_facts,
    week_facts,
    without_dates,
)
from pipeline.plan.languages import parents, title_in
from pipeline.plan.model import (
    EFFECT_DPI,
    Binder,
    Binding,
    Buyer,
    Facts,
    Leaf,
    Page,
    Period,
    Press,
    SetPlan,
    Side,
    Spread,
)
from pipeline.plan.season import (
    AS_DRAWN,
    LENGTHS,
    UNDATED,
    PeriodEntry,
    Season,
    SetEntry,
    SpreadEntry,
)
from pipeline.plan.tabs import spreads_again, with_tabs
from pipeline.plan.tomlfile import read_toml
from pipeline.plan.words import Words, words_for


def leaves_of(
    opening: Page | None, spreads: Sequence[Spread], closing: Page | None
) -> tuple[Leaf, ...]:
    """The leaves that carry the spreads: n spreads make n + 1 leaves.

    A spread is the verso of one leaf and the recto of the next, so leaf i has spread i - 1's
    recto in front and spread i's verso behind; the opening page is the first leaf's front, the
    closing page the last one's back.
    """
    fronts = [opening, *(spread.recto for spread in spreads)]
    backs = [*(spread.verso for spread in spreads), closing]
    return tuple(Leaf(front, back) for front, back in zip(fronts, backs, strict=True))


ColourTitles = Mapping[str, str | Mapping[str, str]]
"""What a collection calls its sets of colours."""


def set_title(entry: SetEntry, colours: str, titles: ColourTitles, language: str) -> str:
    """What a set is called in a language; one in other colours than the drawings' own tells them.

    ``titles`` are those of the collection's colours, as far as they are known.
    """
    title = title_in(entry.title or "", language) or in_words(entry.name)
    if colours == AS_DRAWN:
        return title
    return f"{title} ({title_in(titles.get(colours, ''), language) or in_words(colours)})"


def plan_set(
    entry: SetEntry,
    period_entry: PeriodEntry | None,
    season: Season,
    collection: Collection,
    binder: Binder,
    words: Words,
    labels: Labels,
    names: Mapping[str, str],
    season_file: str,
    colours: str = AS_DRAWN,
    almanac: Almanac | None = None,
    press: Press | None = None,
    buyer: Buyer | None = None,
) -> SetPlan:
    """One set for one period, size and language; ``period_entry`` is ``None`` for undated sets.

    ``names`` are what the collection calls its templates in that language. In other ``colours``
    than the drawings' own it is a set of its own, whose name and title tell them. ``buyer`` is
    whom it is made to order for.
    Raises ``UserError`` for a period in which no week belongs, or a template that is not drawn.
    """
    first_weekday = season.first_weekday_number
    if first_weekday is None or words.asked_weekday is not None:
        first_weekday = words.first_weekday
    title = set_title(entry, colours, collection.colour_titles, words.language)
    period = Period(UNDATED, title, None, None)
    weeks: tuple[Week, ...] = ()
    if period_entry is not None:
        first, last = period_entry.first, period_entry.last
        weeks = weeks_of(first, last, season.weeks, first_weekday)
        period = Period(period_entry.name, period_entry.title_for(words), first, last)
    by_week = entry.is_dated and any(
        spread.per in ("week", "half-week") for spread in entry.spreads or ()
    )
    if by_week and not weeks:
        raise UserError(
            f"{season_file}, period.{period.name}",
            f"is empty for set '{entry.name}': by the policy '{season.weeks}' no week from"
            f" {WEEKDAYS[first_weekday].title()} belongs to {period.first} to {period.last}",
            'lengthen it, or set weeks = "touches"',
        )
    setting = Setting(
        words=words,
        first_weekday=first_weekday,
        labels=labels,
        set_title=set_title(entry, AS_DRAWN, {}, words.language),
        period=period,
        first=weeks[0].first if by_week else period.first,
        last=weeks[-1].last if by_week else period.last,
        week_numbers=season.week_numbers,
        lists=collection.lists(words.language),
        almanac=almanac,
        phases=tuple(_page_words(words.language)["moon"]),
        dates_in_months=collection.tells_dates_in_months(binder.name, entry.templates),
        buyer=buyer.texts if buyer else {},
    )

    said = {**_page_words(words.language)["pages"], **names}

    def name_of(template: str) -> str:
        return said.get(template) or in_words(_FACE.sub("", template))

    def page(template: str, side: Side, facts: Facts, label: str) -> Page:
        collection.template_path(binder.name, template)  # a missing drawing is better known now
        return Page(template, side, facts, label, collection.flap_mm(binder.name, template))

    def single(template: str | None, side: Side, facts: Facts) -> Page | None:
        return page(template, side, facts, name_of(template)) if template else None

    if entry.leaves is not None:
        facts = undated_facts(setting)
        spreads: list[Spread] = []
        leaves = tuple(
            Leaf(single(leaf.recto, Side.RECTO, facts), single(leaf.verso, Side.VERSO, facts))
            for leaf in entry.leaves
        )
    elif period_entry is None:
        facts = without_dates(once_facts(replace(setting, period=_ANY_YEAR)))
        opening = single(entry.opening, Side.RECTO, facts)
        spreads = _undated_spreads(entry, replace(setting, period=_ANY_YEAR), page, name_of)
        leaves = leaves_of(opening, spreads, single(entry.closing, Side.VERSO, facts))
    else:
        facts = once_facts(setting)
        opening = single(entry.opening, Side.RECTO, facts)
        spreads = _spreads(entry.spreads or [], setting, weeks, page, name_of)
        leaves = leaves_of(opening, spreads, single(entry.closing, Side.VERSO, facts))
    in_file = f"{season_file}, set.{entry.name}"
    backed = leaves
    if entry.flap_backs:
        backed = _with_flap_backs(leaves, entry, page, facts, name_of, in_file)
    tabbed = with_tabs(entry, backed, setting, in_file)
    return SetPlan(
        name=entry.named_in(colours),
        title=title,
        period=period,
        binder=binder,
        binding=Binding.RIGHT if words.right_to_left else Binding.LEFT,
        language=words.language,
        spreads=spreads_again(spreads, leaves, tabbed),
        leaves=tabbed,
        bleed_mm=collection.bleed_mm if season.bleed_mm is None else season.bleed_mm,
        drawn_bleed_mm=collection.bleed_mm,
        colours=collection.colours.get(colours),
        sources=SOURCES if almanac is not None else "",
        holes_inside=season.marks == "holes-inside",
        effect_dpi=max(EFFECT_DPI, season.limits.raster_dpi),
        screen=season.for_screen,
        press=press,
    )


class RunLine(NamedTuple):
    """A line of a set's run: a spread, or a page that faces none. Leaves count from 1.

    ``tab`` tells which step the tab of the recto's leaf is on, ``about`` says in English which
    days its pages are about.
    """

    spread: str
    verso_leaf: str
    verso: str
    recto_leaf: str
    recto: str
    tab: str
    about: str


def run_of(plan: SetPlan) -> tuple[RunLine, ...]:
    """A set's run as one leafs through it: its opening page, its spreads, its closing page.

    Single leaves come one by one, their fronts first.
    """
    if not plan.spreads:
        return tuple(
            line
            for number, leaf in enumerate(plan.leaves, 1)
            for line in (
                _run_line("", number, None, number, leaf.recto),
                _run_line("", number, leaf.verso, number, None),
            )
            if line.verso or line.recto
        )
    last = len(plan.leaves)
    spreads = [
        _run_line(f"{number}", number, spread.verso, number + 1, spread.recto)
        for number, spread in enumerate(plan.spreads, 1)
    ]
    ends = (
        _run_line("", 0, None, 1, plan.leaves[0].recto),
        _run_line("", last, plan.leaves[-1].verso, 0, None),
    )
    lines = (ends[0], *spreads, ends[1])
    return tuple(line for line in lines if line.verso or line.recto)


def _run_line(
    spread: str, verso_leaf: int, verso: Page | None, recto_leaf: int, recto: Page | None
) -> RunLine:
    pages = [page for page in (verso, recto) if page is not None]
    tab = recto.tab if recto else None
    return RunLine(
        spread,
        f"{verso_leaf}" if verso else "",
        verso.drawing if verso else "",
        f"{recto_leaf}" if recto else "",
        recto.drawing if recto else "",
        f"{tab.at} of {tab.of}" if tab and tab.at else "",
        _about(pages),
    )


def _about(pages: Sequence[Page]) -> str:
    """What pages are about, in English: "week 9, 1 – 7 March 2027"."""
    days = [day for page in pages for day in page.facts.dates]
    if not days:
        undated = any(page.facts.flags.get("undated") for page in pages)
        return "no dates" if undated else "the whole period" if pages else ""
    said = words_for("en-GB").interval(min(days), max(days), "yMMMMd")
    facts = pages[0].facts
    week = int(facts.texts["week-number"][0]) if "week" in facts.kind else 0  # in any figures
    return f"week {week}, {said}" if week else said


def _with_flap_backs(
    leaves: Sequence[Leaf],
    entry: SetEntry,
    page: Callable[[str, Side, Facts, str], Page],
    facts: Facts,
    name_of: Callable[[str], str],
    where: str,
) -> tuple[Leaf, ...]:
    """The leaves with the outside of their flaps, each on the face that its flap does not fold
    over. Where that has a flap of its own, its page is drawn with the outside.

    Raises UserError where that is so everywhere, or where there is no flap.
    """

    def behind(own: Page | None, back: Page | None, side: Side) -> Page | None:
        name = entry.flap_back_of(own.template) if own and own.flap_mm else ""
        if own is None or not name or (back is not None and back.flap_mm):
            return back
        back = back or page(name, side, facts, name_of(name))
        return replace(back, flap_back=name, back_mm=own.flap_mm)

    backed = tuple(
        Leaf(behind(leaf.verso, leaf.recto, Side.RECTO), behind(leaf.recto, leaf.verso, Side.VERSO))
        for leaf in leaves
    )
    if backed == tuple(leaves):
        what = "has 'flap_back', but none of its flaps has an outside that isn't drawn yet"
        remedy = "a page says in collection.toml that it has a flap; two back to back are drawn"
        raise UserError(where, what, f"{remedy} on both pages: see docs/templates.md")
    return backed


@dataclass(frozen=True)
class _Unit:
    """What one turn of spreads is about: its facts, its words in a slug line, its first day."""

    facts: Facts
    label: str
    first: dt.date


def _spreads(
    entries: Sequence[SpreadEntry],
    setting: Setting,
    weeks: Sequence[Week],
    page: Callable[[str, Side, Facts, str], Page],
    name_of: Callable[[str], str],
) -> list[Spread]:
    """The spreads in reading order.

    Spreads for days, weeks, months and longer times come in the order of their first days, the
    longer time first; a month's before the first week that begins in it. Those for equal times
    take turns. What comes once in a set divides it: all before it comes before.
    """
    spreads = []

    def labelled(name: str, unit: _Unit, *, alone: bool) -> str:
        # The first spread of a turn is known by its time alone, the others say what they are as
        # well; so every page of a sheet can be told from its slug line.
        return unit.label if alone else f"{name_of(name)} {unit.label}".strip()

    for once, run in groupby(entries, key=lambda entry: entry.per == "once"):
        if once:
            unit = _Unit(once_facts(setting), "", dt.date.min)
            turns: list[_Turn] = [(entry, unit, unit, False) for entry in run]
        else:
            turns = _in_turn(list(run), setting, weeks)
        for entry, first, second, alone in turns:
            verso = page(
                entry.verso, Side.VERSO, first.facts, labelled(entry.verso, first, alone=alone)
            )
            recto = None
            if second is not None:
                label = labelled(entry.recto, second, alone=alone)
                recto = page(entry.recto, Side.RECTO, second.facts, label)
            spreads.append(Spread(verso, recto))
    return spreads


_ANY_YEAR = Period(UNDATED, "", dt.date(2001, 1, 1), dt.date(2001, 12, 31))
"""The year that pages without dates are taken from. Nothing of it is printed."""

_HELD = {"day": 1, "half-week": 4, "week": 7, "month": 35, "quarter": 105, "year": 420}
"""How long each time counts where there are no dates, in days: a month is five weeks."""


def _undated_spreads(
    entry: SetEntry,
    setting: Setting,
    page: Callable[[str, Side, Facts, str], Page],
    name_of: Callable[[str], str],
) -> list[Spread]:
    """The spreads of an edition without dates: its longest time as often as asked, and within it
    the shorter ones."""
    assert entry.count is not None
    dated = [one for one in entry.spreads or () if one.per != "once"]
    longest = max((_HELD[one.per] for one in dated), default=1)
    facts = {one.per: _any_facts(one.per, setting) for one in entry.spreads or ()}
    found: list[tuple[int, int, int, Spread]] = []
    for turn, one in enumerate(entry.spreads or ()):
        once = one.per == "once"
        length = 0 if once else _HELD[one.per] * (2 if one.each_page else 1)
        times = 1 if once else entry.count * longest // length // one.every
        for number in range(max(times, 1)):
            verso, recto = (
                page(
                    name,
                    side,
                    facts[one.per][number % len(facts[one.per])],
                    f"{name_of(name)} {number + 1}",
                )
                for name, side in ((one.verso, Side.VERSO), (one.recto, Side.RECTO))
            )
            first = ((number + 1) * one.every - 1) * length
            after = once and any(other in dated for other in (entry.spreads or ())[:turn])
            place = entry.count * longest if after else first
            found.append((place, -length, turn, Spread(verso, recto)))
    return [spread for *_, spread in sorted(found, key=lambda one: one[:3])]


def _any_facts(per: str, setting: Setting) -> list[Facts]:
    """What pages without dates can say, for a time of some length: the halves of a week in turn."""
    assert setting.period.first is not None
    start = setting.period.first
    week = week_with(start, setting.first_weekday)
    months = months_of(start, setting.period.last or start)
    halves = list(enumerate(_halves(week)))
    made: dict[str, Callable[[], list[Facts]]] = {
        "day": lambda: [day_facts(setting, start)],
        "half-week": lambda: [half_week_facts(setting, week, 0, 1, *half) for half in halves],
        "week": lambda: [week_facts(setting, week, 0, 1)],
        "month": lambda: [month_facts(setting, start)],
        "quarter": lambda: [months_facts(setting, per, months[:3])],
        "year": lambda: [months_facts(setting, per, months)],
        "once": lambda: [once_facts(setting)],
    }
    return [without_dates(facts) for facts in made[per]()]


def _halves(week: Week) -> tuple[tuple[dt.date, ...], ...]:
    """The days of the two halves of a week: three, and four with the weekend (by eye)."""
    return week.days[:3], week.days[3:]


_Turn = tuple[SpreadEntry, _Unit, _Unit | None, bool]
"""A spread: its entry, what its verso and its recto are about, and whether it leads its turn."""


def _in_turn(
    entries: Sequence[SpreadEntry], setting: Setting, weeks: Sequence[Week]
) -> list[_Turn]:
    """A run of dated spreads in the order of their days."""
    by_length = sorted({entry.per for entry in entries}, key=LENGTHS.index, reverse=True)
    start = setting.period.first
    assert start is not None
    found: list[tuple[tuple[dt.date, int, int, int], _Turn]] = []
    for rank, per in enumerate(by_length):
        units = _units(per, setting, weeks)
        for turn, entry in enumerate(one for one in entries if one.per == per):
            step = 2 if entry.each_page else 1
            for number in range(0, len(units), step * entry.every):
                # Of every so many, the last: a list after every second week.
                at = number + step * (entry.every - 1)
                if at >= len(units):
                    break
                first = units[at]
                second = (units[at + 1] if at + 1 < len(units) else None) if step == 2 else first
                key = (max(first.first, start), rank, at, turn)
                found.append((key, (entry, first, second, turn == 0)))
    found.sort(key=lambda one: one[0])
    return [turn for _, turn in found]


def _units(per: str, setting: Setting, weeks: Sequence[Week]) -> list[_Unit]:
    """All times of one length that a set is about, in order."""
    words, first, last = setting.words, setting.first, setting.last
    assert first is not None
    assert last is not None
    months = months_of(setting.period.first or first, setting.period.last or last)
    if per == "month":
        return [
            _Unit(month_facts(setting, month), words.date(month, "yMMMM"), month)
            for month in months
        ]
    if per in ("quarter", "year"):
        held = groupby(months, key=lambda month: (month.year, (month.month - 1) // 3))
        if per == "year":
            held = groupby(months, key=lambda month: (month.year, 0))
        runs = [list(run) for _, run in held]
        skeleton = "yMMM" if per == "quarter" else "y"
        return [
            _Unit(
                months_facts(setting, per, run), words.interval(run[0], run[-1], skeleton), run[0]
            )
            for run in runs
        ]
    if per == "day":
        days = days_from(first, last)
        return [_Unit(day_facts(setting, day), words.date(day, "MMMEd"), day) for day in days]
    units = []
    number = str(_page_words(words.language)["week"])
    for place, week in enumerate(weeks):
        parts = _halves(week) if per == "half-week" else (week.days,)
        for half, days in enumerate(parts):
            said = words.interval(days[0], days[-1], "MMMd")
            if words.right_to_left:
                # A slug line runs from left to right. Without the marks of an embedding (UAX #9)
                # the figure the days begin with would go to the figure before it, and 27 February
                # would read as February, and 27 as part of the week's number.
                said = f"\N{RIGHT-TO-LEFT EMBEDDING}{said}\N{POP DIRECTIONAL FORMATTING}"
            label = f"{number.format(number=setting.number_of(week))} {said}"
            facts = week_facts(setting, week, place, len(weeks))
            if per == "half-week":
                facts = half_week_facts(setting, week, place, len(weeks), half, days)
            units.append(_Unit(facts, label, days[0]))
    return units


@cache
def _page_words(language: str) -> Mapping[str, Any]:
    """What the program itself says of pages, in a language or the nearest one it has words in."""
    words = read_toml(Path(__file__).with_name("pagewords.toml")).data
    return next(words[name] for name in (*parents(language), "en") if name in words)


_FACE = re.compile(r"-(verso|recto|left|right)$")
"""What the name of a template ends in that buyers need not read."""


def in_words(name: str) -> str:
    """A file name as words.

    >>> in_words("sowing-list")
    'sowing list'
    """
    return name.replace("-", " ").replace("_", " ")
