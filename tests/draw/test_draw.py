"""Drawn PDFs, read back by pypdf and pdfium."""

from __future__ import annotations

import io
import multiprocessing
import time
from multiprocessing.queues import Queue
from multiprocessing.synchronize import Event
from pathlib import Path

import numpy as np
import pypdf
import pypdfium2 as pdfium
import pytest
from fontTools.ttLib import TTFont

from pipeline.base.errors import UserError
from pipeline.base.geometry import mm, pt
from pipeline.draw import draw, faces
from pipeline.draw.textlayout import Letter, set_letters, set_line
from pipeline.text import FontBook, Style, advance

BOOK = FontBook()


def svg(content: str, width: float = 100, height: float = 60) -> bytes:
    return (
        f'<svg xmlns="http://www.w3.org/2000/svg" xmlns:xlink="http://www.w3.org/1999/xlink" '
        f'width="{width}mm" height="{height}mm" viewBox="0 0 {width} {height}">{content}</svg>'
    ).encode()


def text(content: str, attributes: str = "") -> str:
    return f'<text font-family="Source Sans 3" font-size="5" {attributes}>{content}</text>'


def said(data: bytes, page: int = 0) -> str:
    return str(pdfium.PdfDocument(data)[page].get_textpage().get_text_range())


def char_boxes_mm(data: bytes) -> list[tuple[str, float, float]]:
    """Each character with its left and right edges in mm from the page's left."""
    page = pdfium.PdfDocument(data)[0].get_textpage()
    boxes = []
    for number in range(page.count_chars()):
        left, _, right, _ = page.get_charbox(number, loose=True)
        boxes.append((page.get_text_range(number, 1), mm(left), mm(right)))
    return [box for box in boxes if box[0].strip()]  # pdfium adds spaces of its own in gaps


def test_pages_have_the_size_of_their_svg() -> None:
    data = draw([svg("", 148, 210), svg("", 190, 210)], BOOK)
    boxes = [page.mediabox for page in pypdf.PdfReader(io.BytesIO(data)).pages]
    sizes = [mm(float(side)) for box in boxes for side in (box.width, box.height)]
    assert sizes == pytest.approx([148, 210, 190, 210], abs=0.01)


def test_text_is_searchable_and_its_faces_embedded_as_subsets() -> None:
    data = draw([svg(text("Büroflöte AVATAR office – 29 März", 'x="5" y="20"'))] * 2, BOOK)
    assert said(data) == "Büroflöte AVATAR office – 29 März"
    fonts = {}
    for page in pypdf.PdfReader(io.BytesIO(data)).pages:
        for font in page["/Resources"]["/Font"].values():  # type: ignore[index]
            fonts[font.get_object()["/BaseFont"]] = font.get_object()
    assert fonts
    for name, font in fonts.items():
        assert name[7:8] == "+", "an embedded subset has a six-letter tag (ISO 32000-1, 9.6.4)"
        inner = font.get("/DescendantFonts", [font])[0].get_object()
        descriptor = inner["/FontDescriptor"]
        assert {"/FontFile", "/FontFile2", "/FontFile3"} & set(descriptor)


def test_nothing_is_rasterised() -> None:
    drawing = (
        '<defs><linearGradient id="g"><stop offset="0" stop-color="green"/>'
        '<stop offset="1" stop-color="red"/></linearGradient></defs>'
        '<rect width="20" height="20" fill="url(#g)" opacity=".5"/>' + text("x", 'fill="url(#g)"')
    )
    page = pypdf.PdfReader(io.BytesIO(draw([svg(drawing)], BOOK))).pages[0]
    assert list(page.images) == []


def test_the_same_input_gives_the_same_bytes() -> None:
    page = svg(text("Monday", 'x="5" y="20"'))
    assert draw([page], BOOK) == draw([page], FontBook())


@pytest.mark.parametrize(("anchor", "share"), [("start", 0.0), ("middle", 0.5), ("end", 1.0)])
def test_anchors_align_the_shaped_text(anchor: str, share: float) -> None:
    data = draw([svg(text("Thursday", f'x="50" y="20" text-anchor="{anchor}"'))], BOOK)
    boxes = char_boxes_mm(data)
    wide = advance("Thursday", Style(("Source Sans 3",), size=5), BOOK)
    assert boxes[0][1] == pytest.approx(50 - share * wide, abs=0.1)
    assert boxes[-1][2] == pytest.approx(50 + (1 - share) * wide, abs=0.1)


