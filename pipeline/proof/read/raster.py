"""Pixels of a finished PDF, made by pdfium: another library than the one that wrote the file.

Everything is asked for in millimetres of the page as it is shown, and comes back on white paper.
Here, too, is how much ink a side takes, and whether two pictures are the same.
"""

from __future__ import annotations

import ctypes
import threading
from collections import defaultdict
from collections.abc import Hashable, Iterator, Sequence
from contextlib import contextmanager
from dataclasses import dataclass
from pathlib import Path

import numpy as np
import numpy.typing as npt
import pypdfium2 as pdfium
import pypdfium2.raw as pdfium_raw
from PIL import Image, ImageFilter

from pipeline.base.errors import UserError
from pipeline.base.geometry import MM_PER_INCH, PT_PER_MM, Rect, mm
from pipeline.impose.bench import SideInk
from pipeline.impose.sheet import Point, Sheet, Turn
from pipeline.plan.model import Leaf

_FINER = 3
"""How many times finer pdfium draws than is asked for, before it is averaged.

pdfium sets every letter on a whole pixel. On a screen's few pixels that spoils the fit of the
letters, and a thousandth of a millimetre can make one jump; drawn finer, neither is seen.
"""
_FINE_DPI = 200.0
"""From here on a pixel is so small that twice as fine is enough (by eye); large areas stay
quick."""
_FINEST_DPI = 500.0
"""From here on a pixel is too small for any of that to be seen."""


def pixels(length_mm: float, dpi: float) -> int:
    """Whole pixels for a length in millimetres, at least one.

    >>> pixels(25.4, 100), pixels(148, 100)
    (100, 583)
    """
    return max(1, round(length_mm * dpi / MM_PER_INCH))


@contextmanager
def opened(pdf: Path | bytes) -> Iterator[pdfium.PdfDocument]:
    """A PDF, given as its file or its bytes, closed again at the end.

    Raises ``UserError`` when there is no such file or pdfium cannot read it.
    """
    name = "PDF" if isinstance(pdf, bytes) else str(pdf)
    if isinstance(pdf, Path) and not pdf.is_file():
        raise UserError(name, "no such file", "run 'leafset build' again")
    try:
        document = pdfium.PdfDocument(pdf)
    except pdfium.PdfiumError as error:
        raise UserError(name, f"not a readable PDF ({error})", "build it again") from error
    try:
        yield document
    finally:
        document.close()


def page_size_mm(page: pdfium.PdfPage) -> tuple[float, float]:
    """Width and height of a page as it is shown, in mm."""
    width_pt, height_pt = page.get_size()
    return mm(width_pt), mm(height_pt)


def page_picture(page: pdfium.PdfPage, dpi: float, finer: int = 0) -> Image.Image:
    """A whole page as an RGB picture at ``dpi`` pixels an inch, on white; see ``area_picture``."""
    return area_picture(page, Rect(0, 0, *page_size_mm(page)), dpi, finer=finer)


def without_ground(page: pdfium.PdfPage, dpi: float) -> Image.Image:
    """What is drawn on a page, as an RGBA picture without the paper below it."""
    bitmap = page.render(scale=dpi / 72, fill_color=(0, 0, 0, 0), rev_byteorder=False)
    picture: Image.Image = bitmap.to_pil()
    return picture.convert("RGBA")


def area_picture(
    page: pdfium.PdfPage, area: Rect, dpi: float, turned: Turn = 0, finer: int = 0
) -> Image.Image:
    """What lies in ``area`` (mm from the top left of the page as shown), set upright, on white.

    ``turned`` is how far clockwise the thing in the area is turned on the page; it is turned back
    before a pixel is made, and the area's own corner is where the pixels begin. So the picture of
    a leaf is the same to the pixel wherever and however it lies on its sheet. It is drawn ``finer``
    and averaged, as fine as the resolution asks for if that is left out.
    """
    import cv2  # which takes its time to load, and builds do without

    across, down = (area.width, area.height) if turned % 180 == 0 else (area.height, area.width)
    finer = finer or (_FINER if dpi < _FINE_DPI else 2 if dpi < _FINEST_DPI else 1)
    width, height = pixels(across, dpi), pixels(down, dpi)
    board = _board(width * finer, height * finer)
    buffer = (ctypes.c_ubyte * board.size).from_buffer(board.data)
    bitmap = pdfium.PdfBitmap.new_native(
        width * finer, height * finer, pdfium_raw.FPDFBitmap_BGR, buffer=buffer
    )

    # Where the point (x, y) of the page, in mm, falls in the picture: x' = a x + c y + e and
    # y' = b x + d y + f, in pixels.
    a, b, c, d, e, f = {
        0: (1, 0, 0, 1, -area.x, -area.y),
        90: (0, -1, 1, 0, -area.y, area.right),
        180: (-1, 0, 0, -1, area.right, area.bottom),
        270: (0, 1, -1, 0, area.bottom, -area.x),
    }[turned]
    per_mm = dpi * finer / MM_PER_INCH
    scale = per_mm / PT_PER_MM
    matrix = pdfium_raw.FS_MATRIX(
        a * scale, b * scale, c * scale, d * scale, e * per_mm, f * per_mm
    )
    clip = pdfium_raw.FS_RECTF(0, 0, width * finer, height * finer)
    pdfium_raw.FPDF_RenderPageBitmapWithMatrix(bitmap, page, matrix, clip, 0)
    coarse = cv2.resize(board, (width, height), interpolation=cv2.INTER_AREA)
    return Image.fromarray(cv2.cvtColor(coarse, cv2.COLOR_BGR2RGB))


