"""From a set's page drawings to its three finished files, step by step."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, replace

from pipeline.base.cache import NO_CACHE, Cache, key_of
from pipeline.base.errors import UserError
from pipeline.base.geometry import Rect, mm
from pipeline.draw import draw
from pipeline.draw.forms import Source
from pipeline.impose.layout import (
    MARK_LENGTHS_MM,
    Layout,
    Rooms,
    Stack,
    does_not_fit,
    lay,
    most_on_a_sheet,
    printable,
    sheets_of,
    stacked,
)
from pipeline.impose.leaf import LeafFace, LeafGeometry, check_paper
from pipeline.impose.margins import (
    SIZES_MM,
    STRONG_WEIGHT,
    Margins,
    Measure,
    Slug,
    margins_svg,
    slug_places,
)
from pipeline.impose.marks import Ground, Mark, leaf_marks, pile_label, registration
from pipeline.impose.sheet import Flip, Placement, PrinterSettings, Sheet
from pipeline.impose.stitch import FileAbout, PlacedPage, SidePlan, stitch
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
class MarkedStack:
    """A stack with all that is printed around its leaves, as on side 1.

    ``first_sheet`` is the number of its first sheet, ``marks`` has an entry a pile.
    """

    stack: Stack
    first_sheet: int
    marks: tuple[tuple[Mark, ...], ...]
    register: tuple[Mark, ...]
    slug: Slug

    def margins(self, job: Job, index: int, side: int, sheets: int) -> Margins:
        """What is printed outside the leaves on a side (1 or 2) of the stack's sheet ``index``."""
        marks = [
            mark
            for pile, around in enumerate(self.marks)
            if self.stack.leaf(index, pile) is not None
            for mark in around
        ]
        marks += self.register
        style = sheet_words("slug", job.plan.language).style
        fields = slug_fields(job, self.stack, index, side, self.first_sheet, sheets)
        width, height = job.paper.width_mm, job.paper.height_mm
        if side == 1:
            return Margins(width, height, tuple(marks), self.slug, fields, style)
        dx, dy = job.printer.back_shift_mm
        return Margins(
            width,
            height,
            tuple(mark.behind(width) for mark in marks),
            self.slug.behind(width),
            fields,
            style,
            shift=(-dx, -dy),
            upside_down=job.printer.flip is Flip.SHORT,
        )


def marked_stacks(job: Job, stacks: Sequence[Stack]) -> tuple[MarkedStack, ...]:
    """All stacks with their marks; a layout is moved aside when its words find no room else.

    Raises UserError when there is no room for marks or words.
    """
    total = sum(stack.sheets for stack in stacks)
    marked: list[MarkedStack] = []
    first = 1
    for stack in stacks:
        marked.append(_marked(job, stack, first, total))
        first += stack.sheets
    return tuple(marked)


def _marked(job: Job, stack: Stack, first: int, total: int) -> MarkedStack:
    """Leaves in the middle with full marks; else with shorter ones; else moved aside."""
    problem: UserError | None = None
    area = printable(job.paper, job.printer)
    widths = [position.width for position in stack.layout.positions]
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
            return _marked_with(job, replace(stack, layout=layout), rooms, first, total)
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


def _marked_with(job: Job, stack: Stack, rooms: Rooms, first: int, total: int) -> MarkedStack:
    ground = Ground(printable(job.paper, job.printer), stack.layout, rooms, job.where)
    measure, piles = _measure(job), range(len(stack.layout.positions))
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
    return MarkedStack(stack, first, marks, register, slug)


def _around(job: Job, ground: Ground, pile: int, face: LeafFace) -> tuple[Mark, ...]:
    """A leaf's marks, and its pile's number where there are several to be laid in order."""
    marks = leaf_marks(ground, pile, face)
    if len(ground.layout.positions) == 1:
        return marks
    size = SIZES_MM[-1]
    words = _say(job, "pile", number=pile + 1)
    width = _measure(job)(words, size)
    return (*marks, pile_label(ground, pile, face, words, width, size))


def _geometry(job: Job, stack: Stack, pile: int) -> LeafGeometry:
    leaf = stack.leaf(0, pile)
    assert leaf is not None, "every pile has a leaf on the stack's first sheet"
    return job.geometries[leaf]


