"""Nothing is made twice: what changes is made again, all else stays to the byte and the minute."""

from __future__ import annotations

import ast
import importlib.metadata
import os
import sqlite3
import sys
from collections.abc import Callable, Iterator, Sequence
from concurrent.futures import ProcessPoolExecutor
from contextlib import suppress
from functools import partial
from pathlib import Path

import diskcache
import pytest

from pipeline import draw
from pipeline.app.build import make_season
from pipeline.app.buildrecord import unchanged
from pipeline.base import cache
from pipeline.base.cache import DRAWN_WITH, Cache, clean, key_of
from pipeline.impose import imposing
from pipeline.text import FontBook
from tests.cli.test_cli import leafset
from tests.conftest import ROOT

TWO_SETS = """
[[set]]
name = "notes"
title = "Notes"
leaves = [{ recto = "notes", verso = "plain-list" }]
"""


@pytest.fixture
def season(shop: Path) -> Path:
    path = shop / "seasons" / "small.toml"
    path.write_text(path.read_text("utf-8") + TWO_SETS, "utf-8")
    return path


def times(out: Path) -> dict[str, int]:
    files = list((out / "small").rglob("*.pdf"))
    return {str(path.relative_to(out)): path.stat().st_mtime_ns for path in files}


def build(season: Path, out: Path) -> set[str]:
    """Builds; gives the sets whose files were written by it."""
    before = times(out)
    make_season(season, out, cache=out / ".cache")
    return {
        Path(name).parts[2]
        for name, when in times(out).items()
        if before.get(name) != when and len(Path(name).parts) > 3
    }


def edit(old: str, new: str, *where: str) -> Callable[[Path], None]:
    def change(shop: Path) -> None:
        path = shop.joinpath(*where)
        text = path.read_text("utf-8")
        assert old in text
        path.write_text(text.replace(old, new, 1), "utf-8")

    return change


COLLECTION = ("templates_svg", "kitchen_garden")


@pytest.mark.parametrize(
    ("change", "sets"),
    [
        (lambda shop: None, set()),
        (edit('"week"', '"the week"', *COLLECTION, "labels", "en.toml"), {"running", "notes"}),
        (edit("</svg>", "<g/></svg>", *COLLECTION, "a5", "notes.svg"), {"notes"}),
        (edit("</svg>", "<g/></svg>", *COLLECTION, "a5", "closing.svg"), {"running"}),
        (edit("</svg>", "<g/></svg>", *COLLECTION, "a5", "bed-plan.svg"), set()),
        (edit("2027-03", "2027-04", "seasons", "small.toml"), {"running"}),
    ],
    ids=["nothing", "label", "one template", "another", "a template not in it", "period"],
)
def test_only_what_changed_is_made_again(
    change: Callable[[Path], None], sets: set[str], season: Path, shop: Path
) -> None:
    out = shop / "build"
    assert build(season, out) == {"running", "notes"}
    change(shop)
    assert build(season, out) == sets


