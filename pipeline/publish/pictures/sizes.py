"""Binder sizes side by side to scale, with a bank card, which everybody has held."""

from __future__ import annotations

from collections.abc import Sequence
from typing import NamedTuple

import svgwrite
from PIL import Image, ImageDraw

from pipeline.proof.pictures.pictures import SetPictures
from pipeline.publish.pictures.desk import SHEET, Desk, rounded
from pipeline.publish.pictures.facts import format_of
from pipeline.publish.pictures.leaves import Face, lay_leaf, size_mm, worth_showing
from pipeline.publish.pictures.lettering import drawn, print_on
from pipeline.publish.pictures.words import ShopWords
from pipeline.testsheets.pen import CARD_MM, CARD_RADIUS_MM

# Colours and proportions of the picture are chosen by eye.
CARD = (202, 212, 196)
CHIP = (222, 206, 164)
INK = "#5c564c"
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


def sizes(sets: Sequence[SetPictures], size: tuple[int, int], words: ShopWords) -> Image.Image:
    """The same set in several binder sizes, each by its own first page; the largest first."""
    order = sorted(sets, key=lambda each: -each.contents.binder.height_mm)
    faces = [_front(each) for each in order]
    widths = [size_mm(each, face)[0] for each, face in zip(order, faces, strict=True)]
    high = order[0].contents.binder.height_mm
    # Two pages stand apart; more overlap, or all would be small.
    gaps = [_GAP * wide if len(order) < 3 else -_OVER * wide for wide in widths[1:]]
    gaps.append(_GAP * min(widths))
    across = sum(widths) + sum(gaps) + CARD_MM[0]
    width = max(across / 0.86, high / (0.84 * size[1] / size[0] - 5 * _LETTERS))
    desk = Desk(size, width)
    floor = (desk.height_mm + high - 4.2 * _LETTERS * width) / 2
    x = (width - across) / 2
    labels: list[_Label] = []

    def left_of(wide: float) -> float:
        """The left edge of the next thing, from the side where reading begins."""
        return width - x - wide if words.local.right_to_left else x

    for each, face, wide, gap in zip(order, faces, widths, gaps, strict=True):
        binder = each.contents.binder
        middle = left_of(wide) + wide / 2
        lay_leaf(desk, each, face, (middle, floor - binder.height_mm / 2))
        seen = wide + min(0.0, gap)
        measures = words.size(binder.width_mm, binder.height_mm)
        labels.append(_Label(left_of(seen) + seen / 2, format_of(each.contents).title, measures))
        x += wide + gap
    left = left_of(CARD_MM[0])
    _card(desk, left, floor - CARD_MM[1])
    name = str(words.of["card"]["name"])
    labels.append(_Label(left + CARD_MM[0] / 2, name, words.size(*CARD_MM)))
    picture = desk.finished()
    _letter(picture, desk, labels, floor + 2.6 * _LETTERS * width, words)
    return picture


class _Label(NamedTuple):
    """Two lines below a thing: its name and its measures, about ``middle`` mm from the left."""

    middle: float
    name: str
    measures: str


def _front(pictures: SetPictures) -> Face:
    """The first printed face without a flap of its own, else the first of all."""
    printed = worth_showing(pictures, 2 * len(pictures.contents.leaves))
    plain = [chosen for chosen in printed if not pictures.folds(*chosen)]
    return (plain or printed)[0]


def _card(desk: Desk, left: float, top: float) -> None:
    """A plain bank card with its chip."""
    pixels = desk.scale.at(*CARD_MM)
    card = Image.new("RGB", pixels, CARD)
    chip = desk.scale.at(*_CHIP_MM)
    plate = Image.new("RGB", chip, CHIP)
    lines = ImageDraw.Draw(plate)
    for part in (1 / 3, 2 / 3):
        lines.line((0, part * chip[1], chip[0], part * chip[1]), fill=_CHIP_LINE)
    for part in (0.36, 0.64):
        lines.line((part * chip[0], 0, part * chip[0], chip[1]), fill=_CHIP_LINE)
    card.paste(plate, desk.scale.at(*_CHIP_AT_MM), rounded(chip, 1.6 * desk.per_mm))
    shape = rounded(pixels, CARD_RADIUS_MM * desk.per_mm)
    desk.lay(card, left, top, shape=shape, falls=SHEET)


def _letter(
    picture: Image.Image, desk: Desk, labels: Sequence[_Label], baseline: float, words: ShopWords
) -> None:
    """Print the labels below what they name."""
    text = _LETTERS * desk.width_mm
    drawing = svgwrite.Drawing(
        size=(f"{desk.width_mm:.4f}mm", f"{3 * text:.4f}mm"),
        viewBox=f"0 0 {desk.width_mm:.4f} {3 * text:.4f}",
        debug=False,
    )
    for label in labels:
        for line, at, weight in ((label.name, text, 600), (label.measures, 2.4 * text, 400)):
            drawing.add(
                drawing.text(
                    line,
                    insert=(f"{label.middle:.4f}", f"{at:.4f}"),
                    font_family="Source Sans 3",
                    font_size=f"{text:.4f}",
                    font_weight=weight,
                    text_anchor="middle",
                    fill=INK,
                    direction="rtl" if words.local.right_to_left else "ltr",
                )
            )
    svg = str(drawing.tostring()).encode()
    lettering = drawn(svg, picture.width, words.language, "size comparison")
    print_on(picture, lettering, (0, round((baseline - text) * desk.per_mm)))
