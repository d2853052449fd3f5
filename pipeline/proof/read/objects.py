"""What a finished PDF paints: every path, text and picture with its place, colours and clip.

Forms are entered, and their matrices counted, so that all boxes are mm of the page as it is shown.
"""

from __future__ import annotations

import ctypes
import itertools
import math
from collections import Counter
from collections.abc import (
    Callable,
    Hashable,
    Iterable,
    Iterator,
    Mapping,
    MutableMapping,
    Sequence,
)
from contextlib import contextmanager
from dataclasses import dataclass, replace
from functools import cached_property
from typing import Any, Literal, NamedTuple

import pypdfium2 as pdfium
import pypdfium2.raw as pdfium_raw

from pipeline.base.cache import Recent, digest_of
from pipeline.base.geometry import PT_PER_MM, Rect, mm
from pipeline.draw.faces import BLANK
from pipeline.impose.sheet import Turn
from pipeline.svg.transform import Matrix

ObjectKind = Literal["path", "text", "picture", "shading"]

_OBJECT_KINDS: dict[int, ObjectKind] = {
    pdfium_raw.FPDF_PAGEOBJ_PATH: "path",
    pdfium_raw.FPDF_PAGEOBJ_TEXT: "text",
    pdfium_raw.FPDF_PAGEOBJ_IMAGE: "picture",
    pdfium_raw.FPDF_PAGEOBJ_SHADING: "shading",
}
_DEEPEST = 12
"""Forms within forms are followed so far; a form that holds itself must end somewhere."""


class Paint(NamedTuple):
    """A colour as it is put on paper: red, green and blue from 0 to 255, and how opaque, 0 to 1."""

    red: int
    green: int
    blue: int
    opacity: float

    @property
    def darkness(self) -> float:
        """How dark it makes white paper, 0 to 1, weighed as in ITU-R BT.601 (luma).

        >>> Paint(0, 0, 0, 0.5).darkness, Paint(255, 255, 255, 1.0).darkness
        (0.5, 0.0)
        """
        luma = (0.299 * self.red + 0.587 * self.green + 0.114 * self.blue) / 255
        return round((1 - luma) * self.opacity, 6)


@dataclass(frozen=True)
class Painted:
    """One thing painted. ``box`` (mm) has its ink, ``clip`` is what of the page may show of it.

    ``handle`` is pdfium's own and valid while the page is open, ``matrix`` maps the object's
    coordinates to points of PDF space. ``stroke_mm`` is how thick a stroke is where it is
    thinnest, 0 where nothing is stroked. ``top`` is the place, from 0 and from the bottom up, of
    the page's own object it is in. ``said_by`` is the text over letters that are outlines.
    """

    kind: ObjectKind
    box: Rect
    handle: Any
    matrix: Matrix
    clip: Rect | None = None
    fill: Paint | None = None
    stroke: Paint | None = None
    stroke_mm: float = 0.0
    top: int = 0
    said_by: Any = None

    @cached_property
    def seen(self) -> Rect | None:
        """The part of its box that its clip lets through; None when nothing is."""
        return self.box if self.clip is None else overlap(self.box, self.clip)

    @property
    def paints(self) -> tuple[Paint, ...]:
        """What it is filled and stroked with: open letters are seen by their strokes."""
        return tuple(paint for paint in (self.fill, self.stroke) if paint)


def overlap(one: Rect, other: Rect) -> Rect | None:
    """What two rectangles share; None when they do not touch.

    >>> overlap(Rect(0, 0, 10, 10), Rect(5, 5, 10, 10))
    Rect(x=5, y=5, width=5, height=5)
    """
    left, top = max(one.x, other.x), max(one.y, other.y)
    right, bottom = min(one.right, other.right), min(one.bottom, other.bottom)
    return Rect(left, top, right - left, bottom - top) if right >= left and bottom >= top else None


def middle(box: Rect) -> Rect:
    """The middle of a box, as a box without width and height."""
    return Rect(box.x + box.width / 2, box.y + box.height / 2, 0, 0)


def prints_ink(text: Painted) -> bool:
    """Whether letters are painted at all, and not there to be found only."""
    mode = pdfium_raw.FPDFTextObj_GetTextRenderMode(text.handle)
    return bool(mode != pdfium_raw.FPDF_TEXTRENDERMODE_INVISIBLE) and text.box.height > 0.05


