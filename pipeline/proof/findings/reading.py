"""The finished files as they were read: all that is written and painted on a sheet's sides."""

from __future__ import annotations

import itertools
import math
import re
import zlib
from collections.abc import Callable, Hashable, Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from functools import cached_property
from typing import NamedTuple, TypeVar

import numpy as np
import numpy.typing as npt
import pypdfium2 as pdfium
import pypdfium2.raw as pdfium_raw

from pipeline.base.cache import Recent
from pipeline.base.findings import Severity
from pipeline.base.geometry import MM_PER_INCH, Rect, mm
from pipeline.impose.contents import upright
from pipeline.impose.leaf import LeafFace
from pipeline.impose.sheet import Placement, SheetSide
from pipeline.plan.model import Page, Side
from pipeline.proof.findings.subject import Numbers, SetFinding, Slot, Slots, Subject
from pipeline.proof.read.objects import (
    JUDGED,
    Content,
    Layer,
    Painted,
    layers,
    middle,
    unpainted,
)
from pipeline.proof.read.raster import grey_picture
from pipeline.proof.read.text import LeafText, Piece, Spelling, pieces_in, spelling, texts_on

_T = TypeVar("_T")

_CUT_OFF_MM = 0.1
"""A line so near to the outline of a tab is part of it."""

_ON_EDGE_MM = 0.01
"""A tab's outline may run along the very edge of the flat leaf."""

GREY_DPI = 100.0
"""Fine enough to see every letter; lines thinner than a pixel weigh too much."""
_PX_PER_MM = GREY_DPI / MM_PER_INCH

PixelArea = tuple[slice, slice]
"""A box of a picture: rows and columns."""


@dataclass(frozen=True, eq=False)
class FaceRead:
    """One face of a leaf (counted from 0) as it was printed, and the page planned for it."""

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
        self,
        rule: str,
        message: str,
        place: Rect | None = None,
        remedy: str = "",
        *,
        milder: Severity | None = None,
    ) -> SetFinding:
        """A finding on this face; ``remedy`` and ``milder`` where its rule's don't fit."""
        subject, page = self.subject, self.page
        return SetFinding(
            rule,
            message,
            subject.name,
            self.sheet,
            self.side,
            self.leaf,
            self.face,
            place,
            template=f"{subject.plan.binder.name}/{page.template}.svg" if page else "",
            remedy=remedy,
            milder=milder,
        )

    def on_leaf(self, on_sheet: Rect) -> Rect:
        """A rectangle of the sheet as it lies on the leaf, mm of the flat area, upright."""
        return upright(on_sheet, self.placement)

    @cached_property
    def shape(self) -> LeafFace:
        """Where page, flap, fold and holes lie on it."""
        return self.subject.geometry(self.leaf).face(self.face)

    @cached_property
    def cuts(self) -> tuple[Rect, ...]:
        """What each line of its tab's outline takes up, mm of the flat area."""
        return tuple(
            Rect.around(ends) for ends in self.shape.outline_lines if math.dist(*ends) > _CUT_OFF_MM
        )

    def cut_at(self, item: Painted, box: Rect) -> Rect | None:
        """The line of its tab's outline that a thing painted in a ``box`` of the face is."""
        if not self.cuts or item.kind != "path" or item.fill is not None or item.stroke is None:
            return None
        bare = box.grown(-item.stroke_mm)  # pdfium's boxes of strokes are so much larger

        def off(cut: Rect) -> float:
            return max(abs(one - other) for one, other in zip(cut, bare, strict=True))

        near = min(self.cuts, key=off)
        return near if off(near) <= _CUT_OFF_MM else None

    @property
    def forms(self) -> Mapping[str, tuple[str, ...]]:
        """The forms of every text that its page is to have, by key."""
        return self.page.facts.texts if self.page else {}

    @cached_property
    def claimed(self) -> Mapping[int, Slot]:
        """Pieces of text, by ``id``, that say all one place should, and so belong to no other.

        Of places that should say the same the narrowest has it: a day within its week. Of places
        equally wide the nearest has it: two weekdays may have one letter.
        """
        claimed: dict[int, tuple[float, float, Slot]] = {}
        for slot in self.slots.texts:
            width, spot = round(slot.area.width, 1), middle(slot.area)
            for text in self.said_in(slot.area):
                if says_just([text], self.forms[slot.key]):
                    far = math.dist(middle(text.box)[:2], spot[:2])
                    best = claimed.get(id(text))
                    if best is None or (width, far) < best[:2]:
                        claimed[id(text)] = width, far, slot
        return {text: slot for text, (_, _, slot) in claimed.items()}

    def said_at(self, slot: Slot) -> list[LeafText]:
        """The pieces of text at a key's place, but for those that belong to another place."""
        found = self.said_in(slot.area)
        return [text for text in found if self.claimed.get(id(text), slot) is slot]

    def said_over(self, area: Rect) -> list[LeafText]:
        """The pieces of text that reach into an area, whatever else they say.

        A heading and its number set close together are one piece to a reader of the PDF.
        """
        return [text for text in self.texts if area.overlaps(text.box)]

    def said_in(self, area: Rect) -> list[LeafText]:
        """The pieces of text whose middle lies in an area of the leaf."""
        if area not in self._said:
            self._said[area] = [text for text, at in self._middles if area.holds(at)]
        return self._said[area]

    @cached_property
    def _said(self) -> dict[Rect, list[LeafText]]:
        return {}

    @cached_property
    def _middles(self) -> list[tuple[LeafText, Rect]]:
        return [(text, middle(text.box)) for text in self.texts]

    def words_in(self, box: Rect) -> str:
        """The words that a box of ink shows."""
        return joined(text for text in self.texts if text.box.overlaps(box, 0.2))


