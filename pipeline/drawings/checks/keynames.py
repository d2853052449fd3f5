"""Do the names on a page say what the page can show, all of it, and on texts that can be set?"""

from __future__ import annotations

from collections.abc import Iterator, Sequence

from lxml import etree

from pipeline.base.errors import UserError
from pipeline.drawings.checks.inspection import SHAPE_TAGS, DrawingFinding, Inspection, is_key
from pipeline.drawings.checks.usage import (
    ALL_KEYS,
    facts_of_kind,
    keys_of_kind,
    numbered_keys,
    numbers_on,
)
from pipeline.fill.areas import check_month
from pipeline.fill.keys import key_advice, label_advice, looks_ruled, mistaken_name, ruled
from pipeline.fill.texts import find_text
from pipeline.plan.languages import root_of
from pipeline.svg.tree import SVG

_PAGES = {
    "week": "a page for a week",
    "month": "a page for a month",
    "once": "a page that comes once in a set",
    "undated": "an undated page",
}
_WHOLE = {"day": 7, "date": 31}


def check_keys(inspection: Inspection) -> Iterator[DrawingFinding]:
    """Names that are no keys, and keys on things that hold no text."""
    labels = _Labels(inspection)
    yield from labels.broken
    for element, names in inspection.named:
        said = _wrong(inspection, element, names, labels)
        if said is not None:
            rule, message, remedy = said
            yield inspection.finding(rule, [element], message, remedy)


def _wrong(
    inspection: Inspection, element: etree._Element, names: tuple[str, ...], labels: _Labels
) -> tuple[str, str, str] | None:
    """What is wrong with an element's names: the rule, what it says and what to do."""
    for name in names:
        if name.startswith("show-"):
            return _wrong_fact(inspection, name)
        if element.tag == SVG + "rect" and ruled(name):
            return None
        if is_key(name):
            keys = map(keys_of_kind, inspection.kinds)
            known = name in labels.known or all(name in those for those in keys)
            if name.endswith("-grid") and known:
                try:
                    check_month(element, "")
                except UserError as problem:
                    return "key", problem.what, problem.remedy
                return None
            if find_text(element) is None:
                inside = [inner for inner in element.iter() if inner.tag != SVG + "g"]
                if not inside or any(inner.tag not in SHAPE_TAGS for inner in inside):
                    return None
                message = f"has the key {name!r} but holds only shapes and no text, so every"
                return "outlined", f"{message} page will say the same", ""
            if known:
                return None
    return _near_miss(inspection, element, names, labels)


def _wrong_fact(inspection: Inspection, name: str) -> tuple[str, str, str] | None:
    for kind in inspection.kinds:
        shown = [f"show-{flag}" for flag in facts_of_kind(kind).flags]
        if name not in shown:
            message = f"names nothing that can be shown on {_PAGES[kind]}"
            return "key", message, key_advice(name, shown)
    return None


def _near_miss(
    inspection: Inspection, element: etree._Element, names: tuple[str, ...], labels: _Labels
) -> tuple[str, str, str] | None:
    if element.tag == SVG + "rect" and any(looks_ruled(name) for name in names):
        remedy = "write it like 'lines-6mm' or 'dots-5mm-centre'"
        return "key", "isn't the name of a ruled area", remedy
    for kind in inspection.kinds:
        known = keys_of_kind(kind) | labels.known
        show = [f"show-{flag}" for flag in facts_of_kind(kind).flags]
        name = mistaken_name(element, names, known, show)
        if name is not None and name.startswith("label-"):
            return "key", labels.lacking(name), label_advice(name, labels.known, labels.file(name))
        if name is not None:
            return "key", f"isn't a key on {_PAGES[kind]}", key_advice(name, [*known, *show])
    return None


class _Labels:
    """The label keys a page can count on, in every language its seasons are made in."""

    def __init__(self, inspection: Inspection) -> None:
        collection, uses = inspection.usage.collection, inspection.usage.uses
        self.broken: list[DrawingFinding] = []
        self._by_language: dict[str, frozenset[str]] = {}
        if collection is None:
            # Nothing says which labels there are: all that are used may be.
            used = {name for _, names in inspection.named for name in names}
            self.known = frozenset(name for name in used if name.startswith("label-"))
            return
        languages = dict.fromkeys(language for use in uses for language in use.languages)
        fallbacks = sorted({use.label_fallback for use in uses if use.label_fallback})
        if not languages:
            files = sorted((collection.folder / "labels").glob("*.toml"))
            languages = dict.fromkeys(file.stem for file in files)
        for language in languages:
            found: set[str] = set()
            for tag in (language, *fallbacks):
                if collection.label_files(tag) or not fallbacks:
                    try:
                        found |= {f"label-{key}" for key in collection.labels(tag)}
                    except UserError as problem:
                        message = f"{problem.place}: {problem.what}"
                        wrong = inspection.finding("label", [], message, problem.remedy)
                        self.broken.append(wrong)
            self._by_language[language] = frozenset(found)
        known = list(self._by_language.values())
        combined = frozenset.intersection if uses else frozenset.union
        self.known = combined(*known) if known else frozenset()

    def lacking(self, name: str) -> str:
        """That a label is missing, and for which languages."""
        lacking = self._lacking(name)
        some = 0 < len(lacking) < len(self._by_language)
        languages = f" for {', '.join(lacking)}" if some else ""
        return f"there is no label {name.removeprefix('label-')!r}{languages}"

    def file(self, name: str) -> str:
        """The file, or the files, to write a label in."""
        roots = dict.fromkeys(map(root_of, self._lacking(name) or self._by_language))
        return ", ".join(f"labels/{root}.toml" for root in roots) or "the collection's labels/"

    def _lacking(self, name: str) -> list[str]:
        return [tag for tag, known in self._by_language.items() if name not in known]


def check_missing(inspection: Inspection) -> Iterator[DrawingFinding]:
    """Keys that are not there, though others of their kind are."""
    names = [name for _, names in inspection.named for name in names if name in ALL_KEYS]
    names += [name for _, name, _ in inspection.taken_out]  # told by themselves
    for family, parts in numbered_keys(names).items():
        every = set().union(*parts.values())
        for part, numbers in sorted(parts.items()):
            lost = sorted(every - numbers)
            if lost and part != "grid" and len(numbers) >= max(2, len(every) / 2):
                keys = ", ".join(f"{family}{number}-{part}" for number in lost)
                message = f"has no {keys}, though it shows something else of each"
                yield inspection.finding("missing", [], message)
        lacking = _lacking(inspection, family, every)
        if lacking:
            yield inspection.finding("missing", [], lacking)


def _lacking(inspection: Inspection, family: str, every: set[int]) -> str | None:
    """What a page, with those that share its days, lacks of all days, or of enough months."""
    uses = inspection.usage.uses
    if not uses:
        gaps = sorted(set(range(min(every), max(every))) - every)
        return f"leaves out {_listed(family, gaps)}" if gaps else None
    for use in uses:
        if family == "month":
            if use.kind == "once" and max(every) < use.months:
                room = f"has room for {max(every)} months"
                return f"{room}, but season {use.season!r} has a period of {use.months}"
            continue
        shown = every | numbers_on(inspection.usage, use.beside, family)
        lost = sorted(set(range(1, _WHOLE[family] + 1)) - shown)
        if lost:
            both = "together with the pages beside it " if len(use.beside) > 1 else ""
            return f"{both}leaves out {_listed(family, lost)} in set {use.name!r}"
    return None


def _listed(family: str, numbers: Sequence[int]) -> str:
    return ", ".join(f"{family}{number}" for number in numbers)
