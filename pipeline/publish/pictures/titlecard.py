"""The title card of a set: its name, time, size and language, to be read on a thumbnail.

Colours and typefaces are those of the set's own pages, read back from its files; proportions and
tints are chosen by eye.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Sequence
from typing import NamedTuple

import numpy as np
import svgwrite
from PIL import Image

from pipeline.impose.contents import Contents, fore_edge_on_right
from pipeline.plan.words import words_for
from pipeline.proof.pictures.pictures import GAP_MM, SetPictures
from pipeline.proof.read.text import type_in
from pipeline.publish.pictures.leaves import LeafFace, lay_leaf, main_spread, size_mm
from pipeline.publish.pictures.listing import format_of, shop_words
from pipeline.publish.pictures.openbinder import Opened
from pipeline.publish.pictures.scenery import PLAIN, Scenery
from pipeline.publish.pictures.table import PAPER_GRAIN, Table, grained
from pipeline.publish.pictures.views import Size, print_on, rendered
from pipeline.text import FontBook, Style, advance
from pipeline.text.shape import lines

_Colour = tuple[int, int, int]

PLAIN_FAMILY = "Source Sans 3"
"""What is set where a file's letters are outlines, or in no face that is at hand."""

WIDE = 1000.0
"""The width of a card in the unit it is laid out in."""

_MARGIN = 70.0
_EDGE = 34.0
"""From the edges of a card to its label and its pages."""
_LINE = 12.0
"""From the label's edge to the line around its words."""
_APART = 3.4
"""How far two pages are turned apart, degrees."""
_FULL = 0.8
"""How much of the height below the label pages fill at least, or they are laid another way."""
_OVERLAP, _LOWER = 0.24, 0.16
"""By how much of its width and height a page then lies over the other, and lower."""
_SMALL, _MEDIUM = 38.0, 58.0
_WEIGHT = 600
_LARGE = (104.0, 94.0, 86.0, 80.0, 74.0, 68.0)
"""Sizes of the name, tried in turn: by a thumb 270 pixels wide, 68 is 18 pixels."""
_MOST_LINES = 3
_BETWEEN_LINES = 1.08

_A_WORD = 3
"""The fewest letters of one size that are more than an ornament."""

_GREY: _Colour = (98, 94, 88)
"""For pages without a colour."""
_COLOURED = 48
"""How saturated a pixel is that counts as coloured, of 255: fine lines are paler than their ink."""
_LEAST_COLOURED = 0.0005
"""And what part of a page such pixels must be."""


class PageLook(NamedTuple):
    """The colour of a set's pages, and the typefaces of their largest and their smallest words."""

    colour: _Colour
    heading: str
    text: str


def title_card(
    pictures: SetPictures, size: Size, book: FontBook, scenery: Scenery = PLAIN
) -> Image.Image:
    """The card of a set in its own language: a label, over its main spread and a thing."""
    faces = Opened(*main_spread(pictures)).faces
    look = look_of(pictures, faces, book)
    written, bottom = card_text(pictures.contents, look, book)
    table = _ground(pictures, faces, size, bottom, _mixed(look.colour, "white", 0.5))
    _lay_thing(table, scenery, bottom)
    _lay_label(table, bottom)
    drawing = rendered(written, size[0], pictures.contents.language, "title card", book)
    print_on(table.image, drawing, (0, 0))
    return table.image


def look_of(pictures: SetPictures, faces: Sequence[LeafFace], book: FontBook) -> PageLook:
    """What some pages of a set look like."""
    type_used: Counter[tuple[str, float]] = Counter()
    for leaf, face in faces:
        placed = pictures.contents.find(leaf, face)
        if placed is not None:
            page = pictures.page(placed.sheet, placed.side)
            letters = type_in(page, placed.placement.flat)
            type_used.update((name, round(size, 1)) for name, size in letters)
    used = sorted((size, name) for (name, size), count in type_used.items() if count >= _A_WORD)
    (_, text), (_, heading) = (used[0], used[-1]) if used else ((0.0, ""), (0.0, ""))
    seen = [pictures.at(72).face(leaf, face) for leaf, face in faces]
    return PageLook(colour_of(seen), family_of(heading, book), family_of(text, book))


def family_of(name: str, book: FontBook) -> str:
    """The family of a font by its name in a file.

    >>> family_of("SourceSans3-Roman", FontBook()), family_of("", FontBook())
    ('Source Sans 3', 'Source Sans 3')
    """
    stem = name.split("-")[0].casefold()
    called = {family.replace(" ", "").casefold(): family for family in book.families}
    return called.get(stem, PLAIN_FAMILY)


