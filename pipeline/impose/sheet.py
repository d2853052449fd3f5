"""Sheets as data: the printer they go through, and which leaf lies where on which side.

Sheet and leaf coordinates are millimetres from the top left, y downwards.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from enum import StrEnum
from typing import Annotated, Literal, NamedTuple

from pydantic import Field, PlainSerializer

from pipeline.base.errors import UserError
from pipeline.base.geometry import Rect, pt
from pipeline.plan.model import Paper, Side


class Flip(StrEnum):
    """The edge of the portrait sheet over which it is turned between side 1 and side 2."""

    LONG = "long"
    SHORT = "short"


@dataclass(frozen=True)
class PrinterSettings:
    """A printer, as far as laying leaves on its paper needs to know it.

    ``unprintable_mm`` is the edge it cannot print on, the same all round (6.35 mm, a quarter of
    an inch: common practice for home printers). ``back_shift_mm`` is how far it prints side 2 off
    its place, to the right and downwards as one looks at side 2; the sheets make up for it.
    ``reverse_side_2`` asks for side-2.pdf from the last sheet to the first.

    Raises UserError for a number no printer has.

    >>> PrinterSettings().unprintable_mm
    6.35
    """

    unprintable_mm: float = 6.35
    flip: Flip = Flip.LONG
    back_shift_mm: tuple[float, float] = (0.0, 0.0)
    reverse_side_2: bool = False

    def __post_init__(self) -> None:
        edge = self.unprintable_mm
        if not (math.isfinite(edge) and 0 <= edge <= 30):
            raise UserError(
                "printer, unprintable_mm", f"{edge:g} mm can't be a printer's edge", "give 0 to 30"
            )
        for shift in self.back_shift_mm:
            if not (math.isfinite(shift) and abs(shift) <= 10):
                raise UserError(
                    "printer, back_shift_mm",
                    f"{shift:g} mm is too far, or not a number",
                    "give two numbers from -10 to 10, to the right and downwards",
                )


HOME_PRINTER = PrinterSettings()


Turn = Annotated[int, Field(ge=0, lt=360, multiple_of=90)]
"""Degrees clockwise that something is turned on the sheet: 0, 90, 180 or 270."""


class Point(NamedTuple):
    """A place in mm."""

    x: float
    y: float

    def along(self, step: Point, distance: float) -> Point:
        """The place reached by going ``distance`` times a step."""
        return Point(self.x + step.x * distance, self.y + step.y * distance)

    def amid(self, width: float, height: float) -> Rect:
        """The rectangle of this size whose middle it is."""
        return Rect(self.x - width / 2, self.y - height / 2, width, height)

    def behind(self, sheet_width: float) -> Point:
        """The same place of the paper, the sheet turned over on its upright edge."""
        return Point(sheet_width - self.x, self.y)


@dataclass(frozen=True)
class Position:
    """A leaf ``width`` × ``height`` mm (unturned), turned clockwise by 0, 90, 180 or 270 degrees.

    ``x`` and ``y`` are the top left corner, on the sheet, of what it covers once turned.

    >>> position = Position(10, 20, 148, 210, 90)
    >>> position.covers
    Rect(x=10, y=20, width=210, height=148)
    >>> position.point(0, 0)
    Point(x=220, y=20)
    """

    x: float
    y: float
    width: float
    height: float
    turned: Turn = 0

    @property
    def covers(self) -> Rect:
        """The rectangle of the sheet it takes up."""
        if self.turned % 180:
            return Rect(self.x, self.y, self.height, self.width)
        return Rect(self.x, self.y, self.width, self.height)

    def point(self, u: float, v: float) -> Point:
        """Where the leaf's own point (u, v) comes to lie on the sheet."""
        if self.turned == 90:
            return Point(self.x + self.height - v, self.y + u)
        if self.turned == 180:
            return Point(self.x + self.width - u, self.y + self.height - v)
        if self.turned == 270:
            return Point(self.x + v, self.y + self.width - u)
        return Point(self.x + u, self.y + v)

    def rect(self, inner: Rect) -> Rect:
        """Where a rectangle of the leaf comes to lie on the sheet."""
        corners = self.point(inner.x, inner.y), self.point(inner.right, inner.bottom)
        return Rect.around(corners)

    def behind(self, sheet_width: float) -> Position:
        """The same leaf seen from the back, the sheet turned over on its upright edge.

        Twice is where it was.

        >>> Position(10, 20, 148, 210, 90).behind(300)
        Position(x=80, y=20, width=148, height=210, turned=270)
        """
        over = self.covers.mirrored_x(sheet_width)
        return Position(over.x, over.y, self.width, self.height, -self.turned % 360)

    def upside_down(self, sheet_width: float, sheet_height: float) -> Position:
        """The same with the whole sheet turned by 180 degrees in its plane."""
        over = self.covers.mirrored_x(sheet_width).mirrored_y(sheet_height)
        return Position(over.x, over.y, self.width, self.height, (self.turned + 180) % 360)

    def moved(self, dx: float, dy: float) -> Position:
        """The same, shifted on the sheet."""
        return Position(self.x + dx, self.y + dy, self.width, self.height, self.turned)

    def matrix(self, page: Rect, sheet_height: float) -> tuple[float, ...]:
        """The PDF matrix that puts a drawing of ``page``'s size there (points, y upwards).

        ``page`` is the part of the leaf, in its own mm, that the drawing fills; the drawing's
        origin is its bottom left. Gives a, b, c, d, e, f of ISO 32000-1, 8.3.3.
        """
        origin = self.point(page.x, page.bottom)
        right, up = self.point(page.x + 1, page.bottom), self.point(page.x, page.bottom - 1)
        return (
            right.x - origin.x,
            origin.y - right.y,
            up.x - origin.x,
            origin.y - up.y,
            pt(origin.x),
            pt(sheet_height - origin.y),
        )


