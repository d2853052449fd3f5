"""A scale in two halves, one on each side of the paper, that tells how far they are apart.

The lines of side 1 are ``PITCH_MM`` apart, those of side 2 a tenth of a millimetre closer. Each
line of side 2 has a number; the one that runs straight into a line of side 1 tells the shift.

A shift by a whole pitch would bring the same lines together again, so the scale is good for less
than half of one either way; a bracket at the zero shows when it is more.
"""

from __future__ import annotations

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
    """The lines of side 2: the shift each tells, in tenths of a millimetre, and where it is.

    Shifted by ``number`` steps towards growing numbers, line ``number`` meets one of side 1.

    >>> back_lines()[-1]
    (18, 70.2)
    """
    return tuple(
        (number, round(number * (PITCH_MM - STEP_MM), 6)) for number in range(-most, most + 1)
    )


def figure(number: int) -> str:
    """The shift in mm that a line tells, as it is printed and typed.

    >>> figure(-4), figure(0), figure(12)
    ('-0.4', '0', '1.2')
    """
    return f"{number / 10:.1f}" if number else "0"
