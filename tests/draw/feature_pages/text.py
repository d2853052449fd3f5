# ruff: noqa: E501  (a drawing is a line)
"""Text: chunks, white space, spacing, baselines, decoration, languages, faces."""

from __future__ import annotations

from collections.abc import Mapping

from fontTools.ttLib import TTFont

from pipeline.text import FontBook
from pipeline.text.shape import Style, advance
from tests.draw.feature_samples import Feature, Refused

BOOK = FontBook()

SANS = 'font-family="\'Source Sans 3\'" font-size="8"'
SERIF = 'font-family="EB Garamond" font-size="8"'
ARABIC = 'font-family="Amiri" font-size="8"'
NOTO_ARABIC = 'font-family="Noto Sans Arabic" font-size="7"'
HINDI = 'font-family="Noto Sans Devanagari" font-size="7"'
SCRIPT = 'font-family="Dancing Script" font-size="9"'
KALAM = 'font-family="Kalam" font-size="8"'
_MIXED = 'font-family="\'Source Sans 3\', Amiri" font-size="8"'
JAPANESE = 'font-family="Noto Sans JP" font-size="7"'

_ACROSS = '<linearGradient id="g"><stop stop-color="#036"/><stop offset="1" stop-color="#f80"/></linearGradient>'
_DOWN = '<linearGradient id="g" x2="0" y2="1"><stop stop-color="#036"/><stop offset="1" stop-color="#f80"/></linearGradient>'
_STRIPES = '<pattern id="p" width="2" height="2" patternUnits="userSpaceOnUse"><rect width="1" height="2" fill="#360"/></pattern>'


def text(content: str, attributes: str = "", face: str = SANS, at: str = 'x="6" y="24"') -> str:
    """A text element."""
    return f"<text {face} {at} {attributes}>{content}</text>"


def page(
    name: str, content: str, attributes: str = "", face: str = SANS, at: str = 'x="6" y="24"'
) -> Feature:
    """A page of one text, which a second engine draws too."""
    return Feature(name, text(content, attributes, face, at))


def alike(name: str, one: str, other: str) -> Feature:
    """A page that is drawn as the same drawing said plainly."""
    return Feature(name, one, equal=other)


def _wide(words: str, size: float = 8.0, family: str = "Source Sans 3") -> float:
    return advance(words, Style((family,), size), BOOK)


def line(
    kind: str,
    words: str,
    before: str = "",
    paint: str = "",
    *,
    x: float = 6.0,
    y: float = 24.0,
    family: str = "Source Sans 3",
    more: float = 0.0,
    thick: float | None = None,
    top: float | None = None,
) -> str:
    """A line on words of 8 units where the face's own tables say (OpenType, "post" and "OS/2").

    Positions there are those of a line's upper edge.
    """
    upright = next(
        face for face in BOOK.faces(family) if not face.italic and face.weights[0] <= 400
    )
    font = TTFont(upright.path)
    unit = 8.0 / font["head"].unitsPerEm
    post, os2 = font["post"], font["OS/2"]
    edge, wide = {
        "underline": (post.underlinePosition, post.underlineThickness),
        "overline": (font["hhea"].ascent, post.underlineThickness),
        "line-through": (os2.yStrikeoutPosition, os2.yStrikeoutSize),
    }[kind]
    x += _wide(before, family=family)
    y += -edge * unit if top is None else top
    long = _wide(words, family=family) + more
    return f'<rect x="{x}" y="{y}" width="{long}" height="{wide * unit if thick is None else thick}" {paint}/>'


def lined(name: str, words: str, *kinds: str, paint: str = "") -> Feature:
    """A page of a text with lines on it, which go with it, or over it."""
    drawn = {kind: line(kind, words, paint=paint) for kind in kinds}
    over = drawn.pop("line-through", "")
    asked = f'text-decoration="{" ".join(kinds)}" {paint}'
    return alike(name, text(words, asked), "".join(drawn.values()) + text(words, paint) + over)


_MIDDLE = ' text-anchor="middle"'
_END = ' text-anchor="end"'
_AT_30 = 'x="30" y="24"'
_ID = 'id="t"'
_AT_54 = 'x="54" y="24"'

CHUNKS = [
    page("text set from its middle", "Leaves", _MIDDLE, at=_AT_30),
    page("tspans on several source lines, set from the middle", '\n  <tspan>Peas</tspan>\n  <tspan fill="#963">and</tspan>\n  <tspan>mint</tspan>\n', _MIDDLE, at=_AT_30),
    page("tspans on several source lines, set from the end", '\n\t<tspan>Peas</tspan>\n\t<tspan font-weight="700">mint</tspan>\n', _END, at=_AT_54),
    page("lines each with a place, indented in the source", '\n   <tspan x="30" y="14">Sow early</tspan>\n   <tspan x="30" y="24">pick late</tspan>\n   <tspan x="30" dy="10">rest</tspan>\n', _MIDDLE, at=_AT_30),
    page("anchor of a later chunk is its own", 'ab<tspan x="30" text-anchor="middle">mid</tspan><tspan x="54" text-anchor="end">end</tspan>'),
    page("anchor of an element that starts no chunk counts for nothing", 'one <tspan text-anchor="end">two</tspan>'),
    page("anchor of a chunk begun deep inside", '<tspan text-anchor="end"><tspan x="50" text-anchor="middle">deep</tspan></tspan>'),
    page("chunk that goes on after its tspan ends", '<tspan x="10" y="14" text-anchor="start">in</tspan> out', _END, at=_AT_54),
    page("chunk begun by y alone", 'ab<tspan y="14">cd</tspan>ef', _END, at=_AT_54),
    page("each letter a chunk of its own", "mint", _MIDDLE, at='x="10 22 34 46" y="24"'),
    page("fewer places than letters", "garden", _MIDDLE, at='x="15 30" y="24"'),
    page("more places than letters", "ab", at='x="10 20 30 40" y="24 20 16 12"'),
    page("places given in percent and em", "half", at='x="50%" y="2.5em"'),
    page("places parted by commas and spaces", "abc", at='x="10,20 , 30" y="24 22,20"'),
    page("shifts in a list, from the end", "garden", 'dx="0 2 2 -1" dy="0 -2 2 4"' + _END, at=_AT_54),
    page("shift in em", 'a<tspan dx="1em" dy="-.5em">b</tspan>c'),
    page("shift on a nested tspan adds up", '<tspan dx="3">a<tspan dx="4" dy="-4">b</tspan>c</tspan>d'),
    page("chunk in the middle with a shift on its first letter", "peas", 'dx="6"' + _MIDDLE, at=_AT_30),
    page("text without a place", "<tspan>at the top</tspan>", 'transform="translate(5 20)"', at=""),
    page("text with a place in its tspan only", '<tspan x="12" y="20">here</tspan>', at=""),
    page("place and shift together", 'A<tspan x="30" dx="5">B</tspan>', at="x='6' y='24'"),
    page("anchor that is unknown", "start", 'text-anchor="centre"'),
    page("anchor inherited from a group's style", '<tspan style="text-anchor:inherit">mint</tspan>', _MIDDLE, at=_AT_30),
    page("empty tspans between words", 'a<tspan/>b<tspan></tspan>c<tspan x="40"> </tspan>d'),
    page("link in a text", 'see <a xlink:href="#x" fill="#36c">this</a> too'),
    page("three levels of tspans", '1<tspan fill="#c30">2<tspan font-weight="700">3<tspan font-size="5" fill="#063">4</tspan>5</tspan>6</tspan>7'),
    Feature("text copied by use", f'<defs>{text("again", at=_ID)}</defs><use xlink:href="#t" x="6" y="16"/><use xlink:href="#t" x="16" y="32" fill="#c30"/>'),
    page("text that is scaled, turned and slanted", "garden", 'transform="translate(8 30) rotate(-12) skewX(-15) scale(1.2 .8)"', at=""),
]  # fmt: skip

