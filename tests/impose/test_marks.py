"""Marks: outside every leaf, inside the printable area, clear of a neighbour's; or an error."""

from __future__ import annotations

import itertools

import pytest
from hypothesis import given, reject, settings
from hypothesis import strategies as st

from pipeline.base.errors import UserError
from pipeline.impose.imposing import Job, MarkedStack, _job, _laid, plan_sheets
from pipeline.impose.layout import SHORTEST_MARK_MM, Rooms, most_on_a_sheet
from pipeline.impose.marks import Line, MarkKind
from pipeline.impose.sheet import PrinterSettings
from pipeline.plan.model import Binder, Binding, Holes, Paper
from pipeline.plan.sizes import load_sizes
from tests.impose.sample import A3, A4, A5, BINDERS, LETTER, PAPERS, book, set_of

FLAPS = st.lists(st.sampled_from([(None, 0.0), (0.0, 20.0), (20.0, 0.0), (0.0, 0.0)]),
                 min_size=1, max_size=9)  # fmt: skip
OWN_BINDERS = st.builds(
    lambda width, height: Binder(
        "own", "Own", width, height, Holes((20.0, height / 2, height - 20.0), 6.0, 5.0), ""
    ),
    st.floats(50, 220),
    st.floats(60, 300),
)
OWN_PAPERS = st.builds(
    lambda a, b: Paper("own", "Own", min(a, b), max(a, b), "", ""),
    st.floats(120, 450),
    st.floats(140, 450),
)

MINI = load_sizes(None).binder("mini")


def dress(
    binder: Binder,
    flaps: list[tuple[float | None, float | None]],
    paper: Paper,
    printer: PrinterSettings,
    binding: Binding = Binding.LEFT,
    bleed_mm: float = 0.0,
) -> tuple[Job, tuple[MarkedStack, ...]]:
    plan = set_of(flaps, binder, binding)
    job = _job(plan, paper, printer, book(), bleed_mm)
    return job, _laid(job)


@settings(max_examples=150, deadline=None)
@given(
    st.sampled_from(BINDERS) | OWN_BINDERS,
    FLAPS,
    st.sampled_from(PAPERS) | OWN_PAPERS,
    st.floats(0, 8),
    st.sampled_from(list(Binding)),
    st.floats(0, 3),
)
def test_marks_and_words_keep_to_their_places(
    binder: Binder,
    flaps: list[tuple[float | None, float | None]],
    paper: Paper,
    edge: float,
    binding: Binding,
    bleed: float,
) -> None:
    printer = PrinterSettings(unprintable_mm=edge)
    try:
        job, stacks = dress(binder, flaps, paper, printer, binding, bleed)
    except UserError as problem:
        if "does not fit" in str(problem) or "rings" in str(problem):
            reject()
        raise
    area = job.rooms.area
    for one in stacks:
        leaves = [position.covers for position in one.stack.layout.positions]
        words = [strip.rect for strip in one.slug]
        every = [mark for around in one.marks for mark in around]
        for box in (*words, *(mark.covers for mark in (*every, *one.register))):
            assert area.holds(box, 1e-6)
            for leaf in leaves:
                assert not leaf.grown(job.rooms.gap).overlaps(box, 1e-6)
        for near, far in itertools.combinations((*one.marks, one.register), 2):
            for mark, other in itertools.product(near, far):
                assert not mark.covers.grown(0.1).overlaps(other.covers.grown(0.1))
        for word, mark in itertools.product(words, (*every, *one.register)):
            assert not word.overlaps(mark.covers.grown(0.2))
        for word, another in itertools.combinations(words, 2):
            assert not word.overlaps(another)
        for mark in every:
            if isinstance(mark, Line) and mark.kind in (MarkKind.CROP, MarkKind.FOLD):
                assert max(mark.covers[2:]) >= SHORTEST_MARK_MM - 1e-6


def test_every_leaf_has_eight_crop_marks_two_folds_and_a_pin_for_each_hole() -> None:
    _, (one,) = dress(A5, [(42.0, 0.0)], A4, PrinterSettings())
    lines = [mark for mark in one.marks[0] if isinstance(mark, Line)]
    count = {kind: sum(line.kind is kind for line in lines) for kind in MarkKind}
    assert count[MarkKind.CROP] == 8
    assert count[MarkKind.FOLD] == 2
    assert count[MarkKind.PUNCH] == len(A5.holes.centres_mm) + 2
    between = 2 * 3  # at head and foot; beside the leaf they would be too small to be read
    assert sum(mark.kind is MarkKind.REGISTER for mark in one.register) == between


def test_a_mark_is_shorter_where_there_is_less_room() -> None:
    _, (one,) = dress(A5, [(42.0, 0.0)], A4, PrinterSettings())
    crops = [m for m in one.marks[0] if isinstance(m, Line) and m.kind is MarkKind.CROP]
    across = {round(m.covers.width, 6) for m in crops if m.covers.width > m.covers.height}
    along = {round(m.covers.height, 6) for m in crops if m.covers.height > m.covers.width}
    assert across == {2.15}  # 10 mm of margin less 6.35 unprintable less 1.5 of gap
    assert along == {5.0}


def test_too_little_room_is_an_error_that_says_how_much_is_missing() -> None:
    with pytest.raises(UserError) as problem:
        dress(A5, [(44.0, 0.0)], A4, PrinterSettings())
    assert "1.7 mm in width missing" in str(problem.value)
    assert "make the flap 42.3 mm at most" in str(problem.value)
    with pytest.raises(UserError, match=r"9\.7 mm in height missing"):
        dress(Binder("b", "B", 148, 287, Holes((), 0, 0), ""), [(0.0, 0.0)], A4, PrinterSettings())
    dress(A5, [(44.0, 0.0)], A4, PrinterSettings(unprintable_mm=5.0))


def test_fewer_leaves_on_a_sheet_leave_room_for_the_words() -> None:
    """Two small leaves with flaps fit on this paper, but nothing else would."""
    paper = Paper("own", "Own", 120, 195, "", "")
    _, (one,) = dress(MINI, [(0.0, 20.0), (0.0, 20.0)], paper, PrinterSettings(unprintable_mm=3))
    rooms = Rooms(paper, PrinterSettings(unprintable_mm=3))
    assert most_on_a_sheet(MINI.width_mm + 20, MINI.height_mm, rooms) == 2
    assert len(one.stack.layout.positions) == 1
    assert one.stack.sheets == 2


def test_a_paper_too_small_for_the_bar_is_an_error() -> None:
    card = Paper("card", "Card", 90, 110, "", "")
    small = Binder("s", "S", 50, 60, Holes((), 0, 0), "")
    with pytest.raises(UserError, match="100 mm bar"):
        dress(small, [(0.0, 0.0)], card, PrinterSettings())


def test_words_move_the_leaves_aside_only_when_they_must() -> None:
    for binder, paper in itertools.product(BINDERS, (A4, LETTER, A3)):
        _, stacks = dress(binder, [(0.0, 0.0)] * 3, paper, PrinterSettings())
        for one in stacks:
            block = one.stack.layout.block
            assert block.x + block.width / 2 == pytest.approx(paper.width_mm / 2)
            assert block.y + block.height / 2 == pytest.approx(paper.height_mm / 2)


def test_sheets_are_numbered_through_all_stacks() -> None:
    plan = set_of([(None, 0.0), (0.0, 42.0), (42.0, 0.0)])
    sheets = plan_sheets(plan, A4, PrinterSettings(), book())
    assert [sheet.number for sheet in sheets] == [1, 2, 3]
    assert [sheet.stack for sheet in sheets] == [0, 1, 1]
