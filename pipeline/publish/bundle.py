"""One passed set made into what its buyers get: a folder, and a zip of the same.

A job holds all that decides, so that bundles can be made side by side; it writes nothing but its
own folder, which appears whole or not at all.
"""

from __future__ import annotations

import io
import json
from collections.abc import Mapping
from dataclasses import dataclass, replace
from enum import StrEnum
from pathlib import Path
from typing import Any

from pypdf import PdfReader

from pipeline import __version__
from pipeline.app.jobs import CONTENTS, Faces
from pipeline.base.cache import key_of
from pipeline.base.errors import UserError
from pipeline.base.folders import whole_folder
from pipeline.impose.imposing import SIDE_2
from pipeline.impose.printer import Flip
from pipeline.impose.stitch import backwards
from pipeline.plan import SeasonPlan
from pipeline.plan.model import Paper, SetPlan
from pipeline.plan.words import words_for
from pipeline.proof.approval.fingerprints import PagePrint, edition_digest, prints_of
from pipeline.proof.approval.keepsakes import Keepsakes
from pipeline.proof.approval.passed import SetState, State, redrawn_alike, set_state
from pipeline.proof.approval.record import SetRecord, Verdict
from pipeline.proof.findings import Severity, findings_of
from pipeline.proof.read.contents import Contents, read_contents
from pipeline.publish.changes import changes_since, changes_text
from pipeline.publish.directions import artwork_of, directions
from pipeline.publish.filenames import (
    CHANGES,
    DIRECTIONS,
    FEED_TEST,
    LICENCE,
    SIDE_2_REVERSED,
    buyers_names,
    in_order,
    within,
)
from pipeline.publish.licence import plain_text
from pipeline.publish.limits import check_sizes
from pipeline.publish.names import ENDING, bundle_name
from pipeline.publish.releases import Passed, Release
from pipeline.publish.zipping import digest, zipped
from pipeline.testsheets.feedtest import feed_test, has_feed_test

BUYER = "buyer"
"""The folder within a bundle's that holds what is in the zip."""

MADE_FROM = ".made-from"


class Outcome(StrEnum):
    """What became of a set."""

    PUBLISHED = "published"
    UNCHANGED = "unchanged"
    NOT_PASSED = "not passed"
    WRONG = "wrong"
    """It cannot be published until something is mended."""


@dataclass(frozen=True)
class Told:
    """One line about a set: what became of it, as which bundle, and why not."""

    key: str
    outcome: Outcome
    name: str = ""
    version: int = 0
    why: str = ""
    files: int = 0
    zip_bytes: int = 0
    release: Release | None = None

    @property
    def out(self) -> bool:
        """Whether the set can be uploaded."""
        return self.outcome in (Outcome.PUBLISHED, Outcome.UNCHANGED)

    @property
    def state(self) -> str:
        """What became of it, in a word; nothing for what was there already."""
        if self.outcome is Outcome.UNCHANGED:
            return "as before"
        return "new" if self.version == 1 else "new version"


@dataclass(frozen=True)
class BundleJob:
    """A built set, what is known of it, and how it is to be published.

    ``key`` is its folder within the season's, ``built`` where that is; ``record`` and
    ``releases`` what was passed and what went out; ``kept`` and ``notes`` where pictures and
    fingerprints of pages are kept (``notes`` may be None); ``at`` the time for the record.
    """

    key: str
    built: Path
    target: Path
    plan: SetPlan
    paper: Paper
    flip: Flip
    faces: Faces
    collection: Path
    fields: Mapping[str, str]
    short: Mapping[str, str]
    pattern: str
    licence: bytes
    file_mb: float
    zip_mb: float
    record: SetRecord
    season: SeasonPlan
    releases: tuple[Release, ...]
    kept: Path
    notes: Path | None
    at: str
    dry_run: bool = False

    def name(self, version: int) -> str:
        """The bundle's name as a version. Raises ``UserError`` when there is no safe one."""
        fields = {**self.fields, "version": str(version)}
        return bundle_name(self.pattern, fields, self.short, self.plan.language)


