"""A season's built and passed sets to bundles, shop pictures and the page to upload from."""

from __future__ import annotations

import shutil
from collections import Counter
from collections.abc import Collection, Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from itertools import groupby
from pathlib import Path

from pipeline.app.build import Step, is_made, jobs_of, season_title
from pipeline.app.buildrecord import RELEASE
from pipeline.app.jobs import SetJob, is_called, set_name
from pipeline.base.cache import CACHE
from pipeline.base.errors import UserError, did_you_mean
from pipeline.base.folders import clear_leftovers, write_whole, writing
from pipeline.base.workers import in_order
from pipeline.impose.contents import read_contents
from pipeline.plan import SeasonPlan, plan_season
from pipeline.plan.languages import title_in
from pipeline.plan.model import SetPlan
from pipeline.proof.approval.fingerprints import PASSED_PICTURES
from pipeline.proof.approval.passed import pass_file, read_pass_file
from pipeline.publish.bundle import (
    BUYER,
    BundleJob,
    BundleResult,
    BundleState,
    as_built,
    bundles_in,
    licence,
    printed_files,
    publish,
    without_terms,
)
from pipeline.publish.directions import artwork_of
from pipeline.publish.pictures.shoppictures import (
    SHOP,
    ShopEntry,
    ShopJob,
    begins_with,
    product_name,
    read_props,
    read_watermark,
    write_entry,
)
from pipeline.publish.releasepage import ASIDE, PAGE, SUMS, checksums, page_files, release_page
from pipeline.publish.releases import ReleaseFile, read_releases, release_file, write_releases
from pipeline.publish.zips import DIRECTIONS, LICENCE, buyers_names, digest, own_names

NOTES = ".prints"


@dataclass(frozen=True)
class Published:
    """What became of every set, and the page to upload from; ``advice`` is for the maker.

    ``without_pictures`` are those whose pictures failed, with the reason.
    """

    results: tuple[BundleResult, ...]
    without_pictures: tuple[tuple[str, str], ...]
    advice: tuple[str, ...]
    page: Path


def publish_season(
    path: Path,
    out: Path,
    *,
    at: str,
    only: Sequence[str] | None = None,
    dry_run: bool = False,
    pictures: bool = True,
    step: Step = lambda done, whole, what: None,
) -> Published:
    """Publishes every built set of a season that is passed for press, as it is now.

    With ``only`` it is the sets that have such a name, or all parts of it in their order:
    "running", "march/running", "march/running/a5-a4-en-GB".

    ``at`` is the time for the record (ISO 8601). Sets that are not passed, not built or too big
    are reported and left out; what went out of them before stays. With ``dry_run`` nothing is
    written. Raises ``UserError`` for what is wrong with the season as a whole, and for a name
    that no set has.
    """
    plan = plan_season(path)
    folder = out / plan.season.name / RELEASE
    clear_leftovers(out)
    clear_leftovers(path.parent, below=False)
    record = release_file(path)
    releases = read_releases(record)
    pairs = list(_jobs(plan, path, out, releases, at, dry_run))
    jobs = [job for job, _ in pairs]
    chosen = _chosen(path, jobs, only)
    asked = []
    results: dict[str, BundleResult] = {}
    for job, made_by in pairs:
        if job.key not in chosen:
            continue
        if is_made(made_by, job.paper, out):
            asked.append(job)
        else:
            why = "not built as the season is now" if job.built.is_dir() else "not built yet"
            why += "; wait until the desk has built it, or run 'leafset build'"
            results[job.key] = BundleResult(job.key, BundleState.NOT_PASSED, why=why)
    _no_two_alike(jobs)
    _no_same_listings(jobs)
    for number, result in enumerate(in_order(publish, asked), 1):
        step(number, len(asked), f"sets packed: {result.name or result.key}")
        results[result.key] = result
        if result.release is not None and not dry_run:
            changed = releases.having(result.key, result.release)
            if changed != releases:
                write_releases(record, changed)
                releases = changed
    step(len(asked), len(asked), "sets packed")
    ordered = tuple(results[job.key] for job in jobs if job.key in chosen)
    shop: list[ShopEntry] = []
    if not dry_run:
        if pictures:
            ready = {job.key for job in asked}
            told = [
                job for job in jobs if job.key in ready or (job.key not in chosen and _is_out(job))
            ]
            shop_jobs = list(_shop_jobs(plan, told, results, folder))
            shown = "listings have their pictures (buyers' files are ready)"
            step(0, len(shop_jobs), shown)
            for number, entry in enumerate(in_order(write_entry, shop_jobs), 1):
                step(number, len(shop_jobs), f"{shown}: {entry.name}")
                shop.append(entry)
        _remove_old(
            folder, ordered, releases, {_product(job.plan) for job in jobs}, whole=only is None
        )
        if folder.is_dir():
            title = season_title(plan.season)
            if plan.collection.title not in title:
                title = f"{plan.collection.title} · {title}"
            languages, sets = plan.season.language, [one.name for one in plan.season.set]
            limits = plan.season.publish
            page = release_page(title, folder, ordered, languages, sets, limits)
            files = {**page_files(), SUMS: checksums(folder), PAGE: page}
            (folder / ASIDE).mkdir(exist_ok=True)
            for name, data in files.items():
                write_whole(folder / name, data)
    without_pictures = tuple((one.name, one.why) for one in shop if one.why)
    return Published(ordered, without_pictures, tuple(_advice(plan)), folder / PAGE)


