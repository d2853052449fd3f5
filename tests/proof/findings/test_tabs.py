"""Tabs read back: a sound set of dividers passes, spoilt ones give just the finding they should.

The pages are the starters' divider and list, four leaves a sheet and one, bound left and right.
"""

from __future__ import annotations

import re
import shutil
import subprocess
from collections.abc import Callable, Iterator
from dataclasses import dataclass, replace
from pathlib import Path
from unittest import mock

import numpy as np
import pytest

from pipeline.app.build import make_season
from pipeline.app.check import check_season
from pipeline.base.geometry import Rect, mm
from pipeline.drawings.starters.starter import LABELS, starter_page
from pipeline.fill import tablabel
from pipeline.fill.template import Template
from pipeline.impose import marks
from pipeline.impose.contents import read_contents
from pipeline.impose.leaf import LeafFace
from pipeline.impose.marks import Line
from pipeline.impose.sheet import Position
from pipeline.plan import SeasonPlan, plan_season
from pipeline.plan.model import Leaf, Page, Side, Tab
from pipeline.plan.sizes import load_sizes
from pipeline.proof.findings import findings_of
from pipeline.proof.pictures.pictures import open_set
from tests.proof.findings.test_false_alarms import told
from tests.tools import tool

SEASON = """
name = "shop"
title = "Shop"
collection = "shop"
language = {languages}
sizes = {sizes}
papers = ["a4"]

[[period]]
name = "spring"
months = ["2027-03", "2027-05"]
"""
MONTHS = """
[[set]]
name = "months"
spreads = [
  { verso = "list", recto = "divider", per = "month", tab = { of = 12, reach_mm = 10 } },
]
"""
SECTIONS = """
[[set]]
name = "sections"
title.en = "Sections"
title.ar = "أقسام"
tab = { of = 4, reach_mm = 12, edge = "head", label = "list" }
leaves = [{ recto = "divider", verso = "back" }, { recto = "divider", verso = "back" }]
"""
COLLECTION = """
title = "Shop"
[fallback_fonts]
"EB Garamond" = ["Amiri"]
"Source Sans 3" = ["Noto Sans Arabic"]
"""
PAGES = (
    ("divider", "divider", Side.RECTO),
    ("list", "list", Side.VERSO),
    ("back", "divider", Side.VERSO),
)


def shop(folder: Path, languages: str, sizes: tuple[str, ...], sets: str) -> Path:
    """A workspace with dividers in some binder sizes; returns its season."""
    collection = folder / "templates_svg" / "shop"
    for size in sizes:
        (collection / size).mkdir(parents=True)
        for name, kind, side in PAGES:
            page = starter_page(kind, load_sizes(None).binder(size), side=side)
            (collection / size / f"{name}.svg").write_bytes(page.svg)
    (collection / "collection.toml").write_text(COLLECTION, "utf-8")
    (collection / "labels").mkdir()
    labels = "\n".join(f'{key} = "{word}"' for key, word in LABELS.items())
    for language in ("en", "ar"):
        (collection / "labels" / f"{language}.toml").write_text(labels, "utf-8")
    season = folder / "seasons" / "shop.toml"
    season.parent.mkdir()
    text = SEASON.format(languages=languages, sizes=str(list(sizes)).replace("'", '"'))
    season.write_text(text + sets, "utf-8")
    return season


@dataclass(frozen=True)
class Built:
    """A sound workspace, and a cache of what it drew."""

    season: Path
    cache: Path

    def findings(self, out: Path, plan: SeasonPlan | None = None) -> dict[str, str]:
        """What finds something in what is built from a plan, and what it says."""
        own = plan_season(self.season)
        with mock.patch("pipeline.app.build.plan_season", return_value=plan or own):
            make_season(self.season, out, cache=self.cache)
        (folder,) = out.glob("*/*/*/*")
        return {one.rule: one.message for one in findings_of(folder, own)}


@pytest.fixture(scope="module")
def built(tmp_path_factory: pytest.TempPathFactory) -> Built:
    folder = tmp_path_factory.mktemp("shop")
    return Built(shop(folder, '["en-GB"]', ("a5",), MONTHS), folder / "cache")


def test_nothing_is_found_in_sound_dividers(tmp_path: Path) -> None:
    """On both edges, one leaf on a sheet and several, bound on either side."""
    season = shop(tmp_path, '["en-GB", "ar-EG"]', ("a5", "personal"), MONTHS + SECTIONS)
    made = make_season(season, tmp_path / "build")
    assert len(made) == 8
    found = check_season(season, tmp_path / "build")
    assert not found, told(found)


