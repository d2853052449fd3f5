"""A release made in the background, in processes of its own: it can be stopped, and goes on.

How far it is stands in a file, so that a desk that is started again knows of one that broke off.
What is out is whole at every moment, and what was made before is not made again.
"""

from __future__ import annotations

import json
import multiprocessing
import os
import signal
import time
from contextlib import suppress
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from pipeline.app.release import publish_season
from pipeline.base.cache import digest_of
from pipeline.base.errors import UserError
from pipeline.base.folders import write_whole
from pipeline.base.workers import end_with_parent, not_ended_twice
from pipeline.plan.languages import parents, root_of
from pipeline.publish.bundle import FOLDER as TERMS

_EVERY_SECONDS = 0.2


@dataclass(frozen=True)
class Terms:
    """What buyers may do, in a language: the ``file`` that says so and what is in it.

    ``text`` is that of the English file where there is none in the language (``is_own`` is False).
    """

    language: str
    file: Path
    text: str
    is_own: bool

    @property
    def version(self) -> str:
        """A key that changes when the file does."""
        return digest_of(self.text, self.is_own)


def terms_in(collection: Path, language: str) -> Terms:
    """The terms for a language. Raises UserError when a file cannot be read."""
    names = dict.fromkeys((*parents(language), root_of(language)))
    files = [collection / TERMS / f"{name}.txt" for name in names]
    there = next((file for file in files if file.is_file()), None)
    shown = there or collection / TERMS / "en.txt"
    try:
        text = shown.read_text("utf-8-sig") if shown.is_file() else ""
    except (OSError, UnicodeError) as problem:
        raise UserError(str(shown), f"cannot be read ({problem})", "save it as UTF-8") from None
    return Terms(language, there or files[-1], text, there is not None)


class Releasing:
    """The releases of one season: the one under way, or how the last one ended.

    ``notes`` is the file that says so.
    """

    def __init__(self, season: Path, out: Path, notes: Path) -> None:
        self._season, self._out, self._notes = season, out, notes
        self._process: Any = None

    @property
    def under_way(self) -> bool:
        """Whether one is being made now."""
        return self._process is not None and self._process.is_alive()

    def begin(self, at: str, *, pictures: bool) -> None:
        """Begins one, unless it is under way; ``at`` is the time for the record (ISO 8601)."""
        if self.under_way:
            return
        _note(self._notes, {"state": "making", "done": 0, "whole": 0, "what": ""})
        context = multiprocessing.get_context("spawn")
        given = self._season, self._out, self._notes, at, pictures
        self._process = context.Process(target=_make, args=given, name="release")
        self._process.start()

    def stop(self) -> None:
        """Ends it; what was finished stays."""
        process, self._process = self._process, None
        if process is None or not process.is_alive():
            return
        if hasattr(os, "killpg"):
            with suppress(ProcessLookupError, PermissionError):
                os.killpg(process.pid, signal.SIGTERM)
        process.terminate()
        process.join(timeout=10)
        _note(self._notes, {**self.state(), "state": "stopped"})

    def state(self) -> dict[str, Any]:
        """How far it is.

        ``state`` is "none", "making", "done", "stopped", "failed" or "broken off".
        """
        try:
            said: dict[str, Any] = json.loads(self._notes.read_bytes())
        except (OSError, ValueError):
            return {"state": "none"}
        if said.get("state") == "making" and not self.under_way:
            return {**said, "state": "broken off"}
        return said


def _note(notes: Path, said: dict[str, Any]) -> None:
    write_whole(notes, json.dumps(said, ensure_ascii=False).encode())


def _make(season: Path, out: Path, notes: Path, at: str, pictures: bool) -> None:
    """Makes the release, and says how far it is; a process's task."""
    if hasattr(os, "setpgrp"):
        os.setpgrp()  # so that its helpers can be ended with it
    end_with_parent()
    signal.signal(signal.SIGINT, signal.SIG_IGN)
    last = 0.0

    def step(done: int, whole: int, what: str) -> None:
        nonlocal last
        if (now := time.monotonic()) - last >= _EVERY_SECONDS:
            last = now
            _note(notes, {"state": "making", "done": done, "whole": whole, "what": what})

    try:
        with not_ended_twice("the release"):
            made = publish_season(season, out, at=at, pictures=pictures, step=step)
    except UserError as problem:
        _note(notes, {"state": "failed", "problem": str(problem)})
        return
    except Exception as problem:
        _note(notes, {"state": "failed", "problem": f"leafset failed: {problem!r}"})
        return
    _note(
        notes,
        {
            "state": "done",
            "out": [[one.key, one.name, one.state] for one in made.results if one.out],
            "held": [[one.key, one.why] for one in made.results if not one.out],
            "without_pictures": [list(one) for one in made.without_pictures],
            "advice": list(made.advice),
        },
    )
