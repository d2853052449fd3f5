"""The days of a spread, read back: each there once, in order, beside the name of its weekday.

What is read is held against the calendar itself. Which place belongs to which day is taken from
where things stand on the page: a figure belongs to the name nearest to it.
"""

from __future__ import annotations

import calendar
import datetime as dt
import itertools
import math
import re
from collections import Counter
from collections.abc import Iterator, Sequence
from dataclasses import dataclass

from pipeline.base.geometry import Rect
from pipeline.plan.facts import in_month
from pipeline.plan.words import Words
from pipeline.proof.findings.reading import FaceRead, joined, says, says_just
from pipeline.proof.findings.subject import SetFinding, Slot, months_on
from pipeline.proof.read.objects import middle
from pipeline.proof.read.text import LeafText

_DAY_KEY = re.compile(r"(?:day|date)(\d*)-(name|number|date)$")


_CELL_KEY = re.compile(r"cell(\d+)-(number|date)$")
_HEAD_KEY = re.compile(r"weekday\d+-name$")


def is_day_key(key: str) -> bool:
    """Whether a key's text is looked after here.

    >>> is_day_key("day3-number"), is_day_key("month2-cell42-number"), is_day_key("week-number")
    (True, True, False)
    """
    _, rest = in_month(key)
    return (_DAY_KEY.match(rest) or _CELL_KEY.match(rest)) is not None


@dataclass(frozen=True)
class _Place:
    """A place for a day's name or figure: what is meant to be there, and what was found."""

    face: FaceRead
    slot: Slot
    found: list[LeafText]
    day: dt.date
    part: str

    @property
    def box(self) -> Rect:
        """What was found, or the place itself where nothing was."""
        return Rect.union(one.box for one in self.found) if self.found else self.slot.area

    def finding(self, rule: str, message: str) -> SetFinding:
        return self.face.finding(rule, message, self.box)


@dataclass(frozen=True)
class _Figure:
    """A day's figure: the day it says, and the name that stands nearest to it.

    ``weekday`` is what that says, 0 = Monday.
    """

    place: _Place
    shown: dt.date
    name: _Place | None
    weekday: int | None


def day_findings(
    faces: Sequence[FaceRead], days: Sequence[dt.date], begin: str = ""
) -> Iterator[SetFinding]:
    """What is wrong with the days on the facing pages of a spread, or on a single page.

    ``days`` are those the pages are about; of a page that tells the dates of several months, those
    of the one whose keys ``begin`` so.
    """
    words = faces[0].subject.words
    places = [place for face in faces for place in _places(face, days, begin)]
    empty = [place for place in places if not place.found]
    names = [place for place in places if place.part == "name"]
    figures = [place for place in places if place.part != "name" and place.found]
    read: list[_Figure] = []
    strange: list[_Place] = []
    for place, name in zip(figures, _beside(figures, names), strict=True):
        shown = _day_said(place, days, words)
        if shown is None:
            strange.append(place)
        else:
            weekday = _weekday_said(name, shown, words) if name else None
            read.append(_Figure(place, shown, name, weekday))
    for place in strange:
        said = joined(place.found)
        yield place.finding("date-wrong", f"'{said}' stands where {_long(place.day)} belongs")
    for place in empty:
        what = "the weekday of " if place.part == "name" else ""
        yield place.finding("date-missing", f"{what}{_long(place.day)} is missing")
    counted = Counter(figure.shown for figure in read)
    excused = {place.day for place in (*strange, *empty)}
    absent = [day for day in days if counted and not counted[day] and day not in excused]
    weekend = {day for day in days if day.weekday() in words.weekend}
    if set(absent) <= weekend and not set(counted) & weekend:
        absent = []  # pages for workdays alone
    doubled = _doubled(counted, absent)
    for day in doubled:
        there = [figure.place for figure in read if figure.shown == day]
        second = next((place for place in there if place.day != day), there[-1])
        times = {2: "twice", 3: "three times"}.get(counted[day], f"{counted[day]} times")
        verb = "is" if len(absent) == 1 else "are"
        lacking = f", and {', '.join(map(_long, absent))} {verb} missing" if absent else ""
        yield second.finding("date-doubled", f"{_long(day)} is there {times}{lacking}")
    for day in absent if not doubled else ():
        yield faces[0].finding("date-missing", f"{_long(day)} is missing")
    wrong = False
    for figure in read:
        day, name = figure.shown, figure.name
        if name is None or figure.weekday in (None, day.weekday()) or day in {*doubled, *absent}:
            continue
        wrong = True
        yield figure.place.finding(
            "date-weekday", f"'{joined(name.found)}' stands beside {_long(day)}, a {day:%A}"
        )
    monday = dt.date(2027, 3, 1)
    every = [name for n in range(7) for name in words.day_name(monday + dt.timedelta(n))]
    for place in names:
        if place.found and not says_just(place.found, every):
            said = joined(place.found)
            yield place.finding(
                "date-wrong", f"'{said}' stands where the weekday of {_long(place.day)} belongs"
            )
    if not (wrong or doubled or absent or strange):
        yield from _disorder(faces, read)


