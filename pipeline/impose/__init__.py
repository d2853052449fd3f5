"""Imposing: leaves onto sheets at true size, with marks, for side 1, side 2 and both sides."""

from pipeline.impose.imposing import BOTH, SIDE_1, SIDE_2, Imposed, impose, plan_sheets
from pipeline.impose.sheet import Flip, PrinterSettings

__all__ = [
    "BOTH", "SIDE_1", "SIDE_2", "Flip", "Imposed", "PrinterSettings", "impose", "plan_sheets",
]  # fmt: skip
