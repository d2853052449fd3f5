"""Whether every page shows the week it is for: its own, its neighbour's, and that behind it."""

from __future__ import annotations

import datetime as dt
from collections import Counter
from collections.abc import Iterator, Mapping, Sequence

from pipeline.plan.model import Page, Side
from pipeline.proof.findings.days import day_findings, is_day_key
from pipeline.proof.findings.finding import Finding
from pipeline.proof.findings.reading import FaceRead, finding_on, says
from pipeline.proof.findings.slots import Slot
from pipeline.proof.findings.smallmonth import month_findings
from pipeline.proof.findings.subject import Subject

_DATED = ("day", "date", "week", "month", "year", "period")
_ITS_OWN = 0.6
"""A face that shows so much of what it should is that page, whatever is wrong with it."""
_ANOTHERS = 0.9
"""A face that shows so much of what another should is that other page."""


def is_dated(key: str) -> bool:
    """Whether a key's text comes from the calendar."""
    return key.startswith(_DATED)


def planned_and_made(subject: Subject) -> Iterator[Finding]:
    """Pages the season plans and the set lacks, and the other way round."""
    planned = Counter((page.template, page.side, page.facts.dates) for page in subject.plan.pages)
    made = Counter(
        (note.template, face, note.dates)
        for leaf in subject.contents.leaves
        for face in Side
        if (note := leaf.page(face)) is not None
    )
    for code, pages in (("page-missing", planned - made), ("page-extra", made - planned)):
        for (template, face, dates), count in pages.items():
            about = f" ({_span(dates)})" if dates else ""
            times = "" if count == 1 else f", {count} times"
            yield Finding(
                code, subject.name, f"the {face.value} '{template}'{about}{times}", face=face
            )


def strays(
    subject: Subject, faces: Sequence[FaceRead]
) -> tuple[list[Finding], set[tuple[int, Side]]]:
    """Faces that show another page than they should, and which they are.

    When both sides of a sheet are those of another, the sheets are out of order; when one side
    is, it is not behind the other.
    """
    by_sheet: dict[int, list[FaceRead]] = {}
    for face in faces:
        by_sheet.setdefault(face.sheet, []).append(face)
    findings: list[Finding] = []
    away: set[tuple[int, Side]] = set()
    for sheet, own in by_sheet.items():
        wrong = [face for face in own if not _is(face, face, _ITS_OWN)]
        if not wrong:
            continue
        other = _sheet_shown(own, by_sheet)
        if other is not None:
            findings.append(
                Finding("sheet-order", subject.name, f"it is what sheet {other} should be", sheet)
            )
            away |= {(face.leaf, face.face) for face in own}
            continue
        for face in wrong:
            finding = _stray(subject, face, faces)
            if finding is not None:
                findings.append(finding)
                away.add((face.leaf, face.face))
    return findings, away


def _is(face: FaceRead, other: FaceRead, share: float) -> bool:
    """Whether what was read on a face is what belongs on ``other``, as far as can be told."""
    if other.page is None:
        return not face.texts
    telling = _telling(other.slots.texts)
    return not telling or _share(face, other.page, telling) >= share


def _sheet_shown(own: Sequence[FaceRead], by_sheet: Mapping[int, list[FaceRead]]) -> int | None:
    """The number of the other sheet that a sheet shows on both its sides."""
    for number, others in by_sheet.items():
        if number == own[0].sheet or len(others) != len(own):
            continue
        pairs = list(zip(own, others, strict=True))
        alike = all(
            (one.side, one.face, one.placement.flat[2:])
            == (other.side, other.face, other.placement.flat[2:])
            for one, other in pairs
        )
        if alike and all(_is(one, other, _ANOTHERS) for one, other in pairs):
            return number
    return None


def _stray(subject: Subject, face: FaceRead, faces: Sequence[FaceRead]) -> Finding | None:
    """What a face is that is not the page it should be; None when it is no other page either."""
    if face.page is None:
        if subject.contents.leaves[face.leaf].page(face.face) is not None:
            return None  # a page that is not planned, told elsewhere
        return finding_on(face, subject, "page-extra", "this face is to be blank", None)
    if not face.texts:
        return finding_on(face, subject, "page-missing", "it is blank", None)
    other = _who(subject, face, faces)
    if other is None:
        return None
    leaf, side = other
    page = subject.contents.leaves[leaf].page(side)
    label = page.label if page else "another page"
    message = f"it shows the {side.value} of leaf {leaf + 1} ({label})"
    return finding_on(face, subject, "back-elsewhere", message, None)


