"""Where each run of an SVG text goes: chunks, anchors, shifts and text on a path.

Follows the text layout of SVG 1.1 (chapter 10): an absolute ``x`` or ``y`` starts a new chunk,
``text-anchor`` aligns each chunk, and ``dx``, ``dy`` and ``rotate`` move single characters.
"""

from __future__ import annotations

import itertools
import math
from collections.abc import Sequence
from dataclasses import dataclass, field
from typing import Any

from pipeline.text.fonts import FontBook
from pipeline.text.shape import Glyph, Run, Style, shape


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


@dataclass(frozen=True)
class SetRun:
    """A shaped run and where it starts; ``owner`` is the element whose paint it takes."""

    run: Run
    owner: Any
    x: float
    y: float
    rotate: float


@dataclass
class _Piece:
    owner: Any
    style: Style
    rotate: float
    dx: float
    dy: float
    text: str = ""
    runs: tuple[Run, ...] = field(default=())

    @property
    def advance(self) -> float:
        return sum(run.advance for run in self.runs)


def set_letters(letters: Sequence[Letter], book: FontBook, where: str) -> list[SetRun]:
    """Places all letters of a text; a chunk is aligned as its first letter says."""
    placed: list[SetRun] = []
    x = y = 0.0
    for chunk in _chunks(letters):
        x = chunk[0].x if chunk[0].x is not None else x
        y = chunk[0].y if chunk[0].y is not None else y
        pieces = _pieces(chunk)
        for piece in pieces:
            piece.runs = shape(piece.text, piece.style, book, where)
        width = sum(piece.advance + piece.dx for piece in pieces)
        x -= _shift(chunk[0].anchor, width)
        for piece in pieces:
            x, y = x + piece.dx, y + piece.dy
            for run in piece.runs:
                placed.append(SetRun(run, piece.owner, x, y, piece.rotate))
                x += run.advance
    return placed


def _shift(anchor: str, width: float) -> float:
    return {"middle": width / 2, "end": width}.get(anchor, 0.0)


def _chunks(letters: Sequence[Letter]) -> list[list[Letter]]:
    chunks: list[list[Letter]] = []
    for letter in letters:
        if not chunks or letter.x is not None or letter.y is not None:
            chunks.append([])
        chunks[-1].append(letter)
    return chunks


def _pieces(chunk: Sequence[Letter]) -> list[_Piece]:
    pieces: list[_Piece] = []
    for letter in chunk:
        moved = bool(letter.dx or letter.dy or letter.rotate)
        last = pieces[-1] if pieces else None
        if moved or last is None or last.owner is not letter.owner or last.rotate:
            pieces.append(_Piece(letter.owner, letter.style, letter.rotate, letter.dx, letter.dy))
        pieces[-1].text += letter.character
    return pieces


@dataclass(frozen=True)
class SetGlyph:
    """One glyph on a path: its run, where it stands and how it is turned (radians)."""

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
    pieces = _pieces(letters)
    for piece in pieces:
        piece.runs = shape(piece.text, piece.style, book, where)
    width = sum(piece.advance + piece.dx for piece in pieces)
    along = offset - _shift(letters[0].anchor if letters else "start", width)
    placed: list[SetGlyph] = []
    rise = 0.0
    for piece in pieces:
        along, rise = along + piece.dx, rise + piece.dy
        for run in piece.runs:
            for _, group in itertools.groupby(run.glyphs, key=lambda glyph: glyph.cluster):
                glyphs = tuple(group)
                step = sum(glyph.advance for glyph in glyphs)
                spot = _point_at(line, along + step / 2)
                if spot is not None:
                    px, py, angle = spot
                    back = -step / 2
                    placed.append(
                        SetGlyph(
                            run,
                            glyphs,
                            piece.owner,
                            px + back * math.cos(angle) - rise * math.sin(angle),
                            py + back * math.sin(angle) + rise * math.cos(angle),
                            angle,
                        )
                    )
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
