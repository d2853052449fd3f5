"""Do the names on a page say what the page can show, all of it, and on texts that can be set?

And does anything that has no name look as if it once had one, or as if someone typed what a key
would say?
"""

from __future__ import annotations

import contextlib
import functools
import itertools
import math
import re
from collections import Counter
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import replace
from typing import NamedTuple

from lxml import etree

from pipeline.base.errors import UserError, nearest
from pipeline.base.findings import Severity
from pipeline.base.geometry import Rect
from pipeline.drawings.checks.inspection import (
    SHAPE_TAGS,
    AskedLabel,
    DrawingFinding,
    Inspection,
    Item,
    is_inked,
    is_key,
    lines_of,
    property_of,
    text_boxes,
)
from pipeline.drawings.checks.usage import (
    ALL_KEYS,
    NUMBERED,
    facts_of_kind,
    keys_of_kind,
    numbered_keys,
    numbers_on,
)
from pipeline.fill.areas import can_be_moon, check_month
from pipeline.fill.keys import key_advice, label_advice, looks_ruled, mistaken_name, ruled
from pipeline.fill.template import computed_style, rect_of
from pipeline.fill.texts import find_text
from pipeline.plan.collection import LABEL_KEY, Labels
from pipeline.plan.facts import ALMANAC_PARTS, MOON_DISC, PAGES, TAB_LABEL, in_month
from pipeline.plan.languages import root_of
from pipeline.plan.spoken import scripts_of
from pipeline.svg.path import outline
from pipeline.svg.tree import SVG, lineage, names, page_matrix
from pipeline.text.shape import script_of

_WHOLE = {"day": 7, "date": 31}


def check_keys(inspection: Inspection) -> Iterator[DrawingFinding]:
    """Names that are no keys, and keys on things that hold no text."""
    labels = _Labels(inspection)
    yield from labels.broken
    for element, own in inspection.named:
        exchanged = labels.exchanged(own)
        if exchanged is not None:
            message, milder = exchanged
            yield inspection.finding("label-exchanged", [element], message, milder=milder)
        said = _wrong(inspection, element, own, labels)
        if said is not None:
            rule, message, remedy = said
            found = inspection.finding(rule, [element], message, remedy)
            yield replace(found, label=labels.asked(element, own) if rule == "key" else None)
        elif (asked := labels.asked(element, own)) and labels.is_drawn_otherwise(asked):
            message = f"is drawn as {asked.drawn!r} and prints as {asked.words[0][1]!r}"
            yield replace(inspection.finding("label-drawn", [element], message), label=asked)


def labels_on(inspection: Inspection) -> list[AskedLabel]:
    """The labels that a page asks for, each once."""
    labels = _Labels(inspection)
    asked = (labels.asked(element, own) for element, own in inspection.named)
    return list({one.key: one for one in asked if one}.values())


def _wrong(
    inspection: Inspection, element: etree._Element, own: tuple[str, ...], labels: _Labels
) -> tuple[str, str, str] | None:
    """What is wrong with an element's names: the rule, what it says and what to do."""
    for name in own:
        if _lacks_almanac(inspection, name):
            what = "says what an almanac knows, and the season has no [almanac]"
            return "key", what, "add the table to the season file, or delete this"
        if name.startswith("show-"):
            return _wrong_fact(inspection, name)
        if name == MOON_DISC or name.endswith(f"-{MOON_DISC}"):
            return _wrong_moon(inspection, element, name)
        if element.tag == SVG + "rect" and ruled(name):
            return None
        if is_key(name):
            kinds, own_key = _told_on(inspection, name)
            keys = map(keys_of_kind, kinds)
            known = name in labels.known or all(own_key in those for those in keys)
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
    return _near_miss(inspection, element, own, labels)


def _told_on(inspection: Inspection, key: str) -> tuple[Sequence[str], str]:
    """The kinds of pages that must know a key, and what they call it: one of a date in the sample
    for months is a month's."""
    within, rest = in_month(key)
    return (("month",) if within else inspection.kinds), rest


