"""Rows and columns that are equal stay equal, however many pages are resized together."""

from __future__ import annotations

import functools
from collections.abc import Callable, Iterator
from itertools import pairwise, product
from pathlib import Path

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from pipeline.base.geometry import Rect
from pipeline.drawings.resize.resizing import resize_templates
from pipeline.drawings.resize.stretch import Alike, Mark, across, columns, down, rows
from pipeline.drawings.starters.starter import starter_page
from pipeline.fill.keys import names_of, ruled
from pipeline.fill.template import TemplateFile, computed_style, rect_of
from pipeline.plan.model import Side
from pipeline.svg.tree import page_matrix
from pipeline.text import FontBook
from pipeline.text.shape import advance
from pipeline.text.style import length
from tests.drawings.resize.sample import SIZES, SVG, face_of, page, read, rect, rects

EVEN_MM = 0.1
SMALLER = ["personal", "pocket", "a6", "half-letter"]
FLAP_MM = 40.0
BOOK = FontBook()


@functools.cache
def beginning(name: str) -> TemplateFile:
    """A starter page for A5: its kind, then ``flap`` or ``left`` as it is wanted."""
    kind, *more = name.split("-")
    side = Side.VERSO if "left" in more else Side.RECTO
    made = starter_page(kind, SIZES.binder("a5"), FLAP_MM if "flap" in more else 0.0, side)
    return TemplateFile(Path("a5") / f"{name}.svg", made.svg)


TOGETHER = [
    ("week-flap",),
    ("week-flap", "opening"),
    ("week-flap", "opening", "notes-flap"),
    ("week-flap", "opening-flap-left"),
    ("week-flap", "opening-left", "notes-flap-left"),
    ("week-flap", "month-flap-left"),
    ("month",),
]
GIVEN = list(product(TOGETHER, SMALLER))


@functools.cache
def beginnings_resized(names: tuple[str, ...], to: str) -> list[bytes]:
    """Starter pages for another size, resized together."""
    return all_resized([beginning(name) for name in names], to)


def all_resized(files: list[TemplateFile], to: str) -> list[bytes]:
    """Pages for another size, resized together."""
    return [made.data for made in resize_templates(files, SIZES.binder(to), SIZES, BOOK)]


def drawn(data: bytes) -> list[Rect]:
    """Lines, ruled areas and small months, in the order they are drawn in, mm."""
    return list(_drawn(data))


def _drawn(data: bytes) -> Iterator[Rect]:
    for element in read(data).root.iter(SVG + "line", SVG + "rect"):
        matrix, parent = page_matrix(element), element.getparent()
        named = element.get("id") or ""
        if named.startswith("guide-"):
            continue
        if element.tag == SVG + "line":
            x1, y1, x2, y2 = (length(element.get(name)) for name in ("x1", "y1", "x2", "y2"))
            (x1, y1), (x2, y2) = matrix.point(x1, y1), matrix.point(x2, y2)
            yield Rect(min(x1, x2), min(y1, y2), abs(x2 - x1), abs(y2 - y1))
        elif any(map(ruled, names_of([named]))) or (
            parent is not None and "-grid" in (parent.get("id") or "")
        ):
            yield matrix.bounds(rect_of(element))


def unevenness(old: list[Rect], new: list[Rect], turn: Callable[[Rect], Rect]) -> tuple[int, float]:
    """How many equal heights and distances there were, and by how much they differ now, mm."""
    assert len(old) == len(new)
    both = [(turn(one), turn(other)) for one, other in zip(old, new, strict=True)]
    lengths: dict[tuple[float, ...], list[float]] = {}
    for one, other in both:
        size = (round(one.height, 1), round(one.width, 1))
        lengths.setdefault(size, []).append(other.height)
    standing: dict[tuple[float, ...], list[tuple[float, float]]] = {}
    for one, other in both:
        key = (round(one.x, 1), round(one.width, 1), round(one.height, 1))
        standing.setdefault(key, []).append((one.y, other.y))
    checked, worst = 0, 0.0
    for column in standing.values():
        ordered = sorted(set(column))
        steps = [(b[0] - a[0], b[1] - a[1]) for a, b in pairwise(ordered) if b[0] - a[0] > 0.1]
        for (before, after), (before_next, after_next) in pairwise(steps):
            if abs(before - before_next) < 0.02:
                checked += 1
                worst = max(worst, abs(after - after_next))
    for heights in lengths.values():
        checked += len(heights) - 1
        worst = max(worst, max(heights) - min(heights))
    return checked, worst


