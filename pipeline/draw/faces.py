"""Hands a font file to cairo: the one place that speaks to fontconfig and FreeType.

Fontconfig is only used to carry a file's path to cairo; it is never asked to look for fonts.
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

from pipeline.text.fonts import Instance

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
