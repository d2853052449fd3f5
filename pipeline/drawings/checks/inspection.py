"""A drawing as its rules look at it, in its plain form, with how it is used; and what they find."""

from __future__ import annotations

import copy
import functools
import math
from collections import Counter
from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import NamedTuple

from lxml import etree

from pipeline.base.errors import UserError
from pipeline.base.findings import DRAWING_RULES, Finding, Severity
from pipeline.base.geometry import Rect
from pipeline.drawings.checks.sourcetext import Edit, SourceText, number_of
from pipeline.drawings.checks.usage import ALL_KEYS, Usage, guessed_kind
from pipeline.fill.keys import names_of
from pipeline.fill.template import Template, computed_style
from pipeline.impose.leaf import LeafFace, LeafGeometry
from pipeline.plan.facts import in_month
from pipeline.plan.model import Side
from pipeline.svg.paint import Colour, share
from pipeline.svg.path import SHAPES, outline
from pipeline.svg.styles import resolve_styles
from pipeline.svg.transform import Matrix
from pipeline.svg.tree import DEFINITIONS, SVG, inherited, lineage, names, page_matrix
from pipeline.text.fonts import FontBook
from pipeline.text.shape import advance
from pipeline.text.style import length


class AskedLabel(NamedTuple):
    """A label that a page asks for: what is ``drawn`` there, and what it says in each language by
    its tag, "" where it says nothing yet."""

    key: str
    drawn: str
    words: tuple[tuple[str, str], ...]


@dataclass(frozen=True)
class DrawingFinding(Finding):
    """One thing about a drawing, which lint prints as a line.

    ``line`` counts from 1, 0 where no line is meant. ``element`` is the id of the element, or of
    the nearest around it that has one. ``count`` is how many things it stands for, the first of
    which is named. ``edits`` mend it, where that is mechanical; ``place`` is where the first is on
    its page, mm; ``label`` is the one it asks for, where that is what is wrong.

    >>> str(DrawingFinding("fold", "runs across the fold", Path("a5/week.svg"), 7, "note"))
    "a5/week.svg:7: mend (fold) 'note' runs across the fold; move it wholly to one side of the fold"
    """

    rules = DRAWING_RULES

    file: Path
    line: int = 0
    element: str = ""
    count: int = 1
    edits: tuple[Edit, ...] = ()
    place: Rect | None = None
    label: AskedLabel | None = None

    def __str__(self) -> str:
        where = f"{self.file}:{self.line}" if self.line else str(self.file)
        named = f" {self.element!r}" if self.element else ""
        return f"{where}: {self.word} ({self.rule}){named} {self.message}; {self.what_to_do}"

    @property
    def word(self) -> str:
        """How bad it is, as it is printed: what must be mended is to "mend"."""
        return "mend" if self.severity is Severity.MUST else self.severity.value

    @property
    def mendable(self) -> bool:
        """Whether ``--mend`` can do it."""
        return bool(self.edits)

    def as_json(self) -> dict[str, object]:
        """The same for programs."""
        return {
            "severity": self.word,
            "rule": self.rule,
            "file": self.file.as_posix(),
            "line": self.line,
            "element": self.element,
            "message": self.message,
            "remedy": self.what_to_do,
            "count": self.count,
            "mendable": self.mendable,
        }


def summary(pages: int, findings: Sequence[DrawingFinding], mended: int = 0) -> str:
    """The last line: how many pages were looked at, and what there is to do.

    >>> summary(2, [], mended=3)
    '2 pages, 3 places mended: nothing to mend'
    """
    counts = Counter(one.severity for one in findings)
    words = ((Severity.MUST, "to mend"), (Severity.LOOK, "to look at"), (Severity.NOTE, "to know"))
    said = ", ".join(f"{counts[severity]} {what}" for severity, what in words if counts[severity])
    if not counts[Severity.MUST]:
        said = "nothing to mend" + (f", {said}" if said else "")
    mendable = sum(one.mendable for one in findings)
    if mendable:
        said += f" ({mendable} by --mend)"
    head = _counted(pages, "page") + (f", {_counted(mended, 'place')} mended" if mended else "")
    return f"{head}: {said}"


