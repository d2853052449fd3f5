"""Moons drawn for their dates: the shadow is what ephem leaves unlit, on the side it is seen on."""

from __future__ import annotations

import calendar
import datetime as dt
import math
import re
import subprocess
from collections.abc import Iterator
from pathlib import Path

import ephem
import numpy as np
import pytest
from fontTools.pens.boundsPen import BoundsPen
from fontTools.pens.momentsPen import MomentsPen
from fontTools.pens.recordingPen import RecordingPen
from fontTools.pens.transformPen import TransformPen
from fontTools.svgLib.path import parse_path
from lxml import etree

from pipeline.app.build import make_season
from pipeline.app.check import check_season
from pipeline.base.errors import UserError
from pipeline.base.geometry import Rect, mm
from pipeline.drawings.checks import check_drawings
from pipeline.impose.contents import read_contents, upright
from pipeline.plan.model import Side
from pipeline.proof.pictures.pictures import open_set
from tests.app.test_bleed import svg, text
from tests.tools import tool

DPI, RADIUS = 254, 5.0
SEASON = """\
name = "trial"
title = "Trial"
collection = "beds"
language = ["LANGUAGE"]
sizes = ["a5"]
papers = ["a4"]
first_weekday = "monday"

ALMANAC

[[period]]
name = "march"
month = "2027-03"

[[set]]
name = "months"
SET
"""
SPREADS = 'spreads = [{ verso = "month", recto = "month", per = "month" }]'
ALMANAC = "[almanac]\nlatitude = {}\nlongitude = 0"
ROOM = Rect(16, 30, 119, 150)
PITCH = ROOM.width / 7, ROOM.height / 6


def moon(name: str, x: float, y: float) -> str:
    return f'<circle id="{name}" cx="{x}" cy="{y}" r="{RADIUS}" fill="#a8a8a8"/>'


def month_page(each: str = "each-date-6rows-alone") -> str:
    room = (
        f'<rect x="{ROOM.x}" y="{ROOM.y}" width="{ROOM.width}" height="{ROOM.height}" fill="none"/>'
    )
    cell = (
        f'<rect x="{ROOM.x}" y="{ROOM.y}" width="{PITCH[0]}" height="{PITCH[1]}" fill="none" '
        'stroke="#a0a0a0" stroke-width="0.2"/>'
    )
    inner = moon("date-moon-disc", ROOM.x + PITCH[0] / 2, ROOM.y + PITCH[1] / 2)
    heading = f'<g font-size="6">{text("month-name", 20, 20)}</g>'
    figure = f'<g font-size="3">{text("date-number", ROOM.x + 1, ROOM.y + 4)}</g>'
    return svg(148, 210, heading, f'<g id="{each}">{room}<g>{cell}{figure}{inner}</g></g>')


def lay_out(
    folder: Path, page: str, *, language: str = "en-GB", almanac: str = "", lines: str = SPREADS
) -> Path:
    beds = folder / "templates_svg" / "beds"
    (beds / "a5").mkdir(parents=True)
    (beds / "labels").mkdir()
    for name in ("en", "ar"):
        (beds / "labels" / f"{name}.toml").write_text('sowing = "Sowing"\n')
    (beds / "collection.toml").write_text(
        'title = "Beds"\n[fallback_fonts]\nany = ["Noto Sans Arabic"]\n'
    )
    (beds / "a5" / "month.svg").write_text(page)
    (folder / "seasons").mkdir()
    path = folder / "seasons" / "trial.toml"
    season = SEASON.replace("LANGUAGE", language).replace("SET", lines)
    path.write_text(season.replace("ALMANAC", almanac))
    return path


def lit_by_ephem(day: dt.date) -> float:
    """The lit share at noon UT, below 0 on the left in the north: by phase and by the next quarter,
    the moon waxes where a full moon comes before a new one."""
    noon = ephem.Date(f"{day:%Y/%m/%d} 12:00")
    waxes = ephem.next_full_moon(noon) < ephem.next_new_moon(noon)
    return float(ephem.Moon(noon).phase) / 100 * (1 if waxes else -1)


