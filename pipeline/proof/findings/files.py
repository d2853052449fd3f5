"""The files as files: pages, boxes, what they ask of the printer, fonts, size."""

from __future__ import annotations

import ctypes
from collections.abc import Iterator

import pypdfium2 as pdfium
import pypdfium2.raw as pdfium_raw
from pypdf import PdfReader
from pypdf.errors import PdfReadError
from pypdf.generic import DictionaryObject

from pipeline.base.errors import UserError
from pipeline.base.geometry import Rect, mm
from pipeline.proof.findings.finding import Finding
from pipeline.proof.findings.reading import SideRead
from pipeline.proof.findings.subject import Subject
from pipeline.proof.read.objects import kinds, top_forms

SIDE_1, SIDE_2, BOTH = "side-1.pdf", "side-2.pdf", "both-sides.pdf"
FILES = (SIDE_1, SIDE_2, BOTH)
_BOX_MM = 0.05
"""Boxes are written to a hundredth of a point."""


def size_findings(subject: Subject) -> Iterator[Finding]:
    """Files over the limit."""
    limit = subject.limits.file_mb
    for name in FILES:
        path = subject.folder / name
        size = path.stat().st_size / 1e6 if path.is_file() else 0.0
        if size > limit:
            yield Finding(
                "file-big", subject.name, f"{name} is {size:.1f} MB, the limit is {limit:g} MB"
            )


def count_findings(subject: Subject, name: str, pages: int) -> Iterator[Finding]:
    """Files with fewer or more pages than the set has sides for them."""
    sheets = len(subject.contents.sheets)
    wanted = 2 * sheets if name == BOTH else sheets
    if pages != wanted:
        yield Finding(
            "page-missing" if pages < wanted else "page-extra",
            subject.name,
            f"{name} has {pages} pages for {wanted} sides",
        )


def request_findings(subject: Subject) -> Iterator[Finding]:
    """What the files ask of the printer: true size, the right way (ISO 32000-1, Table 150)."""
    for name in FILES:
        wanted = {
            "/PrintScaling": "/None",
            "/Duplex": _duplex(subject, name),
            "/PickTrayByPDFSize": "True",
        }
        try:
            root = PdfReader(subject.folder / name).trailer["/Root"].get_object()
        except (OSError, PdfReadError) as problem:
            raise UserError(
                str(subject.folder / name), f"not a readable PDF ({problem})", "build the set again"
            ) from problem
        assert isinstance(root, DictionaryObject)
        asked = root.get("/ViewerPreferences", DictionaryObject()).get_object()
        for key, value in wanted.items():
            there = asked.get(key) if isinstance(asked, DictionaryObject) else None
            if str(there) != value:
                yield Finding(
                    "print-request-wrong",
                    subject.name,
                    f"{name} says {key[1:]} {str(there).lstrip('/')} instead of"
                    f" {value.lstrip('/')}",
                )


def _duplex(subject: Subject, name: str) -> str:
    if name != BOTH:
        return "/Simplex"
    return "/DuplexFlipShortEdge" if subject.printer.flip == "short" else "/DuplexFlipLongEdge"


def box_findings(subject: Subject, side: SideRead, name: str) -> Iterator[Finding]:
    """Page boxes (ISO 32000-1, 14.11.2): the paper, and within it bleed and trim."""
    note = subject.contents.sheets[side.number - 1]
    paper = Rect(0, 0, note.width_mm, note.height_mm)
    boxes = {
        "MediaBox": _box(side.page, side.page.get_mediabox(), paper),
        "CropBox": _box(side.page, side.page.get_cropbox(), paper),
        "BleedBox": _box(side.page, side.page.get_bleedbox(), paper),
        "TrimBox": _box(side.page, side.page.get_trimbox(), paper),
    }
    wrong = [
        f"{box} is {found.width:.1f} × {found.height:.1f} mm"
        for box, found in list(boxes.items())[:2]
        if not _alike(found, paper)
    ]
    if not wrong and side.placements:
        trim = Rect.union(placement.flat for placement in side.placements)
        if not _alike(boxes["TrimBox"], trim):
            wrong.append("TrimBox is not what is cut out")
        elif not boxes["BleedBox"].holds(boxes["TrimBox"], _BOX_MM) or not paper.holds(
            boxes["BleedBox"], _BOX_MM
        ):
            wrong.append("BleedBox does not hold the TrimBox, or the paper not the BleedBox")
    for what in wrong:
        yield Finding("boxes-wrong", subject.name, f"{name}: {what}", side.number, side.side)


def _box(page: pdfium.PdfPage, edges: tuple[float, float, float, float], paper: Rect) -> Rect:
    left, bottom, right, top = edges
    return Rect(mm(left), paper.height - mm(top), mm(right - left), mm(top - bottom))


def _alike(one: Rect, other: Rect) -> bool:
    return all(abs(a - b) <= _BOX_MM for a, b in zip(one, other, strict=True))


def font_findings(subject: Subject, sides: list[tuple[str, SideRead]]) -> Iterator[Finding]:
    """Fonts that are not in a file, and so look different on every machine."""
    told: set[tuple[str, str]] = set()
    for name, side in sides:
        for item in side.art:
            if item.kind != "text":
                continue
            font = pdfium_raw.FPDFTextObj_GetFont(item.handle)
            if not font or pdfium_raw.FPDFFont_GetIsEmbedded(font) == 1:
                continue
            family = _family(font)
            if (name, family) not in told:
                told.add((name, family))
                yield Finding(
                    "font-not-embedded", subject.name, f"'{family}'", side.number, side.side
                )


def _family(font: object) -> str:
    name = ctypes.create_string_buffer(256)
    pdfium_raw.FPDFFont_GetBaseFontName(font, name, len(name))
    return name.value.decode("utf-8", "replace")


def same_as(
    subject: Subject, side: SideRead, both: pdfium.PdfPage, name: str = BOTH
) -> Iterator[Finding]:
    """Whether a page of both-sides.pdf shows what the side's own file does, form by form."""
    if _shown(side.page) != _shown(both):
        yield Finding(
            "files-differ",
            subject.name,
            f"{name} shows something else than side-{side.side}.pdf",
            side.number,
            side.side,
        )


def _shown(page: pdfium.PdfPage) -> tuple[object, ...]:
    text = page.get_textpage()
    try:
        words = text.get_text_bounded()
    finally:
        text.close()
    matrices = [tuple(round(value, 2) for value in form.matrix) for form in top_forms(page)]
    boxes = (page.get_mediabox(), page.get_trimbox(), page.get_rotation())
    return words, matrices, kinds(page), boxes
