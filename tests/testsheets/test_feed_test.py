"""The feed test, read back from its PDF: positions, what its scales say, and what follows."""

from __future__ import annotations

import functools
import io
import itertools
from dataclasses import dataclass

import pypdfium2 as pdfium
import pytest
from pypdf import PdfReader

from pipeline.base.geometry import Rect, mm
from pipeline.impose import BOTH, Flip, PrinterSettings, impose
from pipeline.plan.model import Paper
from pipeline.plan.sizes import load_sizes
from pipeline.proof.read.raster import page_picture
from pipeline.testsheets.feedparts import (
    BRACKET_MM,
    LARGE,
    SMALL,
    PileTurn,
    Places,
    Trial,
    figure,
    places_on,
    reverse_side_2,
    turn,
)
from pipeline.testsheets.feedtest import feed_test, has_feed_test
from pipeline.testsheets.pen import LEAF_MM
from tests.conftest import Golden
from tests.impose.readback import Path, paths, without_bar
from tests.impose.sample import A4, LETTER, PERSONAL, book, leaflet_book, set_of
from tests.impose.test_finished_files import blank_pages

NEAR = 0.01  # mm: what a position may be off by in the finished file
SIZES = load_sizes(None).papers
PAPERS = [paper for paper in SIZES.values() if has_feed_test(paper)]
SMALL_PAPERS = [paper for paper in PAPERS if places_on(paper) is SMALL]
KINDS = [A4, LETTER, SIZES["a5"], SIZES["half-letter"], SIZES["b5"]]
each_kind = pytest.mark.parametrize("paper", KINDS, ids=[paper.name for paper in KINDS])
every_paper = pytest.mark.parametrize("paper", PAPERS, ids=[paper.name for paper in PAPERS])
both_flips = pytest.mark.parametrize("flip", list(Flip))


@functools.cache
def made(paper: Paper, flip: Flip = Flip.LONG) -> bytes:
    return feed_test(paper, flip, book(), "en-GB")


@functools.cache
def drawn(paper: Paper, side: int, flip: Flip = Flip.LONG) -> tuple[Path, ...]:
    """What is drawn on a page of the file; the first is that with all that is measured."""
    return tuple(paths(made(paper, flip), side - 1))


def places(paper: Paper) -> Places:
    found = places_on(paper)
    assert found is not None
    return found


def back(paper: Paper) -> int:
    """The page that has the numbers of the scales: the last; the one before it is its front."""
    return 2 * places(paper).sheets


def is_there(found: tuple[Path, ...], box: Rect) -> bool:
    """Whether a path spans just that box."""
    return any(
        max(abs(a - b) for a, b in zip(path.box, box, strict=True)) <= NEAR for path in found
    )


def from_middle(paper: Paper, x: float, y: float) -> tuple[float, float]:
    return paper.width_mm / 2 + x, paper.height_mm / 2 + y


def test_letter_and_a4_have_one_sheet_small_papers_two_and_the_smallest_none() -> None:
    one_sheet = {paper.name for paper in PAPERS if places(paper) is LARGE}
    assert {"a4", "letter", "legal", "a3", "tabloid"} <= one_sheet
    two_sheets = {paper.name for paper in SMALL_PAPERS}
    assert two_sheets == {"a5", "half-letter", "b5", "jis-b5", "executive"}
    assert not has_feed_test(SIZES["a6"])
    assert len(PAPERS) == len(SIZES) - 1


@every_paper
@both_flips
def test_its_pages_have_the_paper_s_size_and_ask_to_be_printed_so(paper: Paper, flip: Flip) -> None:
    reader = PdfReader(io.BytesIO(made(paper, flip)))
    assert len(reader.pages) == (4 if paper in SMALL_PAPERS else 2)
    for page in reader.pages:
        size = (mm(float(page.mediabox.width)), mm(float(page.mediabox.height)))
        assert size == pytest.approx((paper.width_mm, paper.height_mm), abs=NEAR)
    asked = reader.root_object["/ViewerPreferences"].get_object()
    assert isinstance(asked, dict)
    assert asked["/PrintScaling"] == "/None"
    edge = "Long" if flip is Flip.LONG else "Short"
    assert asked["/Duplex"] == f"/DuplexFlip{edge}Edge"
    assert reader.metadata is not None
    assert reader.metadata.title == f"Feed test, {paper.title}"


