"""The finished files, read back by another library: positions, order, boxes, sameness."""

from __future__ import annotations

import functools
import hashlib
import io
import itertools
import subprocess
from dataclasses import replace
from pathlib import Path as FilePath
from typing import Any

import numpy as np
import pytest
from numpy.typing import NDArray
from PIL import Image
from pypdf import PdfReader

from pipeline.base.errors import UserError
from pipeline.base.geometry import Rect
from pipeline.draw import draw
from pipeline.impose import BOTH, SIDE_1, SIDE_2, Flip, Imposed, PrinterSettings, impose
from pipeline.impose.measure import leaves_a_sheet
from pipeline.impose.sheet import Placement, Position
from pipeline.plan.model import Binder, Binding, Holes, Paper, SetPlan, Side
from pipeline.plan.sizes import load_sizes
from tests.impose.readback import Path, paths, picture, the_bar, type_size, without_bar, words
from tests.impose.sample import A3, A4, A5, LETTER, PERSONAL, POCKET, book, pages_pdf, set_of
from tests.tools import tool

NEAR = 0.01  # mm: what a position may be off by in the finished file
WEEKS = ((None, 42.0), (42.0, 0.0), (0.0, 42.0), (42.0, 0.0))
PLAIN = ((0.0, 0.0),) * 5
SIZES = load_sizes(None)


@functools.cache
def imposed(
    binder: Binder,
    flaps: tuple[tuple[float | None, float | None], ...],
    paper: Paper,
    printer: PrinterSettings,
    binding: Binding = Binding.LEFT,
) -> Imposed:
    plan = set_of(flaps, binder, binding)
    return impose(plan, paper, printer, pages_pdf(plan), book())


JOBS = [
    pytest.param(A5, WEEKS, A4, PrinterSettings(), Binding.LEFT, id="a5-flaps-a4"),
    pytest.param(A5, WEEKS, LETTER, PrinterSettings(), Binding.LEFT, id="a5-flaps-letter"),
    pytest.param(A5, WEEKS, A3, PrinterSettings(flip=Flip.SHORT), Binding.LEFT, id="turned-short"),
    pytest.param(A5, WEEKS, A3, PrinterSettings(), Binding.RIGHT, id="turned-right-bound"),
    pytest.param(PERSONAL, PLAIN, LETTER, PrinterSettings(), Binding.LEFT, id="personal-letter"),
    pytest.param(POCKET, PLAIN, A4, PrinterSettings(flip=Flip.SHORT), Binding.RIGHT, id="pocket"),
    pytest.param(
        A5, WEEKS, A4, PrinterSettings(back_shift_mm=(0.6, -0.4)), Binding.LEFT, id="shifted"
    ),
]
Job = tuple[Binder, Any, Paper, PrinterSettings, Binding]
with_jobs = pytest.mark.parametrize(("binder", "flaps", "paper", "printer", "binding"), JOBS)


def sides(done: Imposed) -> list[tuple[int, tuple[Placement, ...], str]]:
    """Page number in both-sides.pdf, what is on it, and which side it is."""
    found = []
    for index, sheet in enumerate(done.sheets):
        found.append((2 * index, sheet.side_1, "side 1"))
        found.append((2 * index + 1, sheet.side_2, "side 2"))
    return found


def has_line(found: list[Path], start: tuple[float, float], way: tuple[int, int]) -> bool:
    """Whether a straight mark begins at a place and runs that way for 1 mm at least."""
    for path in found:
        if path.is_line:
            for near, far in (path.points, path.points[::-1]):
                run = ((far[0] - near[0]) * way[0]) + ((far[1] - near[1]) * way[1])
                off = max(abs(near[0] - start[0]), abs(near[1] - start[1]))
                if off <= NEAR and run >= 0.7:
                    return True
    return False


@with_jobs
def test_crop_marks_stand_on_every_cut(
    binder: Binder, flaps: Any, paper: Paper, printer: PrinterSettings, binding: Binding
) -> None:
    done = imposed(binder, flaps, paper, printer, binding)
    for number, placed, _ in sides(done):
        found = paths(done.files[BOTH], number)
        for one in placed:
            flat = one.flat
            for x, out in ((flat.x, -1), (flat.right, 1)):
                for y, up in ((flat.y, -1), (flat.bottom, 1)):
                    assert has_line(found, (x + out * 1.5, y), (out, 0))
                    assert has_line(found, (x, y + up * 1.5), (0, up))


