"""Text read back from a finished PDF: what stands where, and on which face of which leaf.

A line of mixed scripts comes back in several pieces, in the order of the eye or of the ear, and
with spaces lost or gained; its letters and its figures stay what they are (``Spelling``).
"""

from __future__ import annotations

import codecs
import ctypes
import functools
import math
import re
import unicodedata
from collections import Counter
from collections.abc import Iterable, Iterator, Mapping, Sequence
from contextlib import closing
from dataclasses import dataclass, field
from typing import Any, NamedTuple

import pypdfium2 as pdfium
import pypdfium2.raw as pdfium_raw

from pipeline.base.geometry import Rect, mm
from pipeline.impose.contents import upright
from pipeline.impose.sheet import Placement, SheetSide, Turn
from pipeline.plan.model import Side
from pipeline.proof.read.objects import ObjectKind, Shown, address, middle, painted

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


class Spelling(NamedTuple):
    """What a text is made of: its numbers, each whole, and its other letters, in no order."""

    numbers: tuple[str, ...]
    letters: tuple[str, ...]

    def within(self, other: Spelling) -> bool:
        """Whether ``other`` has all of it, and perhaps more."""
        return all(Counter(a) <= Counter(b) for a, b in zip(self, other, strict=True))


@functools.lru_cache(maxsize=8192)
def spelling(text: str) -> Spelling:
    """What a text is made of; capitals, spaces and invisible signs make no difference.

    Of several pieces joined by spaces: no number is pieced together from two. Brackets are neither
    open nor closed: readers disagree which way those in text from right to left face.

    >>> spelling("1 – 7 March") == spelling("March 1–7"), spelling("12") == spelling("21")
    (True, False)
    >>> spelling("(a)") == spelling("(a("), spelling("(a)") == spelling("a")
    (True, False)
    """
    plain = unicodedata.normalize("NFKD", text.casefold())
    letters = (
        "(" if unicodedata.category(sign) in ("Ps", "Pe") else sign
        for sign in re.sub(r"\d+", "", plain)
        if unicodedata.category(sign) not in ("Cf", "Zs", "Cc")
    )
    return Spelling(tuple(sorted(re.findall(r"\d+", plain))), tuple(sorted(letters)))


@dataclass(frozen=True)
class Piece:
    """A run of text on one line. ``box`` encloses its ink, in mm from the page's top left.

    ``letters`` are the boxes of its signs one by one; a space has that of the sign before it.
    ``aslant`` tells that its line runs neither across nor up or down, so that its box holds more.
    ``size_mm`` is its type size, of several the largest.
    """

    text: str
    box: Rect
    letters: tuple[Rect, ...]
    aslant: bool = field(default=False, kw_only=True)
    size_mm: float = field(default=0.0, kw_only=True)


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


class _Letter(NamedTuple):
    """A letter: the box of its ink and the start of its baseline in mm, its type size in mm.

    ``turned`` tells how far its line is turned clockwise as the page is shown, to the next quarter,
    ``face`` the name of its font without the tag of the subset, ``lean`` how far a line that runs
    aslant is turned (radians); 0 for all others.
    """

    sign: str
    box: Rect
    start: Rect
    size: float
    turned: Turn
    face: str
    lean: float = 0.0


_NOWHERE = Rect(0, 0, 0, 0)
_SPACE, _GUESS = (_Letter(sign, _NOWHERE, _NOWHERE, 0, 0, "") for sign in (" ", _GUESSED))


def read_pieces(page: pdfium.PdfPage) -> tuple[Piece, ...]:
    """The text of a PDF page, cut where a line or a column ends, and lines that are turned last.

    Words on one line stay together as long as ordinary spaces part them, so a date such as
    "29 Mar – 4 Apr" is one piece; two neighbouring cells of a table are two.
    """
    with closing(page.get_textpage()) as text:
        return pieces_in(text)


def pieces_in(text: pdfium.PdfTextPage) -> tuple[Piece, ...]:
    """The pieces of a page whose text pdfium has opened, as ``read_pieces`` gives them."""
    runs: list[list[_Letter]] = [[]]
    spaces = ""
    for letter in _upright(text):
        if letter.sign.isspace():
            spaces = letter.sign if spaces in ("", _GUESSED) else " "
            continue
        apart = _APART if spaces in ("", " ") else _CELLS_APART
        if runs[-1] and not _continues(runs[-1][-1], letter, apart):
            runs.append([])
        elif runs[-1] and spaces and not (spaces == _GUESSED and _figures(runs[-1][-1], letter)):
            runs[-1].append(runs[-1][-1]._replace(sign=" "))
        runs[-1].append(letter)
        spaces = ""
    return tuple(
        Piece(
            "".join(letter.sign for letter in run),
            Rect.union(letter.box for letter in run),
            tuple(letter.box for letter in run),
            aslant=run[0].lean != 0,
            size_mm=max(letter.size for letter in run),
        )
        for run in runs
        if run
    )


