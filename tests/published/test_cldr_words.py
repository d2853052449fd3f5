"""Names, figures and ranges against CLDR, and figures against Unicode's character data.

The program takes them from Babel's copy of CLDR. Where a sweep over all locales asks Babel too, it
says so: it shows that the right thing is asked for in each, and only the tables written by hand
beside it show that the answer is right.
"""

from __future__ import annotations

import datetime as dt
import unicodedata

import pytest
from babel import localedata
from babel.core import Locale
from babel.dates import format_interval, get_day_names, get_month_names
from babel.localedata import locale_identifiers

from pipeline.plan.languages import NUMBERING, digits
from pipeline.plan.words import Words, words_for

ALL = [name.replace("_", "-") for name in sorted(locale_identifiers())]
SHARE = sorted({*ALL[::5], "ar-EG", "bn", "fa", "hi", "mr", "my", "ta", "th"})
EACH = pytest.mark.parametrize(
    "locales", [SHARE, pytest.param(ALL, marks=pytest.mark.wide)], ids=["share", "all"]
)
"""Every fifth locale and some with figures of their own, or, when there is time, all."""
WEEK = [dt.date(2027, 3, 1) + dt.timedelta(days=n) for n in range(7)]
MONTHS = [dt.date(2027, month, 1) for month in range(1, 13)]


@pytest.fixture(autouse=True)
def _babel_unspoilt() -> None:
    """Babel's data as if no locale had been asked for yet: locales spoil each other's in it."""
    localedata._cache.clear()


def _plain(text: str) -> str:
    return " ".join(text.split())


# Tuesday and March standing alone, wide; the first weekday's narrow head (from memory).
@pytest.mark.parametrize(
    ("language", "tuesday", "march", "monday_head"),
    [
        ("en-GB", "Tuesday", "March", "M"),
        ("de", "Dienstag", "März", "M"),
        ("fr", "mardi", "mars", "L"),
        ("es", "martes", "marzo", "L"),
        ("pl", "wtorek", "marzec", "P"),
        ("pt-BR", "terça-feira", "março", "S"),
        ("el", "Τρίτη", "Μάρτιος", "Δ"),
        ("ru", "вторник", "март", "П"),
        ("he", "יום שלישי", "מרץ", "ב׳"),
        ("ar-EG", "الثلاثاء", "مارس", "ن"),
        ("hi", "मंगलवार", "मार्च", "सो"),
        ("ja", "火曜日", "3月", "月"),
    ],
)
def test_names_by_hand(language: str, tuesday: str, march: str, monday_head: str) -> None:
    words = words_for(language)
    assert words.day_name(WEEK[1])[0] == tuesday
    assert words.month_name(MONTHS[2])[0] == march
    assert words.weekday_head(0) == monday_head


@EACH
def test_names_of_every_locale(locales: list[str]) -> None:
    """Babel against itself: that each locale gives its own names, whatever was asked before.

    A name's repeats in another width are left out.
    """
    assert len(ALL) > 1000
    for language in locales:
        localedata._cache.clear()
        words, babels = words_for(language), Locale.parse(language, sep="-")
        widths = [
            get_day_names(width, "stand-alone", babels)
            for width in ("wide", "abbreviated", "short", "narrow")
        ]
        for day in WEEK:
            expected = [names[day.weekday()] for names in widths]
            assert words.day_name(day) == tuple(dict.fromkeys(expected)), language
            assert words.weekday_head(day.weekday()) == expected[3]
        month_widths = [
            get_month_names(width, "stand-alone", babels) for width in ("wide", "abbreviated")
        ]
        for month in MONTHS:
            expected = [names[month.month] for names in month_widths]
            assert words.month_name(month) == tuple(dict.fromkeys(expected)), language


@pytest.mark.parametrize("before", ["he", "ja", "th", "no"])
def test_no_locale_changes_anothers_names(before: str) -> None:
    """CLDR's names for October, whatever was asked for before; Babel's own data stay unspoilt."""
    words_for.cache_clear()
    october = dt.date(2027, 10, 1)
    words_for(before).month_name(october)
    assert get_month_names("wide", "stand-alone", "fr")[10] == "octobre"
    assert get_month_names("wide", "stand-alone", "no")[10] == "oktober"
    localedata._cache.clear()
    words_for(before).month_name(october)
    assert words_for("no").month_name(october)[0] == "oktober"
    assert words_for("fr").month_name(october)[0] == "octobre"
    assert words_for("he").month_name(october)[0] == "אוקטובר"


