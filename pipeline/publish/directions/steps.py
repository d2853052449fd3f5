"""Which steps a set takes, and what each of them says, in the language of the directions.

Sentences stand in a file a language; plural categories, figures, units and lists are CLDR's,
through Babel.
"""

from __future__ import annotations

import datetime as dt
import re
import tomllib
from collections.abc import Collection, Mapping, Sequence
from dataclasses import dataclass
from functools import cached_property
from pathlib import Path
from typing import Any

from babel.lists import format_list
from babel.numbers import format_percent
from babel.units import format_compound_unit, format_unit

from pipeline.base.geometry import Rect
from pipeline.impose import BOTH
from pipeline.impose.bench import LEAVES_A_PUNCH
from pipeline.impose.contents import Contents
from pipeline.impose.sheet import Placement, Sheet
from pipeline.plan.languages import digits, parents
from pipeline.plan.model import Binder, Paper
from pipeline.plan.sizes import bond_gsm
from pipeline.plan.words import Words, words_for
from pipeline.publish.zips import FEED_TEST, SIDE_2_REVERSED, buyers_names, within

WORDS = Path(__file__).parent / "words"
_ELSE = "en"
_UNIT_FORMAT = "#,##0.#"

_NUMBERED = re.compile(r" (?=\{(?:first|last|check)\}|\d)")
_COUNTED = re.compile(r"(?<=\d) (?=[^\W\d])")
"""Spaces that no line ends at: before the number of a thing, after a figure that counts things."""

Phrase = str | Mapping[str, str]
"""A sentence, or its plural forms by category; ``by`` in these names the count that decides."""


@dataclass(frozen=True)
class Phrases:
    """The phrases of one language: section (``text``, ``heading``, …) to key to phrase.

    >>> phrases = phrases_for("en-GB")
    >>> phrases.text("fold", {"folds": 1}).split(), phrases.text("fold", {"folds": 26}).split()
    (['1', 'leaf', 'has', 'a', 'flap.'], ['26', 'leaves', 'have', 'a', 'flap.'])
    >>> phrases.weight(129.1).split(), phrases.per_square_metre(120.3).split()
    (['129', 'g'], ['120', 'g/m²'])
    """

    language: str
    words: Words
    of: Mapping[str, Any]

    @property
    def leading(self) -> float:
        """From one baseline to the next, in type sizes: tall scripts need more."""
        return float(self.of["leading"])

    @property
    def drop(self) -> float:
        """Room below headings for what a script hangs there and raises above, in type sizes."""
        return float(self.of["drop"])

    @property
    def page(self) -> str:
        """How a page's number is written, with {page} and {pages}."""
        return str(self.of["page"])

    def text(self, key: str, facts: Mapping[str, object], section: str = "text") -> str:
        """A phrase with its facts put in; whole numbers are written in the locale's figures."""
        phrase: Phrase = self.of[section][key]
        if not isinstance(phrase, str):
            phrase = phrase[self._category(phrase, facts)]
        written = {name: self._written(value) for name, value in facts.items()}
        return _COUNTED.sub("\u00a0", _NUMBERED.sub("\u00a0", phrase).format_map(written))

    def _category(self, forms: Mapping[str, str], facts: Mapping[str, object]) -> str:
        count = facts[forms["by"]]
        assert isinstance(count, int)
        return str(self.words.locale.plural_form(count))

    def _written(self, value: object) -> str:
        return self.words.number(value) if isinstance(value, int) else str(value)

    def paper(self, name: str, title: str) -> str:
        """What a paper is called here: by its own title, if the language has no other name."""
        return str(self.of["paper"].get(name, title))

    def weight(self, grams: float) -> str:
        """A weight to the gram."""
        return self._unit(round(grams), "mass-gram")

    def pounds(self, pounds: float) -> str:
        """A paper's weight to the pound, in every language as it stands on the wrapper."""
        return f"{self.words.number(round(pounds))}\u00a0lb"

    def length(self, mm: float) -> str:
        """A length to the tenth of a millimetre."""
        return self._unit(round(mm, 1), "length-millimeter")

    def per_square_metre(self, grams: float) -> str:
        """A paper's weight, g/m²."""
        written = format_compound_unit(
            round(grams),
            "mass-gram",
            denominator_unit="area-square-meter",
            length="short",
            format=_UNIT_FORMAT,
            locale=self.words.locale,
            numbering_system=self.words.figures,
        )
        assert written is not None  # CLDR has both units in every language
        return self._measured(written)

    def _unit(self, value: float, unit: str) -> str:
        written = format_unit(
            value,
            unit,
            length="short",
            format=_UNIT_FORMAT,
            locale=self.words.locale,
            numbering_system=self.words.figures,
        )
        return self._measured(written)

    @property
    def whole(self) -> str:
        """A hundred per cent."""
        figures = self.words.figures
        written = format_percent(1, locale=self.words.locale, numbering_system=figures)
        sign = self.words.locale.number_symbols[figures]["percentSign"]
        return self._measured(written.replace("%", sign))

    def joined(self, sentences: Sequence[str]) -> str:
        """Sentences as one paragraph; Japanese sets no space between them."""
        return ("" if self.words.locale.language == "ja" else " ").join(sentences)

    def listed(self, items: Sequence[str]) -> str:
        """Items as one reads them aloud: "1–26 and 27"."""
        return format_list(list(items), locale=self.words.locale)

    def _measured(self, written: str) -> str:
        """A figure and its unit, kept on one line by a space that every face has.

        Babel writes the signs of a numbering system but not its figures.
        """
        native = {
            ord("0") + value: figure for value, figure in enumerate(digits(self.words.figures))
        }
        return written.translate({**native, 0x202F: "\u00a0", 0x20: "\u00a0"})


