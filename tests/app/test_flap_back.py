"""What is seen of a shut flap: a page of its own, printed on the other side of the leaf."""

from __future__ import annotations

from pathlib import Path

import numpy as np
import numpy.typing as npt
import pypdfium2 as pdfium
import pytest
from PIL import ImageChops

from pipeline.app.build import make_season
from pipeline.app.check import check_season
from pipeline.base.errors import UserError
from pipeline.base.geometry import Rect
from pipeline.drawings.checks import check_drawings
from pipeline.impose.contents import read_contents
from pipeline.plan import plan_season
from pipeline.plan.model import Side
from pipeline.plan.season import load_season
from pipeline.plan.sets import run_of
from pipeline.proof.pictures.pictures import MARGIN_MM, open_set
from tests.app.test_bleed import svg, text

FLAP, DPI = 36.0, 254  # ten pixels to the millimetre
INSIDE, OUTSIDE, PAGE = (240, 200, 208), (205, 232, 192), (200, 210, 240)

SEASON = """\
name = "trial"
title = "Trial"
collection = "beds"
language = ["LANGUAGE"]
sizes = ["a5"]
papers = ["a4"]
first_weekday = "monday"

[[period]]
name = "march"
from = 2027-03-01
to = 2027-03-14

[[set]]
name = "running"
SET
"""
SPREAD = 'verso = "week-left", recto = "week-right", per = "week"'


def filled(colour: tuple[int, int, int], x: float, width: float) -> str:
    return f'<rect x="{x}" width="{width}" y="-9" height="228" fill="rgb{colour}"/>'


def lay_out(folder: Path, set_lines: str, language: str = "en-GB", outside: str = "") -> Path:
    """A verso whose flap is pink within, and a page for its outside that is green all over and
    runs past all edges; both pages define a gradient of one id."""
    beds = folder / "templates_svg" / "beds"
    (beds / "a5").mkdir(parents=True)
    (beds / "labels").mkdir()
    for name, word in (("en", "Sowing"), ("ar", "قائمة البذر")):
        (beds / "labels" / f"{name}.toml").write_text(f'sowing = "{word}"\n', encoding="utf-8")
    (beds / "collection.toml").write_text(
        'title = "Beds"\n[fallback_fonts]\nany = ["Noto Sans Arabic"]\n'
        f"[flaps_mm.a5]\nweek-left = {FLAP}\n"
    )
    days = [text(f"day{n}-name", 70, 40 + 20 * n) for n in range(1, 4)]
    pages = {"week-left": svg(148 + FLAP, 210, filled(INSIDE, -9, FLAP + 9), *days)}
    days = [text(f"day{n}-name", 30, 20 * n) for n in range(4, 8)]
    shade = '<linearGradient id="shade"><stop stop-color="rgb{}"/></linearGradient>'
    band = '<rect x="-9" y="190" width="200" height="10" fill="url(#shade)"/>'
    pages["week-right"] = svg(148, 210, shade.format(PAGE), band, *days)
    green = '<rect x="-9" y="-9" width="90" height="230" fill="url(#shade)"/>'
    words = f'<g font-size="3">{text("label-sowing", 6, 60)}{text("period-name", 6, 80)}</g>'
    pages["outside"] = outside or svg(FLAP, 210, shade.format(OUTSIDE), green, words)
    pages["front"] = svg(148, 210, text("period-name", 30, 60))
    for name, drawn in pages.items():
        (beds / "a5" / f"{name}.svg").write_text(drawn)
    (folder / "seasons").mkdir()
    path = folder / "seasons" / "trial.toml"
    path.write_text(SEASON.replace("SET", set_lines).replace("LANGUAGE", language))
    return path


def built(path: Path, out: Path) -> Path:
    (made,) = make_season(path, out, cache=out / "cache")
    return out / made.folder


def across(picture: npt.NDArray[np.uint8], colour: tuple[int, int, int]) -> tuple[float, float]:
    """From where to where a colour reaches from left to right, in mm."""
    near = np.abs(picture.astype(int) - colour).max(axis=2) <= 6
    columns = np.flatnonzero(near.sum(axis=0) > 500)
    return columns[0] * 25.4 / DPI, (columns[-1] + 1) * 25.4 / DPI


