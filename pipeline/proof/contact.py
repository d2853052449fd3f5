"""The contact sheet: a whole set at a glance, small and in reading order."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from functools import cache

import fontpkg
from PIL import Image, ImageDraw, ImageFont

from pipeline.plan.model import Binding, Side
from pipeline.proof.layout import Contents
from pipeline.proof.pictures import GAP_MM, MARGIN_MM, SetPictures
from pipeline.proof.scene import GROUND

VIEW_WIDTH = 580
"""Pixels across one small spread with the desk around it."""
_EDGE = 44
_CAPTION = 58
_HEAD = 118
_DARK = (66, 63, 58)
_QUIET = (140, 135, 127)
_REGULAR, _SEMIBOLD = 400, 600


@dataclass(frozen=True)
class _View:
    """One small picture: the leaf on either side of the rings."""

    first: int | None
    second: int | None


@cache
def _face(size: int, weight: int) -> ImageFont.FreeTypeFont:
    """Source Sans 3 at ``size`` pixels."""
    font = ImageFont.truetype(str(fontpkg.path("Source Sans 3")), size)
    font.set_variation_by_axes([weight])
    return font


def contact_sheet(pictures: SetPictures) -> Image.Image:
    """All spreads of a set with their flaps open, and the first and last page, with captions.

    A set bound on the right runs from right to left, as it is read.
    """
    contents = pictures.contents
    views = list(_views(contents))
    columns = min(len(views), 4 if len(views) > 6 else 3)
    rows = -(-len(views) // columns)
    whole = pictures.view(views[0].first, views[0].second)
    scale = VIEW_WIDTH / whole.width
    view_height = round(whole.height * scale)
    sheet = Image.new(
        "RGB",
        (2 * _EDGE + columns * VIEW_WIDTH, _HEAD + rows * (view_height + _CAPTION) + _EDGE // 2),
        GROUND,
    )
    draw = ImageDraw.Draw(sheet)
    margin = round(MARGIN_MM * pictures.dpi / 25.4 * scale)
    _head(draw, contents, _EDGE + margin)
    for index, view in enumerate(views):
        row, column = divmod(index, columns)
        if contents.binding is Binding.RIGHT:
            column = columns - 1 - column
        corner = _EDGE + column * VIEW_WIDTH, _HEAD + row * (view_height + _CAPTION)
        picture = pictures.view(view.first, view.second)
        sheet.paste(picture.resize((VIEW_WIDTH, view_height), Image.Resampling.LANCZOS), corner)
        _captions(draw, pictures, view, corner, view_height - margin + 8, scale)
    return sheet


def _views(contents: Contents) -> Iterator[_View]:
    """The first page, every spread, the last page; a blank first or last page is left out."""
    if contents.leaves[0].recto is not None:
        yield _View(None, 0)
    for first, second in contents.spreads:
        yield _View(first, second)
    if contents.leaves[-1].verso is not None:
        yield _View(len(contents.leaves) - 1, None)


def _head(draw: ImageDraw.ImageDraw, contents: Contents, x: int) -> None:
    """The set's title, and under it what it is for and how much paper it is."""
    draw.text((x, 44), contents.set.title, _DARK, _face(31, _SEMIBOLD), anchor="ls")
    leaves, sheets = len(contents.leaves), len(contents.sheets)
    facts = [
        contents.period.title,
        f"{_shown(contents.binder.name)} on {_shown(contents.paper.name)}",
        f"{leaves} {'leaf' if leaves == 1 else 'leaves'}",
        f"{sheets} {'sheet' if sheets == 1 else 'sheets'}",
    ]
    line = "   ·   ".join(fact for fact in facts if fact)
    draw.text((x, 80), line, _QUIET, _face(20, _REGULAR), anchor="ls")


def _shown(name: str) -> str:
    """A size's file name as people write it.

    >>> _shown("a5"), _shown("half-letter")
    ('A5', 'Half letter')
    """
    words = name.replace("-", " ")
    return words.upper() if any(sign.isdigit() for sign in words) else words.capitalize()


def _captions(
    draw: ImageDraw.ImageDraw,
    pictures: SetPictures,
    view: _View,
    corner: tuple[int, int],
    down: int,
    scale: float,
) -> None:
    """Under each page of a view its label, its leaf and the side of the sheet it is printed on."""
    contents = pictures.contents

    def px(length_mm: float) -> int:
        return round(length_mm * pictures.dpi / 25.4 * scale)

    rings = corner[0] + px(MARGIN_MM + pictures.reach_mm[0] + GAP_MM / 2)
    width = px(contents.binder.width_mm)
    for leaf, face in ((view.first, Side.VERSO), (view.second, Side.RECTO)):
        if leaf is None:
            continue
        on_right = (face is Side.RECTO) == (contents.binding is Binding.LEFT)
        x = rings + px(GAP_MM / 2) if on_right else rings - px(GAP_MM / 2) - width
        page = contents.leaves[leaf].page(face)
        label = page.label if page else "blank"
        placed = contents.find(leaf, face)
        where = f"leaf {leaf + 1} {'front' if face is Side.RECTO else 'back'}"
        if placed is not None:
            where += f", sheet {contents.sheets[placed.sheet].number} side {placed.side}"
        y = corner[1] + down
        for text, size, colour, baseline in (
            (label, 17, _DARK if page else _QUIET, 14),
            (where, 14, _QUIET, 32),
        ):
            font = _face(size, _REGULAR)
            fitted = _fitted(text, font, width)
            draw.text((x, y + baseline), fitted, colour, font, anchor="ls")


def _fitted(text: str, font: ImageFont.FreeTypeFont, width: int) -> str:
    """The text, cut with an ellipsis where it is wider than ``width`` pixels."""
    if font.getlength(text) <= width:
        return text
    while text and font.getlength(text + "…") > width:
        text = text[:-1]
    return text.rstrip() + "…"
