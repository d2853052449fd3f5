"""What is told to every open page at the moment it happens: what was made anew, what is wrong."""

from __future__ import annotations

import asyncio
import json
import threading
from collections.abc import AsyncIterator, Mapping, Sequence
from dataclasses import asdict, dataclass

from pipeline.base.errors import UserError


@dataclass(frozen=True)
class Problem:
    """Something the user can mend, in the three parts of a ``UserError``."""

    where: str
    what: str
    remedy: str

    @classmethod
    def of(cls, error: UserError) -> Problem:
        """The parts of an error."""
        return cls(error.where, error.what, error.remedy)


@dataclass(frozen=True)
class Report:
    """How things are: ``problems`` to mend, what is being made, and the sets' present files.

    ``files`` maps a set's name to a digest of its files; sets that are not made are not in it.
    """

    problems: Sequence[Problem] = ()
    making: str = ""
    files: Mapping[str, str] | None = None

    def as_event(self) -> str:
        """As a server-sent event (HTML Standard, section 9.2)."""
        return f"data: {json.dumps(asdict(self), ensure_ascii=False)}\n\n"


class News:
    """The latest report, and everybody who waits for the next one. Threads may tell."""

    def __init__(self) -> None:
        self._lock = threading.Lock()
        self._latest = Report()
        self._closed = False
        self._waiting: set[tuple[asyncio.AbstractEventLoop, asyncio.Event]] = set()

    @property
    def latest(self) -> Report:
        """What was told last."""
        return self._latest

    def tell(self, report: Report) -> None:
        """Tells everybody; what is told twice is heard once."""
        with self._lock:
            if report != self._latest:
                self._latest = report
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
                if self._latest is not heard:
                    heard = self._latest
                    yield heard
                else:
                    await waiter[1].wait()
        finally:
            with self._lock:
                self._waiting.discard(waiter)
