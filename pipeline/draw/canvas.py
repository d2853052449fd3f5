"""The painter of the plain form, on CairoSVG's surface.

Shapes, layers, gradients, patterns, masks and pictures are cairo's own calls.
Text is shaped by HarfBuzz and shown with cairo's glyph call, which embeds a subset of the face and
keeps the text searchable.
"""

from __future__ import annotations

import contextlib
import enum
import functools
import gzip
import io
import itertools
import math
import re
from collections.abc import Callable, Iterable, Iterator, Sequence
from dataclasses import dataclass, replace
from typing import NamedTuple

import cairocffi
import uharfbuzz as hb
from cairosvg.colors import color
from cairosvg.defs import parse_all_defs
from cairosvg.helpers import paint, transform
from cairosvg.surface import Surface
from cairosvg.url import parse_url
from lxml import etree
from PIL import Image
from pypdf import PageObject, PdfReader, PdfWriter
from pypdf.generic import DictionaryObject, NameObject, PdfObject

from pipeline.base.cache import NO_CACHE, Cache
from pipeline.base.errors import UserError
from pipeline.base.geometry import Rect
from pipeline.draw.faces import BlankFace, Brush, Rgba, cairo_face, paint_glyph, palette_for
from pipeline.draw.node import Node
from pipeline.draw.textlayout import (
    Flow,
    Letter,
    SetLength,
    SetRun,
    Way,
    flowed,
    guide_along,
    middle_of,
    set_letters,
    set_line,
)
from pipeline.draw.tiles import (
    Effect,
    Lightness,
    paint_filtered,
    paint_mask,
    paint_picture,
    set_clip,
    surface_of,
    take_gradient,
    take_pattern,
    trace,
)
from pipeline.fill.layers import PIECE
from pipeline.plan.model import EFFECT_DPI
from pipeline.svg.paint import WHOLE, Colour, paint_order
from pipeline.svg.path import SHAPES, box_of, outline
from pipeline.svg.refusals import TOO_LARGE, error
from pipeline.svg.simplify import simplify
from pipeline.svg.styles import resolve_styles
from pipeline.svg.transform import Matrix, parse_transform
from pipeline.svg.tree import FLOW, SVG
from pipeline.text.fonts import FontBook, Instance
from pipeline.text.shape import CAPITALS, Run, Style
from pipeline.text.style import (
    Decoration,
    decoration,
    font_size,
    font_weight,
    leading,
    length,
    lengths,
    style_of,
)


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
        self._letters: dict[tuple[Instance, int], str] = {}
        self.lines: dict[tuple[object, ...], list[SetRun]] = {}
        """Texts in one line that were set so far, by all that is said of them."""

    def note(self, run: Run) -> None:
        """Keeps what each glyph of a run stands for, to be written with its face."""
        for glyph in run.glyphs:
            self._letters.setdefault((run.instance, glyph.gid), run.text[glyph.cluster])

    def _name_letters(self) -> None:
        """Shows each noted glyph alone on a page that is left out.

        Words from right to left are written as wholes (ActualText), from which cairo learns
        nothing of their glyphs; but pdfium asks these which way a word runs.
        """
        assert self._surface is not None
        context = cairocffi.Context(self._surface)
        for (instance, gid), character in self._letters.items():
            context.set_font_face(cairo_face(instance))
            context.show_text_glyphs(character, [(gid, 9, 9)], [(len(character.encode()), 1)], 0)
        self.turn(keep=False)

    @functools.cached_property
    def blank(self) -> BlankFace:
        """The face of words that can be found under letters that are drawings."""
        return BlankFace()

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
        drawn = self._drawn()
        if all(self._kept) and not self.masked:
            return drawn
        pages = [number for number, kept in enumerate(self._kept) if kept]
        writer = PdfWriter()
        writer.append(PdfReader(io.BytesIO(drawn)), pages=pages, import_outline=False)
        if self.masked:
            _by_lightness(writer.pages)
        output = io.BytesIO()
        writer.write(output)
        return output.getvalue()

    def pages(self) -> list[PageObject]:
        """All pages, to be placed into another file; nothing can be drawn any more."""
        drawn = PdfReader(io.BytesIO(self._drawn())).pages
        pages = [page for page, kept in zip(drawn, self._kept, strict=True) if kept]
        if self.masked:
            _by_lightness(pages)
        return pages

    def _drawn(self) -> bytes:
        assert self._surface is not None
        if self._letters:
            self._name_letters()
        self._surface.finish()
        return self._output.getvalue()


