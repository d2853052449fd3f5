"""Makes a font of drawn letters: a file of the collection's ``lettering/`` becomes a face.

Each letter, figure, mark or whole word is an element or group that is named after what it stands
for; lines named ``base`` are what letters stand on, and ``capital-height`` tells how large they
are. Strokes become outlines, and all of a letter is united to one (skia-pathops). The file is
TrueType (OpenType 1.9, "glyf"), and the same drawing always gives the same bytes.
"""

from __future__ import annotations

import difflib
import functools
import io
import math
import re
import unicodedata
from collections.abc import Callable, Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import NamedTuple

import pathops
from fontTools.fontBuilder import FontBuilder
from fontTools.pens.cu2quPen import Cu2QuPen
from fontTools.pens.ttGlyphPen import TTGlyphPen
from fontTools.ttLib import newTable
from lxml import etree

from pipeline.base.cache import NO_CACHE, Cache, key_of
from pipeline.base.errors import UserError, did_you_mean
from pipeline.base.geometry import Rect
from pipeline.fill.keys import COPY_TAIL, key_in, unescaped
from pipeline.fill.template import (
    EDITOR_LABELS,
    TemplateFile,
    open_template,
    plain_template,
    rect_of,
    tree_of,
)
from pipeline.plan.collection import LETTERING
from pipeline.svg.paint import Colour
from pipeline.svg.path import SHAPES, PathData, outline
from pipeline.svg.refusals import reading, refuse
from pipeline.svg.styles import resolve_styles
from pipeline.svg.transform import Matrix
from pipeline.svg.tree import SVG, inherited, lineage, page_matrix, target
from pipeline.text.fonts import GENERIC_FAMILIES, UNDRAWN, FontBook
from pipeline.text.style import length, lengths

UNITS_PER_EM = 2000
"""PDF has widths in thousandths of an em, so that these are exact where 2048 are not."""

CAPITAL_HEIGHT = round(0.7 * UNITS_PER_EM)
"""Capitals are 0.7 em high, as in most faces, so that the size asked for means the same (common
practice)."""

_BEARING = round(0.05 * UNITS_PER_EM)
_SPACE = round(0.25 * UNITS_PER_EM)
"""The distance on both sides of a letter without a rectangle, and the width of a space (common
practice)."""

_BASE, _HEIGHT = "base", "capital-height"
_KINDS = ("letter", "capital", "figure", "mark", "word")
_MARKS = {
    "full-stop": ".", "period": ".", "hyphen": "-‐‑", "dash": "–", "apostrophe": "’'",
    "quote-open": "“", "quote-close": "”", "bracket-open": "(", "bracket-close": ")",
    "slash": "/", "plus": "+", "equals": "=", "and": "&", "hash": "#", "at": "@", "star": "*",
    "ellipsis": "…", "bullet": "•", "middle-dot": "·", "space": " \N{NO-BREAK SPACE}",
}  # fmt: skip
"""What marks are called in plain words, and what they stand for; Unicode's own names do as well."""

_EXAMPLES = (
    *(f"{kind}-{sign}" for kind in ("letter", "capital") for sign in "abcdefghijklmnopqrstuvwxyz"),
    *(f"figure-{digit}" for digit in range(10)),
    *(f"mark-{name}" for name in (*_MARKS, "comma", "colon", "question", "exclamation")),
)
_ONE_COLOUR = "letters have one colour, that of the text set in them"


class Meaning(NamedTuple):
    """What a drawn thing stands for: one sign (and others that look like it), or a whole word."""

    signs: str = ""
    word: str = ""


@dataclass(frozen=True)
class _Drawn:
    """A named thing of a drawing, and what stands in it: ``ink`` in millimetres of the page, y
    downwards; ``room`` the sides of its unpainted rectangle, mm."""

    name: str
    ink: pathops.Path
    room: tuple[float, float] | None

    @property
    def box(self) -> Rect:
        """The box around its ink."""
        left, top, right, bottom = self.ink.bounds
        return Rect(left, top, right - left, bottom - top)


class _Name(NamedTuple):
    """What a thing is called, what it stands for (None for a line), and the pair it stands in."""

    said: str
    meaning: Meaning | None
    pair: str


