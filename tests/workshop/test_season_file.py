"""Season files changed at the desk: just what was asked for, and nothing over somebody's hand."""

from __future__ import annotations

import difflib
from pathlib import Path
from typing import Any

import pytest
from pydantic import TypeAdapter

from pipeline.base.errors import UserError
from pipeline.desk.desk import ChangedMeanwhileError
from pipeline.plan.season import load_season
from pipeline.workshop.seasonfile import Change, SeasonFile
from tests.conftest import ROOT

CHANGE: TypeAdapter[Change] = TypeAdapter(Change)
TEXT = """\
# What I sell in spring.
name = "spring"
title = { en = "Spring", de = "Frühling" }  # both languages
collection = "kitchen_garden"
language = ["en-GB", "de"]
sizes = ["a5"]
papers = ["a4"]  # more later

# One month for now.
[[period]]
name = "march"
month = "2027-03"

[[set]]
name = "weeks"
title = { en = "Weeks", de = "Wochen" }
spreads = [
  { verso = "week-two-flap-verso", recto = "week-two-flap-recto", per = "week" },  # the week
  { verso = "plain-list", recto = "notes", per = "month" },
]

# Not dated.
[[set]]
name = "plants"
title = { en = "Plants", de = "Pflanzen" }
leaves = [{ recto = "plant-record", verso = "plant-record-ruled" }]
"""


@pytest.fixture
def file(tmp_path: Path) -> SeasonFile:
    """A season of the demo's drawings."""
    (tmp_path / "templates_svg").symlink_to(ROOT / "templates_svg")
    path = tmp_path / "seasons" / "spring.toml"
    path.parent.mkdir()
    path.write_text(TEXT, "utf-8")
    return SeasonFile(path)


def change(file: SeasonFile, **said: Any) -> list[str]:
    """Makes a change; the lines that went, and those that came."""
    before = file.text
    file.change(file.version, CHANGE.validate_python(said))
    lines = difflib.ndiff(before.splitlines(), file.text.splitlines())
    return [line for line in lines if line[0] in "+-"]


def test_a_setting_is_changed_where_it_stands_and_its_comment_stays(file: SeasonFile) -> None:
    assert change(file, do="setting", field="papers", value=["a4", "letter"]) == [
        '- papers = ["a4"]  # more later',
        '+ papers = ["a4", "letter"]  # more later',
    ]


def test_a_new_setting_comes_before_the_tables(file: SeasonFile) -> None:
    assert change(file, do="setting", field="weeks", value="touches") == ['+ weeks = "touches"']
    assert load_season(file.path).weeks == "touches"
    assert change(file, do="setting", field="weeks", value=None) == ['- weeks = "touches"']


def test_a_title_is_changed_in_one_language(file: SeasonFile) -> None:
    assert change(file, do="title", set="plants", language="de", text="Meine Pflanzen") == [
        '- title = { en = "Plants", de = "Pflanzen" }',
        '+ title = { en = "Plants", de = "Meine Pflanzen" }',
    ]


def test_a_first_line_is_said_said_otherwise_and_taken_out(file: SeasonFile) -> None:
    before = file.text
    asked = {"do": "first-line", "set": "plants"}
    assert change(file, **asked, language="de", text="Für jede Pflanze.") == [
        '+ lead = {de = "Für jede Pflanze."}'
    ]
    change(file, **asked, language="en", text="For every plant.")
    change(file, **asked, language="de", text="")
    assert 'lead = {en = "For every plant."}' in file.text
    change(file, **asked, language="en", text="")
    assert file.text == before
    assert change(file, **asked, text="For all.") == ['+ lead = "For all."']


def test_a_period_is_added_named_and_taken_out(file: SeasonFile) -> None:
    change(file, do="period", first="2027-04", last="2027-04")
    change(file, do="period", first="2027-05", last="2027-07")
    change(file, do="period", first="2028-04", last="2028-04")
    names = [period.name for period in load_season(file.path).period]
    assert names == ["march", "april", "may-july", "april-2028"]
    change(file, do="without", what="period", name="april")
    assert "april" not in [period.name for period in load_season(file.path).period]
    assert "# One month for now." in file.text


