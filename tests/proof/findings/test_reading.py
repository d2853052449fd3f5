"""Which place on a face a piece of text belongs to."""

from __future__ import annotations

from types import SimpleNamespace
from typing import Any, cast

import pytest

from pipeline.base.geometry import Rect
from pipeline.plan.model import Side
from pipeline.proof.findings.reading import FaceRead
from pipeline.proof.findings.subject import Slot, Slots
from pipeline.proof.read.text import LeafText


def face(slots: list[Slot], texts: list[LeafText], says: dict[str, str]) -> FaceRead:
    """A face with those places and texts; what each place is to say, by its key."""
    page = SimpleNamespace(facts=SimpleNamespace(texts={key: (one,) for key, one in says.items()}))
    none = cast(Any, None)
    return FaceRead(none, 1, 1, none, cast(Any, page), Slots(tuple(slots)), tuple(texts))


def written(text: str, x: float, y: float = 10.0) -> LeafText:
    """A text 1 mm wide with its middle there."""
    box = Rect(x - 0.5, y - 1, 1, 2)
    return LeafText(text, box, (box,) * len(text), 0, Side.RECTO, False, 0, 1)


@pytest.mark.parametrize("pitch", [2.0, 2.5, 4.0, 7.0])
def test_neighbours_with_the_same_letter_each_have_their_own(pitch: float) -> None:
    """In English Saturday and Sunday are one letter, and Tuesday's is Thursday's."""
    letters = "MTWTFSSMTWTFSS"
    slots = [
        Slot(f"date{n}-name", area := Rect(n * pitch - 3, 8, 6, 4), area)
        for n in range(len(letters))
    ]
    texts = [written(letter, n * pitch) for n, letter in enumerate(letters)]
    says = {f"date{n}-name": letter for n, letter in enumerate(letters)}
    read = face(slots, texts, says)
    found = [read.said_at(slot) for slot in slots]
    assert all(texts[n] in own for n, own in enumerate(found))
    # One that is gone is missed, though its neighbour says the same.
    without = face(slots, texts[:6], says)
    assert not [one for one in without.said_at(slots[6]) if one.text == "S"]


def test_a_text_belongs_to_the_narrowest_place_that_says_it() -> None:
    wide, narrow = (
        Slot("week-date", Rect(0, 0, 90, 20), Rect(0, 0, 90, 20)),
        Slot("day1-number", Rect(60, 5, 10, 10), Rect(60, 5, 10, 10)),
    )
    read = face([wide, narrow], [written("7", 62)], {"week-date": "7", "day1-number": "7"})
    assert not read.said_at(wide)
    assert read.said_at(narrow)
