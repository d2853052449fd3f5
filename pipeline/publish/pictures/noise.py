"""Grain made in code: the tooth of paper, the weave of linen, the mottle of a table top.

Every grain follows from whole-number arithmetic on the place of a pixel, so that the same picture
has the same bytes every time.
"""

from __future__ import annotations

from functools import lru_cache
from typing import NamedTuple

import numpy as np
import numpy.typing as npt
from PIL import Image, ImageChops, ImageFilter

Levels = npt.NDArray[np.float32]
"""How much lighter (over 0) or darker each pixel is, in levels of 255."""


class Grain(NamedTuple):
    """Specks ``across_mm`` wide and ``down_mm`` high, ``levels`` strong (standard deviation)."""

    across_mm: float
    down_mm: float
    levels: float
    seed: int


_TILE = 1024

PAPER = (Grain(0.10, 0.07, 0.9, 11), Grain(0.45, 0.30, 0.55, 12), Grain(7, 6, 0.35, 13))
"""Smooth uncoated paper: seen close to, hardly felt from afar."""

TABLE = (Grain(0.25, 0.25, 1.5, 21), Grain(1.1, 0.8, 0.9, 22), Grain(22, 15, 1.6, 23))
"""A limewashed table top."""

LINEN = (
    Grain(2.6, 0.16, 3.2, 31),
    Grain(0.16, 2.6, 3.2, 32),
    Grain(0.14, 0.14, 1.8, 33),
    Grain(14, 9, 1.4, 34),
)
"""Book linen: threads across and down, some thicker than others."""


def specks(width: int, height: int, seed: int) -> npt.NDArray[np.uint8]:
    """Evenly spread levels, 0 to 255, that no two neighbours share by rule.

    >>> specks(4, 2, seed=7).tolist() == specks(9, 9, seed=7)[:2, :4].tolist()
    True
    """
    x = np.arange(width, dtype=np.uint32)[None, :]
    y = np.arange(height, dtype=np.uint32)[:, None]
    salt = np.uint32((seed * 0x9E3779B1) & 0xFFFFFFFF)
    mixed = x * np.uint32(0x165667B1) ^ y * np.uint32(0x27D4EB2F) ^ salt
    for shift, factor in ((15, 0x85EBCA6B), (13, 0xC2B2AE35)):
        mixed = (mixed ^ (mixed >> np.uint32(shift))) * np.uint32(factor)
    return ((mixed ^ (mixed >> np.uint32(16))) >> np.uint32(7)).astype(np.uint8)


@lru_cache(maxsize=24)
def texture(width: int, height: int, grains: tuple[Grain, ...], px_per_mm: float) -> Image.Image:
    """Grains one upon another, for ``width`` × ``height`` pixels; 128 is neither up nor down."""
    total: Levels = np.full((height, width), 128, dtype=np.float32)
    for grain in grains:
        total += _one(width, height, grain, px_per_mm)
    flat = Image.fromarray(np.clip(np.rint(total), 0, 255).astype(np.uint8))
    return Image.merge("RGB", (flat, flat, flat))


def _one(width: int, height: int, grain: Grain, px_per_mm: float) -> Levels:
    blur = grain.across_mm * px_per_mm / 2, grain.down_mm * px_per_mm / 2
    # Wide specks are as good made coarser and drawn out; of fine ones a tile is enough.
    coarser = max(1, int(min(blur) / 3))
    if coarser == 1:
        tile = _tile(grain, blur)
        rows, columns = -(-height // _TILE), -(-width // _TILE)
        return np.tile(tile, (rows, columns))[:height, :width]
    size = -(-width // coarser), -(-height // coarser)
    raw = Image.fromarray(specks(*size, grain.seed))
    soft = raw.filter(ImageFilter.GaussianBlur((blur[0] / coarser, blur[1] / coarser)))
    drawn = Image.fromarray(_evened(soft, grain)).resize((width, height), Image.Resampling.BILINEAR)
    return np.asarray(drawn, dtype=np.float32)


@lru_cache(maxsize=64)
def _tile(grain: Grain, blur: tuple[float, float]) -> Levels:
    """A square of fine specks that goes on at its other side where it ends."""
    room = int(3 * max(blur)) + 2
    raw = np.pad(specks(_TILE, _TILE, grain.seed), room, mode="wrap")
    soft = Image.fromarray(raw).filter(ImageFilter.GaussianBlur(blur))
    return _evened(soft.crop((room, room, room + _TILE, room + _TILE)), grain)


def _evened(soft: Image.Image, grain: Grain) -> Levels:
    """Specks as strong as the grain wants them."""
    raised: Levels = np.asarray(soft, dtype=np.float32)
    spread = max(0.25, float(raised.std()))
    levels: Levels = (raised - raised.mean()) * np.float32(grain.levels / spread)
    return levels


def grained(picture: Image.Image, grains: tuple[Grain, ...], px_per_mm: float) -> Image.Image:
    """An RGB picture with a grain."""
    return ImageChops.add(picture, texture(*picture.size, grains, px_per_mm), offset=-128)
