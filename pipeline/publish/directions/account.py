"""What a set asks of its buyer, counted from its table of contents."""

from __future__ import annotations

import datetime as dt
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from functools import cached_property
from typing import Any

from pipeline.base.geometry import Rect


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

    contents: Mapping[str, Any]

    @property
    def sheets(self) -> int:
        """Sheets of paper to print."""
        return len(self.contents["sheets"])

    @property
    def leaves(self) -> int:
        """Leaves for the binder."""
        return len(self.contents["leaves"])

    @property
    def folds(self) -> int:
        """Leaves with a flap."""
        return int(self.contents["bench"]["folds"])

    @property
    def cuts(self) -> int:
        """Strokes of a guillotine that takes a whole heap."""
        return int(self.contents["bench"]["cuts"])

    @property
    def punch_strokes(self) -> int:
        """Strokes of a punch that makes all holes of a few leaves at once."""
        return int(self.contents["bench"]["punch_strokes"])

    @property
    def holes(self) -> int:
        """Holes in a leaf."""
        return len(self.contents["binder"]["holes"]["centres_mm"])

    @cached_property
    def flaps_mm(self) -> tuple[float, ...]:
        """The widths of flaps there are, each once, mm."""
        return tuple(sorted({leaf["flap_mm"] for leaf in self.contents["leaves"]} - {0.0}))

    @property
    def sheet_mm(self) -> tuple[float, float]:
        """The width and height of the sheets."""
        sheet = self.contents["sheets"][0]
        return float(sheet["width_mm"]), float(sheet["height_mm"])

    def pages(self, file: str) -> int:
        """How many pages one of the set's files has."""
        return next(int(one["pages"]) for one in self.contents["files"] if one["name"] == file)

    @cached_property
    def days(self) -> tuple[dt.date, dt.date] | None:
        """The first and the last day that the pages show; None for undated sets."""
        dates = [
            dt.date.fromisoformat(date)
            for leaf in self.contents["leaves"]
            for face in (leaf["recto"], leaf["verso"])
            if face
            for date in face["dates"]
        ]
        return (min(dates), max(dates)) if dates else None

    @cached_property
    def heaps(self) -> tuple[Heap, ...]:
        """Sheets in printing order, parted wherever they are to be cut otherwise.

        A sheet belongs to the heap before it when its leaves lie in the same places and each
        follows on the one above it.
        """
        heaps: list[list[Mapping[str, Any]]] = []
        for sheet in self.contents["sheets"]:
            if heaps and _continues(heaps[-1][-1]["side_1"], sheet["side_1"]):
                heaps[-1].append(sheet)
            else:
                heaps.append([sheet])
        return tuple(
            Heap(
                first=heap[0]["number"],
                last=heap[-1]["number"],
                flats=tuple(Rect(*placed["flat"]) for placed in heap[0]["side_1"]),
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


def _continues(above: Sequence[Mapping[str, Any]], below: Sequence[Mapping[str, Any]]) -> bool:
    return len(below) <= len(above) and all(
        under["flat"] == over["flat"] and under["leaf"] == over["leaf"] + 1
        for over, under in zip(above, below, strict=False)
    )
