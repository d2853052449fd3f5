"""Shapes text with HarfBuzz: which glyphs, where, how far the pen moves, and where lines break.

Lengths are in the unit of ``Style.size`` (millimetres in a simplified template), y downwards.
Which way each character runs is decided by the Unicode bidirectional algorithm (UAX #9), whose
levels python-bidi computes: even ones run left to right, odd ones right to left.
"""

from __future__ import annotations

import bisect
import functools
import itertools
import re
from collections import Counter
from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from typing import Any, NamedTuple, TypeVar

import budoux
import uharfbuzz as hb
from bidi import algorithm
from fontTools import unicodedata

from pipeline.base.errors import UserError
from pipeline.base.geometry import Rect
from pipeline.text.fonts import FontBook, Instance

_JOINED = frozenset({"Arab", "Syrc", "Mong", "Nkoo", "Deva", "Beng", "Guru", "Gujr", "Thaa"})
"""Scripts whose letters hang together: letter-spacing would tear them (CSS Text 3, 8.2.1)."""

CAPITALS = 0.7
"""The size of capitals that stand in for a face's small capitals, of that of its letters (as
browsers have it; common practice)."""

_SPACES = frozenset(" \u00a0")
"""Characters that part words (CSS Text 3, 8.1), of those that templates hold."""


@dataclass(frozen=True)
class Style:
    """How a run of text is to be set; ``size`` and the spacings in the same unit.

    ``stretch`` is the width of a variable face in percent of normal. ``right_to_left`` is the
    direction of the paragraph, not of single words; ``turns`` are the parts of it that the text
    is in, from the outermost, each a number of its own and the signs that begin it (UAX #9, 2).
    ``case`` and ``capitals`` are values of ``text-transform`` and ``font-variant-caps``.
    ``aspect`` is the height that ``font-size-adjust`` asks for, of which metric, in em.
    ``orientation`` is that of letters in text that runs downwards: "mixed", "upright" or
    "sideways"; empty for text in lines.
    """

    families: tuple[str, ...]
    size: float
    weight: float = 400
    italic: bool = False
    stretch: float = 100
    letter_spacing: float = 0.0
    word_spacing: float = 0.0
    features: tuple[tuple[str, int], ...] = ()
    variations: tuple[tuple[str, float], ...] = ()
    language: str = ""
    right_to_left: bool = False
    turns: tuple[tuple[int, str], ...] = ()
    case: str = ""
    capitals: str = ""
    aspect: tuple[str, float] | None = None
    orientation: str = ""


class Glyph(NamedTuple):
    """A glyph id, where it stands relative to its run's start, and its own advance."""

    gid: int
    x: float
    y: float
    advance: float
    cluster: int
    """Index into the run's text of the first character it stands for."""


