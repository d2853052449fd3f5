"""A gallery of faults in a week's page, each with its own finding and nothing else.

Each is named by what was done to a page that is sound. Beside it stands what looks much the same
and is sound.
"""

from __future__ import annotations

import re
from collections.abc import Iterator

import pytest
from hypothesis import given
from hypothesis import strategies as st

from pipeline.base.findings import DRAWING_RULES
from pipeline.drawings.checks.inspection import contrast
from pipeline.svg.paint import Colour
from tests.drawings.checks.conftest import Shelf

NAMES = ["Monday", "Tuesday", "Wednesday", "Thursday", "Friday", "Saturday", "Sunday"]


def key(name: str, x: float, y: float, words: str, size: float = 5, **text: str) -> str:
    """A keyed text in a group with its box, as a starter draws it."""
    style = "".join(f' {prop.replace("_", "-")}="{value}"' for prop, value in text.items())
    return (
        f'<g id="{name}"><rect x="{x}" y="{y - size:g}" width="36" height="{1.3 * size:g}" '
        f'fill="none"/><text x="{x}" y="{y}" font-size="{size}"{style}>{words}</text></g>'
    )


def flower(name: str, y: float, x: float = 110) -> str:
    """An ornament 6 mm wide."""
    named = f' id="{name}"' if name else ""
    return (
        f'<g{named}><circle cx="{x}" cy="{y}" r="3" fill="#6f8f5f"/>'
        f'<path d="M{x} {y}l2 2l-4 0z" fill="#ffffff"/></g>'
    )


def month(name: str, x: float = 92, y: float = 8) -> str:
    """A small month 30 mm wide, with its three samples."""
    named = f' id="{name}"' if name else ""
    texts = "".join(
        f'<text x="{x + 2 + 9 * n}" y="{y + 7}" font-size="2.6">{words}</text>'
        for n, words in enumerate(("1", "6", "M"))
    )
    return f'<g{named}><rect x="{x}" y="{y}" width="30" height="28" fill="none"/>{texts}</g>'


def row(day: int) -> float:
    """The baseline of a day, mm from the top."""
    return 30 + 24 * day


def pieces() -> Iterator[tuple[str, str]]:
    """A sound page, piece by piece, with their names."""
    yield "month-grid", month("month-grid")
    yield "week-range", key("week-range", 20, 20, "1 – 7 March", 6)
    for day in range(1, 8):
        yield f"day{day}-number", key(f"day{day}-number", 20, row(day), str(day), 9)
        yield f"day{day}-name", key(f"day{day}-name", 60, row(day), NAMES[day - 1])
        yield f"show-day{day}-weekend", flower(f"show-day{day}-weekend", row(day) - 2)


SOUND = dict(pieces())


def page(drawn: str, *, without: str = "", first: str = "") -> str:
    """The sound page with ``first`` below and ``drawn`` above it, and less some of its pieces."""
    kept = [piece for name, piece in SOUND.items() if name not in without.split()]
    return "\n".join([first, *kept, drawn])


def tuesday(**text: str) -> str:
    """The page with Tuesday's name drawn otherwise."""
    return page(key("day2-name", 60, row(2), "Tuesday", 5, **text), without="day2-name")


def turned(transform: str) -> str:
    """The page with Tuesday's name in a transform of its own."""
    drawn = f'<g transform="{transform}">{key("day2-name", 60, row(2), "Tuesday")}</g>'
    return page(drawn, without="day2-name")


def cover(x: float, width: float, more: str = 'fill="#ffffff"') -> str:
    """The page with a rectangle laid over Tuesday's name, which runs from 60 to some 76 mm."""
    return page(f'<rect x="{x}" y="{row(2) - 6}" width="{width}" height="8" {more}/>')


Y = row(2)
CLIP = '<clipPath id="c"><rect x="58" y="{0}" width="{1}" height="9"/></clipPath>'

