"""What a finished set is held against: the plan of its season, its templates, the limits."""

from __future__ import annotations

import datetime as dt
from collections.abc import Mapping
from dataclasses import dataclass
from functools import cached_property, lru_cache
from pathlib import Path

from pipeline.base.errors import UserError
from pipeline.base.geometry import Rect
from pipeline.fill.template import TemplateFile, open_template
from pipeline.impose.leaf import Face, LeafGeometry
from pipeline.plan import SeasonPlan
from pipeline.plan.collection import Collection
from pipeline.plan.model import Binder, Binding, Page, SetPlan, Side
from pipeline.plan.season import Limits, Printer
from pipeline.plan.words import Words, words_for
from pipeline.proof.findings.slots import Slots, slots_of
from pipeline.proof.read.contents import Contents, Placement, read_contents

PageKey = tuple[str, Side, tuple[dt.date, ...]]


@dataclass(frozen=True)
class Subject:
    """A set's folder with what it says of itself, and what the season plans for it."""

    folder: Path
    contents: Contents
    plan: SetPlan
    collection: Collection
    limits: Limits
    printer: Printer
    other_labels: Mapping[str, Mapping[str, tuple[str, ...]]]
    """The labels of every language the collection speaks, the set's own among them."""
    season_languages: tuple[str, ...]
    """The languages the season is made in."""

    @property
    def name(self) -> str:
        """The set's folder below the season's, as findings give it."""
        return "/".join(self.folder.resolve().parts[-3:])

    @cached_property
    def words(self) -> Words:
        """The words of the set's language."""
        return words_for(self.contents.language)

    @cached_property
    def languages(self) -> tuple[str, ...]:
        """The set's language, then all others that its templates may have been drawn in."""
        others = (*self.season_languages, *self.other_labels, "en")
        return tuple(dict.fromkeys((self.contents.language, *others)))

    @cached_property
    def pages(self) -> Mapping[PageKey, Page]:
        """The planned pages by template, face and dates."""
        return {(page.template, page.side, page.facts.dates): page for page in self.plan.pages}

    def page(self, leaf: int, face: Side) -> Page | None:
        """The planned page that is to be on a face; None for a blank or an unplanned one."""
        note = self.contents.leaves[leaf].page(face)
        return None if note is None else self.pages.get((note.template, face, note.dates))

    @cached_property
    def _templates(self) -> dict[str, TemplateFile]:
        names = {page.template for page in self.plan.pages}
        path = self.collection.template_path
        return {name: open_template(path(self.plan.binder.name, name)) for name in sorted(names)}

    def geometry(self, leaf: int) -> LeafGeometry:
        """Where a leaf's page, flap, fold and holes lie, its safe area as the limits say."""
        flap = self.contents.leaves[leaf].flap_mm
        return _geometry(self.binder, flap, self.contents.binding, self.limits.safe_mm)

    def on_face(self, leaf: int, face: Side) -> Face:
        """The same, as one face of the leaf shows it."""
        return _face(self.geometry(leaf), face)

    @property
    def binder(self) -> Binder:
        """The binder size the set was made for."""
        return self.plan.binder

    def slots(self, page: Page, leaf: int) -> Slots:
        """Where a page's texts are to be on a leaf."""
        return slots_of(page, self._templates[page.template], self.geometry(leaf))

    def page_rect(self, page_flap_mm: float, placement: Placement) -> Rect:
        """Where a page with its flap lies on its leaf, mm, upright."""
        return self.geometry(placement.leaf).page(placement.face, page_flap_mm)


@lru_cache(maxsize=64)
def _geometry(binder: Binder, flap_mm: float, binding: Binding, safe_mm: float) -> LeafGeometry:
    return LeafGeometry(binder, flap_mm, binding, safe_mm=safe_mm)


@lru_cache(maxsize=64)
def _face(geometry: LeafGeometry, face: Side) -> Face:
    return geometry.face(face)


def subject_of(folder: Path, season: SeasonPlan) -> Subject:
    """The set in a folder, with what the season plans for it.

    Raises UserError when the folder holds no set, or one that the season does not ask for.
    """
    contents = read_contents(folder)
    for plan in season.sets:
        if (plan.name, plan.period.name, plan.language, plan.binder.name) == (
            contents.set.name,
            contents.period.name,
            contents.language,
            contents.binder.name,
        ):
            break
    else:
        raise UserError(
            str(folder), "the season does not ask for this set (any more)", "build the season again"
        )
    return Subject(
        folder,
        contents,
        plan,
        season.collection,
        season.season.limits,
        season.printer,
        _labels(season.collection),
        tuple(season.season.language),
    )


def _labels(collection: Collection) -> dict[str, Mapping[str, tuple[str, ...]]]:
    files = sorted((collection.folder / "labels").glob("*.toml"))
    return {file.stem: collection.labels(file.stem) for file in files}