def type_size_pt(text: Painted) -> float:
    """The type size of letters as they are printed, after all transforms, in points."""
    size = ctypes.c_float()
    pdfium_raw.FPDFTextObj_GetFontSize(text.said_by or text.handle, size)
    return size.value * text.matrix.scale_y


_ASLANT = 0.1
"""The sine of twice the angle from which on a text runs aslant: 3°."""


class Shown:
    """From PDF space (points, upwards, before the page's own turn) to mm of the page as shown."""

    def __init__(self, page: pdfium.PdfPage) -> None:
        self.turn = page.get_rotation()
        self.left, self.bottom, self.right, self.top = page.get_bbox()

    def rect(self, left: float, bottom: float, right: float, top: float) -> Rect:
        """A rectangle given by its edges in PDF space."""
        width, height = right - left, top - bottom
        if self.turn == 0:  # of every letter: so without the calls
            per = PT_PER_MM
            x, y = (left - self.left) / per, (self.top - top) / per
            return Rect(x, y, width / per, height / per)
        from_left, from_right = left - self.left, self.right - right
        from_top, from_bottom = self.top - top, bottom - self.bottom
        x, y = {
            90: (from_bottom, from_left),
            180: (from_right, from_bottom),
            270: (from_top, from_right),
        }[self.turn]
        if self.turn % 180:
            width, height = height, width
        return Rect(mm(x), mm(y), mm(width), mm(height))

    def lean(self, angle: float) -> float:
        """How far a line aslant at an angle (as for ``turned``) is turned clockwise as shown.

        0 for lines that run across, up or down, or nearly so.
        """
        lean = math.radians(self.turn) - angle
        return lean if abs(math.sin(2 * lean)) > _ASLANT else 0.0

    def turned(self, angle: float) -> Turn:
        """How far a line set at an angle (radians, in PDF space) is turned clockwise as shown.

        To the next quarter of a turn: 0 for a line that runs to the right, 90 for one that runs
        down.
        """
        turns: tuple[Turn, ...] = (0, 90, 180, 270)
        quarters: int = round(self.turn / 90 - 2 * angle / math.pi)
        return turns[quarters % 4]


def top_forms(page: pdfium.PdfPage) -> list[Matrix]:
    """The matrices (in points of PDF space) of the form XObjects placed straight on a page.

    In the order they are painted.
    """
    return list(form_places(page).values())


def form_places(page: pdfium.PdfPage) -> dict[int, Matrix]:
    """The matrices of ``top_forms``, by their places among all the page's own objects."""
    asked = _Asked()
    kind = pdfium_raw.FPDFPageObj_GetType
    return {
        place: asked.matrix(one)
        for place, one in enumerate(_objects(page))
        if kind(one) == pdfium_raw.FPDF_PAGEOBJ_FORM
    }


def painted(
    page: pdfium.PdfPage, wanted: Callable[[Any, ObjectKind], bool] = lambda handle, kind: True
) -> Iterator[Painted]:
    """Everything a page paints, or what of it is wanted, from the bottom up."""
    shown, asked = Shown(page), _Asked()
    for top, one in enumerate(_objects(page)):
        for handle, kind, outer in _within((one,), Matrix(), asked):
            if wanted(handle, kind):
                yield asked.painted(handle, kind, outer, shown, top)


_SWASH = 0.6
"""Outlines reach so many heights of their text past it: they slant, and letters have swashes."""
_PATHS = 2
"""A text is at most filled and stroked."""


def lettered(items: Iterable[Painted]) -> Iterator[Painted]:
    """The same with outlines of letters as the text they are, in place of the blank text over them.

    A text that a licence forbids to embed is painted as paths, and then set once more without ink;
    so are the words in a filtered element after its picture.
    """
    blank_fonts: dict[int, bool] = {}

    def blank(item: Painted) -> bool:
        if item.kind != "text":
            return False
        font = pdfium_raw.FPDFTextObj_GetFont(item.handle)
        key = address(font)
        if key not in blank_fonts:
            blank_fonts[key] = font_name(font) == BLANK
        return blank_fonts[key]

    before: list[Painted] = []
    for unseen, group in itertools.groupby(items, blank):
        if not unseen:
            yield from before
            before = list(group)
            continue
        said = list(group)
        room = Rect.union(one.box for one in said)
        slack = _SWASH * min(room.width, room.height) + 0.1
        for number in range(len(before) - 1, max(-1, len(before) - 1 - _PATHS), -1):
            one = before[number]
            if one.kind == "picture" and number == len(before) - 1 and one.box.holds(room, slack):
                before[number] = replace(
                    one, kind="text", matrix=said[0].matrix, said_by=said[0].handle
                )
            if one.kind in ("text", "picture") or not room.holds(one.seen or one.box, slack):
                break
            before[number] = replace(
                one, kind="text", matrix=said[0].matrix, said_by=said[0].handle
            )
    yield from before