class Art(NamedTuple):
    """Something seen on a face, its box there (mm of the flat area, upright) and its PDF page."""

    face: FaceRead
    item: Painted
    box: Rect
    page: pdfium.PdfPage


@dataclass(frozen=True, eq=False)
class SideRead:
    """A side of a sheet as it was read; valid while its file is open.

    ``number`` is its sheet's, from 1, as it is printed; ``both`` the same side in the file of both,
    or ``page`` itself where the two are the same to the byte.
    ``letters`` are those of ``page`` as pdfium reads them, ``around`` is what is written beside the
    leaves.
    """

    subject: Subject
    number: int
    side: SheetSide
    page: pdfium.PdfPage
    both: pdfium.PdfPage
    letters: pdfium.PdfTextPage
    faces: tuple[FaceRead, ...]
    layers: tuple[Layer, ...]
    around: tuple[Piece, ...]

    @cached_property
    def art(self) -> tuple[Painted, ...]:
        """All that it paints, from the bottom up."""
        return tuple(itertools.chain.from_iterable(layer.items for layer in self.layers))

    def known(
        self,
        layer: Layer,
        what: Hashable,
        make: Callable[[Layer], _T],
        *,
        anywhere: bool = False,
    ) -> _T:
        """What is found of a layer, nothing of pdfium's in it: once for all that are made alike.

        ``anywhere`` tells that the place where it lies makes no difference.
        """
        if layer.key is None:
            return make(layer)
        key = layer.key.digest if anywhere else layer.key
        return JUDGED.get_or_make((what, key), lambda: make(layer))

    def once(self, layer: Layer, what: Hashable, make: Callable[[Layer], _T]) -> _T:
        """What is made of a layer, once for all sides that it is on."""
        if layer.key is None:
            return make(layer)
        kept, key = self.subject.kept, (what, layer.key)
        if key not in kept:
            kept[key] = make(layer)
        made: _T = kept[key]
        return made

    def finding(self, rule: str, message: str, place: Rect | None = None) -> SetFinding:
        """A finding about the whole side, or about a place of it beside the leaves."""
        return replace(self.subject.finding(rule, message, self.number, self.side), place=place)

    @property
    def sheet(self) -> Rect:
        """Its paper, mm."""
        note = self.subject.contents.sheets[self.number - 1]
        return Rect(0, 0, note.width_mm, note.height_mm)

    @cached_property
    def greys(self) -> npt.NDArray[np.uint8]:
        """The whole side as it prints, in grey: 0 is black; ``GREY_DPI`` pixels to the inch.

        Letters under nothing that is painted later are drawn over all the rest, which is the same.
        """
        return self._letters_on(self.behind) if self.plain else grey_picture(self.page, GREY_DPI)

    @cached_property
    def _per_mm(self) -> tuple[float, float]:
        """Pixels of its pictures to a millimetre, across and down: they are whole pixels large."""
        width, height = map(mm, self.page.get_size())
        return math.ceil(width * _PX_PER_MM) / width, math.ceil(height * _PX_PER_MM) / height

    def pixels(self, box: Rect) -> PixelArea:
        """Where a box of the sheet (mm) lies in its pictures."""
        across, down = self._per_mm
        return (
            slice(max(0, int(box.y * down)), max(0, int(box.bottom * down) + 1)),
            slice(max(0, int(box.x * across)), max(0, int(box.right * across) + 1)),
        )

    @cached_property
    def plain(self) -> bool:
        """Whether its letters lie over all the rest, and nothing but its layers is shown."""
        noted = pdfium_raw.FPDFPage_GetAnnotCount(self.page) > 0
        return not (self.covers or noted) and all(layer.plain for layer in self.layers)

    @cached_property
    def behind(self) -> npt.NDArray[np.uint8]:
        """All but its letters, in grey; the same for all sides that paint the same but for them."""

        def drawn() -> npt.NDArray[np.uint8]:
            with unpainted([one for layer in self.layers for one in layer.handles(text=True)]):
                return grey_picture(self.page, GREY_DPI)

        if self._paints is None:
            return drawn()
        shape, packed = _GROUNDS.get_or_make(self._paints, lambda: _packed(drawn()))
        return np.frombuffer(zlib.decompress(packed), np.uint8).reshape(shape)

    @property
    def most_inked(self) -> float:
        """The share of it that is not white, or more: letters are counted as whole boxes."""
        if not self.plain or self._paints is None:
            return _inked(self.greys)
        letters = sum(self.known(layer, "letters", _letter_pixels) for layer in self.layers)
        own = JUDGED.get_or_make(("inked", self._paints), lambda: _inked(self.behind))
        return own + letters / (self.sheet.width * self.sheet.height * _PX_PER_MM**2)

    @cached_property
    def _paints(self) -> Hashable | None:
        """The same for sides that paint the same but for their letters; None where unknown."""
        looks = [
            layer.key if not layer.texts or "picture" in layer.kinds else _looks(layer)
            for layer in self.layers
        ]
        return None if None in looks else (self.page.get_size(), tuple(looks))

    @cached_property
    def ink(self) -> npt.NDArray[np.uint8]:
        """How dark its letters would be on white paper with nothing else on it: 0 is white."""
        return 255 - self._letters_on(np.full_like(self.behind, 255))

    def _letters_on(self, ground: npt.NDArray[np.uint8]) -> npt.NDArray[np.uint8]:
        others = [one for layer in self.layers for one in layer.handles(text=False)]
        with unpainted(others):
            return grey_picture(self.page, GREY_DPI, ground)

    @cached_property
    def covers(self) -> bool:
        """Whether anything is painted after a text, and where it may hide some of that."""
        stacks = [self.known(layer, "stack", _stack) for layer in self.layers]
        boxes = np.concatenate([np.empty((0, 4)), *(stack.solid for stack in stacks)])
        below = 0
        for solid, letters, under in stacks:
            if len(letters) and len(over := boxes[(least := below + under[0]) :]):
                above = np.arange(least, len(boxes)) >= below + under[:, None]
                if (above & overlaps(letters, over)).any():
                    return True
            below += len(solid)
        return False

    @cached_property
    def words(self) -> Mapping[FaceRead, list[Art]]:
        """The letters painted on each face."""
        words: dict[FaceRead, list[Art]] = {}
        for layer in self.layers:
            if layer.texts:
                for art in self.on_leaves(layer):
                    if art.item.kind == "text":
                        words.setdefault(art.face, []).append(art)
        return words

    def on_leaves(self, layer: Layer) -> Iterator[Art]:
        """What of a layer is seen on leaves; marks around leaves are on none, nor are outlines."""
        flats = tuple((face.placement.flat, face.placement.turned) for face in self.faces)
        for place, item, box in self.once(layer, flats, lambda one: [*self._on_leaves(one)]):
            if self.faces[place].cut_at(item, box) is None:
                yield Art(self.faces[place], item, box, self.page)

    @cached_property
    def cuts(self) -> Mapping[FaceRead, frozenset[Rect]]:
        """The lines of tabs' outlines that are painted on each face, dark enough to cut by."""
        found: dict[FaceRead, set[Rect]] = {}
        for layer in self.layers if any(face.cuts for face in self.faces) else ():
            for place, item, box in self._on_leaves(layer):
                cut = self.faces[place].cut_at(item, box)
                if cut is not None and item.stroke is not None and item.stroke.darkness >= 0.5:
                    found.setdefault(self.faces[place], set()).add(cut)
        return {face: frozenset(cuts) for face, cuts in found.items()}

    def _on_leaves(self, layer: Layer) -> Iterator[tuple[int, Painted, Rect]]:
        for item in layer.items:
            if (seen := item.seen) is None:
                continue
            for place, face in enumerate(self.faces):
                if face.placement.flat.holds(middle(seen), _ON_EDGE_MM):
                    yield place, item, upright(seen, face.placement)
                    break


