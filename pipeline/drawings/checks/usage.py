"""How a template is used: its collection, its binder, the pages a season makes of it, its keys."""

from __future__ import annotations

import datetime as dt
import functools
import re
from collections.abc import Collection as Several
from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass, replace
from pathlib import Path

from lxml import etree

from pipeline.base.errors import UserError
from pipeline.fill.repeats import each_of
from pipeline.fill.template import open_template, read_template
from pipeline.plan.almanac import Almanac, AlmanacEntry
from pipeline.plan.calendar import Week, months_of
from pipeline.plan.collection import Collection, load_collection
from pipeline.plan.facts import (
    PAGES,
    Setting,
    day_facts,
    flap_facts,
    half_week_facts,
    line_of,
    month_facts,
    months_facts,
    once_facts,
    undated_facts,
    week_facts,
)
from pipeline.plan.model import Binder, Facts, Period, Side
from pipeline.plan.season import Season, load_season
from pipeline.plan.sizes import Sizes, load_sizes, users_sizes_file
from pipeline.plan.words import words_for
from pipeline.svg.tree import names

KINDS = tuple(PAGES)

NUMBERED = re.compile(r"(day|date|month)(\d+)-(.+)")
"""A key of which there is one for each day or month: its family, number and part."""


@functools.cache
def facts_of_kind(kind: str, *, dates_in_months: bool = False) -> Facts:
    """The facts of a page of a kind, for some week, month or period, without labels.

    Those of a page about several months tell each date of them where that is asked for.
    """
    first, last = dt.date(2027, 3, 1), dt.date(2027, 3, 31)
    period = Period("march", "March", first, dt.date(2029, 2, 28) if dates_in_months else last)
    almanac = Almanac(AlmanacEntry(), "en")
    setting = Setting(
        words_for("en"), 0, {}, "", period, first, last, almanac=almanac,
        dates_in_months=dates_in_months,
    )  # fmt: skip
    if kind == "undated":
        return undated_facts(Setting(words_for("en"), 0, {}, "", Period(kind, "", None, None)))
    week = Week(first)
    return {
        "flap": lambda: flap_facts(once_facts(setting)),
        "day": lambda: day_facts(setting, first),
        "half-week": lambda: half_week_facts(setting, week, 0, 1, 1, week.days[3:]),
        "week": lambda: week_facts(setting, week, 0, 1),
        "month": lambda: month_facts(setting, first),
        "quarter": lambda: months_facts(setting, kind, months_of(first, dt.date(2027, 5, 1))),
        "year": lambda: months_facts(setting, kind, months_of(first, dt.date(2028, 2, 1))),
        "once": lambda: once_facts(setting),
    }[kind]()


def facts_drawn(usage: Usage, kind: str, root: etree._Element) -> Facts:
    """The facts that the samples of a template, of which this is the ``root``, are repeated for:
    those of a kind, with as many months as the longest period has, and with the lines of the
    collection's lists."""
    facts = facts_of_kind(kind, dates_in_months=any(map(_holds_dates, root.iter())))
    counts = dict(facts.counts)
    if kind == "once":
        counts["month"] = max([1, *(use.months for use in usage.uses if use.kind == kind)])
    texts = dict(facts.texts)
    if usage.collection is not None:
        for name, count in usage.collection.list_lengths.items():
            counts[line_of(name)] = count
            texts |= {f"{line_of(name)}{n}": ("",) for n in range(1, count + 1)}
    return replace(facts, texts=texts, counts=counts)


def _holds_dates(element: etree._Element) -> bool:
    """Whether it is a sample for months that holds one for dates or weeks."""

    def repeats(one: etree._Element, *what: str) -> bool:
        return any(each.inner in what for each in map(each_of, names(one)) if each is not None)

    return repeats(element, "month") and any(
        repeats(one, "date", "week") for one in element.iterdescendants()
    )


