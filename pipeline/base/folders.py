"""Folders and files: names that every system takes, and writing that is whole or not at all."""

from __future__ import annotations

import contextlib
import errno
import itertools
import os
import re
import shutil
import stat
import sys
import tempfile
import time
from collections.abc import Iterator, Mapping, Sequence
from multiprocessing.util import Finalize
from pathlib import Path

from pipeline.base.errors import UserError

# Names that some systems keep for devices. From memory.
_KEPT = {"con", "prn", "aux", "nul", *(f"{d}{n}" for d in ("com", "lpt") for n in range(1, 10))}


def safe_name(name: str) -> str:
    """``name`` itself, if every system takes it as a folder's name.

    Raises ``ValueError`` with what is wrong and what to do otherwise.

    >>> safe_name("two-flap-list")
    'two-flap-list'
    """
    safe = re.fullmatch(r"[A-Za-z0-9](?:[A-Za-z0-9._-]{0,62}[A-Za-z0-9_-])?", name)
    if not safe or name.casefold() in _KEPT:
        raise ValueError(
            f"'{name}' cannot be the name of a folder",
            "use letters a to z, figures, '-' and '_'",
        )
    return name


@contextlib.contextmanager
def whole_folder(target: Path) -> Iterator[Path]:
    """A new folder to write into, which takes the place of ``target`` once the block is done.

    When the block fails or is interrupted nothing is kept of it and ``target`` stays as it was; a
    power cut leaves the one or the other. Raises UserError when the folder cannot be written to.
    """
    new = _beside(target, "new")
    with writing(target):
        refuse_link(target)
        new.mkdir(parents=True)
    try:
        with writing(target):
            yield new
            _flush_below(new)
            put_folder(new, target)
            _flush(target.parent)
    finally:
        shutil.rmtree(new, ignore_errors=True)


def write_files(folder: Path, files: Mapping[str, bytes]) -> None:
    """Writes files into a new folder, with the folders that their names ask for."""
    for name, data in files.items():
        (folder / name).parent.mkdir(parents=True, exist_ok=True)
        (folder / name).write_bytes(data)


def write_whole(target: Path, data: bytes, *, private: bool = False) -> None:
    """Writes a file that appears whole or not at all, even if the power is cut.

    A ``private`` one is for nobody but who runs the program. Raises UserError when it cannot.
    """
    new = _beside(target, "new")
    with writing(target):
        target.parent.mkdir(parents=True, exist_ok=True)
        try:
            how = os.O_WRONLY | os.O_CREAT | os.O_EXCL | getattr(os, "O_BINARY", 0)
            with os.fdopen(os.open(new, how, 0o600 if private else 0o666), "wb") as file:
                file.write(data)
                file.flush()
                _to_disk(file.fileno())
            new.replace(target)
            _flush(target.parent)
        finally:
            new.unlink(missing_ok=True)


_number = itertools.count()


def _beside(target: Path, kind: str) -> Path:
    """A hidden name in the same folder, which no other process or thread uses."""
    return target.with_name(f".{target.name}.{kind}-{os.getpid()}.{next(_number)}")


_LEFT = re.compile(r"\.(?P<name>.+)\.(?P<kind>new|old)-(?P<process>\d+)(?:\.\w+)?")
_DAY = 24 * 3600.0


def clear_leftovers(folder: Path, *, below: bool = True) -> None:
    """Takes away what runs that were ended left half-written in a folder, and ``below`` it.

    What was moved aside to make room is moved back where nothing came into its place. What a
    process that still runs is writing stays. Raises UserError for a link among the folders: what
    is written there would come to lie elsewhere.
    """
    with writing(folder):
        refuse_link(folder)
        for entry in _entries(folder):
            path = Path(entry.path)
            left = _LEFT.fullmatch(entry.name)
            if left is None:
                if below and entry.is_symlink():
                    refuse_link(path)
                if below and not entry.name.startswith(".") and entry.is_dir(follow_symlinks=False):
                    clear_leftovers(path)
            elif not _may_be_written(int(left["process"]), entry):
                _clear(path, path.with_name(left["name"]), left["kind"])


def _entries(folder: Path) -> list[os.DirEntry[str]]:
    try:
        with os.scandir(folder) as entries:
            return list(entries)
    except FileNotFoundError:
        return []