def phrases_for(language: str) -> Phrases:
    """The phrases of a locale: its own file over those it inherits from; else English.

    >>> phrases_for("de-AT").text("turn", {}, "heading")
    'Den Stapel wenden'
    >>> phrases_for("fi").language
    'en'
    """
    files = [WORDS / f"{name}.toml" for name in parents(language)]
    there = [path for path in files if path.is_file()]
    if not there:
        return phrases_for(_ELSE)
    merged: dict[str, Any] = {}
    for path in reversed(there):
        for section, entry in tomllib.loads(path.read_text("utf-8")).items():
            known = merged.get(section)
            merged[section] = {**known, **entry} if isinstance(known, dict) else entry
    return Phrases(language, words_for(language), merged)


@dataclass(frozen=True)
class Heap:
    """Sheets that are cut together: their numbers, and how the leaves lie on side 1 (mm).

    A leaf that has no room of its own on the last sheets of a heap is missing there.
    """

    first: int
    last: int
    flats: tuple[Rect, ...]


@dataclass(frozen=True)
class Account:
    """The counts of one imposed set, from its ``contents.json``."""

    contents: Contents

    @property
    def sheets(self) -> int:
        """Sheets of paper to print."""
        return len(self.contents.sheets)

    @property
    def leaves(self) -> int:
        """Leaves for the binder."""
        return len(self.contents.leaves)

    @property
    def folds(self) -> int:
        """Leaves with a flap."""
        return self.contents.bench.folds

    @property
    def cuts(self) -> int:
        """Strokes of a guillotine that takes a whole heap."""
        return self.contents.bench.cuts

    @property
    def punch_strokes(self) -> int:
        """Strokes of a punch that makes all holes of a few leaves at once."""
        return self.contents.bench.punch_strokes

    @property
    def holes(self) -> int:
        """Holes in a leaf."""
        return len(self.contents.binder.holes.centres_mm)

    @cached_property
    def flaps_mm(self) -> tuple[float, ...]:
        """The widths of flaps there are, each once, mm."""
        return tuple(sorted({leaf.flap_mm for leaf in self.contents.leaves} - {0.0}))

    @property
    def sheet_mm(self) -> tuple[float, float]:
        """The width and height of the sheets."""
        sheet = self.contents.sheets[0]
        return sheet.width_mm, sheet.height_mm

    def pages(self, file: str) -> int:
        """How many pages one of the set's files has."""
        return next(one.pages or 0 for one in self.contents.files if one.name == file)

    @cached_property
    def days(self) -> tuple[dt.date, dt.date] | None:
        """The first and the last day that the pages show; None for undated sets."""
        dates = [
            date
            for leaf in self.contents.leaves
            for page in (leaf.recto, leaf.verso)
            if page
            for date in page.dates
        ]
        return (min(dates), max(dates)) if dates else None

    @cached_property
    def heaps(self) -> tuple[Heap, ...]:
        """Sheets in printing order, parted wherever they are to be cut otherwise.

        A sheet belongs to the heap before it when its leaves lie in the same places and each
        follows on the one above it.
        """
        heaps: list[list[Sheet]] = []
        for sheet in self.contents.sheets:
            if heaps and _continues(heaps[-1][-1].side_1, sheet.side_1):
                heaps[-1].append(sheet)
            else:
                heaps.append([sheet])
        return tuple(
            Heap(
                first=heap[0].number,
                last=heap[-1].number,
                flats=tuple(placed.flat for placed in heap[0].side_1),
            )
            for heap in heaps
        )

    @property
    def piles(self) -> int:
        """Piles there are once all heaps are cut."""
        return sum(len(heap.flats) for heap in self.heaps)

    @property
    def one_leaf_a_sheet(self) -> bool:
        """Whether the order of the sheets is the order of the leaves, and nothing to be stacked."""
        return all(len(heap.flats) == 1 for heap in self.heaps)


def _continues(above: Sequence[Placement], below: Sequence[Placement]) -> bool:
    return len(below) <= len(above) and all(
        under.flat == over.flat and under.leaf == over.leaf + 1
        for over, under in zip(above, below, strict=False)
    )


CHECK_STEP = 5
"""The number of the step in which printed sheets are checked: the last one at the printer."""

BAR_MM = 100
"""The measured bar that every sheet carries."""


@dataclass(frozen=True)
class Step:
    """One step: its picture's name, its heading and its text."""

    picture: str
    heading: str
    text: str


