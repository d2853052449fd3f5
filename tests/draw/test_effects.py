"""A page of soft effects, flowed text and a letter in colours, drawn by us and by two other
engines; ``make golden`` draws the guide's picture of it anew.

The engines are resvg, as a library, and Inkscape's own export to a picture. Resvg knows no flowed
text, and is asked about the page without it.
"""

from __future__ import annotations

import math
import os
import re
import subprocess
from collections.abc import Sequence
from pathlib import Path

import numpy as np
import numpy.typing as npt
import pypdfium2 as pdfium
import pytest
from fontTools.colorLib.builder import buildCOLR, buildCPAL
from fontTools.fontBuilder import FontBuilder
from fontTools.pens.ttGlyphPen import TTGlyphPen
from fontTools.ttLib import newTable
from lxml import etree
from PIL import Image

from pipeline.base.geometry import mm
from pipeline.svg.tree import SVG, remove
from pipeline.text import FontBook
from tests.conftest import ROOT, Golden
from tests.draw.engines import built, by_resvg, font_config
from tests.sidebyside import save_small
from tests.tools import tool

DRAWING = ROOT / "docs" / "pictures" / "effects.svg"
PICTURE = ROOT / "docs" / "pictures" / "effects.png"
PIXELS_PER_MM = 10
SIZE = (120 * PIXELS_PER_MM, 88 * PIXELS_PER_MM)
SHOWN = (720, 1068)
"""The size of the guide's picture, pixels."""
Picture = npt.NDArray[np.int16]
OVERLAP = 0.98
"""What ink must at least be the same in two engines' pictures."""


@pytest.fixture(scope="module")
def book(tmp_path_factory: pytest.TempPathFactory) -> FontBook:
    """All faces, and one with a flower in three colours."""
    return FontBook(flowers(tmp_path_factory.mktemp("petals")))


def flowers(folder: Path) -> Path:
    """A folder with the face "Petals": its letter f is a flower (OpenType, COLR, version 0)."""
    petals = [ring(500 + 250 * math.cos(turn), 350 + 250 * math.sin(turn), 190) for turn in TURNS]
    shapes = {"petals": petals, "heart": [ring(500, 350, 200)], "dot": [ring(500, 350, 90)]}
    names = [".notdef", "f", *shapes]
    builder = FontBuilder(1000, isTTF=True)
    builder.setupGlyphOrder(names)
    builder.setupCharacterMap({ord("f"): "f"})
    builder.setupGlyf({name: outlined(shapes.get(name, petals[:1])) for name in names})
    lefts = {name: min(x for points in held for x, _ in points) for name, held in shapes.items()}
    builder.setupHorizontalMetrics({name: (1000, lefts.get(name, 60)) for name in names})
    builder.setupHorizontalHeader(ascent=900, descent=-200)
    builder.setupNameTable({"familyName": "Petals", "styleName": "Regular", "psName": "Petals"})
    builder.setupOS2(sTypoAscender=900, sTypoDescender=-200, usWinAscent=900, usWinDescent=200)
    builder.setupPost()
    colours = [(0.78, 0.33, 0.36, 1.0), (0.97, 0.8, 0.3, 1.0), (0.45, 0.28, 0.16, 1.0)]
    builder.font["CPAL"] = buildCPAL([colours])
    builder.font["COLR"] = buildCOLR({"f": [("petals", 0), ("heart", 1), ("dot", 2)]}, version=0)
    drawings = newTable("SVG ")
    drawings.docList = [(drawing_of_flower(shapes, colours), 1, 1)]
    builder.font["SVG "] = drawings
    builder.save(folder / "petals.ttf")
    return folder


def drawing_of_flower(
    shapes: dict[str, list[list[tuple[int, int]]]], colours: Sequence[tuple[float, ...]]
) -> str:
    """The same as a drawing, for editors that take no other kind of letters in colours."""
    paths = "".join(
        '<path fill="rgb({:.0f},{:.0f},{:.0f})" '.format(*(255 * part for part in colour[:3]))
        + 'd="'
        + "".join("M" + "L".join(f"{x} {-y}" for x, y in points) + "z" for points in rings)
        + '"/>'
        for rings, colour in zip(shapes.values(), colours, strict=True)
    )
    return f'<svg xmlns="http://www.w3.org/2000/svg"><g id="glyph1">{paths}</g></svg>'


