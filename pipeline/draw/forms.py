"""Pages of one PDF as form XObjects of another (ISO 32000-1, 8.10): drawn once, placed often."""

from __future__ import annotations

import copy
import io
import zlib
from collections.abc import Mapping, Sequence

from pypdf import PageObject, PdfReader, PdfWriter
from pypdf.generic import (
    ArrayObject,
    BooleanObject,
    DictionaryObject,
    FloatObject,
    IndirectObject,
    NameObject,
    StreamObject,
)

from pipeline.base.geometry import decimal


def pdf_numbers(values: Sequence[float]) -> ArrayObject:
    """An array of numbers for a PDF dictionary."""
    return ArrayObject(FloatObject(decimal(float(value))) for value in values)


class Source:
    """A PDF of drawings, opened once and placed into as many files as need be."""

    def __init__(self, pdf: bytes) -> None:
        self.reader = PdfReader(io.BytesIO(pdf))
        self.pages = list(self.reader.pages)

    def followed_by(self, other: Source) -> Source:
        """The same with the pages of another after its own."""
        both = copy.copy(self)
        both.pages = [*self.pages, *other.pages]
        return both

    def sizes(self) -> list[tuple[float, float]]:
        """Width and height of each page, pt."""
        return [(float(p.mediabox.width), float(p.mediabox.height)) for p in self.pages]


def form_of(
    writer: PdfWriter,
    page: PageObject,
    corners: Sequence[float] | None = None,
    *,
    apart: bool = True,
) -> IndirectObject:
    """A page as a form XObject of ``writer``'s file.

    ``corners`` (left, bottom, right, top in the page's points) is the part of it that shows; all
    of it if not given. The form's origin is the page's lower left corner. A page that is not kept
    ``apart``, though it is a transparency group (8.10.3), is none as a form: it blends with what
    it is placed on, and pdfium does not cut off the lowest row of pixels of text at its edge.
    """
    box = page.mediabox
    resources = page.get("/Resources")
    copied = resources.get_object().clone(writer) if resources else DictionaryObject()
    form = _form(_packed(page), corners or [float(side) for side in box])
    if (box.left, box.bottom) != (0, 0):
        form[NameObject("/Matrix")] = pdf_numbers([1, 0, 0, 1, -box.left, -box.bottom])
    form[NameObject("/Resources")] = copied
    if "/Group" in page and apart:
        form[NameObject("/Group")] = page["/Group"].clone(writer)
    return added(writer, form)


def added(writer: PdfWriter, made: DictionaryObject) -> IndirectObject:
    """Where an object that was made for it is in ``writer``'s file."""
    made.indirect_reference = None  # a place is wanted: pypdf gives one to a copy that it makes
    reference = made.clone(writer).indirect_reference
    assert reference is not None
    return reference


def _packed(page: PageObject) -> bytes:
    """A page's content, deflated; content that is one deflated stream is not packed anew."""
    contents = page.get("/Contents")
    stream = contents.get_object() if contents is not None else None
    if isinstance(stream, StreamObject) and stream.get("/Filter") == "/FlateDecode":
        written = io.BytesIO()
        stream.write_to_stream(written)
        return written.getvalue().partition(b"\nstream\n")[2].removesuffix(b"\nendstream")
    whole = page.get_contents()
    return zlib.compress(whole.get_data() if whole is not None else b"", 6)


def _form(data: bytes, corners: Sequence[float]) -> StreamObject:
    """A form around bytes that are deflated already (ISO 32000-1, 7.4.4)."""
    return StreamObject.initialize_from_dictionary(
        {
            "__streamdata__": data,
            NameObject("/Filter"): NameObject("/FlateDecode"),
            NameObject("/Type"): NameObject("/XObject"),
            NameObject("/Subtype"): NameObject("/Form"),
            NameObject("/BBox"): pdf_numbers(corners),
        }
    )


def form_from(
    writer: PdfWriter,
    content: bytes,
    size: tuple[float, float],
    opacities: Mapping[str, Sequence[float]],
) -> IndirectObject:
    """A deflated content stream of our own as a form XObject of ``size`` (pt).

    ``opacities`` maps names of graphics states (with their slash) to fill and stroke alpha.
    """
    form = _form(content, [0, 0, *size])
    resources = DictionaryObject()
    if opacities:
        states = DictionaryObject()
        for name, (fill, stroke) in opacities.items():
            states[NameObject(name)] = DictionaryObject(
                {
                    NameObject("/ca"): FloatObject(decimal(fill)),
                    NameObject("/CA"): FloatObject(decimal(stroke)),
                }
            )
        resources[NameObject("/ExtGState")] = states
    form[NameObject("/Resources")] = resources
    return added(writer, form)


def group_of(
    writer: PdfWriter, size: tuple[float, float], forms: Sequence[IndirectObject]
) -> IndirectObject:
    """Forms of one ``size`` (pt) as one, from the bottom up, that blend with each other alone.

    The paper itself is never blended with (Compositing 1, 2.2; ISO 32000-1, 11.6.6).
    """
    content, resources = _placing([("", form) for form in forms])
    group = _form(zlib.compress(content), [0, 0, *size])
    group[NameObject("/Resources")] = resources
    group[NameObject("/Group")] = DictionaryObject(
        {
            NameObject("/S"): NameObject("/Transparency"),
            NameObject("/I"): BooleanObject(True),
            NameObject("/CS"): NameObject("/DeviceRGB"),
        }
    )
    return added(writer, group)


def place(page: PageObject, writer: PdfWriter, forms: Sequence[tuple[str, IndirectObject]]) -> None:
    """Makes a page's content: forms from the bottom up, each with the matrix it is placed by."""
    steps, resources = _placing(forms)
    content = StreamObject()
    content.set_data(steps)
    page[NameObject("/Contents")] = added(writer, content)
    page[NameObject("/Resources")] = resources


def _placing(forms: Sequence[tuple[str, IndirectObject]]) -> tuple[bytes, DictionaryObject]:
    """The content that places forms, and its resources."""
    xobjects = DictionaryObject()
    steps = []
    for index, (matrix, form) in enumerate(forms):
        name = f"/F{index}"
        xobjects[NameObject(name)] = form
        steps.append(f"q {matrix} cm {name} Do Q" if matrix else f"q {name} Do Q")
    return "\n".join(steps).encode(), DictionaryObject({NameObject("/XObject"): xobjects})
