"""All text of a set, read back from its files."""

from __future__ import annotations

from pathlib import Path

import pypdfium2 as pdfium

from pipeline.impose.contents import read_contents
from pipeline.impose.sheet import SheetSide
from pipeline.proof.read.raster import opened
from pipeline.proof.read.text import LeafText, leaf_texts


def read_set(set_folder: Path) -> tuple[LeafText, ...]:
    """All text on the leaves of an imposed set, sheet by sheet, side 1 before side 2.

    Raises ``UserError`` when the folder is not an imposed set.
    """
    contents = read_contents(set_folder)
    found: list[LeafText] = []
    with opened(set_folder / "side-1.pdf") as first, opened(set_folder / "side-2.pdf") as second:
        sides: tuple[tuple[SheetSide, pdfium.PdfDocument], ...] = ((1, first), (2, second))
        for index, sheet in enumerate(contents.sheets):
            for side, document in sides:
                page = document[contents.page_number(index, side)]
                found.extend(leaf_texts(page, sheet.placements(side), index, side))
    return tuple(found)
