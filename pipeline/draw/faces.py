"""Hands font files to cairo, and a face without ink.

The one place that speaks to fontconfig and FreeType. Fontconfig only carries a file's path to
cairo; it is never asked to look for fonts.

Where a licence wants outlines, letters are drawn as paths and the same text is shown over them in
a blank face: nothing to see, but a reader can search, select and read it aloud.
"""

from __future__ import annotations

import atexit
import ctypes.util
import functools
import hashlib
import shutil
import tempfile
from pathlib import Path
from typing import Any

import cairocffi
import cffi
from fontTools.fontBuilder import FontBuilder
from fontTools.pens.ttGlyphPen import TTGlyphPen

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


_EM = 1000
_WIDTHS = 40
_STEP = 50
"""Empty glyphs come in 40 widths, 1/20 em apart, so that readers see no gaps within words."""
_TEXTS = 200


class BlankFace:
    """Hands out an empty glyph for each different text that one glyph is to stand for."""

    def __init__(self) -> None:
        self._row_of: dict[str, int] = {}

    def glyph(self, text: str, advance_em: float) -> int:
        """The empty glyph for ``text`` that is about so many ems wide."""
        row = self._row_of.setdefault(text, len(self._row_of) % _TEXTS)
        column = min(max(round(advance_em * _EM / _STEP), 0), _WIDTHS - 1)
        return 1 + row * _WIDTHS + column

    @property
    def instance(self) -> Instance:
        """The face itself, for cairo."""
        return Instance(_face(), ())


@functools.cache
def _face() -> Face:
    count = _TEXTS * _WIDTHS
    names = [".notdef", *(f"blank{number}" for number in range(count))]
    builder = FontBuilder(_EM, isTTF=True)
    builder.setupGlyphOrder(names)
    builder.setupCharacterMap({})
    # Each glyph is a speck a thousandth of an em each way, which no printer can show: some readers
    # (pdfium) pass over text that covers no area at all.
    pen = TTGlyphPen(None)
    pen.moveTo((0, 0))
    for corner in ((0, 1), (1, 1), (1, 0)):
        pen.lineTo(corner)
    pen.closePath()
    builder.setupGlyf(dict.fromkeys(names, pen.glyph()))
    widths = [_EM // 2, *(number % _WIDTHS * _STEP for number in range(count))]
    builder.setupHorizontalMetrics(
        {name: (width, 0) for name, width in zip(names, widths, strict=True)}
    )
    builder.setupHorizontalHeader(ascent=800, descent=-200)
    builder.setupNameTable({"familyName": "Blank", "styleName": "Regular", "psName": "Blank"})
    builder.setupOS2(sTypoAscender=800, sTypoDescender=-200, fsType=0)
    builder.setupPost(keepGlyphNames=False)
    builder.font["head"].created = builder.font["head"].modified = 0
    builder.font.recalcTimestamp = False
    path = face_folder() / "blank.ttf"
    builder.save(path)
    return Face("Blank", path, False, (400.0, 400.0), ())
