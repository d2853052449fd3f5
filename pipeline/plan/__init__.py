"""Plan: from the season file, the calendar and the sizes to sets of spreads of dated pages."""

from __future__ import annotations

from dataclasses import dataclass
from pathlib import Path

from pipeline.base.errors import UserError, did_you_mean
from pipeline.plan.collection import Collection, labels_by_language, load_collection
from pipeline.plan.model import Paper, SetPlan
from pipeline.plan.season import Printer, Season, load_season
from pipeline.plan.sets import plan_set
from pipeline.plan.sizes import Sizes, load_sizes, users_sizes_file
from pipeline.plan.words import words_for

__all__ = ["SeasonPlan", "plan_season"]


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
    season = load_season(path)
    names = [entry.name for entry in season.set]
    if only is not None and only not in names:
        raise UserError(f"set '{only}'", f"is not in {path}", did_you_mean(only, names))
    wanted = [entry for entry in season.set if only in (None, entry.name)]
    sizes = load_sizes(users_sizes_file(path))
    collection = load_collection(season.collection, path)
    spoken = [one for one in season.language if language in (None, one)]
    languages = [words_for(one) for one in spoken]
    labels = labels_by_language(collection, spoken, season.label_fallback)
    called = {one: collection.template_names(one) for one in spoken}
    jobs = [(period, entry) for period in season.period for entry in wanted if entry.spreads]
    jobs_undated = [(None, entry) for entry in wanted if entry.leaves]
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
        )
        for period, entry in (*jobs, *jobs_undated)
        for size in season.sizes
        for words in languages
    )
    papers = tuple(sizes.paper(name) for name in season.papers)
    return SeasonPlan(season, collection, sizes, papers, season.printer, sets)
