"""What lies on the shelf: every set that season files ask for, told without planning a page."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass

from pipeline.desk.desk import WITHOUT_DATES, Heading
from pipeline.plan.model import edition_name
from pipeline.plan.season import AS_DRAWN, UNDATED, PeriodEntry, Season, SetEntry
from pipeline.plan.sets import ColourTitles, set_title
from pipeline.plan.words import words_for


@dataclass(frozen=True)
class ShelfSet:
    """A set for one period, size, language and colours, on all its papers.

    ``first`` are the templates of its first spread, left and right, or of its first leaf.
    """

    period: str
    period_title: str
    entry: SetEntry
    binder: str
    language: str
    colours: str
    papers: tuple[str, ...]
    first: tuple[str, ...]

    @property
    def title(self) -> str:
        """What it is called, whatever its colours."""
        return set_title(self.entry, AS_DRAWN, {}, self.language)

    def on(self, paper: str) -> str:
        """What its files for a paper go by, as ``set_name`` of its plan."""
        name = self.entry.named_in(self.colours or AS_DRAWN)
        return edition_name(self.period, name, self.binder, paper, self.language)


def sets_of(season: Season) -> Iterator[ShelfSet]:
    """All sets of a season in its plan's order: dated ones by period, then those without dates."""
    for period, entry in season.sets_by_period:
        for colours in season.colours:
            for size in season.sizes:
                for language in season.language:
                    yield _set(season, period, entry, colours, size, language)


def headings_on_shelf(season: Season, colours: ColourTitles) -> dict[str, Heading]:
    """What all its sets are called, on every paper, by what their files go by."""
    found = {}
    for one in sets_of(season):
        title = set_title(one.entry, one.colours or AS_DRAWN, colours, one.language)
        for paper in one.papers:
            found[one.on(paper)] = Heading.of(
                title, one.period_title, one.binder, paper, one.language
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
    return ShelfSet(
        period=period.name if period else UNDATED,
        period_title=period.title_for(words_for(language)) if period else WITHOUT_DATES,
        entry=entry,
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
