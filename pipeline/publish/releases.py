"""The record of releases: which version of each set went out, and what its pages showed.

A plain file beside the season, to be committed with it. From it follow the number of the next
version and what buyers of the last one have to print again.
"""

from __future__ import annotations

import json
from collections.abc import Mapping
from dataclasses import dataclass, field, replace
from pathlib import Path

from pydantic import TypeAdapter

from pipeline.base.folders import write_whole
from pipeline.base.recordfile import read_record
from pipeline.proof.approval.passed import State
from pipeline.proof.approval.record import Verdict


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


@dataclass(frozen=True)
class ReleaseFile:
    """All releases of a season's sets, the last one last, by the sets' folders in the season's."""

    sets: Mapping[str, tuple[Release, ...]] = field(default_factory=dict)

    def last(self, name: str) -> Release | None:
        """The last release of a set; None when it never went out."""
        releases = self.of(name)
        return releases[-1] if releases else None

    def of(self, name: str) -> tuple[Release, ...]:
        """All releases of a set, the last one last."""
        return self.sets.get(name, ())

    def having(self, name: str, release: Release) -> ReleaseFile:
        """The same with a release added, or in the place of the one with its version.

        Only the last one's pages are kept: nothing is ever compared with those before.
        """
        before = [one for one in self.of(name) if one.version < release.version]
        slim = [replace(one, pages={}) for one in before]
        return ReleaseFile({**self.sets, name: (*slim, release)})


def release_file(season: Path) -> Path:
    """Where the record of a season file is.

    >>> release_file(Path("seasons/2027-spring.toml")).as_posix()
    'seasons/2027-spring.releases.json'
    """
    return season.with_suffix(".releases.json")


_FILE: TypeAdapter[ReleaseFile] = TypeAdapter(ReleaseFile)


def read_releases(path: Path) -> ReleaseFile:
    """The record in a file; an empty one when there is no file yet.

    Raises ``UserError`` when it is there but is no such record.
    """
    remedy = "take it back from your last commit"
    return read_record(path, _FILE, ReleaseFile(), remedy)


def write_releases(path: Path, releases: ReleaseFile) -> None:
    """Writes the record, whole or not at all. Raises ``UserError`` when it cannot."""
    plain = _FILE.dump_python(releases, mode="json", exclude_none=True)
    data = json.dumps(plain, indent=1, sort_keys=True, ensure_ascii=False) + "\n"
    write_whole(path, data.encode())
