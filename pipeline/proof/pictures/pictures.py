"""Pictures of a set: its sheets as printed, its spreads as they lie in the binder, its dates."""

from __future__ import annotations

import datetime as dt
import io
import math
import re
from collections import defaultdict
from collections.abc import Iterable, Iterator, Sequence
from contextlib import contextmanager
from dataclasses import dataclass
from pathlib import Path

import pypdfium2 as pdfium
from PIL import Image, ImageDraw

from pipeline.base.cache import Recent
from pipeline.base.errors import UserError
from pipeline.base.geometry import MM_PER_INCH, PT_PER_MM, Rect
from pipeline.impose.contents import Contents, fore_edge_on_right, other_face, read_contents
from pipeline.impose.sheet import SheetSide
from pipeline.plan.model import Side, tab_size
from pipeline.plan.words import Words
from pipeline.proof.pictures.scene import GROUND, PixelBox, Scale, Scene, WholePaper
from pipeline.proof.read.raster import area_picture, opened, page_picture, pixels
from pipeline.proof.read.text import LeafText, leaf_texts

# Lengths of the scene that pictures show: chosen by eye, they stand in no printed file.
MARGIN_MM = 13.0
"""Table around the paper."""
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


_LAST_FACES = 4
"""Those of a spread, and what is folded over them: they are looked at open and shut."""
_LAST_PAGES = 64
"""Sides of sheets that are kept open: opening one takes pdfium as long as drawing a part of it."""

View = tuple[int | None, int | None]
"""What one sees at once: the leaf whose verso is seen, and the leaf whose recto is."""


def view_faces(view: View) -> list[tuple[int, Side]]:
    """The faces one sees in a view, leaf and side, verso first."""
    faces = zip(view, (Side.VERSO, Side.RECTO), strict=True)
    return [(leaf, face) for leaf, face in faces if leaf is not None]


@dataclass(frozen=True)
class FacePaper:
    """An area of a face as paper (mm from the top left of its flat area), drawn where it is seen.

    With ``whole`` it is cut out of the picture of the whole face, which may be there already.
    """

    pictures: SetPictures
    leaf: int
    face: Side
    area: Rect
    whole: bool

    @property
    def size(self) -> tuple[int, int]:
        """Its width and height, in pixels."""
        dpi = self.pictures.dpi
        return pixels(self.area.width, dpi), pixels(self.area.height, dpi)

    def drawn(self, box: PixelBox) -> Image.Image:
        """What is printed in a box of its pixels."""
        if not self.whole:
            return self.pictures.face_area(self.leaf, self.face, self._part(box))
        left = round(self.area.x * self.pictures.dpi / MM_PER_INCH)
        moved = (box[0] + left, box[1], box[2] + left, box[3])
        return self.pictures.face(self.leaf, self.face).crop(moved)

    def cut(self, box: PixelBox) -> Image.Image | None:
        """What of a box is left once the leaf is cut out; None where all of it is."""
        if not self.pictures.contents.shape(self.leaf, self.face).outline:
            return None
        return self.pictures.cut_mask(self.leaf, self.face, self._part(box))

    def _part(self, box: PixelBox) -> Rect:
        left, top, right, bottom = (edge * MM_PER_INCH / self.pictures.dpi for edge in box)
        return Rect(self.area.x + left, self.area.y + top, right - left, bottom - top)


