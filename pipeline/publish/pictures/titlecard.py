"""The title card of a set: its name, time, size and language, to be read on a thumbnail.

Colours and typefaces are those of the set's own pages, read back from its files; proportions and
tints are chosen by eye.
"""

from __future__ import annotations

import colorsys
import datetime as dt
import math
import re
from collections import Counter
from collections.abc import Sequence
from typing import NamedTuple

import numpy as np
import svgwrite
from PIL import Image

from pipeline.base.geometry import Rect
from pipeline.impose.contents import Contents, PageNote, fore_edge_on_right
from pipeline.plan.calendar import months_of
from pipeline.plan.model import Side
from pipeline.plan.words import words_for
from pipeline.proof.pictures.pictures import GAP_MM, SetPictures
from pipeline.proof.read.text import type_in
from pipeline.publish.pictures.leaves import LeafFace, lay_leaf, size_mm
from pipeline.publish.pictures.listing import facts_of, format_of, shop_words
from pipeline.publish.pictures.openbinder import Opened
from pipeline.publish.pictures.scenery import PLAIN, Scenery
from pipeline.publish.pictures.table import Ground, Table
from pipeline.publish.pictures.views import Size, print_on, rendered
from pipeline.text import FontBook, Style, advance, shape
from pipeline.text.shape import lines

_Colour = tuple[int, int, int]

PLAIN_FAMILY = "Source Sans 3"
"""What is set where a file's letters are outlines, or in no face that is at hand."""

WIDE = 1000.0
"""The width of a card in the unit it is laid out in."""

_MARGIN = 60.0
_EDGE = 34.0
"""From the edges of a card to its pages."""
_APART = 3.4
"""How far two pages are turned apart, degrees."""
_FULL = 0.8
"""How much of the height below the label pages fill at least, or they are laid another way."""
_OVERLAP, _LOWER = 0.24, 0.16
"""By how much of its width and height a page then lies over the other, and lower."""
_SMALL, _DAYS, _PERIOD = 37.0, 37.0, 150.0
_LEAST_SMALL = 34.0
"""The smallest letters: by a thumb 270 pixels wide they are 9 pixels."""
_WEIGHT = 500
_LARGE = (132.0, 118.0, 104.0, 94.0, 86.0, 80.0, 74.0, 68.0)
"""Sizes of the name, tried in turn: by a thumb 270 pixels wide, 68 is 18 pixels."""
_BELOW = (50.0, 46.0, 42.0)
"""Its sizes below a period, which is what tells listings of one set apart."""
_MOST_LINES = 3
_BETWEEN_LINES = 1.08
_CLEAR = 0.12
"""How far the ink of a line stands below that of the one above at least, of the larger one's
size."""

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
    pictures: SetPictures,
    size: Size,
    book: FontBook,
    scenery: Scenery = PLAIN,
    papers: Sequence[str] = (),
    telling: Sequence[str] = (),
    theme: str = "",
) -> Image.Image:
    """The card of a set in its own language: lettered on its ground, above its main spread and a
    thing.

    A set of several months shows a spread of each, up to three. A page of the first of the
    templates ``telling`` the set from others lies over it instead of a thing. ``papers`` are those
    that it is printed on at home; without any it is for screens. ``theme`` is what the collection
    is called. Each turn of the scenery has another ground, and ink to go with it.
    """
    faces = Opened(*pictures.main_view).faces
    seen = look_of(pictures, faces, book)
    look = seen._replace(colour=_turned(seen.colour, scenery.turn))
    written, bottom = card_text(pictures.contents, look, book, papers, theme)
    ground = Ground(_mixed(look.colour, "white", 0.57), look.colour)
    months = spreads_of_months(pictures)
    if len(months) > 1:
        table, flaps = _fanned(pictures, months, size, bottom, ground)
    else:
        table, flaps = _ground(pictures, faces, size, bottom, ground)
    if other := _telling_page(pictures, faces, telling):
        _lay_other(table, pictures, other, bottom)
    else:
        _lay_thing(table, scenery, bottom, flaps)
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


_TURNS = (0, -51, 103, -103, 154, 51, -154)
"""How far the hue of the ground of each turn is from that of the pages, degrees: sevenths."""
_LEAST_HUED, _LEAST_BRIGHT = 110, 150
"""How saturated and how bright a ground is at least, of 255: hues of greys would not be seen."""


