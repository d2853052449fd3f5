"""Tabs: their outline on the sheet, read back with pdfium, and the same on both sides."""

from __future__ import annotations

import itertools
import math

import pytest
from hypothesis import given, reject, settings
from hypothesis import strategies as st

from pipeline.base.errors import UserError
from pipeline.base.geometry import Rect
from pipeline.impose import BOTH, Flip, PrinterSettings, impose
from pipeline.impose.bench import bench
from pipeline.impose.imposing import plan_sheets
from pipeline.impose.leaf import TAB_CORNER_MM, LeafGeometry
from pipeline.impose.sheet import Placement
from pipeline.plan.model import Binder, Binding, Edge, Paper, SetPlan, Side, Tab
from pipeline.plan.sizes import Stock
from tests.impose.readback import Path, paths
from tests.impose.sample import (
    A3,
    A4,
    A5,
    BINDERS,
    LETTER,
    PAPERS,
    PERSONAL,
    POCKET,
    book,
    dividers,
    pages_pdf,
)

NEAR = 0.01  # mm: what a position may be off by in the finished file

FORE, HEAD = Tab(6, 1, 12.0), Tab(4, 1, 10.0, Edge.HEAD)
JOBS = [
    pytest.param(A5, FORE, A4, PrinterSettings(), Binding.LEFT, id="a5-fore-edge"),
    pytest.param(A5, FORE, LETTER, PrinterSettings(flip=Flip.SHORT), Binding.RIGHT, id="right"),
    pytest.param(A5, HEAD, A4, PrinterSettings(), Binding.LEFT, id="a5-head"),
    pytest.param(A5, FORE, A3, PrinterSettings(), Binding.LEFT, id="turned"),
    pytest.param(PERSONAL, HEAD, A4, PrinterSettings(), Binding.RIGHT, id="head-turned-right"),
    pytest.param(POCKET, FORE, LETTER, PrinterSettings(flip=Flip.SHORT), Binding.LEFT, id="four"),
    pytest.param(
        A5, FORE, A4, PrinterSettings(back_shift_mm=(0.6, -0.4)), Binding.LEFT, id="shifted"
    ),
]
with_jobs = pytest.mark.parametrize(("binder", "tab", "paper", "printer", "binding"), JOBS)


def expected(binder: Binder, tab: Tab, side: Side, binding: Binding) -> list[tuple[float, float]]:
    """The corners of the cut along a tab's edge on a face, worked out here from the measures."""
    fore = tab.edge is Edge.FORE
    whole = binder.height_mm if fore else binder.width_mm
    a, b, reach, cut = whole / tab.of * (tab.at - 1), whole / tab.of * tab.at, tab.reach_mm, 2.5
    assert cut == TAB_CORNER_MM
    run = [(0, 0), (a, 0), (a, reach - cut), (a + cut, reach), (b - cut, reach), (b, reach - cut),
           (b, 0), (whole, 0)]  # fmt: skip
    points = [(binder.width_mm + v, u) if fore else (u, reach - v) for u, v in run]
    if (side is Side.VERSO) is (binding is Binding.LEFT):
        span = binder.width_mm + (reach if fore else 0)
        points = [(span - x, y) for x, y in points]
    return points


def on_sheet(points: list[tuple[float, float]], one: Placement) -> list[tuple[float, float]]:
    """Where points of a leaf lie on its side, turned as it is."""
    corner = {
        0: (one.flat.x, one.flat.y),
        90: (one.flat.right, one.flat.y),
        180: (one.flat.right, one.flat.bottom),
        270: (one.flat.x, one.flat.bottom),
    }[one.turned]
    cos, sin = {0: (1, 0), 90: (0, 1), 180: (-1, 0), 270: (0, -1)}[one.turned]
    return [(corner[0] + cos * u - sin * v, corner[1] + sin * u + cos * v) for u, v in points]


def drawn(found: list[Path], start: tuple[float, float], end: tuple[float, float]) -> bool:
    """Whether a straight line runs from one place to another."""
    lines = [path.points for path in found if len(path.points) == 2]
    return any(
        max(math.dist(near, start), math.dist(far, end)) <= NEAR
        for line in lines
        for near, far in (line, line[::-1])
    )


