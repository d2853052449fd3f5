"""Weeks: which of them belong to a period, and what they are called.

The Gregorian calendar throughout; weekdays are numbered as in ``datetime`` (0 = Monday).
"""

from __future__ import annotations

import calendar
import datetime as dt
from typing import Literal, NamedTuple

Policy = Literal["begins", "majority", "touches"]
"""Which weeks a period takes: those that begin in it, those with most of their days in it, or
every week that shares a day with it. Under the first two each week is in exactly one of a run of
adjoining periods, so that months sold one by one never repeat a week; under the third every day
of the period is there, and the weeks at its ends are also in its neighbours."""

WeekNumbers = Literal["iso", "locale"]
"""How weeks are numbered: by ISO 8601 everywhere, or as the language's territory counts them."""

WEEKDAYS = ("monday", "tuesday", "wednesday", "thursday", "friday", "saturday", "sunday")

_DAY = dt.timedelta(days=1)


def days_from(first: dt.date, last: dt.date) -> tuple[dt.date, ...]:
    """The days from the first to the last, both included; none where the last is earlier."""
    return tuple(first + n * _DAY for n in range((last - first).days + 1))


def later(month: dt.date, by: int) -> dt.date:
    """The first of a month so many months after another.

    >>> later(dt.date(2027, 9, 1), 5)
    datetime.date(2028, 2, 1)
    """
    count = month.year * 12 + month.month - 1 + by
    return dt.date(count // 12, count % 12 + 1, 1)


class Week(NamedTuple):
    """Seven days from ``first``, on whatever weekday weeks begin."""

    first: dt.date

    @property
    def days(self) -> tuple[dt.date, ...]:
        """The seven days in order."""
        return tuple(self.first + n * _DAY for n in range(7))

    @property
    def last(self) -> dt.date:
        """The seventh day."""
        return self.first + 6 * _DAY

    @property
    def middle(self) -> dt.date:
        """The fourth day: wherever it falls, most of the week's days fall.

        For weeks from Monday it is the Thursday by which ISO 8601 gives a week its year.
        """
        return self.first + 3 * _DAY

    @property
    def number(self) -> int:
        """The ISO 8601 number of the week its middle day is in.

        >>> Week(dt.date(2027, 1, 4)).number, Week(dt.date(2026, 12, 28)).number
        (1, 53)
        """
        return self.middle.isocalendar().week

    def number_with(self, least_days: int) -> int:
        """Its number where a year's first week has at least ``least_days`` (1 to 7) days in it.

        CLDR's count (UTS 35, part 4, "Week Data", ``minDays``): a week is of the year that holds
        its last ``least_days`` days, or at least the first of them.

        >>> Week(dt.date(2026, 12, 27)).number_with(1), Week(dt.date(2027, 1, 3)).number_with(1)
        (1, 2)
        """
        deciding = self.first + (7 - least_days) * _DAY
        return (deciding.timetuple().tm_yday + 6) // 7


def week_with(day: dt.date, first_weekday: int) -> Week:
    """The week ``day`` is in, when weeks begin on ``first_weekday`` (0 = Monday).

    >>> week_with(dt.date(2027, 3, 3), 0).first.isoformat()
    '2027-03-01'
    >>> week_with(dt.date(2027, 3, 3), 6).first.isoformat()
    '2027-02-28'
    """
    return Week(day - (day.weekday() - first_weekday) % 7 * _DAY)


def weeks_of(first: dt.date, last: dt.date, policy: Policy, first_weekday: int) -> tuple[Week, ...]:
    """The weeks that belong to the days ``first`` to ``last``, both included, in order.

    May be none: a period of two days may hold neither the beginning nor the middle of a week.

    >>> august = dt.date(2027, 8, 1), dt.date(2027, 8, 31)
    >>> weeks = weeks_of(*august, "begins", 0)
    >>> len(weeks), weeks[0].first.isoformat(), weeks[-1].last.isoformat()
    (5, '2027-08-02', '2027-09-05')
    """
    weeks = []
    week = week_with(first, first_weekday)
    while week.first <= last:
        belongs = {
            "begins": first <= week.first <= last,
            "majority": first <= week.middle <= last,
            "touches": True,
        }[policy]
        if belongs:
            weeks.append(week)
        week = Week(week.first + 7 * _DAY)
    return tuple(weeks)


def months_of(first: dt.date, last: dt.date) -> tuple[dt.date, ...]:
    """The first days of the months that share a day with ``first`` to ``last``.

    >>> [m.isoformat() for m in months_of(dt.date(2026, 12, 28), dt.date(2027, 1, 3))]
    ['2026-12-01', '2027-01-01']
    """
    months = []
    month = first.replace(day=1)
    while month <= last:
        months.append(month)
        month = month_end(month) + _DAY
    return tuple(months)


def month_end(day: dt.date) -> dt.date:
    """The last day of the month ``day`` is in.

    >>> month_end(dt.date(2028, 2, 5)).isoformat()
    '2028-02-29'
    """
    return day.replace(day=calendar.monthrange(day.year, day.month)[1])
