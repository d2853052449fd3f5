"""Leaves turned on a sheet, seen from the back, and turned over."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from pipeline.base.geometry import Rect, pt
from pipeline.impose.pose import Pose
from pipeline.impose.printer import Flip, PrinterSettings
from pipeline.impose.sheet import back_pose
from tests.impose.sample import A4

LENGTH = st.floats(1, 400)
PLACE = st.floats(-50, 300)
POSES = st.builds(Pose, PLACE, PLACE, LENGTH, LENGTH, st.sampled_from([0, 90, 180, 270]))


@given(POSES, st.floats(100, 500))
def test_seen_from_the_back_twice_is_where_it_was(pose: Pose, sheet: float) -> None:
    again = pose.behind(sheet).behind(sheet)
    assert again.covers == pytest.approx(pose.covers)
    assert again.turned == pose.turned


@given(POSES, st.floats(0, 1), st.floats(0, 1), st.floats(100, 500))
def test_a_point_of_the_leaf_is_behind_itself(
    pose: Pose, along: float, down: float, sheet: float
) -> None:
    u, v = along * pose.width, down * pose.height
    front = pose.point(u, v)
    back = pose.behind(sheet).point(pose.width - u, v)  # the verso's own x runs the other way
    assert (back.x, back.y) == pytest.approx((sheet - front.x, front.y))


@given(POSES, st.floats(0, 1), st.floats(0, 1))
def test_flipped_on_the_short_edge_a_point_is_behind_itself(
    pose: Pose, along: float, down: float
) -> None:
    # Over the upper edge, what was at y comes to lie at height - y, and x stays.
    u, v = along * pose.width, down * pose.height
    front = pose.point(u, v)
    printer = PrinterSettings(flip=Flip.SHORT)
    back = back_pose(pose, A4, printer).point(pose.width - u, v)
    assert (back.x, back.y) == pytest.approx((front.x, 297 - front.y))


def test_the_printers_shift_is_made_up_for() -> None:
    pose = Pose(10, 20, 148, 210)
    moved = back_pose(pose, A4, PrinterSettings(back_shift_mm=(0.4, -0.3)))
    straight = back_pose(pose, A4, PrinterSettings())
    assert (moved.x, moved.y) == pytest.approx((straight.x - 0.4, straight.y + 0.3))


@given(POSES, st.floats(0, 1), st.floats(0, 1))
def test_the_pdf_matrix_says_the_same_as_the_pose(pose: Pose, along: float, up: float) -> None:
    page = Rect(0, 0, pose.width, pose.height)
    a, b, c, d, e, f = pose.matrix(page, 297)
    x, y = along * pt(pose.width), up * pt(pose.height)
    there = pose.point(along * pose.width, pose.height - up * pose.height)
    assert (a * x + c * y + e, b * x + d * y + f) == pytest.approx(
        (pt(there.x), pt(297 - there.y)), abs=1e-6
    )
