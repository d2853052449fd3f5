"""Letters and pictures that will not print as they look, or not be seen.

Missing fonts, typed dates, pictures of too few pixels, and texts under other things, turned, small
or pale. What covers a text and what lies behind it is asked at points spread over its letters.
"""

from __future__ import annotations

import copy
import functools
import itertools
import math
from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass
from typing import NamedTuple

import numpy as np
from lxml import etree

from pipeline.base.errors import UserError
from pipeline.base.findings import Severity
from pipeline.base.geometry import MM_PER_INCH, PT_PER_MM, Rect
from pipeline.draw import effects
from pipeline.drawings.checks.inspection import (
    DrawingFinding,
    Inspection,
    Item,
    contrast,
    ink_of,
    is_key,
    laid_on,
    lines_of,
    property_of,
    text_boxes,
)
from pipeline.drawings.checks.sourcetext import number_of
from pipeline.drawings.checks.usage import keys_of_kind
from pipeline.fill.keys import ruled
from pipeline.fill.template import computed_style, rect_of
from pipeline.plan.mentions import mentions
from pipeline.svg.paint import Colour
from pipeline.svg.path import SHAPES, Point, outline
from pipeline.svg.transform import Matrix, parse_transform
from pipeline.svg.tree import (
    DEFINITIONS,
    SVG,
    href,
    lineage,
    names,
    page_matrix,
    remove,
    size_of,
    target,
)
from pipeline.text.shape import advance

_COARSE_DPI, _SOFT_DPI = 150, 200
"""Pixels to the inch below which a picture shows its pixels on paper, and below which it looks
soft; print shops ask for 300 (common practice)."""


def check_fonts(inspection: Inspection) -> Iterator[DrawingFinding]:
    """Families that are not there, and characters of fixed words that no face has."""
    seen: set[str] = set()
    for text, _ in inspection.painted:
        if text.tag != SVG + "text":
            continue
        for run in text.iter(SVG + "text", SVG + "tspan", SVG + "textPath"):
            words = (run.text or "").strip()
            if not words:
                continue
            try:
                style = computed_style(run)
                inspection.book.find(style.families, style.weight, style.italic)
                if not any(is_key(name) for step in lineage(text) for name in names(step)):
                    advance(words, style, inspection.book)
            except UserError as problem:
                if problem.what not in seen:
                    seen.add(problem.what)
                    message = f"('{words}') cannot be set: {problem.what}"
                    yield inspection.finding("font", [run], message, problem.remedy)


def check_typed_times(inspection: Inspection) -> Iterator[DrawingFinding]:
    """Texts that come from no key and name a day, a week, a month with its year, or a year."""
    collection, uses = inspection.usage.collection, inspection.usage.uses
    files = sorted((collection.folder / "labels").glob("*.toml")) if collection else []
    languages = (*(tag for use in uses for tag in use.languages), *(file.stem for file in files))
    for text, _ in inspection.painted:
        if text.tag != SVG + "text":
            continue
        if any(is_key(name) for step in lineage(text) for name in names(step)):
            continue
        said = " ".join("".join(map(str, text.itertext())).split())
        for mention in mentions(said, languages)[:1]:
            told = f"'{said}'" + (f", {mention.text}," if mention.text != said else "")
            message = f"says {told} on every page it is used for"
            remedy = dating_advice(inspection.kinds)
            yield inspection.finding("dated", [text], message, remedy)


def dating_advice(kinds: Iterable[str]) -> str:
    """What to do about a typed date, naming only keys that pages of all these kinds can have.

    >>> dating_advice(["undated"])
    'delete it'
    >>> dating_advice(["once", "week"]).partition(", and")[0]
    "delete it; or name the text 'period-range' or 'year'"
    """
    keys = frozenset.intersection(*map(keys_of_kind, kinds))
    fitting = [f"'{key}'" for key in _DATING if key in keys]
    if not fitting:
        return "delete it"
    named = " or ".join([", ".join(fitting[:-1]), fitting[-1]] if fitting[1:] else fitting)
    return f"delete it; or name the text {named}, and leafset writes the right one on each page"


_DATING = ("day-date", "day1-date", "week-range", "month-name", "period-range", "year")
"""Keys that a typed date may be meant for."""


