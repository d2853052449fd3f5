"""The edition for print shops, read back by qpdf, ghostscript and pdfium, none of which wrote it.

Keys of ISO 15930-7 (PDF/X-4) are from memory. Inks are held against LittleCMS's own transform, and
the profile against measurements that others published.
"""

from __future__ import annotations

import io
import itertools
import json
import re
import shutil
import subprocess
import zipfile
from collections.abc import Callable, Iterator
from dataclasses import replace
from pathlib import Path
from typing import Any

import numpy as np
import numpy.typing as npt
import pypdfium2 as pdfium
import pytest
from PIL import Image, ImageCms, ImageDraw
from pypdf import PdfWriter
from pypdf.generic import StreamObject

from pipeline.app.build import make_season
from pipeline.app.check import check_season
from pipeline.app.release import publish_season
from pipeline.base.errors import UserError
from pipeline.base.geometry import mm
from pipeline.impose.contents import FOR_PRINTER, PRESS
from pipeline.impose.leaf import geometry_of
from pipeline.impose.press import for_press, press_sheets
from pipeline.impose.separation import Separator
from pipeline.plan import plan_season
from pipeline.plan.model import Press
from pipeline.plan.profile import PROFILES, USUAL_PROFILE, read_profile
from pipeline.plan.season import TAB_INK
from tests.conftest import ROOT
from tests.publish.passing import pass_sets
from tests.tools import tool

SEASON = """
name = "press"
title = "Press"
collection = "kitchen_garden"
language = ["en-GB"]
sizes = ["a5"]
papers = ["a4"]
editions = {editions}
text = "{text}"
[press]
{press}
[[period]]
name = "march"
from = 2027-03-01
to = 2027-03-14
[[set]]
name = "weeks"
title = "Weeks"
opening = "opening"
spreads = [{{ verso = "week-running-verso", recto = "week-running-recto", per = "week" }}]
"""
ART = """
<defs>
<linearGradient id="g">
<stop offset="0" stop-color="#a3432f"/><stop offset="1" stop-color="#f0d060"/>
</linearGradient>
<radialGradient id="r">
<stop offset="0" stop-color="#222222"/><stop offset="1" stop-color="#eeeeee"/>
</radialGradient>
<linearGradient id="f"><stop offset="0" stop-color="#3060a0"/>
<stop offset="1" stop-color="#3060a0" stop-opacity="0"/></linearGradient>
<pattern id="p" width="4" height="4" patternUnits="userSpaceOnUse">
<circle cx="2" cy="2" r="1" fill="#6f8c60"/></pattern>
<mask id="m"><rect x="100" y="176" width="20" height="10" fill="#888888"/></mask>
<filter id="soft"><feGaussianBlur stdDeviation="0.6"/></filter>
</defs>
<rect x="-4" y="190" width="30" height="8" fill="#4a6a3c"/>
<rect x="30" y="176" width="20" height="10" fill="url(#g)"/>
<circle cx="60" cy="181" r="5" fill="url(#r)"/>
<rect x="70" y="176" width="10" height="10" fill="url(#f)"/>
<rect x="84" y="176" width="12" height="10" fill="url(#p)"/>
<rect x="100" y="176" width="20" height="10" fill="#a3432f" mask="url(#m)"/>
<rect x="124" y="178" width="8" height="6" fill="#7f4090" filter="url(#soft)"/>
<path d="M 30 189 H 60" stroke="#705030" stroke-width="0.15" fill="none"/>
<path d="M 64 189 H 90" stroke="#231f20" stroke-width="0.4" fill="none"/>
<rect x="100" y="190" width="10" height="6" fill="#808080" style="mix-blend-mode:multiply"/>
"""
"""Artwork of every kind that has colours, on the opening page; its first band bleeds."""

MEAN_E, MOST_E = 1.6, 15.0
"""How far the press's picture may be off that of the sheets, in CIELAB: on the mean, and for 99 of
100 square millimetres. Uncoated paper has no brighter red, and black alone is no deeper; by eye."""


