"""What is wrong with a season as a whole: years, periods, spreads and labels, before any page.

A title for another year or month, a gap between periods or a date typed into a label makes the
whole product wrong, however well its pages are printed.
"""

from __future__ import annotations

import datetime as dt
import itertools
import re
from collections import Counter
from collections.abc import Iterator, Mapping, Sequence
from pathlib import Path

from pipeline.base.findings import Severity
from pipeline.plan import SeasonPlan
from pipeline.plan.calendar import days_from
from pipeline.plan.collection import Labels
from pipeline.plan.languages import is_locale, language_name, root_of
from pipeline.plan.mentions import Mention, mentions
from pipeline.plan.season import PeriodEntry, Title
from pipeline.plan.sets import in_words
from pipeline.plan.spoken import english_exchanged, other_language
from pipeline.plan.words import words_for
from pipeline.proof.findings.subject import SetFinding

_DAY = dt.timedelta(days=1)
_A_WEEK = 7
_MOST_BETWEEN = 62
"""Days between two periods that are still neighbours: a month or two left out, not a pause."""


def season_findings(plan: SeasonPlan, file: Path) -> Iterator[SetFinding]:
    """Everything found in a season file, its collection's title and its labels."""
    about = _About(plan, file)
    yield from about.titles()
    yield from about.periods()
    yield from about.spreads()
    yield from about.labels()
    yield from about.labels_files()


