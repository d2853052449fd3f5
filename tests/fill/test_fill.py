"""Filling pages: keys, editors' habits, fit, and one clear line for each mistake."""

from __future__ import annotations

import re
from dataclasses import replace

import pytest
from lxml import etree

from pipeline.base.errors import UserError
from pipeline.fill.areas import draw_month
from pipeline.plan.model import Binding, MonthGrid
from pipeline.svg.path import outline, tight_box
from pipeline.svg.tree import page_matrix
from tests.fill.conftest import CELLS, WEEK, Filler

SVG = "{http://www.w3.org/2000/svg}"
LANG = "{http://www.w3.org/XML/1998/namespace}lang"
STYLE = 'font-family="Source Sans 3" font-size="5"'


def texts(root: etree._Element) -> list[str]:
    return ["".join(str(part) for part in text.itertext()) for text in root.iter(SVG + "text")]


@pytest.mark.parametrize(
    "marked",
    [
        'id="day1-name"',
        'id="day1-name-3"',
        'id="day1-name-3-7"',
        'id="day1_x2D_name"',
        'id="day1-name_1_"',
        'id="text4711" inkscape:label="day1-name"',
        'id="text4711" inkscape:label="Day1-Name copy"',
        'id="XMLID_7_" data-name="day1-name 2"',
    ],
)
def test_a_key_is_known_by_id_or_label_however_editors_write_it(
    marked: str, fill_one: Filler
) -> None:
    root = fill_one(f'<text {marked} {STYLE} x="5" y="9">Some day</text>')
    assert texts(root) == ["Monday"]


def test_the_first_run_s_style_is_kept_and_the_other_runs_go(fill_one: Filler) -> None:
    content = (
        f'<text id="day1-name" {STYLE} x="1 2 3" y="9" dx="1 2"><tspan x="5" y="9" fill="#123456">'
        'So<tspan font-weight="700">me</tspan></tspan><tspan x="5" y="15">day</tspan></text>'
    )
    root = fill_one(content)
    (text,) = root.iter(SVG + "text")
    (tspan,) = text.iter(SVG + "tspan")
    assert (tspan.text, tspan.get("fill"), tspan.get("x")) == ("Monday", "#123456", "5")
    assert text.get("dx") is None


def test_a_key_s_text_is_not_stretched_and_is_in_the_page_s_language(fill_one: Filler) -> None:
    content = (
        f'<text id="day1-name" {STYLE} x="1" y="9" textLength="30" xml:lang="tr">'
        '<tspan textLength="30" lengthAdjust="spacingAndGlyphs">Gün</tspan></text>'
    )
    (text,) = fill_one(content).iter(SVG + "text")
    assert texts(text) == ["Monday"]
    for element in text.iter():
        assert not {"textLength", "lengthAdjust", LANG} & set(element.attrib)


def test_a_key_in_capitals_takes_their_room(fill_one: Filler) -> None:
    """Capitals are wider: where the long form would fit as it is written, a shorter one is set."""
    group = (
        '<g id="day3-name"><rect x="5" y="2" width="25" height="8" fill="none"/>'
        f'<text {STYLE} style="text-transform:{{}}" x="5" y="9">Day</text></g>'
    )
    assert texts(fill_one(group.format("none"))) == ["Wednesday"]
    assert texts(fill_one(group.format("uppercase"))) == ["Wed"]


def test_a_group_may_hold_the_text_and_its_box(fill_one: Filler) -> None:
    box = '<rect x="5" y="2" width="{}" height="8" fill="none"/>'
    group = '<g id="day3-name">' + box + f'<text {STYLE} x="5" y="9">Day</text></g>'
    assert texts(fill_one(group.format(40))) == ["Wednesday"]
    assert texts(fill_one(group.format(12))) == ["Wed"]


