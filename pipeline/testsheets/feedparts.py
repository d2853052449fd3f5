"""The parts of a feed test, where they lie on papers of either kind, and what each of them shows.

Coordinates are mm from the middle of the sheet, as one looks at a side with its words upright. What
is read through the paper lies on the back mirrored left to right.

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

import re
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from enum import StrEnum
from itertools import product
from typing import Any, NamedTuple

from pipeline.base.geometry import MM_PER_INCH, Rect
from pipeline.impose.imposing import BOTH, SIDE_1, SIDE_2
from pipeline.impose.margins import GREY, INK, STRONG_WEIGHT
from pipeline.impose.sheet import Flip
from pipeline.plan.model import Paper
from pipeline.testsheets.pen import FINE_MM, QUIET, WORDS_MM, Pen


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

BRACKET_MM = PITCH_MM / 2
"""A zero further off than this would be read wrong."""


def figure(number: int) -> str:
    """The shift in mm that a line stands for, as it is printed.

    >>> figure(-4), figure(0), figure(12)
    ('−0.4', '0', '1.2')
    """
    return f"{number / 10:.1f}".replace("-", "\N{MINUS SIGN}") if number else "0"


At = tuple[float, float]


@dataclass(frozen=True)
class Places:
    """What has to lie somewhere exactly; words lie around it.

    ``leaf_1`` is on a front, ``leaf_2`` in the middle of its back: turned round, or printed on the
    front, it stays where it is, and never covers the first.
    """

    least_mm: tuple[float, float]
    """A paper that is smaller has no room for it."""
    sheets: int
    left: float
    right: float
    card: At
    standing_bars: tuple[At, At]
    """Where the bars of 100 mm and of 4 inches begin."""
    lying_bars: tuple[At, At]
    edge_most: int
    """How far from an edge it is measured what a printer leaves white."""
    side_edges_y: float
    """The middle of the numbers along the left and right edge."""
    leaf_1: At
    crosses: tuple[At, At, At, At]
    across_y: float
    """The scale that reads shifts to the left and right lies along this line of both sides."""
    down_x: float
    """The scale that reads shifts up and down lies along this line, mirrored on the back."""
    down_y: float
    """Where along it its zero is."""
    most: int
    """Lines to either side of a scale's zero."""
    bracket_mm: float
    """Half the width of the bracket at a scale's zero: further off, it would be read wrong."""
    leaf_2: At = (0.0, 0.0)


LARGE = Places(
    least_mm=(200.0, 275.0),
    sheets=1,
    left=-66.0,
    right=69.0,
    card=(-66.0, -97.0),
    standing_bars=((-74.0, -115.0), (-80.0, -115.0)),
    lying_bars=((-66.0, -36.0), (-66.0, -30.0)),
    edge_most=15,
    side_edges_y=-50.0,
    leaf_1=(-50.0, 0.0),
    crosses=((-91.0, -112.0), (91.0, -112.0), (-91.0, 112.0), (91.0, 112.0)),
    across_y=105.0,
    down_x=76.0,
    down_y=0.0,
    most=MOST,
    bracket_mm=BRACKET_MM,
)
"""One sheet for all five questions."""

SMALL = Places(
    least_mm=(139.69, 209.99),
    sheets=2,
    left=-49.5,
    right=49.5,
    card=(-49.5, -50.0),
    standing_bars=((-55.2, -85.4), (-61.0, -85.4)),
    lying_bars=((-49.5, 13.0), (-49.5, 19.0)),
    edge_most=13,
    side_edges_y=58.0,
    leaf_1=(-30.0, 0.0),
    crosses=((-59.0, -94.0), (59.0, -94.0), (-59.0, 94.0), (59.0, 94.0)),
    across_y=80.0,
    down_x=53.4,
    down_y=14.0,
    most=14,
    bracket_mm=1.5,
)
"""Two sheets: one to measure and to read, one to try; for papers from A5 and Half Letter up."""


def places_on(paper: Paper) -> Places | None:
    """How a paper's feed test is laid out, None where there is no room for one."""
    for places in (LARGE, SMALL):
        if paper.width_mm >= places.least_mm[0] and paper.height_mm >= places.least_mm[1]:
            return places
    return None


Words = Mapping[str, Any]

TICK_MM = 5.0
LONG_MM = 9.0
PICTURE_MM = (16.0, 21.0)
EDGE_STEP_MM = 3.4
TRIALS = tuple(Trial(back, same) for back in (True, False) for same in (True, False))
"""The four pictures that the trial of one side at a time can give."""

