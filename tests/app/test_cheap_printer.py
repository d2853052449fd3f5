"""What a cheap printer keeps of the demo's pages: their pens and type, and a laser printer's dots.

Both are taken from the finished files, read by pdfium and painted by ghostscript. The floors are
common practice for home printers: rules of 0.25 mm at 35 % ink, type of 7 pt at 4.5 : 1.
"""

from __future__ import annotations

import ctypes
import math
import re
import subprocess
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace
from pathlib import Path
from typing import NamedTuple

import numpy as np
import numpy.typing as npt
import pypdfium2 as pdfium
import pypdfium2.raw as pdfium_raw
import pytest
from PIL import Image
from pypdf import PdfWriter
from pypdf.generic import (
    ArrayObject,
    DecodedStreamObject,
    DictionaryObject,
    FloatObject,
    NameObject,
)

from pipeline.app.build import make_season
from pipeline.base.geometry import MM_PER_INCH, PT_PER_MM, Rect, mm
from pipeline.impose.contents import read_contents
from pipeline.proof.read.objects import (
    Paint,
    Painted,
    Shown,
    address,
    lettered,
    middle,
    painted,
    prints_ink,
    type_size_pt,
)
from pipeline.proof.read.raster import opened
from tests.conftest import ROOT
from tests.tools import tool

RULE_MM, RULE_INK = 0.25, 35.0
TYPE_PT, CONTRAST = 7.0, 4.5
ROUNDED_MM, ROUNDED_PT = 0.003, 0.05
"""Files round widths to a hundredth of a point or so, and type sizes to less than a twentieth."""

DPI = 600
SCREEN = """<< /HalftoneType 1 /Frequency 106 /Angle 45
   /SpotFunction { 180 mul cos exch 180 mul cos add 2 div } >> sethalftone"""
"""A screen of 106 lines an inch, as common among laser printers of 600 dpi (common practice)."""
GAP_PX = 2
"""Less than half the side of the screen's cell, 600 / 106 pixels: along a rule there are more dots
than gaps, and toner spreads (common practice). A tinted rule of 0.2 mm has gaps of 3 to 5."""


def luminance(paint: Paint) -> float:
    """Relative luminance of a paint on white paper, 0 to 1 (WCAG 2.2, "relative luminance")."""

    def linear(level: float) -> float:
        share = (255 - (255 - level) * paint.opacity) / 255
        return share / 12.92 if share <= 0.04045 else ((share + 0.055) / 1.055) ** 2.4

    return 0.2126 * linear(paint.red) + 0.7152 * linear(paint.green) + 0.0722 * linear(paint.blue)


def contrast(paint: Paint) -> float:
    """Against white (WCAG 2.2, "contrast ratio")."""
    return 1.05 / (luminance(paint) + 0.05)


def ink(paint: Paint) -> float:
    """How much darker than paper it looks, in %: what its lightness L* lacks (ISO 11664-4)."""
    light = luminance(paint)
    return 100 - (116 * light ** (1 / 3) - 16 if light > 216 / 24389 else light * 24389 / 27)


class Rule(NamedTuple):
    """A straight stretch of a stroke, along or across its page; mm of the page as shown."""

    box: Rect
    item: Painted

    @property
    def length(self) -> float:
        return max(self.box.width, self.box.height)


def stretches(item: Painted, shown: Shown) -> tuple[list[Rule], bool]:
    """The straight stretches of a stroked path along an axis, and whether it has no other."""
    found, pure = list[Rule](), True
    start = last = (0.0, 0.0)
    for number in range(pdfium_raw.FPDFPath_CountSegments(item.handle)):
        segment = pdfium_raw.FPDFPath_GetPathSegment(item.handle, number)
        kind = pdfium_raw.FPDFPathSegment_GetType(segment)
        to = item.matrix.point(*_end_of(segment))
        if kind == pdfium_raw.FPDF_SEGMENT_MOVETO:
            start = to
        ends = [(last, to)] if kind == pdfium_raw.FPDF_SEGMENT_LINETO else []
        if pdfium_raw.FPDFPathSegment_GetClose(segment):
            ends.append((to, start))
        for (x0, y0), (x1, y1) in ends:
            if min(abs(x1 - x0), abs(y1 - y0)) < 0.01:
                box = shown.rect(min(x0, x1), min(y0, y1), max(x0, x1), max(y0, y1))
                found.append(Rule(box, item))
            else:
                pure = False
        pure = pure and kind != pdfium_raw.FPDF_SEGMENT_BEZIERTO
        last = to
    return found, pure


