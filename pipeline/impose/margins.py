"""What is printed around the leaves of a side: the slug line and the measured bar find their room,
and all of it becomes SVG at true size. Sheet coordinates, mm.
"""

from __future__ import annotations

import itertools
from collections.abc import Callable, Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from typing import NamedTuple

import svgwrite
from svgwrite.base import BaseElement

from pipeline.base.errors import UserError
from pipeline.base.geometry import MM_PER_INCH, Rect, decimal
from pipeline.impose.layout import Layout, Rooms
from pipeline.impose.marks import CLEAR_MM, Label, Line, Mark, MarkKind
from pipeline.impose.sheet import Flip

SIZES_MM = (2.5, 2.1, 1.9)
"""Type sizes tried, the largest first."""

STRONG_MM = 9 / 72 * MM_PER_INCH
"""The sheet's number and its side are looked for at arm's length: 9 pt, where there is room."""

BAR_MM = 100.0
BAR_HEIGHT_MM = 2.0
LABEL_GAP_MM = 1.6

AIR_MM = 3.0
"""Between marks and words, and between one line of words and the next, where there is room."""

SEPARATOR = "\u2002·\u2002"

Measure = Callable[[str, float], float]
"""The width in mm of a text set at a size in mm."""


def bar_label(media: str) -> str:
    """What the bar of 100 mm is marked with; in inches as well on a paper named in them (PWG
    5101.1), where rulers have sixteenths: 3 15/16 in are 100.01 mm.

    >>> bar_label("iso_a4_210x297mm"), bar_label("na_letter_8.5x11in")
    ('100 mm', '100 mm = 3 15/16 in')
    """
    return "100 mm = 3 15/16 in" if media.startswith("na_") else "100 mm"


