"""One set made from start to finish: a function from what goes in to the files that come out.

A job holds all it needs, template bytes and fonts too, and touches no folder but the cache; so it
can be run in this process, in another, or on another machine, and gives the same bytes.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, fields, replace
from pathlib import Path

from pipeline.app.screenlinks import Links
from pipeline.base.cache import Cache, digest_of, key_of, program
from pipeline.base.workers import uncollected
from pipeline.draw import draw_set
from pipeline.fill import FilledPage, fill_set
from pipeline.fill.template import TemplateFile
from pipeline.impose import BOTH, PrinterSettings, impose
from pipeline.impose.bench import Ink, bench
from pipeline.impose.contents import (
    CONTENTS,
    FOR_PRINTER,
    PRESS,
    SCREEN,
    contents_json,
    contents_of,
)
from pipeline.impose.press import for_press, press_edition, press_sheets
from pipeline.impose.screen import screen_edition, screen_sheets
from pipeline.plan.collection import LETTERING
from pipeline.plan.model import Page, Paper, SetPlan, edition_name
from pipeline.plan.sizes import Stock
from pipeline.proof.read.raster import mean_ink, side_inks
from pipeline.testsheets.presssheet import press_sheet
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
    private: bool = False
    """Whether it says what is only its buyer's, of which no cache keeps anything."""

    def name(self, paper: Paper) -> str:
        """What the files for a paper go by, such as "march/running/a5-a4-en-GB"."""
        return set_name(self.plan, paper)

    def folder(self, paper: Paper) -> Path:
        """Where they are in the build folder."""
        return Path(self.season, self.name(paper))

    def built_from(self, paper: Paper) -> str:
        """A key for all that the files for one paper depend on."""
        templates = sorted(
            (name, file.path.name, file.data) for name, file in self.templates.items()
        )
        parts = (self.season, self.plan, paper, self.printer, self.stock, templates)
        return key_of(*parts, self.faces.key)

    def made_of(self, paper: Paper) -> dict[str, str]:
        """A digest of each thing the files for one paper depend on, short, by what it is called.

        Templates go by their files' names, fonts by what they come from in the collection. "season"
        is what follows from the season file and the calendar: all that nothing else tells.
        """
        plan, faces, pages = self.plan, self.faces, self.plan.pages
        texts = [item for page in pages for item in page.facts.texts.items()]
        elsewhere = ("binder", "spreads", "leaves")
        settings = {
            one.name: getattr(plan, one.name) for one in fields(plan) if one.name not in elsewhere
        }
        leaves = [[_bare(leaf.recto), _bare(leaf.verso)] for leaf in plan.leaves]
        asked = (self.season, settings, leaves, self.printer, self.stock, faces.embedded)
        made_of = {
            PROGRAM: program(),
            SEASON: digest_of(*asked),
            LABELS: digest_of({key: forms for key, forms in texts if key.startswith(_LABEL)}),
            SIZES: digest_of(plan.binder, paper),
            COLLECTION: digest_of([page.beside_mm for page in pages], faces.fallback),
            **{file.name: digest_of(file.data) for file in self.templates.values()},
            **faces.digests,
        }
        return {name: digest[:16] for name, digest in made_of.items()}


PROGRAM, SEASON, LABELS, SIZES, COLLECTION = "leafset", "season", "labels", "sizes", "collection"
"""What files are made of besides templates and fonts, by the names in ``SetJob.made_of``."""
FONTS = ("fonts/", f"{LETTERING}/")
"""How names of what the collection's fonts come from begin."""
_LABEL = "label-"


def set_name(plan: SetPlan, paper: Paper) -> str:
    """What the files of a set for a paper go by, such as "march/running/a5-a4-en-GB"."""
    return edition_name(plan.period.name, plan.name, plan.binder.name, paper.name, plan.language)


