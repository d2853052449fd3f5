"""The templates that directions are drawn from: the maker's own, or the program's."""

from __future__ import annotations

import difflib
from collections.abc import Collection, Mapping
from dataclasses import dataclass, replace
from pathlib import Path

from lxml import etree

import pipeline
from pipeline.base.cache import digest_of
from pipeline.base.errors import UserError, did_you_mean
from pipeline.base.folders import whole_folder
from pipeline.base.geometry import Rect
from pipeline.fill.lettering import own_fonts
from pipeline.fill.template import (
    Template,
    computed_style,
    file_name,
    open_template,
    read_template,
    rect_of,
)
from pipeline.fill.texts import find_text
from pipeline.plan.collection import read_collection
from pipeline.plan.model import Paper
from pipeline.svg.tree import SVG, inherited, names, page_matrix
from pipeline.text import FontBook, Style, advance
from pipeline.text.fonts import Faces
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
    carried: Mapping[str, str]
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
        place = {"x": f"{x:.3f}", "y": f"{y:.3f}", "font-size": f"{size or self.style.size:.4g}"}
        place["text-anchor"] = anchor or self.anchor
        element = etree.Element(SVG + "text", {**self.carried, **place})
        element.text = said
        return element

    def fitted(self, said: str, book: FontBook, dy: float = 0.0) -> etree._Element:
        """One line in its place or ``dy`` lower, set smaller where it is too wide for its box.

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
        return self.text(said, self.x, self.y + dy, size=self.style.size * scale)

    def sized(self, scale: float) -> Sample:
        """The sample in other type sizes."""
        return replace(self, style=replace(self.style, size=self.style.size * scale))


def sample_of(element: etree._Element, file: str, language: str, right_to_left: bool) -> Sample:
    """The sample in an element of a template's file, a text or a group that holds one.

    Raises UserError when there is no text in it.
    """
    name = names(element)[0]
    text = find_text(element)
    if text is None:
        raise UserError(file, "there is no text in it", "put a sample text there", element=name)
    matrix = page_matrix(text)
    style = computed_style(text, language)
    x, y = matrix.point(length(text.get("x")), length(text.get("y")))
    spacing = style.letter_spacing * matrix.scale_x
    carried = {name: value for name in _CARRIED if (value := inherited(text, name)) is not None}
    if spacing:
        carried["letter-spacing"] = f"{spacing:.4g}"
    size = style.size * matrix.scale_x
    rect = element.find(f"{SVG}rect") if element is not text else None
    return Sample(
        style=replace(style, size=size, letter_spacing=spacing, right_to_left=right_to_left),
        x=x,
        y=y,
        anchor=carried.get("text-anchor", "start"),
        box=None if rect is None else page_matrix(rect).bounds(rect_of(rect)),
        carried=carried,
        where=f"{file}, element {name!r}",
    )


def named(root: etree._Element, name: str, file: str) -> etree._Element:
    """The element of a template that goes by a name; raises UserError when there is none."""
    for element in root.iter():
        if name in names(element):
            return element
    raise UserError(file, f"there is no element {name!r}", "give the element that id")


FOLDER, COLLECTION = "directions", "collection.toml"

PAGES_MM: Mapping[str, tuple[float, float]] = {"a4": (210.0, 297.0), "letter": (215.9, 279.4)}
"""Pages there are, and their sizes: ISO 216 and ANSI/ASME Y14.1."""

PAGE_PARTS = (
    *("show-first-page", "show-later-page", "show-last-page", "steps-first", "steps-later"),
    *("facts", "fact", "fact-label", "fact-value"),
    *("step", "step-number", "step-picture", "step-title", "step-text"),
    *("caution-frame", "caution-sign", "caution-title", "caution-text"),
)
"""What every page needs."""

STEPS_LAST = "steps-last"
"""Where steps stand on the last page, if not as on other later ones."""

PAGE_WORDS = ("title", "set-title", "set-about", "page-number")
"""Words that a page may have, as often as it likes."""

PICTURE_PARTS = (
    *("figure-one", "figure-two", "punch-most", "percent"),
    *("cuts", "piles", "pile", "folds", "holes", "rings"),
)
"""What is filled in where a picture has it."""

SLACK_MM = 0.1
"""Editors round sizes."""
ALIKE = 0.8
"""From here on an id that is no part is taken for a slip of the pen."""


@dataclass(frozen=True)
class Artwork:
    """Templates for directions: ``pages/`` a paper, ``pictures/`` a step.

    A file that ``own`` does not have is taken from ``usual``, which has all of them.
    """

    own: Path
    usual: Path

    @property
    def key(self) -> str:
        """A digest of all its files."""
        files = [path for folder in (self.own, self.usual) for path in _svgs(folder)]
        return digest_of(*((path.name, path.read_bytes()) for path in files))

    def page(self, paper: Paper) -> Template:
        """The page for buyers of a paper: Letter where papers are in inches, A4 elsewhere."""
        return self._read("pages", "letter" if paper.media.startswith("na_") else "a4")

    def picture(self, name: str) -> Template:
        """The picture of a step."""
        return self._read("pictures", name)

    def _read(self, kind: str, name: str) -> Template:
        file = Path(kind, f"{name}.svg")
        own = self.own / file
        return read_template(open_template(own if own.is_file() else self.usual / file))

    def check(self) -> None:
        """Raises UserError for the first of the maker's files that has no use or is broken."""
        known = [path.relative_to(self.usual).as_posix() for path in _svgs(self.usual)]
        for path in _svgs(self.own):
            file = path.relative_to(self.own).as_posix()
            where = f"{self.own.name}/{file}"
            if file not in known:
                remedy = did_you_mean(file, known)
                raise UserError(where, "directions have no such page or picture", remedy)
            try:
                template = read_template(open_template(path))
            except UserError as problem:
                place = problem.place.removeprefix(file_name(path))
                raise UserError(where + place, problem.what, problem.remedy) from None
            if path.parent.name != "pages":
                _no_slips(template, where, PICTURE_PARTS)
                continue
            found, wanted = (template.width_mm, template.height_mm), PAGES_MM[path.stem]
            if any(abs(one - other) > SLACK_MM for one, other in zip(found, wanted, strict=True)):
                page = f"the page is {found[0]:g} × {found[1]:g} mm"
                what = f"{page}, not {wanted[0]:g} × {wanted[1]:g} mm"
                raise UserError(where, what, "set the document's size to that")
            _no_slips(template, where, (*PAGE_PARTS, STEPS_LAST, *PAGE_WORDS))
            for name in PAGE_PARTS:
                named(template.root, name, where)