_GROUNDS = Recent(512)
"""Sides but for their letters, by what is painted there, packed: some 30 kB each."""


def _packed(picture: npt.NDArray[np.uint8]) -> tuple[tuple[int, ...], bytes]:
    """A picture's rows and columns, and its packed bytes: mostly white, and packed at once."""
    return picture.shape, zlib.compress(picture.tobytes(), 1)


def _looks(layer: Layer) -> tuple[object, ...]:
    """What things that are not text look like, as far as two sides can differ in them."""
    return tuple(
        (item.kind, item.box, item.clip, item.fill, item.stroke, item.stroke_mm)
        for item in layer.items
        if item.kind != "text"
    )


def _inked(picture: npt.NDArray[np.uint8]) -> float:
    """The share of a picture that is not white."""
    return float(np.count_nonzero(picture < 255)) / picture.size


def _letter_pixels(layer: Layer) -> int:
    """How many pixels of a picture of its side a layer's letters can reach."""
    return sum(
        math.ceil(item.box.width * _PX_PER_MM + 2) * math.ceil(item.box.height * _PX_PER_MM + 2)
        for item in layer.texts
    )


class _Stack(NamedTuple):
    """The edges of what is seen of a layer's things that are not text, mm, and those of its texts.

    ``under`` has how many of those things lie below each text.
    """

    solid: Numbers
    letters: Numbers
    under: npt.NDArray[np.int64]


