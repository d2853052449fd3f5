"""The hole gauge: a leaf's binding edge at true size, to lay on a punch or over open rings.

Sheet coordinates, mm from the top left.
"""

from __future__ import annotations

from collections.abc import Mapping
from itertools import pairwise
from typing import Any

from pipeline.base.geometry import MM_PER_INCH, decimal
from pipeline.draw import draw
from pipeline.draw.forms import Source
from pipeline.impose.margins import INK
from pipeline.impose.stitch import FileAbout, stitch_drawn
from pipeline.impose.words import sheet_words
from pipeline.plan.model import Binder, Paper
from pipeline.testsheets.pen import (
    CARD_MM,
    FINE_MM,
    LEAFLET,
    LINE_MM,
    READ_MM,
    Pen,
    WordLook,
)
from pipeline.text import FontBook

LEAST_WIDTH_MM = 140.0
"""A narrower paper has no room for the gauge and its words."""

EDGE_X = 40.0
TOOTH_MM = 2.0
"""From one point of a torn edge to the next."""
INCHES_MM = 7.0
"""From the bar of 4 inches to that of 100 mm."""
STRIP_MM = 30.0
CHAIN_X, WHOLE_X = 32.0, 20.0
WORDS_X = 80.0
MARGIN_MM = 13.0


def has_gauge(paper: Paper) -> bool:
    """Whether a paper is wide enough for a gauge."""
    return paper.width_mm >= LEAST_WIDTH_MM


def hole_gauge(
    binder: Binder, paper: Paper, book: FontBook, language: str = "en", *, maker: bool = True
) -> bytes:
    """The hole gauge of a binder size on a paper, as a PDF of one page.

    The maker's asks for what was found and says where the figures are from, the buyer's does not.
    """
    style, words = sheet_words("hole_gauge", language)
    language = style.language
    look = WordLook() if maker else LEAFLET
    pen = Pen(paper.width_mm, paper.height_mm, book, style=style, look=look)
    _strip(pen, binder, paper, words)
    _distances(pen, binder, paper)
    _instructions(pen, binder, paper, words, maker)
    drawn = Source(draw([pen.svg()], book, names=["hole gauge"], language=language))
    title = f"{words['title']}, {binder.title}, {paper.title}"
    about = FileAbout(title, language, "/Simplex")
    return stitch_drawn(drawn, paper.width_mm, paper.height_mm, about)


def _top(binder: Binder, paper: Paper) -> float:
    """Where the leaf's top edge is: its middle is the sheet's."""
    return (paper.height_mm - binder.height_mm) / 2


def _strip(pen: Pen, binder: Binder, paper: Paper, words: Mapping[str, Any]) -> None:
    """The leaf as far as it is shown, torn off on the right, and its holes."""
    top = _top(binder, paper)
    bottom = top + binder.height_mm
    wide = min(STRIP_MM, binder.width_mm)
    pen.line((EDGE_X, max(top, 0)), (EDGE_X, min(bottom, paper.height_mm)), LINE_MM)
    for y in (top, bottom):
        if 0 < y < paper.height_mm:
            pen.line((EDGE_X, y), (EDGE_X + wide, y), LINE_MM)
    torn = EDGE_X + wide
    _torn(pen, torn, max(top, 0), min(bottom, paper.height_mm))
    holes = binder.holes
    x = EDGE_X + holes.edge_mm
    arm = holes.diameter_mm / 2 + 1.5
    for centre in holes.centres_mm:
        y = top + centre
        pen.circle((x, y), holes.diameter_mm, FINE_MM)
        pen.line((x - arm, y), (x + arm, y))
        pen.line((x, y - arm), (x, y + arm))
    pen.words(
        words["holes_edge"],
        (EDGE_X - 1.6, _widest_gap(binder, paper)),
        anchor="middle",
        turned=270,
    )


def _torn(pen: Pen, x: float, top: float, bottom: float) -> None:
    """An edge that is torn off: nothing is to be cut or folded there."""
    steps = max(int((bottom - top) / TOOTH_MM), 1)
    high = (bottom - top) / steps
    pen.outline([(x + 0.4 * (-1) ** step, top + step * high) for step in range(steps + 1)])


def _widest_gap(binder: Binder, paper: Paper) -> float:
    """The middle of the longest way between two holes, or between a hole and the leaf's end."""
    stops = (0.0, *binder.holes.centres_mm, binder.height_mm)
    upper, lower = max(pairwise(stops), key=lambda pair: pair[1] - pair[0])
    return _top(binder, paper) + (upper + lower) / 2


