"""What vector editors save is drawn as resvg draws it, or refused by name.

resvg (https://github.com/linebender/resvg) is asked when the tests run, and Chromium about what it
does not know; none of their pictures is kept.
"""

from __future__ import annotations

import io
import itertools
import subprocess
from collections.abc import Sequence
from pathlib import Path

import numpy as np
import pypdf
import pypdfium2 as pdfium
import pytest
from lxml import etree
from PIL import Image

from pipeline.base.cache import Cache
from pipeline.base.errors import UserError
from pipeline.draw import draw
from pipeline.fill.template import TemplateFile, read_template
from pipeline.svg.refusals import every_feature
from tests.conftest import Golden
from tests.draw.engines import built, by_resvg, printed_by_chromium
from tests.draw.feature_pages import BROWSER_PAGES, PAGES, REFUSALS
from tests.draw.feature_samples import HEIGHT, WIDTH, Feature, Refused
from tests.draw.test_features import (
    BOOK,
    PIXELS_PER_MM,
    SHARE,
    Picture,
    any_channel,
    apart,
    by_us,
    inner,
    picture,
    svg,
)
from tests.prints_guide import FAMILIES, GUIDE, HEADING, NEXT_HEADING, Family, rules, section
from tests.tools import tool

LEAST = 0.004
"""The share of all pixels that must have ink: less is a page that says nothing."""
OF_INK = 0.1
"""Most of the ink that may be off on pages that have little; a letter is more."""
SIZE = (WIDTH * PIXELS_PER_MM, HEIGHT * PIXELS_PER_MM)
EVERY_PAGE: Sequence[Feature] = list(itertools.chain.from_iterable(PAGES.values()))
EVERY_REFUSAL: Sequence[Refused] = list(itertools.chain.from_iterable(REFUSALS.values()))


@pytest.mark.parametrize("feature", EVERY_PAGE, ids=lambda feature: feature.name)
def test_a_page_is_drawn_as_a_second_engine_draws_it(feature: Feature) -> None:
    drawing = svg(feature.equal or feature.content, feature.size)
    theirs = inner(by_resvg(drawing, BOOK, SIZE))
    alike(feature, theirs)


@pytest.fixture(scope="module")
def printed(tmp_path_factory: pytest.TempPathFactory) -> pdfium.PdfDocument:
    """The pages that a browser judges, as it prints them."""
    svgs = [svg(feature.content, feature.size) for feature in BROWSER_PAGES]
    folder = tmp_path_factory.mktemp("chromium")
    return pdfium.PdfDocument(printed_by_chromium(svgs, (WIDTH, HEIGHT), BOOK, folder))


@pytest.mark.parametrize(
    ("number", "feature"),
    [pytest.param(*pair, id=pair[1].name) for pair in enumerate(BROWSER_PAGES)],
)
def test_a_page_is_drawn_as_a_browser_prints_it(
    number: int, feature: Feature, printed: pdfium.PdfDocument
) -> None:
    alike(feature, picture(printed[number]))


def alike(feature: Feature, theirs: Picture) -> None:
    """Our picture differs by no more than ``SHARE``, and by a small part of the ink there is."""
    ink = any_channel(theirs < 250).mean()
    assert ink > LEAST or feature.empty, "there is nothing to compare"
    mine = by_poppler(by_us(feature)) if feature.reader == "poppler" else by_pdfium(by_us(feature))
    assert apart(mine, theirs) <= (SHARE if feature.empty else min(SHARE, OF_INK * ink))


def by_pdfium(pdf: bytes) -> Picture:
    return picture(pdfium.PdfDocument(pdf)[0])


def by_poppler(pdf: bytes) -> Picture:
    width, height = map(str, SIZE)
    program = [tool("pdftoppm"), "-png", "-scale-to-x", width, "-scale-to-y", height, "-"]
    drawn = subprocess.run(program, input=pdf, check=True, capture_output=True).stdout
    return inner(np.asarray(Image.open(io.BytesIO(drawn)).convert("RGB"), dtype=np.int16))


@pytest.mark.parametrize("fault", EVERY_REFUSAL, ids=lambda fault: fault.name)
def test_what_cannot_be_drawn_is_refused_by_name(fault: Refused) -> None:
    with pytest.raises(UserError) as refused:
        read_template(TemplateFile(Path("sample.svg"), svg(fault.content, fault.size)))
    assert f"'{fault.element}'" in refused.value.place or not fault.element
    assert fault.says in refused.value.what
    assert refused.value.remedy


_COLOURS = {"de": "#383", "fr,fr-CA": "#369", "zh-Hans": "#963", None: "#444"}
"""What a switch shows in each language, and in all others."""


