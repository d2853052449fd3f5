"""Paper on a table: ground, shadows, punched holes and rings, with a light hand.

A scene is laid out in millimetres and becomes pixels once. Shapes with an edge are drawn four
times too large and reduced, so that holes and rings are round at any size.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Sequence
from dataclasses import dataclass
from functools import lru_cache
from typing import NamedTuple

import cv2
import numpy as np
import numpy.typing as npt
from PIL import Image, ImageChops, ImageDraw, ImageFilter

from pipeline.base.geometry import MM_PER_INCH, Rect

# Colours chosen by eye.
GROUND = (243, 241, 237)
PAPER = (255, 254, 252)
SHADE = (74, 66, 56)
_FINER = 4
"""How many times finer edges are drawn than the picture, before they are averaged."""

Mask = Image.Image
"""A greyscale picture: 0 leaves what is there, 255 covers it."""
Pixels = npt.NDArray[np.uint8]


@dataclass(frozen=True)
class Scale:
    """Pixels for millimetres at a resolution."""

    dpi: float

    def px(self, length_mm: float) -> float:
        """A length in pixels, not rounded."""
        return length_mm * self.dpi / MM_PER_INCH

    def at(self, x_mm: float, y_mm: float) -> tuple[int, int]:
        """The pixel nearest a point."""
        return round(self.px(x_mm)), round(self.px(y_mm))


class _Laid(NamedTuple):
    """Paper laid on the table: its size and top left in pixels, its shadows, where they fall.

    Shadows are each given by their blur, their drop and their strength. They fall within ``limit``,
    left, top, right and bottom in pixels.
    """

    size: tuple[int, int]
    corner: tuple[int, int]
    shadows: tuple[tuple[float, float, float], ...]
    limit: tuple[int, int, int, int]


_Step = tuple[Callable[..., None], tuple[object, ...]]
_Key = tuple[tuple[int, int], float, tuple[_Step, ...]]


class Scene:
    """A picture being laid out: ``width_mm`` by ``height_mm`` of table at ``dpi``.

    What is laid is noted, and drawn when the ``image`` is asked for. All but the print on the paper
    is the same for many pictures of a set; it is drawn once for them.
    """

    def __init__(self, width_mm: float, height_mm: float, dpi: float) -> None:
        self.scale = Scale(dpi)
        self._size = self.scale.at(width_mm, height_mm)
        self._steps: list[_Step] = []
        self._papers: list[Image.Image] = []
        self._cuts: list[Mask | None] = []

    @property
    def image(self) -> Image.Image:
        """The picture of all that was laid so far."""
        width, height = self._size
        key = self._size, self.scale.dpi, tuple(self._steps)
        if any(self._cuts) or width * height > _MOST_KEPT_PX:
            (drawn,) = _drawn(key, [self._papers], self._cuts)
            return drawn
        dark, span = _bare(key)
        print_only = np.zeros((height, width, 3), np.uint8)
        laid = [given[0] for do, given in self._steps if do is Tabletop.lay_paper]
        for picture, one in zip(self._papers, laid, strict=True):
            assert isinstance(one, _Laid)
            _put(print_only, np.asarray(picture), one.corner)
        seen = cv2.multiply(print_only, span, scale=1 / 255)
        return Image.fromarray(cv2.add(seen, dark))

    def paper(
        self, picture: Image.Image, x_mm: float, y_mm: float, cut: Mask | None = None
    ) -> Rect:
        """Lay a picture of printed paper with its top left at a point; gives its place in mm.

        ``cut`` is as large as the picture and covers what of it is left once it is cut out.

        The place is that of its whole pixels, so that what is laid on it later meets its edges.
        A wide faint shadow lifts it off the table, a narrow one draws its edge.
        """
        corner, per_px = self.scale.at(x_mm, y_mm), 1 / self.scale.px(1)
        shadows = (2.6, 1.1, 0.17), (0.45, 0.15, 0.22)
        self._note_paper(picture, corner, shadows, (0, 0, *self._size), cut)
        return Rect(*(length * per_px for length in (*corner, *picture.size)))

    def _note_paper(
        self,
        picture: Image.Image,
        corner: tuple[int, int],
        shadows: tuple[tuple[float, float, float], ...],
        limit: tuple[int, int, int, int],
        cut: Mask | None = None,
    ) -> None:
        self._papers.append(picture)
        self._cuts.append(cut)
        in_px = tuple(
            (self.scale.px(blur), self.scale.px(down), strength) for blur, down, strength in shadows
        )
        self._note(Tabletop.lay_paper, _Laid(picture.size, corner, in_px, limit))

    def _note(self, do: Callable[..., None], *given: object) -> None:
        self._steps.append((do, given))

    def fades(self, area: Rect, dark_at_left: bool, strength: float, power: float = 2.0) -> None:
        """Shade an area from one of its sides towards the other, as a bend in paper does."""
        self._note(Tabletop.fades, area, dark_at_left, strength, power)

    def flap(self, back: Image.Image, page: Rect, at_right: bool) -> None:
        """Fold a flap over a page laid before: its ``back`` shows, its shadow falls on the page."""
        left, top = self.scale.at(page.x, page.y)
        right, bottom = self.scale.at(page.right, page.bottom)
        corner = (right - back.width if at_right else left, top)
        shadows = (1.8, 0.5, 0.20), (0.35, 0.1, 0.26)
        self._note_paper(back, corner, shadows, (left, top, right, bottom))

    def hole(self, x_mm: float, y_mm: float, diameter_mm: float) -> None:
        """A punched hole: what lies under the leaf, in the shadow of the hole's upper rim."""
        self._note(Tabletop.hole, x_mm, y_mm, diameter_mm)

    def ring(self, left_mm: float, right_mm: float, y_mm: float, thick_mm: float = 1.5) -> None:
        """A ring seen from above: a rod from one hole to the other, with its shadow below it."""
        self._note(Tabletop.ring, left_mm, right_mm, y_mm, thick_mm)


