"""The feed test: one sheet that tells how a printer lays side 2 on the back of side 1.

Coordinates are mm from the middle of the sheet, as one looks at a side with its words upright.
What is read through the paper lies on side 2 mirrored left to right. The two drawn leaves never
cover one another, however the sides come together, and nothing on side 1 shows through where
side 2 has the numbers of a scale.
"""

from __future__ import annotations

import re
from collections.abc import Mapping
from types import MappingProxyType
from typing import Any

from pipeline.draw import draw
from pipeline.draw.forms import Source
from pipeline.geometry import MM_PER_INCH, Rect
from pipeline.impose import vernier
from pipeline.impose.drawing import GREY, INK, STRONG_WEIGHT
from pipeline.impose.feeding import Trial, reverse_side_2, turn
from pipeline.impose.imposing import BOTH, SIDE_1, SIDE_2
from pipeline.impose.pen import CARD_MM, FINE_MM, QUIET, WORDS_MM, Hand, Pen
from pipeline.impose.printer import Flip
from pipeline.impose.stitch import FileAbout, SidePlan, stitch
from pipeline.impose.words import sheet_words
from pipeline.plan.model import Paper
from pipeline.text import FontBook

LEAST_PAPER_MM = (200.0, 275.0)
"""A smaller paper has no room for the test at true size."""

ACROSS_Y = 105.0
"""The scale that reads shifts to the left and right lies along this line of both sides."""

DOWN_X = 76.0
"""The scale that reads shifts up and down lies along this line of side 1, mirrored on side 2."""

TICK_MM = 5.0
LONG_MM = 9.0
CROSSES = ((-91.0, -112.0), (91.0, -112.0), (-91.0, 112.0), (91.0, 112.0))
LEFT, RIGHT = -82.0, 69.0
CLEAR_RIGHT = 57.0
"""Words of side 1 end here where the numbers of side 2 lie behind."""

FEED_HIGH = 9.3
PICTURES_Y = 43.4
SEEN_WIDE = 15.6
TURN_HIGH = 11.4
ORDER_Y = 83.4
MAKER_Y = 95.0
"""How high on side 1 what is about printing one side at a time lies, and how much room it has."""

SIDE_2_FILES = (SIDE_2, "side-2-reversed.pdf")
"""The file of side 2 in the sheets' order, and the one from the last sheet to the first."""

_FILES = (BOTH, SIDE_1, *SIDE_2_FILES)
"""The files that the test speaks of."""

SETTINGS = (
    "[printer]",
    "back_shift_mm = [{gap}, {gap}]",
    "reverse_side_2 = {gap}",
    'flip = "{flip}"',
    "unprintable_mm = {gap}",
)
"""The settings of a season file that the test gives, as they are typed."""

STANDING_BARS = ((-74.0, -115.0), (-80.0, -115.0))
LYING_BARS = ((-66.0, -36.0), (-66.0, -30.0))
CARD_AT = (-66.0, -97.0)
LEAF_1, LEAF_2 = (-50.0, 0.0), (0.0, 0.0)
EXAMPLE = (-30.0, 46.0)
EDGE_MOST = 15
EDGE_STEP_MM = 3.4
SIDE_EDGES_Y = -50.0
"""The middle of the numbers along the left and right edge; the scale's zero is free of them."""


def has_feed_test(paper: Paper) -> bool:
    """Whether a paper is large enough for the feed test."""
    return paper.width_mm >= LEAST_PAPER_MM[0] and paper.height_mm >= LEAST_PAPER_MM[1]


def feed_test(
    paper: Paper,
    flip: Flip,
    book: FontBook,
    language: str = "en",
    names: Mapping[str, str] = MappingProxyType({}),
) -> bytes:
    """The feed test for a paper, as a PDF of two pages: the two sides of one sheet.

    Side 2 is turned as ``flip`` turns the sets' side 2, and is never moved by what is known of
    the printer's shift: the test shows the printer as it is. ``names`` are what the files it
    speaks of are called where it goes, by their own names.
    """
    hand, words = sheet_words("feed_test", language)
    words = _as_called(words, {name: names.get(name, name) for name in _FILES})
    language = hand.language
    front = _pen(paper, book, hand)
    back = _pen(paper, book, hand, upside_down=flip is Flip.SHORT)
    sides = [_side_1(front, paper, flip, words), _side_2(back, paper, flip, words)]
    drawn = Source(draw(sides, book, names=["feed test"] * 2, language=language))
    whole = Rect(0, 0, paper.width_mm, paper.height_mm)
    plans = [SidePlan(whole.width, whole.height, whole, whole, (), number) for number in (0, 1)]
    duplex = "LongEdge" if flip is Flip.LONG else "ShortEdge"
    about = FileAbout(f"{words['title']}, {paper.title}", language, f"/DuplexFlip{duplex}")
    return stitch(plans, drawn, drawn, about)


