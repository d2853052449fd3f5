"""Starter pages of every kind: true size, every key in place, clean under lint, and they build."""

from __future__ import annotations

import shutil
import subprocess
from pathlib import Path

import pytest
from lxml import etree

from pipeline.app.build import faces_of, make_season
from pipeline.base.errors import UserError
from pipeline.base.geometry import PT_PER_MM
from pipeline.drawings.checks import check_drawings
from pipeline.drawings.checks.usage import facts_of_kind
from pipeline.drawings.starters.starter import KINDS, LABELS, starter_page, write_starter
from pipeline.fill import fill_set
from pipeline.fill.keys import key_in
from pipeline.fill.repeats import repeated
from pipeline.fill.template import TemplateFile, computed_style, open_template, read_template
from pipeline.plan import plan_season
from pipeline.plan.model import Side
from pipeline.plan.sizes import load_sizes
from pipeline.svg.tree import SVG, names

SIZES = load_sizes(None)
INKSCAPE = "{http://www.inkscape.org/namespaces/inkscape}"
SODIPODI = "{http://sodipodi.sourceforge.net/DTD/sodipodi-0.dtd}"

BINDERS = [
    ("a4", 0.0),
    ("a5", 0.0),
    ("a5", 42.0),
    ("a6", 40.0),
    ("half-letter", 0.0),
    ("letter", 60.0),
    ("mini", 0.0),
    ("mini", 25.0),
    ("personal", 40.0),
    ("pocket", 0.0),
]
SHARE = [("a5", 42.0), ("personal", 40.0), ("mini", 0.0)]
MARKERS = ("a5-marker", "personal-marker")

SEASON = """
name = "starters"
title = "Starters"
collection = "starters"
language = ["en-GB", "de", "pl"]
label_fallback = "en"
sizes = ["{binder}"]
papers = ["tabloid"]
first_weekday = "monday"

[[period]]
name = "spring"
months = ["2027-03", "2027-05"]

[[set]]
name = "all"
title = {{ en = "All of them", de = "Alle", pl = "Wszystkie" }}
opening = "opening-recto"
closing = "opening-verso"
spreads = [
  {{ verso = "week-verso", recto = "week-recto", per = "week" }},
  {{ verso = "month-verso", recto = "month-recto", per = "month" }},
]

[[set]]
name = "months"
title = {{ en = "Months", de = "Monate", pl = "Miesiące" }}
spreads = [
  {{ verso = "month-grid-verso", recto = "tracker-recto", per = "month" }},
  {{ verso = "tracker-verso", recto = "month-grid-recto", per = "month" }},
]

[[set]]
name = "days"
title = {{ en = "Days", de = "Tage", pl = "Dni" }}
opening = "year-recto"
closing = "year-verso"
spreads = [{{ verso = "day-verso", recto = "day-recto", per = "day" }}]

[[set]]
name = "undated"
title = {{ en = "Undated", de = "Ohne Daten", pl = "Bez dat" }}
leaves = [
  {{ recto = "list-recto", verso = "list-verso" }},
  {{ recto = "notes-recto", verso = "notes-verso" }},
  {{ recto = "marker-recto", verso = "marker-verso" }},
]

[[set]]
name = "dividers"
title = {{ en = "Dividers", de = "Register", pl = "Przekładki" }}
{tab}
spreads = [{{ verso = "divider-verso", recto = "divider-recto", per = "month" }}]
"""


def shelf(folder: Path, binder: str, flap: float) -> list[Path]:
    """A workspace with every kind of starter page for both sides, in one binder size."""
    collection = folder / "templates_svg" / "starters"
    pages = []
    flaps = [f"[flaps_mm.{binder}]"]
    for kind in KINDS:
        for side in Side:
            pages.append(collection / binder / f"{kind}-{side}.svg")
            write_starter(pages[-1], kind, SIZES.binder(binder), flap, side)
            flaps.append(f"{kind}-{side} = {flap:g}")
    told = "\n".join(flaps) if flap else ""
    (collection / "collection.toml").write_text(f'title = "Starters"\n{told}\n', "utf-8")
    (collection / "labels").mkdir()
    labels = "\n".join(f'{key} = "{word}"' for key, word in LABELS.items())
    (collection / "labels" / "en.toml").write_text(labels, "utf-8")
    (folder / "seasons").mkdir()
    season = folder / "seasons" / "starters.toml"
    tab = "" if flap else "tab = { of = 12, reach_mm = 10 }"
    season.write_text(SEASON.format(binder=binder, tab=tab), "utf-8")
    return pages


