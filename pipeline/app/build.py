"""A season from its file to its print files, stage by stage, and from those to their pictures."""

from __future__ import annotations

import datetime as dt
import shutil
from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass, replace
from functools import partial
from pathlib import Path

from pipeline.app.buildrecord import RELEASE, FinishedSet, write_build_record
from pipeline.app.jobs import FinishedJob, SetJob, run
from pipeline.base.errors import UserError
from pipeline.base.folders import whole_folder, write_whole, writing
from pipeline.base.workers import in_order
from pipeline.draw.specimen import SPECIMEN_WEEK, SpecimenLine, specimen
from pipeline.fill.needs import FamilyNeed, TightText, families_needed, tightest
from pipeline.fill.template import TemplateFile, open_template
from pipeline.impose import PrinterSettings, plan_sheets
from pipeline.impose.contents import CONTENTS, read_contents
from pipeline.impose.sheet import Flip
from pipeline.plan import SeasonPlan, plan_season
from pipeline.plan.languages import title_in
from pipeline.plan.model import Paper, SetPlan
from pipeline.plan.season import load_season
from pipeline.plan.words import words_for
from pipeline.testsheets.feedtest import feed_test, has_feed_test
from pipeline.testsheets.gauge import has_gauge, hole_gauge
from pipeline.text import FontBook
from pipeline.text.fonts import Faces

Step = Callable[[int, int, str], None]
"""Told how many things are done, of how many, and which one comes now."""


def make_season(
    path: Path,
    out: Path,
    *,
    only: str | None = None,
    keep_svg: bool = False,
    cache: Path | None = None,
    scheduler: str | None = None,
    step: Step = lambda done, whole, what: None,
) -> list[FinishedSet]:
    """Makes the files of every set of a season under ``out``; returns what was made.

    Every set is checked against every paper before the first is drawn. A set's folder appears
    whole or not at all; what an earlier build made stays until then, and a set that would come
    out the same is not made again. ``cache`` is where drawings are kept, ``scheduler`` the
    address of a cluster to make them on. Raises UserError for what the user can mend.
    """
    plan = plan_season(path, only)
    book = faces_of(plan).book()
    printer = printer_of(plan)
    for one in plan.sets:
        for paper in plan.papers:
            plan_sheets(one, paper, printer, book, bleed_mm=one.bleed_mm)
    with writing(out):
        out.mkdir(parents=True, exist_ok=True)
    whole = len(plan.sets) * len(plan.papers)
    jobs = jobs_of(plan, keep_svg)
    todo = [_only_what_changed(job, out) for job in jobs]
    asked = [job for job in todo if job is not None]
    results = in_order(partial(run, cache_folder=cache), asked, scheduler)
    done = whole - sum(len(job.papers) for job in asked)
    for job in asked:
        step(done, whole, f"{job.plan.period.name}, {job.plan.name}, {job.plan.binder.title}")
        put_in_place(next(results), job, out)
        done += len(job.papers)
    step(whole, whole, "done")
    return finish_season(path, plan, jobs, out, whole_season=only is None)


def finish_season(
    path: Path, plan: SeasonPlan, jobs: Sequence[SetJob], out: Path, *, whole_season: bool
) -> list[FinishedSet]:
    """What is left once the files of all ``jobs`` are in place; returns what was made.

    Writes the sheets that belong to no set. When that was the ``whole_season``, takes away sets
    it no longer has and notes down what it was made from.
    """
    book = faces_of(plan).book()
    made = [_line(job, paper, out) for job in jobs for paper in job.papers]
    folder = out / plan.season.name
    write_test_sheets(plan, printer_of(plan).flip, book, folder)
    if whole_season:
        _write_specimen(plan, book, out)
        _remove_stale(folder, {out / one.folder for one in made})
        write_build_record(path, inputs_of(plan, path), out, folder, made)
    return made


def printer_of(plan: SeasonPlan) -> PrinterSettings:
    """What a season says of the printer, as imposing needs it."""
    printer = plan.printer
    return PrinterSettings(
        unprintable_mm=printer.unprintable_mm,
        flip=Flip(printer.flip),
        back_shift_mm=printer.back_shift_mm,
        reverse_side_2=printer.reverse_side_2,
    )


def inputs_of(plan: SeasonPlan, path: Path) -> list[Path]:
    """All that a build reads: the season, the user's sizes and the whole collection."""
    beside = [folder / "sizes.toml" for folder in (path.parent, path.parent.parent)]
    return [path, *beside, plan.collection.folder]


