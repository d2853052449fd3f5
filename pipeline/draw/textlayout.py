"""Where each run of an SVG text goes: chunks, anchors, shifts and text on a path.

Follows the text layout of SVG (1.1, chapter 10; 2, chapter 11): an absolute ``x`` or ``y`` starts
a new chunk, ``text-anchor`` aligns each chunk, and ``dx``, ``dy`` and ``rotate`` move single
characters.
"""

from __future__ import annotations

import bisect
import cmath
import functools
import itertools
import math
import unicodedata
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, field, replace
from typing import Any, NamedTuple

from fontTools.misc.bezierTools import cubicPointAtTC

from pipeline.svg.path import PathData
from pipeline.text.fonts import FontBook, Instance
from pipeline.text.shape import Run, Style, in_case, may_break, shape_line

_Cubic = tuple[complex, complex, complex, complex]
_CHORDS = 64
"""Into how many straight parts a curve is cut to measure it: those of a quarter circle are shorter
than it by less than 0.003 %."""


@dataclass(frozen=True, eq=False)
class SetLength:
    """That an element's letters run ``length`` user units (``textLength``).

    ``glyphs`` tells that they are stretched, and not only spread (``lengthAdjust``).
    """

    length: float
    glyphs: bool


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
    backwards: bool = False
    """Whether its element's direction is from right to left."""
    rise: float = 0.0
    """How far above the line's baseline the letter's own lies."""
    leading: float = 0.0
    """How far below its own line the next one lies, where it is the newline that ends one."""
    lines: tuple[Any, ...] = ()
    """The lines drawn on it, whatever those are to who draws them."""
    stretched: tuple[SetLength, ...] = ()
    """The elements around it that have a length of their own, from the outermost."""
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
    stretch: float = 1.0
    """How many times its natural width the run is wide."""

    @property
    def advance(self) -> float:
        """How wide it runs, stretched as it is."""
        return self.run.advance * self.stretch

    @property
    def end(self) -> float:
        """Where it ends, if it is level."""
        return self.x + self.advance


class Flow(NamedTuple):
    """What a text flows into, user units: its lines begin at ``x`` and are ``width`` wide.

    The first one begins at ``y``, and none reaches below ``height``; without a ``height``, ``y`` is
    the first baseline. ``align`` is where lines that are not full stand: "left", "middle",
    "right" or "justify". Each line is at least as high as one in ``style`` with a ``leading``.
    """

    x: float
    y: float
    width: float
    height: float | None
    align: str
    style: Style
    leading: float


def flowed(letters: Sequence[Letter], room: Flow, book: FontBook) -> list[Letter]:
    """Letters broken into lines as vector editors do it, each line with its place.

    A line is as high as its highest letters, each with half of what its leading adds to its size
    above and below (CSS Inline 3, 4.4). What does not fit is not shown.
    """
    placed: list[Letter] = []
    strut = book.find(room.style.families, room.style.weight, room.style.italic)
    usual = _height(strut, room.style.size, room.leading)
    top = room.y
    for line in _filled(letters, room.width, book):
        shown = _without_end(line)
        heights = [
            _height(run.instance, first.style.size, first.leading, first.rise)
            for run, first, *_ in (_shaped(shown, book) if shown else ())
        ]
        above, below = (max(side) for side in zip(usual, *heights, strict=True))
        if room.height is None and line[0] is letters[0]:
            top -= above
        elif room.height is not None and top + above + below > room.y + room.height + 1e-6:
            break
        if shown:
            full = line[-1].character not in BREAKS and line[-1] is not letters[-1]
            placed += _aligned(shown, room, top + above, full, book)
        top += above + below
    return placed


BREAKS = frozenset("\n\u2028")
"""What ends a line of text that flows."""


def _without_end(line: Sequence[Letter]) -> list[Letter]:
    """A line without what ends it: spaces, and a break."""
    shown = list(line)
    while shown and (shown[-1].character in BREAKS or shown[-1].character == " "):
        shown.pop()
    return shown


