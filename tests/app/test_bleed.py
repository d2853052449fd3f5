"""A season with bleed: colour runs past every cut, and all that lies on pages stays in place."""

from __future__ import annotations

from pathlib import Path
from typing import NamedTuple

import pypdfium2 as pdfium
import pytest
from PIL import Image

from pipeline.app.build import make_season
from pipeline.app.check import check_season
from pipeline.base.errors import UserError
from pipeline.base.geometry import Rect, mm
from pipeline.drawings.checks import check_drawings
from pipeline.impose.contents import read_contents
from pipeline.plan import plan_season
from tests.set_text import read_set

FLAP, BLEED = 36.0, 3.0
GREEN, PINK, WHITE = (205, 232, 192), (240, 200, 208), (255, 255, 255)
DPI = 254  # ten pixels to the millimetre

SEASON = """\
name = "trial"
title = "Trial"
collection = "beds"
language = ["en-GB"]
sizes = ["a5"]
papers = ["a4"]
{bleed}
[[period]]
name = "march"
from = 2027-03-01
to = 2027-03-14

[[set]]
name = "running"
opening = "front"
spreads = [{{ verso = "week-left", recto = "week-right", per = "week" }}]
"""


def svg(width: float, height: float, *drawn: str) -> str:
    return (
        f'<svg xmlns="http://www.w3.org/2000/svg" width="{width}mm" height="{height}mm" '
        f'viewBox="0 0 {width} {height}" font-family="Source Sans 3" font-size="8">'
        f"{''.join(drawn)}</svg>"
    )


def text(key: str, x: float, y: float) -> str:
    return f'<text id="{key}" x="{x}" y="{y}">Sample</text>'


def lay_out(folder: Path, *, collection: str = "", season: str = "", drawn: float = BLEED) -> Path:
    """A season with a page drawn with bleed (green), one drawn without that runs past its edges
    (pink), and one that stays away from them."""
    beds = folder / "templates_svg" / "beds"
    pages = beds / "a5"
    pages.mkdir(parents=True)
    (beds / "labels").mkdir()
    (beds / "labels" / "en.toml").write_text('sowing = "Sowing"\n')
    (beds / "labels" / "ar.toml").write_text('sowing = "قائمة البذر"\n', encoding="utf-8")
    (beds / "collection.toml").write_text(
        f'title = "Beds"\n{collection}\n[fallback_fonts]\nany = ["Noto Sans Arabic"]\n'
        f"[flaps_mm.a5]\nweek-left = {FLAP}\n"
    )
    wide, high = 148 + FLAP + 2 * drawn, 210 + 2 * drawn
    days = [text(f"day{n}-name", 70 + drawn, 40 + 20 * n + drawn) for n in (1, 2, 3)]
    green = f'<rect width="{wide}" height="{high}" fill="rgb{GREEN}"/>'
    (pages / "week-left.svg").write_text(svg(wide, high, green, *days))
    pink = f'<rect x="-9" y="-9" width="166" height="40" fill="rgb{PINK}"/>'
    days = [text(f"day{n}-name", 30, 40 + 20 * (n - 3)) for n in (4, 5, 6, 7)]
    (pages / "week-right.svg").write_text(svg(148, 210, pink, *days, text("week-number", 30, 190)))
    (pages / "front.svg").write_text(svg(148, 210, text("period-name", 30, 60)))
    (folder / "seasons").mkdir()
    path = folder / "seasons" / "trial.toml"
    path.write_text(SEASON.format(bleed=season))
    return path


class Side(NamedTuple):
    """A side of a sheet, as it is printed: its boxes in mm from the top left, and its picture."""

    trim: Rect
    bleed: Rect
    picture: Image.Image

    def colour(self, x: float, y: float) -> tuple[int, int, int]:
        """The colour at a place in mm from the corner of the trim."""
        at = round((self.trim.x + x) * DPI / 25.4), round((self.trim.y + y) * DPI / 25.4)
        red, green, blue = self.picture.getpixel(at)  # type: ignore[misc]
        return red, green, blue


def sides(folder: Path) -> list[Side]:
    found = []
    for page in pdfium.PdfDocument(folder / "both-sides.pdf"):
        high = mm(page.get_height())
        trim, bleed = (
            Rect(mm(left), high - mm(top), mm(right - left), mm(top - bottom))
            for left, bottom, right, top in (page.get_trimbox(), page.get_bleedbox())
        )
        picture = page.render(scale=DPI / 72).to_pil().convert("RGB")
        found.append(Side(trim, bleed, picture))
    return found


def built(path: Path, out: Path) -> Path:
    (made,) = make_season(path, out, cache=out / "cache")
    return out / made.folder


