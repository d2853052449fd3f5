"""Fonts of drawn letters: read by fontTools, shaped by HarfBuzz, and beside resvg's own picture
of the letters."""

from __future__ import annotations

import io
import os
import random
import subprocess
from collections.abc import Callable, Mapping
from pathlib import Path

import numpy as np
import numpy.typing as npt
import pypdfium2 as pdfium
import pytest
import uharfbuzz as hb
from fontTools.pens.boundsPen import BoundsPen
from fontTools.ttLib import TTFont
from PIL import Image

from pipeline.base.cache import Cache
from pipeline.base.errors import UserError
from pipeline.base.geometry import mm
from pipeline.fill.lettering import (
    CAPITAL_HEIGHT,
    UNITS_PER_EM,
    font_of,
    meaning,
    own_fonts,
)
from pipeline.fill.template import TemplateFile
from pipeline.text import FontBook, Style, advance, shape
from pipeline.text.fonts import Faces
from tests.draw.engines import HEIGHT, WIDTH, built, by_resvg
from tests.draw.engines import page as page_of
from tests.tools import tool

Judge = Callable[[bytes, FontBook, tuple[int, int]], npt.NDArray[np.int16]]
FAMILY = "Bean Hand"
FALLBACK = {"any": ["Source Sans 3"]}
PEN = 'fill="none" stroke="#000" stroke-width="1" stroke-linecap="round"'
INK = 'fill="#000"'

GLYPHS: Mapping[str, tuple[str, float, str]] = {
    "capital-m": ("M", 9, f'<path {PEN} stroke-linejoin="round" d="M1 10V0L4.5 7L8 0V10"/>'),
    "capital-o": ("O", 10, f'<path {INK} fill-rule="evenodd" d="M5 0a5 5 0 1 1 0 10a5 5 0 1 1 0-10z'
                  'M5 2a3 3 0 1 1 0 6a3 3 0 1 1 0-6z"/>'),
    "capital-t": ("T", 8, f'<rect {INK} width="8" height="1.5"/><path {INK} d="M3 1h2v9h-2z"/>'),
    "letter-o": ("o", 7, f'<circle {PEN} cx="3.5" cy="6.5" r="3"/>'),
    "letter-n": ("n", 7, f'<path {PEN} d="M1 10V3.5M1 6c1-3 5-3 5 0v4"/>'),
    "letter-d": ("d", 7.5, f'<g {PEN} transform="translate(7) scale(-1 1)"><path d="M1 10V0"/>'
                 '<ellipse style="stroke-width:.8" cx="3.5" cy="7" rx="2.5" ry="3"/></g>'),
    "letter-a": ("a", 7, f'<g transform="translate(3 7) scale(1.2 1)"><circle {PEN} r="2.5"/></g>'
                 f'<path {PEN} d="M6.2 3.5v5q0 1.5 1 1.5"/>'),
    "letter-y": ("y", 7, f'<path {PEN} stroke-linejoin="bevel" d="M1 4l2.5 6M6 4L2 13.5H.5"/>'),
    "letter-s": ("s", 6, f'<g stroke-dasharray="3 1.6">'
                 f'<path {PEN} d="M5 5c-1-3-4-1-3 1s4 1 3 3s-4 1-4 0"/></g>'),
    "figure-7": ("7", 7, f'<polyline {PEN} style="stroke-linecap:square" '
                 'points="1 .5 6 .5 2.5 9.5"/>'),
    "mark-comma": (",", 3, f'<path {INK} d="M.5 9h1.5v1.5l-1 2h-1z"/>'),
    "mark-full-stop": (".", 3, f'<path {PEN} style="stroke-width:2" d="M1.5 9h0"/>'),
}  # fmt: skip
"""Letters of our own by their names: sign, width (mm) and drawing, base at 10 mm and capitals 10
high."""

WORD = f'<path {PEN} d="M1 10C-2-6 4-4 4 9C4-2 12-2 8 8c-3 5 4 5 12-3s8-2 6 3"/>'
WORD_WIDTH = 28.0
LINES = (
    '<path id="base" d="M0 {base}H150" stroke="#0cf"/>'
    '<path id="capital-height" d="M0 {top}H150" stroke="#0cf"/>'
)


