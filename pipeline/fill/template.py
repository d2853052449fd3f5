"""Reads a template as a vector editor saved it and turns it into one plain form.

The plain form: user units are millimetres of the page, styles are attributes, what is hidden and
what only editors read is gone, the guides layer is gone, and an element the program may touch
carries the names it goes by in ``data-names``.
"""

from __future__ import annotations

import copy
import functools
from collections.abc import Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import NamedTuple

from lxml import etree

from pipeline.base.errors import UserError
from pipeline.base.folders import check_file
from pipeline.base.geometry import MM_PER_INCH, Rect
from pipeline.fill.keys import looks_like_key, names_of
from pipeline.fill.ownpage import as_template
from pipeline.plan.model import MOST_BLEED_MM, Colours
from pipeline.svg.recolour import recoloured
from pipeline.svg.refusals import (
    MOST_UNITS,
    TOO_DEEP,
    TOO_LARGE,
    error,
    reading,
    refuse,
    refuse_excess,
)
from pipeline.svg.simplify import simplify
from pipeline.svg.styles import resolve_styles
from pipeline.svg.transform import Aspect, Matrix, fitted, view_box
from pipeline.svg.tree import NAMES, SVG, lineage, names, remove, strip, svg_parser
from pipeline.text.shape import Style
from pipeline.text.style import TEXT_PROPERTIES, font_size, font_weight, length, style_of

EDITOR_LABELS = ("{http://www.inkscape.org/namespaces/inkscape}label", "data-name")
"""Attributes in which editors keep the name that one sees, where it is not the id."""

_KEPT_NAMESPACES = (SVG, "{http://www.w3.org/1999/xlink}", "{http://www.w3.org/XML/1998/namespace}")
_PX = MM_PER_INCH / 96

PAGE_SLACK_MM = 0.1
"""A page's size may be off by so much: editors round it."""

_TEXT_PROPERTIES = frozenset(TEXT_PROPERTIES)


@dataclass(frozen=True)
class Template:
    """A template in its plain form; ``root`` is shared and must be copied before it is changed."""

    path: Path
    root: etree._Element
    width_mm: float
    height_mm: float

    @property
    def name(self) -> str:
        """The file's name, as errors give it."""
        return file_name(self.path)


class TemplateFile(NamedTuple):
    """A template's file: where it is, for errors, and what is in it."""

    path: Path
    data: bytes

    @property
    def name(self) -> str:
        """The file's name, as errors give it."""
        return file_name(self.path)


def file_name(path: Path) -> str:
    """A template's name with its folder, that of its size: another size may have the same name.

    >>> file_name(Path("templates_svg/kitchen_garden/a5/week.svg")), file_name(Path("week.svg"))
    ('a5/week.svg', 'week.svg')
    """
    folder = path.parent.name
    return f"{folder}/{path.name}" if folder else path.name


def open_template(path: Path, colours: Colours | None = None) -> TemplateFile:
    """The file at ``path``, in other colours if asked; raises UserError when it cannot be read."""
    if path.suffix == ".pdf":
        return TemplateFile(path, as_template(path))
    check_file(path)
    try:
        data = path.read_bytes()
    except OSError as problem:
        raise UserError(str(path), f"cannot be read ({problem.strerror})") from None
    if colours is not None:
        data = recoloured(data, colours.change, greys=colours.greys)
    return TemplateFile(path, data)


@functools.lru_cache(maxsize=64)
def read_template(file: TemplateFile) -> Template:
    """The template in a file.

    Raises UserError, naming the line, when it isn't SVG, and for what cannot be read in it.
    """
    root = parsed_template(file)
    with reading(file.name):
        refuse(root, file.name)
    return plain_template(root, file.path)


