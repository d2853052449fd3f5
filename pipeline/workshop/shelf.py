"""What lies on the shelf: every set that season files ask for, told without planning a page."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass

from pipeline.desk.desk import WITHOUT_DATES, Heading
from pipeline.plan.languages import language_name, title_in
from pipeline.plan.model import edition_name
from pipeline.plan.season import AS_DRAWN, UNDATED, PeriodEntry, Season, SetEntry
from pipeline.plan.sets import in_words
from pipeline.plan.words import words_for
from pipeline.proof.pictures.proofs import size_name


@dataclass(frozen=True)
class ShelfSet:
    """A set for one period, size, language and colours, on all its papers.

    ``first`` are the templates of its first spread, left and right, or of its first leaf.
    """

    period: str
    period_title: str
    name: str
    title: str
    binder: str
    language: str
    colours: str
    papers: tuple[str, ...]
    first: tuple[str, ...]

    def on(self, paper: str) -> str:
        """What its files for a paper go by, as ``set_name`` of its plan."""
        return edition_name(self.period, self.name, self.binder, paper, self.language)


def sets_of(season: Season) -> Iterator[ShelfSet]:
    """All sets of a season in its plan's order: dated ones by period, then those without dates."""
    for period, entry in season.sets_by_period:
        for colours in season.colours:
            for size in season.sizes:
                for language in season.language:
                    yield _set(season, period, entry, colours, size, language)


ColourTitles = Mapping[str, str | Mapping[str, str]]
"""What a collection calls its sets of colours."""


def headings_on_shelf(season: Season, colours: ColourTitles) -> dict[str, Heading]:
    """What all its sets are called, on every paper, by what their files go by."""
    found = {}
    for one in sets_of(season):
        title = one.title
        if one.colours:
            called = title_in(colours.get(one.colours, ""), one.language)
            title = f"{title} ({called or in_words(one.colours)})"
        for paper in one.papers:
            found[one.on(paper)] = Heading(
                title,
                one.period_title,
                size_name(one.binder),
                size_name(paper),
                language_name(one.language),
            )
    return found


def _set(
    season: Season,
    period: PeriodEntry | None,
    entry: SetEntry,
    colours: str,
    size: str,
    language: str,
) -> ShelfSet:
    title = title_in(entry.title or "", language) or in_words(entry.name)
    return ShelfSet(
        period=period.name if period else UNDATED,
        period_title=period.title_for(words_for(language)) if period else WITHOUT_DATES,
        name=entry.named_in(colours),
        title=title,
        binder=size,
        language=language,
        colours="" if colours == AS_DRAWN else colours,
        papers=tuple(season.papers),
        first=_first(entry),
    )


def _first(entry: SetEntry) -> tuple[str, ...]:
    pairs: Sequence[tuple[str | None, str | None]] = [
        *((one.verso, one.recto) for one in entry.spreads or ()),
        *((one.recto, one.verso) for one in entry.leaves or ()),
    ]
    return tuple(name for name in next(iter(pairs), ()) if name)
