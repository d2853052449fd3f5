"""Sets the directions on their pages: a page template, a picture a step, text broken into lines."""

from __future__ import annotations

import copy
from collections.abc import Mapping, Sequence
from dataclasses import dataclass

from lxml import etree

from pipeline.base.errors import UserError
from pipeline.base.geometry import Rect
from pipeline.fill.template import rect_of
from pipeline.fill.texts import mirror, put
from pipeline.impose.bench import LEAVES_A_PUNCH
from pipeline.publish.directions.artwork import (
    Artwork,
    Figures,
    Sample,
    cuts,
    holes,
    named,
    pile,
    piles,
    rings,
    sample_of,
)
from pipeline.publish.directions.steps import Order, Step
from pipeline.svg.tree import NAMES, SVG, names, page_matrix, remove, strip
from pipeline.text import FontBook
from pipeline.text.shape import lines

# Proportions of the page, chosen by eye.
SIZES = (1.0, 0.97, 0.94, 0.91, 0.88, 0.85)
"""Type sizes tried until all steps of a page find room, as parts of what was drawn."""

LEAST_GAP_MM, MOST_GAP_MM = 4.5, 12.0
"""Between one step and the next."""

CAUTION_GAP_MM = 9.0
"""Between the caution and the first step below it."""

UNDER_MM = 4.0
"""Below the last line within the caution's frame."""


@dataclass(frozen=True)
class _Block:
    """A step that has been broken into lines, and how high it is (mm)."""

    heading: str
    rows: tuple[str, ...]
    height: float


def page_svgs(order: Order, artwork: Artwork, book: FontBook) -> list[bytes]:
    """The pages of the directions, in order. Raises UserError for what does not fit."""
    batches = [order.at_the_printer(), order.at_the_bench()]
    first = 1
    pages = []
    for number, steps in enumerate(batches, 1):
        page = _Page(order, artwork, book, number, len(batches))
        pages.append(page.filled(steps, first))
        first += len(steps)
    return pages


