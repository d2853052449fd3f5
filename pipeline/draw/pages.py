"""Draws SVGs as the pages of one PDF."""

from __future__ import annotations

from collections.abc import Sequence

from pipeline.draw.blank import BlankFace
from pipeline.draw.canvas import Canvas
from pipeline.draw.node import tree
from pipeline.draw.paper import Paper
from pipeline.text.fonts import FontBook


def draw(
    svgs: Sequence[bytes],
    book: FontBook,
    *,
    names: Sequence[str] | None = None,
    language: str = "",
) -> bytes:
    """A PDF with a page for each SVG, at the SVG's own size.

    ``svgs`` are simplified SVGs whose width and height carry a unit. ``names`` say in errors
    which page is meant. Vector only; each face is embedded once, as a subset, or where the book
    says so letters are outlines with findable text over them. Raises UserError for fonts or
    characters that cannot be had.
    """
    paper = Paper()
    blank = None if book.embedded else BlankFace()
    for number, svg in enumerate(svgs):
        where = names[number] if names else f"page {number + 1}"
        Canvas(tree(svg), paper, book, where, language, blank)
        paper.turn()
    return paper.finish()
