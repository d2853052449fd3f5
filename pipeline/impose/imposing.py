"""From a set's page drawings to its three finished files, step by step."""

from __future__ import annotations

import itertools
from collections.abc import Callable, Iterator, Mapping, Sequence
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
    sheets_of,
    stacked,
)
from pipeline.impose.leaf import LeafFace, LeafGeometry, geometry_of
from pipeline.impose.margins import (
    STRONG_WEIGHT,
    Legend,
    Strip,
    legend_of,
    marks_svg,
    slug_places,
    slug_svg,
)
from pipeline.impose.marks import (
    Mark,
    MarkKind,
    Ring,
    hole_dots,
    leaf_marks,
    pile_label,
    pile_size,
    registration,
    tab_outline,
)
from pipeline.impose.sheet import Flip, Placement, PrinterSettings, Sheet
from pipeline.impose.stitch import FileAbout, PlacedPage, SidePlan, stitch
from pipeline.impose.words import sheet_words
from pipeline.plan.model import Paper, SetPlan, Side, tab_size
from pipeline.text import FontBook, Style, advance

LABELS_SHOWN = 4
"""Of more pages on a side than this, the slug line names the first and the last."""


@dataclass(frozen=True)
class Job:
    """A set on a paper in a printer, and the geometry of each of its leaves."""

    plan: SetPlan
    rooms: Rooms
    book: FontBook
    geometries: tuple[LeafGeometry, ...]
    outlines: bool = True
    """Whether the outlines of tabs are among the marks."""

    @property
    def height_mm(self) -> float:
        """The height of its leaves before tabs are cut: one for all."""
        return max(geometry.height_mm for geometry in self.geometries)

    @property
    def folds(self) -> bool:
        """Whether a leaf has a flap."""
        return any(leaf.flap_mm for leaf in self.plan.leaves)

    @property
    def punched(self) -> bool:
        """Whether there are holes."""
        return bool(self.plan.binder.holes.centres_mm)

    @property
    def tabbed(self) -> bool:
        """Whether a leaf is cut along an outline."""
        return any(leaf.tab for leaf in self.plan.leaves)

    def say(self, what: str, **numbers: int) -> str:
        """Words beside the leaves, in the set's language.

        Those from right to left are embedded so (UAX #9): nothing else says which way they run.
        """
        style, words = sheet_words("slug", self.plan.language)
        text = str(words[what]).format(**numbers)
        if not style.right_to_left:
            return text
        return f"\N{RIGHT-TO-LEFT EMBEDDING}{text}\N{POP DIRECTIONAL FORMATTING}"

    def measure(self, text: str, size: float) -> float:
        """The width of such words, mm, as if all were strong: never too narrow."""
        language = self.plan.language
        families = sheet_words("slug", language).style.families
        style = Style(families, size, STRONG_WEIGHT, language=language)
        return advance(text, style, self.book, "slug line")


@dataclass(frozen=True)
class MarkedStack:
    """A stack with all that is printed around its leaves, as on side 1.

    ``marks`` has an entry a pile, with those of all its leaves' tabs, and so have ``dots`` within
    the leaves, on side 1 alone; ``slug`` has the strips of the slug line and, last, of the bar.
    ``legend`` is for side 1.
    """

    stack: Stack
    marks: tuple[tuple[Mark, ...], ...]
    register: tuple[Mark, ...]
    slug: tuple[Strip, ...]
    legend: Legend | None = None
    dots: tuple[tuple[Ring, ...], ...] = ()


def _marked(job: Job, stack: Stack, total: int) -> MarkedStack:
    """Leaves in the middle with full marks; else with shorter ones; else moved aside."""
    problem: UserError | None = None
    widths = [position.width for position in stack.layout.positions]
    middle: list[Layout] = []
    for longest in MARK_LENGTHS_MM:
        rooms = replace(job.rooms, longest_mm=longest)
        layout = lay(widths, job.height_mm, rooms)
        assert layout is not None, "what was laid with full marks can be laid with shorter ones"
        middle.append(layout)
    aside = [moved for layout in middle for moved in _moves(layout)]
    for layout in (*middle, *aside):
        try:
            return _marked_with(job, replace(stack, layout=layout), total)
        except UserError as missing:
            problem = problem or missing
    assert problem is not None, "there is always something to try"
    raise problem


