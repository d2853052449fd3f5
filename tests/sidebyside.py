"""A failure to look at: what was expected, what came, and where they differ."""

from __future__ import annotations

from pathlib import Path

import numpy as np
from PIL import Image, ImageChops, ImageDraw

from pipeline.proof.read.raster import difference_picture


def side_by_side(expected: Image.Image, actual: Image.Image) -> Image.Image:
    """Expected, actual and their difference in one picture, from left to right."""
    size = max(expected.width, actual.width), max(expected.height, actual.height)
    first, second = (_on_white(picture, size) for picture in (expected, actual))
    panels = (
        ("expected", first),
        ("actual", second),
        ("difference", difference_picture(first, second)),
    )
    head, gap = 24, 8
    board = Image.new("RGB", (3 * size[0] + 4 * gap, size[1] + head + gap), (120, 120, 120))
    draw = ImageDraw.Draw(board)
    for index, (name, panel) in enumerate(panels):
        x = gap + index * (size[0] + gap)
        draw.text((x, 5), name, "white", font_size=14)
        board.paste(panel, (x, head))
    return board


def _on_white(picture: Image.Image, size: tuple[int, int]) -> Image.Image:
    board = Image.new("RGB", size, "white")
    board.paste(picture.convert("RGB"), (0, 0))
    return board


MOST_LOST = 6
"""How many of a channel's 255 levels a palette may be off by; more would be seen as banding."""


def with_palette(picture: Image.Image) -> Image.Image:
    """The picture with at most 256 colours, or as it is if that would be seen.

    >>> with_palette(Image.new("RGB", (4, 4), "white")).mode
    'P'
    """
    colour = picture.convert("RGB")
    few = colour.quantize(256, method=Image.Quantize.MEDIANCUT, dither=Image.Dither.NONE)
    lost = np.asarray(ImageChops.difference(few.convert("RGB"), colour)).max()
    return few if int(lost) <= MOST_LOST else colour


def save_small(picture: Image.Image, path: Path) -> None:
    """Write a picture as a PNG for the repository, the same bytes for the same pixels."""
    with_palette(picture).save(path, format="PNG", optimize=True)
