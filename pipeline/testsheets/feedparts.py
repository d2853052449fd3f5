"""The parts of a feed test that every paper has, each drawn where its layout wants it.

Coordinates are mm from the middle of the sheet, as one looks at a side with its words upright.
"""

from __future__ import annotations

import re
from collections.abc import Mapping, Sequence
from typing import Any, NamedTuple

from pipeline.base.geometry import MM_PER_INCH, Rect
from pipeline.impose.drawing import GREY, INK, STRONG_WEIGHT
from pipeline.impose.imposing import BOTH, SIDE_1, SIDE_2
from pipeline.impose.printer import Flip
from pipeline.plan.model import Paper
from pipeline.testsheets import vernier
from pipeline.testsheets.feeding import Trial, reverse_side_2, turn
from pipeline.testsheets.feedplaces import At, Places
from pipeline.testsheets.pen import CARD_MM, FINE_MM, QUIET, WORDS_MM, Pen

Words = Mapping[str, Any]

TICK_MM = 5.0
LONG_MM = 9.0
PICTURE_MM = (16.0, 21.0)
EDGE_STEP_MM = 3.4
TRIALS = tuple(Trial(back, same) for back in (True, False) for same in (True, False))
"""The four pictures that the trial of one side at a time can give."""

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
    if pen.hand.right_to_left:
        pen.words(title, (right, y), 7, weight=300, colour=INK, anchor="end")
        pen.heading(which, (x, y), right - after - x)
    else:
        pen.words(title, (x, y), 7, weight=300, colour=INK)
        pen.heading(which, (x + after, y), right - after - x)
    pen.column([words["about"].format(paper=paper.title)], (x, y + 5.4), right - x, 0)


def measures(pen: Pen, places: Places, words: Words) -> None:
    """Bars for a ruler, and the outline for a bank card."""
    for bars, down in ((places.standing_bars, True), (places.lying_bars, False)):
        pen.bar(bars[0], 100, 10, "100 mm", down)
        pen.bar(bars[1], 4 * MM_PER_INCH, 4, "4 in", down)
    x, y = places.card
    pen.card(places.card)
    middle = x + CARD_MM[0] / 2
    pen.words(words["card"], (middle, y + 26), 3.3, anchor="middle")
    pen.words(words["card_size"], (middle, y + 31), anchor="middle")


def which_way(pen: Pen, at: At, right: float, bottom: float, flip: Flip, words: Words) -> None:
    """How to print on both sides at once, in a column from ``at`` to a last baseline."""
    other = Flip.SHORT if flip is Flip.LONG else Flip.LONG
    x, y = at
    y = pen.heading(words["way_title"], (x, y), right - x) + 0.8
    texts = [words[key] for key in ("way", "way_same", "way_opposite")]
    quiet = words["way_maker"].format(other_flip=other.value)
    pen.column(texts, (x, y), right - x, bottom - y, quiet=quiet)


class Outcome(NamedTuple):
    """What the trial of one side at a time can show, and what is to be done then."""

    trial: Trial
    seen: str
    turn: str
    order: Sequence[str]


class Outcomes(NamedTuple):
    """All four, and the size that each kind of words has in all of them."""

    each: Sequence[Outcome]
    seen_size: float
    turn_size: float
    order_size: float


def outcomes(
    pen: Pen,
    words: Words,
    wide: float,
    *,
    seen: tuple[float, float],
    turn_high: float,
    turn_most: float = WORDS_MM,
) -> Outcomes:
    """The four outcomes in words as large as there is room for, mm.

    ``wide`` is how wide all words can be but those of what is ``seen``, which have a width and a
    height of their own; how to turn the pile is at most ``turn_high`` high, its type ``turn_most``.
    """
    each = [
        Outcome(
            trial,
            words[_seen(trial)],
            words[turn(trial).value],
            [words["order_title"], *_told_files(trial, words)],
        )
        for trial in TRIALS
    ]
    turn_sizes = (
        pen.size_for([one.turn], wide, turn_high, most=turn_most, weight=STRONG_WEIGHT)
        for one in each
    )
    return Outcomes(
        each,
        min(pen.size_for([one.seen], *seen) for one in each),
        min(turn_sizes),
        min(pen.size_for([text], wide, 0) for one in each for text in one.order),
    )


