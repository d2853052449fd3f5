"""Dates of repeated samples read back: sound ones pass, spoilt ones give just their own finding.

The pages are the starters' month grid, tracker, day and year, with a feast in every cell, and years
that tell each date of their months: as calendars of cells, and down.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, replace
from pathlib import Path
from unittest import mock

import pytest

from pipeline.app.build import make_season
from pipeline.app.check import check_season
from pipeline.drawings.starters.starter import LABELS, starter_page
from pipeline.plan import SeasonPlan, plan_season
from pipeline.plan.model import Facts, Page, Side, Spread
from pipeline.plan.sizes import load_sizes
from pipeline.proof.findings import findings_of
from tests.proof.findings.garden import with_spreads
from tests.proof.findings.test_false_alarms import told

SEASON = """
name = "shop"
title = "Shop"
collection = "shop"
language = {languages}
sizes = ["a5"]
papers = ["a4"]

[almanac]
holidays = ["GB-ENG"]

{periods}
[[set]]
name = "all"
title.en = "Dates"
title.ar = "تواريخ"
{pages}
"""
COLLECTION = """
title = "Shop"
[fallback_fonts]
"EB Garamond" = ["Amiri"]
"Source Sans 3" = ["Noto Sans Arabic"]
"""
MONTHS = """
spreads = [
  { verso = "year-verso", recto = "year-recto", per = "year" },
  { verso = "cells-verso", recto = "cells-recto", per = "year" },
  { verso = "dates-verso", recto = "dates-recto", per = "year" },
  { verso = "grid-verso", recto = "tracker-recto", per = "month" },
  { verso = "tracker-verso", recto = "grid-recto", per = "month" },
]
"""
DAYS = """
spreads = [
  { verso = "year-verso", recto = "year-recto", per = "year" },
  { verso = "cells-verso", recto = "dates-recto", per = "year" },
  { verso = "grid-verso", recto = "tracker-recto", per = "month" },
  { verso = "day-verso", recto = "day-recto", per = "day" },
]
"""


def shop(folder: Path, languages: str, periods: str, pages: str) -> Path:
    """A workspace with those pages for A5; returns its season."""
    binder = load_sizes(None).binder("a5")
    collection = folder / "templates_svg" / "shop"
    (collection / "a5").mkdir(parents=True)
    (collection / "labels").mkdir()
    for kind in ("month-grid", "tracker", "day", "year"):
        for side in Side:
            svg = starter_page(kind, binder, side=side).svg.decode()
            if kind == "month-grid":
                svg = with_feasts(svg)
            name = f"{kind.removeprefix('month-')}-{side}.svg"
            (collection / "a5" / name).write_text(svg, "utf-8")
    for side in Side:
        for name, content in (("cells", calendar_of_cells), ("dates", column_of_dates)):
            svg = year_of(content, 15.0 if side is Side.RECTO else 8.0)
            (collection / "a5" / f"{name}-{side}.svg").write_text(svg, "utf-8")
    (collection / "collection.toml").write_text(COLLECTION, "utf-8")
    labels = "\n".join(f'{key} = "{word}"' for key, word in LABELS.items())
    (collection / "labels" / "en.toml").write_text(labels, "utf-8")
    (collection / "labels" / "ar.toml").write_text(labels, "utf-8")
    season = folder / "seasons" / "shop.toml"
    season.parent.mkdir()
    text = SEASON.format(languages=languages, periods=periods, pages=pages)
    season.write_text(text, "utf-8")
    return season


def with_feasts(svg: str) -> str:
    """A month grid whose cells have room for a feast below the figure."""
    before, cell, after = svg.partition('<g id="date-number">')
    x, y = (float(after.partition(f' {name}="')[2].partition('"')[0]) for name in ("x", "y"))
    feast = (
        f'<g id="date-feast"><rect x="{x}" y="{y + 8}" width="14" height="3" fill="none"/>'
        f'<text x="{x}" y="{y + 10.2}" font-family="Source Sans 3" font-size="2.1">Easter</text>'
        "</g>"
    )
    return before + feast + cell + after


def calendar_of_cells(x: float, y: float) -> tuple[str, str]:
    """A month's name, its weekdays' and a calendar of cells, for three months side by side."""
    name = f'<text id="month-name" x="{x}" y="{y + 4}" font-size="3.6">March</text>'
    return "each-month", (
        f'<g><rect x="{x}" y="{y}" width="41" height="44"/>{name}'
        f'<g id="each-weekday-across-even"><rect x="{x}" y="{y + 6}" width="39.9" height="3"/>'
        f'<g><rect x="{x}" y="{y + 6}" width="5.7" height="3"/><text id="weekday-name"'
        f' x="{x + 2.8}" y="{y + 8.4}" font-size="2.2" text-anchor="middle">M</text></g></g>'
        f'<g id="each-date-alone"><rect x="{x}" y="{y + 9.5}" width="39.9" height="32"/>'
        f'<g><rect x="{x}" y="{y + 9.5}" width="5.7" height="6" stroke="#949b93"/>'
        f'<text id="date-number" x="{x + 0.7}" y="{y + 12.2}" font-size="2.4">1</text>'
        f'<g id="show-feast"><circle cx="{x + 1.4}" cy="{y + 14}" r="0.5" fill="#a25a38"/></g>'
        "</g></g></g>"
    )


def column_of_dates(x: float, y: float) -> tuple[str, str]:
    """A month's name and its dates below each other, for twelve months side by side."""
    size = 'font-size="2.2"'
    return "each-month-across", (
        f'<g><rect x="{x}" y="{y}" width="10.25" height="176"/>'
        f'<text id="month-name" x="{x + 5}" y="{y + 3}" {size} text-anchor="middle">Mar</text>'
        f'<g id="each-date-down"><rect x="{x}" y="{y + 5}" width="10.25" height="170"/>'
        f'<g><rect x="{x}" y="{y + 5}" width="10.25" height="5.3" stroke="#949b93"/>'
        f'<text id="date-number" x="{x + 3.6}" y="{y + 8.6}" {size} text-anchor="end">1</text>'
        f'<text id="date-name" x="{x + 4.3}" y="{y + 8.6}" {size}>Mo</text></g></g></g>'
    )


