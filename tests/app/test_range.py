"""The whole range of one season, read back by poppler and held against the calendar.

What should stand on a page is worked out here from Python's ``calendar`` and the ``holidays``
package; of what the program planned nothing is asked but where each leaf lies on its sheet. Names
of weekdays and months are from memory.
"""

from __future__ import annotations

import calendar
import csv
import datetime as dt
import itertools
import re
import subprocess
import unicodedata
from collections.abc import Callable, Container, Iterable, Iterator, Sequence
from dataclasses import dataclass, replace
from functools import cached_property
from pathlib import Path
from typing import NamedTuple

import holidays
import icalendar
import numpy as np
import pytest
from lxml import etree
from PIL import Image

from pipeline.app.build import make_season
from pipeline.base.geometry import MM_PER_INCH, Rect
from pipeline.impose.contents import Contents, read_contents, upright
from pipeline.impose.sheet import SheetSide
from pipeline.plan.model import Side
from pipeline.plan.words import words_for
from pipeline.proof.pictures.pictures import date_cuts, open_set
from tests.conftest import ROOT
from tests.tools import tool

SEASON = ROOT / "seasons" / "2027-range.toml"
DATE = dt.date
YEAR = 2027
PT = MM_PER_INCH / 72

SIZES = {"a5": (148.0, 210.0), "personal": (95.0, 171.0)}
"""ISO 216; common practice."""
PAPERS = {"a4": (210.0, 297.0), "letter": (215.9, 279.4)}
"""ISO 216; ANSI/ASME Y14.1."""


@dataclass(frozen=True)
class Language:
    """What pages in a language say, from memory: Monday first, January first."""

    tag: str
    country: tuple[str, str | None, str]
    first_weekday: int
    weekdays: str
    shorts: str
    months: str
    right_to_left: bool = False
    sizes: tuple[str, ...] = ("a5",)
    papers: tuple[str, ...] = ("a4",)

    @cached_property
    def feasts(self) -> dict[dt.date, list[str]]:
        """The country's holidays of the year, by the package itself."""
        country, part, language = self.country
        found = holidays.country_holidays(country, subdiv=part, years=YEAR, language=language)
        return {day: [one.strip() for one in names.split(";")] for day, names in found.items()}


ENGLISH = Language(
    "en-GB",
    ("GB", "ENG", "en_GB"),
    calendar.MONDAY,
    "Monday Tuesday Wednesday Thursday Friday Saturday Sunday",
    "M T W T F S S",
    "January February March April May June July August September October November December",
    papers=("letter",),
)
GERMAN = Language(
    "de",
    ("DE", "BY", "de"),
    calendar.MONDAY,
    "Montag Dienstag Mittwoch Donnerstag Freitag Samstag Sonntag",
    "M D M D F S S",
    "Januar Februar März April Mai Juni Juli August September Oktober November Dezember",
    sizes=("personal",),
)
ARABIC = Language(
    "ar-EG",
    ("EG", None, "ar_EG"),
    calendar.SATURDAY,
    "الاثنين الثلاثاء الأربعاء الخميس الجمعة السبت الأحد",
    "ن ث ر خ ج س ح",
    "يناير فبراير مارس أبريل مايو يونيو يوليو أغسطس سبتمبر أكتوبر نوفمبر ديسمبر",
    right_to_left=True,
)


class Word(NamedTuple):
    """A word that poppler reads, and its box on the leaf, mm."""

    text: str
    box: Rect

    @property
    def number(self) -> int | None:
        """The number it is, in whichever figures; None for another word."""
        return int(self.text) if self.text.isdecimal() else None

    @property
    def middle(self) -> tuple[float, float]:
        return self.box.x + self.box.width / 2, self.box.y + self.box.height / 2


Face = list[Word]
"""The words on a face; x runs the way the language reads."""


