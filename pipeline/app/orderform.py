"""The form that buyers' wishes come in: written from a season, read and checked row by row.

Nothing that is said of a wrong row tells what is in a buyer's own columns.
"""

from __future__ import annotations

import csv
import datetime as dt
import functools
import io
import json
import os
import re
from collections import defaultdict
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from pydantic import ValidationError

from pipeline.base.errors import UserError, did_you_mean, unprintable
from pipeline.base.folders import check_file, safe_name, write_whole
from pipeline.plan.almanac import MOST_LETTERS, called_days
from pipeline.plan.calendar import WEEKDAYS, months_of
from pipeline.plan.facts import BUYER_KEYS
from pipeline.plan.model import Buyer
from pipeline.plan.season import MOST_MONTHS, PeriodEntry, Season, load_season, month_written
from pipeline.plan.tomlfile import parted_rows
from pipeline.plan.words import words_for

ORDER, SEASON, SETS, START, MONTHS, DAYS = "order", "season", "sets", "start", "months", "days"
FIRST_WEEKDAY = "first_weekday"
OFFERED = {"size": "sizes", "paper": "papers", "language": "language", "colours": "colours"}
"""Columns that hold one of what a season offers, with the season's field that has all of it."""

COLUMNS = (ORDER, SEASON, SETS, START, MONTHS, FIRST_WEEKDAY, *OFFERED, DAYS, *BUYER_KEYS)
NEEDED = (ORDER, SEASON)
ENDINGS = (".csv", ".jsonl")

AROUND = dt.timedelta(days=45)
"""How far before and after its months an order's pages can show days, those of other months too."""


@dataclass(frozen=True)
class BuyerOrder:
    """One buyer's wishes: a season, what of it is another for them, and what is theirs alone.

    ``file`` and ``line`` are where they were read.
    """

    name: str
    file: Path
    line: int
    season: Path
    values: Mapping[str, Any]
    buyer: Buyer

    def mistake(self, what: str, remedy: str = "", column: str = "") -> UserError:
        """That something about it is wrong, in a column where that is known."""
        return mistake(self.file, self.line, what, remedy, column)

    def as_season(self) -> Season:
        """The season with what is another in it. Raises UserError as reading it does."""
        return season_at(self.season).model_copy(update=dict(self.values))


def mistake(file: Path, line: int, what: str, remedy: str = "", column: str = "") -> UserError:
    """That something in a row of a form is wrong."""
    return UserError(
        str(file), what, remedy, line=line, field=f"column '{column}'" if column else ""
    )


def season_at(path: Path) -> Season:
    """A season as ``load_season`` has it, read once for all its orders."""
    try:
        state = path.stat()
    except OSError:
        return load_season(path)
    return _read_season(path, state.st_mtime_ns, state.st_size)


@functools.lru_cache(maxsize=16)
def _read_season(path: Path, _changed: int, _size: int) -> Season:
    return load_season(path)


@dataclass(frozen=True)
class OrdersRead:
    """The rows of a form that can be made something of, and what is wrong with the others."""

    orders: tuple[BuyerOrder, ...]
    mistakes: tuple[UserError, ...]


def read_orders(path: Path) -> OrdersRead:
    """The orders of a CSV or JSON lines file, or of all such files in a folder.

    Raises UserError for a file that cannot be read or has no such columns.
    """
    orders: list[BuyerOrder] = []
    mistakes: list[UserError] = []
    seen: dict[str, tuple[Path, int]] = {}
    for file in _files(path):
        for line, row in _rows_in(file):
            try:
                if isinstance(row, UserError):
                    raise row
                order = _order(file, line, row)
                if (other := seen.setdefault(order.name.casefold(), (file, line))) != (file, line):
                    place = f"line {other[1]}" + (f" of {other[0]}" if other[0] != file else "")
                    what = f"order '{order.name}' is there already, in {place}"
                    raise order.mistake(what, "give each order a number of its own", ORDER)
                orders.append(order)
            except UserError as problem:
                mistakes.append(problem)
    if not orders and not mistakes:
        raise UserError(str(path), "has no orders in it", "write one a row below the header")
    return OrdersRead(tuple(orders), tuple(mistakes))


