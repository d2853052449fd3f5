"""Pictures of small made-up sets, in which every colour has one place to be."""

from __future__ import annotations

import json
from pathlib import Path

import numpy as np
import pytest
from PIL import Image, ImageChops
from pypdf import PdfReader, PdfWriter

from pipeline.base.geometry import Rect
from pipeline.plan.model import Side
from pipeline.proof.pictures.pictures import GAP_MM, MARGIN_MM, open_set, tile
from pipeline.proof.read.raster import area_picture, compare, opened, page_picture
from tests.proof.made_up import FLAP, HEIGHT, HOLES, WIDTH, MadeUpLeaf, MadeUpPage, make_set

DPI = 100.0
COLOURS = {
    "red": (200, 40, 40),
    "green": (40, 160, 60),
    "blue": (40, 60, 200),
    "orange": (240, 150, 20),
}


def block(colour: str, x: float, y: float = 30.0, size: float = 10.0) -> str:
    """A square of one of the colours, mm."""
    shade = "rgb({},{},{})".format(*COLOURS[colour])
    return f'<rect x="{x}" y="{y}" width="{size}" height="{size}" fill="{shade}"/>'


def found(picture: Image.Image, colour: str) -> Rect | None:
    """Where a colour is in a picture, in mm; ``None`` if it is nowhere."""
    off = np.abs(np.asarray(picture, dtype=int) - np.array(COLOURS[colour])).max(axis=2)
    rows, columns = np.nonzero(off < 24)
    if not len(rows):
        return None
    mm = 25.4 / DPI
    return Rect(
        columns.min() * mm,
        rows.min() * mm,
        (columns.max() + 1 - columns.min()) * mm,
        (rows.max() + 1 - rows.min()) * mm,
    )


def is_at(place: Rect | None, x: float, y: float, size: float = 10.0) -> bool:
    """Whether a block lies where it should, to a pixel and a half."""
    return (
        place is not None
        and max(abs(place.x - x), abs(place.y - y), abs(place.right - x - size)) < 1.5 * 25.4 / DPI
    )


def leaves() -> list[MadeUpLeaf]:
    """Three leaves, left-bound: red | green is spread 1 with flaps, blue | orange spread 2."""
    return [
        MadeUpLeaf(
            MadeUpPage(block("orange", WIDTH + 4), "opening"),  # on the back of red's flap
            MadeUpPage(block("red", FLAP + 20), "left", own_flap=True),
            FLAP,
        ),
        MadeUpLeaf(
            MadeUpPage(block("green", 20) + block("orange", WIDTH + 4), "right", own_flap=True),
            MadeUpPage(block("blue", FLAP + 20) + block("red", 4), "between, left"),
            FLAP,
        ),
        MadeUpLeaf(MadeUpPage(block("orange", 20), "between, right"), None),
    ]


@pytest.mark.parametrize("turn", [0, 90, 180, 270])
def test_spreads_follow_one_another_however_leaves_lie_on_the_sheet(
    tmp_path: Path, turn: int
) -> None:
    folder = make_set(tmp_path / "set", leaves(), turn=turn)
    rings = MARGIN_MM + FLAP + WIDTH + GAP_MM / 2
    with open_set(folder, DPI) as pictures:
        assert pictures.contents.spreads == ((0, 1), (1, 2))
        first, second = pictures.spread(0), pictures.spread(1)
    left_page = rings - GAP_MM / 2 - WIDTH
    right_page = rings + GAP_MM / 2
    assert is_at(found(first, "red"), left_page + 20, MARGIN_MM + 30)
    assert is_at(found(first, "green"), right_page + 20, MARGIN_MM + 30)
    assert is_at(found(first, "orange"), right_page + WIDTH + 4, MARGIN_MM + 30)
    assert found(first, "blue") is None
    assert is_at(found(second, "blue"), left_page + 20, MARGIN_MM + 30)
    assert is_at(found(second, "orange"), right_page + 20, MARGIN_MM + 30)
    assert found(second, "green") is None
    assert first.size == second.size