@every_paper
def test_bars_of_100_mm_and_4_inches_lie_and_stand(paper: Paper) -> None:
    for length in (100.0, 4 * 25.4):
        for upright in (False, True):
            bars = [
                path
                for path in drawn(paper, 1)
                if path.is_line
                and abs((path.box.height if upright else path.box.width) - length) <= NEAR
            ]
            assert len(bars) == 1, f"{length} mm, {'standing' if upright else 'lying'}"
            # Its end ticks stand at its ends: between them is what a ruler measures.
            (bar,) = bars
            for x, y in bar.points:
                tick = Rect(x - 1.6, y, 3.2, 0) if upright else Rect(x, y - 1.6, 0, 3.2)
                assert is_there(drawn(paper, 1), tick)


@each_kind
def test_the_card_s_outline_is_in_its_place(paper: Paper) -> None:
    corner = from_middle(paper, *places(paper).card)
    assert is_there(drawn(paper, 1), Rect(*corner, 85.60, 53.98))


@every_paper
def test_crosses_stand_back_to_back(paper: Paper) -> None:
    for x, y in places(paper).crosses:
        cx, cy = from_middle(paper, x, y)
        for side, at in ((back(paper) - 1, cx), (back(paper), paper.width_mm - cx)):
            for box in (Rect(at - 4, cy, 8, 0), Rect(at, cy - 4, 0, 8), Rect(at - 2, cy - 2, 4, 4)):
                assert is_there(drawn(paper, side), box)


@each_kind
def test_edge_numbers_stand_so_many_mm_from_each_edge(paper: Paper) -> None:
    wide, high = paper.width_mm, paper.height_mm
    most = 13 if paper in SMALL_PAPERS else 15
    for number in range(1, most + 1):
        along = (number - (most + 1) / 2) * 3.4
        x, y = from_middle(paper, along, along + places(paper).side_edges_y)
        for box in (
            Rect(x - 1.2, number, 2.4, 0),
            Rect(x - 1.2, high - number, 2.4, 0),
            Rect(number, y - 1.2, 0, 2.4),
            Rect(wide - number, y - 1.2, 0, 2.4),
        ):
            assert is_there(drawn(paper, 1), box)


@every_paper
@both_flips
def test_all_but_the_edge_numbers_keeps_off_the_unprintable_edge(paper: Paper, flip: Flip) -> None:
    area = Rect(0, 0, paper.width_mm, paper.height_mm).grown(-6.4)
    for page in range(2, back(paper) + 1):
        assert all(area.holds(path.box) for path in drawn(paper, page, flip))
    outside = [path for path in drawn(paper, 1, flip) if not area.holds(path.box)]
    assert len(outside) == 4 * 2 * 6, "six numbers' caps and stems at each of four edges"


# --- the scales -----------------------------------------------------------------------------


@dataclass(frozen=True)
class Scales:
    """Both halves of one scale, as one looks at side 2 of a sheet that was printed.

    Positions are along the scale, in the direction its numbers grow in or against it.
    """

    front: tuple[float, ...]
    back: tuple[tuple[float, str], ...]

    def readings(self) -> list[str]:
        """What the lines say that run straight into one another, to the eye."""
        return [text for at, text in self.back if min(abs(at - f) for f in self.front) < 0.03]


