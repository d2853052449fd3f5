"""Where each run of an SVG text goes: chunks, anchors, shifts and text on a path.

Follows the text layout of SVG 1.1 (chapter 10): an absolute ``x`` or ``y`` starts a new chunk,
``text-anchor`` aligns each chunk, and ``dx``, ``dy`` and ``rotate`` move single characters.
"""

from __future__ import annotations

import itertools
import math
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any

from pipeline.text.fonts import FontBook
from pipeline.text.shape import Glyph, Run, Style, shape_line


@dataclass
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
    """A run within its chunk: the shift (``dx``, ``dy``) before it, and how far it is raised."""

    run: Run
    owner: Any
    dx: float
    dy: float
    rise: float
    rotate: float


def set_letters(letters: Sequence[Letter], book: FontBook, where: str) -> list[SetRun]:
    """Places all letters of a text; a chunk is aligned as its first letter says."""
    placed: list[SetRun] = []
    x = y = 0.0
    for chunk in _chunks(letters):
        x = chunk[0].x if chunk[0].x is not None else x
        y = chunk[0].y if chunk[0].y is not None else y
        pieces = _shaped(chunk, book, where)
        x -= _shift(chunk[0], sum(piece.run.advance + piece.dx for piece in pieces))
        for piece in pieces:
            x, y = x + piece.dx, y + piece.dy
            placed.append(SetRun(piece.run, piece.owner, x, y - piece.rise, piece.rotate))
            x += piece.run.advance
    return placed


def _shift(first: Letter, width: float) -> float:
    """How far a chunk's left end lies before its anchor; the start is where reading starts."""
    start, end = (width, 0.0) if first.style.right_to_left else (0.0, width)
    return {"middle": width / 2, "end": end}.get(first.anchor, start)


def _chunks(letters: Sequence[Letter]) -> list[list[Letter]]:
    chunks: list[list[Letter]] = []
    for letter in letters:
        if not chunks or letter.x is not None or letter.y is not None:
            chunks.append([])
        chunks[-1].append(letter)
    return chunks


def _shaped(chunk: Sequence[Letter], book: FontBook, where: str) -> list[_Piece]:
    """The runs of a chunk from left to right, with the shift that each begins with.

    A letter that is moved or turned starts a line of its own, as it can join nothing.
    """
    pieces: list[_Piece] = []
    for line in _lines(chunk):
        spans = [list(group) for _, group in itertools.groupby(line, lambda each: id(each.owner))]
        texts = [("".join(each.character for each in span), span[0].style) for span in spans]
        first = line[0]
        dx, dy = first.dx, first.dy
        for number, run in shape_line(texts, book, where):
            own = spans[number][0]
            pieces.append(_Piece(run, own.owner, dx, dy, own.rise, first.rotate))
            dx = dy = 0.0
    return pieces


def _lines(chunk: Sequence[Letter]) -> list[list[Letter]]:
    lines: list[list[Letter]] = []
    for letter in chunk:
        moved = bool(letter.dx or letter.dy or letter.rotate)
        if moved or not lines or lines[-1][0].rotate:
            lines.append([])
        lines[-1].append(letter)
    return lines


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

    ``line`` is the path as points (user units), ``offset`` where the text starts along it.
    Clusters whose middle lies off the path are not shown (SVG 1.1, 10.13.2).
    """
    if not letters:
        return []
    pieces = _shaped(letters, book, where)
    along = offset - _shift(letters[0], sum(piece.run.advance + piece.dx for piece in pieces))
    placed: list[SetGlyph] = []
    shift = 0.0
    for piece in pieces:
        along, shift = along + piece.dx, shift + piece.dy
        down = shift - piece.rise
        for _, group in itertools.groupby(piece.run.glyphs, key=lambda glyph: glyph.cluster):
            glyphs = tuple(group)
            step = sum(glyph.advance for glyph in glyphs)
            spot = _point_at(line, along + step / 2)
            if spot is not None:
                x, y, angle = spot
                x += -step / 2 * math.cos(angle) - down * math.sin(angle)
                y += -step / 2 * math.sin(angle) + down * math.cos(angle)
                placed.append(SetGlyph(piece.run, glyphs, piece.owner, x, y, angle))
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
