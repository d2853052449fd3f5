"""n-up and cut and stack: fits, fills, reads in order, and never worse than trying everything."""

from __future__ import annotations

import functools
import itertools

import pytest
from hypothesis import given, reject, settings
from hypothesis import strategies as st

from pipeline.impose.layout import Rooms, Stack, most_on_a_sheet, stacked
from pipeline.impose.sheet import PrinterSettings
from pipeline.plan.model import Paper
from tests.impose.sample import A3, A4, LETTER

SIZES = st.tuples(st.floats(45, 220), st.floats(45, 300))
PAPERS = st.sampled_from([A4, LETTER, A3]) | st.builds(
    lambda a, b: Paper("own", "Own", min(a, b), max(a, b), "", ""),
    st.floats(120, 500),
    st.floats(120, 500),
)
PRINTERS = st.builds(PrinterSettings, unprintable_mm=st.floats(0, 12))
ROOMS = st.builds(Rooms, PAPERS, PRINTERS, st.floats(0, 4))


def make(widths: list[float], height: float, rooms: Rooms) -> tuple[Stack, ...]:
    most = {width: most_on_a_sheet(width, height, rooms) for width in set(widths)}
    if not all(most.values()):
        reject()  # a leaf too big for the paper is another test's business
    return stacked(widths, height, most, rooms)


def leaf_on(stack: Stack, sheet: int, pile: int) -> int | None:
    """The leaf in a pile of a sheet (both from 0), None where the paper stays blank."""
    leaves = stack.leaves(sheet)
    return leaves[pile] if pile < len(leaves) else None


def in_order(stacks: tuple[Stack, ...]) -> list[int]:
    """Leaves as they lie once each stack is cut and its piles laid one on the other."""
    return [
        leaf
        for stack in stacks
        for pile in range(len(stack.layout.positions))
        for sheet in range(stack.sheets)
        if (leaf := leaf_on(stack, sheet, pile)) is not None
    ]


@given(SIZES, st.floats(0, 60), st.lists(st.booleans(), min_size=1, max_size=20),
       ROOMS)  # fmt: skip
def test_leaves_never_overlap_and_keep_room_for_marks(
    size: tuple[float, float],
    flap: float,
    flaps: list[bool],
    rooms: Rooms,
) -> None:
    widths = [size[0] + flap * has for has in flaps]
    area = rooms.area.grown(-rooms.least)
    for stack in make(widths, size[1], rooms):
        covers = [position.covers for position in stack.layout.positions]
        assert all(area.holds(rect, 1e-6) for rect in covers)
        for one, other in itertools.combinations(covers, 2):
            beside = rooms.gutter - 1e-6
            assert not one.grown(beside / 2).overlaps(other.grown(beside / 2))


@given(SIZES, st.floats(0, 60), st.lists(st.booleans(), min_size=1, max_size=30),
       ROOMS)  # fmt: skip
def test_cut_and_stacked_leaves_are_in_reading_order(
    size: tuple[float, float],
    flap: float,
    flaps: list[bool],
    rooms: Rooms,
) -> None:
    widths = [size[0] + flap * has for has in flaps]
    stacks = make(widths, size[1], rooms)
    assert in_order(stacks) == list(range(len(widths)))


