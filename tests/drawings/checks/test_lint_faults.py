"""Every fault on a page is found once, where it is; a page without any is passed over."""

from __future__ import annotations

import base64
import io
from collections import Counter
from pathlib import Path

import pytest
from PIL import Image

from pipeline.base.findings import DRAWING_RULES, Severity
from pipeline.drawings.checks import DrawingFinding, check_drawings, templates_under
from tests.conftest import ROOT
from tests.drawings.checks.conftest import Shelf
from tests.drawings.checks.test_lint_gallery import GALLERY


def picture(pixels: int) -> str:
    """An embedded PNG, square."""
    data = io.BytesIO()
    Image.new("RGB", (pixels, pixels), "#8aa37b").save(data, "PNG")
    return "data:image/png;base64," + base64.b64encode(data.getvalue()).decode()


def image(name: str, y: int, link: str) -> str:
    """A picture 9 mm square."""
    return f'<image id="{name}" x="60" y="{y}" width="9" height="9" href="{link}"/>'


def line(name: str, y: int, width: str) -> str:
    """A level line."""
    return f'<path id="{name}" d="M60 {y}h9" stroke="#333" stroke-width="{width}"/>'


FAULTS = {
    # id of the element: (severity, rule, what is drawn)
    "day9-name": ("mend", "key", '<text id="day9-name" x="60" y="20">Funday</text>'),
    "show-day1-holiday": ("mend", "key", '<g id="show-day1-holiday"><path d="M60 30h5v5z"/></g>'),
    "lines-6": ("mend", "key", '<rect id="lines-6" x="60" y="40" width="30" height="12"/>'),
    "label-pick": ("mend", "key", '<text id="label-pick" x="60" y="60">pick</text>'),
    "month-grid": ("mend", "key", '<g id="month-grid"><text x="60" y="65">1</text></g>'),
    "week-number": ("mend", "outlined", '<g id="week-number"><path d="M60 70h3v4h-3z"/></g>'),
    "ringed": ("mend", "punch", '<text id="ringed" x="140" y="80">rings</text>'),
    "cut": ("mend", "safe", '<text id="cut" x="60" y="211">foot</text>'),
    "near": ("look", "safe", '<text id="near" x="1" y="90">near</text>'),
    "holed": ("look", "punch", '<path id="holed" d="M120 100h25" stroke="#333"/>'),
    "beyond": ("look", "outside", '<rect id="beyond" x="160" y="20" width="20" height="20"/>'),
    "strange": ("mend", "font", '<text id="strange" x="60" y="100" font-family="Nope">a</text>'),
    "rare": ("mend", "font", '<text id="rare" x="60" y="110">\u16a0</text>'),
    "thin": ("note", "hairline", line("thin", 115, ".15")),
    "gone": ("look", "hairline", line("gone", 118, ".05")),
    "linked": ("mend", "undrawn", image("linked", 120, "a.png")),
    "coarse": ("mend", "picture", image("coarse", 130, picture(20))),
    "fine": ("note", "picture", image("fine", 140, picture(120))),
    "blurred": ("note", "effect-as-picture",
                '<filter id="f"><feGaussianBlur stdDeviation=".5"/></filter>'
                '<path id="blurred" d="M60 150h9v1z" filter="url(#f)"/>'),
    "blended": ("mend", "undrawn",
                '<path id="blended" d="M60 152h9v1z" style="mix-blend-mode:plus-lighter"/>'),
    "flowed": ("mend", "undrawn",
               '<foreignObject id="flowed" x="60" y="154" width="9" height="1"/>'),
    "typed": ("look", "dated", '<text id="typed" x="60" y="158">by Friday 5 March</text>'),
    "yeared": ("look", "dated", '<text id="yeared" x="60" y="161">Spring 2026</text>'),
    "weeked": ("look", "dated", '<text id="weeked" x="60" y="164">Wk 9 of 52</text>'),
    "moon": ("look", "dated", '<text id="moon" x="60" y="167">full moon 22 March</text>'),
    "day2-name-7": ("note", "renamed", '<text id="day2-name-7" x="60" y="155">Tuesday</text>'),
}  # fmt: skip
"""One element for each fault, on the verso of a week's spread, and no two alike."""

