"""What measuring tells, held against plain arithmetic, the sheets themselves, and the guide."""

from __future__ import annotations

import re
from pathlib import Path

import pytest

from pipeline.base.errors import UserError
from pipeline.impose import PrinterSettings, plan_sheets
from pipeline.impose.measure import how_they_lie, leaves_a_sheet, widest_flap
from pipeline.impose.measured import described, short
from pipeline.plan.model import Binder, Paper
from pipeline.plan.sizes import load_sizes
from pipeline.plan.stock import Stock, bond_gsm
from tests.cli.test_cli import leafset
from tests.conftest import ROOT
from tests.impose.sample import book, set_of

SIZES = load_sizes(None)
GUIDE = (ROOT / "docs" / "printing.md").read_text("utf-8")

UNPRINTABLE, SHORTEST = 6.35, 3.5
"""mm: the white edge planned with (common practice), and a gap of 1.5 with a mark of 2."""


def table(head: str) -> list[list[str]]:
    """The rows of the guide's table that begins with ``head``."""
    lines = iter(GUIDE.splitlines())
    next(line for line in lines if line.startswith(head))
    next(lines)
    rows: list[list[str]] = []
    for line in lines:
        if not line.startswith("|"):
            return rows
        rows.append([cell.strip() for cell in line.strip("|").split("|")])
    return rows


BINDER_TABLES = re.findall(r"<!-- ([a-z ]+): checked.*?\n(\| binder .*?)\n\n", GUIDE, re.DOTALL)


def binder_table(name: str) -> tuple[list[str], list[list[str]]]:
    (text,) = (text for title, text in BINDER_TABLES if title == name)
    rows = [[cell.strip() for cell in line.strip("|").split("|")] for line in text.splitlines()]
    return rows[0][1:], rows[2:]


def paper_called(title: str) -> Paper:
    (paper,) = (p for p in SIZES.papers.values() if p.title == title)
    return paper


def binder_called(title: str) -> Binder:
    (binder,) = (b for b in SIZES.binders.values() if b.title == title)
    return binder


def test_the_guide_s_leaves_a_sheet() -> None:
    papers, rows = binder_table("leaves a sheet")
    assert {row[0] for row in rows} == {binder.title for binder in SIZES.binders.values()}
    for title, *cells in rows:
        for paper, cell in zip(papers, cells, strict=True):
            lie = how_they_lie(binder_called(title), paper_called(paper))
            assert cell == (short(lie) if lie else "–"), f"{title} on {paper}"


def test_the_guide_s_widest_flaps() -> None:
    """Worked out here from the sizes alone, in tenths of a millimetre, rounded down."""
    papers, rows = binder_table("widest flaps")
    for title, *cells in rows:
        binder, holes = binder_called(title), binder_called(title).holes
        rings = binder.width_mm - holes.edge_mm - holes.diameter_mm / 2 - 2
        for name, cell in zip(papers, cells, strict=True):
            paper = paper_called(name)
            free = sorted(
                length - 2 * (UNPRINTABLE + SHORTEST)
                for length in (paper.width_mm, paper.height_mm)
            )
            ways = [
                along - binder.width_mm
                for along, across in (free, free[::-1])
                if binder.height_mm <= across
            ]
            limits = {"rings": rings, "paper": max(ways, default=-1.0)}
            setter = min(limits, key=lambda limit: (limits[limit], limit == "paper"))
            tenths = int(limits[setter] * 10 + 1e-6)
            expected = f"{tenths / 10:g}, {setter}" if limits[setter] > 0 else "–"
            assert cell == expected, f"{title} on {name}"


def test_the_guide_s_paper_weights() -> None:
    rows = table("| lb bond |")
    assert len(rows) == 4
    for pounds, gsm, sheet, pack in rows:
        stock = Stock(bond_gsm(float(pounds)))
        assert gsm == f"{stock.gsm:.0f}"
        assert sheet == f"{stock.thickness_mm:.2f}"
        assert pack == f"{20 * stock.thickness_mm:.1f}"


def test_the_guide_s_piles() -> None:
    plan = set_of([(0.0, 0.0)] * 8, SIZES.binder("pocket"))
    sheets = plan_sheets(plan, SIZES.paper("a4"), PrinterSettings(), book())
    shown = [[placed.leaf + 1 for placed in sheet.side_1] for sheet in sheets]
    assert len(shown) == 2
    for start in (0, 2):
        cells = [f"| {one[start]}  | {one[start + 1]}  |" for one in shown]
        assert f"    {cells[0]}       {cells[1]}" in GUIDE
    for number, pile in enumerate(zip(*shown, strict=True), 1):
        assert f"pile {number}: {' '.join(map(str, pile))}" in GUIDE


@pytest.mark.parametrize("paper", SIZES.papers.values(), ids=lambda paper: paper.name)
@pytest.mark.parametrize("binder", SIZES.binders.values(), ids=lambda binder: binder.name)
def test_leaves_lie_as_told(binder: Binder, paper: Paper) -> None:
    """A full sheet, laid out by the program: as many leaves, and margins as wide, as was said."""
    lie = how_they_lie(binder, paper)
    if lie is None:
        assert leaves_a_sheet(binder, paper) == 0
        return
    assert lie.rows * lie.columns == lie.leaves
    plan = set_of([(0.0, 0.0)] * lie.leaves, binder)
    (sheet,) = plan_sheets(plan, paper, PrinterSettings(), book())
    flats = [placed.flat for placed in sheet.side_1]
    assert (len(flats), bool(sheet.side_1[0].turned)) == (lie.leaves, lie.turned)
    across = 2 * (lie.beside_mm + UNPRINTABLE)
    down = 2 * (lie.above_mm + UNPRINTABLE)
    taken = [binder.width_mm, binder.height_mm][:: -1 if lie.turned else 1]
    assert across + lie.columns * taken[0] <= paper.width_mm + 1e-6
    assert down + lie.rows * taken[1] <= paper.height_mm + 1e-6
    assert min(lie.beside_mm, lie.above_mm) >= SHORTEST - 1e-6


