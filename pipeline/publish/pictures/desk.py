"""A table by a window, seen from straight above: what every shop picture lies on.

Laid out in millimetres, like ``pipeline.proof.scene``, with more of a photograph: the light comes
from the upper left and fades across the table, paper has a grain, shadows fall to the lower right,
and leaves outside the picture throw theirs softly over its corners.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from functools import lru_cache
from typing import NamedTuple

import numpy as np
from PIL import Image, ImageChops, ImageDraw, ImageFilter

from pipeline.base.geometry import MM_PER_INCH
from pipeline.proof.pictures.scene import PAPER as PAPER_WHITE
from pipeline.proof.pictures.scene import Scene, on_paper
from pipeline.publish.pictures.noise import PAPER, TABLE, Grain, grained, specks

# Colours and shadows are chosen by eye.
TABLE_TOP = (240, 233, 221)
SHADOW = (70, 58, 44)


class Fall(NamedTuple):
    """One part of a shadow: how far it is thrown right and down, how soft, how dark. In mm."""

    right_mm: float
    down_mm: float
    blur_mm: float
    strength: float


SHEET = (Fall(0.15, 0.3, 0.35, 0.30), Fall(0.9, 1.5, 1.8, 0.15), Fall(2.4, 4.2, 6.0, 0.11))
"""A sheet that lies nearly flat."""

BLOCK = (Fall(0.3, 0.6, 0.7, 0.30), Fall(2.2, 3.6, 3.6, 0.20), Fall(5.5, 9.5, 12.0, 0.16))
"""Something thick: a binder's cover."""

EDGE = (Fall(0.1, 0.18, 0.22, 0.26), Fall(0.4, 0.7, 0.9, 0.10))
"""A sheet on a sheet."""