def _as_called(words: Mapping[str, Any], names: Mapping[str, str]) -> Mapping[str, Any]:
    """The words with files called by other names, and these names as ``words["files"]``."""
    own = re.compile("|".join(re.escape(name) for name in names))

    def renamed(said: Any) -> Any:
        if isinstance(said, list):
            return [renamed(one) for one in said]
        return own.sub(lambda found: names[found[0]], said)

    return {**{key: renamed(said) for key, said in words.items()}, "files": names}


def _pen(paper: Paper, book: FontBook, hand: Hand, upside_down: bool = False) -> Pen:
    wide, high = paper.width_mm, paper.height_mm
    return Pen(wide, high, book, origin=(wide / 2, high / 2), upside_down=upside_down, hand=hand)


def _side_1(pen: Pen, paper: Paper, flip: Flip, words: Mapping[str, Any]) -> bytes:
    _head(pen, paper, words, 1)
    _true_size(pen, words)
    _which_way(pen, flip, words)
    _one_side_at_a_time(pen, words)
    _edges(pen, paper, words)
    for at in CROSSES:
        pen.cross(at)
    for along in vernier.front_lines():
        long = TICK_MM if along else LONG_MM
        pen.line((along, ACROSS_Y), (along, ACROSS_Y - long), FINE_MM)
        pen.line((DOWN_X, along), (DOWN_X + long, along), FINE_MM)
    return pen.svg()


def _side_2(pen: Pen, paper: Paper, flip: Flip, words: Mapping[str, Any]) -> bytes:
    _head(pen, paper, words, 2)
    for x, y in CROSSES:
        pen.cross((-x, y))
    pen.leaf(LEAF_2)
    pen.words("2", (LEAF_2[0] + 4.5, 21.5), 5, colour=INK)
    _how_far(pen, flip, words)
    _scales(pen, flip, words)
    return pen.svg()


def _head(pen: Pen, paper: Paper, words: Mapping[str, Any], side: int) -> None:
    x, y = CARD_AT[0], -113.5
    title, which = words["title"], words["side"].format(number=side)
    after = pen.measure(title, 7, 300) + 4
    if pen.hand.right_to_left:
        pen.words(title, (RIGHT, y), 7, weight=300, colour=INK, anchor="end")
        pen.heading(which, (x, y), RIGHT - after - x)
    else:
        pen.words(title, (x, y), 7, weight=300, colour=INK)
        pen.heading(which, (x + after, y), RIGHT - after - x)
    pen.column([words["about"].format(paper=paper.title)], (x, y + 5.4), RIGHT - x, 0)


def _true_size(pen: Pen, words: Mapping[str, Any]) -> None:
    for bars, down in ((STANDING_BARS, True), (LYING_BARS, False)):
        pen.bar(bars[0], 100, 10, "100 mm", down)
        pen.bar(bars[1], 4 * MM_PER_INCH, 4, "4 in", down)
    pen.card(CARD_AT)
    middle = CARD_AT[0] + CARD_MM[0] / 2
    pen.words(words["card"], (middle, CARD_AT[1] + 26), 3.3, anchor="middle")
    pen.words(words["card_size"], (middle, CARD_AT[1] + 31), anchor="middle")
    x = CARD_AT[0] + CARD_MM[0] + 8
    y = pen.heading(words["size_title"], (x, CARD_AT[1] + 3.3), RIGHT - x) + 0.8
    pen.column([words["size"]], (x, y), RIGHT - x, -73.5 - y)


def _which_way(pen: Pen, flip: Flip, words: Mapping[str, Any]) -> None:
    pen.leaf(LEAF_1)
    pen.words("1", (LEAF_1[0] + 4.5, 21.5), 5, colour=INK)
    box = Rect(LEAF_1[0] + 14, 15.5, 6, 6)
    pen.box(box, width=FINE_MM)
    pen.words(words["number_box"], (box.x + 3, box.y - 1.4), anchor="middle")
    other = Flip.SHORT if flip is Flip.LONG else Flip.LONG
    x = 15.0
    y = pen.heading(words["way_title"], (x, -22), CLEAR_RIGHT - x) + 0.8
    texts = [words[key] for key in ("way", "way_same", "way_opposite")]
    quiet = words["way_maker"].format(other_flip=other.value)
    pen.column(texts, (x, y), CLEAR_RIGHT - x, 21.5 - y, quiet=quiet)


