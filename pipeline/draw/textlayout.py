"""Where each run of an SVG text goes: chunks, anchors, shifts and text on a path.

Follows the text layout of SVG (1.1, chapter 10; 2, chapter 11): an absolute ``x`` or ``y`` starts
a new chunk, ``text-anchor`` aligns each chunk, and ``dx``, ``dy`` and ``rotate`` move single
characters.
"""

from __future__ import annotations

import bisect
import cmath
import itertools
import math
import unicodedata
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, field
from typing import Any, NamedTuple

from fontTools.misc.bezierTools import cubicPointAtTC

from pipeline.svg.path import PathData
from pipeline.text.fonts import FontBook
from pipeline.text.shape import Run, Style, shape_line

_Cubic = tuple[complex, complex, complex, complex]
_CHORDS = 64
"""Into how many straight parts a curve is cut to measure it: those of a quarter circle are shorter
than it by less than 0.003 %."""


@dataclass(slots=True)
class Letter:
    """One character with what its elements say of its place (user units, degrees)."""

    character: str
    owner: Any
    style: Style
    anchor: str = "start"
    x: float | None = None
    y: float | None = None
    dx: float = 0.0
    dy: float = 0.0
    rotate: float = 0.0
    rise: float = 0.0
    """How far above the line's baseline the letter's own lies."""
    placed: set[str] = field(default_factory=set)
    """Which of x, y, dx, dy and rotate an element has given it."""
    way: Way | None = None
    """The path it stands on."""

    @property
    def shifts(self) -> tuple[float, float]:
        """How far it is moved along its line, and across it (down from a line's top)."""
        return (self.dy, -self.dx) if self.style.orientation else (self.dx, self.dy)

    @property
    def is_mark(self) -> bool:
        """Whether it stands on the letter before it, and so goes wherever that one goes."""
        return unicodedata.category(self.character) in ("Mn", "Mc", "Me", "Cf")


class SetRun(NamedTuple):
    """A shaped run, its first letter, where it starts and how it is turned (radians)."""

    run: Run
    first: Letter
    x: float
    y: float
    angle: float = 0.0


def set_letters(letters: Sequence[Letter], book: FontBook) -> list[SetRun]:
    """Places all letters of a text; a chunk is aligned as its first letter says."""
    placed: list[SetRun] = []
    x = y = 0.0
    for chunk in _chunks(letters):
        first = chunk[0]
        if first.way is not None:
            placed += _set_on_path(chunk, first.way, book)
            x, y = first.way.guide.end  # what follows goes on from there (SVG 2, 11.5)
            continue
        x = first.x if first.x is not None else x
        y = first.y if first.y is not None else y
        pieces = _shaped(chunk, book)
        left = -_before(first, pieces)
        down = bool(first.style.orientation)
        for piece in pieces:
            along, across = left + piece.x, piece.y
            spot = (x - across, y + along) if down else (x + along, y + across)
            quarter = math.pi / 2 if down and not piece.run.upright else 0.0
            angle = quarter + math.radians(piece.first.rotate)
            placed.append(SetRun(piece.run, piece.first, *spot, angle))
        x += sum(letter.dx for letter in chunk)
        y += sum(letter.dy for letter in chunk)
        if not first.style.right_to_left:
            left += sum(piece.run.advance for piece in pieces)
        x, y = (x, y + left) if down else (x + left, y)
    return placed


def _before(first: Letter, pieces: Sequence[SetRun]) -> float:
    """How far to the left of its anchor a chunk begins; its start is where reading starts.

    The chunk runs from its leftmost to its rightmost piece, shifts counted; a shift of its first
    letter moves the anchor with it (SVG 2, 11.5, "apply anchoring").
    """
    moved, _ = first.shifts
    left = min(piece.x for piece in pieces) - moved
    right = max(piece.x + piece.run.advance for piece in pieces) - moved
    start, end = (right, left) if first.style.right_to_left else (left, right)
    return {"middle": (left + right) / 2, "end": end}.get(first.anchor, start)


def _chunks(letters: Sequence[Letter]) -> list[list[Letter]]:
    """Letters that are aligned together; on a path, ``y`` says nothing (SVG 2, 11.5)."""
    chunks: list[list[Letter]] = []
    way = None
    for letter in letters:
        placed = letter.x is not None or (letter.y is not None and letter.way is None)
        if not chunks or placed or letter.way is not way:
            chunks.append([])
        chunks[-1].append(letter)
        way = letter.way
    return chunks


def _shaped(chunk: Sequence[Letter], book: FontBook) -> list[SetRun]:
    """The runs of a chunk from left to right, each where its letters' shifts put it.

    Shifts add up in reading order, after shaping, so that letters that are moved still join and
    kern (SVG 2, 11.5, "adjust positions: dx, dy"). In text that runs downwards, x is how far down
    a run begins and y how far left of the column's middle.
    """
    dx = list(itertools.accumulate(letter.shifts[0] for letter in chunk))
    dy = list(itertools.accumulate(letter.shifts[1] for letter in chunk))
    spans = [list(group) for _, group in itertools.groupby(chunk, lambda each: id(each.owner))]
    texts = [("".join(letter.character for letter in span), span[0].style) for span in spans]
    pieces: list[SetRun] = []
    along = 0.0
    for start, run in shape_line(texts, book):
        for place, offset, part in run.cut(_moved(chunk[start : start + len(run.text)])):
            first = start + place
            x, y = along + offset + dx[first], dy[first] - chunk[first].rise
            if chunk[first].style.orientation and not part.upright:
                y += middle_of(part)
            pieces.append(SetRun(part, chunk[first], x, y))
        along += run.advance
    return pieces


