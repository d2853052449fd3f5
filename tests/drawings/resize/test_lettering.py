"""Type keeps its size, or gets as small as its room makes it, down to what can be read."""

from __future__ import annotations

import pytest

from pipeline.fill.template import computed_style
from pipeline.text import FontBook
from pipeline.text.shape import advance
from tests.drawings.resize.sample import SVG, page, read, rects, resized

FONT = "font-family=\"'Source Sans 3'\""


def key(name: str, sample: str, x: float, width: float, size: float, anchor: str = "start") -> str:
    """A key's group: a box and a sample that ends where the box does."""
    at = {"start": x, "end": x + width}[anchor]
    return (
        f'<g id="{name}"><rect id="{name}-box" x="{x}" y="{50 - size}" width="{width}" '
        f'height="{1.3 * size}" fill="none"/><text x="{at}" y="50" font-size="{size}" '
        f'text-anchor="{anchor}" {FONT}>{sample}</text></g>'
    )


def sizes(data: bytes) -> list[float]:
    """Sizes of all texts, mm."""
    return [computed_style(text).size for text in read(data).root.iter(SVG + "text")]


def test_type_with_room_keeps_its_size() -> None:
    data = page(key("label-bed", "bed", 16, 60, 3))
    assert sizes(resized(data, "personal")) == pytest.approx([3])


def test_type_gets_smaller_so_that_its_sample_fits() -> None:
    data = page(key("label-bed", "Sown this week", 16, 60, 8))
    made = resized(data, "personal")
    [size] = sizes(made)
    text = next(read(made).root.iter(SVG + "text"))
    width = advance("Sown this week", computed_style(text), FontBook())
    room = rects(made)["label-bed-box"].width
    assert 0.95 * room < width <= room
    assert 4 < size < 8


def test_type_gets_no_smaller_than_it_may() -> None:
    data = page(key("label-bed", "planted out", 16, 18, 3))
    assert sizes(resized(data, "mini")) == pytest.approx([2.1], abs=0.01)
    assert sizes(resized(data, "mini", smallest_mm=2.6)) == pytest.approx([2.6], abs=0.01)


def test_type_that_was_smaller_already_stays() -> None:
    data = page(key("label-bed", "planted out", 16, 11, 1.8))
    assert sizes(resized(data, "mini")) == pytest.approx([1.8], abs=0.01)


def test_days_leave_room_for_the_longest_of_them() -> None:
    """Drawn as Monday, but Wednesday has to fit as it did."""
    data = page(key("day1-name", "Monday", 16, 30, 6))
    made = resized(data, "personal")
    text = next(read(made).root.iter(SVG + "text"))
    width = advance("Wednesday", computed_style(text), FontBook())
    assert width <= rects(made)["day1-name-box"].width


def test_texts_that_look_alike_are_set_alike() -> None:
    data = page(key("label-bed", "how we liked it", 16, 22, 3) + key("label-up", "up", 90, 40, 3))
    one, other = sizes(resized(data, "personal"))
    assert one == other < 3


def test_what_is_set_against_a_right_edge_stays_there() -> None:
    data = page(key("week-range", "1 – 7 March", 80, 60, 6, anchor="end"))
    made = resized(data, "personal")
    text = next(read(made).root.iter(SVG + "text"))
    assert float(text.get("x", "0")) == pytest.approx(rects(made)["week-range-box"].right, abs=0.01)


STYLED = [
    '<text x="20" y="50" style="font-size:8px;letter-spacing:1px;{0}">{1}</text>',
    '<style>.big{{font-size:8px;letter-spacing:1px}}</style><text class="big" x="20" y="50" '
    'style="{0}">{1}</text>',
    '<g font-size="8" letter-spacing="1"><text x="20" y="50" style="{0}">{1}</text></g>',
    '<text x="20" y="50" style="{0}"><tspan x="20" y="50" font-size="8" letter-spacing="1">{1}'
    "</tspan></text>",
]


@pytest.mark.parametrize("styled", STYLED)
def test_sizes_are_changed_wherever_they_are_said(styled: str) -> None:
    content = styled.format("font-family:'Source Sans 3'", "Sown this week")
    box = '<rect x="20" y="42" width="60" height="10" fill="none"/>'
    made = resized(page(f'<g id="label-bed">{box}{content}</g>'), "personal")
    text = next(read(made).root.iter(SVG + "text"))
    run = next(element for element in text.iter() if (element.text or "").strip())
    width = advance("Sown this week", computed_style(run), FontBook())
    assert 3 < computed_style(run).size < 8
    assert width <= 60 * 0.7
    assert b"Sown this week" in made


def test_figures_of_a_small_month_fit_their_cells() -> None:
    month = (
        '<g id="month-grid"><rect id="m" x="16" y="40" width="32" height="28" fill="none"/>'
        f'<text x="18.3" y="47" font-size="2.6" text-anchor="middle" {FONT}>1</text></g>'
    )
    made = resized(page(month), "pocket")
    area, [size] = rects(made)["m"], sizes(made)
    assert size <= area.height / 7
    assert size >= min(2.1, 0.97 * area.height / 7, 0.79 * area.width / 7)


def test_figures_of_a_small_month_stand_apart_in_narrow_cells() -> None:
    """Two of the widest leave a fifth of a cell between them, as the face itself says."""
    month = (
        '<g id="month-grid"><rect id="m" x="16" y="40" width="26" height="40" fill="none"/>'
        f'<text x="18" y="47" font-size="2.2" text-anchor="middle" {FONT}>1</text></g>'
    )
    made = resized(page(month), "pocket")
    area, [size] = rects(made)["m"], sizes(made)
    style = computed_style(next(read(made).root.iter(SVG + "text")))
    widest = max(advance(str(day), style, FontBook()) / style.size * size for day in range(10, 32))
    assert widest <= 0.81 * area.width / 7