def shorter(
    start: tuple[float, float], end: tuple[float, float]
) -> tuple[tuple[float, float], tuple[float, float]]:
    """A line that stops 0.8 mm short of both ends, or by a quarter where it is very short."""
    part = min(0.8 / math.dist(start, end), 0.25)
    (x, y), (u, v) = start, end
    dx, dy = part * (u - x), part * (v - y)
    return (x + dx, y + dy), (u - dx, v - dy)


def marked(found: list[Path], corner: tuple[float, float], before: tuple[float, float]) -> bool:
    """Whether a mark of 2 mm at least begins 1.5 mm beyond the end of the cut, in line with it."""
    long = math.dist(corner, before)
    step = (corner[0] - before[0]) / long, (corner[1] - before[1]) / long
    near = corner[0] + 1.5 * step[0], corner[1] + 1.5 * step[1]
    return any(
        drawn(found, near, (near[0] + size * step[0], near[1] + size * step[1]))
        for size in {round(math.dist(*path.points), 4) for path in found if len(path.points) == 2}
        if size >= 2 - NEAR
    )


@with_jobs
def test_the_outline_is_where_the_tab_is_on_both_sides(
    binder: Binder, tab: Tab, paper: Paper, printer: PrinterSettings, binding: Binding
) -> None:
    plan = dividers(5, tab, binder, binding)
    done = impose(plan, paper, printer, pages_pdf(plan), book())
    for index, sheet in enumerate(done.sheets):
        for number, placed in ((2 * index, sheet.side_1), (2 * index + 1, sheet.side_2)):
            found = paths(done.files[BOTH], number)
            assert placed
            for one in placed:
                own = plan.leaves[one.leaf].tab
                assert own is not None
                corners = on_sheet(expected(binder, own, one.face, binding), one)
                for start, end in itertools.pairwise(corners):
                    if math.dist(start, end) > NEAR:
                        assert drawn(found, *shorter(start, end)), f"{start} to {end}"
                        assert not drawn(found, start, end)
                for line in (corners, corners[::-1]):
                    # A tab at the corner would be cut off by whoever cuts on to a mark there.
                    at_corner = math.dist(line[0], line[1]) <= NEAR
                    assert marked(found, line[0], line[-1]) is not at_corner, line[0]


TABS = st.builds(
    Tab, st.integers(1, 12), st.just(1), st.floats(5, 20), st.sampled_from(tuple(Edge))
)


@settings(max_examples=150, deadline=None)
@given(
    st.sampled_from(BINDERS),
    TABS,
    st.sampled_from(PAPERS),
    st.sampled_from(tuple(Flip)),
    st.sampled_from(tuple(Binding)),
    st.integers(1, 9),
)
def test_backs_lie_behind_their_fronts_and_leaves_clear_of_each_other(
    binder: Binder, tab: Tab, paper: Paper, flip: Flip, binding: Binding, count: int
) -> None:
    plan = dividers(count, tab, binder, binding)
    try:
        sheets = plan_sheets(plan, paper, PrinterSettings(flip=flip), book())
    except UserError:
        reject()
    for sheet in sheets:
        for front, back in zip(sheet.side_1, sheet.side_2, strict=True):
            own = plan.leaves[front.leaf].tab
            assert own is not None
            geometry = LeafGeometry(binder, binding=binding, tab=own)
            ahead = on_sheet(list(geometry.face(Side.RECTO).outline), front)
            behind = on_sheet(list(geometry.face(Side.VERSO).outline), back)
            through = [(sheet.width_mm - x, y) for x, y in behind]
            if flip is Flip.SHORT:
                through = [(x, sheet.height_mm - y) for x, y in behind]
            for one, other in zip(ahead, through, strict=True):
                assert one == pytest.approx(other, abs=1e-6)
        for here, there in itertools.combinations(sheet.side_1, 2):
            assert not here.flat.grown(1).overlaps(there.flat.grown(1))


def areas(plan: SetPlan) -> list[Rect]:
    found = []
    for leaf in plan.leaves:
        face = LeafGeometry(plan.binder, tab=leaf.tab).face(Side.RECTO)
        assert face.tab is not None
        found.append(face.tab)
    return found


