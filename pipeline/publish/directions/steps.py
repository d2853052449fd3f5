"""Which steps a set takes, and what each of them says, in the language of the directions.

Sentences stand in a file a language; plural categories, figures, units and lists are CLDR's,
through Babel.
"""

from __future__ import annotations

import datetime as dt
import functools
import itertools
import re
from collections.abc import Collection, Mapping, Sequence
from dataclasses import dataclass
from functools import cached_property
from pathlib import Path
from typing import Any, NamedTuple, Self

from babel.numbers import format_percent
from babel.units import format_compound_unit, format_unit

from pipeline.base.geometry import Rect
from pipeline.impose import BOTH, SIDE_1, SIDE_2
from pipeline.impose.bench import LEAVES_A_PUNCH, cut_order
from pipeline.impose.contents import SCREEN, Contents, other_face
from pipeline.impose.sheet import Placement, Sheet
from pipeline.plan.model import Binder, Paper, Side
from pipeline.plan.sizes import bond_gsm
from pipeline.plan.words import Phrases
from pipeline.publish.pictures.listing import shop_words
from pipeline.publish.zips import FEED_TEST, HOLE_GAUGE, SIDE_2_REVERSED, buyers_names, within

WORDS = Path(__file__).parent / "words"

_NUMBERED = re.compile(r" (?=\{(?:first|last|check|late)\}|\d)")
_COUNTED = re.compile(r"(?<=\d) (?=[^\W\d])")
"""Spaces that no line ends at: before the number of a thing, after a figure that counts things."""


class StepPhrases(Phrases):
    """The phrases of directions: section (``text``, ``heading``, …) to key to phrase.

    ``leading`` in it is from one baseline to the next, in type sizes: tall scripts need more;
    ``drop`` room below headings for what a script hangs there and raises above.

    >>> phrases = phrases_for("en-GB")
    >>> phrases.text("fold", {"folds": 1}).split(), phrases.text("fold", {"folds": 26}).split()
    (['1', 'leaf', 'has', 'a', 'flap.'], ['26', 'leaves', 'have', 'a', 'flap.'])
    >>> phrases.weight(129.1).split(), phrases.per_square_metre(120.3).split()
    (['129', 'g'], ['120', 'g/m²'])
    """

    def text(self, key: str, facts: Mapping[str, object], section: str = "text") -> str:
        """A phrase with its facts put in; whole numbers are written in the locale's figures."""
        phrase = _NUMBERED.sub("\u00a0", self.phrase(section, key, facts))
        return _COUNTED.sub("\u00a0", self.put_in(phrase, facts))

    def weight(self, grams: float) -> str:
        """A weight to the gram."""
        return self._measured(format_unit(round(grams), "mass-gram", **self._as))

    def length(self, mm: float) -> str:
        """A length to the tenth of a millimetre."""
        return self._measured(format_unit(round(mm, 1), "length-millimeter", **self._as))

    def per_square_metre(self, grams: float) -> str:
        """A paper's weight, g/m²."""
        area = "area-square-meter"
        written = format_compound_unit(round(grams), "mass-gram", denominator_unit=area, **self._as)
        assert written is not None  # CLDR has both units in every language
        return self._measured(written)

    @property
    def _as(self) -> dict[str, Any]:
        local = {"locale": self.local.locale, "numbering_system": self.local.figures}
        return {"length": "short", "format": "#,##0.#", **local}

    @property
    def whole(self) -> str:
        """A hundred per cent."""
        locale, figures = self.local.locale, self.local.figures
        written = format_percent(1, locale=locale, numbering_system=figures)
        return self._measured(written.replace("%", locale.number_symbols[figures]["percentSign"]))

    def _measured(self, written: str) -> str:
        """A figure and its unit, kept on one line by a space that every face has.

        Babel writes the signs of a numbering system but not its figures.
        """
        return self.local.native(written).translate({0x202F: "\u00a0", 0x20: "\u00a0"})