@pytest.mark.parametrize("language", ["en-GB", "ar-EG"])
def test_the_outside_lies_behind_the_flap_on_the_sheet(tmp_path: Path, language: str) -> None:
    lines = f'opening = "front"\nflap_back = "outside"\nspreads = [{{ {SPREAD} }}]'
    folder = built(lay_out(tmp_path, lines, language), tmp_path / "out")
    contents = read_contents(folder)
    document = pdfium.PdfDocument(folder / "both-sides.pdf")
    pictures = [
        np.asarray(page.render(scale=DPI / 72).to_pil().convert("RGB")) for page in document
    ]
    wide = contents.paper.width_mm
    flapped = [sheet for sheet in contents.sheets if contents.leaves[sheet.side_1[0].leaf].flap_mm]
    assert len(flapped) == 2
    for sheet in flapped:
        first, second = pictures[2 * sheet.number - 2], pictures[2 * sheet.number - 1]
        # Turned over, the paper's left is its right: x lies at its width less x.
        green, pink = across(first, OUTSIDE), across(second, INSIDE)
        assert green == pytest.approx((wide - pink[1], wide - pink[0]), abs=0.15)
        assert green[1] - green[0] == pytest.approx(FLAP, abs=0.15)


@pytest.mark.parametrize("language", ["en-GB", "ar-EG"])
def test_the_page_beside_it_is_as_it_was(tmp_path: Path, language: str) -> None:
    pages = []
    for name, line in (("plain", ""), ("backed", 'flap_back = "outside"\n')):
        lines = f'opening = "front"\n{line}spreads = [{{ {SPREAD} }}]'
        folder = built(lay_out(tmp_path / name, lines, language), tmp_path / name / "out")
        with open_set(folder, DPI) as pictures:
            right = language != "ar-EG"
            page = Rect(0 if right else FLAP, 0, 147.8 if right else 148, 210)
            page = page if right else page.moved(0.2, 0)
            pages.append([pictures.face_area(leaf, Side.RECTO, page) for leaf in (0, 1)])
            flap = pictures.face_area(1, Side.RECTO, Rect(150 if right else 2, 10, 32, 20))
            colour = OUTSIDE if line else (255, 255, 255)
            assert np.abs(np.asarray(flap.convert("RGB")).astype(int) - colour).max() <= 6
    for plain, backed in zip(*pages, strict=True):
        difference = ImageChops.difference(plain.convert("RGB"), backed.convert("RGB"))
        assert max(high for _, high in difference.getextrema()) <= 8  # type: ignore[misc]


def test_it_is_seen_on_the_shut_flap_and_checked(tmp_path: Path) -> None:
    season = lay_out(tmp_path, f'flap_back = "outside"\nspreads = [{{ {SPREAD} }}]')
    season.write_text(season.read_text().replace("papers", "bleed_mm = 3\npapers", 1))
    folder = built(season, tmp_path / "out")
    leaves = read_contents(folder).leaves
    # With no opening page the first leaf has the outside alone on its front.
    assert [leaf.recto.template if leaf.recto else "" for leaf in leaves] == [
        "outside", "week-right", "week-right",
    ]  # fmt: skip
    assert [leaf.recto.flap_back if leaf.recto else "" for leaf in leaves] == [
        "outside", "outside", "",
    ]  # fmt: skip
    assert [leaf.folds_over(Side.RECTO) for leaf in leaves] == [False, False, False]
    with open_set(folder, 50) as pictures:
        for spread in (0, 1):
            shut = pictures.spread(spread, shut=True)
            x, y = pictures.page_x_mm(Side.VERSO) + FLAP / 2, MARGIN_MM + 20
            at = round(x * 50 / 25.4), round(y * 50 / 25.4)
            red, green, blue = shut.convert("RGB").getpixel(at)  # type: ignore[misc]
            assert green - red > 15  # green, in the light of the picture
            assert green - blue > 15
    assert [one.rule for one in check_season(season, tmp_path / "out")] == []