@dataclass(frozen=True)
class Strip:
    """A strip kept for words: a rectangle of the sheet, and which way they run in it.

    ``turned`` is 0 for left to right, 270 for upwards (clockwise degrees). ``part`` says which
    fields of the slug line, by number, it holds: none where it is kept for something else.
    ``strong`` is the type size of the fields in ``STRONG``, mm.
    """

    rect: Rect
    part: tuple[int, ...]
    turned: int
    size: float
    strong: float = 0.0

    @property
    def tallest(self) -> float:
        """The largest type in it."""
        return _tallest(self.part, self.size, self.strong)

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

    In one line if that goes, the foot before the head before the sides, large type before small; a
    small sheet number only where a large one finds no room, and words that run past the leaves
    only where they would not fit in more lines. The bar's strip is the last. Raises UserError
    saying how much room is missing if there is none.
    """
    kept = [position.covers.grown(layout.rooms.gap) for position in layout.positions]
    kept += [mark.covers.grown(CLEAR_MM) for mark in marks]
    numbers = tuple(range(len(lines[0])))
    ways = [(numbers,), *((numbers[:cut], numbers[cut:]) for cut in (1, 2) if cut < len(numbers))]
    ways.append(tuple((number,) for number in numbers))
    for strong, within, parts, size in itertools.product(
        (STRONG_MM, 0.0), (True, False), ways, SIZES_MM
    ):
        sizes = size, max(strong, size)
        found = _strips(layout, kept, lines, measure, parts, sizes, within=within)
        if found:
            return found
    raise UserError(
        layout.rooms.where,
        "there is no room for the slug line and the 100 mm bar beside the leaves",
        f"a strip of {_bar_width(layout, measure, SIZES_MM[-1]):.0f} × {SIZES_MM[-1]:g} mm must be "
        f"free outside the leaves; {layout.rooms.remedy}",
    )


def legend_of(
    layout: Layout,
    marks: Sequence[Mark],
    slug: Sequence[Strip],
    said: Mapping[MarkKind, str],
    measure: Measure,
) -> Legend | None:
    """The legend, where there is room for it beside the leaves, the marks and the slug line.

    None where there is none: the printed directions name the marks as well.
    """
    kept = [position.covers.grown(layout.rooms.gap) for position in layout.positions]
    kept += [*(mark.covers.grown(AIR_MM) for mark in marks), *(strip.kept for strip in slug)]
    for size, within in itertools.product(SIZES_MM, (True, False)):
        steps = [LEGEND_ROOM_MM + measure(text, size) + LEGEND_APART_MM for text in said.values()]
        found = _free(layout, kept, sum(steps) - LEGEND_APART_MM, size, within=within)
        if found:
            return Legend(said, Strip(found[0], (), found[1], size), steps)
    return None


def _bar_width(layout: Layout, measure: Measure, size: float) -> float:
    return BAR_MM + LABEL_GAP_MM + measure(bar_label(layout.rooms.paper.media), size)


def _strips(
    layout: Layout,
    kept: Sequence[Rect],
    lines: Sequence[Sequence[str]],
    measure: Measure,
    parts: Sequence[tuple[int, ...]],
    sizes: tuple[float, float],
    *,
    within: bool,
) -> tuple[Strip, ...] | None:
    """Room for the parts and the bar, their words and the strong ones among them in ``sizes``.

    The parts end where the leaves do if they are to be ``within``.
    """
    taken, strips = list(kept), list[Strip]()
    size, strong = sizes
    for part in (*parts, ()):
        width, height = _bar_width(layout, measure, size), max(size, BAR_HEIGHT_MM)
        if part:
            width = max(_part_width(line, part, measure, sizes) for line in lines)
            height = _tallest(part, size, strong)
        found = _free(layout, taken, width, height, within=within and bool(part))
        if found is None:
            return None
        strips.append(Strip(found[0], part, found[1], size, strong))
        taken.append(strips[-1].kept)
    return tuple(strips)


def _free(
    layout: Layout, taken: Sequence[Rect], width: float, height: float, *, within: bool = False
) -> tuple[Rect, int] | None:
    """The best free place for words of this size, and how they are turned there.

    ``within`` asks that they begin and end no further out than the leaves.
    """
    area, in_the_way = layout.rooms.area, None
    for rect, turned in _places(layout, taken, width, height):
        if within and not _in_line(rect, layout.block, turned):
            continue
        if not area.holds(rect, 1e-6) or (in_the_way and rect.overlaps(in_the_way, 1e-6)):
            continue
        # What was in the way of one place is most often in the way of the next.
        in_the_way = next((other for other in taken if rect.overlaps(other, 1e-6)), None)
        if in_the_way is None:
            return rect, turned
    return None


def _in_line(rect: Rect, block: Rect, turned: int) -> bool:
    """Whether words at head or foot begin and end with the leaves."""
    return not turned and rect.x >= block.x - 1e-6 and rect.right <= block.right + 1e-6


def _tallest(part: Sequence[int], size: float, strong: float) -> float:
    return max(size, strong) if any(number in STRONG for number in part) else size


def _part_width(
    fields: Sequence[str], part: Sequence[int], measure: Measure, sizes: tuple[float, float]
) -> float:
    """How wide some of a line's fields run when the strong ones are set larger, mm."""
    size, strong = sizes
    text = measure(part_text(fields, part), size)
    larger = (fields[number] for number in part if number in STRONG)
    return text + sum(measure(field, strong) - measure(field, size) for field in larger)


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


LEGEND_MARK_MM, LEGEND_ROOM_MM, LEGEND_APART_MM = 3.0, 4.6, 5.0
"""A mark of the legend, from its left end to the words after it, and between these and the next."""

LEGEND_LINE_MM = 0.3
TAB_GREY = "#6b6b6b"
"""Lines to cut by that lie on the cut: a trace of them on the leaf shows less than black. Still
more than half dark, as the proof asks of what is cut by."""
FAINT = "#8a8a8a"
"""Dots within the leaves: half as dark as the marks at most."""
SHOWN = "#818181"
"""Samples in the legend, which must not be taken for marks to cut by: 3.9:1, where drawings need
3:1 (WCAG 2.2, 1.4.11); less than half dark, so that the proof doesn't take them for marks."""


