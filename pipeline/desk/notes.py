"""What the proof finds in a set, in the few words that are pinned on a page.

Found in a process of its own: checking a set takes seconds, and pictures must not wait for it.
"""

from __future__ import annotations

import multiprocessing
import os
import signal
from concurrent.futures import ProcessPoolExecutor
from concurrent.futures.process import BrokenProcessPool
from dataclasses import dataclass
from pathlib import Path

from pipeline.base.errors import UserError
from pipeline.base.geometry import Rect
from pipeline.plan import SeasonPlan, plan_season


@dataclass(frozen=True)
class Note:
    """A finding on a page, or on none.

    ``on`` has the leaves and faces it was found on, ``place`` is in mm from the top left of the
    leaf's flat area, upright. ``where`` says what it is about when that is no page.
    """

    severity: str
    message: str
    what_to_do: str
    on: tuple[tuple[int, str], ...]
    place: Rect | None
    where: str = ""


class Inspector:
    """Looks for findings in the sets of a season, one set after the other."""

    def __init__(self, season: Path) -> None:
        self.season = season
        self._pool: ProcessPoolExecutor | None = None

    def notes_on(self, set_folder: Path) -> tuple[Note, ...]:
        """All findings in a built set; when it cannot be checked, that is one."""
        if self._pool is None:
            self._pool = ProcessPoolExecutor(
                1, multiprocessing.get_context("spawn"), initializer=_leave_interrupts_to_the_desk
            )
        try:
            return self._pool.submit(_notes_on, set_folder, self.season).result()
        except UserError as problem:
            return (Note("must", f"cannot be checked: {problem}", "", (), None),)
        except BrokenProcessPool:
            self._pool = None
            return (Note("must", "the check broke off", "run 'leafset check'", (), None),)

    def close(self) -> None:
        """Ends the process; a check that is under way is left unfinished."""
        if self._pool is not None:
            for process in list((self._pool._processes or {}).values()):
                process.terminate()
            self._pool.shutdown(wait=True, cancel_futures=True)
            self._pool = None


def _leave_interrupts_to_the_desk() -> None:
    signal.signal(signal.SIGINT, signal.SIG_IGN)
    os.nice(10)  # pictures and builds come first


_plans: dict[tuple[float, ...], SeasonPlan] = {}


def _plan(season: Path) -> SeasonPlan:
    """The season's plan, made again when its file or the drawings have changed."""
    plan = next(iter(_plans.values()), None)
    read = [season, *(plan.collection.folder.rglob("*") if plan else ())]
    stamp = tuple(path.stat().st_mtime for path in read)
    if plan is None or stamp not in _plans:
        _plans.clear()
        plan = plan_season(season)
        read = [season, *plan.collection.folder.rglob("*")]
        _plans[tuple(path.stat().st_mtime for path in read)] = plan
    return plan


def _notes_on(set_folder: Path, season: Path) -> tuple[Note, ...]:
    from pipeline.proof.findings import findings_of

    notes = []
    for one in findings_of(set_folder, _plan(season)):
        on = () if one.leaf is None or one.face is None else ((one.leaf, one.face), *one.also)
        where = "" if one.sheet is None or on else f"sheet {one.sheet}"
        if where and one.side is not None:
            where += f" side {one.side}"
        faces = tuple((leaf, face.value) for leaf, face in on)
        notes.append(Note(one.severity.value, one.message, one.what_to_do, faces, one.place, where))
    return tuple(notes)