def leaf_texts(
    page: pdfium.PdfPage, placements: Sequence[Placement], sheet: int, side: SheetSide
) -> Iterator[LeafText]:
    """The pieces of a PDF page whose middles lie on placed leaves, as they lie there."""
    return texts_on(read_pieces(page), placements, sheet, side)


def type_in(page: pdfium.PdfPage, within: Rect) -> Iterator[tuple[str, float]]:
    """The font and the size in mm of every letter whose middle lies within a part of a PDF page.

    Fonts go by the names that they have in the file; figures and signs are no letters.
    """
    with closing(page.get_textpage()) as text:
        for letter in _upright(text):
            if letter.sign.isalpha() and within.holds(middle(letter.box)):
                yield letter.face, letter.size


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
                    aslant=piece.aslant,
                    size_mm=piece.size_mm,
                )
                break


def _upright(text: pdfium.PdfTextPage) -> Iterator[_Letter]:
    """Every letter of a page, each as pdfium reads it where its line runs to the right.

    Lines turned otherwise it may read backwards, or one in the middle of another.
    """
    page, shown, objects = text.page, Shown(text.page), list(_objects(text))
    spans = _spans(text, objects)
    letters = list(_letters(text, objects, shown, spans))
    for turned in sorted({letter.turned for letter in letters}):
        if turned == 0:
            yield from (one for one in letters if one.turned == turned or one.sign.isspace())
            continue
        page.set_rotation((shown.turn - turned) % 360)
        try:
            with closing(page.get_textpage()) as again:
                yield from _letters(again, list(_objects(again)), shown, spans, turned)
        finally:
            page.set_rotation(shown.turn)


def _letters(
    text: pdfium.PdfTextPage,
    objects: Sequence[Any],
    shown: Shown,
    spans: Mapping[int, _Span],
    turned: Turn | None = None,
) -> Iterator[_Letter]:
    """Every letter pdfium finds, or those of lines turned so far, with the box of its ink."""
    raw, given = text.raw, set[int]()
    within: _Span | None = None
    x, y, *edges = [ctypes.c_double() for _ in range(6)]
    at, (left, right, bottom, top) = (ctypes.byref(x), ctypes.byref(y)), edges
    to_edges = [ctypes.byref(edge) for edge in edges]
    known: dict[int, tuple[float, str, Turn, float]] = {}
    for index, handle in enumerate(map(address, objects)):
        span = spans.get(handle)
        if within is not None and span is within:
            continue
        within = None
        code = pdfium_raw.FPDFText_GetUnicode(raw, index)
        if code == 0:
            continue
        sign = chr(code)
        if sign.isspace():  # no other sign is ever guessed
            yield _GUESS if pdfium_raw.FPDFText_IsGenerated(raw, index) == 1 else _SPACE
            continue
        if not handle or handle not in known:
            angle = -pdfium_raw.FPDFText_GetCharAngle(raw, index)  # it counts clockwise
            way = shown.turned(angle), shown.lean(angle)
            known[handle] = _type_size(text, index), _face(text, index), *way
        size, face, runs, lean = known[handle]
        within = span
        if turned not in (None, runs):
            continue
        if span is None:
            pdfium_raw.FPDFText_GetCharOrigin(raw, index, *at)
            pdfium_raw.FPDFText_GetCharBox(raw, index, *to_edges)
            box = shown.rect(left.value, bottom.value, right.value, top.value)
            start = shown.rect(x.value, y.value, x.value, y.value)
            yield _Letter(sign, box, start, size, runs, face, lean)
        # pdfium gives the text of a span again when the glyphs of two are written by turns.
        elif id(span) not in given:
            given.add(id(span))
            yield from _spelled(span, size, face)


@dataclass
class _Span:
    """Glyphs that carry a text of their own: their ink and where it begins, mm on the page."""

    text: str
    box: Rect
    start: Rect
    turned: Turn
    lean: float


def _objects(text: pdfium.PdfTextPage) -> Iterator[Any]:
    """The text object of every sign that pdfium reads on a page."""
    for index in range(text.count_chars()):
        yield pdfium_raw.FPDFText_GetTextObject(text.raw, index)


