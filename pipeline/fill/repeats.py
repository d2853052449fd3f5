"""Repeats what is drawn once: a group named ``each-…`` holds a room and one sample.

The room is a rectangle without paint. The sample is drawn in the place of each date, day, month or
hour, and fitted to its share of the room: what is drawn near an edge keeps its distance from it,
and type keeps its size. Keys inside stand without a number and are given that of their place, so
that all else treats them as if someone had drawn every one of them.
"""

from __future__ import annotations

import copy
import re
from collections.abc import Sequence
from dataclasses import dataclass, replace
from itertools import takewhile
from typing import NamedTuple

from lxml import etree

from pipeline.base.errors import UserError, did_you_mean
from pipeline.base.geometry import Rect
from pipeline.fill.layers import box_of_ink
from pipeline.fill.template import Template, rect_of
from pipeline.fill.texts import CELL, is_unpainted
from pipeline.plan.facts import line_of
from pipeline.plan.model import Facts
from pipeline.svg.path import SHAPES
from pipeline.svg.transform import Matrix, parse_transform
from pipeline.svg.tree import NAMES, SVG, names, page_matrix, remove
from pipeline.text.style import length

EACH = "each-"

NEAR_EDGE = 0.4
"""What lies within so much of a sample's width from an edge keeps to that edge; by eye."""

SMALLEST_SHARE = 0.6
"""A cell may be so much narrower or lower than its sample, no smaller; by eye."""

DIMMED = 0.75
"""How strong the dates of neighbouring months are, where they are dimmed: type of a grey as dark as
#3f4347 keeps 4.5 : 1 (WCAG 2.2), which a cheap printer needs."""

_NAME = re.compile(
    r"each-(?P<what>date|day|weekday|week|month|hour-(?P<from>\d{1,2})-(?P<to>\d{1,2})"
    r"|line-of-(?P<list>[a-z0-9_-]+?))"
    r"(?P<along>-across|-down)?(?P<manner>(?:-(?:even|6rows|alone|dim))*)"
)
_FAMILIES = {"date": "cell", "day": "day", "weekday": "weekday", "week": "week", "month": "month"}
_SIX_WEEKS = 42
_WITHIN = "data-within"
"""Marks a sample within others: which places of those it is in, the outermost first."""

_FREE = ("hour", "weekday", "line")
"""What is the same in all places of another sample, and of what another holds the same in all."""

_INSIDE = {"month": ("date", "week"), "week": ("day", "date")}
"""What else can be repeated in the places of a sample: what a month and a week consist of."""

_FLOATS = 1e-6
_ROUNDED = 0.005
"""A room may be too small by so much of it: editors round what was drawn to fit."""


@dataclass(frozen=True)
class Each:
    """What an ``each-…`` name asks for: what is repeated, which way, and how.

    ``family`` is what the keys inside become keys of, ``inner`` what they begin with.
    """

    family: str
    inner: str
    hours: tuple[int, int] | None = None
    along: str = ""
    even: bool = False
    six_rows: bool = False
    others: str = "shown"

    def numbers(self, facts: Facts, within: str = "") -> Sequence[int]:
        """The numbers of its places on a page; none where a page has no such thing.

        ``within`` is what the keys of a month begin with, where it is in the sample for that.
        """
        if self.hours is not None:
            return range(self.hours[0], self.hours[1] + 1)
        count = facts.counts.get(within + self.family, 0)
        whole = self.family == "cell" and self.six_rows and count
        return range(1, (_SIX_WEEKS if whole else count) + 1)


def each_of(name: str) -> Each | None:
    """What a name asks to be repeated; None when it isn't understood.

    >>> each_of("each-date-alone-6rows").family, each_of("each-date-across-even").family
    ('cell', 'date')
    >>> each_of("each-hour-7-19").hours, each_of("each-year")
    ((7, 19), None)
    >>> each_of("each-line-of-seed-box-down").family
    'line-of-seed-box-'
    """
    match = _NAME.fullmatch(name)
    if match is None:
        return None
    along, manner = (match["along"] or "")[1:], (match["manner"] or "").split("-")
    if match["from"] is not None:
        first, last = int(match["from"]), int(match["to"])
        hours = (first, last) if first <= last <= 24 else None
        return Each("hour", "hour", hours, along, "even" in manner) if hours else None
    if match["list"] is not None:
        return Each(line_of(match["list"]), "line", None, along, "even" in manner)
    what = match["what"]
    family = "date" if what == "date" and along else _FAMILIES[what]
    others = next((one for one in ("alone", "dim") if one in manner), "shown")
    return Each(family, what, None, along, "even" in manner, "6rows" in manner, others)


