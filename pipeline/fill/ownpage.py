"""A page of a finished PDF of the maker's own where a template stands: placed, not redrawn.

To all that reads templates it is an empty page of its size. The page itself, alone and without what
only its own file needs, goes along in it, and is placed when layers are drawn.
"""

from __future__ import annotations

import base64
import io
import re
from collections.abc import Iterator, Mapping
from pathlib import Path
from typing import Any

from fontTools import agl
from fontTools.encodings.StandardEncoding import StandardEncoding
from pypdf import PageObject, PdfReader, PdfWriter
from pypdf.errors import DependencyError, PyPdfError
from pypdf.generic import DictionaryObject, NameObject, StreamObject

from pipeline.base.errors import UserError
from pipeline.base.geometry import decimal, mm
from pipeline.plan.collection import own_page

_MARK = b'<metadata id="own-page">'
_ASK = "save it again from the program that it was made in"
_KEPT = ("/Type", "/Resources", "/MediaBox", "/CropBox", "/TrimBox", "/Contents", "/Group")
_MOST_DEEP = 12


def as_template(path: Path) -> bytes:
    """The page that ``path`` stands for as the data of a template: "letter-page-2.pdf" is the
    second of "letter.pdf".

    Raises UserError for a file that is no PDF, is locked, has no such page, or has letters in a
    face that isn't in it.
    """
    asked = own_page(path)
    assert asked is not None
    file, number = asked
    remedy = "save it without one: what is printed from it has none either"
    locked = UserError(str(file), "has a password", remedy)
    try:
        reader = PdfReader(io.BytesIO(file.read_bytes()))
        if reader.is_encrypted:
            raise locked
        if not 1 <= number <= len(reader.pages):
            many = "1 page" if len(reader.pages) == 1 else f"{len(reader.pages)} pages"
            remedy = f"give a page from 1 to {len(reader.pages)}"
            raise UserError(str(file), f"has {many}, and page {number} is asked for", remedy)
        return _wrapped(file, number, reader.pages[number - 1])
    except DependencyError:  # of what opens locked files
        raise locked from None
    except OSError as problem:
        raise UserError(str(file), f"cannot be read ({problem.strerror})") from None
    except (PyPdfError, ValueError, KeyError, TypeError, RecursionError):
        raise UserError(str(file), "isn't a PDF that can be read", _ASK) from None


def _wrapped(file: Path, number: int, page: PageObject) -> bytes:
    resources = page.get("/Resources")
    missing = sorted(set(_fonts_not_in(resources.get_object() if resources else None)))
    if missing:
        what = f"page {number} has letters in {missing[0]}, which isn't in the file"
        raise UserError(str(file), what, "save it again with all fonts embedded")
    if page.get("/Rotate"):
        page.transfer_rotation_to_content()
    writer = PdfWriter()
    alone = writer.add_page(page)
    for key in [key for key in alone if key not in (*_KEPT, "/Parent")]:
        del alone[key]
    box = page.trimbox
    alone[NameObject("/TrimBox")] = box.clone(writer)
    _say_letters(writer, alone.get("/Resources"))
    out = io.BytesIO()
    writer.write(out)
    data = re.sub(rb"/ID \[[^]]*\]", b"", out.getvalue())
    width, height = (decimal(mm(float(one)), 3) for one in (box.width, box.height))
    return _svg(width, height, base64.b64encode(data))


def _svg(width: str, height: str, page: bytes) -> bytes:
    head = (
        f'<svg xmlns="http://www.w3.org/2000/svg" width="{width}mm" height="{height}mm"'
        f' viewBox="0 0 {width} {height}">'
    )
    return b"".join((head.encode(), _MARK, page, b"</metadata></svg>"))


