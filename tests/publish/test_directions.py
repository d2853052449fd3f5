"""Directions read back: their numbers against the imposed files, every language, nothing lost."""

from __future__ import annotations

import base64
import functools
import itertools
import re
import string
import unicodedata
from collections.abc import Iterator, Mapping
from dataclasses import replace
from pathlib import Path

import pypdfium2 as pdfium
import pytest
import uharfbuzz as hb
from babel.core import Locale
from lxml import etree, html

from pipeline.app.build import faces_of, make_season
from pipeline.base.geometry import Rect
from pipeline.fill.template import computed_style
from pipeline.impose import Flip
from pipeline.impose.bench import cut_order
from pipeline.impose.contents import Contents, read_contents
from pipeline.plan import SeasonPlan, plan_season
from pipeline.plan.model import Binding, SetPlan, Side
from pipeline.proof.read.raster import opened, page_picture
from pipeline.publish.directions import artwork_of, directions, web_page
from pipeline.publish.directions.pages import page_svgs
from pipeline.publish.directions.steps import WORDS, Account, Order, phrases_for
from pipeline.publish.zips import FEED_TEST, HOLE_GAUGE, SIDE_2_REVERSED
from pipeline.svg.tree import SVG, page_matrix
from pipeline.text import FontBook, Style, advance
from pipeline.text.shape import lines, pieces, shape
from tests.conftest import ROOT, Demo, Golden

LANGUAGES = ("en-GB", "en-US", "de", "fr", "es", "pl", "el", "ar-EG", "hi", "ja")
EVERYTHING = frozenset({FEED_TEST, HOLE_GAUGE, SIDE_2_REVERSED})
MARGIN_MM = 8.0
"""Home printers leave up to 6.4 mm at the edges unprinted (common practice)."""

TOUCH_MM = 0.1
"""A glyph's box is a little larger than its ink where that is round."""


def season(name: str) -> SeasonPlan:
    return _season(name)


@functools.cache
def _season(name: str) -> SeasonPlan:
    return plan_season(ROOT / "seasons" / f"{name}.toml")


@functools.cache
def book() -> FontBook:
    return faces_of(season("2027-spring-languages")).book()


def order_of(contents: Contents, files: frozenset[str] = EVERYTHING) -> Order:
    plans = [season("2027-spring"), season("2027-spring-sizes")]
    binders = {one.binder.name: one.binder for plan in plans for one in plan.sets}
    papers = {paper.name: paper for plan in plans for paper in plan.papers}
    binder, paper = binders[contents.binder.name], papers[contents.paper.name]
    return Order.of(contents, binder, paper, files)


def made(contents: Contents, files: frozenset[str] = EVERYTHING) -> bytes:
    artwork = artwork_of(season("2027-spring").collection.folder)
    return directions(order_of(contents, files), artwork, book())


def svgs(contents: Contents) -> list[bytes]:
    artwork = artwork_of(season("2027-spring").collection.folder)
    return page_svgs(order_of(contents), artwork, book())


def bare(text: str) -> str:
    """Letters and figures alone: spaces, vowel signs and marks of direction are taken out."""
    flat = unicodedata.normalize("NFKD", text)
    return "".join(c for c in flat if unicodedata.category(c)[0] not in "ZMC")


def is_read(said: str, text: str) -> bool:
    """Whether what is said is in the text of a page, letter by letter.

    pdfium puts neither vowel signs nor Latin words amid Arabic into reading order, and may leave
    a word beside such a sign in the order it is seen in. So there only words without signs are
    looked for, either way round, and all figures.
    """
    if not any(unicodedata.bidirectional(c) == "AL" for c in said):
        return bare(said) in text
    words = [word.strip(".،:()«»") for word in said.split()]
    known = [word for word in words if word.isalpha() or word.isdecimal()]
    known = [word for word in known if not word.isascii()]
    found = [bare(word) in text or bare(word)[::-1] in text for word in known]
    return bool(found) and all(found)


def read(pdf: bytes) -> str:
    with opened(pdf) as document:
        return bare("".join(page.get_textpage().get_text_bounded() for page in document))