SIGHT = {
    # what was done: (severity, rule, element, page)
    "a white patch over a name": ("mend", "text-covered", "day2-name", cover(58, 40)),
    "a patch over half a name": ("mend", "text-covered", "day2-name", cover(67, 40)),
    "a leaf drawn over a number": (
        "mend", "text-covered", "day2-number",
        page(f'<path d="M18 {Y - 9}q12 -2 12 12q-12 0 -12 -12z" fill="#9db391"/>')),
    "a tinted panel moved to the front": (
        "mend", "text-covered", "day2-number",
        page(f'<rect x="15" y="{Y - 12}" width="20" height="16" fill="#e6efe0" opacity=".95"/>')),
    "a box of a key painted after its text": (
        "mend", "text-covered", "day2-name",
        page(f'<g id="day2-name"><text x="60" y="{Y}" font-size="5">Tuesday</text>'
             f'<rect x="58" y="{Y - 6}" width="40" height="8" fill="#fff"/></g>',
             without="day2-name")),
    "a patch over a small month": (
        "mend", "text-covered", "month-grid",
        page('<rect x="90" y="20" width="40" height="20" fill="#fff"/>')),
    "an ornament of some days over the date": (
        "look", "text-covered", "day2-name",
        page('<g id="show-day2-month-start">'
             f'<rect x="58" y="{Y - 6}" width="40" height="8"/></g>')),
    "a clip that is too narrow": (
        "mend", "text-cropped", "day2-name",
        page(f'{CLIP.format(Y - 7, 8)}<g clip-path="url(#c)">{SOUND["day2-name"]}</g>',
             without="day2-name")),
    "a clip that lies elsewhere": (
        "mend", "text-cropped", "day2-name",
        page(f'{CLIP.format(Y + 7, 60)}<g clip-path="url(#c)">{SOUND["day2-name"]}</g>',
             without="day2-name")),
    "a name at opacity 0": ("mend", "text-unseen", "day2-name", tuesday(opacity="0")),
    "a name filled at 0 %": ("mend", "text-unseen", "day2-name", tuesday(fill_opacity="0%")),
    "a name without a fill": ("mend", "text-unseen", "day2-name", tuesday(fill="none")),
    "a name set to hidden": ("mend", "text-unseen", "day2-name", tuesday(visibility="hidden")),
    "a name switched off": ("mend", "text-unseen", "day2-name", page(
        f'<g id="day2-name" display="none"><text x="60" y="{Y}">Tuesday</text></g>',
        without="day2-name")),
    "a name in a layer that is off": ("mend", "text-unseen", "day2-name", page(
        f'<g style="display:none">{SOUND["day2-name"]}</g>', without="day2-name")),
    "a name switched off by a class": ("mend", "text-unseen", "day2-name", page(
        f'<style>.off{{display:none}}</style><g class="off">{SOUND["day2-name"]}</g>',
        without="day2-name")),
    "a name drawn among the guides": ("mend", "text-unseen", "day2-name", page(
        f'<g id="guides">{SOUND["day2-name"]}</g>', without="day2-name")),
    "a name in white on white": ("mend", "text-unseen", "day2-name", tuesday(fill="#fff")),
    "a name in the colour of its panel": ("mend", "text-unseen", "day2-name", page(
        key("day2-name", 60, Y, "Tuesday", fill="#345"), without="day2-name",
        first=f'<rect x="50" y="{Y - 9}" width="50" height="12" fill="#345"/>')),
    "a name in a group that is clear": ("mend", "text-unseen", "day2-name", page(
        f'<g opacity=".01">{SOUND["day2-name"]}</g>', without="day2-name")),
    "a name upside down": ("mend", "text-upturned", "day2-name", turned(f"rotate(180 70 {Y})")),
    "a name flipped both ways": (
        "mend", "text-upturned", "day2-name", turned(f"translate(140 {2 * Y}) scale(-1)")),
    "a name flipped across": (
        "mend", "text-mirrored", "day2-name", turned("translate(140) scale(-1 1)")),
    "a name flipped downwards": (
        "mend", "text-mirrored", "day2-name", turned(f"translate(0 {2 * Y}) scale(1 -1)")),
    "a name turned by 3°": ("look", "text-tilted", "day2-name", turned(f"rotate(3 60 {Y})")),
    "a name turned by 88°": ("look", "text-tilted", "day2-name", turned(f"rotate(-88 70 {Y})")),
    "a name in 5 pt": ("look", "text-small", "day2-name", page(
        key("day2-name", 60, Y, "Tuesday", 1.76), without="day2-name")),
    "a name made small by its group": ("look", "text-small", "day2-name", page(
        f'<g transform="translate(60 {Y}) scale(.3)">{key("day2-name", 0, 0, "Tuesday")}</g>',
        without="day2-name")),
    "small print in 4 pt": ("look", "text-small", "print", page(
        '<text id="print" x="20" y="202" font-size="1.4">drawn by hand</text>')),
    "a name in pale grey": ("look", "faint", "day2-name", tuesday(fill="#c4c4c4")),
    "a name in black at 20 %": ("look", "faint", "day2-name", tuesday(fill_opacity=".2")),
    "a name in green on green": ("look", "faint", "day2-name", page(
        key("day2-name", 60, Y, "Tuesday", fill="#3c5a36"), without="day2-name",
        first=f'<rect x="50" y="{Y - 9}" width="50" height="12" fill="#3f6b4f"/>')),
    "a line in a grey of 5 %": ("look", "faint", "rule", page(
        '<path id="rule" d="M20 200H120" fill="none" stroke="#f0f0f0" stroke-width=".4"/>')),
    "ruled lines in a grey of 4 %": ("look", "faint", "lines-6mm", page(
        '<rect id="lines-6mm" x="20" y="188" width="36" height="18" fill="none" stroke="#f2f2f2" '
        'stroke-width=".4"/>')),
    "a line in grey on a grey panel": ("look", "faint", "rule", page(
        '<path id="rule" d="M20 200H120" fill="none" stroke="#bbb" stroke-width=".4"/>',
        first='<rect x="15" y="196" width="110" height="7" fill="#c4c4c4"/>')),
}  # fmt: skip
"""Faults of what is seen: covered, unseen, turned, small, pale."""