def _files(path: Path) -> list[Path]:
    if not path.is_dir():
        return [path]
    files = sorted(one for one in path.iterdir() if one.suffix.lower() in ENDINGS)
    if not files:
        raise UserError(str(path), "has no order forms in it", "put a .csv or .jsonl file there")
    return files


def forms_in(folder: Path) -> dict[str, Path]:
    """The order forms in a folder and in those within it, by their names from there.

    They are known by the columns of their first line.
    """
    try:
        below = sorted(one for one in folder.iterdir() if one.name[0] != "." and one.is_dir())
        files = [one for place in (folder, *below) for one in sorted(place.iterdir())]
    except OSError:
        return {}
    return {
        file.relative_to(folder).as_posix(): file
        for file in files
        if file.suffix.lower() in ENDINGS and file.name[0] != "." and _is_form(file)
    }


def _is_form(file: Path) -> bool:
    try:
        with file.open(encoding="utf-8-sig", errors="replace") as opened:
            first = opened.readline(_LONGEST_LINE).lower()
    except OSError:
        return False
    names = re.findall(r"[a-z0-9_-]+", first)
    return all(name in names for name in NEEDED)


_LONGEST_LINE = 10_000
"""Characters that a line is looked at for, to know a form by."""


def _rows_in(file: Path) -> Iterator[tuple[int, Mapping[str, str] | UserError]]:
    """The rows of a file by their columns, or why one cannot be read, each with its line."""
    check_file(file)
    try:
        text = file.read_text(encoding="utf-8-sig")
    except UnicodeDecodeError:
        raise UserError(str(file), "isn't in UTF-8", "save it again as CSV, UTF-8") from None
    except OSError as problem:
        reason = (problem.strerror or "").lower()
        raise UserError(str(file), f"cannot be read: {reason}", "check the path") from None
    read = _json_rows if file.suffix.lower() == ".jsonl" else _csv_rows
    for line, row in read(file, text):
        said = () if isinstance(row, UserError) else row.items()
        odd = next((column for column, value in said if unprintable(value)), None)
        if odd is not None:
            row = mistake(file, line, "has a sign that nothing can show", "write it anew", odd)
        yield line, row


def _csv_rows(file: Path, text: str) -> Iterator[tuple[int, Mapping[str, str] | UserError]]:
    rows = parted_rows(file, text)
    columns = [name.lower() for name in next(rows, (0, []))[1]]
    for name in columns:
        if name not in COLUMNS:
            raise UserError(
                str(file), f"there is no column '{name}'", did_you_mean(name, COLUMNS), line=1
            )
        if columns.count(name) > 1:
            raise UserError(str(file), f"has the column '{name}' twice", "keep one", line=1)
    for name in NEEDED:
        if name not in columns:
            remedy = f"add it to the first line, which says: {', '.join(columns) or 'nothing'}"
            raise UserError(str(file), f"has no column '{name}'", remedy, line=1)
    for line, cells in rows:
        if any(cells[len(columns) :]):
            what = f"has {len(cells)} cells and there are {len(columns)} columns"
            yield line, mistake(file, line, what, "put what has commas in it in quotes")
        else:
            yield line, dict(zip(columns, cells, strict=False))


def _json_rows(file: Path, text: str) -> Iterator[tuple[int, Mapping[str, str] | UserError]]:
    for line, said in enumerate(text.split("\n"), 1):
        if said.strip():
            try:
                yield line, _json_row(json.loads(said))
            except (ValueError, RecursionError) as problem:
                args = problem.args if len(problem.args) == 2 else ("isn't a line of JSON",)
                remedy = args[1] if len(args) == 2 else 'write it like {"order": "1001"}'
                yield line, mistake(file, line, args[0], remedy)


