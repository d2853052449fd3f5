"""The feed test: it shows how a printer lays side 2 on the back of side 1.

On a large paper it is one sheet, on a small one two, made of the same parts. The two drawn leaves
never cover one another, however the sides come together, and nothing on a front shows through
where its back has the numbers of a scale.

On two sheets page 1 has what is measured with a ruler and page 2 what there is to know about
turning the paper. Page 3 is the front that is tried, page 4 its back, where it is read how far off
that is.
"""

from __future__ import annotations

import re
from collections.abc import Mapping, Sequence
from dataclasses import replace
from types import MappingProxyType
from typing import NamedTuple

from pipeline.draw import draw
from pipeline.draw.forms import Source
from pipeline.impose.margins import INK, STRONG_WEIGHT
from pipeline.impose.sheet import Flip
from pipeline.impose.stitch import FileAbout, stitch_drawn
from pipeline.impose.words import sheet_words
from pipeline.plan.model import Paper
from pipeline.testsheets import feedparts as parts
from pipeline.testsheets.feedparts import (
    LARGE,
    PICTURE_MM,
    SMALL,
    Places,
    Trial,
    Words,
    as_called,
    places_on,
)
from pipeline.testsheets.pen import CARD_MM, LEAFLET, READ_MM, Pen, WordLook
from pipeline.text import FontBook

LEFT = -82.0
CLEAR_RIGHT = 57.0
"""Words of side 1 end here where the numbers of side 2 lie behind."""

LARGE_HEAD = (LARGE.left, -113.5)
LARGE_EXAMPLE = (-30.0, 46.0)


def _side_1(pen: Pen, paper: Paper, flip: Flip, words: Words) -> bytes:
    """What is measured, and the front of what is tried."""
    parts.head(pen, LARGE_HEAD, LARGE.right, paper, words, 1)
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


def _side_2(pen: Pen, paper: Paper, flip: Flip, words: Words) -> bytes:
    """The back of what is tried: how far off it is, and what to note."""
    parts.head(pen, LARGE_HEAD, LARGE.right, paper, words, 2)
    x, y = LARGE.left, -98.5
    pen.heading(words["shift_title"], (x, y), LARGE.right - x)
    pen.column(words["shift"], (x, y + 5.7), LARGE.right - x, 20)
    pen.column([words["shift_skew"]], (LARGE_EXAMPLE[0] - 22, 87), 120, 4)
    parts.example(pen, LARGE_EXAMPLE, words)
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
    pen.column([words["feed"]], (LEFT, top + 5), wide, 9.3)
    column, air = wide / 4, 4.0
    text_wide = column - air
    seen, y = (15.6, 17), 43.4
    found, sizes = parts.outcomes(pen, words, text_wide, seen=seen, turn_high=11.4)
    for number, one in enumerate(found):
        x = LEFT + number * column
        at_right = pen.style.right_to_left  # what is read first is nearest to where lines begin
        picture_x, seen_x = (x + text_wide - 16, x - 2) if at_right else (x, x + 17.8)
        parts.picture(pen, (picture_x, y), one.trial)
        pen.paragraph(one.seen, (seen_x, y + 3), seen[0], sizes[0])
        pen.heading(one.turn, (x, y + 25), text_wide, sizes[1])
        row = 83.4
        for line in one.order:
            row = pen.paragraph(line, (x, row), text_wide, sizes[2])
    parts.order_for_the_maker(pen, (LEFT, 95.0), wide, words)


WIDE = 58.0
"""Words where nothing lies beside them: so far from the middle, left and right."""

SMALL_HEAD = (SMALL.left, -91.0)
SHIFT_Y = -77.0


def _measured(pen: Pen, paper: Paper, flip: Flip, words: Words) -> bytes:
    """Page 1: whether it is true to size, and how near the edge it prints."""
    left, wide = SMALL.left, SMALL.right - SMALL.left
    parts.head(pen, (SMALL.left, -80.4), SMALL.right, paper, words, 1)
    y = pen.heading(words["size_title"], (left, -67), wide) + 0.8
    pen.column([words["size"]], (left, y), wide, -53.5 - y)
    parts.measures(pen, SMALL, words)
    y = pen.heading(words["edge_title"], (left, 36), wide) + 0.8
    pen.column([words["edge"]], (left, y), wide, 30, quiet=words["edge_maker"])
    parts.edges(pen, paper, SMALL)
    return pen.svg()


