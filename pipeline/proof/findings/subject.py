"""What a finished set is held against: the plan of its season, its templates, the limits.

Where a key's text stands is read from the template itself, not from what was filled: a ``Slot`` is
where a reader of the finished page looks for it.
"""

from __future__ import annotations

import calendar
import datetime as dt
import math
import re
from collections.abc import Hashable, Iterable, Iterator, Mapping
from dataclasses import dataclass, replace
from functools import cached_property, lru_cache
from pathlib import Path
from typing import Any, NamedTuple

import numpy as np
import numpy.typing as npt
from lxml import etree

from pipeline.base.cache import digest_of
from pipeline.base.errors import UserError
from pipeline.base.findings import SET_RULES, Finding
from pipeline.base.geometry import Rect
from pipeline.fill.filling import text_areas
from pipeline.fill.flapback import drawings_of
from pipeline.fill.layers import box_of_ink
from pipeline.fill.lettering import own_fonts
from pipeline.fill.repeats import repeated
from pipeline.fill.tablabel import on_leaf
from pipeline.fill.template import TemplateFile, computed_style, read_template, rect_of, trimmed
from pipeline.fill.texts import Room, find_text, is_unpainted, room_of
from pipeline.impose.contents import Contents, read_contents
from pipeline.impose.leaf import LeafGeometry
from pipeline.impose.sheet import SheetSide
from pipeline.plan import SeasonPlan
from pipeline.plan.almanac import PHASES, TURNS, Almanac
from pipeline.plan.collection import Collection
from pipeline.plan.facts import MOON_DISC, NO_MONTH, in_one_line
from pipeline.plan.languages import root_of
from pipeline.plan.model import Binder, Binding, Facts, Page, SetPlan, Side, Tab
from pipeline.plan.season import Limits, Printer
from pipeline.plan.words import Words, words_for
from pipeline.proof.read.text import Spelling, spelling
from pipeline.svg.path import PathData, outline, tight_box
from pipeline.svg.transform import Matrix
from pipeline.svg.tree import SVG, inherited, lineage, names, page_matrix
from pipeline.text.fonts import Faces
from pipeline.text.shape import Style
from pipeline.text.style import length


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
class Slot:
    """A place that a key's text is set in, in mm of the leaf's flat area, upright.

    ``area`` is where the middle of what it says can lie, ``room`` the width it may run to.
    ``sample`` is what the template has there, ``flags`` the facts it is shown for, ``turned`` how
    many degrees clockwise it is turned on the page. ``style`` is how all of it is set, None where
    that isn't one for all.
    """

    key: str
    area: Rect
    room: Rect
    sample: str = ""
    flags: tuple[str, ...] = ()
    turned: float = 0.0
    style: Style | None = None


Numbers = npt.NDArray[np.float64]


class Shape(NamedTuple):
    """A line or an area of a template: the box it fills, the box of its control points too, mm.

    ``colour`` is that of its area, or of its line where it has no area; ``line_mm`` is how thick
    its line is, 0 without any.
    """

    box: Rect
    hull: Rect
    colour: tuple[int, int, int]
    line_mm: float = 0.0

    def is_like(self, other: Shape) -> bool:
        """Whether another shape, painted in the same colour, could be taken for it."""
        box, slack = other.box, _SLACK_MM + MITRE * other.line_mm
        is_near = box.holds(self.box, slack) and self.hull.holds(box, slack)
        return self.colour == other.colour and is_near


def near(boxes: Numbers, hulls: Numbers, seen: Numbers, slack: Numbers) -> npt.NDArray[np.bool_]:
    """Which boxes that are seen may be those of shapes, each to its ``slack``; edges in mm."""
    inside = _within(boxes, seen, slack) & _within(seen, hulls, slack)
    return np.asarray(inside.all(axis=-1))


def _within(inner: Numbers, outer: Numbers, slack: Numbers) -> npt.NDArray[np.bool_]:
    """Edge by edge: the left and upper ones are no less, the right and lower ones no greater."""
    return (inner - outer) * (1, 1, -1, -1) >= -slack


@dataclass(frozen=True, eq=False)
class Ornament:
    """What a template draws for some days alone: its id, its plain shapes, and the facts it needs.

    Shapes that the template draws on every page just there are left out.
    """

    name: str
    flags: tuple[str, ...]
    shapes: tuple[Shape, ...]


