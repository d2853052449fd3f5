"""What a set asks for at the bench: cuts, folds, punch strokes, and the pack that comes of it.

There is waste on either side of a leaf, so rows are parted by two strokes each. A cut that hits no
leaf of any row goes through all at once; for the others, rows whose leaves lie alike are laid on
one another. A leaf that is shorter than its row takes one stroke of its own. The paper may as well
be parted into columns first; the fewer strokes count.
"""

from __future__ import annotations

import itertools
import math
from collections.abc import Iterable, Sequence
from dataclasses import dataclass, replace
from typing import Annotated

from pydantic import PlainSerializer

from pipeline.base.geometry import Rect
from pipeline.impose.sheet import Sheet
from pipeline.plan.model import Binder, Leaf, SetPlan
from pipeline.plan.sizes import Stock

LEAVES_A_PUNCH = 5
"""Leaves punched at one stroke (common practice: 4 to 5)."""


def _rounded(places: int) -> PlainSerializer:
    """Written with as many decimals as can be told apart at a bench."""
    return PlainSerializer(lambda value: round(value, places))


@dataclass(frozen=True)
class SideInk:
    """How much of a sheet's side ink covers, in %: its mean darkness, 100 were all black."""

    sheet: int
    side: int
    percent: Annotated[float, _rounded(2)]


@dataclass(frozen=True)
class Ink:
    """The ink on all sides of a set, and its mean over them, blank ones too, in %."""

    mean_percent: Annotated[float, _rounded(2)]
    sides: tuple[SideInk, ...]


@dataclass(frozen=True)
class Bench:
    """The work and the pack of one set.

    ``cuts`` are strokes of a guillotine that takes a whole stack of sheets at once, ``folds``
    leaves with a flap, ``punch_strokes`` those of a punch that makes all holes of five leaves at
    once. ``weight_g`` is that of the finished leaves, ``thickness_mm`` theirs in the rings with
    flaps folded in, to the tenth so that it is told alike everywhere, on paper of ``gsm`` g/m² that
    is ``caliper_mm`` thick. ``ink`` is known once the finished file has been measured. ``tabs`` are
    leaves whose outline is cut by hand, one by one, when all strokes are done.
    """

    sheets: int
    cuts: int
    folds: int
    punch_strokes: int
    gsm: Annotated[float, _rounded(1)]
    caliper_mm: Annotated[float, _rounded(3)]
    weight_g: Annotated[float, _rounded(1)]
    thickness_mm: float
    ink: Ink | None = None
    tabs: int = 0


def bench(plan: SetPlan, sheets: Sequence[Sheet], stock: Stock) -> Bench:
    """The figures of a set as it lies on its sheets."""
    folds = sum(1 for leaf in plan.leaves if leaf.flap_mm > 0)
    punched = len(plan.leaves) if plan.binder.holes.centres_mm else 0
    return Bench(
        sheets=len(sheets),
        # a stack's first sheet has a leaf of every pile
        cuts=sum(
            strokes([placed.flat for placed in next(stack).side_1])
            for _, stack in itertools.groupby(sheets, lambda sheet: sheet.stack)
        ),
        folds=folds,
        punch_strokes=math.ceil(punched / LEAVES_A_PUNCH),
        gsm=stock.gsm,
        caliper_mm=stock.thickness_mm,
        weight_g=sum(_area_mm2(plan.binder, leaf) for leaf in plan.leaves) / 1e6 * stock.gsm,
        thickness_mm=round((len(plan.leaves) + folds) * stock.thickness_mm, 1),
        tabs=sum(1 for leaf in plan.leaves if leaf.tab),
    )


def _area_mm2(binder: Binder, leaf: Leaf) -> float:
    """The area of a finished leaf; the corners cut off a tab weigh next to nothing."""
    tab = leaf.tab.area(binder.width_mm, binder.height_mm) if leaf.tab else None
    page = (binder.width_mm + leaf.flap_mm) * binder.height_mm
    return page + (tab.width * tab.height if tab else 0.0)