def test_a_text_with_a_width_takes_as_many_lines_as_its_box_is_high(fill_one: Filler) -> None:
    """The width is ``inline-size`` (SVG 2, 11.5.1), the lines lie ``line-height`` apart."""
    said = {"week-number": ("Spring Bank Holiday", "Spring Bank…", "Spring…")}
    group = (
        '<g id="week-number"><rect x="5" y="2" width="{0}" height="{1}" fill="none"/>'
        f'<text {STYLE} x="5" y="9" style="inline-size:{{0}}px;line-height:10px">Feast</text></g>'
    )
    for width, height, shown in (
        (100, 8, "Spring Bank Holiday"),
        (40, 8, "Spring Bank…"),
        (40, 18, "Spring Bank Holiday"),
        (20, 28, "Spring Bank Holiday"),
        (20, 8, "Spring…"),
    ):
        assert texts(fill_one(group.format(width, height), texts=said)) == [shown]


def test_numbered_keys_take_the_same_form_throughout(fill_one: Filler) -> None:
    tight = '<rect x="5" y="2" width="12" height="8" fill="none"/>'
    content = (
        f'<text id="day1-name" {STYLE} x="5" y="30">Day</text>'
        f'<g id="day3-name">{tight}<text {STYLE} x="5" y="9">Day</text></g>'
    )
    assert texts(fill_one(content)) == ["Mon", "Wed"]


def test_a_text_a_little_too_wide_is_set_smaller_but_not_below_85_percent(
    fill_one: Filler,
) -> None:
    long = {"week-number": ("Wednesday",)}
    group = (
        '<g id="week-number"><rect x="5" y="2" width="{}" height="8" fill="none"/>'
        f'<text {STYLE} x="5" y="9">9</text></g>'
    )
    root = fill_one(group.format(21), texts=long)
    (text,) = root.iter(SVG + "text")
    assert 0.85 * 5 <= float(text.get("font-size", "0")) < 5
    with pytest.raises(UserError) as caught:
        fill_one(group.format(15), texts=long)
    assert re.search(
        r"week\.svg \(W09\), key 'week-number': 'Wednesday' needs 2\d\.\d mm but has 15\.0 mm",
        str(caught.value),
    )


def test_without_a_box_text_stays_in_its_panel_s_safe_area(fill_one: Filler) -> None:
    size = 'width="140mm" height="60mm" viewBox="0 0 140 60"'
    at = f'<text id="day3-name" {STYLE} x="{{}}" y="9">Day</text>'
    # The page ends at 100 mm and its flap begins there: text at 84 mm must not cross the fold.
    assert texts(fill_one(at.format(60), size=size, flap_mm=40)) == ["Wednesday"]
    assert texts(fill_one(at.format(84), size=size, flap_mm=40)) == ["Wed"]
    assert texts(fill_one(at.format(106), size=size, flap_mm=40)) == ["Wednesday"]


@pytest.mark.parametrize(("anchor", "x"), [("start", 5), ("middle", 15), ("end", 25)])
def test_the_room_follows_the_anchor(anchor: str, x: int, fill_one: Filler) -> None:
    group = (
        '<g id="day3-name"><rect x="5" y="2" width="20" height="8" fill="none"/>'
        f'<text {STYLE} x="{x}" y="9" text-anchor="{anchor}">Day</text></g>'
    )
    assert texts(fill_one(group)) == ["Wed"]
    assert texts(fill_one(group.replace('width="20"', 'width="60"').replace("middle", "start")))


@pytest.mark.parametrize(
    ("size", "scale"),
    [
        ('width="100mm" height="60mm" viewBox="0 0 100 60"', 1.0),
        ('width="10cm" height="6cm" viewBox="0 0 1000 600"', 10.0),
        ('width="283.4646pt" height="170.0787pt" viewBox="0 0 283.4646 170.0787"', 2.834646),
        ('width="377.9528" height="226.7717"', 3.779528),
        ('width="3.93701in" height="2.362205in" viewBox="10 10 50 30"', 0.5),
    ],
)
def test_units_and_view_boxes_become_millimetres(size: str, scale: float, fill_one: Filler) -> None:
    left = 10 if 'viewBox="10' in size else 0
    rect = (
        f'<rect id="lines-6mm" x="{left + 10 * scale}" y="{left + 10 * scale}" '
        f'width="{50 * scale}" height="{30.01 * scale}" stroke="#888" stroke-width="{scale / 4}"/>'
    )
    root = fill_one(rect, size=size)
    assert root.get("viewBox") == "0 0 100 60"
    ys = lines_on_page_mm(root)
    assert ys == pytest.approx([16, 22, 28, 34, 40], abs=0.01)


