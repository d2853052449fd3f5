"""A drawing as its rules look at it: in its plain form, with its place and its leaf."""

from __future__ import annotations

import functools
from collections.abc import Iterator
from dataclasses import dataclass, field
from typing import NamedTuple

from lxml import etree

from pipeline.base.errors import UserError
from pipeline.drawings.checks.finding import Finding, Severity
from pipeline.drawings.checks.known import guessed_kind
from pipeline.drawings.checks.place import Place
from pipeline.drawings.checks.source import Source, number_of
from pipeline.fill.template import Template
from pipeline.impose.leaf import Face, LeafGeometry
from pipeline.plan.model import Side
from pipeline.svg.transform import Matrix
from pipeline.svg.tree import SVG, inherited, lineage, names, page_matrix
from pipeline.text.fonts import FontBook

SHAPES = frozenset(
    SVG + name for name in ("path", "rect", "circle", "ellipse", "line", "polyline", "polygon")
)
_UNPAINTED = frozenset(
    SVG + name
    for name in (
        "defs", "symbol", "clipPath", "mask", "marker", "pattern", "linearGradient",
        "radialGradient", "filter", "metadata",
    )
)  # fmt: skip


class Item(NamedTuple):
    """Something that is painted, and the matrix from its own units to mm on the page."""

    element: etree._Element
    matrix: Matrix


@dataclass(frozen=True)
class Drawing:
    """One template under the eyes of lint.

    ``raw`` is its tree as the editor saved it, ``template`` its plain form; both carry the
    elements' numbers. ``faces`` are the leaf's faces that the page can be on: one where its side
    is known, both where it is not, none where its size is not known.
    """

    place: Place
    source: Source
    raw: etree._Element
    template: Template
    book: FontBook
    findings: list[Finding] = field(default_factory=list)

    def say(
        self,
        severity: Severity,
        rule: str,
        element: etree._Element | None,
        message: str,
        remedy: str,
        *,
        count: int = 1,
        mendable: bool = False,
    ) -> None:
        """Adds a finding about an element, or about the whole page (None)."""
        number = number_of(element) if element is not None else None
        self.findings.append(
            Finding(
                severity,
                rule,
                self.place.path,
                self.source.line(number) if number is not None else 0,
                called(element) if element is not None else "",
                message,
                remedy,
                count,
                mendable,
            )
        )

    def say_of_all(
        self,
        severity: Severity,
        rule: str,
        elements: list[etree._Element],
        message: str,
        remedy: str,
        *,
        mendable: bool = False,
    ) -> None:
        """Adds one finding for many elements alike; the first is named, the others counted."""
        if elements:
            others = len(elements) - 1
            more = f" (and {others} more)" if others else ""
            self.say(
                severity,
                rule,
                elements[0],
                message + more,
                remedy,
                count=len(elements),
                mendable=mendable,
            )

    @functools.cached_property
    def named(self) -> tuple[tuple[etree._Element, tuple[str, ...]], ...]:
        """Elements of the plain form that go by names, in the order they are painted."""
        found = ((element, names(element)) for element in self.template.root.iter())
        return tuple((element, called_so) for element, called_so in found if called_so)

    @functools.cached_property
    def by_number(self) -> dict[int, etree._Element]:
        """Elements as the editor saved them, by their place among all of the file's."""
        return dict(enumerate(self.raw.iter()))

    @functools.cached_property
    def kinds(self) -> tuple[str, ...]:
        """What kinds of pages are made of it, by the seasons, or else by the keys on it."""
        used = dict.fromkeys(use.kind for use in self.place.uses)
        if used:
            return tuple(used)
        return (guessed_kind([name for _, called_so in self.named for name in called_so]),)

    @functools.cached_property
    def flap_mm(self) -> float:
        """The width of its flap: what the collection says, else what its width leaves."""
        place = self.place
        if place.binder is None:
            return 0.0
        if place.collection is not None:
            return place.collection.flap_mm(place.binder.name, place.stem)
        return max(0.0, self.template.width_mm - place.binder.width_mm)

    @functools.cached_property
    def faces(self) -> tuple[Face, ...]:
        """The faces of a leaf it can be drawn for."""
        binder = self.place.binder
        if binder is None or not self.fits_binder:
            return ()
        try:
            leaf = LeafGeometry(binder, self.flap_mm)
        except UserError:
            return ()
        return tuple(leaf.face(side) for side in self.sides)

    @functools.cached_property
    def sides(self) -> tuple[Side, ...]:
        """The sides it is for: by the seasons, else by its name, else either."""
        used = tuple(dict.fromkeys(use.side for use in self.place.uses))
        if used:
            return used
        tail = self.place.stem.rpartition("-")[2]
        return (Side(tail),) if tail in tuple(Side) else tuple(Side)

    @property
    def side_is_known(self) -> bool:
        """Whether the page is surely on each of its ``sides``, and not on one or the other."""
        return bool(self.place.uses) or len(self.sides) == 1

    @property
    def fits_binder(self) -> bool:
        """Whether the page is as large as its binder and flap ask for."""
        binder, page = self.place.binder, self.template
        return (
            binder is not None
            and abs(page.width_mm - binder.width_mm - self.flap_mm) <= 0.1
            and abs(page.height_mm - binder.height_mm) <= 0.1
        )

    @functools.cached_property
    def painted(self) -> tuple[Item, ...]:
        """Shapes, texts and pictures that leave ink, with their places on the page."""
        return tuple(_painted(self.template.root))


def _painted(parent: etree._Element) -> Iterator[Item]:
    for child in parent:
        if child.tag in SHAPES or child.tag in (SVG + "text", SVG + "image"):
            yield Item(child, page_matrix(child))
        elif child.tag not in _UNPAINTED:
            yield from _painted(child)


def called(element: etree._Element) -> str:
    """The id of an element, or of the nearest around it that has one; "" at the top."""
    for step in lineage(element):
        identifier = step.get("id")
        if identifier and step.getparent() is not None:
            return identifier
    return ""


def property_of(element: etree._Element, name: str) -> str:
    """A property's value on an element, its own or inherited; "" where none is set."""
    return (inherited(element, name) or "").strip()
