"""Title cards: what they say, how they look, and that they can be told apart on a thumbnail."""

from __future__ import annotations

import datetime as dt
import io
import itertools
import unicodedata
from collections.abc import Iterable, Sequence
from dataclasses import replace
from itertools import combinations
from pathlib import Path

import numpy as np
import pytest
from lxml import etree
from PIL import Image
from pypdf import PdfReader

from pipeline.app.build import faces_of
from pipeline.draw import draw
from pipeline.impose.contents import read_contents
from pipeline.plan import plan_season
from pipeline.plan.model import Side
from pipeline.plan.words import words_for
from pipeline.proof.pictures.pictures import open_set
from pipeline.publish.pictures.listing import LANGUAGES
from pipeline.publish.pictures.scenery import Scenery
from pipeline.publish.pictures.titlecard import (
    PageLook,
    card_text,
    look_of,
    spreads_of_months,
    title_card,
)
from pipeline.publish.pictures.views import lettering_book, rendered
from pipeline.svg.recolour import colours_in
from pipeline.text import FontBook
from tests.conftest import ROOT, Demo

THUMB = 270
"""Pixels across, as listings stand side by side (common practice)."""

PLAIN_LOOK = PageLook((60, 90, 60), "Source Sans 3", "Source Sans 3")

SETS = (
    *((month, name) for month in ("march", "april") for name in ("two-flap-sowing", "running")),
    ("quarter", "running"),
    ("undated", "plant-record"),
)


@pytest.fixture(scope="module")
def book() -> FontBook:
    """The demo's faces."""
    return lettering_book(faces_of(plan_season(ROOT / "seasons/2027-spring.toml", None)))


@pytest.fixture(scope="module")
def cards(demo: Demo, book: FontBook) -> dict[tuple[str, str], Image.Image]:
    """The cards of some sets."""
    made = {}
    for period, name in SETS:
        with open_set(demo.folder(period, name, "a4"), 72.0) as pictures:
            made[period, name] = title_card(pictures, (600, 600), book)
    return made


def said(
    folder: Path,
    book: FontBook,
    papers: Sequence[str] = ("A4", "Letter"),
    theme: str = "Kitchen garden",
) -> str:
    """What pypdf reads in a set's card."""
    contents = read_contents(folder)
    svg, _ = card_text(contents, look(folder, book), book, papers, theme)
    pdf = draw([svg], book, names=["card"], language=contents.language)
    text = PdfReader(io.BytesIO(pdf)).pages[0].extract_text()
    return " ".join(unicodedata.normalize("NFKC", text).split())


def look(folder: Path, book: FontBook) -> PageLook:
    """What a set's pages look like."""
    with open_set(folder, 72.0) as pictures:
        return look_of(pictures, [(0, Side.VERSO), (1, Side.RECTO)], book)


def test_what_it_says(demo: Demo, book: FontBook) -> None:
    folder = demo.folder("quarter", "running", "a4")
    text = said(folder, book)
    for part in (
        "March – May 2027",
        "1 Mar – 30 May 2027",
        "Running weeks on one flap",
        "A5 planner inserts to print at home",
        "A4 and Letter",
        "English",
    ):
        assert part in text
    assert text.startswith("Kitchen garden · 1 Mar – 30 May 2027 March")
    assert said(folder, book, theme="Running weeks").startswith("1 Mar"), "the name says it"
    undated = demo.folder("undated", "plant-record", "a4")
    assert said(undated, book).startswith("Kitchen garden Plant record A5 planner inserts to print")
    assert "print" not in said(folder, book, ()), "what is for screens alone"


def test_names_break_after_a_comma(demo: Demo, book: FontBook) -> None:
    """Not within "sowing list"."""
    svg, _ = card_text(
        read_contents(demo.folder("march", "two-flap-sowing", "a4")), PLAIN_LOOK, book
    )
    rows = [element.text for element in etree.fromstring(svg).iter("{*}text")]
    assert rows[2:4] == ["Week on two flaps,", "with sowing list and bed plan"]


def test_it_shows_a_page_that_tells_the_set_from_others(demo: Demo, book: FontBook) -> None:
    with open_set(demo.folder("march", "two-flap-list", "a4"), 72.0) as pictures:
        plain, telling = (
            title_card(pictures, (300, 300), book, telling=names) for names in ((), ("notes",))
        )
    changed = np.abs(np.asarray(plain, np.int16) - np.asarray(telling, np.int16)).max(axis=2) > 40
    assert changed[200:].mean() > 0.01
    assert not changed[:150].any()


def test_it_looks_like_its_pages(demo: Demo, book: FontBook) -> None:
    folder = demo.folder("march", "running", "a4")
    seen = look(folder, book)
    assert (seen.heading, seen.text) == ("Vollkorn", "Alegreya Sans")
    drawn = colours_in(
        (ROOT / "templates_svg/kitchen_garden/a5/week-running-verso.svg").read_bytes()
    )
    nearest = min(max(abs(a - b) for a, b in zip(seen.colour, one, strict=True)) for one in drawn)
    assert nearest <= 6, (seen.colour, drawn)


