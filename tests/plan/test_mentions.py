"""Times in texts: what people type is found and read, what merely looks like it is left alone."""

from __future__ import annotations

import datetime as dt

import pytest
from babel.dates import format_date
from babel.localedata import locale_identifiers

from pipeline.plan.mentions import mentions
from pipeline.plan.words import words_for

FIFTH = dt.date(2027, 3, 5)

TYPED = {
    # text, its language: does it speak of Friday 5 March 2027, in ISO week 9, the 64th day?
    ("by Friday 5 March", "en"): True,
    ("by Friday 6 March", "en"): False,
    ("5.3.2027", "de"): True,
    ("3/5/27", "en-US"): True,
    ("05/03/2026", "en-GB"): False,
    ("2027-03-05", "en"): True,
    ("2026-03-05", "en"): False,
    ("1st–7th March", "en"): True,
    ("8th–14th March", "en"): False,
    ("28 Feb – 5 Mar", "en"): True,
    ("March '27", "en"): True,
    ("March '26", "en"): False,
    ("5 de marzo de 2027", "es"): True,
    ("1er mars", "fr"): False,
    ("2027年3月5日", "ja"): True,
    ("٥ مارس ٢٠٢٧", "ar"): True,
    ("W9", "en"): True,
    ("Wk 10 of 52", "en"): True,
    ("Wk 12 of 52", "en"): False,
    ("KW 9", "de"): True,
    ("day 64", "en"): True,
    ("day 60", "en"): False,
    ("Q1", "en"): True,
    ("2. Quartal", "de"): False,
    ("2026", "en"): False,
    ("2026/27", "en"): True,
    ("2024–25", "en"): False,
    ("Happy New Year 2026", "en"): False,
    ("Easter Sunday 5 April", "en"): False,
    ("Full moon 22 March", "en"): False,
}  # fmt: skip
"""Wk 10: counted from the week of 1 January, as some do, 5 March is in the tenth."""

NO_TIME = (
    "May Queen", "Mars", "sow 2–3 weeks", "6.3 – 4.4", "bed 3", "7", "2000 ml", "2100 kcal",
    "1/2 cup", "210 × 297 mm", "day 5", "© 2026", "No. 2027", "1-3 may be sown", "A5", "10 marks",
    "3 mars bars", "room for 12 sets", "version 1.5.2", "12:30–14:00", "€2026", "Grade 2 oats",
)  # fmt: skip


@pytest.mark.parametrize(("text", "language"), TYPED)
def test_what_people_type_is_read(text: str, language: str) -> None:
    (mention,) = mentions(text, [language])
    assert mention.fits([FIFTH]) is TYPED[text, language]


@pytest.mark.parametrize("text", NO_TIME)
def test_what_tells_no_time_is_left_alone(text: str) -> None:
    assert mentions(text, ["en"]) == []


def test_several_times_are_found_in_their_order() -> None:
    found = mentions("Happy New Year 2026! By Friday 5 March, see W9", ["en"])
    assert [one.text for one in found] == ["2026", "5 March", "W9"]


def test_days_as_every_language_writes_them_are_found() -> None:
    """What Babel writes, in all of CLDR's languages: nearly all is found, and read as that day.

    Not known: Tibetan, Toki Pona, and endings that a few languages put on the day's figure. Two
    bare figures between dots or dashes, as in Bulgarian, Lithuanian and Romansh, may be anything.
    """
    languages = sorted({name.partition("_")[0] for name in locale_identifiers()} - {"root"})
    assert len(languages) > 250
    missed, count = set(), 0
    for language in languages:
        words = words_for(language)
        for day in (FIFTH, dt.date(2027, 5, 30), dt.date(2027, 11, 24)):
            written = [words.date(day, skeleton) for skeleton in ("yMd", "yMMMd", "MMMMd", "MMMd")]
            for text in (*written, format_date(day, "short", words.locale)):
                count += 1
                found = mentions(text, [language])
                if not found or not all(one.fits([day]) for one in found):
                    missed.add(language)
    assert count > 3800
    assert missed <= {"bg", "bo", "eu", "ku", "ky", "lt", "mn", "rm", "tok"}
