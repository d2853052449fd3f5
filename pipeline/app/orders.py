"""Orders: a season with a few values replaced for each buyer, made, checked and packed as a set is.

What is a buyer's own is in that buyer's folder alone: nothing of it is kept in a cache, and what is
said of an order goes by its number.
"""

from __future__ import annotations

import itertools
import json
import shutil
from collections.abc import Callable, Mapping, Sequence
from contextlib import closing
from dataclasses import dataclass, replace
from enum import StrEnum
from functools import partial
from pathlib import Path
from typing import Any, overload

from pydantic import TypeAdapter, ValidationError

from pipeline.app.build import Step, check_room, faces_of, job_of, printer_of
from pipeline.app.jobs import SetJob, run, set_name
from pipeline.app.orderform import DAYS, BuyerOrder, read_orders, season_at, write_form
from pipeline.base.cache import CACHE, Cache, key_of
from pipeline.base.errors import UserError
from pipeline.base.findings import Severity
from pipeline.base.folders import (
    clear_leftovers,
    locked,
    put_folder,
    refuse_link,
    safe_name,
    whole_folder,
    write_files,
    write_whole,
    writing,
)
from pipeline.base.workers import in_order
from pipeline.fill.filling import rooms_of_set, texts_of_set
from pipeline.fill.texts import SMALLEST, least_mm
from pipeline.impose.contents import CONTENTS, CONTENTS_MODEL
from pipeline.plan import SeasonPlan, planned
from pipeline.plan.facts import BUYER_KEYS
from pipeline.plan.season import AS_DRAWN, ORDERS, Season
from pipeline.proof.approval.passed import pass_file, read_pass_file
from pipeline.proof.findings import SetFinding, findings_of
from pipeline.publish.bundle import BUYER, MADE_FROM, Packing, licence, printed_files
from pipeline.publish.directions import artwork_of
from pipeline.publish.zips import ENDING, check_sizes, sorted_for_use, zipped

FINISHED, WAITING = "finished", "waiting"
"""The folders of orders whose check is clean, and of those that somebody must look at."""

SHEETS = "sheets"
"""What is checked of an order that waits: its sets as a build makes them."""

FINDINGS = "findings.json"


class OrderState(StrEnum):
    """What became of an order."""

    MADE = "made"
    UNCHANGED = "as before"
    WAITING = "waiting"
    REFUSED = "refused"


@dataclass(frozen=True)
class OrderResult:
    """What became of an order, and why; ``left_out`` days don't say all they should."""

    order: str
    state: OrderState
    why: str = ""
    left_out: int = 0


@dataclass(frozen=True)
class _Mark:
    """What an order in its folder was made from, of which season, and its files' sizes in bytes."""

    digest: str
    files: Mapping[str, int]
    left_out: int = 0
    season: str = ""


_MARK = TypeAdapter(_Mark)


def make_orders(
    path: Path,
    out: Path,
    *,
    at: str,
    scheduler: str | None = None,
    told: Callable[[UserError], None] = lambda problem: None,
    step: Step = lambda done, whole, what: None,
) -> list[OrderResult]:
    """Makes all orders of a form, or of a folder of forms; says what became of each.

    All are checked before the first is made, and ``told`` what is wrong with a row, which keeps
    back no other. Those that are finished and made from the very same stay as they are. ``at`` is
    the time of files within zips (ISO 8601), ``scheduler`` the address of a cluster. Raises
    UserError for a form that cannot be read.
    """
    read, folder, cache = read_orders(path), out / ORDERS, out / CACHE
    with writing(folder):
        folder.mkdir(mode=0o700, parents=True, exist_ok=True)
    refuse_link(folder)
    with locked(folder):
        clear_leftovers(folder)
        for problem in read.mistakes:
            told(problem)
        results = [OrderResult("", OrderState.REFUSED, str(one)) for one in read.mistakes]
        good: list[tuple[BuyerOrder, str]] = []
        with closing(in_order(partial(_checked, cache=cache), read.orders)) as checked:
            for number, order in enumerate(read.orders):
                step(number, len(read.orders), f"{order.name}: looked at")
                digest = next(checked)
                if isinstance(digest, UserError):
                    told(digest)
                    results.append(OrderResult(order.name, OrderState.REFUSED, str(digest)))
                elif (mark := _mark(folder / FINISHED / order.name)) and mark.digest == digest:
                    results.append(
                        OrderResult(order.name, OrderState.UNCHANGED, left_out=mark.left_out)
                    )
                else:
                    good.append((order, digest))
        results += _make(good, folder, cache, at, scheduler, told, step)
    return results


