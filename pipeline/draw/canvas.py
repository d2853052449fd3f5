"""The painter of the plain form, on CairoSVG's surface.

Shapes, layers, patterns and masks are cairo's own calls; gradients and pictures are CairoSVG's.
Text is shaped by HarfBuzz and shown with cairo's glyph call, which embeds a subset of the face and
keeps the text searchable.
"""

from __future__ import annotations

import contextlib
import enum
import io
import itertools
import math
import re
from collections.abc import Callable, Iterator, Sequence
from dataclasses import replace
from typing import NamedTuple

import cairocffi
import uharfbuzz as hb
from cairosvg.defs import draw_gradient, parse_all_defs
from cairosvg.helpers import paint, transform
from cairosvg.image import image
from cairosvg.surface import Surface
from cairosvg.url import parse_url
from PIL import Image
from pypdf import PdfReader, PdfWriter
from pypdf.generic import DictionaryObject, NameObject, PdfObject

from pipeline.base.cache import NO_CACHE, Cache
from pipeline.base.errors import UserError
from pipeline.base.geometry import Rect
from pipeline.draw.faces import BlankFace, cairo_face
from pipeline.draw.node import Node
from pipeline.draw.textlayout import Guide, Letter, SetRun, set_letters, set_on_path
from pipeline.draw.tiles import (
    Effect,
    Lightness,
    Rgba,
    paint_filtered,
    paint_mask,
    set_clip,
    take_pattern,
    trace,
)
from pipeline.plan.model import EFFECT_DPI
from pipeline.svg.path import SHAPES, box_of, outline
from pipeline.svg.transform import Matrix, parse_transform
from pipeline.svg.tree import SVG
from pipeline.text.fonts import FontBook
from pipeline.text.shape import Glyph, Run, Style
from pipeline.text.style import font_size, font_weight, length, lengths, style_of


class PageSurface:
    """Pages of one PDF, drawn on one after the other, so that each face is embedded once.

    When a page is given another size, cairo cuts layers to the whole points below it; the pages
    after that one are not cut. So a page is let go after each change of size, and left out in the
    end.
    """

    def __init__(self, dpi: float = EFFECT_DPI, cache: Cache = NO_CACHE) -> None:
        self.dpi = dpi
        """How many pixels an inch pictures of filtered elements have; ``cache`` keeps them."""
        self.cache = cache
        self.pictures: dict[str, tuple[int, int, cairocffi.ImageSurface] | None] = {}
        """Those on the pages so far by their keys, and the corners of their ink."""
        self.effects: list[Effect] = []
        """All filtered elements so far, one for each time they were drawn."""
        self.masked = False
        """Whether anything was painted through a mask."""
        self._output = io.BytesIO()
        self._surface: cairocffi.PDFSurface | None = None
        self._size = (0.0, 0.0)
        self._kept: list[bool] = []

    def page(self, width: float, height: float) -> cairocffi.PDFSurface:
        """The current page, which nothing was drawn on yet, made ``width`` by ``height`` pt."""
        if self._surface is None:
            self._surface = cairocffi.PDFSurface(self._output, width, height)
            self._surface.set_metadata(cairocffi.PDF_METADATA_CREATE_DATE, "2000-01-01T00:00:00Z")
        elif math.dist(self._size, (width, height)) > 1e-6:
            self._surface.set_size(width, height)
            self.turn(keep=False)
        else:
            return self._surface
        self._size = (width, height)
        return self._surface

    def turn(self, *, keep: bool = True) -> None:
        """Starts another page of the same size; keeps the current one as it is drawn, or not."""
        assert self._surface is not None
        self._surface.show_page()
        self._kept.append(keep)

    def finish(self) -> bytes:
        """The PDF of all pages; nothing can be drawn any more."""
        assert self._surface is not None
        self._surface.finish()
        drawn = self._output.getvalue()
        if all(self._kept) and not self.masked:
            return drawn
        pages = [number for number, kept in enumerate(self._kept) if kept]
        writer = PdfWriter()
        writer.append(PdfReader(io.BytesIO(drawn)), pages=pages, import_outline=False)
        if self.masked:
            seen: set[int] = set()
            for page in writer.pages:
                by_lightness(page.get("/Resources"), seen)
        output = io.BytesIO()
        writer.write(output)
        return output.getvalue()


