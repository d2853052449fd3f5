"""Draws dividers.png: a divider on its sheet, and the set of them in a binder.

Run from the project's folder: ``python docs/pictures/dividers.py``. The pages are the starters' for
A5, on A4, a tab for each month of 2027.
"""

from __future__ import annotations

import tempfile
from pathlib import Path

from PIL import Image

from pipeline.app.build import make_season
from pipeline.drawings.starters.starter import LABELS, starter_page
from pipeline.plan.model import Side
from pipeline.plan.sizes import load_sizes
from pipeline.proof.pictures.pictures import open_set
from pipeline.proof.pictures.scene import GROUND
from tests.sidebyside import save_small

DPI = 62.0
MAY = 5
"""The leaf that is shown: the first has no month."""

SEASON = """
name = "starters"
title = "Starters"
collection = "starters"
language = ["en-GB"]
sizes = ["a5"]
papers = ["a4"]
period = [{ name = "year", months = ["2027-01", "2027-12"] }]
set = [{ name = "dividers", title = "Dividers", spreads = [
  { verso = "list", recto = "divider", per = "month", tab = { of = 12, reach_mm = 10 } } ] }]
"""


def built(folder: Path) -> Path:
    """The folder of a set of twelve dividers."""
    collection = folder / "templates_svg" / "starters"
    (collection / "a5").mkdir(parents=True)
    (collection / "labels").mkdir()
    for kind, side in (("divider", Side.RECTO), ("list", Side.VERSO)):
        page = starter_page(kind, load_sizes(None).binder("a5"), side=side)
        (collection / "a5" / f"{kind}.svg").write_bytes(page.svg)
    labels = "\n".join(f'{key} = "{word}"' for key, word in LABELS.items())
    (collection / "labels" / "en.toml").write_text(labels, "utf-8")
    (collection / "collection.toml").write_text('title = "Starters"\n', "utf-8")
    season = folder / "season.toml"
    season.write_text(SEASON, "utf-8")
    make_season(season, folder / "build")
    (made,) = (folder / "build").glob("*/*/*/*")
    return made


def main() -> None:
    with tempfile.TemporaryDirectory() as name, open_set(built(Path(name)), DPI) as pictures:
        sheet, opened = pictures.sheet(MAY, 1), pictures.view(MAY - 1, MAY)
    height = max(sheet.height, opened.height)
    board = Image.new("RGB", (sheet.width + opened.width, height), GROUND)
    board.paste(sheet, (0, (height - sheet.height) // 2))
    board.paste(opened, (sheet.width, (height - opened.height) // 2))
    save_small(board, Path(__file__).with_name("dividers.png"))


if __name__ == "__main__":
    main()
