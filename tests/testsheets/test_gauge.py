"""The hole gauge, read back from its PDF."""

from __future__ import annotations

import functools
import re

import pypdfium2 as pdfium
import pytest

from pipeline.base.geometry import Rect
from pipeline.impose.words import sheet_words
from pipeline.plan.model import Binder, Paper
from pipeline.plan.sizes import load_sizes
from pipeline.proof.read.raster import page_picture
from pipeline.publish.directions.steps import phrases_for
from pipeline.testsheets.gauge import EDGE_X, has_gauge, hole_gauge
from tests.conftest import Golden
from tests.impose.readback import paths, the_bar, words
from tests.impose.sample import A4, LETTER, book, leaflet_book

NEAR = 0.01  # mm
SIZES = load_sizes(None)
GAUGES = [
    pytest.param(binder, paper, id=f"{binder.name}-{paper.name}")
    for binder in SIZES.binders.values()
    for paper in (A4, LETTER)
    if binder.width_mm <= paper.width_mm
]


@functools.cache
def made(binder: Binder, paper: Paper) -> bytes:
    return hole_gauge(binder, paper, book(), "en-GB")


@pytest.mark.parametrize(("binder", "paper"), GAUGES)
def test_holes_and_binding_edge_are_at_true_size(binder: Binder, paper: Paper) -> None:
    found = [path.box for path in paths(made(binder, paper), 0)]
    top = (paper.height_mm - binder.height_mm) / 2
    holes = binder.holes
    half = holes.diameter_mm / 2
    wanted = [
        Rect(EDGE_X + holes.edge_mm - half, top + centre - half, 2 * half, 2 * half)
        for centre in holes.centres_mm
    ]
    visible = Rect(0, 0, paper.width_mm, paper.height_mm)
    end = min(top + binder.height_mm, visible.bottom)
    wanted.append(Rect(EDGE_X, max(top, 0), 0, end - max(top, 0)))
    for box in wanted:
        assert any(
            max(abs(a - b) for a, b in zip(box, other, strict=True)) <= NEAR for other in found
        )
    assert all(visible.holds(box, NEAR) for box in found)


@pytest.mark.parametrize(("binder", "paper"), GAUGES)
def test_it_says_its_measures_and_where_they_are_from(binder: Binder, paper: Paper) -> None:
    text = " ".join(words(made(binder, paper), 0).split())
    holes = binder.holes
    assert f"[binder.{binder.name}.holes]" in text
    assert f"edge_mm = {holes.edge_mm:g}" in text
    assert f"diameter_mm = {holes.diameter_mm:g}" in text
    assert f"{binder.width_mm:g} × {binder.height_mm:g} mm: {binder.source}" in text
    assert holes.source in text
    assert "Blades are sharp" in text


def test_a_bar_tells_whether_it_was_printed_true_to_size() -> None:
    assert the_bar(paths(made(SIZES.binder("a5"), A4), 0)).box.height == pytest.approx(
        100, abs=NEAR
    )


def test_a_pattern_off_the_middle_is_given_by_its_centres() -> None:
    a5 = SIZES.binder("a5")
    holes = type(a5.holes)((30.0, 110.0), 12.0, 6.0, "measured")
    off = Binder("own", "My own", 148.0, 210.0, holes, "measured")
    assert "centres_mm = [30, 110]" in words(made(off, A4), 0)


def test_a_buyer_is_asked_for_no_figures_and_told_no_sources() -> None:
    text = words(hole_gauge(SIZES.binder("a5"), A4, leaflet_book(), "en-GB", maker=False), 0)
    assert "sizes.toml" not in text
    assert "from memory" not in text
    assert "ask the shop" in " ".join(text.split())
    assert {"32 mm", "19 mm", "146 mm", "7 mm", "ø 5.5 mm"} <= set(
        text.replace("\xa0", " ").splitlines()
    )
    assert "holes this side" in text
    assert "sizes.toml" in words(made(SIZES.binder("a5"), A4), 0)


@pytest.mark.parametrize("language", ["en", "de", "fr", "es", "pl", "el", "ar", "hi", "ja"])
def test_children_are_spoken_of_as_in_the_directions(language: str) -> None:
    said = sheet_words("hole_gauge", language).of["caution"]
    children = re.split(r"(?<=[.。।])\s*", said.removesuffix(said[-1]))[-1]
    told = phrases_for(language)
    assert told.text("caution", {}).replace("\xa0", " ").endswith(children + said[-1])
    assert sheet_words("hole_gauge", language).of["caution_title"] == told.text(
        "caution", {}, "heading"
    )


def test_blades_are_spoken_of_before_the_cut() -> None:
    text = words(hole_gauge(SIZES.binder("a5"), A4, leaflet_book(), "en-GB", maker=False), 0)
    assert text.index("Mind the blades") < text.index("Fold or cut")


def test_papers_too_narrow_for_its_words_have_none() -> None:
    assert {name for name, paper in SIZES.papers.items() if not has_gauge(paper)} <= {
        "a6",
        "half-letter",
    }


@pytest.mark.parametrize("paper", [A4, LETTER], ids=["a4", "letter"])
def test_it_looks_as_it_did(paper: Paper, golden: Golden) -> None:
    with pdfium.PdfDocument(made(SIZES.binder("a5"), paper)) as document:
        golden(f"sheets/hole-gauge-a5-{paper.name}", page_picture(document[0], 75))


def test_the_buyers_looks_as_it_did(golden: Golden) -> None:
    pdf = hole_gauge(SIZES.binder("a5"), A4, leaflet_book(), "en-GB", maker=False)
    with pdfium.PdfDocument(pdf) as document:
        golden("sheets/hole-gauge-a5-a4-buyer", page_picture(document[0], 75))
