"""What the comparison must see, and what it must not."""

from __future__ import annotations

import io
from itertools import combinations
from pathlib import Path

import fontpkg
import numpy as np
import pytest
from PIL import Image, ImageChops, ImageDraw, ImageFont

from pipeline.base.geometry import Rect
from pipeline.proof.read.raster import (
    area_picture,
    compare,
    first_ink,
    opened,
    places_that_differ,
    png_of,
)
from tests.proof.test_readback import text, with_text
from tests.sidebyside import MOST_LOST, side_by_side, with_palette

SIZE = (620, 880)  # an A4 sheet at 75 dpi


def sheet(
    figures: str = "17", rule_x: int = 300, rule: tuple[int, int, int] = (170, 170, 170)
) -> Image.Image:
    """A page with rules and small figures, as at 75 dpi."""
    picture = Image.new("RGB", SIZE, "white")
    draw = ImageDraw.Draw(picture)
    for y in range(80, 800, 18):
        draw.line((60, y, 560, y), (200, 200, 200))
    draw.line((rule_x, 100, rule_x, 700), rule)
    draw.text((100, 200), figures, (110, 110, 110), _small())
    return picture


def _small() -> ImageFont.FreeTypeFont:
    """Type of 8 pt at 75 dpi."""
    return ImageFont.truetype(str(fontpkg.path("Source Sans 3")), 8)


def with_noise(picture: Image.Image, levels: int, seed: int = 5) -> Image.Image:
    """Every pixel off by up to so many levels, as another rasteriser's edges are."""
    noise = np.random.default_rng(seed).integers(-levels, levels + 1, (*SIZE[::-1], 3))
    return Image.fromarray(np.clip(np.asarray(picture) + noise, 0, 255).astype(np.uint8))


def test_a_picture_is_the_same_as_itself() -> None:
    result = compare(sheet(), sheet())
    assert (result.same, result.differing, result.worst) == (True, 0, 0)


@pytest.mark.parametrize("levels", [3, 12])
def test_noise_of_a_few_levels_is_let_through(levels: int) -> None:
    assert compare(sheet(), with_noise(sheet(), levels)).same


def test_a_few_scattered_pixels_are_let_through() -> None:
    actual = sheet()
    for x, y in ((50, 50), (300, 400), (500, 820)):
        actual.putpixel((x, y), (215, 215, 215))
    assert compare(sheet(), actual).same


@pytest.mark.parametrize("rule", [(120, 120, 120), (200, 200, 200), (220, 220, 220)])
def test_a_line_a_pixel_wide_moved_by_a_pixel_is_seen(rule: tuple[int, int, int]) -> None:
    result = compare(sheet(rule=rule), sheet(rule_x=301, rule=rule))
    assert not result.same
    assert "close together" in result.reason
    assert abs(result.where[0] - 300) <= 6


@pytest.mark.parametrize(("before", "after"), [("17", "18"), ("13", "18"), ("6", "8"), ("1", "7")])
def test_a_changed_figure_is_seen_and_placed(before: str, after: str) -> None:
    result = compare(sheet(before), sheet(after))
    assert not result.same
    assert 95 <= result.where[0] <= 120
    assert 195 <= result.where[1] <= 215


def printed(path: Path, figures: str, dpi: float, x: float = 30.0) -> Image.Image:
    """Grey figures of 2.4 mm, as pdfium shows them."""
    path.unlink(missing_ok=True)
    with opened(with_text(path, "0.45 g\n", text(figures, x, 40, size_mm=2.4))) as document:
        return area_picture(document[0], Rect(20, 30, 40, 20), dpi)


def test_every_small_figure_is_told_from_every_other(tmp_path: Path) -> None:
    pictures = [printed(tmp_path / "one.pdf", f"1{figure}", 75) for figure in range(10)]
    missed = [
        (one, other)
        for one, other in combinations(range(10), 2)
        if compare(pictures[one], pictures[other]).same
    ]
    assert missed == []


@pytest.mark.parametrize("dpi", [75, 100])
def test_rounding_is_let_through_and_a_tenth_of_a_millimetre_is_seen(
    tmp_path: Path, dpi: float
) -> None:
    path = tmp_path / "one.pdf"
    expected = printed(path, "29 March", dpi)
    assert compare(expected, printed(path, "29 March", dpi, x=30.001)).same
    assert not compare(expected, printed(path, "29 March", dpi, x=30.12)).same


