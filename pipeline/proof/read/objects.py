"""What a finished PDF paints: every path, text and picture with its place, colours and clip.

Forms are entered, and their matrices counted, so that all boxes are mm of the page as it is shown.
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
    coordinates to points of PDF space. ``stroke_mm`` is 0 where nothing is stroked.
    """

    kind: ObjectKind
    box: Rect
    handle: Any
    matrix: Matrix
    clip: Rect | None = None
    fill: Paint | None = None
    stroke: Paint | None = None
    stroke_mm: float = 0.0

    @property
    def seen(self) -> Rect | None:
        """The part of its box that its clip lets through; None when nothing is."""
        return self.box if self.clip is None else overlap(self.box, self.clip)


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


class Shown:
    """From PDF space (points, upwards, before the page's own turn) to mm of the page as shown."""

    def __init__(self, page: pdfium.PdfPage) -> None:
        self.turn = page.get_rotation()
        self.left, self.bottom, self.right, self.top = page.get_bbox()

    def rect(self, left: float, bottom: float, right: float, top: float) -> Rect:
        """A rectangle given by its edges in PDF space."""
        width, height = right - left, top - bottom
        if self.turn == 0:
            return Rect(mm(left - self.left), mm(self.top - top), mm(width), mm(height))
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

    def upward(self, angle: float) -> bool:
        """Whether a line set at an angle (radians, in PDF space) runs up or down as shown."""
        on_its_side: bool = self.turn % 180 != 0
        return (abs(math.sin(angle)) > 0.7) != on_its_side


def top_forms(page: pdfium.PdfPage) -> list[Matrix]:
    """The matrices (in points of PDF space) of the form XObjects placed straight on a page.

    In the order they are painted.
    """
    asked = _Asked()
    handles = _objects(page)
    kind = pdfium_raw.FPDFPageObj_GetType
    return [asked.matrix(one) for one in handles if kind(one) == pdfium_raw.FPDF_PAGEOBJ_FORM]


def painted(page: pdfium.PdfPage, *, text_only: bool = False) -> Iterator[Painted]:
    """Everything a page paints, or its letters alone, from the bottom up."""
    shown, asked = Shown(page), _Asked()
    for handle, kind, outer in _within(_objects(page), Matrix(), asked):
        if not text_only or kind == "text":
            yield asked.painted(handle, kind, outer, shown)


def kinds_in_place(page: pdfium.PdfPage) -> Counter[tuple[object, ...]]:
    """How many things of each kind a page paints at the same place of their form.

    Of text, its matrix says where that is; of all else, its edges (points).
    """
    asked, edges = _Asked(), [ctypes.c_float() for _ in range(4)]

    def place(handle: Any, kind: ObjectKind) -> tuple[object, ...]:
        if kind == "text":
            return kind, *(int(value * 10) for value in asked.matrix(handle))
        pdfium_raw.FPDFPageObj_GetBounds(handle, *edges)
        return kind, *(int(edge.value * 10) for edge in edges)

    everything = _within(_objects(page), Matrix(), asked)
    return Counter(place(handle, kind) for handle, kind, _ in everything)


def _objects(page: pdfium.PdfPage) -> Iterator[Any]:
    for index in range(pdfium_raw.FPDFPage_CountObjects(page.raw)):
        yield pdfium_raw.FPDFPage_GetObject(page.raw, index)


def _within(
    handles: Iterator[Any], outer: Matrix, asked: _Asked, depth: int = 0
) -> Iterator[tuple[Any, ObjectKind, Matrix]]:
    """Objects that aren't forms, each with its kind and the matrix around it."""
    for handle in handles:
        sort = pdfium_raw.FPDFPageObj_GetType(handle)
        if sort in _OBJECT_KINDS:
            yield handle, _OBJECT_KINDS[sort], outer
        elif sort == pdfium_raw.FPDF_PAGEOBJ_FORM and depth < _DEEPEST:
            many = pdfium_raw.FPDFFormObj_CountObjects(handle)
            get = functools.partial(pdfium_raw.FPDFFormObj_GetObject, handle)
            inner = map(get, range(many))
            yield from _within(inner, outer @ asked.matrix(handle), asked, depth + 1)


class _Asked:
    """Asks pdfium about one object after the other, with the same room for its answers."""

    def __init__(self) -> None:
        self._matrix = pdfium_raw.FS_MATRIX()
        self._edges = [ctypes.c_float() for _ in range(4)]
        self._parts = [ctypes.c_uint() for _ in range(4)]
        self._width = ctypes.c_float()
        self._filled, self._stroked = ctypes.c_int(), ctypes.c_int()

    def matrix(self, handle: Any) -> Matrix:
        """From the object's coordinates to those of what holds it."""
        raw = self._matrix
        pdfium_raw.FPDFPageObj_GetMatrix(handle, raw)
        return Matrix(raw.a, raw.b, raw.c, raw.d, raw.e, raw.f)

    def painted(self, handle: Any, kind: ObjectKind, outer: Matrix, shown: Shown) -> Painted:
        """What an object within a matrix puts on the page."""
        own = outer @ self.matrix(handle)
        filled, stroked = kind == "text", False
        stroke_mm = 0.0
        if kind == "path":
            pdfium_raw.FPDFPath_GetDrawMode(handle, self._filled, self._stroked)
            filled, stroked = self._filled.value != 0, self._stroked.value != 0
        if stroked:
            pdfium_raw.FPDFPageObj_GetStrokeWidth(handle, self._width)
            stroke_mm = mm(self._width.value * math.sqrt(abs(own.a * own.d - own.b * own.c)))
        fill = self._paint(pdfium_raw.FPDFPageObj_GetFillColor, handle) if filled else None
        stroke = self._paint(pdfium_raw.FPDFPageObj_GetStrokeColor, handle) if stroked else None
        left, bottom, right, top = self._edges
        pdfium_raw.FPDFPageObj_GetBounds(handle, left, bottom, right, top)
        x, y = left.value, bottom.value
        box = _on_page(Rect(x, y, right.value - x, top.value - y), outer, shown)
        clip = _clip(handle, outer, shown)
        return Painted(kind, box, handle, own, clip, fill, stroke, stroke_mm)

    def _paint(self, get: Callable[..., int], handle: Any) -> Paint | None:
        if not get(handle, *self._parts):
            return None
        red, green, blue, alpha = (part.value for part in self._parts)
        return Paint(red, green, blue, alpha / 255)


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
        points = [
            _end(pdfium_raw.FPDFClipPath_GetPathSegment(path, number, index))
            for index in range(pdfium_raw.FPDFClipPath_CountPathSegments(path, number))
        ]
        if points:
            box = _on_page(Rect.around(points), outer, shown)
            shared = box if shared is None else overlap(shared, box) or Rect(box.x, box.y, 0, 0)
    return shared


def _end(segment: Any) -> tuple[float, float]:
    """Where a segment of a path ends, in the path's own coordinates."""
    x, y = ctypes.c_float(), ctypes.c_float()
    pdfium_raw.FPDFPathSegment_GetPoint(segment, ctypes.byref(x), ctypes.byref(y))
    return x.value, y.value


def points_of(path: Any) -> list[tuple[float, float]]:
    """The ends of all segments of a path object, in its own coordinates; control points count."""
    return [
        _end(pdfium_raw.FPDFPath_GetPathSegment(path, index))
        for index in range(pdfium_raw.FPDFPath_CountSegments(path))
    ]
