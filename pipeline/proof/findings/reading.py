"""The finished files as they were read: all that is written and painted on a sheet's sides.

A line of mixed scripts comes back in several pieces, in the order of the eye or of the ear, and
with spaces lost or gained; its letters and its figures stay what they are (``Spelling``).
"""

from __future__ import annotations

import re
import unicodedata
from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from functools import cached_property, lru_cache
from typing import NamedTuple

import pypdfium2 as pdfium

from pipeline.base.geometry import Rect
from pipeline.impose.contents import upright
from pipeline.impose.sheet import Placement, SheetSide
from pipeline.plan.model import Page, Side
from pipeline.proof.findings.subject import SetFinding, Slot, Slots, Subject
from pipeline.proof.read.objects import Form, Painted, painted, top_forms
from pipeline.proof.read.text import LeafText, on_leaves, read_pieces

NO_SLOTS = Slots((), ())


@dataclass(frozen=True)
class Art:
    """Something painted, and its box on its leaf (mm of the flat area, upright)."""

    painted: Painted
    box: Rect


@dataclass(frozen=True, eq=False)
class FaceRead:
    """One face of a leaf as it was printed, and the page that is planned for it."""

    subject: Subject
    sheet: int
    side: SheetSide
    placement: Placement
    page: Page | None
    slots: Slots
    texts: tuple[LeafText, ...]

    @property
    def leaf(self) -> int:
        """Its leaf, from 0."""
        return self.placement.leaf

    @property
    def face(self) -> Side:
        """Which face of the leaf it is."""
        return self.placement.face

    def finding(
        self, rule: str, message: str, place: Rect | None = None, remedy: str = ""
    ) -> SetFinding:
        """A finding on this face; ``remedy`` where there is more to say than its rule does."""
        return SetFinding(
            rule,
            message,
            self.subject.name,
            self.sheet,
            self.side,
            self.leaf,
            self.face,
            place,
            template=f"{self.subject.binder.name}/{self.page.template}.svg" if self.page else "",
            remedy=remedy,
        )

    @property
    def width_mm(self) -> float:
        """The width of its leaf with the flap open, mm."""
        return self.subject.geometry(self.leaf).width_mm

    @property
    def forms(self) -> Mapping[str, tuple[str, ...]]:
        """The forms of every text that its page is to have, by key."""
        return self.page.facts.texts if self.page else {}

    @cached_property
    def _claimed(self) -> Mapping[int, Slot]:
        """Pieces of text that say all that one place should, and so belong to no other."""
        claimed: dict[int, Slot] = {}
        for slot in self.slots.texts:
            for text in self.said_in(slot.area):
                if says_just([text], self.forms[slot.key]):
                    claimed.setdefault(id(text), slot)
        return claimed

    def claimed_by(self, text: LeafText) -> Slot | None:
        """The place that a piece of text says all of; None for a piece that does not."""
        return self._claimed.get(id(text))

    def is_claimed(self, slot: Slot) -> bool:
        """Whether one piece of text says all that a place should."""
        return any(claimed is slot for claimed in self._claimed.values())

    def said_at(self, slot: Slot) -> list[LeafText]:
        """The pieces of text at a key's place, but for those that belong to another place."""
        return [
            text for text in self.said_in(slot.area) if self._claimed.get(id(text), slot) is slot
        ]

    def said_over(self, area: Rect) -> list[LeafText]:
        """The pieces of text that reach into an area, whatever else they say.

        A heading and its number set close together are one piece to a reader of the PDF.
        """
        return [text for text in self.texts if area.overlaps(text.box)]

    def words_in(self, box: Rect) -> str:
        """The words that a box of ink shows."""
        return " ".join(text.text for text in self.texts if text.box.overlaps(box, 0.2))

    def said_in(self, area: Rect) -> list[LeafText]:
        """The pieces of text whose middle lies in an area of the leaf."""
        return [text for text in self.texts if area.holds(middle(text.box))]


