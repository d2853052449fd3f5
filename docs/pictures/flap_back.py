"""Draws flap-back.png: a spread with its flaps open, and shut without and with an outside.

Run from the project's folder: ``python docs/pictures/flap_back.py``. All pages are the demo's.
"""

from __future__ import annotations

import shutil
import tempfile
from pathlib import Path

from PIL import Image

from pipeline.app.build import make_season
from pipeline.proof.pictures.pictures import open_set
from tests.sidebyside import save_small

DPI = 50.0
HERE = Path(__file__).parent
GARDEN = HERE.parents[1] / "templates_svg" / "kitchen_garden"
SEASON = """
name = "flaps"
title = "Flaps"
collection = "kitchen_garden"
language = ["en-GB"]
sizes = ["a5"]
papers = ["a4"]
period = [{ name = "march", month = "2027-03" }]
[[set]]
name = "plain"
spreads = [{ verso = "week-running-verso", recto = "week-running-recto", per = "week" }]
[[set]]
name = "backed"
flap_back = "flap-outside-verso"
spreads = [{ verso = "week-running-verso", recto = "week-running-recto", per = "week" }]
"""


def main() -> None:
    with tempfile.TemporaryDirectory() as name:
        collection = Path(name) / "templates_svg" / GARDEN.name
        shutil.copytree(GARDEN, collection)
        season = Path(name) / "season.toml"
        season.write_text(SEASON)
        made = {one.name: Path(name) / one.folder for one in make_season(season, Path(name))}
        shown = []
        for of_set, shut in (("plain", False), ("plain", True), ("backed", True)):
            with open_set(made[of_set], DPI) as pictures:
                shown.append(pictures.spread(1, shut=shut))
    side_by_side = Image.new("RGB", (sum(one.width for one in shown), shown[0].height))
    left = 0
    for one in shown:
        side_by_side.paste(one, (left, 0))
        left += one.width
    save_small(side_by_side, HERE / "flap-back.png")


if __name__ == "__main__":
    main()
