"""The edition for print shops: leaves one a page, or together on press sheets, in printing inks.

A file of ISO 15930-7 (PDF/X-4): what is printed under is in it as an ICC profile, and every page
says where it is trimmed and how far it bleeds. Required keys are named from memory of the standard.
"""

from __future__ import annotations

import datetime as dt
import hashlib
import uuid
import zlib
from collections.abc import Callable, Iterable, Iterator, Sequence
from dataclasses import replace
from xml.sax.saxutils import escape

from pypdf import PdfWriter
from pypdf.generic import (
    ArrayObject,
    DictionaryObject,
    NameObject,
    NumberObject,
    StreamObject,
    TextStringObject,
)
from pypdf.xmp import (
    DC_NAMESPACE,
    PDF_NAMESPACE,
    RDF_NAMESPACE,
    XMP_NAMESPACE,
    XMPMM_NAMESPACE,
)

from pipeline import __version__
from pipeline.base.cache import NO_CACHE, Cache, key_of
from pipeline.base.geometry import decimal
from pipeline.draw import draw
from pipeline.draw.forms import Source, added
from pipeline.impose.imposing import Laid, lay_out, plan_sheets, side_plan, titled
from pipeline.impose.layout import FULL_MARK_MM, GAP_MM
from pipeline.impose.leaf import geometry_of
from pipeline.impose.margins import DASHES, HAIRLINE_MM, INK
from pipeline.impose.marks import MarkKind, mark_places
from pipeline.impose.separation import separated
from pipeline.impose.sheet import Placement, Point, PrinterSettings, Sheet
from pipeline.impose.stitch import FileAbout, SidePlan, stitch
from pipeline.plan.model import Paper, Press, SetPlan, Side
from pipeline.plan.season import TAB_INK
from pipeline.text import FontBook

_TAB_COLOUR = (236, 0, 140)
"""What those lines look like on a screen: unlike drawings, and easy to see (by eye)."""
STANDARD = "PDF/X-4"
VERSION = "1.6"
"""The version of PDF that the standard is based on (from memory)."""
_NO_DAY = dt.date(2000, 1, 1)
"""Stands for the day of a set without dates: files say when they were made, and ours don't know."""


def press_sheets(plan: SetPlan, book: FontBook) -> tuple[Sheet, ...]:
    """The press sheets of a set, or a sheet for each leaf that is as large as it and its bleed.

    Raises UserError where leaves don't fit on the press sheet.
    """
    press = _press(plan)
    if press.sheet_mm:
        paper, printer = _press_paper(press)
        return plan_sheets(plan, paper, printer, book, bleed_mm=plan.bleed_mm)
    return tuple(_single(plan))


def press_edition(
    plan: SetPlan, pages_pdf: bytes, book: FontBook, *, cache: Cache = NO_CACHE, faces: str = ""
) -> bytes:
    """The file for print shops: side 1 and side 2 of each sheet in turn.

    ``plan`` is as ``for_press`` has it, ``pages_pdf`` drawn from that; see ``impose``.

    Raises UserError where leaves don't fit on the press sheet, or something drawn has no inks.
    """
    press = _press(plan)

    def in_inks(drawn: bytes) -> bytes:
        return cache.get_or_make(key_of("inks", press, drawn), lambda: separated(drawn, press))

    inked = in_inks(pages_pdf)
    if press.sheet_mm:
        paper, printer = _press_paper(press)
        laid = lay_out(plan, paper, printer, inked, book, cache=cache, faces=faces, around=in_inks)
    else:
        laid = _one_by_one(plan, inked, book, in_inks)
    laid = _with_outlines(plan, laid, press, book)
    about = FileAbout(titled(plan), plan.language, "/Simplex", VERSION)

    def finish(writer: PdfWriter) -> None:
        _declare(writer, plan, press, hashlib.sha256(pages_pdf).digest())

    return _untrapped(stitch(laid.sides, laid.pages, laid.margins, about, finish))


def for_press(plan: SetPlan) -> SetPlan:
    """A set as it is printed by a press: with that one's bleed, where it is more than its own."""
    return replace(plan, bleed_mm=max(plan.bleed_mm, _press(plan).bleed_mm))


def _press(plan: SetPlan) -> Press:
    assert plan.press is not None, "asked of sets that have one alone"
    return plan.press


