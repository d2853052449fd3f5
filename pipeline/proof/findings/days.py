"""The days of a spread, read back: each there once, in order, beside the name of its weekday.

What is read is held against the calendar itself. Which place belongs to which day is taken from
where things stand on the page: a figure belongs to the name nearest to it.
"""

from __future__ import annotations

import datetime as dt
import itertools
import math
import re
from collections import Counter
from collections.abc import Iterator, Sequence
from dataclasses import dataclass

from pipeline.base.geometry import Rect
from pipeline.plan.words import Words
from pipeline.proof.findings.finding import Finding
from pipeline.proof.findings.reading import FaceRead, finding_on, says, says_just
from pipeline.proof.findings.slots import Slot
from pipeline.proof.findings.subject import Subject
from pipeline.proof.read.text import LeafText

_DAY_KEY = re.compile(r"(?:day|date)(\d+)-(name|number|date)$")


def is_day_key(key: str) -> bool:
    """Whether a key's text is looked after here.

    >>> is_day_key("day3-number"), is_day_key("week-number")
    (True, False)
    """
    return _DAY_KEY.match(key) is not None


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
        if not self.found:
            return self.slot.area
        return Rect.union(text.box for text in self.found)

    @property
    def said(self) -> str:
        return " ".join(text.text for text in self.found)


@dataclass(frozen=True)
class _Figure:
    """A day's figure as it was read, and the name that stands nearest to it."""

    place: _Place
    shown: dt.date
    name: _Place | None
    weekday: int | None


def day_findings(
    faces: Sequence[FaceRead], days: Sequence[dt.date], subject: Subject
) -> Iterator[Finding]:
    """What is wrong with the days on the facing pages of a spread, or on a single page.

    ``days`` are those the pages are about.
    """
    words = subject.words
    places = [place for face in faces for place in _places(face, days)]
    if not places:
        return
    empty = [place for place in places if not place.found]
    figures = [place for place in places if place.part != "name" and place.found]
    names = [place for place in places if place.part == "name"]
    read = list(_read(figures, names, days, words))
    known = {id(figure.place) for figure in read}
    strange = [place for place in figures if id(place) not in known]
    for place in strange:
        yield finding_on(
            place.face,
            subject,
            "date-wrong",
            f"'{place.said}' stands where {_long(place.day)} belongs",
            place.box,
        )
    for place in empty:
        what = "the weekday of " if place.part == "name" else ""
        yield finding_on(
            place.face, subject, "date-missing", f"{what}{_long(place.day)} is missing", place.box
        )
    excused = {place.day for place in (*strange, *empty)}
    counted = Counter(figure.shown for figure in read)
    weekend = {day for day in days if day.weekday() in words.weekend}
    absent = [day for day in days if counted and not counted[day] and day not in excused]
    if set(absent) <= weekend and not set(counted) & weekend:
        absent = []  # pages for workdays alone
    doubled = _doubled(counted, absent)
    for day in doubled:
        last = [figure for figure in read if figure.shown == day][-1]
        second = [figure for figure in read if figure.shown == day and figure.place.day != day] or [
            last
        ]
        lacking = f", and {_list(absent)} missing" if absent else ""
        yield finding_on(
            second[0].place.face,
            subject,
            "date-doubled",
            f"{_long(day)} is there {_times(counted[day])}{lacking}",
            second[0].place.box,
        )
    if absent and not doubled:
        face = faces[0]
        for day in absent:
            yield finding_on(face, subject, "date-missing", f"{_long(day)} is missing", None)
    doubtful = {*doubled, *absent}
    wrong = [
        figure
        for figure in read
        if figure.weekday is not None
        and figure.weekday != figure.shown.weekday()
        and figure.shown not in doubtful
    ]
    for figure in wrong:
        assert figure.name is not None
        yield finding_on(
            figure.place.face,
            subject,
            "date-weekday",
            f"'{figure.name.said}' stands beside {_long(figure.shown)}, a {figure.shown:%A}",
            figure.place.box,
        )
    for place in names:
        if place.found and not says_just(place.found, _all_names(words)):
            yield finding_on(
                place.face,
                subject,
                "date-wrong",
                f"'{place.said}' stands where the weekday of {_long(place.day)} belongs",
                place.box,
            )
    if not (wrong or doubled or absent or strange):
        yield from _disorder(faces, read, subject)


def _places(face: FaceRead, days: Sequence[dt.date]) -> Iterator[_Place]:
    for slot in face.slots.texts:
        match = _DAY_KEY.match(slot.key)
        if match is None or not 1 <= int(match[1]) <= len(days):
            continue
        yield _Place(face, slot, face.said_at(slot), days[int(match[1]) - 1], match[2])


def _read(
    figures: Sequence[_Place], names: Sequence[_Place], days: Sequence[dt.date], words: Words
) -> Iterator[_Figure]:
    """Each figure with the day it says, and the name nearest to it; a name serves once."""
    named: dict[int, _Place] = {}
    for face in dict.fromkeys(figure.face for figure in figures):
        own = [n for n, figure in enumerate(figures) if figure.face is face]
        there = [name for name in names if name.face is face]
        beside = _beside([figures[n] for n in own], there)
        named |= {own[at]: there[to] for at, to in beside.items()}
    for number, figure in enumerate(figures):
        shown = _day_said(figure, days, words)
        if shown is None:
            continue
        name = named.get(number)
        weekday = _weekday_said(name, shown, words) if name else None
        yield _Figure(figure, shown, name, weekday)