@dataclass(frozen=True)
class Run:
    """Text that one face sets in one go, and the glyphs for it from left to right.

    ``text`` is in reading order, also where it is ``right_to_left``. Where it is ``upright``, its
    letters stand one below the other, each about the middle of the column, and ``advance`` goes
    down.
    """

    text: str
    instance: Instance
    size: float
    glyphs: tuple[Glyph, ...]
    advance: float
    right_to_left: bool = False
    upright: bool = False
    capitals: str | None = None
    """The language in whose capitals the text is shown; None where it is shown as it is."""

    def spelled(self, part: str) -> str:
        """What a part of the text is shown as."""
        if self.capitals is None:
            return part
        return "".join(upper(sign, self.capitals) for sign in part)

    @functools.cached_property
    def places(self) -> list[tuple[int, float, float]]:
        """Each glyph's id and where it stands."""
        return [(glyph.gid, glyph.x, glyph.y) for glyph in self.glyphs]

    def ink(self, glyphs: Sequence[Glyph]) -> Rect:
        """What the ink of some of its glyphs takes up, from where the run starts, downwards."""
        scale = self.size / self.instance.hb_face.upem
        corners = [(glyph.x, 0.0) for glyph in glyphs[:1]]
        for glyph in glyphs:
            extents = self.instance.hb_font.get_glyph_extents(glyph.gid)
            if extents and extents.width:
                x, y = glyph.x + extents.x_bearing * scale, glyph.y - extents.y_bearing * scale
                corners += [(x, y), (x + extents.width * scale, y - extents.height * scale)]
        return Rect.around(corners[1:] or corners)

    @functools.cached_property
    def spelling(self) -> tuple[str, list[tuple[int, int]]]:
        """The text from left to right, and how many of its bytes are shown by how many glyphs.

        Readers of PDF files expect text in the order it is seen in and turn what runs from right
        to left themselves. A word of such a script is one piece: read letter by letter, its marks
        would change places and gaps where letters kern would be taken for spaces.
        """
        text, glyphs = self.text, self.glyphs
        if [glyph.cluster for glyph in glyphs] == [*range(len(text))]:
            shown = [self.spelled(character) for character in text]
            return "".join(shown), [(len(signs.encode()), 1) for signs in shown]
        starts = sorted({glyph.cluster for glyph in glyphs})
        end_of = dict(zip(starts, [*starts[1:], len(text)], strict=True))
        pieces: list[tuple[str, int]] = []
        for start, group in itertools.groupby(glyphs, key=lambda glyph: glyph.cluster):
            pieces.append((self.spelled(text[start : end_of[start]]), len(list(group))))
        if self.right_to_left:
            pieces = list(_words(pieces))
        return "".join(piece for piece, _ in pieces), [
            (len(piece.encode()), count) for piece, count in pieces
        ]

    def cut(self, starts: Iterable[int]) -> list[tuple[int, float, Run]]:
        """The run in parts, from left to right, that begin at these places of its text.

        Each comes with where it begins in the text and how far from the run's left end it stands.
        A place within a cluster, as in the middle of a ligature, is passed over.
        """
        starts = set(starts)
        if not starts:
            return [(0, 0.0, self)]
        clusters = {glyph.cluster for glyph in self.glyphs}
        begins = sorted({min(clusters), *clusters.intersection(starts)})
        if len(begins) == 1:
            return [(0, 0.0, self)]
        parts, x = [], 0.0
        for begin, group in itertools.groupby(
            self.glyphs, key=lambda glyph: begins[bisect.bisect(begins, glyph.cluster) - 1]
        ):
            own = list(group)
            width = sum(glyph.advance for glyph in own)
            after = bisect.bisect(begins, begin)
            end = begins[after] if after < len(begins) else len(self.text)
            across, down = (0.0, x) if self.upright else (x, 0.0)
            glyphs = tuple(
                g._replace(x=g.x - across, y=g.y - down, cluster=g.cluster - begin) for g in own
            )
            part = replace(self, text=self.text[begin:end], glyphs=glyphs, advance=width)
            parts.append((begin, x, part))
            x += width
        return parts


_JOINS_NOT = "\u200c"
"""Parts two letters of a word (zero width non-joiner); pdfium takes it for the word's end."""


def _words(pieces: Sequence[tuple[str, int]]) -> Iterator[tuple[str, int]]:
    """Pieces of right-to-left text, those of a word put together and spelled backwards."""
    for is_word, group in itertools.groupby(
        pieces, key=lambda piece: piece[0][0].isalpha() or piece[0] == _JOINS_NOT
    ):
        if is_word:
            word = list(group)
            spelled = "".join(piece[::-1] for piece, _ in word)
            yield spelled.replace(_JOINS_NOT, "") or spelled, sum(count for _, count in word)
        else:
            yield from group


class _Item(NamedTuple):
    """What a run of a line has in common: its span, face, script and direction (its level's).

    ``small`` letters are shown as capitals of a smaller size.
    """

    span: int
    instance: Instance
    script: str
    level: int
    small: bool
    upright: bool


