"""What the user can mend is said in one line: file, line, field, what is wrong, what to do."""

# ruff: noqa: E501  (one case a line reads better than a wrapped one)

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path

import pytest

from pipeline.base.errors import UserError
from pipeline.plan import plan_season
from pipeline.plan.collection import load_collection
from pipeline.plan.sizes import load_sizes

LayOut = Callable[[str], Path]

WEEK = '{ verso = "week-left", recto = "week-right", per = "week" }'
AUGUST = 'month = "2027-08"'


@pytest.mark.parametrize(
    ("before", "after", "says"),
    [
        # broken TOML: the line by tomllib
        ('title = "Trial"', 'title = "Trial', ", line 2: not valid TOML"),
        # fields
        ('title = "Trial"', 'titel = "Trial"', ", line 2, titel: there is no such field; did you mean 'title'?"),
        ('title = "Trial"\n', "", ", title: is missing; add it"),
        ('title = "Trial"', "title = 3", ", line 2, title: must be a text in quotes"),
        ('per = "week" },\n]', 'per = "weak" },\n]', ", line 19, set.running.spreads.1.per: 'weak' isn't a valid choice; did you mean 'week'?"),
        ('per = "week" },\n]', 'pre = "week" },\n]', ", line 19, set.running.spreads.1.pre: there is no such field; did you mean 'per'?"),
        ('weeks = "begins"', 'weeks = "begin"', ", line 7, weeks: 'begin' isn't a valid choice; did you mean 'begins'?"),
        ('"monday"', '"mondey"', ", line 8, first_weekday: 'mondey' isn't a valid choice; did you mean 'monday'?"),
        ('papers = ["letter", "a4"]', "papers = []", ", line 6, papers: is empty; give at least one"),
        ("[[period]]", '[pictures]\nclose_up = "week-lefd"\n\n[[period]]', ", line 11, pictures.close_up: no set has a page 'week-lefd'; did you mean 'week-left'?"),
        ("[[period]]", '[pictures]\nclose_up = ["week-left", "wek-right"]\n\n[[period]]', ", line 11, pictures.close_up: no set has a page 'wek-right'; did you mean 'week-right'?"),
        ("[[period]]", "[pictures]\nclose_up = []\n\n[[period]]", ", line 11, pictures.close_up: is empty; give at least one"),
        # names of things outside the file
        ('["en-GB"]', '["en-GX"]', ", line 4, language.1: 'en-GX': isn't a locale that CLDR knows; did you mean 'en-"),
        ('["en-GB"]', '["ger"]', "isn't a locale that CLDR knows; did you mean 'de'?"),
        ('["en-GB"]', '["en-UK"]', "isn't a locale that CLDR knows; did you mean 'en-GB'?"),
        ('["en-GB"]', '["qqqqq"]', "isn't a locale that CLDR knows; write it like 'en', 'en-GB' or 'pt-BR'"),
        ('["en-GB"]', '["en-ZZ"]', ", line 4, language.1: 'en-ZZ': isn't a locale that CLDR knows"),
        ('["en-GB"]', '["de"]', "collection 'beds' has no labels for 'de'; add labels/de.toml; there are: ar, en, en-GB"),
        ('["a5"]', '["a55"]', ", line 5, sizes.1: 'a55': no such binder size; did you mean 'a5'?"),
        ('["a5"]', '["a6"]', "collection 'beds' has no templates for size 'a6'; it is drawn for: a5"),
        ('"letter", "a4"', '"a4", "leter"', ", line 6, papers.2: 'leter': no such paper; did you mean 'letter'?"),
        ('"beds"', '"bedz"', ", collection: there is no collection 'bedz'; did you mean 'beds'?"),
        ('"beds"', '"../beds"', ", collection: '../beds' holds no collection.toml; the path is taken from "),
        ('verso = "week-left"', 'verso = "week-lefd"', "week-lefd.svg: there is no such template; the nearest is 'week-left.svg'"),
        # periods
        (AUGUST, "", ", line 10, period.august: gives its dates more than once, or not at all; give one of"),
        (AUGUST, AUGUST + "\nto = 2027-09-01", ", line 10, period.august: gives its dates more than once"),
        (AUGUST, "from = 2027-09-01", ", line 10, period.august: has only one of 'from' and 'to'; give both"),
        (AUGUST, "from = 2027-09-02\nto = 2027-09-01", ", line 10, period.august: is empty: it begins on 2027-09-02 and ends on 2027-09-01; put the earlier one first"),
        (AUGUST, "from = 2027-08-03\nto = 2027-08-05", ", period.august: is empty for set 'running': by the policy 'begins' no week from Monday belongs to 2027-08-03 to 2027-08-05; lengthen it"),
        (AUGUST, 'month = "2027-13"', ", line 12, period.august.month: '2027-13' isn't a valid month; write year and month, such as \"2027-03\""),
        ("[[set]]", '[[period]]\nname = "again"\nmonth = "2027-08"\n[[set]]', ", period.again: has the same days as 'august', 2027-08-01 to 2027-08-31; change one of the two"),
        (AUGUST, 'from = "2027-08-01"\nto = 2027-08-31', ", line 12, period.august.from: must be a date such as 2027-03-01, without quotes"),
        (AUGUST, 'months = ["2027-08", "2029-08"]', "touches 25 months and the most is 24; make two periods of it"),
        (AUGUST, 'month = "0001-01"', "lies outside the years 1583 to 9997; check the year"),
        ('"august"', '"undated"', ", line 11, period.undated.name: 'undated' is kept for sets without dates; give the period another name"),
        ('[[period]]\nname = "august"\nmonth = "2027-08"\n', "", ", set.running: has dated spreads and the season has no period; add a [[period]]"),
        # sets
        ('name = "between"', 'name = "between"\nperiods = ["augst"]', ", set.between.periods: the season has no period 'augst'; did you mean 'august'?"),
        ('name = "record"', 'name = "record"\nperiods = ["august"]', ", line 31, set.record: has no dates, and 'periods'; take 'periods' out"),
        (f"spreads = [\n  {WEEK},\n]", "", ", line 14, set.running: has no 'spreads' and no 'leaves'; give one"),
        ('name = "record"', f'name = "record"\nspreads = [{WEEK}]', ", line 31, set.record: has both 'spreads' and 'leaves'; give one"),
        ('name = "record"', 'name = "record"\nopening = "opening"', ", line 31, set.record: has 'leaves' and an opening or closing page"),
        ('{ recto = "record" } ]', "{ } ]", ", line 33, set.record.leaves.2: has neither 'recto' nor 'verso'; give at least one"),
        ('"between"', '"Running"', ", line 23, set.Running.name: the name 'Running' is used twice"),
        ('"between"', '"a/b"', ", line 23, set.a/b.name: 'a/b' cannot be the name of a folder; use letters"),
        ('"between"', '"nul"', ", line 23, set.nul.name: 'nul' cannot be the name of a folder"),
        # printer
        ("[[period]]", "[printer]\nunprintable_mm = -1\n[[period]]", ", line 11, printer.unprintable_mm: is -1 and must be at least 0"),
        ("[[period]]", "[printer]\nunprintable_mm = 26\n[[period]]", ", line 11, printer.unprintable_mm: is 26 and must be at most 25"),
        ("[[period]]", "[printer]\nunprintable_mm = nan\n[[period]]", ", line 11, printer.unprintable_mm: must be a finite number"),
    ],
)  # fmt: skip
def test_a_season_with_one_thing_wrong(
    lay_out: LayOut, season_text: str, before: str, after: str, says: str
) -> None:
    assert before in season_text
    path = lay_out(season_text.replace(before, after, 1))
    with pytest.raises(UserError) as caught:
        plan_season(path)
    line = str(caught.value)
    assert says in line
    assert "\n" not in line
    if says.startswith(","):
        assert line.startswith(str(path))