class _Sheet(NamedTuple):
    """What a drawing of letters holds. ``bases`` are heights of lines (mm), and ``pairs`` how far
    (mm) the ink of a letter begins after that of the letter before it."""

    letters: Mapping[Meaning, _Drawn]
    bases: Sequence[float]
    capital_mm: float
    pairs: Mapping[tuple[Meaning, Meaning], float]


class _Glyph(NamedTuple):
    """A letter in units of the font, y upwards, and how far the next one is."""

    ink: pathops.Path
    advance: int


def meaning(name: str) -> Meaning | None:
    """What a thing of this name stands for; None for a name that is no letter's.

    >>> meaning("letter-a"), meaning("Capital-a"), meaning("figure-7-2"), meaning("mark-comma")
    (Meaning(signs='a', word=''), Meaning(signs='A', word=''), Meaning(signs='7', word=''), \
Meaning(signs=',', word=''))
    >>> meaning("letter-e-acute").signs, meaning("letter-ß").signs, meaning("word-monday").word
    ('é', 'ß', 'monday')
    >>> meaning("letter-7"), meaning("figure-ten"), meaning("sketch-a")
    (None, None, None)
    """
    kind, said = _kind(name)
    bare = COPY_TAIL.sub("", said)
    if kind == "word":
        return Meaning(word=bare.lower()) if len(bare) > 1 else None
    if kind not in _KINDS:
        return None
    return next((Meaning(signs) for one in (said, bare) if (signs := _signs(kind, one))), None)


def _kind(name: str) -> tuple[str, str]:
    """The first word of a name, and what comes after it."""
    kind, _, said = re.sub(r"[\s_]+", "-", unescaped(name)).partition("-")
    return kind.lower(), said


def _signs(kind: str, said: str) -> str:
    """The sign of a kind that is called so, and those that look the same; "" for none."""
    if kind == "mark" and said.lower() in _MARKS:
        return _MARKS[said.lower()]
    sign = unicodedata.normalize("NFC", said)
    if len(sign) != 1:
        sign = _called(kind, said.upper().replace("-", " ").replace("UMLAUT", "DIAERESIS"))
    elif kind == "capital":
        sign = sign.upper()
    right = {"figure": sign.isdigit(), "mark": bool(sign) and unicodedata.category(sign)[0] in "PS"}
    if len(sign) != 1 or not right.get(kind, sign.isalpha()):
        return ""
    return next((alike for alike in _MARKS.values() if sign in alike), sign)


def _called(kind: str, said: str) -> str:
    """The sign that Unicode calls so, in short: "E ACUTE", "QUESTION", "SEVEN"; "" for none."""
    before = {"letter": "LATIN SMALL LETTER ", "capital": "LATIN CAPITAL LETTER ",
              "figure": "DIGIT ", "mark": ""}[kind]  # fmt: skip
    endings = (said, said.replace(" ", " WITH ", 1), f"{said} MARK", f"{said} SIGN")
    for ending in endings:
        try:
            return unicodedata.lookup(before + ending)
        except KeyError:
            continue
    return ""


def own_fonts(folder: Path | None, cache: Cache = NO_CACHE) -> Mapping[str, bytes]:
    """The fonts of the collection in a folder, by the files in it: those in ``fonts/``, and one
    for each drawing of letters.

    Raises UserError for a drawing of letters that no font can be made of.
    """
    if folder is None:
        return {}
    there = folder / "fonts"
    files = sorted(there.iterdir()) if there.is_dir() else []
    fonts = {f"{there.name}/{file.name}": file.read_bytes() for file in files if file.is_file()}
    drawings = sorted((folder / LETTERING).glob("*.svg"))
    known = FontBook(there).families if drawings else ()
    for path in drawings:
        if path.stem.casefold() in GENERIC_FAMILIES or path.stem in known:
            what = f"there is a font {path.stem!r} already"
            raise UserError(f"{LETTERING}/{path.name}", what, "give the file another name")
        fonts[f"{LETTERING}/{path.name}"] = font_of(open_template(path), cache)
    return fonts


def font_of(file: TemplateFile, cache: Cache = NO_CACHE) -> bytes:
    """The font file of drawn letters; its family is called as the drawing is.

    Raises UserError for what is drawn twice, is not to be read or has colours of its own, and
    where the lines for base and height are missing.
    """
    return cache.get_or_make(key_of("lettering", file.name, file.data), lambda: _font_of(file))