def _lacks_almanac(inspection: Inspection, name: str) -> bool:
    """Whether a name is a day's that only an almanac can tell, in a season without one."""
    kinds, known = _told_on(inspection, name.removeprefix("show-"))
    if not inspection.usage.uses or all(use.almanac for use in inspection.usage.uses):
        return False
    return f"-{known}".endswith(tuple(f"-{part}" for part in ALMANAC_PARTS)) and any(
        known in facts.texts or known in facts.flags or known in facts.moons
        for facts in map(facts_of_kind, kinds)
    )


def _wrong_moon(
    inspection: Inspection, element: etree._Element, name: str
) -> tuple[str, str, str] | None:
    kinds, key = _told_on(inspection, name)
    for kind in kinds:
        known = facts_of_kind(kind).moons
        if key not in known:
            return "key", f"{name!r} isn't a key on {PAGES[kind]}", key_advice(name, list(known))
    if not can_be_moon(element):
        return "key", "is to be a moon and isn't a rectangle or a circle", "give one this id"
    return None


def _wrong_fact(inspection: Inspection, name: str) -> tuple[str, str, str] | None:
    kinds, flag = _told_on(inspection, name.removeprefix("show-"))
    for kind in kinds:
        shown = [f"show-{flag}" for flag in facts_of_kind(kind).flags]
        if f"show-{flag}" not in shown:
            message = f"names nothing that can be shown on {PAGES[kind]}"
            return "key", message, key_advice(name, shown)
    return None


def _near_miss(
    inspection: Inspection, element: etree._Element, own: tuple[str, ...], labels: _Labels
) -> tuple[str, str, str] | None:
    if element.tag == SVG + "rect" and any(looks_ruled(name) for name in own):
        remedy = "write it like 'lines-6mm' or 'dots-5mm-centre'"
        return "key", "isn't the name of a ruled area", remedy
    for kind in inspection.kinds:
        known = keys_of_kind(kind) | labels.known
        show = [f"show-{flag}" for flag in facts_of_kind(kind).flags]
        name = mistaken_name(element, own, known, show)
        if name is not None and name.startswith("label-"):
            return "key", labels.lacking(name), label_advice(name, labels.known, labels.file(name))
        if name is not None:
            return "key", f"isn't a key on {PAGES[kind]}", key_advice(name, [*known, *show])
    return None