def printed(paper: Paper, flip: Flip, shift: tuple[float, float]) -> tuple[Scales, Scales]:
    """The scales across and down on a sheet whose side 2 a printer laid ``shift`` mm off.

    The printer knows side 2's page only as it is in the file: it moves that page's picture to the
    right and down. Side 1 is seen through the paper: turned over on the edge of the flip.
    """
    dx, dy = shift
    width, height = paper.width_mm, paper.height_mm
    sign = 1 if flip is Flip.LONG else -1  # which way up the page's words are in the file
    middle_x, middle_y = width / 2, height / 2

    def through(point: tuple[float, float]) -> tuple[float, float]:
        x, y = point
        return (width - x, y) if flip is Flip.LONG else (x, height - y)

    row = middle_y + sign * places(paper).across_y
    column = middle_x - sign * places(paper).down_x
    fronts = [
        [through(point) for point in path.points]
        for path in drawn(paper, back(paper) - 1, flip)
        if path.is_line
    ]
    backs = [path.points for path in drawn(paper, back(paper), flip) if path.is_line]

    def starts(lines: list[list[tuple[float, float]]], fixed: int, value: float) -> list[float]:
        """Where along the scale the lines begin that stand on its middle line."""
        found = []
        for line in lines:
            one, other = line
            across = abs(one[1 - fixed] - other[1 - fixed]) < NEAR
            touches = min(abs(one[fixed] - value), abs(other[fixed] - value)) < NEAR
            if across and touches and abs(one[fixed] - other[fixed]) > 3:
                found.append(one[1 - fixed])
        return sorted(found)

    back_lines = [list(line) for line in backs]
    xs, ys = starts(back_lines, 1, row), starts(back_lines, 0, column)
    labels_x = [near(paper, flip, (x, row + sign * 7.3), (3.9, 0.0)) for x in xs]
    labels_y = [near(paper, flip, (column + sign * 9.0, y), (0.0, 3.9)) for y in ys]
    return (
        Scales(
            tuple(starts(fronts, 1, row)),
            tuple((x + dx, text) for x, text in zip(xs, labels_x, strict=True)),
        ),
        Scales(
            tuple(starts(fronts, 0, column)),
            tuple((y + dy, text) for y, text in zip(ys, labels_y, strict=True)),
        ),
    )


def near(paper: Paper, flip: Flip, place: tuple[float, float], step: tuple[float, float]) -> str:
    """The number printed about a place of the back; for a line without one, what lies between.

    ``step`` is the way to the line's neighbours.
    """
    x, y = place

    def at(x: float, y: float) -> str | None:
        found = (text for cx, cy, text in numbers(paper, flip) if abs(cx - x) < 1.6 > abs(cy - y))
        return next(found, None)

    own = at(x, y)
    if own is not None:
        return own
    sides = [at(x + way * step[0], y + way * step[1]) for way in (-1, 1)]
    return f"{sum(float(side or 'nan') for side in sides) / 2:.1f}"


@functools.cache
def numbers(paper: Paper, flip: Flip) -> tuple[tuple[float, float, str], ...]:
    """All single words of the back with their middles, in mm of its page."""
    found = words_of(paper, back(paper), flip)
    # It is printed with a minus sign and typed with a hyphen.
    typed = [(box, text.replace("\N{MINUS SIGN}", "-")) for box, text in found]
    return tuple((box.x + box.width / 2, box.y + box.height / 2, text) for box, text in typed)


def words_of(paper: Paper, side: int, flip: Flip = Flip.LONG) -> list[tuple[Rect, str]]:
    """What stands close together on a side, and where, in mm of its page."""
    found: list[tuple[Rect, str]] = []
    with pdfium.PdfDocument(made(paper, flip)) as document:
        page = document[side - 1]
        high = page.get_height()
        if flip is Flip.SHORT and side % 2 == 0:
            page.set_rotation(180)  # pdfium puts minus signs last in lines on their heads
        text_page = page.get_textpage()
        for index in range(text_page.count_chars()):
            left, bottom, right, top = text_page.get_charbox(index)
            box = Rect(mm(left), mm(high - top), mm(right - left), mm(top - bottom))
            letter = text_page.get_text_range(index, 1)
            last = found[-1] if found else None
            if letter.isspace():
                continue
            if last and last[0].grown(0.9).overlaps(box):
                right_mm, bottom_mm = max(last[0].right, box.right), max(last[0].bottom, box.bottom)
                x, y = min(last[0].x, box.x), min(last[0].y, box.y)
                found[-1] = (Rect(x, y, right_mm - x, bottom_mm - y), last[1] + letter)
            else:
                found.append((box, letter))
    return found


