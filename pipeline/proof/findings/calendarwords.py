"""Whether a text is the calendar's own: a weekday, a month, a day or days of months, a week.

Names and the ways to write days are those of CLDR. Only a whole text counts, so that a seed called
"May Queen" does not count as a month.
"""

from __future__ import annotations

import datetime as dt
import itertools
import re
from collections.abc import Iterable, Iterator, Mapping
from enum import StrEnum
from functools import lru_cache
from typing import NamedTuple

from pipeline.plan.words import Words, words_for

_SHORTEST = 3
"""An abbreviated name of fewer letters may be any word: "So", "Mo", "di"."""
_FIGURES = re.compile(r"\d+")
_BETWEEN = re.compile(r"[\s.,/–—-]+")


class About(StrEnum):
    """What of the calendar a text names."""

    WEEKDAY = "weekday"
    MONTH = "month"
    DAYS = "days"
    WEEK = "week"


class Said(NamedTuple):
    """What a text says in some language.

    ``number`` is the weekday (0 = Monday), the month (1 to 12) or the week; for days it is 0.
    ``short`` tells that a name is abbreviated and nothing stands beside it: it may be a word.
    """

    about: About
    number: int
    language: str
    short: bool = False


def calendar_words(text: str, languages: Iterable[str], weeks: Iterable[str] = ()) -> list[Said]:
    """What a whole text may say of the calendar, language by language; empty for most texts.

    ``weeks`` are words for "week" beyond CLDR's. Abbreviated names are known only in the first
    language and in English: in others they may be words of the first ("set", "out", "man").
    So are single days with such a name.

    >>> [(said.about.value, said.number) for said in calendar_words("Monday 1", ["de", "en"])]
    [('weekday', 0)]
    >>> [said.about.value for said in calendar_words("29 Mar – 4 Apr", ["en"])]
    ['days']
    >>> calendar_words("May Queen", ["en"]), calendar_words("Mo", ["de"])
    ([], [])
    """
    plain, figures = _plain(text), [int(figure) for figure in _FIGURES.findall(text)]
    if not plain:
        return []
    found: list[Said] = []
    for place, language in enumerate(languages):
        names = _names(language)
        for form in names.of.get(plain, ()):
            if form.counted and not figures:
                continue
            if form.short and place and language != "en":
                continue
            number = form.number or (figures[0] if form.about is About.MONTH else 0)
            found.append(Said(form.about, number, language, form.short and not figures))
        known = names.dates if place and language != "en" and len(figures) < 2 else names.days
        if figures and any(rest in known for rest in (plain, *names.without_weekday(plain))):
            found.append(Said(About.DAYS, 0, language))
        a_week = len(figures) == 1 and 1 <= figures[0] <= 53 and text.strip()[-1].isdigit()
        if a_week and (plain in names.weeks or plain in map(_plain, weeks)):
            found.append(Said(About.WEEK, figures[0], language))
    if max(figures, default=99) <= 31:
        found.sort(key=lambda said: said.about is not About.DAYS)  # "1 March" is more than a month
    return found


class _Form(NamedTuple):
    """A name: what it is of, its number, whether it is abbreviated, whether a figure is in it."""

    about: About
    number: int
    short: bool
    counted: bool


class _Names(NamedTuple):
    """What a language calls days and months, how it writes days, and its words for a week.

    ``dates`` are those of ``days`` that say months in full.
    """

    of: Mapping[str, tuple[_Form, ...]]
    dates: frozenset[str]
    days: frozenset[str]
    weeks: frozenset[str]

    def without_weekday(self, plain: str) -> Iterator[str]:
        """A text that begins or ends with a weekday, without that."""
        first, _, after = plain.partition(" ")
        before, _, last = plain.rpartition(" ")
        for name, rest in ((first, after), (last, before)):
            if any(form.about is About.WEEKDAY for form in self.of.get(name, ())):
                yield rest


@lru_cache(maxsize=64)
def _names(language: str) -> _Names:
    words = words_for(language)
    found: dict[str, dict[_Form, None]] = {}
    for about, number, width, name in _every_name(words):
        plain = _plain(name)
        letters = sum(sign.isalpha() for sign in plain)
        short = width != "wide"
        if letters < (_SHORTEST if short else 1):
            continue
        counted = bool(_FIGURES.search(name))
        if not counted and len(name) < 2:
            continue
        form = _Form(about, 0 if counted else number, short, counted)
        # What is as long as the whole name is the whole name.
        if not (short and form._replace(short=False) in found.get(plain, {})):
            found.setdefault(plain, {})[form] = None
    dates = frozenset(map(_plain, _every_date(words, "MMMMd")))
    return _Names(
        {plain: tuple(forms) for plain, forms in found.items()},
        dates,
        dates.union(map(_plain, _every_date(words, "MMMd"))),
        frozenset(plain for plain in map(_plain, _weeks(words)) if len(plain) > 1),
    )


def _every_name(words: Words) -> Iterator[tuple[About, int, str, str]]:
    locale = words.locale
    for width, form in itertools.product(("wide", "abbreviated"), ("stand-alone", "format")):
        for number, name in locale.days[form][width].items():
            yield About.WEEKDAY, int(number), width, str(name)
        for number, name in locale.months[form][width].items():
            yield About.MONTH, int(number), width, str(name)


def _every_date(words: Words, width: str) -> Iterator[str]:
    """Days, and days to days up to two months on, as pages say them."""
    for month in range(1, 13):
        first = dt.date(2027, month, 3)
        ends = [first + dt.timedelta(days=n) for n in (6, 31, 62)]
        for skeleton in (width, f"y{width}"):
            yield words.date(first, skeleton)
            yield from (words.interval(first, end, skeleton) for end in ends)


def _weeks(words: Words) -> Iterator[str]:
    """CLDR's words for one week, from its units of time."""
    locale = words.locale
    patterns = locale.data["unit_patterns"].get("duration-week", {})
    for width in ("long", "short"):
        found = patterns.get(width, {})
        for plural in ("one", "other"):
            if plural in found:
                yield str(found[plural]).replace("{0}", "")
    yield from map(str, dict(locale.unit_display_names.get("duration-week", {})).values())


def _plain(text: str) -> str:
    """A text without its figures and what stands between them.

    >>> _plain("29 Mar. – 4 Apr."), _plain("12")
    ('mar apr', '')
    """
    return " ".join(_BETWEEN.sub(" ", _FIGURES.sub(" ", text.casefold())).split())