def _measure(job: Job) -> Measure:
    def measure(text: str, size: float) -> float:  # as if all were strong: never too narrow
        families = sheet_words("slug", job.plan.language).style.families
        style = Style(families, size, STRONG_WEIGHT, language=job.plan.language)
        return advance(text, style, job.book, "slug line")

    return measure


def slug_fields(
    job: Job, stack: Stack, index: int, side: int, first: int, total: int
) -> tuple[str, ...]:
    """The fields of one slug line: set, period, sheet, side, what is on it, how to print it."""
    labels: list[str] = []
    for pile in range(len(stack.layout.positions)):
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
    style, words = sheet_words("slug", job.plan.language)
    text = str(words[what]).format(**numbers)
    if not style.right_to_left:
        return text
    return f"\N{RIGHT-TO-LEFT EMBEDDING}{text}\N{POP DIRECTIONAL FORMATTING}"


SIDE_1, SIDE_2, BOTH = "side-1.pdf", "side-2.pdf", "both-sides.pdf"

PAGE_SIZE_SLACK_MM = 0.02
"""A drawing may be this far from its page's size: what points rounded in a file come to."""


@dataclass(frozen=True)
class Imposed:
    """A set laid on a paper: its files by name, and its sheets."""

    files: Mapping[str, bytes]
    sheets: tuple[Sheet, ...]


def impose(
    plan: SetPlan,
    paper: Paper,
    printer: PrinterSettings,
    pages_pdf: bytes,
    book: FontBook,
    *,
    bleed_mm: float = 0.0,
    cache: Cache = NO_CACHE,
    faces: str = "",
) -> Imposed:
    """Lays a set's leaves on a paper and writes its three files.

    ``pages_pdf`` has one page for each of ``plan.pages``, in that order, each as big as the page
    with its own flap (and ``bleed_mm`` on all four sides). ``book`` has the slug line's face;
    ``cache`` keeps what is drawn with a book known as ``faces``.

    Raises UserError when a leaf does not fit, a flap would lie on the rings, or marks find no
    room, saying how much is missing and what sets it.
    """
    job = _job(plan, paper, printer, book, bleed_mm)
    stacks = _laid(job)
    sheets = sheets_of([one.stack for one in stacks], job.geometries, paper, printer)
    pages = Source(pages_pdf)
    _check_pages(plan, pages, bleed_mm)
    svgs = _svgs(job, stacks)
    marks = Source(
        cache.get_or_make(
            key_of("marks", faces, plan.language, *svgs),
            lambda: draw(svgs, book, language=plan.language),
        )
    )
    return Imposed(_files(job, sheets, pages, marks), sheets)


def plan_sheets(
    plan: SetPlan,
    paper: Paper,
    printer: PrinterSettings,
    book: FontBook,
    *,
    bleed_mm: float = 0.0,
) -> tuple[Sheet, ...]:
    """The sheets a set takes on a paper, nothing drawn; raises as ``impose`` does."""
    job = _job(plan, paper, printer, book, bleed_mm)
    stacks = _laid(job)
    return sheets_of([one.stack for one in stacks], job.geometries, paper, printer)


def _job(
    plan: SetPlan, paper: Paper, printer: PrinterSettings, book: FontBook, bleed_mm: float
) -> Job:
    check_paper(paper)
    if not plan.leaves:
        raise UserError(f"set {plan.name!r}", "it has no leaves", "give it spreads or leaves")
    geometries = tuple(
        LeafGeometry(plan.binder, leaf.flap_mm, plan.binding, bleed_mm) for leaf in plan.leaves
    )
    return Job(plan, paper, printer, Rooms(bleed_mm), book, geometries)


def _laid(job: Job) -> tuple[MarkedStack, ...]:
    """The stacks with all that is printed around their leaves.

    As many leaves on a sheet as there is room for; where marks or words then find none, fewer.
    """
    most = _most(job)
    while True:
        try:
            return marked_stacks(job, _stacks(job, most))
        except UserError:
            if max(most.values()) == 1:
                raise
            most = {width: max(1, count - 1) for width, count in most.items()}


def _most(job: Job) -> dict[float, int]:
    """How many leaves of each opened width a sheet has room for."""
    paper, printer, rooms, height = job.paper, job.printer, job.rooms, job.plan.binder.height_mm
    most = {
        width: most_on_a_sheet(width, height, paper, printer, rooms)
        for width in sorted({geometry.width_mm for geometry in job.geometries})
    }
    for width, count in most.items():
        if not count:
            flap = width - job.plan.binder.width_mm
            raise does_not_fit(job.where, width, height, flap, paper, printer, rooms)
    return most


