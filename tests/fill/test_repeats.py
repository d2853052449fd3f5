"""A sample drawn once stands in the place of each day, date, month and hour, and is fitted to it.

Days and weekdays are held against Python's calendar module.
"""

from __future__ import annotations

import calendar
import datetime as dt
from dataclasses import replace
from pathlib import Path

import pytest
from dateutil.relativedelta import relativedelta
from lxml import etree

from pipeline.base.errors import UserError
from pipeline.base.geometry import Rect
from pipeline.fill.repeats import DIMMED, repeated
from pipeline.fill.template import TemplateFile, read_template, rect_of
from pipeline.fill.texts import room_of
from pipeline.plan.calendar import Week
from pipeline.plan.facts import (
    Setting,
    day_facts,
    month_facts,
    months_facts,
    once_facts,
    week_facts,
    without_dates,
)
from pipeline.plan.model import Facts, Period
from pipeline.plan.words import words_for
from pipeline.svg.tree import SVG, names, page_matrix

ROOM = Rect(10, 20, 126, 150)
SAMPLE = (
    '<g><rect x="10" y="20" width="18" height="30" fill="none" stroke="black"/>'
    '<text id="date-number" x="12" y="26" font-size="5">1</text>'
    '<text id="date-name" x="26" y="26" font-size="3" text-anchor="end">Mon</text>'
    '<rect id="show-weekend" x="11" y="45" width="16" height="4"/></g>'
)


def _setting(month: dt.date, first_weekday: int = 0) -> Setting:
    period = Period("p", "P", month, month)
    return Setting(words_for("en-GB"), first_weekday, {}, "", period, month, month)


def _page(content: str, name: str = "each-date", room: Rect = ROOM) -> bytes:
    x, y, width, height = room
    return (
        '<svg xmlns="http://www.w3.org/2000/svg" width="148mm" height="210mm" '
        f'viewBox="0 0 148 210"><g id="{name}"><rect x="{x}" y="{y}" width="{width}" '
        f'height="{height}" fill="none"/>{content}</g></svg>'
    ).encode()


def _drawn(svg: bytes, facts: Facts) -> dict[str, etree._Element]:
    """The elements of a repeated page by the names they go by."""
    template = read_template(TemplateFile(Path("month.svg"), svg))
    elements = repeated(template, facts).root.iter()
    return {name: element for element in elements for name in names(element)}


def _place(element: etree._Element) -> tuple[float, float]:
    at = (float(element.get(axis, "0")) for axis in "xy")
    return page_matrix(element).point(*at)


@pytest.mark.parametrize("first_weekday", [0, 5, 6])
@pytest.mark.parametrize("month", [dt.date(2027, n, 1) for n in range(1, 13)])
def test_every_date_stands_under_its_weekday(month: dt.date, first_weekday: int) -> None:
    facts = month_facts(_setting(month, first_weekday), month)
    found = _drawn(_page(SAMPLE), facts)
    rows = calendar.Calendar(first_weekday).monthdatescalendar(month.year, month.month)
    days = [day for row in rows for day in row]
    for place, day in enumerate(days, start=1):
        row, column = divmod(place - 1, 7)
        x, y = _place(found[f"cell{place}-number"])
        assert facts.texts[f"cell{place}-number"] == (str(day.day),)
        assert facts.flags[f"cell{place}-weekend"] == (day.weekday() >= 5)
        assert facts.flags[f"cell{place}"] == (day.month == month.month)
        # 2 mm and 6 mm from the corner of the cell, as drawn, whatever its size.
        assert x == pytest.approx(ROOM.x + column * ROOM.width / 7 + 2)
        assert y == pytest.approx(ROOM.y + row * ROOM.height / len(rows) + 6)
    assert f"cell{len(days) + 1}-number" not in found


def test_a_sample_is_fitted_to_its_share_of_the_room() -> None:
    month = dt.date(2027, 2, 1)  # four weeks from a Monday, for which cells are higher than drawn
    facts = month_facts(_setting(month), month)
    found = _drawn(_page(SAMPLE), facts)
    height = ROOM.height / 4
    strip = found["show-cell28-weekend"]
    box = page_matrix(strip).bounds(rect_of(strip))
    corner = ROOM.x + 6 * ROOM.width / 7, ROOM.y + 3 * height
    # At the foot it keeps to the foot; at both sides it keeps to both.
    assert box.y == pytest.approx(corner[1] + height - 5)
    assert (box.x, box.width, box.height) == pytest.approx((corner[0] + 1, 16, 4))
    frame = next(found["cell28-number"].itersiblings(SVG + "rect", preceding=True))
    assert page_matrix(frame).bounds(rect_of(frame)) == pytest.approx(
        (*corner, ROOM.width / 7, height)
    )


