"""Golden pictures: what was looked at once and accepted, and every later run is held against."""

from __future__ import annotations

import fcntl
import gc
import os
import pickle
import shutil
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass
from pathlib import Path

import pytest
from PIL import Image
from playwright.sync_api import Browser, sync_playwright

from pipeline.app.build import make_season
from pipeline.app.buildrecord import FinishedSet
from pipeline.base import workers
from pipeline.proof.read.raster import RASTER_NOISE, compare
from tests.sidebyside import save_small, side_by_side
from tests.tools import tool

HERE = Path(__file__).parent
ROOT = HERE.parent
MOST_BYTES = 150_000
SAFE_FLAGS = [
    "--no-sandbox",
    "--disable-gpu",
    "--disable-quic",
    "--no-first-run",
    "--disable-background-networking",
    "--disable-component-update",
    "--disable-sync",
    "--hide-scrollbars",
    "--font-render-hinting=none",
]


@dataclass(frozen=True)
class Golden:
    """Holds pictures against those in ``folder``; failures are laid side by side in ``failures``.

    The tolerance is ``pipeline.proof.compare.RASTER_NOISE``, for the reasons given there. A name
    that has no picture yet is a failure: only ``renew`` (the option ``--renew-golden``) writes.
    """

    folder: Path
    failures: Path
    renew: bool

    def __call__(self, name: str, picture: Image.Image) -> None:
        """Fail the test unless ``picture`` is the golden picture called ``name``."""
        path = self.folder / f"{name}.png"
        failure = self.failures / f"{name}.png"
        if self.renew:
            self._renew(path, picture)
            failure.unlink(missing_ok=True)
            return
        if not path.is_file():
            pytest.fail(f"no golden picture {name}; look at it and run with --renew-golden")
        with Image.open(path) as golden:
            expected = golden.convert("RGB")
        result = compare(expected, picture, RASTER_NOISE)
        if result.same:
            failure.unlink(missing_ok=True)
            return
        failure.parent.mkdir(parents=True, exist_ok=True)
        save_small(side_by_side(expected, picture), failure)
        pytest.fail(
            f"{name}: {result.reason}; expected, actual and difference are side by side in "
            f"{failure}"
        )

    def _renew(self, path: Path, picture: Image.Image) -> None:
        """Write the picture, unless the one there is the same within the tolerance."""
        if path.is_file():
            with Image.open(path) as golden:
                if compare(golden, picture, RASTER_NOISE).same:
                    return
        path.parent.mkdir(parents=True, exist_ok=True)
        save_small(picture, path)
        size = path.stat().st_size
        if size > MOST_BYTES:
            path.unlink()
            pytest.fail(f"{path.stem}: {size} bytes, at most {MOST_BYTES} fit; use fewer dpi")


def pytest_addoption(parser: pytest.Parser) -> None:
    parser.addoption(
        "--renew-golden",
        action="store_true",
        help="write the golden pictures that have changed instead of failing on them",
    )
    parser.addoption(
        "--wide", action="store_true", help="only what is asked of every language, size and locale"
    )


def pytest_collection_modifyitems(config: pytest.Config, items: list[pytest.Item]) -> None:
    """The longest files come first, so that no core idles while another ends one of them.

    To renew golden pictures, only the tests that compare with one are run. Those marked ``wide``
    take many minutes: ``make sweep`` runs them, and them alone.
    """
    wide = bool(config.getoption("--wide"))
    items[:] = [one for one in items if (one.get_closest_marker("wide") is not None) is wide]
    if config.getoption("--renew-golden"):
        items[:] = [one for one in items if "golden" in getattr(one, "fixturenames", ())]
    places = {name: place for place, name in enumerate(LONGEST)}
    items.sort(key=lambda one: places.get(one.path.name, len(places)))


LONGEST = (
    "test_range.py",
    "test_feature_pages.py",
    "test_mutations.py",
    "test_browser.py",
    "test_watch.py",
    "test_pictures.py",
    "test_check.py",
    "test_false_alarms.py",
    "test_directions.py",
    "test_build.py",
    "test_releases.py",
    "test_bundle.py",
    "test_attack.py",
)
"""Files that take half a minute of a core and more, the longest first; some by estimate."""


