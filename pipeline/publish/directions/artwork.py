"""The templates that directions are drawn from, and the parts of their pictures that a set decides.

A template is the maker's own, or the program's. A set decides where it is cut, how its
piles lie and where its holes are.
"""

from __future__ import annotations

import difflib
from collections.abc import Callable, Collection, Mapping, Sequence
from dataclasses import dataclass, replace
from pathlib import Path

from lxml import etree

import pipeline
from pipeline.base.errors import UserError, did_you_mean
from pipeline.base.folders import whole_folder
from pipeline.base.geometry import Rect
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
from pipeline.plan.model import Binder, Paper
from pipeline.publish.directions.steps import Account
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


PAPER, OUTLINE, LEAF, ACCENT = "#ffffff", "#858b80", "#ebf2e5", "#6f8f5f"
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


@dataclass(frozen=True)
class Figures:
    """How a picture writes numbers: in the language's own figures, in the style of its sample."""

    write: Callable[[int], str]
    sample: Sample

    def at(
        self,
        number: int | str,
        x: float,
        y: float,
        size: float | None = None,
        anchor: str = "middle",
    ) -> etree._Element:
        """A number at a point (mm), which is in the middle of its height."""
        text = number if isinstance(number, str) else self.write(number)
        size = size or self.sample.style.size
        return self.sample.text(text, x, y + 0.35 * size, size=size, anchor=anchor)


@dataclass(frozen=True)
class _Laid:
    """A small sheet: where it is drawn, and how much smaller than it is."""

    at: tuple[float, float]
    scale: float
    size: tuple[float, float]

    def rect(self, rect: Rect) -> Rect:
        x, y = self.at
        return Rect(
            x + rect.x * self.scale,
            y + rect.y * self.scale,
            rect.width * self.scale,
            rect.height * self.scale,
        )

    @property
    def whole(self) -> Rect:
        return self.rect(Rect(0, 0, *self.size))


def cuts(account: Account, area: Rect, figures: Figures, mirrored: bool) -> list[etree._Element]:
    """Every heap's sheet with its cuts, numbered in their order; what is cut apart says which.

    ``mirrored`` tells that the page will be mirrored afterwards, which these must survive.
    """
    heaps = account.heaps
    drawn: list[etree._Element] = []
    number = 0
    caption = CAPTION_MM + 1 if len(heaps) > 1 else 0.0
    for heap, laid in zip(
        heaps, _laid_out(account, area, LABEL_ROOM_MM, caption, len(heaps)), strict=True
    ):
        flats = _seen(heap.flats, account, mirrored)
        drawn += _sheet(laid, flats)
        order = cut_order(flats, *account.sheet_mm)
        for cut in order:
            number += 1
            beside = [other for other in order if other.across is cut.across]
            crowded = any(_nearer(other, laid) for other in beside)
            drawn += _numbered(cut, number, laid, figures, crowded)
        if len(heaps) > 1:
            write = figures.write
            names = {write(heap.first): None, write(heap.last): None}
            y = laid.whole.bottom + LABEL_ROOM_MM + CAPTION_MM / 2 + 0.4
            middle = laid.whole.x + laid.whole.width / 2
            drawn.append(figures.at("–".join(names), middle, y, CAPTION_MM))
    return drawn


def piles(account: Account, area: Rect, figures: Figures, mirrored: bool) -> list[etree._Element]:
    """Every heap's sheet with its piles, numbered in the order they are laid on one another."""
    drawn: list[etree._Element] = []
    number = 0
    for heap, laid in zip(
        account.heaps, _laid_out(account, area, 0.2, 0.0, len(account.heaps)), strict=True
    ):
        drawn += _sheet(laid, _seen(heap.flats, account, mirrored))
        for flat in _seen(heap.flats, account, mirrored):
            number += 1
            rect = laid.rect(flat)
            size = min(figures.sample.style.size, rect.height * 0.7, rect.width * 0.9)
            drawn.append(
                figures.at(number, rect.x + rect.width / 2, rect.y + rect.height / 2, size)
            )
    return drawn


def pile(account: Account, area: Rect, figures: Figures) -> list[etree._Element]:
    """The piles on one another, the first on top."""
    count = account.piles
    step = min(MOST_STEP_MM, area.height / (count + 1))
    depth = min(area.height - step * (count - 1), 1.5 * step)
    top = area.y + (area.height - step * (count - 1) - depth) / 2
    lean = area.width * 0.2
    drawn: list[etree._Element] = []
    for number in range(count, 0, -1):
        y = top + step * (number - 1)
        corners = (
            f"M{area.x + lean:.3f} {y:.3f}H{area.right:.3f}"
            f"L{area.right - lean:.3f} {y + depth:.3f}H{area.x:.3f}Z"
        )
        drawn.append(_path(corners, OUTLINE, LINE_MM, fill=PAPER))
        size = min(figures.sample.style.size, 0.86 * step)
        at = (area.x + area.width / 2 - lean * 0.2, y + depth - step / 2)
        drawn.append(figures.at(number, *at, size))
    return drawn