def lines_on_page_mm(root: etree._Element) -> list[float]:
    """The y of each ruled line in page millimetres, by an independent reading of transforms."""
    (path,) = root.iter(SVG + "path")
    numbers = [float(y) for y in re.findall(r"M\S+ (\S+?)H", path.get("d", ""))]
    scale, shift = 1.0, 0.0
    for ancestor in path.iterancestors():
        found = re.match(r"matrix\((.*)\)", ancestor.get("transform", ""))
        if found:
            *_, d, _, f = (float(n) for n in found[1].split())
            scale, shift = scale * d, shift * d + f
    return [y * scale + shift for y in numbers]


def test_classes_styles_and_importance_follow_the_cascade(fill_one: Filler) -> None:
    content = (
        "<style>text{fill:#000001} .name{fill:#000002;font-size:4px} #day1-name{fill:#000003}"
        " .loud{fill:#000004 !important}</style>"
        f'<text id="day1-name" class="name" {STYLE} fill="#000009" x="5" y="9">a</text>'
        f'<text id="day1-number" class="name" {STYLE} style="fill:#000005" x="5" y="19">a</text>'
        f'<text id="week-number" class="name loud" style="fill:#000005" {STYLE} x="5" y="29">a'
        "</text>"
    )
    root = fill_one(content)
    fills = [text.get("fill") for text in root.iter(SVG + "text")]
    assert fills == ["#000003", "#000005", "#000004"]
    assert all(text.get("font-size") == "4px" for text in root.iter(SVG + "text"))
    assert not root.findall(f".//{SVG}style")


def test_what_is_never_printed_is_gone(fill_one: Filler) -> None:
    content = (
        '<g id="guides"><rect width="5" height="5"/></g>'
        '<g inkscape:label="guides"><rect width="5" height="5"/></g>'
        '<g style="display:none"><rect width="5" height="5"/></g>'
        '<inkscape:page x="0"/><metadata>about</metadata><circle r="3"/>'
    )
    root = fill_one(content)
    assert [etree.QName(element).localname for element in root] == ["circle"]


def test_things_are_shown_only_when_their_fact_holds(fill_one: Filler) -> None:
    content = '<g id="show-day1-weekend"><circle r="1"/></g><circle r="2"/>'
    assert len(fill_one(content, flags={"day1-weekend": True}).findall(f".//{SVG}circle")) == 2
    assert len(fill_one(content, flags={"day1-weekend": False}).findall(f".//{SVG}circle")) == 1


def test_a_key_inside_a_hidden_group_is_left_alone(fill_one: Filler) -> None:
    content = f'<g id="show-first-week"><text id="day1-name" {STYLE} y="9">x</text></g>'
    assert texts(fill_one(content, flags={"first-week": False})) == []


def test_a_month_fills_its_area_from_the_sample_s_style(fill_one: Filler) -> None:
    content = (
        '<g id="month-grid"><rect x="10" y="5" width="49" height="49" fill="none"/>'
        f'<text {STYLE} x="0" y="0">8</text><text {STYLE} fill="green">8</text></g>'
    )
    root = fill_one(content)
    figures = [(t.text, t.get("x"), t.get("fill")) for t in root.iter(SVG + "text")]
    assert [text for text, *_ in figures] == [*"MTWTFSS", *(str(n) for n in range(1, 29))]
    assert {float(x or 0) for _, x, _ in figures} == {13.5 + 7 * n for n in range(7)}
    assert [text for text, _, fill in figures if fill == "#008000"] == [
        *("6", "7", "13", "14", "20", "21", "27", "28")
    ]