@with_jobs
def test_folds_and_holes_are_marked_where_they_are(
    binder: Binder, flaps: Any, paper: Paper, printer: PrinterSettings, binding: Binding
) -> None:
    done = imposed(binder, flaps, paper, printer, binding)
    leaves = set_of(flaps, binder, binding).leaves
    for number, placed, _ in sides(done):
        found = paths(done.files[BOTH], number)
        for one in placed:
            flat, trim = one.flat, one.trim
            flap = leaves[one.leaf].flap_mm
            wide, high = binder.width_mm, binder.height_mm
            position = Position(flat.x, flat.y, wide + flap, high, one.turned)
            bound_left = (one.face is Side.RECTO) is (binding is Binding.LEFT)
            trim_x = 0.0 if bound_left else flap
            assert position.rect(
                Rect(trim_x, 0, binder.width_mm, binder.height_mm)
            ) == pytest.approx(trim)
            fold = binder.width_mm if bound_left else flap
            edge = 0.0 if bound_left else binder.width_mm + flap
            inwards = 1 if bound_left else -1
            marks = [((edge, y), (-inwards, 0)) for y in binder.holes.centres_mm]
            line = edge + inwards * binder.holes.edge_mm
            ends = [(line, 0.0, -1), (line, binder.height_mm, 1)]
            if flap:
                ends += [(fold, 0.0, -1), (fold, binder.height_mm, 1)]
            marks += [((x, y), (0, out)) for x, y, out in ends]
            for (u, v), (du, dv) in marks:
                at = position.point(u + 1.5 * du, v + 1.5 * dv)
                step = position.point(u + 2.5 * du, v + 2.5 * dv)
                way = (round(step.x - at.x), round(step.y - at.y))
                assert has_line(found, (at.x, at.y), way)


@with_jobs
def test_pages_lie_where_their_leaves_do(
    binder: Binder, flaps: Any, paper: Paper, printer: PrinterSettings, binding: Binding
) -> None:
    """Each drawing has an outline 2 mm within its page; it must be there, at true size."""
    done = imposed(binder, flaps, paper, printer, binding)
    plan = set_of(flaps, binder, binding)
    for number, placed, _ in sides(done):
        boxes = [p.box for p in paths(done.files[BOTH], number) if len(p.points) >= 4]
        for one in placed:
            leaf = plan.leaves[one.leaf]
            page = leaf.recto if one.face is Side.RECTO else leaf.verso
            if page is None:
                continue
            whole = one.flat if page.flap_mm == leaf.flap_mm else one.trim
            assert any(
                max(abs(a - b) for a, b in zip(box, whole.grown(-2), strict=True)) <= NEAR
                for box in boxes
            )


@with_jobs
def test_a_measured_bar_and_a_slug_line_are_on_every_side(
    binder: Binder, flaps: Any, paper: Paper, printer: PrinterSettings, binding: Binding
) -> None:
    done = imposed(binder, flaps, paper, printer, binding)
    plan, total = set_of(flaps, binder, binding), len(done.sheets)
    for number, placed, side in sides(done):
        bar = the_bar(paths(done.files[BOTH], number)).box
        assert max(bar.width, bar.height) == pytest.approx(100, abs=NEAR)
        text = " ".join(words(done.files[BOTH], number).split())
        assert f"sheet {number // 2 + 1} of {total}" in text
        assert side in text
        assert "print at 100 %" in text
        assert "100 mm" in text
        for one in placed:
            leaf = plan.leaves[one.leaf]
            page = leaf.recto if one.face is Side.RECTO else leaf.verso
            if page and len(placed) <= 4:
                assert page.label in text


@pytest.mark.parametrize("paper", [A4, LETTER])
@pytest.mark.parametrize("number", [0, 1])
def test_the_sheet_s_number_is_read_at_arm_s_length(paper: Paper, number: int) -> None:
    """Nine points, as books are set in (common practice)."""
    done = imposed(A5, WEEKS, paper, PrinterSettings())
    for said in ("sheet 1 of", "side"):
        assert type_size(done.files[BOTH], number, said) == pytest.approx(9, abs=0.05)
    assert type_size(done.files[BOTH], number, "print at") >= 7


