"""What a finished set is held against: the plan of its season, its templates, the limits.

Where a key's text stands is read from the template itself, not from what was filled: a ``Slot`` is
where a reader of the finished page looks for it.
"""

from __future__ import annotations

import datetime as dt
from collections.abc import Iterator, Mapping
from dataclasses import dataclass, replace
from functools import cached_property, lru_cache
from pathlib import Path
from typing import Any

from lxml import etree

from pipeline.base.errors import UserError
from pipeline.base.findings import SET_RULES, Finding
from pipeline.base.geometry import Rect
from pipeline.fill.filling import text_areas
from pipeline.fill.template import TemplateFile, open_template, read_template, rect_of
from pipeline.fill.texts import find_text, room_of
from pipeline.impose.contents import Contents, read_contents
from pipeline.impose.leaf import LeafFace, LeafGeometry
from pipeline.impose.sheet import Placement, SheetSide
from pipeline.plan import SeasonPlan
from pipeline.plan.collection import Collection
from pipeline.plan.languages import root_of
from pipeline.plan.model import Binder, Binding, Page, SetPlan, Side
from pipeline.plan.season import Limits, Printer
from pipeline.plan.words import Words, words_for
from pipeline.svg.tree import SVG, lineage, names, page_matrix

PageKey = tuple[str, Side, tuple[dt.date, ...]]


@dataclass(frozen=True)
class SetFinding(Finding):
    """One thing found in a finished set.

    ``set`` is the set's folder below the season's. ``sheet`` and ``side`` count from 1 as printed
    on the sheet, ``leaf`` counts from 0 as in contents.json; ``place`` is in mm from the top left
    of the leaf's flat area on ``face``, or of the sheet's side where there is no leaf. All of them
    are None for what concerns a whole file. ``also`` are the further faces that have the same at
    the same place. ``template`` is the file that the page is drawn in, with its size's folder,
    where there is one.
    """

    rules = SET_RULES

    set: str
    sheet: int | None = None
    side: SheetSide | None = None
    leaf: int | None = None
    face: Side | None = None
    place: Rect | None = None
    also: tuple[tuple[int, Side], ...] = ()
    template: str = ""

    def as_data(self) -> dict[str, Any]:
        """For JSON: every field, severity and remedy too; the place as x, y, width, height."""
        return {
            "code": self.rule,
            "severity": self.severity.value,
            "set": self.set,
            "sheet": self.sheet,
            "side": self.side,
            "leaf": self.leaf,
            "face": self.face.value if self.face else None,
            "template": self.template or None,
            "place_mm": [round(value, 2) for value in self.place] if self.place else None,
            "also": [[leaf, face.value] for leaf, face in self.also],
            "message": self.message,
            "what_to_do": self.what_to_do,
        }


@dataclass(frozen=True)
class Subject:
    """A set's folder with what it says of itself, and what the season plans for it."""

    folder: Path
    contents: Contents
    plan: SetPlan
    collection: Collection
    limits: Limits
    printer: Printer
    labels: Mapping[str, Mapping[str, tuple[str, ...]]]
    """The labels of every language the collection speaks, the set's own among them."""
    season_languages: tuple[str, ...]

    @property
    def name(self) -> str:
        """The set's folder below the season's, as findings give it."""
        return "/".join(self.folder.resolve().parts[-3:])

    def finding(
        self,
        rule: str,
        message: str,
        sheet: int | None = None,
        side: SheetSide | None = None,
        leaf: int | None = None,
        face: Side | None = None,
    ) -> SetFinding:
        """A finding in this set, about a whole file, a sheet, its side, or a face of a leaf."""
        return SetFinding(rule, message, self.name, sheet, side, leaf, face)

    @cached_property
    def words(self) -> Words:
        """The words of the set's language."""
        return words_for(self.contents.language)

    @cached_property
    def root(self) -> str:
        """The set's language without its region: its labels are in the file of that name."""
        return root_of(self.contents.language)

    @cached_property
    def foreign_labels(self) -> Mapping[str, Mapping[str, tuple[str, ...]]]:
        """The labels of all other languages."""
        return {tag: labels for tag, labels in self.labels.items() if root_of(tag) != self.root}

    @cached_property
    def languages(self) -> tuple[str, ...]:
        """The set's language, then all others that its templates may have been drawn in."""
        others = (*self.season_languages, *self.labels, "en")
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

    def on_face(self, leaf: int, face: Side) -> LeafFace:
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
def _face(geometry: LeafGeometry, face: Side) -> LeafFace:
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


