"""What is drawn once for many places is resized as a share of its room, and stays printable."""

from __future__ import annotations

import itertools
from pathlib import Path

import pytest
from fontTools.pens.boundsPen import BoundsPen
from fontTools.svgLib.path import parse_path
from lxml import etree

from pipeline.app.build import make_season
from pipeline.app.check import check_season
from pipeline.base.geometry import Rect
from pipeline.drawings.checks import check_drawings
from pipeline.drawings.checks.usage import facts_of_kind
from pipeline.drawings.resize.resizing import resize_files
from pipeline.drawings.starters.starter import LABELS, starter_page
from pipeline.fill.repeats import cell_of, is_repeated, repeated, room_and_sample
from pipeline.fill.template import open_template, read_template, rect_of
from pipeline.plan.model import Side
from pipeline.plan.sizes import load_sizes
from pipeline.svg.tree import SVG, names, page_matrix
from tests.proof.findings.test_repeated_dates import calendar_of_cells, column_of_dates, year_of

SIZES = load_sizes(None)
KINDS = ("month-grid", "tracker", "year", "day")

SEASON = """
name = "shop"
title = "Shop"
collection = "shop"
language = ["en-GB"]
sizes = ["{size}"]
papers = ["a4"]

[almanac]
holidays = ["GB-ENG"]

[[period]]
name = "winter"
from = 2027-01-25
to = 2027-02-07

[[set]]
name = "months"
title.en = "Months"
opening = "year-recto"
closing = "year-verso"
spreads = [
  {{ verso = "cells-verso", recto = "dates-recto", per = "quarter" }},
  {{ verso = "month-grid-verso", recto = "tracker-recto", per = "month" }},
  {{ verso = "tracker-verso", recto = "month-grid-recto", per = "month" }},
]

[[set]]
name = "days"
title.en = "Days"
spreads = [{{ verso = "day-verso", recto = "day-recto", per = "day" }}]
"""


