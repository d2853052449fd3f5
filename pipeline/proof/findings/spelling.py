"""Whether a text read back says what it should: the same letters, whatever broke it into pieces.

A line of mixed scripts comes back in several pieces, in the order of the eye or of the ear, and
with spaces lost or gained; its letters and its figures stay what they are.
"""

from __future__ import annotations

import re
import unicodedata
from collections.abc import Iterable
from functools import lru_cache
from typing import NamedTuple


class Spelling(NamedTuple):
    """What a text is made of: its numbers, each whole, and its other letters, in no order."""

    numbers: tuple[str, ...]
    letters: tuple[str, ...]

    @property
    def empty(self) -> bool:
        """Whether there is nothing to read."""
        return not self.numbers and not self.letters

    def within(self, other: Spelling) -> bool:
        """Whether ``other`` has all of it, and perhaps more."""
        return _part(self.numbers, other.numbers) and _part(self.letters, other.letters)


@lru_cache(maxsize=8192)
def spelling(text: str) -> Spelling:
    """What a text is made of; capitals, spaces and invisible signs make no difference.

    >>> spelling("1 – 7 March") == spelling("March 1–7"), spelling("12") == spelling("21")
    (True, False)
    """
    plain = unicodedata.normalize("NFKD", text.casefold())
    letters = (
        sign
        for sign in re.sub(r"\d+", "", plain)
        if unicodedata.category(sign) not in ("Cf", "Zs", "Cc")
    )
    return Spelling(tuple(sorted(re.findall(r"\d+", plain))), tuple(sorted(letters)))


def together(texts: Iterable[str]) -> Spelling:
    """What several pieces are made of; a number is never pieced together from two."""
    parts = [spelling(text) for text in texts]
    return Spelling(
        tuple(sorted(number for part in parts for number in part.numbers)),
        tuple(sorted(letter for part in parts for letter in part.letters)),
    )


def _part(these: tuple[str, ...], those: tuple[str, ...]) -> bool:
    rest = list(those)
    for one in these:
        if one not in rest:
            return False
        rest.remove(one)
    return True