class SetPictures:
    """The pictures of one imposed set, each made when it is asked for. See ``open_set``."""

    def __init__(
        self,
        contents: Contents,
        sides: tuple[pdfium.PdfDocument, pdfium.PdfDocument],
        dpi: float,
        finer: int = 0,
    ) -> None:
        self.contents = contents
        self.dpi = dpi
        self.finer = finer
        self.sides = sides
        self._last_faces = Recent(_LAST_FACES)
        self._last_pages = Recent(_LAST_PAGES)

    def at(self, dpi: float) -> SetPictures:
        """Pictures of the same open files at another resolution."""
        other = SetPictures(self.contents, self.sides, dpi, self.finer)
        other._last_pages = self._last_pages
        return other

    def page(self, sheet: int, side: SheetSide) -> pdfium.PdfPage:
        """The PDF page of a side of a sheet (``sheet`` counted from 0)."""
        document, number = self.sides[side - 1], self.contents.page_number(sheet, side)
        page: pdfium.PdfPage = self._last_pages.get_or_make(
            (side, number), lambda: document[number]
        )
        return page

    def side(self, sheet: int, side: SheetSide) -> Image.Image:
        """A side of a sheet, edge to edge: what the printer gets."""
        return page_picture(self.page(sheet, side), self.dpi, self.finer)

    def sheet(self, sheet: int, side: SheetSide) -> Image.Image:
        """A side of a sheet as paper on a table."""
        note, around = self.contents.sheets[sheet], SHEET_MARGIN_MM
        scene = Scene(note.width_mm + 2 * around, note.height_mm + 2 * around, self.dpi)
        scene.paper(WholePaper(self.side(sheet, side)), around, around)
        return scene.image

    def face(self, leaf: int, face: Side) -> Image.Image:
        """One face of a leaf, upright, with its flap open; white where nothing was printed."""
        picture: Image.Image = self._last_faces.get_or_make(
            (leaf, face), lambda: self._part(leaf, face, None)
        )
        return picture

    def by_hand(self, leaf: int, face: Side) -> Sequence[Rect]:
        """Where lines are written on a face, in mm of its own; nowhere on printed pages."""
        return ()

    def face_area(self, leaf: int, face: Side, area: Rect) -> Image.Image:
        """A part of a face, ``area`` in mm from the top left of the leaf's flat area, upright."""
        return self._part(leaf, face, area)

    def face_pdf(self, leaf: int, face: Side) -> bytes:
        """One face of a leaf, upright, as a PDF that shows it alone."""
        document = pdfium.PdfDocument.new()
        placed = self.contents.find(leaf, face)
        if placed is None:
            flat = self.contents.shape(leaf, face).flat
            document.new_page(flat.width * PT_PER_MM, flat.height * PT_PER_MM)
        else:
            number = self.contents.page_number(placed.sheet, placed.side)
            document.import_pages(self.sides[placed.side - 1], [number])
            flat, height = placed.placement.flat, self.contents.sheets[placed.sheet].height_mm
            edges = (flat.x, height - flat.bottom, flat.right, height - flat.y)
            page = document[0]
            page.set_mediabox(*(edge * PT_PER_MM for edge in edges))
            page.set_cropbox(*(edge * PT_PER_MM for edge in edges))
            page.set_rotation(-placed.placement.turned % 360)
        data = io.BytesIO()
        document.save(data)
        document.close()
        return data.getvalue()

    def cut_out(self, leaf: int, face: Side, area: Rect | None = None) -> Image.Image:
        """One face of a leaf or an area of it, upright, with nothing but table around its tab."""
        picture = self._part(leaf, face, area)
        table = Image.new("RGB", picture.size, GROUND)
        whole = self.contents.shape(leaf, face).flat
        table.paste(picture, (0, 0), self.cut_mask(leaf, face, area or whole))
        return table

    def cut_mask(self, leaf: int, face: Side, area: Rect) -> Image.Image:
        """What of an area of a face (mm) is left once the leaf is cut, as a mask."""
        size = pixels(area.width, self.dpi), pixels(area.height, self.dpi)
        finer, per_mm = 4, self.dpi / MM_PER_INCH
        mask = Image.new("L", (size[0] * finer, size[1] * finer), 0)
        corners = self.contents.shape(leaf, face).corners
        spots = [((x - area.x) * per_mm * finer, (y - area.y) * per_mm * finer) for x, y in corners]
        ImageDraw.Draw(mask).polygon(spots, fill=255)
        return mask.reduce(finer)

    def _part(self, leaf: int, face: Side, area: Rect | None) -> Image.Image:
        placed = self.contents.find(leaf, face)
        if placed is not None:
            at = placed.placement
            on_sheet = at.position.rect(area) if area else at.flat
            page = self.page(placed.sheet, placed.side)
            return area_picture(page, on_sheet, self.dpi, at.turned, self.finer)
        size = (area or self.contents.shape(leaf, face).flat)[2:]
        return Image.new("RGB", (pixels(size[0], self.dpi), pixels(size[1], self.dpi)), "white")

    def page_x_mm(self, face: Side) -> float:
        """How far from a view's left edge the closed page on this side of the rings begins, mm."""
        on_right = fore_edge_on_right(face, self.contents.binding)
        beside = GAP_MM if on_right else -self.contents.binder.width_mm
        return MARGIN_MM + self.reach_mm[0] + beside

    @property
    def views(self) -> tuple[View, ...]:
        """What one sees leafing through: the first page, every spread, the last page.

        Each is the leaf whose verso and the leaf whose recto are seen. A blank first or last page
        is left out.
        """
        contents = self.contents
        last = len(contents.leaves) - 1
        first_page = [(None, 0)] if contents.leaves[0].recto is not None else []
        last_page = [(last, None)] if contents.leaves[last].verso is not None else []
        return (*first_page, *contents.spreads, *last_page)

    @property
    def main_view(self) -> View:
        """The leaves that face each other where a set looks its best.

        The first spread with flaps of its own; where there is none, the first with most printed
        pages; of those the first that no other month heads than the one its period begins in. A
        single leaf has its front alone.
        """
        contents = self.contents
        begins = contents.period.first
        fitting = (None, begins and begins.replace(day=1))

        def merit(number: int) -> tuple[bool, int, bool]:
            first, second = contents.spreads[number]
            pages = (contents.leaves[first].verso, contents.leaves[second].recto)
            many = sum(page is not None for page in pages)
            return self.has_flap(number), many, contents.month(number) in fitting

        numbers = range(len(contents.spreads))
        best = max(numbers, key=lambda number: (merit(number), -number), default=None)
        return (None, 0) if best is None else contents.spreads[best]

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

    def view(
        self,
        first: int | None,
        second: int | None,
        shut: bool = False,
        window: PixelBox | None = None,
    ) -> Image.Image:
        """The verso of leaf ``first`` beside the recto of leaf ``second``, as in the binder.

        Where one is ``None`` the table is bare: so it looks before the first leaf and behind
        the last, where no rings are drawn either. Of a large picture a ``window`` can be drawn
        alone.
        """
        binder = self.contents.binder
        rings = MARGIN_MM + self.reach_mm[0] + GAP_MM / 2
        scene = Scene(self.view_width_mm, self.view_height_mm, self.dpi, window)
        for leaf, face in view_faces((first, second)):
            if second is not None and first is not None:
                self._lay_tabs(scene, leaf, face, rings)
            self._lay(scene, leaf, face, rings, shut)
        if first is None or second is None:
            return scene.image
        reach = GAP_MM / 2 + binder.holes.edge_mm
        for centre in binder.holes.centres_mm:
            scene.ring(rings - reach, rings + reach, self.page_y_mm + centre)
        return scene.image

    def single(self, leaf: int, face: Side, shut: bool = False) -> Image.Image:
        """One face of a leaf on its own, as the first and the last of a set are seen."""
        binder = self.contents.binder
        flap = self.contents.leaves[leaf].flap_mm if self.folds(leaf, face) else 0.0
        flap += tab_size(self.contents.leaves[leaf].tab)[0]
        width = binder.width_mm + flap + 2 * MARGIN_MM
        scene = Scene(width, self.view_height_mm, self.dpi)
        before = MARGIN_MM - GAP_MM / 2
        on_right = fore_edge_on_right(face, self.contents.binding)
        self._lay(scene, leaf, face, before if on_right else width - before, shut)
        return scene.image

    @property
    def reach_mm(self) -> tuple[float, float]:
        """How far the widest pages reach left and right of the rings, flaps open, mm."""
        width = self.contents.binder.width_mm
        tabs = [tab_size(leaf.tab)[0] for leaf in self.contents.leaves]
        reach = [width + max(tabs)] * 2
        for index, leaf in enumerate(self.contents.leaves):
            for face in Side:
                if self.folds(index, face):
                    at = 1 if fore_edge_on_right(face, self.contents.binding) else 0
                    reach[at] = max(reach[at], width + leaf.flap_mm)
        return reach[0], reach[1]

    @property
    def view_width_mm(self) -> float:
        """Across every view of the set: its widest pages, the rings and the table around, mm."""
        return sum(self.reach_mm) + GAP_MM + 2 * MARGIN_MM

    @property
    def view_px(self) -> tuple[int, int]:
        """The size of every view of the set, in pixels."""
        return Scale(self.dpi).at(self.view_width_mm, self.view_height_mm)

    @property
    def page_y_mm(self) -> float:
        """How far from a view's upper edge the pages begin, mm: below tabs on their heads."""
        return MARGIN_MM + max(tab_size(leaf.tab)[1] for leaf in self.contents.leaves)

    @property
    def view_height_mm(self) -> float:
        """Down every view of the set, mm."""
        return self.page_y_mm + self.contents.binder.height_mm + MARGIN_MM

    def _lay_tabs(self, scene: Scene, top: int, face: Side, rings: float) -> None:
        """Lay the tabs of the leaves below one, the lowest first."""
        note = self.contents
        below = range(len(note.leaves) - 1, top, -1) if face is Side.RECTO else range(top)
        on_right = fore_edge_on_right(face, note.binding)
        page_x = rings + (GAP_MM / 2 if on_right else -GAP_MM / 2 - note.binder.width_mm)
        for leaf in below:
            shape = note.shape(leaf, face)
            if shape.tab is not None:
                x, y = page_x + shape.tab.x - shape.trim.x, shape.tab.y - shape.trim.y
                tab = FacePaper(self, leaf, face, shape.tab, whole=False)
                scene.paper(tab, x, self.page_y_mm + y)

    def _lay(self, scene: Scene, leaf: int, face: Side, rings: float, shut: bool) -> None:
        """Lay one face beside the rings (mm from the left), bent, creased and punched."""
        binder = self.contents.binder
        on_right = fore_edge_on_right(face, self.contents.binding)
        width, height, holes = binder.width_mm, binder.height_mm, binder.holes
        flap = self.contents.leaves[leaf].flap_mm
        page_x = rings + GAP_MM / 2 if on_right else rings - GAP_MM / 2 - width
        fore_edge, binding_edge = (page_x + width, page_x) if on_right else (page_x, page_x + width)

        shape, top = self.contents.shape(leaf, face), self.page_y_mm

        def paper(face: Side, width_mm: float = shape.flat.width) -> FacePaper:
            """A face, or the strip of it at its left or right edge."""
            flat = self.contents.shape(leaf, face).flat
            before = pixels(flat.width, self.dpi) - pixels(width_mm, self.dpi)
            left = 0 if on_right else before * MM_PER_INCH / self.dpi
            return FacePaper(
                self, leaf, face, Rect(left, 0, width_mm, flat.height), whole=not scene.windowed
            )

        folds = flap > 0 and self.folds(leaf, face)
        head = top - shape.trim.y
        if shape.outline and not flap:
            scene.paper(paper(face), page_x - shape.trim.x, head)
        elif folds and not shut:
            scene.paper(paper(face), page_x if on_right else page_x - flap, head)
            crease = Rect(fore_edge - _CREASE_MM, top, _CREASE_MM, height)
            scene.fades(crease, dark_at_left=False, strength=0.075)
            scene.fades(crease.moved(_CREASE_MM, 0), dark_at_left=True, strength=0.035)
        else:
            place = scene.paper(paper(face, width), page_x, head)
            if folds:
                scene.flap(paper(other_face(face), flap), place, at_right=on_right)
            if flap > 0:
                edge_x = place.right - _FOLD_MM if on_right else place.x
                edge = Rect(edge_x, top, _FOLD_MM, height)
                scene.fades(edge, dark_at_left=not on_right, strength=0.13)
        bend_x = binding_edge if on_right else binding_edge - _BEND_MM
        bend = Rect(bend_x, top, _BEND_MM, height)
        scene.fades(bend, dark_at_left=on_right, strength=0.085)
        hole_x = binding_edge + (holes.edge_mm if on_right else -holes.edge_mm)
        for centre in holes.centres_mm:
            scene.hole(hole_x, top + centre, holes.diameter_mm)


