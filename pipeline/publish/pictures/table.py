"""A table seen from straight above: what every shop picture lies on.

Laid out in millimetres, like ``pipeline.proof.pictures.scene``, and drawn as the things of a
collection are: flat colours, outlines, one soft shadow. The ground alone has a little grain, that
of drawing paper. Light comes from the upper left.
"""

from __future__ import annotations

import math
from functools import lru_cache
from itertools import product
from typing import NamedTuple

import cv2
import numpy as np
import numpy.typing as npt
from PIL import Image, ImageDraw

from pipeline.base.geometry import MM_PER_INCH, Rect
from pipeline.proof.pictures.scene import PAPER as PAPER_WHITE
from pipeline.proof.pictures.scene import Scale, Tabletop, on_paper

# Colours, shadows and lines are chosen by eye.
SHADOW_COLOUR = (70, 58, 44)
OUTLINE = (88, 93, 85)
"""What things are outlined in."""
PAPER_LINE = (176, 170, 158)
"""What sheets are, which are thinner."""
PAPER_LINE_MM = 0.4
CREASE = (224, 223, 220)
"""An opened fold."""
METAL = (217, 220, 214)


class Shadow(NamedTuple):
    """A shadow: how far it is thrown right and down, how soft, how dark. In mm."""

    right_mm: float
    down_mm: float
    blur_mm: float
    strength: float


SHEET = Shadow(0.9, 1.5, 1.5, 0.20)
"""A sheet that lies nearly flat."""

BLOCK = Shadow(2.0, 3.4, 3.4, 0.30)
"""Something thick: a binder's cover."""

THING = Shadow(1.4, 2.3, 2.0, 0.28)
"""Something that lies beside the pages, about as thick as a pen."""

EDGE = Shadow(0.4, 0.7, 0.8, 0.14)
"""A sheet on a sheet."""


_TILE, _GRAIN = 512, 1.6
"""The side of the square of grain that is repeated over a ground, pixels, and how strong it is
(standard deviation, of 255)."""


class Ground(NamedTuple):
    """What everything lies on, and the colour of a binder's cover there."""

    colour: tuple[int, int, int]
    cover: tuple[int, int, int]


OATEN = Ground((236, 228, 211), (139, 156, 128))