def _counted(count: int, what: str) -> str:
    return f"{count} {what}" if count == 1 else f"{count} {what}s"


_ASCENT, _DESCENT = 0.75, 0.22
"""How far letters reach above and below their baseline, as shares of their size (by eye)."""

SHAPE_TAGS = frozenset(SVG + name for name in SHAPES)


class Item(NamedTuple):
    """Something that is painted, and the matrix from its own units to mm on the page."""

    element: etree._Element
    matrix: Matrix


@dataclass(frozen=True)
class Inspection:
    """One template under the eyes of lint.

    ``raw`` is its tree as the editor saved it, ``template`` its plain form; both carry the
    elements' numbers. ``faces`` are the leaf's faces that the page can be on: one where its side
    is known, both where it is not, none where its size is not known.
    """

    usage: Usage
    source: SourceText
    raw: etree._Element
    template: Template
    book: FontBook

    def finding(
        self,
        rule: str,
        elements: Sequence[etree._Element],
        message: str,
        remedy: str = "",
        *,
        milder: Severity | None = None,
        edits: Iterable[Edit] = (),
    ) -> DrawingFinding:
        """One finding about elements alike, or about the whole page where there are none.

        The first is named, the others counted. ``remedy`` and ``milder`` are for what the rule
        itself does not fit.
        """
        number = number_of(elements[0]) if elements else None
        others = len(elements) - 1
        return DrawingFinding(
            rule,
            message + (f" (and {others} more)" if others > 0 else ""),
            self.usage.path,
            self.source.line(number) if number is not None else 0,
            _called(self.by_number[number]) if number is not None else "",
            max(1, len(elements)),
            tuple(edits),
            None if number is None else self._place_of(number),
            remedy=remedy,
            milder=milder,
        )

    def _place_of(self, number: int) -> Rect | None:
        """Where an element is on the page, all that it paints; None for what paints nothing."""
        boxes = list[Rect]()
        for item in self.painted:
            if any(number_of(step) == number for step in lineage(item.element)):
                boxes += item_boxes(item, self.book)
        return Rect.union(boxes) if boxes else None

    @functools.cached_property
    def named(self) -> tuple[tuple[etree._Element, tuple[str, ...]], ...]:
        """Elements of the plain form that go by names, in the order they are painted."""
        return tuple((each, own) for each in self.template.root.iter() if (own := names(each)))

    @functools.cached_property
    def taken_out(self) -> tuple[tuple[etree._Element, str, str], ...]:
        """Keys that are on no element of the plain form: the element as it was saved, its key, and
        what hides it: "itself", "group" (or a layer around it) or "guides"."""
        there = {name for _, own in self.named for name in own}
        lost = [
            (element, name)
            for element in self.by_number.values()
            for name in names_of([element.get("id")])
            if is_key(name) and name not in there
        ]
        if not lost:
            return ()
        styled = copy.deepcopy(self.raw)
        resolve_styles(styled)
        by_number = {number_of(element): element for element in styled.iter(etree.Element)}
        found = []
        for element, name in lost:
            steps = list(lineage(by_number[number_of(element)]))
            hidden = next((step for step in steps if step.get("display") == "none"), None)
            guides = any("guides" in names_of([step.get("id")]) for step in steps)
            if not any(step.tag in DEFINITIONS for step in steps) and (
                guides or hidden is not None
            ):
                why = "guides" if guides else "itself" if hidden is steps[0] else "group"
                found.append((element, name, why))
        return tuple(found)

    @functools.cached_property
    def by_number(self) -> dict[int, etree._Element]:
        """Elements as the editor saved them, by their place among all of the file's."""
        return dict(enumerate(self.raw.iter()))

    @functools.cached_property
    def kinds(self) -> tuple[str, ...]:
        """What kinds of pages it is used for, by the seasons, or else by the keys on it."""
        used = tuple(dict.fromkeys(use.kind for use in self.usage.uses))
        return used or (guessed_kind([name for _, own in self.named for name in own]),)

    @functools.cached_property
    def flap_mm(self) -> float:
        """The width of its flap: what the collection says, else what its width leaves."""
        binder, collection = self.usage.binder, self.usage.collection
        if binder is None:
            return 0.0
        if collection is not None:
            return collection.flap_mm(binder.name, self.usage.path.stem)
        return max(0.0, self.template.width_mm - binder.width_mm)

    @functools.cached_property
    def faces(self) -> tuple[LeafFace, ...]:
        """The faces of a leaf it can be drawn for."""
        binder = self.usage.binder
        if binder is None or not self.fits_binder:
            return ()
        try:
            leaf = LeafGeometry(binder, self.flap_mm)
        except UserError:
            return ()
        return tuple(leaf.face(side) for side in self.sides)

    @functools.cached_property
    def sides(self) -> tuple[Side, ...]:
        """The sides it is for: by the seasons, else by its name, else either."""
        used = tuple(dict.fromkeys(use.side for use in self.usage.uses))
        if used:
            return used
        tail = self.usage.path.stem.rpartition("-")[2]
        return (Side(tail),) if tail in tuple(Side) else tuple(Side)

    @property
    def side_is_known(self) -> bool:
        """Whether the page is surely on each of its ``sides``, and not on one or the other."""
        return bool(self.usage.uses) or len(self.sides) == 1

    @property
    def fits_binder(self) -> bool:
        """Whether the page is as large as its binder and flap ask for."""
        binder, page = self.usage.binder, self.template
        return (
            binder is not None
            and abs(page.width_mm - binder.width_mm - self.flap_mm) <= 0.1
            and abs(page.height_mm - binder.height_mm) <= 0.1
        )

    @functools.cached_property
    def painted(self) -> tuple[Item, ...]:
        """Shapes, texts and pictures that leave ink, with their places on the page."""
        return tuple(_painted(self.template.root))


