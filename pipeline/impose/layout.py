"""Lays piles of leaves on a paper: rows a guillotine can cut, upright or turned by 90 degrees.

The paper always stands upright, as home printers feed it; it is the leaves that are turned. A
lane is a row of upright leaves, or a column of turned ones; lanes are as thick as a leaf is high.
"""

from __future__ import annotations

import itertools
import math
from collections.abc import Sequence
from dataclasses import dataclass

from pipeline.base.errors import UserError
from pipeline.base.geometry import Rect
from pipeline.impose.pose import Pose
from pipeline.impose.printer import PrinterSettings
from pipeline.plan.model import Paper

GAP_MM = 1.5
"""Marks keep this far from every trimmed leaf, or as far as the bleed reaches."""

SHORTEST_MARK_MM = 2.0
FULL_MARK_MM = 5.0
MARK_LENGTHS_MM = (FULL_MARK_MM, 3.5, SHORTEST_MARK_MM)
"""Longest marks tried, one after the other, until words find room beside them."""

APART_MM = 1.0
"""Marks of two neighbours keep this far from one another."""

TURNED_GAINS_MM = 0.5
"""So much more room for marks makes it worth while to turn leaves on their side."""

MOST_PILES = 64


@dataclass(frozen=True)
class Rooms:
    """The room marks need around a leaf, mm, given how far its bleed reaches.

    >>> Rooms().least, Rooms().full, Rooms(bleed_mm=3).least
    (3.5, 6.5, 5.0)
    """

    bleed_mm: float = 0.0
    longest_mm: float = FULL_MARK_MM
    """No mark is longer; less than a full mark where words would find no room else."""

    @property
    def gap(self) -> float:
        """Between a leaf's edge and where its marks begin."""
        return max(GAP_MM, self.bleed_mm)

    @property
    def least(self) -> float:
        """Between a leaf and the unprintable edge, for the shortest mark."""
        return self.gap + SHORTEST_MARK_MM

    @property
    def full(self) -> float:
        """The same for the longest mark."""
        return self.gap + self.longest_mm

    @property
    def gutter(self) -> float:
        """Between two leaves, for the shortest marks of both."""
        return 2 * self.least + APART_MM

    @property
    def full_gutter(self) -> float:
        """Between two leaves, for the longest marks of both."""
        return 2 * self.full + APART_MM


@dataclass(frozen=True)
class Layout:
    """Where the leaves of one sheet lie on side 1, in the order of their piles."""

    poses: tuple[Pose, ...]

    @property
    def block(self) -> Rect:
        """The smallest rectangle that holds all leaves."""
        return Rect.union(pose.covers for pose in self.poses)

    def moved(self, dx: float, dy: float) -> Layout:
        """The same leaves elsewhere on the sheet."""
        return Layout(tuple(pose.moved(dx, dy) for pose in self.poses))


def printable(paper: Paper, printer: PrinterSettings) -> Rect:
    """The part of a paper that its printer can print on."""
    return Rect(0, 0, paper.width_mm, paper.height_mm).grown(-printer.unprintable_mm)


def lay(
    widths: Sequence[float],
    height: float,
    paper: Paper,
    printer: PrinterSettings,
    rooms: Rooms,
) -> Layout | None:
    """The roomiest way to lay piles of opened leaves, ``widths`` mm wide, on one sheet.

    Upright unless turned leaves have clearly more room for marks; None when they do not fit at all.
    """
    area = printable(paper, printer)
    best: tuple[float, Layout] | None = None
    for turned in (False, True):
        along, across = (area.height, area.width) if turned else (area.width, area.height)
        lanes = _lanes(widths, along, _most(across, height, rooms), rooms)
        if lanes is None:
            continue
        layout = _placed(lanes, widths, height, turned, paper, area, rooms)
        room = min(_room(layout, area), rooms.full)
        if best is None or room > best[0] + TURNED_GAINS_MM:
            best = (room, layout)
    return best[1] if best else None


def most_on_a_sheet(
    width: float, height: float, paper: Paper, printer: PrinterSettings, rooms: Rooms
) -> int:
    """How many leaves of one width fit on a paper at best, upright or turned."""
    area = printable(paper, printer)
    upright = _most(area.width, width, rooms) * _most(area.height, height, rooms)
    turned = _most(area.width, height, rooms) * _most(area.height, width, rooms)
    return min(max(upright, turned), MOST_PILES)


def missing(
    width: float, height: float, paper: Paper, printer: PrinterSettings, rooms: Rooms
) -> tuple[float, float]:
    """By how many mm an opened leaf is too wide and too high, laid the better way round."""
    area = printable(paper, printer).grown(-rooms.least)
    ways = [
        (max(0.0, width - area.width), max(0.0, height - area.height)),
        (max(0.0, width - area.height), max(0.0, height - area.width)),
    ]
    return min(ways, key=sum)


