"""Sets that are missing, broken or out of date: each is a finding, and hides none of the others.

Every set of the season here has a finding of its own (its files are over the limit), so that it
shows where one set keeps others from being looked at.
"""

from __future__ import annotations

import json
import multiprocessing
import os
import shutil
import subprocess
import sys
from collections.abc import Callable
from dataclasses import dataclass
from functools import partial
from pathlib import Path

import fontpkg
import pytest
from pypdf import PdfReader, PdfWriter

from pipeline.app.build import make_season
from pipeline.app.check import Standing, check_season, each_found, found_in, standings
from pipeline.base.errors import UserError
from pipeline.base.findings import SET_RULES, Severity
from pipeline.impose.contents import CONTENTS
from pipeline.proof.findings import SetFinding
from tests.cli.test_cli import leafset
from tests.conftest import ROOT

SEASON = """
name = "small"
title = "A small season"
collection = "kitchen_garden"
language = ["en-GB", "de"]
sizes = ["a5"]
papers = ["a4"]
weeks = "majority"

[limits]
file_mb = 0.01

[[period]]
name = "week"
from = 2027-03-01
to = 2027-03-07

[[set]]
name = "running"
title = "Running weeks"
opening = "opening"
closing = "closing"
spreads = [{ verso = "week-running-verso", recto = "week-running-recto", per = "week" }]

[[set]]
name = "notes"
title = "Notes"
leaves = [{ recto = "notes", verso = "plain-list" }]
"""
RUNNING, WEEKS = "week/running/a5-a4-en-GB", "week/running/a5-a4-de"
NOTES, NOTIZEN = "undated/notes/a5-a4-en-GB", "undated/notes/a5-a4-de"
ALL = (RUNNING, WEEKS, NOTES, NOTIZEN)
SOUND = {name: {"file-big"} for name in ALL}
FILE_RULES = {"set-unreadable", "file-unreadable", "file-locked"}
"""A file that cannot be read is a finding of the set, or of the file where its checks say more."""


@dataclass(frozen=True)
class Kitchen:
    """A maker's folder: drawings, a season, and what was built from them."""

    folder: Path

    @property
    def season(self) -> Path:
        """The season file."""
        return self.folder / "seasons" / "small.toml"

    @property
    def collection(self) -> Path:
        """Where the drawings are."""
        return self.folder / "templates_svg" / "kitchen_garden"

    @property
    def out(self) -> Path:
        """The build folder."""
        return self.folder / "build"

    def built(self, name: str, file: str = "") -> Path:
        """The folder of a built set, or a file in it."""
        return self.out / "small" / name / file

    def build(self) -> None:
        """Builds it; what did not change is not made again."""
        make_season(self.season, self.out, cache=self.out / ".cache")

    def check(self) -> list[SetFinding]:
        """What is found in it."""
        return check_season(self.season, self.out, cache=self.out / ".cache")


@pytest.fixture(scope="session")
def sound_kitchen(tmp_path_factory: pytest.TempPathFactory) -> Kitchen:
    """A season built and checked once, with a font of its own; not to be changed.

    What was found is kept, so that every fault of a copy is one that must be found in spite of it.
    """
    kitchen = Kitchen(tmp_path_factory.mktemp("kitchen"))
    shutil.copytree(ROOT / "templates_svg", kitchen.folder / "templates_svg")
    (kitchen.collection / "fonts").mkdir(exist_ok=True)
    shutil.copy(fontpkg.path("Dancing Script"), kitchen.collection / "fonts" / "Handy.ttf")
    kitchen.season.parent.mkdir()
    kitchen.season.write_text(SEASON, "utf-8")
    kitchen.build()
    kitchen.check()
    return kitchen


@pytest.fixture
def kitchen(sound_kitchen: Kitchen, tmp_path: Path) -> Kitchen:
    """A copy of the built season, for a test to spoil."""
    copy = Kitchen(tmp_path / "my kitchen")
    shutil.copytree(sound_kitchen.folder, copy.folder)
    return copy


Spoil = Callable[[Kitchen], object]


