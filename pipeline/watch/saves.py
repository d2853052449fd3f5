"""Notices that one of the files a season is built from was saved, however an editor saves it.

Folders are watched, not files: an editor that writes a new file and renames it leaves the watched
file behind. And as notices can get lost (a new folder, one on another machine), the
files' times are also looked at once a second.
"""

from __future__ import annotations

import threading
from collections.abc import Callable, Iterable
from pathlib import Path

import watchfiles

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
            if not _is_drawn_from(file):
                continue
            try:
                stat = file.stat()
            except OSError:
                continue
            found.add((str(file), stat.st_mtime_ns, stat.st_size, stat.st_ino))
    return frozenset(found)


def _is_drawn_from(file: Path) -> bool:
    return file.suffix.lower() in _KINDS and not file.name.startswith(".")


def _counts(noticed: Path, inputs: Iterable[Path]) -> bool:
    """Whether a notice is of one of ``inputs``, even if it is again what it was before.

    Somebody may have read it in between: a file that was there only for a moment, or away.
    """
    return _is_drawn_from(noticed) and any(
        path == noticed or path in noticed.parents for path in inputs
    )


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
                self._look(path for _, path in notices)
                if self._folders() != folders:
                    break

    def _look(self, noticed: Iterable[str] = ()) -> None:
        inputs = list(self._inputs())
        stamp = stamp_of(inputs)
        if stamp != self._known or any(_counts(Path(path), inputs) for path in noticed):
            self._known = stamp
            self._changed.set()

    def _folders(self) -> list[Path]:
        found = set()
        for path in self._inputs():
            if path.is_dir():
                found |= {path, *(below for below in path.rglob("*") if below.is_dir())}
            found.add(path.parent)
        return sorted(folder for folder in found if folder.is_dir())
