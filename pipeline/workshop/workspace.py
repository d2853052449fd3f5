"""Workspaces: folders with seasons and drawings in them, found or begun."""

from __future__ import annotations

import datetime as dt
import json
import re
import shutil
import sys
import urllib.request
from collections.abc import Sequence
from contextlib import suppress
from dataclasses import dataclass
from pathlib import Path

from pipeline.base.errors import UserError
from pipeline.base.folders import write_whole
from pipeline.drawings.starters.starter import new_workspace
from pipeline.plan.calendar import month_end
from pipeline.plan.sizes import load_sizes

SEASONS, COLLECTIONS, BUILD = "seasons", "templates_svg", "build"


@dataclass(frozen=True)
class Workspace:
    """A folder that has seasons and collections in it."""

    folder: Path

    @property
    def title(self) -> str:
        """What it is called: the first heading of its README.md, or else its folder's name."""
        with suppress(OSError, UnicodeError):
            for line in (self.folder / "README.md").read_text("utf-8").splitlines():
                if line.startswith("# "):
                    return line.removeprefix("# ").strip()
        return self.folder.name

    @property
    def out(self) -> Path:
        """The build folder."""
        return self.folder / BUILD

    @property
    def seasons(self) -> dict[str, Path]:
        """Its season files by their names, in the order of those."""
        files = sorted((self.folder / SEASONS).glob("*.toml"))
        return {file.stem: file for file in files if not file.name.startswith(".")}


def is_workspace(folder: Path) -> bool:
    """Whether a folder has seasons and collections in it."""
    return (folder / SEASONS).is_dir() and (folder / COLLECTIONS).is_dir()


def workspaces_at(place: Path) -> list[Workspace]:
    """The workspace that a folder lies in, or else all that lie in the folder."""
    place = place.resolve()
    around = next((one for one in (place, *place.parents) if is_workspace(one)), None)
    if around is not None:
        return [Workspace(around)]
    try:
        within = sorted(one for one in place.iterdir() if one.name[0] != "." and is_workspace(one))
    except OSError:
        within = []
    return [Workspace(one) for one in within]


def folder_name(title: str) -> str:
    """A folder's name for what a maker calls a shop.

    >>> folder_name("Anna's paper & pen")
    'annas-paper-pen'
    """
    plain = title.lower().replace("'", "").replace("’", "")
    return re.sub(r"[^a-z0-9]+", "-", plain).strip("-")[:60]


def folder_for(place: Path, title: str) -> Path:
    """Where a workspace of that title is to be. Raises UserError for a title no folder can have."""
    if not (name := folder_name(title)):
        what = "has no letter from a to z and no figure, which its folder needs"
        raise UserError(f"the name '{title}'", what, "put one into it")
    return place / name


def begin(
    folder: Path,
    title: str,
    binders: Sequence[str],
    papers: Sequence[str],
    languages: Sequence[str],
    first_weekday: str | None,
    today: dt.date,
    season: str = "",
    first: dt.date | None = None,
    months: int = 1,
) -> list[Path]:
    """Makes a folder a workspace, with a season that builds at once; its files.

    The season has so many ``months`` (1 to 12) from the ``first`` on, the coming one where none is
    given, each a period of its own. ``season`` is its title, the workspace's where it is left out.
    Raises UserError when it is there already, or a binder, paper or language isn't known.
    """
    sizes = load_sizes(None)
    return new_workspace(
        folder,
        [sizes.binder(one) for one in binders],
        first or coming_month(today),
        papers=[sizes.paper(one).name for one in papers],
        languages=languages,
        first_weekday=first_weekday,
        title=title,
        season=season,
        command="leafset" if shutil.which("leafset") else f'"{sys.executable}" -m pipeline.cli',
        months=months,
    )


def coming_month(today: dt.date) -> dt.date:
    """The first day of the next month that begins."""
    return month_end(today) + dt.timedelta(days=1)


NOTES = ".workshop"
"""In the build folder: what is known of work in the background."""
OPEN = "open.json"
"""Among the notes: the address of the desk that is open on the workspace."""


def note_address(workspace: Workspace, address: str) -> None:
    """Notes the address of a desk, for nobody but who runs it: the token is part of it."""
    note = workspace.out / NOTES / OPEN
    with suppress(UserError):
        write_whole(note, json.dumps({"address": address}).encode(), private=True)


def forget_address(workspace: Workspace) -> None:
    """Its desk is closed."""
    with suppress(OSError):
        (workspace.out / NOTES / OPEN).unlink()


def open_address(workspace: Workspace) -> str:
    """The address of the desk that is open on a workspace, if it answers; "" for none."""
    direct = urllib.request.build_opener(urllib.request.ProxyHandler({}))
    try:
        noted = json.loads((workspace.out / NOTES / OPEN).read_bytes())
        address = str(noted["address"])
        base = address.partition("#")[0]
        if not base.startswith("http://127.0.0.1:"):
            return ""
        with direct.open(f"{base}static/desk.svg", timeout=2) as answer:
            is_ours = answer.headers.get("Content-Type", "").startswith("image/svg")
    except (OSError, ValueError, KeyError, TypeError):
        return ""
    return address if is_ours else ""
