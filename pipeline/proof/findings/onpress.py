"""The edition for print shops: its boxes, its inks, how far it bleeds, and what it says of itself.

Pages are drawn and measured by pdfium. Operators and keys are read from the file's own objects;
which keys ISO 15930-7 (PDF/X-4) asks for is from memory.
"""

from __future__ import annotations

import hashlib
import io
import math
import re
from collections.abc import Callable, Iterator, Mapping, Sequence
from typing import Any

import numpy as np
import numpy.typing as npt
import pypdfium2 as pdfium
from PIL import Image, ImageDraw
from pypdf import PdfReader, Transformation
from pypdf.errors import PyPdfError
from pypdf.generic import ContentStream, DictionaryObject, IndirectObject, StreamObject

from pipeline.base.errors import UserError
from pipeline.base.geometry import MM_PER_INCH, Rect, mm
from pipeline.impose.contents import PRESS
from pipeline.impose.leaf import geometry_of
from pipeline.impose.press import STANDARD, VERSION, cut_outline, for_press, press_sheets
from pipeline.impose.sheet import Placement, Point, Sheet
from pipeline.plan.model import Press, SetPlan
from pipeline.plan.season import TAB_INK
from pipeline.proof.findings.subject import SetFinding, Subject
from pipeline.proof.read.raster import area_picture, opened

_DPI = 100.0
_PER_MM = _DPI / MM_PER_INCH
_INKED = 250
"""Greys darker than this are ink."""
_SHORT_MM = 0.4
"""Artwork may end so much short of the bleed: a pixel and a half."""
_OFF_MM = 0.1
_ROUNDED = 0.02
"""Parts of an ink by which rounded figures may be over the limit."""

_OPERATOR = re.compile(rb"(?<![\w.])((?:-?\d*\.?\d+\s+)+)(rg|RG|k|K)(?![\w*])")
_RGB = re.compile(r"/(?:DeviceRGB|CalRGB|Lab)\b")


def press_findings(subject: Subject) -> Iterator[SetFinding]:
    """What is wrong with the file for print shops, where the set has one."""
    note = next((one for one in subject.contents.files if one.name == PRESS), None)
    if note is None or subject.plan.press is None:
        return
    path, plan = subject.folder / PRESS, for_press(subject.plan)
    found: list[SetFinding] = []
    try:
        data = path.read_bytes()
        reader = PdfReader(io.BytesIO(data))
        with opened(data) as document:
            found += _of_pages(subject, plan, document, reader)
        found += _of_objects(subject, subject.plan.press, reader, data)
    except (UserError, OSError, PyPdfError, ValueError) as problem:
        yield subject.finding("file-unreadable", f"{PRESS} cannot be read ({problem})")
        return
    yield from found
    if not found and hashlib.sha256(data).hexdigest() != note.sha256:
        message = f"{PRESS} was changed or saved again after the build"
        yield subject.finding("file-changed", message)


def _of_pages(
    subject: Subject, plan: SetPlan, document: pdfium.PdfDocument, reader: PdfReader
) -> Iterator[SetFinding]:
    sheets = press_sheets(plan, subject.faces.book())
    if len(document) != 2 * len(sheets):
        message = f"{PRESS} has {len(document)} pages instead of {2 * len(sheets)}"
        yield subject.finding("page-missing", message)
        return
    for number, sheet in enumerate(sheets):
        for back, placed in enumerate((sheet.side_1, sheet.side_2)):
            page = document[2 * number + back]
            where = f"{PRESS}, page {2 * number + back + 1}"
            yield from _of_boxes(subject, plan, page, sheet, placed, where)
            if _is_cut_elsewhere(plan, placed, sheet, reader.pages[2 * number + back]):
                message = f"{where}: the outline its leaf is cut along isn't as it should be"
                yield subject.finding("press-box", message)
            for one in placed:
                yield from _of_bleed(subject, plan, page, one)


def _of_boxes(
    subject: Subject,
    plan: SetPlan,
    page: pdfium.PdfPage,
    sheet: Sheet,
    placed: tuple[Placement, ...],
    where: str,
) -> Iterator[SetFinding]:
    """Where a page is cut, and how far it is printed past that (ISO 32000-1, 14.11.2)."""
    trim = Rect.union(one.flat for one in placed)
    for name, box, wanted in (
        ("trim box", page.get_trimbox(), trim),
        ("bleed box", page.get_bleedbox(), trim.grown(plan.bleed_mm)),
    ):
        left, bottom, right, top = map(mm, box)
        told = (left, sheet.height_mm - top, right, sheet.height_mm - bottom)
        asked = (wanted.x, wanted.y, wanted.right, wanted.bottom)
        if max(abs(a - b) for a, b in zip(told, asked, strict=True)) > _OFF_MM:
            yield subject.finding("press-box", f"{where}: its {name} isn't where the leaf's is")