@pytest.mark.parametrize(
    ("binder", "flap"),
    [pytest.param(*one, marks=() if one in SHARE else pytest.mark.wide) for one in BINDERS],
)
def test_every_kind_is_clean_and_its_text_fits(tmp_path: Path, binder: str, flap: float) -> None:
    """In three languages, one of them with long names of days and months."""
    pages = shelf(tmp_path, binder, flap)
    findings, _ = check_drawings(pages)
    few = "has room for 2 months"  # the smallest binder has no more room to read them in
    assert [str(one) for one in findings if few not in one.message or binder != "mini"] == []
    plan = plan_season(tmp_path / "seasons" / "starters.toml")
    templates = {page.stem: open_template(page) for page in pages}
    for one in plan.sets:
        filled = fill_set(one, templates, faces_of(plan).book())
        assert len(filled) == len(one.pages)


@pytest.mark.parametrize("side", Side)
@pytest.mark.parametrize("binder", MARKERS)
def test_a_marker_is_clean(tmp_path: Path, binder: str, side: Side) -> None:
    page = tmp_path / binder / f"marker-{side}.svg"
    write_starter(page, "marker", SIZES.binder(binder), 0, side)
    findings, _ = check_drawings([page])
    assert [str(one) for one in findings] == []


def test_they_build(tmp_path: Path) -> None:
    shelf(tmp_path, "personal", 40)
    made = make_season(tmp_path / "seasons" / "starters.toml", tmp_path / "build", only="undated")
    assert len(made) == 3
    assert {one.leaves for one in made} == {3}


@pytest.mark.parametrize("side", Side)
@pytest.mark.parametrize(("binder", "flap"), BINDERS)
def test_true_size(binder: str, flap: float, side: Side) -> None:
    size = SIZES.binder(binder)
    file = TemplateFile(Path("week.svg"), starter_page("week", size, flap, side).svg)
    page = read_template(file)
    assert page.width_mm == pytest.approx(size.width_mm + flap)
    assert page.height_mm == pytest.approx(size.height_mm)


PLANNED_AS = {
    "month-grid": "month", "tracker": "month", "opening": "once", "list": "undated",
    "notes": "undated", "divider": "month", "marker": "undated",
}  # fmt: skip
"""How often the pages of a starter come, where its kind is called otherwise."""


def names_on(kind: str, flap: float = 42) -> set[str]:
    """Every key and ``show-…`` on a page, its samples repeated."""
    file = TemplateFile(Path(f"{kind}.svg"), starter_page(kind, SIZES.binder("a5"), flap).svg)
    page = repeated(read_template(file), facts_of_kind(PLANNED_AS.get(kind, kind)))
    called = (name for element in page.root.iter() for name in names(element))
    return {key_in(name) for name in called}


DAY = {"name", "number", "month", "date"}
HOURS = {f"hour{hour}" for hour in range(7, 21)}
HEADING = {"month-name", "year"}
OWN: dict[str, set[str]] = {
    "week": {f"day{n}-{part}" for n in range(1, 8) for part in DAY}
    | HEADING | {"week-range", "week-number", "month-grid"},
    "month": {f"date{n}-{part}" for n in range(1, 32) for part in ("number", "name")}
    | HEADING | {"month-number", "month-grid"},
    # March 2027 begins on a Monday: five weeks from 1 March to 4 April.
    "month-grid": {f"cell{n}-number" for n in range(1, 36)}
    | {f"weekday{n}-name" for n in range(1, 8)} | HEADING,
    "tracker": {f"date{n}-{part}" for n in range(1, 32) for part in ("number", "name")} | HEADING,
    "day": {"day-name", "day-date"} | HOURS,
    "year": {f"month{n}-{part}" for n in range(1, 13) for part in ("name", "grid")} | {"year"},
    "opening": {f"month{n}-{part}" for n in range(1, 13) for part in ("name", "year", "grid")}
    | {"set-title", "period-name", "period-range"},
    "list": {"label-list"},
    "notes": {"label-notes"},
    "divider": {"tab-label", "tab-name"},
    "marker": {"label-list"},
}  # fmt: skip
"""What the pages of each starter are for."""


@pytest.mark.parametrize("kind", KINDS)
def test_every_key_that_its_pages_are_for(kind: str) -> None:
    assert OWN[kind] <= names_on(kind)


@pytest.mark.parametrize("binder", sorted(SIZES.binders))
def test_a_year_has_no_type_that_is_too_small(binder: str) -> None:
    page = starter_page("year", SIZES.binder(binder))
    root = read_template(TemplateFile(Path("year.svg"), page.svg)).root
    sizes = [computed_style(text).size * PT_PER_MM for text in root.iter(SVG + "text")]
    assert min(sizes) >= 6 - 0.01  # points; common practice, as in a season's limits