EDGES = {
    "a band that ends on the cut": ("look", "art-near-cut", "band", page(
        '<rect id="band" x="0" y="203" width="100" height="7" fill="#9db391"/>')),
    "a band half a millimetre short of the cut": ("look", "art-near-cut", "band", page(
        '<rect id="band" x="20" y="0.5" width="80" height="4" fill="#9db391"/>')),
    "a tint of the whole page that ends on its edges": ("look", "art-near-cut", "tint", page(
        "", first='<rect id="tint" width="148" height="210" fill="#dfe8d8"/>')),
    "a twig that ends near the fore edge": ("look", "art-near-cut", "twig", page(
        '<path id="twig" d="M.4 60C5 58 8 66 12 62" fill="none" stroke="#555"/>')),
    "a frame 0.9 mm inside the cut": ("look", "art-near-cut", "frame", page(
        '<path id="frame" d="M130 .9H.9V209.1H130" fill="none" stroke="#555"/>')),
}  # fmt: skip
"""Faults at a cut."""


def ruled_line(d: str, transform: str, width: float) -> str:
    """A line in a group with a transform."""
    return (
        f'<g transform="{transform}"><path id="rule" d="{d}" fill="none" stroke="#444" '
        f'stroke-width="{width}"/></g>'
    )


LINES = {
    "a level line in a group squeezed downwards": (
        "look", "hairline", "rule", page(ruled_line("M20 2000h40", "scale(1 .1)", 0.5))),
    "an upright line in a group squeezed across": (
        "look", "hairline", "rule", page(ruled_line("M300 190v8", "scale(.1 1)", 0.6))),
    "a slanting line in a group squeezed across": (
        "note", "hairline", "rule", page(ruled_line("M100 190l4 8", "scale(.3 1)", 0.4))),
    "a curve in a group squeezed downwards": (
        "look", "hairline", "rule", page(ruled_line("M20 905q20 0 40 15", "scale(1 .22)", 0.4))),
    "a line in a group that is turned and squeezed": (
        "look", "hairline", "rule",
        page(ruled_line("M20 0h40", "translate(20 195) rotate(5) scale(1 .15)", 0.5))),
    "a line with corners of the kind 'arcs'": ("note", "join", "rule", page(
        '<path id="rule" d="M20 195h40v8" fill="none" stroke="#444" stroke-width=".5" '
        'stroke-linejoin="arcs"/>')),
    "a line with cut corners, by its style": ("note", "join", "rule", page(
        '<path id="rule" d="M20 195h40v8" fill="none" stroke="#444" stroke-width=".5" '
        'style="stroke-linejoin:miter-clip"/>')),
}  # fmt: skip
"""Lines that transforms make thin, and lines with corners that PDF does not have."""


def lone(words: str, x: float, y: float, size: float = 5, more: str = "") -> str:
    """A text that nobody has named."""
    return f'<text x="{x}" y="{y}" font-size="{size}"{more}>{words}</text>'