def test_tspans_continue_and_start_anew_where_they_say() -> None:
    inner = 'one <tspan font-weight="700">two</tspan><tspan x="5" y="30">three</tspan>'
    boxes = char_boxes_mm(draw([svg(text(inner, 'x="20" y="20"'))], BOOK))
    lefts = {char: left for char, left, _ in boxes}
    assert lefts["n"] > 20
    assert lefts["w"] > lefts["n"]  # "two" follows on from "one "
    assert next(left for char, left, _ in boxes if char == "h") < 10  # "three" starts at 5 mm


@pytest.mark.parametrize("anchor", ["start", "middle", "end"])
@pytest.mark.parametrize("text", ["AVA", "no 7", "12 مايو ab", "Ωmega — Ж"])
def test_a_text_in_one_line_stands_as_its_letters_do(text: str, anchor: str) -> None:
    """Set at once, and letter by letter, where each may have a place of its own."""
    owner, style = object(), Style(("Source Sans 3", "Amiri"), size=3.3)
    for backwards in (False, True):
        letters = [
            Letter(character, owner, style, anchor, rise=0.3, backwards=backwards)
            for character in text
        ]
        letters[0].x, letters[0].y = 20.1, 7.7
        spots = [
            [(each.run, each.x, each.y, each.angle, each.stretch) for each in runs]
            for runs in (set_letters(letters, BOOK), set_line(text, letters[0], BOOK))
        ]
        assert spots[0] == spots[1]


def test_character_lists_and_shifts() -> None:
    boxes = char_boxes_mm(draw([svg(text("abc", 'x="10 30 50" y="20"'))], BOOK))
    assert [round(left) for _, left, _ in boxes] == [10, 30, 50]
    boxes = char_boxes_mm(draw([svg(text("ab", 'x="10" dx="0 20" y="20"'))], BOOK))
    width_of_a = advance("a", Style(("Source Sans 3",), size=5), BOOK)
    assert boxes[1][1] == pytest.approx(30 + width_of_a, abs=0.1)


def test_a_mark_stays_on_its_letter_whatever_a_list_of_places_says() -> None:
    for word, face in [("e\u0301te", "Source Sans 3"), ("हिन", "Noto Sans Devanagari")]:
        style = f'font-family="{face}" font-size="9"'
        listed = svg(f'<text {style} x="10 90 40" y="20">{word}</text>')
        alone = svg(
            f'<text {style} x="10" y="20">{word[:2]}<tspan x="40">{word[2:]}</tspan></text>'
        )
        assert said(draw([listed], BOOK)) == said(draw([alone], BOOK))
        assert char_boxes_mm(draw([listed], BOOK)) == char_boxes_mm(draw([alone], BOOK))


def test_text_on_a_path_follows_it() -> None:
    inner = '<textPath xlink:href="#p" startOffset="10">along</textPath>'
    data = draw([svg('<defs><path id="p" d="M10 30H90"/></defs>' + text(inner))], BOOK)
    boxes = [box for box in char_boxes_mm(data) if box[0].strip()]
    assert "".join(char for char, _, _ in boxes) == "along"
    assert boxes[0][1] == pytest.approx(20, abs=0.3)


@pytest.mark.parametrize(("line", "table"), [("underline", "post"), ("line-through", "OS/2")])
def test_lines_under_and_through_text_lie_where_the_face_says(line: str, table: str) -> None:
    # Engines disagree on these lines; OpenType's post and OS/2 tables say where a face wants them.
    font = TTFont(io.BytesIO(BOOK.find(["Source Sans 3"]).data))
    if table == "post":
        top, thick = font["post"].underlinePosition, font["post"].underlineThickness
    else:
        top, thick = font["OS/2"].yStrikeoutPosition, font["OS/2"].yStrikeoutSize
    em, size = font["head"].unitsPerEm, 40
    inner = f'<text font-family="Source Sans 3" font-size="{size}" x="10" y="40"'
    page = draw([svg(f"{inner}>iii</text>"), svg(f'{inner} text-decoration="{line}">iii</text>')],
                BOOK)  # fmt: skip
    plain, lined = (
        np.asarray(page.render(scale=10 * mm(1)).to_pil().convert("L")) < 128
        for page in pdfium.PdfDocument(page)
    )
    rows = np.flatnonzero((lined & ~plain).any(axis=1)) / 10
    assert rows.min() == pytest.approx(40 - top / em * size, abs=0.15)
    assert rows.max() == pytest.approx(40 - (top - thick) / em * size, abs=0.15)
    columns = np.flatnonzero((lined & ~plain).any(axis=0)) / 10
    wide = advance("iii", Style(("Source Sans 3",), size=size), BOOK)
    assert columns.min() == pytest.approx(10, abs=0.15)
    assert columns.max() == pytest.approx(10 + wide, abs=0.15)


