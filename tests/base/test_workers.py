"""Jobs on several cores and on a cluster: the same bytes, whatever happens to a worker."""

from __future__ import annotations

import os
import signal
import subprocess
import sys
import time
from collections.abc import Iterator
from functools import partial
from pathlib import Path
from typing import Any

import pytest
from distributed import Client, LocalCluster
from typer.testing import CliRunner

from pipeline.app.build import jobs_of, make_season
from pipeline.app.jobs import run
from pipeline.app.orders import FINISHED
from pipeline.base import workers
from pipeline.base.errors import UserError
from pipeline.base.workers import PATIENCE, Worker, in_order, not_ended_twice
from pipeline.cli import app
from pipeline.plan import plan_season
from pipeline.plan.season import ORDERS
from pipeline.publish.bundle import BUYER
from tests.app.test_build import digests
from tests.bench.orders import workspace, write_orders
from tests.conftest import ROOT

pytestmark = pytest.mark.usefixtures("every_core")

MORE = """
[[period]]
name = "april"
month = "2027-04"

[[period]]
name = "may"
month = "2027-05"
"""


def later(number: int) -> int:
    """Earlier jobs take longer, so that later ones are done before them."""
    time.sleep(0.02 * (6 - number))
    return number * number


def fails(number: int) -> int:
    if number == 2:
        raise UserError("week.svg, element 'day8-name'", "no such key", "did you mean 'day1-name'?")
    return number


def test_results_come_in_order() -> None:
    assert list(in_order(later, list(range(6)))) == [0, 1, 4, 9, 16, 25]


def test_a_user_s_mistake_crosses_processes_as_one_line() -> None:
    with pytest.raises(UserError, match=r"^week\.svg, element 'day8-name': no such key; did you"):
        list(in_order(fails, [1, 2, 3]))


@pytest.fixture(scope="module")
def cluster() -> Iterator[Any]:
    with LocalCluster(  # type: ignore[no-untyped-call]
        n_workers=2,
        threads_per_worker=1,
        processes=True,
        host="127.0.0.1",
        dashboard_address=None,
    ) as local:
        yield local


def larger(shop: Path) -> Path:
    season = shop / "seasons" / "small.toml"
    text = season.read_text("utf-8")
    season.write_text(text.replace("[[set]]", MORE + "[[set]]"), "utf-8")
    return season


def made(season: Path, out: Path, **how: Any) -> dict[str, dict[str, str]]:
    lines = make_season(season, out, **how)
    return {one.folder: digests(out / one.folder) for one in lines}


def test_a_cluster_makes_the_same_bytes_even_when_a_worker_is_killed(
    shop: Path, cluster: Any
) -> None:
    season = larger(shop)
    here = made(season, shop / "here")
    assert len(here) == 3
    address = cluster.scheduler_address
    assert made(season, shop / "there", scheduler=address) == here
    with Client(address) as client:  # type: ignore[no-untyped-call]
        before = client.run(os.getpid)
    killed: list[int] = []

    def kill_one(done: int, whole: int, what: str) -> None:
        if not killed:
            killed.append(next(iter(before.values())))
            os.kill(killed[0], signal.SIGKILL)

    assert made(season, shop / "again", scheduler=address, step=kill_one) == here
    with Client(address) as client:  # type: ignore[no-untyped-call]
        client.wait_for_workers(2, timeout=30)
        assert killed[0] not in client.run(os.getpid).values()


def test_a_cluster_makes_the_same_orders(tmp_path: Path, cluster: Any) -> None:
    """From the command line, with the option that builds have; a bad row is told as ever."""
    made = list[dict[str, dict[str, str]]]()
    for name, how in (("here", []), ("there", ["--scheduler", cluster.scheduler_address])):
        workspace(tmp_path / name)
        write_orders(tmp_path / name / "orders.csv", 4, bad=1)
        out = tmp_path / name / "build"
        asked = ["order", str(tmp_path / name / "orders.csv"), "--out", str(out), *how]
        done = CliRunner().invoke(app, asked)
        assert done.exit_code == 2, "for the row that is wrong"
        assert "4 orders: 3 made, 1 refused" in done.output
        orders = sorted((out / ORDERS / FINISHED).iterdir())
        made.append({one.name: digests(one / BUYER) for one in orders})
    assert len(made[0]) == 3
    assert all(made[0].values())
    assert made[0] == made[1]


