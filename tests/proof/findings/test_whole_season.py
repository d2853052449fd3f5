"""Seasons that would be sold wrong: each fault gives its own finding, and sound seasons none."""

from __future__ import annotations

from pathlib import Path

import pytest

from pipeline.plan import plan_season
from pipeline.proof.findings import SetFinding
from pipeline.proof.findings.wholeseason import season_findings
from tests.conftest import ROOT
from tests.proof.findings.garden import Garden

SOUND = """
name = "2027-spring"
title = "Spring 2027"
collection = "kitchen_garden"
language = ["en-GB", "de"]
sizes = ["a5"]
papers = ["a4"]
weeks = "majority"

[[period]]
name = "march"
title.en = "March"
title.de = "März"
month = "2027-03"

[[period]]
name = "april"
month = "2027-04"

[[period]]
name = "quarter"
title = "March to May 2027"
months = ["2027-03", "2027-05"]

[[period]]
name = "may"
month = "2027-05"

[[set]]
name = "running"
title = "Running weeks"
spreads = [
  { verso = "week-running-verso", recto = "week-running-recto", per = "week" },
  { verso = "plain-list", recto = "notes", per = "week" },
]
"""

FAULTS = {
    # what is typed: (in place of, rule, in which part)
    'title = "Spring 2026"': ('title = "Spring 2027"', "year-wrong", "title"),
    'title = "Spring 2024/25"': ('title = "Spring 2027"', "year-wrong", "title"),
    'title = "Running weeks 2026"': ('title = "Running weeks"', "year-wrong", "set 'running'"),
    'title = "Running weeks for \'26"': ('title = "Running weeks"', "", ""),
    'title = "Running weeks of March \'26"':
        ('title = "Running weeks"', "year-wrong", "set 'running'"),
    'title.en = "April"': ('title.en = "March"', "period-wrong", "period 'march'"),
    'title.de = "Mai"': ('title.de = "März"', "period-wrong", "period 'march'"),
    'title = "March to May 2026"':
        ('title = "March to May 2027"', "year-wrong", "period 'quarter'"),
    'title = "June to August 2027"':
        ('title = "March to May 2027"', "period-wrong", "period 'quarter'"),
    'title = "January to March 2027"':
        ('title = "March to May 2027"', "period-wrong", "period 'quarter'"),
    'title = "Quarter, week 40"':
        ('title = "March to May 2027"', "period-wrong", "period 'quarter'"),
    'name = "june"\nmonth = "2027-04"':
        ('name = "april"\nmonth = "2027-04"', "period-wrong", "period 'june'"),
    'name = "april-2026"\nmonth = "2027-04"':
        ('name = "april"\nmonth = "2027-04"', "year-wrong", "period 'april-2026'"),
    'month = "2028-05"': ('month = "2027-05"', "year-wrong", "period 'may'"),
    'from = 2027-04-01\nto = 2027-04-20':
        ('month = "2027-04"', "weeks-missing", "periods 'april' and 'may'"),
    'from = 2027-03-25\nto = 2027-04-30':
        ('month = "2027-04"', "weeks-twice", "periods 'march' and 'april'"),
    '{ verso = "week-running-verso", recto = "week-running-recto", per = "week" },':
        ('{ verso = "plain-list", recto = "notes", per = "week" },', "spread-twice",
         "set 'running'"),
}  # fmt: skip

LABELS = {
    "sow = \"sow by 5 March\"": ("label-dated", "look"),
    "sow = \"sow by 5 July\"": ("label-dated", "must"),
    "sow = \"2026\"": ("label-dated", "must"),
    "sow = \"W9\"": ("label-dated", "look"),
    "sow = \"May\"": ("label-dated", "look"),
    "sow = \"Friday\"": ("label-dated", "look"),
}  # fmt: skip


def found_in(garden: Garden) -> list[SetFinding]:
    """What is said of its season file."""
    return list(season_findings(plan_season(garden.season_file), garden.season_file))


def rules(found: list[SetFinding]) -> set[tuple[str, str]]:
    """Each rule with the part of the season file that breaks it."""
    return {(one.rule, one.template.partition(", ")[2]) for one in found}


@pytest.fixture
def garden(tmp_path: Path) -> Garden:
    """A garden with a sound season of three months and their quarter."""
    planted = Garden.planted(tmp_path / "garden", "en-GB", tmp_path / "cache")
    planted.season_file.write_text(SOUND, "utf-8")
    return planted


def test_nothing_is_found_in_a_sound_season(garden: Garden) -> None:
    assert found_in(garden) == []


@pytest.mark.parametrize("season", sorted((ROOT / "seasons").glob("*.toml")), ids=lambda p: p.stem)
def test_nothing_is_found_in_the_demo_seasons(season: Path) -> None:
    assert list(season_findings(plan_season(season), season)) == []


@pytest.mark.parametrize("typed", FAULTS)
def test_a_fault_in_a_season_gives_its_own_finding(typed: str, garden: Garden) -> None:
    instead_of, rule, part = FAULTS[typed]
    assert SOUND.count(instead_of) == 1
    garden.season_file.write_text(SOUND.replace(instead_of, typed), "utf-8")
    assert rules(found_in(garden)) == ({(rule, part)} if rule else set())


@pytest.mark.parametrize("typed", LABELS)
def test_a_label_that_tells_a_time_is_found(typed: str, garden: Garden) -> None:
    file = garden.folder / "templates_svg" / "kitchen_garden" / "labels" / "en.toml"
    before = file.read_text("utf-8")
    file.write_text(before.replace('sow = "sow"', typed), "utf-8")
    assert file.read_text("utf-8") != before
    rule, severity = LABELS[typed]
    (one,) = found_in(garden)
    assert (one.rule, one.severity.value, one.template) == (
        rule, severity, "garden.toml, labels/en.toml"
    )  # fmt: skip