FLAPS = """
[[set]]
name = "flaps"
title.en = "Flaps"
title.ar = "طيات"
flap_back = "outside"
spreads = [
  { verso = "list", recto = "flap", per = "month", tab = { of = 6, reach_mm = 12, edge = "head" } },
  { verso = "list", recto = "plain", per = "month" },
  { verso = "flap-verso", recto = "plain", per = "month" },
]
"""


def with_flaps(season: Path) -> Path:
    """The workspace with pages that have a flap: some with tabs, some without."""
    folder = season.parents[1] / "templates_svg" / "shop"
    binder = load_sizes(None).binder("a5")
    for name, side in (("flap", Side.RECTO), ("flap-verso", Side.VERSO), ("plain", Side.RECTO)):
        kind = "divider" if name == "flap" else "list"
        page = starter_page(kind, binder, 0 if name == "plain" else 42, side)
        (folder / "a5" / f"{name}.svg").write_bytes(page.svg)
    outside = (
        '<svg xmlns="http://www.w3.org/2000/svg" width="42mm" height="210mm" viewBox="0 0 42 210">'
        '<circle cx="21" cy="105" r="9" fill="none" stroke="#4d534e" stroke-width="0.4"/>'
        '<text id="label-list" x="21" y="60" font-family="Source Sans 3" font-size="4"'
        ' text-anchor="middle" fill="#4d534e">To do</text></svg>'
    )
    (folder / "a5" / "outside.svg").write_text(outside, "utf-8")
    toml = folder / "collection.toml"
    flaps = "\n[flaps_mm.a5]\nflap = 42\nflap-verso = 42\n"
    toml.write_text(toml.read_text("utf-8") + flaps, "utf-8")
    return season


def test_nothing_is_found_in_leaves_with_a_flap_and_a_tab(tmp_path: Path) -> None:
    season = with_flaps(shop(tmp_path, '["en-GB", "ar-EG"]', ("a5",), FLAPS))
    assert len(make_season(season, tmp_path / "build")) == 2
    found = check_season(season, tmp_path / "build")
    assert not found, told(found)
    folder = tmp_path / "build" / "shop" / "spring" / "flaps" / "a5-a4-en-GB"
    contents = read_contents(folder)
    assert {(leaf.flap_mm > 0, leaf.tab is not None) for leaf in contents.leaves} == {
        (True, True),
        (False, True),  # as high before they are cut
    }
    with open_set(folder, 50) as pictures:
        spread = next(n for n, one in enumerate(contents.spreads) if pictures.folds(one[1], RECTO))
        open_, shut = (np.asarray(pictures.spread(spread, shut=one)) for one in (False, True))
    # Above the flap nothing is left of the strip that the tabs stand in, open or shut.
    assert open_.shape == shut.shape
    corner = slice(2, 12), slice(-60, -20)
    assert np.ptp(open_[corner].astype(int), axis=(0, 1)).max() < 6
    assert np.abs(open_[corner].astype(int) - shut[corner]).max() < 6
    assert np.abs(open_.astype(int) - shut).max() > 60


RECTO = Side.RECTO


def in_another_tab(plan: SeasonPlan) -> SeasonPlan:
    """March's tab says April."""
    (one,) = plan.sets

    def change(page: Page | None) -> Page | None:
        if page is None or page.facts.texts["tab-label"][0] != "March":
            return page
        texts = {**page.facts.texts, "tab-label": ("April",)}
        return replace(page, facts=replace(page.facts, texts=texts))

    leaves = tuple(Leaf(change(leaf.recto), change(leaf.verso)) for leaf in one.leaves)
    return replace(plan, sets=(replace(one, leaves=leaves),))


def test_a_tab_with_another_s_label(built: Built, tmp_path: Path) -> None:
    found = built.findings(tmp_path, in_another_tab(plan_season(built.season)))
    assert set(found) == {"label-missing"}, found
    assert "March" in found["label-missing"]


LABEL = re.compile(r'<g id="tab-label">.*?</g>', re.DOTALL)

LOST: dict[str, tuple[str, Callable[[str], str]]] = {
    # what was done to the divider: (finding, how)
    "its label taken out": ("label-missing", lambda svg: LABEL.sub("", svg)),
    "its label without a name": (
        "placeholder-left", lambda svg: svg.replace(' id="tab-label"', "")),
    "its label on a ground, without a name": (
        "placeholder-left",
        lambda svg: LABEL.sub(
            lambda found: found[0].replace(' id="tab-label"', "").replace('"none"', '"#eef1ec"'),
            svg)),
}  # fmt: skip


