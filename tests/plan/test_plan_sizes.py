"""The user's own sizes over the ones the program brings."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path

import pytest

from pipeline.plan import plan_season
from pipeline.plan.sizes import USERS_OWN, load_sizes


def _own(tmp_path: Path, text: str) -> Path:
    path = tmp_path / "sizes.toml"
    path.write_text(text)
    return path


def test_every_size_says_where_it_comes_from() -> None:
    sizes = load_sizes(None)
    sources = {s for b in sizes.binders.values() for s in (b.source, b.holes.source)}
    sources |= {paper.source for paper in sizes.papers.values()}
    assert sources == {
        "ISO 216",
        "ISO 838",
        "JIS P 0138",
        "ANSI/ASME Y14.1",
        "PWG 5101.1",
        "common practice, from memory",
        "from memory",
        "own measure",
    }


@pytest.mark.parametrize(
    ("marker", "pages"), [("a5-marker", "a5"), ("personal-marker", "personal")]
)
def test_a_marker_s_holes_are_those_of_its_binder(marker: str, pages: str) -> None:
    """Its feet are level with the pages': the rings, which are the binder's own, say where."""
    sizes = load_sizes(None)
    strip, page = sizes.binder(marker), sizes.binder(pages)
    from_foot = [[one.height_mm - at for at in one.holes.centres_mm] for one in (strip, page)]
    assert from_foot[0] == pytest.approx(from_foot[1])
    punched = [(one.holes.edge_mm, one.holes.diameter_mm) for one in (strip, page)]
    assert punched[0] == punched[1]
    assert strip.height_mm > page.height_mm
    assert strip.width_mm < page.width_mm / 2


def test_one_field_can_be_overridden_and_is_then_the_users(tmp_path: Path) -> None:
    before = load_sizes(None).binder("a5")
    after = load_sizes(_own(tmp_path, "[binder.a5.holes]\nedge_mm = 8\n")).binder("a5")
    assert after.holes.edge_mm == 8
    assert after.holes.centres_mm == before.holes.centres_mm
    assert after.holes.source == USERS_OWN
    assert (after.width_mm, after.source) == (before.width_mm, "ISO 216")


def test_a_resized_paper_does_not_keep_the_standards_name(tmp_path: Path) -> None:
    a4 = load_sizes(_own(tmp_path, "[paper.a4]\nheight_mm = 300\n")).paper("a4")
    assert (a4.media, a4.source) == ("custom_a4_210x300mm", USERS_OWN)


def test_sizes_can_be_added(tmp_path: Path) -> None:
    text = (
        '[binder.square]\ntitle = "Square"\nwidth_mm = 140\nheight_mm = 140\nsource = "my ruler"\n'
        "[binder.square.holes]\ncentres_mm = [100, 40]\nedge_mm = 8\ndiameter_mm = 5\n"
        "[paper.roll]\nwidth_mm = 200\nheight_mm = 300\n"
    )
    sizes = load_sizes(_own(tmp_path, text))
    assert sizes.binder("square").holes.centres_mm == (40, 100)
    assert sizes.binder("square").source == "my ruler"
    assert sizes.paper("roll").title == "roll"
    assert "a5" in sizes.binders


def test_the_file_is_found_beside_the_season_and_above_it(
    lay_out: Callable[[str], Path], season_text: str
) -> None:
    path = lay_out(season_text)
    above = path.parents[1] / "sizes.toml"
    above.write_text("[paper.a4]\nheight_mm = 298\n")
    assert plan_season(path).papers[1].height_mm == 298
    path.with_name("sizes.toml").write_text("[paper.a4]\nheight_mm = 299\n")
    assert plan_season(path).papers[1].height_mm == 299
