"""A leaf's own geometry: where its page, flap, fold and holes lie on either face.

Coordinates are millimetres from the top left of the opened leaf, on the face one looks at. All
is said once, for a leaf punched on the left; a face punched on the right is its mirror image.
"""

from __future__ import annotations

import itertools
import math
from collections.abc import Iterable, Iterator
from dataclasses import dataclass, replace
from typing import NamedTuple

from pipeline.base.errors import UserError
from pipeline.base.geometry import Rect
from pipeline.plan.model import (
    SAFE_MM,
    Binder,
    Binding,
    Edge,
    Leaf,
    Paper,
    SetPlan,
    Side,
    Tab,
    tab_size,
)

RING_CLEARANCE_MM = 2.0
"""Air between the rim of a hole and the free edge of a closed flap (common practice)."""

TAB_CORNER_MM = 2.5
"""How much the two corners of a tab are cut off, along both edges: less wear (by eye)."""

TAB_SHORT_MM = 0.8
"""How far the lines of a tab's outline stop short of its corners (by eye)."""


class Hole(NamedTuple):
    """A punched hole: its centre and its diameter, mm."""

    x: float
    y: float
    diameter: float


@dataclass(frozen=True)
class LeafFace:
    """One face of an opened leaf; every measure in mm.

    ``flat`` is the whole leaf with its flap open, ``trim`` the closed page, ``bleed`` what may be
    printed past the cut, ``safe`` what neither knife nor punch touches. ``flap``, ``flap_safe``
    and ``fold_x`` are None on a leaf without a flap. ``punch_zone`` runs along the binding edge.
    ``tab`` is the rectangle around a tab, and ``outline`` the cut along the edge that tabs of its
    set stand out from, corner by corner; () where that edge is the leaf's own.
    """

    flat: Rect
    trim: Rect
    bleed: Rect
    safe: Rect
    punch_zone: Rect
    holes: tuple[Hole, ...]
    binding_x: float
    flap: Rect | None = None
    flap_safe: Rect | None = None
    fold_x: float | None = None
    tab: Rect | None = None
    outline: tuple[tuple[float, float], ...] = ()

    @property
    def opened(self) -> Rect:
        """The page and its flap, without the strip that tabs stand in."""
        return Rect.union((self.trim, self.flap)) if self.flap else self.trim

    @property
    def outline_lines(self) -> tuple[tuple[tuple[float, float], tuple[float, float]], ...]:
        """The lines that are drawn of the outline: each stops short of its corners, so that none
        is left on the leaf that is cut there."""
        found = []
        for (x, y), (right, bottom) in itertools.pairwise(self.outline):
            long = math.dist((x, y), (right, bottom))
            short = min(TAB_SHORT_MM, long / 4)
            dx, dy = (right - x) * short / long, (bottom - y) * short / long
            found.append(((x + dx, y + dy), (right - dx, bottom - dy)))
        return tuple(found)

    @property
    def corners(self) -> tuple[tuple[float, float], ...]:
        """The leaf once it is cut, corner by corner."""
        flat, run = self.flat, self.outline
        if not run:
            return ((0, 0), (flat.width, 0), (flat.width, flat.height), (0, flat.height))
        if run[0][0] == run[-1][0]:  # along the fore edge
            return (*run, (self.binding_x, run[-1][1]), (self.binding_x, run[0][1]))
        return (*run, (run[-1][0], flat.height), (run[0][0], flat.height))

    def mirrored(self) -> LeafFace:
        """The same leaf seen from behind; mirrored twice is this face again."""
        span = self.flat.width
        rects = {name: at.mirrored_x(span) for name, at in vars(self).items() if type(at) is Rect}
        return replace(
            self,
            **rects,
            holes=tuple(Hole(span - hole.x, hole.y, hole.diameter) for hole in self.holes),
            binding_x=span - self.binding_x,
            fold_x=None if self.fold_x is None else span - self.fold_x,
            outline=tuple((span - x, y) for x, y in self.outline),
        )