def test_six_rows_are_kept_where_they_are_asked_for() -> None:
    month = dt.date(2027, 2, 1)
    facts = month_facts(_setting(month), month)
    room = Rect(10, 20, 126, 180)
    found = _drawn(_page(SAMPLE, "each-date-6rows", room), facts)
    assert _place(found["cell42-number"])[1] == pytest.approx(room.y + 5 * 30 + 6)
    assert facts.texts["cell42-number"] == ("14",)


@pytest.mark.parametrize("name", ["each-date-alone", "each-date-dim"])
def test_dates_of_neighbouring_months_are_left_out_or_dimmed(name: str) -> None:
    month = dt.date(2027, 5, 1)  # a Saturday
    facts = month_facts(_setting(month), month)
    template = read_template(TemplateFile(Path("month.svg"), _page(SAMPLE, name)))
    numbers = [
        element
        for element in repeated(template, facts).root.iter()
        if names(element) == ("cell1-number",)
    ]
    shown = [
        [step for one in element.iterancestors() for step in names(one)] for element in numbers
    ]
    opacities = [
        [one.get("opacity") for one in element.iterancestors() if one.get("opacity")]
        for element in numbers
    ]
    dim = name.endswith("dim")
    assert shown == [["show-cell1"], ["show-cell1-outside"]][: 1 + dim]
    assert opacities == [[], [str(DIMMED)]][: 1 + dim]
    assert (facts.flags["cell1"], facts.flags["cell1-outside"]) == (False, True)


@pytest.mark.parametrize(("year", "month"), [(2027, 2), (2028, 2), (2027, 4), (2027, 5)])
def test_days_of_a_month_run_down_or_across(year: int, month: int) -> None:
    first = dt.date(year, month, 1)
    facts = month_facts(_setting(first), first)
    count = calendar.monthrange(year, month)[1]
    row = (
        '<g><rect x="10" y="20" width="126" height="4.5" fill="none"/>'
        '<text id="date-number" x="12" y="24" font-size="3">1</text></g>'
    )
    drawn = _drawn(_page(row, "each-date-down"), facts)
    even = _drawn(_page(row, "each-date-down-even"), facts)
    last = f"date{count}-number"
    assert f"date{count + 1}-number" not in drawn
    assert _place(drawn[last])[1] == pytest.approx(ROOM.y + 4.5 * (count - 1) + 4)
    pitch = ROOM.height / count
    # In the lower half of its row, so it keeps its distance from the row's foot.
    assert _place(even[last])[1] == pytest.approx(ROOM.y + pitch * count - 0.5)


@pytest.mark.parametrize(("months", "high"), [(1, 37.5), (3, 37.5), (12, 37.5), (15, 30.0)])
def test_months_are_as_large_where_they_are_few(months: int, high: float) -> None:
    first = dt.date(2027, 1, 1)
    last = first + relativedelta(months=months, days=-1)
    setting = replace(_setting(first), period=Period("p", "P", first, last))
    block = (
        '<g><rect id="show-month" x="10" y="20" width="42" height="38" fill="none" stroke="black"/>'
        '<text id="month-name" x="12" y="30">March</text></g>'
    )
    drawn = _drawn(_page(block, "each-month"), once_facts(setting))
    for number in range(1, months + 1):
        rect = drawn[f"show-month{number}"]
        box = page_matrix(rect).bounds(rect_of(rect))
        # 126 mm hold three columns of 42 mm, 150 mm four rows of 38 mm or as many as are needed.
        row, column = divmod(number - 1, 3)
        assert box == pytest.approx((10 + 42 * column, 20 + high * row, 42, high))


def test_days_months_and_hours_are_repeated_too() -> None:
    month = dt.date(2027, 3, 1)
    cell = '<g><rect x="10" y="20" width="{}" height="{}" fill="none"/>{}</g>'
    day = cell.format(126, 20, '<text id="day-name" x="12" y="30">Mon</text>')
    week = _drawn(_page(day, "each-day"), week_facts(_setting(month), Week(month), 0, 1))
    assert _place(week["day7-name"])[1] - _place(week["day6-name"])[1] == pytest.approx(150 / 7)
    period = Period("p", "P", month, dt.date(2027, 8, 31))
    setting = Setting(words_for("en"), 0, {}, "", period, period.first, period.last)
    block = cell.format(60, 40, '<text id="month-name" x="12" y="30">March</text>')
    year = _drawn(_page(block, "each-month"), once_facts(setting))
    # Two columns, and the four rows that 40 mm go into 150 mm: 37.5 mm each.
    assert [_place(year[f"month{n}-name"]) for n in (1, 2, 6)] == [
        pytest.approx(place) for place in ((12, 30), (75, 30), (75, 105))
    ]
    line = cell.format(126, 10, '<text id="hour" x="12" y="28">7</text>')
    facts = day_facts(_setting(month), month)
    hours = _drawn(_page(line, "each-hour-7-19"), facts)
    assert [facts.texts[f"hour{hour}"][0] for hour in (7, 19)] == ["07:00", "19:00"]
    assert sorted(hours) == sorted(f"hour{hour}" for hour in range(7, 20))


