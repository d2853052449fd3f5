"""Passing sets for press in tests, as somebody at the desk would."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path

from pipeline.app.build import built_folders
from pipeline.proof.approval.fingerprints import PRINT_DPI, pages_of, printed
from pipeline.proof.approval.keepsakes import FOLDER, Keepsakes
from pipeline.proof.approval.record import PassFile, Seen, change_pass_file, pass_file, with_passed
from pipeline.proof.pictures.pictures import open_set

AT = "2027-01-05T09:00:00Z"


def pass_sets(season: Path, out: Path, *, only: str | None = None, by: str = "Ada") -> None:
    """Passes every page of every built set of a season (or of one set), keeping what they show."""
    kept = Keepsakes(out / FOLDER)
    for folder in built_folders(season, out, only):
        seen = {}
        with open_set(folder, PRINT_DPI) as pictures:
            for key, leaf, face in pages_of(pictures.contents):
                page = pictures.contents.leaves[leaf].page(face)
                assert page is not None
                found = printed(pictures, leaf, face)
                kept.keep(found)
                seen[key] = Seen(page.label, found.print)
        name = "/".join(folder.parts[-3:])
        change_pass_file(pass_file(season), _passed(name, seen, by))


def _passed(name: str, seen: dict[str, Seen], by: str) -> Callable[[PassFile], PassFile]:
    def change(record: PassFile) -> PassFile:
        return record.having(name, with_passed(record.of(name), seen, by, AT))

    return change
