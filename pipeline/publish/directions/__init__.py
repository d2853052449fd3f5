"""Printed directions that fit exactly one set: what to print, turn, check, cut, punch and fold."""

from __future__ import annotations

from pipeline.draw import draw
from pipeline.draw.forms import Source
from pipeline.impose.stitch import FileAbout, stitch_drawn
from pipeline.publish.directions.artwork import (
    Artwork,
    artwork_of,
    copy_directions,
    faces_for_directions,
)
from pipeline.publish.directions.pages import page_svgs
from pipeline.publish.directions.steps import Order
from pipeline.publish.directions.webpage import web_page
from pipeline.text import FontBook

__all__ = [
    "Artwork",
    "Order",
    "artwork_of",
    "copy_directions",
    "directions",
    "faces_for_directions",
    "web_page",
]


def directions(order: Order, artwork: Artwork, book: FontBook) -> bytes:
    """The directions of one imposed set as a PDF, in the set's own language.

    The same set gives the same bytes. ``web_page`` says the same for readers of screens.

    Raises UserError for a template that lacks a part, for text that finds no room and for
    characters that no face has.
    """
    language = order.phrases.language
    svgs = page_svgs(order, artwork, book)
    titles = [f"directions, page {number}" for number in range(1, len(svgs) + 1)]
    drawn = Source(draw(svgs, book, names=titles, language=language))
    page = artwork.page(order.paper)
    title = f"{order.phrases.of['title']}: {order.account.contents.set.title}"
    about = FileAbout(title, language, "/DuplexFlipLongEdge")
    return stitch_drawn(drawn, page.width_mm, page.height_mm, about)