def _stack(layer: Layer) -> _Stack:
    solid, letters, under = list[tuple[float, ...]](), list[tuple[float, ...]](), list[int]()
    for item in layer.items:
        if item.kind == "text":
            letters.append(item.box.edges)
            under.append(len(solid))
        elif item.seen:
            solid.append(item.seen.edges)
    edges = np.array(solid).reshape(-1, 4), np.array(letters).reshape(-1, 4)
    return _Stack(*edges, np.array(under, dtype=np.int64))


def overlapped(texts: Sequence[LeafText], arts: Sequence[Art]) -> npt.NDArray[np.bool_]:
    """Which things' boxes overlap each text's: a row for each text, a column for each thing."""
    one = np.array([text.box.edges for text in texts]).reshape(-1, 4)
    return overlaps(one, np.array([art.box.edges for art in arts]).reshape(-1, 4))


def overlaps(some: Numbers, others: Numbers) -> npt.NDArray[np.bool_]:
    """Which boxes (their edges, mm) share more than an edge: a row for each of ``some``."""
    one, other = some[:, None], others[None]
    shared = np.minimum(one, other)[..., 2:] - np.maximum(one, other)[..., :2]
    return np.asarray((shared > 1e-9).all(axis=-1))


def read_side(
    subject: Subject,
    page: pdfium.PdfPage,
    content: Content | None,
    both: pdfium.PdfPage,
    sheet: int,
    side: SheetSide,
) -> SideRead:
    """Reads a side of a sheet (``sheet`` counted from 0) from its PDF page and its content."""
    note = subject.contents.sheets[sheet]
    letters = page.get_textpage()
    pieces = pieces_in(letters)
    texts = tuple(texts_on(pieces, note.placements(side), sheet, side))
    faces = []
    for placement in note.placements(side):
        leaf, face = placement.leaf, placement.face
        planned = subject.page(leaf, face)
        slots = subject.slots(planned, leaf) if planned else Slots()
        areas = [slot.area for slot in slots.texts]
        here = (text for text in texts if (text.leaf, text.face) == (leaf, face))
        own = tuple(part for text in here for part in cut_between(text, areas))
        faces.append(FaceRead(subject, note.number, side, placement, planned, slots, own))
    flats = [placement.flat for placement in note.placements(side)]
    around = tuple(
        piece for piece in pieces if not any(flat.holds(middle(piece.box)) for flat in flats)
    )
    painted = tuple(layers(page, content, subject.kept))
    return SideRead(subject, note.number, side, page, both, letters, tuple(faces), painted, around)


