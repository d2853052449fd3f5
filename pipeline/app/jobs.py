"""One set made from start to finish: a function from what goes in to the files that come out.

A job holds all it needs, template bytes and fonts too, and touches no folder but the cache; so it
can be run in this process, in another, or on another machine, and gives the same bytes.
"""

from __future__ import annotations

import atexit
import functools
import gc
import json
import shutil
import tempfile
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from pipeline.base.cache import Cache, key_of
from pipeline.draw import draw_set
from pipeline.fill import FilledPage, fill_set
from pipeline.fill.template import TemplateFile
from pipeline.impose import BOTH, PrinterSettings, impose
from pipeline.impose.bench import bench
from pipeline.plan.model import Paper, SetPlan
from pipeline.plan.stock import Stock
from pipeline.proof.read.coverage import SideInk, mean_ink, side_inks
from pipeline.text import FontBook

CONTENTS = "contents.json"
_FACES = ("recto", "verso")
"""In the order of a set's pages."""


@dataclass(frozen=True)
class Faces:
    """What a font book is made of: the collection's own files, and which faces stand in."""

    fonts: Mapping[str, bytes]
    fallback: Mapping[str, Sequence[str]]
    embedded: bool

    @property
    def key(self) -> str:
        """A key for all that a book of these faces sets type with."""
        return key_of(sorted(self.fonts.items()), self.fallback, self.embedded)

    def book(self) -> FontBook:
        """The book; a process makes it once for the same faces."""
        fallback = tuple((name, tuple(entries)) for name, entries in self.fallback.items())
        return _book(tuple(sorted(self.fonts.items())), fallback, self.embedded)


@functools.lru_cache(maxsize=8)
def _book(
    fonts: tuple[tuple[str, bytes], ...],
    fallback: tuple[tuple[str, tuple[str, ...]], ...],
    embedded: bool,
) -> FontBook:
    folder = None
    if fonts:
        folder = Path(tempfile.mkdtemp(prefix="leafset-fonts-"))
        atexit.register(shutil.rmtree, folder, ignore_errors=True)
        for name, data in fonts:
            (folder / name).write_bytes(data)
    return FontBook(folder, dict(fallback), embedded=embedded)


@dataclass(frozen=True)
class SetJob:
    """A set to be made for some papers."""

    season: str
    plan: SetPlan
    papers: tuple[Paper, ...]
    printer: PrinterSettings
    stock: Stock
    templates: Mapping[str, TemplateFile]
    faces: Faces
    keep_svg: bool = False

    def made_from(self, paper: Paper) -> str:
        """A key for all that the files for one paper depend on."""
        templates = sorted(
            (name, file.path.name, file.data) for name, file in self.templates.items()
        )
        faces = (sorted(self.faces.fonts.items()), self.faces.fallback, self.faces.embedded)
        return key_of(self.season, self.plan, paper, self.printer, self.stock, templates, faces)


@dataclass(frozen=True)
class Edition:
    """A set on one paper: its files by name, contents.json among them."""

    paper: Paper
    files: Mapping[str, bytes]


@dataclass(frozen=True)
class Made:
    """What a job gives: an edition a paper, and the filled SVGs where they were asked for."""

    editions: tuple[Edition, ...]
    svgs: Mapping[str, bytes]


def drawn(job: SetJob, cache: Cache) -> tuple[Sequence[FilledPage], bytes]:
    """The filled pages of a set, and the PDF with a page for each.

    Python's search for rings of dead objects waits until the set is drawn: it finds next to
    nothing in the thousands that live on, and takes 7 % of the time.
    """
    book = job.faces.book()
    searching = gc.isenabled()
    gc.disable()
    try:
        pages = fill_set(job.plan, job.templates, book, cache)
        return pages, draw_set(pages, book, job.plan.language, cache)
    finally:
        if searching:
            gc.enable()


def run(job: SetJob, cache_folder: Path | None = None) -> Made:
    """Makes a set. Raises UserError for what in its templates the user can mend."""
    book, faces, cache = job.faces.book(), job.faces.key, Cache(cache_folder)
    pages, pdf = drawn(job, cache)
    marks = _marks(pages, faces)
    editions = []
    for paper in job.papers:
        imposed = impose(
            job.plan,
            paper,
            job.printer,
            pdf,
            book,
            season=job.season,
            cache=cache,
            faces=faces,
        )
        figures = bench(job.plan, imposed.sheets, job.stock).as_data()
        inks = side_inks(imposed.files[BOTH], imposed.contents)
        contents = {
            **imposed.contents,
            "leaves": _with_marks(imposed.contents["leaves"], marks),
            "bench": {**figures, "ink": _ink_data(inks)},
            "made_from": job.made_from(paper),
        }
        text = json.dumps(contents, indent=1, ensure_ascii=False) + "\n"
        editions.append(Edition(paper, {**imposed.files, CONTENTS: text.encode()}))
    svgs = {f"{page.name}.svg": page.whole() for page in pages} if job.keep_svg else {}
    return Made(tuple(editions), svgs)


def _marks(pages: Sequence[FilledPage], faces: str) -> list[str]:
    """For each page a key of all that it was drawn from; equal ones look alike to the pixel."""
    return [key_of(faces, *(layer.svg for layer in page.layers))[:32] for page in pages]


def _with_marks(leaves: Sequence[Mapping[str, Any]], marks: Sequence[str]) -> list[dict[str, Any]]:
    """The leaves of a table of contents, their pages with their marks.

    >>> _with_marks([{"recto": {"label": "Week 9"}, "verso": None}], ["5e1f"])
    [{'recto': {'label': 'Week 9', 'drawn': '5e1f'}, 'verso': None}]
    """
    left = iter(marks)
    return [
        {
            **leaf,
            **{face: {**leaf[face], "drawn": next(left)} for face in _FACES if leaf[face]},
        }
        for leaf in leaves
    ]


def _ink_data(inks: tuple[SideInk, ...]) -> dict[str, Any]:
    sides = [
        {"sheet": ink.sheet, "side": ink.side, "percent": round(ink.percent, 2)} for ink in inks
    ]
    return {"mean_percent": round(mean_ink(inks), 2), "sides": sides}
