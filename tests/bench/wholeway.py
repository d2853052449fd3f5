"""The whole way from drawings to a shop, step by step: on one core and on two, and how it grows.

Every figure is of a process of its own, the command line as its users start it, by the clock; how
much of it one core alone must do is told by the processor time of that process and of its helpers.
"""

from __future__ import annotations

import json
import math
import os
import resource
import shutil
import subprocess
import sys
import tempfile
import time
from collections.abc import Callable, Mapping, Sequence
from pathlib import Path
from typing import NamedTuple

import pypdfium2 as pdfium

from pipeline.impose.contents import CONTENTS
from pipeline.plan import plan_season
from pipeline.proof.pictures.proofs import PROOF_DPI

ROOT = Path(__file__).parent.parent.parent
DEMO = ROOT / "seasons" / "2027-spring.toml"
MANY = """
name = "bench"
title = "Bench"
collection = "kitchen_garden"
language = {languages}
sizes = {sizes}
papers = {papers}
weeks = "begins"
[[period]]
name = "all"
{period}
[[set]]
name = "running"
title = "Running"
spreads = [{spreads}]
"""
SPREAD = '{ verso = "week-running-verso", recto = "week-running-recto", per = "week" }'

SIZES = ("a5", "a6", "half-letter", "personal", "pocket")
LANGUAGES = ("en-GB", "de", "fr", "es", "pl")
SETS: Mapping[int, tuple[int, int, int, int]] = {
    # sets: months, sizes, papers, languages
    1: (1, 1, 1, 1), 10: (1, 5, 2, 1), 100: (10, 5, 2, 1), 500: (10, 5, 2, 5),
}  # fmt: skip
LAST_DAYS = {1: "2027-01-03", 13: "2027-03-28", 53: "2028-01-02", 400: "2028-11-26"}
"""Until when so many weeks are, from Monday 28 December 2026, or 100 of which each comes 4 times:
a period has two years at most."""


class Cost(NamedTuple):
    """What a command took: seconds by the clock, of its own process and of its helpers; MB."""

    seconds: float
    own: float
    helpers: float
    peak_mb: float

    @property
    def cpu(self) -> float:
        """Seconds of processor time of all its processes."""
        return self.own + self.helpers

    @property
    def alone(self) -> float:
        """The share of it that no other core can help with."""
        return self.own / self.cpu


def run(*arguments: str | Path, cores: int = 0) -> Cost:
    """What a command of leafset costs, on so many cores or on all."""
    with tempfile.NamedTemporaryFile("r") as told:
        command = [sys.executable, "-m", "tests.bench.wholeway", told.name, *map(str, arguments)]
        held = (lambda: os.sched_setaffinity(0, range(cores))) if cores else None
        done = subprocess.run(command, cwd=ROOT, preexec_fn=held, capture_output=True, text=True)
        if done.returncode:
            raise RuntimeError(done.stderr)
        return Cost(*json.load(told))


def workspace(folder: Path) -> Path:
    """A workspace with the demo's season and collection, as passed."""
    shutil.copytree(ROOT / "templates_svg", folder / "templates_svg")
    shutil.copytree(ROOT / "seasons", folder / "seasons")
    return folder / "seasons" / DEMO.name


def many(folder: Path, sets: int) -> Path:
    """A season of so many sets of four or five weeks."""
    months, sizes, papers, languages = SETS[sets]
    period = f'months = ["2027-01", "2027-{months:02d}"]\nstep = 1'
    return _season(folder, SIZES[:sizes], ("a4", "letter")[:papers], LANGUAGES[:languages], period)


def long(folder: Path, leaves: int) -> Path:
    """A season of one set of so many weeks, and as many leaves and one."""
    period = f"from = 2026-12-28\nto = {LAST_DAYS[leaves]}"
    spreads = [SPREAD] * (4 if leaves == 400 else 1)
    return _season(folder, ("a5",), ("a4",), ("en-GB",), period, spreads)


