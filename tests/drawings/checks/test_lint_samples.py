"""Faults in samples that are repeated: each gives its own finding, which says how to mend it."""

from __future__ import annotations

import pytest

from tests.drawings.checks.conftest import SEASON, Shelf

ROOM = '<rect x="20" y="40" width="112" height="140" fill="none"/>'
CELL = '<rect x="20" y="40" width="16" height="23" fill="none" stroke="#bbb" stroke-width=".2"/>'


def text(name: str, words: str, y: float = 46) -> str:
    """A keyed text in the sample, with its box."""
    return (
        f'<g id="{name}"><rect x="21" y="{y - 4}" width="14" height="5.5" fill="none"/>'
        f'<text x="21" y="{y}">{words}</text></g>'
    )


def grid(name: str = "each-date", *, room: str = ROOM, cell: str = CELL, inside: str = "") -> str:
    """A month's calendar with its figures, and a heading."""
    sample = f"<g>{cell}{inside or text('date-number', '1')}</g>"
    return f'<text id="month-name" x="20" y="30">March</text><g id="{name}">{room}{sample}</g>'


FAULTS = {
    # what was done: (element, what is said, what is to be done, page)
    "a name misspelt": (
        "each-dates", "no such thing to repeat", "did you mean 'each-date'", grid("each-dates")),
    "a week's days on a month's page": (
        "each-day", "no such thing to repeat", "did you mean 'each-date'", grid("each-day")),
    "the months of a year on a month's page": (
        "each-month", "no such thing to repeat", "", grid("each-month")),
    "hours that run backwards": (
        "each-hour-19-7", "no such thing to repeat", "each-hour-7-19", grid("each-hour-19-7")),
    "a list that the collection has not": (
        "each-line-of-seeds", "there is no list 'seeds'", "lists/seeds.csv",
        grid("each-line-of-seeds")),
    "a room too low": (
        "each-date", "5 of them need", "make the room larger, or the sample smaller",
        grid(room=ROOM.replace("140", "50"))),
    "a room too narrow": (
        "each-date", "mm are missing", "make the room larger, or the sample smaller",
        grid(room=ROOM.replace("112", "60"))),
    "a sample without a rectangle": (
        "each-date", "the sample has no rectangle", "group it with a rectangle",
        grid(cell="", inside='<text id="date-number" x="21" y="46">1</text>')),
    "no room": (
        "each-date", "a rectangle without fill and stroke", "group the two",
        grid(room="", cell=CELL)),
    "no sample": (
        "each-date", "one drawn sample", "group the two",
        f'<text id="month-name" x="20" y="30">March</text><g id="each-date">{ROOM}</g>'),
    "a key with a number": (
        "each-date", "'date5-number' in its sample has a number", "call it 'date-number'",
        grid(inside=text("date5-number", "5"))),
    "a sample turned in its room": (
        "each-date", "is turned within the group", "turn the whole group",
        grid(cell=CELL.replace("<rect", '<rect transform="rotate(9)"'))),
    "a key misspelt in a sample": (
        "date-nunber", "isn't a key", "did you mean", grid(inside=text("date-nunber", "1"))),
    "a feast in a season without an almanac": (
        "date-feast", "the season has no [almanac]", "add the table to the season file",
        grid(inside=text("date-number", "1") + text("date-feast", "Easter", 54))),
}  # fmt: skip


@pytest.fixture
def months(shelf: Shelf) -> Shelf:
    """The collection with a season of months."""
    season = shelf.folder.parents[1] / "seasons" / "samples.toml"
    season.write_text(SEASON.replace('per = "week"', 'per = "month"'), "utf-8")
    shelf.put("right", "")
    return shelf


@pytest.mark.parametrize("done", FAULTS)
def test_a_fault_gives_its_finding_and_no_other(months: Shelf, done: str) -> None:
    element, said, remedy, drawn = FAULTS[done]
    found = months.look("left", drawn)
    assert [(one.word, one.rule, one.element) for one in found] == [("mend", "key", element)], [
        str(one) for one in found
    ]
    (one,) = found
    assert said in one.message
    assert remedy in one.what_to_do


def test_a_sound_calendar(months: Shelf) -> None:
    assert [str(one) for one in months.look("left", grid())] == []


def test_a_feast_where_there_is_an_almanac(months: Shelf) -> None:
    season = months.folder.parents[1] / "seasons" / "samples.toml"
    almanac = '[almanac]\nholidays = ["GB-ENG"]\n\n[[period]]'
    season.write_text(season.read_text("utf-8").replace("[[period]]", almanac, 1), "utf-8")
    _, _, _, drawn = FAULTS["a feast in a season without an almanac"]
    assert [str(one) for one in months.look("left", drawn)] == []
