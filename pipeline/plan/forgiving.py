"""What in a season file can only mean one thing is taken for it: 'A4', 'Monday', 'English'."""

from __future__ import annotations

import re
from collections.abc import Callable, Iterator, Mapping, Sequence
from typing import Any, NamedTuple

from pipeline.plan.calendar import WEEKDAYS
from pipeline.plan.languages import tag_of
from pipeline.plan.sizes import Sizes
from pipeline.plan.tomlfile import Location


class Taken(NamedTuple):
    """What is written at a place of a file, and what it is taken for."""

    location: Location
    written: str
    taken: str


def taken_in(data: Mapping[str, Any], sizes: Sizes) -> Iterator[Taken]:
    """All that a season's data says in other words than it should, and can only mean one thing."""
    readers: Mapping[str, Callable[[str], str | None]] = {
        "sizes": lambda word: _named(word, {n: one.title for n, one in sizes.binders.items()}),
        "papers": lambda word: _named(word, {n: one.title for n, one in sizes.papers.items()}),
        "language": tag_of,
        "first_weekday": _weekday,
        "weeks": str.lower,
    }
    for field, read in readers.items():
        yield from _each((field,), data.get(field), read)
    for number, period in _tables(data, "period"):
        for field in ("month", "months"):
            yield from _each(("period", number, field), period.get(field), _month)
    for number, entry in _tables(data, "set"):
        place = ("set", number)
        for field in ("opening", "closing"):
            yield from _each((*place, field), entry.get(field), _template)
        yield from _pages((*place, "flap_back"), entry.get("flap_back"))
        for field in ("spreads", "leaves"):
            for n, pair in _tables(entry, field):
                yield from _pages((*place, field, n), pair)
                yield from _pages((*place, field, n, "flap_back"), pair.get("flap_back"))
                yield from _each((*place, field, n, "per"), pair.get("per"), str.lower)


def put_right(data: Any, taken: Sequence[Taken]) -> None:
    """Writes what is meant in the place of what is written, into data or a tomlkit document."""
    for location, _, meant in taken:
        holder = data
        for step in location[:-1]:
            holder = holder[step]
        holder[location[-1]] = meant


def _tables(data: Mapping[str, Any], field: str) -> Iterator[tuple[int, Mapping[str, Any]]]:
    held = data.get(field)
    for number, one in enumerate(held if isinstance(held, list) else ()):
        if isinstance(one, Mapping):
            yield number, one


def _each(
    location: tuple[str | int, ...], held: object, read: Callable[[str], str | None]
) -> Iterator[Taken]:
    """A text, or the texts of a list, where they are read otherwise than they are written."""
    if isinstance(held, list):
        for number, one in enumerate(held):
            yield from _each((*location, number), one, read)
    elif isinstance(held, str) and (meant := read(held.strip())) and meant != held:
        yield Taken(location, held, meant)


def _pages(location: tuple[str | int, ...], pair: object) -> Iterator[Taken]:
    if isinstance(pair, str):
        yield from _each(location, pair, _template)
    elif isinstance(pair, Mapping):
        for side in ("verso", "recto"):
            yield from _each((*location, side), pair.get(side), _template)


def _named(word: str, titles: Mapping[str, str]) -> str | None:
    """The size that is called so, by its name or its title, in capitals or with 'US' before it."""

    def bare(text: str) -> str:
        return re.sub(r"[\s_-]+", "-", text.casefold()).removeprefix("us-")

    found = [name for name, title in titles.items() if bare(word) in (bare(name), bare(title))]
    return word if word in titles else found[0] if len(found) == 1 else None


def _weekday(word: str) -> str | None:
    return word.lower() if word.lower() in WEEKDAYS else None


def _month(word: str) -> str | None:
    """The month that can only be meant.

    >>> _month("2027-3"), _month("2027/03"), _month("3-2027")
    ('2027-03', '2027-03', None)
    """
    match = re.fullmatch(r"(\d{4})[-/.](\d{1,2})", word)
    return f"{match[1]}-{int(match[2]):02d}" if match and 1 <= int(match[2]) <= 12 else None


def _template(word: str) -> str | None:
    return word[:-4] if word.lower().endswith(".svg") else None
