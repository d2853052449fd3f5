"""Languages: tags, what a locale inherits from, its figures, and which locale somebody meant."""

from __future__ import annotations

import difflib
import re
import unicodedata
from collections.abc import Iterable, Iterator, Mapping
from functools import cache, partial
from typing import NamedTuple

from babel import localedata
from babel.core import Locale, get_global

from pipeline.base.errors import UserError, did_you_mean
from pipeline.plan.calendar import WEEKDAYS

_SCRIPTS = {
    "adlm": "ADLAM", "arab": "ARABIC-INDIC", "arabext": "EXTENDED ARABIC-INDIC",
    "beng": "BENGALI", "cakm": "CHAKMA", "deva": "DEVANAGARI", "gujr": "GUJARATI",
    "guru": "GURMUKHI", "hmnp": "NYIAKENG PUACHUE HMONG", "java": "JAVANESE", "khmr": "KHMER",
    "knda": "KANNADA", "laoo": "LAO", "mlym": "MALAYALAM", "mong": "MONGOLIAN",
    "mtei": "MEETEI MAYEK", "mymr": "MYANMAR", "nkoo": "NKO", "olck": "OL CHIKI",
    "orya": "ORIYA", "tamldec": "TAMIL", "telu": "TELUGU", "thai": "THAI", "tibt": "TIBETAN",
    "vaii": "VAI",
}  # fmt: skip
"""What Unicode's names call the figures of each decimal numbering system that is some CLDR
locale's own, besides our own figures: "ADLAM DIGIT ZERO", and the other nine after it."""

NUMBERING = ("latn", *_SCRIPTS)
"""The numbering systems there are, by their CLDR identifiers."""


def digits(system: str) -> str:
    """The figures 0 to 9 of a numbering system, one of ``NUMBERING``.

    >>> digits("deva")
    '०१२३४५६७८९'
    """
    script = "" if system == "latn" else _SCRIPTS[system]
    zero = ord(unicodedata.lookup(f"{script} DIGIT ZERO".lstrip()))
    return "".join(chr(zero + n) for n in range(10))


class Tag(NamedTuple):
    """A language tag taken apart (BCP 47 with the extension of RFC 6067).

    ``figures`` is the numbering system asked for by ``nu``, ``first_weekday`` the day asked for
    by ``fw`` (0 = Monday); ``None`` leaves either to the locale.
    """

    locale: str
    figures: str | None = None
    first_weekday: int | None = None


def read_tag(language: str) -> Tag:
    """Take a language tag apart; the locale itself is not looked up.

    Raises ``UserError`` for an extension there is no use for here.

    >>> read_tag("ar-EG-u-fw-sun-nu-arab")
    Tag(locale='ar-EG', figures='arab', first_weekday=6)
    """
    mistake = partial(UserError, f"language '{language}'")
    locale, *extension = re.split("(?i:-u-)", language, maxsplit=1)
    if not extension:
        return Tag(locale)
    keywords = extension[0].casefold()
    pairs = re.findall(r"(?:^|-)([a-z0-9]{2})((?:-[a-z0-9]{3,8})*)", keywords)
    asked = {key: value.removeprefix("-") for key, value in pairs}
    if not asked or keywords != "-".join(part for pair in asked.items() for part in pair if part):
        what = f"'-u-{extension[0]}' isn't a Unicode extension of a language"
        raise mistake(what, "write it like '-u-nu-arab'")
    if unknown := asked.keys() - {"nu", "fw"}:
        what = f"asks for '{min(unknown)}', which changes nothing here"
        raise mistake(what, "keep only 'nu' (figures) and 'fw' (first day of the week)")
    figures, day = asked.get("nu"), asked.get("fw")
    if figures is not None and figures not in NUMBERING:
        what = f"'{figures}' isn't a known numbering system of ten figures"
        raise mistake(what, did_you_mean(figures, NUMBERING))
    days = {name[:3]: number for number, name in enumerate(WEEKDAYS)}
    if day is not None and day not in days:
        raise mistake(f"'{day}' isn't a weekday", did_you_mean(day, days))
    return Tag(locale, figures, None if day is None else days[day])