@EACH
def test_figures_of_every_locale_are_its_own(locales: list[str]) -> None:
    """Decimal figures by Unicode: each character's value is the figure it stands for."""
    systems = set()
    for language in locales:
        words = words_for(language)
        written = words.number(1234567890)
        assert [unicodedata.decimal(c) for c in written] == [1, 2, 3, 4, 5, 6, 7, 8, 9, 0]
        system = words.locale.default_numbering_system
        systems.add(system)
        assert (system == "latn") == written.isascii(), language
    assert {"latn", "arab", "arabext", "deva", "beng", "mymr"} <= systems


# Numbering systems by UTS 35 (CLDR's numberingSystems data): id and figure zero.
@pytest.mark.parametrize(
    ("language", "zero"),
    [("ar-EG", "٠"), ("fa", "۰"), ("mr", "०"), ("bn", "০"), ("my", "၀"), ("de", "0")],
)
def test_figures_by_example(language: str, zero: str) -> None:
    assert words_for(language).number(0) == zero


# CLDR, common/supplemental/numberingSystems.xml: the figure zero of numeric systems, to which the
# other nine are added in order.
ZEROS = {
    "arab": 0x0660, "arabext": 0x06F0, "beng": 0x09E6, "deva": 0x0966, "gujr": 0x0AE6,
    "guru": 0x0A66, "khmr": 0x17E0, "knda": 0x0CE6, "laoo": 0x0ED0, "latn": 0x0030,
    "mlym": 0x0D66, "mong": 0x1810, "mymr": 0x1040, "orya": 0x0B66, "telu": 0x0C66,
    "thai": 0x0E50, "tibt": 0x0F20,
}  # fmt: skip


@pytest.mark.parametrize(("system", "zero"), ZEROS.items())
def test_figures_asked_for_are_cldrs(system: str, zero: int) -> None:
    assert digits(system) == "".join(chr(zero + n) for n in range(10))
    assert words_for(f"de-u-nu-{system}").number(7) == chr(zero + 7)


def test_every_system_is_ten_decimal_figures() -> None:
    """By the Unicode character database: each character's decimal value is its place."""
    for system in NUMBERING:
        assert [unicodedata.decimal(figure) for figure in digits(system)] == list(range(10))


@EACH
def test_every_locale_can_ask_for_its_native_figures(locales: list[str]) -> None:
    """CLDR's native systems, all but those that are not ten figures in a row."""
    asked = set()
    for language in locales:
        native = Locale.parse(language, sep="-").other_numbering_systems.get("native")
        if native and native not in {"hanidec", "ethi", "armn", "geor", "hebr", "grek"}:
            assert words_for(f"{language}-u-nu-{native}").figures == native
            asked.add(native)
    assert {"arab", "deva", "thai", "tamldec"} <= asked


@pytest.mark.parametrize(
    ("language", "expected"),
    [
        ("ar-u-nu-arab", "٢٩ مارس – ٤ أبريل ٢٠٢٧"),
        ("ar-EG-u-nu-latn", "29 مارس – 4 أبريل 2027"),
        ("hi-u-nu-deva", "२९ मार्च – ४ अप्रैल २०२७"),
        ("de-u-nu-thai", "๒๙. März – ๔. April ๒๐๒๗"),
    ],
)
def test_a_range_in_figures_asked_for(language: str, expected: str) -> None:
    """CLDR's patterns of the locale, with every figure of the system asked for."""
    days = dt.date(2027, 3, 29), dt.date(2027, 4, 4)
    assert _plain(words_for(language).interval(*days, "yMMMMd")) == expected


@EACH
def test_ranges_agree_with_babels_where_it_has_the_pattern(locales: list[str]) -> None:
    """Babel against itself: it formats the same CLDR patterns, in Latin figures, no month widened.

    Ranges written by hand are in ``test_ranges_by_example``.
    """
    ranges = [
        (dt.date(2027, 3, 1), dt.date(2027, 3, 7)),
        (dt.date(2027, 3, 29), dt.date(2027, 4, 4)),
    ]
    compared = 0
    for language in locales:
        localedata._cache.clear()
        words = words_for(language)
        babels = Locale.parse(language, sep="-")
        if babels.default_numbering_system != "latn":
            continue
        for skeleton in ("MMMd", "yMMMd"):
            if skeleton not in babels.interval_formats:
                continue
            for first, last in ranges:
                expected = format_interval(first, last, skeleton, locale=babels)
                assert words.interval(first, last, skeleton) == expected, language
                compared += 1
    assert compared > 2 * len(locales)


