"""Feast days, the moon, the sun and own days, against what is known from elsewhere."""

from __future__ import annotations

import datetime as dt
from pathlib import Path

import pytest
from pydantic import ValidationError

from pipeline.base.errors import UserError
from pipeline.plan.almanac import Almanac, AlmanacEntry, DayNotes, almanac_of, moonlit

DATE = dt.date


def _almanac(language: str = "en-GB", **entry: object) -> Almanac:
    made = AlmanacEntry.model_validate(entry)
    return almanac_of(made, language, DATE(2026, 12, 1), DATE(2028, 1, 31), Path("season.toml"))


def easter(year: int) -> dt.date:
    """Easter Sunday by the Gregorian computus (the anonymous algorithm, from memory)."""
    a, b, c = year % 19, year // 100, year % 100
    d, e, f = b // 4, b % 4, (b + 8) // 25
    g = (b - f + 1) // 3
    h = (19 * a + b - d - g + 15) % 30
    i, k = c // 4, c % 4
    n = (32 + 2 * e + 2 * i - h - k) % 7
    m = (a + 11 * h + 22 * n) // 451
    month, day = divmod(h + n - 7 * m + 114, 31)
    return DATE(year, month, day + 1)


@pytest.mark.parametrize("year", range(2024, 2041))
def test_easter_is_where_the_computus_puts_it(year: int) -> None:
    for country, name, language in (
        ("GB-ENG", "Easter Monday", "en-GB"),
        ("DE", "Ostermontag", "de"),
        ("FR", "Lundi de Pâques", "fr"),
    ):
        almanac = Almanac(AlmanacEntry(holidays=[country]), language)
        assert name in almanac.of(easter(year) + dt.timedelta(days=1)).feasts


def test_holidays_of_several_countries_are_named_in_the_pages_language() -> None:
    almanac = _almanac("de", holidays=["GB-ENG", "DE-BY"], rename={"Neujahr": "Jahresbeginn"})
    # Epiphany is a holiday in Bavaria (Bavarian holidays act, from memory), not in Berlin.
    assert almanac.of(DATE(2027, 1, 6)).feasts == ("Heilige Drei Könige",)
    assert not _almanac("de", holidays=["DE-BE"]).of(DATE(2027, 1, 6)).feasts
    assert "Jahresbeginn" in almanac.of(DATE(2027, 1, 1)).feasts
    without = _almanac(holidays="GB-ENG", leave_out="Boxing Day")
    assert not without.of(DATE(2027, 12, 26)).feasts


def test_the_moons_phases_agree_with_eclipses() -> None:
    # The sun is eclipsed at new moon, the moon at full moon: dates (UT) from memory.
    almanac = _almanac()
    for day in (DATE(2026, 8, 12), DATE(2027, 2, 6), DATE(2027, 8, 2), DATE(2028, 7, 22)):
        assert almanac.of(day).phase == "new-moon"
    for day in (DATE(2026, 3, 3), DATE(2027, 2, 20), DATE(2028, 12, 31)):
        assert almanac.of(day).phase == "full-moon"
    days = [DATE(2027, 1, 1) + dt.timedelta(days=n) for n in range(365)]
    phases = [phase for day in days if (phase := almanac.of(day).phase)]
    order = ["new-moon", "first-quarter", "full-moon", "last-quarter"]
    start = order.index(phases[0])
    assert phases == [order[(start + n) % 4] for n in range(len(phases))]


def test_so_much_of_the_moon_is_lit() -> None:
    # Meeus, Astronomical Algorithms, example 48.a: 12 April 1992, 0 h, k = 0.6786, waxing (the
    # moon is then east of the sun). From memory.
    assert moonlit(dt.datetime(1992, 4, 12, tzinfo=dt.UTC)) == pytest.approx(0.6786, abs=1e-4)
    # At a solar eclipse next to nothing, at a lunar one next to all. Greatest eclipses, UT, from
    # memory.
    for moment in ((2024, 4, 8, 18, 17), (2027, 8, 2, 10, 7)):
        assert abs(moonlit(dt.datetime(*moment, tzinfo=dt.UTC))) < 0.0005
    for moment in ((2025, 3, 14, 6, 59), (2025, 9, 7, 18, 12)):
        assert abs(moonlit(dt.datetime(*moment, tzinfo=dt.UTC))) > 0.9995


