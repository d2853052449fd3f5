"""Workspaces: folders with seasons and drawings in them, found or begun."""

from __future__ import annotations

import datetime as dt
import re
import sys
from collections.abc import Sequence
from dataclasses import dataclass
from pathlib import Path

from pipeline.base.errors import UserError
from pipeline.drawings.starters.starter import new_workspace
from pipeline.plan.calendar import month_end
from pipeline.plan.sizes import load_sizes

SEASONS, COLLECTIONS, BUILD = "seasons", "templates_svg", "build"


@dataclass(frozen=True)
class Workspace:
    """A folder that has seasons and collections in it."""

    folder: Path

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


def begin(
    place: Path,
    title: str,
    binders: Sequence[str],
    papers: Sequence[str],
    languages: Sequence[str],
    first_weekday: str | None,
    today: dt.date,
) -> Workspace:
    """Makes a workspace in a folder, with a season of the coming month that builds at once.

    Raises UserError when there is one of that name, or a binder, paper or language isn't known.
    """
    sizes, name = load_sizes(None), folder_name(title)
    if not name:
        what = "has no letter from a to z and no figure, which its folder needs"
        raise UserError(f"the name '{title}'", what, "put one into it")
    folder = place / name
    new_workspace(
        folder,
        [sizes.binder(one) for one in binders],
        month_end(today) + dt.timedelta(days=1),
        papers=[sizes.paper(one).name for one in papers],
        languages=languages,
        first_weekday=first_weekday,
        title=title,
        command=f'"{sys.executable}" -m pipeline.cli',
    )
    return Workspace(folder)