class _Page:
    """One page while it is being filled."""

    def __init__(
        self, order: Order, artwork: Artwork, book: FontBook, number: int, count: int
    ) -> None:
        self.order, self.artwork, self.book = order, artwork, book
        self.number, self.count = number, count
        self.template = artwork.page(order.paper)
        self.root = copy.deepcopy(self.template.root)
        self.words = order.phrases.local
        self.language = order.phrases.language
        self.root.set("{http://www.w3.org/XML/1998/namespace}lang", self.language)

    def filled(self, steps: Sequence[Step], first: int) -> bytes:
        """The page as SVG, its steps numbered from ``first``."""
        is_first, is_last = self.number == 1, self.number == self.count
        shown = {"first-page": is_first, "later-page": not is_first, "last-page": is_last}
        for name, holds in shown.items():
            element = named(self.root, f"show-{name}", self.template.name)
            if not holds:
                remove(element)
        self._heads()
        area = self._taken_rect("steps-first" if is_first else "steps-later")
        self._taken_rect("steps-later" if is_first else "steps-first")
        if is_first:
            self._facts()
        else:
            below = self._caution() + CAUTION_GAP_MM
            area = Rect(area.x, below, area.width, area.bottom - below)
        self._steps(steps, first, area)
        for element in self.root.iter():
            strip(element, NAMES)
        if self.words.right_to_left:
            mirror(self.root, self.template.width_mm, self.template.name)
        return bytes(etree.tostring(self.root))

    def _heads(self) -> None:
        account, phrases = self.order.account, self.order.phrases
        contents = account.contents
        title = contents.set.title
        period = contents.period.title
        sizes = {"binder": self.order.binder.title, "paper": self.order.paper_name}
        about = [*([period] if account.days else []), phrases.text("about", sizes, "value")]
        numbers = {"page": self.number, "pages": self.count}
        page = {name: self.words.number(value) for name, value in numbers.items()}
        said = {
            "title": str(phrases.of["title"]),
            "set-title": title,
            "set-about": "\u2002·\u2002".join(about),
            "page-number": str(phrases.of["page"]).format_map(page),
        }
        for element in list(self.root.iter()):
            key = next((name for name in names(element) if name in said), None)
            if key is not None:
                self._put_line(element, said[key])

    def _put_line(self, element: etree._Element, said: str) -> None:
        sample = self._sample(element)
        self.root.append(sample.fitted(said, self.book))
        remove(element)

    def _facts(self) -> None:
        area = self._rect_in("facts")
        cell = self._rect_in("fact")
        label, value = (self._named_sample(f"fact-{part}") for part in ("label", "value"))
        remove(named(self.root, "facts", self.template.name))
        columns = max(int(area.width / cell.width + 1e-6), 1)
        for index, (name, figure) in enumerate(self.order.figures()):
            row, column = divmod(index, columns)
            dx, dy = column * cell.width, row * cell.height
            for sample, said in ((label, name), (value, figure)):
                room = Rect(cell.x, cell.y, cell.width - 4, cell.height)
                moved = Sample(
                    sample.style, sample.x + dx, sample.y + dy, sample.anchor,
                    room.moved(dx, dy), sample.carried, sample.where,
                )  # fmt: skip
                self.root.append(moved.fitted(said, self.book))

    def _caution(self) -> float:
        """Draws the caution in a frame as high as its words; gives the frame's lower edge, mm."""
        step = self.order.caution()
        frame = named(self.root, "caution-frame", self.template.name)
        box = page_matrix(frame).bounds(rect_of(frame))
        title, text = (self._named_sample(f"caution-{part}") for part in ("title", "text"))
        block = self._block(step, title, text, 1.0, box.y, 0.0)
        bottom = max(box.y + block.height + UNDER_MM, box.bottom)
        frame.set("height", f"{(bottom - box.y) / page_matrix(frame).scale_y:.3f}")
        sign = named(self.root, "caution-sign", self.template.name)
        sign.set("transform", f"translate(0 {(bottom - box.bottom) / 2:.3f})")
        self._set(block, title, text, 1.0, 0.0)
        return bottom

    def _steps(self, steps: Sequence[Step], first: int, area: Rect) -> None:
        number = self._named_sample("step-number")
        title, text = (self._named_sample(f"step-{part}") for part in ("title", "text"))
        picture = self._rect_in("step-picture")
        remove(named(self.root, "step", self.template.name))
        scale, blocks = self._broken(steps, title, text, picture, area)
        free = area.height - sum(block.height for block in blocks)
        gap = min(free / max(len(blocks) - 1, 1), MOST_GAP_MM)
        y = area.y
        for index, (step, block) in enumerate(zip(steps, blocks, strict=True), first):
            dy = y - picture.y
            self.root.append(number.text(self.words.number(index), number.x, number.y + dy))
            self._picture(step.picture, picture.moved(0, dy))
            self._set(block, title, text, scale, dy)
            y += block.height + gap

    def _broken(
        self, steps: Sequence[Step], title: Sample, text: Sample, picture: Rect, area: Rect
    ) -> tuple[float, list[_Block]]:
        """The steps in lines, and the size that their text needs to be set in to find room."""
        needed = 0.0
        for scale in SIZES:
            blocks = [
                self._block(step, title, text, scale, picture.y, picture.height) for step in steps
            ]
            gaps = LEAST_GAP_MM * (len(blocks) - 1)
            needed = sum(block.height for block in blocks) + gaps
            if needed <= area.height:
                return scale, blocks
        raise UserError(
            f"directions, page {self.number} ({self.language})",
            f"the steps need {needed:.0f} mm but have {area.height:.0f} mm",
            f"make the areas 'steps-first' and 'steps-later' of {self.template.name} higher",
        )

    def _block(
        self, step: Step, title: Sample, text: Sample, scale: float, top: float, least: float
    ) -> _Block:
        style = text.sized(scale).style
        rows = tuple(lines(step.text, style, text.width, self.book, text.where))
        last = text.y - top + self._lower(text) + (len(rows) - 1) * self._line(style.size)
        return _Block(step.heading, rows, max(last + 0.3 * style.size, least))

    def _set(self, block: _Block, title: Sample, text: Sample, scale: float, dy: float) -> None:
        heading = title.fitted(block.heading, self.book)
        heading.set("y", f"{title.y + dy:.3f}")
        self.root.append(heading)
        smaller = text.sized(scale)
        y = text.y + dy + self._lower(text)
        for row, said in enumerate(block.rows):
            self.root.append(smaller.text(said, text.x, y + row * self._line(smaller.style.size)))

    def _line(self, size: float) -> float:
        """From one baseline to the next, mm."""
        return size * float(self.order.phrases.of["leading"])

    def _lower(self, text: Sample) -> float:
        """How much lower than drawn the first line stands below its heading, mm."""
        return float(self.order.phrases.of["drop"]) * text.style.size

    def _picture(self, name: str, room: Rect) -> None:
        template = self.artwork.picture(name)
        if template.width_mm > room.width + 1e-6 or template.height_mm > room.height + 1e-6:
            raise UserError(
                template.name,
                f"the picture is {template.width_mm:g} × {template.height_mm:g} mm, "
                f"its place {room.width:g} × {room.height:g} mm",
                "set the document's size to that",
            )
        root = copy.deepcopy(template.root)
        self._complete(root, template.name)
        x = room.x + (room.width - template.width_mm) / 2
        group = etree.SubElement(
            self.root, SVG + "g", {"transform": f"translate({x:.3f} {room.y:.3f})"}
        )
        for attribute, value in root.attrib.items():
            if attribute in ("stroke-linecap", "stroke-linejoin"):
                group.set(attribute, value)
        for child in list(root):
            group.append(child)

    def _complete(self, root: etree._Element, file: str) -> None:
        """Puts into a picture what the set decides."""
        account, write = self.order.account, self.words.number
        said: Mapping[str, str] = {
            "figure-one": write(1),
            "figure-two": write(2),
            "punch-most": write(min(LEAVES_A_PUNCH, len(account.contents.leaves))),
            "percent": self.order.phrases.whole,
        }
        mirrored = self.words.right_to_left
        for element in list(root.iter()):
            for name in names(element):
                if name in said:
                    put(said[name], element)
                if name in ("cuts", "piles", "pile"):
                    figures = Figures(write, self._sample(element, file))
                    area = self._area(element, file)
                    if name == "pile":
                        drawn = pile(account, area, figures)
                    else:
                        draw = cuts if name == "cuts" else piles
                        drawn = draw(account, area, figures, mirrored)
                    self._replace(element, drawn)
                if name in ("holes", "rings"):
                    draw_each = holes if name == "holes" else rings
                    group = etree.Element(SVG + "g")
                    group.extend(draw_each(self.order.binder, element))
                    _swap(element, group)

    def _replace(self, element: etree._Element, drawn: Sequence[etree._Element]) -> None:
        """Puts drawings, which are in page mm, in the place of an element."""
        parent = element.getparent()
        moved = {} if parent is None else {"transform": str(page_matrix(parent).inverse())}
        group = etree.Element(SVG + "g", moved)
        group.extend(drawn)
        _swap(element, group)

    def _area(self, element: etree._Element, file: str) -> Rect:
        box = self._sample(element, file).box
        if box is None:
            raise UserError(f"{file}, element {names(element)[0]!r}", "it holds no rectangle")
        return box

    def _sample(self, element: etree._Element, file: str = "") -> Sample:
        where = f"{file or self.template.name}, element {names(element)[0]!r}"
        return sample_of(element, where, self.language, self.words.right_to_left)

    def _named_sample(self, name: str) -> Sample:
        element = named(self.root, name, self.template.name)
        sample = self._sample(element)
        if name.startswith("caution-"):
            remove(element)
        return sample

    def _rect_in(self, name: str) -> Rect:
        element = named(self.root, name, self.template.name)
        rect = element if element.tag == SVG + "rect" else element.find(f"{SVG}rect")
        if rect is None:
            raise UserError(f"{self.template.name}, element {name!r}", "it holds no rectangle")
        return page_matrix(rect).bounds(rect_of(rect))

    def _taken_rect(self, name: str) -> Rect:
        rect = self._rect_in(name)
        remove(named(self.root, name, self.template.name))
        return rect


def _swap(element: etree._Element, group: etree._Element) -> None:
    """Puts a group in an element's place."""
    parent = element.getparent()
    assert parent is not None  # a picture's root is an svg, which goes by none of the names
    parent.replace(element, group)
