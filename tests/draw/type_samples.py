"""Samples of all that SVG can ask of type, to be drawn by several engines.

Each fills a page of 120 × 30 mm; text is about 8 mm high (64 pixels an em).
"""

from __future__ import annotations

import itertools
from typing import NamedTuple

SANS = 'font-family="\'Source Sans 3\'" font-size="8"'
SERIF = 'font-family="EB Garamond" font-size="9"'
SCRIPT = 'font-family="Dancing Script" font-size="9"'
ARABIC = 'font-family="Amiri" font-size="9"'
HINDI = 'font-family="Noto Sans Devanagari" font-size="8"'
JAPANESE = 'font-family="Noto Sans JP" font-size="7"'
DOWN = 'writing-mode="vertical-rl"'
RTL = 'direction="rtl"'


_WAYS = itertools.count(1)
"""Samples may end up in one document, where no two paths may have the same id."""


class Sample(NamedTuple):
    """One page of text: its SVG content, and why an engine cannot be asked about it."""

    name: str
    content: str
    no_rsvg: str = ""
    no_chromium: str = ""


def text(content: str, attributes: str = "", face: str = SANS, at: str = 'x="10" y="18"') -> str:
    """A text element."""
    return f"<text {face} {at} {attributes}>{content}</text>"


def on_path(
    content: str, path: str, holder: str = "", attributes: str = "", face: str = SANS
) -> str:
    """A text along a path."""
    way = f"way-{next(_WAYS)}"
    return (
        f'<defs><path id="{way}" d="{path}"/></defs><text {face} {attributes}>'
        f'<textPath xlink:href="#{way}" {holder}>{content}</textPath></text>'
    )


_ONE_ONLY = "librsvg takes the first number of a list of positions only"
_NO_FEATURES = "librsvg knows no OpenType features"
_NO_COLUMNS = "librsvg turns whole columns on their side"
_NO_PATH = "librsvg sets no text on a path"
_NO_BASELINE = "librsvg knows no dominant-baseline"
_NO_VARIATION = "librsvg knows no font-variation-settings"

_UNEVEN = "librsvg crowds letters under a transform that scales unevenly"
_NO_LIGATURES = "librsvg always asks Pango for letter-spacing, which turns ligatures off"
_SPACING_END = "librsvg drops the space after the last spaced letter"
_NO_INSTANCE = "fontconfig offers Pango the named instances of a variable face only"
_RAISED = "browsers raise by half the face's height, vector editors and librsvg by parts of an em"
_GRADIENT = "Chromium writes such text as a clipping path, which PDF readers take in different ways"

WAVE = "M8 20 C 30 2 50 2 62 16 S 95 30 112 10"
ARCH = "M10 29 Q 60 -1 110 29"
LEAF = (
    '<defs><linearGradient id="leaf"><stop offset="0" stop-color="#000"/>'
    '<stop offset="1" stop-color="#262"/></linearGradient></defs>'
)

