"""The sets on the desk: what is known of each, what was decided, and what still has to be found.

Every open page hears at the moment it happens what was built again, and what is wrong.
"""

from __future__ import annotations

import asyncio
import contextlib
import functools
import json
import threading
from collections import OrderedDict
from collections.abc import AsyncIterator, Callable, Collection, Iterator, Mapping, Sequence
from dataclasses import asdict, dataclass, replace
from pathlib import Path
from typing import Any, Self

from PIL import Image

from pipeline.app.check import Standing
from pipeline.app.jobs import set_name
from pipeline.app.scan import Reading, note_shift
from pipeline.base.errors import UserError
from pipeline.base.folders import clear_leftovers
from pipeline.base.geometry import MM_PER_INCH
from pipeline.desk.inspector import Inspector
from pipeline.desk.picturestore import FOLDER, VIEW_DPI, PictureStore, RecentPages, view_versions
from pipeline.impose.contents import (
    SET_FILES,
    Contents,
    edition_digest,
    fore_edge_on_right,
    read_contents,
)
from pipeline.impose.sheet import Point
from pipeline.plan import SeasonPlan
from pipeline.plan.languages import language_name
from pipeline.plan.model import Paper, SetPlan
from pipeline.proof.approval.fingerprints import (
    PASSED_PICTURES,
    PagePrint,
    PassedPictures,
    keep_prints,
    kept_prints,
    page_as_printed,
    pages_of,
)
from pipeline.proof.approval.passed import (
    PassFile,
    Seen,
    SetSentBack,
    SetState,
    change_pass_file,
    look_alike,
    pass_file,
    read_pass_file,
    redrawn_alike,
    set_state,
    with_passed,
    with_sent_back,
)
from pipeline.proof.findings import SetFinding
from pipeline.proof.pictures.pictures import SetPictures, tile, view_faces
from pipeline.proof.pictures.proofs import size_name
from pipeline.proof.read.raster import first_ink

PRINTS = "prints"
"""Within the desk's folder: pictures of what was printed."""


@dataclass(frozen=True)
class Problem:
    """Something the user can mend, in three parts: see ``UserError``."""

    where: str
    what: str
    remedy: str


@dataclass(frozen=True)
class Report:
    """How things are: ``problems`` to mend, what is being built, and the sets' present files.

    ``files`` maps a set's name to a digest of its files; sets that aren't built aren't in it.
    ``done`` of ``whole`` sets have been seen to in this round; ``stopped`` says that somebody
    does not want the others.
    """

    problems: Sequence[Problem] = ()
    building: str = ""
    files: Mapping[str, str] | None = None
    done: int = 0
    whole: int = 0
    stopped: bool = False

    def as_event(self) -> str:
        """As a server-sent event (HTML Standard, section 9.2)."""
        return f"data: {json.dumps(asdict(self), ensure_ascii=False)}\n\n"


class Updates:
    """The latest report, and everybody who waits for the next one. Any thread may post one."""

    def __init__(self) -> None:
        self._lock = threading.Lock()
        self.latest = Report()
        """What was posted last."""
        self._closed = False
        self._waiting: set[tuple[asyncio.AbstractEventLoop, asyncio.Event]] = set()

    def post(self, report: Report) -> None:
        """Wakes everybody who listens; the same report twice is heard once."""
        with self._lock:
            if report != self.latest:
                self.latest = report
                self._wake()

    def close(self) -> None:
        """Ends all listening."""
        with self._lock:
            self._closed = True
            self._wake()

    def _wake(self) -> None:
        for loop, event in self._waiting:
            if not loop.is_closed():
                loop.call_soon_threadsafe(event.set)

    async def listen(self) -> AsyncIterator[Report]:
        """What is so now, then each change; who is slow hears only the latest."""
        waiter = asyncio.get_running_loop(), asyncio.Event()
        with self._lock:
            self._waiting.add(waiter)
        try:
            heard: Report | None = None
            while not self._closed:
                waiter[1].clear()
                if self.latest is not heard:
                    heard = self.latest
                    yield heard
                else:
                    await waiter[1].wait()
        finally:
            with self._lock:
                self._waiting.discard(waiter)


@dataclass(frozen=True)
class BuiltSet:
    """A set for one period, binder, paper and language, as its files are at this moment."""

    name: str
    folder: Path
    files: str
    contents: Contents

    @functools.cached_property
    def versions(self) -> tuple[str, ...]:
        """For each view a key that changes when its picture does."""
        return view_versions(self.contents, self.files)


