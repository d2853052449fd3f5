"""Text on paths, placed and turned letters, text that runs downwards or flows in shapes."""

from __future__ import annotations

from tests.draw.feature_samples import Feature, Refused

_SANS = "font-family=\"'Source Sans 3'\""
_WAVE = "M5 25C15 5 25 5 32 22S48 35 56 15"
_ARCH = "M6 32Q30 -8 54 32"
_RING = "M30 8A12 12 0 1 1 30 32A12 12 0 1 1 30 8z"
_EVAW = "M56 15C48 35 39 39 32 22S15 5 5 25"
_LOST = '<text font-family="Kalam" font-size="6" x="5" y="10">'
_GNIR = "M30 8A12 12 0 1 0 30 32A12 12 0 1 0 30 8"


def _on(
    path: str,
    words: str = "Leaves and seeds",
    holder: str = "",
    text: str = "",
    size: float = 7,
    face: str = 'font-family="Kalam"',
) -> str:
    """A text along the path of these data; ``holder`` and ``text`` are attributes."""
    return (
        f'<defs><path id="p" d="{path}"/></defs><text {face} font-size="{size}" {text}>'
        f'<textPath href="#p" {holder}>{words}</textPath></text>'
    )


def _along(shape: str, words: str = "Leaves and seeds", holder: str = "", size: float = 5) -> str:
    """A text along a shape."""
    return (
        f'<defs>{shape}</defs><text font-family="Kalam" font-size="{size}">'
        f'<textPath href="#p" {holder}>{words}</textPath></text>'
    )


def _text(words: str, attributes: str = "", face: str = _SANS, size: float = 8) -> str:
    at = "" if " x=" in f" {attributes}" else 'x="5" y="22"'
    return f'<text {face} font-size="{size}" {at} {attributes}>{words}</text>'


