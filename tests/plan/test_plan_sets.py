"""Leaves, page mates and labels of whole sets."""

from __future__ import annotations

import datetime as dt
from collections.abc import Callable
from pathlib import Path

import pytest
from dateutil.relativedelta import relativedelta
from dateutil.rrule import MONTHLY, WEEKLY, rrule

from pipeline.base.errors import UserError
from pipeline.plan import SeasonPlan, plan_season
from pipeline.plan.model import Binding, SetPlan, Side
from pipeline.plan.sets import run_of

LayOut = Callable[[str], Path]

MONTHS = [f"{year}-{month:02d}" for year in range(2024, 2036) for month in range(1, 13)]


def _sets(plan: SeasonPlan, name: str) -> list[SetPlan]:
    return [one for one in plan.sets if one.name == name]


def _with_periods(text: str, periods: str) -> str:
    return text.replace('[[period]]\nname = "august"\nmonth = "2027-08"\n', periods)


@pytest.mark.parametrize("weekday", ["monday", "saturday", "sunday"])
@pytest.mark.parametrize("weeks", ["begins", "majority", "touches"])
def test_leaves_and_page_mates_of_every_month(
    lay_out: LayOut, season_text: str, weeks: str, weekday: str
) -> None:
    periods = "".join(f'[[period]]\nname = "m{month}"\nmonth = "{month}"\n' for month in MONTHS)
    text = _with_periods(season_text, periods).replace("begins", weeks).replace("monday", weekday)
    plan = plan_season(lay_out(text))
    for name, each_week in (("running", 1), ("between", 2)):
        sets = _sets(plan, name)
        assert len(sets) == 144
        met: list[dt.date] = []
        for one in sets:
            count = len({spread.verso.facts.dates for spread in one.spreads})
            assert len(one.spreads) == each_week * count
            assert len(one.leaves) == each_week * count + 1
            assert one.leaves[0].recto is not None
            assert one.leaves[0].recto.template == "opening"
            assert one.leaves[-1].verso is not None
            assert one.leaves[-1].verso.template == "closing"
            for place, spread in enumerate(one.spreads):
                assert spread.recto is not None
                # facing pages are about the same week, and lie on neighbouring leaves
                assert spread.verso.facts.dates == spread.recto.facts.dates
                assert one.leaves[place].verso is spread.verso
                assert one.leaves[place + 1].recto is spread.recto
                assert (spread.verso.side, spread.recto.side) == (Side.VERSO, Side.RECTO)
            weeks_in_order = [s.verso.facts.dates for s in one.spreads[::each_week]]
            assert weeks_in_order == sorted(set(weeks_in_order))
            met += [day for dates in weeks_in_order for day in dates]
        if weeks == "touches":
            assert {dt.date(2024, 1, 1) + dt.timedelta(days=n) for n in range(4383)} <= set(met)
        else:
            assert len(met) == len(set(met))
            assert (met[-1] - met[0]).days + 1 == len(met)


def test_runs_with_the_same_per_take_turns_week_by_week(lay_out: LayOut, season_text: str) -> None:
    (between,) = _sets(plan_season(lay_out(season_text)), "between")
    assert [s.verso.template for s in between.spreads] == ["week-left", "list"] * 5
    assert [s.verso.label.replace("\u2009", " ") for s in between.spreads[:4]] == [
        "W31 2–8 Aug",
        "list W31 2–8 Aug",
        "W32 9–15 Aug",
        "list W32 9–15 Aug",
    ]
    assert between.spreads[-1].recto is not None
    assert between.spreads[-1].recto.label.replace("\u2009", " ") == "plan W35 30 Aug – 5 Sept"