def test_spreads_are_moved_added_and_taken_out(file: SeasonFile) -> None:
    week = {"was": 0, "verso": "week-two-flap-verso", "recto": "week-two-flap-recto", "per": "week"}
    lists = {"was": 1, "verso": "plain-list", "recto": "notes", "per": "week", "every": 2}
    plan = {"was": -1, "verso": "sowing-list", "recto": "bed-plan", "per": "once"}
    change(file, do="rhythm", set="weeks", spreads=[plan, lists, week])
    [weeks, _] = load_season(file.path).set
    assert [(one.verso, one.per, one.every) for one in weeks.spreads or ()] == [
        ("sowing-list", "once", 1), ("plain-list", "week", 2), ("week-two-flap-verso", "week", 1),
    ]  # fmt: skip
    change(file, do="rhythm", set="weeks", spreads=[week | {"was": 2}])
    assert len(load_season(file.path).set[0].spreads or ()) == 1


def test_a_spread_is_changed_where_it_stands(file: SeasonFile) -> None:
    week = {"was": 0, "verso": "week-two-flap-verso", "recto": "week-two-flap-recto", "per": "week"}
    lists = {"was": 1, "verso": "plain-list", "recto": "plain-list", "per": "month"}
    assert change(file, do="rhythm", set="weeks", spreads=[week, lists]) == [
        '-   { verso = "plain-list", recto = "notes", per = "month" },',
        '+   { verso = "plain-list", recto = "plain-list", per = "month" },',
    ]


def test_a_set_is_added_and_called_in_every_language(file: SeasonFile) -> None:
    spread = {"was": -1, "verso": "plain-list", "recto": "notes", "per": "week"}
    change(file, do="set", name="lists", title="Lists", spread=spread)
    assert load_season(file.path).set[-1].title == {"en": "Lists", "de": "Lists"}


def test_a_period_for_each_month_leaves_those_alone_that_are_there(file: SeasonFile) -> None:
    change(file, do="period", first="2027-02", last="2027-05", each=True)
    season = load_season(file.path)
    assert [period.name for period in season.period] == ["march", "february", "april", "may"]
    assert all(period.month for period in season.period)
    file.undo(file.version)
    assert [period.name for period in load_season(file.path).period] == ["march"]


@pytest.mark.parametrize(
    ("said", "told"),
    [
        ({"do": "setting", "field": "papers", "value": ["a44"]}, "no such paper"),
        ({"do": "setting", "field": "sizes", "value": []}, "sizes"),
        ({"do": "without", "what": "period", "name": "march"}, "the season has no period"),
        ({"do": "period", "first": "2027-05", "last": "2027-04"}, "is empty"),
    ],
)
def test_what_cannot_be_planned_is_told_and_not_written(
    file: SeasonFile, said: dict[str, Any], told: str
) -> None:
    with pytest.raises(UserError, match=told) as problem:
        change(file, **said)
    assert "spring.toml" in problem.value.where
    assert ".spring.toml" not in str(problem.value)
    assert file.text == TEXT
    assert sorted(path.name for path in file.path.parent.iterdir()) == ["spring.toml"]
    assert not file.can_undo


def test_a_change_by_hand_is_never_written_over(file: SeasonFile) -> None:
    seen = file.version
    file.path.write_text(TEXT.replace("Plants", "All plants"), "utf-8")
    with pytest.raises(ChangedMeanwhileError):
        file.change(seen, CHANGE.validate_python({"do": "title", "language": "en", "text": "New"}))
    assert "All plants" in file.text


