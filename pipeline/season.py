"""A season from its file to its print files, stage by stage, and from those to their pictures."""

from __future__ import annotations

import datetime as dt
import json
import shutil
from collections.abc import Callable, Iterator
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from pipeline.draw import draw_set
from pipeline.draw.specimen import SPECIMEN_WEEK, SpecimenLine, specimen
from pipeline.errors import UserError
from pipeline.fill import FilledPage, fill_set
from pipeline.fill.needs import FamilyNeed, TightText, families_needed, tightest
from pipeline.folders import whole_folder, write_whole, writing
from pipeline.impose import BOTH, Flip, Imposed, PrinterSettings, impose, plan_sheets
from pipeline.impose.bench import Bench, bench
from pipeline.plan import SeasonPlan, plan_season
from pipeline.plan.model import Paper, SetPlan
from pipeline.plan.words import words_for
from pipeline.proof.ink import SideInk, mean_ink, side_inks
from pipeline.testsheets import write_test_sheets
from pipeline.text import FontBook

CONTENTS = "contents.json"

Step = Callable[[int, int, str], None]
"""Told how many things are done, of how many, and which one comes now."""


@dataclass(frozen=True)
class MadeSet:
    """One line of the table a build ends with: what was made, and where.

    ``size`` is in bytes, ``ink_percent`` the mean share of a side that ink covers.
    """

    period: str
    name: str
    paper: str
    spreads: int
    leaves: int
    bench: Bench
    ink_percent: float
    files: int
    size: int
    folder: Path


def make_season(
    path: Path,
    out: Path,
    *,
    only: str | None = None,
    keep_svg: bool = False,
    step: Step = lambda done, whole, what: None,
) -> list[MadeSet]:
    """Makes the files of every set of a season under ``out``; returns what was made.

    Every set is checked against every paper before the first is drawn. A set's folder appears
    whole or not at all; what an earlier build made stays until then. Raises UserError for what
    the user can mend.
    """
    plan = plan_season(path, only)
    book = font_book(plan)
    printer = PrinterSettings(
        unprintable_mm=plan.printer.unprintable_mm,
        flip=Flip(plan.printer.flip),
        back_shift_mm=plan.printer.back_shift_mm,
        reverse_side_2=plan.printer.reverse_side_2,
    )
    for one in plan.sets:
        for paper in plan.papers:
            plan_sheets(one, paper, printer, book)
    made: list[MadeSet] = []
    whole = len(plan.sets) * len(plan.papers)
    for one in plan.sets:
        pages = fill_set(one, _templates(plan, one), book)
        drawn = draw_set(pages, book, one.language)
        if keep_svg:
            _keep_svg(pages, _set_folder(out, plan, one) / f"svg-{_edition(one)}")
        for paper in plan.papers:
            step(len(made), whole, f"{one.period.name}, {one.name}, {paper.title}")
            imposed = impose(one, paper, printer, drawn, book, season=plan.season.name)
            folder = _set_folder(out, plan, one) / f"{_edition(one, paper)}"
            figures = bench(one, imposed.sheets, plan.season.stock.as_stock)
            inks = _write(imposed, figures, folder)
            made.append(_made(one, paper, imposed, figures, inks, folder))
    step(whole, whole, "done")
    write_test_sheets(plan, printer.flip, book, out / plan.season.name)
    if only is None:
        _write_specimen(plan, book, out)
        _remove_stale(out / plan.season.name, {one.folder for one in made})
    return made


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
    from pipeline.proof.proofs import write_proofs

    plan = plan_season(path, only)
    folders = list(_folders(plan, out))
    for folder in folders:
        if not (folder / CONTENTS).is_file():
            raise UserError(str(folder), "this set is not built yet", "run 'leafset build' first")
    proofs = []
    for number, folder in enumerate(folders):
        step(number, len(folders), str(folder.relative_to(out)))
        proofs.append(write_proofs(folder)[0].parent)
    step(len(folders), len(folders), "done")
    return proofs


