"""Texts that no key asked for: a maker's own words, or samples of keys that were lost.

An editor that ungroups, renames or copies may take an id off a text. What stands there then is the
sample, on every page and in every language.
"""

from __future__ import annotations

import re
from collections.abc import Iterator, Sequence
from typing import NamedTuple

from pipeline.base.geometry import Rect
from pipeline.plan.tags import root_of
from pipeline.proof.findings.calendarwords import About, Said, calendar_words
from pipeline.proof.findings.dated import is_dated
from pipeline.proof.findings.days import is_day_key
from pipeline.proof.findings.finding import Finding
from pipeline.proof.findings.labels import foreign_label, own_labels
from pipeline.proof.findings.reading import FaceRead, finding_on, says
from pipeline.proof.findings.slots import Slot
from pipeline.proof.findings.spelling import spelling
from pipeline.proof.findings.subject import Subject
from pipeline.proof.read.text import LeafText

_KEYLIKE = re.compile(
    r"(?:day|date|month|week|label|period|set|year)\d*-[a-z][a-z-]*|[{<\[]{1,2}[\w -]+[}>\]]{1,2}"
    r"|\b(?:lorem|ipsum|placeholder|sample text|todo|xxx+)\b",
    re.IGNORECASE,
)
_WORKDAYS = 5
"""So many different weekdays on a page without days are the heads of a chart."""


def leftover_findings(subject: Subject, face: FaceRead) -> Iterator[Finding]:
    """What is wrong with texts that are fixed in the template."""
    of_the_calendar: list[_Fixed] = []
    for text, rest in _leftovers(face):
        said = _said(subject, rest)
        if _KEYLIKE.search(rest):
            message = f"'{text.text}' is fixed in the template"
            yield finding_on(face, subject, "placeholder-left", message, text.box)
        elif said:
            of_the_calendar.append(_Fixed(rest, text.box, said))
        elif other := foreign_label(subject, [text]):
            message = f"'{text.text}' is a label of '{other}'"
            yield finding_on(face, subject, "label-language", message, text.box)
    yield from _calendar_findings(subject, face, of_the_calendar)


def _leftovers(face: FaceRead) -> Iterator[tuple[LeafText, str]]:
    """Texts of a face that no place of its template accounts for, and what is left of each.

    A text is accounted for where it is all or part of what a key says. Where a key says something
    else, that is told of the key, and its text is not told again.
    """
    told = {id(text) for slot in face.slots.grids for text in face.said_in(slot.area)}
    open_slots: list[tuple[Slot, tuple[str, ...]]] = []
    for slot in face.slots.texts:
        forms: tuple[str, ...] = face.page.facts.texts[slot.key] if face.page else ()
        found = face.said_at(slot)
        if not says(found, forms) and not says(face.said_over(slot.area), forms):
            told |= {id(text) for text in found}
        elif not face.is_claimed(slot):
            open_slots.append((slot, forms))
    for text in face.texts:
        if id(text) in told or face.claimed_by(text) is not None:
            continue
        rest = text.text
        for slot, forms in open_slots:
            if slot.area.overlaps(text.box):
                rest = _without(rest, forms)
        if rest:
            yield text, rest


def _without(text: str, forms: Sequence[str]) -> str:
    """What is left of a text when a form, or the part of one that it is, is taken out.

    >>> _without("Monday 1", ("1",)), _without("Mar 4", ("29 March – 4 April",))
    ('Monday', '')
    """
    own = spelling(text)
    for form in forms:
        whole = spelling(form)
        if whole.empty:
            continue
        if own.within(whole):
            return ""
        if whole.within(own):
            cut = re.sub(rf"(?<!\w){re.escape(form)}(?!\w)", " ", text, count=1, flags=re.I)
            # Where it is there but in another order or script, nothing can be told of the rest.
            return " ".join(cut.split()) if cut != text else ""
    return text


class _Fixed(NamedTuple):
    """A text of the calendar that is fixed in a template: what it says, language by language."""

    text: str
    box: Rect
    said: list[Said]

    @property
    def first(self) -> Said:
        return self.said[0]


