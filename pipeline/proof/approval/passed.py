"""What was passed for press, and what of it is still good for press.

The record is a plain file beside the season, to be committed with it. It says of every page what
it showed when it was last passed or sent back, by whom and when. It does not say what is passed
*now*: that follows from holding it against the files, so a page that changes loses its pass
without anybody having to take it away.

A page keeps its pass only while it shows the same thing in the same place. What a page shows is
its pixels and its words in the finished PDF; its place is its leaf, its sheet and its spot there.
"""

from __future__ import annotations

from collections import Counter, defaultdict
from collections.abc import Callable, Mapping, Sequence, Set
from dataclasses import dataclass, field, replace
from enum import StrEnum
from functools import cached_property
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

    def shows_what(self, other: Verdict) -> bool:
        """Whether both were given on the same page."""
        return (self.picture, self.text) == (other.picture, other.text)


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

    @property
    def not_doubted(self) -> Mapping[str, Verdict]:
        """The pages that were passed and not sent back as they were then, nor with the set."""
        if self.sent_back is not None:
            return {}
        return {
            key: page.passed
            for key, page in self.pages.items()
            if page.passed is not None
            and not (page.sent_back and page.sent_back.shows_what(page.passed))
        }


class PassFile(Record):
    """All sets of a season, by their folder within the season's: ``march/running/a5-a4-en-GB``."""

    sets: Mapping[str, SetRecord] = Field(default_factory=dict)

    def of(self, name: str) -> SetRecord:
        """The record of a set; an empty one for a set nobody has looked at."""
        return self.sets.get(name, SetRecord())

    def having(self, name: str, record: SetRecord) -> PassFile:
        """The same with another record for one set."""
        return PassFile(sets={**self.sets, name: record})

    def seen_elsewhere(self, name: str, prints: Mapping[str, PagePrint]) -> dict[str, str]:
        """Which of a set's pages show what is passed on the same side of a leaf in another set.

        Gives that set's name, by the page's key. What was sent back there does not count.

        >>> page = PagePrint("pixels", "words", None)
        >>> record = with_passed(SetRecord(), {"leaf-002-recto": Seen("March", page)}, "Ada", "")
        >>> passes = PassFile(sets={"march/weeks/a5-a4-en": record})
        >>> shown = {"leaf-003-recto": page, "leaf-003-verso": page}
        >>> passes.seen_elsewhere("march/weeks/a5-letter-en", shown)
        {'leaf-003-recto': 'march/weeks/a5-a4-en'}
        """
        found = {}
        for key, page in prints.items():
            holders = self._passed_in.get((page.picture, page.text, _face_of(key)), ())
            other = next((one for one in holders if one != name), None)
            if other is not None:
                found[key] = other
        return found

    @cached_property
    def _passed_in(self) -> Mapping[tuple[str, str, str], Sequence[str]]:
        """The sets in which something is passed: by picture, words and side of a leaf."""
        found = defaultdict[tuple[str, str, str], list[str]](list)
        for name, record in self.sets.items():
            for key, passed in record.not_doubted.items():
                found[passed.picture, passed.text, _face_of(key)].append(name)
        return found

    def nearly_elsewhere(
        self, name: str, others: Sequence[str], prints: Mapping[str, PagePrint]
    ) -> dict[str, tuple[str, str]]:
        """Pages not passed that have all words, but not all pixels, of one of ``others``'.

        Gives that set's name and a digest of the picture passed there, by key. A page that lies
        elsewhere on its sheet may be rounded otherwise: see ``look_alike``.
        """
        found: dict[str, tuple[str, str]] = {}
        for key, page in prints.items():
            mine = self.of(name).pages.get(key, PageRecord()).passed
            if mine is not None and page.shows_the_same(mine.picture, mine.text):
                continue
            for other in others:
                passed = self.of(other).not_doubted.get(key)
                if passed is not None and passed.text == page.text:
                    found.setdefault(key, (other, passed.picture))
        return found


def _face_of(key: str) -> str:
    """The side of its leaf that a page's key says."""
    return key.rpartition("-")[2]


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
    passed elsewhere in its set and is not there any more; one that was seen shows what is passed in
    another set, as on another paper; one sent back is still as it was then.
    """

    UNCHANGED = "unchanged"
    MOVED = "moved"
    SEEN = "seen"
    CHANGED = "changed"
    NEW = "new"
    SENT_BACK = "sent back"
    GONE = "gone"


@dataclass(frozen=True)
class PageState:
    """A page held against the record.

    ``passed`` is what it is compared with, ``sent_back`` why it was sent back last (the fault may
    have been mended since: see ``state``), ``came_from`` the key of the page whose content it
    has, when that was another, ``seen_in`` the set in which it was seen.
    """

    key: str
    state: State
    passed: Verdict | None = None
    sent_back: Verdict | None = None
    came_from: str = ""
    seen_in: str = ""


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
    seen_in: Mapping[str, str] | None = None,
) -> SetState:
    """Holds a set's pages against its record.

    ``files`` is the set's ``edition_digest``. ``redrawn`` says of pages whose pixels differ from
    the passed ones that they still look the same (see ``redrawn_alike``), ``seen_in`` of pages in
    which other set they are passed (see ``seen_elsewhere``).

    >>> from pipeline.proof.approval.passed import Seen, with_passed
    >>> march = PagePrint("pixels", "words", None)
    >>> record = with_passed(SetRecord(), {"a": Seen("March", march)}, "Ada", "2027-01-05")
    >>> [page.state.value for page in set_state(record, {"a": march, "b": march}, "").pages]
    ['unchanged', 'new']
    >>> [page.state.value for page in set_state(record, {"b": march}, "").pages]
    ['moved', 'gone']
    """
    redrawn, seen_in = redrawn or {}, seen_in or {}
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
            seen_in.get(key, ""),
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
    seen_in: str,
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
    if seen_in:
        return PageState(key, State.SEEN, passed, back, seen_in=seen_in)
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
    return look_alike(set_folder, pairs, kept, known)


def look_alike(
    set_folder: Path,
    pairs: Mapping[str, tuple[str, str]],
    kept: PassedPictures,
    known: dict[tuple[str, str], bool],
) -> dict[str, bool]:
    """Whether pages look as passed ones do; ``pairs`` are digests of the passed picture and theirs.

    ``known`` keeps the answers by the digests of the two pictures.
    """
    unknown = {key for key, pair in pairs.items() if pair not in known}
    if unknown:
        with open_set(set_folder, PRINT_DPI) as pictures:
            for key, leaf, face in pages_of(pictures.contents):
                if key in unknown:
                    picture = kept.picture(pairs[key][0])
                    now = pictures.face(leaf, face)
                    known[pairs[key]] = picture is not None and compare(picture, now).same
    return {key: known[pair] for key, pair in pairs.items()}