_SAVE_AGAIN = (
    "open it in your drawing program and save it again as SVG; if it can't be opened there either,"
    " go back to your last copy"
)
_BREAKS_OFF = "it breaks off here, as if it had not been saved to its end"
_TYPES = etree.ErrorTypes
_BROKEN = {
    _TYPES.ERR_DOCUMENT_EMPTY: "it is empty, or begins with what isn't SVG",
    _TYPES.ERR_DOCUMENT_END: "something stands here after the end of the drawing",
    _TYPES.ERR_TAG_NOT_FINISHED: _BREAKS_OFF,
    _TYPES.ERR_GT_REQUIRED: _BREAKS_OFF,
    _TYPES.ERR_ATTRIBUTE_NOT_FINISHED: _BREAKS_OFF,
    _TYPES.ERR_TAG_NAME_MISMATCH: "an element that was begun before isn't ended here",
    _TYPES.ERR_NAME_REQUIRED: "a lone '&' or '<' stands here",
    _TYPES.ERR_ENTITYREF_SEMICOL_MISSING: "a lone '&' stands here",
    _TYPES.ERR_LT_IN_ATTRIBUTE: "a lone '<' stands here",
    _TYPES.ERR_UNDECLARED_ENTITY: "a sign is written here by a name that SVG doesn't know",
    _TYPES.ERR_ATTRIBUTE_REDEFINED: "something is said twice of one element",
    _TYPES.NS_ERR_UNDEFINED_NAMESPACE: "an element or attribute of an unknown kind stands here",
    _TYPES.ERR_INVALID_CHAR: "a sign stands here that no drawing may have",
    _TYPES.ERR_INVALID_ENCODING: "letters are saved here in another way than UTF-8",
}
"""What is wrong with a file that isn't well-formed XML, by libxml2's number of the error."""


def tree_of(name: str, data: bytes, *, bare: bool = True) -> etree._Element:
    """An SVG's tree as it was saved, read without going to the network.

    ``name`` is the file's, for errors; ``bare`` leaves out comments and the like. Raises UserError,
    naming the line, when it isn't SVG, and for one too deep or too large to be read.
    """
    try:
        root = etree.fromstring(data, svg_parser(bare=bare))
    except etree.XMLSyntaxError as problem:
        line, _ = problem.position
        if "Excessive depth" in (problem.msg or ""):
            raise error(etree.Element(SVG + "svg"), TOO_DEEP, name) from None
        code = problem.code  # type: ignore[attr-defined]  # newer than the stubs
        why = _BROKEN.get(code, "here it can't be read as SVG")
        raise UserError(name, f"is broken: {why}", _SAVE_AGAIN, line=line) from None
    if root.tag != SVG + "svg":
        raise UserError(name, "this isn't an SVG file", "save it as plain SVG")
    refuse_excess(root, name)
    return root


def parsed_template(file: TemplateFile) -> etree._Element:
    """A file's tree as it was drawn, with its styles as attributes and the names of its elements.

    Raises UserError, naming the line, when it isn't SVG.
    """
    root = tree_of(file.name, file.data)
    with reading(file.name):
        keep_names(root)
        resolve_styles(root)
        _hide_guides(root)
    return root


def plain_template(
    root: etree._Element, path: Path, refused: list[UserError] | None = None
) -> Template:
    """The template of a parsed tree, which is changed into its plain form.

    Raises UserError for what would not be drawn right; with a list ``refused``, that is taken out
    and added to the list (see ``simplify``).
    """
    name = file_name(path)
    with reading(name):
        simplify(root, name, refused)
        width, height = _to_millimetres(name, root)
        _drop_unseen(root)
        etree.cleanup_namespaces(root)
    return Template(path, root, width, height)


def trimmed(template: Template, size: tuple[float, float], bleeds: Sequence[float]) -> Template:
    """A template without the bleed that it is drawn with: its page is the leaf, as large as
    ``size``, and its artwork runs past the edges.

    ``bleeds`` (mm) are those it may be drawn with on all four sides; the template itself where it
    has none of them.
    """
    drawn = drawn_bleed(template, size)
    if drawn is None or not any(abs(drawn - bleed) <= PAGE_SLACK_MM for bleed in bleeds):
        return template
    root = copy.deepcopy(template.root)
    margin = (template.width_mm - size[0]) / 2, (template.height_mm - size[1]) / 2
    move_page(root, size, (-margin[0], -margin[1]))
    return Template(template.path, root, *size)


def drawn_bleed(template: Template, size: tuple[float, float]) -> float | None:
    """By how many mm a page is larger than a leaf on all four sides; None where it is not."""
    wider = (template.width_mm - size[0]) / 2
    higher = (template.height_mm - size[1]) / 2
    if abs(wider - higher) > PAGE_SLACK_MM or not 0.25 <= wider <= MOST_BLEED_MM + PAGE_SLACK_MM:
        return None
    return round((wider + higher) / 2, 1)


