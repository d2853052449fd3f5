"""Small PNG files: a palette where it costs nothing to see, full colour where it does."""

from __future__ import annotations

from pathlib import Path

import numpy as np
from PIL import Image

MOST_LOST = 6
"""How many of a channel's 255 levels a palette may be off by; more would be seen as banding."""


def with_palette(picture: Image.Image) -> Image.Image:
    """The picture with at most 256 colours, or as it is if that would be seen.

    >>> with_palette(Image.new("RGB", (4, 4), "white")).mode
    'P'
    """
    colour = picture.convert("RGB")
    few = colour.quantize(256, method=Image.Quantize.MEDIANCUT, dither=Image.Dither.NONE)
    lost = np.abs(
        np.asarray(few.convert("RGB"), dtype=np.int16) - np.asarray(colour, dtype=np.int16)
    )
    return few if int(lost.max()) <= MOST_LOST else colour


def save_png(picture: Image.Image, path: Path) -> None:
    """Write a picture as a small PNG, the same bytes for the same pixels."""
    with_palette(picture).save(path, format="PNG", optimize=True)
