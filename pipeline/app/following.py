"""The season after a season: its file with all times moved on, and what the maker should look at.

Times move by as many months as the season has, so that the new one begins where the old one ends;
a season of single days moves by whole weeks.
"""

from __future__ import annotations

import datetime as dt
import re
from collections.abc import Iterator, Mapping, Sequence
from contextlib import suppress
from dataclasses import dataclass
from pathlib import Path
from typing import Any

import tomlkit

from pipeline.base.errors import UserError
from pipeline.base.folders import write_whole
from pipeline.drawings.checks import check_drawings
from pipeline.plan import SeasonPlan, plan_season
from pipeline.plan.almanac import Almanac, almanac_of
from pipeline.plan.calendar import later, month_end, months_of
from pipeline.plan.forgiving import put_right
from pipeline.plan.mentions import mentions
from pipeline.plan.season import Season, load_season, taken_for
from pipeline.plan.tomlfile import straightened
from pipeline.plan.words import words_for

SEASONS: Mapping[str, tuple[str, str, str, str]] = {
    "en": ("spring", "summer", "autumn", "winter"),
    "de": ("frühling", "sommer", "herbst", "winter"),
    "fr": ("printemps", "été", "automne", "hiver"),
    "es": ("primavera", "verano", "otoño", "invierno"),
    "pl": ("wiosna", "lato", "jesień", "zima"),
    "el": ("άνοιξη", "καλοκαίρι", "φθινόπωρο", "χειμώνας"),
    "ar": ("ربيع", "صيف", "خريف", "شتاء"),
    "hi": ("वसंत", "ग्रीष्म", "शरद", "शीत"),
    "ja": ("春", "夏", "秋", "冬"),
}
"""The seasons as titles call them, in the order of the year; from memory (CLDR has none)."""

TYPED = ("dated", "month-typed", "figure-stray")
"""What is found in drawings that does not move with the dates, by its rule."""


@dataclass(frozen=True)
class Following:
    """The file of the following season, and a line for each thing to look at."""

    path: Path
    said: tuple[str, ...]


@dataclass(frozen=True)
class _Step:
    """How far times move: by ``months``, or where those are 0 by ``days``."""

    first: dt.date
    last: dt.date
    months: int
    days: int

    def month(self, day: dt.date) -> dt.date:
        """A month's first day moved on."""
        if self.months:
            return later(day, self.months)
        return (day + dt.timedelta(days=self.days)).replace(day=1)

    def date(self, day: dt.date) -> dt.date:
        """A day moved on to the same one of its month, or the month's last."""
        if not self.months:
            return self.day(day)
        end = month_end(day) == day
        last = month_end(self.month(day.replace(day=1)))
        return last if end else last.replace(day=min(day.day, last.day))

    def day(self, day: dt.date) -> dt.date:
        """A day moved on by whole weeks, so that it keeps its weekday."""
        return day + dt.timedelta(days=self.days)


class AlreadyThereError(UserError):
    """The following season has been begun, in the file at ``path``."""

    def __init__(self, path: Path) -> None:
        super().__init__(str(path), "is there already", "look at it, or move it away first")
        self.path = path


def next_season(path: Path) -> Following:
    """Writes the season that follows the one at ``path`` beside it.

    Raises UserError where the season has no dates or its following file is there already; for all
    else that is wrong with it as ``plan_season`` does.
    """
    season, before = load_season(path), plan_season(path)
    if not season.period:
        what = "has no dates, so nothing follows it"
        raise UserError(str(path), what, "give it a [[period]] first")
    step = _step_of(season)
    document = tomlkit.parse(straightened(path.read_text("utf-8")))
    put_right(document, taken_for(path))
    moved = _Moved(season, step)
    moved.whole(document)
    target = path.with_name(f"{document['name']}.toml")
    if target.exists():
        raise AlreadyThereError(target)
    trial = target.with_name(f".{target.name}")
    try:
        write_whole(trial, tomlkit.dumps(document).encode())
        after = plan_season(trial)
        said = [*moved.said, *_left_behind(after), *_rhythm(before, after)]
        said += [*_feasts(before, step), *_own_days(before, after, path)]
        trial.replace(target)
    except UserError as problem:
        raise _called(problem, str(trial), str(target)) from None
    finally:
        with suppress(OSError):
            trial.unlink(missing_ok=True)
    return Following(target, tuple(dict.fromkeys(said)))


def _called(problem: UserError, told: str, meant: str) -> UserError:
    """The same error of a file by another name."""
    return UserError(
        problem.where.replace(told, meant),
        problem.what,
        problem.remedy,
        field=problem.field,
        element=problem.element,
        line=problem.line,
    )