def group(name: str, width: float, content: str, x: float, y: float) -> str:
    room = f'<rect width="{width}" height="10" fill="none"/>'
    return f'<g id="{name}" transform="translate({x} {y})">{room}{content}</g>'


def drawing(content: str = "", *, words: bool = True, lines: str = "") -> TemplateFile:
    """All letters of the alphabet in rows, their lines, and more ``content``."""
    rows, x, y = [lines or LINES.format(base=20, top=10)], 5.0, 10.0
    for name, (_, width, drawn) in GLYPHS.items():
        if x > 100:
            x, y = 5.0, y + 18
            rows.append(f'<path id="base-{y:g}" d="M0 {y + 10}H150" stroke="#0cf"/>')
        rows.append(group(name, width, drawn, x, y))
        x += width + 9
    if words:
        rows.append(group("word-monday", WORD_WIDTH, WORD, 60, y))
    return sheet("".join(rows) + content)


def sheet(content: str) -> TemplateFile:
    head = '<svg xmlns="http://www.w3.org/2000/svg" width="150mm" height="100mm"'
    svg = f'{head} viewBox="0 0 150 100">{content}</svg>'
    return TemplateFile(Path(f"lettering/{FAMILY}.svg"), svg.encode())


def one_letter(content: str, name: str = "letter-a") -> TemplateFile:
    return sheet(LINES.format(base=20, top=10) + f'<g id="{name}">{content}</g>')


@pytest.fixture(scope="module")
def font() -> TTFont:
    return TTFont(io.BytesIO(font_of(drawing())))


@pytest.fixture(scope="module")
def book() -> FontBook:
    return Faces({f"lettering/{FAMILY}.svg": font_of(drawing())}, FALLBACK, True).book()


def glyphs_of(text: str, data: bytes) -> list[str]:
    """Names of the glyphs that HarfBuzz sets a text with."""
    face = hb.Font(hb.Face(hb.Blob(data)))
    buffer = hb.Buffer()
    buffer.add_str(text)
    buffer.guess_segment_properties()
    hb.shape(face, buffer)
    return [face.glyph_to_string(info.codepoint) for info in buffer.glyph_infos]


def test_the_file_says_what_it_is(font: TTFont) -> None:
    assert font["name"].getDebugName(1) == FAMILY
    assert font["name"].getDebugName(6) == "BeanHand-Regular"
    assert font["head"].unitsPerEm == UNITS_PER_EM
    assert font["OS/2"].fsType == 0  # it may be embedded and installed
    drawn = {ord(sign) for sign, *_ in GLYPHS.values()}
    undrawn = {code for code, name in font.getBestCmap().items() if name.startswith("undrawn")}
    assert undrawn == set(map(ord, "mMoOnNdDaAyY")) - drawn
    assert set(font.getBestCmap()) - undrawn == drawn | {0x20, 0xA0}


def test_letters_are_as_wide_and_high_as_they_are_drawn(font: TTFont) -> None:
    per_mm = CAPITAL_HEIGHT / 10
    cmap = font.getBestCmap()
    for sign, width, _ in GLYPHS.values():
        assert font["hmtx"][cmap[ord(sign)]][0] == pytest.approx(width * per_mm, abs=0.6)
    pen = BoundsPen(font.getGlyphSet())
    font.getGlyphSet()["O"].draw(pen)
    assert pen.bounds == pytest.approx((0, 0, 10 * per_mm, CAPITAL_HEIGHT), abs=2)
    pen = BoundsPen(font.getGlyphSet())
    font.getGlyphSet()["T"].draw(pen)  # from 0 to 8 mm, and no overlap is left
    assert pen.bounds == pytest.approx((0, 0, 8 * per_mm, CAPITAL_HEIGHT), abs=1)
    assert font["glyf"]["T"].numberOfContours == 1
    pen = BoundsPen(font.getGlyphSet())
    font.getGlyphSet()["y"].draw(pen)  # it stands on the second row's base, and reaches below it
    assert pen.bounds[1] == pytest.approx(-4 * per_mm, abs=2)


def test_without_a_rectangle_letters_have_a_small_distance() -> None:
    data = font_of(one_letter('<path d="M40 20h5v-5h-5z"/>'))
    font = TTFont(io.BytesIO(data))
    width, side = font["hmtx"]["a"]
    assert side == pytest.approx(0.05 * UNITS_PER_EM, abs=1)
    assert width == pytest.approx(5 * CAPITAL_HEIGHT / 10 + 0.1 * UNITS_PER_EM, abs=1)