class _About:
    """A season, where it is written, and the days of all its periods."""

    def __init__(self, plan: SeasonPlan, file: Path) -> None:
        self.plan, self.season, self.file = plan, plan.season, file
        self.days = tuple(day for period in self.season.period for day in _days(period))

    def finding(
        self,
        rule: str,
        where: str,
        message: str,
        milder: Severity | None = None,
        *,
        remedy: str = "",
    ) -> SetFinding:
        part = f"{self.file.name}, {where}"
        name = self.season.name
        return SetFinding(rule, message, name, template=part, milder=milder, remedy=remedy)

    def titles(self) -> Iterator[SetFinding]:
        """Years and months that titles name, against the days they stand for."""
        for language, title in _by_language(self.season.title, self.season.language):
            yield from self._title("title", title, language, self.days)
            for period in self.season.period:
                if _misses(mentions(title, [language]), _days(period)) and self._fits(title):
                    yield self.finding(
                        "year-wrong",
                        f"period {period.name!r}",
                        f"its days, {_span(_days(period))}, aren't in '{title}'",
                        Severity.LOOK,
                    )
        for entry in self.season.set:
            for language, title in _by_language(entry.title, self.season.language):
                yield from self._title(f"set {entry.name!r}", title, language, self.days)
        for period in self.season.period:
            named = [*_by_language(period.title, self.season.language)]
            for language, title in dict.fromkeys((*named, ("en", in_words(period.name)))):
                where = f"period {period.name!r}"
                yield from self._title(where, title, language, _days(period), months=True)
        name = self.plan.collection.folder.name
        yield from self._title("collection", in_words(name), "en", self.days)

    def _fits(self, title: str) -> bool:
        return not _misses(mentions(title, self.season.language), self.days)

    def _title(
        self,
        where: str,
        title: str,
        language: str,
        days: tuple[dt.date, ...],
        *,
        months: bool = False,
    ) -> Iterator[SetFinding]:
        if not days:
            return
        when = f"its days are {_span(days)}"
        years = {day.year for day in days}
        for mention in mentions(title, [language]):
            if not mention.fits(days):
                other_year = bool(mention.years) and not years & set(mention.years)
                rule = "year-wrong" if other_year else "period-wrong"
                yield self.finding(rule, where, f"'{title}' says {mention.text}, but {when}")
                return
        if months and (named := _months_named(title, language)):
            counted = Counter(day.month for day in days)
            whole = {month for month, count in counted.items() if count > _A_WEEK}
            if named - set(counted) or whole - named:
                message = f"'{title}' names other months, but {when}"
                yield self.finding("period-wrong", where, message)

    def periods(self) -> Iterator[SetFinding]:
        """Weeks that no period has, or that two have, between those of one set, as they follow.

        A period within another, such as a month of a quarter, is a second way to sell its days.
        """
        of_sets = (
            [one for one in self.season.period if entry.is_for(one)] for entry in self.season.set
        )
        found = dict.fromkeys(itertools.chain.from_iterable(map(self._between, of_sets)))
        yield from found

    def _between(self, periods: Sequence[PeriodEntry]) -> Iterator[SetFinding]:
        whole = [one for one in periods if not _within_another(one, periods)]
        parts = [one for one in periods if _within_another(one, periods)]
        for row in (whole, parts):
            ordered = sorted(row, key=lambda one: one.first)
            for one, other in itertools.pairwise(ordered):
                yield from self._neighbours(one, other)

    def _neighbours(self, one: PeriodEntry, other: PeriodEntry) -> Iterator[SetFinding]:
        where = f"periods {one.name!r} and {other.name!r}"
        between = (other.first - one.last).days - 1
        if 0 < between <= _MOST_BETWEEN:
            yield self.finding(
                "weeks-missing",
                where,
                f"{_span((one.last + _DAY, other.first - _DAY))}: no period has these days",
            )
        elif between < 0 and not (one.first <= other.first and other.last <= one.last):
            message = f"{_span((other.first, one.last))}: both have these days"
            yield self.finding("weeks-twice", where, message)

    def spreads(self) -> Iterator[SetFinding]:
        """The same dated spread listed twice in one set."""
        for entry in self.season.set:
            dated = [one for one in entry.spreads or () if one.per != "once"]
            seen: set[tuple[str, str, str]] = set()
            for one in dated:
                key = (one.per, one.verso, one.recto)
                if key in seen:
                    message = f"'{one.verso}' and '{one.recto}' come twice each {one.per}"
                    yield self.finding("spread-twice", f"set {entry.name!r}", message)
                seen.add(key)

    def labels(self) -> Iterator[SetFinding]:
        """Labels that tell a time, or stand in the file of another language."""
        for tag, labels in self._labels().items():
            where = f"labels/{tag}.toml"
            for name, forms in labels.items():
                for mention in mentions(forms[0], [tag]):
                    wrong = bool(self.days) and not mention.fits(self.days)
                    yield self.finding(
                        "label-dated",
                        where,
                        f"'{forms[0]}' ({name}) says {mention.text}"
                        + (", which is in no period" if wrong else ""),
                        None if wrong else Severity.LOOK,
                    )
                    break
                else:
                    if what := _name_of_time(forms[0], tag):
                        message = f"'{forms[0]}' ({name}) is the name of a {what}"
                        yield self.finding("label-dated", where, message, Severity.LOOK)

    def labels_files(self) -> Iterator[SetFinding]:
        """Labels files that are in another language than their names say."""
        files = self.plan.collection.labels_by_file()
        own = list(dict.fromkeys(map(self._first_file, self.season.language)))
        spoken = [tag for tag in dict.fromkeys(("en", *own, *files)) if is_locale(tag)]
        astray: dict[str, str] = {}
        for tag in own:
            texts = [form for forms in files.get(tag, {}).values() for form in forms]
            if other := other_language(texts, tag, spoken):
                astray[tag] = other
        for tag, other in astray.items():
            if astray.get(other) != tag:
                yield self._untranslated(tag, other, files)
            elif tag < other:
                what = f"its words are {language_name(other)}, those of labels/{other}.toml"
                yield self._exchanged(tag, f"{what} are {language_name(tag)}")
        for tag, regional in itertools.permutations(files, 2):
            if self._reads(tag, regional) and _are_exchanged(tag, regional, files):
                what = f"labels/{regional}.toml, which only adds to it, has what belongs here"
                yield self._exchanged(tag, what)

    def _reads(self, tag: str, regional: str) -> bool:
        """Whether a language of the season has its labels of one file and not of its region's."""
        read = [
            {file.stem for file in self.plan.collection.label_files(language)}
            for language in self.season.language
        ]
        return tag == root_of(regional) and any(tag in one and regional not in one for one in read)

    def _first_file(self, language: str) -> str:
        """The labels file that others of its language add to; "" for none."""
        return next(
            (file.stem for file in reversed(self.plan.collection.label_files(language))), ""
        )

    def _untranslated(self, tag: str, other: str, files: Mapping[str, Labels]) -> SetFinding:
        mine, theirs = files[tag], files.get(other, {})
        same = sum(forms == theirs.get(name) for name, forms in mine.items())
        name, forms = next(iter(mine.items()))
        message = f"its words are {language_name(other)}, such as '{forms[0]}' ({name})"
        if 2 * same > len(mine):
            message = f"{same} of its {len(mine)} labels say the same as labels/{other}.toml"
        remedy = f"translate it into {language_name(tag)}"
        return self.finding("labels-file-language", f"labels/{tag}.toml", message, remedy=remedy)

    def _exchanged(self, tag: str, message: str) -> SetFinding:
        remedy = "give each of the two files the name of the other"
        return self.finding("labels-file-language", f"labels/{tag}.toml", message, remedy=remedy)

    def _labels(self) -> Mapping[str, Mapping[str, tuple[str, ...]]]:
        tags = dict.fromkeys(map(root_of, self.season.language))
        labels = self.plan.collection.labels_by_file()
        return {tag: labels[tag] for tag in tags if tag in labels}


