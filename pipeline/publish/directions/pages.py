"""Sets the directions on their pages: a page template, a picture a step, text broken into lines."""

from __future__ import annotations

import copy
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from types import MappingProxyType
from typing import NamedTuple

from lxml import etree

from pipeline.base.errors import UserError
from pipeline.base.geometry import Rect
from pipeline.fill.template import Template, rect_of
from pipeline.fill.texts import mirror
from pipeline.publish.directions.artwork import STEPS_LAST, Artwork, Sample, named, sample_of
from pipeline.publish.directions.drawings import completed
from pipeline.publish.directions.steps import Order, Step
from pipeline.svg.tree import NAMES, SVG, names, page_matrix, remove, strip
from pipeline.text import FontBook
from pipeline.text.shape import lines

# Proportions of the page, chosen by eye.
SIZES = (1.0, 0.97, 0.94, 0.91, 0.88, 0.85)
"""Type sizes tried until all steps of a page find room, as parts of what was drawn."""

SPARING = 0.9
"""A page is spared where this part of the type size does it."""

LEAST_GAP_MM, MOST_GAP_MM = 4.5, 15.0
"""Between one step and the next."""

NAME_GAP_MM = 3.0
"""Between a file's name and what it is for."""

UNDER_MM = 4.0
"""Below the last line within the caution's frame."""


ROW_GAP_MM = 1.0
"""Between what is said of two files, and between two paragraphs."""


class _Block(NamedTuple):
    """A step that has been broken into lines, how high it is (mm), and how it is set.

    ``names`` are what stands before lines, by their numbers.
    """

    heading: str
    rows: Sequence[str]
    height: float
    title: Sample
    text: Sample
    names: Mapping[int, str] = MappingProxyType({})
    starts: Sequence[int] = ()
    """The lines that begin a paragraph, but for the first."""
    beside: bool = False
    """Whether the heading stands before the first line and not above it."""
    framed: bool = False

    def down(self, row: int) -> float:
        """How far below the first line a line stands beyond its own leading, mm."""
        named = sum(1 for named in self.names if named <= row) - bool(self.names)
        return ROW_GAP_MM * (named + sum(1 for start in self.starts if start <= row))


@dataclass(frozen=True)
class _Share:
    """What comes on one page: its steps, and the number of the first."""

    steps: Sequence[Step]
    first: int

    @property
    def cautioned(self) -> bool:
        """Whether the caution is among them."""
        return any(step.framed for step in self.steps)


def page_svgs(order: Order, artwork: Artwork, book: FontBook) -> list[bytes]:
    """The pages of the directions, in order. Raises UserError for what does not fit.

    The caution stands before the work at the bench; help comes last.
    """
    shares: list[_Share] = []
    printing = [order.what_there_is(), order.what_is_needed(), *order.at_the_printer()]
    steps = [*printing, order.caution(), *order.at_the_bench(), order.help()]
    while steps:
        share = _Share(steps, 1 + sum(bool(s.picture) for o in shares for s in o.steps))
        page = _Page(order, artwork, book, len(shares) + 1, len(shares) + 2, share)
        fits = page.fits()
        shares.append(replace(share, steps=steps[:fits]))
        steps = steps[fits:]
    total = len(shares)
    return [
        _Page(order, artwork, book, number, total, share).filled()
        for number, share in enumerate(shares, 1)
    ]