def _turned(colour: _Colour, turn: int) -> _Colour:
    """The colour of a turn: the pages' own, then others about as strong.

    >>> _turned((74, 106, 60), 0)
    (74, 106, 60)
    """
    by = _TURNS[turn % len(_TURNS)]
    if not by:
        return colour
    hue, strong, value = colorsys.rgb_to_hsv(*(part / 255 for part in colour))
    turned = colorsys.hsv_to_rgb(
        (hue + by / 360) % 1, max(strong, _LEAST_HUED / 255), max(value, _LEAST_BRIGHT / 255)
    )
    red, green, blue = (round(255 * part) for part in turned)
    return red, green, blue


_MOST_MONTHS = 3
"""The most spreads that a card shows."""


def spreads_of_months(pictures: SetPictures) -> list[Sequence[LeafFace]]:
    """Spreads like the main one, of the period's months in turn: the first with most of its days
    in it."""
    contents = pictures.contents
    period = contents.period
    within = months_of(period.first, period.last) if period.first and period.last else ()
    first = Opened(*pictures.main_view).faces
    templates = [page.template for page in _pages(contents, first)]
    found: dict[dt.date, Sequence[LeafFace]] = {}
    for number, spread in enumerate(contents.spreads):
        faces = Opened(*spread).faces
        pages, month = _pages(contents, faces), contents.month(number)
        if [page.template for page in pages] == templates and month in within:
            found.setdefault(month, faces)
    days = list(found)
    step = max(1, round(len(days) / _MOST_MONTHS))
    return [found[day] for day in days[::step][:_MOST_MONTHS]]


def _fanned(
    pictures: SetPictures,
    spreads: Sequence[Sequence[LeafFace]],
    size: Size,
    top: float,
    ground: Ground,
) -> tuple[Table, list[Rect]]:
    """The coloured ground with spreads fanned out on it, the head of each to be seen."""
    widths = [sum(size_mm(pictures, face)[0] for face in faces) + GAP_MM for faces in spreads]
    high = max(size_mm(pictures, face)[1] for faces in spreads for face in faces)
    tall = WIDE * size[1] / size[0] - top
    many = len(spreads)
    unit = (WIDE - 2 * _EDGE) / (max(widths) * (1 + _ASIDE * (many - 1)))
    down = max(_LEAST_DOWN * high, (1.1 * tall / unit - high) / (many - 1))
    down = min(down, 0.62 * high)
    table = Table(size, WIDE / unit, ground=ground)
    free = max(0.0, tall / unit - high - down * (many - 1)) / 2
    for number in range(many):
        place = number - (many - 1) / 2
        x = table.width_mm / 2 + _ASIDE * max(widths) * place
        y = (top + 0.6 * _EDGE) / unit + free + high / 2 + down * number
        flaps = _lay_spread(table, pictures, spreads[number], (x, y), _FAN * place, widths[number])
    return table, flaps


_ASIDE, _LEAST_DOWN, _FAN = 0.1, 0.2, 3.0
"""How far a spread lies beside another, of its width, and at least below it, of its height, and
how far it is turned from it, degrees."""


def _lay_spread(
    table: Table,
    pictures: SetPictures,
    faces: Sequence[LeafFace],
    middle: tuple[float, float],
    turned: float,
    wide: float,
) -> list[Rect]:
    """Lay the pages of a spread side by side, turned together about their middle; gives where
    their flaps lie."""
    flaps = []
    cos, sin = math.cos(math.radians(turned)), math.sin(math.radians(turned))
    x = -wide / 2
    for chosen in sorted(faces, key=lambda one: _lies_right(pictures, one)):
        page = size_mm(pictures, chosen)[0]
        away = x + page / 2
        centre = middle[0] + away * cos, middle[1] + away * sin
        lay_leaf(table, pictures, chosen, centre, turned)
        flaps += _flap_at(pictures, chosen, centre)
        x += page + GAP_MM
    return flaps


