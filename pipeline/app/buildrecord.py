"""What a build made, and whether any of what it was made from has changed since.

Kept beside the files in ``.made.json``. Looking it up needs no other part of the program, so that
a build that has nothing to do ends at once.
"""

from __future__ import annotations

import hashlib
import json
import tomllib
from collections.abc import Iterable, Sequence
from dataclasses import asdict, dataclass
from pathlib import Path
from typing import TYPE_CHECKING

from pipeline.base.cache import program
from pipeline.base.folders import write_whole

if TYPE_CHECKING:
    from pipeline.impose.contents import Contents

RECORD = ".made.json"
RELEASE = "release"
"""Where bundles for buyers are, within a season's folder: no build makes or removes them."""


@dataclass(frozen=True)
class FinishedSet:
    """One line of the table a build ends with: what was made, and where.

    ``size`` is in bytes, ``ink_percent`` the mean share of a side that ink covers; the figures
    between are those of ``pipeline.impose.bench``. ``folder`` is relative to the build's.
    """

    period: str
    name: str
    paper: str
    spreads: int
    leaves: int
    sheets: int
    cuts: int
    folds: int
    punch_strokes: int
    weight_g: float
    thickness_mm: float
    ink_percent: float
    files: int
    size: int
    folder: str

    @classmethod
    def from_contents(
        cls, contents: Contents, spreads: int, paper: str, folder: str
    ) -> FinishedSet:
        """The line for a set whose table of contents this is."""
        bench = contents.bench
        return cls(
            period=contents.period.name,
            name=contents.set.name,
            paper=paper,
            spreads=spreads,
            leaves=len(contents.leaves),
            sheets=bench.sheets,
            cuts=bench.cuts,
            folds=bench.folds,
            punch_strokes=bench.punch_strokes,
            weight_g=bench.weight_g,
            thickness_mm=bench.thickness_mm,
            ink_percent=bench.ink.mean_percent if bench.ink else 0.0,
            files=len(contents.files),
            size=sum(file.bytes for file in contents.files),
            folder=folder,
        )


def write_build_record(
    season: Path, inputs: Sequence[Path], out: Path, folder: Path, made: Sequence[FinishedSet]
) -> None:
    """Notes what was made under ``folder`` from ``inputs`` (files, and folders as a whole)."""
    outputs = [path for path in folder.rglob("*") if path.is_file() and path.name != RECORD]
    record = {
        "program": program(),
        "season": str(season.resolve()),
        "inputs": {str(path): _digest(path) for path in inputs},
        "outputs": {str(path.relative_to(out)): _stat(path) for path in _own(outputs, folder)},
        "made": [asdict(one) for one in made],
    }
    write_whole(folder / RECORD, json.dumps(record, indent=1).encode())


def unchanged(season: Path, out: Path) -> list[FinishedSet] | None:
    """What the last build made, if a build now would make the very same; else None."""
    try:
        name = tomllib.loads(season.read_text("utf-8"))["name"]
        record = json.loads((out / name / RECORD).read_text("utf-8"))
        same = (
            record["program"] == program()
            and record["season"] == str(season.resolve())
            and all(_digest(Path(path)) == known for path, known in record["inputs"].items())
            and all(_stat(out / path) == known for path, known in record["outputs"].items())
        )
        return [FinishedSet(**one) for one in record["made"]] if same else None
    except (OSError, ValueError, KeyError, TypeError):
        return None


def _own(outputs: Iterable[Path], folder: Path) -> list[Path]:
    """Files a build makes; proofs, bundles and kept SVGs come and go without it."""

    def others(path: Path) -> bool:
        parts = path.relative_to(folder).parts
        return any(part in ("proof", RELEASE) or part.startswith("svg-") for part in parts)

    return [path for path in outputs if not others(path)]


def _digest(path: Path) -> str:
    """What is in a file, or in all files of a folder; a missing one counts too."""
    digest = hashlib.sha256()
    files = sorted(path.rglob("*")) if path.is_dir() else [path]
    for file in files:
        if file.is_file():
            digest.update(str(file).encode() + b"\0" + file.read_bytes())
    return digest.hexdigest()


def _stat(path: Path) -> list[int]:
    found = path.stat()
    return [found.st_size, found.st_mtime_ns]