def _painted(parent: etree._Element) -> Iterator[Item]:
    for child in parent:
        if child.tag in SHAPE_TAGS or child.tag in (SVG + "text", SVG + "image"):
            yield Item(child, page_matrix(child))
        elif child.tag not in DEFINITIONS:
            yield from _painted(child)


def _called(element: etree._Element) -> str:
    """The id of an element, or of the nearest around it that has one; "" at the top."""
    ids = (step.get("id") for step in lineage(element) if step.getparent() is not None)
    return next(filter(None, ids), "")


def property_of(element: etree._Element, name: str) -> str:
    """A property's value on an element, its own or inherited; "" where none is set."""
    return (inherited(element, name) or "").strip()


def is_stroked(element: etree._Element) -> bool:
    """Whether a shape or text has a stroke that is drawn."""
    width = length(property_of(element, "stroke-width"), default=1.0)
    return property_of(element, "stroke") not in ("", "none", "transparent") and width > 0


def is_key(name: str) -> bool:
    """Whether a name is the key of a text or a small month, of a label or of a list's line."""
    return in_month(name)[1] in ALL_KEYS or name.startswith(("label-", "line-of-"))


def item_boxes(item: Item, book: FontBook) -> list[Rect]:
    """The boxes of what is painted there, mm on the page, lines of text each in its own."""
    if item.element.tag == SVG + "text":
        return text_boxes(item, book)
    hull = outline(item.element).moved(item.matrix.point).hull
    return [hull] if hull is not None else []