def test_a_month_comes_before_the_first_week_that_begins_in_it(
    lay_out: LayOut, season_text: str
) -> None:
    text = _with_periods(
        season_text, '[[period]]\nname = "turn"\nfrom = 2026-12-28\nto = 2027-01-10\n'
    ).replace(
        "spreads = [\n",
        'spreads = [\n  { verso = "list", recto = "plan", per = "once" },\n'
        '  { verso = "month-left", recto = "month-right", per = "month" },\n',
        1,
    )
    (running,) = _sets(plan_season(lay_out(text), only="running"), "running")
    assert [s.verso.label.replace("\u2009", " ") for s in running.spreads] == [
        "list",
        "December 2026",
        "W53 28 Dec 2026 – 3 Jan 2027",
        "January 2027",
        "W01 4–10 Jan",
    ]
    assert [s.verso.facts.kind for s in running.spreads] == ["once", *["month", "week"] * 2]


def _run_of(lay_out: LayOut, season_text: str, period: str, spreads: str) -> list[str]:
    """What the pages of a set are called, spread by spread, verso before recto."""
    text = _with_periods(season_text, f'[[period]]\nname = "run"\n{period}\n')
    head, _, rest = text.partition('[[set]]\nname = "running"')
    kept = rest[rest.index("[[set]]") :]
    entry = f'[[set]]\nname = "running"\nspreads = [{spreads}]\n\n'
    (running,) = _sets(plan_season(lay_out(head + entry + kept), only="running"), "running")
    return [
        page.label.replace("\u2009", " ") if page else "blank"
        for spread in running.spreads
        for page in (spread.verso, spread.recto)
    ]


def _entry(name: str, per: str, more: str = "") -> str:
    return f'{{ verso = "{name}", recto = "{name}", per = "{per}"{more} }},'


def test_longer_and_shorter_times_nest(lay_out: LayOut, season_text: str) -> None:
    spreads = (
        _entry("plan", "year") + _entry("plan", "quarter") + _entry("month-left", "month")
        + _entry("week-left", "week") + _entry("list", "week", ", every = 2")
    )  # fmt: skip
    run = _run_of(lay_out, season_text, 'months = ["2027-03", "2027-04"]', spreads)[::2]
    # 2027's Mondays from 1 March: ISO 8601 weeks 9 to 17.
    assert run == [
        "2027", "Mar 2027", "March 2027", "W09 1–7 Mar", "W10 8–14 Mar", "list W10 8–14 Mar",
        "W11 15–21 Mar", "W12 22–28 Mar", "list W12 22–28 Mar", "W13 29 Mar – 4 Apr",
        "Apr 2027", "April 2027", "W14 5–11 Apr", "list W14 5–11 Apr", "W15 12–18 Apr",
        "W16 19–25 Apr", "list W16 19–25 Apr", "W17 26 Apr – 2 May",
    ]  # fmt: skip


@pytest.mark.parametrize(
    ("first", "last", "weeks"),
    [
        ("2026-09", "2027-08", 52),  # a school year: from Monday 7 September to 5 September
        ("2027-01", "2028-06", 78),  # 18 months: from Monday 4 January to 2 July
        ("2027-07", "2028-06", 52),
    ],
)
def test_long_periods_keep_every_time_in_its_place(
    lay_out: LayOut, season_text: str, first: str, last: str, weeks: int
) -> None:
    spreads = (
        _entry("plan", "quarter") + _entry("month-left", "month") + _entry("week-left", "week")
        + _entry("list", "week", ", every = 2")
    )  # fmt: skip
    text = _with_periods(season_text, f'[[period]]\nname = "run"\nmonths = ["{first}", "{last}"]\n')
    head, _, rest = text.partition('[[set]]\nname = "running"')
    text = (
        f'{head}[[set]]\nname = "running"\nspreads = [{spreads}]\n{rest[rest.index("[[set]]") :]}'
    )
    (running,) = plan_season(lay_out(text), only="running").sets
    run = [(s.verso.template, s.verso.facts.dates[0]) for s in running.spreads]
    # The calendar's own weeks and months, by Python's datetime and dateutil's rules.
    start, end = (dt.date.fromisoformat(f"{month}-01") for month in (first, last))
    end += relativedelta(months=1, days=-1)
    mondays = [day.date() for day in rrule(WEEKLY, start, byweekday=0, until=end)]
    months = [day.date() for day in rrule(MONTHLY, start, until=end)]
    assert [day for name, day in run if name == "week-left"] == mondays
    assert len(mondays) == weeks
    assert [day for name, day in run if name == "month-left"] == months
    assert [day for name, day in run if name == "list"] == mondays[1::2]
    quarters = [day for day in months if day == start or day.month in (1, 4, 7, 10)]
    assert [day for name, day in run if name == "plan"] == quarters
    places = {entry: place for place, entry in enumerate(run)}
    for month in months:
        begins = min(day for day in mondays if day >= month)
        # A month comes before the first week that begins in it, and nothing but longer times and
        # weeks before it comes earlier.
        assert places["week-left", begins] == places["month-left", month] + 1
    for quarter in quarters:
        assert places["month-left", quarter] == places["plan", quarter] + 1
    for monday in mondays[1::2]:
        assert places["list", monday] == places["week-left", monday] + 1


