"""The painter of the plain form, on CairoSVG's surface.

Shapes, layers, patterns and masks are cairo's own calls; gradients and pictures are CairoSVG's.
Text is shaped by HarfBuzz and shown with cairo's glyph call, which embeds a subset of the face and
keeps the text searchable.
"""

from __future__ import annotations

import functools
import io
import itertools
import math
from collections.abc import Iterator, Sequence
from dataclasses import replace
from typing import NamedTuple

import cairocffi
import uharfbuzz as hb
from cairosvg.defs import draw_gradient, parse_all_defs
from cairosvg.helpers import normalize, paint, size, transform
from cairosvg.image import image
from cairosvg.surface import Surface
from cairosvg.url import parse_url
from pypdf import PdfReader, PdfWriter

from pipeline.base.geometry import NUMBER, Rect, pt
from pipeline.draw.faces import BlankFace, cairo_face
from pipeline.draw.node import Node
from pipeline.draw.textlayout import Guide, Letter, SetGlyph, SetRun, set_letters, set_on_path
from pipeline.draw.tiles import paint_mask, set_clip, take_pattern, trace
from pipeline.svg.path import SHAPES, outline
from pipeline.svg.transform import parse_transform
from pipeline.text.fonts import FontBook, Instance
from pipeline.text.shape import Glyph, Run, Style
from pipeline.text.style import font_size, font_weight, length, style_of


class PageSurface:
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


class Canvas(Surface):  # type: ignore[misc]
    """Draws one SVG in its plain form onto the current page of a paper."""

    font_size: float

    def __init__(
        self,
        root: Node,
        paper: PageSurface,
        book: FontBook,
        where: str,
        language: str,
        blank: BlankFace | None,
    ) -> None:
        self.paper = paper
        self.blank = blank
        self.book = book
        self.where = where
        self.language = language
        super().__init__(root, None, 96)

    def surface_class(self, _output: None, width: float, height: float) -> cairocffi.PDFSurface:
        """The surface that CairoSVG draws on (pt)."""
        return self.paper.page(width, height)

    def set_context_size(
        self, width: float, height: float, viewbox: Sequence[float], root: Node
    ) -> None:
        """Makes the page (px) what can be drawn on, and the drawing's units those of the context.

        A millimetre is the same in all drawings to the last digit: readers snap letters to
        pixels, and that digit may decide to which.
        """
        x, y, wide, high = viewbox
        scale, millimetre = min(width / wide, height / high), length("1mm")
        if math.isclose(scale, millimetre):
            scale = millimetre
        self.context.rectangle(0, 0, width, height)
        self.context.clip()
        self.context.scale(scale, scale)
        self.context.translate(-x, -y)
        self.context_width, self.context_height = wide, high

    def draw(self, node: Node) -> None:
        """Draws an element with all that is in it."""
        if node.tag == "svg":
            parse_all_defs(self, node)
        if node.tag in _NEVER_DRAWN or node.get("display") == "none":
            return
        context = self.context
        context.save()
        outer, self.font_size = self.font_size, size(self, node.get("font-size", "12pt"))
        transform(self, node.get("transform"))
        set_clip(self, node)
        opacity = float(node.get("opacity", 1))
        whole = 1.0 if node.tag in _OPACITY_OF_THEIR_OWN else opacity
        mask = self.masks.get(parse_url(node.get("mask")).fragment)
        if mask is not None or whole < 1:
            context.push_group()
        self._draw_own(node, opacity)
        if mask is not None:
            context.pop_group_to_source()
            paint_mask(self, mask, whole)
        elif whole < 1:
            context.pop_group_to_source()
            context.paint_with_alpha(whole)
        context.restore()
        self.font_size = outer

    def _draw_own(self, node: Node, opacity: float) -> None:
        if node.tag == "text":
            set_text(self, node, opacity)
        elif node.tag == "image":
            if size(self, node.get("width")) and size(self, node.get("height")):
                image(self, node)
        elif node.tag in SHAPES:
            if node.get("visibility") not in ("hidden", "collapse"):
                self._draw_shape(node, opacity)
        else:
            for child in node.children:
                self.draw(child)

    def _draw_shape(self, node: Node, opacity: float) -> None:
        context = self.context
        context.new_path()
        trace(context, outline(node.element))
        context.save()
        if node.get("fill-rule") == "evenodd":
            context.set_fill_rule(cairocffi.FILL_RULE_EVEN_ODD)
        if take_paint(self, node, "fill", opacity):
            context.fill_preserve()
        context.restore()
        set_pen(self, node)
        if take_paint(self, node, "stroke", opacity):
            context.stroke()
        context.new_path()


