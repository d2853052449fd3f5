"""Nothing is found in what is sound: every set of every demo season, in all ten languages."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path

import pytest

from pipeline.app.build import make_season
from pipeline.app.check import check_season
from pipeline.proof.findings import SetFinding
from tests.conftest import Demo
from tests.proof.findings.garden import ROOT, Garden
from tests.proof.findings.mutations import outlined

CLEAN: dict[str, tuple[str, Callable[[Garden], object]]] = {
    # what is done: (language, how)
    "letters as outlines": ("en-GB", outlined(lambda garden: None)),
    "words in one piece as outlines": ("ar-EG", outlined(lambda garden: None)),
    "joined letters as outlines": ("hi", outlined(lambda garden: None)),
}
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


@pytest.mark.parametrize("season", ["2027-spring-languages", "2027-spring-sizes"])
def test_no_false_alarm_in_ten_languages_and_small_binders(season: str, tmp_path: Path) -> None:
    path = ROOT / "seasons" / f"{season}.toml"
    make_season(path, tmp_path)
    found = check_season(path, tmp_path)
    assert not found, told(found)