class Canvas(Surface):  # type: ignore[misc]
    """Draws one SVG in its plain form onto the current page of a paper."""

    def __init__(
        self,
        root: Node,
        paper: PageSurface,
        book: FontBook,
        where: str,
        language: str,
    ) -> None:
        self.paper = paper
        self.pieces = 0
        self.book = book
        self.where = where
        self.language = language
        self.letters = Letters.FONT if book.embedded else Letters.OUTLINES
        self.in_pixels = False
        """Whether what is drawn now becomes pixels."""
        self._outer = Matrix()
        self._nested = 0
        self.laid = 0
        """Elements in all tiles of patterns laid out so far."""
        self.filtered = 0.0
        """Work that effects were so far, in pixels that one step of them goes through."""
        self.context: cairocffi.Context
        super().__init__(root, None, 96)

    map_rgba: Callable[[Rgba], Rgba] | None
    map_image: Callable[[Image.Image], Image.Image] | None

    def map_color(self, string: str, opacity: float = 1) -> Rgba:
        """A colour with an opacity, as it is to be painted now."""
        rgba = _rgba(string, opacity)
        return self.map_rgba(rgba) if self.map_rgba else rgba

    @property
    def matrix(self) -> Matrix:
        """From the context's user units to points of the page."""
        return self._outer @ Matrix(*self.context.get_matrix().as_tuple())

    @property
    def scale(self) -> float:
        """How many points of the page a user unit across is long."""
        across, down = self.context.user_to_device_distance(1, 0)
        a, b, c, d, *_ = self._outer
        return math.hypot(a * across + c * down, b * across + d * down)

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

    @contextlib.contextmanager
    def deeper(self, node: Node, groups: int) -> Iterator[None]:
        """Draws within so many groups more; raises UserError where they are too many."""
        self._nested += groups
        if self._nested > _MOST_NESTED:
            raise UserError(
                self.where,
                "too many masks and see-through groups lie in each other",
                f"ungroup some: {_MOST_NESTED // 2} masks or {_MOST_NESTED} groups are drawn",
                element=str(node.own.get("id", "")),
            )
        yield
        self._nested -= groups

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
        self.pieces += PIECE in node.own
        if node.tag == "g" and "transform" not in node and node.keys().isdisjoint(WHOLE):
            self.draw_all(node.children)
            return
        context = self.context
        context.save()
        if "transform" in node:
            try:
                transform(self, node.get("transform"))
            except cairocffi.CairoError as problem:  # so small or large that it has no inverse
                raise error(node.element, TOO_LARGE, self.where) from problem
        if self.letters in (Letters.BLANK, Letters.NONE) or node.keys().isdisjoint(WHOLE):
            self.draw_own(node, 1.0)
        else:
            self._draw_whole(node)
        context.restore()

    def _draw_whole(self, node: Node) -> None:
        """Draws an element that is clipped, masked, filtered, half clear or blended as a whole."""
        context, own = self.context, node.own
        set_clip(self, node)
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
        if grouped:
            context.push_group()
        with self.deeper(node, grouped + (mask is not None)):
            if filters:
                paint_filtered(self, node, [self.filters[name] for name in filters])
            else:
                self.draw_own(node, opacity)
        if grouped:
            context.pop_group_to_source()
            if mask is not None:
                paint_mask(self, node, mask, whole, operator)
            else:
                context.set_operator(operator)
                context.paint_with_alpha(whole)

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
            if node.get("visibility") not in ("hidden", "collapse") and not words:
                paint_picture(self, node, opacity)
        elif node.tag in SHAPES:
            if node.get("visibility") not in ("hidden", "collapse") and not words:
                self._draw_shape(node, opacity)
        else:
            self.draw_all(node.children)

    def box(self, node: Node) -> Rect | None:
        """The box that an element's own units refer to; texts count with their letters' cells."""
        if node.in_text:  # the box of a part of a text is that of all of it (SVG 2, 8.10)
            return text_box(self, _text_of(node))
        if next(node.element.iter(SVG + "text"), None) is None:
            return box_of(node.element)
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


