"""What a template was drawn for: the binder size, the side of the leaf, the flap."""

from __future__ import annotations

import re
from dataclasses import dataclass

from lxml import etree

from pipeline.base.errors import UserError
from pipeline.drawings.resize.drawing import Drawing, guides_of
from pipeline.impose.leaf import Face, LeafGeometry
from pipeline.plan.model import Binder, Side
from pipeline.plan.sizes import Sizes
from pipeline.svg.tree import SVG
from pipeline.text.style import length

_CLOSE_MM = 0.1
"""A page is of a size when it is no further from it, as filling takes it."""

_VERSO = re.compile(r"(?<![a-z])(?:verso|left)(?![a-z])")
_RECTO = re.compile(r"(?<![a-z])(?:recto|right)(?![a-z])")


@dataclass(frozen=True)
class Source:
    """A binder size, a side and a flap's width (mm, 0 for none)."""

    binder: Binder
    side: Side
    flap_mm: float

    @property
    def face(self) -> Face:
        """The geometry of that page; raises UserError where the flap would lie on the rings."""
        return LeafGeometry(self.binder, self.flap_mm).face(self.side)

    def check(self) -> None:
        """Raises UserError for a page that cannot be."""
        LeafGeometry(self.binder, self.flap_mm)


def source_of(
    drawing: Drawing, stem: str, folder: str, sizes: Sizes, side: Side | None = None
) -> Source:
    """What a drawing was made for.

    The size is that of the ``folder`` it is in, else the one that is as high and no wider. The
    side is told by the holes in its guides layer, else by its name. Raises UserError when there
    is no such size, or no telling which side it is.
    """
    binder = _binder(drawing, folder, sizes)
    flap = max(0.0, round(drawing.width_mm - binder.width_mm, 2))
    flap = 0.0 if flap < _CLOSE_MM else flap
    return Source(binder, side or _side(drawing, stem), flap)


def _binder(drawing: Drawing, folder: str, sizes: Sizes) -> Binder:
    def fits(binder: Binder) -> bool:
        return (
            abs(binder.height_mm - drawing.height_mm) <= _CLOSE_MM
            and binder.width_mm <= drawing.width_mm + _CLOSE_MM
        )

    if folder in sizes.binders and fits(sizes.binders[folder]):
        return sizes.binders[folder]
    fitting = [binder for binder in sizes.binders.values() if fits(binder)]
    if not fitting:
        raise UserError(
            drawing.name,
            f"no binder size is {drawing.width_mm:.1f} × {drawing.height_mm:.1f} mm, with a flap "
            "or without",
            "set the document's size to its binder's, or add the size to sizes.toml",
        )
    return max(fitting, key=lambda binder: binder.width_mm)


def _side(drawing: Drawing, stem: str) -> Side:
    holes = _hole_side(drawing)
    if holes is not None:
        return holes
    name = stem.lower()
    if bool(_VERSO.search(name)) != bool(_RECTO.search(name)):
        return Side.VERSO if _VERSO.search(name) else Side.RECTO
    raise UserError(
        drawing.name,
        "there is no telling which side of the leaf this is for",
        "say --side recto or --side verso, or draw its holes in a layer called 'guides'",
    )


def _hole_side(drawing: Drawing) -> Side | None:
    guides = guides_of(drawing)
    if guides is None:
        return None
    centres = [_centre(drawing, hole) for hole in guides.iter(SVG + "circle", SVG + "ellipse")]
    if not centres:
        return None
    middle = sum(centres) / len(centres)
    return Side.RECTO if middle < drawing.width_mm / 2 else Side.VERSO


def _centre(drawing: Drawing, hole: etree._Element) -> float:
    x, y = length(hole.get("cx")), length(hole.get("cy"))
    return drawing.matrix(hole).point(x, y)[0]