def test_a_changed_figure_is_seen_under_noise() -> None:
    assert not compare(sheet("3"), with_noise(sheet("8"), 8)).same


def test_a_green_that_turned_red_is_seen() -> None:
    expected, actual = sheet(), sheet()
    ImageDraw.Draw(expected).rectangle((100, 300, 104, 304), (120, 154, 106))
    ImageDraw.Draw(actual).rectangle((100, 300, 104, 304), (154, 120, 106))
    assert not compare(expected, actual).same


def test_much_scattered_change_is_seen() -> None:
    actual = sheet()
    for x in range(20, 620, 20):
        for y in range(20, 880, 20):
            actual.putpixel((x, y), (90, 90, 90))
    result = compare(sheet(), actual)
    assert not result.same


def test_another_size_is_not_the_same() -> None:
    result = compare(sheet(), sheet().crop((0, 0, 620, 879)))
    assert not result.same
    assert "620 × 879" in result.reason


def test_side_by_side_shows_what_went_red_and_what_came_blue() -> None:
    board = side_by_side(sheet(rule_x=300), sheet(rule_x=310))
    assert board.width > 3 * SIZE[0]
    # The difference is the panel at the right; y = 105 lies between two of the level rules.
    left = 8 + 2 * (SIZE[0] + 8)
    red, blue = (board.getpixel((left + x, 24 + 105)) for x in (300, 310))
    assert isinstance(red, tuple)
    assert isinstance(blue, tuple)
    assert red[0] > 240
    assert red[2] < 100
    assert blue[2] > 240
    assert blue[0] < 100


def test_a_palette_loses_nothing_that_is_seen_and_is_refused_where_it_would() -> None:
    plain = with_palette(sheet())
    assert plain.mode == "P"
    assert compare(sheet(), plain).same
    noise = np.random.default_rng(1).integers(0, 256, (200, 200, 3), dtype=np.uint8)
    assert with_palette(Image.fromarray(noise)).mode == "RGB"
    ramp = Image.linear_gradient("L").convert("RGB")
    lost = np.abs(
        np.asarray(with_palette(ramp).convert("RGB"), dtype=int) - np.asarray(ramp, dtype=int)
    )
    assert lost.max() <= MOST_LOST


def test_a_picture_is_packed_whole_and_in_the_same_bytes() -> None:
    packed = png_of(sheet())
    assert packed == png_of(sheet())
    assert ImageChops.difference(Image.open(io.BytesIO(packed)), sheet()).getbbox() is None


def test_each_place_that_differs_is_told() -> None:
    before = Image.new("RGB", (600, 800), "white")
    ImageDraw.Draw(before).rectangle((100, 700, 500, 702), fill="black")
    now = before.copy()
    ImageDraw.Draw(now).rectangle((200, 100, 204, 102), fill="black")
    ImageDraw.Draw(now).rectangle((400, 300, 404, 302), fill="black")
    assert places_that_differ(before, before, 100) == []
    places = places_that_differ(before, now, 100)
    assert places is not None
    assert len(places) == 2
    for place, (x, y) in zip(places, ((202, 101), (402, 301)), strict=True):
        middle = place.x + place.width / 2, place.y + place.height / 2
        assert middle == pytest.approx((x * 0.254, y * 0.254), abs=0.3)
        assert 1 < place.width < 6
    speckled = before.copy()
    for x in range(20, 600, 60):
        for y in range(20, 680, 60):
            speckled.putpixel((x, y), (0, 0, 0))
    assert places_that_differ(before, speckled, 100) is None


def test_where_ink_begins() -> None:
    page = Image.new("RGB", (600, 800), "white")
    assert first_ink(page, 100) is None
    pen = ImageDraw.Draw(page)
    pen.rectangle((300, 100, 400, 110), fill="black")
    pen.rectangle((50, 120, 80, 130), fill="black")  # level with it
    pen.rectangle((10, 400, 600, 410), fill="black")
    assert first_ink(page, 100) == pytest.approx((50 * 0.254, 100 * 0.254))
