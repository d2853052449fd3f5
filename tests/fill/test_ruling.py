"""Ruled areas: whole pitches, true to size, inside their area."""

from __future__ import annotations

import itertools
import re

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st
from lxml import etree

from pipeline.fill.areas import rule
from pipeline.fill.keys import ruled

SVG = "{http://www.w3.org/2000/svg}"
SHARED = settings(suppress_health_check=[HealthCheck.function_scoped_fixture], deadline=None)


def ruled_path(name: str, width: float, height: float, scale: float = 1.0) -> str:
    root = etree.fromstring(
        f'<svg xmlns="http://www.w3.org/2000/svg"><g transform="scale({scale})">'
        f'<rect id="{name}" x="10" y="20" width="{width}" height="{height}" stroke="#888"/>'
        "</g></svg>"
    )
    wanted = ruled(name)
    assert wanted is not None
    rule(root[0][0], wanted, "sample.svg")
    return str(root[0][0].get("d"))


@SHARED
@given(
    pitch=st.sampled_from([4, 5, 6, 6.5, 7, 10]),
    width=st.floats(20, 200),
    height=st.floats(20, 300),
    scale=st.floats(0.2, 5),
)
def test_squares_are_whole_true_to_size_and_centred(
    pitch: float, width: float, height: float, scale: float
) -> None:
    path = ruled_path(f"grid-{pitch}mm", width, height, scale)
    xs = [float(x) for x in re.findall(r"M(\S+) \S+?V", path)]
    ys = [float(y) for y in re.findall(r"M\S+ (\S+?)H", path)]
    for found, start, extent in ((xs, 10, width), (ys, 20, height)):
        steps = [b - a for a, b in itertools.pairwise(found)]
        assert [step * scale for step in steps] == pytest.approx([pitch] * len(steps), abs=2e-3)
        assert len(steps) == int(extent * scale / pitch + 1e-6)
        if found:
            assert found[0] - start == pytest.approx(start + extent - found[-1], abs=1e-3)
            assert found[0] >= start - 1e-3


@SHARED
@given(pitch=st.integers(4, 10), height=st.floats(20, 300))
def test_lines_hang_from_the_top_and_stay_inside(pitch: int, height: float) -> None:
    ys = [float(y) for y in re.findall(r"M\S+ (\S+?)H", ruled_path(f"lines-{pitch}mm", 50, height))]
    assert ys == pytest.approx([20 + pitch * (n + 1) for n in range(len(ys))], abs=1e-3)
    assert height - pitch < pitch * len(ys) <= height + 1e-3


def test_centred_lines_share_what_is_left_over() -> None:
    ys = re.findall(r"M\S+ (\S+?)H", ruled_path("lines-6mm-centre", 50, 40))
    assert [float(y) for y in ys] == pytest.approx([28, 34, 40, 46, 52, 58], abs=1e-3)


def test_tick_boxes_are_whole_and_one_a_line() -> None:
    path = ruled_path("checks-7mm", 60, 30)
    boxes = re.findall(r"M(\S+) (\S+?)v(\S+?)h(\S+?)v(\S+?)z", path)
    rules = re.findall(r"M(\S+) (\S+?)H(\S+)", path)
    assert len(boxes) == len(rules) == 4
    for (x, foot, up, across, down), (start, y, end) in zip(boxes, rules, strict=True):
        assert float(across) == float(down) == -float(up) == 3.5
        assert float(foot) < float(y)
        assert float(x) + float(across) < float(start) < float(end) == 70


def test_dots_stand_on_every_crossing() -> None:
    path = ruled_path("dots-5mm", 21, 11)
    dots = [float(number) for spot in re.findall(r"M(\S+) (\S+?)h", path) for number in spot]
    crossings = [(10.5 + 5 * i, 20.5 + 5 * j) for j in range(3) for i in range(5)]
    assert dots == pytest.approx([number for spot in crossings for number in spot])
