"""What a second engine draws otherwise is found with its place, and nothing else is.

The engine is resvg; what it does not know, or what is spoilt in a picture, stands for our faults.
"""

from __future__ import annotations

import copy
import itertools
import re
from collections.abc import Callable
from dataclasses import replace
from pathlib import Path

import pytest
from lxml import etree
from PIL import Image, ImageDraw

from pipeline.base.cache import NO_CACHE, Cache
from pipeline.base.findings import Severity
from pipeline.drawings.checks import DrawingFinding, check_drawings, templates_under
from pipeline.drawings.checks.inspection import Inspection
from pipeline.drawings.checks.secondengine import check_other_engine, drawn_apart
from pipeline.drawings.checks.sourcetext import SourceText, read_on, with_numbers
from pipeline.drawings.checks.usage import Usages
from pipeline.fill.template import open_template
from pipeline.svg.tree import lineage, remove, strip
from pipeline.text import FontBook
from tests.conftest import ROOT
from tests.draw.feature_pages import PAGES
from tests.draw.feature_samples import Feature
from tests.draw.test_features import svg
from tests.drawings.checks.conftest import Shelf

_LEAF = '<path id="leaf" d="M20 60C40 20 80 20 90 60C80 100 40 100 20 60z" fill="#383"/>'
_BAND = (
    '<rect id="band" x="20" y="40" width="60" height="30" fill="#fd8"'
    ' stroke="#036" stroke-width="4"'
)
_WORD = '<text id="word" x="20" y="60" font-size="24" font-family="Kalam">Seeds</text>'
_RING = "M20 40h60v40h-60zM30 50h40v20h-40z"


_SAID = 'x="20" y="40" font-size="16" font-family="Kalam"'


def _set(name: str, value: str) -> Callable[[etree._Element], None]:
    return lambda element: element.set(name, value)


def _lose(*attributes: str) -> Callable[[etree._Element], None]:
    """Takes attributes off an element and what is around it."""

    def lose(element: etree._Element) -> None:
        for step in lineage(element):
            strip(step, *attributes)

    return lose


OTHERWISE: dict[str, tuple[str, Callable[[etree._Element], None]]] = {
    # what is wrong with what we drew: (the drawing, what is done to it before we draw)
    "a shape that is left out": (_LEAF, remove),
    "a shape moved by 3 mm": (_LEAF, _set("transform", "translate(3 0)")),
    "a shape turned by 5 degrees": (_BAND + "/>", _set("transform", "rotate(5)")),
    "another colour": (_LEAF, _set("fill", "#833")),
    "an opacity forgotten": (_BAND + ' opacity=".4"/>', _lose("opacity")),
    "a line half as wide": (_BAND + "/>", _set("stroke-width", "2")),
    "a line left out": (_BAND + "/>", _set("stroke", "none")),
    "dashes forgotten": (
        '<path id="dashed" d="M20 60H100" stroke="#036" stroke-width="3" stroke-dasharray="9"/>',
        _lose("stroke-dasharray"),
    ),
    "a hole filled": (f'<path id="ring" d="{_RING}" fill-rule="evenodd"/>', _lose("fill-rule")),
    "a clip forgotten": (
        '<clipPath id="c"><circle cx="50" cy="60" r="20"/></clipPath>'
        + _LEAF.replace("<path", '<path clip-path="url(#c)"'),
        _lose("clip-path"),
    ),
    "a mask forgotten": (
        '<mask id="m"><circle cx="50" cy="60" r="20" fill="white"/></mask>'
        + _LEAF.replace("<path", '<path mask="url(#m)"'),
        _lose("mask"),
    ),
    "a gradient painted flat": (
        '<linearGradient id="g"><stop/><stop offset="1" stop-color="#fc3"/></linearGradient>'
        + _LEAF.replace("#383", "url(#g)"),
        _set("fill", "#765"),
    ),
    "an effect forgotten": (
        '<filter id="f"><feGaussianBlur stdDeviation="5"/></filter>'
        + _LEAF.replace("<path", '<path filter="url(#f)"'),
        _lose("filter"),
    ),
    "a blend mode forgotten": (
        '<rect x="50" y="20" width="60" height="80" fill="#e8c840"/>'
        + _LEAF.replace("<path", '<path style="mix-blend-mode:multiply"').replace("#383", "#7ad"),
        _lose("mix-blend-mode"),
    ),
    "type a tenth smaller": (_WORD, _set("font-size", "21")),
    "type of another face": (_WORD, _set("font-family", "Source Sans 3")),
    "a text about its middle": (_WORD, _set("text-anchor", "middle")),
    "words left out": (_WORD, remove),
}
"""Faults of ours: the second engine is shown the drawing as it was saved."""