@contextmanager
def open_set(set_folder: Path, dpi: float, finer: int = 0) -> Iterator[SetPictures]:
    """The pictures of the imposed set in a folder, at ``dpi`` pixels an inch; ``finer`` as in
    ``area_picture``.

    Raises ``UserError`` when the folder is not a whole imposed set.
    """
    contents = read_contents(set_folder)
    paths = set_folder / "side-1.pdf", set_folder / "side-2.pdf"
    with opened(paths[0]) as first, opened(paths[1]) as second:
        for path, document in zip(paths, (first, second), strict=True):
            if len(document) != len(contents.sheets):
                what = f"has {len(document)} pages for {len(contents.sheets)} sheets"
                raise UserError(str(path), what, "run 'leafset build' again")
        yield SetPictures(contents, (first, second), dpi, finer)


TILE_PX = 1024
"""Large pictures are drawn in squares of so many pixels."""


def tile(size: tuple[int, int], column: int, row: int) -> PixelBox:
    """A square of a large picture, smaller at its right and lower edges.

    Raises ``IndexError`` for one beyond them.

    >>> tile((2000, 1500), 1, 1)
    (1024, 1024, 2000, 1500)
    """
    left, top = column * TILE_PX, row * TILE_PX
    if left >= size[0] or top >= size[1]:
        raise IndexError(column, row)
    return left, top, min(left + TILE_PX, size[0]), min(top + TILE_PX, size[1])


