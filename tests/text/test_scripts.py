"""Arabic and Devanagari, checked against HarfBuzz asked directly and the faces' own glyph names."""

from __future__ import annotations

import unicodedata
from pathlib import Path

import pytest
import uharfbuzz as hb
from fontTools.ttLib import TTFont
from hypothesis import assume, given, settings
from hypothesis import strategies as st

from pipeline.base.errors import UserError
from pipeline.draw import draw
from pipeline.text import FontBook, Style, advance, shape, shape_line

BOOK = FontBook()
ARABIC = ["الأربعاء", "مارس", "أبريل", "حديقة", "بُسْتَانٌ", "لا", "الإثنين"]
HINDI = ["बुधवार", "मार्च", "क्षेत्र", "ज्ञान", "श्री", "हिन्दी", "शुक्रवार", "अप्रैल"]
CASES = [
    *((text, family, True) for text in ARABIC for family in ("Amiri", "Noto Sans Arabic")),
    *((text, family, False) for text in HINDI for family in ("Kalam", "Noto Sans Devanagari")),
]


def by_harfbuzz(text: str, path: Path) -> list[tuple[int, float, float, float]]:
    """Glyph ids, advances and offsets (per em) as HarfBuzz gives them for the file itself."""
    face = hb.Face(hb.Blob.from_file_path(str(path)))
    font = hb.Font(face)
    if face.axis_infos:
        font.set_variations({"wght": 400, "wdth": 100})
    buffer = hb.Buffer()
    buffer.add_str(text)
    buffer.guess_segment_properties()
    hb.shape(font, buffer)
    return [
        (info.codepoint, spot.x_advance / face.upem, spot.x_offset / face.upem,
         spot.y_offset / face.upem)
        for info, spot in zip(buffer.glyph_infos, buffer.glyph_positions, strict=True)
    ]  # fmt: skip


@pytest.mark.parametrize(("text", "family", "right_to_left"), CASES)
def test_glyphs_and_places_are_harfbuzz_s_own(text: str, family: str, right_to_left: bool) -> None:
    (run,) = shape(text, Style((family,), size=1.0, right_to_left=right_to_left), BOOK)
    theirs = by_harfbuzz(text, run.instance.face.path)
    assert [glyph.gid for glyph in run.glyphs] == [gid for gid, *_ in theirs]
    pen = 0.0
    for mine, (_, step, x, y) in zip(run.glyphs, theirs, strict=True):
        assert mine.advance == pytest.approx(step, abs=0.0015)  # a pinned face has whole units
        assert mine.x - pen == pytest.approx(x, abs=0.0015)
        assert mine.y == pytest.approx(-y, abs=0.0015)  # y runs downwards here
        pen += mine.advance
    assert run.advance == pytest.approx(pen)


def names(*spans: str) -> list[str]:
    """Names of the glyphs of letters from left to right; this face draws their dots apart."""
    path = BOOK.find(["Noto Sans Arabic"]).face.path
    order = TTFont(path).getGlyphOrder()
    # A style each, as two colours are: letters must join across them all the same.
    styles = [Style(("Noto Sans Arabic",), 10 + n / 100, right_to_left=True) for n in range(9)]
    runs = shape_line(list(zip(spans, styles, strict=False)), BOOK)
    return [name for _, run in runs for g in run.glyphs if "dot" not in (name := order[g.gid])]


def test_letters_take_the_form_of_their_place_in_the_word() -> None:
    beh = "uni066E"  # the letter without its dot
    assert names("ب") == [beh]
    assert names("بب") == [f"{beh}.fina", f"{beh}.init"]
    assert names("ببب") == [f"{beh}.fina", f"{beh}.medi", f"{beh}.init"]
    assert names("ب ب") == [beh, "space", beh]


@pytest.mark.parametrize("spans", [("ب", "بب"), ("بب", "ب"), ("ب", "ب", "ب")])
def test_letters_join_across_spans(spans: tuple[str, ...]) -> None:
    assert names(*spans) == names("ببب")


@given(st.lists(st.sampled_from(ARABIC), min_size=1, max_size=4), st.integers(1, 12))
@settings(max_examples=60, deadline=None)
def test_a_span_s_end_changes_no_letter_of_a_word(words: list[str], cut: int) -> None:
    line = " ".join(words)
    cut %= len(line)
    # A mark or a ligature (lam with alef) cannot be parted from its letter.
    assume(not unicodedata.combining(line[cut]) and line[cut - 1] != "ل")
    assert names(line[:cut], line[cut:]) == names(line)


def test_spaced_arabic_stays_joined() -> None:
    # CSS Text 3, 8.2.1: cursive scripts do not admit gaps between their letters.
    style = Style(("Amiri",), size=10, right_to_left=True)
    spaced = Style(("Amiri",), size=10, right_to_left=True, letter_spacing=2)
    assert advance("حديقة", spaced, BOOK) == advance("حديقة", style, BOOK)


def test_spacing_goes_after_each_letter_and_space() -> None:
    style = Style(("Source Sans 3",), size=10)
    wide = Style(("Source Sans 3",), size=10, letter_spacing=1, word_spacing=3)
    text = "two by two"
    extra = advance(text, wide, BOOK) - advance(text, style, BOOK)
    assert extra == pytest.approx(len(text) + 3 * text.count(" "), abs=0.2)  # no kerning with " "


@pytest.mark.parametrize("character", ["菜", "ก", "🌱", "א"])
def test_each_character_no_face_has_is_an_error_that_names_it(character: str) -> None:
    book = FontBook(fallback={"any": ["Source Sans 3"]})
    for family in ("Dancing Script", "Amiri", "Noto Sans Devanagari"):
        with pytest.raises(UserError) as caught:
            shape(f"a{character}b", Style((family,), size=10), book, "week.svg")
        assert f"U+{ord(character):04X} {unicodedata.name(character)}" in str(caught.value)
        assert str(caught.value).startswith("week.svg: ")


def test_a_missing_character_is_an_error_when_drawn_too() -> None:
    svg = (
        '<svg xmlns="http://www.w3.org/2000/svg" width="9mm" height="9mm" viewBox="0 0 9 9">'
        '<text id="title" font-family="Amiri" font-size="5">a<tspan>กข</tspan></text></svg>'
    )
    with pytest.raises(UserError, match=r"page 1, element 'title': .*U\+0E01 THAI CHARACTER KO"):
        draw([svg.encode()], BOOK)


def test_no_run_ever_holds_a_missing_glyph() -> None:
    for text, family, right_to_left in CASES:
        for run in shape(text, Style((family,), 10, right_to_left=right_to_left), BOOK):
            assert all(glyph.gid for glyph in run.glyphs), f"{text} in {family}: .notdef"


@pytest.mark.parametrize(("text", "family", "right_to_left"), CASES)
def test_a_run_cut_in_parts_is_the_run(text: str, family: str, right_to_left: bool) -> None:
    (run,) = shape(text, Style((family,), size=10, right_to_left=right_to_left), BOOK)
    parts = run.cut(range(len(text)))
    assert "".join(part.text for _, _, part in sorted(parts)) == text
    glyphs = [(g.gid, g.x + x) for _, x, part in parts for g in part.glyphs]
    assert [gid for gid, _ in glyphs] == [g.gid for g in run.glyphs]
    assert [x for _, x in glyphs] == pytest.approx([g.x for g in run.glyphs])
    assert sum(part.advance for _, _, part in parts) == pytest.approx(run.advance)
