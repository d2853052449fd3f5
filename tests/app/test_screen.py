"""The edition for screens: its pages, and where its links lead, read by poppler.

Weekdays and months are Python's, names of days and months CLDR's (by way of Babel).
"""

from __future__ import annotations

import calendar
import datetime as dt
import io
import re
import shutil
import subprocess
from collections import defaultdict
from collections.abc import Sequence
from pathlib import Path
from typing import NamedTuple

import numpy as np
import pypdfium2 as pdfium
import pytest
from babel.dates import format_date
from lxml import etree
from PIL import Image
from playwright.sync_api import Browser
from playwright.sync_api import Page as PlaywrightPage
from pypdf import PdfReader

from pipeline.app.build import make_season
from pipeline.app.check import check_season
from pipeline.base.errors import UserError
from pipeline.impose.contents import read_contents
from pipeline.impose.screen import screen_sheets
from pipeline.plan import plan_season
from tests.conftest import ROOT, SAFE_FLAGS
from tests.tools import tool

SEASON = """
name = "screen"
title = "Screen"
collection = "kitchen_garden"
language = ["{language}"]
sizes = ["a5"]
papers = ["a4"]
weeks = "touches"
editions = ["sheets", "screen"]
{screen}
[almanac]
holidays = []
latitude = 51
longitude = 0
[[period]]
name = "late-winter"
months = ["2028-02", "2028-03"]
[[set]]
name = "days"
title = {{ en = "Days", de = "Tage" }}
opening = "opening"
spreads = [
  {{ verso = "month-verso", recto = "month-recto", per = "month" }},
  {{ verso = "week-running-verso", recto = "week-running-recto", per = "week" }},
  {{ verso = "day-verso", recto = "day-recto", per = "day", each_page = true }},
]
"""
FIRST, LAST = dt.date(2028, 2, 1), dt.date(2028, 3, 31)
DAYS = [FIRST + dt.timedelta(days=n) for n in range((LAST - FIRST).days + 1)]


class Link(NamedTuple):
    """What poppler reads of a link: on which page it is, from 1, its place, words and target."""

    page: int
    top: int
    left: int
    text: str
    to: int


TAB = (
    '<rect id="link-month-3" x="100" y="196" width="20" height="6" fill="#e4ece1"/>'
    '<rect id="link-week-12" x="122" y="196" width="17" height="6" fill="#e4ece1"/>'
)
"""Drawn on every right-hand page of a day; A5, mm."""


def season_in(folder: Path, language: str, screen: str = "") -> Path:
    shutil.copytree(ROOT / "templates_svg", folder / "templates_svg")
    page = folder / "templates_svg" / "kitchen_garden" / "a5" / "day-recto.svg"
    page.write_text(page.read_text("utf-8").replace("</svg>", f"{TAB}</svg>"), "utf-8")
    file = folder / "seasons" / "screen.toml"
    file.parent.mkdir()
    file.write_text(SEASON.format(language=language, screen=screen), "utf-8")
    return file


def links_in(pdf: Path) -> list[Link]:
    """Every link with the words under it, as pdftohtml tells them."""
    asked = [tool("pdftohtml"), "-xml", "-i", "-stdout", str(pdf)]
    told = subprocess.run(asked, check=True, capture_output=True).stdout
    told = re.sub(rb"<!DOCTYPE[^>]*>", b"", told)
    found = []
    for page in etree.fromstring(told, etree.XMLParser(recover=True)).iter("page"):
        for text in page.iter("text"):
            for link in text.iter("a"):
                to = int(str(link.get("href")).rpartition("#")[2])
                place = int(str(text.get("top"))), int(str(text.get("left")))
                for word in "".join(map(str, link.itertext())).split():
                    found.append(Link(int(str(page.get("number"))), *place, word, to))
    return found


def headed(pdf: Path, language: str) -> dict[dt.date, int]:
    """The page, from 1, that is headed with each day's name and date."""
    found = {}
    with pdfium.PdfDocument(pdf) as document:
        for number in range(len(document)):
            lines = document[number].get_textpage().get_text_bounded().splitlines()
            lines = [line.strip() for line in lines]
            for day in DAYS:
                name = format_date(day, "EEEE", locale=language.replace("-", "_"))
                date = {"en-GB": f"{day.day} {day:%B}"}.get(
                    language, format_date(day, "d. MMMM", locale="de")
                )
                if name in lines and date in lines:
                    found[day] = number + 1
    return found