def is_called(wanted: str, name: str) -> bool:
    """Whether the name of a set's files has all parts of what is wanted, in their order.

    >>> is_called("running/a5-a4-en-GB", "march/running/a5-a4-en-GB"), is_called("run", "a/running")
    (True, False)
    """
    rest = iter(name.split("/"))
    return all(part in rest for part in wanted.split("/"))


def _bare(page: Page | None) -> Page | None:
    """A page without what comes from the collection's files: its labels, and how wide its flap."""
    if page is None:
        return None
    texts = {key: said for key, said in page.facts.texts.items() if not key.startswith(_LABEL)}
    return replace(page, facts=replace(page.facts, texts=texts), flap_mm=0.0, back_mm=0.0)


Finished = Mapping[Path, Mapping[str, bytes]]
"""What a job gives: folders within the build folder, each with its files by name."""


def drawn(job: SetJob, cache: Cache) -> tuple[Sequence[FilledPage], bytes]:
    """The filled pages of a set, and the PDF with a page for each."""
    book = job.faces.book()
    with uncollected():
        pages = fill_set(job.plan, job.templates, book, cache)
        dpi, language = job.plan.effect_dpi, job.plan.language
        return pages, draw_set(pages, book, language, cache, dpi, private=job.private)


def run(job: SetJob, cache_folder: Path | None = None) -> Finished:
    """Makes a set. Raises UserError for what in its templates the user can mend.

    Files that a paper needs are in one folder, ``contents.json`` among them.
    """
    book, faces, cache = job.faces.book(), job.faces.key, Cache(cache_folder)
    pages, pdf = drawn(job, cache)
    # For each page a key of all that it was drawn from; equal ones look alike to the pixel.
    dpi = job.plan.effect_dpi
    keys = [key_of(faces, dpi, *(layer.svg for layer in page.layers))[:32] for page in pages]
    shown = {**_for_screen(job, pdf), **_for_press(job, pdf, cache)}
    made: dict[Path, Mapping[str, bytes]] = {}
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
        contents = contents_of(
            job.season,
            job.plan,
            paper,
            job.printer,
            imposed.sheets,
            {**imposed.files, **shown},
            replace(bench(job.plan, imposed.sheets, job.stock), ink=Ink(mean_ink(inks), inks)),
            drawn=keys,
            built_from=job.built_from(paper),
            made_of=job.made_of(paper),
            left_out=list(dict.fromkeys(said for page in pages for said in page.left_out)),
        )
        made[job.folder(paper)] = {**imposed.files, **shown, CONTENTS: contents_json(contents)}
    if job.keep_svg:
        name = f"svg-{job.plan.binder.name}-{job.plan.language}"
        files = {
            f"{number:03d} {planned.template}.svg": page.whole()
            for number, (planned, page) in enumerate(zip(job.plan.pages, pages, strict=True), 1)
        }
        made[job.folder(job.papers[0]).with_name(name)] = files
    return made


def _for_press(job: SetJob, pages_pdf: bytes, cache: Cache) -> dict[str, bytes]:
    """The file for print shops and the sheet beside it, where they are asked for."""
    if job.plan.press is None:
        return {}
    book, key, plan = job.faces.book(), job.faces.key, for_press(job.plan)
    if plan != job.plan:  # drawn further past its cuts
        _, pages_pdf = drawn(replace(job, plan=plan), cache)
    edition = press_edition(plan, pages_pdf, book, cache=cache, faces=key)
    pages = 2 * len(press_sheets(plan, book))
    sheet = press_sheet(plan, job.papers[0], job.stock, pages, book)
    return {PRESS: edition, FOR_PRINTER: sheet}


def _for_screen(job: SetJob, pages_pdf: bytes) -> dict[str, bytes]:
    """The file for screens, where one is asked for."""
    if job.plan.screen is None:
        return {}
    links = Links(job.plan, job.templates, pages_pdf)
    sheets = screen_sheets(job.plan)
    return {SCREEN: screen_edition(job.plan, sheets, pages_pdf, links.of)}
