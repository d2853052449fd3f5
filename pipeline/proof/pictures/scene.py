"""Paper on a table: ground, shadows, punched holes and rings, with a light hand.

A scene is laid out in millimetres and becomes pixels once. Shapes with an edge are drawn four
times too large and reduced, so that holes and rings are round at any size.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Sequence
from dataclasses import dataclass
from functools import lru_cache
from typing import NamedTuple, Protocol

import cv2
import numpy as np
import numpy.typing as npt
from PIL import Image, ImageDraw, ImageFilter

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


PixelBox = tuple[int, int, int, int]
"""Left, upper, right and lower edge, in pixels."""


class LaidPaper(Protocol):
    """Printed paper that is laid on a scene, of which only what is seen need be drawn."""

    @property
    def size(self) -> tuple[int, int]:
        """Its width and height, in pixels."""
        ...

    def drawn(self, box: PixelBox) -> Image.Image:
        """What is printed in a box of its pixels."""
        ...

    def cut(self, box: PixelBox) -> Mask | None:
        """What of a box is left once the paper is cut out; None where all of it is."""
        ...


@dataclass(frozen=True)
class WholePaper:
    """Paper of which there is a picture."""

    picture: Image.Image

    @property
    def size(self) -> tuple[int, int]:
        return self.picture.size

    def drawn(self, box: PixelBox) -> Image.Image:
        return self.picture.crop(box)

    def cut(self, box: PixelBox) -> Mask | None:
        return None


@dataclass(frozen=True)
class _PlainPaper:
    """Paper of one colour."""

    size: tuple[int, int]
    colour: str

    def drawn(self, box: PixelBox) -> Image.Image:
        return Image.new("RGB", (box[2] - box[0], box[3] - box[1]), self.colour)

    def cut(self, box: PixelBox) -> Mask | None:
        return None


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
    is the same for many pictures of a set; it is drawn once for them. Of a large picture a
    ``window`` can be drawn alone, in pixels; it is as the whole one is there.
    """

    def __init__(
        self, width_mm: float, height_mm: float, dpi: float, window: PixelBox | None = None
    ) -> None:
        self.scale = Scale(dpi)
        self.windowed = window is not None
        self._size = self.scale.at(width_mm, height_mm)
        self._window = _common((0, 0, *self._size), window or (0, 0, *self._size))
        self._steps: list[_Step] = []
        self._papers: list[LaidPaper] = []

    @property
    def image(self) -> Image.Image:
        """The picture of all that was laid so far, or the window of it."""
        width, height = self._size
        key = self._size, self.scale.dpi, tuple(self._steps)
        alone = self.windowed or width * height > _MOST_KEPT_PX
        if alone or any(paper.cut((0, 0, *paper.size)) for paper in self._papers):
            (drawn,) = _drawn(key, [self._papers], self._window)
            return drawn
        dark, span = _bare(key)
        print_only = np.zeros((height, width, 3), np.uint8)
        laid = [given[0] for do, given in self._steps if do is Tabletop.lay_paper]
        for paper, one in zip(self._papers, laid, strict=True):
            assert isinstance(one, _Laid)
            _put(print_only, np.asarray(paper.drawn((0, 0, *paper.size))), one.corner)
        seen = cv2.multiply(print_only, span, scale=1 / 255)
        return Image.fromarray(cv2.add(seen, dark))

    def paper(self, paper: LaidPaper, x_mm: float, y_mm: float) -> Rect:
        """Lay printed paper with its top left at a point; gives its place in mm.

        The place is that of its whole pixels, so that what is laid on it later meets its edges.
        A wide faint shadow lifts it off the table, a narrow one draws its edge.
        """
        corner, per_px = self.scale.at(x_mm, y_mm), 1 / self.scale.px(1)
        shadows = (2.6, 1.1, 0.17), (0.45, 0.15, 0.22)
        self._note_paper(paper, corner, shadows, (0, 0, *self._size))
        return Rect(*(length * per_px for length in (*corner, *paper.size)))

    def _note_paper(
        self,
        paper: LaidPaper,
        corner: tuple[int, int],
        shadows: tuple[tuple[float, float, float], ...],
        limit: PixelBox,
    ) -> None:
        self._papers.append(paper)
        in_px = tuple(
            (self.scale.px(blur), self.scale.px(down), strength) for blur, down, strength in shadows
        )
        self._note(Tabletop.lay_paper, _Laid(paper.size, corner, in_px, limit))

    def _note(self, do: Callable[..., None], *given: object) -> None:
        self._steps.append((do, given))

    def fades(self, area: Rect, dark_at_left: bool, strength: float, power: float = 2.0) -> None:
        """Shade an area from one of its sides towards the other, as a bend in paper does."""
        self._note(Tabletop.fades, area, dark_at_left, strength, power)

    def flap(self, back: LaidPaper, page: Rect, at_right: bool) -> None:
        """Fold a flap over a page laid before: its ``back`` shows, its shadow falls on the page."""
        left, top = self.scale.at(page.x, page.y)
        right, bottom = self.scale.at(page.right, page.bottom)
        corner = (right - back.size[0] if at_right else left, top)
        shadows = (1.8, 0.5, 0.20), (0.35, 0.1, 0.26)
        self._note_paper(back, corner, shadows, (left, top, right, bottom))

    def hole(self, x_mm: float, y_mm: float, diameter_mm: float) -> None:
        """A punched hole: what lies under the leaf, in the shadow of the hole's upper rim."""
        self._note(Tabletop.hole, x_mm, y_mm, diameter_mm)

    def ring(self, left_mm: float, right_mm: float, y_mm: float, thick_mm: float = 1.5) -> None:
        """A ring seen from above: a rod from one hole to the other, with its shadow below it."""
        self._note(Tabletop.ring, left_mm, right_mm, y_mm, thick_mm)


