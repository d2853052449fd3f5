"""What makes the pictures of one listing unlike those of another: ground, arrangement, things.

All of it follows from the names of a set, so that a picture stays as it is when a page is mended.
Light always comes from the upper left.
"""

from __future__ import annotations

import math
import random
from collections.abc import Sequence
from functools import lru_cache
from pathlib import Path

from lxml import etree
from PIL import Image, ImageChops, ImageDraw, ImageFilter, ImageStat

from pipeline.base.cache import digest_of
from pipeline.base.geometry import MM_PER_INCH, Rect
from pipeline.draw import draw
from pipeline.fill.template import tree_of
from pipeline.impose.contents import Contents
from pipeline.proof.read.raster import opened, without_ground
from pipeline.publish.pictures.table import THING, Ground, Table
from pipeline.svg.simplify import simplify
from pipeline.text import FontBook

GROUNDS = (
    Ground((226, 232, 213), (133, 154, 117)),
    Ground((243, 233, 206), (201, 170, 106)),
    Ground((218, 228, 237), (116, 141, 163)),
    Ground((243, 223, 215), (189, 124, 106)),
    Ground((230, 225, 239), (140, 129, 168)),
    Ground((214, 232, 226), (104, 151, 138)),
    Ground((240, 223, 233), (172, 121, 150)),
)
"""Colours are chosen by eye: all light enough for things to stand out, in the order of the hues
of title cards."""

_COARSE = 4
"""A pixel of so many across is enough to see what a pen would hide."""

PEN = (Path(__file__).parent / "props" / "pen.svg").read_bytes()

Point = tuple[float, float]
Place = tuple[float, float, float]
"""Where the middle of a thing lies, mm, and how far it is turned."""


class Scenery:
    """The ground, the shadows and the things of a set's pictures; ``props`` are SVGs in mm."""

    def __init__(
        self,
        name: str,
        props: Sequence[bytes] = (),
        *,
        pen: bool = False,
        turn: int = 0,
        arrangement: int = 0,
    ) -> None:
        """``pen`` tells whether somebody writes here; each ``turn`` has the next of the grounds,
        each ``arrangement`` the next of the ways that pages and things can lie."""
        self.name = name
        self.has_pen = pen
        self.turn = turn
        self.arrangement = arrangement
        self.ground = GROUNDS[turn % len(GROUNDS)]
        first = int(self.chance("props").random() * len(props))
        self.props = (*props[first:], *props[:first])

    def chance(self, kind: str) -> random.Random:
        """Chance that falls alike for every shape of one kind of picture."""
        return random.Random(int(digest_of(self.name, kind)[:12], 16))

    def table(self, size: tuple[int, int], width_mm: float) -> Table:
        """A table with this ground."""
        return Table(size, width_mm, ground=self.ground)

    def lay(self, table: Table, number: int, middle: Point, turned: float) -> None:
        """Lay a thing, if there is one so far down the list, its middle at a point (mm)."""
        if number < len(self.props):
            _lay(table, self.props[number], middle, turned)

    def first_within(self, wide: float, high: float) -> int:
        """The number of the first thing that takes no more room (mm); of none, if there is none."""
        sizes = map(real_size, self.props)
        fits = (n for n, (across, down) in enumerate(sizes) if across <= wide and down <= high)
        return next(fits, len(self.props))

    def lay_free(
        self, table: Table, number: int, places: Sequence[Place], kept: Sequence[Rect] = ()
    ) -> None:
        """Lay a thing, if there is one so far down the list, where it hides least, and of what is
        to be ``kept`` in sight (mm) before all."""
        if number < len(self.props):
            _lay_free(table, self.props[number], places, kept)

    def lay_pen(self, table: Table, places: Sequence[Place], kept: Sequence[Rect] = ()) -> None:
        """Lay a pen where it hides least, likewise; its nib points left at 0°."""
        if self.has_pen:
            _lay_free(table, PEN, places, kept)


