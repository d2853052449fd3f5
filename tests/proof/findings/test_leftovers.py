"""Fixed texts of the calendar: which are found, what is said of them, and which may stay."""

from __future__ import annotations

import datetime as dt
from pathlib import Path

import pytest
from babel.dates import format_date, format_interval

from pipeline.app.build import make_season
from pipeline.proof.findings.wording import About, calendar_words
from tests.proof.findings.garden import RECTO, VERSO, Garden
from tests.proof.findings.mutations import _added, _renamed, _words

LANGUAGES = ("en-GB", "de", "fr", "pl", "hi", "ar-EG", "ja")
"""Those of the demo that write months and weekdays in their own ways."""


@pytest.mark.parametrize("language", LANGUAGES)
def test_what_babel_writes_is_known_for_what_it_is(language: str) -> None:
    """Babel's own formatting, which the program does not use, writes the same CLDR names."""
    locale = language.replace("-", "_")
    for month in range(1, 13):
        day = dt.date(2027, month, 9)
        about = {
            said.about for said in calendar_words(format_date(day, "LLLL", locale), [language])
        }
        assert about & {About.MONTH, About.DAYS}
        said = calendar_words(format_date(day, "EEEE", locale), [language])
        assert (About.WEEKDAY, day.weekday()) in [(one.about, one.number) for one in said]
        end = day + dt.timedelta(days=30)
        written = format_interval(day, end, "MMMMd", locale=locale)
        assert [one.about for one in calendar_words(written, [language])] == [About.DAYS]


@pytest.mark.parametrize(
    "word",
    ["May Queen", "March hare bed", "12", "1 – 7", "3/4", "Mo", "So", "2 weeks", "2–3 weeks",
     "Bed 3", "marrow", "sunny", "mon amour", "30 × 40 cm", "5 Mai-Rüben"],
)  # fmt: skip
def test_words_that_only_hold_such_a_word_are_none(word: str) -> None:
    assert calendar_words(word, ("en-GB", "de", "fr")) == []


def test_short_names_of_other_languages_may_be_words() -> None:
    """Italian "set" and Portuguese "out" are months; so written in English they are words."""
    assert calendar_words("set", ["en", "it"]) == calendar_words("out 5", ["en", "pt"]) == []
    assert calendar_words("set", ["it"])[0].about is About.MONTH
    assert calendar_words("29 set – 4 ott", ["en", "it"])[0].about is About.DAYS


@pytest.mark.parametrize("language", ["en-GB", "de"])
def test_a_makers_own_words_are_left_alone(language: str, cache: Path, tmp_path: Path) -> None:
    own = ("May Queen", "Sow 2–3 weeks", "6.3 – 4.4", "Bed 3", "7")
    garden = Garden.planted(tmp_path / "garden", language, cache)
    words = (_words(word, 60, 150 + 6 * row) for row, word in enumerate(own))
    garden.redraw(VERSO, _added(*words))
    garden.build()
    assert garden.check() == ()


def test_a_label_may_be_the_name_of_a_month(cache: Path, tmp_path: Path) -> None:
    """A page with a label is sound, even where the maker's word is a month.

    That the word may not be meant is said once, of the season (``label-dated``).
    """
    garden = Garden.planted(tmp_path / "garden", "en-GB", cache)
    labels = garden.folder / "templates_svg" / "kitchen_garden" / "labels" / "en.toml"
    before = labels.read_text("utf-8")
    labels.write_text(before.replace('sow = "sow"', 'sow = "May"'), "utf-8")
    assert labels.read_text("utf-8") != before
    garden.build()
    assert garden.check() == ()