def _season(
    folder: Path,
    sizes: Sequence[str],
    papers: Sequence[str],
    languages: Sequence[str],
    period: str,
    spreads: Sequence[str] = (SPREAD,),
) -> Path:
    path = folder / "seasons" / "bench.toml"
    lists = {"sizes": sizes, "papers": papers, "languages": languages}
    said = {name: json.dumps(list(values)) for name, values in lists.items()}
    path.write_text(MANY.format(**said, period=period, spreads=", ".join(spreads)))
    return path


def size_of(folder: Path) -> int:
    """How many bytes the PDFs in a folder are."""
    return sum(path.stat().st_size for path in folder.rglob("*.pdf"))


def steps(folder: Path, season: Path) -> None:
    """Each step of the demo season on one core and on two, from nothing and once more."""
    print(f"\nthe demo season, step by step, on this machine's {os.cpu_count()} cores")
    print(
        f"  {'':<26}{'1 core':>10}{'2 cores':>10}{'faster':>9}{'CPU, 1':>10}{'again':>10}"
        "   one costs"
    )
    made = {cores: folder / f"out-{cores}" for cores in (1, 2)}
    some = ["--only", "march/running", "--only", "april/running"]
    all_sets = len(plan_season(season).sets) * 2  # on two papers
    commands = [
        ("build", ["build"], "set", all_sets),
        ("check", ["check"], "set", all_sets),
        ("release, no pictures", ["release", "--no-pictures", *some], "set", 4),
        ("pictures", ["release", *some], "listing", 2),
        ("proof, running weeks", ["proof", "--only", "running"], "picture", 0),
    ]
    for name, (verb, *options), what, many in commands:
        costs = []
        for cores, out in made.items():
            costs.append(run(verb, season, "--out", out, *options, cores=cores))
        again = run(verb, season, "--out", made[2], *options)
        one, two = costs
        floor = ""
        if verb == "proof":
            many = sum(1 for _ in made[1].rglob("proof/*.png"))
            floor = f"; floor {pdfium_ms(made[1]):.0f} ms, pdfium's drawing of a side"
        print(
            f"  {name:<26}{one.seconds:>8.1f} s{two.seconds:>8.1f} s"
            f"{one.seconds / two.seconds:>7.2f} ×{one.cpu:>8.1f} s{again.seconds:>8.2f} s"
            f"   {1000 * one.cpu / many:.0f} ms a {what}, {many} of them{floor}",
            flush=True,
        )


def pdfium_ms(out: Path) -> float:
    """Milliseconds of the processor for pdfium's bare drawing of a side to print, as in proofs."""
    files = [path for path in out.rglob("*.pdf") if path.with_name(CONTENTS).exists()]
    sides, begun = 0, time.process_time()
    for file in files:
        with pdfium.PdfDocument(file) as document:
            for page in document:
                page.render(scale=PROOF_DPI / 72)
                sides += 1
    return 1000 * (time.process_time() - begun) / sides


def growth(
    folder: Path, name: str, make: Callable[[Path, int], Path], counts: Sequence[int]
) -> dict[int, Cost]:
    """Time and bytes of a build from nothing as it gets larger, with the exponent of each step."""
    costs: dict[int, Cost] = {}
    print(f"\n{name}: a build from nothing on all cores, and how it grows")
    print(f"  {name:>8}{'clock':>10}{'CPU':>10}{'bytes':>11}{'peak':>9}{'time ~':>9}{'bytes ~':>9}")
    before: tuple[int, float, int] | None = None
    for count in counts:
        season, out = make(folder, count), folder / f"out-{name}-{count}"
        costs[count] = cost = run("build", season, "--out", out)
        size = size_of(out)
        exponents = ""
        if before is not None:
            times = math.log(count / before[0])
            exponents = (
                f"{math.log(cost.cpu / before[1]) / times:>9.2f}"
                f"{math.log(size / before[2]) / times:>9.2f}"
            )
        print(
            f"  {count:>8}{cost.seconds:>8.1f} s{cost.cpu:>8.1f} s{size / 1e6:>8.1f} MB"
            f"{cost.peak_mb:>6.0f} MB{exponents}",
            flush=True,
        )
        before = count, cost.cpu, size
        if name == "sets" and count >= 100:
            serial = cost.alone
            sixteen = 1 / (serial + (1 - serial) / 16)
            again = run("build", season, "--out", out)
            print(
                f"  {'':>8}one process alone: {100 * serial:.1f} % of the CPU; 16 cores would be "
                f" {sixteen:.1f} times as fast; unchanged {again.seconds:.2f} s"
            )
        shutil.rmtree(out)
    return costs


