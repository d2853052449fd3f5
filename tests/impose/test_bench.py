"""Work at the bench: cuts held against cutting it all out, and the pack against the scales."""

from __future__ import annotations

import functools
from dataclasses import replace

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from pydantic import TypeAdapter

from pipeline.base.geometry import Rect
from pipeline.impose import PrinterSettings, plan_sheets
from pipeline.impose.bench import Bench, Ink, SideInk, bench, strokes
from pipeline.plan.model import Binder, Holes, Paper
from pipeline.plan.sizes import Stock
from tests.impose.sample import A3, A4, A5, A6, BINDERS, LETTER, PAPERS, PERSONAL, book, set_of

PAGE = Rect(0, 0, 50, 80)


def grid(rows: int, columns: int) -> list[Rect]:
    return [PAGE.moved(10 + 60 * x, 10 + 90 * y) for y in range(rows) for x in range(columns)]


@pytest.mark.parametrize(
    ("rows", "columns", "expected"),
    [(1, 1, 4), (1, 2, 6), (2, 1, 6), (2, 2, 8), (3, 3, 12), (5, 2, 14)],
)
def test_a_grid_takes_two_strokes_a_row_and_two_a_column(
    rows: int, columns: int, expected: int
) -> None:
    assert strokes(grid(rows, columns)) == expected


def test_a_short_last_row_is_cut_with_the_others() -> None:
    assert strokes(grid(2, 3)[:5]) == strokes(grid(2, 3)) == 10


def test_rows_whose_cuts_would_hit_a_leaf_are_cut_by_themselves() -> None:
    """One wide leaf over two narrow ones: the gutter of the two is cut apart from the wide one."""
    wide = Rect(10, 10, 110, 80)
    below = [flat.moved(0, 90) for flat in grid(1, 2)]
    assert strokes([wide, *below]) == 4 + 2 + 2
    further = wide.moved(5, 0)
    assert strokes([further, *below]) == 4 + 2 + 1 + 3  # two trims right through, the rest apart


Piece = tuple[int, int, int, int]
"""Left, top, right and bottom in thousandths of a millimetre."""


def cut_each_by_itself(sheet: Piece, flats: list[Piece]) -> int:
    """Fewest strokes when no two pieces are laid together: all straight cuts tried."""

    @functools.cache
    def fewest(piece: Piece) -> int:
        left, top, right, bottom = piece
        inside = [
            f for f in flats if left <= f[0] and top <= f[1] and f[2] <= right and f[3] <= bottom
        ]
        if not inside or inside == [piece]:
            return 0
        ways = []
        for x in {edge for f in inside for edge in (f[0], f[2])}:
            if left < x < right and not any(f[0] < x < f[2] for f in inside):
                ways.append(1 + fewest((left, top, x, bottom)) + fewest((x, top, right, bottom)))
        for y in {edge for f in inside for edge in (f[1], f[3])}:
            if top < y < bottom and not any(f[1] < y < f[3] for f in inside):
                ways.append(1 + fewest((left, top, right, y)) + fewest((left, y, right, bottom)))
        return min(ways)

    return fewest(sheet)


def piece_of(rect: Rect) -> Piece:
    left, top, right, bottom = (
        round(1000 * edge) for edge in (rect.x, rect.y, rect.right, rect.bottom)
    )
    return left, top, right, bottom


@settings(max_examples=60, deadline=None)
@given(
    st.sampled_from(BINDERS),
    st.sampled_from(PAPERS),
    st.lists(st.sampled_from([0, 12, 30]), min_size=1, max_size=6),
)
def test_strokes_against_every_way_to_cut_where_nothing_can_be_laid_together(
    binder: Binder, paper: Paper, flaps: list[int]
) -> None:
    """In a single lane they are the fewest; else no more than two for each lane and leaf."""
    plan = set_of([(float(flap), 0.0) for flap in flaps], binder)
    sheets = plan_sheets(plan, paper, PrinterSettings(), book())
    whole = piece_of(Rect(0, 0, paper.width_mm, paper.height_mm))
    firsts = {sheet.stack: sheet for sheet in reversed(sheets)}
    for sheet in firsts.values():
        flats = [placed.flat for placed in sheet.side_1]
        turned = sheet.side_1[0].turned
        lanes = len({round(flat.x if turned else flat.y, 3) for flat in flats})
        if lanes == 1:
            assert strokes(flats) == cut_each_by_itself(whole, [piece_of(f) for f in flats])
        else:
            assert 6 <= strokes(flats) <= 2 * lanes + 2 * len(flats)
    expected = sum(strokes([placed.flat for placed in s.side_1]) for s in firsts.values())
    assert bench(plan, sheets, Stock()).cuts == expected