@dataclass(frozen=True)
class LeafGeometry:
    """A leaf of a binder size, with a flap ``flap_mm`` wide (0 for none), and with a ``tab``, which
    stands on the head where there is a flap. Nothing of the strip for tabs is left above a flap.

    Raises UserError, with the limit and what sets it, when the flap would lie on the rings or a
    measure is absurd.

    >>> from pipeline.plan.model import Holes
    >>> a5 = Binder("a5", "A5", 148, 210, Holes((30, 180), 6, 5.5), "ISO 216")
    >>> leaf = LeafGeometry(a5, flap_mm=42)
    >>> leaf.face(Side.RECTO).trim
    Rect(x=0, y=0, width=148, height=210)
    >>> leaf.face(Side.VERSO).trim
    Rect(x=42, y=0, width=148, height=210)
    """

    binder: Binder
    flap_mm: float = 0.0
    binding: Binding = Binding.LEFT
    bleed_mm: float = 0.0
    safe_mm: float = SAFE_MM
    clearance_mm: float = RING_CLEARANCE_MM
    tab: Tab | None = None

    def __post_init__(self) -> None:
        check_binder(self.binder)
        for name in ("flap_mm", "bleed_mm", "safe_mm", "clearance_mm"):
            value = getattr(self, name)
            if not (math.isfinite(value) and value >= 0):
                raise UserError(
                    f"binder {self.binder.name!r}", f"{name} = {value:g}", "give 0 or more"
                )
        limit = widest_closed_flap(self.binder, self.clearance_mm)
        if self.flap_mm > limit + 1e-9:
            raise UserError(
                f"binder {self.binder.name!r}",
                f"a flap of {self.flap_mm:g} mm would lie on the rings when it is closed",
                f"make it {limit:.1f} mm at most (page width less holes and "
                f"{self.clearance_mm:g} mm of air)",
            )
        if self.tab and self.tab.edge is Edge.FORE and self.flap_mm:
            raise UserError(
                f"binder {self.binder.name!r}",
                "a leaf has a flap, and a tab where that folds",
                "put the tab on the head, or take one of the two away",
            )

    @property
    def width_mm(self) -> float:
        """The width of the opened leaf, with the strip that a tab stands in."""
        return self.binder.width_mm + self.flap_mm + tab_size(self.tab)[0]

    @property
    def height_mm(self) -> float:
        """The height of the leaf, with the strip that a tab stands in."""
        return self.binder.height_mm + tab_size(self.tab)[1]

    def face(self, side: Side) -> LeafFace:
        """The face one looks at: recto or verso."""
        width, height, flap = self.binder.width_mm, self.binder.height_mm, self.flap_mm
        holes, safe = self.binder.holes, self.safe_mm
        flat = Rect(0, 0, self.width_mm, self.height_mm)
        depth = punch_depth(self.binder, self.clearance_mm)
        inner = max(depth, safe)
        top = tab_size(self.tab)[1]
        flap_safe = Rect(width + safe, top + safe, flap - 2 * safe, height - 2 * safe)
        face = LeafFace(
            flat=flat,
            trim=Rect(0, top, width, height),
            bleed=flat.grown(self.bleed_mm),
            safe=Rect(inner, top + safe, width - inner - safe, height - 2 * safe),
            punch_zone=Rect(0, top, depth, height),
            holes=tuple(Hole(holes.edge_mm, top + y, holes.diameter_mm) for y in holes.centres_mm),
            binding_x=0.0,
            tab=self.tab.area(width, height) if self.tab else None,
            outline=tuple(_outline(self.tab, width, height, flap)) if self.tab else (),
            flap=Rect(width, top, flap, height) if flap else None,
            flap_safe=flap_safe if flap_safe.width > 0 else None,
            fold_x=width if flap else None,
        )
        right_punched = (side is Side.VERSO) is (self.binding is Binding.LEFT)
        return face.mirrored() if right_punched else face

    def page(self, side: Side, flap_mm: float) -> Rect:
        """Where a page with a flap of ``flap_mm`` (none is wider than the leaf's) lies on a face.

        It adjoins the binding edge; what the leaf has beyond it stays blank.
        """
        if self.tab and self.tab.edge is Edge.FORE:
            return self.face(side).flat
        trim = self.face(side).trim
        width = trim.width + flap_mm
        x = 0.0 if trim.x == 0 else self.width_mm - width
        return Rect(x, 0.0, width, self.height_mm)