def replaced(old: str, new: str, *where: str) -> Spoil:
    """A file of the maker's with some words changed."""

    def change(kitchen: Kitchen) -> None:
        path = kitchen.folder.joinpath(*where)
        text = path.read_text("utf-8")
        assert text.count(old) >= 1
        path.write_text(text.replace(old, new), "utf-8")

    return change


GARDEN = ("templates_svg", "kitchen_garden")


def redrawn(*names: str) -> Spoil:
    """Templates with one more dot."""

    def change(kitchen: Kitchen) -> None:
        for name in names:
            replaced("</svg>", '<path d="M40 40h1v1z"/></svg>', *GARDEN, "a5", f"{name}.svg")(
                kitchen
            )

    return change


def sizes(text: str) -> Spoil:
    """A sizes.toml of the maker's own."""
    return lambda kitchen: (kitchen.folder / "sizes.toml").write_text(text, "utf-8")


def font(data: bytes | None, name: str = "Handy.ttf") -> Spoil:
    """A font renewed, added or, without ``data``, taken away."""

    def change(kitchen: Kitchen) -> None:
        path = kitchen.collection / "fonts" / name
        if data is None:
            path.unlink()
        else:
            path.write_bytes(data)

    return change


def file(name: str, change: Callable[[Path], object], of: str = RUNNING) -> Spoil:
    """A file of a built set changed; with no ``name`` its folder."""
    return lambda kitchen: change(kitchen.built(of, name))


def recorded(**values: object) -> Spoil:
    """The contents of a built set saying something else."""

    def change(kitchen: Kitchen) -> None:
        path = kitchen.built(RUNNING, CONTENTS)
        path.write_text(json.dumps({**json.loads(path.read_text("utf-8")), **values}), "utf-8")

    return change


def encrypt(path: Path) -> None:
    """With a password that one needs to open it (ISO 32000-1, 7.6)."""
    writer = PdfWriter(clone_from=PdfReader(path))
    writer.encrypt("beans", algorithm="RC4-128")
    writer.write(path)


