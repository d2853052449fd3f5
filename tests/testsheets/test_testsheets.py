"""The sheets that come with a season: which are made, and that the settings reach the files."""

from __future__ import annotations

from pathlib import Path

import pytest

from pipeline.app.build import make_season
from tests.conftest import Demo
from tests.impose.readback import paths, without_bar


def sheets(folder: Path) -> set[str]:
    return {path.name for path in folder.glob("*.pdf")} - {"specimen.pdf"}


def test_every_paper_has_a_feed_test_and_every_binder_a_gauge(demo: Demo) -> None:
    assert sheets(demo.out / "2027-spring") == {
        "feed-test-letter.pdf",
        "feed-test-a4.pdf",
        "hole-gauge-a5-letter.pdf",
        "hole-gauge-a5-a4.pdf",
    }


def test_sheets_of_papers_no_longer_asked_for_go(shop: Path) -> None:
    season, out = shop / "seasons" / "small.toml", shop / "build"
    make_season(season, out)
    assert sheets(out / "small") == {"feed-test-a4.pdf", "hole-gauge-a5-a4.pdf"}
    text = season.read_text("utf-8")
    season.write_text(text.replace('papers = ["a4"]', 'papers = ["letter"]'), "utf-8")
    make_season(season, out)
    assert sheets(out / "small") == {"feed-test-letter.pdf", "hole-gauge-a5-letter.pdf"}
    assert not list((out / "small").glob(".*new*")), "nothing half-written is left"


def test_built_twice_they_are_the_same_to_the_byte(shop: Path) -> None:
    season = shop / "seasons" / "small.toml"
    make_season(season, shop / "one")
    make_season(season, shop / "two")
    for name in sheets(shop / "one" / "small"):
        one, two = (shop / out / "small" / name for out in ("one", "two"))
        assert one.read_bytes() == two.read_bytes()


@pytest.mark.parametrize(("table", "flip"), [("", "long"), ('flip = "short"', "short")])
def test_a_build_makes_up_for_the_printer_and_the_feed_test_does_not(
    table: str, flip: str, shop: Path
) -> None:
    season = shop / "seasons" / "small.toml"
    text = season.read_text("utf-8")
    season.write_text(f"{text}\n[printer]\n{table}\n", "utf-8")
    (plain,) = make_season(season, shop / "plain")
    shifted = f"back_shift_mm = [0.6, -0.4]\nreverse_side_2 = true\n{table}"
    season.write_text(f"{text}\n[printer]\n{shifted}\n", "utf-8")
    (moved,) = make_season(season, shop / "moved")
    folders = [shop / "plain" / plain.folder, shop / "moved" / moved.folder]
    pairs = [(folder / "both-sides.pdf").read_bytes() for folder in folders]
    for number, shift in ((0, (0.0, 0.0)), (1, (-0.6, 0.4))):
        before, after = ([p.box for p in without_bar(paths(pdf, number))] for pdf in pairs)
        assert len(before) == len(after) > 20
        for one, other in zip(before, after, strict=True):
            assert one.moved(*shift) == pytest.approx(other, abs=0.01)
    last = paths((folders[1] / "side-2.pdf").read_bytes(), 0)
    sheets_made = moved.sheets
    assert [p.box for p in last] == [p.box for p in paths(pairs[1], 2 * sheets_made - 1)]
    name = "feed-test-a4.pdf"
    test = shop / "plain" / "small" / name
    assert test.read_bytes() == (shop / "moved" / "small" / name).read_bytes()
    asked = b"/DuplexFlipLongEdge" if flip == "long" else b"/DuplexFlipShortEdge"
    assert asked in test.read_bytes()
