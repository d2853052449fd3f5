"""One passed set made into what its buyers get: a folder, and a zip of the same.

A job holds all that decides, so that bundles can be made side by side; it writes nothing but its
own folder, which appears whole or not at all."""

from __future__ import annotations

import io
import re
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from enum import StrEnum
from pathlib import Path

from pydantic import TypeAdapter, ValidationError
from pypdf import PdfReader

from pipeline import __version__
from pipeline.base.cache import Cache, key_of
from pipeline.base.errors import UserError
from pipeline.base.findings import Severity
from pipeline.base.folders import whole_folder, write_files, write_whole
from pipeline.impose.contents import (
    CONTENTS,
    FOR_PRINTER,
    PRESS,
    SCREEN,
    Contents,
    PageNote,
    contents_json,
    edition_digest,
    file_note,
    read_contents,
)
from pipeline.impose.imposing import SIDE_2
from pipeline.impose.sheet import Flip
from pipeline.impose.stitch import backwards
from pipeline.plan import SeasonPlan
from pipeline.plan.collection import Collection
from pipeline.plan.languages import parents, root_of
from pipeline.plan.model import Paper, SetPlan
from pipeline.plan.words import words_for
from pipeline.proof.approval.fingerprints import PagePrint, PassedPictures, prints_of
from pipeline.proof.approval.passed import (
    SetRecord,
    SetState,
    State,
    redrawn_alike,
    set_state,
)
from pipeline.proof.findings import findings_of
from pipeline.publish.directions import (
    Order,
    artwork_of,
    directions,
    faces_for_directions,
    web_page,
)
from pipeline.publish.releases import Passed, Release, changes_since, changes_text
from pipeline.publish.zips import (
    CHANGES,
    DIRECTIONS,
    DIRECTIONS_ALOUD,
    ENDING,
    FEED_TEST,
    HOLE_GAUGE,
    LICENCE,
    SIDE_2_REVERSED,
    bundle_name,
    buyers_names,
    check_sizes,
    digest,
    sorted_for_use,
    within,
    zipped,
)
from pipeline.testsheets.feedtest import feed_test, has_feed_test
from pipeline.testsheets.gauge import has_gauge, hole_gauge
from pipeline.text.fonts import Faces

FOLDER = "licence"


def licence(collection: Collection, language: str) -> bytes:
    """What buyers may do with the files, in their language; else in English.

    Taken from ``licence/<language>.txt`` in the collection, a country's before its language's.
    Lines that begin with ``#`` are the maker's notes and are left out; where one stood alone, one
    empty line stays and not two. Lines end as every editor reads them (CR LF). Raises
    ``UserError`` when there is none.
    """
    folder = collection.folder / FOLDER
    for name in dict.fromkeys((*parents(language), "en")):
        path = folder / f"{name}.txt"
        try:
            text = path.read_text("utf-8-sig")
        except FileNotFoundError:
            continue
        except (OSError, UnicodeError) as problem:
            raise UserError(str(path), f"cannot be read ({problem})", "save it as UTF-8") from None
        lines = [line for line in text.splitlines() if not line.startswith("#")]
        if terms := re.sub(r"\n\s*\n+", "\n\n", "\n".join(lines)).strip():
            return plain_text(terms)
    raise UserError(
        str(folder / f"{root_of(language)}.txt"),
        "there are no terms for buyers",
        "write into this file what they may do with what they buy",
    )


def without_terms(collection: Collection, languages: Sequence[str]) -> list[str]:
    """Those of the languages whose buyers get the English terms for want of their own."""
    there = {path.stem for path in (collection.folder / FOLDER).glob("*.txt")}
    return [language for language in languages if there.isdisjoint(parents(language))]


def plain_text(text: str) -> bytes:
    """A text as a file: UTF-8 with its mark and CR LF, which the oldest editors read too.

    >>> plain_text("Größe\\n\\n")
    b'\\xef\\xbb\\xbfGr\\xc3\\xb6\\xc3\\x9fe\\r\\n'
    """
    lines = text.strip().splitlines()
    return ("\r\n".join(line.rstrip() for line in lines) + "\r\n").encode("utf-8-sig")


BUYER = "buyer"
"""The folder within a bundle's that holds what is in the zip."""