def _make(
    orders: Sequence[tuple[BuyerOrder, str]],
    folder: Path,
    cache: Path,
    at: str,
    scheduler: str | None,
    told: Callable[[UserError], None],
    step: Step,
) -> list[OrderResult]:
    """Makes orders, each known by the digest of what it is made from, then checks them."""
    results: list[OrderResult] = []
    lacking = []
    for order, digest in orders:
        mark = _mark(folder / WAITING / order.name)
        if mark is None or mark.digest != digest:
            lacking.append((order, digest))
    refused = set()
    jobs = _Jobs([order for order, _ in lacking], cache, at)
    with closing(in_order(_made, jobs, scheduler)) as made:
        for number, (order, digest) in enumerate(lacking):
            step(number, len(lacking), order.name)
            files = next(made)
            if isinstance(files, UserError):
                problem = _about(order, files)
                told(problem)
                refused.add(order.name)
                results.append(OrderResult(order.name, OrderState.REFUSED, str(problem)))
            else:
                _put(files, folder / WAITING / order.name, digest, order.as_season().name)
    rest = [order for order, _ in orders if order.name not in refused]
    with closing(in_order(partial(_judged, folder=folder / WAITING), rest)) as judged:
        for number, order in enumerate(rest):
            step(number, len(rest), f"{order.name}: checked")
            results.append(_settled(order.name, next(judged), folder))
    step(len(orders), len(orders), "done")
    return results


# Whether it can be made


def _plan(order: BuyerOrder) -> SeasonPlan:
    return planned(order.as_season(), order.season, buyer=order.buyer)


def _planned(order: BuyerOrder, cache: Cache) -> tuple[SeasonPlan, list[SetJob]]:
    plan = _plan(order)
    faces = faces_of(plan, cache)
    return plan, [replace(job_of(plan, one, faces), private=True) for one in plan.sets]


def _checked(order: BuyerOrder, cache: Path) -> str | UserError:
    """A digest of all that an order is made from, or what is wrong with it."""
    try:
        plan, jobs = _planned(order, Cache(cache))
        artwork = artwork_of(plan.collection.folder)
        artwork.check()
        for job in jobs:
            check_room(plan.papers, printer_of(plan), job.faces, job.plan)
        _check_texts(order, jobs, Cache(cache))
        terms = licence(plan.collection, plan.season.language[0])
        keys = [job.built_from(paper) for job in jobs for paper in job.papers]
        return key_of(order.name, keys, terms, artwork.key, plan.season.editions)
    except UserError as problem:
        return _about(order, problem)


def _about(order: BuyerOrder, problem: UserError) -> UserError:
    """A mistake as one of an order's row."""
    if problem.where == str(order.file):
        return problem
    return order.mistake(f"{problem.place}: {problem.what}", problem.remedy)


