"""The feed test on one sheet: all five questions on its two sides.

Nothing on side 1 shows through where side 2 has the numbers of a scale.
"""

from __future__ import annotations

from pipeline.impose.printer import Flip
from pipeline.plan.model import Paper
from pipeline.testsheets import feedparts as parts
from pipeline.testsheets.feedparts import Words
from pipeline.testsheets.feedplaces import LARGE
from pipeline.testsheets.pen import CARD_MM, Pen

LEFT = -82.0
CLEAR_RIGHT = 57.0
"""Words of side 1 end here where the numbers of side 2 lie behind."""

FEED_HIGH = 9.3
PICTURES_Y = 43.4
SEEN_WIDE = 15.6
TURN_HIGH = 11.4
ORDER_Y = 83.4
MAKER_Y = 95.0
"""How high on side 1 what is about printing one side at a time lies, and how much room it has."""

HEAD = (LARGE.left, -113.5)
EXAMPLE = (-30.0, 46.0)


def side_1(pen: Pen, paper: Paper, flip: Flip, words: Words) -> bytes:
    """What is measured, and the front of what is tried."""
    parts.head(pen, HEAD, LARGE.right, paper, words, 1)
    parts.measures(pen, LARGE, words)
    x, top = LARGE.card[0] + CARD_MM[0] + 8, LARGE.card[1] + 3.3
    y = pen.heading(words["size_title"], (x, top), LARGE.right - x) + 0.8
    pen.column([words["size"]], (x, y), LARGE.right - x, -73.5 - y)
    parts.which_way(pen, (15.0, -22.0), CLEAR_RIGHT, 21.5, flip, words)
    _one_side_at_a_time(pen, words)
    parts.edges(pen, paper, LARGE)
    y = pen.heading(words["edge_title"], (x, -68.5), CLEAR_RIGHT - x) + 0.8
    pen.column([words["edge"]], (x, y), CLEAR_RIGHT - x, -39 - y, quiet=words["edge_maker"])
    parts.front(pen, LARGE, words)
    return pen.svg()


def side_2(pen: Pen, paper: Paper, flip: Flip, words: Words) -> bytes:
    """The back of what is tried: how far off it is, and what to note."""
    parts.head(pen, HEAD, LARGE.right, paper, words, 2)
    x, y = LARGE.left, -98.5
    pen.heading(words["shift_title"], (x, y), LARGE.right - x)
    pen.column(words["shift"], (x, y + 5.7), LARGE.right - x, 20)
    pen.column([words["shift_skew"]], (EXAMPLE[0] - 22, 87), 120, 4)
    parts.example(pen, EXAMPLE, words)
    y = parts.notes(pen, (14.0, 31.0), LARGE.right, words)
    parts.settings(pen, (14.0, y + 6.6), LARGE.right, flip, words)
    beside = (-LARGE.down_x + parts.TICK_MM + 10, LARGE.down_y)
    parts.back(pen, LARGE, flip, words, beside)
    return pen.svg()


def _one_side_at_a_time(pen: Pen, words: Words) -> None:
    """How to turn the pile and which file of side 2 to take, for each of the four outcomes.

    From the heading down and from the scale below it up: what is in between has to fit.
    """
    wide, top = CLEAR_RIGHT - LEFT, 27.0
    parts.one_side_title(pen, (LEFT, top), wide, words)
    pen.column([words["feed"]], (LEFT, top + 5), wide, FEED_HIGH)
    column, air = wide / 4, 4.0
    text_wide = column - air
    found = parts.outcomes(pen, words, text_wide, seen=(SEEN_WIDE, 17), turn_high=TURN_HIGH)
    for number, one in enumerate(found.each):
        x = LEFT + number * column
        at_right = pen.hand.right_to_left  # what is read first is nearest to where lines begin
        picture_x, seen_x = (x + text_wide - 16, x - 2) if at_right else (x, x + 17.8)
        parts.picture(pen, (picture_x, PICTURES_Y), one.trial)
        pen.paragraph(one.seen, (seen_x, PICTURES_Y + 3), SEEN_WIDE, found.seen_size)
        pen.heading(one.turn, (x, PICTURES_Y + 25), text_wide, found.turn_size)
        row = ORDER_Y
        for told in one.order:
            row = pen.paragraph(told, (x, row), text_wide, found.order_size)
    parts.order_for_the_maker(pen, (LEFT, MAKER_Y), wide, words)
