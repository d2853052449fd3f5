"""A second collection by another hand: its drawings and its files leave nothing to mend."""

from __future__ import annotations

from pathlib import Path

from pipeline.app.build import make_season
from pipeline.app.check import check_season
from pipeline.drawings.checks import check_drawings
from pipeline.plan.collection import templates_in
from tests.conftest import ROOT

SEASON = ROOT / "seasons" / "2027-studio.toml"


def test_its_drawings_have_no_findings() -> None:
    pages = templates_in(ROOT / "templates_svg" / "clay_and_fire")
    assert len(pages) >= 11
    assert check_drawings(pages) == ([], 0)


def test_its_months_and_weeks_have_no_findings(tmp_path: Path) -> None:
    made = make_season(SEASON, tmp_path, only="weeks")
    assert len(made) == 4  # two languages, two colours
    assert check_season(SEASON, tmp_path, only="weeks") == []