def test_an_unknown_font_names_page_and_element() -> None:
    page = svg('<text id="title" font-family="Nowhere" font-size="5" y="9">a</text>')
    with pytest.raises(UserError, match=r"week\.svg, element 'title': there is no font 'Nowhere'"):
        draw([page], BOOK, names=["week.svg"])


GREY = 'fill="#808080"'
REACHING = {
    "group": f'<g opacity=".5">{{}}<circle r="9" {GREY}/></g>',
    "mask": '<defs><mask id="m" maskUnits="userSpaceOnUse" x="0" y="0" width="900" height="900">'
    '<rect width="900" height="900" fill="#fff"/></mask></defs><g mask="url(#m)">{}</g>',
    "gradient": '<defs><linearGradient id="g"><stop stop-color="#808080"/><stop offset="1"/>'
    '</linearGradient></defs><g fill="url(#g)">{}</g>',
}


@pytest.mark.parametrize("layer", REACHING.values(), ids=REACHING)
@pytest.mark.parametrize("before", [[], [(148, 210)], [(100, 60)], [(100, 60), (190.3, 210.2)]])
def test_layers_reach_the_edges_of_the_page(layer: str, before: list[tuple[float, float]]) -> None:
    # 148 × 210 mm are 419.53 × 595.28 pt; a layer cut to whole points ends at 419 × 595.
    sizes = [*before, (148, 210)]
    whole = layer.format(f'<rect width="900" height="900" {GREY}/>')
    document = pdfium.PdfDocument(draw([svg(whole, *size) for size in sizes], BOOK))
    assert len(document) == len(sizes)
    for page, size in zip(document, sizes, strict=True):
        wide, high = pt(size[0]), pt(size[1])
        assert page.get_size() == pytest.approx((wide, high), abs=1e-4)
        corner = page.render(scale=20, crop=(wide - 3, 0, 0, high - 3)).to_pil().convert("L")
        assert (np.asarray(corner)[:-1, :-1] < 255).all()


def test_pages_of_many_sizes_share_one_face() -> None:
    pages = [svg(text("Monday", 'x="5" y="20"'), width) for width in (100, 100, 148, 100)]
    reader = pypdf.PdfReader(io.BytesIO(draw(pages, BOOK)))
    assert [page.extract_text().strip() for page in reader.pages] == ["Monday"] * 4
    objects = (reader.get_object(number) for number in range(1, len(reader.xref[0]) + 1))
    assert sum(isinstance(each, dict) and "/FontFile2" in each for each in objects) == 1


def _drawn_with(svgs: list[bytes], start: Event, answers: Queue[bytes]) -> None:
    start.wait()
    answers.put(draw(svgs, BOOK))


def test_processes_started_at_once_don_t_read_each_other_s_half_written_faces(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    def write_slowly(path: Path, data: bytes) -> None:
        with path.open("wb") as file:
            file.write(data[: len(data) // 2])
            file.flush()
            time.sleep(0.3)
            file.write(data[len(data) // 2 :])

    faces.face_folder()  # as in a program that has drawn before: those it starts now share it
    monkeypatch.setattr(Path, "write_bytes", write_slowly)
    pages = [svg("<text font-family='EB Garamond' font-weight='555' font-size='5' y='20'>a</text>")]
    fork = multiprocessing.get_context("fork")
    start, answers = fork.Event(), fork.Queue()
    started = [
        fork.Process(target=_drawn_with, args=(pages, start, answers), daemon=True)
        for _ in range(4)
    ]
    for one in started:
        one.start()
    start.set()
    assert {answers.get(timeout=30) for _ in started} == {draw(pages, BOOK)}
