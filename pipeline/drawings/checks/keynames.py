"""Do the names on a page say what the page can show, all of it, and on texts that can be set?"""

from __future__ import annotations

from collections.abc import Iterable, Sequence

from lxml import etree

from pipeline.base.errors import UserError
from pipeline.drawings.checks.inspection import SHAPES, Inspection, is_key
from pipeline.drawings.checks.usage import (
    ALL_KEYS,
    facts_of_kind,
    keys_of_kind,
    numbered_key,
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


def check_keys(inspection: Inspection) -> None:
    """Names that are no keys, keys on things that hold no text, and keys that are not there."""
    labels = _Labels(inspection)
    for element, names in inspection.named:
        _check_element(inspection, element, names, labels)
    _check_missing(inspection)


def _check_element(
    inspection: Inspection, element: etree._Element, names: tuple[str, ...], labels: _Labels
) -> None:
    for name in names:
        if name.startswith("show-"):
            _check_fact(inspection, element, name)
            return
        if element.tag == SVG + "rect" and ruled(name):
            return
        if is_key(name):
            known = name in labels.known or all(
                name in keys_of_kind(kind) for kind in inspection.kinds
            )
            if name.endswith("-grid") and known:
                _check_grid(inspection, element)
                return
            if find_text(element) is None:
                if _is_drawn(element):
                    message = f"has the key {name!r} but holds only shapes and no text, so every"
                    inspection.say("outlined", [element], f"{message} page will say the same")
                return
            if known:
                return
    _check_near_misses(inspection, element, names, labels)


def _check_fact(inspection: Inspection, element: etree._Element, name: str) -> None:
    for kind in inspection.kinds:
        flags = facts_of_kind(kind).flags
        if name.removeprefix("show-") not in flags:
            remedy = key_advice(name, [f"show-{flag}" for flag in flags])
            message = f"names nothing that can be shown on {_PAGES[kind]}"
            inspection.say("key", [element], message, remedy)
            return


def _check_grid(inspection: Inspection, element: etree._Element) -> None:
    try:
        check_month(element, "")
    except UserError as problem:
        inspection.say("key", [element], problem.what, problem.remedy)


def _is_drawn(element: etree._Element) -> bool:
    """Whether an element is artwork: a shape, or a group with nothing else in it."""
    inside = [inner for inner in element.iter() if inner.tag != SVG + "g"]
    return bool(inside) and all(inner.tag in SHAPES for inner in inside)


def _check_near_misses(
    inspection: Inspection, element: etree._Element, names: tuple[str, ...], labels: _Labels
) -> None:
    if element.tag == SVG + "rect" and any(looks_ruled(name) for name in names):
        remedy = "write it like 'lines-6mm' or 'dots-5mm-centre'"
        inspection.say("key", [element], "isn't the name of a ruled area", remedy)
        return
    for kind in inspection.kinds:
        known = keys_of_kind(kind) | labels.known
        show = [f"show-{flag}" for flag in facts_of_kind(kind).flags]
        name = mistaken_name(element, names, known, show)
        if name is None:
            continue
        if name.startswith("label-"):
            key = name.removeprefix("label-")
            message = f"there is no label {key!r}{labels.lacking(name)}"
            remedy = label_advice(name, labels.known, labels.file(name))
        else:
            message, remedy = f"isn't a key on {_PAGES[kind]}", key_advice(name, [*known, *show])
        inspection.say("key", [element], message, remedy)
        return


class _Labels:
    """The label keys a page can count on, in every language its seasons are made in."""

    def __init__(self, inspection: Inspection) -> None:
        collection, uses = inspection.usage.collection, inspection.usage.uses
        self._by_language: dict[str, frozenset[str]] = {}
        if collection is None:
            # Nothing says which labels there are: all that are used may be.
            used = {name for _, names in inspection.named for name in names}
            self.known = frozenset(name for name in used if name.startswith("label-"))
            return
        languages = dict.fromkeys(language for use in uses for language in use.languages)
        fallbacks = {use.label_fallback for use in uses if use.label_fallback}
        if not languages:
            files = sorted((collection.folder / "labels").glob("*.toml"))
            languages = dict.fromkeys(file.stem for file in files)
        for language in languages:
            self._by_language[language] = _label_keys(inspection, language, sorted(fallbacks))
        known = list(self._by_language.values())
        each = frozenset.intersection(*known) if known else frozenset()
        some = frozenset.union(*known) if known else frozenset()
        self.known = each if uses else some

    def lacking(self, name: str) -> str:
        """For which languages a label is missing, in words."""
        lacking = self._lacking(name)
        if len(lacking) == len(self._by_language):
            return ""
        return " for " + ", ".join(lacking) if lacking else ""

    def file(self, name: str) -> str:
        """The file, or the files, to write a label in."""
        roots = dict.fromkeys(map(root_of, self._lacking(name) or self._by_language))
        return ", ".join(f"labels/{root}.toml" for root in roots) or "the collection's labels/"

    def _lacking(self, name: str) -> list[str]:
        return [tag for tag, known in self._by_language.items() if name not in known]


def _label_keys(inspection: Inspection, language: str, fallbacks: Sequence[str]) -> frozenset[str]:
    """Labels that a language has, its own and those that stand in for it."""
    collection = inspection.usage.collection
    assert collection is not None
    found: set[str] = set()
    for tag in (language, *fallbacks):
        if collection.label_files(tag) or not fallbacks:
            try:
                found |= {f"label-{key}" for key in collection.labels(tag)}
            except UserError as problem:
                message = f"{problem.place}: {problem.what}"
                inspection.say("label", [], message, problem.remedy)
    return frozenset(found)


def _check_missing(inspection: Inspection) -> None:
    here = _numbers(name for _, names in inspection.named for name in names)
    for family, parts in here.items():
        every = set().union(*parts.values())
        for part, numbers in sorted(parts.items()):
            lost = sorted(every - numbers)
            if lost and part != "grid" and len(numbers) >= max(2, len(every) / 2):
                keys = ", ".join(f"{family}{number}-{part}" for number in lost)
                inspection.say(
                    "missing", [], f"has no {keys}, though it shows something else of each"
                )
        if inspection.usage.uses:
            _check_whole_set(inspection, family, every)
        else:
            gaps = sorted(set(range(min(every), max(every))) - every)
            if gaps:
                inspection.say("missing", [], f"leaves out {_listed(family, gaps)}")


def _check_whole_set(inspection: Inspection, family: str, every: set[int]) -> None:
    """Whether a page and those that share its days show all of them, and enough months."""
    for use in inspection.usage.uses:
        if family == "month":
            if use.kind == "once" and max(every) < use.months:
                room = f"has room for {max(every)} months"
                message = f"{room}, but season {use.season!r} has a period of {use.months}"
                inspection.say("missing", [], message)
                return
            continue
        shown = every | numbers_on(inspection.usage, use.beside, family)
        lost = sorted(set(range(1, _WHOLE[family] + 1)) - shown)
        if lost:
            both = "together with the pages beside it " if len(use.beside) > 1 else ""
            message = f"{both}leaves out {_listed(family, lost)} in set {use.name!r}"
            inspection.say("missing", [], message)
            return


def _listed(family: str, numbers: list[int]) -> str:
    return ", ".join(f"{family}{number}" for number in numbers)


def _numbers(names: Iterable[str]) -> dict[str, dict[str, set[int]]]:
    """Which numbers of each family's parts there are: ``{"day": {"name": {1, 2, 3}}}``."""
    found: dict[str, dict[str, set[int]]] = {}
    for name in names:
        key = numbered_key(name) if name in ALL_KEYS else None
        if key is not None:
            family, number, part = key
            found.setdefault(family, {}).setdefault(part, set()).add(number)
    return found