@pytest.fixture(scope="module", params=["personal", "half-letter"])
def resized(request: pytest.FixtureRequest, tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A workspace with pages drawn for A5, resized for a smaller and a slightly other binder."""
    folder = tmp_path_factory.mktemp("shop")
    collection = folder / "templates_svg" / "shop"
    (collection / "a5").mkdir(parents=True)
    pages = [collection / "a5" / f"{kind}-{side}.svg" for kind in KINDS for side in Side]
    for page in pages:
        kind, _, side = page.stem.rpartition("-")
        page.write_bytes(starter_page(kind, SIZES.binder("a5"), side=Side(side)).svg)
    # Quarters, so that what is drawn for a page of A5 can still be read on a smaller one.
    for name, content in (("cells-verso", calendar_of_cells), ("dates-recto", column_of_dates)):
        pages.append(collection / "a5" / f"{name}.svg")
        drawn = year_of(content, 8.0 if name.endswith("verso") else 15.0)
        pages[-1].write_text(drawn, "utf-8")
    (collection / "collection.toml").write_text('title = "Shop"\n', "utf-8")
    (collection / "labels").mkdir()
    labels = "\n".join(f'{key} = "{word}"' for key, word in LABELS.items())
    (collection / "labels" / "en.toml").write_text(labels, "utf-8")
    (folder / "seasons").mkdir()
    size: str = request.param
    season = SEASON.format(size=size)
    (folder / "seasons" / "shop.toml").write_text(season, "utf-8")
    resize_files(pages, SIZES.binder(size), SIZES)
    return collection / size


def test_nothing_is_found_in_them_drawn_or_built(resized: Path, tmp_path: Path) -> None:
    assert [str(one) for one in check_drawings(sorted(resized.glob("*.svg")))[0]] == []
    season = resized.parents[2] / "seasons" / "shop.toml"
    assert len(make_season(season, tmp_path)) == 2
    assert [f"{one.rule}: {one.message}" for one in check_season(season, tmp_path)] == []


def test_a_sample_is_the_same_share_of_its_room(resized: Path) -> None:
    for path in sorted(resized.glob("*.svg")):
        shares = []
        for file in (resized.with_name("a5") / path.name, path):
            (*_, group) = filter(is_repeated, read_template(open_template(file)).root.iter())
            room, sample = room_and_sample(group) or pytest.fail(f"{file} lost its sample")
            cell = cell_of(sample)
            assert cell is not None
            area, place = (page_matrix(one).bounds(rect_of(one)) for one in (room, cell))
            assert (place.x, place.y) == pytest.approx((area.x, area.y), abs=0.01)
            shares.append((place.width / area.width, place.height / area.height))
        assert shares[1] == pytest.approx(shares[0], abs=1e-3)


@pytest.mark.parametrize("side", Side)
def test_a_calendar_keeps_its_seven_columns(resized: Path, side: Side) -> None:
    """March 2027 begins on a Monday, so that it has five weeks."""
    template = read_template(open_template(resized / f"month-grid-{side}.svg"))
    rooms = [room_and_sample(one) for one in template.root.iter() if is_repeated(one)]
    (area,) = (page_matrix(one[0]).bounds(rect_of(one[0])) for one in rooms[1:] if one)
    page = repeated(template, facts_of_kind("month"))
    frames = [rect for rect in page.root.iter(SVG + "rect") if rect.get("stroke") == "#949b93"]
    boxes = [page_matrix(frame).bounds(rect_of(frame)) for frame in frames]
    assert len(boxes) == 35
    assert len({round(box.x, 2) for box in boxes}) == 7
    assert len({round(box.y, 2) for box in boxes}) == 5
    assert min(box.x for box in boxes) == pytest.approx(area.x, abs=0.01)
    assert max(box.right for box in boxes) == pytest.approx(area.right, abs=0.01)
    assert max(box.bottom for box in boxes) == pytest.approx(area.bottom, abs=0.01)
    figures = [one for one in page.root.iter() if any("number" in name for name in names(one))]
    assert len(figures) == 35


@pytest.mark.parametrize("resized", ["half-letter"], indirect=True)
def test_type_keeps_its_size_where_it_has_room(resized: Path) -> None:
    """On Half Letter, nearly as large as A5, what is written stays within a tenth of its size."""
    for kind in KINDS:
        sizes = [
            [float(text.get("font-size", "0")) for text in template.root.iter(SVG + "text")]
            for template in (
                read_template(open_template(folder / f"{kind}-recto.svg"))
                for folder in (resized.with_name("a5"), resized)
            )
        ]
        assert sizes[1] == pytest.approx(sizes[0], rel=0.1)


ROW = """<svg xmlns="http://www.w3.org/2000/svg" width="148mm" height="210mm" viewBox="0 0 148 210">
<g id="each-date">
<rect x="8" y="34" width="126" height="167" fill="none"/>
<g>
<rect x="8" y="34" width="18" height="27.8" fill="none" stroke="#888" stroke-width=".25"/>
<g id="date-number"><rect x="9" y="34.5" width="9" height="6" fill="none"/>
<text x="9" y="39.6" font-family="Source Sans 3" font-size="5">5</text></g>
<g id="show-date" fill="none" stroke="#888" stroke-width=".25">
<rect x="9.6" y="57.2" width="3" height="3"/><circle cx="17" cy="58.7" r="1.6"/>
<path d="M21.2 60.272H24.6L22.9 57.328Z"/></g>
</g>
</g>
</svg>
"""
"""A square, a circle and a triangle to be ticked on each date."""


@pytest.mark.parametrize("size", ["personal", "a6", "half-letter"])
def test_little_things_in_a_row_stay_apart_within_their_cell(size: str, tmp_path: Path) -> None:
    (tmp_path / "a5").mkdir()
    page, out = tmp_path / "a5" / "month-verso.svg", tmp_path / "month.svg"
    page.write_text(ROW, "utf-8")
    resize_files([page], SIZES.binder(size), SIZES, out=out, side=Side.VERSO)
    root = etree.parse(out).getroot()
    (group,) = (one for one in root.iter() if one.get("id") == "show-date")
    (framed,) = (one for one in root.iter(SVG + "rect") if one.get("stroke") == "#888")
    ticked, circle, triangle = group
    cell, square = (
        Rect(*(float(one.get(name, "")) for name in ("x", "y", "width", "height")))
        for one in (framed, ticked)
    )
    x, y, radius = (float(circle.get(name, "")) for name in ("cx", "cy", "r"))
    pen = BoundsPen(None)
    parse_path(triangle.get("d", ""), pen)
    boxes = [square, Rect(x, y, 0, 0).grown(radius), Rect.around([pen.bounds[:2], pen.bounds[2:]])]
    assert square.width == pytest.approx(square.height, abs=0.002)
    assert boxes[2].height / boxes[2].width == pytest.approx(2.944 / 3.4, abs=0.01)
    assert all(cell.grown(-0.3).holds(box) for box in boxes)
    assert all(other.x - one.right > 0.3 for one, other in itertools.pairwise(boxes))
    assert square.width >= 0.95 * 3 * min(1.0, cell.width / 18)