class _Labels:
    """The label keys a page can count on, in every language its seasons are made in."""

    def __init__(self, inspection: Inspection) -> None:
        collection, uses = inspection.usage.collection, inspection.usage.uses
        self.broken: list[DrawingFinding] = []
        self._by_language: dict[str, Labels] = {}
        self._files: dict[str, Labels] = {}
        if collection is None:
            # Nothing says which labels there are: all that are used may be.
            used = {name for _, own in inspection.named for name in own}
            self.known = frozenset(name for name in used if name.startswith("label-"))
            return
        languages = dict.fromkeys(language for use in uses for language in use.languages)
        fallbacks = sorted({use.label_fallback for use in uses if use.label_fallback})
        if not languages:
            files = sorted((collection.folder / "labels").glob("*.toml"))
            languages = dict.fromkeys(file.stem for file in files)
        for language in languages:
            found: Labels = {}
            for tag in (language, *fallbacks):
                if collection.label_files(tag) or not fallbacks:
                    try:
                        found = {**collection.labels(tag), **found}
                    except UserError as problem:
                        message = f"{problem.place}: {problem.what}"
                        wrong = inspection.finding("label", [], message, problem.remedy)
                        self.broken.append(wrong)
            self._by_language[language] = found
        for file in sorted((collection.folder / "labels").glob("*.toml")):
            with contextlib.suppress(UserError):  # which is told, where a season needs the file
                if root_of(file.stem) == file.stem:
                    self._files[file.stem] = collection.labels(file.stem)
        known = [
            frozenset(f"label-{key}" for key in labels) for labels in self._by_language.values()
        ]
        combined = frozenset.intersection if uses else frozenset.union
        self.known = combined(*known) if known else frozenset()

    def exchanged(self, own: Sequence[str]) -> tuple[str, Severity | None] | None:
        """That a label's words are another language's: what it says, and how sure it is.

        It is sure where the letters are of a script that another of the collection's languages is
        written in, where two languages each have words or letters of the other's, or one has
        several words of another's; less so where one has letters that only the other has.
        """
        for key in (name.removeprefix("label-") for name in own if name.startswith("label-")):
            said = {tag: labels[key] for tag, labels in self._files.items() if key in labels}
            for speaks in (self._in_script, self._surely, self._maybe):
                for tag, other in itertools.permutations(said, 2):
                    if speaks(key, tag, other):
                        sure = speaks != self._maybe
                        verb = "is" if sure else "seems to be"
                        return (
                            f"says {said[tag][0]!r} in labels/{tag}.toml, which {verb} in the"
                            f" language of labels/{other}.toml (there it is {said[other][0]!r})",
                            None if sure else Severity.LOOK,
                        )
        return None

    def _in_script(self, key: str, tag: str, other: str) -> bool:
        return _in_script_of(self._files[tag][key], tag, other)

    def _surely(self, key: str, tag: str, other: str) -> bool:
        mine, theirs = self._borrowed(key, tag, other), self._borrowed(key, other, tag)
        return bool(mine and theirs) or sum(len(sign) > 1 for sign in mine) >= 2

    def _maybe(self, key: str, tag: str, other: str) -> bool:
        """Whether a label has a letter of another language, whose own words have none here."""
        strange = [sign for sign in self._borrowed(key, tag, other) if len(sign) == 1]
        own = [sign for sign in _signs(self._files[other][key]) if len(sign) == 1]
        here = _signs(self._files[tag][key])
        return bool(strange) and all(self._spoken[tag][sign] > (sign in here) for sign in own)

    def _borrowed(self, key: str, tag: str, other: str) -> set[str]:
        """What words and accented letters a label has that another language's labels have, and
        its own language's do not."""
        if self._files[tag][key] == self._files[other][key]:
            return set()
        return {
            sign
            for sign in _signs(self._files[tag][key])
            if self._spoken[other][sign] > (sign in _signs(self._files[other][key]))
            and self._spoken[tag][sign] == 1
        }

    @functools.cached_property
    def _spoken(self) -> dict[str, Counter[str]]:
        """In how many labels of each language there is a word or letter."""
        return {
            tag: Counter(itertools.chain.from_iterable(map(_signs, labels.values())))
            for tag, labels in self._files.items()
        }

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

    def asked(self, element: etree._Element, own: Sequence[str]) -> AskedLabel | None:
        """The label that a text asks for and that can be written; None where there is none."""
        text = find_text(element)
        for name in own:
            key = name.removeprefix("label-")
            if name != key and text is not None and LABEL_KEY.fullmatch(key):
                runs = (
                    " " * any(place in run.attrib for place in ("x", "y", "dy")) + (run.text or "")
                    for run in text.iter()
                )
                drawn = " ".join("".join(runs).split())
                words = tuple(
                    (tag, labels.get(key, ("",))[0]) for tag, labels in self._by_language.items()
                )
                return AskedLabel(key, drawn, words) if words else None
        return None

    def is_drawn_otherwise(self, asked: AskedLabel) -> bool:
        """Whether a text is drawn with words that its label has in no language."""
        every = itertools.chain(self._by_language.values(), self._files.values())
        said = {form for labels in every for form in labels.get(asked.key, ())}
        return bool(asked.drawn) and asked.drawn not in said

    def _lacking(self, name: str) -> list[str]:
        key = name.removeprefix("label-")
        return [tag for tag, labels in self._by_language.items() if key not in labels]


def _in_script_of(forms: Sequence[str], tag: str, other: str) -> bool:
    """Whether a label in one language is all in letters that only the other is written in.

    Latin letters are read and borrowed everywhere and tell nothing.
    """
    letters = [script_of(sign) for sign in "".join(forms) if sign.isalpha()]
    foreign = set(scripts_of(other)) - {"Latn", *scripts_of(tag)}
    return len(letters) >= 2 and all(script in foreign for script in letters)


def _signs(forms: Sequence[str]) -> frozenset[str]:
    """What tells a language: its words of three letters and more, and its letters with accents."""
    text = " ".join(forms).casefold()
    words = {word for word in re.findall(r"[^\W\d_]+", text) if len(word) > 2}
    return frozenset(words | {sign for sign in text if sign.isalpha() and not sign.isascii()})