SPACE = [
    page("newline between words", "peas\nmint"),
    page("newline with indentation", "peas\n      mint"),
    page("tab between words", "peas\tmint"),
    page("carriage return as a reference", "peas&#13;&#10;mint"),
    page("space before and after a tspan's border", "a <tspan> b </tspan> c"),
    page("space at a tspan's end only", "<tspan>a </tspan><tspan>b</tspan>"),
    page("space after a tspan that ends in one", '<tspan fill="#c30">a </tspan> b'),
    page("space at the very end, set from the end", "peas   ", _END, at=_AT_54),
    page("space at the end inside a tspan, set from the end", "<tspan>peas </tspan> ", _END, at=_AT_54),
    page("space at the start, set from the middle", "   <tspan> peas</tspan>", _MIDDLE, at=_AT_30),
    page("space kept, set from the end", "a  b  ", 'xml:space="preserve"' + _END, at=_AT_54),
    page("space kept, newline and tab", "a\n\tb", 'xml:space="preserve"'),
    page("space kept in one tspan", 'a <tspan xml:space="preserve">  b  </tspan> c'),
    page("space kept outside, folded within", 'a  <tspan xml:space="default">  b  </tspan>  c', 'xml:space="preserve"'),
    page("space that does not break stays", "a&#160;&#160;b "),
    page("white space alone between two placed tspans", '<tspan x="10" y="14">a</tspan> <tspan x="30" y="24">b</tspan>', _END),
    page("comments between words", "peas <!-- and --> mint"),
    page("CDATA", "<![CDATA[peas & mint]]>"),
    page("words after a hidden tspan", 'a <tspan display="none">b </tspan>c'),
]  # fmt: skip

SPACING = [
    page("letter-spacing, from the middle", "MINT", 'letter-spacing="3"' + _MIDDLE, at=_AT_30),
    page("letter-spacing, from the end", "MINT", 'letter-spacing="3"' + _END, at=_AT_54),
    page("letter-spacing below nought, from the end", "garden", 'letter-spacing="-.6"' + _END, at=_AT_54),
    page("letter-spacing in em", "mint", 'letter-spacing=".3em"'),
    page("letter-spacing in ex", "mint", 'letter-spacing=".5ex"'),
    page("letter-spacing in mm", "mint", 'style="letter-spacing:.5mm"'),
    page("letter-spacing normal within spaced text", 'ab<tspan letter-spacing="normal">cd</tspan>ef', 'letter-spacing="2"'),
    page("letter-spacing parts ligatures", "office", 'letter-spacing="1"', face=SERIF),
    page("letter-spacing of nought keeps ligatures", "office", 'letter-spacing="0"', face=SERIF),
    page("letter-spacing in a tspan, from the middle", 'a<tspan letter-spacing="4">bc</tspan>d', _MIDDLE, at=_AT_30),
    page("letter-spacing leaves Arabic joined", "حديقة", 'letter-spacing="3"', face=ARABIC),
    page("letter-spacing in Devanagari", "सोमवार", 'letter-spacing="2"', face=HINDI),
    page("letter-spacing with accents typed apart", "e\u0301te\u0302", 'letter-spacing="3"'),
    page("word-spacing", "a b c", 'word-spacing="5"'),
    page("word-spacing below nought", "aa bb cc", 'word-spacing="-1.5"'),
    page("word-spacing in em, from the end", "a b c", 'word-spacing=".5em"' + _END, at=_AT_54),
    page("word-spacing and spaces that do not break", "a&#160;b c", 'word-spacing="4"'),
    page("word-spacing with letter-spacing", "ab cd", 'word-spacing="4" letter-spacing="1"'),
    page("kerning off", "AV To", 'style="font-kerning:none"', face=SERIF),
    page("kerning as SVG 1.1 writes it", "AV To", 'kerning="0"', face=SERIF),
    page("speed before looks", "AV office", 'text-rendering="optimizeSpeed"', face=SERIF),
    page("looks before speed", "AV office", 'text-rendering="geometricPrecision"', face=SERIF),
]  # fmt: skip

STRETCHED = [
    page("textLength, spread", "mint", 'textLength="40"'),
    page("textLength, crowded", "garden peas", 'textLength="30"'),
    page("textLength, letters stretched too", "mint", 'textLength="40" lengthAdjust="spacingAndGlyphs"'),
    page("textLength, letters crowded too", "garden peas", 'textLength="30" lengthAdjust="spacingAndGlyphs"'),
    page("textLength, from the middle", "mint", 'textLength="40"' + _MIDDLE, at=_AT_30),
    page("textLength, from the end", "mint", 'textLength="40"' + _END, at=_AT_54),
    page("textLength, letters stretched, from the end", "mint", 'textLength="40" lengthAdjust="spacingAndGlyphs"' + _END, at=_AT_54),
    page("textLength in percent", "mint", 'textLength="70%"'),
    page("textLength in em", "mint", 'textLength="5em"'),
    Feature("textLength that is worked out", text("mint", 'textLength="calc(10px + 50%)"'), equal=text("mint", 'textLength="40"')),
    page("textLength below nought", "mint", 'textLength="-5"'),
    page("textLength of one letter", "m", 'textLength="30"'),
    page("textLength over tspans", 'a<tspan font-weight="700">bc</tspan>d', 'textLength="40"'),
    page("textLength with words", "to and fro", 'textLength="48"'),
    page("textLength, Arabic", "حديقة", 'textLength="40"', face=ARABIC),
]  # fmt: skip