def advance(text: str, style: Style, book: FontBook, where: str = "") -> float:
    """How wide ``text`` runs, kerning and ligatures counted, in the unit of ``style.size``.

    >>> book = FontBook()
    >>> sans = Style(("Source Sans 3",), size=10)
    >>> advance("AV", sans, book) < advance("A", sans, book) + advance("V", sans, book)
    True
    """
    return sum(run.advance for run in shape(text, style, book, where))


def shape(text: str, style: Style, book: FontBook, where: str = "") -> tuple[Run, ...]:
    """Runs of glyphs for ``text`` from left to right, split where face or direction changes.

    Raises UserError, naming the character, when no face has a glyph for it.
    """
    shown = "".join(in_case([(text, style)])) if style.case else text
    return tuple(run for _, run in shape_line([(shown, style)], book, where))


def shape_line(
    spans: Sequence[tuple[str, Style]], book: FontBook, where: str = ""
) -> list[tuple[int, Run]]:
    """Runs of a line made of spans in different styles, from left to right.

    Each comes with where it begins in the line, counted in characters.

    The line is one paragraph to the bidirectional algorithm, in the direction of its first span;
    letters join across spans. Raises UserError for a character that no face has.
    """
    try:
        return list(_line(tuple(spans), book))
    except UserError as problem:
        raise UserError(problem.where or where, problem.what, problem.remedy) from None


@functools.lru_cache(maxsize=8_000)
def _line(spans: tuple[tuple[str, Style], ...], book: FontBook) -> list[tuple[int, Run]]:
    """Lines are shaped to measure them and again to draw them, and come back week after week: more
    of them than so many would take memory and no less time."""
    line = "".join(text for text, _ in spans)
    if not line:
        return []
    runs: list[tuple[int, Run]] = []
    run_levels: list[int] = []
    items = _items(line, spans, book)
    for item, group in itertools.groupby(range(len(line)), key=items.__getitem__):
        places = list(group)
        start, end, style = places[0], places[-1] + 1, spans[item.span][1]
        runs.append((start, _shape_run(line, start, end, style, item)))
        run_levels.append(item.level)
    return in_visual_order(runs, run_levels)


def _items(line: str, spans: Sequence[tuple[str, Style]], book: FontBook) -> list[_Item]:
    """What each character of a line is part of."""
    level_of = _levels_of(spans)
    script = next((s for s in map(script_of, line) if s not in ("Zyyy", "Zinh")), "Zyyy")
    items: list[_Item] = []
    for number, (text, style) in enumerate(spans):
        variations = {"wdth": style.stretch, **dict(style.variations)}
        faces = book.candidates(style.families, style.weight, style.italic, variations)
        face = faces[0]
        whole = _in_whole_words(text, face, dict(style.features))
        for place, character in enumerate(text):
            face = faces[0] if place in whole else _face_for(character, face, faces)
            if character.isspace() and place not in whole:
                after = next((each for each in text[place:] if not each.isspace()), " ")
                if _face_for(after, face, faces) is not face:
                    face = faces[0]  # between two faces, the one asked for first
            if script_of(character) not in ("Zyyy", "Zinh"):
                script = script_of(character)
            upright = _is_upright(character, style.orientation, face)
            if items and unicodedata.category(character)[0] == "M":
                upright = items[-1].upright
            level = 0 if upright else level_of[len(items)]
            small = bool(style.capitals) and _is_small(character, style, face)
            items.append(_Item(number, face, script, level, small, upright))
    return items


def _in_whole_words(text: str, instance: Instance, features: dict[str, int]) -> frozenset[int]:
    """Where in a text the signs are that a face has only together, as the words they make."""
    undrawn = instance.face.undrawn
    if undrawn.isdisjoint(map(ord, text)):
        return frozenset()
    buffer = hb.Buffer()
    buffer.add_str(text)
    buffer.guess_segment_properties()
    hb.shape(instance.hb_font, buffer, dict(features))
    glyphs = Counter(info.cluster for info in buffer.glyph_infos)
    starts = [*sorted(glyphs), len(text)]
    whole: set[int] = set()
    for start, end in itertools.pairwise(starts):
        if end - start > 1 and glyphs[start] == 1:
            whole.update(range(start, end))
    return frozenset(whole)


