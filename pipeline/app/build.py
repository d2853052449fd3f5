"""A season from its file to its print files, stage by stage, and from those to their pictures."""

from __future__ import annotations

import datetime as dt
import shutil
from collections.abc import Callable, Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from functools import partial
from pathlib import Path

from pipeline.app.buildrecord import RELEASE, FinishedSet, write_build_record
from pipeline.app.jobs import Finished, SetJob, run, set_name
from pipeline.base.cache import NO_CACHE, Cache
from pipeline.base.errors import UserError
from pipeline.base.folders import refuse_link, whole_folder, write_files, write_whole, writing
from pipeline.base.workers import in_order, not_ended_twice
from pipeline.draw.specimen import SPECIMEN_WEEK, SpecimenLine, specimen
from pipeline.fill.flapback import drawings_of
from pipeline.fill.lettering import own_fonts
from pipeline.fill.needs import FamilyNeed, TightText, families_needed, tightest
from pipeline.impose import PrinterSettings, plan_sheets
from pipeline.impose.bench import Bench, bench
from pipeline.impose.contents import CONTENTS, file_note, read_contents
from pipeline.impose.press import for_press, press_sheets
from pipeline.impose.screen import screen_sheets
from pipeline.impose.sheet import Flip
from pipeline.plan import SeasonPlan, plan_season
from pipeline.plan.collection import LETTERING, labels_by_language
from pipeline.plan.languages import title_in
from pipeline.plan.model import Paper, SetPlan
from pipeline.plan.season import Season
from pipeline.plan.words import words_for
from pipeline.testsheets.feedtest import feed_test, has_feed_test
from pipeline.testsheets.gauge import has_gauge, hole_gauge
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
    afresh: bool = False,
    step: Step = lambda done, whole, what: None,
) -> list[FinishedSet]:
    """Makes the files of every set of a season under ``out``; returns what was made.

    Every set is checked against every paper before the first is drawn. A set's folder appears
    whole or not at all; what an earlier build made stays until then, and a set that would come
    out the same is not made again, unless ``afresh``. ``cache`` is where drawings are kept,
    ``scheduler`` the address of a cluster to make them on. Raises UserError for what the user can
    mend.
    """
    plan = plan_season(path, only)
    faces, printer = faces_of(plan, Cache(cache)), printer_of(plan)
    for _ in in_order(partial(check_room, plan.papers, printer, faces), plan.sets):
        pass
    with writing(out):
        out.mkdir(parents=True, exist_ok=True)
    whole = len(plan.sets) * len(plan.papers)
    jobs = [job_of(plan, one, faces, keep_svg) for one in plan.sets]
    asked, again = [], keep_svg or afresh
    for job in jobs:
        changed = tuple(
            one
            for one in job.papers
            if again or not (is_made(job, one, out) and _is_whole(out / job.folder(one)))
        )
        if changed:
            asked.append(replace(job, papers=changed))
    done = whole - sum(len(job.papers) for job in asked)
    tasks: list[Callable[[], Finished]] = [partial(run, job, cache_folder=cache) for job in asked]
    tasks.append(partial(loose_sheets, plan, faces, whole_season=only is None))
    results = in_order(_done, tasks, scheduler)
    for job in asked:
        step(done, whole, _called(job))
        with not_ended_twice(_called(job)):
            finished = next(results)
        put_in_place(finished, out)
        done += len(job.papers)
    step(whole, whole, "done")
    with not_ended_twice("the test sheets"):
        (loose,) = next(results).values()
    return finish_season(path, plan, jobs, loose, out, whole_season=only is None)


def check_room(
    papers: Sequence[Paper], printer: PrinterSettings, faces: Faces, one: SetPlan
) -> None:
    """Raises UserError where the leaves of a set have no room on a paper or a screen."""
    for paper in papers:
        plan_sheets(one, paper, printer, faces.book(), bleed_mm=one.bleed_mm)
    if one.screen is not None:
        screen_sheets(one)
    if one.press is not None:
        press_sheets(for_press(one), faces.book())


def _done(task: Callable[[], Finished]) -> Finished:
    return task()


def _called(job: SetJob) -> str:
    return f"{job.plan.period.name}, {job.plan.name}, {job.plan.binder.title}"