@pytest.mark.parametrize(
    ("language", "colour"),
    [
        ("de", "#383"),
        ("de-AT", "#383"),
        ("DE", "#383"),
        ("fr", "#369"),
        ("zh", "#963"),
        ("zh-Hans-CN", "#963"),
        ("zh-Hant", "#444"),
        ("en", "#444"),
        ("d", "#444"),
        ("", "#444"),
    ],
)
@pytest.mark.parametrize("first", [None, "de"])
def test_a_switch_shows_what_is_for_the_language_of_the_page(
    language: str, colour: str, first: str | None
) -> None:
    """SVG 2, 5.11.4: a tag means another that is the same or begins with it; a page in German as
    written in Austria is one in German."""
    order = sorted(_COLOURS, key=lambda each: each != "de") if first else list(_COLOURS)
    shapes = "".join(
        f'<rect width="60" height="40" fill="{_COLOURS[each]}"'
        + (f' systemLanguage="{each}"/>' if each else "/>")
        for each in order
    )
    drawing = svg(f'<switch transform="translate(5 5) scale(.5)">{shapes}</switch>')
    theirs = inner(
        by_resvg(svg(f'<rect x="5" y="5" width="30" height="20" fill="{colour}"/>'), BOOK, SIZE)
    )
    mine = picture(pdfium.PdfDocument(built([drawing], BOOK, language))[0])
    assert apart(mine, theirs) <= SHARE


def test_words_for_one_language_stay_in_the_order_they_are_painted_in() -> None:
    text = '<text x="5" y="28" font-family="Kalam" font-size="20" {}>Blatt</text>'
    over = '<rect x="20" y="5" width="15" height="30" fill="#fc6"/>'
    drawing = text.format('systemLanguage="de"') + over + text.format('systemLanguage="fr"')
    for language, plain in (("de", text.format("") + over), ("fr", over + text.format(""))):
        theirs = inner(by_resvg(svg(plain), BOOK, SIZE))
        mine = picture(pdfium.PdfDocument(built([svg(drawing)], BOOK, language))[0])
        assert apart(mine, theirs) <= SHARE


def test_each_page_has_its_own_name() -> None:
    names = [page.name for page in (*EVERY_PAGE, *BROWSER_PAGES)]
    names += [fault.name for fault in EVERY_REFUSAL]
    assert len(set(names)) == len(names)


def test_the_guide_tells_what_prints_and_how_many_pages_say_so(golden: Golden) -> None:
    """``make golden`` writes it anew; ``docs/pictures/what_prints.py`` draws its pictures."""
    before, _, rest = GUIDE.read_text("utf-8").partition(HEADING)
    said, _, after = rest.partition(NEXT_HEADING)
    if golden.renew:
        GUIDE.write_text(before + section() + NEXT_HEADING + after, "utf-8")
        return
    assert HEADING + said == section()


def test_the_guide_counts_every_page_and_every_rule_once() -> None:
    parts = [part for family in FAMILIES for part in family.parts]
    assert sorted(parts) == sorted(PAGES)
    listed = [rule for of_family in rules().values() for rule in of_family]
    assert sorted(listed) == sorted(rule.what for rule in every_feature())


@pytest.mark.parametrize("family", FAMILIES, ids=lambda family: family.name)
def test_what_the_guide_shows_are_pages_of_its_families(family: Family) -> None:
    assert family.shown.keys() <= {page.name for page in family.pages}
    if family.shown:
        assert family.picture.stat().st_size < 60_000


SOFT = (
    '<filter id="f"><feGaussianBlur stdDeviation=".4"/></filter>'
    '<g filter="url(#f)"><rect x="4" y="30" width="50" height="3" fill="#269"/>'
    '<text x="4" y="20" font-family="Kalam" font-size="7" fill="#a30">Seeds and soil</text></g>'
)


def test_words_in_a_picture_of_an_effect_are_found() -> None:
    pdf = built([svg(SOFT)], BOOK)
    page = pdfium.PdfDocument(pdf)[0]
    assert page.get_textpage().get_text_bounded().strip() == "Seeds and soil"
    poppler = subprocess.run(
        [tool("pdftotext"), "-", "-"], input=pdf, check=True, capture_output=True, encoding=None
    )
    assert poppler.stdout.decode().strip() == "Seeds and soil"


def test_an_effect_is_one_picture_cut_to_its_ink_at_the_resolution_asked_for() -> None:
    for dpi in (300, 600):
        pdf = draw([template_svg(SOFT)], BOOK, dpi=dpi)
        [picture_in] = pypdf.PdfReader(io.BytesIO(pdf)).pages[0].images
        assert picture_in.image is not None
        wide, high = (side / dpi * 25.4 for side in picture_in.image.size)
        assert 50 < wide < 56, "the bar is 50 mm wide, a blur goes three times its measure further"
        assert 18 < high < 25


def test_an_effect_on_equal_texts_is_drawn_and_stored_once(tmp_path: Path) -> None:
    kept = Cache(tmp_path)
    pages = [template_svg(SOFT), template_svg(SOFT.replace("soil", "sun")), template_svg(SOFT)]
    pdf = draw(pages, BOOK, cache=kept)
    reader = pypdf.PdfReader(io.BytesIO(pdf))
    stored = {
        each.indirect_reference.idnum
        for page in reader.pages
        for each in page.images
        if each.indirect_reference is not None
    }
    assert len(stored) == 2
    assert draw(pages, BOOK, cache=kept) == pdf


def template_svg(content: str) -> bytes:
    return etree.tostring(read_template(TemplateFile(Path("sample.svg"), svg(content))).root)