def _one_side_at_a_time(pen: Pen, words: Mapping[str, Any]) -> None:
    """How to turn the pile and which file of side 2 to take, for each of the four outcomes.

    From the heading down and from the scale below it up: what is in between has to fit.
    """
    wide, top = CLEAR_RIGHT - LEFT, 27.0
    size = pen.size_for([words["feed_title"]], wide, 0, most=3.3, weight=STRONG_WEIGHT)
    pen.heading(words["feed_title"], (LEFT, top), wide, size)
    pen.column([words["feed"]], (LEFT, top + 5), wide, FEED_HIGH)
    column, air = wide / 4, 4.0
    text_wide = column - air
    trials = [Trial(back, same) for back in (True, False) for same in (True, False)]
    turns = [words[turn(trial).value] for trial in trials]
    turn_size = min(
        pen.size_for([text], text_wide, TURN_HIGH, weight=STRONG_WEIGHT) for text in turns
    )
    seen = [_seen(trial, words) for trial in trials]
    seen_size = min(pen.size_for([text], SEEN_WIDE, 17) for text in seen)
    called = [words["files"][name] for name in SIDE_2_FILES]
    files = [words["order"].format(sheet=sheet, file=file) for sheet in (1, 2) for file in called]
    order = [words["order_title"], *files]
    order_size = min(pen.size_for([text], text_wide, 0) for text in order)
    for number, trial in enumerate(trials):
        x = LEFT + number * column
        at_right = pen.hand.right_to_left  # what is read first is nearest to where lines begin
        picture_x, seen_x = (x + text_wide - 16, x - 2) if at_right else (x, x + 17.8)
        _picture(pen, (picture_x, PICTURES_Y), trial.on_the_back, trial.same_way)
        pen.paragraph(seen[number], (seen_x, PICTURES_Y + 3), SEEN_WIDE, seen_size)
        pen.heading(turns[number], (x, PICTURES_Y + 25), text_wide, turn_size)
        row = pen.paragraph(words["order_title"], (x, ORDER_Y), text_wide, order_size)
        for sheet in (1, 2):
            reverse = reverse_side_2(Trial(trial.on_the_back, trial.same_way, sheet))
            told = words["order"].format(sheet=sheet, file=called[reverse])
            row = pen.paragraph(told, (x, row), text_wide, order_size)
    quiet = words["order_maker"].format(file=called[True])
    size = pen.size_for([quiet], wide, 0, most=WORDS_MM * QUIET)
    pen.paragraph(quiet, (LEFT, MAKER_Y), wide, size)


def _seen(trial: Trial, words: Mapping[str, Any]) -> str:
    where = "back" if trial.on_the_back else "front"
    text: str = words[f"{where}_{'same' if trial.same_way else 'opposite'}"]
    return text


def _picture(pen: Pen, at: tuple[float, float], back: bool, same: bool) -> None:
    """A small sheet with its two leaves as they are seen against the light."""
    x, y = at
    pen.box(Rect(x, y, 16, 21), width=FINE_MM)
    pen.leaf((x + 4.6, y + 10.5), 0.28)
    pen.leaf((x + 11.4, y + 10.5), 0.28, 0 if same else 180, dashed=back)


def _edges(pen: Pen, paper: Paper, words: Mapping[str, Any]) -> None:
    """Along each edge, stems from a row of numbers to caps so many mm from the edge."""
    half_width, half_height = paper.width_mm / 2, paper.height_mm / 2
    for number in range(1, EDGE_MOST + 1):
        along = (number - (EDGE_MOST + 1) / 2) * EDGE_STEP_MM
        for half, upright, sign in (
            (half_height, True, -1),
            (half_height, True, 1),
            (half_width, False, -1),
            (half_width, False, 1),
        ):

            def at(a: float, depth: float) -> tuple[float, float]:
                out = sign * (half - depth)  # noqa: B023 (called within this turn of the loop)
                return (a, out) if upright else (out, a + SIDE_EDGES_Y)  # noqa: B023

            foot = EDGE_MOST + 0.8
            pen.line(at(along, number), at(along, foot), FINE_MM)
            pen.line(at(along - 1.2, number), at(along + 1.2, number), FINE_MM)
            x, y = at(along, foot + 1.6)
            pen.words(str(number), (x, y + 0.75), 2.2, anchor="middle")
    x = CARD_AT[0] + CARD_MM[0] + 8
    y = pen.heading(words["edge_title"], (x, -68.5), CLEAR_RIGHT - x) + 0.8
    pen.column([words["edge"]], (x, y), CLEAR_RIGHT - x, -39 - y, quiet=words["edge_maker"])


