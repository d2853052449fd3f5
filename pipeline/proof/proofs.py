"""The proof folder of a set: every picture written beside the files it shows."""

from __future__ import annotations

import shutil
import tempfile
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass
from pathlib import Path

from PIL import Image

from pipeline.errors import UserError
from pipeline.plan.model import Side
from pipeline.proof.contact import contact_sheet
from pipeline.proof.layout import CONTENTS, SheetSide, read_contents
from pipeline.proof.pictures import SetPictures, open_set
from pipeline.proof.png import save_png

PROOF = "proof"
PROOF_DPI = 110.0
"""Enough to read the smallest figure of a week on a screen; an A5 spread is 1,800 pixels wide."""


@dataclass(frozen=True)
class Proved:
    """A set has been proved: it was number ``done`` of ``total``, with ``pictures`` pictures."""

    folder: Path
    pictures: int
    done: int
    total: int


def write_proofs(set_folder: Path, dpi: float = PROOF_DPI) -> tuple[Path, ...]:
    """Draw all pictures of an imposed set into its ``proof`` folder; gives their paths, sorted.

    The folder appears whole: until the last picture is drawn, an earlier proof stays. Raises
    ``UserError`` when the set is not whole or its folder cannot be written to.
    """
    with open_set(set_folder, dpi) as pictures, _replaced(set_folder / PROOF) as fresh:
        for name, picture in _pictures(pictures):
            save_png(picture, fresh / f"{name}.png")
    return tuple(sorted((set_folder / PROOF).iterdir()))


def prove(build: Path, only: str | None = None, dpi: float = PROOF_DPI) -> Iterator[Proved]:
    """Proof every set under a build folder, or those called ``only``, and tell after each.

    Raises ``UserError`` when there is nothing to prove.
    """
    folders = sorted(path.parent for path in build.rglob(CONTENTS))
    if not folders:
        raise UserError(str(build), "no built sets in this folder", "build a season first")
    if only is not None:
        names = {folder: read_contents(folder).set.name for folder in folders}
        folders = [folder for folder in folders if names[folder] == only]
        if not folders:
            known = ", ".join(sorted(set(names.values())))
            raise UserError(str(build), f"no set called {only!r}", f"there are: {known}")
    for done, folder in enumerate(folders, start=1):
        yield Proved(folder, len(write_proofs(folder, dpi)), done, len(folders))


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


@contextmanager
def _replaced(folder: Path) -> Iterator[Path]:
    """An empty folder to fill, which takes the place of ``folder`` when all went well."""
    try:
        room = Path(tempfile.mkdtemp(prefix=f".{folder.name}-", dir=folder.parent))
    except OSError as error:
        raise UserError(
            str(folder.parent), f"cannot be written to ({error.strerror})", "check its permissions"
        ) from error
    fresh, earlier = room / "fresh", room / "earlier"
    try:
        fresh.mkdir()
        yield fresh
        if folder.exists():
            folder.rename(earlier)
        try:
            fresh.rename(folder)
        except BaseException:
            if earlier.exists():
                earlier.rename(folder)
            raise
    finally:
        shutil.rmtree(room, ignore_errors=True)
