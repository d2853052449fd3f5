"""Sound work raises nothing: seasons of many years, policies, weekdays and languages, checked.

``make sweep`` goes through all months of eight years under three week policies and three first
weekdays, in ten languages by turns, on sizes and papers by turns; ``--part 3/24`` a share of them.
It takes hours on two cores, so it isn't one of the tests; it ends with 1 when anything is found.
"""

from __future__ import annotations

import argparse
import itertools
import shutil
import sys
import tempfile
from pathlib import Path

from pipeline.app.build import make_season
from pipeline.app.check import check_season
from tests.conftest import ROOT

YEARS = range(2024, 2032)
POLICIES = ("begins", "majority", "touches")
WEEKDAYS = ("monday", "sunday", "saturday")
LANGUAGES = ("en-GB", "de", "fr", "es", "pl", "el", "ar-EG", "hi", "ja", "en-US")
SIZES = (("kitchen_garden", "a5"), ("kitchen_garden", "personal"), ("kitchen_garden", "a6"))
PAPERS = ("a4", "letter")

SEASON = """
name = "sweep"
title = "The year {year}"
collection = "{collection}"
language = ["{language}"]
sizes = ["{size}"]
papers = ["{paper}"]
weeks = "{policy}"
first_weekday = "{weekday}"

{periods}
[[set]]
name = "running"
spreads = [{{ verso = "week-running-verso", recto = "week-running-recto", per = "week" }}]
"""


def seasons() -> list[str]:
    """The season files, the last five facts of each by turns."""
    found = []
    turns = itertools.product(YEARS, POLICIES, WEEKDAYS)
    for number, (year, policy, weekday) in enumerate(turns):
        collection, size = SIZES[number % len(SIZES)]
        months = range(1, 13)
        periods = "".join(
            f'[[period]]\nname = "m{month:02d}"\nmonth = "{year}-{month:02d}"\n' for month in months
        )
        found.append(
            SEASON.format(
                year=year,
                policy=policy,
                weekday=weekday,
                language=LANGUAGES[number % len(LANGUAGES)],
                collection=collection,
                size=size,
                paper=PAPERS[number // 3 % len(PAPERS)],
                periods=periods,
            )
        )
    return found


def main() -> int:
    asked = argparse.ArgumentParser(description=__doc__)
    asked.add_argument("--part", default="1/1", help="which share of the seasons, such as 3/24")
    part, parts = map(int, asked.parse_args().part.split("/"))
    count = alarms = 0
    with tempfile.TemporaryDirectory() as name:
        folder = Path(name)
        shutil.copytree(ROOT / "templates_svg", folder / "templates_svg")
        (folder / "seasons").mkdir()
        file = folder / "seasons" / "sweep.toml"
        for text in seasons()[part - 1 :: parts]:
            file.write_text(text, "utf-8")
            made = make_season(file, folder / "build", cache=folder / "cache")
            found = check_season(file, folder / "build")
            count, alarms = count + len(made), alarms + len(found)
            print(f"{count} sets, {alarms} findings", flush=True)
            for one in found[:5]:
                print(f"  {one.set}: {one.rule}: {one.message}")
            shutil.rmtree(folder / "build")
    return 1 if alarms else 0


if __name__ == "__main__":
    sys.exit(main())