FOR_SHOP = "print-shop"
"""The folder within a bundle's of what goes to a print shop, and no buyer gets."""
FOR_PRESS = (PRESS, FOR_PRINTER)

MADE_FROM = ".made-from"


@dataclass(frozen=True, kw_only=True)
class BundleContents(Contents):
    """A bundle's table of contents: the built set's, and what it was published as.

    ``passed`` says who passed it for press and when.
    """

    bundle: str
    version: int
    made_with: str
    passed: Passed


BUNDLE: TypeAdapter[BundleContents] = TypeAdapter(BundleContents)


class BundleState(StrEnum):
    """What became of a set."""

    PUBLISHED = "published"
    UNCHANGED = "unchanged"
    NOT_PASSED = "not passed"
    WRONG = "wrong"
    """It cannot be published until something is mended."""


@dataclass(frozen=True)
class BundleResult:
    """One line about a set: what became of it, as which bundle, and why not."""

    key: str
    outcome: BundleState
    name: str = ""
    version: int = 0
    why: str = ""
    files: int = 0
    zip_bytes: int = 0
    release: Release | None = None

    @property
    def out(self) -> bool:
        """Whether the set can be uploaded."""
        return self.outcome in (BundleState.PUBLISHED, BundleState.UNCHANGED)

    @property
    def state(self) -> str:
        """What became of it, in a word; nothing for what was there already."""
        if self.outcome is BundleState.UNCHANGED:
            return "as before"
        return "new" if self.version == 1 else "new version"


@dataclass(frozen=True)
class Packing:
    """What a set is packed with for its buyers, besides its own files."""

    plan: SetPlan
    paper: Paper
    flip: Flip
    faces: Faces
    collection: Path
    licence: bytes
    editions: Sequence[str]
    cache: Path | None


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
    name_letters: int
    record: SetRecord
    season: SeasonPlan
    releases: tuple[Release, ...]
    kept: Path
    notes: Path | None
    cache: Path | None
    at: str
    dry_run: bool = False

    @property
    def packing(self) -> Packing:
        """What it is packed with."""
        return Packing(
            self.plan,
            self.paper,
            self.flip,
            self.faces,
            self.collection,
            self.licence,
            self.season.season.editions,
            self.cache,
        )

    def name(self, version: int) -> str:
        """The bundle's name as a version. Raises ``UserError`` when there is no safe one."""
        fields = {**self.fields, "version": str(version)}
        language = self.plan.language
        return bundle_name(self.pattern, fields, self.short, language, self.name_letters)


def publish(job: BundleJob) -> BundleResult:
    """Publishes a set if all of it is passed for press; says what became of it. Raises nothing."""
    try:
        return _publish(job)
    except UserError as problem:
        return BundleResult(job.key, BundleState.WRONG, why=str(problem))


def _publish(job: BundleJob) -> BundleResult:
    contents = read_contents(job.built)
    edition = edition_digest(job.built)
    prints = prints_of(job.built, job.notes / f"{edition[:32]}.json" if job.notes else None)
    kept = PassedPictures(job.kept)
    redrawn = redrawn_alike(job.built, job.record, prints, kept, {})
    state = set_state(job.record, prints, edition, redrawn)
    if not state.passed:
        return BundleResult(job.key, BundleState.NOT_PASSED, why=why_not(state, job.record))
    built = as_built(job, contents)
    found = findings_of(job.built, job.season, Cache(job.cache))
    faults = [one for one in found if one.severity is Severity.MUST]
    if faults:
        count = "1 finding" if len(faults) == 1 else f"{len(faults)} findings"
        why = f"{count} must be mended first ({faults[0].message}); see 'leafset check'"
        return BundleResult(job.key, BundleState.WRONG, why=why)
    asked = _asked(job, edition)
    if (same := _as_before(job, asked)) is not None:
        return same
    printed = printed_files(job.packing, contents, built)
    release = _release(job, contents, prints, printed, kept)
    releases = (*(one for one in job.releases if one.version < release.version), release)
    files = _with_words(job, printed, releases)
    data = zipped(release.name, files, release.at)
    sizes = {name: len(one) for name, one in files.items()}
    check_sizes(job.key, sizes, len(data), job.file_mb, job.zip_mb)
    release = replace(release, zip_sha256=digest(data))
    folder = job.target / release.name
    mark = BundleMark(job.key, key_of(release.name, data), asked, len(data))
    within_it = {f"{BUYER}/{name}": one for name, one in files.items()}
    within_it[f"{release.name}{ENDING}"] = data
    within_it |= {f"{FOR_SHOP}/{name}": built[name] for name in FOR_PRESS if name in built}
    within_it[CONTENTS] = contents_json(_table(contents, files, release))
    # Nothing was taken out of it since, and it is made from the same.
    before = _mark(folder)
    is_there = (
        before is not None
        and (before.set, before.built_from) == (mark.set, mark.built_from)
        and all(
            (folder / name).is_file() and (folder / name).read_bytes() == one
            for name, one in within_it.items()
        )
    )
    if is_there and not job.dry_run and before != mark:
        write_whole(folder / MADE_FROM, _MARK.dump_json(mark))
    if not (is_there or job.dry_run):
        with whole_folder(folder) as new:
            write_files(new, {**within_it, MADE_FROM: _MARK.dump_json(mark)})
    return BundleResult(
        job.key,
        BundleState.UNCHANGED if is_there else BundleState.PUBLISHED,
        release.name,
        release.version,
        files=len(files),
        zip_bytes=len(data),
        release=release,
    )