def _explained(pen: Pen, paper: Paper, flip: Flip, words: Words) -> bytes:
    """Page 2: what the tried sheet means, both sides at once and one at a time."""
    parts.head(pen, (-WIDE, SMALL_HEAD[1]), WIDE, paper, words, 2)
    parts.which_way(pen, (-WIDE, -77.0), WIDE, -45.0, flip, words)
    wide = 2 * WIDE
    y = parts.one_side_title(pen, (-WIDE, -37.5), wide, words) + 0.8
    pen.column([words["feed"]], (-WIDE, y), wide, 15.5)
    _outcomes(pen, words)
    parts.order_for_the_maker(pen, (-WIDE, 62.0), wide, words)
    parts.notes(pen, (-WIDE, 70.5), WIDE, words)
    return pen.svg()


def _outcomes(pen: Pen, words: Words) -> None:
    """The four pictures of the trial, two and two, with what each asks for beside it."""
    column, air = WIDE + 2, 3.0
    text_wide = column - 4 - PICTURE_MM[0] - air
    seen = (text_wide, 4)
    found, sizes = parts.outcomes(pen, words, text_wide, seen=seen, turn_high=9, turn_most=2.7)
    for number, one in enumerate(found):
        at_right = pen.style.right_to_left
        x = -WIDE + (number % 2 != at_right) * column  # what is read first is where lines begin
        y = number // 2 * 36.0 - 13.0
        picture_x, text_x = (x + text_wide + air, x) if at_right else (x, x + PICTURE_MM[0] + air)
        parts.picture(pen, (picture_x, y), one.trial)
        row = pen.paragraph(one.seen, (text_x, y + 2), text_wide, sizes[0]) + 0.8
        row = pen.heading(one.turn, (text_x, row), text_wide, sizes[1]) + 0.8
        for line in one.order:
            row = pen.paragraph(line, (text_x, row), text_wide, sizes[2])


def _tried(pen: Pen, paper: Paper, flip: Flip, words: Words) -> bytes:
    """Page 3: the front that is tried."""
    left, wide = SMALL.left, SMALL.right - SMALL.left
    parts.head(pen, SMALL_HEAD, SMALL.right, paper, words, 3)
    pen.heading(words["trial"], (left, SHIFT_Y), wide)
    parts.front(pen, SMALL, words)
    return pen.svg()


def _read(pen: Pen, paper: Paper, flip: Flip, words: Words) -> bytes:
    """Page 4: the back that is tried, how far off it is, and what the maker writes down."""
    parts.head(pen, SMALL_HEAD, SMALL.right, paper, words, 4)
    # Lines begin below the title, and run on past the cross at its other end.
    left = -60.0 if pen.style.right_to_left else SMALL.left
    wide = 60.0 + SMALL.right
    y = pen.heading(words["shift_title"], (left, SHIFT_Y), wide) + 0.8
    pen.column(words["shift"], (left, y), wide, 25.0)
    parts.example(pen, (-12.0, 40.0), words)
    parts.settings(pen, (14.0, 37.0), WIDE, flip, words)
    clear = -SMALL.down_x + parts.TICK_MM + 10
    pen.column([words["shift_skew"]], (clear, 64.0), WIDE - clear, 4)
    parts.back(pen, SMALL, flip, words, (clear, SMALL.down_y + 36))
    return pen.svg()


# The buyer's: one question a block, one size of type, all from one left edge.
BLOCK_MM = 4.0
"""Between one block and the next."""
ACTS = 4
"""From so many acts on a text has a line for each."""


class Frame(NamedTuple):
    """Where words lie on the buyer's pages, mm from the middle, and how large they are."""

    places: Places
    left: float
    """Where they begin beside bars; ``wide_left`` where nothing is beside them."""
    wide_left: float
    right: float
    head: float
    size: float
    picture: float
    """How wide the pictures of the trial are."""

    @property
    def tall_bars(self) -> Sequence[tuple[float, float]]:
        """Where the standing bars begin that stand among the words."""
        return [bar for bar in self.places.standing_bars if bar[0] > self.left]


ROOMY = Frame(
    replace(
        LARGE,
        card=(-84.0, -76.0),
        standing_bars=((46.0, -76.0), (58.0, -76.0)),
        lying_bars=((-84.0, -8.0), (-84.0, 2.0)),
    ),
    left=-84.0,
    wide_left=-84.0,
    right=84.0,
    head=-116.0,
    size=3.6,
    picture=28.0,
)
CLOSE = Frame(SMALL, SMALL.left, -WIDE, WIDE, SMALL_HEAD[1], READ_MM, picture=16.0)


def _frame(paper: Paper) -> Frame:
    return ROOMY if places_on(paper) is LARGE else CLOSE


