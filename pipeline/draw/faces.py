"""Hands font files to cairo, and paints the glyphs of colour faces; and a face without ink.

The one place that speaks to fontconfig and FreeType. Fontconfig only carries a file's path to
cairo; it is never asked to look for fonts.

Where a licence wants outlines, letters are drawn as paths and the same text is shown over them in
a blank face: nothing to see, but a reader can search, select and read it aloud.
"""

from __future__ import annotations

import bisect
import contextlib
import ctypes.util
import functools
import hashlib
import io
import itertools
import math
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any

import cairocffi
import cffi
import uharfbuzz as hb
from fontTools.fontBuilder import FontBuilder
from fontTools.pens.cairoPen import CairoPen
from fontTools.pens.ttGlyphPen import TTGlyphPen
from fontTools.ttLib.tables._g_l_y_f import Glyph
from PIL import Image

from pipeline.base.folders import scratch_folder, write_whole
from pipeline.text.fonts import Face, Instance

_ffi = cffi.FFI()
_ffi.include(cairocffi.ffi)
_ffi.cdef(
    """
    typedef struct _FcPattern FcPattern;
    FcPattern *FcPatternCreate(void);
    void FcPatternDestroy(FcPattern *);
    int FcPatternAddString(FcPattern *, const char *, const unsigned char *);
    int FcPatternAddInteger(FcPattern *, const char *, int);
    cairo_font_face_t *cairo_ft_font_face_create_for_pattern(FcPattern *);
    """
)


@functools.cache
def _libraries() -> tuple[Any, Any]:
    def opened(*names: str) -> Any:
        for name in names:
            try:
                return _ffi.dlopen(ctypes.util.find_library(name) or name)
            except OSError:
                continue
        raise OSError(f"cannot load {names[0]}")

    fontconfig = opened("fontconfig", "libfontconfig.so.1", "libfontconfig.1.dylib")
    return fontconfig, opened("cairo", "libcairo.so.2", "libcairo.2.dylib")


@functools.cache
def face_folder() -> Path:
    """Where this process keeps font files for cairo; gone when it ends."""
    return scratch_folder("faces")


@functools.lru_cache(maxsize=256)
def cairo_face(instance: Instance) -> cairocffi.FontFace:
    """Cairo's font face for a pinned face, made from its bytes once per process."""
    path = face_folder() / (
        hashlib.sha256(instance.data).hexdigest()[:32] + instance.face.path.suffix
    )
    if not path.exists():
        write_whole(path, instance.data)  # processes started by this one share the folder
    fontconfig, cairo = _libraries()
    pattern = fontconfig.FcPatternCreate()
    fontconfig.FcPatternAddString(pattern, b"file", str(path).encode())
    fontconfig.FcPatternAddInteger(pattern, b"index", 0)
    pointer = cairo.cairo_ft_font_face_create_for_pattern(pattern)
    fontconfig.FcPatternDestroy(pattern)
    return cairocffi.FontFace(cairocffi.ffi.cast("cairo_font_face_t *", pointer))


