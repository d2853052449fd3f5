"""The shop pictures of a set, one function a picture: what lies where on the table."""

from __future__ import annotations

import datetime as dt
import math
import random
from collections.abc import Mapping, Sequence
from dataclasses import replace
from functools import lru_cache
from itertools import product

import svgwrite
from PIL import Image, ImageChops, ImageDraw

from pipeline.base.geometry import MM_PER_INCH, Rect
from pipeline.draw import draw
from pipeline.impose.contents import fore_edge_on_right, other_face
from pipeline.impose.margins import BAR_MM
from pipeline.impose.sheet import SheetSide
from pipeline.plan.model import Binding, Side
from pipeline.proof.pictures.pictures import GAP_MM, SetPictures
from pipeline.proof.read.objects import painted
from pipeline.proof.read.raster import opened, page_picture, page_size_mm
from pipeline.publish.pictures.leaves import LeafFace, lay_leaf, size_mm, worth_showing
from pipeline.publish.pictures.listing import ShopWords, format_of
from pipeline.publish.pictures.openbinder import COVER_MM, OPEN, OpenBinder, Opened
from pipeline.publish.pictures.scenery import PLAIN, Place, Scenery, real_size
from pipeline.publish.pictures.table import THING, Table, round_cornered
from pipeline.testsheets.pen import CARD_MM, CARD_RADIUS_MM
from pipeline.text import FontBook
from pipeline.text.fonts import Faces

Size = tuple[int, int]
"""Width and height of a picture, pixels."""

# Colours and proportions of the picture are chosen by eye.
_CARD_COLOUR = (202, 212, 196)
_CHIP_COLOUR = (222, 206, 164)
_INK = "#5c564c"
_GAP = 0.14
"""Between two things, of the next page's width."""
_OVER = 0.2
"""How much of itself a page lays over the one before where they overlap."""
_LETTERS = 0.0175
"""The size of the letters, of the picture's width."""
_CHIP_MM = (12.0, 9.5)
"""Width and height of a bank card's contacts and the plate around them (from memory)."""
_CHIP_AT_MM = (9.5, 18.5)
"""From the card's left and top edges: by ISO/IEC 7816-2 the contacts begin at about 10.3 and
19.2 mm (from memory), and the plate reaches a little past them."""
_CHIP_LINE = (186, 168, 124)

_STAND_IN: Mapping[str, Sequence[str]] = {
    "Source Sans 3": ("Noto Sans Arabic 105%", "Noto Sans Devanagari", "Noto Sans JP 90%"),
    "any": ("Source Sans 3",),
}


def spread(
    pictures: SetPictures, size: Size, degrees: float, scenery: Scenery = PLAIN
) -> Image.Image:
    """The set's main spread in its rings, its flaps at an angle; other leaves behind it."""
    table, binder = spread_table(pictures, size, degrees > 90, scenery)
    for flap in binder.lay():
        binder.fold(flap, degrees)
    chance = scenery.chance("pen")
    kept = _in_sight(pictures, binder, degrees > 90)
    _lay_below(table, scenery, chance.random() < 0.5, 80 * chance.random() - 40, kept)
    scenery.lay_pen(
        table,
        [
            (page.x + across * page.width, page.y + down * page.height, turned)
            for page in map(binder.page, Side)
            for across in (0.36, 0.5, 0.64, 0.8, 0.88)
            for down in (0.5, 0.66, 0.8, 0.93)
            for turned in (
                14 + 14 * chance.random(),
                40 + 25 * chance.random(),
                72 + 14 * chance.random(),
            )
        ],
        kept,
    )
    return table.image


def _in_sight(pictures: SetPictures, binder: OpenBinder, are_flaps_open: bool) -> list[Rect]:
    """What nothing is to lie on, mm of the table: flaps, open or shut, and what is written."""
    contents, kept = pictures.contents, []
    for leaf, face in binder.opened.faces:
        page, trim = binder.page(face), contents.shape(leaf, face).trim
        lines = [
            line.moved(page.x - trim.x, page.y - trim.y) for line in pictures.by_hand(leaf, face)
        ]
        kept += [line for line in lines if are_flaps_open or line.overlaps(page)]
        if pictures.folds(leaf, face):
            flap = contents.leaves[leaf].flap_mm
            edge = page.right if fore_edge_on_right(face, contents.binding) else page.x - flap
            inwards = 0.0 if are_flaps_open else flap if edge < page.x else -flap
            kept.append(Rect(edge + inwards, page.y, flap, page.height))
    return kept


