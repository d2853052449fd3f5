"""The season after a season: what moves on, what stays, and what the maker is told."""

from __future__ import annotations

import datetime as dt
import re
import shutil
import tomllib
from pathlib import Path

import holidays
import pytest
from icalendar import Calendar

from pipeline.app.build import make_season
from pipeline.app.check import check_season
from pipeline.app.following import next_season
from pipeline.base.errors import UserError
from pipeline.workshop.overview import calendar_file, calendar_of
from tests.conftest import ROOT


@pytest.fixture
def seasons(tmp_path: Path) -> Path:
    shutil.copytree(ROOT / "templates_svg", tmp_path / "templates_svg")
    shutil.copytree(ROOT / "seasons", tmp_path / "seasons")
    return tmp_path / "seasons"


def only_running(file: Path) -> Path:
    """A season with its weeks on one flap alone, for A4."""
    head, *sets = file.read_text("utf-8").split("[[set]]")
    weeks = next(one for one in sets if 'name = "running"' in one)
    text = f"{head}[[set]]{weeks}".replace('["letter", "a4"]', '["a4"]')
    text = re.sub("(?m)^close_up = .*\n", "", text)  # of pages of other sets
    file.write_text(text, "utf-8")
    return file


def test_spring_is_followed_by_summer_which_builds_clean(seasons: Path, tmp_path: Path) -> None:
    spring = only_running(seasons / "2027-spring.toml")
    made = next_season(spring)
    assert made.path.name == "2027-summer.toml"
    title, lead = made.said
    assert title == "the new season is called 'Summer 2027' (after 'Spring 2027')"
    assert lead.startswith("a listing begins with 'The whole week on one spread")
    before, after = (tomllib.loads(one.read_text("utf-8")) for one in (spring, made.path))
    assert after["title"] == "Summer 2027"
    assert [(one["name"], one.get("month", one.get("months"))) for one in after["period"]] == [
        ("june", "2027-06"),
        ("july", "2027-07"),
        ("august", "2027-08"),
        ("quarter", ["2027-06", "2027-08"]),
    ]
    assert after["set"] == before["set"]
    assert "# A week belongs to the month" in made.path.read_text("utf-8")
    text = made.path.read_text("utf-8")
    made.path.write_text(re.sub(r'\[\[period]]\nname = "(?:july|august|quarter)"\n.*\n', "", text))
    make_season(made.path, tmp_path / "build", cache=tmp_path / "cache")
    assert check_season(made.path, tmp_path / "build") == []


def test_what_is_typed_and_what_moves_otherwise_is_told(seasons: Path) -> None:
    page = seasons.parent / "templates_svg/kitchen_garden/a5/year-verso.svg"
    drawn = page.read_text("utf-8")
    typed = '<text x="20" y="190" font-family="Vollkorn" font-size="4">Happy New Year 2027</text>'
    page.write_text(drawn.replace("</svg>", f"{typed}</svg>"), "utf-8")
    made = next_season(seasons / "2027-garden-line.toml")
    assert (
        "the new season is called 'Das Gartenjahr 2028' (after 'Das Gartenjahr 2027')" in made.said
    )
    assert any("year-verso.svg" in line and "2027" in line for line in made.said)
    moved = [line for line in made.said if line.startswith("Easter Monday is on ")]
    days = [
        holidays.country_holidays("GB", "ENG", years=year).get_named("Easter Monday")[0]
        for year in (2028, 2027)
    ]
    now, then = (f"{day.day} {day:%B} {day.year}" for day in days)
    assert moved == [f"Easter Monday is on {now}, and was on {then}"]
    assert not any(line.startswith("Christmas Day") for line in made.said)
    after = tomllib.loads(made.path.read_text("utf-8"))
    days_of = next(one for one in after["period"] if one["name"] == "may-days")
    assert days_of["from"] == dt.date(2028, 5, 1)


def test_figures_of_other_scripts_and_weeks_by_days(seasons: Path) -> None:
    weeks = seasons / "weeks.toml"
    weeks.write_text(
        'name = "weeks-2027"\ntitle = { en = "Weeks", ar = "أسابيع ٢٠٢٧" }\n'
        'collection = "kitchen_garden"\nlanguage = ["en-GB"]\nsizes = ["a5"]\npapers = ["a4"]\n'
        '[[period]]\nname = "run"\nfrom = 2027-10-04\nto = 2028-01-02\n'
        '[[set]]\nname = "running"\nspreads = [{ verso = "week-running-verso",'
        ' recto = "week-running-recto", per = "week" }]\n',
        "utf-8",
    )
    after = tomllib.loads(next_season(weeks).path.read_text("utf-8"))
    assert (after["name"], after["title"]["ar"]) == ("weeks-2028", "أسابيع ٢٠٢٨")
    run = after["period"][0]
    assert (run["from"], run["to"]) == (dt.date(2028, 1, 3), dt.date(2028, 4, 2))


def test_nothing_is_written_over_and_a_season_without_dates_has_none_after_it(
    seasons: Path,
) -> None:
    spring = only_running(seasons / "2027-spring.toml")
    made = next_season(spring).path
    before = made.read_bytes()
    with pytest.raises(UserError, match="is there already"):
        next_season(spring)
    assert made.read_bytes() == before
    text = (ROOT / "seasons" / "2027-spring.toml").read_text("utf-8")
    head, *parts = text.split("[[")
    kept = [one for one in parts if 'name = "plant-record"' in one]
    text = re.sub("(?m)^close_up = .*\n", "", "[[".join([head, *kept]))
    (seasons / "records.toml").write_text(text, "utf-8")
    with pytest.raises(UserError, match="has no dates"):
        next_season(seasons / "records.toml")
    assert not list(seasons.glob(".*"))


def test_the_calendar_says_what_is_due_and_what_is_out(seasons: Path) -> None:
    files = [seasons / "2027-spring.toml", seasons / "2027-spring-sizes.toml"]
    lines = calendar_of(files, dt.date(2027, 2, 1))
    assert [(one.season, one.period, one.state) for one in lines] == [
        ("2027-spring", "march", "due"),
        ("2027-spring", "quarter", "due"),
        ("2027-spring-sizes", "march", "due"),
        ("2027-spring", "april", "planned"),
        ("2027-spring", "may", "planned"),
    ]
    assert (lines[0].sets, lines[0].due) == (6, dt.date(2027, 3, 1) - dt.timedelta(days=42))
    events = Calendar.from_ical(calendar_file(lines)).walk("VEVENT")
    assert [event.decoded("dtstart") for event in events] == [one.due for one in lines]
