"""Weeks against ISO 8601 and CLDR: by tables written by hand, then over cycles of the calendar.

The program takes a week's number from ``datetime.date.isocalendar`` and a month's length from
``calendar``. Where a sweep asks those too, it says so: it shows that the program asks for the right
day, and only the tables show that the answer is right.
"""

from __future__ import annotations

import datetime as dt

import pytest

from pipeline.plan.calendar import Week, month_end, week_with, weeks_of
from pipeline.plan.words import words_for

MONDAY = 0


# A day with its year, week and weekday. The first three are examples of ISO 8601:2004 (4.1.4 and
# annex B), quoted from memory; the others were counted by hand from the weekday of 1 January.
@pytest.mark.parametrize(
    ("date", "year", "number", "weekday"),
    [
        ("1985-04-12", 1985, 15, 5),
        ("1995-01-01", 1994, 52, 7),
        ("1996-12-31", 1997, 1, 2),
        ("2000-01-01", 1999, 52, 6),
        ("2005-01-02", 2004, 53, 7),
        ("2005-01-03", 2005, 1, 1),
        ("2007-12-31", 2008, 1, 1),
        ("2010-01-03", 2009, 53, 7),
        ("2020-12-31", 2020, 53, 4),
        ("2026-12-28", 2026, 53, 1),
        ("2027-01-03", 2026, 53, 7),
        ("2027-01-04", 2027, 1, 1),
        ("2027-03-02", 2027, 9, 2),
        ("2027-08-02", 2027, 31, 1),
        ("2027-09-05", 2027, 35, 7),
        ("2028-02-29", 2028, 9, 2),
    ],
)
def test_days_by_hand(date: str, year: int, number: int, weekday: int) -> None:
    day = dt.date.fromisoformat(date)
    week = week_with(day, MONDAY)
    assert (week.number, week.middle.year) == (number, year)
    assert week.days[weekday - 1] == day


# Years with 53 weeks: those that begin on a Thursday, and leap years that begin on a Wednesday.
# Counted by hand.
LONG_YEARS = {
    2004, 2009, 2015, 2020, 2026, 2032, 2037, 2043, 2048,
    2054, 2060, 2065, 2071, 2076, 2082, 2088, 2093, 2099,
}  # fmt: skip


@pytest.mark.parametrize("year", range(2000, 2101))
def test_long_years_by_hand(year: int) -> None:
    weeks = weeks_of(dt.date(year, 1, 1), dt.date(year, 12, 31), "majority", MONDAY)
    count = 53 if year in LONG_YEARS else 52
    assert [week.number for week in weeks] == list(range(1, count + 1))


def test_week_numbers_over_a_full_cycle_of_the_calendar() -> None:
    """``isocalendar`` against itself: that all days of a week give one number, and it is theirs.

    The Gregorian calendar repeats after 400 years: 146,097 days, 20,871 whole weeks.
    """
    day = dt.date(2000, 1, 1)
    end = dt.date(2400, 1, 1)
    checked = 0
    while day < end:
        week = week_with(day, MONDAY)
        year, number, weekday = day.isocalendar()
        assert week.number == number
        assert week.middle.year == year  # the Thursday gives the week its year
        assert week.days[weekday - 1] == day
        day += dt.timedelta(days=1)
        checked += 1
    assert checked == 146_097
    assert checked % 7 == 0


def test_2026_has_53_weeks_and_2027_begins_on_4_january() -> None:
    year = weeks_of(dt.date(2026, 1, 1), dt.date(2026, 12, 31), "majority", MONDAY)
    assert [week.number for week in year] == list(range(1, 54))
    assert year[-1].last == dt.date(2027, 1, 3)
    assert week_with(dt.date(2027, 1, 4), MONDAY) == Week(dt.date(2027, 1, 4))
    assert Week(dt.date(2027, 1, 4)).number == 1


