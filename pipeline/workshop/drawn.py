"""The drawings of a collection at the desk: pictures of them, what is to be mended, new ones."""

from __future__ import annotations

import io
import os
import subprocess
import sys
from collections.abc import Mapping, Sequence
from concurrent.futures import CancelledError
from concurrent.futures.process import BrokenProcessPool
from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING, Any

import tomlkit
from PIL import Image
from tomlkit.exceptions import TOMLKitError

from pipeline.base.cache import CACHE, Cache, digest_of, key_of
from pipeline.base.errors import UserError
from pipeline.base.folders import write_whole
from pipeline.base.geometry import Rect
from pipeline.base.workers import Worker
from pipeline.drawings.checks import (
    AskedLabel,
    DrawingFinding,
    as_mended,
    check_drawings,
    drawn_sample,
    keys_of,
)
from pipeline.drawings.resize.resizing import resized_files
from pipeline.drawings.starters.starter import starter_page, write_starter
from pipeline.fill.template import TemplateFile, open_template
from pipeline.plan.collection import read_labels, templates_in
from pipeline.plan.facts import TAB_LABEL
from pipeline.plan.languages import parents, root_of
from pipeline.plan.model import Side
from pipeline.plan.sizes import load_sizes, users_sizes_file
from pipeline.proof.read.raster import opened, page_picture, png_of
from pipeline.watch.builder import Stamp, stamp_of

if TYPE_CHECKING:
    from pipeline.workshop.openseason import OpenSeason

SMALL_DPI, LARGE_DPI = 50, 130
"""For the list of all pages, and for one of them."""
_FOLD_PX, _TABLE = 4, (243, 241, 237)
"""Between pages that face one another, and the colour of what they lie on."""
MENDED = "mended"
"""What a page can be seen as besides as it is and in other sizes."""


@dataclass(frozen=True)
class Drawings:
    """The drawings of a season's collection, by size and name."""

    one: OpenSeason

    @property
    def files(self) -> Mapping[tuple[str, str], Path]:
        """All templates, by their binder size and name."""
        found = templates_in(self.one.collection.folder)
        return {(file.parent.name, file.stem): file for file in found}

    def picture(self, size: str, name: str, dpi: int, colours: str = "") -> bytes:
        """A template with its samples, as a PNG; its file as it is now, in other colours if asked.

        Raises KeyError where there are none such, UserError for one that cannot be drawn.
        """
        file = self.files[size, name]
        change = self.one.collection.colours[colours] if colours else None
        asked = str(file), version_of(file), dpi, change

        def kept() -> bytes:
            return Cache(self.one.out / CACHE).get_or_make(
                key_of("drawing", *asked), lambda: self._drawn(open_template(file, change), dpi)
            )

        return self.one.drawn.get_or_make(asked, kept)

    def facing(self, size: str, names: Sequence[str], colours: str) -> bytes:
        """Small pictures of templates side by side, as a PNG. Raises as ``picture`` does."""
        pictures = []
        for name in names:
            data = io.BytesIO(self.picture(size, name, SMALL_DPI, colours))
            pictures.append(Image.open(data).convert("RGB"))
        width = sum(one.width + _FOLD_PX for one in pictures) - _FOLD_PX
        both = Image.new("RGB", (width, max(one.height for one in pictures)), _TABLE)
        left = 0
        for one in pictures:
            both.paste(one, (left, 0))
            left += one.width + _FOLD_PX
        return png_of(both)

    def keys(self, size: str, name: str) -> tuple[list[tuple[str, Rect]], list[AskedLabel]]:
        """The keys of a template with its samples, each with its place (mm of the page), and the
        labels it asks for."""
        return keys_of(open_template(self.files[size, name]))

    def trial(self, size: str, name: str, to: str) -> tuple[TemplateFile, list[str]]:
        """A template as it would be ``MENDED`` or for the size ``to``, and what there is to say of
        that; nothing is written. Raises KeyError for no such size, UserError where it cannot be."""
        file = self.files[size, name]
        if to == MENDED:
            mended, found = as_mended(open_template(file))
            return mended, [f"{one.element or 'The page'} {one.message}" for one in found]
        sizes = load_sizes(users_sizes_file(self.one.path))
        if to not in sizes.binders:
            raise KeyError(to)
        [(target, made)] = resized_files([file], sizes.binder(to), sizes)
        return TemplateFile(target, made.data), [f"Look at {note}." for note in made.notes]

    def trial_picture(self, size: str, name: str, to: str) -> bytes:
        """The picture of that, as a PNG."""
        file = self.files[size, name]
        return self.one.drawn.get_or_make(
            (file, version_of(file), to),
            lambda: self._drawn(self.trial(size, name, to)[0], LARGE_DPI),
        )

    def _drawn(self, file: TemplateFile, dpi: int) -> bytes:
        pdf = drawn_sample(file)
        with self.one.desk.pictures.alone(), opened(pdf) as document:
            picture: Image.Image = page_picture(document[0], dpi)
        return png_of(picture)

    def begin(self, kind: str, size: str, name: str, side: str, flap_mm: float) -> list[str]:
        """Writes a starter page of a kind, and what else it needs; what is left to do, as lines."""
        binder = load_sizes(users_sizes_file(self.one.path)).binder(size)
        folder = self.one.collection.folder
        page = starter_page(kind, binder, flap_mm, Side(side))
        write_starter(folder / binder.name / f"{name}.svg", kind, binder, flap_mm, Side(side))
        add_to_collection(folder, binder.name, {name: flap_mm} if flap_mm else {}, page.labels)
        tab = f'"{TAB_LABEL}"'.encode() in page.svg
        return ["Its set needs tabs: write them into the season file by hand."] if tab else []

    def say(self, size: str, name: str, label: str, words: Mapping[str, str]) -> list[str]:
        """Writes what a label of a page says in languages that it is asked for in; what was
        written, as lines. Raises KeyError where the page asks for no such label."""
        asked = {one.key: dict(one.words) for one in self.keys(size, name)[1]}
        if not set(words) <= set(asked[label]):
            raise KeyError(label)
        files = write_label(self.one.collection.folder, label, words)
        where = " and ".join(f"labels/{file.name}" for file in files)
        return [f"Written into {where}: what you pass next says so." if files else "It says so."]

    def resize(self, size: str, names: list[str], to: str) -> list[str]:
        """Redraws templates for another size, beside those it has; what to look at, as lines."""
        sizes = load_sizes(users_sizes_file(self.one.path))
        made = resized_files([self.files[size, name] for name in names], sizes.binder(to), sizes)
        flaps = {target.stem: one.flap_mm for target, one in made if one.flap_mm}
        add_to_collection(self.one.collection.folder, to, flaps, {})
        for target, one in made:
            write_whole(target, one.data)
        return [f"{target.stem}: look at {note}." for target, one in made for note in one.notes]