def _jobs(
    plan: SeasonPlan, path: Path, out: Path, releases: ReleaseFile, at: str, dry_run: bool
) -> Iterator[tuple[BundleJob, SetJob]]:
    """A job for every set on every paper, and the job that builds it."""
    season, collection, passes = plan.season, plan.collection, read_pass_file(pass_file(path))
    artwork_of(collection.folder).check()
    terms = {language: licence(collection, language) for language in season.language}
    for job in jobs_of(plan):
        one, period = job.plan, job.plan.period
        for paper in job.papers:
            bundle = BundleJob(
                key=job.name(paper),
                built=out / job.folder(paper),
                target=out / season.name / RELEASE,
                plan=one,
                paper=paper,
                flip=job.printer.flip,
                faces=job.faces,
                collection=collection.folder,
                fields={
                    "title": one.title,
                    "period": period.title if period.first else "",
                    "size": one.binder.name,
                    "paper": paper.name,
                    "language": one.language,
                    "set": one.name,
                    "season": season.name,
                    "collection": collection.name,
                },
                short={"title": one.name, "period": period.name},
                pattern=season.publish.name,
                licence=terms[one.language],
                file_mb=season.limits.file_mb,
                zip_mb=season.publish.zip_mb,
                name_letters=season.publish.name_letters,
                record=passes.of(job.name(paper)),
                season=plan,
                releases=releases.of(job.name(paper)),
                kept=out / PASSED_PICTURES,
                notes=None if dry_run else out / NOTES,
                cache=None if dry_run else out / CACHE,
                at=at,
                dry_run=dry_run,
            )
            yield bundle, job


def _chosen(path: Path, jobs: Sequence[BundleJob], only: Sequence[str] | None) -> Collection[str]:
    """The keys of the sets that go by one of the names, those in other colours by their entry's
    too; all with None. Raises ``UserError`` for a name that none has."""
    if only is None:
        return {job.key for job in jobs}
    chosen = set[str]()
    for wanted in only:
        found = {job.key for job in jobs if any(is_called(wanted, one) for one in _names(job))}
        if not found:
            known = sorted({part for job in jobs for part in job.key.split("/")[:2]})
            raise UserError(f"set '{wanted}'", f"is not in {path}", did_you_mean(wanted, known))
        chosen |= found
    return chosen


def _names(job: BundleJob) -> tuple[str, str]:
    one = job.plan
    return job.key, job.key.replace(f"/{one.name}/", f"/{one.entry}/", 1)


def directions_for(path: Path, out: Path, language: str) -> bytes:
    """The directions that buyers of a season get in a language, with the first set that is built.

    Nothing is published. Raises ``UserError`` when no set in it is built and as ``publish_season``.
    """
    plan = plan_season(path, language=language)
    releases = read_releases(release_file(path))
    for job, _ in _jobs(plan, path, out, releases, "", True):
        if job.built.is_dir():
            contents = read_contents(job.built)
            kept = replace(job, cache=out / CACHE)
            files = printed_files(kept.packing, contents, as_built(job, contents))
            return files[buyers_names(language, feed_test=True)[DIRECTIONS]]
    raise UserError(str(path), f"no set in {language} is built yet", "build one")