class Legend(NamedTuple):
    """The marks, what is said of each, where on side 1, and how far from each to the next (mm)."""

    said: Mapping[MarkKind, str]
    strip: Strip
    steps: Sequence[float]


FAMILY = "Source Sans 3"
HAIRLINE_MM = 0.09
"""A quarter of a point: thin enough to cut on, thick enough for a home printer."""

INK = "#000000"
GREY = "#3d3d3d"
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


def marks_svg(
    rooms: Rooms, side: int, marks: Sequence[Mark], slug: Sequence[Strip], style: WordStyle
) -> bytes:
    """The SVG of the marks and the bar around the leaves of a side (1 or 2), as big as the sheet.

    ``marks`` and ``slug`` are where they are on side 1; side 2 is that seen from behind.
    """
    drawing, sheet = _as_sheet(rooms, side)
    if side == 2:
        marks = [mark.behind(rooms.paper.width_mm) for mark in marks]
    families = ", ".join(style.families)
    for kind in MarkKind:
        group = drawing.g(
            id=f"{kind.value}-marks", fill="none", stroke=INK, stroke_width=HAIRLINE_MM
        )
        if kind is MarkKind.FOLD:
            group["stroke-dasharray"] = DASHES
        if kind is MarkKind.TAB:
            group["stroke"] = TAB_GREY
        if kind is MarkKind.HOLE:
            group["fill"], group["stroke"] = FAINT, "none"
        for mark in marks:
            if mark.kind is kind:
                group.add(_shape(drawing, mark, families))
        sheet.add(group)
    words = sheet.add(drawing.g(fill=GREY, font_family=families))
    for strip in _seen_from(rooms, side, slug):
        if not strip.part:
            group = words.add(drawing.g(transform=_transform(strip)))
            _add_bar(drawing, group, strip, bar_label(rooms.paper.media))
    return str(drawing.tostring()).encode()


def slug_svg(
    rooms: Rooms,
    side: int,
    slug: Sequence[Strip],
    fields: Sequence[str],
    style: WordStyle,
    legend: Legend | None = None,
) -> bytes:
    """The SVG of the words around the leaves of a side, as ``marks_svg`` gives that of its marks.

    They are another sheet's on every sheet, where marks are the same on many.
    """
    drawing, sheet = _as_sheet(rooms, side)
    words = sheet.add(drawing.g(id="slug", fill=GREY, font_family=", ".join(style.families)))
    for strip in _seen_from(rooms, side, slug):
        if strip.part:
            group = words.add(drawing.g(transform=_transform(strip)))
            group.add(_words(drawing, strip, fields, style.right_to_left))
    if legend is not None:
        _add_legend(drawing, words, legend, style.right_to_left)
    return str(drawing.tostring()).encode()


def _as_sheet(rooms: Rooms, side: int) -> tuple[svgwrite.Drawing, BaseElement]:
    """A drawing as big as the paper, and the group in it for what goes on a side."""
    width, height = rooms.paper.width_mm, rooms.paper.height_mm
    drawing = svgwrite.Drawing(
        size=(f"{width:.6g}mm", f"{height:.6g}mm"),
        viewBox=f"0 0 {width:.6g} {height:.6g}",
        debug=False,
    )
    sheet = drawing.add(drawing.g())
    if side == 2:
        steps = []
        dx, dy = rooms.printer.back_shift_mm
        if dx or dy:
            steps.append(f"translate({n(-dx)} {n(-dy)})")
        if rooms.printer.flip is Flip.SHORT:
            steps.append(f"rotate(180 {n(width / 2)} {n(height / 2)})")
        if steps:
            sheet["transform"] = " ".join(steps)
    return drawing, sheet


