"""A small season built once, and a copy of it with a desk of its own for each test."""

from __future__ import annotations

import re
import shutil
import signal
import subprocess
import sys
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from pathlib import Path

import pytest
from axe_playwright_python.sync_playwright import Axe
from playwright.sync_api import Page

from pipeline.app.build import make_season
from pipeline.desk.picturestore import FOLDER, PictureStore
from pipeline.impose.contents import edition_digest
from pipeline.proof.approval.fingerprints import prints_of
from tests.conftest import ROOT

SEASON = """
name = "small"
title = "A <b>small</b> season"
collection = "kitchen_garden"
language = ["en-GB"]
sizes = ["a5"]
papers = ["a4", "letter"]
weeks = "majority"

[[period]]
name = "march"
month = "2027-03"

[[set]]
name = "sowing"
title = "Weeks & lists <script>document.title = 'broken in'</script>"
opening = "opening"
closing = "closing"
spreads = [
  { verso = "week-two-flap-verso", recto = "week-two-flap-recto", per = "week" },
  { verso = "sowing-list", recto = "bed-plan", per = "week" },
]
"""
SET = "march/sowing/a5-a4-en-GB"


@dataclass(frozen=True)
class Shop:
    """An illustrator's folder: drawings, a season, and what was built from them."""

    folder: Path

    @property
    def season(self) -> Path:
        """The season file."""
        return self.folder / "seasons" / "small.toml"

    @property
    def out(self) -> Path:
        """The build folder."""
        return self.folder / "build"

    @property
    def set_folder(self) -> Path:
        """The set most tests look at."""
        return self.out / "small" / SET

    @property
    def record(self) -> Path:
        """Where it is written what was passed."""
        return self.folder / "seasons" / "small.passed.json"

    def build(self) -> None:
        """Builds the season; what did not change is not made again."""
        make_season(self.season, self.out, cache=self.out / ".cache")

    def say(self, label: str, text: str) -> None:
        """Has a label say something else."""
        labels = self.folder / "templates_svg" / "kitchen_garden" / "labels" / "en.toml"
        old = labels.read_text("utf-8")
        new = re.sub(rf"(?m)^{label} = .*$", f"{label} = {text!r}", old)
        assert new != old
        labels.write_text(new, "utf-8")


@pytest.fixture(autouse=True)
def all_cores(every_core: None) -> None:
    """A desk, what it does in the background and a browser run side by side."""


def built_shop(folder: Path, season: str) -> Shop:
    """An illustrator's folder with a season that is built."""
    shop = Shop(folder)
    shutil.copytree(ROOT / "templates_svg", shop.folder / "templates_svg")
    shop.season.parent.mkdir()
    shop.season.write_text(season, "utf-8")
    shop.build()
    # Fingerprints are known by what the files hold, so a copy's desk finds them taken already.
    renders = PictureStore(shop.out / FOLDER / shop.season.stem)
    for contents in shop.out.glob("small/*/*/*/contents.json"):
        folder = contents.parent
        prints_of(folder, renders.path(edition_digest(folder), "prints.json"))
    return shop


@pytest.fixture(scope="session")
def built(tmp_path_factory: pytest.TempPathFactory) -> Shop:
    """The small season, built; not to be changed."""
    return built_shop(tmp_path_factory.mktemp("desk"), SEASON)


@pytest.fixture
def shop(built: Shop, tmp_path: Path) -> Shop:
    """A copy of the built season, for a test to change."""
    return copied(built, tmp_path)


def copied(shop: Shop, folder: Path) -> Shop:
    """The same shop in a folder, for a test to change."""
    copy = Shop(folder / "my shop")
    shutil.copytree(shop.folder, copy.folder)
    return copy


WIDTHS = (1280, 1440, 390)


def is_accessible(page: Page, widths: Sequence[int] = WIDTHS) -> None:
    """No rule of WCAG's that a machine can try is broken, at any width; nothing lies outside."""
    for width in widths:
        page.set_viewport_size({"width": width, "height": 800})
        found = Axe().run(page)
        assert found.violations_count == 0, found.generate_report()
        assert page.evaluate("document.documentElement.scrollWidth") <= width
    page.set_viewport_size({"width": 1280, "height": 800})


@dataclass(frozen=True)
class Running:
    """A desk that was opened from the command line."""

    address: str
    process: subprocess.Popen[str]

    @property
    def base(self) -> str:
        """Its address without the token."""
        return self.address.partition("/#")[0]


def heed_ctrl_c() -> None:
    """A test run started in a shell's background hands on that Ctrl-C is to be ignored."""
    signal.signal(signal.SIGINT, signal.SIG_DFL)


def open_desk(shop: Shop, command: str = "desk") -> Running:
    """Opens a desk on a free port, as a user would, but without a browser.

    ``command`` may be "watch" as well, which makes the season meanwhile.
    """
    return opened_by([command, str(shop.season), "--out", str(shop.out)], ROOT)


def opened_by(arguments: list[str], folder: Path) -> Running:
    """Opens what a command opens in a folder, on a free port and without a browser."""
    process = subprocess.Popen(
        [sys.executable, "-m", "pipeline.cli", *arguments, "--no-browser"],
        cwd=folder,
        stdout=subprocess.PIPE,
        stderr=subprocess.STDOUT,
        text=True,
        start_new_session=True,
        preexec_fn=heed_ctrl_c,
    )
    assert process.stdout is not None
    line = process.stdout.readline()
    found = re.search(r"http://\S+", line)
    assert found, line + process.stdout.read()
    return Running(found.group(), process)


def close_desk(running: Running) -> str:
    """Ctrl-C; gives what the desk said at the end."""
    running.process.send_signal(signal.SIGINT)
    said, _ = running.process.communicate(timeout=60)  # it ends what it is at first
    return said


@pytest.fixture
def desk(shop: Shop) -> Iterator[Running]:
    """A desk on the copy."""
    running = open_desk(shop)
    yield running
    if running.process.poll() is None:
        close_desk(running)
