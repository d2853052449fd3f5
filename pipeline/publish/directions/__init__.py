"""Printed directions that fit exactly one set: what to print, turn, check, cut, punch and fold."""

from __future__ import annotations

from collections.abc import Collection, Mapping
from typing import Any

from pipeline.base.geometry import Rect
from pipeline.draw import draw
from pipeline.draw.forms import Source
from pipeline.impose.stitch import FileAbout, SidePlan, stitch
from pipeline.plan.model import Binder, Paper
from pipeline.publish.directions.account import Account
from pipeline.publish.directions.artwork import Artwork, artwork_of, copy_directions
from pipeline.publish.directions.pages import page_svgs
from pipeline.publish.directions.phrases import phrases_for
from pipeline.publish.directions.steps import Order
from pipeline.text import FontBook

__all__ = ["Artwork", "artwork_of", "copy_directions", "directions"]


def directions(
    contents: Mapping[str, Any],
    binder: Binder,
    paper: Paper,
    files: Collection[str],
    artwork: Artwork,
    book: FontBook,
) -> bytes:
    """The directions of one imposed set as a PDF, in the set's own language.

    ``contents`` is the set's ``contents.json``, ``files`` the own names of what comes with it: the
    feed test and side 2 in reverse order are spoken of only where they do. A language without
    words of its own gets English ones. The same set gives the same bytes.

    Raises UserError for a template that lacks a part, for text that finds no room and for
    characters that no face has.
    """
    order = Order(Account(contents), phrases_for(contents["language"]), binder, paper, files)
    language = order.phrases.language
    svgs = page_svgs(order, artwork, book)
    titles = [f"directions, page {number}" for number in range(1, len(svgs) + 1)]
    drawn = Source(draw(svgs, book, names=titles, language=language))
    page = artwork.page(paper)
    whole = Rect(0, 0, page.width_mm, page.height_mm)
    sides = [
        SidePlan(whole.width, whole.height, whole, whole, (), number) for number in range(len(svgs))
    ]
    title = f"{order.phrases.of['title']}: {contents['set']['title']}"
    return stitch(sides, drawn, drawn, FileAbout(title, language, "/DuplexFlipLongEdge"))