def _is_cut_elsewhere(
    plan: SetPlan, placed: Sequence[Placement], sheet: Sheet, page: DictionaryObject
) -> bool:
    """Whether leaves with tabs lie on a page, and its outlines are others than theirs."""
    asked = [run for one in placed if (run := cut_outline(plan, one))]
    if not asked:
        return False
    drawn = [
        [Point(mm(x), sheet.height_mm - mm(y)) for x, y in run]
        for run in _outlines(page, Transformation())
    ]
    return len(drawn) != len(asked) or not all(
        any(_is_same(run, other) for other in drawn) for run in asked
    )


def _is_same(run: Sequence[Point], other: Sequence[Point]) -> bool:
    pairs = zip(run, other, strict=False)
    return len(run) == len(other) and all(math.dist(*pair) < _OFF_MM for pair in pairs)


def _outlines(
    drawn: Any, placed: Transformation, over: bool = False
) -> Iterator[list[tuple[float, float]]]:
    """The outlines in the ink of their own that print over all else: their corners, pt.

    They are read from the content of a page, or of a form that is ``placed`` on it (ISO 32000-1,
    8.10.1), operator by operator.
    """
    if not _has_outlines(drawn):
        return
    resources, stroke, run = drawn["/Resources"].get_object(), "", list[tuple[float, float]]()
    kept = list[tuple[Transformation, bool, str]]()
    content = drawn if isinstance(drawn, StreamObject) else drawn["/Contents"].get_object()
    for operands, operator in ContentStream(content, None).operations:
        if operator == b"q":
            kept.append((placed, over, stroke))
        elif operator == b"Q":
            placed, over, stroke = kept.pop()
        elif operator == b"cm":
            placed = _matrix(operands).transform(placed)
        elif operator == b"gs":
            state = resources["/ExtGState"][operands[0]].get_object()
            over = bool(state.get("/OP", over))
        elif operator == b"CS":
            stroke = operands[0]
        elif operator in (b"m", b"l"):
            x, y = placed.apply_on((float(operands[0]), float(operands[1])))
            run.append((x, y))
        elif operator in (b"S", b"s", b"n", b"f", b"f*"):
            if operator in (b"S", b"s") and over and stroke in _inks_of_outlines(resources):
                yield run[:-1] if run[-1] == run[0] else run
            run = []
        elif operator == b"Do":
            form = resources["/XObject"][operands[0]].get_object()
            within = _matrix(form.get("/Matrix", (1, 0, 0, 1, 0, 0))).transform(placed)
            yield from _outlines(form, within, over)


def _matrix(values: Sequence[Any]) -> Transformation:
    a, b, c, d, e, f = map(float, values)
    return Transformation((a, b, c, d, e, f))


def _has_outlines(drawn: Any) -> bool:
    if "/Resources" not in drawn:
        return False
    resources = drawn["/Resources"].get_object()
    below = resources.get("/XObject", DictionaryObject()).get_object().values()
    return bool(_inks_of_outlines(resources)) or any(
        _has_outlines(one.get_object()) for one in below
    )


def _inks_of_outlines(resources: Any) -> list[str]:
    spaces = resources.get("/ColorSpace", DictionaryObject()).get_object()
    inks = ((name, one.get_object()) for name, one in spaces.items())
    return [name for name, ink in inks if list(ink[:2]) == ["/Separation", f"/{TAB_INK}"]]


def _of_bleed(
    subject: Subject, plan: SetPlan, page: pdfium.PdfPage, placed: Placement
) -> Iterator[SetFinding]:
    """Artwork that reaches a cut and ends before the bleed does."""
    bleed = plan.bleed_mm
    leaf = Rect(0, 0, placed.position.width, placed.position.height)
    area = placed.position.rect(leaf.grown(bleed))
    inked = np.asarray(area_picture(page, area, _DPI, placed.turned).convert("L")) < _INKED
    lines = _outline_picture(plan, placed, inked.shape, bleed)
    for side, turn in _TURNS.items():
        missing = _missing_mm(turn(inked), turn(lines), bleed)
        if missing > _SHORT_MM:
            message = (
                f"artwork reaches the {side} edge of leaf {placed.leaf + 1} and ends"
                f" {missing:.1f} mm before the {bleed:g} mm of bleed do"
            )
            face = subject.page(placed.leaf, placed.face)
            yield SetFinding(
                "press-bleed",
                message,
                subject.name,
                leaf=placed.leaf,
                face=placed.face,
                template=face.template if face else "",
            )


