"""The open binder on the table: cover, leaves, rings, and flaps at any angle."""

from __future__ import annotations

from typing import NamedTuple

import numpy as np
from PIL import Image, ImageChops, ImageDraw, ImageFilter

from pipeline.base.geometry import Rect
from pipeline.plan.model import Side
from pipeline.proof.pictures.pictures import GAP_MM, SetPictures
from pipeline.proof.read.contents import fore_edge_on_right, other_face
from pipeline.publish.pictures.desk import BLOCK, EDGE, SHADOW, Desk, blank_paper, cloth, rounded
from pipeline.publish.pictures.flap import Fold, Quad, warped
from pipeline.publish.pictures.noise import LINEN

# The picture's binder is drawn by eye.
COVER = (197, 190, 174)
COVER_MM = 8.0
"""How far the cover reaches past the pages on every side."""
COVER_RADIUS_MM = 5.0
RING_MM = 2.3
SHUT, OPEN = 5.0, 177.0
"""A fold in paper springs back a little: neither shut nor open does a flap lie quite flat."""

_BEND_MM = 16.0
_EDGES = 3
"""Of the leaves below the top one so many edges are seen."""


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


class Binder:
    """A binder of the set's size on a desk, its rings at (``rings_x``, middle ``middle_y``) mm."""

    def __init__(
        self, desk: Desk, pictures: SetPictures, opened: Opened, rings_x: float, middle_y: float
    ) -> None:
        self.desk = desk
        self.pictures = pictures.at(desk.dpi)
        self.opened = opened
        self.rings_x = rings_x
        size = pictures.contents.binder
        self.top = middle_y - size.height_mm / 2
        self.eye = (desk.width_mm / 2, desk.height_mm / 2)

    @property
    def half_mm(self) -> float:
        """From the rings to the cover's edge."""
        return GAP_MM / 2 + self.pictures.contents.binder.width_mm + COVER_MM

    @property
    def _seen(self) -> Rect:
        """The part of the table that is in the picture, mm."""
        return Rect(0, 0, self.desk.width_mm, self.desk.height_mm)

    def page(self, face: Side) -> Rect:
        """Where the page of a face lies on the desk, mm."""
        size = self.pictures.contents.binder
        right = fore_edge_on_right(face, self.pictures.contents.binding)
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
        desk, size = self.desk, self.pictures.contents.binder
        box = Rect(
            self.rings_x - self.half_mm,
            self.top - COVER_MM,
            2 * self.half_mm,
            size.height_mm + 2 * COVER_MM,
        )
        box = _inside(box, self._seen.grown(2 * COVER_MM))
        pixels = desk.scale.at(box.width, box.height)
        linen = cloth(pixels, COVER, LINEN, desk.per_mm)
        shape = rounded(pixels, COVER_RADIUS_MM * desk.per_mm)
        _bevel(linen, shape, desk.per_mm)
        desk.lay(linen, box.x, box.y, shape=shape, falls=BLOCK)
        # The joints beside the spine, and the plate the rings stand on.
        for side in (-1, 1):
            at = self.rings_x + side * 11.0
            joint = Rect(at - 1.2, box.y, 1.2, box.height)
            desk.fades(joint, dark_at_left=False, strength=0.16)
            desk.fades(joint.moved(1.2, 0), dark_at_left=True, strength=0.10)
        centres = size.holes.centres_mm
        plate = Rect(
            self.rings_x - 8, self.top + centres[0] - 12, 16, centres[-1] - centres[0] + 24
        )
        pixels = desk.scale.at(plate.width, plate.height)
        across = np.linspace(0, 1, pixels[0])
        tone = np.interp(across, [0, 0.12, 0.45, 0.8, 1], [168, 206, 226, 196, 158])
        rows = np.broadcast_to(tone[None, :, None], (pixels[1], pixels[0], 3))
        metal = Image.fromarray(np.rint(rows * [1, 0.99, 0.965]).astype(np.uint8))
        desk.lay(metal, plate.x, plate.y, shape=rounded(pixels, 3 * desk.per_mm), falls=EDGE)

    def _edges(self, face: Side) -> None:
        """Edges of the leaves below the opened one."""
        leaves = len(self.pictures.contents.leaves)
        opened = self.opened.first if face is Side.VERSO else self.opened.second
        if opened is None:
            return
        below = opened if face is Side.VERSO else leaves - 1 - opened
        page = _inside(self.page(face), self._seen.grown(COVER_MM))
        out = 1 if fore_edge_on_right(face, self.pictures.contents.binding) else -1
        paper = self.desk.printed(blank_paper(self.desk.scale.at(page.width, page.height)))
        for number in range(min(below, _EDGES), 0, -1):
            self.desk.lay(paper, page.x + out * 0.55 * number, page.y + 0.28 * number, falls=EDGE)

    def _page(self, leaf: int, face: Side) -> FlapFaces | None:
        """Lay the page itself, as far as it is in the picture; its flap is given back."""
        desk, contents = self.desk, self.pictures.contents
        page, holes = self.page(face), contents.binder.holes
        right = fore_edge_on_right(face, contents.binding)
        flap_mm = contents.leaves[leaf].flap_mm
        seen = _inside(page, self._seen)
        page_x = page.x if right else page.x - flap_mm
        area = seen.moved(-page_x, -page.y)
        desk.lay(
            desk.printed(self.pictures.face_area(leaf, face, area)), seen.x, seen.y, falls=EDGE
        )
        inner = page.x if right else page.right - _BEND_MM
        desk.fades(Rect(inner, page.y, _BEND_MM, page.height), right, 0.12)
        if flap_mm:
            edge = Rect(page.right - 1.6 if right else page.x, page.y, 1.6, page.height)
            desk.fades(edge, dark_at_left=not right, strength=0.10)
        at = page.x + holes.edge_mm if right else page.right - holes.edge_mm
        for centre in holes.centres_mm:
            desk.hole(at, page.y + centre, holes.diameter_mm)
        if not self.pictures.folds(leaf, face):
            return None
        front = Rect(page.width if right else 0, 0, flap_mm, page.height)
        back = Rect(0 if right else page.width, 0, flap_mm, page.height)
        return FlapFaces(
            Fold(page, flap_mm, right),
            back=desk.printed(self.pictures.face_area(leaf, other_face(face), back)),
            front=desk.printed(self.pictures.face_area(leaf, face, front)),
        )

    def _rings(self) -> None:
        holes = self.pictures.contents.binder.holes
        reach = GAP_MM / 2 + holes.edge_mm
        for centre in holes.centres_mm:
            self.desk.ring(self.rings_x - reach, self.rings_x + reach, self.top + centre, RING_MM)

    def fold(self, flap: FlapFaces, degrees: float) -> None:
        """Draw a flap at an angle, with its shadow."""
        desk, fold = self.desk, flap.fold
        _throw_quad(desk, fold.shadow(degrees), lift_mm=fold.free_edge(degrees)[1])
        front = fold.shows_front(degrees, self.eye)
        quad = fold.seen(degrees, self.eye)
        light = fold.light(degrees, front)
        face = (flap.front if front else flap.back).point(
            [round(min(255.0, level * light)) for level in range(256)] * 3
        )
        fold_at_left = fold.on_right if front else not fold.on_right
        _round_fold(face, fold_at_left, desk.per_mm, 0.10 if front else 0.16)
        near, far = (quad.fold_top, quad.fold_bottom), (quad.free_top, quad.free_bottom)
        left, right = (near, far) if fold_at_left else (far, near)
        corners = tuple(
            (x * desk.per_mm, y * desk.per_mm) for x, y in (left[0], right[0], right[1], left[1])
        )
        if abs(corners[1][0] - corners[0][0]) < 0.75:
            return  # seen from its edge
        picture, shape, corner = warped(face, (corners[0], corners[1], corners[2], corners[3]))
        desk.image.paste(picture, corner, shape)