def keys_of_kind(kind: str) -> frozenset[str]:
    """Ids of texts and small months that a page of a kind can hold, labels left out.

    >>> "day7-name" in keys_of_kind("week"), "day8-name" in keys_of_kind("week")
    (True, False)
    """
    facts = facts_of_kind(kind)
    return frozenset((*facts.texts, *facts.months))


ALL_KEYS = frozenset(key for kind in KINDS for key in keys_of_kind(kind))


def guessed_kind(names: Several[str]) -> str:
    """The kind of page that the names on it speak of.

    >>> guessed_kind(["day1-name", "month-name"]), guessed_kind(["label-notes"])
    ('week', 'undated')
    >>> guessed_kind(["each-date", "date-number"]), guessed_kind(["each-month", "month-name"])
    ('month', 'once')
    """
    shown = {name.removeprefix("show-") for name in names}

    each = [asked for name in names if (asked := each_of(name)) is not None]

    def fitting(kind: str) -> int:
        facts = facts_of_kind(kind)
        repeated = len(names) * sum(bool(asked.numbers(facts)) for asked in each)
        return repeated + len(shown & (keys_of_kind(kind) | frozenset(facts.flags)))

    # Of kinds that fit alike the commoner one.
    return max(("undated", "week", "month", "once", *KINDS), key=fitting)


def numbered_keys(keys: Iterable[str]) -> dict[str, dict[str, set[int]]]:
    """Which numbers there are of each family's parts.

    >>> numbered_keys(["day1-name", "day2-name", "week-number"])
    {'day': {'name': {1, 2}}}
    """
    found: dict[str, dict[str, set[int]]] = {}
    for match in filter(None, map(NUMBERED.match, keys)):
        family, number, part = match.groups()
        found.setdefault(family, {}).setdefault(part, set()).add(int(number))
    return found


@dataclass(frozen=True)
class Use:
    """A page that a season makes of a template: on which side, and what it is about.

    ``kind`` is one of ``KINDS``; ``beside`` are the templates that share its
    days with it, itself among them; ``months`` is the most months a period has; ``almanac`` tells
    whether the season knows feast days and the like, ``tab`` whether its leaf has a tab that is to
    say something.
    """

    season: str
    name: str
    kind: str
    side: Side
    beside: tuple[str, ...]
    months: int
    languages: tuple[str, ...]
    label_fallback: str | None
    almanac: bool = False
    tab: bool = False


@dataclass(frozen=True)
class Usage:
    """How a template is used, as far as its file's place tells.

    Outside a collection ``collection`` is None and the binder, where a folder's name does not
    tell it, is None; ``uses`` is empty where no season is found. ``embedded`` tells that faces go
    into the files, as they do unless every season of the collection asks for outlines;
    ``bleeds_mm`` are the bleeds that its page may be drawn with on all sides.
    """

    path: Path
    collection: Collection | None
    sizes: Sizes
    binder: Binder | None
    uses: tuple[Use, ...]
    embedded: bool
    bleeds_mm: tuple[float, ...] = ()

    @property
    def size_mm(self) -> tuple[float, float]:
        """The size that the page of its leaf has, its flap open; 0 where no binder is known."""
        if self.binder is None:
            return (0.0, 0.0)
        binder, collection = self.binder, self.collection
        flap = collection.flap_mm(binder.name, self.path.stem) if collection else 0.0
        return (binder.width_mm + flap, binder.height_mm)