@pytest.mark.parametrize("turn", [90, 180, 270])
def test_a_turned_leaf_gives_the_same_picture(tmp_path: Path, turn: int) -> None:
    with open_set(make_set(tmp_path / "upright", leaves()), DPI) as pictures:
        expected = np.asarray(pictures.spread(0), dtype=int)
    with open_set(make_set(tmp_path / "turned", leaves(), turn=turn), DPI) as pictures:
        actual = np.asarray(pictures.spread(0), dtype=int)
    # pdfium widens a filled edge to whole pixels, so an edge may gain one: no more than that.
    assert (np.abs(expected - actual).max(axis=2) > 24).mean() < 0.001


def test_a_shut_flap_shows_its_back_from_the_other_face(tmp_path: Path) -> None:
    with open_set(make_set(tmp_path / "set", leaves()), DPI) as pictures:
        shut = pictures.spread(0, shut=True)
        assert pictures.has_flap(0)
    left_page = MARGIN_MM + FLAP
    right_page = left_page + WIDTH + GAP_MM
    # The left flap turns over to the right: what is 4 mm from the fold on its back is 4 mm from
    # the fold still, now over the page. Its back is orange, printed beside the opening page.
    assert is_at(found(shut, "orange"), left_page + 4, MARGIN_MM + 30)
    # The right flap's back is red: printed 4 mm from the free edge, so FLAP - 4 mm from the fold.
    # The red page's own block lies clear of the flap and shows too.
    pixels = np.asarray(shut)
    middle = round((right_page + WIDTH - FLAP + 4 + 5) / 25.4 * DPI)
    assert tuple(pixels[round((MARGIN_MM + 35) / 25.4 * DPI), middle]) == pytest.approx(
        COLOURS["red"], abs=24
    )
    # Closed, the spread is no wider than two pages: beyond it is bare desk.
    beyond = round((left_page - 8) / 25.4 * DPI)
    assert np.ptp(pixels[:, beyond].astype(int), axis=0).max() <= 6


def test_a_shut_flap_covers_its_page_as_far_as_it_is_wide(tmp_path: Path) -> None:
    page = MadeUpPage(
        "".join(block("green", x, 30, 1) for x in (WIDTH - FLAP - 2, WIDTH - FLAP + 1)),
        own_flap=True,
    )
    made = [MadeUpLeaf(None, None), MadeUpLeaf(page, None, FLAP)]
    with open_set(make_set(tmp_path / "set", made), DPI) as pictures:
        open_spread, shut = pictures.spread(0), pictures.spread(0, shut=True)
    both, one = found(open_spread, "green"), found(shut, "green")
    assert both is not None
    assert one is not None
    assert both.width == pytest.approx(4, abs=0.4)
    assert one.width == pytest.approx(1, abs=0.4)


def test_a_flap_of_the_page_behind_stays_out_of_sight(tmp_path: Path) -> None:
    with open_set(make_set(tmp_path / "set", leaves()), DPI) as pictures:
        second = pictures.spread(1)
        assert not pictures.has_flap(1)
    assert found(second, "red") is None  # printed on the flap, which is folded over the recto


def test_a_set_bound_on_the_right_is_read_from_the_right(tmp_path: Path) -> None:
    made = [
        MadeUpLeaf(
            None, MadeUpPage(block("red", 20) + block("blue", WIDTH + 4), own_flap=True), FLAP
        ),
        MadeUpLeaf(MadeUpPage(block("green", FLAP + 20), own_flap=True), MadeUpPage(""), FLAP),
    ]
    with open_set(make_set(tmp_path / "set", made, binding="right"), DPI) as pictures:
        spread = pictures.spread(0)
    right_page = MARGIN_MM + FLAP + WIDTH + GAP_MM
    assert is_at(found(spread, "red"), right_page + 20, MARGIN_MM + 30)
    assert is_at(found(spread, "blue"), right_page + WIDTH + 4, MARGIN_MM + 30)
    assert is_at(found(spread, "green"), MARGIN_MM + FLAP + 20, MARGIN_MM + 30)


