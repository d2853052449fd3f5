"""Templates that a vector editor has opened and saved again give the same pages."""

from __future__ import annotations

from collections.abc import Mapping
from pathlib import Path

import pypdfium2 as pdfium
import pytest
from PIL import Image

from pipeline.app.build import faces_of
from pipeline.draw import draw_set
from pipeline.fill import fill_set
from pipeline.fill.template import TemplateFile, open_template
from pipeline.plan import SeasonPlan, plan_season
from pipeline.proof.read.raster import compare
from tests.conftest import ROOT
from tests.fill.editor import FORMS, resaved

DPI = 110
"""The finest that ``RASTER_NOISE`` was measured at."""

TWO_FLAPS = '{ verso = "week-two-flap-verso", recto = "week-two-flap-recto", per = "month" },'
SEASON = """
name = "saved"
title = "Saved again"
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
  {two_flaps}
  {{ verso = "week-running-verso", recto = "week-running-recto", per = "week" }},
  {{ verso = "sowing-list", recto = "bed-plan", per = "week" }},
  {{ verso = "plain-list", recto = "notes", per = "week" }},
]

[[set]]
name = "undated"
title = "Every undated template"
leaves = [{{ recto = "plant-record-ruled", verso = "plant-record" }}]
"""
SIZES = {"a5": TWO_FLAPS.replace("month", "week"), "pocket": ""}
"""The sizes that are tried, and the spread with two flaps where the size has one."""
SPRING = {"a5": "2027-spring.toml", "pocket": "2027-spring-sizes.toml"}
"""The demo's seasons with the same pages."""

Templates = Mapping[str, TemplateFile]
Pictures = dict[str, Image.Image]


@pytest.fixture(scope="module", params=["a5", pytest.param("pocket", marks=pytest.mark.wide)])
def plan(request: pytest.FixtureRequest, tmp_path_factory: pytest.TempPathFactory) -> SeasonPlan:
    """A season with every template of the demo collection in one size."""
    folder = tmp_path_factory.mktemp("saved")
    (folder / "templates_svg").symlink_to(ROOT / "templates_svg")
    season = folder / "season.toml"
    season.write_text(SEASON.format(size=request.param, two_flaps=SIZES[request.param]), "utf-8")
    return plan_season(season)


@pytest.fixture(scope="module")
def templates(plan: SeasonPlan) -> Templates:
    names = sorted({page.template for one in plan.sets for page in one.pages})
    size = plan.season.sizes[0]
    return {name: open_template(plan.collection.template_path(size, name)) for name in names}


@pytest.fixture(scope="module")
def drawn(plan: SeasonPlan, templates: Templates) -> Pictures:
    """The pages as the templates were drawn."""
    return pictures(plan, templates)


def test_every_template_of_the_spring_is_tried(
    plan: SeasonPlan, templates: Templates, drawn: Pictures
) -> None:
    """Outsides of flaps are parts of other pages; the year's line is in another season."""
    spring = plan_season(ROOT / "seasons" / SPRING[plan.season.sizes[0]])
    assert set(templates) == {page.template for one in spring.sets for page in one.pages}
    assert set(templates) == {name.partition(".svg")[0].split("/")[-1] for name in drawn}


@pytest.mark.parametrize("form", FORMS)
def test_saved_again_a_template_gives_the_same_pages(
    form: str, plan: SeasonPlan, templates: Templates, drawn: Pictures, tmp_path: Path
) -> None:
    saved = resaved([*templates.values()], form, tmp_path)
    assert all(new.data != old.data for new, old in zip(saved, templates.values(), strict=True))
    again = pictures(plan, dict(zip(templates, saved, strict=True)))
    wrong = {}
    for name, picture in drawn.items():
        result = compare(picture, again[name])
        if not result.same:
            wrong[name] = result.reason
    assert not wrong


def pictures(plan: SeasonPlan, templates: Templates) -> Pictures:
    """Every page of a plan's sets as pdfium shows it, by set and page."""
    book = faces_of(plan).book()
    shown = {}
    for one in plan.sets:
        pages = fill_set(one, templates, book)
        document = pdfium.PdfDocument(draw_set(pages, book, one.language))
        for number, page in enumerate(pages):
            shown[f"{one.name} {page.name}"] = document[number].render(scale=DPI / 72).to_pil()
    return shown