def publish(job: BundleJob) -> Told:
    """Publishes a set if all of it is passed for press; says what became of it. Raises nothing."""
    try:
        return _publish(job)
    except UserError as problem:
        return Told(job.key, Outcome.WRONG, why=str(problem))


def _publish(job: BundleJob) -> Told:
    contents = read_contents(job.built)
    prints = prints_of(job.built, _notes(job))
    kept = Keepsakes(job.kept)
    redrawn = redrawn_alike(job.built, job.record, prints, kept, {})
    state = set_state(job.record, prints, edition_digest(job.built), redrawn)
    if not state.passed:
        return Told(job.key, Outcome.NOT_PASSED, why=why_not(state, job.record))
    faults = [one for one in findings_of(job.built, job.season) if one.severity is Severity.MUST]
    if faults:
        count = "1 finding" if len(faults) == 1 else f"{len(faults)} findings"
        why = f"{count} must be mended first ({faults[0].message}); see 'leafset check'"
        return Told(job.key, Outcome.WRONG, why=why)
    printed = printed_files(job)
    release = _release(job, contents, prints, printed, kept)
    releases = (*(one for one in job.releases if one.version < release.version), release)
    files = _with_words(job, printed, releases)
    data = zipped(release.name, files)
    sizes = {name: len(one) for name, one in files.items()}
    check_sizes(job.key, sizes, len(data), job.file_mb, job.zip_mb)
    release = replace(release, zip_sha256=digest(data))
    told = Told(
        job.key,
        Outcome.PUBLISHED,
        release.name,
        release.version,
        files=len(files),
        zip_bytes=len(data),
        release=release,
    )
    mark = json.dumps({"set": job.key, "made_from": key_of(release.name, data)})
    if _mark(job.target / release.name) == mark and _whole(job.target / release.name, files, data):
        return replace(told, outcome=Outcome.UNCHANGED)
    if not job.dry_run:
        _write(job, release.name, files, data, mark)
    return told


def _notes(job: BundleJob) -> Path | None:
    return job.notes / f"{edition_digest(job.built)[:32]}.json" if job.notes else None


def why_not(state: SetState, record: SetRecord) -> str:
    """Why a set may not go out, in one line.

    >>> why_not(SetState((), sent_back=True), SetRecord())
    'the set was sent back'
    """
    if state.sent_back:
        note = f": {record.sent_back.note}" if record.sent_back and record.sent_back.note else ""
        return " ".join(f"the set was sent back{note}".split())
    counts = {found: count for found, count in state.counts.items() if count}
    if set(counts) == {State.NEW}:
        return "not passed yet; look at it on the desk"
    found = [f"{counts[one]} {one.value}" for one in State if one in counts]
    pages = [page.key for page in state.not_passed]
    shown = ", ".join(pages[:3]) + (", …" if len(pages) > 3 else "")
    return f"not passed as it is now (pages: {', '.join(found)}); look again at {shown}"


def printed_files(job: BundleJob) -> dict[str, bytes]:
    """All that buyers print and read, by the names they see.

    Raises ``UserError`` when the built files are not those that were built.
    """
    built = json.loads((job.built / CONTENTS).read_text("utf-8"))
    files: dict[str, bytes] = {}
    for file in built["files"]:
        path = job.built / file["name"]
        data = path.read_bytes() if path.is_file() else b""
        if digest(data) != file["sha256"]:
            raise UserError(str(path), "is not the file that was built", "build the set again")
        files[file["name"]] = data
    book = job.faces.book()
    # A printer that is known has its order built in; one sheet is in either order.
    if len(built["sheets"]) > 1 and not built["reverse_side_2"]:
        files[SIDE_2_REVERSED] = backwards(files[SIDE_2])
    tested = has_feed_test(job.paper)
    names = buyers_names(feed_test=tested)
    if tested:
        right_to_left = words_for(job.plan.language).right_to_left
        seen = {name: within(one, right_to_left=right_to_left) for name, one in names.items()}
        files[FEED_TEST] = feed_test(job.paper, job.flip, book, job.plan.language, seen)
    artwork = artwork_of(job.collection)
    files[DIRECTIONS] = directions(built, job.plan.binder, job.paper, files, artwork, book)
    files[LICENCE] = job.licence
    return {names[name]: data for name, data in files.items()}


