# ruff: noqa: E501  (a drawing is a line)
"""Text: chunks, white space, spacing, baselines, decoration, languages, faces."""

from __future__ import annotations

from tests.draw.feature_samples import Feature, Refused

SANS = 'font-family="\'Source Sans 3\'" font-size="8"'
SERIF = 'font-family="EB Garamond" font-size="8"'
ARABIC = 'font-family="Amiri" font-size="8"'
NOTO_ARABIC = 'font-family="Noto Sans Arabic" font-size="7"'
HINDI = 'font-family="Noto Sans Devanagari" font-size="7"'
SCRIPT = 'font-family="Dancing Script" font-size="9"'
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
    page("underline", "Peas", 'text-decoration="underline"'),
    page("overline", "Peas", 'text-decoration="overline"'),
    page("line through", "Peas", 'text-decoration="line-through"'),
    page("all three lines", "Peas", 'text-decoration="underline overline line-through"'),
    page("line on one tspan", 'a <tspan text-decoration="underline">bcd</tspan> e'),
    page("line through tspans of several colours", 'ab<tspan fill="#c30">cd</tspan>ef', 'text-decoration="underline" fill="#036"'),
    page("line in the colour of the tspan that asks for it", 'ab<tspan fill="#c30" text-decoration="underline">cd<tspan fill="#060">ef</tspan></tspan>', 'fill="#036"'),
    page("lines asked for twice, nested", 'ab<tspan fill="#c30" text-decoration="overline">cd<tspan fill="#060" text-decoration="line-through">ef</tspan></tspan>', 'fill="#036" text-decoration="underline"'),
    page("line with a stroke", "Peas", 'text-decoration="underline" fill="#fc0" stroke="#036" stroke-width=".3"'),
    page("line with a stroke and no fill", "Peas", 'text-decoration="line-through" fill="none" stroke="#036" stroke-width=".3"'),
    Feature("line that is a gradient", _ACROSS + text("garden", 'text-decoration="underline" fill="url(#g)"')),
    page("line under several sizes", 'a<tspan font-size="14">B</tspan>c', 'text-decoration="underline"'),
    page("line under spaced text", "m i n t", 'text-decoration="underline" letter-spacing="2"'),
    page("line under a space at the end", '<tspan text-decoration="underline">peas </tspan>mint'),
    page("line under moved letters", "mint", 'text-decoration="underline" dx="0 3 3 3"'),
    page("line under letters that rise", "mint", 'text-decoration="underline" dy="0 -3 -3 6"'),
    page("line under chunks", 'ab<tspan x="30">cd</tspan>', 'text-decoration="underline"'),
    Feature("line that a group asks for", '<g text-decoration="underline" fill="#c30">' + text("peas", 'fill="#036"') + "</g>"),
    page("line taken off within", 'ab<tspan text-decoration="none">cd</tspan>ef', 'text-decoration="underline"'),
    page("line written in style with a colour", "Peas", 'style="text-decoration:underline #c30"'),
    page("line under a raised part", 'a<tspan baseline-shift="super" font-size="5">2</tspan>b', 'text-decoration="underline"'),
    page("line through text from the end", "garden", 'text-decoration="line-through"' + _END, at=_AT_54),
    page("line under Arabic", "حديقة", 'text-decoration="underline"', face=ARABIC),
    page("line under another face within", 'ab<tspan font-family="EB Garamond">cd</tspan>', 'text-decoration="underline"'),
    page("line under hidden letters", 'ab<tspan visibility="hidden">cd</tspan>ef', 'text-decoration="underline"'),
    page("text-decoration-line", "Peas", 'style="text-decoration-line:underline"'),
]  # fmt: skip

BASELINES = [
    *(page(f"dominant-baseline {value}", f"xgH{value[:4]}", f'dominant-baseline="{value}"', at='x="6" y="20"')
      for value in ("auto", "alphabetic", "middle", "central", "hanging", "mathematical", "ideographic",
                    "text-before-edge", "text-after-edge", "use-script", "no-change", "reset-size", "text-top", "text-bottom")),
    *(page(f"alignment-baseline {value}", f'xg<tspan alignment-baseline="{value}">H{value[:4]}</tspan>', at='x="6" y="20"')
      for value in ("auto", "baseline", "before-edge", "text-before-edge", "middle", "central", "after-edge",
                    "text-after-edge", "ideographic", "alphabetic", "hanging", "mathematical")),
    page("alignment-baseline on the text itself", "xgH", 'alignment-baseline="hanging"', at='x="6" y="20"'),
    page("dominant-baseline inherited by tspans", 'xg<tspan font-size="12">H</tspan>', 'dominant-baseline="hanging"', at='x="6" y="20"'),
    page("dominant-baseline on a tspan", 'xg<tspan dominant-baseline="hanging">H</tspan>', at='x="6" y="20"'),
    page("baseline-shift super and sub", 'x<tspan baseline-shift="super">2</tspan><tspan baseline-shift="sub">2</tspan>'),
    page("baseline-shift in percent", 'x<tspan baseline-shift="50%">2</tspan><tspan baseline-shift="-25%">2</tspan>'),
    page("baseline-shift in lengths", 'x<tspan baseline-shift="3">2</tspan><tspan baseline-shift="-.4em">2</tspan><tspan baseline-shift="1mm">3</tspan>'),
    page("baseline-shift nested, up and up", 'x<tspan baseline-shift="super">2<tspan baseline-shift="super">2</tspan></tspan>'),
    page("baseline-shift nested, up and down", 'x<tspan baseline-shift="super">2<tspan baseline-shift="sub">2</tspan></tspan>'),
    page("baseline-shift baseline", 'x<tspan baseline-shift="5">2<tspan baseline-shift="baseline">2</tspan></tspan>'),
    page("baseline-shift with another size", 'x<tspan baseline-shift="super" font-size="65%">2</tspan>'),
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
    page("accents in tspans of their own", 'e<tspan fill="#c30">\u0301</tspan>n'),
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
    Feature("clip on a text", '<clipPath id="c"><rect width="60" height="21"/></clipPath>' + text("mint", 'clip-path="url(#c)"')),
]  # fmt: skip

PAGES: list[Feature] = [
    *CHUNKS, *SPACE, *SPACING, *STRETCHED, *FONT, *DECORATION, *BASELINES, *DIRECTION, *PAINT
]  # fmt: skip

REFUSALS: list[Refused] = []