def _press_paper(press: Press) -> tuple[Paper, PrinterSettings]:
    assert press.sheet_mm is not None
    width, height = press.sheet_mm
    called = f"{decimal(width, 1)} × {decimal(height, 1)} mm"
    paper = Paper("press-sheet", f"the press sheet of {called}", width, height, "", "")
    return paper, PrinterSettings(unprintable_mm=press.unprintable_mm)


def _gap_mm(plan: SetPlan) -> float:
    """From the trim to where marks begin, outside the bleed, mm."""
    return max(plan.bleed_mm, GAP_MM)


def beside_mm(plan: SetPlan) -> float:
    """What a page of one leaf has around it: the bleed, and marks outside that, mm."""
    return _gap_mm(plan) + FULL_MARK_MM if _press(plan).marks else plan.bleed_mm


def _single(plan: SetPlan) -> Iterator[Sheet]:
    around = beside_mm(plan)
    for number, leaf in enumerate(plan.leaves):
        shape = geometry_of(plan, leaf)
        faces = [
            Placement(
                number,
                side,
                shape.face(side).flat.moved(around, around),
                shape.face(side).trim.moved(around, around),
            )
            for side in (Side.RECTO, Side.VERSO)
        ]
        width, height = shape.width_mm + 2 * around, shape.height_mm + 2 * around
        yield Sheet(number + 1, width, height, (faces[0],), (faces[1],), number)


def _one_by_one(
    plan: SetPlan, pages_pdf: bytes, book: FontBook, around: Callable[[bytes], bytes]
) -> Laid:
    sheets, bleed = tuple(_single(plan)), plan.bleed_mm
    sides = [(sheet, placed) for sheet in sheets for placed in (sheet.side_1, sheet.side_2)]
    pages = Source(pages_pdf)
    marks = [_marks_svg(plan, sheet, one) for sheet, (one,) in sides] if _press(plan).marks else []
    drawings = list(dict.fromkeys(marks))
    margins = Source(around(draw(drawings, book))) if drawings else pages
    return Laid(
        sheets,
        tuple(
            side_plan(
                plan,
                placed,
                (sheet.width_mm, sheet.height_mm),
                bleed,
                (drawings.index(marks[number]),) if marks else (),
            )
            for number, (sheet, placed) in enumerate(sides)
        ),
        pages,
        margins,
    )


def _with_outlines(plan: SetPlan, laid: Laid, press: Press, book: FontBook) -> Laid:
    """The same with the lines that leaves with tabs are cut along, on each side over all else."""
    faces = [placed for sheet in laid.sheets for placed in (sheet.side_1, sheet.side_2)]
    svgs = [_outlines_svg(plan, *both) for both in zip(laid.sides, faces, strict=True)]
    drawings = list(dict.fromkeys(filter(None, svgs)))
    if not drawings:
        return laid
    inked = replace(press, spots=((TAB_INK, _TAB_COLOUR),))
    outlines = Source(separated(draw(drawings, book), inked, over=True))
    first = len(laid.margins.pages)
    sides = tuple(
        replace(side, around=(*side.around, first + drawings.index(svg))) if svg else side
        for side, svg in zip(laid.sides, svgs, strict=True)
    )
    return replace(laid, sides=sides, margins=laid.margins.followed_by(outlines))


def cut_outline(plan: SetPlan, placed: Placement) -> list[Point]:
    """The corners of a leaf with a tab once it is cut, where it lies on its sheet; else none."""
    leaf = plan.leaves[placed.leaf]
    face = geometry_of(plan, leaf).face(placed.face)
    return [placed.position.point(*one) for one in face.corners] if leaf.tab else []


def _outlines_svg(plan: SetPlan, side: SidePlan, faces: Sequence[Placement]) -> bytes:
    """The outlines of the leaves on a side; nothing where none has a tab."""
    runs = [
        " ".join(f"{decimal(at.x, 4)},{decimal(at.y, 4)}" for at in cut_outline(plan, placed))
        for placed in faces
    ]
    shapes = [f'<polygon points="{run}"/>' for run in runs if run]
    colour = "#" + bytes(_TAB_COLOUR).hex()
    return _lines_svg(side.width, side.height, colour, shapes) if shapes else b""


def _lines_svg(width_mm: float, height_mm: float, colour: str, lines: Iterable[str]) -> bytes:
    """A drawing of hairlines as large as a sheet."""
    width, height = decimal(width_mm, 4), decimal(height_mm, 4)
    return (
        f'<svg xmlns="http://www.w3.org/2000/svg" width="{width}mm" height="{height}mm"'
        f' viewBox="0 0 {width} {height}"><g fill="none" stroke="{colour}"'
        f' stroke-width="{HAIRLINE_MM}">{"".join(lines)}</g></svg>'
    ).encode()


