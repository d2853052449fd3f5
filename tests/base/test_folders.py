"""Files are whole or not there, whoever ends the program when; and come to lie nowhere else."""

from __future__ import annotations

import ast
import errno
import os
import shutil
import subprocess
import sys
import tempfile
from collections.abc import Iterator
from functools import partial
from pathlib import Path

import pytest

from pipeline.app.build import make_season, put_in_place
from pipeline.app.buildrecord import unchanged
from pipeline.base import folders
from pipeline.base.errors import UserError
from pipeline.base.folders import (
    check_places,
    clear_leftovers,
    locked,
    scratch_folder,
    whole_folder,
    write_whole,
    writing,
)
from pipeline.plan.collection import load_collection
from pipeline.plan.tomlfile import read_toml
from tests.cli.test_cli import leafset
from tests.conftest import ROOT

WRITES_ITSELF = {
    "base/folders.py": "the one writer",
    "text/fonts.py": "fonts for as long as the program runs, in the system's temporary folder",
    "drawings/checks/secondengine.py": "the same, for the second engine",
}
"""Files that write in another way than with ``write_whole``, and why."""


def writers() -> Iterator[tuple[str, str]]:
    """Every call in the program by which a file is written without the one writer."""
    for path in (ROOT / "pipeline").rglob("*.py"):
        for node in ast.walk(ast.parse(path.read_text("utf-8"))):
            if not isinstance(node, ast.Call) or not isinstance(node.func, ast.Attribute):
                continue
            name, words = node.func.attr, [*node.args, *(one.value for one in node.keywords)]
            modes = [one.value for one in words if isinstance(one, ast.Constant)]
            opens = name in ("open", "fdopen") and any(
                isinstance(mode, str) and mode in ("w", "wb", "a", "ab", "x", "xb", "r+b")
                for mode in modes
            )
            if opens or name in ("write_bytes", "write_text"):
                within = ast.unparse(node.func.value)
                yield path.relative_to(ROOT / "pipeline").as_posix(), within


def test_everything_is_written_by_one_writer() -> None:
    """What is written into a new ``whole_folder`` is flushed by that."""
    others = {
        (file, within)
        for file, within in writers()
        if not within.startswith(("new / ", "(new / ", "target")) and file not in WRITES_ITSELF
    }
    assert others == set()


