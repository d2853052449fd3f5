"""The seasons of a workspace at the desk: which are open, and what works on them."""

from __future__ import annotations

import datetime as dt
import threading
from collections.abc import Callable
from contextlib import suppress
from pathlib import Path

from pipeline.app.build import season_title
from pipeline.base.cache import CACHE, Recent
from pipeline.base.errors import UserError
from pipeline.base.folders import write_whole
from pipeline.desk.desk import Desk, Updates
from pipeline.plan import SeasonPlan, plan_season
from pipeline.plan.collection import Collection, load_collection
from pipeline.plan.season import load_season
from pipeline.plan.sets import ColourTitles
from pipeline.watch.builder import Builder, stamp_of
from pipeline.workshop.drawn import Reader
from pipeline.workshop.releasing import Ordering, Releasing
from pipeline.workshop.seasonfile import SeasonFile
from pipeline.workshop.shelf import headings_on_shelf
from pipeline.workshop.workspace import (
    NOTES,
    Workspace,
    forget_address,
    note_address,
    workspaces_at,
)

MOST_AT_WORK = 2
"""Seasons that are built whenever a drawing is saved: those that were opened last."""


GOES_ON, STOPPED = "goes on", "stopped"
"""What is noted of a build: that it is under way, or that it was stopped."""


class OpenSeason:
    """A season, its desk, and what builds it once somebody has opened it."""

    def __init__(self, workspace: Workspace, path: Path, now: Callable[[], str]) -> None:
        self.name, self.path, self.out = path.stem, path, workspace.out
        self.folder, self.shop = workspace.folder, workspace.title
        self.now = now
        self.file = SeasonFile(path)
        self.updates = Updates()
        self.desk = Desk(_title(path), {}, workspace.out, path, now, self.updates)
        self._note = workspace.out / NOTES / f"{path.stem}.building"
        notes = workspace.out / NOTES
        self.releasing = Releasing(path, workspace.out, notes / f"{path.stem}.json")
        self.ordering = Ordering(workspace.out, notes / f"{path.stem}.orders.json")
        self.reader = Reader(workspace.out)
        self.drawn = Recent(256)
        """Pictures of drawings."""
        self._builder: Builder | None = None
        self._planned: tuple[object, SeasonPlan] | None = None
        self._collection: tuple[object, Collection] | None = None
        self._lock = threading.Lock()

    @property
    def is_at_work(self) -> bool:
        """Whether it is built whenever a drawing is saved."""
        return self._builder is not None

    @property
    def is_busy(self) -> bool:
        """Whether something is being made, which goes on when nobody looks."""
        return self.releasing.under_way or self.ordering.under_way or self.is_begun

    def plan(self) -> SeasonPlan:
        """Its plan as its files are now. Raises UserError as ``plan_season`` does."""
        with self._lock:
            beside = self.path.parent.parent
            stamp = stamp_of([self.path, beside / "templates_svg", beside / "sizes.toml"])
            if self._planned is None or self._planned[0] != stamp:
                self._planned = stamp, plan_season(self.path)
            return self._planned[1]

    @property
    def collection(self) -> Collection:
        """Its drawings, without a plan of it. Raises UserError as ``load_season`` and
        ``load_collection`` do."""
        stamp = stamp_of([self.path])
        if self._collection is None or self._collection[0] != stamp:
            season = load_season(self.path)
            self._collection = stamp, load_collection(season.collection, self.path)
        return self._collection[1]

    def look(self) -> None:
        """Has its desk know the sets it asks for, unless what builds it sees to that."""
        if self._builder is None:
            season = load_season(self.path)
            folder = self.out / season.name
            colours: ColourTitles = {}
            with suppress(UserError):  # it is told where drawings are shown
                colours = self.collection.colour_titles
            self.desk.headings = headings_on_shelf(season, colours)
            self.desk.folders = {name: folder / name for name in self.desk.headings}
            self.desk.title = season_title(season)

    def begin_work(self) -> None:
        """From now on it is built, and looked through, whenever something is saved.

        What somebody stopped stays so; what is begun goes on when the program is started again.
        """
        if self._builder is None:
            self._builder = Builder(
                self.path, self.out, self.out / CACHE, None, self.desk, self.updates, self._built
            )
            if self._note.is_file() and self._note.read_text("utf-8") == STOPPED:
                self._builder.stop()
            else:
                self._noted(GOES_ON)
            self._builder.begin()
            self.desk.open()

    @property
    def is_begun(self) -> bool:
        """Whether it was being built when the program ended."""
        return self._note.is_file() and self._note.read_text("utf-8") == GOES_ON

    def stop_building(self) -> None:
        """Leaves the sets that aren't built as they are."""
        if self._builder is not None:
            self._noted(STOPPED)
            self._builder.stop()

    def go_on_building(self) -> None:
        """Builds them after all."""
        if self._builder is not None:
            self._noted(GOES_ON)
            self._builder.go_on()

    def _built(self) -> None:
        with suppress(OSError):
            self._note.unlink(missing_ok=True)

    def _noted(self, what: str) -> None:
        with suppress(UserError):  # it only tells the next start
            write_whole(self._note, what.encode())

    def end_work(self) -> None:
        """Ends that; what is being built is left unfinished, a release and orders too."""
        self.updates.close()
        if self._builder is not None:
            self._builder.close()
            self.desk.close()
            self._builder = None
        self.releasing.stop()
        self.ordering.stop()
        self.reader.close()


