"""What a day is besides its date: feast days, the maker's own days, moon, sun and seasons.

Public holidays are those of the ``holidays`` package, the sky's are computed by ``ephem``, and own
days come from CSV files and calendars (iCalendar, RFC 5545). What is observed where differs from
place to place and from year to year: people are told to check locally.
"""

from __future__ import annotations

import datetime as dt
import functools
import math
import re
import zoneinfo
from collections import defaultdict
from collections.abc import Callable, Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass, field
from importlib.metadata import version
from pathlib import Path
from typing import Annotated, Any

from babel.core import Locale, get_global
from pydantic import AfterValidator, BeforeValidator, Field, model_validator

from pipeline.base.errors import UserError, did_you_mean, nearest
from pipeline.base.folders import check_named
from pipeline.plan.languages import parents
from pipeline.plan.tomlfile import TomlTable, check_prints, rows_of
from pipeline.plan.words import Words, words_for

PHASES = ("new-moon", "first-quarter", "full-moon", "last-quarter")
"""The moon's four phases, as flags call them, in order."""

TURNS = ("solstice", "equinox")
"""The days the sun turns or crosses the equator, as flags call them."""

_HORIZON = "-0:34"
"""Where the sun's upper edge is seen to rise: 34 minutes of arc below, for the air bends light. The
Astronomical Almanac's convention, from memory."""

SOURCES = f"holidays {version('holidays')}, ephem {version('ephem')}"
"""The data that feasts and the sky are taken from, with its versions."""


def _names(value: Any) -> Any:
    return [value] if isinstance(value, str) else value


def _zone(name: str) -> str:
    try:
        zoneinfo.ZoneInfo(name)
    except (KeyError, ValueError, OSError):
        known = zoneinfo.available_timezones()
        raise ValueError(f"'{name}' isn't a time zone", did_you_mean(name, known)) from None
    return name


def _country(code: str) -> str:
    """A country as in ISO 3166-1, and its part as in ISO 3166-2, that has holidays."""
    import holidays  # which takes its time to load, and few seasons ask for it

    code = code.strip().upper() if re.fullmatch(r"\s*[A-Za-z]{2}(?:-\w{1,3})?\s*", code) else code
    country, _, part = code.partition("-")
    known = holidays.list_supported_countries(include_aliases=False)
    if country not in known:
        advice = _country_meant(country, known)
        raise ValueError(f"has no holidays for the country '{country}'", advice)
    if part and part not in known[country]:
        parts = known[country]
        there = f"its parts are {', '.join(parts)}" if parts else "leave it out"
        there = did_you_mean(part, parts) if len(parts) > 20 else there
        called = _part_called(country, part)
        there = f"did you mean '{country}-{called}'?" if called else there
        raise ValueError(f"has no holidays for '{part}' in '{country}'", there)
    return code


def _part_called(country: str, name: str) -> str | None:
    """The code of a country's part that goes by a name there, such as "Bayern"."""
    import holidays

    known = getattr(holidays.country_holidays(country), "subdivisions_aliases", {})
    names = {called.casefold(): code for called, code in known.items()}
    return names.get(name.casefold())


def _country_meant(said: str, known: Iterable[str]) -> str:
    """Advice with the nearest country: by another code of its own (UK, GBR) or by its name.

    >>> _country_meant("UK", ["GB", "XK"]), _country_meant("Germny", ["DE", "GB"])
    ("did you mean 'GB', United Kingdom?", "did you mean 'DE', Germany?")
    >>> _country_meant("England", ["GB"]), _country_meant("Bayern", ["DE"])
    ("did you mean 'GB-ENG'?", "did you mean 'DE-BY'?")
    """
    for country in known:
        if (part := _part_called(country, said)) is not None:
            return f"did you mean '{country}-{part}'?"
    called = Locale("en").territories
    codes = {called.get(code, code): code for code in known}
    aliases = get_global("territory_aliases").get(said.upper(), [said.upper()])
    meant = next((code for code in aliases if code in codes.values()), None)
    if meant is None and (name := nearest(said, codes)) is not None and len(said) > 3:
        meant = codes[name]
    if meant is None:
        return "write it by ISO 3166, such as GB-ENG or DE-BY"
    return f"did you mean '{meant}', {called.get(meant, meant)}?"


