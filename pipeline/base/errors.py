"""What the user can mend: one line that says where, what is wrong and what to do."""

from __future__ import annotations


class UserError(Exception):
    """Something in the user's files is wrong; the command line prints it and exits with 2.

    ``where`` names the file or the field of one, ``line`` the line in it (from 1; 0 for none) and
    ``element`` the id of an element. ``what`` says what is wrong, ``remedy`` what to do about it.

    >>> str(UserError("week.svg", "no such key", "rename it", element="day8-name", line=7))
    "week.svg, line 7, element 'day8-name': no such key; rename it"
    """

    def __init__(
        self, where: str, what: str, remedy: str = "", *, element: str = "", line: int = 0
    ) -> None:
        self.where = where
        self.what = what
        self.remedy = remedy
        self.element = element
        self.line = line
        said = f"{self.place}: {what}" if self.place else what
        super().__init__(" ".join((f"{said}; {remedy}" if remedy else said).split()))

    @property
    def place(self) -> str:
        """Where it is, in words: the file, the line and the element, as far as they are known."""
        line = f"line {self.line}" if self.line else ""
        element = f"element {self.element!r}" if self.element else ""
        return ", ".join(part for part in (self.where, line, element) if part)

    def __reduce__(self) -> tuple[object, ...]:
        """Lets it cross from one process to another."""
        return _rebuilt, (self.where, self.what, self.remedy, self.element, self.line)


def _rebuilt(where: str, what: str, remedy: str, element: str, line: int) -> UserError:
    return UserError(where, what, remedy, element=element, line=line)
