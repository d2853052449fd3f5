"""A season's finished sets checked: what is found, as rows for people and as data for programs.

A set that is not there, cannot be read or is out of date is a finding too: it keeps nobody from
hearing about the others.
"""

from __future__ import annotations

import itertools
import re
from collections import Counter
from collections.abc import Callable, Generator, Iterator, Mapping, Sequence
from concurrent.futures.process import BrokenProcessPool
from contextlib import closing
from dataclasses import dataclass, field, replace
from functools import partial
from pathlib import Path
from typing import Any, TypeVar

from pipeline.app.build import Step, faces_of, job_of, set_folders
from pipeline.app.jobs import COLLECTION, FONTS, LABELS, PROGRAM, SEASON, SIZES, SetJob, set_name
from pipeline.base.cache import NO_CACHE, Cache
from pipeline.base.errors import UserError
from pipeline.base.findings import Severity
from pipeline.base.geometry import Rect
from pipeline.base.workers import Worker, in_order
from pipeline.impose.contents import CONTENTS, Contents, read_contents
from pipeline.plan import SeasonPlan, plan_season
from pipeline.plan.collection import Collection
from pipeline.plan.model import Paper, Side, edition_name
from pipeline.plan.season import load_season
from pipeline.proof.findings import SetFinding, findings_of
from pipeline.proof.findings.wholeseason import season_findings

_Made = TypeVar("_Made")


def check_season(
    path: Path,
    out: Path,
    *,
    only: str | None = None,
    cache: Path | None = None,
    step: Step = lambda done, whole, what: None,
) -> list[SetFinding]:
    """Everything found in a season and its sets that are built under ``out``, set by set.

    Sets are checked side by side on all cores; with ``only`` those of one name. What ``cache``
    keeps of sets that are as they were is not looked for again. Raises UserError when the season
    cannot be read, or nothing of it is built.
    """
    season, sets = standings(path, out, only)
    found = [] if only else list(season_findings(season, path))
    find = partial(found_in, season=season, cache=Cache(cache))
    with closing(each_found(find, sets)) as results:  # ends its processes, whatever happens
        for number, one in enumerate(sets):
            step(number, len(sets), str(one.folder.relative_to(out)))
            found += next(results)
    step(len(sets), len(sets), "done")
    return found if only else found + list(_unasked(out / season.season.name, sets))


def prove_season(
    path: Path, out: Path, *, only: str | None = None, step: Step = lambda done, whole, what: None
) -> tuple[list[Path], list[SetFinding]]:
    """Makes the proof pictures of every set that is built, as it is built.

    Gives the folders they are in, and what keeps other sets from having any. Raises as
    ``check_season`` does.
    """
    _, sets = standings(path, out, only)
    proofs: list[Path] = []
    without = [one.finding for one in sets if one.finding and not one.can_be_shown]
    shown = [one for one in sets if one.can_be_shown]
    for number, (one, made) in enumerate(zip(shown, of_each_set(_proved, shown), strict=True)):
        step(number, len(shown), str(one.folder.relative_to(out)))
        if isinstance(made, Path):
            proofs.append(made)
        else:
            without.append(made)
    step(len(shown), len(shown), "done")
    return proofs, without


def _proved(one: Standing) -> Path | SetFinding:
    """The folder of a set's proof pictures, or why it has none."""
    from pipeline.proof.pictures.proofs import write_proofs

    try:
        return write_proofs(one.folder)[0].parent
    except Exception as problem:
        return unreadable(one, problem)


# What is there, and whether it is what a build now would make


@dataclass(frozen=True)
class Standing:
    """A set the season asks for on one paper, and where it is to be.

    ``finding`` is what is wrong with it before any page is looked at. Only where it is ``fresh``
    are its pages those that the season plans now, so that they can be held against it.
    """

    name: str
    folder: Path
    finding: SetFinding | None = None
    fresh: bool = True

    @property
    def can_be_shown(self) -> bool:
        """Whether there is a set to be shown, though it may be out of date."""
        return self.finding is None or self.finding.rule in ("set-stale", "set-unplanned")

    def at_fault(
        self, rule: str, message: str, remedy: str = "", *, fresh: bool = False
    ) -> Standing:
        """The same with a finding."""
        return replace(
            self, finding=SetFinding(rule, message, self.name, remedy=remedy), fresh=fresh
        )


