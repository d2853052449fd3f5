"""The kitchen garden's line of pages: one edition is built, read back, checked and looked at."""

from __future__ import annotations

import calendar
import datetime as dt
import re
import shutil
from dataclasses import dataclass
from pathlib import Path

import pypdfium2 as pdfium
import pytest

from pipeline.app.build import make_season
from pipeline.app.buildrecord import FinishedSet
from pipeline.app.check import check_season
from pipeline.impose.contents import read_contents
from pipeline.plan.model import Side
from pipeline.proof.pictures.pictures import open_set
from tests.conftest import ROOT, Golden

SEASON = ROOT / "seasons" / "2027-garden-line.toml"
YEAR, MONTH = 2027, 4
PAGES = {
    "year": ("year-verso", "year-recto"),
    "months": ("month-verso", "month-recto", "done", "sowing-calendar"),
    "round": ("round-verso", "round-recto"),
    "days": ("day-verso", "day-recto"),
    "sheets": ("seed-box", "rotation", "harvest-log", "budget"),
    "dividers": (
        "divider-sowing", "divider-beds", "divider-harvest", "divider-year", "divider-back",
    ),
}  # fmt: skip
"""The pages of each set that no other season shows."""
DPI = 90.0
"""As in ``tests.test_golden``."""


@dataclass(frozen=True)
class Line:
    """An edition of the line: its season, where it was built and what was made."""

    season: Path
    out: Path
    made: tuple[FinishedSet, ...]

    def folder(self, name: str) -> Path:
        """Where a set of it is."""
        (folder,) = (self.out / "2027-garden-line").glob(f"*/{name}/*")
        return folder


@pytest.fixture(scope="module")
def line(tmp_path_factory: pytest.TempPathFactory) -> Line:
    """One language and colour; of the months April alone, of the weeks two."""
    folder = tmp_path_factory.mktemp("line")
    (folder / "templates_svg").symlink_to(ROOT / "templates_svg")
    season = folder / "seasons" / SEASON.name
    season.parent.mkdir()
    days = "2027-garden-line-days.csv"
    shutil.copy(SEASON.with_name(days), season.parent)
    text = SEASON.read_text("utf-8")
    before, name, months = text.partition('name = "months"')
    text = before + name + months.replace('periods = ["year"]', 'periods = ["april"]', 1)
    april = f'[[period]]\nname = "april"\nmonth = "{YEAR}-{MONTH:02}"\n\n'
    text = text.replace("[[set]]", f"{april}[[set]]", 1)
    text = text.replace('months = ["2027-03", "2027-05"]', "from = 2027-04-19\nto = 2027-05-02")
    text = text.replace("count = 13", "count = 1")
    text = re.sub(r"(?m)^language = .*$", 'language = ["en-GB"]', text)
    season.write_text(re.sub(r"(?m)^colours = .*\n", "", text), "utf-8")
    out = folder / "build"
    return Line(season, out, tuple(make_season(season, out)))


def test_nothing_is_left_to_mend(line: Line) -> None:
    assert {one.name for one in line.made} >= set(PAGES)
    assert check_season(line.season, line.out) == []


def test_nothing_is_left_to_mend_in_german(line: Line, tmp_path: Path) -> None:
    """Its titles have letters that the face has other forms of."""
    german = line.season.with_name("german.toml")
    german.write_text(line.season.read_text("utf-8").replace('["en-GB"]', '["de"]'), "utf-8")
    make_season(german, tmp_path)
    assert check_season(german, tmp_path) == []


def text_of(folder: Path, heading: str) -> str:
    """What pdfium reads on the side of a sheet that shows ``heading``."""
    pages = pdfium.PdfDocument(folder / "both-sides.pdf")
    texts = (pages[n].get_textpage().get_text_bounded() for n in range(len(pages)))
    return " ".join(next(text for text in texts if heading in text).split())


def test_the_sowing_calendar_has_each_date_on_its_weekday_and_the_maker_s_frost(line: Line) -> None:
    """Weekdays by Python's calendar."""
    told = text_of(line.folder("months"), "Moon and sowing")
    for number in range(1, calendar.monthrange(YEAR, MONTH)[1] + 1):
        name = calendar.day_abbr[dt.date(YEAR, MONTH, number).weekday()]
        assert re.search(rf"\b{number} {name}\b", told), f"{number} {name}"
    assert "24 Sat last frost" in told
    assert "check locally" in told


def test_the_round_without_dates_keeps_its_weekdays_and_nothing_else(line: Line) -> None:
    told = text_of(line.folder("round-undated"), "Day by day")
    days = [name for name in told.split() if name in calendar.day_abbr]
    assert days == list(calendar.day_abbr)
    assert not re.search(r"\d", told.partition("Day by day")[2].partition("Sun")[0])


@pytest.mark.parametrize(
    ("name", "template"), [(name, page) for name, pages in PAGES.items() for page in pages]
)
def test_pages(name: str, template: str, line: Line, golden: Golden) -> None:
    folder = line.folder(name)
    leaves = read_contents(folder).leaves
    number, side = next(
        (number, side)
        for number, leaf in enumerate(leaves)
        for side in Side
        if (page := getattr(leaf, side.value)) and page.template == template
    )
    with open_set(folder, DPI) as pictures:
        golden(f"pages/{template}", pictures.face(number, side))
