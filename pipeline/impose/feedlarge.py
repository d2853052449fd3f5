"""The feed test on one sheet: all five questions on its two sides.

Nothing on side 1 shows through where side 2 has the numbers of a scale.
"""

from __future__ import annotations

from pipeline.impose import feedparts as parts
from pipeline.impose.drawing import STRONG_WEIGHT
from pipeline.impose.feeding import turn
from pipeline.impose.feedparts import Words
from pipeline.impose.feedplaces import LARGE
from pipeline.impose.pen import CARD_MM, QUIET, WORDS_MM, Pen
from pipeline.impose.printer import Flip
from pipeline.plan.model import Paper

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
    parts.first_leaf(pen, LARGE, words)
    parts.which_way(pen, (15.0, -22.0), CLEAR_RIGHT, 21.5, flip, words)
    _one_side_at_a_time(pen, words)
    parts.edges(pen, paper, LARGE)
    y = pen.heading(words["edge_title"], (x, -68.5), CLEAR_RIGHT - x) + 0.8
    pen.column([words["edge"]], (x, y), CLEAR_RIGHT - x, -39 - y, quiet=words["edge_maker"])
    parts.front_crosses(pen, LARGE)
    parts.front_scales(pen, LARGE)
    return pen.svg()


def side_2(pen: Pen, paper: Paper, flip: Flip, words: Words) -> bytes:
    """The back of what is tried: how far off it is, and what to note."""
    parts.head(pen, HEAD, LARGE.right, paper, words, 2)
    parts.back_crosses(pen, LARGE)
    parts.second_leaf(pen, LARGE)
    x, y = LARGE.left, -98.5
    pen.heading(words["shift_title"], (x, y), LARGE.right - x)
    pen.column(words["shift"], (x, y + 5.7), LARGE.right - x, 20)
    pen.column([words["shift_skew"]], (EXAMPLE[0] - 22, 87), 120, 4)
    parts.example(pen, EXAMPLE, words)
    y = parts.notes(pen, (14.0, 31.0), LARGE.right, words)
    parts.settings(pen, (14.0, y + 6.6), LARGE.right, flip, words)
    beside = (-LARGE.down_x + parts.TICK_MM + 10, LARGE.down_y)
    parts.back_scales(pen, LARGE, flip, words, beside)
    return pen.svg()


def _one_side_at_a_time(pen: Pen, words: Words) -> None:
    """How to turn the pile and which file of side 2 to take, for each of the four outcomes.

    From the heading down and from the scale below it up: what is in between has to fit.
    """
    wide, top = CLEAR_RIGHT - LEFT, 27.0
    size = pen.size_for([words["feed_title"]], wide, 0, most=3.3, weight=STRONG_WEIGHT)
    pen.heading(words["feed_title"], (LEFT, top), wide, size)
    pen.column([words["feed"]], (LEFT, top + 5), wide, FEED_HIGH)
    column, air = wide / 4, 4.0
    text_wide = column - air
    turns = [words[turn(trial).value] for trial in parts.TRIALS]
    turn_size = min(
        pen.size_for([text], text_wide, TURN_HIGH, weight=STRONG_WEIGHT) for text in turns
    )
    seen = [parts.seen(trial, words) for trial in parts.TRIALS]
    seen_size = min(pen.size_for([text], SEEN_WIDE, 17) for text in seen)
    files = [parts.told_files(trial, words) for trial in parts.TRIALS]
    order = [words["order_title"], *(told for each in files for told in each)]
    order_size = min(pen.size_for([text], text_wide, 0) for text in order)
    for number, trial in enumerate(parts.TRIALS):
        x = LEFT + number * column
        at_right = pen.hand.right_to_left  # what is read first is nearest to where lines begin
        picture_x, seen_x = (x + text_wide - 16, x - 2) if at_right else (x, x + 17.8)
        parts.picture(pen, (picture_x, PICTURES_Y), trial)
        pen.paragraph(seen[number], (seen_x, PICTURES_Y + 3), SEEN_WIDE, seen_size)
        pen.heading(turns[number], (x, PICTURES_Y + 25), text_wide, turn_size)
        row = pen.paragraph(words["order_title"], (x, ORDER_Y), text_wide, order_size)
        for told in files[number]:
            row = pen.paragraph(told, (x, row), text_wide, order_size)
    quiet = words["order_maker"].format(file=words["files"][parts.SIDE_2_FILES[True]])
    size = pen.size_for([quiet], wide, 0, most=WORDS_MM * QUIET)
    pen.paragraph(quiet, (LEFT, MAKER_Y), wide, size)