def does_not_fit(
    where: str,
    width: float,
    height: float,
    flap: float,
    paper: Paper,
    printer: PrinterSettings,
    rooms: Rooms,
) -> UserError:
    """The error that says how much room is missing, and what sets it.

    ``width`` is the opened leaf's; when a narrower ``flap`` would do it says the widest that fits.
    """
    wide, high = missing(width, height, paper, printer, rooms)
    lacks = " and ".join(
        f"{lack:.1f} mm in {name}" for lack, name in ((wide, "width"), (high, "height")) if lack
    )
    narrower = (
        f"make the flap {math.floor(10 * (flap - wide) + 1e-6) / 10:g} mm at most, "
        if not high and 0 < wide < flap
        else ""
    )
    return UserError(
        where,
        f"a leaf of {width:g} × {height:g} mm opened does not fit on "
        f"{paper.width_mm:g} × {paper.height_mm:g} mm: {lacks} missing "
        f"(each side needs {rooms.least:g} mm for marks and {printer.unprintable_mm:g} mm that "
        "the printer cannot print)",
        f"{narrower}take a larger paper, or set the printer's unprintable_mm",
    )


def _most(room: float, size: float, rooms: Rooms) -> int:
    return max(0, int((room - 2 * rooms.least + rooms.gutter + 1e-9) // (size + rooms.gutter)))


def _lanes(
    widths: Sequence[float], along: float, most: int, rooms: Rooms
) -> list[list[int]] | None:
    """Numbers of piles by lane, in their order if that does, else packed as tightly as can be."""
    room = along - 2 * rooms.least + rooms.gutter + 1e-9
    sizes = [width + rooms.gutter for width in widths]
    if not sizes or max(sizes) > room or most < 1 or sum(sizes) > room * most:
        return None
    lanes: list[list[int]] = [[]]
    left = room
    for number, size in enumerate(sizes):
        if size > left:
            lanes.append([])
            left = room
        lanes[-1].append(number)
        left -= size
    if len(lanes) <= most:
        return _evened(lanes, len(widths)) if len(set(widths)) == 1 else lanes
    return _packed(sizes, room, most)


def _evened(lanes: list[list[int]], count: int) -> list[list[int]]:
    """Piles of one width in lanes as equal as they come: three and two, not four and one."""
    base, extra = divmod(count, len(lanes))
    numbers = iter(range(count))
    return [list(itertools.islice(numbers, base + (lane < extra))) for lane in range(len(lanes))]


def _packed(sizes: Sequence[float], room: float, most: int) -> list[list[int]] | None:
    """Exact bin packing, the largest first; sets have few widths, so equal states are skipped."""
    order = sorted(range(len(sizes)), key=lambda number: (-sizes[number], number))
    lanes: list[list[int]] = [[] for _ in range(most)]
    left = [room] * most
    dead: set[tuple[int, tuple[float, ...]]] = set()

    def place(index: int) -> bool:
        if index == len(order):
            return True
        state = (index, tuple(sorted(round(rest, 6) for rest in left)))
        if state in dead:
            return False
        tried: set[float] = set()
        for lane in range(most):
            rest = round(left[lane], 6)
            size = sizes[order[index]]
            if rest in tried or size > left[lane]:
                continue
            tried.add(rest)
            lanes[lane].append(order[index])
            left[lane] -= size
            if place(index + 1):
                return True
            left[lane] += size
            lanes[lane].pop()
        dead.add(state)
        return False

    return [sorted(lane) for lane in lanes if lane] if place(0) else None


def _placed(
    lanes: Sequence[Sequence[int]],
    widths: Sequence[float],
    height: float,
    turned: bool,
    paper: Paper,
    area: Rect,
    rooms: Rooms,
) -> Layout:
    """Lanes set out around the middle of the paper, gutters and margins shared out fairly."""
    along, across = (area.height, area.width) if turned else (area.width, area.height)
    middle_along, middle_across = (
        (paper.height_mm / 2, paper.width_mm / 2)
        if turned
        else (paper.width_mm / 2, paper.height_mm / 2)
    )
    spacing = min(_gutter(along - sum(widths[n] for n in lane), len(lane), rooms) for lane in lanes)
    between = _gutter(across - height * len(lanes), len(lanes), rooms)
    extent = max(sum(widths[n] for n in lane) + spacing * (len(lane) - 1) for lane in lanes)
    start_across = middle_across - (height * len(lanes) + between * (len(lanes) - 1)) / 2
    poses: dict[int, Pose] = {}
    for row, lane in enumerate(lanes):
        position = middle_along - extent / 2
        offset = start_across + row * (height + between)
        for number in lane:
            x, y = (offset, position) if turned else (position, offset)
            poses[number] = Pose(x, y, widths[number], height, 90 if turned else 0)
            position += widths[number] + spacing
    ordered = [poses[number] for number in range(len(widths))]
    if len(set(widths)) == 1:  # any leaf may lie anywhere: piles read as a page does
        ordered.sort(key=lambda pose: (round(pose.y, 6), round(pose.x, 6)))
    return Layout(tuple(ordered))


def _gutter(spare: float, count: int, rooms: Rooms) -> float:
    """The gutter when ``spare`` mm are shared among the sides of ``count`` leaves in a row."""
    aside = (spare - (count - 1) * APART_MM) / (2 * count)
    return 2 * min(rooms.full, max(rooms.least, aside)) + APART_MM


def _room(layout: Layout, area: Rect) -> float:
    block = layout.block
    return min(
        block.x - area.x, block.y - area.y, area.right - block.right, area.bottom - block.bottom
    )