FONT = [
    page("font shorthand", "peas", "style=\"font:italic bold 9px 'EB Garamond'\""),
    page("font shorthand with a line height", "peas", "style=\"font:700 9px/1.5 'Source Sans 3'\"", face=""),
    page("font shorthand with a size word", "pea", 'style="font:medium Kalam"', face=""),
    page("font shorthand with small capitals", "Peas", "style=\"font:small-caps 9px 'EB Garamond'\"", face=""),
    page("font shorthand resets what is inherited", "<tspan style=\"font:9px 'EB Garamond'\">peas</tspan>", 'font-weight="700" font-style="italic"'),
    page("font-size in percent", 'a<tspan font-size="150%">b</tspan>'),
    page("font-size in em and ex", 'a<tspan font-size="1.5em">b</tspan><tspan font-size="3ex">c</tspan>'),
    page("font-size larger and smaller", 'a<tspan font-size="larger">b</tspan><tspan font-size="smaller">c</tspan>'),
    page("font-size larger within smaller", 'a<tspan font-size="smaller">b<tspan font-size="larger">c</tspan></tspan>'),
    page("font-size by words", '<tspan font-size="xx-small">a</tspan><tspan font-size="x-small">b</tspan><tspan font-size="small">c</tspan>'),
    page("font-size in points", "pea", 'font-size="9pt"', face='font-family="Kalam"'),
    page("font-size in mm", "pea", 'font-size="3mm"', face='font-family="Kalam"'),
    page("font-size nought in part", 'ab<tspan font-size="0">cd</tspan>ef'),
    page("font-weight bolder within bold", 'a<tspan font-weight="bolder">b<tspan font-weight="bolder">c</tspan></tspan>', 'font-weight="300"'),
    page("font-weight lighter within black", 'a<tspan font-weight="lighter">b<tspan font-weight="lighter">c</tspan></tspan>', 'font-weight="900"'),
    page("font-weight in words", 'a<tspan font-weight="bold">b</tspan><tspan font-weight="normal">c</tspan>', 'font-weight="900"'),
    page("font-weight 1000", "peas", 'font-weight="1000"'),
    page("font-weight that is unknown", "peas", 'font-weight="heavy"'),
    page("oblique", "peas", 'font-style="oblique"', face=SERIF),
    page("family list with one that is not there", "peas", face="font-family=\"Nowhere, Kalam\" font-size=\"8\""),
    page("family in other letters", "peas", face='font-family="KALAM" font-size="8"'),
    page("family of two words without quotes", "peas", face='font-family="Dancing Script" font-size="8"'),
    page("family quoted twice", "peas", face="font-family=\"'Dancing Script', 'Kalam'\" font-size=\"8\""),
    page("faces for letters that are missing", "mint 花 حديقة", face="font-family=\"Kalam, 'Noto Sans JP', Amiri\" font-size=\"8\""),
    page("features off and on", "office 12", "style=\"font-feature-settings:'liga' 0, 'onum' 1\"", face=SERIF),
    page("small capitals", "Peas &amp; Mint", 'font-variant="small-caps"', face=SERIF),
    page("small capitals by font-variant-caps", "Peas", 'style="font-variant-caps:small-caps"', face=SERIF),
    page("figures of old style", "0123456", 'style="font-variant-numeric:oldstyle-nums"', face=SERIF),
    page("fractions", "1/2 3/4", 'style="font-variant-numeric:diagonal-fractions"', face=SERIF),
    page("ligatures off", "office", 'style="font-variant-ligatures:none"', face=SERIF),
    page("line-height counts for nothing", "<tspan>a</tspan><tspan x='6' dy='1em'>b</tspan>", 'style="line-height:3"'),
    page("text-overflow counts for nothing", "garden", 'style="text-overflow:ellipsis;overflow:hidden"'),
]  # fmt: skip