def set_pen(canvas: Canvas, node: Node) -> None:
    """Takes up an element's line: its width, ends, joins and dashes."""
    context = canvas.context
    context.set_line_width(size(canvas, node.get("stroke-width", "1")))
    context.set_line_cap(_CAPS.get(node.get("stroke-linecap", ""), cairocffi.LINE_CAP_BUTT))
    context.set_line_join(_JOINS.get(node.get("stroke-linejoin", ""), cairocffi.LINE_JOIN_MITER))
    context.set_miter_limit(float(node.get("stroke-miterlimit", 4)))
    dashes = [size(canvas, dash) for dash in normalize(node.get("stroke-dasharray", "")).split()]
    context.set_dash(dashes if sum(dashes) else [], size(canvas, node.get("stroke-dashoffset")))


def take_paint(canvas: Canvas, owner: Node, which: str, opacity: float = 1.0) -> bool:
    """Takes up an element's paint for its fill or stroke; tells whether there is any."""
    value = owner.get(which, "black" if which == "fill" else "none")
    if value == "none":
        return False
    source, color = paint(value)
    alpha = float(owner.get(f"{which}-opacity", 1)) * opacity
    if source in canvas.gradients:
        if draw_gradient(canvas, owner, source, alpha):
            return True
    elif source in canvas.patterns:
        take_pattern(canvas, canvas.patterns[source], alpha)
        return True
    if not color or color == "none":
        return False
    canvas.context.set_source_rgba(*canvas.map_color(color, alpha))
    return True


_CAPS = {"round": cairocffi.LINE_CAP_ROUND, "square": cairocffi.LINE_CAP_SQUARE}
_JOINS = {"round": cairocffi.LINE_JOIN_ROUND, "bevel": cairocffi.LINE_JOIN_BEVEL}
_OPACITY_OF_THEIR_OWN = SHAPES | {"text", "image"}
"""What needs no layer around it to be half clear."""

_NEVER_DRAWN = frozenset(
    ("defs", "clipPath", "linearGradient", "radialGradient", "mask", "pattern", "symbol", "marker",
     "filter")
)  # fmt: skip


def set_text(canvas: Canvas, node: Node, opacity: float) -> None:
    """Sets a text at the canvas's current transform."""
    letters = _letters(canvas, node)
    if not letters:
        return
    path = _path_of(canvas, node)
    context = canvas.context
    context.new_path()
    if opacity < 1:
        context.push_group()  # the text as a whole, so that letters that overlap do not darken
    where = canvas.where + (f", element {node['id']!r}" if "id" in node else "")
    if path is not None:
        clusters = set_on_path(letters, *path, canvas.book, where)
        _measure([cluster.owner for cluster in clusters], _box_on_path(clusters))
        for cluster in clusters:
            _show_cluster(canvas, cluster)
    else:
        runs = set_letters(letters, canvas.book, where)
        _measure([placed.owner for placed in runs], _box(runs))
        for placed in runs:
            _show_run(canvas, placed)
    if opacity < 1:
        context.pop_group_to_source()
        context.paint_with_alpha(opacity)
    context.new_path()


def _letters(canvas: Canvas, node: Node, outer: _Element | None = None) -> list[Letter]:
    """Every character of a text element and its children, with its style and its place."""
    if node.get("display") == "none":
        return []
    element = _element(canvas, node, outer)
    anchor = node.get("text-anchor", "start")
    letters = [
        Letter(character, node, element.style, anchor, rise=element.rise)
        for character in node.text or ""
    ]
    for child in node.children:
        letters += _letters(canvas, child, element)
    _position(canvas, node, element.style.size, letters)
    return letters