OF_CELL = (
    '<g id="each-day"><rect x="11" y="22" width="14" height="9" fill="none"/><g>'
    '<rect x="11" y="22" width="2" height="9" fill="none" stroke="black"/></g></g>'
)
OF_WEEK = (
    '<g id="each-day"><rect x="30" y="20" width="106" height="30" fill="none"/><g>'
    '<rect x="30" y="20" width="15" height="30" fill="none" stroke="black"/>'
    '<text id="day-number" x="31" y="26" font-size="4">1</text></g></g>'
)


@pytest.mark.parametrize("first_weekday", [0, 6])
def test_the_days_of_a_week_are_repeated_within_each_week(first_weekday: int) -> None:
    month = dt.date(2027, 3, 1)
    weeks = calendar.Calendar(first_weekday).monthdatescalendar(2027, 3)
    cell = (
        '<g><rect x="10" y="20" width="126" height="30" fill="none"/>'
        f'<text id="week-number" x="11" y="26" font-size="4">9</text>{OF_WEEK}</g>'
    )
    facts = month_facts(_setting(month, first_weekday), month)
    drawn = _drawn(_page(cell, "each-week"), facts)
    high, wide = 150 / len(weeks), 106 / 7
    for row, days in enumerate(weeks):
        for column, day in enumerate(days):
            key = f"cell{7 * row + column + 1}-number"
            assert facts.texts[key] == (str(day.day),)
            at = (30 + wide * column + 1, 20 + high * row + 6)
            assert _place(drawn[key]) == pytest.approx(at, abs=0.01)
        assert _place(drawn[f"week{row + 1}-number"])[0] == pytest.approx(11)
    assert f"cell{7 * len(weeks) + 1}-number" not in drawn


def test_hours_are_repeated_within_each_day() -> None:
    hours = (
        '<g id="each-hour-8-11-down"><rect x="10" y="50" width="18" height="120" fill="none"/><g>'
        '<rect x="10" y="50" width="18" height="30" fill="none"/>'
        '<text id="hour" x="11" y="60" font-size="3">8</text></g></g>'
    )
    cell = f'<g><rect x="10" y="20" width="18" height="150" fill="none"/>{hours}</g>'
    monday = dt.date(2027, 3, 1)
    template = read_template(TemplateFile(Path("week.svg"), _page(cell, "each-day")))
    root = repeated(template, week_facts(_setting(monday), Week(monday), 0, 1)).root
    places = sorted(_place(one) for one in root.iter() if "hour9" in names(one))
    # The second of four hours, 30 mm each, in columns of 18 mm.
    assert places == [pytest.approx((11 + 18 * day, 90)) for day in range(7)]


def test_a_text_of_a_sample_stays_in_its_place() -> None:
    month = dt.date(2027, 3, 1)
    template = read_template(TemplateFile(Path("month.svg"), _page(SAMPLE)))
    root = repeated(template, month_facts(_setting(month), month)).root
    text = next(one for one in root.iter() if "cell9-number" in names(one))
    room = room_of(text, [Rect(4, 4, 140, 202)], "")
    assert room is not None
    assert room.width == pytest.approx(18 - 2)  # the rest of its cell