def test_a_word_that_is_drawn_whole_takes_the_place_of_the_typed_one() -> None:
    data = font_of(drawing())
    assert glyphs_of("Monday", data) == glyphs_of("monday", data) == ["word.1"]
    assert glyphs_of("MONDAY, 7", data) == ["word.1", "comma", "space", "seven"]
    assert glyphs_of("Mondays", data)[-3:] == ["a", "y", "s"]  # another word is not cut up
    assert "word.1" not in glyphs_of("aMonday", data)


def test_words_of_which_one_is_the_beginning_of_another() -> None:
    long = '<path d="M60 40h30v-5h-30z"/>'
    words = (
        f'<g id="word-sun">{long}</g><g id="word-sunday">{long}</g><g id="word-sun-day">{long}</g>'
    )
    data = font_of(drawing(words, words=False))
    said = [glyphs_of(text, data) for text in ("Sun", "Sunday", "Sun day", "sun-day", "sun sun")]
    assert said == [
        ["word.1"], ["word.2"], ["word.3"], ["word.3"], ["word.1", "space", "word.1"],
    ]  # fmt: skip


def test_words_need_no_letters_of_their_own() -> None:
    """The letters within "sun" are not drawn: other words with them come from other faces."""
    drawn = drawing('<g id="word-sun"><path d="M60 40h30v-5h-30z"/></g>', words=False)
    book = Faces({f"lettering/{FAMILY}.svg": font_of(drawn)}, FALLBACK, True).book()
    style = Style((FAMILY,), size=10)
    runs = [(run.text, run.instance.face.family) for run in shape("Sun, sunset sun", style, book)]
    assert runs == [
        ("Sun, s", FAMILY), ("u", "Source Sans 3"), ("ns", FAMILY), ("et", "Source Sans 3"),
        (" sun", FAMILY),
    ]  # fmt: skip
    off = Style((FAMILY,), size=10, features=(("rlig", 0),))
    assert {run.instance.face.family for run in shape("un", off, book)} == {FAMILY, "Source Sans 3"}


def test_what_is_not_drawn_falls_back(book: FontBook) -> None:
    style = Style((FAMILY,), size=10)
    runs = [(run.text, run.instance.face.family) for run in shape("Monday 27", style, book)]
    assert runs == [("Monday ", FAMILY), ("2", "Source Sans 3"), ("7", FAMILY)]
    with pytest.raises(UserError, match="no font has the character '2'"):
        shape("27", style, Faces({"lettering/B.svg": font_of(drawing())}, {}, True).book())


def placed(text: str, x: float, y: float, size: float) -> str:
    """A text as the drawings of its letters, put side by side by their rectangles."""
    scale = size * 0.7 / 10
    by_sign = {sign: (width, drawn) for sign, width, drawn in GLYPHS.values()}
    found = []
    for word in text.replace("Monday", "\0"):
        width, drawn = (WORD_WIDTH, WORD) if word == "\0" else by_sign.get(word, (2.5 / 0.7, ""))
        put = f"translate({x:.5f} {y - size * 0.7:.5f}) scale({scale:.6f})"
        found.append(f'<g transform="{put}">{drawn}</g>')
        x += width * scale
    return "".join(found)


@pytest.mark.parametrize("text", ["Tod Monday", "and, Mas.", "Onay 7sOT"])
def test_a_text_looks_as_its_letters_are_drawn(text: str, book: FontBook) -> None:
    """Beside resvg's picture of the drawn letters; and pdfium reads the text back."""
    size, x, y = 18.0, 4.0, 19.0
    content = f'<text x="{x}" y="{y}" fill="#000" font-family="{FAMILY}" font-size="{size}"'
    content += f">{text}</text>"
    pdf = pdfium.PdfDocument(built([page_of(content)], book))
    assert pdf[0].get_textpage().get_text_range().strip() == text
    assert overlap(content, placed(text, x, y, size), book) > 0.99


