"""Sound work raises nothing: seasons of many years, policies, weekdays and languages, checked.

``make sweep`` goes through all months of eight years under three week policies and three first
weekdays, three times. Ten languages, every kind of set of the demo seasons, in every size that it
is drawn for, every paper, all colours, letters as fonts or as outlines, and printers that turn
paper on its long or its short edge come by turns, such that each two values of any two of these
meet at least once.
It takes an hour and more on two cores, so it isn't one of the tests; ``--part 1/3`` is the first of
its three rounds. It ends with 1 when anything is found.
"""

from __future__ import annotations

import argparse
import itertools
import json
import shutil
import sys
import tempfile
import tomllib
from collections import Counter
from collections.abc import Iterator, Mapping
from functools import cache
from pathlib import Path
from typing import Any, NamedTuple

from pipeline.app.build import make_season
from pipeline.app.check import check_season
from pipeline.base.errors import UserError
from pipeline.plan.season import SetEntry
from tests.conftest import ROOT

YEARS = range(2024, 2032)
POLICIES = ("begins", "majority", "touches")
WEEKDAYS = ("monday", "sunday", "saturday")
LANGUAGES = ("en-GB", "de", "fr", "es", "pl", "el", "ar-EG", "hi", "ja", "en-US")
PAPERS = ("a4", "letter")
LETTERS = ("embedded", "outlines")
FLIPS = ("long", "short")
ROUNDS = 3

COLLECTIONS = ROOT / "templates_svg"
_OTHERS = ("name", "title", "language", "sizes", "papers", "weeks", "first_weekday", "text",
           "period", "set", "publish", "pictures")  # fmt: skip
"""What a season of the sweep does not take over from the demo's."""


class Kind(NamedTuple):
    """A kind of set: its collection, its entry in a season file, what else that says, its sizes."""

    collection: Path
    entry: Mapping[str, Any]
    season: Mapping[str, Any]
    sizes: tuple[str, ...]

    @property
    def name(self) -> str:
        """Its name in the season."""
        return str(self.entry["name"])

    @property
    def languages(self) -> tuple[str, ...]:
        """The languages of the sweep that its collection has labels for."""
        known = {path.stem for path in (self.collection / "labels").glob("*.toml")}
        return tuple(one for one in LANGUAGES if {one, one.partition("-")[0]} & known)

    @property
    def colours(self) -> tuple[str, ...]:
        """The sets of colours that its season makes; one without a name where it says none."""
        return tuple(self.season.get("colours", ("",)))

    @property
    def is_dated(self) -> bool:
        """Whether it is made for each period."""
        return SetEntry.model_validate(self.entry).is_dated

    @property
    def months(self) -> int:
        """How many months its periods have: those of its longest spread."""
        pers = {spread["per"] for spread in self.entry.get("spreads", ())}
        return 12 if "year" in pers else 3 if "quarter" in pers else 1


class Row(NamedTuple):
    """What one season of the sweep is made of."""

    year: int
    policy: str
    weekday: str
    language: str
    size: str
    paper: str
    letters: str
    flip: str
    colours: str
    dated: str
    undated: str


@cache
def kinds() -> Mapping[str, Kind]:
    """Every kind of set of the demo seasons that is made of other pages than the others."""
    found: dict[str, Kind] = {}
    seen: list[object] = []
    for file in sorted((ROOT / "seasons").glob("*.toml")):
        data = tomllib.loads(file.read_text("utf-8"))
        season = {key: value for key, value in data.items() if key not in _OTHERS}
        collection = COLLECTIONS / data["collection"]
        for entry in data["set"]:
            own = {key: value for key, value in entry.items() if key not in ("title", "periods")}
            pages = {key: value for key, value in own.items() if key != "name"}
            if (collection, pages, season.get("almanac")) in seen:
                continue
            seen.append((collection, pages, season.get("almanac")))
            named = SetEntry.model_validate(entry)
            drawn = {*named.templates, *named.flap_backs}
            sizes = tuple(
                folder.name
                for folder in sorted(collection.iterdir())
                if drawn <= {path.stem for path in folder.glob("*.svg")}
            )
            name = own["name"] if own["name"] not in found else f"{own['name']}-{len(found)}"
            found[name] = Kind(collection, {**own, "name": name}, season, sizes)
    return found


