"""Packs printed at home to be sold: the figures by hand, and the sheet for the bench."""

from __future__ import annotations

import csv
import io
import math
import re
import shutil
from pathlib import Path

import pypdfium2 as pdfium
import pytest

from pipeline.app.build import make_season
from pipeline.app.packs import as_csv, as_pdf, packs_of
from pipeline.base.errors import UserError
from tests.conftest import ROOT

BENCH = """
[bench]
money = "€"
spare_percent = 5
ream_price = 12.50
cartridge_price = 30
cartridge_pages = 500
hour_price = 18
envelope_price = 0.40
envelope_g = 12
postage = [[50, 1.10], [500, 2.55]]
pages_a_minute = 10
stroke_s = 15
punch_s = 6
fold_s = 10
pick_s = 30
[bench.trimmer.rotary]
sheets = 8
cut_mm = 320
[bench.trimmer.short]
sheets = 5
cut_mm = 180
"""


@pytest.fixture(scope="module")
def season(tmp_path_factory: pytest.TempPathFactory) -> Path:
    folder = tmp_path_factory.mktemp("packs")
    shutil.copytree(ROOT / "templates_svg", folder / "templates_svg")
    text = (ROOT / "seasons" / "2027-spring.toml").read_text("utf-8")
    head, *sets = text.replace('["letter", "a4"]', '["a4"]').split("[[set]]")
    weeks = next(one for one in sets if 'name = "running"' in one)
    head = head.replace("[printer]", f"{BENCH}\n[printer]").replace('["en-GB"]', '["en-GB", "de"]')
    head = re.sub("(?m)^close_up = .*\n", "", head)  # of pages of other sets
    head = re.sub(r"\[\[period]]\nname = .(?:may|quarter)..*?(?=\[\[|$)", "", head, flags=re.DOTALL)
    file = folder / "seasons" / "spring.toml"
    file.parent.mkdir()
    file.write_text(f"{head}[[set]]{weeks}", "utf-8")
    make_season(file, folder / "build")
    return file


def test_the_figures_are_those_that_one_reckons_by_hand(season: Path) -> None:
    out = season.parent.parent / "build"
    asked = {"march/running/a5-a4-en-GB": 20}
    _, (pack,), at_once = packs_of(season, out, asked, "rotary")
    figures = pack.contents.bench
    assert at_once == 8
    assert pack.sheets == 21 * figures.sheets
    assert pack.spare == figures.sheets
    assert sum(pack.runs) == 21
    assert max(pack.runs) * figures.sheets <= 100
    alike: dict[int, int] = {}
    for sheet in pack.contents.sheets:
        alike[sheet.stack] = alike.get(sheet.stack, 0) + 1
    heaps = [math.ceil(many * 21 / 8) for many in alike.values()]
    assert (pack.stacks, pack.strokes) == (sum(heaps), 4 * sum(heaps)), "four edges a leaf"
    assert pack.folds == 20 * figures.folds
    assert pack.punch_strokes == math.ceil(20 * len(pack.contents.leaves) / 5)
    seconds = 2 * pack.sheets * 6 + pack.strokes * 15 + pack.punch_strokes * 6
    seconds += pack.folds * 10 + 20 * 30
    assert pack.minutes == pytest.approx(seconds / 60)
    assert pack.paper_cost == pytest.approx(pack.sheets / 20 * 12.50 / 500)
    assert figures.ink is not None
    pages = 2 * figures.sheets * figures.ink.mean_percent / 5 * 21 / 20
    assert pack.ink_cost == pytest.approx(pages * 30 / 500)
    assert pack.reams == pytest.approx(pack.sheets / 500)
    assert pack.cartridges == pytest.approx(pages * 20 / 500)
    assert pack.postage == 1.10
    assert pack.weight_g == pytest.approx(figures.weight_g + 12)


def test_the_stop_is_set_so_that_each_stroke_falls_on_the_leaf_s_edge(season: Path) -> None:
    out = season.parent.parent / "build"
    _, (pack,), _ = packs_of(season, out, {"april/running/a5-a4-de": 1})
    for run, strokes in pack.cuts:
        sheet = pack.contents.sheets[run[0] - 1]
        (leaf,) = sheet.side_1
        assert [one.edge for one in strokes] == ["bottom", "cut", "right", "cut"]
        kept = [one.mm for one in strokes]
        assert kept[0] == pytest.approx(sheet.height_mm - leaf.flat.y, abs=0.01)
        assert kept[1] == pytest.approx(leaf.flat.height, abs=0.01)
        assert kept[2] == pytest.approx(sheet.width_mm - leaf.flat.x, abs=0.01)
        assert kept[3] == pytest.approx(leaf.flat.width, abs=0.01)


def test_the_bench_sheet_tells_blades_first_in_the_maker_s_language(season: Path) -> None:
    out = season.parent.parent / "build"
    asked = {"march/running/a5-a4-en-GB": 20, "april/running/a5-a4-de": 3}
    plan, packs, sheets = packs_of(season, out, asked)
    with pdfium.PdfDocument(as_pdf(plan, packs, sheets)) as document:
        told = [document[n].get_textpage().get_text_bounded() for n in range(len(document))]
    assert len(told) == 2
    assert told[0].index("Mind the blades") < told[0].index("Cut, 8 sheets at a time")
    assert "20 packs of “Running weeks on one flap”, March 2027" in told[0]
    assert f"{packs[0].cost + 1.10:.2f} €" in told[0]
    assert f"Paper: {packs[0].reams:.2f} reams of 500 sheets" in told[0]
    rows = list(csv.DictReader(io.StringIO(as_csv(packs).decode("utf-8-sig"))))
    assert [row["packs"] for row in rows] == ["20", "3"]
    assert float(rows[0]["cost"]) == pytest.approx(packs[0].cost, abs=0.005)


@pytest.mark.parametrize(
    ("asked", "trimmer", "told"),
    [
        ({"runing": 1}, "", "did you mean 'running'"),
        ({"march/running": 1}, "", "could be any of 2 sets"),
        ({"march/running/a5-a4-de": 1}, "guillotine", r"trimmer 'guillotine'.*choose from"),
        ({"march/running/a5-a4-de": 1}, "short", "the trimmer cuts 180 mm"),
    ],
)
def test_what_cannot_be_is_told_in_one_line(
    season: Path, asked: dict[str, int], trimmer: str, told: str
) -> None:
    with pytest.raises(UserError) as problem:
        packs_of(season, season.parent.parent / "build", asked, trimmer)
    assert re.search(told, str(problem.value))
    assert "\n" not in str(problem.value)


def test_a_pack_that_no_row_of_the_postage_has_is_told(season: Path, tmp_path: Path) -> None:
    heavy = season.with_name("heavy.toml")
    text = season.read_text("utf-8").replace("[[50, 1.10], [500, 2.55]]", "[[5, 1.10]]")
    heavy.write_text(text, "utf-8")
    with pytest.raises(UserError, match="more than any row"):
        packs_of(heavy, season.parent.parent / "build", {"march/running/a5-a4-de": 1})
    heavy.unlink()
