"""Kills: builds, releases and passings ended at any moment, and their workers one by one.

After each, whatever has its final name must be whole, no record may be lost, nothing half-written
and no process may outlive the next run; and the next run must make the same as one that was never
disturbed.
"""

from __future__ import annotations

import os
import random
import shutil
import signal
import time
import traceback
from contextlib import suppress
from dataclasses import dataclass, field
from pathlib import Path

from pipeline.app.build import make_season
from pipeline.app.buildrecord import unchanged
from pipeline.app.release import publish_season
from pipeline.base.cache import CACHE, clean
from pipeline.base.errors import UserError
from pipeline.base.folders import clear_leftovers
from pipeline.impose.contents import CONTENTS, file_note, read_contents
from pipeline.proof.approval.passed import pass_file, read_pass_file
from pipeline.publish.releasepage import SUMS
from pipeline.publish.releases import read_releases, release_file
from tests.attack.fuzzer import workspace
from tests.conftest import SMALL
from tests.publish.passing import pass_sets

NOTES = """
[[set]]
name = "notes"
title = "Notes"
leaves = [{ recto = "notes", verso = "plain-list" }]
"""
SEASON = SMALL.replace("kitchen_garden", "plot").replace(
    'month = "2027-03"', "from = 2027-03-01\nto = 2027-03-14"
)
SEASON += NOTES
SETS = 2
AT = "2027-01-05T09:00:00Z"


@dataclass
class Toll:
    """What many kills cost."""

    kills: int = 0
    workers: int = 0
    faults: list[str] = field(default_factory=list)


class Shop:
    """A small shop whose season was built, passed and released once, and what that gave."""

    def __init__(self, folder: Path, said: Path, like: Path | None = None) -> None:
        if like is not None:
            shutil.copytree(like, folder)
        self.folder = workspace(folder, SEASON)
        self.season = folder / "seasons" / "small.toml"
        self.out = folder / "build"
        self.said = said
        pass_sets(self.season, self.out)
        if wrong := self.run("release"):
            raise RuntimeError(wrong)
        self.right = self.state()

    def start(self, command: str) -> int:
        """Starts a command on the season in a process of its own, which has all that it needs."""
        process = os.fork()
        if process:
            return process
        status = 3
        with suppress(BaseException), self.said.open("a", encoding="utf-8") as said:
            os.setsid()
            try:
                self._do(command)
                status = 0
            except UserError as problem:
                print(problem, file=said)
                status = 2
            except BaseException:
                traceback.print_exc(file=said)
        os._exit(status)

    def _do(self, command: str) -> None:
        clear_leftovers(self.out)
        clear_leftovers(self.season.parent, below=False)
        if command == "build":
            if unchanged(self.season, self.out) is None:
                make_season(self.season, self.out, cache=self.out / CACHE)
        elif command == "build afresh":
            clean(self.out / CACHE)
            make_season(self.season, self.out, cache=self.out / CACHE, afresh=True)
        elif command == "release":
            publish_season(self.season, self.out, at=AT, pictures=False)
        else:
            pass_sets(self.season, self.out)

    def run(self, command: str) -> str:
        """Runs a command to its end; gives what it said wrong."""
        self.said.write_bytes(b"")
        _, status = os.waitpid(self.start(command), 0)
        return "" if status == 0 else self.said.read_text("utf-8")

    def state(self) -> dict[str, bytes]:
        """Every print file and every file of a bundle there is, by its place."""
        found = {}
        for path in sorted((self.out / "small").rglob("*")):
            if path.is_file() and path.suffix in (".pdf", ".zip", ".html"):
                found[path.relative_to(self.out).as_posix()] = path.read_bytes()
        return found

    def spoil(self, chance: random.Random) -> None:
        """Takes away some sets and bundles, so that there is work to do."""
        made = [*(self.out / "small").glob("*/*/a5-*"), *(self.out / "small/release").glob("*-v1")]
        for path in chance.sample(sorted(made), min(3, len(made))):
            shutil.rmtree(path)
        if chance.random() < 0.3:
            shutil.rmtree(self.out / ".passed", ignore_errors=True)

    def faults(self) -> list[str]:
        """What is half-written under a final name, and records that are not whole."""
        found = []
        for table in (self.out / "small").glob(f"*/*/*/{CONTENTS}"):
            try:
                for file in read_contents(table.parent).files:
                    path = table.parent / file.name
                    data = path.read_bytes() if path.exists() else b""
                    if file_note(file.name, data, file.pages) != file:
                        found.append(f"{path} is not what its table says")
            except UserError as problem:
                found.append(f"{table} is broken: {problem}")
        for path in (self.out / "small").rglob("*"):
            whole = path.is_dir() or path.stat().st_size or path.name == SUMS  # of no bundles
            if not whole and ".new-" not in str(path):
                found.append(f"{path} is empty")
        for path in (self.out / "small" / "release").glob("*/*.zip"):
            if path.name in self.zips and path.read_bytes() != self.zips[path.name]:
                found.append(f"{path} is another zip")
        for path in (self.out / ".passed").glob("[!.]*"):
            if path.suffix == ".png" and not path.read_bytes().endswith(b"IEND\xaeB`\x82"):
                found.append(f"{path} is half a picture")
        try:
            if len(read_pass_file(pass_file(self.season)).sets) != SETS:
                found.append("a record of what was passed is lost")
            if len(read_releases(release_file(self.season)).sets) != SETS:
                found.append("a record of a release is lost")
        except UserError as problem:
            found.append(f"a record is broken: {problem}")
        return found

    @property
    def zips(self) -> dict[str, bytes]:
        """The zips as they were, by their names."""
        return {Path(name).name: data for name, data in self.right.items() if name[-4:] == ".zip"}


