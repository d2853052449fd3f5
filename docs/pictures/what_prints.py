"""Draws prints-*.png: a sheet for each family of the guide's "What prints", pages with captions.

Run from the project's folder: ``python -m docs.pictures.what_prints``. Which pages are shown is
said in ``tests/prints_guide.py``.
"""

from __future__ import annotations

from html import escape

import pypdfium2 as pdfium
from PIL import Image

from pipeline.base.geometry import mm
from pipeline.draw import draw
from tests.draw.feature_samples import HEIGHT, WIDTH
from tests.draw.test_features import BOOK, by_us
from tests.prints_guide import FAMILIES, Family
from tests.sidebyside import save_small

ACROSS = 4
GAP = 5
CAPTION = 9
PIXELS_PER_MM = 2.5


def sheet(family: Family) -> Image.Image:
    """A family's pages on one grid."""
    pages = {page.name: page for page in family.pages}
    places = [
        (GAP + n % ACROSS * (WIDTH + GAP), GAP + n // ACROSS * (HEIGHT + CAPTION + GAP))
        for n in range(len(family.shown))
    ]
    width = ACROSS * (WIDTH + GAP) + GAP
    height = places[-1][1] + HEIGHT + CAPTION + GAP
    captions = "".join(
        f'<text x="{x}" y="{y + HEIGHT + 6.4}" font-size="5">{escape(caption)}</text>'
        for caption, (x, y) in zip(family.shown.values(), places, strict=True)
    )
    frames = "".join(
        f'<rect x="{x - 0.15}" y="{y - 0.15}" width="{WIDTH + 0.3}" height="{HEIGHT + 0.3}"/>'
        for x, y in places
    )
    svg = (
        f'<svg xmlns="http://www.w3.org/2000/svg" width="{width}mm" height="{height}mm" '
        f'viewBox="0 0 {width} {height}"><g font-family="Source Sans 3" fill="#333">{captions}</g>'
        f'<g fill="none" stroke="#bbb" stroke-width=".3">{frames}</g></svg>'
    )
    drawn = picture(draw([svg.encode()], BOOK))
    for name, (x, y) in zip(family.shown, places, strict=True):
        page = picture(by_us(pages[name]))
        inner = page.crop((1, 1, page.width - 1, page.height - 1))  # where page sizes are rounded
        drawn.paste(inner, (round(x * PIXELS_PER_MM) + 1, round(y * PIXELS_PER_MM) + 1))
    return drawn


def picture(pdf: bytes) -> Image.Image:
    page: Image.Image = pdfium.PdfDocument(pdf)[0].render(scale=PIXELS_PER_MM * mm(1)).to_pil()
    return page.convert("RGB")


def main() -> None:
    for family in FAMILIES:
        if family.shown:
            save_small(sheet(family), family.picture)


if __name__ == "__main__":
    main()
