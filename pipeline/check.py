"""A season's finished sets checked: what is found, as rows for people and as data for programs."""

from __future__ import annotations

from collections import Counter
from collections.abc import Sequence
from functools import partial
from pathlib import Path
from typing import Any

from pipeline.plan import plan_season
from pipeline.plan.model import Side
from pipeline.proof.findings import KINDS, Finding, Severity, findings_of
from pipeline.season import Step, built_folders
from pipeline.workers import in_order


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


def where_found(finding: Finding) -> str:
    """Where a finding is, as a person looks for it: leaves count from 1.

    >>> where_found(Finding("hairline", "march/running/a5-a4-de", "", 2, 1, 1, Side.RECTO))
    'sheet 2 side 1, leaf 2 front'
    """
    parts = []
    if finding.sheet is not None:
        side = f" side {finding.side}" if finding.side is not None else ""
        parts.append(f"sheet {finding.sheet}{side}")
    if finding.leaf is not None:
        faces = {Side.RECTO: " front", Side.VERSO: " back", None: ""}
        parts.append(f"leaf {finding.leaf + 1}{faces[finding.face]}")
    if finding.also:
        count = len(finding.also)
        parts.append(f"and {count} more {'page' if count == 1 else 'pages'}")
    return ", ".join(parts)


def as_rows(findings: Sequence[Finding]) -> list[tuple[str, ...]]:
    """A row for each finding: severity, set, where, at (mm from the left and the top), what, do."""
    return [
        (
            finding.severity.value,
            finding.set,
            where_found(finding),
            f"{finding.place.x:.0f}, {finding.place.y:.0f}" if finding.place else "",
            f"{KINDS[finding.code].title}: {finding.message}",
            finding.what_to_do,
        )
        for finding in findings
    ]


def as_data(findings: Sequence[Finding]) -> dict[str, Any]:
    """The findings for ``json.dumps``, with how many there are of each severity."""
    counted = Counter(finding.severity.value for finding in findings)
    return {
        "must": counted["must"],
        "look": counted["look"],
        "findings": [finding.as_data() for finding in findings],
    }
