"""Letters with colours of their own print in them, and their words can still be found.

The faces are made here, with a glyph or two each, in every form that OpenType has for colour. What
they show is said plainly as well, and resvg draws that.
"""

from __future__ import annotations

import io
from collections.abc import Callable
from pathlib import Path
from typing import Any

import pypdf
import pypdfium2 as pdfium
import pytest
from fontTools.colorLib.builder import ColorPaletteType, buildCOLR, buildCPAL
from fontTools.fontBuilder import FontBuilder
from fontTools.pens.ttGlyphPen import TTGlyphPen
from fontTools.ttLib import TTFont, newTable
from fontTools.ttLib.tables.otTables import PaintFormat
from fontTools.ttLib.tables.sbixGlyph import Glyph
from fontTools.ttLib.tables.sbixStrike import Strike
from PIL import Image

from pipeline.base.errors import UserError
from pipeline.text import FontBook
from tests.draw.engines import built, by_resvg
from tests.draw.feature_samples import HEIGHT, WIDTH
from tests.draw.test_features import PIXELS_PER_MM, SHARE, apart, inner, picture, svg

SIZE = (WIDTH * PIXELS_PER_MM, HEIGHT * PIXELS_PER_MM)
RED, GREEN, BLUE = (1, 0, 0, 1), (0, 0.6, 0, 1), (0, 0, 1, 0.5)
INK = 0xFFFF
"""The number of the colour that is the text's own (OpenType, COLR)."""

BASE = {
    "A": (50, 0, 950, 900), "B": (100, 0, 500, 500), "low": (50, 0, 950, 400),
    "high": (200, 300, 800, 900),
}  # fmt: skip
"""Outlines: rectangles by left, bottom, right and top, in thousandths of an em."""


def made(folder: Path, colours: Callable[[TTFont], None]) -> FontBook:
    """A book with the face "Tiny": the letters A and B, and two more shapes to build them from."""
    names = [".notdef", *BASE]
    builder = FontBuilder(1000, isTTF=True)
    builder.setupGlyphOrder(names)
    builder.setupCharacterMap({ord("A"): "A", ord("B"): "B", ord(" "): ".notdef"})
    outlines = {".notdef": TTGlyphPen(None).glyph()}
    for name, (left, bottom, right, top) in BASE.items():
        pen = TTGlyphPen(None)
        pen.moveTo((left, bottom))
        for corner in ((left, top), (right, top), (right, bottom)):
            pen.lineTo(corner)
        pen.closePath()
        outlines[name] = pen.glyph()
    builder.setupGlyf(outlines)
    builder.setupHorizontalMetrics({name: (1000, BASE.get(name, (0,))[0]) for name in names})
    builder.setupHorizontalHeader(ascent=900, descent=-100)
    builder.setupNameTable({"familyName": "Tiny", "styleName": "Regular", "psName": "Tiny"})
    builder.setupOS2(sTypoAscender=900, sTypoDescender=-100)
    builder.setupPost()
    colours(builder.font)
    builder.save(folder / "tiny.ttf")
    return FontBook(folder)


def layers(**glyphs: Any) -> Callable[[TTFont], None]:
    """Glyphs of layers (COLR, version 0) or of paint (version 1)."""

    def add(font: TTFont) -> None:
        font["CPAL"] = buildCPAL([[RED, GREEN, BLUE], [GREEN, RED, RED]])
        font["COLR"] = buildCOLR(glyphs)

    return add


def glyph(name: str, paint: dict[str, Any]) -> dict[str, Any]:
    return {"Format": PaintFormat.PaintGlyph, "Glyph": name, "Paint": paint}


def solid(colour: int, alpha: float = 1.0) -> dict[str, Any]:
    return {"Format": PaintFormat.PaintSolid, "PaletteIndex": colour, "Alpha": alpha}


def line(*stops: tuple[float, int], extend: str = "pad") -> dict[str, Any]:
    return {"ColorStop": list(stops), "Extend": extend}


