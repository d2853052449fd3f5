"""What is known of the buyer's printer: its unprintable edge, and how it lays side 2."""

from __future__ import annotations

import math
from dataclasses import dataclass
from enum import StrEnum

from pipeline.base.errors import UserError


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
                "printer, unprintable_mm", f"{edge:g} is no edge in millimetres", "give 0 to 30"
            )
        for shift in self.back_shift_mm:
            if not (math.isfinite(shift) and abs(shift) <= 10):
                raise UserError(
                    "printer, back_shift_mm",
                    f"{shift:g} is no shift in millimetres",
                    "give two numbers from -10 to 10, to the right and downwards",
                )
