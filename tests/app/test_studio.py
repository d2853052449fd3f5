"""A second collection by another hand: its drawings and its files leave nothing to mend."""

from __future__ import annotations

import re
from collections.abc import Iterator
from pathlib import Path

from pipeline.app.build import make_season
from pipeline.app.check import check_season
from pipeline.drawings.checks import check_drawings
from pipeline.plan.collection import templates_in
from pipeline.proof.read.raster import opened
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
    for one in made:
        said = " ".join(words(tmp_path / one.folder / "both-sides.pdf"))
        assert re.search("Spring Bank Holiday|Christi Himmelfahrt", said)
        # Dates of the month before are printed faintly, too faintly for words.
        assert not re.search("Easter|Oster", said)


def words(file: Path) -> Iterator[str]:
    """What pdfium reads on the pages of a file."""
    with opened(file) as document:
        for page in document:
            yield page.get_textpage().get_text_range()