phrases_for = functools.partial(StepPhrases.read, WORDS)
"""The phrases of directions in a language."""


class Heap(NamedTuple):
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

    @cached_property
    def flaps_mm(self) -> tuple[float, ...]:
        """The widths of flaps there are, each once, mm."""
        return tuple(sorted({leaf.flap_mm for leaf in self.contents.leaves} - {0.0}))

    @property
    def sheet_mm(self) -> tuple[float, float]:
        """The width and height of the sheets."""
        sheet = self.contents.sheets[0]
        return sheet.width_mm, sheet.height_mm

    @property
    def begins_on_the_back(self) -> bool:
        """Whether nothing is printed on side 1 of the first sheet but marks."""
        leaves = self.contents.leaves
        return all(
            leaves[one.leaf].page(one.face) is None for one in self.contents.sheets[0].side_1
        )

    @cached_property
    def days(self) -> tuple[dt.date, dt.date] | None:
        """The first and the last day that the pages show; None for undated sets."""
        faces = (page for leaf in self.contents.leaves for page in (leaf.recto, leaf.verso))
        dates = [date for page in faces if page for date in page.dates]
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
            Heap(heap[0].number, heap[-1].number, tuple(each.flat for each in heap[0].side_1))
            for heap in heaps
        )

    @property
    def piles(self) -> int:
        """Piles there are once all heaps are cut."""
        return sum(len(heap.flats) for heap in self.heaps)

    @cached_property
    def late_cuts(self) -> tuple[int, ...]:
        """The cuts, counted from 1 through all heaps, whose marks go with the first ones of their
        heap: those that run the other way."""
        late, number = list[int](), 0
        for heap in self.heaps:
            cuts = cut_order(heap.flats, *self.sheet_mm)
            late += [n for n, cut in enumerate(cuts, number + 1) if cut.across != cuts[0].across]
            number += len(cuts)
        return tuple(late)

    @cached_property
    def sizes_mm(self) -> tuple[tuple[float, float], ...]:
        """Width and height of the cut leaves, each once, in the order of the heaps, mm."""
        flats = itertools.chain.from_iterable(heap.flats for heap in self.heaps)
        return tuple(dict.fromkeys((round(f.width, 1), round(f.height, 1)) for f in flats))

    @property
    def one_leaf_a_sheet(self) -> bool:
        """Whether the order of the sheets is the order of the leaves, and nothing to be stacked."""
        return all(len(heap.flats) == 1 for heap in self.heaps)

    @cached_property
    def folds_to(self) -> Mapping[Side, tuple[int, ...]]:
        """The leaves, counted from 1, whose flap folds over their front, and over their back."""
        found: dict[Side, list[int]] = {}
        for number, leaf in enumerate(self.contents.leaves, 1):
            face = next((face for face in Side if leaf.folds_over(face)), None)
            if face is not None:
                found.setdefault(face, []).append(number)
        return {face: tuple(found[face]) for face in Side if face in found}

    @property
    def folds_in_turn(self) -> Side | None:
        """The face over which flaps of odd sheets fold where those of even ones fold over the
        other; None where it is not so simple."""
        to = self.folds_to
        if len(to) < 2 or not self.one_leaf_a_sheet:
            return None
        odd = {face: {number % 2 for number in numbers} for face, numbers in to.items()}
        return next((face for face in Side if odd == {face: {1}, other_face(face): {0}}), None)


def _continues(above: Sequence[Placement], below: Sequence[Placement]) -> bool:
    return len(below) <= len(above) and all(
        under.flat == over.flat and under.leaf == over.leaf + 1
        for over, under in zip(above, below, strict=False)
    )


PARAGRAPH = "\n"
"""Parts one paragraph of a step from the next, among its sentences."""

BAR_MM = 100
"""The measured bar that every sheet carries."""

