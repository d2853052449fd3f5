"""What files are called in a bundle: numbered, so that sorted by name they are in order of use.

Files that take one another's place say so: "3+4-both-sides.pdf" is printed instead of 3 and 4, and
of two files with the same number one is printed. What nobody prints has no number, and comes last.
"""

from __future__ import annotations

import re
from collections.abc import Iterable, Mapping

from pipeline.app.jobs import CONTENTS
from pipeline.impose.imposing import BOTH, SIDE_1, SIDE_2

DIRECTIONS, FEED_TEST = "directions.pdf", "feed-test.pdf"
SIDE_2_REVERSED = "side-2-reversed.pdf"
CHANGES, LICENCE = "changes.txt", "licence.txt"

_UNNUMBERED = (CHANGES, LICENCE, CONTENTS)


def buyers_names(*, feed_test: bool) -> Mapping[str, str]:
    """The name in a bundle of each file that can be in it, by its own name, in order of use.

    ``feed_test`` tells whether the bundle has one: not every paper has room for it.

    >>> list(buyers_names(feed_test=True).values())[:4]
    ['1-directions.pdf', '2-feed-test.pdf', '3+4-both-sides.pdf', '3-side-1.pdf']
    >>> buyers_names(feed_test=False)["side-2-reversed.pdf"]
    '3-side-2-reversed.pdf'
    """
    first = 3 if feed_test else 2
    numbered = [
        ("1", DIRECTIONS),
        *([("2", FEED_TEST)] if feed_test else []),
        (f"{first}+{first + 1}", BOTH),
        (f"{first}", SIDE_1),
        (f"{first + 1}", SIDE_2),
        (f"{first + 1}", SIDE_2_REVERSED),
    ]
    names = {name: f"{number}-{name}" for number, name in numbered}
    return {**names, **{name: name for name in _UNNUMBERED}}


def own_name(name: str) -> str:
    """A file's own name, from the one that it has in a bundle.

    >>> own_name("3+4-both-sides.pdf"), own_name("licence.txt")
    ('both-sides.pdf', 'licence.txt')
    """
    return re.sub(r"^[\d+]+-", "", name)


def in_order(names: Iterable[str]) -> list[str]:
    """Names of a bundle's files, in the order in which one needs them.

    >>> in_order(["contents.json", "4-side-2-reversed.pdf", "1-directions.pdf", "4-side-2.pdf"])
    ['1-directions.pdf', '4-side-2.pdf', '4-side-2-reversed.pdf', 'contents.json']
    """
    order = list(buyers_names(feed_test=True))
    return sorted(names, key=lambda name: order.index(own_name(name)))


def within(name: str, *, right_to_left: bool) -> str:
    """A file's name as it stands within a text.

    Where lines run from right to left, the number it begins with would go to its other end
    (UAX #9); an embedding keeps it in its place.
    """
    if not right_to_left:
        return name
    return f"\N{LEFT-TO-RIGHT EMBEDDING}{name}\N{POP DIRECTIONAL FORMATTING}"
