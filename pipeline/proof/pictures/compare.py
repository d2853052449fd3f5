"""Two pictures held against each other, pixel by pixel, with a tolerance that can be stated."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import numpy.typing as npt
from PIL import Image, ImageDraw, ImageFilter


@dataclass(frozen=True)
class Tolerance:
    """How far two pictures of the same drawing may be apart.

    Both are first blurred by ``blur_px`` (a Gaussian's radius), which takes the edge off
    anti-aliasing. A pixel then differs when one of its channels is more than ``levels`` of 255
    apart. Lone pixels may, here and there: up to ``crowd`` in any square of ``window_px``, and
    up to ``share`` of the whole. Something that was moved, added or left out crowds more.
    """

    blur_px: float
    levels: int
    window_px: int
    crowd: int
    share: float


RASTER_NOISE = Tolerance(blur_px=0.5, levels=16, window_px=9, crowd=1, share=0.0005)
"""For two pictures that pdfium made of the same PDF, or of a PDF written again.

Another build of cairo rounds coordinates in the last written digit, another build of FreeType
hands out outlines a unit apart, and another build of pdfium covers edge pixels a few levels
darker or lighter; a palette of 256 colours adds up to 6 levels. Measured at 75 to 110 dpi, a page
moved by 0.01 mm stays under 16 levels once blurred, and one moved by 0.05 mm does not; at 75 dpi
every figure of 2.4 mm is told from every other. The price: a rule moved by a single pixel is
missed if it is less than 28 levels from its paper, fainter than any that prints.
"""


@dataclass(frozen=True)
class Comparison:
    """What holding two pictures against each other showed.

    ``differing`` pixels (a ``share`` of all) were beyond the tolerance's levels; the worst channel
    was ``worst`` levels apart. ``crowd`` is the most differing pixels in one window, the middle
    of which is at ``where`` (x, y in pixels). ``same`` is the verdict, ``reason`` says it.
    """

    same: bool
    reason: str
    differing: int
    share: float
    worst: int
    crowd: int
    where: tuple[int, int]


def compare(
    expected: Image.Image, actual: Image.Image, tolerance: Tolerance = RASTER_NOISE
) -> Comparison:
    """Hold a picture against the one that was expected.

    >>> white = Image.new("RGB", (20, 20), "white")
    >>> compare(white, white).same
    True
    >>> compare(white, Image.new("RGB", (20, 21), "white")).reason
    'the size is 20 × 21 pixels, 20 × 20 was expected'
    """
    if expected.size != actual.size:
        reason = "the size is {} × {} pixels, {} × {} was expected".format(
            *actual.size, *expected.size
        )
        return Comparison(False, reason, 0, 1.0, 255, 0, (0, 0))
    apart = np.abs(_softened(expected, tolerance) - _softened(actual, tolerance)).max(axis=2)
    beyond = apart > tolerance.levels
    differing, share = int(beyond.sum()), float(beyond.mean())
    crowd, where = _densest(beyond, tolerance.window_px)
    if crowd > tolerance.crowd:
        reason = f"{crowd} pixels differ close together around x={where[0]}, y={where[1]}"
    elif share > tolerance.share:
        reason = f"{share:.3%} of all pixels differ, at most {tolerance.share:.3%} may"
    else:
        reason = "the same within the tolerance"
    same = crowd <= tolerance.crowd and share <= tolerance.share
    return Comparison(same, reason, differing, share, int(apart.max()), crowd, where)


def side_by_side(expected: Image.Image, actual: Image.Image) -> Image.Image:
    """Expected, actual and their difference in one picture, from left to right."""
    size = max(expected.width, actual.width), max(expected.height, actual.height)
    first, second = (_enlarged(picture, size) for picture in (expected, actual))
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


def difference_picture(expected: Image.Image, actual: Image.Image) -> Image.Image:
    """Where two pictures differ: what only the first has in red, only the second in blue.

    What is in both is a pale grey. The smaller of the two is laid on white.
    """
    size = max(expected.width, actual.width), max(expected.height, actual.height)
    pair = (_enlarged(picture, size) for picture in (expected, actual))
    ink = [255 - np.asarray(picture.convert("L"), dtype=np.int16) for picture in pair]
    both = np.minimum(*ink) // 4
    lost, added = (np.clip((one - other) * 3, 0, 255) for one, other in (ink, ink[::-1]))
    difference = np.stack([255 - both - added, 255 - both - lost - added, 255 - both - lost], 2)
    return Image.fromarray(np.clip(difference, 0, 255).astype(np.uint8))


def _softened(picture: Image.Image, tolerance: Tolerance) -> npt.NDArray[np.int16]:
    blurred = picture.convert("RGB").filter(ImageFilter.GaussianBlur(tolerance.blur_px))
    return np.asarray(blurred, dtype=np.int16)


def _densest(beyond: npt.NDArray[np.bool_], window: int) -> tuple[int, tuple[int, int]]:
    """The most true pixels in any ``window`` square, and the square's middle (x, y)."""
    half = window // 2
    padded = np.pad(beyond.astype(np.int32), half)
    summed = np.pad(padded.cumsum(0, dtype=np.int32).cumsum(1, dtype=np.int32), ((1, 0), (1, 0)))
    counts = (
        summed[window:, window:]
        - summed[:-window, window:]
        - summed[window:, :-window]
        + summed[:-window, :-window]
    )
    y, x = np.unravel_index(int(counts.argmax()), counts.shape)
    return int(counts[y, x]), (int(x), int(y))


def _enlarged(picture: Image.Image, size: tuple[int, int]) -> Image.Image:
    """The picture in RGB on a larger white one, if it is smaller."""
    board = Image.new("RGB", size, "white")
    board.paste(picture.convert("RGB"), (0, 0))
    return board
