"""Whether every page shows the week it is for: its own, its neighbour's, and that behind it.

Small months are read cell by cell. Their figures may stand so close together that a reader of the
file takes those of a week for one text; a figure belongs to the column that it lies in.
"""

from __future__ import annotations

import calendar
import datetime as dt
import itertools
import re
from collections import Counter
from collections.abc import Iterator, Mapping, Sequence
from typing import NamedTuple

from pipeline.base.geometry import Rect
from pipeline.fill.areas import month_cell
from pipeline.plan.model import MonthGrid, Page, Side
from pipeline.plan.words import words_for
from pipeline.proof.findings.days import day_findings, is_day_key, month_findings
from pipeline.proof.findings.reading import FaceRead, joined, says, says_just
from pipeline.proof.findings.subject import SetFinding, Slot, Subject
from pipeline.proof.read.objects import middle
from pipeline.proof.read.text import LeafText

_DATED = ("day", "date", "cell", "week", "month", "year", "period", "hour", "line-of")
_ITS_OWN = 0.6
"""A face that shows so much of what it should is that page, whatever is wrong with it."""
_ANOTHERS = 0.9
"""A face that shows so much of what another should is that other page."""


def is_dated(key: str) -> bool:
    """Whether a key's text comes from the calendar."""
    return key.startswith(_DATED)


def planned_and_built(subject: Subject) -> Iterator[SetFinding]:
    """Pages the season plans and the set lacks, and the other way round."""
    planned = Counter((page.template, page.side, page.facts.dates) for page in subject.plan.pages)
    built = Counter(
        (note.template, face, note.dates)
        for leaf in subject.contents.leaves
        for face in Side
        if (note := leaf.page(face)) is not None
    )
    for code, pages in (("page-missing", planned - built), ("page-extra", built - planned)):
        for (template, face, dates), count in pages.items():
            about = f" ({_span(dates)})" if dates else ""
            times = "" if count == 1 else f", {count} times"
            yield subject.finding(code, f"the {face.value} '{template}'{about}{times}", face=face)


def strays(
    subject: Subject, faces: Sequence[FaceRead]
) -> tuple[list[SetFinding], set[tuple[int, Side]]]:
    """Faces that show another page than they should, and which they are.

    When both sides of a sheet are those of another, the sheets are out of order; when one side
    is, it is not behind the other.
    """
    by_sheet: dict[int, list[FaceRead]] = {}
    for face in faces:
        by_sheet.setdefault(face.sheet, []).append(face)
    findings: list[SetFinding] = []
    away: set[tuple[int, Side]] = set()
    for sheet, own in by_sheet.items():
        wrong = [face for face in own if not _is(face, face, _ITS_OWN)]
        if not wrong:
            continue
        other = _sheet_shown(own, by_sheet)
        if other is not None:
            findings.append(
                subject.finding("sheet-order", f"it shows what belongs on sheet {other}", sheet)
            )
            away |= {(face.leaf, face.face) for face in own}
            continue
        for face in wrong:
            finding = _stray(face, faces)
            if finding is not None:
                findings.append(finding)
                away.add((face.leaf, face.face))
    return findings, away


def _is(face: FaceRead, other: FaceRead, share: float) -> bool:
    """Whether what was read on a face is what belongs on ``other``, as far as can be seen.

    A page is known by its dates if it has any, else by its labels.
    """
    if other.page is None:
        return not face.texts
    slots = other.slots.texts
    return _share(face, other.page, [s for s in slots if is_dated(s.key)] or slots) >= share


def _share(face: FaceRead, page: Page, slots: Sequence[Slot]) -> float:
    """How much of what a page should show is on a face."""
    texts = page.facts.texts
    wanted = [slot for slot in slots if texts[slot.key] != ("",)]
    shown = [says(face.said_in(slot.area), texts[slot.key]) for slot in wanted]
    return sum(shown) / len(shown) if shown else 1.0


def _sheet_shown(own: Sequence[FaceRead], by_sheet: Mapping[int, list[FaceRead]]) -> int | None:
    """The number of the other sheet that a sheet shows on both its sides."""

    def layout(faces: Sequence[FaceRead]) -> list[tuple[object, ...]]:
        return [(one.side, one.face, one.placement.flat[2:]) for one in faces]

    for number, others in by_sheet.items():
        if number != own[0].sheet and layout(own) == layout(others):
            pairs = zip(own, others, strict=True)
            if all(_is(one, other, _ANOTHERS) for one, other in pairs):
                return number
    return None


