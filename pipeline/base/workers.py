"""Work in other processes: jobs on all cores or on a cluster, or one thing after another."""

from __future__ import annotations

import gc
import io
import logging
import multiprocessing
import os
import pickle
import signal
import sys
import threading
from collections import deque
from collections.abc import Callable, Generator, Iterator, Sequence
from concurrent.futures import Future, ProcessPoolExecutor
from concurrent.futures.process import BrokenProcessPool
from contextlib import contextmanager, suppress
from multiprocessing.context import BaseContext
from typing import Any, ParamSpec, TypeVar

from pipeline.base.cache import digest_of, program
from pipeline.base.errors import UserError

_Given = ParamSpec("_Given")
_Job = TypeVar("_Job")
_Result = TypeVar("_Result")

_LOG = logging.getLogger(__name__)

AHEAD = 2
"""Results a worker may lie ahead of the one being written: memory stays flat. By trial."""


@contextmanager
def uncollected() -> Iterator[None]:
    """Puts off Python's search for rings of dead objects.

    Of a set drawn or read it finds next to nothing in the thousands that live on, and takes 7 %
    of the time of drawing and 15 % of that of checking.
    """
    searching = gc.isenabled()
    gc.disable()
    try:
        yield
    finally:
        if searching:
            gc.enable()


def in_order(
    run: Callable[[_Job], _Result],
    jobs: Sequence[_Job],
    scheduler: str | None = None,
) -> Generator[_Result]:
    """``run`` of each job, in the order of ``jobs``, computed side by side.

    ``scheduler`` is the address of a dask scheduler whose workers take the jobs; without one
    they go to as many processes as there are cores, or stay here when there is but one job.
    Jobs whose process is ended from outside are tried once more, each in a process of its own,
    which is said in one line. Raises what ``run`` raises, ``BrokenProcessPool`` for a job that
    ends its process twice, and UserError when the scheduler does not answer.
    """
    if scheduler is None and (len(jobs) < 2 or cores() < 2):
        yield from map(run, jobs)
        return
    done = 0
    while done < len(jobs):
        begun = done
        try:
            rest = jobs[begun:]
            with _executor(run, rest, scheduler) as (start, workers):
                for result in _side_by_side(start, len(rest), workers):
                    yield result
                    done += 1
        except BrokenProcessPool:
            # Which of those under way it was nobody knows: each of them runs by itself.
            _LOG.warning("leafset: a process was ended from outside; what it was at is done again")
            for job in jobs[done : done + AHEAD * cores()]:
                yield _alone(run, job)
                done += 1


@contextmanager
def not_ended_twice(what: str) -> Iterator[None]:
    """Turns the second end of a process at ``what`` into one clear line."""
    try:
        yield
    except BrokenProcessPool:
        raise UserError(
            what,
            "the process at work on it was ended from outside, twice",
            "close other programs, for memory may be short, and try again; what is done is kept",
        ) from None


def _side_by_side(
    start: Callable[[int], Future[_Result]], many: int, workers: int
) -> Generator[_Result]:
    waiting: deque[Future[_Result]] = deque()
    try:
        for number in range(many):
            waiting.append(start(number))
            if len(waiting) >= AHEAD * workers:
                yield waiting.popleft().result()
        while waiting:
            yield waiting.popleft().result()
    finally:
        for future in waiting:
            future.cancel()


def _alone(run: Callable[[_Job], _Result], job: _Job) -> _Result:
    with ProcessPoolExecutor(1, initializer=end_with_parent) as executor:
        return executor.submit(run, job).result()


def end_with_parent() -> None:
    """Has this process end when the one that started it does, however that ends.

    A thread waits for the other end of a pipe that the system closes; all systems have that.
    """
    parent = multiprocessing.parent_process()
    if parent is not None:
        threading.Thread(target=_follow, args=(parent,), name="follow", daemon=True).start()


def _follow(parent: multiprocessing.process.BaseProcess) -> None:
    parent.join()
    os._exit(1)


def cores() -> int:
    """How many of the machine's cores there are for this program."""
    return len(os.sched_getaffinity(0)) if hasattr(os, "sched_getaffinity") else os.cpu_count() or 1


_ours: tuple[Callable[[Any], Any], Sequence[Any]]
"""What a worker of ``in_order`` runs, and the jobs: it has them all from its start."""


def _take(run: Callable[[Any], Any], jobs: Sequence[Any]) -> None:
    global _ours
    _ours = run, jobs
    end_with_parent()


def _run(number: int) -> Any:
    run, jobs = _ours
    return run(jobs[number])