def text_boxes(item: Item, book: FontBook) -> list[Rect]:
    """The boxes of a text's lines, mm on the page; none where its font is not there.

    Text on a path is left out: it lies where the path does.
    """
    boxes = []
    for run, words, x, y in lines_of(item.element):
        style = computed_style(run)
        try:
            width = advance(words, style, book)
        except UserError:
            continue
        anchor = inherited(run, "text-anchor") or "start"
        left = x - {"middle": width / 2, "end": width}.get(anchor, 0.0)
        top, height = y - _ASCENT * style.size, (_ASCENT + _DESCENT) * style.size
        boxes.append(item.matrix.bounds(Rect(left, top, width, height)))
    return boxes


def lines_of(text: etree._Element) -> Iterator[tuple[etree._Element, str, float, float]]:
    """A text's lines: what begins at a place of its own, with its words and that place."""
    x = y = 0.0
    words, run = "", text
    for element in text.iter():
        if element.tag == SVG + "textPath":
            return
        own = [_first(element.get(name)) for name in ("x", "y")]
        moves = [_first(element.get(name)) or 0.0 for name in ("dx", "dy")]
        if any(value is not None for value in own) or moves[1]:
            if words.strip():
                yield run, words.strip(), x, y
            x = (own[0] if own[0] is not None else x) + moves[0]
            y = (own[1] if own[1] is not None else y) + moves[1]
            words, run = "", element
        if not words.strip():
            run = element
        words += " ".join((element.text or "").split())
    if words.strip():
        yield run, words.strip(), x, y


def _first(value: str | None) -> float | None:
    parts = (value or "").replace(",", " ").split()
    return length(parts[0]) if parts else None


def is_inked(element: etree._Element) -> bool:
    """Whether a shape is filled or stroked at all, and seen."""
    if property_of(element, "visibility") in ("hidden", "collapse"):
        return False
    fill = property_of(element, "fill") or "black"
    return fill not in ("none", "transparent") or is_stroked(element)


def ink_of(element: etree._Element) -> list[Colour | None]:
    """What a shape, text or picture is painted with; None for what is not one flat colour.

    Opacities, its own and of the groups around it, are in the colours.
    """
    if element.tag == SVG + "image":
        return [None]
    if not is_inked(element):
        return []
    shares = [share(step.get("opacity")) for step in lineage(element)]
    found: list[Colour | None] = []
    for which in ("fill", "stroke"):
        paint = property_of(element, which) or {"fill": "black", "stroke": "none"}[which]
        if paint in ("none", "transparent") or (which == "stroke" and not is_stroked(element)):
            continue
        colour = Colour.read(paint)
        if colour is not None:
            alpha = colour.alpha * share(inherited(element, f"{which}-opacity")) * math.prod(shares)
            colour = colour._replace(alpha=alpha)
        found.append(colour)
    return found


def laid_on(colour: Colour, ground: Colour) -> Colour:
    """The colour that a half-clear one makes over an opaque ground.

    >>> str(laid_on(Colour(0, 0, 0, 0.5), Colour(255, 255, 255)))
    '#808080'
    """
    parts = (
        round(one * colour.alpha + other * (1 - colour.alpha))
        for one, other in zip(colour[:3], ground[:3], strict=True)
    )
    return Colour(*parts)


def contrast(colour: Colour, ground: Colour) -> float:
    """How a colour stands out from an opaque ground: 1 (not at all) to 21 (black on white).

    Source: W3C, WCAG 2.1, "contrast ratio" and "relative luminance".

    >>> contrast(Colour(0, 0, 0), Colour(255, 255, 255)), contrast(*[Colour(9, 9, 9)] * 2)
    (21.0, 1.0)
    """
    low, high = sorted((_luminance(laid_on(colour, ground)), _luminance(ground)))
    return (high + 0.05) / (low + 0.05)


def _luminance(colour: Colour) -> float:
    linear = [
        part / 12.92 if part <= 0.04045 else ((part + 0.055) / 1.055) ** 2.4
        for part in (value / 255 for value in colour[:3])
    ]
    return 0.2126 * linear[0] + 0.7152 * linear[1] + 0.0722 * linear[2]