DECORATION = [
    lined("underline", "Peas", "underline"),
    lined("overline", "Peas", "overline"),
    lined("line through", "Peas", "line-through"),
    lined("all three lines", "Peas", "underline", "overline", "line-through"),
    alike("line on one tspan", text('a <tspan text-decoration="underline">bcd</tspan> e'), line("underline", "bcd", "a ") + text("a bcd e")),
    alike("line through tspans of several colours", text('ab<tspan fill="#c30">cd</tspan>ef', 'text-decoration="underline" fill="#036"'),
          line("underline", "abcdef", paint='fill="#036"') + text('ab<tspan fill="#c30">cd</tspan>ef', 'fill="#036"')),
    alike("line in the colour of the tspan that asks for it", text('ab<tspan fill="#c30" text-decoration="underline">cd<tspan fill="#060">ef</tspan></tspan>', 'fill="#036"'),
          line("underline", "cdef", "ab", 'fill="#c30"') + text('ab<tspan fill="#c30">cd<tspan fill="#060">ef</tspan></tspan>', 'fill="#036"')),
    alike("lines asked for by three elements, nested", text('ab<tspan fill="#c30" text-decoration="overline">cd<tspan fill="#060" text-decoration="line-through">ef</tspan></tspan>', 'fill="#036" text-decoration="underline"'),
          line("underline", "abcdef", paint='fill="#036"') + line("overline", "cdef", "ab", 'fill="#c30"')
          + text('ab<tspan fill="#c30">cd<tspan fill="#060">ef</tspan></tspan>', 'fill="#036"') + line("line-through", "ef", "abcd", 'fill="#060"')),
    lined("line with a stroke", "Peas", "underline", paint='fill="#fc0" stroke="#036" stroke-width=".3"'),
    lined("line with a stroke and no fill", "Peas", "line-through", paint='fill="none" stroke="#036" stroke-width=".3"'),
    alike("line that is a gradient over the whole text", _ACROSS + text('<tspan fill="#000">gar</tspan>den', 'text-decoration="underline" fill="url(#g)"'),
          f'<linearGradient id="g" gradientUnits="userSpaceOnUse" x1="6" x2="{6 + _wide("garden")}"><stop stop-color="#036"/><stop offset="1" stop-color="#f80"/></linearGradient>'
          + line("underline", "garden", paint='fill="url(#g)"') + text('<tspan fill="#000">gar</tspan>den', 'fill="url(#g)"')),
    # CSS Text Decoration 4, 2.8: one thickness and one place all along, by the element that asks.
    alike("line under several sizes", text('a<tspan font-size="14">B</tspan>c', 'text-decoration="underline"'),
          line("underline", "ac", more=_wide("B", 14)) + text('a<tspan font-size="14">B</tspan>c')),
    alike("line under another face within", text('ab<tspan font-family="EB Garamond">cd</tspan>', 'text-decoration="underline"'),
          line("underline", "ab", more=_wide("cd", family="EB Garamond")) + text('ab<tspan font-family="EB Garamond">cd</tspan>')),
    alike("line under spaced text", text("m i n t", 'text-decoration="underline" letter-spacing="2"'),
          line("underline", "m i n t", more=14) + text("m i n t", 'letter-spacing="2"')),
    alike("line under a space at the end of a tspan", text('<tspan text-decoration="underline">peas </tspan>mint'), line("underline", "peas ") + text("peas mint")),
    alike("no line under the white space after a text", text("peas \n  ", 'text-decoration="underline"'), line("underline", "peas") + text("peas")),
    alike("line under preserved spaces at the end", text("peas  ", 'text-decoration="underline" xml:space="preserve"'), line("underline", "peas  ") + text("peas")),
    alike("line under moved letters", text("mint", 'text-decoration="underline" dx="0 3 3"'),
          line("underline", "m") + line("underline", "i", "m", x=9) + line("underline", "nt", "mi", x=12) + text("mint", 'dx="0 3 3"')),
    alike("line under letters that rise", text("mint", 'text-decoration="underline" dy="0 -3 0 3"'),
          line("underline", "m") + line("underline", "in", "m", y=21) + line("underline", "t", "min") + text("mint", 'dy="0 -3 0 3"')),
    alike("line under chunks", text('ab<tspan x="30">cd</tspan>', 'text-decoration="underline"'),
          line("underline", "ab") + line("underline", "cd", x=30) + text('ab<tspan x="30">cd</tspan>')),
    # SVG 2, 11.10.3: the paint is that of the element whose text is decorated by its own wish.
    alike("line that a group asks for", '<g text-decoration="underline" fill="#c30">' + text("peas", 'fill="#036"') + "</g>",
          line("underline", "peas", paint='fill="#c30"') + text("peas", 'fill="#036"')),
    alike("line that a group asks for, in its gradient", _ACROSS + '<g text-decoration="underline" fill="url(#g)">' + text("peas") + "</g>",
          f'<linearGradient id="g" gradientUnits="userSpaceOnUse" x1="6" x2="{6 + _wide("peas")}"><stop stop-color="#036"/><stop offset="1" stop-color="#f80"/></linearGradient>'
          + line("underline", "peas", paint='fill="url(#g)"') + text("peas", 'fill="url(#g)"')),
    alike("line that a group asks for, in its own colour", '<g text-decoration="underline" color="#c30" fill="currentColor">' + text("peas") + "</g>",
          line("underline", "peas", paint='fill="#c30"') + text("peas", 'fill="#c30"')),
    # CSS Text Decoration 4, 2.1: lines go through all that is inside and cannot be taken off there.
    alike("line in a mask", '<mask id="m"><g fill="#fff">' + text("peas", 'text-decoration="underline"') + '</g></mask><rect width="60" height="40" fill="#269" mask="url(#m)"/>',
          '<g fill="#269">' + line("underline", "peas") + text("peas") + "</g>"),
    alike("line in a filter", '<filter id="f" filterUnits="userSpaceOnUse" x="0" y="0" width="60" height="40"><feOffset dx="9" dy="4"/></filter><g filter="url(#f)">' + text("peas", 'text-decoration="underline"') + "</g>",
          '<g transform="translate(9 4)">' + line("underline", "peas") + text("peas") + "</g>"),
    alike("no line in a clip", '<clipPath id="c">' + text("peas", 'text-decoration="underline"') + '</clipPath><rect width="60" height="40" clip-path="url(#c)"/>', text("peas")),
    alike("line that cannot be taken off within", text('ab<tspan text-decoration="none">cd</tspan>ef', 'text-decoration="underline"'), line("underline", "abcdef") + text("abcdef")),
    alike("line under a raised part", text('a<tspan baseline-shift="3">2</tspan>b', 'text-decoration="underline"'),
          line("underline", "a") + line("underline", "2", "a", y=21) + line("underline", "b", "a2") + text('a<tspan baseline-shift="3">2</tspan>b')),
    alike("line through text from the end", text("garden", 'text-decoration="line-through"' + _END, at=_AT_54),
          text("garden", _END, at=_AT_54) + line("line-through", "garden", x=54 - _wide("garden"))),
    alike("line under hidden letters is hidden", text('ab<tspan visibility="hidden">cd</tspan>ef', 'text-decoration="underline"'),
          line("underline", "ab") + line("underline", "ef", "abcd") + text('ab<tspan visibility="hidden">cd</tspan>ef')),
    alike("line under a stretched text", text("mint", 'text-decoration="underline" textLength="40" lengthAdjust="spacingAndGlyphs"'),
          line("underline", "", more=40) + text("mint", 'textLength="40" lengthAdjust="spacingAndGlyphs"')),
    alike("line in a colour of its own", text("Peas", 'style="text-decoration:underline #c30"'), line("underline", "Peas", paint='fill="#c30"') + text("Peas")),
    alike("line in a colour of its own, written out", text("Peas", 'style="text-decoration-line:underline;text-decoration-color:rgb(204 51 0)"'), line("underline", "Peas", paint='fill="#c30"') + text("Peas")),
    alike("line of a thickness of its own", text("Peas", 'style="text-decoration:underline;text-decoration-thickness:1px"'), line("underline", "Peas", thick=1) + text("Peas")),
    alike("line whose thickness is a part of the size", text("Peas", 'style="text-decoration:underline 10%"'), line("underline", "Peas", thick=0.8) + text("Peas")),
    alike("line farther down", text("Peas", 'style="text-decoration:underline;text-underline-offset:2px"'), line("underline", "Peas", top=2) + text("Peas")),
    alike("double line", text("Peas", 'style="text-decoration:underline double 1px"'), line("underline", "Peas", thick=1) + line("underline", "Peas", thick=1, y=26) + text("Peas")),
    alike("dashed line", text("Peas", 'style="text-decoration:underline dashed 1px;text-underline-offset:1px"'), text("Peas") + f'<path d="M6 25.5h{_wide("Peas")}" stroke="#000" stroke-dasharray="3 2"/>'),
    alike("dotted line", text("Peas", 'style="text-decoration:underline dotted 1px;text-underline-offset:1px" fill="#036"'), text("Peas", 'fill="#036"') + f'<path d="M6.5 25.5h{_wide("Peas") - 0.5}" stroke="#036" stroke-linecap="round" stroke-dasharray="0 2"/>'),
    alike("wavy line", text("Peas", 'style="text-decoration:underline wavy .5px;text-underline-offset:2px"'),
          text("Peas") + f'<svg overflow="hidden" width="{6 + _wide("Peas")}" height="40"><path d="M6 26.25{"c.8 -1.2 1.2 -1.2 2 0c.8 1.2 1.2 1.2 2 0" * 6}" fill="none" stroke="#000" stroke-width=".5"/></svg>'),
    alike("blinking text stands still", text("Peas", 'text-decoration="blink"'), text("Peas")),
    alike("text-decoration-line", text("Peas", 'style="text-decoration-line:underline"'), line("underline", "Peas") + text("Peas")),
    alike("line under Arabic", text("حديقة", 'text-decoration="underline"', face=ARABIC),
          line("underline", "حديقة", family="Amiri") + text("حديقة", face=ARABIC)),
]  # fmt: skip

PREFORMATTED = [  # SVG 2, 11.7.1: a newline that is kept begins a line; so do vector editors
    alike("newlines of preformatted text", text("a  b\n\tc\n\nd", 'style="white-space:pre"', at='x="6" y="8"', face=SANS.replace('"8"', '"6"')),
          "".join(text(words, 'xml:space="preserve"', at=f'x="6" y="{y}"', face=SANS.replace('"8"', '"6"')) for y, words in ((8, "a  b"), (15.5, " c"), (30.5, "d")))),
    alike("newlines of preformatted text, from the middle", text("a  b\ncdefg", 'style="white-space:pre"' + _MIDDLE, at='x="30" y="16"'),
          text("a  b", 'xml:space="preserve"' + _MIDDLE, at='x="30" y="16"') + text("cdefg", _MIDDLE, at='x="30" y="26"')),
    alike("newlines kept, other spaces folded", text("  a   b  \n    c", 'style="white-space:pre-line"', at='x="6" y="16"'),
          text("a b", at='x="6" y="16"') + text("c", at='x="6" y="26"')),
    alike("line height of preformatted text", text("ab\ncd", 'style="white-space:pre;line-height:1.5"', at='x="6" y="16"'),
          text("ab", at='x="6" y="16"') + text("cd", at='x="6" y="28"')),
    alike("preformatted text with a tspan that has a place", text('ab\n<tspan x="30" y="30">cd</tspan>', 'style="white-space:pre"', at='x="6" y="16"'),
          text("ab", at='x="6" y="16"') + text("cd", at='x="30" y="30"')),
    alike("white-space comes before xml:space", text("a   b", 'xml:space="preserve" style="white-space:normal"'), text("a b")),
    alike("white-space-collapse", text("a   b", 'style="white-space-collapse:preserve"'), text("a   b", 'xml:space="preserve"')),
    page("white-space nowrap", "a   b\n  c", 'style="white-space:nowrap"'),
]  # fmt: skip