def add_to_collection(
    folder: Path, size: str, flaps_mm: Mapping[str, float], labels: Mapping[str, str]
) -> None:
    """Writes flaps of pages in a size, and English labels, into a collection that lacks them.

    What the files say already stays, and so do comments. Raises UserError where they cannot be
    read or written.
    """
    _write(folder / "collection.toml", ("flaps_mm", size), flaps_mm)
    _write(folder / "labels" / "en.toml", (), labels)


def write_label(folder: Path, key: str, words: Mapping[str, str]) -> list[Path]:
    """Writes a label into a collection, in each language by its tag; the files written.

    A language's file serves all places it is spoken in: ``labels/en.toml`` for en-GB, and a place
    that says it otherwise has a file of its own. What says so already stays with its shorter forms,
    and so do comments. Raises UserError where files cannot be read or written.
    """
    there = {file: read_labels(file) for file in (folder / "labels").glob("*.toml")}
    files: dict[Path, str] = {}
    for language, word in words.items():
        own = (folder / "labels" / f"{name}.toml" for name in parents(language))
        root = folder / "labels" / f"{root_of(language)}.toml"
        file = next((one for one in own if key in there.get(one, ())), root)
        if files.setdefault(file, word) != word:
            files[file.with_stem(language)] = word
    new = {
        file: word for file, word in files.items() if there.get(file, {}).get(key, ("",))[0] != word
    }
    for file, word in new.items():
        _write(file, (), {key: word}, instead=True)
    return list(new)


def _write(
    file: Path,
    place: Sequence[str],
    values: Mapping[str, float] | Mapping[str, str],
    *,
    instead: bool = False,
) -> None:
    """Writes values into a table of a TOML file; those that it has stay, or are written anew."""
    if not values:
        return
    try:
        document: Any = tomlkit.parse(file.read_text("utf-8") if file.is_file() else "")
    except (OSError, UnicodeError, TOMLKitError) as problem:
        raise UserError(str(file), f"cannot be read ({problem})", "mend it by hand") from None
    table = document
    for name in place:
        # A table without lines of its own needs no heading.
        table = table.setdefault(name, tomlkit.table(is_super_table=name != place[-1]))
    for key, value in values.items():
        if instead or key not in table:
            table[key] = value
    write_whole(file, tomlkit.dumps(document).encode())


def look_through(file: Path, out: Path) -> list[DrawingFinding]:
    """What is to be said of a drawing; a worker's task."""
    return check_drawings([file], cache=Cache(out / CACHE))[0]


def mend(file: Path, out: Path) -> int:
    """Mends what is mechanical; how many places; a worker's task."""
    return check_drawings([file], mend=True, cache=Cache(out / CACHE))[1]


class Reader:
    """Looks through drawings; ``out`` is the build folder, where what it finds is kept."""

    def __init__(self, out: Path) -> None:
        self._out = out
        self._worker = Worker(patient=True)
        self._known: dict[Path, tuple[Stamp, list[DrawingFinding]]] = {}

    def findings(self, file: Path) -> list[DrawingFinding]:
        """What is to be said of a drawing as it and all that asks something of it are now.

        Raises UserError when that broke off.
        """
        stamp = _asked_of(file)
        known = self._known.get(file)
        if known is None or known[0] != stamp:
            try:
                known = stamp, self._worker.start(look_through, file, self._out).result()
            except (BrokenProcessPool, CancelledError):
                self._worker.close()
                raise UserError(file.name, "could not be looked through", "ask once more") from None
            self._known[file] = known
        return known[1]

    def mend(self, file: Path) -> int:
        """Mends a drawing; how many places were mended."""
        return self._worker.start(mend, file, self._out).result()

    def close(self) -> None:
        """Ends the process."""
        self._worker.close()


def _asked_of(file: Path) -> Stamp:
    """What is said of a drawing depends on this: the drawings and words of its collection, the
    seasons that are made of it, and the sizes."""
    collection = file.parent.parent
    workspace = collection.parent.parent
    return stamp_of([collection, workspace / "seasons", workspace / "sizes.toml"])


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
