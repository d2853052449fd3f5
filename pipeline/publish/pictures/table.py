"""A table by a window, seen from straight above: what every shop picture lies on.

Laid out in millimetres, like ``pipeline.proof.pictures.scene``, and closer to a photograph: light
comes from the upper left and fades across the table, shadows fall to the lower right, a window's
bars throw theirs softly over it, and table, paper and cloth have a grain.
"""

from __future__ import annotations

import math
import random
from collections.abc import Sequence
from functools import lru_cache
from typing import NamedTuple

import cv2
import numpy as np
import numpy.typing as npt
from PIL import Image, ImageChops, ImageDraw, ImageFilter

from pipeline.base.geometry import MM_PER_INCH, Rect
from pipeline.proof.pictures.scene import PAPER as PAPER_WHITE
from pipeline.proof.pictures.scene import Scale, Tabletop, on_paper

# Colours and shadows are chosen by eye.
SHADOW_COLOUR = (70, 58, 44)


class Shadow(NamedTuple):
    """One part of a shadow: how far it is thrown right and down, how soft, how dark. In mm."""

    right_mm: float
    down_mm: float
    blur_mm: float
    strength: float


SHEET = (Shadow(0.15, 0.3, 0.35, 0.30), Shadow(0.9, 1.5, 1.8, 0.15), Shadow(2.4, 4.2, 6.0, 0.11))
"""A sheet that lies nearly flat."""

BLOCK = (Shadow(0.3, 0.6, 0.7, 0.30), Shadow(2.2, 3.6, 3.6, 0.20), Shadow(5.5, 9.5, 12.0, 0.16))
"""Something thick: a binder's cover."""

THING = (Shadow(0.2, 0.4, 0.5, 0.34), Shadow(1.4, 2.3, 2.2, 0.22), Shadow(3.2, 5.4, 6.0, 0.15))
"""Something that lies beside the pages, about as thick as a pen."""

EDGE = (Shadow(0.1, 0.18, 0.22, 0.26), Shadow(0.4, 0.7, 0.9, 0.10))
"""A sheet on a sheet."""


_Levels = npt.NDArray[np.float32]
"""How much lighter (over 0) or darker each pixel is, in levels of 255."""


class Grain(NamedTuple):
    """Specks ``across_mm`` wide and ``down_mm`` high, ``levels`` strong (standard deviation)."""

    across_mm: float
    down_mm: float
    levels: float
    seed: int


_TILE = 1024
"""Side of the square of fine specks that is repeated over a picture, pixels."""

PAPER_GRAIN = (Grain(0.10, 0.07, 0.9, 11), Grain(0.45, 0.30, 0.55, 12), Grain(7, 6, 0.35, 13))
"""Smooth uncoated paper: seen close to, hardly felt from afar."""

TABLE_GRAIN = (Grain(0.25, 0.25, 1.5, 21), Grain(1.1, 0.8, 0.9, 22), Grain(22, 15, 0.4, 23))
"""A limewashed table top."""

WOOD_GRAIN = (
    Grain(26, 0.22, 2.6, 41),
    Grain(60, 1.6, 2.4, 42),
    Grain(0.3, 0.2, 1.1, 43),
    Grain(120, 9, 2.2, 44),
)
"""Oiled boards: fibres along them, some darker than others."""

CLOTH_GRAIN = (
    Grain(3.6, 0.34, 2.6, 51),
    Grain(0.34, 3.6, 2.6, 52),
)
"""A washed tablecloth, coarser than book linen."""

PLASTER_GRAIN = (Grain(0.5, 0.4, 1.0, 61), Grain(9, 7, 0.5, 62))
"""A sheet of heavy drawing paper."""

LINEN_GRAIN = (
    Grain(2.6, 0.16, 3.2, 31),
    Grain(0.16, 2.6, 3.2, 32),
    Grain(0.14, 0.14, 1.8, 33),
    Grain(14, 9, 1.4, 34),
)
"""Book linen: threads across and down, some thicker than others."""