@pytest.mark.parametrize("done", LOST)
def test_a_label_that_lost_its_key(built: Built, tmp_path: Path, done: str) -> None:
    rule, change = LOST[done]
    shutil.copytree(built.season.parents[1], tmp_path, dirs_exist_ok=True)
    drawing = tmp_path / "templates_svg" / "shop" / "a5" / "divider.svg"
    before = drawing.read_text("utf-8")
    drawing.write_text(change(before), "utf-8")
    assert drawing.read_text("utf-8") != before
    found = Built(tmp_path / "seasons" / "shop.toml", built.cache).findings(tmp_path / "build")
    assert set(found) == {rule}, found
    assert "tab-label" in found[rule] or "March" in found[rule]


Outline = Callable[[Position, LeafFace], Iterator[Line]]


def none_at_all(position: Position, face: LeafFace) -> Iterator[Line]:
    return iter(())


def without_its_last_line(position: Position, face: LeafFace) -> Iterator[Line]:
    return iter(list(marks.tab_outline(position, face))[:-1])


@pytest.mark.parametrize("drawn", [none_at_all, without_its_last_line])
def test_an_outline_lost(built: Built, tmp_path: Path, drawn: Outline) -> None:
    with mock.patch("pipeline.impose.imposing.tab_outline", drawn):
        found = built.findings(tmp_path)
    assert set(found) == {"mark-missing"}, found
    assert re.search(r"the outline of the tab of leaf \d is not whole", found["mark-missing"])


def one_step_on(tab: Tab) -> Tab:
    return replace(tab, at=tab.at % tab.of + 1)


def test_a_label_on_the_next_step(built: Built, tmp_path: Path) -> None:
    def moved(template: Template, tab: Tab | None, side: Side, beside: float) -> Template:
        return tablabel.on_leaf(template, tab and one_step_on(tab), side, beside)

    with mock.patch("pipeline.fill.filling.on_leaf", moved):
        found = replace(built, cache=tmp_path / "cache").findings(tmp_path / "build")
    assert "text-clipped" in found, found


def test_an_outline_on_the_next_step(built: Built, tmp_path: Path) -> None:
    def moved(position: Position, face: LeafFace) -> Iterator[Line]:
        step = 210 / 12
        down = tuple((x, y + step if 0 < y < 210 or x != 148 else y) for x, y in face.outline)
        return marks.tab_outline(position, replace(face, outline=down))

    with mock.patch("pipeline.impose.imposing.tab_outline", moved):
        found = built.findings(tmp_path)
    assert "mark-missing" in found, found


WORD = re.compile(r'<word xMin="(.*?)" yMin="(.*?)" xMax="(.*?)" yMax="(.*?)">(.*?)</word>')


def test_every_label_is_on_its_tab(built: Built, tmp_path: Path) -> None:
    """Read by poppler's pdftotext, which has no part in making it."""
    read = tool("pdftotext")
    make_season(built.season, tmp_path, cache=built.cache)
    (folder,) = tmp_path.glob("*/*/*/*")
    contents = read_contents(folder)
    there = {}
    for number, sheet in enumerate(contents.sheets, 1):
        file, page = str(folder / "side-1.pdf"), str(number)
        said = subprocess.run(
            [read, "-bbox", "-f", page, "-l", page, file, "-"],
            capture_output=True, check=True, text=True, encoding="utf-8",
        ).stdout  # fmt: skip
        for x, y, right, bottom, word in WORD.findall(said):
            box = Rect.around([(mm(float(x)), mm(float(y))), (mm(float(right)), mm(float(bottom)))])
            for one in sheet.side_1:
                step = 210 / 12
                # leaf n has the nth month's tab, on its nth step from the head
                at = one.flat.y + (one.leaf - 1) * step
                tab = Rect(one.flat.x + 148, at, 10, step)
                if one.leaf and tab.holds(box):
                    there[one.leaf] = word
    assert there == {1: "March", 2: "April", 3: "May"}


def test_the_tabs_of_a_set_are_seen_in_the_rings(built: Built, tmp_path: Path) -> None:
    """Where a tab is there is paper in the picture, and table where none is."""
    make_season(built.season, tmp_path, cache=built.cache)
    (folder,) = tmp_path.glob("*/*/*/*")
    with open_set(folder, 25.4) as pictures:  # a pixel a millimetre
        opened = np.asarray(pictures.view(1, 2))
        page = Rect(pictures.page_x_mm(Side.RECTO), pictures.page_y_mm, 148, 210)
        left_edge = pictures.page_x_mm(Side.VERSO)
    step = 210 / 12
    # Leaf 2 (the second month's) lies on the right, the third's below it; the first's is turned.
    for beyond, there in ((page.right + 8, {2, 3}), (left_edge - 8, {1})):
        for month in range(1, 13):
            seen = opened[round(page.y + (month - 0.5) * step), round(beyond)]
            assert (seen.min() > 245) == (month in there), (beyond, month, seen)