def typed(columns: int, days: int = 31, *, first: int = 1, rows: bool = False) -> str:
    """Figures from 1 on in columns, typed one by one or a row at a time."""
    if rows:
        lines = [
            " ".join(str(day) for day in range(start, min(days + 1, start + columns)))
            for start in range(1, days + 1, columns)
        ]
        return "".join(lone(text, 92, 12 + 4 * at, 2.6) for at, text in enumerate(lines))
    places = [divmod(day + first - 2, columns) for day in range(1, days + 1)]
    return "".join(
        lone(str(day), 92 + 4 * column, 12 + 4 * line, 2.6)
        for day, (line, column) in enumerate(places, 1)
    )


def spans(days: int) -> str:
    """A month as one text of lines, a figure a piece."""
    pieces = "".join(
        f'<tspan x="{92 + 4 * ((day - 1) % 7)}" y="{12 + 4 * ((day - 1) // 7)}">{day}</tspan>'
        for day in range(1, days + 1)
    )
    return f'<text id="typed" font-size="2.6">{pieces}</text>'


NUMBERS = " ".join(f"day{n}-number" for n in range(1, 8))
SHOWS = " ".join(f"show-day{n}-weekend" for n in range(1, 8))


def shows(*days: int) -> str:
    """Ornaments for some days."""
    return "".join(flower(f"show-day{day}-weekend", row(day) - 2) for day in days)


LOST = {
    "a small month that lost its name": (
        "mend", "key-lost", "", page(month(""), without="month-grid")),
    "a small month named by its editor": (
        "mend", "key-lost", "g4711", page(month("g4711"), without="month-grid")),
    "a small month taken out of its group": (
        "mend", "key-lost", "", page(month("")[3:-4], without="month-grid")),
    "a day's name whose group lost its name": (
        "mend", "key-lost", "", page(key("", 60, Y, "name"), without="day2-name")),
    "a day's number whose group was named by its editor": (
        "mend", "key-lost", "g12", page(key("g12", 20, Y, "0", 9), without="day2-number")),
    "a day's name with its group taken apart": (
        "mend", "key-lost", "", page(key("", 60, Y, "name").replace('<g id="">', "").replace(
            "</g>", ""), without="day2-name")),
    "a day's name without its group": (
        "mend", "key-lost", "", page(lone("name", 60, Y), without="day2-name")),
    "the last day's name without its group": (
        "mend", "key-lost", "", page(lone("name", 60, row(7)), without="day7-name")),
    "a day's number as a bare text of its editor's": (
        "mend", "key-lost", "text99", page(
            lone("0", 20, row(4), 9).replace("<text", '<text id="text99"'),
            without="day4-number")),
    "a range that lost its name": (
        "mend", "key-lost", "", page(key("", 20, 20, "from – to", 6), without="week-range")),
}  # fmt: skip
"""Keys that were lost."""

MONTHS = {
    "a month typed figure by figure": (
        "mend", "month-typed", "", page(typed(7), without="month-grid")),
    "a month typed that begins on a Thursday": (
        "mend", "month-typed", "", page(typed(7, 30, first=4), without="month-grid")),
    "a February typed": ("mend", "month-typed", "", page(typed(7, 28), without="month-grid")),
    "a month typed row by row": (
        "mend", "month-typed", "", page(typed(7, rows=True), without="month-grid")),
    "a month typed as one text": (
        "mend", "month-typed", "typed", page(spans(31), without="month-grid")),
}  # fmt: skip
"""Small months typed by hand."""

STRAYS = {
    "a label drawn with other words than it has": (
        "look", "label-drawn", "label-sow", page(key("label-sow", 20, 204, "Sow now"))),
    "a figure typed beside a day's name": (
        "look", "figure-stray", "", page(lone("2", 56, Y), without="day2-number").replace(
            SOUND["day1-number"], "").replace(SOUND["day3-number"], "").replace(
            SOUND["day4-number"], "").replace(SOUND["day5-number"], "").replace(
            SOUND["day6-number"], "").replace(SOUND["day7-number"], "")),
    "figures typed for all days": (
        "look", "figure-stray", "", page("".join(
            lone(str(day + 7), 50, row(day), 4) for day in range(1, 8)), without=NUMBERS)),
    "a figure left beside a keyed one": (
        "look", "figure-stray", "", page(lone("2.", 30, Y, 4))),
    "an ending typed in the key's group": (
        "look", "figure-stray", "day2-number", page(SOUND["day2-number"].replace(
            "</g>", f'<text x="28" y="{Y - 3}" font-size="3">nd</text></g>'),
            without="day2-number")),
    "an older figure left in the key's group": (
        "look", "figure-stray", "day2-number", page(SOUND["day2-number"].replace(
            "</g>", f'<text x="34" y="{Y}" font-size="9">9</text></g>'),
            without="day2-number")),
}  # fmt: skip
"""Figures beside days."""