def truncate(path: Path) -> None:
    path.write_bytes(path.read_bytes()[: path.stat().st_size // 2])


def become_a_file(folder: Path) -> None:
    shutil.rmtree(folder)
    folder.write_text("in the way", "utf-8")


def become_a_folder(path: Path) -> None:
    path.unlink()
    path.mkdir()


def become_another(folder: Path) -> None:
    shutil.rmtree(folder)
    shutil.copytree(folder.with_name("a5-a4-de"), folder)


def exchange(kitchen: Kitchen) -> None:
    first, second, spare = (kitchen.built(one) for one in (RUNNING, WEEKS, "spare"))
    first.rename(spare)
    second.rename(first)
    spare.rename(second)


STALE = {
    # what was done: (how, the sets it is found in, what is said, whether their pages are checked)
    "a page drawn again": (
        redrawn("notes"), (NOTES, NOTIZEN), "built before a change in a5/notes.svg", False,
    ),
    "two pages drawn again": (
        redrawn("opening", "closing"), (RUNNING, WEEKS),
        "built before a change in a5/closing.svg and a5/opening.svg", False,
    ),
    "all pages drawn again": (
        redrawn("opening", "closing", "week-running-verso", "week-running-recto"),
        (RUNNING, WEEKS), "a5/closing.svg, a5/opening.svg, a5/week-running-recto.svg and a5/week",
        False,
    ),
    "an English label changed": (
        replaced('week = "week"', 'week = "the week"', *GARDEN, "labels", "en.toml"),
        (RUNNING, NOTES), "before a change in labels/en.toml", False,
    ),
    "a German label changed": (
        replaced('week = "', 'week = "Garten-', *GARDEN, "labels", "de.toml"),
        (WEEKS, NOTIZEN), "before a change in labels/de.toml", False,
    ),
    "a paper of the maker's own": (
        sizes("[paper.a4]\nwidth_mm = 209\n"), ALL, "before a change in sizes.toml", False,
    ),
    "another hole punch": (
        sizes("[binder.a5.holes]\nedge_mm = 7\n"), ALL, "before a change in sizes.toml", False,
    ),
    "a flap made narrower": (
        replaced("week-running-verso = 42", "week-running-verso = 41", *GARDEN, "collection.toml"),
        (RUNNING, WEEKS), "before a change in collection.toml", False,
    ),
    "another font to stand in": (
        replaced('"Amiri', '"Handy", "Amiri', *GARDEN, "collection.toml"),
        ALL, "before a change in collection.toml", False,
    ),
    "a font renewed": (
        font(b"another"), ALL, "before a change in fonts/Handy.ttf", True,
    ),
    "a font added": (
        font(b"one more", "More.ttf"), ALL, "before a change in fonts/More.ttf", True,
    ),
    "a font taken away": (
        font(None), ALL, "before a change in fonts/Handy.ttf", True,
    ),
    "a page and a font changed": (
        lambda kitchen: (font(b"another")(kitchen), redrawn("notes", "plain-list")(kitchen)),
        (RUNNING, WEEKS, NOTES, NOTIZEN), "fonts/Handy.ttf", None,
    ),
    "a set's title changed": (
        replaced('title = "Notes"', 'title = "Jottings"', "seasons", "small.toml"),
        (NOTES, NOTIZEN), "before a change in small.toml", False,
    ),
    "another week": (
        replaced("2027-03-0", "2028-03-0", "seasons", "small.toml"),
        (RUNNING, WEEKS), "before a change in small.toml", False,
    ),
    "another page in the set": (
        replaced('verso = "plain-list"', 'verso = "bed-plan"', "seasons", "small.toml"),
        (NOTES, NOTIZEN), "before a change in small.toml", False,
    ),
    "another printer": (
        lambda kitchen: kitchen.season.write_text(
            SEASON + "[printer]\nunprintable_mm = 5\n", "utf-8"
        ),
        ALL, "before a change in small.toml", False,
    ),
    "built from nobody knows what": (
        recorded(built_from="", made_of={}), (RUNNING,), "built by another version of leafset",
        False,
    ),
}  # fmt: skip


def test_every_rule_about_whole_sets_has_a_fault() -> None:
    shown = {rule for _, _, rules, _ in BROKEN.values() for rule in rules - FILE_RULES}
    elsewhere = {"set-unreadable", "set-stale", "set-unasked", "set-unplanned"}
    assert shown | elsewhere == {rule for rule in SET_RULES if rule.startswith("set-")}


def by_set(found: list[SetFinding]) -> dict[str, set[str]]:
    """The rules that each set breaks."""
    return {one.set: {other.rule for other in found if other.set == one.set} for one in found}


def test_sets_as_they_were_built_have_nothing_but_their_own_findings(kitchen: Kitchen) -> None:
    assert by_set(kitchen.check()) == SOUND


@pytest.mark.parametrize("done", STALE)
def test_a_set_built_of_something_else_is_out_of_date(done: str, kitchen: Kitchen) -> None:
    spoil, sets, said, checked = STALE[done]
    spoil(kitchen)
    found = kitchen.check()
    stale = [one for one in found if one.rule == "set-stale"]
    assert [one.set for one in stale] == list(sets)
    assert all(said in one.message and one.severity is Severity.MUST for one in stale), stale
    rules = by_set(found)
    assert all(rules[name] == {"file-big"} for name in ALL if name not in sets)
    if checked is not None:
        own = {"set-stale", "file-big"} if checked else {"set-stale"}
        assert all(rules[name] == own for name in sets)


def test_another_version_of_the_program_is_told_apart(kitchen: Kitchen, tmp_path: Path) -> None:
    other = tmp_path / "other"
    shutil.copytree(ROOT / "pipeline", other / "pipeline")
    with (other / "pipeline" / "base" / "errors.py").open("a", encoding="utf-8") as code:
        code.write("# One line more.\n")
    redrawn("notes")(kitchen)
    checked = subprocess.run(
        [sys.executable, "-m", "pipeline.cli", "check", kitchen.season, "--out", kitchen.out,
         "--json"],
        cwd=other, env={**os.environ, "PYTHONPATH": str(other)}, capture_output=True, text=True,
        check=False,
    )  # fmt: skip
    assert checked.returncode == 1, checked.stderr
    found = json.loads(checked.stdout)["findings"]
    said = {one["set"]: one["message"] for one in found if one["code"] == "set-stale"}
    other_version = "built by another version of leafset or its fonts"
    with_change = f"{other_version}, and before a change in a5/notes.svg"
    assert said == {
        RUNNING: other_version, WEEKS: other_version, NOTES: with_change, NOTIZEN: with_change,
    }  # fmt: skip
    assert {one["set"] for one in found if one["code"] == "file-big"} == {RUNNING, WEEKS}


@pytest.mark.parametrize(
    "change",
    [
        pytest.param(lambda kitchen: (kitchen.collection / "a5/notes.svg").touch(), id="touched"),
        pytest.param(
            lambda kitchen: (kitchen.collection / "a5/spare.svg").write_text("<svg/>"),
            id="a page that no set asks for",
        ),
        pytest.param(redrawn("week-two-flap-verso"), id="a page of no set drawn again"),
        pytest.param(
            replaced("\nweek =", "\n# A remark.\nweek =", *GARDEN, "labels", "en.toml"),
            id="a remark in the labels",
        ),
        pytest.param(
            replaced("[limits]", "[limits]\nhairline_mm = 0.01", "seasons", "small.toml"),
            id="another limit",
        ),
        pytest.param(sizes("[paper.a5]\nheight_mm = 209\n"), id="a paper of no set"),
    ],
)  # fmt: skip
def test_what_changes_no_file_makes_none_out_of_date(change: Spoil, kitchen: Kitchen) -> None:
    change(kitchen)
    assert by_set(kitchen.check()) == SOUND


BROKEN: dict[str, tuple[Spoil, str, set[str], str]] = {
    # what was done: (how, the set, the finding in it, what is said)
    "half a file": (file("side-1.pdf", truncate), RUNNING, FILE_RULES, "side-1.pdf"),
    "half of both sides": (file("both-sides.pdf", truncate), RUNNING, FILE_RULES, "both-sides"),
    "an empty file": (
        file("side-2.pdf", lambda path: path.write_bytes(b"")), RUNNING, FILE_RULES, "side-2.pdf",
    ),
    "a file gone": (file("both-sides.pdf", Path.unlink), RUNNING, FILE_RULES, "both-sides.pdf"),
    "a file with a password": (file("side-1.pdf", encrypt), RUNNING, FILE_RULES, "side-1.pdf"),
    "a file that is a drawing": (
        file("side-1.pdf", lambda path: path.write_text("<svg/>")), RUNNING, FILE_RULES,
        "side-1.pdf",
    ),
    "a folder instead of a file": (
        file("side-1.pdf", become_a_folder), RUNNING, FILE_RULES, "side-1.pdf",
    ),
    "contents that are no JSON": (
        file(CONTENTS, lambda path: path.write_text("<<<<<<< HEAD")), RUNNING, {"set-unreadable"},
        f"{CONTENTS}: Invalid JSON",
    ),
    "half of the contents": (
        file(CONTENTS, truncate), RUNNING, {"set-unreadable"}, f"{CONTENTS}: Invalid JSON",
    ),
    "empty contents": (
        file(CONTENTS, lambda path: path.write_bytes(b"")), RUNNING, {"set-unreadable"},
        f"{CONTENTS}: Invalid JSON",
    ),
    "contents without letters": (
        file(CONTENTS, lambda path: path.write_bytes(b"\xff\xfe\0")), RUNNING, {"set-unreadable"},
        CONTENTS,
    ),
    "contents of a newer program": (
        recorded(schema_version=99), RUNNING, {"set-unreadable"}, "made by a newer leafset",
    ),
    "contents that leave something out": (
        recorded(sheets=None), RUNNING, {"set-unreadable"}, f"{CONTENTS}, sheets",
    ),
    "contents that forget the leaves": (
        recorded(leaves=[]), RUNNING, {"set-unreadable"}, "",
    ),
    "contents gone": (
        file(CONTENTS, Path.unlink), RUNNING, {"set-unreadable"}, f"no {CONTENTS}",
    ),
    "a folder instead of contents": (
        file(CONTENTS, become_a_folder), RUNNING, {"set-unreadable"}, CONTENTS,
    ),
    "a file instead of the set": (
        file("", become_a_file), RUNNING, {"set-unreadable"}, "a file is where its folder",
    ),
    "the set gone": (file("", shutil.rmtree), RUNNING, {"set-missing"}, "not in the build folder"),
    "another set in its folder": (
        file("", become_another), RUNNING, {"set-astray"}, f"it holds {WEEKS}",
    ),
    "an undated set gone": (
        file("", shutil.rmtree, NOTIZEN), NOTIZEN, {"set-missing"}, "not in the build folder",
    ),
}  # fmt: skip


@pytest.mark.parametrize("done", BROKEN)
def test_a_broken_set_is_a_finding_and_hides_no_other(done: str, kitchen: Kitchen) -> None:
    spoil, name, rules, said = BROKEN[done]
    spoil(kitchen)
    found = kitchen.check()
    (mine,) = (one for one in found if one.set == name and one.rule != "file-big")
    assert mine.rule in rules
    assert said in mine.message
    assert str(kitchen.folder) not in mine.message, "the set's name says where it is"
    assert mine.severity is Severity.MUST
    assert mine.what_to_do
    others = {one: broken for one, broken in by_set(found).items() if one != name}
    assert others == {one: {"file-big"} for one in ALL if one != name}


MENDED = (
    "half a file", "a file with a password", "contents that are no JSON", "a file gone",
    "contents of a newer program", "a file instead of the set", "another set in its folder",
    "a folder instead of a file",
)  # fmt: skip


@pytest.mark.parametrize("done", MENDED)
def test_building_again_mends_a_broken_set(done: str, kitchen: Kitchen) -> None:
    BROKEN[done][0](kitchen)
    kitchen.build()
    assert by_set(kitchen.check()) == SOUND


def test_a_file_that_is_as_long_as_it_was_is_made_again_too(kitchen: Kitchen) -> None:
    path = kitchen.built(RUNNING, "side-1.pdf")
    good = path.read_bytes()
    path.write_bytes(bytes(len(good)))
    kitchen.build()
    assert path.read_bytes() == good


def test_sets_that_changed_places_are_both_found(kitchen: Kitchen) -> None:
    exchange(kitchen)
    rules = by_set(kitchen.check())
    assert rules == {
        RUNNING: {"set-astray"}, WEEKS: {"set-astray"}, NOTES: {"file-big"}, NOTIZEN: {"file-big"},
    }  # fmt: skip


def test_a_set_the_season_no_longer_asks_for_is_found(kitchen: Kitchen) -> None:
    text = kitchen.season.read_text("utf-8")
    kitchen.season.write_text(text.replace('language = ["en-GB", "de"]', 'language = ["en-GB"]'))
    rules = by_set(kitchen.check())
    assert rules == {
        RUNNING: {"file-big"}, NOTES: {"file-big"},
        WEEKS: {"set-unasked"}, NOTIZEN: {"set-unasked"},
    }  # fmt: skip
    one_set = check_season(kitchen.season, kitchen.out, only="running")
    assert by_set(one_set) == {RUNNING: {"file-big"}}, "of the others nothing is asked"


def test_a_set_that_cannot_be_planned_hides_no_other(kitchen: Kitchen) -> None:
    (kitchen.collection / "a5" / "closing.svg").unlink()
    found = kitchen.check()
    assert by_set(found) == {
        RUNNING: {"set-unplanned"}, WEEKS: {"set-unplanned"},
        NOTES: {"file-big"}, NOTIZEN: {"file-big"},
    }  # fmt: skip
    one = next(one for one in found if one.rule == "set-unplanned")
    assert "closing.svg: there is no such template" in one.message
    assert "the nearest is" in one.what_to_do


def test_a_broken_labels_file_keeps_only_its_own_language_back(kitchen: Kitchen) -> None:
    (kitchen.collection / "labels" / "de.toml").write_text('week = "Woche\n', "utf-8")
    found = kitchen.check()
    german = {name: {"set-unplanned"} for name in ALL if name.endswith("-de")}
    assert by_set(found) == {**SOUND, **german}
    one = next(one for one in found if one.rule == "set-unplanned")
    assert "de.toml" in one.message


def test_several_faults_are_all_found(kitchen: Kitchen) -> None:
    truncate(kitchen.built(RUNNING, "side-1.pdf"))
    shutil.rmtree(kitchen.built(WEEKS))
    redrawn("notes")(kitchen)
    kitchen.built(NOTIZEN, CONTENTS).write_text("{", "utf-8")
    rules = by_set(kitchen.check())
    assert rules[RUNNING] & FILE_RULES
    assert rules[WEEKS] == {"set-missing"}
    assert rules[NOTES] == {"set-stale"}
    assert rules[NOTIZEN] == {"set-unreadable"}


def test_only_what_hides_everything_ends_the_check(kitchen: Kitchen) -> None:
    out = kitchen.folder / "elsewhere"
    with pytest.raises(UserError, match="this season is not built yet; run 'leafset build' first"):
        check_season(kitchen.season, out)
    kitchen.season.write_text(SEASON.replace('name = "small"', 'name = "small'), "utf-8")
    with pytest.raises(UserError, match=r"small\.toml"):
        kitchen.check()


def test_check_and_proof_say_what_is_broken_and_do_the_rest(kitchen: Kitchen) -> None:
    kitchen.built(RUNNING, CONTENTS).write_text("{", "utf-8")
    truncate(kitchen.built(WEEKS, "side-1.pdf"))
    proof = leafset("proof", kitchen.season, "--out", kitchen.out)
    assert proof.returncode == 1
    assert f"leafset: {RUNNING}: a set cannot be read: {CONTENTS}: " in proof.stderr
    assert f"leafset: {WEEKS}: a set cannot be read: side-1.pdf: " in proof.stderr
    assert "Traceback" not in proof.stderr
    for name in (NOTES, NOTIZEN):
        assert list(kitchen.built(name, "proof").glob("**/*.png"))
    check = leafset("check", kitchen.season, "--out", kitchen.out, "--json")
    assert (check.returncode, check.stderr.count("Traceback")) == (1, 0)
    said = {(one["set"], one["code"]) for one in json.loads(check.stdout)["findings"]}
    assert said >= {(RUNNING, "set-unreadable"), (NOTES, "file-big"), (NOTIZEN, "file-big")}
    kitchen.season.write_text("name = ", "utf-8")
    assert leafset("check", kitchen.season, "--out", kitchen.out).returncode == 2


def break_down(one: Standing, at: str) -> list[SetFinding]:
    """As a reader does that a damaged file brings down."""
    if one.name == at:
        os._exit(1)
    return [SetFinding("file-big", "", one.name)]


@pytest.mark.usefixtures("every_core")
def test_a_file_that_brings_the_reader_down_takes_no_other_set_along(kitchen: Kitchen) -> None:
    _, sets = standings(kitchen.season, kitchen.out)
    found = list(each_found(partial(break_down, at=WEEKS), sets))
    assert [[one.rule for one in of_set] for of_set in found] == [
        ["file-big"], ["set-unreadable"], ["file-big"], ["file-big"],
    ]  # fmt: skip
    assert "broke down" in found[1][0].message


@pytest.mark.usefixtures("every_core")
def test_an_error_ends_the_check_and_its_processes(kitchen: Kitchen) -> None:
    """Even while somebody holds the error, and with it all that was going on."""

    def step(done: int, whole: int, what: str) -> None:
        if done == 1:
            raise UserError("small.toml", "its period is wrong", "mend it")

    before = set(multiprocessing.active_children())
    with pytest.raises(UserError) as error:
        check_season(kitchen.season, kitchen.out, step=step)
    assert set(multiprocessing.active_children()) <= before, error


def test_what_is_out_of_date_may_not_be_released_and_the_other_way_round(kitchen: Kitchen) -> None:
    """One rule: what a build would not make again is not out of date."""
    redrawn("notes")(kitchen)
    plan, sets = standings(kitchen.season, kitchen.out)
    stale = {one.name for one in sets if found_in(one, plan)[0].rule == "set-stale"}
    before = {name: kitchen.built(name, CONTENTS).stat().st_ino for name in ALL}
    kitchen.build()
    again = {name for name in ALL if kitchen.built(name, CONTENTS).stat().st_ino != before[name]}
    assert stale == again == {NOTES, NOTIZEN}