def test_a_set_s_run_is_told_spread_by_spread(lay_out: LayOut, season_text: str) -> None:
    plan = plan_season(lay_out(season_text))
    (between,), (record,) = _sets(plan, "between"), _sets(plan, "record")
    lines = [tuple(line) for line in run_of(between)]
    # August 2027 from Monday 2 August has five weeks, ISO 8601's 31 to 35: arithmetic.
    told = [tuple(part.replace("\u2009", " ") for part in line) for line in lines]
    assert told[0] == ("", "", "", "1", "opening", "", "the whole period")
    assert told[1] == ("1", "1", "week-left", "2", "week-right", "", "week 31, 2–8 August 2027")
    assert told[2] == ("2", "2", "list", "3", "plan", "", "week 31, 2–8 August 2027")
    assert told[10][-1] == "week 35, 30 August – 5 September 2027"
    assert told[11:] == [("", "11", "closing", "", "", "", "the whole period")]
    assert [tuple(line) for line in run_of(record)] == [
        ("", "", "", "1", "record", "", "no dates"),
        ("", "1", "ruled", "", "", "", "no dates"),
        ("", "", "", "2", "record", "", "no dates"),
    ]


def test_a_run_counts_weeks_in_plain_figures(lay_out: LayOut, season_text: str) -> None:
    text = season_text.replace('"en-GB"', '"ar-EG"')
    (running,) = _sets(plan_season(lay_out(text)), "running")
    assert running.spreads[0].verso.facts.texts["week-number"] == ("٣١",)
    assert run_of(running)[1].about.startswith("week 31, 2")


def test_each_page_can_have_a_day_of_its_own(lay_out: LayOut, season_text: str) -> None:
    days = _entry("list", "day", ", each_page = true")
    run = _run_of(lay_out, season_text, "from = 2027-03-01\nto = 2027-03-03", days)
    assert run == ["Mon 1 Mar", "Tue 2 Mar", "Wed 3 Mar", "blank"]


def test_half_weeks_share_out_the_week(lay_out: LayOut, season_text: str) -> None:
    halves = _entry("week-left", "half-week")
    run = _run_of(lay_out, season_text, "from = 2027-03-01\nto = 2027-03-07", halves)[::2]
    assert run == ["W09 1–3 Mar", "W09 4–7 Mar"]


def test_months_step(lay_out: LayOut, season_text: str) -> None:
    text = _with_periods(
        season_text, '[[period]]\nname = "q"\nmonths = ["2027-01", "2027-08"]\nstep = 3\n'
    )
    season = plan_season(lay_out(text), only="running")
    assert [(one.period.name, one.period.title.replace("\u2009", " ")) for one in season.sets] == [
        ("q-2027-01", "January – March 2027"),
        ("q-2027-04", "April – June 2027"),
        ("q-2027-07", "July – August 2027"),
    ]


