"""Filled pages to vector PDF: CairoSVG draws, text is shaped and embedded, layers are shared."""

from __future__ import annotations

import io
from collections.abc import Mapping, Sequence

from pypdf import PageObject, PdfWriter
from pypdf.generic import IndirectObject, RectangleObject

from pipeline.base.cache import NO_CACHE, Cache, key_of
from pipeline.base.errors import UserError
from pipeline.base.geometry import pt
from pipeline.draw.canvas import Canvas, PageSurface
from pipeline.draw.forms import Source, form_from, form_of, group_of, place
from pipeline.draw.node import tree
from pipeline.draw.tiles import Effect
from pipeline.draw.vector import VectorArt, vector_art
from pipeline.fill import FilledPage, PageLayer
from pipeline.fill.ownpage import page_in
from pipeline.plan.model import EFFECT_DPI
from pipeline.svg.refusals import reading
from pipeline.text.fonts import FontBook

__all__ = ["draw", "draw_set", "effects"]


def draw_set(
    pages: Sequence[FilledPage],
    book: FontBook,
    language: str = "",
    cache: Cache = NO_CACHE,
    dpi: float = EFFECT_DPI,
    *,
    private: bool = False,
) -> bytes:
    """A PDF with a page for each filled page, at its flat size.

    Layers that pages share are drawn once. All layers with text are drawn on one surface, so
    that each face is embedded once; artwork is drawn layer by layer. ``dpi`` is of pictures of
    filtered elements. Of ``private`` texts the cache keeps nothing. Raises UserError for fonts or
    characters that cannot be had, naming the first page that wants them.
    """
    names: dict[PageLayer, str] = {}
    sizes: dict[PageLayer, tuple[float, float]] = {}
    for page in pages:
        for layer in page.layers:
            names.setdefault(layer, page.name)
            sizes.setdefault(layer, (page.width_mm, page.height_mm))
    for_texts = NO_CACHE if private else cache
    texts = _drawn_texts(names, sizes, book, language, dpi, for_texts)
    writer = PdfWriter()
    blending = {layer for layer in names if _blends(layer)}
    forms: dict[PageLayer, IndirectObject] = {}
    for layer in names:
        if layer.has_text:
            forms[layer] = form_of(writer, texts[layer], apart=False)
        else:
            forms[layer] = _art(writer, layer, sizes[layer], book, names[layer], cache, dpi)
    for page in pages:
        size = pt(page.width_mm), pt(page.height_mm)
        sheet, shown = writer.add_blank_page(*size), [forms[layer] for layer in page.layers]
        if not blending.isdisjoint(page.layers):
            shown = [group_of(writer, size, shown)]
        place(sheet, writer, [("", form) for form in shown])
    output = io.BytesIO()
    writer.write(output)
    return output.getvalue()


def _drawn_texts(
    names: Mapping[PageLayer, str],
    sizes: Mapping[PageLayer, tuple[float, float]],
    book: FontBook,
    language: str,
    dpi: float,
    cache: Cache,
) -> dict[PageLayer, PageObject]:
    """Layers with text as pages of one PDF, those of one size one after another."""
    layers = [layer for layer in names if layer.has_text]

    def drawn(ordered: Sequence[PageLayer]) -> PageSurface:
        svgs, wanted = [layer.svg for layer in ordered], [names[layer] for layer in ordered]
        return _drawn(svgs, book, wanted, language, PageSurface(dpi, cache))

    if not layers:
        return {}
    by_size = sorted(layers, key=sizes.__getitem__)
    try:
        pages = drawn(by_size).pages()
    except UserError:
        drawn(layers)  # which stops at the first page that wants what cannot be had
        raise
    return dict(zip(by_size, pages, strict=True))


def _blends(layer: PageLayer) -> bool:
    """Whether anything on a layer blends with what is below it."""
    return b"mix-blend-mode" in layer.svg


def _art(
    writer: PdfWriter,
    layer: PageLayer,
    size_mm: tuple[float, float],
    book: FontBook,
    name: str,
    cache: Cache,
    dpi: float,
) -> IndirectObject:
    """A layer of artwork as a form: written directly where it is plain, else by way of CairoSVG."""
    if (own := page_in(layer.svg)) is not None:
        return _placed(writer, own, size_mm)
    kept = cache.get_or_make(
        key_of("art", layer.svg, dpi), lambda: _drawn_art(layer, book, name, dpi)
    )
    if kept.startswith(b"%PDF"):
        return form_of(writer, Source(kept).pages[0], apart=not _blends(layer))
    width, height = size_mm
    art = VectorArt.from_bytes(kept)
    return form_from(writer, art.content, (pt(width), pt(height)), art.opacities)


def _placed(writer: PdfWriter, pdf: bytes, size_mm: tuple[float, float]) -> IndirectObject:
    """The page of a finished PDF as a form of a size, in the middle of which it is cut."""
    (page,) = Source(pdf).pages
    trim, (width, height) = page.trimbox, (pt(size_mm[0]), pt(size_mm[1]))
    left = float(trim.left) - (width - float(trim.width)) / 2
    bottom = float(trim.bottom) - (height - float(trim.height)) / 2
    page.mediabox = RectangleObject((left, bottom, left + width, bottom + height))
    return form_of(writer, page)


def _drawn_art(layer: PageLayer, book: FontBook, name: str, dpi: float) -> bytes:
    art = vector_art(layer.svg)
    return draw([layer.svg], book, names=[name], dpi=dpi) if art is None else art.as_bytes()


def draw(
    svgs: Sequence[bytes],
    book: FontBook,
    *,
    names: Sequence[str] | None = None,
    language: str = "",
    dpi: float = EFFECT_DPI,
    cache: Cache = NO_CACHE,
) -> bytes:
    """A PDF with a page for each SVG, at the SVG's own size.

    ``svgs`` are simplified SVGs whose width and height carry a unit. ``names`` say in errors
    which page is meant. All is vector but what is filtered, which becomes pictures of ``dpi``
    pixels an inch, kept in the cache; each face is embedded once, as a subset, or where the book
    says so letters are outlines with findable text over them. Raises UserError for fonts or
    characters that cannot be had.
    """
    return _drawn(svgs, book, names, language, PageSurface(dpi, cache)).finish()


def effects(svg: bytes, book: FontBook, dpi: float = EFFECT_DPI) -> Sequence[Effect]:
    """What of a simplified SVG is drawn as pictures, in the order it is painted.

    Their elements are those of a tree of their own. Raises UserError as ``draw`` does.
    """
    return _drawn([svg], book, None, "", PageSurface(dpi)).effects


def _drawn(
    svgs: Sequence[bytes],
    book: FontBook,
    names: Sequence[str] | None,
    language: str,
    paper: PageSurface,
) -> PageSurface:
    for number, svg in enumerate(svgs):
        where = names[number] if names else f"page {number + 1}"
        with reading(where):
            Canvas(tree(svg), paper, book, where, language)
            paper.turn()
    return paper