_cores = workers.cores


def pytest_configure() -> None:
    """Builds and checks do not share their work out: tests have taken all cores already.

    What was drawn then stays in memory for the next, and is counted there. Tests of other
    processes take ``every_core``.
    """
    workers.cores = lambda: 1


def pytest_xdist_auto_num_workers() -> int:
    """One more than cores: tests of pages and of processes wait a good deal."""
    return _cores() + 1


@contextmanager
def on_every_core() -> Iterator[None]:
    """Takes all cores for a while, as a build does that a person asked for."""
    before, workers.cores = workers.cores, _cores
    try:
        yield
    finally:
        workers.cores = before


@pytest.fixture
def every_core() -> Iterator[None]:
    """A test that has all cores, see ``pytest_configure``."""
    with on_every_core():
        yield


def pytest_collection_finish() -> None:
    """Thousands of tests would be looked through each time Python clears its memory."""
    gc.collect()
    gc.freeze()


@pytest.fixture(scope="session")
def run_folder(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A folder that all workers of this run have in common."""
    own = tmp_path_factory.getbasetemp()
    return own.parent if "PYTEST_XDIST_WORKER" in os.environ else own


@contextmanager
def alone(folder: Path) -> Iterator[None]:
    """Waits until no other worker is at work on a folder, and keeps others waiting."""
    folder.mkdir(exist_ok=True)
    handle = os.open(folder, os.O_RDONLY)
    try:
        fcntl.flock(handle, fcntl.LOCK_EX)
        yield
    finally:
        os.close(handle)


@pytest.fixture(scope="session")
def golden(request: pytest.FixtureRequest) -> Golden:
    """``golden("sheets/two-flap-a4-1-side-1", picture)``, see ``Golden``."""
    renew = bool(request.config.getoption("--renew-golden"))
    return Golden(HERE / "golden", HERE / "failures", renew)


@dataclass(frozen=True)
class Demo:
    """The demo season: its folder, and what was said to be made. Not to be changed."""

    out: Path
    made: tuple[FinishedSet, ...]

    def folder(self, period: str, name: str, paper: str) -> Path:
        """Where a set of the demo season is."""
        return self.out / "2027-spring" / period / name / f"a5-{paper}-en-GB"


@pytest.fixture(scope="session")
def demo(run_folder: Path) -> Demo:
    """The whole demo season, every set, period and paper, made by the worker that is first."""
    out, made = run_folder / "demo", run_folder / "demo.made"
    with alone(out), on_every_core():
        if not made.exists():
            season = ROOT / "seasons" / "2027-spring.toml"
            made.write_bytes(pickle.dumps(tuple(make_season(season, out))))
        return Demo(out, pickle.loads(made.read_bytes()))


SMALL = """
name = "small"
title = "A small season"
collection = "kitchen_garden"
language = ["en-GB"]
sizes = ["a5"]
papers = ["a4"]
weeks = "majority"

[[period]]
name = "march"
month = "2027-03"

[[set]]
name = "running"
title = "Running weeks"
opening = "opening"
closing = "closing"
spreads = [{ verso = "week-running-verso", recto = "week-running-recto", per = "week" }]
"""


@pytest.fixture
def shop(tmp_path: Path) -> Path:
    """A shop's own folder (with spaces in its name) with the demo templates and a small season."""
    shop = tmp_path / "my garden shop"
    shutil.copytree(ROOT / "templates_svg", shop / "templates_svg")
    (shop / "seasons").mkdir()
    (shop / "seasons" / "small.toml").write_text(SMALL, "utf-8")
    return shop


@pytest.fixture(scope="session")
def browser() -> Iterator[Browser]:
    """A real browser without a window; one for all tests, as the library runs once a process."""
    program = tool("chromium")
    with sync_playwright() as playwright:
        browser = playwright.chromium.launch(executable_path=program, args=SAFE_FLAGS)
        yield browser
        browser.close()
