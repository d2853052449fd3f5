"""What is printed around the leaves of a side: the slug line and the measured bar find their room,
and all of it becomes SVG at true size. Sheet coordinates, mm.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass, replace
from typing import NamedTuple

import svgwrite
from svgwrite.base import BaseElement

from pipeline.base.errors import UserError
from pipeline.base.geometry import Rect, decimal
from pipeline.impose.layout import Layout, Rooms
from pipeline.impose.marks import CLEAR_MM, Label, Line, Mark, MarkKind
from pipeline.impose.sheet import Flip

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

    ``turned`` is 0 for left to right, 270 for upwards (clockwise degrees). ``part`` says which
    fields of the slug line, by number, it holds: none where it is kept for the bar.
    """

    rect: Rect
    part: tuple[int, ...]
    turned: int
    size: float

    @property
    def kept(self) -> Rect:
        """Where nothing else comes: a little beside it, a good deal before and after."""
        rect, ends = self.rect.grown(CLEAR_MM), 2 * AIR_MM
        if self.turned:
            return Rect(rect.x, rect.y - ends, rect.width, rect.height + 2 * ends)
        return Rect(rect.x - ends, rect.y, rect.width + 2 * ends, rect.height)


def slug_places(
    layout: Layout, marks: Sequence[Mark], lines: Sequence[Sequence[str]], measure: Measure
) -> tuple[Strip, ...]:
    """Finds room for the bar and for the longest of the slug lines (each a list of fields).

    In one line if that goes, the foot before the head before the sides, large type before small.
    The bar's strip is the last. Raises UserError saying how much room is missing if there is none.
    """
    kept = [position.covers.grown(layout.rooms.gap) for position in layout.positions]
    kept += [mark.covers.grown(CLEAR_MM) for mark in marks]
    numbers = tuple(range(len(lines[0])))
    ways = [(numbers,), *((numbers[:cut], numbers[cut:]) for cut in (1, 2) if cut < len(numbers))]
    for parts in (*ways, tuple((number,) for number in numbers)):
        for size in SIZES_MM:
            found = _strips(layout, kept, lines, measure, parts, size)
            if found:
                return found
    raise UserError(
        layout.rooms.where,
        "there is no room for the slug line and the 100 mm bar beside the leaves",
        f"a strip of {_bar_width(measure, SIZES_MM[-1]):.0f} × {SIZES_MM[-1]:g} mm must be free "
        f"outside the leaves; {layout.rooms.remedy}",
    )


def _bar_width(measure: Measure, size: float) -> float:
    return BAR_MM + LABEL_GAP_MM + measure(BAR_LABEL, size)


def _strips(
    layout: Layout,
    kept: Sequence[Rect],
    lines: Sequence[Sequence[str]],
    measure: Measure,
    parts: Sequence[tuple[int, ...]],
    size: float,
) -> tuple[Strip, ...] | None:
    area, taken = layout.rooms.area, list(kept)
    strips: list[Strip] = []
    for part in (*parts, ()):
        if part:
            width, height = max(measure(part_text(line, part), size) for line in lines), size
        else:
            width, height = _bar_width(measure, size), max(size, BAR_HEIGHT_MM)
        places = (
            (rect, turned)
            for rect, turned in _places(layout, taken, width, height)
            if area.holds(rect, 1e-6) and not any(rect.overlaps(other, 1e-6) for other in taken)
        )
        found = next(places, None)
        if found is None:
            return None
        strips.append(Strip(found[0], part, found[1], size))
        taken.append(strips[-1].kept)
    return tuple(strips)


def part_text(fields: Sequence[str], part: Sequence[int]) -> str:
    r"""The text of one strip: some of a line's fields, empty ones left out.

    >>> part_text(["Bed plan", "", "side 1"], (0, 1, 2))
    'Bed plan\u2002·\u2002side 1'
    """
    return SEPARATOR.join(fields[number] for number in part if fields[number])


def _places(
    layout: Layout, taken: Sequence[Rect], width: float, height: float
) -> Iterator[tuple[Rect, int]]:
    """Rectangles for words of this size, the best first, and how words are turned in them.

    They begin in line with the leaves, centred, or just past something.
    """
    block, area, gap = layout.block, layout.rooms.area, layout.rooms.gap
    airy, step = layout.rooms.full + AIR_MM, height + AIR_MM
    lines = range(3)  # words below one another in an airy margin
    rows = [block.bottom + airy + n * step for n in lines]
    rows += [block.y - airy - height - n * step for n in lines]
    rows += [block.bottom + gap, area.bottom - height, block.y - gap - height, area.y]
    past = {rect.right for rect in taken} | {area.x}
    for y in rows:
        for span in [width] if width > block.width else [block.width, width]:
            for x in (block.x, *sorted(past | {area.x + (area.width - span) / 2})):
                yield Rect(x, y, span, height), 0
    columns = [block.right + airy, block.x - airy - height]
    columns += [block.right + gap, area.right - height, block.x - gap - height, area.x]
    past = {rect.bottom for rect in taken} | {area.y, area.y + (area.height - width) / 2}
    for x in columns:
        for y in (block.y, *sorted(past)):
            yield Rect(x, y, height, width), 270


FAMILY = "Source Sans 3"
HAIRLINE_MM = 0.09
"""A quarter of a point: thin enough to cut on, thick enough for a home printer."""

INK = "#000000"
GREY = "#5a5a5a"
DASHES = "0.8,0.6"
STRONG = (2, 3)
"""The sheet's number and its side, looked for at the bench: set a little stronger."""

STRONG_WEIGHT = 600
BASELINE = 0.78
"""The baseline of a strip, as a part of its type size from the top."""