def _height(
    instance: Instance, size: float, leading: float, rise: float = 0.0
) -> tuple[float, float]:
    """How far letters of a face make their line reach above and below its baseline."""
    above = size * instance.typographic_ascent + (leading - size) / 2 + rise
    return above, leading - above


def _filled(letters: Sequence[Letter], width: float, book: FontBook) -> Iterator[list[Letter]]:
    """Lines with as many letters as fit; a word that is wider than that is broken anywhere."""

    def fits(part: Sequence[Letter]) -> bool:
        return _wide(_without_end(part), book) <= width + 1e-6

    line: list[Letter] = []
    for group in _unbroken(letters):
        word = group
        if line and not fits([*line, *word]):
            yield line
            line = []
        while not line and len(word) > 1:
            most = 8
            while most < len(word) and fits(word[:most]):
                most *= 2
            if most >= len(word) and fits(word):
                break
            ends = range(2, min(most, len(word)) + 1)
            count = bisect.bisect(ends, False, key=lambda end: not fits(word[:end]))
            yield word[: count + 1]
            word = word[count + 1 :]
        line += word
        if word[-1].character in BREAKS:
            yield line
            line = []
    if line:
        yield line


def _wide(letters: Sequence[Letter], book: FontBook) -> float:
    return max((piece.end for piece in _shaped(letters, book)), default=0.0) if letters else 0.0


def _unbroken(letters: Sequence[Letter]) -> Iterator[list[Letter]]:
    """Letters between the places where a line may end, each group with the spaces after it."""
    group: list[Letter] = []
    for letter in letters:
        if group and may_break(group[-1].character, letter.character):
            yield group
            group = []
        group.append(letter)
    if group:
        yield group


def _aligned(
    line: list[Letter], room: Flow, baseline: float, full: bool, book: FontBook
) -> list[Letter]:
    """A line's letters with the place of the first; those of a full one spread if so asked."""
    gap = room.width - _wide(line, book)
    x = room.x + {"middle": gap / 2, "right": gap}.get(room.align, 0.0)
    spaces = sum(letter.character == " " for letter in line)
    found = [replace(letter, x=None, y=None) for letter in line]
    if room.align == "justify" and full and spaces:
        for before, letter in itertools.pairwise(found):
            letter.dx += gap / spaces if before.character == " " else 0.0
        gap = 0.0
    if line[0].backwards:  # its first letter is the rightmost
        x += room.width - gap
    found[0].x, found[0].y = x, baseline
    for letter in found:
        letter.anchor = "start"
    return found


def set_letters(letters: Sequence[Letter], book: FontBook) -> list[SetRun]:
    """Places all letters of a text; a chunk is aligned as its first letter says."""
    placed: list[SetRun] = []
    x = y = 0.0
    chunks = _chunks(_in_lines(_in_case(letters)))
    natural = [_shaped(chunk, book) for chunk in chunks]
    for chunk, before, pieces in zip(chunks, natural, _stretched(natural), strict=True):
        first = chunk[0]
        if first.way is not None:
            placed += _set_on_path(pieces, first, first.way)
            x, y = first.way.guide.end  # what follows goes on from there (SVG 2, 11.5)
            continue
        x = first.x if first.x is not None else x
        y = first.y if first.y is not None else y
        left = -_before(first, pieces)
        down = bool(first.style.orientation)
        for piece in pieces:
            along, across = left + piece.x, piece.y
            spot = (x - across, y + along) if down else (x + along, y + across)
            quarter = math.pi / 2 if down and not piece.run.upright else 0.0
            angle = quarter + math.radians(piece.first.rotate)
            placed.append(piece._replace(x=spot[0], y=spot[1], angle=angle))
        if not first.backwards:
            left += sum(piece.run.advance for piece in before)
            left += max(piece.end for piece in pieces) - max(piece.end for piece in before)
        x += sum(letter.dx for letter in chunk)
        y += sum(letter.dy for letter in chunk)
        x, y = (x, y + left) if down else (x + left, y)
    return placed


