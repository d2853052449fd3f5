"""Text read back from a finished PDF: what stands where, and on which face of which leaf."""

from __future__ import annotations

import codecs
import ctypes
import functools
import math
import unicodedata
from collections.abc import Iterable, Iterator, Sequence
from contextlib import closing
from dataclasses import dataclass, replace
from typing import Any

import pypdfium2 as pdfium
import pypdfium2.raw as pdfium_raw

from pipeline.base.geometry import Rect, mm
from pipeline.impose.contents import upright
from pipeline.impose.sheet import Placement, SheetSide
from pipeline.plan.model import Side
from pipeline.proof.read.objects import Shown, middle, painted

_APART = 0.6
"""Two letters this many type sizes apart belong to two pieces: no word space is as wide."""
_CELLS_APART = 0.35
"""And so do two with no space written between them, when pdfium only guesses one from the gap."""
_FIGURES_APART = 0.2
"""And two figures of different fonts, which else are one number."""
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
    letters: tuple[Rect, ...]


@dataclass(frozen=True)
class LeafText(Piece):
    """A piece of text and the face it lies on.

    Boxes are in mm from the top left of the leaf's flat area, upright. ``on_flap`` tells whether
    its middle is outside the closed leaf.
    """

    leaf: int
    face: Side
    on_flap: bool
    sheet: int
    side: SheetSide


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
    runs: list[list[_Letter]] = [[]]
    spaces = ""
    for letter in _letters(page):
        if letter.sign.isspace():
            spaces = letter.sign if spaces in ("", _GUESSED) else " "
            continue
        apart = _APART if spaces in ("", " ") else _CELLS_APART
        if runs[-1] and not _continues(runs[-1][-1], letter, apart):
            runs.append([])
        elif runs[-1] and spaces:
            runs[-1].append(replace(runs[-1][-1], sign=" "))
        runs[-1].append(letter)
        spaces = ""
    return tuple(
        Piece(
            "".join(letter.sign for letter in run),
            Rect.union(letter.box for letter in run),
            tuple(letter.box for letter in run),
        )
        for run in runs
        if run
    )


def leaf_texts(
    page: pdfium.PdfPage, placements: Sequence[Placement], sheet: int, side: SheetSide
) -> Iterator[LeafText]:
    """The pieces of a PDF page whose middles lie on placed leaves, as they lie there."""
    return texts_on(read_pieces(page), placements, sheet, side)


def texts_on(
    pieces: Iterable[Piece], placements: Sequence[Placement], sheet: int, side: SheetSide
) -> Iterator[LeafText]:
    """Those of a page's pieces whose middles lie on placed leaves; slug lines lie on none."""
    for piece in pieces:
        at = middle(piece.box)
        for placement in placements:
            if placement.flat.holds(at):
                yield LeafText(
                    piece.text,
                    upright(piece.box, placement),
                    tuple(upright(letter, placement) for letter in piece.letters),
                    placement.leaf,
                    placement.face,
                    not placement.trim.holds(at),
                    sheet,
                    side,
                )
                break


def _letters(page: pdfium.PdfPage) -> Iterator[_Letter]:
    """Every letter pdfium finds, with the box of its ink as the page is shown."""
    shown, spans = Shown(page), _spans(page)
    within: _Span | None = None
    with closing(page.get_textpage()) as text:
        for index in range(text.count_chars()):
            handle = _handle(pdfium_raw.FPDFText_GetTextObject(text, index)) if spans else 0
            span = spans.get(handle)
            if within is not None and span is within:
                continue
            within = None
            code = pdfium_raw.FPDFText_GetUnicode(text, index)
            if code == 0:
                continue
            sign = chr(code)
            guessed = pdfium_raw.FPDFText_IsGenerated(text, index) == 1
            if sign.isspace() or guessed:
                nowhere = Rect(0, 0, 0, 0)
                yield _Letter(_GUESSED if guessed else " ", nowhere, nowhere, 0, False, "")
                continue
            size, face = _type_size(text, index), _face(text, index)
            within = span
            if span is None:
                x, y = ctypes.c_double(), ctypes.c_double()
                pdfium_raw.FPDFText_GetCharOrigin(text, index, x, y)
                yield _Letter(
                    sign,
                    shown.rect(*text.get_charbox(index)),
                    shown.rect(*(x.value, y.value) * 2),
                    size,
                    shown.upward(pdfium_raw.FPDFText_GetCharAngle(text, index)),
                    face,
                )
            # pdfium gives the text of a span again when the glyphs of two are written by turns.
            elif not span.given:
                span.given = True
                yield from _spelled(span, size, face)


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
        span = by_mark.get(mark)
        if span is None:
            matrix = item.matrix
            start = shown.rect(*(matrix.e, matrix.f) * 2)
            upward = shown.upward(math.atan2(matrix.b, matrix.a))
            span = by_mark[mark] = _Span(text, item.box, start, upward)
        span.box = Rect.union((span.box, item.box))
        by_object[_handle(item.handle)] = span
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
    across, down = (0.0, box.height / many) if span.upward else (box.width / many, 0.0)
    for number, sign in enumerate(signs):
        place = many - 1 - number if backwards else number
        own = Rect(
            box.x + place * across, box.y + place * down, across or box.width, down or box.height
        )
        yield _Letter(sign, own, span.start, size, span.upward, face)


def _type_size(text: pdfium.PdfTextPage, index: int) -> float:
    """The size a letter is shown at, in mm: its font size times the scale it is set with."""
    matrix = pdfium_raw.FS_MATRIX()
    pdfium_raw.FPDFText_GetMatrix(text, index, matrix)
    scale = math.sqrt(abs(matrix.a * matrix.d - matrix.b * matrix.c))
    return mm(pdfium_raw.FPDFText_GetFontSize(text, index) * scale)


def _face(text: pdfium.PdfTextPage, index: int) -> str:
    """The name of the font a letter is set in; subsets of one font have the same name."""
    flags, name = ctypes.c_int(), ctypes.create_string_buffer(256)
    pdfium_raw.FPDFText_GetFontInfo(text, index, name, len(name), flags)
    return name.value.decode("utf-8", "replace").rpartition("+")[2]


def _continues(before: _Letter, letter: _Letter, apart: float) -> bool:
    """Whether a letter belongs to the piece the one before it is in."""
    smaller, larger = sorted((before.size, letter.size))
    if before.upward != letter.upward or larger > _OTHER_SIZE * smaller:
        return False
    across = max(letter.box.x - before.box.right, before.box.x - letter.box.right)
    down = max(letter.box.y - before.box.bottom, before.box.y - letter.box.bottom)
    aside = letter.start.x - before.start.x if letter.upward else letter.start.y - before.start.y
    along = down if letter.upward else across
    if before.face != letter.face:
        if not (before.sign.isdecimal() and letter.sign.isdecimal()):
            return False
        apart = min(apart, _FIGURES_APART)  # a figure that a font lacks is another's
    return along <= apart * larger and abs(aside) <= _OFF_LINE * larger
