"""Folders and files that appear whole or not at all."""

from __future__ import annotations

import contextlib
import os
import shutil
from collections.abc import Iterator
from pathlib import Path

from pipeline.base.errors import UserError

_NEW, _OLD = ".new", ".old"


@contextlib.contextmanager
def whole_folder(target: Path) -> Iterator[Path]:
    """A new folder to write into, which takes the place of ``target`` once the block is done.

    When the block fails or is interrupted nothing is kept of it and ``target`` stays as it was.
    Raises UserError when the folder cannot be written to.
    """
    new = target.with_name(f".{target.name}{_NEW}-{os.getpid()}")
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
    new = target.with_name(f".{target.name}{_NEW}-{os.getpid()}")
    with writing(target):
        target.parent.mkdir(parents=True, exist_ok=True)
        try:
            new.write_bytes(data)
            new.replace(target)
        finally:
            new.unlink(missing_ok=True)


def _swap(new: Path, target: Path) -> None:
    old = target.with_name(f".{target.name}{_OLD}-{os.getpid()}")
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