def _by_lightness(pages: Iterable[PageObject]) -> None:
    seen: set[int] = set()
    for page in pages:
        by_lightness(page.get("/Resources"), seen)


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
    """Takes up an element's paint for its fill or stroke; tells whether there is any.

    Cairo sets text of one colour from where the text before it ended, give or take a rounding. A
    change of colour too small to be written makes it begin anew, so that where a piece stands
    does not depend on what is painted before it.
    """
    value = owner.get(which, "black" if which == "fill" else "none")
    if value == "none":
        return False
    source, said = _source_and_colour(value)
    alpha = float(owner.get(f"{which}-opacity", 1)) * opacity
    if source in canvas.gradients:
        if take_gradient(canvas, owner, canvas.gradients[source], alpha):
            return True
    elif source in canvas.patterns:
        take_pattern(canvas, owner, canvas.patterns[source], alpha)
        return True
    if not said or said == "none":
        return False
    red, green, blue, alpha = canvas.map_color(said, alpha)
    nudge = (1e-9 if blue < 0.5 else -1e-9) * (canvas.pieces % 2)
    canvas.context.set_source_rgba(red, green, blue + nudge, alpha)
    return True


_rgba = functools.lru_cache(maxsize=1000)(color)
_source_and_colour = functools.lru_cache(maxsize=1000)(paint)

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
    """Sets a text at the canvas's current transform.

    Raises UserError for faces or characters that are not there, and for sizes and places that a
    PDF has no numbers for.
    """
    try:
        runs = _runs(canvas, node)
        if canvas.gradients:  # whose own units refer to the box of the whole text
            box = _box(runs)
            for placed in runs:
                for owner in (placed.first.owner, *(line.owner for line in placed.first.lines)):
                    owner["text_bounding_box"] = box
        _paint_runs(canvas, runs, node)
    except _TEXT_ERRORS as problem:
        raise _error_of(canvas, node, problem) from None


def text_box(canvas: Canvas, node: Node) -> Rect | None:
    """The box around the cells of a text's letters; None for one without any."""
    try:
        runs = _runs(canvas, node)
        return _box(runs) if runs else None
    except _TEXT_ERRORS as problem:
        raise _error_of(canvas, node, problem) from None


def _runs(canvas: Canvas, node: Node) -> Sequence[SetRun]:
    """A text's letters in their places."""
    if not node.children and _ARRANGING.isdisjoint(node):
        return _runs_of_line(canvas, node)
    return _arranged(canvas, node)


def _runs_of_line(canvas: Canvas, node: Node) -> Sequence[SetRun]:
    """What ``_runs`` gives for a text with nothing in it but words.

    The same words in the same place come back week after week: what is known of them is kept.
    """
    key = (node.text, canvas.language, *node.own, *node.items())
    if key not in canvas.paper.lines:
        first = _first_of_line(canvas, node)
        if first is None:
            return _arranged(canvas, node)
        canvas.paper.lines[key] = set_line(node.text, first, canvas.book)
        return canvas.paper.lines[key]
    runs = canvas.paper.lines[key]
    first = runs[0].first
    own = Letter(first.character, node, first.style, first.anchor)
    return [placed._replace(first=own) for placed in runs]


def _arranged(canvas: Canvas, node: Node) -> Sequence[SetRun]:
    """A text's letters in their places, wherever each of them says that it stands."""
    letters = _letters(canvas, node)
    room = _room(canvas, node)
    if room is not None:
        letters = flowed(letters, room, canvas.book)
    return set_letters(letters, canvas.book)


def _first_of_line(canvas: Canvas, node: Node) -> Letter | None:
    """The first letter of a text that stands in one line as it is; None for any other text."""
    text = node.text
    if not text or "\n" in text:
        return None
    element = _element(canvas, node, None)
    letter = _letter(text[0], node, element)
    style = element.style
    if style.case or style.orientation or letter.is_mark:
        return None
    for name in ("x", "y"):
        places = lengths(node.own.get(name), style.size)
        if len(places) > 1:
            return None
        if places:
            setattr(letter, name, places[0])
    return letter


_ARRANGING = frozenset(
    ("dx", "dy", "rotate", "textLength", "display", FLOW,
     "unicode-bidi", "text-decoration", "text-decoration-line")
)  # fmt: skip
"""What makes letters of a text stand otherwise than one after another, or draws lines on them."""


_TEXT_ERRORS = (UserError, cairocffi.CairoError, OverflowError)


def _error_of(canvas: Canvas, node: Node, problem: Exception) -> UserError:
    """What went wrong with a text, said of that text."""
    name = str(node.own.get("id", ""))
    if isinstance(problem, UserError):
        if problem.where:
            return problem
        return UserError(canvas.where, problem.what, problem.remedy, element=name)
    return UserError(
        canvas.where,
        "a text with numbers that cannot be drawn: its size or place is far off any page",
        "set its size and place anew, or delete it",
        element=name,
    )