_UPRIGHT = (
    "§©®±¼½¾×÷‖†‡‰‱※‼⁂⁇⁈⁉⁑℀-ℊℎ-ℏℓ℔№℗℞-℣℥℧℩℮ℵ-⅀ⅅ-⅊⅌-↋∞∴∵⌀-⌇⌌-⌟⌤-⌨⌫⍽-⎚⎾-⏍⏏⏑-⏛⏢-☙☠-❧❶-➓"
    "⬒-⬯⭐-⭙\ue000-\uf8ff\U0001f000-\U0001faff"
)
_STANDS = re.compile(f"[{_UPRIGHT}]")
"""Letters that stand upright in a column, beside those that are as wide as an ideograph (UAX #50,
from memory)."""
_LIES = frozenset("＜＝＞－￣")
_TURNS = frozenset("（）［］｛｝｟｠＿｜～：；「」『』【】〈〉《》〔〕〖〗〘〙〚〛〜〰ー゠")
"""Wide letters that lie in a column, and those that do so where a face has no form for columns."""


def _is_upright(character: str, orientation: str, face: Instance) -> bool:
    if orientation in ("", "sideways"):
        return False
    if orientation == "upright":
        return True
    if character in _TURNS:
        return has_form_for_columns(character, face)
    wide = unicodedata.east_asian_width(character) in ("W", "F") and character not in _LIES
    return wide or _STANDS.match(character) is not None


@functools.lru_cache(maxsize=1000)
def has_form_for_columns(character: str, face: Instance) -> bool:
    """Whether a face shows a character by another glyph in text that runs downwards."""
    shown = []
    for direction in ("ltr", "ttb"):
        buffer = hb.Buffer()
        buffer.add_str(character)
        buffer.guess_segment_properties()
        buffer.direction = direction
        hb.shape(face.hb_font, buffer)
        shown.append([info.codepoint for info in buffer.glyph_infos])
    return shown[0] != shown[1]


def _is_small(character: str, style: Style, face: Instance) -> bool:
    """Whether a letter is a small capital that its face lacks (CSS Fonts 4, 6.6)."""
    if upper(character, style.language) == character:
        own = {"unicase": "unic", "all-petite-caps": "c2pc"}.get(style.capitals, "c2sc")
        return style.capitals in _ALL_CAPITALS and face.features.isdisjoint((own, "c2sc"))
    wanted = {"petite-caps": "pcap", "all-petite-caps": "pcap"}.get(style.capitals, "smcp")
    small = style.capitals not in ("unicase", "titling-caps")
    return small and face.features.isdisjoint((wanted, "smcp"))


_ALL_CAPITALS = frozenset(("all-small-caps", "all-petite-caps", "unicase"))


def _capitals(style: Style, face: Instance) -> dict[str, int]:
    """The features of a face that give the capitals asked for, or the nearest it has."""
    return {
        feature: 1
        for choices in _FEATURES.get(style.capitals, ())
        if (feature := next((one for one in choices if one in face.features), None))
    }


_FEATURES: Mapping[str, tuple[tuple[str, ...], ...]] = {
    "small-caps": (("smcp",),), "all-small-caps": (("smcp",), ("c2sc",)),
    "petite-caps": (("pcap", "smcp"),), "all-petite-caps": (("pcap", "smcp"), ("c2pc", "c2sc")),
    "unicase": (("unic", "c2sc"),), "titling-caps": (("titl",),),
}  # fmt: skip
"""Features for each kind of capitals, each with what stands in for it (CSS Fonts 4, 6.6)."""


def _face_for(character: str, current: Instance, faces: Sequence[Instance]) -> Instance:
    """The face for a character: the first that has it, but marks and signs keep company."""
    category = unicodedata.category(character)
    if category[0] == "M" or category in ("Cf", "Cc") or character.isspace():
        return current
    if category[0] in "PS" and ord(character) in current.characters:
        return current
    for face in faces:
        if ord(character) in face.characters:
            return face
    raise UserError(
        "",
        f"no font has the character {character!r} "
        f"(U+{ord(character):04X} {unicodedata.name(character, 'unnamed')})",
        "name a font that has it in the collection's fallback_fonts",
    )