_MOST_KEPT_PX = 3_000_000
"""Larger pictures are of one page looked at closely: what is around them is not kept."""


@lru_cache(maxsize=24)
def _bare(key: _Key) -> tuple[Pixels, Pixels]:
    """How a scene looks with black paper, and how much lighter it is with white.

    Two sets of the same size have some twenty between them, and a season has many such sets.
    Whatever is laid lightens or darkens each pixel in proportion, so that any print lies between.
    """
    laid = [one for do, (one, *_) in key[2] if do is Tabletop.lay_paper and isinstance(one, _Laid)]
    papers = [[_PlainPaper(one.size, level) for one in laid] for level in ("black", "white")]
    dark, light = map(np.asarray, _drawn(key, papers, (0, 0, *key[0])))
    return dark, np.maximum(light, dark) - dark  # either may be rounded


def _put(board: Pixels, picture: Pixels, corner: tuple[int, int]) -> None:
    """Lays a picture on a board, as far as it has room there."""
    x, y = corner
    left, top = max(0, -x), max(0, -y)
    part = picture[top : board.shape[0] - y, left : board.shape[1] - x]
    board[y + top : y + top + part.shape[0], x + left : x + left + part.shape[1]] = part


def _drawn(key: _Key, papers: Sequence[Sequence[LaidPaper]], window: PixelBox) -> list[Image.Image]:
    """A window of scenes that differ in their papers alone, all of each in their order."""
    _, dpi, steps = key
    left, top, right, bottom = window
    size = max(0, right - left), max(0, bottom - top)
    images = [Image.new("RGB", size, GROUND) for _ in papers]
    table = Tabletop(images, Scale(dpi), (left, top))
    number = 0
    for do, given in steps:
        if do is Tabletop.lay_paper:
            do(table, *given, [one[number] for one in papers])
            number += 1
        else:
            do(table, *given)
    return table.images