WITHOUT_DATES = "without dates"
"""The period of sets that have none."""


@dataclass(frozen=True)
class Heading:
    """What a set is called by people, whether or not anything of it is built."""

    title: str
    period: str
    binder: str
    paper: str
    language: str

    @classmethod
    def of(cls, title: str, period: str | None, binder: str, paper: str, language: str) -> Self:
        """From titles, and from the names that files have: None is the period of undated sets."""
        size, printed_on = size_name(binder), size_name(paper)
        return cls(title, period or WITHOUT_DATES, size, printed_on, language_name(language))

    @property
    def edition(self) -> str:
        """What tells it from the same set in other editions: "A5 on A4, German"."""
        return f"{self.binder} on {self.paper}, {self.language}"


def headings_of(plan: SeasonPlan) -> dict[str, Heading]:
    """What the sets of a plan are called, on each paper, by their names."""
    return {
        set_name(one, paper): planned_heading(one, paper)
        for one in plan.sets
        for paper in plan.papers
    }


def planned_heading(one: SetPlan, paper: Paper) -> Heading:
    """What a planned set is called on a paper."""
    period = one.period.title if one.period.first else None
    return Heading.of(one.title, period, one.binder.name, paper.name, one.language)


@dataclass(frozen=True)
class Known:
    """What was found out about a built set's files so far; None is still to come."""

    prints: Mapping[str, PagePrint] | None = None
    findings: Sequence[SetFinding] | None = None


@dataclass(frozen=True)
class Look:
    """What is on somebody's screen: a view of a set, and the pictures it is shown with."""

    name: str
    index: int
    flaps: tuple[str, ...]
    dpi: int


class ChangedMeanwhileError(Exception):
    """Somebody decides on files that are no longer there: they were built again meanwhile."""