def spread_table(
    pictures: SetPictures, size: Size, roomy: bool, scenery: Scenery = PLAIN
) -> tuple[Table, OpenBinder]:
    """A table and the binder to be laid on it; ``roomy`` leaves room for flaps to open."""
    contents = pictures.contents
    opened = Opened(*pictures.main_view)
    half = GAP_MM / 2 + contents.binder.width_mm + COVER_MM
    left = right = half
    for leaf, face in opened.faces if roomy else ():
        if pictures.folds(leaf, face):
            reach = half - COVER_MM + contents.leaves[leaf].flap_mm
            if fore_edge_on_right(face, contents.binding):
                right = max(right, reach)
            else:
                left = max(left, reach)
    high = contents.binder.height_mm + 2 * COVER_MM
    width = max((left + right) / 0.88, high / 0.58 * size[0] / size[1])
    table = scenery.table(size, width)
    top = min((table.height_mm - high) * 0.80, table.height_mm * 0.885 - high)
    if not _others(table, pictures, opened, top, scenery):
        top = (table.height_mm - high) / 2
    rings_x = (width + left - right) / 2
    return table, OpenBinder(table, pictures, opened, rings_x, top + high / 2)


def _others(
    table: Table, pictures: SetPictures, opened: Opened, cover_top: float, scenery: Scenery
) -> bool:
    """Two more leaves of the set, half under the binder: templates that do not lie open.

    A thing may lie in the place of one of them. Gives whether there are any, and room for them.
    """
    leaves, height = pictures.contents.leaves, pictures.contents.binder.height_mm
    seen = {_template(pictures, (leaf, face)) for leaf, face in opened.faces}
    others: list[LeafFace] = []
    for chosen in worth_showing(pictures, 2 * len(leaves)):
        template = _template(pictures, chosen)
        if template not in seen and not pictures.folds(*chosen):
            seen.add(template)
            others.append(chosen)
    out = min(0.80 * height, cover_top - 0.05 * table.height_mm)
    if out < 0.15 * height or not others:
        return False
    binding, chance = pictures.contents.binding, scenery.chance("others")
    # What is a left-hand page lies on the left.
    left, right = (
        [one for one in others if fore_edge_on_right(one[1], binding) is side]
        for side in (False, True)
    )
    way = _ABOVE[scenery.arrangement % len(_ABOVE)]
    if len(way) == 1:
        faces = (right or left)[:1]
    else:
        faces = [*(left or right[1:])[:1], *(right[:1] or left[1:2])]
    for chosen, (place, part, turned) in zip(faces, way, strict=False):
        angle = turned + 3 * chance.random() - 1.5
        middle = table.width_mm * place, cover_top - out * part + height / 2
        lay_leaf(table, pictures, chosen, middle, angle)
    if scenery.props:
        _lay_beside(table, scenery, cover_top, chance.random() < 0.5)
    return True


_ABOVE = (
    ((0.31, 0.92, -4.5), (0.70, 1.0, 5.0)),
    ((0.36, 0.98, 3.0),),
    ((0.60, 0.94, -7.0), (0.74, 1.0, 6.0)),
    ((0.66, 1.0, -3.5),),
    ((0.24, 1.0, -8.0), (0.42, 0.92, 4.0)),
)
"""How pages lie half under a binder, one way an arrangement: where across, how far out of those
that are furthest out, and how far turned, degrees."""


def _two_things(scenery: Scenery) -> tuple[int, int]:
    """The numbers of what lies above a binder and of what lies below it: not above, if it is long,
    where pages lie half out."""
    return (1, 0) if _is_long(scenery, 0) else (0, 1)