_PATHS: list[Feature] = [
    Feature("text on a wave", _on(_WAVE)),
    Feature("text from the middle of a path", _on(_ARCH, "Seedlings", 'startOffset="50%"')),
    Feature("text about the middle of a path",
            _on(_ARCH, "Seedlings", 'startOffset="50%" text-anchor="middle"')),
    Feature("text that ends at the end of a path",
            _on(_ARCH, "Seedlings", 'startOffset="100%" text-anchor="end"')),
    Feature("text from 12 units along", _on(_ARCH, "Seedlings", 'startOffset="12"')),
    Feature("text from 12 mm along", _on(_ARCH, "Seedlings", 'startOffset="5mm"')),
    Feature("text from 2 em along", _on(_ARCH, "Seedlings", 'startOffset="2em"')),
    Feature("text that starts before its path", _on(_ARCH, "Leaves and seeds", 'startOffset="-8"')),
    Feature("text that starts before its path by a share",
            _on(_ARCH, "Leaves and seeds", 'startOffset="-10%"')),
    Feature("text longer than its path", _on(_ARCH, "Leaves and seeds and roots and more of them")),
    Feature("text that starts past its path",
            _on(_ARCH, "Seedlings", 'startOffset="120%"') + _text("here"), equal=_text("here")),
    Feature("text centred at the start of a path",
            _on(_ARCH, "Leaves and more", 'text-anchor="middle"')),
    Feature("anchor of a path's text stated outside it",
            _on(_ARCH, "Seedlings", 'startOffset="50%"', 'text-anchor="middle"')),
    Feature("text around a closed ring", _on(_RING, "Leaves and seeds and", size=5)),
    Feature("text on the inner side of a ring",
            _on(_RING, "Seeds and leaves", 'side="right"', size=5),
            equal=_on(_GNIR, "Seeds and leaves", size=5)),
    Feature("text across the join of a ring",  # SVG 2, 11.5: once around from its start
            _on(_RING, "Seeds and leaves", 'startOffset="80%"', size=5),
            equal=_on(_RING + _RING[5:-1], "Seeds and leaves", 'startOffset="40%"', size=5)),
    Feature("text about the join of a ring",
            _on(_RING, "Seeds and leaves", 'text-anchor="middle"', size=5),
            equal=_on(_RING + _RING[5:-1], "Seeds and leaves",
                      'text-anchor="middle" startOffset="50%"', size=5)),
    Feature("text that ends at the join of a ring",
            _on(_RING, "Seeds and leaves", 'text-anchor="end"', size=5),
            equal=_on(_RING[:-1], "Seeds and leaves", 'text-anchor="end" startOffset="100%"',
                      size=5)),
    Feature("text longer than its ring",
            _on(_RING, "Seeds and leaves and roots and more of all of them, and more", size=5)),
    Feature("text around a ring the other way",
            _on(_GNIR + "z", "Seeds and leaves and roots", 'startOffset="25%"', size=5)),
    Feature("right side of a path about its middle",
            _on(_WAVE, "Seedlings", 'side="right" startOffset="50%" text-anchor="middle"'),
            equal=_on(_EVAW, "Seedlings", 'startOffset="50%" text-anchor="middle"')),
    Feature("text on the right side of a wave", _on(_WAVE, "Leaves", 'side="right"'),
            equal=_on(_EVAW, "Leaves")),
    Feature("text on the right side from a place",
            _on(_WAVE, "Leaves", 'side="right" startOffset="30%"'),
            equal=_on(_EVAW, "Leaves", 'startOffset="30%"')),
    Feature("text on the left side of a wave", _on(_WAVE, "Leaves", 'side="left"')),
    Feature("two texts on two paths",
            '<defs><path id="p" d="M5 15Q30 0 55 15"/><path id="q" d="M5 34Q30 20 55 34"/></defs>'
            '<text font-family="Kalam" font-size="6"><textPath href="#p">Leaves and</textPath>'
            '<textPath href="#q" startOffset="20%">seeds</textPath></text>'),
    Feature("two texts on one path",
            f'<defs><path id="p" d="{_ARCH}"/></defs><text font-family="Kalam" font-size="6">'
            '<textPath href="#p">Sow</textPath><textPath href="#p" startOffset="60%">Reap'
            '</textPath></text>'),
    Feature("text before a path's",
            f'<defs><path id="p" d="{_ARCH}"/></defs><text font-family="Kalam" font-size="6" x="8" '
            'y="38">Sow<textPath href="#p">and reap</textPath></text>'),
    Feature("text on a path in a bold run",
            _on(_ARCH, 'Leaves <tspan font-weight="700" fill="#a33">and</tspan> seeds')),
    Feature("larger run on a path", _on(_ARCH, 'Sow <tspan font-size="10">all</tspan> seeds')),
    Feature("run on a path moved along it", _on(_ARCH, 'Sow<tspan dx="6">seeds</tspan>')),
    Feature("run on a path moved off it", _on(_ARCH, 'Sow <tspan dy="-4">seeds</tspan>')),
    Feature("letters on a path moved one by one",
            _on(_ARCH, '<tspan dx="0 1 2 3" dy="0 1 -2 1">Seeds</tspan>')),
    Feature("run on a path at a place along it", _on(_ARCH, 'Sow<tspan x="30">seeds</tspan>')),
    Feature("run on a path with an x and a y", _on(_ARCH, 'Sow<tspan x="30" y="3">seeds</tspan>')),
    Feature("text on a path that has a place", _on(_ARCH, "Seedlings", "", 'x="10" y="5"')),
    Feature("text on a path that is moved as a whole",
            _on(_ARCH, "Seedlings", "", 'dx="6" dy="3"')),
    Feature("turned letters on a path", _on(_ARCH, "Leaves", "", 'rotate="20"')),
    Feature("letters on a path turned one by one",
            _on(_ARCH, '<tspan rotate="0 20 -20 40">Leaves</tspan>')),
    Feature("raised run on a path",
            _on(_ARCH, 'Sow <tspan baseline-shift="2">all</tspan> seeds')),
    Feature("sunk run on a path by share",
            _on(_ARCH, 'Sow <tspan baseline-shift="-30%">all</tspan> seeds')),
    Feature("spaced letters on a path", _on(_ARCH, "Seedlings", 'letter-spacing="2"')),
    Feature("crowded letters on a path", _on(_ARCH, "Seeds and", 'letter-spacing="-0.6"')),
    Feature("spaced words on a path", _on(_ARCH, "Sow all seed", 'word-spacing="4"')),
    Feature("underlined text on a path", _on(_WAVE, "Leaves", "", 'text-decoration="underline"')),
    Feature("struck text on a path", _on(_WAVE, "Leaves", "", 'text-decoration="line-through"')),
    Feature("text on a path with a word underlined",
            _on(_WAVE, 'Sow <tspan text-decoration="underline">all</tspan> seeds')),
    Feature("outlined text on a path",
            _on(_WAVE, "Leaves", "", 'fill="#dfd" stroke="#363" stroke-width=".3"', size=9)),
    Feature("text on a path in a gradient",
            '<defs><linearGradient id="g" gradientUnits="userSpaceOnUse" x1="5" x2="55">'
            '<stop stop-color="#b22"/><stop offset="1" stop-color="#22b"/></linearGradient></defs>'
            + _on(_WAVE, "Leaves", "", 'fill="url(#g)"', size=9)),
    Feature("half clear text on a path", _on(_WAVE, "Leaves", "", 'opacity=".5"', size=9)),
    Feature("joined letters on a path", _on(_ARCH, "office flow", size=7,
            face='font-family="EB Garamond"')),
    Feature("script letters on a path",
            _on(_WAVE, "Seedlings", size=9, face='font-family="Dancing Script"')),
    Feature("accents of their own on a path", _on(_ARCH, "Cafe\u0301 e\u0302te\u0301", size=7,
            face=_SANS)),
    Feature("text along a line", _along('<line id="p" x1="5" y1="35" x2="55" y2="10"/>')),
    Feature("text along a polyline", _along('<polyline id="p" points="5,30 25,10 45,28 58,12"/>')),
    Feature("text along a circle",
            _along('<circle id="p" cx="30" cy="20" r="11"/>', "Leaves and seeds and")),
    Feature("text along an ellipse",
            _along('<ellipse id="p" cx="30" cy="20" rx="22" ry="12"/>', "Leaves and seeds and")),
    Feature("text along a rectangle",
            _along('<rect id="p" x="12" y="10" width="34" height="20"/>')),
    Feature("text along a rounded rectangle",
            _along('<rect id="p" x="12" y="10" width="34" height="20" rx="6"/>')),
    Feature("text along a polygon", _along('<polygon id="p" points="8,30 30,8 52,30"/>')),
    Feature("text along a turned path",
            _along('<path id="p" d="M0 0H40" transform="translate(10 30) rotate(-20)"/>')),
    Feature("text along a scaled path",
            _along('<path id="p" d="M2 14Q15 -2 28 14" transform="scale(2)"/>')),
    Feature("transform on the text of a path",
            f'<g transform="translate(4 4) scale(.8)">{_on(_WAVE)}</g>'),
    Feature("path within a moved group",
            '<g transform="translate(0 10)"><path id="p" d="M5 20H55" fill="none" stroke="#ccc"/>'
            '</g><text font-family="Kalam" font-size="6"><textPath href="#p">Leaves</textPath>'
            '</text>'),
    Feature("text along a path of two parts", _on("M5 15H25M32 30H58", "Leaves and seeds")),
    Feature("text on a path that is seen",
            f'<path id="p" d="{_WAVE}" fill="none" stroke="#9a9"/><text font-family="Kalam" '
            'font-size="6"><textPath href="#p">Leaves and seeds</textPath></text>'),
    Feature("text on a path by its old kind of link",
            f'<defs><path id="p" d="{_WAVE}"/></defs><text font-family="Kalam" font-size="6">'
            '<textPath xlink:href="#p">Leaves and seeds</textPath></text>'),
    Feature("text on a path drawn backwards", _on("M54 32Q30 -8 6 32", "Seedlings")),
    Feature("text around a sharp corner", _on("M8 32L30 8L52 32", "Leaves and seeds", size=5)),
    Feature("text on a path of no length",
            _on("M10 10", "Seedlings") + _text("here"), equal=_text("here")),
    Feature("text on an empty path", _on("", "Seedlings") + _text("here"), equal=_text("here")),
    Feature("text on a path that isn't there",
            f'{_LOST}<textPath href="#none">Seeds</textPath></text>' + _text("here"),
            equal=_text("here")),
    Feature("text on a path that names none",
            f"{_LOST}<textPath>Seeds</textPath></text>" + _text("here"), equal=_text("here")),
    Feature("text on what is no path",
            f'<g id="p"/>{_LOST}<textPath href="#p">Seeds</textPath></text>' + _text("here"),
            equal=_text("here")),
    Feature("Arabic text on a path",
            _on(_ARCH, "بذور وأوراق", 'startOffset="50%" text-anchor="middle"', size=8,
                face='font-family="Amiri"')),
    Feature("Arabic paragraph on a path",  # it starts at the right
            _on(_ARCH, "بذور وأوراق", 'startOffset="100%"', 'direction="rtl"', size=8,
                face='font-family="Amiri"'),
            equal=_on(_ARCH, "بذور وأوراق", 'startOffset="100%" text-anchor="end"', size=8,
                      face='font-family="Amiri"')),
    Feature("Hindi text on a path",
            _on(_ARCH, "बीज और पत्ते", size=7, face='font-family="Noto Sans Devanagari"')),
    Feature("Japanese text on a path",
            _on(_ARCH, "種と葉の日", size=7, face='font-family="Noto Sans JP"')),
    Feature("path written into the text itself",
            f'<text font-family="Kalam" font-size="7"><textPath path="{_WAVE}">Leaves and seeds'
            '</textPath></text>', equal=_on(_WAVE)),
    Feature("path written into the text goes before a link",
            f'<defs><path id="p" d="M0 0H60"/></defs><text font-family="Kalam" font-size="7">'
            f'<textPath href="#p" path="{_WAVE}">Leaves and seeds</textPath></text>',
            equal=_on(_WAVE)),
    Feature("place along a path in its own measure",  # SVG 2, 9.6.1
            f'<defs><path id="p" d="{_ARCH}" pathLength="10"/></defs><text font-family="Kalam" '
            'font-size="7"><textPath href="#p" startOffset="4">Seedlings</textPath></text>',
            equal=_on(_ARCH, "Seedlings", 'startOffset="40%"')),
    Feature("share of a path with its own measure",
            f'<defs><path id="p" d="{_ARCH}" pathLength="10"/></defs><text font-family="Kalam" '
            'font-size="7"><textPath href="#p" startOffset="40%">Seedlings</textPath></text>',
            equal=_on(_ARCH, "Seedlings", 'startOffset="40%"')),
    Feature("text after a path's",  # SVG 2, 11.5: it goes on from the path's end
            '<defs><path id="p" d="M5 30Q20 5 35 20"/></defs><text font-family="Kalam" '
            'font-size="6"><textPath href="#p">Sow</textPath> seeds</text>',
            equal=_on("M5 30Q20 5 35 20", "Sow", size=6)
            + '<text font-family="Kalam" font-size="6" x="35" y="20" xml:space="preserve"> seeds'
            '</text>'),
    Feature("text with a place after a path's",
            '<defs><path id="p" d="M5 30Q20 5 35 20"/></defs><text font-family="Kalam" '
            'font-size="6"><textPath href="#p">Sow</textPath><tspan x="30" y="36">seeds</tspan>'
            '</text>'),
    Feature("paths with text between them",
            '<defs><path id="p" d="M5 15Q15 0 25 15"/><path id="q" d="M32 15Q45 30 58 15"/></defs>'
            '<text font-family="Kalam" font-size="6"><textPath href="#p">Sow</textPath>'
            '<tspan x="10" y="34">and</tspan><textPath href="#q">reap</textPath></text>'),
    Feature("link on a path", _on(_ARCH, 'Sow <a href="https://example.org">seeds</a>')),
    Feature("white space within a path's text",
            f'<defs><path id="p" d="{_ARCH}"/></defs><text font-family="Kalam" font-size="6">\n'
            '  <textPath href="#p">\n  Leaves   and\n seeds </textPath>\n</text>'),
]  # fmt: skip

