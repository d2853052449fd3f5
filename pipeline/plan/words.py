"""Names, figures and date ranges of a language, by CLDR through Babel, and translated phrases.

Only the Gregorian calendar is used, in every language.
"""

from __future__ import annotations

import datetime as dt
import pickle
import tomllib
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from functools import cached_property, lru_cache
from pathlib import Path
from typing import Any, Literal, Self

from babel import localedata
from babel.core import Locale, UnknownLocaleError, get_global
from babel.dates import DateTimeFormat, match_skeleton, tokenize_pattern
from babel.lists import format_list
from babel.numbers import format_decimal

from pipeline.base.errors import UserError
from pipeline.plan.languages import digits, locale_advice, parents, read_tag

Token = tuple[str, object]


class OwnLocale(Locale):
    """A locale that shares its data with no other.

    Babel (2.18) keeps resolved aliases in data that locales inherit from one another, so that
    after Hebrew a Norwegian March may be called as in Hebrew (python-babel/babel, issue 1234).
    A copy taken before any alias is resolved leaves the shared data as it was read.
    """

    @cached_property
    def data(self) -> localedata.LocaleDataDict:
        """All that CLDR knows of the locale."""
        return localedata.LocaleDataDict(_data_of(str(self)))

    @property
    def _data(self) -> localedata.LocaleDataDict:
        """The one private name of Babel's we use: nothing else gives a locale data of its own."""
        return self.data


def _data_of(name: str) -> dict[str | int | None, Any]:
    """A locale's data with what it inherits, read from Babel's files."""
    data: dict[str | int | None, Any] = {}
    for each in reversed([*parents(name.replace("_", "-")), "root"]):
        path = Path(localedata.resolve_locale_filename(each.replace("-", "_")))
        localedata.merge(data, pickle.loads(path.read_bytes()))
    return data


def _own(locale: Locale) -> OwnLocale:
    return OwnLocale(locale.language, locale.territory, locale.script, locale.variant)