FOUR = ("black", "green", "red", "grey")


def test_days_outside_the_set_s_pages_are_set_like_the_fourth_text() -> None:
    group = etree.fromstring(
        f'<g xmlns="{SVG[1:-1]}"><rect width="49" height="49" fill="none"/>'
        + "".join(
            f'<text {STYLE} fill="{one}">8</text>' for one in ("black", "green", "red", "grey")
        )
        + "</g>"
    )
    rows = tuple(
        tuple(None if cell is None else replace(cell, outside=cell.date.day > 26) for cell in row)
        for row in CELLS
    )
    draw_month(group, MonthGrid(tuple("MTWTFSS"), rows, ()))
    said = {fill: [t.text for t in group if t.get("fill") == fill] for fill in ("red", "grey")}
    assert said == {"red": [*"MTWTFSS"], "grey": ["27", "28"]}


@pytest.mark.parametrize(
    ("content", "message"),
    [
        (
            f'<text id="day8-name" {STYLE}>x</text>',
            r"'day8-name': no such key on a page for a week; did you mean 'day\d-name'",
        ),
        (f'<text id="wek-number" {STYLE}>x</text>', r"did you mean 'week-number'"),
        (
            f'<text id="label-sowin" {STYLE}>x</text>',
            r"there is no label 'sowin' for 'en-GB'; add it to labels/en\.toml, "
            r"or did you mean 'label-sowing'",
        ),
        (
            '<rect id="lines-6" width="9" height="9"/>',
            r"isn't a ruled area; write it like 'lines-6mm'",
        ),
        (
            '<g id="show-day1-weekned"><circle r="1"/></g>',
            r"no such thing to show.*did you mean 'show-day1-weekend'",
        ),
        ('<g id="month-grid"><rect width="9" height="9"/></g>', r"a month needs a group"),
    ],
)
def test_mistakes_are_one_line_with_file_and_element(
    content: str, message: str, fill_one: Filler
) -> None:
    with pytest.raises(UserError, match=message) as caught:
        fill_one(content, flags={"day1-weekend": True})
    line = str(caught.value)
    assert re.match(r"[\w-]+/week\.svg, element ", line), "the folder is that of the size"
    assert "\n" not in line


SLIPS = {
    "week_number": "week-number",
    "Week number": "week-number",
    "wekk-number": "week-number",
    "wek-nmbr": "week-number",
    "yaer": "year",
    "years": "year",
    "monthname": "month-name",
    "monthsname": "month-name",
    "weekrange": "week-range",
    "day1name": "day1-name",
    "day3_nmae": "day3-name",
    "day3_of_year-2": "day3-of-year",
    "label_sowing": "label-sowing",
    "labelsowing": "label-sowing",
}
MONTH = f'<rect width="49" height="49" fill="none"/><text {STYLE}>1</text><text {STYLE}>6</text>'


@pytest.mark.parametrize(("name", "meant"), SLIPS.items())
@pytest.mark.parametrize("around", ["", "g"])
def test_a_slip_in_a_name_is_never_printed(
    name: str, meant: str, around: str, fill_one: Filler
) -> None:
    with pytest.raises(UserError, match=f"no such key .*did you mean '{meant}'"):
        fill_one(
            f'<g id="{name}"><text {STYLE} y="9">x</text></g>'
            if around
            else f'<text id="{name}" {STYLE} y="9">x</text>',
            texts=dict.fromkeys((*WEEK, *SLIPS.values()), ("1",)),
        )


@pytest.mark.parametrize("name", ["month_grid", "monthgrid", "moth-grid", "Month grid"])
def test_nor_is_a_slip_in_a_month_s_name(name: str, fill_one: Filler) -> None:
    with pytest.raises(UserError, match=r"no such key .*did you mean 'month-grid'"):
        fill_one(f'<g id="{name}">{MONTH}</g>')