def both(mode: str, source: dict[str, Any], backdrop: dict[str, Any]) -> dict[str, Any]:
    return {
        "Format": PaintFormat.PaintComposite,
        "CompositeMode": mode,
        "SourcePaint": source,
        "BackdropPaint": backdrop,
    }


def rect(name: str, paint: str, more: str = "") -> str:
    """One of the outlines as a shape, in thousandths of an em, y downwards."""
    left, bottom, right, top = BASE[name]
    return (
        f'<rect x="{left}" y="{-top}" width="{right - left}" height="{top - bottom}" '
        f'fill="{paint}" {more}/>'
    )


def stops(*colours: str) -> str:
    last = len(colours) - 1
    return "".join(
        f'<stop offset="{number / last}" stop-color="{colour}"/>'
        for number, colour in enumerate(colours)
    )


_RAMP = {
    "Format": PaintFormat.PaintLinearGradient, "ColorLine": line((0.0, 0), (1.0, 1)),
    "x0": 50, "y0": 0, "x1": 950, "y1": 0, "x2": 50, "y2": 100,
}  # fmt: skip
_ASLANT = {**_RAMP, "x1": 500, "y1": 450, "x2": 50, "y2": 100}
_WAVES = {**_RAMP, "x1": 200, "ColorLine": line((0.25, 0), (0.75, 1), extend="reflect")}
_SUN = {
    "Format": PaintFormat.PaintRadialGradient, "ColorLine": line((0.0, 0), (1.0, 1)),
    "x0": 500, "y0": 600, "r0": 50, "x1": 500, "y1": 600, "r1": 300,
}  # fmt: skip
_TURN = {
    "Format": PaintFormat.PaintRotateAroundCenter, "angle": 30, "centerX": 500, "centerY": 600,
    "Paint": glyph("high", solid(0)),
}  # fmt: skip
_LINEAR = '<linearGradient id="g" gradientUnits="userSpaceOnUse"'

LAYERED = {
    "layers in flat colours": (
        layers(A=[("low", 0), ("high", 1)]), rect("low", "#f00") + rect("high", "#090")
    ),
    "a layer that is half clear": (
        layers(A=[("low", 0), ("high", 2)]),
        rect("low", "#f00") + rect("high", "#00f", 'fill-opacity=".5"'),
    ),
    "a layer in the text's colour": (
        layers(A=[("low", INK), ("high", 1)]), rect("low", "#a0a") + rect("high", "#090")
    ),
    "a letter without colours beside one with them": (
        layers(B=[("low", 0)]), rect("A", "#a0a")
    ),
    "painted glyphs": (
        layers(A=(PaintFormat.PaintColrLayers, [glyph("low", solid(0)), glyph("high", solid(1))])),
        rect("low", "#f00") + rect("high", "#090"),
    ),
    "share of an opacity": (
        layers(A=glyph("high", solid(INK, 0.5))), rect("high", "#a0a", 'fill-opacity=".5"')
    ),
    "linear gradient": (
        layers(A=glyph("A", _RAMP)),
        f'{_LINEAR} x1="50" x2="950">{stops("#f00", "#090")}</linearGradient>'
        + rect("A", "url(#g)"),
    ),
    "linear gradient with lines aslant": (  # those of equal colour stay upright
        layers(A=glyph("A", _ASLANT)),
        f'{_LINEAR} x1="50" x2="500">{stops("#f00", "#090")}</linearGradient>'
        + rect("A", "url(#g)"),
    ),
    "reflected gradient between inner stops": (
        layers(A=glyph("A", _WAVES)),
        f'{_LINEAR} x1="87.5" x2="162.5" spreadMethod="reflect">{stops("#f00", "#090")}'
        "</linearGradient>" + rect("A", "url(#g)"),
    ),
    "radial gradient": (
        layers(A=glyph("high", _SUN)),
        '<radialGradient id="g" gradientUnits="userSpaceOnUse" cx="500" cy="-600" r="300">'
        '<stop offset=".16667" stop-color="#f00"/><stop offset="1" stop-color="#090"/>'
        "</radialGradient>" + rect("high", "url(#g)"),
    ),
    "turned layer": (
        layers(A=_TURN), rect("high", "#f00", 'transform="rotate(-30 500 -600)"')
    ),
    "one layer within another": (
        layers(A=both("src_in", glyph("low", solid(1)), _TURN)),
        f'<clipPath id="c">{rect("low", "black")}</clipPath><g clip-path="url(#c)">'
        + rect("high", "#090", 'transform="rotate(-30 500 -600)"') + "</g>",
    ),
    "one layer cut to another": (
        layers(A=both("dest_in", glyph("low", solid(1)), _TURN)),
        f'<clipPath id="c">{rect("low", "black")}</clipPath><g clip-path="url(#c)">'
        + rect("high", "#f00", 'transform="rotate(-30 500 -600)"') + "</g>",
    ),
    "one layer under another": (
        layers(A=both("dest_over", glyph("low", solid(1)), glyph("high", solid(0)))),
        rect("low", "#090") + rect("high", "#f00"),
    ),
    "one layer on another only": (
        layers(A=both("src_atop", _TURN, glyph("low", solid(1)))),
        f'<clipPath id="c">{rect("low", "black")}</clipPath>' + rect("low", "#090")
        + '<g clip-path="url(#c)">'
        + rect("high", "#f00", 'transform="rotate(-30 500 -600)"') + "</g>",
    ),
    "one layer instead of another": (
        layers(A=both("src", glyph("low", solid(1)), glyph("high", solid(0)))), rect("low", "#090")
    ),
    "layers multiplied": (
        layers(A=both("multiply", glyph("low", solid(1)), glyph("high", solid(0)))),
        rect("high", "#f00") + rect("low", "#090")
        + '<rect x="200" y="-400" width="600" height="100"/>',
    ),
}  # fmt: skip