def _no_two_alike(jobs: Sequence[BundleJob]) -> None:
    """Raises ``UserError`` when two sets would go by the same name."""
    seen: dict[str, BundleJob] = {}
    for job in jobs:
        other = seen.setdefault(job.name(1), job)
        if other is not job:
            differ = [field for field in job.fields if job.fields[field] != other.fields[field]]
            raise UserError(
                "publish, name",
                f"{other.key} and {job.key} would both be called '{job.name(1)}'",
                f"add {' or '.join(f'{{{field}}}' for field in differ)} to the pattern",
            )


def _no_same_listings(jobs: Sequence[BundleJob]) -> None:
    """Raises ``UserError`` when two sets would have one folder for the shop, or one title there."""
    folders: dict[str, SetPlan] = {}
    titles: dict[tuple[str, ...], SetPlan] = {}
    for one in (job.plan for job in jobs):
        sold = one.title, one.period.title, one.binder.name, one.language
        for there, what, remedy in (
            (folders.setdefault(_product(one), one), _product(one), "give one another name"),
            (titles.setdefault(sold, one), one.title, "give one another title"),
        ):
            if (there.period.name, there.name) != (one.period.name, one.name):
                both = f"{there.period.name}/{there.name} and {one.period.name}/{one.name}"
                raise UserError("set", f"{both} would both be listed as '{what}'", remedy)


def _shop_jobs(
    plan: SeasonPlan,
    jobs: Sequence[BundleJob],
    results: Mapping[str, BundleResult],
    folder: Path,
) -> Iterator[ShopJob]:
    """Pictures and listing of everything that went out; a listing tells of what was out before in
    other editions, too."""
    marked, collection = plan.season.pictures.watermark, plan.collection.folder
    for product, group in groupby(jobs, key=lambda job: _product(job.plan)):
        editions = list(group)
        same = [job for job in editions if job.key in results and results[job.key].out]
        if not same:
            continue
        same += [job for job in editions if job.key not in results]
        bundle = folder / results[same[0].key].name / BUYER
        own = own_names(same[0].plan.language)
        yield ShopJob(
            name=product,
            target=folder / SHOP / product,
            editions=tuple(job.built for job in same),
            siblings=_siblings(same[0].plan, jobs),
            included=tuple(sorted(own[file.name] for file in bundle.iterdir())),
            asked=plan.season.pictures,
            limits=plan.season.publish,
            lead=_lead(plan, same[0].plan),
            theme=_theme(plan, same[0].plan),
            turn=_turn(plan, same[0].plan),
            arrangement=_arrangement(plan, same[0].plan),
            called=plan.collection.template_names(same[0].plan.language),
            written=_written(plan, same[0].plan),
            drawn=plan.collection.drawn_by_hand(),
            props=read_props(collection, same[0].plan.colours),
            watermark=read_watermark(collection, same[0].plan.colours) if marked else None,
            close_up_of=(*plan.season.pictures.close_up, *telling_pages(plan, same[0].plan)),
            faces=same[0].faces,
        )


def _is_out(job: BundleJob) -> bool:
    """Whether a version of a set went out and is still there."""
    return any((job.target / one.name).is_dir() for one in job.releases) and job.built.is_dir()


def _written(plan: SeasonPlan, one: SetPlan) -> Mapping[str, Sequence[Sequence[str]]]:
    """What is written by hand on the pages of a set in its pictures."""
    return plan.collection.written(one.language, one.period.name)


def _lead(plan: SeasonPlan, one: SetPlan) -> str:
    """The first sentence of a set's listing in its language, if the season has one."""
    leads = {entry.name: entry.lead for entry in plan.season.set}
    return title_in(leads.get(one.entry) or "", one.language) or ""


def _theme(plan: SeasonPlan, one: SetPlan) -> str:
    """What the collection is called in a set's language: by its label ``title``, if it has one."""
    labels = plan.collection.labels(one.language)
    return labels.get("title", (plan.collection.title,))[0]


