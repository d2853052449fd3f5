"""Workspaces: where they are found, and what a new one is made of."""

from __future__ import annotations

import datetime as dt
import os
import shutil
import subprocess
import tomllib
from pathlib import Path

import pytest

from pipeline.app.build import make_season
from pipeline.app.check import check_season
from pipeline.base.errors import UserError
from pipeline.drawings.starters.starter import OPENERS
from pipeline.workshop.workspace import Workspace, begin, workspaces_at

TODAY = dt.date(2026, 12, 12)


def begun(
    place: Path, title: str = "Anna’s paper", languages: tuple[str, ...] = ("en-GB",)
) -> Path:
    return begin(place, title, ["a5", "personal"], ["a4"], languages, "sunday", TODAY).folder


def test_what_is_begun_builds_and_nothing_is_found_in_it(tmp_path: Path) -> None:
    workspace = Workspace(begun(tmp_path, languages=("en-GB", "de", "pl")))
    [season] = workspace.seasons.values()
    said = tomllib.loads(season.read_text("utf-8"))
    assert said["title"] == "Anna’s paper"
    assert said["language"] == ["en-GB", "de", "pl"]
    assert said["sizes"] == ["a5", "personal"]
    assert said["first_weekday"] == "sunday"
    assert said["period"] == [{"name": "january", "month": "2027-01"}]
    made = make_season(season, workspace.out)
    assert len(made) == 6
    assert check_season(season, workspace.out) == []


def test_it_is_found_from_within_and_from_above(tmp_path: Path) -> None:
    one = begun(tmp_path)
    within = one / "templates_svg" / "annas-paper" / "a5"
    assert workspaces_at(within) == workspaces_at(one) == workspaces_at(tmp_path)
    other = begun(tmp_path, "Second shop")
    assert [each.folder for each in workspaces_at(tmp_path)] == [one, other]
    assert workspaces_at(tmp_path / "nowhere") == []


def test_nothing_is_made_where_there_is_one_already(tmp_path: Path) -> None:
    folder = begun(tmp_path)
    before = {path: path.stat().st_mtime_ns for path in folder.rglob("*")}
    with pytest.raises(UserError, match="is there already"):
        begun(tmp_path)
    assert {path: path.stat().st_mtime_ns for path in folder.rglob("*")} == before


@pytest.mark.parametrize("title", ["", "…", "con"])
def test_a_name_no_folder_can_have_is_told(tmp_path: Path, title: str) -> None:
    with pytest.raises(UserError, match=r"no letter from a to z|cannot be the name of a folder"):
        begun(tmp_path, title)


def test_there_is_a_file_to_double_click_for_each_system(tmp_path: Path) -> None:
    folder = begun(tmp_path)
    shell, batch, entry = (folder / name for name in OPENERS)
    for file in (shell, entry):
        assert os.access(file, os.X_OK)
    assert b"\r\n" in batch.read_bytes()
    assert "%~dp0" in batch.read_text()
    assert "\nExec=sh -c " in entry.read_text()
    # What it runs is the program, in the folder it lies in: tried with one that only tells where.
    said = shell.read_text().replace(shell.read_text().split("exec ")[1], "pwd\n")
    shell.write_text(said)
    ran = subprocess.run([str(shell)], cwd="/", capture_output=True, text=True, check=True)
    assert Path(ran.stdout.strip()).resolve() == folder.resolve()
    assert shutil.which("sh")