STRIP_DPI = 260.0
"""Enough to tell 3 from 8 in the smallest figures."""
_AROUND_MM = 1.6
_SAME_SIZE = 1.2
"""Figures up to this many times larger count as one size."""
_LINE_MM = 8.0
"""Name and figure further apart in height are cut out each from its own top."""


@dataclass(frozen=True)
class DateCut:
    """A day of a spread and the pieces of text that show it: its name and its figure.

    Either is None where nothing of the kind stands on the spread's pages, which may have no names
    of weekdays but single letters: then its figure alone is looked for.
    """

    date: dt.date
    name: LeafText | None
    figure: LeafText | None
    has_names: bool = True

    @property
    def pieces(self) -> list[LeafText]:
        """What there is of the two."""
        return [piece for piece in (self.name, self.figure) if piece]

    @property
    def text(self) -> str:
        """What was read."""
        return " ".join(piece.text for piece in self.pieces)

    def is_right(self, words: Words) -> bool:
        """Whether both are there, and the figure stands with no other month than its own."""
        if self.figure is None or (self.has_names and self.name is None):
            return False
        said = re.sub(r"[\W\d_]+", " ", self.figure.text).strip().casefold()
        others = {
            form.casefold()
            for month in range(1, 13)
            if month != self.date.month
            for form in words.month_name(self.date.replace(day=1, month=month))
        }
        return said not in others

    @property
    def width_mm(self) -> float:
        """How wide its picture is."""
        return sum(piece.box.width + 2 * _AROUND_MM for piece in self.pieces)