@dataclass(frozen=True)
class Slots:
    """All places of a template: for texts, and for small months.

    ``shapes`` is how many lines, areas and pictures it draws on every page; ``ornaments`` are those
    that it draws on some. ``links`` are places that lead to a time, such as ``link-month-3``.
    """

    texts: tuple[Slot, ...] = ()
    grids: tuple[Slot, ...] = ()
    shapes: int = 0
    ornaments: tuple[Ornament, ...] = ()
    links: tuple[tuple[str, Rect], ...] = ()


@dataclass(frozen=True)
class Subject:
    """A set's folder with what it says of itself, and what the season plans for it.

    ``labels`` are those of every language the collection speaks, the set's own among them;
    ``papers`` what each of the season's papers is called, by name.
    """

    folder: Path
    contents: Contents
    plan: SetPlan
    collection: Collection
    limits: Limits
    printer: Printer
    labels: Mapping[str, Mapping[str, tuple[str, ...]]]
    season_languages: tuple[str, ...]
    papers: Mapping[str, str]
    almanac: Almanac | None = None

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
    def kept(self) -> dict[Hashable, Any]:
        """What is made once for the whole set, by what it was made from."""
        return {}

    @cached_property
    def held_to(self) -> str:
        """A digest of all that its things are held against, but for the leaf they are on."""
        plan = self.plan
        return digest_of(self.limits, plan.binder, plan.bleed_mm, plan.colours)

    @cached_property
    def faces(self) -> Faces:
        """The faces of the collection and of font packages, as they are now."""
        own = own_fonts(self.collection.folder)
        return Faces(own, self.collection.fallback_fonts, False)

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
    def own_labels(self) -> frozenset[Spelling]:
        """All labels of the set's own language, its title and its period's name among them."""
        own = {
            key.removeprefix("label-"): forms
            for page in self.plan.pages[:1]
            for key, forms in page.facts.texts.items()
            if key.startswith("label-") or key in ("set-title", "period-name")
        }
        labels = {**self.labels.get(self.root, {}), **own}
        return frozenset(spelling(form) for forms in labels.values() for form in forms)

    @cached_property
    def borrowed_labels(self) -> Mapping[Spelling, str]:
        """The first other language that has a label; single letters are anybody's."""
        return {
            spelling(form): tag
            for tag, labels in reversed([*self.foreign_labels.items()])
            for forms in labels.values()
            if len(forms[0]) > 1
            for form in forms
        }

    @cached_property
    def languages(self) -> tuple[str, ...]:
        """The set's language, then all others that its templates may have been drawn in."""
        others = (*self.season_languages, *self.labels, "en")
        return tuple(dict.fromkeys((self.contents.language, *others)))

    @cached_property
    def _pages(self) -> Mapping[tuple[str, str, Side, tuple[dt.date, ...]], Page]:
        return {_known_by(page): page for page in self.plan.pages}

    @cached_property
    def feasts(self) -> tuple[str, ...]:
        """All ways to say the feasts of the days that its pages are about."""
        if self.almanac is None:
            return ()
        every = {
            self.almanac.of(day).feasts for page in self.plan.pages for day in page.facts.dates
        }
        return tuple({form for said in every if said for form in in_one_line(said, self.words)})

    def _known(self, facts: Facts) -> Facts:
        """A page's facts, with the feasts and the sky of each of its days as they are known anew.

        Which day a place is for is Python's ``calendar``'s to say, not the plan's.
        """
        if self.almanac is None or not (facts.dates or facts.calendars):
            return facts
        texts, flags = dict(facts.texts), dict(facts.flags)
        for family, day in days_on(facts):
            notes = self.almanac.of(day)
            if f"{family}-feast" in texts:
                texts[f"{family}-feast"] = in_one_line(notes.feasts, self.words)
            known = {one: one in (notes.phase, notes.turn) for one in (*PHASES, *TURNS)}
            known["feast"] = bool(notes.feasts)
            flags |= {
                flag: holds for one, holds in known.items() if (flag := f"{family}-{one}") in flags
            }
        return replace(facts, texts=texts, flags=flags)

    def page(self, leaf: int, face: Side) -> Page | None:
        """The planned page that is to be on a face; None for a blank or an unplanned one."""
        note = self.contents.leaves[leaf].page(face)
        if note is None:
            return None
        wanted = note.template, note.flap_back, face, note.dates
        # Pages that are known by the same may differ in what their leaves' tabs say.
        there = self.plan.leaves[leaf : leaf + 1]
        own = next((one.page(face) for one in there), None)
        page = own if own and _known_by(own) == wanted else self._pages.get(wanted)
        return page and replace(page, facts=self._known(page.facts))

    @cached_property
    def templates(self) -> dict[str, TemplateFile]:
        """The files of its templates, by their names; raises UserError when one cannot be read."""
        return drawings_of(self.plan, self.collection)

    def geometry(self, leaf: int) -> LeafGeometry:
        """Where a leaf's page, flap, fold and holes lie, its safe area as the limits say."""
        note, binding = self.contents.leaves[leaf], self.contents.binding
        return LeafGeometry(
            self.plan.binder, note.flap_mm, binding, safe_mm=self.limits.safe_mm, tab=note.tab
        )

    def slots(self, page: Page, leaf: int) -> Slots:
        """The places that a page shows on a leaf, those left out for it left out."""
        return slots_of(self.plan, self.templates, page, self.geometry(leaf))


