"""Pages of finished PDFs in a set: made by ghostscript, locked by qpdf, measured by pdfium."""

from __future__ import annotations

import shutil
import subprocess
from pathlib import Path

import pypdfium2 as pdfium
import pypdfium2.raw as pdfium_raw
import pytest

from pipeline.app.build import make_season
from pipeline.app.check import check_season
from pipeline.base.errors import UserError
from pipeline.plan import plan_season
from tests.app.test_press import SEASON
from tests.conftest import ROOT
from tests.tools import tool

A5 = (419.53, 595.28)
PAGE = """
<< /PageSize [{width} {height}] >> setpagedevice
0.75 setlinewidth 60 300 moveto 283.465 0 rlineto stroke
/{font} findfont 14 scalefont setfont 60 400 moveto ({words}) show
{more}
showpage
"""
COARSE = (
    "gsave 60 100 translate 100 100 scale 8 8 8 [8 0 0 -8 0 8] {<0f1e2d3c4b5a6978>} image grestore"
)


def letter(path: Path, *pages: str, embedded: bool = True) -> None:
    """A PDF of such pages, as another program makes it; usual faces only where it is told to."""
    source = path.with_suffix(".ps")
    source.write_text("%!PS\n" + "".join(pages), "ascii")
    flags = ["-q", "-dBATCH", "-dNOPAUSE", "-sDEVICE=pdfwrite", f"-sOutputFile={path}"]
    flags += ["-dPDFSETTINGS=/prepress"] if embedded else []
    subprocess.run([tool("gs"), *flags, str(source)], check=True)
    source.unlink()


def page(words: str = "Dear reader", size: tuple[float, float] = A5, more: str = "") -> str:
    width, height = size
    return PAGE.format(width=width, height=height, font="Times-Roman", words=words, more=more)


def season_with(page: str) -> str:
    """A season of all editions that is opened by a page of a finished file."""
    text = SEASON.format(press="", editions='["sheets", "screen", "press"]', text="embedded")
    own = text.replace('opening = "opening"', f'opening = {{ pdf = "letter.pdf"{page} }}')
    assert own != text
    return own.replace('"press"\ntitle', '"own"\ntitle', 1)


@pytest.fixture
def season(tmp_path: Path) -> Path:
    shutil.copytree(ROOT / "templates_svg", tmp_path / "templates_svg")
    file = tmp_path / "seasons" / "own.toml"
    file.parent.mkdir()
    file.write_text(season_with(""), "utf-8")
    return file


def beside(season: Path) -> Path:
    """Where the letter belongs: with the pages of its size."""
    return season.parents[1] / "templates_svg/kitchen_garden/a5/letter.pdf"


def test_a_page_is_placed_at_its_true_size(season: Path) -> None:
    letter(beside(season), page("The first"), page("Dear reader"))
    season.write_text(season_with(", page = 2"), "utf-8")
    out = season.parents[1] / "build"
    make_season(season, out)
    assert check_season(season, out) == []
    folder = out / "own/march/weeks/a5-a4-en-GB"
    for name in ("side-1.pdf", "both-sides.pdf", "screen.pdf", "press.pdf"):
        with pdfium.PdfDocument(folder / name) as document:
            said = document[0].get_textpage().get_text_bounded()
            assert "Dear reader" in said
            assert "The first" not in said
            lines = [width for width, high in sizes(document[0]) if high < 2]
        assert any(abs(width - 283.465) < 1.5 for width in lines), "100 mm and the line's ends"


def sizes(shown: pdfium.PdfPage) -> list[tuple[float, float]]:
    """Width and height of every path of a page, pt, within forms too."""
    found = []
    for one in shown.get_objects(filter=[pdfium_raw.FPDF_PAGEOBJ_PATH], max_depth=8):
        left, bottom, right, top = one.get_bounds()
        found.append((right - left, top - bottom))
    return found


def test_a_page_of_whole_points_is_that_of_its_leaf(season: Path) -> None:
    letter(beside(season), page(size=(420, 595)))
    out = season.parents[1] / "build"
    make_season(season, out)
    assert check_season(season, out) == []


def test_a_picture_that_is_too_coarse_is_found(season: Path) -> None:
    letter(beside(season), page(more=COARSE))
    out = season.parents[1] / "build"
    make_season(season, out)
    assert {one.rule for one in check_season(season, out)} == {"picture-coarse"}


def test_a_change_of_the_file_is_a_change_of_the_set(season: Path) -> None:
    letter(beside(season), page())
    out = season.parents[1] / "build"
    make_season(season, out)
    letter(beside(season), page("Dear gardener"))
    make_season(season, out)
    with pdfium.PdfDocument(out / "own/march/weeks/a5-a4-en-GB/side-1.pdf") as document:
        assert "Dear gardener" in document[0].get_textpage().get_text_bounded()


@pytest.mark.parametrize(
    ("fault", "said"),
    [
        ("size", "the page is 210.0 × 297.0 mm, but A5 is 148 × 210 mm"),
        ("locked", "has a password"),
        ("page", "has 1 page, and page 3 is asked for"),
        ("words", "isn't a PDF that can be read"),
        ("gone", "there is no such template"),
        ("font", "has letters in Times-Roman, which isn't in the file"),
        ("entry", "isn't a page of a PDF"),
    ],
)
def test_a_page_that_cannot_be_placed_is_refused(season: Path, fault: str, said: str) -> None:
    path, out = beside(season), season.parents[1] / "build"
    if fault == "font":
        letter(path, page(), embedded=False)
    elif fault == "words":
        path.write_bytes(b"Dear reader")
    elif fault != "gone":
        letter(path, page(size=(595.28, 841.89) if fault == "size" else A5))
    if fault == "locked":
        open_one = path.rename(path.with_name("open.pdf"))
        asked = ["--encrypt", "secret", "owner", "256", "--", str(open_one), str(path)]
        subprocess.run([tool("qpdf"), *asked], check=True)
    if fault in ("page", "entry"):
        asked_for = ", page = 3" if fault == "page" else ', page = "two"'
        season.write_text(season_with(asked_for), "utf-8")
    with pytest.raises(UserError) as refused:
        make_season(season, out)
    assert said in str(refused.value)
    assert len(str(refused.value).splitlines()) == 1
    assert not (out / "own" / "march").exists()


def test_its_name_stands_for_it_in_the_plan(season: Path) -> None:
    letter(beside(season), page())
    assert plan_season(season).sets[0].leaves[0].recto is not None
    assert plan_season(season).sets[0].pages[0].template == "letter-page-1"