def test_a_month_leaves_out_the_days_it_may_lack() -> None:
    assert {f"show-date{n}" for n in (29, 30, 31)} <= names_on("month")


@pytest.mark.parametrize("kind", KINDS)
def test_no_name_that_is_no_key(kind: str) -> None:
    flags = {f"show-{flag}" for flag in facts_of_kind(PLANNED_AS.get(kind, kind)).flags}
    shown = {name for name in names_on(kind) if name.startswith("show-")}
    assert shown <= flags


@pytest.mark.parametrize("side", Side)
def test_guides_say_where_the_leaf_is_cut_punched_and_folded(side: Side) -> None:
    binder = SIZES.binder("personal")
    root = etree.fromstring(starter_page("week", binder, 40, side).svg)
    guides = root.find(".//{*}g[@id='guides']")
    assert guides is not None
    assert guides.get(INKSCAPE + "groupmode") == "layer"
    assert guides.get(SODIPODI + "insensitive") == "1"
    holes = guides.findall("{*}circle")
    edge = binder.holes.edge_mm
    across = edge if side is Side.RECTO else 40 + binder.width_mm - edge
    assert [float(hole.get("cx", "")) for hole in holes] == [pytest.approx(across)] * len(holes)
    assert [float(hole.get("cy", "")) for hole in holes] == pytest.approx(binder.holes.centres_mm)
    fold = guides.find("{*}line[@id='guide-fold']")
    assert fold is not None
    assert float(fold.get("x1", "")) == (binder.width_mm if side is Side.RECTO else 40)


def test_guides_are_not_printed() -> None:
    file = TemplateFile(Path("week.svg"), starter_page("week", SIZES.binder("a5")).svg)
    ids = {element.get("id") for element in read_template(file).root.iter()}
    assert not any(str(name).startswith("guide") for name in ids)


def test_layers_a_title_and_millimetres_for_the_editor() -> None:
    root = etree.fromstring(starter_page("week", SIZES.binder("a5"), 42).svg)
    assert root.findtext("{*}title") == "week, A5 recto"
    assert (root.get("width"), root.get("viewBox")) == ("190mm", "0 0 190 210")
    layers = root.findall(f"{{*}}g[@{INKSCAPE}groupmode='layer']")
    assert [layer.get(INKSCAPE + "label") for layer in layers] == [
        "artwork", "rules", "text", "guides",
    ]  # fmt: skip
    view = root.find(SODIPODI + "namedview")
    assert view is not None
    assert view.get(INKSCAPE + "document-units") == "mm"


@pytest.mark.skipif(shutil.which("inkscape") is None, reason="inkscape is not installed")
def test_a_vector_editor_takes_it_as_it_is(tmp_path: Path) -> None:
    source, saved = tmp_path / "week.svg", tmp_path / "saved.svg"
    source.write_bytes(starter_page("week", SIZES.binder("a5"), 42).svg)
    done = subprocess.run(
        ["inkscape", str(source), "--export-plain-svg", f"--export-filename={saved}"],
        capture_output=True, text=True, check=True,
    )  # fmt: skip
    assert "parser error" not in done.stderr
    before = read_template(open_template(source))
    after = read_template(open_template(saved))
    assert (after.width_mm, after.height_mm) == pytest.approx((before.width_mm, before.height_mm))


def test_the_same_twice() -> None:
    assert starter_page("month", SIZES.binder("a6")) == starter_page("month", SIZES.binder("a6"))


def test_an_unknown_kind() -> None:
    with pytest.raises(UserError, match="did you mean 'week'"):
        starter_page("weak", SIZES.binder("a5"))


def test_a_flap_on_the_rings() -> None:
    with pytest.raises(UserError, match=r"84\.2 mm at most"):
        starter_page("week", SIZES.binder("personal"), 90)


def test_nothing_is_overwritten(tmp_path: Path) -> None:
    page = tmp_path / "week.svg"
    page.write_text("mine")
    with pytest.raises(UserError, match="is there already"):
        write_starter(page, "week", SIZES.binder("a5"), 0, Side.RECTO)
    assert page.read_text() == "mine"


def test_what_else_it_needs_is_told(tmp_path: Path) -> None:
    lines = write_starter(tmp_path / "list.svg", "list", SIZES.binder("a5"), 30, Side.RECTO)
    assert "    list = 30" in lines
    assert '    list = "To do"' in lines
