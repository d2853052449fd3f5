"""The edition for screens: leaves as they lie open in the binder, with links between the pages.

Pages keep their true size, so that ruled room has its pitch wherever a page is shown as large as it
is; the page around them has the shape of the screen.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator, Sequence
from typing import NamedTuple

from pypdf import PdfWriter
from pypdf.generic import ArrayObject, DictionaryObject, IndirectObject, NameObject, NumberObject

from pipeline.base.errors import UserError
from pipeline.base.geometry import Rect, pt
from pipeline.draw.forms import Source, pdf_numbers
from pipeline.impose.contents import fore_edge_on_right
from pipeline.impose.imposing import titled
from pipeline.impose.leaf import geometry_of
from pipeline.impose.sheet import Placement, Sheet
from pipeline.impose.stitch import FileAbout, PlacedPage, SidePlan, stitch
from pipeline.plan.model import Page, Screen, SetPlan, Side, tab_size
from pipeline.plan.season import LENGTHS

Face = tuple[int, Side]
"""A leaf, counted from 0, and one of its faces."""


class PageLink(NamedTuple):
    """A place of a face that leads to another: ``area`` is in mm of the leaf's flat area."""

    area: Rect
    to: Face


def screen_sheets(plan: SetPlan) -> tuple[Sheet, ...]:
    """What is shown at once, as sheets that have one side: their sizes, and which leaf lies where.

    Raises UserError where the set needs more room than the screen has.
    """
    assert plan.screen is not None
    views = list(_views(plan, plan.screen))
    lefts, rights = zip(*(_reach(plan, view) for view in views), strict=True)
    left, right = max(lefts), max(rights)
    above = max(tab_size(leaf.tab)[1] for leaf in plan.leaves)
    width, height = _around(plan, left + right, plan.binder.height_mm + above)
    middle, top = (width - left - right) / 2 + left, (height - plan.binder.height_mm + above) / 2
    return tuple(
        Sheet(
            number,
            width,
            height,
            tuple(_placed(plan, face, middle, top) for face in view),
            (),
        )
        for number, view in enumerate(views, 1)
    )


def _around(plan: SetPlan, width: float, height: float) -> tuple[float, float]:
    """The page around what is shown, mm."""
    assert plan.screen is not None
    across, down = plan.screen.shape
    if not plan.screen.in_mm:
        return max(width, height * across / down), max(height, width * down / across)
    if width > across or height > down:
        raise UserError(
            f"set {plan.name!r}, {plan.binder.title} on the screen",
            f"needs {width:g} × {height:g} mm and the screen has {across:g} × {down:g}",
            'show single pages (pages = "single"), or give its shape alone, such as shape = "4:3"',
        )
    return across, down


def _views(plan: SetPlan, screen: Screen) -> Iterator[tuple[Face, ...]]:
    """The faces that are shown together, in reading order; blank ones are not shown alone."""
    faces = [(leaf, side) for leaf in range(len(plan.leaves)) for side in (Side.RECTO, Side.VERSO)]
    there = {face: plan.leaves[face[0]].page(face[1]) is not None for face in faces}
    if not screen.facing:
        yield from ((face,) for face in faces if there[face])
        return
    if there[faces[0]]:
        yield (faces[0],)
    yield from zip(faces[1::2], faces[2::2], strict=False)
    if there[faces[-1]]:
        yield (faces[-1],)


def _reach(plan: SetPlan, view: Sequence[Face]) -> tuple[float, float]:
    """How far a view reaches to the left and to the right of the rings, mm."""
    reach = [0.0, 0.0]
    for leaf, side in view:
        page, tab = plan.leaves[leaf].page(side), plan.leaves[leaf].tab
        beside = (page.flap_mm if page else 0.0) + tab_size(tab)[0]
        at = int(fore_edge_on_right(side, plan.binding))
        reach[at] = max(reach[at], plan.binder.width_mm + beside)
    return reach[0], reach[1]


def _placed(plan: SetPlan, face: Face, middle: float, top: float) -> Placement:
    """A face beside the rings (mm from the left), its page's top edge at a height."""
    leaf, side = face
    shape = geometry_of(plan, plan.leaves[leaf]).face(side)
    on_right = fore_edge_on_right(side, plan.binding)
    x = middle - (shape.trim.x if on_right else shape.trim.right)
    return Placement(
        leaf, side, shape.flat.moved(x, top - shape.trim.y), shape.trim.moved(x, top - shape.trim.y)
    )


