"""What lint says: one line for each thing, with where it is and what to do."""

from __future__ import annotations

from collections import Counter
from collections.abc import Sequence
from dataclasses import asdict, dataclass
from enum import StrEnum
from pathlib import Path


class Severity(StrEnum):
    """How bad it is: it will print wrong; it may not be meant; it is good to know."""

    MEND = "mend"
    LOOK = "look"
    NOTE = "note"


@dataclass(frozen=True)
class Finding:
    """One thing about a drawing.

    ``rule`` is a short name for its kind. ``line`` counts from 1, 0 where no line is meant.
    ``element`` is the id of the element, or of the nearest around it that has one. ``count`` is
    how many things it stands for, the first of which is named. ``mendable`` tells whether
    ``--fix`` can do it.

    >>> str(Finding(Severity.LOOK, "fold", Path("a5/week.svg"), 7, "note", "is folded", "move it"))
    "a5/week.svg:7: look (fold) 'note' is folded; move it"
    """

    severity: Severity
    rule: str
    file: Path
    line: int
    element: str
    message: str
    remedy: str
    count: int = 1
    mendable: bool = False

    def __str__(self) -> str:
        where = f"{self.file}:{self.line}" if self.line else str(self.file)
        named = f" {self.element!r}" if self.element else ""
        return f"{where}: {self.severity} ({self.rule}){named} {self.message}; {self.remedy}"

    def as_json(self) -> dict[str, object]:
        """The same for programs."""
        return {**asdict(self), "file": self.file.as_posix(), "severity": self.severity.value}


def summary(pages: int, findings: Sequence[Finding], mended: int = 0) -> str:
    """The last line: how many pages were looked at, and what there is to do.

    >>> summary(2, [], mended=3)
    '2 pages, 3 places mended: nothing to mend'
    """
    counts = Counter(one.severity for one in findings)
    words = ((Severity.MEND, "to mend"), (Severity.LOOK, "to look at"), (Severity.NOTE, "to know"))
    said = ", ".join(f"{counts[severity]} {what}" for severity, what in words if counts[severity])
    if not counts[Severity.MEND]:
        said = "nothing to mend" + (f", {said}" if said else "")
    mendable = sum(one.mendable for one in findings)
    if mendable:
        said += f" ({mendable} by --fix)"
    head = _counted(pages, "page") + (f", {_counted(mended, 'place')} mended" if mended else "")
    return f"{head}: {said}"


def _counted(count: int, what: str) -> str:
    return f"{count} {what}" if count == 1 else f"{count} {what}s"
