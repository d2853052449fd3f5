"""Pages of a garden in other sizes, with their dates in them: keys, pitches, and where ink is."""

from __future__ import annotations

import shutil
from dataclasses import dataclass
from pathlib import Path

import numpy as np
import pypdfium2 as pdfium
import pytest
from PIL import Image

from pipeline.app.build import faces_of
from pipeline.draw import draw_set
from pipeline.drawings.resize.resizing import resize_templates
from pipeline.fill import fill_set
from pipeline.fill.flapback import drawings_of
from pipeline.fill.template import open_template
from pipeline.impose import PrinterSettings, plan_sheets
from pipeline.impose.leaf import LeafFace, LeafGeometry
from pipeline.plan import plan_season
from pipeline.text import FontBook
from tests.conftest import ROOT, Golden
from tests.drawings.resize.sample import SIZES, ids, rects

DPI = 72.0
DRAWN = ROOT / "tests" / "plot" / "a5"
DEMO = ROOT / "templates_svg" / "kitchen_garden"
TOGETHER = [
    ("week-two-flap-verso", "week-two-flap-recto"),
    ("week-running-verso", "week-running-recto"),
    ("sowing-list", "bed-plan"),
    ("plain-list", "notes"),
    ("opening",),
    ("closing",),
    ("plant-record",),
    ("plant-record-ruled",),
]
SEASON = """
name = "resized"
title = "Resized"
collection = "kitchen_garden"
language = ["en-GB"]
sizes = ["{size}"]
papers = ["a4"]
weeks = "majority"

[[period]]
name = "march"
month = "2027-03"

[[set]]
name = "dated"
title = "Every dated template"
opening = "opening"
closing = "closing"
spreads = [
  {{ verso = "week-two-flap-verso", recto = "week-two-flap-recto", per = "week" }},
  {{ verso = "week-running-verso", recto = "week-running-recto", per = "week" }},
  {{ verso = "sowing-list", recto = "bed-plan", per = "once" }},
  {{ verso = "plain-list", recto = "notes", per = "once" }},
]

[[set]]
name = "undated"
title = "Every undated template"
leaves = [{{ recto = "plant-record", verso = "plant-record-ruled" }}]
"""

SIZES_TRIED = ["personal", "half-letter"]


def resized_collection(size: str, folder: Path) -> Path:
    """The templates, resized, in a collection in ``folder``; gives a season file."""
    collection = folder / "templates_svg" / "kitchen_garden"
    (collection / size).mkdir(parents=True)
    shutil.copytree(DRAWN.parent / "labels", collection / "labels")
    flaps = ""
    for names in TOGETHER:
        pages = [open_template(DRAWN / f"{name}.svg") for name in names]
        for name, made in zip(
            names, resize_templates(pages, SIZES.binder(size), SIZES, FontBook()), strict=True
        ):
            (collection / size / f"{name}.svg").write_bytes(made.data)
            flaps += f"{name} = {made.flap_mm:g}\n" if made.flap_mm else ""
    (collection / "collection.toml").write_text(
        f'title = "Resized"\n[flaps_mm.{size}]\n{flaps}', "utf-8"
    )
    return season_for(size, folder)


def season_for(size: str, folder: Path) -> Path:
    """A season file with every template."""
    path = folder / "season.toml"
    path.write_text(SEASON.format(size=size), "utf-8")
    return path


@dataclass(frozen=True)
class Shown:
    """A page with its dates: its picture in grey, its geometry, and its template's file."""

    picture: np.ndarray
    face: LeafFace
    data: bytes

    def outside(self) -> int:
        """How many pixels are inked outside the safe areas of page and flap."""
        inked = self.picture < 200
        for area in filter(None, (self.face.safe, self.face.flap_safe)):
            left, top = (int(value * DPI / 25.4) - 1 for value in (area.x, area.y))
            right, bottom = (int(value * DPI / 25.4) + 2 for value in (area.right, area.bottom))
            inked[max(top, 0) : bottom, max(left, 0) : right] = False
        return int(inked.sum())