DAYS = "".join(f'<text id="day{n}-name" x="20" y="{20 * n}">day</text>' for n in (1, 3, 4, 5, 6, 7))


def faulty(shelf: Shelf) -> list[DrawingFinding]:
    """What lint says of a page with every fault once."""
    shelf.put("right", "")
    return shelf.look("left", "\n".join(drawn for *_, drawn in FAULTS.values()) + DAYS)


def test_every_fault_once(shelf: Shelf) -> None:
    found = {one.element: (one.word, one.rule) for one in faulty(shelf)}
    assert found == {name: fault[:2] for name, fault in FAULTS.items()}


def test_every_rule_has_a_fault_that_it_finds(flapped: Shelf) -> None:
    found = faulty(flapped)
    across = '<text x="140" y="20">sowing</text>'
    found += flapped.look("flapped-recto", across, width=190)
    found += flapped.look("right", "", width=150)
    found += flapped.look("right", "<g>")
    found += flapped.look("right", '<text id="day1-name" x="30" y="20">x</text>')
    (flapped.folder / "labels" / "de.toml").write_text('sow = "a"\nsow = "b"\n', "utf-8")
    found += flapped.look("right", "")
    gallery = {rule for _, rule, *_ in GALLERY.values()} | {
        "label-exchanged",
        "drawn-otherwise",
    }  # each fault of which has its finding
    assert {one.rule for one in found} | gallery == set(DRAWING_RULES)


def test_no_fault_twice_and_each_on_its_line(shelf: Shelf) -> None:
    findings = faulty(shelf)
    assert Counter(one.element for one in findings).most_common(1)[0][1] == 1
    lines = (shelf.folder / "a5" / "left.svg").read_text("utf-8").split("\n")
    for one in findings:
        assert f'id="{one.element}"' in lines[one.line - 1]


def test_one_line_each_with_what_to_do(shelf: Shelf) -> None:
    for one in faulty(shelf):
        assert "\n" not in str(one)
        assert one.message
        assert one.what_to_do
        assert str(one).startswith(f"{one.file}:{one.line}: {one.word}")


@pytest.mark.parametrize(
    ("label", "advice"),
    [
        (
            "sows",
            "add it to labels/en.toml, labels/de.toml, or did you mean 'label-sow'?"
            " With no name, it prints as drawn",
        ),
        (
            "moon",
            'write moon = "…" in labels/en.toml, labels/de.toml, or take one that is there: sow;'
            " with no name, it prints as drawn",
        ),
        # German alone lacks it, so that is where it belongs.
        (
            "pick",
            'write pick = "…" in labels/de.toml, or take one that is there: sow;'
            " with no name, it prints as drawn",
        ),
    ],
)
def test_only_a_label_that_is_nearly_the_same_is_proposed(
    shelf: Shelf, label: str, advice: str
) -> None:
    shelf.put("left", DAYS)
    found = shelf.look("right", f'<text id="label-{label}" x="60" y="20">word</text>')
    (one,) = [finding for finding in found if finding.rule == "key"]
    assert one.remedy == advice


def test_a_label_that_is_lacking_is_told_with_what_is_drawn(shelf: Shelf) -> None:
    shelf.put("left", DAYS)
    style = 'font-family="Source Sans 3" font-size="4"'
    drawn = (
        '<tspan x="60" y="20">Pick</tspan><tspan> &amp; </tspan><tspan x="60" y="25">eat</tspan>'
    )
    found = shelf.look("right", f'<text id="label-pick" {style}>{drawn}</text>')
    [asked] = [one.label for one in found if one.label]
    assert asked == ("pick", "Pick & eat", (("en-GB", "pick"), ("de", "")))


@pytest.mark.parametrize(("drawn", "is_told"), [("Sow", True), ("sow", False), ("säen", False)])
def test_a_label_drawn_with_other_words_than_it_says_is_told(
    shelf: Shelf, drawn: str, is_told: bool
) -> None:
    shelf.put("left", DAYS)
    style = 'font-family="Source Sans 3" font-size="4"'
    found = shelf.look("right", f'<text id="label-sow" x="60" y="20" {style}>{drawn}</text>')
    told = [one.message for one in found if one.rule == "label-drawn"]
    assert told == (["is drawn as 'Sow' and prints as 'sow'"] if is_told else [])