LETTERS = "ABCD"
"""What the four are called, here and in the directions."""

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


def as_called(words: Words, names: Mapping[str, str]) -> Words:
    """The words with files called by other names, and these names as ``words["files"]``."""
    called = {name: names.get(name, name) for name in _FILES}
    own = re.compile("|".join(re.escape(name) for name in called))

    def renamed(said: Any) -> Any:
        if isinstance(said, list):
            return [renamed(one) for one in said]
        return own.sub(lambda found: called[found[0]], said)

    return {**{key: renamed(said) for key, said in words.items()}, "files": called}


def head(pen: Pen, at: At, right: float, paper: Paper, words: Words, page: int) -> None:
    """The title, which page it is, and how to print it."""
    x, y = at
    title, which = words["title"], words["side"].format(number=page)
    after = pen.measure(title, 7, 300) + 4
    pen.begin(title, at, right, 7, weight=300)
    pen.heading(which, (x if pen.style.right_to_left else x + after, y), right - after - x)
    pen.column([words["about"].format(paper=paper.title)], (x, y + 5.4), right - x, 0)


def measures(
    pen: Pen, places: Places, words: Words, sizes: tuple[float, float] = (3.3, WORDS_MM)
) -> None:
    """Bars for a ruler, and the outline for a bank card, their words in two ``sizes``."""
    for bars, down in ((places.standing_bars, True), (places.lying_bars, False)):
        pen.bar(bars[0], 100, 10, "100 mm", down, sizes[1])
        pen.bar(bars[1], 4 * MM_PER_INCH, 4, "4 in", down, sizes[1])
    pen.card(places.card, words["card"], words["card_size"], sizes=sizes)


def ways(words: Words, following: int) -> list[str]:
    """How to print both sides at once; ``following`` is the number of the question after it."""
    return [words["way"], words["way_same"], words["way_opposite"].format(next=following)]


def which_way(pen: Pen, at: At, right: float, bottom: float, flip: Flip, words: Words) -> None:
    """How to print on both sides at once, in a column from ``at`` to a last baseline."""
    other = Flip.SHORT if flip is Flip.LONG else Flip.LONG
    x, y = at
    y = pen.heading(words["way_title"], (x, y), right - x) + 0.8
    texts = ways(words, following=4)
    quiet = words["way_maker"].format(other_flip=other.value)
    pen.column(texts, (x, y), right - x, bottom - y, quiet=quiet)


class Outcome(NamedTuple):
    """What the trial of one side at a time can show, and what is to be done then."""

    trial: Trial
    seen: str
    turn: str
    order: Sequence[str]


def all_outcomes(words: Words) -> Sequence[Outcome]:
    """The four outcomes in words."""
    each = []
    for trial in TRIALS:
        order = [words["order_title"]]
        for sheet in (1, 2):
            last_first = reverse_side_2(replace(trial, on_sheet=sheet))
            file = words["files"][SIDE_2_FILES[last_first]]
            order.append(words["order"].format(sheet=sheet, file=file))
        key = "back" if trial.on_the_back else "front"
        key += "_same" if trial.same_way else "_opposite"
        each.append(Outcome(trial, words[key], words[turn(trial).value], order))
    return each


def outcomes(
    pen: Pen,
    words: Words,
    wide: float,
    *,
    seen: tuple[float, float],
    turn_high: float,
    turn_most: float = WORDS_MM,
) -> tuple[Sequence[Outcome], tuple[float, float, float]]:
    """The four outcomes in words, and the sizes of these, as large as there is room for, mm.

    ``wide`` is how wide all words can be but those of what is ``seen``, which have a width and a
    height of their own; how to turn the pile is at most ``turn_high`` high, its type ``turn_most``.
    """
    each = all_outcomes(words)
    strong: dict[str, Any] = {"most": turn_most, "weight": STRONG_WEIGHT}
    sizes = (
        min(pen.size_for([one.seen], *seen) for one in each),
        min(pen.size_for([one.turn], wide, turn_high, **strong) for one in each),
        min(pen.size_for([text], wide, 0) for one in each for text in one.order),
    )
    return each, sizes


def one_side_title(pen: Pen, at: At, wide: float, words: Words) -> float:
    """The heading of printing one side at a time, in one line. Gives the next baseline."""
    size = pen.size_for([words["feed_title"]], wide, 0, most=3.3, weight=STRONG_WEIGHT)
    return pen.heading(words["feed_title"], at, wide, size)