def cut_between(text: LeafText, areas: Sequence[Rect]) -> Iterator[LeafText]:
    """A piece of text cut between words where one key's area ends and another's begins, in mm.

    Figures and names set close together, as in a narrow row, are one piece to a reader of the PDF.

    >>> letters = tuple(Rect(x, 1, 1, 2) for x in (1, 1, 2.2))
    >>> row = LeafText("2 T", Rect(1, 1, 2.2, 2), letters, 0, Side.RECTO, False, 0, 1)
    >>> [part.text for part in cut_between(row, [Rect(0, 0, 2, 4), Rect(2.1, 0, 9, 4)])]
    ['2', 'T']
    """
    words = [match.span() for match in re.finditer(r"\S+", text.text)]
    start, before = 0, frozenset[int]()
    if len(words) < 2:
        yield text
        return
    for first, last in words:
        spot = middle(Rect.union(text.letters[first:last]))
        there = frozenset(number for number, area in enumerate(areas) if area.holds(spot))
        if before and there and not before & there:
            yield _part(text, start, first)
            start = first
        before = there or before
    yield _part(text, start, len(text.text))


def _part(text: LeafText, start: int, end: int) -> LeafText:
    if (start, end) == (0, len(text.text)):
        return text
    kept = text.text[start:end].rstrip()
    letters = text.letters[start : start + len(kept)]
    return replace(text, text=kept, letters=letters, box=Rect.union(letters))


_ENOUGH = 4
"""A form of so many letters is recognised among others; "up" would be in "supper" too."""


def joined(texts: Iterable[LeafText]) -> str:
    """What several pieces say, one after the other."""
    return " ".join(text.text for text in texts)


def says(texts: Sequence[LeafText], forms: Sequence[str]) -> bool:
    """Whether the pieces found at a place say one of a text's forms, alone or among others."""
    if says_just(texts, forms):
        return True
    whole = spelling(joined(texts))
    return any(
        form.within(whole)
        for form in map(spelling, forms)
        if form.numbers or len(form.letters) >= _ENOUGH
    )


def says_just(texts: Sequence[LeafText], forms: Sequence[str]) -> bool:
    """Whether one of the pieces found at a place, or all of them together, say a form."""
    return not spellings(texts).isdisjoint(map(spelling, forms))


def spellings(texts: Sequence[LeafText]) -> set[Spelling]:
    """What each of the pieces found at a place says, and all of them together."""
    return {spelling(one.text) for one in texts} | {spelling(joined(texts))}
