"""Runs jobs on all cores of this machine, or on a cluster's, a few ahead of what is taken."""

from __future__ import annotations

import os
from collections import deque
from collections.abc import Callable, Iterator, Sequence
from concurrent.futures import Executor, Future, ProcessPoolExecutor
from contextlib import contextmanager
from typing import Any, TypeVar

from pipeline.base.errors import UserError

_Job = TypeVar("_Job")
_Result = TypeVar("_Result")

AHEAD = 2
"""Results a worker may lie ahead of the one that is written: memory stays flat."""


def in_order(
    run: Callable[[_Job], _Result], jobs: Sequence[_Job], scheduler: str | None = None
) -> Iterator[_Result]:
    """``run`` of each job, in the order of ``jobs``, computed side by side.

    ``scheduler`` is the address of a dask scheduler whose workers take the jobs; without one
    they go to as many processes as there are cores, or stay here when there is but one job.
    Raises what ``run`` raises, and UserError when the scheduler does not answer.
    """
    if scheduler is None and (len(jobs) < 2 or _cores() < 2):
        yield from map(run, jobs)
        return
    with _executor(len(jobs), scheduler) as (executor, workers):
        waiting: deque[Future[_Result]] = deque()
        rest = iter(jobs)
        try:
            for job in rest:
                waiting.append(executor.submit(run, job))
                if len(waiting) >= AHEAD * workers:
                    yield waiting.popleft().result()
            while waiting:
                yield waiting.popleft().result()
        finally:
            for future in waiting:
                future.cancel()


def _cores() -> int:
    return len(os.sched_getaffinity(0)) if hasattr(os, "sched_getaffinity") else os.cpu_count() or 1


@contextmanager
def _executor(jobs: int, scheduler: str | None) -> Iterator[tuple[Executor, int]]:
    if scheduler is None:
        workers = min(jobs, _cores())
        with ProcessPoolExecutor(workers) as executor:
            yield executor, workers
        return
    try:
        import distributed
    except ImportError:
        raise UserError(
            "--scheduler", "needs the cluster extra", "run: pip install 'leafset[cluster]'"
        ) from None
    connect: Any = distributed.Client
    try:
        client = connect(scheduler, timeout="10s")
    except (OSError, ValueError) as problem:
        raise UserError(
            f"--scheduler {scheduler}", f"no scheduler answers there ({problem})", "start one"
        ) from None
    with client:
        workers = max(sum(client.nthreads().values()), 1)
        # Jobs are pure: one that a lost worker took along is simply run again elsewhere.
        yield client.get_executor(pure=False, retries=3), workers