def test_a_set_can_be_made_for_some_periods_alone(lay_out: LayOut, season_text: str) -> None:
    text = _with_periods(
        season_text,
        '[[period]]\nname = "q"\nmonths = ["2027-01", "2027-06"]\nstep = 3\n'
        '[[period]]\nname = "august"\nmonth = "2027-08"\n',
    )
    text = text.replace('name = "running"\n', 'name = "running"\nperiods = ["q"]\n')
    text = text.replace(
        'name = "between"\n', 'name = "between"\nperiods = ["q-2027-04", "august"]\n'
    )
    made = [(one.name, one.period.name) for one in plan_season(lay_out(text)).sets]
    assert made == [
        ("running", "q-2027-01"),
        ("running", "q-2027-04"),
        ("between", "q-2027-04"),
        ("between", "august"),
        ("record", "undated"),
    ]


# 1 January 2027 is a Friday: of the week from Sunday 27 December on, two days are in 2027.
@pytest.mark.parametrize(
    ("language", "asked", "numbers"),
    [
        ("en-US", "", [53, 1]),
        ("en-US", 'week_numbers = "iso"', [53, 1]),
        ("en-US", 'week_numbers = "locale"', [1, 2]),
        ("en-GB", 'week_numbers = "locale"', [53, 1]),
        ("en-US-u-fw-mon", 'week_numbers = "locale"', [1, 2]),
    ],
)
def test_weeks_are_numbered_as_the_season_says(
    lay_out: LayOut, season_text: str, language: str, asked: str, numbers: list[int]
) -> None:
    text = _with_periods(
        season_text, '[[period]]\nname = "turn"\nfrom = 2026-12-27\nto = 2027-01-05\n'
    ).replace('first_weekday = "monday"', asked)
    text = text.replace('["en-GB"]', f'["{language}"]')
    (running,) = _sets(plan_season(lay_out(text), only="running"), "running")
    facts = [spread.verso.facts for spread in running.spreads]
    assert [one.texts["week-number"] for one in facts] == [(str(n),) for n in numbers]
    labels = [spread.verso.label.split()[0] for spread in running.spreads]
    assert labels == [f"W{n:02d}" for n in numbers]
    assert facts[-1].months["month-grid"].week_numbers[:2] == tuple(map(str, numbers))


def test_undated_leaves_are_made_once(lay_out: LayOut, season_text: str) -> None:
    text = season_text + '\n[[period]]\nname = "september"\nmonth = "2027-09"\n'
    (record,) = _sets(plan_season(lay_out(text)), "record")
    assert (record.period.name, record.period.first) == ("undated", None)
    assert record.spreads == ()
    front, blank_backed = record.leaves
    assert front.recto is not None
    assert front.verso is not None
    assert (front.recto.label, front.verso.template) == ("record", "ruled")
    assert front.recto.facts.kind == "undated"
    assert blank_backed.verso is None
    assert len(record.pages) == 3


def test_without_opening_or_closing_those_sides_are_blank(
    lay_out: LayOut, season_text: str
) -> None:
    text = season_text.replace('opening = "opening"\n', "").replace('closing = "closing"\n', "")
    (running,) = _sets(plan_season(lay_out(text)), "running")
    assert running.leaves[0].recto is None
    assert running.leaves[-1].verso is None
    assert len(running.leaves) == 6


def test_a_leaf_is_as_wide_as_its_widest_side(lay_out: LayOut, season_text: str) -> None:
    (running,) = _sets(plan_season(lay_out(season_text)), "running")
    assert running.spreads[0].verso.flap_mm == 42
    assert running.spreads[0].recto is not None
    assert running.spreads[0].recto.flap_mm == 0
    assert [leaf.flap_mm for leaf in running.leaves] == [42, 42, 42, 42, 42, 0]


def test_languages_multiply_sets_and_turn_the_binding(lay_out: LayOut, season_text: str) -> None:
    text = season_text.replace('["en-GB"]', '["en-GB", "ar-EG"]').replace(
        'first_weekday = "monday"\n', ""
    )
    english, arabic = _sets(plan_season(lay_out(text)), "running")
    assert (english.binding, arabic.binding) == (Binding.LEFT, Binding.RIGHT)
    # without a weekday in the file, weeks begin as CLDR says for Great Britain and for Egypt
    assert english.spreads[0].verso.facts.dates[0].weekday() == 0
    assert arabic.spreads[0].verso.facts.dates[0].weekday() == 5