def standings(path: Path, out: Path, only: str | None = None) -> tuple[SeasonPlan, list[Standing]]:
    """The plan of a season, and every set it asks for, in its own order.

    A set that cannot be planned keeps back no other. Raises UserError when the season cannot be
    read, no set of it can be planned, or nothing of it is built.
    """
    season, faults = _planned(path, only)
    faces = faces_of(season)
    folder = out / season.season.name
    found: list[Standing] = []
    for one in season.sets:
        names = [(paper, set_name(one, paper)) for paper in season.papers]
        try:
            job = job_of(season, one, faces)
        except UserError as problem:
            found += [_unplanned(Standing(name, folder / name), problem) for _, name in names]
            continue
        for paper, name in names:
            found.append(_standing(Standing(name, folder / name), job, paper, season, path))
    unplanned: dict[str, UserError] = {}
    for (entry, language), fault in faults.items():
        built = [one for one in set_folders(folder) if one.parts[-2] == entry]
        own = [one for one in built if one.name.endswith(f"-{language}")]
        for name in ["/".join(one.parts[-3:]) for one in own] or [entry]:
            unplanned.setdefault(name, fault)
    found += [_unplanned(Standing(name, folder / name), one) for name, one in unplanned.items()]
    if all(one.finding and one.finding.rule == "set-missing" for one in found):
        raise UserError(str(folder), "this season is not built yet", "run 'leafset build' first")
    return season, found


_Faults = Mapping[tuple[str, str], UserError]
"""What keeps a set of a name from being planned in a language."""


def _planned(path: Path, only: str | None) -> tuple[SeasonPlan, _Faults]:
    """The plan of all sets that can be planned, and for the others what is in the way."""
    try:
        return plan_season(path, only), {}
    except UserError:
        plans: list[SeasonPlan] = []
        faults: dict[tuple[str, str], UserError] = {}
        season = load_season(path)
        names = [entry.name for entry in season.set if only in (None, entry.name)]
        for name, language in itertools.product(names, season.language):
            try:
                plans.append(plan_season(path, name, language))
            except UserError as fault:
                faults[name, language] = fault
        if not plans or not faults:
            raise
        return replace(plans[0], sets=tuple(one for plan in plans for one in plan.sets)), faults


def _standing(one: Standing, job: SetJob, paper: Paper, season: SeasonPlan, path: Path) -> Standing:
    """How a set stands that a job would make for a paper."""
    try:
        if not one.folder.exists():
            return one.at_fault("set-missing", "it is not in the build folder")
        if not one.folder.is_dir():
            return one.at_fault("set-unreadable", "a file is where its folder should be")
        if not (one.folder / CONTENTS).exists():
            return one.at_fault("set-unreadable", f"there is no {CONTENTS} in its folder")
        contents = read_contents(one.folder)
    except (UserError, OSError, ValueError) as problem:
        return replace(one, finding=unreadable(one, problem), fresh=False)
    if (held := _name_in(contents)) != one.name:
        return one.at_fault("set-astray", f"it holds {held}")
    if contents.built_from == job.built_from(paper):
        return one
    before, now = contents.made_of, job.made_of(paper)
    changed = _changed(before, now)
    # Findings are what is wrong with the pages, whichever program and fonts they were set with.
    fresh = all(name == PROGRAM or name.startswith(FONTS) for name in changed)
    message = _since(changed, season.collection, contents.language, path)
    return one.at_fault("set-stale", message, fresh=bool(before and changed) and fresh)


def _name_in(contents: Contents) -> str:
    """The name of the set that a table of contents is of, as ``set_name`` gives it."""
    period, one, binder = contents.period.name, contents.set.name, contents.binder.name
    return edition_name(period, one, binder, contents.paper.name, contents.language)


def _changed(before: Mapping[str, str], now: Mapping[str, str]) -> list[str]:
    """What a set is made of that isn't as it was. Earlier programs didn't note what it was.

    >>> _changed({"leafset": "1", "a5/old.svg": "2"}, {"leafset": "1", "fonts/Bean.ttf": "3"})
    ['fonts/Bean.ttf']
    """
    if not before:
        return [PROGRAM]
    names = [name for name in {**now, **before} if before.get(name) != now.get(name)]
    # A template that is there only before or now: the season asks for others.
    return [
        one
        for one in names
        if one.startswith(FONTS) or not one.endswith(".svg") or (one in before and one in now)
    ]


