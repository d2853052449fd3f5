"""Releases and orders made in the background, in processes of their own: they can be stopped, and
go on.

How far one is stands in a file, so that a desk that is started again knows of one that broke off.
What is made is whole at every moment, and what was made before is not made again.
"""

from __future__ import annotations

import json
import multiprocessing
import os
import signal
import time
from collections.abc import Callable, Sequence
from contextlib import suppress
from dataclasses import dataclass
from functools import partial
from pathlib import Path
from typing import Any

from pipeline.app.build import Step
from pipeline.app.orders import OrderState, designs_not_passed, make_orders
from pipeline.app.release import publish_season
from pipeline.base.cache import digest_of
from pipeline.base.errors import UserError
from pipeline.base.folders import write_whole
from pipeline.base.workers import end_with_parent, not_ended_twice
from pipeline.drawings.starters.starter import UNREAD
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

    @property
    def is_unread(self) -> bool:
        """Whether they are those that a shop begins with, which nobody has called theirs yet."""
        return UNREAD in self.text.splitlines()


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


class _Background:
    """Work of one kind: what is under way, or how the last of it ended.

    ``notes`` is the file that says so.
    """

    def __init__(self, notes: Path) -> None:
        self._notes = notes
        self._process: Any = None

    @property
    def under_way(self) -> bool:
        """Whether one is being made now: a process may outlive its work for a moment."""
        alive = self._process is not None and self._process.is_alive()
        return alive and self._said().get("state") == "making"

    def _begin(self, what: str, make: Callable[[Step], dict[str, Any]]) -> None:
        """Begins one, unless it is under way: ``make`` says at its end what is to be noted."""
        if self.under_way:
            return
        _note(self._notes, {"state": "making", "done": 0, "whole": 0, "what": ""})
        context = multiprocessing.get_context("spawn")
        given = self._notes, what, make
        self._process = context.Process(target=_work, args=given, name=what)
        self._process.start()

    def stop(self) -> None:
        """Ends it; what was finished stays."""
        if not self.under_way:
            return
        process, self._process = self._process, None
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
        said = self._said()
        if said.get("state") == "making" and not self.under_way:
            said = self._said()  # it may have ended just now
            return {**said, "state": "broken off"} if said.get("state") == "making" else said
        return said

    def _said(self) -> dict[str, Any]:
        try:
            said: dict[str, Any] = json.loads(self._notes.read_bytes())
        except (OSError, ValueError):
            return {"state": "none"}
        return said


class Releasing(_Background):
    """The releases of one season."""

    def __init__(self, season: Path, out: Path, notes: Path) -> None:
        super().__init__(notes)
        self._season, self._out = season, out

    def begin(self, at: str, *, pictures: bool, only: Sequence[str] | None = None) -> None:
        """Begins one, of the sets of these names or of all, unless one is under way; ``at`` is the
        time for the record (ISO 8601)."""
        self._begin("the release", partial(_release, self._season, self._out, at, pictures, only))


class Ordering(_Background):
    """The orders that are made at a season's desk."""

    def __init__(self, out: Path, notes: Path) -> None:
        super().__init__(notes)
        self._out = out

    def begin(self, form: Path, at: str) -> None:
        """Has the orders of a form made, unless some are; ``at`` is the time of files in zips."""
        self._begin("the orders", partial(_order, form, self._out, at))


def _note(notes: Path, said: dict[str, Any]) -> None:
    write_whole(notes, json.dumps(said, ensure_ascii=False).encode(), private=True)


def _work(notes: Path, what: str, make: Callable[[Step], dict[str, Any]]) -> None:
    """Makes something, and says how far it is; a process's task."""
    if hasattr(os, "setpgrp"):
        os.setpgrp()  # so that its helpers can be ended with it
    end_with_parent()
    signal.signal(signal.SIGINT, signal.SIG_IGN)
    last = 0.0

    def step(done: int, whole: int, at: str) -> None:
        nonlocal last
        if (now := time.monotonic()) - last >= _EVERY_SECONDS:
            last = now
            _note(notes, {"state": "making", "done": done, "whole": whole, "what": at})

    try:
        with not_ended_twice(what):
            said = {"state": "done", **make(step)}
    except UserError as problem:
        said = {"state": "failed", "problem": str(problem)}
    except Exception as problem:
        said = {"state": "failed", "problem": f"leafset failed: {problem!r}"}
    _note(notes, said)


def _release(
    season: Path, out: Path, at: str, pictures: bool, only: Sequence[str] | None, step: Step
) -> dict[str, Any]:
    made = publish_season(season, out, at=at, only=only, pictures=pictures, step=step)
    return {
        "out": [[one.key, one.name, one.state] for one in made.results if one.out],
        "held": [[one.key, one.why] for one in made.results if not one.out],
        "without_pictures": [list(one) for one in made.without_pictures],
        "advice": list(made.advice),
    }


def _order(form: Path, out: Path, at: str, step: Step) -> dict[str, Any]:
    """Makes orders; notes no number of one, and of what is wrong with rows what the form's are."""
    refused: list[str] = []

    def told(one: UserError) -> None:
        where = form.name if one.where == str(form) else one.where
        refused.append(str(UserError(where, one.what, one.remedy, line=one.line, field=one.field)))

    made = make_orders(form, out, at=at, told=told, step=step)
    counts = {state.value: sum(one.state is state for one in made) for state in OrderState}
    return {
        "form": form.name,
        "counts": {name: count for name, count in counts.items() if count},
        "refused": refused,
        "not_passed": designs_not_passed(form),
    }
