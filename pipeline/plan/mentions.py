"""Times that a text names: days, weeks, months, quarters and years, as people type them.

A text that tells a time and comes from no key stays behind when the dates move on. Names and the
order of day, month and year are CLDR's, through Babel; figures of every script count. A name
alone, such as May or Mars, counts only where a figure stands with it.
"""

from __future__ import annotations

import datetime as dt
import re
import unicodedata
from collections.abc import Callable, Collection, Iterable, Iterator
from dataclasses import dataclass
from functools import lru_cache

from pipeline.plan.words import words_for

_SPACE = r"[\s\u00a0\u2009\u202f]"
_BEFORE, _AFTER = r"(?<![\d.,:/])", r"(?![\d:]|[.,/]\d)"
_DAY = r"(\d{1,2})"
_YEAR = r"(20\d\d)"
_SHORT_OR_YEAR = r"(20\d\d|['’]\d\d)"
_ORDINAL = r"(?:st|nd|rd|th|er|re|e|º|ª|°|\.|-[^\W\d_]{1,3})?"
_LINK = rf"(?:{_SPACE}*[.,\-/年]?{_SPACE}*|{_SPACE}+[^\W\d_]{{1,5}}[.'’]?{_SPACE}+)"
"""Between a day and its month: nothing, a stop, or a short word such as "of", "de" or "mh"."""
_DASH = rf"{_SPACE}*[-–—]{_SPACE}*"

_QUANTITY = re.compile(
    rf"{_SPACE}*(?:[%°€$£×]|(?:steps|pieces|[kmµ]?(?:g|l|m|w|j|cal|wh|hz|b)|cm|pcs|x)\b)",
    re.IGNORECASE,
)
"""What makes a figure like 2026 a quantity: SI's symbols and a few words, from memory."""
_NOT_A_YEAR = re.compile(r"(?:[©€$£#+×]|\(c\)|copyright|no\.?|nr\.?)\s*$", re.IGNORECASE)
_WEEK_WORDS = ("w", "wk", "week", "kw", "sem", "sett", "uke", "vecka", "v", "uge", "týden", "tydz")
"""Usual words and short forms before a week's number, beyond CLDR's; from memory."""

_WORDS = frozenset(("may", "march", "mar", "mars", "set", "out"))
"""Names of months that are words too: with a small letter and words behind, they are those."""

_Reader = Callable[["re.Match[str]"], "Mention | None"]


