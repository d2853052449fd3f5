"""What the workshop's pages are told: plain dictionaries of what stands in the files."""

from __future__ import annotations

import datetime as dt
from collections import Counter
from collections.abc import Mapping, Sequence
from contextlib import suppress
from pathlib import Path
from typing import NamedTuple

from pipeline.app.build import PlannedSet, figures_of, printer_of, season_title
from pipeline.app.buildrecord import RELEASE
from pipeline.app.orderform import forms_in
from pipeline.app.orders import KeptOrder, kept_orders
from pipeline.app.packs import Pack
from pipeline.app.release import is_said_otherwise
from pipeline.base.errors import UserError
from pipeline.desk.answers import Json, about_season, heading_of, kind_of, place_of
from pipeline.desk.desk import Heading, planned_heading
from pipeline.impose.contents import CONTENTS, Contents
from pipeline.impose.layout import Rooms, shortfall
from pipeline.plan import SeasonPlan
from pipeline.plan.calendar import WEEKDAYS, later, months_of
from pipeline.plan.collection import templates_in
from pipeline.plan.languages import language_name, root_of, title_in
from pipeline.plan.model import Side
from pipeline.plan.season import (
    AS_DRAWN,
    LEAD_DAYS,
    BenchEntry,
    PeriodEntry,
    Season,
    SetEntry,
    SpreadEntry,
    Title,
    load_season,
)
from pipeline.plan.sets import in_words
from pipeline.plan.words import words_for
from pipeline.proof.approval.fingerprints import page_key
from pipeline.proof.approval.passed import PassFile, pass_file, read_pass_file
from pipeline.proof.pictures.proofs import size_name
from pipeline.publish.pictures.listing import MOVING
from pipeline.publish.pictures.shoppictures import SHOP
from pipeline.publish.releases import (
    ReleaseFile,
    changes_since,
    read_releases,
    release_file,
)
from pipeline.workshop.drawn import version_of
from pipeline.workshop.openseason import OpenSeason, Workshop
from pipeline.workshop.releasing import terms_in
from pipeline.workshop.shelf import ShelfSet, sets_of

MOST_MONTHS = 18
"""Months that the strip of the year shows."""


# The shelf


def about_shelf(workshop: Workshop) -> Json:
    """All seasons of a workspace, and which months they cover."""
    assert workshop.workspace is not None
    seasons, read = list[Json](), list[tuple[str, Season, ReleaseFile]]()
    for name, path in workshop.workspace.seasons.items():
        try:
            season = load_season(path)
            read.append((name, season, read_releases(release_file(path))))
        except UserError as problem:
            seasons.append({"name": name, "title": name, "problem": str(problem)})
            continue
        days = [day for one in season.period for day in (one.first, one.last)]
        drawn = _drawn(workshop.season(name))
        built = workshop.workspace.out / season.name
        cards = [_card(one, built, drawn) for one in sets_of(season)]
        seasons.append(
            {"name": name, "title": season_title(season), "days": _span(days), "cards": cards}
        )
    return {
        "title": workshop.workspace.title,
        "seasons": seasons,
        "strip": strip_of(read, workshop.today),
    }


Versions = Mapping[tuple[str, str], str]
"""The versions of templates, by their sizes and names."""


def _drawn(one: OpenSeason) -> Versions:
    """The templates of a season's collection; none where it cannot be read."""
    with suppress(UserError):
        files = templates_in(one.collection.folder)
        return {(file.parent.name, file.stem): version_of(file) for file in files}
    return {}