def check_missing(inspection: Inspection) -> Iterator[DrawingFinding]:
    """Keys that are not there, though others of their kind are: lost ones and missing ones."""
    lost = list(_lost_keys(inspection))
    yield from lost
    if not lost:  # a lost key is a missing one too
        yield from _missing(inspection)
    yield from _lost_shows(inspection)


def _missing(inspection: Inspection) -> Iterator[DrawingFinding]:
    there = [name for _, own in inspection.named for name in own if name in ALL_KEYS]
    there += [name for _, name, _ in inspection.taken_out]  # told by themselves
    yield from _blank_tab(inspection)
    for family, parts in numbered_keys(there).items():
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


def _blank_tab(inspection: Inspection) -> Iterator[DrawingFinding]:
    tabbed = [use.name for use in inspection.usage.uses if use.tab]
    own = {name for _, every in inspection.named for name in every}
    near = any(nearest(name, [TAB_LABEL]) for name in own - ALL_KEYS)  # told by itself
    if tabbed and TAB_LABEL not in own and not near:
        message = f"has no {TAB_LABEL!r}, so the tab of its leaf stays blank in set {tabbed[0]!r}"
        yield inspection.finding("missing", [], message)


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


# What once had a key, or should have one

_EDITORS = re.compile(
    r"(?:g|group|layer|text|tspan|rect|rectangle|path|circle|ellipse|use|shape|object|clip|leafset)"
    r"\d*(?:[-_.]\d+)*$"
)
"""What editors call things that nobody has named."""

_LONGEST = 30
"""The sample of a key is not longer, in characters (by eye)."""

_ALIGNED_MM = 0.3
"""Things that stand in line do so within this (by eye)."""


class _Loose(NamedTuple):
    """A line of a text that no key stands on: its words, and its box on the page."""

    element: etree._Element
    words: str
    box: Rect


def _nameless(element: etree._Element) -> bool:
    return all(_EDITORS.match(name) for name in names(element))


def _is_loose(element: etree._Element) -> bool:
    """Whether nobody has named an element, or anything around it as a key."""
    return _nameless(element) and not _is_keyed(element)


def _is_keyed(element: etree._Element) -> bool:
    return any(is_key(name) or ruled(name) for step in lineage(element) for name in names(step))


def _loose(inspection: Inspection) -> Iterator[_Loose]:
    """Lines of texts that have no key."""
    for item in inspection.painted:
        if item.element.tag == SVG + "text" and not _is_keyed(item.element):
            lines = list(lines_of(item.element))
            boxes = text_boxes(item, inspection.book)
            if len(lines) == len(boxes):
                for (_, words, _, _), box in zip(lines, boxes, strict=True):
                    yield _Loose(item.element, words, box)


def _lost_keys(inspection: Inspection) -> Iterator[DrawingFinding]:
    """Unseen boxes with texts, and texts in line with keys of which one is missing."""
    keyed = [element for element, own in inspection.named if any(map(is_key, own))]
    boxed = any(_unseen_box(element) is not None for element in keyed)
    told: set[etree._Element] = set()
    loose = [text for text in _loose(inspection) if _nameless(text.element)]
    if boxed:
        for rect in inspection.template.root.iter(SVG + "rect"):
            holder = _lost_group(rect, loose) if _is_loose(rect) and not is_inked(rect) else None
            if holder is not None:
                texts = _texts_of(holder, rect, loose)
                told.update(text.element for text in texts)
                said = ", ".join(repr(text.words) for text in texts)
                message = (
                    f"is an invisible box with {said}, as keys are drawn, but its id is no key"
                )
                message += ": every page will say the same"
                yield inspection.finding("key-lost", [holder], message, _advice(inspection, texts))
    for text in loose:
        name = None if text.element in told else _key_in_line(inspection, text)
        if name is not None:
            told.add(text.element)
            message = f"is {text.words!r} in line with others that have keys, but it has none"
            yield inspection.finding("key-lost", [text.element], message, f"name it {name!r}")


def _advice(inspection: Inspection, texts: Sequence[_Loose]) -> str:
    guesses = {name for text in texts if (name := _key_in_line(inspection, text))}
    return f"name it {guesses.pop()!r}" if len(guesses) == 1 else ""


def _unseen_box(group: etree._Element) -> etree._Element | None:
    rect = group.find(f".//{SVG}rect") if group.tag == SVG + "g" else None
    return rect if rect is not None and not is_inked(rect) else None


