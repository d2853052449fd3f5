"""Paper on a table: ground, shadows, punched holes and rings, with a light hand.

A scene is laid out in millimetres and becomes pixels once. Shapes with an edge are drawn four
times too large and reduced, so that holes and rings are round at any size.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Protocol

import numpy as np
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


_REACH_MM = 10.0
"""No shadow is seen further than this from what throws it."""


class Scene:
    """A picture being laid out: ``width_mm`` by ``height_mm`` of table at ``dpi``.

    Of a large one a ``window`` can be drawn alone, in pixels; it is as the whole one is there.
    """

    def __init__(
        self, width_mm: float, height_mm: float, dpi: float, window: PixelBox | None = None
    ) -> None:
        self.scale = Scale(dpi)
        self.windowed = window is not None
        whole = (0, 0, *self.scale.at(width_mm, height_mm))
        self._window = _common(whole, window or whole)
        around = round(self.scale.px(_REACH_MM)) if window else 0
        self._board = _common(whole, _grown(self._window, around))
        # What is laid out: the window and all whose shadows fall into it.
        left, top, right, bottom = self._board
        self.image = Image.new("RGB", (max(0, right - left), max(0, bottom - top)), GROUND)

    @property
    def in_window(self) -> Image.Image:
        """The window of the picture as it is laid out by now."""
        return self.image.crop(_moved(self._window, self._board))

    def paper(self, paper: LaidPaper, x_mm: float, y_mm: float) -> Rect:
        """Lay printed paper with its top left at a point; gives its place in mm.

        The place is that of its whole pixels, so that what is laid on it later meets its edges.
        A wide faint shadow lifts it off the table, a narrow one draws its edge.
        """
        corner, per_px = self.scale.at(x_mm, y_mm), 1 / self.scale.px(1)
        self._lay(paper, corner, wide=(2.6, 1.1, 0.17), narrow=(0.45, 0.15, 0.22))
        return Rect(*(length * per_px for length in (*corner, *paper.size)))

    def _lay(
        self,
        paper: LaidPaper,
        corner: tuple[int, int],
        wide: tuple[float, float, float],
        narrow: tuple[float, float, float],
        limit: Mask | None = None,
    ) -> None:
        """Lay paper with two shadows, each given by its blur, its drop (mm) and its strength."""
        place = (*corner, corner[0] + paper.size[0], corner[1] + paper.size[1])
        near, seen = _common(place, self._board), _common(place, self._window)
        if _is_empty(near):
            return
        shape = Image.new("L", self.image.size, 0)
        shape.paste(paper.cut(_moved(near, place)) or 255, _moved(near, self._board))
        for blur_mm, down_mm, strength in (wide, narrow):
            soft = Image.new("L", shape.size, 0)
            soft.paste(shape, (0, round(self.scale.px(down_mm))))
            blur = self.scale.px(blur_mm)
            # A wide blur is as smooth made from a quarter of the pixels each way, and far cheaper.
            coarser = 4 if blur > 8 else 1
            soft = soft.reduce(coarser).filter(ImageFilter.GaussianBlur(blur / coarser))
            if coarser > 1:
                soft = soft.resize(shape.size, Image.Resampling.BILINEAR)
            soft = soft.point(lambda level, strength=strength: level * strength)
            self._shade(
                soft if limit is None else ImageChops.multiply(soft, limit), self._board[:2]
            )
        if not _is_empty(seen):
            box = _moved(seen, place)
            corner = _moved(seen, self._board)[:2]
            self.image.paste(on_paper(paper.drawn(box)), corner, paper.cut(box))

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

    def flap(self, back: LaidPaper, page: Rect, at_right: bool) -> None:
        """Fold a flap over a page laid before: its ``back`` shows, its shadow falls on the page."""
        left, top = self.scale.at(page.x, page.y)
        right, bottom = self.scale.at(page.right, page.bottom)
        limit = Image.new("L", self.image.size, 0)
        limit.paste(255, _moved((left, top, right, bottom), self._board))
        corner = (right - back.size[0] if at_right else left, top)
        self._lay(back, corner, wide=(1.8, 0.5, 0.20), narrow=(0.35, 0.1, 0.26), limit=limit)

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

    def _fine(self, at_mm: float, origin: int) -> float:
        """Where a point falls in a finer drawing whose first pixel is ``origin`` in the picture."""
        return (self.scale.px(at_mm) - origin) * _FINER

    def _paste_fine(self, picture: Image.Image, mask: Mask, corner: tuple[int, int]) -> None:
        """Lay a finer drawing on the picture, where its mask says so."""
        small = _coarse(picture)
        self.image.paste(small, self._here(small, corner), _coarse(mask))

    def _fine_box(self, box: Rect) -> tuple[int, int, tuple[int, int]]:
        """The top left of the whole pixels around a box, and the size of a finer drawing."""
        left, top = self.scale.at(box.x, box.y)
        right, bottom = self.scale.at(box.right, box.bottom)
        size = (max(1, right - left) * _FINER, max(1, bottom - top) * _FINER)
        return left, top, size

    def _is_seen(self, left: int, top: int, size: tuple[int, int]) -> bool:
        """Whether anything of a finer drawing is in the window."""
        box = (left, top, left + size[0] // _FINER, top + size[1] // _FINER)
        return not _is_empty(_common(box, self._window))

    def _shade(self, mask: Mask, corner: tuple[int, int]) -> None:
        """Darken where the mask says so."""
        self.image.paste(SHADE, self._here(mask, corner), mask)

    def _here(self, picture: Image.Image, corner: tuple[int, int]) -> PixelBox:
        """Where a picture with its top left at a pixel of the whole lies in what is laid out."""
        x, y = corner
        return _moved((x, y, x + picture.width, y + picture.height), self._board)


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