def _card(one: ShelfSet, built: Path, drawn: Versions) -> Json:
    """A set for the shelf, as far as it is known without reading what is built of it.

    ``picture`` is where its first spread can be seen, from its season's address on: as it is
    built, or else as it is drawn.
    """
    names = {paper: one.on(paper) for paper in one.papers}
    picture = drawn_picture(one, drawn)
    for name in names.values():
        with suppress(OSError):
            stamp = (built / name / CONTENTS).stat().st_mtime_ns
            picture = f"/picture/cover/{name}?v={stamp}"
            break
    return {
        "period": one.period_title,
        "title": one.title,
        "within": set_in_words(one.entry),
        "size": size_name(one.binder),
        "language": language_name(one.language),
        "colours": in_words(one.colours),
        "papers": [{"name": name, "paper": size_name(paper)} for paper, name in names.items()],
        "picture": picture,
    }


def drawn_picture(one: ShelfSet, drawn: Versions) -> str:
    """Where the drawings of a set's first spread can be seen beside one another; "" for none."""
    there = [name for name in one.first if (one.binder, name) in drawn]
    version = "-".join(drawn[one.binder, name] for name in there)
    colours = f"&colours={one.colours}" if one.colours else ""
    return f"/picture/drawn/{one.binder}/{'+'.join(there)}?v={version}{colours}" if there else ""


def _span(days: Sequence[dt.date]) -> str:
    """From when to when, as the desk writes it."""
    return words_for("en-GB").interval(min(days), max(days), "yMMM") if days else "without dates"


def strip_of(read: Sequence[tuple[str, Season, ReleaseFile]], today: dt.date) -> list[Json]:
    """The months from this one on, and how each stands.

    ``state`` is "out" where a set of it is released, "due" where none is and it begins within the
    lead time of its season (of the first, where none has it), "planned" where a season has it,
    "missing" where none has and one has a later month, or "later". What is before all periods was
    never meant to be made, and is not due. ``season`` is the file whose plan has the month, or is
    to get it: the last one that begins before, or the first. Seasons come with the names of their
    files.
    """
    holders: dict[dt.date, str] = {}
    begins = {
        name: min(days)
        for name, season, _ in read
        if (days := [period.first for period in season.period])
    }
    planned: dict[dt.date, bool] = {}
    leads: dict[dt.date, int] = {}
    usual = read[0][1].publish.lead_days if read else LEAD_DAYS
    for name, season, releases in read:
        out = {key.split("/")[0] for key, gone in releases.sets.items() if gone}
        for period in season.period:
            for month in months_of(period.first, period.last):
                if period.name in out or not planned.get(month):
                    holders[month] = name
                planned[month] = planned.get(month, False) or period.name in out
                leads[month] = max(leads.get(month, 0), season.publish.lead_days)
    this = today.replace(day=1)
    if this not in planned:  # it is too late for this one
        this = later(this, 1)
    ahead = [month for month in planned if month >= this]
    last = max([*ahead, later(this, 5)])
    earliest = min(planned, default=last)
    strip = []
    for month in months_of(this, last)[:MOST_MONTHS]:
        is_due = (month - today).days <= leads.get(month, usual)
        if planned.get(month):
            state = "out"
        elif is_due and month >= earliest:
            state = "due"
        elif month in planned:
            state = "planned"
        elif month < earliest:
            state = "later"
        else:
            state = "missing" if ahead and month < max(ahead) else "later"
        ends = later(month, 1)
        nearest = [name for name, first in begins.items() if first < ends]
        nearest = nearest or sorted(begins, key=begins.__getitem__)[:1]
        strip.append(
            {
                "month": f"{month:%Y-%m}",
                "name": words_for("en-GB").month_name(month)[0],
                "year": month.year,
                "state": state,
                "lead_days": leads.get(month, usual),
                "season": holders.get(month) or max(nearest, key=begins.__getitem__, default=""),
            }
        )
    return strip


def about_sets(one: OpenSeason, part: slice = slice(None)) -> Json:
    """How the sets of a season stand, or a part of them, and what went out of each."""
    one.look()
    releases, passes = read_releases(release_file(one.path)), one.desk.passes()
    about = about_season(one.desk, part)
    for line in about["sets"]:
        line["out"] = out_as(line["name"], releases, passes)
    return about


