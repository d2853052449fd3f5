"""Text read back from a finished PDF: what stands where, and on which face of which leaf."""

from __future__ import annotations

import codecs
import ctypes
import functools
import math
import unicodedata
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from pathlib import Path
from typing import Any

import pypdfium2 as pdfium
import pypdfium2.raw as pdfium_raw

from pipeline.base.geometry import Rect, mm
from pipeline.plan.model import Side
from pipeline.proof.read.contents import Placement, SheetSide, read_contents, upright
from pipeline.proof.read.objects import Shown, painted
from pipeline.proof.read.raster import opened

_APART = 0.6
"""Two letters this many type sizes apart belong to two pieces: no word space is as wide."""
_CELLS_APART = 0.35
"""And so do two with no space written between them, when pdfium only guesses one from the gap."""
_GUESSED = "\u2009"
"""Stands for a space that pdfium guessed."""
_OFF_LINE = 0.1
"""Two letters whose baselines are this many type sizes apart stand on two lines."""
_OTHER_SIZE = 1.1
"""Two letters of which one is set this many times larger belong to two pieces."""


@dataclass(frozen=True)
class Piece:
    """A run of text on one line. ``box`` encloses its ink, in mm from the page's top left.

    ``letters`` are the boxes of its signs one by one; a space has that of the sign before it.
    """

    text: str
    box: Rect
    letters: tuple[Rect, ...] = ()


@dataclass(frozen=True)
class LeafText:
    """A piece of text and the face it lies on.

    ``box`` is in mm from the top left of the leaf's flat area, upright. ``on_flap`` tells whether
    its middle is outside the closed leaf. ``letters`` are its signs' boxes, upright as well.
    """

    text: str
    leaf: int
    face: Side
    box: Rect
    on_flap: bool
    sheet: int
    side: SheetSide
    letters: tuple[Rect, ...] = ()


@dataclass(frozen=True)
class _Letter:
    """A letter: the box of its ink and the start of its baseline in mm, its type size in mm.

    ``upward`` tells whether its line runs up or down the page as shown instead of across,
    ``face`` the name of its font without the tag of the subset.
    """

    sign: str
    box: Rect
    start: Rect
    size: float
    upward: bool
    face: str


def read_pieces(page: pdfium.PdfPage) -> tuple[Piece, ...]:
    """The text of a PDF page in the order it was written, cut where a line or a column ends.

    Words on one line stay together as long as ordinary spaces part them, so a date such as
    "29 Mar – 4 Apr" is one piece; two neighbouring cells of a table are two.
    """
    pieces: list[Piece] = []
    run: list[_Letter] = []
    spaces = ""
    for letter in _letters(page):
        if letter.sign.isspace():
            spaces = letter.sign if spaces in ("", _GUESSED) else " "
            continue
        apart = _APART if spaces in ("", " ") else _CELLS_APART
        if run and not _continues(run[-1], letter, apart):
            pieces.append(_piece(run))
            run, spaces = [], ""
        if run and spaces:
            run.append(replace(run[-1], sign=" "))
        run.append(letter)
        spaces = ""
    if run:
        pieces.append(_piece(run))
    return tuple(pieces)


def on_leaves(
    pieces: Sequence[Piece], placements: Sequence[Placement], sheet: int, side: SheetSide
) -> Iterator[LeafText]:
    """Each piece whose middle lies on a placed leaf, as it lies there; slug lines lie on none."""
    for piece in pieces:
        middle = Rect(piece.box.x + piece.box.width / 2, piece.box.y + piece.box.height / 2, 0, 0)
        for placement in placements:
            if placement.flat.holds(middle):
                yield LeafText(
                    piece.text,
                    placement.leaf,
                    placement.face,
                    upright(piece.box, placement),
                    not placement.trim.holds(middle),
                    sheet,
                    side,
                    tuple(upright(letter, placement) for letter in piece.letters),
                )
                break


