"""All dates of a set cut out of its finished pages and enlarged, to be read in one go.

A date is found by its figure: of all sizes in which the days of a spread stand there, the one in
which most of them do, and of several such the largest. So neither a week's number nor a small
month in a corner is taken for a day. The day's name is looked for by what CLDR calls it.
"""

from __future__ import annotations

import datetime as dt
import re
from collections.abc import Iterable, Sequence
from dataclasses import dataclass

from PIL import Image

from pipeline.base.geometry import Rect
from pipeline.plan.model import Side
from pipeline.plan.words import Words
from pipeline.proof.pictures.pictures import SetPictures
from pipeline.proof.read.raster import pixels
from pipeline.proof.read.text import LeafText, on_leaves, read_pieces

STRIP_DPI = 260.0
"""Dates are shown nearly three times as large as on paper (by eye)."""
_AROUND_MM = 1.6
"""Paper shown around a date (by eye)."""
_SAME_SIZE = 1.2
"""Texts are alike when neither is set more than so many times larger than the other (by eye)."""
_FAR_MM = 70.0
"""A figure farther from a name does not belong to it: about half of A5's width (by eye)."""


@dataclass(frozen=True)
class DateCut:
    """A day of a spread and the pieces of text that show it: its name and its figure.

    Either is None where nothing of the kind stands on the spread's pages.
    """

    date: dt.date
    name: LeafText | None
    figure: LeafText | None

    @property
    def text(self) -> str:
        """What was read."""
        return " ".join(piece.text for piece in (self.name, self.figure) if piece)

    @property
    def width_mm(self) -> float:
        """How wide its picture is."""
        pieces = [piece for piece in (self.name, self.figure) if piece]
        return sum(piece.box.width + 2 * _AROUND_MM for piece in pieces)


def date_cuts(
    pictures: SetPictures, faces: Sequence[tuple[int, Side]], words: Words
) -> tuple[DateCut, ...]:
    """The days the pages on ``faces`` are about, each with the text that shows it."""
    dates: list[dt.date] = []
    texts: list[LeafText] = []
    for leaf, face in faces:
        page = pictures.contents.leaves[leaf].page(face)
        placed = pictures.contents.find(leaf, face)
        if page is None or placed is None:
            continue
        dates.extend(date for date in page.dates if date not in dates)
        pieces = read_pieces(pictures.page(placed.sheet, placed.side))
        texts.extend(on_leaves(pieces, [placed.placement], placed.sheet, placed.side))
    figures = _figures(sorted(dates), texts, words)
    return tuple(
        DateCut(date, _name(date, figures.get(date), texts, words), figures.get(date))
        for date in sorted(dates)
    )


def cut_picture(pictures: SetPictures, cut: DateCut) -> Image.Image | None:
    """A day's name and figure side by side, as they stand on the page, enlarged; None without."""
    strips = [_cut_out(pictures, piece) for piece in (cut.name, cut.figure) if piece]
    if not strips:
        return None
    top = min(piece.box.y for piece in (cut.name, cut.figure) if piece)
    drops = [
        pixels(max(0.001, piece.box.y - top), STRIP_DPI) if piece.box.y > top else 0
        for piece in (cut.name, cut.figure)
        if piece
    ]
    if cut.name and cut.figure and abs(cut.name.box.y - cut.figure.box.y) > 8:
        drops = [0] * len(strips)
    height = max(strip.height + drop for strip, drop in zip(strips, drops, strict=True))
    board = Image.new("RGB", (sum(strip.width for strip in strips), height), "white")
    x = 0
    for strip, drop in zip(strips, drops, strict=True):
        board.paste(strip, (x, drop))
        x += strip.width
    return board


def _figures(
    dates: Sequence[dt.date], texts: Iterable[LeafText], words: Words
) -> dict[dt.date, LeafText]:
    """For each day the piece of text that has its figure, all in one size."""
    having = [
        (date, piece)
        for date in dates
        for piece in texts
        if words.number(date.day) in re.findall(r"\d+", piece.text)
    ]
    best: dict[dt.date, LeafText] = {}
    for _, measure in sorted(having, key=lambda one: -one[1].box.height):
        height = measure.box.height
        alike: dict[dt.date, LeafText] = {}
        for date, piece in having:
            if height / _SAME_SIZE <= piece.box.height <= height * _SAME_SIZE:
                alike.setdefault(date, piece)
        if len(alike) > len(best):
            best = alike
    return best


def _name(
    date: dt.date, figure: LeafText | None, texts: Iterable[LeafText], words: Words
) -> LeafText | None:
    """The piece that is the day's name, the nearest to its figure if there are several."""
    forms = {form.casefold() for form in words.day_name(date) if len(form) > 1}
    named = [piece for piece in texts if piece.text.casefold() in forms]
    if figure is not None:
        named = [piece for piece in named if _apart(piece, figure) < _FAR_MM]
        return min(named, key=lambda piece: _apart(piece, figure), default=None)
    return named[0] if named else None


def _apart(one: LeafText, other: LeafText) -> float:
    """How far two pieces are apart, mm; pieces of two pages are out of reach of each other."""
    if (one.leaf, one.face) != (other.leaf, other.face):
        return 1000.0
    across = max(one.box.x - other.box.right, other.box.x - one.box.right, 0.0)
    down = max(one.box.y - other.box.bottom, other.box.y - one.box.bottom, 0.0)
    return across + 3 * down


def _cut_out(pictures: SetPictures, piece: LeafText) -> Image.Image:
    area: Rect = piece.box.grown(_AROUND_MM)
    return pictures.at(STRIP_DPI).face_area(piece.leaf, piece.face, area)