def season_in(
    folder: Path, press: str = "", editions: str = "", text: str = "embedded", art: str = ""
) -> Path:
    shutil.copytree(ROOT / "templates_svg", folder / "templates_svg")
    page = folder / "templates_svg" / "kitchen_garden" / "a5" / "opening.svg"
    page.write_text(page.read_text("utf-8").replace("</svg>", f"<g>{art}</g></svg>"), "utf-8")
    file = folder / "seasons" / "press.toml"
    file.parent.mkdir()
    asked = editions or '["sheets", "press"]'
    file.write_text(SEASON.format(press=press, editions=asked, text=text), "utf-8")
    return file


def built(folder: Path, press: str = "", text: str = "embedded") -> Path:
    file = season_in(folder, press, text=text, art=ART)
    make_season(file, folder / "build")
    return folder / "build/press/march/weeks/a5-a4-en-GB"


@pytest.fixture(scope="module")
def edition(tmp_path_factory: pytest.TempPathFactory) -> Path:
    return built(tmp_path_factory.mktemp("press"))


@pytest.fixture(scope="module")
def spotted(tmp_path_factory: pytest.TempPathFactory) -> Path:
    asked = 'spots = { "Leaf green" = "#4a6a3c" }\nmarks = true\nink_percent = 220'
    return built(tmp_path_factory.mktemp("spots"), asked, "outlines")


def objects(pdf: Path) -> dict[str, Any]:
    """Every object of a file, as qpdf tells them."""
    told = subprocess.run([tool("qpdf"), "--json", str(pdf)], check=True, capture_output=True)
    found: dict[str, Any] = json.loads(told.stdout)["qpdf"][1]
    return found


def operators(pdf: Path) -> Iterator[tuple[list[bytes], bytes]]:
    """Every operator that sets a colour, with its operands, from content that qpdf unpacked."""
    asked = [tool("qpdf"), "--qdf", "--object-streams=disable", str(pdf), "-"]
    plain = subprocess.run(asked, check=True, capture_output=True).stdout
    for stream in re.findall(rb"stream\n(.*?)\nendstream", plain, re.S):
        if b"/XObject" in stream[:40] or not re.search(rb"\b(?:re|cm|Do|TJ|Tj)\b", stream):
            continue
        for line in stream.splitlines():
            words = line.split()
            if words and words[-1] in COLOURS:
                yield words[:-1], words[-1]


COLOURS = (b"g", b"G", b"rg", b"RG", b"k", b"K", b"cs", b"CS", b"sc", b"SC", b"scn", b"SCN")


@pytest.mark.parametrize("which", ["edition", "spotted"])
def test_every_colour_is_of_printing_inks(which: str, request: pytest.FixtureRequest) -> None:
    pdf = request.getfixturevalue(which) / PRESS
    found = list(operators(pdf))
    assert {name for _, name in found} <= {b"k", b"K", b"g", b"G", b"cs", b"CS", b"scn", b"SCN"}
    named = {words[0] for words, name in found if name in (b"cs", b"CS")}
    assert all(name == b"/Pattern" or name.startswith(b"/Ink") for name in named)
    spaces = set(re.findall(r"/(Device\w+|Cal\w+|Lab|ICCBased|Separation)", str(objects(pdf))))
    assert spaces <= {"DeviceCMYK", "DeviceGray", "Separation"}
    most = 220 if which == "spotted" else 300
    inks = [[float(one) for one in words] for words, name in found if name in (b"k", b"K")]
    assert len(inks) > 100
    assert max(map(sum, inks)) * 100 <= most + 1
    told = subprocess.run(
        [tool("gs"), "-q", "-o", "-", "-sDEVICE=inkcov", str(pdf)], check=True, capture_output=True
    ).stdout
    pages = len(pdfium.PdfDocument(pdf))
    assert told.count(b"CMYK OK") == pages


def test_an_ink_of_its_own_has_a_plate(spotted: Path, tmp_path: Path) -> None:
    out = tmp_path / "plate%d.tif"
    asked = ["-dBATCH", "-dNOPAUSE", "-sDEVICE=tiffsep", "-r60", f"-sOutputFile={out}"]
    subprocess.run([tool("gs"), "-q", *asked, str(spotted / PRESS)], check=True)
    (plate,) = tmp_path.glob("plate1*Leaf green*")
    with Image.open(plate) as picture:
        inked = np.asarray(picture.convert("L")) < 128
    assert 0.003 < inked.mean() < 0.2, "the band and the letters in that colour"


