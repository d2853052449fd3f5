"""What the guide to the season file shows is what the program takes."""

from __future__ import annotations

import datetime as dt
import re
from pathlib import Path

from pipeline.plan.calendar import weeks_of
from pipeline.plan.collection import load_collection
from pipeline.plan.languages import digits
from pipeline.plan.season import Limits, load_season
from pipeline.plan.sizes import load_sizes
from pipeline.plan.words import words_for

GUIDE = (Path(__file__).parents[2] / "docs" / "season-file.md").read_text(encoding="utf-8")
BLOCKS = re.findall(r"```toml\n(.*?)```", GUIDE, flags=re.DOTALL)
WHOLE, *PARTS = BLOCKS


def test_the_whole_season_is_taken(tmp_path: Path) -> None:
    path = tmp_path / "spring.toml"
    path.write_text(WHOLE, encoding="utf-8")
    assert [entry.name for entry in load_season(path).set] == ["running", "plant-record"]


def test_every_part_is_taken_in_a_season(tmp_path: Path) -> None:
    top = WHOLE[: WHOLE.index("[printer]")]
    elsewhere = ("[binder.", "[colours.")  # sizes.toml, collection.toml
    rest = [part for part in PARTS if not part.startswith(elsewhere)]
    assert len(rest) == 18
    named = [
        f'[[set]]\nname = "nested"\n{part}' if part.startswith("spreads") else part for part in rest
    ]
    path = tmp_path / "spring.toml"
    path.write_text(top + "\n".join(named), encoding="utf-8")
    season = load_season(path)
    assert [entry.name for entry in season.period] == [
        "march",
        "quarter",
        "holidays",
        *(f"season-2027-{month}" for month in ("01", "04", "07", "10")),
    ]
    assert season.limits == Limits(), "the guide shows the figures that hold unless others are set"
    assert [entry.name for entry in season.set] == [
        "running-twice",
        "two-flap-list",
        "nested",
        "weeks-undated",
        "plant-record",
        "dividers",
        "months-and-weeks",
        "sections",
    ]
    assert season.almanac is not None
    assert season.almanac.holidays == ["GB-ENG", "DE-BY"]


def test_the_colours_shown_are_taken(tmp_path: Path) -> None:
    (part,) = (part for part in PARTS if part.startswith("[colours."))
    folder = tmp_path / "templates_svg" / "shop"
    folder.mkdir(parents=True)
    (folder / "collection.toml").write_text(f'title = "Shop"\n{part}', encoding="utf-8")
    drawn = '<svg xmlns="http://www.w3.org/2000/svg"><path fill="#2d6a4f" stroke="#f3f1ea"/></svg>'
    (folder / "a5").mkdir()
    (folder / "a5" / "week.svg").write_text(drawn, encoding="utf-8")
    colours = load_collection("shop", tmp_path / "seasons" / "shop.toml").colours
    assert list(colours) == ["rust", "black"]


def test_the_users_sizes_are_taken(tmp_path: Path) -> None:
    (part,) = (part for part in PARTS if "[binder." in part)
    path = tmp_path / "sizes.toml"
    path.write_text(part, encoding="utf-8")
    sizes = load_sizes(path)
    assert sizes.binder("square").holes.centres_mm == (30, 110)
    assert sizes.binder("a5").holes.source == "measured on my punch"


def test_every_size_that_comes_with_the_program_is_named() -> None:
    sizes = load_sizes(None)
    row = {
        field: next(line for line in GUIDE.splitlines() if line.startswith(f"| `{field}`"))
        for field in ("sizes", "papers")
    }
    assert set(re.findall(r"`([a-z0-9-]+)`", row["sizes"])[1:]) == set(sizes.binders)
    assert set(re.findall(r"`([a-z0-9-]+)`", row["papers"])[1:]) == set(sizes.papers)


def test_the_policies_take_the_weeks_the_table_says() -> None:
    may = dt.date(2027, 5, 1), dt.date(2027, 5, 31)
    counts = [len(weeks_of(*may, policy, 0)) for policy in ("begins", "majority", "touches")]
    assert counts == [5, 4, 6]


def test_every_language_tag_shown_is_taken_and_does_what_the_guide_says() -> None:
    section = GUIDE[GUIDE.index("## Languages") : GUIDE.index("## Which weeks")]
    tags = re.findall(r"`\"([\w-]+-u-[\w-]+)\"`", section)
    assert len(tags) == 4
    for tag in tags:
        words_for(tag)
    assert words_for("ar-u-nu-arab").number(123) == "١٢٣" != words_for("ar").number(123)
    assert words_for("hi-u-nu-deva").number(123) == "१२३" != words_for("hi").number(123)
    assert words_for("ar-EG-u-nu-latn").number(123) == "123" != words_for("ar-EG").number(123)
    for system, shown in re.findall(r"`([a-z]+)` (\d{4})\b", section):
        assert digits(system)[:4] == shown
