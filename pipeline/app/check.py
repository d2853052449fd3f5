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
from pipeline.base.geometry import Rect
from pipeline.base.workers import in_order
from pipeline.plan import plan_season
from pipeline.plan.model import Side
from pipeline.proof.findings import KINDS, Finding, Severity, findings_of


def check_season(
    path: Path,
    out: Path,
    *,
    only: str | None = None,
    step: Step = lambda done, whole, what: None,
) -> list[Finding]:
    """Everything found in the sets of a season that are built under ``out``, set by set.

    Sets are checked side by side on all cores. Raises UserError when a set of the season has not
    been built.
    """
    season = plan_season(path, only)
    folders = built_folders(path, out, only)
    found: list[Finding] = []
    results = in_order(partial(findings_of, season=season), folders)
    for number, folder in enumerate(folders):
        step(number, len(folders), str(folder.relative_to(out)))
        found += next(results)
    step(len(folders), len(folders), "done")
    return found


def must_be_mended(findings: Sequence[Finding]) -> int:
    """How many of them bar the way to press."""
    return sum(finding.severity is Severity.MUST for finding in findings)


_NEAR_MM = 1.5
"""Places on two pages of a template so near to each other are one place on it: a figure of another
day, or a word in another language, is a little wider or narrower."""


@dataclass
class Folded:
    """Findings that one thing in a template, or in all sets, makes: the first, and all of them."""

    first: Finding
    all: list[Finding] = field(default_factory=list)

    @property
    def sets(self) -> list[str]:
        """The sets it is found in, in their order."""
        return list(dict.fromkeys(one.set for one in self.all))

    @property
    def pages(self) -> int:
        """On how many pages of the first of these sets it is."""
        own = [one for one in self.all if one.set == self.first.set]
        faces = {(one.leaf, one.face) for one in own}.union(*(one.also for one in own))
        return len(faces)

    def holds(self, other: Finding) -> bool:
        """Whether another finding is of the same thing."""
        one = self.first
        if (one.code, one.template, one.face) != (other.code, other.template, other.face):
            return False
        if one.place is not None and other.place is not None and one.template:
            return _near(one.place, other.place)
        if one.template:
            return _bare(one.message) == _bare(other.message)
        return (one.message, one.sheet, one.side, one.leaf) == (
            other.message, other.sheet, other.side, other.leaf
        )  # fmt: skip


def _near(one: Rect, other: Rect) -> bool:
    """Whether two boxes begin, end or have their middles in about the same place (mm)."""
    across = (
        one.x - other.x,
        one.right - other.right,
        one.x + one.width / 2 - other.x - other.width / 2,
    )
    down = one.y + one.height / 2 - other.y - other.height / 2
    return min(map(abs, across)) <= _NEAR_MM and abs(down) <= _NEAR_MM


def _bare(message: str) -> str:
    """A message without its figures: another day's is of the same thing."""
    return re.sub(r"\d+", "", message)


def folded(findings: Sequence[Finding]) -> list[Folded]:
    """Findings by what is to be mended, what must be first: a line each in the table."""
    groups: list[Folded] = []
    for finding in findings:
        group = next((one for one in groups if one.holds(finding)), None)
        if group is None:
            groups.append(group := Folded(finding))
        group.all.append(finding)
    return sorted(groups, key=lambda group: group.first.severity is not Severity.MUST)


def where_found(group: Folded) -> str:
    """Where findings are, as a person looks for the first: leaves count from 1.

    >>> one = Finding("hairline", "march/running/a5-a4-de", "", 2, 1, 1, Side.RECTO,
    ...               template="a5/week.svg")
    >>> where_found(folded([one])[0])
    'a5/week.svg: sheet 2 side 1, leaf 2 front'
    """
    finding = group.first
    parts = []
    if finding.sheet is not None:
        side = f" side {finding.side}" if finding.side is not None else ""
        parts.append(f"sheet {finding.sheet}{side}")
    if finding.leaf is not None:
        faces = {Side.RECTO: " front", Side.VERSO: " back", None: ""}
        parts.append(f"leaf {finding.leaf + 1}{faces[finding.face]}")
    more = group.pages - 1
    if more > 0:
        parts.append(f"and {more} more {'page' if more == 1 else 'pages'}")
    named = f"{finding.template}: " if finding.template else ""
    return named + ", ".join(parts)


def in_sets(group: Folded) -> str:
    """The set findings are in, or the first with how many others.

    >>> in_sets(folded([Finding("file-big", name, "") for name in ("a/b/c", "a/b/d")])[0])
    'in 2 sets: a/b/c and 1 more'
    """
    first, *others = group.sets
    return f"in {len(others) + 1} sets: {first} and {len(others)} more" if others else first


def as_rows(findings: Sequence[Finding]) -> list[tuple[str, ...]]:
    """A row for each thing to mend: severity, sets, where, at, what, and what to do.

    ``at`` is in mm from the left and the top. What is the same in several sets, papers and
    languages is one row.
    """
    return [
        (
            group.first.severity.value,
            in_sets(group),
            where_found(group),
            f"{place.x:.0f}, {place.y:.0f}" if (place := group.first.place) else "",
            f"{KINDS[group.first.code].title}: {group.first.message}",
            group.first.what_to_do,
        )
        for group in folded(findings)
    ]


def summary(findings: Sequence[Finding]) -> str:
    """The last line: how many rows there are of each severity, and what they stand for."""
    groups = folded(findings)
    must = sum(group.first.severity is Severity.MUST for group in groups)
    line = f"{must} must be mended, {len(groups) - must} to look at"
    return line + (f" ({len(findings)} findings in all)" if len(findings) > len(groups) else "")


def as_data(findings: Sequence[Finding]) -> dict[str, Any]:
    """The findings for ``json.dumps``, with how many there are of each severity."""
    counted = Counter(finding.severity.value for finding in findings)
    return {
        "must": counted["must"],
        "look": counted["look"],
        "findings": [finding.as_data() for finding in findings],
    }
