"""The feed test for small papers, on two sheets: one to measure and to read, one to try.

Page 1 has what is measured with a ruler, page 2 what is told about turning the paper. Page 3 is
the front that is tried, page 4 its back, where it is read how far off that is. Nothing on page 3
shows through where page 4 has the numbers of a scale.
"""

from __future__ import annotations

from pipeline.impose.printer import Flip
from pipeline.plan.model import Paper
from pipeline.testsheets import feedparts as parts
from pipeline.testsheets.feedparts import PICTURE_MM, Words
from pipeline.testsheets.feedplaces import SMALL
from pipeline.testsheets.pen import Pen

WIDE = 58.0
"""Words where nothing lies beside them: so far from the middle, left and right."""

HEAD_1, HEAD = (SMALL.left, -80.4), (SMALL.left, -91.0)
WAY_Y, WAY_END = -77.0, -45.0
FEED_Y, FEED_HIGH = -37.5, 15.5
OUTCOMES_Y, OUTCOME_HIGH = -13.0, 36.0
MAKER_Y, NOTES_Y = 62.0, 70.5
"""How high on page 2 its parts lie."""

SHIFT_Y, SHIFT_HIGH, SHIFT_RIGHT = -77.0, 25.0, 60.0
EXAMPLE = (-12.0, 40.0)
SETTINGS_AT = (14.0, 37.0)
SKEW_Y = 64.0
"""How high on page 4 its parts lie."""


def _measured(pen: Pen, paper: Paper, flip: Flip, words: Words) -> bytes:
    """Page 1: whether it is true to size, and how near the edge it prints."""
    left, wide = SMALL.left, SMALL.right - SMALL.left
    parts.head(pen, HEAD_1, SMALL.right, paper, words, 1)
    y = pen.heading(words["size_title"], (left, -67), wide) + 0.8
    pen.column([words["size"]], (left, y), wide, -53.5 - y)
    parts.measures(pen, SMALL, words)
    y = pen.heading(words["edge_title"], (left, 36), wide) + 0.8
    pen.column([words["edge"]], (left, y), wide, 30, quiet=words["edge_maker"])
    parts.edges(pen, paper, SMALL)
    return pen.svg()


def _told(pen: Pen, paper: Paper, flip: Flip, words: Words) -> bytes:
    """Page 2: what the tried sheet tells, both sides at once and one at a time."""
    parts.head(pen, (-WIDE, HEAD[1]), WIDE, paper, words, 2)
    parts.which_way(pen, (-WIDE, WAY_Y), WIDE, WAY_END, flip, words)
    wide = 2 * WIDE
    y = parts.one_side_title(pen, (-WIDE, FEED_Y), wide, words) + 0.8
    pen.column([words["feed"]], (-WIDE, y), wide, FEED_HIGH)
    _outcomes(pen, words)
    parts.order_for_the_maker(pen, (-WIDE, MAKER_Y), wide, words)
    parts.notes(pen, (-WIDE, NOTES_Y), WIDE, words)
    return pen.svg()


def _outcomes(pen: Pen, words: Words) -> None:
    """The four pictures of the trial, two and two, with what each asks for beside it."""
    column, air = WIDE + 2, 3.0
    text_wide = column - 4 - PICTURE_MM[0] - air
    found = parts.outcomes(pen, words, text_wide, seen=(text_wide, 4), turn_high=9, turn_most=2.7)
    for number, one in enumerate(found.each):
        at_right = pen.hand.right_to_left
        x = -WIDE + (number % 2 != at_right) * column  # what is read first is where lines begin
        y = OUTCOMES_Y + number // 2 * OUTCOME_HIGH
        picture_x, text_x = (x + text_wide + air, x) if at_right else (x, x + PICTURE_MM[0] + air)
        parts.picture(pen, (picture_x, y), one.trial)
        row = pen.paragraph(one.seen, (text_x, y + 2), text_wide, found.seen_size) + 0.8
        row = pen.heading(one.turn, (text_x, row), text_wide, found.turn_size) + 0.8
        for told in one.order:
            row = pen.paragraph(told, (text_x, row), text_wide, found.order_size)


def _tried(pen: Pen, paper: Paper, flip: Flip, words: Words) -> bytes:
    """Page 3: the front that is tried."""
    left, wide = SMALL.left, SMALL.right - SMALL.left
    parts.head(pen, HEAD, SMALL.right, paper, words, 3)
    pen.heading(words["trial"], (left, SHIFT_Y), wide)
    parts.front(pen, SMALL, words)
    return pen.svg()


def _read(pen: Pen, paper: Paper, flip: Flip, words: Words) -> bytes:
    """Page 4: the back that is tried, how far off it is, and what the maker writes down."""
    parts.head(pen, HEAD, SMALL.right, paper, words, 4)
    # Lines begin below the title, and run on past the cross at its other end.
    left = -SHIFT_RIGHT if pen.hand.right_to_left else SMALL.left
    wide = SHIFT_RIGHT + SMALL.right
    y = pen.heading(words["shift_title"], (left, SHIFT_Y), wide) + 0.8
    pen.column(words["shift"], (left, y), wide, SHIFT_HIGH)
    parts.example(pen, EXAMPLE, words)
    parts.settings(pen, SETTINGS_AT, WIDE, flip, words)
    clear = -SMALL.down_x + parts.TICK_MM + 10
    pen.column([words["shift_skew"]], (clear, SKEW_Y), WIDE - clear, 4)
    parts.back(pen, SMALL, flip, words, (clear, SMALL.down_y + 36))
    return pen.svg()


PAGES = (_measured, _told, _tried, _read)
"""What draws each page; odd ones are fronts."""
