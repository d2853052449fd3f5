"""What somebody has written on the pages in a picture; nothing of it is in files for buyers.

Where there is room to write is seen on the finished page: above a rule, or at the foot of a cell,
where nothing is printed; rooms on a flap, which are narrower, come after those of its page.
"""

from __future__ import annotations

import math
import random
from collections.abc import Mapping, Sequence
from types import MappingProxyType
from typing import NamedTuple

import numpy as np
import numpy.typing as npt
import pypdfium2 as pdfium
import svgwrite
from lxml import etree
from PIL import Image, ImageChops

from pipeline.base.geometry import MM_PER_INCH, Rect
from pipeline.draw import draw
from pipeline.fill.template import tree_of
from pipeline.plan.model import Side
from pipeline.proof.pictures.pictures import SetPictures
from pipeline.proof.pictures.scene import Scale
from pipeline.proof.read.raster import area_picture
from pipeline.publish.pictures.leaves import LeafFace
from pipeline.publish.pictures.openbinder import inside
from pipeline.publish.pictures.views import lettering_book
from pipeline.svg.simplify import simplify
from pipeline.text import Style, advance

_Bits = npt.NDArray[np.bool_]

# Lengths are chosen by eye, in mm.
_RULE_MM = 18.0
"""The shortest rule that is written on."""
_THICK_MM = 0.9
"""What is thicker is no rule."""
_HIGH_MM = 4.6
"""How much room a line of writing needs above its rule."""
_WIDE_MM = 13.0
"""How much of a rule must be free to be written on."""
_FLAP_RULE_MM, _FLAP_WIDE_MM = 9.0, 8.0
"""The same on flaps, whose columns are narrow."""
_SIZE_MM, _LEAST_MM = 4.7, 3.0
"""How large letters are, and how small at least where a line is too long."""
_APART_MM, _FLAP_APART_MM = 11.0, 12.5
"""How far lines of a room are apart at most: on a flap one may be every other line of 6 mm."""
_LOOK_DPI = 100.0
_INK = 236
"""What is darker, of 255, is printed."""


class FreeLine(NamedTuple):
    """Room for a line of writing: from ``x`` to ``right`` on the rule at ``y``."""

    x: float
    right: float
    y: float
    high: float

    @property
    def wide(self) -> float:
        """How long it is, mm."""
        return self.right - self.x


def free_lines(
    page: Image.Image,
    dpi: float,
    rule_mm: float = _RULE_MM,
    wide_mm: float = _WIDE_MM,
    apart_mm: float = _APART_MM,
) -> list[list[FreeLine]]:
    """Where one may write on a page, in mm from its top left: rooms of lines, in reading order.

    Lines of one room stand below one another; what stands alone is the rule of a heading. Rules
    are ``rule_mm`` long at least, ``wide_mm`` of them are free, and those of a room ``apart_mm``
    from each other at most.
    """
    ink: _Bits = np.asarray(page.convert("L")) < _INK
    per_mm = dpi / MM_PER_INCH
    rules = _rules(ink, per_mm, rule_mm)
    found = [line for row in rules for line in _above(ink, row, per_mm, wide_mm)]
    return _rooms(found, apart_mm)


def _rules(ink: _Bits, per_mm: float, rule_mm: float) -> list[tuple[int, int, int]]:
    """The rules of a page: upper edge, left and right ends, pixels."""
    long, thick = round(rule_mm * per_mm), max(2, round(_THICK_MM * per_mm))
    rules: list[tuple[int, int, int]] = []
    closed = ink | np.roll(ink, 1, axis=1) | np.roll(ink, -1, axis=1)
    for y in np.nonzero(ink.sum(axis=1) >= 0.5 * long)[0]:
        for left, right in _runs(closed[y]):
            if right - left < long:
                continue
            last = next(
                (r for r in reversed(rules) if abs(r[1] - left) < 4 and y - r[0] <= thick), None
            )
            if last is None:
                rules.append((int(y), left, right))
    return rules


def _above(ink: _Bits, rule: tuple[int, int, int], per_mm: float, wide_mm: float) -> list[FreeLine]:
    """The free places above a rule."""
    y, left, right = rule
    high = round(_HIGH_MM * per_mm)
    if y - high < 0:
        return []
    printed: _Bits = np.any(ink[y - high : y - 1, left:right], axis=0)
    lines = []
    for first, last in _runs(~printed):
        x, end = (left + first) / per_mm + 1.0, (left + last) / per_mm - 1.0
        if end - x >= wide_mm:
            lines.append(FreeLine(x, end, y / per_mm, _HIGH_MM))
    return lines


def _runs(row: _Bits) -> list[tuple[int, int]]:
    """Begin and end of each run of true pixels."""
    edges = np.flatnonzero(np.diff(np.concatenate(([0], row.astype(np.int8), [0]))))
    return [(int(a), int(b)) for a, b in zip(edges[::2], edges[1::2], strict=True)]


