"""Stitches page drawings and marks into the finished PDF files.

Every page drawing becomes a form XObject (ISO 32000-1, 8.10) placed by a matrix, so nothing is
drawn twice; what drawings share (faces, artwork) is copied into a file once. Nothing in a file
depends on when or where it was made.
"""

from __future__ import annotations

import functools
import hashlib
import io
import re
from collections.abc import Callable, Sequence
from dataclasses import dataclass

from pypdf import PdfReader, PdfWriter
from pypdf.generic import (
    BooleanObject,
    DictionaryObject,
    IndirectObject,
    NameObject,
    TextStringObject,
)

from pipeline import __version__
from pipeline.base.geometry import Rect, decimal, pt
from pipeline.draw.forms import Source, form_of, pdf_numbers, place

IDENTIFIER = re.compile(rb"/ID \[[^]]*\]\n(?=>>\nstartxref\n\d+\n%%EOF\n\Z)")
"""As it ends the trailer that pypdf writes."""


@dataclass(frozen=True)
class PlacedPage:
    """A drawing on a side: its page number in the source, and its matrix.

    ``clip`` (mm, in the drawing's own coordinates from its top left) is the part shown.
    """

    page: int
    matrix: tuple[float, ...]
    clip: Rect | None = None


@dataclass(frozen=True)
class SidePlan:
    """One PDF page to make: its size (mm), trims (mm), the pages on it, those around them."""

    width: float
    height: float
    trim: Rect
    bleed: Rect
    pages: tuple[PlacedPage, ...]
    around: tuple[int, ...]


@dataclass(frozen=True)
class FileAbout:
    """What a file says of itself; ``duplex`` is a name of ISO 32000-1, 12.2, Table 150.

    ``version`` is that of PDF which it keeps to.
    """

    title: str
    language: str
    duplex: str
    version: str = "1.7"


def stitch(
    sides: Sequence[SidePlan],
    pages: Source,
    margins: Source,
    about: FileAbout,
    finish: Callable[[PdfWriter], None] | None = None,
) -> bytes:
    """The finished PDF: one page for each side, in the order given.

    ``finish`` adds what else there is, once the pages are.
    """
    writer = PdfWriter()

    @functools.cache
    def form(source: Source, number: int, clip: Rect | None) -> IndirectObject:
        page = source.pages[number]
        if clip is None:
            return form_of(writer, page)
        left, top = float(page.mediabox.left), float(page.mediabox.top)
        shown = (left + pt(clip.x), top - pt(clip.bottom), left + pt(clip.right), top - pt(clip.y))
        return form_of(writer, page, shown)

    for side in sides:
        page = writer.add_blank_page(pt(side.width), pt(side.height))
        placed = [
            (" ".join(map(decimal, one.matrix)), form(pages, one.page, one.clip))
            for one in side.pages
        ]
        around = [("", form(margins, number, None)) for number in side.around]
        place(page, writer, [*placed, *around])
        whole = Rect(0, 0, side.width, side.height)
        for name, rect in (
            ("/MediaBox", whole),
            ("/CropBox", whole),
            ("/BleedBox", side.bleed),
            ("/TrimBox", side.trim),
        ):
            below, above = side.height - rect.bottom, side.height - rect.y
            page[NameObject(name)] = pdf_numbers([pt(rect.x), pt(below), pt(rect.right), pt(above)])
    if finish is not None:
        finish(writer)
    _describe(writer, about)
    return _written(writer, about.version)


def stitch_drawn(drawn: Source, width: float, height: float, about: FileAbout) -> bytes:
    """A file of whole pages, ``width`` × ``height`` mm, that are drawn and nothing else."""
    whole = Rect(0, 0, width, height)
    numbers = range(len(drawn.pages))
    sides = [SidePlan(width, height, whole, whole, (), (number,)) for number in numbers]
    return stitch(sides, drawn, drawn, about)


def backwards(data: bytes) -> bytes:
    """A finished PDF once more with its pages from the last to the first, otherwise the same."""
    writer = PdfWriter(clone_from=PdfReader(io.BytesIO(data)))
    kids = writer.root_object["/Pages"].get_object()["/Kids"].get_object()  # type: ignore[index]
    kids.reverse()
    return _written(writer)


def _describe(writer: PdfWriter, about: FileAbout) -> None:
    writer.add_metadata({"/Title": about.title, "/Producer": f"leafset {__version__}"})
    preferences = DictionaryObject(
        {
            NameObject("/DisplayDocTitle"): BooleanObject(True),
            NameObject("/PrintScaling"): NameObject("/None"),
            NameObject("/Duplex"): NameObject(about.duplex),
            NameObject("/PickTrayByPDFSize"): BooleanObject(True),
        }
    )
    root = writer.root_object
    root[NameObject("/ViewerPreferences")] = preferences
    root[NameObject("/Lang")] = TextStringObject(about.language)


def _written(writer: PdfWriter, version: str = "1.7") -> bytes:
    """The file's bytes, its identifier (14.4) taken from what is in it, where pypdf's is random.

    Faces, artwork and marks come shared already; what little else is equal does not.
    """
    writer.pdf_header = f"%PDF-{version}"
    writer.compress_identical_objects()
    writer.generate_file_identifiers()
    out = io.BytesIO()
    writer.write(out)
    before, after = IDENTIFIER.split(out.getvalue())
    digest = hashlib.sha256(before + after).hexdigest()[:32]
    return b"".join((before, f"/ID [ <{digest}> <{digest}> ]\n".encode(), after))
