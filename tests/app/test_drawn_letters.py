"""A season whose days are set in letters drawn for it: built, read back, checked, and spoilt."""

from __future__ import annotations

import datetime as dt
import re
from pathlib import Path
from typing import NamedTuple

import pypdfium2 as pdfium
import pytest
from fontTools.ttLib import TTFont

from pipeline.app.build import make_season
from pipeline.app.check import check_season
from pipeline.drawings.starters.starter import new_workspace
from pipeline.plan.sizes import load_sizes
from tests.cli.test_cli import leafset
from tests.fill.test_lettering import FAMILY, drawing

DAYS = ("Monday", "Tuesday", "Wednesday", "Thursday", "Friday", "Saturday", "Sunday")


class Shop(NamedTuple):
    season: Path
    out: Path
    letters: Path


@pytest.fixture(scope="module")
def shop(tmp_path_factory: pytest.TempPathFactory) -> Shop:
    """A new workspace whose days' names and numbers are set in drawn letters."""
    home = tmp_path_factory.mktemp("letters") / "bean"
    new_workspace(home, [load_sizes(None).binder("a5")], dt.date(2027, 3, 1))
    collection = home / "templates_svg" / "bean"
    letters = collection / "lettering" / f"{FAMILY}.svg"
    letters.parent.mkdir()
    letters.write_bytes(drawing().data)
    week = collection / "a5" / "week.svg"
    key = r'(<g id="day\d-(?:name|number)">\s*<rect[^>]*>\s*<text[^>]*font-family=")[^"]*'
    text, count = re.subn(key, rf"\g<1>'{FAMILY}'", week.read_text("utf-8"))
    assert count == 14
    week.write_text(text, "utf-8")
    made = Shop(home / "seasons" / "bean.toml", home / "build", letters)
    make_season(made.season, made.out, cache=home / "cache")
    return made


def test_the_build_embeds_and_names_the_drawn_letters(shop: Shop) -> None:
    [pdf, *_] = sorted(shop.out.rglob("both-sides.pdf"))
    document = pdfium.PdfDocument(pdf)
    words = [page.get_textpage().get_text_range().split() for page in document]
    assert all(sum(day in page for page in words) >= 4 for day in DAYS)
    assert b"BeanHand-Regular" in pdf.read_bytes()
    assert (shop.out / "bean" / "specimen.pdf").stat().st_size > 0
    assert check_season(shop.season, shop.out) == []


def test_fonts_are_listed_and_saved_for_the_editor(shop: Shop, tmp_path: Path) -> None:
    result = leafset("faces", shop.season, "--save", tmp_path / "mine")
    assert result.returncode == 0, result.stderr
    first, *lines = result.stdout.splitlines()
    assert first == str(tmp_path / "mine" / f"{FAMILY}.ttf")
    assert TTFont(first)["name"].getDebugName(4) == FAMILY
    [line] = [line for line in lines if line.startswith(FAMILY)]
    assert f"lettering/{FAMILY}.svg" in line
    plain = leafset("faces", "seasons/2027-spring.toml", "--save", tmp_path / "none")
    assert plain.returncode == 2
    assert "collection 'kitchen_garden' has no drawn letters" in plain.stderr


def test_lint_takes_the_sheet_of_letters_for_no_page(shop: Shop) -> None:
    result = leafset("check", shop.letters.parent.parent)
    assert result.returncode == 0, result.stdout
    assert result.stdout.splitlines()[-1] == "2 pages: nothing to mend", result.stdout


def test_other_letters_make_sets_out_of_date(shop: Shop) -> None:
    before = shop.letters.read_bytes()
    try:
        shop.letters.write_bytes(before.replace(b'd="M1 10V0L', b'd="M1 9V0L'))
        found = check_season(shop.season, shop.out)
        assert {one.rule for one in found} == {"set-stale"}
        assert f"before a change in lettering/{FAMILY}.svg" in found[0].message
    finally:
        shop.letters.write_bytes(before)


def test_a_letter_drawn_twice_stops_the_build_in_one_line(shop: Shop) -> None:
    before = shop.letters.read_bytes()
    try:
        twice = b'<g id="letter-n_2"><path d="M1 1h9v9z"/></g></svg>'
        shop.letters.write_bytes(before.replace(b"</svg>", twice))
        for command in ("build", "faces", "check"):
            result = leafset(command, shop.season, cwd=shop.season.parent.parent)
            assert result.returncode == 2, command
            [line] = result.stderr.splitlines()
            assert f"lettering/{FAMILY}.svg, element 'letter-n_2'" in line
            assert "drawn twice, here and as 'letter-n'" in line
    finally:
        shop.letters.write_bytes(before)