def test_the_demo_season() -> None:
    plan = plan_season(Path(__file__).parents[2] / "seasons" / "2027-spring.toml")
    leaves = {(one.period.name, one.name): len(one.leaves) for one in plan.sets}
    weeks = {"march": 4, "april": 5, "may": 4, "quarter": 13}
    expected = {("undated", "plant-record"): 4}
    for period, count in weeks.items():
        expected[period, "running"] = count + 1
        expected[period, "two-flap-sowing"] = count + 2  # lists and the bed plan once
        expected[period, "two-flap-list"] = 2 * count + 1
    assert leaves == expected
    assert [paper.name for paper in plan.papers] == ["letter", "a4"]
    assert plan.printer.unprintable_mm == 6.35
    quarter = next(o for o in plan.sets if (o.period.name, o.name) == ("quarter", "running"))
    days = [day for spread in quarter.spreads for day in spread.verso.facts.dates]
    assert (days[0], days[-1], len(days)) == (dt.date(2027, 3, 1), dt.date(2027, 5, 30), 91)


COLOURS = """
[colours.rust]
title = { en = "rust red" }
change = { "#2d6a4f" = "#8a3b1c" }

[colours.ink]
ink = "grey"
"""
GREEN_PAGE = "<svg xmlns='http://www.w3.org/2000/svg'><path fill='#2d6a4f'/></svg>"


def _in_colours(lay_out: LayOut, season_text: str, asked: str, colours: str = COLOURS) -> Path:
    path = lay_out(season_text.replace("[[period]]", f"colours = {asked}\n\n[[period]]", 1))
    beds = path.parent.parent / "templates_svg" / "beds"
    with (beds / "collection.toml").open("a") as file:
        file.write(colours)
    (beds / "a5" / "week-left.svg").write_text(GREEN_PAGE)
    return path


def test_colours_make_sets_of_their_own(lay_out: LayOut, season_text: str) -> None:
    path = _in_colours(lay_out, season_text, '["as-drawn", "rust", "ink"]')
    sets = [one for one in plan_season(path).sets if one.name.startswith("running")]
    assert [(one.name, one.title) for one in sets] == [
        ("running", "running"),
        ("running-rust", "running (rust red)"),
        ("running-ink", "running (ink)"),
    ]
    assert [one.colours and one.colours.greys for one in sets] == [None, False, True]


def test_a_colour_may_stand_in_the_watermark_alone(lay_out: LayOut, season_text: str) -> None:
    colours = COLOURS.replace("#2d6a4f", "#123456")
    path = _in_colours(lay_out, season_text, '["rust"]', colours)
    beds = path.parent.parent / "templates_svg" / "beds"
    (beds / "watermark.svg").write_text(GREEN_PAGE.replace("#2d6a4f", "#123456"))
    assert {one.colours.name for one in plan_season(path).sets if one.colours} == {"rust"}


@pytest.mark.parametrize(
    ("asked", "colours", "says", "remedy"),
    [
        ('["rast"]', COLOURS, "has no colours 'rast'", "did you mean 'rust'?"),
        ('["rust"]', COLOURS.replace("#2d6a4f", "#2d6a40"), "no page of the collection has the"
         " colour #2d6a40", "the nearest is #2d6a4f"),
        ('["rust"]', COLOURS.replace("#8a3b1c", "rusty"), "'rusty' isn't a colour", "#2d6a4f"),
    ],
)  # fmt: skip
def test_colours_that_are_not_there_are_told(
    lay_out: LayOut, season_text: str, asked: str, colours: str, says: str, remedy: str
) -> None:
    with pytest.raises(UserError) as refused:
        plan_season(_in_colours(lay_out, season_text, asked, colours))
    assert says in refused.value.what
    assert remedy in refused.value.remedy