def _countries(value: Any) -> Any:
    """Countries that have holidays: a list, or a table with one for each language."""
    if isinstance(value, dict):
        return {language: _countries(codes) for language, codes in value.items()}
    codes = _names(value)
    if not isinstance(codes, list) or not all(isinstance(code, str) for code in codes):
        raise ValueError("must be a list of countries", 'write it like ["GB-ENG", "DE-BY"]')
    return [_country(code) for code in codes]


Countries = list[str] | dict[str, list[str]]


class AlmanacEntry(TomlTable):
    """The ``[almanac]`` table: what is known of each day."""

    holidays: Annotated[Countries, BeforeValidator(_countries)] = Field(default_factory=list)
    """Countries, with their parts where those differ: ISO 3166 codes such as "GB-ENG". A table by
    language where each language's pages have other countries' holidays."""

    rename: dict[str, str] = Field(default_factory=dict)
    """Other names for holidays."""

    leave_out: Annotated[list[str], BeforeValidator(_names)] = Field(default_factory=list)
    """Holidays that are not printed."""

    days: Annotated[list[str], BeforeValidator(_names)] = Field(default_factory=list)
    """Files of own days, CSV or iCalendar, from the season file's folder."""

    latitude: float | None = Field(default=None, ge=-90, le=90)
    """Degrees north of the equator, for sunrise and sunset and for the side the moon is lit on."""

    longitude: float | None = Field(default=None, ge=-180, le=180)
    """Degrees east of Greenwich."""

    zone: Annotated[str, AfterValidator(_zone)] = "UTC"
    """The time zone that all times are told in, such as "Europe/London"."""

    @model_validator(mode="after")
    def _place_is_whole(self) -> AlmanacEntry:
        if (self.latitude is None) != (self.longitude is None):
            raise ValueError("has only one of 'latitude' and 'longitude'", "give both")
        return self

    def countries(self, language: str) -> tuple[str, ...] | None:
        """Whose holidays the pages in a language have; None where a table says nothing of it."""
        if isinstance(self.holidays, list):
            return tuple(self.holidays)
        there = (self.holidays.get(name) for name in parents(language))
        return next((tuple(codes) for codes in there if codes is not None), None)


@dataclass(frozen=True)
class DayNotes:
    """What is known of one day. Times are the place's own; None where the sun does not do it."""

    feasts: tuple[str, ...] = ()
    notes: tuple[str, ...] = ()
    phase: str = ""
    turn: str = ""
    sunrise: dt.time | None = None
    sunset: dt.time | None = None
    moonlit: float = 0.0
    """The lit share of the moon's disc at noon; below 0 where it is the left part that is lit."""


@dataclass(frozen=True)
class Almanac:
    """The days of a season in one language. ``where`` is the season's file, for errors."""

    entry: AlmanacEntry
    language: str
    own: Mapping[dt.date, tuple[str, ...]] = field(default_factory=dict, hash=False)

    def of(self, day: dt.date) -> DayNotes:
        """What is known of a day."""
        entry = self.entry
        countries = entry.countries(self.language) or ()
        feasts = _feasts(countries, self.language, day.year).get(day, ())
        renamed = [entry.rename.get(one, one) for one in feasts if one not in entry.leave_out]
        phases, turns = _sky(entry.zone, day.year)
        sunrise = sunset = None
        if entry.latitude is not None and entry.longitude is not None:
            place = entry.latitude, entry.longitude
            sunrise, sunset = _sun(*place, entry.zone, day)
        return DayNotes(
            tuple(dict.fromkeys(renamed)),
            self.own.get(day, ()),
            phases.get(day, ""),
            turns.get(day, ""),
            sunrise,
            sunset,
            _moonlit(entry.zone, day) * (-1 if (entry.latitude or 0) < 0 else 1),
        )


MOST_LETTERS = 300
"""What a day may be called: more than any page has room for."""