@pytest.mark.parametrize("name", LAYERED)
def test_layers_of_a_glyph_are_drawn_as_shapes(name: str, tmp_path: Path) -> None:
    colours, shapes = LAYERED[name]
    pdf = drawn("A", made(tmp_path, colours))
    assert apart(seen(pdf), plainly(shapes)) <= SHARE
    assert not pictures(pdf)


def test_colours_go_around_a_point(tmp_path: Path) -> None:
    """Anticlockwise from three o'clock (OpenType, COLR, "sweep gradients")."""
    sweep = {
        "Format": PaintFormat.PaintSweepGradient,
        "ColorLine": line((0.0, 0), (0.5, 1), (1.0, 0)),
        "centerX": 500, "centerY": 450, "startAngle": 0, "endAngle": 360,
    }  # fmt: skip
    shown = seen(drawn("A", made(tmp_path, layers(A=glyph("A", sweep)))))

    def colour(along: float, up: float) -> tuple[int, ...]:
        x, y = 5 + 24 * along, 30 - 24 * up
        return tuple(shown[round(y * PIXELS_PER_MM) - 2, round(x * PIXELS_PER_MM) - 2])

    assert colour(0.1, 0.45) == pytest.approx((0, 153, 0), abs=4)
    assert colour(0.9, 0.48) == pytest.approx((255, 0, 0), abs=16)
    assert colour(0.9, 0.42) == pytest.approx((255, 0, 0), abs=16)
    for up in (0.1, 0.8):
        assert colour(0.5, up) == pytest.approx((128, 77, 0), abs=4)


def drawing(document: str) -> Callable[[TTFont], None]:
    def add(font: TTFont) -> None:
        table = newTable("SVG ")
        table.docList = [(document, 1, 1)]
        font["SVG "] = table

    return add


_SVG = '<svg xmlns="http://www.w3.org/2000/svg">'