def finish_season(
    path: Path,
    plan: SeasonPlan,
    jobs: Sequence[SetJob],
    loose: Mapping[str, bytes],
    out: Path,
    *,
    whole_season: bool,
) -> list[FinishedSet]:
    """What is left once the files of all ``jobs`` are in place; returns what was made.

    Writes the ``loose`` sheets, and takes away those that the season no longer has. When that was
    the ``whole_season``, also takes away sets it no longer has and notes down what it was made
    from.
    """
    made = [_line(job, paper, out) for job in jobs for paper in job.papers]
    folder = out / plan.season.name
    for name, data in loose.items():
        write_whole(folder / name, data)
    for pattern in (*TEST_SHEETS, *([SPECIMEN] if whole_season else [])):
        for old in folder.glob(pattern):
            if old.name not in loose:
                with writing(old):
                    old.unlink()
    if whole_season:
        _remove_stale(folder, {out / one.folder for one in made})
        write_build_record(path, inputs_of(plan, path), out, folder, made)
    return made


@dataclass(frozen=True)
class PlannedSet:
    """A set for one paper as a build would make it, by its name; or why it cannot."""

    name: str
    plan: SetPlan
    paper: Paper
    bench: Bench | None = None
    problem: UserError | None = None


def figures_of(plan: SeasonPlan) -> Iterator[PlannedSet]:
    """What the sets of a plan take on each paper, nothing drawn."""
    book, printer, stock = faces_of(plan).book(), printer_of(plan), plan.season.stock.as_stock
    for one in plan.sets:
        for paper in plan.papers:
            planned = PlannedSet(set_name(one, paper), one, paper)
            try:
                sheets = plan_sheets(one, paper, printer, book, bleed_mm=one.bleed_mm)
                yield replace(planned, bench=bench(one, sheets, stock))
            except UserError as problem:
                yield replace(planned, problem=problem)


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
    faces = faces_of(plan)
    return [job_of(plan, one, faces, keep_svg) for one in plan.sets]


def job_of(plan: SeasonPlan, one: SetPlan, faces: Faces, keep_svg: bool = False) -> SetJob:
    """The job of one set of a season, whose faces are those. Raises as ``jobs_of`` does."""
    return SetJob(
        season=plan.season.name,
        plan=one,
        papers=plan.papers,
        printer=printer_of(plan),
        stock=plan.season.stock.as_stock,
        templates=drawings_of(one, plan.collection),
        faces=faces,
        keep_svg=keep_svg,
    )


def is_made(job: SetJob, paper: Paper, out: Path) -> bool:
    """Whether the files for a paper are there, made from the very same."""
    folder = out / job.folder(paper)
    try:
        contents = read_contents(folder)
        return contents.built_from == job.built_from(paper) and all(
            (folder / file.name).stat().st_size == file.bytes for file in contents.files
        )
    except (OSError, UserError):
        return False


def _is_whole(folder: Path) -> bool:
    """Whether the files of a set that is made are still what they were made as, to the byte."""
    return all(
        file_note(file.name, (folder / file.name).read_bytes(), file.pages) == file
        for file in read_contents(folder).files
    )


def put_in_place(made: Finished, out: Path) -> None:
    """Writes what a job gave; each folder appears whole or not at all."""
    for folder, files in made.items():
        for place in (out, *(out / one for one in reversed(folder.parents))):
            refuse_link(place)
        with whole_folder(out / folder) as new:
            write_files(new, files)


def _line(job: SetJob, paper: Paper, out: Path) -> FinishedSet:
    folder = job.folder(paper)
    contents = read_contents(out / folder)
    figures = contents.bench
    return FinishedSet(
        period=contents.period.name,
        name=contents.set.name,
        paper=f"{job.plan.binder.title} on {paper.title}",
        spreads=len(job.plan.spreads),
        leaves=len(contents.leaves),
        sheets=figures.sheets,
        cuts=figures.cuts,
        folds=figures.folds,
        tabs=figures.tabs,
        punch_strokes=figures.punch_strokes,
        weight_g=figures.weight_g,
        thickness_mm=figures.thickness_mm,
        ink_percent=figures.ink.mean_percent if figures.ink else 0.0,
        files=len(contents.files),
        size=sum(file.bytes for file in contents.files),
        folder=folder.as_posix(),
        left_out=contents.left_out,
    )


def season_title(season: Season) -> str:
    """What a season is called, in its first language."""
    return title_in(season.title, season.language[0]) or season.name