def _release(
    job: BundleJob,
    contents: Contents,
    prints: Mapping[str, PagePrint],
    printed: Mapping[str, bytes],
    kept: Keepsakes,
) -> Release:
    """The last release once more, if nothing of it is different; else the next one."""
    last = job.releases[-1] if job.releases else None
    files = {name: digest(data) for name, data in printed.items()}
    if last is not None and dict(last.files) == files:
        return replace(last, name=job.name(last.version))
    pages = {key: page.passed for key, page in job.record.pages.items() if page.passed}
    version = last.version + 1 if last else 1
    release = Release(version, job.name(version), job.at, _passed(pages), "", files, pages)
    if last is None:
        return release
    changes, again = changes_since(last, job.built, contents, prints, kept)
    changed = [
        name for name in in_order({*files, *last.files}) if files.get(name) != last.files.get(name)
    ]
    return replace(release, changes=changes, again=again, changed_files=tuple(changed))


def _passed(pages: Mapping[str, Verdict]) -> Passed:
    verdicts = pages.values()
    by = sorted({one.by for one in verdicts})
    return Passed(tuple(by), max((one.at for one in verdicts), default=""))


def _with_words(
    job: BundleJob, printed: Mapping[str, bytes], releases: tuple[Release, ...]
) -> dict[str, bytes]:
    """The files in the order they are needed in, with what is new and the table of contents."""
    files = dict(printed)
    news = changes_text(job.fields["title"], releases, job.plan.language)
    if news:
        files[CHANGES] = plain_text(news)
    table = json.dumps(_table(job, files, releases[-1]), indent=1, ensure_ascii=False) + "\n"
    files[CONTENTS] = table.encode()
    return {name: files[name] for name in in_order(files)}


def _table(job: BundleJob, files: Mapping[str, bytes], release: Release) -> dict[str, Any]:
    """The built set's table of contents, made into the bundle's."""
    built = json.loads((job.built / CONTENTS).read_text("utf-8"))
    del built["made_from"]
    about = [_about(name, files[name]) for name in in_order(files)]
    return {
        "bundle": release.name,
        "version": release.version,
        "made_with": f"leafset {__version__}",
        "passed": {"by": list(release.passed.by), "at": release.passed.at},
        **built,
        "files": about,
    }


def _about(name: str, data: bytes) -> dict[str, Any]:
    about: dict[str, Any] = {"name": name, "sha256": digest(data), "bytes": len(data)}
    if name.endswith(".pdf"):
        about["pages"] = len(PdfReader(io.BytesIO(data)).pages)
    return about


def _write(job: BundleJob, name: str, files: Mapping[str, bytes], data: bytes, mark: str) -> None:
    with whole_folder(job.target / name) as new:
        (new / BUYER).mkdir()
        for file, content in files.items():
            (new / BUYER / file).write_bytes(content)
        (new / f"{name}{ENDING}").write_bytes(data)
        (new / MADE_FROM).write_text(mark)


def _mark(folder: Path) -> str:
    try:
        return (folder / MADE_FROM).read_text()
    except OSError:
        return ""


def _whole(folder: Path, files: Mapping[str, bytes], data: bytes) -> bool:
    """Whether nobody took anything out of a bundle since."""
    sizes = {folder / BUYER / name: len(content) for name, content in files.items()}
    sizes[folder / f"{folder.name}{ENDING}"] = len(data)
    return all(path.is_file() and path.stat().st_size == size for path, size in sizes.items())


def bundles_in(folder: Path) -> dict[Path, str]:
    """The bundles in a folder, in the order of their names, with the set each was made from."""
    marks = {path: _mark(path) for path in sorted(folder.glob("*")) if path.is_dir()}
    return {path: json.loads(mark)["set"] for path, mark in marks.items() if mark}
