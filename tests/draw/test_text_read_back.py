"""What is written is read back by two PDF readers, as it was asked for and in reading order."""

from __future__ import annotations

import re
import subprocess
import unicodedata
from collections.abc import Sequence
from pathlib import Path

import pypdfium2 as pdfium
import pytest

from pipeline.draw import draw
from pipeline.text import FontBook
from tests.tools import tool

FACE = (
    "font-family=\"'Source Sans 3', 'EB Garamond', Amiri, 'Noto Sans Devanagari'\" font-size=\"8\""
)
SCRIPT = "font-family=\"'Dancing Script', 'Source Sans 3'\" font-size=\"8\""
SMALL = FACE.replace('"8"', '"2"')
HAND = 'font-family="Kalam" font-size="8"'
NASKH = 'font-family="Amiri" font-size="8"'
GOTHIC = "font-family=\"'Noto Sans Arabic', 'Source Sans 3'\" font-size=\"8\""

LEFT_TO_RIGHT = [
    ("Wednesday", FACE),
    ("Wednesday 29 March", SCRIPT),
    ("office fjord affluent", 'font-family="\'EB Garamond\'" font-size="8"'),
    ("AVATAR To Ya", FACE),
    ("29 March – 4 April", FACE),
    ("Grüße, Łódź, Środa, août, año", FACE),
    ("Τετάρτη 29 Μαρτίου", FACE),
    ("Среда и Четверг", FACE),
    ("बुधवार", FACE),
    ("सोमवार २९ मार्च", FACE),
    ("रसोई का बगीचा", HAND),
    ("March मार्च 2027", FACE),
    ("Μάρτιος, March", FACE),
    ("9", SMALL),
    ("sow this week", SMALL),
]
RIGHT_TO_LEFT = [
    ("الأربعاء", NASKH),
    ("حديقة المطبخ", NASKH),
    ("٢٩ مارس", NASKH),
    ("29 مارس 2027", NASKH),
    ("مارس، أبريل", NASKH),
    ("حديقة المطبخ", GOTHIC),
    ("حديقة garden المطبخ", GOTHIC),
    ("لا إلى الأحد", NASKH),
    ("لا إلى الأحد", GOTHIC),
    *(
        (word, face)
        for word in ("الأحد", "السبت", "الجمعة", "يناير", "مايو", "نوفمبر", "لله", "یکشنبه", "جمعه")
        for face in (NASKH, GOTHIC)
    ),
    ("پنج‌شنبه", NASKH),
    ("باغچه‌ی آشپزخانه", GOTHIC),
]
POPPLER_READS = {
    "٢٩ مارس": "٢٩مارس",
    "29 مارس 2027": "29مارس 2027",
    "مارس، أبريل": "مارس ،أبريل",
    "حديقة garden المطبخ": "حديقة gardenالمطبخ",
}
"""What poppler makes of a line whose direction changes, whoever wrote the file (it reads pages
that Chromium printed in the same way): it loses a space and misplaces a comma there."""
VOWEL_SIGNS = ("بُسْتَانٌ", "مَارِسُ")
"""Read by poppler only: pdfium does not put vowel signs into reading order."""


def samples() -> Sequence[object]:
    left = [pytest.param(text, face, "ltr", id=text) for text, face in LEFT_TO_RIGHT]
    right = [
        pytest.param(text, face, "rtl", id=f"{text} {number}")
        for number, (text, face) in enumerate(RIGHT_TO_LEFT)
    ]
    return left + right


def written(text: str, face: str, direction: str, outlines: bool = False, inner: str = "") -> bytes:
    x = 110 if direction == "rtl" else 10
    svg = (
        '<svg xmlns="http://www.w3.org/2000/svg" width="120mm" height="30mm" viewBox="0 0 120 30">'
        f'<text {face} x="{x}" y="18" direction="{direction}">{inner or text}</text></svg>'
    )
    return draw([svg.encode()], FontBook(embedded=not outlines))


def by_pdfium(pdf: bytes) -> str:
    return plain(pdfium.PdfDocument(pdf)[0].get_textpage().get_text_range())


def by_poppler(pdf: bytes, folder: Path) -> str:
    (folder / "text.pdf").write_bytes(pdf)
    command = [tool("pdftotext"), "-enc", "UTF-8", str(folder / "text.pdf"), "-"]
    return plain(subprocess.run(command, capture_output=True, check=True).stdout.decode())


