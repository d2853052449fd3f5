"""What a page can show: keys, forms, flags and small months."""

from __future__ import annotations

import datetime as dt
from collections.abc import Mapping
from dataclasses import replace
from pathlib import Path

import pytest

from pipeline.base.errors import UserError
from pipeline.plan.almanac import Almanac, AlmanacEntry
from pipeline.plan.calendar import Week
from pipeline.plan.collection import Collection
from pipeline.plan.facts import (
    NO_MONTH,
    Setting,
    month_facts,
    month_grid,
    months_facts,
    once_facts,
    undated_facts,
    week_facts,
    without_dates,
)
from pipeline.plan.model import Period
from pipeline.plan.words import words_for

TURN = Week(dt.date(2027, 3, 29))


def _setting(
    language: str = "en-GB", first: str = "2027-03-01", last: str = "2027-05-31"
) -> Setting:
    days = dt.date.fromisoformat(first), dt.date.fromisoformat(last)
    period = Period("quarter", "March–May 2027", *days)
    labels: Mapping[str, tuple[str, ...]] = {"sowing": ("Sowing list", "Sowing")}
    return Setting(words_for(language), 0, labels, "Running weeks", period, *days)


def _plain(forms: tuple[str, ...]) -> tuple[str, ...]:
    return tuple(form.replace("\u2009", " ") for form in forms)


def test_a_week_across_a_months_end() -> None:
    facts = week_facts(_setting(), TURN, 4, 13)
    texts = facts.texts
    assert texts["day1-name"] == ("Monday", "Mon", "Mo", "M")
    assert texts["day4-date"] == ("1 April", "1 Apr")
    assert texts["day4-month"] == ("April", "Apr")
    assert texts["day4-number"] == ("1",)
    assert texts["day4-of-year"] == ("91",)
    assert texts["week-number"] == ("13",)
    assert _plain(texts["week-range"]) == ("29 March – 4 April", "29 Mar – 4 Apr")
    assert texts["month-name"] == ("April", "Apr")
    assert (texts["month-number"], texts["year"]) == (("4",), ("2027",))
    assert texts["label-sowing"] == ("Sowing list", "Sowing")
    assert texts["set-title"] == ("Running weeks",)
    assert texts["period-name"] == ("March–May 2027",)
    assert _plain(texts["period-range"])[0] == "1 March – 31 May 2027"
    assert facts.dates == TURN.days
    flags = facts.flags
    assert [n for n in range(1, 8) if flags[f"day{n}-weekend"]] == [6, 7]
    assert [n for n in range(1, 8) if flags[f"day{n}-workday"]] == [1, 2, 3, 4, 5]
    assert [n for n in range(1, 8) if flags[f"day{n}-month-start"]] == [4]
    assert (flags["first-week"], flags["last-week"]) == (False, False)


def test_artwork_of_a_month_is_shown_in_that_month_alone() -> None:
    setting = _setting()
    pages = {
        "april": week_facts(setting, TURN, 4, 13),  # four of its days are in April
        "may": month_facts(setting, dt.date(2027, 5, 1)),
        "march": once_facts(setting),  # the period's first month
    }
    names = [dt.date(2027, month, 1).strftime("%B").lower() for month in range(1, 13)]
    for month, facts in pages.items():
        assert [name for name in names if facts.flags[name]] == [month]
        undated = without_dates(facts).flags
        assert [name for name in names if undated[name]] == []


@pytest.mark.parametrize(("place", "flags"), [(0, (True, False)), (12, (False, True))])
def test_first_and_last_week(place: int, flags: tuple[bool, bool]) -> None:
    facts = week_facts(_setting(), TURN, place, 13)
    assert (facts.flags["first-week"], facts.flags["last-week"]) == flags


def test_a_february_shows_28_dates_and_empties_the_rest() -> None:
    facts = month_facts(_setting(), dt.date(2027, 2, 1))
    assert [n for n in range(1, 32) if facts.flags[f"date{n}"]] == list(range(1, 29))
    assert facts.texts["date28-name"][0] == "Sunday"
    assert facts.texts["date29-number"] == ("",)
    assert len(facts.dates) == 28


def test_the_whole_period_numbers_its_months() -> None:
    facts = once_facts(_setting())
    assert [facts.texts[f"month{k}-name"][0] for k in (1, 2, 3, 4)] == ["March", "April", "May", ""]
    assert facts.flags["month3"]
    assert not facts.flags["month4"]
    assert facts.flags["many-months"]
    assert not facts.flags["one-month"]
    assert facts.months["month12-grid"] == NO_MONTH
    assert facts.texts["year"] == ("2027",)
    assert facts.dates == ()


def test_a_period_of_two_years_names_both() -> None:
    facts = once_facts(_setting(first="2026-11-01", last="2027-02-28"))
    assert facts.texts["year"] == ("2026–2027",)
    assert facts.texts["month3-year"] == ("2027",)


def test_undated_pages_have_labels_and_no_period() -> None:
    facts = undated_facts(_setting())
    assert facts.kind == "undated"
    assert "label-sowing" in facts.texts
    assert "day1-name" not in facts.texts