def read_set(set_folder: Path) -> tuple[LeafText, ...]:
    """All text on the leaves of an imposed set, sheet by sheet, side 1 before side 2.

    Raises ``UserError`` when the folder is not an imposed set.
    """
    contents = read_contents(set_folder)
    found: list[LeafText] = []
    with opened(set_folder / "side-1.pdf") as first, opened(set_folder / "side-2.pdf") as second:
        sides: tuple[tuple[SheetSide, pdfium.PdfDocument], ...] = ((1, first), (2, second))
        for index, sheet in enumerate(contents.sheets):
            for side, document in sides:
                pieces = read_pieces(document[contents.page_number(index, side)])
                found.extend(on_leaves(pieces, sheet.placements(side), index, side))
    return tuple(found)


def _letters(page: pdfium.PdfPage) -> Iterator[_Letter]:
    """Every letter pdfium finds, with the box of its ink as the page is shown."""
    text = page.get_textpage()
    shown, spans = Shown(page), _spans(page)
    try:
        count = text.count_chars()
        index = 0
        while index < count:
            code = pdfium_raw.FPDFText_GetUnicode(text, index)
            if code == 0:
                index += 1
                continue
            sign = chr(code)
            guessed = pdfium_raw.FPDFText_IsGenerated(text, index) == 1
            if sign.isspace() or guessed:
                yield _Letter(
                    _GUESSED if guessed else " ", Rect(0, 0, 0, 0), Rect(0, 0, 0, 0), 0, False, ""
                )
                index += 1
                continue
            span = _span_at(text, index, spans)
            if span is None:
                yield _Letter(
                    sign,
                    shown.rect(*text.get_charbox(index)),
                    shown.rect(*_start(text, index) * 2),
                    _type_size(text, index),
                    shown.upward(pdfium_raw.FPDFText_GetCharAngle(text, index)),
                    _face(text, index),
                )
                index += 1
                continue
            # pdfium gives the text of a span again when the glyphs of two are written by turns.
            if not span.given:
                span.given = True
                yield from _spelled(span, _type_size(text, index), _face(text, index))
            while index < count and _span_at(text, index, spans) is span:
                index += 1
    finally:
        text.close()


@dataclass
class _Span:
    """Glyphs that carry a text of their own: their ink and where it begins, mm on the page.

    ``given`` tells whether it has been read already.
    """

    text: str
    box: Rect
    start: Rect
    upward: bool
    given: bool = False

    def add(self, box: Rect) -> None:
        left, top = min(self.box.x, box.x), min(self.box.y, box.y)
        right, bottom = max(self.box.right, box.right), max(self.box.bottom, box.bottom)
        self.box = Rect(left, top, right - left, bottom - top)


def _spans(page: pdfium.PdfPage) -> dict[int, _Span]:
    """Text objects whose text is given beside their glyphs (ISO 32000-1, 14.9.4, ActualText).

    pdfium places such text where its form would be at the origin of the page, so that its own
    objects must be asked where it is.
    """
    shown = Shown(page)
    by_mark: dict[int, _Span] = {}
    by_object: dict[int, _Span] = {}
    for item in painted(page, text_only=True):
        replacing = _replacing(item.handle)
        if replacing is None:
            continue
        mark, text = replacing
        if mark in by_mark:
            by_mark[mark].add(item.box)
        else:
            matrix = item.matrix
            start = shown.rect(*(matrix.e, matrix.f) * 2)
            upward = shown.upward(math.atan2(matrix.b, matrix.a))
            by_mark[mark] = _Span(text, item.box, start, upward)
        by_object[_handle(item.handle)] = by_mark[mark]
    return by_object


def _replacing(text_object: Any) -> tuple[int, str] | None:
    """The mark by which a text object's glyphs are read otherwise than they are, and how."""
    for index in range(pdfium_raw.FPDFPageObj_CountMarks(text_object)):
        mark = pdfium_raw.FPDFPageObj_GetMark(text_object, index)
        length = ctypes.c_ulong()
        ask = functools.partial(pdfium_raw.FPDFPageObjMark_GetParamBlobValue, mark, b"ActualText")
        if ask(None, 0, length) and length.value:
            buffer = (ctypes.c_ubyte * length.value)()
            ask(buffer, length.value, length)
            return _handle(mark), _text_string(bytes(buffer))
    return None