def _position(canvas: Canvas, node: Node, em: float, letters: Sequence[Letter]) -> None:
    """Gives an element's letters the places that its lists name and no inner element has named.

    A list counts all characters within its element, those of inner elements too; the last angle
    of ``rotate`` holds for all that follow (SVG 2, 11.4).
    """
    for name in ("x", "y", "dx", "dy", "rotate"):
        value = node.own.get(name)
        if not value:
            continue
        numbers = _numbers(canvas, value, name, em)
        if name == "rotate" and numbers:
            numbers += numbers[-1:] * (len(letters) - len(numbers))
        for letter, number in zip(letters, numbers, strict=False):
            if name not in letter.placed and not letter.is_mark:
                letter.placed.add(name)
                setattr(letter, name, number)


class _Element(NamedTuple):
    """What an element inside a text inherits from the one around it."""

    style: Style
    shift: float
    """How far ``baseline-shift`` has raised it, user units."""
    rise: float
    """How far its letters stand above the line that its ``y`` gives, user units."""


def _element(canvas: Canvas, node: Node, outer: _Element | None) -> _Element:
    style = style_of(node.get, _size(node), _weight(node), canvas.language)
    if outer and node.own.get("letter-spacing") is None:
        style = replace(style, letter_spacing=outer.style.letter_spacing)
    if outer and node.own.get("word-spacing") is None:
        style = replace(style, word_spacing=outer.style.word_spacing)
    shift = (outer.shift if outer else 0.0) + _shift_up(node, style)
    return _Element(style, shift, shift + _baseline(node, style, canvas.book))


def _own(node: Node, name: str) -> str | None:
    """A property's value if the element declares it, None if it only inherits it."""
    value: str | None = node.get(name)
    declared = name in node.own
    inherited = node.parent is not None and node.parent.get(name) == value
    return value if declared or not inherited else None


def _size(node: Node) -> float:
    """The font size of an element in user units; relative ones go by its parent's."""
    own = _own(node, "font-size")
    if own is not None and NUMBER.fullmatch(own):
        return float(own)
    return font_size(own, 16.0 if node.parent is None else _size(node.parent))


def _weight(node: Node) -> float:
    """The weight of an element's type; lighter and bolder go by its parent's."""
    own = _own(node, "font-weight")
    if own is not None and NUMBER.fullmatch(own):
        return float(own)
    return font_weight(own, 400.0 if node.parent is None else _weight(node.parent))


def _shift_up(node: Node, style: Style) -> float:
    """How far ``baseline-shift`` raises an element's own text, in user units."""
    value = node.own.get("baseline-shift")  # not inherited (SVG 1.1, 10.9.2)
    if value in ("super", "sub"):
        return style.size * (0.4 if value == "super" else -0.2)  # as vector editors do
    return length(value, em=style.size, whole=style.size)


def _baseline(node: Node, style: Style, book: FontBook) -> float:
    """How far an element's alphabetic baseline lies above the line its ``y`` gives (negative).

    Each element stands on the line by its own face and size (CSS Inline 3, 4.2).
    """
    wanted = node.own.get("alignment-baseline", "auto")
    if node.tag == "text" or wanted in ("auto", "baseline"):
        wanted = node.get("dominant-baseline", "auto")
    if wanted in ("auto", "alphabetic") or not style.families:
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


def _numbers(canvas: Canvas, value: str, name: str, em: float) -> list[float]:
    if NUMBER.fullmatch(value):
        return [float(value)]
    axis = {"x": "x", "dx": "x", "y": "y", "dy": "y"}.get(name, "xy")
    old, canvas.font_size = canvas.font_size, em
    try:
        return [size(canvas, part, axis) for part in normalize(value).split()]
    finally:
        canvas.font_size = old


