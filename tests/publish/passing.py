"""Passing sets for press in tests, as somebody at the desk would."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path

from pipeline.app.check import standings
from pipeline.proof.approval.fingerprints import (
    PASSED_PICTURES,
    PRINT_DPI,
    PassedPictures,
    page_as_printed,
    pages_of,
)
from pipeline.proof.approval.passed import PassFile, Seen, change_pass_file, pass_file, with_passed
from pipeline.proof.pictures.pictures import open_set

AT = "2027-01-05T09:00:00Z"


def pass_sets(season: Path, out: Path, *, only: str | None = None, by: str = "Ada") -> None:
    """Passes every page of every built set of a season (or of one set), keeping what they show."""
    kept = PassedPictures(out / PASSED_PICTURES)
    for folder in (one.folder for one in standings(season, out, only)[1]):
        seen = {}
        with open_set(folder, PRINT_DPI) as pictures:
            for key, leaf, face in pages_of(pictures.contents):
                page = pictures.contents.leaves[leaf].page(face)
                assert page is not None
                found = page_as_printed(pictures, leaf, face)
                kept.keep(found)
                seen[key] = Seen(page.label, found.print)
        name = "/".join(folder.parts[-3:])
        change_pass_file(pass_file(season), _passed(name, seen, by))


def _passed(name: str, seen: dict[str, Seen], by: str) -> Callable[[PassFile], PassFile]:
    def change(record: PassFile) -> PassFile:
        return record.having(name, with_passed(record.of(name), seen, by, AT))

    return change
