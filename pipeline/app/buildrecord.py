"""What a build made, and whether anything it was built from has changed since.

Kept beside the files in ``.made.json``. Looking it up needs few other parts of the program, so
that a build that has nothing to do ends at once.
"""

from __future__ import annotations

import hashlib
import tomllib
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import ClassVar

from pipeline.base.cache import program
from pipeline.base.errors import UserError
from pipeline.base.records import NewerRecordError, Record, read_record, write_record
from pipeline.plan.model import LeftOut

RECORD = ".made.json"
RELEASE = "release"
"""Where bundles for buyers are, within a season's folder: no build makes or removes them."""


@dataclass(frozen=True)
class FinishedSet:
    """One line of the table a build ends with: what was made, and where.

    ``size`` is in bytes, ``ink_percent`` the mean share of a side that ink covers; the figures
    between are those of ``pipeline.impose.bench``. ``folder`` is relative to the build's. For
    ``left_out`` see ``Contents``.
    """

    period: str
    name: str
    paper: str
    spreads: int
    leaves: int
    sheets: int
    cuts: int
    folds: int
    tabs: int
    punch_strokes: int
    weight_g: float
    thickness_mm: float
    ink_percent: float
    files: int
    size: int
    folder: str
    left_out: tuple[LeftOut, ...] = ()


class BuildRecord(Record):
    """What the last build of a whole season was built from, and the sets it made.

    ``program`` is its digest, ``inputs`` has that of each file, or folder as a whole; ``outputs``
    has size in bytes, time (ns) and digest of each file, by its path in the build folder.
    """

    NEWEST: ClassVar[int] = 2

    program: str
    season: Path
    inputs: Mapping[Path, str]
    outputs: Mapping[Path, tuple[int, int, str]]
    sets: tuple[FinishedSet, ...]


def write_build_record(
    season: Path, inputs: Sequence[Path], out: Path, folder: Path, made: Sequence[FinishedSet]
) -> None:
    """Notes what was made under ``folder`` from ``inputs`` (files, and folders as a whole)."""
    record = BuildRecord(
        program=program(),
        season=season.resolve(),
        inputs={path: _digest(path) for path in inputs},
        outputs={
            path.relative_to(out): (*_stat(path), _digest_of(path))
            for path in folder.rglob("*")
            if path.is_file() and path.name != RECORD and _is_built(path.relative_to(folder))
        },
        sets=tuple(made),
    )
    write_record(folder / RECORD, record)


def unchanged(season: Path, out: Path) -> list[FinishedSet] | None:
    """What the last build made, if a build now would make the very same; else None.

    Raises UserError when a newer version of the program built it.
    """
    try:
        name = tomllib.loads(season.read_text("utf-8"))["name"]
        record = read_record(out / name / RECORD, BuildRecord, "")
        same = (
            record is not None
            and record.program == program()
            and record.season == season.resolve()
            and all(_digest(path) == known for path, known in record.inputs.items())
            and all(_is_as_noted(out / path, noted) for path, noted in record.outputs.items())
        )
    except NewerRecordError:
        raise
    except (UserError, OSError, ValueError, KeyError, TypeError):
        return None
    return list(record.sets) if record and same else None


def _is_built(path: Path) -> bool:
    """Whether a build makes this; proofs, bundles and kept SVGs come and go without it."""
    return not any(part in ("proof", RELEASE) or part.startswith("svg-") for part in path.parts)


def _digest(path: Path) -> str:
    """What is in a file, or in all files of a folder; a missing one counts too."""
    digest = hashlib.sha256()
    files = sorted(path.rglob("*")) if path.is_dir() else [path]
    for file in files:
        if file.is_file():
            digest.update(str(file).encode() + b"\0" + file.read_bytes())
    return digest.hexdigest()


def _is_as_noted(path: Path, noted: tuple[int, int, str]) -> bool:
    """Whether a file is the one that was made; what is in it is looked at only if its time tells
    that somebody wrote it since."""
    size, time, digest = noted
    now = _stat(path)
    return now[0] == size and (now[1] == time or _digest_of(path) == digest)


def _digest_of(path: Path) -> str:
    with path.open("rb") as file:
        return hashlib.file_digest(file, "sha256").hexdigest()


def _stat(path: Path) -> tuple[int, int]:
    found = path.stat()
    return found.st_size, found.st_mtime_ns