def _may_be_written(process: int, entry: os.DirEntry[str]) -> bool:
    """Whether the process that a half-written thing is called after may still be at it."""
    with contextlib.suppress(OSError):
        if time.time() - entry.stat(follow_symlinks=False).st_mtime > _DAY:
            return False
    return process != os.getpid() and _may_run(process)


def _may_run(process: int) -> bool:
    """Whether there is such a process; on Windows, where asking would end it, nobody knows."""
    if sys.platform == "win32":
        return True
    try:
        os.kill(process, 0)
    except ProcessLookupError:
        return False
    except OSError:
        return True
    return True


def _clear(path: Path, target: Path, kind: str) -> None:
    if kind == "old" and not target.exists():
        path.rename(target)
    elif path.is_dir() and not path.is_symlink():
        shutil.rmtree(path, ignore_errors=True)
    else:
        path.unlink(missing_ok=True)


_SCRATCH = re.compile(r"leafset-[a-z]+-(?P<process>\d+)-\w+")


def scratch_folder(kind: str) -> Path:
    """A new folder among the system's passing files, gone when this process ends.

    ``kind`` is a word in its name. Those of processes that were ended before they could take
    theirs away are taken away now.
    """
    for entry in _entries(Path(tempfile.gettempdir())):
        left = _SCRATCH.fullmatch(entry.name)
        if left and entry.is_dir(follow_symlinks=False) and not _may_run(int(left["process"])):
            shutil.rmtree(entry.path, ignore_errors=True)
    folder = Path(tempfile.mkdtemp(prefix=f"leafset-{kind}-{os.getpid()}-"))
    # Unlike what Python itself does at the end, this is done by processes of a pool as well.
    Finalize(None, shutil.rmtree, (folder, True), exitpriority=_LAST)
    return folder


_LAST = -10
"""After the processes that this one started have ended: they read what is in its folders."""


def refuse_link(path: Path) -> None:
    """Raises UserError for a link where a folder or file of the program's own should be."""
    if path.is_symlink():
        raise UserError(
            str(path),
            f"is a link (to {os.path.realpath(path)}), and nothing is written through links",
            "take it away, or give the real folder with --out",
        )


def put_folder(new: Path, target: Path) -> None:
    """Renames a folder to another name, in the place of what has that name."""
    old = _beside(target, "old")
    if target.exists():
        target.rename(old)
    try:
        new.rename(target)
    except BaseException:
        if old.exists():
            old.rename(target)
        raise
    _flush(target.parent)
    shutil.rmtree(old, ignore_errors=True)


def _flush_below(folder: Path) -> None:
    """Has everything in a folder written to the disk, and the folder's own table."""
    for path in folder.iterdir():
        if path.is_dir():
            _flush_below(path)
        else:
            _flush(path)
    _flush(folder)


def _flush(path: Path) -> None:
    """Has a file, or a folder's table of names, written to the disk."""
    if os.name == "nt" and path.is_dir():
        return  # which cannot be opened there, and needn't be
    handle = os.open(path, os.O_RDWR if path.is_file() else os.O_RDONLY)
    try:
        _to_disk(handle)
    finally:
        os.close(handle)


_NOT_THERE = (errno.EINVAL, errno.ENOTSUP, errno.EBADF)


def _to_disk(handle: int) -> None:
    """Waits until an open file is on the disk; on file systems that can't tell, does nothing."""
    try:
        if sys.platform == "darwin":  # where fsync stops at the drive's own memory (fsync(2))
            import fcntl

            fcntl.fcntl(handle, fcntl.F_FULLFSYNC)
        else:
            os.fsync(handle)
    except OSError as problem:
        if problem.errno not in _NOT_THERE:
            raise


@contextlib.contextmanager
def locked(folder: Path) -> Iterator[None]:
    """Waits until no other program changes records in a folder, and keeps others waiting.

    The folder itself is locked, not a file, because files are replaced; the system lets go of the
    lock when its process ends, however it ends. Raises UserError when it cannot be locked.
    """
    with writing(folder):
        if os.name == "nt":  # folders can't be opened there, so a file stands for it
            handle = os.open(folder / ".lock", os.O_RDWR | os.O_CREAT)
        else:
            handle = os.open(folder, os.O_RDONLY)
    try:
        _lock(handle)
        yield
    finally:
        os.close(handle)