@functools.lru_cache(maxsize=16)
def _font_of(file: TemplateFile) -> bytes:
    with reading(file.name):
        sheet = _read(file)
        glyphs = {stands_for: _glyph(one, sheet) for stands_for, one in sheet.letters.items()}
    scale = CAPITAL_HEIGHT / sheet.capital_mm
    kerning = {
        (one, other): round(apart * scale - glyphs[other].ink.bounds[0] + glyphs[one].ink.bounds[0])
        - glyphs[one].advance
        for (one, other), apart in sheet.pairs.items()
    }
    return _written(file.path.stem, glyphs, kerning)


# The drawing


def _read(file: TemplateFile) -> _Sheet:
    """Reads a drawing of letters; raises UserError for what cannot be told of it."""
    root = tree_of(file.name, file.data)
    resolve_styles(root)
    names = dict(_named(root, file.name))
    refuse(root, file.name)
    plain = plain_template(root, file.path).root
    inks = _Inks(file.name, plain)
    letters: dict[Meaning, _Drawn] = {}
    lines: dict[str, list[Rect]] = {_BASE: [], _HEIGHT: []}
    pairs: dict[str, list[tuple[Meaning, _Drawn]]] = {}
    for group in plain.iter(SVG + "g"):
        said, stands_for, pair = names.get(str(group.get("id")), (None, None, ""))
        if said is None or not len(group):
            continue  # an empty one is hidden
        if stands_for is None:
            lines[_bare(said)] += _line(group)
        elif pair:
            pairs.setdefault(pair, []).append((stands_for, inks.drawn(group, said)))
        elif stands_for in letters:
            what = f"the same is drawn twice, here and as {letters[stands_for].name!r}"
            raise UserError(file.name, what, "delete or rename one of them", element=said)
        else:
            blank = " " in stands_for.signs
            letters[stands_for] = inks.drawn(group, said, may_be_blank=blank)
    if not letters:
        what = "no letter is drawn in it"
        raise UserError(file.name, what, "name a group after its letter, such as letter-a")
    for name, why in ((_BASE, "letters stand on"), (_HEIGHT, "capitals reach up to")):
        if not lines[name]:
            what = f"there is no line named {name!r} that is seen"
            raise UserError(file.name, what, f"draw the line that {why} and name it so")
    bases = sorted(box.bottom for box in lines[_BASE])
    capital_mm = _capital_mm(file.name, bases, lines[_HEIGHT])
    apart = dict(_apart(name, two, letters, file.name) for name, two in pairs.items())
    return _Sheet(letters, bases, capital_mm, apart)


def _named(root: etree._Element, file: str) -> Iterator[tuple[str, _Name]]:
    """The id of a new group around each letter and line of a drawing, and what it is called.

    What is within a letter counts to it, whatever it is called. Raises UserError for a name that
    seems to be meant for a letter.
    """
    found: list[tuple[etree._Element, _Name]] = []
    unknown: list[tuple[etree._Element, str]] = []
    within: set[etree._Element] = set()
    pairs: dict[etree._Element | None, str] = {}
    for element in root.iterdescendants(etree.Element):
        parent = element.getparent()
        if parent in within:
            within.add(element)
            continue
        if parent in pairs:
            pairs[element] = pairs[parent]
        for name in (element.get(label) for label in (*EDITOR_LABELS, "id")):
            if not name:
                continue
            line = _bare(name) in (_BASE, _HEIGHT)
            stands_for = None if line else meaning(name)
            if line or stands_for:
                found.append((element, _Name(name, stands_for, pairs.get(parent, ""))))
                within.add(element)
                break
            if _kind(name)[0] == "pair":
                pairs[element] = name
            elif _seems_meant(name):
                unknown.append((element, name))
    holders = {step for element, _ in found for step in lineage(element)}
    for element, name in unknown:
        if element not in holders:
            what = "this name is no letter's, figure's, mark's or word's"
            raise UserError(file, what, did_you_mean(name, _EXAMPLES), element=name)
    for holder, name in pairs.items():
        if holder is not None and holder not in holders and holder.getparent() not in pairs:
            raise UserError(file, *_NO_PAIR, element=name)
    for number, (element, called) in enumerate(found):
        identifier = f"lettering {number}"  # with a space, which no id of the drawing has
        _put_in_group(element, identifier)
        yield identifier, called