def _json_row(read: object) -> Mapping[str, str]:
    """A line's fields as cells. Raises ValueError with what is wrong and what to do."""
    if not isinstance(read, dict):
        raise ValueError("isn't an object", 'write it like {"order": "1001"}')
    row: dict[str, str] = {}
    for name, value in read.items():
        if name not in COLUMNS:
            raise ValueError(f"there is no column '{name}'", did_you_mean(name, COLUMNS))
        parts = value if isinstance(value, list) else [value]
        if not all(isinstance(part, str | int) and not isinstance(part, bool) for part in parts):
            raise ValueError(f"'{name}' is neither a text nor a number", "write it in quotes")
        row[name] = ("|" if name in BUYER_KEYS else ";").join(str(part).strip() for part in parts)
    return row


def _order(file: Path, line: int, row: Mapping[str, str]) -> BuyerOrder:
    """A row as an order. Raises UserError for the first column that is wrong."""

    def wrong(column: str, what: str, remedy: str = "") -> UserError:
        return mistake(file, line, what, remedy, column)

    for column in NEEDED:
        if not row.get(column):
            raise wrong(column, "is empty", "each order needs one")
    try:
        name = safe_name(row[ORDER])
    except ValueError as problem:
        raise wrong(ORDER, *problem.args) from None
    path = file.parent / row[SEASON]
    try:
        season = season_at(path)
    except UserError as problem:
        raise wrong(SEASON, f"{problem.place}: {problem.what}", problem.remedy) from None
    values: dict[str, Any] = {}
    for column, field in OFFERED.items():
        offered = getattr(season, field)
        value = row.get(column) or offered[0]
        if value not in offered:
            raise wrong(column, f"the season offers no '{value}'", did_you_mean(value, offered))
        values[field] = [value]
    values["editions"] = [one for one in season.editions if one != "press"]
    if weekday := row.get(FIRST_WEEKDAY, "").lower():
        if weekday not in WEEKDAYS:
            what = f"'{weekday}' isn't a weekday"
            raise wrong(FIRST_WEEKDAY, what, did_you_mean(weekday, WEEKDAYS))
        values["first_weekday"] = weekday
    values["set"] = _sets(season, row.get(SETS, ""), wrong)
    values["period"] = periods = _periods(season, row, wrong)
    days = _days(season, values["language"][0], row.get(DAYS, ""), periods, wrong)
    texts = {key: _forms(row[key]) for key in BUYER_KEYS if row.get(key)}
    if empty := next((key for key, forms in texts.items() if "" in forms), None):
        raise wrong(empty, "has an empty form", "write something on both sides of each '|'")
    return BuyerOrder(name, file, line, path, values, Buyer(texts, days))


def _forms(cell: str) -> tuple[str, ...]:
    """What a cell says, and shorter: its forms are parted by upright strokes.

    >>> _forms("Ada Moss-Fernley | Ada Moss")
    ('Ada Moss-Fernley', 'Ada Moss')
    """
    return tuple(" ".join(part.split()) for part in cell.split("|"))


def _sets(season: Season, cell: str, wrong: Any) -> list[Any]:
    """The sets that are chosen, or all of the season's; each is for whatever months are ordered."""
    names = [entry.name for entry in season.set]
    chosen = re.split(r"[\s;,]+", cell) if cell else names
    for name in chosen:
        if name not in names:
            raise wrong(SETS, f"the season has no set '{name}'", did_you_mean(name, names))
    return [
        entry.model_copy(update={"periods": None}) for entry in season.set if entry.name in chosen
    ]


def _periods(season: Season, row: Mapping[str, str], wrong: Any) -> list[PeriodEntry]:
    """The months that are ordered as one period: the season's, where a row says nothing else."""
    start, length = row.get(START, ""), row.get(MONTHS, "")
    if not season.period and not start:
        return []
    first = min((period.first for period in season.period), default=dt.date.min)
    last = max((period.last for period in season.period), default=first)
    if length and not (re.fullmatch(r"[0-9]{1,2}", length) and 1 <= int(length) <= MOST_MONTHS):
        raise wrong(MONTHS, f"'{length}' isn't a number of months from 1 to {MOST_MONTHS}", "")
    try:
        begin = month_written(start) if start else first.replace(day=1)
    except ValueError as problem:
        raise wrong(START, *problem.args) from None
    count = int(length) if length else min(len(months_of(first, last)), MOST_MONTHS)
    at = 12 * begin.year + begin.month + count - 2
    months = [f"{begin:%Y-%m}", f"{at // 12:04}-{at % 12 + 1:02}"]
    asked = {"month": months[0]} if count == 1 else {"months": months}
    try:
        return [PeriodEntry.model_validate({"name": months[0], **asked})]
    except ValidationError as problem:
        told = problem.errors(include_url=False)[0].get("ctx", {}).get("error")
        raise wrong(START, *(told.args if told else ("isn't a month",))) from None


