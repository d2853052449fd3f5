"""Boxes and ruled areas: inside what they were inside, on their edges, at their pitch."""

from __future__ import annotations

import re

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from pipeline.base.geometry import Rect
from tests.drawings.resize.sample import face_of, ids, page, read, rect, rects, resized

SMALLER = ["personal", "a6", "pocket", "mini", "half-letter"]
ALL = [*SMALLER, "b6", "a4", "letter"]
shares = st.floats(0, 1)


@st.composite
def inside(draw: st.DrawFn, panel: Rect) -> Rect:
    """A box within a panel."""
    left, right = sorted((draw(shares), draw(shares)))
    top, bottom = sorted((draw(shares), draw(shares)))
    return Rect(
        panel.x + left * panel.width,
        panel.y + top * panel.height,
        (right - left) * panel.width,
        (bottom - top) * panel.height,
    )


anywhere = st.lists(inside(face_of("a5").safe), min_size=1, max_size=6)


@given(anywhere, st.sampled_from(ALL))
@settings(max_examples=60, deadline=None)
def test_what_is_safe_stays_safe(boxes: list[Rect], to: str) -> None:
    content = "".join(rect(f"box{number}", box, fill="none") for number, box in enumerate(boxes, 1))
    made = resized(page(content), to)
    safe = face_of(to).safe
    for name, box in rects(made).items():
        if name.startswith("box"):
            assert safe.grown(0.01).holds(box), name


@given(anywhere, st.sampled_from(["lines-6mm", "checks-7mm", "dots-5mm", "grid-4.5mm-top"]),
       st.sampled_from(ALL))  # fmt: skip
@settings(max_examples=40, deadline=None)
def test_ids_and_so_pitches_are_the_same(boxes: list[Rect], name: str, to: str) -> None:
    content = "".join(
        rect(f"{name}-{number}", box, stroke="#888888") for number, box in enumerate(boxes, 2)
    )
    data = page(f'<g id="rules"><g id="show-first-week">{content}</g></g>')
    assert ids(resized(data, to)) == ids(data)


def test_a_ruled_area_keeps_its_pitch_and_loses_lines() -> None:
    data = page(rect("lines-6mm", Rect(14, 42, 128, 150), stroke="#888888"))
    area = rects(resized(data, "personal"))["lines-6mm"]
    count = area.height / 6
    assert count == pytest.approx(round(count), abs=0.01)
    assert 15 < count < 25


@st.composite
def anchored(draw: st.DrawFn, start: float, end: float, target: float) -> tuple[str, float, float]:
    """Which ends of a panel a box is held by, and where it lies: as far off as the target is."""
    held = draw(st.sampled_from(["start", "end", "both"]))
    if held == "both":
        return held, start + draw(st.floats(0, 20)), end - draw(st.floats(0, 20))
    size = draw(st.floats(1, target))
    off = draw(st.floats(0, target - size))
    return (held, start + off, start + off + size) if held == "start" else (
        held, end - off - size, end - off
    )  # fmt: skip


A5, PERSONAL = face_of("a5").safe, face_of("personal").safe
EDGES = {"start": ("left", "top"), "end": ("right", "bottom"), "both": ("left right", "top bottom")}


@given(anchored(A5.x, A5.right, PERSONAL.width), anchored(A5.y, A5.bottom, PERSONAL.height))
@settings(max_examples=80, deadline=None)
def test_anchored_boxes_come_back_to_a_millimetre(
    across: tuple[str, float, float], along: tuple[str, float, float]
) -> None:
    box = Rect(across[1], along[1], across[2] - across[1], along[2] - along[1])
    anchor = f"{EDGES[across[0]][0]} {EDGES[along[0]][1]}"
    there = resized(page(rect("box", box, fill="none", data_keeps_to=anchor)), "personal")
    got = rects(there)["box"]
    for held, edge, side in [
        (anchor.split(), "left", got.x - PERSONAL.x - (box.x - A5.x)),
        (anchor.split(), "right", got.right - PERSONAL.right - (box.right - A5.right)),
        (anchor.split(), "top", got.y - box.y),
        (anchor.split(), "bottom", got.bottom - PERSONAL.bottom - (box.bottom - A5.bottom)),
    ]:
        assert edge not in held or side == pytest.approx(0, abs=0.01), edge
    back = rects(resized(there, "a5", folder="personal"))["box"]
    assert back == pytest.approx(box, abs=1.0)


def test_what_is_too_far_from_its_edge_comes_inside() -> None:
    far = Rect(A5.right - 20, 100, 20, 20)
    data = page(rect("box", far, fill="none", data_keeps_to="left top"))
    got = rects(resized(data, "personal"))["box"]
    assert got.right == pytest.approx(PERSONAL.right, abs=0.01)
    assert (got.width, got.height) == pytest.approx((20, 20), abs=0.01)


def test_anchors_can_be_told_by_ids_as_well() -> None:
    box = rect("box", Rect(100, 20, 30, 10), fill="none")
    told = page(f'<g data-keeps-to="right top">{box}</g>')
    by_id = page(f'<g id="keeps-right-top-2">{box}</g>')
    assert rects(resized(told, "personal"))["box"] == rects(resized(by_id, "personal"))["box"]


