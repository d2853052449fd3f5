"""Sets made in processes of their own, so that pages and pictures never wait for them."""

from __future__ import annotations

import contextlib
import multiprocessing
import os
import signal
from collections.abc import Callable
from concurrent.futures import Future, ProcessPoolExecutor
from pathlib import Path
from typing import ParamSpec, TypeVar

from pipeline.app.jobs import Made, SetJob, run
from pipeline.base.errors import UserError

_Given = ParamSpec("_Given")
_Result = TypeVar("_Result")

PATIENCE = 10
"""How much the patient step back when others want to compute (the system's niceness)."""


class Hand:
    """A process that does one thing after the other; ``patient`` ones let others go first."""

    def __init__(self, *, patient: bool = False) -> None:
        self._patient = patient
        self._pool: ProcessPoolExecutor | None = None

    def start(
        self, do: Callable[_Given, _Result], *given: _Given.args, **named: _Given.kwargs
    ) -> Future[_Result]:
        """Has something done; what it raises is raised by the result."""
        if self._pool is None:
            spawn = multiprocessing.get_context("spawn")
            self._pool = ProcessPoolExecutor(
                1, spawn, initializer=_ready, initargs=(self._patient,)
            )
        return self._pool.submit(do, *given, **named)

    def close(self) -> None:
        """Ends the process, whatever it is doing; the next start gets a new one."""
        pool, self._pool = self._pool, None
        if pool is not None:
            for process in list((pool._processes or {}).values()):
                process.terminate()
            pool.shutdown(wait=True, cancel_futures=True)


def _ready(patient: bool) -> None:
    signal.signal(signal.SIGINT, signal.SIG_IGN)  # Ctrl-C is for the one who watches
    if patient:
        os.nice(PATIENCE)


def warm_up(job: SetJob, cache: Path) -> None:
    """Makes a set for practice: a process is faster at its second one."""
    with contextlib.suppress(UserError):
        run(job, cache)


def make(job: SetJob, cache: Path) -> Made:
    """A job, done by a hand."""
    return run(job, cache)


def finish(season: Path, out: Path) -> None:
    """What a build does once all sets are in place, done by a hand."""
    from pipeline.app.build import finish_season, jobs_of
    from pipeline.plan import plan_season

    plan = plan_season(season)
    finish_season(season, plan, jobs_of(plan), out, whole_season=True)
