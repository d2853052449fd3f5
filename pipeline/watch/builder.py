"""Notices saves, and builds the sets they touch again: what is on the screen first.

Every save begins a round. It builds the set that is open, lets the pages know, then goes on with
the others, those of short periods and of the first paper first; the next save ends it.

Folders are watched, not files: an editor that writes a new file and renames it leaves the watched
file behind. And as notices can get lost (a new folder, one on another machine), the files' times
are also looked at once a second.
"""

from __future__ import annotations

import contextlib
import threading
from collections.abc import Callable, Iterable, Sequence
from concurrent.futures import Future, wait
from concurrent.futures.process import BrokenProcessPool
from dataclasses import dataclass, replace
from pathlib import Path

import watchfiles

from pipeline.app.build import (
    faces_of,
    finish_season,
    inputs_of,
    is_made,
    jobs_of,
    loose_sheets,
    put_in_place,
    season_title,
)
from pipeline.app.buildrecord import RECORD
from pipeline.app.jobs import Finished, SetJob, run
from pipeline.base.errors import UserError
from pipeline.base.folders import clear_leftovers
from pipeline.base.workers import Worker
from pipeline.desk.desk import Desk, Problem, Report, Updates, headings_of
from pipeline.plan import SeasonPlan, plan_season

STEP_MS = 30
"""Once it is quiet for so long a save is taken to be done."""
LONGEST_MS = 400
"""A save that goes on and on is looked at now and then."""
LOOK_MS = 1000

Stamp = frozenset[tuple[str, int, int, int]]
"""Every file there is, with its time, size and number."""
_KINDS = (".svg", ".toml", ".ttf", ".otf", ".ttc", ".woff", ".woff2", ".png", ".jpg", ".jpeg")


def stamp_of(inputs: Iterable[Path]) -> Stamp:
    """How the files among ``inputs``, and in the folders among them, are now.

    What editors leave beside them (locks, copies, half-written files) does not count.
    """
    found = set()
    for path in inputs:
        for file in path.rglob("*") if path.is_dir() else [path]:
            with contextlib.suppress(OSError):
                if _is_drawn_from(file):
                    stat = file.stat()
                    found.add((str(file), stat.st_mtime_ns, stat.st_size, stat.st_ino))
    return frozenset(found)


def _is_drawn_from(file: Path) -> bool:
    return file.suffix.lower() in _KINDS and not file.name.startswith(".")


class Saves:
    """Looks out for changes to ``inputs()`` in a thread of its own; ``changed`` is set for each."""

    def __init__(self, inputs: Callable[[], Iterable[Path]], changed: threading.Event) -> None:
        self._inputs = inputs
        self._changed = changed
        self._closing = threading.Event()
        self._known: Stamp = frozenset()
        self._thread = threading.Thread(target=self._look_out, name="lookout", daemon=True)

    def begin(self) -> None:
        """From now on changes are noticed."""
        self._known = stamp_of(self._inputs())
        self._thread.start()

    def close(self) -> None:
        """Ends it."""
        self._closing.set()
        if self._thread.is_alive():
            self._thread.join(timeout=5)

    def _look_out(self) -> None:
        while not self._closing.is_set():
            folders = self._folders()
            if not folders:
                self._closing.wait(LOOK_MS / 1000)
                self._look()
                continue
            for notices in watchfiles.watch(
                *folders,
                watch_filter=None,
                debounce=LONGEST_MS,
                step=STEP_MS,
                rust_timeout=LOOK_MS,
                yield_on_timeout=True,
                stop_event=self._closing,
                raise_interrupt=False,
                recursive=False,
                ignore_permission_denied=True,
            ):
                self._look(Path(path) for _, path in notices)
                if self._folders() != folders:
                    break

    def _look(self, noticed: Iterable[Path] = ()) -> None:
        inputs = list(self._inputs())
        stamp = stamp_of(inputs)
        # A notice counts even if all is again what it was before: somebody may have read a file
        # in between that was there only for a moment, or away.
        if stamp != self._known or any(
            _is_drawn_from(path) and not {path, *path.parents}.isdisjoint(inputs)
            for path in noticed
        ):
            self._known = stamp
            self._changed.set()

    def _folders(self) -> list[Path]:
        found = set()
        for path in self._inputs():
            if path.is_dir():
                found |= {path, *(below for below in path.rglob("*") if below.is_dir())}
            found.add(path.parent)
        return sorted(folder for folder in found if folder.is_dir())


SETTLE_SECONDS = 0.3
"""A fault shows only if no further save comes so soon: many editors save in several steps."""
_GLANCE_SECONDS = 0.03


class SupersededError(Exception):
    """Something was saved meanwhile, or the program ends: what is being built is out of date."""