CASE = [
    page("text in capitals", "peas ß", 'style="text-transform:uppercase"'),
    page("text in small letters", "PEAS Σ ΟΔΟΣ", 'style="text-transform:lowercase" font-size="7"', face=SANS.replace(' font-size="8"', "")),
    page("text with capitals at the head of words", "to-day it’s (new) 1st", 'style="text-transform:capitalize" font-size="5"', face=SANS.replace(' font-size="8"', "")),
    page("capital at the head of a word in tspans", 'to<tspan fill="#c30">day</tspan> a<tspan>b</tspan>', 'style="text-transform:capitalize"'),
    page("one tspan in capitals", 'ab<tspan style="text-transform:uppercase">cdß</tspan>ef'),
    page("one tspan as it is written", 'ab<tspan style="text-transform:none">cd</tspan>', 'style="text-transform:uppercase"'),
    page("Turkish capitals", "iı bir", 'style="text-transform:uppercase" xml:lang="tr"'),
    page("Greek capitals", "άέήΐ όδος", 'style="text-transform:uppercase" xml:lang="el"'),
    page("small capitals that the face lacks", "Peas Mint", 'font-variant="small-caps"', face=KALAM),
    page("small capitals that the face lacks, with figures", "Mint 12, &amp;", 'font-variant="small-caps"', face=KALAM),
    page("small capitals that the face lacks, a letter that becomes two", "Maß", 'font-variant="small-caps"', face=KALAM),
    page("small capitals that the face lacks, spaced", "Mint", 'font-variant="small-caps" letter-spacing="2"', face=KALAM),
    page("small capitals that the face lacks, moved", "Mint", 'font-variant="small-caps" dx="0 2 2 2"', face=KALAM),
    page("all in small capitals that the face lacks", "Mint 12, Ab", 'style="font-variant-caps:all-small-caps"', face=KALAM),
    page("all in small capitals", "Mint Ab", 'style="font-variant-caps:all-small-caps"', face=SERIF),
    page("petite capitals that the face lacks", "Peas", 'style="font-variant-caps:petite-caps"', face=KALAM),
    page("petite capitals that become small ones", "Peas", 'style="font-variant-caps:petite-caps"', face=SERIF),
    page("letters of one height that the face lacks", "Peas", 'style="font-variant-caps:unicase"', face=KALAM),
    page("small capitals taken off within", 'Ab<tspan font-variant="normal">cd</tspan>', 'font-variant="small-caps"', face=KALAM),
    page("small capitals of text in capitals", "Mint", 'style="font-variant:small-caps;text-transform:uppercase"', face=KALAM),
    page("figures set low", "H2O", 'style="font-variant-position:sub"', face=SERIF),
    page("figures set high", "mint 1234567890", 'style="font-variant-position:super"', face=SERIF),
    page("italics that the family lacks", "Peas", 'font-style="italic"', face=KALAM),
    page("bold that the family lacks", "水曜日", 'font-weight="700"', face=JAPANESE),
    page("size by the height of small letters", "xgH", 'style="font-size-adjust:.6"'),
    page("size by the height of small letters, of several faces", 'xg<tspan font-family="EB Garamond">xg</tspan>', 'style="font-size-adjust:.5"'),
    page("width of a variable face", "कखग", 'font-stretch="62.5%"', face=HINDI),
    page("weight by variation", "mint", "style=\"font-variation-settings:'wght' 850\""),
    page("weight between hundreds in the shorthand", "mint", "style=\"font:350 8px 'Source Sans 3'\""),
    page("width in the shorthand", "كتاب", "style=\"font:condensed 700 8px 'Noto Sans Arabic'\""),
    page("list of families in the shorthand", "mint", "style=\"font:8px / 1.2 Nowhere, 'Source Sans 3', Kalam\"", face=""),
    alike("font size below nought counts for nothing", text("mint", 'font-size="-3"', face='font-family="Kalam"'), text("mint", 'font-size="16"', face='font-family="Kalam"')),
]  # fmt: skip

INNER_LENGTHS = [
    page("textLength on a tspan", 'a<tspan textLength="20">bcd</tspan>ef'),
    page("textLength on a tspan, from the middle", 'a<tspan textLength="20">bcd</tspan>ef', _MIDDLE, at=_AT_30),
    page("textLength on a tspan, letters stretched too", 'a<tspan textLength="20" lengthAdjust="spacingAndGlyphs">bcd</tspan>ef'),
    page("textLength over chunks", 'abc<tspan x="30">def</tspan>', 'textLength="40"'),
    page("textLength with shifts", "abcd", 'textLength="40" dx="0 3 3 3"'),
    page("textLength with letter-spacing", "mint", 'textLength="40" letter-spacing="3"'),
    page("textLength and ligatures", "office", 'textLength="40"', face=SERIF),
    page("textLength and kerning", "AVAVA", 'textLength="40"', face=SERIF),
    page("textLength and accents typed apart", "e\u0301te\u0301", 'textLength="30"'),
    page("textLength of turned letters", "mint", 'textLength="40" rotate="20"'),
    page("textLength of outlines", "mint", 'textLength="40" lengthAdjust="spacingAndGlyphs" fill="none" stroke="#036" stroke-width=".5"'),
    page("textLength of several weights", 'mi<tspan font-weight="900">nt</tspan>', 'textLength="40" lengthAdjust="spacingAndGlyphs"'),
    page("textLength, Arabic from right to left", "حديقة", 'textLength="40" direction="rtl"', face=ARABIC, at=_AT_54),
    page("textLength, Arabic stretched from right to left", "حديقة", 'textLength="40" direction="rtl" lengthAdjust="spacingAndGlyphs"', face=ARABIC, at=_AT_54),
    page("textLength of nought counts for nothing", "mint", 'textLength="0"'),
    # SVG 2, 11.5: what has a length of its own moves as one letter of what is around it.
    alike("textLength within textLength", text('a<tspan textLength="15">bcd</tspan>e', 'textLength="45"'),
          text("a", 'x="6"', at='y="24"') + text("bcd", f'x="{6 + _wide("a") + (45 - _wide("a") - _wide("e") - 15 - (15 - _wide("bcd")) / 2) / 2}" textLength="15"', at='y="24"')
          + text("e", 'x="51"' + _END, at='y="24"')),
]  # fmt: skip