def strokes(flats: Sequence[Rect]) -> int:
    """Guillotine strokes that free all leaves of a stack of sheets, which lie as ``flats``.

    >>> strokes([Rect(10, 10, 90, 120)])
    4
    >>> four = [Rect(x, y, 90, 120) for x in (10, 110) for y in (10, 140)]
    >>> strokes(four)
    8
    """
    right, bottom = max(r.right for r in flats), max(r.bottom for r in flats)
    return len(cut_order(flats, right, bottom))


@dataclass(frozen=True)
class Cut:
    """One stroke: a straight line of the sheet, mm.

    ``at`` is its y where it is ``across`` (from the left edge to the right), else its x.
    ``spans`` are the stretches along it that it goes through: the whole sheet, or rows of leaves.
    """

    across: bool
    at: float
    spans: tuple[tuple[float, float], ...]


def cut_order(flats: Sequence[Rect], width: float, height: float) -> tuple[Cut, ...]:
    """All strokes for a stack of sheets ``width`` × ``height`` mm whose leaves lie as ``flats``.

    >>> [cut.at for cut in cut_order([Rect(10, 20, 90, 120)], 210, 297)]
    [20, 140, 10, 100]
    """
    tipped = [Rect(flat.y, flat.x, flat.height, flat.width) for flat in flats]
    columns = [replace(cut, across=not cut.across) for cut in _by_rows(tipped, height)]
    possible = [way for way in (_by_rows(flats, width), columns) if way]
    fewest = min(possible, key=len)
    return tuple(fewest)


def _by_rows(flats: Sequence[Rect], width: float) -> list[Cut]:
    """The strokes when rows are parted first; none when no straight cut parts them."""
    rows: list[list[Rect]] = []
    for flat in sorted(flats, key=lambda flat: (flat.y, flat.x)):
        if rows and flat.y < max(other.bottom for other in rows[-1]) - 1e-6:
            rows[-1].append(flat)
        else:
            rows.append([flat])
    if any(max(r.y for r in row) - min(r.y for r in row) > 1e-6 for row in rows):
        return []
    cuts = [Cut(True, at, ((0.0, width),)) for span in _spans(rows) for at in span]
    through = {line for line in _cut_lines(flats) if not _hits(line, flats)}
    cuts += [Cut(False, at, _spans(rows)) for at in sorted(through)]
    for heap in _heaps(rows):
        lines = _cut_lines(itertools.chain(*heap)) - through
        cuts += [Cut(False, at, _spans(heap)) for at in sorted(lines)]
    for row in rows:  # one more stroke for each leaf that ends before its row does
        bottom = max(flat.bottom for flat in row) - 1e-6
        short = [flat for flat in row if flat.bottom < bottom]
        cuts += [Cut(True, flat.bottom, ((flat.x, flat.right),)) for flat in short]
    return cuts


def _heaps(rows: Iterable[list[Rect]]) -> list[list[list[Rect]]]:
    """Rows that can be laid on one another: no cut of one goes through a leaf of another."""
    heaps: list[list[list[Rect]]] = []
    for row in rows:
        for heap in heaps:
            both = [*itertools.chain(*heap), *row]
            if not any(_hits(line, both) for line in _cut_lines(both)):
                heap.append(row)
                break
        else:
            heaps.append([row])
    return heaps


def _spans(rows: Iterable[Sequence[Rect]]) -> tuple[tuple[float, float], ...]:
    return tuple((min(r.y for r in row), max(r.bottom for r in row)) for row in rows)


def _cut_lines(flats: Iterable[Rect]) -> set[float]:
    return {round(x, 3) for flat in flats for x in (flat.x, flat.right)}


def _hits(line: float, flats: Iterable[Rect]) -> bool:
    """Whether a cut at ``line``, right through all rows, would go through a leaf."""
    return any(flat.x + 1e-3 < line < flat.right - 1e-3 for flat in flats)