def move_page(root: etree._Element, size: tuple[float, float], by: tuple[float, float]) -> None:
    """Gives a plain page another ``size``, and moves all that is drawn on it, in place (mm)."""
    root.set("width", f"{size[0]:.6g}mm")
    root.set("height", f"{size[1]:.6g}mm")
    root.set("viewBox", f"0 0 {size[0]:.6g} {size[1]:.6g}")
    group = etree.Element(SVG + "g", {"transform": str(Matrix(e=by[0], f=by[1]))})
    for child in list(root):
        group.append(child)
    root.append(group)


def keep_names(root: etree._Element) -> None:
    """Gives every element of a tree as it was saved the names that it goes by."""
    for element in root.iter():
        labels = [element.get(label) for label in EDITOR_LABELS]
        kept = str(element.get(NAMES) or "").split()  # where it was read before
        names = names_of([element.get("id"), *labels, *kept])
        if names:
            element.set(NAMES, " ".join(names))


def _hide_guides(root: etree._Element) -> None:
    """Hides guides, and takes off keys' texts the length of their samples: neither is printed."""
    for element in root.iter():
        if "guides" in names(element):
            element.set("display", "none")
        if "textLength" in element.attrib and any(
            looks_like_key(name, ()) for step in lineage(element) for name in names(step)
        ):
            strip(element, "textLength", "lengthAdjust")


def _to_millimetres(name: str, root: etree._Element) -> tuple[float, float]:
    """Makes the page's millimetres its user units; returns its width and height in mm."""
    box = view_box(root.get("viewBox"))
    if box is None and root.get("viewBox"):
        raise UserError(
            f"{name}, <svg>", "its viewBox cannot be read", "save it again from the vector editor"
        )
    whole = box or Rect(0, 0, 0, 0)
    width = length(root.get("width"), whole=whole.width, default=whole.width)
    height = length(root.get("height"), whole=whole.height, default=whole.height)
    if not (width > 0 and height > 0):
        raise UserError(
            name, "the page has no size", "set the document's width and height in millimetres"
        )
    if not all(abs(number) <= MOST_UNITS for number in (width, height, *whole)):
        raise error(root, TOO_LARGE, name)
    box = box or Rect(0, 0, width, height)
    width, height = width * _PX, height * _PX
    aspect = Aspect.of(root.get("preserveAspectRatio"))
    to_page = fitted(box, Rect(0, 0, width, height), aspect)
    to_page = Matrix(*(round(value, 9) for value in to_page))
    strip(root, "x", "y", "preserveAspectRatio")
    root.set("width", f"{width:.6g}mm")
    root.set("height", f"{height:.6g}mm")
    root.set("viewBox", f"0 0 {width:.6g} {height:.6g}")
    if to_page != Matrix():
        group = etree.Element(SVG + "g", {"transform": str(to_page)})
        for child in list(root):
            group.append(child)
        root.append(group)
    return width, height


def _drop_unseen(root: etree._Element) -> None:
    """Takes out what is never printed: guides, hidden things, editors' own elements."""
    for element in list(root.iter()):
        if element is root:
            continue
        foreign = not str(element.tag).startswith(SVG)
        editors = element.tag in (SVG + "metadata", SVG + "title", SVG + "desc", SVG + "script")
        if foreign or editors or element.get("display") == "none":
            remove(element)
    for element in root.iter():
        for attribute in [str(name) for name in element.attrib]:
            if attribute.startswith("{") and not attribute.startswith(_KEPT_NAMESPACES):
                del element.attrib[attribute]


def computed_style(element: etree._Element, language: str = "") -> Style:
    """How a text in this element is set; sizes in the element's own user units."""
    size, weight = 16.0, 400.0
    found: dict[str, str] = {}
    for step in reversed(list(lineage(element))):
        size = font_size(step.get("font-size"), size)
        weight = font_weight(step.get("font-weight"), weight)
        style = (declaration.partition(":") for declaration in step.get("style", "").split(";"))
        declared = [*step.attrib.items(), *((name.strip(), value) for name, _, value in style)]
        for name, value in declared:
            if name in _TEXT_PROPERTIES and value.strip() not in ("", "inherit"):
                found[str(name)] = str(value).strip()
    return style_of(found.get, size, weight, language)


def rect_of(element: etree._Element) -> Rect:
    """The rectangle of a ``<rect>``, in its own user units."""
    x, y, width, height = (length(element.get(name)) for name in ("x", "y", "width", "height"))
    return Rect(x, y, width, height)
