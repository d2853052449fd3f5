"""Pixels of a finished PDF, made by pdfium: another library than the one that wrote the file.

Everything is asked for in millimetres of the page as it is shown, and comes back on white paper.
"""

from __future__ import annotations

from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import Literal

import pypdfium2 as pdfium
import pypdfium2.raw as pdfium_raw
from PIL import Image

from pipeline.base.errors import UserError
from pipeline.base.geometry import MM_PER_INCH, PT_PER_MM, Rect, mm

Turn = Literal[0, 90, 180, 270]
"""Degrees clockwise that something is turned on the sheet."""

_FINER = 3
"""How many times finer pdfium draws than is asked for, before it is averaged.

pdfium sets every letter on a whole pixel. On a screen's few pixels that spoils the fit of the
letters, and a thousandth of a millimetre can make one jump; drawn finer, neither is seen.
"""
_FINE_DPI = 200.0
"""From here on a pixel is so small that twice as fine is enough (by eye); large areas stay
quick."""


def pixels(length_mm: float, dpi: float) -> int:
    """Whole pixels for a length in millimetres, at least one.

    >>> pixels(25.4, 100), pixels(148, 100)
    (100, 583)
    """
    return max(1, round(length_mm * dpi / MM_PER_INCH))


@contextmanager
def opened(pdf: Path | bytes) -> Iterator[pdfium.PdfDocument]:
    """A PDF, given as its file or its bytes, closed again at the end.

    Raises ``UserError`` when there is no such file or pdfium cannot read it.
    """
    name = "PDF" if isinstance(pdf, bytes) else str(pdf)
    if isinstance(pdf, Path) and not pdf.is_file():
        raise UserError(name, "no such file", "build the set again")
    try:
        document = pdfium.PdfDocument(pdf)
    except pdfium.PdfiumError as error:
        raise UserError(name, f"not a readable PDF ({error})", "build it again") from error
    try:
        yield document
    finally:
        document.close()


def page_size_mm(page: pdfium.PdfPage) -> tuple[float, float]:
    """Width and height of a page as it is shown, in mm."""
    width_pt, height_pt = page.get_size()
    return mm(width_pt), mm(height_pt)


def page_picture(page: pdfium.PdfPage, dpi: float) -> Image.Image:
    """A whole page as an RGB picture at ``dpi`` pixels an inch, on white."""
    return area_picture(page, Rect(0, 0, *page_size_mm(page)), dpi)


def area_picture(page: pdfium.PdfPage, area: Rect, dpi: float, turned: Turn = 0) -> Image.Image:
    """What lies in ``area`` (mm from the top left of the page as shown), set upright, on white.

    ``turned`` is how far clockwise the thing in the area is turned on the page; it is turned back
    before a pixel is made, and the area's own corner is where the pixels begin. So the picture of
    a leaf is the same to the pixel wherever and however it lies on its sheet.
    """
    across, down = (area.width, area.height) if turned % 180 == 0 else (area.height, area.width)
    finer = _FINER if dpi < _FINE_DPI else 2
    bitmap = pdfium.PdfBitmap.new_native(
        pixels(across, dpi) * finer, pixels(down, dpi) * finer, pdfium_raw.FPDFBitmap_BGR
    )
    bitmap.fill_rect((255, 255, 255, 255), 0, 0, bitmap.width, bitmap.height)

    # Where the point (x, y) of the page, in mm, falls in the picture: x' = a x + c y + e and
    # y' = b x + d y + f, in pixels.
    a, b, c, d, e, f = {
        0: (1, 0, 0, 1, -area.x, -area.y),
        90: (0, -1, 1, 0, -area.y, area.right),
        180: (-1, 0, 0, -1, area.right, area.bottom),
        270: (0, 1, -1, 0, area.bottom, -area.x),
    }[turned]
    per_mm = dpi * finer / MM_PER_INCH
    scale = per_mm / PT_PER_MM
    matrix = pdfium_raw.FS_MATRIX(
        a * scale, b * scale, c * scale, d * scale, e * per_mm, f * per_mm
    )
    clip = pdfium_raw.FS_RECTF(0, 0, bitmap.width, bitmap.height)
    pdfium_raw.FPDF_RenderPageBitmapWithMatrix(bitmap, page, matrix, clip, 0)
    picture: Image.Image = bitmap.to_pil()
    return picture.convert("RGB").reduce(finer)
