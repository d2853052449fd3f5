"""Which way each character of a line runs: the Unicode bidirectional algorithm (UAX #9).

python-bidi computes the levels; even levels run left to right, odd ones right to left.
"""

from __future__ import annotations

import functools
from collections.abc import Sequence
from typing import Any, TypeVar

from bidi import algorithm
from fontTools import unicodedata

_T = TypeVar("_T")
_RIGHT_TO_LEFT = frozenset({"R", "AL", "AN", "RLE", "RLO", "RLI"})


@functools.lru_cache(maxsize=4096)
def levels(line: str, right_to_left: bool = False) -> tuple[int, ...]:
    """The embedding level of each character; ``right_to_left`` is the paragraph's direction.

    >>> levels("ab")
    (0, 0)
    >>> levels("12 \u0645\u0627\u064a", right_to_left=True)
    (2, 2, 1, 1, 1, 1)
    """
    if not right_to_left and not any(
        unicodedata.bidirectional(character) in _RIGHT_TO_LEFT for character in line
    ):
        return (0,) * len(line)
    storage: dict[str, Any] = algorithm.get_empty_storage()
    storage["base_level"] = int(right_to_left)
    storage["base_dir"] = "R" if right_to_left else "L"
    algorithm.get_embedding_levels(line, storage)
    for index, entry in enumerate(storage["chars"]):
        entry["index"] = index
    algorithm.explicit_embed_and_overrides(storage, False)
    algorithm.resolve_weak_types(storage, False)
    algorithm.resolve_neutral_types(storage, False)
    algorithm.resolve_implicit_levels(storage, False)
    known = {entry["index"]: int(entry["level"]) for entry in storage["chars"]}
    found: list[int] = []
    for index in range(len(line)):  # marks that only steer the algorithm take their neighbour's
        found.append(known.get(index, found[-1] if found else int(right_to_left)))
    return tuple(found)


def in_visual_order(items: Sequence[_T], level_of: Sequence[int]) -> list[_T]:
    """Items of a line from left to right (rule L2): each odd level turns what lies within it.

    >>> in_visual_order(["a", "B", "1", "C"], [0, 1, 2, 1])
    ['a', 'C', '1', 'B']
    """
    order = list(range(len(items)))
    for level in range(max(level_of, default=0), 0, -1):
        start = 0
        while start < len(order):
            end = start
            while end < len(order) and level_of[order[end]] >= level:
                end += 1
            if end > start:
                order[start:end] = order[start:end][::-1]
            start = max(end, start + 1)
    return [items[index] for index in order]


@functools.cache
def script_of(character: str) -> str:
    """The script a character belongs to (ISO 15924, by UAX #24): "Latn", "Arab", "Zyyy", …"""
    return str(unicodedata.script(character))