def test_a_label_that_is_given_twice_is_told_with_its_file_and_line(shelf: Shelf) -> None:
    labels = shelf.folder / "labels" / "de.toml"
    labels.write_text('sow = "säen"\nsow = "aussäen"\n', "utf-8")
    shelf.put("left", DAYS)
    (one,) = [finding for finding in shelf.look("right", "") if finding.rule == "label"]
    assert "de.toml, line 2, sow: is given twice, first on line 1" in one.message


@pytest.mark.parametrize(
    ("drawn", "remedy"),
    [
        ('<text id="week_number" x="60" y="20">9</text>', "did you mean 'week-number'?"),
        ('<text id="yaer" x="60" y="20">2027</text>', "did you mean 'year'?"),
        ('<text id="label_sow" x="60" y="20">sow</text>', "did you mean 'label-sow'?"),
        (
            '<g id="month_grid"><rect x="60" y="20" width="30" height="30" fill="none"/>'
            '<text x="60" y="20">1</text><text x="60" y="20">6</text></g>',
            "did you mean 'month-grid'?",
        ),
        ('<path id="show_day6-weekend" d="M60 30h5v5z"/>', "did you mean 'show-day6-weekend'?"),
        (
            '<rect id="linse-6mm-3" x="60" y="40" width="30" height="12"/>',
            "write it like 'lines-6mm' or 'dots-5mm-centre'",
        ),
    ],
)
def test_a_slip_in_a_name_is_to_be_mended(shelf: Shelf, drawn: str, remedy: str) -> None:
    shelf.put("right", "")
    found = [one for one in shelf.look("left", drawn + DAYS) if one.rule == "key"]
    assert [(one.severity, one.remedy) for one in found] == [(Severity.MUST, remedy)]


def test_worst_first(shelf: Shelf) -> None:
    order = [one.severity for one in faulty(shelf)]
    assert order == sorted(order, key=[*Severity].index)


def test_a_page_without_faults(shelf: Shelf) -> None:
    shelf.put("right", "")
    week = DAYS + '<text id="day2-name" x="20" y="40">day</text>'
    assert shelf.look("left", week + '<text id="label-sow" x="60" y="20">sow</text>') == []


@pytest.mark.parametrize(("width", "height"), [(150, 210), (148, 200)])
def test_the_wrong_size(shelf: Shelf, width: float, height: float) -> None:
    (finding,) = shelf.look("right", "", width=width, height=height)
    assert (finding.severity, finding.rule) == (Severity.MUST, "size")
    assert f"{width:.1f} × {height:.1f} mm" in finding.message
    assert "A5 is 148 × 210 mm" in finding.message


def test_a_folder_that_is_no_size(shelf: Shelf) -> None:
    page = shelf.put("right", "")
    (shelf.folder / "a55").mkdir()
    strange = page.rename(shelf.folder / "a55" / "right.svg")
    (finding,) = check_drawings([strange])[0]
    assert (finding.severity, finding.rule) == (Severity.LOOK, "size")
    assert "did you mean 'a5'?" in finding.remedy


def test_a_file_that_is_broken(shelf: Shelf) -> None:
    path = shelf.put("right", "<g>")
    (finding,) = check_drawings([path])[0]
    assert (finding.severity, finding.rule, finding.line) == (Severity.MUST, "file", 5)


@pytest.mark.parametrize(
    ("drawn", "severity"),
    [
        ('<text id="it" x="140" y="20">sowing</text>', "mend"),
        ('<rect id="lines-6mm" x="140" y="20" width="20" height="30" stroke="#999"/>', "mend"),
        ('<path id="it" d="M100 50H180" stroke="#999"/>', "note"),
    ],
)
def test_across_the_fold(flapped: Shelf, drawn: str, severity: str) -> None:
    (finding,) = flapped.look("flapped-recto", drawn, width=190)
    assert (finding.word, finding.rule) == (severity, "fold")


def test_a_ground_below_everything_may_cross_the_fold_and_the_rings(flapped: Shelf) -> None:
    ground = '<rect width="190" height="210" fill="#fafaf5"/>'
    assert flapped.look("flapped-recto", ground, width=190) == []


