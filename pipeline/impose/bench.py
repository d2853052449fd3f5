"""What a set asks for at the bench: cuts, folds, punch strokes, and the pack that comes of it."""

from __future__ import annotations

import itertools
import math
from collections.abc import Iterable, Sequence
from dataclasses import asdict, dataclass

from pipeline.base.geometry import Rect
from pipeline.impose.cutting import cut_order
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

    >>> strokes([Rect(10, 10, 90, 120)])
    4
    >>> four = [Rect(x, y, 90, 120) for x in (10, 110) for y in (10, 140)]
    >>> strokes(four)
    8
    """
    right, bottom = max(r.right for r in flats), max(r.bottom for r in flats)
    return len(cut_order(flats, right, bottom))


def _stacks(sheets: Iterable[Sheet]) -> list[list[Rect]]:
    """The leaves of each stack; its first sheet has one of every pile."""
    by_stack = itertools.groupby(sheets, lambda sheet: sheet.stack)
    return [[placed.flat for placed in next(group).side_1] for _, group in by_stack]


def _area_m2(plan: SetPlan, leaf: Leaf) -> float:
    return (plan.binder.width_mm + leaf.flap_mm) * plan.binder.height_mm / 1e6