_MOST_KEPT_PX = 4_000_000
"""Larger pictures are of one page looked at closely: what is around them is not kept."""


@lru_cache(maxsize=12)
def _bare(key: _Key) -> tuple[Pixels, Pixels]:
    """How a scene looks with black paper, and how much lighter it is with white.

    Whatever is laid lightens or darkens each pixel in proportion, so that any print lies between.
    """
    laid = [one for do, (one, *_) in key[2] if do is Tabletop.lay_paper and isinstance(one, _Laid)]
    papers = [[Image.new("RGB", one.size, level) for one in laid] for level in ("black", "white")]
    dark, light = map(np.asarray, _drawn(key, papers, [None] * len(laid)))
    return dark, light - dark


def _put(board: Pixels, picture: Pixels, corner: tuple[int, int]) -> None:
    """Lays a picture on a board, as far as it has room there."""
    x, y = corner
    left, top = max(0, -x), max(0, -y)
    part = picture[top : board.shape[0] - y, left : board.shape[1] - x]
    board[y + top : y + top + part.shape[0], x + left : x + left + part.shape[1]] = part


def _drawn(
    key: _Key, papers: Sequence[Sequence[Image.Image]], cuts: Sequence[Mask | None]
) -> list[Image.Image]:
    """Scenes that differ in their papers alone, all of each in their order."""
    size, dpi, steps = key
    table = Tabletop([Image.new("RGB", size, GROUND) for _ in papers], Scale(dpi))
    number = 0
    for do, given in steps:
        if do is Tabletop.lay_paper:
            do(table, *given, [one[number] for one in papers], cuts[number])
            number += 1
        else:
            do(table, *given)
    return table.images