def _svgs(folder: Path) -> list[Path]:
    return sorted(path for path in folder.rglob("*.svg") if path.name[0] != ".")


def _no_slips(template: Template, where: str, known: Collection[str]) -> None:
    """Raises UserError for an id that was meant to be one of ``known``: it would not be filled."""
    for element in template.root.iter():
        for name in names(element):
            near = difflib.get_close_matches(name, known, 1, ALIKE)
            if near and name not in known:
                remedy = f"did you mean {near[0]!r}?"
                raise UserError(where, "no such part", remedy, element=name)


def artwork_of(collection: Path) -> Artwork:
    """The templates of a collection's own directions, over those that come with the program."""
    return Artwork(collection / FOLDER, _usual())


def faces_for_directions(faces: Faces) -> Faces:
    """A collection's faces, and after them those that the program's own templates are set in."""
    usual = read_collection(_garden())
    return Faces(
        {**own_fonts(usual.folder), **faces.fonts},
        {**usual.fallback_fonts, **faces.fallback},
        faces.embedded,
    )


def copy_directions(collection: Path) -> list[Path]:
    """Copies the program's templates for directions into a collection, to be drawn on.

    Returns the files. Raises UserError for a folder that is no collection, and for one that has
    directions already.
    """
    if not (collection / COLLECTION).is_file():
        remedy = f"give the folder that holds {COLLECTION}"
        raise UserError(str(collection), "is no collection", remedy)
    folder = collection / FOLDER
    if folder.exists():
        raise UserError(str(folder), "is there already", "move it away to begin anew")
    usual = _usual()
    with whole_folder(folder) as new:
        for path in _svgs(usual):
            target = new / path.relative_to(usual)
            target.parent.mkdir(parents=True, exist_ok=True)
            target.write_bytes(path.read_bytes())
    return _svgs(folder)


def _usual() -> Path:
    return Path(__file__).parent / "plain"


def _garden() -> Path:
    """The carried collection whose faces the program's own templates are set in."""
    here = Path(pipeline.__file__).parent
    # In a checkout the carried collections lie beside the package, in a wheel inside it.
    folders = [shelf / "templates_svg" / "kitchen_garden" for shelf in (here, here.parent)]
    return next(folder for folder in folders if folder.is_dir())