def test_a_frame_along_the_rings_is_in_the_punch_zone(shelf: Shelf) -> None:
    """Its box is as large as the page, but its line runs where the holes are."""
    frame = '<rect x="5" y="5" width="120" height="200" fill="none" stroke="#999"/>'
    (finding,) = shelf.look("right", frame)
    assert (finding.rule, finding.severity) == ("punch", Severity.LOOK)


def test_curves_bulging_past_the_holes_are_seen(shelf: Shelf) -> None:
    """The ends and the control points lie clear, or the control points do not: the line counts."""
    clear = '<path d="M30 50C7 60 7 60 30 70" fill="none" stroke="#999"/>'
    inside = '<path d="M30 50C-6 60 -6 60 30 70" fill="none" stroke="#999"/>'
    assert shelf.look("right", clear) == []
    assert [one.rule for one in shelf.look("right", inside)] == ["punch"]


def test_transforms_count(shelf: Shelf) -> None:
    moved = '<g transform="translate(-30 0) scale(2)"><text id="it" x="20" y="20">a</text></g>'
    assert [one.rule for one in shelf.look("right", moved)] == ["punch"]
    thin = '<g transform="scale(.25)"><path d="M99 99h50" stroke="#000" stroke-width=".6"/></g>'
    (finding,) = shelf.look("right", thin)
    assert finding.rule == "hairline"
    assert "0.15 mm" in finding.message


def test_days_that_no_page_of_the_spread_shows(shelf: Shelf) -> None:
    def names(*days: int) -> str:
        return "".join(f'<text id="day{n}-name" x="30" y="{20 * n}">x</text>' for n in days)

    shelf.put("left", names(1, 2, 3))
    (finding,) = shelf.look("right", names(4, 5, 7))
    assert (finding.rule, finding.severity) == ("missing", Severity.LOOK)
    assert "day6" in finding.message
    assert shelf.look("right", names(4, 5, 6, 7)) == []


def test_a_day_without_what_its_fellows_have(shelf: Shelf) -> None:
    days = "".join(
        f'<text id="day{n}-name" x="30" y="{20 * n}">x</text>'
        + (f'<text id="day{n}-number" x="60" y="{20 * n}">1</text>' if n != 4 else "")
        for n in range(1, 8)
    )
    shelf.put("left", "")
    (finding,) = shelf.look("right", days)
    assert "day4-number" in finding.message


def test_an_opening_with_too_few_months(shelf: Shelf) -> None:
    grid = (
        '<g id="month{0}-grid"><rect x="30" y="{1}" width="40" height="40" fill="none"/>'
        '<text x="32" y="{1}">1</text></g>'
    )
    two = "".join(grid.format(n, 45 * n) for n in (1, 2))
    (finding,) = shelf.look("opening", two)
    assert "room for 2 months" in finding.message
    assert shelf.look("opening", two + grid.format(3, 135)) == []


def test_what_kind_of_page_it_is_is_told_by_its_keys_where_no_season_says(shelf: Shelf) -> None:
    month = "".join(f'<text id="date{n}-name" x="30" y="{6 * n}">x</text>' for n in range(1, 32))
    assert shelf.look("month", month) == []
    (finding,) = shelf.look("month", month + '<text id="day1-name" x="60" y="30">x</text>')
    assert "isn't a key on a page for a month" in finding.message


@pytest.mark.parametrize("every", [5, pytest.param(1, marks=pytest.mark.wide)])
def test_the_demo_collection_is_clean(every: int) -> None:
    """In every size: nothing to mend and nothing to look at; fine artwork is noted."""
    pages = templates_under(ROOT / "templates_svg")
    assert len(pages) >= 42
    assert len({page.parent.name for page in pages[::every]}) >= 4
    findings, _ = check_drawings(pages[::every])
    assert {(one.severity, one.rule) for one in findings} <= {(Severity.NOTE, "hairline")}


def test_pages_of_a_collection_only(tmp_path: Path, shelf: Shelf) -> None:
    page = shelf.put("right", "")
    (shelf.folder / "directions" / "pictures").mkdir(parents=True)
    (shelf.folder / "directions" / "pictures" / "cut.svg").write_text("<svg/>")
    assert templates_under(tmp_path) == [page]