@every_paper
def test_nothing_shows_through_where_the_scales_have_their_numbers(paper: Paper) -> None:
    most = places(paper).most
    figures = {figure(number) for number in range(-most, most + 1, 2)}
    left, below = from_middle(paper, -places(paper).down_x, places(paper).across_y)
    scales = [
        box
        for box, text in words_of(paper, back(paper))
        if text in figures and (box.x < left + 15 or box.y > below)
    ]
    assert len(scales) == 2 * len(figures)
    behind = [box.mirrored_x(paper.width_mm) for box, _ in words_of(paper, back(paper) - 1)]
    assert len(behind) > (12 if paper in SMALL_PAPERS else 100)
    drawn_behind = [path.box.mirrored_x(paper.width_mm) for path in drawn(paper, back(paper) - 1)]
    for number in scales:
        assert not any(number.grown(1.0).overlaps(word) for word in behind)
        assert not any(number.overlaps(box) for box in drawn_behind)


@every_paper
def test_the_lines_of_both_sides_are_where_the_scale_has_them(paper: Paper) -> None:
    for number, scale in enumerate(printed(paper, Flip.LONG, (0, 0))):
        most = places(paper).most
        middle = from_middle(paper, 0, places(paper).down_y)[number]
        lines = range(-most, most + 1)
        assert [at - middle for at in scale.front] == pytest.approx(
            [4.0 * n for n in lines], abs=NEAR
        )
        assert [at - middle for at, _ in scale.back] == pytest.approx(
            [3.9 * n for n in lines], abs=NEAR
        )


TENTHS = [
    pytest.param(paper, tenths, id=f"{paper.name}-{tenths}")
    for paper in KINDS
    for tenths in range(-places(paper).most, places(paper).most + 1)
]


@both_flips
@pytest.mark.parametrize(("paper", "tenths"), TENTHS)
def test_each_tenth_of_a_millimetre_is_read_and_nothing_else(
    tenths: int, flip: Flip, paper: Paper
) -> None:
    """The shift to the right and down of side 2's page is the number where lines meet."""
    shift = tenths / 10
    across, down = printed(paper, flip, (shift, -shift))
    assert [float(text) for text in across.readings()] == [shift]
    assert [float(text) for text in down.readings()] == [-shift]


@each_kind
def test_the_bracket_leaves_out_what_would_be_read_wrong(paper: Paper) -> None:
    """Beyond 2 mm the scale begins to repeat itself; the long line then lies past the bracket.

    So it does wherever the scale has no line any more.
    """
    most, half = places(paper).most, places(paper).bracket_mm
    assert most / 10 < half <= BRACKET_MM
    assert half - most / 10 < 0.21
    far = [step / 10 for step in range(most + 1, 40)]
    wrong = [s for s in far if printed(paper, Flip.LONG, (s, 0))[0].readings()]
    assert wrong
    assert min(wrong) > BRACKET_MM
    x, y = from_middle(paper, 0, places(paper).across_y)
    assert is_there(drawn(paper, back(paper)), Rect(x - half, y - 9.8, 2 * half, 2))
    x, y = from_middle(paper, -places(paper).down_x, places(paper).down_y)
    assert is_there(drawn(paper, back(paper)), Rect(x - 9.8, y - half, 2, 2 * half))