def test_the_moon_waxes_on_the_right_in_the_north_and_on_the_left_in_the_south() -> None:
    north = _almanac(latitude=51.5, longitude=0)
    south = _almanac(latitude=-33.9, longitude=151.2)
    # New moon on 6 February, full moon on 20 February 2027 (the eclipses' days, from memory).
    for days in range(1, 14):
        waxing = DATE(2027, 2, 6) + dt.timedelta(days=days)
        waning = DATE(2027, 2, 21) + dt.timedelta(days=days)
        assert north.of(waxing).moonlit > 0 > south.of(waxing).moonlit
        assert north.of(waning).moonlit < 0 < south.of(waning).moonlit
    assert _almanac().of(DATE(2027, 2, 12)).moonlit > 0


def test_phases_fall_on_the_day_of_the_time_zone() -> None:
    # Full moon on 20 February 2027 at 23:24 UT (from memory), which is the 21st further east.
    assert _almanac(zone="Europe/Berlin").of(DATE(2027, 2, 21)).phase == "full-moon"
    assert _almanac(zone="Europe/London").of(DATE(2027, 2, 20)).phase == "full-moon"


def test_equinoxes_and_solstices() -> None:
    # 2027: 20 March 20:25, 21 June 14:11, 23 September 06:02, 22 December 02:42 UT (from memory).
    almanac = _almanac()
    found = {
        day: turn
        for n in range(365)
        if (turn := almanac.of(day := DATE(2027, 1, 1) + dt.timedelta(days=n)).turn)
    }
    assert found == {
        DATE(2027, 3, 20): "equinox",
        DATE(2027, 6, 21): "solstice",
        DATE(2027, 9, 23): "equinox",
        DATE(2027, 12, 22): "solstice",
    }


def test_sunrise_and_sunset() -> None:
    # London at midsummer: 04:43 and 21:21 British Summer Time, to a minute or two (from memory).
    london = _almanac(latitude=51.507, longitude=-0.128, zone="Europe/London")
    notes = london.of(DATE(2027, 6, 21))
    for time, hour, minute in ((notes.sunrise, 4, 43), (notes.sunset, 21, 21)):
        assert time is not None
        assert abs(60 * time.hour + time.minute - 60 * hour - minute) <= 2
    # North of the polar circle the sun neither rises nor sets at midsummer.
    tromso = _almanac(latitude=69.65, longitude=18.96, zone="Europe/Oslo")
    notes = tromso.of(DATE(2027, 6, 21))
    assert notes == DayNotes(turn="solstice", moonlit=notes.moonlit)


# RFC 5545, 3.8.5.3: its own examples of rules, with the days they give (1997, from memory).
@pytest.mark.parametrize(
    ("start", "rule", "days"),
    [
        ("19970902T090000", "FREQ=DAILY;COUNT=4", ["09-02", "09-03", "09-04", "09-05"]),
        ("19970902T090000", "FREQ=DAILY;INTERVAL=10;COUNT=5",
         ["09-02", "09-12", "09-22", "10-02", "10-12"]),
        ("19970902T090000", "FREQ=WEEKLY;UNTIL=19971007T000000Z;WKST=SU;BYDAY=TU,TH",
         [f"09-{day:02d}" for day in (2, 4, 9, 11, 16, 18, 23, 25, 30)] + ["10-02"]),
        ("19970905T090000", "FREQ=MONTHLY;COUNT=4;BYDAY=1FR",
         ["09-05", "10-03", "11-07", "12-05"]),
        ("19970928T090000", "FREQ=MONTHLY;BYMONTHDAY=-3;COUNT=4",
         ["09-28", "10-29", "11-28", "12-29"]),
        ("19970805T090000", "FREQ=WEEKLY;INTERVAL=2;COUNT=4;BYDAY=TU,SU;WKST=MO",
         ["08-05", "08-10", "08-19", "08-24"]),
        ("19970805T090000", "FREQ=WEEKLY;INTERVAL=2;COUNT=4;BYDAY=TU,SU;WKST=SU",
         ["08-05", "08-17", "08-19", "08-31"]),
        ("19970904T090000", "FREQ=MONTHLY;COUNT=3;BYDAY=TU,WE,TH;BYSETPOS=3",
         ["09-04", "10-07", "11-06"]),
    ],
)  # fmt: skip
def test_repeated_events_fall_where_the_standard_says(
    tmp_path: Path, start: str, rule: str, days: list[str]
) -> None:
    (tmp_path / "club.ics").write_text(
        "BEGIN:VCALENDAR\r\nVERSION:2.0\r\nPRODID:-//made up//EN\r\nBEGIN:VEVENT\r\nUID:one\r\n"
        f"DTSTART;TZID=America/New_York:{start}\r\nRRULE:{rule}\r\nSUMMARY:Plot club\r\n"
        "END:VEVENT\r\nEND:VCALENDAR\r\n"
    )
    entry = AlmanacEntry(days=["club.ics"], zone="America/New_York")
    season = tmp_path / "season.toml"
    almanac = almanac_of(entry, "en", DATE(1997, 1, 1), DATE(1997, 12, 31), season)
    assert [f"{day:%m-%d}" for day in sorted(almanac.own)] == days


