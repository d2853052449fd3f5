"""Lays leaves on sheets: how many on one, in rows a guillotine can cut, and which on which.

The paper always stands upright, as home printers feed it; it is the leaves that are turned. A
lane is a row of upright leaves, or a column of turned ones; lanes are as thick as a leaf is high.

Cut and stack: a stack is a run of sheets cut together. Its pile p holds leaves p·s … p·s + s - 1,
where s is the number of its sheets; piles laid one on the other, and stacks after one another, are
in reading order. Leaves of a pile are of one width, because one stroke cuts them all.
"""

from __future__ import annotations

import functools
import itertools
import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass

from pipeline.base.errors import UserError
from pipeline.base.geometry import Rect
from pipeline.impose.leaf import LeafGeometry, check_paper
from pipeline.impose.sheet import (
    HOME_PRINTER,
    Placement,
    Position,
    PrinterSettings,
    Sheet,
    back_position,
)
from pipeline.plan.model import LEAST_TAB_MM, Paper, Side, Tab, tab_size

GAP_MM = 1.5
"""Marks keep this far from every trimmed leaf, or as far as the bleed reaches (from memory)."""

SHORTEST_MARK_MM = 2.0
FULL_MARK_MM = 5.0
MARK_LENGTHS_MM = (FULL_MARK_MM, 3.5, SHORTEST_MARK_MM)
"""Longest marks tried, one after the other, until words find room beside them. Crop marks of
5 mm are common practice."""

APART_MM = 1.0
"""Marks of two neighbours keep this far from one another."""

TURNED_GAINS_MM = 0.5
"""So much more room for marks makes it worth while to turn leaves on their side."""

MOST_PILES = 64


@dataclass(frozen=True)
class Rooms:
    """A paper in its printer, and the room marks need on it, mm, given how far a bleed reaches.

    No mark is longer than ``longest_mm``, less than a full mark where words would find no room
    else. ``where`` is what an error calls it. Raises UserError for a paper of no such size.

    >>> rooms = Rooms(Paper("a4", "A4", 210, 297, "iso_a4_210x297mm", "ISO 216"))
    >>> rooms.least, rooms.full
    (3.5, 6.5)
    """

    paper: Paper
    printer: PrinterSettings = HOME_PRINTER
    bleed_mm: float = 0.0
    where: str = ""
    longest_mm: float = FULL_MARK_MM

    def __post_init__(self) -> None:
        check_paper(self.paper)

    @property
    def area(self) -> Rect:
        """The part of the paper that the printer can print on."""
        sheet = Rect(0, 0, self.paper.width_mm, self.paper.height_mm)
        return sheet.grown(-self.printer.unprintable_mm)

    @property
    def gap(self) -> float:
        """Between a leaf's edge and where its marks begin."""
        return max(GAP_MM, self.bleed_mm)

    @property
    def beside(self) -> str:
        """What takes room beside a leaf, for errors."""
        return "bleed and marks" if self.bleed_mm else "marks"

    @property
    def remedy(self) -> str:
        """What makes more room, for errors."""
        less = "a smaller bleed_mm, or " if self.bleed_mm > GAP_MM else ""
        return f"take a larger paper, {less or 'or '}set the printer's unprintable_mm"

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


@dataclass(frozen=True)
class Layout:
    """Where the leaves of one sheet lie on side 1, in the order of their piles."""

    positions: tuple[Position, ...]
    rooms: Rooms

    @property
    def block(self) -> Rect:
        """The smallest rectangle that holds all leaves."""
        return Rect.union(position.covers for position in self.positions)

    def moved(self, dx: float, dy: float) -> Layout:
        """The same leaves elsewhere on the sheet."""
        return Layout(tuple(position.moved(dx, dy) for position in self.positions), self.rooms)


def lay(widths: Sequence[float], height: float, rooms: Rooms) -> Layout | None:
    """The roomiest way to lay piles of opened leaves, ``widths`` mm wide, on one sheet.

    Upright unless turned leaves have clearly more room for marks; None when they do not fit at all.
    """
    area = rooms.area
    best: tuple[float, Layout] | None = None
    for turned in (False, True):
        along, across = (area.height, area.width) if turned else (area.width, area.height)
        lanes = _lanes(widths, along, _most(across, height, rooms), rooms)
        if lanes is None:
            continue
        layout = _placed(lanes, widths, height, turned, rooms)
        block = layout.block
        beside = min(block.x - area.x, area.right - block.right)
        room = min(beside, block.y - area.y, area.bottom - block.bottom, rooms.full)
        if best is None or room > best[0] + TURNED_GAINS_MM:
            best = (room, layout)
    return best[1] if best else None


