"""Pictures on the desk: drawn when somebody looks, and kept while they show the same.

A set's pictures are kept under the digest of its files; a view's under a key of all it shows, so
a build that changes one page leaves the pictures of all other views good. A page that is as before
isn't drawn again for the view it is in.
"""

from __future__ import annotations

import shutil
import threading
from collections import OrderedDict
from collections.abc import Callable, Iterator
from contextlib import contextmanager, nullcontext
from pathlib import Path

from PIL import Image

from pipeline.base.cache import key_of
from pipeline.base.errors import UserError
from pipeline.base.folders import write_whole
from pipeline.base.geometry import MM_PER_INCH
from pipeline.impose.contents import Contents, other_face
from pipeline.plan.model import Side
from pipeline.proof.pictures.pictures import SetPictures, open_set
from pipeline.proof.read.raster import png_of

FOLDER = ".desk"
"""Within the build folder; each season has one of its own in it."""

VIEW_DPI = 110.0
"""For a screen: an A5 spread with flaps is 1,800 pixels wide."""

_TURN = threading.Lock()
"""The turn to draw: pdfium can do one thing at a time in a process."""

Draw = Callable[[SetPictures], Image.Image]


class PictureStore:
    """A folder of pictures, of which one is drawn at a time.

    Whoever looks comes before what is prepared in the background (``patiently``).
    """

    def __init__(self, folder: Path) -> None:
        self.folder = folder
        self._looking = 0
        self._nobody_looks = threading.Condition()

    def path(self, files: str, name: str) -> Path:
        """Where a picture of a set with this ``edition_digest`` is, or will be."""
        return self.folder / files[:32] / name

    def picture(self, set_folder: Path, files: str, name: str, draw: Draw) -> Path:
        """The file of a picture, drawn now if it is not there.

        Raises ``UserError`` when the folder cannot be written to.
        """
        path = self.path(files, name)
        if not path.is_file():
            with self.opened(set_folder) as pictures:
                if not path.is_file():
                    data = png_of(draw(pictures))
                    try:
                        write_whole(path, data)
                    except UserError:
                        if not path.is_file():  # another desk may have written it
                            raise
        return path

    @contextmanager
    def opened(self, set_folder: Path, *, patiently: bool = False) -> Iterator[SetPictures]:
        """A set's pictures, with nobody else drawing meanwhile."""
        with self.alone(patiently=patiently), open_set(set_folder, VIEW_DPI) as pictures:
            yield pictures

    @contextmanager
    def alone(self, *, patiently: bool = False) -> Iterator[None]:
        """While this lasts nobody else draws; a patient caller waits until nobody looks."""
        if patiently:
            with self._nobody_looks:
                self._nobody_looks.wait_for(lambda: self._looking == 0)
        with nullcontext() if patiently else self.looking(), _TURN:
            yield

    @contextmanager
    def looking(self) -> Iterator[None]:
        """While this lasts, whoever is patient waits."""
        with self._nobody_looks:
            self._looking += 1
        try:
            yield
        finally:
            with self._nobody_looks:
                self._looking -= 1
                self._nobody_looks.notify_all()

    def forget_all_but(self, current: set[str]) -> None:
        """Throws away what shows files that are no longer there."""
        wanted = {files[:32] for files in current}
        for kept in self.folder.glob("*") if self.folder.is_dir() else ():
            if kept.is_dir() and kept.name not in wanted:
                shutil.rmtree(kept, ignore_errors=True)


def view_versions(contents: Contents, files: str) -> tuple[str, ...]:
    """For each view of a set a key of all that its picture shows; equal keys, equal pictures.

    ``files`` is the digest of the set's files: it stands in for pages that do not say what they
    were drawn from. A key changes, too, when pages come to lie elsewhere on the sheets they are
    cut out of.
    """
    measured = SetPictures(contents, (None, None), MM_PER_INCH)
    tabs = [(one.tab, one.recto, one.verso) for one in contents.leaves if one.tab]
    shared = key_of(_place(contents), measured.reach_mm, tabs)
    shown = (
        (_shown(contents, first, Side.VERSO, files), _shown(contents, second, Side.RECTO, files))
        for first, second in measured.views
    )
    return tuple(key_of(shared, *both)[:32] for both in shown)


def _place(contents: Contents) -> str:
    """A key of where all pages lie."""
    return key_of(
        contents.binder,
        contents.binding,
        contents.sheets,
        contents.paper,
        contents.reverse_side_2,
        [one.tab for one in contents.leaves],
    )


def _shown(contents: Contents, leaf: int | None, face: Side, files: str) -> object:
    """What is seen of a leaf: a face and, when its flap is shut, what its back has on the flap."""
    if leaf is None:
        return None
    note = contents.leaves[leaf]
    page, back = note.page(face), note.page(other_face(face))
    drawn = page and (page.drawn or files)
    if not note.folds_over(face) or back is None or not (back.flap_mm or back.flap_back):
        return leaf, note.flap_mm, note.folds_over(face), drawn
    return leaf, note.flap_mm, True, drawn, back.drawn or files


MOST_RECENT = 8
"""An enlarged page takes up 12 MB."""


class RecentPages(SetPictures):
    """A set's pictures, with pages drawn from the very same taken from those drawn last."""

    def __init__(
        self, base: SetPictures, recent: OrderedDict[str, Image.Image], files: str
    ) -> None:
        super().__init__(base.contents, base.sides, base.dpi)
        self._recent, self._files, self._place = recent, files, _place(base.contents)

    def at(self, dpi: float) -> SetPictures:
        return RecentPages(super().at(dpi), self._recent, self._files)

    def face(self, leaf: int, face: Side) -> Image.Image:
        note = self.contents.leaves[leaf]
        page = note.page(face)
        drawn = page and (page.drawn or self._files)
        key = key_of(self._place, self.dpi, leaf, face, note.flap_mm, drawn)
        picture = self._recent.pop(key, None) or super().face(leaf, face)
        self._recent[key] = picture
        while len(self._recent) > MOST_RECENT:
            self._recent.popitem(last=False)
        return picture.copy()
