"""All findings about a finished set: its files read back and held against its season."""

from __future__ import annotations

import hashlib
from collections.abc import Iterator
from pathlib import Path

import pypdfium2 as pdfium

from pipeline.plan import SeasonPlan
from pipeline.plan.model import Side
from pipeline.proof.findings.backs import misplaced, unregistered
from pipeline.proof.findings.dated import (
    calendar_findings,
    planned_and_made,
    spread_findings,
    strays,
)
from pipeline.proof.findings.files import (
    BOTH,
    FILES,
    SIDE_1,
    SIDE_2,
    box_findings,
    count_findings,
    font_findings,
    request_findings,
    same_as,
    size_findings,
)
from pipeline.proof.findings.finding import Finding, gathered
from pipeline.proof.findings.inks import art_findings, coverage
from pipeline.proof.findings.labels import label_findings
from pipeline.proof.findings.leftovers import leftover_findings
from pipeline.proof.findings.placing import clipped, placing_findings
from pipeline.proof.findings.reading import FaceRead, SideRead, read_side
from pipeline.proof.findings.subject import Subject, subject_of
from pipeline.proof.read.contents import CONTENTS, SheetSide
from pipeline.proof.read.raster import opened

_kept: dict[Path, tuple[str, tuple[Finding, ...]]] = {}


def findings_of(folder: Path, season: SeasonPlan) -> tuple[Finding, ...]:
    """What is wrong with the finished set in a folder, what must be mended first.

    A set that is the same as when it was last asked for is not read again. Raises UserError when
    the folder holds no whole set, or one that the season does not ask for.
    """
    subject = subject_of(folder, season)
    key = _key(subject)
    if folder in _kept and _kept[folder][0] == key:
        return _kept[folder][1]
    found = gathered(_all(subject))
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


def _all(subject: Subject) -> Iterator[Finding]:
    yield from planned_and_made(subject)
    yield from size_findings(subject)
    yield from request_findings(subject)
    for sheet in subject.contents.sheets:
        yield from unregistered(subject, sheet)
    with (
        opened(subject.folder / SIDE_1) as first,
        opened(subject.folder / SIDE_2) as second,
        opened(subject.folder / BOTH) as both,
    ):
        documents = {SIDE_1: first, SIDE_2: second, BOTH: both}
        wrong = [
            finding
            for name, document in documents.items()
            for finding in count_findings(subject, name, len(document))
        ]
        yield from wrong
        if not wrong:
            yield from _read(subject, first, second, both)


def _read(
    subject: Subject,
    first: pdfium.PdfDocument,
    second: pdfium.PdfDocument,
    both: pdfium.PdfDocument,
) -> Iterator[Finding]:
    faces: dict[tuple[int, Side], FaceRead] = {}
    lost: list[Finding] = []
    documents: tuple[tuple[SheetSide, pdfium.PdfDocument], ...] = ((1, first), (2, second))
    for index in range(len(subject.contents.sheets)):
        for number, document in documents:
            page = document[subject.contents.page_number(index, number)]
            side = read_side(subject, page, index, number)
            here = list(misplaced(subject, side))
            lost += here
            yield from _of_side(subject, side, painted_right=not here)
            yield from same_as(subject, side, both[2 * index + number - 1])
            faces |= {(face.leaf, face.face): face for face in side.faces}
    astray, away = strays(subject, list(faces.values()))
    yield from astray
    yield from (one for one in lost if (one.leaf, one.face) not in away)
    turned = {(one.leaf, one.face) for one in lost if one.leaf is not None and one.face} - away
    there = {key: face for key, face in faces.items() if key not in turned}
    yield from spread_findings(subject, there, away | turned)
    for key, face in there.items():
        if face.page is None:
            continue
        if key not in away:
            yield from calendar_findings(subject, face)
            yield from label_findings(subject, face)
            yield from leftover_findings(subject, face)
        yield from placing_findings(subject, face)


def _of_side(subject: Subject, side: SideRead, *, painted_right: bool) -> Iterator[Finding]:
    """What can be told of a side by itself; of its drawings only when its pages lie right."""
    name = SIDE_1 if side.side == 1 else SIDE_2
    yield from box_findings(subject, side, name)
    yield from font_findings(subject, [(name, side)])
    if painted_right:
        yield from art_findings(subject, side)
        yield from clipped(subject, side)
    yield from coverage(subject, side)