def _room(canvas: Canvas, node: Node) -> Flow | None:
    """What a text flows into, if it does."""
    numbers = lengths(node.own.get(FLOW))
    if len(numbers) < 3:
        return None
    x, y, width, *height = numbers
    starts, ends = ("right", "left") if node.get("direction") == "rtl" else ("left", "right")
    if height:
        said = {"start": starts, "end": ends, "center": "middle"}
        align = str(node.get("text-align", "start")).strip()
        align = said.get(align, align)
    else:  # the text stands about its x
        align = {"middle": "middle", "end": ends}.get(node.get("text-anchor", "start"), starts)
        x -= {"middle": width / 2, "right": width}.get(align, 0.0)
    own = _element(canvas, node, None)
    return Flow(x, y, width, height[0] if height else None, align, own.style, own.leading)


def _paint_runs(canvas: Canvas, runs: Sequence[SetRun], around: Node) -> None:
    """Paints runs of a text, those of an element that is clipped, masked or clear as one."""
    if all(placed.first.owner is around for placed in runs):
        _show_runs(canvas, runs)
        return
    for layer, group in itertools.groupby(runs, key=lambda placed: _layer(placed, around)):
        held = list(group)
        if layer is None or canvas.letters == Letters.BLANK:
            _show_runs(canvas, held)
            continue
        context = canvas.context
        context.save()
        set_clip(canvas, layer)
        mask = canvas.masks.get(parse_url(layer.get("mask")).fragment)
        context.push_group()
        with canvas.deeper(layer, 1 + (mask is not None)):
            _paint_runs(canvas, held, layer)
        context.pop_group_to_source()
        opacity = float(layer.get("opacity", 1))
        if mask is not None:
            paint_mask(canvas, layer, mask, opacity, cairocffi.OPERATOR_OVER)
        else:
            context.paint_with_alpha(opacity)
        context.restore()


def _layer(placed: SetRun, around: Node) -> Node | None:
    """The outermost element within another that wants a layer for a run's letters, if any."""
    found, node = None, placed.first.owner
    while node is not around:
        if any(name in node.own for name in ("clip-path", "mask")) or (
            float(node.own.get("opacity", 1)) < 1
        ):
            found = node
        node = node.parent
    return found


_LARGEST, _SMALLEST = 8500.0, 0.01
"""Type sizes in points (3 m, 3.5 µm) beyond which letters are refused, or are not to be seen."""


def _text_of(node: Node) -> Node:
    while node.tag != "text" and node.parent is not None:
        node = node.parent
    return node


def _show_runs(canvas: Canvas, runs: Sequence[SetRun]) -> None:
    """Shows runs between their lines: those under and over them first, those through them last."""
    scale = canvas.scale
    sizes = {run.size: run.size * scale for run, *_ in runs}
    if max(sizes.values(), default=0.0) > _LARGEST:
        what = "letters of more than 3 m can't be drawn"
        text = _text_of(runs[0].first.owner)
        raise UserError(
            canvas.where, what, "set the font size", element=str(text.own.get("id", ""))
        )
    runs = [placed for placed in runs if sizes[placed.run.size] > _SMALLEST]
    lined = any(placed.first.lines for placed in runs)
    canvas.context.new_path()
    for kind in ("underline", "overline") if lined else ():
        _draw_lines(canvas, runs, kind)
    for placed in runs:
        _show(canvas, placed)
    if lined:
        _draw_lines(canvas, runs, "line-through")


def _letters(canvas: Canvas, node: Node, outer: _Element | None = None) -> list[Letter]:
    """Every character of a text element and its children, with its style and its place."""
    if node.get("display") == "none":
        return []
    element = _element(canvas, node, outer)
    letters = [_letter(character, node, element) for character in node.text or ""]
    for child in node.children:
        letters += _letters(canvas, child, element)
    _position(node, element.style.size, letters)
    return letters


def _letter(character: str, node: Node, element: _Element) -> Letter:
    return Letter(
        character,
        node,
        element.style,
        node.get("text-anchor", "start"),
        backwards=node.get("direction") == "rtl",
        rise=element.rise,
        leading=element.leading,
        lines=element.lines,
        stretched=element.stretched,
        way=element.way,
    )


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
    aligned: float | None
    """How far ``alignment-baseline`` has raised it; None where no element says so."""
    rise: float
    """How far its letters stand above the line that its ``y`` gives, user units."""
    leading: float
    """How far apart lines of preformatted text lie, user units."""
    lines: tuple[_Line, ...]
    """The lines drawn on its letters, those of outer elements first."""
    stretched: tuple[SetLength, ...]
    way: Way | None
    """The path that its letters stand on."""


