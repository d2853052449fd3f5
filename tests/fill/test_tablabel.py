"""What is drawn for a tab: taken off the page and put on the tab, wherever that is."""

from __future__ import annotations

import datetime as dt
from collections.abc import Sequence
from dataclasses import replace
from pathlib import Path

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from lxml import etree

from pipeline.base.errors import UserError
from pipeline.base.geometry import Rect
from pipeline.draw import draw
from pipeline.fill import fill_set
from pipeline.fill.tablabel import TAB_EDGE_MM, on_leaf
from pipeline.fill.template import Template, open_template
from pipeline.plan.model import Binding, Edge, Facts, Leaf, Page, Period, SetPlan, Side, Tab
from pipeline.svg.tree import SVG, page_matrix
from pipeline.text import FontBook
from tests.fill.conftest import BINDER, HEAD
from tests.impose.readback import words

SIZE = 'width="100mm" height="60mm" viewBox="0 0 100 60"'
TEXT = '<text x="{x}" y="{y}" font-family="Source Sans 3" font-size="3" {more}>March</text>'
BOXED = (
    '<g id="tab-label"><rect x="20" y="10" width="20" height="5" fill="none"/>'
    + TEXT.format(x=30, y=13.5, more='text-anchor="middle"')
    + "</g>"
)
SAID = ("March", "Mar")


def filled(
    path: Path, content: str, tab: Tab | None, book: FontBook, said: Sequence[str] = SAID,
    side: Side = Side.RECTO, binding: Binding = Binding.LEFT,
) -> etree._Element:  # fmt: skip
    """The page of a leaf with a tab, drawn as ``content``."""
    path.write_text(f"{HEAD}{SIZE}>{content}</svg>", "utf-8")
    facts = Facts("month", {"tab-label": tuple(said)})
    page = Page("page", side, facts, "March", tab=tab)
    leaf = Leaf(page, None) if side is Side.RECTO else Leaf(None, page)
    period = Period("p", "P", dt.date(2027, 3, 1), dt.date(2027, 3, 31))
    plan = SetPlan("s", "S", period, BINDER, binding, "en-GB", (), (leaf,))
    (one,) = fill_set(plan, {"page": open_template(path)}, book)
    return etree.fromstring(one.whole())


def spot(root: etree._Element) -> tuple[float, float]:
    """Where the label's point is on the page, mm."""
    (text,) = root.iter(SVG + "text")
    run = next(step for step in text.iter() if step.text)
    x, y = (float(run.get(name) or text.get(name) or 0) for name in ("x", "y"))
    return page_matrix(text).point(x, y)


@pytest.mark.parametrize("side", Side)
@pytest.mark.parametrize("binding", Binding)
@pytest.mark.parametrize("at", [1, 2, 3])
def test_a_label_stands_in_the_middle_of_its_tab(
    tmp_path: Path, book: FontBook, at: int, side: Side, binding: Binding
) -> None:
    """Of a page 100 × 60 mm, three steps of 20 mm, the tab 10 mm deep."""
    root = filled(tmp_path / "page.svg", BOXED, Tab(3, at, 10), book, side=side, binding=binding)
    assert (root.get("width"), root.get("height")) == ("110mm", "60mm")
    x, y = spot(root)
    at_right = (side is Side.RECTO) is (binding is Binding.LEFT)
    # Its line was 1 mm below the middle of its box: turned with the heads outwards, 1 mm inwards.
    assert x == pytest.approx(104 if at_right else 6)
    assert y == pytest.approx(20 * at - 10)
    (text,) = root.iter(SVG + "text")
    matrix = page_matrix(text)
    up = -matrix.c  # where the heads of the letters point
    assert up > 0 if at_right else up < 0


def test_on_the_head_it_stays_level(tmp_path: Path, book: FontBook) -> None:
    root = filled(tmp_path / "page.svg", BOXED, Tab(4, 2, 12, Edge.HEAD), book)
    assert root.get("height") == "72mm"
    assert spot(root) == pytest.approx((37.5, 7))


@pytest.mark.parametrize("turn", [0, 90, -90])
def test_a_text_without_a_box_and_one_drawn_turned(
    tmp_path: Path, book: FontBook, turn: int
) -> None:
    drawn = TEXT.format(x=50, y=30, more=f'id="tab-label" transform="rotate({turn} 50 30)"')
    x, y = spot(filled(tmp_path / "page.svg", drawn, Tab(3, 2, 10), book))
    # The middle of its capitals is on the middle of the tab; 0.66 of 3 mm high, by eye.
    assert y == pytest.approx(30)
    assert abs(x - 105) == pytest.approx(0.99)