def slots_of(
    plan: SetPlan,
    templates: Mapping[str, TemplateFile],
    page: Page,
    geometry: LeafGeometry,
) -> Slots:
    """The places that a planned page shows on its leaf, those left out for it left out."""
    facts = page.facts
    drawn = _drawn(
        templates[page.drawing],
        page.side,
        page.beside_mm,
        geometry.binder,
        plan.drawn_bleeds_mm,
        geometry.tab,
        frozenset(facts.texts),
        frozenset(facts.months),
        frozenset(facts.flags),
        tuple(facts.counts.items()),
    )
    x, _, width, _ = geometry.page(page.side, page.beside_mm)

    def on_leaf(area: Rect) -> Rect:
        mirrored = area.mirrored_x(width) if geometry.binding is Binding.RIGHT else area
        return mirrored.moved(x, 0)

    def placed(slots: tuple[Slot, ...]) -> tuple[Slot, ...]:
        return tuple(
            replace(slot, area=on_leaf(slot.area), room=on_leaf(slot.room))
            for slot in slots
            if all(facts.flags.get(flag, True) for flag in slot.flags)
        )

    ornaments = _laid(drawn.ornaments, x, width if geometry.binding is Binding.RIGHT else None)
    links = tuple((name, on_leaf(area)) for name, area in drawn.links)
    return Slots(placed(drawn.texts), placed(drawn.grids), drawn.shapes, ornaments, links)


def _known_by(page: Page) -> tuple[str, str, Side, tuple[dt.date, ...]]:
    """What tells a page from others, by what the set's contents say of it."""
    return page.template, page.flap_back, page.side, page.facts.dates


class MonthOn(NamedTuple):
    """A month whose dates a page tells: its days, and those of its calendar's cells."""

    days: tuple[dt.date, ...]
    cells: tuple[dt.date, ...]


def months_on(facts: Facts) -> dict[str, MonthOn]:
    """The months whose dates a page tells, by what their keys begin with.

    Which day a place is for is Python's ``calendar``'s to say; of the plan, only which month it is
    and on which day weeks begin.
    """
    found = {}
    for begin, planned in facts.calendars.items():
        month = planned[7]  # the second week is the month's own
        weeks = calendar.Calendar(planned[0].weekday()).monthdatescalendar(month.year, month.month)
        days = tuple(day for week in weeks for day in week if day.month == month.month)
        cells = tuple(weeks[0][0] + dt.timedelta(n) for n in range(len(planned)))
        found[begin] = MonthOn(days, cells)
    return found


def days_on(facts: Facts) -> Iterator[tuple[str, dt.date]]:
    """The days of a dated page, each with what its keys begin with, such as ``day3``."""
    if facts.kind == "day":
        yield "day", facts.dates[0]
    elif facts.calendars:
        for begin, month in months_on(facts).items():
            yield from ((f"{begin}date{n}", day) for n, day in enumerate(month.days, start=1))
            yield from ((f"{begin}cell{n}", day) for n, day in enumerate(month.cells, start=1))
    else:
        for number, day in enumerate(facts.dates, start=1):
            yield f"day{number}", day


@lru_cache(maxsize=256)
def _laid(
    ornaments: tuple[Ornament, ...], x: float, mirrored_mm: float | None
) -> tuple[Ornament, ...]:
    """Ornaments of a page as they lie on its leaf, mirrored where it is ``mirrored_mm`` wide."""

    def laid(box: Rect) -> Rect:
        return (box if mirrored_mm is None else box.mirrored_x(mirrored_mm)).moved(x, 0)

    def printed(ornament: Ornament) -> Ornament:
        whole = Rect.union(shape.box for shape in ornament.shapes)
        kept = ornament.name.endswith(PHASES)  # a moon is not mirrored
        by = laid(whole).x - whole.x

        def at(box: Rect) -> Rect:
            return box.moved(by, 0) if kept else laid(box)

        shapes = (one._replace(box=at(one.box), hull=at(one.hull)) for one in ornament.shapes)
        return replace(ornament, shapes=tuple(shapes))

    return tuple(map(printed, ornaments))


