"""How much ink a side takes, measured on the pixels of the finished file."""

from __future__ import annotations

from collections.abc import Hashable, Mapping, Sequence
from pathlib import Path
from typing import Any, NamedTuple

import numpy as np
import pypdfium2 as pdfium

from pipeline.proof.read.raster import opened

INK_DPI = 200.0
"""pdfium draws no line thinner than a pixel: with coarser ones hairlines would weigh too much.

On the demo's pages the figure is within 4 % of that at 600 dpi; at 50 dpi it is twice as much.
"""


class SideInk(NamedTuple):
    """How much of a sheet's side ink covers, in %: its mean darkness, 100 were all black."""

    sheet: int
    side: int
    percent: float


def side_inks(both_sides: Path | bytes, contents: Mapping[str, Any]) -> tuple[SideInk, ...]:
    """The ink on every side of a set, from its file of both sides and its table of contents.

    Sides that show the same templates differ in their dates alone: only the first of them is
    measured, and its figure stands for all. Raises ``UserError`` when the file cannot be read.
    """
    measured: dict[Hashable, float] = {}
    inks: list[SideInk] = []
    with opened(both_sides) as document:
        for sheet in contents["sheets"]:
            for side in (1, 2):
                kind = _kind(sheet[f"side_{side}"], contents["leaves"])
                if kind not in measured:
                    measured[kind] = _ink(document[len(inks)])
                inks.append(SideInk(sheet["number"], side, measured[kind]))
    return tuple(inks)


def mean_ink(inks: Sequence[SideInk]) -> float:
    """Over all sides, blank ones too, in %.

    >>> mean_ink([SideInk(1, 1, 2.0), SideInk(1, 2, 1.0)])
    1.5
    """
    return sum(ink.percent for ink in inks) / len(inks)


def _kind(placed: Sequence[Mapping[str, Any]], leaves: Sequence[Mapping[str, Any]]) -> Hashable:
    """What is the same for sides that differ in their dates alone."""
    pages = [leaves[one["leaf"]][one["face"]] for one in placed]
    templates = tuple(page["template"] if page else None for page in pages)
    return templates, tuple(tuple(one["flat"]) for one in placed)


def _ink(page: pdfium.PdfPage) -> float:
    greys = page.render(scale=INK_DPI / 72, grayscale=True).to_numpy()
    return 100.0 * (1.0 - float(np.mean(greys)) / 255.0)