def set_line(text: str, first: Letter, book: FontBook) -> list[SetRun]:
    """Places a text in one line and one style, all of whose letters say what the ``first`` says.

    That is what ``set_letters`` gives where nothing shifts, turns or stretches any letter.
    """
    pieces: list[SetRun] = []
    along, across = 0.0, 0.0 - first.rise
    for _, run in shape_line([(text, first.style)], book):
        pieces.append(SetRun(run, first, along, across))
        along += run.advance
    left = -_before(first, pieces)
    x, y = first.x or 0.0, first.y or 0.0
    return [piece._replace(x=x + (left + piece.x), y=y + across) for piece in pieces]


def _before(first: Letter, pieces: Sequence[SetRun]) -> float:
    """How far to the left of its anchor a chunk begins; its start is where reading starts.

    The chunk runs from its leftmost to its rightmost piece, shifts counted; a shift of its first
    letter moves the anchor with it (SVG 2, 11.5, "apply anchoring").
    """
    moved, _ = first.shifts
    left = min([piece.x for piece in pieces]) - moved
    right = max([piece.end for piece in pieces]) - moved
    start, end = (right, left) if first.backwards else (left, right)
    return {"middle": (left + right) / 2, "end": end}.get(first.anchor, start)


def _in_case(letters: Sequence[Letter]) -> Sequence[Letter]:
    """Letters as ``text-transform`` shows them; one may become several."""
    if not any(letter.style.case for letter in letters):
        return letters
    shown = in_case([(letter.character, letter.style) for letter in letters])
    return [
        replace(letter, character=sign)
        if not number
        else replace(letter, character=sign, x=None, y=None, dx=0.0, dy=0.0)
        for letter, signs in zip(letters, shown, strict=True)
        for number, sign in enumerate(signs)
    ]


def _in_lines(letters: Sequence[Letter]) -> Sequence[Letter]:
    """Letters of preformatted text on their lines: a newline leads to the start of the next one.

    That is SVG 2, 11.7.1, and what vector editors do; browsers put a space there.
    """
    found: list[Letter] = []
    down = 0.0
    for letter in letters:
        if letter.character == "\n":
            down += letter.leading
        elif down:
            found.append(_below(letter, letters[0], down))
            down = 0.0
        else:
            found.append(letter)
    return found


def _below(letter: Letter, first: Letter, down: float) -> Letter:
    """A letter at the start of a line or column, so far below or beside that of another one."""
    if letter.style.orientation:
        dx = letter.dx - (down if letter.x is None else 0.0)
        return replace(letter, y=first.y or 0.0 if letter.y is None else letter.y, dx=dx)
    dy = letter.dy + (down if letter.y is None else 0.0)
    return replace(letter, x=first.x or 0.0 if letter.x is None else letter.x, dy=dy)


def _stretched(chunks: list[list[SetRun]]) -> list[list[SetRun]]:
    """The pieces of each chunk, at the lengths that their elements ask for.

    Inner elements come first; what has its length moves as one within those around it (SVG 2,
    11.5, "apply textLength attribute").
    """
    places = {
        holder: place
        for piece in itertools.chain.from_iterable(chunks)
        for place, holder in enumerate(piece.first.stretched)
    }
    for holder, place in sorted(places.items(), key=lambda pair: -pair[1]):
        if not holder.glyphs:
            chunks = [list(_in_clusters(chunk, holder, place)) for chunk in chunks]
        held = [[each for each in chunk if holder in each.first.stretched] for chunk in chunks]
        wide = sum(max(p.end for p in own) - min(p.x for p in own) for own in held if own)
        units = len({id(_unit(each, place)) for own in held for each in own})
        if holder.glyphs and wide:
            chunks = [_wider(chunk, holder, holder.length / wide) for chunk in chunks]
        elif not holder.glyphs and units > 1:
            gap = (holder.length - wide) / (units - 1)
            chunks = [_spread(chunk, holder, place, gap) for chunk in chunks]
    return chunks