@pytest.mark.parametrize(
    ("collection", "season", "bleed"),
    [
        ("", "bleed_mm = 3", 3.0),
        ("bleed_mm = 3", "", 3.0),
        ("bleed_mm = 3", "bleed_mm = 2", 2.0),
        ("bleed_mm = 3", "bleed_mm = 0", 0.0),
    ],
)
def test_colour_runs_past_every_cut_as_far_as_was_asked(
    tmp_path: Path, collection: str, season: str, bleed: float
) -> None:
    path = lay_out(tmp_path, collection=collection, season=season)
    folder = built(path, tmp_path / "build")
    first, left, right = sides(folder)[:3]
    for side in (first, left, right):
        for a, b in zip(side.bleed, side.trim.grown(bleed), strict=True):
            assert a == pytest.approx(b, abs=0.02)
    for side in (left, right):
        assert (side.trim.width, side.trim.height) == pytest.approx((148 + FLAP, 210), abs=0.02)
    inside, outside = bleed - 0.3, bleed + 0.3
    width = left.trim.width
    for reach, colour in ((-0.3, GREEN), (inside, GREEN), (outside, WHITE)):
        assert left.colour(-reach, 120) == colour
        assert left.colour(width + reach, 120) == colour
        assert left.colour(60, -reach) == colour
        assert left.colour(60, 210 + reach) == colour
    # The page without a flap: it bleeds past three cuts, and not over the fold of its leaf.
    for reach, colour in ((-0.3, PINK), (inside, PINK), (outside, WHITE)):
        assert right.colour(-reach, 15) == colour
        assert right.colour(60, -reach) == colour
    assert right.colour(148 - 0.3, 15) == PINK
    assert right.colour(148 + 0.3, 15) == WHITE
    findings = check_season(path, tmp_path / "build")
    rules = {finding.rule for finding in findings}
    assert rules == (set() if bleed else {"art-no-bleed"})


def test_texts_lie_where_they_lie_without_bleed(tmp_path: Path) -> None:
    places = []
    for name, season, drawn in (("with", "bleed_mm = 3", 3.0), ("without", "", 0.0)):
        path = lay_out(tmp_path / name, season=season, drawn=drawn)
        folder = built(path, tmp_path / name / "build")
        texts = read_set(folder)
        places.append({(t.text, t.leaf, t.face, round(t.box.x, 1)) for t in texts})
        assert len(texts) > 12
    assert places[0] == places[1]


def test_pages_from_right_to_left_bleed_too(tmp_path: Path) -> None:
    path = lay_out(tmp_path, season="bleed_mm = 3")
    path.write_text(path.read_text().replace("en-GB", "ar-EG"))
    folder = built(path, tmp_path / "build")
    left, right = sides(folder)[1:3]
    width = left.trim.width
    for reach, colour in ((2.7, GREEN), (3.3, WHITE)):
        assert left.colour(-reach, 120) == left.colour(width + reach, 120) == colour
    assert right.colour(width + 2.7, 15) == PINK
    assert right.colour(FLAP - 0.3, 15) == WHITE
    assert read_contents(folder).binding == "right"
    assert check_season(path, tmp_path / "build") == []


def test_a_sheet_without_room_for_it_is_refused_in_one_line(tmp_path: Path) -> None:
    path = lay_out(tmp_path, season="bleed_mm = 5", drawn=5)
    with pytest.raises(UserError) as caught:
        make_season(path, tmp_path / "build")
    # 210 - 2 x 6.35 at the printer's edges - 2 x (5 of bleed + 2 of marks) leaves 183.3 of 184
    assert "0.7 mm in width missing (each side needs 7 mm for bleed and marks" in str(caught.value)
    assert "a smaller bleed_mm" in str(caught.value)


@pytest.mark.parametrize("season", ["", "bleed_mm = 2"])
def test_a_page_drawn_with_a_bleed_that_nobody_asked_for(tmp_path: Path, season: str) -> None:
    path = lay_out(tmp_path, season=season)
    with pytest.raises(UserError) as caught:
        make_season(path, tmp_path / "build")
    message = str(caught.value)
    assert "the page is 190.0 × 216.0 mm" in message
    assert "bleed_mm = 3 in collection.toml or in the season file" in message
    (found,) = (one for one in check_drawings([_left(path)])[0] if one.rule == "size")
    assert "bleed_mm = 3 in collection.toml" in str(found)


def test_lint_takes_a_page_with_the_bleed_that_is_asked_for(tmp_path: Path) -> None:
    for name, collection, season in (("a", "bleed_mm = 3", ""), ("b", "", "bleed_mm = 3")):
        path = lay_out(tmp_path / name, collection=collection, season=season)
        assert check_drawings([_left(path)]) == ([], 0)


def _left(path: Path) -> Path:
    return path.parent.parent / "templates_svg" / "beds" / "a5" / "week-left.svg"


@pytest.mark.parametrize("value", ["-1", "5.5", '"3 mm"'])
def test_a_bleed_that_cannot_be(tmp_path: Path, value: str) -> None:
    for name, where in (("a", "season"), ("b", "collection")):
        path = lay_out(tmp_path / name, **{where: f"bleed_mm = {value}"})  # type: ignore[arg-type]
        with pytest.raises(UserError, match="bleed_mm"):
            plan_season(path)
