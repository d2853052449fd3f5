"""Language tags: a CLDR locale with a Unicode extension, and what a locale inherits from."""

from __future__ import annotations

import re
from collections.abc import Iterator
from typing import NamedTuple

from babel.core import get_global

from pipeline.base.errors import UserError
from pipeline.base.nearest import did_you_mean
from pipeline.plan.calendar import WEEKDAYS
from pipeline.plan.figures import NUMBERING

_DAYS = {name[:3]: number for number, name in enumerate(WEEKDAYS)}


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
    where = f"language '{language}'"
    locale, *extension = re.split("(?i:-u-)", language, maxsplit=1)
    if not extension:
        return Tag(locale)
    keywords = extension[0].casefold()
    pairs = re.findall(r"(?:^|-)([a-z0-9]{2})((?:-[a-z0-9]{3,8})*)", keywords)
    asked = {key: value.removeprefix("-") for key, value in pairs}
    if not asked or keywords != "-".join(part for pair in asked.items() for part in pair if part):
        raise UserError(
            where,
            f"'-u-{extension[0]}' is no Unicode extension of a language",
            "write it like '-u-nu-arab'",
        )
    if unknown := asked.keys() - {"nu", "fw"}:
        raise UserError(
            where,
            f"asks for '{min(unknown)}', which changes nothing here",
            "keep only 'nu' (figures) and 'fw' (first day of the week)",
        )
    figures, day = asked.get("nu"), asked.get("fw")
    if figures is not None and figures not in NUMBERING:
        raise UserError(
            where,
            f"'{figures}' is no numbering system of ten figures known here",
            did_you_mean(figures, NUMBERING),
        )
    if day is not None and day not in _DAYS:
        raise UserError(where, f"'{day}' is no weekday", did_you_mean(day, _DAYS))
    return Tag(locale, figures, None if day is None else _DAYS[day])


def parents(language: str) -> Iterator[str]:
    """A locale and those it inherits from, nearest first (UTS 35, "Locale Inheritance").

    An extension says nothing about inheritance and falls away. A language in a script that is
    not its usual one inherits nothing from the language by itself.

    >>> list(parents("en-GB")), list(parents("ar-EG-u-nu-latn"))
    (['en-GB', 'en-001', 'en'], ['ar-EG', 'ar'])
    """
    exceptions = get_global("parent_exceptions")
    language = re.split("(?i:-u-)", language, maxsplit=1)[0]
    while language:
        yield language
        parent = exceptions.get(language.replace("-", "_"))
        shorter, _, last = language.rpartition("-")
        if re.fullmatch("[A-Za-z]{4}", last) and not _usual(shorter, last):
            return
        language = parent.replace("_", "-") if parent else shorter


def _usual(language: str, script: str) -> bool:
    """Whether the script is the one CLDR's likely subtags give the language."""
    return script in get_global("likely_subtags").get(language, script).split("_")


def root_of(language: str) -> str:
    """The last locale ``language`` inherits from: whose texts serve all its countries.

    >>> root_of("en-GB"), root_of("zh-Hant-TW")
    ('en', 'zh-Hant')
    """
    *_, last = parents(language)
    return last
