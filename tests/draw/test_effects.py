"""A page of soft effects, drawn by us and by two other engines; ``make golden`` draws the guide's
picture of it anew.

The engines are resvg, as a library, and Inkscape's own export to a picture.
"""

from __future__ import annotations

import os
import subprocess
from pathlib import Path

import numpy as np
import numpy.typing as npt
import pypdfium2 as pdfium
from PIL import Image

from pipeline.base.geometry import mm
from pipeline.proof.pictures.proofs import save_png
from pipeline.text import FontBook
from tests.conftest import ROOT, Golden
from tests.draw.engines import built, by_resvg, font_config
from tests.tools import tool

DRAWING = ROOT / "docs" / "pictures" / "effects.svg"
PICTURE = ROOT / "docs" / "pictures" / "effects.png"
PIXELS_PER_MM = 6
SIZE = (120 * PIXELS_PER_MM, 60 * PIXELS_PER_MM)
BOOK = FontBook()
Picture = npt.NDArray[np.int16]


def by_us() -> Picture:
    page = pdfium.PdfDocument(built([DRAWING.read_bytes()], BOOK))[0]
    shown = page.render(scale=PIXELS_PER_MM * mm(1)).to_pil().convert("RGB").resize(SIZE)
    return np.asarray(shown, dtype=np.int16)


def by_inkscape(folder: Path) -> Picture:
    """The page as Inkscape exports it, with the book's faces and no others."""
    target = folder / "effects.png"
    subprocess.run(
        [
            tool("inkscape"),
            "--export-type=png",
            f"--export-filename={target}",
            f"--export-width={SIZE[0]}",
            "--export-background=white",
            str(DRAWING),
        ],
        env={
            **os.environ,
            "FONTCONFIG_FILE": str(font_config(BOOK, folder)),
            "HOME": str(folder),
        },
        check=True,
        capture_output=True,
        timeout=180,
    )
    return np.asarray(Image.open(target).convert("RGB").resize(SIZE), dtype=np.int16)


def overlap(one: Picture, other: Picture) -> float:
    """What ink two pictures have in common, as a share of all ink that either has."""
    inks = 255 - one, 255 - other
    return float(np.minimum(*inks).sum() / np.maximum(*inks).sum())


def test_effects_look_as_in_resvg() -> None:
    assert overlap(by_us(), by_resvg(DRAWING.read_bytes(), BOOK, SIZE)) > 0.98


def test_effects_look_as_the_editor_exports_them(tmp_path: Path) -> None:
    assert overlap(by_us(), by_inkscape(tmp_path)) > 0.98


def test_a_page_without_its_effects_does_not_pass_for_it() -> None:
    drawn = DRAWING.read_bytes()
    whole = by_resvg(drawn, BOOK, SIZE)
    ours = overlap(by_us(), whole)
    for effect in ("filter", "mask", "clip-path"):
        without = drawn.replace(f" {effect}=".encode(), b" data-effect=")
        assert overlap(whole, by_resvg(without, BOOK, SIZE)) < ours - 0.005


def test_the_guide_shows_the_page_as_it_is_drawn(tmp_path: Path, golden: Golden) -> None:
    """``docs/pictures/effects.png`` has our page above, and Inkscape's below it."""
    mine = by_us()
    if golden.renew:
        gap = np.full((12, SIZE[0], 3), 255, dtype=np.int16)
        both = np.vstack([mine, gap, by_inkscape(tmp_path)]).astype(np.uint8)
        save_png(Image.fromarray(both), PICTURE)
    shown = np.asarray(Image.open(PICTURE).convert("RGB"), dtype=np.int16)
    assert overlap(shown[: SIZE[1]], mine) > 0.99