def _text_string(data: bytes) -> str:
    """A PDF text string (ISO 32000-1, 7.9.2.2), whose own 8-bit encoding is nearly Latin-1.

    >>> _text_string(b"\\xfe\\xff\\x06\\x27"), _text_string(b"fi")
    ('\u0627', 'fi')
    """
    for mark, encoding in ((codecs.BOM_UTF16_BE, "utf-16-be"), (codecs.BOM_UTF8, "utf-8")):
        if data.startswith(mark):
            return data[len(mark) :].decode(encoding, "replace")
    return data.decode("latin-1")


def _span_at(text: pdfium.PdfTextPage, index: int, spans: Mapping[int, _Span]) -> _Span | None:
    """The span a letter belongs to; None for most."""
    if not spans:
        return None
    return spans.get(_handle(pdfium_raw.FPDFText_GetTextObject(text, index)))


def _handle(pointer: Any) -> int:
    """A number for one of pdfium's objects, the same whenever it hands it out."""
    return ctypes.cast(pointer, ctypes.c_void_p).value or 0


def _spelled(span: _Span, size: float, face: str) -> Iterator[_Letter]:
    """The letters of a span, which share its box between them in the order they are read.

    Spans of scripts that run from right to left are written in the order of the eye, as readers
    of PDF files expect all text to be, and are turned round by them; so they are here.
    """
    backwards = any(unicodedata.bidirectional(sign) in ("R", "AL") for sign in span.text)
    signs = span.text[::-1] if backwards else span.text
    box, many = span.box, max(1, len(signs))
    for number, sign in enumerate(signs):
        place = many - 1 - number if backwards else number
        if span.upward:
            share = box.height / many
            own = Rect(box.x, box.y + place * share, box.width, share)
        else:
            share = box.width / many
            own = Rect(box.x + place * share, box.y, share, box.height)
        yield _Letter(sign, own, span.start, size, span.upward, face)


def _start(text: pdfium.PdfTextPage, index: int) -> tuple[float, float]:
    """Where a letter's baseline starts, in points of PDF space."""
    x, y = ctypes.c_double(), ctypes.c_double()
    pdfium_raw.FPDFText_GetCharOrigin(text, index, ctypes.byref(x), ctypes.byref(y))
    return x.value, y.value


def _type_size(text: pdfium.PdfTextPage, index: int) -> float:
    """The size a letter is shown at, in mm: its font size times the scale it is set with."""
    matrix = pdfium_raw.FS_MATRIX()
    pdfium_raw.FPDFText_GetMatrix(text, index, ctypes.byref(matrix))
    scale = math.sqrt(abs(matrix.a * matrix.d - matrix.b * matrix.c))
    return mm(pdfium_raw.FPDFText_GetFontSize(text, index) * scale)


def _face(text: pdfium.PdfTextPage, index: int) -> str:
    """The name of the font a letter is set in; subsets of one font have the same name."""
    flags = ctypes.c_int()
    name = ctypes.create_string_buffer(256)
    pdfium_raw.FPDFText_GetFontInfo(text, index, name, len(name), ctypes.byref(flags))
    return name.value.decode("utf-8", "replace").rpartition("+")[2]


def _continues(before: _Letter, letter: _Letter, apart: float) -> bool:
    """Whether a letter belongs to the piece the one before it is in."""
    smaller, larger = sorted((before.size, letter.size))
    if before.upward != letter.upward or before.face != letter.face:
        return False
    if larger > _OTHER_SIZE * smaller:
        return False
    across = max(letter.box.x - before.box.right, before.box.x - letter.box.right)
    down = max(letter.box.y - before.box.bottom, before.box.y - letter.box.bottom)
    aside = letter.start.x - before.start.x if letter.upward else letter.start.y - before.start.y
    along = down if letter.upward else across
    return along <= apart * larger and abs(aside) <= _OFF_LINE * larger


def _piece(run: Sequence[_Letter]) -> Piece:
    return Piece(
        "".join(letter.sign for letter in run),
        Rect.union(letter.box for letter in run),
        tuple(letter.box for letter in run),
    )
