"""Draws SVGs as the pages of one PDF: plain text the short way, all else through CairoSVG."""

from __future__ import annotations

from collections.abc import Sequence
from typing import BinaryIO

import cairocffi
from cairosvg.parser import Tree

from pipeline.base.geometry import pt
from pipeline.draw.blank import BlankFace
from pipeline.draw.canvas import Canvas
from pipeline.draw.textpage import draw_text_page
from pipeline.text.fonts import FontBook


def draw_pages(
    svgs: Sequence[bytes],
    book: FontBook,
    output: BinaryIO,
    *,
    names: Sequence[str] | None = None,
    language: str = "",
) -> None:
    """Writes a PDF with a page for each SVG, at the SVG's own size.

    ``svgs`` are simplified SVGs whose width and height carry a unit. ``names`` say in errors
    which page is meant. Vector only; each face is embedded once, as a subset, or where the book
    says so letters are outlines with findable text over them. Raises UserError for fonts or
    characters that cannot be had.
    """
    surface = cairocffi.PDFSurface(output, pt(1), pt(1))
    surface.set_metadata(cairocffi.PDF_METADATA_CREATE_DATE, "2000-01-01T00:00:00Z")
    blank = None if book.embedded else BlankFace()
    for number, svg in enumerate(svgs):
        where = names[number] if names else f"page {number + 1}"
        if not draw_text_page(svg, surface, book, where, language, blank):
            Canvas(Tree(bytestring=svg), surface, book, where, language, blank)
        surface.show_page()
    surface.finish()
