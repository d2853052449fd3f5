"""Made-up pages to resize, and reading back where their things are."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable
from pathlib import Path

from lxml import etree

from pipeline.base.geometry import Rect
from pipeline.drawings.resize.resizing import resize_templates
from pipeline.fill.template import Template, TemplateFile, read_template, rect_of
from pipeline.impose.leaf import LeafFace, LeafGeometry
from pipeline.plan.model import Side
from pipeline.plan.sizes import load_sizes
from pipeline.svg.tree import page_matrix
from pipeline.text import FontBook

SIZES = load_sizes(None)
BOOK = FontBook()
SVG = "{http://www.w3.org/2000/svg}"
HEAD = (
    '<svg xmlns="http://www.w3.org/2000/svg" '
    'xmlns:inkscape="http://www.inkscape.org/namespaces/inkscape"'
)


def face_of(size: str, flap_mm: float = 0.0, side: Side = Side.RECTO) -> LeafFace:
    """The geometry of a page."""
    return LeafGeometry(SIZES.binder(size), flap_mm).face(side)


def page(content: str, size: str = "a5", flap_mm: float = 0.0) -> bytes:
    """A page in millimetres; recto unless its name or its guides say otherwise."""
    binder = SIZES.binder(size)
    width = binder.width_mm + flap_mm
    return (
        f'{HEAD} width="{width:g}mm" height="{binder.height_mm:g}mm" '
        f'viewBox="0 0 {width:g} {binder.height_mm:g}">{content}</svg>'
    ).encode()


def resized(
    data: bytes,
    to: str,
    *,
    name: str = "week-recto",
    folder: str = "a5",
    flap_mm: float | None = None,
    smallest_mm: float = 2.1,
) -> bytes:
    """The page for another size."""
    file = TemplateFile(Path(folder) / f"{name}.svg", data)
    [made] = resize_templates(
        [file],
        SIZES.binder(to),
        SIZES,
        BOOK,
        flap_mm=flap_mm,
        smallest_mm=smallest_mm,
    )
    return made.data


def read(data: bytes) -> Template:
    """The page as filling reads it."""
    return read_template(TemplateFile(Path("page.svg"), data))


def rects(data: bytes) -> dict[str, Rect]:
    """Where rectangles with an id are, mm."""
    return {
        element.get("id", ""): page_matrix(element).bounds(rect_of(element))
        for element in read(data).root.iter(SVG + "rect")
        if element.get("id")
    }


def ids(data: bytes) -> Counter[str]:
    """How often each id is there, those of guides left out."""
    root = etree.fromstring(data)
    return Counter(_ids(root))


def _ids(element: etree._Element) -> Iterable[str]:
    if element.get("id") == "guides":
        return
    if element.get("id"):
        yield element.get("id", "")
    for child in element:
        yield from _ids(child)


def rect(name: str, area: Rect, **more: str) -> str:
    """A ``<rect>`` with an id."""
    said = " ".join(f'{key.replace("_", "-")}="{value}"' for key, value in more.items())
    x, y, width, height = area
    return f'<rect id="{name}" x="{x}" y="{y}" width="{width}" height="{height}" {said}/>'