def _seen_from(rooms: Rooms, side: int, slug: Sequence[Strip]) -> Sequence[Strip]:
    """Strips of side 1 as they are on a side."""
    width = rooms.paper.width_mm
    return [replace(one, rect=one.rect.mirrored_x(width)) for one in slug] if side == 2 else slug


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
    # A ring's outer rim, not the middle of its line, is its diameter; a dot has no line.
    half_line = 0.0 if mark.kind is MarkKind.HOLE else HAIRLINE_MM / 2
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
    line = drawing.text("", insert=("0", n(strip.tallest * BASELINE)), font_size=n(strip.size))
    before = "\N{RIGHT-TO-LEFT EMBEDDING}" if right_to_left else ""
    for number in strip.part:
        if not fields[number]:
            continue
        if before:
            line.add(drawing.tspan(before))
        span = line.add(drawing.tspan(fields[number]))
        if number in STRONG:
            span["font-weight"] = STRONG_WEIGHT
            span["font-size"] = n(strip.strong)
            span["fill"] = INK
        before = SEPARATOR
    if right_to_left:
        line.add(drawing.tspan("\N{POP DIRECTIONAL FORMATTING}"))
    return line


def _add_legend(
    drawing: svgwrite.Drawing, words: BaseElement, legend: Legend, right_to_left: bool
) -> None:
    """Each mark, larger than life and faint, and after it what it is for."""
    strip = legend.strip
    group = words.add(drawing.g(id="legend", transform=_transform(strip)))
    width, height = sorted(strip.rect[2:], reverse=True)
    middle, x = height / 2, 0.0
    baseline = n(middle + strip.size * (BASELINE - 0.5))
    for (kind, said), step in zip(legend.said.items(), legend.steps, strict=True):
        at = width - x - LEGEND_MARK_MM if right_to_left else x
        sample = drawing.g(fill="none", stroke=SHOWN, stroke_width=LEGEND_LINE_MM)
        sample["transform"] = f"translate({n(at)} {n(middle)})"
        for shape in _sample(drawing, kind):
            sample.add(shape)
        group.add(sample)
        word_x = width - x - LEGEND_ROOM_MM if right_to_left else x + LEGEND_ROOM_MM
        text = drawing.text(said, insert=(n(word_x), baseline), font_size=n(strip.size))
        text["text-anchor"] = "end" if right_to_left else "start"
        group.add(text)
        x += step


def _sample(drawing: svgwrite.Drawing, kind: MarkKind) -> Iterator[BaseElement]:
    """What a kind of mark looks like, from 0 to ``LEGEND_MARK_MM`` along a line."""
    long, ring = LEGEND_MARK_MM, 1.3
    if kind is MarkKind.TAB:
        run = [
            (0.0, 0.6),
            (0.6, 0.6),
            (0.6, -0.6),
            (long - 0.6, -0.6),
            (long - 0.6, 0.6),
            (long, 0.6),
        ]
        for start, finish in itertools.pairwise(run):
            yield drawing.line(*((n(x), n(y)) for x, y in (start, finish)))
        return
    if kind is MarkKind.REGISTER:
        yield drawing.circle((n(long / 2), 0), n(0.28 * long))
        yield drawing.line((n(long / 2), n(-long / 2)), (n(long / 2), n(long / 2)))
        yield drawing.line((0, 0), (n(long), 0))
        return
    end = long - ring if kind is MarkKind.PUNCH else long
    line = drawing.line((0, 0), (n(end), 0))
    if kind is MarkKind.FOLD:
        line["stroke-dasharray"] = DASHES
    yield line
    if kind is MarkKind.PUNCH:
        yield drawing.circle((n(long - ring / 2), 0), n(ring / 2))


def _add_bar(drawing: svgwrite.Drawing, group: BaseElement, strip: Strip, label: str) -> None:
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
    group.add(drawing.text(label, insert=place, font_size=n(strip.size)))