ORNAMENTS = {
    "a weekend's ornament that lost its name": (
        "mend", "show-lost", "", page(flower("", row(5) - 2), without="show-day5-weekend")),
    "a weekend's ornament named by its editor": (
        "mend", "show-lost", "g88", page(flower("g88", row(5) - 2), without="show-day5-weekend")),
    "Sunday's ornament pasted from Saturday's": (
        "mend", "show-lost", "", page(
            shows(6) + flower("", row(7) - 2), without=SHOWS)),
    "a shape for a day that lost its name": (
        "mend", "show-lost", "", page("".join(
            f'<path {f"""id="show-day{day}-weekend" """ if day != 3 else ""}fill="#6f8f5f" '
            f'd="M105 {row(day)}h5v5z"/>' for day in range(1, 8)), without=SHOWS)),
    "one day of seven without its ornament": (
        "look", "show-lost", "", page("", without="show-day4-weekend")),
}  # fmt: skip
"""Ornaments for some days that all have, or not all."""

TAB_NAME = key("tab-name", 20, 30, "March", 8)
TABS = {
    # what was done: (severity, rule, element, page)
    "a divider without the label of its tab": ("look", "missing", "", TAB_NAME),
    "the label of a tab that lost its name, its box filled": (
        "look", "missing", "",
        TAB_NAME + key("", 60, 20, "March").replace(' id=""', "").replace("none", "#dde4d8")),
    "the label of a tab that lost its name": (
        "mend", "key-lost", "",
        TAB_NAME + key("", 60, 20, "March").replace(' id=""', "")),
    "the label of a tab misspelt": (
        "mend", "key", "tab-lable", TAB_NAME + key("tab-lable", 60, 20, "March")),
}  # fmt: skip
"""Pages of leaves with tabs."""

LABELS = {
    "en": {"sow": "sow", "week": "this week", "tend": "tend", "pick": "ready to pick"},
    "de": {"sow": "säen", "week": "diese Woche", "tend": "pflegen", "pick": "erntereif",
           "next": "nächste Woche"},
    "fr": {"sow": "semer", "week": "cette semaine", "tend": "soigner", "pick": "à récolter",
           "next": "la semaine à venir", "month": "récolte du mois"},
    "ar": {"sow": "بذر", "week": "هذا الأسبوع", "tend": "عناية", "pick": "جاهز للقطف"},
    "el": {"sow": "σπορά", "week": "Αυτή την εβδομάδα", "tend": "φροντίδα", "pick": "έτοιμα"},
    "ja": {"sow": "種まき", "week": "今週", "tend": "手入れ", "pick": "収穫できるもの"},
}  # fmt: skip
"""The labels of a collection in six languages, each with its own words."""

EXCHANGED = {
    # what was done: (severity, key, file that is named first, what the files say)
    "German and Arabic": ("mend", "sow", "de", {"de": "بذر", "ar": "säen"}),
    "Arabic letters in the German file": ("mend", "tend", "de", {"de": "عناية"}),
    "Greek and Japanese": ("mend", "week", "el", {"el": "今週", "ja": "Αυτή την εβδομάδα"}),
    "Arabic and Greek": ("mend", "pick", "ar", {"ar": "έτοιμα", "el": "جاهز للقطف"}),
    "English and Japanese": ("mend", "tend", "en", {"en": "手入れ", "ja": "tend"}),
    "German and French with words of both": (
        "mend", "week", "de", {"de": "cette semaine", "fr": "diese Woche"}),
    "French words in the English file": ("mend", "week", "en", {"en": "la semaine à venir"}),
    "a German letter in the French file": ("look", "sow", "fr", {"fr": "säen", "de": "semer"}),
}  # fmt: skip
"""Labels in the files of other languages."""

