"""Imposing: leaves onto sheets at true size, with marks, for side 1, side 2 and both sides."""

from pipeline.impose.imposing import BOTH, SIDE_1, SIDE_2, Imposed, impose, plan_sheets
from pipeline.impose.leaf import LeafGeometry
from pipeline.impose.measure import WidestFlap, widest_flap
from pipeline.impose.sheet import Flip, Placement, PrinterSettings, Sheet

__all__ = [
    "BOTH",
    "SIDE_1",
    "SIDE_2",
    "Flip",
    "Imposed",
    "LeafGeometry",
    "Placement",
    "PrinterSettings",
    "Sheet",
    "WidestFlap",
    "impose",
    "plan_sheets",
    "widest_flap",
]
