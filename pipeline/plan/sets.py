"""From a set's entry to its spreads, and from spreads to the leaves that follow from them."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from functools import partial
from itertools import groupby

from pipeline.base.errors import UserError
from pipeline.plan.calendar import WEEKDAYS, Week, months_of, weeks_of
from pipeline.plan.collection import Collection
from pipeline.plan.facts import Setting, month_facts, once_facts, undated_facts, week_facts
from pipeline.plan.labels import Labels
from pipeline.plan.model import (
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
from pipeline.plan.titles import title_in
from pipeline.plan.words import Words


@dataclass(frozen=True)
class _Unit:
    """What one turn of a run of spreads is about: its facts and its words in a slug line."""

    facts: Facts
    label: str


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
    season_file: str,
) -> SetPlan:
    """One set for one period, size and language; ``period_entry`` is ``None`` for undated sets.

    Raises ``UserError`` for a period in which no week belongs, or a template that is not drawn.
    """
    first_weekday = season.first_weekday_number
    if first_weekday is None or words.asked_weekday is not None:
        first_weekday = words.first_weekday
    title = title_in(entry.title or "", words.language) or _in_words(entry.name)
    if period_entry is None:
        period = Period(UNDATED, title, None, None)
        weeks: tuple[Week, ...] = ()
    else:
        period = Period(
            period_entry.name,
            title_in(period_entry.title or "", words.language)
            or _period_title(period_entry, words),
            period_entry.first,
            period_entry.last,
        )
        weeks = weeks_of(period_entry.first, period_entry.last, season.weeks, first_weekday)
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
    )
    page = partial(_page, collection, binder)
    if entry.leaves is not None:
        facts = undated_facts(setting)
        spreads: tuple[Spread, ...] = ()
        leaves = tuple(
            Leaf(
                page(leaf.recto, Side.RECTO, facts, _in_words(leaf.recto)) if leaf.recto else None,
                page(leaf.verso, Side.VERSO, facts, _in_words(leaf.verso)) if leaf.verso else None,
            )
            for leaf in entry.leaves
        )
    else:
        once = once_facts(setting)
        units = {
            "week": lambda: _week_units(setting, weeks),
            "month": lambda: _month_units(setting),
            "once": lambda: [_Unit(once, "")],
        }
        spreads = _spreads(entry.spreads or [], units, page)
        leaves = leaves_of(
            page(entry.opening, Side.RECTO, once, _in_words(entry.opening))
            if entry.opening
            else None,
            spreads,
            page(entry.closing, Side.VERSO, once, _in_words(entry.closing))
            if entry.closing
            else None,
        )
    return SetPlan(
        name=entry.name,
        title=title,
        period=period,
        binder=binder,
        binding=Binding.RIGHT if words.right_to_left else Binding.LEFT,
        language=words.language,
        spreads=spreads,
        leaves=leaves,
    )


def _spreads(
    entries: Sequence[SpreadEntry],
    units: dict[str, Callable[[], list[_Unit]]],
    page: Callable[[str, Side, Facts, str], Page],
) -> tuple[Spread, ...]:
    """The spreads in reading order: a run with the same ``per`` takes turns, unit by unit."""
    spreads = []
    for per, run in groupby(entries, key=lambda entry: entry.per):
        turns = list(run)
        for unit in units[per]():
            for turn, entry in enumerate(turns):
                # The first spread of a turn is known by its week alone, the others say what
                # they are as well; so every page of a sheet can be told from its slug line.
                alone = turn == 0 and per != "once"
                spreads.append(
                    Spread(
                        page(entry.verso, Side.VERSO, unit.facts, _label(entry.verso, unit, alone)),
                        page(entry.recto, Side.RECTO, unit.facts, _label(entry.recto, unit, alone)),
                    )
                )
    return tuple(spreads)


def _page(
    collection: Collection, binder: Binder, template: str, side: Side, facts: Facts, label: str
) -> Page:
    collection.template_path(binder.name, template)  # a missing drawing is better known now
    return Page(template, side, facts, label, collection.flap_mm(binder.name, template))


def _week_units(setting: Setting, weeks: Sequence[Week]) -> list[_Unit]:
    words = setting.words
    return [
        _Unit(
            week_facts(setting, week, place, len(weeks)),
            f"W{week.number:02d} "
            + _kept_together(words, words.interval(week.first, week.last, "MMMd")),
        )
        for place, week in enumerate(weeks)
    ]


def _month_units(setting: Setting) -> list[_Unit]:
    first, last = setting.period.first, setting.period.last
    assert first is not None
    assert last is not None
    return [
        _Unit(month_facts(setting, month), setting.words.date(month, "yMMMM"))
        for month in months_of(first, last)
    ]


def _kept_together(words: Words, text: str) -> str:
    """A text from right to left as it must stand in a slug line, which runs from left to right.

    Without the marks of an embedding (UAX #9) the figure it begins with would go to the figure
    before it, and 27 February would read as February, and 27 as part of the week's number.
    """
    if not words.right_to_left:
        return text
    return f"\N{RIGHT-TO-LEFT EMBEDDING}{text}\N{POP DIRECTIONAL FORMATTING}"


def _label(template: str, unit: _Unit, alone: bool) -> str:
    return unit.label if alone else f"{_in_words(template)} {unit.label}".strip()


def _period_title(entry: PeriodEntry, words: Words) -> str:
    """What people call the period: its month, its run of months, or its days."""
    whole = entry.month is not None or entry.months is not None
    return words.interval(entry.first, entry.last, "yMMMM" if whole else "yMMMMd")


def _in_words(name: str) -> str:
    """A file name as words.

    >>> _in_words("sowing-list")
    'sowing list'
    """
    return name.replace("-", " ").replace("_", " ")