class Table(Tabletop):
    """A picture being laid out: ``size`` pixels that show ``width_mm`` of the table."""

    def __init__(
        self,
        size: tuple[int, int],
        width_mm: float,
        *,
        ground: Ground = OATEN,
    ) -> None:
        self.things: list[Rect] = []
        """Where things lie beside the pages, mm."""
        self.ground = ground
        self.per_mm = size[0] / width_mm
        self.size = size
        self.width_mm = width_mm
        self.height_mm = size[1] / self.per_mm
        super().__init__([bare_ground(size, ground.colour).copy()], Scale(self.dpi))

    @property
    def dpi(self) -> float:
        """Pixels an inch of the table, for what is laid on it."""
        return self.per_mm * MM_PER_INCH

    def lay(
        self,
        picture: Image.Image,
        left_mm: float,
        top_mm: float,
        *,
        shape: Image.Image | None = None,
        turned: float = 0.0,
        shadow: Shadow = SHEET,
    ) -> None:
        """Lay a picture with its top left at a point, turned clockwise about its own middle.

        ``shape`` is a mask for what isn't rectangular (greyscale, the picture's size).
        """
        corner = x, y = round(left_mm * self.per_mm), round(top_mm * self.per_mm)
        mask = shape or Image.new("L", picture.size, 255)
        if turned:
            middle = x + picture.width / 2, y + picture.height / 2
            picture, mask = _turned(picture, mask, turned)
            corner = round(middle[0] - picture.width / 2), round(middle[1] - picture.height / 2)
        self._throw(mask, corner, shadow)
        self.image.paste(picture, corner, mask)

    def _throw(self, shape: Image.Image, corner: tuple[int, int], part: Shadow) -> None:
        """The shadow of a shape whose top left is the pixel ``corner``."""
        blur = part.blur_mm * self.per_mm
        coarser = max(1, min(8, int(blur / 1.5)))
        room = math.ceil(2.5 * blur / coarser) * coarser
        wide = -(-(shape.width + 2 * room) // coarser) * coarser
        high = -(-(shape.height + 2 * room) // coarser) * coarser
        soft = Image.new("L", (wide, high), 0)
        soft.paste(shape, (room, room))
        coarse = np.asarray(soft.reduce(coarser) if coarser > 1 else soft)
        coarse = cv2.GaussianBlur(coarse, (0, 0), blur / coarser, borderType=cv2.BORDER_CONSTANT)
        coarse = cv2.convertScaleAbs(coarse, alpha=part.strength)
        left = corner[0] - room + round(part.right_mm * self.per_mm)
        top = corner[1] - room + round(part.down_mm * self.per_mm)
        self._shade(Image.fromarray(cv2.resize(coarse, (wide, high))), (left, top))

    def printed(self, picture: Image.Image) -> Image.Image:
        """Printed matter as a drawn sheet: the white of paper, and an outline."""
        paper = on_paper(picture)
        box = (0, 0, paper.width - 1, paper.height - 1)
        line = max(1, round(PAPER_LINE_MM * self.per_mm))
        ImageDraw.Draw(paper).rectangle(box, outline=PAPER_LINE, width=line)
        return paper

    def hole(self, x_mm: float, y_mm: float, diameter_mm: float) -> None:
        """A punched hole, through which the cover shows."""
        half = diameter_mm / 2
        box = Rect(x_mm - half, y_mm - half, diameter_mm, diameter_mm)
        self._outlined(box, half, self.ground.cover, 0.35)

    def ring(self, left_mm: float, right_mm: float, y_mm: float, thick_mm: float = 1.5) -> None:
        """A ring seen from above: an outlined rod from one hole to the other."""
        half = thick_mm / 2
        box = Rect(left_mm - half, y_mm - half, right_mm - left_mm + thick_mm, thick_mm)
        self._throw(*self._rounded(box, half), Shadow(0.3, 1.0, 0.5, 0.22))
        self._outlined(box, half, METAL, 0.5)

    def _outlined(
        self, box: Rect, radius_mm: float, colour: tuple[int, int, int], line_mm: float
    ) -> None:
        """Draw a rounded shape (mm) with its outline."""
        for part, ink in ((box, OUTLINE), (box.grown(-line_mm), colour)):
            mask, corner = self._rounded(part, radius_mm - line_mm * (part is not box))
            self.image.paste(ink, (*corner, corner[0] + mask.width, corner[1] + mask.height), mask)

    def _rounded(self, box: Rect, radius_mm: float) -> tuple[Image.Image, tuple[int, int]]:
        """The shape of a rounded box (mm), and the pixel of its top left."""
        corner = self.scale.at(box.x, box.y)
        wide, high = (max(1, side) for side in self.scale.at(box.width, box.height))
        return round_cornered((wide, high), radius_mm * self.per_mm), corner


def blank_paper(size: tuple[int, int]) -> Image.Image:
    """Unprinted paper."""
    return Image.new("RGB", size, PAPER_WHITE)


def round_cornered(size: tuple[int, int], radius_px: float) -> Image.Image:
    """The shape of a rectangle with round corners, soft-edged."""
    finer = 4
    side = max(1, min(math.ceil(radius_px), size[0] // 2, size[1] // 2))
    around = radius_px * finer, radius_px * finer
    corner = Image.new("L", (side * finer, side * finer), 0)
    ImageDraw.Draw(corner).circle(around, radius_px * finer, fill=255)
    corner = corner.reduce(finer)
    shape = Image.new("L", size, 255)
    for at_right, at_bottom in product((False, True), repeat=2):
        turned = corner.transpose(Image.Transpose.FLIP_LEFT_RIGHT) if at_right else corner
        turned = turned.transpose(Image.Transpose.FLIP_TOP_BOTTOM) if at_bottom else turned
        shape.paste(turned, ((size[0] - side) * at_right, (size[1] - side) * at_bottom))
    return shape


def _turned(
    picture: Image.Image, mask: Image.Image, degrees: float
) -> tuple[Image.Image, Image.Image]:
    """Both turned clockwise, in a box with room for them, edges smooth."""
    room = 2
    size = wide, high = picture.width + 2 * room, picture.height + 2 * room
    colour = blank_paper(size)
    colour.paste(picture, (room, room))
    cover = Image.new("L", size, 0)
    cover.paste(mask, (room, room))
    cos, sin = math.cos(math.radians(degrees)), math.sin(math.radians(degrees))
    across = math.ceil(wide * abs(cos) + high * abs(sin))
    down = math.ceil(wide * abs(sin) + high * abs(cos))
    # From a point of what is seen back to its source, about both middles.
    x, y = across / 2, down / 2
    back = np.array(
        [
            [cos, sin, wide / 2 - cos * x - sin * y],
            [-sin, cos, high / 2 + sin * x - cos * y],
            [0, 0, 1],
        ]
    )
    return moved_to(colour, back, (across, down), PAPER_WHITE), covered(cover, back, (across, down))


_HALF_A_PIXEL = np.array([[1, 0, 0.5], [0, 1, 0.5], [0, 0, 1]])


def moved_to(
    picture: Image.Image,
    back: npt.NDArray[np.float64],
    size: tuple[int, int],
    ground: tuple[int, int, int],
) -> Image.Image:
    """An RGB picture in another place and shape: ``back`` leads from there to its source, as
    corners of pixels are counted; what has no source is ``ground``."""
    how = cv2.INTER_CUBIC | cv2.WARP_INVERSE_MAP
    return _warped(picture, back, size, how, ground)


def covered(mask: Image.Image, back: npt.NDArray[np.float64], size: tuple[int, int]) -> Image.Image:
    """The mask of a picture that is ``moved_to`` the same."""
    return _warped(mask, back, size, cv2.INTER_LINEAR | cv2.WARP_INVERSE_MAP, (0, 0, 0))


def _warped(
    picture: Image.Image,
    back: npt.NDArray[np.float64],
    size: tuple[int, int],
    how: int,
    ground: tuple[int, int, int],
) -> Image.Image:
    centres = np.linalg.inv(_HALF_A_PIXEL) @ back @ _HALF_A_PIXEL
    source = np.asarray(picture)
    if not back[2, :2].any():  # turned and moved alone, which is quicker
        return Image.fromarray(
            cv2.warpAffine(source, centres[:2], size, flags=how, borderValue=ground)
        )
    return Image.fromarray(
        cv2.warpPerspective(source, centres, size, flags=how, borderValue=ground)
    )


_STEP = 1.2


@lru_cache(maxsize=4)
def bare_ground(size: tuple[int, int], colour: tuple[int, int, int]) -> Image.Image:
    """A ground of one colour with its grain."""
    tile = np.rint(np.array(colour, np.float32) + _grain()[:, :, None])
    rows, columns = -(-size[1] // _TILE), -(-size[0] // _TILE)
    levels = np.tile(np.clip(tile, 0, 255).astype(np.uint8), (rows, columns, 1))
    return Image.fromarray(levels[: size[1], : size[0]])


@lru_cache(maxsize=1)
def _grain() -> npt.NDArray[np.float32]:
    """How much lighter or darker each pixel of the square is: specks about two pixels across."""
    raw = np.random.Generator(np.random.PCG64(5)).integers(0, 256, (_TILE, _TILE))
    soft = cv2.blur(np.pad(raw, 1, mode="wrap").astype(np.float32), (2, 2))[1:-1, 1:-1]
    grain: npt.NDArray[np.float32] = (soft - soft.mean()) * np.float32(_GRAIN / soft.std())
    return grain
