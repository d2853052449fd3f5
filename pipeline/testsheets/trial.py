"""What a feed test shows: how to turn the pile, which order side 2 must come in, how far it is off.

The trial: side 1 is printed on two sheets, both are put back as they came out, not turned in any
way, and side 2 is printed once. Whatever the printer does inside, three things can be seen: on
which side it came, which way it points, and which of the two sheets was taken first.

The scale comes in two halves, one on each side of the paper. The lines of side 1 are ``PITCH_MM``
apart, those of side 2 a tenth of a millimetre closer. Each line of side 2 has a number; the one
that runs straight into a line of side 1 says the shift. A shift by a whole pitch would bring the
same lines together again, so the scale is good for less than half of one either way; a bracket at
the zero shows when it is more.
"""

from __future__ import annotations

from dataclasses import dataclass
from enum import StrEnum


class PileTurn(StrEnum):
    """What to do with the pile of sheets, printed on side 1, before side 2 is printed."""

    NONE = "turn_none"
    ROUND = "turn_round"
    OVER_LONG = "turn_over_long"
    OVER_SHORT = "turn_over_short"

    @property
    def over(self) -> bool:
        """Whether the pile is turned over, so that its lowest sheet comes to lie on top."""
        return self in (PileTurn.OVER_LONG, PileTurn.OVER_SHORT)


@dataclass(frozen=True)
class Trial:
    """What came of the trial: where side 2 is, how it points, and on which sheet it is."""

    on_the_back: bool
    same_way: bool
    on_sheet: int = 2
    """The one that came out first is 1."""


def turn(trial: Trial) -> PileTurn:
    """How to turn the pile so that side 2 comes on the back with its head at side 1's head.

    >>> turn(Trial(on_the_back=True, same_way=True)), turn(Trial(False, False))
    (<PileTurn.NONE: 'turn_none'>, <PileTurn.OVER_SHORT: 'turn_over_short'>)
    """
    if trial.on_the_back:
        return PileTurn.NONE if trial.same_way else PileTurn.ROUND
    return PileTurn.OVER_LONG if trial.same_way else PileTurn.OVER_SHORT


def reverse_side_2(trial: Trial) -> bool:
    """Whether side 2 must be printed from the last sheet to the first.

    The sheet that was taken in the trial lay at the end the printer takes from. Turning the pile
    over brings the other end there.

    >>> reverse_side_2(Trial(True, True, on_sheet=2)), reverse_side_2(Trial(False, True, 2))
    (True, False)
    """
    last_first = trial.on_sheet == 2
    return not last_first if turn(trial).over else last_first


PITCH_MM = 4.0
STEP_MM = 0.1
MOST = 18
"""Lines to either side of the zero: a shift of up to 1.8 mm can be read. Shorter has fewer."""

REACH_MM = MOST * PITCH_MM
"""Half the length of the scale."""

BRACKET_MM = PITCH_MM / 2
"""A zero further off than this would be read wrong."""


def front_lines(most: int = MOST) -> tuple[float, ...]:
    """Where the lines of side 1 are along the scale, mm from its zero.

    >>> front_lines()[MOST - 1 : MOST + 2]
    (-4.0, 0.0, 4.0)
    """
    return tuple(number * PITCH_MM for number in range(-most, most + 1))


def back_lines(most: int = MOST) -> tuple[tuple[int, float], ...]:
    """The lines of side 2: the shift each stands for, in tenths of a millimetre, and where it is.

    Shifted by ``number`` steps towards growing numbers, line ``number`` meets one of side 1.

    >>> back_lines()[-1]
    (18, 70.2)
    """
    return tuple(
        (number, round(number * (PITCH_MM - STEP_MM), 6)) for number in range(-most, most + 1)
    )


def figure(number: int) -> str:
    """The shift in mm that a line stands for, as it is printed and typed.

    >>> figure(-4), figure(0), figure(12)
    ('-0.4', '0', '1.2')
    """
    return f"{number / 10:.1f}" if number else "0"
