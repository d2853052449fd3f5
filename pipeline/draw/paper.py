"""A cairo PDF surface whose pages have sizes of their own, each drawable to its very edge."""

from __future__ import annotations

import io
import math

import cairocffi
from pypdf import PdfReader, PdfWriter

from pipeline.base.geometry import pt


class Paper:
    """Pages of one PDF, drawn on one after the other, so that each face is embedded once.

    When a page is given another size, cairo cuts layers to the whole points below it; the pages
    after that one are not cut. So a page is let go after each change of size, and left out in the
    end.
    """

    def __init__(self) -> None:
        self._output = io.BytesIO()
        self._surface: cairocffi.PDFSurface | None = None
        self._size = (pt(1), pt(1))
        self._kept: list[int] = []
        self._count = 0

    def page(self, width: float, height: float) -> cairocffi.PDFSurface:
        """The current page, which nothing was drawn on yet, made ``width`` by ``height`` pt."""
        if self._surface is None:
            self._size = (width, height)
            return self._started()
        if math.dist(self._size, (width, height)) > 1e-6:
            self._size = (width, height)
            self._surface.set_size(width, height)
            self._show()
        return self._surface

    def _started(self) -> cairocffi.PDFSurface:
        if self._surface is None:
            self._surface = cairocffi.PDFSurface(self._output, *self._size)
            self._surface.set_metadata(cairocffi.PDF_METADATA_CREATE_DATE, "2000-01-01T00:00:00Z")
        return self._surface

    def _show(self) -> None:
        self._started().show_page()
        self._count += 1

    def turn(self) -> None:
        """Keeps the current page as it is drawn, and starts another of its size."""
        self._kept.append(self._count)
        self._show()

    def finish(self) -> bytes:
        """The PDF of all pages; nothing can be drawn any more."""
        self._started().finish()
        drawn = self._output.getvalue()
        if len(self._kept) == self._count:
            return drawn
        writer = PdfWriter()
        writer.append(PdfReader(io.BytesIO(drawn)), pages=self._kept, import_outline=False)
        output = io.BytesIO()
        writer.write(output)
        return output.getvalue()