def _spans(text: pdfium.PdfTextPage, objects: Sequence[Any]) -> dict[int, _Span]:
    """Text objects whose text is given beside their glyphs (ISO 32000-1, 14.9.4, ActualText).

    pdfium places such text where its form would be at the origin of the page, so that its own
    objects must be asked where it is.
    """
    if not any(map(_is_marked, {address(one): one for one in objects}.values())):
        return {}
    shown = Shown(text.page)
    by_mark: dict[int, _Span] = {}
    by_object: dict[int, _Span] = {}
    for item in painted(text.page, _is_marked):
        replacing = _replacing(item.handle)
        if replacing is None:
            continue
        mark, text = replacing
        span = by_mark.get(mark)
        if span is None:
            matrix = item.matrix
            start = shown.rect(*(matrix.e, matrix.f) * 2)
            angle = math.atan2(matrix.b, matrix.a)
            turned, lean = shown.turned(angle), shown.lean(angle)
            span = by_mark[mark] = _Span(text, item.box, start, turned, lean)
        span.box = Rect.union((span.box, item.box))
        by_object[address(item.handle)] = span
    return by_object


def _is_marked(handle: Any, kind: ObjectKind = "text") -> bool:
    return kind == "text" and pdfium_raw.FPDFPageObj_CountMarks(handle) > 0


def _replacing(text_object: Any) -> tuple[int, str] | None:
    """The mark by which a text object's glyphs are read otherwise than they are, and how."""
    for index in range(pdfium_raw.FPDFPageObj_CountMarks(text_object)):
        mark = pdfium_raw.FPDFPageObj_GetMark(text_object, index)
        length = ctypes.c_ulong()
        ask = functools.partial(pdfium_raw.FPDFPageObjMark_GetParamBlobValue, mark, b"ActualText")
        if ask(None, 0, length) and length.value:
            buffer = (ctypes.c_ubyte * length.value)()
            ask(buffer, length.value, length)
            return address(mark), _text_string(bytes(buffer))
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


def _spelled(span: _Span, size: float, face: str) -> Iterator[_Letter]:
    """The letters of a span, which share its box between them in the order they are read.

    Spans of scripts that run from right to left are written in the order of the eye, as readers
    of PDF files expect all text to be, and are turned round by them; so they are here.
    """
    right_to_left = any(unicodedata.bidirectional(sign) in ("R", "AL") for sign in span.text)
    signs = span.text[::-1] if right_to_left else span.text
    box, many = span.box, max(1, len(signs))
    sideways = span.turned % 180 != 0
    across = box.width / many if span.lean or not sideways else 0.0
    down = box.height / many if span.lean or sideways else 0.0
    backward = math.cos(span.lean) < 0 if span.lean else span.turned >= 180
    for number, sign in enumerate(signs):
        place = many - 1 - number if right_to_left != backward else number
        level = many - 1 - place if span.lean and math.tan(span.lean) < 0 else place
        own = Rect(
            box.x + place * across, box.y + level * down, across or box.width, down or box.height
        )
        yield _Letter(sign, own, span.start, size, span.turned, face, span.lean)


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


def _figures(before: _Letter, letter: _Letter) -> bool:
    """Whether two letters of a turned line are figures so close that no space is between them."""
    near = letter.turned != 0 and _continues(before, letter, _FIGURES_APART)
    return near and before.sign.isdecimal() and letter.sign.isdecimal()


def _continues(before: _Letter, letter: _Letter, apart: float) -> bool:
    """Whether a letter belongs to the piece the one before it is in."""
    smaller, larger = sorted((before.size, letter.size))
    other = before.turned != letter.turned or abs(before.lean - letter.lean) > 0.01
    if other or larger > _OTHER_SIZE * smaller:
        return False
    if letter.lean:
        if before.face != letter.face:
            return False
        x, y = letter.start.x - before.start.x, letter.start.y - before.start.y
        cosine, sine = math.cos(letter.lean), math.sin(letter.lean)
        off_line = abs(y * cosine - x * sine) > _OFF_LINE * larger
        return not off_line and abs(x * cosine + y * sine) <= (1 + apart) * larger
    across = max(letter.box.x - before.box.right, before.box.x - letter.box.right)
    down = max(letter.box.y - before.box.bottom, before.box.y - letter.box.bottom)
    sideways = letter.turned % 180 != 0
    aside = letter.start.x - before.start.x if sideways else letter.start.y - before.start.y
    along = down if sideways else across
    if before.face != letter.face:
        if not (before.sign.isdecimal() and letter.sign.isdecimal()):
            return False
        apart = min(apart, _FIGURES_APART)  # a figure that a font lacks is another's
    return along <= apart * larger and abs(aside) <= _OFF_LINE * larger
