"""What a finished PDF paints: every path, text and picture with its place, colours and clip.

Read by pdfium. Forms are entered, and their matrices counted, so that all boxes are millimetres
of the page as it is shown.
"""

from __future__ import annotations

import ctypes
import functools
import math
from collections.abc import Callable, Iterator
from dataclasses import dataclass
from typing import Any, Literal, NamedTuple

import pypdfium2 as pdfium
import pypdfium2.raw as pdfium_raw

from pipeline.fill.matrix import Matrix
from pipeline.geometry import Rect, mm

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
        from_left, from_right = left - self.left, self.right - right
        from_top, from_bottom = self.top - top, bottom - self.bottom
        x, y = {
            0: (from_left, from_top),
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
    found = []
    for index in range(pdfium_raw.FPDFPage_CountObjects(page.raw)):
        handle = pdfium_raw.FPDFPage_GetObject(page.raw, index)
        if pdfium_raw.FPDFPageObj_GetType(handle) == pdfium_raw.FPDF_PAGEOBJ_FORM:
            found.append(Form(_matrix(handle)))
    return tuple(found)


def painted(page: pdfium.PdfPage) -> Iterator[Painted]:
    """Everything a page paints, from the bottom up."""
    shown = Shown(page)

    def get(index: int) -> Any:
        return pdfium_raw.FPDFPage_GetObject(page.raw, index)

    count = pdfium_raw.FPDFPage_CountObjects(page.raw)
    yield from _within(get, count, Matrix(), None, shown, 0)


def _within(
    get: Callable[[int], Any],
    count: int,
    outer: Matrix,
    form: int | None,
    shown: Shown,
    depth: int,
) -> Iterator[Painted]:
    forms = 0
    for index in range(count):
        handle = get(index)
        kind = pdfium_raw.FPDFPageObj_GetType(handle)
        if kind == pdfium_raw.FPDF_PAGEOBJ_FORM:
            inner = outer @ _matrix(handle)
            number = forms if depth == 0 else form
            forms += 1
            if depth < _DEEPEST:
                yield from _within(
                    functools.partial(pdfium_raw.FPDFFormObj_GetObject, handle),
                    max(0, pdfium_raw.FPDFFormObj_CountObjects(handle)),
                    inner,
                    number,
                    shown,
                    depth + 1,
                )
        elif kind in _KINDS:
            yield _one(handle, _KINDS[kind], outer, form, shown)


def _one(handle: Any, kind: Kind, outer: Matrix, form: int | None, shown: Shown) -> Painted:
    own = outer @ _matrix(handle)
    fill = stroke = None
    width = 0.0
    if kind == "path":
        mode, stroked = ctypes.c_int(), ctypes.c_int()
        pdfium_raw.FPDFPath_GetDrawMode(handle, ctypes.byref(mode), ctypes.byref(stroked))
        if mode.value:
            fill = _paint(pdfium_raw.FPDFPageObj_GetFillColor, handle)
        if stroked.value:
            stroke = _paint(pdfium_raw.FPDFPageObj_GetStrokeColor, handle)
            raw = ctypes.c_float()
            pdfium_raw.FPDFPageObj_GetStrokeWidth(handle, ctypes.byref(raw))
            width = mm(raw.value * math.sqrt(abs(own.a * own.d - own.b * own.c)))
    elif kind == "text":
        fill = _paint(pdfium_raw.FPDFPageObj_GetFillColor, handle)
    return Painted(
        kind, _box(handle, outer, shown), form, handle, own, _clip(handle, outer, shown), fill,
        stroke, width,
    )  # fmt: skip


def _matrix(handle: Any) -> Matrix:
    raw = pdfium_raw.FS_MATRIX()
    pdfium_raw.FPDFPageObj_GetMatrix(handle, ctypes.byref(raw))
    return Matrix(raw.a, raw.b, raw.c, raw.d, raw.e, raw.f)


def _box(handle: Any, outer: Matrix, shown: Shown) -> Rect:
    edges = [ctypes.c_float() for _ in range(4)]
    pdfium_raw.FPDFPageObj_GetBounds(handle, *(ctypes.byref(edge) for edge in edges))
    left, bottom, right, top = (edge.value for edge in edges)
    return on_page(Rect(left, bottom, right - left, top - bottom), outer, shown)


def on_page(rect: Rect, outer: Matrix, shown: Shown) -> Rect:
    """A box of PDF space within a form (points, y upwards) on the page as shown, mm."""
    box = outer.bounds(rect)
    return shown.rect(box.x, box.y, box.right, box.bottom)


def _paint(get: Callable[..., int], handle: Any) -> Paint | None:
    parts = [ctypes.c_uint() for _ in range(4)]
    if not get(handle, *(ctypes.byref(part) for part in parts)):
        return None
    red, green, blue, alpha = (part.value for part in parts)
    return Paint(red, green, blue, alpha / 255)


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
        left, low = min(x for x, _ in points), min(y for _, y in points)
        right, high = max(x for x, _ in points), max(y for _, y in points)
        box = on_page(Rect(left, low, right - left, high - low), outer, shown)
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
