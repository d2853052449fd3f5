"""The files as files: pages, boxes, what they ask of the printer, fonts, size."""

from __future__ import annotations

import ctypes
import hashlib
import io
import itertools
from collections.abc import Iterator, Mapping, Sequence
from contextlib import closing
from dataclasses import dataclass, replace
from pathlib import Path
from typing import Any

import pypdfium2 as pdfium
import pypdfium2.raw as pdfium_raw
from pypdf import PdfReader
from pypdf.errors import DependencyError, PdfReadError, PyPdfError
from pypdf.generic import DictionaryObject, IndirectObject, PdfObject, StreamObject

from pipeline.base.findings import Severity
from pipeline.base.geometry import Rect, mm
from pipeline.impose.sheet import SheetSide
from pipeline.proof.findings.reading import SideRead
from pipeline.proof.findings.subject import SetFinding, Subject
from pipeline.proof.read.objects import Content, Layer, kinds_in_place, top_forms
from pipeline.proof.read.pagecontent import dictionary, pages_content

SIDE_1, SIDE_2, BOTH = "side-1.pdf", "side-2.pdf", "both-sides.pdf"
FILES = (SIDE_1, SIDE_2, BOTH)
_BOX_MM = 0.05
"""Boxes are written to a hundredth of a point."""


@dataclass(frozen=True, eq=False)
class FileRead:
    """One of a set's files as it was opened; valid while its document is open.

    ``document`` shows what is on its pages. ``root`` is its catalog, None where it is locked in a
    way that pypdf cannot undo; ``holders`` are the pages and the tree they are on, each with the
    number of its first page, from 0; ``unmapped`` are the fonts that have no map to Unicode.
    ``contents`` are its pages', None for what is not known.
    """

    name: str
    data: bytes
    document: pdfium.PdfDocument
    locked: bool = True
    root: DictionaryObject | None = None
    holders: tuple[tuple[int, DictionaryObject], ...] = ()
    unmapped: tuple[str, ...] = ()
    contents: tuple[Content | None, ...] = ()

    def content(self, page: int) -> Content | None:
        """What a page, counted from 0, is made of; None where that is not known."""
        return self.contents[page] if len(self.contents) == len(self.document) else None

    def place(self, subject: Subject, page: int) -> tuple[int, SheetSide]:
        """The sheet (its number as printed) and the side that a page, counted from 0, is for."""
        if self.name == BOTH:
            return page // 2 + 1, 2 if page % 2 else 1
        side: SheetSide = 2 if self.name == SIDE_2 else 1
        return subject.contents.page_number(page, side) + 1, side


def file_read(path: Path, data: bytes | None) -> FileRead | str:
    """A file opened that holds ``data``, or why it cannot be, said so that its name fits before it.

    Readers find the header and the last line within 1024 bytes of either end (the PDF Reference
    1.7, implementation notes 13 and 18).
    """
    if data is None:
        return "cannot be opened" if path.exists() else "is missing"
    if not data.strip():
        return "is empty"
    if b"%PDF-" not in data[:1024]:
        return "is not a PDF"
    if b"%%EOF" not in data[-1024:]:
        return "is cut short: its end is missing"
    try:
        document = pdfium.PdfDocument(data)
    except pdfium.PdfiumError as problem:
        locked = "password" in str(problem).casefold()
        return "is locked: it asks for a password" if locked else f"is damaged ({problem})"
    try:
        return _whole(path.name, data, document)
    except DependencyError:
        return FileRead(path.name, data, document)
    except (PyPdfError, ArithmeticError, AttributeError, LookupError, TypeError, ValueError) as why:
        document.close()
        return f"is damaged ({why})"


def _whole(name: str, data: bytes, document: pdfium.PdfDocument) -> FileRead:
    """A file read through by pypdf, which raises many errors when it is damaged."""
    reader = PdfReader(io.BytesIO(data), strict=True)
    root = reader.root_object
    holders = tuple(_holders(dictionary(root, "/Pages")))
    unmapped = dict.fromkeys(
        str(font.get("/BaseFont", "/?"))[1:].rpartition("+")[2]
        for font in _fonts([page for _, page in holders])
        if not _is_map(font.get("/ToUnicode"))
    )
    locked = "/Encrypt" in reader.trailer
    contents = () if locked else pages_content(reader)
    return FileRead(name, data, document, locked, root, holders, tuple(unmapped), contents)


