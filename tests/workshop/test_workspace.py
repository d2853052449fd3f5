"""Workspaces: where they are found, and what a new one is made of."""

from __future__ import annotations

import os
import re
import subprocess
import tomllib
from pathlib import Path

import pytest

from pipeline.app.build import make_season
from pipeline.app.check import check_season
from pipeline.base.errors import UserError
from pipeline.drawings.starters.starter import OPENERS
from pipeline.workshop.workspace import workspaces_at
from tests.workshop.conftest import begun


def test_what_is_begun_builds_and_nothing_is_found_in_it(tmp_path: Path) -> None:
    workspace = begun(tmp_path, "Anna’s “paper”", ["en-GB", "de", "pl"])
    [season] = workspace.seasons.values()
    said = tomllib.loads(season.read_text("utf-8"))
    assert said["title"] == "Anna’s “paper”"
    assert said["language"] == ["en-GB", "de", "pl"]
    assert said["sizes"] == ["a5"]
    assert said["first_weekday"] == "sunday"
    assert said["period"] == [{"name": "january", "month": "2027-01"}]
    made = make_season(season, workspace.out)
    assert len(made) == 3
    assert check_season(season, workspace.out) == []


def test_it_is_found_from_within_and_from_above(tmp_path: Path) -> None:
    one = begun(tmp_path).folder
    within = one / "templates_svg" / "annas-paper" / "a5"
    assert workspaces_at(within) == workspaces_at(one) == workspaces_at(tmp_path)
    other = begun(tmp_path, "Second shop").folder
    assert [each.folder for each in workspaces_at(tmp_path)] == [one, other]
    assert workspaces_at(tmp_path / "nowhere") == []


def test_nothing_is_made_where_there_is_one_already(tmp_path: Path) -> None:
    folder = begun(tmp_path).folder
    before = {path: path.stat().st_mtime_ns for path in folder.rglob("*")}
    with pytest.raises(UserError, match="is there already"):
        begun(tmp_path)
    assert {path: path.stat().st_mtime_ns for path in folder.rglob("*")} == before


@pytest.mark.parametrize("title", ["", "…", "con"])
def test_a_name_no_folder_can_have_is_told(tmp_path: Path, title: str) -> None:
    with pytest.raises(UserError, match=r"no letter from a to z|cannot be the name of a folder"):
        begun(tmp_path, title)


def test_there_is_a_file_to_double_click_for_each_system(tmp_path: Path) -> None:
    folder = begun(tmp_path).folder
    shell, batch, entry = (folder / name for name in OPENERS)
    for file in (shell, entry):
        assert os.access(file, os.X_OK)
    assert b"\r\n" in batch.read_bytes()
    assert "%~dp0" in batch.read_text()
    # What they run is the program, in the folder they lie in: tried with one that only tells where.
    where = re.compile(r"exec .* desk$", re.MULTILINE)
    shell.write_text(where.sub("exec pwd", shell.read_text()))
    ran = subprocess.run([str(shell)], cwd="/", capture_output=True, text=True, check=True)
    assert Path(ran.stdout.strip()).resolve() == folder.resolve()
    command = [where.sub("exec pwd", one) for one in arguments(entry)]
    assert command[-1] == "%k"  # where the entry itself lies
    ran = subprocess.run(
        [*command[:-1], str(entry)], cwd="/", capture_output=True, text=True, check=True
    )
    assert Path(ran.stdout.strip()).resolve() == folder.resolve()


def arguments(entry: Path) -> list[str]:
    """The arguments of a desktop entry's Exec key, read as freedesktop.org's Desktop Entry
    Specification says: values have backslashes twice, and within quotes one stands before what the
    shell would read."""
    value = entry.read_text().partition("Exec=")[2].partition("\n")[0].replace("\\\\", "\\")
    found = re.findall(r'"((?:[^"\\]|\\.)*)"|(\S+)', value)
    return [re.sub(r"\\(.)", r"\1", quoted) or plain for quoted, plain in found]
