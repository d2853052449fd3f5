"""What ``leafset measure`` says: a binder size on one paper in words, or on many in a table."""

from __future__ import annotations

import math
from collections.abc import Sequence

from pipeline.impose.layout import Rooms, does_not_fit, missing
from pipeline.impose.leaf import RING_CLEARANCE_MM, LeafGeometry, widest_closed_flap
from pipeline.impose.measure import (
    Lie,
    WidestFlap,
    how_they_lie,
    leaves_a_sheet,
    widest_flap,
)
from pipeline.impose.printer import PrinterSettings
from pipeline.plan.model import Binder, Paper

LEFT_WIDTH = 14
"""Characters kept for what a line is about."""

TABLE_HEADS = ("paper", "mm", "widest flap, set by", "without flap", "margins")


def described(binder: Binder, papers: Sequence[Paper], flap_mm: float | None = None) -> str:
    """The text for a binder size, and a flap of ``flap_mm``, on one paper or on several.

    Without ``flap_mm`` the widest flap of each paper is taken. Raises UserError for a flap that
    would lie on the rings, and, where one paper is asked for, for a leaf that does not fit it.
    """
    LeafGeometry(binder, flap_mm or 0.0)
    lines = [*_size(binder), ""]
    if len(papers) == 1:
        lines += _on_one(binder, papers[0], flap_mm)
    else:
        lines += _on_many(binder, papers, flap_mm)
    return "\n".join(line.rstrip() for line in lines)


def _line(about: str, text: str) -> str:
    return f"  {about:<{LEFT_WIDTH}}{text}"


def _size(binder: Binder) -> list[str]:
    holes = binder.holes
    lines = [
        f"{binder.title} binder",
        _line(
            "trim size", f"{_mm(binder.width_mm)} × {_mm(binder.height_mm)} mm ({binder.source})"
        ),
    ]
    if not holes.centres_mm:
        return [*lines, _line("holes", "none")]
    middles = ", ".join(_mm(centre) for centre in holes.centres_mm)
    return [
        *lines,
        _line("holes", f"{len(holes.centres_mm)}, {_mm(holes.diameter_mm)} mm across"),
        _line("", f"middles {middles} mm from the top"),
        _line("", f"and {_mm(holes.edge_mm)} mm from the binding edge ({holes.source})"),
        _line(
            "closed flap",
            f"{_floor(widest_closed_flap(binder))} mm wide at most: it must lie "
            f"{RING_CLEARANCE_MM:g} mm clear of the rings",
        ),
    ]


def _on_one(binder: Binder, paper: Paper, flap_mm: float | None) -> list[str]:
    printer, rooms = PrinterSettings(), Rooms()
    widest = widest_flap(binder, paper, printer)
    flap = _floored(widest.mm) if flap_mm is None else flap_mm
    plain, opened = (how_they_lie(binder, paper, wide, printer) for wide in (0.0, flap))
    if plain is None or opened is None:
        tried = 0.0 if plain is None else flap
        where = f"{binder.title} on {paper.title}"
        width, height = binder.width_mm + tried, binder.height_mm
        raise does_not_fit(where, width, height, tried, paper, printer, rooms)
    lines = [
        f"on {paper.title} paper",
        _line("sheet", f"{_mm(paper.width_mm)} × {_mm(paper.height_mm)} mm ({paper.source})"),
        _line("", f"{_mm(printer.unprintable_mm)} mm all round stay white (common practice)"),
        _line("widest flap", _widest_in_words(widest)),
        *_lie_in_words("without flap", plain),
    ]
    if flap:
        lines += _lie_in_words(f"{_mm(flap)} mm flap", opened)
    return [
        *lines,
        _line("marks", f"take {rooms.least:g} mm beside a leaf, {rooms.full:g} mm at full length"),
    ]


