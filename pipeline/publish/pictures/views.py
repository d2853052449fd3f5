"""The shop pictures of a set, one function a picture: what lies where on the table."""

from __future__ import annotations

import math
from collections.abc import Sequence

from PIL import Image

from pipeline.base.geometry import Rect
from pipeline.plan.model import Binding, Side
from pipeline.proof.pictures.pictures import GAP_MM, SetPictures
from pipeline.proof.read.contents import SheetSide, fore_edge_on_right
from pipeline.publish.pictures.binder import COVER_MM, Binder, Opened
from pipeline.publish.pictures.desk import SHEET, Desk
from pipeline.publish.pictures.leaves import Face, lay_leaf, main_spread, size_mm, worth_showing

Size = tuple[int, int]
"""Width and height of a picture, pixels."""


def spread(pictures: SetPictures, size: Size, degrees: float) -> Image.Image:
    """The set's main spread in its rings, its flaps at an angle; other leaves behind it."""
    desk, binder = spread_desk(pictures, size, roomy=degrees > 90)
    for flap in binder.lay():
        binder.fold(flap, degrees)
    return desk.finished()


def spread_desk(pictures: SetPictures, size: Size, roomy: bool) -> tuple[Desk, Binder]:
    """A desk and the binder to be laid on it; ``roomy`` leaves room for flaps to open."""
    contents = pictures.contents
    opened = Opened(*main_spread(pictures))
    half = GAP_MM / 2 + contents.binder.width_mm + COVER_MM
    left = right = half
    if roomy:
        for leaf, face in ((opened.first, Side.VERSO), (opened.second, Side.RECTO)):
            if leaf is not None and pictures.folds(leaf, face):
                reach = half - COVER_MM + contents.leaves[leaf].flap_mm
                if fore_edge_on_right(face, contents.binding):
                    right = max(right, reach)
                else:
                    left = max(left, reach)
    high = contents.binder.height_mm + 2 * COVER_MM
    width = max((left + right) / 0.88, high / 0.58 * size[0] / size[1])
    desk = Desk(size, width)
    top = min((desk.height_mm - high) * 0.80, desk.height_mm * 0.885 - high)
    if not _others(desk, pictures, opened, top):
        top = (desk.height_mm - high) / 2
    rings_x = (width + left - right) / 2
    return desk, Binder(desk, pictures, opened, rings_x, top + high / 2)


def _others(desk: Desk, pictures: SetPictures, opened: Opened, cover_top: float) -> bool:
    """Two more leaves of the set, half under the binder: templates that do not lie open.

    Gives whether there are any, and room for them.
    """
    leaves, height = pictures.contents.leaves, pictures.contents.binder.height_mm
    seen = {_template(pictures, (leaf, face)) for leaf, face in opened.faces}
    others: list[Face] = []
    for chosen in worth_showing(pictures, 2 * len(leaves)):
        template = _template(pictures, chosen)
        if template not in seen and not pictures.folds(*chosen):
            seen.add(template)
            others.append(chosen)
    out = min(0.80 * height, cover_top - 0.05 * desk.height_mm)
    if out < 0.15 * height or not others:
        return False
    # What is a left-hand page lies on the left.
    right = [f for f in others if fore_edge_on_right(f[1], pictures.contents.binding)]
    left = [f for f in others if f not in right]
    pair = [(left or right[1:])[:1], right[:1] or left[1:2]]
    for faces, place, turned, lift in zip(
        pair, (0.31, 0.70), (-4.5, 5.0), (0.08, 0.0), strict=True
    ):
        for chosen in faces:
            top = cover_top - out * (1 - lift)
            lay_leaf(desk, pictures, chosen, (desk.width_mm * place, top + height / 2), turned)
    return True


def _template(pictures: SetPictures, chosen: Face) -> str | None:
    page = pictures.contents.leaves[chosen[0]].page(chosen[1])
    return None if page is None else page.template


def fan(pictures: SetPictures, size: Size) -> Image.Image:
    """Pages of the set fanned out like hands of cards, the first and the last page on top."""
    chosen = worth_showing(pictures, 10)
    half = math.ceil(len(chosen) / 2)
    hands = [chosen[1:half] + chosen[:1], chosen[half:]] if len(chosen) >= 6 else [chosen]
    high = pictures.contents.binder.height_mm
    widest = max(size_mm(pictures, face)[0] for face in chosen)
    turn, pivot = (10.0, 1.35 * high) if len(hands) > 1 else (11.0, 1.1 * high)
    spans = [_span(len(hand), turn, pivot, widest, high) for hand in hands]
    tallest = max(span.height for span in spans)
    shape = size[1] / size[0]
    least = tallest * (1 + 0.62 * (len(hands) - 1))  # hands may cover each other's lower ends
    width = max(max(span.width for span in spans) / 0.88, least / 0.88 / shape)
    desk = Desk(size, width)
    free = desk.height_mm - tallest * len(hands)
    margin = max(0.06 * desk.height_mm, free / (len(hands) + 1))
    steps = (desk.height_mm - 2 * margin - tallest) / max(1, len(hands) - 1)
    for number, (hand, span) in enumerate(zip(hands, spans, strict=True)):
        _hand(desk, pictures, hand, turn, pivot, margin + number * steps - span.y)
    return desk.finished()


