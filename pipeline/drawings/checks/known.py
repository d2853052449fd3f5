"""Every key and fact that a page of each kind can hold, asked of the plan that makes them."""

from __future__ import annotations

import datetime as dt
import functools
import re
from collections.abc import Collection

from pipeline.plan.calendar import Week
from pipeline.plan.facts import Setting, month_facts, once_facts, undated_facts, week_facts
from pipeline.plan.model import Facts, Period
from pipeline.plan.words import words_for

KINDS = ("week", "month", "once", "undated")

_NUMBERED = re.compile(r"(day|date|month)(\d+)-(.+)")


@functools.cache
def facts_of_kind(kind: str) -> Facts:
    """The facts of a page of a kind, for some week, month or period, without labels."""
    first, last = dt.date(2027, 3, 1), dt.date(2027, 3, 31)
    setting = Setting(
        words_for("en"), 0, {}, "", Period("march", "March", first, last), first, last
    )
    if kind == "week":
        return week_facts(setting, Week(first), 0, 1)
    if kind == "month":
        return month_facts(setting, first)
    if kind == "once":
        return once_facts(setting)
    return undated_facts(Setting(words_for("en"), 0, {}, "", Period("undated", "", None, None)))


def keys_of_kind(kind: str) -> frozenset[str]:
    """Ids of texts and small months that a page of a kind can hold, labels left out.

    >>> "day7-name" in keys_of_kind("week"), "day8-name" in keys_of_kind("week")
    (True, False)
    """
    facts = facts_of_kind(kind)
    return frozenset((*facts.texts, *facts.months))


ALL_KEYS = frozenset(key for kind in KINDS for key in keys_of_kind(kind))


def guessed_kind(names: Collection[str]) -> str:
    """The kind of page that the names on it speak of.

    >>> guessed_kind(["day1-name", "month-name"]), guessed_kind(["label-notes"])
    ('week', 'undated')
    """
    shown = {name.removeprefix("show-") for name in names}

    def fitting(kind: str) -> int:
        return len(shown & (keys_of_kind(kind) | frozenset(facts_of_kind(kind).flags)))

    best = max(KINDS, key=fitting)
    return best if fitting(best) > fitting("undated") else "undated"


def numbered(key: str) -> tuple[str, int, str] | None:
    """What keys come in numbers of, which number, and of what: ``("day", 3, "name")``."""
    match = _NUMBERED.match(key)
    return (match[1], int(match[2]), match[3]) if match else None