@given(st.lists(inside(Rect(16, 9, 126, 192)), min_size=1, max_size=3))
@settings(max_examples=40, deadline=None)
def test_boxes_whose_anchors_are_guessed_come_back(boxes: list[Rect]) -> None:
    content = "".join(rect(f"box{n}", box, fill="none") for n, box in enumerate(boxes, 1))
    there = resized(page(content), "personal")
    back = rects(resized(there, "a5", folder="personal"))
    for number, box in enumerate(boxes, 1):
        assert back[f"box{number}"] == pytest.approx(box, abs=1.0)


def test_distances_to_the_edges_near_them_are_kept() -> None:
    old, new = face_of("a5"), face_of("personal")
    box = Rect(old.safe.x, 6, old.safe.right - 1 - old.safe.x, 10)
    got = rects(resized(page(rect("box", box, fill="none")), "personal"))["box"]
    assert got.x == pytest.approx(new.safe.x, abs=0.01)
    assert got.right == pytest.approx(new.safe.right - 1, abs=0.01)
    assert got.y == pytest.approx(6, abs=0.01)


def test_columns_share_the_new_width_as_they_shared_the_old() -> None:
    content = "".join(rect(f"box{n}", Rect(16 + 42 * n, 50, 40, 20), fill="none") for n in range(3))
    got = rects(resized(page(content), "personal"))
    widths = [got[f"box{n}"].width for n in range(3)]
    assert widths == pytest.approx([widths[0]] * 3, abs=0.01)
    assert widths[0] == pytest.approx(40 * 75.25 / 127.25, abs=0.01)  # safe widths less 3 mm a side


def test_flap_goes_to_flap() -> None:
    old, new = face_of("a5", 42), face_of("personal", 30)
    assert old.flap_safe
    assert new.flap_safe
    content = rect("box", old.flap_safe, fill="none") + rect("other", old.safe, fill="none")
    got = rects(resized(page(content, flap_mm=42), "personal", flap_mm=30))
    assert got["box"] == pytest.approx(new.flap_safe, abs=0.01)
    assert got["other"] == pytest.approx(new.safe, abs=0.01)
    assert read(resized(page(content, flap_mm=42), "personal")).width_mm == pytest.approx(95 + 27)


NESTED = [
    '<g transform="translate(20 30)"><g transform="scale(2)">{}</g></g>',
    '<g transform="matrix(.5 0 0 .5 -10 4)"><svg:g xmlns:svg="http://www.w3.org/2000/svg">{}'
    "</svg:g></g>",
]
MATRICES = [(2, 20, 30), (0.5, -10, 4)]


@pytest.mark.parametrize(("nest", "matrix"), list(zip(NESTED, MATRICES, strict=True)))
def test_transforms_around_a_box_stay_and_do_not_matter(
    nest: str, matrix: tuple[float, float, float]
) -> None:
    box, (scale, dx, dy) = Rect(50, 60, 30, 40), matrix
    own = Rect((50 - dx) / scale, (60 - dy) / scale, 30 / scale, 40 / scale)
    plain = resized(page(rect("box", box, fill="none")), "personal")
    nested = resized(page(nest.format(rect("box", own, fill="none"))), "personal")
    assert rects(nested)["box"] == pytest.approx(rects(plain)["box"], abs=0.02)
    assert set(re.findall(rb'transform="[^"]*"', nested)) == set(
        re.findall(rb'transform="[^"]*"', nest.encode())
    )


@pytest.mark.parametrize(("unit", "per_mm"), [("px", 96 / 25.4), ("pt", 72 / 25.4), ("cm", 0.1)])
def test_units_of_the_drawing_stay(unit: str, per_mm: float) -> None:
    """Page sizes and user units as editors write them (CSS: 96 px, 72 pt and 2.54 cm an inch)."""
    box = Rect(50, 60, 30, 40)
    own = Rect(*(value * per_mm for value in box))
    width, height = 148 * per_mm, 210 * per_mm
    data = (
        f'<svg xmlns="http://www.w3.org/2000/svg" width="{width}{unit}" height="{height}{unit}" '
        f'viewBox="0 0 {width} {height}">{rect("box", own, fill="none")}</svg>'
    ).encode()
    made = resized(data, "personal")
    plain = resized(page(rect("box", box, fill="none")), "personal")
    assert rects(made)["box"] == pytest.approx(rects(plain)["box"], abs=0.02)
    assert read(made).width_mm == pytest.approx(95)


def test_a_background_that_fills_the_page_is_left_to() -> None:
    ground = '<rect id="ground" width="100%" height="100%" fill="#fffef8"/>'
    made = resized(page(ground), "personal")
    assert b'width="100%" height="100%"' in made


def test_the_outside_of_a_flap_stays_the_outside_of_a_flap() -> None:
    width, height = 42, 210  # no binder size: the flap of an A5 page alone
    outside = (
        f'<svg xmlns="http://www.w3.org/2000/svg" width="{width}mm" height="{height}mm" '
        f'viewBox="0 0 {width} {height}">{rect("lines-6mm", Rect(6, 20, 30, 150))}</svg>'
    ).encode()
    made = read(resized(outside, "personal", flap_mm=30))
    assert (made.width_mm, made.height_mm) == pytest.approx((30, 171))
    lines = rects(resized(outside, "personal", flap_mm=30))["lines-6mm"]
    assert Rect(0, 0, 30, 171).grown(-3).holds(lines)  # 3 mm from every cut and fold
    assert lines.width > 18
    # In proportion to the page, in whole mm: 42 × 105 / 148 on A6.
    assert read(resized(outside, "a6")).width_mm == pytest.approx(30)
