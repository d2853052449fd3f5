"""Text read back: what it says and where it is, held against the ink itself."""

from __future__ import annotations

import json
from pathlib import Path

import numpy as np
import pypdfium2 as pdfium
import pytest
from pypdf import PdfReader, PdfWriter
from pypdf.generic import DecodedStreamObject, DictionaryObject, NameObject

from pipeline.base.geometry import Rect, pt
from pipeline.draw.forms import added
from pipeline.plan.model import Side
from pipeline.proof.read.raster import opened, page_picture
from pipeline.proof.read.text import LeafText, Piece, read_pieces
from tests.proof.made_up import FLAP, WIDTH, MadeUpLeaf, MadeUpPage, make_set
from tests.set_text import read_set

HEIGHT_MM = 150.0
FINE_DPI = 400.0


def text(words: str, x: float, y: float, size_mm: float = 4.0, turn: int = 0) -> str:
    """Operators that set words in the standard Helvetica with their baseline at x, y (mm)."""
    a, b, c, d = {0: (1, 0, 0, 1), 90: (0, -1, 1, 0), 180: (-1, 0, 0, -1), 270: (0, 1, -1, 0)}[turn]
    size = pt(size_mm)
    matrix = f"{a * size} {b * size} {c * size} {d * size} {pt(x)} {pt(HEIGHT_MM - y)}"
    return f"BT /F 1 Tf {matrix} Tm ({words}) Tj ET\n"


def spelled(before: str, words: str, after: str, x: float, y: float, turn: int) -> str:
    """Operators that set a text of which a part carries its own words, in 4 mm Helvetica."""
    part = f"/Span <</ActualText ({words})>> BDC ({words}) Tj EMC"
    return text("#", x, y, turn=turn).replace("(#) Tj", f"({before}) Tj {part} ({after}) Tj")


def with_text(path: Path, *operators: str, page_turn: int = 0) -> Path:
    """Put text on the first page of a PDF; Helvetica is one of the fonts every reader has."""
    writer = PdfWriter(clone_from=PdfReader(path)) if path.exists() else PdfWriter()
    if not writer.pages:
        writer.add_blank_page(pt(130), pt(HEIGHT_MM))
    page = writer.pages[0]
    stream = DecodedStreamObject()
    stream.set_data("".join(operators).encode("ascii"))
    page[NameObject("/Contents")] = added(writer, stream)
    font = DictionaryObject(
        {
            NameObject("/Type"): NameObject("/Font"),
            NameObject("/Subtype"): NameObject("/Type1"),
            NameObject("/BaseFont"): NameObject("/Helvetica"),
        }
    )
    page[NameObject("/Resources")] = DictionaryObject(
        {NameObject("/Font"): DictionaryObject({NameObject("/F"): font})}
    )
    if page_turn:
        page.rotate(page_turn)
    writer.write(path)
    return path


def ink(page: pdfium.PdfPage) -> Rect:
    """The box of all ink on a page, mm, measured in its pixels."""
    dark = np.asarray(page_picture(page, FINE_DPI).convert("L")) < 128
    rows, columns = np.nonzero(dark.any(axis=1))[0], np.nonzero(dark.any(axis=0))[0]
    mm = 25.4 / FINE_DPI
    return Rect(
        columns[0] * mm,
        rows[0] * mm,
        (columns[-1] + 1 - columns[0]) * mm,
        (rows[-1] + 1 - rows[0]) * mm,
    )


def one_piece(path: Path) -> tuple[Piece, Rect]:
    """The only piece on the first page, and the ink there."""
    with opened(path) as document:
        (piece,) = read_pieces(document[0])
        return piece, ink(document[0])


@pytest.mark.parametrize("page_turn", [0, 90, 180, 270])
@pytest.mark.parametrize("turn", [0, 90, 180, 270])
def test_positions_are_those_of_the_ink(tmp_path: Path, turn: int, page_turn: int) -> None:
    words = "29 March - 4 April"
    path = with_text(tmp_path / "one.pdf", text(words, 60, 70, turn=turn), page_turn=page_turn)
    piece, ink_box = one_piece(path)
    assert piece.text == words
    for read, seen in zip(piece.box, ink_box, strict=True):
        assert read == pytest.approx(seen, abs=0.1)


