"""Drawings looked through in a process of its own, each once for every form of it."""

from __future__ import annotations

from concurrent.futures import CancelledError
from concurrent.futures.process import BrokenProcessPool
from pathlib import Path

from pipeline.base.cache import CACHE, Cache
from pipeline.base.errors import UserError
from pipeline.base.workers import Worker
from pipeline.drawings.checks import DrawingFinding, check_drawings


def look_through(file: Path, out: Path) -> list[DrawingFinding]:
    """What is to be said of a drawing; a worker's task."""
    return check_drawings([file], cache=Cache(out / CACHE))[0]


def mend(file: Path, out: Path) -> int:
    """Mends what is mechanical; how many places; a worker's task."""
    return check_drawings([file], mend=True, cache=Cache(out / CACHE))[1]


class Reader:
    """Looks through drawings; ``out`` is the build folder, where what it finds is kept."""

    def __init__(self, out: Path) -> None:
        self._out = out
        self._worker = Worker(patient=True)
        self._known: dict[Path, tuple[float, list[DrawingFinding]]] = {}

    def findings(self, file: Path) -> list[DrawingFinding]:
        """What is to be said of a drawing as it is now. Raises UserError when that broke off."""
        stamp = file.stat().st_mtime
        known = self._known.get(file)
        if known is None or known[0] != stamp:
            try:
                known = stamp, self._worker.start(look_through, file, self._out).result()
            except (BrokenProcessPool, CancelledError):
                self._worker.close()
                raise UserError(file.name, "could not be looked through", "ask once more") from None
            self._known[file] = known
        return known[1]

    def mend(self, file: Path) -> int:
        """Mends a drawing; how many places were mended."""
        return self._worker.start(mend, file, self._out).result()

    def close(self) -> None:
        """Ends the process."""
        self._worker.close()