@dataclass(frozen=True)
class Slot:
    """A place that a key's text is set in, in mm of the leaf's flat area, upright.

    ``area`` is where the middle of what it says can lie, ``room`` the width it may run to.
    ``sample`` is what the template has there, ``flags`` the facts it is shown for.
    """

    key: str
    area: Rect
    room: Rect
    sample: str
    flags: tuple[str, ...] = ()


@dataclass(frozen=True)
class Slots:
    """All places of a template: for texts, and for small months."""

    texts: tuple[Slot, ...]
    grids: tuple[Slot, ...]


def slots_of(page: Page, file: TemplateFile, geometry: LeafGeometry) -> Slots:
    """The places a page shows, those left out for it left out."""
    facts = page.facts
    drawn = _drawn(
        file,
        page.side,
        page.flap_mm,
        geometry.binder,
        frozenset(facts.texts),
        frozenset(facts.months),
    )
    offset = geometry.page(page.side, page.flap_mm).x
    width = geometry.binder.width_mm + page.flap_mm

    def on_leaf(area: Rect) -> Rect:
        right_bound = geometry.binding is Binding.RIGHT
        return (area.mirrored_x(width) if right_bound else area).moved(offset, 0)

    def placed(slots: tuple[Slot, ...]) -> tuple[Slot, ...]:
        return tuple(
            replace(slot, area=on_leaf(slot.area), room=on_leaf(slot.room))
            for slot in slots
            if all(facts.flags.get(flag, True) for flag in slot.flags)
        )

    return Slots(placed(drawn.texts), placed(drawn.grids))


@lru_cache(maxsize=256)
def _drawn(
    file: TemplateFile,
    side: Side,
    flap_mm: float,
    binder: Binder,
    text_keys: frozenset[str],
    grid_keys: frozenset[str],
) -> Slots:
    """The places as they are drawn, bound on the left, in mm of the page."""
    root = read_template(file).root
    panels = text_areas(side, flap_mm, binder)
    texts: list[Slot] = []
    grids: list[Slot] = []
    taken: set[etree._Element] = set()
    for element in root.iter():
        if any(step in taken for step in lineage(element)):
            continue
        for name in names(element):
            flags = tuple(_flags(element))
            if name in grid_keys:
                rect = element.find(f".//{SVG}rect")
                if rect is not None:
                    area = page_matrix(rect).bounds(rect_of(rect))
                    grids.append(Slot(name, area, area, "", flags))
                    taken.add(element)
                    break
            room = room_of(element, panels, "") if name in text_keys else None
            if room is not None:
                text = find_text(element)
                assert text is not None
                texts.append(Slot(name, *_line(room.ink, text), _said(text), flags))
                taken.add(element)
                break
    return Slots(tuple(texts), tuple(grids))


def _flags(element: etree._Element) -> Iterator[str]:
    for step in lineage(element):
        for name in names(step):
            if name.startswith("show-"):
                yield name.removeprefix("show-")


def _said(text: etree._Element) -> str:
    return " ".join("".join(str(part) for part in text.itertext()).split())


def _line(ink: Rect, text: etree._Element) -> tuple[Rect, Rect]:
    """Where the middle of a text's ink can lie (a little wider than its box), and the box itself.

    ``ink`` is the generous box that filling keeps free for it, an em wider on either side.
    """
    matrix = page_matrix(text)
    if abs(matrix.b) > 0.1 * abs(matrix.a):
        return ink, ink  # turned on the page
    em = ink.height / 2.5
    y, height = ink.y + 0.35 * em, 1.7 * em
    area = Rect(ink.x + 0.7 * em, y, ink.width - 1.4 * em, height)
    return area, Rect(ink.x + em, y, ink.width - 2 * em, height)