def out_as(name: str, releases: ReleaseFile, passes: PassFile) -> Json | None:
    """The version of a set that went out last, and whether it is what is passed now."""
    last = releases.last(name)
    if last is None:
        return None
    passed = {key: page.passed for key, page in passes.of(name).pages.items() if page.passed}
    same = all(passed.get(key) == page for key, page in last.pages.items())
    return {"version": last.version, "at": last.at, "name": last.name, "current": same}


class CalendarLine(NamedTuple):
    """A period of a season: what there is of it, when it is due, and how it stands.

    ``state`` is "out", "changed since" where what is passed now is not what went out, "due", "late"
    or "planned". ``editions`` are its sizes, papers and languages.
    """

    season: str
    period: str
    begins: dt.date
    due: dt.date
    editions: str
    sets: int
    released: int
    state: str


def calendar_of(paths: Sequence[Path], today: dt.date) -> list[CalendarLine]:
    """Every period of some seasons, the earliest first. Raises UserError as ``load_season``."""
    lines = []
    for path in paths:
        season, releases = load_season(path), read_releases(release_file(path))
        passes = read_pass_file(pass_file(path))
        editions = ", ".join((*season.sizes, *season.papers, *season.language))
        for period in season.period:
            sets = [entry for entry in season.set if entry.is_for(period)]
            gone = [
                out_as(name, releases, passes)
                for name in releases.sets
                if name.startswith(f"{period.name}/")
            ]
            out = [one for one in gone if one is not None]
            whole = len(sets) * len(season.sizes) * len(season.papers) * len(season.language)
            whole *= len(season.colours)
            due = period.first - dt.timedelta(days=season.publish.lead_days)
            if len(out) >= whole:
                state = "out" if all(one["current"] for one in out) else "changed since"
            else:
                state = "planned" if today < due else "due" if today < period.first else "late"
            lines.append(
                CalendarLine(
                    season.name, period.name, period.first, due, editions, whole, len(out), state
                )
            )
    return sorted(lines, key=lambda line: (line.begins, line.season, line.period))


def calendar_file(lines: Sequence[CalendarLine]) -> bytes:
    """When each period is due, as iCalendar (RFC 5545), for the maker's own calendar."""
    from icalendar import Calendar, Event

    calendar = Calendar()
    calendar.add("prodid", "-//leafset//calendar//EN")
    calendar.add("version", "2.0")
    for line in lines:
        event = Event()
        event.add("uid", f"{line.season}-{line.period}@leafset.invalid")
        event.add("dtstamp", dt.datetime.combine(line.due, dt.time(), dt.UTC))
        event.add("dtstart", line.due)
        event.add("summary", f"{line.season}: {line.period} is due")
        missing = line.sets - line.released
        event.add("description", f"{missing} of {line.sets} files are not out. {line.editions}")
        calendar.add_component(event)
    data: bytes = calendar.to_ical()
    return data


# The plan


def about_plan(one: OpenSeason) -> Json:
    """A season as a form: what it says, what may be chosen, and what comes of it."""
    version = one.file.version
    season = load_season(one.path)
    plan = one.plan()
    collection = plan.collection
    drawn: dict[str, dict[str, str]] = {}
    for file in templates_in(collection.folder):
        drawn.setdefault(file.stem, {})[file.parent.name] = version_of(file)
    return {
        "version": version,
        "can_undo": one.file.can_undo,
        "titles": _titles(season.title, season.language),
        "collection": collection.name,
        "periods": [_period(period, season.language[0]) for period in season.period],
        "sets": [
            {
                "name": entry.name,
                "titles": _titles(entry.title or entry.name, season.language),
                "first_lines": _titles(entry.lead or _unsaid(season.language), season.language),
                "spreads": [_spread(spread) for spread in entry.spreads or ()],
                "templates": entry.templates,
                "within": set_in_words(entry),
                "pages": _pages_of(entry, plan),
                "periods": entry.periods,
                "dated": entry.is_dated,
            }
            for entry in season.set
        ],
        "fields": _fields(season, plan, drawn),
        "almanac": _almanac_of(season),
        "lead_days": season.publish.lead_days,
        "bench": bench_of(season),
        "weeks": season.weeks,
        "first_weekday": season.first_weekday,
        "week_numbers": season.week_numbers,
        "weekdays": list(WEEKDAYS),
        "templates": {name: dict(sorted(held.items())) for name, held in sorted(drawn.items())},
        "figures": [_figures(each, plan) for each in figures_of(plan)],
    }