@pytest.mark.parametrize(
    ("svg", "says", "remedy"),
    [
        (_page(SAMPLE.replace("rect", "circle")), "no rectangle", "group it with a rectangle"),
        (_page(""), "one drawn sample", "group the two"),
        (_page(SAMPLE, "each-dates"), "no such thing", "did you mean 'each-date'"),
        (_page(SAMPLE, "each-day"), "no such thing", "did you mean"),
        (_page(SAMPLE, "each-line-of-beds"), "no list 'beds'", "write lists/beds.csv"),
        (_page(SAMPLE, "each-date-across"), "31 of them need 558.0 mm, but the room is 126.0 mm",
         "make the room larger"),
        (_page(SAMPLE, room=Rect(10, 20, 126, 60)), "30.0 mm are missing", "or the sample smaller"),
        (_page(f'<g><rect x="10" y="20" width="18" height="30"/>{OF_CELL}</g>'),
         "this cannot be repeated inside each-date", "the lines of a list can be in any"),
        (_page(f'<g transform="rotate(5)">{SAMPLE}</g>'), "turned within the group", "turn the"),
    ],
)  # fmt: skip
def test_what_cannot_be_repeated_is_refused(svg: bytes, says: str, remedy: str) -> None:
    month = dt.date(2027, 3, 1)
    with pytest.raises(UserError) as refused:
        _drawn(svg, month_facts(_setting(month), month))
    assert says in refused.value.what
    assert remedy in refused.value.remedy
    assert refused.value.element.startswith("each-")


def _inner(name: str, content: str, room: str) -> str:
    return f'<g id="{name}"><rect {room} fill="none"/>{content}</g>'


DATES = _inner(
    "each-date-alone",
    '<g><rect x="11" y="26" width="5" height="4" fill="none" stroke="black"/>'
    '<text id="date-number" x="12" y="29" font-size="2.4">1</text>'
    '<rect id="show-weekend" x="11.5" y="26.5" width="1" height="1"/></g>',
    'x="11" y="26" width="35" height="24"',
)
HEADS = _inner(
    "each-weekday-across-even",
    '<g><rect x="11" y="22" width="5" height="4" fill="none"/>'
    '<text id="weekday-name" x="12" y="25" font-size="1.6">M</text></g>',
    'x="11" y="22" width="35" height="4"',
)


def _months(content: str, name: str = "each-month") -> bytes:
    block = (
        '<g><rect x="10" y="20" width="42" height="37" fill="none"/>'
        f'<text id="month-name" x="11" y="21" font-size="2">March</text>{content}</g>'
    )
    return _page(block, name)


def _year(first_weekday: int = 0, year: int = 2027) -> Facts:
    first = dt.date(year, 1, 1)
    setting = _setting(first, first_weekday)
    months = [first.replace(month=n) for n in range(1, 13)]
    return months_facts(replace(setting, dates_in_months=True), "year", months)


@pytest.mark.parametrize(("first_weekday", "year"), [(0, 2027), (5, 2028), (6, 2026)])
def test_a_year_has_a_calendar_of_cells_for_each_month(first_weekday: int, year: int) -> None:
    facts = _year(first_weekday, year)
    found = _drawn(_months(HEADS + DATES), facts)
    for month in range(1, 13):
        weeks = calendar.Calendar(first_weekday).monthdatescalendar(year, month)
        row, column = divmod(month - 1, 3)
        left, top = 10 + 42 * column + 1, 20 + 37.5 * row + 6
        # What the room of a month gains in height, the cells gain: 0.5 mm.
        high = 24.5 / len(weeks)
        for place, day in enumerate(day for week in weeks for day in week):
            key = f"month{month}-cell{place + 1}"
            assert facts.texts[f"{key}-number"] == (str(day.day),)
            assert facts.flags[f"{key}-weekend"] == (day.weekday() >= 5)
            assert facts.flags[key] == (day.month == month)
            x, y = _place(found[f"{key}-number"])
            line, across = divmod(place, 7)
            assert x == pytest.approx(left + 5 * across + 1, abs=0.01)
            assert top + line * high < y < top + (line + 1) * high
            assert f"show-{key}" in found
            assert f"show-{key}-weekend" in found
        assert f"month{month}-cell{7 * len(weeks) + 1}-number" not in found
    heads = [name for name in found if name.startswith("weekday")]
    assert sorted(heads) == [f"weekday{n}-name" for n in range(1, 8)]


@pytest.mark.parametrize("name", ["each-date-dim", "each-date-6rows", "each-date-dim-6rows"])
def test_calendars_in_months_have_all_their_forms(name: str) -> None:
    facts = _year()
    found = _drawn(_months(DATES.replace("each-date-alone", name)), facts)
    six = "6rows" in name
    for month in (2, 5):  # of four and of six weeks
        rows = 6 if six else len(calendar.monthcalendar(2027, month))
        assert (f"month{month}-cell{7 * rows}-number" in found) is True
        assert (f"month{month}-cell{7 * rows + 1}-number" in found) is False
        assert (f"show-month{month}-cell1-outside" in found) is ("dim" in name)