def _end_of(segment: object) -> tuple[float, float]:
    x, y = ctypes.c_float(), ctypes.c_float()
    pdfium_raw.FPDFPathSegment_GetPoint(segment, x, y)
    return x.value, y.value


OUTLINE = 0.6
"""So much of their size the box of letters' outlines is larger at most, with marks and tails (by
eye)."""


def complaint(item: Painted, shown: Shown, before: Painted | None = None) -> str | None:
    """What a cheap printer loses of a thing; ``before`` is the shape painted last before it."""
    if item.kind == "text":
        return _of_type(item, before) if prints_ink(item) else None
    if item.kind != "path":
        return None
    if item.stroke is not None and item.stroke.opacity:
        return _of_pen(item.stroke_mm, item.stroke, stretches(item, shown)[1])
    thin, long = sorted(item.box[2:])
    is_rule = thin < 1 < long / 5 and stretches(item, shown)[1]  # drawn as an area
    if is_rule and item.fill is not None and item.fill.opacity:
        return _of_pen(thin, item.fill, True)
    return None


def _of_type(item: Painted, before: Painted | None) -> str | None:
    """Open letters are seen by their outlines, which are painted first, are no letters and hardly
    larger than these."""
    paint, size = item.fill, type_size_pt(item)
    around = item.box.grown(OUTLINE * mm(size))
    if before and before.stroke and before.box.holds(item.box) and around.holds(before.box):
        paint = min(before.stroke, paint or before.stroke, key=luminance)
    if paint is None or (size >= TYPE_PT - ROUNDED_PT and contrast(paint) >= CONTRAST):
        return None
    return f"type of {size:.1f} pt at {contrast(paint):.1f} : 1"


def _of_pen(width: float, paint: Paint, is_rule: bool) -> str | None:
    """Rules keep both floors; what is drawn may be thinner if it is darker by as much."""
    dark = ink(paint)
    if width >= RULE_MM - ROUNDED_MM and dark >= RULE_INK:
        return None
    if not is_rule and width * dark >= (RULE_MM - ROUNDED_MM) * RULE_INK:
        return None
    return f"a {'rule' if is_rule else 'stroke'} of {width:.2f} mm at {dark:.0f} % ink"


@dataclass(frozen=True)
class Edition:
    """What is built of a season: one paper, some of its languages and colours, all its pages."""

    season: str
    languages: tuple[str, ...]
    colours: tuple[str, ...]
    week: str
    """The set whose weeks are printed."""

    def build(self, folder: Path) -> list[Path]:
        """Its sets' folders; dates are few, as pages differ in them alone."""
        (folder / "seasons").mkdir(parents=True)
        (folder / "templates_svg").symlink_to(ROOT / "templates_svg")
        source = ROOT / "seasons" / f"{self.season}.toml"
        for file in source.parent.glob(f"{self.season}-*"):
            (folder / "seasons" / file.name).write_bytes(file.read_bytes())
        text = source.read_text("utf-8")
        for name, value in (
            ("language", list(self.languages)),
            ("colours", list(self.colours)),
            ("papers", ["a4"]),
            ("months", ["2027-03", "2027-04"]),
        ):
            text = re.sub(rf"(?m)^{name} = .*$", f"{name} = {value}", text, count=1)
        text = re.sub(r'(?m)^months = \["2027-03", "2027-05"\]$', 'month = "2027-03"', text)
        text = re.sub(r'(?m)^months = \["2027-04", "2027-06"\]$', 'month = "2027-04"', text)
        if self.season == "2027-spring":
            others = r'\[\[period]]\nname = "(?:april|may|quarter)"\n.*\n'
            text = re.sub(others, "", text)
        season = folder / "seasons" / source.name
        season.write_text(text, "utf-8")
        make_season(season, folder / "build")
        return sorted(file.parent for file in folder.glob("build/**/contents.json"))


@dataclass(frozen=True)
class Printed:
    """A page of the demo as it lies in a finished file, on the file's page ``number`` (from 0)."""

    file: Path
    number: int
    template: str
    page: pdfium.PdfPage
    items: Sequence[Painted]