_LETTERS: list[Feature] = [
    Feature("letters each at a place", _text("Seeds", 'x="5 15 25 35 45" y="20 26 20 26 20"')),
    Feature("letters at places, the rest follow", _text("Seedlings", 'x="5 15 25" y="22"')),
    Feature("letters at heights", _text("Seeds", 'x="5" y="12 18 24 30"')),
    Feature("letters moved apart", _text("Seeds", 'x="5" y="22" dx="0 2 4 2 6"')),
    Feature("letters moved up and down", _text("Seeds", 'x="5" y="22" dy="0 3 -6 6 -3"')),
    Feature("letters turned one by one", _text("Seeds", 'x="5" y="22" rotate="0 20 40 -20 10"')),
    Feature("last turn holds for the rest", _text("Seedlings", 'x="5" y="22" rotate="0 15 30"')),
    Feature("one turn for all", _text("Seeds", 'x="5" y="22" rotate="30"')),
    Feature("turns within a run",
            _text('Se<tspan rotate="20 -20">edl</tspan>ings', 'x="5" y="22"')),
    Feature("turns within a run within turns",
            _text('Se<tspan rotate="30">ed</tspan>ling', 'x="5" y="22" rotate="0 -10 5 10 -20"')),
    Feature("turns in three depths",
            _text('S<tspan rotate="40">e<tspan rotate="-40">e</tspan>d</tspan>s',
                  'x="5" y="22" rotate="10"')),
    Feature("places in two depths",
            _text('Se<tspan x="30" dy="4">ed</tspan>s', 'x="5 14 22 40 50" y="18"')),
    Feature("places of the outer element reach into the run",
            _text('S<tspan fill="#a33">eed</tspan>s', 'x="5 15 25 35 45" y="20"')),
    Feature("shifts in two depths",
            _text('Se<tspan dx="3 3" dy="5">ed</tspan>s', 'x="5" y="18" dx="0 2 2 2 2"')),
    Feature("places count no collapsed spaces",
            _text("\n  S  e\n  ed", 'x="5 12 20 28 36 44" y="20"')),
    Feature("places count kept spaces",
            _text(" S  e d", 'x="5 10 16 22 28 34 40" y="20" xml:space="preserve"')),
    Feature("a ligature at the first of its letters' places",
            _text("office", 'x="5" y="22" dx="0 0 0 0 0 6"', 'font-family="EB Garamond"', 10)),
    Feature("letters of a ligature each at a place",
            _text("office", 'x="5 14 22 30 38 46" y="22"', 'font-family="EB Garamond"', 10)),
    Feature("letters of a ligature turned",
            _text("office", 'x="5" y="22" rotate="0 20 -20 20 -20 0"',
                  'font-family="EB Garamond"', 12)),
    Feature("letters of a ligature moved up",
            _text("office", 'x="5" y="22" dy="0 3 3 3 3 3"', 'font-family="EB Garamond"', 12)),
    Feature("a ligature across runs",
            _text('of<tspan fill="#a33">fi</tspan>ce', "", 'font-family="EB Garamond"', 12)),
    Feature("signs beyond the first plane moved",
            _text("𠮟葉種", 'x="5" y="22" dy="0 0 6"', 'font-family="Noto Sans JP"', 12)),
    Feature("signs beyond the first plane at places",
            _text("𠮟葉種", 'x="5 15 25 35 45" y="22"', 'font-family="Noto Sans JP"', 9)),
    Feature("Arabic letters each at a place",
            _text("ورد", 'x="45 30 15" y="22"', 'font-family="Amiri"', 14)),
    Feature("Arabic letters at places in an Arabic paragraph",
            _text("ورد", 'x="50 35 20" y="22" direction="rtl"', 'font-family="Amiri"', 14)),
    Feature("Arabic letters turned one by one",
            _text("ورد", 'x="10" y="22" rotate="0 30 -30"', 'font-family="Amiri"', 14)),
    Feature("Arabic within moved Latin",
            _text("a ورد b", 'x="5" y="22" dx="0 2 2 2 2 2 2"',
                  "font-family=\"Amiri\"", 12)),
    Feature("a run at a place within an anchored text",
            _text('Sow<tspan x="50" y="32">all</tspan>', 'x="30" y="16" text-anchor="end"')),
    Feature("a run with an anchor of its own at a place",
            _text('Sow<tspan x="50" y="32" text-anchor="end">all</tspan>', 'x="10" y="16"')),
    Feature("a run with an anchor of its own without a place",
            _text('Sow <tspan text-anchor="end">all</tspan>', 'x="30" y="20"')),
    Feature("only an x within a text", _text('Sow<tspan x="40">all</tspan>', 'x="5" y="20"')),
    Feature("only a y within a text", _text('Sow<tspan y="30">all</tspan>', 'x="5" y="20"')),
    Feature("places parted by commas", _text("Seeds", 'x="5,15,25,35,45" y="20,26,20,26,20"')),
    Feature("places parted by spaces and commas",
            _text("Seeds", 'x=" 5 , 15 ,25 35  45 " y="20"')),
    Feature("places in em and ex", _text("Seeds", 'x="1em 2em 3em 4em 5em" y="20" dy="0 1ex"')),
    Feature("an empty list of places", _text("Seeds", 'x="5" y="20" dx="" dy="" rotate=""')),
    Feature("turned by more than a whole turn", _text("Seeds", 'x="5" y="22" rotate="380"')),
    Feature("turned upside down", _text("Seeds", 'x="20" y="18" rotate="180"', size=10)),
    Feature("turned spaces", _text("S e e d", 'x="5" y="22" rotate="10 0 20 0 30 0 40"')),
    Feature("places in a scaled text",
            _text("Seeds", 'x="5 10 15 20 25" y="10" transform="scale(2 1.5)"', size=6)),
    Feature("kept spaces at places",
            _text("S  d", 'x="5 15 25 35" y="20" xml:space="preserve"', size=14)),
    Feature("moved run within a moved run",
            _text('S<tspan dy="4">e<tspan dy="4">e</tspan>d</tspan>s', 'x="5" y="16"')),
    Feature("raised letters at places",
            _text('S<tspan baseline-shift="3">eed</tspan>s', 'x="5 15 25 35 45" y="22"')),
    Feature("letters that kern moved", _text("AVATAR", 'x="5" y="22" dy="0 2 -2 2 -2 2"')),
    Feature("letters that kern turned", _text("AVATAR", 'x="5" y="22" rotate="5"')),
    Feature("middle of letters at places",
            _text("Seeds", 'x="10 30 50" y="12 20 30" text-anchor="middle"')),
    Feature("end of letters at places",
            _text("Seeds", 'x="10 30 55" y="12 20 30" text-anchor="end"')),
    Feature("letters moved, set about their middle",
            _text("Seeds", 'x="30" y="20" dx="0 3 3 3" text-anchor="middle"'),
            equal=_text("Seeds", 'x="15.5 22.772 29.74 36.708 41.148" y="20"')),  # 20 units and 9
    Feature("a text moved first, set about its middle",
            _text("Seeds", 'x="30" y="20" dx="6" text-anchor="middle"')),
    Feature("a run moved at the end of an anchored text",
            _text('Sow<tspan dx="8">all</tspan>', 'x="55" y="20" text-anchor="end"'),
            equal=_text("Sow", 'x="38.888" y="20" text-anchor="end"')
            + _text("all", 'x="55" y="20" text-anchor="end"')),
    Feature("accents follow the letter they stand on",
            _text("e\u0301te\u0301", 'x="5 12 20 28 36 44" y="24"', size=14),
            equal=_text("\u00e9t\u00e9", 'x="5 20 28" y="24"', size=14)),
    Feature("turned accents", _text("e\u0301te\u0301", 'x="5" y="24" rotate="0 0 40"', size=12)),
    Feature("Arabic letters moved",  # in the order of reading
            _text("ورد", 'x="8" y="22" dy="0 6 -3"', 'font-family="Amiri"', 14),
            equal="".join(_text(letter, f'x="{x}" y="{y}"', 'font-family="Amiri"', 14)
                          for letter, x, y in (("و", 19.886, 22), ("ر", 14.3, 28), ("د", 8, 25)))),
    Feature("Arabic letters turned",
            _text("بذور", 'x="8" y="24" rotate="10"', 'font-family="Amiri"', 12)),
    Feature("Hindi letters moved",
            _text("पत्ते", 'x="8" y="24" dx="0 4 4 4"', 'font-family="Noto Sans Devanagari"', 12)),
    Feature("Hindi letters turned",
            _text("बीज", 'x="8" y="24" rotate="-10"', 'font-family="Noto Sans Devanagari"', 12)),
    Feature("places in units and percent",
            _text("Seeds", 'x="10% 1em 20 9mm" y="50% 60% 2em 30"')),
    Feature("places beyond the last letter", _text("So", 'x="5 20 30 40" y="20 30 40"', size=14)),
    Feature("spaced letters turned", _text("Seeds", 'x="5" y="22" rotate="15" letter-spacing="3"')),
    Feature("letters in a gradient turned",
            '<linearGradient id="g" gradientUnits="userSpaceOnUse" x1="5" x2="55">'
            '<stop stop-color="#b22"/><stop offset="1" stop-color="#22b"/></linearGradient>'
            + _text("Seeds", 'x="5" y="26" rotate="15" fill="url(#g)"', size=16)),
    Feature("turned letters with an outline",
            _text("Seeds", 'x="5" y="26" rotate="-15" fill="none" stroke="#363" '
                  'stroke-width=".4"', size=16)),
    Feature("turns in radians and degrees",
            _text("Seeds", 'x="5" y="22" rotate="20 -20 1e1"')),
    Feature("a run without letters takes no place",
            _text('S<tspan/>e<tspan x="30"></tspan>ed', 'x="5 15 25 35" y="20"')),
    Feature("a hidden run takes no place",
            _text('S<tspan display="none">o</tspan>eed', 'x="5 15 25 35" y="20"'),
            equal=_text("Seed", 'x="5 15 25 35" y="20"')),
    Feature("an unseen run keeps its place",
            _text('S<tspan visibility="hidden">o</tspan>eed', 'x="5 15 25 35" y="20"')),
]  # fmt: skip