@dataclass(frozen=True)
class Mention:
    """A time that a text names, as far as it says: what isn't said is None.

    ``text`` is the part that says it. ``dates`` are the days it can mean, (year, month, day):
    several where 5/3 may be in March or in May. ``years`` are those named, ``week`` and
    ``day_of_year`` numbers from 1.
    """

    text: str
    years: tuple[int, ...] = ()
    dates: tuple[tuple[int | None, int, int | None], ...] = ()
    week: int | None = None
    quarter: int | None = None
    day_of_year: int | None = None

    def fits(self, days: Collection[dt.date]) -> bool:
        """Whether some of the days are meant, so that it says nothing wrong of them.

        >>> march = [dt.date(2027, 3, n) for n in range(1, 8)]
        >>> [mention.fits(march) for mention in mentions("5 March; 9 March; 2026", ["en"])]
        [True, False, False]
        """
        return any(self._may_be(day) for day in days)

    def _may_be(self, day: dt.date) -> bool:
        iso = day.isocalendar()
        return (
            (not self.years or day.year in self.years or iso.year in self.years)
            and (not self.dates or any(_same(day, *date) for date in self.dates))
            and (self.week is None or self.week in _week_numbers(day))
            and (self.quarter is None or self.quarter == (day.month + 2) // 3)
            and (self.day_of_year is None or self.day_of_year == day.timetuple().tm_yday)
        )


def _same(day: dt.date, year: int | None, month: int, number: int | None) -> bool:
    return year in (None, day.year) and month == day.month and (number is None or number == day.day)


def _week_numbers(day: dt.date) -> set[int]:
    """By ISO 8601, and by counting from the week of 1 January, from Sunday or Monday."""
    first = dt.date(day.year, 1, 1)
    counted = ((day - first).days + (first.weekday() + shift) % 7 for shift in (0, 1))
    return {day.isocalendar().week, *(days // 7 + 1 for days in counted)}


def mentions(text: str, languages: Iterable[str]) -> list[Mention]:
    """All times that a text names, in the order they stand in it.

    ``languages`` are those it may be written in; English is always one. Raises ``UserError`` for a
    language that CLDR does not know.

    >>> [m.text for m in mentions("Happy New Year 2026! By Friday 5 March; W9", ["en"])]
    ['2026', '5 March', 'W9']
    >>> mentions("2026/27", ["en"])[0].years, mentions("1st–2nd March", ["en"])[0].dates
    ((2026, 2027), ((None, 3, 1), (None, 3, 2)))
    >>> [m.text for m in mentions("May Queen, 2000 ml, 1/2 cup, bed 3, 210 × 297 mm", ["en"])]
    []
    """
    return list(_found(text, tuple(dict.fromkeys((*languages, "en")))))


@lru_cache(maxsize=4096)
def _found(text: str, languages: tuple[str, ...]) -> tuple[Mention, ...]:
    plain = _latin_figures(text)
    found: list[tuple[int, int, Mention]] = []
    taken = [False] * len(plain)
    for language in languages:
        for pattern, read in _habits(language):
            for match in pattern.finditer(plain):
                if any(taken[match.start() : match.end()]):
                    continue
                mention = read(match)
                if mention is not None:
                    taken[match.start() : match.end()] = [True] * len(match[0])
                    found.append((match.start(), match.end(), mention))
    return tuple(mention for _, _, mention in sorted(found, key=lambda one: one[:2]))


def _latin_figures(text: str) -> str:
    """The text with the figures of every script as 0 to 9, and no marks of direction."""
    return "".join(
        str(unicodedata.decimal(sign, sign)) for sign in text if unicodedata.category(sign) != "Cf"
    )


@lru_cache(maxsize=64)
def _habits(language: str) -> tuple[tuple[re.Pattern[str], _Reader], ...]:
    """How times are written in a language, what says most first."""
    months = _months(language)
    own = _any_of(_own_links(language))
    name = rf"({_any_of(months)})(?![^\W\d_])\.?"
    month = rf"(?<![^\W_]){name}"
    to_month = rf"(?:{own}|{_LINK}(?<!\d)(?<![^\W\d_])|(?<=\d)(?![\d])){name}"
    after_year = rf"(?:{_LINK}{_SHORT_OR_YEAR}{_AFTER}|(?!\d))"

    def number(match: re.Match[str], *groups: int) -> tuple[int, ...]:
        return tuple(months[_folded(match[group])] for group in groups)

    def two_months(match: re.Match[str]) -> Mention | None:
        first, last = number(match, 2, 4)
        return _dated(match, match[5], [(first, int(match[1])), (last, int(match[3]))])

    def two_months_first(match: re.Match[str]) -> Mention | None:
        first, last = number(match, 1, 3)
        return _dated(match, match[5], [(first, int(match[2])), (last, int(match[4]))])

    def day_month(match: re.Match[str]) -> Mention | None:
        (of,), last = number(match, 3), int(match[2])
        return _dated(match, match[4], [(of, day) for day in _run(match[1], last)])

    def month_day(match: re.Match[str]) -> Mention | None:
        (of,), first = number(match, 1), int(match[2])
        last = int(match[3]) if match[3] else first
        return _dated(match, match[4], [(of, day) for day in _run(str(first), last)])

    def month_year(match: re.Match[str]) -> Mention | None:
        (of,) = number(match, 1)
        return _dated(match, match[2], [(of, None)])

    def year_month(match: re.Match[str]) -> Mention | None:
        (of,) = number(match, 2)
        return _dated(match, match[1], [(of, None)])

    first_day = rf"(?:{_BEFORE}{_DAY}{_ORDINAL}{_DASH})?"
    named: list[tuple[str, _Reader]] = [
        (
            rf"{_BEFORE}{_DAY}{_ORDINAL}{to_month}{_DASH}{_DAY}{_ORDINAL}{to_month}"
            rf"{after_year}",
            two_months,
        ),
        (
            rf"{month}(?:{own}|{_LINK}){_DAY}{_ORDINAL}{_DASH}{month}(?:{own}|{_LINK}){_DAY}{_ORDINAL}{after_year}",
            two_months_first,
        ),
        (rf"{first_day}{_BEFORE}{_DAY}{_ORDINAL}{to_month}{after_year}", day_month),
        (
            rf"{month}(?:{own}|{_LINK}){_DAY}(?![\d:]|['’]\d\d){_ORDINAL}(?:{_DASH}{_DAY}{_ORDINAL})?"
            rf"{after_year}",
            month_day,
        ),
        (rf"{month}{_LINK}{_SHORT_OR_YEAR}{_AFTER}", month_year),
        (rf"{_BEFORE}{_YEAR}{_LINK}{month}(?!{_LINK}\d)", year_month),
    ]
    order = _numeric_order(language)
    counted: list[tuple[str, _Reader]] = [
        (rf"{_BEFORE}{_YEAR}-?W(\d\d){_AFTER}", _iso_week),
        (rf"{_BEFORE}{_YEAR}-(\d\d)-(\d\d){_AFTER}", _iso_date),
        (
            rf"{_BEFORE}(\d{{1,4}})({_SPACE}*[./\-년年月월]{_SPACE}*)(\d{{1,2}})"
            rf"{_SPACE}*[./\-년年月월]{_SPACE}*(\d{{1,4}}){_AFTER}[日일]?",
            lambda match: _numeric(match, order),
        ),
        (rf"{_BEFORE}(\d{{1,2}}){_SPACE}*[月월]{_SPACE}*(\d{{1,2}}){_SPACE}*[日일]", _cjk),
        (rf"^{_SPACE}*(\d{{1,2}})([./-]){_SPACE}*(\d{{1,2}})(\.?){_SPACE}*$", _short_numeric),
        (rf"(?<!\w)(?:{_any_of(_weeks(language))})\.?{_SPACE}*(\d{{1,2}}){_AFTER}", _week),
        (rf"(?<!\w)(?:Q|{_any_of(_quarters(language))}){_SPACE}?([1-4])(?!\w)", _quarter),
        (rf"(?<!\w)([1-4])(?:{_any_of(_quarters_after(language))})(?!\w)", _quarter),
        (rf"(?<!\w)(?:{_any_of(_day_words(language))}){_SPACE}+(\d{{2,3}}){_AFTER}", _day_number),
        (rf"{_BEFORE}{_YEAR}{_SPACE}?[-–/]{_SPACE}?(20\d\d|\d\d){_AFTER}", _two_years),
        (rf"{_BEFORE}{_YEAR}{_AFTER}", _one_year),
    ]
    iso, rest = counted[:2], counted[2:]
    return tuple(
        (re.compile(pattern, re.IGNORECASE), read) for pattern, read in (*iso, *named, *rest)
    )


def _any_of(words: Iterable[str]) -> str:
    return "|".join(re.escape(word) for word in sorted(words, key=len, reverse=True)) or r"(?!)"


def _folded(name: str) -> str:
    return name.lower()


def _own_links(language: str) -> set[str]:
    """What CLDR's patterns have between a day's figure and its month's name, either way round."""
    found: set[str] = set()
    skeletons = words_for(language).locale.datetime_skeletons
    for skeleton in ("MMMd", "MMMMd", "yMMMd"):
        if skeleton in skeletons:
            pattern = str(skeletons[skeleton].pattern)
            between = re.search(
                r"d+((?:[^dMLy']|'[^']*')+)[ML]{3}|[ML]{3,}((?:[^dMLy']|'[^']*')+)d", pattern
            )
            if between:
                found.add((between[1] or between[2]).replace("'", ""))
    return found


def _months(language: str) -> dict[str, int]:
    """The names of months, in full and short, folded: name to number. Bare figures are none."""
    locale, found = words_for(language).locale, {}
    for form in ("stand-alone", "format"):
        for width in ("abbreviated", "wide"):
            for number, name in locale.months[form][width].items():
                plain = _latin_figures(str(name)).rstrip(".")
                if len(plain) > 1 and not plain.isdecimal():
                    found[_folded(plain)] = int(number)
    return found


def _weeks(language: str) -> set[str]:
    patterns = words_for(language).locale.data["unit_patterns"].get("duration-week", {})
    forms = (form for width in ("long", "short") for form in patterns.get(width, {}).values())
    words = {str(form).replace("{0}", "").strip(" .\u00a0") for form in forms}
    return {word for word in words if word and not re.search(r"[\d{}]", word)} | set(_WEEK_WORDS)


def _quarters(language: str) -> set[str]:
    """What stands before the number of a quarter."""
    return {found[1] for found in _quarter_parts(language) if (found[1] and not found[2])}


def _quarters_after(language: str) -> set[str]:
    """What stands behind the number of a quarter, in full."""
    return {found[2] for found in _quarter_parts(language) if found[2] and not found[1]}


def _quarter_parts(language: str) -> Iterator[re.Match[str]]:
    quarters = words_for(language).locale.quarters["format"]
    for width in ("abbreviated", "wide"):
        found = re.fullmatch(r"(\D*)1(\D*)", _latin_figures(str(quarters[width][1])))
        if found and len(found[1] + found[2]) > 1:
            yield found


def _day_words(language: str) -> set[str]:
    patterns = words_for(language).locale.data["unit_patterns"].get("duration-day", {})
    forms = map(str, patterns.get("long", {}).values())
    return {word for form in forms if (word := form.replace("{0}", "").strip())} | {"day"}


def _numeric_order(language: str) -> str:
    """The order in which a language writes day, month and year in figures: "dmy"."""
    pattern = re.sub(r"'[^']*'", "", words_for(language).locale.date_formats["short"].pattern)
    signs = re.sub("[^dMyL]", "", pattern).replace("L", "M").lower()
    order = "".join(dict.fromkeys(signs))
    return order if sorted(order) == ["d", "m", "y"] else "dmy"


def _run(first: str | None, last: int) -> range:
    start = int(first) if first else last
    return range(start, last + 1) if start <= last else range(last, last + 1)


def _year_of(text: str | None) -> tuple[int, ...]:
    if not text:
        return ()
    figures = int(text.strip("'’"))
    return (figures if figures >= 100 else _CENTURY + figures,)


_CENTURY = 2000


def _dated(
    match: re.Match[str], year: str | None, days: Iterable[tuple[int, int | None]]
) -> Mention | None:
    """A mention of days, (month, day); None where one of them is no day of a year."""
    name = next((part for part in match.groups() if part and part[0].isalpha()), "")
    if name.islower() and match.string[match.end() :].lstrip()[:1].isalpha() and name in _WORDS:
        return None
    dates = tuple((None, month, day) for month, day in days)
    if not dates or not all(1 <= month <= 12 and (day is None or 1 <= day <= 31)
                            for _, month, day in dates):  # fmt: skip
        return None
    return Mention(match[0].strip(), _year_of(year), dates)


def _iso_week(match: re.Match[str]) -> Mention | None:
    return Mention(match[0], (int(match[1]),), week=int(match[2])) if int(match[2]) < 54 else None


def _iso_date(match: re.Match[str]) -> Mention | None:
    return _dated(match, match[1], [(int(match[2]), int(match[3]))])


def _numeric(match: re.Match[str], order: str) -> Mention | None:
    """A date in three figures, in every order that the figures allow, the language's own first."""
    figures = match[1], match[3], match[4]
    if {len(figure) for figure in figures} == {1}:
        return None
    found: list[tuple[int | None, int, int | None]] = []
    for way in dict.fromkeys((order, "dmy", "mdy", "ymd", "ydm")):
        parts = dict(zip(way, figures, strict=True))
        year, month, day = parts["y"], int(parts["m"]), int(parts["d"])
        if len(year) not in (2, 4) or (len(year) == 4 and not 1990 <= int(year) <= 2099):
            continue
        if 1 <= month <= 12 and 1 <= day <= 31:
            found.append((_year_of(year)[0], month, day))
    return Mention(match[0].strip(), (), tuple(found)) if found else None


def _cjk(match: re.Match[str]) -> Mention | None:
    return _dated(match, None, [(int(match[1]), int(match[2]))])


def _short_numeric(match: re.Match[str]) -> Mention | None:
    """Day and month in figures, when that is all the text says and it isn't a fraction."""
    one, other = int(match[1]), int(match[3])
    is_date = match[4] == "." if match[2] == "." else match[2] == "/" and not one < other <= 10
    days = [(month, day) for day, month in ((one, other), (other, one)) if month <= 12]
    days = [(month, day) for month, day in days if month and 1 <= day <= 31]
    return _dated(match, None, days) if is_date and days else None


def _week(match: re.Match[str]) -> Mention | None:
    number = int(match[1])
    return Mention(match[0].strip(), week=number) if 1 <= number <= 53 else None


def _quarter(match: re.Match[str]) -> Mention | None:
    return Mention(match[0].strip(), quarter=int(match[1]))


def _day_number(match: re.Match[str]) -> Mention | None:
    """A day of the year; a small number is that of a plan, such as day 5 of a habit."""
    number = int(match[1])
    return Mention(match[0].strip(), day_of_year=number) if 32 <= number <= 366 else None


def _two_years(match: re.Match[str]) -> Mention | None:
    first, last = int(match[1]), int(match[2])
    last = last if last >= 100 else first - first % 100 + last
    return Mention(match[0], tuple(range(first, last + 1))) if 0 < last - first < 10 else None


def _one_year(match: re.Match[str]) -> Mention | None:
    text = match.string
    if _QUANTITY.match(text, match.end()) or _NOT_A_YEAR.search(text[: match.start()]):
        return None
    return Mention(match[0], (int(match[1]),))