@pytest.mark.parametrize("tab", [FORE, HEAD, Tab(12, 1, 8.0)])
def test_stacked_tabs_stand_side_by_side_and_fill_the_edge(tab: Tab) -> None:
    stacked = areas(dividers(tab.of, tab))
    for one, other in itertools.pairwise(stacked):
        if tab.edge is Edge.FORE:
            assert other.y == pytest.approx(one.bottom)
        else:
            assert other.x == pytest.approx(one.right)
    whole = Rect.union(stacked)
    long = A5.height_mm if tab.edge is Edge.FORE else A5.width_mm
    assert max(whole.width, whole.height) == pytest.approx(long)


def test_a_leaf_without_a_tab_in_a_set_with_tabs_on_the_head_is_cut_straight() -> None:
    face = LeafGeometry(A5, tab=Tab(1, 0, 12, Edge.HEAD)).face(Side.RECTO)
    assert face.tab is None
    assert face.outline == ((0, 12), (148, 12))
    assert face.trim == Rect(0, 12, 148, 210)


def test_holes_and_page_stay_together_below_a_tab_on_the_head() -> None:
    plain = LeafGeometry(A5).face(Side.VERSO)
    tabbed = LeafGeometry(A5, tab=HEAD).face(Side.VERSO)
    assert [(one.x, one.y + 10) for one in plain.holes] == [(one.x, one.y) for one in tabbed.holes]
    assert tabbed.safe == plain.safe.moved(0, 10)


def test_a_tab_that_does_not_fit_the_paper_says_by_how_much() -> None:
    plan = dividers(2, Tab(6, 1, 40.0))
    with pytest.raises(UserError, match=r"with its tab .* reach of \d") as wide:
        plan_sheets(plan, Paper("b5", "B5", 182.0, 257.0, "", ""), PrinterSettings(), book())
    assert "\n" not in str(wide.value)


def test_no_tab_stands_where_a_flap_folds() -> None:
    with pytest.raises(UserError, match="a flap, and a tab where that folds"):
        LeafGeometry(A5, 42.0, tab=FORE)


@pytest.mark.parametrize("binding", Binding)
@pytest.mark.parametrize("side", Side)
def test_a_flap_begins_below_the_tabs_on_the_head(binding: Binding, side: Side) -> None:
    """The cut runs along the page's head, round the tab, and on along the flap's."""
    face = LeafGeometry(A5, 42.0, binding, tab=Tab(4, 2, 10.0, Edge.HEAD)).face(side)
    assert face.flat == Rect(0, 0, 190, 220)
    assert face.flap is not None
    assert (face.flap.y, face.flap.width, face.flap.height) == (10, 42, 210)
    assert face.opened == Rect(0, 10, 190, 210)
    assert face.tab is not None
    first, last = face.outline[0], face.outline[-1]
    assert {first, last} == {(0, 10), (190, 10)}
    # The second quarter of the page from the rings, 37 mm wide.
    assert abs(face.tab.x + face.tab.width / 2 - face.binding_x) == 1.5 * 148 / 4
    area = sum(
        (x - right) * (y + below)
        for (x, y), (right, below) in itertools.pairwise((*face.corners, face.corners[0]))
    )
    assert abs(area) / 2 == pytest.approx(190 * 210 + 37 * 10 - 2 * 2.5**2 / 2)


def test_tabs_weigh_and_are_counted() -> None:
    plan = dividers(6, FORE)
    figures = bench(plan, plan_sheets(plan, A4, PrinterSettings(), book()), Stock(100))
    assert figures.tabs == 6
    square_metres = 6 * (148 * 210 + 12 * 35) / 1e6
    assert figures.weight_g == pytest.approx(square_metres * 100)


@pytest.mark.parametrize("side", Side)
@pytest.mark.parametrize("tab", [FORE, HEAD, Tab(6, 6, 12.0), Tab(3, 2, 20.0, Edge.HEAD)])
def test_the_cut_leaf_is_page_and_tab_less_two_corners(tab: Tab, side: Side) -> None:
    """Its area by the shoelace formula, from its corners alone."""
    corners = LeafGeometry(A5, tab=tab).face(side).corners
    pairs = zip(corners, (*corners[1:], corners[0]), strict=True)
    area = abs(sum(x * v - u * y for (x, y), (u, v) in pairs)) / 2
    long = A5.height_mm if tab.edge is Edge.FORE else A5.width_mm
    step = long / tab.of
    assert area == pytest.approx(148 * 210 + step * tab.reach_mm - TAB_CORNER_MM**2)
