"""CairoSVG with its letters taken out of its hands.

CairoSVG draws every shape; each ``<text>`` is set here instead: shaped by HarfBuzz and shown with
cairo's glyph call, which embeds a subset of the face and keeps the text searchable.
"""

from __future__ import annotations

import itertools
import math
from collections.abc import Iterator, Sequence
from typing import BinaryIO

import cairocffi
import uharfbuzz as hb
from cairosvg import surface as cairosvg_surface
from cairosvg.defs import gradient_or_pattern
from cairosvg.helpers import normalize, paint, size
from cairosvg.parser import Node, Tree
from cairosvg.url import parse_url

from pipeline.draw.blank import BlankFace
from pipeline.draw.faces import cairo_face
from pipeline.draw.textlayout import Letter, SetGlyph, SetRun, set_letters, set_on_path
from pipeline.geometry import pt
from pipeline.text.fonts import FontBook
from pipeline.text.shape import Glyph, Run, Style
from pipeline.text.style import font_size, length, style_of

_SET_TEXT = "leafset-text"
"""The tag a text gets once it is ours, so that CairoSVG calls ``_set_text`` for it."""


class Canvas(cairosvg_surface.Surface):  # type: ignore[misc]
    """Draws one SVG onto the current page of a cairo PDF surface that is shared."""

    def __init__(
        self,
        tree: Tree,
        page: cairocffi.PDFSurface,
        book: FontBook,
        where: str,
        language: str,
        blank: BlankFace | None,
    ) -> None:
        self._page = page
        self.blank = blank
        self.book = book
        self.where = where
        self.language = language
        super().__init__(tree, None, 96)

    def _create_surface(
        self, width: float, height: float
    ) -> tuple[cairocffi.PDFSurface, float, float]:
        self._page.set_size(width, height)
        return self._page, width, height

    def draw(self, node: Node) -> None:
        """Draws ``node``; texts are set by leafset, all else by CairoSVG."""
        if node.tag == "text":
            node.text_children_kept = tuple(node.children)
            node.children = ()
            node.tag = _SET_TEXT
        super().draw(node)


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
        Canvas(Tree(bytestring=svg), surface, book, where, language, blank)
        surface.show_page()
    surface.finish()


def _set_text(canvas: Canvas, node: Node) -> None:
    node.children = node.text_children_kept
    letters = list(_letters(canvas, node))
    path = _path_of(canvas, node)
    node.children = ()
    context = canvas.context
    context.new_path()
    where = canvas.where + (f", element {node['id']!r}" if "id" in node else "")
    if path is not None:
        line, offset = path
        for cluster in set_on_path(letters, line, offset, canvas.book, where):
            _show_cluster(canvas, cluster)
    else:
        runs = set_letters(letters, canvas.book, where)
        for owner in {id(run.owner): run.owner for run in runs}.values():
            owner["text_bounding_box"] = _box(runs)  # what a gradient's own units refer to
        for placed in runs:
            _show_run(canvas, placed)
    context.new_path()


def _letters(
    canvas: Canvas,
    node: Node,
    parent_size: float | None = None,
    parent_rise: float = 0.0,
) -> Iterator[Letter]:
    """Every character of a text element and its children, with its style and its place."""
    if node.get("display") == "none":
        return
    em = font_size(node.get("font-size"), parent_size or canvas.font_size)
    if parent_size is None:
        em = canvas.font_size
    style = style_of(node.get, em, canvas.language)
    rise = parent_rise + _shift_up(node, style, canvas.book) + _baseline(node, style, canvas.book)
    own = {name: _numbers(canvas, node, name, em) for name in ("x", "y", "dx", "dy", "rotate")}
    first = True
    for character in node.text or "":
        letter = Letter(character, node, style, node.get("text-anchor", "start"), rise=rise)
        if own["x"]:
            letter.x = own["x"].pop(0)
        if own["y"]:
            letter.y = own["y"].pop(0)
        letter.dx = own["dx"].pop(0) if own["dx"] else 0.0
        letter.dy = own["dy"].pop(0) if own["dy"] else 0.0
        if own["rotate"]:
            letter.rotate = own["rotate"][0]
            if len(own["rotate"]) > 1:
                own["rotate"].pop(0)
        first = False
        yield letter
    for child in node.children:
        for letter in _letters(canvas, child, em, rise):
            if first:  # what the parent says of its first character falls to the first there is
                letter.x = letter.x if letter.x is not None else next(iter(own["x"]), None)
                letter.y = letter.y if letter.y is not None else next(iter(own["y"]), None)
                letter.dx += next(iter(own["dx"]), 0.0)
                letter.dy += next(iter(own["dy"]), 0.0)
                first = False
            yield letter


