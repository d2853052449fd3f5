"""The slug line and the measured bar: what they say, and where on a sheet there is room for them.

Sheet coordinates, mm.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass

from pipeline.base.errors import UserError
from pipeline.base.geometry import Rect
from pipeline.impose.marks import CLEAR_MM, Ground, Mark

SIZES_MM = (2.4, 2.1, 1.9)
"""Type sizes tried, the largest first."""

BAR_MM = 100.0
BAR_LABEL = "100 mm"
BAR_HEIGHT_MM = 2.0
LABEL_GAP_MM = 1.6

AIR_MM = 3.0
"""Between marks and words, and between one line of words and the next, where there is room."""

SEPARATOR = "\u2002·\u2002"

Measure = Callable[[str, float], float]
"""The width in mm of a text set at a size in mm."""


@dataclass(frozen=True)
class Strip:
    """A strip kept for words: a rectangle of the sheet, and which way they run in it.

    ``turned`` is 0 for left to right, 270 for upwards (clockwise degrees).
    """

    rect: Rect
    turned: int = 0
    size: float = SIZES_MM[0]

    def behind(self, sheet_width: float) -> Strip:
        """The strip at the same place of the paper, seen from the back."""
        return Strip(self.rect.mirrored_x(sheet_width), self.turned, self.size)


@dataclass(frozen=True)
class Slug:
    """Strips for the parts of the slug line (one, or several where it must be broken), and bar.

    ``parts`` says which fields, by number, each strip holds.
    """

    strips: tuple[Strip, ...]
    parts: tuple[tuple[int, ...], ...]
    bar: Strip

    def behind(self, sheet_width: float) -> Slug:
        """The same places of the paper, seen from the back."""
        strips = tuple(strip.behind(sheet_width) for strip in self.strips)
        return Slug(strips, self.parts, self.bar.behind(sheet_width))


def slug_places(
    ground: Ground, marks: Sequence[Mark], lines: Sequence[Sequence[str]], measure: Measure
) -> Slug:
    """Finds room for the bar and for the longest of the slug lines (each a list of fields).

    In one line if that goes, the foot before the head before the sides, large type before small.
    Raises UserError saying how much room is missing when there is none.
    """
    kept = [pose.covers.grown(ground.rooms.gap) for pose in ground.layout.poses]
    kept += [mark.covers.grown(CLEAR_MM) for mark in marks]
    count = len(lines[0])
    ways: list[tuple[tuple[int, ...], ...]] = [(tuple(range(count)),)]
    ways += [(tuple(range(cut)), tuple(range(cut, count))) for cut in (1, 2) if cut < count]
    ways.append(tuple((number,) for number in range(count)))
    for parts in ways:
        for size in SIZES_MM:
            found = _try(ground, kept, lines, measure, parts, size)
            if found:
                return found
    bar = _bar_width(measure, SIZES_MM[-1])
    raise UserError(
        ground.where,
        "there is no room for the slug line and the 100 mm bar beside the leaves",
        f"a strip of {bar:.0f} × {SIZES_MM[-1]:g} mm must be free outside the leaves; take a "
        "larger paper, or set the printer's unprintable_mm",
    )


def _with_air(strip: Strip) -> Rect:
    """What a strip keeps others away from: a little beside it, a good deal before and after."""
    rect, ends = strip.rect.grown(CLEAR_MM), 2 * AIR_MM
    if strip.turned:
        return Rect(rect.x, rect.y - ends, rect.width, rect.height + 2 * ends)
    return Rect(rect.x - ends, rect.y, rect.width + 2 * ends, rect.height)


def _bar_width(measure: Measure, size: float) -> float:
    return BAR_MM + LABEL_GAP_MM + measure(BAR_LABEL, size)


def _try(
    ground: Ground,
    kept: Sequence[Rect],
    lines: Sequence[Sequence[str]],
    measure: Measure,
    parts: tuple[tuple[int, ...], ...],
    size: float,
) -> Slug | None:
    taken = list(kept)
    strips: list[Strip] = []
    wanted = [(max(measure(part_text(line, part), size) for line in lines), size) for part in parts]
    wanted.append((_bar_width(measure, size), max(size, BAR_HEIGHT_MM)))
    for width, height in wanted:
        strip = next(_strips(ground, taken, width, height, size), None)
        if strip is None:
            return None
        strips.append(strip)
        taken.append(_with_air(strip))
    return Slug(tuple(strips[:-1]), parts, strips[-1])


def part_text(fields: Sequence[str], part: Sequence[int]) -> str:
    r"""The text of one strip: some of a line's fields, empty ones left out.

    >>> part_text(["Bed plan", "", "side 1"], (0, 1, 2))
    'Bed plan\u2002·\u2002side 1'
    """
    return SEPARATOR.join(fields[number] for number in part if fields[number])


def _strips(
    ground: Ground, taken: Sequence[Rect], width: float, height: float, size: float
) -> Iterator[Strip]:
    block, area = ground.layout.block, ground.area
    below, right = ground.rooms.gap, ground.rooms.gap
    airy = ground.rooms.full + AIR_MM
    lines = 3  # words below one another in an airy margin
    step = height + AIR_MM
    rows = [block.bottom + airy + n * step for n in range(lines)]
    rows += [block.y - airy - height - n * step for n in range(lines)]
    rows += [block.bottom + below, area.bottom - height, block.y - below - height, area.y]
    spans = [width] if width > block.width else [block.width, width]
    for y in rows:
        for span in spans:
            for x in _starts(block.x, area, taken, span, horizontal=True):
                rect = Rect(x, y, span, height)
                if _free(rect, area, taken):
                    yield Strip(rect, 0, size)
    columns = [block.right + airy, block.x - airy - height]
    columns += [block.right + right, area.right - height, block.x - right - height, area.x]
    for x in columns:
        for y in _starts(block.y, area, taken, width, horizontal=False):
            rect = Rect(x, y, height, width)
            if _free(rect, area, taken):
                yield Strip(rect, 270, size)


def _starts(
    first: float, area: Rect, taken: Sequence[Rect], span: float, horizontal: bool
) -> list[float]:
    """Places to begin a strip: in line with the leaves, centred, or just past something."""
    if horizontal:
        past = [rect.right for rect in taken] + [area.x, area.x + (area.width - span) / 2]
    else:
        past = [rect.bottom for rect in taken] + [area.y, area.y + (area.height - span) / 2]
    return [first, *sorted(set(past))]


def _free(rect: Rect, area: Rect, taken: Sequence[Rect]) -> bool:
    return area.holds(rect, 1e-6) and not any(rect.overlaps(other, 1e-6) for other in taken)