def _since(changed: Sequence[str], collection: Collection, language: str, season: Path) -> str:
    """What a set was built before.

    >>> kitchen = Collection("kitchen", "Kitchen", Path("kitchen"), {}, {})
    >>> _since(["sizes", "a5/week.svg", "fonts/Bean.ttf"], kitchen, "de", Path("spring.toml"))
    'built before a change in sizes.toml, a5/week.svg and fonts/Bean.ttf'
    >>> _since(["leafset", "a5/week.svg"], kitchen, "de", Path("spring.toml"))
    'built by another version of leafset or its fonts, and before a change in a5/week.svg'
    """
    labels = [f"labels/{file.name}" for file in collection.label_files(language)]
    files = {
        SEASON: season.name,
        LABELS: " or ".join(labels) or "the labels",
        SIZES: "sizes.toml",
        COLLECTION: "collection.toml",
    }
    if PROGRAM in changed:  # Another program may plan the very same in other words.
        changed = [name for name in changed if name not in (SEASON, SIZES, COLLECTION)]
    named = [files.get(name, name) for name in changed if name != PROGRAM]
    if len(named) > _MOST_NAMED:
        named[_MOST_NAMED:] = [f"{len(named) - _MOST_NAMED} more"]
    *first, last = named or ["what it is made of"]
    before = f"before a change in {', '.join(first) + ' and ' if first else ''}{last}"
    if PROGRAM not in changed:
        return f"built {before}"
    other = "built by another version of leafset or its fonts"
    return f"{other}, and {before}" if named else other


_MOST_NAMED = 4


def _unasked(season: Path, sets: Sequence[Standing]) -> Iterator[SetFinding]:
    """Sets in a season's build folder that it doesn't ask for: an earlier build made them."""
    asked = {one.folder for one in sets}
    for folder in set_folders(season):
        if folder not in asked:
            name = "/".join(folder.parts[-3:])
            yield SetFinding("set-unasked", "an earlier build made it", name)


def _unplanned(one: Standing, problem: UserError) -> Standing:
    return one.at_fault("set-unplanned", f"{problem.place}: {problem.what}", problem.remedy)


def unreadable(one: Standing, problem: Exception) -> SetFinding:
    """The finding that a set could not be read, for what went wrong in reading it."""
    if isinstance(problem, UserError):
        message, remedy = f"{problem.place}: {problem.what}", problem.remedy
    elif isinstance(problem, OSError):
        file, why = problem.filename or one.folder, problem.strerror or problem
        message, remedy = f"{file} cannot be read ({why})", ""
    else:
        message, remedy = f"reading it broke off ({problem!r})", ""
    message = message.replace(f"{one.folder}/", "")
    return SetFinding("set-unreadable", message, one.name, remedy=remedy)


# What is found in it


def found_in(one: Standing, season: SeasonPlan, cache: Cache = NO_CACHE) -> list[SetFinding]:
    """Everything found in a set; what keeps it from being read is a finding as well."""
    found = [one.finding] if one.finding else []
    if one.fresh:
        try:
            found += findings_of(one.folder, season, cache)
        except Exception as problem:
            found.append(unreadable(one, problem))
    return found


def each_found(
    find: Callable[[Standing], list[SetFinding]], sets: Sequence[Standing]
) -> Generator[list[SetFinding]]:
    """What is found in each set. A file that brings the reader down takes no other set along."""
    for found in of_each_set(find, sets):
        yield [found] if isinstance(found, SetFinding) else found


def of_each_set(
    do: Callable[[Standing], _Made], sets: Sequence[Standing]
) -> Generator[_Made | SetFinding]:
    """What is made of each set, or the finding that its files bring the reader down."""
    done = 0
    try:
        with closing(in_order(do, sets)) as results:
            for made in results:
                yield made
                done += 1
    except BrokenProcessPool:
        worker = Worker()
        for one in sets[done:]:
            made_again: _Made | SetFinding
            try:
                made_again = worker.start(do, one).result()
            except BrokenProcessPool:
                worker.close()
                made_again = unreadable(one, RuntimeError("the reader of its files broke down"))
            yield made_again
        worker.close()


# What is found, as rows and as data


_NEAR_MM = 1.5
"""Places on two pages of a template so near to each other are one place on it: a figure of another
day, or a word in another language, is a little wider or narrower."""