@dataclass(frozen=True)
class Made:
    """The season in one language, built."""

    folder: Path
    language: Language

    def sets(self, name: str) -> Iterator[tuple[Path, Contents]]:
        """The folders of a set in all sizes, papers and colours."""
        tag = self.language.tag
        found = [
            folder
            for one in (name, f"{name}-clay")
            for folder in self.folder.glob(f"*/{one}/*-{tag}")
        ]
        assert len(found) == 2 * len(self.language.sizes) * len(self.language.papers)
        for folder in sorted(found):
            yield folder, read_contents(folder)

    def faces(self, name: str) -> Iterator[Callable[[int, Side], Face]]:
        """What reads a face of a leaf (from 0), for each of those."""
        for folder, contents in self.sets(name):
            read = {side: words_of(folder / f"side-{side}.pdf") for side in (1, 2)}
            yield lambda leaf, face, c=contents, r=read: self.face(c, r, leaf, face)  # type: ignore[misc]

    def face(
        self, contents: Contents, read: dict[SheetSide, list[Face]], leaf: int, face: Side
    ) -> Face:
        """What stands on a face of a leaf."""
        placed = contents.find(leaf, face)
        assert placed is not None
        page = read[placed.side][contents.page_number(placed.sheet, placed.side)]
        flat = placed.placement.flat
        here = [one for one in page if flat.holds(Rect(*one.middle, 0, 0))]
        boxes = [upright(one.box, placed.placement) for one in here]
        width = min(flat.width, flat.height)
        if self.language.right_to_left:
            boxes = [box.mirrored_x(width) for box in boxes]
        return [Word(one.text, box) for one, box in zip(here, boxes, strict=True)]


def words_of(pdf: Path) -> list[Face]:
    """The words on each page of a file (mm), by poppler's pdftotext."""
    said = subprocess.run(
        [tool("pdftotext"), "-bbox", str(pdf), "-"], capture_output=True, check=True
    ).stdout
    pages = []
    for page in etree.fromstring(said).iter("{*}page"):
        words = []
        for word in page.iter("{*}word"):
            x, y, right, bottom = (
                float(word.get(name, "")) * PT for name in ("xMin", "yMin", "xMax", "yMax")
            )
            words.append(Word(word.text or "", Rect(x, y, right - x, bottom - y)))
        pages.append(words)
    return pages


def spelt(text: str) -> list[str]:
    """A text's letters in no order, without signs of direction: lines of two scripts are given in
    the order of the eye or of the ear."""
    plain = unicodedata.normalize("NFKD", text)
    return sorted(one for one in plain if unicodedata.category(one) not in ("Cf", "Zs", "Cc"))


def says(words: Iterable[Word], text: str) -> bool:
    """Whether words say just a text, numbers whole and in their order."""
    said = " ".join(word.text for word in words)
    numbers = [[int(one) for one in re.findall(r"\d+", each)] for each in (said, text)]
    return spelt(said) == spelt(text) and sorted(numbers[0]) == sorted(numbers[1])


def lines(words: Face) -> list[Face]:
    """Words in lines from the top, each in its order; half a letter's height apart is one line."""
    found: list[Face] = []
    for word in sorted(words, key=lambda one: one.middle[1]):
        if not found or word.middle[1] - found[-1][0].middle[1] > 0.45 * word.box.height:
            found.append([])
        found[-1].append(word)
    return [sorted(line, key=lambda one: one.middle[0]) for line in found]


def said_of(words: Face, said: Sequence[str]) -> bool:
    """Whether words say several things, or the first ones as they are shortened in a narrow room:
    with how many more there are, words left out at their end, of one long word its beginning."""
    forms = [", ".join(said)]
    parts = said[0].split()
    if len(said) == 1:
        forms += [f"{parts[0][:count]}…" for count in (8, 5) if count < len(parts[0]) - 1]
    for count in range(len(parts), 0, -1):
        cut = " ".join(parts[:count]) + ("…" if count < len(parts) else "")
        forms += [cut] if len(said) == 1 else [f"{cut} +{len(said) - 1}"]
    return any(says(words, form) or says(words, as_arabic(form)) for form in forms)


