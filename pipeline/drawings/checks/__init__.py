"""Lint: what in a drawing will not print as it looks, before a build is wasted on it.

Each rule is a function in ``RULES`` that yields its findings. Where a rule is added is said in
``base/findings``.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator, Sequence
from dataclasses import replace
from pathlib import Path

from lxml import etree

from pipeline.base.cache import Cache
from pipeline.base.errors import UserError
from pipeline.base.findings import Severity
from pipeline.base.folders import write_whole
from pipeline.base.geometry import Rect
from pipeline.draw import draw
from pipeline.drawings.checks.inspection import (
    AskedLabel,
    DrawingFinding,
    Inspection,
    is_key,
    item_boxes,
    summary,
)
from pipeline.drawings.checks.keynames import check_figures, check_keys, check_missing, labels_on
from pipeline.drawings.checks.lettersandpictures import (
    check_effects,
    check_fonts,
    check_pictures,
    check_sight,
    check_typed_times,
)
from pipeline.drawings.checks.mends import check_hairlines, check_ids, check_joins, check_size
from pipeline.drawings.checks.secondengine import check_other_engine
from pipeline.drawings.checks.sourcetext import SourceText, read_on, with_numbers
from pipeline.drawings.checks.usage import Usage, Usages, facts_drawn
from pipeline.drawings.checks.zones import check_zones
from pipeline.fill.keys import ruled
from pipeline.fill.lettering import own_fonts
from pipeline.fill.repeats import repeated
from pipeline.fill.template import TemplateFile, open_template, trimmed
from pipeline.plan.collection import templates_in
from pipeline.svg.refusals import reading
from pipeline.svg.tree import lineage
from pipeline.text.fonts import Faces, FontBook

__all__ = [
    "RULES",
    "AskedLabel",
    "DrawingFinding",
    "as_mended",
    "check_drawings",
    "drawn_sample",
    "keys_of",
    "summary",
    "templates_under",
]

RULES: tuple[Callable[[Inspection], Iterator[DrawingFinding]], ...] = (
    check_size,
    check_keys,
    check_missing,
    check_figures,
    check_zones,
    check_fonts,
    check_typed_times,
    check_sight,
    check_hairlines,
    check_joins,
    check_pictures,
    check_effects,
    check_ids,
)

_LOST = frozenset(("key-lost", "month-typed", "figure-stray", "undrawn"))


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
    pages = [file for folder in collections for file in templates_in(folder)]
    found = [file for file in pages or sorted(path.rglob("*.svg")) if file.name[0] != "."]
    if not found:
        raise UserError(str(path), "holds no SVG", "give a template, or a folder that holds some")
    return found


def check_drawings(
    paths: Sequence[Path], *, mend: bool = False, cache: Cache | None = None
) -> tuple[list[DrawingFinding], int]:
    """What is to be said of templates, worst first within each, and how many places were mended.

    With ``mend`` the files are mended in place where that is mechanical, and what is said is what
    is left. ``cache`` keeps what a second engine draws otherwise; without one that is not asked.
    Raises UserError for a file that cannot be read or written, and a broken collection.
    """
    usages = Usages()
    books: dict[Path | None, FontBook] = {}
    findings: list[DrawingFinding] = []
    mended = 0
    for path in paths:
        usage = usages.of(path)
        file = open_template(path)
        found = _found(usage, file, books, cache)
        while mend and any(one.edits for one in found):
            file, edits = _mended_once(file, found)
            write_whole(path, file.data)
            mended += edits
            found = _found(usage, file, books, cache)
        findings += found
    return findings, mended


def _mended_once(file: TemplateFile, found: Sequence[DrawingFinding]) -> tuple[TemplateFile, int]:
    """A template with what was found mended, and in how many places."""
    # A page gets its size first: what else there is shows only then.
    sized = [one for one in found if one.rule == "size" and one.edits]
    edits = list(dict.fromkeys(edit for one in sized or found for edit in one.edits))
    return TemplateFile(file.path, SourceText.of(file.data).edited(edits)), len(edits)


def as_mended(file: TemplateFile) -> tuple[TemplateFile, list[DrawingFinding]]:
    """A template as mending would leave it, which writes nothing, and what that mends."""
    usage, books = Usages().of(file.path), dict[Path | None, FontBook]()
    mended: list[DrawingFinding] = []
    while found := [one for one in _found(usage, file, books, None) if one.edits]:
        mended += found
        file, _ = _mended_once(file, found)
    return file, mended


def drawn_sample(file: TemplateFile) -> bytes:
    """A template with its samples, as a PDF of one page: what repeats is repeated.

    What cannot be drawn is left out of it. Raises UserError for a file that cannot be read.
    """
    sample = _sample_of(file)
    return draw([etree.tostring(sample.template.root)], sample.book)


def keys_of(file: TemplateFile) -> tuple[list[tuple[str, Rect]], list[AskedLabel]]:
    """Where each key of a template with its samples is, mm of its page, in painting order; and the
    labels that it asks for. Raises UserError for a file that cannot be read.
    """
    sample = _sample_of(file)
    keys = {
        each: key
        for each, own in sample.named
        if (key := next((name for name in own if is_key(name) or ruled(name)), None))
    }
    boxes: dict[etree._Element, list[Rect]] = {}
    for item in sample.painted:
        for step in lineage(item.element):
            if step in keys:
                boxes.setdefault(step, []).extend(item_boxes(item, sample.book))
    places = [(keys[each], Rect.union(own)) for each, own in boxes.items() if own]
    return places, labels_on(sample)


def _sample_of(file: TemplateFile) -> Inspection:
    """A template with what repeats repeated."""
    usage = Usages().of(file.path)
    raw, numbered = with_numbers(file)
    template = trimmed(read_on(numbered)[0], usage.size_mm, usage.bleeds_mm)
    collection = usage.collection
    book = Faces(
        own_fonts(collection.folder if collection else None),
        collection.fallback_fonts if collection else {},
        usage.embedded,
    ).book()
    inspection = Inspection(usage, SourceText.of(file.data), raw, template, book)
    drawn = repeated(template, facts_drawn(usage, inspection.kinds[0], template.root), [])
    return replace(inspection, template=drawn)


def _found(
    usage: Usage,
    file: TemplateFile,
    books: dict[Path | None, FontBook],
    cache: Cache | None,
) -> list[DrawingFinding]:
    try:
        raw, numbered = with_numbers(file)
        template, refused = read_on(numbered)
    except UserError as problem:
        return [
            DrawingFinding("file", problem.what, usage.path, problem.line, remedy=problem.remedy)
        ]
    template = trimmed(template, usage.size_mm, usage.bleeds_mm)
    collection = usage.collection
    folder = collection.folder if collection else None
    if folder not in books:
        fallback = collection.fallback_fonts if collection else {}
        books[folder] = Faces(own_fonts(folder), fallback, usage.embedded).book()
    inspection = Inspection(usage, SourceText.of(file.data), raw, template, books[folder])
    once_drawn, problems = inspection, list[UserError]()
    # For the seasons' first kind of page; others are looked at when they are built.
    drawn = repeated(template, facts_drawn(usage, inspection.kinds[0], template.root), problems)
    findings = []
    for wrong in problems:
        asked = [each for each, own in inspection.named if wrong.element in (each.get("id"), *own)]
        findings.append(inspection.finding("key", asked, wrong.what, wrong.remedy))
    inspection = replace(inspection, template=drawn)
    findings += [
        inspection.finding("undrawn", [one.element], f"will not be drawn: {one.what}", one.remedy)
        for one in refused
    ]
    for rule in RULES:
        with reading(file.name):
            findings += rule(inspection)
    if cache is not None and not refused:  # what is left out looks different anyway
        try:
            with reading(file.name):
                findings += check_other_engine(once_drawn, cache)
        except UserError as problem:  # which only drawing it brings to light
            at = [each for each in template.root.iter() if each.get("id") == problem.element]
            what = f"will not be drawn: {problem.what}"
            findings.append(inspection.finding("undrawn", at[:1], what, problem.remedy))
    # What has lost its key shows its sample, which is often a date: that is one fault.
    lost = {one.line for one in findings if one.rule in _LOST}
    findings = [one for one in findings if one.rule != "dated" or one.line not in lost]
    worst = [*Severity]
    # What is said of a sample is said of all its copies.
    once = {(one.rule, one.line, one.element, one.message): one for one in findings}
    return sorted(once.values(), key=lambda one: (worst.index(one.severity), one.line))
