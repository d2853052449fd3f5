"""Pictures of a set: its sheets as printed, its spreads as they lie in the binder."""

from __future__ import annotations

from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path

import pypdfium2 as pdfium
from PIL import Image

from pipeline.base.errors import UserError
from pipeline.base.geometry import Rect
from pipeline.plan.model import Side
from pipeline.proof.pictures.scene import Scene
from pipeline.proof.read.contents import (
    Contents,
    SheetSide,
    fore_edge_on_right,
    from_upright,
    other_face,
    read_contents,
)
from pipeline.proof.read.raster import area_picture, opened, page_picture, pixels

# Lengths of the scene that pictures show: chosen by eye, they stand in no printed file.
MARGIN_MM = 13.0
"""Desk around the paper."""
SHEET_MARGIN_MM = 6.0
"""Desk around a whole sheet."""
GAP_MM = 7.0
"""Between the binding edges of two facing leaves, where the rings are."""
_CREASE_MM = 2.2
"""How far an opened crease shades the paper on either side."""
_FOLD_MM = 1.6
"""How far a shut fold shades the paper."""
_BEND_MM = 13.0
"""How far from the binding edge the paper bends towards the rings."""


class SetPictures:
    """The pictures of one imposed set, each made when it is asked for. See ``open_set``."""

    def __init__(
        self,
        contents: Contents,
        sides: tuple[pdfium.PdfDocument, pdfium.PdfDocument],
        dpi: float,
    ) -> None:
        self.contents = contents
        self.dpi = dpi
        self._sides = sides

    def at(self, dpi: float) -> SetPictures:
        """Pictures of the same open files at another resolution."""
        return SetPictures(self.contents, self._sides, dpi)

    def page(self, sheet: int, side: SheetSide) -> pdfium.PdfPage:
        """The PDF page of a side of a sheet (``sheet`` counted from 0)."""
        return self._sides[side - 1][self.contents.page_number(sheet, side)]

    def side(self, sheet: int, side: SheetSide) -> Image.Image:
        """A side of a sheet, edge to edge: what the printer gets."""
        return page_picture(self.page(sheet, side), self.dpi)

    def sheet(self, sheet: int, side: SheetSide) -> Image.Image:
        """A side of a sheet as paper on a desk."""
        picture = self.side(sheet, side)
        note = self.contents.sheets[sheet]
        scene = Scene(
            note.width_mm + 2 * SHEET_MARGIN_MM, note.height_mm + 2 * SHEET_MARGIN_MM, self.dpi
        )
        scene.paper(picture, SHEET_MARGIN_MM, SHEET_MARGIN_MM)
        return scene.image

    def face(self, leaf: int, face: Side) -> Image.Image:
        """One face of a leaf, upright, with its flap open; white where nothing was printed."""
        placed = self.contents.find(leaf, face)
        if placed is not None:
            flat, turned = placed.placement.flat, placed.placement.turned
            return area_picture(self.page(placed.sheet, placed.side), flat, self.dpi, turned)
        binder = self.contents.binder
        width = binder.width_mm + self.contents.leaves[leaf].flap_mm
        size = pixels(width, self.dpi), pixels(binder.height_mm, self.dpi)
        return Image.new("RGB", size, "white")

    def face_area(self, leaf: int, face: Side, area: Rect) -> Image.Image:
        """A part of a face, ``area`` in mm from the top left of the leaf's flat area, upright."""
        placed = self.contents.find(leaf, face)
        if placed is None:
            size = pixels(area.width, self.dpi), pixels(area.height, self.dpi)
            return Image.new("RGB", size, "white")
        on_sheet = from_upright(area, placed.placement)
        page = self.page(placed.sheet, placed.side)
        return area_picture(page, on_sheet, self.dpi, placed.placement.turned)

    def corner(self, leaf: int, face: Side) -> tuple[float, float]:
        """Where in a view the top left of a face's flat area lies, flap open, mm."""
        flap = self.contents.leaves[leaf].flap_mm
        rings = MARGIN_MM + self.reach_mm[0] + GAP_MM / 2
        if fore_edge_on_right(face, self.contents.binding):
            return rings + GAP_MM / 2, MARGIN_MM
        return rings - GAP_MM / 2 - self.contents.binder.width_mm - flap, MARGIN_MM

    @property
    def views(self) -> tuple[tuple[int | None, int | None], ...]:
        """What one sees leafing through: the first page, every spread, the last page.

        Each is the leaf whose verso and the leaf whose recto are seen. A blank first or last page
        is left out.
        """
        contents = self.contents
        last = len(contents.leaves) - 1
        first_page = [(None, 0)] if contents.leaves[0].recto is not None else []
        last_page = [(last, None)] if contents.leaves[last].verso is not None else []
        return (*first_page, *contents.spreads, *last_page)

    def has_flap(self, spread: int) -> bool:
        """Whether a page of a spread has a flap of its own to open and shut."""
        left, right = self.contents.spreads[spread]
        return self.folds(left, Side.VERSO) or self.folds(right, Side.RECTO)

    def folds(self, leaf: int, face: Side) -> bool:
        """Whether the leaf's flap folds over this face."""
        return self.contents.leaves[leaf].folds_over(face)

    def spread(self, spread: int, shut: bool = False) -> Image.Image:
        """A spread in the rings, its own flaps open or ``shut``.

        All spreads of a set have the same size and the same rings, so that nothing jumps when one
        looks through them. A flap that belongs to the page behind is out of sight, folded over it.
        """
        return self.view(*self.contents.spreads[spread], shut=shut)

    def view(self, first: int | None, second: int | None, shut: bool = False) -> Image.Image:
        """The verso of leaf ``first`` beside the recto of leaf ``second``, as in the binder.

        Where one is ``None`` there is the bare desk: so it looks before the first leaf and behind
        the last, where no rings are drawn either.
        """
        binder = self.contents.binder
        rings = MARGIN_MM + self.reach_mm[0] + GAP_MM / 2
        scene = Scene(self.view_width_mm, binder.height_mm + 2 * MARGIN_MM, self.dpi)
        for leaf, face in ((first, Side.VERSO), (second, Side.RECTO)):
            if leaf is not None:
                self._lay(scene, leaf, face, rings, shut)
        if first is None or second is None:
            return scene.image
        reach = GAP_MM / 2 + binder.holes.edge_mm
        for centre in binder.holes.centres_mm:
            scene.ring(rings - reach, rings + reach, MARGIN_MM + centre)
        return scene.image

    def single(self, leaf: int, face: Side, shut: bool = False) -> Image.Image:
        """One face of a leaf on its own, as the first and the last of a set are seen."""
        binder = self.contents.binder
        flap = self.contents.leaves[leaf].flap_mm if self.folds(leaf, face) else 0.0
        width = binder.width_mm + flap + 2 * MARGIN_MM
        scene = Scene(width, binder.height_mm + 2 * MARGIN_MM, self.dpi)
        on_right = fore_edge_on_right(face, self.contents.binding)
        binding_edge = MARGIN_MM if on_right else width - MARGIN_MM
        rings = binding_edge + (-GAP_MM / 2 if on_right else GAP_MM / 2)
        self._lay(scene, leaf, face, rings, shut)
        return scene.image

    @property
    def reach_mm(self) -> tuple[float, float]:
        """How far the widest pages reach left and right of the rings, flaps open, mm."""
        flaps = [0.0, 0.0]
        for index, leaf in enumerate(self.contents.leaves):
            for face in Side:
                if self.folds(index, face):
                    at = 1 if fore_edge_on_right(face, self.contents.binding) else 0
                    flaps[at] = max(flaps[at], leaf.flap_mm)
        width = self.contents.binder.width_mm
        return width + flaps[0], width + flaps[1]

    @property
    def view_width_mm(self) -> float:
        """Across every view of the set: its widest pages, the rings and the desk around, mm."""
        return sum(self.reach_mm) + GAP_MM + 2 * MARGIN_MM

    def _lay(self, scene: Scene, leaf: int, face: Side, rings: float, shut: bool) -> None:
        """Lay one face beside the rings (mm from the left), bent, creased and punched."""
        binder, binding = self.contents.binder, self.contents.binding
        on_right = fore_edge_on_right(face, binding)
        width, height = binder.width_mm, binder.height_mm
        flap = self.contents.leaves[leaf].flap_mm
        picture = self.face(leaf, face)
        page_x = rings + GAP_MM / 2 if on_right else rings - GAP_MM / 2 - width
        fore_edge = page_x + width if on_right else page_x
        opened_flap = flap > 0 and self.folds(leaf, face) and not shut
        if opened_flap:
            scene.paper(picture, page_x if on_right else page_x - flap, MARGIN_MM)
            crease = Rect(fore_edge - _CREASE_MM, MARGIN_MM, _CREASE_MM, height)
            scene.fades(crease, dark_at_left=False, strength=0.075)
            scene.fades(crease.moved(_CREASE_MM, 0), dark_at_left=True, strength=0.035)
        else:
            page = _panel(picture, pixels(width, self.dpi), at_left=on_right)
            place = scene.paper(page, page_x, MARGIN_MM)
            if flap > 0 and self.folds(leaf, face):
                back = _panel(
                    self.face(leaf, other_face(face)), pixels(flap, self.dpi), at_left=on_right
                )
                scene.flap(back, place, at_right=on_right)
            if flap > 0:
                edge_x = place.right - _FOLD_MM if on_right else place.x
                edge = Rect(edge_x, place.y, _FOLD_MM, place.height)
                scene.fades(edge, dark_at_left=not on_right, strength=0.13)
        binding_edge = page_x if on_right else page_x + width
        bend = Rect(
            binding_edge if on_right else binding_edge - _BEND_MM, MARGIN_MM, _BEND_MM, height
        )
        scene.fades(bend, dark_at_left=on_right, strength=0.085)
        inwards = binder.holes.edge_mm if on_right else -binder.holes.edge_mm
        for centre in binder.holes.centres_mm:
            scene.hole(binding_edge + inwards, MARGIN_MM + centre, binder.holes.diameter_mm)


def _panel(face: Image.Image, width_px: int, at_left: bool) -> Image.Image:
    """The strip of a face at its left or right edge, ``width_px`` wide."""
    left = 0 if at_left else face.width - width_px
    return face.crop((left, 0, left + width_px, face.height))


@contextmanager
def open_set(set_folder: Path, dpi: float) -> Iterator[SetPictures]:
    """The pictures of the imposed set in a folder, at ``dpi`` pixels an inch.

    Raises ``UserError`` when the folder is not a whole imposed set.
    """
    contents = read_contents(set_folder)
    paths = set_folder / "side-1.pdf", set_folder / "side-2.pdf"
    with opened(paths[0]) as first, opened(paths[1]) as second:
        for path, document in zip(paths, (first, second), strict=True):
            if len(document) != len(contents.sheets):
                raise UserError(
                    str(path),
                    f"has {len(document)} pages for {len(contents.sheets)} sheets",
                    "build the set again",
                )
        yield SetPictures(contents, (first, second), dpi)