TURNED_WAYS = [
    page("part embedded whose sign changes sides", 'a<tspan direction="rtl" unicode-bidi="embed">b 1 c!</tspan>d'),
    page("part isolated whose sign changes sides", 'a<tspan direction="rtl" unicode-bidi="isolate">b 1 c!</tspan>d'),
    page("English isolated in Arabic", 'حد<tspan direction="ltr" unicode-bidi="isolate"> ab! </tspan>يق', face=NOTO_ARABIC.replace("Noto Sans Arabic", "'Noto Sans Arabic', 'Source Sans 3'")),
    page("first letters say the direction", "حد, يق!", 'style="unicode-bidi:plaintext"', face=ARABIC),
    page("Arabic in tspans before English", "<tspan>حد</tspan><tspan>يق</tspan> ab", 'direction="rtl"', face=_MIXED, at=_AT_54),
    page("override in an override", 'a<tspan direction="rtl" unicode-bidi="bidi-override">bc<tspan direction="ltr" unicode-bidi="bidi-override">de</tspan>fg</tspan>h'),
    page("two overrides in a row", 'a<tspan direction="rtl" unicode-bidi="bidi-override">bc</tspan><tspan direction="rtl" unicode-bidi="bidi-override">de</tspan>h'),
    page("override from its end", "mint", 'style="direction:rtl;unicode-bidi:bidi-override"' + _END),
    page("override of letters with places", "mint", 'style="direction:rtl;unicode-bidi:bidi-override" x="40 30 20 10"', at='y="24"'),
    page("override that is isolated", 'a<tspan direction="rtl" unicode-bidi="isolate-override">bc!</tspan>d'),
    page("signs of isolation in the text", "a \u2067b c!\u2069 d"),
    page("brackets around English in Arabic", "حد (ab)", face=NOTO_ARABIC.replace("Noto Sans Arabic", "'Noto Sans Arabic', 'Source Sans 3'")),
    page("brackets in an embedded part", 'a<tspan direction="rtl" unicode-bidi="embed">b 1 (c)</tspan>d'),
    page("chunk of another direction begins at its anchor", 'ab<tspan x="50" direction="rtl" unicode-bidi="embed">cd!</tspan>'),
]  # fmt: skip

_SHADED = 'x="4" y="28" font-family="Kalam" font-weight="700" font-size="22" fill="#a30"'
_SHADOWS = (
    '<filter id="f" filterUnits="userSpaceOnUse" x="-9" y="-9" width="90" height="90" color-interpolation-filters="sRGB">{}</filter><text '
    + _SHADED
    + ' filter="url(#f)">Seeds</text>'
)


def _shadow(number: int, blur: float, dx: float, dy: float, colour: str) -> str:
    return (
        f'<feGaussianBlur in="SourceAlpha" stdDeviation="{blur}"/><feOffset dx="{dx}" dy="{dy}" result="m{number}"/>'
        f'<feFlood flood-color="{colour}"/><feComposite in2="m{number}" operator="in" result="s{number}"/>'
    )


def _over(*names: str) -> str:
    return (
        "<feMerge>"
        + "".join(f'<feMergeNode in="{name}"/>' for name in (*names, "SourceGraphic"))
        + "</feMerge>"
    )


# CSS Text Decoration 3, 4: blurred by half the third length, the first of several on top.
SHADOWS = [
    Feature("text shadow", f'<text {_SHADED} style="text-shadow:2px 1px 2px #036">Seeds</text>', equal=_SHADOWS.format(_shadow(1, 1, 2, 1, "#036") + _over("s1"))),
    Feature("two text shadows", f'<text {_SHADED} style="text-shadow:1px 1px gold, -2px -2px 1px #036">Seeds</text>', equal=_SHADOWS.format(_shadow(1, 0, 1, 1, "gold") + _shadow(2, 0.5, -2, -2, "#036") + _over("s2", "s1"))),
    Feature("text shadow of a group, in em", f'<g style="text-shadow:.1em .1em #036"><text {_SHADED}>Se<tspan>eds</tspan></text></g>', equal=_SHADOWS.format(_shadow(1, 0, 2.2, 2.2, "#036") + _over("s1"))),
    Feature("text shadow in the text colour", f'<text {_SHADED} color="#690" style="text-shadow:2px 2px 0">Seeds</text>', equal=_SHADOWS.format(_shadow(1, 0, 2, 2, "#690") + _over("s1"))),
    Feature("text shadow, then a filter", f'<text {_SHADED} style="text-shadow:2px 1px 0 #036;filter:grayscale(1)">Seeds</text>', equal=_SHADOWS.format(_shadow(1, 0, 2, 1, "#036") + _over("s1") + '<feColorMatrix type="saturate" values="0"/>')),
    Feature("text shadow that is none", f'<g style="text-shadow:1px 1px red"><text {_SHADED} style="text-shadow:none">Seeds</text></g>', equal=f"<text {_SHADED}>Seeds</text>"),
    Feature("text shadow that cannot be read", f'<text {_SHADED} style="text-shadow:1px sparkle">Seeds</text>', equal=f"<text {_SHADED}>Seeds</text>"),
]  # fmt: skip

LAYERS = [
    page("opacity of one tspan", 'ab<tspan opacity=".4">cd</tspan>ef'),
    page("opacity of a tspan in a tspan", 'a<tspan opacity=".5">b<tspan opacity=".5" fill="#c30">c</tspan>d</tspan>e'),
    page("tspan without opacity", '<tspan opacity="0">ab</tspan>cd'),
    page("opacity of a tspan whose letters overlap", 'a<tspan opacity=".5" letter-spacing="-2.5" font-weight="900">www</tspan>'),
    Feature("clip on one tspan", '<clipPath id="clip-t"><rect width="60" height="21"/></clipPath>' + text('ab<tspan clip-path="url(#clip-t)" fill="#c30">cd</tspan>ef')),
    alike("mask on one tspan", '<mask id="m" maskUnits="userSpaceOnUse" x="0" y="0" width="60" height="40"><rect width="60" height="21" fill="#fff"/></mask>' + text('ab<tspan mask="url(#m)">cd</tspan>ef'),
          '<clipPath id="c"><rect width="60" height="21"/></clipPath>' + text('ab<tspan visibility="hidden">cd</tspan>ef') + text('<tspan visibility="hidden">ab</tspan>cd', 'clip-path="url(#c)"')),
    alike("clip of a clip on one tspan", '<clipPath id="c" clip-path="url(#d)"><rect width="60" height="22"/></clipPath><clipPath id="d"><rect y="20" width="60" height="20"/></clipPath>' + text('ab<tspan clip-path="url(#c)">cd</tspan>ef'),
          '<clipPath id="c"><rect y="20" width="60" height="2"/></clipPath>' + text('ab<tspan visibility="hidden">cd</tspan>ef') + text('<tspan visibility="hidden">ab</tspan>cd', 'clip-path="url(#c)"')),
    alike("clip that leaves nothing of a tspan", '<clipPath id="c"/>' + text('ab<tspan clip-path="url(#c)">cd</tspan>ef'), text('ab<tspan visibility="hidden">cd</tspan>ef')),
    alike("line under a clear tspan", text('<tspan opacity=".5" text-decoration="underline">ab</tspan>cd', 'fill="#036"'),
          '<g opacity=".5">' + line("underline", "ab", paint='fill="#036"') + text("ab", 'fill="#036"') + "</g>" + text('<tspan visibility="hidden">ab</tspan>cd', 'fill="#036"')),
]  # fmt: skip

