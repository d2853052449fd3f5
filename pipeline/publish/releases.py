"""The record of releases, and what is new in a version.

The record says which version of each set went out and what its pages showed; from it buyers of an
earlier version learn which sheets to print again.
"""

from __future__ import annotations

import functools
import itertools
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field, replace
from pathlib import Path

from pydantic import Field

from pipeline.base.records import Record, read_record, write_record
from pipeline.impose.contents import Contents
from pipeline.plan.model import Side
from pipeline.plan.words import Phrases, words_for
from pipeline.proof.approval.fingerprints import PagePrint, PassedPictures, page_key, pages_of
from pipeline.proof.approval.passed import (
    PageRecord,
    PageState,
    SetRecord,
    State,
    Verdict,
    redrawn_alike,
    set_state,
)
from pipeline.publish.zips import WORDS, sorted_for_use, within


@dataclass(frozen=True)
class Passed:
    """Who passed a set for press, and when the last of them did (ISO 8601)."""

    by: tuple[str, ...]
    at: str


@dataclass(frozen=True)
class Change:
    """A page that buyers of the version before have otherwise, or elsewhere.

    ``sheet`` and ``side`` are where it is now; 0 for one that is gone.
    """

    key: str
    label: str
    state: State
    sheet: int = 0
    side: int = 0


@dataclass(frozen=True)
class Release:
    """One version of a set.

    ``files`` are the digests of what buyers print and read, by name; ``pages`` what each page
    showed when it was passed. What follows is against the version before: pages, the numbers of
    sheets to print again, and files.
    """

    version: int
    name: str
    at: str
    passed: Passed
    zip_sha256: str
    files: Mapping[str, str]
    pages: Mapping[str, Verdict] = field(default_factory=dict)
    changes: tuple[Change, ...] = ()
    again: tuple[int, ...] = ()
    changed_files: tuple[str, ...] = ()


class ReleaseFile(Record):
    """All releases of a season's sets, the last one last, by the sets' folders in the season's."""

    sets: Mapping[str, tuple[Release, ...]] = Field(default_factory=dict)

    def last(self, name: str) -> Release | None:
        """The last release of a set; None when it never went out."""
        return next(reversed(self.of(name)), None)

    def of(self, name: str) -> tuple[Release, ...]:
        """All releases of a set, the last one last."""
        return self.sets.get(name, ())

    def having(self, name: str, release: Release) -> ReleaseFile:
        """The same with a release added, or in the place of the one with its version.

        Only the last one's pages are kept: nothing is ever compared with those before.
        """
        before = [one for one in self.of(name) if one.version < release.version]
        slim = [replace(one, pages={}) for one in before]
        return ReleaseFile(sets={**self.sets, name: (*slim, release)})


def release_file(season: Path) -> Path:
    """Where the record of a season file is.

    >>> release_file(Path("seasons/2027-spring.toml")).as_posix()
    'seasons/2027-spring.releases.json'
    """
    return season.with_suffix(".releases.json")


def read_releases(path: Path) -> ReleaseFile:
    """The record in a file; an empty one when there is no file yet.

    Raises ``UserError`` when the file is broken or newer.
    """
    return read_record(path, ReleaseFile, "take it back from your last commit") or ReleaseFile()


def write_releases(path: Path, releases: ReleaseFile) -> None:
    """Writes the record, whole or not at all. Raises ``UserError`` when it cannot."""
    write_record(path, releases)


def changes_since(
    last: Release,
    set_folder: Path,
    contents: Contents,
    prints: Mapping[str, PagePrint],
    kept: PassedPictures,
) -> tuple[tuple[Change, ...], tuple[int, ...]]:
    """The pages that are not as they were in the last release, and the sheets to print again.

    These have a leaf on them that buyers do not have: neither here nor as another leaf.
    """
    record = SetRecord({key: PageRecord(passed=page) for key, page in last.pages.items()})
    redrawn = redrawn_alike(set_folder, record, prints, kept, {})
    states = {page.key: page for page in set_state(record, prints, "", redrawn).pages}
    labels = {}
    for key, leaf, face in pages_of(contents):
        page = contents.leaves[leaf].page(face)
        labels[key] = page.label if page else ""
    changes = []
    for key, state in states.items():
        if state.state is State.UNCHANGED:
            continue
        place = prints[key].place if key in prints else None
        label = labels.get(key) or (state.passed.label if state.passed else "")
        at = (place.sheet, place.side) if place else (0, 0)
        changes.append(Change(key, label, state.state, *at))
    again: set[int] = set()
    for leaf in range(len(contents.leaves)):
        if not _have(leaf, states):
            places = [contents.find(leaf, face) for face in Side]
            again |= {contents.sheets[place.sheet].number for place in places if place}
    return tuple(changes), tuple(sorted(again))


def _have(leaf: int, states: Mapping[str, PageState]) -> bool:
    """Whether both faces of a leaf are those of one and the same leaf of the version before."""
    before = {}
    for face in Side:
        key = page_key(leaf, face)
        if (page := states.get(key)) is None:
            continue
        if page.state not in (State.UNCHANGED, State.MOVED):
            return False
        was = key if page.state is State.UNCHANGED else page.came_from
        before[face.value] = was.rpartition("-")[::2]
    same_leaf = len({leaf for leaf, _ in before.values()}) <= 1
    return same_leaf and {face for _, face in before.values()} == set(before)


def changes_text(title: str, releases: Sequence[Release], language: str) -> str:
    """What is new, as a text for buyers: the latest version first; empty for a first version.

    >>> from pipeline.publish.releases import Passed
    >>> ada = Passed(("Ada",), "2027-01-05T09:00:00Z")
    >>> first = Release(1, "march-v1", ada.at, ada, "", {})
    >>> week = Change("leaf-002-verso", "W10 8–14 Mar", State.CHANGED, 3, 2)
    >>> second = Release(2, "march-v2", ada.at, ada, "", {}, changes=(week,), again=(3,))
    >>> print(changes_text("March", (first, second), "en"))
    March
    <BLANKLINE>
    Version 2: what is new since version 1
    Print these sheets again: 3
      Changed: sheet 3, side 2, W10 8–14 Mar
    """
    # The figures are those of the language, even where English stands in for its words.
    words = replace(Phrases.read(WORDS, language), local=words_for(language))
    say = functools.partial(words.say, "changes")
    comma = say("comma")
    parts = [title]
    for before, one in reversed(list(itertools.pairwise(releases))):
        lines = [say("head", new=one.version, old=before.version)]
        again = comma.join(words.local.number(sheet) for sheet in one.again)
        lines.append(say("again", sheets=again) if again else say("none"))
        for change in one.changes:
            page = change.label
            if change.sheet:
                page = say("place", sheet=change.sheet, side=change.side, page=page)
            # A page that was sent back before is another one now.
            kind = State.CHANGED if change.state is State.SENT_BACK else change.state
            lines.append("  " + say(kind.value, page=page))
        if not one.changes and one.changed_files:
            right_to_left = words.local.right_to_left
            names = sorted_for_use(one.changed_files)
            shown = comma.join(within(name, right_to_left=right_to_left) for name in names)
            lines.append(say("files", files=shown))
        parts.append("\n".join(lines))
    return "\n\n".join(parts) if len(parts) > 1 else ""