def test_changes_are_taken_back_one_by_one(file: SeasonFile) -> None:
    change(file, do="setting", field="papers", value=["letter"])
    change(file, do="setting", field="language", value=["de"])
    file.undo(file.version)
    assert 'papers = ["letter"]' in file.text
    assert 'language = ["en-GB", "de"]' in file.text
    file.undo(file.version)
    assert file.text == TEXT
    assert not file.can_undo


def test_a_set_that_is_not_there_is_not_changed(file: SeasonFile) -> None:
    with pytest.raises(KeyError):
        change(file, do="without", what="set", name="nothing")
    assert file.text == TEXT


def test_what_can_only_mean_one_thing_is_written_properly(file: SeasonFile) -> None:
    loose = TEXT.replace('["a5"]', '["A5"]').replace('"2027-03"', '"2027-3"')
    file.path.write_text(loose.replace('verso = "plain-list"', 'verso = "plain-list.svg"'), "utf-8")
    change(file, do="title", set="plants", language="de", text="Meine Pflanzen")
    assert file.text == TEXT.replace("Pflanzen", "Meine Pflanzen", 1)


def test_quotes_of_a_letter_are_written_straight(file: SeasonFile) -> None:
    file.path.write_text(TEXT.replace('["a5"]', "[“a5”]"), "utf-8")
    change(file, do="setting", field="papers", value=["letter"])
    assert file.text == TEXT.replace('papers = ["a4"]', 'papers = ["letter"]')


def test_what_is_known_of_days_is_written_and_taken_out(file: SeasonFile) -> None:
    place = {"latitude": 51.5, "longitude": -0.1, "zone": "Europe/London"}
    change(file, do="almanac", holidays=["GB-ENG"], **place)
    entry = load_season(file.path).almanac
    assert entry is not None
    assert (entry.holidays, entry.latitude, entry.zone) == (["GB-ENG"], 51.5, "Europe/London")
    change(file, do="almanac", holidays=[], latitude=None, longitude=None, zone="")
    assert load_season(file.path).almanac is None
    change(file, do="setting", field="editions", value=["sheets", "screen"])
    assert load_season(file.path).for_screen is not None


def test_trimmers_postage_and_the_lead_are_written_and_taken_out(file: SeasonFile) -> None:
    change(file, do="bench", field="money", value="EUR")
    came = change(file, do="trimmer", name="rotary", sheets=3, cut_mm=320.0)
    assert came == ["+ ", "+ [bench.trimmer.rotary]", "+ sheets = 3", "+ cut_mm = 320"]
    file.path.write_text(file.text.replace("sheets = 3", "sheets = 3  # no more"), "utf-8")
    change(file, do="trimmer", name="guillotine", sheets=40, cut_mm=None)
    change(file, do="trimmer", name="rotary", sheets=4, cut_mm=None)
    assert "sheets = 4  # no more" in file.text
    bench = load_season(file.path).bench
    assert {name: (one.sheets, one.cut_mm) for name, one in bench.trimmer.items()} == {
        "rotary": (4, None),
        "guillotine": (40, None),
    }
    change(file, do="postage", rows=[(500.0, 2.55), (50.0, 1.1)])
    assert "postage = [[50, 1.1], [500, 2.55]]" in file.text
    change(file, do="lead", days=60)
    assert load_season(file.path).publish.lead_days == 60
    before = file.text
    for wrong in (
        {"do": "trimmer", "name": "rotary", "sheets": 0, "cut_mm": None},
        {"do": "trimmer", "name": "a b", "sheets": 3, "cut_mm": None},
        {"do": "postage", "rows": [(-1.0, 2.0)]},
        {"do": "lead", "days": -1},
    ):
        with pytest.raises(UserError):
            change(file, **wrong)
    assert file.text == before
    for name in ("rotary", "guillotine"):
        change(file, do="without", what="trimmer", name=name)
    change(file, do="postage", rows=[])
    change(file, do="lead", days=None)
    change(file, do="bench", field="money", value=None)
    assert file.text.rstrip() == TEXT.rstrip()