def _step_of(season: Season) -> _Step:
    first = min(one.first for one in season.period)
    last = max(one.last for one in season.period)
    by_days = all(one.month is None and one.months is None for one in season.period)
    months = 0 if by_days else len(months_of(first, last))
    if by_days:
        weeks = -(-((last - first).days + 1) // 7)
    else:
        start = first.replace(day=1)
        weeks = round((later(start, months) - start).days / 7)
    return _Step(first, last, months, 7 * weeks)


class _Moved:
    """A season file being moved on, and what was changed in words."""

    def __init__(self, season: Season, step: _Step) -> None:
        self.said: list[str] = []
        self._season = season
        self._step = step

    def whole(self, document: Any) -> None:
        """Moves all times of a season file."""
        renamed: dict[str, str] = {}
        for number, period in enumerate(document["period"]):
            renamed[str(period["name"])] = self._period(period, number)
        first = self._step.date(self._step.first)
        name = self.text(str(document["name"]), "en")
        if name == document["name"]:
            name = f"{name}-{first:%Y-%m}"
        document["name"] = name
        self._titles(document, "title", of_season=True)
        for one in document["set"]:
            self._titles(one, "title")
        for one in document["set"]:
            self._titles(one, "lead")
            held = one.get("lead") or {}
            for text in [held] if isinstance(held, str) else held.values():
                self.said.append(f"a listing begins with '{text}': see that this still holds")
            if "periods" in one:
                held = one["periods"]
                several = [held] if isinstance(held, str) else list(held)
                one["periods"] = [renamed.get(str(name), str(name)) for name in several]

    def _period(self, period: Any, number: int) -> str:
        step = self._step
        if "month" in period:
            period["month"] = f"{step.month(_month(period['month'])):%Y-%m}"
        elif "months" in period:
            period["months"] = [f"{step.month(_month(one)):%Y-%m}" for one in period["months"]]
        else:
            begins, ends = period["from"], period["to"]
            weeks = ((ends - begins).days + 1) % 7 == 0
            period["from"] = step.day(begins) if weeks else step.date(begins)
            period["to"] = step.day(ends) if weeks else step.date(ends)
            days = words_for("en-GB").interval(period["from"], period["to"], "yMMMMd")
            self.said.append(f"period '{period['name']}' is {days} now: see that it is so meant")
        period["name"] = self.text(str(period["name"]), "en")
        self._titles(period, "title")
        return str(period["name"])

    def _titles(self, owner: Any, field: str, *, of_season: bool = False) -> None:
        held = owner.get(field)
        if isinstance(held, str):
            owner[field] = self._title(held, self._season.language[0], of_season)
        elif held is not None:
            for language in list(held):
                held[language] = self._title(str(held[language]), language, of_season)

    def _title(self, text: str, language: str, of_season: bool) -> str:
        moved = self.text(text, language)
        if moved != text and of_season:
            self.said.append(f"the new season is called '{moved}' (after '{text}')")
        elif moved != text:
            self.said.append(f"'{text}' is '{moved}' in the new season")
        elif of_season:
            self.said.append(f"the title '{text}' is that of the season before: give it its own")
        return moved

    def text(self, text: str, language: str) -> str:
        """A name or title with its years, months and seasons moved on."""
        step = self._step

        def year(match: re.Match[str]) -> str:
            zero = ord(match[0][0]) - int(match[0][0])  # figures of its own script
            return "".join(chr(zero + int(figure)) for figure in self._year(int(match[0])))

        text = re.sub(r"(?<!\d)(\d{4})-(\d{2})(?!\d)", self._year_and_month, text)
        for root in dict.fromkeys((language.partition("-")[0], "en")):
            if root in SEASONS and step.months % 3 == 0:
                names = SEASONS[root]
                text = _moved_word(text, names, step.months // 3)
            text = _moved_word(text, _month_names(root), step.months)
        return re.sub(r"(?<!\d)(?<!\d-)\d{4}(?!\d|-\d)", year, text)

    def _year_and_month(self, match: re.Match[str]) -> str:
        if not 1 <= int(match[2]) <= 12:
            return match[0]
        return f"{self._step.month(dt.date(int(match[1]), int(match[2]), 1)):%Y-%m}"

    def _year(self, year: int) -> str:
        for day in (self._step.first, self._step.last):
            if year == day.year:
                return str(self._step.date(day).year)
        return str(year)


def _month(value: object) -> dt.date:
    return dt.date.fromisoformat(f"{value}-01")


def _month_names(root: str) -> tuple[str, ...]:
    words = words_for(root)
    return tuple(
        words.month_name(dt.date(2027, number, 1))[0].casefold() for number in range(1, 13)
    )


def _moved_word(text: str, names: Sequence[str], by: int) -> str:
    """A text in which each of some names in a row, as a word, is the one so many further on.

    >>> _moved_word("Spring in March", ("spring", "summer", "autumn", "winter"), 1)
    'Summer in March'
    """

    def moved(match: re.Match[str]) -> str:
        said = match[0]
        name = names[(names.index(said.casefold()) + by) % len(names)]
        return (
            name.upper()
            if said.isupper() and len(said) > 1
            else (name[:1].upper() + name[1:] if said[:1].isupper() else name)
        )

    words = sorted(names, key=len, reverse=True)
    edge = r"(?<![^\W\d_])({})(?![^\W\d_])"
    return re.sub(edge.format("|".join(map(re.escape, words))), moved, text, flags=re.IGNORECASE)


def _left_behind(plan: SeasonPlan) -> Iterator[str]:
    """What tells a time in drawings, labels and titles and does not move with the dates."""
    files = {
        plan.collection.folder / one.binder.name / f"{name}.svg"
        for one in plan.sets
        for page in one.pages
        for name in (page.template, page.flap_back)
        if name
    }
    findings, _ = check_drawings(sorted(files))
    yield from (str(one) for one in findings if one.rule in TYPED)
    days = [day for one in plan.sets for page in one.pages for day in page.facts.dates]
    for file, labels in plan.collection.labels_by_file().items():
        for key, forms in labels.items():
            for form in forms:
                if mentions(form, [file]):
                    yield f"labels/{file}.toml, {key}: '{form}' has a date that won't change"
    for one in plan.sets:
        for title in dict.fromkeys((one.title, one.period.title)):
            if any(not found.fits(days) for found in mentions(title, [one.language])):
                yield f"the title '{title}' is of another time"


def _rhythm(before: SeasonPlan, after: SeasonPlan) -> Iterator[str]:
    """What comes out otherwise than it did: periods with more or fewer spreads."""
    lengths: list[dict[tuple[str, int], tuple[str, str, int]]] = []
    for plan in (before, after):
        names = list(dict.fromkeys(one.period.name for one in plan.sets if one.period.first))
        found: dict[tuple[str, int], tuple[str, str, int]] = {}
        for one in plan.sets:
            if one.period.first:
                name = one.name.removesuffix(f"-{one.colours.name}") if one.colours else one.name
                key = name, names.index(one.period.name)
                found.setdefault(key, (one.title, one.period.title, len(one.spreads)))
        lengths.append(found)
    for key, (title, period, spreads) in lengths[1].items():
        _, was, had = lengths[0].get(key, (title, period, spreads))
        if spreads != had:
            yield f"{title}: {period} has {spreads} spreads, {was} had {had}"


def _feasts(before: SeasonPlan, step: _Step) -> Iterator[str]:
    """Feasts that fall on another day of the year, where the season moves on by whole years."""
    season = before.season
    if season.almanac is None or step.months % 12 or not step.months:
        return
    language = season.language[0]
    almanac = Almanac(season.almanac, language)
    words = words_for(language)

    def days(first: dt.date, last: dt.date) -> dict[str, dt.date]:
        found: dict[str, dt.date] = {}
        for number in range((last - first).days + 1):
            day = first + dt.timedelta(days=number)
            for feast in almanac.of(day).feasts:
                found.setdefault(feast, day)
        return found

    old = days(step.first, step.last)
    new = days(step.month(step.first), month_end(step.month(step.last.replace(day=1))))
    for feast, day in new.items():
        if feast in old and (old[feast].month, old[feast].day) != (day.month, day.day):
            said = [words.date(one, "yMMMMd") for one in (day, old[feast])]
            yield f"{feast} is on {said[0]}, and was on {said[1]}"


def _own_days(before: SeasonPlan, after: SeasonPlan, path: Path) -> Iterator[str]:
    """Whether the maker's own days reach into the new season."""
    entry = before.season.almanac
    if entry is None or not entry.days:
        return
    counts = []
    for plan in (before, after):
        first = min(one.first for one in plan.season.period)
        last = max(one.last for one in plan.season.period)
        counts.append(len(almanac_of(entry, plan.season.language[0], first, last, path).own))
    if counts[1] < counts[0]:
        files = ", ".join(entry.days)
        yield f"{files}: {counts[1]} own days lie in this season, {counts[0]} did in the one before"
