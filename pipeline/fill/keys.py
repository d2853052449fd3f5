"""Which of a template's elements speak to the program: their ids and labels, read as names."""

from __future__ import annotations

import difflib
import re
from collections.abc import Callable, Collection, Iterable, Sequence
from typing import NamedTuple

from lxml import etree

from pipeline.svg.tree import SVG, names

_ESCAPED = re.compile(r"_x([0-9A-Fa-f]{2,5})_")
COPY_TAIL = re.compile(r"(?:[-_ ]copy|[-_ ]\d+_?)+$")
"""What editors put after the id of a copy."""

_NAME = re.compile(r"[a-z][a-z0-9]*(?:[-._]+[a-z0-9]+)*$")
_NUMBERED = re.compile(
    r"each[-_ ]hour-\d+-\d+(?:-(?:across|down|even))*|link[-_ ](?:month|week)-\d+"
    r"|(?:show[-_ ])?buyer[-_ ]line-\d+"
)
"""Names whose figures are theirs, and no copy's."""
_RULED = re.compile(r"(lines|dots|grid|checks)-(\d+(?:\.\d+)?)mm(?:-(top|centre))?$")
_FAMILIES = re.compile(
    r"(?:day|week|month|date|year|period|label|set|buyer)\d*-|(?:day|date|month)\d+$|year$"
)
_RULED_FAMILIES = re.compile(r"(?:lines?|dots?|grids?|checks?)-")
_WORD_AND_PITCH = re.compile(r"([a-z]+)[-_.]?\d+(?:[._]\d+)?[-_]?mm")
_KINDS = ("lines", "dots", "grid", "checks")


def unescaped(identifier: str) -> str:
    """An id or label with the escapes read back that editors write for signs an id cannot have.

    >>> unescaped("word-M_xE4_rz ")
    'word-März'
    """
    return _ESCAPED.sub(lambda match: chr(int(match[1], 16)), identifier.strip())


def key_in(identifier: str) -> str:
    """An id or label as the illustrator meant it: escapes read back, copies' tails taken off.

    >>> key_in("day1_x2D_name"), key_in("day1-name-3"), key_in("lines-6mm-2")
    ('day1-name', 'day1-name', 'lines-6mm')
    >>> key_in("each-hour-7-19"), key_in("each-hour-7-19-2"), key_in("link-month-3-2")
    ('each-hour-7-19', 'each-hour-7-19', 'link-month-3')
    >>> key_in("buyer-line-2"), key_in("buyer-line-2-3"), key_in("show-buyer-line-2")
    ('buyer-line-2', 'buyer-line-2', 'show-buyer-line-2')
    """
    text = unescaped(identifier).lower()
    if numbered := _NUMBERED.match(text):
        return numbered[0]
    stem = COPY_TAIL.sub("", text)
    # "lines-6" is a pitch that lacks its unit, not the sixth copy of "lines".
    return text if stem in _KINDS else stem


_LONGEST = 1_000
"""Letters of an id that may be a name; a longer one is none."""


def names_of(identifiers: Iterable[str | None]) -> tuple[str, ...]:
    """Names an element goes by that could be keys, its id before its label.

    >>> names_of(["text123", "Day1-Name", "Week number"])
    ('text123', 'day1-name', 'week_number')
    """
    said = (one for one in identifiers if one and len(one) <= _LONGEST)
    found = ("_".join(key_in(one).split()) for one in said)
    return tuple(dict.fromkeys(name for name in found if _NAME.match(name)))


class Ruled(NamedTuple):
    """A ruled area's kind, its pitch in mm and how whole pitches are aligned in its height."""

    kind: str
    pitch_mm: float
    align: str


def ruled(name: str) -> Ruled | None:
    """What a ruled area's name asks for; None for any other name.

    >>> ruled("lines-6mm"), ruled("dots-5mm-top"), ruled("lines-6")
    (Ruled(kind='lines', pitch_mm=6.0, align='top'), Ruled(kind='dots', pitch_mm=5.0, \
align='top'), None)
    """
    match = _RULED.match(name)
    if not match or float(match[2]) <= 0:
        return None
    default = "top" if match[1] in ("lines", "checks") else "centre"
    return Ruled(match[1], float(match[2]), match[3] or default)


def looks_ruled(name: str) -> bool:
    """Whether a rectangle's name seems meant for a ruled area.

    >>> looks_ruled("lines-6"), looks_ruled("linse-6mm"), looks_ruled("dots_5mm")
    (True, True, True)
    >>> looks_ruled("box-6mm"), looks_ruled("rect6"), looks_ruled("dots")
    (False, False, False)
    """
    if _RULED_FAMILIES.match(name):
        return True
    match = _WORD_AND_PITCH.match(name)
    return bool(match and difflib.get_close_matches(match[1], _KINDS, 1, 0.7))