def colour_of(pages: Sequence[Image.Image]) -> _Colour:
    """The strongest shade of the hue that pages have most of; a grey for pages without any.

    >>> page = Image.new("RGB", (20, 20), "white")
    >>> page.paste((200, 60, 40), (0, 0, 20, 4))
    >>> colour_of([page]), colour_of([Image.new("RGB", (20, 20), "white")])
    ((200, 60, 40), (98, 94, 88))
    """
    rgb = np.concatenate([np.asarray(page.convert("RGB")).reshape(-1, 3) for page in pages])
    hsv = np.concatenate([np.asarray(page.convert("HSV")).reshape(-1, 3) for page in pages])
    vivid = hsv[:, 1] >= _COLOURED
    if vivid.mean() < _LEAST_COLOURED:
        return _GREY
    rgb, hsv = rgb[vivid], hsv[vivid].astype(np.int64)
    hue = int(np.bincount(hsv[:, 0] // 16, weights=hsv[:, 1]).argmax())
    near = hsv[:, 0] // 16 == hue
    strong = near & (hsv[:, 1] >= np.percentile(hsv[near, 1], 80))
    red, green, blue = (round(float(part)) for part in np.median(rgb[strong], axis=0))
    return red, green, blue


def _mixed(colour: _Colour, other: str, part: float) -> _Colour:
    """A colour with so much of white or black in it."""
    towards = 255 if other == "white" else 0
    red, green, blue = (round(level + (towards - level) * part) for level in colour)
    return red, green, blue


def _ground(
    pictures: SetPictures, faces: Sequence[LeafFace], size: Size, top: float, colour: _Colour
) -> Table:
    """The coloured ground with the pages on it, from ``top`` downwards, turned a little apart.

    Where two beside one another would leave much of it bare, the second lies lower, over the first.
    """
    widths = [size_mm(pictures, face)[0] for face in faces]
    high = max(size_mm(pictures, face)[1] for face in faces)
    tall = WIDE * size[1] / size[0] - top

    def unit_of(gap: float, lower: float) -> tuple[float, float, float]:
        """The scale for pages so far apart, mm, the room across, and the room down."""
        across, down = sum(widths) + gap * (len(faces) - 1), high + lower * (len(faces) - 1)
        return min((WIDE - 2 * _EDGE) / across, 1.65 * tall / down), across, down

    gap, lower = GAP_MM, 0.0
    unit, across, down = unit_of(gap, lower)
    if down * unit < _FULL * tall and len(faces) > 1:
        gap, lower = -_OVERLAP * min(widths), _LOWER * high
        unit, across, down = unit_of(gap, lower)
    table = Table(size, WIDE / unit)
    table.images[0] = grained(size, colour, PAPER_GRAIN, table.per_mm)
    free = (tall - down * unit) / 2
    y = (top + max(0.4 * _EDGE, free)) / unit + high / 2
    x = (table.width_mm - across) / 2
    order = sorted(range(len(faces)), key=lambda n: _lies_right(pictures, faces[n]))
    for place, number in enumerate(order):
        turned = _APART * (place - (len(order) - 1) / 2)
        middle = x + widths[number] / 2, y + place * lower
        lay_leaf(table, pictures, faces[number], middle, turned)
        x += widths[number] + gap
    return table


def _lay_thing(table: Table, scenery: Scenery, top: float) -> None:
    """Lay a thing over a lower corner, if there is one that leaves most of the pages to be seen."""
    unit = WIDE / table.width_mm
    high = table.height_mm - top / unit
    number = scenery.first_within(0.36 * table.width_mm, 1.1 * high)
    chance = scenery.chance("title-card")
    side = 0.1 if chance.random() < 0.5 else 0.9
    y = table.height_mm - 0.2 * high
    scenery.lay(table, number, (side * table.width_mm, y), 36 * chance.random() - 18)


def _lay_label(table: Table, bottom: float) -> None:
    """Lay the paper that the card is lettered on."""
    unit = WIDE / table.width_mm
    wide, high = (WIDE - 2 * _EDGE) / unit, (bottom - 1.4 * _EDGE) / unit
    paper = table.printed(Image.new("RGB", table.scale.at(wide, high), "white"))
    table.lay(paper, _EDGE / unit, _EDGE / unit)


def _lies_right(pictures: SetPictures, chosen: LeafFace) -> bool:
    return fore_edge_on_right(chosen[1], pictures.contents.binding)


def card_text(contents: Contents, look: PageLook, book: FontBook) -> tuple[bytes, float]:
    """What the card says as an SVG, and where it ends, in parts of ``WIDE``."""
    dark, strong = _mixed(look.colour, "black", 0.62), _mixed(look.colour, "black", 0.38)
    card = _Card(look, contents.language, book)
    y = _EDGE + 0.3 * _MARGIN
    if contents.period.first:
        y += _MEDIUM
        card.line(contents.period.title, WIDE / 2, y, _MEDIUM, strong)
        y += 0.3 * _MEDIUM
    size, rows = card.name_in_lines(contents.set.title)
    for row in rows:
        y += size * _BETWEEN_LINES
        card.line(row, WIDE / 2, y, size, dark, look.heading)
    y += 0.36 * size + 0.2 * _SMALL
    card.size_and_more(contents, y, strong, _mixed(look.colour, "white", 0.9))
    bottom = y + 1.5 * _SMALL + 0.5 * _MARGIN + 0.4 * _EDGE
    card.line_around(bottom, strong)
    return card.svg, bottom


class _Card:
    """The lettering of a card while it is set; all places in parts of ``WIDE``."""

    def __init__(self, look: PageLook, language: str, book: FontBook) -> None:
        self.look = look
        self.words = shop_words(language)
        self.book = book
        across = f"{WIDE:g}"
        self.drawing = svgwrite.Drawing(
            size=(f"{across}mm", f"{1.4 * WIDE:g}mm"),
            viewBox=f"0 0 {across} {1.4 * WIDE:g}",
            debug=False,
        )

    @property
    def svg(self) -> bytes:
        """The drawing as it is now."""
        return str(self.drawing.tostring()).encode()

    def style(self, size: float, family: str) -> Style:
        """How a line of a size is set."""
        return Style(
            tuple(dict.fromkeys((family, PLAIN_FAMILY))),
            size,
            weight=_WEIGHT,
            language=self.words.language,
            right_to_left=self.words.local.right_to_left,
        )

    def wide(self, text: str, size: float, family: str = "") -> float:
        """How wide a line is."""
        return advance(text, self.style(size, family or self.look.text), self.book, "title card")

    def line(
        self, text: str, middle: float, y: float, size: float, colour: _Colour, family: str = ""
    ) -> None:
        """Set a line about a point, smaller where it is wider than the card."""
        family = family or self.look.text
        size *= min(1.0, (WIDE - 2 * _MARGIN) / max(1.0, self.wide(text, size, family)))
        self.drawing.add(
            self.drawing.text(
                text,
                insert=(f"{middle:.3f}", f"{y:.3f}"),
                font_family=", ".join(f"'{one}'" for one in self.style(size, family).families),
                font_size=f"{size:.3f}",
                font_weight=_WEIGHT,
                text_anchor="middle",
                fill=_written(colour),
                direction="rtl" if self.words.local.right_to_left else "ltr",
            )
        )

    def line_around(self, bottom: float, colour: _Colour) -> None:
        """Draw the line around the label's words."""
        inset = _EDGE + _LINE
        self.drawing.add(
            self.drawing.rect(
                insert=(f"{inset:.3f}", f"{inset:.3f}"),
                size=(f"{WIDE - 2 * inset:.3f}", f"{bottom - 0.4 * _EDGE - _LINE - inset:.3f}"),
                rx="6",
                fill="none",
                stroke=_written(colour),
                stroke_width="3.2",
            )
        )

    def name_in_lines(self, name: str) -> tuple[float, list[str]]:
        """The largest size in which a name has few enough lines, and those."""
        room = WIDE - 2 * _MARGIN
        for size in _LARGE:
            rows = lines(name, self.style(size, self.look.heading), room, self.book, "title card")
            fits = all(self.wide(row, size, self.look.heading) <= room for row in rows)
            if fits and len(rows) <= (2 if size > _LARGE[-2] else _MOST_LINES):
                break
        return size, rows

    def size_and_more(
        self, contents: Contents, top: float, colour: _Colour, light: _Colour
    ) -> None:
        """Set the size in a box of its own; beside it sheets, flaps and the language."""
        size = format_of(contents).title
        spoken = words_for(contents.language).locale
        language = str(self.words.local.locale.languages.get(spoken.language, spoken.language))
        told = [self.words.count("sheets", len(contents.sheets))]
        if contents.bench.folds:
            told.append(self.words.count("flaps", contents.bench.folds))
        told.append(language[:1].upper() + language[1:])
        said = "\u2002·\u2002".join(told)
        pad, gap, high = 0.55 * _SMALL, 0.5 * _SMALL, 1.5 * _SMALL
        box = self.wide(size, _SMALL) + 2 * pad
        part = min(1.0, (WIDE - 2 * _MARGIN - box - gap) / self.wide(said, _SMALL))
        beside = self.wide(said, _SMALL) * part
        left = (WIDE - box - gap - beside) / 2
        turned = self.words.local.right_to_left
        box_left, text_left = (left + beside + gap, left) if turned else (left, left + box + gap)
        self.drawing.add(
            self.drawing.rect(
                insert=(f"{box_left:.3f}", f"{top:.3f}"),
                size=(f"{box:.3f}", f"{high:.3f}"),
                rx=f"{0.3 * _SMALL:.3f}",
                fill=_written(colour),
            )
        )
        y = top + high / 2 + 0.34 * _SMALL
        self.line(size, box_left + box / 2, y, _SMALL, light)
        self.line(said, text_left + beside / 2, y, _SMALL * part, colour)


def _written(colour: _Colour) -> str:
    return "#{:02x}{:02x}{:02x}".format(*colour)
