"""The open binder on the table: cover, leaves, rings, and flaps at any angle.

Millimetres, x to the right, y down, z up from the page towards the eye, which is above the middle
of the picture. A flap's angle is 0° where it lies shut on its page, 180° where it lies open
beside it.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from typing import NamedTuple

import cv2
import numpy as np
from PIL import Image, ImageDraw

from pipeline.base.geometry import Rect
from pipeline.impose.contents import fore_edge_on_right, other_face
from pipeline.plan.model import Side
from pipeline.proof.pictures.pictures import GAP_MM, SetPictures
from pipeline.publish.pictures.table import (
    BLOCK,
    EDGE,
    METAL,
    OUTLINE,
    SHADOW_COLOUR,
    Shadow,
    Table,
    blank_paper,
    covered,
    moved_to,
    round_cornered,
)

# The picture's binder is drawn by eye.
COVER_MM = 8.0
"""How far the cover reaches past the pages on every side."""
COVER_RADIUS_MM = 5.0
RING_MM = 2.3
SHUT, OPEN = 1.5, 178.5
"""A fold in paper springs back a little; no more, so that a shut flap hides what it covers."""

_BEND_MM = 16.0

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
        top, bottom = (eye[1] + (y - eye[1]) * larger for y in (self.page.y, self.page.bottom))
        return self._quad(eye[0] + (x - eye[0]) * larger, top, bottom)

    def shadow(self, degrees: float) -> Quad:
        """Where the flap's shadow falls on what lies flat below it."""
        x, z = self.free_edge(degrees)
        right, down = -LIGHT[0] / LIGHT[2] * z, -LIGHT[1] / LIGHT[2] * z
        return self._quad(x + right, self.page.y + down, self.page.bottom + down)

    def _quad(self, free_x: float, top: float, bottom: float) -> Quad:
        """The fold where it is, and a free edge."""
        fold_x = self.fold_x
        corners = (fold_x, self.page.y), (fold_x, self.page.bottom)
        return Quad(*corners, (free_x, top), (free_x, bottom))

    def shows_front(self, degrees: float, eye: Point) -> bool:
        """Whether the eye sees the flap's front, which is printed with its own page."""
        free_x = self.seen(degrees, eye).free_top[0]
        return free_x > self.fold_x if self.on_right else free_x < self.fold_x

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


class Opened(NamedTuple):
    """What lies open: the verso of leaf ``first`` and the recto of leaf ``second``, if any."""

    first: int | None
    second: int | None

    @property
    def faces(self) -> list[tuple[int, Side]]:
        """The faces that lie open, in reading order."""
        pairs = ((self.first, Side.VERSO), (self.second, Side.RECTO))
        return [(leaf, face) for leaf, face in pairs if leaf is not None]


class FlapFaces(NamedTuple):
    """A flap of the opened pages: where it folds, its back and its front."""

    fold: Fold
    back: Image.Image
    front: Image.Image


