"""A finding: something about a finished set that a maker must mend, or should look at."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass, replace
from enum import StrEnum
from typing import Any

from pipeline.base.geometry import Rect
from pipeline.plan.model import Side
from pipeline.proof.findings.kinds import KINDS
from pipeline.proof.read.contents import SheetSide


class Severity(StrEnum):
    """What a finding asks for: mending before anything is published, or a look."""

    MUST = "must"
    LOOK = "look"


@dataclass(frozen=True)
class Finding:
    """One thing found in a finished set.

    ``code`` names what sort of thing it is (see ``kinds``), ``set`` is the set's folder below the
    season's. ``sheet`` and ``side`` count from 1 as printed on the sheet, ``leaf`` counts from 0
    as in contents.json; ``place`` is in mm from the top left of the leaf's flat area on ``face``,
    or of the sheet's side where there is no leaf. All of them are None for what concerns a whole
    file. ``also`` are the further faces that have the same at the same place. ``template`` is the
    file that the page is drawn in, with its size's folder, where there is one; ``remedy`` says
    what to do where the kind alone does not.
    """

    code: str
    set: str
    message: str
    sheet: int | None = None
    side: SheetSide | None = None
    leaf: int | None = None
    face: Side | None = None
    place: Rect | None = None
    also: tuple[tuple[int, Side], ...] = ()
    template: str = ""
    remedy: str = ""

    @property
    def severity(self) -> Severity:
        """Whether it must be mended."""
        return Severity.MUST if KINDS[self.code].must else Severity.LOOK

    @property
    def what_to_do(self) -> str:
        """The way out, in one line."""
        return self.remedy or KINDS[self.code].remedy

    def as_data(self) -> dict[str, Any]:
        """For JSON: every field, severity and remedy too; the place as x, y, width, height."""
        return {
            "code": self.code,
            "severity": self.severity.value,
            "set": self.set,
            "sheet": self.sheet,
            "side": self.side,
            "leaf": self.leaf,
            "face": self.face.value if self.face else None,
            "template": self.template or None,
            "place_mm": [round(value, 2) for value in self.place] if self.place else None,
            "also": [[leaf, face.value] for leaf, face in self.also],
            "message": self.message,
            "what_to_do": self.what_to_do,
        }


def gathered(findings: Iterable[Finding]) -> tuple[Finding, ...]:
    """Findings that say the same of the same place on several faces made one, gravest first.

    A fault of a template is on all its pages; the first is named, and the rest are in ``also``.
    """
    first: dict[tuple[object, ...], Finding] = {}
    for finding in findings:
        place = tuple(round(value) for value in finding.place) if finding.place else None
        on_page = finding.leaf is not None and finding.face is not None and place is not None
        key = (
            finding.code,
            finding.message,
            place,
            finding.face,
            None if on_page else (finding.sheet, finding.side, finding.leaf),
        )
        known = first.get(key)
        if known is None:
            first[key] = finding
        elif on_page and finding.leaf is not None and finding.face is not None:
            further = (finding.leaf, finding.face)
            if further != (known.leaf, known.face) and further not in known.also:
                first[key] = replace(known, also=(*known.also, further))
    return tuple(sorted(first.values(), key=lambda finding: finding.severity is Severity.LOOK))
