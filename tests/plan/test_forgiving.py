"""What in a season file can only mean one thing is taken for it; what may mean two is not."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path

import pytest

from pipeline.base.errors import UserError
from pipeline.plan import plan_season
from pipeline.plan.season import load_season, taken_for

LayOut = Callable[[str], Path]


@pytest.mark.parametrize(
    ("before", "after", "taken"),
    [
        ('["a5"]', '["A5"]', ("A5", "a5")),
        ('"letter", "a4"', '"US Letter", "A4"', ("US Letter", "letter")),
        ('"monday"', '"Monday"', ("Monday", "monday")),
        ('["en-GB"]', '["en_gb"]', ("en_gb", "en-GB")),
        ('["en-GB"]', '["English"]', ("English", "en")),
        ('month = "2027-08"', 'month = "2027-8"', ("2027-8", "2027-08")),
        ('month = "2027-08"', 'months = ["2027/8", "2027-10"]', ("2027/8", "2027-08")),
        ('verso = "week-left"', 'verso = "week-left.svg"', ("week-left.svg", "week-left")),
        ('per = "week"', 'per = "Week"', ("Week", "week")),
    ],
)
def test_one_thing_written_otherwise(
    lay_out: LayOut, season_text: str, before: str, after: str, taken: tuple[str, str]
) -> None:
    assert before in season_text
    path = lay_out(season_text)
    right = load_season(path)
    path.write_text(season_text.replace(before, after, 1), "utf-8")
    assert taken in [(one.written, one.taken) for one in taken_for(path)]
    if "months" not in after and "English" not in after and "US" not in after:
        assert load_season(path) == right
    plan_season(path)


def test_the_season_as_it_should_be_is_taken_for_itself(lay_out: LayOut, season_text: str) -> None:
    assert taken_for(lay_out(season_text)) == ()


def test_quotes_of_a_letter_are_read_as_quotes(lay_out: LayOut, season_text: str) -> None:
    path = lay_out(season_text)
    right = load_season(path)
    path.write_text(season_text.replace('["a5"]', "[“a5”]"), "utf-8")
    assert load_season(path) == right
    # Within a text they are the text's own.
    path.write_text(season_text.replace('title = "Trial"', 'title = "“Trial”"'), "utf-8")
    assert load_season(path).title == "“Trial”"


@pytest.mark.parametrize(
    ("before", "after"),
    [
        ('["en-GB"]', '["ger"]'),
        ('"letter", "a4"', '"A", "a4"'),
        ('"letter", "a4"', '"half", "a4"'),
        ('month = "2027-08"', 'month = "8-2027"'),
        ('"monday"', '"mo"'),
    ],
)
def test_what_may_mean_something_else_is_asked(
    lay_out: LayOut, season_text: str, before: str, after: str
) -> None:
    path: Path = lay_out(season_text.replace(before, after, 1))
    with pytest.raises(UserError):
        plan_season(path)