def _title(path: Path) -> str:
    """What a season is called, as far as its file can be read."""
    try:
        return season_title(load_season(path))
    except UserError:
        return path.stem


class Workshop:
    """A workspace at the desk, or the choice of one.

    ``place`` is the folder the program was started in; ``now`` says the time of a decision.
    """

    def __init__(self, place: Path, now: Callable[[], str]) -> None:
        self.place, self.now = place.resolve(), now
        found = workspaces_at(place)
        self.workspace: Workspace | None = found[0] if len(found) == 1 else None
        self._seasons: dict[str, OpenSeason] = {}
        self._lock = threading.Lock()
        self._address = ""

    @property
    def today(self) -> dt.date:
        """The day it is, as ``now`` says."""
        return dt.date.fromisoformat(self.now()[:10])

    @property
    def shelf(self) -> Path:
        """The folder that workspaces stand in: a new one is begun there."""
        return self.place if self.workspace is None else self.workspace.folder.parent

    @property
    def choice(self) -> list[Workspace]:
        """The workspaces that stand there side by side, one that is open among them."""
        return workspaces_at(self.shelf)

    def opened_at(self, address: str) -> None:
        """It is open at an address, which is noted so that a second start finds it."""
        self._address = address
        if self.workspace is not None:
            note_address(self.workspace, address)

    def choose(self, workspace: Workspace) -> None:
        """Opens another workspace in the place of the one that is open."""
        self.close()
        self.workspace = workspace
        self._seasons = {}
        self.opened_at(self._address)

    def season(self, name: str) -> OpenSeason:
        """A season of the workspace by its file's name. Raises KeyError for any other."""
        if self.workspace is None:
            raise KeyError(name)
        path = self.workspace.seasons[name]
        with self._lock:
            if name not in self._seasons:
                self._seasons[name] = OpenSeason(self.workspace, path, self.now)
            return self._seasons[name]

    def open(self, name: str) -> OpenSeason:
        """The same, at work from now on; of all that are only so many are."""
        one = self.season(name)
        with self._lock:
            if not one.is_at_work:
                self._seasons[name] = self._seasons.pop(name)
                one.begin_work()
            at_work = [each for each in self._seasons.values() if each.is_at_work]
            ended = [each for each in at_work[:-MOST_AT_WORK] if not each.is_busy]
            for each in ended:
                del self._seasons[each.name]
        for each in ended:
            each.end_work()
        return one

    def go_on(self) -> None:
        """Goes on with what was being built when the program ended."""
        for name in self.workspace.seasons if self.workspace else ():
            with suppress(UserError):  # it is told when the season is opened
                if self.season(name).is_begun:
                    self.open(name)

    def let_go(self) -> None:
        """Lets go of all pages that listen or wait."""
        for one in list(self._seasons.values()):
            one.updates.close()
            one.reader.close()

    def close(self) -> None:
        """Ends all work."""
        for one in list(self._seasons.values()):
            one.end_work()
        if self.workspace is not None:
            forget_address(self.workspace)
