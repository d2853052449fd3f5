"""Alt texts and listings: there in every language, and true to the files."""

from __future__ import annotations

import re
import tomllib
from dataclasses import replace
from html.parser import HTMLParser
from pathlib import Path
from typing import Any

import pytest
from babel.core import Locale
from pypdf import PdfReader

from pipeline.impose.contents import read_contents
from pipeline.plan.season import Publish
from pipeline.publish.pictures.listing import (
    LANGUAGES,
    MOVING,
    SHOWN,
    alt_text,
    facts_of,
    listing,
    read_facts,
    shop_words,
)
from pipeline.publish.pictures.shoppictures import shop_pictures
from tests.conftest import Demo

WORDS = Path(__file__).parents[2] / "pipeline" / "publish" / "pictures" / "words"


def _paths(table: dict[str, Any], above: str = "") -> set[str]:
    paths = set()
    for key, value in table.items():
        path = f"{above}{key}"
        if path.startswith("count.") and isinstance(value, dict):
            paths.add(path)
        elif isinstance(value, dict):
            paths |= _paths(value, f"{path}.")
        else:
            paths.add(path)
    return paths


def _read(language: str) -> dict[str, Any]:
    return tomllib.loads((WORDS / f"{language}.toml").read_text("utf-8"))


@pytest.mark.parametrize("language", [each for each in LANGUAGES if each != "en-US"])
def test_every_text_is_there_with_what_it_takes(language: str) -> None:
    english, words = _read("en"), _read(language)
    assert _paths(words) == _paths(english)
    for part in ("alt", "listing"):
        for key, text in english[part].items():
            wanted = set(re.findall(r"\{(\w+)\}", text)) - {"lb"}
            given = set(re.findall(r"\{(\w+)\}", words[part][key])) - {"lb"}
            assert given == wanted, f"{part}.{key}"


def test_american_english_says_only_what_differs() -> None:
    assert _paths(_read("en-US")) < _paths(_read("en"))


@pytest.mark.parametrize("language", LANGUAGES)
def test_plurals_are_those_of_cldr(language: str) -> None:
    """Every category that whole numbers fall into has a form (CLDR plural rules, Babel)."""
    rule = Locale.parse(language, sep="-").plural_form
    needed = {rule(number) for number in range(200)}
    for what, forms in shop_words(language).of["count"].items():
        assert needed <= set(forms), what
        assert all(shop_words(language).count(what, number) for number in (1, 2, 5, 11, 22, 100))


@pytest.mark.parametrize("language", LANGUAGES)
def test_every_picture_has_a_text_of_its_own(demo: Demo, language: str) -> None:
    facts = read_facts(demo.folder("march", "two-flap-sowing", "a4"))
    texts = [alt_text(kind, facts, language) for kind in (*SHOWN, MOVING)]
    assert len(set(texts)) == len(texts)
    for text in texts:
        assert not text.startswith(facts.title), "what is seen comes first"
        assert facts.title in text
        assert facts.format.title in text
        assert "2027" in text
        assert not set("{}") & set(text)
        assert len(text) < 250, "screen readers read it aloud"


def test_texts_say_what_is_seen(demo: Demo) -> None:
    facts = read_facts(demo.folder("march", "running", "letter"))
    which = "Running weeks on one flap, 1–28 March 2027, A5."
    seen = "The open binder from above, the flap opened out. "
    assert alt_text("spread-open", facts, "en-GB") == seen + which
    near = "Bed plan – a page beside the rings, close enough to read. "
    assert alt_text("close-up", facts, "en-GB", page="bed plan") == near + which
    undated = read_facts(demo.folder("undated", "plant-record", "a4"))
    fan = alt_text("fan", undated, "en-GB")
    assert fan == "Pages of the set fanned out on a table. Plant record, A5."
    assert "Letter" in alt_text("sheet", facts, "de")


def test_every_file_has_its_text(demo: Demo) -> None:
    made = shop_pictures(demo.folder("march", "running", "a4"), kinds=("sheet",), language="el")
    assert set(made.alt) == set(made.files)
    assert all("κόλλα A4" in text for text in made.alt.values())


def test_the_figures_are_those_of_the_files(demo: Demo) -> None:
    """The listing against the printed PDFs, read by pypdf, and the calendar of the stdlib."""
    editions = [demo.folder("quarter", "running", paper) for paper in ("a4", "letter")]
    facts = [read_facts(folder) for folder in editions]
    text = listing(facts, "en-GB").markdown()
    a4, letter = (len(PdfReader(folder / "side-1.pdf").pages) for folder in editions)
    assert f"- **Sheets**: {a4} sheets of A4 or {letter} sheets of Letter\n" in text
    weeks = {day.isocalendar()[:2] for day in facts[0].weeks}
    assert f"1 March – 30 May 2027 ({len(weeks)} weeks)" in " ".join(text.split())
    assert "28 printed pages on 14 leaves" in text
    assert "13 fold-out flaps, 42 mm wide" in text
    assert "A5, 148 × 210 mm, 6 holes" in text
    assert "- **Print on**: A4 or Letter" in text
    assert "about 120 g/m² (32 lb bond)" in text


