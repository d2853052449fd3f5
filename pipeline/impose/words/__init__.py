"""What is printed on the test sheets, a file a language: translations need no code."""

from __future__ import annotations

import functools
import tomllib
from collections.abc import Mapping
from pathlib import Path
from typing import Any, NamedTuple

from pipeline.testsheets.pen import LEADING, Hand

_HERE = Path(__file__).parent
_ELSE = "en"


class SheetWords(NamedTuple):
    """How the words are set, their language among it, and the words; some are several."""

    hand: Hand
    of: Mapping[str, Any]


@functools.lru_cache(maxsize=64)
def sheet_words(sheet: str, language: str) -> SheetWords:
    """The words of a test sheet ("feed_test", "hole_gauge"), or of the "slug" of every sheet, in a
    language, a CLDR locale.

    A region that has no file takes its language's, a language that has none takes English.

    >>> words = sheet_words("feed_test", "en-GB")
    >>> words.hand.language, words.of["title"]
    ('en-GB', 'Feed test')
    >>> sheet_words("feed_test", "tlh").hand.language
    'en'
    """
    spoken = language.split("-", maxsplit=1)[0]
    name = next(n for n in (language, spoken, _ELSE) if (_HERE / f"{n}.toml").is_file())
    told: Mapping[str, Any] = tomllib.loads((_HERE / f"{name}.toml").read_text("utf-8"))
    hand = Hand(
        language if name in (language, spoken) else _ELSE,
        tuple(told.get("faces", ())),
        told.get("leading", LEADING),
        told.get("right_to_left", False),
    )
    return SheetWords(hand, told[sheet])
