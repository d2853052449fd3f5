"""What the feed test tells, given back in the season file."""

from __future__ import annotations

import re
from collections.abc import Callable
from pathlib import Path

import pytest

from pipeline.base.errors import UserError
from pipeline.plan.season import Printer, load_season

LayOut = Callable[[str], Path]
GUIDE = Path(__file__).parents[2] / "docs" / "printing.md"


def printer(lay_out: LayOut, season_text: str, table: str) -> Printer:
    return load_season(lay_out(f"{season_text}\n[printer]\n{table}\n")).printer


def test_without_a_word_nothing_is_made_up_for(lay_out: LayOut, season_text: str) -> None:
    assert load_season(lay_out(season_text)).printer == Printer(
        unprintable_mm=6.35, flip="long", back_shift_mm=(0.0, 0.0), reverse_side_2=False
    )


def test_whole_numbers_and_minus_are_taken(lay_out: LayOut, season_text: str) -> None:
    table = 'back_shift_mm = [1, -0.4]\nflip = "short"\nreverse_side_2 = true'
    told = printer(lay_out, season_text, table)
    assert (told.back_shift_mm, told.flip, told.reverse_side_2) == ((1.0, -0.4), "short", True)


def test_the_guide_s_example_is_taken(lay_out: LayOut, season_text: str) -> None:
    (table,) = re.findall(r"```toml\n\[printer\]\n(.*?)```", GUIDE.read_text("utf-8"), re.DOTALL)
    assert printer(lay_out, season_text, table).back_shift_mm == (0.3, -0.1)


@pytest.mark.parametrize(
    ("table", "says"),
    [
        ("back_shift_mm = 0.3", "back_shift_mm: must be two numbers; write it as [0.3, -0.1]"),
        ("back_shift_mm = [0.3]", "back_shift_mm: must be two numbers; write it as [0.3, -0.1]"),
        ('back_shift_mm = ["0.3", 0]', "back_shift_mm: must be two numbers; write it as"),
        ("back_shift_mm = [true, 0]", "back_shift_mm: must be two numbers; write it as"),
        ("back_shift_mm = [0, nan]", "back_shift_mm: is more than 10 mm off; push the printer's"),
        ("back_shift_mm = [0, -10.1]", "back_shift_mm: is more than 10 mm off; push the printer's"),
        ('flip = "lang"', "flip: 'lang' is none of the choices; did you mean 'long'?"),
        ('reverse_side_2 = "yes"', "reverse_side_2: must be true or false"),
        ("back_shift = [0, 0]", "back_shift: there is no such field; did you mean 'back_shift_mm'"),
    ],
)
def test_what_is_wrong_is_said_in_one_line(
    table: str, says: str, lay_out: LayOut, season_text: str
) -> None:
    with pytest.raises(UserError) as caught:
        printer(lay_out, season_text, table)
    assert says in str(caught.value)
    assert "line " in str(caught.value)
    assert "\n" not in str(caught.value)