def jobs_of(plan: SeasonPlan, keep_svg: bool = False) -> list[SetJob]:
    """A job for each set of a season, for all its papers, in the season's own order.

    Raises UserError when a template is missing.
    """
    faces, printer = faces_of(plan), printer_of(plan)
    return [
        SetJob(
            season=plan.season.name,
            plan=one,
            papers=plan.papers,
            printer=printer,
            stock=plan.season.stock.as_stock,
            templates=_templates(plan, one),
            faces=faces,
            keep_svg=keep_svg,
        )
        for one in plan.sets
    ]


def _only_what_changed(job: SetJob, out: Path) -> SetJob | None:
    """The job for the papers whose files would come out different; None when none would."""
    changed = tuple(paper for paper in job.papers if not is_made(job, paper, out))
    if job.keep_svg:
        changed = job.papers
    return replace(job, papers=changed) if changed else None


def is_made(job: SetJob, paper: Paper, out: Path) -> bool:
    """Whether the files for a paper are there, made from the very same."""
    folder = folder_of(job, paper, out)
    try:
        contents = read_contents(folder)
        return contents.made_from == job.made_from(paper) and all(
            (folder / file.name).stat().st_size == file.bytes for file in contents.files
        )
    except (OSError, UserError):
        return False


def put_in_place(made: FinishedJob, job: SetJob, out: Path) -> None:
    """Writes what a job gave; each edition's folder appears whole or not at all."""
    for edition in made.editions:
        with whole_folder(folder_of(job, edition.paper, out)) as new:
            for name, data in edition.files.items():
                (new / name).write_bytes(data)
    if made.svgs:
        with whole_folder(_set_folder(out, job) / f"svg-{_edition(job)}") as new:
            for name, data in made.svgs.items():
                (new / name).write_bytes(data)


def _line(job: SetJob, paper: Paper, out: Path) -> FinishedSet:
    folder = folder_of(job, paper, out)
    contents = read_contents(folder)
    title = f"{job.plan.binder.title} on {paper.title}"
    return FinishedSet.from_contents(
        contents, len(job.plan.spreads), title, folder.relative_to(out).as_posix()
    )


def prove_season(
    path: Path,
    out: Path,
    *,
    only: str | None = None,
    step: Step = lambda done, whole, what: None,
) -> list[Path]:
    """Makes the proof pictures of every set that is built; returns the folders they are in.

    Raises UserError when a set of the season has not been built.
    """
    from pipeline.proof.pictures.proofs import write_proofs

    folders = built_folders(path, out, only)
    proofs = []
    for number, folder in enumerate(folders):
        step(number, len(folders), str(folder.relative_to(out)))
        proofs.append(write_proofs(folder)[0].parent)
    step(len(folders), len(folders), "done")
    return proofs


def built_folders(path: Path, out: Path, only: str | None = None) -> list[Path]:
    """The folders of a season's sets, one for each paper, in the season's own order.

    Raises UserError when a set of the season has not been built.
    """
    plan = plan_season(path, only)
    folders = [folder_of(job, paper, out) for job in jobs_of(plan) for paper in job.papers]
    for folder in folders:
        if not (folder / CONTENTS).is_file():
            raise UserError(str(folder), "this set is not built yet", "run 'leafset build' first")
    return folders


@dataclass(frozen=True)
class BuiltEdition:
    """A set for one paper, where its files are, and whether they are what a build now would make.

    ``name`` is its folder within the season's, such as "march/running/a5-a4-en-GB".
    """

    name: str
    folder: Path
    plan: SetPlan
    paper: Paper
    up_to_date: bool


def built_editions(plan: SeasonPlan, out: Path) -> list[BuiltEdition]:
    """Every set of a season on every paper, in the season's own order, built or not."""
    jobs = jobs_of(plan)
    season = out / plan.season.name
    return [
        BuiltEdition(
            folder_of(job, paper, out).relative_to(season).as_posix(),
            folder_of(job, paper, out),
            job.plan,
            paper,
            is_made(job, paper, out),
        )
        for job in jobs
        for paper in job.papers
    ]


def season_title(path: Path) -> str:
    """What a season is called, in its first language."""
    season = load_season(path)
    return title_in(season.title, season.language[0]) or season.name


def fonts_of_season(path: Path) -> list[FamilyNeed]:
    """Every family a season's templates are set in, or that stands in, and whether it is there."""
    plan = plan_season(path)
    # Embedding is told of here, not refused: the book is asked as if all letters were outlines.
    book = FontBook(plan.collection.fonts_folder, plan.collection.fallback_fonts, embedded=False)
    return families_needed(_all_templates(plan), plan.collection.fonts_folder, book)


