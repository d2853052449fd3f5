"""What a binder size and a paper allow: the widest flap and what binds it, and how leaves lie."""

from __future__ import annotations

from collections import Counter
from dataclasses import dataclass

from pipeline.impose.layout import Rooms, lay, most_on_a_sheet, printable
from pipeline.impose.leaf import RING_CLEARANCE_MM, check_binder, check_paper, widest_closed_flap
from pipeline.impose.printer import PrinterSettings
from pipeline.plan.model import Binder, Paper


@dataclass(frozen=True)
class WidestFlap:
    """The widest flap, mm, and what binds it: "rings" or "paper".

    ``by_rings`` and ``by_paper`` are the two limits; ``by_paper`` is negative by what is missing
    when the leaf does not fit the paper even without a flap.
    """

    mm: float
    bound_by: str
    by_rings: float
    by_paper: float


def widest_flap(
    binder: Binder,
    paper: Paper,
    printer: PrinterSettings | None = None,
    *,
    bleed_mm: float = 0.0,
    clearance_mm: float = RING_CLEARANCE_MM,
) -> WidestFlap:
    """The widest flap a leaf of ``binder`` may have on ``paper``.

    Closed, its free edge must clear the rings: F ≤ W − (e + r + c). Open, the leaf with its marks
    must lie on the sheet, upright or turned: W + F + 2·(mark room + unprintable edge) ≤ sheet.

    >>> from pipeline.plan.model import Holes
    >>> a5 = Binder("a5", "A5", 148, 210, Holes((30, 180), 6, 5.5), "ISO 216")
    >>> a4 = Paper("a4", "A4", 210, 297, "iso_a4_210x297mm", "ISO 216")
    >>> widest = widest_flap(a5, a4)
    >>> round(widest.mm, 2), widest.bound_by
    (42.3, 'paper')
    """
    check_binder(binder)
    check_paper(paper)
    rooms = Rooms(bleed_mm)
    area = printable(paper, printer or PrinterSettings()).grown(-rooms.least)
    by_rings = widest_closed_flap(binder, clearance_mm)
    across = [
        along - binder.width_mm
        for along, other in ((area.width, area.height), (area.height, area.width))
        if binder.height_mm <= other + 1e-9
    ]
    by_paper = max(across, default=area.height - binder.height_mm)
    if by_rings <= by_paper:
        return WidestFlap(by_rings, "rings", by_rings, by_paper)
    return WidestFlap(max(0.0, by_paper), "paper", by_rings, by_paper)


def leaves_a_sheet(
    binder: Binder,
    paper: Paper,
    flap_mm: float = 0.0,
    printer: PrinterSettings | None = None,
    *,
    bleed_mm: float = 0.0,
) -> int:
    """How many leaves with such a flap one sheet of the paper takes; 0 when none fits."""
    check_binder(binder)
    check_paper(paper)
    return most_on_a_sheet(
        binder.width_mm + flap_mm,
        binder.height_mm,
        paper,
        printer or PrinterSettings(),
        Rooms(bleed_mm),
    )


@dataclass(frozen=True)
class Lie:
    """How the leaves of a full sheet lie on it: so many in so many rows and columns.

    ``turned`` tells whether they lie on their side. ``beside_mm`` is left for marks between the
    leaves and the unprintable edge on the left and on the right, ``above_mm`` above and below.
    """

    leaves: int
    rows: int
    columns: int
    turned: bool
    beside_mm: float
    above_mm: float


def how_they_lie(
    binder: Binder,
    paper: Paper,
    flap_mm: float = 0.0,
    printer: PrinterSettings | None = None,
    *,
    bleed_mm: float = 0.0,
) -> Lie | None:
    """As many leaves with such a flap as a sheet of the paper takes; None when none fits.

    >>> from pipeline.plan.model import Holes
    >>> a6 = Binder("a6", "A6", 105, 148, Holes((), 6, 5), "ISO 216")
    >>> a3 = Paper("a3", "A3", 297, 420, "iso_a3_297x420mm", "ISO 216")
    >>> lie = how_they_lie(a6, a3)
    >>> lie.leaves, lie.rows, lie.columns, lie.turned, round(lie.beside_mm, 2)
    (4, 2, 2, False, 30.15)
    """
    printer, rooms = printer or PrinterSettings(), Rooms(bleed_mm)
    count = leaves_a_sheet(binder, paper, flap_mm, printer, bleed_mm=bleed_mm)
    if not count:
        return None
    width = binder.width_mm + flap_mm
    layout = lay([width] * count, binder.height_mm, paper, printer, rooms)
    assert layout is not None, "so many leaves fit"
    area, block = printable(paper, printer), layout.block
    rows = Counter(round(pose.y, 3) for pose in layout.poses)
    columns = Counter(round(pose.x, 3) for pose in layout.poses)
    return Lie(
        leaves=count,
        rows=len(rows),
        columns=len(columns),
        turned=layout.poses[0].turned != 0,
        beside_mm=block.x - area.x,
        above_mm=block.y - area.y,
    )