def date_cuts(pictures: SetPictures, view: View, words: Words) -> tuple[DateCut, ...]:
    """The days the pages of a view are about, each with the text that shows it; none of a page
    about more than a month, whose days are in small months.

    A date is found by its figure: of all sizes in which the days of a spread stand there, the one
    in which most of them do, and of several such the largest. So neither a week's number nor a
    small month in a corner is taken for a day. The day's name is looked for by what CLDR calls it.
    """
    dates: list[dt.date] = []
    texts: list[LeafText] = []
    for leaf, face in view_faces(view):
        page = pictures.contents.leaves[leaf].page(face)
        placed = pictures.contents.find(leaf, face)
        if page is None or placed is None:
            continue
        if len(page.dates) > _MOST_DAYS:
            continue
        dates.extend(date for date in page.dates if date not in dates)
        pdf_page = pictures.page(placed.sheet, placed.side)
        texts.extend(leaf_texts(pdf_page, [placed.placement], placed.sheet, placed.side))
    figures = _figures(sorted(dates), texts, words)
    names = {date: _name(date, figures.get(date), texts, words) for date in sorted(dates)}
    has_names = any(names.values())
    return tuple(DateCut(date, names[date], figures.get(date), has_names) for date in names)


_MOST_DAYS = 31
"""The days of the longest month."""