TINTS = """
<defs><linearGradient id="t">
<stop offset="0" stop-color="#4a6a3c"/><stop offset="1" stop-color="#ffffff"/></linearGradient>
<linearGradient id="o"><stop offset="0" stop-color="#4a6a3c"/>
<stop offset="1" stop-color="#4a6a3c" stop-opacity="0"/></linearGradient></defs>
<rect x="30" y="176" width="20" height="20" fill="#4a6a3c"/>
<rect x="52" y="176" width="20" height="20" fill="#a5b59e"/>
<rect x="74" y="176" width="20" height="20" fill="#4a6a3c" fill-opacity="0.5"/>
<rect x="96" y="176" width="20" height="20" fill="url(#t)"/>
<rect x="118" y="176" width="20" height="20" fill="url(#o)"/>
"""
"""An ink's colour, half of it with white, half of it by opacity, and two gradients."""


def test_what_is_lighter_than_its_colour_is_a_tint_of_an_ink(tmp_path: Path) -> None:
    """Ghostscript's plates: all of it in that ink, by as much as asked; nothing in the others."""
    file = season_in(tmp_path, 'spots = { "Leaf green" = "#4a6a3c" }', art=TINTS)
    make_season(file, tmp_path / "build")
    pdf = tmp_path / "build/press/march/weeks/a5-a4-en-GB" / PRESS
    asked = ["-dBATCH", "-dNOPAUSE", "-sDEVICE=tiffsep", "-r100", "-dLastPage=1"]
    subprocess.run(
        [tool("gs"), "-q", *asked, f"-sOutputFile={tmp_path / 'p%d.tif'}", str(pdf)], check=True
    )
    seen = {}
    for name in ("Leaf green", "Cyan", "Magenta", "Yellow", "Black"):
        (plate,) = tmp_path.glob(f"p1*{name}*")
        with Image.open(plate) as picture:
            seen[name] = 1 - np.asarray(picture.convert("L")) / 255
    left, top, *_ = (one * 25.4 / 72 for one in _crop(pdf, 0))

    def ink(name: str, x: float) -> float:
        row, column = round((top + 186) / 25.4 * 100), round((left + x) / 25.4 * 100)
        return float(seen[name][row - 3 : row + 4, column - 3 : column + 4].mean())

    tints = [ink("Leaf green", x) for x in (40, 62, 84, 101, 106, 111, 123, 128, 133)]
    assert tints == pytest.approx([1, 0.5, 0.5, 0.75, 0.5, 0.25, 0.75, 0.5, 0.25], abs=0.03)
    for name in ("Cyan", "Magenta", "Yellow", "Black"):
        assert max(ink(name, x) for x in (40, 62, 84, 101, 111, 123, 133)) < 0.01


def test_a_tint_is_of_one_ink_and_no_grey_is_any() -> None:
    spots = (("Leaf green", (74, 106, 60)), ("Clay", (163, 67, 47)))
    separator = Separator(replace(press(), spots=spots))
    assert separator.spot((74, 106, 60)) == (0, 1.0)
    assert separator.spot((163, 67, 47)) == (1, 1.0)
    found = separator.spot((209, 161, 151))  # half of the second
    assert found is not None
    assert found[0] == 1
    assert found[1] == pytest.approx(0.5, abs=0.01)
    for other in ((255, 255, 255), (120, 120, 120), (60, 90, 50), (120, 160, 90)):
        assert separator.spot(other) is None
    steps = np.array([[255, 255, 255], [165, 181, 158], [74, 106, 60]], np.uint8)
    both = separator.tints(steps)
    assert both is not None
    assert both[0] == 0
    assert both[1] == pytest.approx([0, 0.5, 1], abs=0.01)
    assert separator.tints(np.array([[163, 67, 47], [74, 106, 60]], np.uint8)) is None