def descendants(process: int) -> list[int]:
    """All processes that a process started, and those that these did."""
    parents: dict[int, list[int]] = {}
    for path in Path("/proc").glob("[0-9]*/stat"):
        with suppress(OSError, ValueError):
            fields = path.read_text().rpartition(")")[2].split()
            if fields[0] != "Z":
                parents.setdefault(int(fields[1]), []).append(int(path.parent.name))
    found, left = [], [process]
    while left:
        children = parents.get(left.pop(), [])
        found += children
        left += children
    return found


COMMANDS = ("build", "build afresh", "release", "pass")


def attack(folder: Path, seconds: float, seed: int = 0, like: Path | None = None) -> Toll:
    """Kills for so many seconds, at least once, in a shop that may be ``like`` another."""
    shop, toll, chance = Shop(folder / "shop", folder / "said", like), Toll(), random.Random(seed)
    until = time.monotonic() + seconds
    while not toll.kills or time.monotonic() < until:
        shop.spoil(chance)
        _kill(shop, toll, chance, chance.choice(COMMANDS))
        toll.faults += shop.faults()
        if toll.kills % 10 == 0:
            recover(shop, toll)
    recover(shop, toll)
    return toll


def _kill(shop: Shop, toll: Toll, chance: random.Random, command: str) -> None:
    shop.said.write_bytes(b"")
    process = shop.start(command)
    time.sleep(chance.uniform(0.0, 1.5))
    children = descendants(process)
    toll.kills += 1
    if children and chance.random() < 0.3:
        with suppress(ProcessLookupError):
            os.kill(chance.choice(children), signal.SIGKILL)
        toll.workers += 1
    else:
        with suppress(ProcessLookupError):
            os.kill(process, chance.choice((signal.SIGKILL, signal.SIGTERM)))
    os.waitpid(process, 0)
    if "Traceback" in (said := shop.said.read_text("utf-8")):
        toll.faults.append(f"a traceback: {said[-300:]}")
    until = time.monotonic() + 5
    while (left := [one for one in children if _lives(one)]) and time.monotonic() < until:
        time.sleep(0.01)
    if left:
        toll.faults.append(f"{len(left)} processes outlived the program")


def _lives(process: int) -> bool:
    try:
        return Path(f"/proc/{process}/stat").read_text().rpartition(")")[2].split()[0] != "Z"
    except OSError:
        return False


def recover(shop: Shop, toll: Toll) -> None:
    """The next runs make the very same as before, and leave nothing behind."""
    for command in ("build", "pass", "release"):
        if said := shop.run(command):
            toll.faults.append(f"{command} after kills: {said[-300:]}")
    now = shop.state()
    lost = [name for name in shop.right if now.get(name) != shop.right[name]]
    toll.faults += [f"{name} is not as it was" for name in lost]
    left = [path for path in shop.folder.rglob(".*.new-*") if ".cache" not in path.parts]
    toll.faults += [f"{path} is left behind" for path in left]