def upright(box: Rect) -> Rect:
    return box


def turned(box: Rect) -> Rect:
    return Rect(box.y, box.x, box.height, box.width)


@pytest.mark.parametrize(("names", "to"), GIVEN)
def test_equal_rows_and_columns_stay_equal(names: tuple[str, ...], to: str) -> None:
    files = [beginning(name) for name in names]
    checked = 0
    for file, made in zip(files, beginnings_resized(names, to), strict=True):
        old, new = drawn(file.data), drawn(made)
        for turn in (upright, turned):
            count, worst = unevenness(old, new, turn)
            checked += count
            assert worst <= EVEN_MM, (file.path.name, turn.__name__)
    assert checked > 10


@pytest.mark.parametrize("to", SMALLER)
def test_days_of_a_week_are_equally_high(to: str) -> None:
    """Seven days of 24 mm in A5, the last of them down to where its lines end."""
    [made] = beginnings_resized(("week-flap",), to)
    boxes = [box for box in drawn(made) if box.x < face_of(to).trim.right]
    tops = sorted(box.y for box in boxes if box.height < 0.01)
    ends = [*tops, max(box.bottom for box in boxes)]
    heights = [after - before for before, after in pairwise(ends) if after - before > 1]
    assert len(heights) == 7
    assert max(heights) - min(heights) <= EVEN_MM


@pytest.mark.parametrize("to", SMALLER)
def test_pages_for_one_side_do_not_pull_at_each_other(to: str) -> None:
    names = ("week-flap", "opening", "notes-flap")
    alone = [beginnings_resized((name,), to)[0] for name in names]
    assert beginnings_resized(names, to) == alone


@pytest.mark.parametrize(("names", "to"), list(product(TOGETHER[:-1], SMALLER)))
def test_figures_of_small_months_stand_apart(names: tuple[str, ...], to: str) -> None:
    """Two of the widest leave a fifth of a cell between them, and lines do not touch."""
    months = 0
    for made in beginnings_resized(names, to):
        for group in read(made).root.iter(SVG + "g"):
            if not (group.get("id") or "").endswith("-grid"):
                continue
            area_rect = next(group.iter(SVG + "rect"))
            area = page_matrix(area_rect).bounds(rect_of(area_rect))
            for text in group.iter(SVG + "text"):
                style = computed_style(text)
                widest = max(advance(str(day), style, BOOK) for day in range(10, 32))
                assert widest <= 0.81 * area.width / 7
                assert style.size <= 0.985 * area.height / 7
                months += 1
    assert months


def test_a_year_of_small_months_can_still_be_read() -> None:
    """Months keep their height before the empty room does."""
    [made] = beginnings_resized(("opening",), "pocket")
    sizes = [
        computed_style(text).size
        for group in read(made).root.iter(SVG + "g")
        if (group.get("id") or "").endswith("-grid")
        for text in group.iter(SVG + "text")
    ]
    assert min(sizes) == pytest.approx(2.1, abs=0.01)  # six points


TOP, BOTTOM = face_of("a5").safe.y, face_of("a5").safe.bottom
spans = st.lists(st.tuples(st.floats(TOP, BOTTOM - 8), st.floats(0.5, 8)), max_size=8)
runs = st.tuples(st.floats(TOP, 80), st.floats(8, 40), st.integers(2, 7)).map(
    lambda told: Alike(
        tuple(
            told[0] + n * told[1] for n in range(told[2]) if told[0] + (n + 1) * told[1] < BOTTOM
        ),
        told[1],
    )
)
areas = st.lists(st.tuples(spans, st.sampled_from([5.0, 6.0, 7.0])), max_size=3).map(
    lambda told: [((y, y + 9 * high), pitch) for each, pitch in told for y, high in each[:1]]
)


