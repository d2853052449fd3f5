"""Plan: from the season file, the calendar and the sizes to sets of spreads of dated pages."""

from __future__ import annotations

import datetime as dt
from collections.abc import Mapping
from dataclasses import dataclass, replace
from pathlib import Path

from pipeline.base.errors import UserError, did_you_mean
from pipeline.plan.almanac import Almanac, almanac_of
from pipeline.plan.collection import Collection, labels_by_language, load_collection
from pipeline.plan.model import Buyer, Paper, SetPlan
from pipeline.plan.season import AS_DRAWN, Printer, Season, load_season
from pipeline.plan.sets import plan_set
from pipeline.plan.sizes import Sizes, load_sizes, users_sizes_file
from pipeline.plan.words import words_for

__all__ = ["SeasonPlan", "plan_season", "planned"]


@dataclass(frozen=True)
class SeasonPlan:
    """All that is to be made: every set for its periods, sizes and languages, and on what paper."""

    season: Season
    collection: Collection
    sizes: Sizes
    papers: tuple[Paper, ...]
    printer: Printer
    sets: tuple[SetPlan, ...]


def plan_season(path: Path, only: str | None = None, language: str | None = None) -> SeasonPlan:
    """The plan of the season file at ``path``; ``only`` keeps the set of that name.

    With ``language`` only the sets in that are planned.

    Dated sets come period by period in the file's order, undated ones once, after them.
    Raises ``UserError`` for whatever in the season, its sizes or its collection is wrong.
    """
    return planned(load_season(path), path, only, language)


def planned(
    season: Season,
    path: Path,
    only: str | None = None,
    language: str | None = None,
    buyer: Buyer | None = None,
) -> SeasonPlan:
    """The plan of a season that was read from ``path``, as ``plan_season`` has it.

    With ``buyer`` it is made to order for somebody.
    """
    names = [entry.name for entry in season.set]
    if only is not None and only not in names:
        raise UserError(f"set '{only}'", f"is not in {path}", did_you_mean(only, names))
    sizes = load_sizes(users_sizes_file(path))
    collection = load_collection(season.collection, path)
    for name in season.colours:
        if name != AS_DRAWN and name not in collection.colours:
            what = f"collection '{collection.name}' has no colours '{name}'"
            known = (AS_DRAWN, *collection.colours)
            raise UserError(f"{path}, colours", what, did_you_mean(name, known))
        if twice := {f"{one}-{name}" for one in names} & set(names):
            what = f"the set '{twice.pop()}' is called like another one in the colours '{name}'"
            raise UserError(f"{path}, set", what, "give the set another name")
    spoken = [one for one in season.language if language in (None, one)]
    languages = [words_for(one) for one in spoken]
    labels = labels_by_language(collection, spoken, season.label_fallback)
    called = {one: collection.template_names(one) for one in spoken}
    press = season.press.as_press(path) if "press" in season.editions else None
    own = buyer.days if buyer else {}
    almanacs = {one: _almanac(season, one, path, own) for one in spoken}
    sets = tuple(
        plan_set(
            entry,
            period,
            season,
            collection,
            sizes.binder(size),
            words,
            labels[words.language],
            called[words.language],
            str(path),
            colours,
            almanacs[words.language],
            press,
            buyer,
        )
        for period, entry in season.sets_by_period
        if only in (None, entry.name)
        for colours in season.colours
        for size in season.sizes
        for words in languages
    )
    papers = tuple(sizes.paper(name) for name in season.papers)
    return SeasonPlan(season, collection, sizes, papers, season.printer, sets)


def _almanac(
    season: Season, language: str, path: Path, own: Mapping[dt.date, tuple[str, ...]]
) -> Almanac | None:
    """What is known of the days that a season's pages can show, those beside its months too.

    A buyer's ``own`` come before the maker's.
    """
    if season.almanac is None or not season.period:
        return None
    around = dt.timedelta(days=45)
    first = min(period.first for period in season.period) - around
    last = max(period.last for period in season.period) + around
    almanac = almanac_of(season.almanac, language, first, last, path)
    days = {day: (*names, *almanac.own.get(day, ())) for day, names in own.items()}
    return replace(almanac, own={**almanac.own, **days})
