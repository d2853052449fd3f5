"""The templates that directions are drawn from, and the parts of their pictures that a set decides.

A template is the maker's own, or the program's. A set decides where it is cut, how its
piles lie and where its holes are.
"""

from __future__ import annotations

import difflib
from collections.abc import Callable, Collection, Iterator, Mapping
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
from pipeline.impose.bench import Cut, cut_order
from pipeline.impose.contents import BinderNote
from pipeline.plan.collection import read_collection
from pipeline.plan.model import Binder, Paper, Side
from pipeline.publish.directions.steps import Account, Heap
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
            _no_slips(template, where, (*PAGE_PARTS, *PAGE_WORDS))
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
    usual = read_collection(_usual().parent)
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
    here = Path(pipeline.__file__).parent
    # In a checkout the carried collections lie beside the package, in a wheel inside it.
    shelves = (here / "templates_svg", here.parent / "templates_svg")
    folders = [shelf / "kitchen_garden" / FOLDER for shelf in shelves]
    return next(folder for folder in folders if folder.is_dir())


PAPER, OUTLINE, LEAF, ACCENT, RULE = "#ffffff", "#858b80", "#ebf2e5", "#6f8f5f", "#b4b9af"
# Proportions of the diagrams, chosen by eye.
LINE_MM = 0.26
DASHES = "0.8 0.6"
LABEL_ROOM_MM = 3.4
CAPTION_MM = 2.4
BETWEEN_MM = 1.6
OVERHANG_MM = 0.8
LABEL_GAP_MM = 0.35
LEAST_HOLE_MM = 0.55
RING_RISE = 0.34
MOST_STEP_MM = 4.6
FOLDS_APART_MM = 3.0
FLAP_RISE_MM = 1.8