def _rooms(lines: list[FreeLine], apart_mm: float) -> list[list[FreeLine]]:
    rooms: list[list[FreeLine]] = []
    for line in sorted(lines, key=lambda one: one.y):
        for room in rooms:
            last = room[-1]
            step = line.y - last.y
            if abs(last.x - line.x) < 2.5 and 3.0 < step < apart_mm:
                room.append(line)
                break
        else:
            rooms.append([line])
    several = [room for room in _labelled(rooms) if len(room) > 1]
    return sorted(several, key=lambda room: (round(room[0].y / 6), room[0].x))


def _within(room: Sequence[FreeLine], trim: Rect) -> bool:
    """Whether a room is on the page itself."""
    return trim.x <= room[0].x and room[0].right <= trim.right


def _beyond(room: Sequence[FreeLine], trim: Rect) -> bool:
    """Whether it is on a flap."""
    return room[0].right <= trim.x or room[0].x >= trim.right


def _labelled(rooms: list[list[FreeLine]]) -> list[list[FreeLine]]:
    """Rooms whose lines stand after labels of several lengths and end alike, made one."""
    done: list[list[FreeLine]] = []
    parts: dict[int, list[list[FreeLine]]] = {}
    for room in rooms:
        above = next((one for one in reversed(done) if _goes_on(one[-1], room[0])), None)
        if above is None or len(room) > _FEW or any(len(p) > _FEW for p in parts[id(above)]):
            done.append(list(room))
            parts[id(done[-1])] = [room]
        else:
            above += room
            parts[id(above)].append(room)
    return [
        room
        for one in done
        for room in ([one] if len(one) >= _FEW or len(parts[id(one)]) == 1 else parts[id(one)])
    ]


_FEW = 3
"""So many lines, each after its label, are a room; longer runs need no joining."""
_LABELS_MM = 9.5
"""How unlike labels are in length at most; what stands further in is a heading."""


def _goes_on(last: FreeLine, line: FreeLine) -> bool:
    alike = abs(last.right - line.right) < 1.0 and abs(last.x - line.x) < _LABELS_MM
    return alike and 3.0 < line.y - last.y < 11.0


class Written(NamedTuple):
    """A PDF of a face's size, what is written and what is drawn each on a page of its own; the
    rectangle that each of them lies in, mm, and that of each line of writing."""

    pdf: pdfium.PdfDocument
    within: tuple[Rect, ...]
    lines: tuple[Rect, ...]


_FACE, _WEIGHT = "Kalam", 300
"""A hand of Latin and Devanagari letters."""
INK = "#2b3a78"
"""Blue, from one pen on all pages."""