def _lost_group(rect: etree._Element, loose: Sequence[_Loose]) -> etree._Element | None:
    """The group around an unseen box with one to three short texts, or the box if it has none."""
    parent = rect.getparent()
    if parent is None or any(map(is_key, _inner_names(parent))):
        holder = rect
    elif parent.tag != SVG + "g" or not _nameless(parent):
        return None
    else:
        holder = parent
    texts = _texts_of(holder, rect, loose)
    area = page_matrix(rect).bounds(rect_of(rect))
    if not 1 <= len(texts) <= 3 or any(len(text.words) > _LONGEST for text in texts):
        return None
    high = max(text.box.height for text in texts)
    month = len(texts) > 1 and all(len(text.words) <= 3 for text in texts)
    return holder if month or area.height <= 3 * high else None


def _texts_of(
    holder: etree._Element, rect: etree._Element, loose: Sequence[_Loose]
) -> list[_Loose]:
    if holder is not rect:
        inside = set(holder.iter(SVG + "text"))
        return [text for text in loose if text.element in inside]
    area = page_matrix(rect).bounds(rect_of(rect)).grown(_ALIGNED_MM)
    beside = rect.getparent()
    return [
        text
        for text in loose
        if text.element.getparent() is beside
        and area.holds(Rect(text.box.x, text.box.y + text.box.height / 2, 0, 0))
    ]


def _inner_names(group: etree._Element) -> Iterator[str]:
    """All names in a group."""
    return (name for element in group.iter() for name in names(element))


def _key_in_line(inspection: Inspection, text: _Loose) -> str | None:
    """The missing key of a row or column of keys that a text stands in, set as they are."""
    style = _look(text.element)
    for (family, part), members in _series(inspection).items():
        alike = [other for other in members.values() if _look(other.element) == style]
        in_line = [
            other
            for other in alike
            if abs(other.box.x - text.box.x) < _ALIGNED_MM
            or abs(other.box.y - text.box.y) < _ALIGNED_MM
        ]
        lost = _lost_numbers(inspection, family, set(members))
        if len(in_line) >= min(2, len(members)) and lost:
            number = min(lost, key=lambda one: _off(one, text, members))
            return f"{family}{number}-{part}"
    return None


def _off(number: int, text: _Loose, members: Mapping[int, _Loose]) -> float:
    """How far from where a key of that number would stand, going by its neighbours, a text is."""
    near = sorted(members, key=lambda other: abs(other - number))[:2]
    one = members[near[0]].box
    if len(near) < 2:
        return abs(one.y - text.box.y)
    other = members[near[1]].box
    steps = (number - near[0]) / (near[1] - near[0])
    x, y = one.x + steps * (other.x - one.x), one.y + steps * (other.y - one.y)
    return abs(x - text.box.x) + abs(y - text.box.y)


def _look(element: etree._Element) -> tuple[object, ...]:
    run = next((step for step in element.iter() if (step.text or "").strip()), element)
    style = computed_style(run)
    size = round(style.size * page_matrix(element).scale_y, 2)
    return size, style.families, style.weight, style.italic, property_of(run, "fill")


def _series(inspection: Inspection) -> dict[tuple[str, str], dict[int, _Loose]]:
    """Texts of numbered keys by family and part, then by number."""
    found: dict[tuple[str, str], dict[int, _Loose]] = {}
    for element, own in inspection.named:
        for name in own:
            match = NUMBERED.match(name) if name in ALL_KEYS else None
            text = find_text(element) if match else None
            if match and text is not None and not name.endswith("-grid"):
                boxes = text_boxes(Item(text, page_matrix(text)), inspection.book)
                if boxes:
                    family, number, part = match.groups()
                    one = _Loose(text, name, boxes[0])
                    found.setdefault((family, part), {})[int(number)] = one
    return found


def _lost_numbers(inspection: Inspection, family: str, numbers: set[int]) -> set[int]:
    """Numbers of a family's keys that a part of it lacks."""
    every = [name for _, own in inspection.named for name in own if name in ALL_KEYS]
    shown = set().union(*numbered_keys(every).get(family, {"": set()}).values())
    lacking = shown | set(range(min(numbers), max(numbers)))
    for use in inspection.usage.uses:
        if family in _WHOLE:
            beside = numbers_on(inspection.usage, use.beside, family)
            lacking |= set(range(1, _WHOLE[family] + 1)) - beside
    return lacking - numbers


