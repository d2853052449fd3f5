"""Which language words are in: by their letters, and by how CLDR's words of a language are spelt.

CLDR says what a language calls days, months, countries, languages, currencies and units: some ten
thousand letters each. How often a letter follows two others in them tells languages of one script
apart (W. B. Cavnar and J. M. Trenkle, "N-Gram-Based Text Categorization", 1994).
"""

from __future__ import annotations

import math
import re
import unicodedata
from collections import Counter, defaultdict
from collections.abc import Iterable, Iterator, Mapping, Sequence
from functools import lru_cache
from typing import Any

from babel.core import get_global

from pipeline.plan.languages import root_of
from pipeline.plan.words import words_for
from pipeline.text.shape import script_of

_PARTS = (
    "currency_names", "date_fields", "days", "languages", "months", "quarters", "scripts",
    "territories", "unit_patterns",
)  # fmt: skip
"""What of CLDR's data of a locale is words, by Babel's names."""

_FEWEST_LETTERS = 80
_SURER_BY = 15.0
_SURER_A_LETTER = 0.085
"""How many letters it takes, and how much likelier the other language must be (natural logarithm),
in all and for each letter. By trial on short messages of some twenty programs' translations in 23
languages of Latin letters: of 30 texts of 30 labels each one or none is taken for another language,
and 99 of 100 in another's place are found."""

_FEWEST_KNOWN = 5000
"""A language that CLDR has fewer letters of than that isn't told from others by them."""

_UNSEEN = 0.3
_LETTERS = 40
"""What a sequence counts that CLDR's words do not have, and how many letters might follow two."""


def other_language(texts: Sequence[str], own: str, others: Iterable[str]) -> str | None:
    """The language of ``others`` that texts are in, when they surely are not in ``own``.

    Gives None where they may be, where the letters are few, and where all languages are unlikely.

    >>> months = ["Januar", "Februar", "März", "Mai", "Juni", "Juli", "Oktober", "Dezember"]
    >>> days = ["Montag", "Dienstag", "Mittwoch", "Donnerstag", "Freitag", "Samstag", "Sonntag"]
    >>> other_language(months + days, "fr", ["en", "de"]), other_language(months, "de", ["fr"])
    ('de', None)
    """
    words = [word for text in texts for word in _words(text)]
    letters = Counter(script_of(sign) for word in words for sign in word if sign.isalpha())
    count = sum(letters.values())
    if not count:
        return None

    def share(language: str) -> float:
        return sum(letters[script] for script in scripts_of(language)) / count

    rivals = [one for one in dict.fromkeys(map(root_of, others)) if one != root_of(own)]
    rivals = [one for one in rivals if share(one) > max(0.5, share(own) - 0.1)]
    if not rivals:
        return None
    best = max(rivals, key=lambda one: _likelihood(words, one))
    if share(own) < 0.5:
        return best if count >= _FEWEST_LETTERS / 4 else None
    if sum(_spelling(root_of(own))[0].values()) < _FEWEST_KNOWN:
        return None
    surer = _likelihood(words, best) - _likelihood(words, root_of(own))
    sure = count >= _FEWEST_LETTERS and surer > max(_SURER_BY, _SURER_A_LETTER * count)
    return best if sure else None


_AMERICAN = {
    "aluminum": "aluminium", "apartment": "flat", "artifact": "artefact", "canceled": "cancelled",
    "center": "centre", "check": "cheque", "cilantro": "coriander", "color": "colour",
    "cookie": "biscuit", "cozy": "cosy", "eggplant": "aubergine", "fall": "autumn",
    "favor": "favour", "favorite": "favourite", "flavor": "flavour", "flier": "flyer",
    "gray": "grey", "harbor": "harbour", "honor": "honour", "humor": "humour", "inquiry": "enquiry",
    "jewelry": "jewellery", "labor": "labour", "liter": "litre", "meter": "metre",
    "mold": "mould", "mom": "mum", "neighbor": "neighbour", "plow": "plough",
    "program": "programme", "savory": "savoury", "skeptic": "sceptic", "specialty": "speciality",
    "sulfur": "sulphur", "theater": "theatre", "tire": "tyre", "traveler": "traveller",
    "vacation": "holiday", "yogurt": "yoghurt", "zucchini": "courgette",
}  # fmt: skip
"""How Americans spell or say what others spell or say otherwise (from memory)."""


def english_exchanged(american: str, british: str) -> bool:
    """Whether a text that should be American and one that should not are just the other way.

    >>> english_exchanged("colours of autumn", "colors of fall")
    True
    >>> english_exchanged("colors of fall", "colours of autumn"), english_exchanged("fall", "fall")
    (False, False)
    """
    words = set(_words(american)), set(_words(british))
    forms = [(a + end, b + end) for a, b in _AMERICAN.items() for end in ("", "s")]
    return any(b in words[0] and a in words[1] and a not in words[0] for a, b in forms)


_JOINT_SCRIPTS = {"Jpan": ("Hira", "Kana", "Hani"), "Kore": ("Hang", "Hani"),
                  "Hans": ("Hani", "Bopo"), "Hant": ("Hani", "Bopo")}  # fmt: skip
"""Scripts that are written in letters of several (ISO 15924)."""


def scripts_of(language: str) -> tuple[str, ...]:
    """The scripts of a language, by CLDR's likely subtags unless its tag says (ISO 15924).

    >>> scripts_of("de"), scripts_of("ja"), scripts_of("sr-Latn")
    (('Latn',), ('Hira', 'Kana', 'Hani'), ('Latn',))
    """
    tag = language.replace("-", "_")
    parts = re.split("[-_]", get_global("likely_subtags").get(tag, tag))
    script = next((part for part in parts[1:] if len(part) == 4), "Latn")
    return _JOINT_SCRIPTS.get(script, (script,))


def _words(text: str) -> list[str]:
    """The words of a text in small letters, their marks kept."""
    signs = (sign if unicodedata.category(sign)[0] in "LM" else " " for sign in text.casefold())
    return "".join(signs).split()


def _likelihood(words: Iterable[str], language: str) -> float:
    """How likely words are in a language (natural logarithm)."""
    triples, pairs = _spelling(language)
    return sum(
        math.log((triples.get(three, 0) + _UNSEEN) / (pairs.get(three[:2], 0) + _UNSEEN * _LETTERS))
        for word in words
        for three in _triples(word)
    )


def _triples(word: str) -> Iterator[str]:
    """Each letter of a word, and its end, with the two signs before it.

    >>> list(_triples("bed"))
    ['  b', ' be', 'bed', 'ed ']
    """
    padded = f"  {word} "
    return (padded[at : at + 3] for at in range(len(word) + 1))


@lru_cache(maxsize=64)
def _spelling(language: str) -> tuple[Mapping[str, float], Mapping[str, float]]:
    """How often three signs, and two of which another follows, stand in a language's own words.

    A word that comes often counts little more than once.
    """
    data = words_for(language).locale.data
    texts = (text for part in _PARTS for text in _texts(data.get(part)))
    found = Counter(word for text in texts for word in _words(text))
    triples: defaultdict[str, float] = defaultdict(float)
    pairs: defaultdict[str, float] = defaultdict(float)
    for word, count in found.items():
        for three in _triples(word):
            triples[three] += 1 + math.log(count)
            pairs[three[:2]] += 1 + math.log(count)
    return dict(triples), dict(pairs)


def _texts(data: Any) -> Iterator[str]:
    """All texts in a piece of a locale's data."""
    if isinstance(data, str):
        yield data
    elif isinstance(data, Mapping):
        for value in data.values():
            yield from _texts(value)