def check_pictures(inspection: Inspection) -> Iterator[DrawingFinding]:
    """Raster pictures: how many pixels an inch they have on paper."""
    for element, matrix in inspection.painted:
        if element.tag != SVG + "image":
            continue
        size, box = size_of(href(element)), matrix.bounds(rect_of(element))
        if size is None or not (box.width and box.height):
            continue
        width, height = size
        stretched = (element.get("preserveAspectRatio") or "").startswith("none")
        counted = min if stretched else max
        dpi = counted(width / box.width, height / box.height) * MM_PER_INCH
        soft = dpi < _SOFT_DPI
        yield inspection.finding(
            "picture",
            [element],
            f"is a picture of {width} × {height} pixels, {dpi:.0f} to the inch on paper"
            + (", so it will look coarse" if soft else ""),
            "" if soft else "that is fine if you mean it so",
            milder=None if dpi < _COARSE_DPI else Severity.LOOK if soft else Severity.NOTE,
        )


def check_effects(inspection: Inspection) -> Iterator[DrawingFinding]:
    """Filters: what is drawn as a picture for them, and how large that is."""
    root = copy.deepcopy(inspection.template.root)
    for element in [each for each in root.iter(*_INKED) if not _is_filtered(each)]:
        remove(element)
    if not any("filter" in element.attrib for element in root.iter()):
        return
    try:
        found = effects(bytes(etree.tostring(root)), inspection.book)
    except UserError:
        return  # of a font, which has a finding of its own
    for effect in {number_of(one.element): one for one in found}.values():
        yield inspection.finding(
            "effect-as-picture",
            [effect.element],
            f"is printed as a picture of {effect.width_mm:.0f} × {effect.height_mm:.0f} mm with"
            f" {effect.dpi:.0f} pixels to the inch, because of its filter",
        )


_INKED = tuple(SVG + name for name in (*SHAPES, "text", "image"))


def _is_filtered(element: etree._Element) -> bool:
    """Whether it is in something filtered, or in a definition, which that may refer to."""
    return any("filter" in step.attrib or step.tag in DEFINITIONS for step in lineage(element))


SMALLEST_PT, _SMALLEST_ON_SMALL_PT = 6.0, 4.5
"""Smaller type is hard to read on paper, and on pages of A6 and smaller, which are held nearer
(common practice)."""

_NARROW_MM = 110.0

_FAINT_TEXT, _FAINT_LINE = 2.0, 1.25
"""Text with less contrast is hard to read on paper, and a line lost (from memory). A grey line on
white that has so little is about 10 % dark."""

_LONG_MM = 20.0
"""A straight line this long is one to write on or to part things by (by eye)."""

_NO_CONTRAST = 1.05
"""With less than this a text is as light as what lies behind it (by eye)."""

_NO_SIZE_MM = 0.3
"""Type below this size is not there (by eye)."""

_OPAQUE, _CLEAR = 0.8, 0.05
"""From this opacity on something hides what is below it, and below this it is not seen (by eye)."""

_PARTLY, _WHOLLY = 0.12, 0.75
"""With this share of its points covered a text is spoilt, and with this it is gone (by eye)."""

_UPRIGHT, _TILTED = 0.2, 12.0
"""Degrees: a text turned by less is straight, by more it is meant to be (by eye)."""

_ABOVE, _BELOW = 0.6, 0.05
"""Between these shares of the size above the baseline lies most of a line's ink (by eye)."""


class _Letters(NamedTuple):
    """A line of text that will be printed, or a small month: its run, and points on its letters.

    ``key`` is "" for a text without one; ``holder`` the element that has the key, else the text.
    """

    holder: etree._Element
    key: str
    item: Item
    run: etree._Element
    points: tuple[Point, ...]


class _Surface(NamedTuple):
    """A filled shape or a picture: its outline and where it may be clipped, mm on the page."""

    place: int
    element: etree._Element
    box: Rect
    paint: Colour | None
    shown: frozenset[str]
    outlines: tuple[tuple[Point, ...], ...]
    even_odd: bool

    def holds(self, point: Point) -> bool:
        """Whether a point is painted by it."""
        if not self.box.holds(Rect(*point, 0, 0)):
            return False
        if not _within(point, self.outlines, self.even_odd):
            return False
        return all(_within(point, *clip) for clip in _clips(self.element))