def shadow_by_ephem(day: dt.date) -> float:
    """The share of the disc that is not lit, below 0 on the left in the north."""
    lit = lit_by_ephem(day)
    return math.copysign(1 - abs(lit), -lit)


def drawn(folder: Path, *, mirrored: bool) -> dict[dt.date, float]:
    """The share in shadow, painted for each day of March 2027, below 0 where it is on the left."""
    found = {}
    with open_set(folder, DPI) as pictures:
        for n in range(31):
            day = dt.date(2027, 3, 1) + dt.timedelta(days=n)  # a Monday
            row, column = divmod(n, 7)
            x = ROOM.x + (column + 0.5) * PITCH[0]
            x = 148 - x if mirrored else x
            y = ROOM.y + (row + 0.5) * PITCH[1]
            around = Rect(x - 6, y - 6, 12, 12)
            picture = np.asarray(pictures.face_area(0, Side.VERSO, around).convert("L")) < 212
            share = picture.sum() * (25.4 / DPI) ** 2 / (math.pi * RADIUS**2)
            columns = np.flatnonzero(picture.any(axis=0))
            right = columns.size and columns.mean() > picture.shape[1] / 2
            found[day] = share if right else -share
    return found


@pytest.mark.parametrize(
    ("language", "latitude"), [("en-GB", 51.5), ("en-GB", -33.9), ("ar-EG", 30.0)]
)
def test_the_part_left_as_paper_is_lit(tmp_path: Path, language: str, latitude: float) -> None:
    season = lay_out(tmp_path, month_page(), language=language, almanac=ALMANAC.format(latitude))
    (made,) = make_season(season, tmp_path / "out", cache=tmp_path / "cache")
    shares = drawn(tmp_path / "out" / made.folder, mirrored=language == "ar-EG")
    for day, share in shares.items():
        asked = shadow_by_ephem(day) * (1 if latitude > 0 else -1)
        assert abs(share) == pytest.approx(abs(asked), abs=0.015), day
        if 0.03 < abs(asked) < 0.97:
            assert math.copysign(1, share) == math.copysign(1, asked), day
    assert [one.rule for one in check_season(season, tmp_path / "out")] == []


def outlines(pdf: Path, page: int) -> Iterator[tuple[Rect, float, float]]:
    """Areas filled with the moons' grey on a page of a file, as poppler's pdftocairo reads their
    outlines: the box, the area and the middle of the area across, mm."""
    said = subprocess.run(
        [tool("pdftocairo"), "-svg", "-noshrink", "-nocenter", "-f", f"{page}", "-l", f"{page}",
         str(pdf), "-"],
        capture_output=True,
        check=True,
    ).stdout  # fmt: skip
    grey = 100 * 0xA8 / 255
    for path in etree.fromstring(said).iter("{*}path"):
        fill = re.search(r'\bfill(?::|=")rgb\(([\d.]+)%', etree.tostring(path, encoding="unicode"))
        if fill and abs(float(fill[1]) - grey) < 0.1:
            moved = re.findall(r"[-\d.]+", path.get("transform", "1 0 0 1 0 0"))
            shape, bounds, moments = RecordingPen(), BoundsPen(None), MomentsPen()
            parse_path(path.get("d", ""), TransformPen(shape, [*map(float, moved)]))
            shape.replay(bounds)
            shape.replay(moments)
            box = Rect.around([bounds.bounds[:2], bounds.bounds[2:]])
            middle = mm(moments.momentX / moments.area)
            yield Rect(*map(mm, box)), abs(mm(mm(moments.area))), middle


