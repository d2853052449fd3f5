"""A template's file as the illustrator keeps it, and the page it was drawn for."""

from __future__ import annotations

import re
from pathlib import Path
from typing import NamedTuple

from lxml import etree

from pipeline.base.errors import UserError
from pipeline.base.geometry import MM_PER_INCH, Rect
from pipeline.fill.template import TemplateFile, parsed_template, tree_of
from pipeline.impose.leaf import LeafFace, LeafGeometry
from pipeline.plan.model import Binder, Side
from pipeline.plan.sizes import Sizes
from pipeline.svg.transform import Aspect, Matrix, fitted, view_box
from pipeline.svg.tree import DEFINITIONS, SVG, names, page_matrix
from pipeline.text.style import length

_INKSCAPE = "{http://www.inkscape.org/namespaces/inkscape}"
_PX = MM_PER_INCH / 96
_PLAIN_TRANSFORM = re.compile(
    r"\s*(?:(?:matrix|translate|scale|rotate|skewX|skewY)\s*\([-+\d.eE\s,]*\)[\s,]*)*"
)
_NUMBER = "data-number-while-resizing"
_NOT_DRAWN = DEFINITIONS | {SVG + name for name in ("metadata", "title", "desc", "style", "script")}
_CLOSE_MM = 0.1
"""A page this close to a size is of that size, as filling has it."""
_VERSO = re.compile(r"(?<![a-z])(?:verso|left)(?![a-z])")
_RECTO = re.compile(r"(?<![a-z])(?:recto|right)(?![a-z])")


class SavedDrawing:
    """The tree that is changed (``root``) and the plain one that is read (``plain``).

    Elements are handed about as those of the plain tree, whose styles are attributes; ``raw``
    gives the element that was saved. ``width_mm`` and ``height_mm`` are the page's, without the
    ``bleed_mm`` it is drawn larger by all round.
    """

    bleed_mm = 0.0

    def __init__(self, name: str, data: bytes) -> None:
        self.root = tree_of(name, data, bare=False)
        self.name = name
        self._raw = list(self.root.iter("*"))
        for place, element in enumerate(self._raw):
            element.set(_NUMBER, str(place))
        self.plain = parsed_template(TemplateFile(Path(name), etree.tostring(self.root)))
        for element in self._raw:
            del element.attrib[_NUMBER]
        self._whole = self._page()
        self._refuse_css_transforms()
        self._matrices: dict[etree._Element, Matrix] = {}

    def _page(self) -> Matrix:
        """From the root's user units to millimetres on the page, as the viewport lays it."""
        root = self.plain
        box = view_box(root.get("viewBox"))
        whole = (box.width, box.height) if box else (0.0, 0.0)
        width = length(root.get("width"), whole=whole[0], default=whole[0])
        height = length(root.get("height"), whole=whole[1], default=whole[1])
        if width <= 0 or height <= 0:
            remedy = "set the document's size in millimetres"
            raise UserError(self.name, "the page has no size", remedy)
        self.width_mm, self.height_mm = width * _PX, height * _PX
        page = Rect(0, 0, self.width_mm, self.height_mm)
        aspect = Aspect.of(root.get("preserveAspectRatio"))
        return fitted(box or Rect(0, 0, width, height), page, aspect)

    def _refuse_css_transforms(self) -> None:
        for element in self.plain.iter():
            if not is_drawn(element) or element.get("transform") is None:
                continue
            plain = _PLAIN_TRANSFORM.fullmatch(element.get("transform", ""))
            if plain is None or element.get("transform-origin") is not None:
                raise UserError(
                    self.name,
                    "its transform is written as CSS",
                    "turn the object into a path, or write the transform as an SVG attribute",
                    element=element.get("id") or str(element.tag).removeprefix(SVG),
                )

    def raw(self, element: etree._Element) -> etree._Element:
        """The element as it was saved, of one in the plain tree."""
        return self._raw[int(element.get(_NUMBER, ""))]

    def matrix(self, element: etree._Element) -> Matrix:
        """From an element's own coordinates to millimetres on the page."""
        if element not in self._matrices:
            self._matrices[element] = self._whole @ page_matrix(element)
        return self._matrices[element]

    def outer_matrix(self, element: etree._Element) -> Matrix:
        """From the coordinates its ``transform`` is written in to millimetres on the page."""
        parent = element.getparent()
        return self._whole if parent is None else self.matrix(parent)

    def take_bleed(self, bleed_mm: float) -> None:
        """Counts from where the page is trimmed, so many mm inside the drawing's edges."""
        self.bleed_mm = bleed_mm
        self.width_mm -= 2 * bleed_mm
        self.height_mm -= 2 * bleed_mm
        self._whole = Matrix(1, 0, 0, 1, -bleed_mm, -bleed_mm) @ self._whole
        self._matrices.clear()

    def set_size(self, width_mm: float, height_mm: float) -> None:
        """Makes the page so large, and its bleed what it was; units and origin stay."""
        whole = Rect(0, 0, width_mm, height_mm).grown(self.bleed_mm)
        box = self._whole.inverse().bounds(whole)
        self.root.set("width", f"{whole.width:g}mm")
        self.root.set("height", f"{whole.height:g}mm")
        self.root.set("viewBox", " ".join(f"{round(value, 6) or 0.0:.9g}" for value in box))

    def emptied_guides(self) -> tuple[etree._Element, Matrix]:
        """The saved layer of guides, emptied or new, and what leads from page mm to its units."""
        found = self.guides()
        if found is None:
            layer = etree.SubElement(self.root, SVG + "g", {"id": "guides"})
            layer.set(_INKSCAPE + "groupmode", "layer")
            layer.set(_INKSCAPE + "label", "guides")
            layer.set("fill", "none")
            return layer, self.matrix(self.plain).inverse()
        layer = self.raw(found)
        for child in list(layer):
            layer.remove(child)
        layer.text = None
        return layer, self.matrix(found).inverse()

    def guides(self) -> etree._Element | None:
        """The layer of guides, in the plain tree."""
        return next((each for each in self.plain.iter() if "guides" in names(each)), None)

    def data(self) -> bytes:
        """The file: UTF-8, laid out as it was."""
        tree = self.root.getroottree()
        return b'<?xml version="1.0" encoding="UTF-8"?>\n%b\n' % etree.tostring(
            tree, encoding="UTF-8", xml_declaration=False
        )