class Tabletop:
    """A table being drawn on; several ``images`` at once that differ in what is printed alone."""

    def __init__(self, images: Sequence[Image.Image], scale: Scale) -> None:
        self.images = list(images)
        self.scale = scale

    @property
    def image(self) -> Image.Image:
        """The first of its pictures."""
        return self.images[0]

    def _fine(self, at_mm: float, origin: int) -> float:
        """Where a point falls in a finer drawing whose first pixel is ``origin`` in the picture."""
        return (self.scale.px(at_mm) - origin) * _FINER

    def _paste_fine(self, picture: Image.Image, mask: Mask, corner: tuple[int, int]) -> None:
        """Lay a finer drawing on the pictures, where its mask says so."""
        picture, mask = _coarse(picture), _coarse(mask)
        for image in self.images:
            image.paste(picture, corner, mask)

    def _fine_box(self, box: Rect) -> tuple[int, int, tuple[int, int]]:
        """The top left of the whole pixels around a box, and the size of a finer drawing."""
        left, top = self.scale.at(box.x, box.y)
        right, bottom = self.scale.at(box.right, box.bottom)
        size = (max(1, right - left) * _FINER, max(1, bottom - top) * _FINER)
        return left, top, size

    def _shade(self, mask: Mask, corner: tuple[int, int]) -> None:
        """Darken where the mask says so."""
        x, y = corner
        for image in self.images:
            image.paste(SHADE, (x, y, x + mask.width, y + mask.height), mask)

    def lay_paper(self, laid: _Laid, pictures: Sequence[Image.Image], cut: Mask | None) -> None:
        """Lay a paper with its shadows, on each picture its own."""
        (width, height), (x, y) = laid.size, laid.corner
        for blur, down, strength in laid.shadows:
            reach = math.ceil(3 * blur) + math.ceil(down)
            box = x - reach, y - reach, x + width + reach, y + height + reach
            left, top, right, bottom = (
                max(box[0], laid.limit[0]), max(box[1], laid.limit[1]),
                min(box[2], laid.limit[2]), min(box[3], laid.limit[3]),
            )  # fmt: skip
            shape = Image.new("L", (box[2] - box[0], box[3] - box[1]), 0)
            shape.paste(
                cut or 255,
                (reach, reach + round(down), reach + width, reach + round(down) + height),
            )
            soft = cv2.GaussianBlur(np.asarray(shape), (0, 0), blur, borderType=cv2.BORDER_CONSTANT)
            part = soft[top - box[1] : bottom - box[1], left - box[0] : right - box[0]]
            self._shade(Image.fromarray(cv2.convertScaleAbs(part, alpha=strength)), (left, top))
        for image, picture in zip(self.images, pictures, strict=True):
            image.paste(on_paper(picture), laid.corner, cut)

    def fades(self, area: Rect, dark_at_left: bool, strength: float, power: float = 2.0) -> None:
        """Shade an area from one of its sides towards the other, as a bend in paper does."""
        left, top = self.scale.at(area.x, area.y)
        right, bottom = self.scale.at(area.right, area.bottom)
        across = max(1, right - left)
        ramp = (1 - (np.arange(across) + 0.5) / across) ** power * strength * 255
        if not dark_at_left:
            ramp = ramp[::-1]
        mask = Image.fromarray(
            np.broadcast_to(np.rint(ramp).astype(np.uint8), (max(1, bottom - top), across)).copy()
        )
        self._shade(mask, (left, top))

    def hole(self, x_mm: float, y_mm: float, diameter_mm: float) -> None:
        """A punched hole: what lies under the leaf, in the shadow of the hole's upper rim."""
        radius = diameter_mm / 2
        box = Rect(x_mm - radius, y_mm - radius, diameter_mm, diameter_mm).grown(0.6)
        left, top, size = self._fine_box(box)
        disc = Image.new("L", size, 0)
        middle = (self._fine(x_mm, left), self._fine(y_mm, top))
        reach = radius * self.scale.px(1) * _FINER
        ImageDraw.Draw(disc).circle(middle, reach, fill=255)
        lit = Image.new("L", size, 0)
        drop = self.scale.px(0.55) * _FINER
        lower = (middle[0] + drop * 0.35, middle[1] + drop)
        ImageDraw.Draw(lit).circle(lower, reach, fill=255)
        lit = lit.filter(ImageFilter.GaussianBlur(self.scale.px(0.5) * _FINER))
        under = Image.composite(
            Image.new("RGB", size, (228, 224, 217)), Image.new("RGB", size, (176, 169, 160)), lit
        )
        self._paste_fine(under, disc, (left, top))

    def ring(self, left_mm: float, right_mm: float, y_mm: float, thick_mm: float = 1.5) -> None:
        """A ring seen from above: a rod from one hole to the other, with its shadow below it."""
        box = Rect(left_mm, y_mm - thick_mm / 2, right_mm - left_mm, thick_mm).grown(4)
        left, top, size = self._fine_box(box)
        half = thick_mm / 2
        ends = (self._fine(left_mm - half, left), self._fine(right_mm + half, left))
        edges = (self._fine(y_mm - half, top), self._fine(y_mm + half, top))
        rod = Image.new("L", size, 0)
        ImageDraw.Draw(rod).rounded_rectangle(
            (ends[0], edges[0], ends[1], edges[1]), radius=(edges[1] - edges[0]) / 2, fill=255
        )
        # An arch throws its shadow farther off in the middle than at its feet.
        shadow = Image.new("L", size, 0)
        drop = self.scale.px(1.5) * _FINER
        steps = 48
        path = [
            (
                ends[0] + (ends[1] - ends[0]) * i / steps,
                (edges[0] + edges[1]) / 2 + drop * (1 - (2 * i / steps - 1) ** 2),
            )
            for i in range(steps + 1)
        ]
        ImageDraw.Draw(shadow).line(path, fill=255, width=round(edges[1] - edges[0]))
        shadow = shadow.filter(ImageFilter.GaussianBlur(self.scale.px(0.55) * _FINER))
        self._shade(_coarse(shadow).point(lambda level: level * 0.26), (left, top))
        metal = _rod((size[1], size[0]), edges, ends, reach=self.scale.px(1.6) * _FINER)
        self._paste_fine(metal, rod, (left, top))