@dataclass(frozen=True)
class Order:
    """All that the directions of one set are made from."""

    account: Account
    phrases: Phrases
    binder: Binder
    paper: Paper
    files: Collection[str]

    @property
    def paper_name(self) -> str:
        """What the paper is called in this language."""
        return self.phrases.paper(self.paper.name, self.paper.title)

    def figures(self) -> list[tuple[str, str]]:
        """Label and value of what the buyer has in hand: dates, sheets, leaves, flaps, paper."""
        account, phrases = self.account, self.phrases
        bench = account.contents.bench
        flap = phrases.length(account.flaps_mm[0]) if len(account.flaps_mm) == 1 else ""
        facts: Mapping[str, object] = {
            "sheets": account.sheets,
            "paper": self.paper_name,
            "leaves": account.leaves,
            "binder": self.binder.title,
            "folds": account.folds,
            "flap": flap,
            "gsm": phrases.per_square_metre(bench.gsm),
            "lb": phrases.pounds(bench.gsm / bond_gsm(1)),
            "weight": phrases.weight(bench.weight_g),
            "thickness": phrases.length(bench.thickness_mm),
        }
        asked = ["sheets", "leaves", *(["flaps"] if account.folds else []), "paper", "pack"]
        value_of = {key: key for key in asked} | ({} if flap else {"flaps": "flaps-several"})
        said = [
            (phrases.text(key, {}, "fact"), phrases.text(value_of[key], facts, "value"))
            for key in asked
        ]
        if account.days:
            days = phrases.words.interval(*account.days, "yMMMMd")
            said.insert(0, (phrases.text("dates", {}, "fact"), days))
        return said

    def at_the_printer(self) -> list[Step]:
        """The steps up to the sheets that lie printed and checked."""
        tested = FEED_TEST in self.files
        several = self.account.sheets > 1
        flip = self.account.contents.flip.value
        turned_back = several and SIDE_2_REVERSED in self.files
        return [
            self._step("feed", "feed", "feed-turn") if tested else self._step("trial", "trial"),
            self._step("side-one", "side-one", "true-size", f"duplex-{flip}"),
            self._step("turn", "turn" if tested else "turn-trial"),
            self._step(
                "side-two",
                "side-two",
                *(["side-two-reversed"] if turned_back and tested else []),
                *(["side-two-first"] if several else []),
            ),
            self._step("check", "check", "check-match"),
        ]

    def at_the_bench(self) -> list[Step]:
        """The steps from the printed sheets to the leaves in the binder."""
        account = self.account
        heaps = ["cut-heaps"] if len(account.heaps) > 1 else []
        steps = [self._step("cut", "cut", *heaps, "cut-strokes", "cut-knife")]
        if not account.one_leaf_a_sheet:
            steps.append(self._step("stack", "stack"))
        if account.holes:
            bound = f"punch-{account.contents.binding.value}"
            steps.append(self._step("punch", "punch", "punch-holes", bound))
        if account.folds:
            steps.append(self._step("fold", "fold", "fold-how"))
        order = "binder-sheets" if account.one_leaf_a_sheet else "binder-pile"
        flaps = ["binder-flaps"] if account.folds else []
        steps.append(self._step("binder", order, *flaps))
        return steps

    def caution(self) -> Step:
        """What is said before anything is cut."""
        return self._step("caution", "caution")

    def _step(self, name: str, *sentences: str) -> Step:
        facts = self._facts()
        said = [self.phrases.text(key, facts) for key in sentences]
        heading = self.phrases.text(name, {}, "heading")
        return Step(name, heading, self.phrases.joined(said))

    def _facts(self) -> dict[str, object]:
        account, phrases = self.account, self.phrases
        holes = account.contents.binder.holes
        return {
            **self._names(),
            "percent": phrases.whole,
            "bar": phrases.length(BAR_MM),
            "paper": self.paper_name,
            "sheets": account.sheets,
            "pages": account.pages(BOTH),
            "check": CHECK_STEP,
            "heaps": len(account.heaps),
            "ranges": phrases.listed([self._range(h.first, h.last) for h in account.heaps]),
            "cuts": account.cuts,
            "piles": account.piles,
            "leaves": account.leaves,
            "each": LEAVES_A_PUNCH,
            "strokes": account.punch_strokes,
            "holes": account.holes,
            "edge": phrases.length(holes.edge_mm),
            "folds": account.folds,
            "width": phrases.length(account.contents.binder.width_mm),
            "first": 1,
            "last": account.sheets,
        }

    def _names(self) -> dict[str, object]:
        """Files as buyers see them, by what stands for them in a phrase."""
        names = buyers_names(feed_test=FEED_TEST in self.files)
        right_to_left = self.phrases.words.right_to_left
        return {
            name.removesuffix(".pdf").replace("-", "_"): within(seen, right_to_left=right_to_left)
            for name, seen in names.items()
            if name.endswith(".pdf")
        }

    def _range(self, first: int, last: int) -> str:
        number = self.phrases.words.number
        return number(first) if first == last else f"{number(first)}–{number(last)}"