@pytest.fixture(scope="module", params=["en-GB", "de"])
def edition(
    request: pytest.FixtureRequest, tmp_path_factory: pytest.TempPathFactory
) -> tuple[str, Path]:
    folder = tmp_path_factory.mktemp("screen")
    file = season_in(folder, request.param)
    make_season(file, folder / "build")
    assert check_season(file, folder / "build") == []
    return request.param, folder / "build/screen/late-winter/days" / f"a5-a4-{request.param}"


def test_each_date_leads_to_its_own_page_and_none_to_another(edition: tuple[str, Path]) -> None:
    language, folder = edition
    pdf = folder / "screen.pdf"
    page_of, links = headed(pdf, language), links_in(pdf)
    assert set(page_of) == set(DAYS), "the leap day too"
    by_page: dict[int, list[Link]] = defaultdict(list)
    for link in links:
        if link.text.rstrip(".").isdecimal():
            by_page[link.page].append(link)
    reached: set[int] = set()
    months = {}
    for number, found in by_page.items():
        targets = {link.to for link in found}
        for month in (2, 3):
            own = {page_of[day] for day in DAYS if day.month == month}
            if own <= targets:
                months[month] = number
    assert set(months) == {2, 3}
    for month, number in months.items():
        weeks = calendar.Calendar(0).monthdatescalendar(2028, month)
        shown = [day for week in weeks for day in week if day in page_of]
        said = sorted(by_page[number], key=lambda link: (link.to, int(link.text.rstrip("."))))
        dated = [link for link in said if link.to in page_of.values()]
        assert {(int(link.text.rstrip(".")), link.to) for link in dated} <= {
            (day.day, page_of[day]) for day in shown
        }
        reached |= {link.to for link in dated}
    assert reached == set(page_of.values())


def test_a_page_leads_back_by_its_own_heading(edition: tuple[str, Path]) -> None:
    language, folder = edition
    pdf = folder / "screen.pdf"
    page_of, links = headed(pdf, language), links_in(pdf)
    leap = dt.date(2028, 2, 29)
    name = format_date(leap, "EEEE", locale=language.replace("-", "_"))
    (back,) = {link.to for link in links if (link.page, link.text) == (page_of[leap], name)}
    week = [leap + dt.timedelta(days=n - leap.weekday()) for n in range(7)]
    there = {link.to for link in links if link.page == back}
    assert {page_of[day] for day in week} <= there, "it leads to the page of its week"


def led_by(folder: Path, width: float, height: float) -> dict[int, set[int]]:
    """Where shapes of one size (mm) lead, by the page they are on, from 0."""
    reader = PdfReader(folder / "screen.pdf")
    numbers = {page.indirect_reference: n for n, page in enumerate(reader.pages)}
    per_mm = 72 / 25.4
    targets: dict[int, set[int]] = {}
    for number, page in enumerate(reader.pages):
        for note in page.get("/Annots", ()):
            left, bottom, right, top = map(float, note.get_object()["/Rect"])
            wide, high = (right - left) / per_mm, (top - bottom) / per_mm
            if abs(wide - width) < 0.1 and abs(high - height) < 0.1:
                to = note.get_object()["/Dest"][0]
                targets.setdefault(number, set()).add(numbers[to])
    return targets


def words_on(folder: Path, page: int) -> list[str]:
    with pdfium.PdfDocument(folder / "screen.pdf") as document:
        return str(document[page].get_textpage().get_text_bounded()).split()


def test_a_shape_named_after_a_month_leads_to_its_page(edition: tuple[str, Path]) -> None:
    language, folder = edition
    month = format_date(dt.date(2028, 3, 1), "LLLL", locale=language.replace("-", "_"))
    targets = led_by(folder, 20, 6)
    leaves = read_contents(folder).leaves
    days = [one for one in leaves if one.recto and one.recto.template == "day-recto"]
    assert len(targets) == len(days) > 20
    ((only,),) = {tuple(to) for to in targets.values()}
    said = words_on(folder, only)
    assert said[0] == month
    assert "31" in said


def test_a_shape_named_after_a_week_leads_to_its_page(edition: tuple[str, Path]) -> None:
    language, folder = edition
    targets = led_by(folder, 17, 6)
    ((only,),) = {tuple(to) for to in targets.values()}
    said = words_on(folder, only)
    first = dt.date.fromisocalendar(2028, 12, 1)
    names = [format_date(first, "EEEE", locale=language.replace("-", "_")), f"{first.day}"]
    assert all(any(name in word for word in said) for name in names)
    assert only not in led_by(folder, 20, 6)[min(led_by(folder, 20, 6))], "the month's is another"