def _distances(pen: Pen, binder: Binder, paper: Paper) -> None:
    """Measures between hole centres, from the leaf's ends, from its edge, and across a hole."""
    holes, top = binder.holes, _top(binder, paper)
    stops = (0.0, *holes.centres_mm, binder.height_mm)
    for upper, lower in pairwise(stops):
        _measure(pen, CHAIN_X, top + upper, top + lower, paper)
    if len(holes.centres_mm) > 2:
        _measure(pen, WHOLE_X, top + holes.centres_mm[0], top + holes.centres_mm[-1], paper)
    x, y = EDGE_X + holes.edge_mm, top + holes.centres_mm[0]
    over = y - holes.diameter_mm / 2 - 4
    pen.line((EDGE_X, over), (x, over))
    for at in (EDGE_X, x):
        pen.line((at, over - 1), (at, over + 1))
    pen.line((x, over + 1), (x, y - holes.diameter_mm / 2 - 1.5))
    pen.words(_mm(holes.edge_mm), (x + 1.4, over + 0.95), colour=INK)
    pen.words(
        f"ø {_mm(holes.diameter_mm)}",
        (x + holes.diameter_mm / 2 + 2.4, y + 0.95),
        colour=INK,
    )


def _measure(pen: Pen, x: float, start: float, end: float, paper: Paper) -> None:
    """A standing measure with its length in mm; one that runs off the sheet is left out."""
    if start < 2 or end > paper.height_mm - 2:
        return
    pen.line((x, start), (x, end))
    for y in (start, end):
        pen.line((x - 1.2, y), (x + 1.2, y))
    at = (x - 1.8, (start + end) / 2 + 0.95)
    pen.words(_mm(end - start), at, anchor="end", colour=INK)


def _mm(length: float) -> str:
    """A length with its unit, as it is printed."""
    return f"{decimal(length, 2)}\N{NO-BREAK SPACE}mm"


def _instructions(
    pen: Pen, binder: Binder, paper: Paper, words: Mapping[str, Any], maker: bool
) -> None:
    bar_x = paper.width_mm - MARGIN_MM - 2
    width = bar_x - INCHES_MM - 8 - WORDS_X
    y = max((paper.height_mm - 215) / 2, 18.0)
    size = pen.size_for([words["title"]], width, 0, most=7, weight=300)
    pen.begin(words["title"], (WORDS_X, y), WORDS_X + width, size, weight=300)
    y = pen.paragraph(
        words["about"].format(binder=binder.title, paper=paper.title),
        (WORDS_X, y + 6),
        width,
        READ_MM,
    )
    y += 6
    bar_y = y - 3
    for step in ("size", "edge", "lay", "write"):
        if step == "edge":  # before anything is cut
            said = words["caution_title"], words["caution"]
            y = pen.caution(*said, (WORDS_X, y - READ_MM), width, READ_MM) + 4.5 + READ_MM
        y = pen.heading(words[f"{step}_title"], (WORDS_X, y), width, READ_MM) + 0.8
        text = words["write_buyer"] if step == "write" and not maker else words[step]
        y = pen.paragraph(text, (WORDS_X, y), width, READ_MM) + 4.5
    if maker:
        y = _for_the_maker(pen, binder, (WORDS_X, y - 2.5), width, words)
    pen.bar((bar_x, bar_y), 100, 10, "100 mm", down=True)
    pen.bar((bar_x - INCHES_MM, bar_y), 4 * MM_PER_INCH, 4, "4 in", down=True)
    if width + 8 >= CARD_MM[0] and y + CARD_MM[1] <= paper.height_mm - MARGIN_MM:
        pen.card((WORDS_X, y), words["card"], words["card_size"])


def _for_the_maker(
    pen: Pen, binder: Binder, at: tuple[float, float], width: float, words: Mapping[str, Any]
) -> float:
    """What stands in sizes.toml and where it is from. Gives the next baseline."""
    x, y = at
    for text in _settings(binder):
        pen.words(text, (x, y), READ_MM, colour=INK)
        y += 4.6
    y = pen.heading(words["sources_title"], (x, y + 5), width, READ_MM) + 0.8
    about = words["sources"].format(
        width=f"{binder.width_mm:g}",
        height=f"{binder.height_mm:g}",
        leaf_source=binder.source,
        holes_source=binder.holes.source,
    )
    return pen.paragraph(about, (x, y), width, READ_MM) + 4


def _settings(binder: Binder) -> list[str]:
    """The holes as sizes.toml has them: spacings of a centred pattern, or centres."""
    centres = binder.holes.centres_mm
    if abs(centres[0] + centres[-1] - binder.height_mm) < 1e-6 and len(centres) > 1:
        figures = ", ".join(f"{below - above:g}" for above, below in pairwise(centres))
        pattern = f"spacings_mm = [{figures}]"
    else:
        pattern = f"centres_mm = [{', '.join(f'{centre:g}' for centre in centres)}]"
    return [
        f"[binder.{binder.name}.holes]",
        pattern,
        f"edge_mm = {binder.holes.edge_mm:g}",
        f"diameter_mm = {binder.holes.diameter_mm:g}",
    ]
