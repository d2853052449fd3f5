"""Pages drawn in layers look as if each were drawn whole."""

from __future__ import annotations

import io
import itertools

import numpy as np
import pypdf
import pypdfium2 as pdfium
import pytest

from pipeline.draw import draw, draw_set
from pipeline.fill import FilledPage
from pipeline.text import FontBook
from tests.fill.conftest import SetFiller

STYLE = 'font-family="Source Sans 3" font-size="9" font-weight="700"'
DATE = f'<text id="day1-name" {STYLE} x="10" y="30">Day</text>'
LABEL = f'<text id="label-sowing" {STYLE} x="12" y="34" fill="#dd2222">Label</text>'
COVER = '<rect x="15" y="22" width="20" height="12" fill="#ffcc00"/>'
ASIDE = '<circle cx="90" cy="50" r="5" fill="#0066aa"/>'
LOW = '<rect x="8" y="44" width="20" height="8" fill="#ffcc00"/>'
LINES = f'<text {STYLE}><tspan x="10" y="20">One</tspan><tspan x="10" y="52">Two</tspan></text>'
COLUMN = f'<text {STYLE} writing-mode="tb" x="15" y="5">Monday again</text>'
CURVE = (
    '<defs><path id="way" d="M5 10Q10 50 60 50"/></defs>'
    f'<text {STYLE} y="5"><textPath href="#way">All along it</textPath></text>'
)
RED = '<rect x="5" y="20" width="40" height="8" fill="#ff0000" opacity=".5"/>'


def picture(pdf: bytes, page: int) -> np.ndarray:
    bitmap = pdfium.PdfDocument(pdf)[page].render(scale=2)
    return np.asarray(bitmap.to_pil().convert("RGB"), dtype=int)


def kinds(page: FilledPage) -> list[str]:
    return ["text" if layer.has_text else "art" for layer in page.layers]


@pytest.mark.parametrize(
    ("content", "expected"),
    [
        (COVER + DATE, ["art", "text"]),
        (DATE + COVER, ["text", "art"]),
        (DATE + ASIDE, ["art", "text"]),
        (COVER + DATE + ASIDE, ["art", "text"]),
        (RED + DATE + COVER + LABEL, ["art", "text", "art", "text"]),
        (f"<g>{DATE}{COVER}</g>{ASIDE}{LABEL}", ["art", "text", "art", "text"]),
        (f'<g opacity=".5">{DATE}{COVER}</g>{ASIDE}', ["art", "text"]),
        (f'<g id="show-day1-weekend">{COVER}</g>{DATE}{RED}', ["art", "text", "art"]),
        (f'<g id="show-day1-weekend">{LINES}</g>{LOW}{DATE}', ["text", "art"]),
        (f'<g id="show-day1-weekend">{COLUMN}</g>{LOW}{DATE}', ["text", "art"]),
        (f'<g id="show-day1-weekend">{CURVE}</g>{LOW}{DATE}', ["text", "art"]),
        (
            f'<defs><clipPath id="c"><rect width="30" height="60"/></clipPath>'
            f'<linearGradient id="f"><stop stop-color="#0a0"/><stop offset="1"/></linearGradient>'
            f'</defs><g clip-path="url(#c)">{DATE}<path d="M5 5h60v20h-60z" fill="url(#f)"/></g>',
            ["text", "art"],
        ),
    ],
)
def test_paint_order_survives(content: str, expected: list[str], fill_pages: SetFiller) -> None:
    book = FontBook()
    pages = fill_pages(content, ["Monday", "Tuesday"], flags={"day1-weekend": True})
    layered = draw_set(pages, book)
    whole = draw([page.whole() for page in pages], book)
    for number, page in enumerate(pages):
        # A circle's arcs are drawn by other curves than CairoSVG's, a thousandth of it away.
        assert np.abs(picture(layered, number) - picture(whole, number)).max() <= 4
        assert kinds(page)[: len(expected)] == expected
    assert (picture(layered, 0) != picture(layered, 1)).any()


def test_what_pages_share_is_drawn_once(fill_pages: SetFiller) -> None:
    pages = fill_pages(COVER + LABEL + DATE, ["Monday"] * 5 + ["Friday"])
    layers = {layer for page in pages for layer in page.layers}
    assert len(layers) == 3  # artwork, label with Monday, label with Friday
    reader = pypdf.PdfReader(io.BytesIO(draw_set(pages, FontBook())))
    forms = {
        form.indirect_reference.idnum
        for page in reader.pages
        for form in page["/Resources"]["/XObject"].get_object().values()  # type: ignore[index]
    }
    assert len(forms) == 3


def test_each_face_is_embedded_once(fill_pages: SetFiller) -> None:
    pages = fill_pages(LABEL + DATE, ["Monday", "Tuesday", "Saturday"])
    data = draw_set(pages, FontBook())
    reader = pypdf.PdfReader(io.BytesIO(data))
    files = [
        value
        for item in range(1, len(reader.xref[0]) + 1)
        if isinstance(value := reader.get_object(item), dict) and "/FontFile2" in value
    ]
    assert len(files) == 1


def read(pdf: bytes) -> list[str]:
    return str(pdfium.PdfDocument(pdf)[0].get_textpage().get_text_range()).split("\r\n")


def text(name: str, y: float) -> str:
    return f'<text id="{name}" font-family="Source Sans 3" font-size="4" x="9" y="{y}">x</text>'


def test_texts_are_read_title_days_lists_however_they_are_stacked(fill_pages: SetFiller) -> None:
    texts = [
        text("week-number", 8),
        text("day1-name", 30),
        f'<g fill="#dd2222">{text("day3-name", 42)}</g>',
        text("label-sowing", 56),
    ]
    book = FontBook()
    expected = picture(draw_set(fill_pages("".join(texts)), book), 0)
    for stacked in itertools.permutations(texts):
        drawn = draw_set(fill_pages("".join(stacked)), book)
        assert read(drawn) == ["9", "Monday", "Wednesday", "Sow this week"]
        assert (picture(drawn, 0) == expected).all()


def test_text_that_touches_other_text_stays_above_it(fill_pages: SetFiller) -> None:
    stacked = text("day3-name", 30) + text("day1-name", 31)
    assert read(draw_set(fill_pages(stacked), FontBook()))[0].startswith("Wed")


def test_the_dates_of_a_month_are_read_by_number(fill_pages: SetFiller) -> None:
    cells = [
        f'<g id="date{day}-number"><rect x="{12 * (day % 7)}" y="{14 * (day // 7)}" width="6" '
        f'height="4" fill="none"/><text font-family="Source Sans 3" font-size="3" '
        f'x="{12 * (day % 7)}" y="{14 * (day // 7) + 3}">1</text></g>'
        for day in range(1, 32)
    ]
    texts = {f"date{day}-number": (str(day),) for day in range(1, 32)}
    by_weekday = "".join(cell for column in range(7) for cell in cells[column::7])
    pages = fill_pages(by_weekday, texts=texts)
    words = " ".join(read(draw_set(pages, FontBook()))).split()
    assert words == [str(day) for day in range(1, 32)]