def _coarse(picture: Image.Image) -> Image.Image:
    """A finer drawing at the picture's own resolution."""
    small = (picture.width // _FINER, picture.height // _FINER)
    return picture.resize(small, Image.Resampling.BOX)


def on_paper(picture: Image.Image) -> Image.Image:
    """Printed matter on paper that is not quite as white as the screen."""
    return ImageChops.multiply(picture, Image.new("RGB", picture.size, PAPER))


def _rod(
    shape: tuple[int, int], edges: tuple[float, float], ends: tuple[float, float], reach: float
) -> Image.Image:
    """Polished metal: dark at a rod's edges, bright above its middle, in shade at its ends.

    ``edges`` are its top and bottom, ``ends`` its left and right, ``reach`` how far the shade
    of the holes reaches from the ends: all in pixels.
    """
    rows, columns = shape
    place = (np.arange(rows) - edges[0]) / max(1.0, edges[1] - edges[0])
    stops = [0.0, 0.18, 0.42, 0.75, 1.0]
    channels = (
        [176, 222, 250, 188, 142],
        [174, 220, 249, 185, 138],
        [170, 216, 246, 180, 132],
    )
    levels = np.stack([np.interp(place, stops, channel) for channel in channels], axis=-1)
    along = np.arange(columns)
    from_end = np.clip(np.minimum(along - ends[0], ends[1] - along) / reach, 0, 1)
    light = 0.72 + 0.28 * from_end
    band = np.rint(levels[:, None, :] * light[None, :, None]).astype(np.uint8)
    return Image.fromarray(band)