@dataclass(frozen=True)
class Words:
    """The words of one locale. Make it with ``words_for``.

    >>> words = words_for("en-GB")
    >>> words.day_name(dt.date(2027, 3, 1))
    ('Monday', 'Mon', 'Mo', 'M')
    >>> words.interval(dt.date(2027, 3, 1), dt.date(2027, 3, 7), "MMMMd")
    '1–7 March'
    """

    language: str
    """The tag as it was asked for, with its extension if it has one."""
    locale: OwnLocale
    figures: str
    """The numbering system its figures are of, by CLDR's identifier."""
    asked_weekday: int | None = None
    """The weekday the tag itself wants weeks to begin on, 0 = Monday; ``None`` if it says none."""

    @property
    def right_to_left(self) -> bool:
        """Whether lines, and therefore books, run from right to left."""
        return self.locale.character_order == "right-to-left"

    @cached_property
    def _here(self) -> OwnLocale:
        """The locale with its likely territory: a language by itself has no week of its own."""
        likely = get_global("likely_subtags").get(str(self.locale))
        if self.locale.territory or likely is None:
            return self.locale
        try:
            return _own(Locale.parse(likely))
        except (UnknownLocaleError, ValueError):
            return self.locale

    @property
    def first_weekday(self) -> int:
        """The weekday weeks begin on, 0 = Monday: as asked, or as in the (likely) territory."""
        return self._here.first_week_day if self.asked_weekday is None else self.asked_weekday

    @property
    def least_days(self) -> int:
        """The fewest days the first week of a year has in it, in the (likely) territory."""
        return self._here.min_week_days

    @cached_property
    def weekend(self) -> frozenset[int]:
        """The weekdays of the weekend in the locale's (likely) territory, 0 = Monday."""
        start, end = self._here.weekend_start, self._here.weekend_end
        return frozenset((start + n) % 7 for n in range((end - start) % 7 + 1))

    @cached_property
    def _digits(self) -> Mapping[int, str]:
        return {ord("0") + n: figure for n, figure in enumerate(digits(self.figures))}

    def number(self, value: float, decimals: int = 0) -> str:
        """A number to so many decimals, in the locale's own figures or those asked for, ungrouped.

        >>> words_for("ar-EG").number(2027), words_for("hi-u-nu-deva").number(2027)
        ('٢٠٢٧', '२०२७')
        >>> words_for("de").number(85.6, 2)
        '85,6'
        """
        if not decimals:
            return self.native(str(round(value)))
        pattern = "0." + "#" * decimals
        return self.native(format_decimal(value, pattern, self.locale, numbering_system="latn"))

    def native(self, written: str) -> str:
        """A text with its figures 0 to 9 in the locale's own or those asked for."""
        return written.translate(self._digits)

    def listed(self, things: Sequence[str], style: Literal["standard", "or"] = "standard") -> str:
        """Things joined as one reads them aloud: "1–26 and 27" (CLDR list patterns)."""
        return format_list(list(things), style, self.locale)

    def day_name(self, day: dt.date) -> tuple[str, ...]:
        """The weekday's name standing alone: wide, abbreviated, short, narrow (no repeats)."""
        names = self.locale.days["stand-alone"]
        widths = ("wide", "abbreviated", "short", "narrow")
        return distinct(names[width][day.weekday()] for width in widths)

    def weekday_head(self, weekday: int) -> str:
        """The narrow name over a column of a small month."""
        return str(self.locale.days["stand-alone"]["narrow"][weekday])

    def month_name(self, day: dt.date) -> tuple[str, ...]:
        """The month's name standing alone: wide, abbreviated (no repeats)."""
        names = self.locale.months["stand-alone"]
        return distinct(names[width][day.month] for width in ("wide", "abbreviated"))

    def hour(self, hour: int) -> tuple[str, ...]:
        """An hour from 0 to 24 as the locale tells the time, of twelve hours or of twenty-four.

        >>> words_for("en-US").hour(19), words_for("de").hour(7), words_for("ar-EG").hour(19)
        (('7 PM', '7'), ('07:00', '7'), ('٧ م', '٧'))
        """
        time = dt.datetime(2000, 1, 1, hour % 24)
        of_twelve = "H" not in self.locale.time_formats["short"].pattern
        skeleton = self.locale.datetime_skeletons["h" if of_twelve else "Hm"]
        written = self._apply(tokenize_pattern(str(skeleton)), time)
        figure = (hour - 1) % 12 + 1 if of_twelve else hour
        return distinct((" ".join(written.split()), self.number(figure)))

    def time(self, moment: dt.time) -> str:
        """A time of the day to the minute, as the locale tells it.

        >>> words_for("en-GB").time(dt.time(6, 46)), words_for("ar-EG").time(dt.time(17, 40))
        ('06:46', '٥:٤٠ م')
        """
        pattern = self.locale.time_formats["short"].pattern
        written = self._apply(
            tokenize_pattern(pattern), dt.datetime.combine(dt.date(2000, 1, 1), moment)
        )
        return " ".join(written.split())

    def date(self, day: dt.date, skeleton: str) -> str:
        """One day by a CLDR skeleton such as "MMMMd" or "yMMMM".

        >>> words_for("de").date(dt.date(2027, 3, 1), "MMMMd")
        '1. März'
        """
        skeletons = self.locale.datetime_skeletons
        match = _closest(skeleton, skeletons)
        if match is None:
            raise KeyError(skeleton)
        tokens = tokenize_pattern(str(skeletons[match]))
        return self._apply(_widened(tokens, skeleton, match), day)

    def interval(
        self, first: dt.date, last: dt.date, skeleton: str, *, in_years: bool = True
    ) -> str:
        """The days ``first`` to ``last`` by a CLDR skeleton, nothing said twice.

        The pattern is that of the largest field that differs, with its months widened to the
        skeleton's width; where the locale has none, its fallback joins the two dates (UTS 35,
        part 4, "intervalFormats"). Days of two years get their years even when the skeleton has
        none, unless they are to be said without (``in_years``).

        >>> words = words_for("en-GB")
        >>> words.interval(dt.date(2026, 12, 28), dt.date(2027, 1, 3), "MMMMd").split()
        ['28', 'December', '2026', '–', '3', 'January', '2027']
        """
        if in_years and first.year != last.year and "y" not in skeleton:
            skeleton = f"y{skeleton}"
        ends = zip("yMd", first.timetuple(), last.timetuple(), strict=False)
        difference = next((field for field, a, b in ends if a != b and field in skeleton), None)
        if difference is None:
            return self.date(first, skeleton)
        formats = self.locale.interval_formats
        match = _closest(skeleton, (str(key) for key in formats if key))
        parts = formats[match].get(difference) if match else None
        if match and parts:
            before, after = _halves("".join(parts))
            return self._apply(_widened(before, skeleton, match), first) + self._apply(
                _widened(after, skeleton, match), last
            )
        joined = str(formats[None])
        return joined.replace("{0}", self.date(first, skeleton)).replace(
            "{1}", self.date(last, skeleton)
        )

    def _apply(self, tokens: Iterable[Token], day: dt.date) -> str:
        """The pattern's tokens with ``day`` put in, figures as the locale writes them."""
        values = DateTimeFormat(day, self.locale)
        written = []
        for kind, token in tokens:
            if kind != "field":
                written.append(str(token))
                continue
            letter, width = _field(token)
            value = str(values[letter * width])
            is_figure = letter in "ydHhKkm" or (width < 3 and letter != "a")
            written.append(value.translate(self._digits) if is_figure else value)
        return "".join(written)


