"""Where each run of an SVG text goes: chunks, anchors, shifts and text on a path.

Follows the text layout of SVG (1.1, chapter 10; 2, chapter 11): an absolute ``x`` or ``y`` starts
a new chunk, ``text-anchor`` aligns each chunk, and ``dx``, ``dy`` and ``rotate`` move single
characters.
"""

from __future__ import annotations

import itertools
import math
import unicodedata
from collections.abc import Sequence
from dataclasses import dataclass, field
from typing import Any

from pipeline.text.fonts import FontBook
from pipeline.text.shape import Glyph, Run, Style, shape_line


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

    @property
    def is_mark(self) -> bool:
        """Whether it stands on the letter before it, and so goes wherever that one goes."""
        return unicodedata.category(self.character) in ("Mn", "Mc", "Me", "Cf")


@dataclass(frozen=True)
class SetRun:
    """A shaped run and where it starts; ``owner`` is the element whose paint it takes."""

    run: Run
    owner: Any
    x: float
    y: float
    rotate: float


@dataclass(frozen=True)
class _Piece:
    """A run within its chunk: where it starts from the chunk's start, and its first letter."""

    run: Run
    first: Letter
    x: float
    y: float


def set_letters(letters: Sequence[Letter], book: FontBook, where: str) -> list[SetRun]:
    """Places all letters of a text; a chunk is aligned as its first letter says."""
    placed: list[SetRun] = []
    x = y = 0.0
    for chunk in _chunks(letters):
        first = chunk[0]
        x = first.x if first.x is not None else x
        y = first.y if first.y is not None else y
        pieces = _shaped(chunk, book, where)
        left = x - _before(first, pieces)
        for piece in pieces:
            at = (left + piece.x, y + piece.y)
            placed.append(SetRun(piece.run, piece.first.owner, *at, piece.first.rotate))
        width = sum(piece.run.advance for piece in pieces)
        x = left + sum(letter.dx for letter in chunk)
        x += 0.0 if first.style.right_to_left else width
        y += sum(letter.dy for letter in chunk)
    return placed


def _before(first: Letter, pieces: Sequence[_Piece]) -> float:
    """How far to the left of its anchor a chunk begins; its start is where reading starts.

    The chunk runs from its leftmost to its rightmost piece, shifts counted; a shift of its first
    letter moves the anchor with it (SVG 2, 11.5, "apply anchoring").
    """
    left = min(piece.x for piece in pieces) - first.dx
    right = max(piece.x + piece.run.advance for piece in pieces) - first.dx
    start, end = (right, left) if first.style.right_to_left else (left, right)
    return {"middle": (left + right) / 2, "end": end}.get(first.anchor, start)


def _chunks(letters: Sequence[Letter]) -> list[list[Letter]]:
    chunks: list[list[Letter]] = []
    for letter in letters:
        if not chunks or letter.x is not None or letter.y is not None:
            chunks.append([])
        chunks[-1].append(letter)
    return chunks


def _shaped(chunk: Sequence[Letter], book: FontBook, where: str) -> list[_Piece]:
    """The runs of a chunk from left to right, each where its letters' shifts put it.

    Shifts add up in reading order, after shaping, so that letters that are moved still join and
    kern (SVG 2, 11.5, "adjust positions: dx, dy").
    """
    dx = list(itertools.accumulate(letter.dx for letter in chunk))
    dy = list(itertools.accumulate(letter.dy for letter in chunk))
    spans = [list(group) for _, group in itertools.groupby(chunk, lambda each: id(each.owner))]
    texts = [("".join(letter.character for letter in span), span[0].style) for span in spans]
    pieces: list[_Piece] = []
    along = 0.0
    for start, run in shape_line(texts, book, where):
        for place, offset, part in run.cut(_moved(chunk[start : start + len(run.text)])):
            first = start + place
            x, y = along + offset + dx[first], dy[first] - chunk[first].rise
            pieces.append(_Piece(part, chunk[first], x, y))
        along += run.advance
    return pieces


def _moved(letters: Sequence[Letter]) -> list[int]:
    """Which letters are moved or turned, or follow one that is turned; marks stay with theirs."""
    return [
        place
        for place, letter in enumerate(letters)
        if (letter.dx or letter.dy or letter.rotate or (place and letters[place - 1].rotate))
        and not letter.is_mark
    ]


@dataclass(frozen=True)
class SetGlyph:
    """One cluster on a path: its run, where it stands and how it is turned (radians)."""

    run: Run
    glyphs: tuple[Glyph, ...]
    owner: Any
    x: float
    y: float
    angle: float


def set_on_path(
    letters: Sequence[Letter],
    line: Sequence[tuple[float, float]],
    offset: float,
    book: FontBook,
    where: str,
) -> list[SetGlyph]:
    """Stands each cluster of a text upright on a flattened path, its middle on the curve.

    ``line`` is the path as points (user units), ``offset`` where the text starts along it; the
    first letter's ``x`` counts along it too, its ``y`` not at all (SVG 1.1, 10.13.3).
    Clusters whose middle lies off the path are not shown (SVG 1.1, 10.13.2).
    """
    if not letters:
        return []
    pieces = _shaped(letters, book, where)
    start = offset + (letters[0].x or 0.0) - _before(letters[0], pieces)
    placed: list[SetGlyph] = []
    for piece in pieces:
        along = start + piece.x
        for _, group in itertools.groupby(piece.run.glyphs, key=lambda glyph: glyph.cluster):
            glyphs = tuple(group)
            step = sum(glyph.advance for glyph in glyphs)
            spot = _point_at(line, along + step / 2)
            if spot is not None:
                x, y, angle = spot
                x += -step / 2 * math.cos(angle) - piece.y * math.sin(angle)
                y += -step / 2 * math.sin(angle) + piece.y * math.cos(angle)
                placed.append(SetGlyph(piece.run, glyphs, piece.first.owner, x, y, angle))
            along += step
    return placed


def _point_at(
    line: Sequence[tuple[float, float]], distance: float
) -> tuple[float, float, float] | None:
    if distance < 0:
        return None
    for (x0, y0), (x1, y1) in itertools.pairwise(line):
        step = math.hypot(x1 - x0, y1 - y0)
        if step and distance <= step:
            share = distance / step
            return x0 + share * (x1 - x0), y0 + share * (y1 - y0), math.atan2(y1 - y0, x1 - x0)
        distance -= step
    return None
