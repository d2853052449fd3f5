"""Findings: what is wrong with finished print files, before anyone wastes paper on them.

``findings_of`` reads a set's PDFs back with pdfium and holds them against the calendar, the
season's plan and the templates; each ``SetFinding`` says where and what to do. The rules are in
``base/findings``; what tests for them is in the tables below, or in those of ``placing`` and
``inks`` for one text or one thing painted.
"""

from __future__ import annotations

import hashlib
import itertools
from collections.abc import Callable, Iterable, Iterator, Sequence
from dataclasses import replace
from pathlib import Path

import pypdfium2 as pdfium

from pipeline.base.findings import Severity
from pipeline.impose.contents import CONTENTS
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
from pipeline.proof.findings.painted import (
    drawing_findings,
    glyph_findings,
    letter_findings,
    shapes_on,
    turned_findings,
)
from pipeline.proof.findings.pdffiles import (
    BOTH,
    FILES,
    SIDE_1,
    SIDE_2,
    box_findings,
    count_findings,
    differing,
    font_findings,
    request_findings,
    size_findings,
)
from pipeline.proof.findings.placing import (
    clipped,
    misplaced,
    overlapping,
    placing_findings,
    unregistered,
)
from pipeline.proof.findings.reading import FaceRead, SideRead, read_side
from pipeline.proof.findings.subject import SetFinding, Subject, subject_of
from pipeline.proof.findings.wording import label_findings, leftover_findings
from pipeline.proof.read.raster import opened

__all__ = ["SetFinding", "findings_of"]

SET_CHECKS: tuple[Callable[[Subject], Iterator[SetFinding]], ...] = (
    planned_and_built,
    size_findings,
    request_findings,
)
SIDE_CHECKS: tuple[Callable[[SideRead], Iterator[SetFinding]], ...] = (
    box_findings,
    font_findings,
    glyph_findings,
    coverage,
    differing,
)
ART_CHECKS: tuple[Callable[[SideRead], Iterator[SetFinding]], ...] = (
    art_findings,
    clipped,
    letter_findings,
    turned_findings,
)
"""Of sides whose pages lie where they should."""
WORD_CHECKS: tuple[Callable[[FaceRead], Iterator[SetFinding]], ...] = (
    calendar_findings,
    label_findings,
    leftover_findings,
)
"""Of faces that show their own pages."""
TEXT_CHECKS: tuple[Callable[[FaceRead], Iterator[SetFinding]], ...] = (
    placing_findings,
    overlapping,
)

_kept: dict[Path, tuple[str, tuple[SetFinding, ...]]] = {}


def findings_of(folder: Path, season: SeasonPlan) -> tuple[SetFinding, ...]:
    """What is wrong with the finished set in a folder, what must be mended first.

    A set that is the same as when it was last asked for is not read again. Raises UserError when
    the folder holds no whole set, or one that the season does not ask for.
    """
    subject = subject_of(folder, season)
    key = _key(subject)
    if folder in _kept and _kept[folder][0] == key:
        return _kept[folder][1]
    found = _gathered(_all(subject))
    _kept[folder] = (key, found)
    return found


def _key(subject: Subject) -> str:
    """Changes whenever a file of the set, the plan or a limit does."""
    digest = hashlib.sha256((subject.folder / CONTENTS).read_bytes())
    for name in FILES:
        path = subject.folder / name
        if path.is_file():
            stat = path.stat()
            digest.update(f"{name} {stat.st_size} {stat.st_mtime_ns}".encode())
    digest.update(repr((subject.plan, subject.limits, subject.printer)).encode())
    return digest.hexdigest()


def _all(subject: Subject) -> Iterator[SetFinding]:
    for of_set in SET_CHECKS:
        yield from of_set(subject)
    for sheet in subject.contents.sheets:
        yield from unregistered(subject, sheet)
    with (
        opened(subject.folder / SIDE_1) as first,
        opened(subject.folder / SIDE_2) as second,
        opened(subject.folder / BOTH) as both,
    ):
        wrong = [
            finding
            for name, document in zip(FILES, (first, second, both), strict=True)
            for finding in count_findings(subject, name, len(document))
        ]
        yield from wrong or _read(subject, (first, second), both)


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
    return tuple(sorted(first.values(), key=lambda finding: finding.severity is Severity.LOOK))


def _read(
    subject: Subject, files: Sequence[pdfium.PdfDocument], both: pdfium.PdfDocument
) -> Iterator[SetFinding]:
    faces: dict[tuple[int, Side], FaceRead] = {}
    shapes: dict[FaceRead, int] = {}
    lost: list[SetFinding] = []
    sides: tuple[SheetSide, SheetSide] = (1, 2)
    for sheet, number in itertools.product(range(len(subject.contents.sheets)), sides):
        page = files[number - 1][subject.contents.page_number(sheet, number)]
        side = read_side(subject, page, both[2 * sheet + number - 1], sheet, number)
        here = list(misplaced(side))
        lost += here
        for of_side in SIDE_CHECKS if here else (*ART_CHECKS, *SIDE_CHECKS):
            yield from of_side(side)
        shapes |= shapes_on(side)
        faces |= {(face.leaf, face.face): face for face in side.faces}
    astray, away = strays(subject, list(faces.values()))
    yield from astray
    yield from (one for one in lost if (one.leaf, one.face) not in away)
    turned = {(one.leaf, one.face) for one in lost if one.leaf is not None and one.face} - away
    there = {key: face for key, face in faces.items() if key not in turned}
    yield from spread_findings(subject, there, away | turned)
    own = [face for key, face in there.items() if key not in away]
    yield from drawing_findings({face: shapes[face] for face in own})
    for key, face in there.items():
        if face.page is not None:
            for of_face in TEXT_CHECKS if key in away else (*WORD_CHECKS, *TEXT_CHECKS):
                yield from of_face(face)
