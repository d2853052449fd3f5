"""Packs that a maker prints, cuts and sells: how much of everything, in which order, at what cost.

All figures are arithmetic on what a build has measured and on the prices, yields and times in the
season's ``[bench]``; postage is the maker's own table.
"""

from __future__ import annotations

import csv
import io
import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from pathlib import Path

from babel.numbers import format_decimal

from pipeline.app.build import faces_of, is_made, jobs_of
from pipeline.app.jobs import is_called
from pipeline.base.errors import UserError, did_you_mean
from pipeline.base.folders import write_whole
from pipeline.impose import SIDE_1, SIDE_2
from pipeline.impose.bench import LEAVES_A_PUNCH, Cut, cut_order
from pipeline.impose.contents import Contents, read_contents
from pipeline.plan import SeasonPlan, plan_season
from pipeline.plan.season import BenchEntry, Trimmer
from pipeline.plan.words import Phrases, Words, words_for
from pipeline.publish.directions.steps import WORDS as DIRECTIONS_WORDS
from pipeline.publish.directions.steps import Account, Heap
from pipeline.testsheets.benchsheet import BenchSet, bench_sheet

YIELD_PERCENT = 5.0
"""Cartridges are rated in pages of A4 that ink covers so much of (ISO/IEC 24711; from memory)."""
_A4_MM2 = 210.0 * 297.0


@dataclass(frozen=True)
class Fence:
    """A stroke: the edge that lies against the trimmer's stop, and how far the blade is from it.

    ``edge`` is "bottom" or "right" of the sheet, or "cut" for the edge of the stroke before.
    """

    edge: str
    mm: float


def fences(cuts: Sequence[Cut], width: float, height: float) -> list[Fence]:
    """How the stop is set for each stroke, sheets ``width`` × ``height`` mm.

    >>> from pipeline.base.geometry import Rect
    >>> cuts = cut_order([Rect(10, 20, 90, 120)], 210, 297)
    >>> [(one.edge, one.mm) for one in fences(cuts, 210, 297)]
    [('bottom', 277), ('cut', 120), ('right', 200), ('cut', 90)]
    """
    found: list[Fence] = []
    before: dict[bool, float] = {}
    for cut in cuts:
        last = before.get(cut.across)
        if last is None or cut.at <= last:
            whole = height if cut.across else width
            found.append(Fence("bottom" if cut.across else "right", round(whole - cut.at, 2)))
        else:
            found.append(Fence("cut", round(cut.at - last, 2)))
        before[cut.across] = cut.at
    return found


@dataclass(frozen=True)
class Pack:
    """One set, so many times. Costs are of one pack, in the maker's own money.

    ``sheets`` are all that are printed, ``spare`` of them over; ``runs`` tells how many copies of
    the file go through the printer at a time. ``stacks`` go under the blade one by one. ``reams``
    and ``cartridges`` are what all of it takes, by ``ink_percent`` of a side as it was measured.
    """

    name: str
    contents: Contents
    count: int
    sheets: int
    spare: int
    runs: tuple[int, ...]
    reams: float
    ink_percent: float
    cartridges: float
    stacks: int
    strokes: int
    punch_strokes: int
    folds: int
    minutes: float
    weight_g: float
    paper_cost: float
    ink_cost: float
    work_cost: float
    envelope_cost: float
    postage: float | None

    @property
    def cost(self) -> float:
        """All of it but the postage."""
        return self.paper_cost + self.ink_cost + self.work_cost + self.envelope_cost

    @property
    def cuts(self) -> list[tuple[range, list[Fence]]]:
        """The numbers of the sheets that are cut alike, and their strokes in order."""
        account = Account(self.contents)
        return [
            (range(heap.first, heap.last + 1), fences(_cuts(heap, account), *account.sheet_mm))
            for heap in account.heaps
        ]


def packs_of(
    path: Path, out: Path, asked: Mapping[str, int], trimmer: str = ""
) -> tuple[SeasonPlan, list[Pack], int]:
    """What so many packs of some sets take; sets go by as much of their names as tells them apart.

    Gives the season's plan, the packs, and how many sheets the trimmer cuts at once.

    Raises UserError for a set that there is none or more than one of, that is not built as the
    season is now, an unknown trimmer, a cut that it is too short for, and weights that the table
    of postage has no row for.
    """
    plan = plan_season(path)
    bench = plan.season.bench
    blade = _trimmer(path, bench, trimmer)
    built = {job.name(paper): (job, paper) for job in jobs_of(plan) for paper in job.papers}
    found = []
    for wanted, count in asked.items():
        name = _one_of(wanted, built)
        job, paper = built[name]
        if not is_made(job, paper, out):
            remedy = "wait until the desk has built it, or run 'leafset build'"
            raise UserError(name, "is not built as the season is now", remedy)
        contents = read_contents(out / job.folder(paper))
        found.append(_pack(path, name, contents, count, bench, blade))
    return plan, found, blade.sheets