def test_a_text_looks_as_its_letters_do_in_a_vector_editor(book: FontBook, tmp_path: Path) -> None:
    """Beside Inkscape's picture of the drawn letters."""
    size, x, y = 18.0, 4.0, 19.0
    content = f'<text x="{x}" y="{y}" fill="#000" font-family="{FAMILY}" font-size="{size}"'
    content += ">Tod Monday</text>"

    def by_editor(svg: bytes, _: FontBook, pixels: tuple[int, int]) -> npt.NDArray[np.int16]:
        source, target = tmp_path / "letters.svg", tmp_path / "letters.png"
        source.write_bytes(svg)
        subprocess.run(
            [tool("inkscape"), str(source), "--export-type=png", f"--export-filename={target}",
             f"--export-width={pixels[0]}", f"--export-height={pixels[1]}",
             "--export-background=#ffffff", "--export-background-opacity=1"],
            env={**os.environ, "INKSCAPE_PROFILE_DIR": str(tmp_path / "profile")},
            check=True,
            capture_output=True,
        )  # fmt: skip
        with Image.open(target) as picture:
            return np.asarray(picture.convert("RGB"), np.int16)

    assert overlap(content, placed("Tod Monday", x, y, size), book, by_editor) > 0.99


def overlap(text: str, shapes: str, book: FontBook, judge: Judge = by_resvg) -> float:
    """How much ink pdfium's picture of our page and a judge's picture of shapes have in common."""
    scale = 32  # pixels a mm: two rasterisers smooth edges differently
    pixels = WIDTH * scale, HEIGHT * scale
    page = pdfium.PdfDocument(built([page_of(text)], book))[0]
    ours = np.asarray(page.render(scale=scale * mm(1)).to_pil().convert("L"))
    theirs = judge(page_of(shapes), book, pixels).mean(axis=2)
    ink = [255.0 - picture for picture in (ours[: pixels[1], : pixels[0]], theirs)]
    assert ink[1].mean() > 5
    return float(np.minimum(*ink).sum() / np.maximum(*ink).sum())


def scribble(number: int) -> str:
    """Lines that cross themselves and each other, and areas with holes, each time others."""
    chance = random.Random(number)

    def point() -> str:
        return f"{chance.uniform(1.5, 8.5):.3f} {chance.uniform(1.5, 8.5):.3f}"

    shapes = []
    for _ in range(chance.choice((1, 1, 1, 3))):
        kinds = chance.choices(("L", "Q", "C"), k=chance.randint(2, 8))
        steps = [kind + " ".join(point() for _ in range("LQC".index(kind) + 1)) for kind in kinds]
        data = f"M{point()}" + "".join(steps)
        rule = chance.choice(("evenodd", "nonzero", "", "", "", ""))
        width = chance.choice((0.3, 0.8, 1.5))
        ends = f'{chance.choice(("round", "butt", "square"))}" stroke-linejoin="'
        ends += chance.choice(("round", "miter", "bevel"))
        pen = f'fill="none" stroke="#000" stroke-width="{width}" stroke-linecap="{ends}"'
        paint = f'{INK} fill-rule="{rule}"' if rule else pen
        shapes.append(f'<path {paint} d="{data}"/>')
    return "".join(shapes)


@pytest.mark.parametrize("first", [0, 40, 50, 80, 90])
def test_lines_that_cross_are_united_as_they_look(first: int) -> None:
    """Ten scribbles a time as letters, beside resvg's picture of them."""
    drawn = {f"letter-{sign}": scribble(first + at) for at, sign in enumerate("abcdefghij")}
    placed = "".join(
        group(name, 10, content, 15 * at, 10) for at, (name, content) in enumerate(drawn.items())
    )
    data = font_of(sheet(LINES.format(base=20, top=10) + placed))
    book = Faces({f"lettering/{FAMILY}.svg": data}, FALLBACK, True).book()
    text = f'<text x="2" y="20" font-family="{FAMILY}" font-size="{10 / 0.7}">abcdefghij</text>'
    shown = "".join(
        f'<g transform="translate({2 + 10 * at} 10)">{content}</g>'
        for at, content in enumerate(drawn.values())
    )
    assert overlap(text, shown, book) > 0.985  # the thinnest lines are mostly edge


def test_the_same_drawing_gives_the_same_bytes(tmp_path: Path) -> None:
    data = font_of(drawing(), Cache(tmp_path))
    assert data == font_of(drawing(), Cache(tmp_path)) == font_of(drawing())