def choices() -> list[tuple[str, ...]]:
    """What a season of any year, policy and weekday may be made of."""
    return [
        (language, size, paper, letters, flip, colours, dated.name, undated.name)
        for dated, undated in itertools.product(kinds().values(), repeat=2)
        if dated.is_dated and not undated.is_dated and dated.collection == undated.collection
        for size in sorted({*dated.sizes} & {*undated.sizes})
        for language, paper, letters, flip, colours in itertools.product(
            dated.languages, PAPERS, LETTERS, FLIPS, dated.colours
        )
    ]


def rows() -> list[Row]:
    """What the seasons are made of: each next one has the pairs of values that were met least."""
    met: Counter[tuple[tuple[int, object], tuple[int, object]]] = Counter()
    chosen = choices()
    found: list[Row] = []
    for _ in range(ROUNDS):
        for fixed in itertools.product(YEARS, POLICIES, WEEKDAYS):
            row = max(
                (Row._make((*fixed, *rest)) for rest in chosen),
                key=lambda row: sum(1 / (1 + met[pair]) ** 12 for pair in pairs(row)),
            )
            met.update(pairs(row))
            found.append(row)
    return found


def pairs(row: Row) -> Iterator[tuple[tuple[int, object], tuple[int, object]]]:
    """Each two values of a row, with the number of what each is."""
    return itertools.combinations(enumerate(row), 2)


def season_of(row: Row) -> str:
    """The season file of a row: every month of its year, and its two kinds of sets."""
    dated, undated = kinds()[row.dated], kinds()[row.undated]
    facts = {
        **(season := {**undated.season, **dated.season}),
        "printer": {**season.get("printer", {}), "flip": row.flip},
        "name": "sweep",
        "title": f"The year {row.year}",
        "collection": dated.collection.name,
        "language": [row.language],
        "sizes": [row.size],
        "papers": [row.paper],
        "weeks": row.policy,
        "first_weekday": row.weekday,
        "text": row.letters,
        "period": [{"name": "all", "months": [f"{row.year}-01", f"{row.year}-12"],
                    "step": dated.months}],
        "set": [{**kind.entry, "title": "Sweep"} for kind in (dated, undated)],
    }  # fmt: skip
    facts.pop("colours", None)
    if row.colours:
        facts["colours"] = [row.colours]
    if named := season.get("almanac", {}).get("holidays"):
        # Feast days are the maker's to name for each language; the sweep's have none.
        facts["almanac"] = {**season["almanac"], "holidays": {row.language: [], **named}}
    return "\n".join(f"{key} = {_toml(value)}" for key, value in facts.items())


def _toml(value: Any) -> str:
    """A value as TOML writes it within a line."""
    if isinstance(value, Mapping):
        return "{" + ", ".join(f"{key} = {_toml(held)}" for key, held in value.items()) + "}"
    if isinstance(value, list):
        return "[" + ", ".join(map(_toml, value)) + "]"
    return json.dumps(value, ensure_ascii=False) if isinstance(value, str | bool) else str(value)


def main() -> int:
    asked = argparse.ArgumentParser(description=__doc__)
    asked.add_argument("--part", default="1/1", help="which share of the seasons, such as 1/3")
    part, parts = map(int, asked.parse_args().part.split("/"))
    count = alarms = 0
    with tempfile.TemporaryDirectory() as name:
        folder = Path(name)
        shutil.copytree(ROOT / "templates_svg", folder / "templates_svg")
        shutil.copytree(ROOT / "seasons", folder / "seasons")
        file = folder / "seasons" / "sweep.toml"
        swept = rows()
        for row in swept[len(swept) * (part - 1) // parts : len(swept) * part // parts]:
            file.write_text(season_of(row), "utf-8")
            try:
                count += len(make_season(file, folder / "build", cache=folder / "cache"))
                found = [
                    f"{one.set}: {one.rule}: {one.message}"
                    for one in check_season(file, folder / "build")
                ]
            except UserError as problem:
                found = [str(problem)]
            alarms += len(found)
            print(f"{count} sets, {alarms} findings: {' '.join(map(str, row))}", flush=True)
            print("".join(f"  {one}\n" for one in found[:5]), end="", flush=True)
            shutil.rmtree(folder / "build", ignore_errors=True)
    return 1 if alarms else 0


if __name__ == "__main__":
    sys.exit(main())