def month_findings(face: FaceRead) -> Iterator[SetFinding]:
    """What is wrong with the dates of months on a page, one by one."""
    assert face.page is not None
    for begin, month in months_on(face.page.facts).items():
        yield from _cell_findings(face, begin, month.cells)
        if begin:  # those of a page for one month are looked at with its facing page
            yield from day_findings([face], month.days, begin)


def _cell_findings(face: FaceRead, begin: str, days: Sequence[dt.date]) -> Iterator[SetFinding]:
    """What is wrong with the dates of a month that stand in cells, seven across.

    Each must stand under the weekday that is read above it.
    """
    words = face.subject.words
    places = [
        _Place(face, slot, face.said_at(slot), days[int(match[1]) - 1], match[2])
        for slot in face.slots.texts
        if slot.key.startswith(begin) and (match := _CELL_KEY.match(slot.key[len(begin) :]))
    ]
    read = [(place, _day_in_cell(place, days, words)) for place in places]
    shown = Counter(day for _, day in read if day)
    heads = [slot for slot in face.slots.texts if _HEAD_KEY.match(slot.key)]
    for place, day in read:
        if not place.found:
            yield place.finding("date-missing", f"{_long(place.day)} is missing")
        elif day is None:
            said = joined(place.found)
            yield place.finding("date-wrong", f"'{said}' stands where {_long(place.day)} belongs")
        elif shown[day] > 1 and day != place.day:
            lacking = "" if shown[place.day] else f", and {_long(place.day)} is missing"
            yield place.finding("date-doubled", f"{_long(day)} is there twice{lacking}")
        else:
            under = _weekday_above(face, place, heads, days)
            if under not in (None, day.weekday()):
                yield place.finding(
                    "date-weekday",
                    f"{_long(day)} stands under {calendar.day_name[under or 0]}; it is a {day:%A}",
                )
            elif day != place.day:
                yield place.finding(
                    "date-wrong", f"{_long(day)} stands where {_long(place.day)} belongs"
                )


def _day_in_cell(place: _Place, days: Sequence[dt.date], words: Words) -> dt.date | None:
    """The day a cell's figure says; of those it may mean the nearest to what belongs there."""
    return _day_said(place, sorted(days, key=lambda day: abs(day - place.day)), words)


def _weekday_above(
    face: FaceRead, place: _Place, heads: Sequence[Slot], week: Sequence[dt.date]
) -> int | None:
    """The weekday (0 = Monday) that is read at the head of a cell's column.

    Without heads, and under one that isn't what was planned, which another finding says, that of
    the day that belongs in the cell.
    """

    def aside(slot: Slot) -> tuple[float, float]:
        area = place.slot.area
        gap = max(0.0, slot.room.x - area.right, area.x - slot.room.right)
        return gap, abs(middle(slot.area).x - middle(area).x)

    head = min(heads, key=aside, default=None)
    if head is None:
        return place.day.weekday()
    found = face.said_at(head)
    if not says(found, face.forms[head.key]):
        return place.day.weekday()
    words = face.subject.words
    named = (day.weekday() for day in week[:7] if says_just(found, words.day_name(day)))
    return next(named, place.day.weekday())


def _places(face: FaceRead, days: Sequence[dt.date], begin: str) -> Iterator[_Place]:
    for slot in face.slots.texts:
        within, rest = in_month(slot.key)
        match = _DAY_KEY.match(rest) if within == begin else None
        if match is not None and 1 <= (number := int(match[1] or 1)) <= len(days):
            yield _Place(face, slot, face.said_at(slot), days[number - 1], match[2])