def png_of(picture: Image.Image) -> bytes:
    """A picture as a PNG file in red, green and blue: the same bytes for the same pixels.

    Its rows are packed as they are: of drawings on white paper that takes less than half of the
    time of rows that are filtered first, and makes smaller files.
    """
    import cv2  # as above

    plain = picture if picture.mode == "RGB" else picture.convert("RGB")
    pixels = cv2.cvtColor(np.asarray(plain), cv2.COLOR_RGB2BGR)
    _, data = cv2.imencode(
        ".png",
        pixels,
        (
            *(cv2.IMWRITE_PNG_COMPRESSION, _PACKED),
            *(cv2.IMWRITE_PNG_STRATEGY, cv2.IMWRITE_PNG_STRATEGY_DEFAULT),
            *(cv2.IMWRITE_PNG_FILTER, cv2.IMWRITE_PNG_FILTER_NONE),
        ),
    )
    return data.tobytes()


_PACKED = 2
"""Of 9; from 3 on it takes longer and longer for a few per cent."""

_BOARDS = threading.local()


def _board(width: int, height: int) -> npt.NDArray[np.uint8]:
    """White pixels, rows by columns by 3, good until the same thread asks again.

    The system takes longer to hand out so much memory than pdfium to draw on it.
    """
    size = width * height * 3
    if getattr(_BOARDS, "whole", np.empty(0)).size < size:
        _BOARDS.whole = np.empty(size, np.uint8)
    board: npt.NDArray[np.uint8] = _BOARDS.whole[:size].reshape(height, width, 3)
    board.fill(255)
    return board


INK_DPI = 200.0
"""pdfium draws no line thinner than a pixel: with coarser ones hairlines would weigh too much.

On the demo's pages the figure is within 4 % of that at 600 dpi; at 50 dpi it is twice as much.
"""


def ink_percent(page: pdfium.PdfPage, dpi: float = INK_DPI) -> float:
    """How much of a page ink covers, in %: its mean darkness."""
    return 100.0 * (1.0 - float(np.mean(grey_picture(page, dpi))) / 255.0)


def grey_picture(
    page: pdfium.PdfPage, dpi: float, ground: npt.NDArray[np.uint8] | None = None
) -> npt.NDArray[np.uint8]:
    """A whole page in grey (0 is black), rows by columns, at ``dpi`` pixels an inch.

    It is painted on white, or over a picture of the same size.
    """
    if ground is None:
        greys: npt.NDArray[np.uint8] = page.render(scale=dpi / 72, grayscale=True).to_numpy()
        return greys.reshape(greys.shape[:2])
    board = ground.copy()
    (height, width), buffer = board.shape, (ctypes.c_ubyte * board.size).from_buffer(board.data)
    grey, flags = pdfium_raw.FPDFBitmap_Gray, pdfium_raw.FPDF_ANNOT | pdfium_raw.FPDF_GRAYSCALE
    bitmap = pdfium.PdfBitmap.new_native(width, height, grey, buffer=buffer)
    pdfium_raw.FPDF_RenderPageBitmap(bitmap, page, 0, 0, width, height, 0, flags)
    return board