def _inside(rect: Rect, limit: Rect) -> Rect:
    """The part of a rectangle inside another."""
    left, top = max(rect.x, limit.x), max(rect.y, limit.y)
    return Rect(
        left, top, min(rect.right, limit.right) - left, min(rect.bottom, limit.bottom) - top
    )


def _round_fold(face: Image.Image, at_left: bool, per_mm: float, strength: float) -> None:
    """Shade a panel along its fold."""
    wide = min(face.width, round(2.2 * per_mm))
    ramp = (1 - (np.arange(wide) + 0.5) / wide) ** 2 * strength * 255
    mask = np.broadcast_to(np.rint(ramp if at_left else ramp[::-1]), (face.height, wide))
    x = 0 if at_left else face.width - wide
    face.paste(SHADOW, (x, 0, x + wide, face.height), Image.fromarray(mask.astype(np.uint8)))


def _throw_quad(desk: Desk, quad: Quad, lift_mm: float) -> None:
    """A flap's shadow: soft where the flap is high, tight where it touches."""
    points = [(x, y) for x, y in (quad.fold_top, quad.free_top, quad.free_bottom, quad.fold_bottom)]
    room = 4.0 + lift_mm * 0.5
    left, top, width, height = Rect.around(points).grown(room)
    x, y = desk.scale.at(left, top)
    finer = 2
    size = [max(1, side) for side in desk.scale.at(width, height)]
    shape = Image.new("L", (size[0] // finer, size[1] // finer), 0)
    ImageDraw.Draw(shape).polygon(
        [
            ((px - left) * desk.per_mm / finer, (py - top) * desk.per_mm / finer)
            for px, py in points
        ],
        fill=255,
    )
    strong = 0.24 - 0.10 * min(1.0, lift_mm / 40)
    around = 0.20 * max(0.0, 1 - lift_mm / 25)  # no light reaches close under a low edge
    for blur_mm, down_mm, strength in (
        (0.5 + 0.07 * lift_mm, 0.3, strong),
        (1.8 + 0.16 * lift_mm, 1.1, 0.13),
        (0.8, 0.0, around),
        (2.6, 0.0, 0.6 * around),
    ):
        soft = shape.filter(ImageFilter.GaussianBlur(blur_mm * desk.per_mm / finer))
        soft = soft.point([round(level * strength) for level in range(256)])
        soft = soft.resize((size[0], size[1]), Image.Resampling.BILINEAR)
        at = (x + round(down_mm * 0.6 * desk.per_mm), y + round(down_mm * desk.per_mm))
        desk.image.paste(SHADOW, (*at, at[0] + size[0], at[1] + size[1]), soft)


def _bevel(cloth_piece: Image.Image, shape: Image.Image, per_mm: float) -> None:
    """Light on the upper left edge of a board, shade on its lower right one."""
    soft = shape.filter(ImageFilter.GaussianBlur(0.5 * per_mm))
    drop = max(1, round(0.6 * per_mm))
    lit = ImageChops.subtract(
        ImageChops.offset(soft, -drop, -drop), ImageChops.offset(soft, drop, drop), 10, 128
    )
    cloth_piece.paste(ImageChops.add(cloth_piece, Image.merge("RGB", (lit, lit, lit)), offset=-128))
