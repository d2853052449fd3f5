"""The sets on the desk: what is known of each, what was decided, and what still has to be found."""

from __future__ import annotations

import contextlib
import threading
from collections.abc import Callable, Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from pathlib import Path

from PIL import Image

from pipeline.base.errors import UserError
from pipeline.desk.notes import Inspector, Note
from pipeline.desk.renders import FOLDER, Renders
from pipeline.desk.views import Faces, view_versions
from pipeline.plan.model import Side
from pipeline.proof.approval.fingerprints import (
    PagePrint,
    edition_digest,
    keep_prints,
    kept_prints,
    page_key,
    pages_of,
    printed,
)
from pipeline.proof.approval.keepsakes import FOLDER as KEPT
from pipeline.proof.approval.keepsakes import Keepsakes
from pipeline.proof.approval.passed import SetState, redrawn_alike, set_state
from pipeline.proof.approval.record import (
    PassFile,
    Seen,
    SetNote,
    change_pass_file,
    pass_file,
    read_pass_file,
    with_passed,
    with_sent_back,
)
from pipeline.proof.pictures.pictures import SetPictures
from pipeline.proof.read.contents import CONTENTS, Contents, read_contents

_FILES = (CONTENTS, "side-1.pdf", "side-2.pdf")


@dataclass(frozen=True)
class Edition:
    """A set for one period, binder, paper and language, as its files are at this moment."""

    name: str
    folder: Path
    files: str
    contents: Contents


@dataclass(frozen=True)
class Known:
    """What was found out about an edition's files so far; None is still to come."""

    prints: Mapping[str, PagePrint] | None = None
    findings: Sequence[Note] | None = None


@dataclass(frozen=True)
class Look:
    """What is on somebody's screen: a view of a set, and the pictures it is shown with."""

    name: str
    index: int
    flaps: tuple[str, ...]
    dpi: int


class ChangedMeanwhileError(Exception):
    """Somebody decides on files that are no longer there: they were built anew meanwhile."""


