"""``make attack``: all attacks for a stated time, and one table of what they did.

Each has a share of the time. What an input failed with is kept in ``tests/failures/attack`` for a
look; once mended, the smallest such input belongs into ``tests/attack/cases``.
"""

from __future__ import annotations

import argparse
import hashlib
import sys
import tempfile
import time
from collections.abc import Callable
from concurrent.futures import ProcessPoolExecutor
from pathlib import Path

from tests.attack import crowd, cutter, killer
from tests.attack.fuzzer import KINDS, MEGABYTES, SECONDS, Tally, inputs, try_all, workspace
from tests.conftest import HERE

FAILURES = HERE / "failures" / "attack"
Row = tuple[str, str, str, int]
"""What was attacked, how often, what was seen, and how many faults there were."""
_CROWD = 0.07
"""The share of the time that the crowd has."""


def fuzzed(folder: Path, seconds: float, seed: int) -> tuple[list[Row], list[str]]:
    """Inputs of all kinds in turn for so many seconds."""
    shop, until = workspace(folder), time.monotonic() + seconds
    tallies, first = {name: Tally() for name in KINDS}, seed * 1_000_000
    while time.monotonic() < until:
        for name, kind in KINDS.items():
            tallies[name].add(try_all(kind, shop, list(inputs(kind, shop, first, 120))))
        first += 120
    rows, faults = [], []
    for name, tally in tallies.items():
        for one in tally.failures:
            FAILURES.mkdir(parents=True, exist_ok=True)
            file = FAILURES / f"{name}-{hashlib.sha256(one.data).hexdigest()[:10]}"
            file.write_bytes(one.data)
            faults.append(f"{name}, {one.seed}: {one.what} ({file.name})")
        said = (
            f"{tally.right} right, {tally.refused} refused; longest {tally.worst_seconds:.1f} s,"
            f" most {tally.worst_megabytes:.0f} MB"
        )
        rows.append((f"spoilt: {name}", str(tally.tried), said, len(tally.failures)))
    return rows, faults


def killed(folder: Path, seconds: float, seed: int) -> tuple[list[Row], list[str]]:
    """Kills for so many seconds."""
    toll = killer.attack(folder, seconds, seed)
    said = f"{toll.workers} of them workers; the next runs made the same"
    return [("kills", str(toll.kills), said, len(toll.faults))], toll.faults


def cut(folder: Path, seconds: float, seed: int) -> tuple[list[Row], list[str]]:
    """Power cuts on each file system there is, for so many seconds together."""
    rows: list[Row] = []
    faults: list[str] = []
    can = [one for one in cutter.SYSTEMS if not cutter.why_not(one)]
    for system in cutter.SYSTEMS:
        if system not in can:
            rows.append((f"power cuts, {system}", "0", f"skipped: {cutter.why_not(system)}", 0))
            continue
        toll = cutter.attack(folder, system, seconds / len(can), seed)
        said = "all under a final name was whole; the next runs made the same"
        rows.append((f"power cuts, {system}", str(toll.kills), said, len(toll.faults)))
        faults += toll.faults
    return rows, faults


def crowded(folder: Path, seconds: float, seed: int) -> tuple[list[Row], list[str]]:
    """A crowd for so many seconds."""
    siege = crowd.attack(folder, seconds, seed)
    said = (
        f"{crowd.STRANGERS} at once; the maker's page {siege.median:.3f} s at the median,"
        f" {siege.slowest:.2f} s at most, {siege.megabytes:.0f} MB"
    )
    row = "connections of a crowd", str(siege.connections), said, len(siege.faults)
    return [row], siege.faults


Attack = Callable[[Path, float, int], tuple[list[Row], list[str]]]


def main() -> int:
    """Runs all attacks; gives 1 if there were faults."""
    asked = argparse.ArgumentParser(description=__doc__)
    asked.add_argument("--minutes", type=float, default=10.0)
    asked.add_argument("--seed", type=int, default=int(time.time()) % 1000)
    given = asked.parse_args()
    seconds, seed = given.minutes * 60, given.seed
    print(f"{given.minutes:g} minutes, seed {seed}", flush=True)
    done: list[tuple[list[Row], list[str]]] = []
    with tempfile.TemporaryDirectory(prefix="leafset-attack-") as place:
        folder = Path(place)
        # Two at a time; the crowd by itself, for it measures how long something takes.
        most = 1 - _CROWD
        pairs: list[tuple[Attack, float]] = [
            (fuzzed, most),
            (killed, most / 2),
            (cut, most / 2),
        ]
        with ProcessPoolExecutor(2) as both:
            begun = []
            for number, (attack, share) in enumerate(pairs):
                own = folder / str(number)
                own.mkdir()
                begun.append(both.submit(attack, own, seconds * share, seed))
            done += [one.result() for one in begun]
        done.append(crowded(folder / "crowd", seconds * _CROWD, seed))
    rows = [row for found, _ in done for row in found]
    wide = max(len(row[0]) for row in rows)
    print(f"\n{'':{wide}}  {'times':>7}  {'faults':>6}")
    for what, times, said, faults in rows:
        print(f"{what:{wide}}  {times:>7}  {faults:>6}  {said}")
    print(f"Held: {SECONDS:g} s and {MEGABYTES:g} MB an input, one line for what is refused.")
    faults_found = [fault for _, found in done for fault in found]
    for fault in faults_found[:100]:
        print(f"  {fault}")
    return 1 if faults_found else 0


if __name__ == "__main__":
    sys.exit(main())