def year_of(content: Callable[[float, float], tuple[str, str]], x: float) -> str:
    """A page for a year with something for each month, its left edge at x."""
    name, month = content(x, 24.0)
    return (
        '<svg xmlns="http://www.w3.org/2000/svg" width="148mm" height="210mm"'
        ' viewBox="0 0 148 210" font-family="Source Sans 3"><g fill="none" stroke-width="0.25">'
        f'<g id="{name}"><rect x="{x}" y="24" width="123" height="176"/>{month}</g></g>'
        f'<text id="year" x="{x}" y="17" font-size="8">2027</text></svg>'
    ).replace("<text ", '<text fill="#4d534e" ')


MARCH = '[[period]]\nname = "march"\nfrom = 2027-03-31\nto = 2027-04-01\n'


@dataclass(frozen=True)
class Built:
    """A sound workspace, and a cache of what it drew."""

    season: Path
    cache: Path

    def findings(
        self, out: Path, plan: SeasonPlan | None = None, against: SeasonPlan | None = None
    ) -> set[str]:
        """The rules that find something in what is built from a plan, held against another."""
        own = plan_season(self.season)
        with mock.patch("pipeline.app.build.plan_season", return_value=plan or own):
            make_season(self.season, out, cache=self.cache)
        (folder,) = out.glob("*/*/*/*")
        return {one.rule for one in findings_of(folder, against or own)}


@pytest.fixture(scope="module")
def built(tmp_path_factory: pytest.TempPathFactory) -> Built:
    folder = tmp_path_factory.mktemp("shop")
    return Built(shop(folder, '["en-GB"]', MARCH, DAYS), folder / "cache")


def changed(plan: SeasonPlan, template: str, change: Callable[[Facts], Facts]) -> SeasonPlan:
    """The plan with the facts of the first page of a template changed."""
    (one,) = plan.sets
    first = next(page for page in one.pages if page.template == template)

    def of(page: Page) -> Page:
        return replace(page, facts=change(page.facts)) if page is first else page

    return with_spreads(
        plan, lambda all_: tuple(Spread(of(one.verso), one.recto and of(one.recto)) for one in all_)
    )


def says(**texts: str) -> Callable[[Facts], Facts]:
    """Facts with other texts; _ stands for -."""
    new = {key.replace("_", "-"): (text,) for key, text in texts.items()}
    assert all(new.values())
    return lambda facts: replace(facts, texts={**facts.texts, **new})


def later(facts: Facts) -> Facts:
    """Each cell of the grid with the figure of the next one."""
    begin = "month1-" if "month1-cell1-number" in facts.texts else ""
    figures = {
        f"{begin}cell{n}-number": facts.texts[f"{begin}cell{n + 1}-number"] for n in range(1, 42)
    }
    return replace(facts, texts={**facts.texts, **figures})


