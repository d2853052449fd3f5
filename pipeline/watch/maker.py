"""Makes sets anew when what they are made of was saved: what is on the screen first.

A round begins with every save. It makes the set that is open, tells the pages, then goes on with
the others, those of short periods and of the first paper first; the next save ends it.
"""

from __future__ import annotations

import contextlib
import threading
from collections.abc import Iterable, Sequence
from concurrent.futures import Future, wait
from concurrent.futures.process import BrokenProcessPool
from dataclasses import dataclass, replace
from pathlib import Path

from pipeline.app.build import folder_of, inputs_of, is_made, jobs_of, put_in_place
from pipeline.app.jobs import Made, SetJob
from pipeline.app.made import RECORD
from pipeline.base.errors import UserError
from pipeline.desk.desk import Desk
from pipeline.desk.news import News, Problem, Report
from pipeline.plan import SeasonPlan, plan_season
from pipeline.plan.titles import title_in
from pipeline.watch.changes import Changes, Stamp, stamp_of
from pipeline.watch.hands import Hand, finish, make, warm_up

SETTLE_SECONDS = 0.3
"""A fault is told only if no further save comes so soon: many editors save in several steps."""
_GLANCE_SECONDS = 0.03


class SupersededError(Exception):
    """Something was saved meanwhile, or the program ends: what is being made is of no use."""


@dataclass(frozen=True)
class Edition:
    """A set for one paper: its name on the desk, and the job that makes it."""

    name: str
    job: SetJob

    @property
    def what(self) -> str:
        """What it is called while it is made."""
        plan = self.job.plan
        return f"{plan.title}, {plan.period.title}" if plan.period.title else plan.title