GALLERY = {**SIGHT, **EDGES, **LINES, **LOST, **MONTHS, **STRAYS, **ORNAMENTS}

WELL = {
    "nothing done": page(""),
    "a patch below a name": page("", first=f'<rect x="50" y="{Y - 9}" width="50" height="12"'
                                           ' fill="#eef3ea"/>'),
    "a veil over a name": cover(58, 40, 'fill="#9db391" opacity=".3"'),
    "a frame over a name": cover(58, 40, 'fill="none" stroke="#777"'),
    "a patch clipped away from the name": page(
        f'{CLIP.format(Y + 6, 60)}<g clip-path="url(#c)"><rect x="58" y="{Y - 9}" width="40"'
        ' height="20" fill="#9db391"/></g>'),
    "a ring with a hole over a name": page(
        f'<path fill-rule="evenodd" fill="#9db391" d="M40 {Y - 14}h60v20h-60zM56 {Y - 9}h40v14'
        'h-40z"/>'),
    "a line under a name": page(f'<path d="M58 {Y + 1.2}h40v.3h-40z" fill="#555"/>'),
    "a name on a dark panel in white": page(
        key("day2-name", 60, Y, "Tuesday", fill="#fff"), without="day2-name",
        first=f'<rect x="50" y="{Y - 9}" width="50" height="12" fill="#345"/>'),
    "a white name with a dark outline": tuesday(fill="#fff", stroke="#222", stroke_width=".3"),
    "a name up the page": turned(f"rotate(-90 70 {Y})"),
    "a name down the page": turned(f"rotate(90 70 {Y - 10})"),
    "fixed words at a slant": page(
        '<text x="20" y="202" font-size="3" transform="rotate(4 20 202)">sun</text>'),
    "a hidden layer with an older name": page(
        f'<g style="display:none">{SOUND["day2-name"].replace("day2-name", "day2-name-2")}</g>'),
    "a band that runs past the cut": page(
        '<rect x="-3" y="203" width="100" height="10" fill="#9db391"/>'),
    "a tint of the whole page that is hardly there": page(
        "", first='<rect width="148" height="210" fill="#fafaf5"/>'),
    "a white line across a dark leaf": page(
        '<path d="M84 188h20v9h-20z" fill="#456"/>'
        '<path d="M86 192h16" fill="none" stroke="#fff" stroke-width=".4"/>'),
    "an upright line in a group squeezed downwards": page(
        ruled_line("M60 1900v80", "scale(1 .1)", 0.5)),
    "figures in one row, one for each day of a month": page(
        "".join(lone(str(day), 16 + 3.7 * day, 202, 2.6) for day in range(1, 32))),
    "hours beside a day": page(
        "".join(lone(str(hour), 52, Y - 6 + 4 * at, 3) for at, hour in enumerate((8, 9, 10)))),
    "a one beside every day": page("".join(lone("1", 52, row(day), 3) for day in range(1, 8))),
    "a figure far from all days": page(lone("12", 110, 44)),
    "fixed words below the days": page(lone("to remember", 60, 203)),
    "fixed words in a named group with an unseen box": page(
        key("thoughts", 60, 203, "to remember")),
    "ornaments for the weekend alone": page(shows(6, 7), without=SHOWS),
    "an ornament elsewhere that is always there": page(flower("", 46)),
    "workdays alone are marked": page("".join(
        flower(f"show-day{day}-workday", row(day) - 2) for day in range(1, 7)), without=SHOWS),
    "veins on a leaf, tone on tone": page(
        '<path d="M84 188h20v9h-20z" fill="#9db391"/>'
        '<path d="M86 192h16M90 190l6 5" fill="none" stroke="#a6bb9a" stroke-width=".4"/>'),
    "a light line of 10 %": page(
        '<path d="M20 200H120" fill="none" stroke="#e2e2e2" stroke-width=".4"/>'),
}  # fmt: skip
"""Pages that look much like those of the gallery and are sound."""


@pytest.mark.parametrize("done", GALLERY)
def test_each_fault_has_its_own_finding_and_no_other(shelf: Shelf, done: str) -> None:
    severity, rule, element, drawn = GALLERY[done]
    shelf.put("right", "")
    found = [(one.word, one.rule, one.element) for one in shelf.look("left", drawn)]
    assert found == [(severity, rule, element)]