def _is_long(scenery: Scenery, number: int) -> bool:
    if number >= len(scenery.props):
        return False
    wide, high = real_size(scenery.props[number])
    return high > _LONG * wide


_LONG = 1.8
"""A thing so many times as high as wide, or more, is a long one."""


def _lay_beside(table: Table, scenery: Scenery, cover_top: float, on_left: bool) -> None:
    """Lay a thing above the binder, in one of the upper corners, where it hides least."""
    turned = 8 + 14 * scenery.chance("beside").random()
    # It reaches in from outside, so that it hides no heading.
    x = 0.02 * table.width_mm
    sides = ((x, -turned), (table.width_mm - x, turned))
    places = [
        (middle, down * cover_top, turn)
        for middle, turn in (sides if on_left else reversed(sides))
        for down in (0.47, 0.3, 0.7)
    ]
    scenery.lay_free(table, _two_things(scenery)[0], places)


def _lay_below(
    table: Table, scenery: Scenery, on_left: bool, turned: float, kept: Sequence[Rect]
) -> None:
    """Lay a thing in one of the lower corners, a long one along the picture's lower edge."""
    if not scenery.props:
        return
    number = _two_things(scenery)[1]
    if _is_long(scenery, number):
        x, y, turned = 0.14 * table.width_mm, 0.985 * table.height_mm, 84 + 0.2 * turned
    else:
        x, y = 0.01 * table.width_mm, 0.985 * table.height_mm
    sides = ((x, turned), (table.width_mm - x, -turned))
    places = [(middle, y, turn) for middle, turn in (sides if on_left else reversed(sides))]
    scenery.lay_free(table, number, places, kept)


def are_flaps_drawn_outside(pictures: SetPictures) -> bool:
    """Whether all flaps of the main spread have something printed that is seen when they are shut:
    an outside of their own, or the flap of the page behind."""
    faces = Opened(*pictures.main_view).faces
    leaves = pictures.contents.leaves
    behind = [leaves[n].page(other_face(face)) for n, face in faces if pictures.folds(n, face)]
    return all(page is not None and (page.flap_back or page.flap_mm) for page in behind)


def _template(pictures: SetPictures, chosen: LeafFace) -> str | None:
    page = pictures.contents.leaves[chosen[0]].page(chosen[1])
    return None if page is None else page.template


def fan(pictures: SetPictures, size: Size, scenery: Scenery = PLAIN) -> Image.Image:
    """Pages of the set fanned out like cards, in a row or in two, as it is arranged: each template
    once, the first page on top, all of them in the picture, as large as they go with their heads
    to be seen."""
    many = len({_template(pictures, chosen) for chosen in worth_showing(pictures, _FANNED)})
    chosen = worth_showing(pictures, max(_FEWEST, many))
    faces = chosen[1:] + chosen[:1]
    sizes_mm = [size_mm(pictures, face) for face in faces]
    # The side where reading begins is the one that shows of every page.
    side = 1 if pictures.contents.binding is Binding.LEFT else -1
    way = (_like_cards, _in_a_row, _in_two_rows)[scenery.arrangement % 3]
    shape = size[1] / size[0]
    places = way(sizes_mm, side, shape, scenery.chance("fanned"))
    span = Rect.union(_around(one, place) for one, place in zip(sizes_mm, places, strict=True))
    width = max(span.width / 0.93, span.height / 0.86 / shape)
    table = scenery.table(size, width)
    left = (width - span.width) / 2 - span.x
    top = (table.height_mm - span.height) / 2 - span.y
    for face, (x, y, angle) in zip(faces, places, strict=True):
        lay_leaf(table, pictures, face, (left + x, top + y), angle)
    chance = scenery.chance("fan")
    x, first = (0.1 if chance.random() < 0.5 else 0.9) * width, 60 * chance.random() - 30
    low = [(place, 0.9 * table.height_mm, first) for place in (x, width - x)]
    scenery.lay_free(table, 2, low)
    second = 50 * chance.random() - 25
    head = [(place, 0.08 * table.height_mm, second) for place in (width - x, x)]
    scenery.lay_free(table, 1, head)
    scenery.lay_free(table, 0, [(place, down, -second) for place, down, _ in head])
    turns = -12 + 24 * chance.random(), 168 + 24 * chance.random()
    feet = product((0.4, 0.5, 0.6), (0.84, 0.9), turns)
    foot = [(x * width, y * table.height_mm, turned) for x, y, turned in feet]
    scenery.lay_pen(table, foot)
    return table.image