class Tabletop:
    """A table being drawn on; several ``images`` at once that differ in what is printed alone.

    Their top left is the pixel ``origin`` of the table.
    """

    def __init__(
        self, images: Sequence[Image.Image], scale: Scale, origin: tuple[int, int] = (0, 0)
    ) -> None:
        self.images = list(images)
        self.scale = scale
        self._origin = origin

    @property
    def image(self) -> Image.Image:
        """The first of its pictures."""
        return self.images[0]

    @property
    def _window(self) -> PixelBox:
        (x, y), (width, height) = self._origin, self.images[0].size
        return x, y, x + width, y + height

    def _here(self, corner: tuple[int, int]) -> tuple[int, int]:
        """Where a pixel of the table is in the images."""
        return corner[0] - self._origin[0], corner[1] - self._origin[1]

    def _is_seen(self, left: int, top: int, size: tuple[int, int]) -> bool:
        """Whether anything of a finer drawing is in the images."""
        box = (left, top, left + size[0] // _FINER, top + size[1] // _FINER)
        return not _is_empty(_common(box, self._window))

    def _fine(self, at_mm: float, origin: int) -> float:
        """Where a point falls in a finer drawing whose first pixel is ``origin`` in the picture."""
        return (self.scale.px(at_mm) - origin) * _FINER

    def _paste_fine(self, picture: Image.Image, mask: Mask, corner: tuple[int, int]) -> None:
        """Lay a finer drawing on the pictures, where its mask says so."""
        picture, mask = _coarse(picture), _coarse(mask)
        for image in self.images:
            image.paste(picture, self._here(corner), mask)

    def _fine_box(self, box: Rect) -> tuple[int, int, tuple[int, int]]:
        """The top left of the whole pixels around a box, and the size of a finer drawing."""
        left, top = self.scale.at(box.x, box.y)
        right, bottom = self.scale.at(box.right, box.bottom)
        size = (max(1, right - left) * _FINER, max(1, bottom - top) * _FINER)
        return left, top, size

    def _shade(self, mask: Mask, corner: tuple[int, int]) -> None:
        """Darken where the mask says so."""
        x, y = self._here(corner)
        for image in self.images:
            image.paste(SHADE, (x, y, x + mask.width, y + mask.height), mask)

    def lay_paper(self, laid: _Laid, papers: Sequence[LaidPaper]) -> None:
        """Lay a paper with its shadows, on each picture its own; only what is seen is drawn."""
        (width, height), (x, y) = laid.size, laid.corner
        place = x, y, x + width, y + height
        for blur, down, strength in laid.shadows:
            reach, drop = math.ceil(3 * blur) + math.ceil(down), round(down)
            # Where the shadow can fall, and the paper that throws it there.
            shown = _common(_common(_grown(place, reach), laid.limit), self._window)
            near = _common(_grown(shown, reach), _grown(place, reach))
            if _is_empty(shown):
                continue
            shape = Image.new("L", (near[2] - near[0], near[3] - near[1]), 0)
            thrown = _common(_grown(near, drop), place)
            if not _is_empty(thrown):
                left, top, right, bottom = _moved(thrown, near)
                cut = papers[0].cut(_moved(thrown, place))
                shape.paste(cut or 255, (left, top + drop, right, bottom + drop))
            soft = cv2.GaussianBlur(np.asarray(shape), (0, 0), blur, borderType=cv2.BORDER_CONSTANT)
            left, top, right, bottom = _moved(shown, near)
            part = cv2.convertScaleAbs(soft[top:bottom, left:right], alpha=strength)
            self._shade(Image.fromarray(part), shown[:2])
        seen = _common(place, self._window)
        if _is_empty(seen):
            return
        box = _moved(seen, place)
        for image, paper in zip(self.images, papers, strict=True):
            image.paste(on_paper(paper.drawn(box)), self._here(seen[:2]), paper.cut(box))

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
        if not self._is_seen(left, top, size):
            return
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
        if not self._is_seen(left, top, size):
            return
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


def _common(one: PixelBox, other: PixelBox) -> PixelBox:
    """What two boxes have in common; see ``_is_empty``.

    >>> _common((0, 0, 5, 5), (3, 4, 9, 9))
    (3, 4, 5, 5)
    """
    left, top = max(one[0], other[0]), max(one[1], other[1])
    return left, top, min(one[2], other[2]), min(one[3], other[3])


def _is_empty(box: PixelBox) -> bool:
    """Whether there is nothing in a box.

    >>> _is_empty(_common((0, 0, 5, 5), (5, 0, 9, 9)))
    True
    """
    return box[0] >= box[2] or box[1] >= box[3]


def _grown(box: PixelBox, by: int) -> PixelBox:
    """A box with so many pixels more on each side.

    >>> _grown((5, 5, 6, 6), 2)
    (3, 3, 8, 8)
    """
    return box[0] - by, box[1] - by, box[2] + by, box[3] + by


def _moved(box: PixelBox, origin: PixelBox) -> PixelBox:
    """A box as it lies in another."""
    x, y = origin[:2]
    return box[0] - x, box[1] - y, box[2] - x, box[3] - y


def _coarse(picture: Image.Image) -> Image.Image:
    """A finer drawing at the picture's own resolution."""
    small = (picture.width // _FINER, picture.height // _FINER)
    return picture.resize(small, Image.Resampling.BOX)


_ON_PAPER = [level * white // 255 for white in PAPER for level in range(256)]


def on_paper(picture: Image.Image) -> Image.Image:
    """Printed matter on paper that is not quite as white as the screen."""
    return picture.point(_ON_PAPER)


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