def side_inks(
    both_sides: Path | bytes, sheets: Sequence[Sheet], leaves: Sequence[Leaf]
) -> tuple[SideInk, ...]:
    """The ink on every side of a set, from its file of both sides, its sheets and its leaves.

    Sides that show the same templates differ in their dates alone: only the middle one of
    them is measured, and its figure stands for all. Raises ``UserError`` when the file cannot be
    read.
    """
    sides: list[tuple[int, int, Hashable]] = []
    alike: dict[Hashable, list[int]] = defaultdict(list)
    for sheet in sheets:
        for side, placed in ((1, sheet.side_1), (2, sheet.side_2)):
            pages = [leaves[one.leaf].page(one.face) for one in placed]
            templates = tuple(page.drawing if page else None for page in pages)
            kind = templates, tuple(one.flat for one in placed)
            alike[kind].append(len(sides))
            sides.append((sheet.number, side, kind))
    with opened(both_sides) as document:
        measured = {
            kind: ink_percent(document[places[(len(places) - 1) // 2]])
            for kind, places in alike.items()
        }
    return tuple(SideInk(number, side, measured[kind]) for number, side, kind in sides)


def mean_ink(inks: Sequence[SideInk]) -> float:
    """Over all sides, blank ones too, in %.

    >>> mean_ink([SideInk(1, 1, 2.0), SideInk(1, 2, 1.0)])
    1.5
    """
    return sum(ink.percent for ink in inks) / len(inks)


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
every 2.4 mm figure is distinguished from every other. The price: a rule moved by a single pixel is
missed if it is less than 28 levels from its paper, fainter than any that prints.
"""


@dataclass(frozen=True)
class Comparison:
    """What holding two pictures against each other showed: the verdict, and the reason for it.

    ``differing`` pixels were beyond the tolerance's levels, most of them around ``where`` (x, y in
    pixels); the worst channel was ``worst`` levels apart.
    """

    same: bool
    reason: str
    differing: int
    worst: int
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
        (width, height), (wanted, high) = actual.size, expected.size
        reason = f"the size is {width} × {height} pixels, {wanted} × {high} was expected"
        return Comparison(False, reason, 0, 255, (0, 0))
    blur = ImageFilter.GaussianBlur(tolerance.blur_px)
    one, other = (
        np.asarray(picture.convert("RGB").filter(blur), dtype=np.int16)
        for picture in (expected, actual)
    )
    apart = np.abs(one - other).max(axis=2)
    beyond = apart > tolerance.levels
    share = float(beyond.mean())
    crowd, where = _densest(beyond, tolerance.window_px)
    same, reason = True, "the same within the tolerance"
    if crowd > tolerance.crowd:
        same = False
        reason = f"{crowd} pixels differ close together around x={where[0]}, y={where[1]}"
    elif share > tolerance.share:
        same = False
        reason = f"{share:.3%} of all pixels differ, at most {tolerance.share:.3%} may"
    return Comparison(same, reason, int(beyond.sum()), int(apart.max()), where)


def difference_picture(expected: Image.Image, actual: Image.Image) -> Image.Image:
    """Where two pictures differ: what only the first has in red, only the second in blue.

    What is in both is a pale grey. The smaller of the two is laid on white.
    """
    size = max(expected.width, actual.width), max(expected.height, actual.height)
    ink = []
    for picture in (expected, actual):
        board = Image.new("RGB", size, "white")
        board.paste(picture.convert("RGB"), (0, 0))
        ink.append(255 - np.asarray(board.convert("L"), dtype=np.int16))
    both = np.minimum(*ink) // 4
    lost, added = (np.clip((one - other) * 3, 0, 255) for one, other in (ink, ink[::-1]))
    difference = np.stack([255 - both - added, 255 - both - lost - added, 255 - both - lost], 2)
    return Image.fromarray(np.clip(difference, 0, 255).astype(np.uint8))


def places_that_differ(
    expected: Image.Image, actual: Image.Image, dpi: float
) -> Sequence[Rect] | None:
    """Where two pictures differ, in mm, from the upper left on; None where that is all over.

    The pictures have ``dpi`` pixels to the inch.
    """
    import cv2

    difference = difference_picture(expected, actual)
    red, _, blue = np.moveaxis(np.asarray(difference, np.int16), 2, 0)
    differs = (np.abs(red - blue) >= _SEEN_LEVELS).astype(np.uint8)
    near = pixels(_APART_MM, dpi)
    joined = cv2.dilate(differs, np.ones((near, near), np.uint8))
    _, _, stats, _ = cv2.connectedComponentsWithStats(joined)
    if len(stats) - 1 > _MOST_PLACES:
        return None
    per_px = MM_PER_INCH / dpi
    found = [Rect(*(float(edge) * per_px for edge in one[:4])) for one in stats[1:].tolist()]
    return sorted(found, key=lambda one: (one.y, one.x))


def first_ink(picture: Image.Image, dpi: float) -> Point | None:
    """Where what is printed on a page begins, in mm: at the height of the uppermost, where the
    leftmost of what is level with it is. None for a blank page."""
    ink = np.asarray(picture.convert("L")) < _INK_LEVEL
    rows = np.flatnonzero(ink.any(axis=1))
    if not rows.size:
        return None
    top = int(rows[0])
    columns = np.flatnonzero(ink[top : top + pixels(_LEVEL_MM, dpi)].any(axis=0))
    return Point(int(columns[0]) * MM_PER_INCH / dpi, top * MM_PER_INCH / dpi)


_INK_LEVEL = 170
"""Paler than this it may be the shade of a fold (by eye)."""
_LEVEL_MM = 10.0
"""What begins within this height of the uppermost is level with it (by eye)."""
_SEEN_LEVELS = 60
"""Colours so far apart differ to the eye; edges of letters may by less. By trial."""
_APART_MM = 3.0
"""Places nearer to each other than this are one (by eye)."""
_MOST_PLACES = 40


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