@pytest.mark.parametrize("page_turn", [0, 90, 180, 270])
@pytest.mark.parametrize("turn", [0, 90, 180, 270])
def test_words_that_are_spelled_in_part_are_whole(
    tmp_path: Path, turn: int, page_turn: int
) -> None:
    words = spelled("a ", "seventh", " day", 60, 70, turn)
    piece, seen = one_piece(with_text(tmp_path / "one.pdf", words, page_turn=page_turn))
    assert piece.text == "a seventh day"
    for found, there in zip(piece.box, seen, strict=True):
        assert found == pytest.approx(there, abs=0.15)


@pytest.mark.parametrize("turn", [0, 90, 180, 270])
def test_a_number_is_whole_though_another_line_is_read_between_its_figures(
    tmp_path: Path, turn: int
) -> None:
    def at(words: str, along: float, up: float, size_mm: float) -> str:
        ways = {0: (along, -up), 90: (up, along), 180: (-along, up), 270: (-up, -along)}
        right, down = ways[turn]
        return text(words, 60 + right, 70 + down, size_mm, turn)

    week, day = at("51", 1.3, 11.7, 8.4), (at("2", 0, 0, 10), at("1", 5.56, 0, 10))
    with opened(with_text(tmp_path / "one.pdf", week, *day)) as document:
        assert sorted(piece.text for piece in read_pieces(document[0])) == ["21", "51"]


def test_columns_and_lines_are_cut_and_word_spaces_are_not(tmp_path: Path) -> None:
    path = with_text(
        tmp_path / "week.pdf",
        text("Monday 1", 20, 30),
        text("Tuesday 2", 50, 30),
        text("Sowing list", 20, 36),
        text("W09", 20, 60, turn=90),
        text("31", 20, 80, size_mm=9),
        text("Wednesday", 31, 80),
        text("April", 31, 84.5),
    )
    with opened(path) as document:
        pieces = read_pieces(document[0])
    assert [piece.text for piece in pieces] == [
        "Monday 1",
        "Tuesday 2",
        "Sowing list",
        "31",
        "Wednesday",
        "April",
        "W09",
    ]


@pytest.mark.parametrize("turn", [0, 90, 180, 270])
def test_pieces_are_told_apart_by_leaf_and_flap(tmp_path: Path, turn: int) -> None:
    folder = make_set(
        tmp_path / "set",
        [MadeUpLeaf(MadeUpPage("", own_flap=True), MadeUpPage(""), FLAP)],
        turn=turn,
    )
    contents = json.loads((folder / "contents.json").read_text())
    flat = Rect(*contents["sheets"][0]["side_1"][0]["flat"])

    def on_sheet(x: float, y: float) -> tuple[float, float]:
        """Where a point of the upright recto lies on the sheet, mm."""
        return {
            0: (flat.x + x, flat.y + y),
            90: (flat.right - y, flat.y + x),
            180: (flat.right - x, flat.bottom - y),
            270: (flat.x + y, flat.bottom - x),
        }[turn]

    with_text(
        folder / "side-1.pdf",
        text("Monday", *on_sheet(10, 20), turn=turn),
        text("peas", *on_sheet(WIDTH + 3, 40), turn=turn),
        text("sheet 1 of 1", 30, 8),
    )
    monday, peas = read_set(folder)
    assert (monday.text, monday.leaf, monday.face, monday.on_flap) == (
        "Monday",
        0,
        Side.RECTO,
        False,
    )
    assert (peas.text, peas.on_flap, peas.side) == ("peas", True, 1)
    # The baseline is 20 mm down; Helvetica's M is 0.718 em high and its stem begins 0.073 em in
    # (the published metrics of the standard fonts, from memory).
    assert monday.box.x == pytest.approx(10 + 0.073 * 4, abs=0.1)
    assert monday.box.y == pytest.approx(20 - 0.718 * 4, abs=0.1)
    assert isinstance(monday, LeafText)