def _one_of(wanted: str, names: Mapping[str, object]) -> str:
    """The only name that is called so."""
    found = [name for name in names if is_called(wanted, name)]
    if not found:
        known = sorted({part for name in names for part in name.split("/")[:2]})
        raise UserError(f"pack '{wanted}'", "no set is called so", did_you_mean(wanted, known))
    if len(found) > 1:
        several = ", ".join(found[:3]) + (", …" if len(found) > 3 else "")
        what = f"could be any of {len(found)} sets: {several}"
        raise UserError(f"pack '{wanted}'", what, "write more of its name")
    return found[0]


def _trimmer(path: Path, bench: BenchEntry, name: str) -> Trimmer:
    if name and name not in bench.trimmer:
        remedy = (
            did_you_mean(name, bench.trimmer)
            if bench.trimmer
            else (f"describe it in the season file: [bench.trimmer.{name}]")
        )
        raise UserError(f"trimmer '{name}'", f"isn't in {path}", remedy)
    return bench.trimmer[name] if name else next(iter(bench.trimmer.values()), Trimmer())


def _pack(
    path: Path, name: str, contents: Contents, count: int, bench: BenchEntry, blade: Trimmer
) -> Pack:
    figures = contents.bench
    needed = figures.sheets * count
    copies = count + math.ceil(count * bench.spare_percent / 100)
    sheets = figures.sheets * copies
    account = Account(contents)
    cuts = [_cuts(heap, account) for heap in account.heaps]
    _long_enough(path, name, cuts, account.sheet_mm, blade)
    stacks = [
        math.ceil((heap.last + 1 - heap.first) * copies / blade.sheets) for heap in account.heaps
    ]
    at_once = max(1, bench.tray_sheets // figures.sheets)
    runs = tuple(min(at_once, copies - done) for done in range(0, copies, at_once))
    punched = len(contents.leaves) * count if figures.punch_strokes else 0
    strokes = sum(many * len(each) for many, each in zip(stacks, cuts, strict=True))
    punch = math.ceil(punched / LEAVES_A_PUNCH)
    minutes = (
        2 * sheets / bench.pages_a_minute
        + (strokes * bench.stroke_s + punch * bench.punch_s) / 60
        + (figures.folds * count * bench.fold_s + count * bench.pick_s) / 60
    )
    paper = contents.paper
    area = paper.width_mm * paper.height_mm / _A4_MM2
    inked = figures.ink.mean_percent if figures.ink else 0.0
    rated = 2 * figures.sheets * area * inked / YIELD_PERCENT
    weight = figures.weight_g + bench.envelope_g
    share = sheets / needed
    return Pack(
        name,
        contents,
        count,
        sheets,
        sheets - needed,
        runs,
        sheets / bench.ream_sheets,
        inked,
        rated * share * count / bench.cartridge_pages,
        sum(stacks),
        strokes,
        punch,
        figures.folds * count,
        minutes,
        weight,
        figures.sheets * share * bench.ream_price / bench.ream_sheets,
        rated * share * bench.cartridge_price / bench.cartridge_pages,
        minutes / count * bench.hour_price / 60,
        bench.envelope_price,
        _postage(path, name, weight, bench),
    )


def _cuts(heap: Heap, account: Account) -> tuple[Cut, ...]:
    return cut_order(heap.flats, *account.sheet_mm)


def _long_enough(
    path: Path,
    name: str,
    cuts: Sequence[tuple[Cut, ...]],
    sheet_mm: tuple[float, float],
    blade: Trimmer,
) -> None:
    width, height = sheet_mm
    longest = max(width if order[0].across else height for order in cuts)
    if blade.cut_mm is not None and longest > blade.cut_mm:
        what = f"its first cut is {longest:g} mm long and the trimmer cuts {blade.cut_mm:g} mm"
        raise UserError(f"{path}, {name}", what, "take a longer one, or a smaller paper")


def _postage(path: Path, name: str, weight: float, bench: BenchEntry) -> float | None:
    if not bench.postage:
        return None
    for most, price in sorted(bench.postage):
        if weight <= most:
            return price
    what = f"{name} weighs {weight:.0f} g with its envelope, more than any row"
    raise UserError(f"{path}, bench.postage", what, "add a row for it: [grams, price]")


def as_pdf(plan: SeasonPlan, packs: Sequence[Pack], blade_sheets: int) -> bytes:
    """The bench sheet in the maker's language, a page a set."""
    season = plan.season
    language, money = season.language[0], season.bench.money
    words = words_for(language)
    sets = []
    for pack in packs:
        contents, figures = pack.contents, pack.contents.bench
        about = {
            "title": contents.set.title,
            "period": contents.period.title,
            "packs": words.number(pack.count),
            "sheets": words.number(pack.sheets),
            "spare": words.number(pack.spare),
            "copies": words.number(pack.runs[0]),
            "runs": words.listed([words.number(one) for one in pack.runs]),
            "count": words.number(blade_sheets),
            "reams": words.number(pack.reams, 2),
            "ream": words.number(season.bench.ream_sheets),
            "coverage": words.number(pack.ink_percent, 1),
            "cartridges": words.number(pack.cartridges, 2),
            "stacks": words.number(pack.stacks),
            "strokes": words.number(pack.strokes),
            "punch": words.number(pack.punch_strokes),
            "folds": words.number(pack.folds),
            "minutes": words.number(math.ceil(pack.minutes)),
            "leaves": words.number(len(contents.leaves)),
            "weight": words.number(figures.weight_g, 0),
            "thickness": words.number(figures.thickness_mm, 1),
            "envelope": words.number(pack.weight_g, 0),
        }
        costs = [
            ("paper", pack.paper_cost),
            ("ink", pack.ink_cost),
            ("work", pack.work_cost),
            ("envelope", pack.envelope_cost),
            ("postage", pack.postage or 0.0),
        ]
        there = [(name, cost) for name, cost in costs if cost]
        there += [("together", sum(cost for _, cost in there))] if there else []
        sets.append(
            BenchSet(
                about,
                (SIDE_1, SIDE_2),
                [
                    (_from_to(words, run), [(one.edge, one.mm) for one in strokes])
                    for run, strokes in pack.cuts
                ],
                [(name, f"{_amount(words, cost)} {money}".strip()) for name, cost in there],
            )
        )
    phrases = Phrases.read(DIRECTIONS_WORDS, language)
    caution = phrases.of["heading"]["caution"], phrases.of["text"]["caution"]
    return bench_sheet(sets, plan.papers[0], faces_of(plan).book(), language, caution)


def _from_to(words: Words, run: range) -> str:
    """The numbers of the first and the last sheet."""
    ends = [words.number(number) for number in dict.fromkeys((run[0], run[-1]))]
    return "–".join(ends)


def _amount(words: Words, cost: float) -> str:
    return str(format_decimal(cost, "#,##0.00", locale=words.locale))


HEADINGS = (
    "set", "packs", "sheets", "spare", "reams", "ink_percent", "cartridges", "stacks", "strokes",
    "punch", "folds", "minutes", "weight_g", "thickness_mm", "paper", "ink", "work", "envelope",
    "postage", "cost",
)  # fmt: skip


def row_of(pack: Pack) -> tuple[str, ...]:
    """The figures of a pack as they stand in the CSV, in the order of ``HEADINGS``."""
    money = (pack.paper_cost, pack.ink_cost, pack.work_cost, pack.envelope_cost)
    return (
        pack.name, f"{pack.count}", f"{pack.sheets}", f"{pack.spare}", f"{pack.reams:.3f}",
        f"{pack.ink_percent:.2f}", f"{pack.cartridges:.3f}", f"{pack.stacks}",
        f"{pack.strokes}", f"{pack.punch_strokes}", f"{pack.folds}", f"{pack.minutes:.0f}",
        f"{pack.weight_g:.1f}", f"{pack.contents.bench.thickness_mm:.1f}",
        *(f"{cost:.2f}" for cost in money),
        "" if pack.postage is None else f"{pack.postage:.2f}", f"{pack.cost:.2f}",
    )  # fmt: skip


SHEET, TABLE = "bench-sheet.pdf", "bench-sheet.csv"


def write_bench_sheet(
    plan: SeasonPlan, packs: Sequence[Pack], blade_sheets: int, out: Path
) -> list[Path]:
    """Writes the bench sheet and its table into the season's folder; gives the files."""
    folder = out / plan.season.name
    files = {folder / SHEET: as_pdf(plan, packs, blade_sheets), folder / TABLE: as_csv(packs)}
    for file, data in files.items():
        write_whole(file, data)
    return [*files]


def as_csv(packs: Sequence[Pack]) -> bytes:
    """All packs as CSV (RFC 4180), UTF-8 with its mark, so that spreadsheets read it."""
    text = io.StringIO()
    writer = csv.writer(text)
    writer.writerow(HEADINGS)
    writer.writerows(map(row_of, packs))
    return text.getvalue().encode("utf-8-sig")
