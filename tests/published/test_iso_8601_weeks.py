"""Weeks against ISO 8601 as the standard library counts them (``datetime.date.isocalendar``)."""

from __future__ import annotations

import datetime as dt

from pipeline.plan.calendar import Week, month_end, week_with, weeks_of

MONDAY = 0


def test_week_numbers_over_a_full_cycle_of_the_calendar() -> None:
    """The Gregorian calendar repeats after 400 years: 146,097 days, 20,871 whole weeks."""
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
    """ISO 8601 gives a week to the year that has most of its days."""
    for year in range(2000, 2400):
        weeks = weeks_of(dt.date(year, 1, 1), dt.date(year, 12, 31), "majority", MONDAY)
        assert weeks[0].first == dt.date.fromisocalendar(year, 1, 1)
        assert len(weeks) == dt.date(year, 12, 28).isocalendar().week


def test_weeks_from_another_weekday_have_the_number_of_their_thursday() -> None:
    for first_weekday in range(7):
        for n in range(3653):
            week = week_with(dt.date(2024, 1, 1) + dt.timedelta(days=n), first_weekday)
            thursday = next(day for day in week.days if day.weekday() == 3)
            assert week.number == thursday.isocalendar().week


def test_ends_of_months_by_the_standard_library() -> None:
    import calendar

    for year in range(2000, 2400):
        for month in range(1, 13):
            assert month_end(dt.date(year, month, 9)).day == calendar.monthrange(year, month)[1]