class Hand:
    """Somebody who writes on pages: ``words`` are a template's rooms, each with its lines, and
    ``drawn`` is an SVG as large as the template, of what is drawn on the first page of a kind."""

    def __init__(
        self,
        words: Mapping[str, Sequence[Sequence[str]]],
        language: str,
        drawn: Mapping[str, bytes] = MappingProxyType({}),
    ) -> None:
        self.words = words
        self.drawn = drawn
        self.language = language
        self._written: dict[LeafFace, Written | None] = {}

    @property
    def has_written(self) -> bool:
        """Whether something is written on a face that was asked for by now."""
        return any(self._written.values())

    def over(self, pictures: SetPictures, leaf: int, face: Side) -> Written | None:
        """What is written on a face; ``None`` for nothing."""
        if (leaf, face) not in self._written:
            self._written[leaf, face] = self._write(pictures, leaf, face)
        return self._written[leaf, face]

    def _write(self, pictures: SetPictures, leaf: int, face: Side) -> Written | None:
        page = pictures.contents.leaves[leaf].page(face)
        rooms = self.words.get(page.template, ()) if page else ()
        later = self._comes_later(pictures, leaf, face)
        drawn = self.drawn.get(page.template) if page and not later else None
        if not drawn and not any(any(room) for room in rooms):
            return None
        shape = pictures.contents.shape(leaf, face)
        trim, flat = shape.trim, shape.flat
        bare = pictures.at(_LOOK_DPI).face(leaf, face)
        free = [room for room in free_lines(bare, _LOOK_DPI) if _within(room, trim)]
        if pictures.contents.leaves[leaf].flap_mm and not later:
            narrow = free_lines(bare, _LOOK_DPI, _FLAP_RULE_MM, _FLAP_WIDE_MM, _FLAP_APART_MM)
            free += [room for room in narrow if _beyond(room, trim)]
        if not free and not drawn:
            return None
        used = list(zip(free, rooms, strict=False))
        svg = self._drawing(used, flat.width, flat.height, leaf)
        taken = tuple(
            Rect(line.x, line.y - line.high, min(line.wide, self._long(text)), line.high)
            for lines, texts in used
            for line, text in zip(lines, texts, strict=False)
            if text
        )
        pages = {"words": svg}
        if drawn:
            root = tree_of("words", drawn)
            simplify(root, "words")
            pages["drawn"] = etree.tostring(root)
        pdf = draw([*pages.values()], lettering_book(), names=[*pages], language=self.language)
        found, whole = pdfium.PdfDocument(pdf), Rect(0, 0, flat.width, flat.height)
        inked = [
            ImageChops.invert(area_picture(one, whole, MM_PER_INCH)).getbbox() for one in found
        ]
        # A pixel is a millimetre, and the edge of a stroke may be paler than one.
        within = tuple(
            Rect.around([box[:2], box[2:]]).grown(1) if box else Rect(0, 0, 0, 0) for box in inked
        )
        return Written(found, within, (*taken, *within[1:]))

    def _long(self, text: str) -> float:
        """How long a line of writing comes out at most, with the room before it, mm."""
        style = Style((_FACE,), _SIZE_MM, weight=_WEIGHT, language=self.language)
        return 2.0 + 1.04 * advance(text, style, lettering_book(), "words")

    def _comes_later(self, pictures: SetPictures, leaf: int, face: Side) -> bool:
        """Whether an earlier leaf has the same page: nothing is on a later one's flap yet."""
        pages = [one.page(face) for one in pictures.contents.leaves[: leaf + 1]]
        return any(
            page and pages[-1] and page.template == pages[-1].template for page in pages[:-1]
        )

    def _drawing(
        self,
        rooms: Sequence[tuple[Sequence[FreeLine], Sequence[str]]],
        width: float,
        height: float,
        number: int,
    ) -> bytes:
        """The words on their lines, no two quite level."""
        chance, book = random.Random(number), lettering_book()
        drawing = svgwrite.Drawing(
            size=(f"{width:.3f}mm", f"{height:.3f}mm"),
            viewBox=f"0 0 {width:.3f} {height:.3f}",
            debug=False,
        )
        for lines, texts in rooms:
            inset = 0.6 + 1.4 * chance.random()
            for line, text in zip(lines, texts, strict=False):
                size = _SIZE_MM * (0.96 + 0.08 * chance.random())
                style = Style((_FACE,), size, weight=_WEIGHT, language=self.language)
                long = advance(text, style, book, "words") if text else 0.0
                size *= min(1.0, (line.wide - inset) / max(1.0, long))
                if not text or size < _LEAST_MM:
                    continue
                x, y = line.x + inset, line.y - 0.7 - 0.5 * chance.random()
                drawing.add(
                    drawing.text(
                        text,
                        insert=(f"{x:.3f}", f"{y:.3f}"),
                        font_family=f"'{_FACE}'",
                        font_size=f"{size:.3f}",
                        font_weight=_WEIGHT,
                        fill=INK,
                        transform=f"rotate({1.1 * (chance.random() - 0.62):.3f} {x:.3f} {y:.3f})",
                    )
                )
        return str(drawing.tostring()).encode()


class WrittenPictures(SetPictures):
    """The pictures of a set, its pages written on."""

    def __init__(self, blank: SetPictures, hand: Hand) -> None:
        super().__init__(blank.contents, blank.sides, blank.dpi, blank.finer)
        self._hand = hand
        self._blank = blank

    def at(self, dpi: float) -> WrittenPictures:
        """The same at another resolution."""
        return WrittenPictures(self._blank.at(dpi), self._hand)

    def face(self, leaf: int, face: Side) -> Image.Image:
        """One face of a leaf with what is written on it."""
        flat = self.contents.shape(leaf, face).flat
        return self._over(
            super().face(leaf, face).copy(), leaf, face, Rect(0, 0, flat.width, flat.height)
        )

    def face_area(self, leaf: int, face: Side, area: Rect) -> Image.Image:
        """A part of a face with what is written on it."""
        return self._over(super().face_area(leaf, face, area), leaf, face, area)

    def by_hand(self, leaf: int, face: Side) -> Sequence[Rect]:
        """Where lines are written on a face, in mm of its own."""
        written = self._hand.over(self._blank, leaf, face)
        return written.lines if written else ()

    def _over(self, page: Image.Image, leaf: int, face: Side, area: Rect) -> Image.Image:
        written = self._hand.over(self._blank, leaf, face)
        if written is None:
            return page
        for over, within in zip(written.pdf, written.within, strict=True):
            if not area.overlaps(within):
                continue
            part = inside(within, area)
            # In whole pixels, so that what is written lies where it does on the whole page.
            x, y = (math.floor(Scale(self.dpi).px(at)) for at in (part.x - area.x, part.y - area.y))
            corner = area.x + x * MM_PER_INCH / self.dpi, area.y + y * MM_PER_INCH / self.dpi
            far = part.right - corner[0], part.bottom - corner[1]
            ink = area_picture(over, Rect(*corner, *far), self.dpi, finer=self.finer)
            box = (x, y, min(x + ink.width, page.width), min(y + ink.height, page.height))
            seen = ImageChops.multiply(page.crop(box), ink.crop((0, 0, box[2] - x, box[3] - y)))
            page.paste(seen, box)
        return page
