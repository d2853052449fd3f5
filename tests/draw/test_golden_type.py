"""Pictures of what shaping is for: kerning, ligatures, joins and conjuncts."""

from __future__ import annotations

import pypdfium2 as pdfium
import pytest
from PIL import Image

from pipeline.base.geometry import mm
from pipeline.draw import draw
from pipeline.text import FontBook
from tests.conftest import Golden

PIXELS_PER_MM = 6
SERIF = 'font-family="EB Garamond" font-size="9"'
ARCH = "M8 29 Q 45 1 82 29"


def lines(*pairs: tuple[str, str]) -> str:
    """Lines of text, the first at the top, each with its attributes."""
    return "".join(
        f'<text x="6" y="{11 + 13 * number}" {attributes}>{content}</text>'
        for number, (content, attributes) in enumerate(pairs)
    )


PICTURES = {
    "kerning": lines(("AVATAR To Yes", SERIF), ("AV To Ya LT", f'{SERIF} font-style="italic"')),
    "ligatures": lines(
        ("office, affluent", SERIF),
        ("fjord fingers", f'{SERIF} font-weight="600"'),
    ),
    "script-joins": lines(
        ("Wednesday brown", 'font-family="Dancing Script" font-size="10"'),
        ("lovely worms", 'font-family="Dancing Script" font-size="10" font-weight="700"'),
    ),
    "arabic-joins": lines(
        ("الأربعاء", 'font-family="Amiri" font-size="9"'),
        (
            'حديقة <tspan fill="#286">المط</tspan>بخ',
            'font-family="Noto Sans Arabic" font-size="8"',
        ),
    ),
    "devanagari-conjuncts": lines(
        ("क्षेत्र ज्ञान श्री", 'font-family="Noto Sans Devanagari" font-size="8"'),
        ("शुक्रवार हिन्दी", 'font-family="Kalam" font-size="8"'),
    ),
    "on-a-path": f'<defs><path id="arch" d="{ARCH}"/><linearGradient id="leaf" x2="1">'
    '<stop offset="0" stop-color="#123"/><stop offset="1" stop-color="#4a8a3a"/></linearGradient>'
    '</defs><text font-family="Dancing Script" font-size="9" text-anchor="middle" '
    'fill="url(#leaf)"><textPath href="#arch" startOffset="50%">over the garden gate</textPath>'
    "</text>",
}


@pytest.mark.parametrize("name", PICTURES)
def test_golden_type(name: str, golden: Golden) -> None:
    golden(f"type/{name}", picture(PICTURES[name]))


def picture(content: str) -> Image.Image:
    svg = (
        '<svg xmlns="http://www.w3.org/2000/svg" width="90mm" height="30mm" viewBox="0 0 90 30">'
        f"{content}</svg>"
    )
    page = pdfium.PdfDocument(draw([svg.encode()], FontBook()))[0]
    image: Image.Image = page.render(scale=PIXELS_PER_MM * mm(1)).to_pil().convert("RGB")
    return image
