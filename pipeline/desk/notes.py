"""What the proof found in a set, in the few words that are pinned on a page."""

from __future__ import annotations

import importlib
from dataclasses import dataclass
from pathlib import Path

from pipeline.geometry import Rect


@dataclass(frozen=True)
class Note:
    """A finding; ``place`` is in mm from the top left of the leaf's flat area, upright."""

    severity: str
    message: str
    what_to_do: str
    leaf: int | None
    face: str | None
    place: Rect | None


def notes_on(set_folder: Path) -> tuple[Note, ...]:
    """All findings in a built set. Raises ``UserError`` when it is not a whole set."""
    try:
        findings = importlib.import_module("pipeline.proof.findings").findings_of(set_folder)
    except ModuleNotFoundError:
        return ()
    return tuple(
        Note(
            str(one.severity),
            one.message,
            one.what_to_do,
            one.leaf,
            str(one.face) if one.face is not None else None,
            one.place,
        )
        for one in findings
    )