_JAPANESE = 'font-family="Noto Sans JP"'
_DOWN = 'writing-mode="vertical-rl"'
_STOOD = _DOWN + ' style="text-orientation:upright"'
_LAID = _DOWN + ' style="text-orientation:sideways"'


def _column(words: str, attributes: str = _DOWN, face: str = _JAPANESE, size: float = 7) -> str:
    return _text(words, f'x="30" y="5" {attributes}', face, size)


def _stacked(
    words: str, attributes: str = "", size: float = 7, x: float = 30, y: float = 5, gap: float = 0
) -> str:
    """The same letters set one by one, by the face's own measures for columns.

    In Noto Sans JP an ideograph is 1 em high and stands 0.88 em below its top (vhea, VORG).
    """
    across = " ".join(f"{x - size / 2:g}" for _ in words)
    down = " ".join(f"{y + 0.88 * size + n * (size + gap):g}" for n in range(len(words)))
    return _text(words, f'x="{across}" y="{down}" {attributes}', _JAPANESE, size)


def _laid(
    words: str,
    attributes: str = "",
    face: str = _SANS,
    size: float = 7,
    x: float = 30,
    y: float = 5,
) -> str:
    """A line turned to run downwards; ``x`` is its alphabetic baseline."""
    turned = f'x="0" y="0" transform="translate({x} {y}) rotate(90)" {attributes}'
    return _text(words, turned, face, size)


