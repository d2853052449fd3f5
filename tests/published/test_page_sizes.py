"""Sizes against the standards that set them, by the standards' own constructions."""

from __future__ import annotations

import math
import re
from itertools import pairwise

import pytest

from pipeline.base.geometry import MM_PER_INCH
from pipeline.plan.sizes import load_sizes

SIZES = load_sizes(None)
LENGTHS = {name: (p.width_mm, p.height_mm) for name, p in SIZES.papers.items()}
LEAVES = {name: (b.width_mm, b.height_mm) for name, b in SIZES.binders.items()}


def _halved(width_m: float, height_m: float, times: int) -> tuple[int, int]:
    """A size of whole millimetres, its longer side halved so many times, fractions dropped."""
    width, height = round(width_m * 1000), round(height_m * 1000)
    for _ in range(times):
        width, height = height // 2, width
    return width, height


# ISO 216: A0 has an area of 1 m² and sides as 1 to √2, so 2^(-1/4) m by 2^(1/4) m, to the
# nearest mm; each further size halves the longer side, rounded down to whole mm.
@pytest.mark.parametrize("number", [3, 4, 5, 6])
def test_a_series(number: int) -> None:
    size = _halved(2 ** (-1 / 4), 2 ** (1 / 4), number)
    assert LENGTHS[f"a{number}"] == size
    if number >= 4:
        assert LEAVES[f"a{number}"] == size


# ISO 216: the B sizes are the geometric means between neighbouring A sizes, so B0 is 1 m by √2 m.
@pytest.mark.parametrize(("name", "number"), [("b4", 4), ("b5", 5), ("b6", 6)])
def test_b_series(name: str, number: int) -> None:
    size = _halved(1, math.sqrt(2), number)
    mean = math.sqrt(math.prod(_halved(2 ** (-1 / 4), 2 ** (1 / 4), number))) * 2 ** (1 / 4)
    assert math.sqrt(math.prod(size)) == pytest.approx(mean, abs=1)
    assert (LEAVES if name == "b6" else LENGTHS)[name] == size


# JIS P 0138: its B sizes have one and a half times the area of the A size of the same number;
# B0 is 1030 by 1456 mm, halved like the A series.
@pytest.mark.parametrize(("name", "number"), [("jis-b4", 4), ("jis-b5", 5), ("jis-b6", 6)])
def test_japanese_b_series(name: str, number: int) -> None:
    size = (LEAVES if name == "jis-b6" else LENGTHS)[name]
    assert size == _halved(1.030, 1.456, number)
    a_area = math.prod(_halved(2 ** (-1 / 4), 2 ** (1 / 4), number))
    assert math.prod(size) / a_area == pytest.approx(1.5, rel=0.01)


# ANSI/ASME Y14.1: size A is 8.5 by 11 in and B, two of it, 11 by 17 in; an inch is 25.4 mm exactly.
def test_letter_and_tabloid() -> None:
    letter = (8.5 * MM_PER_INCH, 11 * MM_PER_INCH)
    assert LENGTHS["letter"] == pytest.approx(letter, abs=1e-9)
    assert LEAVES["letter"] == pytest.approx(letter, abs=1e-9)
    assert LENGTHS["tabloid"] == pytest.approx((11 * MM_PER_INCH, 17 * MM_PER_INCH), abs=1e-9)
    assert LEAVES["half-letter"] == pytest.approx((letter[1] / 2, letter[0]), abs=1e-9)


# PWG 5101.1, media self-describing names: CLASS_NAME_WIDTHxHEIGHTunit, portrait, in mm or in;
# classes are iso, jis, na, om and others; the name in small letters, figures, '-' and '.'.
@pytest.mark.parametrize("name", sorted(SIZES.papers))
def test_media_names_carry_the_papers_size(name: str) -> None:
    paper = SIZES.papers[name]
    pattern = r"(iso|jis|na|om)_[a-z0-9.-]+_([0-9.]+)x([0-9.]+)(mm|in)"
    match = re.fullmatch(pattern, paper.media)
    assert match is not None
    unit = MM_PER_INCH if match[4] == "in" else 1
    assert paper.width_mm == pytest.approx(float(match[2]) * unit, abs=1e-9)
    assert paper.height_mm == pytest.approx(float(match[3]) * unit, abs=1e-9)
    assert paper.width_mm <= paper.height_mm


# ISO 838: two holes of 6 mm, 80 mm apart, centred on the edge, 12 mm from it.
def test_two_hole_filing() -> None:
    holes = SIZES.binder("a4").holes
    top, bottom = holes.centres_mm
    assert bottom - top == 80
    assert top + bottom == pytest.approx(297)
    assert (holes.edge_mm, holes.diameter_mm, holes.source) == (12, 6, "ISO 838")


# Common practice, from memory: six rings, 19-19-70-19-19 mm on A5 and 19-19-51-19-19 on personal.
@pytest.mark.parametrize(("name", "middle"), [("a5", 70), ("personal", 51)])
def test_six_rings(name: str, middle: int) -> None:
    binder = SIZES.binder(name)
    centres = binder.holes.centres_mm
    gaps = [below - above for above, below in pairwise(centres)]
    assert gaps == pytest.approx([19, 19, middle, 19, 19])
    assert centres[0] + centres[-1] == pytest.approx(binder.height_mm)
    assert "from memory" in binder.holes.source