_NO_PAIR = (
    "a pair holds two letters, each of which is drawn by itself too",
    "put copies of the two side by side into it, named as they are",
)


def _bare(name: str) -> str:
    """The name of a line, written as we write it."""
    return re.sub(r"[\s_]+", "-", key_in(name))


def _seems_meant(name: str) -> bool:
    kind, said = _kind(name)
    return bool(said and difflib.get_close_matches(kind, _KINDS, 1, 0.84))


def _put_in_group(element: etree._Element, identifier: str) -> None:
    group = etree.Element(SVG + "g", {"id": identifier})
    parent = element.getparent()
    assert parent is not None  # the root is never named
    group.tail, element.tail = element.tail, None
    parent.replace(element, group)
    group.append(element)


def _line(group: etree._Element) -> list[Rect]:
    """The box around a line; none where nothing is drawn."""
    points = [
        point
        for element in group.iter(*(SVG + tag for tag in SHAPES))
        for point in outline(element).moved(page_matrix(element).point).points
    ]
    return [Rect.around(points)] if points else []


def _capital_mm(file: str, bases: Sequence[float], heights: Sequence[Rect]) -> float:
    """How high capitals are, from where they reach up to and the next base below it."""
    found = [min((base - box.y for base in bases if base > box.y), default=0.0) for box in heights]
    if min(found) <= 0:
        what = f"the line {_HEIGHT!r} has no base line below it"
        raise UserError(file, what, "draw it above the base line, as high as capitals are")
    if max(found) > 1.05 * min(found):
        what = f"capitals are {min(found):.2f} mm high by one line, {max(found):.2f} by another"
        raise UserError(file, what, f"draw all rows at one size, or one line {_HEIGHT!r} alone")
    return min(found)


def _apart(
    name: str, two: list[tuple[Meaning, _Drawn]], letters: Mapping[Meaning, _Drawn], file: str
) -> tuple[tuple[Meaning, Meaning], float]:
    """The letters of a pair in order, and how far apart their ink begins."""
    if len(two) != 2 or any(one not in letters or one.word for one, _ in two):
        raise UserError(file, *_NO_PAIR, element=name)
    (first, one), (second, other) = sorted(two, key=lambda item: item[1].box.x)
    return (first, second), other.box.x - one.box.x


# Ink