def _seen(trial: Trial) -> str:
    """The key of what a trial's picture shows, in words."""
    where = "back" if trial.on_the_back else "front"
    return f"{where}_{'same' if trial.same_way else 'opposite'}"


def _told_files(trial: Trial, words: Words) -> list[str]:
    """Which file of side 2 to print, for a trial that came on sheet 1 or 2."""
    return [
        words["order"].format(
            sheet=sheet,
            file=words["files"][
                SIDE_2_FILES[reverse_side_2(Trial(trial.on_the_back, trial.same_way, sheet))]
            ],
        )
        for sheet in (1, 2)
    ]


def one_side_title(pen: Pen, at: At, wide: float, words: Words) -> float:
    """The heading of printing one side at a time, in one line. Gives the next baseline."""
    size = pen.size_for([words["feed_title"]], wide, 0, most=3.3, weight=STRONG_WEIGHT)
    return pen.heading(words["feed_title"], at, wide, size)


def order_for_the_maker(pen: Pen, at: At, wide: float, words: Words) -> None:
    """What the maker writes down when side 2 goes in reverse order."""
    quiet = words["order_maker"].format(file=words["files"][SIDE_2_FILES[True]])
    size = pen.size_for([quiet], wide, 0, most=WORDS_MM * QUIET)
    pen.paragraph(quiet, at, wide, size)


def picture(pen: Pen, at: At, trial: Trial) -> None:
    """A small sheet with its two leaves as they are seen against the light."""
    x, y = at
    pen.box(Rect(x, y, *PICTURE_MM), width=FINE_MM)
    pen.leaf((x + 4.6, y + 10.5), 0.28)
    pen.leaf((x + 11.4, y + 10.5), 0.28, 0 if trial.same_way else 180, dashed=trial.on_the_back)


def edges(pen: Pen, paper: Paper, places: Places) -> None:
    """Along each edge, stems from a row of numbers to caps so many mm from the edge."""
    half_width, half_height = paper.width_mm / 2, paper.height_mm / 2
    most = places.edge_most
    for number in range(1, most + 1):
        along = (number - (most + 1) / 2) * EDGE_STEP_MM
        for half, upright, sign in (
            (half_height, True, -1),
            (half_height, True, 1),
            (half_width, False, -1),
            (half_width, False, 1),
        ):

            def at(a: float, depth: float) -> At:
                out = sign * (half - depth)  # noqa: B023 (called within this turn of the loop)
                return (a, out) if upright else (out, a + places.side_edges_y)  # noqa: B023

            foot = most + 0.8
            pen.line(at(along, number), at(along, foot), FINE_MM)
            pen.line(at(along - 1.2, number), at(along + 1.2, number), FINE_MM)
            x, y = at(along, foot + 1.6)
            pen.words(str(number), (x, y + 0.75), 2.2, anchor="middle")


def notes(pen: Pen, at: At, right: float, words: Words) -> float:
    """What a buyer notes for the next time. Gives the last baseline."""
    x, y = at
    pen.heading(words["note_title"], (x, y), right - x)
    called = words["files"]
    for files in ((BOTH,), *((SIDE_1, file) for file in SIDE_2_FILES)):
        y += 5.2
        pen.box(Rect(x, y - 2.6, 3, 3), width=FINE_MM)
        pen.words(" + ".join(called[file] for file in files), (x + 5, y), 3.0, colour=INK)
    y += 6
    pile, size = words["note_pile"], 3.0
    wide = pen.measure(pile, size)
    if pen.hand.right_to_left:
        pen.words(pile, (right, y), size, colour=INK, anchor="end")
        pen.line((x, y + 0.6), (right - wide - 1.5, y + 0.6))
    else:
        pen.words(pile, (x, y), size, colour=INK)
        pen.line((x + wide + 1.5, y + 0.6), (right, y + 0.6))
    return y


def settings(pen: Pen, at: At, right: float, flip: Flip, words: Words) -> None:
    """What the maker may write into a season file."""
    x, y = at
    y = pen.column([words["answer_title"]], (x, y), right - x, 0) + 0.2
    for text in SETTINGS:
        _to_fill_in(pen, text.replace("{flip}", flip.value), (x, y), WORDS_MM * QUIET)
        y += 4.2