@contextmanager
def _executor(
    run: Callable[[_Job], _Result], jobs: Sequence[_Job], scheduler: str | None
) -> Iterator[tuple[Callable[[int], Future[_Result]], int]]:
    """What starts a job by its number, and how many are run at once."""
    if scheduler is None:
        workers = min(len(jobs), cores())
        # Where processes are copies of this one nothing of the jobs has to be sent to them.
        with ProcessPoolExecutor(workers, initializer=_take, initargs=(run, jobs)) as executor:
            yield lambda number: executor.submit(_run, number), workers
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
        _check_alike(client, scheduler)
        workers = max(sum(client.nthreads().values()), 1)
        # Jobs are pure: one that a lost worker took along is simply run again elsewhere.
        executor = client.get_executor(pure=False, retries=3)
        sent: dict[str, Any] = {}

        def start(number: int) -> Future[_Result]:
            packed, large = _packed((run, jobs[number]))
            for name in large.keys() - sent.keys():
                # As a job's result the scheduler can give it again when a worker is lost.
                sent[name] = client.submit(bytes, large[name], pure=False, retries=3)
            done: Future[_Result] = executor.submit(
                _run_packed, packed, tuple(large), *(sent[name] for name in large)
            )
            return done

        yield start, workers


def _check_alike(client: Any, scheduler: str) -> None:
    """Raises UserError for a machine with another leafset: it would draw otherwise."""
    own = program()
    for worker, other in client.run(program, on_error="return").items():
        if not isinstance(other, BaseException) and other != own:  # not one that is lost just now
            raise UserError(
                f"--scheduler {scheduler}",
                f"{worker} has another version of leafset or of what it draws with",
                "install the same on every machine and start the workers again",
            )


_LARGE = 4096
"""Bytes so many are templates and faces, which most jobs have in common."""


def _packed(value: object) -> tuple[bytes, dict[str, bytes]]:
    """A value as it is sent, and apart from it the large bytes in it, by what they are."""
    large: dict[str, bytes] = {}

    class Packer(pickle.Pickler):
        def persistent_id(self, one: object) -> str | None:
            if not isinstance(one, bytes) or len(one) < _LARGE:
                return None
            large[name := digest_of(one)] = one
            return name

    Packer(file := io.BytesIO()).dump(value)
    return file.getvalue(), large


def _run_packed(packed: bytes, names: Sequence[str], *large: bytes) -> Any:
    """Runs a job as it was sent, with the large bytes that this machine has by now."""
    there = dict(zip(names, large, strict=True))

    class Unpacker(pickle.Unpickler):
        def persistent_load(self, name: str) -> bytes:
            return there[name]

    run, job = Unpacker(io.BytesIO(packed)).load()
    return run(job)


PATIENCE = 10
"""How far a patient worker stands back when others want to compute (the system's niceness)."""


class Worker:
    """A process of its own that does one thing after another; a patient one lets others go first.

    The process starts with the first task, and ignores Ctrl-C: that is for the program it serves.
    """

    def __init__(self, *, patient: bool = False) -> None:
        self._patient = patient
        self._lock = threading.Lock()
        self._running: tuple[ProcessPoolExecutor, Future[int]] | None = None

    def start(
        self, do: Callable[_Given, _Result], *given: _Given.args, **named: _Given.kwargs
    ) -> Future[_Result]:
        """Has something done; what it raises is raised by the result."""
        with self._lock:
            if self._running is None:
                pool = ProcessPoolExecutor(
                    1, _fresh(do.__module__), initializer=_ready, initargs=(self._patient,)
                )
                self._running = pool, pool.submit(os.getpid)
            return self._running[0].submit(do, *given, **named)

    def close(self) -> None:
        """Ends the process, whatever it is doing; the next start gets a new one."""
        with self._lock:
            running, self._running = self._running, None
        if running is not None:
            pool, process = running
            with suppress(BrokenProcessPool):
                own = process.result()
                for child in multiprocessing.active_children():
                    if child.pid == own:
                        child.terminate()
            pool.shutdown(wait=True, cancel_futures=True)


def _fresh(module: str) -> BaseContext:
    """Where new processes come from, which have nothing of this one's memory.

    On Linux from a process that has loaded a module and all that it needs, once for all of them;
    elsewhere each loads it itself, as libraries are not safe there in copies of a process.
    """
    if sys.platform != "linux":
        return multiprocessing.get_context("spawn")
    server = multiprocessing.get_context("forkserver")
    server.set_forkserver_preload([module])  # of no effect once it runs
    return server


def _ready(patient: bool) -> None:
    end_with_parent()
    signal.signal(signal.SIGINT, signal.SIG_IGN)
    if patient and hasattr(os, "nice"):
        os.nice(PATIENCE)