class _Inks:
    """Reads what is painted in a plain drawing, all of it in one colour."""

    def __init__(self, file: str, plain: etree._Element) -> None:
        self._file = file
        self._clips = {str(clip.get("id")): clip for clip in plain.iter(SVG + "clipPath")}
        self._colour: tuple[Colour, str] | None = None  # and a thing that has it

    def drawn(self, group: etree._Element, name: str, *, may_be_blank: bool = False) -> _Drawn:
        """What a group called ``name`` shows. Raises UserError for what no letter can be."""
        room: tuple[float, float] | None = None
        painted: list[pathops.Path] = []
        for element in group.iter(etree.Element):
            tag = str(element.tag).removeprefix(SVG)
            if inherited(element, "visibility") in ("hidden", "collapse"):
                continue
            if tag in ("text", "image"):
                what = "a letter holds " + ("a picture" if tag == "image" else "a text")
                remedy = "draw it as shapes, or turn the text into outlines"
                raise UserError(self._file, what, remedy, element=name)
            if tag not in SHAPES:
                continue
            paints = {which: _paint(element, which) for which in ("fill", "stroke")}
            if tag == "rect" and set(paints.values()) == {"none"}:
                box = page_matrix(element).bounds(rect_of(element))
                room = box.x, box.right
            for which, paint in paints.items():
                if paint != "none":
                    self._check(element, which, paint, name)
                    painted.append(self._clipped(_painted(element, which), element, name))
        ink = self._combined([path for path in painted if [*path.verbs]], _UNION, name)
        if not [*ink.verbs] and not (room and may_be_blank):
            remedy = "draw it, or delete the group"
            raise UserError(self._file, "nothing is drawn in it", remedy, element=name)
        return _Drawn(name, ink, room)

    def _check(self, element: etree._Element, which: str, paint: str, name: str) -> None:
        """Raises UserError for paint that is not the one colour of the drawing, or is clear."""
        colour = Colour.read(paint)
        steps = [*lineage(element)]
        shares = [*(step.get("opacity") for step in steps), inherited(element, f"{which}-opacity")]
        clear = any(length(share, default=1.0) < 1 for share in shares)
        if colour is None or colour.alpha < 1 or clear or any(step.get("mask") for step in steps):
            kind = "a gradient or pattern" if colour is None else "transparency or a mask"
            what = f"is drawn with {kind}; {_ONE_COLOUR}"
            raise UserError(self._file, what, "give it one flat colour", element=name)
        self._colour = self._colour or (colour, name)
        first, other = self._colour
        if first != colour:
            both = f"{first} and {colour}" if other == name else f"{colour}, {other!r} in {first}"
            remedy = "draw all in one colour, and cut holes out instead of painting over them"
            what = f"is drawn in {both}; {_ONE_COLOUR}"
            raise UserError(self._file, what, remedy, element=name)

    def _clipped(self, path: pathops.Path, element: etree._Element, name: str) -> pathops.Path:
        """What is left of a shape's paint within the clips of all that it stands in."""
        for step in lineage(element):
            for inner in self._clips.get(target(step.get("clip-path")) or "", ()):
                area = outline(inner).moved(page_matrix(step).point)
                clip = _path(area, inner.get("clip-rule"))
                path = self._combined([path, clip], pathops.PathOp.INTERSECTION, name)
        return path

    def _combined(self, paths: list[pathops.Path], how: int, name: str) -> pathops.Path:
        """What areas make together, held against the areas themselves: the library errs at times,
        with the numbers it is given, and less so with others."""
        if not paths:
            return pathops.Path()
        for scale in _SCALES:
            large = [_simple(path.transform(scale, 0, 0, scale)) for path in paths]
            whole = functools.reduce(lambda one, other: pathops.op(one, other, how), large)
            whole = _simple(whole).transform(1 / scale, 0, 0, 1 / scale)
            if _is_right(whole, paths, any if how == _UNION else all):
                return whole
        what = "its shapes cannot be united to one outline"
        raise UserError(self._file, what, "unite them in the vector editor", element=name)


def _paint(element: etree._Element, which: str) -> str:
    """What a shape is filled or stroked with; "none" also for a stroke without width."""
    if which == "stroke" and length(inherited(element, "stroke-width"), default=1.0) <= 0:
        return "none"
    return inherited(element, which) or ("black" if which == "fill" else "none")


_UNION = pathops.PathOp.UNION
_SCALES = (64.0, 1000.0, 3.7, 0.61, 211.0)
_SAMPLES = 32
_MOST_WRONG = 3
"""Of the samples in a grid of so many squared, those that may be told wrongly: they lie on an edge.
Chosen values."""


def _simple(path: pathops.Path) -> pathops.Path:
    """The same area without overlaps, holes the other way round than what is around them."""
    simple = pathops.Path(path)
    simple.simplify(fix_winding=True, keep_starting_points=False)
    return simple


def _is_right(
    whole: pathops.Path, paths: list[pathops.Path], test: Callable[[Iterable[bool]], bool]
) -> bool:
    """Whether points all over are in an area where any or all of the ``paths`` have them."""
    boxes = [path.bounds for path in paths]
    left, top = (min(box[side] for box in boxes) for side in (0, 1))
    right, bottom = (max(box[side] for box in boxes) for side in (2, 3))
    step = (right - left) / _SAMPLES, (bottom - top) / _SAMPLES
    wrong = 0
    for column in range(_SAMPLES):
        for row in range(_SAMPLES):
            point = left + (column + 0.5) * step[0], top + (row + 0.5) * step[1]
            wrong += whole.contains(point) != test(path.contains(point) for path in paths)
    return wrong <= _MOST_WRONG


_FINE = 256.0
"""Strokes are outlined at so many times a millimetre: the library works to a fraction of a unit."""

_CAPS = {"round": pathops.LineCap.ROUND_CAP, "square": pathops.LineCap.SQUARE_CAP}
_JOINS = {"round": pathops.LineJoin.ROUND_JOIN, "bevel": pathops.LineJoin.BEVEL_JOIN}


