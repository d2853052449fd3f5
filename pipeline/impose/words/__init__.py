"""What is printed on the test sheets, a file a language: translations need no code."""

from __future__ import annotations

import functools
from collections.abc import Mapping
from pathlib import Path
from typing import Any, NamedTuple

from pipeline.impose.margins import LEADING, WordStyle
from pipeline.plan.words import Phrases


class SheetWords(NamedTuple):
    """How the words are set, their language among it, and the words; some are several."""

    style: WordStyle
    of: Mapping[str, Any]


@functools.lru_cache(maxsize=64)
def sheet_words(sheet: str, language: str) -> SheetWords:
    """The words of a test sheet ("feed_test", "hole_gauge"), or of the "slug" of every sheet, in a
    language, a CLDR locale; in English where there are none in it.

    >>> words = sheet_words("feed_test", "en-GB")
    >>> words.style.language, words.of["title"]
    ('en-GB', 'Feed test')
    >>> sheet_words("feed_test", "tlh").style.language
    'en'
    """
    said = Phrases.read(Path(__file__).parent, language)
    faces, leading = said.of.get("faces", ()), said.of.get("leading", LEADING)
    style = WordStyle(said.language, tuple(faces), leading, said.local.right_to_left)
    return SheetWords(style, said.of[sheet])