@pytest.mark.parametrize(("flap", "holes"), [(42.0, True), (42.0, False), (0.0, True)])
def test_every_sheet_names_the_marks_it_has(flap: float, holes: bool) -> None:
    binder = A5 if holes else Binder("plain", "Plain", 148.0, 210.0, Holes((), 0, 0), "")
    plan = set_of([(flap, 0.0), (0.0, flap)], binder)
    done = impose(plan, A4, PrinterSettings(), blank_pages(plan), book())
    legends = [set(words(done.files[BOTH], page).split()) for page in range(4)]
    named = {"cut", *["fold"] * (flap > 0), *["hole"] * holes}
    for front, back in ((0, 1), (2, 3)):
        assert legends[front] & {"cut", "fold", "hole"} == named
        assert not legends[back] & {"cut", "fold", "hole"}
    samples = [path for path in paths(done.files[BOTH], 0) if path.faint]
    assert "meet" in legends[0], "the register mark has a name as well"
    assert len(samples) == len(named) + holes + 3, "a line each, rings, and the register's cross"


@pytest.mark.parametrize("binding", list(Binding))
def test_dots_lie_in_the_middle_of_the_holes_on_fronts_alone(binding: Binding) -> None:
    plan = replace(set_of(WEEKS, binding=binding), holes_inside=True)
    done = impose(plan, A4, PrinterSettings(), blank_pages(plan), book())
    without = impose(
        set_of(WEEKS, binding=binding), A4, PrinterSettings(), blank_pages(plan), book()
    )
    assert without.files["side-2.pdf"] == done.files["side-2.pdf"]
    for number, sheet in enumerate(done.sheets):
        dots = [
            path.box
            for path in paths(done.files[SIDE_1], number)
            if path.box.width == pytest.approx(0.8, abs=NEAR)
        ]
        holes = []
        for one in sheet.side_1:
            edge = one.trim.x + 6 if binding is Binding.LEFT else one.trim.right - 6
            holes += [(edge, one.trim.y + y) for y in A5.holes.centres_mm]
        assert sorted((dot.x + 0.4, dot.y + 0.4) for dot in dots) == [
            pytest.approx(hole, abs=NEAR) for hole in sorted(holes)
        ]


def _on_the_back(path: Path, paper: Paper, printer: PrinterSettings) -> Path:
    """Where side 1's mark must be on side 2's page: mirrored in the axis of the flip."""
    dx, dy = printer.back_shift_mm
    if printer.flip is Flip.LONG:
        return Path(tuple((paper.width_mm - x - dx, y - dy) for x, y in path.points))
    return Path(tuple((x - dx, paper.height_mm - y - dy) for x, y in path.points))


def blank_pages(plan: SetPlan) -> bytes:
    """Drawings with nothing on them, so that only marks are on the sheets."""
    return draw(
        [
            f'<svg xmlns="http://www.w3.org/2000/svg" '
            f'width="{plan.binder.width_mm + page.flap_mm}mm" '
            f'height="{plan.binder.height_mm}mm"/>'.encode()
            for page in plan.pages
        ],
        book(),
    )


FITTING = [
    pytest.param(binder, paper, id=f"{binder.name}-{paper.name}")
    for binder in SIZES.binders.values()
    for paper in SIZES.papers.values()
    if leaves_a_sheet(binder, paper)
]


def test_most_sizes_fit_some_paper() -> None:
    assert len(FITTING) > len(SIZES.binders)


@pytest.mark.parametrize("flip", list(Flip))
@pytest.mark.parametrize(("binder", "paper"), FITTING)
def test_side_2_is_side_1_mirrored(binder: Binder, paper: Paper, flip: Flip) -> None:
    count = leaves_a_sheet(binder, paper)
    flap = 20.0 if leaves_a_sheet(binder, paper, 20.0) else 0.0
    plan = set_of([(flap, 0.0)] + [(0.0, flap)] * min(count - 1, 3), binder)
    printer = PrinterSettings(flip=flip)
    done = impose(plan, paper, printer, blank_pages(plan), book())
    front = [
        _on_the_back(path, paper, printer).box for path in without_bar(paths(done.files[BOTH], 0))
    ]
    back = [path.box for path in without_bar(paths(done.files[BOTH], 1))]
    assert len(front) == len(back) > 8
    for box in front:
        off = [max(abs(a - b) for a, b in zip(box, other, strict=True)) for other in back]
        assert min(off) <= NEAR
        back.pop(off.index(min(off)))