@both_flips
@pytest.mark.parametrize(
    ("shift", "tested"),
    [
        ((0.6, -0.4), A4),
        ((-1.1, 0.2), A4),
        ((0.0, 1.8), A4),
        ((1.4, -0.7), SIZES["a5"]),
        ((-0.3, -1.4), SIZES["half-letter"]),
    ],
)
def test_what_is_read_and_typed_makes_backs_lie_behind_their_fronts(
    flip: Flip, shift: tuple[float, float], tested: Paper
) -> None:
    across, down = printed(tested, flip, shift)
    (x,), (y,) = across.readings(), down.readings()
    printer = PrinterSettings(flip=flip, back_shift_mm=(float(x), float(y)))
    plan = set_of([(0.0, 20.0)] * 2, PERSONAL)
    files = impose(plan, A4, printer, blank_pages(plan), book()).files
    front, back = (without_bar(paths(files[BOTH], number)) for number in (0, 1))
    on_paper = [path.box.moved(*shift) for path in back]
    assert len(front) == len(on_paper) > 20
    for path in front:
        through = path.box.mirrored_x(210) if flip is Flip.LONG else path.box.mirrored_y(297)
        off = (max(abs(a - b) for a, b in zip(through, box, strict=True)) for box in on_paper)
        assert min(off) <= NEAR


# --- which way to turn the pile -------------------------------------------------------------


@pytest.mark.parametrize(
    ("on_the_back", "same_way", "on_sheet", "how", "reverse"),
    [
        (True, True, 1, PileTurn.NONE, False),
        (True, True, 2, PileTurn.NONE, True),
        (True, False, 1, PileTurn.ROUND, False),
        (True, False, 2, PileTurn.ROUND, True),
        (False, True, 1, PileTurn.OVER_LONG, True),
        (False, True, 2, PileTurn.OVER_LONG, False),
        (False, False, 1, PileTurn.OVER_SHORT, True),
        (False, False, 2, PileTurn.OVER_SHORT, False),
    ],
)
def test_every_trial_has_its_answer(
    on_the_back: bool, same_way: bool, on_sheet: int, how: PileTurn, reverse: bool
) -> None:
    trial = Trial(on_the_back, same_way, on_sheet)
    assert turn(trial) is how
    assert reverse_side_2(trial) is reverse


@dataclass
class Sheet:
    """A sheet as it lies: whether its side A is up, and whether A's head is at the far end.

    ``printed`` has, for each side, the page on it and whether its head is at the sheet's end H.
    """

    name: int
    a_up: bool = True
    h_far: bool = True
    printed: dict[str, tuple[int, bool]] | None = None

    def turned(self, how: PileTurn) -> None:
        if how.over:
            self.a_up = not self.a_up
        if how in (PileTurn.ROUND, PileTurn.OVER_SHORT):
            self.h_far = not self.h_far


@dataclass(frozen=True)
class MadeUpPrinter:
    """Takes the pile's top or bottom sheet, prints its upper or lower face, lets it out somehow.

    ``comes_out`` is how a sheet is turned on its way: it lies in the output face up or face down.
    What is let out lies on what was let out before.
    """

    takes_top: bool
    prints_upper: bool
    heads_far: bool
    comes_out: PileTurn

    def run(self, pile: list[Sheet], pages: list[int]) -> list[Sheet]:
        """Prints pages on as many sheets (the last of a pile is its top); gives the output."""
        out: list[Sheet] = []
        for page in pages:
            sheet = pile.pop(-1 if self.takes_top else 0)
            side = "A" if sheet.a_up is self.prints_upper else "B"
            sheet.printed = {**(sheet.printed or {}), side: (page, sheet.h_far is self.heads_far)}
            sheet.turned(self.comes_out)
            out.append(sheet)
        return out


def turned(pile: list[Sheet], how: PileTurn) -> list[Sheet]:
    """The whole pile turned: over, its lowest comes to lie on top."""
    for sheet in pile:
        sheet.turned(how)
    return pile[::-1] if how.over else pile


PRINTERS = [
    MadeUpPrinter(*way)
    for way in itertools.product((True, False), (True, False), (True, False), PileTurn)
]