def screen_edition(
    plan: SetPlan,
    sheets: Sequence[Sheet],
    pages_pdf: bytes,
    links: Callable[[int, Side], Sequence[PageLink]],
) -> bytes:
    """The file for screens. ``links`` gives those of each face of a leaf; see ``impose``."""
    numbers = {id(page): number for number, page in enumerate(plan.pages)}
    shown_on = {(one.leaf, one.face): n for n, sheet in enumerate(sheets) for one in sheet.side_1}
    bleed = plan.bleed_mm
    sides: list[SidePlan] = []
    for sheet in sheets:
        placed = []
        for one in sheet.side_1:
            page = plan.leaves[one.leaf].page(one.face)
            if page is not None:
                where = geometry_of(plan, plan.leaves[one.leaf]).page(one.face, page.beside_mm)
                matrix = one.position.matrix(where.grown(bleed), sheet.height_mm)
                placed.append(PlacedPage(numbers[id(page)], matrix, _seen(plan, page, bleed)))
        whole = Rect(0, 0, sheet.width_mm, sheet.height_mm)
        sides.append(SidePlan(sheet.width_mm, sheet.height_mm, whole, whole, tuple(placed), ()))

    def linked(writer: PdfWriter) -> None:
        there = [page.indirect_reference for page in writer.pages]
        for number, sheet in enumerate(sheets):
            notes = ArrayObject()
            for one in sheet.side_1:
                for link in links(one.leaf, one.face):
                    to = shown_on.get(link.to)
                    if to is not None and to != number:
                        area = link.area.moved(one.flat.x, one.flat.y)
                        notes.append(_link(writer, area, sheet.height_mm, there[to]))
            if notes:
                writer.pages[number][NameObject("/Annots")] = notes
        _name_pages(writer, plan, sheets)

    source, about = Source(pages_pdf), FileAbout(titled(plan), plan.language, "/Simplex")
    return stitch(sides, source, source, about, linked)


def _seen(plan: SetPlan, page: Page, bleed: float) -> Rect:
    """The part of a drawing that is shown: the page with its own flap, and nothing past its edge.

    The outside of another flap, which is drawn beside it, is not.
    """
    wider, higher = tab_size(page.tab)
    width = plan.binder.width_mm + page.flap_mm + wider
    drawn = plan.binder.width_mm + page.beside_mm + wider
    on_right = fore_edge_on_right(page.side, plan.binding)
    x = bleed + (0.0 if on_right else drawn - width)
    return Rect(x, bleed, width, plan.binder.height_mm + higher)


def _link(writer: PdfWriter, area: Rect, height: float, to: IndirectObject | None) -> object:
    """A link annotation (ISO 32000-1, 12.5.6.5) without a border, to a whole page (12.3.2.2)."""
    edges = [pt(area.x), pt(height - area.bottom), pt(area.right), pt(height - area.y)]
    return DictionaryObject(
        {
            NameObject("/Type"): NameObject("/Annot"),
            NameObject("/Subtype"): NameObject("/Link"),
            NameObject("/Rect"): pdf_numbers(edges),
            NameObject("/Border"): ArrayObject([NumberObject(0)] * 3),
            NameObject("/Dest"): ArrayObject([to, NameObject("/Fit")]),
        }
    )


def _name_pages(writer: PdfWriter, plan: SetPlan, sheets: Sequence[Sheet]) -> None:
    """An outline by the times that pages are about (12.3.3), and their names as labels (12.4.2)."""
    above: list[tuple[int, IndirectObject]] = []
    said: set[tuple[str, object]] = set()
    for number, sheet in enumerate(sheets):
        pages = [plan.leaves[one.leaf].page(one.face) for one in sheet.side_1]
        named = [page for page in pages if page is not None]
        if not named:
            continue
        writer.set_page_label(number, number, prefix=named[0].label or str(number + 1))
        for page in named:
            key = page.label, page.facts.dates or page.template
            if not page.label or key in said:
                continue
            said.add(key)
            kind = page.facts.kind
            rank = len(LENGTHS) - LENGTHS.index(kind) if kind in LENGTHS else 0
            while above and above[-1][0] >= rank:
                above.pop()
            parent = above[-1][1] if above else None
            item = writer.add_outline_item(title=page.label, page_number=number, parent=parent)
            if rank:
                above.append((rank, item))