def _flap_at(pictures: SetPictures, chosen: LeafFace, middle: tuple[float, float]) -> list[Rect]:
    """Where the flap of a page lies whose middle is at a point, mm; nowhere if it has none."""
    if not pictures.folds(*chosen):
        return []
    wide, high = size_mm(pictures, chosen)
    flap = pictures.contents.leaves[chosen[0]].flap_mm
    left = middle[0] - wide / 2
    x = left + wide - flap if _lies_right(pictures, chosen) else left
    return [Rect(x, middle[1] - high / 2, flap, high)]


def _pages(contents: Contents, faces: Sequence[LeafFace]) -> list[PageNote]:
    pages = (contents.leaves[leaf].page(face) for leaf, face in faces)
    return [page for page in pages if page]


def _ground(
    pictures: SetPictures, faces: Sequence[LeafFace], size: Size, top: float, ground: Ground
) -> tuple[Table, list[Rect]]:
    """The coloured ground with the pages on it, from ``top`` downwards, turned a little apart, and
    where their flaps lie, mm.

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
    table = Table(size, WIDE / unit, ground=ground)
    free = (tall - down * unit) / 2
    y = (top + max(0.4 * _EDGE, free)) / unit + high / 2
    x = (table.width_mm - across) / 2
    flaps: list[Rect] = []
    order = sorted(range(len(faces)), key=lambda n: _lies_right(pictures, faces[n]))
    for place, number in enumerate(order):
        turned = _APART * (place - (len(order) - 1) / 2)
        middle = x + widths[number] / 2, y + place * lower
        lay_leaf(table, pictures, faces[number], middle, turned)
        flaps += _flap_at(pictures, faces[number], middle)
        x += widths[number] + gap
    return table, flaps


def _lay_thing(table: Table, scenery: Scenery, top: float, flaps: Sequence[Rect]) -> None:
    """Lay a thing at the foot of the pages, if there is one that leaves most of them to be seen:
    over no flap."""
    unit = WIDE / table.width_mm
    high = table.height_mm - top / unit
    number = scenery.first_within(0.36 * table.width_mm, 1.1 * high)
    chance = scenery.chance("title-card")
    on_left, turned = chance.random() < 0.5, 36 * chance.random() - 18
    places = [
        ((part if on_left else 1 - part) * table.width_mm, table.height_mm - up * high, turned)
        for up in (0.14, 0.04)
        for part in ((0.1, 0.9, 0.3, 0.7, 0.5) if flaps else (0.1, 0.9))
    ]
    scenery.lay_free(table, number, places, flaps)


def _telling_page(
    pictures: SetPictures, shown: Sequence[LeafFace], telling: Sequence[str]
) -> LeafFace | None:
    """The page of the first template that tells the set from others and is not shown yet; none
    of what it opens and closes with."""
    leaves = pictures.contents.leaves
    inner = [(leaf, face) for leaf in range(len(leaves)) for face in Side][1:-1]
    of = {page.template: (n, face) for n, face in inner if (page := leaves[n].page(face))}
    seen = {page.template for page in _pages(pictures.contents, shown)}
    return next((of[name] for name in telling if name in of and name not in seen), None)


def _lay_other(table: Table, pictures: SetPictures, chosen: LeafFace, top: float) -> None:
    """Lay a further page over the foot of the spread, its head to be seen."""
    unit = WIDE / table.width_mm
    wide, high = size_mm(pictures, chosen)
    free = table.height_mm - top / unit
    middle = 0.53 * table.width_mm + 0.2 * wide, top / unit + 0.46 * free + high / 2
    lay_leaf(table, pictures, chosen, middle, 2 * _APART)


def _lies_right(pictures: SetPictures, chosen: LeafFace) -> bool:
    return fore_edge_on_right(chosen[1], pictures.contents.binding)


def card_text(
    contents: Contents,
    look: PageLook,
    book: FontBook,
    papers: Sequence[str] = (),
    theme: str = "",
) -> tuple[bytes, float]:
    """What the card says as an SVG, and where it ends, in parts of ``WIDE``.

    It begins with the collection's name, unless the set's own says it, and its days, and ends with
    what the set is. The period is its largest line, or the name where there is none.
    """
    dark, soft = _mixed(look.colour, "black", 0.66), _mixed(look.colour, "black", 0.52)
    card = _Card(look, contents.language, book)
    dated = contents.period.first is not None
    above = [theme] if theme and theme.casefold() not in contents.set.title.casefold() else []
    if days := facts_of(contents).days:
        above.append(words_for(contents.language).interval(days[0], days[-1], "yMMMd"))
    y = 0.32 * _MARGIN
    if above:
        y += card.line(_BESIDE.join(above), y, _DAYS, soft)
    if dated:
        y += card.line(contents.period.title, y, _PERIOD, dark, look.heading)
    size, rows = card.name_in_lines(contents.set.title, _BELOW if dated else _LARGE)
    for row in rows:
        y += card.line(row, y, size, soft if dated else dark, look.heading)
    y += 0.55 * _SMALL
    for row in card.what_it_is(contents, papers):
        y += card.line(row, y, _SMALL, soft)
    return card.svg, y + 0.3 * _MARGIN


class _Card:
    """The lettering of a card while it is set; all places in parts of ``WIDE``."""

    def __init__(self, look: PageLook, language: str, book: FontBook) -> None:
        self.look = look
        self.words = shop_words(language)
        self.book = book
        self.above = 0.0, 0.0
        """The size of the line above, and where its ink ends."""
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

    def line(self, text: str, top: float, size: float, colour: _Colour, family: str = "") -> float:
        """Set a line below a place, from the margin where reading begins, smaller where it is
        wider than the card, lower where it would touch the one above; gives how high it stands."""
        family = family or self.look.text
        size *= min(1.0, (WIDE - 2 * _MARGIN) / max(1.0, self.wide(text, size, family)))
        runs = shape(text, self.style(size, family), self.book, "title card")
        inks = [run.ink(run.glyphs) for run in runs]
        above, ends = self.above
        rises = min((ink.y for ink in inks), default=0.0)
        base = max(top + size, ends + _CLEAR * max(above, size) - rises)
        self.above = size, base + max((ink.bottom for ink in inks), default=0.0)
        turned = self.words.local.right_to_left
        self.drawing.add(
            self.drawing.text(
                text,
                insert=(f"{WIDE - _MARGIN if turned else _MARGIN:.3f}", f"{base:.3f}"),
                font_family=", ".join(f"'{one}'" for one in self.style(size, family).families),
                font_size=f"{size:.3f}",
                font_weight=_WEIGHT,
                text_anchor="start",
                fill=_written(colour),
                direction="rtl" if turned else "ltr",
            )
        )
        return base - top + (_BETWEEN_LINES - 1) * size

    def name_in_lines(self, name: str, sizes: Sequence[float]) -> tuple[float, list[str]]:
        """The largest of some sizes in which a name has few enough lines, and those: broken after
        its commas, where it has any and its parts have room."""
        room = WIDE - 2 * _MARGIN
        parts = _parts(name)
        for size in sizes:
            rows = [name]
            if self.wide(name, size, self.look.heading) > room:
                style = self.style(size, self.look.heading)
                rows = [r for p in parts for r in lines(p, style, room, self.book, "title card")]
            fits = all(self.wide(row, size, self.look.heading) <= room for row in rows)
            if fits and len(rows) <= (len(parts) if size > sizes[-2] else _MOST_LINES):
                break
        return size, rows

    def what_it_is(self, contents: Contents, papers: Sequence[str]) -> list[str]:
        """What one buys and in which size, the papers it is printed on, and the language: in one
        line, or in two where letters would be too small."""
        spoken = words_for(contents.language).locale
        language = str(self.words.local.locale.languages.get(spoken.language, spoken.language))
        language = language[:1].upper() + language[1:]
        key = "title" if papers else "title-screen"
        what = self.words.say("listing", key, size=format_of(contents).title)
        more = [self.words.local.listed(papers), language] if papers else [language]
        row, rest = (_BESIDE.join(parts) for parts in ([what, *more], more))
        return [row] if self.wide(row, _LEAST_SMALL) <= WIDE - 2 * _MARGIN else [what, rest]


_BESIDE = "\u2002·\u2002"
"""Between the parts of a line."""


def _parts(name: str) -> list[str]:
    """A name in the parts between its commas, each with its comma.

    >>> _parts("Week on two flaps, with list and notes")
    ['Week on two flaps,', 'with list and notes']
    """
    return [part.strip() for part in re.split(r"(?<=[,，、،;])", name) if part.strip()]


def _written(colour: _Colour) -> str:
    return "#{:02x}{:02x}{:02x}".format(*colour)
