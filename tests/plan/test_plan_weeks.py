"""Which weeks a period takes, as properties over all months of 2024 to 2035."""

from __future__ import annotations

import datetime as dt
from itertools import pairwise
from typing import get_args

import pytest

from pipeline.plan.calendar import Policy, Week, month_end, months_of, week_with, weeks_of

FIRST, LAST = dt.date(2024, 1, 1), dt.date(2035, 12, 31)
MONTHS = months_of(FIRST, LAST)
WEEKDAYS = (0, 5, 6, 3)  # Monday, Saturday, Sunday; Thursday, which no territory uses
POLICIES: tuple[Policy, ...] = get_args(Policy)


def _by_month(policy: Policy, weekday: int) -> list[tuple[Week, ...]]:
    return [weeks_of(month, month_end(month), policy, weekday) for month in MONTHS]


def test_there_are_twelve_years_of_months() -> None:
    assert len(MONTHS) == 12 * 12


@pytest.mark.parametrize("weekday", WEEKDAYS)
@pytest.mark.parametrize("policy", POLICIES)
def test_weeks_are_whole_in_order_and_begin_on_the_weekday(policy: Policy, weekday: int) -> None:
    for weeks in _by_month(policy, weekday):
        assert 4 <= len(weeks) <= 6
        assert {week.first.weekday() for week in weeks} == {weekday}
        assert all((b.first - a.first).days == 7 for a, b in pairwise(weeks))


@pytest.mark.parametrize("weekday", WEEKDAYS)
@pytest.mark.parametrize("policy", ["begins", "majority"])
def test_months_sold_one_by_one_hold_each_date_exactly_once(policy: Policy, weekday: int) -> None:
    days = [day for weeks in _by_month(policy, weekday) for week in weeks for day in week.days]
    assert len(days) == len(set(days))
    assert days == sorted(days)
    assert (days[-1] - days[0]).days + 1 == len(days)


@pytest.mark.parametrize("weekday", WEEKDAYS)
def test_touching_weeks_hold_every_day_of_the_month_and_no_needless_week(weekday: int) -> None:
    for month, weeks in zip(MONTHS, _by_month("touches", weekday), strict=True):
        days = [day for week in weeks for day in week.days]
        assert set(days) >= {month.replace(day=n) for n in range(1, month_end(month).day + 1)}
        assert len(days) == len(set(days))
        assert all(any(day.month == month.month for day in week.days) for week in weeks)


@pytest.mark.parametrize("weekday", WEEKDAYS)
def test_the_majority_policy_is_what_it_says(weekday: int) -> None:
    for month, weeks in zip(MONTHS, _by_month("majority", weekday), strict=True):
        for week in weeks_of(month, month_end(month), "touches", weekday):
            inside = sum(day.month == month.month for day in week.days)
            assert (week in weeks) == (inside >= 4)


@pytest.mark.parametrize("weekday", range(7))
def test_a_days_week_holds_it(weekday: int) -> None:
    for n in range(400):
        day = FIRST + dt.timedelta(days=n)
        week = week_with(day, weekday)
        assert day in week.days
        assert week.first.weekday() == weekday


def test_a_short_period_may_hold_no_week() -> None:
    tuesday, wednesday = dt.date(2027, 3, 2), dt.date(2027, 3, 3)
    assert weeks_of(tuesday, wednesday, "begins", 0) == ()
    assert weeks_of(tuesday, wednesday, "majority", 0) == ()
    assert weeks_of(tuesday, wednesday, "touches", 0) == (Week(dt.date(2027, 3, 1)),)