def set_in_words(entry: SetEntry) -> str:
    """What is in a set, in words.

    >>> spread = {"verso": "week-verso", "recto": "list", "per": "week"}
    >>> entry = {"name": "a", "spreads": [spread], "opening": "title"}
    >>> set_in_words(SetEntry.model_validate(entry))
    'title first, week and list for every week'
    """
    parts = [f"{kind_of(entry.opening)} first"] if entry.opening else []
    for one in entry.spreads or ():
        each = one.per if one.every == 1 else f"{one.every} {one.per}s"
        often = "once" if one.per == "once" else f"for every {each}"
        parts.append(f"{_both(one.verso, one.recto)} {often}")
    parts += [f"a leaf with {_both(one.recto, one.verso)}" for one in entry.leaves or ()]
    if entry.closing:
        parts.append(f"{kind_of(entry.closing)} last")
    return ", ".join(parts)


def _both(one: str | None, other: str | None) -> str:
    kinds = list(dict.fromkeys(kind_of(name) for name in (one, other) if name))
    return " and ".join(kinds) if len(kinds) > 1 else f"{kinds[0]} on both sides"


def _pages_of(entry: SetEntry, plan: SeasonPlan) -> str:
    """How many pages of each kind a set has, in its first period."""
    first = next((one for one in plan.sets if one.entry == entry.name), None)
    if first is None:
        return ""
    kinds = Counter(kind_of(page.template) for page in first.pages)
    counted = ", ".join(f"{count} × {kind}" for kind, count in kinds.items())
    return f"{first.period.title}: {counted}" if first.period.first else counted


EDITIONS = {
    "sheets": "Sheets for home printers",
    "screen": "A file for tablets and screens",
    "press": "A file for a print shop",
}


def _almanac_of(season: Season) -> Json:
    """What is known of each day; holidays are None where they differ by language."""
    entry = season.almanac
    if entry is None:
        return {"holidays": [], "latitude": None, "longitude": None, "zone": ""}
    by_language = not isinstance(entry.holidays, list)
    return {
        "holidays": None if by_language else entry.holidays,
        "latitude": entry.latitude,
        "longitude": entry.longitude,
        "zone": entry.zone,
    }


def _titles(title: Title, languages: Sequence[str]) -> list[Json]:
    """A title in every language it is written in by itself; one for all where it is one text."""
    if isinstance(title, str):
        return [{"language": "", "text": title}]
    roots = dict.fromkeys(one if one in title else root_of(one) for one in languages)
    return [{"language": one, "text": title_in(title, one) or ""} for one in roots]


def _unsaid(languages: Sequence[str]) -> Title:
    """What nobody has said yet: one text, or of several languages one each."""
    return {} if len(set(map(root_of, languages))) > 1 else ""


def _period(period: PeriodEntry, language: str) -> Json:
    whole = period.month is not None or period.months is not None
    called = title_in(period.title, language) if period.title else None
    return {
        "name": period.name,
        "title": called or _span([period.first, period.last]),
        "first": f"{period.first:%Y-%m}",
        "last": f"{period.last:%Y-%m}",
        "days": "" if whole else f"{period.first} to {period.last}",
    }


def _spread(spread: SpreadEntry) -> Json:
    return {
        "verso": spread.verso, "recto": spread.recto, "per": spread.per, "every": spread.every,
    }  # fmt: skip


