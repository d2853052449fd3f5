"""The range's pages spoilt one by one: each fault gives just its own finding, sound pages none."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, replace
from pathlib import Path
from unittest import mock

import pytest

from pipeline.app.build import make_season
from pipeline.plan import SeasonPlan, plan_season
from pipeline.plan.model import Colours, Facts
from pipeline.proof.findings import findings_of
from tests.conftest import ROOT
from tests.proof.findings.garden import with_set
from tests.proof.findings.test_repeated_dates import changed, says

SEASON = """
name = "range"
title = "Range"
collection = "plain_days"
language = ["en-GB"]
sizes = ["a5"]
papers = ["a4"]
colours = ["clay"]

[almanac]
holidays = ["EG"]
zone = "Europe/London"
latitude = 51.5
longitude = -0.1

[[period]]
name = "june"
month = "2027-06"

[[period]]
name = "two-days"
from = 2027-06-10
to = 2027-06-11

[[period]]
name = "year"
months = ["2027-01", "2027-12"]

[[set]]
name = "months"
title = "Months"
periods = ["june"]
spreads = [
  { verso = "month-left", recto = "month-right", per = "month" },
  { verso = "habit-left", recto = "habit-right", per = "month" },
]

[[set]]
name = "days"
title = "Days"
periods = ["two-days"]
spreads = [{ verso = "day-left", recto = "day-right", per = "day", each_page = true }]

[[set]]
name = "year"
title = "The year"
periods = ["year"]
spreads = [{ verso = "year-left", recto = "year-right", per = "year" }]

[[set]]
name = "undated"
title = "Undated"
dates = "none"
count = 1
spreads = [{ verso = "week-left", recto = "week-right", per = "week" }]
"""


@dataclass(frozen=True)
class Shop:
    """A sound season of the range's pages, and a cache of what it drew."""

    season: Path
    cache: Path

    def plan(self, name: str) -> SeasonPlan:
        """What the season plans for one set."""
        return plan_season(self.season, name)

    def findings(self, out: Path, name: str, plan: SeasonPlan, against: SeasonPlan) -> set[str]:
        """The rules that find something in a set built from a plan, held against another."""
        with mock.patch("pipeline.app.build.plan_season", return_value=plan):
            make_season(self.season, out, only=name, cache=self.cache)
        [folder] = out.glob("*/*/*/*")
        return {one.rule for one in findings_of(folder, against)}


@pytest.fixture(scope="module")
def shop(tmp_path_factory: pytest.TempPathFactory) -> Shop:
    folder = tmp_path_factory.mktemp("range")
    (folder / "templates_svg").symlink_to(ROOT / "templates_svg")
    (folder / "seasons").mkdir()
    season = folder / "seasons" / "range.toml"
    season.write_text(SEASON, "utf-8")
    return Shop(season, folder / "cache")


def next_week(facts: Facts) -> Facts:
    """Every cell of the grid with what belongs a week later."""
    texts = {
        key: facts.texts[key.replace(f"cell{n}-", f"cell{n + 7}-")]
        for n in range(1, 36)
        for key in facts.texts
        if key.startswith(f"cell{n}-")
    }
    return replace(facts, texts={**facts.texts, **texts})


def moon(facts: Facts) -> Facts:
    """A full moon where the last quarter is: 27 June, in the 28th cell."""
    flags = {"cell28-full-moon": True, "cell28-last-quarter": False}
    assert all(facts.flags[flag] is not holds for flag, holds in flags.items())
    return replace(facts, flags={**facts.flags, **flags})


def july_for_june(facts: Facts) -> Facts:
    return replace(facts, months={**facts.months, "month6-grid": facts.months["month7-grid"]})


FEAST = "Islamic New Year (observed, estimated)"

