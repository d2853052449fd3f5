"""Labels: what a page says beside its dates, and whether it should, in its language."""

from __future__ import annotations

from collections.abc import Iterator, Mapping

from pipeline.plan.tags import root_of
from pipeline.proof.findings.dated import is_dated
from pipeline.proof.findings.finding import Finding
from pipeline.proof.findings.reading import FaceRead, finding_on, says, says_just
from pipeline.proof.findings.slots import Slot
from pipeline.proof.findings.spelling import spelling
from pipeline.proof.findings.subject import Subject
from pipeline.proof.read.text import LeafText

_LONG = 8
"""A label of so many letters that two languages spell alike was hardly meant for both."""


def label_findings(subject: Subject, face: FaceRead) -> Iterator[Finding]:
    """What is wrong with the labels of a face."""
    for slot in face.slots.texts:
        if not is_dated(slot.key):
            yield from _label(subject, face, slot)


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
    elif other := foreign_label(subject, found):
        code, what = "label-language", f"'{said}' ({name}) is a label of '{other}'"
    else:
        code, what = "label-missing", f"'{said}' stands where '{forms[0]}' ({slot.key}) belongs"
    yield finding_on(face, subject, code, what, slot.area)


def own_labels(subject: Subject) -> Mapping[str, tuple[str, ...]]:
    """The labels of the set's own language, its title and its period's name among them."""
    own = {
        key.removeprefix("label-"): forms
        for page in subject.plan.pages[:1]
        for key, forms in page.facts.texts.items()
        if key.startswith("label-") or key in ("set-title", "period-name")
    }
    return {**subject.other_labels.get(root_of(subject.contents.language), {}), **own}


def foreign_label(subject: Subject, found: list[LeafText]) -> str | None:
    """The language whose label this is, when it is none of the set's own."""
    own = own_labels(subject)
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
