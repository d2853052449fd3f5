"""The drawings of a collection at the desk: pictures of them, what is to be mended, new ones."""

from __future__ import annotations

import io
import os
import subprocess
import sys
import webbrowser
from collections.abc import Mapping
from dataclasses import dataclass
from pathlib import Path

from PIL import Image

from pipeline.base.cache import digest_of
from pipeline.base.errors import UserError
from pipeline.drawings.checks import drawn_sample
from pipeline.drawings.resize.resizing import resize_files
from pipeline.drawings.starters.starter import write_starter
from pipeline.plan.collection import templates_in
from pipeline.plan.model import Side
from pipeline.plan.sizes import load_sizes, users_sizes_file
from pipeline.proof.read.raster import opened, page_picture
from pipeline.workshop.openseason import OpenSeason

SMALL_DPI, LARGE_DPI = 50, 130
"""For the list of all pages, and for one of them."""


@dataclass(frozen=True)
class Drawings:
    """The drawings of a season's collection, by size and name."""

    one: OpenSeason

    @property
    def files(self) -> Mapping[tuple[str, str], Path]:
        """All templates, by their binder size and name."""
        found = templates_in(self.one.plan().collection.folder)
        return {(file.parent.name, file.stem): file for file in found}

    def picture(self, size: str, name: str, dpi: int) -> bytes:
        """A template with its samples, as a PNG; its file as it is now. Raises KeyError for none,
        UserError for one that cannot be drawn."""
        file = self.files[size, name]
        return self.one.drawn.get_or_make(
            (file, version_of(file), dpi), lambda: self._drawn(file, dpi)
        )

    def _drawn(self, file: Path, dpi: int) -> bytes:
        pdf = drawn_sample(file)
        data = io.BytesIO()
        with self.one.desk.pictures.alone(), opened(pdf) as document:
            picture: Image.Image = page_picture(document[0], dpi)
        picture.save(data, "PNG", compress_level=3)
        return data.getvalue()

    def begin(self, kind: str, size: str, name: str, side: str, flap_mm: float) -> list[str]:
        """Writes a starter page of a kind; what else it needs, as lines."""
        plan = self.one.plan()
        binder = plan.sizes.binder(size)
        target = plan.collection.folder / binder.name / f"{name}.svg"
        return write_starter(target, kind, binder, flap_mm, Side(side))

    def resize(self, size: str, names: list[str], to: str) -> list[str]:
        """Redraws templates for another size, beside those it has; what to look at, as lines."""
        sizes = load_sizes(users_sizes_file(self.one.path))
        files = [self.files[size, name] for name in names]
        binder = sizes.binder(to)
        folder = files[0].parent.parent / binder.name
        taken = [name for name in names if (folder / f"{name}.svg").exists()]
        if taken:
            what = f"'{taken[0]}' is drawn for {binder.title} already"
            raise UserError(str(folder), what, "rename that drawing first if you want a new one")
        folder.mkdir(exist_ok=True)
        return resize_files(files, binder, sizes, flap_mm=None, out=folder, side=None)


def version_of(file: Path) -> str:
    """A key that changes when a file does."""
    stat = file.stat()
    return digest_of(stat.st_mtime_ns, stat.st_size)[:12]


def show_in_files(path: Path) -> None:
    """Opens the system's file manager on a file or folder. Raises UserError where there is none."""
    commands = {
        "darwin": ["open", "-R", str(path)],
        "win32": ["explorer", f"/select,{path}"],
    }
    folder = path if path.is_dir() else path.parent
    command = commands.get(sys.platform, ["xdg-open", str(folder)])
    try:
        subprocess.Popen(
            command, stdout=subprocess.DEVNULL, stderr=subprocess.DEVNULL, close_fds=os.name != "nt"
        )
    except OSError:
        raise UserError(
            str(path), "there is nothing that shows folders", "open it by hand"
        ) from None


def show_page(path: Path) -> None:
    """Opens a page of ours in the browser."""
    webbrowser.open(path.resolve().as_uri())
