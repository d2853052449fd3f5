"""A flap on its way from shut to open: where its corners are seen, its light and its shadow.

Millimetres, x to the right, y down, z up from the page towards the eye, which is above the
middle of the picture. The angle is 0° where the flap lies shut on its page, 180° where it lies
open beside it.
"""

from __future__ import annotations

import math
from typing import NamedTuple

import numpy as np
from PIL import Image

from pipeline.base.geometry import Rect

EYE_MM = 760.0
"""How high the eye is above the table: about that of somebody who stands at it (by eye)."""

LIGHT = (-0.46, -0.52, 0.72)
"""Where the light comes from: the upper left, a good way up. Of length 1, nearly."""

Point = tuple[float, float]


class Quad(NamedTuple):
    """Four corners as they are seen: top and bottom of the fold, then of the free edge."""

    fold_top: Point
    fold_bottom: Point
    free_top: Point
    free_bottom: Point


class Fold(NamedTuple):
    """A flap ``flap_mm`` wide on the fore edge of a page that lies at ``page`` in the picture."""

    page: Rect
    flap_mm: float
    on_right: bool
    """Whether the fore edge is on the page's right."""

    @property
    def fold_x(self) -> float:
        """Where the fold is, mm from the left of the picture."""
        return self.page.right if self.on_right else self.page.x

    def free_edge(self, degrees: float) -> tuple[float, float]:
        """The x and z of the free edge, mm.

        >>> fold = Fold(Rect(100, 0, 148, 210), 42, on_right=True)
        >>> [round(part) for part in fold.free_edge(0)], [round(p) for p in fold.free_edge(180)]
        ([206, 0], [290, 0])
        """
        angle = math.radians(degrees)
        outwards = 1 if self.on_right else -1
        across = self.fold_x - outwards * self.flap_mm * math.cos(angle)
        return across, self.flap_mm * math.sin(angle)

    def seen(self, degrees: float, eye: Point) -> Quad:
        """The flap's corners as an eye above ``eye`` sees them: what is higher looks larger."""
        x, z = self.free_edge(degrees)
        larger = EYE_MM / (EYE_MM - z)
        top, bottom = self.page.y, self.page.bottom
        free_x = eye[0] + (x - eye[0]) * larger
        return Quad(
            (self.fold_x, top),
            (self.fold_x, bottom),
            (free_x, eye[1] + (top - eye[1]) * larger),
            (free_x, eye[1] + (bottom - eye[1]) * larger),
        )

    def shows_front(self, degrees: float, eye: Point) -> bool:
        """Whether the eye sees the flap's front, which is printed with its own page."""
        free_x = self.seen(degrees, eye).free_top[0]
        return free_x > self.fold_x if self.on_right else free_x < self.fold_x

    def shadow(self, degrees: float) -> Quad:
        """Where the flap's shadow falls on what lies flat below it."""
        x, z = self.free_edge(degrees)
        right, down = -LIGHT[0] / LIGHT[2] * z, -LIGHT[1] / LIGHT[2] * z
        top, bottom = self.page.y, self.page.bottom
        return Quad(
            (self.fold_x, top),
            (self.fold_x, bottom),
            (x + right, top + down),
            (x + right, bottom + down),
        )

    def light(self, degrees: float, front: bool) -> float:
        """How bright the side of the flap is that shows; 1 is as bright as paper lying flat.

        Paper lets light through and its surroundings reflect some, so it is never dark.
        """
        angle = math.radians(degrees)
        outwards = 1 if self.on_right else -1
        # The front's upward normal when open, turned with the flap.
        normal = (outwards * math.sin(angle), 0.0, -math.cos(angle))
        if not front:
            normal = (-normal[0], 0.0, -normal[2])
        straight = sum(n * to for n, to in zip(normal, LIGHT, strict=True)) / LIGHT[2]
        return 0.80 + 0.20 * max(0.0, min(1.12, straight))


def warped(
    picture: Image.Image, corners: tuple[Point, Point, Point, Point], finer: int = 2
) -> tuple[Image.Image, Image.Image, tuple[int, int]]:
    """A picture drawn into four corners (top left, top right, bottom right, bottom left), pixels.

    Gives the picture, its shape and the pixel of its top left. Drawn ``finer`` and reduced.
    """
    box = Rect.around(corners)
    left, top = math.floor(box.x) - 1, math.floor(box.y) - 1
    width, height = math.ceil(box.right) + 1 - left, math.ceil(box.bottom) + 1 - top
    inside = [((x - left) * finer, (y - top) * finer) for x, y in corners]
    whole = [(0, 0), (picture.width, 0), (picture.width, picture.height), (0, picture.height)]
    terms = _backwards(inside, [(float(x), float(y)) for x, y in whole])
    size = width * finer, height * finer
    colour = picture.transform(
        size,
        Image.Transform.PERSPECTIVE,
        terms,
        Image.Resampling.BICUBIC,
        fillcolor=(255, 254, 252),
    )
    shape = Image.new("L", picture.size, 255).transform(
        size, Image.Transform.PERSPECTIVE, terms, Image.Resampling.BILINEAR
    )
    return colour.reduce(finer), shape.reduce(finer), (left, top)


def _backwards(seen: list[Point], source: list[Point]) -> tuple[float, ...]:
    """The eight terms of the projection that leads from what is seen back to its source."""
    rows, values = [], []
    for (x, y), (u, v) in zip(seen, source, strict=True):
        rows.append([x, y, 1, 0, 0, 0, -u * x, -u * y])
        rows.append([0, 0, 0, x, y, 1, -v * x, -v * y])
        values += [u, v]
    return tuple(float(term) for term in np.linalg.solve(np.array(rows), np.array(values)))