def luminance(colour: Iterable[float]) -> float:
    """Relative luminance by WCAG 2.2."""
    parts = [level / 255 for level in colour]
    red, green, blue = [
        part / 12.92 if part <= 0.04045 else ((part + 0.055) / 1.055) ** 2.4 for part in parts
    ]
    return 0.2126 * red + 0.7152 * green + 0.0722 * blue


def test_it_is_easily_read(cards: dict[tuple[str, str], Image.Image]) -> None:
    """Its letters against their ground, measured in the picture: WCAG 2.2, 1.4.6, asks for 7."""
    for card in cards.values():
        pixels = np.asarray(card, np.float64)[:250].reshape(-1, 3)
        ground, letters = np.median(pixels, axis=0), pixels[pixels.sum(axis=1).argsort()][:200]
        light, dark = luminance(ground), luminance(letters.mean(axis=0))
        assert (light + 0.05) / (dark + 0.05) >= 7


def test_letters_are_large_on_a_thumbnail(cards: dict[tuple[str, str], Image.Image]) -> None:
    """The darkest words, those of the name, are 10 pixels high or more on a thumbnail."""
    for card in cards.values():
        grey = np.asarray(card.convert("L"), np.float64)[:270]
        inked = (grey < grey.min() + 40).mean(axis=1) > 0.005
        edges = np.flatnonzero(np.diff(np.concatenate(([0], inked.astype(np.int8), [0]))))
        tallest = max(edges[1::2] - edges[::2])
        assert tallest * THUMB / card.width >= 10


def test_cards_can_be_told_apart_on_a_thumbnail(
    cards: dict[tuple[str, str], Image.Image],
) -> None:
    thumbs = {
        key: np.asarray(card.convert("L").resize((THUMB, THUMB)), np.float64)
        for key, card in cards.items()
    }
    for one, other in combinations(thumbs, 2):
        different = np.abs(thumbs[one] - thumbs[other]) > 40
        assert different.mean() > 0.01, (one, other)


def test_each_turn_has_another_ground(demo: Demo, book: FontBook) -> None:
    """The cards of seven listings beside one another, at their left edges."""
    with open_set(demo.folder("march", "running", "a4"), 72.0) as pictures:
        cards = [title_card(pictures, (200, 200), book, Scenery("m", turn=n)) for n in range(7)]
    grounds = [np.asarray(card, np.float64)[:4].mean(axis=(0, 1)) for card in cards]
    assert min(np.abs(one - other).max() for one, other in combinations(grounds, 2)) > 8


def test_several_months_are_a_spread_each(demo: Demo, book: FontBook) -> None:
    """The pages of April and May are laid on a quarter's card beside those of March."""
    with open_set(demo.folder("quarter", "two-flap-sowing", "a4"), 72.0) as pictures:
        firsts = [faces[0] for faces in spreads_of_months(pictures)]
        pages = [pictures.contents.leaves[leaf].page(face) for leaf, face in firsts]
    assert [page.dates[0].month for page in pages if page] == [3, 3, 5]
    assert [page.dates[-1].month for page in pages if page] == [3, 4, 5], "April's begins in March"
    with open_set(demo.folder("april", "running", "a4"), 72.0) as pictures:
        assert len(spreads_of_months(pictures)) == 1, "though its first week begins in March"


@pytest.mark.parametrize("language", LANGUAGES)
def test_lines_stand_clear_of_one_another(demo: Demo, book: FontBook, language: str) -> None:
    """Each line drawn alone: the lowest row of its pixels is above the next one's highest."""
    contents = read_contents(demo.folder("march", "running", "a4"))
    month = words_for(language).interval(dt.date(2027, 5, 1), dt.date(2027, 5, 31), "yMMMM")
    svg, _ = card_text(
        replace(contents, language=language, period=replace(contents.period, title=f"{month} jy")),
        PLAIN_LOOK,
        book,
        ["A4", "Letter"],
        "Kitchen garden jy",
    )
    rows = []
    for number in range(len(etree.fromstring(svg).findall("{*}text"))):
        alone = etree.fromstring(svg)
        for place, text in enumerate(alone.findall("{*}text")):
            if place != number:
                alone.remove(text)
        picture = rendered(etree.tostring(alone), 1000, language, "card", book)
        rows.append(np.flatnonzero((np.asarray(picture.convert("L")) < 200).any(axis=1)))
    for above, below in itertools.pairwise(rows):
        assert above.max() < below.min() - 4
    assert rows[1].max() < rows[2].min() - 12


@pytest.mark.parametrize("language", [one for one in LANGUAGES if one not in ("en", "en-US")])
def test_no_picture_is_missing_a_face(demo: Demo, language: str) -> None:
    """Without a collection's faces, those of installed packages have every language's letters."""
    contents = read_contents(demo.folder("march", "running", "a4"))
    book = lettering_book()
    svg, bottom = card_text(
        replace(contents, language=language),
        PLAIN_LOOK,
        book,
        ["A4", "Letter"],
        "Kitchen garden",
    )
    assert bottom < 700
    assert draw([svg], book, names=["card"], language=language)