_COLUMN = _stacked("種と葉の日")
_LATIN = _laid("Seedlings", x=30 - 0.312 * 7)
"""The middle of Source Sans 3 lies 0.312 em above its baseline: (1.024 - 0.4) / 2 (hhea)."""

_STANDING = _text("Sed", 'x="27.864 28.016 27.784" y="13.32 24.032 36.28"')
"""Letters without measures for columns: each in the middle of 1.424 em (ascent and descent)."""

_COLUMNS: list[Feature] = [
    Feature("Japanese in a column", _column("種と葉の日"), equal=_COLUMN),
    Feature("column by its old name", _column("種と葉の日", 'writing-mode="tb"'), equal=_COLUMN),
    Feature("column by its other old name",
            _column("種と葉の日", 'writing-mode="tb-rl"'), equal=_COLUMN),
    Feature("column that lines would follow to the right",
            _column("種と葉の日", 'writing-mode="vertical-lr"'), equal=_COLUMN),
    Feature("Latin in a column", _column("Seedlings", face=_SANS), equal=_LATIN),
    Feature("Latin in a column by its old name",
            _column("Seedlings", 'writing-mode="tb"', face=_SANS), equal=_LATIN),
    Feature("Latin upright in a column", _column("Sed", _STOOD, _SANS, 8), equal=_STANDING),
    Feature("Latin upright in a column by its old name",
            _column("Sed", _DOWN + ' glyph-orientation-vertical="0"', _SANS, 8), equal=_STANDING),
    Feature("Japanese lying in a column",
            _column("種と葉の", _LAID), equal=_laid("種と葉の", face=_JAPANESE)),
    Feature("column that is turned as a whole",
            _column("種とSeed", 'writing-mode="sideways-rl"'),
            equal=_laid("種とSeed", face=_JAPANESE)),
    Feature("Japanese lying in a column by its old name",
            _column("種と葉の", _DOWN + ' glyph-orientation-vertical="90deg"'),
            equal=_laid("種と葉の", face=_JAPANESE)),
    Feature("Japanese and Latin in a column", _column("種Seed葉", size=6),
            equal=_stacked("種", size=6) + _stacked("葉", size=6, y=5 + 3.324 * 6)
            + _laid("Seed", face=_JAPANESE, size=6, x=30 - 0.436 * 6, y=11)),
    Feature("figures lie in a column", _column("14日", size=10),
            equal=_laid("14", face=_JAPANESE, size=10, x=25.64)
            + _stacked("日", size=10, y=5 + 1.11 * 10)),
    Feature("signs in a column", _column("種※①", size=10), equal=_stacked("種※①", size=10)),
    Feature("brackets in a column have forms of their own",
            _column("「種」。", size=7), equal=_stacked("﹁種﹂︒")),
    Feature("middle of a column",
            _text("種と葉", f'x="30" y="20" {_DOWN} text-anchor="middle"', _JAPANESE, 8),
            equal=_stacked("種と葉", size=8, y=8)),
    Feature("end of a column",
            _text("種と葉", f'x="30" y="36" {_DOWN} text-anchor="end"', _JAPANESE, 8),
            equal=_stacked("種と葉", size=8, y=12)),
    Feature("Latin about the middle of a column",
            _text("Seeds", f'x="30" y="20" {_DOWN} text-anchor="middle"', _SANS, 10),
            equal=_laid("Seeds", 'text-anchor="middle"', size=10, x=26.88, y=20)),
    Feature("larger run in a column", _column('種<tspan font-size="11" fill="#a33">葉</tspan>日'),
            equal=_stacked("種") + _stacked("葉", 'fill="#a33"', 11, y=12) + _stacked("日", y=23)),
    Feature("larger Latin run in a column",
            _column('Se<tspan font-size="12" fill="#a33">ed</tspan>s', face=_SANS)),
    Feature("column moved to the side", _column('種<tspan dx="6">葉</tspan>日'),
            equal=_stacked("種") + _stacked("葉日", x=36, y=12)),
    Feature("column moved down", _column('種<tspan dy="4">葉</tspan>日'),
            equal=_stacked("種") + _stacked("葉日", y=16)),
    Feature("two columns",
            _text('<tspan x="40" y="5">種と葉</tspan><tspan x="25" y="5">の日</tspan>', _DOWN,
                  _JAPANESE, 8),
            equal=_stacked("種と葉", size=8, x=40) + _stacked("の日", size=8, x=25)),
    Feature("column of letters at places",
            _text("種と葉", f'x="40 30 20" y="5 10 15" {_DOWN}', _JAPANESE, 10),
            equal=_stacked("種", size=10, x=40) + _stacked("と", size=10, y=10)
            + _stacked("葉", size=10, x=20, y=15)),
    Feature("raised run in a column",
            _column('種<tspan baseline-shift="3">葉</tspan>日'),
            equal=_stacked("種") + _stacked("葉", x=33, y=12) + _stacked("日", y=19)),
    Feature("raised Latin run in a column",
            _column('Se<tspan baseline-shift="3">ed</tspan>', face=_SANS, size=10)),
    Feature("spaced letters in a column",
            _column("種と葉", _DOWN + ' letter-spacing="2"'), equal=_stacked("種と葉", gap=2)),
    Feature("column on its alphabetic baseline",
            _column("Seeds", _DOWN + ' dominant-baseline="alphabetic"', face=_SANS),
            equal=_laid("Seeds")),
    Feature("column hung on its line",
            _column("Seeds", _DOWN + ' dominant-baseline="hanging"', face=_SANS),
            equal=_laid("Seeds", x=30 - 0.8 * 1.024 * 7)),
    Feature("outlined column",
            _column("種と葉", _DOWN + ' fill="none" stroke="#363" stroke-width=".3"', size=10),
            equal=_stacked("種と葉", 'fill="none" stroke="#363" stroke-width=".3"', 10)),
    Feature("column on a turned group",
            f'<g transform="rotate(-20 30 20)">{_column("種と葉")}</g>',
            equal=f'<g transform="rotate(-20 30 20)">{_stacked("種と葉")}</g>'),
    Feature("accents in a column", _column("Cafe\u0301", face=_SANS, size=10)),
    Feature("Arabic in a column", _column("بذور", face='font-family="Amiri"', size=10)),
    Feature("a run cannot leave its column",  # SVG 2, 11.6.1: writing-mode is the text's
            _column('Se<tspan writing-mode="horizontal-tb">eds</tspan>', face=_SANS)),
    Feature("lines by their old name", _text("Seeds", 'writing-mode="lr-tb"')),
    Feature("lines by their new name", _text("Seeds", 'writing-mode="horizontal-tb"')),
]  # fmt: skip