@dataclass(frozen=True)
class _Sight:
    """What is on a page to be seen: its letters, and what they lie on or under."""

    inspection: Inspection

    @functools.cached_property
    def letters(self) -> tuple[_Letters, ...]:
        """Lines of text as they are drawn, and small months, each with points on its letters."""
        return tuple(_letters(self.inspection))

    @functools.cached_property
    def surfaces(self) -> tuple[_Surface, ...]:
        """All that is filled, in the order it is painted."""
        return tuple(_surfaces(self.inspection))

    @functools.cached_property
    def _boxes(self) -> np.ndarray:
        boxes = [(one.box.x, one.box.y, one.box.right, one.box.bottom) for one in self.surfaces]
        return np.array(boxes).reshape(-1, 4).T

    def near(self, points: Sequence[Point]) -> list[_Surface]:
        """Surfaces whose boxes meet the box around some points."""
        area = Rect.around(points)
        lefts, tops, rights, bottoms = self._boxes
        meet = (lefts <= area.right) & (rights >= area.x)
        meet &= (tops <= area.bottom) & (bottoms >= area.y)
        return [self.surfaces[number] for number in np.flatnonzero(meet)]

    @functools.cached_property
    def _places(self) -> dict[etree._Element, int]:
        return {item.element: place for place, item in enumerate(self.inspection.painted)}

    def place(self, element: etree._Element) -> int:
        """When an element, or the text around it, is painted."""
        return next(self._places[step] for step in lineage(element) if step in self._places)


def check_sight(inspection: Inspection) -> Iterator[DrawingFinding]:
    """Texts that will not be seen, or not as they should: hidden, covered, turned, small, pale."""
    sight = _Sight(inspection)
    yield from _taken_out(inspection)
    yield from _hidden(sight)
    yield from _standing(sight)
    yield from _small(sight)
    yield from _faint_letters(sight)
    yield from _faint_lines(sight)


def _hidden(sight: _Sight) -> Iterator[DrawingFinding]:
    """Keyed texts that are not painted, clipped or under something else."""
    said: set[etree._Element] = set()
    for letters in sight.letters:
        if not letters.key or letters.holder in said:
            continue
        verdict = _unseen(letters) or _cropped(letters) or _covered(sight, letters)
        if verdict is not None:
            said.add(letters.holder)
            rule, message, remedy, milder = verdict
            yield sight.inspection.finding(rule, [letters.holder], message, remedy, milder=milder)


_Said = tuple[str, str, str, Severity | None]
"""A rule, its message, and a remedy and a severity of its own."""


def _taken_out(inspection: Inspection) -> Iterator[DrawingFinding]:
    """Keys that are nowhere but in something hidden, or in the guides, which are not printed."""
    for element, name, why in inspection.taken_out:
        if why == "guides":
            message = f"has the key {name!r} but lies among the guides, which are not printed"
            remedy = "move it out of the guides"
        else:
            where = "is hidden" if why == "itself" else "lies in something hidden"
            message = f"has the key {name!r} but {where}, and no other has it"
            remedy = "show it again, or delete it"
        yield inspection.finding("text-unseen", [element], message, remedy)


def _unseen(letters: _Letters) -> _Said | None:
    run = letters.run
    why = remedy = ""
    if property_of(run, "visibility") in ("hidden", "collapse"):
        why, remedy = "is hidden, so it won't be printed", "show it, or delete it"
    elif not (paints := ink_of(run)):
        why = "has neither a fill nor a stroke, so nothing of it will be seen"
    elif all(paint is not None and paint.alpha < _CLEAR for paint in paints):
        why, remedy = (
            "is almost wholly transparent, so hardly anything of it will be seen",
            "raise its opacity and that of its groups",
        )
    elif computed_style(run).size * letters.item.matrix.scale_y < _NO_SIZE_MM:
        why, remedy = "is smaller than a third of a millimetre", "set it larger"
    return ("text-unseen", why, remedy, None) if why else None


def _cropped(letters: _Letters) -> _Said | None:
    clips = _clips(letters.item.element)
    out = [at for at in letters.points if not all(_within(at, *clip) for clip in clips)]
    if len(out) < _PARTLY * len(letters.points):
        return None
    how = "wholly" if len(out) > _WHOLLY * len(letters.points) else "partly"
    return "text-cropped", f"is {how} cut off by the clip around it", "", None