def says_each(words: Face, wanted: Sequence[Sequence[str]]) -> bool:
    """Whether words in a line say one thing after the other, and no more."""
    if len(wanted) < 2:
        return said_of(words, wanted[0]) if wanted else not words
    splits = range(1, len(words))
    return any(said_of(words[:at], wanted[0]) and said_of(words[at:], wanted[1]) for at in splits)


def as_arabic(text: str) -> str:
    return text.translate({ord("0") + n: chr(0x0660 + n) for n in range(10)})


def own_days(language: Language) -> dict[dt.date, list[str]]:
    """The maker's own days: the table's as ``csv`` reads it, the calendar's as ``icalendar`` does,
    and its repeats by Python's ``calendar``."""
    found: dict[dt.date, list[str]] = {}
    with (SEASON.parent / "2027-range-days.csv").open(encoding="utf-8") as file:
        for row in csv.DictReader(file):
            text = row["date"] if len(row["date"]) > 5 else f"{YEAR}-{row['date']}"
            name = row.get(f"name.{language.tag[:2]}") or row["name"]
            age = f" ({YEAR - int(row['born'])})" if row["born"] else ""
            found.setdefault(DATE.fromisoformat(text), []).append(name + age)
    club = SEASON.parent / "2027-range-club.ics"
    for event in icalendar.Calendar.from_ical(club.read_bytes()).walk("VEVENT"):
        for day in days_of(event):
            found.setdefault(day, []).append(str(event["SUMMARY"]))
    return found


def days_of(event: icalendar.Component) -> list[dt.date]:
    """The days of an event of the year."""
    start = event.decoded("DTSTART")
    if "RRULE" not in event:  # of whole days; its end is no part of it
        assert not isinstance(start, dt.datetime)
        return [start + dt.timedelta(n) for n in range((event.decoded("DTEND") - start).days)]
    assert event["RRULE"].to_ical() == b"FREQ=MONTHLY;BYDAY=-1TH"
    months = (calendar.monthcalendar(YEAR, month) for month in range(1, 13))
    last = [max(week[calendar.THURSDAY] for week in weeks) for weeks in months]
    left_out = {*map(DATE.fromisoformat, re.findall(r"\d{8}", str(event["EXDATE"].to_ical())))}
    every = [DATE(YEAR, month, day) for month, day in enumerate(last, 1)]
    assert every[0] == start.date()
    assert left_out == {every[-1]}
    return every[:-1]


def one_language(folder: Path, language: Language) -> Made:
    """The season in one language, built in a folder of its own from the project's drawings."""
    (folder / "seasons").mkdir()
    (folder / "templates_svg").symlink_to(ROOT / "templates_svg")
    for file in SEASON.parent.glob("2027-range-*"):
        (folder / "seasons" / file.name).write_bytes(file.read_bytes())
    text = re.sub(
        r"(?m)^language = .*$", f'language = ["{language.tag}"]', SEASON.read_text("utf-8")
    )
    text = re.sub(r"(?m)^sizes = .*$", f"sizes = {list(language.sizes)}", text)
    text = re.sub(r"(?m)^papers = .*$", f"papers = {list(language.papers)}", text)
    season = folder / "seasons" / SEASON.name
    season.write_text(text, "utf-8")
    make_season(season, folder / "build", cache=folder / "cache")
    return Made(folder / "build" / "2027-range", language)


SHARE = (ENGLISH, GERMAN, ARABIC)
"""Each language in one size on one paper; together they are all sizes and papers."""
WHOLE = [replace(one, sizes=tuple(SIZES), papers=tuple(PAPERS)) for one in SHARE]