def _how_far(pen: Pen, flip: Flip, words: Mapping[str, Any]) -> None:
    x, y = CARD_AT[0], -98.5
    pen.heading(words["shift_title"], (x, y), RIGHT - x)
    pen.column(words["shift"], (x, y + 5.7), RIGHT - x, 20)
    pen.column([words["shift_skew"]], (EXAMPLE[0] - 22, 87), 120, 4)
    _example(pen, words)
    _answers(pen, flip, words)


def _answers(pen: Pen, flip: Flip, words: Mapping[str, Any]) -> None:
    """What a buyer notes for the next time, then what the maker may write into a season file."""
    x, y = 14.0, 31.0
    pen.heading(words["note_title"], (x, y), RIGHT - x)
    called = words["files"]
    for files in ((BOTH,), *((SIDE_1, file) for file in SIDE_2_FILES)):
        y += 5.2
        pen.box(Rect(x, y - 2.6, 3, 3), width=FINE_MM)
        pen.words(" + ".join(called[file] for file in files), (x + 5, y), 3.0, colour=INK)
    y += 6
    pile, size = words["note_pile"], 3.0
    wide = pen.measure(pile, size)
    if pen.hand.right_to_left:
        pen.words(pile, (RIGHT, y), size, colour=INK, anchor="end")
        pen.line((x, y + 0.6), (RIGHT - wide - 1.5, y + 0.6))
    else:
        pen.words(pile, (x, y), size, colour=INK)
        pen.line((x + wide + 1.5, y + 0.6), (RIGHT, y + 0.6))
    y = pen.column([words["answer_title"]], (x, y + 6.6), RIGHT - x, 0) + 0.2
    for text in SETTINGS:
        _to_fill_in(pen, text.replace("{flip}", flip.value), (x, y), WORDS_MM * QUIET)
        y += 4.2


def _to_fill_in(pen: Pen, text: str, at: tuple[float, float], size: float) -> None:
    """Words with room for a pencil where they say ``{gap}``."""
    x, y = at
    for number, part in enumerate(text.split("{gap}")):
        if number:
            pen.line((x + 0.8, y + 0.6), (x + 12.8, y + 0.6))
            x += 13.6
        pen.words(part.strip(), (x, y), size, colour=GREY)
        x += pen.measure(part.strip(), size)


def _example(pen: Pen, words: Mapping[str, Any]) -> None:
    """Two scales as they look against the light when they meet at 0.4; larger than they are."""
    x, y = EXAMPLE
    for place in range(-2, 3):
        pen.line((x + 8 * place, y - 9), (x + 8 * place, y), FINE_MM)
        long = 9.0 if place % 2 == 0 else 6.0
        at = x + 7.0 * place
        pen.line((at, y), (at, y + long), FINE_MM)
        if place % 2 == 0:
            pen.words(vernier.figure(4 + place), (at, y + long + 3), anchor="middle")
    pen.circle((x, y), 6.5, FINE_MM)
    pen.words(words["example"], (x, y + 17.5), anchor="middle")


def _scales(pen: Pen, flip: Flip, words: Mapping[str, Any]) -> None:
    """Side 2's half of both scales; numbers say the shift of its page as the file has it."""
    sign = 1 if flip is Flip.LONG else -1
    x, y = -DOWN_X, ACROSS_Y
    for number, at in vernier.back_lines():
        long = TICK_MM if number % 2 == 0 else 0.7 * TICK_MM
        pen.line((at, y), (at, y + long), FINE_MM)
        pen.line((x, at), (x + long, at), FINE_MM)
        if number % 2 == 0:
            label = vernier.figure(sign * number)
            weight = STRONG_WEIGHT if number % 10 == 0 else 400
            pen.words(label, (at, y + long + 3.2), anchor="middle", weight=weight, colour=INK)
            pen.words(label, (x + long + 6, at + 0.95), anchor="end", weight=weight, colour=INK)
    half, near, far = vernier.BRACKET_MM, LONG_MM - 1.2, LONG_MM + 0.8
    pen.outline([(-half, y - near), (-half, y - far), (half, y - far), (half, y - near)])
    pen.outline([(x - near, -half), (x - far, -half), (x - far, half), (x - near, half)])
    pen.words(words["across"], (0, y + TICK_MM + 8), anchor="middle")
    pen.words(words["down"], (x + TICK_MM + 10, 0), anchor="middle", turned=270)
