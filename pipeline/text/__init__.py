"""Faces and shaping: the ground that filling (does it fit?) and drawing (set it) both stand on."""

from pipeline.text.fonts import Face, FontBook
from pipeline.text.shape import Glyph, Run, Style, advance, shape, shape_line

__all__ = ["Face", "FontBook", "Glyph", "Run", "Style", "advance", "shape", "shape_line"]