TURNS = [math.pi * number / 3 for number in range(6)]


def ring(x: float, y: float, radius: float) -> list[tuple[int, int]]:
    """A circle of many corners, clockwise."""
    turns = (math.tau * number / 48 for number in range(48))
    return [(round(x + radius * math.cos(a)), round(y - radius * math.sin(a))) for a in turns]


def outlined(rings: list[list[tuple[int, int]]]) -> object:
    pen = TTGlyphPen(None)
    for points in rings:
        pen.moveTo(points[0])
        for point in points[1:]:
            pen.lineTo(point)
        pen.closePath()
    return pen.glyph()


def by_us(book: FontBook, drawing: bytes = DRAWING.read_bytes()) -> Picture:
    page = pdfium.PdfDocument(built([drawing], book))[0]
    shown = page.render(scale=PIXELS_PER_MM * mm(1)).to_pil().convert("RGB").resize(SIZE)
    return np.asarray(shown, dtype=np.int16)


def by_inkscape(book: FontBook, folder: Path) -> Picture:
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
            "FONTCONFIG_FILE": str(font_config(book, folder)),
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


def without_flows() -> bytes:
    root = etree.fromstring(DRAWING.read_bytes())
    for element in list(root.iter(SVG + "flowRoot", SVG + "text")):
        if element.tag == SVG + "flowRoot" or "shape-inside" in (element.get("style") or ""):
            remove(element)
    return bytes(etree.tostring(root))


def test_effects_look_as_in_resvg(book: FontBook) -> None:
    drawing = without_flows()
    assert overlap(by_us(book, drawing), by_resvg(drawing, book, SIZE)) > OVERLAP


def test_effects_look_as_the_editor_exports_them(book: FontBook, tmp_path: Path) -> None:
    mine, theirs = by_us(book), by_inkscape(book, tmp_path)
    whole = overlap(mine, theirs)
    assert whole > OVERLAP
    for name, box in PARTS:  # a small part is lost in the whole
        assert overlap(cut(mine, box), cut(theirs, box)) > OVERLAP - 0.01, name
    said = re.search(r"overlap by ([0-9.]+) %", (ROOT / "docs" / "drawing.md").read_text("utf-8"))
    assert said is not None
    assert abs(float(said[1]) - 100 * whole) < 0.2


PARTS = {
    "shadows and glow": (3, 3, 57, 57), "mask": (62, 4, 118, 26), "blend modes": (62, 26, 118, 40),
    "clip of text": (62, 40, 118, 58), "text in a shape": (3, 60, 43, 86),
    "flowed text": (46, 60, 86, 86), "letter in colours": (88, 60, 118, 86),
}.items()  # fmt: skip
"""What is on the page: left, top, right and bottom in mm."""


def cut(picture: Picture, box: tuple[int, int, int, int]) -> Picture:
    left, top, right, bottom = (PIXELS_PER_MM * side for side in box)
    return picture[top:bottom, left:right]


def test_a_page_without_its_effects_does_not_pass_for_it(book: FontBook) -> None:
    drawn = without_flows()
    whole = by_resvg(drawn, book, SIZE)
    ours = overlap(by_us(book, drawn), whole)
    for effect in ("filter", "mask", "clip-path"):
        without = drawn.replace(f" {effect}=".encode(), b" data-effect=")
        assert overlap(whole, by_resvg(without, book, SIZE)) < ours - 0.005


def test_the_guide_shows_the_page_as_it_is_drawn(
    book: FontBook, tmp_path: Path, golden: Golden
) -> None:
    """``docs/pictures/effects.png`` has our page above, and Inkscape's below it."""
    mine = by_us(book)
    if golden.renew:
        gap = np.full((20, SIZE[0], 3), 255, dtype=np.int16)
        both = np.vstack([mine, gap, by_inkscape(book, tmp_path)]).astype(np.uint8)
        save_small(Image.fromarray(both).resize(SHOWN, Image.Resampling.LANCZOS), PICTURE)
    shown = Image.open(PICTURE).convert("RGB")
    assert shown.size == SHOWN
    upper = np.asarray(shown.resize((SIZE[0], 2 * SIZE[1] + 20)), dtype=np.int16)[: SIZE[1]]
    assert overlap(upper, mine) > 0.98