def _shape_run(line: str, start: int, end: int, style: Style, item: _Item) -> Run:
    _, instance, script, level, small, upright = item
    buffer = hb.Buffer()
    # The whole line goes in, so that letters at the ends know whom they join.
    shown = [upper(sign, style.language) for sign in line[start:end]] if small else line[start:end]
    place_of = [place for place, signs in enumerate(shown) for _ in signs]
    codes = [ord(sign) for sign in (*line[:start], *itertools.chain(*shown), *line[end:])]
    buffer.add_codepoints(codes, start, len(place_of))
    buffer.direction = "ttb" if upright else "rtl" if level % 2 else "ltr"
    buffer.script = script
    buffer.language = style.language or "und"
    features: dict[str, bool | int] = {**_capitals(style, instance), **dict(style.features)}
    spacing = style.letter_spacing if script not in _JOINED else 0.0
    if spacing:
        features.setdefault("liga", 0)  # spaced letters are not joined (CSS Text 3, 8.2)
        features.setdefault("clig", 0)
    hb.shape(instance.hb_font, buffer, features)
    size = style.size * instance.size_adjust * (CAPITALS if small else 1.0)
    if style.aspect is not None:
        size *= style.aspect[1] / instance.aspect(style.aspect[0])
    scale = size / instance.hb_face.upem
    x, glyphs = 0.0, []
    infos, positions = buffer.glyph_infos, buffer.glyph_positions
    clusters = [place_of[info.cluster - start] for info in infos]
    for number, (info, position) in enumerate(zip(infos, positions, strict=True)):
        step = (-position.y_advance if upright else position.x_advance) * scale
        cluster = clusters[number]
        if number + 1 == len(infos) or clusters[number + 1] != cluster:
            step += spacing + (style.word_spacing if line[start + cluster] in _SPACES else 0.0)
        glyphs.append(
            Glyph(
                info.codepoint,
                (0.0 if upright else x) + position.x_offset * scale,
                (x if upright else 0.0) - position.y_offset * scale,
                step,
                cluster,
            )
        )
        x += step
    capitals = style.language if small else None
    backwards = level % 2 == 1
    return Run(line[start:end], instance, size, tuple(glyphs), x, backwards, upright, capitals)


_TURKIC = frozenset(("tr", "az", "crh", "tt", "ba"))
"""Languages with a dotted and a dotless i (Unicode, SpecialCasing.txt; the last three as CLDR)."""
_WORD = re.compile(r"(?<![\w'’\u00ad])[^\W\d_]", re.UNICODE)


def in_case(spans: Sequence[tuple[str, Style]]) -> list[str]:
    """What each character of a line is shown as (CSS Text 3, 2.1); some are shown as several.

    >>> sans = Style(("Source Sans 3",), size=10, language="tr")
    >>> in_case([("ıI", replace(sans, case="lowercase")), ("iß", replace(sans, case="uppercase"))])
    ['ı', 'ı', 'İ', 'SS']
    >>> "".join(in_case([("peas-and it's", replace(sans, case="capitalize"))]))
    "Peas-And İt's"
    """
    line = "".join(text for text, _ in spans)
    first = {match.start() for match in _WORD.finditer(line)}
    styles = itertools.chain.from_iterable([style] * len(text) for text, style in spans)
    return [
        _in_case(sign, style, place in first, line[max(place - 1, 0) : place], line[place + 1 :])
        for place, (sign, style) in enumerate(zip(line, styles, strict=True))
    ]