def _stray(face: FaceRead, faces: Sequence[FaceRead]) -> SetFinding | None:
    """What a face is that is not the page it should be; None when it is no other page either."""
    leaves = face.subject.contents.leaves
    if face.page is None:
        if leaves[face.leaf].page(face.face) is not None:
            return None  # a page that is not planned, which another finding says
        return face.finding("page-extra", "this face should be blank")
    if not face.texts:
        return face.finding("page-missing", "it is blank")
    shares = [
        (_share(face, other.page, other.slots.texts), other)
        for other in faces
        if other is not face and other.page is not None and other.slots.texts
        if other.shape.flat.width == face.shape.flat.width
    ]
    share, other = max(shares, key=lambda one: one[0], default=(0.0, face))
    if share < _ANOTHERS:
        return None
    page = leaves[other.leaf].page(other.face)
    label = page.label if page else "another page"
    message = f"it shows the {other.face.value} of leaf {other.leaf + 1} ({label})"
    return face.finding("back-elsewhere", message)


def spread_findings(
    subject: Subject, faces: Mapping[tuple[int, Side], FaceRead], away: set[tuple[int, Side]]
) -> Iterator[SetFinding]:
    """What is wrong with the dates, spread by spread; faces in ``away`` show other pages."""
    seen: set[tuple[int, Side]] = set()
    # Facing pages that each have a day of their own, which no other page of theirs has.
    facing = [(one.verso, one.recto) for one in subject.plan.spreads if one.recto]
    shown = Counter(
        (verso.template, recto.template, dates)
        for verso, recto in facing
        for dates in (verso.facts.dates, recto.facts.dates)
    )
    asked = {
        (verso.facts.dates, recto.facts.dates)
        for verso, recto in facing
        if all(
            shown[verso.template, recto.template, page.facts.dates] == 1 for page in (verso, recto)
        )
    }
    for first, second in subject.contents.spreads:
        keys = ((first, Side.VERSO), (second, Side.RECTO))
        seen.update(keys)
        if any(key in away for key in keys):
            continue
        pair = [faces[key] for key in keys if key in faces and faces[key].page is not None]
        dates = [face.page.facts.dates if face.page else () for face in pair]
        if len(pair) == 2 and tuple(dates) in asked:
            for face, days in zip(pair, dates, strict=True):
                yield from day_findings([face], days)
        elif len(pair) == 2 and all(dates) and dates[0] != dates[1]:
            yield pair[1].finding("facing-weeks", f"{_span(dates[0])} faces {_span(dates[1])}")
            for face, days in zip(pair, dates, strict=True):
                for finding in day_findings([face], days):
                    # The days of the other half of the spread are not looked for.
                    if finding.rule != "date-missing" or finding.place is not None:
                        yield finding
        elif any(dates):
            yield from day_findings(pair, next(days for days in dates if days))
    for key, face in faces.items():
        if key not in seen and key not in away and face.page and face.page.facts.dates:
            yield from day_findings([face], face.page.facts.dates)


def calendar_findings(face: FaceRead) -> Iterator[SetFinding]:
    """What else of the calendar stands on a face: ranges, months, numbers, small months."""
    assert face.page is not None
    facts = face.page.facts
    astray = _astray(face)
    for own, other in astray.items():
        yield face.finding(
            "date-wrong",
            f"'{facts.texts[own][0]}' ({own}) stands where {other.key} is, which says nothing here",
            other.area,
        )
    for slot in face.slots.texts:
        if not is_dated(slot.key) or slot.key in astray:
            continue
        if is_day_key(slot.key) and (facts.dates or facts.calendars):
            continue  # held against the calendar itself
        forms = facts.texts[slot.key]
        found = face.said_at(slot)
        if says(found, forms):
            continue
        if forms == ("",):
            if _is_of_another(face, found) and not any(other is slot for other in astray.values()):
                message = f"'{joined(found)}' stands where nothing should ({slot.key})"
                yield face.finding("date-wrong", message, slot.area)
            continue
        wanted = f"'{forms[0]}' ({slot.key})"
        if found:
            message = f"'{joined(found)}' stands where {wanted} belongs"
            yield face.finding("date-wrong", message, slot.area)
        elif not says(face.said_over(slot.area), forms):
            remedy = (
                f"give its text the id '{slot.key}' again, or take that text out of the template"
            )
            yield face.finding("date-missing", f"{wanted} is missing", slot.area, remedy)
    yield from month_findings(face)
    for slot in face.slots.grids:
        if facts.months[slot.key].rows:
            yield from _month(face, slot, facts.months[slot.key])


