"""Where a template belongs: its collection, its binder, and the pages a season makes of it."""

from __future__ import annotations

import functools
from collections.abc import Sequence
from dataclasses import dataclass
from pathlib import Path

from pipeline.base.errors import UserError
from pipeline.plan.calendar import months_of
from pipeline.plan.collection import Collection, load_collection
from pipeline.plan.model import Binder, Side
from pipeline.plan.season import Season, load_season
from pipeline.plan.sizes import Sizes, load_sizes, users_sizes_file


@dataclass(frozen=True)
class Use:
    """A page that a season makes of a template: on which side, and what it is about.

    ``kind`` is "week", "month", "once" or "undated"; ``beside`` are the templates that share its
    days with it, itself among them; ``months`` is the most months a period has.
    """

    season: str
    name: str
    kind: str
    side: Side
    beside: tuple[str, ...]
    months: int
    languages: tuple[str, ...]
    label_fallback: str | None


@dataclass(frozen=True)
class Place:
    """What is known about a template from where its file is.

    Outside a collection ``collection`` is None and the binder, where a folder's name does not
    tell it, is None; ``uses`` is empty where no season is found. ``embedded`` tells that faces go
    into the files, as they do unless every season of the collection asks for outlines.
    """

    path: Path
    collection: Collection | None
    sizes: Sizes
    binder: Binder | None
    uses: tuple[Use, ...]
    embedded: bool

    @property
    def stem(self) -> str:
        """The name of the template in a season file."""
        return self.path.stem


class Places:
    """Finds the places of templates; each collection and its seasons are read once."""

    def __init__(self) -> None:
        self._shelf = functools.cache(_shelf)

    def of(self, path: Path) -> Place:
        """The place of a template's file; raises UserError for a broken collection."""
        folder = path.resolve().parent
        collection, seasons, sizes = self._shelf(folder.parent)
        binder = sizes.binders.get(folder.name)
        uses: list[Use] = []
        if binder is not None:
            own = [season for season in seasons if binder.name in season.sizes]
            for season in own or seasons:
                uses += _uses(season, path.stem)
        embedded = not seasons or any(season.text == "embedded" for season in seasons)
        return Place(path, collection, sizes, binder, tuple(uses), embedded)


def _shelf(folder: Path) -> tuple[Collection | None, tuple[Season, ...], Sizes]:
    """The collection in a folder, the seasons that are made of it, and the sizes that hold."""
    if not (folder / "collection.toml").is_file():
        return None, (), load_sizes(users_sizes_file(folder / "season.toml"))
    collection = load_collection(f"./{folder.name}", folder.parent / "season.toml")
    workspace = folder.parent.parent
    seasons = []
    for file in sorted((workspace / "seasons").glob("*.toml")):
        try:
            season = load_season(file)
            if load_collection(season.collection, file).folder.resolve() == folder:
                seasons.append(season)
        except UserError:
            continue  # a season's own mistakes are told when it is built
    sizes = load_sizes(users_sizes_file(workspace / "seasons" / "season.toml"))
    return collection, tuple(seasons), sizes


def _uses(season: Season, stem: str) -> list[Use]:
    months = max((len(months_of(p.first, p.last)) for p in season.period), default=0)
    found: list[Use] = []
    for entry in season.set:

        def use(kind: str, side: Side, beside: Sequence[str] = (), name: str = entry.name) -> None:
            languages = tuple(season.language)
            together = tuple(dict.fromkeys(beside or (stem,)))
            one = Use(
                season.name, name, kind, side, together, months, languages, season.label_fallback
            )
            if one not in found:
                found.append(one)

        spreads = entry.spreads or []
        for spread in spreads:
            beside = [
                name
                for other in spreads
                if other.per == spread.per
                for name in (other.verso, other.recto)
            ]
            if spread.verso == stem:
                use(spread.per, Side.VERSO, beside)
            if spread.recto == stem:
                use(spread.per, Side.RECTO, beside)
        if entry.opening == stem:
            use("once", Side.RECTO)
        if entry.closing == stem:
            use("once", Side.VERSO)
        for leaf in entry.leaves or []:
            if leaf.recto == stem:
                use("undated", Side.RECTO)
            if leaf.verso == stem:
                use("undated", Side.VERSO)
    return found