class Desk:
    """The sets of a season, and what is known and decided about them: what the routes ask and do.

    ``folders`` are the sets by name, ``out`` is the build folder, ``season`` the season's file,
    ``now`` says the time of a decision. Pages listen to ``updates`` where the season is watched.
    Raises ``UserError`` when the record beside the season cannot be read.
    """

    def __init__(
        self,
        title: str,
        folders: Mapping[str, Path],
        out: Path,
        season: Path,
        now: Callable[[], str],
        updates: Updates | None = None,
    ) -> None:
        self.title = title
        self.updates = updates
        self.folders = folders
        self.headings: Mapping[str, Heading] = {}
        """What the sets are called, as far as it is known before they are built."""
        self.record = pass_file(season)
        self.passes()
        self.pictures = PictureStore(out / FOLDER / season.stem)
        self.kept = PassedPictures(out / PASSED_PICTURES)
        self._now = now
        self._digests: dict[str, tuple[tuple[tuple[int, int], ...], BuiltSet]] = {}
        self._known: dict[str, Known] = {}
        self._alike: dict[tuple[str, str], bool] = {}
        self._closing = threading.Event()
        self._wake = threading.Event()
        self._recent: OrderedDict[str, Image.Image] = OrderedDict()
        self._files = threading.RLock()
        self.first = ""
        """The set that was looked at last."""
        self._look: Look | None = None
        self.standings: Mapping[str, Standing] = {}
        """How each set stands: what is not built, cannot be read or is out of date says so."""
        self._inspector = Inspector(season, out)
        self._readings: Mapping[int, Path] = {}
        self._unread: set[str] = set()
        self._kept_of: tuple[int, tuple[tuple[str, bool], ...]] | None = None
        self._finder = threading.Thread(target=self._find_all, name="finder", daemon=True)

    # What is there

    def built(self, name: str) -> BuiltSet:
        """A set by its name. Raises ``KeyError`` for any other, ``UserError`` when not built."""
        folder = self.folders[name]
        try:
            with self._files:
                stats = [(folder / file).stat() for file in SET_FILES]
                stamp = tuple((stat.st_mtime_ns, stat.st_size) for stat in stats)
                known = self._digests.get(name)
                if known is None or known[0] != stamp:
                    built = BuiltSet(name, folder, edition_digest(folder), read_contents(folder))
                    known = stamp, built
                    self._digests[name] = known
                    self._wake.set()
        except OSError as error:
            raise UserError(str(folder), "is not built", "run 'leafset build'") from error
        return known[1]

    def built_sets(self) -> list[BuiltSet]:
        """All sets that are built."""
        found = []
        for name in self.folders:
            with contextlib.suppress(UserError, KeyError):
                found.append(self.built(name))
        return found

    @contextlib.contextmanager
    def renewing(self) -> Iterator[None]:
        """While this lasts nobody looks at the files: they are being put in place."""
        with self.pictures.alone(), self._files:
            yield

    # Views

    def view_picture(
        self, built: BuiltSet, index: int, flaps: str, dpi: int, at: tuple[int, int] | None = None
    ) -> Path:
        """The picture of a view, or its tile ``at`` a column and row, drawn now if it is not there.

        Raises ``IndexError`` past the end, ``ChangedMeanwhileError`` when the files were built
        again meanwhile.
        """
        version = built.versions[index]

        def draw(pictures: SetPictures) -> Image.Image:
            # The picture is kept by what it shows, so it must be of no other files.
            if view_versions(pictures.contents, built.files)[index] != version:
                raise ChangedMeanwhileError
            first, second = pictures.views[index]
            if at is not None:
                fine = pictures.at(dpi)
                window = tile(fine.view_px, *at)
                return fine.view(first, second, shut=flaps == "shut", window=window)
            remembering = RecentPages(pictures, self._recent, built.files)
            return remembering.at(dpi).view(first, second, shut=flaps == "shut")

        name = f"view-{flaps}-{dpi}{tile_name(at)}.png"
        return self.pictures.picture(built.folder, version, name, draw)

    def first_ink(self, built: BuiltSet, index: int, flaps: str) -> Point | None:
        """Where what is printed begins on a view, in mm of its picture; None for a blank one."""
        with Image.open(self.view_picture(built, index, flaps, int(VIEW_DPI))) as picture:
            seen = picture.convert("L")
        measured = SetPictures(built.contents, (None, None), MM_PER_INCH)
        page, per_mm = built.contents.binder, VIEW_DPI / MM_PER_INCH
        for leaf, face in view_faces(measured.views[index]):
            folds = measured.folds(leaf, face)
            flap = built.contents.leaves[leaf].flap_mm if folds and flaps == "open" else 0.0
            x, y = measured.page_x_mm(face), measured.page_y_mm
            # Neither the edges, with their shadows, nor the holes.
            if fore_edge_on_right(face, built.contents.binding):
                left, right = x + _HOLES_MM, x + page.width_mm + flap - _EDGE_MM
            else:
                left, right = x - flap + _EDGE_MM, x + page.width_mm - _HOLES_MM
            top, bottom = y + _EDGE_MM, y + page.height_mm - _EDGE_MM
            box = [round(edge * per_mm) for edge in (left, top, right, bottom)]
            found = first_ink(seen.crop((box[0], box[1], box[2], box[3])), VIEW_DPI)
            if found is not None:
                return Point(left + found.x, top + found.y)
        return None

    def look_at(self, look: Look) -> None:
        """Somebody has this on the screen: it comes first."""
        self.first, self._look = look.name, look

    def draw_what_is_looked_at(self) -> None:
        """Has the pictures ready that will be asked for next."""
        look = self._look
        if look is None or look.name not in self.folders:
            return
        with contextlib.suppress(UserError, IndexError, ChangedMeanwhileError):
            for flaps in look.flaps:
                self.view_picture(self.built(look.name), look.index, flaps, look.dpi)

    def forget_pictures(self) -> None:
        """Throws away pictures of what is no longer there."""
        built = self.built_sets()
        self.pictures.forget_all_but({key for one in built for key in (one.files, *one.versions)})

    def known(self, built: BuiltSet) -> Known:
        """What is known about a built set by now, or was found out by an earlier desk."""
        known = self._known.get(built.files, Known())
        if known.prints is None:
            prints = kept_prints(self.pictures.path(built.files, "prints.json"))
            if prints is not None:
                known = self._known[built.files] = replace(known, prints=prints)
        standing = self.standings.get(built.name)
        if standing is None or standing.finding is None:
            return known
        if not standing.fresh:
            return replace(known, findings=(standing.finding,))
        found = known.findings
        return known if found is None else replace(known, findings=(standing.finding, *found))

    def fault(self, name: str) -> SetFinding | None:
        """What is wrong with a set as a whole: it is not built, cannot be read, is out of date."""
        standing = self.standings.get(name)
        return standing.finding if standing else None

    def is_unread(self, built: BuiltSet) -> bool:
        """Whether its pages could not be read when they were last to be."""
        return built.files in self._unread

    def can_show(self, built: BuiltSet, digest: str) -> bool:
        """Whether a page that was passed is kept here, or still stands in the set."""
        prints = self.known(built).prints or {}
        return self.kept.has(digest) or any(one.picture == digest for one in prints.values())

    def keep_what_stands(self, built: BuiltSet, wanted: Collection[str]) -> None:
        """Keeps what was passed and is not here, as in a fresh copy of the season, from the pages
        that still show it; ``wanted`` are digests of pictures."""
        prints = self.known(built).prints or {}
        missing = {digest for digest in wanted if not self.kept.has(digest)}
        for key, leaf, face in pages_of(built.contents):
            if not self._closing.is_set() and key in prints and prints[key].picture in missing:
                with self.pictures.opened(built.folder) as pictures:
                    self.kept.keep(page_as_printed(pictures, leaf, face))

    def passes(self) -> PassFile:
        """The record as it is on disk, which another desk may have written."""
        return read_pass_file(self.record)

    def state(self, built: BuiltSet, passes: PassFile) -> SetState | None:
        """A built set held against the record; None while its pages are still being looked at."""
        record = passes.of(built.name)
        prints = self.known(built).prints
        if prints is None:
            return None
        elsewhere = passes.seen_elsewhere(built.name, prints)
        others = self._on_other_papers(built)
        rest = {key: page for key, page in prints.items() if key not in elsewhere}
        nearly = passes.nearly_elsewhere(built.name, others, rest)
        pairs = {key: (picture, rest[key].picture) for key, (_, picture) in nearly.items()}
        with self.pictures.alone():
            redrawn = redrawn_alike(built.folder, record, prints, self.kept, self._alike)
            alike = look_alike(built.folder, pairs, self.kept, self._alike)
        elsewhere |= {key: other for key, (other, _) in nearly.items() if alike[key]}
        return set_state(record, prints, built.files, redrawn, elsewhere)

    def _on_other_papers(self, built: BuiltSet) -> list[str]:
        """The same set for the same period, binder and language, where it is built."""
        product, found = built.name.rpartition("/")[0], []
        for name in self.folders:
            if name != built.name and name.rpartition("/")[0] == product:
                with contextlib.suppress(UserError, KeyError):
                    there, here = self.built(name).contents, built.contents
                    if (there.binder, there.language) == (here.binder, here.language):
                        found.append(name)
        return found

    # What is decided

    def decide(
        self, name: str, files: str, keys: Sequence[str], who: str, note: str | None
    ) -> None:
        """``who`` passes pages, or sends them back for the reason in ``note``.

        With no ``keys`` it is about the set as a whole. Raises what ``_decided`` does.
        """
        built, seen = self._decided(name, files, keys)
        now = self._now()

        def change(passes: PassFile) -> PassFile:
            record = passes.of(name)
            if note is None:
                record = with_passed(record, seen, who, now)
                if not keys:
                    wanted = {key: page for key, page in record.pages.items() if key in seen}
                    record = replace(record, pages=wanted, sent_back=None)
            elif keys:
                record = with_sent_back(record, seen, who, now, note)
            else:
                record = replace(record, sent_back=SetSentBack(note, who, now, built.files))
            return passes.having(name, record)

        change_pass_file(self.record, change)
        known = self._known.get(built.files, Known())
        if known.prints is None and len(seen) == len(list(pages_of(built.contents))):
            prints = {key: page.print for key, page in seen.items()}
            self._known[built.files] = replace(known, prints=prints)

    def _decided(
        self, name: str, files: str, keys: Sequence[str]
    ) -> tuple[BuiltSet, dict[str, Seen]]:
        """The pages decided on, looked at once more, and kept.

        Raises ``KeyError`` for pages that are none, ``ChangedMeanwhileError`` when the files are
        not those that were looked at.
        """
        built = self.built(name)
        if built.files != files:
            raise ChangedMeanwhileError
        pages = {key: (leaf, face) for key, leaf, face in pages_of(built.contents)}
        seen: dict[str, Seen] = {}
        with self.pictures.opened(built.folder) as pictures:
            for key in keys or pages:
                leaf, face = pages[key]
                found = page_as_printed(pictures, leaf, face)
                self.kept.keep(found)
                page = built.contents.leaves[leaf].page(face)
                seen[key] = Seen(page.label if page else "", found.print)
        return built, seen

    # Prints

    def print_file(self, side: int) -> Path:
        """Where a picture of a side of a printed sheet is put to be read."""
        return self.pictures.folder / PRINTS / f"side {side}"

    def read_picture(self, side: int) -> Path:
        """The picture of a print over its page. Raises ``KeyError`` where none was read."""
        return self._readings[side]

    def read_prints(self, sides: int, *, note: bool) -> Reading:
        """What the pictures of one or both sides say; with ``note`` the shift goes into the season.

        Raises ``UserError`` for a picture that cannot be read, or a season that cannot be written.
        """
        reading = self._inspector.read_prints([self.print_file(n + 1) for n in range(sides)])
        self._readings = dict(enumerate(reading.pictures, start=1))
        if note and reading.back_shift_mm is not None:
            note_shift(self._inspector.season, reading.back_shift_mm)
        return reading

    # What is found out meanwhile

    def open(self) -> None:
        """Begins to look at all pages in the background, and forgets pictures of earlier files."""
        for folder in (self.record.parent, self.kept.folder, self.pictures.folder):
            with contextlib.suppress(UserError):
                clear_leftovers(folder, below=folder == self.pictures.folder)
        self.forget_pictures()
        self._finder.start()

    def close(self) -> None:
        """Ends the work in the background; returns when it has ended."""
        self._closing.set()
        self._wake.set()
        self._inspector.close()
        if self._finder.is_alive():
            self._finder.join(timeout=10)

    def _find_all(self) -> None:
        while not self._closing.is_set():
            self._wake.clear()
            failed: set[str] = set()
            self._look_up_standings()
            while (built := self._next(failed)) is not None and not self._closing.is_set():
                try:
                    self._find(built, failed)
                except Exception:
                    # It is damaged, or being built again at this moment. The others come first;
                    # in the next round it is looked at once more.
                    failed.add(built.files)
                    self._unread.add(built.files)
                self._look_up_standings()
            with contextlib.suppress(UserError, LookupError, OSError):
                self._keep_all_that_stands()
            self._wake.wait(2.0)

    def _keep_all_that_stands(self) -> None:
        built_sets = self.built_sets()
        known = tuple((one.files, self.known(one).prints is not None) for one in built_sets)
        stamp = self.record.stat().st_mtime_ns if self.record.is_file() else 0
        if self._kept_of == (stamp, known):
            return
        self._kept_of = stamp, known
        record = self.passes()
        passed = {
            page.passed.picture
            for one in record.sets.values()
            for page in one.pages.values()
            if page.passed
        }
        for built in built_sets:
            self.keep_what_stands(built, passed)

    def _look_up_standings(self) -> None:
        # Where the season is watched, what is out of date is being built already.
        if self.updates is None and not self._closing.is_set():
            with contextlib.suppress(UserError, OSError):
                self.standings = {one.name: one for one in self._inspector.standings()}

    def _next(self, failed: Collection[str]) -> BuiltSet | None:
        """The next built something is not known about: fingerprints first, they are quick.

        Those in ``failed`` have no fingerprints to be had.
        """
        built = sorted(self.built_sets(), key=lambda one: one.name != self.first)
        known = [(one, self.known(one)) for one in built]
        unseen = [one for one, what in known if what.prints is None and one.files not in failed]
        unchecked = [one for one, what in known if what.findings is None]
        return next(iter(unseen + unchecked), None)

    def _find(self, built: BuiltSet, failed: Collection[str]) -> None:
        if self.known(built).prints is None and built.files not in failed:
            prints = self._prints(built)
            if prints is not None:
                self._keep(built, prints=prints)
                self._unread.discard(built.files)
        else:
            one = self.standings.get(built.name, Standing(built.name, built.folder))
            # What is wrong with it as a whole is said as long as it is so.
            self._keep(built, findings=self._inspector.inspect(replace(one, finding=None)))

    def _keep(self, built: BuiltSet, **found: Any) -> None:
        self._known[built.files] = replace(self._known.get(built.files, Known()), **found)

    def _prints(self, built: BuiltSet) -> Mapping[str, PagePrint] | None:
        """The fingerprints of all pages, taken now, page by page; None when closing."""
        taken: dict[str, PagePrint] = {}
        for key, leaf, face in pages_of(built.contents):
            if self._closing.is_set() or self.built(built.name).files != built.files:
                return None
            with self.pictures.opened(built.folder, patiently=True) as pictures:
                taken[key] = page_as_printed(pictures, leaf, face).print
        keep_prints(self.pictures.path(built.files, "prints.json"), taken)
        return taken


_EDGE_MM = 1.5
_HOLES_MM = 11.0
"""What of a page is not looked at for its first ink, at its edges and where it is punched."""


def tile_name(at: tuple[int, int] | None) -> str:
    """What a tile adds to the name of its picture.

    >>> tile_name((2, 0)), tile_name(None)
    ('-2-0', '')
    """
    return "" if at is None else f"-{at[0]}-{at[1]}"
