"""A small shop, built and passed once; each test that publishes has its own copy."""

from __future__ import annotations

import shutil
from dataclasses import dataclass
from pathlib import Path

import pytest

from pipeline.app.build import make_season
from pipeline.app.release import Published, publish_season
from tests.conftest import ROOT
from tests.publish.passing import pass_sets

SEASON = """
name = "small"
title = "A small season & <b>more</b>"
collection = "kitchen_garden"
language = ["en-GB"]
sizes = ["a5"]
papers = ["a4"]
weeks = "majority"

[[period]]
name = "fortnight"
from = 2027-03-01
to = 2027-03-14

[[set]]
name = "sowing"
title = "Gärtnern & <i>säen</i>"
opening = "opening"
spreads = [
  { verso = "week-two-flap-verso", recto = "week-two-flap-recto", per = "week" },
  { verso = "sowing-list", recto = "bed-plan", per = "week" },
]

[[set]]
name = "plant-record"
title = "Plant record"
leaves = [{ recto = "plant-record-ruled", verso = "plant-record" }]
"""
LATER = "2027-02-01T10:00:00Z"


@dataclass(frozen=True)
class Shop:
    """A maker's folder: drawings, a season, and what was built from it."""

    folder: Path

    @property
    def season(self) -> Path:
        """The season file."""
        return self.folder / "seasons/small.toml"

    @property
    def out(self) -> Path:
        """The build folder."""
        return self.folder / "build"

    @property
    def release(self) -> Path:
        """Where bundles are."""
        return self.out / "small/release"

    def build(self) -> None:
        """Builds the season."""
        make_season(self.season, self.out)

    def publish(
        self, *, only: str | None = None, dry_run: bool = False, pictures: bool = False
    ) -> Published:
        """Publishes the season."""
        return publish_season(
            self.season,
            self.out,
            at=LATER,
            only=[only] if only else None,
            dry_run=dry_run,
            pictures=pictures,
        )

    def edit(self, path: str, old: str, new: str) -> None:
        """Changes a text of the maker's."""
        text = (self.folder / path).read_text("utf-8")
        assert old in text
        (self.folder / path).write_text(text.replace(old, new), "utf-8")

    def files(self) -> dict[str, tuple[int, bytes]]:
        """Every file there is: when it was written, and what is in it."""
        return {
            path.relative_to(self.folder).as_posix(): (path.stat().st_mtime_ns, path.read_bytes())
            for path in sorted(self.folder.rglob("*"))
            if path.is_file()
        }


def new_shop(folder: Path, season: str = SEASON) -> Shop:
    """A maker's folder with the demo's drawings, nothing built yet."""
    shutil.copytree(ROOT / "templates_svg", folder / "templates_svg")
    (folder / "seasons").mkdir()
    shop = Shop(folder)
    shop.season.write_text(season, "utf-8")
    return shop


@pytest.fixture(scope="session")
def ready(tmp_path_factory: pytest.TempPathFactory) -> Shop:
    """A shop whose sets are built and passed, and nothing is published. Not to be changed."""
    shop = new_shop(tmp_path_factory.mktemp("shop") / "my garden shop")
    shop.build()
    pass_sets(shop.season, shop.out)
    return shop


@pytest.fixture
def shop(ready: Shop, tmp_path: Path) -> Shop:
    """A copy of the shop that is ready to publish."""
    shutil.copytree(ready.folder, tmp_path / "my shop")
    return Shop(tmp_path / "my shop")


@pytest.fixture(scope="session")
def published(ready: Shop, tmp_path_factory: pytest.TempPathFactory) -> Shop:
    """A shop that has published everything. Not to be changed."""
    folder = tmp_path_factory.mktemp("published") / "shop"
    shutil.copytree(ready.folder, folder)
    shop = Shop(folder)
    told = shop.publish().results
    assert [one.outcome.value for one in told] == ["published"] * 2
    return shop


@pytest.fixture
def selling(published: Shop, tmp_path: Path) -> Shop:
    """A copy of the shop that has published everything."""
    shutil.copytree(published.folder, tmp_path / "my shop")
    return Shop(tmp_path / "my shop")
