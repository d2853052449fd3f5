"""The collection's own mark, faint in the lower corner of every picture."""

from __future__ import annotations

from pathlib import Path

from PIL import Image

from pipeline.base.errors import UserError
from pipeline.publish.pictures.lettering import drawn, print_on

WATERMARK = "watermark.svg"
STRENGTH = 0.42
"""How much of the mark's own colour is printed: seen when looked for."""
PART = 0.125
"""The mark's width, of the picture's."""
MARGIN = 0.028
"""From the picture's edges, of its width (by eye)."""


def read_watermark(collection: Path) -> bytes:
    """The mark in a collection's folder. Raises ``UserError`` when it has none."""
    path = collection / WATERMARK
    try:
        return path.read_bytes()
    except OSError as error:
        raise UserError(
            str(path),
            "no such file, and the season wants a watermark on its pictures",
            "draw one, or write watermark = false under [pictures]",
        ) from error


def mark(picture: Image.Image, svg: bytes) -> None:
    """Print the mark into the lower right corner of a picture."""
    drawing = drawn(svg, round(picture.width * PART), "", WATERMARK)
    margin = round(picture.width * MARGIN)
    corner = (picture.width - margin - drawing.width, picture.height - margin - drawing.height)
    print_on(picture, drawing, corner, STRENGTH)
