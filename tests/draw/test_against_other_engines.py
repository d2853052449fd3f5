"""The same text by us, by librsvg with Pango and by Chromium: the ink must fall on the same spots.

All get the same font files, and pdfium draws the pages of all three, so nothing but the setting of
type can differ.
"""

from __future__ import annotations

import numpy as np
import numpy.typing as npt
import pytest

from pipeline.text import FontBook
from tests.draw.engines import Picture, by_chromium, by_rsvg, by_us
from tests.draw.type_samples import SAMPLES, SERIF, text

NEAR = 1
"""Pixels (an eighth of a millimetre, 1/64 em) by which ink may be off: engines round advances."""
SHARE = 0.97
"""Least share of each engine's ink that is near the other's. The rest is for edges that fall on
other sides of the threshold. Kerning left out, the smallest fault looked for, brings the share of
a short text below 0.7, as a test below shows."""
TONE = 0.05
"""Most by which the amount of ink may differ: tells paint, weight and opacity, which a share of
covered pixels does not."""
INK = 200
"""Grey (0 black, 255 white) below which a pixel counts as ink."""

BOOK = FontBook()


@pytest.fixture(scope="module")
def ours() -> list[Picture]:
    return by_us([sample.content for sample in SAMPLES], BOOK)


@pytest.fixture(scope="module")
def rsvg(tmp_path_factory: pytest.TempPathFactory) -> list[Picture]:
    folder = tmp_path_factory.mktemp("rsvg")
    return by_rsvg([sample.content for sample in SAMPLES], BOOK, folder)


@pytest.fixture(scope="module")
def chromium(tmp_path_factory: pytest.TempPathFactory) -> list[Picture]:
    folder = tmp_path_factory.mktemp("chromium")
    return by_chromium([sample.content for sample in SAMPLES], BOOK, folder)


def numbered(lacking: str) -> list[object]:
    """Samples with their number, without those that an engine cannot be asked about."""
    return [
        pytest.param(number, id=sample.name)
        for number, sample in enumerate(SAMPLES)
        if not getattr(sample, lacking)
    ]


@pytest.mark.parametrize("number", numbered("no_rsvg"))
def test_librsvg_sets_it_as_we_do(number: int, ours: list[Picture], rsvg: list[Picture]) -> None:
    alike(ours[number], rsvg[number])


@pytest.mark.parametrize("number", numbered("no_chromium"))
def test_chromium_sets_it_as_we_do(
    number: int, ours: list[Picture], chromium: list[Picture]
) -> None:
    alike(ours[number], chromium[number])


def test_every_sample_is_held_against_another_engine() -> None:
    names = [sample.name for sample in SAMPLES]
    assert len(set(names)) == len(names) > 120
    assert [sample.name for sample in SAMPLES if sample.no_rsvg and sample.no_chromium] == []


def test_the_measure_notices_what_it_should() -> None:
    right, unkerned, shifted, lighter, missing = by_us(
        [
            text("AVATAR To Ya LT", face=SERIF),
            text("AVATAR To Ya LT", 'style="font-kerning:none"', face=SERIF),
            text("AVATAR To Ya LT", face=SERIF, at='x="10.4" y="18"'),
            text("AVATAR To Ya LT", 'fill-opacity=".9"', face=SERIF),
            text("AVATAR To Ya", face=SERIF),
        ],
        BOOK,
    )
    assert share(right, right) == 1
    assert share(right, unkerned) < 0.7
    assert share(right, shifted) < 0.9
    assert share(right, lighter) > SHARE
    assert tone(lighter, right) < 1 - TONE
    assert share(right, missing) < SHARE


def alike(mine: Picture, theirs: Picture) -> None:
    """Both have ink, nearly all of it in the same places, and as much of it."""
    assert mine.shape == theirs.shape
    assert (theirs < INK).any(), "the other engine drew nothing"
    assert share(mine, theirs) >= SHARE
    assert tone(mine, theirs) == pytest.approx(1, abs=TONE)


def share(one: Picture, other: Picture) -> float:
    """The share of the ink of each picture that lies near ink of the other; the lesser of both."""
    a, b = one < INK, other < INK
    if not a.any() or not b.any():
        return 0.0
    return float(min((a & spread(b)).sum() / a.sum(), (b & spread(a)).sum() / b.sum()))


def spread(ink: npt.NDArray[np.bool_]) -> npt.NDArray[np.bool_]:
    """Ink made wider by ``NEAR`` pixels on each side."""
    size = 2 * NEAR + 1
    windows = np.lib.stride_tricks.sliding_window_view(np.pad(ink, NEAR), (size, size))
    return np.asarray(windows.any(axis=(2, 3)))


def tone(one: Picture, other: Picture) -> float:
    """How much more ink, counted in blackness, the one picture has than the other."""
    return float((255.0 - one).sum() / (255.0 - other).sum())