def holes(binder: Binder, strip: etree._Element) -> list[etree._Element]:
    """A leaf's holes along the middle of a strip that is as high as the leaf, in its style."""
    area = rect_of(strip)
    radius = max(binder.holes.diameter_mm * area.height / binder.height_mm / 2, LEAST_HOLE_MM)
    return [
        etree.Element(
            SVG + "circle",
            {
                **_style(strip),
                "cx": f"{area.x + area.width / 2:.3f}",
                "cy": f"{y:.3f}",
                "r": f"{radius:.3f}",
            },
        )
        for y in _hole_places(binder, area)
    ]


def rings(binder: Binder, strip: etree._Element) -> list[etree._Element]:
    """The rings of an open binder, each from one edge of a strip to the other, in its style."""
    area = rect_of(strip)
    rise = RING_RISE * area.width
    return [
        etree.Element(
            SVG + "path",
            {
                **_style(strip),
                "d": f"M{area.x:.3f} {y + rise / 2:.3f}"
                f"C{area.x:.3f} {y - rise:.3f} {area.right:.3f} {y - rise:.3f} "
                f"{area.right:.3f} {y + rise / 2:.3f}",
            },
        )
        for y in _hole_places(binder, area)
    ]


def _hole_places(binder: Binder, area: Rect) -> list[float]:
    return [area.y + centre * area.height / binder.height_mm for centre in binder.holes.centres_mm]


def _style(strip: etree._Element) -> dict[str, str]:
    found = {name: inherited(strip, name) for name in ("fill", "stroke", "stroke-width")}
    return {name: value for name, value in found.items() if value is not None}


def _laid_out(account: Account, area: Rect, room: float, caption: float, count: int) -> list[_Laid]:
    """``count`` small sheets side by side, as large as they can be, in the middle of the area."""
    width, height = account.sheet_mm
    across = (area.width - BETWEEN_MM * (count - 1)) / count - 2 * room
    scale = min(across / width, (area.height - 2 * room - caption) / height)
    each = width * scale + 2 * room
    x = area.x + (area.width - each * count - BETWEEN_MM * (count - 1)) / 2
    y = area.y + (area.height - caption - height * scale) / 2
    return [
        _Laid((x + room + number * (each + BETWEEN_MM), y), scale, (width, height))
        for number in range(count)
    ]


def _seen(flats: Sequence[Rect], account: Account, mirrored: bool) -> list[Rect]:
    width, _ = account.sheet_mm
    return [flat.mirrored_x(width) if mirrored else flat for flat in flats]


def _sheet(laid: _Laid, flats: Sequence[Rect]) -> list[etree._Element]:
    paper = _box(laid.whole, PAPER, OUTLINE)
    return [paper, *(_box(laid.rect(flat), LEAF, "none") for flat in flats)]


def _nearer(cut: Cut, laid: _Laid) -> int:
    """The edge a cut is nearer to: -1 for the left or upper, 1 for the other, 0 for neither."""
    before = cut.spans[0][0]
    after = laid.size[0 if cut.across else 1] - cut.spans[-1][1]
    return (before > after) - (before < after) if abs(before - after) > 1 else 0


def _numbered(
    cut: Cut, number: int, laid: _Laid, figures: Figures, crowded: bool
) -> list[etree._Element]:
    """One cut and its number, which stands at the edge the cut is nearer to.

    Where it is as near to both, odd numbers stand at one edge and even ones opposite, so that
    those of neighbours do not meet; or all at one, where numbers of shorter cuts are ``crowded``
    in.
    """
    sheet = laid.whole
    at = cut.at * laid.scale + (sheet.y if cut.across else sheet.x)
    start, end = (sheet.x, sheet.right) if cut.across else (sheet.y, sheet.bottom)
    spans = [(start + low * laid.scale, start + high * laid.scale) for low, high in cut.spans]
    nearer = _nearer(cut, laid)
    at_start = nearer < 0 or (nearer == 0 and (crowded or number % 2 == 1))
    tail = (start - OVERHANG_MM, start) if at_start else (end, end + OVERHANG_MM)
    parts = [
        _line(near, at, far, at) if cut.across else _line(at, near, at, far)
        for near, far in (*spans, tail)
    ]
    if cut.across:
        x = tail[0] - LABEL_GAP_MM if at_start else tail[1] + LABEL_GAP_MM
        parts.append(figures.at(number, x, at, anchor="end" if at_start else "start"))
    else:
        half = figures.sample.style.size * 0.35 + LABEL_GAP_MM
        parts.append(figures.at(number, at, tail[0] - half if at_start else tail[1] + half))
    return parts


def _box(rect: Rect, fill: str, stroke: str) -> etree._Element:
    return etree.Element(
        SVG + "rect",
        {
            "x": f"{rect.x:.3f}",
            "y": f"{rect.y:.3f}",
            "width": f"{rect.width:.3f}",
            "height": f"{rect.height:.3f}",
            "fill": fill,
            "stroke": stroke,
            "stroke-width": f"{LINE_MM:g}",
        },
    )


def _line(x1: float, y1: float, x2: float, y2: float) -> etree._Element:
    line = _path(f"M{x1:.3f} {y1:.3f}L{x2:.3f} {y2:.3f}", ACCENT, LINE_MM)
    line.set("stroke-dasharray", DASHES)
    return line


def _path(d: str, stroke: str, width: float, fill: str = "none") -> etree._Element:
    return etree.Element(
        SVG + "path", {"d": d, "fill": fill, "stroke": stroke, "stroke-width": f"{width:g}"}
    )