def _is_map(given: PdfObject | None) -> bool:
    """Whether it is a map to Unicode (ISO 32000-1, 9.10.3) that has something in it."""
    stream = given.get_object() if given is not None else None
    return isinstance(stream, StreamObject) and b"beginbf" in stream.get_data()


def _holders(tree: DictionaryObject, first: int = 0) -> Iterator[tuple[int, DictionaryObject]]:
    """The nodes of a tree of pages (ISO 32000-1, 7.7.3), with the number of their first page."""
    yield first, tree
    for kid in tree.get("/Kids", ()):
        node = kid.get_object()
        if not isinstance(node, DictionaryObject):
            raise PdfReadError("a page has been lost")
        yield from _holders(node, first)
        first += int(node.get("/Count", 1))


def _fonts(holders: list[DictionaryObject]) -> Iterator[DictionaryObject]:
    """Every font of pages, in whatever form it is used, once."""
    seen: set[tuple[int, int]] = set()
    while holders:
        resources = dictionary(holders.pop(), "/Resources")
        for sort in ("/Font", "/XObject"):
            for held in dictionary(resources, sort).values():
                one = held.get_object()
                if isinstance(held, IndirectObject):
                    if (held.idnum, held.generation) in seen:
                        continue
                    seen.add((held.idnum, held.generation))
                if sort == "/XObject":
                    holders.append(one)
                else:
                    yield one


def size_findings(subject: Subject, file: FileRead) -> Iterator[SetFinding]:
    """Files over the limit."""
    limit, size = subject.limits.file_mb, len(file.data) / 1e6
    if size > limit:
        message = f"{file.name} is {size:.1f} MB, the limit is {limit:g} MB"
        yield subject.finding("file-big", message)


def count_findings(subject: Subject, file: FileRead) -> Iterator[SetFinding]:
    """Files with fewer or more pages than the set has sides for them."""
    pages, sheets = len(file.document), len(subject.contents.sheets)
    wanted = 2 * sheets if file.name == BOTH else sheets
    if pages != wanted:
        yield subject.finding(
            "page-missing" if pages < wanted else "page-extra",
            f"{file.name} has {pages} pages for {wanted} sides",
        )


_CATALOG_KEYS = ("/Type", "/Pages", "/Lang", "/ViewerPreferences")
"""All that our files have in their catalog (ISO 32000-1, Table 28)."""
_PAGE_KEYS = (
    *("/Type", "/Parent", "/Kids", "/Count", "/Contents", "/Resources"),
    *("/MediaBox", "/CropBox", "/BleedBox", "/TrimBox"),
)
"""All that our pages have, and the tree that holds them (ISO 32000-1, Tables 29 and 30)."""

