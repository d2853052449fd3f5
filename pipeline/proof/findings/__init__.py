"""Findings: what is wrong with finished print files, before anyone wastes paper on them.

``findings_of`` reads a set's PDFs back with pdfium and holds them against the calendar, the
season's plan and the templates; each ``SetFinding`` says where and what to do. The rules are in
``base/findings``; what tests for them is in the tables below, or in those of ``placing`` and
``inks`` for one text or one thing painted.
"""

from __future__ import annotations

import itertools
from collections.abc import Callable, Collection, Iterable, Iterator, Mapping
from contextlib import ExitStack
from dataclasses import replace
from pathlib import Path

import pypdfium2 as pdfium
from pydantic import TypeAdapter

from pipeline.base.cache import NO_CACHE, Cache, digest_of, key_of
from pipeline.base.errors import UserError
from pipeline.base.findings import Severity
from pipeline.base.workers import uncollected
from pipeline.impose.contents import CONTENTS, PRESS, SCREEN
from pipeline.impose.sheet import SheetSide
from pipeline.plan import SeasonPlan
from pipeline.plan.model import Side
from pipeline.proof.findings.dated import (
    calendar_findings,
    planned_and_built,
    spread_findings,
    strays,
)
from pipeline.proof.findings.inks import art_findings, coverage
from pipeline.proof.findings.onpress import press_findings
from pipeline.proof.findings.onscreen import screen_findings
from pipeline.proof.findings.painted import (
    dot_findings,
    drawing_findings,
    glyph_findings,
    letter_findings,
    ornament_findings,
    outline_findings,
    shapes_on,
    turned_findings,
)
from pipeline.proof.findings.pdffiles import (
    BOTH,
    FILES,
    FileRead,
    box_findings,
    changed_findings,
    count_findings,
    differing,
    file_read,
    font_findings,
    map_findings,
    paper_findings,
    request_findings,
    size_findings,
)
from pipeline.proof.findings.placing import (
    MarksRead,
    clipped,
    marks_apart,
    marks_read,
    misplaced,
    overlapping,
    placing_findings,
    unregistered,
)
from pipeline.proof.findings.reading import FaceRead, SideRead, read_side
from pipeline.proof.findings.subject import SetFinding, Subject, subject_of
from pipeline.proof.findings.wording import label_findings, leftover_findings, slug_findings

__all__ = ["SetFinding", "findings_of"]

SET_CHECKS: tuple[Callable[[Subject], Iterator[SetFinding]], ...] = (planned_and_built,)
FILE_CHECKS: tuple[Callable[[Subject, FileRead], Iterator[SetFinding]], ...] = (
    size_findings,
    request_findings,
)
SIDE_CHECKS: tuple[Callable[[SideRead], Iterator[SetFinding]], ...] = (
    box_findings,
    glyph_findings,
    coverage,
)
ART_CHECKS: tuple[Callable[[SideRead], Iterator[SetFinding]], ...] = (
    art_findings,
    clipped,
    letter_findings,
    dot_findings,
    turned_findings,
    ornament_findings,
    outline_findings,
)
"""Of sides whose pages lie where they should."""
WORD_CHECKS: tuple[Callable[[FaceRead], Iterator[SetFinding]], ...] = (
    calendar_findings,
    label_findings,
    leftover_findings,
)
"""Of faces that show their own pages."""

_FOUND = TypeAdapter(tuple[SetFinding, ...])


@uncollected()
def findings_of(
    folder: Path, season: SeasonPlan, cache: Cache = NO_CACHE
) -> tuple[SetFinding, ...]:
    """What is wrong with the finished set in a folder, what must be mended first.

    What is kept is given again while neither its files nor anything they are held against has
    changed. Raises UserError when the folder holds no whole set, or one that the season does not
    ask for, and when it changes meanwhile.
    """
    subject = subject_of(folder, season)
    files = _bytes_of(folder)
    key = _key(subject, files)

    def found() -> bytes:
        made = _FOUND.dump_json(_gathered(_all(subject, files)))
        if _bytes_of(folder) != files:
            raise UserError(str(folder), "it changed while it was read", "check it again")
        return made

    return _FOUND.validate_json(cache.get_or_make(key, found) if key else found())


def _bytes_of(folder: Path) -> dict[str, bytes | None]:
    """What is in a set's files, by their names; None for one that cannot be opened."""
    found: dict[str, bytes | None] = {}
    for name in (CONTENTS, *FILES, SCREEN, PRESS):
        try:
            found[name] = (folder / name).read_bytes()
        except OSError:
            found[name] = None
    return found


def _key(subject: Subject, files: Mapping[str, bytes | None]) -> str | None:
    """Changes whenever anything does that findings follow from; None where that cannot be read."""
    try:
        templates = [(name, digest_of(file.data)) for name, file in subject.templates.items()]
        faces = subject.faces.key
    except (OSError, UserError):
        return None
    asked = subject.plan, subject.limits, subject.printer, subject.season_languages
    return key_of(subject.name, asked, subject.labels, templates, faces, *files.values())


def _all(subject: Subject, data: Mapping[str, bytes | None]) -> Iterator[SetFinding]:
    for of_set in SET_CHECKS:
        yield from of_set(subject)
    for sheet in subject.contents.sheets:
        yield from unregistered(subject, sheet)
    read = {name: file_read(subject.folder / name, data[name]) for name in FILES}
    closed = [f"{name} {why}" for name, why in read.items() if isinstance(why, str)]
    files = {name: file for name, file in read.items() if isinstance(file, FileRead)}
    found = [subject.finding("file-unreadable", "; ".join(closed))] if closed else []
    with ExitStack() as stack:
        for file in files.values():
            stack.callback(file.document.close)
        try:
            for finding in _of_files(subject, files):
                found.append(finding)
        except pdfium.PdfiumError as problem:
            found.append(subject.finding("file-unreadable", f"a page is damaged ({problem})"))
    yield from found
    yield from changed_findings(subject, files, found)
    yield from screen_findings(subject)
    yield from press_findings(subject)


