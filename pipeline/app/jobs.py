"""One set made from start to finish: a function from what goes in to the files that come out.

A job holds all it needs, template bytes and fonts too, and touches no folder but the cache; so it
can be run in this process, in another, or on another machine, and gives the same bytes.
"""

from __future__ import annotations

import gc
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from pathlib import Path

from pipeline.base.cache import Cache, key_of
from pipeline.draw import draw_set
from pipeline.fill import FilledPage, fill_set
from pipeline.fill.template import TemplateFile
from pipeline.impose import BOTH, PrinterSettings, impose
from pipeline.impose.bench import Ink, bench
from pipeline.impose.contents import CONTENTS, contents_json, contents_of
from pipeline.plan.model import Paper, SetPlan
from pipeline.plan.sizes import Stock
from pipeline.proof.read.raster import mean_ink, side_inks
from pipeline.text.fonts import Faces


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
class FinishedJob:
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


def run(job: SetJob, cache_folder: Path | None = None) -> FinishedJob:
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
            bleed_mm=job.plan.bleed_mm,
            cache=cache,
            faces=faces,
        )
        inks = side_inks(imposed.files[BOTH], imposed.sheets, job.plan.leaves)
        figures = replace(bench(job.plan, imposed.sheets, job.stock), ink=Ink(mean_ink(inks), inks))
        contents = contents_of(
            job.season,
            job.plan,
            paper,
            job.printer,
            imposed.sheets,
            imposed.files,
            figures,
            drawn=marks,
            made_from=job.made_from(paper),
        )
        editions.append(Edition(paper, {**imposed.files, CONTENTS: contents_json(contents)}))
    svgs = {f"{page.name}.svg": page.whole() for page in pages} if job.keep_svg else {}
    return FinishedJob(tuple(editions), svgs)


def _marks(pages: Sequence[FilledPage], faces: str) -> list[str]:
    """For each page a key of all that it was drawn from; equal ones look alike to the pixel."""
    return [key_of(faces, *(layer.svg for layer in page.layers))[:32] for page in pages]
