"""The strokes that free the leaves of a stack of sheets, in the order they are best cut.

There is waste on either side of a leaf, so rows are parted by two strokes each. A cut that hits no
leaf of any row goes through all at once; for the others, rows whose leaves lie alike are laid on
one another. A leaf that is shorter than its row takes one stroke of its own. The paper may as well
be parted into columns first; the fewer strokes count.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass

from pipeline.base.geometry import Rect


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
    rows = _by_rows(flats, width)
    columns = _by_rows([_tipped(flat) for flat in flats], height)
    ways: list[list[Cut]] = [rows or [], [_tipped_cut(cut) for cut in columns or []]]
    possible: list[list[Cut]] = [way for way in ways if way]
    fewest = min(possible, key=len)
    return tuple(fewest)


def _tipped(flat: Rect) -> Rect:
    return Rect(flat.y, flat.x, flat.height, flat.width)


def _tipped_cut(cut: Cut) -> Cut:
    return Cut(not cut.across, cut.at, cut.spans)


def _by_rows(flats: Sequence[Rect], width: float) -> list[Cut] | None:
    """The strokes when rows are parted first; None when no straight cut parts them."""
    rows: list[list[Rect]] = []
    for flat in sorted(flats, key=lambda flat: (flat.y, flat.x)):
        if rows and flat.y < max(other.bottom for other in rows[-1]) - 1e-6:
            rows[-1].append(flat)
        else:
            rows.append([flat])
    if any(max(r.y for r in row) - min(r.y for r in row) > 1e-6 for row in rows):
        return None
    whole = ((0.0, width),)
    cuts = [
        Cut(True, at, whole)
        for row in rows
        for at in (min(r.y for r in row), max(r.bottom for r in row))
    ]
    through = {line for line in _cut_lines(flats) if not _hits(line, flats)}
    cuts += [Cut(False, at, _spans(rows)) for at in sorted(through)]
    for heap in _heaps(rows):
        lines = _cut_lines([flat for row in heap for flat in row]) - through
        cuts += [Cut(False, at, _spans(heap)) for at in sorted(lines)]
    return cuts + [cut for row in rows for cut in _short_of(row)]


def _short_of(row: Sequence[Rect]) -> list[Cut]:
    """One more stroke for each leaf that ends before its row does."""
    bottom = max(flat.bottom for flat in row)
    return [
        Cut(True, flat.bottom, ((flat.x, flat.right),))
        for flat in row
        if flat.bottom < bottom - 1e-6
    ]


def _heaps(rows: Iterable[list[Rect]]) -> list[list[list[Rect]]]:
    """Rows that can be laid on one another and cut at the same places."""
    heaps: list[list[list[Rect]]] = []
    for row in rows:
        heap = next((h for h in heaps if _cut_alike([f for r in h for f in r], row)), None)
        if heap is None:
            heaps.append([row])
        else:
            heap.append(row)
    return heaps


def _spans(rows: Iterable[Sequence[Rect]]) -> tuple[tuple[float, float], ...]:
    return tuple((min(r.y for r in row), max(r.bottom for r in row)) for row in rows)


def _cut_lines(row: Sequence[Rect]) -> set[float]:
    return {round(x, 3) for flat in row for x in (flat.x, flat.right)}


def _cut_alike(one: Sequence[Rect], other: Sequence[Rect]) -> bool:
    """Whether no cut of one row would go through a leaf of the other laid on it."""
    both = (*one, *other)
    return not any(_hits(line, both) for line in _cut_lines(both))


def _hits(line: float, flats: Iterable[Rect]) -> bool:
    """Whether a cut at ``line``, right through all rows, would go through a leaf."""
    return any(flat.x + 1e-3 < line < flat.right - 1e-3 for flat in flats)