def subject_of(folder: Path, season: SeasonPlan) -> Subject:
    """The set in a folder, with what the season plans for it.

    Raises UserError when the folder holds no set, or one that the season does not ask for.
    """
    contents, collection = read_contents(folder), season.collection
    names = (contents.set.name, contents.period.name, contents.language, contents.binder.name)
    for plan in season.sets:
        if (plan.name, plan.period.name, plan.language, plan.binder.name) == names:
            break
    else:
        raise UserError(
            str(folder), "the season does not ask for this set (any more)", "build the season again"
        )
    return Subject(
        folder,
        contents,
        plan,
        collection,
        season.season.limits,
        season.printer,
        collection.labels_by_file(),
        tuple(season.season.language),
        {paper.name: paper.title for paper in season.papers},
        None if (days := season.season.almanac) is None else Almanac(days, contents.language),
    )


_SHAPES = frozenset(
    SVG + name
    for name in ("path", "rect", "circle", "ellipse", "line", "polyline", "polygon", "image")
)
_PATHS = _SHAPES - {SVG + "image"}
_UNPAINTED = frozenset(SVG + name for name in ("defs", "clipPath", "mask", "pattern", "symbol"))


@lru_cache(maxsize=256)
def _drawn(
    file: TemplateFile,
    side: Side,
    flap_mm: float,
    binder: Binder,
    bleeds: tuple[float, ...],
    tab: Tab | None,
    text_keys: frozenset[str],
    grid_keys: frozenset[str],
    flags: frozenset[str],
    counts: tuple[tuple[str, int], ...],
) -> Slots:
    """The places as they are drawn, bound on the left, in mm of the page."""
    keys = Facts(
        "",
        dict.fromkeys(text_keys, ()),
        dict.fromkeys(flags, True),
        dict.fromkeys(grid_keys, NO_MONTH),
        counts=dict(counts),
    )
    panels = text_areas(side, flap_mm, binder, tab)
    texts: list[Slot] = []
    grids: list[Slot] = []
    taken: set[etree._Element] = set()
    shapes = 0
    size = binder.width_mm + flap_mm, binder.height_mm
    root = on_leaf(
        repeated(trimmed(read_template(file), size, bleeds), keys), tab, side, flap_mm
    ).root
    for element, shown, unpainted in _walk(root):
        if not taken.isdisjoint(lineage(element)):
            continue
        shapes += (
            element.tag in _SHAPES
            and not shown
            and not unpainted
            and not (element.tag != SVG + "image" and is_unpainted(element))
        )
        given = tuple(name[5:] for _, name in shown)
        for name in names(element):
            rect = element.find(f".//{SVG}rect") if name in grid_keys else None
            room = room_of(element, panels, "") if name in text_keys else None
            if rect is not None:
                area = page_matrix(rect).bounds(rect_of(rect))
                grids.append(Slot(name, area, area, flags=given))
            elif room is not None:
                text = find_text(element)
                assert text is not None
                sample = " ".join("".join(map(str, text.itertext())).split())
                matrix = page_matrix(text)
                turned = math.degrees(math.atan2(matrix.b, matrix.a))
                style = _style(text)
                texts.append(Slot(name, *_line(room, text), sample, given, turned, style))
            else:
                continue
            taken.add(element)
            break
    return Slots(
        tuple(texts), tuple(grids), shapes, tuple(_ornaments(root)), tuple(_links_in(root))
    )


LINK = "link-"


def _links_in(root: etree._Element) -> Iterator[tuple[str, Rect]]:
    """Whatever is named ``link-…``, and the box of its ink in mm of the page."""
    for element in root.iter():
        for name in names(element):
            box = box_of_ink(element) if name.startswith(LINK) else None
            if box is not None:
                yield name, box


def _style(text: etree._Element) -> Style | None:
    """How a text is set, where all of it is set in one way."""
    while len(text) == 1 and not any(map(str.strip, (text.text or "", text[0].tail or ""))):
        text = text[0]
    return None if len(text) else computed_style(text)


MITRE = 2.0
"""A line reaches past its path by at most so many of its widths: SVG's own limit for corners is 4
half widths (SVG 2, 13.5.4), and pdfium reckons with it."""
_SLACK_MM = 0.3
"""Boxes so near to each other may be those of one shape; what is painted has a line's width."""