SAMPLES: list[Sample] = [
    # where a text stands
    Sample("anchor start", text("Wednesday", at='x="60" y="18"')),
    Sample("anchor middle", text("Wednesday", 'text-anchor="middle"', at='x="60" y="18"')),
    Sample("anchor end", text("Wednesday", 'text-anchor="end"', at='x="110" y="18"')),
    Sample("no position", f'<g transform="translate(10 18)"><text {SANS}>at the origin</text></g>'),
    Sample("units and percent", text("half way", at='x="50%" y="1.2em"')),
    Sample(
        "middle over tspans",
        text('Sow <tspan font-weight="700">broad</tspan> beans', 'text-anchor="middle"',
             at='x="60" y="18"'),
    ),
    Sample(
        "each chunk has its own anchor",
        text('left<tspan x="60" text-anchor="middle">in the middle</tspan>'
             '<tspan x="110" text-anchor="end">right</tspan>'),
    ),
    Sample("anchor middle, moved",
           text("moved", 'text-anchor="middle" dx="8"', at='x="60" y="18"')),
    Sample("anchor middle, moved within",
           text("moved", 'text-anchor="middle" dx="0 8 0 8"', at='x="60" y="18"'),
           no_rsvg=_ONE_ONLY),
    Sample("moved back over its start", text("moved", 'dx="0 0 -20"', at='x="30" y="18"'),
           no_rsvg=_ONE_ONLY),
    # tspans
    Sample("tspan in bold", text('one <tspan font-weight="700">two</tspan> three')),
    Sample("tspan of another size", text('A<tspan font-size="5">small</tspan>B')),
    Sample("relative sizes, nested",
           text('A<tspan font-size="70%">b<tspan>c</tspan>d<tspan font-size="1.5em">e</tspan>'
                '</tspan>f')),
    Sample("relative weights, nested",
           text('A<tspan font-weight="bolder">b<tspan font-weight="bolder">c</tspan>d</tspan>e'
                '<tspan font-weight="lighter">f</tspan>')),
    Sample("tspan in another face",
           text('peas &amp; <tspan font-family="Dancing Script">Beans</tspan> too')),
    Sample("tspans on two lines",
           text('first line<tspan x="10" dy="1.3em">second line</tspan>', at='x="10" y="11"')),
    Sample("tspan moved", text('up<tspan dx="4" dy="-5">and</tspan><tspan dy="5">down</tspan>')),
    Sample("nested tspans",
           text('a<tspan fill="#600">b<tspan font-style="italic">c<tspan font-weight="800">d'
                '</tspan>e</tspan>f</tspan>g')),
    Sample("nested tspans that move",
           text('a<tspan dy="-3">b<tspan dy="6" dx="3">c</tspan>d</tspan>e')),
    Sample("lists of x and y", text("abcde", at='x="10 30 50 70" y="10 14 18 22"'),
           no_rsvg=_ONE_ONLY),
    Sample("lists of dx and dy", text("abcdef", 'dx="0 5 5 -2" dy="0 2 2 2 -6"'),
           no_rsvg=_ONE_ONLY),
    Sample("lists reach into tspans",
           text('ab<tspan font-weight="700">cd</tspan>ef', at='x="10 25 40 55 70 85" y="18"'),
           no_rsvg=_ONE_ONLY),
    Sample("a tspan's list comes before its parent's",
           text('ab<tspan x="50 65">cde</tspan>f', at='x="10 20 30 40 90 105" y="18"'),
           no_rsvg=_ONE_ONLY),
    Sample("lists of dx add up in tspans",
           text('ab<tspan dx="3 3">cd</tspan>ef', 'dx="0 2 2 2 2 2"'), no_rsvg=_ONE_ONLY),
    Sample("a list in the middle of a word",
           text("office", at='x="10 24" y="18"', face=SERIF), no_rsvg=_ONE_ONLY),
    Sample("shifts inside a ligature", text("office", 'dx="0 3 3 3 3 3"', face=SERIF),
           no_rsvg=_ONE_ONLY),
    Sample("shifts between letters that kern", text("AVAT", 'dx="0 3 3 3"', face=SERIF),
           no_rsvg=_ONE_ONLY),
    Sample("rotate all", text("turned", 'rotate="20"'), no_rsvg=_ONE_ONLY),
    Sample("rotate list", text("turning", 'rotate="0 10 20 30"'), no_rsvg=_ONE_ONLY),
    Sample("rotate reaches into tspans",
           text('ab<tspan font-weight="700">cd</tspan>ef', 'rotate="0 15 30 45 -30"'),
           no_rsvg=_ONE_ONLY),
    Sample("spaces fold", text("  one   two\n   <tspan> three </tspan>  four  ")),
    Sample("spaces kept", text("a   b <tspan> c </tspan> d", 'xml:space="preserve"')),
    Sample("no kerning from tspan to tspan",
           text('A<tspan fill="#060">V</tspan>AT<tspan font-size="6">o</tspan>', face=SERIF)),
    # held and turned
    Sample("transform rotate", text("slanting", 'transform="rotate(-8 10 18)"')),
    Sample("transform skew", text("leaning", 'transform="skewX(-20)"', at='x="25" y="18"')),
    Sample("transform scale", text("wide", 'transform="scale(2 1)"', at='x="8" y="18"'),
           no_rsvg=_UNEVEN),
    Sample("transform matrix",
           text("in a frame", 'transform="matrix(1.1 .1 -.3 .9 12 -1)"', at='x="10" y="16"'),
           no_rsvg=_UNEVEN),
    Sample("nested transforms",
           '<g transform="translate(20 4)"><g transform="rotate(6) scale(1.2)">'
           + text("twice held", 'transform="skewY(-4)"', at='x="4" y="12"') + "</g></g>"),
    Sample("mirrored", text("from behind", 'transform="scale(-1 1)"', at='x="-90" y="18"')),
    # what the face offers
    Sample("kerning", text("AVATAR To Ya LT", face=SERIF)),
    Sample("kerning off", text("AVATAR To Ya LT", 'style="font-kerning:none"', face=SERIF),
           no_rsvg="librsvg does not know font-kerning"),
    Sample("ligatures", text("office fjord affluent", face=SERIF), no_rsvg=_NO_LIGATURES),
    Sample("script joins", text("Wednesday brown lovely", face=SCRIPT)),
    Sample("script capitals", text("Thursday October Sow", face=SCRIPT)),
    Sample("letter-spacing", text("SPACED OUT", 'letter-spacing="1.5"')),
    Sample("letter-spacing below nought", text("close set", 'letter-spacing="-.4"')),
    Sample("letter-spacing in em", text("Spaced", 'style="letter-spacing:.2em"')),
    Sample("letter-spacing with ligatures", text("office", 'letter-spacing=".6"', face=SERIF)),
    Sample("letter-spacing at the end", text("apart", 'letter-spacing="2" text-anchor="end"',
                                             at='x="110" y="18"'), no_rsvg=_SPACING_END),
    Sample("letter-spacing on one tspan",
           text('now <tspan letter-spacing="2">wide</tspan> now not'), no_rsvg=_SPACING_END),
    Sample("word-spacing", text("four words set wide", 'word-spacing="4"'),
           no_rsvg="librsvg knows no word-spacing"),
    Sample("small capitals", text("Herbs &amp; Roots", 'font-variant="small-caps"', face=SERIF)),
    Sample("feature smcp", text("Herbs", "style=\"font-feature-settings:'smcp' 1\"", face=SERIF),
           no_rsvg=_NO_FEATURES),
    Sample("feature onum", text("0123456789", "style=\"font-feature-settings:'onum' 1\""),
           no_rsvg=_NO_FEATURES),
    Sample("two features",
           text("1/2 3/4 office",
                "style=\"font-feature-settings:'frac' 1, 'liga' off\"", face=SERIF),
           no_rsvg=_NO_FEATURES),
    Sample("tabular figures", text("1117 2027", 'style="font-variant-numeric:tabular-nums"'),
           no_rsvg=_NO_FEATURES),
    Sample("discretionary ligatures",
           text("active first", 'style="font-variant-ligatures:discretionary-ligatures"',
                face=SERIF), no_rsvg=_NO_FEATURES),
    *(Sample(f"weight {weight}", text("Hamburgefons", f'font-weight="{weight}"'))
      for weight in (200, 300, 400, 500, 600, 700, 800, 900)),
    Sample("weight beyond the face's", text("Wednesday", 'font-weight="900"', face=SCRIPT)),
    Sample("weight between hundreds", text("Hamburgefons", 'font-weight="450"'),
           no_rsvg=_NO_INSTANCE),
    Sample("weight bolder",
           '<g font-weight="300">' + text('light <tspan font-weight="bolder">bolder</tspan>')
           + "</g>"),
    Sample("weight by variation",
           text("Hamburgefons", "style=\"font-variation-settings:'wght' 650\""),
           no_rsvg=_NO_VARIATION),
    Sample("italics", text("Early <tspan font-style='italic'>and late</tspan> peas", face=SERIF)),
    Sample("italics, heavy", text("Early", 'font-style="italic" font-weight="800"')),
    Sample("narrow", text("कैलेंडर बाग़", 'font-stretch="75%"', face=HINDI), no_rsvg=_NO_INSTANCE),
    Sample("condensed", text("كتاب", 'font-stretch="condensed"',
                             face='font-family="Noto Sans Arabic" font-size="8"'),
           no_rsvg=_NO_INSTANCE),
    Sample("letter-spacing in em, inherited",
           text('ab<tspan font-size="5">cde</tspan>f', 'style="letter-spacing:.4em"'),
           no_rsvg=_SPACING_END),
    # up and down
    *(Sample(f"dominant-baseline {value}",
             text(f"x{value}", f'dominant-baseline="{value}"', at='x="10" y="15"'),
             no_rsvg=_NO_BASELINE)
      for value in ("middle", "central", "hanging", "mathematical", "ideographic",
                    "text-before-edge", "text-after-edge", "alphabetic")),
    Sample("dominant-baseline of a script face",
           text("Wednesday", 'dominant-baseline="central"', face=SCRIPT, at='x="10" y="15"'),
           no_rsvg=_NO_BASELINE),
    Sample("dominant-baseline with tspans",
           text('a<tspan font-size="5">bc</tspan>d', 'dominant-baseline="middle"',
                at='x="10" y="15"'), no_rsvg=_NO_BASELINE),
    Sample("alignment-baseline of a tspan",
           text('a<tspan font-size="5" alignment-baseline="middle">bc</tspan>d'),
           no_rsvg="librsvg knows no alignment-baseline"),
    Sample("baseline-shift super", text('m<tspan baseline-shift="super">2</tspan> x'),
           no_chromium=_RAISED),
    Sample("baseline-shift sub", text('H<tspan baseline-shift="sub">2</tspan>O'),
           no_chromium=_RAISED),
    Sample("baseline-shift length", text('a<tspan baseline-shift="3">b</tspan>c')),
    Sample("baseline-shift percent", text('a<tspan baseline-shift="-40%">b</tspan>c')),
    Sample("baseline-shift nested",
           text('a<tspan baseline-shift="3">b<tspan baseline-shift="3">c</tspan>d</tspan>e')),
    # on a path
    Sample("on a wave", on_path("carrots, leeks and early peas", WAVE), no_rsvg=_NO_PATH),
    Sample("on an arch, from the middle",
           on_path("over the garden gate", ARCH, 'startOffset="50%"', 'text-anchor="middle"'),
           no_rsvg=_NO_PATH),
    Sample("on an arch, to the end",
           on_path("garden gate", ARCH, 'startOffset="100%"', 'text-anchor="end"'),
           no_rsvg=_NO_PATH),
    Sample("on a path, x and y given too",
           on_path("over there", WAVE, attributes='x="20" y="18"'), no_rsvg=_NO_PATH),
    Sample("on a path, with an offset", on_path("later", WAVE, 'startOffset="40"'),
           no_rsvg=_NO_PATH),
    Sample("on a path, too long for it",
           on_path("this is a good deal longer than its path", "M10 15 H60"), no_rsvg=_NO_PATH),
    Sample("on a path, script joins",
           on_path("Wednesday", ARCH, face=SCRIPT), no_rsvg=_NO_PATH),
    Sample("on a path, with tspans",
           on_path('one <tspan font-weight="700">two</tspan> <tspan dy="-3">three</tspan>', WAVE),
           no_rsvg=_NO_PATH),
    Sample("on a path, spaced", on_path("s p a c e d", ARCH, "", 'letter-spacing="1.5"'),
           no_rsvg=_NO_PATH),
    Sample("on a path that is moved",
           on_path("moved", 'M0 0 H60" transform="translate(20 15) rotate(5)'),
           no_rsvg=_NO_PATH),
    Sample("on a path, Arabic", on_path("حديقة المطبخ", ARCH, 'startOffset="20"', face=ARABIC),
           no_rsvg=_NO_PATH),
    # paint
    Sample("fill", text("in green", 'fill="#264"')),
    Sample("stroke", text("outlined", 'fill="none" stroke="#000" stroke-width=".4"',
                          face=SANS.replace('"8"', '"12" font-weight="700"'))),
    Sample("fill and stroke", text("both", 'fill="#444" stroke="#000" stroke-width=".6"')),
    Sample("gradient", LEAF + text("gradually green", 'fill="url(#leaf)"'),
           no_chromium=_GRADIENT),
    Sample("gradient across tspans",
           LEAF + text('black <tspan font-weight="700">to</tspan> green', 'fill="url(#leaf)"'),
           no_chromium=_GRADIENT),
    Sample("gradient from top to bottom",
           '<defs><linearGradient id="down" x2="0" y2="1"><stop offset=".2" stop-color="#000"/>'
           '<stop offset=".8" stop-color="#999"/></linearGradient></defs>'
           + text("HHHHHHH", 'fill="url(#down)"'), no_chromium=_GRADIENT),
    Sample("stroke below the fill",
           text("lifted", 'fill="#fff" stroke="#000" stroke-width="1.6" '
                'style="paint-order:stroke"', face=SANS.replace('"8"', '"12"')),
           no_rsvg=_NO_LIGATURES),
    Sample("opacity", text("half there", 'opacity=".7" fill="#000"')),
    Sample("opacity with tspans", text('half <tspan fill="#000">there</tspan>', 'opacity=".7"')),
    Sample("opacity where letters overlap",
           text("wow", 'opacity=".5" letter-spacing="-2" font-weight="900"')),
    Sample("hidden part", text('seen <tspan visibility="hidden">unseen</tspan> seen')),
    Sample("part not displayed", text('seen <tspan display="none">unseen </tspan>seen')),
    # other scripts
    Sample("Greek", text("Τετάρτη, 29 Μαρτίου", face=SANS)),
    Sample("Greek accents", text("ᾠδῇ ἄνθη", face=SERIF)),
    Sample("Cyrillic", text("Среда и Четверг")),
    Sample("Polish and German", text("Łódź Środa Größe")),
    Sample("marks put together", text("S\u0301roda e\u0301te\u0302")),
    Sample("Arabic", text("الأربعاء", RTL, face=ARABIC, at='x="110" y="18"')),
    Sample("Arabic, in left-to-right text", text("الأربعاء", face=ARABIC)),
    Sample("Arabic, anchored in the middle",
           text("حديقة المطبخ", RTL + ' text-anchor="middle"', face=ARABIC, at='x="60" y="18"')),
    Sample("Arabic, anchored at its end",
           text("حديقة المطبخ", RTL + ' text-anchor="end"', face=ARABIC)),
    Sample("Arabic in two colours",
           text('الأر<tspan fill="#040">بعا</tspan>ء', RTL, face=ARABIC, at='x="110" y="18"')),
    Sample("Arabic with vowel signs", text("بُسْتَانٌ", RTL, face=ARABIC, at='x="110" y="18"')),
    Sample("Arabic, spaced", text("حديقة", RTL + ' letter-spacing="2"', face=ARABIC,
                                  at='x="110" y="18"'), no_rsvg="Pango tears joined letters apart"),
    Sample("Arabic, sans, heavy",
           text("الأربعاء", RTL + ' font-weight="800"', at='x="110" y="18"',
                face='font-family="Noto Sans Arabic" font-size="8"')),
    Sample("Arabic with figures", text("٢٩ مارس – ٤ أبريل", RTL, face=ARABIC, at='x="110" y="18"')),
    Sample("Arabic with our figures", text("من 29 إلى 31 مارس", RTL, face=ARABIC,
                                           at='x="110" y="18"')),
    Sample("Arabic with brackets", text("حديقة (المطبخ) 2027", RTL, face=ARABIC,
                                        at='x="110" y="18"')),
    Sample("English with an Arabic word", text("the حديقة المطبخ garden",
           face="font-family=\"'Source Sans 3', Amiri\" font-size=\"8\""),
           no_chromium="Chromium takes spaces from the first family, between Arabic words too"),
    Sample("Arabic with an English word", text("حديقة garden المطبخ", RTL, at='x="110" y="18"',
                                               face='font-family="Amiri" font-size="8"')),
    Sample("Arabic, then a tspan elsewhere",
           text('حديقة<tspan x="60">المطبخ</tspan>', RTL, face=ARABIC, at='x="110" y="18"')),
    Sample("Arabic with shifts", text('حديقة <tspan dy="-4">المطبخ</tspan>', RTL, face=ARABIC,
                                      at='x="110" y="18"')),
    Sample("Arabic, letter by letter", text("حديقة", RTL + ' dx="0 -3 -3"', face=ARABIC,
                                            at='x="110" y="18"'), no_rsvg=_ONE_ONLY),
    Sample("Arabic letters with places of their own",
           text("حديقة", RTL, face=ARABIC, at='x="110 95 80 65 50" y="18"'), no_rsvg=_ONE_ONLY),
    Sample("Arabic moved up bit by bit",
           text('حد<tspan dy="-2">ي</tspan><tspan dy="-2">قة</tspan>', RTL, face=ARABIC,
                at='x="110" y="18"'), no_rsvg="librsvg shapes each tspan by itself"),
    Sample("Devanagari", text("बुधवार मार्च", face=HINDI)),
    Sample("Devanagari conjuncts", text("क्षेत्र ज्ञान श्री र्क", face=HINDI)),
    Sample("Devanagari, hand", text("रसोई का बग़ीचा", face='font-family="Kalam" font-size="8"')),
    Sample("Devanagari, light hand",
           text("सोमवार", 'font-weight="300"', face='font-family="Kalam" font-size="8"')),
    Sample("Devanagari, heavy", text("शुक्रवार", 'font-weight="800"', face=HINDI)),
    Sample("Devanagari with figures", text("२९ मार्च – ४ अप्रैल", face=HINDI)),
    Sample("Devanagari in two colours", text('र<tspan fill="#040">सो</tspan>ई', face=HINDI)),
    Sample("fallback by family",
           text("Beans फलियाँ Φασόλια",
                face="font-family=\"Dancing Script, 'Source Sans 3', Noto Sans Devanagari\" "
                     'font-size="8"')),
    # columns
    *(
        Sample(f"column of {name}", text(content, DOWN + more, face=face, at='x="60" y="2"'),
               no_rsvg=_NO_COLUMNS)
        for name, content, face, more in (
            ("Japanese", "春の種", JAPANESE, ""),
            ("small kana", "ちょっと", JAPANESE, ""),
            ("long vowels", "カード", JAPANESE, ""),
            ("stops", "種。葉", JAPANESE, ""),
            ("brackets", "「種葉", JAPANESE, ""),
            ("Japanese and Latin", "種Sow葉", JAPANESE, ""),
            ("Japanese and figures", "3月14日", JAPANESE, ""),
            ("signs", "※①→", JAPANESE, ""),
            ("Latin", "Seeds", SANS, ""),
            ("Latin on its baseline", "Seeds", SANS, ' style="text-orientation:sideways"'),
            ("runs of two sizes", '種<tspan font-size="11">葉</tspan>', JAPANESE, ""),
            ("spaced letters", "種葉", JAPANESE, ' letter-spacing="3"'),
        )
    ),
    Sample("column about its middle",
           text("種と葉", DOWN + ' text-anchor="middle"', face=JAPANESE, at='x="60" y="15"'),
           no_rsvg=_NO_COLUMNS),
    Sample("column to its end",
           text("種Se", DOWN + ' text-anchor="end"', face=JAPANESE, at='x="60" y="28"'),
           no_rsvg=_NO_COLUMNS),
    # paths beside other text
    Sample("two paths in one text",
           f'<defs><path id="way-a" d="{WAVE}"/><path id="way-b" d="M70 8Q90 28 115 25"/></defs>'
           f'<text {SANS}><textPath href="#way-a">carrots</textPath>'
           '<textPath href="#way-b" startOffset="20%">and leeks</textPath></text>',
           no_rsvg=_NO_PATH),
    Sample("text before and after a path",
           f'<defs><path id="way-c" d="M30 20Q50 -5 70 20"/></defs><text {SANS} x="5" y="25">Sow '
           '<textPath href="#way-c">early</textPath> in rows</text>', no_rsvg=_NO_PATH),
]  # fmt: skip
