"""A finished page is read in order: what stands above the days, the days, then lists."""

from __future__ import annotations

import subprocess
import unicodedata
from pathlib import Path

import pypdfium2 as pdfium
import pytest

from pipeline.plan.words import words_for
from tests.proof.findings.garden import DEMO, Garden
from tests.tools import tool


def by_pdfium(path: Path) -> str:
    return "\f".join(page.get_textpage().get_text_range() for page in pdfium.PdfDocument(path))


def by_poppler(path: Path) -> str:
    """In the order of painting (-raw), not by place."""
    command = [tool("pdftotext"), "-raw", "-enc", "UTF-8", str(path), "-"]
    return subprocess.run(command, capture_output=True, check=True).stdout.decode()


def plain(text: str) -> str:
    """Without the marks by which readers tell directions."""
    return "".join(c for c in text if unicodedata.category(c) != "Cf")


@pytest.mark.parametrize(
    ("language", "pages"),
    [
        ("en-GB", "week-running"),
        ("ar-EG", "week-two-flap"),
        pytest.param("en-GB", "week-two-flap", marks=pytest.mark.wide),
        pytest.param("de", "week-two-flap", marks=pytest.mark.wide),
        pytest.param("de", "week-running", marks=pytest.mark.wide),
        pytest.param("ar-EG", "week-running", marks=pytest.mark.wide),
    ],
)
def test_a_finished_week_is_read_in_order(language: str, pages: str, tmp_path: Path) -> None:
    garden = Garden.planted(tmp_path / "garden", language, tmp_path / "cache", pages=DEMO)
    season = garden.season_file.read_text("utf-8")
    garden.season_file.write_text(season.replace("week-two-flap", pages), "utf-8")
    garden.build()
    words, [one] = words_for(language), garden.plan.sets
    spread = one.spreads[0]
    said = {
        key: max(forms[0].split(), key=len)  # -raw gives words of one line from left to right
        for key, forms in spread.verso.facts.texts.items()
        if forms[0]
    }
    names = [words.day_name(day)[0] for day in spread.verso.facts.dates]
    cut, lists = {
        "week-two-flap": (5, "label-planted"),
        "week-running": (3, "label-dry"),
    }[pages]
    orders = {
        "side-2.pdf": [said["month-name"], *names[:cut], said[lists]],
        "side-1.pdf": [said["label-week"], *names[cut:]],
    }
    for name, order in orders.items():
        for reader in (by_pdfium, by_poppler):
            sheets = plain(reader(garden.set_folder / name)).split("\f")
            page = next(sheet for sheet in sheets if order[1] in sheet and order[-1] in sheet)
            places = [page.index(word) for word in order]
            assert places == sorted(places), (reader.__name__, page)