_DAY = re.compile(r"(?P<date>\S+)\s+(?P<name>\S.*?)(?:,\s*born\s+(?P<born>\S+))?")


def _days(
    season: Season, language: str, cell: str, periods: Sequence[PeriodEntry], wrong: Any
) -> Mapping[dt.date, tuple[str, ...]]:
    """A buyer's own days, such as "05-14 Ada, born 1987; 2027-06-01 Moving day"."""
    if not cell:
        return {}
    if season.almanac is None or not periods:
        what = "this season has no [almanac], and its pages no days of anybody's own"
        raise wrong(DAYS, what, "add one to the season file, or leave the column empty")
    first, last, words = periods[0].first, periods[0].last, words_for(language)
    found: dict[dt.date, list[str]] = defaultdict(list)
    for number, part in enumerate(filter(None, map(str.strip, re.split(r"[;\n]", cell))), 1):
        match, which = _DAY.fullmatch(part), f"its day {number}"
        if match is None:
            raise wrong(DAYS, f"{which} isn't a date and a name", "write 05-14 Ada, born 1987")
        date, name, born = match["date"], match["name"], match["born"] or ""
        if len(name) > MOST_LETTERS:
            raise wrong(DAYS, f"{which} has more than {MOST_LETTERS} letters", "shorten it")
        try:
            days = list(called_days(date, name, born, first - AROUND, last + AROUND, words))
        except ValueError:
            remedy = "write 05-14 or 2027-05-14, the name and, for an age, ', born 1987'"
            raise wrong(DAYS, f"{which} has a date or year that isn't one", remedy) from None
        if len(date) > 5 and not any(first <= day <= last for day, _ in days):
            remedy = "order those months too, or leave it out"
            raise wrong(DAYS, f"{which} lies outside the months that are ordered", remedy)
        for day, called in days:
            found[day].append(called)
    return {day: tuple(names) for day, names in found.items()}


def write_form(season: Path, file: Path, keys: Sequence[str], *, days: bool) -> None:
    """Writes an order form with an example for a season, whose pages show ``keys`` of buyers.

    With ``days`` its pages show days of the buyer's own. Raises UserError for a file that is there.
    """
    if file.exists():
        raise UserError(str(file), "is there already", "give the form another name")
    read = season_at(season)
    path = Path(os.path.relpath(season.resolve(), file.resolve().parent)).as_posix()
    offered = {column: getattr(read, field)[0] for column, field in OFFERED.items()}
    row = {ORDER: "example-1", SEASON: path, SETS: " ".join(one.name for one in read.set)}
    if read.period:
        begin = min(period.first for period in read.period)
        row |= {START: f"{begin:%Y-%m}", MONTHS: "1"}
    row |= {FIRST_WEEKDAY: read.first_weekday or "", **offered}
    if days and read.period:
        day = min(period.first for period in read.period) + dt.timedelta(days=9)
        row[DAYS] = f"{day:%m-%d} Ada, born 1987; {day + dt.timedelta(days=2)} Moving day"
    said = {key: f"Line {number}" for number, key in enumerate(BUYER_KEYS)}
    row |= {key: said[key] for key in keys} | dict.fromkeys(keys[:1], "Ada Moss")
    text = io.StringIO()
    writer = csv.writer(text)
    writer.writerows([row.keys(), row.values()])
    write_whole(file, text.getvalue().encode("utf-8-sig"))