@dataclass(frozen=True, eq=False)
class SideRead:
    """A side of a sheet as it was read; valid while its file is open."""

    subject: Subject
    number: int
    """Its sheet's number, from 1, as it is printed."""
    side: SheetSide
    page: pdfium.PdfPage
    placements: tuple[Placement, ...]
    faces: tuple[FaceRead, ...]
    forms: tuple[Form, ...]
    art: tuple[Painted, ...]

    def finding(self, rule: str, message: str) -> SetFinding:
        """A finding about the whole side."""
        return self.subject.finding(rule, message, self.number, self.side)

    def on_leaf(self) -> Iterator[tuple[FaceRead, Art]]:
        """Everything painted on a leaf, and the face it is on; marks around leaves are on none."""
        for item in self.art:
            seen = item.seen
            if seen is None:
                continue
            for face in self.faces:
                if face.placement.flat.holds(middle(seen)):
                    yield face, Art(item, upright(seen, face.placement))
                    break


def read_side(subject: Subject, page: pdfium.PdfPage, sheet: int, side: SheetSide) -> SideRead:
    """Reads a side of a sheet (``sheet`` counted from 0) from its PDF page."""
    note = subject.contents.sheets[sheet]
    placements = note.placements(side)
    texts = tuple(on_leaves(read_pieces(page), placements, sheet, side))
    faces = []
    for placement in placements:
        planned = subject.page(placement.leaf, placement.face)
        own = tuple(
            text for text in texts if (text.leaf, text.face) == (placement.leaf, placement.face)
        )
        slots = subject.slots(planned, placement.leaf) if planned else NO_SLOTS
        faces.append(FaceRead(subject, note.number, side, placement, planned, slots, own))
    return SideRead(
        subject,
        note.number,
        side,
        page,
        placements,
        tuple(faces),
        top_forms(page),
        tuple(painted(page)),
    )


_ENOUGH = 4
"""A form of so many letters is recognised among others; "up" would be in "supper" too."""


def says(texts: Sequence[LeafText], forms: Sequence[str]) -> bool:
    """Whether the pieces found at a place say one of a text's forms, alone or among others."""
    if says_just(texts, forms):
        return True
    whole = together(text.text for text in texts)
    return any(
        form.within(whole)
        for form in map(spelling, forms)
        if form.numbers or len(form.letters) >= _ENOUGH
    )


def says_just(texts: Sequence[LeafText], forms: Sequence[str]) -> bool:
    """Whether one of the pieces found at a place, or all of them together, say a form."""
    wanted = [spelling(form) for form in forms]
    found = [spelling(text.text) for text in texts]
    return any(piece in wanted for piece in (*found, together(text.text for text in texts)))


def middle(box: Rect) -> Rect:
    """The middle of a box, as a box without width and height."""
    return Rect(box.x + box.width / 2, box.y + box.height / 2, 0, 0)


class Spelling(NamedTuple):
    """What a text is made of: its numbers, each whole, and its other letters, in no order."""

    numbers: tuple[str, ...]
    letters: tuple[str, ...]

    @property
    def empty(self) -> bool:
        """Whether there is nothing to read."""
        return not self.numbers and not self.letters

    def within(self, other: Spelling) -> bool:
        """Whether ``other`` has all of it, and perhaps more."""
        return _part(self.numbers, other.numbers) and _part(self.letters, other.letters)


@lru_cache(maxsize=8192)
def spelling(text: str) -> Spelling:
    """What a text is made of; capitals, spaces and invisible signs make no difference.

    >>> spelling("1 – 7 March") == spelling("March 1–7"), spelling("12") == spelling("21")
    (True, False)
    """
    plain = unicodedata.normalize("NFKD", text.casefold())
    letters = (
        sign
        for sign in re.sub(r"\d+", "", plain)
        if unicodedata.category(sign) not in ("Cf", "Zs", "Cc")
    )
    return Spelling(tuple(sorted(re.findall(r"\d+", plain))), tuple(sorted(letters)))


def together(texts: Iterable[str]) -> Spelling:
    """What several pieces are made of; a number is never pieced together from two."""
    parts = [spelling(text) for text in texts]
    return Spelling(
        tuple(sorted(number for part in parts for number in part.numbers)),
        tuple(sorted(letter for part in parts for letter in part.letters)),
    )


def _part(these: tuple[str, ...], those: tuple[str, ...]) -> bool:
    rest = list(those)
    for one in these:
        if one not in rest:
            return False
        rest.remove(one)
    return True
