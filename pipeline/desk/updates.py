"""What every open page hears at the moment it happens: what was built again, what is wrong."""

from __future__ import annotations

import asyncio
import json
import threading
from collections.abc import AsyncIterator, Mapping, Sequence
from dataclasses import asdict, dataclass


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
    """

    problems: Sequence[Problem] = ()
    building: str = ""
    files: Mapping[str, str] | None = None

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