def test_files_and_their_folder_are_on_the_disk_before_they_have_their_names(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    done: list[str] = []

    def noted(handle: int) -> None:
        done.append(f"flush {Path(f'/proc/self/fd/{handle}').readlink().name.split('.new-')[0]}")

    replace, rename = Path.replace, Path.rename

    def replaced(self: Path, target: Path) -> Path:
        done.append(f"name {target.name}")
        return replace(self, target)

    def renamed(self: Path, target: Path) -> Path:
        done.append(f"name {target.name}")
        return rename(self, target)

    monkeypatch.setattr(os, "fsync", noted)
    monkeypatch.setattr(Path, "replace", replaced)
    monkeypatch.setattr(Path, "rename", renamed)
    write_whole(tmp_path / "one.pdf", b"1")
    assert done == ["flush .one.pdf", "name one.pdf", f"flush {tmp_path.name}"]
    done.clear()
    with whole_folder(tmp_path / "set") as new:
        (new / "inner").mkdir()
        (new / "inner" / "a.pdf").write_bytes(b"a")
    assert done[:-2] == ["flush a.pdf", "flush inner", "flush .set", "name set"]
    assert set(done[-2:]) == {f"flush {tmp_path.name}"}


def test_a_file_system_that_cannot_flush_is_written_to_all_the_same(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    def refuse(handle: int) -> None:
        raise OSError(errno.EINVAL, "Invalid argument")

    monkeypatch.setattr(os, "fsync", refuse)
    write_whole(tmp_path / "a", b"a")
    assert (tmp_path / "a").read_bytes() == b"a"


@pytest.mark.parametrize(
    ("number", "remedy"),
    [
        (errno.ENOSPC, "make room on that disk"),
        (errno.EDQUOT, "make room in what is yours"),
        (errno.ENAMETOOLONG, "give it a shorter name"),
        (errno.EROFS, "choose another folder with --out"),
        (errno.ENOENT, "was its folder taken away meanwhile"),
    ],
)
def test_what_the_system_refuses_is_one_line(
    tmp_path: Path, number: int, remedy: str, monkeypatch: pytest.MonkeyPatch
) -> None:
    before = tmp_path / "a"
    before.write_bytes(b"before")

    def refuse(handle: int) -> None:
        raise OSError(number, os.strerror(number))

    monkeypatch.setattr(os, "fsync", refuse)
    for target in (before, tmp_path / "set"):
        with pytest.raises(UserError, match="cannot be written") as caught:
            write_whole(before, b"new") if target == before else _folder(target)
        assert caught.value.remedy.startswith(remedy)
    assert {path.name for path in tmp_path.iterdir()} == {"a"}
    assert before.read_bytes() == b"before"


def _folder(target: Path) -> None:
    with whole_folder(target) as new:
        (new / "a").write_bytes(b"a")


def test_a_private_file_is_nobody_elses(tmp_path: Path) -> None:
    write_whole(tmp_path / "a", b"a", private=True)
    assert (tmp_path / "a").stat().st_mode & 0o077 == 0


def ended_process() -> int:
    """The number of a process that is no more."""
    with subprocess.Popen([sys.executable, "-c", ""]) as process:
        process.wait()
        return process.pid


def test_leftovers_are_cleared_and_what_was_moved_aside_comes_back(tmp_path: Path) -> None:
    gone, inner = ended_process(), tmp_path / "season" / "march"
    inner.mkdir(parents=True)
    (inner / f".set.new-{gone}.0").mkdir()
    (inner / f".set.new-{gone}.0" / "half.pdf").write_bytes(b"%PDF")
    (inner / f".notes.old-{gone}.1").mkdir()
    (inner / f".notes.old-{gone}.1" / "whole.pdf").write_bytes(b"%PDF")
    (tmp_path / f".season.json.new-{gone}").write_bytes(b"{")
    (tmp_path / f".other.new-{os.getppid()}.3").write_bytes(b"being written")
    (tmp_path / ".cache").mkdir()
    clear_leftovers(tmp_path)
    assert {path.name for path in tmp_path.iterdir()} == {
        "season",
        ".cache",
        f".other.new-{os.getppid()}.3",
    }
    assert [path.name for path in inner.iterdir()] == ["notes"]
    assert (inner / "notes" / "whole.pdf").read_bytes() == b"%PDF"


def test_leftovers_of_a_day_ago_go_whoever_has_their_number_now(tmp_path: Path) -> None:
    old = tmp_path / f".a.new-{os.getppid()}.0"
    old.write_bytes(b"")
    os.utime(old, (1, 1))
    clear_leftovers(tmp_path)
    assert list(tmp_path.iterdir()) == []


def test_only_one_changes_records_at_a_time(tmp_path: Path) -> None:
    program = (
        "import sys, time; from pathlib import Path; from pipeline.base.folders import locked\n"
        f"with locked(Path({str(tmp_path)!r})): print('in', flush=True); sys.stdin.readline()"
    )
    both = {"stdin": subprocess.PIPE, "stdout": subprocess.PIPE}
    with subprocess.Popen([sys.executable, "-c", program], cwd=ROOT, **both) as other:  # type: ignore[call-overload]
        assert other.stdout.readline() == b"in\n"
        handle = os.open(tmp_path, os.O_RDONLY)
        import fcntl

        with pytest.raises(BlockingIOError):
            fcntl.flock(handle, fcntl.LOCK_EX | fcntl.LOCK_NB)
        os.close(handle)
        other.stdin.write(b"\n")
        other.stdin.close()
        with locked(tmp_path):  # once the other lets go
            other.wait()


def test_where_folders_cannot_be_opened_a_file_is_locked(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    class Os:
        name = "nt"

        def __getattr__(self, what: str) -> object:
            return getattr(os, what)

    monkeypatch.setattr(folders, "os", Os())
    with locked(tmp_path):
        pass
    assert [path.name for path in tmp_path.iterdir()] == [".lock"]
    write_whole(tmp_path / "a", b"a")
    assert (tmp_path / "a").read_bytes() == b"a"


# What is read, and where it lies


def collection(shop: Path) -> Path:
    return shop / "templates_svg" / "kitchen_garden"


def outside(shop: Path) -> Path:
    secret = shop.parent / "elsewhere"
    secret.mkdir()
    (secret / "secret.txt").write_text("what nobody should read", "utf-8")
    (secret / "secret.svg").write_text("<svg/>", "utf-8")
    return secret


LEADS_OUT = {
    "licence/en.txt": "secret.txt",
    "labels/en.toml": "secret.txt",
    "fonts/mine.ttf": "secret.txt",
    "a5/notes.svg": "secret.svg",
    "props/cup.svg": "secret.svg",
    "directions": "",
    "words": "",
}


def test_a_link_out_of_the_workspace_is_refused_by_name(shop: Path) -> None:
    secret = outside(shop)
    for place, to in LEADS_OUT.items():
        link, aside = collection(shop) / place, shop / "aside"
        if link.exists():
            link.rename(aside)
        link.parent.mkdir(exist_ok=True)
        link.symlink_to(secret / to)
        with pytest.raises(UserError, match=r"is a link to .*, outside the workspace") as caught:
            load_collection("kitchen_garden", shop / "seasons" / "small.toml")
        assert caught.value.where == str(link)
        link.unlink()
        if aside.exists():
            aside.rename(link)
    (collection(shop) / "licence" / "en.txt").unlink()
    (collection(shop) / "licence" / "en.txt").symlink_to(secret / "secret.txt")
    said = leafset("build", "seasons/small.toml", cwd=shop)
    assert said.returncode == 2
    assert len(said.stderr.splitlines()) == 1


def test_a_link_within_the_workspace_is_read(shop: Path) -> None:
    link = collection(shop) / "a5" / "more.svg"
    link.symlink_to(collection(shop) / "a5" / "notes.svg")
    (collection(shop) / "a5" / ".#lock").symlink_to("nobody@nowhere.123")
    assert load_collection("kitchen_garden", shop / "seasons" / "small.toml")


def test_a_collection_named_by_its_path_may_lie_elsewhere(shop: Path) -> None:
    elsewhere = shop.parent / "drawn"
    collection(shop).rename(elsewhere)
    season = shop / "seasons" / "small.toml"
    assert load_collection("../../drawn", season).folder == elsewhere
    collection(shop).symlink_to(elsewhere)
    assert load_collection("kitchen_garden", season).title


def test_pipes_and_loops_are_refused_and_never_waited_for(shop: Path) -> None:
    there = collection(shop)
    (there / "fonts").mkdir(exist_ok=True)
    os.mkfifo(there / "fonts" / "mine.ttf")
    with pytest.raises(UserError, match="is a pipe or a device, not a file"):
        check_places(there, [shop])
    (there / "fonts" / "mine.ttf").unlink()
    (there / "a5" / "around").symlink_to(there)
    with pytest.raises(UserError, match="around: is a link to a folder that it lies in"):
        check_places(there, [shop])
    (there / "a5" / "around").unlink()
    (there / "a5" / "self.svg").symlink_to(there / "a5" / "self.svg")
    with pytest.raises(UserError, match=r"self\.svg: cannot be read \(Too many levels"):
        check_places(there, [shop])
    season = shop / "seasons" / "pipe.toml"
    os.mkfifo(season)
    with pytest.raises(UserError, match=r"pipe\.toml: is a pipe or a device"):
        read_toml(season)


def test_days_are_not_read_through_a_link(shop: Path) -> None:
    season = shop / "seasons" / "small.toml"
    season.write_text(season.read_text("utf-8") + '\n[almanac]\ndays = ["days.csv"]\n', "utf-8")
    (season.parent / "days.csv").symlink_to(outside(shop) / "secret.txt")
    with pytest.raises(UserError, match=r"days\.csv: is a link to .*secret\.txt"):
        make_season(season, shop / "build")


# A build


def test_a_build_folder_that_is_a_link_is_refused_and_not_written_through(tmp_path: Path) -> None:
    other, out = tmp_path / "other", tmp_path / "build"
    other.mkdir()
    made = {Path("small/march/running"): {"side-1.pdf": b"%PDF"}}
    for place in (out, out / "small", out / "small" / "march", out / "small/march/running"):
        place.parent.mkdir(parents=True, exist_ok=True)
        place.symlink_to(other)
        for write in (partial(clear_leftovers, out), partial(put_in_place, made, out)):
            with pytest.raises(UserError, match="is a link") as caught:
                write()
            assert caught.value.where == str(place)
        assert list(other.iterdir()) == []
        place.unlink()
    (out / "small" / "release").symlink_to(other)
    with pytest.raises(UserError, match="release: is a link"):
        clear_leftovers(out)
    put_in_place(made, out)


def test_a_wrong_file_is_seen_and_made_anew(shop: Path) -> None:
    season, out = shop / "seasons" / "small.toml", shop / "build"
    made = make_season(season, out, cache=out / ".cache")
    folder = next((out / "small").glob("*/*/*"))
    good = {path.name: path.read_bytes() for path in folder.iterdir()}
    for name, data in good.items():
        path, before = folder / name, (folder / name).stat()
        for spoilt in (b"", data[: len(data) // 2], bytes(len(data)), data[:-9] + b"123456789"):
            path.write_bytes(spoilt)
            assert unchanged(season, out) is None
            path.write_bytes(data)
            assert unchanged(season, out) == made
        path.write_bytes(b"")
        os.utime(path, ns=(before.st_atime_ns, before.st_mtime_ns))
        assert unchanged(season, out) is None
        path.write_bytes(data)
    for name, data in good.items():
        (folder / name).write_bytes(bytes(len(data)))
    make_season(season, out, cache=out / ".cache")
    assert {path.name: path.read_bytes() for path in folder.iterdir()} == good


def test_a_build_that_was_copied_has_not_changed_and_clears_what_a_kill_left(shop: Path) -> None:
    season, out = shop / "seasons" / "small.toml", shop / "build"
    made = make_season(season, out)
    for path in (out / "small").rglob("*.pdf"):
        os.utime(path, (1_000_000_000, 1_000_000_000))
    assert unchanged(season, out) == made
    gone = ended_process()
    half = out / "small" / "march" / "running" / f".a5-a4-en-GB.new-{gone}.0"
    half.mkdir()
    (season.parent / f".small.passed.json.new-{gone}").write_bytes(b"")
    said = leafset("build", "seasons/small.toml", cwd=shop)
    assert said.stdout.startswith("Nothing has changed")
    assert not half.exists()
    assert [path.name for path in season.parent.iterdir()] == ["small.toml"]


def test_writing_names_what_it_was_about(tmp_path: Path) -> None:
    with pytest.raises(UserError, match=str(tmp_path)), writing(tmp_path):
        raise OSError(errno.EIO, "Input/output error")


@pytest.fixture
def small_disk(tmp_path: Path) -> Iterator[Path]:
    """A disk of one megabyte, where one can be had."""
    place = tmp_path / "disk"
    place.mkdir()
    mount = ["mount", "-t", "tmpfs", "-o", "size=1m", "leafset", str(place)]
    try:
        subprocess.run(mount, check=True, capture_output=True)
    except (OSError, subprocess.CalledProcessError):
        pytest.skip("disks of a megabyte: needs root and mount")
    yield place
    subprocess.run(["umount", "-l", str(place)], check=True)


def test_a_full_disk_and_one_that_cannot_be_written_are_one_line(
    shop: Path, small_disk: Path
) -> None:
    season, out = shop / "seasons" / "small.toml", small_disk / "build"
    put_in_place({Path("small/march/before"): {"side-1.pdf": b"%PDF"}}, out)
    for how, said in (("ro", "Read-only file system"), ("rw", "")):
        subprocess.run(["mount", "-o", f"remount,{how}", str(small_disk)], check=True)
        if said:
            with pytest.raises(UserError, match=said):
                make_season(season, out)
    (small_disk / "filled").write_bytes(bytes(600_000))
    with pytest.raises(UserError, match=r"cannot be written \(No space left") as caught:
        make_season(season, out, cache=out / ".cache")
    assert caught.value.remedy.startswith("make room on that disk")
    made = [path for path in (out / "small").rglob("*") if path.is_file()]
    assert [path.read_bytes() for path in made] == [b"%PDF"]


def test_a_name_too_long_and_a_folder_that_is_gone_are_one_line(shop: Path, tmp_path: Path) -> None:
    season = shop / "seasons" / "small.toml"
    for out in (tmp_path / ("a" * 300), tmp_path / "/".join(["a" * 200] * 30)):
        with pytest.raises(UserError, match="File name too long") as caught:
            clear_leftovers(out)
        assert caught.value.remedy.startswith("give it a shorter name")
        with pytest.raises(UserError, match="File name too long"):
            make_season(season, out)
    with pytest.raises(UserError, match="taken away meanwhile"):
        _folder_gone(tmp_path / "build" / "set")
    assert not (tmp_path / "build").exists()


def _folder_gone(target: Path) -> None:
    with whole_folder(target) as new:
        shutil.rmtree(target.parent)
        (new / "a").write_bytes(b"a")


KEEPS_FONTS = """
import sys, time
from concurrent.futures import ProcessPoolExecutor
from pipeline.base.folders import scratch_folder

if __name__ == "__main__":
    print(scratch_folder("faces"), flush=True)
    if "pool" in sys.argv:
        with ProcessPoolExecutor(1) as pool:
            print(pool.submit(scratch_folder, "faces").result(), flush=True)
    else:
        time.sleep(60)
"""


@pytest.fixture
def passing_files(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    """The system's folder of passing files."""
    monkeypatch.setenv("TMPDIR", str(tmp_path))
    monkeypatch.setattr(tempfile, "tempdir", None)
    return tmp_path


def test_fonts_that_a_killed_process_kept_are_taken_away_by_the_next(passing_files: Path) -> None:
    command = [sys.executable, "-c", KEEPS_FONTS]
    with subprocess.Popen(command, cwd=ROOT, stdout=subprocess.PIPE, text=True) as process:
        assert process.stdout is not None
        left = Path(process.stdout.readline().strip())
        running = scratch_folder("faces")
        assert left.is_dir()  # its process still runs
        process.kill()
    own = scratch_folder("fonts")
    assert {running, own} == {*passing_files.iterdir()}


def test_processes_of_a_pool_take_their_fonts_away(passing_files: Path) -> None:
    command = [sys.executable, "-c", KEEPS_FONTS, "pool"]
    kept = subprocess.run(command, cwd=ROOT, capture_output=True, text=True, check=True).stdout
    assert len(set(kept.split())) == 2
    assert not list(passing_files.iterdir())