BASELINES = [
    *(page(f"dominant-baseline {value}", f"xgH{value[:4]}", f'dominant-baseline="{value}"', at='x="6" y="20"')
      for value in ("auto", "alphabetic", "middle", "central", "hanging", "mathematical", "ideographic",
                    "text-before-edge", "text-after-edge", "use-script", "no-change", "reset-size")),
    # CSS Inline 3, 4.1 has these two beside the names of SVG.
    alike("dominant-baseline text-top", text("xgH", 'dominant-baseline="text-top"'), text("xgH", 'dominant-baseline="text-before-edge"')),
    alike("dominant-baseline text-bottom", text("xgH", 'dominant-baseline="text-bottom"'), text("xgH", 'dominant-baseline="text-after-edge"')),
    page("alignment-baseline of an element moves those within", 'x<tspan alignment-baseline="hanging">H<tspan fill="#c30">g</tspan>h</tspan>k', at='x="6" y="20"'),
    page("alignment-baseline with baseline-shift", 'x<tspan baseline-shift="3" alignment-baseline="middle">g</tspan>k', at='x="6" y="20"'),
    page("alignment-baseline in a dominant one", 'x<tspan alignment-baseline="hanging">g</tspan>k', 'dominant-baseline="middle"', at='x="6" y="20"'),
    page("dominant-baseline on tspans of several sizes", 'x<tspan dominant-baseline="middle">H<tspan font-size="12">g</tspan>h</tspan>k', at='x="6" y="20"'),
    page("dominant-baseline with baseline-shift", 'x<tspan baseline-shift="3">g</tspan>k', 'dominant-baseline="middle"', at='x="6" y="20"'),
    *(page(f"alignment-baseline {value}", f'xg<tspan alignment-baseline="{value}">H{value[:4]}</tspan>', at='x="6" y="20"')
      for value in ("auto", "baseline", "before-edge", "text-before-edge", "middle", "central", "after-edge",
                    "text-after-edge", "ideographic", "alphabetic", "hanging", "mathematical")),
    page("alignment-baseline on the text itself", "xgH", 'alignment-baseline="hanging"', at='x="6" y="20"'),
    page("dominant-baseline inherited by tspans", 'xg<tspan font-size="12">H</tspan>', 'dominant-baseline="hanging"', at='x="6" y="20"'),
    page("dominant-baseline on a tspan", 'xg<tspan dominant-baseline="hanging">H</tspan>', at='x="6" y="20"'),
    # Vector editors raise by 0.4 em and lower by 0.2 em, as CSS leaves open (CSS Inline 3, 4.3).
    alike("baseline-shift super and sub", text('x<tspan baseline-shift="super">2</tspan><tspan baseline-shift="sub">2</tspan>'),
          text('x<tspan baseline-shift="3.2">2</tspan><tspan baseline-shift="-1.6">2</tspan>')),
    page("baseline-shift in percent", 'x<tspan baseline-shift="50%">2</tspan><tspan baseline-shift="-25%">2</tspan>'),
    page("baseline-shift in lengths", 'x<tspan baseline-shift="3">2</tspan><tspan baseline-shift="-.4em">2</tspan><tspan baseline-shift="1mm">3</tspan>'),
    alike("baseline-shift nested, up and up", text('x<tspan baseline-shift="super">2<tspan baseline-shift="super">2</tspan></tspan>'),
          text('x<tspan baseline-shift="3.2">2</tspan><tspan baseline-shift="6.4">2</tspan>')),
    alike("baseline-shift nested, up and down", text('x<tspan baseline-shift="super">2<tspan baseline-shift="sub">2</tspan></tspan>'),
          text('x<tspan baseline-shift="3.2">2</tspan><tspan baseline-shift="1.6">2</tspan>')),
    page("baseline-shift baseline", 'x<tspan baseline-shift="5">2<tspan baseline-shift="baseline">2</tspan></tspan>'),
    alike("baseline-shift with another size", text('MIN<tspan baseline-shift="super" font-size="65%">234</tspan>'),
          text('MIN<tspan baseline-shift="3.2" font-size="65%">234</tspan>')),
    page("baseline-shift on the text itself", "x2", 'baseline-shift="5"'),
]  # fmt: skip

DIRECTION = [
    page("Arabic", "حديقة المطبخ", face=ARABIC),
    page("Arabic from right to left", "حديقة", 'direction="rtl"', face=ARABIC, at=_AT_54),
    page("Arabic from right to left, from its end", "حديقة", 'direction="rtl"' + _END, face=ARABIC),
    page("Arabic from right to left, from the middle", "حديقة", 'direction="rtl"' + _MIDDLE, face=ARABIC, at=_AT_30),
    page("English from right to left", "mint!", 'direction="rtl"', at=_AT_54),
    page("mixed text, from the middle", "ab حد cd", _MIDDLE, face="font-family=\"'Source Sans 3', Amiri\" font-size=\"8\"", at=_AT_30),
    page("letters overridden to run from right to left", "mint", 'style="direction:rtl;unicode-bidi:bidi-override"', at=_AT_54),
    page("part overridden to run from right to left", 'ab<tspan direction="rtl" unicode-bidi="bidi-override">cdef</tspan>gh'),
    page("Arabic overridden to run from left to right", "حدي", 'style="direction:ltr;unicode-bidi:bidi-override"', face=ARABIC),
    page("part embedded from right to left", 'a<tspan direction="rtl" unicode-bidi="embed">b 1 (c)</tspan>d'),
    page("part isolated", 'a<tspan direction="rtl" unicode-bidi="isolate">b 1 (c)</tspan>d'),
    page("direction on a tspan alone counts for nothing", 'ab<tspan direction="rtl">cd!</tspan>'),
    page("marks of direction in the text", "a\u202eb c\u202cd"),
    page("Arabic with Western figures", "29 حديقة 30", 'direction="rtl"', face=ARABIC, at=_AT_54),
    page("Arabic in tspans", 'حد<tspan fill="#c30">يق</tspan>ة', 'direction="rtl"', face=ARABIC, at=_AT_54),
    page("Hindi with a joiner and a non-joiner", "क्\u200dष क्\u200cष", face=HINDI),
    page("soft hyphen and zero-width space", "gar\u00adden\u200bbed"),
    page("accents typed apart", "e\u0301 n\u0303 o\u0308"),
    page("accents in tspans of their own", 'minte<tspan fill="#c30">\u0301</tspan>n'),
    page("Japanese", "水曜日", face=JAPANESE),
    page("letters of one language's own", "Şişli", 'xml:lang="tr"', face=SERIF),
]  # fmt: skip

