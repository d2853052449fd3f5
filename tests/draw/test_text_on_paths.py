"""Letters on a path stand square to it, at the distance along it that they are asked for."""

from __future__ import annotations

import io
import itertools
import math

import pypdf
import pytest
from hypothesis import given
from hypothesis import strategies as st
from pypdf.generic import ContentStream

from pipeline.base.geometry import mm
from pipeline.draw import draw
from pipeline.draw.textlayout import Guide
from pipeline.svg.path import path_data
from pipeline.svg.transform import Matrix
from pipeline.text import FontBook

CENTRE = (50.0, 40.0)


def circle(radius: float) -> str:
    """A circle from three o'clock, clockwise."""
    (x, y), r = CENTRE, radius
    return f"M{x + r} {y}A{r} {r} 0 1 1 {x - r} {y}A{r} {r} 0 1 1 {x + r} {y}"


def turned(content: str) -> list[tuple[float, float, float]]:
    """Where each letter of a drawing starts (x, y in mm) and how far it is turned (radians).

    Read from the content stream, in which each letter has a text matrix of its own.
    """
    svg = (
        '<svg xmlns="http://www.w3.org/2000/svg" width="100mm" height="80mm" '
        f'viewBox="0 0 100 80">{content}</svg>'
    )
    reader = pypdf.PdfReader(io.BytesIO(draw([svg.encode()], FontBook())))
    whole: list[Matrix] = [Matrix()]
    spots = []
    for operands, operator in ContentStream(reader.pages[0].get_contents(), reader).operations:
        if operator == b"q":
            whole.append(whole[-1])
        elif operator == b"Q":
            whole.pop()
        elif operator == b"cm":
            whole[-1] = whole[-1] @ Matrix(*map(float, operands))
        elif operator == b"Tm":
            letter = whole[-1] @ Matrix(*map(float, operands))
            spots.append((mm(letter.e), 80 - mm(letter.f), math.atan2(-letter.b, letter.a)))
    return spots


@pytest.mark.parametrize("radius", [4, 12, 30])
def test_letters_on_a_circle_stand_square_to_it(radius: float) -> None:
    """The tangent of a circle is known: square to the line from the middle to the letter."""
    face = f'font-family="Source Sans 3" font-size="{radius / 4}"'
    spots = turned(
        f'<defs><path id="c" d="{circle(radius)}"/></defs>'
        f'<text {face}><textPath href="#c">oooooooooooooooooooooooooooooooooooo</textPath></text>'
    )
    assert len(spots) > 30
    for (x, y, angle), after in itertools.pairwise(spots):
        # A letter starts half its width before the point where it touches.
        step = math.dist((x, y), after[:2])
        middle = (x + step / 2 * math.cos(angle), y + step / 2 * math.sin(angle))
        assert math.dist(middle, CENTRE) == pytest.approx(radius, rel=1e-3)
        square = math.atan2(middle[0] - CENTRE[0], CENTRE[1] - middle[1])
        assert abs(math.degrees(math.remainder(angle - square, math.tau))) < 0.1


@given(st.floats(0.01, 1000), st.floats(0.0, 0.9999))
def test_a_guide_knows_point_and_direction_at_each_distance(radius: float, share: float) -> None:
    guide = Guide(path_data(circle(radius)))
    assert guide.length == pytest.approx(math.tau * radius, rel=5e-4)
    spot = guide.at(share * guide.length)  # that of the curves which stand for the circle
    assert spot is not None
    x, y, angle = spot
    expected = math.tau * share
    wanted = CENTRE[0] + radius * math.cos(expected), CENTRE[1] + radius * math.sin(expected)
    assert math.dist((x, y), wanted) < 1.5e-3 * radius
    tangent = math.atan2(x - CENTRE[0], CENTRE[1] - y)
    apart = math.remainder(angle - tangent, math.tau)
    assert abs(math.degrees(apart)) < 0.1


def test_moves_take_up_no_length_and_closing_lines_do() -> None:
    assert Guide(path_data("M0 0H10M50 50V60")).at(15) == pytest.approx((50, 55, math.pi / 2))
    assert Guide(path_data("M0 0H3V4z")).at(7 + 2.5) == pytest.approx((1.5, 2, -2.2142974))


def test_nothing_stands_off_a_path() -> None:
    guide = Guide(path_data("M0 0H10"))
    assert guide.at(-0.1) is None
    assert guide.at(10.1) is None
    assert Guide(path_data("M5 5")).at(0) is None


@pytest.mark.parametrize("d", ["M0 0C0 0 5 0 10 0", "M0 0C5 0 10 0 10 0", "M0 0C0 0 10 0 10 0"])
def test_a_handle_without_length_leaves_the_direction_of_its_curve(d: str) -> None:
    guide = Guide(path_data(d))
    for distance in (0, 5, 10):
        x, y, angle = guide.at(distance) or (-1, -1, -1)
        assert x == pytest.approx(distance, abs=1e-3)
        assert (y, angle) == pytest.approx((0, 0), abs=1e-9)