DRAWN = {
    "shapes": f'{_SVG}<g id="glyph1"><rect y="-900" width="900" height="900" fill="#f00"/>'
              '<circle cx="450" cy="-450" r="300" fill="#090"/></g></svg>',
    "the whole file": '<svg xmlns="http://www.w3.org/2000/svg" id="glyph1">'
                      '<rect y="-900" width="900" height="900" fill="#f00"/>'
                      '<circle cx="450" cy="-450" r="300" fill="#090"/></svg>',
    "definitions beside it": f'{_SVG}<defs><circle id="c" cx="450" cy="-450" r="300"/></defs>'
                             '<g id="glyph1"><rect y="-900" width="900" height="900" fill="#f00"/>'
                             '<use href="#c" fill="#090"/></g><g id="glyph2"><rect width="900" '
                             'height="900"/></g></svg>',
    "styles and a palette": f'{_SVG}<style>.a{{fill:var(--color0,#f00)}}</style><g id="glyph1">'
                            '<rect class="a" y="-900" width="900" height="900"/><circle cx="450" '
                            'cy="-450" r="300" style="fill:rgb(0,153,0)"/></g></svg>',
}  # fmt: skip


@pytest.mark.parametrize("name", DRAWN)
def test_a_glyph_that_is_an_svg_drawing_is_drawn(name: str, tmp_path: Path) -> None:
    pdf = drawn("A", made(tmp_path, drawing(DRAWN[name])))
    shapes = '<rect y="-900" width="900" height="900" fill="#f00"/>'
    expected = plainly(shapes + '<circle cx="450" cy="-450" r="300" fill="#090"/>')
    assert apart(seen(pdf), expected) <= SHARE


def test_gradients_of_a_glyph_are_not_those_of_the_page(tmp_path: Path) -> None:
    ramp = f'{_LINEAR} x2="900">{stops("#f00", "#090")}</linearGradient>'
    box = 'y="-900" width="900" height="900" fill="url(#g)"'
    book = made(tmp_path, drawing(f'{_SVG}{ramp}<rect id="glyph1" {box}/></svg>'))
    own = f'<linearGradient id="g">{stops("#00f", "#fff")}</linearGradient>'
    below = '<rect x="5" y="32" width="50" height="6" fill="url(#g)"/>'
    words = '<text x="5" y="30" font-family="Tiny" font-size="24">A</text>'
    pdf = built([svg(own + words + below)], book)
    letter = f'<g transform="translate(5 30) scale(.024)">{ramp}<rect {box}/></g>'
    theirs = by_resvg(svg(letter + own.replace('"g"', '"h"') + below.replace("#g", "#h")), book,
                      SIZE)  # fmt: skip
    assert apart(seen(pdf), inner(theirs)) <= SHARE


def test_a_drawing_that_cannot_be_drawn_is_refused_by_name(tmp_path: Path) -> None:
    book = made(tmp_path, drawing(f'{_SVG}<g id="glyph1"><use id="x" href="#glyph1"/></g></svg>'))
    with pytest.raises(UserError, match="contains itself"):
        drawn("A", book)


def test_a_glyph_that_is_a_picture_is_placed(tmp_path: Path) -> None:
    def strike(font: TTFont) -> None:
        link = io.BytesIO()
        Image.new("RGB", (60, 54), "#900").save(link, "PNG")
        table, one = newTable("sbix"), Strike(ppem=60, resolution=72)
        table.version, table.flags, table.strikes = 1, 1, {60: one}
        for name in font.getGlyphOrder():
            one.glyphs[name] = Glyph(glyphName=name)
        one.glyphs["A"] = Glyph(glyphName="A", graphicType="png ", imageData=link.getvalue(),
                                originOffsetX=0, originOffsetY=0)  # fmt: skip
        font["sbix"] = table

    pdf = drawn("A", made(tmp_path, strike))
    expected = plainly('<rect y="-900" width="1000" height="900" fill="#900"/>')
    assert apart(seen(pdf), expected) <= SHARE
    assert len(pictures(pdf)) == 1


