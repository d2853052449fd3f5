"""Ids that an editor changed: escaped, or numbered as a copy of something that is gone."""

from __future__ import annotations

from typing import NamedTuple

from lxml import etree

from pipeline.drawings.checks.drawing import Drawing
from pipeline.drawings.checks.finding import Severity
from pipeline.drawings.checks.known import ALL_KEYS
from pipeline.fill.keys import key_in, ruled


class Renamed(NamedTuple):
    """An id as it is, and as it can be written instead."""

    element: etree._Element
    identifier: str
    wanted: str


def renamed(drawing: Drawing) -> list[Renamed]:
    """Ids of keys that an editor wrote its own way, each with the plain name that is free for it.

    A numbered copy beside its original is left alone: it says what it is.
    """
    taken = {identifier for element in drawing.raw.iter() if (identifier := element.get("id"))}
    found = []
    for element in drawing.raw.iter():
        identifier = element.get("id") or ""
        key = key_in(identifier)
        if key == identifier or not _is_key(key):
            continue
        if (
            identifier.startswith(f"{key}-")
            and identifier[len(key) + 1 :].isdigit()
            and key in taken
        ):
            continue
        wanted = key
        number = 2
        while wanted in taken:
            wanted, number = f"{key}-{number}", number + 1
        taken.add(wanted)
        found.append(Renamed(element, identifier, wanted))
    return found


def _is_key(key: str) -> bool:
    return key in ALL_KEYS or key.startswith(("label-", "show-")) or ruled(key) is not None


def check_ids(drawing: Drawing) -> None:
    """Notes ids that an editor changed; they are read all the same."""
    for element, identifier, wanted in renamed(drawing):
        drawing.say(
            Severity.NOTE,
            "renamed",
            element,
            "was renamed by an editor",
            f"call it {wanted!r}",
            mendable=can_rename(drawing, identifier),
        )


def can_rename(drawing: Drawing, identifier: str) -> bool:
    """Whether nothing else in the file refers to an id."""
    data = drawing.source.data
    return b"#" + identifier.encode() not in data and data.count(identifier.encode()) >= 1
