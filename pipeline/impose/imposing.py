"""From a set's page drawings to its three finished files, step by step."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Any

from pipeline.base.cache import NO_CACHE, Cache, key_of
from pipeline.base.errors import UserError
from pipeline.base.geometry import Rect, mm
from pipeline.draw import draw
from pipeline.draw.forms import Source
from pipeline.impose.contents import contents
from pipeline.impose.drawing import furniture_svg
from pipeline.impose.furnish import Dressed, Job, dressed
from pipeline.impose.layout import Rooms, does_not_fit, lay, most_on_a_sheet
from pipeline.impose.leaf import LeafGeometry, check_paper
from pipeline.impose.printer import Flip, PrinterSettings
from pipeline.impose.sheet import Placement, Sheet, sheets_of
from pipeline.impose.stacks import Stack, stacked
from pipeline.impose.stitch import FileAbout, Placed, SidePlan, stitch
from pipeline.plan.model import Paper, SetPlan, Side
from pipeline.text import FontBook

SIDE_1, SIDE_2, BOTH = "side-1.pdf", "side-2.pdf", "both-sides.pdf"

PAGE_SIZE_SLACK_MM = 0.02
"""A drawing may be this far from its page's size: what points rounded in a file come to."""


@dataclass(frozen=True)
class Imposed:
    """A set laid on a paper: its files by name, its sheets, and its table of contents."""

    files: Mapping[str, bytes]
    sheets: tuple[Sheet, ...]
    contents: Mapping[str, Any]


def impose(
    plan: SetPlan,
    paper: Paper,
    printer: PrinterSettings,
    pages_pdf: bytes,
    book: FontBook,
    *,
    season: str = "",
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
    dress = _laid(job)
    sheets = sheets_of([one.stack for one in dress], job.geometries, paper, printer)
    pages = Source(pages_pdf)
    _check_pages(plan, pages, bleed_mm)
    svgs = _svgs(job, dress)
    marks = Source(
        cache.get_or_make(
            key_of("marks", faces, plan.language, *svgs),
            lambda: draw(svgs, book, language=plan.language),
        )
    )
    files = _files(job, sheets, pages, marks)
    return Imposed(files, sheets, contents(season, plan, paper, printer, sheets, files))


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
    dress = _laid(job)
    return sheets_of([one.stack for one in dress], job.geometries, paper, printer)


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


def _laid(job: Job) -> tuple[Dressed, ...]:
    """The stacks with all that is printed around their leaves.

    As many leaves on a sheet as there is room for; where marks or words then find none, fewer.
    """
    most = _most(job)
    while True:
        try:
            return dressed(job, _stacks(job, most))
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


def _svgs(job: Job, dress: Sequence[Dressed]) -> list[bytes]:
    """The SVGs of all sides' marks: side 1 of the first sheet, its side 2, and so on."""
    total = sum(one.stack.sheets for one in dress)
    return [
        furniture_svg(one.furniture(job, index, side, total))
        for one in dress
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
    shown: list[Placed] = []
    for one in placed:
        leaf = job.plan.leaves[one.leaf]
        page = leaf.recto if one.face is Side.RECTO else leaf.verso
        if page is None:
            continue
        geometry = job.geometries[one.leaf]
        where = geometry.page(one.face, page.flap_mm)
        matrix = one.pose.matrix(where.grown(bleed), sheet_height)
        shown.append(Placed(numbers[id(page)], matrix, _clip(geometry, where, bleed)))
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