def test_what_jobs_have_in_common_is_sent_apart_from_them(shop: Path) -> None:
    plan = plan_season(larger(shop))
    jobs = [partial(run, job) for job in jobs_of(plan)]
    packed, large = zip(*(workers._packed((run, job)) for job in jobs), strict=True)
    together = {name: data for one in large for name, data in one.items()}
    assert max(map(len, packed)) < 100_000 < sum(map(len, together.values()))
    assert all(one.keys() == together.keys() for one in large)


def test_machines_with_another_leafset_get_no_jobs(
    shop: Path, cluster: Any, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(workers, "program", os.getpid)
    with pytest.raises(UserError, match=r"has another version of leafset .*; install the same"):
        make_season(larger(shop), shop / "out", scheduler=cluster.scheduler_address)
    assert not list((shop / "out").rglob("*.pdf"))


def test_a_scheduler_that_does_not_answer_is_one_line(shop: Path) -> None:
    season = larger(shop)
    with pytest.raises(UserError, match=r"--scheduler tcp://127\.0\.0\.1:1.*no scheduler answers"):
        make_season(season, shop / "out", scheduler="tcp://127.0.0.1:1")


def test_a_worker_is_one_process_until_it_is_closed() -> None:
    worker = Worker()
    try:
        first = worker.start(os.getpid).result(60)
        assert first != os.getpid()
        assert worker.start(os.getpid).result(60) == first
        worker.close()
        assert worker.start(os.getpid).result(60) not in (first, os.getpid())
    finally:
        worker.close()


def test_a_patient_worker_stands_back_and_hands_errors_on() -> None:
    worker = Worker(patient=True)
    try:
        assert worker.start(os.nice, 0).result(60) >= min(19, os.nice(0) + PATIENCE)
        with pytest.raises(ValueError, match="invalid literal"):
            worker.start(int, "ten").result(60)
    finally:
        worker.close()


def killed_once(job: tuple[int, str]) -> int:
    number, notes = job
    mark = Path(notes) / f"{number}"
    if number == 3 and not mark.exists():
        mark.touch()
        os.kill(os.getpid(), signal.SIGKILL)
    return number


def killed_always(number: int) -> int:
    if number == 3:
        os.kill(os.getpid(), signal.SIGKILL)
    return number


def test_a_job_whose_process_is_killed_is_done_once_more(
    tmp_path: Path, caplog: pytest.LogCaptureFixture
) -> None:
    jobs = [(number, str(tmp_path)) for number in range(12)]
    assert list(in_order(killed_once, jobs)) == list(range(12))
    [said] = caplog.messages
    assert said == "leafset: a process was ended from outside; what it was at is done again"


def test_one_that_ends_its_process_twice_is_one_line_and_keeps_what_is_done() -> None:
    done: list[int] = []
    results = in_order(killed_always, list(range(6)))
    with (
        pytest.raises(UserError, match=r"week 3: .* ended from outside, twice"),
        not_ended_twice("week 3"),
    ):
        done.extend(results)
    assert done == [0, 1, 2]


FAMILY = """
import os, time
from concurrent.futures import ProcessPoolExecutor
from pipeline.base.workers import Worker, end_with_parent

if __name__ == "__main__":
    pool, worker = ProcessPoolExecutor(2, initializer=end_with_parent), Worker(patient=True)
    for number in range(4):
        pool.submit(time.sleep, 60)
    processes = [worker.start(os.getpid).result(), *pool._processes]
    worker.start(time.sleep, 60)
    print(*processes, flush=True)
    time.sleep(60)
"""


def is_alive(process: int) -> bool:
    try:
        return Path(f"/proc/{process}/stat").read_text().rpartition(")")[2].split()[0] != "Z"
    except OSError:
        return False


@pytest.mark.parametrize("ended_by", [signal.SIGTERM, signal.SIGKILL])
def test_no_worker_outlives_the_program(ended_by: signal.Signals, tmp_path: Path) -> None:
    program = tmp_path / "family.py"
    program.write_text(FAMILY, "utf-8")
    with subprocess.Popen(
        [sys.executable, str(program)],
        cwd=ROOT,
        env={**os.environ, "PYTHONPATH": str(ROOT)},
        stdout=subprocess.PIPE,
        text=True,
    ) as parent:
        assert parent.stdout is not None
        children = [int(one) for one in parent.stdout.readline().split()]
        assert len(children) == 3
        assert all(map(is_alive, children))
        parent.send_signal(ended_by)
        parent.wait(10)
    until = time.monotonic() + 5
    while any(map(is_alive, children)) and time.monotonic() < until:
        time.sleep(0.02)
    assert not any(map(is_alive, children))