def repeats_on(facts: Facts) -> list[str]:
    """The ``each-…`` names that a page can hold."""
    families = {"hour": "each-hour-7-19"}
    families |= {family: f"{EACH}{what}" for what, family in _FAMILIES.items()}
    families |= {one: f"{EACH}{one[:-1]}" for one in facts.counts if one.startswith("line-of-")}
    found = [families[one] for one in (*facts.counts, "hour") if one in families]
    return found + ["each-date-across", "each-date-down"] * ("date" in facts.counts)


def repeated(template: Template, facts: Facts, problems: list[UserError] | None = None) -> Template:
    """A template with all its samples repeated for a page; the template itself if it has none.

    Raises UserError for a group that lacks its room or sample, for what the page hasn't got, for
    a room that is too small, and for a key with a number. Where ``problems`` is given, it takes
    them, and the groups that have some are left out.
    """
    if not any(map(is_repeated, template.root.iter())):
        return template
    root = copy.deepcopy(template.root)
    # The outer ones first: those in a sample are then repeated in each of its places.
    while (group := next(filter(is_repeated, root.iter()), None)) is not None:
        try:
            _Repeat(group, template.name, facts).draw()
        except UserError as problem:
            if problems is None:
                raise
            problems.append(problem)
            remove(group)
    return replace(template, root=root)


def is_repeated(element: etree._Element) -> bool:
    """Whether an element is called ``each-…``."""
    return any(name.startswith(EACH) for name in names(element))


def room_and_sample(group: etree._Element) -> tuple[etree._Element, etree._Element] | None:
    """The room and the sample that an ``each-…`` group holds; None where it lacks one."""
    drawn = [child for child in group if isinstance(child.tag, str)]
    room = next((one for one in drawn if one.tag == SVG + "rect" and is_unpainted(one)), None)
    sample = next((one for one in drawn if one is not room), None)
    return None if room is None or sample is None else (room, sample)


def cell_of(sample: etree._Element) -> etree._Element | None:
    """The rectangle that says how large one place is: the largest of a sample."""

    def size(rect: etree._Element) -> float:
        box = page_matrix(rect).bounds(rect_of(rect))
        return box.width * box.height

    return max(sample.iter(SVG + "rect"), key=size, default=None)


class _Grid(NamedTuple):
    """How places lie in a room: how many columns, and the size of a place."""

    columns: int
    width: float
    height: float