def strengths(page: pdfium.PdfPage) -> dict[int, float]:
    """How opaque the groups are, taken together, that things of a page are in; those of 1 left out.

    A group is a form whose own graphics state is that it is painted with (ISO 32000-1, 11.4.7).
    """
    found: dict[int, float] = {}

    def within(handle: object, outer: float) -> None:
        if pdfium_raw.FPDFPageObj_GetType(handle) != pdfium_raw.FPDF_PAGEOBJ_FORM:
            if outer < 1:
                found[address(handle)] = outer
            return
        red, green, blue, alpha = (ctypes.c_uint() for _ in range(4))
        if pdfium_raw.FPDFPageObj_GetFillColor(handle, red, green, blue, alpha):
            outer *= alpha.value / 255
        for number in range(pdfium_raw.FPDFFormObj_CountObjects(handle)):
            within(pdfium_raw.FPDFFormObj_GetObject(handle, number), outer)

    for number in range(pdfium_raw.FPDFPage_CountObjects(page)):
        within(pdfium_raw.FPDFPage_GetObject(page, number), 1.0)
    return found


def as_strong(items: Sequence[Painted], page: pdfium.PdfPage) -> list[Painted]:
    """The same things with their paints as weak as the groups that they are in make them."""
    strong = strengths(page)

    def weaker(paint: Paint | None, part: float) -> Paint | None:
        return paint and paint._replace(opacity=paint.opacity * part)

    return [
        replace(one, fill=weaker(one.fill, part), stroke=weaker(one.stroke, part))
        if (part := strong.get(address(one.handle), 1.0)) < 1
        else one
        for one in items
    ]


def printed_pages(folder: Path) -> Iterator[Printed]:
    """All pages of a set, each while its file is open."""
    contents = read_contents(folder)
    for side in (1, 2):
        file = folder / f"side-{side}.pdf"
        with opened(file) as document:
            for index, sheet in enumerate(contents.sheets):
                number = contents.page_number(index, side)
                page = document[number]
                items = as_strong(list(lettered(painted(page))), page)
                leaves = [placed.flat for placed in sheet.placements(side)]
                # What also paints beside the leaves is marks, such as the outline of a tab.
                marks = {
                    one.top
                    for one in items
                    if not any(leaf.overlaps(middle(one.box)) for leaf in leaves)
                }
                items = [one for one in items if one.top not in marks]
                for placed in sheet.placements(side):
                    note = contents.leaves[placed.leaf].page(placed.face)
                    inside = [one for one in items if placed.flat.overlaps(middle(one.box))]
                    template = note.template if note and note.template else "blank"
                    yield Printed(file, number, template, page, inside)


def complaints(folder: Path) -> set[str]:
    """What a cheap printer loses of the pages of a set."""
    found = set()
    for one in printed_pages(folder):
        shown = Shown(one.page)
        last = None
        for item in one.items:
            last = item if item.kind == "path" else last
            if what := complaint(item, shown, last):
                found.add(f"{folder.parent.name}/{folder.name}, {one.template}: {what}")
    return found


def laser_print(pdf: Path, number: int) -> npt.NDArray[np.bool_]:
    """The dots of a page (from 0) as a laser printer sets them, by ghostscript."""
    screen, out = pdf.with_suffix(".ps"), pdf.with_suffix(".png")
    screen.write_text(SCREEN, "ascii")
    subprocess.run(
        [tool("gs"), "-q", "-dSAFER", "-dBATCH", "-dNOPAUSE", "-sDEVICE=pngmono", f"-r{DPI}",
         f"-dFirstPage={number + 1}", f"-dLastPage={number + 1}", f"-sOutputFile={out}",
         str(screen), "-f", str(pdf)],
        check=True,
    )  # fmt: skip
    with Image.open(out) as picture:
        return ~np.asarray(picture.convert("1"))


def widest_gap(dots: npt.NDArray[np.bool_], rule: Rule) -> int:
    """The most pixels in a row, along a rule, in which none of its width has a dot."""
    px, half = DPI / MM_PER_INCH, rule.item.stroke_mm / 2
    box = rule.box.grown(half + 1 / px)  # strokes are moved to whole pixels
    inset = min(2 * half, rule.length / 4)
    across = rule.box.width >= rule.box.height
    box = Rect(
        box.x + (inset if across else 0),
        box.y + (0 if across else inset),
        box.width - (2 * inset if across else 0),
        box.height - (0 if across else 2 * inset),
    )
    left, top = math.floor(box.x * px), math.floor(box.y * px)
    strip = dots[top : math.ceil(box.bottom * px), left : math.ceil(box.right * px)]
    inked = np.flatnonzero(strip.any(axis=0 if across else 1))
    length = strip.shape[1 if across else 0]
    return int(np.diff(np.concatenate(([-1], inked, [length]))).max()) - 1