def shown(season: Path) -> dict[str, Shown]:
    """Each template of a season, filled and drawn; the first page of it."""
    plan = plan_season(season)
    book = faces_of(plan).book()
    found: dict[str, Shown] = {}
    for one in plan.sets:
        names = {page.template for page in one.pages}
        size = one.binder.name
        files = {name: open_template(plan.collection.template_path(size, name)) for name in names}
        drawn = pdfium.PdfDocument(draw_set(fill_set(one, files, book), book, one.language))
        for number, page in enumerate(one.pages):
            if page.template not in found:
                picture = drawn[number].render(scale=DPI / 72).to_pil().convert("L")
                face = LeafGeometry(one.binder, page.flap_mm).face(page.side)
                found[page.template] = Shown(
                    np.asarray(picture).copy(), face, files[page.template].data
                )
    return found


@pytest.fixture(scope="module")
def masters(tmp_path_factory: pytest.TempPathFactory) -> dict[str, Shown]:
    """The A5 pages."""
    folder = tmp_path_factory.mktemp("masters")
    (folder / "templates_svg").mkdir()
    (folder / "templates_svg" / "kitchen_garden").symlink_to(DRAWN.parent)
    return shown(season_for("a5", folder))


@pytest.fixture(scope="module", params=SIZES_TRIED)
def pages(
    request: pytest.FixtureRequest, tmp_path_factory: pytest.TempPathFactory
) -> dict[str, Shown]:
    """All of them for another size: that they can be filled at all is the first thing shown."""
    folder = tmp_path_factory.mktemp("resized")
    return shown(resized_collection(request.param, folder))


def test_every_page_is_there_with_the_same_keys(
    masters: dict[str, Shown], pages: dict[str, Shown]
) -> None:
    assert set(pages) == set(masters) == {name for names in TOGETHER for name in names}
    for name, page in pages.items():
        assert ids(page.data) == ids(masters[name].data), name


def test_no_ink_leaves_the_safe_area(masters: dict[str, Shown], pages: dict[str, Shown]) -> None:
    for name, page in pages.items():
        assert (page.picture < 200).any(), name
        assert page.outside() <= masters[name].outside(), name


def test_rules_of_a_spread_meet_at_the_rings(pages: dict[str, Shown]) -> None:
    """Hairlines over the days of the running week: the left page's and the right one's."""
    left, right = pages["week-running-verso"], pages["week-running-recto"]
    areas = [rects(page.data) for page in (left, right)]
    for name in ("lines-6mm", "lines-6mm-2"):
        assert areas[0][name].y == pytest.approx(areas[1][name].y, abs=0.01)
        assert areas[0][name].height == pytest.approx(areas[1][name].height, abs=0.01)


def test_golden(golden: Golden, pages: dict[str, Shown]) -> None:
    """As they come out before anybody has touched them up."""
    for name in ("week-running-verso", "bed-plan"):
        page = pages[name]
        size = f"{page.face.trim.width:g}x{page.face.trim.height:g}"
        golden(f"resize/{name}-{size}", Image.fromarray(page.picture).convert("RGB"))


def test_the_half_letter_edition_of_the_demo_can_be_made() -> None:
    """All its pages, with flaps that fit on Letter and on A4."""
    plan = plan_season(ROOT / "seasons" / "2027-spring-half-letter.toml")
    book = faces_of(plan).book()
    names = set()
    for one in plan.sets:
        files = drawings_of(one, plan.collection)
        assert len(fill_set(one, files, book)) == len(one.pages)
        for paper in plan.papers:
            assert plan_sheets(one, paper, PrinterSettings(), book)
        names |= {name for drawing in files for name in drawing.split("+")}
    assert names == {path.stem for path in (DEMO / "half-letter").glob("*.svg")}
