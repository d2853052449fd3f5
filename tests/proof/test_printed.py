"""Prints read from pictures of them, against printers and cameras whose faults are known.

The printer, the phone and the scanner are simulated with Pillow and numpy; what is measured is
OpenCV's work. Bounds: 0.15 mm for a shift, 0.1 % for a scale, 0.05° for a turn.
"""

from __future__ import annotations

from pathlib import Path

import numpy as np
import pytest
from PIL import Image, ImageDraw

from pipeline.base.errors import UserError
from pipeline.impose.sheet import Flip
from pipeline.proof.printed import NotMadeHereError, Print, back_shift_mm, read_print
from tests.conftest import Demo
from tests.proof.printer_and_camera import DPI, Bad, lit, photographed, printed, saved, scanned

CORNERS = [(232, 195), (2040, 248), (2138, 2850), (135, 2775)]
SIZE = (2250, 3000)


@pytest.fixture(scope="module")
def feed_test(demo: Demo) -> Path:
    return demo.folder("march", "running", "a4").parents[2] / "feed-test-a4.pdf"


@pytest.fixture(scope="module")
def sheets(demo: Demo) -> Path:
    return demo.folder("march", "running", "a4") / "both-sides.pdf"


def shot(pdf: Path, page: int, printer: Bad, to: Path, seed: int = 0) -> Path:
    return saved(photographed(printed(pdf, page, printer), CORNERS, SIZE, seed=seed), to)


def assert_as_printed(one: Print, printer: Bad) -> None:
    assert one.scale == pytest.approx((printer.scale, printer.scale), abs=0.001)
    assert one.turn_deg == pytest.approx(printer.askew_deg, abs=0.05)
    assert one.skew_deg == pytest.approx(0, abs=0.05)
    assert one.off_mm == pytest.approx(printer.off_mm, abs=0.1)


@pytest.mark.parametrize("flip", [Flip.SHORT, pytest.param(Flip.LONG, marks=pytest.mark.wide)])
def test_scale_turn_and_shift_of_a_bad_printer(feed_test: Path, flip: Flip, tmp_path: Path) -> None:
    """97 %, 0.4° askew, and side 2 1.3 mm to the right and 0.8 mm up."""
    shift, place = (1.3, -0.8), (0.5, -0.3)
    # The front's place as it is seen from behind, on the page as the file has it.
    behind = (-place[0], place[1]) if flip is Flip.LONG else (place[0], -place[1])
    front = Bad(0.97, 0.4, place)
    back = Bad(0.97, 0.4, (behind[0] + shift[0], behind[1] + shift[1]))
    one = read_print(shot(feed_test, 1, front, tmp_path / "1.jpg"), [feed_test])
    two = read_print(shot(feed_test, 2, back, tmp_path / "2.jpg", seed=2), [feed_test])
    assert (one.page.number, two.page.number) == (1, 2)
    assert_as_printed(one, front)
    assert_as_printed(two, back)
    assert back_shift_mm(one, two, flip) == pytest.approx(shift, abs=0.15)
    assert not one.missing
    assert not one.extra


@pytest.mark.parametrize("turned", [180, pytest.param(90, marks=pytest.mark.wide)])
def test_a_picture_may_lie_any_way(feed_test: Path, turned: int, tmp_path: Path) -> None:
    printer = Bad(1.0, -0.2, (0.0, 0.6))
    ways = {90: Image.Transpose.ROTATE_270, 180: Image.Transpose.ROTATE_180}
    paper = photographed(printed(feed_test, 2, printer), CORNERS, SIZE)
    way = ways.get(turned, Image.Transpose.ROTATE_90)  # Pillow turns to the left
    one = read_print(saved(paper.transpose(way), tmp_path / "turned.jpg"), [feed_test])
    assert (one.page.number, one.turned) == (2, turned)
    assert_as_printed(one, printer)


def test_a_scan_without_edges_gives_its_scale_by_the_scanner_s_dots(
    feed_test: Path, tmp_path: Path
) -> None:
    paper = printed(feed_test, 1, Bad(0.985, 0.3, (1.0, 2.0)))
    file = tmp_path / "scan.png"
    scanned(paper, 300).save(file, dpi=(300, 300))
    one = read_print(file, [feed_test])
    assert one.scale == pytest.approx((0.985, 0.985), abs=0.001)
    assert one.off_mm is None


def test_a_sheet_is_known_by_its_words_and_what_differs_is_found(
    sheets: Path, tmp_path: Path
) -> None:
    paper = printed(sheets, 5, Bad(0.98, -0.3, (0.5, 0.7)))
    pen, per_mm = ImageDraw.Draw(paper), DPI / 25.4
    drawn = np.asarray(paper) < 200
    pen.ellipse([80 * per_mm, 180 * per_mm, 86 * per_mm, 186 * per_mm], fill=50)
    # White over the densest 25 mm of the page, as where a printer's roller lifted the ink.
    size = round(25 * per_mm)
    counts = drawn[: drawn.shape[0] // size * size, : drawn.shape[1] // size * size]
    counts = counts.reshape(counts.shape[0] // size, size, -1, size).sum(axis=(1, 3))
    row, column = divmod(int(counts.argmax()), counts.shape[1])
    pen.rectangle([column * size, row * size, (column + 1) * size, (row + 1) * size], fill=255)
    one = read_print(saved(photographed(paper, CORNERS, SIZE), tmp_path / "s.jpg"), [sheets])
    assert one.page.number == 5
    assert one.scale == pytest.approx((0.98, 0.98), abs=0.001)
    assert any(box.x < 83 < box.right and box.y < 183 < box.bottom for box in one.extra)
    x, y = (column + 0.5) * 25, (row + 0.5) * 25
    assert any(
        box.grown(6).x < x < box.grown(6).right and box.y - 6 < y < box.bottom + 6
        for box in one.missing
    )


def test_a_clean_sheet_differs_in_nothing(sheets: Path, tmp_path: Path) -> None:
    one = read_print(shot(sheets, 4, Bad(), tmp_path / "clean.jpg"), [sheets])
    assert one.page.number == 4
    assert (one.missing, one.extra) == ((), ())
    assert_as_printed(one, Bad())


def test_what_cannot_be_read_says_why(feed_test: Path, tmp_path: Path) -> None:
    paper = printed(feed_test, 1, Bad())
    white = saved(paper.reduce(2), tmp_path / "no-edges.jpg")
    with pytest.raises(UserError, match="four edges of the sheet are not seen; lay the sheet on"):
        read_print(white, [feed_test])
    small = photographed(paper, CORNERS, SIZE).reduce(4)
    with pytest.raises(UserError, match=r"only 5\d pixels to an inch of paper"):
        read_print(saved(small, tmp_path / "small.jpg"), [feed_test])
    blank = photographed(Image.new("L", paper.size, 255), CORNERS, SIZE)
    with pytest.raises(NotMadeHereError, match="shows nothing that was made here"):
        read_print(saved(blank, tmp_path / "blank.jpg"), [feed_test])
    dark = lit(photographed(paper, CORNERS, SIZE, blur=30), 0.3)
    with pytest.raises(UserError, match="too blurred"):
        read_print(saved(dark, tmp_path / "blurred.jpg"), [feed_test])
    (tmp_path / "words.jpg").write_text("no picture")
    with pytest.raises(UserError, match="can't be read as a picture"):
        read_print(tmp_path / "words.jpg", [feed_test])
    with pytest.raises(UserError, match="no such file"):
        read_print(tmp_path / "none.jpg", [feed_test])
