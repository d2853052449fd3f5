"""Lays leaves on sheets: how many on one, in rows a guillotine can cut, and which on which.

The paper always stands upright, as home printers feed it; it is the leaves that are turned. A
lane is a row of upright leaves, or a column of turned ones; lanes are as thick as a leaf is high.

Cut and stack: a stack is a run of sheets cut together. Its pile p holds leaves p·s … p·s + s - 1,
where s is the number of its sheets; piles laid one on the other, and stacks after one another, are
in reading order. Leaves of a pile are of one width, because one stroke cuts them all.
"""

from __future__ import annotations

import itertools
import math
from collections.abc import Callable, Sequence
from dataclasses import dataclass

from pipeline.base.errors import UserError
from pipeline.base.geometry import Rect
from pipeline.impose.leaf import LeafGeometry
from pipeline.impose.sheet import Placement, Position, PrinterSettings, Sheet, back_position
from pipeline.plan.model import Paper, Side

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


@dataclass(frozen=True)
class Layout:
    """Where the leaves of one sheet lie on side 1, in the order of their piles."""

    positions: tuple[Position, ...]

    @property
    def block(self) -> Rect:
        """The smallest rectangle that holds all leaves."""
        return Rect.union(position.covers for position in self.positions)

    def moved(self, dx: float, dy: float) -> Layout:
        """The same leaves elsewhere on the sheet."""
        return Layout(tuple(position.moved(dx, dy) for position in self.positions))


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


def shortfall(
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
    wide, high = shortfall(width, height, paper, printer, rooms)
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


Lay = Callable[[tuple[float, ...]], Layout | None]
"""Lays piles of the given widths (mm) on a sheet, or says None."""


@dataclass(frozen=True)
class Stack:
    """Leaves ``first`` … ``first + count - 1`` on ``sheets`` sheets that share one layout."""

    first: int
    count: int
    sheets: int
    layout: Layout

    def leaf(self, sheet: int, pile: int) -> int | None:
        """The leaf in a pile of a sheet (both from 0), None where the paper stays blank."""
        number = pile * self.sheets + sheet
        return self.first + number if number < self.count else None


def stacked(widths: Sequence[float], most: Callable[[float], int], lay: Lay) -> tuple[Stack, ...]:
    """Stacks for leaves of these opened widths, in reading order, on as few sheets as can be.

    ``most`` says how many leaves of a width fit on a sheet at best; it must be 1 or more for each.
    Among equals the fewest stacks win.
    """
    bounds = range(len(widths) + 1) if len(set(widths)) > 1 else (0, len(widths))
    seen: dict[tuple[float, ...], Layout | None] = {}

    def layout(piles: tuple[float, ...]) -> Layout | None:
        if piles not in seen:
            seen[piles] = lay(piles)
        return seen[piles]

    # best[k]: the least (sheets, stacks) for the leaves before bounds[k], and those stacks
    best: list[tuple[int, int, tuple[Stack, ...]]] = [(0, 0, ())]
    for end in range(1, len(bounds)):
        ways = []
        for start in range(end):
            stack = _one(widths, bounds[start], bounds[end], most, layout)
            if stack:
                sheets, stacks, before = best[start]
                ways.append((sheets + stack.sheets, stacks + 1, (*before, stack)))
        best.append(min(ways, key=lambda way: way[:2]))
    return best[-1][2]


def _one(
    widths: Sequence[float], first: int, end: int, most: Callable[[float], int], layout: Lay
) -> Stack | None:
    """Leaves ``first`` … ``end - 1`` as one stack of as few sheets as can be, if they can be."""
    run = widths[first:end]
    most_piles = max(most(width) for width in set(run))
    changes = [at for at in range(1, len(run)) if run[at] != run[at - 1]]
    if len(changes) >= most_piles:
        return None
    fewest = -(-len(run) // most_piles)
    for sheets in range(fewest, len(run) + 1):
        if any(change % sheets for change in changes):
            continue  # a pile would hold two widths
        found = layout(tuple(run[at] for at in range(0, len(run), sheets)))
        if found:
            return Stack(first, len(run), sheets, found)
    return None


def sheets_of(
    stacks: Sequence[Stack],
    geometries: Sequence[LeafGeometry],
    paper: Paper,
    printer: PrinterSettings,
) -> tuple[Sheet, ...]:
    """The sheets of all stacks in printing order; ``geometries`` has one entry a leaf."""
    sheets: list[Sheet] = []
    for stack_number, stack in enumerate(stacks):
        for index in range(stack.sheets):
            front, back = [], []
            for pile, position in enumerate(stack.layout.positions):
                leaf = stack.leaf(index, pile)
                if leaf is None:
                    continue
                geometry = geometries[leaf]
                front.append(_placement(leaf, Side.RECTO, position, geometry))
                behind = back_position(position, paper, printer)
                back.append(_placement(leaf, Side.VERSO, behind, geometry))
            sheets.append(
                Sheet(
                    number=len(sheets) + 1,
                    stack=stack_number,
                    width_mm=paper.width_mm,
                    height_mm=paper.height_mm,
                    side_1=tuple(front),
                    side_2=tuple(back),
                )
            )
    return tuple(sheets)


def _placement(leaf: int, face: Side, position: Position, geometry: LeafGeometry) -> Placement:
    trim = position.rect(geometry.face(face).trim)
    return Placement(leaf, face, position.covers, trim, position.turned)