def order_for_the_maker(pen: Pen, at: At, wide: float, words: Words) -> None:
    """What the maker writes down when side 2 goes in reverse order."""
    quiet = words["order_maker"].format(file=words["files"][SIDE_2_FILES[True]])
    size = pen.size_for([quiet], wide, 0, most=WORDS_MM * QUIET)
    pen.paragraph(quiet, at, wide, size)


def picture(pen: Pen, at: At, trial: Trial, *, lettered: bool = True, scale: float = 1.0) -> None:
    """A small sheet with its two leaves as they are seen against the light, and its letter."""
    x, y = at
    wide, high = (scale * side for side in PICTURE_MM)
    pen.box(Rect(x, y, wide, high), width=FINE_MM)
    turned, middle = 0 if trial.same_way else 180, y + 0.5 * high
    pen.leaf((x + scale * 4.6, middle), scale * 0.28)
    pen.leaf((x + scale * 11.4, middle), scale * 0.28, turned, dashed=trial.on_the_back)
    if not lettered:
        return
    letter = LETTERS[TRIALS.index(trial)]
    size = 3.2 * min(scale, 1.4)
    at_foot = x + wide / 2, y + high - 1.0
    pen.words(letter, at_foot, size, anchor="middle", weight=STRONG_WEIGHT, colour=INK)


def edges(pen: Pen, paper: Paper, places: Places) -> None:
    """Along each edge, stems from a row of numbers to caps so many mm from the edge."""
    most = places.edge_most
    sides = [(paper.height_mm / 2, sign, True) for sign in (-1, 1)]
    sides += [(paper.width_mm / 2, sign, False) for sign in (-1, 1)]
    for number, (half, sign, upright) in product(range(1, most + 1), sides):
        along, foot = (number - (most + 1) / 2) * EDGE_STEP_MM, most + 0.8
        stem = [(along, number), (along, foot), (along - 1.2, number), (along + 1.2, number)]
        points: list[At] = []
        for a, depth in (*stem, (along, foot + 1.6)):
            out = sign * (half - depth)
            points.append((a, out) if upright else (out, a + places.side_edges_y))
        cap, end, left, right, (x, y) = points
        pen.line(cap, end, FINE_MM)
        pen.line(left, right, FINE_MM)
        pen.words(str(number), (x, y + 0.75), 2.2, anchor="middle")


def notes(pen: Pen, at: At, right: float, words: Words, *, letters: float = 0.0) -> float:
    """What a buyer notes for the next time: the files, and how to turn the pile, in words or by
    its letter, in ``letters`` mm high. Gives the last baseline."""
    x, y = at
    pen.heading(words["note_title"], (x, y), right - x, letters or 3.3)
    called, size = words["files"], letters or 3.0
    for files in ((BOTH,), *((SIDE_1, file) for file in SIDE_2_FILES)):
        y += 5.2
        pen.box(Rect(x, y - 2.6, 3, 3), width=FINE_MM)
        pen.words(" + ".join(called[file] for file in files), (x + 5, y), size, colour=INK)
    y += 6
    pile = words["note_pile"]
    wide = pen.measure(pile, size)
    pen.begin(pile, (x, y), right, size)
    gap, at_right = wide + 1.5, pen.style.right_to_left
    if letters:
        for number, letter in enumerate(LETTERS):
            along = gap + 12.0 * number + 2
            left, beside = (right - along - 3, -3.0) if at_right else (x + along, 5.0)
            pen.box(Rect(left, y - 2.6, 3, 3), width=FINE_MM)
            pen.words(letter, (left + beside, y), size, colour=INK)
        return y
    start, end = (x, right - gap) if at_right else (x + gap, right)
    pen.line((start, y + 0.6), (end, y + 0.6))
    return y


def settings(pen: Pen, at: At, right: float, flip: Flip, words: Words) -> None:
    """What the maker may write into a season file, with room for a pencil at each ``{gap}``."""
    left, y = at
    size = WORDS_MM * QUIET
    y = pen.column([words["answer_title"]], at, right - left, 0) + 0.2
    for text in SETTINGS:
        x = left
        for number, part in enumerate(text.replace("{flip}", flip.value).split("{gap}")):
            if number:
                pen.line((x + 0.8, y + 0.6), (x + 12.8, y + 0.6))
                x += 13.6
            pen.words(part.strip(), (x, y), size, colour=GREY)
            x += pen.measure(part.strip(), size)
        y += 4.2