def _covered(sight: _Sight, letters: _Letters) -> _Said | None:
    place = sight.place(letters.item.element)
    own = _shown(letters.item.element)
    later = [
        one
        for one in sight.near(letters.points)
        if one.place > place
        and (one.paint is None or one.paint.alpha >= _OPAQUE)
        and (not own or one.shown <= own)
    ]
    for shown in sorted({one.shown - own for one in later}, key=len):
        over = [one for one in later if one.shown - own <= shown]
        hidden = [at for at in letters.points if any(one.holds(at) for one in over)]
        if len(hidden) < _PARTLY * len(letters.points):
            continue
        top = next(one for one in over[::-1] if any(one.holds(at) for at in hidden))
        called = sight.inspection.finding("text-covered", [top.element], "").element
        known = called and not called.startswith("leafset-lint")
        by = f"{called!r}, which is" if known else "something that is"
        if top.element in set(letters.holder.iter()):
            by = "its own box, which is"
        wholly = len(hidden) > _WHOLLY * len(letters.points)
        message = f"is {'' if wholly else 'partly '}covered by {by} painted later"
        return "text-covered", message, "", Severity.LOOK if shown else None
    return None


def _standing(sight: _Sight) -> Iterator[DrawingFinding]:
    """Keyed texts that stand on their head, are mirrored or a little tilted."""
    seen: set[etree._Element] = set()
    for letters in sight.letters:
        if letters.key and letters.holder not in seen and not letters.key.endswith("-grid"):
            seen.add(letters.holder)
            said = _turned(letters.item.matrix)
            if said is not None:
                yield sight.inspection.finding(said[0], [letters.holder], said[1])


def _small(sight: _Sight) -> Iterator[DrawingFinding]:
    """Texts that are too small to read, once all scales are counted."""
    narrow = sight.inspection.template.width_mm - sight.inspection.flap_mm < _NARROW_MM
    smallest = _SMALLEST_ON_SMALL_PT if narrow else SMALLEST_PT
    small: list[tuple[float, etree._Element]] = []
    for letters in sight.letters:
        if not letters.key.endswith("-grid"):
            size = computed_style(letters.run).size * letters.item.matrix.scale_y
            if size >= _NO_SIZE_MM and size * PT_PER_MM < smallest - 0.05:
                small.append((size * PT_PER_MM, letters.item.element))
    if small:
        small.sort(key=lambda one: one[0])
        message = f"is set in {small[0][0]:.1f} pt; less than {smallest:g} pt is hard to read"
        elements = list(dict.fromkeys(element for _, element in small))
        yield sight.inspection.finding("text-small", elements, message)


def _turned(matrix: Matrix) -> tuple[str, str] | None:
    """The rule that a text's place breaks, and what it says."""
    if matrix.a * matrix.d - matrix.b * matrix.c < 0:
        return "text-mirrored", "is mirrored, so it reads backwards"
    degrees = math.degrees(math.atan2(matrix.b, matrix.a))
    if abs(degrees) > 180 - _TILTED:
        return "text-upturned", f"is upside down (turned by {abs(degrees):.0f}°)"
    tilt = (degrees + 45) % 90 - 45
    if _UPRIGHT < abs(tilt) < _TILTED:
        return "text-tilted", f"is tilted by {abs(tilt):.1f}°"
    return None


def _faint_letters(sight: _Sight) -> Iterator[DrawingFinding]:
    """Texts that hardly differ from what lies behind them.

    A keyed text that does not differ at all is told by itself, as it will be missed on paper.
    """
    faint: list[tuple[float, etree._Element]] = []
    gone: set[etree._Element] = set()
    for letters in sight.letters:
        if letters.holder in gone or _unseen(letters) or _dimmed(letters.holder):
            continue
        found = _contrast(sight, letters.run, letters.points)
        if found is not None and found < _NO_CONTRAST and letters.key:
            gone.add(letters.holder)
            message = "is as light as what lies behind it"
            yield sight.inspection.finding("text-unseen", [letters.holder], message)
        elif found is not None and found < _FAINT_TEXT:
            faint.append((found, letters.item.element))
    yield from _faint(sight, faint, "text")