def seen_in_trial(printer: MadeUpPrinter) -> Trial:
    """What one sees after the trial: side 1 on two sheets, put back as they are, side 2 once."""
    front, back = -1, -2
    pile = printer.run([Sheet(0), Sheet(0)], [front, front])
    pile[0].name, pile[1].name = 1, 2
    before = {sheet.name: dict(sheet.printed or {}) for sheet in pile}
    (sheet,) = printer.run(list(pile), [back])
    ((first_side, (_, first_head)),) = before[sheet.name].items()
    ((side, (_, head)),) = (
        (side, what) for side, what in (sheet.printed or {}).items() if what[0] == back
    )
    return Trial(side != first_side, head == first_head, sheet.name)


@pytest.mark.parametrize("printer", PRINTERS, ids=str)
def test_whatever_the_printer_does_the_answer_puts_each_back_behind_its_front(
    printer: MadeUpPrinter,
) -> None:
    trial = seen_in_trial(printer)
    count = 5
    pile = printer.run([Sheet(number) for number in range(count)], list(range(count)))
    order = [100 + number for number in range(count)]
    if reverse_side_2(trial):
        order.reverse()
    done = printer.run(turned(pile, turn(trial)), order)
    for sheet in done:
        assert sheet.printed is not None
        (one, one_head), (other, other_head) = sorted(sheet.printed.values())
        assert other == one + 100, "the back is that of the same sheet"
        assert one_head is other_head, "both heads are at the same end"


def test_all_four_ways_of_turning_and_both_orders_are_needed() -> None:
    trials = [seen_in_trial(printer) for printer in PRINTERS]
    assert {turn(trial) for trial in trials} == set(PileTurn)
    assert {reverse_side_2(trial) for trial in trials} == {True, False}


@every_paper
def test_drawn_leaves_never_cover_one_another(paper: Paper) -> None:
    """Whether side 2 comes on the back or on the same side, upright or turned round."""
    leaf_1, leaf_2 = (
        leaf_on(paper, page, at)
        for page, at in (
            (back(paper) - 1, places(paper).leaf_1),
            (back(paper), places(paper).leaf_2),
        )
    )
    for one in poses(paper, leaf_2):
        assert not leaf_1.grown(1.9).overlaps(one), "nor with a shift that the scales can read"


@every_paper
def test_nothing_else_is_where_a_drawn_leaf_comes_to_lie(paper: Paper) -> None:
    """In each of the four pictures of the trial both leaves are seen whole."""
    number = back(paper)
    leaf_1 = leaf_on(paper, number - 1, places(paper).leaf_1)
    leaf_2 = leaf_on(paper, number, places(paper).leaf_2)
    # The blade is narrow at its tip and at its stalk: a middle, and a narrower whole.
    for leaf, page in ((leaf_1, number), (leaf_2, number - 1)):
        things = [
            *(path.box for path in drawn(paper, page)),
            *(b for b, _ in words_of(paper, page)),
        ]
        assert len(things) > 50
        x, y = leaf.x + leaf.width / 2, leaf.y + leaf.height / 2
        blade = [Rect(x - 10.9, y - 10, 21.8, 20), Rect(x - 7, y - 22, 14, 44)]
        for thing in things:
            for pose in poses(paper, thing):
                assert not any(part.overlaps(pose) for part in blade), thing


def leaf_on(paper: Paper, page: int, at: tuple[float, float]) -> Rect:
    """What the drawn leaf of a page spans, read back: its blade and its stalk."""
    x, y = from_middle(paper, *at)
    wide, high = LEAF_MM
    whole = Rect(x - wide / 2, y - high / 2, wide, high)
    parts = [path.box for path in drawn(paper, page) if whole.grown(NEAR).holds(path.box)]
    assert len(parts) == 12, "blade, stalk and ten veins"
    left, top = min(part.x for part in parts), min(part.y for part in parts)
    right, low = max(part.right for part in parts), max(part.bottom for part in parts)
    found = Rect(left, top, right - left, low - top)
    assert found == pytest.approx(whole, abs=NEAR)
    return found


def poses(paper: Paper, thing: Rect) -> list[Rect]:
    """Where a thing on one side can come to lie on the other, or on the same one."""
    upright = (thing, thing.mirrored_x(paper.width_mm))
    return [*upright, *(one.mirrored_y(paper.height_mm) for one in upright)]