def test_the_same_season_unharmed_is_planned(lay_out: LayOut, season_text: str) -> None:
    assert len(plan_season(lay_out(season_text)).sets) == 3


def test_an_unknown_set_names_the_nearest(lay_out: LayOut, season_text: str) -> None:
    with pytest.raises(UserError, match=r"set 'runing': is not in .*did you mean 'running'\?") as e:
        plan_season(lay_out(season_text), only="runing")
    assert "\n" not in str(e.value)


def test_only_keeps_the_set_of_that_name(lay_out: LayOut, season_text: str) -> None:
    plan = plan_season(lay_out(season_text), only="record")
    assert [one.name for one in plan.sets] == ["record"]


def test_a_missing_season_file_names_the_nearest(lay_out: LayOut, season_text: str) -> None:
    path = lay_out(season_text).with_name("trail.toml")
    with pytest.raises(UserError, match=r"there is no such file; did you mean 'trial\.toml'"):
        plan_season(path)


@pytest.mark.parametrize(
    ("file", "text", "says"),
    [
        ("labels/en.toml", 'sowing = ""\n', "en.toml, line 1, sowing: has a form that isn't text or is empty"),
        ("labels/en.toml", 'a = "A"\nsowing = 3\n', "en.toml, line 2, sowing: must be a text, or a list of texts"),
        ("labels/en.toml", 'sowing = []\n', "en.toml, line 1, sowing: must be a text, or a list of texts"),
        ("labels/en-GB.toml", 'Sowing-3 = "x"\n', "en-GB.toml, line 1, Sowing-3: cannot be a label's key"),
        ("labels/en.toml", 'sowing = "x\n', "en.toml, line 1: not valid TOML"),
        ("labels/en.toml", 'sowing = "x"\npick = "p"\nsowing = [\n "y",\n]\n', "en.toml, line 3, sowing: is given twice, first on line 1; keep one of the two"),
        ("collection.toml", 'title = "B"\n[flaps_mm.a5]\nweek-left = -4\n', "collection.toml, line 3, flaps_mm.a5.week-left: a flap cannot be -4 mm wide"),
        ("collection.toml", 'title = "B"\n[flaps_mm.a5]\nweek-lift = 42\n', "collection.toml, line 3, flaps_mm.a5.week-lift: there is no such template; the nearest is 'week-left.svg'"),
        ("collection.toml", 'title = "B"\nflap_mm = 3\n', "collection.toml, line 2, flap_mm: there is no such field; did you mean 'flaps_mm'?"),
    ],
)  # fmt: skip
def test_a_collection_with_one_thing_wrong(
    lay_out: LayOut, season_text: str, file: str, text: str, says: str
) -> None:
    path = lay_out(season_text)
    (path.parents[1] / "templates_svg" / "beds" / file).write_text(text)
    with pytest.raises(UserError) as caught:
        plan_season(path)
    assert says in str(caught.value)
    assert "\n" not in str(caught.value)