def other_heads(facts: Facts) -> Facts:
    """Each weekday's name over the next one's column."""
    names = {f"weekday{n}-name": facts.texts[f"weekday{n % 7 + 1}-name"] for n in range(1, 8)}
    return replace(facts, texts={**facts.texts, **names})


def march_for_april(facts: Facts) -> Facts:
    """The small month of March under April's name."""
    return replace(facts, months={**facts.months, "month2-grid": facts.months["month1-grid"]})


# March 2027 begins on a Monday: cell 1 is the 1st. Good Friday is the 26th.
SPOILT = {
    # what was done: (finding, page, change)
    "two dates of a grid exchanged": (
        "date-weekday", "grid-verso", says(cell10_number="11", cell11_number="10")),
    "a date of a grid lost": ("date-missing", "grid-verso", says(cell17_number="")),
    "a date of a grid doubled": ("date-doubled", "grid-verso", says(cell18_number="17")),
    "a grid's date that is none": ("date-wrong", "grid-verso", says(cell18_number="88")),
    "a date from the week before": ("date-doubled", "grid-verso", says(cell18_number="11")),
    "a feast in the next cell": (
        "date-wrong", "grid-verso", says(cell26_feast="", cell27_feast="Good Friday")),
    "a feast lost": ("date-missing", "grid-verso", says(cell26_feast="")),
    "two dates of a tracker exchanged": (
        "date-weekday", "tracker-recto", says(date10_number="11", date11_number="10")),
    "a date of a tracker lost": ("date-missing", "tracker-recto", says(date31_number="")),
    "a date of a tracker doubled": ("date-doubled", "tracker-recto", says(date31_number="30")),
    "an hour lost": ("date-missing", "day-verso", says(hour12="")),
    "an hour doubled": ("date-wrong", "day-verso", says(hour12="11:00")),
    "the day before on a day's page": ("date-wrong", "day-recto", says(day_date="30 March")),
    "two dates of a year's cells exchanged": (
        "date-weekday", "cells-verso", says(month1_cell10_number="11", month1_cell11_number="10")),
    "a date of a year's cells lost": (
        "date-missing", "cells-verso", says(month1_cell17_number="")),
    "a date of a year's cells doubled": (
        "date-doubled", "cells-verso", says(month2_cell18_number="14")),
    "other weekdays over a year's cells": ("date-wrong", "cells-verso", other_heads),
    "two dates of a year's months exchanged": (
        "date-weekday", "dates-recto", says(month2_date10_number="11", month2_date11_number="10")),
    "a date of a year's months lost": (
        "date-missing", "dates-recto", says(month2_date30_number="")),
    "a date of a year's months doubled": (
        "date-doubled", "dates-recto", says(month1_date31_number="30")),
    "another month in a year": ("date-weekday", "year-verso", march_for_april),
    "two months' names exchanged": (
        "date-wrong", "year-verso", says(month1_name="April", month2_name="March")),
}  # fmt: skip


def test_nothing_is_found_in_sound_pages(built: Built, tmp_path: Path) -> None:
    assert built.findings(tmp_path) == set()


@pytest.mark.parametrize("what", SPOILT)
def test_a_fault_gives_its_finding_and_no_other(built: Built, tmp_path: Path, what: str) -> None:
    rule, template, change = SPOILT[what]
    plan = plan_season(built.season)
    assert built.findings(tmp_path, changed(plan, template, change)) == {rule}


@pytest.mark.parametrize("template", ["grid-verso", "cells-verso"])
@pytest.mark.parametrize("change", [later, other_heads])
def test_a_wrong_plan_is_no_excuse(
    built: Built, tmp_path: Path, change: Callable[[Facts], Facts], template: str
) -> None:
    """Dates are held against Python's calendar, not against what the program believed."""
    plan = changed(plan_season(built.season), template, change)
    assert built.findings(tmp_path, plan, plan) == {"date-weekday"}


WHOLE_YEAR = '[[period]]\nname = "whole"\nmonths = ["2027-01", "2027-12"]\n'


@pytest.mark.parametrize("more", ["", pytest.param(WHOLE_YEAR, marks=pytest.mark.wide)])
def test_no_false_alarm_in_months_of_two_years(more: str, tmp_path: Path) -> None:
    """Months of 28 to 31 days, of four to six weeks, from the left and from the right."""
    periods = more + '[[period]]\nname = "leap"\nmonths = ["2028-01", "2028-02"]\n'
    season = shop(tmp_path, '["en-GB", "ar-EG"]', periods, MONTHS)
    assert len(make_season(season, tmp_path / "build")) == (4 if more else 2)
    found = check_season(season, tmp_path / "build")
    assert not found, told(found)
