"""Sizes, sets and drawings that the tests of this folder share."""

from __future__ import annotations

import datetime as dt
import functools
from collections.abc import Sequence
from dataclasses import replace

from pipeline.draw import draw
from pipeline.plan.model import (
    Binder,
    Binding,
    Facts,
    Holes,
    Leaf,
    Page,
    Paper,
    Period,
    SetPlan,
    Side,
    Tab,
    tab_size,
)
from pipeline.publish.directions import faces_for_directions
from pipeline.text import FontBook
from pipeline.text.fonts import Faces

# Hole patterns: common practice, from memory.
SIX_A5 = Holes((32.0, 51.0, 70.0, 140.0, 159.0, 178.0), 6.0, 5.5)

A5 = Binder("a5", "A5", 148.0, 210.0, SIX_A5, "ISO 216")
A6 = Binder("a6", "A6", 105.0, 148.0, Holes((20.5, 39.5, 58.5, 89.5, 108.5, 127.5), 5.5, 5.0), "-")
PERSONAL = Binder(
    "personal",
    "Personal",
    95.0,
    171.0,
    Holes((22.0, 41.0, 60.0, 111.0, 130.0, 149.0), 5.5, 5.0),
    "",
)
POCKET = Binder(
    "pocket", "Pocket", 81.0, 120.0, Holes((13.0, 32.0, 51.0, 69.0, 88.0, 107.0), 5.5, 5.0), ""
)
MINI = Binder("mini", "Mini", 67.0, 105.0, Holes((14.5, 33.5, 52.5, 71.5, 90.5), 5.0, 5.0), "")
BINDERS = (A5, A6, PERSONAL, POCKET, MINI)

A4 = Paper("a4", "A4", 210.0, 297.0, "iso_a4_210x297mm", "ISO 216")
A3 = Paper("a3", "A3", 297.0, 420.0, "iso_a3_297x420mm", "ISO 216")
LETTER = Paper("letter", "US Letter", 215.9, 279.4, "na_letter_8.5x11in", "ANSI/ASME Y14.1")
LEGAL = Paper("legal", "US Legal", 215.9, 355.6, "na_legal_8.5x14in", "PWG 5101.1")
PAPERS = (A4, LETTER, A3, LEGAL)

MARCH = Period("march", "March 2027", dt.date(2027, 3, 1), dt.date(2027, 3, 31))


@functools.cache
def book() -> FontBook:
    """The installed faces, read once."""
    return FontBook()


@functools.cache
def leaflet_book() -> FontBook:
    """The same and those of the directions, which what buyers get is set in."""
    return faces_for_directions(Faces({}, {}, embedded=True)).book()


def set_of(
    flaps: Sequence[tuple[float | None, float | None]],
    binder: Binder = A5,
    binding: Binding = Binding.LEFT,
    title: str = "Week on two flaps, with sowing list and bed plan",
) -> SetPlan:
    """A set with one leaf for each pair: the flaps of its recto and verso, None for no page."""

    def page(leaf: int, side: Side, flap: float | None) -> Page | None:
        if flap is None:
            return None
        label = f"W{leaf + 8:02} {leaf + 1}–{leaf + 7} Mar"
        return Page(f"page-{side.value}", side, Facts("week"), label, flap)

    leaves = tuple(
        Leaf(page(number, Side.RECTO, recto), page(number, Side.VERSO, verso))
        for number, (recto, verso) in enumerate(flaps)
    )
    return SetPlan("sample", title, MARCH, binder, binding, "en-GB", (), leaves)


def dividers(
    count: int,
    tab: Tab,
    binder: Binder = A5,
    binding: Binding = Binding.LEFT,
) -> SetPlan:
    """A set of leaves with a page on either side, their tabs from step to step like ``tab``."""
    plan = set_of([(0.0, 0.0)] * count, binder, binding, "Dividers")
    leaves = []
    for number, leaf in enumerate(plan.leaves):
        own = replace(tab, at=number % tab.of + 1)
        assert leaf.recto is not None
        assert leaf.verso is not None
        leaves.append(Leaf(replace(leaf.recto, tab=own), replace(leaf.verso, tab=own)))
    return replace(plan, leaves=tuple(leaves))


def page_svgs(plan: SetPlan, bleed_mm: float = 0.0) -> list[bytes]:
    """For each page an outline 2 mm inside its flat size, its fold, and its number."""
    svgs = []
    for number, page in enumerate(plan.pages):
        wider, higher = tab_size(page.tab)
        width = plan.binder.width_mm + page.flap_mm + wider
        height = plan.binder.height_mm + higher
        at_left = (page.side is Side.RECTO) is (plan.binding is Binding.LEFT)
        fold = plan.binder.width_mm if at_left else page.flap_mm
        b = bleed_mm
        svgs.append(
            f'<svg xmlns="http://www.w3.org/2000/svg" width="{width + 2 * b}mm" '
            f'height="{height + 2 * b}mm" viewBox="{-b} {-b} {width + 2 * b} {height + 2 * b}">'
            f'<rect x="2" y="2" width="{width - 4}" height="{height - 4}" fill="none" '
            f'stroke="#7a9a6a" stroke-width=".25"/>'
            f'<path d="M{fold} 2V{height - 2}" stroke="#cccccc" stroke-width=".2"/>'
            f'<text x="{width / 2}" y="{height / 2}" font-family="Source Sans 3" '
            f'font-size="9" fill="#7a9a6a">page {number}</text></svg>'.encode()
        )
    return svgs


def pages_pdf(plan: SetPlan, bleed_mm: float = 0.0) -> bytes:
    """The drawings of all pages of a set."""
    return draw(page_svgs(plan, bleed_mm), book())
