"""What is refused stops a build at once; a check of a drawing collects all of it."""

from __future__ import annotations

import random

import pytest
from lxml import etree

from pipeline.base.errors import UserError
from pipeline.svg.simplify import simplify
from pipeline.svg.styles import resolve_styles
from pipeline.svg.tree import SVG

FAULTS = (
    '<g id="leaf"><path id="stem" d="M0 0h5" fill="blurple"/><path id="bud" d="M0 0h5"/></g>'
    '<use id="one" href="#one"/>'
    '<clipPath id="words" clip-path="url(#words)"/>'
    '<rect id="box" width="5" height="5" clip-path="url(#words)"/>'
    '<text id="label">red <tspan id="last" fill="bleu">blue</tspan></text>'
)


def drawing(content: str) -> etree._Element:
    return etree.fromstring(
        f'<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 90 90">{content}</svg>'
    )


def ids(root: etree._Element) -> list[str | None]:
    return [each.get("id") for each in root.iter(SVG + "path", SVG + "rect", SVG + "tspan")]


def test_the_first_refusal_is_raised() -> None:
    with pytest.raises(UserError) as caught:
        simplify(drawing(FAULTS), "a5/week.svg")
    assert caught.value.element == "stem"
    assert caught.value.where == "a5/week.svg"


def test_all_refusals_are_collected_and_the_rest_is_simplified() -> None:
    root = drawing(FAULTS)
    refused: list[UserError] = []
    simplify(root, "a5/week.svg", refused)
    assert [problem.element for problem in refused] == ["stem", "one", "words", "last"]
    assert ids(root) == ["bud"]
    assert root.xpath("string()") == "red "


def test_a_refusal_in_what_several_elements_share_is_collected_once() -> None:
    root = drawing(
        '<clipPath id="words" clip-path="url(#words)"/>'
        + '<rect width="5" height="5" clip-path="url(#words)"/>' * 3
    )
    refused: list[UserError] = []
    simplify(root, "a5/week.svg", refused)
    assert [problem.element for problem in refused] == ["words"]


def test_a_group_that_came_around_a_refused_picture_goes_with_it() -> None:
    dot = (
        "data:image/png;base64,iVBORw0KGgoAAAANSUhEUgAAAAEAAAABCAAAAAA6fptVAAAACklEQVR4nGNgAAAAAgAB"
        "SK+kcQAAAABJRU5ErkJggg=="
    )
    root = drawing(
        '<clipPath id="words" clip-path="url(#words)"/>'
        f'<image id="photo" width="9" height="5" href="{dot}" clip-path="url(#words)"/>'
    )
    refused: list[UserError] = []
    simplify(root, "a5/week.svg", refused)
    assert [problem.element for problem in refused] == ["words"]
    assert root.findall(f".//{SVG}image") == []


_NAMES = ("fill", "stroke", "opacity", "marker", "-x", "stroke-width", "d", "x--y", "font-size")
_VALUES = (
    "#fff", "#1e3", "red", "none", "1", "1.5", ".5", "-3", "1px", "2mm", "50%", "url(#a-b)", "a-b",
    "--", "1.", "1.2.3", "1e5", "#0e1", "inherit", "", "a b", "a;b", "1pt", "RED",
)  # fmt: skip


def test_plain_styles_are_read_as_the_parser_of_css_reads_them() -> None:
    """tinycss2 reads the second of each pair: a variable that nobody asks for is nothing plain."""
    chance = random.Random(3)
    for _ in range(2_000):
        style = ";".join(
            chance.choice(_NAMES) + chance.choice((":", " : ", "")) + chance.choice(_VALUES)
            for _ in range(chance.randrange(4))
        )
        pair = etree.Element(SVG + "svg")
        for said in (style, f'{style};--unasked:"for"'):
            etree.SubElement(pair, SVG + "path", {"style": said})
        resolve_styles(pair)
        assert pair[0].items() == pair[1].items(), style
