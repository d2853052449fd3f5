"""Printed directions that fit exactly one set: what to print, turn, check, cut, punch and fold."""

from __future__ import annotations

from collections.abc import Collection

from pipeline.draw import draw
from pipeline.draw.forms import Source
from pipeline.impose.contents import Contents
from pipeline.impose.stitch import FileAbout, stitch_drawn
from pipeline.plan.model import Binder, Paper
from pipeline.publish.directions.artwork import (
    Artwork,
    artwork_of,
    copy_directions,
    faces_for_directions,
)
from pipeline.publish.directions.pages import page_svgs
from pipeline.publish.directions.steps import Account, Order, phrases_for
from pipeline.publish.directions.webpage import web_page
from pipeline.text import FontBook

__all__ = [
    "Artwork",
    "artwork_of",
    "copy_directions",
    "directions",
    "directions_aloud",
    "faces_for_directions",
]


def directions(
    contents: Contents,
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
    order = Order(Account(contents), phrases_for(contents.language), binder, paper, files)
    language = order.phrases.language
    svgs = page_svgs(order, artwork, book)
    titles = [f"directions, page {number}" for number in range(1, len(svgs) + 1)]
    drawn = Source(draw(svgs, book, names=titles, language=language))
    page = artwork.page(paper)
    title = f"{order.phrases.of['title']}: {contents.set.title}"
    about = FileAbout(title, language, "/DuplexFlipLongEdge")
    return stitch_drawn(drawn, page.width_mm, page.height_mm, about)


def directions_aloud(
    contents: Contents,
    binder: Binder,
    paper: Paper,
    files: Collection[str],
    artwork: Artwork,
    book: FontBook,
) -> bytes:
    """The directions as a web page, for readers of screens; see ``directions``."""
    order = Order(Account(contents), phrases_for(contents.language), binder, paper, files)
    return web_page(order, artwork, book)