def test_it_says_what_the_standard_asks(edition: Path) -> None:
    pdf = edition / PRESS
    assert pdf.read_bytes().startswith(b"%PDF-1.6")
    found = objects(pdf)
    trailer = found["trailer"]["value"]
    assert len(trailer["/ID"]) == 2
    about = found[f"obj:{trailer['/Info']}"]["value"]
    assert about["/Trapped"] == "/False"
    assert {"/Title", "/CreationDate", "/ModDate", "/Producer"} <= set(about)
    root = found[f"obj:{trailer['/Root']}"]["value"]
    (intent,) = (found[f"obj:{one}"]["value"] for one in root["/OutputIntents"])
    assert intent["/S"] == "/GTS_PDFX"
    assert intent["/OutputConditionIdentifier"] == "u:Uncoated offset paper, FOGRA29"
    profile = subprocess.run(
        [
            tool("qpdf"),
            f"--show-object={intent['/DestOutputProfile'].replace(' R', '').replace(' ', ',')}",
            "--filtered-stream-data",
            str(pdf),
        ],
        check=True,
        capture_output=True,
    ).stdout
    assert profile == (PROFILES / f"{USUAL_PROFILE}.icc").read_bytes()
    raw = pdf.read_bytes()
    assert b"<pdfxid:GTS_PDFXVersion>PDF/X-4</pdfxid:GTS_PDFXVersion>" in raw, "not packed"
    assert b"<pdf:Trapped>False</pdf:Trapped>" in raw
    pages = [one["value"] for one in found.values() if _kind(one) == "/Page"]
    assert pages
    for page in pages:
        assert {"/TrimBox", "/BleedBox", "/MediaBox"} <= set(page)
        assert "/ArtBox" not in page
        assert "/Annots" not in page
    fonts = [one["value"] for one in found.values() if _kind(one) == "/FontDescriptor"]
    assert fonts
    assert all(any(name.startswith("/FontFile") for name in one) for one in fonts)
    subprocess.run([tool("qpdf"), "--check", str(pdf)], check=True, capture_output=True)


def _kind(one: Any) -> str:
    value = one.get("value") if isinstance(one, dict) else None
    return str(value.get("/Type")) if isinstance(value, dict) else ""


