"""Nothing is found in starter pages, and in ones made for a small binder from larger ones.

Their small months have figures so close together that a reader of the file takes a row for one
text, in months that begin and end on any day of the week.
"""

from __future__ import annotations

import datetime as dt
from pathlib import Path

import pytest

from pipeline.app.build import make_season
from pipeline.app.check import check_season
from pipeline.drawings.resize.resizing import resize_files
from pipeline.drawings.starters.starter import KINDS, new_workspace, starter_page
from pipeline.plan.model import Side
from pipeline.plan.sizes import load_sizes
from tests.proof.findings.test_false_alarms import told

SEASON = """
name = "shop"
title = "Shop"
collection = "shop"
language = ["en-GB", "de"]
sizes = ["{size}"]
papers = ["a4"]
weeks = "touches"

[[period]]
name = "december"
month = "2026-12"
[[period]]
name = "january"
month = "2027-01"
[[period]]
name = "february"
month = "2027-02"

[[set]]
name = "weeks"
title = {{ en = "Weeks", de = "Wochen" }}
opening = "opening-recto"
closing = "notes-verso"
spreads = [
  {{ verso = "week-verso", recto = "list-recto", per = "week" }},
  {{ verso = "month-verso", recto = "month-recto", per = "month" }},
]
"""
WORDS = 'week = "Woche"\nlist = "Zu tun"\nnotes = "Notizen"\n'


@pytest.mark.parametrize(
    ("drawn_for", "size", "flap_mm"),
    [
        ("personal", "personal", 30),
        ("a5", "personal", 0),
        pytest.param("a5", "a5", 40, marks=pytest.mark.wide),
        pytest.param("pocket", "pocket", 0, marks=pytest.mark.wide),
        pytest.param("a6", "a6", 0, marks=pytest.mark.wide),
        pytest.param("half-letter", "half-letter", 0, marks=pytest.mark.wide),
    ],
)
def test_no_false_alarm_in_starter_pages(
    drawn_for: str, size: str, flap_mm: float, tmp_path: Path
) -> None:
    sizes = load_sizes(None)
    new_workspace(tmp_path / "shop", [sizes.binder(drawn_for)], dt.date(2027, 1, 1))
    collection = tmp_path / "shop" / "templates_svg" / "shop"
    (collection / "labels" / "de.toml").write_text(WORDS, "utf-8")
    drawn = collection / drawn_for
    for kind in KINDS:
        for side in Side:
            flap = flap_mm if (kind, side) == ("week", Side.VERSO) else 0.0
            made = starter_page(kind, sizes.binder(drawn_for), flap, side)
            (drawn / f"{kind}-{side}.svg").write_bytes(made.svg)
    if flap_mm:
        with (collection / "collection.toml").open("a", encoding="utf-8") as file:
            file.write(f"\n[flaps_mm.{drawn_for}]\nweek-verso = {flap_mm}\n")
    if size != drawn_for:
        resize_files(sorted(drawn.glob("*-*.svg")), sizes.binder(size), sizes)
    season = tmp_path / "shop" / "seasons" / "shop.toml"
    season.write_text(SEASON.format(size=size), "utf-8")
    make_season(season, tmp_path / "build")
    found = check_season(season, tmp_path / "build")
    assert not found, told(found)