def _unit(piece: SetRun, place: int) -> SetLength | SetRun:
    """What moves as one in the element at a ``place`` of those stretched around a piece."""
    inner = piece.first.stretched[place + 1 :]
    return inner[0] if inner else piece


def _in_clusters(chunk: Sequence[SetRun], holder: SetLength, place: int) -> Iterator[SetRun]:
    """Pieces of a chunk, those of an element, but for inner ones, cut wherever they may be."""
    for piece in chunk:
        if holder not in piece.first.stretched or _unit(piece, place) is not piece:
            yield piece
            continue
        for _, along, part in piece.run.cut(range(len(piece.run.text))):
            yield piece._replace(run=part, x=piece.x + along)


def _spread(chunk: Sequence[SetRun], holder: SetLength, place: int, gap: float) -> list[SetRun]:
    """A chunk's pieces with a gap before each unit of an element but the first."""
    moved: list[SetRun] = []
    shift, last, behind = 0.0, None, 0.0
    for piece in chunk:
        if holder in piece.first.stretched:
            unit = _unit(piece, place)
            shift += gap if last is not None and unit is not last else 0.0
            last, behind = unit, gap  # what comes after it keeps its distance too
            moved.append(piece._replace(x=piece.x + shift))
        else:
            moved.append(piece._replace(x=piece.x + shift + behind))
    return moved


def _wider(chunk: Sequence[SetRun], holder: SetLength, factor: float) -> list[SetRun]:
    """A chunk's pieces, those of an element ``factor`` times as wide."""
    moved: list[SetRun] = []
    start, shift = None, 0.0
    for piece in chunk:
        if holder in piece.first.stretched:
            start = piece.x if start is None else start
            x = start + (piece.x - start) * factor
            moved.append(piece._replace(x=x, stretch=piece.stretch * factor))
            shift = max(shift, moved[-1].end - piece.end, key=abs)
        else:
            moved.append(piece._replace(x=piece.x + shift))
    return moved


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
    texts = [
        ("".join(letter.character for letter in span).replace("\n", " "), span[0].style)
        for span in spans
    ]
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


def _set_on_path(pieces: Sequence[SetRun], first: Letter, way: Way) -> list[SetRun]:
    """Stands each cluster of a chunk upright on its path, its middle on the curve.

    The first letter's ``x`` counts along the path from where its text starts (SVG 2, 11.5).
    Clusters whose middle lies off the path are not shown (SVG 1.1, 10.13.2).
    """
    start = way.start + (first.x or 0.0) - _before(first, pieces)
    placed: list[SetRun] = []
    for piece in pieces:
        for _, along, part in piece.run.cut(range(len(piece.run.text))):
            half = part.advance * piece.stretch / 2
            spot = way.at(start + piece.x + along * piece.stretch + half, first)
            if spot is not None:
                x, y, angle = spot
                x += -half * math.cos(angle) - piece.y * math.sin(angle)
                y += -half * math.sin(angle) + piece.y * math.cos(angle)
                angle += math.radians(piece.first.rotate)
                placed.append(piece._replace(run=part, x=x, y=y, angle=angle))
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
        if first.backwards and anchor != "middle":
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


@functools.lru_cache(maxsize=64)
def guide_along(data: PathData, *, backwards: bool) -> Guide:
    """The guide along a path; texts often share one, and days have it again and again."""
    return Guide(data, backwards=backwards)


def _curves(data: PathData) -> Iterator[_Cubic]:
    """Each line and curve of a path as a cubic curve of complex numbers."""
    for operator, start, points in data.segments():
        at, *rest = (complex(*point) for point in (start, *points))
        if operator == "C":
            yield (at, rest[0], rest[1], rest[2])
        elif operator != "M":
            third = (rest[0] - at) / 3
            yield (at, at + third, rest[0] - third, rest[0])