def two_cores(folder: Path, sets: int, on_all: Cost) -> None:
    """How much faster two cores are than one for many sets, which all cores took so long for."""
    season = many(folder, sets)
    out = folder / "out-cores"
    one = run("build", season, "--out", out / "1", cores=1)
    two = on_all if os.cpu_count() == 2 else run("build", season, "--out", out / "2", cores=2)
    print(
        f"\n{sets} sets: one core {one.seconds:.1f} s, two {two.seconds:.1f} s, "
        f"{one.seconds / two.seconds:.2f} times as fast"
    )


def cluster(folder: Path, sets: int) -> None:
    """The same jobs on a cluster of two processes of this machine and on its own pool."""
    from distributed import LocalCluster

    season = many(folder, sets)
    pool = run("build", season, "--out", folder / "out-pool")
    with LocalCluster(  # type: ignore[no-untyped-call]
        n_workers=2, threads_per_worker=1, dashboard_address=None
    ) as machines:
        for round_ in ("first", "next"):
            out = folder / f"out-cluster-{round_}"
            cost = run("build", season, "--out", out, "--scheduler", machines.scheduler_address)
            print(
                f"{sets} sets on a cluster of two processes, {round_} run: {cost.seconds:.1f} s, "
                f"{cost.seconds / pool.seconds:.2f} of the pool's {pool.seconds:.1f} s"
            )


def at_the_desk(folder: Path, times: int) -> None:
    """What somebody waits for in the browser, measured so many times."""
    from tests.bench import bench, screen

    print("\nat the desk, in a browser, by the clock")
    season, out = workspace(folder / "desk"), folder / "desk" / "out"
    run("build", season, "--out", out)
    screen.desk(season, out, times)
    drawn = bench.workspace(folder / "watch", heavy=True, weeks=4)
    template = folder / "watch" / "templates_svg" / "bench" / "a5" / f"{bench.PAGES[0]}.svg"
    screen.watch(drawn, folder / "watch" / "out", template, times)


def main(quick: bool) -> None:
    """Prints the tables."""
    with tempfile.TemporaryDirectory(prefix="bench ") as name:
        folder = Path(name)
        season = workspace(folder)
        if not quick:
            steps(folder, season)
        costs = growth(folder, "sets", many, (1, 10) if quick else (1, 10, 100, 500))
        growth(folder, "weeks", long, (1, 53) if quick else (1, 13, 53, 400))
        if not quick:
            two_cores(folder, 100, costs[100])
        cluster(folder, 10)
        at_the_desk(folder, 2 if quick else 3)
    print(f"\nleafset --help: {run('--help').seconds:.2f} s")


def measure(target: Path) -> None:
    """Runs the command line in this process and notes down what it took."""
    begun = time.perf_counter()
    try:
        from pipeline.cli import main as command

        command()
    finally:
        own, helpers = (
            resource.getrusage(who) for who in (resource.RUSAGE_SELF, resource.RUSAGE_CHILDREN)
        )
        cost = Cost(
            time.perf_counter() - begun,
            own.ru_utime + own.ru_stime,
            helpers.ru_utime + helpers.ru_stime,
            max(own.ru_maxrss, helpers.ru_maxrss) / 1024,
        )
        target.write_text(json.dumps(cost))


if __name__ == "__main__":
    told = Path(sys.argv.pop(1))
    sys.argv[0] = "leafset"
    measure(told)