@pytest.mark.parametrize(
    ("palette", "low", "high"),
    [("normal", "#f00", "#090"), ("light", "#090", "#f00"), ("dark", "#00f", "#fc0")],
)
def test_a_palette_is_chosen_by_the_ground_it_is_for(
    palette: str, low: str, high: str, tmp_path: Path
) -> None:
    """CSS Fonts 4, 9.1: the first palette of the face that says it is for such grounds."""
    palettes = [[RED, GREEN], [GREEN, RED], [(0, 0, 1, 1), (1, 0.8, 0, 1)]]
    kinds = [ColorPaletteType(0), ColorPaletteType(1), ColorPaletteType(2)]

    def coloured(font: TTFont) -> None:
        font["CPAL"] = buildCPAL(palettes, paletteTypes=kinds)
        font["COLR"] = buildCOLR({"A": [("low", 0), ("high", 1)]})

    pdf = drawn("A", made(tmp_path, coloured), f'style="font-palette:{palette}"')
    assert apart(seen(pdf), plainly(rect("low", low) + rect("high", high))) <= SHARE


def test_words_in_colour_can_be_found(tmp_path: Path) -> None:
    pdf = drawn("AB BA", made(tmp_path, layers(A=[("low", 0)], B=[("high", 1)])), size=10)
    page = pdfium.PdfDocument(pdf)[0].get_textpage()
    assert "".join(page.get_text_range().split()) == "ABBA"


def test_words_in_colour_are_clear_as_a_whole(tmp_path: Path) -> None:
    book = made(tmp_path, layers(A=[("low", 0), ("high", 1)]))
    pdf = drawn("A", book, 'fill-opacity=".5"')
    shapes = f'<g opacity=".5">{rect("low", "#f00")}{rect("high", "#090")}</g>'
    assert apart(seen(pdf), plainly(shapes)) <= SHARE


_MASK = '<mask id="m" maskUnits="userSpaceOnUse" x="0" y="0" width="60" height="40">'
_MASKED = '<rect width="60" height="40" fill="#036" mask="url(#m)"/>'


def test_letters_in_colour_mask_by_their_lightness(tmp_path: Path) -> None:
    words = '<text x="5" y="30" font-family="Tiny" font-size="24">A</text>'
    book = made(tmp_path, layers(A=[("low", 0), ("high", 1)]))
    shapes = rect("low", "#f00") + rect("high", "#090")
    shapes = f'<g transform="translate(5 30) scale(.024)">{shapes}</g>'
    theirs = by_resvg(svg(f"{_MASK}{shapes}</mask>{_MASKED}"), FontBook(), SIZE)
    pdf = built([svg(f"{_MASK}{words}</mask>{_MASKED}")], book)
    assert apart(seen(pdf), inner(theirs)) <= SHARE


@pytest.mark.parametrize("name", [name for name in LAYERED if name.startswith("one layer")])
def test_layers_stay_within_each_other_beside_a_mask(name: str, tmp_path: Path) -> None:
    """A PDF's masks of opacity and of lightness do not get in each other's way."""
    colours, shapes = LAYERED[name]
    beside = f'{_MASK}<rect width="60" height="40" fill="#888"/></mask>'
    beside += '<rect x="40" width="15" height="40" fill="#036" mask="url(#m)"/>'
    words = '<text x="5" y="30" font-family="Tiny" font-size="24" fill="#a0a">A</text>'
    glyph_drawn = f'<g transform="translate(5 30) scale(.024)">{shapes}</g>'
    theirs = by_resvg(svg(beside + glyph_drawn), FontBook(), SIZE)
    pdf = built([svg(beside + words)], made(tmp_path, colours))
    assert apart(seen(pdf), inner(theirs)) <= SHARE


def drawn(words: str, book: FontBook, more: str = 'fill="#a0a"', size: float = 24) -> bytes:
    attributes = f'x="5" y="30" font-family="Tiny" font-size="{size}" {more}'
    return built([svg(f"<text {attributes}>{words}</text>")], book)


def seen(pdf: bytes) -> Any:
    return picture(pdfium.PdfDocument(pdf)[0])


def plainly(shapes: str) -> Any:
    """What resvg draws of a glyph's shapes where its letter stands."""
    content = f'<g transform="translate(5 30) scale(.024)">{shapes}</g>'
    return inner(by_resvg(svg(content), FontBook(), SIZE))


def pictures(pdf: bytes) -> list[Any]:
    return [image for page in pypdf.PdfReader(io.BytesIO(pdf)).pages for image in page.images]