@dataclass(frozen=True, eq=False)
class _Line:
    """A line that an element draws on its text, and the type that says where."""

    kind: str
    said: Decoration
    owner: Node
    style: Style


def _element(canvas: Canvas, node: Node, outer: _Element | None) -> _Element:
    size, weight = font_size(node.get("font-size"), 16.0), font_weight(node.get("font-weight"))
    style = style_of(node.get, size, weight, _language(canvas, node))
    turns = outer.style.turns if outer else ()
    turn = _TURNS.get((node.own.get("unicode-bidi", ""), style.right_to_left))
    if turn:
        turns += ((id(node), turn),)
    if outer:  # these are not properties of an element but of a line, or lengths for all within
        style = replace(style, right_to_left=outer.style.right_to_left)
        if node.own.get("letter-spacing") is None:
            style = replace(style, letter_spacing=outer.style.letter_spacing)
        if node.own.get("word-spacing") is None:
            style = replace(style, word_spacing=outer.style.word_spacing)
    if turns:
        style = replace(style, turns=turns)
    shift = (outer.shift if outer else 0.0) + _shift_up(node, style, outer)
    aligned = outer.aligned if outer else None
    if node.own.get("alignment-baseline", "auto") not in ("auto", "baseline"):
        aligned = (aligned or 0.0) + _baseline(node, style, canvas.book)
    lines: tuple[_Line, ...] = outer.lines if outer else ()
    if "text-decoration" in node or "text-decoration-line" in node:
        holder: Node | None = None if outer else node.parent
        while holder is not None:  # groups draw lines on all texts in them
            lines = (*_lines(holder, style), *lines)
            holder = holder.parent
        lines += _lines(node, style)
    long = length(node.own.get("textLength"), default=-1.0)
    stretch = SetLength(long, node.own.get("lengthAdjust") == "spacingAndGlyphs")
    return _Element(
        style,
        shift,
        aligned,
        shift + (_baseline(node, style, canvas.book) if aligned is None else aligned),
        leading(node.get("line-height"), size),
        lines,
        (*(outer.stretched if outer else ()), *((stretch,) if long > 0 else ())),
        _way_of(canvas, node) if node.tag == "textPath" else outer.way if outer else None,
    )


_TURNS = {
    ("embed", False): "\u202a", ("embed", True): "\u202b",
    ("isolate", False): "\u2066", ("isolate", True): "\u2067",
    ("bidi-override", False): "\u202d", ("bidi-override", True): "\u202e",
    ("isolate-override", False): "\u2066\u202d", ("isolate-override", True): "\u2067\u202e",
    ("plaintext", False): "\u2068", ("plaintext", True): "\u2068",
}  # fmt: skip
"""The signs (UAX #9) that a ``unicode-bidi`` stands for, in text that runs from right to left
or not."""


def _language(canvas: Canvas, node: Node) -> str:
    """What language an element's words are in: its text says so, or they are in the page's."""
    while node.in_text:
        if _LANG in node.own:
            return str(node.own[_LANG])
        if node.parent is None:
            break
        node = node.parent
    return canvas.language


_LANG = "{http://www.w3.org/XML/1998/namespace}lang"


def _lines(node: Node, style: Style) -> tuple[_Line, ...]:
    said = decoration(node.own.get)
    return tuple(_Line(kind, said, node, style) for kind in said.lines) if said else ()


def _shift_up(node: Node, style: Style, outer: _Element | None) -> float:
    """How far ``baseline-shift`` raises an element's own text, in user units.

    How high "super" is, is the parent's affair (CSS Inline 3, 4.3).
    """
    value = node.own.get("baseline-shift")  # not inherited (SVG 1.1, 10.9.2)
    if value in ("super", "sub"):
        size = outer.style.size if outer else style.size
        return size * (0.4 if value == "super" else -0.2)  # as vector editors do
    return length(value, em=style.size, whole=style.size)


def _baseline(node: Node, style: Style, book: FontBook) -> float:
    """How far an element's alphabetic baseline lies above the line its ``y`` gives (negative).

    Each element stands on the line by its own face and size (CSS Inline 3, 4.2). In a column,
    what counts is how far its middle lies to the right (CSS Writing Modes 4, 4.2).
    """
    wanted = node.own.get("alignment-baseline", "auto")
    if wanted in ("auto", "baseline"):
        wanted = node.get("dominant-baseline", "auto")
    if wanted == "auto":
        wanted = "central" if style.orientation in ("mixed", "upright") else "alphabetic"
    if wanted == ("central" if style.orientation else "alphabetic") or not style.families:
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
    }
    usual = below["central"] if style.orientation else 0.0
    return float((usual - below.get(wanted, 0.0)) * style.size / em)


