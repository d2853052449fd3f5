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
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import NamedTuple

import pathops
from fontTools.agl import UV2AGL
from fontTools.feaLib.builder import addOpenTypeFeaturesFromString
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
_ONE_COLOUR = "letters have one colour, that of the text that is set in them"


class Meaning(NamedTuple):
    """What a drawn thing stands for: one sign (and others that look like it), or a whole word."""

    signs: str = ""
    word: str = ""


@dataclass(frozen=True)
class _Drawn:
    """A named thing of a drawing, and what stands in it: ``ink`` in millimetres of the page, y
    downwards; ``room`` the sides of its unpainted rectangle, mm."""

    name: str
    meaning: Meaning
    ink: pathops.Path
    room: tuple[float, float] | None

    @property
    def box(self) -> Rect:
        """The box around its ink."""
        left, top, right, bottom = self.ink.bounds
        return Rect(left, top, right - left, bottom - top)


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
    kind, _, said = re.sub(r"[\s_]+", "-", unescaped(name)).partition("-")
    kind, bare = kind.lower(), COPY_TAIL.sub("", said)
    if kind == "word":
        return Meaning(word=bare.lower()) if len(bare) > 1 else None
    if kind not in _KINDS:
        return None
    return next((Meaning(signs) for one in (said, bare) if (signs := _signs(kind, one))), None)


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
    return sign if len(sign) == 1 and right.get(kind, sign.isalpha()) else ""


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
        drawn, bases, capital_mm = _read(file)
        glyphs: dict[Meaning, _Glyph] = {
            one.meaning: _glyph(one, _base_under(one, bases, capital_mm), capital_mm)
            for one in drawn
        }
    return _written(file.path.stem, glyphs)


# The drawing


def _read(file: TemplateFile) -> tuple[list[_Drawn], list[float], float]:
    """What is drawn, the heights (mm) of the base lines, and that of capitals above them."""
    root = tree_of(file.name, file.data)
    resolve_styles(root)
    named = dict(_named(root, file.name))
    refuse(root, file.name)
    plain = plain_template(root, file.path).root
    groups = {str(one.get("id")): one for one in plain.iter(SVG + "g") if one.get("id") in named}
    drawn: dict[Meaning, _Drawn] = {}
    lines: dict[str, list[Rect]] = {_BASE: [], _HEIGHT: []}
    colours: dict[str, str] = {}
    for identifier, group in groups.items():
        name, stands_for = named[identifier]
        if stands_for is None:
            if box := _line(group):
                lines[key_in(name).replace("_", "-").replace(" ", "-")].append(box)
            continue
        if not len(group):
            continue  # it is hidden
        if stands_for in drawn:
            what = f"the same is drawn twice, here and as {drawn[stands_for].name!r}"
            raise UserError(file.name, what, "delete or rename one of them", element=name)
        drawn[stands_for] = _drawn(group, name, stands_for, plain, file.name, colours)
    if not drawn:
        what = "no letter is drawn in it"
        raise UserError(file.name, what, "name a group after its letter, such as letter-a")
    if missing := [name for name, boxes in lines.items() if not boxes]:
        what = f"there is no line named {missing[0]!r} that is seen"
        where = "letters stand on" if missing[0] == _BASE else "capitals reach up to"
        raise UserError(file.name, what, f"draw the line that {where} and name it so")
    bases = sorted(box.bottom for box in lines[_BASE])
    return [*drawn.values()], bases, _capital_mm(file.name, bases, lines[_HEIGHT])


def _named(root: etree._Element, file: str) -> Iterator[tuple[str, tuple[str, Meaning | None]]]:
    """The id of a new group around each letter and line of a drawing, what it is called and what
    it stands for, which is None for a line.

    What is within a letter counts to it, whatever it is called. Raises UserError for a name that
    seems to be meant for a letter.
    """
    found: list[tuple[etree._Element, str, Meaning | None]] = []
    within: set[etree._Element] = set()
    unknown: list[tuple[etree._Element, str]] = []
    for element in root.iter(etree.Element):
        if element.getparent() in within:
            within.add(element)
            continue
        called = [element.get(label) for label in (*EDITOR_LABELS, "id")]
        for name in (name for name in called if name and element is not root):
            line = key_in(name).replace("_", "-").replace(" ", "-") in (_BASE, _HEIGHT)
            stands_for = None if line else meaning(name)
            if line or stands_for:
                found.append((element, name, stands_for))
                within.add(element)
                break
            if _seems_meant(name):
                unknown.append((element, name))
    holders = {step for element, *_ in found for step in lineage(element)}
    for element, name in unknown:
        if element not in holders:
            what = "this name is no letter's, figure's, mark's or word's"
            raise UserError(file, what, did_you_mean(name, _EXAMPLES), element=name)
    for number, (element, name, stands_for) in enumerate(found):
        identifier = f"lettering {number}"  # with a space, which no id of the drawing has
        _put_in_group(element, identifier)
        yield identifier, (name, stands_for)


def _seems_meant(name: str) -> bool:
    kind, _, said = re.sub(r"[\s_]+", "-", unescaped(name)).lower().partition("-")
    return bool(said and difflib.get_close_matches(kind, _KINDS, 1, 0.84))


def _put_in_group(element: etree._Element, identifier: str) -> None:
    group = etree.Element(SVG + "g", {"id": identifier})
    parent = element.getparent()
    assert parent is not None  # the root is never named
    group.tail, element.tail = element.tail, None
    parent.replace(element, group)
    group.append(element)