@dataclass(frozen=True)
class Target:
    """A set for one paper: its name on the desk, and the job that builds it."""

    name: str
    job: SetJob

    @property
    def what(self) -> str:
        """What it is called while it is being built."""
        plan = self.job.plan
        dated = plan.period.first is not None
        return f"{plan.title}, {plan.period.title}" if dated else plan.title

    def is_built(self, out: Path) -> bool:
        """Whether its files are in the build folder, built from the very same."""
        return is_made(self.job, self.job.papers[0], out)


class Builder:
    """The rounds, in a thread of their own; ``ended`` is called after one that left nothing."""

    def __init__(
        self,
        season: Path,
        out: Path,
        cache: Path,
        only: str | None,
        desk: Desk,
        updates: Updates,
        ended: Callable[[], None] = lambda: None,
    ) -> None:
        self._season = season
        self._out = out
        self._cache = cache
        self._only = only
        self._desk = desk
        self._updates = updates
        # Where the files lie of a season that cannot be read yet.
        base = season.resolve().parent
        beside = [folder / "templates_svg" for folder in (base, base.parent)]
        self._inputs: Sequence[Path] = [season, *beside]
        self._changed = threading.Event()
        self._closing = threading.Event()
        self._stopped = threading.Event()
        self._ended = ended
        self._done = self._whole = 0
        self._saves = Saves(lambda: self._inputs, self._changed)
        self._now, self._later = Worker(), Worker(patient=True)
        self._warm = False
        self._broken = 0
        self._late: tuple[Target, Future[Finished]] | None = None
        self._faults: dict[str, Problem] = {}
        self._thread = threading.Thread(target=self._work, name="builder", daemon=True)

    def begin(self) -> None:
        """Builds what isn't built, and from now on what changes."""
        self._changed.set()
        self._saves.begin()
        self._thread.start()

    def stop(self) -> None:
        """Builds no more but what is on the screen, until it is to go on; what was built stays."""
        self._stopped.set()
        self._changed.set()

    def go_on(self) -> None:
        """Builds again whatever isn't built."""
        self._stopped.clear()
        self._changed.set()

    def close(self) -> None:
        """Ends it; what is being built is left unfinished, what was built stays."""
        self._closing.set()
        self._changed.set()
        self._saves.close()
        if self._thread.is_alive():
            self._thread.join(timeout=10)
        self._now.close()
        self._later.close()

    def _work(self) -> None:
        with contextlib.suppress(UserError):  # told of where something is put there
            clear_leftovers(self._out)
        while not self._closing.is_set():
            self._changed.wait()
            self._changed.clear()
            try:
                self._round()
                self._broken = 0
            except SupersededError:
                continue
            except UserError as error:
                self._fault("", error)
            except BrokenProcessPool:
                self._now.close()
                self._later.close()
                self._late = None
                self._broken += 1
                if self._broken == 1:
                    self._changed.set()  # once more, in fresh processes
                else:
                    self._fault("", UserError("a set", "could not be built", "save once more"))
            except Exception as error:
                # The page must not stand still for a fault of ours; saving again tries again.
                self._fault("", UserError("leafset", f"failed: {error!r}", "run 'leafset build'"))

    def _round(self) -> None:
        stamp = stamp_of(self._inputs)
        with self._desk.pictures.looking():
            first = self._build_what_is_open()
        try:
            plan = plan_season(self._season, self._only)
        except UserError as error:
            self._show_fault("", error)
            return
        self._faults.pop("", None)
        inputs = inputs_of(plan, self._season.resolve())
        if inputs != self._inputs:
            self._inputs = inputs
            self._changed.set()  # files that nobody looked at before may have changed meanwhile
            raise SupersededError
        targets = self._targets_of(plan)
        self._desk.title = season_title(plan.season)
        built = self._out / plan.season.name
        self._desk.folders = {one.name: built / one.name for one in targets}
        self._desk.headings = headings_of(plan)
        for name in set(self._faults) - {one.name for one in targets}:
            del self._faults[name]
        if self._stopped.is_set():
            self._done, self._whole = self._count(targets), len(targets)
            self._report()
            return
        self._build_the_rest(sorted(targets, key=self._place), first)
        self._done = self._whole
        self._report()
        if not self._faults:
            self._finish(stamp, plan.season.name)
            self._ended()
        self._desk.forget_pictures()

    def _count(self, targets: Iterable[Target]) -> int:
        return sum(one.is_built(self._out) for one in targets)

    # What comes first

    def _build_what_is_open(self) -> str:
        """Builds the set on the screen if it changed; gives its name, if it was looked at."""
        name, targets = self._desk.first, []
        if name:
            with contextlib.suppress(UserError):  # shown when all is planned
                targets = self._targets_of(plan_season(self._season, name.split("/")[1]))
        for target in targets:
            if target.name == name:
                self._build(target)
                return name
        return ""

    def _place(self, one: Target) -> tuple[bool, bool, bool, int]:
        """Where a target comes in the order; the least first."""
        period, open_set = one.job.plan.period, self._desk.first
        days = (period.last - period.first).days if period.first and period.last else 0
        same_set = bool(open_set) and one.name.split("/")[1] == open_set.split("/")[1]
        other_paper = one.job.papers[0] is not self._papers[0]
        return one.name != open_set, not same_set, other_paper, days

    def _targets_of(self, plan: SeasonPlan) -> list[Target]:
        """Every set of a plan for every paper; a fault in one keeps none of the others back."""
        self._papers = plan.papers
        found = []
        for one in plan.sets:
            key = f"{one.period.name}/{one.name}/{one.binder.name}/{one.language}"
            try:
                [job] = jobs_of(replace(plan, sets=(one,)))
            except UserError as error:
                self._show_fault(key, error)
                continue
            self._faults.pop(key, None)
            for paper in plan.papers:
                found.append(Target(job.name(paper), replace(job, papers=(paper,))))
        return found

    # Building

    def _build(self, one: Target) -> None:
        """Builds one target now, unless it is built."""
        if one.is_built(self._out):
            self._mended(one.name)
            return
        self._report(f"Building {one.what}")
        self._take(one, self._now.start(run, one.job, self._cache))

    def _take(self, one: Target, result: Future[Finished]) -> None:
        """Puts in place what was built, and lets the pages know."""
        try:
            made = result.result()
        except UserError as error:
            self._show_fault(one.name, error)
            return
        desk = self._desk
        with desk.pictures.looking():
            with desk.renewing():
                put_in_place(made, self._out)
            desk.folders = {**desk.folders, one.name: self._out / one.job.season / one.name}
            if one.name == desk.first:
                desk.draw_what_is_looked_at()
            self._mended(one.name)

    def _build_the_rest(self, targets: Iterable[Target], done: str) -> None:
        """All others, one after the other; what is opened meanwhile comes at once."""
        left = [one for one in targets if one.name != done]
        seen = done
        self._whole = len(left) + (1 if done else 0)
        if not self._warm and left:
            self._warm = True
            if left[0].is_built(self._out):
                # A process is faster at its second set, so its first is for practice.
                self._now.start(run, left[0].job, self._cache)
            else:
                self._build(left.pop(0))
        while left or self._late:
            self._done = self._whole - len(left) - (1 if self._late else 0)
            if self._changed.is_set():
                if self._late:
                    self._late[1].cancel()
                    self._late = None
                raise SupersededError
            if self._desk.first != seen:
                seen = self._desk.first
                left.sort(key=self._place)
                if left and left[0].name == seen:
                    with self._desk.pictures.looking():
                        self._build(left.pop(0))
                    continue
            if self._late is None and left:
                one = left.pop(0)
                if one.is_built(self._out):
                    self._mended(one.name)
                    continue
                self._report(f"Building {one.what}")
                self._late = one, self._later.start(run, one.job, self._cache)
            if self._late and wait([self._late[1]], _GLANCE_SECONDS).done:
                (one, result), self._late = self._late, None
                self._take(one, result)

    def _finish(self, stamp: Stamp, season: str) -> None:
        """Leaves the build folder as a build would."""
        if self._only is not None:
            return
        ended = self._later.start(finish, self._season, self._out)
        while not wait([ended], _GLANCE_SECONDS).done:
            if self._closing.is_set():
                raise SupersededError
        try:
            with contextlib.suppress(OSError):
                ended.result()
        except UserError as error:
            self._show_fault("", error)  # it read the season once more, which may be another now
            return
        if stamp_of(self._inputs) != stamp:
            # It noted files that were saved after the sets were built.
            (self._out / season / RECORD).unlink(missing_ok=True)

    # What the pages are shown

    def _mended(self, name: str) -> None:
        """A fault mended for one is mended for all, until one of them finds otherwise."""
        mended = self._faults.pop(name, None)
        self._faults = {key: fault for key, fault in self._faults.items() if fault != mended}
        self._report(self._updates.latest.building)

    def _show_fault(self, name: str, error: UserError) -> None:
        """Shows a fault, unless the next save comes so soon that it may be mended."""
        if name not in self._faults and self._changed.wait(SETTLE_SECONDS):
            raise SupersededError
        self._fault(name, error)

    def _fault(self, name: str, error: UserError) -> None:
        self._faults[name] = Problem(error.place, error.what, error.remedy)
        self._report()

    def _report(self, building: str = "") -> None:
        problems = tuple(dict.fromkeys(self._faults.values()))
        files = {one.name: one.files for one in self._desk.built_sets()}
        whole, stopped = self._whole, self._stopped.is_set()
        self._updates.post(Report(problems, building, files, self._done, whole, stopped))


def finish(season: Path, out: Path) -> None:
    """What a build does once all sets are in place; a worker's task."""
    plan = plan_season(season)
    (loose,) = loose_sheets(plan, faces_of(plan), whole_season=True).values()
    finish_season(season, plan, jobs_of(plan), loose, out, whole_season=True)
