"""What the plan's tests share: a season and a collection in a temporary folder."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path

import pytest

_SEASON = """\
name = "trial"
title = "Trial"
collection = "beds"
language = ["en-GB"]
sizes = ["a5"]
papers = ["letter", "a4"]
weeks = "begins"
first_weekday = "monday"

[[period]]
name = "august"
month = "2027-08"

[[set]]
name = "running"
opening = "opening"
closing = "closing"
spreads = [
  { verso = "week-left", recto = "week-right", per = "week" },
]

[[set]]
name = "between"
opening = "opening"
closing = "closing"
spreads = [
  { verso = "week-left", recto = "week-right", per = "week" },
  { verso = "list", recto = "plan", per = "week" },
]

[[set]]
name = "record"
leaves = [ { recto = "record", verso = "ruled" }, { recto = "record" } ]
"""

_TEMPLATES = (
    "opening", "closing", "week-left", "week-right", "list", "plan", "record", "ruled",
    "month-left", "month-right",
)  # fmt: skip


def _lay_out(folder: Path, season: str) -> Path:
    """Write the season and an empty-paged collection under ``folder``; gives the season file."""
    beds = folder / "templates_svg" / "beds"
    (beds / "labels").mkdir(parents=True)
    (beds / "a5").mkdir()
    for stem in _TEMPLATES:
        (beds / "a5" / f"{stem}.svg").write_text("<svg xmlns='http://www.w3.org/2000/svg'/>")
    (beds / "collection.toml").write_text(
        'title = "Beds"\n\n[fallback_fonts]\nany = ["Some Sans"]\n\n[flaps_mm.a5]\nweek-left = 42\n'
    )
    (beds / "labels" / "en.toml").write_text(
        'sowing = ["Sowing list", "Sowing"]\nnotes = "Notes"\n'
    )
    (beds / "labels" / "en-GB.toml").write_text('notes = "Jottings"\n')
    (beds / "labels" / "ar.toml").write_text(
        'sowing = "قائمة البذر"\nnotes = "ملاحظات"\n', encoding="utf-8"
    )
    seasons = folder / "seasons"
    seasons.mkdir()
    path = seasons / "trial.toml"
    path.write_text(season, encoding="utf-8")
    return path


@pytest.fixture
def lay_out(tmp_path: Path) -> Callable[[str], Path]:
    """Writes a season text beside a collection, in a folder with a space; gives its path."""
    return lambda season: _lay_out(tmp_path / "a shop", season)


@pytest.fixture
def season_text() -> str:
    """The standard season's text, to be altered."""
    return _SEASON