def _shift_up(node: Node, style: Style, book: FontBook) -> float:
    """How far ``baseline-shift`` raises an element's own text, in user units."""
    if node.element.etree_element.get("baseline-shift") is None:  # not inherited (SVG 1.1, 10.9.2)
        return 0.0
    value = node["baseline-shift"]
    if value in ("super", "sub"):
        return style.size * (0.33 if value == "super" else -0.2)  # as browsers do without metrics
    return length(value, em=style.size, whole=style.size)


def _baseline(node: Node, style: Style, book: FontBook) -> float:
    """How far an element's alphabetic baseline lies above the line its ``y`` gives (negative)."""
    wanted = node.get("dominant-baseline", "auto")
    own = node.element.etree_element.get("alignment-baseline")
    if own not in (None, "auto", "baseline"):
        wanted = own
    elif node.tag not in (_SET_TEXT, "text"):
        return 0.0  # counted where the text element is met
    if wanted in ("auto", "alphabetic", "baseline", "inherit") or not style.families:
        return 0.0
    font = book.find(style.families, style.weight, style.italic).hb_font
    extents = font.get_font_extents("ltr")
    ascent, descent = extents.ascender, -extents.descender
    em = font.face.upem
    x_height = font.get_metric_position(hb.OTMetricsTag.X_HEIGHT) or em / 2
    below = {
        "middle": x_height / 2,
        "central": (ascent - descent) / 2,
        "hanging": 0.8 * ascent,
        "mathematical": 0.5 * ascent,
        "text-before-edge": ascent,
        "text-top": ascent,
        "before-edge": ascent,
        "text-after-edge": -descent,
        "text-bottom": -descent,
        "after-edge": -descent,
        "ideographic": -descent,
    }.get(wanted, 0.0)
    return float(-below * style.size / em)


def _numbers(canvas: Canvas, node: Node, name: str, em: float) -> list[float]:
    axis = {"x": "x", "dx": "x", "y": "y", "dy": "y"}.get(name, "xy")
    old, canvas.font_size = canvas.font_size, em
    try:
        return [size(canvas, part, axis) for part in normalize(node.get(name, "")).split()]
    finally:
        canvas.font_size = old


def _path_of(canvas: Canvas, node: Node) -> tuple[list[tuple[float, float]], float] | None:
    """The flattened line of a ``textPath`` and where its text starts; None for other texts."""
    holder = next((child for child in node.children if child.tag == "textPath"), None)
    if holder is None:
        return None
    target = canvas.paths.get(parse_url(holder.get_href() or "").fragment)
    if target is None:
        return None
    context = canvas.context
    context.save()
    context.new_path()
    canvas.stroke_and_fill = False
    canvas.draw(target)
    canvas.stroke_and_fill = True
    line = [points[-2:] for _, points in context.copy_path_flat() if points]
    context.new_path()
    context.restore()
    whole = sum(math.dist(a, b) for a, b in itertools.pairwise(line))
    return line, size(canvas, holder.get("startOffset", "0"), whole)


def _box(runs: Sequence[SetRun]) -> tuple[float, float, float, float]:
    """A text's box (x, y, width, height), an em high for each line, four fifths above it."""
    left = min(placed.x for placed in runs)
    top = min(placed.y - 0.8 * placed.run.size for placed in runs)
    right = max(placed.x + placed.run.advance for placed in runs)
    bottom = max(placed.y + 0.2 * placed.run.size for placed in runs)
    return left, top, right - left, bottom - top


def _show_run(canvas: Canvas, placed: SetRun) -> None:
    context = canvas.context
    context.save()
    context.translate(placed.x, placed.y)
    context.rotate(math.radians(placed.rotate))
    _show(canvas, placed.run, placed.run.glyphs, placed.run.text, placed.owner)
    context.restore()