class Content(NamedTuple):
    """What a page or a form shows: a digest of all it is made of, its resources too.

    ``placed`` are the forms that it places, in their order, where it does nothing else. ``fonts``
    are digests of those of its own resources, by those of their outlines alone.
    """

    digest: str
    placed: tuple[Content, ...] = ()
    fonts: tuple[tuple[str, str], ...] = ()


class LayerKey(NamedTuple):
    """The same for layers that look the same in the same place of pages of one size.

    ``digest`` is that of its content, ``matrix`` its own to points of PDF space; ``page`` is how
    its page is turned and how large it is, ``top`` the place of the page's own object it is in.
    """

    digest: str
    matrix: Matrix
    page: Hashable
    top: int


@dataclass(frozen=True, eq=False)
class Layer:
    """A form of a page that holds no other, or an object in none, and what it paints.

    ``key`` is None where nothing is known of it. ``top`` is the place of the page's own object it
    is in. Where it is ``plain`` its things are painted one after the other
    as if they were the page's. ``kinds`` are what its things are, those left out as "". ``handle``
    is pdfium's own for it on this page; ``read`` gives its things, which may have been read on
    another page.
    """

    handle: Any
    top: int
    key: LayerKey | None
    fonts: Mapping[str, str]
    kinds: Sequence[str]
    plain: bool
    read: Callable[[], Sequence[Painted]]

    @cached_property
    def items(self) -> Sequence[Painted]:
        """What it paints, from the bottom up."""
        return self.read()

    @cached_property
    def texts(self) -> Sequence[Painted]:
        """What of it is text."""
        items = self.items if "text" in self.kinds else ()
        return [item for item in items if item.kind == "text"]

    def handles(self, *, text: bool) -> Iterator[Any]:
        """What of it is text, or is not: the whole where that comes to the same."""
        kinds = {(kind == "text") is text for kind in self.kinds if kind}
        if kinds == {True}:
            yield self.handle
        elif len(kinds) > 1:
            things = _within((self.handle,), Matrix(), _Asked())
            for (handle, *_), kind in zip(things, self.kinds, strict=True):
                if kind and (kind == "text") is text:
                    yield handle


JUDGED = Recent(4096)
"""What is known of layers, by their keys, which all they are made of has a part in."""


def layers(
    page: pdfium.PdfPage, content: Content | None, kept: MutableMapping[Hashable, Any]
) -> Iterator[Layer]:
    """The layers of a page from the bottom up; what several pages have is read once.

    ``kept`` has what was read of pages that are still open, and keeps them so.
    """
    shown, asked = Shown(page), _Asked()
    where = shown.turn, page.get_bbox()

    def within(handle: Any, content: Content | None, outer: Matrix, top: int) -> Iterator[Layer]:
        inner = _inner(handle) if content and content.placed else []
        if content and _places(inner, content):
            matrix = outer @ asked.matrix(handle)
            for one, its in zip(inner, content.placed, strict=True):
                yield from within(one, its, matrix, top)
            return
        key = content and LayerKey(content.digest, outer @ asked.matrix(handle), where, top)

        def made() -> tuple[Sequence[Painted], Sequence[str]]:
            things = _within((handle,), outer, asked)
            every = [asked.painted(*thing, shown, top) for thing in things]
            items = list(lettered(every))
            kind_of = {address(item.handle): item.kind for item in items}
            return items, [kind_of.get(address(item.handle), "") for item in every]

        if content is None:
            items, kinds = made()
            yield Layer(handle, top, None, {}, kinds, False, lambda: items)
            return

        def read() -> tuple[Sequence[Painted], Sequence[str]]:
            if key not in kept:
                kept[key] = page, *made()
            _, items, kinds = kept[key]
            return items, kinds

        def seen() -> tuple[Sequence[str], bool]:
            return read()[1], not any(map(_is_form, _inner(handle)))

        kinds, plain = JUDGED.get_or_make(key, seen)
        fonts = dict(content.fonts)
        yield Layer(handle, top, key, fonts, kinds, plain, lambda: read()[0])

    own = list(_objects(page))
    known = content.placed if content and _places(own, content) else [None] * len(own)
    for top, (handle, its) in enumerate(zip(own, known, strict=True)):
        yield from within(handle, its, Matrix(), top)


