"""Folders and files: names that every system takes, and writing that is whole or not at all."""

from __future__ import annotations

import contextlib
import os
import re
import shutil
from collections.abc import Iterator
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

    When the block fails or is interrupted nothing is kept of it and ``target`` stays as it was.
    Raises UserError when the folder cannot be written to.
    """
    new = _beside(target, "new")
    with writing(target):
        new.mkdir(parents=True)
    try:
        with writing(target):
            yield new
            _swap(new, target)
    finally:
        shutil.rmtree(new, ignore_errors=True)


def write_whole(target: Path, data: bytes) -> None:
    """Writes a file that appears whole or not at all; raises UserError when it cannot."""
    new = _beside(target, "new")
    with writing(target):
        target.parent.mkdir(parents=True, exist_ok=True)
        try:
            new.write_bytes(data)
            new.replace(target)
        finally:
            new.unlink(missing_ok=True)


def _beside(target: Path, kind: str) -> Path:
    """A hidden name in the same folder, which no other process uses."""
    return target.with_name(f".{target.name}.{kind}-{os.getpid()}")


def _swap(new: Path, target: Path) -> None:
    old = _beside(target, "old")
    if target.exists():
        target.rename(old)
    try:
        new.rename(target)
    except BaseException:
        if old.exists():
            old.rename(target)
        raise
    shutil.rmtree(old, ignore_errors=True)


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
            "choose another folder with --out, or make this one writable",
        ) from None