# June 2027 begins on a Tuesday: cell 2 is the 1st. The feast is on Thursday the 10th.
SPOILT: dict[str, tuple[str, str, str, Callable[[Facts], Facts]]] = {
    # what was done: (finding, set, page, change)
    "a grid a week late": ("date-wrong", "months", "month-left", next_week),
    "30 June lost from the grid": (
        "date-missing", "months", "month-left", says(cell31_number="")),
    "30 June lost from the tick list": (
        "date-missing", "months", "habit-left", says(date30_number="")),
    "30 June lost from the columns": (
        "date-missing", "months", "habit-right", says(date30_number="")),
    "a column under another weekday": (
        "date-weekday", "months", "habit-right", says(date9_name="F")),
    "a feast a day late in the grid": (
        "date-wrong", "months", "month-left", says(cell11_feast="", cell12_feast="Islamic New…")),
    "a feast a day late in the rows": (
        "date-wrong", "months", "month-right", says(date10_feast="", date11_feast=FEAST)),
    "a feast lost": ("date-missing", "months", "month-right", says(date10_feast="")),
    "another feast": ("date-wrong", "months", "month-right", says(date10_feast="Coptic Christmas")),
    "a feast on a day that has none": (
        "date-wrong", "days", "day-right", says(day_feast=FEAST)),
    "another sunrise": ("date-wrong", "months", "month-right", says(date3_sunrise="05:21")),
    "another phase of the moon": ("ornament-wrong", "months", "month-left", moon),
    "a line of a list exchanged for another": (
        "date-wrong", "months", "habit-right", says(line_of_habits_3="Read")),
    "a month in the year exchanged": ("date-weekday", "year", "year-left", july_for_june),
    "another month's name in the year": (
        "date-wrong", "year", "year-right", says(month6_name="July")),
    "an hour lost": ("date-missing", "days", "day-left", says(hour12="")),
    "a figure on a page without dates": (
        "date-wrong", "undated", "week-left", says(day3_number="17")),
    "a range on a page without dates": (
        "date-wrong", "undated", "week-left", says(week_range="7–13 June")),
}  # fmt: skip


@pytest.mark.parametrize("name", ["months", "days", "year", "undated"])
def test_nothing_is_found_in_sound_pages(shop: Shop, tmp_path: Path, name: str) -> None:
    assert shop.findings(tmp_path, name, shop.plan(name), shop.plan(name)) == set()


@pytest.mark.parametrize("what", SPOILT)
def test_a_fault_gives_its_finding_and_no_other(shop: Shop, tmp_path: Path, what: str) -> None:
    rule, name, template, change = SPOILT[what]
    plan = shop.plan(name)
    assert shop.findings(tmp_path, name, changed(plan, template, change), plan) == {rule}


NO_EXCUSE = (
    "a grid a week late",
    "a feast a day late in the grid",
    "a feast a day late in the rows",
    "a feast lost",
    "another feast",
    "a feast on a day that has none",
    "another phase of the moon",
)


@pytest.mark.parametrize("what", NO_EXCUSE)
def test_a_wrong_plan_is_no_excuse(shop: Shop, tmp_path: Path, what: str) -> None:
    """Dates, feasts and the moon are held against the calendar, not against what was planned."""
    rule, name, template, change = SPOILT[what]
    plan = changed(shop.plan(name), template, change)
    assert shop.findings(tmp_path, name, plan, plan) == {rule}


def test_a_colour_that_was_not_changed(shop: Shop, tmp_path: Path) -> None:
    """Labels and figures stay in the grey they were drawn in."""
    plan = shop.plan("undated")
    [one] = plan.sets
    assert one.colours is not None
    kept = tuple(pair for pair in one.colours.change if pair[0] != (0x4D, 0x53, 0x4E))
    assert len(kept) == len(one.colours.change) - 1
    spoilt = with_set(plan, replace(one, colours=Colours(one.colours.name, kept)))
    assert shop.findings(tmp_path, "undated", spoilt, plan) == {"colour-unchanged"}