@lru_cache(maxsize=32)
def words_for(language: str) -> Words:
    """The words of a locale named as in BCP 47: "en-GB", "de", "ar-EG", "hi-u-nu-deva".

    Raises ``UserError`` naming the nearest locale when CLDR does not know it, and for an
    extension that asks for something there is not.
    """
    tag = read_tag(language)
    try:
        locale = Locale.parse(tag.locale, sep="-")
    except (UnknownLocaleError, ValueError, TypeError):
        locale = None
    # Babel mends "en-ZZ" to "en-US"; a season should rather say what it means.
    if locale is None or not _says_all_of(locale, tag.locale):
        raise UserError(
            f"language '{language}'", "isn't a locale that CLDR knows", locale_advice(tag.locale)
        )
    own = _own(locale)
    return Words(language, own, tag.figures or own.default_numbering_system, tag.first_weekday)


def _says_all_of(locale: Locale, language: str) -> bool:
    """Whether the locale still has every subtag that was asked for."""
    subtags = (locale.language, locale.script, locale.territory, locale.variant)
    return {tag.casefold() for tag in language.split("-")} <= {
        str(tag).casefold() for tag in subtags if tag
    }


def _field(token: object) -> tuple[str, int]:
    """Letter and width of a pattern's field."""
    assert isinstance(token, tuple)
    return str(token[0]), int(token[1])


def distinct(forms: Iterable[str]) -> tuple[str, ...]:
    """The forms in the order given, none of them twice."""
    return tuple(dict.fromkeys(str(form) for form in forms))


def _closest(skeleton: str, known: Iterable[str]) -> str | None:
    """The skeleton itself, or the one with the same fields in other widths."""
    names = set(known)
    return skeleton if skeleton in names else match_skeleton(skeleton, names)


def _widened(tokens: Iterable[Token], asked: str, matched: str) -> list[Token]:
    """Month names as wide as the skeleton asked for, where another one had to serve.

    Only fields as wide as in the matched skeleton change: a wider name, or a month in figures,
    is the locale's own choice for it (UTS 35, part 4, "Matching Skeletons").
    """
    want, have = asked.count("M"), matched.count("M")
    if want == have or min(want, have) < 3:
        return list(tokens)
    return [
        ("field", (_field(token)[0], want))
        if kind == "field" and _field(token)[0] in "ML" and _field(token)[1] == have
        else (kind, token)
        for kind, token in tokens
    ]


def _halves(pattern: str) -> tuple[list[Token], list[Token]]:
    """An interval pattern cut where a field comes again; months count as one field.

    Babel cuts them too, but takes "LLLL" and "MMMM" for two fields.
    """
    tokens: list[Token] = list(tokenize_pattern(pattern))
    seen: set[str] = set()
    for position, (kind, token) in enumerate(tokens):
        if kind == "field":
            letter = _field(token)[0].replace("L", "M")
            if letter in seen:
                return tokens[:position], tokens[position:]
            seen.add(letter)
    return tokens, []


@dataclass(frozen=True)
class Phrases:
    """What is said in one language: section to key to phrase, and the language's words.

    A phrase is a text, with things to put in in {braces}, or its plural forms by CLDR's category;
    ``by`` in these names the count that decides, "n" if it is left out.
    """

    local: Words
    of: Mapping[str, Any]

    @classmethod
    def read(cls, folder: Path, language: str) -> Self:
        """The phrases of a locale: its file in the folder over those it inherits from.

        English, as a language, stands in for a language that has none. Raises ``UserError`` when
        CLDR does not know the language.
        """
        files = [folder / f"{name}.toml" for name in parents(language)]
        there = [path for path in reversed(files) if path.is_file()]
        if not there:
            return cls.read(folder, "en")
        of: dict[str, Any] = {}
        for path in there:
            for section, entry in tomllib.loads(path.read_text("utf-8")).items():
                of[section] = {**of.get(section, {}), **entry} if type(entry) is dict else entry
        return cls(words_for(language), of)

    @property
    def language(self) -> str:
        """The language it is in."""
        return self.local.language

    def phrase(self, section: str, key: str, values: Mapping[str, Any]) -> str:
        """A phrase, or the form of it that the values ask for, with nothing put in."""
        forms = self.of[section][key]
        if isinstance(forms, str):
            return forms
        category = self.local.locale.plural_form(values[forms.get("by", "n")])
        return str(forms.get(category) or forms["other"])

    def put_in(self, phrase: str, values: Mapping[str, Any]) -> str:
        """A phrase with values put in; whole numbers are written in the language's figures."""
        number = self.local.number
        return phrase.format(
            **{key: number(one) if isinstance(one, int) else one for key, one in values.items()}
        )

    def say(self, section: str, key: str, **values: Any) -> str:
        """A phrase with what is to be put in."""
        return self.put_in(self.phrase(section, key, values), values)
