"""Is the page as large as its binder and its flap ask for?"""

from __future__ import annotations

from pipeline.errors import UserError
from pipeline.impose.leaf import LeafGeometry
from pipeline.lint.drawing import Drawing
from pipeline.lint.finding import Severity
from pipeline.plan.nearest import did_you_mean


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
    if not drawing.fits_binder:
        flap = f" with its {drawing.flap_mm:g} mm flap open" if drawing.flap_mm else ""
        width, height = place.binder.width_mm + drawing.flap_mm, place.binder.height_mm
        drawing.say(
            Severity.MEND,
            "size",
            drawing.template.root,
            f"is {page.width_mm:.1f} × {page.height_mm:.1f} mm, but {place.binder.title}{flap} is "
            f"{width:g} × {height:g} mm",
            "set the document's size to that, or the flap's width in collection.toml",
        )