class _Page:
    """One of the pages while it is being filled."""

    def __init__(
        self,
        order: Order,
        artwork: Artwork,
        book: FontBook,
        number: int,
        total: int,
        share: _Share,
    ) -> None:
        self.order, self.artwork, self.book, self.number = order, artwork, book, number
        self.total, self.share = total, share
        self.template = artwork.page(order.paper)
        self.root = copy.deepcopy(self.template.root)
        self.words = order.phrases.local
        self.root.set("{http://www.w3.org/XML/1998/namespace}lang", self.words.language)

    def fits(self) -> int:
        """How many of its steps come on the page, one at least.

        No more pages than there must be are filled alike, in somewhat smaller type. The caution
        comes on no first page, which has no frame for it, and never stands last on a page.
        """
        steps = self.share.steps
        title, text = self._samples("step")
        text, place = text.sized(SPARING), self._rect_in("step-picture")
        highs = [self._laid(step, title, text, place).height for step in steps]
        later, last = self._rect_in("steps-later").height, self._last().height
        here = self._rect_in("steps-first").height if self.number == 1 else later
        rooms = {len(steps): min(here, last)}
        ends = [n for n in range(1, len(steps) + 1) if self._may_end(n)]
        fitting = [n for n in ends if _stacked(highs[:n]) <= rooms.get(n, here)] or ends[:1]
        after = {n: _pages(highs[n:], later, last) for n in fitting}
        fewest = min(after.values())
        alike = sum(highs) / (here + later * max(fewest - 1, 0) + last * bool(fewest))
        least = [n for n in fitting if after[n] == fewest]
        return min(least, key=lambda n: abs(_stacked(highs[:n]) - alike * here))

    def _last(self) -> Rect:
        """Where steps stand on the last page, which may have a place of its own."""
        own = any(STEPS_LAST in names(element) for element in self.root.iter())
        return self._rect_in(STEPS_LAST if own else "steps-later")

    def _may_end(self, fits: int) -> bool:
        """Whether the page may end after so many of its steps."""
        steps = self.share.steps
        framed = any(step.framed for step in steps[:fits])
        return not (steps[fits - 1].framed or (self.number == 1 and framed))

    def filled(self) -> bytes:
        """The page as SVG."""
        share = self.share
        shown = {
            "show-first-page": self.number == 1,
            "show-later-page": self.number > 1,
            "show-last-page": 1 < self.number == self.total,
        }
        for part in () if share.cautioned else ("frame", "sign", "title", "text"):
            remove(self._named(f"caution-{part}"))
        for name, is_shown in shown.items():
            element = self._named(name)
            if not is_shown:
                remove(element)
        self._heads()
        later = self._last() if self.number == self.total else self._rect_in("steps-later")
        area = later if self.number > 1 else self._rect_in("steps-first")
        areas = ("steps-first", "steps-later", STEPS_LAST)
        for element in [one for one in self.root.iter() if not {*areas}.isdisjoint(names(one))]:
            remove(element)
        if self.number == 1:
            self._facts()
        self._steps(share.steps, share.first, area)
        for element in self.root.iter():
            strip(element, NAMES)
        if self.words.right_to_left:
            mirror(self.root, self.template.width_mm, self.template.name)
        return bytes(etree.tostring(self.root))

    def _heads(self) -> None:
        account, phrases = self.order.account, self.order.phrases
        contents, number = account.contents, self.words.number
        sizes = {"binder": self.order.binder.title, "paper": self.order.paper_name}
        about = [phrases.text("about", sizes, "value")]
        if account.days:
            about.insert(0, contents.period.title)
        said = {
            "title": str(phrases.of["title"]),
            "set-title": contents.set.title,
            "set-about": "\u2002·\u2002".join(about),
            "page-number": phrases.of["page"].format(
                page=number(self.number), pages=number(self.total)
            ),
        }
        for element in list(self.root.iter()):
            key = next((name for name in names(element) if name in said), None)
            if key is not None:
                self.root.append(self._sample(element).fitted(said[key], self.book))
                remove(element)

    def _facts(self) -> None:
        area, cell = self._rect_in("facts"), self._rect_in("fact")
        samples = [self._sample(self._named(f"fact-{part}")) for part in ("label", "value")]
        remove(self._named("facts"))
        columns = max(int(area.width / cell.width + 1e-6), 1)
        room = Rect(cell.x, cell.y, cell.width - 6, cell.height)
        for index, fact in enumerate(self.order.figures()):
            row, column = divmod(index, columns)
            dx, dy = column * cell.width, row * cell.height
            for sample, said in zip(samples, fact, strict=True):
                box = room.moved(dx, dy)
                moved = replace(sample, x=sample.x + dx, y=sample.y + dy, box=box)
                self.root.append(moved.fitted(said, self.book))

    def _framed(self) -> tuple[Rect, _Block]:
        """The frame of the caution as it is drawn, and the caution in lines."""
        frame = self._named("caution-frame")
        box = page_matrix(frame).bounds(rect_of(frame))
        title, text = self._samples("caution")
        block = self._block(self.order.caution(), title, text, Rect(*box[:3], 0.0))
        return box, block._replace(height=max(block.height + UNDER_MM, box.height), framed=True)

    def _caution(self, y: float) -> None:
        """Draws the caution, the frame's upper edge at ``y``, the frame as high as its words."""
        box, block = self._framed()
        for part in ("title", "text"):
            remove(self._named(f"caution-{part}"))
        frame, sign = self._named("caution-frame"), self._named("caution-sign")
        scale = page_matrix(frame).scale_y
        frame.set("height", f"{block.height / scale:.3f}")
        frame.set("y", f"{float(frame.get('y', '0')) + (y - box.y) / scale:.3f}")
        lower = y - box.y + (block.height - box.height) / 2
        sign.set("transform", f"translate(0 {lower:.3f})")
        self._set(block, y - box.y)

    def _steps(self, steps: Sequence[Step], first: int, area: Rect) -> None:
        number = self._sample(self._named("step-number"))
        title, text = self._samples("step")
        picture = self._rect_in("step-picture")
        remove(self._named("step"))
        for scale in SIZES:
            sized = text.sized(scale)
            blocks = [self._laid(step, title, sized, picture) for step in steps]
            high = sum(block.height for block in blocks)
            needed = high + LEAST_GAP_MM * (len(blocks) - 1)
            if needed <= area.height:
                break
        else:
            raise UserError(
                f"directions, page {self.number} ({self.words.language})",
                f"the steps need {needed:.0f} mm but have {area.height:.0f} mm",
                f"make the areas of the steps in {self.template.name} higher",
            )
        gap = min((area.height - high) / max(len(blocks) - 1, 1), MOST_GAP_MM)
        y = area.y
        index = first
        for step, block in zip(steps, blocks, strict=True):
            dy = y - picture.y
            if block.framed:
                self._caution(y)
                y += block.height + gap
                continue
            if step.picture:
                self.root.append(number.text(self.words.number(index), number.x, number.y + dy))
                self._picture(step.picture, picture.moved(0, dy))
                index += 1
            self._set(block, dy, number.x)
            y += block.height + gap

    def _laid(self, step: Step, title: Sample, text: Sample, place: Rect) -> _Block:
        """What comes one below the other on a page: a step in lines, or the caution."""
        return self._framed()[1] if step.framed else self._block(step, title, text, place)

    def _block(self, step: Step, title: Sample, text: Sample, place: Rect) -> _Block:
        """A step in lines; it is as high as its picture, or its ``place``, at least."""
        size, rows, names = text.style.size, list[str](), dict[int, str]()
        starts: list[int] = []
        for name, said in step.rows or (("", step.text),):
            if name:
                names[len(rows)] = name
            for number, paragraph in enumerate(said.split("\n")):
                starts += [len(rows)] * bool(number)
                rows += lines(paragraph, text.style, text.width, self.book, text.where)
        beside = not (step.picture or step.rows or step.framed)
        if beside:
            text = replace(text, y=title.y)
        block = _Block(step.heading, rows, 0.0, title, text, names, starts, beside)
        last = text.y - place.y + (len(rows) - 1) * self._line(size) + block.down(len(rows) - 1)
        high = self._picture_height(step.picture, place) if step.picture else 0.0
        return block._replace(height=max(last + 0.3 * size, high))

    def _set(self, block: _Block, dy: float, left: float = 0.0) -> None:
        """Sets a block ``dy`` mm lower; names before lines begin at ``left``."""
        text, title = block.text, block.title
        box = Rect(left, text.y, text.x - left - NAME_GAP_MM, 0.0)
        if (block.names or block.beside) and title.box is not None:
            right = box.right if block.beside else title.box.right
            title = replace(title, x=left, box=Rect(left, title.box.y, right - left, 0.0))
        self.root.append(title.fitted(block.heading, self.book, dy))
        for row, said in enumerate(block.rows):
            y = text.y + dy + row * self._line(text.style.size) + block.down(row)
            if row in block.names:
                name = replace(text, x=left, y=y, box=box)
                self.root.append(name.fitted(block.names[row], self.book))
            self.root.append(text.text(said, text.x, y))

    def _line(self, size: float) -> float:
        """From one baseline to the next, mm."""
        return size * float(self.order.phrases.of["leading"])

    def _picture_height(self, name: str, room: Rect) -> float:
        """How high a picture stands, as high as its place at least, mm."""
        template = self.artwork.picture(name)
        return max(template.height_mm * _larger(template, room), room.height)

    def _picture(self, name: str, room: Rect) -> None:
        template = self.artwork.picture(name)
        if template.width_mm > room.width + 1e-6:
            raise UserError(
                template.name,
                f"the picture is {template.width_mm:g} × {template.height_mm:g} mm, "
                f"its place {room.width:g} mm wide",
                "make the document narrower",
            )
        root = completed(template, self.order)
        scale = _larger(template, room)
        x = room.x + (room.width - scale * template.width_mm) / 2
        place = f"translate({x:.3f} {room.y:.3f}) scale({scale:.4f})"
        group = etree.SubElement(self.root, SVG + "g", {"transform": place})
        for attribute in ("stroke-linecap", "stroke-linejoin"):
            if value := root.get(attribute):
                group.set(attribute, value)
        group.extend(list(root))

    def _sample(self, element: etree._Element, file: str = "") -> Sample:
        words = self.words
        file = file or self.template.name
        return sample_of(element, file, words.language, words.right_to_left)

    def _samples(self, part: str) -> tuple[Sample, Sample]:
        """Title and text of a part, the text as much lower as its script wants."""
        title, text = (self._sample(self._named(f"{part}-{kind}")) for kind in ("title", "text"))
        drop = float(self.order.phrases.of["drop"]) * text.style.size
        return title, replace(text, y=text.y + drop)

    def _named(self, name: str) -> etree._Element:
        return named(self.root, name, self.template.name)

    def _rect_in(self, name: str) -> Rect:
        element = self._named(name)
        rect = element if element.tag == SVG + "rect" else element.find(f"{SVG}rect")
        if rect is None:
            raise UserError(self.template.name, "it holds no rectangle", element=name)
        return page_matrix(rect).bounds(rect_of(rect))


def _larger(template: Template, room: Rect) -> float:
    """How much larger than drawn a picture fills its place; one that is higher stays as drawn."""
    high = max(room.height / template.height_mm, 1.0)
    return min(room.width / template.width_mm, high)


def _stacked(highs: Sequence[float]) -> float:
    """How high steps of such heights stand with the least gaps between them, mm."""
    return sum(highs) + LEAST_GAP_MM * (len(highs) - 1)


def _pages(highs: Sequence[float], room: float, last: float) -> int:
    """How many pages with so much room they take, and the last one with its own, mm."""
    pages, full = 0, room
    for high in highs:
        full += high + LEAST_GAP_MM
        if full > room:
            pages, full = pages + 1, high
    return pages + bool(highs and full > last)