def _asked(job: BundleJob, edition: str) -> str:
    """Changes with anything that a bundle is made from, but for what went out before."""
    parts = job.paper, job.flip, job.plan.binder, job.plan.language, job.fields, job.short
    limits = job.pattern, job.name_letters, job.file_mb, job.zip_mb
    artwork = artwork_of(job.collection).key
    return key_of(edition, parts, limits, job.licence, artwork, job.faces.key)


def _as_before(job: BundleJob, asked: str) -> BundleResult | None:
    """The last release, where all of it is there and a new one would be made from the same."""
    if not job.releases:
        return None
    last = replace(job.releases[-1], name=job.name(job.releases[-1].version))
    folder = job.target / last.name
    mark = _mark(folder)
    if mark is None or (mark.set, mark.asked) != (job.key, asked):
        return None
    try:
        files = BUNDLE.validate_json((folder / CONTENTS).read_bytes()).files
        there = {f"{BUYER}/{file.name}": file.sha256 for file in files}
        there[f"{last.name}{ENDING}"] = last.zip_sha256
        if any(digest((folder / name).read_bytes()) != one for name, one in there.items()):
            return None
    except (OSError, ValidationError):
        return None
    return BundleResult(
        job.key, BundleState.UNCHANGED, last.name, last.version, "", len(files),
        mark.zip_bytes, last,
    )  # fmt: skip


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


def as_built(job: BundleJob, contents: Contents) -> dict[str, bytes]:
    """The files of a set by name; raises ``UserError`` when one isn't the file that was built."""
    files: dict[str, bytes] = {}
    for file in contents.files:
        path = job.built / file.name
        data = path.read_bytes() if path.is_file() else b""
        if digest(data) != file.sha256:
            raise UserError(
                str(path), "was changed after it was built", "run 'leafset build' again"
            )
        files[file.name] = data
    return files


def printed_files(of: Packing, built: Contents, files: Mapping[str, bytes]) -> dict[str, bytes]:
    """All that buyers print and read, by the names they see; ``files`` are those of the set."""
    files = {name: data for name, data in files.items() if name not in FOR_PRESS}
    if "sheets" not in of.editions:
        names = buyers_names(of.plan.language, feed_test=False)
        return {names[SCREEN]: files[SCREEN], names[LICENCE]: of.licence}
    cache, faces, paper, binder = Cache(of.cache), of.faces, of.paper, of.plan.binder
    # A printer that is known has its order built in; one sheet is in either order.
    if len(built.sheets) > 1 and not built.reverse_side_2:
        files[SIDE_2_REVERSED] = backwards(files[SIDE_2])
    own, tested = faces_for_directions(faces), has_feed_test(paper)
    language = of.plan.language
    names = buyers_names(language, feed_test=tested)
    if tested:
        right_to_left = words_for(language).right_to_left
        seen = {name: within(one, right_to_left=right_to_left) for name, one in names.items()}
        files[FEED_TEST] = cache.get_or_make(
            key_of(FEED_TEST, paper, of.flip, own.key, language, seen),
            lambda: feed_test(paper, of.flip, own.book(), language, seen, maker=False),
        )
    if binder.holes.centres_mm and has_gauge(paper):
        files[HOLE_GAUGE] = cache.get_or_make(
            key_of(HOLE_GAUGE, binder, paper, own.key, language),
            lambda: hole_gauge(binder, paper, own.book(), language, maker=False),
        )
    artwork = artwork_of(of.collection)
    asked = _followed(built), binder, paper, tuple(files)
    files[DIRECTIONS] = cache.get_or_make(
        key_of(DIRECTIONS, *asked, artwork.key, own.key),
        lambda: directions(Order.of(*asked), artwork, own.book()),
    )
    files[DIRECTIONS_ALOUD] = cache.get_or_make(
        key_of(DIRECTIONS_ALOUD, *asked, artwork.key, own.key),
        lambda: web_page(Order.of(*asked), artwork, own.book()),
    )
    files[LICENCE] = of.licence
    return {names[name]: data for name, data in files.items()}


