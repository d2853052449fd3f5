"""A sample text of a template: how it is set, where it begins and how wide it may run."""

from __future__ import annotations

from dataclasses import dataclass, replace

from lxml import etree

from pipeline.base.errors import UserError
from pipeline.base.geometry import Rect
from pipeline.fill.template import computed_style, rect_of
from pipeline.fill.texts import find_text
from pipeline.svg.tree import SVG, inherited, names, page_matrix
from pipeline.text import FontBook, Style, advance
from pipeline.text.style import TEXT_PROPERTIES, length

SMALLEST = 0.7
"""How far a line that cannot be broken may be set smaller than it was drawn."""

_CARRIED = (*TEXT_PROPERTIES, "fill", "text-anchor")


@dataclass(frozen=True)
class Sample:
    """How one text of a template is set: its style and place in mm on the page.

    ``box`` is the group's own rectangle, if it has one; ``where`` names the element in errors.
    """

    style: Style
    x: float
    y: float
    anchor: str
    box: Rect | None
    carried: tuple[tuple[str, str], ...]
    where: str

    @property
    def width(self) -> float:
        """How wide the text may run, mm; without a box there is no limit."""
        if self.box is None:
            return float("inf")
        if self.anchor == "end":
            return self.x - self.box.x
        return self.box.width if self.anchor == "middle" else self.box.right - self.x

    def text(
        self, said: str, x: float, y: float, *, size: float | None = None, anchor: str = ""
    ) -> etree._Element:
        """A ``<text>`` in this style, its line beginning (or ending, or centred) at x, y (mm)."""
        element = etree.Element(SVG + "text", dict(self.carried))
        element.set("x", f"{x:.3f}")
        element.set("y", f"{y:.3f}")
        element.set("font-size", f"{size or self.style.size:.4g}")
        element.set("text-anchor", anchor or self.anchor)
        element.text = said
        return element

    def fitted(self, said: str, book: FontBook) -> etree._Element:
        """One line in its place, set smaller where it is too wide for its box.

        Raises UserError when it would have to be smaller than ``SMALLEST``.
        """
        wide = advance(said, self.style, book, self.where)
        scale = min(1.0, self.width / wide) if wide else 1.0
        if scale < SMALLEST:
            raise UserError(
                self.where,
                f"{said!r} needs {wide:.1f} mm but has {self.width:.1f} mm",
                "make its box wider or its type smaller",
            )
        return self.text(said, self.x, self.y, size=self.style.size * scale)

    def sized(self, scale: float) -> Sample:
        """The sample in other type sizes."""
        return replace(self, style=replace(self.style, size=self.style.size * scale))


def sample_of(element: etree._Element, where: str, language: str, right_to_left: bool) -> Sample:
    """The sample in a template's element, which is a text or a group that holds one.

    Raises UserError when there is no text in it.
    """
    text = find_text(element)
    if text is None:
        raise UserError(where, "there is no text in it", "put a sample text there")
    matrix = page_matrix(text)
    style = computed_style(text, language)
    x, y = matrix.point(length(text.get("x")), length(text.get("y")))
    scale = matrix.scale_x
    size = style.size * scale
    spacing = style.letter_spacing * scale
    carried = {name: value for name in _CARRIED if (value := inherited(text, name)) is not None}
    if spacing:
        carried["letter-spacing"] = f"{spacing:.4g}"
    rect = element.find(f"{SVG}rect") if element is not text else None
    return Sample(
        style=replace(style, size=size, letter_spacing=spacing, right_to_left=right_to_left),
        x=x,
        y=y,
        anchor=carried.get("text-anchor", "start"),
        box=None if rect is None else page_matrix(rect).bounds(rect_of(rect)),
        carried=tuple(sorted(carried.items())),
        where=where,
    )


def named(root: etree._Element, name: str, file: str) -> etree._Element:
    """The element of a template that goes by a name; raises UserError when there is none."""
    for element in root.iter():
        if name in names(element):
            return element
    raise UserError(file, f"there is no element {name!r}", "give the element that id")
