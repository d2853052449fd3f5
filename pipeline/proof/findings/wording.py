"""What pages say beside their dates: labels in the right language, and texts no key asked for.

An editor that ungroups, renames or copies may take an id off a text. What stands there then is the
sample, on every page and in every language.
"""

from __future__ import annotations

import re
from collections.abc import Iterator, Mapping, Sequence
from typing import NamedTuple

from pipeline.base.geometry import Rect
from pipeline.plan.languages import root_of
from pipeline.proof.findings.calendarwords import About, Said, calendar_words
from pipeline.proof.findings.dated import is_dated
from pipeline.proof.findings.days import is_day_key
from pipeline.proof.findings.reading import FaceRead, says, says_just, spelling
from pipeline.proof.findings.subject import SetFinding, Slot, Subject
from pipeline.proof.read.text import LeafText

_LONG = 8
"""A label of so many letters that two languages spell alike was hardly meant for both."""


def label_findings(face: FaceRead) -> Iterator[SetFinding]:
    """What is wrong with the labels of a face."""
    for slot in face.slots.texts:
        if not is_dated(slot.key):
            yield from _label(face, slot)


def _label(face: FaceRead, slot: Slot) -> Iterator[SetFinding]:
    forms = face.forms[slot.key]
    found = face.said_at(slot)
    name = slot.key.removeprefix("label-")
    if forms == ("",):
        return
    if says(found, forms):
        other = _borrowed(face.subject, name, forms)
        if other and slot.key.startswith("label-"):
            yield face.finding(
                "label-language", f"'{forms[0]}' ({name}) is the same as in '{other}'", slot.area
            )
        return
    said = " ".join(text.text for text in found)
    if not found:
        code, what = "label-missing", f"'{forms[0]}' ({slot.key}) is missing"
    elif says_just(found, (slot.sample,)):
        code, what = "placeholder-left", f"'{said}' is still the template's sample for {slot.key}"
    elif other := _foreign_label(face.subject, found):
        code, what = "label-language", f"'{said}' ({name}) is a label of '{other}'"
    else:
        code, what = "label-missing", f"'{said}' stands where '{forms[0]}' ({slot.key}) belongs"
    yield face.finding(code, what, slot.area)


def _own_labels(subject: Subject) -> Mapping[str, tuple[str, ...]]:
    """The labels of the set's own language, its title and its period's name among them."""
    own = {
        key.removeprefix("label-"): forms
        for page in subject.plan.pages[:1]
        for key, forms in page.facts.texts.items()
        if key.startswith("label-") or key in ("set-title", "period-name")
    }
    return {**subject.labels.get(subject.root, {}), **own}


def _foreign_label(subject: Subject, found: list[LeafText]) -> str | None:
    """The language whose label this is, when it is none of the set's own."""
    own = _own_labels(subject)
    if any(says_just(found, forms) for forms in own.values()):
        return None
    return next(
        (
            language
            for language, labels in subject.foreign_labels.items()
            for forms in labels.values()
            if len(forms[0]) > 1 and says_just(found, forms)
        ),
        None,
    )


def _borrowed(subject: Subject, name: str, forms: tuple[str, ...]) -> str | None:
    """The language a label was taken over from: alike in both, and too long for chance."""
    own = spelling(forms[0])
    if len(own.letters) < _LONG or " " not in forms[0].strip():
        return None
    return next(
        (
            language
            for language, labels in subject.foreign_labels.items()
            if name in labels and spelling(labels[name][0]) == own
        ),
        None,
    )


_KEYLIKE = re.compile(
    r"(?:day|date|month|week|label|period|set|year)\d*-[a-z][a-z-]*|[{<\[]{1,2}[\w -]+[}>\]]{1,2}"
    r"|\b(?:lorem|ipsum|placeholder|sample text|todo|xxx+)\b",
    re.IGNORECASE,
)
_WORKDAYS = 5
"""So many different weekdays on a page without days are the heads of a chart."""


def leftover_findings(face: FaceRead) -> Iterator[SetFinding]:
    """What is wrong with texts that are fixed in the template."""
    of_the_calendar: list[_Fixed] = []
    for text, rest in _leftovers(face):
        said = _said(face.subject, rest)
        if _KEYLIKE.search(rest):
            message = f"'{text.text}' is fixed in the template"
            yield face.finding("placeholder-left", message, text.box)
        elif said:
            of_the_calendar.append(_Fixed(rest, text.box, said))
        elif other := _foreign_label(face.subject, [text]):
            message = f"'{text.text}' is a label of '{other}'"
            yield face.finding("label-language", message, text.box)
    yield from _calendar_findings(face, of_the_calendar)


def _leftovers(face: FaceRead) -> Iterator[tuple[LeafText, str]]:
    """Texts of a face that no place of its template accounts for, and what is left of each.

    A text is accounted for where it is all or part of what a key says. Where a key says something
    else, that is a finding about the key, and its text gives no second one.
    """
    accounted = {id(text) for slot in face.slots.grids for text in face.said_in(slot.area)}
    open_slots: list[tuple[Slot, tuple[str, ...]]] = []
    for slot in face.slots.texts:
        forms = face.forms[slot.key]
        found = face.said_at(slot)
        if not says(found, forms) and not says(face.said_over(slot.area), forms):
            accounted |= {id(text) for text in found}
        elif not face.is_claimed(slot):
            open_slots.append((slot, forms))
    for text in face.texts:
        if id(text) in accounted or face.claimed_by(text) is not None:
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
            # Where it is there but in another order or script, nothing can be said of the rest.
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
    if any(own == spelling(form) for forms in _own_labels(subject).values() for form in forms):
        return []
    weeks = [form for labels in subject.labels.values() for form in labels.get("week", ())]
    return calendar_words(text, subject.languages, weeks)


def _calendar_findings(face: FaceRead, fixed: Sequence[_Fixed]) -> Iterator[SetFinding]:
    charts = _charts(face, fixed)
    for one in fixed:
        own = any(root_of(said.language) == face.subject.root for said in one.said)
        key = None if one.first.about in charts else _key(face, one)
        if key is None:
            if not own and not one.first.short:
                message = f"'{one.text}' is fixed in the template, in '{one.first.language}'"
                yield face.finding("label-language", message, one.box)
        elif not _may_stay(face, one):
            yield face.finding(
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
