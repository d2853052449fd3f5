"""A season file that is changed at the desk: the maker's comments and order stay as they are.

Nothing is written that does not plan, and nothing over a change that was made by hand meanwhile.
"""

from __future__ import annotations

import datetime as dt
import os
from collections.abc import Callable
from contextlib import suppress
from pathlib import Path
from typing import Annotated, Any, Literal

import tomlkit
from pydantic import BaseModel, ConfigDict, Field
from tomlkit.exceptions import TOMLKitError

from pipeline.base.cache import digest_of
from pipeline.base.errors import UserError
from pipeline.base.folders import write_whole
from pipeline.desk.desk import ChangedMeanwhileError
from pipeline.plan import plan_season
from pipeline.plan.calendar import months_of
from pipeline.plan.forgiving import put_right
from pipeline.plan.season import MOST_MONTHS, taken_for
from pipeline.plan.tomlfile import straightened
from pipeline.plan.words import words_for

MOST_UNDONE = 100
"""Changes that can be taken back, the last first."""


class _Change(BaseModel):
    model_config = ConfigDict(strict=True, extra="forbid")


class SettingChange(_Change):
    """A setting of the whole season gets another value, or its usual one with None."""

    do: Literal["setting"]
    field: Literal[
        "sizes",
        "papers",
        "language",
        "label_fallback",
        "colours",
        "editions",
        "weeks",
        "first_weekday",
        "week_numbers",
    ]
    value: list[str] | str | None


class TitleChange(_Change):
    """The season, or one of its sets, is called otherwise in a language."""

    do: Literal["title"]
    set: str = ""
    language: str = ""
    text: str = Field(min_length=1, max_length=200)


class FirstLineChange(_Change):
    """The sentence that a set's listings begin with, in a language; the program's own if empty."""

    do: Literal["first-line"]
    set: str
    language: str = ""
    text: str = Field(max_length=300)


class PeriodChange(_Change):
    """A period of whole months is there, from ``first`` to ``last`` ("2027-03"); with ``each``, a
    period for each of the months."""

    do: Literal["period"]
    name: str = Field(default="", max_length=60)
    first: str = Field(pattern=r"^\d{4}-\d{2}$")
    last: str = Field(pattern=r"^\d{4}-\d{2}$")
    each: bool = False


class Removal(_Change):
    """A period, a set or a trimmer is taken out."""

    do: Literal["without"]
    what: Literal["period", "set", "trimmer"]
    name: str


class SpreadChange(_Change):
    """A spread of a set's run; ``was`` is its place before, -1 for a new one."""

    was: int = -1
    verso: str
    recto: str
    per: Literal["day", "half-week", "week", "month", "quarter", "year", "once"]
    every: int = Field(default=1, ge=1, le=366)


class RunChange(_Change):
    """A set's run of spreads is this."""

    do: Literal["rhythm"]
    set: str
    spreads: list[SpreadChange] = Field(min_length=1, max_length=40)


class AlmanacChange(_Change):
    """What is known of each day: whose holidays, and where the sun rises and sets."""

    do: Literal["almanac"]
    holidays: list[str] = Field(max_length=20)
    latitude: float | None
    longitude: float | None
    zone: str = Field(max_length=60)


class PicturesChange(_Change):
    """The kinds of pictures that are made for the shop; all with None."""

    do: Literal["pictures"]
    kinds: list[str] | None = Field(min_length=1, max_length=20)


class BenchChange(_Change):
    """A price, a time or the like of the maker's bench; its usual value with None."""

    do: Literal["bench"]
    field: Literal[
        "money",
        "spare_percent",
        "ream_price",
        "ream_sheets",
        "cartridge_price",
        "cartridge_pages",
        "hour_price",
        "envelope_price",
        "envelope_g",
        "pages_a_minute",
        "stroke_s",
        "fold_s",
        "pick_s",
    ]
    value: float | str | None


class TrimmerChange(_Change):
    """A trimmer is there: how many sheets it cuts at once, and its longest cut in mm."""

    do: Literal["trimmer"]
    name: str = Field(min_length=1, max_length=60)
    sheets: int
    cut_mm: float | None


class PostageChange(_Change):
    """What is paid for postage: rows of the most grams and the price up to there."""

    do: Literal["postage"]
    rows: list[tuple[float, float]] = Field(max_length=40)


class LeadChange(_Change):
    """So many days before its first one a period is to be out; as usual with None."""

    do: Literal["lead"]
    days: int | None


class NewSet(_Change):
    """A set is added, of one spread."""

    do: Literal["set"]
    name: str = Field(min_length=1, max_length=60)
    title: str = Field(min_length=1, max_length=200)
    spread: SpreadChange


Change = Annotated[
    SettingChange
    | TitleChange
    | FirstLineChange
    | PeriodChange
    | Removal
    | RunChange
    | AlmanacChange
    | PicturesChange
    | BenchChange
    | TrimmerChange
    | PostageChange
    | LeadChange
    | NewSet,
    Field(discriminator="do"),
]