BLANK = "Blank"
"""The face without ink, as files name it."""
_EM = 1000
_WIDTHS = (*range(0, _EM, _EM // 20), *(round(_EM * 1.08**step) for step in range(37)))
"""Empty glyphs come in widths a twentieth of an em apart, those for long words by 8 %, so that
readers see no gaps within words and none between them closed."""
_TEXTS = 100
_BOTTOMS = (0, -220)
_TOPS = (520, 750)
"""And in four heights, with and without what reaches below the line or above small letters, so
that what readers mark is about where the ink is."""


class BlankFace:
    """Hands out an empty glyph for each different text that one glyph is to stand for."""

    def __init__(self) -> None:
        self._row_of: dict[str, int] = {}

    def glyph(self, text: str, advance_em: float, below_em: float, above_em: float) -> int:
        """The empty glyph for ``text`` that is so many ems wide, or a little less.

        ``below_em`` and ``above_em`` are where its ink ends, up from the line.
        """
        row = self._row_of.setdefault(text, len(self._row_of) % _TEXTS)
        column = max(bisect.bisect(_WIDTHS, advance_em * _EM) - 1, 0)
        deep, high = (
            2 * em * _EM > sum(ends)
            for em, ends in ((-below_em, (0, -_BOTTOMS[1])), (above_em, _TOPS))
        )
        return 1 + ((row * len(_WIDTHS) + column) * 2 + deep) * 2 + high

    @property
    def instance(self) -> Instance:
        """The face itself, for cairo."""
        return Instance(_face(), ())


def _specks(width: int, bottom: int, top: int) -> Glyph:
    """Two specks at the corners of a box, a thousandth of an em each way.

    No printer can show them, and a reader takes what is between them for the letter: some (pdfium)
    pass over text that covers no area at all, and over a single letter hardly wider than that.
    """
    pen = TTGlyphPen(None)
    for x, y in ((0, bottom), (max(1, width) - 1, top - 1)):
        pen.moveTo((x, y))
        for corner in ((x, y + 1), (x + 1, y + 1), (x + 1, y)):
            pen.lineTo(corner)
        pen.closePath()
    return pen.glyph()


@functools.cache
def _face() -> Face:
    shapes = [*itertools.product(_WIDTHS, _BOTTOMS, _TOPS)]
    count = _TEXTS * len(shapes)
    names = [".notdef", *(f"blank{number}" for number in range(count))]
    builder = FontBuilder(_EM, isTTF=True)
    builder.setupGlyphOrder(names)
    builder.setupCharacterMap({})
    drawn = [_specks(*shape) for shape in shapes]
    glyphs = [_specks(0, 0, 1), *drawn * _TEXTS]
    builder.setupGlyf(dict(zip(names, glyphs, strict=True)))
    widths = [_EM // 2, *[width for width, *_ in shapes] * _TEXTS]
    builder.setupHorizontalMetrics(
        {name: (width, 0) for name, width in zip(names, widths, strict=True)}
    )
    builder.setupHorizontalHeader(ascent=800, descent=-200)
    builder.setupNameTable({"familyName": BLANK, "styleName": "Regular", "psName": BLANK})
    builder.setupOS2(sTypoAscender=800, sTypoDescender=-200, fsType=0)
    builder.setupPost(keepGlyphNames=False)
    builder.font["head"].created = builder.font["head"].modified = 0
    builder.font.recalcTimestamp = False
    file = io.BytesIO()
    builder.save(file)
    path = face_folder() / "blank.ttf"
    write_whole(path, file.getvalue())
    return Face(BLANK, path, False, (400.0, 400.0), ())


Rgba = tuple[float, float, float, float]
"""A colour's red, green, blue and opacity, from 0 to 1."""
_Step = Callable[[], object]


@dataclass(frozen=True)
class Brush:
    """What a colour glyph is painted with: a context in the face's own units, y upwards.

    ``ink`` takes up the paint of the text, at a share of its opacity, for what has no colour of its
    own. ``drawing`` draws one glyph of an SVG document (its number is given). ``colour`` and
    ``picture`` give what colours and pictures look like now, and ``as_mask`` makes that white:
    masks of a PDF count by lightness where there is any that does. ``palette`` is the number of
    the face's palette.
    """

    context: cairocffi.Context
    instance: Instance
    ink: Callable[[float], object]
    drawing: Callable[[bytes, int], object]
    colour: Callable[[Rgba], Rgba]
    picture: Callable[[Image.Image], cairocffi.ImageSurface]
    as_mask: Callable[[], contextlib.AbstractContextManager[None]]
    palette: int = 0
    groups: list[list[_Step]] = field(default_factory=list)
    """What is to be painted in each open group: only its end says whether it becomes a mask."""

    def do(self, step: _Step) -> None:
        """Paints something, or keeps it for the end of the group it is in."""
        if self.groups:
            self.groups[-1].append(step)
        else:
            step()


def paint_glyph(brush: Brush, gid: int) -> None:
    """Paints a glyph in its colours (COLR, SVG, sbix or CBDT), or where it has none in ink."""
    face, font = brush.instance.hb_face, brush.instance.hb_font
    layered = face.glyph_has_color_paint(gid) or face.get_glyph_color_layers(gid)
    document = face.get_glyph_color_svg(gid) if face.has_color_svg and not layered else None
    if document:
        brush.drawing(bytes(document.data), gid)
        return
    picture = font.get_glyph_color_png(gid) if face.has_color_png and not layered else None
    if picture and picture.data:
        _paint_picture(brush, bytes(picture.data), font.get_glyph_extents(gid))
        return
    black = hb.Color(0, 0, 0, 255)  # what is to be in ink comes with its own share of opacity
    font.paint_glyph(gid, _paint_functions(), brush, brush.palette, black)


def palette_for(instance: Instance, wanted: str) -> int:
    """The number of a face's palette by ``font-palette``: its first for "light" or "dark" grounds
    (CSS Fonts 4, 9.1), else its first of all."""
    flags = {
        "light": hb.OTColorPaletteFlags.USABLE_WITH_LIGHT_BACKGROUND,
        "dark": hb.OTColorPaletteFlags.USABLE_WITH_DARK_BACKGROUND,
    }
    asked = flags.get(wanted)
    if asked is None:
        return 0
    palettes = enumerate(instance.hb_face.color_palettes)
    numbers = (number for number, palette in palettes if palette.flags & asked)
    return next(numbers, 0)


def _paint_picture(brush: Brush, data: bytes, box: hb.GlyphExtents | None) -> None:
    if box is None:
        return
    picture, context = brush.picture(Image.open(io.BytesIO(data))), brush.context
    context.save()
    context.translate(box.x_bearing, box.y_bearing)
    context.scale(box.width / picture.get_width(), box.height / picture.get_height())
    context.set_source_surface(picture)
    context.paint()
    context.restore()


@functools.cache
def _paint_functions() -> hb.PaintFuncs:
    """HarfBuzz's instructions for a glyph of layers (OpenType, COLR), carried out by cairo."""
    functions = hb.PaintFuncs()
    functions.set_push_transform_func(_push_transform)
    functions.set_pop_transform_func(_pop)
    functions.set_push_clip_glyph_func(_push_clip_glyph)
    functions.set_push_clip_rectangle_func(_push_clip_rectangle)
    functions.set_pop_clip_func(_pop)
    functions.set_color_func(_flat)
    functions.set_linear_gradient_func(_linear)
    functions.set_radial_gradient_func(_radial)
    functions.set_sweep_gradient_func(_sweep)
    functions.set_push_group_func(_push_group)
    functions.set_pop_group_func(_pop_group)
    return functions


def _push_transform(
    xx: float, yx: float, xy: float, yy: float, dx: float, dy: float, brush: Brush
) -> None:
    brush.do(brush.context.save)
    matrix = cairocffi.Matrix(xx, yx, xy, yy, dx, dy)
    brush.do(functools.partial(brush.context.transform, matrix))


def _pop(brush: Brush) -> None:
    brush.do(brush.context.restore)


def _push_clip_glyph(gid: int, brush: Brush) -> None:
    def clip() -> None:
        context = brush.context
        context.save()
        context.new_path()
        brush.instance.hb_font.draw_glyph_with_pen(gid, CairoPen(None, context))
        context.clip()

    brush.do(clip)


def _push_clip_rectangle(
    left: float, bottom: float, right: float, top: float, brush: Brush
) -> None:
    def clip() -> None:
        context = brush.context
        context.save()
        context.new_path()
        context.rectangle(left, bottom, right - left, top - bottom)
        context.clip()

    brush.do(clip)


def _flat(color: hb.Color, is_ink: bool, brush: Brush) -> None:
    red, green, blue, alpha = _rgba(color)

    def fill() -> None:
        if is_ink:
            brush.ink(alpha)
        else:
            brush.context.set_source_rgba(*brush.colour((red, green, blue, alpha)))
        brush.context.paint()

    brush.do(fill)


def _rgba(color: hb.Color) -> Rgba:
    return color.red / 255, color.green / 255, color.blue / 255, color.alpha / 255


_EXTENDS = {
    hb.PaintExtend.PAD: cairocffi.EXTEND_PAD,
    hb.PaintExtend.REPEAT: cairocffi.EXTEND_REPEAT,
    hb.PaintExtend.REFLECT: cairocffi.EXTEND_REFLECT,
}


def _stops(line: hb.ColorLine) -> tuple[list[tuple[float, Rgba]], float, float]:
    """A gradient's stops from 0 to 1, and where on its line those two lie."""
    stops = sorted(((stop.offset, _rgba(stop.color)) for stop in line.color_stops),
                   key=lambda stop: stop[0])  # fmt: skip
    least, most = stops[0][0], stops[-1][0]
    wide = (most - least) or 1.0
    return [((offset - least) / wide, color) for offset, color in stops], least, most


def _paint_gradient(
    brush: Brush,
    make: Callable[[], cairocffi.Gradient],
    stops: Sequence[tuple[float, Rgba]],
    line: hb.ColorLine,
) -> None:
    extend = _EXTENDS[line.extend]

    def fill() -> None:
        pattern = make()
        for offset, color in stops:
            pattern.add_color_stop_rgba(offset, *brush.colour(color))
        pattern.set_extend(extend)
        brush.context.set_source(pattern)
        brush.context.paint()

    brush.do(fill)


def _linear(
    line: hb.ColorLine,
    x0: float, y0: float, x1: float, y1: float, x2: float, y2: float,
    brush: Brush,
) -> None:  # fmt: skip
    """From point 0 to 1; lines of equal colour go as from 0 to 2 (OpenType, COLR, 5.7.11.1.2)."""
    stops, least, most = _stops(line)
    start, way, aside = complex(x0, y0), complex(x1 - x0, y1 - y0), complex(x2 - x0, y2 - y0)
    if aside:
        way -= aside * ((way * aside.conjugate()).real / abs(aside) ** 2)
    first, last = start + least * way, start + most * way
    ends = (first.real, first.imag, last.real, last.imag)
    _paint_gradient(brush, functools.partial(cairocffi.LinearGradient, *ends), stops, line)


def _radial(
    line: hb.ColorLine,
    x0: float, y0: float, r0: float, x1: float, y1: float, r1: float,
    brush: Brush,
) -> None:  # fmt: skip
    stops, least, most = _stops(line)
    circles = [
        (x0 + at * (x1 - x0), y0 + at * (y1 - y0), max(r0 + at * (r1 - r0), 0.0))
        for at in (least, most)
    ]
    make = functools.partial(cairocffi.RadialGradient, *circles[0], *circles[1])
    _paint_gradient(brush, make, stops, line)


_SECTORS = 120
"""Into how many parts a circle is cut for a sweep."""


def _sweep(line: hb.ColorLine, x: float, y: float, start: float, end: float, brush: Brush) -> None:
    """Colours around a point, from one angle to another, anticlockwise from three o'clock."""
    stops, least, most = _stops(line)
    first, last = start + least * (end - start), start + most * (end - start)
    edges = {step * math.tau / _SECTORS for step in range(_SECTORS + 1)}
    edges |= {
        angle for offset, _ in stops if 0 < (angle := first + offset * (last - first)) < math.tau
    }
    reach = 8 * brush.instance.hb_face.upem
    lap = 0.5 if all(color[3] == 1 for _, color in stops) else 0.0  # no gaps between sectors
    context, extend, wide = brush.context, line.extend, (last - first) or 1e-9

    def fill() -> None:
        for one, other in itertools.pairwise(sorted(edges)):
            color = _at(stops, ((one + other) / 2 - first) / wide, extend)
            context.new_path()
            context.move_to(x, y)
            for angle in (one, min(other + lap, math.tau)):
                context.line_to(x + reach * math.cos(angle), y + reach * math.sin(angle))
            context.set_source_rgba(*brush.colour(color))
            context.fill()
        context.new_path()

    brush.do(fill)


def _at(stops: Sequence[tuple[float, Rgba]], place: float, extend: hb.PaintExtend) -> Rgba:
    """The colour at a place of a gradient, 0 to 1 being within its stops."""
    if extend == hb.PaintExtend.REPEAT:
        place %= 1.0
    elif extend == hb.PaintExtend.REFLECT:
        place = 1.0 - abs(place % 2.0 - 1.0)
    if place <= stops[0][0]:
        return stops[0][1]
    for (low, one), (high, other) in itertools.pairwise(stops):
        if place <= high:
            share = (place - low) / ((high - low) or 1.0)
            red, green, blue, alpha = (a + share * (b - a) for a, b in zip(one, other, strict=True))
            return red, green, blue, alpha
    return stops[-1][1]


def _push_group(brush: Brush) -> None:
    brush.groups.append([])


_CALLED = {"SRC_OVER": "OVER", "SRC_OUT": "OUT", "PLUS": "ADD"}
"""Ways to lay one thing over another that cairo calls by other names than HarfBuzz."""


def _pop_group(mode: hb.PaintCompositeMode, brush: Brush) -> None:
    """Lays what was painted last over, into or around what was painted before.

    A part within another becomes a mask, which PDF has; the rarer ways cairo turns into pixels.
    """
    above = brush.groups.pop()
    if mode in _STEPS:
        parts = (brush.groups.pop(), above)
        brush.groups.append([functools.partial(_within, brush, parts, mode)])
    else:
        brush.do(functools.partial(_over, brush, above, mode))


def _grouped(context: cairocffi.Context, steps: Sequence[_Step]) -> cairocffi.Pattern:
    context.push_group()
    for step in steps:
        step()
    return context.pop_group()


def _over(brush: Brush, steps: Sequence[_Step], mode: hb.PaintCompositeMode) -> None:
    context = brush.context
    shown = _grouped(context, steps)
    context.save()
    context.set_source(shown)
    context.set_operator(getattr(cairocffi, "OPERATOR_" + _CALLED.get(mode.name, mode.name)))
    context.paint()
    context.restore()


def _within(brush: Brush, parts: Sequence[Sequence[_Step]], mode: hb.PaintCompositeMode) -> None:
    context = brush.context
    for shown, within in _STEPS[mode]:
        mask = None
        if within is not None:
            with brush.as_mask():
                mask = _grouped(context, parts[within])
        context.save()
        context.set_source(_grouped(context, parts[shown]))
        context.paint() if mask is None else context.mask(mask)
        context.restore()


_BELOW, _ABOVE = 0, 1
_STEPS: Mapping[hb.PaintCompositeMode, Sequence[tuple[int, int | None]]] = {
    hb.PaintCompositeMode.SRC: ((_ABOVE, None),),
    hb.PaintCompositeMode.DEST: ((_BELOW, None),),
    hb.PaintCompositeMode.DEST_OVER: ((_ABOVE, None), (_BELOW, None)),
    hb.PaintCompositeMode.SRC_IN: ((_ABOVE, _BELOW),),
    hb.PaintCompositeMode.DEST_IN: ((_BELOW, _ABOVE),),
    hb.PaintCompositeMode.SRC_ATOP: ((_BELOW, None), (_ABOVE, _BELOW)),
    hb.PaintCompositeMode.DEST_ATOP: ((_ABOVE, None), (_BELOW, _ABOVE)),
}
"""What to paint one after the other, each within nothing or another (Porter and Duff)."""
