"""What is in an imposed set, as data: written beside its files for proofing and publishing."""

from __future__ import annotations

import datetime as dt
import hashlib
from collections.abc import Mapping, Sequence
from typing import Any

from pipeline.base.geometry import Rect
from pipeline.impose.printer import PrinterSettings
from pipeline.impose.sheet import Placement, Sheet
from pipeline.plan.model import Page, Paper, SetPlan


def contents(
    season: str,
    plan: SetPlan,
    paper: Paper,
    printer: PrinterSettings,
    sheets: Sequence[Sheet],
    files: Mapping[str, bytes],
) -> dict[str, Any]:
    """The table of contents of one imposed set, ready for ``json.dumps``."""
    binder, holes = plan.binder, plan.binder.holes
    return {
        "season": season,
        "period": {
            "name": plan.period.name,
            "title": plan.period.title,
            "first": _iso(plan.period.first),
            "last": _iso(plan.period.last),
        },
        "set": {"name": plan.name, "title": plan.title},
        "language": plan.language,
        "binding": plan.binding.value,
        "binder": {
            "name": binder.name,
            "width_mm": binder.width_mm,
            "height_mm": binder.height_mm,
            "holes": {
                "centres_mm": list(holes.centres_mm),
                "edge_mm": holes.edge_mm,
                "diameter_mm": holes.diameter_mm,
            },
        },
        "paper": {
            "name": paper.name,
            "width_mm": paper.width_mm,
            "height_mm": paper.height_mm,
            "media": paper.media,
        },
        "flip": printer.flip.value,
        "reverse_side_2": printer.reverse_side_2,
        "files": [
            {
                "name": name,
                "sha256": hashlib.sha256(data).hexdigest(),
                "pages": len(sheets) * (2 if name.startswith("both") else 1),
                "bytes": len(data),
            }
            for name, data in files.items()
        ],
        "leaves": [
            {"recto": _page(leaf.recto), "verso": _page(leaf.verso), "flap_mm": leaf.flap_mm}
            for leaf in plan.leaves
        ],
        "sheets": [
            {
                "number": sheet.number,
                "width_mm": sheet.width_mm,
                "height_mm": sheet.height_mm,
                "side_1": [_placement(placed) for placed in sheet.side_1],
                "side_2": [_placement(placed) for placed in sheet.side_2],
            }
            for sheet in sheets
        ],
    }


def _page(page: Page | None) -> dict[str, Any] | None:
    if page is None:
        return None
    return {
        "label": page.label,
        "template": page.template,
        "flap_mm": page.flap_mm,
        "dates": [date.isoformat() for date in page.facts.dates],
    }


def _placement(placed: Placement) -> dict[str, Any]:
    return {
        "leaf": placed.leaf,
        "face": placed.face.value,
        "flat": _rounded(placed.flat),
        "trim": _rounded(placed.trim),
        "turned": placed.turned,
    }


def _rounded(rect: Rect) -> list[float]:
    return [round(value, 6) + 0.0 for value in rect]


def _iso(date: dt.date | None) -> str | None:
    return date.isoformat() if date else None