_Picture = npt.NDArray[np.bool_]
_TURNS: Mapping[str, Callable[[_Picture], _Picture]] = {
    "left": lambda picture: picture,
    "right": lambda picture: picture[:, ::-1],
    "top": lambda picture: picture.T,
    "bottom": lambda picture: picture.T[:, ::-1],
}
"""What brings each side of a picture to its left."""


def _outline_picture(
    plan: SetPlan, placed: Placement, shape: tuple[int, ...], bleed: float
) -> _Picture:
    """Where the outline of a leaf with a tab is drawn on it: what is under it isn't known."""
    picture, leaf = Image.new("1", (shape[1], shape[0])), plan.leaves[placed.leaf]
    if leaf.tab:
        corners = geometry_of(plan, leaf).face(placed.face).corners
        run = [((x + bleed) * _PER_MM, (y + bleed) * _PER_MM) for x, y in (*corners, corners[0])]
        ImageDraw.Draw(picture).line(run, 1, width=3)
    return np.asarray(picture)


def _missing_mm(inked: _Picture, lines: _Picture, bleed: float) -> float:
    """How much of the bleed at a picture's left edge is missing where ink reaches the cut, mm.

    Where ``lines`` are nothing is known of the ink: what is beside them tells.
    """
    cut, corner = round(bleed * _PER_MM), int(np.ceil(bleed * _PER_MM)) + 1
    within = cut + 2 if lines.any() else cut
    rows, unknown = inked[corner:-corner], lines[corner:-corner]
    reaches = (rows & ~unknown)[:, within : within + 2].all(axis=1)
    if not reaches.any():
        return 0.0
    outside = (rows | unknown)[reaches][:, :cut][:, ::-1]
    run = np.where(outside.all(axis=1), cut, np.argmin(outside, axis=1))
    return float(bleed - run.min() / _PER_MM)


def _of_objects(
    subject: Subject, press: Press, reader: PdfReader, data: bytes
) -> Iterator[SetFinding]:
    lacks = [*_lacking(press, reader, data)]
    if lacks:
        yield subject.finding("press-standard", f"{PRESS} lacks {', '.join(lacks)}")
    most = 0.0
    for number in sorted({*reader.xref.get(0, ()), *reader.xref_objStm}):
        made = IndirectObject(number, 0, reader).get_object()
        if not isinstance(made, DictionaryObject):
            continue
        heads = {name: one for name, one in made.items() if name != "/Parent"}
        content = _content_of(made)
        operators = _OPERATOR.findall(content)
        if _RGB.search(str(heads)) or any(name in (b"rg", b"RG") for _, name in operators):
            yield subject.finding("press-colour", f"{PRESS} has colours of red, green and blue")
            return
        most = max((sum(map(float, values.split())) for values, _ in operators), default=most)
        if most > press.ink_percent / 100 + _ROUNDED:
            over = f"{100 * most:.0f} % ink, the limit is {press.ink_percent:g} %"
            message = f"{PRESS} has a colour of {over}"
            yield subject.finding("press-colour", message)
            return


def _content_of(made: DictionaryObject) -> bytes:
    """The operators of a page's or a form's content; none of what is something else."""
    kind, other = made.get("/Subtype"), {"/N", "/Length1", "/FunctionType"}
    if not isinstance(made, StreamObject) or kind in ("/Image", "/XML"):
        return b""
    return bytes(made.get_data()) if kind == "/Form" or not other & set(made) else b""


def _lacking(press: Press, reader: PdfReader, data: bytes) -> Iterator[str]:
    """What the standard asks for and the file hasn't."""
    root: Any = reader.trailer["/Root"]
    about: Mapping[str, object] = reader.metadata or {}
    if not data.startswith(f"%PDF-{VERSION}".encode()):
        yield f"the version of PDF that {STANDARD} has"
    if "/ID" not in reader.trailer:
        yield "its identifier"
    if about.get("/Trapped") not in ("/True", "/False"):
        yield "the key that says whether it is trapped"
    for name in ("/Title", "/CreationDate", "/ModDate"):
        if name not in about:
            yield f"its {name[1:]}"
    told = root.get("/Metadata")
    if told is None or f">{STANDARD}<".encode() not in told.get_object().get_data():
        yield f"the metadata that call it {STANDARD}"
    intents = [one.get_object() for one in root.get("/OutputIntents", ())]
    profiles = [one.get("/DestOutputProfile") for one in intents if one.get("/S") == "/GTS_PDFX"]
    if [one.get_object().get_data() for one in profiles if one] != [press.profile]:
        yield "the print shop's profile as its output intent"
    if any("/TrimBox" not in page or "/BleedBox" not in page for page in reader.pages):
        yield "a trim box and a bleed box on every page"