def test_labels_of_a_locale_stand_over_its_parents(lay_out: LayOut, season_text: str) -> None:
    labels = load_collection("beds", lay_out(season_text)).labels("en-GB")
    assert labels == {"sowing": ("Sowing list", "Sowing"), "notes": ("Jottings",)}


def test_a_collection_may_lie_in_the_seasons_folder_or_anywhere(
    lay_out: LayOut, season_text: str
) -> None:
    path = lay_out(season_text)
    shop = path.parents[1]
    inner = path.parent / "templates_svg"
    (shop / "templates_svg").rename(inner)
    assert load_collection("beds", path).folder == inner / "beds"
    elsewhere = shop / "drawings"
    (inner / "beds").rename(elsewhere)
    assert load_collection("../drawings", path).folder == elsewhere
    with pytest.raises(UserError, match="there is no collection 'beds'"):
        load_collection("beds", path)


@pytest.mark.parametrize(
    ("text", "says"),
    [
        ("[binder.a5]\nwidth_mm = -1\n", "line 2, binder.a5.width_mm: is -1 and must be more than 0"),
        ("[binder.a5]\nwidth_mm = 0\n", "line 2, binder.a5.width_mm: is 0 and must be more than 0"),
        ("[binder.a5]\nheight_mm = 2100\n", "line 2, binder.a5.height_mm: is 2100 and must be at most 2000"),
        ("[binder.a5]\nheight_mm = inf\n", "line 2, binder.a5.height_mm: "),
        ("[binder.a5.holes]\nedge_mm = 2\n", "line 2, binder.a5.holes.edge_mm: holes 5.5 mm wide, 2 mm from the edge, are off the leaf (148 mm wide); give more than 2.75 and less than 145.25"),
        ("[binder.a5.holes]\ncentres_mm = [30, 209]\n", "line 2, binder.a5.holes.centres_mm: a hole 209 mm from the top is off the leaf (210 mm high); centres lie between 2.75 and 207.25"),
        ("[binder.a5.holes]\nspacings_mm = [5, 100]\n", "line 2, binder.a5.holes.spacings_mm: holes 5 mm apart run into one another"),
        ("[binder.a5.holes]\nspacings_mm = [80]\ncentres_mm = [60, 140]\n", "line 1, binder.a5.holes: give either 'centres_mm' or 'spacings_mm'"),
        ("[binder.a5]\nwidht_mm = 140\n", "line 2, binder.a5.widht_mm: there is no such field; did you mean 'width_mm'?"),
        ("[binder.square]\nwidth_mm = 140\nheight_mm = 140\n", "line 1, binder.square.holes: is missing"),
        ("[binder.'a/b']\nwidth_mm = 140\n", "cannot be the name of a folder"),
        ("[paper.roll]\nwidth_mm = 300\nheight_mm = 200\n", "line 2, paper.roll.width_mm: 300 × 200 mm is wider than high; give papers portrait"),
        ("[papers.roll]\nwidth_mm = 300\n", "line 1, papers: there is no such field; did you mean 'paper'?"),
    ],
)  # fmt: skip
def test_sizes_that_cannot_be(tmp_path: Path, text: str, says: str) -> None:
    path = tmp_path / "sizes.toml"
    path.write_text(text)
    with pytest.raises(UserError) as caught:
        load_sizes(path)
    assert says in str(caught.value)
    assert str(caught.value).startswith(str(path))
    assert "\n" not in str(caught.value)