def _are_exchanged(tag: str, regional: str, files: Mapping[str, Labels]) -> bool:
    """Whether a language's labels and those of one of its regions stand in each other's file.

    The language's own would leave out most labels, or say in American what its region does not.
    """
    mine, theirs = files[tag], files[regional]
    if 2 * len(mine) < len(theirs):
        return True
    said = [(theirs[name][0], forms[0]) for name, forms in mine.items() if name in theirs]
    return regional == "en-US" and any(english_exchanged(*both) for both in said)


def _by_language(title: Title | None, languages: list[str]) -> Iterator[tuple[str, str]]:
    if isinstance(title, str):
        yield languages[0], title
    elif title:
        yield from title.items()


def _days(period: PeriodEntry) -> tuple[dt.date, ...]:
    return days_from(period.first, period.last)


def _within_another(period: PeriodEntry, periods: Sequence[PeriodEntry]) -> bool:
    return any(
        other is not period and other.first <= period.first and period.last <= other.last
        for other in periods
    )


def _span(days: tuple[dt.date, ...]) -> str:
    """The first to the last of some days, in words."""
    return words_for("en-GB").interval(min(days), max(days), "yMMMMd")


def _misses(found: list[Mention], days: tuple[dt.date, ...]) -> bool:
    """Whether a text names years, and the days are in none of them."""
    years = [one for one in found if one.years]
    return bool(years) and not any(one.fits(days) for one in years)


def _months_named(title: str, language: str) -> set[int]:
    """The months from the first to the last that a title names in full, "March to May"."""
    locale = words_for(language).locale
    numbers = {
        str(name).casefold(): int(number)
        for form in ("stand-alone", "format")
        for number, name in locale.months[form]["wide"].items()
    }
    words = [word.strip(".,–-").casefold() for word in re.split(r"[\s–/-]+", title)]
    found = [numbers[word] for word in words if word in numbers]
    if not found:
        return set()
    return {(found[0] - 1 + n) % 12 + 1 for n in range((found[-1] - found[0]) % 12 + 1)}


def _name_of_time(text: str, language: str) -> str:
    """ "weekday" or "month" where the whole text is the full name of one; else ""."""
    locale, said = words_for(language).locale, text.strip().casefold()
    for what, names in (("weekday", locale.days), ("month", locale.months)):
        for form in ("stand-alone", "format"):
            if said in (str(name).casefold() for name in names[form]["wide"].values()):
                return what
    return ""