def most_on_a_sheet(width: float, height: float, rooms: Rooms) -> int:
    """How many leaves of one width fit on a paper at best, upright or turned."""
    area = rooms.area
    upright = _most(area.width, width, rooms) * _most(area.height, height, rooms)
    turned = _most(area.width, height, rooms) * _most(area.height, width, rooms)
    return min(max(upright, turned), MOST_PILES)


def shortfall(width: float, height: float, rooms: Rooms) -> tuple[float, float]:
    """By how many mm an opened leaf is too wide and too high, laid the better way round."""
    area = rooms.area.grown(-rooms.least)
    ways = [
        (max(0.0, width - area.width), max(0.0, height - area.height)),
        (max(0.0, width - area.height), max(0.0, height - area.width)),
    ]
    return min(ways, key=sum)


def does_not_fit(
    width: float, height: float, flap: float, rooms: Rooms, tab: Tab | None = None
) -> UserError:
    """The error that says how much room is missing, and what sets it.

    ``width`` and ``height`` are the opened leaf's; when a narrower ``flap`` or a shorter ``tab``
    would do it says the most that fits.
    """
    wide, high = shortfall(width, height, rooms)
    lacks = " and ".join(
        f"{lack:.1f} mm in {name}" for lack, name in ((wide, "width"), (high, "height")) if lack
    )
    narrower = (
        f"make the flap {math.floor(10 * (flap - wide) + 1e-6) / 10:g} mm at most, "
        if not high and 0 < wide < flap
        else ""
    )
    wider, higher = tab_size(tab)
    reach = math.floor(10 * (tab.reach_mm - max(wide, high)) + 1e-6) / 10 if tab else 0.0
    if reach >= LEAST_TAB_MM and wide <= wider and high <= higher:
        narrower = f"give the tab a reach of {reach:g} mm at most, "
    opened = "with its tab" if tab else "opened"
    return UserError(
        rooms.where,
        f"a leaf of {width:g} × {height:g} mm {opened} does not fit on "
        f"{rooms.paper.width_mm:g} × {rooms.paper.height_mm:g} mm: {lacks} missing "
        f"(each side needs {rooms.least:g} mm for {rooms.beside} and "
        f"{rooms.printer.unprintable_mm:g} mm that the printer cannot print)",
        f"{narrower}{rooms.remedy}",
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
    if len(lanes) > most:
        return _packed(sizes, room, most)
    if len(set(widths)) > 1:
        return lanes
    # of one width: lanes as equal as they come, three and two, not four and one
    base, extra = divmod(len(widths), len(lanes))
    numbers = iter(range(len(widths)))
    return [list(itertools.islice(numbers, base + (lane < extra))) for lane in range(len(lanes))]


def _packed(sizes: Sequence[float], room: float, most: int) -> list[list[int]] | None:
    """Exact bin packing, the largest first; sets have few widths, so equal states are skipped."""
    order = sorted(range(len(sizes)), key=lambda number: (-sizes[number], number))
    dead: set[tuple[float, ...]] = set()

    def chosen(index: int, left: tuple[float, ...]) -> list[int] | None:
        """The lanes of all piles from ``index`` in the order on."""
        if index == len(order):
            return []
        rests = [round(rest, 6) for rest in left]
        state = (index, *sorted(rests))
        if state in dead:
            return None
        size = sizes[order[index]]
        for lane, rest in enumerate(left):
            if size <= rest and rests[lane] not in rests[:lane]:
                others = chosen(index + 1, (*left[:lane], rest - size, *left[lane + 1 :]))
                if others is not None:
                    return [lane, *others]
        dead.add(state)
        return None

    found = chosen(0, (room,) * most)
    if found is None:
        return None
    piles = sorted(zip(order, found, strict=True))
    return [[pile for pile, at in piles if at == lane] for lane in sorted(set(found))]


def _placed(
    lanes: Sequence[Sequence[int]],
    widths: Sequence[float],
    height: float,
    turned: bool,
    rooms: Rooms,
) -> Layout:
    """Lanes set out around the middle of the paper, gutters and margins shared out fairly."""
    along, across = rooms.area.width, rooms.area.height
    middle_along, middle_across = rooms.paper.width_mm / 2, rooms.paper.height_mm / 2
    if turned:
        along, across = across, along
        middle_along, middle_across = middle_across, middle_along
    spacing = min(_gutter(along - sum(widths[n] for n in lane), len(lane), rooms) for lane in lanes)
    between = _gutter(across - height * len(lanes), len(lanes), rooms)
    extent = max(sum(widths[n] for n in lane) + spacing * (len(lane) - 1) for lane in lanes)
    start_across = middle_across - (height * len(lanes) + between * (len(lanes) - 1)) / 2
    positions: dict[int, Position] = {}
    for row, lane in enumerate(lanes):
        start = middle_along - extent / 2
        offset = start_across + row * (height + between)
        for number in lane:
            x, y = (offset, start) if turned else (start, offset)
            positions[number] = Position(x, y, widths[number], height, 90 if turned else 0)
            start += widths[number] + spacing
    ordered = [positions[number] for number in range(len(widths))]
    if len(set(widths)) == 1:  # any leaf may lie anywhere: piles read as a page does
        ordered.sort(key=lambda position: (round(position.y, 6), round(position.x, 6)))
    return Layout(tuple(ordered), rooms)


def _gutter(spare: float, count: int, rooms: Rooms) -> float:
    """The gutter when ``spare`` mm are shared among the sides of ``count`` leaves in a row."""
    aside = (spare - (count - 1) * APART_MM) / (2 * count)
    return 2 * min(rooms.full, max(rooms.least, aside)) + APART_MM


@dataclass(frozen=True)
class Stack:
    """Leaves ``first`` … ``first + count - 1`` on ``sheets`` sheets that share one layout.

    ``sheet`` is the number of its first sheet, from 1.
    """

    first: int
    count: int
    sheet: int
    sheets: int
    layout: Layout

    def leaves(self, index: int) -> range:
        """The leaves on one of its sheets (from 0), pile by pile; the last may have fewer."""
        return range(self.first + index, self.first + self.count, self.sheets)


def stacked(
    widths: Sequence[float], height: float, most: Mapping[float, int], rooms: Rooms
) -> tuple[Stack, ...]:
    """Stacks for leaves of these opened widths, in reading order, on as few sheets as can be.

    ``most`` says how many leaves of a width fit on a sheet at best; it must be 1 or more for each.
    Among equals the fewest stacks win.
    """
    bounds = range(len(widths) + 1) if len(set(widths)) > 1 else (0, len(widths))

    @functools.cache
    def layout(piles: tuple[float, ...]) -> Layout | None:
        return lay(piles, height, rooms)

    def one(first: int, end: int, sheet: int) -> Stack | None:
        """Leaves ``first`` … ``end - 1`` as one stack of as few sheets as can be, if they can."""
        run = widths[first:end]
        most_piles = max(most[width] for width in run)
        changes = [at for at in range(1, len(run)) if run[at] != run[at - 1]]
        if len(changes) >= most_piles:
            return None
        for sheets in range(-(-len(run) // most_piles), len(run) + 1):
            if any(change % sheets for change in changes):
                continue  # a pile would hold two widths
            found = layout(tuple(run[::sheets]))
            if found:
                return Stack(first, len(run), sheet, sheets, found)
        return None

    # best[k]: the least (sheets, stacks) for the leaves before bounds[k], and those stacks
    best: list[tuple[int, int, tuple[Stack, ...]]] = [(0, 0, ())]
    for end in bounds[1:]:
        ways = []
        for start, (sheets, stacks, before) in zip(bounds, best, strict=False):
            stack = one(start, end, sheets + 1)
            if stack:
                ways.append((sheets + stack.sheets, stacks + 1, (*before, stack)))
        best.append(min(ways, key=lambda way: way[:2]))
    return best[-1][2]


def sheets_of(
    stacks: Sequence[Stack], geometries: Sequence[LeafGeometry], rooms: Rooms
) -> tuple[Sheet, ...]:
    """The sheets of all stacks in printing order; ``geometries`` has one entry a leaf."""
    sheets: list[Sheet] = []
    for stack_number, stack in enumerate(stacks):
        fronts = stack.layout.positions
        backs = [back_position(front, rooms.paper, rooms.printer) for front in fronts]
        for index in range(stack.sheets):
            side_1, side_2 = (
                tuple(
                    Placement(
                        leaf, face, at.covers, at.rect(geometries[leaf].face(face).trim), at.turned
                    )
                    for leaf, at in zip(stack.leaves(index), positions, strict=False)
                )
                for face, positions in ((Side.RECTO, fronts), (Side.VERSO, backs))
            )
            size = rooms.paper.width_mm, rooms.paper.height_mm
            sheets.append(Sheet(stack.sheet + index, *size, side_1, side_2, stack_number))
    return tuple(sheets)