USUAL_LANGUAGES = ("en-GB", "en-US", "de", "fr", "es", "it", "nl", "pl", "el", "ar", "hi", "ja")
"""Languages offered besides those that a collection has labels in; any of CLDR's can be written
into a season."""
USUAL_PAPERS = ("a4", "letter", "a5")
"""Papers offered first: what home printers take (common practice)."""


def _fields(season: Season, plan: SeasonPlan, drawn: Mapping[str, Mapping[str, str]]) -> Json:
    """What may be chosen of sizes, papers, languages, colours and editions.

    ``usual`` is what is offered first; ``lacks`` says what a choice that can be made has not.
    """
    binders, papers = plan.sizes.binders, plan.sizes.papers
    collection = plan.collection
    labelled = {path.stem for path in (collection.folder / "labels").glob("*.toml")}
    languages = (*season.language, *sorted(labelled), *USUAL_LANGUAGES)
    spoken = {root_of(one) for one in season.language}
    ready = [one for one in sorted(labelled) if one not in spoken]
    asked = {name for entry in season.set for name in entry.templates}
    whole = [size for size in binders if all(size in drawn.get(name, ()) for name in asked)]
    return {
        "sizes": _choice(season.sizes, {name: one.title for name, one in binders.items()}, whole),
        "papers": _choice(
            season.papers, {name: one.title for name, one in papers.items()}, USUAL_PAPERS
        ),
        "language": _choice(season.language, {one: language_name(one) for one in languages}, ready),
        "colours": _choice(
            season.colours, {one: in_words(one) for one in (AS_DRAWN, *collection.colours)}, None
        ),
        "editions": _choice(season.editions, EDITIONS, None),
    }


def _choice(
    chosen: Sequence[str], titles: Mapping[str, str], usual: Sequence[str] | None
) -> list[Json]:
    """What may be chosen, what is chosen first, and then what is usual (all with None)."""
    first = [name for name in usual or () if name in titles]
    return [
        {
            "value": name,
            "title": titles.get(name, name),
            "chosen": name in chosen,
            "usual": usual is None or name in chosen or name in first,
            "ready": name in first,
        }
        for name in dict.fromkeys((*chosen, *first, *titles))
    ]


def _in_short(called: Heading) -> Json:
    return {"title": called.title, "period": called.period, "edition": called.edition}


def _figures(one: PlannedSet, plan: SeasonPlan) -> Json:
    figures = one.bench
    return {
        "why": _why_one(one, plan) if figures else "",
        "name": one.name,
        **_in_short(planned_heading(one.plan, one.paper)),
        "spreads": len(one.plan.spreads),
        "leaves": len(one.plan.leaves),
        "problem": str(one.problem) if one.problem else "",
        **({} if figures is None else {
            "sheets": figures.sheets, "cuts": figures.cuts, "folds": figures.folds,
            "punch": figures.punch_strokes, "weight_g": round(figures.weight_g),
            "thickness_mm": figures.thickness_mm,
            "paper_cost": _paper_cost(figures.sheets, plan.season.bench),
        }),
    }  # fmt: skip


def _paper_cost(sheets: int, bench: BenchEntry) -> str:
    """What the paper of one pack costs, in words; "" where no price is known."""
    cost = sheets * bench.ream_price / bench.ream_sheets
    return f"paper {cost:.2f} {bench.money}".rstrip() if cost else ""


def _why_one(one: PlannedSet, plan: SeasonPlan) -> str:
    """Why no sheet of a set has a second leaf; "" where one has, or there is but one leaf."""
    leaves, figures = one.plan.leaves, one.bench
    if figures is None or figures.sheets < len(leaves) or len(leaves) < 2:
        return ""
    rooms = Rooms(one.paper, printer_of(plan), one.plan.bleed_mm)
    width = one.plan.binder.width_mm + max(leaf.flap_mm for leaf in leaves)
    height = one.plan.binder.height_mm
    ways = [(2 * width + rooms.gutter, height), (width, 2 * height + rooms.gutter)]
    lacks = min(max(shortfall(*way, rooms)) for way in ways)
    if lacks <= 0:
        return "one leaf a sheet: marks, flaps and tabs leave no room for a second"
    return f"one leaf a sheet: with its marks, a second would need {lacks:.0f} mm more"