_CATALOG_ASKS: Mapping[str, tuple[str, str]] = {
    "/OpenAction": ("acts-by-itself", "does something by itself when it is opened"),
    "/AA": ("acts-by-itself", "does something by itself when it is printed, saved or closed"),
    "/AcroForm": ("form-in-file", "has form fields, which are shown over the pages"),
    "/OCProperties": ("layers-in-file", "has layers that can be switched off{0}"),
    "/Collection": ("file-attached", "is a case with other files in it"),
    "/AF": ("file-attached", "carries other files with it"),
    "/PageLayout": ("opens-oddly", "opens with its pages side by side or in one column"),
    "/PageMode": ("opens-oddly", "opens with a panel beside its pages, or on the full screen"),
    "/Outlines": ("opens-oddly", "has bookmarks"),
    "/PageLabels": ("opens-oddly", "numbers its pages otherwise than they come"),
    "/URI": ("opens-oddly", "leads to the web"),
    "/Perms": ("file-locked", "allows buyers only some things"),
}
"""Keys of the catalog that change what a buyer sees: the rule and the words (Table 28)."""
_NAME_ASKS: Mapping[str, tuple[str, str]] = {
    "/JavaScript": ("acts-by-itself", "runs a script when it is opened"),
    "/EmbeddedFiles": ("file-attached", "carries other files with it"),
}
"""The same of its names (ISO 32000-1, Table 31)."""
_PAGE_ASKS: Mapping[str, tuple[str, str]] = {
    "/UserUnit": ("size-changed", "is to be printed {0} times as large as it is"),
    "/Rotate": ("page-rotated", "is turned by {0}°, which it was not when it was built"),
    "/Annots": ("note-on-page", "has {0} on it"),
    "/AA": ("acts-by-itself", "does something by itself when it is shown"),
    "/ArtBox": (
        "boxes-wrong",
        "has a second outline (an ArtBox), by which some programs print it in the wrong place",
    ),
    "/Dur": ("opens-oddly", "turns over by itself after {0} seconds"),
    "/Trans": ("opens-oddly", "turns over with an effect, like a slide"),
}
"""Keys of a page that change what a buyer sees (Table 30)."""
_VIEWER_ASKS: Mapping[str, tuple[str, str]] = {
    "/NumCopies": ("print-request-wrong", "asks the printer for {0} copies"),
    "/PrintPageRange": ("print-request-wrong", "asks the printer for pages {0} only"),
    "/PrintArea": (
        "print-request-wrong",
        "asks the printer for a part of each page only, so edges or marks are lost",
    ),
    "/PrintClip": (
        "print-request-wrong",
        "asks the printer for a part of each page only, so edges or marks are lost",
    ),
    "/ViewArea": ("opens-oddly", "shows a part of each page only"),
    "/ViewClip": ("opens-oddly", "shows a part of each page only"),
    "/Direction": ("opens-oddly", "lays its pages in the other direction"),
    "/HideToolbar": ("opens-oddly", "hides the reader's tools, the printer's button among them"),
    "/HideMenubar": ("opens-oddly", "hides the reader's menus"),
    "/HideWindowUI": ("opens-oddly", "hides the edges of the reader's window"),
    "/FitWindow": ("opens-oddly", "changes the size of the reader's window"),
    "/CenterWindow": ("opens-oddly", "moves the reader's window"),
    "/NonFullScreenPageMode": ("opens-oddly", "opens a panel beside its pages"),
}
"""Preferences that we never write (ISO 32000-1, Table 150)."""
_HARMLESS: Mapping[str, object] = {"/Rotate": 0, "/UserUnit": 1, "/Annots": []}
"""What says no more than nothing would."""
_NOTES: Mapping[str, str] = {
    "/Link": "a link",
    "/Stamp": "a stamp",
    "/Widget": "a form field",
    "/FreeText": "a text box",
    "/Text": "a note",
    "/Highlight": "a highlight",
    "/Ink": "a scribble",
    "/FileAttachment": "an attached file",
}
"""Kinds of annotations (ISO 32000-1, Table 169) as readers call them."""


def request_findings(subject: Subject, file: FileRead) -> Iterator[SetFinding]:
    """What a file asks of the printer and of the reader, key by key, beyond what ours do."""
    if file.locked:
        message = f"{file.name} is locked: buyers may not be able to print it"
        yield subject.finding("file-locked", message)
    root = file.root
    if root is None:
        return
    for key in root:
        if key == "/Names":
            for name in dictionary(root, key):
                yield _asked(subject, file.name, f"/Names {name[1:]}", _NAME_ASKS.get(name))
        elif key not in _CATALOG_KEYS:
            said = _layers_off(root) if key == "/OCProperties" else ""
            yield _asked(subject, file.name, key, _CATALOG_ASKS.get(key), said)
    yield from _viewer_findings(subject, file, dictionary(root, "/ViewerPreferences"))
    yield from _page_key_findings(subject, file)


def _layers_off(root: DictionaryObject) -> str:
    """The layers that are off (ISO 32000-1, 8.11.4.3)."""
    off = dictionary(dictionary(root, "/OCProperties"), "/D").get("/OFF", [])
    names = [str(layer.get_object().get("/Name", "")) for layer in off.get_object()] if off else []
    return "".join(f", and '{name}' is off" for name in names)