@EACH
def test_ranges_of_every_locale_hold_both_ends(locales: list[str]) -> None:
    """No part of a range gets lost in any locale, whatever patterns it has."""
    first, last = dt.date(2026, 12, 28), dt.date(2027, 1, 3)
    for language in locales:
        words = words_for(language)
        for skeleton in ("MMMMd", "MMMd", "yMMMMd", "yMMMd", "yMMMM"):
            text = words.interval(first, last, skeleton)
            figures = "".join(c if c.isdecimal() else " " for c in text).split()
            values = [int(run) for run in figures]
            ends = {2026, 2027} if skeleton == "yMMMM" else {28, 3, 2026, 2027}
            assert ends <= set(values), (language, skeleton, text)


# CLDR 44 and later, en-GB and de: dateTimeFormats, intervalFormats; spaces may be thin.
@pytest.mark.parametrize(
    ("language", "first", "last", "skeleton", "expected"),
    [
        ("en-GB", "2027-03-29", "2027-04-04", "MMMMd", "29 March – 4 April"),
        ("en-GB", "2027-03-29", "2027-04-04", "MMMd", "29 Mar – 4 Apr"),
        ("en-GB", "2027-03-01", "2027-03-07", "MMMMd", "1–7 March"),
        ("en-GB", "2026-12-28", "2027-01-03", "MMMMd", "28 December 2026 – 3 January 2027"),
        ("en-GB", "2027-03-01", "2027-05-31", "yMMMM", "March – May 2027"),
        ("en-GB", "2027-03-01", "2027-03-01", "MMMMd", "1 March"),
        ("en-US", "2027-03-29", "2027-04-04", "MMMMd", "March 29 – April 4"),
        ("de", "2027-03-29", "2027-04-04", "MMMMd", "29. März – 4. April"),
        ("de", "2027-03-01", "2027-03-07", "MMMMd", "1.–7. März"),
        ("ja", "2027-03-01", "2027-03-07", "MMMMd", "3月1日～7日"),
        ("ar-EG", "2027-03-01", "2027-03-07", "MMMMd", "١–٧ مارس"),
        ("fa", "2027-03-01", "2027-05-31", "yMMMM", "مارس تا مهٔ ۲۰۲۷"),
    ],
)
def test_ranges_by_example(
    language: str, first: str, last: str, skeleton: str, expected: str
) -> None:
    days = dt.date.fromisoformat(first), dt.date.fromisoformat(last)
    assert _plain(words_for(language).interval(*days, skeleton)) == expected


# CLDR weekData, from memory: first day of the week and weekend by territory (0 = Monday).
@pytest.mark.parametrize(
    ("language", "first", "weekend"),
    [
        ("en-GB", 0, {5, 6}),
        ("en-US", 6, {5, 6}),
        ("en", 6, {5, 6}),  # by likely subtags: US
        ("de", 0, {5, 6}),
        ("pt-BR", 6, {5, 6}),
        ("ar-EG", 5, {4, 5}),
        ("fa-IR", 5, {4}),
        ("he", 6, {4, 5}),
        ("ja", 6, {5, 6}),
    ],
)
def test_first_weekday_and_weekend_of_a_territory(
    language: str, first: int, weekend: set[int]
) -> None:
    words: Words = words_for(language)
    assert words.first_weekday == first
    assert words.weekend == weekend


@EACH
def test_first_weekdays_agree_with_babels_wherever_a_territory_is_named(locales: list[str]) -> None:
    """Babel against itself; weekdays written by hand are in the test before."""
    for language in locales:
        locale = Locale.parse(language, sep="-")
        if locale.territory:
            assert words_for(language).first_weekday == locale.first_week_day


@pytest.mark.parametrize("language", ["ar-EG", "he", "fa", "ur", "yi"])
def test_right_to_left(language: str) -> None:
    """Scripts written from right to left: Arabic, Hebrew (Unicode bidirectional classes R, AL)."""
    words = words_for(language)
    assert words.right_to_left
    assert unicodedata.bidirectional(words.day_name(WEEK[0])[0][0]) in ("R", "AL")