def _places(handles: Sequence[Any], content: Content) -> bool:
    """Whether objects are the forms that something is known to place, and no more."""
    return 0 < len(handles) == len(content.placed) and all(map(_is_form, handles))


@contextmanager
def unpainted(handles: Sequence[Any]) -> Iterator[None]:
    """Leaves objects of a page, or of its forms, out of the pictures made of it meanwhile."""
    for handle in handles:
        pdfium_raw.FPDFPageObj_SetIsActive(handle, False)
    try:
        yield
    finally:
        for handle in handles:
            pdfium_raw.FPDFPageObj_SetIsActive(handle, True)


def kinds_in_place(page: pdfium.PdfPage) -> Counter[tuple[object, ...]]:
    """How many things of each kind a page paints at the same place of their form.

    Of text, its matrix says where that is; of all else, its edges (points).
    """
    asked = _Asked()

    def place(handle: Any, kind: ObjectKind) -> tuple[object, ...]:
        where = asked.matrix(handle) if kind == "text" else asked.edges(handle)
        return kind, *(int(value * 10) for value in where)

    everything = _within(_objects(page), Matrix(), asked)
    return Counter(place(handle, kind) for handle, kind, _ in everything)


def _objects(page: pdfium.PdfPage) -> Iterator[Any]:
    for index in range(pdfium_raw.FPDFPage_CountObjects(page.raw)):
        yield pdfium_raw.FPDFPage_GetObject(page.raw, index)


def _is_form(handle: Any) -> bool:
    return bool(pdfium_raw.FPDFPageObj_GetType(handle) == pdfium_raw.FPDF_PAGEOBJ_FORM)


def _inner(form: Any) -> list[Any]:
    """The objects of a form; none of anything else."""
    many = pdfium_raw.FPDFFormObj_CountObjects(form) if _is_form(form) else 0
    return [pdfium_raw.FPDFFormObj_GetObject(form, index) for index in range(many)]


def _within(
    handles: Iterable[Any], outer: Matrix, asked: _Asked, depth: int = 0
) -> Iterator[tuple[Any, ObjectKind, Matrix]]:
    """Objects that aren't forms, each with its kind and the matrix around it."""
    for handle in handles:
        sort = pdfium_raw.FPDFPageObj_GetType(handle)
        if sort in _OBJECT_KINDS:
            yield handle, _OBJECT_KINDS[sort], outer
        elif sort == pdfium_raw.FPDF_PAGEOBJ_FORM and depth < _DEEPEST:
            yield from _within(_inner(handle), outer @ asked.matrix(handle), asked, depth + 1)


class _Asked:
    """Asks pdfium about one object after the other, with the same room for its answers."""

    def __init__(self) -> None:
        self._matrix = pdfium_raw.FS_MATRIX()
        self._to_matrix = ctypes.byref(self._matrix)
        self._edges = [ctypes.c_float() for _ in range(4)]
        self._to_edges = [ctypes.byref(edge) for edge in self._edges]
        self._parts = [ctypes.c_uint() for _ in range(4)]
        self._to_parts = [ctypes.byref(part) for part in self._parts]
        self._width = ctypes.c_float()
        self._modes = ctypes.c_int(), ctypes.c_int()
        self._to_modes = [ctypes.byref(mode) for mode in self._modes]

    def matrix(self, handle: Any) -> Matrix:
        """From the object's coordinates to those of what holds it."""
        raw = self._matrix
        pdfium_raw.FPDFPageObj_GetMatrix(handle, self._to_matrix)
        return Matrix(raw.a, raw.b, raw.c, raw.d, raw.e, raw.f)

    def edges(self, handle: Any) -> tuple[float, ...]:
        """Left, lower, right and upper, in points of what holds it."""
        pdfium_raw.FPDFPageObj_GetBounds(handle, *self._to_edges)
        return tuple(edge.value for edge in self._edges)

    def painted(
        self, handle: Any, kind: ObjectKind, outer: Matrix, shown: Shown, within: int
    ) -> Painted:
        """What an object within a matrix puts on the page, in the page's own object ``within``."""
        own = outer @ self.matrix(handle)
        filled, stroked = kind == "text", False
        stroke_mm = 0.0
        if kind == "path":
            pdfium_raw.FPDFPath_GetDrawMode(handle, *self._to_modes)
            filled, stroked = (mode.value != 0 for mode in self._modes)
        if stroked:
            pdfium_raw.FPDFPageObj_GetStrokeWidth(handle, self._width)
            stroke_mm = mm(self._width.value * _narrowing(handle, own))
        fill = self._paint(pdfium_raw.FPDFPageObj_GetFillColor, handle) if filled else None
        stroke = self._paint(pdfium_raw.FPDFPageObj_GetStrokeColor, handle) if stroked else None
        left, bottom, right, top = self.edges(handle)
        box = _on_page(Rect(left, bottom, right - left, top - bottom), outer, shown)
        clip = _clip(handle, outer, shown)
        if stroked and clip is not None and overlap(box, clip) != box:
            # pdfium's box has the tips of joins, without end where lines nearly meet again.
            line = _on_page(Rect.around(points_of(handle)), own, shown)
            box = overlap(box, line.grown(stroke_mm / 2)) or line
        return Painted(kind, box, handle, own, clip, fill, stroke, stroke_mm, within)

    def _paint(self, get: Callable[..., int], handle: Any) -> Paint | None:
        if not get(handle, *self._to_parts):
            return None
        red, green, blue, alpha = (part.value for part in self._parts)
        return Paint(red, green, blue, alpha / 255)


