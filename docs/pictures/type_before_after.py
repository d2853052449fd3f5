"""Draws type-before-after.png: the same lines set letter by letter, and shaped.

Run from the project's folder: ``python docs/pictures/type_before_after.py``. Above stands what
CairoSVG makes of the lines by itself, with the same faces and no others; below what leafset makes.
"""

from __future__ import annotations

import os
import subprocess
import sys
import tempfile
from pathlib import Path

import pypdfium2 as pdfium
from PIL import Image

from pipeline.base.geometry import mm
from pipeline.draw import draw
from pipeline.text import FontBook
from tests.sidebyside import save_small

WIDTH, HEIGHT = 150, 41
PIXELS_PER_MM = 8
LINES = (
    '<text x="6" y="14" font-family="Dancing Script" font-size="12" font-weight="550" '
    'fill="#2f5d3a">Thursday’s Tomatoes</text>'
    '<text x="114" y="15" font-family="Amiri" font-size="11" '
    'fill="#2f5d3a">الأربعاء</text>'
    '<text x="6" y="31" font-family="EB Garamond" font-size="9" fill="#333">'
    "To sow: affluent office plants</text>"
    '<text x="118" y="31" font-family="Kalam" font-size="8" fill="#333">शुक्रवार</text>'
)
SVG = (
    f'<svg xmlns="http://www.w3.org/2000/svg" width="{WIDTH}mm" height="{HEIGHT}mm" '
    f'viewBox="0 0 {WIDTH} {HEIGHT}"><rect width="{WIDTH}" height="{HEIGHT}" fill="#fff"/>'
    f"{LINES}"
    '<text x="6" y="39" font-family="Source Sans 3" font-size="3" fill="#888">NOTE</text></svg>'
)
BY_ITSELF = "import sys, cairosvg; cairosvg.svg2pdf(url=sys.argv[1], write_to=sys.argv[2])"


def letter_by_letter(svg: str, book: FontBook) -> bytes:
    """A PDF by CairoSVG alone, in a process that has the book's faces and no others."""
    folders = {face.path.parent for family in book.families for face in book.faces(family)}
    with tempfile.TemporaryDirectory() as name:
        folder = Path(name)
        config = folder / "fonts.conf"
        config.write_text(
            "<fontconfig>"
            + "".join(f"<dir>{path}</dir>" for path in sorted(folders))
            + f"<cachedir>{folder}</cachedir></fontconfig>",
            "utf-8",
        )
        (folder / "in.svg").write_text(svg, "utf-8")
        subprocess.run(
            [sys.executable, "-c", BY_ITSELF, str(folder / "in.svg"), str(folder / "out.pdf")],
            env={**os.environ, "FONTCONFIG_FILE": str(config)},
            check=True,
        )
        return (folder / "out.pdf").read_bytes()


def picture(pdf: bytes) -> Image.Image:
    bitmap = pdfium.PdfDocument(pdf)[0].render(scale=PIXELS_PER_MM * mm(1))
    image: Image.Image = bitmap.to_pil().convert("RGB")
    return image


def main() -> None:
    book = FontBook()
    before = picture(letter_by_letter(SVG.replace("NOTE", "letter by letter"), book))
    after = picture(draw([SVG.replace("NOTE", "shaped").encode()], book))
    both = Image.new("RGB", (before.width, before.height + after.height + 4), "#cccccc")
    both.paste(before, (0, 0))
    both.paste(after, (0, before.height + 4))
    save_small(both, Path(__file__).with_name("type-before-after.png"))


if __name__ == "__main__":
    main()
