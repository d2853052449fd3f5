"""Nothing is found in what is sound: every set of every demo season, in all ten languages."""

from __future__ import annotations

from pathlib import Path

import pytest

from pipeline.app.build import make_season
from pipeline.app.check import check_season
from pipeline.proof.findings import Finding
from tests.conftest import Demo
from tests.proof.findings.garden import ROOT


def told(found: list[Finding]) -> str:
    """What a failure shows."""
    return "\n".join(f"{one.set}: {one.code}: {one.message} {one.place}" for one in found)


def test_no_false_alarm_over_the_demo_season(demo: Demo) -> None:
    found = check_season(ROOT / "seasons" / "2027-spring.toml", demo.out)
    assert not found, told(found)


@pytest.mark.parametrize("season", ["2027-spring-languages", "2027-spring-sizes"])
def test_no_false_alarm_in_ten_languages_and_small_binders(season: str, tmp_path: Path) -> None:
    path = ROOT / "seasons" / f"{season}.toml"
    make_season(path, tmp_path)
    found = check_season(path, tmp_path)
    assert not found, told(found)
