"""A made-up page to fill: one small template, a few facts."""

from __future__ import annotations

import datetime as dt
from collections.abc import Callable, Mapping, Sequence
from pathlib import Path
from typing import Any

import pytest
from lxml import etree

from pipeline.fill import FilledPage, fill_set
from pipeline.fill.template import open_template
from pipeline.plan.model import (
    Binder,
    Binding,
    DayCell,
    Facts,
    Holes,
    Leaf,
    MonthGrid,
    Page,
    Period,
    SetPlan,
    Side,
)
from pipeline.text import FontBook

BINDER = Binder("test", "the test size", 100, 60, Holes((10, 50), 6, 5, "made up"), "made up")
HEAD = (
    '<svg xmlns="http://www.w3.org/2000/svg" xmlns:xlink="http://www.w3.org/1999/xlink" '
    'xmlns:inkscape="http://www.inkscape.org/namespaces/inkscape" '
)
WEEK: Mapping[str, tuple[str, ...]] = {
    "day1-name": ("Monday", "Mon"),
    "day3-name": ("Wednesday", "Wed"),
    "day1-number": ("1",),
    "week-number": ("9",),
    "label-sowing": ("Sow this week",),
}
CELLS = tuple(
    tuple(
        DayCell(str(row * 7 + day + 1), day > 4, dt.date(2027, 2, row * 7 + day + 1))
        for day in range(7)
    )
    for row in range(4)
)
"""February 2027: it begins on a Monday and fills four rows."""

Filler = Callable[..., etree._Element]
SetFiller = Callable[..., tuple[FilledPage, ...]]


@pytest.fixture(scope="session")
def book() -> FontBook:
    return FontBook()


@pytest.fixture
def fill_pages(tmp_path: Path, book: FontBook) -> SetFiller:
    """Fills a page for each of ``days`` (what day1-name says), all drawn as ``content``."""

    def fill_them(
        content: str,
        days: Sequence[str] = ("Monday",),
        *,
        size: str = 'width="100mm" height="60mm" viewBox="0 0 100 60"',
        flap_mm: float = 0.0,
        texts: Mapping[str, tuple[str, ...]] = WEEK,
        flags: Mapping[str, bool] | None = None,
        binding: Binding = Binding.LEFT,
    ) -> tuple[FilledPage, ...]:
        path = tmp_path / "week.svg"
        path.write_text(f"{HEAD}{size}>{content}</svg>", "utf-8")
        months = {"month-grid": MonthGrid(tuple("MTWTFSS"), CELLS, ())}
        pages = [
            Page(
                "week",
                Side.RECTO,
                Facts("week", {**texts, "day1-name": (day, day[:3])}, flags or {}, months),
                "W09",
                flap_mm,
            )
            for day in days
        ]
        period = Period("p", "P", dt.date(2027, 3, 1), dt.date(2027, 3, 7))
        leaves = tuple(Leaf(page, None) for page in pages)
        plan = SetPlan("s", "S", period, BINDER, binding, "en-GB", (), leaves)
        return fill_set(plan, {"week": open_template(path)}, book)

    return fill_them


@pytest.fixture
def fill_one(fill_pages: SetFiller) -> Filler:
    """Fills one page drawn as ``content`` and gives back the root of its filled SVG."""

    def fill_it(content: str, **settings: Any) -> etree._Element:
        (page,) = fill_pages(content, **settings)
        return etree.fromstring(page.whole())

    return fill_it
