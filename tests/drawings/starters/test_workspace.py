"""A new workspace builds at once, is clean, and takes the place of nothing."""

from __future__ import annotations

import calendar
import datetime as dt
import re
from pathlib import Path

import pytest
from typer.testing import CliRunner

from pipeline.app.build import make_season
from pipeline.app.check import check_season
from pipeline.base.errors import UserError
from pipeline.cli import app
from pipeline.drawings.checks import check_drawings, templates_under
from pipeline.drawings.starters.starter import new_workspace
from pipeline.plan.season import load_season
from pipeline.plan.sizes import load_sizes

MAY = dt.date(2027, 5, 1)
SIZES = load_sizes(None)


@pytest.mark.parametrize("binder", ["a5", "pocket"])
def test_it_builds_and_is_clean(tmp_path: Path, binder: str) -> None:
    folder = tmp_path / "my-shop"
    files = new_workspace(folder, [SIZES.binder(binder)], MAY)
    assert all(file.is_file() for file in files)
    assert check_drawings(templates_under(folder)) == ([], 0)
    made = make_season(folder / "seasons" / "my-shop.toml", folder / "build")
    assert {(one.period, one.name) for one in made} == {("may", "weeks")}
    every_week = len(calendar.monthcalendar(MAY.year, MAY.month))
    assert {one.spreads for one in made} == {every_week}, "no day of the month is left out"
    for one in made:
        assert (folder / "build" / one.folder / "side-1.pdf").is_file()


@pytest.mark.parametrize("month", [MAY, dt.date(2026, 12, 1)])
def test_its_files_pass_the_check(tmp_path: Path, month: dt.date) -> None:
    """Across the year's end too, where the week's and the year's day have the same figures."""
    folder = tmp_path / "my-shop"
    new_workspace(folder, [SIZES.binder("a5")], month)
    season = folder / "seasons" / "my-shop.toml"
    make_season(season, folder / "build")
    assert check_season(season, folder / "build") == []


def test_it_may_begin_with_several_months_a_period_each(tmp_path: Path) -> None:
    folder = tmp_path / "my-shop"
    new_workspace(folder, [SIZES.binder("a5")], dt.date(2026, 12, 5), months=3)
    periods = load_season(folder / "seasons" / "my-shop.toml").period
    assert [one.name for one in periods] == ["december", "january", "february"]
    assert [(one.first.year, one.first.month) for one in periods] == [
        (2026, 12), (2027, 1), (2027, 2)
    ]  # fmt: skip


def test_make_knows_its_season(tmp_path: Path) -> None:
    new_workspace(tmp_path / "x", [SIZES.binder("a5")], MAY)
    makefile = (tmp_path / "x" / "Makefile").read_text("utf-8")
    assert "SEASON ?= seasons/x.toml" in makefile
    assert all(f"\n{target}:" in makefile for target in ("drawings", "build", "check", "proof"))


def test_no_place_is_left_unfilled(tmp_path: Path) -> None:
    for file in new_workspace(tmp_path / "my-shop", [SIZES.binder("a5")], MAY):
        assert not re.search("@[A-Z]+@", file.read_text("utf-8"))


def test_a_folder_that_is_there_is_left_alone(tmp_path: Path) -> None:
    (tmp_path / "mine").mkdir()
    (tmp_path / "mine" / "note").write_text("kept")
    with pytest.raises(UserError, match="is there already"):
        new_workspace(tmp_path / "mine", [SIZES.binder("a5")], MAY)
    assert [file.name for file in (tmp_path / "mine").iterdir()] == ["note"]


@pytest.mark.parametrize("name", ["my shop", "con", "-x", "été"])
def test_a_name_that_is_no_folders(tmp_path: Path, name: str) -> None:
    with pytest.raises(UserError, match="cannot be the name of a folder"):
        new_workspace(tmp_path / name, [SIZES.binder("a5")], MAY)
    assert list(tmp_path.iterdir()) == []


def test_the_commands(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.chdir(tmp_path)
    run = CliRunner().invoke
    assert run(app, ["begin", "my-shop", "--binder", "a6"]).exit_code == 0
    page = "my-shop/templates_svg/my-shop/a6/notes.svg"
    made = run(app, ["starter", "notes", "--binder", "a6", "--side", "verso", "--out", page])
    assert made.exit_code == 0
    looked = run(app, ["check", "my-shop"])
    assert (looked.exit_code, looked.stdout) == (0, "3 pages: nothing to mend\n")
    text = Path(page).read_text("utf-8")
    Path(page).write_text(text.replace('id="label-notes"', 'id="label-nots"'), "utf-8")
    looked = run(app, ["check", page, "--json"])
    assert looked.exit_code == 1
    assert '"rule": "key"' in looked.stdout
    assert "did you mean 'label-notes'?" in looked.stdout