def _way_of(canvas: Canvas, holder: Node) -> Way | None:
    """The path of a ``textPath`` and where its text starts along it."""
    target = canvas.paths.get(parse_url(holder.get_href() or "").fragment)
    if target is None:
        return None
    data = outline(target.element).moved(parse_transform(target.get("transform")).point)
    guide = guide_along(data, backwards=holder.get("side") == "right")
    em = font_size(holder.get("font-size"), 16.0)
    offset = str(holder.get("startOffset") or "")
    start = length(offset, em, guide.length)
    whole = length(target.get("pathLength"))
    if whole > 0 and not offset.rstrip().endswith("%"):  # in the path's own measure (SVG 2, 9.6.1)
        start *= guide.length / whole
    return Way(guide, start)


def _box(runs: Sequence[SetRun]) -> Rect:
    """The box that holds the cells of all glyphs of a text."""
    corners = []
    for placed in runs:
        run, x, y, angle = placed.run, placed.x, placed.y, placed.angle
        extents, upem = run.instance.hb_font.get_font_extents("ltr"), run.instance.hb_face.upem
        middle = middle_of(run) if run.upright else 0.0
        angle += math.pi / 2 if run.upright else 0.0
        for edge in (extents.ascender, extents.descender):
            rise = edge * run.size / upem - middle
            corners += [
                (
                    x + along * math.cos(angle) + rise * math.sin(angle),
                    y + along * math.sin(angle) - rise * math.cos(angle),
                )
                for along in (0.0, placed.advance)
            ]
    return Rect.around(corners) if corners else Rect(0.0, 0.0, 0.0, 0.0)


_MEASURES = {
    "underline": (hb.OTMetricsTag.UNDERLINE_OFFSET, hb.OTMetricsTag.UNDERLINE_SIZE),
    "overline": (hb.OTMetricsTag.HORIZONTAL_ASCENDER, hb.OTMetricsTag.UNDERLINE_SIZE),
    "line-through": (hb.OTMetricsTag.STRIKEOUT_OFFSET, hb.OTMetricsTag.STRIKEOUT_SIZE),
}
"""A face's own measures of the lines on its text: upper edge (OpenType, "post" and "OS/2") and
thickness. Fonts say nothing of a line above; it lies under the upper edge of the letters' cells."""


def _draw_lines(canvas: Canvas, runs: Sequence[SetRun], kind: str) -> None:
    """Draws the lines of a kind on runs, in one where the runs stand in line.

    All parts of a line are as thick and as far from their baseline as the type of the element
    that draws it says (CSS Text Decoration 4, 2.8), but letters that are raised have it with them.
    """
    if canvas.letters == Letters.BLANK:
        return
    seen = {line: None for placed in runs for line in placed.first.lines if line.kind == kind}
    for line in seen:
        part: list[SetRun] = []
        for placed in runs:
            own = line in placed.first.lines
            hidden = placed.first.owner.get("visibility") in ("hidden", "collapse")
            if part and (not own or hidden or not _in_line(part[-1], placed)):
                _draw_line(canvas, part[0], part[-1].end - part[0].x, line)
                part = []
            if own and not hidden:
                part.append(placed)
        if part:
            _draw_line(canvas, part[0], part[-1].end - part[0].x, line)


def _in_line(one: SetRun, other: SetRun) -> bool:
    """Whether a run goes on where another, level as it is itself, ends."""
    apart = math.hypot(other.x - one.end, other.y - one.y)
    return not one.angle and not other.angle and apart < 1e-6 * max(one.run.size, 1e-9)


def _draw_line(canvas: Canvas, start: SetRun, wide: float, line: _Line) -> None:
    """Draws a line of text from where a run begins; the paint is that of who asked for it."""
    style, said, context = line.style, line.said, canvas.context
    instance = canvas.book.find(style.families, style.weight, style.italic)
    per_unit = style.size / instance.hb_face.upem
    measure = instance.hb_font.get_metric_position_with_fallback
    top, thick = (measure(tag) * per_unit for tag in _MEASURES[line.kind])
    thick = length(said.thickness, em=style.size, whole=style.size, default=thick)
    if line.kind == "underline":
        top = -length(said.offset, em=style.size, whole=style.size, default=-top)
    if start.angle:
        wide = start.advance
    if thick <= 0 or wide <= 0:
        return
    pen = said.look in _PEN_LINES
    colour = Colour.read(said.colour)
    for step in ("fill",) if colour else ("fill", "stroke"):
        if colour:
            context.set_source_rgba(*canvas.map_color(str(colour), 1))
        elif not take_paint(canvas, line.owner, step):
            continue
        context.save()
        context.translate(start.x, start.y)
        context.rotate(start.angle)
        if start.run.upright:  # as on letters beside it that lie
            context.rotate(math.pi / 2)
            context.translate(0, middle_of(start.run))
        _trace_line(context, said.look, wide, -top, thick)
        if pen or step == "fill":
            context.stroke() if pen else context.fill()
        else:
            set_pen(canvas, line.owner)
            context.stroke()
        context.restore()
        if pen:
            break