def geometry_of(plan: SetPlan, leaf: Leaf, bleed_mm: float = 0.0) -> LeafGeometry:
    """The geometry of a planned leaf. Raises UserError as ``LeafGeometry`` does."""
    return LeafGeometry(plan.binder, leaf.flap_mm, plan.binding, bleed_mm, tab=leaf.tab)


def _outline(tab: Tab, width: float, height: float, flap: float) -> Iterator[tuple[float, float]]:
    """The cut along a tab's edge on a recto bound on the left, from its first end to its last.

    Out to the tab, aslant past its two corners, back again, and along the ``flap``. The page is
    ``width`` × ``height``.
    """
    fore = tab.edge is Edge.FORE
    whole = height if fore else width
    step = whole / tab.of
    first, last = (tab.at - 1) * step, tab.at * step
    corner = min(TAB_CORNER_MM, tab.reach_mm / 3, step / 4)
    out = tab.reach_mm - corner
    run = [(0.0, 0.0), (whole + flap, 0.0)]
    if tab.at:
        rise = [(first, 0.0), (first, out), (first + corner, tab.reach_mm)]
        fall = [(last - corner, tab.reach_mm), (last, out), (last, 0.0)]
        run[1:1] = [*rise, *fall]
    for _, alike in itertools.groupby(run, lambda one: (round(one[0], 6), one[1])):
        along, beyond = next(alike)
        yield (width + beyond, along) if fore else (along, tab.reach_mm - beyond)


def punch_depth(binder: Binder, clearance_mm: float = RING_CLEARANCE_MM) -> float:
    """How deep holes and their clearance reach in from the binding edge, e + r + c, mm."""
    holes = binder.holes
    if not holes.centres_mm:
        return 0.0
    return holes.edge_mm + holes.diameter_mm / 2 + clearance_mm


def widest_closed_flap(binder: Binder, clearance_mm: float = RING_CLEARANCE_MM) -> float:
    """The widest flap that, closed, clears the rings: F ≤ W − (e + r + c), mm."""
    return max(0.0, binder.width_mm - punch_depth(binder, clearance_mm))


def check_binder(binder: Binder) -> None:
    """Raises UserError for a size no leaf has, or holes outside the leaf."""
    where, holes = f"binder {binder.name!r}", binder.holes
    _check_sizes(where, (binder.width_mm, binder.height_mm))
    if not holes.centres_mm:
        return
    radius = holes.diameter_mm / 2
    if not radius > 0:
        raise UserError(where, f"holes of {holes.diameter_mm:g} mm", "give their diameter in mm")
    if not radius <= holes.edge_mm <= binder.width_mm - radius:
        raise UserError(
            where,
            f"holes {holes.edge_mm:g} mm from the edge do not lie on the leaf",
            f"give {radius:g} to {binder.width_mm - radius:g} mm",
        )
    for centre in holes.centres_mm:
        if not radius <= centre <= binder.height_mm - radius:
            raise UserError(
                where,
                f"a hole {centre:g} mm from the top does not lie on the leaf",
                f"give {radius:g} to {binder.height_mm - radius:g} mm",
            )


def check_paper(paper: Paper) -> None:
    """Raises UserError for a size no paper has, or one that is not given upright."""
    where = f"paper {paper.name!r}"
    _check_sizes(where, (paper.width_mm, paper.height_mm))
    if paper.width_mm > paper.height_mm:
        raise UserError(
            where,
            f"{paper.width_mm:g} × {paper.height_mm:g} mm lies on its side",
            "give the shorter edge as its width; leaves are turned on it as need be",
        )


def _check_sizes(where: str, sizes: Iterable[float]) -> None:
    for size in sizes:
        if not (math.isfinite(size) and 20 <= size <= 2000):
            raise UserError(where, f"{size:g} mm can't be an edge of paper", "give 20 to 2000 mm")
