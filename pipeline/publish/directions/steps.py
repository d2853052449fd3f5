"""Which steps a set takes, and what each of them says: nothing that this set has no use for."""

from __future__ import annotations

import datetime as dt
from collections.abc import Collection, Mapping, Sequence
from dataclasses import dataclass
from functools import cached_property

from pipeline.base.geometry import Rect
from pipeline.impose import BOTH
from pipeline.impose.bench import LEAVES_A_PUNCH
from pipeline.impose.contents import Contents
from pipeline.impose.sheet import Placement, Sheet
from pipeline.plan.model import Binder, Paper
from pipeline.plan.sizes import bond_gsm
from pipeline.publish.directions.phrases import Phrases
from pipeline.publish.zips import FEED_TEST, SIDE_2_REVERSED, buyers_names, within


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