def _headed(pen: Pen, left: float, paper: Paper, words: Words, page: int) -> float:
    """The title, which page it is and how to print it. Gives the next block's baseline."""
    frame = _frame(paper)
    at = (left, frame.head)
    pen.begin(words["title"], at, frame.right, 2.2 * frame.size, weight=300)
    about = words["about"].format(paper=paper.title)
    said = f"{words['side'].format(number=page)} · {about}"
    y = at[1] + 1.9 * frame.size
    return pen.paragraph(said, (left, y), frame.right - left, frame.size) + BLOCK_MM


def _asked(
    pen: Pen, frame: Frame, number: int, title: str, text: str, at: tuple[float, float]
) -> float:
    """One question, by its ``number`` among the buyer's. Gives the next baseline."""
    (x, y), wide = at, frame.right - at[0]
    named = f"{number}. {title.partition(' ')[2]}"
    y = pen.heading(named, (x, y), wide, frame.size) + 0.6
    acts = _acts(text)
    if len(acts) < ACTS:
        return pen.paragraph(text, (x, y), wide, frame.size) + 0.6
    indent, at_right = 1.8 * frame.size, pen.style.right_to_left
    for number, act in enumerate(acts, 1):
        place, anchor = (frame.right, "end") if at_right else (x, "start")
        pen.words(
            str(number), (place, y), frame.size, anchor=anchor, weight=STRONG_WEIGHT, colour=INK
        )
        y = pen.paragraph(act, (x + indent * (not at_right), y), wide - indent, frame.size)
    return y + 0.6


def _acts(text: str) -> list[str]:
    """A text act by act: each of its sentences is one.

    >>> _acts("Print page 3 of a.pdf twice. Hold it up: which is it?")
    ['Print page 3 of a.pdf twice.', 'Hold it up: which is it?']
    """
    return [act for act in re.split(r"(?<=[.?!;؟।])\s+|(?<=。)", text) if act]


def _buyers_sizes(pen: Pen, paper: Paper, flip: Flip, words: Words) -> bytes:
    """Page 1: whether it is true to size, and printing both sides at once."""
    frame = _frame(paper)
    left, places = frame.left, frame.places
    y = _headed(pen, left, paper, words, 1)
    _asked(pen, frame, 1, words["size_title"], words["size"], (left, y))
    parts.measures(pen, places, words, (frame.size, frame.size))
    way, same, opposite = parts.ways(words, following=3)
    y = max([places.lying_bars[1][1] + 15, *(bar[1] + 122 for bar in frame.tall_bars)])
    y = _asked(pen, frame, 2, words["way_title"], way, (left, y)) + 0.8 * BLOCK_MM
    seen = ((Trial(True, True), same), (Trial(True, False), opposite))
    for x, (trial, said) in zip(_halves(pen, frame, left), seen, strict=True):
        _cell(pen, frame, (x, y), (frame.right - left) / 2, trial, said)
    return pen.svg()


def _halves(pen: Pen, frame: Frame, left: float) -> Sequence[float]:
    """Where two columns begin, the first to be read first."""
    columns = (left, (left + frame.right) / 2 + 2)
    return columns[::-1] if pen.style.right_to_left else columns


def _buyers_pile(pen: Pen, paper: Paper, flip: Flip, words: Words) -> bytes:
    """Page 2: printing one side at a time, and what to print from now on."""
    frame = _frame(paper)
    left = frame.wide_left
    y = _headed(pen, left, paper, words, 2)
    y = _asked(pen, frame, 3, words["feed_title"], words["feed"], (left, y)) + BLOCK_MM
    for one in parts.all_outcomes(words):
        y = _row(pen, frame, y, one)
    parts.notes(pen, (left, y + 1.0), frame.right, words, letters=frame.size)
    return pen.svg()


def _row(pen: Pen, frame: Frame, y: float, one: parts.Outcome) -> float:
    """A row of the table of outcomes: its picture, what it means, and which file follows. Gives
    the next baseline."""
    left, right, at_right = frame.wide_left, frame.right, pen.style.right_to_left
    air, wide, high = 4.0, frame.picture, frame.picture * PICTURE_MM[1] / PICTURE_MM[0]
    text = (right - left - wide - 2 * air) / 2
    columns = (left, left + wide + air, left + wide + text + 2 * air)
    picture_x, told_x, file_x = columns
    if at_right:
        picture_x, told_x, file_x = right - wide, right - wide - air - text, left
    top = y - 2.6
    pen.line((left, top - 1.2), (right, top - 1.2))
    parts.picture(pen, (picture_x, top), one.trial, scale=wide / PICTURE_MM[0])
    below = pen.paragraph(one.seen, (told_x, y + 1), text, frame.size)
    told = pen.heading(one.turn, (told_x, below), text, frame.size)
    below = y + 1
    for line in one.order:
        below = pen.paragraph(line, (file_x, below), text, frame.size)
    return max(told, below, top + high + 4.6)


