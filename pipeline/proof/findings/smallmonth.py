"""A small month, read cell by cell: each day once, in the column of its weekday.

Its figures may stand so close together that a reader of the file takes those of a week for one
text; a figure belongs to the column that it lies in, however near the next one is.
"""

from __future__ import annotations

import datetime as dt
import itertools
from collections import Counter
from collections.abc import Iterator, Sequence
from typing import NamedTuple

from pipeline.base.geometry import Rect
from pipeline.plan.model import MonthGrid
from pipeline.proof.findings.finding import Finding
from pipeline.proof.findings.reading import FaceRead, finding_on
from pipeline.proof.findings.slots import Slot
from pipeline.proof.findings.subject import Subject
from pipeline.proof.read.text import LeafText

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
    >>> row = LeafText("2526", 0, Side.RECTO, Rect(1, 1, 4.2, 2), False, 0, 1, letters)
    >>> [(cell.text, cell.column) for cell in cells([row], Rect(1, 0, 14.7, 10))]
    [('25', 0), ('26', 1)]
    """
    for text in texts:
        run: list[tuple[str, Rect]] = []
        last: int | None = None
        for sign, box in zip(text.text, text.letters, strict=True):
            column = None if sign.isspace() else _column(box, area)
            if column != last and run and last is not None:
                yield _cell(run, last)
                run = []
            if column is not None:
                run.append((sign, box))
            last = column
        if run and last is not None:
            yield _cell(run, last)


def _column(letter: Rect, area: Rect) -> int | None:
    """The column a letter lies in; None outside the month."""
    x, y = letter.x + letter.width / 2, letter.y + letter.height / 2
    if not area.holds(Rect(x, y, 0, 0)):
        return None
    return min(6, int((x - area.x) / (area.width / 7)))


def _cell(run: Sequence[tuple[str, Rect]], column: int) -> Cell:
    said = "".join(sign for sign, _ in run)
    return Cell(said, column, Rect.union(box for _, box in run))


def month_findings(
    subject: Subject, face: FaceRead, slot: Slot, month: MonthGrid
) -> Iterator[Finding]:
    """What is wrong with a small month that stands at a place of a face."""
    days = {day.text: day for row in month.rows for day in row if day}
    heads = [(dt.date(2027, 3, 1) + dt.timedelta(days=n)) for n in range(7)]
    counted: Counter[str] = Counter()
    first = next(day for row in month.rows for day in row if day)
    offset = next(n for n, day in enumerate(month.rows[0]) if day)
    begins = (first.date.weekday() - offset) % 7
    found = list(cells(face.said_over(slot.area), slot.area))
    for cell in found:
        day = days.get(cell.text)
        if day is None:
            continue
        counted[cell.text] += 1
        column = 6 - cell.column if subject.words.right_to_left else cell.column
        if (begins + column) % 7 != day.date.weekday():
            yield finding_on(
                face,
                subject,
                "date-weekday",
                f"{cell.text} stands in the small month under"
                f" {heads[(begins + column) % 7]:%A}; it is a {day.date:%A}",
                cell.box,
            )
    for text_of, day in days.items():
        if counted[text_of] != 1:
            code = "date-doubled" if counted[text_of] else "date-missing"
            times = "there more than once" if counted[text_of] else "missing"
            yield finding_on(
                face,
                subject,
                code,
                f"{day.date.day} {day.date:%B} is {times} in the small month",
                Rect(*slot.area),
            )
    for one, other in itertools.combinations(found, 2):
        if abs(one.column - other.column) == 1 and one.box.overlaps(other.box, _LAP_MM):
            yield finding_on(
                face,
                subject,
                "text-overlaps",
                f"'{one.text}' and '{other.text}' run into each other in the small month",
                Rect(*slot.area),
            )
            break
