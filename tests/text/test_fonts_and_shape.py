"""Faces and shaping, checked against HarfBuzz and fontTools asked directly."""

from __future__ import annotations

import shutil
import sysconfig
from pathlib import Path

import fontpkg
import pytest
import uharfbuzz as hb
from fontTools.ttLib import TTFont

from pipeline.base.errors import UserError
from pipeline.text import FontBook, Style, advance, shape

BOOK = FontBook()
WORDS = ["Wednesday", "AVATAR", "office fjord", "29 March – 4 April", "Łódź", "Thursday 1"]


def by_harfbuzz(text: str, path: str, weight: float) -> list[tuple[int, float]]:
    """Glyph ids and advances (per em) as HarfBuzz gives them on the variable face itself."""
    face = hb.Face(hb.Blob.from_file_path(path))
    font = hb.Font(face)
    font.set_variations({"wght": weight})
    buffer = hb.Buffer()
    buffer.add_str(text)
    buffer.guess_segment_properties()
    hb.shape(font, buffer)
    return [
        (info.codepoint, position.x_advance / face.upem)
        for info, position in zip(buffer.glyph_infos, buffer.glyph_positions, strict=True)
    ]


@pytest.mark.parametrize("weight", [400, 550, 700])
@pytest.mark.parametrize("family", ["Dancing Script", "Source Sans 3"])
@pytest.mark.parametrize("text", WORDS)
def test_glyphs_and_advances_are_harfbuzz_s_own(text: str, family: str, weight: int) -> None:
    runs = shape(text, Style((family,), size=1.0, weight=weight), BOOK)
    ours = [(glyph.gid, glyph.advance) for run in runs for glyph in run.glyphs]
    theirs = by_harfbuzz(text, str(fontpkg.path(family)), weight)
    assert [gid for gid, _ in ours] == [gid for gid, _ in theirs]
    for (_, mine), (_, yours) in zip(ours, theirs, strict=True):
        assert mine == pytest.approx(yours, abs=0.0015)  # a pinned face rounds to whole units


def test_kerning_and_ligatures_count() -> None:
    sans = Style(("Source Sans 3",), size=10)
    assert advance("AV", sans, BOOK) < advance("A", sans, BOOK) + advance("V", sans, BOOK)
    spaced = Style(("Source Sans 3",), size=10, letter_spacing=1)
    assert advance("abcd", spaced, BOOK) == pytest.approx(advance("abcd", sans, BOOK) + 4)


def test_a_character_the_face_lacks_comes_from_the_next_family() -> None:
    style = Style(("Dancing Script", "Source Sans 3"), size=10)
    runs = shape("May Μάιος 3", style, BOOK)
    assert [(run.text, run.instance.face.family) for run in runs] == [
        ("May ", "Dancing Script"),
        ("Μάιος", "Source Sans 3"),
        (" 3", "Dancing Script"),
    ]


def test_the_collection_s_fallback_fonts_come_last() -> None:
    book = FontBook(fallback={"any": ["Source Sans 3"]})
    (run,) = shape("Μάιος", Style(("Dancing Script",), size=10), book)
    assert run.instance.face.family == "Source Sans 3"


def test_a_character_no_face_has_is_an_error_that_names_it() -> None:
    with pytest.raises(UserError, match=r"U\+83DC.*fallback_fonts"):
        shape("菜園", Style(("Source Sans 3",), size=10), BOOK, "week.svg")


def test_an_unknown_font_is_an_error_that_names_the_nearest() -> None:
    with pytest.raises(UserError, match="no font 'Source Sanz 3'; the nearest is 'Source Sans 3'"):
        shape("a", Style(("Source Sanz 3", "sans-serif"), size=10), BOOK, "week.svg")


# What vector editors write for a new text, and other names that CSS knows.
@pytest.mark.parametrize("name", ["sans-serif", "serif", "Monospace", "cursive", "ui-serif"])
def test_a_generic_family_alone_is_an_error_that_names_real_ones(name: str) -> None:
    book = FontBook(fallback={"any": ["Source Sans 3"]})
    with pytest.raises(UserError) as caught:
        shape("a", Style((name,), size=10), book, "week.svg, element 'title'")
    assert caught.value.where == "week.svg, element 'title'"
    assert caught.value.what.startswith(f"{name.lower()!r} is not a font")
    assert "EB Garamond" in caught.value.remedy
    assert f'{name.lower()} = ["Source Sans 3"]' in caught.value.remedy


def test_a_generic_family_after_one_that_is_there_does_no_harm() -> None:
    (run,) = shape("a", Style(("Nowhere Sans", "EB Garamond", "serif"), size=10), BOOK)
    assert run.instance.face.family == "EB Garamond"


def test_a_collection_can_say_which_face_stands_for_a_generic_family() -> None:
    fallback = {"serif": ["EB Garamond"], "any": ["Source Sans 3"]}
    book = FontBook(fallback=fallback)
    (run,) = shape("a", Style(("serif",), size=10), book)
    assert run.instance.face.family == "EB Garamond"
    (other,) = shape("a", Style(("sans-serif", "serif"), size=10), book)
    assert other.instance.face.family == "EB Garamond"
    (named,) = shape("a", Style(("Kalam", "serif"), size=10), book)
    assert named.instance.face.family == "Kalam"


def test_the_machine_s_own_fonts_are_never_used(tmp_path: Path) -> None:
    assert {"Dancing Script", "Source Sans 3"} <= set(BOOK.families)
    for family in BOOK.families:
        for face in BOOK.faces(family):
            assert face.path.is_relative_to(sysconfig.get_path("purelib")), face.path
    shutil.copy(str(fontpkg.path("Dancing Script")), tmp_path / "mine.ttf")
    face = FontBook(tmp_path).find(["Dancing Script"]).face
    assert face.path == tmp_path / "mine.ttf"


def test_a_file_that_is_no_font_is_named(tmp_path: Path) -> None:
    (tmp_path / "broken.ttf").write_bytes(b"not a font")
    with pytest.raises(UserError, match=r"broken\.ttf: this font cannot be read"):
        FontBook(tmp_path)


@pytest.mark.parametrize("weight", [350, 600])
def test_a_pinned_face_is_an_ordinary_face_of_that_weight(weight: int, tmp_path: Path) -> None:
    instance = BOOK.find(["Source Sans 3"], weight=weight)
    (tmp_path / "pinned.ttf").write_bytes(instance.data)
    font = TTFont(tmp_path / "pinned.ttf")
    assert "fvar" not in font
    assert font["OS/2"].usWeightClass == weight