def _turn(plan: SeasonPlan, one: SetPlan) -> int:
    """Which ground a set's pictures have: another in each of the season's periods."""
    periods = _periods(plan)
    period = one.period.name
    return periods.index(period) if period in periods else len(periods)


def _arrangement(plan: SeasonPlan, one: SetPlan) -> int:
    """How pages and things lie in a set's pictures: unlike the period's other sets, and unlike the
    same set in the period before."""
    return [entry.name for entry in plan.season.set].index(one.entry) + _turn(plan, one)


def _periods(plan: SeasonPlan) -> list[str]:
    return [step.name for entry in plan.season.period for step in entry.stepped]


def telling_pages(plan: SeasonPlan, one: SetPlan) -> list[str]:
    """The templates of a set, those first that tell it from the season's other sets.

    Those that somebody wrote on go before others, then those that its title names, then those
    that the fewest sets have; opening and closing pages come last.
    """
    entries, title = plan.season.set, one.title.casefold()
    written = _written(plan, one)
    having = Counter(name for entry in entries for name in entry.templates)
    ends = {name for entry in entries for name in (entry.opening, entry.closing)}
    called = plan.collection.template_names(one.language)

    def rank(name: str) -> tuple[bool, bool, bool, int]:
        words = called.get(name, name.replace("-", " ")).casefold()
        return name in ends, name not in written, words not in title, having[name]

    drawn = dict.fromkeys(page.template for page in one.pages)
    return sorted((name for name in drawn if name in having), key=rank)


def _product(one: SetPlan) -> str:
    """The name of what a set is sold as, whatever paper it is printed on."""
    return product_name(one.period.name, one.name, one.binder.name, one.language)


def _siblings(mine: SetPlan, jobs: Sequence[BundleJob]) -> tuple[Path, ...]:
    """The folders of the same set in the season's other sizes, one for each."""
    found: dict[str, Path] = {}
    for job in jobs:
        one = job.plan
        same = (one.name, one.period, one.language) == (mine.name, mine.period, mine.language)
        if same and one.binder.name != mine.binder.name:
            found.setdefault(one.binder.name, job.built)
    return tuple(found[name] for name in sorted(found))


def _remove_old(
    folder: Path,
    results: Sequence[BundleResult],
    releases: ReleaseFile,
    products: Collection[str],
    *,
    whole: bool,
) -> None:
    """Takes away earlier versions, and, after the ``whole`` season, sets it no longer has.

    What went out of a set that is not passed now stays: it was passed as it is.
    """
    lasts = {one.key: releases.last(one.key) for one in results}
    current = {key: last.name for key, last in lasts.items() if last}
    old = [
        bundle
        for bundle, key in bundles_in(folder).items()
        if (key not in lasts and whole) or (key in current and current[key] != bundle.name)
    ]
    shop = (folder / SHOP).glob("*") if whole else ()
    for gone in (*old, *(path for path in shop if path.name not in products)):
        with writing(gone):
            shutil.rmtree(gone)


def is_said_otherwise(plan: SeasonPlan, path: Path, out: Path) -> bool:
    """Whether something that is out has other words of the maker's than the season has now: terms
    for buyers, or the sentence that its listing begins with. Raises ``UserError`` for terms that
    are lacking or cannot be read."""
    releases, shop = read_releases(release_file(path)), out / plan.season.name / RELEASE / SHOP
    terms = {
        language: digest(licence(plan.collection, language)) for language in plan.season.language
    }
    for one in plan.sets:
        lasts = [releases.last(set_name(one, paper)) for paper in plan.papers]
        if any(last and last.files.get(LICENCE) != terms[one.language] for last in lasts):
            return True
        if any(lasts) and not begins_with(shop / _product(one), _lead(plan, one)):
            return True
    return False


def _advice(plan: SeasonPlan) -> Iterator[str]:
    """What the maker should know about files that are for one printer only."""
    printer = plan.printer
    if any(printer.back_shift_mm) or printer.reverse_side_2:
        yield "[printer] fits these files to one printer; leave it out for buyers with any other"
    if english := without_terms(plan.collection, plan.season.language):
        yield f"no terms in {', '.join(english)}: buyers get the English ones"
    for language in plan.season.language:
        yield from plan.collection.written_on_none(language)
