"""The templates that directions are drawn from: a maker's own, and the program's for the rest."""

from __future__ import annotations

import difflib
from collections.abc import Collection, Mapping
from dataclasses import dataclass
from pathlib import Path

import pipeline
from pipeline.base.errors import UserError, did_you_mean
from pipeline.base.folders import whole_folder
from pipeline.fill.template import Template, file_name, open_template, read_template
from pipeline.plan.model import Paper
from pipeline.publish.directions.sample import named
from pipeline.svg.tree import names

FOLDER, COLLECTION = "directions", "collection.toml"
_DEMO = "kitchen_garden"

PAGES_MM: Mapping[str, tuple[float, float]] = {"a4": (210.0, 297.0), "letter": (215.9, 279.4)}
"""Pages there are, and their sizes: ISO 216 and ANSI/ASME Y14.1."""

PAGE_PARTS = (
    *("show-first-page", "show-later-page", "show-last-page", "steps-first", "steps-later"),
    *("facts", "fact", "fact-label", "fact-value"),
    *("step", "step-number", "step-picture", "step-title", "step-text"),
    *("caution-frame", "caution-sign", "caution-title", "caution-text"),
)
"""What every page needs."""

PAGE_WORDS = ("title", "set-title", "set-about", "page-number")
"""Words that a page may have, as often as it likes."""

PICTURE_PARTS = (
    *("figure-one", "figure-two", "punch-most", "percent"),
    *("cuts", "piles", "pile", "holes", "rings"),
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
        known = [_within(self.usual, path) for path in _svgs(self.usual)]
        for path in _svgs(self.own):
            file = _within(self.own, path)
            where = f"{self.own.name}/{file}"
            if file not in known:
                remedy = did_you_mean(file, known)
                raise UserError(where, "directions have no such page or picture", remedy)
            try:
                template = read_template(open_template(path))
            except UserError as problem:
                where = f"{where}{problem.place.removeprefix(file_name(path))}"
                raise UserError(where, problem.what, problem.remedy) from None
            if path.parent.name == "pages":
                _check_page(template, where, PAGES_MM[path.stem])
            else:
                _no_slips(template, where, PICTURE_PARTS)


def _svgs(folder: Path) -> list[Path]:
    return sorted(path for path in folder.rglob("*.svg") if path.name[0] != ".")


def _within(folder: Path, path: Path) -> str:
    return path.relative_to(folder).as_posix()


def _check_page(template: Template, where: str, size_mm: tuple[float, float]) -> None:
    """Raises UserError when a page has another size, or lacks a part."""
    found = template.width_mm, template.height_mm
    if any(abs(one - other) > SLACK_MM for one, other in zip(found, size_mm, strict=True)):
        raise UserError(
            where,
            f"the page is {found[0]:g} × {found[1]:g} mm, not {size_mm[0]:g} × {size_mm[1]:g} mm",
            "set the document's size to that",
        )
    _no_slips(template, where, (*PAGE_PARTS, *PAGE_WORDS))
    for name in PAGE_PARTS:
        named(template.root, name, where)


def _no_slips(template: Template, where: str, known: Collection[str]) -> None:
    """Raises UserError for an id that was meant to be one of ``known``: it would not be filled."""
    for element in template.root.iter():
        for name in names(element):
            near = difflib.get_close_matches(name, known, 1, ALIKE)
            if near and name not in known:
                raise UserError(
                    f"{where}, element {name!r}", "no such part", f"did you mean {near[0]!r}?"
                )


def artwork_of(collection: Path) -> Artwork:
    """The templates of a collection's own directions, over those that come with the program."""
    return Artwork(collection / FOLDER, _usual())


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
    here = Path(pipeline.__file__).parent
    # In a checkout the carried collections lie beside the package, in a wheel inside it.
    shelves = (here / "templates_svg", here.parent / "templates_svg")
    folders = [shelf / _DEMO / FOLDER for shelf in shelves]
    return next(folder for folder in folders if folder.is_dir())