def _moves(layout: Layout) -> Iterator[Layout]:
    """The layout moved up, down, left and right, as far as the shortest marks allow."""
    free, block = layout.rooms.area.grown(-layout.rooms.least), layout.block
    for dx, dy in (
        (0.0, free.y - block.y),
        (0.0, free.bottom - block.bottom),
        (free.x - block.x, 0.0),
        (free.right - block.right, 0.0),
    ):
        if abs(dx) + abs(dy) > 0.1:
            yield layout.moved(dx, dy)


def _marked_with(job: Job, stack: Stack, total: int) -> MarkedStack:
    marks, dots = list[tuple[Mark, ...]](), list[tuple[Ring, ...]]()
    sheets = [stack.leaves(index) for index in range(stack.sheets)]
    for pile in range(len(sheets[0])):
        leaves = [sheet[pile] for sheet in sheets if len(sheet) > pile]
        faces = [job.geometries[leaf].face(Side.RECTO) for leaf in leaves]
        marks.append(tuple(pile_marks(job, stack.layout, pile, faces)))
        dots.append(tuple(hole_dots(stack.layout, pile, faces[0])) if job.plan.holes_inside else ())
    flat = [mark for around in marks for mark in around]
    register = tuple(registration(stack.layout, flat))
    lines = [
        _slug_fields(job, stack, index, side, total)
        for index in range(stack.sheets)
        for side in (1, 2)
    ]
    slug = slug_places(stack.layout, [*flat, *register], lines, job.measure)
    said = legend_words(
        job.plan.language,
        folds=job.folds,
        holes=job.punched,
        tabs=job.tabbed,
        register=bool(register),
    )
    legend = legend_of(stack.layout, [*flat, *register], slug, said, job.measure)
    return MarkedStack(stack, tuple(marks), register, slug, legend, tuple(dots))


def legend_words(
    language: str, *, folds: bool, holes: bool, tabs: bool, register: bool = True
) -> Mapping[MarkKind, str]:
    """What the legend says of each kind of mark that a set has, in its language."""
    words = sheet_words("slug", language).of["legend"]
    shown = {
        MarkKind.FOLD: folds,
        MarkKind.PUNCH: holes,
        MarkKind.TAB: tabs,
        MarkKind.REGISTER: register,
    }
    kinds = [MarkKind.CROP, *(kind for kind, there in shown.items() if there)]
    return {kind: words[kind.value] for kind in kinds}


def pile_marks(job: Job, layout: Layout, pile: int, faces: Sequence[LeafFace]) -> Iterator[Mark]:
    """The marks around the leaves of a pile, and which pile it is where there are several.

    The leaves differ in their tabs alone; those marks are of all of them.
    """
    different = dict.fromkeys(faces)
    around = [mark for face in different for mark in leaf_marks(layout, pile, face)]
    yield from dict.fromkeys(around)
    if len(layout.positions) > 1:  # piles are to be laid in order
        words, size = job.say("pile", number=pile + 1), pile_size(layout, pile, faces[0])
        yield pile_label(layout, pile, faces[0], words, job.measure(words, size), size)


def _slug_fields(job: Job, stack: Stack, index: int, side: int, total: int) -> tuple[str, ...]:
    """The fields of one slug line: set, period, sheet, side, what is on it, paper, how to print."""
    leaves = [job.plan.leaves[number] for number in stack.leaves(index)]
    pages = [leaf.recto if side == 1 else leaf.verso for leaf in leaves]
    labels = list(dict.fromkeys(page.label for page in pages if page and page.label))
    if len(labels) > LABELS_SHOWN:
        labels = [labels[0], "…", labels[-1]]
    title, period = job.plan.title, job.plan.period.title
    return (
        title,
        "" if period == title else period,
        job.say("sheet", number=stack.sheet + index, total=total),
        job.say(f"side_{side}"),
        ", ".join(labels),
        job.rooms.paper.title,
        job.say("scale"),
    )


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
    laid = _imposed(job, pages_pdf, cache, faces)
    return Imposed(_files(job, laid), laid.sheets)


