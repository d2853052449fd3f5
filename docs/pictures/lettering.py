"""Draws lettering.png: letters drawn on their lines, and below them a line that is set in them.

Run from the project's folder: ``python docs/pictures/lettering.py``.
"""

from __future__ import annotations

from pathlib import Path

import pypdfium2 as pdfium
from PIL import Image

from pipeline.base.geometry import mm
from pipeline.draw import draw
from pipeline.fill.lettering import font_of
from pipeline.fill.template import TemplateFile
from pipeline.text import FontBook
from pipeline.text.fonts import Faces
from tests.sidebyside import save_small

WIDTH, HEIGHT = 150, 26
PIXELS_PER_MM = 8
BOWL = "5.6 7a2.8 3 0 1 0-5.6 0a2.8 3 0 1 0 5.6 0"
LETTERS = {
    "capital-m": "M.5 10C1 6 1.500 2 2 0c1 3 2 6 3 7c1-2 2-5 3-7c.5 3 1 6 1.500 10",
    "letter-o": f"M{BOWL}",
    "letter-n": "M.3 4v6M.3 6.500c1-3.400 5-3.400 5 0v3.500",
    "letter-d": f"M6 -.5v10.500M{BOWL}",
    "letter-a": f"M6 4v6M{BOWL}",
    "letter-y": "M.3 4l2.600 6M5.400 4C4 8 3 12 1.400 13.500",
    "letter-s": "M4.600 4.800c-1-1.600-4.400-1-4 .7s4.400 1 4.200 3s-4 1.800-4.800 0",
    "letter-u": "M.3 4v3c0 4 5 4 5 0M5.300 4v6",
    "figure-1": "M.3 2L2.700 0v10",
    "figure-7": "M.3 .3h5L1.800 10M1.600 5h3",
}
WORD = (
    "M6 1.800c-1.500-3-6-2-5.500 .7s6 2 5.500 5s-5 3-6 .3M9 4c-.5 8 4 7 4.500 0c0 4 0 7 2.500 4"
    "c1-4 3-6 4-1c0 4 2 4 4 0c1-3 4-3 4 0c0 5-5 4-4 0M27.600-1c0 5-1 11 2 9c2-6 6-5 5-2"
    "c-1 5-5 4-4 0M35 4c0 6 2 7 4 3c1-1 1.500-2 2-3c-1 5-2 10-6 9c-3-2 4-4 9-8M0 11.500q20-2 40 .3"
)


def sheet() -> str:
    """The letters in a row, the word after them."""
    placed, x = [], 5.0
    for name, data in LETTERS.items():
        placed.append(f'<path id="{name}" transform="translate({x} 8)" d="{data}"/>')
        x += 12 if name.startswith("capital") else 8.7
    word = f'<path id="word-sunday" transform="translate({x + 2} 8)" d="{WORD}"/>'
    return (
        f'<svg xmlns="http://www.w3.org/2000/svg" width="{WIDTH}mm" height="{HEIGHT}mm" '
        f'viewBox="0 0 {WIDTH} {HEIGHT}"><g stroke="#4aa3df" stroke-width=".15">'
        f'<path id="base" d="M2 18H{WIDTH - 2}"/><path id="capital-height" d="M2 8H{WIDTH - 2}"/>'
        '</g><g fill="none" stroke="#2f5d3a" stroke-width="1.1" stroke-linecap="round" '
        f'stroke-linejoin="round">{"".join(placed)}{word}</g></svg>'
    )


def page(family: str) -> str:
    """A line of days in the letters, in another colour and size."""
    return (
        f'<svg xmlns="http://www.w3.org/2000/svg" width="{WIDTH}mm" height="{HEIGHT}mm" '
        f'viewBox="0 0 {WIDTH} {HEIGHT}"><text x="5" y="16" font-size="10.5" fill="#8a3f2b" '
        f'font-family="{family}">Monday 17 · Sunday 11 · a day</text></svg>'
    )


def picture(svg: str, book: FontBook) -> Image.Image:
    bitmap = pdfium.PdfDocument(draw([svg.encode()], book))[0].render(scale=PIXELS_PER_MM * mm(1))
    image: Image.Image = bitmap.to_pil().convert("RGB")
    return image


def main() -> None:
    data = font_of(TemplateFile(Path("lettering/Bean Hand.svg"), sheet().encode()))
    fallback = {"any": ["Source Sans 3"]}
    book = Faces({"lettering/Bean Hand.svg": data}, fallback, True).book()
    drawn, lines = picture(sheet(), book), picture(page("Bean Hand"), book)
    both = Image.new("RGB", (drawn.width, drawn.height + lines.height + 4), "#cccccc")
    both.paste(drawn, (0, 0))
    both.paste(lines, (0, drawn.height + 4))
    save_small(both, Path(__file__).with_name("lettering.png"))


if __name__ == "__main__":
    main()