def test_stacks_are_cut_one_after_the_other() -> None:
    """Three A5 leaves with a flap, two without: two stacks on A4, four cuts each."""
    plan = set_of([(42.0, 0.0)] * 3 + [(0.0, 0.0)] * 2)
    sheets = plan_sheets(plan, A4, PrinterSettings(), book())
    assert {sheet.stack for sheet in sheets} == {0, 1}
    figures = bench(plan, sheets, Stock())
    assert (figures.sheets, figures.cuts, figures.folds) == (5, 8, 3)


def test_leaves_that_share_a_sheet_share_their_cuts() -> None:
    plan = set_of([(0.0, 0.0)] * 8, A6)
    sheets = plan_sheets(plan, A3, PrinterSettings(), book())
    figures = bench(plan, sheets, Stock())
    assert (figures.sheets, figures.cuts, figures.folds) == (2, 8, 0)


@pytest.mark.parametrize(("leaves", "expected"), [(1, 1), (5, 1), (6, 2), (10, 2), (27, 6)])
def test_five_leaves_go_under_the_punch_at_once(leaves: int, expected: int) -> None:
    plan = set_of([(0.0, 0.0)] * leaves, PERSONAL)
    sheets = plan_sheets(plan, LETTER, PrinterSettings(), book())
    assert bench(plan, sheets, Stock()).punch_strokes == expected


def test_leaves_without_holes_are_not_punched() -> None:
    bare = Binder("bare", "Bare", 95, 171, Holes((), 6, 5), "-")
    plan = set_of([(0.0, 0.0)] * 6, bare)
    sheets = plan_sheets(plan, LETTER, PrinterSettings(), book())
    assert bench(plan, sheets, Stock()).punch_strokes == 0


def test_the_pack_on_the_scales() -> None:
    """ISO 216: sixteen A4 are a square metre (to whole mm), so thirty-two A5 weigh their g/m²."""
    plan = set_of([(0.0, 0.0)] * 32, A5)
    sheets = plan_sheets(plan, A4, PrinterSettings(), book())
    figures = bench(plan, sheets, Stock(100, caliper_mm=0.125))
    assert figures.weight_g == pytest.approx(100, rel=0.006)
    assert figures.thickness_mm == pytest.approx(4.0)


def test_a_folded_flap_lies_in_the_pack_twice() -> None:
    flat, folded = set_of([(0.0, 0.0)] * 4), set_of([(37.0, 0.0)] * 4)
    stock = Stock(120, caliper_mm=0.15)
    packs = [
        bench(plan, plan_sheets(plan, A4, PrinterSettings(), book()), stock)
        for plan in (flat, folded)
    ]
    assert [pack.thickness_mm for pack in packs] == pytest.approx([0.6, 1.2])
    assert packs[1].weight_g / packs[0].weight_g == pytest.approx((148 + 37) / 148)


def test_it_is_written_rounded_for_the_bench() -> None:
    plan = set_of([(0.0, 0.0)], A5)
    figures = bench(plan, plan_sheets(plan, A4, PrinterSettings(), book()), Stock())
    ink = Ink(1.23456, (SideInk(1, 1, 2.46912),))
    assert TypeAdapter(Bench).dump_python(replace(figures, ink=ink)) == {
        "sheets": 1,
        "cuts": 4,
        "folds": 0,
        "punch_strokes": 1,
        "gsm": 120.3,
        "caliper_mm": 0.156,
        "weight_g": 3.7,
        "thickness_mm": 0.2,
        "ink": {"mean_percent": 1.23, "sides": ({"sheet": 1, "side": 1, "percent": 2.47},)},
        "tabs": 0,
    }