def _dimmed(holder: etree._Element) -> bool:
    """Whether a text is of a neighbouring month's date, dimmed as its page asks for."""
    return any(name.endswith("-outside") for step in lineage(holder) for name in names(step))


def _faint_lines(sight: _Sight) -> Iterator[DrawingFinding]:
    """Long lines that hardly differ from what lies behind them.

    White ones part things, and short ones are an illustrator's tone on tone: both are meant.
    """
    faint: list[tuple[float, etree._Element]] = []
    for item in sight.inspection.painted:
        element = item.element
        if element.tag in (SVG + "text", SVG + "image") or property_of(element, "fill") != "none":
            continue
        if _longest_line(item) < _LONG_MM:
            continue
        found = _contrast(sight, element, _points_along(item))
        if found is not None and _NO_CONTRAST <= found < _FAINT_LINE:
            faint.append((found, element))
    yield from _faint(sight, faint, "a line")


def _faint(
    sight: _Sight, faint: list[tuple[float, etree._Element]], what: str
) -> Iterator[DrawingFinding]:
    if faint:
        faint.sort(key=lambda one: one[0])
        elements = list(dict.fromkeys(element for _, element in faint))
        message = f"is {what} that hardly stands out: its contrast to what lies behind it is only"
        message += f" {faint[0][0]:.2g} : 1"
        yield sight.inspection.finding("faint", elements, message)


