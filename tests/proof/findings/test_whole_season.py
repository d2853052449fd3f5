"""Seasons that would be sold wrong: each fault gives its own finding, and sound seasons none."""

from __future__ import annotations

import itertools
from pathlib import Path

import pytest

from pipeline.plan import plan_season
from pipeline.plan.collection import load_collection
from pipeline.plan.spoken import other_language
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

LABELS_FILES = {
    # what was done: (whose words each file has, {file named: part of the message})
    "German and French labels files exchanged": (
        {"de": "fr", "fr": "de"}, {"de": "are French, those of labels/fr.toml are German"}),
    "English and German labels files exchanged": (
        {"de": "en", "en": "de"}, {"de": "are English, those of labels/en.toml are German"}),
    "Spanish and French labels files exchanged": (
        {"es": "fr", "fr": "es"}, {"es": "are French, those of labels/fr.toml are Spanish"}),
    "Arabic and Greek labels files exchanged": (
        {"ar": "el", "el": "ar"}, {"ar": "are Greek, those of labels/el.toml are Arabic"}),
    "Hindi and Japanese labels files exchanged": (
        {"hi": "ja", "ja": "hi"}, {"hi": "are Japanese, those of labels/ja.toml are Hindi"}),
    "Polish and Arabic labels files exchanged": (
        {"pl": "ar", "ar": "pl"}, {"ar": "are Polish, those of labels/pl.toml are Arabic"}),
    "the English labels copied and not translated into French": (
        {"fr": "en"}, {"fr": "41 of its 41 labels say the same as labels/en.toml"}),
    "the English labels copied and not translated into Japanese": (
        {"ja": "en"}, {"ja": "41 of its 41 labels say the same as labels/en.toml"}),
    "the German labels copied for Greek": (
        {"el": "de"}, {"el": "41 of its 41 labels say the same as labels/de.toml"}),
    "three labels files passed round": (
        {"de": "es", "es": "pl", "pl": "de"},
        {"de": "its words are Spanish, such as 'El huerto de casa' (title)",
         "es": "its words are Polish", "pl": "its words are German"}),
    "American labels exchanged with the others": (
        {"en": "en-US", "en-US": "en"}, {"en": "labels/en-US.toml, which only adds to it"}),
}  # fmt: skip
"""Whole labels files with the words of others."""

TEN = '["en-GB", "en-US", "de", "fr", "es", "pl", "el", "ar-EG", "hi", "ja"]'


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


def with_all_languages(garden: Garden) -> Path:
    """A season of the demo's ten languages; its labels' folder."""
    sound = SOUND.replace('["en-GB", "de"]', TEN).replace('title.de = "März"\n', "")
    garden.season_file.write_text(sound.replace('title.en = "March"\n', ""), "utf-8")
    return garden.folder / "templates_svg" / "kitchen_garden" / "labels"


@pytest.mark.parametrize("done", LABELS_FILES)
def test_a_labels_file_in_another_language_is_found(done: str, garden: Garden) -> None:
    words, named = LABELS_FILES[done]
    labels = with_all_languages(garden)
    before = {file.stem: file.read_bytes() for file in labels.glob("*.toml")}
    for tag, other in words.items():
        (labels / f"{tag}.toml").write_bytes(before[other])
    # Sets that lack labels now are told of where they are planned.
    plan = plan_season(garden.season_file, language="de")
    found = list(season_findings(plan, garden.season_file))
    assert {one.rule for one in found} == {"labels-file-language"}
    said = {one.template.removeprefix("garden.toml, labels/"): one.message for one in found}
    assert said.keys() == {f"{tag}.toml" for tag in named}
    for tag, part in named.items():
        assert part in said[f"{tag}.toml"]


def test_each_labels_file_of_the_demo_is_told_from_all_others() -> None:
    """Every file under every other's name, and none under its own."""
    files = load_collection("kitchen_garden", ROOT / "seasons" / "demo.toml").labels_by_file()
    own = {tag: [form for forms in labels.values() for form in forms]
           for tag, labels in files.items() if tag != "en-US"}  # fmt: skip
    for tag, name in itertools.product(own, own):
        assert other_language(own[tag], name, own) == (None if tag == name else tag)


@pytest.mark.parametrize(("english", "american"), [("colours", "colors"), ("colors", "colours")])
def test_american_words_in_the_others_file_are_found(
    garden: Garden, english: str, american: str
) -> None:
    labels = with_all_languages(garden)
    for tag, word in (("en", english), ("en-US", american)):
        file = labels / f"{tag}.toml"
        file.write_text(f'shades = "{word}"\n' + file.read_text("utf-8"), "utf-8")
    plan = plan_season(garden.season_file, language="de")
    found = [(one.rule, one.template) for one in season_findings(plan, garden.season_file)]
    wrong = english == "colors"
    assert found == [("labels-file-language", "garden.toml, labels/en.toml")] * wrong