def _marks_svg(plan: SetPlan, sheet: Sheet, placed: Placement) -> bytes:
    """The marks around one leaf, outside its bleed."""
    gap = _gap_mm(plan)
    face = geometry_of(plan, plan.leaves[placed.leaf]).face(placed.face)
    lines = []
    for place in mark_places(face):
        at, towards = place.on_sheet(placed.position)
        start, end = at.along(towards, gap), at.along(towards, gap + FULL_MARK_MM)
        dashes = f' stroke-dasharray="{DASHES}"' if place.kind is MarkKind.FOLD else ""
        ends = " ".join(decimal(one, 4) for one in (*start, *end))
        x1, y1, x2, y2 = ends.split()
        lines.append(f'<line x1="{x1}" y1="{y1}" x2="{x2}" y2="{y2}"{dashes}/>')
    return _lines_svg(sheet.width_mm, sheet.height_mm, INK, lines)


def _declare(writer: PdfWriter, plan: SetPlan, press: Press, digest: bytes) -> None:
    """What the standard asks a file to say of itself."""
    day = plan.period.first or _NO_DAY
    name = TextStringObject(press.profile_name)
    profile = StreamObject.initialize_from_dictionary(
        {
            "__streamdata__": zlib.compress(press.profile, 9),
            NameObject("/Filter"): NameObject("/FlateDecode"),
            NameObject("/N"): NumberObject(4),
        }
    )
    intent = DictionaryObject(
        {
            NameObject("/Type"): NameObject("/OutputIntent"),
            NameObject("/S"): NameObject("/GTS_PDFX"),
            NameObject("/OutputConditionIdentifier"): name,
            NameObject("/Info"): name,
            NameObject("/DestOutputProfile"): added(writer, profile),
        }
    )
    told = StreamObject()
    told.set_data(_metadata(plan, day, digest))
    told[NameObject("/Type")] = NameObject("/Metadata")
    told[NameObject("/Subtype")] = NameObject("/XML")
    root = writer.root_object
    root[NameObject("/OutputIntents")] = ArrayObject([added(writer, intent)])
    root[NameObject("/Metadata")] = added(writer, told)
    made = f"D:{day:%Y%m%d}000000Z"
    writer.add_metadata({"/CreationDate": made, "/ModDate": made, "/Trapped": "False"})


def _untrapped(pdf: bytes) -> bytes:
    """What pypdf writes as text made the name that it has to be (14.11.6), just as long."""
    text, name = b"/Trapped (False)", b"/Trapped  /False"
    assert pdf.count(text) == 1
    return pdf.replace(text, name)


def _metadata(plan: SetPlan, day: dt.date, digest: bytes) -> bytes:
    """The same in XMP (ISO 16684-1), whose outermost element is RDF's; one around it may be had."""
    moment, identity = f"{day.isoformat()}T00:00:00Z", uuid.UUID(bytes=digest[:16])
    spaces = {
        "dc": DC_NAMESPACE,
        "pdf": PDF_NAMESPACE,
        "pdfxid": "http://www.npes.org/pdfx/ns/id/",
        "rdf": RDF_NAMESPACE,
        "xmp": XMP_NAMESPACE,
        "xmpMM": XMPMM_NAMESPACE,
    }
    said = {
        "pdfxid:GTS_PDFXVersion": STANDARD,
        "pdf:Producer": f"leafset {__version__}",
        "pdf:Trapped": "False",
        "xmp:CreateDate": moment,
        "xmp:ModifyDate": moment,
        "xmp:MetadataDate": moment,
        "xmpMM:DocumentID": f"uuid:{identity}",
        "xmpMM:VersionID": "1",
        "xmpMM:RenditionClass": "default",
    }
    names = " ".join(f'xmlns:{name}="{space}"' for name, space in spaces.items())
    lines = "\n".join(f"<{name}>{escape(value)}</{name}>" for name, value in said.items())
    title = escape(titled(plan))
    return f"""<?xpacket begin="\ufeff" id="W5M0MpCehiHzreSzNTczkc9d"?>
<rdf:RDF {names}>
<rdf:Description rdf:about="">
{lines}
<dc:title><rdf:Alt><rdf:li xml:lang="x-default">{title}</rdf:li></rdf:Alt></dc:title>
</rdf:Description>
</rdf:RDF>
<?xpacket end="r"?>
""".encode()
