"""Labels and leftovers: what a page says beside its dates, and whether it should."""

from __future__ import annotations

import datetime as dt
import re
from collections.abc import Iterator, Mapping
from functools import lru_cache

from pipeline.plan.tags import root_of
from pipeline.plan.words import words_for
from pipeline.proof.findings.dated import is_dated
from pipeline.proof.findings.finding import Finding
from pipeline.proof.findings.reading import FaceRead, finding_on, says, says_just
from pipeline.proof.findings.slots import Slot
from pipeline.proof.findings.spelling import spelling
from pipeline.proof.findings.subject import Subject
from pipeline.proof.readback import LeafText

_KEYLIKE = re.compile(
    r"(?:day|date|month|week|label|period|set|year)\d*-[a-z][a-z-]*|[{<\[]{1,2}[\w -]+[}>\]]{1,2}"
    r"|\b(?:lorem|ipsum|placeholder|sample text|todo|xxx+)\b",
    re.IGNORECASE,
)
_LONG = 8
"""A label of so many letters that two languages spell alike was hardly meant for both."""


def label_findings(subject: Subject, face: FaceRead) -> Iterator[Finding]:
    """What is wrong with the labels of a face, and with texts that no key asked for."""
    assert face.page is not None
    explained: list[LeafText] = []
    for slot in (*face.slots.texts, *face.slots.grids):
        explained += face.said_in(slot.area)
    for slot in face.slots.texts:
        if not is_dated(slot.key):
            yield from _label(subject, face, slot)
    for text in face.texts:
        if not any(text is known for known in explained):
            yield from _unasked(subject, face, text)


def _label(subject: Subject, face: FaceRead, slot: Slot) -> Iterator[Finding]:
    assert face.page is not None
    forms = face.page.facts.texts[slot.key]
    found = face.said_at(slot)
    name = slot.key.removeprefix("label-")
    if forms == ("",):
        return
    if says(found, forms):
        other = _borrowed(subject, name, forms)
        if other and slot.key.startswith("label-"):
            yield finding_on(
                face,
                subject,
                "label-language",
                f"'{forms[0]}' ({name}) is as in '{other}'",
                slot.area,
            )
        return
    said = " ".join(text.text for text in found)
    if not found:
        code, what = "label-missing", f"'{forms[0]}' ({slot.key}) is missing"
    elif says_just(found, (slot.sample,)):
        code, what = "placeholder-left", f"'{said}' is the template's own, for {slot.key}"
    elif other := _foreign(subject, found):
        code, what = "label-language", f"'{said}' ({name}) is a label of '{other}'"
    else:
        code, what = "label-missing", f"'{said}' stands where '{forms[0]}' ({slot.key}) belongs"
    yield finding_on(face, subject, code, what, slot.area)


def _unasked(subject: Subject, face: FaceRead, text: LeafText) -> Iterator[Finding]:
    """A text that is fixed in the template: a maker's own words, or something forgotten."""
    if _KEYLIKE.search(text.text) or _of_the_calendar(subject, face, text.text):
        yield finding_on(
            face,
            subject,
            "placeholder-left",
            f"'{text.text}' is fixed in the template",
            text.box,
        )
    elif other := _foreign(subject, [text]):
        yield finding_on(
            face,
            subject,
            "label-language",
            f"'{text.text}' is a label of '{other}'",
            text.box,
        )


def _of_the_calendar(subject: Subject, face: FaceRead, text: str) -> bool:
    """Whether a fixed text on a page is the name of a day or month, alone or with a figure."""
    bare = " ".join(re.sub(r"[\d.,–-]+", " ", text).split()).casefold()
    languages = {subject.contents.language, *subject.other_labels}
    return bool(bare) and any(bare in _names(language) for language in languages)


@lru_cache(maxsize=64)
def _names(language: str) -> frozenset[str]:
    """Names of days and months of a language, long enough to be nothing else."""
    words = words_for(language)
    monday = dt.date(2027, 3, 1)
    days = [words.day_name(monday + dt.timedelta(days=n)) for n in range(7)]
    months = [words.month_name(dt.date(2027, n, 1)) for n in range(1, 13)]
    return frozenset(name[0].casefold() for name in (*days, *months) if len(name[0]) > 1)


def _foreign(subject: Subject, found: list[LeafText]) -> str | None:
    """The language whose label this is, when it is none of the set's own."""
    own = _forms_of(subject.other_labels, subject.contents.language, subject)
    if any(says_just(found, forms) for forms in own.values()):
        return None
    for language, labels in subject.other_labels.items():
        if root_of(language) == root_of(subject.contents.language):
            continue
        for forms in labels.values():
            if len(forms[0]) > 1 and says_just(found, forms):
                return language
    return None


def _borrowed(subject: Subject, name: str, forms: tuple[str, ...]) -> str | None:
    """The language a label was taken over from: alike in both, and too long for chance."""
    own = spelling(forms[0])
    if len(own.letters) < _LONG or " " not in forms[0].strip():
        return None
    for language, labels in subject.other_labels.items():
        if root_of(language) == root_of(subject.contents.language) or name not in labels:
            continue
        if spelling(labels[name][0]) == own:
            return language
    return None


def _forms_of(
    labels: Mapping[str, Mapping[str, tuple[str, ...]]], language: str, subject: Subject
) -> Mapping[str, tuple[str, ...]]:
    own = {
        key.removeprefix("label-"): forms
        for page in subject.plan.pages[:1]
        for key, forms in page.facts.texts.items()
        if key.startswith("label-") or key in ("set-title", "period-name")
    }
    return {**labels.get(root_of(language), {}), **own}