@dataclass(frozen=True)
class Laid:
    """A set's sheets, side after side, with the drawings that lie on them and around the leaves."""

    sheets: tuple[Sheet, ...]
    sides: tuple[SidePlan, ...]
    pages: Source
    margins: Source


def lay_out(
    plan: SetPlan,
    paper: Paper,
    printer: PrinterSettings,
    pages_pdf: bytes,
    book: FontBook,
    *,
    cache: Cache = NO_CACHE,
    faces: str = "",
    around: Callable[[bytes], bytes],
) -> Laid:
    """A set's leaves on a paper, with its bleed, and no file written; as ``impose`` has it.

    ``around`` is what becomes of the drawings of marks before they are laid. The outlines of tabs
    are not among them.
    """
    job = replace(_job(plan, paper, printer, book, plan.bleed_mm), outlines=False)
    return _imposed(job, pages_pdf, cache, faces, around)


def _imposed(
    job: Job,
    pages_pdf: bytes,
    cache: Cache,
    faces: str,
    made: Callable[[bytes], bytes] = lambda drawn: drawn,
) -> Laid:
    plan, book, stacks = job.plan, job.book, _laid(job)
    sheets = sheets_of([one.stack for one in stacks], job.geometries, job.rooms)
    pages = Source(pages_pdf)
    _check_pages(plan, pages, job.rooms.bleed_mm)
    margins = list(_svgs(job, stacks, len(sheets)))
    svgs = list(dict.fromkeys(itertools.chain.from_iterable(margins)))
    marks = cache.get_or_make(
        key_of("marks", faces, plan.language, *svgs),
        lambda: draw(svgs, book, language=plan.language),
    )
    drawn = Source(made(marks))
    places = {svg: place for place, svg in enumerate(svgs)}
    around = [tuple(places[svg] for svg in side) for side in margins]
    size, bleed = (job.rooms.paper.width_mm, job.rooms.paper.height_mm), job.rooms.bleed_mm
    sides = tuple(
        side_plan(plan, placed, size, bleed, around[2 * index + back])
        for index, sheet in enumerate(sheets)
        for back, placed in enumerate((sheet.side_1, sheet.side_2))
    )
    return Laid(sheets, sides, pages, drawn)


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
    return sheets_of([one.stack for one in _laid(job)], job.geometries, job.rooms)


def _job(
    plan: SetPlan, paper: Paper, printer: PrinterSettings, book: FontBook, bleed_mm: float
) -> Job:
    where = f"set {plan.name!r}, {plan.binder.title} on {paper.title}"
    rooms = Rooms(paper, printer, bleed_mm, where)
    if not plan.leaves:
        raise UserError(f"set {plan.name!r}", "it has no leaves", "give it spreads or leaves")
    geometries = tuple(geometry_of(plan, leaf, bleed_mm) for leaf in plan.leaves)
    return Job(plan, rooms, book, geometries)


def _laid(job: Job) -> tuple[MarkedStack, ...]:
    """The stacks with all that is printed around their leaves.

    As many leaves on a sheet as there is room for; where marks or words then find none, fewer.
    """
    height, rooms = job.height_mm, job.rooms
    widths = [geometry.width_mm for geometry in job.geometries]
    most = {width: most_on_a_sheet(width, height, rooms) for width in sorted(set(widths))}
    for width, count in most.items():
        if not count:
            widest = next(one for one in job.geometries if one.width_mm == width)
            raise does_not_fit(width, height, widest.flap_mm, rooms, widest.tab)
    while True:
        stacks = stacked(widths, height, most, rooms)
        total = sum(stack.sheets for stack in stacks)
        try:
            return tuple(_marked(job, stack, total) for stack in stacks)
        except UserError:
            if max(most.values()) == 1:
                raise
            most = {width: max(1, count - 1) for width, count in most.items()}


