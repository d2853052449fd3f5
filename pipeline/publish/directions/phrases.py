"""What the directions say, a file a language: sentences, their plurals, figures and units.

Plural categories, figures, units, percentages and lists are CLDR's, through Babel.
"""

from __future__ import annotations

import re
import tomllib
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from babel.lists import format_list
from babel.numbers import format_percent
from babel.units import format_compound_unit, format_unit

from pipeline.plan.languages import digits, parents
from pipeline.plan.words import Words, words_for

WORDS = Path(__file__).parent / "words"
_ELSE = "en"
_UNIT_FORMAT = "#,##0.#"

_NUMBERED = re.compile(r" (?=\{(?:first|last|check)\}|\d)")
_COUNTED = re.compile(r"(?<=\d) (?=[^\W\d])")
"""Spaces that no line ends at: before the number of a thing, after a figure that counts things."""

Phrase = str | Mapping[str, str]
"""A sentence, or its plural forms by category; ``by`` in these names the count that decides."""


@dataclass(frozen=True)
class Phrases:
    """The phrases of one language: section (``text``, ``heading``, …) to key to phrase.

    >>> phrases = phrases_for("en-GB")
    >>> phrases.text("fold", {"folds": 1}).split(), phrases.text("fold", {"folds": 26}).split()
    (['1', 'leaf', 'has', 'a', 'flap.'], ['26', 'leaves', 'have', 'a', 'flap.'])
    >>> phrases.weight(129.1).split(), phrases.per_square_metre(120.3).split()
    (['129', 'g'], ['120', 'g/m²'])
    """

    language: str
    words: Words
    of: Mapping[str, Any]

    @property
    def leading(self) -> float:
        """From one baseline to the next, in type sizes: tall scripts need more."""
        return float(self.of["leading"])

    @property
    def drop(self) -> float:
        """Room below headings for what a script hangs there and raises above, in type sizes."""
        return float(self.of["drop"])

    @property
    def page(self) -> str:
        """How a page's number is written, with {page} and {pages}."""
        return str(self.of["page"])

    def text(self, key: str, facts: Mapping[str, object], section: str = "text") -> str:
        """A phrase with its facts put in; whole numbers are written in the locale's figures."""
        phrase: Phrase = self.of[section][key]
        if not isinstance(phrase, str):
            phrase = phrase[self._category(phrase, facts)]
        written = {name: self._written(value) for name, value in facts.items()}
        return _COUNTED.sub("\u00a0", _NUMBERED.sub("\u00a0", phrase).format_map(written))

    def _category(self, forms: Mapping[str, str], facts: Mapping[str, object]) -> str:
        count = facts[forms["by"]]
        assert isinstance(count, int)
        return str(self.words.locale.plural_form(count))

    def _written(self, value: object) -> str:
        return self.words.number(value) if isinstance(value, int) else str(value)

    def paper(self, name: str, title: str) -> str:
        """What a paper is called here: by its own title, if the language has no other name."""
        return str(self.of["paper"].get(name, title))

    def weight(self, grams: float) -> str:
        """A weight to the gram."""
        return self._unit(round(grams), "mass-gram")

    def pounds(self, pounds: float) -> str:
        """A paper's weight to the pound, in every language as it stands on the wrapper."""
        return f"{self.words.number(round(pounds))}\u00a0lb"

    def length(self, mm: float) -> str:
        """A length to the tenth of a millimetre."""
        return self._unit(round(mm, 1), "length-millimeter")

    def per_square_metre(self, grams: float) -> str:
        """A paper's weight, g/m²."""
        written = format_compound_unit(
            round(grams),
            "mass-gram",
            denominator_unit="area-square-meter",
            length="short",
            format=_UNIT_FORMAT,
            locale=self.words.locale,
            numbering_system=self.words.figures,
        )
        assert written is not None  # CLDR has both units in every language
        return self._measured(written)

    def _unit(self, value: float, unit: str) -> str:
        written = format_unit(
            value,
            unit,
            length="short",
            format=_UNIT_FORMAT,
            locale=self.words.locale,
            numbering_system=self.words.figures,
        )
        return self._measured(written)

    @property
    def whole(self) -> str:
        """A hundred per cent."""
        figures = self.words.figures
        written = format_percent(1, locale=self.words.locale, numbering_system=figures)
        sign = self.words.locale.number_symbols[figures]["percentSign"]
        return self._measured(written.replace("%", sign))

    def joined(self, sentences: Sequence[str]) -> str:
        """Sentences as one paragraph; Japanese sets no space between them."""
        return ("" if self.words.locale.language == "ja" else " ").join(sentences)

    def listed(self, items: Sequence[str]) -> str:
        """Items as one reads them aloud: "1–26 and 27"."""
        return format_list(list(items), locale=self.words.locale)

    def _measured(self, written: str) -> str:
        """A figure and its unit, kept on one line by a space that every face has.

        Babel writes the signs of a numbering system but not its figures.
        """
        native = {
            ord("0") + value: figure for value, figure in enumerate(digits(self.words.figures))
        }
        return written.translate({**native, 0x202F: "\u00a0", 0x20: "\u00a0"})


def phrases_for(language: str) -> Phrases:
    """The phrases of a locale: its own file over those it inherits from; else English.

    >>> phrases_for("de-AT").text("turn", {}, "heading")
    'Den Stapel wenden'
    >>> phrases_for("fi").language
    'en'
    """
    files = [WORDS / f"{name}.toml" for name in parents(language)]
    there = [path for path in files if path.is_file()]
    if not there:
        return phrases_for(_ELSE)
    merged: dict[str, Any] = {}
    for path in reversed(there):
        for section, entry in tomllib.loads(path.read_text("utf-8")).items():
            known = merged.get(section)
            merged[section] = {**known, **entry} if isinstance(known, dict) else entry
    return Phrases(language, words_for(language), merged)