def _in_case(sign: str, style: Style, first: bool, before: str, after: str) -> str:
    if style.case == "uppercase":
        if sign == "ή" and not before.isalpha() and not after[:1].isalpha():
            return "Ή"  # the word "or" keeps its tonos (CSS Text 3, 2.1)
        return upper(sign, style.language)
    if style.case == "lowercase" and sign == "Σ" and before.isalpha() and not after[:1].isalpha():
        return "ς"
    if style.case == "lowercase":
        turkic = style.language.split("-")[0] in _TURKIC
        return {"I": "ı", "İ": "i"}.get(sign, sign.lower()) if turkic else sign.lower()
    if style.case == "capitalize" and first:
        return upper(sign, style.language) if len(sign.upper()) == 1 else sign.title()
    if style.case == "full-width" and "!" <= sign <= "~":
        return chr(ord(sign) - ord("!") + 0xFF01)
    return sign


@functools.cache
def upper(sign: str, language: str) -> str:
    """A character's capital, or capitals, in a language.

    >>> upper("i", "en"), upper("i", "tr"), upper("ß", "de"), upper("ά", "el")
    ('I', 'İ', 'SS', 'Α')
    """
    plain = language.split("-")[0]
    if sign == "i" and plain in _TURKIC:
        return "İ"
    if plain == "el":  # capitals bear no tonos (CSS Text 3, 2.1)
        parts = unicodedata.normalize("NFD", sign)
        return str(unicodedata.normalize("NFC", parts.replace("\u0301", "").upper()))
    return sign.upper()


def _levels_of(spans: Sequence[tuple[str, Style]]) -> tuple[int, ...]:
    """The embedding level of each character of a line, its turned parts counted."""
    line = ""
    shown: list[int] = []
    open_turns: tuple[tuple[int, str], ...] = ()
    for text, style in spans:
        kept = 0
        for mine, other in zip(style.turns, open_turns, strict=False):
            if mine != other:
                break
            kept += 1
        closed = "".join(turn for _, turn in open_turns[kept:])[::-1]
        line += "".join(_END_OF_ISOLATE if sign in _INITIATORS else "\u202c" for sign in closed)
        line += "".join(turn for _, turn in style.turns[kept:])
        shown += range(len(line), len(line) + len(text))
        line += text
        open_turns = style.turns
    level_of = levels(line, spans[0][1].right_to_left)
    return tuple(level_of[place] for place in shown)


_T = TypeVar("_T")
_RIGHT_TO_LEFT = frozenset({"R", "AL", "AN", "RLE", "RLO", "RLI"})


@functools.lru_cache(maxsize=4096)
def levels(line: str, right_to_left: bool = False) -> tuple[int, ...]:
    """The embedding level of each character; ``right_to_left`` is the paragraph's direction.

    >>> levels("ab")
    (0, 0)
    >>> levels("12 \u0645\u0627\u064a", right_to_left=True)
    (2, 2, 1, 1, 1, 1)
    """
    if not right_to_left and not any(
        unicodedata.bidirectional(character) in _RIGHT_TO_LEFT for character in line
    ):
        return (0,) * len(line)
    isolates = list(_isolates(line))
    inside = {place for start, end in isolates for place in range(start + 1, end + 1)}
    kept = [place for place in range(len(line)) if place not in inside]
    opened = {start for start, _ in isolates}
    outer = "".join(_OBJECT if place in opened else line[place] for place in kept)
    found = [0] * len(line)
    around = dict.fromkeys(opened, 0)
    for place, (level, embedding) in zip(kept, _resolved(outer, right_to_left), strict=True):
        found[place] = level
        if place in around:
            around[place] = embedding
    for start, end in isolates:
        inner, odd = line[start + 1 : end], _INITIATORS[line[start]]
        if odd is None:
            kinds = (unicodedata.bidirectional(sign) for sign in inner)
            odd = next((kind for kind in kinds if kind in ("L", "R", "AL")), "L") != "L"
        base = (around[start] + 1) | 1 if odd else (around[start] + 2) & ~1
        for place, level in enumerate(levels(inner, odd), start + 1):
            found[place] = level + base - odd
        if end < len(line):
            found[end] = found[start]
    return tuple(found)