def almanac_of(
    entry: AlmanacEntry, language: str, first: dt.date, last: dt.date, season: Path
) -> Almanac:
    """The almanac of a season, whose days lie from ``first`` to ``last``.

    Raises UserError for holidays to be left out or renamed that there are none of, and for files of
    days that cannot be read: file, line, what is wrong.
    """
    years = range(first.year, last.year + 1)
    countries = entry.countries(language)
    if countries is None:
        add = f'add holidays.{language.partition("-")[0]} = ["…"], or [] for none'
        raise UserError(f"{season}, almanac.holidays", f"has nothing for '{language}'", add)
    called = {
        name
        for year in years
        for names in _feasts(countries, language, year).values()
        for name in names
    }
    for name in (*entry.rename, *entry.leave_out):
        if called and name not in called:
            what = f"there is no holiday '{name}' in {years[0]} to {years[-1]}"
            raise UserError(f"{season}, almanac", what, did_you_mean(name, called))
    own: dict[dt.date, list[str]] = defaultdict(list)
    for file in entry.days:
        path = season.parent / file
        check_named(path)
        read = _events if path.suffix.lower() == ".ics" else _rows
        try:
            for day, name in read(path, language, first, last, entry.zone):
                if len(name) > MOST_LETTERS:
                    what = f"a day is called by more than {MOST_LETTERS} letters"
                    raise UserError(str(path), what, f"shorten '{name[:30]}…'")
                if name and first <= day <= last and name not in own[day]:
                    own[day].append(name)
        except UnicodeDecodeError:
            raise UserError(str(path), "isn't in UTF-8", "save it again as CSV, UTF-8") from None
        except OSError as problem:
            raise UserError(str(path), f"cannot be read ({problem.strerror})", "") from None
    return Almanac(entry, language, {day: tuple(names) for day, names in own.items()})


@functools.lru_cache(maxsize=256)
def _feasts(
    countries: tuple[str, ...], language: str, year: int
) -> Mapping[dt.date, tuple[str, ...]]:
    """The public holidays of a year, those of the first country first, in a language it has."""
    import holidays

    found: dict[dt.date, list[str]] = defaultdict(list)
    for code in countries:
        country, _, part = code.partition("-")
        make: Callable[..., Any] = holidays.country_holidays
        spoken = make(country, subdiv=part or None).supported_languages
        wanted = language.replace("-", "_")
        root = wanted.partition("_")[0]
        near = [one for one in spoken if one == wanted] + [
            one for one in spoken if one.partition("_")[0] in (root, "en")
        ]
        near.sort(key=lambda one: (one != wanted, one.partition("_")[0] != root))
        days = make(country, subdiv=part or None, years=year, language=near[0] if near else None)
        for day, names in days.items():
            found[day] += [name.strip() for name in names.split(";")]
    return {day: tuple(dict.fromkeys(names)) for day, names in found.items()}


@functools.lru_cache(maxsize=64)
def _sky(zone: str, year: int) -> tuple[Mapping[dt.date, str], Mapping[dt.date, str]]:
    """The moon's phases and the sun's turns of a year, by the day they fall on in a time zone."""
    import ephem

    following_phase = (
        ephem.next_new_moon,
        ephem.next_first_quarter_moon,
        ephem.next_full_moon,
        ephem.next_last_quarter_moon,
    )
    following_turn = (
        ("equinox", ephem.next_vernal_equinox),
        ("solstice", ephem.next_summer_solstice),
        ("equinox", ephem.next_autumnal_equinox),
        ("solstice", ephem.next_winter_solstice),
    )
    start, end = ephem.Date(f"{year - 1}/12/30"), ephem.Date(f"{year + 1}/1/2")
    phases: dict[dt.date, str] = {}
    turns: dict[dt.date, str] = {}
    asked = [*zip(PHASES, following_phase, [phases] * 4, strict=True)]
    asked += [(name, following, turns) for name, following in following_turn]
    for name, following, found in asked:
        moment = following(start)
        while moment < end:
            found[_local(moment, zone).date()] = name
            moment = following(moment + 1)
    return phases, turns


def _local(moment: Any, zone: str) -> dt.datetime:
    import ephem

    utc: dt.datetime = ephem.Date(moment).datetime().replace(tzinfo=dt.UTC)
    return utc.astimezone(zoneinfo.ZoneInfo(zone))


def moonlit(moment: dt.datetime) -> float:
    """The lit share of the moon's disc at a moment; below 0 where it wanes.

    Seen from the north a waxing moon is lit on the right, from the south on the left.
    """
    import ephem

    moon = ephem.Moon(ephem.Date(moment.astimezone(dt.UTC).replace(tzinfo=None)))
    return math.copysign(moon.phase / 100, moon.elong)  # it waxes while it is east of the sun


@functools.lru_cache(maxsize=4096)
def _moonlit(zone: str, day: dt.date) -> float:
    return moonlit(dt.datetime.combine(day, dt.time(12), zoneinfo.ZoneInfo(zone)))