def fonts_of_season(path: Path) -> list[FamilyNeed]:
    """Every family a season's templates are set in, or that stands in, and whether it is there."""
    plan = plan_season(path)
    # Embedding is told of here, not refused: the book is asked as if all letters were outlines.
    return _families(plan, replace(faces_of(plan), embedded=False))


def save_lettering(path: Path, folder: Path) -> list[Path]:
    """Writes the fonts of a season's drawn letters into a folder; returns their files.

    Raises UserError where there are no drawn letters.
    """
    collection = plan_season(path).collection
    drawings = {name: data for name, data in own_fonts(collection.folder).items()
                if name.startswith(f"{LETTERING}/")}  # fmt: skip
    if not drawings:
        what = f"collection '{collection.name}' has no drawn letters"
        raise UserError(str(path), what, f"draw them in {collection.folder / LETTERING}/NAME.svg")
    files = {folder / Path(name).with_suffix(".ttf").name: data for name, data in drawings.items()}
    with writing(folder):
        folder.mkdir(parents=True, exist_ok=True)
    for file, data in files.items():
        write_whole(file, data)
    return [*files]


def _families(plan: SeasonPlan, faces: Faces) -> list[FamilyNeed]:
    files = {
        file.path: file for one in plan.sets for file in drawings_of(one, plan.collection).values()
    }
    return families_needed([files[path] for path in sorted(files)], faces)


def fit_of_season(path: Path, only: str | None = None) -> list[TightText]:
    """For each key of a season the text that fills its room most, the tightest first."""
    plan = plan_season(path, only)
    return tightest(plan.sets, lambda one: drawings_of(one, plan.collection), faces_of(plan).book())


SPECIMEN = "specimen.pdf"
TEST_SHEETS = ("feed-test-*.pdf", "hole-gauge-*.pdf")


def loose_sheets(plan: SeasonPlan, faces: Faces, *, whole_season: bool) -> Finished:
    """The sheets of a season that belong to no set, in its folder, in its first language.

    Test sheets for its papers and binders; with the ``whole_season`` a specimen of its faces,
    where it has text.
    """
    language, flip, book = plan.season.language[0], printer_of(plan).flip, faces.book()
    binders = {one.binder.name: one.binder for one in plan.sets}
    made = {}
    for paper in plan.papers:
        if has_feed_test(paper):
            made[f"feed-test-{paper.name}.pdf"] = feed_test(paper, flip, book, language)
        for binder in binders.values() if has_gauge(paper) else ():
            gauge = hole_gauge(binder, paper, book, language)
            made[f"hole-gauge-{binder.name}-{paper.name}.pdf"] = gauge
    needed = _families(plan, faces) if whole_season else ()
    if families := [need.family for need in needed if need.used_by]:
        lines = [_specimen_line(plan, one) for one in plan.season.language]
        made[SPECIMEN] = specimen(plan.collection.title, families, lines, book)
    return {Path(plan.season.name): made}


def _specimen_line(plan: SeasonPlan, language: str) -> SpecimenLine:
    words, (first, last) = words_for(language), SPECIMEN_WEEK
    days = [first + dt.timedelta(days=number) for number in (0, 2, 5)]
    known = labels_by_language(plan.collection, [language], plan.season.label_fallback)
    labels = [forms[0] for forms in known[language].values()]
    return SpecimenLine(
        language=language,
        right_to_left=words.right_to_left,
        names="   ".join(words.day_name(day)[0] for day in days),
        month=words.month_name(last)[0],
        interval=words.interval(first, last, "MMMMd"),
        figures=" ".join(words.number(number) for number in (*range(1, 11), 2027)),
        labels=" · ".join(labels[:4]),
    )


def faces_of(plan: SeasonPlan, cache: Cache = NO_CACHE) -> Faces:
    """The faces a season is set in: its collection's own, drawn ones too, then font packages'."""
    return Faces(
        own_fonts(plan.collection.folder, cache),
        plan.collection.fallback_fonts,
        plan.season.text == "embedded",
    )


def _remove_stale(season: Path, current: set[Path]) -> None:
    """Takes away sets an earlier build made that the season no longer asks for."""
    for folder in set_folders(season):
        if folder not in current:
            with writing(folder):
                shutil.rmtree(folder)


def set_folders(season: Path) -> list[Path]:
    """The folders of all sets that were built in a season's, whether it still asks for them."""
    found = sorted(contents.parent for contents in season.glob(f"*/*/*/{CONTENTS}"))
    return [folder for folder in found if season / RELEASE not in folder.parents]
