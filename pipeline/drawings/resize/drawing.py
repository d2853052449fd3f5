"""A template's file as the illustrator keeps it, beside a plain copy of it to measure by."""

from __future__ import annotations

import copy
import re

from lxml import etree

from pipeline.base.errors import UserError
from pipeline.base.geometry import MM_PER_INCH, Rect
from pipeline.fill.keys import names_of
from pipeline.fill.template import tree_of
from pipeline.svg.styles import resolve_styles
from pipeline.svg.transform import Aspect, Matrix, fitted, view_box
from pipeline.svg.tree import SVG, page_matrix
from pipeline.text.style import length

INKSCAPE = "{http://www.inkscape.org/namespaces/inkscape}"
_LABELS = (INKSCAPE + "label", "data-name")
_PX = MM_PER_INCH / 96
_PLAIN_TRANSFORM = re.compile(
    r"\s*(?:(?:matrix|translate|scale|rotate|skewX|skewY)\s*\([-+\d.eE\s,]*\)[\s,]*)*"
)
_NUMBER = "data-number-while-resizing"
_NOT_DRAWN = frozenset(
    SVG + name
    for name in (
        "defs", "symbol", "clipPath", "mask", "pattern", "marker", "linearGradient",
        "radialGradient", "filter", "metadata", "title", "desc", "style", "script",
    )
)  # fmt: skip


class Drawing:
    """The tree that is changed (``root``) and the plain one that is read (``plain``).

    Elements are handed about as those of the plain tree, whose styles are attributes; ``raw``
    gives the element that was saved. ``width_mm`` and ``height_mm`` are the page's.
    """

    def __init__(self, name: str, data: bytes) -> None:
        self.root = tree_of(name, data, bare=False)
        self.name = name
        self._raw = [element for element in self.root.iter() if isinstance(element.tag, str)]
        for place, element in enumerate(self._raw):
            element.set(_NUMBER, str(place))
        self.plain = copy.deepcopy(self.root)
        for element in self._raw:
            del element.attrib[_NUMBER]
        resolve_styles(self.plain)
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
            raise UserError(
                self.name, "the page has no size", "set the document's size in millimetres"
            )
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
                    f"{self.name}, element {element.get('id', element.tag)!r}",
                    "its transform is written for a browser",
                    "apply it in the editor, or write it as SVG does",
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

    def set_size(self, width_mm: float, height_mm: float) -> None:
        """Makes the page so large; units and origin stay as they were."""
        box = self._whole.inverse().bounds(Rect(0, 0, width_mm, height_mm))
        self.root.set("width", f"{width_mm:g}mm")
        self.root.set("height", f"{height_mm:g}mm")
        self.root.set("viewBox", " ".join(f"{round(value, 6) or 0.0:.9g}" for value in box))

    def data(self) -> bytes:
        """The file: UTF-8, laid out as it was."""
        tree = self.root.getroottree()
        return b'<?xml version="1.0" encoding="UTF-8"?>\n%b\n' % etree.tostring(
            tree, encoding="UTF-8", xml_declaration=False
        )


def is_drawn(element: etree._Element) -> bool:
    """Whether an element is one that draws, or a group of such."""
    if not isinstance(element.tag, str):
        return False
    return element.tag.startswith(SVG) and element.tag not in _NOT_DRAWN


def names(element: etree._Element) -> tuple[str, ...]:
    """The names an element goes by: its id and its label, read as keys are."""
    return names_of([element.get("id"), *(element.get(label) for label in _LABELS)])


def guides_of(drawing: Drawing) -> etree._Element | None:
    """The layer of guides, in the plain tree."""
    for element in drawing.plain.iter():
        if isinstance(element.tag, str) and "guides" in names(element):
            return element
    return None