@dataclass(frozen=True)
class Diagram:
    """Draws what a set decides into ``area`` (page mm).

    Numbers are in the style of ``sample``, in the figures that ``write`` gives. ``mirrored`` tells
    that the page will be mirrored afterwards, which sheets must survive.
    """

    account: Account
    area: Rect
    sample: Sample
    write: Callable[[int], str]
    mirrored: bool
    captions: Mapping[str, str]

    def cuts(self) -> Iterator[etree._Element]:
        """Every heap's sheet with its cuts, numbered in their order; what is cut apart says which
        sheets it is for."""
        heaps = self.account.heaps
        number = 0
        for heap, sheet, scale, flats in self._sheets(
            LABEL_ROOM_MM, CAPTION_MM + 1 if len(heaps) > 1 else 0.0
        ):
            yield from (_box(sheet, PAPER, OUTLINE), *(_box(flat, LEAF) for flat in flats))
            order = cut_order(self._seen(heap), *self.account.sheet_mm)
            for cut in order:
                number += 1
                crowded = any(self._nearer(one) for one in order if one.across is cut.across)
                yield from self._numbered(cut, number, sheet, scale, crowded)
            if len(heaps) > 1:
                ends = dict.fromkeys((self.write(heap.first), self.write(heap.last)))
                y = sheet.bottom + LABEL_ROOM_MM + CAPTION_MM / 2 + 0.4
                yield self._label("–".join(ends), sheet.x + sheet.width / 2, y, CAPTION_MM)

    def piles(self) -> Iterator[etree._Element]:
        """Every heap's sheet with its piles, numbered in the order they are laid on one another."""
        number = 0
        for _, sheet, _, flats in self._sheets(0.2, 0.0):
            yield from (_box(sheet, PAPER, OUTLINE), *(_box(flat, LEAF) for flat in flats))
            for flat in flats:
                number += 1
                size = min(self.sample.style.size, flat.height * 0.7, flat.width * 0.9)
                middle = flat.x + flat.width / 2, flat.y + flat.height / 2
                yield self._label(self.write(number), *middle, size)

    def pile(self) -> Iterator[etree._Element]:
        """The piles on one another, the first on top."""
        area, count = self.area, self.account.piles
        step = min(MOST_STEP_MM, area.height / (count + 1))
        depth = min(area.height - step * (count - 1), 1.5 * step)
        top = area.y + (area.height - step * (count - 1) - depth) / 2
        lean = area.width * 0.2
        size = min(self.sample.style.size, 0.86 * step)
        for number in range(count, 0, -1):
            y = top + step * (number - 1)
            corners = (
                f"M{area.x + lean:.3f} {y:.3f}H{area.right:.3f}"
                f"L{area.right - lean:.3f} {y + depth:.3f}H{area.x:.3f}Z"
            )
            yield _drawn("path", d=corners, fill=PAPER, stroke=OUTLINE)
            at = (area.x + area.width / 2 - lean * 0.2, y + depth - step / 2)
            yield self._label(self.write(number), *at, size)

    def folds(self) -> Iterator[etree._Element]:
        """For each face that flaps fold over, a leaf with that face up: its page, its holes, and
        its flap half shut. Below it what the face is called, and the leaves where not all fold
        alike."""
        account, contents = self.account, self.account.contents
        to, binder = account.folds_to, contents.binder
        caption = CAPTION_MM * 1.3
        each = (self.area.width - FOLDS_APART_MM * (len(to) - 1)) / max(len(to), 1)
        flap_mm = max(account.flaps_mm, default=0.0)
        high = self.area.height - caption * (2 if len(to) > 1 else 1) - FLAP_RISE_MM
        scale = min(each / (binder.width_mm + flap_mm), high / binder.height_mm)
        for number, (face, leaves) in enumerate(to.items()):
            wide, flap = binder.width_mm * scale, flap_mm * scale
            x = self.area.x + number * (each + FOLDS_APART_MM) + (each - wide - flap) / 2
            page = Rect(x, self.area.y + FLAP_RISE_MM, wide, binder.height_mm * scale)
            middle = x + (wide + flap) / 2
            yield from self._folding(page, flap, over_back=face is Side.VERSO)
            name = self.captions["front" if face is Side.RECTO else "back"]
            yield self._label(name, middle, page.bottom + caption * 0.7, CAPTION_MM)
            if len(to) > 1:
                shown = [self.write(one) for one in leaves[:3]] + ["…"] * (len(leaves) > 3)
                y = page.bottom + caption * 1.6
                yield self._label(", ".join(shown), middle, y, CAPTION_MM)

    def _folding(self, page: Rect, flap: float, *, over_back: bool) -> Iterator[etree._Element]:
        """A leaf whose flap is being folded over the face one looks at; its back has the holes on
        the other side."""
        binder = self.account.contents.binder
        turn = f"matrix(-1 0 0 1 {2 * page.x + page.width + flap:.3f} 0)" if over_back else ""
        group = etree.Element(SVG + "g", {"transform": turn} if turn else {})
        group.append(_box(page, PAPER, OUTLINE))
        radius = max(binder.holes.diameter_mm * page.width / binder.width_mm / 2, LEAST_HOLE_MM)
        across = binder.holes.edge_mm * page.width / binder.width_mm
        for y in _hole_places(binder, page):
            at = {"cx": f"{page.x + across:.3f}", "cy": f"{y:.3f}", "r": f"{radius:.3f}"}
            group.append(_drawn("circle", **at, fill=PAPER, stroke=OUTLINE))
        for part in (0.2, 0.35, 0.5, 0.65, 0.8):
            y = page.y + page.height * part
            rule = f"M{page.x + across * 2.4:.3f} {y:.3f}H{page.right - 1.2:.3f}"
            group.append(_drawn("path", d=rule, fill="none", stroke=RULE))
        edge, rise = page.right + flap, FLAP_RISE_MM
        lifted = (
            f"M{page.right:.3f} {page.y:.3f}L{edge:.3f} {page.y - rise:.3f}"
            f"V{page.bottom - rise:.3f}L{page.right:.3f} {page.bottom:.3f}Z"
        )
        group.append(_drawn("path", d=lifted, fill=LEAF, stroke=OUTLINE))
        tip, y = page.right - 0.6 * flap, page.y + 0.3 * page.height
        arrow = (
            f"M{edge - 0.3 * flap:.3f} {y - rise:.3f}"
            f"C{edge - 0.5 * flap:.3f} {y - 2.2 * rise:.3f} "
            f"{tip + 0.3:.3f} {y - 2.2 * rise:.3f} {tip:.3f} {y:.3f}"
            f"M{tip + 1.3:.3f} {y - 0.9:.3f}L{tip:.3f} {y:.3f}L{tip - 0.35:.3f} {y - 1.55:.3f}"
        )
        group.append(_drawn("path", d=arrow, fill="none", stroke=ACCENT))
        yield group

    def _label(
        self, text: str, x: float, y: float, size: float, anchor: str = "middle"
    ) -> etree._Element:
        """A label at a point, which is in the middle of its height."""
        return self.sample.text(text, x, y + 0.35 * size, size=size, anchor=anchor)

    def _seen(self, heap: Heap) -> list[Rect]:
        width, _ = self.account.sheet_mm
        return [flat.mirrored_x(width) if self.mirrored else flat for flat in heap.flats]

    def _sheets(
        self, room: float, caption: float
    ) -> Iterator[tuple[Heap, Rect, float, list[Rect]]]:
        """The heaps' sheets side by side, as large as they can be, in the middle of the area.

        Gives each heap with where its sheet is drawn, how much smaller than it is, and where its
        leaves are.
        """
        area, heaps = self.area, self.account.heaps
        width, height = self.account.sheet_mm
        between = BETWEEN_MM * (len(heaps) - 1)
        across = (area.width - between) / len(heaps) - 2 * room
        scale = min(across / width, (area.height - 2 * room - caption) / height)
        each = width * scale + 2 * room
        left = area.x + (area.width - each * len(heaps) - between) / 2
        y = area.y + (area.height - caption - height * scale) / 2
        for number, heap in enumerate(heaps):
            x = left + room + number * (each + BETWEEN_MM)
            sheet, *flats = (
                Rect(x + r.x * scale, y + r.y * scale, r.width * scale, r.height * scale)
                for r in (Rect(0, 0, width, height), *self._seen(heap))
            )
            yield heap, sheet, scale, flats

    def _nearer(self, cut: Cut) -> int:
        """The edge a cut is nearer to: -1 for the left or upper, 1 for the other, 0 for neither."""
        before = cut.spans[0][0]
        after = self.account.sheet_mm[0 if cut.across else 1] - cut.spans[-1][1]
        return (before > after) - (before < after) if abs(before - after) > 1 else 0

    def _numbered(
        self, cut: Cut, number: int, sheet: Rect, scale: float, crowded: bool
    ) -> Iterator[etree._Element]:
        """One cut and its number, which stands at the edge the cut is nearer to.

        Where it is as near to both, odd numbers stand at one edge and even ones opposite, so that
        those of neighbours do not meet; or all at one, where numbers of shorter cuts are
        ``crowded`` in.
        """
        at = cut.at * scale + (sheet.y if cut.across else sheet.x)
        start, end = (sheet.x, sheet.right) if cut.across else (sheet.y, sheet.bottom)
        spans = [(start + low * scale, start + high * scale) for low, high in cut.spans]
        nearer = self._nearer(cut)
        at_start = nearer < 0 or (nearer == 0 and (crowded or number % 2 == 1))
        tail = (start - OVERHANG_MM, start) if at_start else (end, end + OVERHANG_MM)
        for near, far in (*spans, tail):
            ends = [(along, at) if cut.across else (at, along) for along in (near, far)]
            (x1, y1), (x2, y2) = ends
            line = f"M{x1:.3f} {y1:.3f}L{x2:.3f} {y2:.3f}"
            dashed = {"stroke-dasharray": DASHES}
            yield _drawn("path", d=line, fill="none", stroke=ACCENT, **dashed)
        size = self.sample.style.size
        away = LABEL_GAP_MM if cut.across else size * 0.35 + LABEL_GAP_MM
        along = tail[0] - away if at_start else tail[1] + away
        if cut.across:
            anchor = "end" if at_start else "start"
            yield self._label(self.write(number), along, at, size, anchor)
        else:
            yield self._label(self.write(number), at, along, size)