def test_it_has_an_outline_page_labels_and_no_marks(edition: tuple[str, Path]) -> None:
    _, folder = edition
    reader = PdfReader(folder / "screen.pdf")
    sizes = {tuple(map(float, page.mediabox[2:])) for page in reader.pages}
    ((width, height),) = sizes
    assert width / height == pytest.approx(4 / 3, abs=0.001)
    outline = reader.outline

    def depth(items: object) -> int:
        inner = [depth(one) for one in items if isinstance(one, list)] if items else []  # type: ignore[attr-defined]
        return 1 + max(inner, default=0)

    assert depth(outline) == 3, "months, weeks in them, days in those"
    assert len(set(reader.page_labels)) > len(reader.pages) * 0.9
    assert "100 mm" not in "".join(page.extract_text() for page in reader.pages[:4])
    assert (folder / "screen.pdf").stat().st_size < 3_000_000


def test_pages_one_by_one_and_a_screen_that_is_too_small(tmp_path: Path) -> None:
    file = season_in(tmp_path, "en-GB", '[screen]\nshape = "3:4"\npages = "single"\n')
    (plan,) = plan_season(file).sets
    sheets = screen_sheets(plan)
    assert all(len(sheet.side_1) == 1 for sheet in sheets)
    assert len(sheets) == len(plan.pages)
    file.write_text(SEASON.format(language="en-GB", screen="[screen]\nsize_mm = [260, 180]"))
    with pytest.raises(UserError, match="the screen has 260 × 180"):
        make_season(file, tmp_path / "build")
    assert not (tmp_path / "build" / "screen").exists()


VIEWER_FLAGS = ("--disable-component-extensions-with-background-pages", "--disable-extensions")
"""What a driven browser is usually started with, and its own reader of PDFs does without."""


class Shown(NamedTuple):
    """A page as a browser shows it: its picture, and where its corner is, in pixels."""

    picture: Image.Image
    left: int
    top: int


def shown(tab: PlaywrightPage) -> Shown:
    """What a browser's reader shows, once it stands still; its desk is dark, pages are light."""
    before = b""
    for _ in range(60):
        tab.wait_for_timeout(250)
        now = tab.screenshot()
        whole = Image.open(io.BytesIO(now)).convert("L")
        light = whole.point(lambda level: 255 * (level > 100)).getbbox()
        if now == before and light is not None and light[2] - light[0] > 300:
            return Shown(whole.crop(light), light[0], light[1])
        before = now
    raise AssertionError("nothing is shown")


def page_shown(pages: Sequence[Image.Image], view: Shown) -> int:
    """Which of the pages, from 0, looks most like what is shown."""
    small = [one.resize((300, 225), Image.Resampling.BOX) for one in (*pages, view.picture)]
    *drawn, seen = (np.asarray(one).astype(int) for one in small)
    return int(np.argmin([np.abs(one - seen).mean() for one in drawn]))


@pytest.mark.parametrize("edition", ["en-GB"], indirect=True)
def test_a_browser_follows_its_links(edition: tuple[str, Path], browser: Browser) -> None:
    """Chromium opens the file and clicks its way: to a day, by a tab to a month, and back."""
    pdf = edition[1] / "screen.pdf"
    reader = PdfReader(pdf)
    numbers = {page.indirect_reference: n for n, page in enumerate(reader.pages)}
    high = float(reader.pages[0].mediabox.height)
    with pdfium.PdfDocument(pdf) as document:
        pages = [page.render(scale=1).to_pil().convert("L") for page in document]
    own = browser.browser_type.launch(
        executable_path=tool("chromium"), args=SAFE_FLAGS, ignore_default_args=[*VIEWER_FLAGS]
    )
    try:
        tab = own.new_page(viewport={"width": 1200, "height": 900})
        tab.goto(f"{pdf.as_uri()}#toolbar=0&navpanes=0&view=Fit")
        at, view = 0, shown(tab)
        assert page_shown(pages, view) == at
        for pick in (3, -1, 0, -1, 5):
            notes = [one.get_object() for one in reader.pages[at].get("/Annots", ())]
            note = notes[pick % len(notes)]
            left, bottom, right, top = map(float, note["/Rect"])
            scale = view.picture.height / high
            x, y = (left + right) / 2 * scale, (high - (bottom + top) / 2) * scale
            tab.mouse.click(view.left + x, view.top + y)
            before, at = at, numbers[note["/Dest"][0]]
            view = shown(tab)
            assert at != before
            assert page_shown(pages, view) == at
    finally:
        own.close()
