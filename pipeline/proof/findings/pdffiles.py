"""The files as files: pages, boxes, what they ask of the printer, fonts, size."""

from __future__ import annotations

import ctypes
from collections.abc import Iterator
from contextlib import closing

import pypdfium2 as pdfium
import pypdfium2.raw as pdfium_raw
from pypdf import PdfReader
from pypdf.errors import PdfReadError
from pypdf.generic import DictionaryObject

from pipeline.base.errors import UserError
from pipeline.base.geometry import Rect, mm
from pipeline.proof.findings.reading import SideRead
from pipeline.proof.findings.subject import SetFinding, Subject
from pipeline.proof.read.objects import kinds, top_forms

SIDE_1, SIDE_2, BOTH = "side-1.pdf", "side-2.pdf", "both-sides.pdf"
FILES = (SIDE_1, SIDE_2, BOTH)
_BOX_MM = 0.05
"""Boxes are written to a hundredth of a point."""


def size_findings(subject: Subject) -> Iterator[SetFinding]:
    """Files over the limit."""
    limit = subject.limits.file_mb
    for name in FILES:
        path = subject.folder / name
        size = path.stat().st_size / 1e6 if path.is_file() else 0.0
        if size > limit:
            yield subject.finding("file-big", f"{name} is {size:.1f} MB, the limit is {limit:g} MB")


def count_findings(subject: Subject, name: str, pages: int) -> Iterator[SetFinding]:
    """Files with fewer or more pages than the set has sides for them."""
    sheets = len(subject.contents.sheets)
    wanted = 2 * sheets if name == BOTH else sheets
    if pages != wanted:
        yield subject.finding(
            "page-missing" if pages < wanted else "page-extra",
            f"{name} has {pages} pages for {wanted} sides",
        )


def request_findings(subject: Subject) -> Iterator[SetFinding]:
    """What the files ask of the printer: true size, the right way (ISO 32000-1, Table 150)."""
    for name in FILES:
        duplex = f"/DuplexFlip{subject.printer.flip.title()}Edge" if name == BOTH else "/Simplex"
        wanted = {"/PrintScaling": "/None", "/Duplex": duplex, "/PickTrayByPDFSize": "True"}
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
                said, value = str(there).lstrip("/"), value.lstrip("/")
                message = f"{name} says {key[1:]} {said} instead of {value}"
                yield subject.finding("print-request-wrong", message)


def box_findings(side: SideRead) -> Iterator[SetFinding]:
    """Page boxes (ISO 32000-1, 14.11.2): the paper, and within it bleed and trim."""
    note, page = side.subject.contents.sheets[side.number - 1], side.page
    paper = Rect(0, 0, note.width_mm, note.height_mm)

    def box(edges: tuple[float, float, float, float]) -> Rect:
        left, bottom, right, top = edges
        return Rect(mm(left), paper.height - mm(top), mm(right - left), mm(top - bottom))

    sheets = {"MediaBox": box(page.get_mediabox()), "CropBox": box(page.get_cropbox())}
    bleed, trim = box(page.get_bleedbox()), box(page.get_trimbox())
    wrong = [
        f"{name} is {found.width:.1f} × {found.height:.1f} mm"
        for name, found in sheets.items()
        if not _alike(found, paper)
    ]
    if not wrong and side.faces:
        if not _alike(trim, Rect.union(face.placement.flat for face in side.faces)):
            wrong.append("the TrimBox does not match what is cut out")
        elif not _alike(bleed, trim.grown(side.subject.plan.bleed_mm)):
            wrong.append(f"the BleedBox is not {side.subject.plan.bleed_mm:g} mm past the cuts")
    for what in wrong:
        yield side.finding("boxes-wrong", f"side-{side.side}.pdf: {what}")


def _alike(one: Rect, other: Rect) -> bool:
    return all(abs(a - b) <= _BOX_MM for a, b in zip(one, other, strict=True))


def font_findings(side: SideRead) -> Iterator[SetFinding]:
    """Fonts that are not in a side's file, and so look different on every machine."""
    fonts = (pdfium_raw.FPDFTextObj_GetFont(art.handle) for art in side.art if art.kind == "text")
    families: dict[str, None] = {}
    for font in fonts:
        if font and pdfium_raw.FPDFFont_GetIsEmbedded(font) != 1:
            name = ctypes.create_string_buffer(256)
            pdfium_raw.FPDFFont_GetBaseFontName(font, name, len(name))
            families[name.value.decode("utf-8", "replace")] = None
    for family in families:
        yield side.finding("font-not-embedded", f"'{family}'")


def differing(side: SideRead) -> Iterator[SetFinding]:
    """Whether a page of both-sides.pdf shows what the side's own file does, form by form."""
    if _shown(side.page) != _shown(side.both):
        yield side.finding("files-differ", f"{BOTH} does not show the same as side-{side.side}.pdf")


def _shown(page: pdfium.PdfPage) -> tuple[object, ...]:
    with closing(page.get_textpage()) as text:
        words = text.get_text_bounded()
    matrices = [tuple(round(value, 2) for value in matrix) for matrix in top_forms(page)]
    boxes = (page.get_mediabox(), page.get_trimbox(), page.get_rotation())
    return words, matrices, kinds(page), boxes