def page_count(file: Path) -> int:
    document = pdfium.PdfDocument(file)
    try:
        return len(document)
    finally:
        document.close()


@pytest.fixture(scope="module")
def sizes(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """Running weeks of the sizes season: several leaves on a sheet, in piles."""
    out = tmp_path_factory.mktemp("sizes")
    make_season(ROOT / "seasons" / "2027-spring-sizes.toml", out, only="running")
    return out / "2027-spring-sizes" / "march" / "running"


@pytest.fixture(params=LANGUAGES)
def spoken(request: pytest.FixtureRequest, demo: Demo) -> Contents:
    """March on two flaps as it is in each of the ten languages."""
    language = request.param
    plan = next(
        one
        for one in season("2027-spring-languages").sets
        if one.name == "two-flap-sowing" and one.language == language
    )
    return in_language(read_contents(demo.folder("march", "two-flap-sowing", "a4")), plan)


def in_language(contents: Contents, plan: SetPlan) -> Contents:
    return replace(
        contents,
        language=plan.language,
        binding=plan.binding,
        set=replace(contents.set, title=plan.title),
        period=replace(contents.period, title=plan.period.title),
    )


SETS = [
    ("quarter", "two-flap-sowing", "a4"),
    ("quarter", "running", "letter"),
    ("may", "two-flap-list", "letter"),
    ("undated", "plant-record", "a4"),
]


@pytest.mark.parametrize("where", SETS, ids="-".join)
def test_numbers_are_those_of_the_imposed_files(demo: Demo, where: tuple[str, str, str]) -> None:
    folder = demo.folder(*where)
    contents = read_contents(folder)
    text = read(made(contents))
    paper = {"a4": "A4", "letter": "US Letter"}[where[2]]
    sheets = page_count(folder / "side-1.pdf")
    assert page_count(folder / "side-2.pdf") == sheets
    assert bare(f"{sheets} × {paper}") in text
    assert bare(f"Print 3-side-1.pdf on one side only: {sheets} sheets of {paper}.") in text
    assert bare(f"({page_count(folder / 'both-sides.pdf')} pages") in text
    leaves = contents.leaves
    assert bare(f"{len(leaves)} × A5") in text
    flaps = [leaf for leaf in leaves if leaf.flap_mm]
    if flaps:
        assert bare(f"{len(flaps)} leaves, flap 42 mm") in text
        assert bare(f"{len(flaps)} leaves have a flap.") in text
        assert (
            bare("the scored line 148 mm from the edge with the holes") in text
        )  # ISO 216: A5 is 148 wide
    else:
        assert "flap" not in text
    strokes = -(-len(leaves) // 5)
    noun = "stroke" if strokes == 1 else "strokes"
    assert bare(f"At most 5 leaves go into the punch at a time: {strokes} {noun}") in text
    assert bare(f"needs {contents.bench.cuts} strokes in all") in text
    assert bare(f"the leaf from sheet 1 comes first, the one from sheet {sheets} last") in text


def test_the_demo_in_figures(demo: Demo) -> None:
    """13 weeks on two flaps with a spread in between: 27 leaves (common practice: 2w + 1)."""
    text = read(made(read_contents(demo.folder("quarter", "two-flap-list", "a4"))))
    for figure in (
        "1 March – 30 May 2027", "27 × A4", "27 × A5", "26 leaves, flap 42 mm",
        "120 g/m² (32 lb bond)", "6 strokes for this set", "make 2 heaps of them, 1–26 and 27",
    ):  # fmt: skip
        assert bare(figure) in text, figure


def test_american_paper_is_asked_for_in_pounds_first(demo: Demo) -> None:
    contents = replace(read_contents(demo.folder("march", "running", "letter")), language="en-US")
    text = read(made(contents))
    assert bare("32 lb bond (120 g/m²)") in text
    assert bare("sheets of Letter.") in text


def test_several_leaves_a_sheet_are_stacked(sizes: Path) -> None:
    contents = read_contents(sizes / "pocket-a4-en-GB")
    account = Account(contents)
    text = read(made(contents))
    assert not account.one_leaf_a_sheet
    assert bare(f"The cut leaves lie in {account.piles} piles.") in text
    assert bare("Put the 5 leaves on the rings as they lie in the pile") in text
    assert "from sheet" not in text


def test_piles_on_one_another_are_in_order(sizes: Path) -> None:
    for folder in sorted(sizes.iterdir()):
        contents = read_contents(folder)
        order: list[int] = []
        for heap in Account(contents).heaps:
            sheets = contents.sheets[heap.first - 1 : heap.last]
            for pile in range(len(heap.flats)):
                order += [s.side_1[pile].leaf for s in sheets if pile < len(s.side_1)]
        assert order == list(range(len(contents.leaves))), folder.name


def test_cuts_of_the_heaps_are_the_strokes_of_the_bench(sizes: Path, demo: Demo) -> None:
    folders = [*sizes.iterdir(), *(demo.folder(*where) for where in SETS)]
    for folder in folders:
        account = Account(read_contents(folder))
        cuts = [len(cut_order(heap.flats, *account.sheet_mm)) for heap in account.heaps]
        assert sum(cuts) == account.contents.bench.cuts, folder


def test_every_edge_of_a_leaf_is_cut(sizes: Path) -> None:
    for folder in sizes.iterdir():
        account = Account(read_contents(folder))
        for heap in account.heaps:
            cuts = cut_order(heap.flats, *account.sheet_mm)
            for flat in heap.flats:
                for across, at, middle in (
                    (True, flat.y, flat.x + flat.width / 2),
                    (True, flat.bottom, flat.x + flat.width / 2),
                    (False, flat.x, flat.y + flat.height / 2),
                    (False, flat.right, flat.y + flat.height / 2),
                ):
                    assert any(
                        cut.across is across
                        and abs(cut.at - at) < 0.01
                        and any(low <= middle <= high for low, high in cut.spans)
                        for cut in cuts
                    ), (folder.name, flat, at)


def test_only_what_comes_with_the_set_is_spoken_of(demo: Demo) -> None:
    contents = read_contents(demo.folder("march", "running", "a4"))
    everything, nothing = read(made(contents)), read(made(contents, frozenset()))
    assert FEED_TEST in everything
    assert SIDE_2_REVERSED in everything
    assert FEED_TEST not in nothing
    assert SIDE_2_REVERSED not in nothing
    assert bare("the bar beside the leaves must measure 100 mm") in nothing


def test_one_sheet_is_no_pile(demo: Demo) -> None:
    contents = read_contents(demo.folder("undated", "plant-record", "a4"))
    single = replace(
        contents,
        leaves=contents.leaves[:1],
        sheets=contents.sheets[:1],
        files=tuple(replace(file, pages=1) for file in contents.files),
        bench=replace(contents.bench, punch_strokes=1, cuts=4),
    )
    text = read(made(single))
    assert bare("1 sheet of A4.") in text
    assert bare("look at both sides of the sheet.") in text
    assert bare("Put the leaf on the rings") in text
    assert SIDE_2_REVERSED not in text  # one sheet is in order either way round


def test_sheets_are_flipped_as_they_were_imposed(demo: Demo) -> None:
    contents = read_contents(demo.folder("march", "running", "a4"))
    assert bare("flipped on the long edge") in read(made(contents))
    assert bare("flipped on the short edge") in read(made(replace(contents, flip=Flip.SHORT)))


def test_everything_that_is_said_is_in_the_file(spoken: Contents) -> None:
    order, text = order_of(spoken), read(made(spoken))
    steps = [*order.at_the_printer(), *order.at_the_bench(), order.caution(), order.help()]
    steps.append(order.what_is_needed())
    for step in steps:
        assert is_read(f"{step.heading} {step.text}", text), step.text
    files = order.what_there_is()
    assert len(files.rows) == 6
    assert len(order.help().rows) == 6
    for name, said in (*files.rows, *order.help().rows):
        assert is_read(f"{name} {said}", text), said
    for label, value in order.figures():
        assert is_read(f"{label} {value}", text) or bare(value) in text, value


def said_in(element: etree._Element) -> str:
    return str(element.xpath("string()"))


def aloud(contents: Contents) -> bytes:
    artwork = artwork_of(season("2027-spring").collection.folder)
    return web_page(order_of(contents), artwork, book())


def test_words_stand_for_each_drawing_of_the_web_page(spoken: Contents) -> None:
    """WCAG 2.2, 1.1.1: each step has its drawing, which says in words what is seen on it."""
    order = order_of(spoken)
    steps = [*order.at_the_printer(), *order.at_the_bench()]
    page = html.fromstring(aloud(spoken))
    drawings = list(page.iter("svg"))
    assert [(each.get("role"), each.get("aria-label")) for each in drawings] == [
        ("img", step.drawing) for step in steps
    ]
    assert all(len(step.drawing) > 10 and "{" not in step.drawing for step in steps)
    assert all(list(each.iter("path", "rect")) for each in drawings)
    above = [each.getprevious() for each in drawings]
    assert [said_in(head).partition(". ")[2] for head in above if head is not None] == [
        step.heading for step in steps
    ]


def test_a_web_page_says_the_same_in_the_same_order(spoken: Contents) -> None:
    """WCAG 2.2: language of the page (3.1.1), headings in order (1.3.1), read by another parser."""
    order = order_of(spoken)
    page = html.fromstring(aloud(spoken))
    assert page.get("lang") == order.phrases.language
    assert page.get("dir") == ("rtl" if spoken.language.startswith("ar") else "ltr")
    before = [order.what_is_needed(), *order.at_the_printer(), order.caution()]
    steps = [*before, *order.at_the_bench(), order.help()]
    said = [" ".join(said_in(p).split()) for p in page.iter("p")]
    paragraphs = [one for step in steps for one in step.text.splitlines()]
    assert said[1:] == [" ".join(one.split()) for one in paragraphs]
    heads = [said_in(h) for h in page.iter("h1", "h2")]
    assert [head.split(". ")[-1] for head in heads] == [
        *(order.phrases.of["title"], order.what_there_is().heading),
        *(step.heading for step in steps),
    ]
    assert [said_in(dd) for dd in page.iter("dd")] == [
        *(value for _, value in order.figures()),
        *(text for step in (order.what_there_is(), order.help()) for _, text in step.rows),
    ]
    assert not list(page.iter("img", "script", "link"))


def test_a_web_page_carries_the_letters_it_is_set_in(spoken: Contents) -> None:
    """Each face of it is a font (OpenType 1.9, sfnt) with every character of what it sets."""
    page = aloud(spoken).decode()
    rules = re.findall(r"@font-face \{(.*?)base64,([^)]*)\)", page)
    held: dict[bool, set[int]] = {True: set(), False: set()}
    for rule, data in rules:
        face = hb.Face(hb.Blob(base64.b64decode(data)))
        held["font-style: italic" in rule] |= set(face.unicodes)
    tree = html.fromstring(page.encode())
    for heading in (True, False):
        read = [said_in(one) for one in tree.iter(*(("h1", "h2") if heading else ("p", "dd")))]
        wanted = {ord(c) for said in read for c in said if unicodedata.category(c)[0] not in "ZC"}
        assert wanted
        assert wanted <= held[heading], sorted(map(chr, wanted - held[heading]))


def test_figures_of_web_drawings_are_as_printed(spoken: Contents) -> None:
    """SVG 2, 6.6: the kind of figures is no presentation attribute, so a style says it."""
    page = html.fromstring(aloud(spoken))
    asked = [one for one in page.iter("text") if "lnum" in (one.get("style") or "")]
    assert asked
    assert not page.xpath("//@font-feature-settings")


def test_blades_are_warned_of_before_the_first_cut(spoken: Contents) -> None:
    """Common practice: sharp blades, hands clear of the line, children supervised."""
    caution = order_of(spoken).caution()
    assert caution.text.count(".") + caution.text.count("。") + caution.text.count("।") >= 3
    number, svg = next(
        (number, svg)
        for number, svg in enumerate(svgs(spoken))
        if any(element.text == caution.heading for element, _ in texts(svg))
    )
    with opened(made(spoken)) as document:
        text = document[number].get_textpage().get_text_bounded()
    assert is_read(caution.text, bare(text))
    lines_of = {element.text: float(element.get("y", "0")) for element, _ in texts(svg)}
    first_cut = lines_of[order_of(spoken).at_the_bench()[0].heading]
    warned = [y for said, y in lines_of.items() if said and said in caution.text]
    assert warned
    assert lines_of[caution.heading] < max(warned) < first_cut


def test_tabs_are_cut_out_after_the_caution(spoken: Contents) -> None:
    """Hands off the blade, in every language, before a word of how it is done."""
    assert "tabs" not in [step.picture for step in order_of(spoken).at_the_bench()]
    tabbed = replace(spoken, bench=replace(spoken.bench, tabs=3))
    steps = order_of(tabbed).at_the_bench()
    places = [step.picture for step in steps]
    assert places.index("cut") < places.index("tabs") < places.index("punch")
    step = steps[places.index("tabs")]
    with opened(made(tabbed)) as document:
        text = " ".join(page.get_textpage().get_text_bounded() for page in document)
    assert is_read(f"{step.heading} {step.text}", bare(text))
    lines_of = {
        element.text: (number, float(element.get("y", "0")))
        for number, page in enumerate(svgs(tabbed))
        for element, _ in texts(page)
    }
    assert lines_of[order_of(tabbed).caution().heading] < lines_of[step.heading]


def texts(svg: bytes) -> Iterator[tuple[etree._Element, Style]]:
    root = etree.fromstring(svg)
    language = root.get("{http://www.w3.org/XML/1998/namespace}lang") or ""
    for element in root.iter(SVG + "text"):
        yield element, computed_style(element, language)


def test_every_character_has_a_glyph(spoken: Contents) -> None:
    for svg in svgs(spoken):
        for element, style in texts(svg):
            for run in shape(element.text or "", style, book()):
                missing = [run.text[glyph.cluster] for glyph in run.glyphs if glyph.gid == 0]
                assert not missing, (element.text, missing)


def ink_of(svg: bytes) -> list[tuple[list[Rect], str]]:
    """The boxes that hold the ink of each text's glyphs, in mm on the page."""
    found = []
    for element, style in texts(svg):
        said = element.text or ""
        style = replace(style, right_to_left=element.get("direction") == "rtl")
        runs = shape(said, style, book())
        wide = sum(run.advance for run in runs)
        anchor = element.get("text-anchor", "start")
        back = {"middle": wide / 2, "end": wide}.get(anchor, 0.0)
        if style.right_to_left and anchor != "middle":
            back = wide - back
        x, y, boxes = float(element.get("x", "0")) - back, float(element.get("y", "0")), []
        for run in runs:
            scale = run.size / run.instance.hb_face.upem
            for glyph in run.glyphs:
                ink = run.instance.hb_font.get_glyph_extents(glyph.gid)
                left, top = x + glyph.x + ink.x_bearing * scale, y + glyph.y - ink.y_bearing * scale
                if ink.width:
                    box = Rect(left, top, ink.width * scale, -ink.height * scale)
                    boxes.append(page_matrix(element).bounds(box))
            x += run.advance
        found.append((boxes, said))
    return found


def test_no_text_leaves_the_page_or_meets_another(spoken: Contents) -> None:
    room = Rect(0, 0, 210, 297).grown(-MARGIN_MM)  # ISO 216, A4
    for svg in svgs(spoken):
        inked = ink_of(svg)
        assert len(inked) > 20
        for boxes, text in inked:
            assert all(room.holds(box) for box in boxes), text
        for (some, this), (others, that) in itertools.combinations(inked, 2):
            near = [(a, b) for a in some for b in others if a.overlaps(b, slack=TOUCH_MM)]
            assert not near, (this, that)


def test_nothing_is_printed_at_the_edges(spoken: Contents) -> None:
    with opened(made(spoken)) as document:
        for page in document:
            picture = page_picture(page, 72).convert("L").point(lambda value: 255 * (value < 250))
            left, top, right, bottom = picture.getbbox() or (0, 0, 0, 0)
            edge = MARGIN_MM / 25.4 * 72 - 1
            assert left >= edge
            assert top >= edge
            assert right <= picture.width - edge
            assert bottom <= picture.height - edge


def test_lines_end_within_their_column(spoken: Contents) -> None:
    for svg in svgs(spoken):
        for element, style in texts(svg):
            wide = advance(element.text or "", style, book())
            x = float(element.get("x", "0"))
            anchor = element.get("text-anchor", "start")
            if anchor == "start" and x > 70:
                assert wide < 210 - 17 - 78 + 0.01, element.text


def test_right_to_left_pages_are_mirrored(demo: Demo) -> None:
    contents = read_contents(demo.folder("march", "two-flap-sowing", "a4"))
    arabic = replace(contents, language="ar", binding=Binding.RIGHT)
    ink = {text: boxes for boxes, text in ink_of(svgs(arabic)[0])}
    title = ink[phrases_for("ar").of["title"]]
    assert max(box.right for box in title) > 210 - 20
    assert min(box.x for box in title) > 210 / 2
    assert bare(phrases_for("ar").text("punch-right", {})) in read(made(arabic))


def test_flaps_are_folded_over_the_pages_that_asked_for_them(demo: Demo) -> None:
    """As the drawings say: running weeks have theirs on backs, two flaps alternate."""
    running = read_contents(demo.folder("march", "running", "a4"))
    assert {leaf.folds_over(Side.VERSO) for leaf in running.leaves[:-1]} == {True}
    assert bare("Every flap folds to the back.") in read(made(running))
    front = replace(
        running,
        leaves=tuple(replace(leaf, recto=leaf.verso, verso=leaf.recto) for leaf in running.leaves),
    )
    assert bare("Every flap folds to the front.") in read(made(front))
    both = read_contents(demo.folder("march", "two-flap-list", "a4"))
    for number, leaf in enumerate(both.leaves[:-1], 1):
        assert leaf.folds_over(Side.RECTO) is (number % 2 == 0)
    assert bare(
        "On even sheets (2, 4, …) the flap folds to the front, on odd ones to the back"
    ) in (read(made(both)))
    mixed = replace(both, leaves=(both.leaves[1], *both.leaves[1:]))
    told = "The flaps of leaves 1, 2, 4, 6 and 8 fold to the front, of 3, 5 and 7 to the back."
    assert bare(told) in read(made(mixed))


def test_marks_are_used_before_they_are_cut_away(demo: Demo) -> None:
    """Common practice: fold by the marks while they are there, then trim, then punch."""
    for where, marked in ((SETS[0], True), (SETS[3], False)):
        contents = read_contents(demo.folder(*where))
        text = read(made(contents))
        assert (bare("Dashed marks show the fold") in text) is marked
        assert text.index(bare("Mark before you cut")) < text.index(bare("Cut on the marks"))
        assert bare("Faint dots") not in text
        assert bare("Faint dots") in read(made(replace(contents, holes_inside=True)))


def test_the_punch_is_tried_before_the_set_is_printed(demo: Demo) -> None:
    contents = read_contents(demo.folder("march", "running", "a4"))
    text = read(made(contents))
    assert bare("Print 2-hole-gauge.pdf on scrap paper") in text
    assert text.index(bare("Try your punch")) < text.index(bare("Print 3-side-1.pdf"))
    assert bare("go on with step 6") in text
    without = read(made(contents, EVERYTHING - {HOLE_GAUGE}))
    assert bare("Try your punch") not in without
    assert bare("go on with step 5") in without


def test_marks_of_later_cuts_are_joined_before_the_first_takes_them(demo: Demo) -> None:
    """Two leaves 210 mm high, 148 mm wide and a flap of 42 (ISO 216, A5): head and foot first."""
    text = read(made(read_contents(demo.folder("quarter", "two-flap-list", "a4"))))
    joined = text.index(bare("take away the marks of cuts 3, 4, 7 and 8"))
    assert joined < text.index(bare("Cut from crop mark to crop mark"))
    assert bare("For cuts 3, 4, 7 and 8 follow the pencil lines") in text
    assert bare("the cut leaf: 190 mm × 210 mm and 148 mm × 210 mm.") in text


def test_a_late_cut_runs_across_the_first_ones(sizes: Path, demo: Demo) -> None:
    """The marks of a line stand where it meets the edges, which cuts across it take away."""
    for folder in (*sizes.iterdir(), *(demo.folder(*where) for where in SETS)):
        account = Account(read_contents(folder))
        cuts = [cut_order(heap.flats, *account.sheet_mm) for heap in account.heaps]
        for number, (first, cut) in enumerate(((c[0], one) for c in cuts for one in c), 1):
            assert (number in account.late_cuts) is (cut.across is not first.across), folder


def test_everything_written_stands_out_from_the_paper(demo: Demo) -> None:
    """WCAG 2.2, 1.4.3 (contrast 4.5:1) and its definition of relative luminance."""
    for svg in svgs(read_contents(demo.folder("march", "running", "a4"))):
        for element, _ in texts(svg):
            colour = element.get("fill") or ""
            parts = [int(colour[at : at + 2], 16) / 255 for at in (1, 3, 5)]
            linear = [c / 12.92 if c <= 0.04045 else ((c + 0.055) / 1.055) ** 2.4 for c in parts]
            light = sum(w * c for w, c in zip((0.2126, 0.7152, 0.0722), linear, strict=True))
            assert 1.05 / (light + 0.05) >= 4.5, (element.text, colour)


def test_the_same_set_gives_the_same_bytes(demo: Demo) -> None:
    contents = read_contents(demo.folder("march", "running", "a4"))
    first = made(contents)
    made(replace(contents, language="ar", binding=Binding.RIGHT))
    assert made(contents) == first


@pytest.mark.parametrize("paper", ["a4", "letter"])
def test_pages_are_of_the_buyers_paper(demo: Demo, paper: str) -> None:
    with opened(made(read_contents(demo.folder("march", "running", paper)))) as document:
        sizes = {(round(p.get_width() / 72 * 25.4, 1), round(p.get_height() / 72 * 25.4, 1))
                 for p in document}  # fmt: skip
        assert len(document) == {"a4": 3, "letter": 4}[paper]
    assert sizes == {(210.0, 297.0) if paper == "a4" else (215.9, 279.4)}


@pytest.mark.parametrize("language", ["en-GB", "ar-EG"])
@pytest.mark.parametrize("page", [1, 2, 3])
def test_pages_as_they_were_looked_at(language: str, page: int, demo: Demo, golden: Golden) -> None:
    plan = next(
        one
        for one in season("2027-spring-languages").sets
        if one.name == "two-flap-sowing" and one.language == language
    )
    contents = in_language(read_contents(demo.folder("march", "two-flap-sowing", "a4")), plan)
    with opened(made(contents)) as document:
        golden(f"directions/{language}-{page}", page_picture(document[page - 1], 60))


# The words themselves


def forms_of(phrase: object) -> Mapping[str, str]:
    return {"": phrase} if isinstance(phrase, str) else dict(phrase)  # type: ignore[call-overload]


def sections(language: str) -> Iterator[tuple[str, str, object]]:
    for section, entry in phrases_for(language).of.items():
        if isinstance(entry, dict):
            for key, phrase in entry.items():
                yield section, key, phrase


def placeholders(text: str) -> set[str]:
    return {field for _, field, _, _ in string.Formatter().parse(text) if field}


@pytest.mark.parametrize("language", LANGUAGES)
def test_every_language_says_the_same_things(language: str) -> None:
    english = {(section, key): phrase for section, key, phrase in sections("en-GB")}
    own = {(section, key): phrase for section, key, phrase in sections(language)}
    assert own.keys() == english.keys()
    for where, phrase in own.items():
        forms = forms_of(phrase)
        known = forms_of(english[where])
        assert forms.get("by") == known.get("by"), where
        allowed = set().union(*(placeholders(form) for form in known.values()))
        for category, form in forms.items():
            assert placeholders(form) <= allowed, (where, category)
            # The word itself may say "one" and "two", but other counts are written out.
            if category == "many" or (category == "other" and not language.startswith("ar")):
                names = placeholders(known["other"])
                assert placeholders(form) == names, (where, category)


@pytest.mark.parametrize("language", LANGUAGES)
def test_every_count_has_its_plural(language: str) -> None:
    """CLDR, "Language Plural Rules", as Babel has them, for every count a set can come to."""
    rule = Locale.parse(language, sep="-").plural_form
    needed = {rule(count) for count in range(1, 400)}
    for section, key, phrase in sections(language):
        if not isinstance(phrase, str):
            assert needed <= forms_of(phrase).keys() - {"by"}, (section, key)


@pytest.mark.parametrize(
    ("language", "count", "expected"),
    [
        ("pl", 1, "1 kartka ma klapkę."),
        ("pl", 3, "3 kartki mają klapkę."),
        ("pl", 12, "12 kartek ma klapkę."),
        ("pl", 22, "22 kartki mają klapkę."),
        ("ar", 2, "لورقتين طيّة."),
        ("ar-u-nu-latn", 3, "لكلٍّ من 3 أوراق طيّة."),
        ("ar-EG", 26, "لكلٍّ من ٢٦ ورقة طيّة."),
        ("de", 1, "1 Blatt hat eine Klappe."),
        ("fr", 1, "1 feuillet a un rabat."),
        ("ja", 26, "折り返しがあるのは 26 枚です。"),
    ],
)
def test_plurals(language: str, count: int, expected: str) -> None:
    written = phrases_for(language).text("fold", {"folds": count})
    assert written.replace("\u00a0", " ") == expected


def test_figures_are_written_as_the_locale_asks() -> None:
    phrases = phrases_for("ar-u-nu-arab")
    assert "٢٦" in phrases.text("fold", {"folds": 26})
    assert phrases.weight(129).startswith("١٢٩")
    assert phrases_for("de").length(8.3) == "8,3\u00a0mm"


def test_a_language_without_words_gets_english_ones() -> None:
    assert phrases_for("fi").of == phrases_for("en").of
    assert {path.stem for path in WORDS.glob("*.toml")} >= {"en", "de", "ar", "ja"}


# Lines


SANS = Style(("Source Sans 3",), 3.75)


@pytest.mark.parametrize("language", LANGUAGES)
@pytest.mark.parametrize("width", [40.0, 77.7, 115.0])
def test_lines_hold_the_paragraph_and_fit(language: str, width: float) -> None:
    text = phrases_for(language).text("check-match", {})
    style = Style(
        ("Source Sans 3",), 3.75, language=language, right_to_left=language.startswith("ar")
    )
    rows = lines(text, style, width, book())
    assert "".join(rows).replace(" ", "") == text.replace(" ", "")
    assert all(advance(row, style, book()) <= width + 1e-6 for row in rows)
    assert all(row == row.strip() for row in rows)


def test_a_word_wider_than_its_column_stands_alone() -> None:
    assert lines("a Papierstapelschneidemaschine b", SANS, 20, book()) == [
        "a", "Papierstapelschneidemaschine", "b",
    ]  # fmt: skip


def test_no_line_of_japanese_begins_with_a_full_stop() -> None:
    """JIS X 4051: a line begins with no closing bracket, comma, full stop or small kana."""
    for _, _, phrase in sections("ja"):
        for form in forms_of(phrase).values():
            for piece in pieces(form, "ja"):
                assert piece[0] not in "、。」）ー", (piece, form)
                assert piece.rstrip()[-1:] not in ("「", "（"), (piece, form)


def test_figures_stay_with_what_they_count() -> None:
    written = phrases_for("en").text("fold", {"folds": 26})
    assert "26\u00a0leaves" in written
    binder = phrases_for("en").text("binder-sheets", {"leaves": 27, "first": 1, "last": 27})
    assert "sheet\u00a01" in binder