# Figures that someone typed

_FIGURE = re.compile(r"\(?(\d{1,2})(?:\.|st|nd|rd|th)?\)?$")
_ENDINGS = ("st", "nd", "rd", "th")
_BESIDE_MM = 10.0
"""A figure so near a day's text is read with it (by eye)."""


class _Figure(NamedTuple):
    value: int
    text: _Loose


def check_figures(inspection: Inspection) -> Iterator[DrawingFinding]:
    """Small months typed by hand, and figures beside the days that no key stands on."""
    figures = [
        _Figure(int(word), text)
        for text in _loose(inspection)
        if all(word.isdecimal() and 1 <= int(word) <= 31 for word in text.words.split())
        for word in text.words.split()
    ]
    typed: set[etree._Element] = set()
    by_place = sorted(figures, key=lambda one: (round(one.text.box.y), one.text.box.x))
    for order in (figures, by_place):
        for month in _months(order):
            elements = list(dict.fromkeys(one.text.element for one in month))
            if typed.isdisjoint(elements):
                typed.update(elements)
                dated = inspection.kinds != ("undated",)
                message = (
                    f"begins a month of {len(month)} days typed by hand, the same on every page"
                )
                milder = None if dated else Severity.LOOK
                head = elements[:1]
                yield inspection.finding("month-typed", head, message, milder=milder)
    yield from _strays(inspection, typed)
    yield from _second_texts(inspection)


def _months(figures: Sequence[_Figure]) -> Iterator[list[_Figure]]:
    """Runs of 1 to 28 and more that stand in four to six rows of seven at most."""
    run: list[_Figure] = []
    for figure in [*figures, None]:
        if figure is not None and figure.value == len(run) + 1:
            run.append(figure)
            continue
        rows: list[list[float]] = []
        for one in sorted(run, key=lambda one: one.text.box.y):
            if not rows or one.text.box.y - rows[-1][-1] > one.text.box.height / 2:
                rows.append([])
            rows[-1].append(one.text.box.y)
        if len(run) >= 28 and 4 <= len(rows) <= 6 and max(map(len, rows)) <= 7:
            yield run
        run = [figure] if figure is not None and figure.value == 1 else []


def _strays(inspection: Inspection, typed: set[etree._Element]) -> Iterator[DrawingFinding]:
    """Lone figures beside days; several beside one day are hours or a list."""
    days: dict[str, list[Rect]] = {}
    for (family, _), members in _series(inspection).items():
        for number, member in members.items():
            if family in _WHOLE:
                days.setdefault(f"{family}{number}", []).append(member.box)
    beside: dict[str, list[_Figure]] = {}
    for text in _loose(inspection):
        match = _FIGURE.match(text.words)
        if match and text.element not in typed and 1 <= int(match[1]) <= 31 and days:
            gaps = {day: min(_gap(box, text.box) for box in boxes) for day, boxes in days.items()}
            day = min(gaps, key=lambda one: gaps[one])
            if gaps[day] <= _BESIDE_MM:
                beside.setdefault(day, []).append(_Figure(int(match[1]), text))
    lone = {day: those[0] for day, those in beside.items() if len(those) == 1}
    values = [figure.value for figure in lone.values()]
    if lone and (len(values) == 1 or len(set(values)) == len(values)):
        day, first = next(iter(lone.items()))
        message = f"is the figure {first.text.words!r} typed beside {day}; it is on every page"
        elements = [figure.text.element for figure in lone.values()]
        yield inspection.finding("figure-stray", elements, message)


def _gap(one: Rect, other: Rect) -> float:
    across = max(0.0, one.x - other.right, other.x - one.right)
    down = max(0.0, one.y - other.bottom, other.y - one.bottom)
    return math.hypot(across, down)