@pytest.mark.parametrize("way", ["down", "across", "down-even"])
def test_dates_of_each_month_run_down_or_across(way: str) -> None:
    size = 'width="35" height="1"' if "down" in way else 'width="1.2" height="20"'
    dates = _inner(
        f"each-date-{way}",
        f'<g><rect x="11" y="22" {size} fill="none"/>'
        '<text id="date-number" x="11.2" y="22.9" font-size="0.8">1</text></g>',
        'x="11" y="22" width="38" height="32"',
    )
    found = _drawn(_months(dates), _year(year=2028))
    for month in range(1, 13):
        last = calendar.monthrange(2028, month)[1]
        assert f"month{month}-date{last}-number" in found
        assert f"month{month}-date{last + 1}-number" not in found


def test_weeks_and_their_days_are_repeated_within_each_month() -> None:
    day = (
        '<g><rect x="17" y="26" width="4" height="4" fill="none"/>'
        '<text id="day-number" x="18" y="29" font-size="2">1</text></g>'
    )
    days = _inner("each-day-across", day, 'x="17" y="26" width="28" height="4"')
    week = (
        '<g><rect x="11" y="26" width="35" height="4" fill="none"/>'
        f'<text id="week-number" x="12" y="29" font-size="2">9</text>{days}</g>'
    )
    weeks = _inner("each-week-down", week, 'x="11" y="26" width="35" height="24"')
    facts = _year()
    found = _drawn(_months(weeks), facts)
    for month in range(1, 13):
        rows = calendar.monthcalendar(2027, month)
        for number in range(1, len(rows) + 1):
            thursday = calendar.Calendar().monthdatescalendar(2027, month)[number - 1][3]
            week_key = f"month{month}-week{number}-number"
            assert facts.texts[week_key] == (str(thursday.isocalendar().week),)
            assert week_key in found
            assert f"month{month}-cell{7 * number}-number" in found
        assert f"month{month}-week{len(rows) + 1}-number" not in found


def test_lines_and_hours_hold_what_a_page_has() -> None:
    """Rows of a list with a column for each date; the like with hours and days."""
    month = dt.date(2027, 2, 1)
    lists = {"habits": ("Walk", "Read"), "rooms": ("Hall", "Attic", "Yard")}
    dates = _inner(
        "each-date-across-even",
        '<g><rect x="40" y="20" width="3" height="10" fill="none" stroke="black"/>'
        '<text id="date-number" x="40.5" y="24" font-size="2">1</text></g>',
        'x="40" y="20" width="90" height="10"',
    )
    row = '<g><rect x="10" y="20" width="126" height="10" fill="none"/>{}</g>'
    text = '<text id="line" x="11" y="26" font-size="3">Walk</text>'
    facts = month_facts(replace(_setting(month), lists=lists), month)
    template = read_template(
        TemplateFile(Path("m.svg"), _page(row.format(text + dates), "each-line-of-habits-down"))
    )
    named = [name for one in repeated(template, facts).root.iter() for name in names(one)]
    assert [named.count(f"date{n}-number") for n in (1, 28, 29)] == [2, 2, 0]
    assert named.count("line-of-habits-1") == named.count("line-of-habits-2") == 1
    inner = _inner(
        "each-line-of-rooms-down",
        '<g><rect x="60" y="20" width="50" height="3" fill="none"/>'
        '<text id="line" x="61" y="22" font-size="2">Hall</text></g>',
        'x="60" y="20" width="50" height="10"',
    )
    both = _page(row.format(text + inner), "each-line-of-habits-down")
    template = read_template(TemplateFile(Path("m.svg"), both))
    named = [name for one in repeated(template, facts).root.iter() for name in names(one)]
    assert [named.count(f"line-of-rooms-{n}") for n in (1, 2, 3)] == [2, 2, 2]
    assert [named.count(f"line-of-habits-{n}") for n in (1, 2)] == [1, 1]
    itself = _page(row.format(inner.replace("rooms", "habits")), "each-line-of-habits-down")
    with pytest.raises(UserError, match="inside itself"):
        _drawn(itself, facts)


def test_calendars_without_dates_keep_their_cells() -> None:
    facts = without_dates(_year())
    found = _drawn(_months(HEADS + DATES), facts)
    for month in (1, 12):
        assert f"month{month}-cell42-number" in found
        assert facts.texts[f"month{month}-cell42-number"] == ("",)
        assert facts.flags[f"month{month}-cell42"]
    quarter = months_facts(
        replace(_setting(dt.date(2027, 1, 1)), dates_in_months=True),
        "quarter",
        [dt.date(2027, n, 1) for n in (1, 2, 3)],
    )
    found = _drawn(_months(DATES), without_dates(quarter))
    assert "month3-cell42-number" in found
    assert "month4-cell1-number" not in found