PAINT = [
    Feature("gradient over the whole text", _ACROSS + text('gar<tspan font-weight="700">den</tspan>', 'fill="url(#g)"')),
    Feature("gradient over the whole text, asked for by a tspan", _ACROSS + text('gar<tspan fill="url(#g)">den</tspan>')),
    Feature("gradient over chunks", _ACROSS + text('<tspan x="6" y="14">peas</tspan><tspan x="20" y="30">mint</tspan>', 'fill="url(#g)"')),
    Feature("gradient downwards", _DOWN + text("garden", 'fill="url(#g)"')),
    Feature("gradient on the stroke", _ACROSS + text("mint", 'fill="none" stroke="url(#g)" stroke-width=".6"')),
    Feature("pattern as the fill", _STRIPES + text("mint", 'fill="url(#p)"', face=SANS.replace('"8"', '"16" font-weight="900"'))),
    Feature("pattern in one tspan", _STRIPES + text('m<tspan fill="url(#p)">in</tspan>t', face=SANS.replace('"8"', '"16" font-weight="900"'))),
    page("stroke below the fill", "mint", 'fill="#fc0" stroke="#036" stroke-width="2" paint-order="stroke"', face=SANS.replace('"8"', '"14"')),
    page("stroke above the fill", "mint", 'fill="#fc0" stroke="#036" stroke-width="1"', face=SANS.replace('"8"', '"14"')),
    page("stroke below the fill in one tspan", 'm<tspan paint-order="stroke">in</tspan>t', 'fill="#fc0" stroke="#036" stroke-width="2"', face=SANS.replace('"8"', '"14"')),
    page("paint-order markers stroke fill", "mint", 'fill="#fc0" stroke="#036" stroke-width="2" paint-order="markers stroke"', face=SANS.replace('"8"', '"14"')),
    page("dashes on letters", "mint", 'fill="none" stroke="#036" stroke-width=".5" stroke-dasharray="1 .6"', face=SANS.replace('"8"', '"14"')),
    page("stroke width inherited in percent", "mint", 'fill="none" stroke="#036" stroke-width="1%"', face=SANS.replace('"8"', '"14"')),
    page("stroke with round joins", "MN", 'fill="none" stroke="#036" stroke-width="2" stroke-linejoin="round"', face=SANS.replace('"8"', '"16"')),
    page("opacity of the fill", 'a<tspan fill-opacity=".4">bc</tspan>d'),
    page("opacity of the text", "mint", 'opacity=".5"'),
    page("opacity of the stroke", "mint", 'fill="#fc0" stroke="#036" stroke-width="1.5" stroke-opacity=".5"', face=SANS.replace('"8"', '"14"')),
    page("hidden part", 'ab<tspan visibility="hidden">cd</tspan>ef'),
    page("shown within hidden", 'ab<tspan visibility="visible">cd</tspan>ef', 'visibility="hidden"'),
    page("part that is not displayed", 'ab<tspan display="none">cd</tspan>ef'),
    page("colour by currentColor", 'ab<tspan color="#c30" fill="currentColor">cd</tspan>'),
    Feature("text without opacity", text("mint", 'opacity="0"') + text("peas", at='x="6" y="34"')),
    page("no fill, no stroke in part", 'ab<tspan fill="none">cd</tspan>ef'),
    Feature("clip through the letters of a text", '<clipPath id="c"><rect width="60" height="21"/></clipPath>' + text("mint", 'clip-path="url(#c)"')),
]  # fmt: skip

_EVERY = [
    *CHUNKS, *SPACE, *PREFORMATTED, *SPACING, *STRETCHED, *INNER_LENGTHS, *FONT, *CASE, *DECORATION,
    *BASELINES, *DIRECTION, *TURNED_WAYS, *PAINT, *LAYERS, *SHADOWS,
]  # fmt: skip

_BY_BROWSER: Mapping[str, tuple[str, ...]] = {
    "resvg takes no more places or shifts than one for text set from its end": (
        "shifts in a list, from the end",
    ),
    "resvg counts the white space of an empty chunk": ("empty tspans between words",),
    "resvg reads xml:space on a text only, not on parts of it": (
        "space kept in one tspan",
        "space kept outside, folded within",
    ),
    "resvg leaves out the space after the last letter when it aligns a chunk (CSS Text 3, 8.2, keeps it)": (
        "letter-spacing, from the middle",
        "letter-spacing, from the end",
        "letter-spacing below nought, from the end",
    ),
    "resvg keeps ligatures in spaced letters (CSS Text 3, 8.2.1, parts them)": (
        "letter-spacing parts ligatures",
    ),
    "resvg still knows SVG 1.1's kerning": ("kerning as SVG 1.1 writes it",),
    "resvg aligns a chunk by its natural width, takes textLength for single chunks only and stretches no part": (
        "textLength, from the middle",
        "textLength, from the end",
        "textLength in percent",
        "textLength over tspans",
        "textLength on a tspan, letters stretched too",
        "textLength over chunks",
        "textLength with shifts",
        "textLength with letter-spacing",
        "textLength of outlines",
        "textLength of several weights",
        "textLength, Arabic from right to left",
        "textLength, Arabic stretched from right to left",
        "textLength of nought counts for nothing",
    ),
    "resvg does not read all of the font shorthand, its words for sizes are others, and names of families must be written as the font has them": (
        "font shorthand with a line height",
        "font-size by words",
        "font-weight 1000",
        "family in other letters",
        "weight between hundreds in the shorthand",
        "list of families in the shorthand",
    ),
    "resvg does not know features, variants and sizes of CSS Fonts": (
        "features off and on",
        "small capitals by font-variant-caps",
        "figures of old style",
        "fractions",
        "ligatures off",
        "all in small capitals",
        "petite capitals that become small ones",
        "figures set low",
        "figures set high",
        "size by the height of small letters",
        "size by the height of small letters, of several faces",
        "width of a variable face",
    ),
    "resvg does not know text-transform": (
        "text in capitals",
        "text in small letters",
        "text with capitals at the head of words",
        "capital at the head of a word in tspans",
        "one tspan in capitals",
        "one tspan as it is written",
        "Turkish capitals",
        "Greek capitals",
    ),
    "resvg makes up no small capitals, italics or bold letters": (
        "small capitals that the face lacks",
        "small capitals that the face lacks, with figures",
        "small capitals that the face lacks, a letter that becomes two",
        "small capitals that the face lacks, spaced",
        "small capitals that the face lacks, moved",
        "all in small capitals that the face lacks",
        "petite capitals that the face lacks",
        "letters of one height that the face lacks",
        "small capitals taken off within",
        "small capitals of text in capitals",
        "italics that the family lacks",
        "bold that the family lacks",
    ),
    "resvg shifts parts of a text only": ("baseline-shift on the text itself",),
    "resvg knows neither direction nor unicode-bidi": (
        "Arabic from right to left",
        "Arabic from right to left, from its end",
        "English from right to left",
        "mixed text, from the middle",
        "letters overridden to run from right to left",
        "part overridden to run from right to left",
        "Arabic overridden to run from left to right",
        "Arabic with Western figures",
        "Arabic in tspans",
        "part embedded whose sign changes sides",
        "part isolated whose sign changes sides",
        "English isolated in Arabic",
        "first letters say the direction",
        "Arabic in tspans before English",
        "override in an override",
        "two overrides in a row",
        "override from its end",
        "override of letters with places",
        "override that is isolated",
        "chunk of another direction begins at its anchor",
    ),
    "resvg takes opacity and clips of whole texts only": (
        "opacity of one tspan",
        "opacity of a tspan in a tspan",
        "tspan without opacity",
        "opacity of a tspan whose letters overlap",
        "clip on one tspan",
    ),
}

BROWSER_PAGES: list[Feature] = [
    page for page in _EVERY if any(page.name in names for names in _BY_BROWSER.values())
]
"""What resvg does not do, or not as SVG says, for the reasons given; a browser judges it."""

PAGES: list[Feature] = [page for page in _EVERY if page not in BROWSER_PAGES]

REFUSALS: list[Refused] = [
    Refused("glyph by its number", '<text font-family="Kalam"><altGlyph id="x" glyphRef="7">a</altGlyph></text>', "x", "a special form of a letter"),
    Refused("text that is elsewhere", '<text id="t">leaf</text><text><tref id="x" href="#t"/></text>', "x", "repeats another text"),
    Refused("letters turned in their line", f'<text id="x" {SANS} y="9" glyph-orientation-horizontal="90">leaf</text>', "x", "turned letters"),
    Refused("shadow on a part of a text", '<text font-family="Kalam">Se<tspan id="x" style="text-shadow:1px 1px red">eds</tspan></text>', "x", "a text shadow on a part"),
]  # fmt: skip