def _show_cluster(canvas: Canvas, placed: SetGlyph) -> None:
    start = placed.glyphs[0].cluster
    later = [glyph.cluster for glyph in placed.run.glyphs if glyph.cluster > start]
    text = placed.run.text[start : min(later, default=len(placed.run.text))]
    context = canvas.context
    context.save()
    context.translate(placed.x, placed.y)
    context.rotate(placed.angle)
    origin = placed.glyphs[0].x
    glyphs = [glyph._replace(x=glyph.x - origin, cluster=0) for glyph in placed.glyphs]
    _show(canvas, placed.run, glyphs, text, placed.owner)
    context.restore()


def _show(canvas: Canvas, run: Run, glyphs: Sequence[Glyph], text: str, owner: Node) -> None:
    """Shows glyphs at the current origin with the paint of their element."""
    if owner.get("visibility") == "hidden" or not text.strip():
        return
    context = canvas.context
    context.set_font_face(cairo_face(run.instance))
    context.set_font_size(run.size)
    shown = [(glyph.gid, glyph.x, glyph.y) for glyph in glyphs]
    opacity = float(owner.get("opacity", 1))
    stroke, stroke_color = paint(owner.get("stroke"))
    filled = _paints(canvas, owner, "fill", "black", opacity)
    if filled and canvas.blank is None:
        spelled, clusters = _spelled(text, glyphs)
        context.show_text_glyphs(spelled, shown, clusters, 0)
    elif filled:
        context.new_path()
        context.glyph_path(shown)
        context.fill()
    if stroke or (stroke_color and stroke_color != "none"):
        context.new_path()
        context.glyph_path(shown)
        context.set_line_width(size(canvas, owner.get("stroke-width", "1")))
        _paints(canvas, owner, "stroke", "none", opacity)
        context.stroke()
    if canvas.blank is not None:
        _show_blank(context, canvas.blank, text, glyphs, run.size)


def _show_blank(
    context: cairocffi.Context,
    blank: BlankFace,
    text: str,
    glyphs: Sequence[Glyph],
    size_of_type: float,
) -> None:
    """Shows the text of outlines once more, without ink: one empty glyph for each cluster."""
    spelled, clusters = _spelled(text, glyphs)
    context.set_font_face(cairo_face(blank.instance))
    shown, lengths = [], []
    letters = spelled.encode()
    rest = iter(glyphs)
    for length_in_bytes, count in clusters:
        group = list(itertools.islice(rest, count))
        part, letters = letters[:length_in_bytes], letters[length_in_bytes:]
        wide = sum(glyph.advance for glyph in group) / size_of_type
        shown.append((blank.glyph(part.decode(), wide), group[0].x, 0.0))
        lengths.append((length_in_bytes, 1))
    context.show_text_glyphs(spelled, shown, lengths, 0)


def _paints(canvas: Canvas, owner: Node, which: str, default: str, opacity: float) -> bool:
    source, color = paint(owner.get(which, default))
    alpha = opacity * float(owner.get(f"{which}-opacity", 1))
    if gradient_or_pattern(canvas, owner, source, alpha):
        return True
    if not color or color == "none":
        return False
    canvas.context.set_source_rgba(*canvas.map_color(color, alpha))
    return True


def _spelled(text: str, glyphs: Sequence[Glyph]) -> tuple[str, list[tuple[int, int]]]:
    """A run's text from left to right, and how many of its bytes each group of glyphs stands for.

    Readers of PDF files expect text in the order it is seen in and turn what runs from right to
    left themselves, so it is cut into what each group of glyphs stands for and laid in that order.
    """
    starts = sorted({glyph.cluster for glyph in glyphs})
    end_of = dict(zip(starts, [*starts[1:], len(text)], strict=True))
    pieces, clusters = [], []
    for start, group in itertools.groupby(glyphs, key=lambda glyph: glyph.cluster):
        pieces.append(text[start : end_of[start]])
        clusters.append((len(pieces[-1].encode()), len(list(group))))
    return "".join(pieces), clusters


cairosvg_surface.TAGS[_SET_TEXT] = _set_text
