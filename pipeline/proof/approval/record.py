"""The record of what was passed for press: a plain file beside the season, to be committed with it.

It says of every page what it showed when it was last passed or sent back, by whom and when. It
does not say what is passed *now*: that follows from holding it against the files (``passed.py``),
so a page that changes loses its pass without anybody having to take it away.
"""

from __future__ import annotations

import contextlib
import fcntl
import json
import os
from collections.abc import Callable, Iterator, Mapping
from dataclasses import dataclass, field, replace
from pathlib import Path

from pydantic import TypeAdapter

from pipeline.base.errors import UserError
from pipeline.base.recordfile import read_record
from pipeline.proof.approval.fingerprints import PagePrint, Place


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
class SetNote:
    """A whole set sent back: why, by whom, when, and which files it was about."""

    note: str
    by: str
    at: str
    files: str


@dataclass(frozen=True)
class SetRecord:
    """What is known of a set's pages, by key, and of the set as a whole."""

    pages: Mapping[str, PageRecord] = field(default_factory=dict)
    sent_back: SetNote | None = None


@dataclass(frozen=True)
class PassFile:
    """All sets of a season, by their folder within the season's: ``march/running/a5-a4-en-GB``."""

    sets: Mapping[str, SetRecord] = field(default_factory=dict)

    def of(self, name: str) -> SetRecord:
        """The record of a set; an empty one for a set nobody has looked at."""
        return self.sets.get(name, SetRecord())

    def having(self, name: str, record: SetRecord) -> PassFile:
        """The same with another record for one set."""
        return PassFile({**self.sets, name: record})


@dataclass(frozen=True)
class Seen:
    """A page somebody decides on: what it is called, and what it shows."""

    label: str
    print: PagePrint

    def verdict(self, by: str, at: str, note: str = "") -> Verdict:
        """What is written down about it."""
        return Verdict(
            self.label, self.print.picture, self.print.text, by, at, self.print.place, note
        )


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


_FILE: TypeAdapter[PassFile] = TypeAdapter(PassFile)


def read_pass_file(path: Path) -> PassFile:
    """The record in a file; an empty one when there is no file yet.

    Raises ``UserError`` when it is there but is no such record, as after a merge gone wrong.
    """
    remedy = "take it back from your last commit, or remove it and pass everything again"
    return read_record(path, _FILE, PassFile(), remedy)


def change_pass_file(path: Path, change: Callable[[PassFile], PassFile]) -> PassFile:
    """Reads the record, changes it and puts it back whole; gives what it now says.

    Safe with several desks at once: one at a time reads and writes, and each changes what the
    one before it wrote. Raises ``UserError`` when the file cannot be read or written.
    """
    with _alone(path.parent):
        changed = change(read_pass_file(path))
        plain = _FILE.dump_python(changed, mode="json", exclude_none=True)
        data = json.dumps(plain, indent=1, sort_keys=True, ensure_ascii=False) + "\n"
        fresh = path.with_name(f".{path.name}.new-{os.getpid()}")
        try:
            fresh.write_text(data, "utf-8")
            fresh.replace(path)
        except OSError as error:
            raise _unwritable(path, error) from error
        finally:
            fresh.unlink(missing_ok=True)
    return changed


@contextlib.contextmanager
def _alone(folder: Path) -> Iterator[None]:
    """Waits until no other desk writes in a folder, and keeps others waiting meanwhile.

    The folder itself is locked, not the file, because the file is replaced; the system lets go
    of the lock when its process ends, however it ends.
    """
    try:
        handle = os.open(folder, os.O_RDONLY)
    except OSError as error:
        raise _unwritable(folder, error) from error
    try:
        fcntl.flock(handle, fcntl.LOCK_EX)
        yield
    finally:
        os.close(handle)


def _unwritable(path: Path, error: OSError) -> UserError:
    return UserError(
        str(path),
        f"cannot be written ({error.strerror or error})",
        "make the folder of the season file writable",
    )
