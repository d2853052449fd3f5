"""What is painted where letters stand: what may be meant, and figures from outside."""

from __future__ import annotations

import itertools
from dataclasses import replace
from pathlib import Path
from types import SimpleNamespace

import cairocffi
import numpy as np
import pytest
from fontTools.ttLib import TTFont

from pipeline.base.geometry import PT_PER_MM, Rect
from pipeline.proof.findings.painted import _contrast, _known_shapes, _mistaken, _Pictures
from pipeline.proof.findings.pdffiles import BOTH, FileRead, file_read
from pipeline.proof.findings.reading import GREY_DPI, SideRead, read_side
from pipeline.proof.findings.subject import subject_of
from pipeline.proof.read.objects import Paint, address, painted
from pipeline.proof.read.raster import grey_picture, opened
from pipeline.text.fonts import Faces, FontBook
from tests.proof.findings.garden import VERSO, Garden

UNUSUAL = "".join(
    (
        "<rect x='58' y='155' width='24' height='2.4' fill='#3f4a39'/>",
        "<text x='60' y='156.8' font-family='Source Sans 3' font-size='2.4' fill='#ffffff'>"
        "white on dark</text>",
        "<path d='M60 163h40' stroke='#5d6459' stroke-width='.3'/>",
        "<text x='60' y='163.5' font-family='Source Sans 3' font-size='3' fill='#5d6459'>"
        "struck by a line</text>",
        "<rect x='1.2' y='180' width='20' height='9' fill='#dbe5d3'/>",
        "<path transform='scale(.4 1)' d='M250 150h190' stroke='#6f8f5f' stroke-width='.3'/>",
    )
)
"""Letters, lines and a tint that are as they are meant to be."""


def test_nothing_is_found_in_unusual_drawings_that_are_sound(cache: Path, tmp_path: Path) -> None:
    garden = Garden.planted(tmp_path / "garden", "en-GB", cache)
    garden.redraw(VERSO, lambda svg: svg.replace("</svg>", f"<g>{UNUSUAL}</g></svg>"))
    upwards = '<g id="label-watch" transform="rotate(90 22 120)"'
    garden.redraw(VERSO, lambda svg: svg.replace('<g id="label-watch"', upwards))
    garden.build()
    assert garden.check() == ()


def test_sides_read_layer_by_layer_are_as_pdfium_draws_and_reads_them_whole(sound: Garden) -> None:
    """Letters drawn over all the rest, and what other pages showed, against each page alone."""
    subject, shared = subject_of(sound.set_folder, sound.plan), 0
    path = sound.set_folder / BOTH
    file = file_read(path, path.read_bytes())
    assert isinstance(file, FileRead)
    for number, page in enumerate(file.document):
        sheet, half = divmod(number, 2)
        side = read_side(subject, page, file.content(number), page, sheet, 2 if half else 1)
        assert all(layer.plain for layer in side.layers)
        assert not side.covers
        assert np.array_equal(side.greys, grey_picture(page, GREY_DPI))
        alone = list(painted(page))
        assert [replace(one, handle=None) for one in side.art] == [
            replace(one, handle=None) for one in alone
        ]
        shared += address(side.art[0].handle) != address(alone[0].handle)
    file.document.close()
    assert shared, "no page has a layer that was read on another"


def test_a_font_file_with_another_font_in_it_is_read_again(tmp_path: Path) -> None:
    shapes = []
    for family in ("Source Sans 3", "Dancing Script"):
        face = next(one for one in FontBook().faces(family) if not one.italic)
        font = TTFont(face.path)
        for record in font["name"].names:
            if record.nameID in (1, 16):
                record.string = "Handy"
        font.save(tmp_path / "handy.ttf")
        fonts = {"fonts/handy.ttf": (tmp_path / "handy.ttf").read_bytes()}
        book = Faces(fonts, {}, False).book()
        shapes.append(_known_shapes("Handy-Regular", book))
    assert all(shapes)
    assert not np.allclose(shapes[0]["8"][0][0], shapes[1]["8"][0][0])


@pytest.mark.parametrize(("rows", "share"), [(1, 0.0), (20, 1.0)])
def test_white_letters_are_not_covered_where_another_letters_tip_reaches_in(
    rows: int, share: float
) -> None:
    behind = np.full((40, 30), 90, np.uint8)
    letters = np.zeros_like(behind)
    letters[-rows:, 10:14] = 165  # as dark as what lies behind: they make no difference there
    side = SimpleNamespace(behind=behind, greys=behind, ink=letters)
    at = slice(0, 40), slice(0, 30)
    assert _Pictures(side).hidden_share(at) == share  # type: ignore[arg-type]


def test_boxes_are_found_in_pictures_to_the_last_row(tmp_path: Path) -> None:
    """A page's picture has whole pixels, which an A4's 1169.3 rows at 100 dpi are not."""
    path = tmp_path / "dash.pdf"
    surface = cairocffi.PDFSurface(str(path), 210 * PT_PER_MM, 297 * PT_PER_MM)
    pen, rows = cairocffi.Context(surface), [10 + 2.03 * number for number in range(140)]
    for row in rows:
        pen.rectangle(10 * PT_PER_MM, row * PT_PER_MM, 2 * PT_PER_MM, 0.24 * PT_PER_MM)
    pen.fill()
    surface.finish()
    with opened(path) as document:
        grey = grey_picture(document[0], GREY_DPI)
        side = object.__new__(SideRead)
        object.__setattr__(side, "page", document[0])
        for row in rows:
            at = side.pixels(Rect(10, row, 2, 0.24))
            near = slice(at[0].start - 2, at[0].stop + 2), at[1]
            assert (255 - grey[at]).sum() > 0.9 * (255 - grey[near]).sum(), row


# WCAG 2.2, "contrast ratio": black on white is 21 to 1. Technique G18 of W3C: #767676 on white is
# the lightest grey that has 4.5 to 1 (from memory).
@pytest.mark.parametrize(("level", "ratio"), [(0, 21.0), (255, 1.0), (0x76, 4.54)])
def test_contrast_is_that_of_the_w3c(level: int, ratio: float) -> None:
    assert _contrast(Paint(level, level, level, 1.0), 255) == pytest.approx(ratio, abs=0.01)


def test_half_clear_letters_contrast_as_what_is_seen_of_them() -> None:
    seen = _contrast(Paint(0, 0, 0, 0.5), 255)
    assert seen == pytest.approx(_contrast(Paint(128, 128, 128, 1.0), 255), rel=0.01)


@pytest.mark.parametrize("name", ["SourceSans3-Roman", "DancingScript-Regular"])
def test_every_sign_of_a_face_is_told_from_all_others(name: str) -> None:
    shapes = _known_shapes(name, FontBook())
    assert set("0123456789") <= shapes.keys()
    for sign, (usual, *further) in shapes.items():
        for light, bold in itertools.pairwise(usual):
            halfway = np.add(light, bold) / 2
            assert _mistaken(sign, halfway, shapes) is None
            for other in set("0123456789") & shapes.keys() - {sign}:
                assert _mistaken(other, halfway, shapes) == sign
        for form in further:
            assert _mistaken(sign, form[0], shapes) is None