def plain(text: str) -> str:
    """Text without the marks by which readers tell directions, with single spaces, composed."""
    seen = "".join(c for c in text if unicodedata.category(c) not in ("Cf", "Cc") or c in "\n")
    return unicodedata.normalize("NFC", re.sub(r"\s+", " ", seen).strip())


@pytest.mark.parametrize("outlines", [False, True], ids=["embedded", "outlines"])
@pytest.mark.parametrize(("text", "face", "direction"), samples())
def test_pdfium_reads_what_was_asked(text: str, face: str, direction: str, outlines: bool) -> None:
    assert by_pdfium(written(text, face, direction, outlines)) == plain(text)


@pytest.mark.parametrize("outlines", [False, True], ids=["embedded", "outlines"])
@pytest.mark.parametrize(("text", "face", "direction"), samples())
def test_poppler_reads_what_was_asked(
    text: str, face: str, direction: str, outlines: bool, tmp_path: Path
) -> None:
    assert by_poppler(written(text, face, direction, outlines), tmp_path) == plain(
        POPPLER_READS.get(text, text)
    )


@pytest.mark.parametrize("face", [NASKH, GOTHIC])
@pytest.mark.parametrize("text", VOWEL_SIGNS)
def test_vowel_signs_stay_with_their_letters(text: str, face: str, tmp_path: Path) -> None:
    assert by_poppler(written(text, face, "rtl"), tmp_path) == plain(text)


CHANGED = [
    ("Peas ß", f'{FACE} text-transform="uppercase"', "PEAS SS"),
    ("Peas Mint", f'{HAND} font-variant="small-caps"', "PEAS MINT"),
    ("Maß", f'{HAND} font-variant="small-caps"', "MASS"),
    ("Wednesday", f'{FACE} textLength="60" lengthAdjust="spacingAndGlyphs"', "Wednesday"),
    ("Wednesday", f'{HAND} font-style="italic"', "Wednesday"),
    ("Wed\nnesday", f'{FACE} white-space="pre"', "Wed nesday"),
]


@pytest.mark.parametrize("outlines", [False, True], ids=["embedded", "outlines"])
@pytest.mark.parametrize(("text", "face", "read"), CHANGED, ids=[each[2] for each in CHANGED])
def test_text_reads_as_it_is_shown(
    text: str, face: str, read: str, outlines: bool, tmp_path: Path
) -> None:
    pdf = written(text, face, "ltr", outlines)
    assert by_pdfium(pdf) == by_poppler(pdf, tmp_path) == read


def test_a_word_in_two_colours_is_one_word(tmp_path: Path) -> None:
    inner = 'Wed<tspan fill="#060">nesday</tspan>'
    latin = written("", FACE, "ltr", inner=inner)
    assert by_pdfium(latin) == by_poppler(latin, tmp_path) == "Wednesday"
    inner = 'الأر<tspan fill="#060">بعا</tspan>ء'
    arabic = written("", NASKH, "rtl", inner=inner)
    assert by_poppler(arabic, tmp_path) == "الأربعاء"  # pdfium takes its parts for words


def test_text_with_opacity_gradient_or_stroke_is_read(tmp_path: Path) -> None:
    for paint in ('opacity=".5"', 'fill="url(#shade)"', 'stroke="#000" stroke-width=".2"'):
        shade = (
            '<linearGradient id="shade" x2="1"><stop offset="0" stop-color="#000"/>'
            '<stop offset="1" stop-color="#060"/>'
        )
        svg = (
            '<svg xmlns="http://www.w3.org/2000/svg" width="120mm" height="30mm" '
            f'viewBox="0 0 120 30"><defs>{shade}</linearGradient></defs>'
            f'<text {FACE} x="10" y="18" {paint}>Wednesday</text></svg>'
        )
        pdf = draw([svg.encode()], FontBook())
        assert by_pdfium(pdf) == by_poppler(pdf, tmp_path) == "Wednesday"


def test_spaces_at_the_ends_of_tspans_are_read(tmp_path: Path) -> None:
    inner = 'Sow <tspan font-weight="700">broad</tspan> <tspan fill="#060">beans</tspan> now'
    pdf = written("", FACE, "ltr", inner=inner)
    assert by_pdfium(pdf) == by_poppler(pdf, tmp_path) == "Sow broad beans now"
