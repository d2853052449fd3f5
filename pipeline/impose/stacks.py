"""Cut and stack: which leaf lies in which pile of which sheet, so that cut piles read in order.

A stack is a run of sheets cut together. Its pile p holds leaves p·s … p·s + s - 1, where s is the
number of its sheets; piles laid one on the other, and stacks after one another, are in reading
order. Leaves of a pile are of one width, because one stroke cuts them all.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass

from pipeline.impose.layout import Layout

Lay = Callable[[tuple[float, ...]], Layout | None]
"""Lays piles of the given widths (mm) on a sheet, or says None."""


@dataclass(frozen=True)
class Stack:
    """Leaves ``first`` … ``first + count - 1`` on ``sheets`` sheets that share one layout."""

    first: int
    count: int
    sheets: int
    layout: Layout

    def leaf(self, sheet: int, pile: int) -> int | None:
        """The leaf in a pile of a sheet (both from 0), None where the paper stays blank."""
        number = pile * self.sheets + sheet
        return self.first + number if number < self.count else None


def stacked(widths: Sequence[float], most: Callable[[float], int], lay: Lay) -> tuple[Stack, ...]:
    """Stacks for leaves of these opened widths, in reading order, on as few sheets as can be.

    ``most`` says how many leaves of a width fit on a sheet at best; it must be 1 or more for each.
    Among equals the fewest stacks win.
    """
    bounds = range(len(widths) + 1) if len(set(widths)) > 1 else (0, len(widths))
    seen: dict[tuple[float, ...], Layout | None] = {}

    def layout(piles: tuple[float, ...]) -> Layout | None:
        if piles not in seen:
            seen[piles] = lay(piles)
        return seen[piles]

    # best[k]: the least (sheets, stacks) for the leaves before bounds[k], and those stacks
    best: list[tuple[int, int, tuple[Stack, ...]]] = [(0, 0, ())]
    for end in range(1, len(bounds)):
        ways = []
        for start in range(end):
            stack = _one(widths, bounds[start], bounds[end], most, layout)
            if stack:
                sheets, stacks, before = best[start]
                ways.append((sheets + stack.sheets, stacks + 1, (*before, stack)))
        best.append(min(ways, key=lambda way: way[:2]))
    return best[-1][2]


def _one(
    widths: Sequence[float], first: int, end: int, most: Callable[[float], int], layout: Lay
) -> Stack | None:
    """Leaves ``first`` … ``end - 1`` as one stack of as few sheets as can be, if they can be."""
    run = widths[first:end]
    most_piles = max(most(width) for width in set(run))
    changes = [at for at in range(1, len(run)) if run[at] != run[at - 1]]
    if len(changes) >= most_piles:
        return None
    fewest = -(-len(run) // most_piles)
    for sheets in range(fewest, len(run) + 1):
        if any(change % sheets for change in changes):
            continue  # a pile would hold two widths
        found = layout(tuple(run[at] for at in range(0, len(run), sheets)))
        if found:
            return Stack(first, len(run), sheets, found)
    return None
