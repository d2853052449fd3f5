"""Which locale somebody meant who wrote a language's name, an old code or another spelling."""

from __future__ import annotations

import difflib
import unicodedata
from collections.abc import Iterable, Mapping
from functools import cache

from babel import localedata
from babel.core import Locale, get_global

_NEAR = 0.75
"""How alike a name must be to the one that is proposed for it."""


def locale_advice(written: str) -> str:
    """What to write instead of a tag that is no locale.

    >>> locale_advice("german"), locale_advice("ger"), locale_advice("en_GB")
    ("did you mean 'de'?", "did you mean 'de'?", "did you mean 'en-GB'?")
    >>> locale_advice("en-UK"), locale_advice("Deutsch")
    ("did you mean 'en-GB'?", "did you mean 'de'?")
    >>> locale_advice("xx")
    "write it like 'en', 'en-GB' or 'pt-BR'"
    """
    meant = _meant(written)
    return f"did you mean '{meant}'?" if meant else "write it like 'en', 'en-GB' or 'pt-BR'"


def _meant(written: str) -> str | None:
    tag = written.strip().replace("_", "-")
    known = _known()
    if found := known.get(tag.casefold()):
        return found
    language, *others = tag.split("-")
    # ISO 639-2's codes of three letters, and territories' names that are codes of none.
    language = get_global("language_aliases").get(language.casefold(), language.casefold())
    territories = get_global("territory_aliases")
    others = [territories.get(part.upper(), [part])[0] for part in others]
    if found := known.get("-".join((language, *others)).casefold()):
        return found
    if language in known:
        same = [name for name in known if name.startswith(f"{language}-")]
        return known[_near("-".join((language, *others)), same) or language]
    name = _bare(written)
    for names in (_english, _own_names):
        if name in names():
            return names()[name]
    for names in (_english, _own_names):
        if near := _near(name, names()):
            return names()[near]
    near = _near(tag.casefold(), known) if others else None
    return known[near] if near else None


def _near(word: str, names: Iterable[str]) -> str | None:
    found = difflib.get_close_matches(word.casefold(), list(names), 1, _NEAR)
    return found[0] if found else None


@cache
def _known() -> Mapping[str, str]:
    """Every locale of CLDR by its tag in small letters."""
    tags = (name.replace("_", "-") for name in localedata.locale_identifiers())
    return {tag.casefold(): tag for tag in tags}


@cache
def _english() -> Mapping[str, str]:
    """Locales by what English calls their languages: "german", "brazilian portuguese"."""
    names = Locale("en").languages.items()
    tags = ((name, code.replace("_", "-")) for code, name in names)
    return {_bare(name): tag for name, tag in tags if tag.casefold() in _known()}


@cache
def _own_names() -> Mapping[str, str]:
    """Languages by what they call themselves; looked up only when nothing else is like a name."""
    found = {}
    for tag in _known().values():
        if "-" not in tag and (name := Locale.parse(tag).languages.get(tag)):
            found[_bare(name)] = tag
    return found


def _bare(name: str) -> str:
    """A name in small letters without accents.

    >>> _bare(" Français ")
    'francais'
    """
    signs = unicodedata.normalize("NFKD", name.casefold().strip())
    return "".join(sign for sign in signs if not unicodedata.combining(sign))