def example(pen: Pen, at: At, words: Words) -> None:
    """Two scales as they look against the light when they meet at 0.4; larger than they are."""
    x, y = at
    for place in range(-2, 3):
        pen.line((x + 8 * place, y - 9), (x + 8 * place, y), FINE_MM)
        long = 9.0 if place % 2 == 0 else 6.0
        line_x = x + 7.0 * place
        pen.line((line_x, y), (line_x, y + long), FINE_MM)
        if place % 2 == 0:
            pen.words(figure(4 + place), (line_x, y + long + 3), anchor="middle")
    pen.circle((x, y), 6.5, FINE_MM)
    pen.words(words["example"], (x, y + 17.5), anchor="middle")


def front(pen: Pen, places: Places, words: Words) -> None:
    """What is tried, on its front, and the lines of both scales that are seen through the paper."""
    tried(pen, places, words, WORDS_MM)
    for line in range(-places.most, places.most + 1):
        along, long = line * PITCH_MM, TICK_MM if line else LONG_MM
        y = places.down_y + along
        pen.line((along, places.across_y), (along, places.across_y - long), FINE_MM)
        pen.line((places.down_x, y), (places.down_x + long, y), FINE_MM)


def tried(pen: Pen, places: Places, words: Words, size: float, named: str = "1") -> None:
    """A leaf with its name and the box for the sheet's number, and crosses."""
    _leaf(pen, places.leaf_1, named, size)
    x, y = places.leaf_1
    box = Rect(x + 14, y + 15.5, 6, 6)
    pen.box(box, width=FINE_MM)
    pen.words(words["number_box"], (box.x + 3, box.y - 1.4), size, anchor="middle")
    for at in places.crosses:
        pen.cross(at)


def ticks(pen: Pen, at: At) -> None:
    """A millimetre scale along both arms of a cross."""
    x, y = at
    for way in range(-3, 4):
        half = 0.7 if way else 0.0
        pen.line((x + way, y - half), (x + way, y + half), FINE_MM)
        pen.line((x - half, y + way), (x + half, y + way), FINE_MM)


def behind(pen: Pen, places: Places, named: str = "2", size: float = WORDS_MM) -> None:
    """The same on its back: a leaf, and crosses behind those of the front."""
    _leaf(pen, places.leaf_2, named, size)
    for at in places.crosses:
        pen.cross((-at[0], at[1]))


def back(pen: Pen, places: Places, flip: Flip, words: Words, down_at: At) -> None:
    """What is tried, on its back, and the numbered lines.

    Numbers say the shift of the back's page as the file has it, in tenths of a millimetre: shifted
    by so many steps towards growing numbers, that line meets one of side 1. ``down_at`` is the
    middle of the words beside the scale that reads shifts up and down.
    """
    behind(pen, places)
    sign = 1 if flip is Flip.LONG else -1
    x, y = -places.down_x, places.across_y
    for number in range(-places.most, places.most + 1):
        along = round(number * (PITCH_MM - STEP_MM), 6)
        long = TICK_MM if number % 2 == 0 else 0.7 * TICK_MM
        down = places.down_y + along
        pen.line((along, y), (along, y + long), FINE_MM)
        pen.line((x, down), (x + long, down), FINE_MM)
        if number % 2 == 0:
            label = figure(sign * number)
            weight = STRONG_WEIGHT if number % 10 == 0 else 400
            under, beside = (along, y + long + 3.2), (x + long + 6, down + 0.95)
            pen.words(label, under, anchor="middle", weight=weight, colour=INK)
            pen.words(label, beside, anchor="end", weight=weight, colour=INK)
    half, near, far, zero = places.bracket_mm, LONG_MM - 1.2, LONG_MM + 0.8, places.down_y
    pen.outline([(-half, y - near), (-half, y - far), (half, y - far), (half, y - near)])
    top, bottom = zero - half, zero + half
    pen.outline([(x - near, top), (x - far, top), (x - far, bottom), (x - near, bottom)])
    pen.words(words["across"], (0, y + TICK_MM + 8), anchor="middle")
    pen.words(words["down"], down_at, anchor="middle", turned=270)


def _leaf(pen: Pen, at: At, named: str, size: float) -> None:
    """A leaf with its number beside it, or its name below, where it stands before no other leaf."""
    pen.leaf(at)
    if named.isdecimal():
        pen.words(named, (at[0] + 4.5, at[1] + 21.5), 5, colour=INK)
    else:
        strong: dict[str, Any] = {"weight": STRONG_WEIGHT, "colour": INK}
        pen.words(named, (at[0], at[1] + 28), size, anchor="middle", **strong)