def _fonts_not_in(resources: Any, deep: int = 0) -> Iterator[str]:
    """The names of faces that letters are set in and that a file doesn't bring along (9.9)."""
    if not isinstance(resources, DictionaryObject) or deep > _MOST_DEEP:
        return
    for one in _values(resources.get("/Font")):
        inner = [one, *(each.get_object() for each in one.get("/DescendantFonts", ()))]
        held = [each["/FontDescriptor"] for each in inner if "/FontDescriptor" in each]
        files = ("/FontFile", "/FontFile2", "/FontFile3")
        there = any(name in each.get_object() for each in held for name in files)
        if one.get("/Subtype") != "/Type3" and not there:
            yield str(one.get("/BaseFont", "/a face")).lstrip("/")
    for kind in ("/XObject", "/Pattern"):
        for one in _values(resources.get(kind)):
            yield from _fonts_not_in(one.get("/Resources"), deep + 1)


def _say_letters(writer: PdfWriter, resources: Any, deep: int = 0) -> None:
    """Says what letters are where only their encoding tells (9.10.2): readers search by that."""
    found = resources.get_object() if resources is not None else None
    if not isinstance(found, DictionaryObject) or deep > _MOST_DEEP:
        return
    for one in _values(found.get("/Font")):
        if one.get("/Subtype") in ("/Type1", "/TrueType", "/MMType1") and "/ToUnicode" not in one:
            told = StreamObject()
            told.set_data(_character_map(_letters_of(one.get("/Encoding"))))
            told.indirect_reference = None  # a place is wanted: a copy is given one
            one[NameObject("/ToUnicode")] = told.clone(writer).indirect_reference
    for kind in ("/XObject", "/Pattern"):
        for one in _values(found.get(kind)):
            _say_letters(writer, one.get("/Resources"), deep + 1)


def _letters_of(encoding: Any) -> dict[int, str]:
    """What each code of a simple font stands for (9.6.6, Annex D)."""
    encoding = encoding.get_object() if encoding is not None else None
    differs = encoding if isinstance(encoding, DictionaryObject) else DictionaryObject()
    base = str(differs.get("/BaseEncoding", encoding))
    codec = {"/WinAnsiEncoding": "cp1252", "/MacRomanEncoding": "mac_roman"}.get(base)
    if codec:
        found = {code: bytes([code]).decode(codec, "ignore") for code in range(32, 256)}
    else:
        found = {code: agl.toUnicode(name) for code, name in enumerate(StandardEncoding)}
    code = 0
    for one in differs.get("/Differences", ()):
        if isinstance(one, NameObject):
            found[code] = agl.toUnicode(str(one)[1:])
            code += 1
        else:
            code = int(one)
    return {code: said for code, said in found.items() if said}


def _character_map(letters: Mapping[int, str]) -> bytes:
    """A ToUnicode CMap (9.10.3)."""
    lines = [f"<{code:02x}> <{said.encode('utf-16-be').hex()}>" for code, said in letters.items()]
    parts = [lines[at : at + 100] for at in range(0, len(lines), 100)]
    body = "\n".join(f"{len(part)} beginbfchar\n{chr(10).join(part)}\nendbfchar" for part in parts)
    return (
        "/CIDInit /ProcSet findresource begin 12 dict begin begincmap\n"
        "/CMapName /own def /CMapType 2 def\n"
        f"1 begincodespacerange <00> <ff> endcodespacerange\n{body}\n"
        "endcmap CMapName currentdict /CMap defineresource pop end end\n"
    ).encode()


def _values(found: Any) -> list[Any]:
    return [one.get_object() for one in found.get_object().values()] if found is not None else []


def page_in(svg: bytes) -> bytes | None:
    """The PDF of one page that an SVG has along; None for a drawing."""
    if _MARK not in svg[:400]:
        return None
    return base64.b64decode(svg.partition(_MARK)[2].partition(b"<")[0])


def as_layer(data: bytes, width_mm: float, height_mm: float) -> bytes:
    """The same page as a layer of another size, in the middle of which it is cut."""
    page = data.partition(_MARK)[2].partition(b"<")[0]
    return _svg(decimal(width_mm, 4), decimal(height_mm, 4), page)