def _ornaments(root: etree._Element) -> Iterator[Ornament]:
    """What a template draws for some days alone, but for moons, each of which is another."""
    on_some: dict[_Shown, list[etree._Element]] = {}
    on_all: list[etree._Element] = []
    for element, shown, unpainted in _walk(root):
        moon = any(name.rstrip("-0123456789").endswith(MOON_DISC) for name in names(element))
        if element.tag in _PATHS and not unpainted and not moon:
            (on_some.setdefault(shown, []) if shown else on_all).append(element)
    drawn = {shown: _shapes(elements) for shown, elements in on_some.items()}
    places = _edges(one.box for shapes in drawn.values() for one in shapes)
    always = _shapes(on_all, places) if drawn else []
    boxes, hulls = _edges(one.box for one in always), _edges(one.hull for one in always)
    slack = np.array(_SLACK_MM)
    for shown, shapes in drawn.items():
        own = [
            one for one in shapes if not near(boxes, hulls, np.array(one.box.edges), slack).any()
        ]
        if own:
            flags = tuple(name[5:] for _, name in shown)
            yield Ornament(shown[0][1], flags, tuple(own))


_Shown = tuple[tuple[etree._Element, str], ...]
"""The names that begin with ``show-`` of an element and all around it, the innermost first."""


def _walk(root: etree._Element) -> Iterator[tuple[etree._Element, _Shown, bool]]:
    """Every element in order, when it is shown, and whether it is painted only where it is used."""
    ahead: list[tuple[etree._Element, _Shown, bool]] = [(root, (), False)]
    while ahead:
        element, shown, unpainted = ahead.pop()
        own = ((element, name) for name in names(element) if name.startswith("show-"))
        shown, unpainted = (*own, *shown), unpainted or element.tag in _UNPAINTED
        yield element, shown, unpainted
        ahead += ((child, shown, unpainted) for child in reversed(element))


def _edges(boxes: Iterable[Rect]) -> Numbers:
    """Left, top, right and bottom, mm: a row for each box."""
    return np.array([box.edges for box in boxes]).reshape(-1, 4)


def _shapes(elements: Iterable[etree._Element], places: Numbers | None = None) -> list[Shape]:
    """The plain shapes among elements; with ``places``, boxes' edges in mm, those there alone."""
    return [shape for one in elements if (shape := _shape(one, places)) is not None]


def _shape(element: etree._Element, places: Numbers | None) -> Shape | None:
    """A shape painted in a plain colour and by no clip or mask, as it lies on its page."""
    paints = [inherited(element, name) or "" for name in ("fill", "stroke")]
    plain = next((paint for paint in paints if _HEX.fullmatch(paint)), None)
    if plain is None or any(
        step.get("clip-path", "none") != "none" or step.get("mask", "none") != "none"
        for step in lineage(element)
    ):
        return None
    data, matrix = outline(element), page_matrix(element)
    width = (
        0.0 if paints[1] in ("", "none") else length(inherited(element, "stroke-width"), default=1)
    )
    line = width * matrix.scale_x
    if matrix.b or matrix.c:  # a box that is turned is not the box of what is turned
        data, matrix = data.moved(matrix.point), Matrix()
    box, hull = (each and matrix.bounds(each) for each in _boxes(data))
    if box is None or hull is None or (places is not None and not _reaches(hull, places)):
        return None
    red, green, blue = bytes.fromhex(plain[1:])
    return Shape(box, hull, (red, green, blue), line)


@lru_cache(maxsize=4096)
def _boxes(data: PathData) -> tuple[Rect | None, Rect | None]:
    """The box of a path and that of its control points: a sample has the same ones many times."""
    return tight_box(data), data.hull


def _reaches(hull: Rect, places: Numbers) -> bool:
    """Whether a shape with these control points can have a box in one of the places."""
    return bool(_within(places, np.array(hull.edges), np.array(_SLACK_MM)).all(axis=-1).any())


_HEX = re.compile("#[0-9a-fA-F]{6}")


def _line(room: Room, text: etree._Element) -> tuple[Rect, Rect]:
    """Where the middle of a text's ink can lie (a little wider than its box), and the box itself.

    The room's ``ink`` is the generous box that filling keeps free, an em wider on either side.
    """
    ink, matrix = room.ink, page_matrix(text)
    if abs(matrix.b) > 0.1 * abs(matrix.a):
        return ink, ink  # turned on the page
    em = room.style.size * matrix.scale_y
    y, height = ink.y + 0.35 * em, ink.height - 0.8 * em
    area = Rect(ink.x + 0.7 * em, y, ink.width - 1.4 * em, height)
    return area, Rect(ink.x + em, y, ink.width - 2 * em, height)
