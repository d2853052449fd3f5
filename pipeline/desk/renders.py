"""Pictures drawn when somebody looks, and kept while the files they show are the same."""

from __future__ import annotations

import io
import shutil
import threading
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from pathlib import Path

from PIL import Image

from pipeline.base.errors import UserError
from pipeline.base.folders import write_whole
from pipeline.proof.pictures.pictures import SetPictures, open_set

FOLDER = ".desk"
"""Within the build folder."""

VIEW_DPI = 110.0
"""For a screen: an A5 spread with flaps is 1,800 pixels wide."""

Draw = Callable[[SetPictures], Image.Image]


class Renders:
    """A folder of pictures, and the turn to draw one: pdfium can do one thing at a time.

    Whoever looks comes before what is prepared in the background (``patiently``).
    """

    def __init__(self, folder: Path) -> None:
        self.folder = folder
        self._turn = threading.Lock()
        self._looking = 0
        self._nobody_looks = threading.Condition()

    def path(self, files: str, name: str) -> Path:
        """Where a picture of a set with this ``edition_digest`` is, or will be."""
        return self.folder / files[:32] / name

    def picture(self, set_folder: Path, files: str, name: str, draw: Draw) -> Path:
        """The file of a picture, drawn now if it is not there."""
        path = self.path(files, name)
        if not path.is_file():
            with self.opened(set_folder) as pictures:
                if not path.is_file():
                    save(draw(pictures), path)
        return path

    @contextmanager
    def opened(self, set_folder: Path, *, patiently: bool = False) -> Iterator[SetPictures]:
        """A set's pictures, with nobody else drawing meanwhile."""
        with self.alone(patiently=patiently), open_set(set_folder, VIEW_DPI) as pictures:
            yield pictures

    @contextmanager
    def alone(self, *, patiently: bool = False) -> Iterator[None]:
        """While this lasts nobody else draws; the patient let those go first who look."""
        if patiently:
            with self._nobody_looks:
                self._nobody_looks.wait_for(lambda: self._looking == 0)
            with self._turn:
                yield
        else:
            with self.looking(), self._turn:
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


def save(picture: Image.Image, path: Path) -> None:
    """Writes a PNG fast; raises ``UserError`` when the folder cannot be written to."""
    data = io.BytesIO()
    picture.save(data, "PNG", compress_level=3)
    try:
        write_whole(path, data.getvalue())
    except UserError:
        if not path.is_file():
            raise
