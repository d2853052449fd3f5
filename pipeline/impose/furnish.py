"""Dresses a stack's sheets: marks around its leaves, and room for the slug line and the bar."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace

from pipeline.base.errors import UserError
from pipeline.base.geometry import Rect
from pipeline.impose.drawing import STRONG_WEIGHT, Furniture
from pipeline.impose.layout import MARK_LENGTHS_MM, Layout, Rooms, lay, printable
from pipeline.impose.leaf import Face, LeafGeometry
from pipeline.impose.marks import Ground, Mark, leaf_marks, pile_note, registration
from pipeline.impose.printer import Flip, PrinterSettings
from pipeline.impose.slug import SIZES_MM, Measure, Slug, slug_places
from pipeline.impose.stacks import Stack
from pipeline.impose.words import sheet_words
from pipeline.plan.model import Paper, SetPlan, Side
from pipeline.text import FontBook, Style, advance

LABELS_SHOWN = 4
"""Of more pages on a side than this, the slug line names the first and the last."""


@dataclass(frozen=True)
class Job:
    """A set on a paper and a printer, and the geometry of each of its leaves."""

    plan: SetPlan
    paper: Paper
    printer: PrinterSettings
    rooms: Rooms
    book: FontBook
    geometries: tuple[LeafGeometry, ...]

    @property
    def where(self) -> str:
        """What an error calls it."""
        return f"set {self.plan.name!r}, {self.plan.binder.title} on {self.paper.title}"


@dataclass(frozen=True)
class Dressed:
    """A stack with all that is printed around its leaves, as on side 1.

    ``first_sheet`` is the number of its first sheet, ``marks`` has an entry a pile.
    """

    stack: Stack
    first_sheet: int
    marks: tuple[tuple[Mark, ...], ...]
    register: tuple[Mark, ...]
    slug: Slug

    def furniture(self, job: Job, index: int, side: int, sheets: int) -> Furniture:
        """What is printed outside the leaves on a side (1 or 2) of the stack's sheet ``index``."""
        marks = [
            mark
            for pile, around in enumerate(self.marks)
            if self.stack.leaf(index, pile) is not None
            for mark in around
        ]
        marks += self.register
        hand = sheet_words("slug", job.plan.language).hand
        set_in = hand.families, hand.right_to_left
        fields = slug_fields(job, self.stack, index, side, self.first_sheet, sheets)
        width, height = job.paper.width_mm, job.paper.height_mm
        if side == 1:
            return Furniture(width, height, tuple(marks), self.slug, fields, *set_in)
        dx, dy = job.printer.back_shift_mm
        return Furniture(
            width,
            height,
            tuple(mark.behind(width) for mark in marks),
            self.slug.behind(width),
            fields,
            *set_in,
            shift=(-dx, -dy),
            upside_down=job.printer.flip is Flip.SHORT,
        )


def dressed(job: Job, stacks: Sequence[Stack]) -> tuple[Dressed, ...]:
    """All stacks with their marks; a layout is moved aside when its words find no room else.

    Raises UserError when there is no room for marks or words.
    """
    total = sum(stack.sheets for stack in stacks)
    made: list[Dressed] = []
    first = 1
    for stack in stacks:
        made.append(_dress(job, stack, first, total))
        first += stack.sheets
    return tuple(made)


def _dress(job: Job, stack: Stack, first: int, total: int) -> Dressed:
    """Leaves in the middle with full marks; else with shorter ones; else moved aside."""
    problem: UserError | None = None
    area = printable(job.paper, job.printer)
    widths = [pose.width for pose in stack.layout.poses]
    middle: list[tuple[Layout, Rooms]] = []
    aside: list[tuple[Layout, Rooms]] = []
    for longest in MARK_LENGTHS_MM:
        rooms = replace(job.rooms, longest_mm=longest)
        layout = lay(widths, job.plan.binder.height_mm, job.paper, job.printer, rooms)
        assert layout is not None, "what was laid with full marks can be laid with shorter ones"
        middle.append((layout, rooms))
        aside += [(moved, rooms) for moved in _moves(layout, area, rooms)]
    for layout, rooms in (*middle, *aside):
        try:
            return _dress_as(job, replace(stack, layout=layout), rooms, first, total)
        except UserError as missing:
            problem = problem or missing
    assert problem is not None, "there is always something to try"
    raise problem