def _check_texts(order: BuyerOrder, jobs: Sequence[SetJob], cache: Cache) -> None:
    """Raises UserError for what of a buyer's own no page shows, or finds no room."""
    shown: set[str] = set()
    for job in jobs:
        book = job.faces.book()
        for page, rooms in rooms_of_set(job.plan, job.templates, cache):
            shown |= {DAYS for key, _ in rooms if key.endswith("-note")}
            for key, room in rooms:
                forms = page.facts.texts[key]
                if key not in BUYER_KEYS or not forms[0]:
                    continue
                shown.add(key)
                try:
                    needs = least_mm(forms, room, book)
                except UserError:
                    remedy = "name a font of that script in the collection's fallback_fonts"
                    what = f"no face of {page.drawing} has all its letters"
                    raise order.mistake(what, remedy, key) from None
                if needs > room.width_mm:
                    raise order.mistake(
                        f"needs {needs:.1f} mm on {page.drawing}, set as small as {SMALLEST:.0%}, "
                        f"and has {room.width_mm:.1f} mm",
                        "shorten it, or add a shorter form after '|'",
                        key,
                    )
    asked = [*order.buyer.texts, *([DAYS] if order.buyer.days else [])]
    if lost := next((key for key in asked if key not in shown), None):
        wanted = "day1-note" if lost == DAYS else lost
        remedy = f"draw a text named '{wanted}', or leave the column empty"
        raise order.mistake("no page of these sets shows it", remedy, lost)
    try:
        _set_all(jobs, cache)
    except UserError:
        bare = replace(order, buyer=replace(order.buyer, texts={}, days={}))
        _set_all(_planned(bare, cache)[1], cache)  # which tells what is wrong with the pages
        what = "the name of one of its days finds no room, or no face has its letters"
        raise order.mistake(what, "shorten it", DAYS) from None


def _set_all(jobs: Sequence[SetJob], cache: Cache) -> None:
    for job in jobs:
        texts_of_set(job.plan, job.templates, job.faces.book(), cache)


def designs_not_passed(path: Path) -> list[str]:
    """The sets, with size, paper and language, that are ordered and that nobody has passed.

    An order is of a design that was looked at; which months that was of makes no difference.
    """
    wanted: dict[tuple[Path, str], None] = {}
    for order in read_orders(path).orders:
        season = order.as_season()
        colours, (size, paper, language) = season.colours[0], _edition(season)
        for entry in season.set:
            name = entry.name if colours == AS_DRAWN else f"{entry.name}-{colours}"
            wanted[order.season, f"{name}/{size}-{paper}-{language}"] = None
    return sorted({design for season, design in wanted if design not in _passed(season)})


def _edition(season: Season) -> tuple[str, str, str]:
    return season.sizes[0], season.papers[0], season.language[0]


def _passed(season: Path) -> set[str]:
    """The sets of a season that are passed for some period."""
    return {
        name.partition("/")[2]
        for name, record in read_pass_file(pass_file(season)).sets.items()
        if record.pages
        and record.sent_back is None
        and all(page.passed and not page.sent_back for page in record.pages.values())
    }


# Making it


@dataclass(frozen=True)
class OrderJob:
    """All that an order is made from. ``file_mb`` and ``zip_mb`` are limits, 10^6 bytes."""

    name: str
    sets: tuple[SetJob, ...]
    packings: tuple[Packing, ...]
    file_mb: float
    zip_mb: float
    cache: Path
    at: str


class _Jobs(Sequence[OrderJob]):
    """The jobs of orders, each planned where and when it is wanted: a thousand plans are large."""

    def __init__(self, orders: Sequence[BuyerOrder], cache: Path, at: str) -> None:
        self._orders, self._cache, self._at = orders, cache, at

    def __len__(self) -> int:
        return len(self._orders)

    @overload
    def __getitem__(self, at: int) -> OrderJob: ...

    @overload
    def __getitem__(self, at: slice) -> _Jobs: ...

    def __getitem__(self, at: int | slice) -> OrderJob | _Jobs:
        if isinstance(at, slice):
            return _Jobs(self._orders[at], self._cache, self._at)
        order = self._orders[at]
        plan, jobs = _planned(order, Cache(self._cache))
        season, folder = plan.season, plan.collection.folder
        packings = [
            Packing(
                job.plan,
                plan.papers[0],
                job.printer.flip,
                job.faces,
                folder,
                licence(plan.collection, job.plan.language),
                season.editions,
                self._cache,
            )
            for job in jobs
        ]
        mbs = season.limits.file_mb, season.publish.zip_mb
        return OrderJob(order.name, tuple(jobs), tuple(packings), *mbs, self._cache, self._at)


