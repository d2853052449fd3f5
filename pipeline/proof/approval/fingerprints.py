"""Fingerprints of pages: what a finished PDF shows on each face, in a form that can be kept.

They are taken from pixels and from text read back, so a file written anew with the same pages in
it has the same ones, whatever else changed in it. The pages and words of what was passed are
kept beside them, to hold a later page against at any size.
"""

from __future__ import annotations

import hashlib
import json
import re
from collections.abc import Iterator
from dataclasses import dataclass
from pathlib import Path

from PIL import Image
from pydantic import TypeAdapter, ValidationError

from pipeline.base.errors import UserError
from pipeline.base.folders import write_whole
from pipeline.base.geometry import Rect
from pipeline.impose.contents import Contents
from pipeline.plan.model import Side
from pipeline.proof.pictures.pictures import SetPictures, open_set
from pipeline.proof.read.raster import area_picture, opened, page_picture
from pipeline.proof.read.text import leaf_texts

PRINT_DPI = 110.0
"""The finest rule of a page is still seen, and a face takes a twentieth of a second."""


@dataclass(frozen=True)
class Place:
    """Where a page is printed: its sheet's number, the side, and its trim's top left, in mm."""

    sheet: int
    side: int
    x_mm: float
    y_mm: float
    turned: int


@dataclass(frozen=True)
class PagePrint:
    """The fingerprint of a page: digests of its pixels and of its words, and where it lies."""

    picture: str
    text: str
    place: Place | None

    def shows_the_same(self, picture: str, text: str) -> bool:
        """Whether a page with these digests is the same to the pixel and to the letter."""
        return (self.picture, self.text) == (picture, text)


@dataclass(frozen=True)
class Printed:
    """A page as it was found in the PDF: its fingerprint, and what that was taken from."""

    print: PagePrint
    picture: Image.Image
    words: tuple[str, ...]
    drawing: bytes
    """The page alone, as a PDF."""


def page_key(leaf: int, face: Side) -> str:
    """What a page is called in files: its leaf, counted from 1, and the face.

    >>> page_key(0, Side.RECTO)
    'leaf-001-recto'
    """
    return f"leaf-{leaf + 1:03}-{face.value}"


def pages_of(contents: Contents) -> Iterator[tuple[str, int, Side]]:
    """Every page of a set with its key, leaf by leaf, recto before verso; blank faces are none."""
    for leaf, note in enumerate(contents.leaves):
        for face in Side:
            if note.page(face) is not None:
                yield page_key(leaf, face), leaf, face


def page_as_printed(pictures: SetPictures, leaf: int, face: Side) -> Printed:
    """A page as the finished PDF shows it, whatever the resolution of ``pictures``."""
    picture = pictures.at(PRINT_DPI).face(leaf, face)
    size = f"{picture.width}x{picture.height} {picture.mode}\n".encode()
    pixels = hashlib.sha256(size + picture.tobytes()).hexdigest()
    placed = pictures.contents.find(leaf, face)
    words: tuple[str, ...] = ()
    place = None
    if placed is not None:
        sheet, side, one = placed.sheet, placed.side, placed.placement
        number = pictures.contents.sheets[sheet].number
        place = Place(number, side, round(one.trim.x, 2), round(one.trim.y, 2), one.turned)
        found = leaf_texts(pictures.page(sheet, side), [one], sheet, side)
        # The order in which text was written may differ between two files that look the same.
        words = tuple(sorted(piece.text for piece in found))
    found_print = PagePrint(pixels, text_digest(words), place)
    return Printed(found_print, picture, words, pictures.face_pdf(leaf, face))


def text_digest(words: tuple[str, ...]) -> str:
    """A digest of the words on a page.

    >>> text_digest(("Monday", "1")) == text_digest(("Monday", "2"))
    False
    """
    return hashlib.sha256("\n".join(words).encode()).hexdigest()


_PRINTS: TypeAdapter[dict[str, PagePrint]] = TypeAdapter(dict[str, PagePrint])


def prints_of(set_folder: Path, notes: Path | None = None) -> dict[str, PagePrint]:
    """The fingerprints of all pages of a set, by key.

    ``notes`` is a file to keep them in; when it holds some they are taken from there, so its name
    must come from ``edition_digest``. Raises ``UserError`` when the folder is not a whole set.
    """
    known = kept_prints(notes) if notes is not None else None
    if known is not None:
        return known
    with open_set(set_folder, PRINT_DPI) as pictures:
        taken = {
            key: page_as_printed(pictures, leaf, face).print
            for key, leaf, face in pages_of(pictures.contents)
        }
    if notes is not None:
        keep_prints(notes, taken)
    return taken


def kept_prints(notes: Path) -> dict[str, PagePrint] | None:
    """Fingerprints kept in a file; None when there are none."""
    try:
        return _PRINTS.validate_json(notes.read_bytes())
    except (OSError, ValidationError):
        return None


def keep_prints(notes: Path, prints: dict[str, PagePrint]) -> None:
    """Keeps fingerprints in a file."""
    write_whole(notes, _PRINTS.dump_json(prints, indent=1))


PASSED_PICTURES = ".passed"
"""Within the build folder."""

_DIGEST = re.compile(r"[0-9a-f]{64}")


def _is_written(path: Path) -> bool:
    """Whether a file is there, and not left empty by a power cut."""
    return path.is_file() and path.stat().st_size > 0


@dataclass(frozen=True)
class PassedPictures:
    """The folder in which passed pages and their words are kept."""

    folder: Path

    def keep(self, page: Printed) -> None:
        """Keeps what a page shows. Raises ``UserError`` when the folder cannot be written to."""
        drawing = self._path(page.print.picture, ".pdf")
        if drawing is not None and not _is_written(drawing):
            write_whole(drawing, page.drawing)
        words = self._path(page.print.text, ".json")
        if words is not None and not _is_written(words):
            write_whole(words, json.dumps(page.words, ensure_ascii=False).encode())

    def has(self, digest: str) -> bool:
        """Whether a page with this picture is kept here."""
        path = self._path(digest, ".pdf")
        return path is not None and path.is_file()

    def picture(
        self, digest: str, dpi: float = PRINT_DPI, area: Rect | None = None
    ) -> Image.Image | None:
        """A page as it was passed, or an area of it (mm); None when it is not here."""
        path = self._path(digest, ".pdf")
        if path is None or not path.is_file():
            return None
        try:
            with opened(path) as document:
                page = document[0]
                return area_picture(page, area, dpi) if area else page_picture(page, dpi)
        except UserError:
            return None

    def words(self, digest: str) -> tuple[str, ...] | None:
        """A page's words as they were passed; None when they are not here."""
        path = self._path(digest, ".json")
        try:
            return tuple(json.loads(path.read_bytes())) if path is not None else None
        except (OSError, ValueError):
            return None

    def _path(self, digest: str, suffix: str) -> Path | None:
        """The file something is kept in, whether it is there or not; None if that isn't a digest.

        >>> PassedPictures(Path("kept"))._path("../season", ".pdf") is None
        True
        """
        return self.folder / f"{digest}{suffix}" if _DIGEST.fullmatch(digest) else None