@functools.lru_cache(maxsize=4096)
def _sun(
    latitude: float, longitude: float, zone: str, day: dt.date
) -> tuple[dt.time | None, dt.time | None]:
    """When the sun rises and sets, to the minute; None on days it does not."""
    import ephem

    place = ephem.Observer()
    place.lat, place.lon = math.radians(latitude), math.radians(longitude)
    place.pressure, place.horizon = 0, _HORIZON
    midnight = dt.datetime.combine(day, dt.time(), zoneinfo.ZoneInfo(zone)).astimezone(dt.UTC)
    place.date = ephem.Date(midnight.replace(tzinfo=None))
    found: list[dt.time | None] = []
    for following in (place.next_rising, place.next_setting):
        try:
            local = _local(following(ephem.Sun()), zone) + dt.timedelta(seconds=30)
            found.append(local.time().replace(second=0, microsecond=0))
            found[-1] = found[-1] if local.date() == day else None
        except ephem.CircumpolarError:
            found.append(None)
    return found[0], found[1]


# Own days


def _rows(
    path: Path, language: str, first: dt.date, last: dt.date, _zone: str
) -> Iterator[tuple[dt.date, str]]:
    """The days of a CSV file: ``date`` (2027-05-01, or 05-01 for every year), ``name`` or, for a
    language, ``name.de``, and ``born``, the year ages count from."""
    rows = rows_of(path, path.read_text(encoding="utf-8-sig"))
    columns = [name.lower() for name in next(rows, (0, []))[1]]
    for needed in ("date", "name"):
        if needed not in columns:
            said = ", ".join(columns) or "nothing"
            raise UserError(str(path), f"has no column '{needed}'", f"its first line says: {said}")
    root, words = language.partition("-")[0], words_for(language)
    for line, cells in rows:
        row = dict(zip(columns, cells, strict=False))
        name = row.get(f"name.{language.lower()}") or row.get(f"name.{root}") or row.get("name")
        if not name:
            raise UserError(str(path), "has a day without a name", "write one", line=line)
        try:
            text, born = row.get("date", ""), row.get("born", "")
            yield from called_days(text, name, born, first, last, words)
        except ValueError as problem:
            raise UserError(str(path), *problem.args, line=line) from None


def called_days(
    text: str, name: str, born: str, first: dt.date, last: dt.date, words: Words
) -> Iterator[tuple[dt.date, str]]:
    """The days in some years that a text means, and what they are called.

    ``text`` is 2027-05-01, or 05-01 for every year; ``born`` is empty or the year that ages count
    from. Raises ValueError with what is wrong and what to do.
    """
    if born and not re.fullmatch(r"[1-9]\d{3}", born):
        raise ValueError(f"born in '{born}', which isn't a year", "write it like 1987")
    for year in range(first.year, last.year + 1):
        try:
            day = dt.date.fromisoformat(text if len(text) > 5 else f"{year}-{text}")
        except ValueError:
            if text == "02-29":
                continue  # a year without that day
            remedy = "write it like 2027-05-01, or 05-01 for every year"
            raise ValueError(f"'{text}' isn't a date", remedy) from None
        if day.year == year and year >= int(born or year):
            yield day, f"{name} ({words.number(year - int(born))})" if born else name


def _events(
    path: Path, _language: str, first: dt.date, last: dt.date, zone: str
) -> Iterator[tuple[dt.date, str]]:
    """The days of a calendar file, repeated events too (RFC 5545)."""
    import icalendar

    data = path.read_bytes()
    text = data.decode("utf-8", "replace")
    check_prints(path, text)
    lines = text.splitlines()
    try:
        events: list[Any] = list(icalendar.Calendar.from_ical(data).walk("VEVENT"))
    except (AttributeError, LookupError, TypeError, ValueError):  # it trusts what it reads
        raise _no_calendar(path, lines) from None
    begun = [n for n, line in enumerate(lines, 1) if line.strip().upper() == "BEGIN:VEVENT"]
    moved: set[tuple[str, dt.date]] = set()
    found: list[tuple[Any, dt.date, int]] = []
    for event, line in zip(events, begun, strict=False):
        try:
            if "RECURRENCE-ID" in event:
                moved.add((str(event.get("UID")), _day(event["RECURRENCE-ID"].dt, zone)))
            if "DTSTART" in event and str(event.get("STATUS", "")).upper() != "CANCELLED":
                begins = event["DTSTART"].dt
                starts = _starts(event, begins, first, last)
                found += [(event, _day(at, zone), _length(event, begins)) for at in starts]
        except (ValueError, TypeError, AttributeError):  # as icalendar and dateutil raise them
            what = f"the event '{event.get('SUMMARY', '')}' has a date or rule that isn't one"
            remedy = "mend it in your calendar and export that again"
            raise UserError(str(path), what, remedy, line=line) from None
    for event, day, length in found:
        if "RECURRENCE-ID" not in event and (str(event.get("UID")), day) in moved:
            continue
        said = event.get("SUMMARY", "")
        summary = str(said[0] if isinstance(said, list) and said else said).strip()
        # Of a long event only the days that can be printed.
        for n in range(max(0, (first - day).days), min(length, (last - day).days + 1)):
            yield day + dt.timedelta(days=n), summary