class Ground(NamedTuple):
    """What everything lies on: its colour, its grain, and the width of its boards, mm, if any."""

    colour: tuple[int, int, int]
    grains: tuple[Grain, ...]
    board_mm: float = 0.0


class TableLook(NamedTuple):
    """A table on which no shadow falls as on another: its ground, and a number they come from."""

    ground: Ground
    light: int


LIMEWASHED = Ground((240, 233, 221), TABLE_GRAIN)
USUAL_LOOK = TableLook(LIMEWASHED, 1)


class Table(Tabletop):
    """A picture being laid out: ``size`` pixels that show ``width_mm`` of the table."""

    def __init__(
        self,
        size: tuple[int, int],
        width_mm: float,
        *,
        near: bool = False,
        look: TableLook = USUAL_LOOK,
    ) -> None:
        """``near`` is for close-ups: the shadows of bars are softer."""
        self.near = near
        self.things: list[Rect] = []
        """Where things lie beside the pages, mm."""
        self.look = look
        self.per_mm = size[0] / width_mm
        self.size = size
        self.width_mm = width_mm
        self.height_mm = size[1] / self.per_mm
        ground = _table(size, round(self.per_mm, 6), look.ground).copy()
        super().__init__([ground], Scale(self.dpi))

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
        shadows: Sequence[Shadow] = SHEET,
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
        self._throw(mask, corner, shadows)
        self.image.paste(picture, corner, mask)

    def _throw(
        self, shape: Image.Image, corner: tuple[int, int], shadows: Sequence[Shadow]
    ) -> None:
        """The shadow of a shape whose top left is the pixel ``corner``."""
        for part in shadows:
            blur = part.blur_mm * self.per_mm
            coarser = 1 if blur < 1.5 else 2 if blur < 3.5 else 4 if blur < 8 else 8
            room = math.ceil(3 * blur / coarser) * coarser
            wide = -(-(shape.width + 2 * room) // coarser) * coarser
            high = -(-(shape.height + 2 * room) // coarser) * coarser
            soft = Image.new("L", (wide, high), 0)
            soft.paste(shape, (room, room))
            coarse = np.asarray(soft.reduce(coarser) if coarser > 1 else soft)
            coarse = cv2.GaussianBlur(
                coarse, (0, 0), blur / coarser, borderType=cv2.BORDER_CONSTANT
            )
            coarse = cv2.convertScaleAbs(coarse, alpha=part.strength)
            soft = Image.fromarray(cv2.resize(coarse, (wide, high)))
            at = (
                corner[0] - room + round(part.right_mm * self.per_mm),
                corner[1] - room + round(part.down_mm * self.per_mm),
            )
            self.image.paste(SHADOW_COLOUR, (at[0], at[1], at[0] + wide, at[1] + high), soft)

    def printed(self, picture: Image.Image) -> Image.Image:
        """Printed matter on real paper: its white and its grain."""
        return _grained(on_paper(picture), PAPER_GRAIN, round(self.per_mm, 6))

    def finished(self) -> Image.Image:
        """The picture in its light."""
        return ImageChops.multiply(self.image, _light(self.size, self.near, self.look.light))


def blank_paper(size: tuple[int, int]) -> Image.Image:
    """Unprinted paper."""
    return Image.new("RGB", size, PAPER_WHITE)


def round_cornered(size: tuple[int, int], radius_px: float) -> Image.Image:
    """The shape of a rectangle with round corners, soft-edged."""
    finer = 4
    shape = Image.new("L", (size[0] * finer, size[1] * finer), 0)
    ImageDraw.Draw(shape).rounded_rectangle(
        (0, 0, size[0] * finer - 1, size[1] * finer - 1), radius=radius_px * finer, fill=255
    )
    return shape.reduce(finer)


def grained(
    size: tuple[int, int],
    colour: tuple[int, int, int],
    grains: tuple[Grain, ...],
    per_mm: float,
) -> Image.Image:
    """A piece of one colour with a grain, ``per_mm`` pixels a millimetre."""
    return _grained(Image.new("RGB", size, colour), grains, round(per_mm, 6))


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
    return Image.fromarray(
        cv2.warpPerspective(source, centres, size, flags=how, borderValue=ground)
    )


_STEP = 1.2


@lru_cache(maxsize=6)
def _table(size: tuple[int, int], per_mm: float, ground: Ground) -> Image.Image:
    # A grain a little coarser or finer looks the same: so more pictures share one.
    near = _STEP ** round(math.log(per_mm, _STEP))
    top = grained(size, ground.colour, ground.grains, near)
    if ground.board_mm:
        _boards(top, ground.board_mm * per_mm, per_mm)
    return top


def _boards(top: Image.Image, board: float, per_mm: float) -> None:
    """Part a table top into boards, none quite as dark as the next."""
    shades = _specks(1, math.ceil(top.height / board) + 1, 71)[:, 0]
    pen = ImageDraw.Draw(top)
    for number, shade in enumerate(shades.tolist()):
        y = round((number - 0.4) * board)
        tone = Image.new("L", (top.width, max(1, round(board))), round(4 + 14 * shade / 255))
        top.paste(SHADOW_COLOUR, (0, y, top.width, y + tone.height), tone)
        pen.rectangle((0, y, top.width, y + 0.5 * per_mm), fill=_darker(top, y, 0.72))
        pen.rectangle((0, y + 0.6 * per_mm, top.width, y + 0.9 * per_mm), fill=_darker(top, y, 1.1))


def _darker(top: Image.Image, y: int, part: float) -> tuple[int, int, int]:
    row = min(max(y + 9, 0), top.height - 1)
    red, green, blue = np.asarray(top.crop((0, row, top.width, row + 1))).mean(axis=(0, 1)).tolist()
    return min(255, round(red * part)), min(255, round(green * part)), min(255, round(blue * part))


@lru_cache(maxsize=4)
def _light(size: tuple[int, int], near: bool, number: int) -> Image.Image:
    """How much light shadows on each pixel: 255 at its brightest."""
    coarse = 8
    width, height = -(-size[0] // coarse), -(-size[1] // coarse)
    x = np.linspace(0, 1, width, dtype=np.float32)[None, :]
    y = np.linspace(0, size[1] / size[0], height, dtype=np.float32)[:, None]
    away = np.hypot(x - 0.18, y - 0.10)
    light = (1.012 - 0.058 * np.clip(away / 1.25, 0, 1.3) ** 1.6).astype(np.float32)
    shade = np.asarray(_shade(width, height, near, number), dtype=np.float32) / 255
    light *= 1 - 0.02 * shade
    large = (width * coarse, height * coarse)
    fine = Image.fromarray(light).resize(large, Image.Resampling.BICUBIC)
    smooth = np.asarray(fine, dtype=np.float32)[: size[1], : size[0]] * np.float32(255)
    # Light fades over far more pixels than it has levels: without a scatter one would see steps.
    levels = np.minimum(smooth + _scatter(size), np.float32(255))
    flat = Image.fromarray(levels.astype(np.uint8))
    return Image.merge("RGB", (flat, flat, flat))


@lru_cache(maxsize=3)
def _scatter(size: tuple[int, int]) -> _Levels:
    """Less than a level for each pixel of a picture."""
    scatter: _Levels = _specks(*size, 5).astype(np.float32) / np.float32(255)
    return scatter


def _shade(width: int, height: int, near: bool, number: int) -> Image.Image:
    """The shadow of a window's bars, out of focus."""
    shade = Image.new("L", (width, height), 0)
    _bars(ImageDraw.Draw(shade), random.Random(number), width, height / width)
    return shade.filter(ImageFilter.GaussianBlur(width * (0.02 if near else 0.009)))


def _bars(draw: ImageDraw.ImageDraw, chance: random.Random, width: int, tall: float) -> None:
    """A window's bars, thrown to the lower right, and the wall below it."""
    lean, step = 0.34 + 0.3 * chance.random(), 0.34 + 0.16 * chance.random()
    start, bar = -0.5 * chance.random() - lean, 0.028 + 0.014 * chance.random()
    for number in range(7):
        x = start + number * step
        end = x + lean * tall
        bars = ((x, 0.0), (x + bar, 0.0), (end + bar, tall), (end, tall))
        draw.polygon([(px * width, py * width) for px, py in bars], fill=210)
    for part in (0.18 + 0.2 * chance.random(), 0.78 + 0.2 * chance.random()):
        y, drop = part * tall, 0.16 * chance.random()
        corners = ((0, y), (1, y + drop), (1, y + drop + bar), (0, y + bar))
        draw.polygon([(px * width, py * width) for px, py in corners], fill=210)


def _specks(width: int, height: int, seed: int) -> npt.NDArray[np.uint8]:
    """Evenly spread levels, 0 to 255.

    They follow by whole-number arithmetic from the place of a pixel, so that the same picture has
    the same bytes every time.

    >>> _specks(4, 2, seed=7).tolist() == _specks(9, 9, seed=7)[:2, :4].tolist()
    True
    """
    x = np.arange(width, dtype=np.uint32)[None, :]
    y = np.arange(height, dtype=np.uint32)[:, None]
    salt = np.uint32((seed * 0x9E3779B1) & 0xFFFFFFFF)
    mixed = x * np.uint32(0x165667B1) ^ y * np.uint32(0x27D4EB2F) ^ salt
    for shift, factor in ((15, 0x85EBCA6B), (13, 0xC2B2AE35)):
        mixed = (mixed ^ (mixed >> np.uint32(shift))) * np.uint32(factor)
    return ((mixed ^ (mixed >> np.uint32(16))) >> np.uint32(7)).astype(np.uint8)


@lru_cache(maxsize=48)
def _texture(width: int, height: int, grains: tuple[Grain, ...], px_per_mm: float) -> Image.Image:
    """Grains one upon another, for ``width`` × ``height`` pixels; 128 is neither up nor down."""
    total: _Levels = np.full((height, width), 128, dtype=np.float32)
    for grain in grains:
        total += _one(width, height, grain, px_per_mm)
    return Image.fromarray(np.clip(np.rint(total), 0, 255).astype(np.uint8))


def _one(width: int, height: int, grain: Grain, px_per_mm: float) -> _Levels:
    blur = grain.across_mm * px_per_mm / 2, grain.down_mm * px_per_mm / 2
    # Wide specks may be drawn coarser and enlarged; for fine ones a tile is enough.
    coarser = max(1, int(min(blur) / 3))
    if coarser == 1:
        tile = _tile(grain, blur)
        rows, columns = -(-height // _TILE), -(-width // _TILE)
        return np.tile(tile, (rows, columns))[:height, :width]
    size = -(-width // coarser), -(-height // coarser)
    raw = Image.fromarray(_specks(*size, grain.seed))
    soft = raw.filter(ImageFilter.GaussianBlur((blur[0] / coarser, blur[1] / coarser)))
    large = Image.fromarray(_evened(soft, grain)).resize((width, height), Image.Resampling.BILINEAR)
    return np.asarray(large, dtype=np.float32)


@lru_cache(maxsize=64)
def _tile(grain: Grain, blur: tuple[float, float]) -> _Levels:
    """A square of fine specks that goes on at its other side where it ends."""
    room = int(3 * max(blur)) + 2
    raw = np.pad(_specks(_TILE, _TILE, grain.seed), room, mode="wrap")
    soft = Image.fromarray(raw).filter(ImageFilter.GaussianBlur(blur))
    return _evened(soft.crop((room, room, room + _TILE, room + _TILE)), grain)


def _evened(soft: Image.Image, grain: Grain) -> _Levels:
    """Specks as strong as the grain wants them."""
    raised: _Levels = np.asarray(soft, dtype=np.float32)
    spread = max(0.25, float(raised.std()))
    levels: _Levels = (raised - raised.mean()) * np.float32(grain.levels / spread)
    return levels


def _grained(picture: Image.Image, grains: tuple[Grain, ...], px_per_mm: float) -> Image.Image:
    """An RGB picture with a grain."""
    flat = _texture(*picture.size, grains, px_per_mm)
    return ImageChops.add(picture, Image.merge("RGB", (flat, flat, flat)), offset=-128)