def _line(group: etree._Element) -> Rect | None:
    """The box around a line; None where nothing is drawn."""
    points = [
        point
        for element in group.iter(*(SVG + tag for tag in SHAPES))
        for point in outline(element).moved(page_matrix(element).point).points
    ]
    return Rect.around(points) if points else None


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


def _base_under(one: _Drawn, bases: Sequence[float], capital_mm: float) -> float:
    """The base line of the row that a letter lies in: the one whose middle is nearest to its."""
    middle = one.box.y + one.box.height / 2
    return min(bases, key=lambda base: abs(base - capital_mm / 2 - middle))


# Ink


def _drawn(
    group: etree._Element,
    name: str,
    stands_for: Meaning,
    plain: etree._Element,
    file: str,
    colours: dict[str, str],
) -> _Drawn:
    """What a group shows; ``colours`` are those met before, each with a thing that has it."""
    room: tuple[float, float] | None = None
    shapes = pathops.OpBuilder()
    for element in group.iter(etree.Element):
        tag = str(element.tag).removeprefix(SVG)
        if inherited(element, "visibility") in ("hidden", "collapse"):
            continue
        if tag in ("text", "image"):
            what = "a letter holds " + ("a picture" if tag == "image" else "a text")
            remedy = "draw it as shapes, or turn the text into outlines"
            raise UserError(file, what, remedy, element=name)
        if tag not in SHAPES:
            continue
        paints = {which: _paint(element, which) for which in ("fill", "stroke")}
        if tag == "rect" and set(paints.values()) == {"none"}:
            box = page_matrix(element).bounds(rect_of(element))
            room = box.x, box.right
        for which, paint in paints.items():
            if paint == "none":
                continue
            _check_paint(element, which, paint, file, name, colours)
            shapes.add(_clipped(_painted(element, which), element, plain), pathops.PathOp.UNION)
    ink = shapes.resolve()
    if not [*ink.verbs] and not (room and " " in stands_for.signs):
        raise UserError(
            file, "nothing is drawn in it", "draw it, or delete the group", element=name
        )
    return _Drawn(name, stands_for, ink, room)


def _paint(element: etree._Element, which: str) -> str:
    """What a shape is filled or stroked with; "none" also for a stroke without width."""
    if which == "stroke" and length(inherited(element, "stroke-width"), default=1.0) <= 0:
        return "none"
    return inherited(element, which) or ("black" if which == "fill" else "none")


def _check_paint(
    element: etree._Element, which: str, paint: str, file: str, name: str, colours: dict[str, str]
) -> None:
    """Raises UserError for paint that is not the one colour of the drawing, or not all there."""
    colour = Colour.read(paint)
    shares = [step.get("opacity") for step in lineage(element)]
    shares += [inherited(element, f"{which}-opacity")]
    clear = any(length(share, default=1.0) < 1 for share in shares)
    if (
        clear
        or colour is None
        or colour.alpha < 1
        or any(step.get("mask") for step in lineage(element))
    ):
        kind = "a gradient or pattern" if colour is None else "transparency or a mask"
        remedy = "give it one flat colour"
        raise UserError(file, f"is drawn with {kind}, and {_ONE_COLOUR}", remedy, element=name)
    first, other = next(iter(colours.items()), (str(colour), name))
    colours.setdefault(str(colour), name)
    if first != str(colour):
        also = "too" if other == name else f"and {other!r} in {first}"
        said = f"{first} and {colour}" if other == name else f"{colour}"
        what = f"is drawn in {said}{'' if other == name else ', ' + also}; {_ONE_COLOUR}"
        remedy = "draw all in one colour, and cut holes out instead of painting over them"
        raise UserError(file, what, remedy, element=name)


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


def _clipped(path: pathops.Path, element: etree._Element, plain: etree._Element) -> pathops.Path:
    """What is left of a shape's paint within the clips of all that it stands in."""
    for step in lineage(element):
        identifier = target(step.get("clip-path"))
        for holder in plain.iter(SVG + "clipPath") if identifier else ():
            if holder.get("id") != identifier:
                continue
            matrix = page_matrix(step)
            for inner in holder:
                clip = _path(outline(inner).moved(matrix.point), inner.get("clip-rule"))
                path = pathops.op(path, clip, pathops.PathOp.INTERSECTION)
    return path


# The font


def _glyph(one: _Drawn, base: float, capital_mm: float) -> _Glyph:
    """A letter in units of the font: from side to side of its room, or with the usual distance."""
    scale = CAPITAL_HEIGHT / capital_mm
    box = one.box
    bearing = _BEARING / scale
    left, right = one.room or (box.x - bearing, box.right + bearing)
    to_font = Matrix(scale, 0, 0, -scale, -left * scale, base * scale)
    return _Glyph(one.ink.transform(*to_font), round((right - left) * scale))


def _written(family: str, drawn: Mapping[Meaning, _Glyph]) -> bytes:
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
    if spellings:
        features = _features(spellings, characters)
        addOpenTypeFeaturesFromString(builder.font, features, tables=["GSUB"])
    target_file = io.BytesIO()
    builder.save(target_file)
    return target_file.getvalue()


def _glyph_name(sign: str) -> str:
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


def _features(spellings: Mapping[str, str], characters: Mapping[int, str]) -> str:
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
            "feature rlig {", *rules, "} rlig;",
        )
    )  # fmt: skip