def _followed(built: Contents) -> Contents:
    """Of a set's contents what directions can follow from: sets laid alike have the same ones."""

    def bare(page: PageNote | None) -> PageNote | None:
        return replace(page, drawn="") if page else None

    return replace(
        built,
        files=tuple(replace(file, bytes=0, sha256="") for file in built.files),
        leaves=tuple(
            replace(leaf, recto=bare(leaf.recto), verso=bare(leaf.verso)) for leaf in built.leaves
        ),
        bench=replace(built.bench, ink=None),
        built_from="",
        made_of={},
        left_out=(),
    )


def _release(
    job: BundleJob,
    contents: Contents,
    prints: Mapping[str, PagePrint],
    printed: Mapping[str, bytes],
    kept: PassedPictures,
) -> Release:
    """The last release once more, if nothing of it is different; else the next one."""
    last = job.releases[-1] if job.releases else None
    files = {name: digest(data) for name, data in printed.items()}
    if last is not None and dict(last.files) == files:
        return replace(last, name=job.name(last.version))
    pages = {key: page.passed for key, page in job.record.pages.items() if page.passed}
    by = tuple(sorted({one.by for one in pages.values()}))
    passed = Passed(by, max((one.at for one in pages.values()), default=""))
    version = last.version + 1 if last else 1
    release = Release(version, job.name(version), job.at, passed, "", files, pages)
    if last is None:
        return release
    changes, again = changes_since(last, job.built, contents, prints, kept)
    names = sorted_for_use({*files, *last.files})
    changed = tuple(name for name in names if files.get(name) != last.files.get(name))
    return replace(release, changes=changes, again=again, changed_files=changed)


def _with_words(
    job: BundleJob, printed: Mapping[str, bytes], releases: tuple[Release, ...]
) -> dict[str, bytes]:
    """The files in the order they are needed in, with what is new."""
    files, language = dict(printed), job.plan.language
    if news := changes_text(job.fields["title"], releases, language):
        files[buyers_names(language, feed_test=True)[CHANGES]] = plain_text(news)
    return {name: files[name] for name in sorted_for_use(files)}


def _table(built: Contents, files: Mapping[str, bytes], release: Release) -> BundleContents:
    """The table of contents, for the maker alone."""
    notes = []
    for name, data in files.items():
        pages = len(PdfReader(io.BytesIO(data)).pages) if name.endswith(".pdf") else None
        notes.append(file_note(name, data, pages))
    return BundleContents(
        **{**vars(built), "files": tuple(notes), "built_from": "", "made_of": {}},
        bundle=release.name,
        version=release.version,
        made_with=f"leafset {__version__}",
        passed=release.passed,
    )


@dataclass(frozen=True)
class BundleMark:
    """What a bundle was made from: its set, what is in the zip, and all that was asked for."""

    set: str
    built_from: str = ""
    asked: str = ""
    zip_bytes: int = 0


_MARK = TypeAdapter(BundleMark)


def _mark(folder: Path) -> BundleMark | None:
    try:
        return _MARK.validate_json((folder / MADE_FROM).read_bytes())
    except (OSError, ValidationError):
        return None


def bundles_in(folder: Path) -> dict[Path, str]:
    """The bundles in a folder, in the order of their names, with the set each was made from."""
    marks = {path: _mark(path) for path in sorted(folder.glob("*")) if path.is_dir()}
    return {path: mark.set for path, mark in marks.items() if mark is not None}
