"""A leaf's own geometry: faces, flaps and the errors of impossible ones."""

from __future__ import annotations

import math

import pytest
from hypothesis import given
from hypothesis import strategies as st

from pipeline.base.errors import UserError
from pipeline.base.geometry import Rect
from pipeline.impose.leaf import LeafGeometry, check_paper
from pipeline.impose.measure import leaves_a_sheet, widest_flap
from pipeline.impose.printer import PrinterSettings
from pipeline.plan.model import Binder, Binding, Holes, Paper, Side
from tests.impose.sample import A3, A4, A5, LETTER, MINI, PERSONAL


def test_left_bound_recto_has_its_flap_on_the_right() -> None:
    face = LeafGeometry(A5, 42.0).face(Side.RECTO)
    assert face.trim == Rect(0, 0, 148, 210)
    assert face.flap == Rect(148, 0, 42, 210)
    assert face.fold_x == 148
    assert face.holes[0].x == 6.0


def test_left_bound_verso_is_its_mirror() -> None:
    face = LeafGeometry(A5, 42.0).face(Side.VERSO)
    assert face.trim == Rect(42, 0, 148, 210)
    assert face.flap == Rect(0, 0, 42, 210)
    assert face.fold_x == 42
    assert face.binding_x == 190
    assert face.holes[0].x == 184.0


@pytest.mark.parametrize("side", list(Side))
def test_right_bound_mirrors_everything(side: Side) -> None:
    left = LeafGeometry(A5, 42.0, Binding.LEFT).face(side)
    right = LeafGeometry(A5, 42.0, Binding.RIGHT).face(side)
    assert right == left.mirrored()
    assert right != left


@given(st.floats(0, 130), st.sampled_from(list(Binding)), st.sampled_from(list(Side)))
def test_mirrored_twice_is_where_it_was(flap: float, binding: Binding, side: Side) -> None:
    face = LeafGeometry(A5, flap, binding).face(side)
    again = face.mirrored().mirrored()
    assert again.trim == pytest.approx(face.trim)
    assert [hole.x for hole in again.holes] == pytest.approx([hole.x for hole in face.holes])


@given(st.floats(0, 130), st.sampled_from(list(Binding)), st.sampled_from(list(Side)))
def test_a_closed_flap_never_reaches_the_holes(flap: float, binding: Binding, side: Side) -> None:
    face = LeafGeometry(A5, flap, binding).face(side)
    if face.flap is None or face.fold_x is None:
        return
    closed = face.flap.mirrored_x(2 * face.fold_x)
    for hole in face.holes:
        rim = Rect(hole.x, hole.y, 0, 0).grown(hole.diameter / 2)
        assert not closed.overlaps(rim)
    assert face.flat.holds(closed)


def test_safe_area_keeps_clear_of_the_punch() -> None:
    face = LeafGeometry(A5, 42.0).face(Side.RECTO)
    assert not face.safe.overlaps(face.punch_zone)
    assert face.trim.holds(face.safe)
    assert face.flap_safe == Rect(151, 3, 36, 204)


def test_a_page_without_a_flap_adjoins_the_binding_edge() -> None:
    leaf = LeafGeometry(A5, 42.0)
    assert leaf.page(Side.RECTO, 0.0) == Rect(0, 0, 148, 210)
    assert leaf.page(Side.VERSO, 0.0) == Rect(42, 0, 148, 210)
    assert leaf.page(Side.VERSO, 12.0) == Rect(30, 0, 160, 210)


def test_a_flap_on_the_rings_is_refused_with_its_limit() -> None:
    # F <= W - (e + r + c) = 148 - (6 + 2.75 + 2)
    with pytest.raises(UserError, match=r"rings.*137\.2 mm at most"):
        LeafGeometry(A5, 137.5)
    LeafGeometry(A5, 137.25)


def test_widest_flap_says_what_binds_it() -> None:
    on_a4, on_letter, on_a3 = (widest_flap(A5, paper) for paper in (A4, LETTER, A3))
    # 210 - 148 - 2 * (6.35 + 3.5), 215.9 - 148 - 2 * (6.35 + 3.5)
    assert (round(on_a4.mm, 6), on_a4.bound_by) == (42.3, "paper")
    assert (round(on_letter.mm, 6), on_letter.bound_by) == (48.2, "paper")
    assert (on_a3.mm, on_a3.bound_by) == (137.25, "rings")  # turned: 400 mm are free
    assert widest_flap(MINI, A4).bound_by == "rings"


@given(st.floats(0, 12), st.sampled_from([A5, PERSONAL, MINI]), st.sampled_from([A4, LETTER, A3]))
def test_the_widest_flap_fits_and_a_wider_one_does_not(
    edge: float, binder: Binder, paper: Paper
) -> None:
    printer = PrinterSettings(unprintable_mm=edge)
    widest = widest_flap(binder, paper, printer)
    if widest.by_paper < 0:
        assert leaves_a_sheet(binder, paper, 0.0, printer) == 0
        return
    assert leaves_a_sheet(binder, paper, widest.mm, printer) >= 1
    if widest.bound_by == "paper":
        assert leaves_a_sheet(binder, paper, widest.mm + 0.01, printer) == 0
    else:
        with pytest.raises(UserError, match="rings"):
            LeafGeometry(binder, widest.mm + 0.01)


@pytest.mark.parametrize("flap", [-1.0, math.inf, math.nan])
def test_absurd_flaps_are_refused(flap: float) -> None:
    with pytest.raises(UserError, match="flap"):
        LeafGeometry(A5, flap)


@pytest.mark.parametrize(
    ("binder", "named"),
    [
        (Binder("x", "X", -148, 210, Holes((), 0, 0), ""), "-148 mm"),
        (Binder("x", "X", math.nan, 210, Holes((), 0, 0), ""), "nan mm"),
        (Binder("x", "X", 148, 210, Holes((300.0,), 6, 5), ""), "300 mm from the top"),
        (Binder("x", "X", 148, 210, Holes((30.0,), 160, 5), ""), "160 mm from the edge"),
        (Binder("x", "X", 148, 210, Holes((30.0,), 6, 0), ""), "holes of 0 mm"),
    ],
)
def test_absurd_binders_are_refused(binder: Binder, named: str) -> None:
    with pytest.raises(UserError, match=named):
        LeafGeometry(binder)


def test_a_paper_on_its_side_is_refused() -> None:
    with pytest.raises(UserError, match="lies on its side"):
        check_paper(Paper("wide", "Wide", 297, 210, "", ""))


def test_absurd_printers_are_refused() -> None:
    with pytest.raises(UserError, match="unprintable_mm"):
        PrinterSettings(unprintable_mm=-1)
    with pytest.raises(UserError, match="back_shift_mm"):
        PrinterSettings(back_shift_mm=(0, math.inf))