def test_each_leaf_is_two_pages_that_bleed(edition: Path) -> None:
    plan = plan_season(edition.parents[4] / "seasons/press.toml").sets[0]
    with pdfium.PdfDocument(edition / PRESS) as document:
        assert len(document) == 2 * len(plan.leaves)
        for number in range(len(document)):
            leaf, page = plan.leaves[number // 2], document[number]
            left, bottom, right, top = map(mm, page.get_trimbox())
            assert right - left == pytest.approx(148 + leaf.flap_mm, abs=0.01)
            assert top - bottom == pytest.approx(210, abs=0.01)
            bleed = [mm(one) for one in page.get_bleedbox()]
            assert bleed == pytest.approx([left - 3, bottom - 3, right + 3, top + 3], abs=0.01)
        picture = np.asarray(document[0].render(scale=100 / 72).to_pil().convert("L"))
    assert (picture[round(197 / 25.4 * 100), :10] < 200).all(), "the band reaches the file's edge"


def test_its_rasters_agree_with_the_sheets(edition: Path, tmp_path: Path) -> None:
    inks = ImageCms.ImageCmsProfile(str(PROFILES / f"{USUAL_PROFILE}.icc"))
    for page, crop in ((1, _crop(edition / PRESS, 0)), (4, _crop(edition / PRESS, 3))):
        tiff = tmp_path / f"{page}.tif"
        asked = ["-dBATCH", "-dNOPAUSE", "-sDEVICE=tiff32nc", "-r200", f"-sOutputFile={tiff}"]
        which = [f"-dFirstPage={page}", f"-dLastPage={page}"]
        subprocess.run([tool("gs"), "-q", *asked, *which, str(edition / PRESS)], check=True)
        with Image.open(tiff) as drawn:
            seen = ImageCms.profileToProfile(
                drawn,
                inks,
                ImageCms.createProfile("sRGB"),
                renderingIntent=ImageCms.Intent.RELATIVE_COLORIMETRIC,
                outputMode="RGB",
                flags=ImageCms.Flags.BLACKPOINTCOMPENSATION,
            )
        assert seen is not None
        sheet = edition / "both-sides.pdf"
        wanted = _page(sheet, page - 1).crop(_pixels(_crop(sheet, page - 1)))
        off = _difference(wanted, seen.crop(_pixels(crop)))
        assert off.mean() <= MEAN_E
        assert np.percentile(off, 99) <= MOST_E


def _crop(pdf: Path, page: int) -> tuple[float, ...]:
    """Where a page is cut, pt from the top left."""
    with pdfium.PdfDocument(pdf) as document:
        left, bottom, right, top = document[page].get_trimbox()
        height = document[page].get_height()
    return left, height - top, right, height - bottom


def _pixels(crop: tuple[float, ...]) -> tuple[int, int, int, int]:
    left, top, right, bottom = (round(one * 200 / 72) for one in crop)
    return left, top, right, bottom


def _page(pdf: Path, page: int) -> Image.Image:
    with pdfium.PdfDocument(pdf) as document:
        drawn: Image.Image = document[page].render(scale=200 / 72).to_pil()
    return drawn.convert("RGB")


def _difference(one: Image.Image, other: Image.Image) -> npt.NDArray[np.float64]:
    """The difference of two pictures in CIELAB, by the square millimetre."""
    size = round(one.width / 200 * 25.4), round(one.height / 200 * 25.4)
    found = []
    for picture in (one, other):
        small = picture.resize(size, Image.Resampling.BOX)
        lab = ImageCms.profileToProfile(
            small, ImageCms.createProfile("sRGB"), ImageCms.createProfile("LAB"), outputMode="LAB"
        )
        assert lab is not None
        values = np.asarray(lab).astype(float)
        values[..., 1:] = np.where(values[..., 1:] > 127, values[..., 1:] - 256, values[..., 1:])
        found.append(values * (100 / 255, 1, 1))
    off: npt.NDArray[np.float64] = np.linalg.norm(found[0] - found[1], axis=-1)
    return off


PATCHES = (
    (10, 70, 0, 0, 61.54, 39.81, -10.07),
    (30, 40, 10, 0, 67.03, 11.83, -11.52),
    (55, 20, 20, 0, 65.57, -10.76, -13.02),
    (85, 0, 30, 0, 60.88, -32.05, -15.68),
    (100, 85, 40, 0, 38.99, -2.00, -17.75),
    (10, 55, 70, 0, 63.30, 27.88, 28.10),
    (30, 30, 85, 0, 65.58, 1.76, 35.99),
    (55, 10, 100, 0, 63.13, -21.90, 36.87),
    (70, 20, 10, 20, 54.76, -11.04, -19.90),
    (20, 40, 70, 20, 57.56, 9.57, 22.83),
    (70, 0, 20, 40, 50.98, -15.07, -9.78),
    (40, 40, 0, 60, 42.96, 4.48, -7.28),
    (20, 100, 100, 60, 34.25, 14.18, 9.06),
    (5, 3, 3, 0, 92.20, 0.38, -2.55),
)
"""Inks in percent and CIELAB as it was measured: FOGRA29 (FOGRA, 2003), from FOGRA29L.ti3 of the
collection ICC Profiles Free, zlib licence."""


def test_the_profile_says_what_was_measured() -> None:
    inks = np.array([[round(2.55 * one) for one in row[:4]] for row in PATCHES], np.uint8)
    drawn = Image.frombytes("CMYK", (len(inks), 1), inks.tobytes())
    lab = ImageCms.profileToProfile(
        drawn,
        str(PROFILES / f"{USUAL_PROFILE}.icc"),
        ImageCms.createProfile("LAB"),
        renderingIntent=ImageCms.Intent.ABSOLUTE_COLORIMETRIC,
        outputMode="LAB",
    )
    assert lab is not None
    told = np.asarray(lab).astype(float).reshape(-1, 3)
    told[:, 1:] = np.where(told[:, 1:] > 127, told[:, 1:] - 256, told[:, 1:])
    off = np.linalg.norm(told * (100 / 255, 1, 1) - [row[4:] for row in PATCHES], axis=1)
    assert off.mean() < 1
    assert off.max() < 2


def press(percent: float = 300) -> Press:
    return Press(read_profile(USUAL_PROFILE, Path("season.toml")), "uncoated", percent)


def test_colours_are_those_of_the_colour_engine_itself() -> None:
    colours = [(58, 107, 53), (163, 67, 47), (240, 208, 96), (213, 139, 192), (48, 96, 160)]
    picture = Image.new("RGB", (len(colours), 1))
    picture.putdata(colours)
    direct = ImageCms.profileToProfile(
        picture,
        ImageCms.createProfile("sRGB"),
        ImageCms.ImageCmsProfile(io.BytesIO(press().profile)),
        renderingIntent=ImageCms.Intent.RELATIVE_COLORIMETRIC,
        outputMode="CMYK",
        flags=ImageCms.Flags.BLACKPOINTCOMPENSATION,
    )
    assert direct is not None
    separator = Separator(press())
    for colour, wanted in zip(colours, np.asarray(direct)[0], strict=True):
        assert separator.inks(colour) == pytest.approx(wanted / 255, abs=0.002)


def test_greys_and_black_are_printed_in_black_alone() -> None:
    separator = Separator(press())
    blacks = [separator.inks((level, level, level)) for level in range(256)]
    assert all(inks[:3] == (0, 0, 0) for inks in blacks)
    assert blacks[0][3] == 1
    assert blacks[255][3] == 0
    assert all(one[3] >= other[3] for one, other in itertools.pairwise(blacks))
    assert separator.inks((35, 31, 32))[:3] == (0, 0, 0), "a black that an editor mixed"
    assert separator.inks((120, 118, 122), thin=True)[:3] == (0, 0, 0)


def test_thin_lines_take_two_colours_and_black_at_most() -> None:
    separator = Separator(press())
    for colour in ((112, 80, 48), (60, 70, 90), (90, 60, 80), (80, 120, 110)):
        thick, thin = separator.inks(colour), separator.inks(colour, thin=True)
        assert sum(1 for ink in thick if ink) == 4, "a colour that shows it"
        assert sum(1 for ink in thin[:3] if ink) <= 2
        inks = np.array([thick, thin]) * 255
        drawn = Image.frombytes("CMYK", (2, 1), np.rint(inks).astype(np.uint8).tobytes())
        seen = ImageCms.profileToProfile(
            drawn,
            ImageCms.ImageCmsProfile(io.BytesIO(press().profile)),
            ImageCms.createProfile("sRGB"),
            outputMode="RGB",
        )
        assert seen is not None
        one, other = np.asarray(seen).astype(int)[0]
        assert abs(one - other).max() < 24, "nearly the same colour"


def test_no_colour_takes_more_ink_than_the_limit() -> None:
    steps = np.arange(0, 256, 15, dtype=np.uint8)
    every = np.stack(np.meshgrid(steps, steps, steps), -1).reshape(-1, 3)
    sums = [Separator(press(limit)).pixels(every).sum(axis=1).max() for limit in (180, 240)]
    assert sums[0] <= 459 < sums[1] <= 612, "180 and 240 per cent of 255"


def test_leaves_on_a_press_sheet_with_marks_outside_their_bleed(tmp_path: Path) -> None:
    file = season_in(tmp_path, "sheet_mm = [640, 450]")
    make_season(file, tmp_path / "build")
    folder = tmp_path / "build/press/march/weeks/a5-a4-en-GB"
    assert check_season(file, tmp_path / "build") == []
    plan = for_press(plan_season(file).sets[0])
    sheets = press_sheets(plan, _book(file))
    assert len(sheets) < len(plan.leaves)
    with pdfium.PdfDocument(folder / PRESS) as document:
        assert len(document) == 2 * len(sheets)
        page = document[1]
        assert (mm(page.get_width()), mm(page.get_height())) == pytest.approx((450, 640), abs=0.01)
        picture = np.asarray(page.render(scale=100 / 72).to_pil().convert("L")) < 200
    per_mm = 100 / 25.4
    for one in sheets[0].side_2:
        if plan.leaves[one.leaf].page(one.face) is None:
            continue
        outer, inner = one.flat.grown(2.8), one.flat.grown(0.2)
        around = picture.copy()
        around[_area(inner, per_mm)] = False
        assert not around[_area(outer, per_mm)].any(), "white: nothing is printed in the bleed"
    assert picture[: round(10 * per_mm)].sum() == 0, "the edge that is held"


DIVIDERS = """
name = "press"
title = "Press"
collection = "plain_days"
language = ["{language}"]
sizes = ["a5"]
papers = ["a4"]
editions = ["sheets", "press"]
[press]
{press}
[[period]]
name = "spring"
months = ["2027-03", "2027-05"]
[[set]]
name = "dividers"
title = "Dividers"
[[set.spreads]]
verso = "divider-back"
recto = "divider"
per = "month"
tab = {{ of = 12, reach_mm = 10 }}
"""


def dividers(folder: Path, press: str = "", language: str = "en-GB") -> tuple[Path, Path]:
    """A season of leaves with tabs, built, and the folder of its set."""
    shutil.copytree(ROOT / "templates_svg", folder / "templates_svg")
    file = folder / "seasons" / "press.toml"
    file.parent.mkdir()
    file.write_text(DIVIDERS.format(press=press, language=language), "utf-8")
    make_season(file, folder / "build")
    return file, folder / f"build/press/spring/dividers/a5-a4-{language}"


def _plates(pdf: Path, page: int, folder: Path) -> tuple[Any, Any]:
    """What an ink of outlines and black put on a page, as ghostscript separates it."""
    asked = ["-dBATCH", "-dNOPAUSE", "-sDEVICE=tiffsep", "-r200"]
    asked += [f"-dFirstPage={page}", f"-dLastPage={page}", f"-sOutputFile={folder / 'p%d.tif'}"]
    subprocess.run([tool("gs"), "-q", *asked, str(pdf)], check=True)
    found = []
    for name in (TAB_INK, "Black"):
        (file,) = folder.glob(f"p1*{name}*")
        with Image.open(file) as picture:
            found.append(np.asarray(picture.convert("L")) < 200)
    return found[0], found[1]


@pytest.mark.parametrize("press", ["", "marks = true", "sheet_mm = [640, 450]"])
def test_leaves_with_tabs_have_their_outline_in_an_ink_of_its_own(
    tmp_path: Path, press: str
) -> None:
    """Ghostscript's plate of that ink has the outline and nothing else; that of black has none."""
    file, folder = dividers(tmp_path, press)
    assert check_season(file, tmp_path / "build") == []
    plan = for_press(plan_season(file).sets[0])
    number, side = next(
        (2 * at + 1, sheet.side_1)
        for at, sheet in enumerate(press_sheets(plan, _book(file)))
        if any(plan.leaves[placed.leaf].tab for placed in sheet.side_1)
    )
    ink, black = _plates(folder / PRESS, number, tmp_path)
    wanted = Image.new("1", ink.shape[::-1])
    for placed in side:
        leaf = plan.leaves[placed.leaf]
        corners = geometry_of(plan, leaf).face(placed.face).corners
        run = [placed.position.point(*one) for one in (*corners, corners[0])]
        if leaf.tab:
            points = [(x * 200 / 25.4, y * 200 / 25.4) for x, y in run]
            ImageDraw.Draw(wanted).line(points, 1, width=5)
    near = np.asarray(wanted)
    assert not (ink & ~near).any(), "nothing else is in that ink"
    assert ink.sum() > near.sum() / 6, "a line all along"
    assert (black & near).sum() < near.sum() / 50
    if not press:
        with pdfium.PdfDocument(folder / PRESS) as document:
            left, bottom, right, top = map(mm, document[number - 1].get_trimbox())
        assert (right - left, top - bottom) == pytest.approx((158, 210), abs=0.01)


def test_an_outline_prints_over_what_lies_below_it(tmp_path: Path) -> None:
    _, folder = dividers(tmp_path)
    states = [
        one["value"]
        for one in objects(folder / PRESS).values()
        if _kind(one) == "/ExtGState" and "/OP" in one["value"]
    ]
    assert states
    assert all((one["/OP"], one["/op"], one["/OPM"]) == (True, True, 1) for one in states)


@pytest.mark.parametrize(
    "spoil",
    [
        lambda drawn: drawn.replace(b"/PrintsOver gs", b""),
        lambda drawn: drawn.replace(b"1 0 0 -1 0", b"1 0 0 -1 1"),
        lambda drawn: drawn.replace(b"\nS\n", b"\nn\n"),
    ],
)
def test_an_outline_that_is_spoilt_is_found(
    tmp_path: Path, spoil: Callable[[bytes], bytes]
) -> None:
    """It does not print over what is below it, lies 0.35 mm aside, or is not drawn."""
    file, folder = dividers(tmp_path)
    writer = PdfWriter(clone_from=folder / PRESS)
    streams = [one for one in writer._objects if isinstance(one, StreamObject)]
    (drawn, *_) = [one for one in streams if b"/PrintsOver gs" in one.get_data()]
    assert spoil(drawn.get_data()) != drawn.get_data()
    drawn.set_data(spoil(drawn.get_data()))
    writer.write(folder / PRESS)
    found = [one for one in check_season(file, tmp_path / "build") if one.rule == "press-box"]
    assert [one.message for one in found] == [
        "press.pdf, page 3: the outline its leaf is cut along isn't as it should be"
    ]


@pytest.mark.parametrize("language", ["en-GB", "de", "ar-EG"])
def test_the_sheet_for_the_printer_tells_of_outlines(tmp_path: Path, language: str) -> None:
    _, folder = dividers(tmp_path, language=language)
    with pdfium.PdfDocument(folder / FOR_PRINTER) as document:
        said = document[0].get_textpage().get_text_bounded()
    assert all(word in said for word in TAB_INK.split())


def test_an_ink_of_outlines_is_not_to_be_had_for_drawings(tmp_path: Path) -> None:
    file = season_in(tmp_path, 'spots = { "Tab outline" = "#4a6a3c" }')
    with pytest.raises(UserError, match="'Tab outline', which means another one in the file"):
        plan_season(file)


def _area(rect: Any, per_mm: float) -> tuple[slice, slice]:
    rows = slice(round(rect.y * per_mm), round(rect.bottom * per_mm))
    return rows, slice(round(rect.x * per_mm), round(rect.right * per_mm))


def _book(file: Path) -> Any:
    from pipeline.app.build import faces_of

    return faces_of(plan_season(file)).book()


def test_the_sheet_for_the_printer_tells_what_the_file_does_not(spotted: Path) -> None:
    with pdfium.PdfDocument(spotted / FOR_PRINTER) as document:
        (page,) = document
        said = " ".join(page.get_textpage().get_text_bounded().split())
    for part in (
        "6 pages (PDF/X-4)",
        "trimmed to 190 × 210 mm, folded 148 mm from the punched edge",
        "3 mm on all sides",
        "120 g/m²",
        "5.5 mm across",
        "Leaf green",
    ):
        assert part in said


def test_it_is_released_for_the_print_shop_and_not_for_buyers(tmp_path: Path) -> None:
    file = season_in(tmp_path, editions='["screen", "press"]')
    out = tmp_path / "build"
    make_season(file, out)
    assert check_season(file, out) == []
    pass_sets(file, out)
    publish_season(file, out, at="2027-02-01T10:00:00Z", pictures=False)
    (archive,) = out.glob("press/release/*/*.zip")
    with zipfile.ZipFile(archive) as opened:
        names = {Path(name).name for name in opened.namelist()}
    assert names == {"on-screen.pdf", "licence.txt"}, "no sheets were asked for"
    to_shop = archive.parent / "print-shop"
    assert {one.name for one in to_shop.iterdir()} == {PRESS, FOR_PRINTER}
    again = publish_season(file, out, at="2027-02-02T10:00:00Z", pictures=False)
    assert [one.state for one in again.results] == ["as before"]


@pytest.mark.parametrize(
    ("profile", "data", "said"),
    [
        ("missing.icc", None, "missing.icc cannot be read"),
        ("words.icc", b"not a profile", "isn't a colour profile"),
        ("screen.icc", "sRGB", "is a profile of RGB colours, not of CMYK inks"),
        ("cut.icc", "cut", "is damaged"),
        ("../../else.icc", None, "outside the workspace"),
    ],
)
def test_a_profile_that_is_no_good_is_refused(
    tmp_path: Path, profile: str, data: bytes | str | None, said: str
) -> None:
    file = season_in(tmp_path, f'profile = "{profile}"')
    if data == "sRGB":
        data = ImageCms.ImageCmsProfile(ImageCms.createProfile("sRGB")).tobytes()
    elif data == "cut":
        data = press().profile[:900]
    if isinstance(data, bytes):
        (file.parent / profile).write_bytes(data)
    with pytest.raises(UserError, match=said) as refused:
        make_season(file, tmp_path / "build")
    assert "press.profile" in str(refused.value)
    assert len(str(refused.value).splitlines()) == 1
    assert not (tmp_path / "build" / "press").exists()


def test_a_print_shop_s_own_profile_is_taken(tmp_path: Path) -> None:
    file = season_in(tmp_path, 'profile = "shop.icc"')
    (file.parent / "shop.icc").write_bytes(press().profile)
    planned = plan_season(file).sets[0].press
    assert planned is not None
    assert planned.profile == press().profile
    assert planned.profile_name == "Uncoated offset paper, FOGRA29"


def test_buyers_get_something(tmp_path: Path) -> None:
    with pytest.raises(UserError, match="has nothing for buyers"):
        plan_season(season_in(tmp_path, editions='["press"]'))