def test_a_changed_label_draws_no_artwork_again(
    season: Path, shop: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    out = shop / "build"
    build(season, out)
    drawn: list[bytes] = []
    monkeypatch.setattr(draw, "vector_art", lambda svg: drawn.append(svg))
    edit('"week"', '"the week"', *COLLECTION, "labels", "en.toml")(shop)
    make_season(season, out, only="running", cache=out / ".cache")
    assert drawn == []


@pytest.mark.parametrize(
    ("change", "anew"),
    [
        (edit("</svg>", "<g/></svg>", *COLLECTION, "a5", "closing.svg"), False),
        (edit("2027-03", "2027-04", "seasons", "small.toml"), True),  # slug lines say the month
        (edit('any = ["S', 'any = ["Kalam", "S', *COLLECTION, "collection.toml"), True),
    ],
    ids=["a drawing", "the month", "faces"],
)
def test_marks_are_drawn_again_only_when_they_say_something_else(
    change: Callable[[Path], None],
    anew: bool,
    season: Path,
    shop: Path,
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    out = shop / "build"
    build(season, out)
    drawn: list[int] = []

    def counted(svgs: Sequence[bytes], book: FontBook, *, language: str) -> bytes:
        drawn.append(len(svgs))
        return draw.draw(svgs, book, language=language)

    monkeypatch.setattr(imposing, "draw", counted)
    change(shop)
    make_season(season, out, only="running", cache=out / ".cache")
    assert bool(drawn) is anew


def test_a_build_with_nothing_to_do_knows_at_once(season: Path, shop: Path) -> None:
    out = shop / "build"
    assert unchanged(season, out) is None
    made = make_season(season, out)
    assert unchanged(season, out) == made
    label = edit('"week"', '"the week"', *COLLECTION, "labels", "en.toml")
    label(shop)
    assert unchanged(season, out) is None
    make_season(season, out)
    assert unchanged(season, out) is not None
    next((out / "small").rglob("side-1.pdf")).write_bytes(b"spoilt")
    assert unchanged(season, out) is None
    make_season(season, out)
    assert unchanged(season, out) is not None
    (shop / "templates_svg" / "kitchen_garden" / "fonts").mkdir(exist_ok=True)
    assert unchanged(season, out) is not None, "an empty folder changes nothing"


def test_spoilt_files_are_made_again(season: Path, shop: Path) -> None:
    out = shop / "build"
    build(season, out)
    path = out / "small" / "march" / "running" / "a5-a4-en-GB" / "side-1.pdf"
    good = path.read_bytes()
    path.write_bytes(good[:-1])
    assert build(season, out) == {"running"}
    assert path.read_bytes() == good


def test_a_rebuild_says_so_and_one_afresh_draws_all_again(shop: Path) -> None:
    first = leafset("build", "seasons/small.toml", cwd=shop)
    second = leafset("build", "seasons/small.toml", cwd=shop)
    assert second.stdout.splitlines()[0] == "Nothing has changed since the last build."
    assert second.stdout.splitlines()[1:] == first.stdout.splitlines()[-3:]
    assert (shop / "build" / ".cache").is_dir()
    pdf = next((shop / "build" / "small").rglob("side-1.pdf"))
    before, data = pdf.stat().st_mtime_ns, pdf.read_bytes()
    kept = {path.name for path in (shop / "build" / ".cache").rglob("*.val")}
    again = leafset("build", "seasons/small.toml", "--afresh", cwd=shop)
    assert again.stdout.splitlines()[-3:] == first.stdout.splitlines()[-3:]
    assert pdf.stat().st_mtime_ns > before
    assert pdf.read_bytes() == data
    assert kept.isdisjoint(path.name for path in (shop / "build" / ".cache").rglob("*.val"))


def put(folder: Path, number: int) -> bytes:
    return Cache(folder).get_or_make(key_of(number % 5), lambda: bytes(number % 5))


def test_several_processes_share_a_cache(tmp_path: Path) -> None:
    with ProcessPoolExecutor(4) as executor:
        results = list(executor.map(put, [tmp_path / "cache"] * 40, range(40)))
    assert results == [bytes(number % 5) for number in range(40)]
    assert clean(tmp_path / "cache") > 0
    assert not (tmp_path / "cache").exists()


def test_keys_tell_parts_apart() -> None:
    assert key_of("ab", "c") != key_of("a", "bc")
    assert key_of(b"1") != key_of("1") != key_of(1)


DRAW_NOTHING = {
    "diskcache": "keeps what is drawn",
    "distributed": "sends jobs to other machines",
    "ephem": "what it says is in the plan",
    "h11": "serves the desk",
    "holidays": "what it says is in the plan",
    "icalendar": "what it says is in the plan",
    "opencv-python-headless": "measures what was printed",
    "python-dateutil": "what it says is in the plan",
    "rich": "writes to the terminal",
    "starlette": "serves the desk",
    "tomli": "reads the season file",
    "tomlkit": "writes settings into the season file",
    "tree-sitter": "finds lines in the season file",
    "tree-sitter-toml": "finds lines in the season file",
    "typer": "reads the command line",
    "uvicorn": "serves the desk",
    "watchfiles": "watches folders",
}


def imported() -> Iterator[str]:
    """Top names of all modules that the program imports."""
    for path in (ROOT / "pipeline").rglob("*.py"):
        for node in ast.walk(ast.parse(path.read_bytes())):
            if isinstance(node, ast.Import):
                yield from (name.name.partition(".")[0] for name in node.names)
            elif isinstance(node, ast.ImportFrom) and node.module and not node.level:
                yield node.module.partition(".")[0]


def test_every_package_that_draws_is_in_the_key() -> None:
    """What the program imports, as the syntax trees of its files have it, is in the key or draws
    nothing, and all that is in the key is installed under the name it has there."""
    packages = importlib.metadata.packages_distributions()
    others = set(imported()) - sys.stdlib_module_names - {"pipeline"}
    names = {packages[module][0].lower().replace("_", "-") for module in others}
    without_faces = {name for name in names if "font" not in name or name in DRAWN_WITH}
    assert len(names) > 20
    assert without_faces - DRAWN_WITH == set(DRAW_NOTHING)
    assert set(cache._installed()) >= DRAWN_WITH


@pytest.mark.parametrize("package", sorted(DRAWN_WITH))
def test_an_upgrade_makes_other_keys(package: str, monkeypatch: pytest.MonkeyPatch) -> None:
    installed = cache._installed()
    before = cache.program.__wrapped__()
    monkeypatch.setattr(cache, "_installed", lambda: {**installed, package: "1000.0"})
    assert cache.program.__wrapped__() != before


class Planted:
    """What would run a command if it were unpickled."""

    def __init__(self, mark: Path) -> None:
        self.mark = mark

    def __reduce__(self) -> tuple[object, ...]:
        return Path.touch, (self.mark,)


@pytest.mark.parametrize("planted", ["value", "file", "key"])
def test_what_was_pickled_is_never_read(planted: str, tmp_path: Path) -> None:
    mark, folder, key = tmp_path / "ran", tmp_path / "cache", key_of("art")
    assert Cache(folder).get_or_make(key, lambda: b"right") == b"right"
    with diskcache.Cache(str(folder)) as plain:
        if planted == "key":
            plain.set(("a", Planted(mark)), b"")
        else:
            plain.set(key, (Planted(mark), b"0" * (100_000 if planted == "file" else 1)))
    assert not mark.exists()
    assert Cache(folder).get_or_make(key, lambda: b"right") == b"right"
    with suppress(ValueError):
        list(Cache(folder)._store)
    assert not mark.exists()


def test_an_entry_that_was_changed_or_exchanged_is_made_again(tmp_path: Path) -> None:
    folder, large = tmp_path / "cache", bytes(100_000)
    kept = Cache(folder)
    assert kept.get_or_make("a", lambda: large) == large
    assert kept.get_or_make("b", lambda: b"B" * 100_000) == b"B" * 100_000
    assert kept.get_or_make("a", lambda: b"") == large
    for spoilt in ("the other", b"", bytes(100_032), b"x", "gone"):
        one, other = sorted(folder.rglob("*.val"))
        if spoilt == "gone":
            one.unlink()
        else:
            one.write_bytes(other.read_bytes() if isinstance(spoilt, str) else spoilt)
        for key, right in (("a", large), ("b", b"B" * 100_000)):
            assert Cache(folder).get_or_make(key, partial(bytes, right)) == right


def test_a_damaged_table_of_entries_is_begun_anew(tmp_path: Path) -> None:
    folder = tmp_path / "cache"
    assert Cache(folder).get_or_make("a", lambda: b"1") == b"1"
    for path in folder.glob("cache.db*"):
        path.write_bytes(b"no table of entries" * 1000)
    assert Cache(folder).get_or_make("a", lambda: b"2") == b"2"
    assert Cache(folder).get_or_make("a", lambda: b"3") == b"2"


def test_a_folder_that_others_can_write_to_is_not_trusted(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    folder = tmp_path / "cache"
    assert Cache(folder).get_or_make("a", lambda: b"1") == b"1"
    assert folder.stat().st_mode & 0o777 == 0o700
    folder.chmod(0o777)
    assert Cache(folder).get_or_make("a", lambda: b"2") == b"2", "others could have changed it"
    assert folder.stat().st_mode & 0o777 == 0o700
    me = os.geteuid()
    monkeypatch.setattr(os, "geteuid", lambda: me + 1)
    assert Cache(folder).get_or_make("a", lambda: b"3") == b"3", "it is somebody else's"
    monkeypatch.undo()
    assert Cache(folder).get_or_make("a", lambda: b"4") == b"2"
    folder.rename(tmp_path / "moved")
    folder.symlink_to(tmp_path / "moved")
    assert Cache(folder).get_or_make("a", lambda: b"5") == b"5", "a link is not followed"


def test_a_full_disk_keeps_nothing_and_stops_nothing(tmp_path: Path) -> None:
    kept = Cache(tmp_path / "cache")

    def full(key: str, data: bytes) -> None:
        raise sqlite3.OperationalError("database or disk is full")

    kept._store.set = full
    assert kept.get_or_make("a", lambda: b"1") == b"1"