@pytest.mark.parametrize(
    "language",
    [*SHARE, *(pytest.param(one, marks=pytest.mark.wide) for one in WHOLE)],
    ids=lambda one: one.tag,
)
def test_every_date_and_feast_of_the_range(language: Language, tmp_path: Path) -> None:
    made = one_language(tmp_path, language)
    sizes_and_papers(made)
    for page in made.faces("months"):
        year(page(0, Side.VERSO), language)
        year_ahead(page(1, Side.RECTO), language)
        for month in range(1, 13):
            leaf = 2 * month - 1
            month_cells(page(leaf, Side.VERSO), language, month)
            month_rows(page(leaf + 1, Side.RECTO), language, month)
            tracker(page(leaf + 1, Side.VERSO), language, month)
            habits(page(leaf + 2, Side.RECTO), language, month)
    for page in made.faces("weeks"):
        opening(page(0, Side.RECTO), language)
        for leaf, first in enumerate(first_days(language)):
            week(page(leaf, Side.VERSO), language, first)
            todo(page(leaf + 1, Side.RECTO))
    for page in made.faces("days"):
        for number in range(7):
            face = page((number + 1) // 2, Side.RECTO if number % 2 else Side.VERSO)
            day_page(face, language, DATE(YEAR, 3, 26) + dt.timedelta(days=number))
    for page in made.faces("weeks-undated"):
        for leaf in range(4):
            undated_week(page(leaf, Side.VERSO), language)
    for page in made.faces("dividers"):
        for month in range(1, 13):
            divider(page(month, Side.RECTO), language, month)
    colours(made)
    read_at_the_desk(made)
    what_has_no_room_is_told(made)
    wrong_pages_are_told(next(made.faces("months")), language)


def read_at_the_desk(made: Made) -> None:
    """The desk finds every day of months, weeks and days; of a year's page it lists none."""
    words = words_for(made.language.tag)
    weeks = 7 * len(first_days(made.language))
    for name, days in (("months", 2 * 365), ("weeks", weeks), ("days", 7)):
        folder, _ = next(made.sets(name))
        with open_set(folder, 40) as pictures:
            cuts = [cut for view in pictures.views for cut in date_cuts(pictures, view, words)]
        assert len(cuts) == days
        assert [cut.date for cut in cuts if not cut.is_right(words)] == []


def what_has_no_room_is_told(made: Made) -> None:
    """A day's notes stand in its cell, or the set tells what would: the first and how many more."""
    several = [said for said in own_days(made.language).values() if len(said) > 1]
    assert several
    for _, contents in made.sets("months"):
        told = "\n".join(map(str, contents.left_out))
        for said in several:
            whole = ", ".join(said)
            whole = as_arabic(whole) if made.language.right_to_left else whole
            short = re.findall(rf"'([^'\n]*)' for '{re.escape(whole)}'", told)
            assert short
            assert {int(one.rpartition("+")[2]) for one in short} == {len(said) - 1}


def wrong_pages_are_told(page: Callable[[int, Side], Face], language: Language) -> None:
    """What reads the pages takes none for another month's."""
    for reads, side in ((month_cells, Side.VERSO), (month_rows, Side.RECTO)):
        face = page(3 if side is Side.VERSO else 4, side)
        reads(face, language, 2)
        with pytest.raises(AssertionError):
            reads(face, language, 3)
        moved = [word for word in face if word.number != 28]
        with pytest.raises(AssertionError):
            reads(moved, language, 2)


def first_days(language: Language) -> list[dt.date]:
    """The first days of the weeks that begin in March, April or May."""
    days = (DATE(YEAR, 3, 1) + dt.timedelta(days=n) for n in range(92))
    return [day for day in days if day.weekday() == language.first_weekday]


def sizes_and_papers(made: Made) -> None:
    """Sheets as large as their paper by poppler's pdfinfo, leaves as large as their binder's."""
    for name in ("months", "weeks", "days", "weeks-undated"):
        seen = set()
        for folder, contents in made.sets(name):
            size, paper = folder.name.split("-")[:2]
            info = subprocess.run(
                [tool("pdfinfo"), str(folder / "both-sides.pdf")],
                capture_output=True,
                text=True,
                check=True,
            ).stdout
            [found] = re.findall(r"Page size: +([\d.]+) x ([\d.]+)", info)
            assert sorted(float(side) * PT for side in found) == pytest.approx(
                sorted(PAPERS[paper]), abs=0.05
            )
            for sheet in contents.sheets:
                for one in (*sheet.placements(1), *sheet.placements(2)):
                    assert sorted((one.trim.width, one.trim.height)) == pytest.approx(
                        sorted(SIZES[size]), abs=0.01
                    )
            seen.add((size, paper))
        assert seen == set(itertools.product(made.language.sizes, made.language.papers))


def grid_of(month: int, language: Language, beside: Container[dt.date] = ()) -> list[list[int]]:
    """The figures of a month in the rows and columns of a calendar; 0 for a neighbour's days, but
    for those ``beside`` it."""
    weeks = calendar.Calendar(language.first_weekday).monthdatescalendar(YEAR, month)
    return [
        [day.day if day.month == month or day in beside else 0 for day in week] for week in weeks
    ]


def weekday(language: Language, number: int) -> str:
    """A weekday by its number, 0 = Monday."""
    return language.weekdays.split()[number % 7]


def month_name(language: Language, month: int) -> str:
    return language.months.split()[month - 1]


def small_month(
    words: Face, language: Language, month: int, beside: Container[dt.date] = ()
) -> None:
    """A small month: seven letters at its head, and every figure under its weekday."""
    heads = [lines(words)[0]]
    letters = language.shorts.split()
    first = language.first_weekday
    assert [one.text for one in heads[0]] == letters[first:] + letters[:first]
    columns = [word.middle[0] for word in heads[0]]
    rows = []
    for line in lines([word for word in words if word not in heads[0]]):
        row = [0] * 7
        for word in line:
            column = int(np.argmin([abs(word.middle[0] - at) for at in columns]))
            assert word.number is not None
            assert row[column] == 0
            row[column] = word.number
        rows.append(row)
    assert rows == grid_of(month, language, beside)


def under_names(
    words: Face, language: Language, months: Sequence[int]
) -> Iterator[tuple[int, Face]]:
    """The words below each month's name, that belong to no other."""
    names = {}
    for month in months:
        called = [one for one in words if says([one], month_name(language, month))]
        names[month] = max(called, key=lambda one: one.box.y)
    width = max(one.box.right for one in words)
    lefts = sorted({round(name.box.x) for name in names.values()})
    tops = sorted(name.box.bottom for name in names.values())
    for month, name in names.items():
        right = min((x - 1 for x in lefts if x > name.box.x + 2), default=width + 1)
        below = min((y - 4 for y in tops if y > name.box.bottom + 3), default=1e3)
        area = Rect(
            name.box.x - 2.5, name.box.bottom - 0.4, right - name.box.x + 2, below - name.box.bottom
        )
        yield month, [one for one in words if area.holds(Rect(*one.middle, 0, 0))]


def year(words: Face, language: Language) -> None:
    """Twelve small months in their order, and the year."""
    assert YEAR in [word.number for word in words]
    for month, held in under_names(words, language, range(1, 13)):
        small_month([one for one in held if one.number != YEAR], language, month)


def year_ahead(words: Face, language: Language) -> None:
    """The twelve months' names in reading order, two in a row."""
    names = language.months.split()
    rows = [line for line in lines(words) if any(says([one], names[0]) for one in line)]
    assert rows
    found = [
        word.text for line in lines(words) for word in line if any(says([word], n) for n in names)
    ]
    assert len(found) == 12
    assert all(spelt(one) == spelt(name) for one, name in zip(found, names, strict=True))


def headed(words: Face, language: Language, month: int) -> Face:
    """The words of a page without its heading, which says month and year."""
    top = min(word.box.y for word in words)
    head = [word for word in words if word.middle[1] < top + 9]
    rest = [word for word in words if word not in head]
    assert says(head, f"{month_name(language, month)} {as_written(language, YEAR)}"), head
    return rest


def as_written(language: Language, number: int) -> str:
    return as_arabic(str(number)) if language.tag == ARABIC.tag else str(number)


def month_cells(words: Face, language: Language, month: int) -> None:
    """A calendar of cells: each figure under its weekday, its feast and notes in its cell."""
    rest = headed(words, language, month)
    heads, body = lines(rest)[0], [one for line in lines(rest)[1:] for one in line]
    assert len(heads) == 7
    for number, head in enumerate(heads):
        assert says_weekday(head, language, (language.first_weekday + number) % 7)
    tallest = max(word.box.height for word in body)
    figures = [word for word in body if word.box.height > 0.85 * tallest]
    said = [word for word in body if word not in figures]
    pitch = (heads[-1].box.x - heads[0].box.x) / 6
    starts = [heads[0].box.x + n * pitch - 0.12 * pitch for n in range(8)]
    rows = lines(figures)
    grid = [[0] * 7 for _ in rows]
    feasts, notes = language.feasts, own_days(language)
    bottoms = [row[0].box.y for row in rows[1:]] + [1e3]
    for row, (line, bottom) in enumerate(zip(rows, bottoms, strict=True)):
        for figure in line:
            column = sum(figure.middle[0] > start for start in starts) - 1
            assert figure.number is not None
            grid[row][column] = figure.number
            day = DATE(YEAR, month, figure.number)
            area = Rect(starts[column], figure.box.y, pitch, bottom - figure.box.y)
            held = [one for one in said if area.holds(Rect(one.box.x + 0.6, one.middle[1], 0, 0))]
            said = [one for one in said if one not in held]
            wanted = [told[day] for told in (feasts, notes) if day in told]
            found = lines(held)
            assert len(found) == len(wanted), (day, held)
            assert all(said_of(*pair) for pair in zip(found, wanted, strict=True)), (day, held)
    assert not said
    assert grid == grid_of(month, language)


def dates_down(words: Face, language: Language, month: int) -> Iterator[tuple[dt.date, Face]]:
    """Each date of a month in its row beside its weekday, and what else the row says."""
    rows = lines(words)
    assert len(rows) == calendar.monthrange(YEAR, month)[1]
    for number, (figure, name, *rest) in enumerate(rows, start=1):
        day = DATE(YEAR, month, number)
        assert figure.number == number
        assert says_weekday(name, language, day.weekday())
        yield day, rest


def says_weekday(word: Word, language: Language, number: int) -> bool:
    """Whether a word is a weekday's name, in full or short."""
    full, narrow = weekday(language, number), language.shorts.split()[number]
    cut = not language.right_to_left and len(word.text) > 1 and full.startswith(word.text)
    return says([word], full) or says([word], narrow) or cut


def month_rows(words: Face, language: Language, month: int) -> None:
    """A row for each date: its feast, its notes, and when the sun rises and sets."""
    feasts, notes = language.feasts, own_days(language)
    for day, rest in dates_down(headed(words, language, month), language, month):
        times = [one for one in rest if re.search(r"\d\d?:\d\d", one.text)]
        assert len(times) == 2, (day, rest)
        told = [one for one in rest if one.box.right < times[0].box.x]
        wanted = [known[day] for known in (feasts, notes) if day in known]
        assert says_each(told, wanted), (day, told)


def tracker(words: Face, language: Language, month: int) -> None:
    """A row for each date of the month, and no more."""
    for _, rest in dates_down(headed(words, language, month), language, month):
        assert not rest


def habits(words: Face, language: Language, month: int) -> None:
    """A column for each date of the month, and the lines of the list below."""
    top = min(word.box.y for word in words)
    head = [word for word in words if word.middle[1] < top + 9]
    assert any(says([one], month_name(language, month)) for one in head)
    names, figures, *rest = lines([word for word in words if word not in head])
    last = calendar.monthrange(YEAR, month)[1]
    assert [word.number for word in figures] == list(range(1, last + 1))
    assert len(names) == last
    for name, figure in zip(names, figures, strict=True):
        assert abs(name.middle[0] - figure.middle[0]) < 1.0
        day = DATE(YEAR, month, figure.number or 0)
        assert says_weekday(name, language, day.weekday())
    path = ROOT / "templates_svg" / "plain_days" / "lists" / "habits.csv"
    with path.open(encoding="utf-8") as file:
        listed = [row[language.tag[:2]] for row in csv.DictReader(file)]
    assert len(rest) == len(listed)
    assert all(says(line, text) for line, text in zip(rest, listed, strict=True))


def opening(words: Face, language: Language) -> None:
    """The months of the quarter, and its first and last day."""
    days = first_days(language)
    last = days[-1] + dt.timedelta(days=6)
    told = [re.findall(r"\d+", " ".join(word.text for word in line)) for line in lines(words)]
    assert sorted((days[0].day, last.day, YEAR)) in [sorted(map(int, one)) for one in told]
    small = [one for one in words if one.number != YEAR]
    weeks = [first + dt.timedelta(days=n) for first in days for n in range(7)]
    beside = [day for day in weeks if day.month not in (3, 4, 5)]
    for month, held in under_names(small, language, (3, 4, 5)):
        small_month(held, language, month, beside)


def week(words: Face, language: Language, first: dt.date) -> None:
    """Seven days with their names in order, their feasts and notes, the week's number and range."""
    days = [first + dt.timedelta(days=n) for n in range(7)]
    names = [
        max(
            (one for one in words if says([one], weekday(language, day.weekday()))),
            key=lambda one: one.box.height,
        )
        for day in days
    ]
    assert names == sorted(names, key=lambda one: one.middle[1])
    pitch = (names[-1].middle[1] - names[0].middle[1]) / 6
    feasts, notes = language.feasts, own_days(language)
    for day, name in zip(days, names, strict=True):
        top, bottom = name.box.bottom - 0.62 * pitch, name.box.bottom + 0.36 * pitch
        row = [one for one in words if top < one.middle[1] < bottom and one is not name]
        row = [one for one in row if one not in names]
        figure = max(row, key=lambda one: one.box.height)
        assert figure.number == day.day, (day, row)
        others = [one for one in row if one is not figure]
        ordinal = [one for one in others if one.number == day.timetuple().tm_yday]
        assert len(ordinal) == 1, (day, row)
        others.remove(ordinal[0])
        if day.day == 1:
            month = [one for one in others if says([one], month_name(language, day.month))]
            assert month, (day, others)
            others.remove(month[0])
        wanted = [told[day] for told in (feasts, notes) if day in told]
        others.sort(key=lambda one: one.box.x)
        assert says_each(others, wanted), (day, others)
    head = [one for one in words if one.middle[1] < names[0].box.y - 0.4 * pitch]
    # The week's number is that of its Thursday (ISO 8601).
    thursday = next(day for day in days if day.weekday() == calendar.THURSDAY)
    number = thursday.isocalendar().week
    small = head_month(head)
    small_month(small, language, days[3].month)
    rest = [one for one in head if one not in small]
    numbers = sorted(int(one) for word in rest for one in re.findall(r"\d+", word.text))
    assert numbers == sorted((YEAR, number, days[0].day, days[-1].day)), rest
    for said in {month_name(language, day.month) for day in (days[0], days[-1])}:
        assert any(says([one], said) or said[:3] in one.text for one in rest), rest


def head_month(words: Face) -> Face:
    """The small month in the head of a page: all from the first of its heads on."""
    letters = [one for one in words if len(one.text) == 1 and not one.text.isdecimal()]
    row = max(lines(letters), key=len)
    left = row[0].box.x - 1.2
    return [one for one in words if one.middle[0] > left]


def todo(words: Face) -> None:
    """A list has no dates."""
    assert words
    assert not any(re.search(r"\d", word.text) for word in words)


def day_page(words: Face, language: Language, day: dt.date) -> None:
    """A day's name, date and hours, its feast and notes."""
    assert any(says([one], weekday(language, day.weekday())) for one in words)
    hours = [(hour - 1) % 12 + 1 if language.tag == ARABIC.tag else hour for hour in range(7, 21)]
    rows = lines(words)
    first = next(
        n for n, row in enumerate(rows) if n > 1 and row[0].text in ("07:00", as_arabic("7"))
    )
    found = [int(re.findall(r"\d+", row[0].text)[0]) for row in rows[first : first + 14]]
    assert found == hours
    above = [one for row in rows[:first] for one in row]
    date = [one for one in above if one._replace(text=one.text.rstrip(".")).number == day.day]
    assert len(date) == 1, above
    assert any(says([one], month_name(language, day.month)) for one in above)
    wanted = [told[day] for told in (language.feasts, own_days(language)) if day in told]
    for said in wanted:
        assert any(
            said_of(row, said) or said_of(row[-len(said[0].split()) :], said) for row in rows
        )
    times = [one for one in above if re.search(r"\d:\d\d", one.text)]
    assert len(times) == 2


def undated_week(words: Face, language: Language) -> None:
    """Names of weekdays in their order, and no figure."""
    assert not any(re.search(r"\d", word.text) for word in words)
    names = [weekday(language, language.first_weekday + n) for n in range(7)]
    found = [next(one for one in words if says([one], name)) for name in names]
    assert found == sorted(found, key=lambda one: one.middle[1])


def divider(words: Face, language: Language, month: int) -> None:
    """The month on the page and, turned, on its tab in the twelfth of the edge that is its own."""
    name = month_name(language, month)
    upright_name = [word for word in words if says([word], name)]
    assert upright_name, words
    tab = max(words, key=lambda word: word.box.right)
    height = 210.0 if max(word.box.right for word in words) > 120 else 171.0
    assert abs(tab.middle[1] - (month - 0.5) * height / 12) < 1.5, (month, tab)
    assert spelt(tab.text) == spelt(name) or name.startswith(tab.text), (month, tab)


def colours(made: Made) -> None:
    """The same words twice; green as drawn, and clay instead of it, on pages poppler paints."""
    edition = f"{made.language.sizes[0]}-{made.language.papers[0]}-{made.language.tag}"
    for name in ("months", "weeks", "days", "weeks-undated"):
        [green] = made.folder.glob(f"*/{name}/{edition}")
        [clay] = made.folder.glob(f"*/{name}-clay/{edition}")
        shown = []
        for folder in (green, clay):
            picture = folder / "colour"
            subprocess.run(
                [tool("pdftoppm"), "-r", "60", "-f", "2", "-l", "2", "-singlefile", "-png",
                 str(folder / "side-1.pdf"), str(picture)],
                check=True,
            )  # fmt: skip
            with Image.open(picture.with_suffix(".png")) as opened:
                red, _, blue = (
                    channel.astype(int) for channel in np.array(opened).transpose(2, 0, 1)
                )
            picture.with_suffix(".png").unlink()
            shown.append(red - blue)
        # Of the green, #4f7a4c, red and blue are alike; the clay, #a25a38, has far more red.
        assert shown[0].max() < 30, name
        assert shown[1].max() > 60, name
        words = [words_of(folder / "side-1.pdf") for folder in (green, clay)]
        for one, other in zip(*words, strict=True):
            same = {word.text for word in one} ^ {word.text for word in other}
            assert len(same) < 12, same  # the slug line tells the colour