def middle_of(run: Run) -> float:
    """How far the middle of a run's face, its central baseline, lies above its alphabetic one."""
    extents = run.instance.hb_font.get_font_extents("ltr")
    middle = (extents.ascender + extents.descender) / 2
    return float(middle * run.size / run.instance.hb_face.upem)


def _moved(letters: Sequence[Letter]) -> list[int]:
    """Which letters are moved or turned, or follow one that is turned; marks stay with theirs."""
    return [
        place
        for place, letter in enumerate(letters)
        if (letter.dx or letter.dy or letter.rotate or (place and letters[place - 1].rotate))
        and not letter.is_mark
    ]


def _set_on_path(letters: Sequence[Letter], way: Way, book: FontBook) -> list[SetRun]:
    """Stands each cluster of a chunk upright on its path, its middle on the curve.

    The first letter's ``x`` counts along the path from where its text starts (SVG 2, 11.5).
    Clusters whose middle lies off the path are not shown (SVG 1.1, 10.13.2).
    """
    pieces = _shaped(letters, book)
    start = way.start + (letters[0].x or 0.0) - _before(letters[0], pieces)
    placed: list[SetRun] = []
    for piece in pieces:
        for _, along, part in piece.run.cut(range(len(piece.run.text))):
            half = part.advance / 2
            spot = way.at(start + piece.x + along + half, letters[0])
            if spot is not None:
                x, y, angle = spot
                x += -half * math.cos(angle) - piece.y * math.sin(angle)
                y += -half * math.sin(angle) + piece.y * math.cos(angle)
                angle += math.radians(piece.first.rotate)
                placed.append(SetRun(part, piece.first, x, y, angle))
    return placed


@dataclass(frozen=True, eq=False)
class Way:
    """A path with the place along it where a text starts, user units."""

    guide: Guide
    start: float

    def at(self, distance: float, first: Letter) -> tuple[float, float, float] | None:
        """Point and direction so far along, for a text whose first letter this is (``Guide.at``).

        On a closed path a text goes once around, to the side of its start that its anchor says,
        wherever the path begins (SVG 2, 11.5, "position on path").
        """
        length = self.guide.length
        if not self.guide.closed:
            return self.guide.at(distance)
        anchor = first.anchor
        if first.style.right_to_left and anchor != "middle":
            anchor = "start" if anchor == "end" else "end"
        least = {"middle": -length / 2, "end": -length}.get(anchor, 0.0)
        if not least <= distance - self.start <= least + length:
            return None
        return self.guide.at(distance % length)


class Guide:
    """A path that text stands on, measured along; all in the text's user units.

    ``length`` is that of all its lines and curves; moves between them take up none (SVG 2, 9.6.1).
    ``closed`` tells whether it is one loop, and ``end`` is the point where it ends.
    """

    def __init__(self, data: PathData, *, backwards: bool = False) -> None:
        """With ``backwards``, it is gone along from its end."""
        self._chords: list[tuple[_Cubic, int]] = []
        self._ends: list[float] = []
        self.length = 0.0
        self.closed = data.operators.endswith("Z") and data.operators.count("M") == 1
        curves = list(_curves(data))
        if backwards:
            curves = [(d, c, b, a) for a, b, c, d in reversed(curves)]
        last = curves[-1][-1] if curves else 0j
        self.end = (last.real, last.imag)
        for curve in curves:
            points = [cubicPointAtTC(*curve, step / _CHORDS) for step in range(_CHORDS + 1)]
            for step, (start, end) in enumerate(itertools.pairwise(points)):
                self.length += abs(end - start)
                self._chords.append((curve, step))
                self._ends.append(self.length)

    def at(self, distance: float) -> tuple[float, float, float] | None:
        """The point (x, y) so far along, and which way the path goes there (radians).

        None where that is before the path's start or past its end.
        """
        place = bisect.bisect_left(self._ends, distance)
        if distance < 0 or place == len(self._ends):
            return None
        before = self._ends[place - 1] if place else 0.0
        long = self._ends[place] - before
        curve, step = self._chords[place]
        t = (step + ((distance - before) / long if long else 0.0)) / _CHORDS
        point = cubicPointAtTC(*curve, t)
        a, b, c, d = curve
        way = (1 - t) ** 2 * (b - a) + 2 * t * (1 - t) * (c - b) + t**2 * (d - c)
        if abs(way) < 1e-9 * abs(d - a):  # at an end where a handle has no length
            way = cubicPointAtTC(*curve, min(t + 1e-4, 1)) - cubicPointAtTC(
                *curve, max(t - 1e-4, 0)
            )
        return point.real, point.imag, cmath.phase(way)


def _curves(data: PathData) -> Iterator[_Cubic]:
    """Each line and curve of a path as a cubic curve of complex numbers."""
    for operator, start, points in data.segments():
        at, *rest = (complex(*point) for point in (start, *points))
        if operator == "C":
            yield (at, rest[0], rest[1], rest[2])
        elif operator != "M":
            third = (rest[0] - at) / 3
            yield (at, at + third, rest[0] - third, rest[0])