def _made(job: OrderJob) -> Mapping[str, bytes] | UserError:
    """The files of an order within its folder, or what keeps it from being made."""
    files: dict[str, bytes] = {}
    given: dict[str, bytes] = {}
    try:
        for one, packing in zip(job.sets, job.packings, strict=True):
            for folder, built in run(one, job.cache).items():
                contents = CONTENTS_MODEL.validate_json(built[CONTENTS])
                own = {file.name: built[file.name] for file in contents.files}
                bundle = printed_files(packing, contents, own)
                within = f"{one.plan.name}/" if len(job.sets) > 1 else ""
                given |= {f"{within}{name}": bundle[name] for name in sorted_for_use(bundle)}
                place = folder.relative_to(one.season).as_posix()
                files |= {f"{SHEETS}/{place}/{name}": data for name, data in built.items()}
        data = zipped(job.name, given, job.at)
        sizes = {name: len(one) for name, one in given.items()}
        check_sizes(job.name, sizes, len(data), job.file_mb, job.zip_mb)
    except UserError as problem:
        return problem
    given = {f"{BUYER}/{name}": one for name, one in given.items()}
    return {**files, **given, f"{job.name}{ENDING}": data}


def _put(files: Mapping[str, bytes], target: Path, digest: str, season: str) -> None:
    """Writes an order's files, which appear whole or not at all."""
    tables = [data for name, data in files.items() if name.endswith(f"/{CONTENTS}")]
    left_out = sum(len(CONTENTS_MODEL.validate_json(one).left_out) for one in tables)
    sizes = {name: len(one) for name, one in files.items() if not name.startswith(f"{SHEETS}/")}
    with writing(target):
        target.parent.mkdir(mode=0o700, exist_ok=True)
    with whole_folder(target) as new:
        mark = _MARK.dump_json(_Mark(digest, sizes, left_out, season))
        write_files(new, {**files, MADE_FROM: mark})


def _mark(folder: Path) -> _Mark | None:
    """What an order in a folder was made from; None where not all of it is there."""
    try:
        mark = _MARK.validate_json((folder / MADE_FROM).read_bytes())
        whole = all((folder / name).stat().st_size == size for name, size in mark.files.items())
    except (OSError, ValidationError):
        return None
    return mark if whole else None


# Checking it


def _judged(order: BuyerOrder, folder: Path) -> list[SetFinding] | UserError:
    """What must be mended in an order that is made."""
    try:
        plan, sheets = _plan(order), folder / order.name / SHEETS
        places = [sheets / set_name(one, plan.papers[0]) for one in plan.sets]
        found = itertools.chain.from_iterable(findings_of(place, plan) for place in places)
        return [one for one in found if one.severity is Severity.MUST]
    except UserError as problem:
        return problem


def _settled(name: str, found: list[SetFinding] | UserError, folder: Path) -> OrderResult:
    """What becomes of an order after its check: it is finished, or it waits."""
    waiting, finished = folder / WAITING / name, folder / FINISHED / name
    if found:
        if isinstance(found, UserError):
            why, data = "it could not be read back", [{"message": str(found)}]
        else:
            rules = ", ".join(dict.fromkeys(one.rule for one in found))
            why, data = f"must be mended: {rules}", [one.as_data() for one in found]
        said = json.dumps(data, ensure_ascii=False, indent=1).encode()
        write_whole(waiting / FINDINGS, said, private=True)
        before = "; what is finished is from before" if finished.exists() else ""
        return OrderResult(name, OrderState.WAITING, f"{why} (see {waiting / FINDINGS}){before}")
    mark = _mark(waiting)
    with writing(finished):
        finished.parent.mkdir(mode=0o700, exist_ok=True)
        (waiting / FINDINGS).unlink(missing_ok=True)
        shutil.rmtree(waiting / SHEETS)
        put_folder(waiting, finished)
    return OrderResult(name, OrderState.MADE, left_out=mark.left_out if mark else 0)