_EVEN = 1e-3
"""Two scales that differ by so small a part are the same: files round their matrices."""


def _narrowing(path: Any, matrix: Matrix) -> float:
    """How much thinner or thicker a matrix makes the strokes of a path where they are thinnest.

    Where it scales unevenly, a straight line is as thick as it is across its own direction; of
    anything else some part runs in the worst direction, or may.
    """
    a, b, c, d = matrix[:4]
    area, across, down = abs(a * d - b * c), math.hypot(a, b), math.hypot(c, d)
    least, most = sorted((across, down))
    if not area or (most - least <= _EVEN * most and abs(a * c + b * d) <= _EVEN * most**2):
        return math.sqrt(area)
    points = sorted(points_of(path))
    (x0, y0), (x1, y1) = points[0], points[-1]
    length = math.hypot(x1 - x0, y1 - y0)
    straight = length and all(
        abs((x - x0) * (y1 - y0) - (y - y0) * (x1 - x0)) <= _EVEN * length**2 for x, y in points
    )
    if straight:
        along = math.hypot(a * (x1 - x0) + c * (y1 - y0), b * (x1 - x0) + d * (y1 - y0)) / length
        return area / along if along else 0.0
    half = (across**2 + down**2) / 2
    return math.sqrt(max(0.0, half - math.sqrt(max(0.0, half**2 - area**2))))


def line_box(item: Painted, page: pdfium.PdfPage) -> Rect:
    """What a stroked path takes up but for the tips of its joins, mm of the page it is on.

    pdfium's box has those, without end where lines nearly meet again.
    """
    line = _on_page(Rect.around(points_of(item.handle)), item.matrix, Shown(page))
    return line.grown(item.stroke_mm / 2)


def _on_page(rect: Rect, outer: Matrix, shown: Shown) -> Rect:
    """A box of PDF space within a form (points, y upwards) on the page as shown, mm."""
    box = outer.bounds(rect)
    return shown.rect(box.x, box.y, box.right, box.bottom)


def _clip(handle: Any, outer: Matrix, shown: Shown) -> Rect | None:
    """The box that all paths of an object's clip share."""
    path = pdfium_raw.FPDFPageObj_GetClipPath(handle)
    count = pdfium_raw.FPDFClipPath_CountPaths(path) if path else 0
    shared: Rect | None = None
    for number in range(max(0, count)):
        points = _ends(
            pdfium_raw.FPDFClipPath_GetPathSegment(path, number, index)
            for index in range(pdfium_raw.FPDFClipPath_CountPathSegments(path, number))
        )
        if points:
            box = _on_page(Rect.around(points), outer, shown)
            shared = box if shared is None else overlap(shared, box) or Rect(box.x, box.y, 0, 0)
    return shared


def _ends(segments: Iterable[Any]) -> list[tuple[float, float]]:
    """Where segments of a path end, in the path's own coordinates."""
    x, y = ctypes.c_float(), ctypes.c_float()
    at, ends = (ctypes.byref(x), ctypes.byref(y)), list[tuple[float, float]]()
    for segment in segments:
        pdfium_raw.FPDFPathSegment_GetPoint(segment, *at)
        ends.append((x.value, y.value))
    return ends