class Maker:
    """The rounds, in a thread of their own."""

    def __init__(
        self, season: Path, out: Path, cache: Path, only: str | None, desk: Desk, news: News
    ) -> None:
        self._season = season
        self._out = out
        self._cache = cache
        self._only = only
        self._desk = desk
        self._news = news
        self._inputs: Sequence[Path] = self._before_planning()
        self._changed = threading.Event()
        self._closing = threading.Event()
        self._changes = Changes(lambda: self._inputs, self._changed)
        self._now, self._later = Hand(), Hand(patient=True)
        self._warm = False
        self._late: tuple[Edition, Future[Made]] | None = None
        self._faults: dict[str, Problem] = {}
        self._thread = threading.Thread(target=self._work, name="maker", daemon=True)

    def begin(self) -> None:
        """Makes what is not made, and from now on what changes."""
        self._changed.set()
        self._changes.begin()
        self._thread.start()

    def close(self) -> None:
        """Ends it; what is being made is left, what was made stays."""
        self._closing.set()
        self._changed.set()
        self._changes.close()
        if self._thread.is_alive():
            self._thread.join(timeout=10)
        self._now.close()
        self._later.close()

    def _before_planning(self) -> list[Path]:
        """Where the files lie of a season that cannot be read yet."""
        base = self._season.resolve().parent
        return [self._season, *(folder / "templates_svg" for folder in (base, base.parent))]

    def _work(self) -> None:
        while not self._closing.is_set():
            self._changed.wait()
            self._changed.clear()
            try:
                self._round()
            except SupersededError:
                continue
            except UserError as error:
                self._fault("", error)
            except BrokenProcessPool:
                self._now.close()
                self._later.close()
                self._fault("", UserError("a set", "could not be made", "save once more"))
            except Exception as error:
                # The page must not stand still for a fault of ours; saving again tries again.
                self._fault("", UserError("leafset", f"failed: {error!r}", "run 'leafset build'"))

    def _round(self) -> None:
        stamp = stamp_of(self._inputs)
        with self._desk.renders.looking():
            first = self._make_what_is_open()
        try:
            plan = plan_season(self._season, self._only)
        except UserError as error:
            self._tell_fault("", error)
            return
        self._faults.pop("", None)
        inputs = inputs_of(plan, self._season.resolve())
        if inputs != self._inputs:
            self._inputs = inputs
            self._changed.set()  # files that nobody looked at before may have changed meanwhile
            raise SupersededError
        editions = self._editions(plan)
        self._show(plan, editions)
        for name in set(self._faults) - {one.name for one in editions}:
            del self._faults[name]
        self._make_the_rest(sorted(editions, key=self._place), first)
        self._tell()
        if not self._faults:
            self._finish(stamp, plan.season.name)
        self._desk.forget_pictures()

    # What comes first

    def _make_what_is_open(self) -> str:
        """Makes the edition on the screen if it changed; gives its name, if it was looked at."""
        name = self._desk.first
        if not name:
            return ""
        set_name = name.split("/")[1]
        try:
            plan = plan_season(self._season, set_name)
            edition = next((one for one in self._editions(plan) if one.name == name), None)
        except UserError:
            return ""  # told when all is planned
        if edition is None:
            return ""
        self._make(edition, self._now)
        return name

    def _place(self, one: Edition) -> tuple[bool, bool, bool, int]:
        """Where an edition comes in the order; the least first."""
        period, open_set = one.job.plan.period, self._desk.first
        days = (period.last - period.first).days if period.first and period.last else 0
        same_set = bool(open_set) and one.name.split("/")[1] == open_set.split("/")[1]
        other_paper = one.job.papers[0] is not self._papers[0]
        return one.name != open_set, not same_set, other_paper, days

    def _editions(self, plan: SeasonPlan) -> list[Edition]:
        """Every set of a plan for every paper; what is wrong with one keeps no other."""
        self._papers = plan.papers
        found = []
        for one in plan.sets:
            key = f"{one.period.name}/{one.name}/{one.binder.name}/{one.language}"
            try:
                [job] = jobs_of(replace(plan, sets=(one,)))
            except UserError as error:
                self._tell_fault(key, error)
                continue
            self._faults.pop(key, None)
            for paper in plan.papers:
                folder = folder_of(job, paper, self._out)
                found.append(Edition("/".join(folder.parts[-3:]), replace(job, papers=(paper,))))
        return found

    # Making

    def _make(self, one: Edition, hand: Hand) -> None:
        """Makes one edition now, unless it is made."""
        if is_made(one.job, one.job.papers[0], self._out):
            self._mended(one.name)
            return
        self._tell(f"Making {one.what}")
        self._take(one, hand.start(make, one.job, self._cache))

    def _take(self, one: Edition, result: Future[Made]) -> None:
        """Puts in place what was made, and tells the pages."""
        try:
            made = result.result()
        except UserError as error:
            self._tell_fault(one.name, error)
            return
        desk = self._desk
        with desk.renders.looking():
            with desk.renewing():
                put_in_place(made, one.job, self._out)
            if one.name not in desk.folders:
                folder = folder_of(one.job, one.job.papers[0], self._out)
                desk.folders = {**desk.folders, one.name: folder}
            if one.name == desk.first:
                desk.draw_what_is_looked_at()
            self._mended(one.name)

    def _make_the_rest(self, editions: Iterable[Edition], done: str) -> None:
        """All others, one after the other; what is opened meanwhile comes at once."""
        left = [one for one in editions if one.name != done]
        seen = done
        if not self._warm and left:
            self._warm = True
            if is_made(left[0].job, left[0].job.papers[0], self._out):
                self._now.start(warm_up, left[0].job, self._cache)
            else:
                self._make(left.pop(0), self._now)
        while left or self._late:
            if self._changed.is_set():
                self._drop_late()
                raise SupersededError
            if self._desk.first != seen:
                seen = self._desk.first
                left.sort(key=self._place)
                if left and left[0].name == seen:
                    with self._desk.renders.looking():
                        self._make(left.pop(0), self._now)
                    continue
            if self._late is None and left:
                one = left.pop(0)
                if is_made(one.job, one.job.papers[0], self._out):
                    self._mended(one.name)
                    continue
                self._tell(f"Making {one.what}")
                self._late = one, self._later.start(make, one.job, self._cache)
            if self._late and wait([self._late[1]], _GLANCE_SECONDS).done:
                (one, result), self._late = self._late, None
                self._take(one, result)

    def _drop_late(self) -> None:
        if self._late is not None:
            self._late[1].cancel()
            self._late = None

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
            self._tell_fault("", error)  # it read the season once more, which may be another now
            return
        if stamp_of(self._inputs) != stamp:
            # It noted files that were saved after the sets were made.
            (self._out / season / RECORD).unlink(missing_ok=True)

    # Telling

    def _show(self, plan: SeasonPlan, editions: Sequence[Edition]) -> None:
        """Lays the plan's sets on the desk; those it has no longer are taken off."""
        season = plan.season
        self._desk.title = title_in(season.title, season.language[0]) or season.name
        self._desk.folders = {
            one.name: folder_of(one.job, one.job.papers[0], self._out) for one in editions
        }

    def _mended(self, name: str) -> None:
        """What is mended for one is so for all, until one of them finds otherwise."""
        mended = self._faults.pop(name, None)
        self._faults = {key: fault for key, fault in self._faults.items() if fault != mended}
        self._tell(self._news.latest.making)

    def _tell_fault(self, name: str, error: UserError) -> None:
        """Tells a fault, unless the next save comes so soon that it may be mended."""
        if name not in self._faults and self._changed.wait(SETTLE_SECONDS):
            raise SupersededError
        self._fault(name, error)

    def _fault(self, name: str, error: UserError) -> None:
        self._faults[name] = Problem.of(error)
        self._tell()

    def _tell(self, making: str = "") -> None:
        problems = tuple(dict.fromkeys(self._faults.values()))
        files = {one.name: one.files for one in self._desk.editions()}
        self._news.tell(Report(problems, making, files))
