"""What was passed for press, and what of it is still good for press.

The record is a plain file beside the season, to be committed with it. It says of every page what
it showed when it was last passed or sent back, by whom and when. It does not say what is passed
*now*: that follows from holding it against the files, so a page that changes loses its pass
without anybody having to take it away.

A page keeps its pass only while it shows the same thing in the same place. What a page shows is
its pixels and its words in the finished PDF; its place is its leaf, its sheet and its spot there.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Callable, Mapping, Set
from dataclasses import dataclass, field, replace
from enum import StrEnum
from pathlib import Path

from pydantic import Field

from pipeline.base.records import Record, change_record, read_record
from pipeline.proof.approval.fingerprints import (
    PRINT_DPI,
    PagePrint,
    PassedPictures,
    Place,
    Printed,
    pages_of,
)
from pipeline.proof.pictures.pictures import open_set
from pipeline.proof.read.raster import Comparison, compare


@dataclass(frozen=True)
class Verdict:
    """What a page showed when it was passed or sent back; ``at`` is a time as ISO 8601 has it."""

    label: str
    picture: str
    text: str
    by: str
    at: str
    place: Place | None = None
    note: str = ""


@dataclass(frozen=True)
class PageRecord:
    """The last time a page was passed, and the last time it was sent back since."""

    passed: Verdict | None = None
    sent_back: Verdict | None = None


@dataclass(frozen=True)
class SetSentBack:
    """A whole set sent back: why, by whom, when, and which files it was about."""

    note: str
    by: str
    at: str
    files: str


@dataclass(frozen=True)
class SetRecord:
    """What is known of a set's pages, by key, and of the set as a whole."""

    pages: Mapping[str, PageRecord] = field(default_factory=dict)
    sent_back: SetSentBack | None = None


class PassFile(Record):
    """All sets of a season, by their folder within the season's: ``march/running/a5-a4-en-GB``."""

    sets: Mapping[str, SetRecord] = Field(default_factory=dict)

    def of(self, name: str) -> SetRecord:
        """The record of a set; an empty one for a set nobody has looked at."""
        return self.sets.get(name, SetRecord())

    def having(self, name: str, record: SetRecord) -> PassFile:
        """The same with another record for one set."""
        return PassFile(sets={**self.sets, name: record})


@dataclass(frozen=True)
class Seen:
    """A page somebody decides on: what it is called, and what it shows."""

    label: str
    print: PagePrint

    def verdict(self, by: str, at: str, note: str = "") -> Verdict:
        """What is written down about it."""
        found = self.print
        return Verdict(self.label, found.picture, found.text, by, at, found.place, note)


def with_passed(record: SetRecord, pages: Mapping[str, Seen], by: str, at: str) -> SetRecord:
    """A set's record once these pages are passed, which also settles what they were sent back for.

    >>> seen = Seen("opening", PagePrint("p", "t", None))
    >>> record = with_passed(SetRecord(), {"leaf-001-recto": seen}, "Ada", "2027-01-05T09:00:00Z")
    >>> record.pages["leaf-001-recto"].passed.by
    'Ada'
    """
    fresh = {key: PageRecord(passed=seen.verdict(by, at)) for key, seen in pages.items()}
    return replace(record, pages={**record.pages, **fresh})


def with_sent_back(
    record: SetRecord, pages: Mapping[str, Seen], by: str, at: str, note: str
) -> SetRecord:
    """A set's record once these pages are sent back with a note; what was passed is remembered."""
    fresh = {
        key: PageRecord(record.pages.get(key, PageRecord()).passed, seen.verdict(by, at, note))
        for key, seen in pages.items()
    }
    return replace(record, pages={**record.pages, **fresh})


def pass_file(season: Path) -> Path:
    """Where the record of a season file is.

    >>> pass_file(Path("seasons/2027-spring.toml")).as_posix()
    'seasons/2027-spring.passed.json'
    """
    return season.with_suffix(".passed.json")


_REMEDY = "take it back from your last commit, or remove it and pass everything again"


def read_pass_file(path: Path) -> PassFile:
    """The record in a file; an empty one when there is no file yet.

    Raises ``UserError`` when the file is broken, as after a merge gone wrong, or newer.
    """
    return read_record(path, PassFile, _REMEDY) or PassFile()


def change_pass_file(path: Path, change: Callable[[PassFile], PassFile]) -> PassFile:
    """Reads the record, changes it and puts it back whole; gives what it now says.

    Safe with several desks at once. Raises ``UserError`` when the file cannot be read or written.
    """
    return change_record(path, PassFile(), change, _REMEDY)


class State(StrEnum):
    """What became of a page since it was last passed.

    One that is unchanged shows what was passed, where it was; one that has moved shows what was
    passed elsewhere and is not there any more; one sent back is still as it was then.
    """

    UNCHANGED = "unchanged"
    MOVED = "moved"
    CHANGED = "changed"
    NEW = "new"
    SENT_BACK = "sent back"
    GONE = "gone"


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

    >>> from pipeline.proof.approval.passed import Seen, with_passed
    >>> march = PagePrint("pixels", "words", None)
    >>> record = with_passed(SetRecord(), {"a": Seen("March", march)}, "Ada", "2027-01-05")
    >>> [page.state.value for page in set_state(record, {"a": march, "b": march}, "").pages]
    ['unchanged', 'new']
    >>> [page.state.value for page in set_state(record, {"b": march}, "").pages]
    ['moved', 'gone']
    """
    redrawn = redrawn or {}
    passed = {key: page.passed for key, page in record.pages.items() if page.passed is not None}
    passed_as: dict[tuple[str, str], str] = {}
    for key, page in sorted(passed.items()):
        passed_as.setdefault((page.picture, page.text), key)
    in_place = {
        key
        for key, page in passed.items()
        if key in prints and prints[key].shows_the_same(page.picture, page.text)
    }
    states = [
        _page_state(
            key,
            found,
            record.pages.get(key, PageRecord()),
            passed_as,
            in_place,
            redrawn.get(key, False),
        )
        for key, found in prints.items()
    ]
    gone = [PageState(key, State.GONE, page) for key, page in passed.items() if key not in prints]
    note = record.sent_back
    return SetState((*states, *gone), note is not None and note.files == files)


def _page_state(
    key: str,
    found: PagePrint,
    record: PageRecord,
    passed_as: Mapping[tuple[str, str], str],
    in_place: Set[str],
    redrawn: bool,
) -> PageState:
    passed, back = record.passed, record.sent_back
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

    When nothing was ``kept`` to compare with, ``picture`` is None and there are no words.
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


def difference(passed: Verdict, now: Printed, kept: PassedPictures) -> Difference:
    """Holds a page against its kept picture and words."""
    picture, words = kept.picture(passed.picture), kept.words(passed.text)
    if picture is None or words is None:
        return Difference(False)
    before, after = Counter(words), Counter(now.words)
    lost, added = (sorted(some.elements()) for some in (before - after, after - before))
    return Difference(True, compare(picture, now.picture), tuple(lost), tuple(added))


def redrawn_alike(
    set_folder: Path,
    record: SetRecord,
    prints: Mapping[str, PagePrint],
    kept: PassedPictures,
    known: dict[tuple[str, str], bool],
) -> dict[str, bool]:
    """Pages whose pixels are not quite those that were passed: whether they look the same.

    Another build of a drawing library rounds differently; nobody should have to look at a page
    again for that. Only asked where the words are the same and the passed picture was kept.
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