def looks_like_key(name: str, known: Collection[str]) -> bool:
    """Whether a text's name seems meant for a key: it begins like one or is nearly one.

    >>> looks_like_key("day8-name", ["day1-name"]), looks_like_key("wek-number", ["week-number"])
    (True, True)
    >>> looks_like_key("text12", ["day1-name"]), looks_like_key("title", ["day1-name"])
    (False, False)
    """
    return bool(_FAMILIES.match(name)) or key_meant(name, known) is not None


def key_meant(name: str, known: Collection[str]) -> str | None:
    """The key that a name seems to be a misspelling of: other signs between its words, a letter
    too many, too few, another, or in another's place. Its first letter counts.

    >>> key_meant("day1_of_year", ["day1-of-year"]), key_meant("yaer", ["year"])
    ('day1-of-year', 'year')
    >>> key_meant("day2_name", ["day1-name", "day2-name"])
    'day2-name'
    >>> key_meant("pear", ["year"]), key_meant("text12", ["week-number", "year"])
    (None, None)
    """
    bare, keys = _bare(name), {_bare(key): key for key in known}
    alike = 0.82 if "-" in name else 0.85  # words joined as ours are were sooner meant for one
    near = difflib.get_close_matches(bare, keys, 1, alike)
    if not near or near[0][0] != bare[0]:
        near = [key for key in keys if sorted(key) == sorted(bare)]
    return keys[near[0]] if near else None


def _bare(name: str) -> str:
    return re.sub(r"[^a-z0-9]", "", name)


def key_advice(name: str, known: Collection[str]) -> str:
    """Advice that names the nearest of ``known``, for an error's last part."""
    meant = key_meant(name, known)
    near = [meant] if meant else difflib.get_close_matches(name, known, 1, 0.5)
    return f"did you mean {near[0]!r}?" if near else "see the list of keys in docs/templates.md"


def label_advice(name: str, known: Collection[str], file: str) -> str:
    """Advice about a label that does not exist: write it, use the one that was meant, or have it
    printed as drawn.

    ``file`` is where it can be written. Only a label that is nearly the same is proposed.

    >>> advice = label_advice("label-sowin", ["label-sowing", "week-number"], "labels/en.toml")
    >>> advice.partition("? ")[::2]
    ("add it to labels/en.toml, or did you mean 'label-sowing'", 'With no name, it prints as drawn')
    >>> advice = label_advice("label-moon", ["label-sowing", "label-beds"], "labels/en.toml")
    >>> advice.partition("; ")[0]
    'write moon = "…" in labels/en.toml, or take one that is there: beds, sowing'
    """
    key = name.removeprefix("label-")
    there = sorted(other.removeprefix("label-") for other in known if other.startswith("label-"))
    near = difflib.get_close_matches(key, there, 1, 0.7)
    if near:
        return f"add it to {file}, or did you mean 'label-{near[0]}'? {_AS_DRAWN.capitalize()}"
    advice = f'write {key} = "…" in {file}'
    if there:
        more = f" and {len(there) - 12} more" if len(there) > 12 else ""
        advice += f", or take one that is there: {', '.join(there[:12])}{more}"
    return f"{advice}; {_AS_DRAWN}"


_AS_DRAWN = "with no name, it prints as drawn"


def mistaken_name(
    element: etree._Element, called: Sequence[str], known: Collection[str], show: Collection[str]
) -> str | None:
    """The name of an element that seems meant for one of the keys ``known``, or for one of the
    names in ``show``; None when all is well.

    Names are looked at on texts, on groups around a single text, and on groups that can hold a
    small month; not on a group that is named after the key within it. What ``show`` lists can be
    any element.
    """
    for name in called:
        if name.startswith("show") and key_meant(name, show):
            return name
    looks_meant: Callable[[str, Collection[str]], object]
    texts = len(list(element.iter(SVG + "text")))
    if element.tag == SVG + "text" or (element.tag == SVG + "g" and texts == 1):
        looks_meant = looks_like_key
    elif element.tag == SVG + "g" and texts and element.find(f".//{SVG}rect") is not None:
        known = [key for key in known if key.endswith("-grid")]
        looks_meant = key_meant
    else:
        return None
    inside = {name for inner in element.iterdescendants() for name in names(inner)}
    for name in called:
        if name not in known and looks_meant(name, known) and key_meant(name, known) not in inside:
            return name
    return None