def _lock(handle: int) -> None:
    if sys.platform == "win32":
        import msvcrt

        while True:
            with contextlib.suppress(OSError):  # it gives up after ten seconds
                msvcrt.locking(handle, msvcrt.LK_LOCK, 1)
                return
    else:
        import fcntl

        fcntl.flock(handle, fcntl.LOCK_EX)


@contextlib.contextmanager
def writing(target: Path) -> Iterator[None]:
    """Turns the system's refusal to write into one clear line."""
    try:
        yield
    except OSError as problem:
        place = problem.filename or target
        raise UserError(
            str(place),
            f"cannot be written ({problem.strerror or problem})",
            _INSTEAD.get(
                problem.errno or 0, "choose another folder with --out, or make this one writable"
            ),
        ) from None


_INSTEAD = {
    errno.ENOSPC: "make room on that disk and try again; what was made before is whole",
    errno.EDQUOT: "make room in what is yours of that disk and try again",
    errno.ENAMETOOLONG: "give it a shorter name, or choose a folder nearer to the disk's root",
    errno.ENOENT: "was its folder taken away meanwhile? Try again",
    errno.EIO: "the disk does not answer; look after it first",
}
"""What to do about some of the system's refusals; of others a change of place helps."""


def check_file(path: Path) -> None:
    """Raises UserError for what is there but is no file to be read: a folder, a pipe, a device."""
    if _is_there(path) and not stat.S_ISREG(mode := path.stat().st_mode):
        raise UserError(str(path), f"is {_sort(mode)}, not a file", "put a real file there")


def _is_there(path: Path) -> bool:
    """Whether something has that name; a name that no system takes is nobody's."""
    try:
        return path.exists()
    except (OSError, ValueError):
        return False


def check_named(path: Path) -> None:
    """Raises UserError for a file named by its path that is none, or a link to one elsewhere than
    in the folder it is said to be in."""
    check_file(path)
    real = Path(os.path.realpath(path))
    if _is_there(path) and not real.is_relative_to(os.path.realpath(path.parent)):
        raise UserError(
            str(path),
            f"is a link to {real}",
            "name that file itself, or copy it there; what is read can go out to buyers",
        )


def _sort(mode: int) -> str:
    return "a folder" if stat.S_ISDIR(mode) else "a pipe or a device"


def check_places(folder: Path, within: Sequence[Path]) -> None:
    """Raises UserError for what in a folder, or below it, must not be read.

    Those are links whose real place is in none of the folders ``within``, links that lead back to
    a folder they lie in, pipes and devices.
    """
    roots = [Path(os.path.realpath(one)) for one in within]
    _check_places(folder, roots, (os.path.realpath(folder),))


def _check_places(folder: Path, roots: Sequence[Path], around: tuple[str, ...]) -> None:
    with reading_folder(folder):
        entries = sorted(os.scandir(folder), key=lambda one: one.name)
    for entry in entries:
        path, real = Path(entry.path), entry.path
        if entry.is_symlink():
            real = os.path.realpath(path)
            if entry.name.startswith(".") and not Path(real).exists():
                continue  # editors lock files with such
            if not any(Path(real).is_relative_to(root) for root in roots):
                raise UserError(
                    str(path),
                    f"is a link to {real}, outside the workspace",
                    "copy the file itself there; what is read can go out to buyers",
                )
        with reading_folder(path):
            mode = entry.stat().st_mode
        if stat.S_ISDIR(mode):
            real = os.path.realpath(real)
            if real in around:
                raise UserError(str(path), "is a link to a folder that it lies in", "take it away")
            _check_places(path, roots, (*around, real))
        elif not stat.S_ISREG(mode):
            raise UserError(str(path), f"is {_sort(mode)}, not a file", "take it away")


@contextlib.contextmanager
def reading_folder(folder: Path) -> Iterator[None]:
    """Turns the system's refusal to read into one clear line."""
    try:
        yield
    except OSError as problem:
        place = str(problem.filename or folder)
        what = f"cannot be read ({problem.strerror or problem})"
        raise UserError(place, what, "take it away, or make it readable") from None
