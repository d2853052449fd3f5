"""What a finished PDF paints: every path, text and picture with its place, colours and clip.

Read by pdfium. Forms are entered, and their matrices counted, so that all boxes are millimetres
of the page as it is shown.
"""

from __future__ import annotations

import ctypes
import functools
import math
from collections import Counter
from collections.abc import Callable, Iterator
from dataclasses import dataclass
from typing import Any, Literal, NamedTuple

import pypdfium2 as pdfium
import pypdfium2.raw as pdfium_raw

from pipeline.base.geometry import Rect, mm
from pipeline.svg.transform import Matrix

Kind = Literal["path", "text", "picture", "shading"]

_KINDS: dict[int, Kind] = {
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
class Form:
    """A form XObject placed straight on a page; ``matrix`` is in points of PDF space."""

    matrix: Matrix


@dataclass(frozen=True)
class Painted:
    """One thing painted. ``box`` (mm) has its ink, ``clip`` is what of the page may show of it.

    ``form`` is the number of the form on the page it belongs to (None: the page itself),
    ``handle`` is pdfium's own and valid while the page is open, ``matrix`` maps the object's
    coordinates to points of PDF space. ``stroke_mm`` is 0 where nothing is stroked.
    """

    kind: Kind
    box: Rect
    form: int | None
    handle: Any
    matrix: Matrix
    clip: Rect | None = None
    fill: Paint | None = None
    stroke: Paint | None = None
    stroke_mm: float = 0.0

    @property
    def seen(self) -> Rect | None:
        """The part of its box that its clip lets through; None when nothing is."""
        if self.clip is None:
            return self.box
        return overlap(self.box, self.clip)


def overlap(one: Rect, other: Rect) -> Rect | None:
    """What two rectangles share; None when they do not touch.

    >>> overlap(Rect(0, 0, 10, 10), Rect(5, 5, 10, 10))
    Rect(x=5, y=5, width=5, height=5)
    """
    left, top = max(one.x, other.x), max(one.y, other.y)
    right, bottom = min(one.right, other.right), min(one.bottom, other.bottom)
    return Rect(left, top, right - left, bottom - top) if right >= left and bottom >= top else None


class Shown:
    """From PDF space (points, upwards, before the page's own turn) to mm of the page as shown."""

    def __init__(self, page: pdfium.PdfPage) -> None:
        self.turn = page.get_rotation()
        self.left, self.bottom, self.right, self.top = page.get_bbox()

    def rect(self, left: float, bottom: float, right: float, top: float) -> Rect:
        """A rectangle given by its edges in PDF space."""
        if self.turn == 0:
            return Rect(
                mm(left - self.left), mm(self.top - top), mm(right - left), mm(top - bottom)
            )
        from_left, from_right = left - self.left, self.right - right
        from_top, from_bottom = self.top - top, bottom - self.bottom
        x, y = {
            90: (from_bottom, from_left),
            180: (from_right, from_bottom),
            270: (from_top, from_right),
        }[self.turn]
        width, height = right - left, top - bottom
        if self.turn % 180:
            width, height = height, width
        return Rect(mm(x), mm(y), mm(width), mm(height))

    def upward(self, angle: float) -> bool:
        """Whether a line set at an angle (radians, in PDF space) runs up or down as shown."""
        on_its_side: bool = self.turn % 180 != 0
        return (abs(math.sin(angle)) > 0.7) != on_its_side


def top_forms(page: pdfium.PdfPage) -> tuple[Form, ...]:
    """The forms placed straight on a page, in the order they are painted."""
    asked, found = _Asked(), []
    for index in range(pdfium_raw.FPDFPage_CountObjects(page.raw)):
        handle = pdfium_raw.FPDFPage_GetObject(page.raw, index)
        if pdfium_raw.FPDFPageObj_GetType(handle) == pdfium_raw.FPDF_PAGEOBJ_FORM:
            found.append(Form(asked.matrix(handle)))
    return tuple(found)


def painted(page: pdfium.PdfPage, *, text_only: bool = False) -> Iterator[Painted]:
    """Everything a page paints, or its letters alone, from the bottom up."""
    shown, asked = Shown(page), _Asked()
    for handle, kind, outer, form in _within(_objects(page), Matrix(), None, asked, 0):
        if not text_only or kind == "text":
            yield _one(handle, kind, outer, form, shown, asked)


def kinds(page: pdfium.PdfPage) -> Counter[Kind]:
    """How many things of each kind a page paints."""
    return Counter(kind for _, kind, _, _ in _within(_objects(page), Matrix(), None, _Asked(), 0))


class _Asked:
    """Asks pdfium about one object after the other, with the same room for its answers."""

    def __init__(self) -> None:
        self._matrix = pdfium_raw.FS_MATRIX()
        self._edges = [ctypes.c_float() for _ in range(4)]
        self._parts = [ctypes.c_uint() for _ in range(4)]
        self._width = ctypes.c_float()
        self._mode, self._stroked = ctypes.c_int(), ctypes.c_int()

    def matrix(self, handle: Any) -> Matrix:
        """From the object's coordinates to those of what holds it."""
        raw = self._matrix
        pdfium_raw.FPDFPageObj_GetMatrix(handle, raw)
        return Matrix(raw.a, raw.b, raw.c, raw.d, raw.e, raw.f)

    def box(self, handle: Any) -> Rect:
        """The box of its ink, in points, y upwards, within what holds it."""
        left, bottom, right, top = self._edges
        pdfium_raw.FPDFPageObj_GetBounds(handle, left, bottom, right, top)
        x, y = left.value, bottom.value
        return Rect(x, y, right.value - x, top.value - y)

    def paint(self, get: Callable[..., int], handle: Any) -> Paint | None:
        """Its colour, filled or stroked."""
        red, green, blue, alpha = self._parts
        if not get(handle, red, green, blue, alpha):
            return None
        return Paint(red.value, green.value, blue.value, alpha.value / 255)

    def drawn(self, handle: Any) -> tuple[bool, bool]:
        """Whether a path is filled, and whether it is stroked."""
        pdfium_raw.FPDFPath_GetDrawMode(handle, self._mode, self._stroked)
        return self._mode.value != 0, self._stroked.value != 0

    def stroke_width(self, handle: Any) -> float:
        """How wide a path is stroked, in its own coordinates."""
        pdfium_raw.FPDFPageObj_GetStrokeWidth(handle, self._width)
        return self._width.value


class _Objects(NamedTuple):
    """The objects that a page or a form holds."""

    get: Callable[[int], Any]
    many: int


def _objects(page: pdfium.PdfPage) -> _Objects:
    get = functools.partial(pdfium_raw.FPDFPage_GetObject, page.raw)
    return _Objects(get, pdfium_raw.FPDFPage_CountObjects(page.raw))


def _within(
    held: _Objects, outer: Matrix, form: int | None, asked: _Asked, depth: int
) -> Iterator[tuple[Any, Kind, Matrix, int | None]]:
    """Objects that are no forms: handle, kind, the matrix around it, the form of the page."""
    forms = 0
    for index in range(held.many):
        handle = held.get(index)
        sort = pdfium_raw.FPDFPageObj_GetType(handle)
        if sort == pdfium_raw.FPDF_PAGEOBJ_FORM:
            number = forms if depth == 0 else form
            forms += 1
            if depth < _DEEPEST:
                get = functools.partial(pdfium_raw.FPDFFormObj_GetObject, handle)
                inner = _Objects(get, pdfium_raw.FPDFFormObj_CountObjects(handle))
                yield from _within(inner, outer @ asked.matrix(handle), number, asked, depth + 1)
        elif sort in _KINDS:
            yield handle, _KINDS[sort], outer, form


def _one(
    handle: Any, kind: Kind, outer: Matrix, form: int | None, shown: Shown, asked: _Asked
) -> Painted:
    own = outer @ asked.matrix(handle)
    fill = stroke = None
    width = 0.0
    if kind == "path":
        filled, stroked = asked.drawn(handle)
        if filled:
            fill = asked.paint(pdfium_raw.FPDFPageObj_GetFillColor, handle)
        if stroked:
            stroke = asked.paint(pdfium_raw.FPDFPageObj_GetStrokeColor, handle)
            scale = math.sqrt(abs(own.a * own.d - own.b * own.c))
            width = mm(asked.stroke_width(handle) * scale)
    elif kind == "text":
        fill = asked.paint(pdfium_raw.FPDFPageObj_GetFillColor, handle)
    box = _on_page(asked.box(handle), outer, shown)
    clip = _clip(handle, outer, shown)
    return Painted(kind, box, form, handle, own, clip, fill, stroke, width)


def _on_page(rect: Rect, outer: Matrix, shown: Shown) -> Rect:
    """A box of PDF space within a form (points, y upwards) on the page as shown, mm."""
    if outer.b == outer.c == 0 and outer.a > 0 and outer.d > 0:
        left, bottom = outer.a * rect.x + outer.e, outer.d * rect.y + outer.f
        return shown.rect(left, bottom, left + outer.a * rect.width, bottom + outer.d * rect.height)
    box = outer.bounds(rect)
    return shown.rect(box.x, box.y, box.right, box.bottom)


def _clip(handle: Any, outer: Matrix, shown: Shown) -> Rect | None:
    """The box that all paths of an object's clip share."""
    path = pdfium_raw.FPDFPageObj_GetClipPath(handle)
    count = pdfium_raw.FPDFClipPath_CountPaths(path) if path else 0
    shared: Rect | None = None
    for number in range(max(0, count)):
        points = [
            point_of(pdfium_raw.FPDFClipPath_GetPathSegment(path, number, index))
            for index in range(pdfium_raw.FPDFClipPath_CountPathSegments(path, number))
        ]
        if not points:
            continue
        box = _on_page(Rect.around(points), outer, shown)
        shared = box if shared is None else overlap(shared, box) or Rect(box.x, box.y, 0, 0)
    return shared


def point_of(segment: Any) -> tuple[float, float]:
    """Where a segment of a path ends, in the path's own coordinates."""
    x, y = ctypes.c_float(), ctypes.c_float()
    pdfium_raw.FPDFPathSegment_GetPoint(segment, ctypes.byref(x), ctypes.byref(y))
    return x.value, y.value


def points_of(path: Any) -> list[tuple[float, float]]:
    """The ends of all segments of a path object, in its own coordinates; control points count."""
    return [
        point_of(pdfium_raw.FPDFPath_GetPathSegment(path, index))
        for index in range(pdfium_raw.FPDFPath_CountSegments(path))
    ]