def points_of(path: Any) -> list[tuple[float, float]]:
    """The ends of all segments of a path object, in its own coordinates; control points count."""
    return _ends(
        pdfium_raw.FPDFPath_GetPathSegment(path, index)
        for index in range(pdfium_raw.FPDFPath_CountSegments(path))
    )


def subpaths_of(path: Any) -> list[list[tuple[float, float]]]:
    """The same points as ``points_of`` gives, for each part that the pen is lifted before."""
    parts: list[list[tuple[float, float]]] = []
    for index in range(pdfium_raw.FPDFPath_CountSegments(path)):
        segment = pdfium_raw.FPDFPath_GetPathSegment(path, index)
        if pdfium_raw.FPDFPathSegment_GetType(segment) == pdfium_raw.FPDF_SEGMENT_MOVETO:
            parts.append([])
        parts[-1].extend(_ends([segment]))
    return parts


def address(handle: Any) -> int:
    """A number for one of pdfium's objects, the same whenever it hands it out."""
    return ctypes.addressof(handle.contents) if handle else 0


def font_name(font: Any) -> str:
    """A font's name without the tag of its subset."""
    name = ctypes.create_string_buffer(256)
    pdfium_raw.FPDFFont_GetBaseFontName(font, name, len(name))
    return name.value.decode("utf-8", "replace").rpartition("+")[2]


def outlines_digest(font: Any) -> str:
    """A digest of a font's outlines as they are in the file, as in ``Content.fonts``."""
    size = ctypes.c_size_t()
    pdfium_raw.FPDFFont_GetFontData(font, None, 0, size)
    data = (ctypes.c_uint8 * size.value)()
    pdfium_raw.FPDFFont_GetFontData(font, data, len(data), size)
    return digest_of(bytes(data))


def fonts_used(
    words: pdfium.PdfTextPage, texts: Iterable[Painted]
) -> Iterator[tuple[Any, str, str]]:
    """The font of every text on a page, its name and what it says; ``words`` are the page's."""
    names: dict[int, str] = {}
    for handle in (item.said_by or item.handle for item in texts):
        length = pdfium_raw.FPDFTextObj_GetText(handle, words.raw, None, 0)
        said = (ctypes.c_ushort * (length // 2 + 1))()
        pdfium_raw.FPDFTextObj_GetText(handle, words.raw, said, length)
        font = pdfium_raw.FPDFTextObj_GetFont(handle)
        if (number := address(font)) not in names:
            names[number] = font_name(font)
        yield font, names[number], bytes(said).decode("utf-16-le", "replace").rstrip("\0")


Contours = list[list[tuple[float, float]]]
"""The lines around areas, each by all its points, those that draw a curve too."""


def glyph_outline(font: Any, sign: str) -> Contours:
    """The contours that a font paints for a sign (ems)."""
    path = pdfium_raw.FPDFFont_GetGlyphPath(font, ord(sign), 1.0)
    many = pdfium_raw.FPDFGlyphPath_CountGlyphSegments(path) if path else 0
    return _contours(
        [pdfium_raw.FPDFGlyphPath_GetGlyphPathSegment(path, index) for index in range(many)]
    )


def letter_outlines(text: Painted) -> Contours:
    """The contours of letters that are drawn as outlines (ems of the text over them, upwards).

    They are told from where that text starts. Empty for letters of a font.
    """
    path = text.handle
    if not text.said_by or pdfium_raw.FPDFPageObj_GetType(path) != pdfium_raw.FPDF_PAGEOBJ_PATH:
        return []
    size, asked = ctypes.c_float(), _Asked()
    pdfium_raw.FPDFTextObj_GetFontSize(text.said_by, size)
    ems = Matrix(1 / size.value, 0, 0, 1 / size.value, 0, 0) if size.value else Matrix()
    own = asked.matrix(text.said_by)
    if not own.a * own.d - own.b * own.c:
        return []
    matrix = ems @ own.inverse() @ asked.matrix(path)
    many = pdfium_raw.FPDFPath_CountSegments(path)
    segments = [pdfium_raw.FPDFPath_GetPathSegment(path, index) for index in range(many)]
    return [[matrix.point(*point) for point in one] for one in _contours(segments)]


def _contours(segments: Sequence[Any]) -> Contours:
    contours: Contours = []
    for segment, end in zip(segments, _ends(segments), strict=True):
        if pdfium_raw.FPDFPathSegment_GetType(segment) == pdfium_raw.FPDF_SEGMENT_MOVETO:
            contours.append([])
        contours[-1].append(end)
    return contours