# The release


def about_release(one: OpenSeason) -> Json:
    """What is out, what could go out now, and what keeps back the rest."""
    sets = about_sets(one)["sets"]
    ready = [line for line in sets if line.get("passed") and not _is_out(line)]
    return {
        "ready": [{**_called(line), "again": _again(one, line["name"])} for line in ready],
        "out": [{**_called(line), **line["out"]} for line in sets if _is_out(line)],
        "held": [{**_called(line), "why": _why(line)} for line in sets
                 if not line.get("passed") and not _is_out(line)],
        "page": (one.out / one.plan().season.name / "release" / "index.html").is_file(),
        "work": _work(one),
        "version": one.file.version,
        "other_words": _is_said_otherwise(one),
        "unsaid": not all(entry.lead for entry in load_season(one.path).set),
        "kinds": _kinds(one),
        "pictures": _shop_pictures(one),
        "terms": [_terms(one, language) for language in load_season(one.path).language],
    }  # fmt: skip


def _is_said_otherwise(one: OpenSeason) -> bool:
    with suppress(UserError):  # of terms, which is told when a release is made
        return is_said_otherwise(one.plan(), one.path, one.out)
    return False


def _work(one: OpenSeason) -> Json:
    """How far the release is, with sets called as people call them."""
    said = one.releasing.state()
    names = {
        name: f"{called.title}, {called.period}, {called.edition}"
        for name, called in one.desk.headings.items()
    }
    held = [[names.get(name, name), why] for name, why in said.get("held", ())]
    return {**said, "held": held}


KINDS = {
    "title-card": "A card with the title",
    "spread": "The open binder",
    "fan": "Pages fanned out",
    "close-up": "A close-up",
    "sheet": "A sheet as it is printed",
    "sizes": "All sizes side by side",
    MOVING: "Flaps opening, moving",
}
"""The kinds of pictures for the shop, in words."""


def _kinds(one: OpenSeason) -> list[Json]:
    """What pictures there may be; only those are ``offered`` that there is something for."""
    plan = one.plan()
    asked = plan.season.pictures.kinds
    titles = dict(KINDS)
    if len(plan.season.sizes) == 1:
        titles["sizes"] = "How large it is, beside a bank card"
    has_flaps = any(leaf.flap_mm for each in plan.sets for leaf in each.leaves)
    return [
        {
            "kind": kind,
            "title": title,
            "chosen": not asked or kind in asked,
            "offered": has_flaps or kind != MOVING,
        }
        for kind, title in titles.items()
    ]


def _shop_pictures(one: OpenSeason) -> list[str]:
    """The pictures of the first listing that was made, by their names in the release."""
    release = one.out / load_season(one.path).name / RELEASE
    first = next((each for each in sorted((release / SHOP).glob("*")) if each.is_dir()), None)
    files = sorted(first.iterdir()) if first else []  # their small ones lie in a folder below
    seen = (".jpg", ".jpeg", ".png", ".webp")
    return [file.relative_to(release).as_posix() for file in files if file.suffix in seen]


def _terms(one: OpenSeason, language: str) -> Json:
    terms = terms_in(one.collection.folder, language)
    return {
        "language": language,
        "title": language_name(language),
        "file": terms.file.name,
        "text": terms.text,
        "own": terms.is_own,
        "unread": terms.is_unread,
        "version": terms.version,
    }


