"""The finished files as they were read: all that is written and painted on a sheet's sides."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from functools import cached_property

import pypdfium2 as pdfium

from pipeline.base.geometry import Rect
from pipeline.plan.model import Page, Side
from pipeline.proof.findings.finding import Finding
from pipeline.proof.findings.slots import Slot, Slots
from pipeline.proof.findings.spelling import spelling, together
from pipeline.proof.findings.subject import Subject
from pipeline.proof.read.contents import Placement, SheetSide, upright
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

    @cached_property
    def _claimed(self) -> Mapping[int, Slot]:
        """Pieces of text that say all that one place should, and so belong to no other."""
        claimed: dict[int, Slot] = {}
        for slot in self.slots.texts:
            forms = self.page.facts.texts[slot.key] if self.page else ()
            for text in self.said_in(slot.area):
                if says_just([text], forms):
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

    def said_in(self, area: Rect) -> list[LeafText]:
        """The pieces of text whose middle lies in an area of the leaf."""
        return [text for text in self.texts if area.holds(_middle(text.box))]


@dataclass(frozen=True, eq=False)
class SideRead:
    """A side of a sheet as it was read; valid while its file is open."""

    number: int
    """Its sheet's number, from 1, as it is printed."""
    side: SheetSide
    page: pdfium.PdfPage
    placements: tuple[Placement, ...]
    faces: tuple[FaceRead, ...]
    forms: tuple[Form, ...]
    art: tuple[Painted, ...]

    def on_leaf(self) -> Iterator[tuple[FaceRead, Art]]:
        """Everything painted on a leaf, and the face it is on; marks around leaves are on none."""
        for item in self.art:
            seen = item.seen
            if seen is None:
                continue
            middle = _middle(seen)
            for face in self.faces:
                if face.placement.flat.holds(middle):
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
        faces.append(FaceRead(note.number, side, placement, planned, slots, own))
    return SideRead(
        note.number, side, page, placements, tuple(faces), top_forms(page), tuple(painted(page))
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


def finding_on(
    face: FaceRead,
    subject: Subject,
    code: str,
    message: str,
    place: Rect | None,
    remedy: str = "",
) -> Finding:
    """A finding on a face; ``remedy`` where there is more to say than its kind does."""
    return Finding(
        code,
        subject.name,
        message,
        face.sheet,
        face.side,
        face.leaf,
        face.face,
        place,
        template=f"{subject.binder.name}/{face.page.template}.svg" if face.page else "",
        remedy=remedy,
    )


def _middle(box: Rect) -> Rect:
    return Rect(box.x + box.width / 2, box.y + box.height / 2, 0, 0)
