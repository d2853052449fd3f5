"""What pictures of printed sheets say in words, and what is written into the season."""

from __future__ import annotations

from pathlib import Path

import pytest

from pipeline.app.build import make_season
from pipeline.app.scan import note_shift, read_pictures
from pipeline.base.errors import UserError
from tests.cli.test_cli import leafset
from tests.proof.printer_and_camera import Bad, photographed, printed, saved

CORNERS = [(192, 160), (1728, 184), (1760, 2384), (160, 2368)]
SIZE = (1920, 2560)


def shots(pdf: Path, folder: Path, printers: tuple[Bad, Bad], *, turned: int = 0) -> list[Path]:
    """Pictures of both sides of the first sheet, side 2 ``turned`` to the left."""
    found = []
    for number, printer in enumerate(printers, start=1):
        paper = printed(pdf, number, printer)
        paper = paper.rotate(turned, expand=True) if number == 2 else paper
        found.append(saved(photographed(paper, CORNERS, SIZE), folder / f"side {number}.jpg"))
    return found


def test_a_feed_test_is_read_and_its_shift_is_written_down(shop: Path) -> None:
    season = shop / "seasons" / "small.toml"
    text = season.read_text("utf-8") + '\n[printer] # the one in the shed\nflip = "long"\n'
    season.write_text(text, "utf-8")
    make_season(season, shop / "build")
    test = shop / "build" / "small" / "feed-test-a4.pdf"
    pictures = shots(test, shop, (Bad(1, 0.0, (0.2, 0.1)), Bad(1, 0.0, (1.1, -0.7))))
    said = leafset("scan", season, *pictures, "--note", cwd=shop)
    assert said.returncode == 0, said.stderr
    assert "side 1.jpg: page 1 of the feed test for a4\n  true to size (100" in said.stdout
    assert "Side 2 is off: 1.3 mm to the right, 0.8 mm up." in said.stdout
    assert "build/small/scans/side 2.png shows the print over the page" in said.stdout
    assert season.read_text("utf-8") == text + "back_shift_mm = [1.3, -0.8]\n"


def test_a_back_on_its_head_and_a_shrunk_print_are_told(shop: Path) -> None:
    season = shop / "seasons" / "small.toml"
    make_season(season, shop / "build")
    test = shop / "build" / "small" / "feed-test-a4.pdf"
    pictures = shots(test, shop, (Bad(0.97), Bad(0.97)), turned=180)
    said = leafset("scan", season, *pictures, cwd=shop)
    assert said.returncode == 1, said.stderr
    assert "not true to size: 97.0 % across and 97.0 % down; print at 100 %" in said.stdout
    assert "Side 2 stands on its head" in said.stdout
    assert 'flip = "short"' in said.stdout


def test_a_sheet_of_a_set_is_named(shop: Path) -> None:
    season = shop / "seasons" / "small.toml"
    (made,) = make_season(season, shop / "build")
    sheets = shop / "build" / made.folder / "both-sides.pdf"
    picture = photographed(printed(sheets, 4, Bad(1, 0.5)), CORNERS, SIZE)
    read = read_pictures(season, [saved(picture, shop / "a.jpg")], shop / "build")
    assert read.lines[0] == "a.jpg: sheet 2, side 2, of march/running/a5-a4-en-GB"
    assert read.lines[1].startswith("  true to size")
    assert read.lines[2].startswith("  askew: turned to the right by 0.5°")
    assert not read.as_it_should_be
    assert read.back_shift_mm is None


def test_a_broken_season_file_is_not_written_over(tmp_path: Path) -> None:
    season = tmp_path / "s.toml"
    season.write_text("name = ")
    with pytest.raises(UserError, match="mend the file first"):
        note_shift(season, (1, 1))
    assert season.read_text() == "name = "