@pytest.mark.parametrize("binding", ["left", "right"])
def test_holes_are_punched_at_the_binding_edge(tmp_path: Path, binding: str) -> None:
    made = [MadeUpLeaf(MadeUpPage("", "first"), MadeUpPage("", "back"))]
    with open_set(make_set(tmp_path / "set", made, binding=binding), DPI) as pictures:
        first = np.asarray(pictures.single(0, Side.RECTO).convert("L"), dtype=int)
    edge, diameter = HOLES.edge_mm, HOLES.diameter_mm
    x = MARGIN_MM + (edge if binding == "left" else WIDTH - edge)
    mirrored = MARGIN_MM + WIDTH - (x - MARGIN_MM)

    def level(x_mm: float, y_mm: float) -> int:
        return int(first[round(y_mm / 25.4 * DPI), round(x_mm / 25.4 * DPI)])

    for centre in HOLES.centres_mm:
        y = MARGIN_MM + centre
        assert level(x, y) < 232
        assert level(x, y + diameter / 2 - 0.6) < 235
        assert level(x, y + diameter / 2 + 0.7) > 236
        assert level(mirrored, y) > 245
    assert level(x, MARGIN_MM + HEIGHT / 2) > 236


def test_a_page_that_was_laid_on_no_sheet_is_blank_paper(tmp_path: Path) -> None:
    with open_set(make_set(tmp_path / "set", leaves()), DPI) as pictures:
        blank = pictures.face(2, Side.VERSO)
    assert blank.size == (round(WIDTH / 25.4 * DPI), round(HEIGHT / 25.4 * DPI))
    assert blank.getextrema() == ((255, 255),) * 3


def test_an_area_begins_at_its_own_corner_on_the_page(tmp_path: Path) -> None:
    with open_set(make_set(tmp_path / "set", leaves(), corner=(17.37, 22.91)), DPI) as pictures:
        page = pictures.page(1, 1)
        picture = area_picture(page, Rect(17.37 + 20, 22.91 + 30, 10, 10), DPI)
    # Green from edge to edge: an area more than a pixel off would leave a white line.
    assert np.abs(np.asarray(picture, dtype=int)[1:-1, 1:-1] - COLOURS["green"]).max() <= 2


def test_side_2_in_reverse_order_is_read_in_reverse_order(tmp_path: Path) -> None:
    folder = make_set(tmp_path / "set", leaves())
    with open_set(folder, DPI) as pictures:
        expected = pictures.spread(0)
    side_2 = PdfReader(folder / "side-2.pdf")
    writer = PdfWriter()
    for page in reversed(side_2.pages):
        writer.add_page(page)
    writer.write(folder / "side-2.pdf")
    path = folder / "contents.json"
    path.write_text(json.dumps(json.loads(path.read_text()) | {"reverse_side_2": True}))
    with open_set(folder, DPI) as pictures:
        assert pictures.spread(0) == expected


@pytest.mark.parametrize("shut", [False, True])
def test_a_window_of_a_view_is_as_the_whole_is_there(tmp_path: Path, shut: bool) -> None:
    with open_set(make_set(tmp_path / "set", leaves()), DPI) as pictures:
        view = pictures.views[1]
        whole = pictures.view(*view, shut=shut)
        assert whole.size == pictures.view_px
        width, height = whole.size
        for box in (
            (0, 0, width // 2, height // 3),
            (width // 3, height // 4, 2 * width // 3, height),
            (width - 150, height - 90, width, height),
        ):
            window = pictures.view(*view, shut=shut, window=box)
            assert window.size == (box[2] - box[0], box[3] - box[1])
            apart = np.asarray(ImageChops.difference(window, whole.crop(box)))
            # Shadows are made from a quarter of the pixels, which begin elsewhere.
            assert apart.max() <= 6


@pytest.mark.parametrize("turn", [0, 90, 180])
def test_a_page_kept_as_a_pdf_shows_the_same(tmp_path: Path, turn: int) -> None:
    with open_set(make_set(tmp_path / "set", leaves(), turn=turn), DPI) as pictures:
        for face in Side:
            with opened(pictures.face_pdf(1, face)) as kept:
                assert len(kept) == 1
                assert compare(pictures.face(1, face), page_picture(kept[0], DPI)).same


def test_tiles_cover_a_picture_and_end_with_it() -> None:
    assert [tile((2100, 800), column, 0)[2] for column in range(3)] == [1024, 2048, 2100]
    with pytest.raises(IndexError):
        tile((2048, 800), 2, 0)