class SeasonFile:
    """A season file, and what it was before each change."""

    def __init__(self, path: Path) -> None:
        self.path = path
        self._before: list[str] = []

    @property
    def text(self) -> str:
        """What is in it. Raises UserError when it cannot be read."""
        try:
            return self.path.read_text("utf-8")
        except (OSError, UnicodeError) as problem:
            what = f"cannot be read ({problem})"
            raise UserError(str(self.path), what, "save it as UTF-8") from None

    @property
    def version(self) -> str:
        """A digest of what is in it."""
        return digest_of(self.text)

    @property
    def can_undo(self) -> bool:
        """Whether there is a change to be taken back."""
        return bool(self._before)

    def change(self, version: str, change: Change) -> None:
        """Writes a change into the file. Raises as ``_write`` does."""
        text = self.text
        try:
            document = tomlkit.parse(straightened(text))
            with suppress(UserError):  # what is wrong besides is told when the change is tried
                put_right(document, taken_for(self.path))
        except TOMLKitError as problem:
            raise UserError(str(self.path), f"isn't TOML ({problem})", "mend it by hand") from None
        _DO[type(change)](document, change)
        self._write(version, tomlkit.dumps(document))
        self._before = [*self._before, text][-MOST_UNDONE:]

    def undo(self, version: str) -> None:
        """Takes back the last change. Raises as ``_write`` does."""
        if self._before:
            self._write(version, self._before[-1])
            self._before.pop()

    def _write(self, version: str, text: str) -> None:
        """Puts a text in the place of that with a version.

        Raises ``ChangedMeanwhileError`` when another is there, and UserError when a season of it
        cannot be planned; then nothing is written.
        """
        if self.version != version:
            raise ChangedMeanwhileError
        trial = self.path.with_name(f".{self.path.stem}.new-{os.getpid()}{self.path.suffix}")
        try:
            write_whole(trial, text.encode())
            plan_season(trial)
        except UserError as problem:
            where = problem.where.replace(str(trial), self.path.name)
            raise UserError(
                where,
                problem.what,
                problem.remedy,
                field=problem.field,
                element=problem.element,
                line=problem.line,
            ) from None
        finally:
            with suppress(OSError):
                trial.unlink(missing_ok=True)
        write_whole(self.path, text.encode())


def _setting(document: Any, change: SettingChange) -> None:
    if change.value is None:
        document.pop(change.field, None)
    else:
        document[change.field] = change.value


def _title(document: Any, change: TitleChange) -> None:
    owner = _entry(document, "set", change.set) if change.set else document
    _said(owner, "title", change.language, change.text)


def _first_line(document: Any, change: FirstLineChange) -> None:
    _said(_entry(document, "set", change.set), "lead", change.language, change.text)


def _said(owner: Any, field: str, language: str, text: str) -> None:
    """Writes words in a language, or without one in all; empty ones are taken out."""
    held = owner.get(field)
    if language and not isinstance(held, dict):
        held = owner[field] = tomlkit.inline_table()
    if isinstance(held, dict):
        root = language.split("-")[0]
        named = language if language in held or root not in held else root
        if text:
            held[named] = text
        else:
            held.pop(named, None)
        text = text or "".join(held.values())
    if not text:
        owner.pop(field, None)
    elif not isinstance(held, dict):
        owner[field] = text


def _period(document: Any, change: PeriodChange) -> None:
    if change.each and change.first < change.last:
        for month in _new_months(document, change):
            _period(document, PeriodChange(do="period", first=month, last=month))
        return
    name = change.name or _name_of(document, change)
    periods = document.setdefault("period", tomlkit.aot())
    one = next((period for period in periods if period["name"] == name), None)
    if one is None:
        one = tomlkit.table()
        one["name"] = name
        periods.append(one)
    for key in ("month", "months", "from", "to"):
        one.pop(key, None)
    if change.first == change.last:
        one["month"] = change.first
    else:
        one["months"] = [change.first, change.last]


def _new_months(document: Any, change: PeriodChange) -> list[str]:
    """The months of a change that are no period yet."""
    first, last = (dt.date.fromisoformat(f"{one}-01") for one in (change.first, change.last))
    months = months_of(first, last)
    if len(months) > MOST_MONTHS:
        what = f"are more than can be added at once, which is {MOST_MONTHS}"
        raise UserError(f"{len(months)} months", what, "add them in parts")
    there = {str(period.get("month", "")) for period in document.get("period", ())}
    new = [named for one in months if (named := f"{one:%Y-%m}") not in there]
    if not new:
        what = f"{change.first} to {change.last}"
        raise UserError(what, "each of these months is a period already", "choose others")
    return new