SheetSide = Literal[1, 2]


def _to_a_nanometre(rect: Rect) -> list[float]:
    return [round(value, 6) + 0.0 for value in rect]


Laid = Annotated[Rect, PlainSerializer(_to_a_nanometre)]
"""A rectangle of the sheet; no ends of binary fractions are written."""


@dataclass(frozen=True)
class Placement:
    """Where one face of a leaf lies on a side of a sheet, in mm from that side's top left.

    ``leaf`` counts from 0. ``flat`` is the whole leaf with its flap open, ``trim`` the closed
    part, ``turned`` how many degrees clockwise it is turned.
    """

    leaf: int
    face: Side
    flat: Laid
    trim: Laid
    turned: Turn = 0

    @property
    def position(self) -> Position:
        """How the opened leaf lies."""
        x, y, width, height = self.flat
        if self.turned % 180:
            width, height = height, width
        return Position(x, y, width, height, self.turned)


@dataclass(frozen=True)
class Sheet:
    """A sheet of paper as it goes through the printer: its number from 1, its size in mm.

    ``stack`` counts from 0 the run of sheets that are cut together.
    """

    number: int
    width_mm: float
    height_mm: float
    side_1: tuple[Placement, ...]
    side_2: tuple[Placement, ...]
    stack: int = 0

    def placements(self, side: SheetSide) -> tuple[Placement, ...]:
        """What lies on side 1 or side 2."""
        return self.side_1 if side == 1 else self.side_2


def back_position(position: Position, paper: Paper, printer: PrinterSettings) -> Position:
    """Where side 2 must show a leaf that lies at ``position`` on side 1.

    At S − x₀ − width for a flip on the long edge; for one on the short edge the whole side is
    turned by 180 degrees as well. The printer's own shift is made up for.

    >>> position = Position(10, 40, 190, 210)
    >>> a4 = Paper("a4", "A4", 210, 297, "iso_a4_210x297mm", "ISO 216")
    >>> back_position(position, a4, PrinterSettings()).x
    10
    """
    behind = position.behind(paper.width_mm)
    if printer.flip is Flip.SHORT:
        behind = behind.upside_down(paper.width_mm, paper.height_mm)
    dx, dy = printer.back_shift_mm
    return behind.moved(-dx, -dy) if dx or dy else behind