def test_the_key_to_give_back_is_named(cache: Path, tmp_path: Path) -> None:
    garden = Garden.planted(tmp_path / "garden", "de", cache)
    garden.redraw(RECTO, _renamed(day5_name="text47"))
    garden.redraw(VERSO, _added(_words("Week 9", 60, 160)))
    garden.build()
    found = {one.message: one for one in garden.check()}
    assert set(found) == {
        "'Friday' is typed in the template, so it is the same on every page",
        "'Week 9' is typed in the template, so it is the same on every page",
    }
    friday = found["'Friday' is typed in the template, so it is the same on every page"]
    assert "'day5-name'" in friday.what_to_do
    assert friday.template == f"a5/{RECTO}.svg"
    assert friday.place is not None
    assert len(friday.also) == 1, "both weeks"
    assert (
        "'week-number'"
        in found["'Week 9' is typed in the template, so it is the same on every page"].what_to_do
    )


SETS = """
[[set]]
name = "other"
title.en = "Other"
title.de = "Anderes"
opening = "fixed"
spreads = [{ verso = "list", recto = "list", per = "week" }]

[[set]]
name = "undated"
title.en = "Undated"
title.de = "Undatiert"
leaves = [{ recto = "fixed" }]
"""
MONTHS = [dt.date(2027, month, 1).strftime("%b") for month in range(1, 13)]


def fixed_page(*words: str) -> str:
    """A page of words, each a text of its own, and no key."""
    texts = "".join(
        f'<text x="{25 + 30 * (number % 4)}" y="{20 + 8 * (number // 4)}">{word}</text>'
        for number, word in enumerate(words)
    )
    return (
        '<svg xmlns="http://www.w3.org/2000/svg" width="148mm" height="210mm"'
        ' viewBox="0 0 148 210" font-family="Source Sans 3" font-size="4" fill="#555">'
        f"{texts}</svg>"
    )


def found_on(
    fixed: str, listed: str, language: str, cache: Path, folder: Path
) -> dict[str, list[tuple[str, str]]]:
    """What is found where pages are used as opening, as undated page and with each week."""
    garden = Garden.planted(folder / "garden", language, cache)
    drawn = garden.folder / "templates_svg" / "kitchen_garden" / "a5"
    (drawn / "fixed.svg").write_text(fixed, "utf-8")
    (drawn / "list.svg").write_text(listed, "utf-8")
    text = garden.season_file.read_text("utf-8")
    garden.season_file.write_text(text[: text.index("[[set]]")] + SETS, "utf-8")
    make_season(garden.season_file, garden.folder / "build", cache=cache)
    return {
        name: [(one.rule, one.message.split("'")[1]) for one in garden.check_of(name)]
        for name in ("other", "undated")
    }


def test_openings_and_charts_may_name_months_and_days(cache: Path, tmp_path: Path) -> None:
    """The period's month, all months of a year, a row of weekdays, "Sun" and "Shade"."""
    found = found_on(
        fixed_page("March", "Monday", "Week 1", "Week 2"),
        fixed_page(*MONTHS, "Mon", "Tue", "Wed", "Thu", "Fri", "Sat", "Sun", "Shade"),
        "en-GB", cache, tmp_path,
    )  # fmt: skip
    assert found == {"other": [], "undated": []}


def test_wrong_dates_on_openings_and_lists_are_found(cache: Path, tmp_path: Path) -> None:
    found = found_on(
        fixed_page("April", "2 – 8 April"), fixed_page("Sun", "Week 11"), "en-GB", cache, tmp_path
    )
    assert sorted(found["other"]) == [
        ("placeholder-left", "2 – 8 April"),
        ("placeholder-left", "April"),
        ("placeholder-left", "Week 11"),
        ("placeholder-left", "Week 11"),
    ]
    assert found["undated"] == [("date-typed", "2 – 8 April")]


def test_english_days_on_german_pages_are_found_on_undated_ones_too(
    cache: Path, tmp_path: Path
) -> None:
    found = found_on(fixed_page("Monday"), fixed_page("Sun"), "de", cache, tmp_path)
    assert found == {
        "other": [("label-language", "Monday")],
        "undated": [("label-language", "Monday")],
    }