class Usages:
    """Finds how templates are used; each collection and its seasons are read once."""

    def __init__(self) -> None:
        self._shelf = functools.cache(_shelf)

    def of(self, path: Path) -> Usage:
        """How a template's file is used; raises UserError for a broken collection."""
        folder = path.resolve().parent
        collection, seasons, sizes = self._shelf(folder.parent)
        binder = sizes.binders.get(folder.name)
        uses: list[Use] = []
        if binder is not None:
            own = [season for season in seasons if binder.name in season.sizes]
            for season in own or seasons:
                uses += _uses(season, path.stem)
            if collection is not None and (
                flap := _flap_of(binder, path.stem, collection, seasons)
            ):
                binder = binder.flap_only(flap)
        embedded = not seasons or any(season.text == "embedded" for season in seasons)
        asked = [season.bleed_mm for season in seasons if season.bleed_mm]
        bleeds = (*asked, collection.bleed_mm if collection else 0.0)
        return Usage(path, collection, sizes, binder, tuple(dict.fromkeys(uses)), embedded, bleeds)


def _shelf(folder: Path) -> tuple[Collection | None, tuple[Season, ...], Sizes]:
    """The collection in a folder, the seasons that are made of it, and the sizes that hold."""
    if not (folder / "collection.toml").is_file():
        return None, (), load_sizes(users_sizes_file(folder / "season.toml"))
    collection = load_collection(f"./{folder.name}", folder.parent / "season.toml")
    workspace = folder.parent.parent
    seasons = []
    for file in sorted((workspace / "seasons").glob("*.toml")):
        try:
            season = load_season(file)
            if load_collection(season.collection, file).folder.resolve() == folder:
                seasons.append(season)
        except UserError:
            continue  # a season's own mistakes come up when it is built
    sizes = load_sizes(users_sizes_file(workspace / "seasons" / "season.toml"))
    return collection, tuple(seasons), sizes


def _flap_of(binder: Binder, stem: str, collection: Collection, seasons: Iterable[Season]) -> float:
    """How wide the flap is that a template is the outside of, mm; 0 where it isn't one."""
    folding = (
        collection.flap_mm(binder.name, name)
        for season in seasons
        for entry in season.set
        for name in entry.templates
        if entry.flap_back_of(name) == stem
    )
    return next(filter(None, folding), 0.0)


def _uses(season: Season, stem: str) -> Iterator[Use]:
    for entry in season.set:
        periods = [period for period in season.period if entry.is_for(period)]
        months = max((len(months_of(one.first, one.last)) for one in periods), default=0)
        pages: list[tuple[str | None, str, Side, Sequence[str]]] = []
        for spread in entry.spreads or []:
            facing = [other for other in entry.spreads or [] if other.per == spread.per]
            beside = [name for other in facing for name in (other.verso, other.recto)]
            pages.append((spread.verso, spread.per, Side.VERSO, beside))
            pages.append((spread.recto, spread.per, Side.RECTO, beside))
        pages.append((entry.opening, "once", Side.RECTO, [stem]))
        pages.append((entry.closing, "once", Side.VERSO, [stem]))
        for leaf in entry.leaves or []:
            pages.append((leaf.recto, "undated", Side.RECTO, [stem]))
            pages.append((leaf.verso, "undated", Side.VERSO, [stem]))
        if any(entry.flap_back_of(page) == stem for page in entry.templates):
            pages += [(stem, "flap", side, [stem]) for side in Side]
        for name, kind, side, together in pages:
            if name == stem:
                tab = side is Side.RECTO and stem in entry.tab_fronts
                yield Use(
                    season.name, entry.name, kind, side, tuple(dict.fromkeys(together)), months,
                    tuple(season.language), season.label_fallback, season.almanac is not None,
                    tab,
                )  # fmt: skip


def numbers_on(usage: Usage, stems: Sequence[str], family: str) -> set[int]:
    """Numbers of a family's keys (``day``: 1 to 7) on the other templates of ``stems``."""
    found: set[int] = set()
    for stem in stems:
        path = usage.path.with_name(f"{stem}.svg")
        if stem == usage.path.stem or not path.is_file():
            continue
        try:
            root = read_template(open_template(path)).root
        except UserError:
            continue  # it comes up when that file is looked at
        parts = numbered_keys(name for element in root.iter() for name in names(element))
        found |= set().union(*parts.get(family, {}).values())
    return found