def _viewer_findings(
    subject: Subject, file: FileRead, asked: Mapping[str, Any]
) -> Iterator[SetFinding]:
    """True size, the right way up, no copies (ISO 32000-1, Table 150)."""
    flip = f"/DuplexFlip{subject.printer.flip.title()}Edge" if file.name == BOTH else "/Simplex"
    wanted = {
        "/PrintScaling": (
            "/None",
            "lets the printer shrink or stretch the pages, so they may not fit their binder",
        ),
        "/Duplex": (
            flip,
            "asks for the wrong way of printing both sides, so backs may come out upside down",
        ),
        "/PickTrayByPDFSize": (
            "True",
            "does not ask the printer for paper of its size, so another may be taken",
        ),
        "/DisplayDocTitle": ("True", "shows the name of the file instead of its title"),
    }
    if not asked:
        message = f"{file.name} asks the printer for nothing, not even for its true size"
        yield subject.finding("print-request-wrong", message)
        return
    for key, (value, words) in wanted.items():
        there = str(asked.get(key, "nothing"))
        if there != value:
            yield subject.finding("print-request-wrong", f"{file.name} {words}")
    for key in asked:
        if key not in wanted:
            said = _said(asked[key].get_object())
            yield _asked(subject, file.name, key, _VIEWER_ASKS.get(key), said)


def _said(value: object) -> str:
    """A value in plain words; a list is one of ranges, each of two numbers."""
    if isinstance(value, list):
        ranges = zip(value[::2], value[1::2], strict=False)
        return ", ".join(f"{first} to {last}" for first, last in ranges)
    return str(value).lstrip("/")


def _page_key_findings(subject: Subject, file: FileRead) -> Iterator[SetFinding]:
    """Keys that our pages do not have; what many pages have is said once."""
    found: dict[tuple[str, str], list[int]] = {}
    for number, holder in file.holders:
        for key in holder:
            if key in _PAGE_KEYS:
                continue
            value = holder[key].get_object()
            if value != _HARMLESS.get(key):
                said = _notes(value) if key == "/Annots" else str(value)
                found.setdefault((key, said), []).append(number)
    for (key, said), pages in found.items():
        others = f" and {len(pages) - 1} more" if len(pages) > 1 else ""
        name = f"{file.name} (page {pages[0] + 1}{others})"
        finding = _asked(subject, name, key, _PAGE_ASKS.get(key), said)
        sheet, side = file.place(subject, pages[0])
        yield replace(finding, sheet=sheet, side=side)


def _notes(annotations: Any) -> str:
    """What lies on a page, in the words of its readers."""
    kinds = [str(one.get_object().get("/Subtype")) for one in annotations]
    first = _NOTES.get(kinds[0], f"a mark-up ({kinds[0][1:]})")
    return first if len(kinds) == 1 else f"{first} and {len(kinds) - 1} more"


def _asked(
    subject: Subject, name: str, key: str, known: tuple[str, str] | None, said: str = ""
) -> SetFinding:
    """What it comes to that a file has a key."""
    rule, words = known or (
        "key-unknown",
        f"has something in it that the build didn't put there, called {key[1:]}",
    )
    return subject.finding(rule, f"{name} {words.format(said)}")


def map_findings(subject: Subject, file: FileRead) -> Iterator[SetFinding]:
    """Fonts whose words nobody can search, copy or have read out."""
    if file.unmapped:
        names = ", ".join(file.unmapped)
        message = f"{file.name} doesn't say what the letters of {names} are"
        yield subject.finding("font-unmapped", message)