LEADING = 1.4
"""From one baseline to the next, as a part of the type size, where a language asks for no other."""


class WordStyle(NamedTuple):
    """How words are set in a language: faces after the first, from line to line, which way."""

    language: str = "en"
    faces: tuple[str, ...] = ()
    leading: float = LEADING
    right_to_left: bool = False

    @property
    def families(self) -> tuple[str, ...]:
        """The faces, the first among them."""
        return (FAMILY, *self.faces)


def margins_svg(
    rooms: Rooms,
    side: int,
    marks: Sequence[Mark],
    slug: Sequence[Strip],
    fields: Sequence[str],
    style: WordStyle,
) -> bytes:
    """The SVG of all that is printed outside the leaves of a side (1 or 2), as big as the sheet.

    ``marks`` and ``slug`` are where they are on side 1; side 2 is that seen from behind.
    """
    width, height = rooms.paper.width_mm, rooms.paper.height_mm
    drawing = svgwrite.Drawing(
        size=(f"{width:.6g}mm", f"{height:.6g}mm"),
        viewBox=f"0 0 {width:.6g} {height:.6g}",
        debug=False,
    )
    sheet = drawing.add(drawing.g())
    if side == 2:
        marks = [mark.behind(width) for mark in marks]
        slug = [replace(strip, rect=strip.rect.mirrored_x(width)) for strip in slug]
        steps = []
        dx, dy = rooms.printer.back_shift_mm
        if dx or dy:
            steps.append(f"translate({n(-dx)} {n(-dy)})")
        if rooms.printer.flip is Flip.SHORT:
            steps.append(f"rotate(180 {n(width / 2)} {n(height / 2)})")
        if steps:
            sheet["transform"] = " ".join(steps)
    families = ", ".join(style.families)
    for kind in MarkKind:
        group = drawing.g(
            id=f"{kind.value}-marks", fill="none", stroke=INK, stroke_width=HAIRLINE_MM
        )
        if kind is MarkKind.FOLD:
            group["stroke-dasharray"] = DASHES
        for mark in marks:
            if mark.kind is kind:
                group.add(_shape(drawing, mark, families))
        sheet.add(group)
    words = sheet.add(drawing.g(id="slug", fill=GREY, font_family=families))
    for strip in slug:
        group = words.add(drawing.g(transform=_transform(strip)))
        if strip.part:
            group.add(_words(drawing, strip, fields, style.right_to_left))
        else:
            _add_bar(drawing, group, strip)
    return str(drawing.tostring()).encode()


def n(value: float) -> str:
    """A number as SVG takes it, to the hundredth of a micrometre."""
    return decimal(value, 5)


def _shape(drawing: svgwrite.Drawing, mark: Mark, families: str) -> BaseElement:
    if isinstance(mark, Line):
        return drawing.line((n(mark.start.x), n(mark.start.y)), (n(mark.end.x), n(mark.end.y)))
    if isinstance(mark, Label):
        return drawing.text(
            mark.text,
            insert=("0", n(mark.size * (BASELINE - 0.5))),
            transform=f"translate({n(mark.centre.x)} {n(mark.centre.y)}) rotate({mark.turned})",
            font_size=n(mark.size),
            font_family=families,
            text_anchor="middle",
            fill=GREY,
            stroke="none",
        )
    half_line = HAIRLINE_MM / 2  # the ring's outer rim, not its middle, is its diameter
    return drawing.circle((n(mark.centre.x), n(mark.centre.y)), n(mark.diameter / 2 - half_line))


def _transform(strip: Strip) -> str:
    """What makes a strip's words run along x from its own top left corner."""
    if strip.turned:
        return f"translate({n(strip.rect.x)} {n(strip.rect.bottom)}) rotate(-90)"
    return f"translate({n(strip.rect.x)} {n(strip.rect.y)})"


def _words(
    drawing: svgwrite.Drawing, strip: Strip, fields: Sequence[str], right_to_left: bool
) -> BaseElement:
    """Some of the fields; from right to left they are embedded so (UAX #9), all of them as one."""
    line = drawing.text("", insert=("0", n(strip.size * BASELINE)), font_size=n(strip.size))
    before = "\N{RIGHT-TO-LEFT EMBEDDING}" if right_to_left else ""
    for number in strip.part:
        if not fields[number]:
            continue
        if before:
            line.add(drawing.tspan(before))
        span = line.add(drawing.tspan(fields[number]))
        if number in STRONG:
            span["font-weight"] = STRONG_WEIGHT
            span["fill"] = INK
        before = SEPARATOR
    if right_to_left:
        line.add(drawing.tspan("\N{POP DIRECTIONAL FORMATTING}"))
    return line


def _add_bar(drawing: svgwrite.Drawing, group: BaseElement, strip: Strip) -> None:
    """A bar of exactly 100 mm between the middles of its end ticks, every 10 mm marked."""
    middle, half = min(strip.rect.width, strip.rect.height) / 2, BAR_HEIGHT_MM / 2
    bar = drawing.g(id="bar-100mm", fill="none", stroke=INK, stroke_width=HAIRLINE_MM)
    bar.add(drawing.line(("0", n(middle)), (n(BAR_MM), n(middle))))
    for number in range(11):
        reach = half if number in (0, 10) else half * (0.7 if number == 5 else 0.45)
        x = n(number * BAR_MM / 10)
        bar.add(drawing.line((x, n(middle - reach)), (x, n(middle + reach))))
    group.add(bar)
    place = n(BAR_MM + LABEL_GAP_MM), n(middle + strip.size * 0.33)
    group.add(drawing.text(BAR_LABEL, insert=place, font_size=n(strip.size)))