def _cell(
    pen: Pen,
    frame: Frame,
    at: tuple[float, float],
    wide: float,
    trial: Trial,
    said: str,
) -> None:
    """A picture of the trial, and beside it what it means."""
    (x, y), air, across = at, 3.0, frame.picture
    text_wide = wide - 2 - across - air
    at_right = pen.style.right_to_left
    picture_x, text_x = (x + text_wide + air, x) if at_right else (x, x + across + air)
    scale = across / PICTURE_MM[0]
    parts.picture(pen, (picture_x, y - 2.6), trial, lettered=False, scale=scale)
    pen.paragraph(said, (text_x, y), text_wide, frame.size)


def _buyers_front(pen: Pen, paper: Paper, flip: Flip, words: Words) -> bytes:
    """Page 3: the front that is tried."""
    frame = _frame(paper)
    left = frame.left
    y = _headed(pen, left, paper, words, 3)
    pen.heading(words["trial"], (left, y), frame.right - left - 6, frame.size)
    said = {**words, "number_box": words["came_out"]}
    parts.tried(pen, frame.places, said, frame.size, words["front"])
    for at in frame.places.crosses:
        parts.ticks(pen, at)
    return pen.svg()


def _buyers_back(pen: Pen, paper: Paper, flip: Flip, words: Words) -> bytes:
    """Page 4: its back."""
    frame = _frame(paper)
    _headed(pen, frame.left, paper, words, 4)
    left, low = frame.wide_left, frame.places.crosses[-1][1] - 46
    named = f"4. {words['shift_title'].partition(' ')[2]}"
    y = pen.heading(named, (left, low), frame.right - left, frame.size) + 0.6
    for key in ("shift_buyer", "shift_skew"):
        y = pen.paragraph(words[key], (left, y), frame.right - left, frame.size) + 0.6
    parts.behind(pen, frame.places, words["back"], frame.size)
    return pen.svg()


BUYERS_PAGES = (_buyers_sizes, _buyers_pile, _buyers_front, _buyers_back)
LARGE_PAGES = (_side_1, _side_2)
SMALL_PAGES = (_measured, _explained, _tried, _read)
"""What draws each page; odd ones are fronts."""


def has_feed_test(paper: Paper) -> bool:
    """Whether a paper is large enough for the feed test."""
    return places_on(paper) is not None


def feed_test(
    paper: Paper,
    flip: Flip,
    book: FontBook,
    language: str = "en",
    names: Mapping[str, str] = MappingProxyType({}),
    *,
    maker: bool = True,
) -> bytes:
    """The feed test for a paper that has one, as a PDF: two pages, the sides of a sheet, or four.

    The maker's asks for what ``[printer]`` of a season file takes. The buyer's, of four pages on
    every paper, asks for nothing to be written but which file to print and how to turn the pile.
    Backs are turned as ``flip`` turns the sets' side 2, and are never moved by what is known of
    the printer's shift: the test shows the printer as it is. ``names`` are what the files it
    speaks of are called where it goes, by their own names.
    """
    style, every = sheet_words("feed_test", language)
    one_sheet = maker and places_on(paper) is LARGE
    # What is said otherwise of two sheets stands in a table of its own, under the same keys.
    said = {**every, **({} if one_sheet else every["two_sheets"])}
    del said["two_sheets"]
    words = as_called(said, names)
    wide, high = paper.width_mm, paper.height_mm
    layout = LARGE_PAGES if one_sheet else SMALL_PAGES if maker else BUYERS_PAGES
    look, sides = WordLook() if maker else LEAFLET, []
    for number, side in enumerate(layout):
        turned = flip is Flip.SHORT and number % 2 == 1
        middle = (wide / 2, high / 2)
        pen = Pen(wide, high, book, origin=middle, upside_down=turned, style=style, look=look)
        sides.append(side(pen, paper, flip, words))
    language = style.language
    drawn = Source(draw(sides, book, names=["feed test"] * len(sides), language=language))
    duplex = "LongEdge" if flip is Flip.LONG else "ShortEdge"
    about = FileAbout(f"{words['title']}, {paper.title}", language, f"/DuplexFlip{duplex}")
    return stitch_drawn(drawn, wide, high, about)