def _second_texts(inspection: Inspection) -> Iterator[DrawingFinding]:
    """Figures and their endings in a key's group, of which only the first text is dated."""
    for element, own in inspection.named:
        if element.tag != SVG + "g" or not any(name in ALL_KEYS for name in own):
            continue
        if any(name.endswith("-grid") for name in own):
            continue
        for text in list(element.iter(SVG + "text"))[1:]:
            words = "".join(map(str, text.itertext())).strip()
            if words in _ENDINGS or _FIGURE.match(words):
                message = (
                    f"says {words!r} on every page: of its group the first text alone is dated"
                )
                yield inspection.finding("figure-stray", [text], message, "delete it")


# Things for some days only

_SHOW = re.compile(r"show-(day|date|month)(\d+)((?:-.+)?)$")


class _Ornament(NamedTuple):
    """Something drawn, as a group or a shape: how many things it is of, and its box, mm."""

    element: etree._Element
    parts: int
    box: Rect


def _lost_shows(inspection: Inspection) -> Iterator[DrawingFinding]:
    """Ornaments like those for certain days that lack the name; a day that lacks its ornament."""
    families: dict[tuple[str, str], dict[int, etree._Element]] = {}
    for element, own in inspection.named:
        for match in filter(None, map(_SHOW.match, own)):
            families.setdefault((match[1], match[3]), {})[int(match[2])] = element
    if not families:
        return
    every = numbered_keys(name for _, own in inspection.named for name in own if name in ALL_KEYS)
    places = _day_places(inspection)
    ornaments = _ornaments(inspection)
    told: set[etree._Element] = set()
    for (family, tail), members in families.items():
        lost = set().union(*every.get(family, {}).values()) - set(members)
        for number, element in sorted(members.items()):
            if element not in ornaments or (family, number) not in places:
                continue
            for other in sorted(lost):
                twin = _twin(ornaments, element, places, (family, number), (family, other))
                if twin is not None and twin not in told:
                    told.add(twin)
                    lost.discard(other)
                    message = (
                        f"is like 'show-{family}{number}{tail}' but has no such name, so it is"
                        " printed on every page"
                    )
                    remedy = f"name it 'show-{family}{other}{tail}'"
                    yield inspection.finding("show-lost", [twin], message, remedy)
        if len(lost) == 1 and len(members) >= 3 and not (tail == "-workday" and lost <= {6, 7}):
            name = f"show-{family}{lost.pop()}{tail}"
            message = f"has no '{name}', though the other days have theirs"
            remedy = "draw it, or leave it if that is how you want it"
            yield inspection.finding("show-lost", [], message, remedy, milder=Severity.LOOK)


def _day_places(inspection: Inspection) -> dict[tuple[str, int], tuple[float, float]]:
    """Where the days are: the top left corner of what is dated of each, by family and number."""
    boxes: dict[tuple[str, int], list[Rect]] = {}
    for (family, _), members in _series(inspection).items():
        for number, member in members.items():
            boxes.setdefault((family, number), []).append(member.box)
    return {day: (Rect.union(those).x, Rect.union(those).y) for day, those in boxes.items()}


def _ornaments(inspection: Inspection) -> dict[etree._Element, _Ornament]:
    inside: dict[etree._Element, list[Rect]] = {}
    for element, matrix in inspection.painted:
        if element.tag in SHAPE_TAGS and (hull := outline(element).hull) is not None:
            for step in lineage(element):
                inside.setdefault(step, []).append(matrix.bounds(hull))
    return {step: _Ornament(step, len(those), Rect.union(those)) for step, those in inside.items()}


def _twin(
    ornaments: Mapping[etree._Element, _Ornament],
    element: etree._Element,
    places: Mapping[tuple[str, int], tuple[float, float]],
    own: tuple[str, int],
    other: tuple[str, int],
) -> etree._Element | None:
    """An unnamed thing like an ornament that stands to another day as that does to its own."""
    if other not in places:
        return None
    one = ornaments[element]
    x = one.box.x + places[other][0] - places[own][0]
    y = one.box.y + places[other][1] - places[own][1]
    for step, two in ornaments.items():
        alike = (
            two.parts == one.parts
            and abs(two.box.width - one.box.width) < _ALIGNED_MM
            and abs(two.box.height - one.box.height) < _ALIGNED_MM
            and math.hypot(two.box.x - x, two.box.y - y) < 2.0
        )
        called = (name for each in lineage(step) for name in names(each))
        if alike and _is_loose(step) and not any(name.startswith("show-") for name in called):
            return step
    return None