class _Repeat:
    """One group that is repeated on one page."""

    def __init__(self, group: etree._Element, where: str, facts: Facts) -> None:
        self.group, self.where, self.facts = group, where, facts
        self.name = next(name for name in names(group) if name.startswith(EACH))
        each = each_of(self.name)
        self.around = str(group.attrib.pop(_WITHIN, "")).split()
        # What its keys begin with: those of a month where it is in the sample for one.
        self.begin = next((f"{one}-" for one in self.around if one.startswith("month")), "")
        numbers = self._numbers(each) if each else ()
        if each is None or not numbers:
            raise self._error(*_no_such(self.name, each, facts))
        in_week = self._outer("week") and each.inner in ("day", "date")
        self.each = replace(each, family="cell") if in_week else each
        self.family = self.each.family if each.inner in _FREE else self.begin + self.each.family
        self.numbers = numbers

    def _outer(self, what: str) -> int:
        """The number of the place that it is in of a sample for so much; 0 where it is in none."""
        found = (re.fullmatch(rf"{what}(\d+)", one) for one in self.around)
        return next((int(match[1]) for match in found if match), 0)

    def _numbers(self, each: Each) -> Sequence[int]:
        """The numbers of its places; of days within a sample for a week, those of its dates."""
        outer = [one.rstrip("0123456789") for one in self.around]
        apart = [one for one in outer if one not in _FREE and not one.startswith("line-of-")]
        if each.inner in _FREE:
            if each.inner in outer and (each.inner != "line" or each.family in outer):
                raise self._error("this cannot be repeated inside itself", "take it out of there")
            return each.numbers(self.facts)
        for one in apart[-1:]:
            if each.inner not in _INSIDE.get(one, ()):
                raise self._error(f"this cannot be repeated inside each-{one}", _may_hold(one))
        if week := self._outer("week"):
            return range(7 * week - 6, 7 * week + 1)
        return each.numbers(self.facts, self.begin)

    def _error(self, what: str, remedy: str) -> UserError:
        return UserError(self.where, what, remedy, element=self.group.get("id") or self.name)

    def draw(self) -> None:
        """Puts the repeated sample in the place of what the group holds."""
        room, sample = self._room_and_sample()
        inside = page_matrix(self.group).inverse()
        self._check_keys(sample)
        area = self._upright(inside @ page_matrix(room), rect_of(room))
        cell = self._cell(sample)
        held = self._upright(inside @ page_matrix(cell), rect_of(cell))
        grid = self._grid(area, held)
        for child in list(self.group):
            if child is not sample:
                remove(child)
        self.group.attrib.pop(NAMES)
        places = []
        for place, number in enumerate(self.numbers):
            copied = copy.deepcopy(sample)
            _fit(copied, Matrix(), held, (grid.width, grid.height))
            row, column = divmod(place, grid.columns)
            at = (area.x + column * grid.width - held.x, area.y + row * grid.height - held.y)
            moved = etree.Element(SVG + "g", {"transform": str(Matrix(e=at[0], f=at[1]))})
            moved.set(CELL, f"{held.x:.6g} {held.y:.6g} {grid.width:.6g} {grid.height:.6g}")
            moved.append(copied)
            self._number(moved, number)
            places.append(moved)
        remove(sample)
        self.group.extend(places)

    def _room_and_sample(self) -> tuple[etree._Element, etree._Element]:
        found = room_and_sample(self.group)
        if found is None:
            raise self._error(
                "this needs a rectangle without fill and stroke (the room for all of them) and"
                " one drawn sample",
                "group the two and give the group this id",
            )
        return found

    def _cell(self, sample: etree._Element) -> etree._Element:
        cell = cell_of(sample)
        if cell is None:
            raise self._error(
                "the sample has no rectangle, so that nobody knows how large one of them is",
                "group it with a rectangle of that size; it needs no fill and no stroke",
            )
        return cell

    def _check_keys(self, sample: etree._Element) -> None:
        """Raises UserError for a key with a number, which would say the same in every place."""
        numbered = re.compile(rf"(?:show-)?{self.each.inner}\d+(?:-|$)")
        for element in sample.iter():
            for name in filter(numbered.match, names(element)):
                bare = re.sub(r"\d+", "", name, count=1)
                raise self._error(
                    f"'{name}' in its sample has a number, so it would say the same in every place",
                    f"call it '{bare}'",
                )

    def _upright(self, matrix: Matrix, rect: Rect) -> Rect:
        """A rectangle in the group's own coordinates; raises UserError where it is aslant."""
        if abs(matrix.b) > _FLOATS or abs(matrix.c) > _FLOATS:
            raise self._error(
                "its room or its sample is turned within the group", "turn the whole group instead"
            )
        return matrix.bounds(rect)

    def _grid(self, area: Rect, held: Rect) -> _Grid:
        """How the places lie; raises UserError where the room is too small for them."""
        each, count = self.each, len(self.numbers)
        if each.family == "cell" and not each.along:
            columns = 7
        elif each.along:
            columns = count if each.along == "across" else 1
        else:
            columns = max(1, round(area.width / held.width))
            columns = columns if each.family == "month" else min(count, columns)
        rows = -(-count // columns)
        if each.family == "month" and not each.along:
            rows = max(rows, round(area.height / held.height))  # few months are no larger
        width, height = area.width / columns, area.height / rows
        if each.family == "date" and not each.even:
            # All months alike: each place as it is drawn.
            width = held.width if each.along == "across" else width
            height = held.height if each.along == "down" else height
        scale = page_matrix(self.group)
        for needed, there, per_mm, way in (
            (max(width, held.width * SMALLEST_SHARE) * columns, area.width, scale.scale_x, "wide"),
            (max(height, held.height * SMALLEST_SHARE) * rows, area.height, scale.scale_y, "high"),
        ):
            if needed > there * (1 + _ROUNDED):
                missing = (needed - there) * per_mm
                raise self._error(
                    f"{count} of them need {needed * per_mm:.1f} mm, but the room is"
                    f" {there * per_mm:.1f} mm {way}: {missing:.1f} mm are missing",
                    "make the room larger, or the sample smaller",
                )
        return _Grid(columns, min(width, area.width / columns), min(height, area.height / rows))

    def _number(self, place: etree._Element, number: int) -> None:
        """Gives the keys in a place the number that is theirs."""
        own = f"{self.each.inner}{number}"
        for element in list(place.iter()):
            called = names(element)
            if is_repeated(element):
                # Lines say of which list, which may not be in itself.
                steps = [self.each.family] * (self.each.inner == "line") + [own]
                element.set(_WITHIN, " ".join((*self.around, *steps)))
            elif called and not self._is_inner(element, place):
                element.set(NAMES, " ".join(self._numbered(name, number) for name in called))
        if self.each.family != "cell" or self.each.others == "shown":
            return
        keyed = [one for one in place.iter() if any(map(self._is_of_cell, names(one)))]
        for element in keyed:
            if any(step in keyed for step in element.iterancestors()):
                continue
            within = self._wrapped(element, f"show-{self.family}{number}")
            if self.each.others == "dim":
                outside = copy.deepcopy(within)
                outside.set(NAMES, f"show-{self.family}{number}-outside")
                outside.set("opacity", f"{DIMMED}")
                within.addnext(outside)

    def _is_inner(self, element: etree._Element, place: etree._Element) -> bool:
        """Whether an element belongs to a sample of the same inside this one: a line to another
        list's."""
        for step in takewhile(lambda one: one is not place, element.iterancestors()):
            each = next(filter(None, map(each_of, names(step))), None)
            if each is not None and each.inner == self.each.inner:
                return True
        return False

    def _is_of_cell(self, name: str) -> bool:
        return name.removeprefix("show-").startswith(f"{self.begin}cell")

    def _wrapped(self, element: etree._Element, name: str) -> etree._Element:
        group = etree.Element(SVG + "g", {NAMES: name})
        element.addprevious(group)
        group.append(element)
        return group

    def _numbered(self, name: str, number: int) -> str:
        """The name of a key or of what is shown, with its number, where there is such a one.

        ``date-number`` becomes ``cell9-number``, ``show-weekend`` becomes ``show-cell9-weekend``.
        """
        family, inner = f"{self.family}{number}", self.each.inner
        if name.startswith("show-"):
            shown = name.removeprefix("show-").removeprefix(f"{inner}-")
            for flag in (f"{family}-{shown}", family if shown == inner else ""):
                if flag in self.facts.flags:
                    return f"show-{flag}"
            return name
        part = name.removeprefix(inner)
        keys = [family + part] * (part != name and part[:1] in ("", "-")) + [f"{family}-{name}"]
        facts = self.facts
        known = (k for k in keys if k in facts.texts or k in facts.months or k in facts.moons)
        return next(known, name)


def _no_such(name: str, each: Each | None, facts: Facts) -> tuple[str, str]:
    """Why a page cannot repeat what a name asks for, and what to do."""
    known = repeats_on(facts)
    if each is not None and each.inner == "line":
        called = each.family.removeprefix("line-of-").rstrip("-")
        lists = [one for one in known if one.startswith(f"{EACH}line-of-")]
        meant = did_you_mean(name, lists) if lists else ""
        there_is = f"there is no list '{called}' with lines in it"
        return there_is, meant or f"write lists/{called}.csv in the collection"
    return (
        "this page has no such thing to repeat",
        did_you_mean(name, known) or "see 'each-' in docs/templates.md",
    )


def _may_hold(outer: str) -> str:
    """What samples can hold of others, for an error about one in the sample for ``outer``."""
    if outer == "month":
        return "a month holds each-date, each-week and what can be in any"
    if outer == "week":
        return "a week holds each-day and what can be in any"
    return "hours, weekdays and the lines of a list can be in any, dates and weeks in each-month"


# How a sample is fitted to its place


def _fit(element: etree._Element, around: Matrix, held: Rect, size: tuple[float, float]) -> None:
    """Moves and stretches, in place, what a sample of the size ``held`` holds to another size.

    ``around`` leads from what is around the element to the coordinates of ``held`` and ``size``.
    """
    matrix = around @ parse_transform(element.get("transform"))
    if element.tag == SVG + "rect":
        new = matrix.inverse().bounds(_stretched(matrix.bounds(rect_of(element)), held, size))
        for name, value in zip(("x", "y", "width", "height"), new, strict=True):
            element.set(name, f"{value:.6g}")
    elif element.tag == SVG + "line":
        for end in ("1", "2"):
            at = matrix.point(*(length(element.get(axis + end)) for axis in "xy"))
            moved = matrix.inverse().point(*_moved(at, held, size))
            for axis, value in zip("xy", moved, strict=True):
                element.set(axis + end, f"{value:.6g}")
    elif element.tag == SVG + "text":
        at = matrix.point(*_begins(element))
        _shift(element, around, at, _moved(at, held, size))
    elif element.tag in (SVG + "g", SVG + "a") and _holds_parts(element):
        for child in element:
            _fit(child, matrix, held, size)
    elif (box := _box(element, around)) is not None:
        new = _stretched(box, held, size)
        thin = min(box.width, box.height) < 0.01 * max(held.width, held.height)
        if thin and str(element.tag).removeprefix(SVG) in SHAPES:  # a rule that was drawn by pen
            scale = (
                new.width / box.width if box.width > _FLOATS else 1.0,
                new.height / box.height if box.height > _FLOATS else 1.0,
            )
            to_new = Matrix(
                scale[0], 0, 0, scale[1], new.x - box.x * scale[0], new.y - box.y * scale[1]
            )
            change = around.inverse() @ to_new @ around
            element.set("transform", str(change @ parse_transform(element.get("transform"))))
        else:
            middle = (box.x + box.width / 2, box.y + box.height / 2)
            _shift(element, around, middle, _moved(middle, held, size))


def _holds_parts(group: etree._Element) -> bool:
    """Whether a group's children are fitted one by one; a picture of many shapes stays whole."""
    parts = (SVG + "rect", SVG + "line", SVG + "text")
    return any(inner.tag in parts or names(inner) for inner in group.iterdescendants())


def _begins(text: etree._Element) -> tuple[float, float]:
    def first(name: str) -> float:
        values = (step.get(name) for step in text.iter())
        parts = next((value.split() for value in values if value), ["0"])
        return length(parts[0].rstrip(","))

    return first("x"), first("y")


def _box(element: etree._Element, around: Matrix) -> Rect | None:
    """The box of an element's ink in the coordinates that ``around`` leads to."""
    ink = box_of_ink(element)
    parent = element.getparent()
    if ink is None:
        return None
    to_page = Matrix() if parent is None else page_matrix(parent)
    return (around @ to_page.inverse()).bounds(ink)


def _shift(
    element: etree._Element, around: Matrix, old: tuple[float, float], new: tuple[float, float]
) -> None:
    back = around.inverse()
    (x0, y0), (x1, y1) = back.point(*old), back.point(*new)
    if abs(x1 - x0) > _FLOATS or abs(y1 - y0) > _FLOATS:
        moved = Matrix(e=x1 - x0, f=y1 - y0) @ parse_transform(element.get("transform"))
        element.set("transform", str(moved))


def _stretched(box: Rect, held: Rect, size: tuple[float, float]) -> Rect:
    x, y = _moved((box.x, box.y), held, size)
    right, bottom = _moved((box.right, box.bottom), held, size)
    return Rect(x, y, max(right - x, 0.0), max(bottom - y, 0.0))


def _moved(at: tuple[float, float], held: Rect, size: tuple[float, float]) -> tuple[float, float]:
    return (
        _kept(at[0], held.x, held.width, size[0]),
        _kept(at[1], held.y, held.height, size[1]),
    )


def _kept(value: float, start: float, before: float, now: float) -> float:
    """Where a point on a line of one length lies on it at another: as far from the nearer end.

    >>> [_kept(value, 0, 10, 15) for value in (1, 5, 9)]
    [1, 7.5, 14.0]
    """
    share = (value - start) / before if before else 0.0
    if share <= NEAR_EDGE:
        return value
    return value + (now - before) * (1.0 if share >= 1 - NEAR_EDGE else 0.5)