@pytest.mark.parametrize("name", ["show_day1_weekend", "showday1-weekend", "show-day1_weekend"])
def test_nor_one_in_what_is_shown(name: str, fill_one: Filler) -> None:
    with pytest.raises(UserError, match="did you mean 'show-day1-weekend'"):
        fill_one(f'<path id="{name}" d="M0 0h9v9z"/>', flags={"day1-weekend": True})


@pytest.mark.parametrize("name", ["lines6mm", "lines_6mm", "linse-6mm-3", "dost-5mm", "gird-5_mm"])
def test_nor_one_in_a_ruled_area(name: str, fill_one: Filler) -> None:
    with pytest.raises(UserError, match="this isn't a ruled area; write it like 'lines-6mm'"):
        fill_one(f'<rect id="{name}" width="9" height="9"/>')


def test_a_layer_may_be_named_after_what_is_in_it(fill_one: Filler) -> None:
    week = f'<g id="Week number"><text id="week-number" {STYLE} y="9">x</text></g>'
    month = f'<g id="Month_grid"><g id="month-grid">{MONTH}</g></g>'
    assert texts(fill_one(week + month))[:2] == ["9", "M"]


@pytest.mark.parametrize("name", ["pear", "bear", "text12", "week_list", "day", "months", "label"])
def test_words_that_only_sound_alike_are_left_alone(name: str, fill_one: Filler) -> None:
    root = fill_one(
        f'<text id="{name}" {STYLE} y="9">Mine</text><rect id="box_6mm" width="9" height="9"/>',
        texts={**WEEK, "year": ("2027",), "month-name": ("March",), "label-up": ("Up",)},
    )
    assert texts(root) == ["Mine"]


@pytest.mark.parametrize("name", ["title", "text-block", "rules", "grid-lines", "g12", "path-3"])
def test_an_illustrator_s_own_names_are_no_business_of_ours(name: str, fill_one: Filler) -> None:
    root = fill_one(f'<g id="{name}"><text {STYLE} y="9">Mine</text></g>')
    assert texts(root) == ["Mine"]


def test_a_template_of_the_wrong_size_says_both_sizes(fill_one: Filler) -> None:
    with pytest.raises(
        UserError, match=r"the page is 90\.0 × 60\.0 mm, but the test size is 100 × 60 mm"
    ):
        fill_one("", size='width="90mm" height="60mm"')
    with pytest.raises(UserError, match=r"with its 40 mm flap open is 140 × 60 mm"):
        fill_one("", flap_mm=40)


def test_a_broken_file_names_its_line(fill_one: Filler) -> None:
    with pytest.raises(UserError, match=r"week\.svg, line 3: is broken"):
        fill_one("\n<g>\n</svg>")


def test_the_moon_is_lit_on_its_own_side_on_mirrored_pages(fill_one: Filler) -> None:
    """Its place is mirrored with the page, its picture isn't."""
    half = '<path id="dark" d="M20 10A5 5 0 0 0 20 20Z" fill="#888"/>'
    ring = '<circle cx="20" cy="15" r="5" fill="none"/>'
    flags = {"day1-first-quarter": True, "day1-weekend": True}
    for shown, left in (("first-quarter", 75.0), ("weekend", 80.0)):
        root = fill_one(
            f'<g transform="translate(1 2)"><g id="show-day1-{shown}">{ring}{half}</g></g>',
            flags=flags,
            binding=Binding.RIGHT,
        )
        path = next(one for one in root.iter(SVG + "path") if one.get("fill") == "#888888")
        box = tight_box(outline(path).moved(page_matrix(path).point))
        assert box is not None
        # Drawn from 16 to 21 mm (moved by 1) of a page 100 mm wide, around a middle at 21.
        assert (box.x, box.right) == pytest.approx((left - 1, left + 4), abs=0.01)
