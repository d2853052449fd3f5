"""A season's finished sets checked: what is found, as rows for people and as data for programs."""

from __future__ import annotations

import re
from collections import Counter
from collections.abc import Sequence
from dataclasses import dataclass, field
from functools import partial
from pathlib import Path
from typing import Any

from pipeline.app.build import Step, built_folders
from pipeline.base.findings import SET_RULES, Severity
from pipeline.base.geometry import Rect
from pipeline.base.workers import in_order
from pipeline.plan import plan_season
from pipeline.plan.model import Side
from pipeline.proof.findings import SetFinding, findings_of


def check_season(
    path: Path, out: Path, *, only: str | None = None, step: Step = lambda done, whole, what: None
) -> list[SetFinding]:
    """Everything found in the sets of a season that are built under ``out``, set by set.

    Sets are checked side by side on all cores. Raises UserError when a set of the season has not
    been built.
    """
    season = plan_season(path, only)
    folders = built_folders(path, out, only)
    found: list[SetFinding] = []
    results = in_order(partial(findings_of, season=season), folders)
    for number, folder in enumerate(folders):
        step(number, len(folders), str(folder.relative_to(out)))
        found += next(results)
    step(len(folders), len(folders), "done")
    return found


_NEAR_MM = 1.5
"""Places on two pages of a template so near to each other are one place on it: a figure of another
day, or a word in another language, is a little wider or narrower."""


@dataclass
class Folded:
    """Findings that one thing in a template, or in all sets, makes: the first, and all of them."""

    first: SetFinding
    all: list[SetFinding] = field(default_factory=list)

    def holds(self, other: SetFinding) -> bool:
        """Whether another finding is of the same thing."""
        one = self.first
        if (one.rule, one.template, one.face) != (other.rule, other.template, other.face):
            return False
        if not one.template:
            return (one.message, one.sheet, one.side, one.leaf) == (
                other.message, other.sheet, other.side, other.leaf
            )  # fmt: skip
        if one.place is None or other.place is None:
            # Another day's figures are of the same thing.
            return re.sub(r"\d+", "", one.message) == re.sub(r"\d+", "", other.message)
        return _near(one.place, other.place)

    @property
    def where(self) -> str:
        """Where findings are, as a person looks for the first: leaves count from 1.

        >>> Folded(SetFinding("hairline", "", "march/running/a5-a4-de", 2, 1, 1, Side.RECTO,
        ...                   template="a5/week.svg")).where
        'a5/week.svg: sheet 2 side 1, leaf 2 front'
        """
        one = self.first
        parts = []
        if one.sheet is not None:
            parts.append(f"sheet {one.sheet}" + (f" side {one.side}" if one.side else ""))
        if one.leaf is not None:
            faces = {Side.RECTO: " front", Side.VERSO: " back", None: ""}
            parts.append(f"leaf {one.leaf + 1}{faces[one.face]}")
        own = [other for other in self.all if other.set == one.set]
        pages = {(other.leaf, other.face) for other in own}.union(*(other.also for other in own))
        more = len(pages) - 1
        if more > 0:
            parts.append(f"and {more} more {'page' if more == 1 else 'pages'}")
        return (f"{one.template}: " if one.template else "") + ", ".join(parts)

    @property
    def sets(self) -> str:
        """The set findings are in, or the first with how many others.

        >>> found = [SetFinding("file-big", "", name) for name in ("a/b/c", "a/b/d")]
        >>> Folded(found[0], found).sets
        'in 2 sets: a/b/c and 1 more'
        """
        first, *others = dict.fromkeys(one.set for one in self.all)
        return f"in {len(others) + 1} sets: {first} and {len(others)} more" if others else first


def _near(one: Rect, other: Rect) -> bool:
    """Whether two boxes begin, end or have their middles in about the same place (mm)."""
    left, right = one.x - other.x, one.right - other.right
    down = one.y + one.height / 2 - other.y - other.height / 2
    return min(abs(left), abs(right), abs(left + right) / 2) <= _NEAR_MM and abs(down) <= _NEAR_MM


def folded(findings: Sequence[SetFinding]) -> list[Folded]:
    """Findings by what is to be mended, what must be first: a line each in the table."""
    groups: list[Folded] = []
    for finding in findings:
        group = next((one for one in groups if one.holds(finding)), None)
        if group is None:
            groups.append(group := Folded(finding))
        group.all.append(finding)
    return sorted(groups, key=lambda group: group.first.severity is not Severity.MUST)


def as_rows(findings: Sequence[SetFinding]) -> list[tuple[str, ...]]:
    """A row for each thing to mend: severity, sets, where, at, what, and what to do.

    ``at`` is in mm from the left and the top. What is the same in several sets, papers and
    languages is one row.
    """
    return [
        (
            group.first.severity.value,
            group.sets,
            group.where,
            f"{place.x:.0f}, {place.y:.0f}" if (place := group.first.place) else "",
            f"{SET_RULES[group.first.rule].title}: {group.first.message}",
            group.first.what_to_do,
        )
        for group in folded(findings)
    ]


def totals(findings: Sequence[SetFinding]) -> str:
    """The last line: how many rows there are of each severity, and what they stand for."""
    groups = folded(findings)
    must = sum(group.first.severity is Severity.MUST for group in groups)
    line = f"{must} must be mended, {len(groups) - must} to look at"
    return line + (f" ({len(findings)} findings in all)" if len(findings) > len(groups) else "")


def as_data(findings: Sequence[SetFinding]) -> dict[str, Any]:
    """The findings for ``json.dumps``, with how many there are of each severity."""
    counted = Counter(finding.severity.value for finding in findings)
    return {
        "must": counted["must"],
        "look": counted["look"],
        "findings": [finding.as_data() for finding in findings],
    }
