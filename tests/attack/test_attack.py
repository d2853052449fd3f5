"""A fixed share of ``make attack``, with seeds, and every input that failed once."""

from __future__ import annotations

from pathlib import Path

import pytest

from tests.attack import crowd, cutter, killer
from tests.attack.fuzzer import CASES, KINDS, Tally, inputs, try_all, workspace
from tests.conftest import alone


@pytest.fixture(scope="module")
def shop(run_folder: Path) -> Path:
    folder = run_folder / "attacked"
    with alone(run_folder / "attacked-lock"):
        return workspace(folder)


def assert_held(tally: Tally) -> None:
    assert [(one.seed, one.what) for one in tally.failures] == []
    assert tally.right + tally.refused == tally.tried


@pytest.mark.parametrize("kind", sorted(KINDS))
def test_spoilt_inputs_are_right_or_refused_in_one_line(kind: str, shop: Path) -> None:
    assert_held(try_all(KINDS[kind], shop, list(inputs(KINDS[kind], shop, 0, SHARE.get(kind, 10)))))


SHARE = {"drawing": 40, "picture": 30, "face": 30, "page": 4}
"""How many of each kind; 10 of those that take longer."""


@pytest.mark.parametrize("kind", sorted(KINDS))
def test_what_failed_once_is_held(kind: str, shop: Path) -> None:
    """The name of a case is that of the file it stands for, with a word in front of it."""
    names = {name.rpartition("/")[2]: name for name, _ in KINDS[kind].seeds(shop)}
    given = []
    for path in sorted((CASES / kind).glob("*")):
        own = path.name.partition("--")[2]
        given.append((names.get(own, path.name), path.read_bytes()))
    tally = try_all(KINDS[kind], shop, given)
    assert_held(tally)
    assert tally.tried == len(given)


@pytest.fixture(scope="module")
def released(tmp_path_factory: pytest.TempPathFactory) -> Path:
    folder = tmp_path_factory.mktemp("released")
    return killer.Shop(folder / "shop", folder / "said").folder


def test_a_kill_loses_nothing(released: Path, tmp_path: Path) -> None:
    toll = killer.attack(tmp_path, seconds=0, like=released)
    assert (toll.kills, toll.faults) == (1, [])


def test_a_power_cut_loses_nothing(released: Path, tmp_path: Path) -> None:
    if reason := cutter.why_not("ext4"):
        pytest.skip(f"power cuts: {reason}")
    toll = cutter.attack(tmp_path, "ext4", seconds=0, like=released)
    assert (toll.kills, toll.faults) == (1, [])


def test_a_crowd_keeps_nobody_out(shop: Path) -> None:
    siege = crowd.attack(shop, seconds=1)
    assert siege.faults == []
    assert len(siege.seconds) > 3
    assert siege.connections > 50
    assert siege.megabytes < 400
