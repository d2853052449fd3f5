"""What the pages of a PDF are made of, as digests: the same for pages that show the same.

And what a file says of its pages: their names, where they are cut, in which inks they print.
"""

from __future__ import annotations

import re
from collections.abc import Iterator, Mapping
from pathlib import Path
from typing import Any, NamedTuple

from pypdf import PageObject, PdfReader
from pypdf.errors import PyPdfError
from pypdf.generic import (
    ArrayObject,
    DictionaryObject,
    FloatObject,
    IndirectObject,
    NumberObject,
    PdfObject,
    RectangleObject,
    StreamObject,
)

from pipeline.base.cache import digest_of
from pipeline.base.errors import UserError
from pipeline.base.geometry import Rect, mm
from pipeline.proof.read.objects import Content


def pages_content(reader: PdfReader) -> tuple[Content | None, ...]:
    """What the pages of a file are made of."""
    digests = _Digests()
    found: list[Content | None] = []
    for page in reader.pages:
        try:
            found.append(digests.content(page))
        except (PyPdfError, AttributeError, LookupError, RecursionError, TypeError, ValueError):
            found.append(None)
    return tuple(found)


_PLACING = re.compile(rb"(?:\s*(?:q|Q|(?:[-+.\d]+\s+){6}cm|/\w+\s+Do)(?=\s|$))*\s*")
"""A stream that does nothing but place things (ISO 32000-1, 8.4.4 and 8.8)."""
_PLACED = re.compile(rb"(/\w+)\s+Do")


_NUMBERS = frozenset((FloatObject, NumberObject))


class _Digests:
    """Digests of a file's objects, of all that each is made of, each made once.

    LookupError for what borrows the resources of its page, or holds itself.
    """

    def __init__(self) -> None:
        self._known: dict[tuple[int, int], str] = {}
        self._forms: dict[str, Content] = {}
        self._programs: dict[int, str] = {}

    def content(self, holder: DictionaryObject) -> Content:
        """What a page or a form shows."""
        said = self._of(holder)
        if said in self._forms:
            return self._forms[said]
        forms = dictionary(dictionary(holder, "/Resources"), "/XObject")
        stream = holder if isinstance(holder, StreamObject) else holder["/Contents"].get_object()
        data = stream.get_data() if forms and isinstance(stream, StreamObject) else b""
        placed = [dictionary(forms, name.decode()) for name in _PLACED.findall(data)]
        only = _PLACING.fullmatch(data) and all(one.get("/Subtype") == "/Form" for one in placed)
        fonts = dict[str, str]()
        for font in dictionary(dictionary(holder, "/Resources"), "/Font").values():
            program, own = self._program(font.get_object()), self._of(font)
            # Of two fonts that share their outlines nobody knows which a reader tells of.
            fonts[program] = own if fonts.get(program, own) == own else ""
        inner = tuple(map(self.content, placed)) if only else ()
        content = Content(digest_of(said), inner, tuple(fonts.items()))
        self._forms[said] = content
        return content

    def _program(self, font: DictionaryObject) -> str:
        """A digest of the outlines of a font in the file (ISO 32000-1, 9.9); "" without any."""
        (own,) = font.get("/DescendantFonts", [font])
        described = dictionary(own.get_object(), "/FontDescriptor")
        files = (described.get(key) for key in ("/FontFile", "/FontFile2", "/FontFile3"))
        held = next((one for one in files if isinstance(one, IndirectObject)), None)
        if held is None:
            return ""
        if held.idnum not in self._programs:
            stream = held.get_object()
            data = stream.get_data() if isinstance(stream, StreamObject) else b""
            self._programs[held.idnum] = digest_of(data)
        return self._programs[held.idnum]

    def _of(self, value: PdfObject | None) -> str:
        """What an object is made of, in words; in a digest of them where it has a number."""
        if isinstance(value, IndirectObject):
            key = value.idnum, value.generation
            if key not in self._known:
                self._known[key] = ""
                self._known[key] = digest_of(self._of(value.get_object()))
            if not self._known[key]:
                raise LookupError(key)
            return self._known[key]
        if isinstance(value, ArrayObject):
            if _NUMBERS.issuperset(map(type, value)):
                return repr(value)
            return f"[{', '.join(map(self._of, value))}]"
        if not isinstance(value, DictionaryObject):
            return repr(value)
        if value.get("/Subtype") in ("/Form", "/Type3") and "/Resources" not in value:
            raise LookupError("/Resources")
        parts = [
            f"{key} {self._of(value.raw_get(key))}" for key in sorted(value) if key != "/Parent"
        ]
        data = digest_of(value.get_data()) if isinstance(value, StreamObject) else ""
        return f"<{','.join(parts)}>{data}"


def dictionary(holder: Mapping[str, Any], key: str) -> DictionaryObject:
    """A dictionary within another; an empty one where there is none."""
    held = holder.get(key)
    held = held.get_object() if held is not None else None
    return held if isinstance(held, DictionaryObject) else DictionaryObject()


class PageSaid(NamedTuple):
    """What a file says of a page: its label, its size, where it is cut and how far it bleeds, mm.

    ``trim`` and ``bleed`` are on the page as it is shown, from its top left.
    """

    label: str
    width_mm: float
    height_mm: float
    trim: Rect
    bleed: Rect


class FileSaid(NamedTuple):
    """What a file says of its pages, of the inks it has besides those of CMYK, and its profile."""

    pages: tuple[PageSaid, ...]
    inks: tuple[str, ...]
    profile: str


def said_of_pages(path: Path) -> FileSaid:
    """What the PDF at ``path`` says of itself (ISO 32000-1, 8.6.6.4, 12.4.2, 14.11.2 and 14.11.5).

    Raises UserError where it is not there or can't be read.
    """
    try:
        reader = PdfReader(path)
        pages = tuple(
            _page_said(page, label)
            for page, label in zip(reader.pages, reader.page_labels, strict=True)
        )
        intents: Any = reader.root_object.get("/OutputIntents", ())
        profile = next((str(one.get_object().get("/Info", "")) for one in intents), "")
        return FileSaid(pages, tuple(dict.fromkeys(_inks_named(reader))), profile)
    except OSError as problem:
        raise UserError(str(path), "no such file", "run 'leafset build' again") from problem
    except (PyPdfError, ValueError) as problem:
        what = f"not a readable PDF ({problem})"
        raise UserError(str(path), what, "run 'leafset build' again") from problem


def _page_said(page: PageObject, label: str) -> PageSaid:
    whole = page.mediabox

    def shown(box: RectangleObject) -> Rect:
        left, top = box.left - whole.left, whole.top - box.top
        return Rect(*(mm(float(one)) for one in (left, top, box.width, box.height)))

    size = mm(float(whole.width)), mm(float(whole.height))
    return PageSaid(label, *size, shown(page.trimbox), shown(page.bleedbox))


def _inks_named(reader: PdfReader) -> Iterator[str]:
    """The inks that a file's colour spaces name, those in the resources of pages and forms."""
    for number in sorted({*reader.xref.get(0, ()), *reader.xref_objStm}):
        made = IndirectObject(number, 0, reader).get_object()
        spaces: Any = made.get("/Resources", made) if isinstance(made, DictionaryObject) else {}
        spaces = spaces.get_object().get("/ColorSpace", {}) if spaces else {}
        spaces = spaces.get_object() if isinstance(spaces, IndirectObject) else spaces
        for space in spaces.values() if isinstance(spaces, DictionaryObject) else ():
            space = space.get_object()
            if isinstance(space, ArrayObject) and space[0] == "/Separation":
                yield str(space[1]).removeprefix("/")
