"""Looks through drawings rule by rule, and mends what can be mended without a second thought."""

from __future__ import annotations

from collections.abc import Sequence
from pathlib import Path

from pipeline.base.errors import UserError
from pipeline.base.folders import write_whole
from pipeline.drawings.checks.drawing import Drawing
from pipeline.drawings.checks.finding import Finding, Severity
from pipeline.drawings.checks.fixing import fixed
from pipeline.drawings.checks.ids import check_ids
from pipeline.drawings.checks.keys import check_keys
from pipeline.drawings.checks.marks import check_fonts, check_hairlines, check_pictures
from pipeline.drawings.checks.place import Place, Places
from pipeline.drawings.checks.places import check_places
from pipeline.drawings.checks.sizes import check_size
from pipeline.drawings.checks.source import Source, numbered
from pipeline.drawings.checks.undrawn import read_on
from pipeline.fill.template import TemplateFile, open_template
from pipeline.svg.refusals import reading
from pipeline.text.fonts import FontBook

_RULES = (
    check_size,
    check_keys,
    check_places,
    check_fonts,
    check_hairlines,
    check_pictures,
    check_ids,
)


def templates_under(path: Path) -> list[Path]:
    """A template itself, or all in a folder or a collection, in the order of their names.

    Raises UserError when there are none.
    """
    if path.is_file():
        return [path]
    if not path.is_dir():
        raise UserError(str(path), "there is no such file or folder", "check the path")
    # What lies deeper in a collection, or beside its sizes, is no page of a binder.
    collections = sorted(file.parent for file in path.rglob("collection.toml"))
    pages = [file for folder in collections for file in sorted(folder.glob("*/*.svg"))]
    found = [file for file in pages or sorted(path.rglob("*.svg")) if file.name[0] != "."]
    if not found:
        raise UserError(str(path), "holds no SVG", "give a template, or a folder that holds some")
    return found


def lint(paths: Sequence[Path], *, fix: bool = False) -> tuple[list[Finding], int]:
    """What is to be said of templates, worst first within each, and how many places were mended.

    With ``fix`` the files are mended in place where that is mechanical, and what is said is what
    is left. Raises UserError for a file that cannot be read or written, and a broken collection.
    """
    places = Places()
    books: dict[Path | None, FontBook] = {}
    findings: list[Finding] = []
    mended = 0
    for path in paths:
        place = places.of(path)
        file = open_template(path)
        found, drawing = _looked_at(place, file, books)
        while fix and drawing is not None:
            data, count = fixed(drawing)
            if not count:
                break
            write_whole(path, data)
            mended += count
            file = TemplateFile(path, data)
            found, drawing = _looked_at(place, file, books)
        findings += found
    return findings, mended


def _looked_at(
    place: Place, file: TemplateFile, books: dict[Path | None, FontBook]
) -> tuple[list[Finding], Drawing | None]:
    raw, with_numbers = numbered(file)
    try:
        template, refused = read_on(with_numbers)
    except UserError as problem:
        return [
            Finding(
                Severity.MEND, "file", place.path, problem.line, "",
                problem.what, problem.remedy,
            )
        ], None  # fmt: skip
    assert raw is not None
    source = Source.of(file.data)
    findings = [
        Finding(
            Severity.MEND, "undrawn", place.path, source.line(one.number), one.element,
            one.what, one.remedy,
        )
        for one in refused
    ]  # fmt: skip
    drawing = Drawing(place, source, raw, template, _book(place, books), findings)
    for rule in _RULES:
        with reading(file.name):
            rule(drawing)
    worst = [*Severity]
    findings.sort(key=lambda one: (worst.index(one.severity), one.line))
    return findings, drawing


def _book(place: Place, books: dict[Path | None, FontBook]) -> FontBook:
    collection = place.collection
    folder = collection.folder if collection else None
    if folder not in books:
        fonts = collection.fonts_folder if collection else None
        fallback = collection.fallback_fonts if collection else None
        books[folder] = FontBook(fonts, fallback, embedded=place.embedded)
    return books[folder]
