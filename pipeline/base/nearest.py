"""The name the user most likely meant."""

from __future__ import annotations

import difflib
from collections.abc import Iterable


def nearest(word: str, known: Iterable[str]) -> str | None:
    """The known name most like ``word``, or ``None`` when nothing is like it.

    >>> nearest("kitchen-garden", ["kitchen_garden", "herbs"])
    'kitchen_garden'
    >>> nearest("qqqq", ["kitchen_garden"]) is None
    True
    """
    by_folded = {name.casefold(): name for name in known}
    found = difflib.get_close_matches(word.casefold(), by_folded, n=1, cutoff=0.4)
    return by_folded[found[0]] if found else None


def did_you_mean(word: str, known: Iterable[str]) -> str:
    """What to do about an unknown name: the nearest one, or else all there are.

    >>> did_you_mean("a55", ["a5", "letter"])
    "did you mean 'a5'?"
    >>> did_you_mean("qqqq", ["a5", "letter"])
    'choose from: a5, letter'
    """
    names = list(known)
    match = nearest(word, names)
    if match is not None:
        return f"did you mean '{match}'?"
    return f"choose from: {', '.join(names)}" if names else "there are none to choose from"