class Desk:
    """All that the pages in the browser ask about and do.

    ``folders`` are the sets by name, ``season`` is the season's file, ``now`` says the
    time of a decision.
    """

    def __init__(
        self,
        title: str,
        folders: Mapping[str, Path],
        out: Path,
        season: Path,
        now: Callable[[], str],
    ) -> None:
        self.title = title
        self.watched = False
        self.folders = folders
        self.record = pass_file(season)
        self.renders = Renders(out / FOLDER)
        self.kept = Keepsakes(out / KEPT)
        self._now = now
        self._digests: dict[str, tuple[tuple[tuple[int, int], ...], Edition]] = {}
        self._known: dict[str, Known] = {}
        self._alike: dict[tuple[str, str], bool] = {}
        self._closing = threading.Event()
        self._wake = threading.Event()
        self._faces = Faces()
        self._views: dict[str, tuple[str, ...]] = {}
        self._files = threading.RLock()
        self._first = ""
        self._look: Look | None = None
        self._inspector = Inspector(season)
        self._finder = threading.Thread(target=self._find_all, name="finder", daemon=True)

    # What is there

    def edition(self, name: str) -> Edition:
        """A set by its name. Raises ``KeyError`` for any other, ``UserError`` when not built."""
        folder = self.folders[name]
        try:
            with self._files:
                stats = [(folder / file).stat() for file in _FILES]
                stamp = tuple((stat.st_mtime_ns, stat.st_size) for stat in stats)
                known = self._digests.get(name)
                if known is None or known[0] != stamp:
                    edition = Edition(name, folder, edition_digest(folder), read_contents(folder))
                    known = stamp, edition
                    self._digests[name] = known
                    self._wake.set()
        except OSError as error:
            raise UserError(str(folder), "is not built", "run 'leafset build'") from error
        return known[1]

    def editions(self) -> list[Edition]:
        """All sets that are built."""
        found = []
        for name in self.folders:
            with contextlib.suppress(UserError, KeyError):
                found.append(self.edition(name))
        return found

    @contextlib.contextmanager
    def renewing(self) -> Iterator[None]:
        """While this lasts nobody looks at the files: they are being put in place."""
        with self.renders.alone(), self._files:
            yield

    # Views

    def view_versions(self, edition: Edition) -> tuple[str, ...]:
        """For each view a key that changes when its picture does."""
        known = self._views.get(edition.name + edition.files)
        if known is None:
            known = view_versions(edition.contents, edition.files)
            self._views[edition.name + edition.files] = known
        return known

    def view_picture(self, edition: Edition, index: int, flaps: str, dpi: int) -> Path:
        """The picture of a view, drawn now if it is not there. Raises ``IndexError`` past the end,
        ``ChangedMeanwhileError`` when the files were made anew meanwhile."""
        version = self.view_versions(edition)[index]

        def draw(pictures: SetPictures) -> Image.Image:
            # The picture is kept by what it shows, so it must be of no other files.
            if view_versions(pictures.contents, edition.files)[index] != version:
                raise ChangedMeanwhileError
            first, second = pictures.views[index]
            kept = self._faces.remembering(pictures, edition.files)
            return kept.at(dpi).view(first, second, shut=flaps == "shut")

        name = f"view-{flaps}-{dpi}.png"
        return self.renders.picture(edition.folder, version, name, draw)

    def look_at(self, look: Look) -> None:
        """Somebody has this on the screen: it comes first."""
        self._first, self._look = look.name, look

    def draw_what_is_looked_at(self) -> None:
        """Has the pictures ready that will be asked for next."""
        look = self._look
        if look is None or look.name not in self.folders:
            return
        with contextlib.suppress(UserError, IndexError, ChangedMeanwhileError):
            for flaps in look.flaps:
                self.view_picture(self.edition(look.name), look.index, flaps, look.dpi)

    @property
    def first(self) -> str:
        """The set that was looked at last; empty before that."""
        return self._first

    def forget_pictures(self) -> None:
        """Throws away pictures of what is no longer there."""
        current: set[str] = set()
        for edition in self.editions():
            current |= {edition.files, *self.view_versions(edition)}
        self.renders.forget_all_but(current)

    def known(self, edition: Edition) -> Known:
        """What is known about an edition by now, or was found out by an earlier desk."""
        known = self._known.get(edition.files, Known())
        if known.prints is None:
            prints = kept_prints(self.renders.path(edition.files, "prints.json"))
            if prints is not None:
                known = self._known[edition.files] = replace(known, prints=prints)
        return known

    def passes(self) -> PassFile:
        """The record as it is on disk, which another desk may have written."""
        return read_pass_file(self.record)

    def state(self, edition: Edition, passes: PassFile) -> SetState | None:
        """An edition held against the record; None while its pages are still being looked at."""
        record = passes.of(edition.name)
        prints = self.known(edition).prints
        if prints is None:
            return None
        with self.renders.alone():
            redrawn = redrawn_alike(edition.folder, record, prints, self.kept, self._alike)
        return set_state(record, prints, edition.files, redrawn)

    def twins(self, edition: Edition, state: SetState, passes: PassFile) -> dict[str, str]:
        """Pages not passed here that were passed on another paper, by key, with that paper.

        Period, set, binder and language must be the same, and so must every pixel and letter.
        """
        prints = self.known(edition).prints or {}
        found: dict[str, str] = {}
        for name, other in self._siblings(edition):
            record = passes.of(name)
            for page in state.not_passed:
                verdict = record.pages[page.key].passed if page.key in record.pages else None
                mine = prints.get(page.key)
                if verdict and mine and mine.shows_the_same(verdict.picture, verdict.text):
                    found.setdefault(page.key, other.contents.paper.name)
        return found

    def _siblings(self, edition: Edition) -> list[tuple[str, Edition]]:
        found = []
        for name in self.folders:
            if name == edition.name or name.rpartition("/")[0] != edition.name.rpartition("/")[0]:
                continue
            try:
                other = self.edition(name)
            except UserError:
                continue
            mine, theirs = edition.contents, other.contents
            if (mine.binder.name, mine.language) == (theirs.binder.name, theirs.language):
                found.append((name, other))
        return found

    # What is decided

    def pass_pages(self, name: str, files: str, keys: Sequence[str], who: str) -> None:
        """``who`` passes pages, or all of a set with no ``keys``; raises what ``_decided`` does."""
        edition, seen = self._decided(name, files, keys)

        def change(passes: PassFile) -> PassFile:
            record = with_passed(passes.of(name), seen, who, self._now())
            if not keys:
                wanted = {key: page for key, page in record.pages.items() if key in seen}
                record = replace(record, pages=wanted, sent_back=None)
            return passes.having(name, record)

        change_pass_file(self.record, change)
        self._learn(edition.files, seen)

    def send_back(self, name: str, files: str, keys: Sequence[str], who: str, note: str) -> None:
        """``who`` sends pages back, or the set with no ``keys``, for the reason in ``note``."""
        edition, seen = self._decided(name, files, keys)

        def change(passes: PassFile) -> PassFile:
            record, now = passes.of(name), self._now()
            if keys:
                record = with_sent_back(record, seen, who, now, note)
            else:
                record = replace(record, sent_back=SetNote(note, who, now, edition.files))
            return passes.having(name, record)

        change_pass_file(self.record, change)

    def _decided(
        self, name: str, files: str, keys: Sequence[str]
    ) -> tuple[Edition, dict[str, Seen]]:
        """The pages decided on, looked at once more, and kept.

        Raises ``KeyError`` for pages that are none, ``ChangedMeanwhileError`` when the files are
        not those that were looked at.
        """
        edition = self.edition(name)
        if edition.files != files:
            raise ChangedMeanwhileError
        pages = {key: (leaf, face) for key, leaf, face in pages_of(edition.contents)}
        seen: dict[str, Seen] = {}
        with self.renders.opened(edition.folder) as pictures:
            for key in keys or pages:
                leaf, face = pages[key]
                found = printed(pictures, leaf, face)
                self.kept.keep(found)
                page = edition.contents.leaves[leaf].page(face)
                seen[key] = Seen(page.label if page else "", found.print)
        return edition, seen

    def _learn(self, files: str, seen: Mapping[str, Seen]) -> None:
        """A set passed whole has all its fingerprints taken."""
        known = self._known.get(files, Known())
        if known.prints is None and len(seen) == len(self._pages(files)):
            prints = {key: page.print for key, page in seen.items()}
            self._known[files] = replace(known, prints=prints)

    def _pages(self, files: str) -> list[str]:
        for _, edition in self._digests.values():
            if edition.files == files:
                return [key for key, _, _ in pages_of(edition.contents)]
        return []

    # What is found out meanwhile

    def open(self) -> None:
        """Begins to look at all pages in the background, and forgets pictures of earlier files."""
        self.forget_pictures()
        self._finder.start()

    def close(self) -> None:
        """Ends the work in the background; returns when it has ended."""
        self._closing.set()
        self._wake.set()
        self._inspector.close()
        if self._finder.is_alive():
            self._finder.join(timeout=10)

    def look_first(self, name: str) -> None:
        """Somebody is looking at this set: it comes first."""
        self._first = name

    def _find_all(self) -> None:
        while not self._closing.is_set():
            self._wake.clear()
            while (edition := self._next()) is not None and not self._closing.is_set():
                try:
                    self._find(edition)
                except (UserError, OSError, KeyError):
                    # It is being built anew at this moment; it is looked at when that is done.
                    self._closing.wait(0.5)
            self._wake.wait(2.0)

    def _next(self) -> Edition | None:
        """The next edition something is not known about: fingerprints first, they are quick."""
        unchecked = None
        for name in sorted(self.folders, key=lambda name: name != self._first):
            try:
                edition = self.edition(name)
            except (UserError, KeyError):
                continue
            known = self.known(edition)
            if known.prints is None:
                return edition
            if known.findings is None and unchecked is None:
                unchecked = edition
        return unchecked

    def _find(self, edition: Edition) -> None:
        known = self.known(edition)
        if known.prints is None:
            prints = self._prints(edition)
            if prints is None:
                return
            known = replace(known, prints=prints)
            self._known[edition.files] = known
        elif known.findings is None:
            findings = self._inspector.notes_on(edition.folder)
            self._known[edition.files] = replace(known, findings=findings)

    def _prints(self, edition: Edition) -> Mapping[str, PagePrint] | None:
        """The fingerprints of all pages, taken now, page by page; None when closing."""
        taken: dict[str, PagePrint] = {}
        for key, leaf, face in pages_of(edition.contents):
            if self._closing.is_set() or self.edition(edition.name).files != edition.files:
                return None
            with self.renders.opened(edition.folder, patiently=True) as pictures:
                taken[key] = printed(pictures, leaf, face).print
        keep_prints(self.renders.path(edition.files, "prints.json"), taken)
        return taken


def keys_of_view(view: tuple[int | None, int | None], contents: Contents) -> tuple[str, ...]:
    """The keys of the pages one sees in a view; blank faces have none."""
    keys = {key for key, _, _ in pages_of(contents)}
    seen = [
        page_key(leaf, face)
        for leaf, face in zip(view, (Side.VERSO, Side.RECTO), strict=True)
        if leaf is not None
    ]
    return tuple(key for key in seen if key in keys)