_Sizes = Sequence[tuple[float, float]]


def _like_cards(sizes_mm: _Sizes, side: int, shape: float, chance: random.Random) -> list[Place]:
    """Turned about a point below them, in the way that shows them largest."""
    wide, high = sizes_mm[-1]

    def fanned(turn: float, part: float) -> list[Place]:
        angles = [math.radians(one) for one in _angles(len(sizes_mm), side * turn)]
        away = part * high
        return [(away * math.sin(a), away * (1 - math.cos(a)), math.degrees(a)) for a in angles]

    def worth(turn: float, part: float) -> tuple[bool, float]:
        span = Rect.union(map(_around, sizes_mm, fanned(turn, part)))
        is_covered = (part + 0.5) * high * math.radians(turn) < _HEAD * wide
        return is_covered, max(span.width / 0.93, span.height / 0.86 / shape)

    ways = [
        (turn, part)
        for turn, part in product(range(7, 21), (0.6, 0.8, 1.0, 1.2, 1.5, 1.9))
        if turn * (len(sizes_mm) - 1) <= 2 * _MOST_TURNED
    ]
    return fanned(*min(ways, key=lambda way: worth(*way)))


def _in_a_row(sizes_mm: _Sizes, side: int, shape: float, chance: random.Random) -> list[Place]:
    """Each a step further and lower than the one before it, none quite straight."""
    wide, high = sizes_mm[-1]
    across, down = side * _HEAD * wide, (0.13 if shape < _TALL else 0.24) * high
    return [
        (across * number, down * number, 4 * chance.random() - 2) for number in range(len(sizes_mm))
    ]


