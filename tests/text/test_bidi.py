"""Directions, checked against the Unicode bidirectional algorithm (UAX #9)."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from pipeline.text.shape import in_visual_order, levels

LETTERS = "אבגדהוזחטיכלמנסעפצקרשת"
TEXT = st.text(st.sampled_from("abc אבג ابت 012 ٠١٢ .,:()-–"), max_size=24)


def real(text: str) -> str:
    """Text in the notation of UAX #9, 2.0: capitals stand for right-to-left letters."""
    return "".join(LETTERS[(ord(c) - 65) % 22] if c.isupper() else c for c in text)


def shown(text: str, right_to_left: bool) -> str:
    """The line from left to right, in the same notation."""
    order = in_visual_order(list(text), levels(real(text), right_to_left))
    return "".join(order)


# UAX #9, 3.4, rule L2: its examples of a line in memory and on display, from memory; and what
# rules W2 (figures after Arabic letters), W4 and W5 (separators, terminators) make of dates.
@pytest.mark.parametrize(
    ("memory", "right_to_left", "level", "display"),
    [
        ("car means CAR.", False, "00000000001110", "car means RAC."),
        ("car MEANS CAR.", True, "22211111111111", ".RAC SNAEM car"),
        ("MAY 29", True, "111122", "29 YAM"),
        ("29 MAY", True, "221111", "YAM 29"),
        ("29 MAY", False, "000111", "29 YAM"),
        ("12-5 MAY", True, "22221111", "YAM 12-5"),
        ("12/5 MAY", True, "22221111", "YAM 12/5"),
        ("12:30 TEA", True, "222221111", "AET 12:30"),
    ],
)
def test_examples(memory: str, right_to_left: bool, level: str, display: str) -> None:
    assert "".join(map(str, levels(real(memory), right_to_left))) == level
    assert shown(memory, right_to_left) == display


def test_arabic_figures_run_left_to_right_and_stay_together() -> None:
    line = "٢٩ مارس"
    assert levels(line, True) == (2, 2, 1, 1, 1, 1, 1)
    assert "".join(in_visual_order(line, levels(line, True))) == "سرام ٢٩"


@given(TEXT)
def test_a_line_without_right_to_left_letters_is_left_alone(text: str) -> None:
    plain = "".join(c for c in text if c.isascii())
    assert set(levels(plain)) <= {0}
    assert in_visual_order(plain, levels(plain)) == list(plain)


@given(TEXT, st.booleans())
def test_nothing_is_lost_or_doubled(text: str, right_to_left: bool) -> None:
    level_of = levels(text, right_to_left)
    assert len(level_of) == len(text)
    order = in_visual_order(range(len(text)), level_of)
    assert sorted(order) == list(range(len(text)))


@given(TEXT, st.booleans())
def test_levels_follow_the_letters(text: str, right_to_left: bool) -> None:
    """I1 and I2: right-to-left letters are odd, left-to-right letters and all figures even."""
    for character, level in zip(text, levels(text, right_to_left), strict=True):
        assert level >= int(right_to_left)
        if character in "אבגابت":
            assert level % 2 == 1
        elif character.isalpha() or character.isdigit():
            assert level % 2 == 0


@given(st.lists(st.integers(0, 4), max_size=16))
def test_turning_what_is_odd_in_a_line_of_one_level(level_of: list[int]) -> None:
    """Rule L2 against its own wording: from the highest level down to 1, turn each stretch."""
    items = list(range(len(level_of)))
    expected = list(zip(items, level_of, strict=True))
    for level in range(max(level_of, default=0), 0, -1):
        turned: list[tuple[int, int]] = []
        stretch: list[tuple[int, int]] = []
        for entry in expected:
            if entry[1] >= level:
                stretch.insert(0, entry)
            else:
                turned += [*stretch, entry]
                stretch = []
        expected = turned + stretch
    assert in_visual_order(items, level_of) == [item for item, _ in expected]


@given(TEXT)
def test_right_to_left_words_read_backwards(text: str) -> None:
    letters = "".join(c for c in text if c in "אבג")
    assert in_visual_order(letters, levels(letters, True)) == list(letters[::-1])
    assert in_visual_order(letters, levels(letters, False)) == list(letters[::-1])