def test_pairs_are_set_as_they_are_drawn() -> None:
    """The ink of the o begins 6 mm after that of the T, which is 8 mm wide."""
    pair = (
        f'<g id="pair-1">{group("letter-o-2", 7, GLYPHS["letter-o"][2], 65.5, 70)}'
        f"{group('capital-t_copy', 8, GLYPHS['capital-t'][2], 60, 70)}</g>"
    )
    data = font_of(drawing(pair))
    book = Faces({f"lettering/{FAMILY}.svg": data}, FALLBACK, True).book()
    style = Style((FAMILY,), size=10 / 0.7)
    # The o's rectangle begins 0.5 mm before its ink.
    assert advance("To", style, book) == pytest.approx(5.5 + 7, abs=0.01)
    assert advance("oT", style, book) == pytest.approx(7 + 8, abs=0.01)


# Names


def test_names_as_editors_save_them() -> None:
    """Labels come before ids; escapes are read back; what copies have after their name is not."""
    label = 'xmlns:inkscape="http://www.inkscape.org/namespaces/inkscape" inkscape:label'
    shape = '<path d="M{0} 20h5v-5h-5z"/>'
    content = (
        f'<g id="g12" {label}="Letter ä">{shape.format(10)}</g>'
        f'<g id="mark-_x26_">{shape.format(20)}</g>'
        f'<g id="capital_b">{shape.format(30)}</g>'
        f'<g id="letter-a-5" {label}="letter-c">{shape.format(40)}</g>'
        f'<path id="figure-1" d="M50 20h5v-5h-5z"/>'
        f'<g id="layer1" {label}="Letters, small"><g id="letter-é">{shape.format(60)}</g></g>'
        f'<g id="sketch-2">{shape.format(70)}</g>'
    )
    font = TTFont(io.BytesIO(font_of(sheet(LINES.format(base=20, top=10) + content))))
    assert {chr(code) for code in font.getBestCmap()} == set("ä&Bc1é \N{NO-BREAK SPACE}")


def test_clones_and_hidden_letters_do_not_count() -> None:
    shape = '<path d="M40 20h5v-5h-5z"/>'
    content = (
        '<use href="#letter-a" x="30"/><g id="letter-b" display="none"><path d="M9 9h9v9z"/></g>'
    )
    plain = font_of(one_letter(shape))
    with_more = one_letter(shape).data.replace(b"</svg>", content.encode() + b"</svg>")
    assert font_of(TemplateFile(Path(f"lettering/{FAMILY}.svg"), with_more)) == plain


def test_letters_are_clipped_as_they_are_drawn() -> None:
    clip = '<clipPath id="c"><path d="M40 10h5v5h-5z"/></clipPath>'
    clipped = one_letter(f'{clip}<g clip-path="url(#c)"><path d="M30 20h30v-10h-30z"/></g>')
    assert font_of(clipped) == font_of(one_letter('<path d="M40 10h5v5h-5z"/>'))


SHAPE = '<path d="M40 20h5v-5h-5z"/>'
ALL_LINES = LINES.format(base=20, top=10)