def _contrast(sight: _Sight, element: etree._Element, points: Sequence[Point]) -> float | None:
    """The contrast of what is painted with to what lies behind, on most of its points.

    It is the poorest of all that can be shown below it. None where a gradient or a picture is.
    """
    inks = ink_of(element)
    if not inks or None in inks:
        return None
    place, own = sight.place(element), _shown(element)
    below = [one for one in sight.near(points) if one.place < place]
    below = [one for one in below if any(one.holds(at) for at in points)]
    cases: set[frozenset[str]] = {one.shown - own for one in below} | {frozenset()}
    if len(cases) > 2:
        cases.discard(frozenset())  # one of several grounds is always there
    worst: float | None = None
    for case in cases:
        under = [one for one in below if one.shown - own <= case]
        found = []
        for at in points:
            ground: Colour | None = Colour(255, 255, 255)
            for one in under:
                if one.holds(at):
                    if one.paint is None:
                        ground = None
                    elif ground is not None or one.paint.alpha >= 1:
                        ground = laid_on(one.paint, ground or one.paint)
            if ground is None:
                return None
            found.append(max(contrast(ink, ground) for ink in inks if ink is not None))
        middle = sorted(found)[len(found) // 2]
        worst = middle if worst is None else min(worst, middle)
    return worst


def _letters(inspection: Inspection) -> Iterator[_Letters]:
    months: set[etree._Element] = set()
    for item in inspection.painted:
        if item.element.tag != SVG + "text":
            continue
        steps = list(lineage(item.element))
        named = ((step, name) for step in steps for name in names(step) if is_key(name))
        holder, key = next(named, (item.element, ""))
        rect = holder.find(f".//{SVG}rect") if key.endswith("-grid") else None
        if rect is not None and holder not in months:
            months.add(holder)
            area = rect_of(rect)
            yield _Letters(holder, key, item, item.element, _spread(area, page_matrix(rect), 7, 7))
            continue
        for run, points in _points_on(item, inspection):
            yield _Letters(holder, key, item, run, points)
            if key:
                break  # what comes after its first line is not printed


def _points_on(
    item: Item, inspection: Inspection
) -> Iterator[tuple[etree._Element, tuple[Point, ...]]]:
    lines = list(lines_of(item.element))
    flat = text_boxes(Item(item.element, Matrix()), inspection.book)
    if len(flat) != len(lines):
        return
    for (run, _, _, y), box in zip(lines, flat, strict=True):
        size = computed_style(run).size
        top, bottom = y - _ABOVE * size, y - _BELOW * size
        area = Rect(box.x, top, box.width, bottom - top)
        yield run, _spread(area, item.matrix, 12, 4)


def _spread(area: Rect, matrix: Matrix, columns: int, rows: int) -> tuple[Point, ...]:
    """Points spread evenly over an area, on the page."""
    return tuple(
        matrix.point(
            area.x + area.width * (column + 0.5) / columns,
            area.y + area.height * (row + 0.5) / rows,
        )
        for row in range(rows)
        for column in range(columns)
    )


def _longest_line(item: Item) -> float:
    """The length of a shape's longest straight line, mm on the page."""
    longest = 0.0
    for segment in outline(item.element).segments():
        if segment.operator in "LZ":
            one, other = item.matrix.point(*segment.start), item.matrix.point(*segment.points[-1])
            longest = max(longest, math.dist(one, other))
    return longest


def _points_along(item: Item) -> tuple[Point, ...]:
    """Some points on the line that a shape is drawn with."""
    points = []
    for segment in outline(item.element).segments():
        if segment.operator != "M":
            through = [segment.start, *segment.flattened(2)]
            for (x, y), (to_x, to_y) in itertools.pairwise(through):
                points.append(item.matrix.point((x + to_x) / 2, (y + to_y) / 2))
    return tuple(points[:: max(1, len(points) // 8)])


def _surfaces(inspection: Inspection) -> Iterator[_Surface]:
    for place, (element, matrix) in enumerate(inspection.painted):
        steps = list(lineage(element))
        if element.tag == SVG + "text" or any(_SEEN_THROUGH & set(step.attrib) for step in steps):
            continue
        if any(map(ruled, names(element))):
            continue
        paints = ink_of(element)
        if element.tag == SVG + "image":
            x, y, width, height = rect_of(element)
            corners = ((x, y), (x + width, y), (x + width, y + height), (x, y + height))
            outlines: tuple[tuple[Point, ...], ...] = (tuple(matrix.point(*c) for c in corners),)
        elif paints and property_of(element, "fill") not in ("none", "transparent"):
            outlines = _outlines(element, matrix)
        else:
            continue
        if outlines:
            box = Rect.around(point for one in outlines for point in one)
            even_odd = property_of(element, "fill-rule") == "evenodd"
            yield _Surface(place, element, box, paints[0], _shown(element), outlines, even_odd)


_SEEN_THROUGH = frozenset(("mask", "mix-blend-mode"))
"""What lets be seen what lies below."""


def _outlines(element: etree._Element, matrix: Matrix) -> tuple[tuple[Point, ...], ...]:
    """The lines around a shape, curves in short straight steps, on the page."""
    found: list[list[Point]] = []
    for segment in outline(element).segments():
        if segment.operator == "M":
            found.append([])
        found[-1] += [matrix.point(*point) for point in segment.flattened(6)]
    return tuple(tuple(points) for points in found if len(points) > 2)


_Clip = tuple[tuple[tuple[Point, ...], ...], bool]
"""The outlines of a clip path, and whether it goes by even and odd."""


def _clips(element: etree._Element) -> list[_Clip]:
    found: list[_Clip] = []
    for step in lineage(element):
        name = target(step.get("clip-path"))
        root = step.getroottree().getroot()
        path = root.find(f".//*[@id='{name}']/{SVG}path") if name else None
        if path is not None:
            matrix = page_matrix(step) @ parse_transform(path.get("transform"))
            found.append((_outlines(path, matrix), path.get("clip-rule") == "evenodd"))
    return found


def _within(point: Point, outlines: Iterable[Sequence[Point]], even_odd: bool) -> bool:
    """Whether a point is inside outlines, by the rule that they are filled by (SVG 1.1, 11.3)."""
    x, y = point
    winding = crossings = 0
    for points in outlines:
        before_x, before_y = points[-1]
        for at_x, at_y in points:
            if (before_y <= y) != (at_y <= y):
                meets = before_x + (y - before_y) * (at_x - before_x) / (at_y - before_y)
                if meets > x:
                    crossings += 1
                    winding += 1 if at_y > before_y else -1
            before_x, before_y = at_x, at_y
    return bool(crossings % 2) if even_odd else winding != 0


def _shown(element: etree._Element) -> frozenset[str]:
    """The names that an element is only shown by, its own and of the groups around it."""
    steps = (name for step in lineage(element) for name in names(step))
    return frozenset(name for name in steps if name.startswith("show-"))
