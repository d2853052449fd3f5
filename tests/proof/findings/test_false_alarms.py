"""Nothing is found in what is sound: every set of every demo season, in all ten languages."""

from __future__ import annotations

import itertools
import re
from collections.abc import Callable
from pathlib import Path

import pytest

from pipeline.app.build import make_season
from pipeline.app.check import check_season
from pipeline.proof.findings import SetFinding
from tests import sweep
from tests.conftest import Demo
from tests.proof.findings.garden import ROOT, VERSO, Garden
from tests.proof.findings.mutations import _added, _drawn, _labels, _set, _words, outlined


def _aslant(text: str, degrees: float, below: float = 0) -> str:
    """Typed words turned about a free place of the page, so many mm below its line."""
    return _words(text, 60, 160 + below, f"transform='rotate({degrees} 60 160)'")


def _march_alone(garden: Garden) -> None:
    """Of two weeks of March and one of April, with more drawn in March than on all of the page."""
    season = garden.season_file.read_text("utf-8")
    weeks = season.replace("2027-03-14", "2027-04-11").replace("2027-03-01", "2027-03-22")
    assert weeks != season
    garden.season_file.write_text(weeks, "utf-8")
    dots = "".join(
        f"<circle cx='{20 + column * 2}' cy='{205 + row}' r='0.25' fill='#4a6a3c'/>"
        for column in range(60)
        for row in range(3)
    )
    garden.redraw(VERSO, _added(f"<g id='show-march'>{dots}</g>"))


CLEAN: dict[str, tuple[str, Callable[[Garden], object]]] = {
    # what is done: (language, how)
    "letters as outlines": ("en-GB", outlined(lambda garden: None)),
    "words in one piece as outlines": ("ar-EG", outlined(lambda garden: None)),
    "a Latin word with Arabic in brackets, as outlines":
        ("ar-EG", outlined(_labels("ar", watch="Bed (أسرة)"))),
    "joined letters as outlines": ("hi", outlined(lambda garden: None)),
    "typed words at 30°, in two lines":
        ("en-GB", _drawn(_added(_aslant("Peas and beans", 30), _aslant("Rake the beds", 30, 5)))),
    "typed words at -45° and a letter beside them":
        ("en-GB", _drawn(_added(_aslant("Peas and beans", -45), _words("x", 57, 152)))),
    "a label at 45°": ("en-GB", _drawn(_set("label-watch", "transform='rotate(45 22 107)'"))),
    "a label at -30°, as outlines":
        ("de", outlined(_drawn(_set("label-watch", "transform='rotate(-30 22 107)'")))),
    "three thin sides of a frame as one filled path":
        ("en-GB", _drawn(_added("<path fill='#4a6a3c' d='M60 160h.3v20h-.3z M100 160h.3v20h-.3z"
                                " M60 185h40v.3h-40z'/>"))),
    "much that is drawn for March alone": ("en-GB", _march_alone),
}  # fmt: skip
"""What a maker may do."""


@pytest.mark.parametrize("done", CLEAN)
def test_no_false_alarm_where_nothing_is_wrong(done: str, cache: Path, tmp_path: Path) -> None:
    language, do = CLEAN[done]
    garden = Garden.planted(tmp_path / "garden", language, cache)
    do(garden)
    garden.build()
    assert garden.check() == ()


def told(found: list[SetFinding]) -> str:
    """What a failure shows."""
    return "\n".join(f"{one.set}: {one.rule}: {one.message} {one.place}" for one in found)


def test_no_false_alarm_over_the_demo_season(demo: Demo) -> None:
    found = check_season(ROOT / "seasons" / "2027-spring.toml", demo.out)
    assert not found, told(found)


@pytest.mark.parametrize(
    ("season", "shares"),
    [
        ("2027-spring-languages", {"language": ["hi"]}),
        ("2027-spring-sizes", {"sizes": ["pocket"], "papers": ["a4"]}),
        pytest.param("2027-spring-languages", {}, marks=pytest.mark.wide),
        pytest.param("2027-spring-sizes", {}, marks=pytest.mark.wide),
    ],
)
def test_no_false_alarm_in_ten_languages_and_small_binders(
    season: str, shares: dict[str, list[str]], tmp_path: Path
) -> None:
    """``shares`` are what is made of the season, all where it is empty."""
    text = (ROOT / "seasons" / f"{season}.toml").read_text("utf-8")
    for name, value in shares.items():
        text, count = re.subn(rf"(?m)^{name} = .*$", f"{name} = {value}", text)
        assert count == 1
    (tmp_path / "templates_svg").symlink_to(ROOT / "templates_svg")
    path = tmp_path / "seasons" / f"{season}.toml"
    path.parent.mkdir()
    path.write_text(text, "utf-8")
    assert make_season(path, tmp_path / "build")
    found = check_season(path, tmp_path / "build")
    assert not found, told(found)


@pytest.mark.parametrize(("language", "letters"), [("el", "outlines"), ("hi", "embedded")])
def test_no_false_alarm_where_side_2_is_upside_down(
    language: str, letters: str, tmp_path: Path
) -> None:
    row = sweep.Row(
        2027,
        "begins",
        "saturday",
        language,
        "a5",
        "a4",
        letters,
        "short",
        "",
        "running",
        "plant-record",
    )
    path = tmp_path / "seasons" / "upside-down.toml"
    path.parent.mkdir()
    (tmp_path / "templates_svg").symlink_to(ROOT / "templates_svg")
    path.write_text(sweep.season_of(row).replace("2027-01", "2027-12"), "utf-8")
    make_season(path, tmp_path / "build")
    found = check_season(path, tmp_path / "build")
    assert not found, told(found)


@pytest.mark.wide
def test_the_sweep_of_sound_work_meets_each_two_values() -> None:
    """Of all that seasons can be made of together."""
    swept, choices = sweep.rows(), sweep.choices()
    fixed = [sweep.YEARS, sweep.POLICIES, sweep.WEEKDAYS]
    values = [*fixed, *(dict.fromkeys(choice[place] for choice in choices) for place in range(8))]
    for one, other in itertools.combinations(range(len(sweep.Row._fields)), 2):
        could = (
            {*itertools.product(values[one], values[other])}
            if one < len(fixed)
            else {(choice[one - len(fixed)], choice[other - len(fixed)]) for choice in choices}
        )
        assert {(row[one], row[other]) for row in swept} == could
    for year, policy, weekday in itertools.product(sweep.YEARS, sweep.POLICIES, sweep.WEEKDAYS):
        assert [row[:3] for row in swept].count((year, policy, weekday)) == sweep.ROUNDS
    assert {row.size for row in swept} == {
        path.parent.name for path in sweep.COLLECTIONS.glob("*/*/week-*.svg")
    }