@pytest.mark.parametrize("done", TABS)
def test_each_fault_of_a_tab_has_its_own_finding_and_no_other(shelf: Shelf, done: str) -> None:
    severity, rule, element, drawn = TABS[done]
    found = [(one.word, one.rule, one.element) for one in shelf.look("divider", drawn)]
    assert found == [(severity, rule, element)]


def test_a_tab_with_its_label_and_the_blank_back_of_one(shelf: Shelf) -> None:
    assert shelf.look("divider", TAB_NAME + key("tab-label", 60, 20, "March")) == []
    assert shelf.look("back", TAB_NAME) == []


@pytest.mark.parametrize("drawn", WELL.values(), ids=WELL)
def test_what_looks_much_the_same_and_is_sound(shelf: Shelf, drawn: str) -> None:
    shelf.put("right", "")
    assert [str(one) for one in shelf.look("left", drawn)] == []


def put_labels(shelf: Shelf, changed: dict[str, str], key: str) -> None:
    """Writes the labels files, with a key's words in some of them changed."""
    for tag, words in LABELS.items():
        said = {**words, key: changed.get(tag, words.get(key, ""))}
        lines = [f'{name} = "{text}"' for name, text in said.items() if text]
        (shelf.folder / "labels" / f"{tag}.toml").write_text("\n".join(lines), "utf-8")


def drawn_with(changed: dict[str, str], name: str) -> str:
    """A page with a label, drawn with words that it has in some language."""
    words = [words[name] for tag, words in LABELS.items() if name in words and tag not in changed]
    return page(key(f"label-{name}", 20, 204, [*words, *changed.values()][0]))


@pytest.mark.parametrize("done", EXCHANGED)
def test_a_label_in_another_languages_file(shelf: Shelf, done: str) -> None:
    severity, name, file, changed = EXCHANGED[done]
    put_labels(shelf, changed, name)
    shelf.put("right", "")
    (one,) = shelf.look("left", drawn_with(changed, name))
    assert (one.word, one.rule, one.element) == (severity, "label-exchanged", f"label-{name}")
    assert f"in labels/{file}.toml" in one.message


@pytest.mark.parametrize(
    ("name", "changed"),
    [
        ("sow", {}),
        ("week", {}),
        ("pick", {"ja": "OK", "ar": "OK", "de": "OK"}),
        ("pick", {"en": "Café", "de": "Café", "fr": "Café"}),
        ("pick", {"en": "Café", "fr": "Au café"}),
        ("tend", {"ja": "DIY 手入れ"}),
        ("sow", {"en": "π"}),
    ],
)
def test_a_label_in_its_own_language_or_in_borrowed_words(
    shelf: Shelf, name: str, changed: dict[str, str]
) -> None:
    put_labels(shelf, changed, name)
    shelf.put("right", "")
    assert shelf.look("left", drawn_with(changed, name)) == []


def test_the_gallery_is_of_rules_that_there_are() -> None:
    assert {rule for _, rule, *_ in GALLERY.values()} <= set(DRAWING_RULES)


def test_contrast_is_that_of_the_web_guidelines() -> None:
    """W3C, "Understanding SC 1.4.3: Contrast (Minimum)", WCAG 2.1: #777 on white misses 4.5 : 1
    and has 4.47, #767676 just has it; black on white is 21 : 1."""
    white = Colour(255, 255, 255)
    assert contrast(Colour(0x77, 0x77, 0x77), white) == pytest.approx(4.478, abs=0.001)
    assert contrast(Colour(0x76, 0x76, 0x76), white) >= 4.5
    assert contrast(Colour(0, 0, 0), white) == pytest.approx(21)


colours = st.builds(Colour, *[st.integers(0, 255)] * 3, st.just(1.0))


@given(colours, colours)
def test_contrast_is_the_same_both_ways(one: Colour, other: Colour) -> None:
    assert contrast(one, other) == contrast(other, one)
    assert 1 <= contrast(one, other) <= 21


def test_covers_are_named(shelf: Shelf) -> None:
    shelf.put("right", "")
    drawn = page(f'<rect id="patch" x="58" y="{Y - 6}" width="40" height="8" fill="#fff"/>')
    (one,) = shelf.look("left", drawn)
    assert re.search("covered by 'patch'", one.message)