# What is there


@dataclass(frozen=True)
class KeptOrder:
    """An order that was made and is in its ``folder``.

    ``found`` is what must be mended of one that ``waits``, as ``SetFinding.as_data`` has it;
    ``before`` says that what was made of it earlier is finished.
    """

    name: str
    folder: Path
    waits: bool = False
    before: bool = False
    found: Sequence[Mapping[str, Any]] = ()

    @property
    def sheets(self) -> dict[str, Path]:
        """The folders of its sets as a build makes them, by their names, while it waits."""
        whole = self.folder / SHEETS
        return {
            one.parent.relative_to(whole).as_posix(): one.parent
            for one in sorted(whole.rglob(CONTENTS))
        }


def kept_orders(season: str, out: Path) -> list[KeptOrder]:
    """The orders of a season, by its name, that were made: those that wait come first."""
    kept: dict[str, KeptOrder] = {}
    for kind in (WAITING, FINISHED):
        folder = out / ORDERS / kind
        for place in sorted(folder.iterdir()) if folder.is_dir() else ():
            try:
                safe_name(place.name)
                mark = _MARK.validate_json((place / MADE_FROM).read_bytes())
            except (OSError, ValueError):
                continue  # it is just being written, or isn't ours
            if mark.season != season:
                continue
            if place.name in kept:
                kept[place.name] = replace(kept[place.name], before=True)
            else:
                waits = kind == WAITING
                found = _found(place / FINDINGS) if waits else ()
                kept[place.name] = KeptOrder(place.name, place, waits, found=found)
    return list(kept.values())


def _found(file: Path) -> Sequence[Mapping[str, Any]]:
    """What must be mended of an order; nothing before it is checked."""
    try:
        found: list[dict[str, Any]] = json.loads(file.read_bytes())
    except (OSError, ValueError):
        return ()
    return found


# The form, and forgetting


def form_for(season: Path, file: Path, out: Path) -> None:
    """Writes an order form for a season, with the columns that its pages show of a buyer's own."""
    read = season_at(season)
    one = {"sizes": read.sizes[:1], "papers": read.papers[:1], "language": read.language[:1]}
    plan = planned(read.model_copy(update=one), season)
    faces, cache = faces_of(plan), Cache(out / CACHE)
    jobs = [job_of(plan, each, faces) for each in plan.sets]
    shown = {
        key
        for job in jobs
        for _, rooms in rooms_of_set(job.plan, job.templates, cache)
        for key, _ in rooms
    }
    keys = [key for key in BUYER_KEYS if key in shown]
    days = read.almanac is not None and any(key.endswith("-note") for key in shown)
    write_form(season, file, keys, days=days)


def forget_order(name: str, out: Path) -> list[Path]:
    """Takes away all that there is of an order; returns the folders. Raises UserError for none."""
    try:
        safe_name(name)
    except ValueError as problem:
        raise UserError(f"--forget {name}", *problem.args) from None
    folder = out / ORDERS
    with writing(folder):
        if folder.is_dir():
            with locked(folder):
                clear_leftovers(folder)
                places = [folder / kind / name for kind in (FINISHED, WAITING)]
                gone = [place for place in places if place.is_dir() and not place.is_symlink()]
                for place in gone:
                    shutil.rmtree(place)
                if gone:
                    return gone
    raise UserError(f"--forget {name}", f"there is no such order in {folder}", "check its number")