def cut_picture(pictures: SetPictures, cut: DateCut) -> Image.Image | None:
    """A day's name and figure side by side, as they stand on the page, enlarged; None without."""
    if not cut.pieces:
        return None
    fine = pictures.at(STRIP_DPI)
    strips = [fine.face_area(p.leaf, p.face, p.box.grown(_AROUND_MM)) for p in cut.pieces]
    lower = [piece.box.y - min(piece.box.y for piece in cut.pieces) for piece in cut.pieces]
    on_one_line = max(lower) <= _LINE_MM
    drops = [pixels(mm, STRIP_DPI) if mm > 0 and on_one_line else 0 for mm in lower]
    height = max(strip.height + drop for strip, drop in zip(strips, drops, strict=True))
    board = Image.new("RGB", (sum(strip.width for strip in strips), height), "white")
    x = 0
    for strip, drop in zip(strips, drops, strict=True):
        board.paste(strip, (x, drop))
        x += strip.width
    return board


def _figures(
    dates: Sequence[dt.date], texts: Sequence[LeafText], words: Words
) -> dict[dt.date, LeafText]:
    """For each day the piece of text that has its figure, all in one size.

    Of several, such as a week's number as large as the days, it is the one nearest to its name.
    """
    having = [
        (date, piece)
        for date in dates
        for piece in texts
        if words.number(date.day) in re.findall(r"\d+", piece.text)
    ]
    best: dict[dt.date, list[LeafText]] = {}
    for _, measure in sorted(having, key=lambda one: -one[1].size_mm):
        size = measure.size_mm
        alike: dict[dt.date, list[LeafText]] = defaultdict(list)
        for date, piece in having:
            if size / _SAME_SIZE <= piece.size_mm <= size * _SAME_SIZE:
                alike[date].append(piece)
        if len(alike) > len(best):
            best = alike

    def nearest(date: dt.date, pieces: Sequence[LeafText]) -> LeafText:
        named = _named(date, texts, words) if len(pieces) > 1 else []
        return min(pieces, key=lambda one: min((_apart(one, name) for name in named), default=0.0))

    return {date: nearest(date, pieces) for date, pieces in best.items()}


def _name(
    date: dt.date, figure: LeafText | None, texts: Iterable[LeafText], words: Words
) -> LeafText | None:
    """The piece that is the day's name, the nearest to its figure if there are several."""
    named = _named(date, texts, words)
    if figure is not None:
        named = [piece for piece in named if _apart(piece, figure) < math.inf]
        return min(named, key=lambda piece: _apart(piece, figure), default=None)
    return named[0] if named else None


def _named(date: dt.date, texts: Iterable[LeafText], words: Words) -> list[LeafText]:
    forms = {form.casefold() for form in words.day_name(date) if len(form) > 1}
    return [piece for piece in texts if piece.text.casefold() in forms]


def _apart(one: LeafText, other: LeafText) -> float:
    """How far two pieces are apart, mm; pieces of two pages are out of reach of each other."""
    if (one.leaf, one.face) != (other.leaf, other.face):
        return math.inf
    across = max(one.box.x - other.box.right, other.box.x - one.box.right, 0.0)
    down = max(one.box.y - other.box.bottom, other.box.y - one.box.bottom, 0.0)
    return across + 3 * down
