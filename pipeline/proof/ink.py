"""How much ink a side takes, measured on the pixels of the finished file."""

from __future__ import annotations

from collections.abc import Hashable, Sequence
from pathlib import Path

import numpy as np
import pypdfium2 as pdfium

from pipeline.proof.raster import opened

INK_DPI = 200.0
"""pdfium draws no line thinner than a pixel: with coarser ones hairlines would weigh too much.

On the demo's pages the figure is within 4 % of that at 600 dpi; at 50 dpi it is twice as much.
"""


def side_inks(pdf: Path, kinds: Sequence[Hashable]) -> tuple[float, ...]:
    """The share of each page that ink covers, in %: mean darkness, 100 were all black.

    ``kinds`` has one entry a page. Pages of one kind differ in their dates alone, and only the
    first of them is measured; its figure is given for all.

    Raises ``UserError`` when the file cannot be read.
    """
    measured: dict[Hashable, float] = {}
    with opened(pdf) as document:
        for number, kind in enumerate(kinds):
            if kind not in measured:
                measured[kind] = _ink(document[number])
    return tuple(measured[kind] for kind in kinds)


def _ink(page: pdfium.PdfPage) -> float:
    greys = page.render(scale=INK_DPI / 72, grayscale=True).to_numpy()
    return 100.0 * (1.0 - float(np.mean(greys)) / 255.0)