def test_the_majority_policy_is_the_standards_rule_for_years() -> None:
    """ISO 8601 gives a week to the year that has most of its days; by ``datetime``'s own count."""
    for year in range(2000, 2400):
        weeks = weeks_of(dt.date(year, 1, 1), dt.date(year, 12, 31), "majority", MONDAY)
        assert weeks[0].first == dt.date.fromisocalendar(year, 1, 1)
        assert len(weeks) == dt.date(year, 12, 28).isocalendar().week


def test_weeks_from_another_weekday_have_the_number_of_their_thursday() -> None:
    """``isocalendar`` against itself: that it is asked for the Thursday."""
    for first_weekday in range(7):
        for n in range(3653):
            week = week_with(dt.date(2024, 1, 1) + dt.timedelta(days=n), first_weekday)
            thursday = next(day for day in week.days if day.weekday() == 3)
            assert week.number == thursday.isocalendar().week


# Weeks counted as in the United States: from Sunday, week 1 the week with 1 January (CLDR,
# supplemental/weekData: firstDay "sun" and minDays "1" for US). 1 January is a Thursday in 2026, a
# Friday in 2027, a Saturday in 2028, a Monday in 2029; all else was counted on by hand.
AMERICAN = [
    ("2025-12-28", 1), ("2026-01-04", 2), ("2026-12-20", 52),
    ("2026-12-27", 1), ("2027-01-03", 2), ("2027-02-28", 10), ("2027-07-04", 28),
    ("2027-12-19", 52),
    ("2027-12-26", 1), ("2028-01-02", 2), ("2028-02-27", 10), ("2028-12-24", 53),
    ("2028-12-31", 1),
]  # fmt: skip


@pytest.mark.parametrize(("sunday", "number"), AMERICAN)
def test_american_weeks_by_hand(sunday: str, number: int) -> None:
    words = words_for("en-US")
    week = week_with(dt.date.fromisoformat(sunday), words.first_weekday)
    assert week.first.isoformat() == sunday
    assert week.number_with(words.least_days) == number


def test_every_american_week_of_2027_and_2028_has_another_number_than_iso_s() -> None:
    week = Week(dt.date(2026, 12, 27))
    seen = []
    while week.first < dt.date(2028, 12, 31):
        seen.append(week.number_with(1))
        assert week.number != week.number_with(1)
        week = week_with(week.first + dt.timedelta(days=7), 6)
    assert seen == [*range(1, 53), *range(1, 54)]


# CLDR, supplemental/weekData (from memory): minDays "4" where ISO 8601 is the custom, else "1".
@pytest.mark.parametrize(
    ("language", "least"),
    [
        ("en-GB", 4), ("de", 4), ("de-AT", 4), ("fr", 4), ("es", 4), ("pl", 4), ("el", 4),
        ("sv", 4), ("en-US", 1), ("en", 1), ("ar-EG", 1), ("hi", 1), ("ja", 1), ("pt-BR", 1),
        ("he", 1), ("zh", 1),
    ],
)  # fmt: skip
def test_the_first_week_of_a_territory(language: str, least: int) -> None:
    assert words_for(language).least_days == least


@pytest.mark.parametrize("year", range(2000, 2101))
def test_weeks_from_monday_with_four_days_are_iso_s(year: int) -> None:
    """UTS 35: ISO 8601 is firstDay "mon" with minDays "4"; by ``datetime``'s own count."""
    day = dt.date(year, 1, 1)
    while day.year == year:
        assert week_with(day, MONDAY).number_with(4) == day.isocalendar().week
        day += dt.timedelta(days=5)


# The lengths of the months, and the Gregorian rule for leap years (from memory).
LENGTHS = (31, 28, 31, 30, 31, 30, 31, 31, 30, 31, 30, 31)


@pytest.mark.parametrize("month", range(1, 13))
def test_ends_of_months_by_hand(month: int) -> None:
    for year in range(1900, 2401):
        leap = year % 4 == 0 and (year % 100 != 0 or year % 400 == 0)
        last = LENGTHS[month - 1] + (month == 2 and leap)
        assert month_end(dt.date(year, month, 9)) == dt.date(year, month, last)
