"""The proof folder of a set: every picture written beside the files it shows."""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path

from PIL import Image

from pipeline.base.folders import whole_folder
from pipeline.plan.model import Side
from pipeline.proof.pictures.contact import contact_sheet
from pipeline.proof.pictures.pictures import SetPictures, open_set
from pipeline.proof.pictures.png import save_png
from pipeline.proof.read.contents import SheetSide

PROOF = "proof"
PROOF_DPI = 110.0
"""Enough to read the smallest figure of a week on a screen; an A5 spread is 1,800 pixels wide."""


def write_proofs(set_folder: Path, dpi: float = PROOF_DPI) -> tuple[Path, ...]:
    """Draw all pictures of an imposed set into its ``proof`` folder; gives their paths, sorted.

    The folder appears whole: until the last picture is drawn, an earlier proof stays. Raises
    ``UserError`` when the set is not whole or its folder cannot be written to.
    """
    with open_set(set_folder, dpi) as pictures, whole_folder(set_folder / PROOF) as fresh:
        for name, picture in _pictures(pictures):
            save_png(picture, fresh / f"{name}.png")
    return tuple(sorted((set_folder / PROOF).iterdir()))


def _pictures(pictures: SetPictures) -> Iterator[tuple[str, Image.Image]]:
    """Every picture of a set with its name."""
    contents = pictures.contents
    sides: tuple[SheetSide, SheetSide] = (1, 2)
    for index, sheet in enumerate(contents.sheets):
        for side in sides:
            yield f"sheet-{sheet.number:02d}-side-{side}", pictures.sheet(index, side)
    for index in range(len(contents.spreads)):
        name = f"spread-{index + 1:02d}"
        if pictures.has_flap(index):
            yield f"{name}-open", pictures.spread(index)
            yield f"{name}-shut", pictures.spread(index, shut=True)
        else:
            yield name, pictures.spread(index)
    for name, leaf, face in (
        ("first-page", 0, Side.RECTO),
        ("last-page", len(contents.leaves) - 1, Side.VERSO),
    ):
        if contents.leaves[leaf].page(face) is None:
            continue
        if pictures.folds(leaf, face):
            yield f"{name}-open", pictures.single(leaf, face)
            yield f"{name}-shut", pictures.single(leaf, face, shut=True)
        else:
            yield name, pictures.single(leaf, face)
    yield "contact-sheet", contact_sheet(pictures)
