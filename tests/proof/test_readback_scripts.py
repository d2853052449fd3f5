"""Scripts whose glyphs carry a text of their own are read where their ink is."""

from __future__ import annotations

from pathlib import Path

import numpy as np
import pytest

from pipeline.base.geometry import Rect
from pipeline.plan.words import words_for
from pipeline.proof.pictures.pictures import open_set
from pipeline.proof.read.text import read_set
from tests.proof.findings.garden import Garden

DPI = 300.0
MM = 25.4 / DPI


def ink_around(picture: np.ndarray[tuple[int, ...], np.dtype[np.uint8]], box: Rect) -> Rect:
    """The box of the ink in a box's neighbourhood, mm."""
    near = box.grown(0.6)
    left, top = round(near.x / MM), round(near.y / MM)
    dark = picture[top : round(near.bottom / MM), left : round(near.right / MM)] < 200
    rows, columns = np.nonzero(dark.any(axis=1))[0], np.nonzero(dark.any(axis=0))[0]
    return Rect(
        (left + columns[0]) * MM,
        (top + rows[0]) * MM,
        (columns[-1] + 1 - columns[0]) * MM,
        (rows[-1] + 1 - rows[0]) * MM,
    )


@pytest.mark.parametrize("language", ["ar-EG", "hi-u-nu-deva"])
def test_weekdays_are_read_where_they_are_printed(language: str, tmp_path: Path) -> None:
    garden = Garden.planted(tmp_path / "garden", language, tmp_path / "cache")
    garden.build()
    words = words_for(language)
    days = garden.plan.sets[0].spreads[0].verso.facts.dates
    names = {words.day_name(day)[0] for day in days}
    read = [text for text in read_set(garden.set_folder) if text.leaf < 2 and text.text in names]
    assert {text.text for text in read} == names
    with open_set(garden.set_folder, DPI) as pictures:
        for text in read:
            face = np.asarray(pictures.face(text.leaf, text.face).convert("L"))
            for found, seen in zip(text.box, ink_around(face, text.box), strict=True):
                assert found == pytest.approx(seen, abs=0.35)