_FLOW = "font-size:5px;font-family:'Source Sans 3';line-height:1.25"
_BOX = '<rect id="r" x="5" y="4" width="30" height="32"/>'
_WORDS = "Leaves and seeds, roots and shoots, sown in March"


def _in_shape(
    words: str, style: str = "", shape: str = _BOX, base: str = _FLOW, more: str = ""
) -> str:
    """A text that flows into a shape, as SVG 2 has it."""
    return (
        f'<defs>{shape}</defs><text xml:space="preserve" {more} '
        f'style="{base};shape-inside:url(#r);white-space:pre;{style}">{words}</text>'
    )


def _flow_root(
    paras: str, style: str = "", region: str = _BOX, base: str = _FLOW, more: str = ""
) -> str:
    """A text that flows into a shape, as the draft of SVG 1.2 had it."""
    return (
        f'<flowRoot xml:space="preserve" {more} style="{base};{style}">'
        f"<flowRegion>{region}</flowRegion>{paras}</flowRoot>"
    )


def _lines(*lines: tuple[float, float, str], style: str = "", base: str = _FLOW) -> str:
    """Lines each at its place, as Inkscape 1.2 saves them of a text that flows."""
    return "".join(
        f'<text x="{x}" y="{y}" style="{base};{style}">{words}</text>' for x, y, words in lines
    )


def _tspans(*lines: tuple[float, float, str]) -> str:
    return "".join(f'<tspan x="{x}" y="{y}">{words}</tspan>' for x, y, words in lines)


_LEFT = ((5, 8.2205, "Leaves and "), (5, 14.4705, "seeds, roots "), (5, 20.7205, "and shoots, "),
         (5, 26.9705, "sown in March"))  # fmt: skip
_MIDDLE = ((8.3883, 8.2205, "Leaves and"), (7.5384, 14.4705, "seeds, roots"),
           (7.9209, 20.7205, "and shoots,"), (5.0392, 26.9705, "sown in March"))  # fmt: skip
_RIGHT = ((11.7765, 8.2205, "Leaves and"), (10.0768, 14.4705, "seeds, roots"),
          (10.8418, 20.7205, "and shoots,"), (5.0784, 26.9705, "sown in March"))  # fmt: skip
_SPREAD = ((5, 8.2205, 'Leaves <tspan dx="6.7765">and</tspan>'),
           (5, 14.4705, 'seeds, <tspan dx="5.0768">roots</tspan>'),
           (5, 20.7205, 'and <tspan dx="5.8418">shoots,</tspan>'),
           (5, 26.9705, "sown in March"))  # fmt: skip
_KANA = "font-size:5px;font-family:'Noto Sans JP';line-height:1.5"
_NASKH = "font-size:6px;font-family:'Amiri';line-height:1.25;direction:rtl"
_SEEN = _text("here", 'x="40" y="30"')

