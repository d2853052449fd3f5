"""A set as it is now, held against what was last passed: which pages are still good for press.

A page keeps its pass only while it shows the same thing in the same place. What a page shows is
its pixels and its words in the finished PDF; its place is its leaf, its sheet and its spot there.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Mapping, Set
from dataclasses import dataclass
from enum import StrEnum
from pathlib import Path

from pipeline.proof.approval.fingerprints import (
    PRINT_DPI,
    PagePrint,
    Printed,
    edition_digest,
    pages_of,
    prints_of,
)
from pipeline.proof.approval.keepsakes import Keepsakes
from pipeline.proof.approval.record import PageRecord, SetRecord, Verdict
from pipeline.proof.pictures.compare import Comparison, compare
from pipeline.proof.pictures.pictures import open_set


class State(StrEnum):
    """What became of a page since it was last passed."""

    UNCHANGED = "unchanged"
    """Passed for press: it shows what it showed, where it was."""
    MOVED = "moved"
    """It shows what was passed, but that was elsewhere, and is not there any more."""
    CHANGED = "changed"
    """It was passed, and shows something else now."""
    NEW = "new"
    """It was never passed."""
    SENT_BACK = "sent back"
    """Somebody found fault with it, and it is still as it was then."""
    GONE = "gone"
    """It was passed, and the set has no such page any more."""


@dataclass(frozen=True)
class PageState:
    """A page held against the record.

    ``passed`` is what it is compared with, ``sent_back`` why it was sent back last (the fault may
    have been mended since: see ``state``), ``came_from`` the key of the page whose content it
    has, when that was another.
    """

    key: str
    state: State
    passed: Verdict | None = None
    sent_back: Verdict | None = None
    came_from: str = ""


@dataclass(frozen=True)
class SetState:
    """All pages of a set held against the record, in the order of the leaves; gone ones last."""

    pages: tuple[PageState, ...]
    sent_back: bool = False

    @property
    def passed(self) -> bool:
        """Whether the whole set is passed for press, as it is now."""
        return not self.sent_back and all(page.state is State.UNCHANGED for page in self.pages)

    @property
    def counts(self) -> Mapping[State, int]:
        """How many pages are in each state."""
        found = Counter(page.state for page in self.pages)
        return {state: found[state] for state in State}

    @property
    def not_passed(self) -> tuple[PageState, ...]:
        """The pages that may not go to press."""
        return tuple(page for page in self.pages if page.state is not State.UNCHANGED)


def set_state(
    record: SetRecord,
    prints: Mapping[str, PagePrint],
    files: str,
    redrawn: Mapping[str, bool] | None = None,
) -> SetState:
    """Holds a set's pages against its record.

    ``files`` is the set's ``edition_digest``. ``redrawn`` says of pages whose pixels differ from
    the passed ones that they still look the same (see ``redrawn_alike``).

    >>> from pipeline.proof.approval.record import Seen, with_passed
    >>> march = PagePrint("pixels", "words", None)
    >>> record = with_passed(SetRecord(), {"a": Seen("March", march)}, "Ada", "2027-01-05")
    >>> [page.state.value for page in set_state(record, {"a": march, "b": march}, "").pages]
    ['unchanged', 'new']
    >>> [page.state.value for page in set_state(record, {"b": march}, "").pages]
    ['moved', 'gone']
    """
    redrawn = redrawn or {}
    passed_as: dict[tuple[str, str], str] = {}
    for key, page in sorted(record.pages.items()):
        if page.passed is not None:
            passed_as.setdefault((page.passed.picture, page.passed.text), key)
    in_place = {
        key
        for key, page in record.pages.items()
        if page.passed is not None
        and key in prints
        and prints[key].shows_the_same(page.passed.picture, page.passed.text)
    }
    states = [
        _page_state(key, found, record.pages.get(key), passed_as, in_place, redrawn.get(key, False))
        for key, found in prints.items()
    ]
    for key, page in record.pages.items():
        if key not in prints and page.passed is not None:
            states.append(PageState(key, State.GONE, page.passed))
    note = record.sent_back
    return SetState(tuple(states), note is not None and note.files == files)


def _page_state(
    key: str,
    found: PagePrint,
    record: PageRecord | None,
    passed_as: Mapping[tuple[str, str], str],
    in_place: Set[str],
    redrawn: bool,
) -> PageState:
    passed = record.passed if record else None
    back = record.sent_back if record else None
    if back is not None and found.shows_the_same(back.picture, back.text):
        return PageState(key, State.SENT_BACK, passed, back)
    if passed is not None and (redrawn or found.shows_the_same(passed.picture, passed.text)):
        state = State.UNCHANGED if found.place == passed.place else State.MOVED
        return PageState(key, state, passed, back, key if state is State.MOVED else "")
    came_from = passed_as.get((found.picture, found.text), "")
    # Two pages without dates may look alike; the second of them has not come from the first.
    if came_from and came_from not in in_place:
        return PageState(key, State.MOVED, passed, back, came_from)
    return PageState(key, State.CHANGED if passed else State.NEW, passed, back, came_from)


@dataclass(frozen=True)
class Difference:
    """What is different between a page as it was passed and as it is now.

    ``picture`` is None, and the lists of words are empty, when nothing was kept to compare with;
    then ``kept`` is false.
    """

    kept: bool
    picture: Comparison | None = None
    words_lost: tuple[str, ...] = ()
    words_added: tuple[str, ...] = ()

    @property
    def alike(self) -> bool:
        """Whether nobody could tell the two apart: the same words, pixels within the tolerance."""
        same_words = not self.words_lost and not self.words_added
        return self.picture is not None and self.picture.same and same_words


def difference(passed: Verdict, now: Printed, kept: Keepsakes) -> Difference:
    """Holds a page against its kept picture and words."""
    picture, words = kept.picture(passed.picture), kept.words(passed.text)
    if picture is None or words is None:
        return Difference(False)
    before, after = Counter(words), Counter(now.words)
    return Difference(
        True,
        compare(picture, now.picture),
        tuple(sorted((before - after).elements())),
        tuple(sorted((after - before).elements())),
    )


def compare_set(
    set_folder: Path, record: SetRecord, kept: Keepsakes, notes: Path | None = None
) -> SetState:
    """A built set held against its record, everything taken from its finished PDFs.

    ``notes`` is a file to keep fingerprints in (see ``prints_of``). Raises ``UserError`` when the
    folder is not a whole set.
    """
    prints = prints_of(set_folder, notes)
    redrawn = redrawn_alike(set_folder, record, prints, kept, {})
    return set_state(record, prints, edition_digest(set_folder), redrawn)


def redrawn_alike(
    set_folder: Path,
    record: SetRecord,
    prints: Mapping[str, PagePrint],
    kept: Keepsakes,
    known: dict[tuple[str, str], bool],
) -> dict[str, bool]:
    """Pages whose pixels are not quite those that were passed: whether they look the same.

    Another build of a drawing library rounds differently; nobody should have to look at a page
    again for that. Told only where the words are the same and the passed picture was kept.
    ``known`` keeps the answers by the digests of the two pictures.
    """
    pairs = {
        key: (page.passed.picture, prints[key].picture)
        for key, page in record.pages.items()
        if page.passed is not None
        and key in prints
        and prints[key].text == page.passed.text
        and prints[key].picture != page.passed.picture
    }
    unknown = {key for key, pair in pairs.items() if pair not in known}
    if unknown:
        with open_set(set_folder, PRINT_DPI) as pictures:
            for key, leaf, face in pages_of(pictures.contents):
                if key in unknown:
                    picture = kept.picture(pairs[key][0])
                    now = pictures.face(leaf, face)
                    known[pairs[key]] = picture is not None and compare(picture, now).same
    return {key: known[pair] for key, pair in pairs.items()}
