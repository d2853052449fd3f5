"""What the user can mend: one line that says where, what is wrong and what to do."""

from __future__ import annotations

import difflib
import functools
import unicodedata
from collections.abc import Iterable


class UserError(Exception):
    """Something in the user's files is wrong; the command line prints it and exits with 2.

    ``where`` names the file or option, ``line`` the line in it (from 1; 0 for none), ``field`` the
    field of a season, say, and ``element`` the id of an SVG element. ``what`` says what is wrong,
    ``remedy`` what to do about it.

    >>> str(UserError("week.svg", "no such key", "rename it", element="day8-name", line=7))
    "week.svg, line 7, element 'day8-name': no such key; rename it"
    """

    def __init__(
        self,
        where: str,
        what: str,
        remedy: str = "",
        *,
        element: str = "",
        line: int = 0,
        field: str = "",
    ) -> None:
        self.where = where
        self.what = what
        self.remedy = remedy
        self.element = element
        self.line = line
        self.field = field
        said = f"{self.place}: {what}" if self.place else what
        super().__init__(shown(" ".join((f"{said}; {remedy}" if remedy else said).split())))

    @property
    def place(self) -> str:
        """Where it is, in words: file, line, field and element, as far as they are known."""
        line = f"line {self.line}" if self.line else ""
        element = f"element {self.element!r}" if self.element else ""
        return ", ".join(part for part in (self.where, line, self.field, element) if part)

    def __reduce__(self) -> tuple[object, ...]:
        """Lets it cross from one process to another."""
        rebuilt = functools.partial(
            type(self), element=self.element, line=self.line, field=self.field
        )
        return rebuilt, (self.where, self.what, self.remedy)


_TURNS = "\u202a\u202b\u202c\u202d\u202e\u2066\u2067\u2068\u2069"
"""Signs that turn what follows them round (UAX #9): a message must read as it is written."""


def shown(text: str) -> str:
    """A text without signs that a terminal obeys instead of showing them.

    >>> shown("a\x1b[2J\u202eb")
    'a�[2J�b'
    """
    if text.isprintable() and text.isascii():
        return text
    return "".join(
        "\ufffd" if one in _TURNS or unicodedata.category(one) in ("Cc", "Cs") else one
        for one in text
    )


def unprintable(text: str) -> str:
    """What no page can show of a text, as its number; "" if all of it can be.

    Those are the characters that XML does not allow (XML 1.0, 2.2), and further control signs.

    >>> unprintable("leaf\t"), unprintable("a\x0bb"), unprintable("\ufffe")
    ('', 'U+000B', 'U+FFFE')
    """
    if text.isprintable():
        return ""
    odd = (
        one
        for one in text
        if (one not in "\t\n\r" and unicodedata.category(one) in ("Cc", "Cs"))
        or ord(one) & 0xFFFE == 0xFFFE
    )
    found = next(odd, None)
    return f"U+{ord(found):04X}" if found is not None else ""


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
