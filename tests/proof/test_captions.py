"""Captions: every script of the demo in its own letters; what no face has stops nothing."""

from __future__ import annotations

import numpy as np
import pytest
from PIL import Image

from pipeline.proof.pictures.captions import Captions, Type, fitted

PLAIN = Type(20, 400, (0, 0, 0))


@pytest.mark.parametrize(
    "text", ["W09 1 – 7 März", "أسبوع ٩", "सप्ताह ९", "Εβδομάδα", "種まきリスト"]
)
def test_every_script_of_the_demo_has_its_letters(text: str) -> None:
    assert fitted(text, PLAIN, 400) == text
    paper = Image.new("RGB", (400, 60), "white")
    captions = Captions()
    captions.add((20, 40), text, PLAIN, 360)
    dark = np.asarray(captions.lay_over(paper).convert("L")) < 128
    columns = np.nonzero(dark.any(axis=0))[0]
    assert 18 <= columns[0] <= 26, "it begins where it was told to"
    assert columns[-1] - columns[0] > 2 * 20, "and has some letters"


def test_a_character_that_no_face_has_does_not_stop_a_proof() -> None:
    assert fitted("ab\U0001f955c", PLAIN, 400) == "ab·c"


def test_markup_stays_text() -> None:
    captions = Captions()
    captions.add((20, 40), "<b>&amp;</b>", PLAIN, 300)
    dark = np.asarray(captions.lay_over(Image.new("RGB", (300, 60), "white")).convert("L")) < 128
    assert dark.any(axis=0).sum() > 60