@pytest.mark.parametrize("flip", list(Flip))
@pytest.mark.parametrize("paper", [A4, LETTER])
def test_crop_marks_of_both_sides_coincide_to_the_pixel(paper: Paper, flip: Flip) -> None:
    plan = set_of(WEEKS)
    done = impose(plan, paper, PrinterSettings(flip=flip), blank_pages(plan), book())
    front, back = (picture(done.files[BOTH], number) for number in (0, 1))
    turned = back[:, ::-1] if flip is Flip.LONG else back[::-1, :]
    crops = _around_crops(done, front.shape)
    one, other = (np.where(crops, image, 255) < 128 for image in (front, turned))
    assert one.sum() > 8 * 20
    assert np.array_equal(one, other)


@pytest.mark.parametrize("paper", [A4, LETTER])
@pytest.mark.parametrize(
    ("binder", "flaps"),
    [
        pytest.param(A5, WEEKS, id="a5-one-up"),
        pytest.param(PERSONAL, ((20.0, 0.0),) * 2, id="personal-turned-flaps"),
        pytest.param(POCKET, PLAIN[:4], id="pocket-four-up"),
    ],
)
@pytest.mark.parametrize("number", [0, 1], ids=["side-1", "side-2"])
def test_two_readers_put_marks_on_the_same_pixels(
    paper: Paper, binder: Binder, flaps: Any, number: int, tmp_path: FilePath
) -> None:
    """pdfium and poppler smooth a hairline differently: it may be a pixel wider, not elsewhere."""
    plan = set_of(flaps, binder)
    done = impose(plan, paper, PrinterSettings(), blank_pages(plan), book())
    file = tmp_path / "sides.pdf"
    file.write_bytes(done.files[BOTH])
    page = str(number + 1)
    command = [tool("pdftoppm"), "-r", "300", "-gray", "-f", page, "-l", page, "-singlefile"]
    subprocess.run([*command, str(file), str(tmp_path / "side")], check=True)
    ours = picture(done.files[BOTH], number)
    theirs = np.array(Image.open(tmp_path / "side.pgm"))
    assert theirs.shape == ours.shape
    marks = _around_marks(paths(done.files[BOTH], number), done, ours.shape)
    one, other = (np.where(marks, image, 255) < 160 for image in (ours, theirs))
    assert one.sum() > 8 * 20 * len(done.sheets[0].side_1)
    assert not (one & ~_thicker(other)).any()
    assert not (other & ~_thicker(one)).any()


def _around_marks(found: list[Path], done: Imposed, shape: tuple[int, ...]) -> NDArray[np.bool_]:
    """The pixels within 0.5 mm of each drawn mark: crop, fold, punch and registration marks, bar.

    Left out are the letters of the slug line, which each reader fits to pixels in its own way.
    """
    mask = np.zeros(shape, dtype=bool)
    per_x, per_y = shape[1] / done.sheets[0].width_mm, shape[0] / done.sheets[0].height_mm
    for path in found:
        box = path.box.grown(0.5)
        mask[
            max(0, int(box.y * per_y)) : int(box.bottom * per_y),
            max(0, int(box.x * per_x)) : int(box.right * per_x),
        ] = True
    return mask


def _thicker(mask: NDArray[np.bool_]) -> NDArray[np.bool_]:
    """The mask and the pixels that touch it."""
    wide = np.pad(mask, 1)
    rows, columns = mask.shape
    thick = np.zeros_like(mask)
    for dy, dx in itertools.product(range(3), repeat=2):
        thick |= wide[dy : dy + rows, dx : dx + columns]
    return thick


def _around_crops(done: Imposed, shape: tuple[int, ...]) -> NDArray[np.bool_]:
    """The pixels within 0.5 mm of where the crop marks of sheet 1, side 1, must be."""
    mask = np.zeros(shape, dtype=bool)
    per_x, per_y = shape[1] / done.sheets[0].width_mm, shape[0] / done.sheets[0].height_mm
    for one in done.sheets[0].side_1:
        flat = one.flat
        for x, out in ((flat.x, -1), (flat.right, 1)):
            for y, up in ((flat.y, -1), (flat.bottom, 1)):
                for ex, ey in ((x + out * 7, y), (x, y + up * 7)):
                    box = Rect(min(x, ex), min(y, ey), abs(ex - x), abs(ey - y)).grown(0.5)
                    mask[
                        max(0, int(box.y * per_y)) : int(box.bottom * per_y),
                        max(0, int(box.x * per_x)) : int(box.right * per_x),
                    ] = True
    return mask