def fonts_of_season(path: Path) -> list[FamilyNeed]:
    """Every family a season's templates are set in, or that stands in, and whether it is there."""
    plan = plan_season(path)
    # Embedding is told of here, not refused: the book is asked as if all letters were outlines.
    book = FontBook(plan.collection.fonts_folder, plan.collection.fallback_fonts, embedded=False)
    return families_needed(_all_templates(plan), plan.collection.fonts_folder, book)


def fit_of_season(path: Path, only: str | None = None) -> list[TightText]:
    """For each key of a season the text that fills its room most, the tightest first."""
    plan = plan_season(path, only)
    return tightest(plan.sets, lambda one: _templates(plan, one), font_book(plan))


def _write_specimen(plan: SeasonPlan, book: FontBook, out: Path) -> None:
    needs = families_needed(_all_templates(plan), plan.collection.fonts_folder, book)
    families = [need.family for need in needs if need.used_by]
    lines = [_specimen_line(plan, language) for language in plan.season.language]
    sheet = specimen(plan.collection.title, families, lines, book)
    write_whole(out / plan.season.name / "specimen.pdf", sheet)


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
    """The files of all templates of a season, each once, in the order they are met."""
    met = {_templates(plan, one)(page.template) for one in plan.sets for page in one.pages}
    return sorted(met)


def font_book(plan: SeasonPlan) -> FontBook:
    """The faces a season is set in: its collection's own, then those of font packages."""
    return FontBook(
        plan.collection.fonts_folder,
        plan.collection.fallback_fonts,
        embedded=plan.season.text == "embedded",
    )


def _templates(plan: SeasonPlan, one: SetPlan) -> Callable[[str], Path]:
    return lambda stem: plan.collection.template_path(one.binder.name, stem)


def _set_folder(out: Path, plan: SeasonPlan, one: SetPlan) -> Path:
    return out / plan.season.name / one.period.name / one.name


def _edition(one: SetPlan, paper: Paper | None = None) -> str:
    names = (one.binder.name, paper.name if paper else None, one.language)
    return "-".join(name for name in names if name)


def _folders(plan: SeasonPlan, out: Path) -> Iterator[Path]:
    for one in plan.sets:
        for paper in plan.papers:
            yield _set_folder(out, plan, one) / _edition(one, paper)


def _write(imposed: Imposed, figures: Bench, folder: Path) -> tuple[SideInk, ...]:
    """Writes a set's folder; the ink is measured on the file as it was written."""
    with whole_folder(folder) as new:
        for name, data in imposed.files.items():
            (new / name).write_bytes(data)
        inks = side_inks(new / BOTH, imposed.contents)
        at_bench = {**figures.as_data(), "ink": _ink_data(inks)}
        whole = {**imposed.contents, "bench": at_bench}
        text = json.dumps(whole, indent=1, ensure_ascii=False)
        (new / CONTENTS).write_text(text + "\n", "utf-8")
    return inks


def _ink_data(inks: tuple[SideInk, ...]) -> dict[str, Any]:
    sides = [
        {"sheet": ink.sheet, "side": ink.side, "percent": round(ink.percent, 2)} for ink in inks
    ]
    return {"mean_percent": round(mean_ink(inks), 2), "sides": sides}


def _keep_svg(pages: tuple[FilledPage, ...], folder: Path) -> None:
    with whole_folder(folder) as new:
        for page in pages:
            (new / f"{page.name}.svg").write_bytes(page.whole())


def _made(
    one: SetPlan,
    paper: Paper,
    imposed: Imposed,
    figures: Bench,
    inks: tuple[SideInk, ...],
    folder: Path,
) -> MadeSet:
    return MadeSet(
        period=one.period.name,
        name=one.name,
        paper=f"{one.binder.title} on {paper.title}",
        spreads=len(one.spreads),
        leaves=len(one.leaves),
        bench=figures,
        ink_percent=mean_ink(inks),
        files=len(imposed.files),
        size=sum(len(data) for data in imposed.files.values()),
        folder=folder,
    )


def _remove_stale(season: Path, current: set[Path]) -> None:
    """Takes away sets an earlier build made that the season no longer asks for."""
    for contents in sorted(season.glob(f"*/*/*/{CONTENTS}")):
        if contents.parent not in current:
            with writing(contents.parent):
                shutil.rmtree(contents.parent)