class Canvas(Surface):  # type: ignore[misc]
    """Draws one SVG in its plain form onto the current page of a paper."""

    def __init__(
        self,
        root: Node,
        paper: PageSurface,
        book: FontBook,
        where: str,
        language: str,
        blank: BlankFace,
    ) -> None:
        self.paper = paper
        self.blank = blank
        self.book = book
        self.where = where
        self.language = language
        self.letters = Letters.FONT if book.embedded else Letters.OUTLINES
        self.in_pixels = False
        """Whether what is drawn now becomes pixels."""
        self._outer = Matrix()
        self._nested = 0
        self.context: cairocffi.Context
        super().__init__(root, None, 96)

    map_rgba: Callable[[Rgba], Rgba] | None
    map_image: Callable[[Image.Image], Image.Image] | None

    @property
    def matrix(self) -> Matrix:
        """From the context's user units to points of the page."""
        return self._outer @ Matrix(*self.context.get_matrix().as_tuple())

    @contextlib.contextmanager
    def onto(
        self, context: cairocffi.Context, place: Matrix, *, in_pixels: bool = False
    ) -> Iterator[cairocffi.Context]:
        """Draws onto another context meanwhile; ``place`` is from its units to the present ones.

        Its letters are outlines, with nothing to find.
        """
        before = self.context, self._outer, self.in_pixels, self.letters
        context.set_font_options(_UNHINTED)
        self._outer, self.context = self.matrix @ place, context
        self.in_pixels = in_pixels or self.in_pixels
        self.letters = Letters.SHAPES if self.in_pixels else self.letters
        try:
            yield context
        finally:
            self.context, self._outer, self.in_pixels, self.letters = before

    @contextlib.contextmanager
    def in_greys(self, lightness: Lightness) -> Iterator[None]:
        """Draws a mask meanwhile: in greys, and words are only shapes."""
        before = self.map_rgba, self.map_image, self.letters
        self.map_rgba, self.map_image = lightness.colour, lightness.picture
        self.letters = Letters.SHAPES
        try:
            yield
        finally:
            self.map_rgba, self.map_image, self.letters = before

    @contextlib.contextmanager
    def only_words(self) -> Iterator[None]:
        """Draws nothing meanwhile but what lets readers find words, where there is any."""
        before = self.letters
        self.letters = Letters.NONE if before in (Letters.SHAPES, Letters.NONE) else Letters.BLANK
        try:
            yield
        finally:
            self.letters = before

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
        transform(self, node.get("transform"))
        if self.letters in (Letters.BLANK, Letters.NONE):
            self.draw_own(node, 1.0)
            context.restore()
            return
        set_clip(self, node)
        own = node.own
        filters = _IDS.findall(own["filter"]) if "filter" in own else ()
        opacity = float(node.get("opacity", 1))
        whole = 1.0 if node.tag in _OPACITY_OF_THEIR_OWN and not filters else opacity
        mask = self.masks.get(parse_url(node.get("mask")).fragment)
        operator = BLENDS.get(own.get("mix-blend-mode", ""), cairocffi.OPERATOR_OVER)
        grouped = (
            mask is not None
            or whole < 1
            or operator != cairocffi.OPERATOR_OVER
            or "isolation" in own
        )
        deeper = grouped + (mask is not None)
        self._nested += deeper
        if self._nested > _MOST_NESTED:
            raise UserError(
                self.where,
                "too many masks and see-through groups lie in each other",
                f"ungroup some: {_MOST_NESTED // 2} masks or {_MOST_NESTED} groups are drawn",
                element=str(node.own.get("id", "")),
            )
        if grouped:
            context.push_group()
        if filters:
            paint_filtered(self, node, [self.filters[name] for name in filters])
        else:
            self.draw_own(node, opacity)
        self._nested -= deeper
        if grouped:
            context.pop_group_to_source()
            if mask is not None:
                paint_mask(self, node, mask, whole, operator)
            else:
                context.set_operator(operator)
                context.paint_with_alpha(whole)
        context.restore()

    def draw_all(self, nodes: Sequence[Node]) -> None:
        """Draws elements one above the other."""
        for node in nodes:
            self.draw(node)

    def draw_own(self, node: Node, opacity: float) -> None:
        """Draws what is in an element, without what holds for it as a whole."""
        words = self.letters in (Letters.BLANK, Letters.NONE)
        if node.tag == "text":
            if self.letters != Letters.NONE:
                set_text(self, node)
        elif node.tag == "image":
            if length(node.get("width")) and length(node.get("height")) and not words:
                image(self, node)
        elif node.tag in SHAPES:
            if node.get("visibility") not in ("hidden", "collapse") and not words:
                self._draw_shape(node, opacity)
        else:
            self.draw_all(node.children)

    def box(self, node: Node) -> Rect | None:
        """The box that an element's own units refer to; texts count with their letters' cells."""
        if next(node.element.iter(SVG + "text"), None) is None:
            return box_of(node.element)
        if node.tag == "text":
            return text_box(self, node)
        boxes = []
        for child in node.children:
            box = None if child.tag in _NEVER_DRAWN else self.box(child)
            if box is not None:
                boxes.append(parse_transform(child.get("transform")).bounds(box))
        return Rect.union(boxes) if boxes else None

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


