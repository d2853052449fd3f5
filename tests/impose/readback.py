"""Reads finished files back with pdfium: not the library that wrote them."""

from __future__ import annotations

import ctypes
import math
from dataclasses import dataclass

import numpy as np
import pypdfium2 as pdfium
import pypdfium2.raw as raw
from numpy.typing import NDArray

from pipeline.base.geometry import Rect, mm


@dataclass(frozen=True)
class Path:
    """A drawn path: its points in mm from the sheet's top left.

    ``faint`` tells that its line is grey: a sample in the legend, no mark to cut by.
    """

    points: tuple[tuple[float, float], ...]
    faint: bool = False

    @property
    def box(self) -> Rect:
        """The rectangle its points span."""
        xs, ys = [x for x, _ in self.points], [y for _, y in self.points]
        return Rect(min(xs), min(ys), max(xs) - min(xs), max(ys) - min(ys))

    @property
    def is_line(self) -> bool:
        """Whether it is one straight stroke along x or y."""
        return len(self.points) == 2 and min(self.box.width, self.box.height) < 0.01


def paths(pdf: bytes, number: int) -> list[Path]:
    """All paths of a page, those inside form XObjects too, with every matrix applied."""
    with pdfium.PdfDocument(pdf) as document:
        page = document[number]
        height = page.get_height()
        return [
            _path(item, height)
            for item in page.get_objects(max_depth=15)
            if item.type == raw.FPDF_PAGEOBJ_PATH
        ]


def _path(item: pdfium.PdfObject, page_height: float) -> Path:
    matrix = item.get_matrix()
    container = item.container
    while container is not None:
        matrix = matrix.multiply(container.get_matrix())
        container = container.container
    points = []
    for index in range(raw.FPDFPath_CountSegments(item.raw)):
        segment = raw.FPDFPath_GetPathSegment(item.raw, index)
        x, y = ctypes.c_float(), ctypes.c_float()
        raw.FPDFPathSegment_GetPoint(segment, x, y)
        px, py = matrix.on_point(x.value, y.value)
        points.append((mm(px), mm(page_height - py)))
    level = (ctypes.c_uint(), ctypes.c_uint(), ctypes.c_uint(), ctypes.c_uint())
    raw.FPDFPageObj_GetStrokeColor(item.raw, *level)
    return Path(tuple(points), level[0].value > 100)


def without_bar(found: list[Path]) -> list[Path]:
    """The paths less the 100 mm bar and its ticks and the legend, which need not lie back to
    back."""
    bar = the_bar(found).box.grown(1.2)
    return [path for path in found if not (path.faint or bar.holds(path.box))]


def the_bar(found: list[Path]) -> Path:
    """The one straight line of 100 mm."""
    bars = [p for p in found if p.is_line and abs(max(p.box.width, p.box.height) - 100) < 0.05]
    assert len(bars) == 1, f"{len(bars)} lines of 100 mm"
    return bars[0]


def picture(pdf: bytes, number: int, dpi: float = 300) -> NDArray[np.uint8]:
    """A page in greys, 0 black to 255 white."""
    with pdfium.PdfDocument(pdf) as document:
        scale = dpi / 72 * (1 - 1e-9)  # 792 pt at 300 dpi are 3300 pixels, not 3301
        image = document[number].render(scale=scale, grayscale=True)
        return np.array(image.to_numpy()).reshape(image.height, image.width)


def words(pdf: bytes, number: int) -> str:
    """The text of a page."""
    with pdfium.PdfDocument(pdf) as document:
        return str(document[number].get_textpage().get_text_bounded())


def type_size(pdf: bytes, number: int, said: str) -> float:
    """The size in pt that words of a page are set in, by the font and the matrix of their first
    letter."""
    with pdfium.PdfDocument(pdf) as document:
        text = document[number].get_textpage()
        found = text.search(said).get_next()
        assert found is not None, said
        matrix = raw.FS_MATRIX()
        raw.FPDFText_GetMatrix(text.raw, found[0], matrix)
        return float(raw.FPDFText_GetFontSize(text.raw, found[0]) * math.hypot(matrix.a, matrix.b))
