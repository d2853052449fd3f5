"""What the user can mend: one line that says where, what is wrong and what to do."""

from __future__ import annotations


class UserError(Exception):
    """Something in the user's files is wrong; the command line prints it and exits with 2.

    ``where`` names the file, and in it the line, element id or field. ``what`` says what is
    wrong. ``remedy`` says what to do about it.

    >>> str(UserError("week.svg, element 'day8-name'", "no such key", "did you mean 'day1-name'?"))
    "week.svg, element 'day8-name': no such key; did you mean 'day1-name'?"
    """

    def __init__(self, where: str, what: str, remedy: str = "") -> None:
        self.where = where
        self.what = what
        self.remedy = remedy
        line = f"{where}: {what}" if where else what
        super().__init__(" ".join((f"{line}; {remedy}" if remedy else line).split()))

    def __reduce__(self) -> tuple[type[UserError], tuple[str, str, str]]:
        """Lets it cross from one process to another."""
        return UserError, (self.where, self.what, self.remedy)