def rules_of(printed: Printed) -> list[Rule]:
    """The rules of 3 mm and more on a page, but for dashed ones and parts of drawn shapes."""
    shown, found = Shown(printed.page), list[Rule]()
    for item in printed.items:
        inked = item.kind == "path" and item.stroke is not None and item.stroke.opacity
        if inked and not pdfium_raw.FPDFPageObj_GetDashCount(item.handle):
            straight, pure = stretches(item, shown)
            found += [one for one in straight if pure and one.length >= 3]
    return found


def broken(folder: Path, templates: tuple[str, ...]) -> tuple[int, set[str]]:
    """How many rules the first pages of some templates have, and which a laser printer breaks."""
    count, found, seen = 0, set[str](), set[str]()
    for printed in printed_pages(folder):
        if not printed.template.startswith(templates) or printed.template in seen:
            continue
        seen.add(printed.template)
        dots = laser_print(printed.file, printed.number)
        for rule in rules_of(printed):
            count += 1
            if (gap := widest_gap(dots, rule)) > GAP_PX:
                at = f"{rule.length:.0f} mm at {rule.box.x:.1f}, {rule.box.y:.1f}"
                found.add(f"{printed.template}: {at}, {gap} pixels wide")
    return count, found


EDITIONS = (
    Edition("2027-spring", ("en-GB",), ("as-drawn",), "running"),
    Edition("2027-garden-line", ("de",), ("as-drawn", "black"), "round-black"),
    Edition("2027-range", ("ar-EG",), ("as-drawn",), "weeks"),
    Edition("2027-studio", ("de",), ("as-drawn", "black"), "weeks-black"),
)
OTHER_EDITIONS = (
    Edition("2027-range", ("en-GB", "de", "ar-EG"), ("as-drawn",), "weeks"),
    Edition("2027-range", ("en-GB",), ("clay",), "weeks-clay"),
    Edition("2027-studio", ("en-GB",), ("as-drawn", "cobalt"), "weeks"),
)


@pytest.mark.parametrize(
    "edition",
    [
        *EDITIONS,
        *(pytest.param(one, marks=pytest.mark.wide) for one in OTHER_EDITIONS),
    ],
    ids=lambda one: "-".join((one.season, *one.languages, *one.colours)),
)
def test_pens_type_and_rules_last_on_a_cheap_printer(edition: Edition, tmp_path: Path) -> None:
    folders = edition.build(tmp_path)
    assert set[str]().union(*map(complaints, folders)) == set()
    week = next(one for one in folders if one.parent.name == edition.week)
    count, found = broken(week, ("week", "round"))
    assert count >= 40
    assert found == set()


def hand_made(folder: Path, content: str, strength: float = 1.0) -> Path:
    """A PDF of 100 × 50 mm, written by hand in millimetres and two scales, one within the other.

    All of it is one group, painted as opaque as its ``strength``.
    """
    writer = PdfWriter()
    page = writer.add_blank_page(width=100 * PT_PER_MM, height=50 * PT_PER_MM)
    form = DecodedStreamObject()
    form.set_data(f"{2 * PT_PER_MM} 0 0 {2 * PT_PER_MM} 0 0 cm {content}".encode("ascii"))
    form.update(
        {
            NameObject("/Type"): NameObject("/XObject"),
            NameObject("/Subtype"): NameObject("/Form"),
            NameObject("/BBox"): ArrayObject(map(FloatObject, (0, 0, 600, 300))),
            NameObject("/Resources"): DictionaryObject({NameObject("/Font"): _helvetica()}),
            NameObject("/Group"): DictionaryObject({NameObject("/S"): NameObject("/Transparency")}),
        }
    )
    form_object = DictionaryObject({NameObject("/Form"): writer._add_object(form)})
    weak = {NameObject(key): FloatObject(strength) for key in ("/ca", "/CA")}
    states = DictionaryObject({NameObject("/Weak"): DictionaryObject(weak)})
    page[NameObject("/Resources")] = DictionaryObject(
        {NameObject("/XObject"): form_object, NameObject("/ExtGState"): states}
    )
    body = DecodedStreamObject()
    body.set_data(b"q /Weak gs .5 0 0 .5 0 0 cm /Form Do Q")
    page[NameObject("/Contents")] = writer._add_object(body)
    file = folder / "hand-made.pdf"
    writer.write(file)
    return file