@with_jobs
def test_both_sides_holds_the_pairs_in_order(
    binder: Binder, flaps: Any, paper: Paper, printer: PrinterSettings, binding: Binding
) -> None:
    files = imposed(binder, flaps, paper, printer, binding).files
    one, two, both = (
        [_digest(files[name], number) for number in range(_pages(files[name]))]
        for name in (SIDE_1, SIDE_2, BOTH)
    )
    assert both[0::2] == one
    assert both[1::2] == two
    assert len(one) == len(two) == len(imposed(binder, flaps, paper, printer, binding).sheets)
    assert len(set(both)) == len(both)


def _digest(pdf: bytes, number: int) -> str:
    return hashlib.sha256(picture(pdf, number, 100).tobytes()).hexdigest()


def _pages(pdf: bytes) -> int:
    return len(PdfReader(io.BytesIO(pdf)).pages)


def test_side_2_in_reverse_order_when_the_printer_needs_it() -> None:
    straight = imposed(A5, WEEKS, A4, PrinterSettings()).files
    reverse = imposed(A5, WEEKS, A4, PrinterSettings(reverse_side_2=True)).files
    assert reverse[SIDE_1] == straight[SIDE_1]
    assert reverse[BOTH] == straight[BOTH]
    count = _pages(straight[SIDE_2])
    assert [words(reverse[SIDE_2], n) for n in range(count)] == [
        words(straight[SIDE_2], n) for n in reversed(range(count))
    ]


def test_built_twice_is_the_same_to_the_byte() -> None:
    plan = set_of(WEEKS)
    drawn = pages_pdf(plan)
    first, second = (impose(plan, A4, PrinterSettings(), drawn, book()) for _ in range(2))
    assert first.files == second.files
    assert first.sheets == second.sheets


def test_a_face_is_embedded_once_a_drawing_and_pages_are_not_repeated() -> None:
    one = imposed(A5, WEEKS, A4, PrinterSettings()).files[BOTH]
    longer = imposed(A5, (*WEEKS, *WEEKS[1:], *WEEKS[1:]), A4, PrinterSettings()).files[BOTH]
    assert one.count(b"/FontFile") == longer.count(b"/FontFile")
    assert len(longer) - len(one) < 12 * 6000  # six more leaves: 12 sides, no faces again


def test_a_drawing_of_the_wrong_size_is_refused() -> None:
    plan, narrow = set_of([(42.0, 0.0)]), set_of([(40.0, 0.0)])
    with pytest.raises(UserError, match=r"page-recto.*188\.00 × 210\.00.*190 × 210 mm"):
        impose(plan, A4, PrinterSettings(), pages_pdf(narrow), book())


def test_bleed_reaches_past_the_cut_but_not_over_the_fold() -> None:
    plan = set_of([(0.0, 20.0)], PERSONAL)
    done = impose(plan, A4, PrinterSettings(), _flooded(plan, 2.0), book(), bleed_mm=2.0)
    flat, trim = done.sheets[0].side_1[0].flat, done.sheets[0].side_1[0].trim
    image = picture(done.files[SIDE_1], 0, 254)  # 10 pixels a millimetre
    row = image[int((flat.y + flat.height / 3) * 10)]
    dark = np.flatnonzero(row < 128) / 10
    assert dark.min() == pytest.approx(trim.x - 2, abs=0.15)
    assert dark.max() == pytest.approx(trim.right, abs=0.15)
    page = PdfReader(io.BytesIO(done.files[SIDE_1])).pages[0]
    assert float(page.bleedbox.width) - float(page.trimbox.width) == pytest.approx(4 * 72 / 25.4)


def _flooded(plan: SetPlan, bleed: float) -> bytes:
    return draw(
        [
            f'<svg xmlns="http://www.w3.org/2000/svg" '
            f'width="{plan.binder.width_mm + page.flap_mm + 2 * bleed}mm" '
            f'height="{plan.binder.height_mm + 2 * bleed}mm">'
            '<rect width="9999" height="9999" fill="#404040"/></svg>'.encode()
            for page in plan.pages
        ],
        book(),
    )


@pytest.mark.parametrize("name", [SIDE_1, SIDE_2, BOTH])
def test_qpdf_finds_nothing_wrong(name: str, tmp_path: FilePath) -> None:
    file = tmp_path / name
    file.write_bytes(imposed(A5, WEEKS, A4, PrinterSettings()).files[name])
    check = subprocess.run([tool("qpdf"), "--check", str(file)], capture_output=True, text=True)
    assert check.returncode == 0, check.stdout + check.stderr
