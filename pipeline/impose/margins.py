"""What is printed around the leaves of a side: the slug line and the measured bar find their room,
and all of it becomes SVG at true size. Sheet coordinates, mm.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass
from typing import NamedTuple

import svgwrite
from svgwrite.base import BaseElement
from svgwrite.container import Group

from pipeline.base.errors import UserError
from pipeline.base.geometry import Rect, decimal
from pipeline.impose.marks import CLEAR_MM, Ground, Label, Line, Mark, MarkKind

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
    kept = [position.covers.grown(ground.rooms.gap) for position in ground.layout.positions]
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


FAMILY = "Source Sans 3"
HAIRLINE_MM = 0.09
"""A quarter of a point: thin enough to cut on, thick enough for a home printer."""

INK = "#000000"
GREY = "#5a5a5a"
DASHES = "0.8,0.6"
STRONG = (2, 3)
"""The sheet's number and its side, looked for at the bench: set a little stronger."""

STRONG_WEIGHT = 600
_EMBEDDED = ("\N{RIGHT-TO-LEFT EMBEDDING}", "\N{POP DIRECTIONAL FORMATTING}")
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


@dataclass(frozen=True)
class Margins:
    """All that is printed outside the leaves of one sheet side."""

    width: float
    height: float
    marks: tuple[Mark, ...]
    slug: Slug
    fields: tuple[str, ...]
    style: WordStyle
    shift: tuple[float, float] = (0.0, 0.0)
    upside_down: bool = False


def margins_svg(margins: Margins) -> bytes:
    """The SVG of a sheet side's marks, in mm, as big as the sheet."""
    width, height = margins.width, margins.height
    drawing = svgwrite.Drawing(
        size=(f"{width:.6g}mm", f"{height:.6g}mm"),
        viewBox=f"0 0 {width:.6g} {height:.6g}",
        debug=False,
    )
    families = ", ".join(margins.style.families)
    sheet = drawing.g(**_sheet_transform(margins))
    for kind in MarkKind:
        group = drawing.g(
            id=f"{kind.value}-marks", fill="none", stroke=INK, stroke_width=HAIRLINE_MM
        )
        if kind is MarkKind.FOLD:
            group["stroke-dasharray"] = DASHES
        for mark in margins.marks:
            if mark.kind is kind:
                group.add(_shape(drawing, mark, families))
        sheet.add(group)
    words = drawing.g(id="slug", fill=GREY, font_family=families)
    for strip, part in zip(margins.slug.strips, margins.slug.parts, strict=True):
        words.add(_words(drawing, strip, margins, part))
    words.add(_bar(drawing, margins.slug.bar))
    sheet.add(words)
    drawing.add(sheet)
    return str(drawing.tostring()).encode()


def _sheet_transform(margins: Margins) -> dict[str, str]:
    steps = []
    if any(margins.shift):
        steps.append(f"translate({n(margins.shift[0])} {n(margins.shift[1])})")
    if margins.upside_down:
        steps.append(f"rotate(180 {n(margins.width / 2)} {n(margins.height / 2)})")
    return {"transform": " ".join(steps)} if steps else {}


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


def _at(drawing: svgwrite.Drawing, strip: Strip) -> Group:
    """A group in which the strip's words run along x from its own top left corner."""
    rect = strip.rect
    if strip.turned == 270:
        transform = f"translate({n(rect.x)} {n(rect.bottom)}) rotate(-90)"
    else:
        transform = f"translate({n(rect.x)} {n(rect.y)})"
    return drawing.g(transform=transform)


def _words(drawing: svgwrite.Drawing, strip: Strip, margins: Margins, part: Sequence[int]) -> Group:
    """Some of the fields; from right to left they are embedded so (UAX #9), all of them as one."""
    group = _at(drawing, strip)
    line = drawing.text("", insert=("0", n(strip.size * BASELINE)), font_size=n(strip.size))
    opening, closing = _EMBEDDED if margins.style.right_to_left else ("", "")
    shown = [number for number in part if margins.fields[number]]
    for number in shown:
        before = opening if number == shown[0] else SEPARATOR
        if before:
            line.add(drawing.tspan(before))
        span = drawing.tspan(margins.fields[number])
        if number in STRONG:
            span["font-weight"] = STRONG_WEIGHT
            span["fill"] = INK
        line.add(span)
    if closing:
        line.add(drawing.tspan(closing))
    group.add(line)
    return group


def _bar(drawing: svgwrite.Drawing, strip: Strip) -> Group:
    """A bar of exactly 100 mm between the middles of its end ticks, every 10 mm marked."""
    group = _at(drawing, strip)
    thick = min(strip.rect.width, strip.rect.height)
    middle, half = thick / 2, BAR_HEIGHT_MM / 2
    bar = drawing.g(id="bar-100mm", fill="none", stroke=INK, stroke_width=HAIRLINE_MM)
    bar.add(drawing.line(("0", n(middle)), (n(BAR_MM), n(middle))))
    for number in range(11):
        reach = half if number in (0, 10) else half * (0.7 if number == 5 else 0.45)
        x = n(number * BAR_MM / 10)
        bar.add(drawing.line((x, n(middle - reach)), (x, n(middle + reach))))
    group.add(bar)
    group.add(
        drawing.text(
            BAR_LABEL,
            insert=(n(BAR_MM + LABEL_GAP_MM), n(middle + strip.size * 0.33)),
            font_size=n(strip.size),
        )
    )
    return group
