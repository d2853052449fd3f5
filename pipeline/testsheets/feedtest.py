"""The feed test: it tells how a printer lays side 2 on the back of side 1.

On a large paper it is one sheet (``feedlarge.py``), on a small one two (``feedsmall.py``), made of
the same parts. The two drawn leaves never cover one another, however the sides come together, and
nothing on a front shows through where its back has the numbers of a scale.
"""

from __future__ import annotations

from collections.abc import Mapping
from types import MappingProxyType

from pipeline.base.geometry import Rect
from pipeline.draw import draw
from pipeline.draw.forms import Source
from pipeline.impose.printer import Flip
from pipeline.impose.stitch import FileAbout, SidePlan, stitch
from pipeline.impose.words import sheet_words
from pipeline.plan.model import Paper
from pipeline.testsheets import feedlarge, feedsmall
from pipeline.testsheets.feedparts import as_called
from pipeline.testsheets.feedplaces import LARGE, places_on
from pipeline.testsheets.pen import Pen
from pipeline.text import FontBook


def has_feed_test(paper: Paper) -> bool:
    """Whether a paper is large enough for the feed test."""
    return places_on(paper) is not None


def feed_test(
    paper: Paper,
    flip: Flip,
    book: FontBook,
    language: str = "en",
    names: Mapping[str, str] = MappingProxyType({}),
) -> bytes:
    """The feed test for a paper that has one, as a PDF: two pages, the sides of a sheet, or four.

    Backs are turned as ``flip`` turns the sets' side 2, and are never moved by what is known of
    the printer's shift: the test shows the printer as it is. ``names`` are what the files it
    speaks of are called where it goes, by their own names.
    """
    hand, told = sheet_words("feed_test", language)
    one_sheet = places_on(paper) is LARGE
    # What is said otherwise of two sheets stands in a table of its own, under the same keys.
    said = {**told, **({} if one_sheet else told["two_sheets"])}
    del said["two_sheets"]
    words = as_called(said, names)
    wide, high = paper.width_mm, paper.height_mm
    layout = (feedlarge.side_1, feedlarge.side_2) if one_sheet else feedsmall.PAGES
    sides = []
    for number, side in enumerate(layout):
        turned = flip is Flip.SHORT and number % 2 == 1
        pen = Pen(wide, high, book, origin=(wide / 2, high / 2), upside_down=turned, hand=hand)
        sides.append(side(pen, paper, flip, words))
    language = hand.language
    drawn = Source(draw(sides, book, names=["feed test"] * len(sides), language=language))
    whole = Rect(0, 0, wide, high)
    plans = [SidePlan(wide, high, whole, whole, (), number) for number in range(len(sides))]
    duplex = "LongEdge" if flip is Flip.LONG else "ShortEdge"
    about = FileAbout(f"{words['title']}, {paper.title}", language, f"/DuplexFlip{duplex}")
    return stitch(plans, drawn, drawn, about)