def _is_of_another(face: FaceRead, found: Sequence[LeafText]) -> bool:
    """Whether what stands at a place that should be empty is a figure, or a feast of some day.

    Other words there may be the illustrator's own, and what another place says is that one's.
    """
    own = [
        text
        for text in found
        if not any(
            says([text], face.forms[slot.key])
            for slot in face.slots.texts
            if slot.area.overlaps(text.box) and face.forms[slot.key] != ("",)
        )
    ]
    return any(char.isdecimal() for char in joined(own)) or says_just(own, face.subject.feasts)


_PART = re.compile(r"((?:month\d+-)?\D+)\d+(-\D+)$")


def _astray(face: FaceRead) -> dict[str, Slot]:
    """Texts of a day, such as its feast, that stand at another's place, which should be empty."""
    parts: dict[tuple[str, ...], list[Slot]] = {}
    for slot in face.slots.texts:
        match = _PART.match(slot.key)
        if match is not None and is_dated(slot.key) and not is_day_key(slot.key):
            parts.setdefault(match.groups(), []).append(slot)
    found: dict[str, Slot] = {}
    for slots in parts.values():
        empty = [slot for slot in slots if face.forms[slot.key] == ("",)]
        lost = [
            slot
            for slot in slots
            if face.forms[slot.key] != ("",) and not face.said_over(slot.area)
        ]
        for one, other in itertools.product(lost, empty):
            if says_just(face.said_at(other), face.forms[one.key]):
                found.setdefault(one.key, other)
    return found


def _span(days: Sequence[dt.date]) -> str:
    return words_for("en-GB").interval(days[0], days[-1], "yMMMMd")


_LAP_MM = 0.05
"""Figures that share so much of a row run into each other; boxes of letters hold a little air."""


class Cell(NamedTuple):
    """What is read in one column of a row: its column from the left, and the box of its ink."""

    text: str
    column: int
    box: Rect


def cells(texts: Sequence[LeafText], area: Rect) -> Iterator[Cell]:
    """What stands in a month's area (mm on the leaf), cut where a column or a text ends.

    >>> from pipeline.plan.model import Side
    >>> letters = tuple(Rect(x, 1, 1, 2) for x in (1, 2, 3.2, 4.2))
    >>> row = LeafText("2526", Rect(1, 1, 4.2, 2), letters, 0, Side.RECTO, False, 0, 1)
    >>> [(cell.text, cell.column) for cell in cells([row], Rect(1, 0, 14.7, 10))]
    [('25', 0), ('26', 1)]
    """

    def column(letter: tuple[str, Rect]) -> int | None:
        sign, spot = letter[0], middle(letter[1])
        if sign.isspace() or not area.holds(spot):
            return None
        return min(6, int((spot.x - area.x) / (area.width / 7)))

    for text in texts:
        letters = zip(text.text, text.letters, strict=True)
        for number, run in itertools.groupby(letters, column):
            if number is not None:
                signs, boxes = zip(*run, strict=True)
                yield Cell("".join(signs), number, Rect.union(boxes))


def day_said_in(cell: Cell, area: Rect, month: MonthGrid) -> dt.date | None:
    """The day that a cell of a small month in an area says: of two with the same figures, as of a
    neighbouring month, the one whose week is the nearest."""
    height = middle(cell.box).y
    said = [
        (abs(middle(month_cell(area, line, 0)).y - height), day.date)
        for line, row in enumerate(month.rows, start=1)
        for day in row
        if day and day.text == cell.text
    ]
    return min(said)[1] if said else None


def _month(face: FaceRead, slot: Slot, month: MonthGrid) -> Iterator[SetFinding]:
    """What is wrong with a small month that stands at a place of a face."""
    offset, first = next((n, day) for n, day in enumerate(month.rows[0]) if day)
    found = list(cells(face.said_over(slot.area), slot.area))
    said = [day_said_in(cell, slot.area, month) for cell in found]
    counted = Counter(said)
    for cell, day in zip(found, said, strict=True):
        column = 6 - cell.column if face.subject.words.right_to_left else cell.column
        under = (first.date.weekday() - offset + column) % 7
        if day is not None and under != day.weekday():
            yield face.finding(
                "date-weekday",
                f"{cell.text} stands in the small month under {calendar.day_name[under]};"
                f" it is a {day:%A}",
                cell.box,
            )
    for day in (one.date for row in month.rows for one in row if one):
        if counted[day] != 1:
            code = "date-doubled" if counted[day] else "date-missing"
            times = "there more than once" if counted[day] else "missing"
            message = f"{day.day} {day:%B} is {times} in the small month"
            yield face.finding(code, message, slot.area)
    for one, other in itertools.combinations(found, 2):
        if abs(one.column - other.column) == 1 and one.box.overlaps(other.box, _LAP_MM):
            message = f"'{one.text}' and '{other.text}' run into each other in the small month"
            yield face.finding("text-overlaps", message, slot.area)
            break