@given(SIZES, st.integers(1, 60), ROOMS)
def test_blanks_only_where_unavoidable_and_last(
    size: tuple[float, float], count: int, rooms: Rooms
) -> None:
    (stack,) = make([size[0]] * count, size[1], rooms)
    most = most_on_a_sheet(size[0], size[1], rooms)
    assert stack.sheets == -(-count // most)
    piles = len(stack.layout.positions)
    blank = [
        pile * stack.sheets + sheet
        for pile in range(piles)
        for sheet in range(stack.sheets)
        if leaf_on(stack, sheet, pile) is None
    ]
    assert blank == list(range(count, piles * stack.sheets))
    assert len(blank) < stack.sheets


@given(SIZES, st.floats(5, 60), st.lists(st.booleans(), min_size=2, max_size=20),
       ROOMS)  # fmt: skip
def test_a_guillotine_can_cut_every_sheet_and_no_pile_holds_two_widths(
    size: tuple[float, float],
    flap: float,
    flaps: list[bool],
    rooms: Rooms,
) -> None:
    widths = [size[0] + flap * has for has in flaps]
    for stack in make(widths, size[1], rooms):
        covers = [position.covers for position in stack.layout.positions]
        assert _cuttable([(r.x, r.y, r.right, r.bottom) for r in covers])
        for pile in range(len(covers)):
            leaves = [leaf_on(stack, sheet, pile) for sheet in range(stack.sheets)]
            assert len({widths[leaf] for leaf in leaves if leaf is not None}) == 1


Box = tuple[float, float, float, float]


def _cuttable(boxes: list[Box]) -> bool:
    """Whether straight cuts, each all across its piece, set every box free."""
    if len(boxes) < 2:
        return True
    for near, far in ((0, 2), (1, 3)):
        for cut in (box[far] for box in boxes):
            before = [box for box in boxes if box[far] <= cut]
            after = [box for box in boxes if box[near] >= cut]
            if before and after and len(before) + len(after) == len(boxes):
                return _cuttable(before) and _cuttable(after)
    return False


def test_cuttable_knows_a_pinwheel() -> None:
    pinwheel = [(0.0, 0.0, 2.0, 1.0), (2.0, 0.0, 3.0, 2.0), (1.0, 2.0, 3.0, 3.0),
                (0.0, 1.0, 1.0, 3.0)]  # fmt: skip
    assert not _cuttable(pinwheel)
    assert _cuttable(pinwheel[:2])


def _brute_fits(widths: tuple[float, ...], height: float, rooms: Rooms) -> bool:
    """Tries every way of dealing piles to lanes, upright and turned."""
    edge = rooms.printer.unprintable_mm + rooms.least
    for along, across in (
        (rooms.paper.width_mm, rooms.paper.height_mm),
        (rooms.paper.height_mm, rooms.paper.width_mm),
    ):
        for dealt in itertools.product(range(len(widths)), repeat=len(widths)):
            lanes = [
                [w for w, lane in zip(widths, dealt, strict=True) if lane == number]
                for number in sorted(set(dealt))
            ]
            long = max(sum(lane) + rooms.gutter * (len(lane) - 1) for lane in lanes)
            high = height * len(lanes) + rooms.gutter * (len(lanes) - 1)
            if long <= along - 2 * edge + 1e-9 and high <= across - 2 * edge + 1e-9:
                return True
    return False


@settings(max_examples=60, deadline=None)
@given(SIZES, st.floats(5, 60), st.lists(st.booleans(), min_size=1, max_size=5),
       ROOMS)  # fmt: skip
def test_never_more_sheets_than_by_trying_everything(
    size: tuple[float, float],
    flap: float,
    flaps: list[bool],
    rooms: Rooms,
) -> None:
    widths = [size[0] + flap * has for has in flaps]
    stacks = make(widths, size[1], rooms)

    @functools.cache
    def fits(piles: tuple[float, ...]) -> bool:
        return _brute_fits(piles, size[1], rooms)

    @functools.cache
    def fewest(start: int) -> int:
        best = 0 if start == len(widths) else len(widths) + 1
        for end in range(start + 1, len(widths) + 1):
            run = widths[start:end]
            for sheets in range(1, len(run) + 1):
                piles = [run[at : at + sheets] for at in range(0, len(run), sheets)]
                if all(len(set(pile)) == 1 for pile in piles) and fits(
                    tuple(pile[0] for pile in piles)
                ):
                    best = min(best, sheets + fewest(end))
        return best

    assert sum(stack.sheets for stack in stacks) == fewest(0)


@given(SIZES, ROOMS)
def test_best_n_up_is_what_counting_rows_and_columns_gives(
    size: tuple[float, float], rooms: Rooms
) -> None:
    edge = rooms.printer.unprintable_mm + rooms.least

    def fits(count: int, length: float, room: float) -> bool:
        return count * length + (count - 1) * rooms.gutter + 2 * edge <= room + 1e-9

    best = max(
        columns * rows
        for width, height in (size, size[::-1])
        for columns in range(12)
        for rows in range(12)
        if fits(columns, width, rooms.paper.width_mm) and fits(rows, height, rooms.paper.height_mm)
    )
    assert most_on_a_sheet(*size, rooms) == min(best, 64)


@pytest.mark.parametrize(
    ("widths", "sheets"),
    [
        ([95.0] * 11, [6]),  # two a sheet
        ([95.0, 125.0, 125.0, 125.0, 125.0], [1, 2]),
        ([95.0], [1]),
    ],
)
def test_personal_leaves_on_letter(widths: list[float], sheets: list[int]) -> None:
    stacks = make(widths, 171.0, Rooms(LETTER))
    assert [stack.sheets for stack in stacks] == sheets