def _in_two_rows(sizes_mm: _Sizes, side: int, shape: float, chance: random.Random) -> list[Place]:
    """Loosely beside one another in two rows, one page over the next."""
    wide, high = sizes_mm[-1]
    columns = -(-len(sizes_mm) // 2)
    places = []
    for number in range(len(sizes_mm)):
        row, column = divmod(number, columns)
        x = side * (column + 0.22 * row) * 0.84 * wide
        turned = 9 * chance.random() - 4.5
        places.append((x, (0.66 * row + 0.05 * (column % 2)) * high, turned))
    return places


def _around(size: tuple[float, float], place: Place) -> Rect:
    """The room that a page of a size takes at a place, mm."""
    (wide, high), (x, y, angle) = size, place
    sin, cos = math.sin(math.radians(angle)), math.cos(math.radians(angle))
    corners = product((-wide / 2, wide / 2), (-high / 2, high / 2))
    return Rect.around([(x + a * cos - b * sin, y + a * sin + b * cos) for a, b in corners])


_FANNED, _FEWEST = 6, 4
"""The most pages of a fan, and the fewest where a set has them."""
_HEAD = 0.5
"""How much of a page's head shows at least beside the next, of its width."""
_MOST_TURNED = 38
"""How far the ends of a fan are turned at most, degrees."""
_TALL = 1.1
"""A picture so many times as high as wide, or more, is a tall one."""


def _angles(count: int, turn: float) -> list[float]:
    return [(number - (count - 1) / 2) * turn for number in range(count)]


_FLAP_ACROSS_MM, _ASIDE_MM, _BELOW_MM = 122.0, 9.0, -7.0
"""What a close-up of a flap shows across; how much of the table is seen beside it, and how far the
page's foot is from the edge."""


def close_up(
    pictures: SetPictures, size: Size, templates: Sequence[str] = (), scenery: Scenery = PLAIN
) -> Image.Image:
    """The head of a page beside the rings at reading size, or of one with a flap the foot of that.

    It is the first of ``templates`` that the set has, of dated ones the page in the middle of the
    set, so that a month does not show what the quarter shows, but of pages with flaps the first,
    whose flap is written on; else the recto of its main spread.
    The page is seen from the rings to its fore edge.
    """
    contents = pictures.contents
    opened, face = _page_of(pictures, templates, scenery.arrangement)
    width = contents.binder.width_mm
    across, away = 1.13 * width, 0.075
    right = fore_edge_on_right(face, contents.binding)
    leaf, high = {side: n for n, side in opened.faces}[face], contents.binder.height_mm
    flap = contents.leaves[leaf].flap_mm if pictures.folds(leaf, face) else 0.0
    if flap:
        opened = Opened(None, leaf) if face is Side.RECTO else Opened(leaf, None)
        across = _FLAP_ACROSS_MM
        # The flap whole, and as much of its page as there is room for.
        away = 1 - (flap + _ASIDE_MM + width + GAP_MM / 2) / across
    table = scenery.table(size, across)
    rings = (away if right else 1 - away) * across
    middle = table.height_mm + _BELOW_MM - high / 2 if flap else high / 2 - 6.0
    binder = OpenBinder(table, pictures, opened, rings, middle)
    for each in binder.lay():
        binder.fold(each, OPEN)
    chance = scenery.chance("close-up")
    turn = 20 + 25 * chance.random()
    places = [(x * across, y * table.height_mm) for x in (0.72, 0.84, 0.96) for y in (0.8, 0.9, 1)]
    beside = [(x, y, turned) for x, y in places for turned in (turn, turn + 14)]
    if flap:
        inner = 0.2 if right else 0.8
        places = list(product((inner - 0.2, inner - 0.1, inner), (0.2, 0.4, 0.6)))
        beside = [
            (x * across, y * table.height_mm, t) for x, y in places for t in (turn, turn + 40)
        ]
    scenery.lay_pen(table, beside, _in_sight(pictures, binder, bool(flap)))
    return table.image


_CLOSE_UPS = 3
"""The most close-ups of a set."""


def close_ups(
    pictures: SetPictures, templates: Sequence[str], scenery: Scenery = PLAIN
) -> list[str]:
    """The templates that close-ups show, of those given: the first that the set has, more that it
    neither opens nor closes with, and one with a flap, if any has one."""
    leaves = pictures.contents.leaves
    faces = [(leaf, face) for leaf in range(len(leaves)) for face in Side]
    inner = {_template(pictures, chosen) for chosen in faces[1:-1]}
    of_set = {_template(pictures, chosen) for chosen in faces}
    having = [name for name in dict.fromkeys(templates) if name in of_set]
    flaps = [
        name
        for chosen in Opened(*pictures.main_view).faces
        if pictures.folds(*chosen) and (name := _template(pictures, chosen)) is not None
    ]
    plain = [name for name in having[1:] if name in inner and name not in flaps]
    if not having or not flaps:
        return (having[:1] + plain)[:_CLOSE_UPS]
    flap = having[0] if having[0] in flaps else flaps[scenery.arrangement % len(flaps)]
    return list(dict.fromkeys([having[0], flap, *plain]))[:_CLOSE_UPS]


def _page_of(pictures: SetPictures, templates: Sequence[str], turn: int = 0) -> tuple[Opened, Side]:
    """What lies open where the page of a close-up is seen, and on which face it is."""
    leaves = pictures.contents.leaves
    main = Opened(*pictures.main_view)
    faces = [(leaf, face) for leaf in range(len(leaves)) for face in Side]
    for template in templates:
        having = [chosen for chosen in faces if _template(pictures, chosen) == template]
        having.sort(key=lambda chosen: chosen not in main.faces)
        if not having:
            continue
        dated = [chosen for chosen in sorted(having) if _dates(pictures, chosen)]
        leaf, face = dated[(len(dated) // 2 + turn) % len(dated)] if dated else having[0]
        if dated and pictures.folds(leaf, face):
            leaf, face = dated[0]
        if face is Side.RECTO:
            return Opened(leaf - 1 if leaf else None, leaf), face
        return Opened(leaf, leaf + 1 if leaf + 1 < len(leaves) else None), face
    return main, Side.RECTO


def _dates(pictures: SetPictures, chosen: LeafFace) -> tuple[dt.date, ...]:
    page = pictures.contents.leaves[chosen[0]].page(chosen[1])
    return page.dates if page else ()


def sheet(pictures: SetPictures, size: Size, scenery: Scenery = PLAIN) -> Image.Image:
    """A sheet as it leaves the printer, with its marks: one side, and the other behind it, and a
    ruler along the bar of 100 mm."""
    contents = pictures.contents
    index, upper = _best_sheet(pictures)
    note = contents.sheets[index]
    shape = size[1] / size[0]
    aside = (0.34 if shape < _TALL else 0.16) * note.width_mm
    width = max((note.width_mm + aside) / 0.86, note.height_mm / 0.86 / shape)
    table = scenery.table(size, width)
    at = pictures.at(table.dpi)
    on_right = scenery.arrangement % 2 == 0
    left = (table.width_mm - note.width_mm - aside) / 2
    behind = left + aside if on_right else left
    left += 0.0 if on_right else aside
    top = (table.height_mm - note.height_mm) / 2
    turned = (1 if on_right else -1) * (2.5 + 5 * scenery.chance("sheet").random())
    front, back = at.side(index, upper), at.side(index, 1 if upper == 2 else 2)
    table.lay(table.printed(back), behind, top, turned=turned)
    table.lay(table.printed(front), left, top)
    if bar := _bar(pictures, index, upper):
        _lay_ruler(table, bar.moved(left, top), Rect(left, top, note.width_mm, note.height_mm))
    return table.image


def _bar(pictures: SetPictures, sheet: int, side: SheetSide) -> Rect | None:
    """Where the bar of 100 mm is printed on a side, mm from its top left."""
    lines = (item.box for item in painted(pictures.page(sheet, side)) if item.kind == "path")
    alike = (box for box in lines if abs(max(box.width, box.height) - BAR_MM) < 0.5)
    return next((box for box in alike if min(box.width, box.height) < 0.5), None)


_RULER_MM = (158.0, 22.0)
"""Length and width of a ruler of 150 mm."""
_BEFORE_0_MM = 4.0
_FROM_BAR_MM = 1.3
"""How far its edge is from the bar: just clear of its ticks."""


def _lay_ruler(table: Table, bar: Rect, sheet: Rect) -> None:
    """Lay a ruler along a bar, its 0 at an end of it, on the side towards the sheet's nearer edge:
    there it hides no page."""
    long, wide = _RULER_MM
    middle, from_0 = bar.x + bar.width / 2, long / 2 - _BEFORE_0_MM - BAR_MM / 2
    away = _FROM_BAR_MM + wide / 2
    if bar.width > bar.height:
        below = bar.y > sheet.y + sheet.height / 2
        turned, sign = (0, 1) if below else (180, -1)
        x, y = middle + sign * from_0, bar.y + sign * away
    else:
        on_right = middle > sheet.x + sheet.width / 2
        turned, sign = (-90, 1) if on_right else (90, -1)
        x, y = middle + sign * away, bar.y + bar.height / 2 - sign * from_0
    ruler = rendered(_ruler(), round(long * table.per_mm), "", "ruler")
    table.lay(ruler, x - long / 2, y - wide / 2, turned=turned, shadow=THING)


def _ruler() -> bytes:
    """A steel ruler of 150 mm with its scale along the upper edge, flat and outlined as things
    are."""
    long, wide = _RULER_MM
    drawing = svgwrite.Drawing(
        size=(f"{long:g}mm", f"{wide:g}mm"), viewBox=f"0 0 {long:g} {wide:g}", debug=False
    )
    steel, line, ink = "#d9dcd6", "#585d55", "#39424a"
    drawing.add(
        drawing.rect(
            (0.3, 0.3), (long - 0.6, wide - 0.6), fill=steel, stroke=line, stroke_width=0.6
        )
    )
    for number in range(151):
        x, is_ten = _BEFORE_0_MM + number, number % 10 == 0
        down = 5.4 if is_ten else 4.2 if number % 5 == 0 else 3.0
        drawing.add(
            drawing.line((x, 0.3), (x, down), stroke=ink, stroke_width=0.4 if is_ten else 0.22)
        )
        if is_ten:
            said = f"{number}" if number else "mm"
            drawing.add(
                drawing.text(
                    said,
                    (x, 9.8),
                    font_family="Source Sans 3",
                    font_size=4,
                    font_weight=600,
                    text_anchor="middle",
                    fill=ink,
                )
            )
    drawing.add(
        drawing.circle((long - 8, wide - 8), 2.4, fill="#fbf8ee", stroke=line, stroke_width=0.5)
    )
    return str(drawing.tostring()).encode()


def _best_sheet(pictures: SetPictures) -> tuple[int, SheetSide]:
    """The sheet of the main spread, or the first one printed on both sides; and its upper side."""
    contents = pictures.contents
    main = contents.find(pictures.main_view[1] or 0, Side.RECTO)
    chosen = [] if main is None else [(main.sheet, main.side)]

    def printed(sheet: int, side: SheetSide) -> bool:
        places = contents.sheets[sheet].placements(side)
        return any(contents.leaves[place.leaf].page(place.face) for place in places)

    first: SheetSide = 1
    for sheet, side in (*chosen, *((number, first) for number in range(len(contents.sheets)))):
        if printed(sheet, 1) and printed(sheet, 2):
            return sheet, side
    return chosen[0] if chosen else (0, first)


def sizes(
    sets: Sequence[SetPictures], size: Size, words: ShopWords, scenery: Scenery = PLAIN
) -> Image.Image:
    """The same page of a set in several binder sizes, its flap open, to scale with a bank card; the
    largest first, measured in mm and in inches."""
    order = sorted(sets, key=lambda each: -each.contents.binder.height_mm)
    faces = [_front(each) for each in order]
    widths = [size_mm(each, face)[0] for each, face in zip(order, faces, strict=True)]
    high = order[0].contents.binder.height_mm
    # Two pages stand apart; more overlap, or all would be small.
    gaps = [_GAP * wide if len(order) < 3 else -_OVER * wide for wide in widths[1:]]
    gaps.append(_GAP * min(widths))
    across = sum(widths) + sum(gaps) + CARD_MM[0]
    shape = size[1] / size[0]
    width = max(across / (0.86 if shape < _TALL else 0.93), high / (0.84 * shape - 6.4 * _LETTERS))
    table = scenery.table(size, width)
    floor = (table.height_mm + high - 5.6 * _LETTERS * width) / 2
    x = (width - across) / 2
    labels: list[tuple[float, Sequence[str]]] = []  # where their middle is, and their lines

    def left_of(wide: float) -> float:
        """The left edge of the next thing, from the side where reading begins."""
        return width - x - wide if words.local.right_to_left else x

    for each, face, wide, gap in zip(order, faces, widths, gaps, strict=True):
        binder = each.contents.binder
        middle = left_of(wide) + wide / 2
        lay_leaf(table, each, face, (middle, floor - binder.height_mm / 2))
        seen = wide + min(0.0, gap)
        flap = each.contents.leaves[face[0]].flap_mm if each.folds(*face) else 0.0
        page = left_of(wide)
        if not fore_edge_on_right(face[1], each.contents.binding):
            page += flap
        first = max(page, left_of(seen))
        last = min(page + wide - flap, left_of(seen) + seen)
        measures = words.in_both(binder.width_mm, binder.height_mm)
        labels.append(((first + last) / 2, (format_of(each.contents).title, *measures)))
        if flap and gap >= 0:
            aside = page - flap / 2 if page > left_of(wide) else page + wide - flap / 2
            labels.append((aside, ("", f"+\u00a0{words.length(flap)}")))
        x += wide + gap
    left = left_of(CARD_MM[0])
    _card(table, left, floor - CARD_MM[1])
    free = 0.94 * (high - CARD_MM[1])
    fitting = scenery.first_within(1.2 * CARD_MM[0], free)
    turned = 16 * scenery.chance("sizes").random() - 8
    scenery.lay(table, fitting, (left + CARD_MM[0] / 2, floor - high + 0.5 * free), turned)
    called = words.say("card", "name"), *words.in_both(*CARD_MM)
    labels.append((left + CARD_MM[0] / 2, called))
    picture = table.image
    _letter(picture, table, labels, floor + 2.6 * _LETTERS * width, words)
    return picture


def _front(pictures: SetPictures) -> LeafFace:
    """The first page of the main spread with a flap of its own, else the first of all."""
    faces = Opened(*pictures.main_view).faces
    return next((one for one in faces if pictures.folds(*one)), faces[0])


def _card(table: Table, left: float, top: float) -> None:
    """A plain bank card with its chip."""
    pixels = table.scale.at(*CARD_MM)
    card = Image.new("RGB", pixels, _CARD_COLOUR)
    chip = table.scale.at(*_CHIP_MM)
    plate = Image.new("RGB", chip, _CHIP_COLOUR)
    lines = ImageDraw.Draw(plate)
    for part in (1 / 3, 2 / 3):
        lines.line((0, part * chip[1], chip[0], part * chip[1]), fill=_CHIP_LINE)
    for part in (0.36, 0.64):
        lines.line((part * chip[0], 0, part * chip[0], chip[1]), fill=_CHIP_LINE)
    card.paste(plate, table.scale.at(*_CHIP_AT_MM), round_cornered(chip, 1.6 * table.per_mm))
    shape = round_cornered(pixels, CARD_RADIUS_MM * table.per_mm)
    table.lay(card, left, top, shape=shape)


def _letter(
    picture: Image.Image,
    table: Table,
    labels: Sequence[tuple[float, Sequence[str]]],
    baseline: float,
    words: ShopWords,
) -> None:
    """Print the labels below what they name."""
    text = _LETTERS * table.width_mm
    drawing = svgwrite.Drawing(
        size=(f"{table.width_mm:.4f}mm", f"{4.4 * text:.4f}mm"),
        viewBox=f"0 0 {table.width_mm:.4f} {4.4 * text:.4f}",
        debug=False,
    )
    for middle, rows in labels:
        for number, line in enumerate(rows):
            at, weight = (1 + 1.4 * number) * text, 400 if number else 600
            drawing.add(
                drawing.text(
                    line,
                    insert=(f"{middle:.4f}", f"{at:.4f}"),
                    font_family="Source Sans 3",
                    font_size=f"{text:.4f}",
                    font_weight=weight,
                    text_anchor="middle",
                    fill=_INK,
                    direction="rtl" if words.local.right_to_left else "ltr",
                )
            )
    svg = str(drawing.tostring()).encode()
    lettering = rendered(svg, picture.width, words.language, "size comparison")
    print_on(picture, lettering, (0, round((baseline - text) * table.per_mm)))


def lettering_book(faces: Faces | None = None) -> FontBook:
    """The faces that pictures are lettered in: a collection's own, if given, and those of
    installed packages, never the system's."""
    own = faces or Faces({}, {}, embedded=True)
    return replace(own, fallback={**_STAND_IN, **own.fallback}).book()


@lru_cache(maxsize=16)
def rendered(
    svg: bytes, width_px: int, language: str, name: str, book: FontBook | None = None
) -> Image.Image:
    """An SVG on white, drawn as pages are, ``width_px`` wide.

    Raises ``UserError`` for missing fonts or characters, naming the drawing.
    """
    with opened(draw([svg], book or lettering_book(), names=[name], language=language)) as pdf:
        page = pdf[0]
        picture = page_picture(page, width_px / page_size_mm(page)[0] * MM_PER_INCH)
    if picture.width != width_px:
        picture = picture.resize((width_px, picture.height), Image.Resampling.LANCZOS)
    return picture


def print_on(
    picture: Image.Image, drawing: Image.Image, corner: tuple[int, int], strength: float = 1.0
) -> None:
    """Print a drawing on a picture; ``strength`` runs from 0, which leaves no trace, to 1."""
    faint = Image.blend(Image.new("RGB", drawing.size, "white"), drawing, strength)
    x, y = corner
    box = (x, y, x + drawing.width, y + drawing.height)
    picture.paste(ImageChops.multiply(picture.crop(box), faint), corner)