_FLOWN: list[Feature] = [
    Feature("lines of a shape as the editor saved them",
            _in_shape(_tspans(*_LEFT)), equal=_lines(*_LEFT)),
    Feature("lines of a circle as the editor saved them",
            _in_shape(_tspans(*_LEFT), shape='<circle id="r" cx="30" cy="20" r="19"/>'),
            equal=_lines(*_LEFT)),
    Feature("spread lines as the editor saved them",
            _in_shape(_tspans(*_SPREAD), "text-align:justify"), equal=_lines(*_SPREAD)),
    Feature("lines that the editor hides",
            _in_shape(_tspans(*_LEFT, (5, 38.5, "never"))), equal=_lines(*_LEFT)),
    Feature("lines of a width as the editor saved them",
            f'<text style="{_FLOW};inline-size:30;white-space:pre" x="5" y="8.2205">'
            f"{_tspans(*_LEFT)}</text>", equal=_lines(*_LEFT)),
    Feature("lines of a newline as the editor saved them",
            _in_shape(_tspans((5, 8.2205, "Leaves\n"), (5, 14.4705, "and seeds\n"),
                              (5, 20.7205, "\n"), (5, 26.9705, "and shoots"))),
            equal=_lines((5, 8.2205, "Leaves"), (5, 14.4705, "and seeds"),
                         (5, 26.9705, "and shoots"))),
    Feature("text in a shape without lines", _in_shape(_WORDS), equal=_lines(*_LEFT)),
    Feature("text in a shape about its middle",
            _in_shape(_WORDS, "text-align:center"), equal=_lines(*_MIDDLE)),
    Feature("text in a shape to its right",
            _in_shape(_WORDS, "text-align:end"), equal=_lines(*_RIGHT)),
    Feature("text in a shape to both sides",
            _in_shape(_WORDS, "text-align:justify"), equal=_lines(*_SPREAD)),
    Feature("text in a shape off its edge",
            _in_shape(_WORDS, "shape-padding:3", base=_FLOW.replace("5px", "4px")),
            equal=_lines((8, 10.3764, "Leaves and"), (8, 15.3764, "seeds, roots"),
                         (8, 20.3764, "and shoots,"), (8, 25.3764, "sown in March"),
                         base=_FLOW.replace("5px", "4px"))),
    Feature("text in a moved shape",
            _in_shape(_WORDS, shape='<rect id="r" width="15" height="16" '
                                    'transform="translate(5 4) scale(2)"/>'),
            equal=_lines(*_LEFT)),
    Feature("text in a path that is a rectangle",
            _in_shape(_WORDS, shape='<path id="r" d="M35 4H5V36H35z"/>'), equal=_lines(*_LEFT)),
    Feature("newlines of a text in a shape",
            _in_shape("Leaves\nand seeds\n\nand shoots"),
            equal=_lines((5, 8.2205, "Leaves"), (5, 14.4705, "and seeds"),
                         (5, 26.9705, "and shoots"))),
    Feature("newlines that are only kept where they are asked for",
            _in_shape("Leaves\nand seeds, roots and shoots, sown in March", "white-space:normal"),
            equal=_lines(*_LEFT)),
    Feature("Japanese in a shape",
            _in_shape("種と葉の日に水をやる。種と葉、", base=_KANA,
                      shape='<rect id="r" x="5" y="4" width="28" height="32"/>'),
            equal=_lines((5, 9.65, "種と葉の日"), (5, 17.15, "に水をや"), (5, 24.65, "る。種と"),
                         (5, 32.15, "葉、"), base=_KANA)),
    Feature("Arabic in a shape",
            _in_shape("بذور وأوراق وجذور في الحديقة", base=_NASKH),
            equal=_lines((35, 8.5862, "بذور وأوراق"), (35, 16.0862, "وجذور في"),
                         (35, 23.5862, "الحديقة"), style="text-anchor:end",
                         base=_NASKH.replace(";direction:rtl", ""))),
    Feature("hyphens in a shape",
            _in_shape("Every forget-me-not",
                      shape='<rect id="r" x="5" y="4" width="20" height="32"/>'),
            equal=_lines((5, 8.2205, "Every"), (5, 14.4705, "forget-"), (5, 20.7205, "me-not"))),
    Feature("larger words in a shape",
            _in_shape('A <tspan style="font-size:8px">seed</tspan> and shoots'),
            equal=_lines((5, 10.7528, 'A <tspan style="font-size:8px">seed</tspan> and'),
                         (5, 18.2205, "shoots"))),
    Feature("text of a width without lines",
            f'<text x="5" y="8.2205" style="{_FLOW};inline-size:30">{_WORDS}</text>',
            equal=_lines(*_LEFT)),
    Feature("text of a width about its middle",
            f'<text x="20" y="8.2205" text-anchor="middle" style="{_FLOW};inline-size:30">'
            f"{_WORDS}</text>", equal=_lines(*_MIDDLE)),
    Feature("text of a width to its end",
            f'<text x="35" y="8.2205" text-anchor="end" style="{_FLOW};inline-size:30">'
            f"{_WORDS}</text>", equal=_lines(*_RIGHT)),
    Feature("flowed text", _flow_root(f"<flowPara>{_WORDS}</flowPara>"), equal=_lines(*_LEFT)),
    Feature("flowed text about its middle",
            _flow_root(f"<flowPara>{_WORDS}</flowPara>", "text-align:center"),
            equal=_lines(*_MIDDLE)),
    Feature("flowed text to its right",
            _flow_root(f"<flowPara>{_WORDS}</flowPara>", "text-align:end;text-anchor:end"),
            equal=_lines(*_RIGHT)),
    Feature("flowed text to both sides",
            _flow_root(f"<flowPara>{_WORDS}</flowPara>", "text-align:justify"),
            equal=_lines(*_SPREAD)),
    Feature("flowed text in paragraphs",
            _flow_root("<flowPara>Leaves</flowPara><flowPara>and seeds</flowPara><flowPara/>"
                       "<flowPara> </flowPara><flowPara>and shoots</flowPara>"),
            equal=_lines((5, 8.2205, "Leaves"), (5, 14.4705, "and seeds"),
                         (5, 26.9705, "and shoots"))),
    Feature("flowed text with a bold word",
            _flow_root('<flowPara>Leaves <flowSpan style="font-weight:bold;fill:#a33">and'
                       "</flowSpan> seeds</flowPara>"),
            equal=_lines((5, 8.2205, 'Leaves <tspan font-weight="700" fill="#a33">and</tspan>'),
                         (5, 14.4705, "seeds"))),
    Feature("flowed text that is moved",
            _flow_root(f"<flowPara>{_WORDS}</flowPara>", more='transform="translate(10 2)"'),
            equal=f'<g transform="translate(10 2)">{_lines(*_LEFT)}</g>'),
    Feature("flowed text with more than fits",
            _flow_root(f"<flowPara>{_WORDS}</flowPara>",
                       region='<rect x="5" y="4" width="30" height="20"/>'),
            equal=_lines(*_LEFT[:3])),
    Feature("flowed text in smaller type than its root",
            _flow_root('<flowPara style="font-size:3px">Leaves and seeds, roots and shoots'
                       "</flowPara>",
                       base=_FLOW.replace("5px", "10px")),
            equal=_lines((5, 12.441, "Leaves and seeds, roots"), (5, 24.941, "and shoots"),
                         base=_FLOW.replace("5px", "3px"))),
    Feature("flowed text with lines set solid in percent",
            _flow_root(f"<flowPara>{_WORDS}</flowPara>", "line-height:100%"),
            equal=_lines(*((x, 7.5955 + 5 * row, words)
                           for row, (x, _, words) in enumerate(_LEFT)))),
    Feature("text in a shape that isn't there",
            '<text x="5" y="22" style="font-size:5px;font-family:Kalam;shape-inside:url(#none)">'
            "Leaves and seeds</text>"),
    Feature("flowed text without words",
            _flow_root("<flowPara/><flowPara></flowPara>", region='<circle r="9"/>') + _SEEN,
            equal=_SEEN),
]  # fmt: skip

_WORD = f'<text id="w" {_SANS} font-size="8">Seeds</text>'
_BENT = (
    '<path id="p" d="M2 12Q15 -4 28 12"/><text id="w" font-family="Kalam" font-size="6">'
    '<textPath href="#p">Leaves</textPath></text>'
)
_STRETCHED = 'startOffset="3" textLength="60"'

_LETTERED = _text("Seeds", 'x="2" y="14"')
_SMALL = _text("Seeds", 'x="1" y="7"', size=6)
_LEANING = _text("Seeds", 'x="1" y="7" rotate="15"', size=6)
_TILE = 'width="20" height="10" patternUnits="userSpaceOnUse"'
_FILLED = '<rect x="5" y="5" width="50" height="30" fill="url(#r)"/>'
_AT_ORIGIN = _text("Seeds", 'x="0" y="0"')
_LETTER = _text("A", 'x="0" y="0"', size=4)