def changed_findings(
    subject: Subject, files: Mapping[str, FileRead], found: Sequence[SetFinding]
) -> Iterator[SetFinding]:
    """Files that are not those of the build, where nothing that was found explains it.

    What must be mended of a file, or of a side that it shows, does.
    """
    notes = {note.name: note.sha256 for note in subject.contents.files}
    for name, file in files.items():
        if name not in notes or hashlib.sha256(file.data).hexdigest() == notes[name]:
            continue
        sides = [one for one in (1, 2) if name in (BOTH, FILES[one - 1])]
        explained = any(
            name in one.message or one.side in sides or (one.sheet and one.side is None)
            for one in found
            if one.severity is Severity.MUST
        )
        if not explained:
            yield subject.finding(
                "file-changed", f"{name} was changed or saved again after the build"
            )


def paper_findings(side: SideRead) -> Iterator[SetFinding]:
    """Boxes that are not as large as the paper (ISO 32000-1, 14.11.2): nothing is in its place."""
    paper, page = side.sheet, side.page
    boxes = {"MediaBox": page.get_mediabox(), "CropBox": page.get_cropbox()}
    wrong = [
        f"its pages ({name}) are {box.width:.1f} × {box.height:.1f} mm"
        for name, edges in boxes.items()
        if not _alike(box := _box(edges, paper), paper)
    ]
    if wrong:
        size = f"its paper is {paper.width:.1f} × {paper.height:.1f} mm"
        yield side.finding("boxes-wrong", f"side-{side.side}.pdf: {', '.join(wrong)}; {size}")


def box_findings(side: SideRead) -> Iterator[SetFinding]:
    """Within the paper, what is cut out and how far it bleeds (14.11.2)."""
    paper, trims = side.sheet, [face.placement.flat for face in side.faces]
    bleed, trim = (
        _box(edges, paper) for edges in (side.page.get_bleedbox(), side.page.get_trimbox())
    )
    wrong = ""
    if trims and not _alike(trim, Rect.union(trims)):
        wrong = (
            "the size to be cut to (TrimBox) isn't that of the leaves: print shops cut them wrong"
        )
    elif trims and not _alike(bleed, trim.grown(side.subject.plan.bleed_mm)):
        wrong = f"its bleed (BleedBox) isn't {side.subject.plan.bleed_mm:g} mm past the cuts"
    if wrong:
        yield side.finding("boxes-wrong", f"side-{side.side}.pdf: {wrong}")


def _box(edges: tuple[float, float, float, float], paper: Rect) -> Rect:
    left, bottom, right, top = edges
    return Rect(mm(left), paper.height - mm(top), mm(right - left), mm(top - bottom))


def _alike(one: Rect, other: Rect) -> bool:
    return all(abs(a - b) <= _BOX_MM for a, b in zip(one, other, strict=True))


def font_findings(side: SideRead) -> Iterator[SetFinding]:
    """Fonts that are not in a side's file, and so look different on every machine."""
    families = (side.known(layer, "fonts", _not_embedded, anywhere=True) for layer in side.layers)
    for family in dict.fromkeys(itertools.chain.from_iterable(families)):
        yield side.finding(
            "font-not-embedded", f"{family}: each computer shows other letters for it"
        )


def _not_embedded(layer: Layer) -> list[str]:
    found = []
    for item in layer.items:
        said = item.said_by or item.handle
        font = pdfium_raw.FPDFTextObj_GetFont(said) if item.kind == "text" else None
        if font and pdfium_raw.FPDFFont_GetIsEmbedded(font) != 1:
            name = ctypes.create_string_buffer(256)
            pdfium_raw.FPDFFont_GetBaseFontName(font, name, len(name))
            found.append(name.value.decode("utf-8", "replace").rpartition("+")[2])
    return found


def differing(side: SideRead) -> Iterator[SetFinding]:
    """Whether a page of both-sides.pdf shows what the side's own file does, form by form."""
    if side.both is not side.page and _shown(side.page) != _shown(side.both):
        yield side.finding("files-differ", f"{BOTH} shows something else than side-{side.side}.pdf")


def _shown(page: pdfium.PdfPage) -> tuple[object, ...]:
    with closing(page.get_textpage()) as text:
        words = text.get_text_bounded()
    matrices = [tuple(round(value, 2) for value in matrix) for matrix in top_forms(page)]
    boxes = (page.get_mediabox(), page.get_trimbox())
    return words, matrices, kinds_in_place(page), boxes