_FAINTEST = 0.005
"""What cairo still writes: text that is wholly clear it leaves out."""

_UNHINTED = cairocffi.FontOptions(
    hint_style=cairocffi.HINT_STYLE_NONE, hint_metrics=cairocffi.HINT_METRICS_OFF
)
"""Letters as their faces have them, whatever the pixels; a PDF's are so by themselves."""


class Letters(enum.Enum):
    """What becomes of text."""

    FONT = "letters of embedded faces"
    OUTLINES = "outlines, with blank letters over them to be found"
    SHAPES = "outlines alone"
    BLANK = "blank letters alone; and nothing else is drawn"
    NONE = "nothing; and nothing else is drawn"


BLENDS = {
    name.replace("_", "-").lower().removeprefix("hsl-"): int(
        getattr(cairocffi, f"OPERATOR_{name}")
    )
    for name in (
        "MULTIPLY", "SCREEN", "OVERLAY", "DARKEN", "LIGHTEN", "COLOR_DODGE", "COLOR_BURN",
        "HARD_LIGHT", "SOFT_LIGHT", "DIFFERENCE", "EXCLUSION", "HSL_HUE", "HSL_SATURATION",
        "HSL_COLOR", "HSL_LUMINOSITY",
    )
}  # fmt: skip
"""Cairo's operator for each ``mix-blend-mode`` (Compositing 1); a PDF has all of them."""

_IDS = re.compile(r"#([^)]*)\)")


def by_lightness(found: PdfObject | None, seen: set[int]) -> None:
    """Makes all masks among a PDF's resources count by lightness: cairo has only opacity's.

    Sources: ISO 32000-1, 11.6.5.2.
    """
    resources = found.get_object() if found is not None else None
    if not isinstance(resources, DictionaryObject) or id(resources) in seen:
        return
    seen.add(id(resources))
    groups = [each.get_object() for each in (resources.get("/XObject") or {}).values()]
    for state in (resources.get("/ExtGState") or {}).values():
        mask = state.get_object().get("/SMask")
        mask = mask.get_object() if mask is not None else None
        if isinstance(mask, DictionaryObject):
            mask[NameObject("/S")] = NameObject("/Luminosity")
            groups.append(mask["/G"])
    groups += [each.get_object() for each in (resources.get("/Pattern") or {}).values()]
    for group in groups:
        by_lightness(group.get("/Resources"), seen)


def set_pen(canvas: Canvas, node: Node) -> None:
    """Takes up an element's line: its width, ends, joins and dashes."""
    context = canvas.context
    context.set_line_width(length(node.get("stroke-width"), default=1.0))
    context.set_line_cap(_CAPS.get(node.get("stroke-linecap", ""), cairocffi.LINE_CAP_BUTT))
    context.set_line_join(_JOINS.get(node.get("stroke-linejoin", ""), cairocffi.LINE_JOIN_MITER))
    context.set_miter_limit(float(node.get("stroke-miterlimit", 4)))
    dashes = lengths(node.get("stroke-dasharray"))
    context.set_dash(dashes if sum(dashes) else [], length(node.get("stroke-dashoffset")))


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
_MOST_NESTED = 60
"""How many groups of a PDF lie in each other at most; libraries that read them go no deeper."""