SLIP_MM = 1
"""How far a back may lie off its front without harm: less than the bleed (by eye)."""


class Step(NamedTuple):
    """One step: its picture's name, its heading, its text, and what stands for the picture where it
    isn't seen.

    What is no step has no picture; ``rows`` of names and what they are for may be in the place of
    its text, whose paragraphs are parted by line ends. The caution is ``framed``.
    """

    picture: str
    heading: str
    text: str
    rows: tuple[tuple[str, str], ...] = ()
    drawing: str = ""
    framed: bool = False


@dataclass(frozen=True)
class Order:
    """All that the directions of one set are made from.

    ``files`` are the own names of what comes with it: the feed test and side 2 in reverse order are
    spoken of only where they do.
    """

    account: Account
    phrases: StepPhrases
    binder: Binder
    paper: Paper
    files: Collection[str]

    @classmethod
    def of(cls, contents: Contents, binder: Binder, paper: Paper, files: Collection[str]) -> Self:
        """By the set's ``contents.json``; a language without words of its own gets English ones."""
        return cls(Account(contents), phrases_for(contents.language), binder, paper, files)

    @property
    def paper_name(self) -> str:
        """What the paper is called: by its own title, if the language has no other name for it."""
        return str(self.phrases.of["paper"].get(self.paper.name, self.paper.title))

    def figures(self) -> list[tuple[str, str]]:
        """Label and value of what the buyer has in hand: dates, sheets, leaves, flaps, paper."""
        account, phrases = self.account, self.phrases
        contents = account.contents
        bench = contents.bench
        flap = phrases.length(account.flaps_mm[0]) if len(account.flaps_mm) == 1 else ""
        facts: Mapping[str, object] = {
            "sheets": len(contents.sheets),
            "paper": self.paper_name,
            "leaves": len(contents.leaves),
            "binder": self.binder.title,
            "folds": bench.folds,
            "flap": flap,
            "gsm": phrases.per_square_metre(bench.gsm),
            # Pounds stand on the wrapper so, in every language.
            "lb": f"{phrases.local.number(bench.gsm / bond_gsm(1))}\u00a0lb",
            "weight": phrases.weight(bench.weight_g),
            "thickness": phrases.length(bench.thickness_mm),
        }
        several = {} if flap else {"flaps": "flaps-several"}
        said = [
            (phrases.text(key, {}, "fact"), phrases.text(several.get(key, key), facts, "value"))
            for key in ("sheets", "leaves", "flaps", "paper", "pack")
            if key != "flaps" or bench.folds
        ]
        if account.days:
            first, last = account.days
            spelled = "yMMMMd" if first.year == last.year else "yMMMd"  # two years take more room
            days = phrases.local.interval(first, last, spelled)
            said.insert(0, (phrases.text("dates", {}, "fact"), days))
        return said

    def what_there_is(self) -> Step:
        """What each of the files is for that come with the directions."""
        phrases, right_to_left = self.phrases, self.phrases.local.right_to_left
        always = {BOTH, SIDE_1, SIDE_2}
        # No line may begin with an embedding: a bullet stands before it.
        before = "\N{BULLET}\N{NO-BREAK SPACE}" * right_to_left
        rows = tuple(
            (
                before + within(seen, right_to_left=right_to_left),
                phrases.text(own.removesuffix(".pdf"), {}, "file"),
            )
            for own, seen in self._names.items()
            if own in always or (own in self.files and own in self._spoken_of)
        )
        return Step("", phrases.text("files", {}, "heading"), "", rows)

    @property
    def _spoken_of(self) -> tuple[str, ...]:
        """Files that not every set has; one sheet is in order either way round."""
        several = [SIDE_2_REVERSED] * (len(self.account.contents.sheets) > 1)
        return (FEED_TEST, HOLE_GAUGE, SCREEN, *several)

    def what_is_needed(self) -> Step:
        """The tools, as the listing names them, and what one has on a desk."""
        phrases, contents = self.phrases, self.account.contents
        words = shop_words(phrases.local.language)
        punch = words.count("holes", len(contents.binder.holes.centres_mm))
        things = [words.say("listing", "printer"), phrases.text("pencil", {}, "need")]
        things += [phrases.text("eraser", {}, "need"), words.say("listing", "cutter")]
        things.append(phrases.text("mat", {}, "need"))
        if contents.binder.holes.centres_mm:
            things.append(words.say("listing", "punch", holes=punch))
        if contents.bench.folds:
            things.append(words.say("listing", "folder"))
        return Step("", words.say("listing", "needed"), phrases.local.listed(things))

    def help(self) -> Step:
        """What commonly goes wrong and what mends it; last, where there is help."""
        phrases, facts = self.phrases, self._facts
        holes = ["holes"] * bool(self.account.contents.binder.holes.centres_mm)
        rows = tuple(
            (phrases.text(key, {}, "help"), phrases.text(f"help-{key}", facts))
            for key in ("small", "turned", "shifted", "smudged", *holes, "other")
        )
        return Step("", phrases.text("help", {}, "heading"), "", rows)

    @cached_property
    def _names(self) -> Mapping[str, str]:
        return buyers_names(self.phrases.local.language, feed_test=FEED_TEST in self.files)

    def at_the_printer(self) -> list[Step]:
        """The steps up to the sheets that lie printed and checked."""
        return [self._step(*one) for one in self._at_the_printer]

    @cached_property
    def _at_the_printer(self) -> Sequence[Sequence[str]]:
        """The name of each of those steps, and its sentences."""
        tested = FEED_TEST in self.files
        contents = self.account.contents
        second = ["side-two"]
        if len(contents.sheets) > 1:
            if tested and SIDE_2_REVERSED in self.files:
                second.append("side-two-reversed")
            second.append("side-two-first")
        return [
            ("feed", "feed", "quality", "feed-turn") if tested else ("trial", "trial", "quality"),
            *([("gauge", "gauge", "gauge-not")] if HOLE_GAUGE in self.files else []),
            (
                "side-one",
                *("true-size", PARAGRAPH, f"duplex-{contents.flip.value}"),
                *(["duplex-tested"] if tested else []),
                *(PARAGRAPH, "side-one", "load"),
                *(["empty-first"] if self.account.begins_on_the_back else []),
            ),
            ("turn", "turn" if tested else "turn-trial", "turn-ways"),
            ("side-two", *second),
            ("check", "check", "check-match"),
        ]

    def at_the_bench(self) -> list[Step]:
        """The steps from the printed sheets to the leaves in the binder."""
        account = self.account
        contents, folds = account.contents, account.contents.bench.folds
        heaps = ["cut-heaps"] if len(account.heaps) > 1 else []
        holes = bool(contents.binder.holes.centres_mm)
        marked = [PARAGRAPH, "mark-fold"] if folds else []
        if holes:
            marked += [PARAGRAPH, "mark-holes", *["mark-dots"] * contents.holes_inside]
        steps = [self._step("mark", "mark-now", *marked)] if marked else []
        ways = [PARAGRAPH, "cut", *heaps, "cut-late", PARAGRAPH, "cut-strokes", "cut-knife"]
        steps.append(self._step("cut", "mark-cuts", *ways))
        if not account.one_leaf_a_sheet:
            steps.append(self._step("stack", "stack"))
        if contents.bench.tabs:
            steps.append(self._step("tabs", "tabs", "tabs-how"))
        if holes:
            bound = f"punch-{contents.binding.value}"
            steps.append(self._step("punch", "punch-pencil", "punch", "punch-holes", bound))
        if folds:
            steps.append(self._step("fold", "fold", self._fold_way, "fold-how"))
        order = "binder-sheets" if account.one_leaf_a_sheet else "binder-pile"
        steps.append(self._step("binder", order, *(["binder-flaps"] if folds else [])))
        return steps

    @property
    def _fold_way(self) -> str:
        """Which of the sentences says over which face flaps fold."""
        account = self.account
        if len(account.folds_to) < 2:
            return "fold-front" if Side.RECTO in account.folds_to else "fold-back"
        odd = account.folds_in_turn
        if odd is None:
            return "fold-mixed"
        return "fold-odd" if odd is Side.RECTO else "fold-even"

    def caution(self) -> Step:
        """What is said before anything is cut."""
        return self._said("caution", "caution")._replace(framed=True)

    def _said(self, name: str, *sentences: str) -> Step:
        """What has a heading and a text, and no picture."""
        phrases, facts = self.phrases, self._facts
        joint = "" if phrases.local.locale.language == "ja" else " "
        paragraphs = [
            joint.join(phrases.text(key, facts) for key in keys)
            for ended, keys in itertools.groupby(sentences, key=PARAGRAPH.__eq__)
            if not ended
        ]
        # What one has to choose from comes after what holds for all of it.
        choices = [f"\N{BULLET}\N{NO-BREAK SPACE}{one}" for one in paragraphs[1:]]
        text = "\n".join([*paragraphs[:1], *choices])
        return Step("", phrases.text(name, {}, "heading"), text)

    def _step(self, name: str, *sentences: str) -> Step:
        """A step with its picture."""
        shown = self.phrases.text(self._folding if name == "fold" else name, self._facts, "drawing")
        return self._said(name, *sentences)._replace(picture=name, drawing=shown)

    @property
    def _folding(self) -> str:
        """What the picture of folding shows: leaves with the faces up that flaps fold over."""
        to = self.account.folds_to
        return "fold-both" if len(to) > 1 else "fold-front" if Side.RECTO in to else "fold-back"

    @cached_property
    def _facts(self) -> dict[str, object]:
        account, phrases, contents = self.account, self.phrases, self.account.contents
        number, bench, binder = phrases.local.number, contents.bench, contents.binder
        ranges = [
            "–".join(dict.fromkeys((number(heap.first), number(heap.last))))
            for heap in account.heaps
        ]
        # Files as buyers see them, by what stands for them in a phrase.
        right_to_left = phrases.local.right_to_left
        files = {
            name.removesuffix(".pdf").replace("-", "_"): within(seen, right_to_left=right_to_left)
            for name, seen in self._names.items()
            if name.endswith(".pdf")
        }
        numbers = {
            face: phrases.local.listed([number(one) for one in account.folds_to.get(face, ())])
            for face in Side
        }
        return {
            **files,
            "front": numbers[Side.RECTO],
            "back": numbers[Side.VERSO],
            "percent": phrases.whole,
            "bar": phrases.length(BAR_MM),
            "paper": self.paper_name,
            "sheets": len(contents.sheets),
            "pages": next(one.pages or 0 for one in contents.files if one.name == BOTH),
            "check": len(self._at_the_printer),
            "heaps": len(account.heaps),
            "ranges": phrases.local.listed(ranges),
            "cuts": bench.cuts,
            "late": phrases.local.listed([number(cut) for cut in account.late_cuts]),
            "sizes": phrases.local.listed(
                ["\u00a0×\u00a0".join(map(phrases.length, size)) for size in account.sizes_mm]
            ),
            "slip": phrases.length(SLIP_MM),
            "piles": account.piles,
            "leaves": len(contents.leaves),
            "each": LEAVES_A_PUNCH,
            "strokes": bench.punch_strokes,
            "holes": len(binder.holes.centres_mm),
            "edge": phrases.length(binder.holes.edge_mm),
            "folds": bench.folds,
            "tabs": bench.tabs,
            "width": phrases.length(binder.width_mm),
            "first": 1,
            "last": len(contents.sheets),
        }