def _painted(element: etree._Element, which: str) -> pathops.Path:
    """The area a shape's fill or stroke covers, in millimetres of the page."""
    matrix = page_matrix(element)
    if which == "fill":
        return _path(outline(element).moved(matrix.point), inherited(element, "fill-rule"))
    scale = _FINE * math.sqrt(abs(matrix.a * matrix.d - matrix.b * matrix.c)) or 1.0
    path = _path(outline(element).moved(Matrix(a=scale, d=scale).point), None)
    dashes = [dash * scale for dash in lengths(inherited(element, "stroke-dasharray"))]
    path.stroke(
        length(inherited(element, "stroke-width"), default=1.0) * scale,
        _CAPS.get(inherited(element, "stroke-linecap") or "", pathops.LineCap.BUTT_CAP),
        _JOINS.get(inherited(element, "stroke-linejoin") or "", pathops.LineJoin.MITER_JOIN),
        length(inherited(element, "stroke-miterlimit"), default=4.0),
        (dashes * 2 if len(dashes) % 2 else dashes) or None,
        length(inherited(element, "stroke-dashoffset")) * scale,
    )
    path.convertConicsToQuads()
    return path.transform(*(matrix @ Matrix(a=1 / scale, d=1 / scale)))


def _path(data: PathData, rule: str | None) -> pathops.Path:
    path = pathops.Path()
    path.fillType = pathops.FillType.EVEN_ODD if rule == "evenodd" else pathops.FillType.WINDING
    for operator, _, points in data.segments():
        if operator == "M":
            path.moveTo(*points[0])
        elif operator == "L":
            path.lineTo(*points[0])
        elif operator == "C":
            path.cubicTo(*(number for point in points for number in point))
        else:
            path.close()
    return path


# The font


def _glyph(one: _Drawn, sheet: _Sheet) -> _Glyph:
    """A letter in units of the font: from side to side of its room, or with the usual distance.

    It belongs to the row of letters whose middle is nearest to its own.
    """
    box, scale = one.box, CAPITAL_HEIGHT / sheet.capital_mm
    middle = box.y + box.height / 2 + sheet.capital_mm / 2
    base = min(sheet.bases, key=lambda base: abs(base - middle))
    bearing = _BEARING / scale
    left, right = one.room or (box.x - bearing, box.right + bearing)
    to_font = Matrix(scale, 0, 0, -scale, -left * scale, base * scale)
    return _Glyph(one.ink.transform(*to_font), round((right - left) * scale))