_KEPT = 20
"""How many times as much as detail it counts where what is to be kept in sight is hidden."""
_MOST_DETAIL = 6.0
"""How much a thing may hide: rules come to half of that, rows of type to more (by trial)."""
_MOST_LOST = 8.0
"""And how much of what is to be kept in sight, or of another thing."""
_CLEAR_MM = 9.0
"""How far things lie from one another."""


def _lay_free(table: Table, svg: bytes, places: Sequence[Place], kept: Sequence[Rect] = ()) -> None:
    """Lay a thing at the first of those places where it hides least, clear of other things; not
    at all where it would hide something that is read at each of them."""
    thing = _thing(svg, round(table.dpi, 3)).getchannel("A").reduce(_COARSE)
    seen = table.image.convert("L").reduce(_COARSE)
    detail = ImageChops.difference(seen, seen.filter(ImageFilter.BoxBlur(6)))
    per_mm = table.per_mm / _COARSE
    whole = Image.new("L", detail.size, 0)
    pen = ImageDraw.Draw(whole)
    for area in (*kept, *(one.grown(_CLEAR_MM) for one in table.things)):
        pen.rectangle([part * per_mm for part in area.edges], fill=255)

    def hidden(place: Place) -> tuple[float, float]:
        """How much detail a thing hides there, and of what is to be seen: mean levels of 255."""
        x, y, turned = place
        mask = thing.rotate(-turned, Image.Resampling.BILINEAR, expand=True)
        left = round(x * table.per_mm / _COARSE - mask.width / 2)
        top = round(y * table.per_mm / _COARSE - mask.height / 2)
        box = left, top, left + mask.width, top + mask.height
        part, lost = (ImageStat.Stat(one.crop(box), mask).mean[0] for one in (detail, whole))
        return part, lost

    worth = {place: hidden(place) for place in places}
    x, y, turned = best = min(places, key=lambda place: worth[place][0] + _KEPT * worth[place][1])
    part, lost = worth[best]
    if part <= _MOST_DETAIL and lost <= _MOST_LOST:
        _lay(table, svg, (x, y), turned)


PLAIN = Scenery("")
"""A ground with nothing beside the pages."""


def scenery_of(
    contents: Contents,
    props: Sequence[bytes] = (),
    *,
    pen: bool = False,
    turn: int = 0,
    arrangement: int = 0,
) -> Scenery:
    """The scenery of a set: alike on every paper, unlike in every period, size and language."""
    names = contents.season, contents.period.name, contents.set.name, contents.binder.name
    name = "/".join((*names, contents.language))
    return Scenery(name, props, pen=pen, turn=turn, arrangement=arrangement)


def _lay(table: Table, svg: bytes, middle: Point, turned: float) -> None:
    thing = _thing(svg, round(table.dpi, 3))
    left = middle[0] - thing.width / table.per_mm / 2
    top = middle[1] - thing.height / table.per_mm / 2
    shape = thing.getchannel("A")
    table.lay(thing.convert("RGB"), left, top, shape=shape, turned=turned, shadow=THING)
    wide, high = thing.width / table.per_mm, thing.height / table.per_mm
    cos, sin = abs(math.cos(math.radians(turned))), abs(math.sin(math.radians(turned)))
    across, down = wide * cos + high * sin, wide * sin + high * cos
    table.things.append(Rect(middle[0] - across / 2, middle[1] - down / 2, across, down))


@lru_cache(maxsize=12)
def _thing(svg: bytes, dpi: float) -> Image.Image:
    """A drawing as an RGBA picture at its own size.

    Raises ``UserError`` for what would not be drawn right.
    """
    name = "props"
    root = tree_of(name, svg)
    simplify(root, name)
    finer = 2
    with opened(draw([etree.tostring(root)], FontBook(), names=[name])) as pdf:
        return without_ground(pdf[0], dpi * finer).reduce(finer)


def real_size(svg: bytes) -> tuple[float, float]:
    """Width and height of a thing, mm."""
    thing = _thing(svg, MM_PER_INCH)
    return float(thing.width), float(thing.height)