def test_a_year_s_moons_as_the_file_s_outlines(tmp_path: Path) -> None:
    """Exact where pixels are not: within a two-hundredth of the disc, and on the side in shadow."""
    season = lay_out(tmp_path, month_page(), almanac=ALMANAC.format(51.5))
    year = 'months = ["2027-01", "2027-12"]'
    season.write_text(season.read_text("utf-8").replace('month = "2027-03"', year), "utf-8")
    (made,) = make_season(season, tmp_path / "out", cache=tmp_path / "cache")
    folder = tmp_path / "out" / made.folder
    contents = read_contents(folder)
    for month in range(1, 13):
        placed = contents.find(month - 1, Side.VERSO)
        assert placed is not None
        page = 1 + contents.page_number(placed.sheet, placed.side)
        found = {}
        for box, area, middle in outlines(folder / f"side-{placed.side}.pdf", page):
            on_leaf = upright(box, placed.placement)
            column = (on_leaf.x + on_leaf.width / 2 - ROOM.x) / PITCH[0]
            row = (on_leaf.y + on_leaf.height / 2 - ROOM.y) / PITCH[1]
            disc = box.x + (on_leaf_middle(column) - on_leaf.x)
            found[int(row), int(column)] = area / (math.pi * RADIUS**2), middle > disc
        for row, week in enumerate(calendar.Calendar().monthdatescalendar(2027, month)):
            for column, day in enumerate(week):
                share, right = found.pop((row, column), (0.0, False))
                asked = shadow_by_ephem(day) if day.month == month else 0.0
                assert share == pytest.approx(abs(asked), abs=0.005), day
                if abs(asked) < 0.995:
                    assert right is (asked > 0), day
        assert not found


def on_leaf_middle(column: float) -> float:
    """The middle of the disc in a column of the page, mm from its left."""
    return ROOM.x + (int(column) + 0.5) * PITCH[0]


def test_without_dates_the_discs_are_there_to_be_filled_in(tmp_path: Path) -> None:
    page = month_page().replace('fill="#a8a8a8"', 'fill="#a8a8a8" stroke="#a8a8a8"')
    lines = f'dates = "none"\ncount = 1\n{SPREADS}'
    season = lay_out(tmp_path, page, almanac=ALMANAC.format(50), lines=lines)
    (made,) = make_season(season, tmp_path / "out", cache=tmp_path / "cache")
    shares = drawn(tmp_path / "out" / made.folder, mirrored=False)
    # A ring of 1 mm around an empty disc: from 4.5 to 5.5 mm of its middle.
    ring = (5.5**2 - 4.5**2) / RADIUS**2
    assert [abs(share) for share in shares.values()] == pytest.approx([ring] * 31, abs=0.01)


@pytest.mark.parametrize(
    ("page", "almanac", "says"),
    [
        (month_page(), "", "this season has no almanac to take it from"),
        (
            svg(148, 210, text("month-name", 20, 20), moon("day1-moon-disc", 40, 40)),
            ALMANAC.format(50),
            "element 'day1-moon-disc': no such key on a page for a month",
        ),
        (
            svg(148, 210, '<path id="date1-moon-disc" d="M20 20h9v9z"/>'),
            ALMANAC.format(50),
            "a moon is drawn in a rectangle or a circle",
        ),
    ],
)
def test_a_moon_that_cannot_be_drawn(tmp_path: Path, page: str, almanac: str, says: str) -> None:
    season = lay_out(tmp_path, page, almanac=almanac)
    with pytest.raises(UserError) as problem:
        make_season(season, tmp_path / "out")
    assert says in str(problem.value)
    found = check_drawings([tmp_path / "templates_svg/beds/a5/month.svg"])[0]
    assert [one.rule for one in found].count("key")


def test_lint_takes_moons_that_are_right(tmp_path: Path) -> None:
    season = lay_out(tmp_path, month_page(), almanac=ALMANAC.format(50))
    assert check_drawings([season.parent.parent / "templates_svg/beds/a5/month.svg"])[0] == []
