"""Filled SVG to vector PDF: CairoSVG draws, text is shaped and embedded."""

from __future__ import annotations

import io
from collections.abc import Sequence

from pipeline.draw.canvas import draw_pages
from pipeline.text.fonts import FontBook

__all__ = ["draw", "draw_pages"]


def draw(
    svgs: Sequence[bytes],
    book: FontBook,
    *,
    names: Sequence[str] | None = None,
    language: str = "",
) -> bytes:
    """A PDF with a page for each SVG, as bytes; see ``draw_pages``."""
    output = io.BytesIO()
    draw_pages(svgs, book, output, names=names, language=language)
    return output.getvalue()