_PEN_LINES = frozenset(("dotted", "dashed", "wavy"))


def _trace_line(
    context: cairocffi.Context, look: str, wide: float, top: float, thick: float
) -> None:
    """Traces a line whose upper edge is at ``top``; how far apart its parts lie is by eye."""
    context.new_path()
    if look not in _PEN_LINES:
        for edge in (top, top + 2 * thick) if look == "double" else (top,):
            context.rectangle(0, edge, wide, thick)
        return
    context.set_line_width(thick)
    context.set_line_cap(cairocffi.LINE_CAP_BUTT)
    context.set_dash([])
    middle = top + thick / 2
    context.move_to(0, middle)
    if look == "wavy":
        half = 4 * thick
        for number in range(max(round(wide / half), 1)):
            x, swing = number * half, (2.4 if number % 2 else -2.4) * thick
            step = min(half, wide - x)
            context.curve_to(
                x + step * 0.4, middle + swing, x + step * 0.6, middle + swing, x + step, middle
            )
        return
    context.line_to(wide, middle)
    if look == "dotted":
        context.set_line_cap(cairocffi.LINE_CAP_ROUND)
        context.set_dash([0, 2 * thick], -thick / 2)
    else:
        context.set_dash([3 * thick, 2 * thick])


_SLANT = math.tan(math.radians(14))
"""How far upright letters are slanted, for want of italics (CSS Fonts 4, 2.4, "oblique")."""
_BOLDER = 1 / 28
"""The width in em of the line around letters that are to look bold (browsers take 1/24 to 1/32)."""


def _show(canvas: Canvas, placed: SetRun) -> None:
    """Shows a run and its lines where it stands, with the paint of its element."""
    run, owner, context = placed.run, placed.first.owner, canvas.context
    if owner.get("visibility") in ("hidden", "collapse"):
        return
    blank = canvas.letters in (Letters.OUTLINES, Letters.BLANK)
    if canvas.letters == Letters.BLANK:  # their specks may lie on bare paper
        context.set_source_rgba(0, 0, 0, _FAINTEST)
    elif run.instance.in_colour:
        _show_in_colours(canvas, placed)
        context.set_source_rgb(1, 1, 1)  # the specks of its letters are seen least in white
        blank = canvas.letters != Letters.SHAPES
    else:
        _show_in_ink(canvas, placed)
    if blank:
        with _at(context, placed):
            _show_blank(context, canvas.paper.blank, run)


def _show_in_ink(canvas: Canvas, placed: SetRun) -> None:
    """Shows a run in the paint of its element: as letters of its face, or as their outlines."""
    run, owner, context = placed.run, placed.first.owner, canvas.context
    context.set_font_face(cairo_face(run.instance))
    slant = _SLANT * run.size if run.instance.slanted else 0.0
    context.set_font_matrix(_font_matrix(run.size, slant))
    shown = run.places
    for step in paint_order(owner.get("paint-order")):
        if step == "markers":
            continue
        # Paint is chosen before the turn and shift: a gradient lies in the whole text's units.
        if not take_paint(canvas, owner, step):
            continue
        with _at(context, placed):
            if step == "fill" and canvas.letters == Letters.FONT:
                text, clusters = run.spelling
                context.show_text_glyphs(text, shown, clusters, 0)
                if run.right_to_left:
                    canvas.paper.note(run)
            else:
                context.new_path()
                context.glyph_path(shown)
                set_pen(canvas, owner)
                context.fill() if step == "fill" else context.stroke()
            if step == "fill" and run.instance.emboldened:
                context.new_path()
                context.glyph_path(shown)
                context.set_line_width(_BOLDER * run.size)
                context.set_dash([])
                context.stroke()


@functools.lru_cache(maxsize=1000)
def _font_matrix(size: float, slant: float) -> cairocffi.Matrix:
    return cairocffi.Matrix(size, 0, -slant, size)