@pytest.mark.parametrize(
    ("set_lines", "outside", "says"),
    [
        (
            f'flap_back = "outside"\nspreads = [{{ {SPREAD} }}]',
            svg(40, 210),
            "a5/outside.svg: the page is 40.0 × 210.0 mm, but the flap that it is the outside of"
            " is 36 × 210 mm",
        ),
        (
            f'flap_back = "outside"\nspreads = [{{ {SPREAD} }}]',
            svg(FLAP, 210, text("week-range", 3, 20)),
            "a5/outside.svg, element 'week-range': no such key on the outside of a flap",
        ),
        (
            'flap_back = "outside"\n'
            'spreads = [{ verso = "front", recto = "week-right", per = "week" }]',
            "",
            "has 'flap_back', but none of its flaps has an outside that isn't drawn yet",
        ),
        (
            f'flap_back = "outsid"\nspreads = [{{ {SPREAD} }}]',
            "",
            "there is no such template; the nearest is 'outside.svg'",
        ),
        (
            f'spreads = [{{ {SPREAD}, flap_back = "outside" }}, {{ {SPREAD} }}]',
            "",
            "has spreads with 'week-left' whose 'flap_back' differs",
        ),
    ],
)
def test_an_outside_that_cannot_be(tmp_path: Path, set_lines: str, outside: str, says: str) -> None:
    with pytest.raises(UserError) as problem:
        built(lay_out(tmp_path, set_lines, outside=outside), tmp_path / "out")
    assert says in str(problem.value)
    assert "\n" not in str(problem.value)


def test_lint_knows_its_size_and_what_it_can_show(tmp_path: Path) -> None:
    season = lay_out(tmp_path, f'spreads = [{{ {SPREAD}, flap_back = "outside" }}]')
    page = season.parent.parent / "templates_svg" / "beds" / "a5" / "outside.svg"
    page.write_text(page.read_text().replace("Sample", "Sowing"))  # as its label says
    assert [one.rule for one in check_drawings([page])[0]] == []
    page.write_text(svg(FLAP + 2, 210, text("week-range", 6, 60)))
    assert sorted({one.rule for one in check_drawings([page])[0]}) == ["key", "size"]


def test_an_edition_without_dates_has_it_too(tmp_path: Path) -> None:
    lines = f'dates = "none"\ncount = 2\nflap_back = "outside"\nspreads = [{{ {SPREAD} }}]'
    season = lay_out(tmp_path, lines)
    leaves = read_contents(built(season, tmp_path / "out")).leaves
    assert [leaf.recto.flap_back if leaf.recto else "" for leaf in leaves] == [
        "outside", "outside", "",
    ]  # fmt: skip
    (undated,) = plan_season(season).sets
    assert [line.recto for line in run_of(undated)] == [
        "outside", "week-right+outside", "week-right",
    ]  # fmt: skip


def test_the_flaps_of_each_side_have_their_own(tmp_path: Path) -> None:
    lines = 'flap_back = { verso = "outside" }\nopening = "front"\n'
    season = lay_out(tmp_path, f"{lines}spreads = [{{ {SPREAD} }}]")
    entry = load_season(season).set[0]
    assert entry.flap_back_of("week-left") == "outside"
    assert entry.flap_back_of("week-right") == ""
    assert entry.flap_backs == {"outside"}
    (plan,) = plan_season(season).sets
    assert [leaf.recto.flap_back if leaf.recto else "" for leaf in plan.leaves] == [
        "outside", "outside", "",
    ]  # fmt: skip


def test_a_side_that_is_no_side_of_a_leaf(tmp_path: Path) -> None:
    season = lay_out(tmp_path, f'flap_back = {{ both = "outside" }}\nspreads = [{{ {SPREAD} }}]')
    with pytest.raises(UserError) as problem:
        load_season(season)
    says = "line 16, set.running.flap_back.both: there is no such field"
    assert says in str(problem.value)
    assert "\n" not in str(problem.value)
