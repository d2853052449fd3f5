"""Words and drawings on a picture: shaped and drawn as pages are, then laid over it."""

from __future__ import annotations

from functools import lru_cache

from PIL import Image, ImageChops

from pipeline.draw import draw
from pipeline.proof.read.raster import opened, page_picture, page_size_mm
from pipeline.text import FontBook

_STAND_IN = {
    "Source Sans 3": ("Noto Sans Arabic 105%", "Noto Sans Devanagari", "Noto Sans JP 90%"),
    "any": ("Source Sans 3",),
}


@lru_cache(maxsize=1)
def book() -> FontBook:
    """The faces that pictures are lettered in: installed packages, never the system's."""
    return FontBook(None, _STAND_IN)


@lru_cache(maxsize=16)
def drawn(svg: bytes, width_px: int, language: str, name: str) -> Image.Image:
    """An SVG as a picture on white, ``width_px`` wide.

    Raises ``UserError`` for fonts or characters that cannot be had, naming the drawing.
    """
    with opened(draw([svg], book(), names=[name], language=language)) as pdf:
        page = pdf[0]
        picture = page_picture(page, width_px / page_size_mm(page)[0] * 25.4)
    if picture.width != width_px:
        picture = picture.resize((width_px, picture.height), Image.Resampling.LANCZOS)
    return picture


def print_on(
    picture: Image.Image, drawing: Image.Image, corner: tuple[int, int], strength: float = 1.0
) -> None:
    """Print a drawing on what is there already; ``strength`` 0 leaves no trace of it."""
    faint = Image.blend(Image.new("RGB", drawing.size, "white"), drawing, strength)
    x, y = corner
    box = (x, y, x + drawing.width, y + drawing.height)
    picture.paste(ImageChops.multiply(picture.crop(box), faint), corner)