@dataclass
class Folded:
    """Findings that one thing in a template, or in all sets, makes: the first, and all of them."""

    first: SetFinding
    all: list[SetFinding] = field(default_factory=list)

    def holds(self, other: SetFinding) -> bool:
        """Whether another finding is of the same thing."""
        one = self.first
        if (one.rule, one.template, one.face) != (other.rule, other.template, other.face):
            return False
        if not one.template:
            return (one.message, one.sheet, one.side, one.leaf) == (
                other.message, other.sheet, other.side, other.leaf
            )  # fmt: skip
        if one.place is None or other.place is None:
            # Another day's figures are of the same thing.
            return re.sub(r"\d+", "", one.message) == re.sub(r"\d+", "", other.message)
        return _near(one.place, other.place)

    @property
    def where(self) -> str:
        """Where findings are, as a person looks for the first: leaves count from 1.

        >>> Folded(SetFinding("hairline", "", "march/running/a5-a4-de", 2, 1, 1, Side.RECTO,
        ...                   template="a5/week.svg")).where
        'a5/week.svg: sheet 2 side 1, leaf 2 front'
        """
        one = self.first
        parts = []
        if one.sheet is not None:
            parts.append(f"sheet {one.sheet}" + (f" side {one.side}" if one.side else ""))
        if one.leaf is not None:
            faces = {Side.RECTO: " front", Side.VERSO: " back", None: ""}
            parts.append(f"leaf {one.leaf + 1}{faces[one.face]}")
        own = [other for other in self.all if other.set == one.set]
        pages = {(other.leaf, other.face) for other in own}.union(*(other.also for other in own))
        more = len(pages) - 1
        if more > 0:
            parts.append(f"and {more} more {'page' if more == 1 else 'pages'}")
        return (f"{one.template}: " if one.template else "") + ", ".join(parts)

    @property
    def sets(self) -> str:
        """The set findings are in, or the first with how many others.

        >>> found = [SetFinding("file-big", "", name) for name in ("a/b/c", "a/b/d")]
        >>> Folded(found[0], found).sets
        'in 2 sets: a/b/c and 1 more'
        """
        first, *others = dict.fromkeys(one.set for one in self.all)
        return f"in {len(others) + 1} sets: {first} and {len(others)} more" if others else first


def _near(one: Rect, other: Rect) -> bool:
    """Whether two boxes begin, end or have their middles in about the same place (mm)."""
    left, right = one.x - other.x, one.right - other.right
    down = one.y + one.height / 2 - other.y - other.height / 2
    return min(abs(left), abs(right), abs(left + right) / 2) <= _NEAR_MM and abs(down) <= _NEAR_MM


def folded(findings: Sequence[SetFinding]) -> list[Folded]:
    """Findings by what is to be mended, what must be first: a line each in the table."""
    groups: list[Folded] = []
    for finding in findings:
        group = next((one for one in groups if one.holds(finding)), None)
        if group is None:
            groups.append(group := Folded(finding))
        group.all.append(finding)
    return sorted(groups, key=lambda group: group.first.severity is not Severity.MUST)


def as_rows(findings: Sequence[SetFinding]) -> list[tuple[str, ...]]:
    """A row for each thing to mend: severity, sets, where, at, what, and what to do.

    ``at`` is in mm from the left and the top. What is the same in several sets, papers and
    languages is one row.
    """
    return [
        (
            group.first.severity.value,
            group.sets,
            group.where,
            f"{place.x:.0f}, {place.y:.0f}" if (place := group.first.place) else "",
            group.first.in_words,
            group.first.what_to_do,
        )
        for group in folded(findings)
    ]


def totals(findings: Sequence[SetFinding]) -> str:
    """The last line: how many rows there are of each severity, and what they stand for."""
    groups = folded(findings)
    must = sum(group.first.severity is Severity.MUST for group in groups)
    line = f"{must} must be mended, {len(groups) - must} to look at"
    return line + (f" ({len(findings)} findings in all)" if len(findings) > len(groups) else "")


def as_data(findings: Sequence[SetFinding]) -> dict[str, Any]:
    """The findings for ``json.dumps``, with how many there are of each severity."""
    counted = Counter(finding.severity.value for finding in findings)
    return {
        "must": counted["must"],
        "look": counted["look"],
        "findings": [finding.as_data() for finding in findings],
    }