def _beside(figures: Sequence[_Place], names: Sequence[_Place]) -> list[_Place | None]:
    """Which name each figure belongs to, so that all together they are nearest.

    The nearest name alone is not always its own: in a row of columns the next day's may be nearer.
    """

    def cost(figure: int, name: int) -> float:
        one, other = figures[figure], names[name]
        if one.face is not other.face:
            return math.inf
        far = math.dist(middle(one.box)[:2], middle(other.box)[:2])
        return (
            _apart(one.slot.room, other.slot.room) + 0.1 * _apart(one.box, other.box) + 0.01 * far
        )

    every = itertools.product(range(len(figures)), range(len(names)))
    costs = {pair: cost(*pair) for pair in every}
    pairs: dict[int, int] = {}
    for figure, name in sorted(costs, key=costs.__getitem__):
        if costs[figure, name] < math.inf and figure not in pairs and name not in pairs.values():
            pairs[figure] = name
    better = True
    while better:
        better = False
        for one, other in itertools.combinations(pairs, 2):
            now = costs[one, pairs[one]] + costs[other, pairs[other]]
            if costs[one, pairs[other]] + costs[other, pairs[one]] < now - 1e-6:
                pairs[one], pairs[other] = pairs[other], pairs[one]
                better = True
    return [names[pairs[one]] if one in pairs else None for one in range(len(figures))]


def _apart(one: Rect, other: Rect) -> float:
    across = max(0.0, one.x - other.right, other.x - one.right)
    down = max(0.0, one.y - other.bottom, other.y - one.bottom)
    return math.hypot(across, down)


def _day_said(place: _Place, days: Sequence[dt.date], words: Words) -> dt.date | None:
    """The day a figure says: of those that it may mean the one that belongs there."""
    for test, day in itertools.product((says_just, says), (place.day, *days)):
        forms = [words.number(day.day)]
        if place.part == "date":
            forms = [words.date(day, "MMMMd"), words.date(day, "MMMd")]
        if test(place.found, forms):
            return day
    return None


def _weekday_said(place: _Place, shown: dt.date, words: Words) -> int | None:
    """The weekday a name says; the one that is right where it may mean several."""
    week = (shown + dt.timedelta(n) for n in range(7))
    said = (day.weekday() for day in week if says_just(place.found, words.day_name(day)))
    return next(said, None)


def _doubled(counted: Counter[dt.date], absent: Sequence[dt.date]) -> list[dt.date]:
    """Days that are there oftener than others, where that looks like a slip.

    A day shown again while another is missing, or one day of all: where several come again, as on
    a flap that repeats the workdays, it is meant.
    """
    least = min(counted.values(), default=0)
    oftener = [day for day in sorted(counted) if counted[day] > least]
    return oftener if absent or len(oftener) == 1 else []


def _disorder(faces: Sequence[FaceRead], read: Sequence[_Figure]) -> Iterator[SetFinding]:
    """Days that do not follow on each other, row by row or column by column."""
    for face in faces:
        own = [figure for figure in read if figure.place.face is face]
        by_row, by_column = _in_order(own, face.subject.words.right_to_left)
        if _rising(by_row) or _rising(by_column):
            continue
        slip = next(
            later for before, later in itertools.pairwise(by_row) if later.shown < before.shown
        )
        yield slip.place.finding("date-order", f"{_long(slip.shown)} comes after a later day")


def _in_order(figures: Sequence[_Figure], backwards: bool) -> tuple[list[_Figure], list[_Figure]]:
    """In reading order, by rows and by columns; less than half a figure apart is one line."""
    areas = [figure.place.slot.area for figure in figures]
    step = max((area.height for area in areas), default=0.0) / 2

    def lines(values: list[float]) -> dict[float, int]:
        ordered = sorted(set(values))
        wide = (later - value > step for value, later in itertools.pairwise(ordered))
        return dict(zip(ordered, itertools.accumulate(wide, initial=0), strict=False))

    rows = lines([middle(area).y for area in areas])
    columns = lines([middle(area).x for area in areas])

    def place(figure: _Figure) -> tuple[int, int]:
        spot = middle(figure.place.slot.area)
        return rows[spot.y], -columns[spot.x] if backwards else columns[spot.x]

    return sorted(figures, key=place), sorted(figures, key=lambda one: place(one)[::-1])


def _rising(order: Sequence[_Figure]) -> bool:
    """Whether days never fall back, but for a run that begins anew (a copy of them all)."""
    days = [figure.shown for figure in order]
    ends = (max(days), min(days)) if days else ()
    return all(b >= a or (a, b) == ends for a, b in itertools.pairwise(days))


def _long(day: dt.date) -> str:
    """A day as findings name it, in the language of the command line.

    >>> _long(dt.date(2027, 3, 2))
    '2 March 2027'
    """
    return f"{day.day} {day:%B %Y}"