@given(
    st.sampled_from(["personal", "pocket", "a6", "half-letter", "a4"]),
    spans,
    areas,
    st.lists(runs, max_size=2),
)
@settings(max_examples=150, deadline=None)
def test_the_line_down_is_the_same_in_all_rows(
    to: str,
    held: list[tuple[float, float]],
    areas: list[tuple[tuple[float, float], float]],
    alike: list[Alike],
) -> None:
    """Rows of two pages that face each other included, which need not be as high."""
    before, after = face_of("a5"), face_of(to)
    line = down(before, after, [(y, y + high) for y, high in held], areas, alike).stretch
    assert list(line.new) == sorted(line.new)
    for each in alike:
        heights = [line(end) - line(start) for start, end in each.spans]
        assert not heights or max(heights) - min(heights) <= EVEN_MM


@given(st.sampled_from(SMALLER), st.floats(0, 6), st.floats(0, 6), st.integers(2, 7))
def test_columns_up_to_the_edge_are_equally_wide(
    to: str, left: float, right: float, count: int
) -> None:
    safe = face_of("a5").safe
    first, last = safe.x + left, safe.right - right
    wide = (last - first) / count
    marks = [Mark(Rect(first + n * wide, 50, wide, 20)) for n in range(count)]
    line = across(face_of("a5"), face_of(to), columns(marks, safe.right))
    widths = [line(mark.box.right) - line(mark.box.x) for mark in marks]
    assert max(widths) - min(widths) <= 0.01


words = st.lists(st.floats(20, 190), max_size=5)


@given(st.sampled_from(SMALLER), words, words, st.floats(14, 40), st.integers(3, 6))
@settings(max_examples=30, deadline=None)
def test_facing_pages_stay_level_and_even(
    to: str, left: list[float], right: list[float], top: float, count: int
) -> None:
    """Boxes on both sides of the rings, with words wherever they stand on either page."""
    high = 150 / count
    pages = []
    for side, texts in (("left", left), ("right", right)):
        boxes = [
            rect(f"box{n}", Rect(14, top + n * high, 100, high), fill="none") for n in range(count)
        ]
        said = [f'<text x="20" y="{y}" font-size="3">sown</text>' for y in texts]
        data = page("".join(boxes + said))
        pages.append(TemplateFile(Path("a5") / f"week-{side}.svg", data))
    one, other = (rects(made) for made in all_resized(pages, to))
    names = [f"box{n}" for n in range(count)]
    heights = [one[name].height for name in names]
    assert max(heights) - min(heights) <= EVEN_MM
    for name in names:
        assert one[name].y == pytest.approx(other[name].y, abs=0.01)
        assert one[name].height == pytest.approx(other[name].height, abs=0.01)


def test_boxes_of_one_size_and_steps_of_one_height_are_alike() -> None:
    boxes = [Mark(Rect(20, y, 30, 10)) for y in (40, 60, 100)]
    assert rows(boxes, BOTTOM) == [Alike((40, 60, 100), 10)]
    assert rows([*boxes, Mark(Rect(20, 80, 30, 10))], BOTTOM) == [
        Alike((40, 60, 80, 100), 10),
        Alike((40, 60, 80), 20),
    ]
    lower = [Mark(Rect(20, y, 30, high)) for y, high in ((40, 16), (60, 16), (80, 12))]
    assert rows(lower, BOTTOM) == [Alike((40, 60), 16), Alike((40, 60, 80), 12)]
    assert rows([Mark(Rect(20, y, 30, 0), "text") for y in (40, 52, 70)], BOTTOM) == []
