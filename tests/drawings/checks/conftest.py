"""A collection to draw faulty pages into, and looking through them."""

from __future__ import annotations

from dataclasses import dataclass
from pathlib import Path

import pytest

from pipeline.drawings.checks import DrawingFinding, check_drawings

COLLECTION = """
title = "Samples"
[flaps_mm.a5]
flapped-recto = 42
"""

SEASON = """
name = "samples"
title = "Samples"
collection = "samples"
language = ["en-GB", "de"]
sizes = ["a5"]
papers = ["a4"]

[[period]]
name = "spring"
months = ["2027-03", "2027-05"]

[[set]]
name = "weeks"
title = { en = "Weeks", de = "Wochen" }
opening = "opening"
spreads = [{ verso = "left", recto = "right", per = "week" }]

[[set]]
name = "dividers"
title = { en = "Dividers", de = "Trennblätter" }
spreads = [{ verso = "back", recto = "divider", per = "month", tab = { of = 12, reach_mm = 10 } }]
"""


@dataclass(frozen=True)
class Shelf:
    """A small collection, A5, with a season; pages are drawn in mm."""

    folder: Path

    def put(self, name: str, content: str, *, width: float = 148, height: float = 210) -> Path:
        """A page with this content, in the namespaces editors use."""
        path = self.folder / "a5" / f"{name}.svg"
        path.write_text(
            '<svg xmlns="http://www.w3.org/2000/svg" xmlns:xlink="http://www.w3.org/1999/xlink"\n'
            f'  width="{width}mm" height="{height}mm" viewBox="0 0 {width} {height}"\n'
            '  font-family="Source Sans 3" font-size="4">\n'
            f"{content}\n</svg>\n",
            "utf-8",
        )
        return path

    def look(self, name: str, content: str, **size: float) -> list[DrawingFinding]:
        """What lint says of a page with this content."""
        return check_drawings([self.put(name, content, **size)])[0]


@pytest.fixture
def shelf(tmp_path: Path) -> Shelf:
    """A workspace with the collection "samples" and a season made of it."""
    folder = tmp_path / "templates_svg" / "samples"
    (folder / "a5").mkdir(parents=True)
    (folder / "labels").mkdir()
    (folder / "collection.toml").write_text(COLLECTION.replace("flapped-recto = 42", ""), "utf-8")
    (folder / "labels" / "en.toml").write_text('sow = "sow"\npick = "pick"\n', "utf-8")
    (folder / "labels" / "de.toml").write_text('sow = "säen"\n', "utf-8")
    (tmp_path / "seasons").mkdir()
    (tmp_path / "seasons" / "samples.toml").write_text(SEASON, "utf-8")
    return Shelf(folder)


@pytest.fixture
def flapped(shelf: Shelf) -> Shelf:
    """The same with a page "flapped-recto" that has a flap 42 mm wide."""
    shelf.put("flapped-recto", "", width=190)
    (shelf.folder / "collection.toml").write_text(COLLECTION, "utf-8")
    return shelf