def _written(
    family: str,
    drawn: Mapping[Meaning, _Glyph],
    kerning: Mapping[tuple[Meaning, Meaning], int],
) -> bytes:
    """The font file of a family with these letters and words."""
    glyphs = {".notdef": _Glyph(pathops.Path(), UNITS_PER_EM // 2)}
    characters: dict[int, str] = {}
    words: dict[str, str] = {}
    for stands_for, glyph in drawn.items():
        if stands_for.word:
            name = f"word.{len(words) + 1}"
            words[stands_for.word] = name
        else:
            name = _glyph_name(stands_for.signs[0])
            characters |= {ord(sign): name for sign in stands_for.signs}
        glyphs[name] = glyph
    if ord(" ") not in characters:
        glyphs["space"] = _Glyph(pathops.Path(), _SPACE)
        characters |= dict.fromkeys((0x20, 0xA0), "space")
    spellings = {spelling: words[word] for word in words for spelling in _spellings(word)}
    undrawn = sorted({ord(sign) for word in spellings for sign in word} - characters.keys())
    for code in undrawn:
        name = f"undrawn.{code:04X}"
        glyphs[name] = _Glyph(pathops.Path(), 0)
        characters[code] = name
    builder = FontBuilder(UNITS_PER_EM, isTTF=True)
    builder.updateHead(created=0, modified=0, fontRevision=1.0)
    builder.setupGlyphOrder([*glyphs])
    builder.setupCharacterMap(characters)
    builder.setupGlyf({name: _outlines(glyph.ink) for name, glyph in glyphs.items()})
    sides = builder.font["glyf"]
    builder.setupHorizontalMetrics(
        {name: (glyph.advance, getattr(sides[name], "xMin", 0)) for name, glyph in glyphs.items()}
    )
    _describe_in(builder, family, characters)
    meta = newTable("meta")
    meta.data = {UNDRAWN: b"".join(code.to_bytes(4, "big") for code in undrawn)}
    builder.font["meta"] = meta
    features = _words_feature(spellings, characters) if spellings else ""
    if kerning:
        features += _kerning_feature(kerning, characters)
    # Loaded here, for it takes its time and few collections have drawn letters.
    from fontTools.feaLib.builder import addOpenTypeFeaturesFromString

    addOpenTypeFeaturesFromString(builder.font, features, tables=["GSUB", "GPOS"])
    target_file = io.BytesIO()
    builder.save(target_file)
    return target_file.getvalue()


def _glyph_name(sign: str) -> str:
    from fontTools.agl import UV2AGL

    return UV2AGL.get(ord(sign)) or f"uni{ord(sign):04X}"


def _spellings(word: str) -> Iterator[str]:
    """The ways a drawn word may be typed: a hyphen of its name may be a space."""
    for said in dict.fromkeys((word, word.replace("-", " "))):
        yield from dict.fromkeys((said, said.capitalize(), said.title(), said.upper()))


def _outlines(ink: pathops.Path) -> object:
    pen = TTGlyphPen(None)
    ink.draw(Cu2QuPen(pen, max_err=0.5))
    return pen.glyph()


def _describe_in(builder: FontBuilder, family: str, characters: Mapping[int, str]) -> None:
    """What the font says of itself: names, and how high and deep lines of it are."""
    ends = [glyph for glyph in builder.font["glyf"].glyphs.values() if glyph.numberOfContours]
    ascent = max(round(0.8 * UNITS_PER_EM), *(glyph.yMax for glyph in ends))
    descent = min(round(-0.2 * UNITS_PER_EM), *(glyph.yMin for glyph in ends))
    builder.setupHorizontalHeader(ascent=ascent, descent=descent)
    bare = re.sub(r"[^A-Za-z0-9]", "", family) or "Lettering"
    builder.setupNameTable(
        {
            "familyName": family,
            "styleName": "Regular",
            "uniqueFontIdentifier": f"{family} Regular",
            "fullName": family,
            "psName": f"{bare}-Regular",
            "version": "Version 1.000",
        }
    )
    small = builder.font["glyf"].glyphs.get(characters.get(ord("x"), ""))
    builder.setupOS2(
        version=4,
        sTypoAscender=ascent,
        sTypoDescender=descent,
        sTypoLineGap=0,
        usWinAscent=ascent,
        usWinDescent=-descent,
        sCapHeight=CAPITAL_HEIGHT,
        sxHeight=small.yMax if small is not None else 0,
        fsType=0,
        fsSelection=0x40,  # regular
        usFirstCharIndex=min(characters),
        usLastCharIndex=min(max(characters), 0xFFFF),
    )
    builder.setupPost()


def _kerning_feature(
    kerning: Mapping[tuple[Meaning, Meaning], int], characters: Mapping[int, str]
) -> str:
    pairs = (
        f"pos {' '.join(characters[ord(one.signs[0])] for one in pair)} {by};"
        for pair, by in kerning.items()
    )
    return "\n".join(("feature kern {", *pairs, "} kern;\n"))


def _words_feature(spellings: Mapping[str, str], characters: Mapping[int, str]) -> str:
    """Feature code that puts drawn words in the place of typed ones, and not within others.

    It is ``rlig``, which is never switched off: letters of a word need not be drawn by themselves.
    """
    letters = sorted({name for code, name in characters.items() if chr(code).isalnum()})
    ligatures, rules = [], []
    for word in sorted(spellings, key=lambda word: (-len(word), word)):
        first, *rest = (characters[ord(sign)] for sign in word)
        marked = [f"{first}'", *(f"{name}'" for name in rest)]
        ligatures.append(f"sub {' '.join((first, *rest))} by {spellings[word]};")
        rules += [
            f"ignore sub @LETTER {' '.join(marked)};",
            f"ignore sub {' '.join(marked)} @LETTER;",
            f"sub {marked[0]} lookup WORDS {' '.join(marked[1:])};",
        ]
    return "\n".join(
        (
            f"@LETTER = [{' '.join(letters)}];",
            "lookup WORDS {", *ligatures, "} WORDS;",
            "feature rlig {", *rules, "} rlig;\n",
        )
    )  # fmt: skip