def _angles(count: int, turn: float) -> list[float]:
    return [(number - (count - 1) / 2) * turn for number in range(count)]


def _span(count: int, turn: float, pivot: float, wide: float, high: float) -> Rect:
    """The room a hand takes about the middle of its straight page, mm."""
    corners = []
    for angle in _angles(count, turn):
        a = math.radians(angle)
        middle = pivot * math.sin(a), pivot * (1 - math.cos(a))
        for dx in (-wide / 2, wide / 2):
            for dy in (-high / 2, high / 2):
                corners.append(
                    (
                        middle[0] + dx * math.cos(a) - dy * math.sin(a),
                        middle[1] + dx * math.sin(a) + dy * math.cos(a),
                    )
                )
    return Rect.around(corners)


def _hand(
    desk: Desk,
    pictures: SetPictures,
    hand: Sequence[Face],
    turn: float,
    pivot: float,
    middle_y: float,
) -> None:
    # The side where reading begins is the one that shows of every page.
    side = 1 if pictures.contents.binding is Binding.LEFT else -1
    for chosen, angle in zip(hand, _angles(len(hand), side * turn), strict=True):
        a = math.radians(angle)
        middle = (
            desk.width_mm / 2 + pivot * math.sin(a),
            middle_y + pivot * (1 - math.cos(a)),
        )
        lay_leaf(desk, pictures, chosen, middle, angle, SHEET)


CLOSE_MM = 122.0
"""What a close-up shows across: on a screen the page comes out a little larger than in the hand."""


def close_up(pictures: SetPictures, size: Size, templates: Sequence[str] = ()) -> Image.Image:
    """The head of a page beside the rings, at reading size.

    It is the first of ``templates`` that the set has; else the recto of its main spread. Lines of
    a recto begin at the rings, those of a verso at the fore edge, so that is seen whole.
    """
    contents = pictures.contents
    opened, face = _page_of(pictures, templates)
    width = contents.binder.width_mm
    if face is Side.RECTO:
        across, away = min(CLOSE_MM, 0.86 * width), 0.13
    else:
        across, away = 1.13 * width, 0.075
    desk = Desk(size, across, near=True)
    right = fore_edge_on_right(face, contents.binding)
    rings = (away if right else 1 - away) * across
    binder = Binder(desk, pictures, opened, rings, contents.binder.height_mm / 2 - 6.0)
    binder.lay()
    return desk.finished()


def _page_of(pictures: SetPictures, templates: Sequence[str]) -> tuple[Opened, Side]:
    """What lies open where the page of a close-up is seen, and on which face it is."""
    leaves = pictures.contents.leaves
    main = Opened(*main_spread(pictures))
    faces = [*main.faces, *((leaf, face) for leaf in range(len(leaves)) for face in Side)]
    for template in templates:
        for chosen in faces:
            if _template(pictures, chosen) == template:
                leaf, face = chosen
                if face is Side.RECTO:
                    return Opened(leaf - 1 if leaf else None, leaf), face
                return Opened(leaf, leaf + 1 if leaf + 1 < len(leaves) else None), face
    return main, Side.RECTO


def sheet(pictures: SetPictures, size: Size) -> Image.Image:
    """A sheet as it leaves the printer, with its marks: one side, and the other behind it."""
    contents = pictures.contents
    index, upper = _best_sheet(pictures)
    note = contents.sheets[index]
    aside = 0.34 * note.width_mm
    shape = size[1] / size[0]
    width = max((note.width_mm + aside) / 0.84, note.height_mm / 0.86 / shape)
    desk = Desk(size, width)
    at = pictures.at(desk.dpi)
    left = (desk.width_mm - note.width_mm - aside) / 2
    top = (desk.height_mm - note.height_mm) / 2
    front, back = at.side(index, upper), at.side(index, 1 if upper == 2 else 2)
    desk.lay(desk.printed(back), left + aside, top, turned=5.5)
    desk.lay(desk.printed(front), left, top)
    return desk.finished()


def _best_sheet(pictures: SetPictures) -> tuple[int, SheetSide]:
    """The sheet of the main spread, or the first one printed on both sides; and its upper side."""
    contents = pictures.contents
    main = contents.find(main_spread(pictures)[1] or 0, Side.RECTO)
    chosen = [] if main is None else [(main.sheet, main.side)]

    def printed(sheet: int, side: SheetSide) -> bool:
        places = contents.sheets[sheet].placements(side)
        return any(contents.leaves[place.leaf].page(place.face) for place in places)

    first: SheetSide = 1
    for sheet, side in (*chosen, *((number, first) for number in range(len(contents.sheets)))):
        if printed(sheet, 1) and printed(sheet, 2):
            return sheet, side
    return chosen[0] if chosen else (0, first)