def test_events_may_last_for_days_be_moved_and_left_out(tmp_path: Path) -> None:
    (tmp_path / "club.ics").write_text(
        "BEGIN:VCALENDAR\nVERSION:2.0\nPRODID:-//made up//EN\n"
        "BEGIN:VEVENT\nUID:a\nDTSTART;VALUE=DATE:20270301\nDTEND;VALUE=DATE:20270304\n"
        "SUMMARY:Seed fair\nEND:VEVENT\n"
        "BEGIN:VEVENT\nUID:b\nDTSTART;VALUE=DATE:20270305\nRRULE:FREQ=WEEKLY;COUNT=4\n"
        "EXDATE;VALUE=DATE:20270312\nSUMMARY:Plot club\nEND:VEVENT\n"
        "BEGIN:VEVENT\nUID:b\nRECURRENCE-ID;VALUE=DATE:20270319\nDTSTART;VALUE=DATE:20270320\n"
        "SUMMARY:Plot club\nEND:VEVENT\n"
        "BEGIN:VEVENT\nUID:c\nDTSTART:20270331T233000Z\nSUMMARY:Night walk\nEND:VEVENT\n"
        "END:VCALENDAR\n"
    )
    entry = AlmanacEntry(days=["club.ics"], zone="Europe/London")
    season = tmp_path / "season.toml"
    almanac = almanac_of(entry, "en", DATE(2027, 3, 1), DATE(2027, 4, 30), season)
    assert {day.isoformat()[5:]: names for day, names in sorted(almanac.own.items())} == {
        "03-01": ("Seed fair",),
        "03-02": ("Seed fair",),
        "03-03": ("Seed fair",),
        "03-05": ("Plot club",),
        "03-20": ("Plot club",),
        "03-26": ("Plot club",),
        "04-01": ("Night walk",),  # 00:30 in British Summer Time
    }


def test_own_days_come_every_year_with_ages(tmp_path: Path) -> None:
    (tmp_path / "days.csv").write_text(
        "date,name,name.de,born\n02-14,Anna,,1987\n02-14,Onions,Zwiebeln,\n02-29,Leap,,\n"
        "2027-03-01,Peas,Erbsen,\n",
        "utf-8",
    )
    entry = AlmanacEntry(days=["days.csv"])
    season = tmp_path / "season.toml"
    german = almanac_of(entry, "de-AT", DATE(2027, 1, 1), DATE(2028, 12, 31), season)
    assert german.of(DATE(2027, 2, 14)).notes == ("Anna (40)", "Zwiebeln")
    assert german.of(DATE(2028, 2, 14)).notes[0] == "Anna (41)"
    assert german.of(DATE(2027, 3, 1)).notes == ("Erbsen",)
    assert german.of(DATE(2028, 2, 29)).notes == ("Leap",)
    # As spreadsheets save it where numbers have commas; nobody has a birthday before being born.
    (tmp_path / "days.csv").write_text("date;name;born\n05-01;Ada;2028\n", "utf-8")
    own = almanac_of(entry, "en", DATE(2027, 1, 1), DATE(2029, 12, 31), season)
    told = [own.of(DATE(year, 5, 1)).notes for year in (2027, 2028, 2029)]
    assert told == [(), ("Ada (0)",), ("Ada (1)",)]