def _telling(slots: Sequence[Slot]) -> list[Slot]:
    """The places by which a page is known: its dates if it has any, else its labels."""
    return [slot for slot in slots if is_dated(slot.key)] or list(slots)


def _share(face: FaceRead, page: Page, slots: Sequence[Slot]) -> float:
    """How much of what a page should show is on a face."""
    shown = [
        says(face.said_in(slot.area), page.facts.texts[slot.key])
        for slot in slots
        if page.facts.texts[slot.key] != ("",)
    ]
    return sum(shown) / len(shown) if shown else 1.0


def _who(subject: Subject, face: FaceRead, faces: Sequence[FaceRead]) -> tuple[int, Side] | None:
    """The page of the set that a face shows instead of its own."""
    best: tuple[float, tuple[int, Side]] | None = None
    for other in faces:
        if other is face or other.page is None:
            continue
        geometry = subject.geometry(other.leaf).width_mm
        if geometry != subject.geometry(face.leaf).width_mm:
            continue
        slots = list(other.slots.texts)
        if not slots:
            continue
        share = _share(face, other.page, slots)
        if share >= _ANOTHERS and (best is None or share > best[0]):
            best = share, (other.leaf, other.face)
    return best[1] if best else None


def spread_findings(
    subject: Subject, faces: Mapping[tuple[int, Side], FaceRead], away: set[tuple[int, Side]]
) -> Iterator[Finding]:
    """What is wrong with the dates, spread by spread; faces in ``away`` show other pages."""
    told: set[tuple[int, Side]] = set()
    for first, second in subject.contents.spreads:
        keys = ((first, Side.VERSO), (second, Side.RECTO))
        pair = [faces[key] for key in keys if key in faces and faces[key].page is not None]
        if any(key in away for key in keys):
            told.update(keys)
            continue
        dates = [face.page.facts.dates if face.page else () for face in pair]
        if len(pair) == 2 and all(dates) and dates[0] != dates[1]:
            yield finding_on(
                pair[1],
                subject,
                "facing-weeks",
                f"{_span(dates[0])} faces {_span(dates[1])}",
                None,
            )
            for face, days in zip(pair, dates, strict=True):
                yield from _days_of_one(face, days, subject)
        elif any(dates):
            yield from day_findings(pair, next(days for days in dates if days), subject)
        told.update((face.leaf, face.face) for face in pair)
    for key, face in faces.items():
        if key not in told and key not in away and face.page and face.page.facts.dates:
            yield from day_findings([face], face.page.facts.dates, subject)


def _days_of_one(face: FaceRead, days: Sequence[dt.date], subject: Subject) -> Iterator[Finding]:
    """The days of half a spread: the other half's are not looked for."""
    for finding in day_findings([face], days, subject):
        if finding.code != "date-missing" or finding.place is not None:
            yield finding


def calendar_findings(subject: Subject, face: FaceRead) -> Iterator[Finding]:
    """What else of the calendar stands on a face: ranges, months, numbers, small months."""
    assert face.page is not None
    facts = face.page.facts
    for slot in face.slots.texts:
        if not is_dated(slot.key) or is_day_key(slot.key):
            continue
        forms = facts.texts[slot.key]
        found = face.said_at(slot)
        if forms == ("",) or says(found, forms):
            continue
        if not found:
            if says(face.said_over(slot.area), forms):
                continue
            yield finding_on(
                face, subject, "date-missing", f"'{forms[0]}' ({slot.key}) is missing", slot.area
            )
        else:
            said = " ".join(text.text for text in found)
            yield finding_on(
                face,
                subject,
                "date-wrong",
                f"'{said}' stands where '{forms[0]}' ({slot.key}) belongs",
                slot.area,
            )
    for slot in face.slots.grids:
        month = facts.months[slot.key]
        if month.rows:
            yield from month_findings(subject, face, slot, month)


def _span(days: Sequence[dt.date]) -> str:
    return f"{days[0].isoformat()} to {days[-1].isoformat()}"
