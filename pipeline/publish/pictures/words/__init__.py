"""What is said about pictures and sets, a file a language: translations need no code."""

from __future__ import annotations

import tomllib
from collections.abc import Mapping
from dataclasses import dataclass
from functools import lru_cache
from pathlib import Path
from typing import Any

from babel.lists import format_list
from babel.numbers import format_decimal

from pipeline.base.geometry import MM_PER_INCH
from pipeline.plan.figures import digits
from pipeline.plan.tags import parents
from pipeline.plan.words import Words, words_for

_HERE = Path(__file__).parent
_ELSE = "en"

LANGUAGES = ("en", "en-US", "de", "fr", "es", "pl", "el", "ar", "hi", "ja")
"""The languages there are words in."""


@dataclass(frozen=True)
class ShopWords:
    """The words of one language, and its ways with numbers. Make it with ``shop_words``."""

    language: str
    local: Words
    of: Mapping[str, Any]

    def say(self, part: str, key: str, **values: object) -> str:
        """A text with what is to be put in.

        >>> shop_words("en-GB").say("alt", "fan")
        'Pages of the set fanned out on a table.'
        """
        return str(self.of[part][key]).format(**values)

    def count(self, what: str, number: int) -> str:
        """So many of something, in the plural form the language wants (CLDR plural rules).

        >>> shop_words("en").count("leaves", 1), shop_words("pl").count("weeks", 4)
        ('1 leaf', '4 tygodnie')
        """
        forms = self.of["count"][what]
        form = forms.get(self.local.locale.plural_form(number), forms["other"])
        return str(form).format(n=self.local.number(number))

    def number(self, value: float, decimals: int = 0) -> str:
        """A number with at most so many decimals, in the language's figures.

        >>> shop_words("de").number(85.6, 1)
        '85,6'
        """
        pattern = "0." + "#" * decimals if decimals else "0"
        latin = format_decimal(value, pattern, self.local.locale, numbering_system="latn")
        figures = digits(self.local.figures)
        return latin.translate({ord("0") + n: figure for n, figure in enumerate(figures)})

    def size(self, width_mm: float, height_mm: float) -> str:
        """Width and height, in mm or, where people measure so, in inches.

        >>> shop_words("en").size(148, 210), shop_words("en-US").size(148, 210)
        ('148 × 210 mm', '5.83 × 8.27 in')
        """
        return str(self.of["unit"]["size"]).format(
            width=self._measured(width_mm), height=self._measured(height_mm)
        )

    def length(self, length_mm: float) -> str:
        """A length in mm or inches."""
        return str(self.of["unit"]["length"]).format(length=self._measured(length_mm))

    def _measured(self, length_mm: float) -> str:
        """To the tenth of a millimetre or the hundredth of an inch."""
        if self.of["unit"]["inches"]:
            return self.number(length_mm / MM_PER_INCH, 2)
        return self.number(length_mm, 1)

    def any_of(self, things: list[str]) -> str:
        """Things to choose from, joined as the language does (CLDR list patterns)."""
        return str(format_list(things, "or", self.local.locale))

    def all_of(self, things: list[str]) -> str:
        """Things that belong together."""
        return str(format_list(things, "standard", self.local.locale))


@lru_cache(maxsize=32)
def shop_words(language: str) -> ShopWords:
    """The words of a language, a CLDR locale; one that has none takes English.

    Raises ``UserError`` when CLDR does not know the language.
    """
    words: dict[str, Any] = {}
    for name in (*reversed(list(parents(language))), language):
        words = _merged(words, _read(name))
    if not words:
        return shop_words(_ELSE)
    return ShopWords(language, words_for(language), words)


def _read(name: str) -> dict[str, Any]:
    path = _HERE / f"{name}.toml"
    return tomllib.loads(path.read_text("utf-8")) if path.is_file() else {}


def _merged(under: dict[str, Any], over: dict[str, Any]) -> dict[str, Any]:
    both = dict(under)
    for key, value in over.items():
        lower = both.get(key)
        both[key] = _merged(lower, value) if isinstance(lower, dict) else value
    return both
