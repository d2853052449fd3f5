"""Hands font files to cairo, and a face without ink.

The one place that speaks to fontconfig and FreeType. Fontconfig only carries a file's path to
cairo; it is never asked to look for fonts.

Where a licence wants outlines, letters are drawn as paths and the same text is shown over them in
a blank face: nothing to see, but a reader can search, select and read it aloud.
"""

from __future__ import annotations

import atexit
import bisect
import ctypes.util
import functools
import hashlib
import itertools
import shutil
import tempfile
from pathlib import Path
from typing import Any

import cairocffi
import cffi
from fontTools.fontBuilder import FontBuilder
from fontTools.pens.ttGlyphPen import TTGlyphPen
from fontTools.ttLib.tables._g_l_y_f import Glyph

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
    folder = Path(tempfile.mkdtemp(prefix="leafset-faces-"))
    atexit.register(shutil.rmtree, folder, ignore_errors=True)
    return folder


@functools.lru_cache(maxsize=256)
def cairo_face(instance: Instance) -> cairocffi.FontFace:
    """Cairo's font face for a pinned face, made from its bytes once per process."""
    path = face_folder() / (
        hashlib.sha256(instance.data).hexdigest()[:32] + instance.face.path.suffix
    )
    if not path.exists():
        path.write_bytes(instance.data)
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
    path = face_folder() / "blank.ttf"
    builder.save(path)
    return Face(BLANK, path, False, (400.0, 400.0), ())
