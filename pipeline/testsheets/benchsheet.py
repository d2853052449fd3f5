"""The bench sheet: what to print, cut, punch, fold and pack, set by set, for who sells the paper.

Sheet coordinates, mm from the top left. What is said of blades comes before any cut.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import NamedTuple

from pipeline.base.geometry import Rect, decimal
from pipeline.draw import draw
from pipeline.draw.forms import Source
from pipeline.impose.margins import INK, STRONG_WEIGHT
from pipeline.impose.stitch import FileAbout, stitch_drawn
from pipeline.impose.words import sheet_words
from pipeline.plan.model import Paper
from pipeline.testsheets.pen import LINE_MM, READ_MM, Pen
from pipeline.text import FontBook

MARGIN_MM = 18.0
_STEP_MM = 5.2
_COSTS_MM = 70.0
"""How wide the costs stand (by eye)."""
_BOX_MM = 3.4
"""A box to tick (by eye)."""


class BenchSet(NamedTuple):
    """One set at the bench.

    ``cuts`` has, for each run of sheets that are cut alike, their numbers, and for every stroke the
    edge at the stop and the blade's way from it, mm.
    """

    about: Mapping[str, str]
    files: Sequence[str]
    cuts: Sequence[tuple[str, Sequence[tuple[str, float]]]]
    costs: Sequence[tuple[str, str]]


def bench_sheet(
    sets: Sequence[BenchSet],
    paper: Paper,
    book: FontBook,
    language: str,
    caution: tuple[str, str],
) -> bytes:
    """A PDF of a page for each set; ``caution`` is what is said of blades, headed and said."""
    style, words = sheet_words("bench_sheet", language)
    pages = []
    for one in sets:
        pen = Pen(paper.width_mm, paper.height_mm, book, style=style)
        _page(pen, one, paper.width_mm - 2 * MARGIN_MM, words, caution)
        pages.append(pen.svg())
    names = ["bench sheet"] * len(pages)
    drawn = Source(draw(pages, book, names=names, language=style.language))
    about = FileAbout(str(words["title"]), style.language, "/Simplex")
    return stitch_drawn(drawn, paper.width_mm, paper.height_mm, about)


def _page(
    pen: Pen, one: BenchSet, width: float, words: Mapping[str, str], caution: tuple[str, str]
) -> None:
    later = {"file": "{file}", "sheets_alike": "{sheets}"}
    said = {key: text.format_map({**one.about, **later}) for key, text in words.items()}
    x, y = MARGIN_MM, MARGIN_MM + 6
    pen.begin(said["title"], (x, y), x + width, 7.0, weight=300)
    y = pen.paragraph(said["about"], (x, y + 8), width, READ_MM + 0.4) + 3
    y = pen.caution(*caution, (x, y - 4), width, READ_MM)
    y = _part(pen, said["print_title"], y + 9, width)
    for file in one.files:
        y = _tick(pen, said["print"].replace("{file}", file), y, width)
    y = pen.paragraph(said["print_runs"], (x, y + 0.5), width, READ_MM)
    y = pen.paragraph(said["supplies"], (x, y + 0.5), width, READ_MM)
    y = _part(pen, said["cut_title"], y + 5, width)
    for sheets, strokes in one.cuts:
        if len(one.cuts) > 1:
            y = pen.paragraph(said["alike"].replace("{sheets}", sheets), (x, y), width, READ_MM) + 1
        for number, (edge, mm) in enumerate(strokes, 1):
            y = _tick(pen, f"{number}.  {said[edge]}:  {decimal(mm, 1)} mm", y, width)
    y = _part(pen, said["then_title"], y + 5, width)
    y = pen.paragraph(said["then"], (x, y), width, READ_MM)
    y = pen.paragraph(said["pick"], (x, y), width, READ_MM)
    if not one.costs:
        return
    y = _part(pen, said["cost_title"], y + 5, width)
    right = pen.style.right_to_left
    first = x + width - _COSTS_MM if right else x
    for name, amount in one.costs:
        strong = STRONG_WEIGHT if name == "together" else 400
        if name == "together":
            pen.line((first, y - 4.2), (first + _COSTS_MM, y - 4.2), LINE_MM)
        ends = (first + _COSTS_MM, first) if right else (first, first + _COSTS_MM)
        anchors = ("end", "start") if right else ("start", "end")
        pen.words(said[name], (ends[0], y), READ_MM, anchor=anchors[0], weight=strong, colour=INK)
        pen.words(amount, (ends[1], y), READ_MM, anchor=anchors[1], weight=strong, colour=INK)
        y += _STEP_MM


def _part(pen: Pen, title: str, y: float, width: float) -> float:
    """A heading over a line; gives the next baseline."""
    y = pen.heading(title, (MARGIN_MM, y), width, READ_MM + 0.6)
    pen.line((MARGIN_MM, y - 3.2), (MARGIN_MM + width, y - 3.2), LINE_MM)
    return y + 1.8


def _tick(pen: Pen, text: str, y: float, width: float) -> float:
    """A line to tick off; gives the next baseline."""
    at_right = pen.style.right_to_left
    box_x = MARGIN_MM + width - _BOX_MM if at_right else MARGIN_MM
    pen.box(Rect(box_x, y - _BOX_MM + 0.5, _BOX_MM, _BOX_MM))
    x = MARGIN_MM if at_right else MARGIN_MM + _BOX_MM + 2.2
    return max(pen.paragraph(text, (x, y), width - _BOX_MM - 2.2, READ_MM) + 0.8, y + _STEP_MM)