@pytest.mark.parametrize("first_weekday", range(7))
@pytest.mark.parametrize("month", range(1, 13))
def test_a_small_month_holds_its_days_once_under_their_weekdays(
    month: int, first_weekday: int
) -> None:
    grid = month_grid(replace(_setting(), first_weekday=first_weekday), dt.date(2027, month, 15))
    cells = [(column, cell) for row in grid.rows for column, cell in enumerate(row) if cell]
    assert [cell.date.day for _, cell in cells] == list(range(1, len(cells) + 1))
    assert (cells[-1][1].date + dt.timedelta(days=1)).day == 1
    for column, cell in cells:
        assert cell.date.weekday() == (first_weekday + column) % 7
        assert grid.heads[column] == cell.date.strftime("%A")[0]
        assert cell.weekend == (cell.date.weekday() >= 5)
    assert all(any(row) for row in grid.rows)
    assert len(grid.week_numbers) == len(grid.rows)


def test_days_that_no_page_shows_are_outside_on_pages_about_the_whole_period() -> None:
    """A set of four weeks from Monday 1 March 2027 ends on the 28th."""
    setting = replace(_setting(), last=dt.date(2027, 3, 28))
    for grid, shown in (
        (once_facts(setting).months["month1-grid"], 28),
        (once_facts(_setting()).months["month1-grid"], 31),
        (week_facts(setting, TURN, 4, 13).months["month-grid"], 30),
    ):
        cells = [cell for row in grid.rows for cell in row if cell]
        assert sum(not cell.outside for cell in cells) == shown
        assert all(cell.date.day > shown for cell in cells if cell.outside)


def test_weeks_of_a_set_are_whole_in_the_small_month_of_its_cover() -> None:
    """April's weeks go from 29 March to 2 May 2027; a month of the period itself keeps its own."""
    setting = replace(_setting(), first=dt.date(2027, 3, 29), last=dt.date(2027, 5, 2))
    april, may = dt.date(2027, 4, 1), dt.date(2027, 5, 1)

    def beside(*months: dt.date) -> list[list[str]]:
        grids = months_facts(setting, "once", months).months
        return [
            [
                f"{cell.date:%-d %b}"
                for row in grids[f"month{n}-grid"].rows
                for cell in row
                if cell and cell.date.month != month.month
            ]
            for n, month in enumerate(months, start=1)
        ]

    assert beside(april) == [["29 Mar", "30 Mar", "31 Mar", "1 May", "2 May"]]
    assert beside(april, may) == [["29 Mar", "30 Mar", "31 Mar"], []]


def test_figures_are_the_languages_own() -> None:
    facts = week_facts(_setting("ar-EG"), TURN, 0, 1)
    assert facts.texts["day1-number"] == ("٢٩",)
    assert facts.texts["year"] == ("٢٠٢٧",)
    assert [n for n in range(1, 8) if facts.flags[f"day{n}-weekend"]] == [5, 6]


def test_lists_of_a_collection_are_lines_on_every_page(tmp_path: Path) -> None:
    (tmp_path / "lists").mkdir()
    (tmp_path / "lists" / "beds.csv").write_text(
        "en,de\nBy the wall,An der Mauer\n\nNorth bed,Nordbeet\n", "utf-8"
    )
    collection = Collection("beds", "Beds", tmp_path, {}, {})
    assert collection.lists("de-AT") == {"beds": ("An der Mauer", "Nordbeet")}
    period = Period("undated", "", None, None)
    setting = Setting(words_for("de"), 0, {}, "", period, lists=collection.lists("de"))
    facts = undated_facts(setting)
    assert facts.texts["line-of-beds-2"] == ("Nordbeet",)
    assert facts.counts == {"line-of-beds-": 2, "weekday": 7}
    with pytest.raises(UserError, match=r"no column for 'fr'.*first line says: en, de"):
        collection.lists("fr")
    (tmp_path / "lists" / "beds.csv").write_text("en,de\nSouth bed,\n", "utf-8")
    with pytest.raises(UserError, match="'South bed' has nothing in the column 'de'"):
        collection.lists("de")


def test_a_feast_is_a_free_day_in_dated_sets_alone() -> None:
    """Easter Monday of 2027 is 29 March (England and Wales, from memory)."""
    almanac = Almanac(AlmanacEntry(holidays=["GB-ENG"]), "en-GB")
    dated = replace(_setting(), almanac=almanac)
    undated = replace(dated, first=None, last=None)
    for setting, free in ((dated, [1, 6, 7]), (undated, [6, 7])):
        facts = week_facts(setting, TURN, 0, 1)
        assert [n for n in range(1, 8) if facts.flags[f"day{n}-weekend"]] == free
        assert [n for n in range(1, 8) if not facts.flags[f"day{n}-workday"]] == free
        monday = month_grid(setting, TURN.first).rows[4][0]
        assert monday is not None
        assert monday.weekend is (setting is dated)