class OpenBinder:
    """A binder of the set's size on a table, its rings at (``rings_x``, middle ``middle_y``) mm."""

    def __init__(
        self, table: Table, pictures: SetPictures, opened: Opened, rings_x: float, middle_y: float
    ) -> None:
        self.table = table
        self.pictures = pictures.at(table.dpi)
        self.contents = pictures.contents
        self.opened = opened
        self.rings_x = rings_x
        self.top = middle_y - self.contents.binder.height_mm / 2
        self.eye = (table.width_mm / 2, table.height_mm / 2)
        self.seen = Rect(0, 0, table.width_mm, table.height_mm)

    def page(self, face: Side) -> Rect:
        """Where the page of a face lies on the table, mm."""
        size = self.contents.binder
        right = fore_edge_on_right(face, self.contents.binding)
        x = self.rings_x + GAP_MM / 2 if right else self.rings_x - GAP_MM / 2 - size.width_mm
        return Rect(x, self.top, size.width_mm, size.height_mm)

    def lay(self) -> list[FlapFaces]:
        """Lay all of it but the flaps of the opened pages, which are given back."""
        self._cover()
        for face in Side:
            self._edges(face)
        flaps = [self._page(leaf, face) for leaf, face in self.opened.faces]
        self._rings()
        return [flap for flap in flaps if flap is not None]

    def _cover(self) -> None:
        table, size = self.table, self.contents.binder
        half, high = GAP_MM / 2 + size.width_mm + COVER_MM, size.height_mm + 2 * COVER_MM
        box = Rect(self.rings_x - half, self.top - COVER_MM, 2 * half, high)
        box = inside(box, self.seen.grown(2 * COVER_MM))
        self._board(box, COVER_RADIUS_MM, table.ground.cover, BLOCK)
        # The joints beside the spine, and the plate the rings stand on.
        for side in (-1, 1):
            joint = Rect(self.rings_x + side * 11.0 - 0.4, box.y, 0.8, box.height)
            table.fades(joint, dark_at_left=True, strength=0.3, power=0)
        first, last = size.holes.centres_mm[0], size.holes.centres_mm[-1]
        plate = Rect(self.rings_x - 8, self.top + first - 12, 16, last - first + 24)
        self._board(plate, 3.0, METAL, EDGE)

    def _board(
        self, box: Rect, radius_mm: float, colour: tuple[int, int, int], shadow: Shadow
    ) -> None:
        """Lay something flat of one colour, outlined, with round corners."""
        per_mm = self.table.per_mm
        size, line = self.table.scale.at(box.width, box.height), max(1, round(0.7 * per_mm))
        inner = round_cornered((size[0] - 2 * line, size[1] - 2 * line), radius_mm * per_mm - line)
        board = Image.new("RGB", size, OUTLINE)
        board.paste(colour, (line, line, line + inner.width, line + inner.height), inner)
        shape = round_cornered(size, radius_mm * per_mm)
        self.table.lay(board, box.x, box.y, shape=shape, shadow=shadow)

    def _edges(self, face: Side) -> None:
        """Edges of the leaves below the opened one."""
        table, leaves = self.table, len(self.contents.leaves)
        opened = self.opened.first if face is Side.VERSO else self.opened.second
        if opened is None:
            return
        below = opened if face is Side.VERSO else leaves - 1 - opened
        page = inside(self.page(face), self.seen.grown(COVER_MM))
        out = 1 if fore_edge_on_right(face, self.contents.binding) else -1
        paper = table.printed(blank_paper(table.scale.at(page.width, page.height)))
        # Of the leaves below the top one only so many edges are seen.
        for number in range(min(below, 3), 0, -1):
            x, y = page.x + out * 0.55 * number, page.y + 0.28 * number
            table.lay(paper, x, y, shadow=EDGE)
        for leaf in range(leaves - 1, opened, -1) if face is Side.RECTO else range(opened):
            self._tab(leaf, face)

    def _tab(self, leaf: int, face: Side) -> None:
        """Lay the tab of a leaf, if it has one."""
        table, page = self.table, self.page(face)
        shape = self.contents.shape(leaf, face)
        if shape.tab is not None:
            printed = table.printed(self.pictures.face_area(leaf, face, shape.tab))
            cut = self.pictures.cut_mask(leaf, face, shape.tab)
            x, y = page.x - shape.trim.x + shape.tab.x, page.y - shape.trim.y + shape.tab.y
            table.lay(printed, x, y, shape=cut, shadow=EDGE)

    def _page(self, leaf: int, face: Side) -> FlapFaces | None:
        """Lay the page itself, as far as it is in the picture; its flap is given back."""
        table, contents = self.table, self.contents
        page, holes = self.page(face), contents.binder.holes
        right = fore_edge_on_right(face, contents.binding)
        flap_mm = contents.leaves[leaf].flap_mm
        seen = inside(page, self.seen)
        shape = contents.shape(leaf, face)
        across, down = page.x - shape.trim.x, page.y - shape.trim.y
        self._tab(leaf, face)
        printed = self.pictures.face_area(leaf, face, seen.moved(-across, -down))
        table.lay(table.printed(printed), seen.x, seen.y, shadow=EDGE)
        inner = page.x if right else page.right - _BEND_MM
        table.fades(Rect(inner, page.y, _BEND_MM, page.height), right, 0.06)
        at = page.x + holes.edge_mm if right else page.right - holes.edge_mm
        for centre in holes.centres_mm:
            table.hole(at, page.y + centre, holes.diameter_mm)
        if not self.pictures.folds(leaf, face):
            return None
        head = shape.trim.y
        front = Rect(page.width if right else 0, head, flap_mm, page.height)
        back = Rect(0 if right else page.width, head, flap_mm, page.height)
        return FlapFaces(
            Fold(page, flap_mm, right),
            back=table.printed(self.pictures.face_area(leaf, other_face(face), back)),
            front=table.printed(self.pictures.face_area(leaf, face, front)),
        )

    def _rings(self) -> None:
        holes = self.contents.binder.holes
        reach = GAP_MM / 2 + holes.edge_mm
        for centre in holes.centres_mm:
            self.table.ring(self.rings_x - reach, self.rings_x + reach, self.top + centre, RING_MM)

    def fold(self, flap: FlapFaces, degrees: float) -> None:
        """Draw a flap at an angle, with its shadow."""
        table, fold = self.table, flap.fold
        _throw_quad(table, fold.shadow(degrees), lift_mm=fold.free_edge(degrees)[1])
        front = fold.shows_front(degrees, self.eye)
        quad = fold.seen(degrees, self.eye)
        light = fold.light(degrees, front)
        face = (flap.front if front else flap.back).point(
            [round(min(255.0, level * light)) for level in range(256)] * 3
        )
        fold_at_left = fold.on_right is front
        near, far = (quad.fold_top, quad.fold_bottom), (quad.free_top, quad.free_bottom)
        left, right = (near, far) if fold_at_left else (far, near)
        seen = (left[0], right[0], right[1], left[1])
        corners = [(x * table.per_mm, y * table.per_mm) for x, y in seen]
        if abs(corners[1][0] - corners[0][0]) < 0.75:
            return  # seen from its edge
        picture, shape, corner = _warped(face, corners)
        table.image.paste(picture, corner, shape)