_USED: list[Feature] = [
    Feature("a text shown twice",
            f'<defs>{_WORD}</defs><use href="#w" x="5" y="12"/><use href="#w" x="20" y="32"/>'),
    Feature("a text shown again in another colour",
            f'<defs>{_WORD}</defs><use href="#w" x="5" y="12" fill="#a33"/>'
            '<use href="#w" x="20" y="32" fill="#33a" opacity=".5"/>'),
    Feature("a text shown again larger and turned",
            f'<defs>{_WORD}</defs><use href="#w" transform="translate(8 30) rotate(-20) '
            'scale(2)"/>'),
    Feature("a text shown again set from its middle",
            f'<defs><g id="w" text-anchor="middle">{_AT_ORIGIN}</g></defs>'
            '<use href="#w" x="30" y="24"/>'),
    Feature("anchor of a text from where it is shown",
            f'<defs>{_WORD}</defs><use href="#w" x="30" y="24" text-anchor="middle"/>'),
    Feature("a text on a path shown twice",
            f'<defs>{_BENT}</defs><use href="#w" x="2" y="6"/><use href="#w" x="28" y="24"/>'),
    Feature("text in a symbol",
            f'<symbol id="s" viewBox="0 0 30 20">{_LETTERED}</symbol>'
            '<use href="#s" x="5" y="5" width="50" height="30"/>'),
    Feature("text on a path in a symbol",
            f'<symbol id="s" viewBox="0 0 30 20">{_BENT}</symbol>'
            '<use href="#s" x="5" y="5" width="50" height="30"/>'),
    Feature("text in a nested drawing",
            f'<svg x="10" y="5" width="40" height="30" viewBox="0 0 30 20">{_LETTERED}</svg>'),
    Feature("text in a pattern", f'<pattern id="r" {_TILE}>{_SMALL}</pattern>{_FILLED}'),
    Feature("turned text in a turned pattern",
            f'<pattern id="r" {_TILE} patternTransform="rotate(20)">{_LEANING}</pattern>{_FILLED}'),
    Feature("text in a marker",
            f'<marker id="k" markerWidth="20" markerHeight="10" overflow="visible">{_LETTER}'
            '</marker><path d="M10 30L30 10L50 30" fill="none" stroke="#393" stroke-width="2" '
            'marker-start="url(#k)" marker-mid="url(#k)" marker-end="url(#k)"/>'),
    Feature("text in a clip",
            '<clipPath id="c"><circle cx="25" cy="20" r="12"/></clipPath>'
            f'<g clip-path="url(#c)">{_text("Seedlings", size=14)}</g>'),
    Feature("text on a path in a clip",
            '<clipPath id="c"><circle cx="25" cy="20" r="14"/></clipPath>'
            f'<g clip-path="url(#c)">{_on(_WAVE, size=9)}</g>'),
    Feature("text in a link", f'<a href="https://example.org">{_text("Seedlings", size=12)}</a>'),
    Feature("text on a path stretched by gaps", _on(_ARCH, "Seedlings", _STRETCHED)),
    Feature("text on a path stretched with its letters",
            _on(_ARCH, "Seedlings", _STRETCHED + ' lengthAdjust="spacingAndGlyphs"')),
    Feature("text on a path crowded to a length",
            _on(_ARCH, "Leaves and seeds", 'textLength="40"')),
    Feature("column stretched by gaps", _column("種と葉", _DOWN + ' textLength="30"'),
            equal=_stacked("種と葉", gap=4.5)),
]  # fmt: skip

_BY_BROWSER = (
    "letters of a ligature moved up",  # resvg moves within a ligature, SVG 2 (11.4) does not
    "a ligature across runs",  # which resvg doesn't shape together
    "Arabic letters at places in an Arabic paragraph",  # it anchors them as in a Latin one
    "Arabic within moved Latin",  # it moves letters in the order they are seen in
)
_EVERY = (*_PATHS, *_LETTERS, *_COLUMNS, *_FLOWN, *_USED)

PAGES: list[Feature] = [page for page in _EVERY if page.name not in _BY_BROWSER]

BROWSER_PAGES: list[Feature] = [page for page in _EVERY if page.name in _BY_BROWSER]
"""What resvg sets otherwise than the standard, and a browser as we do."""

REFUSALS: list[Refused] = [
    Refused("text upwards",
            '<text id="x" writing-mode="sideways-lr">A</text>', "x", "runs upwards"),
    Refused("letters side by side in a column",
            '<text writing-mode="tb">A<tspan id="x" style="text-combine-upright:all">12</tspan>'
            "</text>", "x", "side by side"),
    Refused("column on a path",
            '<path id="p" d="M5 5H50"/><text writing-mode="tb"><textPath id="x" href="#p">A'
            "</textPath></text>", "x", "in columns, put on a path"),
    Refused("flowed text in a circle",
            '<flowRoot id="x"><flowRegion><circle r="9"/></flowRegion><flowPara>A</flowPara>'
            "</flowRoot>", "x", "text that fills a shape"),
    Refused("flowed text in two shapes",
            '<flowRoot id="x"><flowRegion><rect width="9" height="9"/><rect width="9" height="9"/>'
            "</flowRegion><flowPara>A</flowPara></flowRoot>", "x", "text that fills a shape"),
    Refused("flowed text around a shape",
            '<flowRoot id="x"><flowRegion><rect width="9" height="9"/></flowRegion>'
            '<flowRegionExclude><rect width="3" height="3"/></flowRegionExclude>'
            "<flowPara>A</flowPara></flowRoot>", "x", "text that fills a shape"),
    Refused("text in a circle without lines",
            '<circle id="c" r="9"/><text id="x" style="shape-inside:url(#c)">A</text>', "x",
            "text that fills a shape"),
    Refused("text in a tilted rectangle without lines",
            '<rect id="c" width="9" height="9" transform="rotate(20)"/>'
            '<text id="x" style="shape-inside:url(#c)">A</text>', "x", "text that fills a shape"),
    Refused("text in a rounded rectangle without lines",
            '<rect id="c" width="9" height="9" rx="2"/>'
            '<text id="x" style="shape-inside:url(#c)">A</text>', "x", "text that fills a shape"),
    Refused("text in a shape without another",
            '<rect id="c" width="9" height="9"/><circle id="d" r="3"/><text id="x" '
            'style="shape-inside:url(#c);shape-subtract:url(#d)">A</text>', "x",
            "text that fills a shape"),
]  # fmt: skip