@pytest.mark.parametrize(
    ("content", "said"),
    [
        (f'{ALL_LINES}<g id="letter-a">{SHAPE}</g><g id="letter-a-2">{SHAPE}</g>',
         "element 'letter-a-2': the same is drawn twice, here and as 'letter-a'"),
        (f'{ALL_LINES}<g id="capital-a">{SHAPE}</g><g id="letter-A">{SHAPE}</g>',
         "element 'letter-A': the same is drawn twice, here and as 'capital-a'"),
        (f'{ALL_LINES}<g id="mark-apostrophe">{SHAPE}</g><g id="mark-_x2019_">{SHAPE}</g>',
         "element 'mark-_x2019_': the same is drawn twice, here and as 'mark-apostrophe'"),
        (f'<g id="letter-a">{SHAPE}</g>', "there is no line named 'base' that is seen"),
        (f'<path id="base" d="M0 20h9"/><g id="letter-a">{SHAPE}</g>',
         "there is no line named 'capital-height' that is seen"),
        (f'{LINES.format(base=10, top=20)}<g id="letter-a">{SHAPE}</g>',
         "the line 'capital-height' has no base line below it"),
        (f'{ALL_LINES}{ALL_LINES.replace("20H", "40H").replace("10H", "34H")}'
         f'<g id="letter-a">{SHAPE}</g>',
         "capitals are 6.00 mm high by one line, 10.00 by another"),
        (f'{ALL_LINES}<g id="letter-a"/>', "element 'letter-a': nothing is drawn in it"),
        (f'{ALL_LINES}<g id="letter-a"><rect width="9" height="9" fill="none"/></g>',
         "element 'letter-a': nothing is drawn in it"),
        (ALL_LINES, "no letter is drawn in it"),
        (f'{ALL_LINES}<g id="lettr-a">{SHAPE}</g>', "element 'lettr-a': this name is no letter's"),
        (f'{ALL_LINES}<g id="lettr-a">{SHAPE}</g>', "did you mean 'letter-a'?"),
        (f'{ALL_LINES}<g id="mark-coma">{SHAPE}</g>', "did you mean 'mark-comma'?"),
        (f'{ALL_LINES}<g id="figure-b">{SHAPE}</g>', "element 'figure-b': this name is no"),
        (f'{ALL_LINES}<g id="letter-a">{SHAPE}<path fill="#f00" d="M1 1h9v9z"/></g>',
         "element 'letter-a': is drawn in #000000 and #ff0000; letters have one colour"),
        (f'{ALL_LINES}<g id="letter-a">{SHAPE}</g><g id="letter-b" fill="#f00">{SHAPE}</g>',
         "element 'letter-b': is drawn in #ff0000, 'letter-a' in #000000; letters have one"),
        (f'{ALL_LINES}<linearGradient id="g"><stop/><stop offset="1" stop-color="#f00"/>'
         '</linearGradient><path id="letter-a" fill="url(#g)" d="M1 1h9v9z"/>',
         "element 'letter-a': is drawn with a gradient or pattern; letters have one colour"),
        (f'{ALL_LINES}<g id="letter-a" opacity=".5">{SHAPE}</g>',
         "element 'letter-a': is drawn with transparency or a mask"),
        (f'{ALL_LINES}<g id="letter-a"><text y="9">a</text></g>',
         "element 'letter-a': a letter holds a text; draw it as shapes"),
        (f'{ALL_LINES}<g id="letter-a">{SHAPE}</g><g id="pair-a-b"><g id="letter-a-2">{SHAPE}</g>'
         f'<g id="letter-b">{SHAPE}</g></g>', "element 'pair-a-b': a pair holds two letters"),
        (f'{ALL_LINES}<g id="letter-a">{SHAPE}</g><g id="pair-1">{SHAPE}</g>',
         "element 'pair-1': a pair holds two letters"),
        (f'{ALL_LINES}<g id="letter-a">{SHAPE}', "is broken"),
    ],
)  # fmt: skip
def test_what_no_font_can_be_made_of_is_said_in_one_line(content: str, said: str) -> None:
    with pytest.raises(UserError) as caught:
        font_of(sheet(content))
    line = str(caught.value)
    assert line.startswith((f"lettering/{FAMILY}.svg, ", f"lettering/{FAMILY}.svg: "))
    assert said in line
    assert "\n" not in line


def test_a_name_that_another_font_has_is_refused(tmp_path: Path) -> None:
    (tmp_path / "lettering").mkdir()
    (tmp_path / "lettering" / "Kalam.svg").write_bytes(drawing().data)
    with pytest.raises(UserError, match=r"lettering/Kalam.svg: there is a font 'Kalam' already"):
        own_fonts(tmp_path)


def test_signs_by_name() -> None:
    """Names of Unicode's own character list, and those that people say."""
    known = {
        "mark-question": "?", "mark-exclamation": "!", "mark-semicolon": ";", "mark-degree": "°",
        "mark-euro": "€", "mark-&": "&", "mark-en-dash": "–", "capital-o-umlaut": "Ö",
        "letter-sharp-s": "ß", "letter-c-cedilla": "ç", "figure-seven": "7", "figure-٣": "٣",
        "letter-я": "я", "letter-A": "A",
    }  # fmt: skip
    assert {name: found.signs for name in known if (found := meaning(name))} == known
