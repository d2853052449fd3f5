"""What the proof finds in a set, to be pinned on its pages.

Found in a process of its own: checking a set takes seconds, and pictures must not wait for it.
"""

from __future__ import annotations

from concurrent.futures.process import BrokenProcessPool
from pathlib import Path

from pipeline.base.errors import UserError
from pipeline.base.findings import Severity
from pipeline.base.workers import Worker
from pipeline.plan import SeasonPlan, plan_season
from pipeline.proof.findings import SetFinding, findings_of


class Inspector:
    """Looks for findings in the sets of a season, one set after the other."""

    def __init__(self, season: Path) -> None:
        self.season = season
        self._worker = Worker(patient=True)

    def inspect(self, set_folder: Path) -> list[SetFinding]:
        """All findings in a built set; when it cannot be checked, that is one."""
        try:
            return self._worker.start(_findings, set_folder, self.season).result()
        except UserError as problem:
            wrong = f"cannot be checked: {problem}"
        except BrokenProcessPool:
            self._worker.close()
            wrong = "the check broke off"
        remedy = "run 'leafset check'"
        return [SetFinding("unchecked", wrong, "", remedy=remedy, milder=Severity.MUST)]

    def close(self) -> None:
        """Ends the process; a check that is under way is left unfinished."""
        self._worker.close()


_plans: dict[tuple[float, ...], SeasonPlan] = {}


def _plan(season: Path) -> SeasonPlan:
    """The season's plan, laid again when its file or the drawings have changed."""
    plan = next(iter(_plans.values()), None)
    if plan is None or _stamp(season, plan) not in _plans:
        _plans.clear()
        plan = plan_season(season)
        _plans[_stamp(season, plan)] = plan
    return plan


def _stamp(season: Path, plan: SeasonPlan) -> tuple[float, ...]:
    read = (season, *plan.collection.folder.rglob("*"))
    return tuple(path.stat().st_mtime for path in read)


def _findings(set_folder: Path, season: Path) -> list[SetFinding]:
    return list(findings_of(set_folder, _plan(season)))