def _again(one: OpenSeason, name: str) -> str:
    """What buyers of the last version would have to print again, in words; "" for a first one."""
    last = read_releases(release_file(one.path)).last(name)
    if last is None:
        return ""
    built = one.desk.built(name)
    prints = one.desk.known(built).prints
    if prints is None:
        return ""
    with one.desk.pictures.alone():
        _, again = changes_since(last, built.folder, built.contents, prints, one.desk.kept)
    if not again:
        return f"buyers of version {last.version} have nothing to print again"
    sheets = ", ".join(map(str, again))
    return f"buyers of version {last.version} print sheet{'s' * (len(again) > 1)} {sheets} again"


def _is_out(line: Json) -> bool:
    return bool(line["out"] and line["out"]["current"])


def _called(line: Json) -> Json:
    """A set by its names, with the version it would go out as."""
    before = line["out"]["version"] if line["out"] else 0
    return {
        "name": line["name"],
        "title": line.get("title", line["name"]),
        "period": line.get("period", ""),
        "edition": line.get("edition", ""),
        "next": before + 1,
    }


def _why(line: Json) -> str:
    if line.get("problem"):
        return str(line["problem"])
    if line.get("sent_back"):
        return "sent back"
    counts = line.get("counts")
    if counts is None:
        return "built, not looked at yet"
    left = sum(
        count for state, count in counts.items() if state not in ("unchanged", "gone", "seen")
    )
    if counts["seen"] and not left:
        return f"the same pages as {', '.join(line['seen']['in'])}, seen there already"
    return f"{left} pages to look at" if left != 1 else "1 page to look at"


# Orders


def about_orders(one: OpenSeason) -> Json:
    """The forms that there are, what is being made of them, and each order of the season."""
    kept = kept_orders(load_season(one.path).name, one.out)
    return {
        "forms": list(forms_in(one.folder)),
        "work": one.ordering.state(),
        "waiting": [_waiting(order) for order in kept if order.waits],
        "made": [order.name for order in kept if not order.waits],
    }


def _waiting(order: KeptOrder) -> Json:
    """An order that waits: what must be mended, on which page where it is on one, and its sets."""
    return {
        "order": order.name,
        "before": order.before,
        "found": [
            {
                "words": one["message"],
                "remedy": one.get("what_to_do", ""),
                "page": place_of(page_key(one["leaf"], Side(one["face"])))
                if one.get("face")
                else "",
            }
            for one in order.found
        ],
        "sets": list(order.sheets),
    }


# The bench


def bench_of(season: Season) -> Json:
    """The trimmers there are, and what postage costs."""
    bench = season.bench
    return {
        "trimmers": [{"name": name, **one.model_dump()} for name, one in bench.trimmer.items()],
        "postage": bench.postage,
    }


def packs_at_bench(packs: Sequence[Pack]) -> Json:
    """What packs take, each and together, as the page shows it."""
    each: list[Json] = [
        {
            "name": one.name,
            "sheets": one.sheets,
            "strokes": one.strokes,
            "punch": one.punch_strokes,
            "folds": one.folds,
            "minutes": round(one.minutes),
            "cost": f"{one.cost:.2f}" if one.cost else "",
        }
        for one in packs
    ]
    names = ("sheets", "strokes", "punch", "folds", "minutes")
    together: Json = {name: sum(line[name] for line in each) for name in names}
    whole = sum(one.cost * one.count for one in packs)
    return {"packs": each, "together": {**together, "cost": f"{whole:.2f}" if whole else ""}}


def about_bench(one: OpenSeason) -> list[Json]:
    """What each built set takes to print, cut, fold and punch at home."""
    one.look()
    return [_at_bench(built.name, built.contents) for built in one.desk.built_sets()]


def _at_bench(name: str, contents: Contents) -> Json:
    figures = contents.bench
    return {
        "name": name,
        **_in_short(heading_of(contents)),
        "weight_g": round(figures.weight_g, 1),
        "thickness_mm": figures.thickness_mm,
    }