def test_without_a_tab_nothing_is_left(tmp_path: Path, book: FontBook) -> None:
    for tab in (None, Tab(3, 0, 10, Edge.HEAD)):
        root = filled(tmp_path / "page.svg", BOXED, tab, book)
        assert not list(root.iter(SVG + "text"))


def test_a_longer_text_is_said_in_its_shorter_form(tmp_path: Path, book: FontBook) -> None:
    root = filled(tmp_path / "page.svg", BOXED, Tab(8, 1, 10), book, ("September", "Sept"))
    (text,) = root.iter(SVG + "text")
    assert "".join(map(str, text.itertext())).strip() == "Sept"


@pytest.mark.parametrize(
    ("tab", "said", "told"),
    [
        (Tab(10, 1, 10), ("Kitchen garden",), r"'Kitchen garden' needs \d+.\d mm but has 8.0 mm"),
        (Tab(24, 1, 20), ("1",), r"its type is 3.0 mm high and the tab has 0.5 mm"),
        (Tab(30, 1, 20), ("1",), r"'tab-label'.*its type is 3.0 mm high and the tab has 0.0 mm"),
    ],
)
def test_a_tab_too_small_for_its_label(
    tmp_path: Path, book: FontBook, tab: Tab, said: tuple[str, ...], told: str
) -> None:
    with pytest.raises(UserError, match=told) as found:
        filled(tmp_path / "page.svg", BOXED, tab, book, said)
    assert "\n" not in str(found.value)


@settings(max_examples=60, deadline=None)
@given(
    st.integers(1, 6), st.integers(1, 6), st.floats(8, 20), st.sampled_from(Edge),
    st.sampled_from(Side), st.sampled_from(["start", "middle", "end"]),
)  # fmt: skip
def test_its_box_becomes_the_tab_s(
    of: int, at: int, reach: float, edge: Edge, side: Side, anchor: str
) -> None:
    root = etree.fromstring(f"{HEAD}{SIZE}>{BOXED}</svg>")
    for element in root.iter():
        if element.get("id"):
            element.set("data-names", str(element.get("id")))
        if element.tag == SVG + "text":
            element.set("text-anchor", anchor)
    tab = Tab(of, min(at, of), reach, edge)
    page = on_leaf(Template(Path("page.svg"), root, 100, 60), tab, side, 0)
    (rect,) = page.root.iter(SVG + "rect")
    own = Rect(*(float(rect.get(name, "")) for name in ("x", "y", "width", "height")))
    area = tab.area(100, 60)
    assert area is not None
    if side is Side.VERSO:
        area = area.mirrored_x(page.width_mm)
    assert page_matrix(rect).bounds(own) == pytest.approx(area.grown(-TAB_EDGE_MM), abs=1e-3)


@pytest.mark.parametrize("side", Side)
@pytest.mark.parametrize("edge", Edge)
def test_a_filled_box_colours_the_tab_and_not_the_page(
    tmp_path: Path, book: FontBook, side: Side, edge: Edge
) -> None:
    drawn = BOXED.replace('fill="none"', 'fill="#dfe9d6"')
    tab = Tab(4, 2, 10, edge)
    root = filled(tmp_path / "page.svg", drawn, tab, book, side=side)
    (rect,) = root.iter(SVG + "rect")
    own = Rect(*(float(rect.get(name, "")) for name in ("x", "y", "width", "height")))
    ground = page_matrix(rect).bounds(own)
    # 3 mm around a tab 15 mm long of 60, or 25 of 100, but for the side where the page is.
    wanted = Rect(100, 12, 13, 21) if edge is Edge.FORE else Rect(22, -3, 31, 13)
    if side is Side.VERSO:
        wanted = wanted.mirrored_x(110 if edge is Edge.FORE else 100)
    assert ground == pytest.approx(wanted, abs=1e-3)
    assert spot(root)


def test_it_is_printed_there(tmp_path: Path, book: FontBook) -> None:
    """Read by pdfium from what is drawn."""
    root = filled(tmp_path / "page.svg", BOXED, Tab(3, 2, 10), book)
    pdf = draw([etree.tostring(root)], book)
    assert words(pdf, 0).strip() == "March"


def test_the_template_is_left_as_it_was(tmp_path: Path) -> None:
    root = etree.fromstring(f"{HEAD}{SIZE}>{BOXED}</svg>")
    root[0].set("data-names", "tab-label")
    before = etree.tostring(root)
    template = Template(tmp_path / "page.svg", root, 100, 60)
    assert on_leaf(template, Tab(3, 2, 10), Side.RECTO, 0) != template
    assert on_leaf(replace(template), None, Side.RECTO, 0).width_mm == 100
    assert etree.tostring(root) == before
