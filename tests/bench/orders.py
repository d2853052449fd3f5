"""What invented orders cost: seconds of processor time an order, on so many cores.

    python -m tests.bench.orders --orders 1000 --cores 2

Nothing is in the cache at first. Names, months and days are invented, the same in each run, and
written nowhere but into a passing folder.
"""

from __future__ import annotations

import argparse
import csv
import os
import random
import resource
import shutil
import tempfile
import time
from collections import Counter
from pathlib import Path

from pipeline.app.orders import make_orders

ROOT = Path(__file__).parents[2]
AT = "2026-11-30T09:00:00Z"
COLUMNS = (
    "order", "season", "sets", "start", "months", "first_weekday", "size", "paper", "language",
    "colours", "days", "buyer-name", "buyer-line-1",
)  # fmt: skip
_GIVEN = ("Ada", "Ítalo", "Oðinn", "Ευγενία", "花子", "مريم", "Zoë", "Bo", "Wilhelmina", "Jūratė")
_FAMILY = ("Moss", "Fernley-Oake", "Ντάλιας", "苔野", "الحدّاد", "Thistle", "Quince", "Rúsínová")


def workspace(folder: Path) -> Path:
    """A workspace with the range's season and its pages; returns the season's file."""
    shutil.copytree(ROOT / "templates_svg/plain_days", folder / "templates_svg/plain_days")
    (folder / "seasons").mkdir()
    for path in (ROOT / "seasons").glob("2027-range*"):
        shutil.copy(path, folder / "seasons")
    return folder / "seasons/2027-range.toml"


def write_orders(file: Path, count: int, bad: int = 0) -> None:
    """Writes so many invented orders, the ``bad`` last ones with a month that there isn't."""
    chance = random.Random(2027)
    with file.open("w", encoding="utf-8", newline="") as opened:
        rows = csv.writer(opened)
        rows.writerow(COLUMNS)
        for number in range(count):
            month = 13 if number >= count - bad else chance.randint(1, 12)
            given, family = chance.choice(_GIVEN), chance.choice(_FAMILY)
            rows.writerow(
                [
                    f"{1000 + number}",
                    "seasons/2027-range.toml",
                    "weeks",
                    f"2027-{month:02}",
                    chance.choice((1, 1, 2, 3)),
                    chance.choice(("", "monday", "sunday")),
                    chance.choice(("a5", "personal")),
                    chance.choice(("letter", "a4")),
                    chance.choice(("en-GB", "de", "ar-EG")),
                    chance.choice(("as-drawn", "clay")),
                    f"{chance.randint(1, 12):02}-{chance.randint(1, 28):02} {given}, born 1987",
                    f"{given} {family}",
                    f"{given} & {chance.choice(_GIVEN)}",
                ]
            )


def _seconds() -> float:
    used = [resource.getrusage(who) for who in (resource.RUSAGE_SELF, resource.RUSAGE_CHILDREN)]
    return sum(one.ru_utime + one.ru_stime for one in used)


def main() -> None:
    """Makes orders, and all of them once more, and prints what it took."""
    asked = argparse.ArgumentParser(description=__doc__)
    asked.add_argument("--orders", type=int, default=1000)
    asked.add_argument("--cores", type=int, default=1)
    asked.add_argument("--bad", type=int, default=3)
    given = asked.parse_args()
    os.sched_setaffinity(0, sorted(os.sched_getaffinity(0))[: given.cores])
    with tempfile.TemporaryDirectory() as name:
        folder = Path(name)
        workspace(folder)
        file = folder / "orders.csv"
        write_orders(file, given.orders, given.bad)
        for run in ("first", "again"):
            begun, used = time.perf_counter(), _seconds()
            made = make_orders(file, folder / "build", at=AT)
            passed, spent = time.perf_counter() - begun, _seconds() - used
            counts = Counter(one.state.value for one in made)
            print(
                f"{run}, {given.cores} cores: {dict(counts)}, {spent:.1f} s of processors,"
                f" {spent / len(made):.3f} s an order, {passed:.1f} s by the clock",
                flush=True,
            )


if __name__ == "__main__":
    main()