def _stacks(job: Job, most: Mapping[float, int]) -> tuple[Stack, ...]:
    paper, printer, rooms, height = job.paper, job.printer, job.rooms, job.plan.binder.height_mm
    widths = [geometry.width_mm for geometry in job.geometries]
    return stacked(
        widths, most.__getitem__, lambda piles: lay(piles, height, paper, printer, rooms)
    )


def _check_pages(plan: SetPlan, pages: Source, bleed_mm: float) -> None:
    sizes = pages.sizes()
    if len(sizes) != len(plan.pages):
        raise ValueError(f"{len(plan.pages)} pages are planned, {len(sizes)} are drawn")
    for page, (width, height) in zip(plan.pages, sizes, strict=True):
        wide = plan.binder.width_mm + page.flap_mm + 2 * bleed_mm
        high = plan.binder.height_mm + 2 * bleed_mm
        if max(abs(wide - mm(width)), abs(high - mm(height))) > PAGE_SIZE_SLACK_MM:
            raise UserError(
                f"template {page.template!r}",
                f"it is {mm(width):.2f} × {mm(height):.2f} mm",
                f"a page of {plan.binder.title} with its flap is {wide:g} × {high:g} mm",
            )


def _svgs(job: Job, stacks: Sequence[MarkedStack]) -> list[bytes]:
    """The SVGs of all sides' marks: side 1 of the first sheet, its side 2, and so on."""
    total = sum(one.stack.sheets for one in stacks)
    return [
        margins_svg(one.margins(job, index, side, total))
        for one in stacks
        for index in range(one.stack.sheets)
        for side in (1, 2)
    ]


def _files(job: Job, sheets: Sequence[Sheet], pages: Source, marks: Source) -> dict[str, bytes]:
    sides = [
        _side(job, placed, 2 * index + back)
        for index, sheet in enumerate(sheets)
        for back, placed in enumerate((sheet.side_1, sheet.side_2))
    ]
    fronts, backs = sides[0::2], sides[1::2]
    if job.printer.reverse_side_2:
        backs = backs[::-1]
    duplex = "LongEdge" if job.printer.flip is Flip.LONG else "ShortEdge"
    return {
        name: stitch(
            chosen,
            pages,
            marks,
            FileAbout(_title(job.plan, part), job.plan.language, f"/{turning}"),
        )
        for name, chosen, part, turning in (
            (SIDE_1, fronts, "side 1", "Simplex"),
            (SIDE_2, backs, "side 2", "Simplex"),
            (BOTH, sides, "both sides", f"DuplexFlip{duplex}"),
        )
    }


def _title(plan: SetPlan, part: str) -> str:
    names = dict.fromkeys(name for name in (plan.title, plan.period.title) if name)
    return f"{', '.join(names)} ({part})"


def _side(job: Job, placed: Sequence[Placement], marks: int) -> SidePlan:
    numbers = {id(page): number for number, page in enumerate(job.plan.pages)}
    sheet_height, bleed = job.paper.height_mm, job.rooms.bleed_mm
    shown: list[PlacedPage] = []
    for one in placed:
        leaf = job.plan.leaves[one.leaf]
        page = leaf.recto if one.face is Side.RECTO else leaf.verso
        if page is None:
            continue
        geometry = job.geometries[one.leaf]
        where = geometry.page(one.face, page.flap_mm)
        matrix = one.position.matrix(where.grown(bleed), sheet_height)
        shown.append(PlacedPage(numbers[id(page)], matrix, _clip(geometry, where, bleed)))
    trim = Rect.union(one.flat for one in placed)
    whole = Rect(0, 0, job.paper.width_mm, sheet_height)
    return SidePlan(whole.width, whole.height, trim, trim.grown(bleed), tuple(shown), marks)


def _clip(geometry: LeafGeometry, where: Rect, bleed: float) -> Rect | None:
    """The part of a drawing that is shown: its bleed must not run on over a fold.

    None when all of it is, as it is without bleed and wherever the page is as wide as its leaf.
    """
    if not bleed or where.width >= geometry.width_mm:
        return None
    left = bleed if where.x > 0 else 0.0
    return Rect(left, 0, where.width + bleed, where.height + 2 * bleed)