def _beside(figures: Sequence[_Place], names: Sequence[_Place]) -> dict[int, int]:
    """Which name each figure belongs to, so that all together they are nearest.

    The nearest name alone is not always its own: in a row of columns the next day's may be nearer.
    """

    def cost(figure: int, name: int) -> float:
        one, other = figures[figure], names[name]
        inked = one.box, other.box
        return _apart(one.slot.room, other.slot.room) + 0.1 * _apart(*inked) + 0.01 * _far(*inked)

    pairs: dict[int, int] = {}
    every = ((figure, name) for figure in range(len(figures)) for name in range(len(names)))
    for figure, name in sorted(every, key=lambda pair: cost(*pair)):
        if figure not in pairs and name not in pairs.values():
            pairs[figure] = name
    better = True
    while better:
        better = False
        for one, other in itertools.combinations(pairs, 2):
            now = cost(one, pairs[one]) + cost(other, pairs[other])
            if cost(one, pairs[other]) + cost(other, pairs[one]) < now - 1e-6:
                pairs[one], pairs[other] = pairs[other], pairs[one]
                better = True
    return pairs


def _apart(one: Rect, other: Rect) -> float:
    across = max(0.0, one.x - other.right, other.x - one.right)
    down = max(0.0, one.y - other.bottom, other.y - one.bottom)
    return math.hypot(across, down)


def _far(one: Rect, other: Rect) -> float:
    across = one.x + one.width / 2 - other.x - other.width / 2
    return math.hypot(across, one.y + one.height / 2 - other.y - other.height / 2)


def _day_said(place: _Place, days: Sequence[dt.date], words: Words) -> dt.date | None:
    """The day a figure says: of those that it may mean the one that belongs there."""
    for just in (True, False):
        for day in (place.day, *days):
            forms = (
                (words.number(day.day),)
                if place.part == "number"
                else (words.date(day, "MMMMd"), words.date(day, "MMMd"))
            )
            if (says_just if just else says)(place.found, forms):
                return day
    return None


def _weekday_said(place: _Place, shown: dt.date, words: Words) -> int | None:
    """The weekday a name says, 0 = Monday; the one that is right where it may mean several."""
    week = [shown + dt.timedelta(days=n) for n in range(7)]
    for day in week:
        if says_just(place.found, words.day_name(day)):
            return day.weekday()
    return None


def _all_names(words: Words) -> list[str]:
    monday = dt.date(2027, 3, 1)
    return [name for n in range(7) for name in words.day_name(monday + dt.timedelta(days=n))]


def _doubled(counted: Counter[dt.date], absent: Sequence[dt.date]) -> list[dt.date]:
    """Days that are there oftener than others, where that looks like a slip.

    A day shown again while another is missing, or one day of all: where several come again, as on
    a flap that repeats the workdays, it is meant.
    """
    if not counted:
        return []
    least = min(counted.values())
    oftener = [day for day in sorted(counted) if counted[day] > least]
    return oftener if absent or len(oftener) == 1 else []


def _disorder(
    faces: Sequence[FaceRead], read: Sequence[_Figure], subject: Subject
) -> Iterator[Finding]:
    """Days that do not follow on each other, row by row or column by column."""
    backwards = subject.words.right_to_left
    for face in faces:
        own = [figure for figure in read if figure.place.face is face]
        by_row = _sorted(own, by_row=True, backwards=backwards)
        by_column = _sorted(own, by_row=False, backwards=backwards)
        if any(_rising(order) for order in (by_row, by_column)):
            continue
        slip = next(
            later for before, later in itertools.pairwise(by_row) if later.shown < before.shown
        )
        yield finding_on(
            face,
            subject,
            "date-order",
            f"{_long(slip.shown)} comes after a later day",
            slip.place.box,
        )


def _sorted(figures: Sequence[_Figure], *, by_row: bool, backwards: bool) -> list[_Figure]:
    """In reading order: things less than half a figure apart are on one line."""

    def lines(values: list[float], step: float) -> dict[float, int]:
        numbers: dict[float, int] = {}
        line, last = 0, None
        for value in sorted(set(values)):
            if last is not None and value - last > step:
                line += 1
            numbers[value] = line
            last = value
        return numbers

    if not figures:
        return []
    step = max(figure.place.slot.area.height for figure in figures) / 2
    middles = {
        id(figure): (
            figure.place.slot.area.x + figure.place.slot.area.width / 2,
            figure.place.slot.area.y + figure.place.slot.area.height / 2,
        )
        for figure in figures
    }
    rows = lines([y for _, y in middles.values()], step)
    columns = lines([x for x, _ in middles.values()], step)

    def key(figure: _Figure) -> tuple[int, int]:
        x, y = middles[id(figure)]
        across = -columns[x] if backwards else columns[x]
        return (rows[y], across) if by_row else (across, rows[y])

    return sorted(figures, key=key)


def _rising(order: Sequence[_Figure]) -> bool:
    """Whether days never fall back, but for a run that begins anew (a copy of them all)."""
    days = [figure.shown for figure in order]
    if not days:
        return True
    first, last = min(days), max(days)
    return all(b >= a or (a, b) == (last, first) for a, b in itertools.pairwise(days))


def _long(day: dt.date) -> str:
    """A day as findings name it, in the language of the command line.

    >>> _long(dt.date(2027, 3, 2))
    '2 March 2027'
    """
    return f"{day.day} {day:%B %Y}"


def _list(days: Sequence[dt.date]) -> str:
    return ", ".join(map(_long, days)) + (" is" if len(days) == 1 else " are")


def _times(count: int) -> str:
    return {2: "twice", 3: "three times"}.get(count, f"{count} times")