_OPACITY_OF_THEIR_OWN = SHAPES | {"image"}
"""What needs no layer around it to be half clear; letters may overlap and would darken."""

_NEVER_DRAWN = frozenset(
    ("defs", "clipPath", "linearGradient", "radialGradient", "mask", "pattern", "symbol", "marker",
     "filter")
)  # fmt: skip


def set_text(canvas: Canvas, node: Node) -> None:
    """Sets a text at the canvas's current transform."""
    runs = _runs(canvas, node)
    canvas.context.new_path()
    box = _box(runs)
    for placed in runs:  # what a gradient's own units refer to: the box of the whole text
        placed.first.owner["text_bounding_box"] = box
    for placed in runs:
        _show(canvas, placed)
    canvas.context.new_path()


def text_box(canvas: Canvas, node: Node) -> Rect | None:
    """The box around the cells of a text's letters; None for one without any."""
    runs = _runs(canvas, node)
    return _box(runs) if runs else None


def _runs(canvas: Canvas, node: Node) -> Sequence[SetRun]:
    try:
        letters = _letters(canvas, node)
        if not letters:
            return ()
        path = _path_of(canvas, node)
        if path is None:
            return set_letters(letters, canvas.book)
        return set_on_path(letters, *path, canvas.book)
    except UserError as problem:
        if problem.where:
            raise
        name = str(node.own.get("id", ""))
        raise UserError(canvas.where, problem.what, problem.remedy, element=name) from None


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
    _position(node, element.style.size, letters)
    return letters


def _position(node: Node, em: float, letters: Sequence[Letter]) -> None:
    """Gives an element's letters the places that its lists name and no inner element has named.

    A list counts all characters within its element, those of inner elements too; the last angle
    of ``rotate`` holds for all that follow (SVG 2, 11.4).
    """
    for name in ("x", "y", "dx", "dy", "rotate"):
        value = node.own.get(name)
        if not value:
            continue
        numbers = lengths(value, em)
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
    size, weight = font_size(node.get("font-size"), 16.0), font_weight(node.get("font-weight"))
    style = style_of(node.get, size, weight, canvas.language)
    if outer and node.own.get("letter-spacing") is None:
        style = replace(style, letter_spacing=outer.style.letter_spacing)
    if outer and node.own.get("word-spacing") is None:
        style = replace(style, word_spacing=outer.style.word_spacing)
    shift = (outer.shift if outer else 0.0) + _shift_up(node, style)
    return _Element(style, shift, shift + _baseline(node, style, canvas.book))


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
    em = font_size(holder.get("font-size"), 16.0)
    return guide, length(holder.get("startOffset"), em, guide.length)


def _box(runs: Sequence[SetRun]) -> Rect:
    """The box that holds the cells of all glyphs of a text."""
    corners = []
    for run, _, x, y, angle in runs:
        extents, upem = run.instance.hb_font.get_font_extents("ltr"), run.instance.hb_face.upem
        for edge in (extents.ascender, extents.descender):
            rise = edge * run.size / upem
            corners += [
                (
                    x + along * math.cos(angle) + rise * math.sin(angle),
                    y + along * math.sin(angle) - rise * math.cos(angle),
                )
                for along in (0.0, run.advance)
            ]
    return Rect.around(corners) if corners else Rect(0.0, 0.0, 0.0, 0.0)


_LINES = {
    "underline": (hb.OTMetricsTag.UNDERLINE_OFFSET, hb.OTMetricsTag.UNDERLINE_SIZE),
    "line-through": (hb.OTMetricsTag.STRIKEOUT_OFFSET, hb.OTMetricsTag.STRIKEOUT_SIZE),
}
"""Lines of ``text-decoration``, and the face's own measures of them: upper edge and thickness."""