def parents(language: str) -> Iterator[str]:
    """A locale and those it inherits from, nearest first (UTS 35, "Locale Inheritance").

    An extension says nothing about inheritance and falls away. A language in a script that is
    not its usual one inherits nothing from the language by itself.

    >>> list(parents("en-GB")), list(parents("ar-EG-u-nu-latn"))
    (['en-GB', 'en-001', 'en'], ['ar-EG', 'ar'])
    """
    language = re.split("(?i:-u-)", language, maxsplit=1)[0]
    while language:
        yield language
        parent = get_global("parent_exceptions").get(language.replace("-", "_"))
        language, _, script = language.rpartition("-")
        usual = get_global("likely_subtags").get(language, script).split("_")
        if parent is not None:
            language = parent.replace("_", "-")
        elif re.fullmatch("[A-Za-z]{4}", script) and script not in usual:
            return


def root_of(language: str) -> str:
    """The last locale ``language`` inherits from: whose texts serve all its countries.

    >>> root_of("en-GB"), root_of("zh-Hant-TW")
    ('en', 'zh-Hant')
    """
    *_, last = parents(language)
    return last


def is_locale(tag: str) -> bool:
    """Whether CLDR knows a locale by that tag."""
    return tag.casefold() in _known()


def title_in(title: str | Mapping[str, str], language: str) -> str | None:
    """The title in a language, or in the nearest one it inherits from; ``None`` if there is none.

    >>> title_in({"en": "Odd jobs", "de": "Was so anfällt"}, "en-GB")
    'Odd jobs'
    >>> title_in({"en": "Odd jobs"}, "de") is None
    True
    """
    if isinstance(title, str):
        return title
    return next((title[name] for name in parents(language) if name in title), None)


def tag_of(written: str) -> str | None:
    """The tag of the locale that can only be meant: in other capitals, with "_", or by the name
    that English or the language itself has for it. None for any other.

    >>> tag_of("en_gb"), tag_of("German"), tag_of("Deutsch"), tag_of("ger")
    ('en-GB', 'de', 'de', None)
    """
    tag = written.strip().replace("_", "-")
    name = _bare(written)
    return _known().get(tag.casefold()) or _english().get(name) or _own_names().get(name)


def locale_advice(written: str) -> str:
    """What to write instead of a tag that isn't a locale.

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
    if exact := tag_of(written):
        return exact
    tag, known = written.strip().replace("_", "-"), _known()
    language, *others = tag.split("-")
    # ISO 639-2's codes of three letters, and territories' names that are codes of none.
    language = get_global("language_aliases").get(language.casefold(), language.casefold())
    territories = get_global("territory_aliases")
    others = [territories.get(part.upper(), [part])[0] for part in others]
    mended = "-".join((language, *others)).casefold()
    if found := known.get(mended):
        return found
    if language in known:
        same = [name for name in known if name.startswith(f"{language}-")]
        return known[_near(mended, same) or language]
    name = _bare(written)
    for names in (_english, _own_names):
        if near := _near(name, names()):
            return names()[near]
    near = _near(tag.casefold(), known) if others else None
    return known[near] if near else None


def _near(word: str, names: Iterable[str]) -> str | None:
    found = difflib.get_close_matches(word, list(names), 1, 0.75)  # by trial
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


def language_name(language: str, called_in: str = "en") -> str:
    """What a language is called in a language (CLDR).

    >>> language_name("de", "en"), language_name("de", "de"), language_name("el", "el")
    ('German', 'Deutsch', 'Ελληνικά')
    """
    locale = Locale.parse(language.split("-u-")[0], sep="-")
    name = locale.get_display_name(called_in.split("-u-")[0].replace("-", "_")) or language
    return name[0].upper() + name[1:]
