"""How much ink a side takes, measured on the pixels of the finished file."""

from __future__ import annotations

from collections.abc import Hashable, Sequence
from pathlib import Path

import numpy as np
import pypdfium2 as pdfium

from pipeline.impose.bench import SideInk
from pipeline.impose.sheet import Placement, Sheet
from pipeline.plan.model import Leaf, Side
from pipeline.proof.read.raster import opened

INK_DPI = 200.0
"""pdfium draws no line thinner than a pixel: with coarser ones hairlines would weigh too much.

On the demo's pages the figure is within 4 % of that at 600 dpi; at 50 dpi it is twice as much.
"""


def side_inks(
    both_sides: Path | bytes, sheets: Sequence[Sheet], leaves: Sequence[Leaf]
) -> tuple[SideInk, ...]:
    """The ink on every side of a set, from its file of both sides, its sheets and its leaves.

    Sides that show the same templates differ in their dates alone: only the first of them is
    measured, and its figure stands for all. Raises ``UserError`` when the file cannot be read.
    """
    measured: dict[Hashable, float] = {}
    inks: list[SideInk] = []
    with opened(both_sides) as document:
        for sheet in sheets:
            for side, placed in ((1, sheet.side_1), (2, sheet.side_2)):
                kind = _kind(placed, leaves)
                if kind not in measured:
                    measured[kind] = _ink(document[len(inks)])
                inks.append(SideInk(sheet.number, side, measured[kind]))
    return tuple(inks)


def mean_ink(inks: Sequence[SideInk]) -> float:
    """Over all sides, blank ones too, in %.

    >>> mean_ink([SideInk(1, 1, 2.0), SideInk(1, 2, 1.0)])
    1.5
    """
    return sum(ink.percent for ink in inks) / len(inks)


def _kind(placed: Sequence[Placement], leaves: Sequence[Leaf]) -> Hashable:
    """What is the same for sides that differ in their dates alone."""
    pages = [
        leaves[one.leaf].recto if one.face is Side.RECTO else leaves[one.leaf].verso
        for one in placed
    ]
    templates = tuple(page.template if page else None for page in pages)
    return templates, tuple(one.flat for one in placed)


def _ink(page: pdfium.PdfPage) -> float:
    greys = page.render(scale=INK_DPI / 72, grayscale=True).to_numpy()
    return 100.0 * (1.0 - float(np.mean(greys)) / 255.0)