def fit_of_season(path: Path, only: str | None = None) -> list[TightText]:
    """For each key of a season the text that fills its room most, the tightest first."""
    plan = plan_season(path, only)
    return tightest(plan.sets, lambda one: _templates(plan, one), faces_of(plan).book())


def _write_specimen(plan: SeasonPlan, book: FontBook, out: Path) -> None:
    """Writes the specimen sheet; a season without text has none, and loses an earlier one."""
    path = out / plan.season.name / "specimen.pdf"
    needs = families_needed(_all_templates(plan), plan.collection.fonts_folder, book)
    families = [need.family for need in needs if need.used_by]
    if not families:
        path.unlink(missing_ok=True)
        return
    lines = [_specimen_line(plan, language) for language in plan.season.language]
    sheet = specimen(plan.collection.title, families, lines, book)
    write_whole(path, sheet)


def _specimen_line(plan: SeasonPlan, language: str) -> SpecimenLine:
    words, (first, last) = words_for(language), SPECIMEN_WEEK
    days = [first + dt.timedelta(days=number) for number in (0, 2, 5)]
    labels = [forms[0] for forms in plan.collection.labels(language).values()]
    return SpecimenLine(
        language=language,
        right_to_left=words.right_to_left,
        names="   ".join(words.day_name(day)[0] for day in days),
        month=words.month_name(last)[0],
        interval=words.interval(first, last, "MMMMd"),
        figures=" ".join(words.number(number) for number in (*range(1, 11), 2027)),
        labels=" · ".join(labels[:4]),
    )


def _all_templates(plan: SeasonPlan) -> list[Path]:
    """The files of all templates of a season, each once."""
    return sorted({file.path for one in plan.sets for file in _templates(plan, one).values()})


def faces_of(plan: SeasonPlan) -> Faces:
    """The faces a season is set in: its collection's own, then those of font packages."""
    folder = plan.collection.fonts_folder
    files = sorted(folder.iterdir()) if folder.is_dir() else []
    return Faces(
        {file.name: file.read_bytes() for file in files if file.is_file()},
        plan.collection.fallback_fonts,
        plan.season.text == "embedded",
    )


def _templates(plan: SeasonPlan, one: SetPlan) -> dict[str, TemplateFile]:
    names = {page.template for page in one.pages}
    path = plan.collection.template_path
    return {name: open_template(path(one.binder.name, name)) for name in sorted(names)}


def _set_folder(out: Path, job: SetJob) -> Path:
    return out / job.season / job.plan.period.name / job.plan.name


def _edition(job: SetJob, paper: Paper | None = None) -> str:
    names = (job.plan.binder.name, paper.name if paper else None, job.plan.language)
    return "-".join(name for name in names if name)


def folder_of(job: SetJob, paper: Paper, out: Path) -> Path:
    """Where the files of a set for a paper are."""
    return _set_folder(out, job) / _edition(job, paper)


def _remove_stale(season: Path, current: set[Path]) -> None:
    """Takes away sets an earlier build made that the season no longer asks for."""
    for contents in sorted(season.glob(f"*/*/*/{CONTENTS}")):
        if contents.parent not in current and season / RELEASE not in contents.parents:
            with writing(contents.parent):
                shutil.rmtree(contents.parent)


FEED_TEST, GAUGE = "feed-test", "hole-gauge"


def write_test_sheets(plan: SeasonPlan, flip: Flip, book: FontBook, folder: Path) -> list[Path]:
    """Writes a season's test sheets into ``folder``, each whole or not at all; says which.

    They speak the season's first language. Sheets an earlier build made for papers or binders
    that the season no longer has are taken away.
    """
    made = []
    for name, data in _sheets(plan, flip, book):
        path = folder / f"{name}.pdf"
        write_whole(path, data)
        made.append(path)
    for kind in (FEED_TEST, GAUGE):
        for old in sorted(set(folder.glob(f"{kind}-*.pdf")) - set(made)):
            with writing(old):
                old.unlink()
    return made


def _sheets(plan: SeasonPlan, flip: Flip, book: FontBook) -> Iterator[tuple[str, bytes]]:
    language = plan.season.language[0]
    binders = {one.binder.name: one.binder for one in plan.sets}
    for paper in plan.papers:
        if has_feed_test(paper):
            yield f"{FEED_TEST}-{paper.name}", feed_test(paper, flip, book, language)
        if has_gauge(paper):
            for binder in binders.values():
                yield (
                    f"{GAUGE}-{binder.name}-{paper.name}",
                    hole_gauge(binder, paper, book, language),
                )
