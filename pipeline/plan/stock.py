"""The paper a set is printed on, as a hand feels it: how heavy and how thick."""

from __future__ import annotations

from dataclasses import dataclass

from pipeline.base.geometry import MM_PER_INCH

POUND_G = 453.59237
"""The avoirdupois pound in grams, exactly."""

BOND_SHEETS = 500
BOND_SHEET_M2 = (17 * MM_PER_INCH / 1000) * (22 * MM_PER_INCH / 1000)
"""Bond weights are those of 500 sheets of 17 × 22 in, the basis size."""

BULK_CM3_PER_G = 1.3
"""Room a gram of uncoated paper takes up; thickness in µm is bulk times g/m². From memory."""

USUAL_LB_BOND = 32.0
"""Common practice for inserts: 28 to 32 lb, 105 to 120 g/m²."""


def bond_gsm(pounds: float) -> float:
    """g/m² of a bond paper given in pounds.

    >>> round(bond_gsm(20)), round(bond_gsm(28))
    (75, 105)
    """
    return pounds * POUND_G / (BOND_SHEETS * BOND_SHEET_M2)


@dataclass(frozen=True)
class Stock:
    """A paper's weight in g/m², and its thickness in mm where it is known.

    >>> round(Stock(120).thickness_mm, 3)
    0.156
    """

    gsm: float = bond_gsm(USUAL_LB_BOND)
    caliper_mm: float | None = None

    @property
    def thickness_mm(self) -> float:
        """Of one sheet: as measured, else what its weight and the usual bulk come to."""
        if self.caliper_mm is not None:
            return self.caliper_mm
        return self.gsm * BULK_CM3_PER_G / 1000