def holes(binder: Binder, strip: etree._Element) -> Iterator[etree._Element]:
    """A leaf's holes along the middle of a strip that is as high as the leaf, in its style."""
    area = rect_of(strip)
    radius = max(binder.holes.diameter_mm * area.height / binder.height_mm / 2, LEAST_HOLE_MM)
    for y in _hole_places(binder, area):
        place = {"cx": f"{area.x + area.width / 2:.3f}", "cy": f"{y:.3f}", "r": f"{radius:.3f}"}
        yield etree.Element(SVG + "circle", _style(strip) | place)


def rings(binder: Binder, strip: etree._Element) -> Iterator[etree._Element]:
    """The rings of an open binder, each from one edge of a strip to the other, in its style."""
    area = rect_of(strip)
    rise = RING_RISE * area.width
    for y in _hole_places(binder, area):
        ring = (
            f"M{area.x:.3f} {y + rise / 2:.3f}"
            f"C{area.x:.3f} {y - rise:.3f} {area.right:.3f} {y - rise:.3f} "
            f"{area.right:.3f} {y + rise / 2:.3f}"
        )
        yield etree.Element(SVG + "path", _style(strip) | {"d": ring})


def _hole_places(binder: Binder | BinderNote, area: Rect) -> list[float]:
    return [area.y + centre * area.height / binder.height_mm for centre in binder.holes.centres_mm]


def _style(strip: etree._Element) -> dict[str, str]:
    found = {name: inherited(strip, name) for name in ("fill", "stroke", "stroke-width")}
    return {name: value for name, value in found.items() if value is not None}


def _box(rect: Rect, fill: str, stroke: str = "none") -> etree._Element:
    place = {name: f"{value:.3f}" for name, value in rect._asdict().items()}
    return _drawn("rect", **place, fill=fill, stroke=stroke)


def _drawn(tag: str, **attributes: str) -> etree._Element:
    return etree.Element(SVG + tag, {**attributes, "stroke-width": f"{LINE_MM:g}"})
