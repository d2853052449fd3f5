"""Path data as SVG 1.1 (8.3.9) lets it be written."""

from __future__ import annotations

import pytest
from lxml import etree

from pipeline.base.geometry import Rect
from pipeline.drawings.resize.shapes import points_of
from pipeline.svg.path import path_data, tight_box

_ARC = "M10 10a5 5 0 0 1 .5 .5"
"""The arc that the others say with fewer signs."""


@pytest.mark.parametrize(
    "d",
    [
        "M10 10a5 5 0 0 1.5.5",
        "M10 10a5 5 0 01.5.5",
        "M10 10a5 5 0 01.5 .5",
        "M10 10A5,5,0,0110.5,10.5",
        "M10 10a5 5 0,0,1,.5,.5",
        "M10,10a5 5 0 0\n1+.5+.5",
        "M10 10a5 5-0 0 1 5e-1.5",
    ],
)
def test_flags_of_an_arc_may_touch_their_neighbours(d: str) -> None:
    read, plain = path_data(d), path_data(_ARC)
    assert read.operators == plain.operators
    assert read.coordinates == pytest.approx(plain.coordinates)


def test_an_arc_without_any_spaces_goes_on_with_the_next() -> None:
    short = path_data("M4 4a1.5 1.5 0 011.5 1.5.5.5 0 10-.3.2")
    assert short == path_data("M4 4a1.5 1.5 0 0 1 1.5 1.5 a.5 .5 0 1 0 -.3 .2")


@pytest.mark.parametrize("size", [(".5.5", ".5 .5"), ("1.5.5", "1.5 .5"), ("5-5", "5 -5")])
def test_radii_of_an_arc_may_touch_each_other(size: tuple[str, str]) -> None:
    tight, loose = (path_data(f"M1 1a{radii} 0 0 1.5.5") for radii in size)
    assert tight.operators == loose.operators
    assert tight.coordinates == loose.coordinates
    assert tight.coordinates[-2:] == pytest.approx((1.5, 1.5))


def test_numbers_may_touch_where_a_sign_or_a_point_begins_the_next() -> None:
    assert path_data("M.5.5-.3-.2L1e1-2e-1+.5.25").coordinates == (
        0.5, 0.5, -0.3, -0.2, 10, -0.2, 0.5, 0.25,
    )  # fmt: skip


@pytest.mark.parametrize(
    ("faulty", "good"),
    [
        ("M1 2L3 4x5 6L7 8", "M1 2L3 4"),
        ("M1 2L3 4 5", "M1 2L3 4"),
        ("M1 2L3 4 5L7 8", "M1 2L3 4"),
        ("M1 2L3,,4L7 8", "M1 2"),
        ("M1 2L3,4,L7 8", "M1 2L3 4"),
        ("M1 2L,3 4", "M1 2"),
        ("M1 2L3 4B9 9L7 8", "M1 2L3 4"),
        ("M1 2L3 4e L7 8", "M1 2L3 4"),
        ("M1 2L3 4-L7 8", "M1 2L3 4"),
        ("M1 2L3 4zz5 6L7 8", "M1 2L3 4zz"),
        ("M1 2LL3 4", "M1 2"),
        ("M1 2L3 4\u0665 6L7 8", "M1 2L3 4"),
        ("M1 2L3 4\u00a05 6", "M1 2L3 4"),
        ("M1 2C1 2 3 4 5 6 7 8L3 4", "M1 2C1 2 3 4 5 6"),
        ("M1 2a5 5 0 0 1 3 4 5 5 0 2 1 6 6L3 4", "M1 2a5 5 0 0 1 3 4"),
        ("M1 2a5 5 0 7 1 3 4L3 4", "M1 2"),
        ("M1 2a,5 5 0 0 1 3 4L3 4", "M1 2"),
        ("M1 2a55 1 1 0 5 5", "M1 2"),
        ("M 1", ""),
        ("Mx1 2L3 4", ""),
        ("L5 5", ""),
        ("5 5M1 2L3 4", ""),
        ("x", ""),
    ],
)
def test_a_path_is_read_as_far_as_its_first_error(faulty: str, good: str) -> None:
    assert path_data(faulty) == path_data(good)


def test_after_a_closed_part_the_next_may_go_on_without_a_move() -> None:
    assert path_data(" \n m1 2h3v4zl5 5").operators == "MLLZL"
    assert path_data(" \n m1 2h3v4zl5 5").coordinates[-2:] == (6, 7)


def test_segments_say_where_they_start_and_end() -> None:
    path = path_data("M1 2h3v4zl5 5C1 1 2 2 3 3")
    assert [tuple(one) for one in path.segments()] == [
        ("M", (0, 0), ((1, 2),)),
        ("L", (1, 2), ((4, 2),)),
        ("L", (4, 2), ((4, 6),)),
        ("Z", (4, 6), ((1, 2),)),
        ("L", (1, 2), ((6, 7),)),
        ("C", (6, 7), ((1, 1), (2, 2), (3, 3))),
    ]


def test_a_part_that_goes_on_after_a_closed_one_has_a_move_of_its_own() -> None:
    parts = path_data("M1 2h3v4zl5 5M9 9h1zz").subpaths()
    assert [part.operators for part in parts] == ["MLLZ", "ML", "MLZZ"]
    assert [part.points[0] for part in parts] == [(1, 2), (1, 2), (9, 9)]


def test_a_box_holds_what_goes_on_after_a_closed_part() -> None:
    """The curve starts where the part began, and not at its last corner."""
    upright = path_data("M10 10v30l10 -15zC10 10 30 10 30 10")
    assert tight_box(upright) == Rect(10, 10, 20, 30)
    assert tight_box(path_data("M10 10L12 10zC10 20 10 20 10 25")) == Rect(10, 10, 2, 15)


def test_points_may_touch_where_a_sign_begins_the_next() -> None:
    line = etree.fromstring('<polyline xmlns="http://www.w3.org/2000/svg" points="1,2 3-4"/>')
    assert points_of(line) == [(1, 2), (3, -4)]