# --- what it says ---------------------------------------------------------------------------


@both_flips
def test_it_names_the_files_and_the_settings(flip: Flip) -> None:
    pages = PdfReader(io.BytesIO(made(A4, flip))).pages
    front, back = (" ".join(page.extract_text().split()) for page in pages)
    other = "short" if flip is Flip.LONG else "long"
    for part in ("both-sides.pdf", "side-1.pdf", "side-2.pdf", "scrap paper", f'flip = "{other}"'):
        assert part in front
    for part in ("back_shift_mm", "reverse_side_2", "unprintable_mm", f'flip = "{flip.value}"'):
        assert part in back


@pytest.mark.parametrize("paper", SMALL_PAPERS, ids=[paper.name for paper in SMALL_PAPERS])
@both_flips
def test_on_small_papers_each_page_says_which_it_is_and_which_to_print(
    paper: Paper, flip: Flip
) -> None:
    pages = [
        " ".join(page.extract_text().split())
        for page in PdfReader(io.BytesIO(made(paper, flip))).pages
    ]
    for number, text in enumerate(pages, 1):
        assert f"page {number} of 4" in text
    measured, told, tried, read = pages
    for part in ("1. Is it true to size?", "2. How near the edge", "unprintable_mm = the largest"):
        assert part in measured
    other = "short" if flip is Flip.LONG else "long"
    for part in (
        "print this whole file",
        "Print page 3 of",
        "print page 4 once",
        f'flip = "{other}"',
    ):
        assert part in told
    assert told.count("If page 4 came on") == 4
    assert "page 2 says how" in tried
    for part in ("5. How far", "back_shift_mm", "reverse_side_2", f'flip = "{flip.value}"'):
        assert part in read


LOOKS = [(A4, 2), (LETTER, 2), (SIZES["a5"], 4)]


@each_kind
@both_flips
def test_a_buyer_is_asked_for_nothing_that_goes_into_a_file(paper: Paper, flip: Flip) -> None:
    """Four pages on every paper, the last two back to back; no setting is named."""
    pdf = feed_test(paper, flip, leaflet_book(), "en-GB", maker=False)
    with pdfium.PdfDocument(pdf) as document:
        said = [page.get_textpage().get_text_bounded() for page in document]
    assert len(said) == 4
    for word in ("maker", "_mm", "[printer]", "flip =", "reverse_side_2", "poor paper"):
        assert word not in " ".join(said), word
    assert "go on with 3" in " ".join(said[0].split())
    assert "turn the pile" in said[1]
    places = places_on(paper)
    assert places is not None
    for x, y in places.crosses:
        cx, cy = from_middle(paper, x, y)
        front, behind = (
            (paper.width_mm - cx, cy) if flip is Flip.LONG else (cx, paper.height_mm - cy),
            [path.box for path in paths(pdf, 3)],
        )
        wanted = Rect(front[0] - 4, front[1], 8, 0)
        assert any(
            max(abs(a - b) for a, b in zip(box, wanted, strict=True)) <= NEAR for box in behind
        )


@pytest.mark.parametrize(
    ("paper", "side"),
    [
        pytest.param(paper, side, id=f"{side}-{paper.name}")
        for paper, sides in LOOKS
        for side in range(1, sides + 1)
    ],
)
def test_it_looks_as_it_did(paper: Paper, side: int, golden: Golden) -> None:
    with pdfium.PdfDocument(made(paper)) as document:
        golden(f"sheets/feed-test-{paper.name}-side-{side}", page_picture(document[side - 1], 75))


def test_the_buyers_looks_as_it_did(golden: Golden) -> None:
    pdf = feed_test(A4, Flip.LONG, leaflet_book(), "en-GB", maker=False)
    with pdfium.PdfDocument(pdf) as document:
        golden("sheets/feed-test-a4-buyer-2", page_picture(document[1], 75))