def _path_of(canvas: Canvas, node: Node) -> tuple[Guide, float] | None:
    """The path of a ``textPath`` and where its text starts along it; None for other texts."""
    holder = next((child for child in node.children if child.tag == "textPath"), None)
    if holder is None:
        return None
    target = canvas.paths.get(parse_url(holder.get_href() or "").fragment)
    if target is None:
        return None
    data = outline(target.element)
    guide = Guide(data.moved(parse_transform(target.get("transform")).point))
    return guide, size(canvas, holder.get("startOffset", "0"), guide.length)


_Box = tuple[float, float, float, float]


def _measure(owners: Sequence[Node], box: _Box) -> None:
    """Tells elements the box of the whole text, which is what a gradient's own units refer to."""
    for owner in owners:
        owner["text_bounding_box"] = box


def _box(runs: Sequence[SetRun]) -> _Box:
    """The box (x, y, width, height) that holds the cells of all glyphs of a text."""
    corners = [
        (x, placed.y - rise)
        for placed in runs
        for x in (placed.x, placed.x + placed.run.advance)
        for rise in _rises(placed.run)
    ]
    return _around(corners)


def _box_on_path(clusters: Sequence[SetGlyph]) -> _Box:
    corners = [
        (
            placed.x + x * math.cos(placed.angle) + rise * math.sin(placed.angle),
            placed.y + x * math.sin(placed.angle) - rise * math.cos(placed.angle),
        )
        for placed in clusters
        for x in (0.0, sum(glyph.advance for glyph in placed.glyphs))
        for rise in _rises(placed.run)
    ]
    return _around(corners)


def _rises(run: Run) -> tuple[float, float]:
    """How far the glyph cells of a run reach above the baseline: their upper and lower edges."""
    ascender, descender, upem = _extents(run.instance)
    return ascender * run.size / upem, descender * run.size / upem


@functools.lru_cache(maxsize=1000)
def _extents(instance: Instance) -> tuple[float, float, int]:
    """How far a face's cells reach up and down from the baseline, and its units to the em."""
    extents = instance.hb_font.get_font_extents("ltr")
    return extents.ascender, extents.descender, instance.hb_face.upem


def _around(corners: Sequence[tuple[float, float]]) -> _Box:
    if not corners:
        return (0.0, 0.0, 0.0, 0.0)
    return Rect.around(corners)


def _show_run(canvas: Canvas, placed: SetRun) -> None:
    spot = _Spot(placed.x, placed.y, math.radians(placed.rotate))
    _show(canvas, placed.run, placed.run.glyphs, placed.run.text, placed.owner, spot)
    _show_lines(canvas, placed.run, placed.owner, spot)


_LINES = {
    "underline": (hb.OTMetricsTag.UNDERLINE_OFFSET, hb.OTMetricsTag.UNDERLINE_SIZE),
    "line-through": (hb.OTMetricsTag.STRIKEOUT_OFFSET, hb.OTMetricsTag.STRIKEOUT_SIZE),
}
"""Lines of ``text-decoration``, and the face's own measures of them: upper edge and thickness."""


def _show_lines(canvas: Canvas, run: Run, owner: Node, spot: _Spot) -> None:
    """Draws the lines that ``text-decoration`` asks for where the face says they belong."""
    font = run.instance.hb_font
    per_unit = run.size / run.instance.hb_face.upem
    for word in (owner.get("text-decoration") or "").split():
        if word not in _LINES or owner.get("visibility") in ("hidden", "collapse"):
            continue
        top, thickness = (font.get_metric_position(tag) * per_unit for tag in _LINES[word])
        if not take_paint(canvas, owner, "fill"):
            continue
        context = canvas.context
        context.save()
        spot.go(context)
        context.rectangle(0, -top, run.advance, thickness)
        context.fill()
        context.restore()


def _show_cluster(canvas: Canvas, placed: SetGlyph) -> None:
    start = placed.glyphs[0].cluster
    later = [glyph.cluster for glyph in placed.run.glyphs if glyph.cluster > start]
    text = placed.run.text[start : min(later, default=len(placed.run.text))]
    origin = placed.glyphs[0].x
    glyphs = [glyph._replace(x=glyph.x - origin, cluster=0) for glyph in placed.glyphs]
    _show(canvas, placed.run, glyphs, text, placed.owner, _Spot(placed.x, placed.y, placed.angle))