def _show(canvas: Canvas, placed: SetRun) -> None:
    """Shows a run and its lines where it stands, with the paint of its element."""
    run, owner, context = placed.run, placed.first.owner, canvas.context
    if owner.get("visibility") in ("hidden", "collapse"):
        return
    context.set_font_face(cairo_face(run.instance))
    context.set_font_size(run.size)
    shown = [(glyph.gid, glyph.x, glyph.y) for glyph in run.glyphs]
    steps = ["fill", "stroke"]
    if (owner.get("paint-order") or "").strip().startswith("stroke"):
        steps.reverse()
    if canvas.letters == Letters.BLANK:
        steps = []
    for step in steps:
        # Paint is chosen before the turn and shift: a gradient lies in the whole text's units.
        if not take_paint(canvas, owner, step):
            continue
        with _at(context, placed):
            if step == "fill" and canvas.letters == Letters.FONT:
                text, clusters = _spelled(run)
                context.show_text_glyphs(text, shown, clusters, 0)
            else:
                context.new_path()
                context.glyph_path(shown)
                set_pen(canvas, owner)
                context.fill() if step == "fill" else context.stroke()
    if canvas.letters == Letters.BLANK:  # their specks may lie on bare paper
        context.set_source_rgba(0, 0, 0, _FAINTEST)
    if canvas.letters in (Letters.OUTLINES, Letters.BLANK):
        with _at(context, placed):
            _show_blank(context, canvas.blank, run)
    if canvas.letters == Letters.BLANK:
        return
    per_unit = run.size / run.instance.hb_face.upem
    for word in (owner.get("text-decoration") or "").split():
        if word in _LINES and take_paint(canvas, owner, "fill"):
            measure = run.instance.hb_font.get_metric_position
            top, thickness = (measure(tag) * per_unit for tag in _LINES[word])
            with _at(context, placed):
                context.rectangle(0, -top, run.advance, thickness)
                context.fill()


@contextlib.contextmanager
def _at(context: cairocffi.Context, placed: SetRun) -> Iterator[None]:
    """Makes where a run starts the context's origin and its angle the context's level."""
    context.save()
    context.translate(placed.x, placed.y)
    if placed.angle:
        context.rotate(placed.angle)
    yield
    context.restore()


def _show_blank(context: cairocffi.Context, blank: BlankFace, run: Run) -> None:
    """Shows the text of outlines once more, without ink: one empty glyph for each cluster."""
    spelled, clusters = _spelled(run)
    context.set_font_face(cairo_face(blank.instance))
    shown, lengths = [], []
    letters = spelled.encode()
    rest = iter(run.glyphs)
    for length_in_bytes, count in clusters:
        group = list(itertools.islice(rest, count))
        part, letters = letters[:length_in_bytes], letters[length_in_bytes:]
        ink = _ink(run, group)
        left, wide = group[0].x, sum(glyph.advance for glyph in group)
        if count > 1:  # some faces write a word's last letter far below the others
            left, wide = ink.x, ink.width
        ems = (value / run.size for value in (wide, -ink.bottom, -ink.y))
        shown.append((blank.glyph(part.decode(), *ems), left, 0.0))
        lengths.append((length_in_bytes, 1))
    context.show_text_glyphs(spelled, shown, lengths, 0)


def _ink(run: Run, glyphs: Sequence[Glyph]) -> Rect:
    """What the ink of a run's glyphs takes up, from where the run starts, downwards."""
    scale = run.size / run.instance.hb_face.upem
    corners = [(glyph.x, 0.0) for glyph in glyphs[:1]]
    for glyph in glyphs:
        extents = run.instance.hb_font.get_glyph_extents(glyph.gid)
        if extents and extents.width:
            x, y = glyph.x + extents.x_bearing * scale, glyph.y - extents.y_bearing * scale
            corners += [(x, y), (x + extents.width * scale, y - extents.height * scale)]
    return Rect.around(corners[1:] or corners)


def _spelled(run: Run) -> tuple[str, list[tuple[int, int]]]:
    """A run's text from left to right, and how many of its bytes each group of glyphs stands for.

    Readers of PDF files expect text in the order it is seen in and turn what runs from right to
    left themselves. A word of such a script is one piece: read letter by letter, its marks would
    change places and gaps where letters kern would be taken for spaces.
    """
    text, glyphs = run.text, run.glyphs
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
