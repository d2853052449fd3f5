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

    def name(self, paper: Paper) -> str:
        """What the files for a paper go by, such as "march/running/a5-a4-en-GB"."""
        plan = self.plan
        return f"{plan.period.name}/{plan.name}/{plan.binder.name}-{paper.name}-{plan.language}"

    def folder(self, paper: Paper) -> Path:
        """Where they are in the build folder."""
        return Path(self.season, self.name(paper))

    def built_from(self, paper: Paper) -> str:
        """A key for all that the files for one paper depend on."""
        templates = sorted(
            (name, file.path.name, file.data) for name, file in self.templates.items()
        )
        faces = (sorted(self.faces.fonts.items()), self.faces.fallback, self.faces.embedded)
        return key_of(self.season, self.plan, paper, self.printer, self.stock, templates, faces)


Finished = Mapping[Path, Mapping[str, bytes]]
"""What a job gives: folders within the build folder, each with its files by name."""


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


def run(job: SetJob, cache_folder: Path | None = None) -> Finished:
    """Makes a set. Raises UserError for what in its templates the user can mend.

    Files that a paper needs are in one folder, ``contents.json`` among them.
    """
    book, faces, cache = job.faces.book(), job.faces.key, Cache(cache_folder)
    pages, pdf = drawn(job, cache)
    # For each page a key of all that it was drawn from; equal ones look alike to the pixel.
    keys = [key_of(faces, *(layer.svg for layer in page.layers))[:32] for page in pages]
    made: dict[Path, Mapping[str, bytes]] = {}
    for paper in job.papers:
        imposed = impose(job.plan, paper, job.printer, pdf, book, cache=cache, faces=faces)
        inks = side_inks(imposed.files[BOTH], imposed.sheets, job.plan.leaves)
        contents = contents_of(
            job.season,
            job.plan,
            paper,
            job.printer,
            imposed.sheets,
            imposed.files,
            replace(bench(job.plan, imposed.sheets, job.stock), ink=Ink(mean_ink(inks), inks)),
            drawn=keys,
            built_from=job.built_from(paper),
        )
        made[job.folder(paper)] = {**imposed.files, CONTENTS: contents_json(contents)}
    if job.keep_svg:
        name = f"svg-{job.plan.binder.name}-{job.plan.language}"
        files = {f"{page.name}.svg": page.whole() for page in pages}
        made[job.folder(job.papers[0]).with_name(name)] = files
    return made
