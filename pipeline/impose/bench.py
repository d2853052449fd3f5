"""What a set asks for at the bench: cuts, folds, punch strokes, and the pack that comes of it."""

from __future__ import annotations

import itertools
import math
from collections.abc import Iterable, Sequence
from dataclasses import asdict, dataclass

from pipeline.geometry import Rect
from pipeline.impose.sheet import Sheet
from pipeline.plan.model import Leaf, SetPlan
from pipeline.plan.stock import Stock

LEAVES_A_PUNCH = 5
"""Leaves punched at one stroke (common practice: 4 to 5)."""


@dataclass(frozen=True)
class Bench:
    """The work and the pack of one set.

    ``cuts`` are strokes of a guillotine that takes a whole stack of sheets at once, ``folds``
    leaves with a flap, ``punch_strokes`` those of a punch that makes all holes of five leaves at
    once. ``weight_g`` is that of the finished leaves, ``thickness_mm`` theirs in the rings with
    flaps folded in, on paper of ``gsm`` g/m² that is ``caliper_mm`` thick.
    """

    sheets: int
    cuts: int
    folds: int
    punch_strokes: int
    gsm: float
    caliper_mm: float
    weight_g: float
    thickness_mm: float

    def as_data(self) -> dict[str, float]:
        """For ``json.dumps``: measures rounded to what can be told apart at a bench."""
        places = {"gsm": 1, "caliper_mm": 3, "weight_g": 1, "thickness_mm": 2}
        return {
            name: round(value, places[name]) if name in places else value
            for name, value in asdict(self).items()
        }


def bench(plan: SetPlan, sheets: Sequence[Sheet], stock: Stock) -> Bench:
    """The figures of a set as it lies on its sheets."""
    folds = sum(1 for leaf in plan.leaves if leaf.flap_mm > 0)
    punched = len(plan.leaves) if plan.binder.holes.centres_mm else 0
    return Bench(
        sheets=len(sheets),
        cuts=sum(strokes(flats) for flats in _stacks(sheets)),
        folds=folds,
        punch_strokes=math.ceil(punched / LEAVES_A_PUNCH),
        gsm=stock.gsm,
        caliper_mm=stock.thickness_mm,
        weight_g=sum(_area_m2(plan, leaf) for leaf in plan.leaves) * stock.gsm,
        thickness_mm=(len(plan.leaves) + folds) * stock.thickness_mm,
    )


def strokes(flats: Sequence[Rect]) -> int:
    """Guillotine strokes that free all leaves of a stack of sheets, which lie as ``flats``.

    There is waste on either side of a leaf, so rows are parted by two strokes each. A cut that
    hits no leaf of any row goes through all at once; for the others, rows whose leaves lie alike
    are laid on one another. The paper may as well be parted into columns first; the fewer
    strokes count.

    >>> strokes([Rect(10, 10, 90, 120)])
    4
    >>> four = [Rect(x, y, 90, 120) for x in (10, 110) for y in (10, 140)]
    >>> strokes(four)
    8
    """
    ways = [_strokes_by_rows(flats), _strokes_by_rows([_tipped(flat) for flat in flats])]
    return min(way for way in ways if way is not None)


def _stacks(sheets: Iterable[Sheet]) -> list[list[Rect]]:
    """The leaves of each stack; its first sheet has one of every pile."""
    by_stack = itertools.groupby(sheets, lambda sheet: sheet.stack)
    return [[placed.flat for placed in next(group).side_1] for _, group in by_stack]


def _area_m2(plan: SetPlan, leaf: Leaf) -> float:
    return (plan.binder.width_mm + leaf.flap_mm) * plan.binder.height_mm / 1e6


def _tipped(flat: Rect) -> Rect:
    return Rect(flat.y, flat.x, flat.height, flat.width)


def _strokes_by_rows(flats: Sequence[Rect]) -> int | None:
    """Strokes when rows are parted first; None when no straight cut parts them."""
    rows: list[list[Rect]] = []
    for flat in sorted(flats, key=lambda flat: (flat.y, flat.x)):
        if rows and flat.y < max(other.bottom for other in rows[-1]) - 1e-6:
            rows[-1].append(flat)
        else:
            rows.append([flat])
    if any(max(r.y for r in row) - min(r.y for r in row) > 1e-6 for row in rows):
        return None
    heaps: list[list[Rect]] = []
    for row in rows:
        heap = next((heap for heap in heaps if _cut_alike(heap, row)), None)
        if heap is None:
            heaps.append(list(row))
        else:
            heap += row
    through = {line for line in _cut_lines(flats) if not _hits(line, flats)}
    own = sum(len(_cut_lines(heap) - through) for heap in heaps)
    return 2 * len(rows) + len(through) + own


def _cut_lines(row: Sequence[Rect]) -> set[float]:
    return {round(x, 3) for flat in row for x in (flat.x, flat.right)}


def _cut_alike(one: Sequence[Rect], other: Sequence[Rect]) -> bool:
    """Whether no cut of one row would go through a leaf of the other laid on it."""
    both = (*one, *other)
    return not any(_hits(line, both) for line in _cut_lines(both))


def _hits(line: float, flats: Iterable[Rect]) -> bool:
    """Whether a cut at ``line``, right through all rows, would go through a leaf."""
    return any(flat.x + 1e-3 < line < flat.right - 1e-3 for flat in flats)
