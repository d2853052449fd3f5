"""From a set's entry to its spreads, and from spreads to the leaves that follow from them."""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from functools import cache
from itertools import groupby
from pathlib import Path
from typing import Any

from pipeline.base.errors import UserError
from pipeline.plan.calendar import WEEKDAYS, Week, months_of, weeks_of
from pipeline.plan.collection import Collection, Labels
from pipeline.plan.facts import Setting, month_facts, once_facts, undated_facts, week_facts
from pipeline.plan.languages import parents, title_in
from pipeline.plan.model import (
    EFFECT_DPI,
    Binder,
    Binding,
    Facts,
    Leaf,
    Page,
    Period,
    SetPlan,
    Side,
    Spread,
)
from pipeline.plan.season import UNDATED, PeriodEntry, Season, SetEntry, SpreadEntry
from pipeline.plan.tomlfile import read_toml
from pipeline.plan.words import Words


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
) -> SetPlan:
    """One set for one period, size and language; ``period_entry`` is ``None`` for undated sets.

    ``names`` are what the collection calls its templates in that language.
    Raises ``UserError`` for a period in which no week belongs, or a template that is not drawn.
    """
    first_weekday = season.first_weekday_number
    if first_weekday is None or words.asked_weekday is not None:
        first_weekday = words.first_weekday
    title = title_in(entry.title or "", words.language) or in_words(entry.name)
    period = Period(UNDATED, title, None, None)
    weeks: tuple[Week, ...] = ()
    if period_entry is not None:
        first, last = period_entry.first, period_entry.last
        weeks = weeks_of(first, last, season.weeks, first_weekday)
        whole_months = period_entry.from_ is None
        called = title_in(period_entry.title or "", words.language)
        called = called or words.interval(first, last, "yMMMM" if whole_months else "yMMMMd")
        period = Period(period_entry.name, called, first, last)
    by_week = any(spread.per == "week" for spread in entry.spreads or ())
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
        set_title=title,
        period=period,
        first=weeks[0].first if by_week else period.first,
        last=weeks[-1].last if by_week else period.last,
        week_numbers=season.week_numbers,
    )

    said = {**_page_words(words.language)["pages"], **names}

    def name_of(template: str) -> str:
        return said.get(template) or in_words(template)

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
    else:
        facts = once_facts(setting)
        opening = single(entry.opening, Side.RECTO, facts)
        spreads = _spreads(entry.spreads or [], setting, weeks, page, name_of)
        leaves = leaves_of(opening, spreads, single(entry.closing, Side.VERSO, facts))
    return SetPlan(
        name=entry.name,
        title=title,
        period=period,
        binder=binder,
        binding=Binding.RIGHT if words.right_to_left else Binding.LEFT,
        language=words.language,
        spreads=tuple(spreads),
        leaves=leaves,
        bleed_mm=collection.bleed_mm if season.bleed_mm is None else season.bleed_mm,
        drawn_bleed_mm=collection.bleed_mm,
        effect_dpi=max(EFFECT_DPI, season.limits.raster_dpi),
    )


def _spreads(
    entries: Sequence[SpreadEntry],
    setting: Setting,
    weeks: Sequence[Week],
    page: Callable[[str, Side, Facts, str], Page],
    name_of: Callable[[str], str],
) -> list[Spread]:
    """The spreads in reading order: a run with the same ``per`` takes turns, unit by unit."""
    spreads = []
    for per, run in groupby(entries, key=lambda entry: entry.per):
        turns = list(run)
        for facts, unit in _units(per, setting, weeks):
            for turn, entry in enumerate(turns):
                # The first spread of a turn is known by its week alone, the others say what
                # they are as well; so every page of a sheet can be told from its slug line.
                alone = turn == 0 and per != "once"
                verso, recto = (
                    page(name, side, facts, unit if alone else f"{name_of(name)} {unit}".strip())
                    for name, side in ((entry.verso, Side.VERSO), (entry.recto, Side.RECTO))
                )
                spreads.append(Spread(verso, recto))
    return spreads


def _units(per: str, setting: Setting, weeks: Sequence[Week]) -> list[tuple[Facts, str]]:
    """What each turn of a run of spreads is about: its facts, and its words in a slug line."""
    words, first, last = setting.words, setting.period.first, setting.period.last
    assert first is not None
    assert last is not None
    if per == "once":
        return [(once_facts(setting), "")]
    if per == "month":
        months = months_of(first, last)
        return [(month_facts(setting, month), words.date(month, "yMMMM")) for month in months]
    units = []
    number = str(_page_words(words.language)["week"])
    for place, week in enumerate(weeks):
        days = words.interval(week.first, week.last, "MMMd")
        if words.right_to_left:
            # A slug line runs from left to right. Without the marks of an embedding (UAX #9) the
            # figure the days begin with would go to the figure before it, and 27 February would
            # read as February, and 27 as part of the week's number.
            days = f"\N{RIGHT-TO-LEFT EMBEDDING}{days}\N{POP DIRECTIONAL FORMATTING}"
        label = f"{number.format(number=setting.number_of(week))} {days}"
        units.append((week_facts(setting, week, place, len(weeks)), label))
    return units


@cache
def _page_words(language: str) -> Mapping[str, Any]:
    """What the program itself says of pages, in a language or the nearest one it has words in."""
    words = read_toml(Path(__file__).with_name("pagewords.toml")).data
    return next(words[name] for name in (*parents(language), "en") if name in words)


def in_words(name: str) -> str:
    """A file name as words.

    >>> in_words("sowing-list")
    'sowing list'
    """
    return name.replace("-", " ").replace("_", " ")