class _Spot(NamedTuple):
    """Where glyphs begin (user units) and how far they are turned (radians)."""

    x: float
    y: float
    angle: float

    def go(self, context: cairocffi.Context) -> None:
        """Makes it the context's origin and its angle the context's level."""
        context.translate(self.x, self.y)
        if self.angle:
            context.rotate(self.angle)


def _show(
    canvas: Canvas, run: Run, glyphs: Sequence[Glyph], text: str, owner: Node, spot: _Spot
) -> None:
    """Shows glyphs at a spot with the paint of their element."""
    if owner.get("visibility") in ("hidden", "collapse"):
        return
    context = canvas.context
    context.set_font_face(cairo_face(run.instance))
    context.set_font_size(run.size)
    shown = [(glyph.gid, glyph.x, glyph.y) for glyph in glyphs]
    steps = ["fill", "stroke"]
    if (owner.get("paint-order") or "").strip().startswith("stroke"):
        steps.reverse()
    for step in steps:
        # Paint is chosen before the turn and shift: a gradient lies in the whole text's units.
        if not take_paint(canvas, owner, step):
            continue
        context.save()
        spot.go(context)
        if step == "fill" and canvas.blank is None:
            spelled, clusters = _spelled(run, text, glyphs)
            context.show_text_glyphs(spelled, shown, clusters, 0)
        else:
            context.new_path()
            context.glyph_path(shown)
            set_pen(canvas, owner)
            context.fill() if step == "fill" else context.stroke()
        context.restore()
    if canvas.blank is not None:
        context.save()
        spot.go(context)
        _show_blank(context, canvas.blank, run, text, glyphs)
        context.restore()


def _show_blank(
    context: cairocffi.Context,
    blank: BlankFace,
    run: Run,
    text: str,
    glyphs: Sequence[Glyph],
) -> None:
    """Shows the text of outlines once more, without ink: one empty glyph for each cluster."""
    spelled, clusters = _spelled(run, text, glyphs)
    context.set_font_face(cairo_face(blank.instance))
    shown, lengths = [], []
    letters = spelled.encode()
    rest = iter(glyphs)
    for length_in_bytes, count in clusters:
        group = list(itertools.islice(rest, count))
        part, letters = letters[:length_in_bytes], letters[length_in_bytes:]
        wide = sum(glyph.advance for glyph in group) / run.size
        shown.append((blank.glyph(part.decode(), wide), group[0].x, 0.0))
        lengths.append((length_in_bytes, 1))
    context.show_text_glyphs(spelled, shown, lengths, 0)


def _spelled(run: Run, text: str, glyphs: Sequence[Glyph]) -> tuple[str, list[tuple[int, int]]]:
    """A run's text from left to right, and how many of its bytes each group of glyphs stands for.

    Readers of PDF files expect text in the order it is seen in and turn what runs from right to
    left themselves. A word of such a script is one piece: read letter by letter, its marks would
    change places and gaps where letters kern would be taken for spaces.
    """
    if [glyph.cluster for glyph in glyphs] == [*range(len(text))]:
        return text, [(len(character.encode()), 1) for character in text]
    starts = sorted({glyph.cluster for glyph in glyphs})
    end_of = dict(zip(starts, [*starts[1:], len(text)], strict=True))
    pieces: list[tuple[str, int]] = []
    for start, group in itertools.groupby(glyphs, key=lambda glyph: glyph.cluster):
        pieces.append((text[start : end_of[start]], len(list(group))))
    if run.right_to_left:
        pieces = list(_words(pieces))
    return "".join(piece for piece, _ in pieces), [
        (len(piece.encode()), count) for piece, count in pieces
    ]


def _words(pieces: Sequence[tuple[str, int]]) -> Iterator[tuple[str, int]]:
    """Pieces of right-to-left text, those of a word put together and spelled backwards."""
    for is_word, group in itertools.groupby(pieces, key=lambda piece: piece[0][0].isalpha()):
        if is_word:
            word = list(group)
            yield (
                "".join(piece[::-1] for piece, _ in word),
                sum(count for _, count in word),
            )
        else:
            yield from group