def _event(*lines: str) -> str:
    inner = ("BEGIN:VEVENT", *lines, "SUMMARY:Plot club", "END:VEVENT")
    return "\n".join(("BEGIN:VCALENDAR", *inner, "END:VCALENDAR", ""))


@pytest.mark.parametrize(
    ("name", "text", "says", "remedy"),
    [
        ("days.csv", "day,name\n", "has no column 'date'", "its first line says: day, name"),
        ("days.csv", "date,name\n1 May,Peas\n", "'1 May' isn't a date", "2027-05-01"),
        ("days.csv", "", "has no column 'date'", "its first line says: nothing"),
        ("days.csv", "date\n05-01\n", "has no column 'name'", "its first line says: date"),
        ("days.csv", "date,name\n,\n05-01\n", "has a day without a name", "write one"),
        ("days.csv", "date,name,born\n05-01,Ada,soon\n", "'soon', which isn't a year", "like 1987"),
        ("days.csv", "date;name\n02-30;Ada\n", "'02-30' isn't a date", "05-01 for every year"),
        ("days.csv", f"date,name\n05-01,{'a' * 200_000}\n", "isn't a table", "save it again"),
        ("club.ics", "Plot club\n", "this line isn't one of a calendar's", "export it again"),
        ("club.ics", "BEGIN:VCALENDAR\nBEGIN:VEVENT\n", "only the beginning of one", ""),
        ("club.ics", _event("DTSTART:soon"), "the event 'Plot club' has a date or rule", "mend it"),
        ("club.ics", _event("DTSTART:20270305T100000", "RRULE:FREQ=OFTEN"),
         "the event 'Plot club' has a date or rule", "mend it"),
        ("club.ics", _event("DTSTART;VALUE=DATE:20270305", "DTEND:20270306T100000"),
         "the event 'Plot club' has a date or rule", "mend it"),
        ("none.csv", None, "cannot be read", ""),
    ],
)  # fmt: skip
def test_files_of_days_that_cannot_be_read_are_told(
    tmp_path: Path, name: str, text: str | None, says: str, remedy: str
) -> None:
    if text is not None:
        (tmp_path / name).write_text(text)
    entry = AlmanacEntry(days=[name])
    season = tmp_path / "season.toml"
    with pytest.raises(UserError) as refused:
        almanac_of(entry, "en", DATE(2027, 1, 1), DATE(2027, 12, 31), season)
    assert name in refused.value.place
    assert says in refused.value.what
    assert remedy in refused.value.remedy
    assert "\n" not in str(refused.value)
    if text and not text.startswith(("day", "date\n")):
        assert refused.value.line is not None


def test_holidays_that_there_are_none_of_are_told() -> None:
    with pytest.raises(UserError, match=r"there is no holiday 'Boxng Day'.*did you mean 'Boxing"):
        _almanac(holidays="GB-ENG", leave_out="Boxng Day")
    for code, says in (("XX", "the country 'XX'"), ("DE-ZZ", "'ZZ' in 'DE'")):
        with pytest.raises(ValueError, match=says):
            AlmanacEntry(holidays=[code])
    assert AlmanacEntry(holidays=["gb-eng", " DE "]).holidays == ["GB-ENG", "DE"]
    for code, meant in (("England", "GB-ENG"), ("DE-Bayern", "DE-BY"), ("UK", "GB")):
        with pytest.raises(ValidationError) as refused:
            AlmanacEntry(holidays=[code])
        (error,) = refused.value.errors()
        assert f"did you mean '{meant}'" in str(error["ctx"]["error"].args[1])


def test_each_language_can_have_the_holidays_of_its_own_countries() -> None:
    own = {"en": ["GB-ENG"], "de": "DE-BY", "ar": []}
    new_year = DATE(2027, 1, 1)
    assert _almanac("en-GB", holidays=own).of(new_year).feasts == ("New Year's Day",)
    assert _almanac("de-AT", holidays=own).of(new_year).feasts == ("Neujahr",)
    assert _almanac("ar-EG", holidays=own).of(new_year).feasts == ()
    with pytest.raises(UserError, match=r"season.toml, almanac.holidays: has nothing for 'fr'"):
        _almanac("fr", holidays=own)