def is_drawn(element: etree._Element) -> bool:
    """Whether an element is one that draws, or a group of such."""
    return str(element.tag).startswith(SVG) and element.tag not in _NOT_DRAWN


class PageFormat(NamedTuple):
    """What a page is drawn for: a binder size, a side, and its flap's width (mm, 0 for none).

    The outside of a flap is drawn for the flap alone, of the binder size ``flap_of``.
    """

    binder: Binder
    side: Side
    flap_mm: float
    flap_of: Binder | None = None

    @property
    def face(self) -> LeafFace:
        """The geometry of that page; raises UserError where the flap would lie on the rings."""
        return LeafGeometry(self.binder, self.flap_mm).face(self.side)


def drawn_for(
    drawing: SavedDrawing, stem: str, folder: str, sizes: Sizes, side: Side | None = None
) -> PageFormat:
    """What a drawing was made for; a bleed is taken off its page.

    The size is that of the ``folder`` it is in, else the one that is as high and no wider. The
    side follows from the holes in its guides layer, else from its name. Raises UserError when no
    size fits, or when neither says which side it is.
    """
    binder, bleed_mm = _binder(drawing, folder, sizes)
    if bleed_mm:
        drawing.take_bleed(bleed_mm)
    if binder.width_mm > drawing.width_mm + _CLOSE_MM:
        alone = binder.flap_only(round(drawing.width_mm, 2))
        return PageFormat(alone, side or Side.RECTO, 0.0, binder)
    flap = max(0.0, round(drawing.width_mm - binder.width_mm, 2))
    flap = 0.0 if flap < _CLOSE_MM else flap
    return PageFormat(binder, side or _side(drawing, stem), flap)


_BLEEDS_MM = (0.0, 3.0, *(half / 2 for half in range(1, 11) if half != 6))
"""What a page may be larger by all round, the usual first: 3 mm is common practice, 5 the most."""


def _binder(drawing: SavedDrawing, folder: str, sizes: Sizes) -> tuple[Binder, float]:
    """The size that a drawing is for, and the bleed it is drawn with, mm."""
    own = sizes.binders.get(folder)
    fitting = [
        (binder, bleed)
        for bleed in _BLEEDS_MM
        for binder in sizes.binders.values()
        if abs(binder.height_mm + 2 * bleed - drawing.height_mm) <= _CLOSE_MM
        and binder.width_mm + 2 * bleed <= drawing.width_mm + _CLOSE_MM
    ]
    if not fitting and own is not None:  # the outside of a flap
        fitting = [
            (own, bleed)
            for bleed in _BLEEDS_MM
            if abs(own.height_mm + 2 * bleed - drawing.height_mm) <= _CLOSE_MM
        ]
    if not fitting:
        raise UserError(
            drawing.name,
            f"no binder size is {drawing.width_mm:.1f} × {drawing.height_mm:.1f} mm, with a flap "
            "or without",
            "set the document's size to its binder's, or add the size to sizes.toml",
        )
    for binder, bleed in fitting:
        if binder is own:
            return binder, bleed
    least = fitting[0][1]
    alike = [binder for binder, bleed in fitting if bleed == least]
    return max(alike, key=lambda binder: binder.width_mm), least


def _side(drawing: SavedDrawing, stem: str) -> Side:
    guides = drawing.guides()
    holes = [] if guides is None else [*guides.iter(SVG + "circle", SVG + "ellipse")]
    if holes:
        spots = [(length(hole.get("cx")), length(hole.get("cy"))) for hole in holes]
        xs = [drawing.matrix(hole).point(*at)[0] for hole, at in zip(holes, spots, strict=True)]
        return Side.RECTO if sum(xs) / len(xs) < drawing.width_mm / 2 else Side.VERSO
    name = stem.lower()
    if bool(_VERSO.search(name)) != bool(_RECTO.search(name)):
        return Side.VERSO if _VERSO.search(name) else Side.RECTO
    raise UserError(
        drawing.name,
        "nothing tells which side of the leaf this is for",
        "end its name in -recto or -verso, or draw its holes in a layer called 'guides'",
    )