def _show_in_colours(canvas: Canvas, placed: SetRun) -> None:
    """Draws a run of a colour face as the drawings and pictures it is."""
    run, owner, context = placed.run, placed.first.owner, canvas.context
    level = context.get_matrix()

    def ink(share: float) -> None:
        own = context.get_matrix()
        context.set_matrix(level)
        if not take_paint(canvas, owner, "fill", share / max(opacity, 1e-6)):
            context.set_source_rgba(0, 0, 0, 0)
        context.set_matrix(own)

    def drawing(document: bytes, gid: int) -> None:
        context.scale(1, -1)
        _draw_glyph(canvas, document, gid, owner)

    brush = Brush(
        context,
        run.instance,
        ink,
        drawing,
        colour=lambda rgba: canvas.map_rgba(rgba) if canvas.map_rgba else rgba,
        picture=functools.partial(surface_of, canvas),
        as_mask=functools.partial(canvas.in_greys, Lightness(alpha=True, linear=False)),
        palette=palette_for(run.instance, str(owner.get("font-palette", "normal"))),
    )
    opacity = float(owner.get("fill-opacity", 1))
    if opacity < 1:
        context.push_group()
    scale = run.size / run.instance.hb_face.upem
    for glyph in run.glyphs:
        with _at(context, placed):
            context.translate(glyph.x, glyph.y)
            context.scale(scale, -scale)
            paint_glyph(brush, glyph.gid)
    if opacity < 1:
        context.pop_group_to_source()
        context.paint_with_alpha(opacity)


def _draw_glyph(canvas: Canvas, document: bytes, gid: int, owner: Node) -> None:
    """Draws a glyph of an SVG document (OpenType, SVG) with what the canvas draws pages with."""
    if document.startswith(b"\x1f\x8b"):
        document = gzip.decompress(document)
    root = etree.fromstring(_OWN_COLOUR.sub(rb"\1", document))
    holder = etree.Element(SVG + "svg", {"width": "1", "height": "1", "viewBox": "0 0 1 1"})
    holder.set("color", str(owner.get("color") or "black"))
    defs = etree.SubElement(holder, SVG + "defs")
    if root.get("id") == f"glyph{gid}":
        root.tag = SVG + "g"
        defs.append(root)
    else:
        defs.extend(list(root))
    etree.SubElement(holder, SVG + "use", {"href": f"#glyph{gid}"})
    resolve_styles(holder)
    simplify(holder, canvas.where)
    node = Node(holder)
    kept = {name: dict(getattr(canvas, name)) for name in _DEFINED}
    parse_all_defs(canvas, node)
    canvas.draw_all(node.children)
    for name, held in kept.items():
        setattr(canvas, name, held)


_DEFINED = ("gradients", "patterns", "masks", "paths", "filters")


_OWN_COLOUR = re.compile(rb"var\(\s*--color\d+\s*,\s*([^()]*(?:\([^()]*\))?)\s*\)")
"""A colour of a palette in an SVG glyph, with the one that stands for it where there is none."""


@contextlib.contextmanager
def _at(context: cairocffi.Context, placed: SetRun) -> Iterator[None]:
    """Makes where a run starts the context's origin and its angle the context's level."""
    context.save()
    context.translate(placed.x, placed.y)
    if placed.angle:
        context.rotate(placed.angle)
    if placed.stretch != 1.0:
        context.scale(placed.stretch, 1.0)
    yield
    context.restore()


def _show_blank(context: cairocffi.Context, blank: BlankFace, run: Run) -> None:
    """Shows the text of outlines once more, without ink: one empty glyph for each cluster."""
    spelled, clusters = run.spelling
    context.set_font_face(cairo_face(blank.instance))
    # Small capitals as large as their neighbours, or readers take the step for a space.
    size = run.size if run.capitals is None else run.size / CAPITALS
    context.set_font_size(size)
    shown, lengths = [], []
    letters = spelled.encode()
    rest = iter(run.glyphs)
    for length_in_bytes, count in clusters:
        group = list(itertools.islice(rest, count))
        part, letters = letters[:length_in_bytes], letters[length_in_bytes:]
        down = group[0].y if run.upright else 0.0
        ink = run.ink(group).moved(0.0, -down)
        left, wide = group[0].x, sum(glyph.advance for glyph in group)
        if count > 1 or run.upright:  # some faces write a word's last letter far below the others
            left, wide = ink.x, ink.width
        ems = (value / size for value in (wide, -ink.bottom, -ink.y))
        shown.append((blank.glyph(part.decode(), *ems), left, down))
        lengths.append((length_in_bytes, 1))
    context.show_text_glyphs(spelled, shown, lengths, 0)
