"""The edition for screens: whether each date that has a page leads to it, and none elsewhere.

Links are read from the file by pdfium; which page a date has follows from the set's contents, and
where it stands from the templates, not from what was read when the links were made.
"""

from __future__ import annotations

import ctypes
import datetime as dt
import hashlib
from collections.abc import Iterator, Mapping
from typing import NamedTuple

import pypdfium2 as pdfium
import pypdfium2.raw as pdfium_raw

from pipeline.base.errors import UserError
from pipeline.base.geometry import Rect
from pipeline.fill.areas import month_cell
from pipeline.impose.contents import SCREEN
from pipeline.impose.screen import screen_sheets
from pipeline.impose.sheet import Placement, Sheet
from pipeline.plan.model import MonthGrid
from pipeline.proof.findings.subject import SetFinding, Slot, Subject, days_on
from pipeline.proof.read.objects import Shown, middle
from pipeline.proof.read.raster import opened


class _Link(NamedTuple):
    """A link of a page: its place in mm of the page, and the page it leads to, from 0."""

    area: Rect
    to: int


def screen_findings(subject: Subject) -> Iterator[SetFinding]:
    """What is wrong with the file for screens, where the set has one."""
    note = next((one for one in subject.contents.files if one.name == SCREEN), None)
    if note is None or subject.plan.screen is None:
        return
    path = subject.folder / SCREEN
    found = []
    try:
        size = path.stat().st_size / 1e6
        with opened(path) as document:
            found = list(_of_links(subject, document))
    except (UserError, OSError) as problem:
        yield subject.finding("file-unreadable", f"{SCREEN} cannot be read ({problem})")
        return
    yield from found
    if not found and hashlib.sha256(path.read_bytes()).hexdigest() != note.sha256:
        message = f"{SCREEN} was changed or saved again after the build"
        yield subject.finding("file-changed", message)
    if size > subject.limits.file_mb:
        message = f"{SCREEN} is {size:.1f} MB, the limit is {subject.limits.file_mb:g} MB"
        yield subject.finding("file-big", message)


def _of_links(subject: Subject, document: pdfium.PdfDocument) -> Iterator[SetFinding]:
    sheets = screen_sheets(subject.plan)
    if len(document) != len(sheets):
        message = f"{SCREEN} has {len(document)} pages instead of {len(sheets)}"
        yield subject.finding("page-missing", message)
        return
    pages = _pages_of(subject, sheets)
    for number, sheet in enumerate(sheets):
        links = list(_links(document, document[number]))
        for placed in sheet.side_1:
            yield from _on_face(subject, sheets, placed, number, links, pages)


def _pages_of(subject: Subject, sheets: tuple[Sheet, ...]) -> dict[dt.date, set[int]]:
    """The pages of the file that are about each day in the narrowest way: with the fewest days."""
    least: dict[dt.date, int] = {}
    found: dict[dt.date, set[int]] = {}
    for number, sheet in enumerate(sheets):
        for placed in sheet.side_1:
            note = subject.contents.leaves[placed.leaf].page(placed.face)
            for day in note.dates if note else ():
                many = len(note.dates) if note else 0
                if many < least.get(day, many + 1):
                    least[day], found[day] = many, set()
                if many == least[day]:
                    found[day].add(number)
    return found


def _on_face(
    subject: Subject,
    sheets: tuple[Sheet, ...],
    placed: Placement,
    number: int,
    links: list[_Link],
    pages: dict[dt.date, set[int]],
) -> Iterator[SetFinding]:
    page = subject.page(placed.leaf, placed.face)
    if page is None:
        return
    own = set(page.facts.dates)
    slots, flat = subject.slots(page, placed.leaf), placed.flat

    def wrong(rule: str, message: str, area: Rect) -> SetFinding:
        return SetFinding(
            rule,
            message,
            subject.name,
            leaf=placed.leaf,
            face=placed.face,
            place=area,
            template=f"{subject.plan.binder.name}/{page.template}.svg",
        )

    for slot, day, area in _dated(subject, slots.grids, page.facts.months):
        there = pages.get(day, set())
        held = [one for one in links if one.area.holds(middle(area.moved(flat.x, flat.y)))]
        said = f"{day.day} {day:%B %Y} in '{slot.key}'"
        if held and not there & {one.to for one in held}:
            if day not in own:
                yield wrong("link-wrong", f"{said} leads to page {held[0].to + 1}", area)
        elif not held and there and number not in there:
            yield wrong("link-missing", f"{said} leads nowhere", area)
    families = dict(days_on(page.facts))
    for slot in slots.texts:
        family, _, part = slot.key.rpartition("-")
        day_named = families.get(family) if part in ("number", "name", "date") else None
        if day_named is None:
            continue
        there = pages.get(day_named, set())
        for one in links:
            if slot.area.holds(middle(one.area.moved(-flat.x, -flat.y))) and not (
                one.to in there or _is_about(subject, sheets[one.to], day_named)
            ):
                said = f"{day_named.day} {day_named:%B %Y}"
                yield wrong("link-wrong", f"{said} leads to page {one.to + 1}", slot.area)


def _is_about(subject: Subject, sheet: Sheet, day: dt.date) -> bool:
    """Whether a page of the file tells of a day at all, as a week's page does."""
    notes = [subject.contents.leaves[one.leaf].page(one.face) for one in sheet.side_1]
    return any(note is not None and day in note.dates for note in notes)


def _dated(
    subject: Subject, grids: tuple[Slot, ...], months: Mapping[str, MonthGrid]
) -> Iterator[tuple[Slot, dt.date, Rect]]:
    """The dates of small months, and where each stands on its leaf."""
    for slot in grids:
        for line, row in enumerate(months[slot.key].rows, start=1):
            for column, cell in enumerate(row):
                if cell is not None:
                    across = 6 - column if subject.words.right_to_left else column
                    yield slot, cell.date, month_cell(slot.area, line, across)


def _links(document: pdfium.PdfDocument, page: pdfium.PdfPage) -> Iterator[_Link]:
    """The links of a page to others (ISO 32000-1, 12.5.6.5), as pdfium reads them."""
    shown, at, link = Shown(page), ctypes.c_int(0), pdfium_raw.FPDF_LINK()
    while pdfium_raw.FPDFLink_Enumerate(page, at, link):
        edges = pdfium_raw.FS_RECTF()
        target = pdfium_raw.FPDFLink_GetDest(document, link)
        if target and pdfium_raw.FPDFLink_GetAnnotRect(link, edges):
            to = pdfium_raw.FPDFDest_GetDestPageIndex(document, target)
            yield _Link(shown.rect(edges.left, edges.bottom, edges.right, edges.top), to)