def _no_calendar(path: Path, lines: Sequence[str]) -> UserError:
    """What to say of a file that is no calendar: which line isn't one of RFC 5545's, 3.1."""
    said = re.compile(r"[ \t]|[A-Za-z0-9-]+[;:]|$")
    wrong = next((n for n, line in enumerate(lines, 1) if not said.match(line)), None)
    what = "isn't a calendar file, or only the beginning of one"
    if wrong is not None:
        what = "isn't a calendar file: this line isn't one of a calendar's"
    return UserError(str(path), what, "export it again as .ics", line=wrong or max(1, len(lines)))


def _day(moment: dt.date, zone: str) -> dt.date:
    """The day of a moment: an all-day event's own, else the day in the season's time zone."""
    if isinstance(moment, dt.datetime):
        return (moment.astimezone(zoneinfo.ZoneInfo(zone)) if moment.tzinfo else moment).date()
    return moment


def _length(event: Any, begins: dt.date) -> int:
    """How many days an all-day event takes; DTEND is the day after its last."""
    if isinstance(begins, dt.datetime):
        return 1
    if "DURATION" in event:
        return max(1, int(event["DURATION"].dt.days))
    ends = event["DTEND"].dt if "DTEND" in event else begins + dt.timedelta(days=1)
    return max(1, int((ends - begins).days))


_TOO_OFTEN, _OFTEN = ("SECONDLY", "MINUTELY", "HOURLY"), ("DAILY", "WEEKLY")
_SELDOM = frozenset(("BYMONTHDAY", "BYYEARDAY", "BYWEEKNO", "BYSETPOS"))
"""What can make a rule for every day one that no day ever fits: it would be looked for up to the
year 9999. Calendars write such rules by month or year."""


def _starts(event: Any, begins: dt.date, first: dt.date, last: dt.date) -> Iterable[dt.date]:
    """When an event begins, each time it does around the days ``first`` to ``last``.

    Rules are worked out in the event's own time, whole days as midnights.
    """
    if "RRULE" not in event and "RDATE" not in event:
        return [begins]
    from dateutil.rrule import rrulestr

    timed = isinstance(begins, dt.datetime)
    start = begins if isinstance(begins, dt.datetime) else dt.datetime.combine(begins, dt.time())
    rules = event.get("RRULE") or []
    rules = rules if isinstance(rules, list) else [rules]
    around = dt.timedelta(days=366)
    low = dt.datetime.combine(first, dt.time(), start.tzinfo) - around
    high = dt.datetime.combine(last, dt.time(), start.tzinfo) + dt.timedelta(days=2)
    found = set() if rules else {start}
    for rule in rules:
        often = str(*rule.get("FREQ", [""])[:1]).upper()
        if often in _TOO_OFTEN or (often in _OFTEN and not _SELDOM.isdisjoint(rule)):
            raise ValueError("more often than days are, or perhaps never")
        if not all(1 <= int(month) <= 12 for month in rule.get("BYMONTH", ())):
            raise ValueError("no month")
        text = rule.to_ical().decode()
        series = rrulestr(text, dtstart=start, ignoretz=start.tzinfo is None)
        found |= set(series.between(low, high, inc=True))
    found |= set(_listed(event.get("RDATE"), start))
    found -= set(_listed(event.get("EXDATE"), start))
    days: Sequence[dt.datetime] = sorted(found)
    return days if timed else [day.date() for day in days]


def _listed(value: Any, start: dt.datetime) -> Iterator[dt.datetime]:
    for each in value if isinstance(value, list) else [value] * (value is not None):
        for one in each.dts:
            moment = one.dt
            if not isinstance(moment, dt.datetime):
                moment = dt.datetime.combine(moment, dt.time(), start.tzinfo)
            yield moment.astimezone(start.tzinfo) if moment.tzinfo and start.tzinfo else moment