class Desk(Scene):
    """A picture being laid out: ``size`` pixels that show ``width_mm`` of the table."""

    def __init__(self, size: tuple[int, int], width_mm: float, *, near: bool = False) -> None:
        """``near`` is for close-ups: the leaves' shadows are as near, large and few."""
        self.near = near
        self.per_mm = size[0] / width_mm
        self.size = size
        self.width_mm = width_mm
        self.height_mm = size[1] / self.per_mm
        super().__init__(self.width_mm, self.height_mm, self.dpi)
        self.image = _table(size, round(self.per_mm, 6)).copy()

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
        falls: Sequence[Fall] = SHEET,
    ) -> tuple[int, int]:
        """Lay a picture with its top left at a point, turned clockwise about its own middle.

        ``shape`` is what of it there is (greyscale, of its size), all of it if left out. Gives
        the pixel of its top left before it was turned.
        """
        x, y = round(left_mm * self.per_mm), round(top_mm * self.per_mm)
        mask = shape or Image.new("L", picture.size, 255)
        corner = (x, y)
        if turned:
            middle = x + picture.width / 2, y + picture.height / 2
            picture, mask = _turned(picture, mask, turned)
            corner = (
                round(middle[0] - picture.width / 2),
                round(middle[1] - picture.height / 2),
            )
        self.throw(mask, corner, falls)
        self.image.paste(picture, corner, mask)
        return x, y

    def throw(self, shape: Image.Image, corner: tuple[int, int], falls: Sequence[Fall]) -> None:
        """The shadow of a shape whose top left is the pixel ``corner``."""
        for fall in falls:
            blur = fall.blur_mm * self.per_mm
            coarser = 1 if blur < 2 else 2 if blur < 5 else 4 if blur < 14 else 8
            room = math.ceil(3 * blur / coarser) * coarser
            wide = -(-(shape.width + 2 * room) // coarser) * coarser
            high = -(-(shape.height + 2 * room) // coarser) * coarser
            soft = Image.new("L", (wide, high), 0)
            soft.paste(shape, (room, room))
            soft = soft.reduce(coarser) if coarser > 1 else soft
            soft = soft.filter(ImageFilter.GaussianBlur(blur / coarser))
            if coarser > 1:
                soft = soft.resize((wide, high), Image.Resampling.BILINEAR)
            strength = fall.strength
            soft = soft.point([round(level * strength) for level in range(256)])
            at = (
                corner[0] - room + round(fall.right_mm * self.per_mm),
                corner[1] - room + round(fall.down_mm * self.per_mm),
            )
            self.image.paste(SHADOW, (at[0], at[1], at[0] + wide, at[1] + high), soft)

    def printed(self, picture: Image.Image) -> Image.Image:
        """Printed matter on real paper: its white and its grain."""
        return grained(on_paper(picture), PAPER, round(self.per_mm, 6))

    def finished(self) -> Image.Image:
        """The picture in its light."""
        return ImageChops.multiply(self.image, _light(self.size, self.near))


def blank_paper(size: tuple[int, int]) -> Image.Image:
    """Unprinted paper."""
    return Image.new("RGB", size, PAPER_WHITE)


def rounded(size: tuple[int, int], radius_px: float) -> Image.Image:
    """The shape of a rectangle with round corners, soft-edged."""
    finer = 4
    shape = Image.new("L", (size[0] * finer, size[1] * finer), 0)
    ImageDraw.Draw(shape).rounded_rectangle(
        (0, 0, size[0] * finer - 1, size[1] * finer - 1), radius=radius_px * finer, fill=255
    )
    return shape.reduce(finer)


def cloth(
    size: tuple[int, int],
    colour: tuple[int, int, int],
    grains: tuple[Grain, ...],
    per_mm: float,
) -> Image.Image:
    """A piece of something with a grain."""
    return grained(Image.new("RGB", size, colour), grains, round(per_mm, 6))


def _turned(
    picture: Image.Image, mask: Image.Image, degrees: float
) -> tuple[Image.Image, Image.Image]:
    """Both turned clockwise, in a box with room for them, edges smooth."""
    room = 2
    size = picture.width + 2 * room, picture.height + 2 * room
    colour = blank_paper(size)
    colour.paste(picture, (room, room))
    cover = Image.new("L", size, 0)
    cover.paste(mask, (room, room))
    return (
        colour.rotate(-degrees, Image.Resampling.BICUBIC, expand=True, fillcolor=PAPER_WHITE),
        cover.rotate(-degrees, Image.Resampling.BILINEAR, expand=True),
    )


@lru_cache(maxsize=6)
def _table(size: tuple[int, int], per_mm: float) -> Image.Image:
    return cloth(size, TABLE_TOP, TABLE, per_mm)


@lru_cache(maxsize=4)
def _light(size: tuple[int, int], near: bool) -> Image.Image:
    """How much light falls on each pixel: 255 at its brightest."""
    coarse = 8
    width, height = -(-size[0] // coarse), -(-size[1] // coarse)
    x = np.linspace(0, 1, width, dtype=np.float32)[None, :]
    y = np.linspace(0, size[1] / size[0], height, dtype=np.float32)[:, None]
    away = np.hypot(x - 0.18, y - 0.10)
    light = (1.012 - 0.058 * np.clip(away / 1.25, 0, 1.3) ** 1.6).astype(np.float32)
    shade = np.asarray(_foliage(width, height, near), dtype=np.float32) / 255
    light *= 1 - 0.08 * shade
    drawn = Image.fromarray(light).resize(
        (width * coarse, height * coarse), Image.Resampling.BICUBIC
    )
    smooth = np.asarray(drawn, dtype=np.float32)[: size[1], : size[0]] * np.float32(255)
    # Light fades over far more pixels than it has levels: without a scatter one would see steps.
    levels = smooth + specks(size[0], size[1], 5) / np.float32(255)
    flat = Image.fromarray(np.clip(np.floor(levels), 0, 255).astype(np.uint8))
    return Image.merge("RGB", (flat, flat, flat))


def _foliage(width: int, height: int, near: bool) -> Image.Image:
    """The shadows of two twigs outside the picture, out of focus."""
    shade = Image.new("L", (width, height), 0)
    draw = ImageDraw.Draw(shade)
    twigs = [((1.04, -0.06), 143.0, 0.52, 9), ((1.08, 0.16), 158.0, 0.34, 6)]
    if near:
        twigs = [((1.30, -0.04), 160.0, 0.46, 5)]
    else:
        twigs.append(((-0.05, height / width + 0.02), -38.0, 0.36, 6))
    for start, heading, length, leaves in twigs:
        _twig(draw, start, heading, length, leaves, width, 2.3 if near else 1.0)
    return shade.filter(ImageFilter.GaussianBlur(width * (0.02 if near else 0.008)))


def _twig(
    draw: ImageDraw.ImageDraw,
    start: tuple[float, float],
    heading: float,
    length: float,
    leaves: int,
    width: int,
    larger: float,
) -> None:
    """A bent stalk with leaves in turn on either side, in parts of the picture's width."""
    x, y = start
    step = length / leaves
    for number in range(leaves):
        angle = math.radians(heading + 3.2 * number)
        end = x + step * math.cos(angle), y + step * math.sin(angle)
        draw.line((x * width, y * width, end[0] * width, end[1] * width), 255, round(width * 0.006))
        x, y = end
        side = 1 if number % 2 else -1
        reach = larger * 0.115 * (1 - 0.055 * number)
        _blade(draw, (x, y), math.degrees(angle) + side * 48, reach, width)
    _blade(draw, (x, y), heading + 3.2 * leaves, larger * 0.07, width)


def _blade(
    draw: ImageDraw.ImageDraw, foot: tuple[float, float], heading: float, reach: float, width: int
) -> None:
    angle = math.radians(heading)
    along, across = (math.cos(angle), math.sin(angle)), (-math.sin(angle), math.cos(angle))
    outline = []
    for side in (1, -1):
        ts = [n / 12 for n in range(13)]
        for t in ts if side == 1 else reversed(ts):
            wide = side * reach * 0.21 * math.sin(math.pi * t**0.8)
            outline.append(
                (
                    (foot[0] + along[0] * t * reach + across[0] * wide) * width,
                    (foot[1] + along[1] * t * reach + across[1] * wide) * width,
                )
            )
    draw.polygon(outline, fill=255)