_OBJECT = "\ufffc"
"""What an isolated part is to the text around it (UAX #9, 2.4: a neutral object)."""
_INITIATORS = {"\u2066": False, "\u2067": True, "\u2068": None}
"""Signs that begin an isolated part, and whether it runs from right to left, if they say it."""
_END_OF_ISOLATE = "\u2069"


def _isolates(line: str) -> Iterator[tuple[int, int]]:
    """Where each isolated part that lies in no other begins, and where the sign is that ends it."""
    depth = start = 0
    for place, sign in enumerate(line):
        if sign in _INITIATORS:
            start = start if depth else place
            depth += 1
        elif sign == _END_OF_ISOLATE and depth:
            depth -= 1
            if not depth:
                yield start, place
    if depth:
        yield start, len(line)


def _resolved(line: str, right_to_left: bool) -> list[tuple[int, int]]:
    """Each character's level in text without isolated parts, and that of what it is embedded in."""
    base = int(right_to_left)
    storage: dict[str, Any] = algorithm.get_empty_storage()
    storage["base_level"] = base
    storage["base_dir"] = "R" if right_to_left else "L"
    algorithm.get_embedding_levels(line.replace(_END_OF_ISOLATE, "\u200b"), storage)
    for index, entry in enumerate(storage["chars"]):
        entry["index"] = index
    algorithm.explicit_embed_and_overrides(storage, False)
    embedded = {entry["index"]: int(entry["level"]) for entry in storage["chars"]}
    algorithm.resolve_weak_types(storage, False)
    _resolve_brackets(storage)
    algorithm.resolve_neutral_types(storage, False)
    algorithm.resolve_implicit_levels(storage, False)
    known = {entry["index"]: int(entry["level"]) for entry in storage["chars"]}
    found: list[tuple[int, int]] = []
    for index in range(len(line)):  # marks that only steer the algorithm take their neighbour's
        before = found[-1] if found else (base, base)
        found.append((known[index], embedded[index]) if index in known else before)
    return found


_BRACKETS = dict(zip("([{（［｛「『【〈《〔", ")]}）］｝」』】〉》〕", strict=True))


def _resolve_brackets(storage: dict[str, Any]) -> None:
    """Brackets take one direction with their partners (UAX #9, rule N0), which bidi leaves out."""
    for run in storage["runs"]:
        entries = storage["chars"][run["start"] : run["start"] + run["length"]]
        sides = [{"L": "L", "R": "R", "EN": "R", "AN": "R"}.get(e["type"], "") for e in entries]
        for opened, closed in sorted(_bracket_pairs(entries)):
            own = "R" if entries[opened]["level"] % 2 else "L"
            held = {side for side in sides[opened + 1 : closed] if side}
            if not held:
                continue
            before = next((side for side in reversed(sides[:opened]) if side), run["sor"])
            way = own if own in held or before == own else before
            for place in (opened, closed):
                entries[place]["type"] = sides[place] = way


def _bracket_pairs(entries: Sequence[dict[str, Any]]) -> list[tuple[int, int]]:
    """Where brackets that belong together stand (UAX #9, BD16)."""
    waiting: list[tuple[str, int]] = []
    pairs: list[tuple[int, int]] = []
    for place, entry in enumerate(entries):
        sign = str(entry["ch"])
        if entry["type"] != "ON":
            continue
        if sign in _BRACKETS:
            waiting.append((_BRACKETS[sign], place))
        elif any(closing == sign for closing, _ in waiting):
            while True:
                closing, opened = waiting.pop()
                if closing == sign:
                    pairs.append((opened, place))
                    break
    return pairs


def in_visual_order(items: Sequence[_T], level_of: Sequence[int]) -> list[_T]:
    """Items of a line from left to right (rule L2): each odd level turns what lies within it.

    >>> in_visual_order(["a", "B", "1", "C"], [0, 1, 2, 1])
    ['a', 'C', '1', 'B']
    """
    order = list(range(len(items)))
    for level in range(max(level_of, default=0), 0, -1):
        start = 0
        while start < len(order):
            end = start
            while end < len(order) and level_of[order[end]] >= level:
                end += 1
            if end > start:
                order[start:end] = order[start:end][::-1]
            start = max(end, start + 1)
    return [items[index] for index in order]