def _helvetica() -> DictionaryObject:
    face = {"/Type": "/Font", "/Subtype": "/Type1", "/BaseFont": "/Helvetica"}
    named = {NameObject(key): NameObject(value) for key, value in face.items()}
    return DictionaryObject({NameObject("/F"): DictionaryObject(named)})


@pytest.mark.parametrize(
    ("content", "said"),
    [
        (".25 w .6 G 10 20 m 80 20 l S", None),
        (".2 w .6 G 10 20 m 80 20 l S", "a rule of 0.20 mm at 37 % ink"),
        (".25 w .75 G 10 20 m 80 20 l S", "a rule of 0.25 mm at 23 % ink"),
        (".2 w 0 G 10 20 70 20 re S", "a rule of 0.20 mm at 100 % ink"),
        (".6 g 10 20 70 .2 re f", "a rule of 0.20 mm at 37 % ink"),
        (".15 w 0 G 10 20 m 30 40 60 40 80 20 c S", None),
        (".15 w .5 G 10 20 m 30 40 60 40 80 20 c S", "a stroke of 0.15 mm at 46 % ink"),
        ("BT /F 2.5 Tf .4 g 10 20 Td (Week) Tj ET", None),
        ("BT /F 2.3 Tf .4 g 10 20 Td (Week) Tj ET", "type of 6.5 pt at 5.7 : 1"),
        ("BT /F 3 Tf .5 g 10 20 Td (Week) Tj ET", "type of 8.5 pt at 3.9 : 1"),
    ],
)
def test_pens_and_type_of_files_written_by_hand(
    content: str, said: str | None, tmp_path: Path
) -> None:
    """Contrasts and lightnesses of greys are from the formulas worked out by hand."""
    with opened(hand_made(tmp_path, content)) as document:
        page = document[0]
        [item] = lettered(painted(page))
        assert complaint(item, Shown(page)) == said


@pytest.mark.parametrize(
    ("strength", "said"),
    [(1.0, None), (0.75, None), (0.4, "type of 8.5 pt at 2.8 : 1")],
)
def test_a_group_that_is_dimmed_dims_what_is_in_it(
    strength: float, said: str | None, tmp_path: Path
) -> None:
    with opened(hand_made(tmp_path, "BT /F 3 Tf 0 g 10 20 Td (Week) Tj ET", strength)) as document:
        page = document[0]
        [item] = as_strong(list(lettered(painted(page))), page)
        assert complaint(item, Shown(page)) == said


@pytest.mark.parametrize("across", [True, False])
@pytest.mark.parametrize(
    ("width", "grey", "whole"),
    [(0.2, 0.82, False), (0.2, 0.65, False), (0.25, 0.65, True), (0.3, 0.6, True), (0.2, 0, True)],
)
def test_a_laser_printer_breaks_thin_tinted_rules(
    width: float, grey: float, whole: bool, across: bool, tmp_path: Path
) -> None:
    """Wherever a rule meets the printer's pixels: at 16 places, an eighth of a pixel on each time.

    These are the printer's own dots, made by ghostscript of a file that was written by hand.
    """
    lines = (
        f"{10 + n * 1.5 + n * 0.0053:.4f} 5 m {10 + n * 1.5 + n * 0.0053:.4f} 45 l"
        if not across
        else f"5 {10 + n * 1.5 + n * 0.0053:.4f} m 95 {10 + n * 1.5 + n * 0.0053:.4f} l"
        for n in range(16)
    )
    file = hand_made(tmp_path, f"{width} w {grey} G {' '.join(lines)} S")
    with opened(file) as document:
        page = document[0]
        printed = Printed(file, 0, "", page, list(painted(page)))
        dots = laser_print(file, 0)
        gaps = [widest_gap(dots, rule) for rule in rules_of(printed)]
    assert len(gaps) == 16
    assert (max(gaps) <= GAP_PX) == whole