def _said(subject: Subject, text: str) -> list[Said]:
    """What a fixed text says of the calendar, its own language first; no label of the maker's."""
    own = spelling(text)
    if any(own == spelling(form) for forms in own_labels(subject).values() for form in forms):
        return []
    weeks = [form for labels in subject.other_labels.values() for form in labels.get("week", ())]
    return calendar_words(text, subject.languages, weeks)


def _calendar_findings(
    subject: Subject, face: FaceRead, fixed: Sequence[_Fixed]
) -> Iterator[Finding]:
    charts = _charts(face, fixed)
    for one in fixed:
        own = any(_is_own(subject, said) for said in one.said)
        key = None if one.first.about in charts else _key(face, one)
        if key is None:
            if not own and not one.first.short:
                message = f"'{one.text}' is fixed in the template, in '{one.first.language}'"
                yield finding_on(face, subject, "label-language", message, one.box)
        elif not _may_stay(face, one):
            yield finding_on(
                face,
                subject,
                "placeholder-left",
                f"'{one.text}' is fixed in the template",
                one.box,
                f"give the text its key back as id, e.g. '{key}', or take it out of the template",
            )


def _charts(face: FaceRead, fixed: Sequence[_Fixed]) -> set[About]:
    """What a page shows as the heads of a chart: a row of all months, of weekdays, of weeks."""

    def numbers(about: About) -> set[int]:
        return {said.number for one in fixed for said in one.said if said.about is about}

    charts = set()
    if len(numbers(About.MONTH)) == 12:
        charts.add(About.MONTH)
    if len(numbers(About.WEEKDAY)) >= _WORKDAYS and not _shows_days(face):
        charts.add(About.WEEKDAY)
    if len(numbers(About.WEEK)) > 1:
        charts.add(About.WEEK)
    return charts


def _is_own(subject: Subject, said: Said) -> bool:
    return root_of(said.language) == root_of(subject.contents.language)


def _shows_days(face: FaceRead) -> bool:
    return any(is_day_key(slot.key) for slot in face.slots.texts)


def _may_stay(face: FaceRead, one: _Fixed) -> bool:
    """Whether a fixed text may be meant: it is right for its page, or may be an ordinary word."""
    assert face.page is not None
    about, facts = one.first.about, face.page.facts
    if one.first.short:
        # "Sun" and "Mar" are words, too: they are names on pages that show such names.
        shown = _shows_days(face) if about is About.WEEKDAY else _shows_dates(face)
        if not shown:
            return True
    if about is About.WEEKDAY:
        return False  # right or not, the next page's may be another
    if about is About.WEEK:
        number = spelling(facts.texts.get("week-number", ("",))[0]).numbers
        return [*map(int, number)] == [one.first.number]
    own = spelling(one.text)
    dated = [forms for key, forms in facts.texts.items() if is_dated(key)]
    right = any(own == spelling(form) for forms in dated for form in forms)
    if about is About.MONTH:
        return right and facts.kind == "once"
    return right or (facts.kind != "week" and len(own.numbers) < 2)


def _shows_dates(face: FaceRead) -> bool:
    return any(is_dated(slot.key) for slot in face.slots.texts)


def _key(face: FaceRead, one: _Fixed) -> str | None:
    """The key that a text most likely had: one that its page can hold and does not.

    None where no page of its kind has such a key.
    """
    assert face.page is not None
    facts = face.page.facts
    here = {slot.key for slot in face.slots.texts}
    said = one.first
    one_day = len(spelling(one.text).numbers) == 1
    first: dict[About, tuple[str, ...]] = {
        About.WEEKDAY: tuple(
            f"{family}{number}-name"
            for family in ("day", "date")
            for number in (
                *(n for n, day in enumerate(facts.dates, 1) if day.weekday() == said.number),
                *range(1, len(facts.dates) + 1),
            )
        ),
        About.MONTH: ("month-name", *(f"month{number}-name" for number in range(1, 13))),
        About.DAYS: (
            *(f"day{number}-date" for number in range(1, 8) if one_day),
            "week-range",
            "period-range",
        ),
        About.WEEK: ("week-number",),
    }
    keys = [key for key in first[said.about] if key in facts.texts]
    return next((key for key in keys if key not in here), keys[0] if keys else None)