def _moves(layout: Layout, area: Rect, rooms: Rooms) -> Iterator[Layout]:
    """The layout moved up, down, left and right, as far as the shortest marks allow."""
    free, block = area.grown(-rooms.least), layout.block
    for dx, dy in (
        (0.0, free.y - block.y),
        (0.0, free.bottom - block.bottom),
        (free.x - block.x, 0.0),
        (free.right - block.right, 0.0),
    ):
        if abs(dx) + abs(dy) > 0.1:
            yield layout.moved(dx, dy)


def _dress_as(job: Job, stack: Stack, rooms: Rooms, first: int, total: int) -> Dressed:
    ground = Ground(printable(job.paper, job.printer), stack.layout, rooms, job.where)
    measure, piles = _measure(job), range(len(stack.layout.poses))
    marks = tuple(
        _around(job, ground, pile, _geometry(job, stack, pile).face(Side.RECTO)) for pile in piles
    )
    flat = [mark for around in marks for mark in around]
    register = registration(ground, flat)
    lines = [
        slug_fields(job, stack, index, side, first, total)
        for index in range(stack.sheets)
        for side in (1, 2)
    ]
    slug = slug_places(ground, [*flat, *register], lines, measure)
    return Dressed(stack, first, marks, register, slug)


def _around(job: Job, ground: Ground, pile: int, face: Face) -> tuple[Mark, ...]:
    """A leaf's marks, and its pile's number where there are several to be laid in order."""
    marks = leaf_marks(ground, pile, face)
    if len(ground.layout.poses) == 1:
        return marks
    size = SIZES_MM[-1]
    words = _say(job, "pile", number=pile + 1)
    width = _measure(job)(words, size)
    return (*marks, pile_note(ground, pile, face, words, width, size))


def _geometry(job: Job, stack: Stack, pile: int) -> LeafGeometry:
    leaf = stack.leaf(0, pile)
    assert leaf is not None, "every pile has a leaf on the stack's first sheet"
    return job.geometries[leaf]


def _measure(job: Job) -> Measure:
    def measure(text: str, size: float) -> float:  # as if all were strong: never too narrow
        hand = sheet_words("slug", job.plan.language).hand
        style = Style(hand.families, size, STRONG_WEIGHT, language=job.plan.language)
        return advance(text, style, job.book, "slug line")

    return measure


def slug_fields(
    job: Job, stack: Stack, index: int, side: int, first: int, total: int
) -> tuple[str, ...]:
    """The fields of one slug line: set, period, sheet, side, what is on it, how to print it."""
    labels: list[str] = []
    for pile in range(len(stack.layout.poses)):
        number = stack.leaf(index, pile)
        if number is None:
            continue
        leaf = job.plan.leaves[number]
        page = leaf.recto if side == 1 else leaf.verso
        if page and page.label and page.label not in labels:
            labels.append(page.label)
    if len(labels) > LABELS_SHOWN:
        labels = [labels[0], "…", labels[-1]]
    title, period = job.plan.title, job.plan.period.title
    return (
        title,
        "" if period == title else period,
        _say(job, "sheet", number=first + index, total=total),
        _say(job, "side", number=side),
        ", ".join(labels),
        _say(job, "scale"),
    )


def _say(job: Job, what: str, **numbers: int) -> str:
    """Words beside the leaves, in the set's language.

    Those from right to left are embedded so (UAX #9): nothing else says which way they run.
    """
    hand, words = sheet_words("slug", job.plan.language)
    text = str(words[what]).format(**numbers)
    if not hand.right_to_left:
        return text
    return f"\N{RIGHT-TO-LEFT EMBEDDING}{text}\N{POP DIRECTIONAL FORMATTING}"