def inside(rect: Rect, limit: Rect) -> Rect:
    """The part of a rectangle inside another."""
    left, top = max(rect.x, limit.x), max(rect.y, limit.y)
    return Rect(
        left, top, min(rect.right, limit.right) - left, min(rect.bottom, limit.bottom) - top
    )


def _throw_quad(table: Table, quad: Quad, lift_mm: float) -> None:
    """A flap's shadow: soft where the flap is high, tight where it touches."""
    points = (quad.fold_top, quad.free_top, quad.free_bottom, quad.fold_bottom)
    room = 4.0 + lift_mm * 0.5
    left, top, width, height = Rect.around(points).grown(room)
    x, y = table.scale.at(left, top)
    finer = 4
    size = [max(1, side) for side in table.scale.at(width, height)]
    shape = Image.new("L", (size[0] // finer, size[1] // finer), 0)
    ImageDraw.Draw(shape).polygon(
        [
            ((px - left) * table.per_mm / finer, (py - top) * table.per_mm / finer)
            for px, py in points
        ],
        fill=255,
    )
    blur = (0.9 + 0.12 * lift_mm) * table.per_mm / finer
    soft = cv2.GaussianBlur(np.asarray(shape), (0, 0), blur)
    soft = cv2.convertScaleAbs(soft, alpha=0.30 - 0.12 * min(1.0, lift_mm / 40))
    mask = Image.fromarray(cv2.resize(soft, (size[0], size[1])))
    down = round(0.8 * table.per_mm)
    table.image.paste(SHADOW_COLOUR, (x, y + down, x + size[0], y + down + size[1]), mask)


def _warped(
    picture: Image.Image, corners: Sequence[Point]
) -> tuple[Image.Image, Image.Image, tuple[int, int]]:
    """A picture drawn into four corners (top left, top right, bottom right, bottom left), pixels.

    Gives the picture, its shape and the pixel of its top left.
    """
    box = Rect.around(corners)
    left, top = math.floor(box.x) - 1, math.floor(box.y) - 1
    width, height = math.ceil(box.right) + 1 - left, math.ceil(box.bottom) + 1 - top
    inside = [(x - left, y - top) for x, y in corners]
    whole: list[Point] = [(0, 0), (picture.width, 0), picture.size, (0, picture.height)]
    # The eight terms of the projection that leads from what is seen back to its source.
    rows, values = [], []
    for (x, y), (u, v) in zip(inside, whole, strict=True):
        rows.append([x, y, 1, 0, 0, 0, -u * x, -u * y])
        rows.append([0, 0, 0, x, y, 1, -v * x, -v * y])
        values += [u, v]
    terms = np.linalg.solve(np.array(rows), np.array(values))
    back = np.append(terms, 1.0).reshape(3, 3)
    size = width, height
    colour = moved_to(picture, back, size, (255, 254, 252))
    shape = covered(Image.new("L", picture.size, 255), back, size)
    return colour, shape, (left, top)
