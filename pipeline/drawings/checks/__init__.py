"""Lint: what in a drawing will not print as it looks, before a build is wasted on it.

Looks through drawings rule by rule, and mends what can be mended without a second thought. Where a
rule is added is said in ``base/findings``.
"""

from __future__ import annotations

from collections.abc import Sequence
from pathlib import Path

from pipeline.base.errors import UserError
from pipeline.base.findings import Severity
from pipeline.base.folders import write_whole
from pipeline.drawings.checks.inspection import DrawingFinding, Inspection, summary
from pipeline.drawings.checks.keynames import check_keys
from pipeline.drawings.checks.lettersandpictures import check_fonts, check_pictures
from pipeline.drawings.checks.mends import check_hairlines, check_ids, check_size, fixed
from pipeline.drawings.checks.sourcetext import SourceText, with_numbers
from pipeline.drawings.checks.undrawn import read_on
from pipeline.drawings.checks.usage import Usage, Usages
from pipeline.drawings.checks.zones import check_zones
from pipeline.fill.template import TemplateFile, open_template, trimmed
from pipeline.svg.refusals import reading
from pipeline.text.fonts import FontBook

__all__ = ["RULES", "DrawingFinding", "lint", "summary", "templates_under"]

RULES = (
    check_size,
    check_keys,
    check_zones,
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
    # What lies deeper in a collection, or beside its sizes, does not belong to a binder.
    collections = sorted(file.parent for file in path.rglob("collection.toml"))
    pages = [file for folder in collections for file in sorted(folder.glob("*/*.svg"))]
    found = [file for file in pages or sorted(path.rglob("*.svg")) if file.name[0] != "."]
    if not found:
        raise UserError(str(path), "holds no SVG", "give a template, or a folder that holds some")
    return found


def lint(paths: Sequence[Path], *, fix: bool = False) -> tuple[list[DrawingFinding], int]:
    """What is to be said of templates, worst first within each, and how many places were mended.

    With ``fix`` the files are mended in place where that is mechanical, and what is said is what
    is left. Raises UserError for a file that cannot be read or written, and a broken collection.
    """
    usages = Usages()
    books: dict[Path | None, FontBook] = {}
    findings: list[DrawingFinding] = []
    mended = 0
    for path in paths:
        usage = usages.of(path)
        file = open_template(path)
        found, inspection = _looked_at(usage, file, books)
        while fix and inspection is not None:
            data, count = fixed(inspection)
            if not count:
                break
            write_whole(path, data)
            mended += count
            file = TemplateFile(path, data)
            found, inspection = _looked_at(usage, file, books)
        findings += found
    return findings, mended


def _looked_at(
    usage: Usage, file: TemplateFile, books: dict[Path | None, FontBook]
) -> tuple[list[DrawingFinding], Inspection | None]:
    raw, numbered = with_numbers(file)
    try:
        template, refused = read_on(numbered)
    except UserError as problem:
        remedy = problem.remedy
        found = DrawingFinding("file", problem.what, usage.path, problem.line, remedy=remedy)
        return [found], None
    assert raw is not None
    template = trimmed(template, usage.size_mm, usage.bleeds_mm)
    source = SourceText.of(file.data)
    findings = [
        DrawingFinding(
            "undrawn", one.what, usage.path, source.line(one.number), one.element, remedy=one.remedy
        )
        for one in refused
    ]
    inspection = Inspection(usage, source, raw, template, _book(usage, books), findings)
    for rule in RULES:
        with reading(file.name):
            rule(inspection)
    worst = [*Severity]
    findings.sort(key=lambda one: (worst.index(one.severity), one.line))
    return findings, inspection


def _book(usage: Usage, books: dict[Path | None, FontBook]) -> FontBook:
    collection = usage.collection
    folder = collection.folder if collection else None
    if folder not in books:
        fonts = collection.fonts_folder if collection else None
        fallback = collection.fallback_fonts if collection else None
        books[folder] = FontBook(fonts, fallback, embedded=usage.embedded)
    return books[folder]
