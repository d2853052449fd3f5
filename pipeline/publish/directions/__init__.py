"""Printed directions that fit exactly one set: what to print, turn, check, cut, punch and fold."""

from __future__ import annotations

from collections.abc import Collection, Mapping
from pathlib import Path
from typing import Any

import pipeline
from pipeline.draw import draw
from pipeline.draw.forms import Source
from pipeline.geometry import Rect
from pipeline.impose.stitch import FileAbout, SidePlan, stitch
from pipeline.plan.model import Binder, Paper
from pipeline.publish.directions.account import Account
from pipeline.publish.directions.pages import Artwork, page_svgs
from pipeline.publish.directions.phrases import phrases_for
from pipeline.publish.directions.steps import FEED_TEST, SIDE_2_REVERSED, Order
from pipeline.text import FontBook

__all__ = ["FEED_TEST", "SIDE_2_REVERSED", "artwork_of", "directions"]

FOLDER = "directions"
_DEMO = "kitchen_garden"


def directions(
    contents: Mapping[str, Any],
    binder: Binder,
    paper: Paper,
    files: Collection[str],
    artwork: Artwork,
    book: FontBook,
) -> bytes:
    """The directions of one imposed set as a PDF, in the set's own language.

    ``contents`` is the set's ``contents.json``, ``files`` the names of what comes with it: the
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


def artwork_of(collection: Path) -> Artwork:
    """The templates of a collection's own directions, or those that come with the program."""
    here = Path(pipeline.__file__).parent
    # In a checkout the carried collections lie beside the package, in a wheel inside it.
    shelves = (here / "templates_svg", here.parent / "templates_svg")
    folders = [collection / FOLDER, *(shelf / _DEMO / FOLDER for shelf in shelves)]
    return Artwork(next(folder for folder in folders if folder.is_dir()))
