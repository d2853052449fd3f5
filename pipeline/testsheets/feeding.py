"""What a trial of the feed test tells: how to turn the pile, and in which order side 2 must come.

The trial: side 1 is printed on two sheets, both are put back as they came out, not turned in any
way, and side 2 is printed once. Whatever the printer does inside, three things can be seen: on
which side it came, which way it points, and which of the two sheets was taken first.
"""

from __future__ import annotations

from dataclasses import dataclass
from enum import StrEnum


class Turn(StrEnum):
    """What to do with the pile of sheets, printed on side 1, before side 2 is printed."""

    NONE = "turn_none"
    ROUND = "turn_round"
    OVER_LONG = "turn_over_long"
    OVER_SHORT = "turn_over_short"

    @property
    def over(self) -> bool:
        """Whether the pile is turned over, so that its lowest sheet comes to lie on top."""
        return self in (Turn.OVER_LONG, Turn.OVER_SHORT)


@dataclass(frozen=True)
class Trial:
    """What came of the trial: where side 2 is, how it points, and on which sheet it is."""

    on_the_back: bool
    same_way: bool
    on_sheet: int = 2
    """The one that came out first is 1."""


def turn(trial: Trial) -> Turn:
    """How to turn the pile so that side 2 comes on the back with its head at side 1's head.

    >>> turn(Trial(on_the_back=True, same_way=True)), turn(Trial(False, False))
    (<Turn.NONE: 'turn_none'>, <Turn.OVER_SHORT: 'turn_over_short'>)
    """
    if trial.on_the_back:
        return Turn.NONE if trial.same_way else Turn.ROUND
    return Turn.OVER_LONG if trial.same_way else Turn.OVER_SHORT


def reverse_side_2(trial: Trial) -> bool:
    """Whether side 2 must be printed from the last sheet to the first.

    The sheet that was taken in the trial lay at the end the printer takes from. Turning the pile
    over brings the other end there.

    >>> reverse_side_2(Trial(True, True, on_sheet=2)), reverse_side_2(Trial(False, True, 2))
    (True, False)
    """
    last_first = trial.on_sheet == 2
    return not last_first if turn(trial).over else last_first
