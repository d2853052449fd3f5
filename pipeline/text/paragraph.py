"""Paragraphs: words broken into lines by how wide they run once they are shaped."""

from __future__ import annotations

import functools
import re
from collections.abc import Iterable, Iterator

import budoux

from pipeline.text import FontBook, Style, advance

_SPACE = re.compile(r"(?<=[ \u3000])(?=[^ \u3000])")
_NEVER_FIRST = frozenset("、。，．！？）」』】・：；ー々％ぁぃぅぇぉっゃゅょァィゥェォッャュョ")
"""What may begin no line of Japanese (JIS X 4051, the commoner ones)."""

SHORTEST = 0.2
"""A last line shorter than this part of the width looks like a leftover."""

NARROWER = (1.0, 0.975, 0.95, 0.925, 0.9)

_NEVER_LAST = frozenset("（「『【")


def lines(text: str, style: Style, width: float, book: FontBook, where: str = "") -> list[str]:
    """A paragraph's lines, each at most ``width`` wide, in the unit of ``style.size``.

    A word or two left over for the last line get company, where that takes no line more. A single
    piece that is wider than that stands on a line of its own.

    >>> sans = Style(("Source Sans 3",), size=10)
    >>> lines("Cut from mark to mark.", sans, 60, FontBook())
    ['Cut from', 'mark to mark.']
    """
    found = pieces(text, style.language)
    widest = _broken(found, style, width, book, where)
    for part in NARROWER:
        rows = _broken(found, style, part * width, book, where)
        if len(rows) == len(widest) and advance(rows[-1], style, book, where) >= SHORTEST * width:
            return rows
    return widest


def _broken(found: list[str], style: Style, width: float, book: FontBook, where: str) -> list[str]:
    rows: list[str] = []
    current = ""
    for piece in found:
        longer = current + piece
        if current and advance(longer.rstrip(), style, book, where) > width + 1e-6:
            rows.append(current.rstrip())
            current = piece.lstrip()
        else:
            current = longer
    return [*rows, current.rstrip()]


def pieces(text: str, language: str) -> list[str]:
    """A text cut wherever a line may end; the pieces joined are the text.

    Languages without spaces between words are broken between phrases (BudouX).

    >>> pieces("to and fro", "en")
    ['to ', 'and ', 'fro']
    >>> pieces("表を上にして、番号の順に重ねます。", "ja")
    ['表を', '上に', 'して、', '番号の', '順に', '重ねます。']
    """
    words = [piece for piece in _SPACE.split(text) if piece]
    if language.split("-")[0] != "ja":
        return words
    return list(_kept_together(piece for word in words for piece in _japanese().parse(word)))


def _kept_together(found: Iterable[str]) -> Iterator[str]:
    """Pieces with what may not begin or end a line joined to its neighbour."""
    held = ""
    for piece in found:
        if held and piece[0] not in _NEVER_FIRST and held[-1] not in _NEVER_LAST:
            yield held
            held = ""
        held += piece
    if held:
        yield held


@functools.cache
def _japanese() -> budoux.Parser:
    return budoux.load_default_japanese_parser()