def _to_fill_in(pen: Pen, text: str, at: At, size: float) -> None:
    """Words with room for a pencil where they say ``{gap}``."""
    x, y = at
    for number, part in enumerate(text.split("{gap}")):
        if number:
            pen.line((x + 0.8, y + 0.6), (x + 12.8, y + 0.6))
            x += 13.6
        pen.words(part.strip(), (x, y), size, colour=GREY)
        x += pen.measure(part.strip(), size)


def example(pen: Pen, at: At, words: Words) -> None:
    """Two scales as they look against the light when they meet at 0.4; larger than they are."""
    x, y = at
    for place in range(-2, 3):
        pen.line((x + 8 * place, y - 9), (x + 8 * place, y), FINE_MM)
        long = 9.0 if place % 2 == 0 else 6.0
        line_x = x + 7.0 * place
        pen.line((line_x, y), (line_x, y + long), FINE_MM)
        if place % 2 == 0:
            pen.words(vernier.figure(4 + place), (line_x, y + long + 3), anchor="middle")
    pen.circle((x, y), 6.5, FINE_MM)
    pen.words(words["example"], (x, y + 17.5), anchor="middle")


def front(pen: Pen, places: Places, words: Words) -> None:
    """What is tried, on its front: a leaf with the box for the sheet's number, crosses, and the
    lines of both scales that are seen through the paper."""
    _leaf(pen, places.leaf_1, "1")
    x, y = places.leaf_1
    box = Rect(x + 14, y + 15.5, 6, 6)
    pen.box(box, width=FINE_MM)
    pen.words(words["number_box"], (box.x + 3, box.y - 1.4), anchor="middle")
    for at in places.crosses:
        pen.cross(at)
    for along in vernier.front_lines(places.most):
        long = TICK_MM if along else LONG_MM
        y = places.down_y + along
        pen.line((along, places.across_y), (along, places.across_y - long), FINE_MM)
        pen.line((places.down_x, y), (places.down_x + long, y), FINE_MM)


def back(pen: Pen, places: Places, flip: Flip, words: Words, down_at: At) -> None:
    """The same on its back: a leaf, crosses behind those of the front, and the numbered lines.

    ``down_at`` is the middle of the words beside the scale that reads shifts up and down.
    """
    _leaf(pen, places.leaf_2, "2")
    for x, y in places.crosses:
        pen.cross((-x, y))
    _numbered_scales(pen, places, flip, words, down_at)


def _leaf(pen: Pen, at: At, number: str) -> None:
    pen.leaf(at)
    pen.words(number, (at[0] + 4.5, at[1] + 21.5), 5, colour=INK)


def _numbered_scales(pen: Pen, places: Places, flip: Flip, words: Words, down_at: At) -> None:
    """The back's half of both scales; numbers say the shift of its page as the file has it."""
    sign = 1 if flip is Flip.LONG else -1
    x, y = -places.down_x, places.across_y
    for number, at in vernier.back_lines(places.most):
        long = TICK_MM if number % 2 == 0 else 0.7 * TICK_MM
        down = places.down_y + at
        pen.line((at, y), (at, y + long), FINE_MM)
        pen.line((x, down), (x + long, down), FINE_MM)
        if number % 2 == 0:
            label = vernier.figure(sign * number)
            weight = STRONG_WEIGHT if number % 10 == 0 else 400
            pen.words(label, (at, y + long + 3.2), anchor="middle", weight=weight, colour=INK)
            pen.words(label, (x + long + 6, down + 0.95), anchor="end", weight=weight, colour=INK)
    half, near, far, zero = places.bracket_mm, LONG_MM - 1.2, LONG_MM + 0.8, places.down_y
    pen.outline([(-half, y - near), (-half, y - far), (half, y - far), (half, y - near)])
    pen.outline(
        [
            (x - near, zero - half),
            (x - far, zero - half),
            (x - far, zero + half),
            (x - near, zero + half),
        ]
    )
    pen.words(words["across"], (0, y + TICK_MM + 8), anchor="middle")
    pen.words(words["down"], down_at, anchor="middle", turned=270)
