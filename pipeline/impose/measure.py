"""What a binder size and a paper allow: the widest flap, how leaves lie, and both in words."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

from pipeline.impose.layout import Rooms, does_not_fit, lay, most_on_a_sheet, shortfall
from pipeline.impose.leaf import RING_CLEARANCE_MM, LeafGeometry, check_binder, widest_closed_flap
from pipeline.impose.sheet import HOME_PRINTER, PrinterSettings
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
    binder: Binder, paper: Paper, printer: PrinterSettings = HOME_PRINTER
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
    rooms = Rooms(paper, printer)
    area = rooms.area.grown(-rooms.least)
    by_rings = widest_closed_flap(binder)
    across = [
        along - binder.width_mm
        for along, other in ((area.width, area.height), (area.height, area.width))
        if binder.height_mm <= other + 1e-9
    ]
    by_paper = max(across, default=area.height - binder.height_mm)
    bound_by = "rings" if by_rings <= by_paper else "paper"
    return WidestFlap(max(0.0, min(by_rings, by_paper)), bound_by, by_rings, by_paper)


def leaves_a_sheet(
    binder: Binder, paper: Paper, flap_mm: float = 0.0, printer: PrinterSettings = HOME_PRINTER
) -> int:
    """How many leaves with such a flap one sheet of the paper takes; 0 when none fits."""
    check_binder(binder)
    return most_on_a_sheet(binder.width_mm + flap_mm, binder.height_mm, Rooms(paper, printer))


@dataclass(frozen=True)
class Arrangement:
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


def arrangement(binder: Binder, paper: Paper, flap_mm: float = 0.0) -> Arrangement | None:
    """As many leaves with such a flap as a sheet of the paper takes; None when none fits.

    >>> from pipeline.plan.model import Holes
    >>> a6 = Binder("a6", "A6", 105, 148, Holes((), 6, 5), "ISO 216")
    >>> a3 = Paper("a3", "A3", 297, 420, "iso_a3_297x420mm", "ISO 216")
    >>> laid = arrangement(a6, a3)
    >>> laid.leaves, laid.rows, laid.columns, laid.turned, round(laid.beside_mm, 2)
    (4, 2, 2, False, 30.15)
    """
    count, rooms = leaves_a_sheet(binder, paper, flap_mm), Rooms(paper)
    layout = lay([binder.width_mm + flap_mm] * count, binder.height_mm, rooms)
    if layout is None:
        return None
    return Arrangement(
        leaves=count,
        rows=len({round(position.y, 3) for position in layout.positions}),
        columns=len({round(position.x, 3) for position in layout.positions}),
        turned=layout.positions[0].turned != 0,
        beside_mm=layout.block.x - rooms.area.x,
        above_mm=layout.block.y - rooms.area.y,
    )


LEFT_WIDTH = 14
"""Characters kept for what a line is about."""

TABLE_HEADS = ("paper", "mm", "widest flap, set by", "without flap", "margins")


def described(binder: Binder, papers: Sequence[Paper], flap_mm: float | None = None) -> str:
    """The text for a binder size, and a flap of ``flap_mm``, on one paper or on several.

    Without ``flap_mm`` the widest flap of each paper is taken. Raises UserError for a flap that
    would lie on the rings, and, where one paper is asked for, for a leaf that does not fit it.
    """
    LeafGeometry(binder, flap_mm or 0.0)
    if len(papers) == 1:
        laid = _on_one(binder, papers[0], flap_mm)
    else:
        laid = _on_many(binder, papers, flap_mm)
    return "\n".join(line.rstrip() for line in (*_size(binder), "", *laid))


def _line(about: str, text: str) -> str:
    return f"  {about:<{LEFT_WIDTH}}{text}"


def _size(binder: Binder) -> list[str]:
    holes = binder.holes
    trim = f"{_mm(binder.width_mm)} × {_mm(binder.height_mm)} mm ({binder.source})"
    lines = [f"{binder.title} binder", _line("trim size", trim)]
    if not holes.centres_mm:
        return [*lines, _line("holes", "none")]
    middles = ", ".join(_mm(centre) for centre in holes.centres_mm)
    closed = f"{_floor(widest_closed_flap(binder)):g} mm wide at most: it must lie"
    return [
        *lines,
        _line("holes", f"{len(holes.centres_mm)}, {_mm(holes.diameter_mm)} mm across"),
        _line("", f"middles {middles} mm from the top"),
        _line("", f"and {_mm(holes.edge_mm)} mm from the binding edge ({holes.source})"),
        _line("closed flap", f"{closed} {RING_CLEARANCE_MM:g} mm clear of the rings"),
    ]


def _on_one(binder: Binder, paper: Paper, flap_mm: float | None) -> list[str]:
    widest = widest_flap(binder, paper)
    flap = _floor(widest.mm) if flap_mm is None else flap_mm
    rooms = Rooms(paper, where=f"{binder.title} on {paper.title}")
    lines = [
        f"on {paper.title} paper",
        _line("sheet", f"{_mm(paper.width_mm)} × {_mm(paper.height_mm)} mm ({paper.source})"),
        _line("", f"{_mm(HOME_PRINTER.unprintable_mm)} mm all round stay white (common practice)"),
        _line("widest flap", _widest_in_words(widest)),
    ]
    kinds = [("without flap", 0.0)]
    if flap:
        kinds.append((f"{_mm(flap)} mm flap", flap))
    for about, wide in kinds:
        laid = arrangement(binder, paper, wide)
        if laid is None:
            raise does_not_fit(binder.width_mm + wide, binder.height_mm, wide, rooms)
        leaves = "1 leaf" if laid.leaves == 1 else f"{laid.leaves} leaves"
        room = f"{laid.beside_mm:.1f} mm left and right, {laid.above_mm:.1f} mm above and below"
        lines += [
            _line(about, f"{leaves} a sheet, {_way(laid)}; left for marks:"),
            _line("", room),
        ]
    marks = f"take {rooms.least:g} mm beside a leaf, {rooms.full:g} mm at full length"
    return [*lines, _line("marks", marks)]


def _widest_in_words(widest: WidestFlap) -> str:
    if widest.mm <= 0:
        return "none: the sheet has no room for one"
    by_rings, by_paper = _floor(widest.by_rings), _floor(widest.by_paper)
    if widest.bound_by == "rings":
        return f"{by_rings:g} mm, bound by the rings (the sheet has room for {by_paper:g} mm)"
    return f"{by_paper:g} mm, bound by the paper (the rings would allow {by_rings:g} mm)"


def _way(laid: Arrangement) -> str:
    if laid.leaves == 1:
        return "turned on its side" if laid.turned else "upright"
    rows = "1 row" if laid.rows == 1 else f"{laid.rows} rows"
    return f"{rows} of {laid.columns}, {'turned on their side' if laid.turned else 'upright'}"


def _on_many(binder: Binder, papers: Sequence[Paper], flap_mm: float | None) -> list[str]:
    flap_head = "with it" if flap_mm is None else f"{_mm(flap_mm)} mm flap"
    rows: list[tuple[str, ...]] = [(*TABLE_HEADS, flap_head, "margins")]
    too_small: list[str] = []
    for paper in papers:
        if leaves_a_sheet(binder, paper):
            rows.append(_row(binder, paper, flap_mm))
        else:
            wide, high = shortfall(binder.width_mm, binder.height_mm, Rooms(paper))
            too_small.append(f"    {paper.title:<{LEFT_WIDTH}}{wide:.1f} and {high:.1f}")
    widths = [max(map(len, column)) for column in zip(*rows, strict=True)]
    lines = [
        "  " + "  ".join(f"{cell:<{width}}" for cell, width in zip(row, widths, strict=True))
        for row in rows
    ]
    edge = _mm(HOME_PRINTER.unprintable_mm)
    lines += [
        "",
        "  Leaves a sheet as rows × columns. Margins in mm, left and right / above and below, lie",
        f"  between leaves and the {edge} mm that printers leave white (common practice).",
    ]
    if too_small:
        lines += ["", "  Too small, by mm in width and height:", *too_small]
    return lines


def _row(binder: Binder, paper: Paper, flap_mm: float | None) -> tuple[str, ...]:
    widest = widest_flap(binder, paper)
    flap = _floor(widest.mm) if flap_mm is None else flap_mm
    return (
        paper.title,
        f"{_mm(paper.width_mm)} × {_mm(paper.height_mm)}",
        f"{_floor(widest.mm):g} mm, {widest.bound_by}" if widest.mm > 0 else "none",
        *_cells(arrangement(binder, paper)),
        *(_cells(arrangement(binder, paper, flap)) if flap else ("–", "")),
    )


def _cells(laid: Arrangement | None) -> tuple[str, str]:
    if laid is None:
        return "does not fit", ""
    return short(laid), f"{laid.beside_mm:.1f} / {laid.above_mm:.1f}"


def short(laid: Arrangement) -> str:
    """How leaves lie, in a table's cell.

    >>> short(Arrangement(4, 2, 2, True, 10.0, 10.0))
    '4 = 2 × 2, turned'
    """
    turned = ", turned" if laid.turned else ""
    if laid.leaves == 1:
        return f"1{turned}"
    return f"{laid.leaves} = {laid.rows} × {laid.columns}{turned}"


def _mm(length: float) -> str:
    """A length to a hundredth, no more figures than it needs."""
    return f"{round(length, 2):g}"


def _floor(length: float) -> float:
    """A limit, down to a tenth: what is said must still fit."""
    return math.floor(10 * length + 1e-6) / 10
