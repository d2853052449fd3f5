"""Names of bundles: safe on every system and in every shop's upload form."""

from __future__ import annotations

import re
import unicodedata
from collections.abc import Mapping

from pipeline.base.errors import UserError
from pipeline.base.foldername import safe_name

MOST_CHARS = 68
"""A name is at most so long, its ending included: some shops take no more than 70. From memory."""

ENDING = ".zip"

# Letters that Unicode does not take apart (UAX #15), as they are usually written without.
_PLAIN = {
    "ß": "ss",
    "æ": "ae",
    "œ": "oe",
    "ø": "o",
    "đ": "d",
    "ð": "d",
    "þ": "th",
    "ł": "l",
    "ħ": "h",
    "ı": "i",
    "ŋ": "ng",
}

# Where a language writes a letter otherwise when it has to do without the mark.
_PLAIN_IN = {
    "de": {"ä": "ae", "ö": "oe", "ü": "ue"},
    "sv": {"å": "aa", "ä": "ae", "ö": "oe"},
    "da": {"å": "aa", "ø": "oe"},
    "nb": {"å": "aa", "ø": "oe"},
}


def plain(text: str, language: str) -> str | None:
    """A text in small letters a to z, figures and hyphens; None if letters would be lost.

    >>> plain("Woche für Woche, März – Mai 2027", "de-AT")
    'woche-fuer-woche-maerz-mai-2027'
    >>> plain("Łąka i ogród", "pl"), plain("Αγρόκηπος", "el")
    ('laka-i-ogrod', None)
    """
    spoken = language.split("-", maxsplit=1)[0]
    small = unicodedata.normalize("NFC", text).casefold()
    for letter, written in {**_PLAIN, **_PLAIN_IN.get(spoken, {})}.items():
        small = small.replace(letter, written)
    apart = unicodedata.normalize("NFKD", small)
    kept = "".join(sign for sign in apart if not unicodedata.combining(sign))
    if any(sign.isalnum() and not sign.isascii() for sign in kept):
        return None
    return "-".join(re.findall(r"[a-z0-9]+", re.sub("['’]", "", kept))) or None


def bundle_name(
    pattern: str, fields: Mapping[str, str], short: Mapping[str, str], language: str
) -> str:
    """The name of a bundle: the pattern with its fields put in, all in small letters.

    ``short`` are names for fields that are safe as they are: they stand in where a field's own
    text has letters that cannot be written from a to z, and where the name would be too long.
    Raises ``UserError`` when it is too long all the same, or a name that a system keeps to itself.

    >>> short = {"title": "running"}
    >>> bundle_name("{title}-v{version}", {"title": "Läufer", "version": "2"}, short, "de")
    'laeufer-v2'
    >>> bundle_name("{title}-v{version}", {"title": "庭の週", "version": "2"}, short, "ja")
    'running-v2'
    """
    full = {key: plain(text, language) if text else "" for key, text in fields.items()}
    brief = {key: short.get(key, "") or value or "" for key, value in full.items()}
    whole = {key: brief[key] if value is None else value for key, value in full.items()}
    short_title = {**whole, "title": brief.get("title", "")}
    names = [_joined(pattern, values) for values in (whole, short_title, brief)]
    name = next((one for one in names if len(one + ENDING) <= MOST_CHARS), "")
    if not name:
        raise UserError(
            "publish, name",
            f"'{names[-1]}{ENDING}' has {len(names[-1] + ENDING)} letters"
            f" and shops take {MOST_CHARS}",
            "leave a field out of the pattern, or give the set a shorter name",
        )
    try:
        safe_name(name)
        safe_name(name.split(".", maxsplit=1)[0])
    except ValueError as problem:
        raise UserError("publish, name", str(problem), "change the pattern") from None
    return name


def _joined(pattern: str, values: Mapping[str, str]) -> str:
    """The pattern with values, without the hyphens that empty ones leave behind."""
    name = pattern.lower().format_map(values)
    return re.sub(r"([-_.])[-_.]*", r"\1", name).strip("-_.")