@pytest.mark.parametrize("paper", ["letter", "a4", "a3"])
@pytest.mark.parametrize("binder", ["a5", "personal", "half-letter"])
def test_the_widest_flap_fits_and_a_wider_one_does_not(binder: str, paper: str) -> None:
    size, sheet = SIZES.binder(binder), SIZES.paper(paper)
    widest = widest_flap(size, sheet)
    fits = set_of([(widest.mm - 0.001, 0.0)], size)
    assert len(plan_sheets(fits, sheet, PrinterSettings(), book())) == 1
    wider = set_of([(widest.mm + 0.01, 0.0)], size)
    with pytest.raises(UserError, match="rings" if widest.bound_by == "rings" else "does not fit"):
        plan_sheets(wider, sheet, PrinterSettings(), book())


def test_one_paper_in_words() -> None:
    text = described(SIZES.binder("a5"), [SIZES.paper("letter")], 42)
    words = " ".join(text.split())
    assert "trim size 148 × 210 mm (ISO 216)" in words
    assert "middles 32, 51, 70, 140, 159, 178 mm from the top and 7 mm from" in words
    assert "(common practice, from memory)" in words
    assert "widest flap 48.2 mm, bound by the paper (the rings would allow 136.2 mm)" in words
    assert "without flap 1 leaf a sheet, upright; left for marks: 27.6 mm left and right" in words
    assert "42 mm flap 1 leaf a sheet, upright; left for marks: 6.6 mm left and right" in words


def test_all_papers_in_a_table_as_wide_as_a_screen() -> None:
    text = described(SIZES.binder("personal"), list(SIZES.papers.values()))
    fitting, too_small = text.split("Too small")
    for paper in SIZES.papers.values():
        lie = how_they_lie(SIZES.binder("personal"), paper)
        lines = (fitting if lie else too_small).splitlines()
        (line,) = (line for line in lines if line.strip().startswith(f"{paper.title}  "))
        assert lie is None or short(lie) in line
    assert max(map(len, text.splitlines())) <= 120


def test_a_paper_that_is_too_small_is_told_by_how_much() -> None:
    text = described(SIZES.binder("a4"), list(SIZES.papers.values()))
    assert re.search(r"Too small.*\n +A4 +19\.7 and 19\.7\n", text)


def test_a_size_without_holes_says_so() -> None:
    one = SIZES.binder("a5")
    bare = Binder("bare", "Bare", 148, 210, type(one.holes)((), 6, 6), "-")
    assert re.search(r"holes +none", described(bare, [SIZES.paper("a4")]))


def test_measure_from_the_command_line() -> None:
    result = leafset("measure", "a5", "--paper", "a4")
    assert result.returncode == 0, result.stderr
    assert result.stdout == described(SIZES.binder("a5"), [SIZES.paper("a4")]) + "\n"
    whole = leafset("measure", "pocket")
    assert whole.stdout == described(SIZES.binder("pocket"), list(SIZES.papers.values())) + "\n"


def test_measure_takes_sizes_of_one_s_own(tmp_path: Path) -> None:
    own = "[binder.square]\nwidth_mm = 100.0\nheight_mm = 100.0\n"
    own += "[binder.square.holes]\nspacings_mm = [80.0]\nedge_mm = 12.0\ndiameter_mm = 6.0\n"
    (tmp_path / "sizes.toml").write_text(own, "utf-8")
    (tmp_path / "elsewhere.toml").write_text(own.replace("100.0", "90.0"), "utf-8")
    here = leafset("measure", "square", "--paper", "a4", cwd=tmp_path)
    assert "100 × 100 mm (user's sizes.toml)" in here.stdout
    named = leafset("measure", "square", "--paper", "a4", "--sizes", "elsewhere.toml", cwd=tmp_path)
    assert "90 × 90 mm" in named.stdout


@pytest.mark.parametrize(
    ("arguments", "message"),
    [
        (["a55"], "no such binder size; did you mean 'a5'?"),
        (["a5", "--paper", "lettre"], "no such paper; did you mean 'letter'?"),
        (["a5", "--flap", "140"], "on the rings when it is closed; make it 136.2 mm at most"),
        (["a5", "--flap", "-1"], "flap_mm = -1; give 0 or more"),
        (["a5", "--paper", "a4", "--flap", "60"], "17.7 mm in width missing"),
        (["a4", "--paper", "a4"], "19.7 mm in width and 19.7 mm in height missing"),
        (["a5", "--sizes", "none.toml"], "none.toml: there is no such file"),
    ],
)
def test_a_mistake_is_one_line_and_exit_code_2(arguments: list[str], message: str) -> None:
    result = leafset("measure", *arguments)
    assert result.returncode == 2
    assert result.stdout == ""
    (line,) = result.stderr.splitlines()
    assert message in line