def spoilt(path: Path, fault: Callable[[etree._Element], None]) -> Inspection:
    """A drawing's inspection, with its plain form spoilt where it first leaves ink."""
    file = open_template(path)
    raw, numbered = with_numbers(file)
    template, _ = read_on(numbered)
    root = copy.deepcopy(template.root)
    inspection = Inspection(
        Usages().of(path), SourceText.of(file.data), raw, replace(template, root=root), FontBook()
    )
    fault(inspection.painted[-1].element)
    return inspection


def otherwise(path: Path, cache: Cache = NO_CACHE) -> list[DrawingFinding]:
    return [one for one in check_drawings([path], cache=cache)[0] if one.rule == "drawn-otherwise"]


@pytest.mark.parametrize("done", OTHERWISE)
def test_what_we_draw_wrong_is_told_with_its_place(done: str, shelf: Shelf) -> None:
    drawn, fault = OTHERWISE[done]
    path = shelf.put("right", drawn)
    assert not list(check_other_engine(spoilt(path, lambda element: None), NO_CACHE))
    found = list(check_other_engine(spoilt(path, fault), NO_CACHE))
    assert found
    for one in found:
        assert one.severity is Severity.LOOK
        assert "mm from the left" in one.message
    names = {one.element for one in found}
    assert names <= {re.findall(r'id="(\w+)"', drawn)[-1], ""}


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
    demo = templates_under(ROOT / "templates_svg" / "kitchen_garden" / "a6")[::3]
    assert [found for path in demo for found in otherwise(path)] == []


EVERY_FORTIETH = list(itertools.chain.from_iterable(PAGES.values()))[::40]


@pytest.mark.parametrize("feature", EVERY_FORTIETH, ids=lambda feature: feature.name)
def test_no_page_that_is_drawn_right_is_told(feature: Feature, tmp_path: Path) -> None:
    """What is right of these pages is held in tests/draw, by resvg or by what it is equal to."""
    path = tmp_path / "page.svg"
    path.write_bytes(svg(feature.content, feature.size))
    assert not list(check_other_engine(spoilt(path, lambda element: None), NO_CACHE))


@pytest.mark.parametrize(
    "unknown",
    [
        f'<text {_SAID} text-transform="uppercase">mint and peas</text>',
        '<rect x="20" y="40" width="40" height="30" fill="#383" filter="url(#nothing)"/>',
        '<mask id="m" color-interpolation="linearRGB"><rect width="99" height="99" fill="#888"/>'
        '</mask><rect x="20" y="40" width="40" height="30" mask="url(#m)"/>',
    ],
)
def test_what_the_other_engine_does_not_draw_right_is_left_out(unknown: str, shelf: Shelf) -> None:
    """The pages of tests/draw say what is right of it. All else on the page is compared."""
    assert otherwise(shelf.put("unknown", unknown)) == []
    path = shelf.put("both", unknown + _LEAF)
    assert otherwise(path) == []


def test_a_drawing_is_compared_once(shelf: Shelf, tmp_path: Path) -> None:
    path = shelf.put("right", _LEAF)
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
