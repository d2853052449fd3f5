"""The line that positions go by: rising, whole, and the same on both sides of a spread."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from pipeline.drawings.resize.stretch import across, down
from pipeline.plan.model import Side
from tests.drawings.resize.sample import face_of

NAMES = ["a4", "a5", "a6", "b6", "personal", "pocket", "mini", "half-letter", "letter"]
sizes = st.sampled_from(NAMES)
heights = st.lists(st.tuples(st.floats(6, 200), st.floats(0.5, 30)), max_size=12)


@given(sizes, sizes, st.sampled_from(Side), st.lists(st.floats(-5, 300), min_size=2, max_size=9))
def test_across_never_turns_back_and_keeps_the_panels(
    old: str, new: str, side: Side, places: list[float]
) -> None:
    before, after = face_of(old, side=side), face_of(new, side=side)
    line = across(before, after)
    moved = [line(place) for place in sorted(places)]
    assert moved == sorted(moved)
    assert line.span(before.safe.x, before.safe.right) == pytest.approx(
        (after.safe.x, after.safe.right)
    )
    assert line.span(before.trim.x, before.trim.right) == pytest.approx(
        (after.trim.x, after.trim.right)
    )


@given(sizes, sizes, st.lists(st.floats(0, 250), max_size=5))
def test_across_and_back_is_where_it_was(old: str, new: str, places: list[float]) -> None:
    one, other = face_of(old, 20), face_of(new, 20)
    there, back = across(one, other), across(other, one)
    for place in places:
        assert back(there(place)) == pytest.approx(place, abs=1e-6)


@given(sizes, sizes, heights)
def test_down_never_turns_back_and_fills_the_page(
    old: str, new: str, held: list[tuple[float, float]]
) -> None:
    before, after = face_of(old), face_of(new)
    spans = [(top, top + high) for top, high in held]
    line = down(before, after, spans).stretch
    assert list(line.new) == sorted(line.new)
    assert line.span(before.safe.y, before.safe.bottom) == pytest.approx(
        (after.safe.y, after.safe.bottom)
    )
    assert line.span(0, before.trim.bottom) == pytest.approx((0, after.trim.bottom))


def test_what_is_held_keeps_its_height_where_there_is_room_to_give() -> None:
    got = down(face_of("a5"), face_of("personal"), [(20, 40), (100, 130)])
    assert got.held == 1.0
    assert got.stretch.slope(20, 40) == pytest.approx(1)
    assert got.stretch.slope(100, 130) == pytest.approx(1)
    assert got.stretch.slope(45, 95) < 0.75


def test_all_gives_way_where_nothing_else_can() -> None:
    got = down(face_of("a5"), face_of("pocket"), [(6, 204)])
    assert got.held == pytest.approx(108 / 198)  # both less 6 mm at each end


@given(st.sampled_from(["personal", "a6", "half-letter", "b6"]), st.sampled_from([5, 6, 7]))
def test_ruled_areas_get_whole_pitches(new: str, pitch: int) -> None:
    area = (30.0, 30.0 + 20 * pitch)
    line = down(face_of("a5"), face_of(new), [(10, 22)], [(area, float(pitch))]).stretch
    count = (line(area[1]) - line(area[0])) / pitch
    assert count >= 1
    assert count == pytest.approx(round(count), abs=1e-6)
