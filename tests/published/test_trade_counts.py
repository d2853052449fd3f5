"""Leaf counts the trade counts by, worked out by hand from the calendar (common practice)."""

from __future__ import annotations

import datetime as dt

import pytest

from pipeline.plan.calendar import Policy, weeks_of
from pipeline.plan.model import Facts, Page, Side, Spread
from pipeline.plan.sets import leaves_of

PAGE = Page("any", Side.RECTO, Facts("once"), "any")


def _leaves(spreads: int) -> int:
    return len(leaves_of(PAGE, [Spread(PAGE, PAGE)] * spreads, PAGE))


def test_august_2027_on_its_own() -> None:
    """Weeks that begin in it: from Monday 2 August five weeks, to Sunday 5 September."""
    weeks = weeks_of(dt.date(2027, 8, 1), dt.date(2027, 8, 31), "begins", 0)
    assert weeks[0].first == dt.date(2027, 8, 2)
    assert len(weeks) == 5
    assert weeks[-1].last == dt.date(2027, 9, 5)
    assert _leaves(len(weeks)) == 6  # back to back
    assert _leaves(2 * len(weeks)) == 11  # a spread in between


def test_the_spring_quarter_of_2027() -> None:
    """Thirteen weeks from Monday 1 March to Sunday 30 May, by most of their days."""
    weeks = weeks_of(dt.date(2027, 3, 1), dt.date(2027, 5, 31), "majority", 0)
    assert (weeks[0].first, weeks[-1].last) == (dt.date(2027, 3, 1), dt.date(2027, 5, 30))
    assert len(weeks) == 13
    assert _leaves(len(weeks)) == 14
    assert _leaves(2 * len(weeks)) == 27


def test_its_months_on_their_own_add_up_to_the_quarter() -> None:
    policy: Policy = "majority"
    months = [
        weeks_of(dt.date(2027, 3, 1), dt.date(2027, 3, 31), policy, 0),
        weeks_of(dt.date(2027, 4, 1), dt.date(2027, 4, 30), policy, 0),
        weeks_of(dt.date(2027, 5, 1), dt.date(2027, 5, 31), policy, 0),
    ]
    assert [len(weeks) for weeks in months] == [4, 5, 4]
    together = weeks_of(dt.date(2027, 3, 1), dt.date(2027, 5, 31), policy, 0)
    assert tuple(week for weeks in months for week in weeks) == together


@pytest.mark.parametrize("spreads", range(1, 60))
def test_n_spreads_make_n_and_one_leaves(spreads: int) -> None:
    assert _leaves(spreads) == spreads + 1
