"""What the proof finds in a set, to be pinned on its pages.

Found in a process of its own: checking a set takes seconds, and pictures must not wait for it. So
is how each set stands: whether it is there, and is what a build now would make.
"""

from __future__ import annotations

from collections.abc import Sequence
from concurrent.futures.process import BrokenProcessPool
from pathlib import Path

from pipeline.app.buildrecord import RELEASE
from pipeline.app.check import Standing, found_in, standings, unreadable
from pipeline.app.scan import Reading, read_pictures
from pipeline.base.cache import CACHE, Cache
from pipeline.base.errors import UserError
from pipeline.base.workers import Worker
from pipeline.impose.contents import CONTENTS
from pipeline.plan import SeasonPlan
from pipeline.plan.sizes import users_sizes_file
from pipeline.proof.findings import SetFinding


class Inspector:
    """Looks for findings in the sets of a season under ``out``, one set after the other."""

    def __init__(self, season: Path, out: Path) -> None:
        self.season = season
        self.out = out
        self._worker, self._print_reader = Worker(patient=True), Worker()

    def standings(self) -> list[Standing]:
        """How each set stands now; quick where nothing has changed since it was last asked.

        Raises UserError when the season cannot be read, or nothing of it is built.
        """
        try:
            return self._worker.start(_standings, self.season, self.out).result()
        except BrokenProcessPool:
            self._worker.close()
            return []

    def inspect(self, one: Standing) -> list[SetFinding]:
        """All findings in a built set; when it cannot be checked, that is one."""
        try:
            return self._worker.start(_findings, one, self.season, self.out).result()
        except UserError as problem:
            return [unreadable(one, problem)]
        except BrokenProcessPool:
            self._worker.close()
            return [unreadable(one, RuntimeError("the reader of its files broke down"))]

    def read_prints(self, pictures: Sequence[Path]) -> Reading:
        """What photos of printed sheets say, at once. Raises UserError when one cannot be read."""
        try:
            return self._print_reader.start(read_pictures, self.season, pictures, self.out).result()
        except BrokenProcessPool as error:
            self._print_reader.close()
            raise UserError("the pictures", "can't be read", "save them smaller") from error

    def close(self) -> None:
        """Ends its processes; what is under way is left unfinished."""
        self._worker.close()
        self._print_reader.close()


Stamp = frozenset[tuple[str, int, int]]

_known: dict[Stamp, tuple[SeasonPlan, list[Standing]]] = {}


def _looked_up(season: Path, out: Path) -> tuple[SeasonPlan, list[Standing]]:
    """The season's plan and its sets, looked up again when anything they follow from changed."""
    plan = next((plan for plan, _ in _known.values()), None)
    stamp = _stamp(season, out, plan) if plan else None
    if stamp is None or stamp not in _known:
        _known.clear()
        plan, sets = standings(season, out)
        _known[_stamp(season, out, plan)] = plan, sets
    return next(iter(_known.values()))


def _stamp(season: Path, out: Path, plan: SeasonPlan) -> Stamp:
    sizes = users_sizes_file(season)
    built = out / plan.season.name
    tables = [one for one in built.glob(f"*/*/*/{CONTENTS}") if built / RELEASE not in one.parents]
    read = [season, *plan.collection.folder.rglob("*"), *tables, *([sizes] if sizes else [])]
    stats = [(str(path), path.stat()) for path in read if path.exists()]
    return frozenset((path, stat.st_mtime_ns, stat.st_size) for path, stat in stats)


def _standings(season: Path, out: Path) -> list[Standing]:
    return _looked_up(season, out)[1]


def _findings(one: Standing, season: Path, out: Path) -> list[SetFinding]:
    return found_in(one, _looked_up(season, out)[0], Cache(out / CACHE))