def _of_files(subject: Subject, files: Mapping[str, FileRead]) -> Iterator[SetFinding]:
    whole: dict[str, FileRead] = {}
    for name, file in files.items():
        for of_file in FILE_CHECKS:
            yield from of_file(subject, file)
        wrong = list(count_findings(subject, file))
        yield from wrong
        if not wrong:
            whole[name] = file
    unmapped = {name: list(map_findings(subject, file)) for name, file in whole.items()}
    yield from itertools.chain.from_iterable(unmapped.values())
    yield from _read(subject, whole, {name for name, found in unmapped.items() if found})


def _gathered(findings: Iterable[SetFinding]) -> tuple[SetFinding, ...]:
    """Findings that say the same of the same place on several faces made one, gravest first.

    A fault of a template is on all its pages; the first is named, and the rest are in ``also``.
    """
    first: dict[tuple[object, ...], SetFinding] = {}
    for finding in findings:
        place = tuple(round(value) for value in finding.place) if finding.place else None
        on_page = finding.leaf is not None and finding.face is not None and place is not None
        key = (
            finding.rule,
            finding.message,
            place,
            finding.face,
            None if on_page else (finding.sheet, finding.side, finding.leaf),
        )
        known = first.get(key)
        if known is None:
            first[key] = finding
        elif on_page and finding.leaf is not None and finding.face is not None:
            further = (finding.leaf, finding.face)
            if further != (known.leaf, known.face) and further not in known.also:
                first[key] = replace(known, also=(*known.also, further))
    # A typed date that is wrong on one page and right on another is wrong.
    wrong = {(one.template, one.face, key[2]) for key, one in first.items() if _must(one)}
    kept = [
        one
        for key, one in first.items()
        if _must(one) or one.rule != "date-typed" or (one.template, one.face, key[2]) not in wrong
    ]
    return tuple(sorted(kept, key=lambda finding: not _must(finding)))


def _must(finding: SetFinding) -> bool:
    return finding.severity is Severity.MUST


def _read(
    subject: Subject, files: Mapping[str, FileRead], unmapped: Collection[str]
) -> Iterator[SetFinding]:
    """What the pages show; a side is read from its own file, or where that is no good from both.

    ``unmapped`` are the files whose letters cannot be read.
    """
    faces: dict[tuple[int, Side], FaceRead] = {}
    unread: set[tuple[int, Side]] = set()
    # Letters of this computer's own fonts: how large they are says nothing of the file.
    unmeasured: set[tuple[int, Side]] = set()
    shapes: dict[FaceRead, int] = {}
    lost: list[SetFinding] = []
    front: tuple[SideRead, MarksRead] | None = None
    laid: list[SideRead] = []
    sides: tuple[SheetSide, SheetSide] = (1, 2)
    for sheet, number in itertools.product(range(len(subject.contents.sheets)), sides):
        numbers = {
            FILES[number - 1]: subject.contents.page_number(sheet, number),
            BOTH: 2 * sheet + number - 1,
        }
        pages_at = {name: at for name, at in numbers.items() if name in files}
        if not pages_at:
            placed = subject.contents.sheets[sheet].placements(number)
            unread |= {(one.leaf, one.face) for one in placed}
            continue
        name, *others = pages_at
        content = files[name].content(pages_at[name])
        # What is the same to the byte is opened and judged once.
        opened = [name, *(one for one in others if files[one].content(pages_at[one]) != content)]
        pages = [files[one].document[pages_at[one]] for one in (opened if content else pages_at)]
        for shown in pages:
            shown.set_rotation(0)  # how the file turns a page is said of the file
        side = read_side(subject, pages[0], content, pages[-1], sheet, number)
        keys = {(face.leaf, face.face): face for face in side.faces}
        if cropped := list(paper_findings(side)):
            yield from cropped
            unread |= set(keys)
            continue
        here = list(misplaced(side))
        lost += here
        if not here:
            marks = marks_read(side)
            yield from marks.findings
            if number == 2 and front is not None and front[0].number == side.number:
                yield from marks_apart(*front, side, marks)
            front = side, marks
            laid += [side] if side.around or marks.lengths else []
        lent = list(font_findings(side))
        yield from lent
        for of_side in SIDE_CHECKS if here else (*ART_CHECKS, *SIDE_CHECKS):
            yield from of_side(side)
        if not unmapped:
            yield from differing(side)
        if lent:
            unmeasured |= set(keys)
        elif not here and name not in unmapped:
            yield from overlapping(side)
        shapes |= shapes_on(side)
        if name in unmapped:
            unread |= set(keys)
        else:
            faces |= keys
    astray, away = strays(subject, list(faces.values()))
    yield from astray
    for side in laid:
        if not any((face.leaf, face.face) in away for face in side.faces):
            yield from slug_findings(side)
    yield from (one for one in lost if (one.leaf, one.face) not in away)
    turned = {(one.leaf, one.face) for one in lost if one.leaf is not None and one.face} - away
    there = {key: face for key, face in faces.items() if key not in turned}
    yield from spread_findings(subject, there, away | turned | unread)
    own = [face for key, face in there.items() if key not in away]
    yield from drawing_findings({face: shapes[face] for face in own})
    for key, face in there.items():
        if face.page is not None:
            for of_face in () if key in away else WORD_CHECKS:
                yield from of_face(face)
            if key not in unmeasured:
                yield from placing_findings(face)