def _widest_in_words(widest: WidestFlap) -> str:
    by_rings, by_paper = _floor(widest.by_rings), _floor(widest.by_paper)
    if widest.mm <= 0:
        return "none: the sheet has no room for one"
    if widest.bound_by == "rings":
        return f"{_floor(widest.mm)} mm, bound by the rings (the sheet has room for {by_paper} mm)"
    return f"{_floor(widest.mm)} mm, bound by the paper (the rings would allow {by_rings} mm)"


def _lie_in_words(about: str, lie: Lie) -> list[str]:
    leaves = "1 leaf" if lie.leaves == 1 else f"{lie.leaves} leaves"
    return [
        _line(about, f"{leaves} a sheet, {_way(lie)}; left for marks:"),
        _line(
            "",
            f"{lie.beside_mm:.1f} mm left and right, {lie.above_mm:.1f} mm above and below",
        ),
    ]


def _way(lie: Lie) -> str:
    turn = "turned on their side" if lie.turned else "upright"
    if lie.leaves == 1:
        return turn.replace("their", "its")
    rows = "1 row" if lie.rows == 1 else f"{lie.rows} rows"
    return f"{rows} of {lie.columns}, {turn}"


def _on_many(binder: Binder, papers: Sequence[Paper], flap_mm: float | None) -> list[str]:
    flap_head = "with it" if flap_mm is None else f"{_mm(flap_mm)} mm flap"
    fitting = [paper for paper in papers if leaves_a_sheet(binder, paper)]
    rows: list[tuple[str, ...]] = [(*TABLE_HEADS, flap_head, "margins")]
    rows += [_row(binder, paper, flap_mm) for paper in fitting]
    widths = [max(map(len, column)) for column in zip(*rows, strict=True)]
    lines = [
        "  " + "  ".join(f"{cell:<{width}}" for cell, width in zip(row, widths, strict=True))
        for row in rows
    ]
    edge = PrinterSettings().unprintable_mm
    return [
        *lines,
        "",
        "  Leaves a sheet as rows × columns. Margins in mm, left and right / above and below, lie",
        f"  between leaves and the {_mm(edge)} mm that printers leave white (common practice).",
        *_too_small(binder, [paper for paper in papers if paper not in fitting]),
    ]


def _row(binder: Binder, paper: Paper, flap_mm: float | None) -> tuple[str, ...]:
    widest = widest_flap(binder, paper)
    flap = _floored(widest.mm) if flap_mm is None else flap_mm
    return (
        paper.title,
        f"{_mm(paper.width_mm)} × {_mm(paper.height_mm)}",
        f"{_floor(widest.mm)} mm, {widest.bound_by}" if widest.mm > 0 else "none",
        *_cells(how_they_lie(binder, paper)),
        *(_cells(how_they_lie(binder, paper, flap)) if flap else ("–", "")),
    )


def _too_small(binder: Binder, papers: Sequence[Paper]) -> list[str]:
    if not papers:
        return []
    lines = ["", "  Too small, by mm in width and height:"]
    for paper in papers:
        wide, high = missing(binder.width_mm, binder.height_mm, paper, PrinterSettings(), Rooms())
        lines.append(f"    {paper.title:<{LEFT_WIDTH}}{wide:.1f} and {high:.1f}")
    return lines


def _cells(lie: Lie | None) -> tuple[str, str]:
    if lie is None:
        return "does not fit", ""
    return short(lie), f"{lie.beside_mm:.1f} / {lie.above_mm:.1f}"


def short(lie: Lie) -> str:
    """How leaves lie, in a table's cell.

    >>> short(Lie(4, 2, 2, True, 10.0, 10.0))
    '4 = 2 × 2, turned'
    """
    turned = ", turned" if lie.turned else ""
    return f"{lie.leaves} = {lie.rows} × {lie.columns}{turned}" if lie.leaves > 1 else f"1{turned}"


def _mm(length: float) -> str:
    """A length to a hundredth, no more figures than it needs."""
    return f"{round(length, 2):g}"


def _floored(length: float) -> float:
    """A limit, down to a tenth: what is said must still fit."""
    return math.floor(10 * length + 1e-6) / 10


def _floor(length: float) -> str:
    return f"{_floored(length):g}"
