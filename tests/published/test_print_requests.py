"""What the finished files ask of viewers and printers, in the words of ISO 32000-1."""

from __future__ import annotations

import functools
import io
import itertools
from typing import cast

import pytest
from pypdf import PdfReader
from pypdf.generic import ArrayObject, DictionaryObject

from pipeline.impose import BOTH, SIDE_1, SIDE_2, Flip, Imposed, PrinterSettings, impose
from pipeline.plan.model import Paper
from tests.impose.sample import A4, LETTER, PERSONAL, book, pages_pdf, set_of


@functools.cache
def done(paper: Paper, flip: Flip) -> Imposed:
    plan = set_of([(0.0, 0.0)] * 3, PERSONAL)
    return impose(plan, paper, PrinterSettings(flip=flip), pages_pdf(plan), book())


# ISO 32000-1, 12.2, Table 150 "Entries in a viewer preferences dictionary":
# PrintScaling (name, PDF 1.6): None = no page scaling. Duplex (name, PDF 1.7): Simplex,
# DuplexFlipShortEdge, DuplexFlipLongEdge. PickTrayByPDFSize (boolean, PDF 1.7).
# DisplayDocTitle (boolean, PDF 1.4).
@pytest.mark.parametrize(
    ("name", "flip", "duplex"),
    [
        (BOTH, Flip.LONG, "/DuplexFlipLongEdge"),
        (BOTH, Flip.SHORT, "/DuplexFlipShortEdge"),
        (SIDE_1, Flip.LONG, "/Simplex"),
        (SIDE_2, Flip.SHORT, "/Simplex"),
    ],
)
def test_viewer_preferences(name: str, flip: Flip, duplex: str) -> None:
    reader = PdfReader(io.BytesIO(done(A4, flip).files[name]))
    asked = cast(DictionaryObject, reader.root_object["/ViewerPreferences"])
    assert {key: str(value) for key, value in asked.items()} == {
        "/PrintScaling": "/None",
        "/Duplex": duplex,
        "/PickTrayByPDFSize": "True",
        "/DisplayDocTitle": "True",
    }


# The same table's newest entries need PDF 1.7; the header says so (7.5.2).
@pytest.mark.parametrize("name", [SIDE_1, SIDE_2, BOTH])
def test_header_says_the_version_that_has_them(name: str) -> None:
    assert done(A4, Flip.LONG).files[name].startswith(b"%PDF-1.7\n")


# 7.7.3.3, Table 30: the boxes of a page; 14.11.2.1: none should reach beyond the media box, and
# nothing is said of how the others nest. That the trim box lies in the bleed box is PDF/X's rule
# (ISO 15930-7, from memory); that the bleed box lies in the crop box is ours, so that viewers show
# all of it. 8.3.2.3: 1 unit = 1/72 inch.
@pytest.mark.parametrize("paper", [A4, LETTER])
@pytest.mark.parametrize("name", [SIDE_1, SIDE_2, BOTH])
def test_page_boxes_nest_and_the_media_is_the_paper(name: str, paper: Paper) -> None:
    for page in PdfReader(io.BytesIO(done(paper, Flip.LONG).files[name])).pages:
        for box in ("/TrimBox", "/BleedBox", "/CropBox", "/MediaBox"):
            assert box in page
        nested = [page.trimbox, page.bleedbox, page.cropbox, page.mediabox]
        for inner, outer in itertools.pairwise(nested):
            assert inner.left >= outer.left
            assert inner.bottom >= outer.bottom
            assert inner.right <= outer.right
            assert inner.top <= outer.top
        assert float(page.mediabox.width) == pytest.approx(paper.width_mm / 25.4 * 72, abs=1e-4)
        assert float(page.mediabox.height) == pytest.approx(paper.height_mm / 25.4 * 72, abs=1e-4)


# 14.3.3, Table 317: Title. 7.7.2, Table 28: Lang in the catalogue; 14.9.2.2: a language tag by
# RFC 3066 (by its successor, BCP 47, in ISO 32000-2).
# 14.4: the file identifier; no CreationDate or ModDate (both optional), which would tell builds
# of the same season apart.
def test_title_language_and_identifier() -> None:
    files = done(A4, Flip.LONG).files
    reader = PdfReader(io.BytesIO(files[BOTH]))
    information = reader.metadata
    assert information is not None
    assert "March 2027" in str(information.title)
    assert str(reader.root_object["/Lang"]) == "en-GB"
    assert "/CreationDate" not in information
    assert "/ModDate" not in information
    identifiers = {
        cast(ArrayObject, PdfReader(io.BytesIO(data)).trailer["/ID"])[0].original_bytes
        for data in files.values()
    }
    assert len(identifiers) == 3
    assert all(len(identifier) == 16 for identifier in identifiers)


# 9.9: font programs are embedded (FontFile, FontFile2 or FontFile3), subsets named ABCDEF+Name
# (9.6.4).
def test_fonts_are_embedded_as_subsets() -> None:
    reader = PdfReader(io.BytesIO(done(A4, Flip.LONG).files[BOTH]))
    everything = (reader.get_object(number) for number in sorted(reader.xref[0]))
    fonts = [
        item
        for item in everything
        if isinstance(item, DictionaryObject) and item.get("/Type") == "/FontDescriptor"
    ]
    assert fonts
    for font in fonts:
        assert any(key in font for key in ("/FontFile", "/FontFile2", "/FontFile3"))
        assert str(font["/FontName"])[7] == "+"