def _check_pages(plan: SetPlan, pages: Source, bleed_mm: float) -> None:
    sizes = pages.sizes()
    if len(sizes) != len(plan.pages):
        raise ValueError(f"{len(plan.pages)} pages are planned, {len(sizes)} are drawn")
    for page, (width, height) in zip(plan.pages, sizes, strict=True):
        wider, higher = tab_size(page.tab)
        wide = plan.binder.width_mm + page.beside_mm + wider + 2 * bleed_mm
        high = plan.binder.height_mm + higher + 2 * bleed_mm
        if max(abs(wide - mm(width)), abs(high - mm(height))) > PAGE_SIZE_SLACK_MM:
            raise UserError(
                f"template {page.drawing!r}",
                f"it is {mm(width):.2f} × {mm(height):.2f} mm",
                f"a page of {plan.binder.title} with its flap is {wide:g} × {high:g} mm",
            )


def _svgs(job: Job, stacks: Sequence[MarkedStack], total: int) -> Iterator[tuple[bytes, bytes]]:
    """The words and the marks of all sides: side 1 of the first sheet, its side 2, and so on."""
    style = sheet_words("slug", job.plan.language).style
    for one in stacks:
        for index in range(one.stack.sheets):
            leaves = one.stack.leaves(index)
            around = itertools.chain(*one.marks[: len(leaves)], one.register)
            marks = [mark for mark in around if mark.kind is not MarkKind.TAB]
            for pile, leaf in enumerate(leaves):
                face = job.geometries[leaf].face(Side.RECTO)
                own = leaf_marks(one.stack.layout, pile, face)
                marks += [mark for mark in own if mark.kind is MarkKind.TAB]
                if job.outlines:
                    marks += tab_outline(one.stack.layout.positions[pile], face)
            for side in (1, 2):
                fields = _slug_fields(job, one.stack, index, side, total)
                dots = itertools.chain(*one.dots[: len(leaves)]) if side == 1 else ()
                legend = one.legend if side == 1 else None
                yield (
                    slug_svg(job.rooms, side, one.slug, fields, style, legend),
                    marks_svg(job.rooms, side, [*marks, *dots], one.slug, style),
                )


def _files(job: Job, laid: Laid) -> dict[str, bytes]:
    """The files by name."""
    plan, printer, sides = job.plan, job.rooms.printer, laid.sides
    backs = sides[::-2] if printer.reverse_side_2 else sides[1::2]
    names = titled(plan)
    duplex = "/DuplexFlipLongEdge" if printer.flip is Flip.LONG else "/DuplexFlipShortEdge"
    return {
        name: stitch(
            chosen, laid.pages, laid.margins, FileAbout(f"{names} ({part})", plan.language, turning)
        )
        for name, chosen, part, turning in (
            (SIDE_1, sides[0::2], "side 1", "/Simplex"),
            (SIDE_2, backs, "side 2", "/Simplex"),
            (BOTH, sides, "both sides", duplex),
        )
    }


def titled(plan: SetPlan) -> str:
    """What a set's files are called in their titles: by the set and its period."""
    return ", ".join(dict.fromkeys(name for name in (plan.title, plan.period.title) if name))


def side_plan(
    plan: SetPlan,
    placed: Sequence[Placement],
    size: tuple[float, float],
    bleed: float,
    around: tuple[int, ...] = (),
) -> SidePlan:
    """A side of a sheet of that size (mm) with the faces that lie on it."""
    numbers = {id(page): number for number, page in enumerate(plan.pages)}
    shown: list[PlacedPage] = []
    for one in placed:
        leaf = plan.leaves[one.leaf]
        page = leaf.page(one.face)
        if page is None:
            continue
        geometry = geometry_of(plan, leaf)
        where = geometry.page(one.face, page.beside_mm)
        matrix = one.position.matrix(where.grown(bleed), size[1])
        shown.append(PlacedPage(numbers[id(page)], matrix, _clip(geometry, where, bleed)))
    trim = Rect.union(one.flat for one in placed)
    return SidePlan(*size, trim, trim.grown(bleed), tuple(shown), around)


def _clip(geometry: LeafGeometry, where: Rect, bleed: float) -> Rect | None:
    """The part of a drawing that is shown: its bleed must not run on over a fold.

    None when all of it is, as it is without bleed and wherever the page is as wide as its leaf.
    """
    if not bleed or where.width >= geometry.width_mm:
        return None
    left = bleed if where.x > 0 else 0.0
    return Rect(left, 0, where.width + bleed, where.height + 2 * bleed)