def test_a_flap_that_two_pages_share_is_one(demo: Demo) -> None:
    contents = read_contents(demo.folder("march", "two-flap-sowing", "a4"))
    both = tuple(
        replace(
            leaf,
            recto=replace(leaf.recto, flap_mm=leaf.flap_mm) if leaf.recto else None,
            verso=replace(leaf.verso, flap_mm=leaf.flap_mm) if leaf.verso else None,
        )
        for leaf in contents.leaves
    )
    flaps = sum(leaf.flap_mm > 0 for leaf in both)
    facts = facts_of(replace(contents, leaves=both))
    assert f"{flaps} fold-out flaps, 42 mm wide" in listing([facts], "en-GB").markdown()


def test_inches_for_the_united_states(demo: Demo) -> None:
    facts = read_facts(demo.folder("undated", "plant-record", "letter"))
    text = listing([facts], "en-US", ("directions", "side-1", "poster")).markdown()
    assert "A5, 5.83 × 8.27 in, 6 holes" in text
    assert "begin whenever you like" in text
    assert "fold" not in text.replace("fold-out", ""), "nothing in it is folded"
    assert "- illustrated directions for this set\n- side 1 of every sheet\n- poster\n" in text


@pytest.mark.parametrize("language", LANGUAGES)
def test_a_listing_in_every_language(demo: Demo, language: str) -> None:
    facts = read_facts(demo.folder("april", "two-flap-list", "a4"))
    text = listing([facts], language).markdown()
    what = shop_words(language).say("listing", "title", size="A5")
    assert text.startswith(f"# {what} · April 2027 · {facts.title}\n")
    assert text.count("April 2027\n") == 0, "the title says it"
    assert not set("{}") & set(text)
    assert text.count("\n## ") == 4
    assert shop_words(language).of["listing"]["blades"] in text
    assert len(re.findall(r"^- ", text, flags=re.MULTILINE)) >= 16


def test_a_title_is_no_longer_than_a_shop_allows(demo: Demo) -> None:
    facts = read_facts(demo.folder("march", "running", "a4"))
    whole = (
        "A5 planner inserts to print at home · March 2027 · Running weeks on one flap"
        " · Kitchen garden"
    )
    for most, wanted in (
        (None, whole),
        (len(whole), whole),
        (len(whole) - 1, whole.removesuffix(" · Kitchen garden")),
        (50, "A5 planner inserts to print at home · March 2027"),
        (10, "A5 planner inserts to print at home"),
    ):
        said = listing([facts], "en-GB", theme="Kitchen garden", limits=Publish(title_letters=most))
        assert said.title == wanted


@pytest.mark.parametrize("language", LANGUAGES)
def test_tags_are_what_people_look_for(demo: Demo, language: str) -> None:
    """The trade's words come first, measures nowhere; what is on a screen alone isn't called
    printable."""
    facts = read_facts(demo.folder("march", "running", "a4"))
    tags = listing([facts], language, theme="Kitchen garden").tags
    said = shop_words(language).of["tags"]
    assert tuple(tags[:3]) == (
        said["printed"][0].format(size="A5"),
        said["printed"][1],
        said["themed"].format(theme="Kitchen garden", year=2027),
    )
    assert {said["weeks"], said["flaps"], said["dated"], "March 2027"} <= set(tags)
    assert not {"A5", "A4"} & set(tags)
    assert len(set(tags)) == len(tags)
    limits = Publish(tags=4, tag_letters=len(tags[0]) - 1)
    fewer = listing([facts], language, theme="Kitchen garden", limits=limits).tags
    assert fewer == [tag for tag in tags if len(tag) < len(tags[0])][:4]
    on_screen = listing([facts], language, included=("screen", "licence"))
    assert shop_words(language).say("listing", "title-screen", size="A5") in on_screen.title
    assert not set(said["printed"]) & set(on_screen.tags)


def test_a_listing_is_for_one_set(demo: Demo) -> None:
    march, april = (read_facts(demo.folder(month, "running", "a4")) for month in ("march", "april"))
    with pytest.raises(ValueError, match="one set"):
        listing([march, april])


class Reader(HTMLParser):
    """The words of a piece of HTML, by the standard library, and the tags left open."""

    def __init__(self) -> None:
        super().__init__()
        self.words: list[str] = []
        self.open: list[str] = []

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        self.open.append(tag)

    def handle_endtag(self, tag: str) -> None:
        assert self.open.pop() == tag

    def handle_data(self, data: str) -> None:
        self.words += data.split()


@pytest.mark.parametrize("language", LANGUAGES)
def test_the_same_words_in_every_form(demo: Demo, language: str) -> None:
    facts = read_facts(demo.folder("april", "two-flap-list", "a4"))
    named = replace(facts.contents.set, title="Peas & <b>beans</b>")
    said = listing([facts._replace(contents=replace(facts.contents, set=named))], language)
    reader = Reader()
    reader.feed(said.html())
    assert reader.open == []
    bare = [word for word in said.plain_text().split() if word != "•"]
    assert "".join(reader.words) == "".join(bare)
    marked = [word for word in re.sub(r"\*\*", "", said.markdown()).split() if word != "-"]
    assert [word for word in marked if set(word) != {"#"}] == bare


def test_the_first_sentence_is_the_maker_s_own_or_true(demo: Demo) -> None:
    dated = read_facts(demo.folder("march", "running", "a4"))
    undated = read_facts(demo.folder("undated", "plant-record", "a4"))
    own = listing([dated], "en-GB", lead="A week for wet gardens.").lead
    assert own.startswith("A week for wet gardens. Ring-binder pages")
    assert listing([dated], "en-GB").lead.startswith("Already dated for 1–28 March 2027:")
    assert listing([undated], "en-GB").lead.startswith("Without dates:")