def _name_of(document: Any, change: PeriodChange) -> str:
    """A name for a period that none of the others has."""
    words = words_for("en")
    first, last = (dt.date.fromisoformat(f"{one}-01") for one in (change.first, change.last))
    names = [words.month_name(one)[0].lower() for one in dict.fromkeys((first, last))]
    taken = {period["name"] for period in document.get("period", ())}
    plain = "-".join(names)
    return plain if plain not in taken else f"{plain}-{first.year}"


def _without(document: Any, change: Removal) -> None:
    if change.what == "trimmer":
        bench = document.get("bench", {})
        bench.get("trimmer", {}).pop(change.name)
        if not bench["trimmer"]:
            _in_table(document, "bench", "trimmer", None)
        return
    held = document.get(change.what, [])
    for number, one in enumerate(held):
        if one.get("name") == change.name:
            del held[number]
            return
    raise KeyError(change.name)


def _rhythm(document: Any, change: RunChange) -> None:
    entry = _entry(document, "set", change.set)
    before = list(entry.get("spreads", ()))
    same_order = [one.was for one in change.spreads] == list(range(len(before)))
    after = []
    for spread in change.spreads:
        table = before[spread.was] if 0 <= spread.was < len(before) else tomlkit.inline_table()
        for key in ("verso", "recto", "per"):
            if table.get(key) != getattr(spread, key):
                table[key] = getattr(spread, key)
        if spread.every != table.get("every", 1):
            table["every"] = spread.every
        after.append(table)
    if same_order and before:
        return
    array = tomlkit.array()
    array.extend(after)
    entry["spreads"] = array.multiline(True)


def _almanac(document: Any, change: AlmanacChange) -> None:
    values = {
        "holidays": change.holidays or None,
        "latitude": change.latitude,
        "longitude": change.longitude,
        "zone": change.zone.strip() or None,
    }
    table = document.setdefault("almanac", tomlkit.table())
    for field, value in values.items():
        if value is None:
            table.pop(field, None)
        elif table.get(field) != value:
            table[field] = value
    if not table:
        document.pop("almanac")


def _pictures(document: Any, change: PicturesChange) -> None:
    _in_table(document, "pictures", "kinds", change.kinds)


def _bench(document: Any, change: BenchChange) -> None:
    value = change.value
    _in_table(document, "bench", change.field, _plain(value) if isinstance(value, float) else value)


def _plain(number: float) -> float:
    """A number as one would write it: whole where it is."""
    return int(number) if number.is_integer() else number


def _trimmer(document: Any, change: TrimmerChange) -> None:
    bench = document.setdefault("bench", tomlkit.table())
    trimmers = bench.setdefault("trimmer", tomlkit.table(is_super_table=True))
    one = trimmers.setdefault(change.name, tomlkit.table())
    one["sheets"] = change.sheets
    if change.cut_mm is None:
        one.pop("cut_mm", None)
    else:
        one["cut_mm"] = _plain(change.cut_mm)


def _postage(document: Any, change: PostageChange) -> None:
    rows = [[_plain(grams), _plain(price)] for grams, price in sorted(change.rows)]
    _in_table(document, "bench", "postage", rows or None)


def _lead(document: Any, change: LeadChange) -> None:
    _in_table(document, "publish", "lead_days", change.days)


def _in_table(document: Any, name: str, field: str, value: object) -> None:
    """Sets a field of a table, or takes it out with None; an empty table goes too."""
    table = document.setdefault(name, tomlkit.table())
    if value is None:
        table.pop(field, None)
    else:
        table[field] = value
    if not table:
        document.pop(name)


def _new_set(document: Any, change: NewSet) -> None:
    entry = tomlkit.table()
    entry["name"], entry["title"] = change.name, change.title
    spoken = document.get("language")
    if isinstance(document.get("title"), dict):
        title = tomlkit.inline_table()
        languages = [spoken] if isinstance(spoken, str) else list(spoken or ["en"])
        for language in dict.fromkeys(one.split("-")[0] for one in languages):
            title[language] = change.title
        entry["title"] = title
    table = tomlkit.inline_table()
    for key in ("verso", "recto", "per"):
        table[key] = getattr(change.spread, key)
    array = tomlkit.array()
    array.append(table)
    entry["spreads"] = array.multiline(True)
    document.setdefault("set", tomlkit.aot()).append(entry)


def _entry(document: Any, kind: str, name: str) -> Any:
    found = (one for one in document.get(kind, ()) if one.get("name") == name)
    entry = next(found, None)
    if entry is None:
        raise KeyError(name)
    return entry


_DO: dict[type, Callable[[Any, Any], None]] = {
    SettingChange: _setting,
    TitleChange: _title,
    FirstLineChange: _first_line,
    PeriodChange: _period,
    Removal: _without,
    RunChange: _rhythm,
    AlmanacChange: _almanac,
    PicturesChange: _pictures,
    BenchChange: _bench,
    TrimmerChange: _trimmer,
    PostageChange: _postage,
    LeadChange: _lead,
    NewSet: _new_set,
}
