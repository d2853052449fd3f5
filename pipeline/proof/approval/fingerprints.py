"""Fingerprints of pages: what a finished PDF shows on each face, in a form that can be kept.

They are taken from pixels and from text read back, so a file written anew with the same pages in
it has the same ones, whatever else changed in it. The pictures and words of what was passed are
kept beside them, to hold a later page against.
"""

from __future__ import annotations

import hashlib
import io
import json
import re
from collections.abc import Iterator
from dataclasses import dataclass
from pathlib import Path

from PIL import Image
from pydantic import TypeAdapter, ValidationError

from pipeline.base.folders import write_whole
from pipeline.impose.contents import CONTENTS, Contents
from pipeline.plan.model import Side
from pipeline.proof.pictures.pictures import SetPictures, open_set
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
    return Printed(PagePrint(pixels, text_digest(words), place), picture, words)


def text_digest(words: tuple[str, ...]) -> str:
    """A digest of the words on a page.

    >>> text_digest(("Monday", "1")) == text_digest(("Monday", "2"))
    False
    """
    return hashlib.sha256("\n".join(words).encode()).hexdigest()


SET_FILES = (CONTENTS, "side-1.pdf", "side-2.pdf")
"""The files of a set that its pages are read from."""


def edition_digest(set_folder: Path) -> str:
    """A digest of all that a set's files hold; nothing shown of them can be stale under it."""
    digest = hashlib.sha256()
    for name in SET_FILES:
        data = (set_folder / name).read_bytes()
        digest.update(len(data).to_bytes(8, "big") + data)
    return digest.hexdigest()


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
    """The folder in which pictures and words of passed pages are kept."""

    folder: Path

    def keep(self, page: Printed) -> None:
        """Keeps what a page shows. Raises ``UserError`` when the folder cannot be written to."""
        picture = self.picture_path(page.print.picture)
        if picture is not None and not _is_written(picture):
            data = io.BytesIO()
            page.picture.save(data, "PNG", compress_level=6)
            write_whole(picture, data.getvalue())
        words = self._path(page.print.text, ".json")
        if words is not None and not _is_written(words):
            write_whole(words, json.dumps(page.words, ensure_ascii=False).encode())

    def picture(self, digest: str) -> Image.Image | None:
        """A page's picture as it was passed; None when it is not here."""
        path = self.picture_path(digest)
        if path is None or not path.is_file():
            return None
        try:
            with Image.open(path) as picture:
                return picture.convert("RGB")
        except OSError:
            return None

    def words(self, digest: str) -> tuple[str, ...] | None:
        """A page's words as they were passed; None when they are not here."""
        path = self._path(digest, ".json")
        try:
            return tuple(json.loads(path.read_bytes())) if path is not None else None
        except (OSError, ValueError):
            return None

    def picture_path(self, digest: str) -> Path | None:
        """The file a picture is kept in, whether it is there or not; None if that isn't a digest.

        >>> PassedPictures(Path("kept")).picture_path("../season") is None
        True
        """
        return self._path(digest, ".png")

    def _path(self, digest: str, suffix: str) -> Path | None:
        return self.folder / f"{digest}{suffix}" if _DIGEST.fullmatch(digest) else None