@functools.cache
def script_of(character: str) -> str:
    """The script a character belongs to (ISO 15924, by UAX #24): "Latn", "Arab", "Zyyy", …"""
    return str(unicodedata.script(character))


_SPACE = re.compile(r"(?<=[ \u3000])(?=[^ \u3000])")
_NEVER_FIRST = frozenset("、。，．！？）」』】・：；ー々％ぁぃぅぇぉっゃゅょァィゥェォッャュョ")
"""What may begin no line of Japanese (JIS X 4051, the commoner ones)."""

SHORTEST = 0.2
"""A last line shorter than this part of the width looks like a leftover."""

NARROWER = (1.0, 0.975, 0.95, 0.925, 0.9)

_NEVER_LAST = frozenset("（「『【")


def lines(text: str, style: Style, width: float, book: FontBook, where: str = "") -> list[str]:
    """A paragraph's lines, each at most ``width`` wide, in the unit of ``style.size``.

    A word or two left over for the last line get company, where that takes no line more. A single
    piece that is wider than that stands on a line of its own.

    >>> sans = Style(("Source Sans 3",), size=10)
    >>> lines("Cut from mark to mark.", sans, 60, FontBook())
    ['Cut from', 'mark to mark.']
    """
    found = pieces(text, style.language)
    widest = _broken(found, style, width, book, where)
    for part in NARROWER:
        rows = _broken(found, style, part * width, book, where)
        if len(rows) == len(widest) and advance(rows[-1], style, book, where) >= SHORTEST * width:
            return rows
    return widest


def _broken(found: list[str], style: Style, width: float, book: FontBook, where: str) -> list[str]:
    rows: list[str] = []
    current = ""
    for piece in found:
        longer = current + piece
        if current and advance(longer.rstrip(), style, book, where) > width + 1e-6:
            rows.append(current.rstrip())
            current = piece.lstrip()
        else:
            current = longer
    return [*rows, current.rstrip()]


def may_break(before: str, after: str) -> bool:
    """Whether a line may end between two characters (the commonest rules of UAX #14).

    >>> may_break(" ", "a"), may_break("-", "o"), may_break("a", "b"), may_break("葉", "の")
    (True, True, False, True)
    """
    if before in "\n\u2028":
        return True
    if after.isspace() or after in _NEVER_FIRST or before in _NEVER_LAST:
        return False
    if before == "\u00a0" or after == "\u00a0" or unicodedata.category(after)[0] == "M":
        return False
    if before.isspace() or (before in "-‐–—\u00ad" and after.isalpha()):
        return True
    return any(unicodedata.east_asian_width(sign) == "W" for sign in (before, after))


def pieces(text: str, language: str) -> list[str]:
    """A text cut wherever a line may end; the pieces joined are the text.

    Languages without spaces between words are broken between phrases (BudouX).

    >>> pieces("to and fro", "en")
    ['to ', 'and ', 'fro']
    >>> pieces("表を上にして、番号の順に重ねます。", "ja")
    ['表を', '上に', 'して、', '番号の', '順に', '重ねます。']
    """
    words = [piece for piece in _SPACE.split(text) if piece]
    if language.split("-")[0] != "ja":
        return words
    return list(_kept_together(piece for word in words for piece in _japanese().parse(word)))


def _kept_together(found: Iterable[str]) -> Iterator[str]:
    """Pieces with what may not begin or end a line joined to its neighbour."""
    held = ""
    for piece in found:
        if held and piece[0] not in _NEVER_FIRST and held[-1] not in _NEVER_LAST:
            yield held
            held = ""
        held += piece
    if held:
        yield held


@functools.cache
def _japanese() -> budoux.Parser:
    return budoux.load_default_japanese_parser()
