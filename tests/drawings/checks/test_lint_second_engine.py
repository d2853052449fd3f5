"""What a second engine draws otherwise is found with its place, and nothing else is.

The engine is resvg; what it does not know, or what is spoilt in a picture, stands for our faults.
"""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path

import pytest
from PIL import Image, ImageDraw

from pipeline.base.cache import NO_CACHE, Cache
from pipeline.base.findings import Severity
from pipeline.drawings.checks import DrawingFinding, lint, templates_under
from pipeline.drawings.checks.secondengine import drawn_apart
from tests.conftest import ROOT
from tests.drawings.checks.conftest import Shelf

OTHERWISE = {
    # what was done: (a drawing, the element named)
    "a mask in linear light, which that program takes no notice of": (
        '<mask id="m" maskUnits="userSpaceOnUse" x="0" y="0" width="99" height="99"'
        ' color-interpolation="linearRGB"><rect width="99" height="99" fill="#888"/></mask>'
        '<rect id="veil" x="20" y="40" width="40" height="30" mask="url(#m)"/>',
        "veil",
    ),
    "an element of a filter that isn't there, which that program leaves out": (
        '<rect id="veil" x="20" y="40" width="40" height="30" fill="#383" filter="url(#nothing)"/>',
        "veil",
    ),
}
"""Drawings that resvg draws otherwise than we do, and the standards say we are right."""


def otherwise(path: Path, cache: Cache = NO_CACHE) -> list[DrawingFinding]:
    return [one for one in lint([path], cache=cache)[0] if one.rule == "drawn-otherwise"]


@pytest.mark.parametrize("done", OTHERWISE)
def test_what_is_drawn_otherwise_is_told_with_its_place(done: str, shelf: Shelf) -> None:
    drawn, element = OTHERWISE[done]
    [found] = otherwise(shelf.put("right", drawn))
    assert found.element == element
    assert found.severity is Severity.LOOK
    assert "40 × 30 mm, 20 mm from the left and 40 mm from the top" in found.message


def test_what_is_drawn_alike_is_passed_over(shelf: Shelf) -> None:
    leaf = (
        '<g id="guides"><rect x="20" y="20" width="60" height="60"/></g>'
        '<path d="M60 40C80 10 100 40 60 90" fill="#383" stroke="#111" stroke-width=".3"/>'
        '<text id="day1-name" x="20" y="100" textLength="60">Monday</text>'
        '<text x="20" y="120" font-size="6" font-weight="700">Beans &amp; peas, sown</text>'
        '<filter id="f"><feGaussianBlur stdDeviation="1"/></filter>'
        '<circle cx="30" cy="150" r="9" fill="#a30" filter="url(#f)"/>'
    )
    assert otherwise(shelf.put("right", leaf)) == []


def test_no_page_of_the_demo_is_drawn_otherwise() -> None:
    demo = templates_under(ROOT / "templates_svg" / "kitchen_garden" / "a6")
    assert [found for path in demo for found in otherwise(path)] == []


def test_texts_that_the_other_engine_does_not_set_right_are_let_be(shelf: Shelf) -> None:
    """It does not know ``text-transform``; the pages of tests/draw have a browser's word for it."""
    said = 'x="20" y="40" font-size="16" font-family="Kalam"'
    path = shelf.put("capitals", f'<text {said} text-transform="uppercase">mint and peas</text>')
    assert otherwise(path) == []


def test_a_drawing_is_compared_once(shelf: Shelf, tmp_path: Path) -> None:
    path = shelf.put("right", OTHERWISE[next(iter(OTHERWISE))][0])
    kept = Cache(tmp_path / "kept")
    first = otherwise(path, kept)

    class Full(Cache):
        def get_or_make(self, key: str, make: Callable[[], bytes]) -> bytes:
            def nothing_new() -> bytes:
                raise AssertionError(key)

            return super().get_or_make(key, nothing_new)

    assert otherwise(path, Full(tmp_path / "kept")) == first


def page(*shapes: tuple[float, float, float, float]) -> Image.Image:
    """A page of 60 × 40 mm at 3 pixels to the mm with black rectangles, in mm."""
    picture = Image.new("RGB", (180, 120), "white")
    for box in shapes:
        ImageDraw.Draw(picture).rectangle([3 * side for side in box], fill="black")
    return picture


@pytest.mark.parametrize(
    ("mine", "theirs", "place"),
    [
        (page((10, 10, 30, 20)), page(), (10, 10, 22, 12)),
        (page(), page((10, 10, 30, 20)), (10, 10, 22, 12)),
        (page((10, 10, 30, 20)), page((10.3, 10, 30.3, 20)), None),
        (page((10, 10, 30, 20)), page((12, 10, 32, 20)), (10, 10, 22, 12)),
        (page((10, 10, 12, 12)), page((10, 10, 12, 12), (40, 30, 44, 34)), (40, 30, 6, 6)),
    ],
)
def test_pictures_differ_where_something_is_moved_added_or_lost(
    mine: Image.Image, theirs: Image.Image, place: tuple[float, ...] | None
) -> None:
    found = drawn_apart(mine, theirs)
    if place is None:
        assert found == []
    else:
        lefts, tops, widths, heights = zip(*found, strict=True)
        x, y, width, height = place
        assert x <= min(lefts) <= x + 2
        assert y <= min(tops) <= y + 2
        right = max(left + wide for left, wide in zip(lefts, widths, strict=True))
        bottom = max(top + high for top, high in zip(tops, heights, strict=True))
        assert abs(right - x - width) <= 2
        assert abs(bottom - y - height) <= 2
