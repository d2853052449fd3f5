"""Is the page as large as its binder and its flap ask for?"""

from __future__ import annotations

from typing import NamedTuple

from pipeline.base.errors import UserError
from pipeline.base.geometry import MM_PER_INCH
from pipeline.base.nearest import did_you_mean
from pipeline.drawings.checks.drawing import Drawing
from pipeline.drawings.checks.finding import Severity
from pipeline.impose.leaf import LeafGeometry

_NEAR_MM = 0.25
"""Editors round sizes in points to two decimals, some to whole ones."""


def check_size(drawing: Drawing) -> None:
    """Holds the page's size against the binder its folder is named after, and its flap."""
    place, page = drawing.place, drawing.template
    if place.binder is None:
        folder = place.path.resolve().parent.name
        drawing.say(
            Severity.LOOK,
            "size",
            None,
            f"lies in a folder called {folder!r}, which is no binder size, so its size and its "
            "margins are not checked",
            f"name the folder after its size; {did_you_mean(folder, place.sizes.binders)}",
        )
        return
    try:
        LeafGeometry(place.binder, drawing.flap_mm)
    except UserError as problem:
        drawing.say(Severity.MEND, "size", None, problem.what, problem.remedy)
        return
    if drawing.fits_binder:
        return
    flap = f" with its {drawing.flap_mm:g} mm flap open" if drawing.flap_mm else ""
    width, height = place.binder.width_mm + drawing.flap_mm, place.binder.height_mm
    meant = meant_size(drawing)
    why = f" (it counts {meant.per_inch:g} to the inch instead of 96)" if meant else ""
    drawing.say(
        Severity.MEND,
        "size",
        drawing.template.root,
        f"is {page.width_mm:.1f} × {page.height_mm:.1f} mm{why}, but {place.binder.title}{flap} is "
        f"{width:g} × {height:g} mm",
        "set the document's size to that, or the flap's width in collection.toml",
        mendable=meant is not None,
    )


class Meant(NamedTuple):
    """A page's size in mm as it was meant, and what its editor counts to the inch."""

    width_mm: float
    height_mm: float
    per_inch: float


def meant_size(drawing: Drawing) -> Meant | None:
    """The right size of a page that is too small only because its editor's unit is another.

    Some editors write points as if they were pixels, of which SVG has 96 to the inch.
    """
    place, page = drawing.place, drawing.template
    if place.binder is None or drawing.fits_binder or not drawing.raw.get("viewBox"):
        return None
    width, height = place.binder.width_mm + drawing.flap_mm, place.binder.height_mm
    for per_inch in (72, 90, MM_PER_INCH):  # points, an old pixel, millimetres without a unit
        scale = 96 / per_inch
        if (
            abs(page.width_mm * scale - width) <= _NEAR_MM
            and abs(page.height_mm * scale - height) <= _NEAR_MM
        ):
            return Meant(width, height, per_inch)
    return None
