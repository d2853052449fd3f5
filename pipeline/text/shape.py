"""Shapes text with HarfBuzz: which glyphs, where, and how far the pen moves.

Lengths are in the unit of ``Style.size`` (millimetres in a simplified template), y downwards.
"""

from __future__ import annotations

import functools
import unicodedata
from collections.abc import Iterator
from dataclasses import dataclass
from typing import NamedTuple

import uharfbuzz as hb

from pipeline.errors import UserError
from pipeline.text.fonts import FontBook, Instance


@dataclass(frozen=True)
class Style:
    """How a run of text is to be set; ``size`` and ``letter_spacing`` in the same unit."""

    families: tuple[str, ...]
    size: float
    weight: float = 400
    italic: bool = False
    letter_spacing: float = 0.0
    features: tuple[tuple[str, int], ...] = ()
    variations: tuple[tuple[str, float], ...] = ()
    language: str = ""


class Glyph(NamedTuple):
    """A glyph id, where it stands relative to its run's start, and its own advance."""

    gid: int
    x: float
    y: float
    advance: float
    cluster: int
    """Index into the run's text of the first character it stands for."""


@dataclass(frozen=True)
class Run:
    """Text that one face sets in one go, and the glyphs for it from left to right."""

    text: str
    instance: Instance
    size: float
    glyphs: tuple[Glyph, ...]
    advance: float


def advance(text: str, style: Style, book: FontBook, where: str = "") -> float:
    """How wide ``text`` runs, kerning and ligatures counted, in the unit of ``style.size``.

    >>> book = FontBook()
    >>> sans = Style(("Source Sans 3",), size=10)
    >>> advance("AV", sans, book) < advance("A", sans, book) + advance("V", sans, book)
    True
    """
    return sum(run.advance for run in shape(text, style, book, where))


def shape(text: str, style: Style, book: FontBook, where: str = "") -> tuple[Run, ...]:
    """Runs of glyphs for ``text``, split where the face changes.

    Raises UserError, naming the character, when no face has a glyph for it.
    """
    return tuple(
        _shape_run(part, instance, style) for part, instance in _split(text, style, book, where)
    )


def _split(text: str, style: Style, book: FontBook, where: str) -> Iterator[tuple[str, Instance]]:
    faces = book.candidates(
        style.families, style.weight, style.italic, dict(style.variations), where
    )
    part, current = "", faces[0]
    for character in text:
        fits = [face for face in faces if ord(character) in face.characters]
        if character.isspace() or unicodedata.combining(character):
            chosen = current
        elif not fits:
            raise UserError(
                where,
                f"no font has the character {character!r} "
                f"(U+{ord(character):04X} {unicodedata.name(character, 'unnamed')})",
                "name a font that has it in the collection's fallback_fonts",
            )
        else:
            chosen = fits[0]
        if chosen is not current and part:
            yield part, current
            part = ""
        part, current = part + character, chosen
    if part:
        yield part, current


@functools.lru_cache(maxsize=20_000)
def _shape_run(text: str, instance: Instance, style: Style) -> Run:
    buffer = hb.Buffer()
    buffer.add_str(text)
    buffer.guess_segment_properties()
    if style.language:
        buffer.language = style.language
    features: dict[str, bool | int] = dict(style.features)
    if style.letter_spacing:
        features.setdefault("liga", 0)  # spaced letters are not joined (CSS Text 3, 8.2)
    hb.shape(instance.hb_font, buffer, features)
    scale = style.size / instance.hb_face.upem
    x, glyphs = 0.0, []
    infos, positions = buffer.glyph_infos, buffer.glyph_positions
    for number, (info, position) in enumerate(zip(infos, positions, strict=True)):
        step = position.x_advance * scale
        if number + 1 == len(infos) or infos[number + 1].cluster != info.cluster:
            step += style.letter_spacing
        glyphs.append(
            Glyph(
                info.codepoint,
                x + position.x_offset * scale,
                -position.y_offset * scale,
                step,
                info.cluster,
            )
        )
        x += step
    return Run(text, instance, style.size, tuple(glyphs), x)
