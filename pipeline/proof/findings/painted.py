"""The text may be right and the paper wrong: what a side paints where its letters stand.

pdfium draws a side three times in grey: whole, without its letters, and its letters alone on white.
Where the first two are alike no letter is seen, whatever hides it. The second is the same for all
sides that paint the same lines and areas, and is drawn once.
"""

from __future__ import annotations

import itertools
import math
from bisect import bisect_left, bisect_right
from collections import defaultdict
from collections.abc import Hashable, Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from functools import cached_property, lru_cache, partial
from typing import Any, NamedTuple

import numpy as np
import numpy.typing as npt
import uharfbuzz as hb
from fontTools.pens.recordingPen import RecordingPen

from pipeline.base.errors import UserError
from pipeline.base.geometry import Rect, pt
from pipeline.impose.marks import DOT_MM
from pipeline.proof.findings.placing import CUT_MM, page_forms, signed_angle
from pipeline.proof.findings.reading import (
    Art,
    FaceRead,
    PixelArea,
    SideRead,
    overlapped,
    says_just,
)
from pipeline.proof.findings.subject import MITRE, Ornament, SetFinding, Shape, Slot
from pipeline.proof.read.objects import (
    JUDGED,
    Layer,
    Paint,
    Painted,
    address,
    fonts_used,
    form_places,
    glyph_outline,
    letter_outlines,
    middle,
    outlines_digest,
    overlap,
    prints_ink,
)
from pipeline.proof.read.text import LeafText
from pipeline.svg.transform import Matrix
from pipeline.text.fonts import Face, FontBook
from pipeline.text.shape import CAPITALS, Style, script_of, shape

_Grey = npt.NDArray[np.uint8]
_Wrong = tuple[str, str]

_UNSEEN = 8
"""Grey levels of 255 (3 %) that nobody sees."""
_HIDDEN = 8
"""Where less than an eighth is left of the difference it makes on white, a letter is hidden."""
_OWN_INK = 0.03
"""A letter's ink takes up more of its box; less is the tip of another letter that reaches in."""
_HALF = 0.3
"""A letter of which so much is hidden is half covered; a line may cross it."""
_LOST = 0.6
"""A letter of which so much is as grey as what is behind it is lost there."""
_ALIKE = 30
"""Greys so near to each other are taken for one, in letters whose every pixel has some white."""
_PAPER = 242
"""What is lighter than this (5 % ink) counts as paper."""
_INSET_MM = 0.5
"""Marks may touch the edges of a leaf."""
_DOT_OFF_MM = 0.1
_LEANS = 0.2
"""Degrees that a text may lean before one sees it beside a ruled line (by eye)."""
_MEANT = 5.0
"""A text that leans by more degrees is meant to."""
_ORNAMENT_MM = 0.1
"""A box so near to a shape's own is the same; files round what they hold."""
_SAME_COLOUR = 3
"""Parts of 255 by which a file may round a colour."""
_FEW_SHAPES = 3
"""A template that draws fewer things than this may show none of them."""
_MANY_SHAPES = 6
"""Of so many things on one page, its fellows show half or more."""


@dataclass(frozen=True, eq=False)
class _Pictures:
    """A side in grey levels, 0 to 255; each picture is made when it is first asked for."""

    side: SideRead

    @cached_property
    def made(self) -> _Grey:
        """The difference that letters make."""
        whole, behind = self.side.greys, self.side.behind
        return np.maximum(whole, behind) - np.minimum(whole, behind)

    def hidden(self, at: PixelArea) -> npt.NDArray[np.bool_]:
        """Where letters have ink of which nothing, or next to nothing, is left."""
        ink = self.side.ink[at]
        return (ink >= _UNSEEN) & (self.made[at] < ink // _HIDDEN)

    def hidden_share(self, at: PixelArea) -> float:
        """How much of a letter's ink is hidden; of white letters nothing is."""
        inked = self.side.ink[at] >= _UNSEEN
        own = int(inked.sum())
        return int(self.hidden(at).sum()) / own if own >= _OWN_INK * inked.size else 0.0

    def seen(self, at: PixelArea) -> bool:
        """Whether letters make any difference."""
        made = self.made[at]
        return not made.size or bool(made.max() >= _UNSEEN)

    def blank(self, at: PixelArea) -> bool:
        """Whether letters put nothing on the paper, nor would on white."""
        return not self.seen(at) and bool(self.side.ink[at].max() < _UNSEEN)


class _Piece(NamedTuple):
    """A text with where it is in the pictures, letter by letter, and what it is painted with."""

    text: LeafText
    at: PixelArea
    letters: Sequence[tuple[str, PixelArea]]
    inks: Sequence[Painted]


def letter_findings(side: SideRead) -> Iterator[SetFinding]:
    """Texts that are not to be seen, or hardly, one finding for each rule on a face."""
    stamped = list(stamps(side))
    yield from (face.finding("page-stamped", what, box) for face, what, box in stamped)
    alike = None if stamped else _alike(side)
    faces = [face for face in side.faces if not any(face is one for one, _, _ in stamped)]
    found = (
        _unseen(side, faces)
        if alike is None
        else JUDGED.get_or_make(alike, lambda: _unseen(side, faces))
    )
    for face, wrong in zip(faces, found, strict=True):
        for rule, what, box in wrong:
            yield face.finding(rule, what, box)


def _alike(side: SideRead) -> Hashable | None:
    """The same for sides whose leaves show the same, wherever they lie; None for what isn't plain.

    Other papers have the leaves of a side elsewhere, and other marks around them.
    """
    if not side.plain or not side.faces:
        return None
    pages, (x, y, *_) = page_forms(side), side.faces[0].placement.flat
    left, _, _, top = side.page.get_bbox()
    from_corner = Matrix(1, 0, 0, 1, -left - pt(x), pt(y) - top)
    forms = [
        (layer.key.digest, tuple(round(value, 3) for value in from_corner @ layer.key.matrix))
        for layer in side.layers
        if layer.key and layer.top in pages
    ]
    faces = [
        (
            tuple(round(value, 3) for value in face.placement.flat.moved(-x, -y)),
            face.placement.turned,
            face.page is None,
            tuple(text.text for text in face.texts),
        )
        for face in side.faces
    ]
    return "unseen", side.subject.held_to, *forms, *faces


def _unseen(side: SideRead, faces: Sequence[FaceRead]) -> list[list[tuple[str, str, Rect]]]:
    """The rules that texts of each face break, in what way, and where one does (mm of the leaf)."""
    pictures, covers = _Pictures(side), side.covers
    return [list(_unseen_on(face, pictures, covers)) for face in faces]


def _unseen_on(
    face: FaceRead, pictures: _Pictures, covers: bool
) -> Iterator[tuple[str, str, Rect]]:
    found: dict[str, list[tuple[LeafText, str]]] = defaultdict(list)
    words = pictures.side.words.get(face, ())
    for piece in _pieces(pictures.side, face, words) if face.page else ():
        if wrong := _wrong_with(piece, pictures, face, covers):
            found[wrong[0]].append((piece.text, wrong[1]))
    for rule, [(text, what), *others] in found.items():
        more = f" (and {len(others)} more on this page)" if others else ""
        yield rule, what + more, text.box


def _pieces(side: SideRead, face: FaceRead, words: Sequence[Art]) -> Iterator[_Piece]:
    """The texts of a face with all that is painted at each, but for those that a clip cuts off."""
    on_sheet = face.placement.position.rect
    for text, there in zip(face.texts, overlapped(face.texts, words), strict=True):
        inks = [art.item for art in itertools.compress(words, there)]
        if all(item.clip is None or item.clip.holds(item.box, CUT_MM) for item in inks):
            letters = [
                (sign, side.pixels(on_sheet(box)))
                for sign, box in zip(text.text, text.letters, strict=True)
                if not sign.isspace()
            ]
            yield _Piece(text, side.pixels(on_sheet(text.box)), letters, inks)


def _wrong_with(piece: _Piece, pictures: _Pictures, face: FaceRead, covers: bool) -> _Wrong | None:
    text = piece.text.text
    if piece.inks and not any(map(prints_ink, piece.inks)):
        # Letters over outlines are there to be found only.
        behind = pictures.side.behind[piece.at]
        drawn = not behind.size or int(behind.max()) - int(behind.min()) >= _UNSEEN
        return None if drawn else ("text-invisible", f"'{text}' is not painted")
    seen = all(pictures.seen(at) for _, at in piece.letters)
    if not seen and all(pictures.blank(at) for _, at in piece.letters):
        return "text-invisible", f"'{text}' is {_why_blank(piece)}"
    lost = _covered(piece, pictures) if covers or not seen else None
    return lost or _pale(piece, pictures, face)


def _why_blank(piece: _Piece) -> str:
    paints = _paints(piece)
    if paints and max(paint.opacity for paint in paints) < 0.03:
        return "wholly clear (opacity 0)"
    if paints and max(paint.darkness for paint in paints) < 0.03:
        return "white on white paper"
    return "there and cannot be seen"


def _paints(piece: _Piece) -> list[Paint]:
    return [paint for item in piece.inks for paint in item.paints]


def _covered(piece: _Piece, pictures: _Pictures) -> _Wrong | None:
    """Letters that something painted later hides, or that are as grey as what is behind them."""
    shares = [(sign, pictures.hidden_share(at)) for sign, at in piece.letters]
    worst = max((share for sign, share in shares if sign.isalnum()), default=0.0)
    if worst < _HALF:
        return None
    text, hidden = piece.text.text, pictures.hidden(piece.at)
    own = 255 - int(pictures.side.ink[piece.at].max())
    if abs(float(np.median(pictures.side.behind[piece.at][hidden])) - own) < _ALIKE:
        alike = "contrast-low", f"'{text}' is as dark as what is behind it"
        return alike if worst >= _LOST else None
    lost = "".join(sign for sign, share in shares if share >= _HALF)
    if all(share >= _LOST for _, share in shares):
        return "text-covered", f"'{text}' is covered by something painted over it"
    return "text-covered", f"'{text}' is half covered: '{lost}' is under something"


def _pale(piece: _Piece, pictures: _Pictures, face: FaceRead) -> _Wrong | None:
    """Letters too light on paper, or too near in grey to what else is behind them."""
    made = pictures.made[piece.at]
    if not made.size or not piece.inks:
        return None
    text, limits, behind = piece.text.text, face.subject.limits, pictures.side.behind[piece.at]
    ground = float(behind.min())
    if ground < _PAPER:
        ground = float(np.median(behind[made >= min(_UNSEEN, made.max() / 2)]))
    if ground >= _PAPER:
        dark = 100 * max((paint.darkness for paint in _paints(piece)), default=1.0)
        pale = dark < limits.lightest_percent
        return ("ink-light", f"'{text}' in {dark:.0f} % ink") if pale else None
    contrasts = [_contrast(paint, ground) for paint in _paints(piece)]
    contrast = max(contrasts, default=limits.contrast)  # pictures of letters have many colours
    if contrast >= limits.contrast:
        return None
    tint = 100 * (1 - ground / 255)
    message = f"'{text}' on {tint:.0f} % ink: contrast {contrast:.1f}, the limit is"
    return "contrast-low", f"{message} {limits.contrast:g}"


def _contrast(paint: Paint, ground: float) -> float:
    """The contrast ratio of letters and a grey behind them (WCAG 2.2, relative luminance)."""
    own = 255 * (1 - paint.darkness) - (1 - paint.opacity) * (255 - ground)
    lighter, darker = sorted((_luminance(own), _luminance(ground)), reverse=True)
    return (lighter + 0.05) / (darker + 0.05)


def _luminance(level: float) -> float:
    """The relative luminance of a grey level (WCAG 2.2).

    >>> _luminance(255), _luminance(0)
    (1.0, 0.0)
    """
    share = min(1.0, max(0.0, level / 255))
    return share / 12.92 if share <= 0.04045 else ((share + 0.055) / 1.055) ** 2.4


def stamps(side: SideRead) -> Iterator[tuple[FaceRead, str, Rect]]:
    """What is painted on leaves by nothing that belongs there, with its place on the leaf (mm)."""
    pages, leaves = page_forms(side), side.subject.contents.leaves
    forms = form_places(side.page)
    for face in side.faces:
        # A page on a face that is to be blank is a page too many, which another finding says.
        own = forms if leaves[face.leaf].page(face.face) is None else pages
        inner = face.placement.flat.grown(-_INSET_MM)
        strange = (layer.items for layer in side.layers if layer.top not in own)
        items = [
            (item, shared)
            for item in itertools.chain.from_iterable(strange)
            if (seen := item.seen) is not None
            if (shared := overlap(seen, inner)) is not None and not _is_dot(face, seen)
            if face.cut_at(item, face.on_leaf(seen)) is None
        ]
        if items:
            kinds = {"path": "a shape", "text": "words", "picture": "a picture"}
            what = kinds.get(items[0][0].kind, "a shade")
            box = face.on_leaf(Rect.union(shared for _, shared in items))
            yield face, f"{what} of {box.width:.0f} × {box.height:.0f} mm", box


def _is_dot(face: FaceRead, seen: Rect) -> bool:
    """Whether something is the dot that was to mark the middle of a hole."""
    box = face.on_leaf(seen)
    return (
        face.subject.contents.holes_inside
        and face.side == 1
        and max(box.width, box.height) <= DOT_MM + _DOT_OFF_MM
        and any(math.dist(middle(box)[:2], hole[:2]) <= _DOT_OFF_MM for hole in face.shape.holes)
    )


def dot_findings(side: SideRead) -> Iterator[SetFinding]:
    """Holes whose middle was to be marked on the leaf, and isn't."""
    if side.side != 1 or not side.subject.contents.holes_inside:
        return
    for face in side.faces:
        seen = [one for layer in side.layers for item in layer.items if (one := item.seen)]
        dots = [middle(face.on_leaf(one)) for one in seen if _is_dot(face, one)]
        for hole in face.shape.holes:
            if not any(math.dist(dot[:2], hole[:2]) <= _DOT_OFF_MM for dot in dots):
                yield face.finding("mark-missing", "a hole has no dot", Rect(*hole[:2], 0, 0))


def turned_findings(side: SideRead) -> Iterator[SetFinding]:
    """Keyed texts that stand on their heads, are mirrored or lean."""
    for face, words in side.words.items():
        places = [(slot, face.said_at(slot)) for slot in face.slots.texts]
        places += [(slot, face.said_in(slot.area)) for slot in face.slots.grids]
        leaning: dict[float, list[tuple[Art, _Wrong]]] = {}
        for turned in {slot.turned for slot, _ in places}:
            leaning[turned] = [(art, wrong) for art in words if (wrong := _lean(art, turned))]
        for slot, texts in places:
            boxes = [text.box.grown(0.2) for text in texts]
            for art, (rule, what) in leaning[slot.turned] if boxes else ():
                if any(box.holds(middle(art.box)) for box in boxes):
                    yield face.finding(rule, f"'{face.words_in(art.box)}' {what}", art.box)
                    break


def _lean(art: Art, meant: float) -> _Wrong | None:
    """How a text stands on its page against how it should, turned by ``meant`` degrees."""
    matrix = art.item.matrix
    if matrix.a * matrix.d < matrix.b * matrix.c:
        return "text-mirrored", "is mirrored"
    turned = signed_angle(-math.degrees(math.atan2(matrix.b, matrix.a)) - art.face.placement.turned)
    if abs(signed_angle(turned - 180)) <= _MEANT:
        return "text-upside-down", "is upside down"
    off = min(abs(signed_angle(turned - one)) for one in (meant, -meant))
    if off > _LEANS:
        return "text-tilted", f"is turned by {off:.1f}° against its template"
    leans = abs((turned + 45) % 90 - 45)
    return ("text-tilted", f"leans by {leans:.1f}°") if _LEANS < leans <= _MEANT else None


def drawing_findings(shapes: Mapping[FaceRead, int]) -> Iterator[SetFinding]:
    """Pages whose texts are there and whose drawing is not, by how many things each paints.

    What is drawn for some pages alone, such as for one month, does not count.
    """
    everywhere = {
        face: many - sum(len(one.shapes) for one in face.slots.ornaments if _is_meant(one, face))
        for face, many in shapes.items()
    }
    most: dict[str, int] = defaultdict(int)
    for face, many in everywhere.items():
        if face.page:
            most[face.page.drawing] = max(many, most[face.page.drawing])
    for face, many in everywhere.items():
        if face.page is None:
            continue
        usual = most[face.page.drawing]
        if not shapes[face] and face.slots.shapes >= _FEW_SHAPES:
            yield face.finding("drawing-missing", "nothing is drawn but its texts")
        elif usual >= _MANY_SHAPES and many < usual / 2:
            message = f"only {many} of its lines and shapes are there; such pages have {usual}"
            yield face.finding("drawing-missing", message)


def ornament_findings(side: SideRead) -> Iterator[SetFinding]:
    """What is drawn for some days alone, and painted for others, or not for its own."""
    where = tuple((face.placement.flat, face.shape, face.slots.ornaments) for face in side.faces)
    if not any(face.slots.ornaments for face in side.faces):
        return

    def recognised(layer: Layer) -> list[tuple[int, set[Shape]]]:
        arts = [art for art in side.on_leaves(layer) if art.item.kind == "path"]
        return [_shapes_in([art for art in arts if art.face is face], face) for face in side.faces]

    layers = [side.known(layer, ("ornaments", where), recognised) for layer in side.layers]
    for face, *counted in zip(side.faces, *layers, strict=True):
        if face.page is None or sum(many for many, _ in counted) < face.slots.shapes / 2:
            continue  # the page's drawing is missing, which another finding says
        painted = set[Shape]().union(*(shapes for _, shapes in counted))
        called = [_is_meant(one, face) for one in face.slots.ornaments]
        there = tuple(itertools.compress(face.slots.ornaments, called))
        for ornament, meant in zip(face.slots.ornaments, called, strict=True):
            shapes = ornament.shapes
            if not meant and painted.isdisjoint(shapes):
                continue
            if not meant:  # a full moon's ring is a quarter's too
                shapes = _unlike(ornament, there)
            found = sum(shape in painted for shape in shapes)
            if meant == (2 * found > len(shapes)):
                continue
            how = "isn't printed where it should be" if meant else "is printed where it isn't meant"
            place = Rect.union(one.box for one in ornament.shapes)
            yield face.finding("ornament-wrong", f"'{ornament.name}' {how}", place)


@lru_cache(maxsize=1024)
def _unlike(ornament: Ornament, there: tuple[Ornament, ...]) -> tuple[Shape, ...]:
    """The shapes of an ornament that are like none of others."""
    others, lefts, _ = _by_left_edge(there)

    def is_like_one(shape: Shape) -> bool:
        first, last = bisect_left(lefts, shape.hull.x - 1), bisect_right(lefts, shape.box.x + 1)
        return any(map(shape.is_like, others[first:last]))

    return tuple(one for one in ornament.shapes if not is_like_one(one))


@lru_cache(maxsize=256)
def _by_left_edge(
    ornaments: tuple[Ornament, ...],
) -> tuple[Sequence[Shape], Sequence[float], float]:
    """The different shapes of ornaments by the left edges of their boxes, those edges, and how far
    control points reach beyond one at most; mm."""
    different = {shape for one in ornaments for shape in one.shapes}
    shapes = sorted(different, key=lambda one: one.box.x)
    reach = max((one.box.x - one.hull.x for one in shapes), default=0.0)
    return shapes, [one.box.x for one in shapes], reach


def _is_meant(ornament: Ornament, face: FaceRead) -> bool:
    """Whether a page is one of those that an ornament is drawn for."""
    flags = face.page.facts.flags if face.page else {}
    return all(flags.get(flag, True) for flag in ornament.flags)


def _shapes_in(arts: Sequence[Art], face: FaceRead) -> tuple[int, set[Shape]]:
    """How many things there are, and which shapes of ornaments, by their boxes and colours."""
    shapes, lefts, reach = _by_left_edge(face.slots.ornaments)
    found: set[Shape] = set()
    for art in arts if shapes else ():
        if (paint := art.item.fill or art.item.stroke) is None:
            continue
        seen, slack = art.box.edges, _ORNAMENT_MM + MITRE * art.item.stroke_mm
        first = bisect_left(lefts, seen[0] - slack)
        last = bisect_right(lefts, seen[0] + slack + reach)
        found.update(
            shape
            for shape in shapes[first:last]
            if _within(shape.box.edges, seen, slack)
            and _within(seen, shape.hull.edges, slack)
            and _same(paint[:3], shape.colour)
        )
    return len(arts), found


def _within(inner: Sequence[float], outer: Sequence[float], slack: float) -> bool:
    """Whether the edges of a box (mm) are within those of another."""
    return (
        inner[0] >= outer[0] - slack
        and inner[1] >= outer[1] - slack
        and inner[2] <= outer[2] + slack
        and inner[3] <= outer[3] + slack
    )


def _same(colour: Sequence[int], other: Sequence[int]) -> bool:
    return all(abs(a - b) <= _SAME_COLOUR for a, b in zip(colour, other, strict=True))


def shapes_on(side: SideRead) -> dict[FaceRead, int]:
    """How many lines, areas and pictures are painted on each face."""
    flats = tuple((face.placement.flat, face.shape) for face in side.faces)

    def counted(layer: Layer) -> list[int]:
        shapes = [art.face for art in side.on_leaves(layer) if art.item.kind != "text"]
        return [shapes.count(face) for face in side.faces]

    found = [side.known(layer, ("shapes", flats), counted) for layer in side.layers]
    return {face: sum(many) for face, *many in zip(side.faces, *found, strict=True)}


_OWN_SHAPE = 0.016
"""An outline so near to a sign's own (ems) is that sign; a 6 turned round is farther from a 9."""
_SIGNS = "0123456789ABCDEFGHIJKLMNOPQRSTUVWXYZabcdefghijklmnopqrstuvwxyz"
"""Signs whose shapes are compared: they have no forms that depend on their neighbours."""
_UNJOINED = frozenset(("Latn", "Grek", "Cyrl", "Hira", "Kana", "Hani"))
"""Scripts of which that is true of all letters, or of nearly all."""

_SAME_OUTLINE = 0.006
"""Outlines in a file are those of a letter to so many ems: files round their numbers."""
_COUNT = 6
"""The numbers of a shape that do not depend on how many points a program writes it with."""

_Shape = npt.NDArray[np.float64]
"""An outline, wherever its line begins, in ems: the width of its box, its lower and upper edge, the
middle of its area, the area's root, and how many points it has. All weights of a face have as many.
"""
_Forms = Sequence[Sequence[_Shape]]
"""The forms of a sign, the usual one first, each from a face's lightest weight to its boldest."""
_Shapes = Mapping[str, _Forms]


def glyph_findings(side: SideRead) -> Iterator[SetFinding]:
    """Letters that a font in the file paints in the shape of others, each font told once."""
    kept, faces = side.subject.kept, side.subject.faces
    try:
        book = faces.book()
    except UserError:
        return  # a face that cannot be read is said when sets are built of it

    def read(layer: Layer) -> dict[str, dict[str, str]]:
        return _misshapen(side, layer, book, faces.key)

    found: dict[str, dict[str, str]] = defaultdict(dict)
    for layer in side.layers:
        known = side.known(layer, ("glyphs", faces.key), read, anywhere=True)
        for name, signs in known.items():
            told = kept.setdefault(("glyphs", side.side, name), set())
            found[name] |= {sign: other for sign, other in signs.items() if sign not in told}
            told |= signs.keys()
    for name, wrong in found.items():
        if wrong:
            said = ", ".join(f"'{sign}' as '{other}'" for sign, other in sorted(wrong.items()))
            yield side.finding("glyph-wrong", f"the font {name} prints {said}")


def _misshapen(
    side: SideRead, layer: Layer, book: FontBook, faces: str
) -> dict[str, dict[str, str]]:
    """The signs that look like others in a layer, by their fonts' names."""
    used: dict[int, tuple[Any, str, set[str]]] = {}
    for font, name, text in fonts_used(side.letters, layer.texts):
        used.setdefault(address(font), (font, name, set()))[2].update(text)
    found: dict[str, dict[str, str]] = {}
    for font, name, signs in used.values():
        letters = "".join(sorted({*filter(_stands_alone, signs)} - {*_SIGNS}))
        shapes = _known_shapes(name, book)
        digest = layer.fonts.get(_outlines(side, font))
        for sign in filter(shapes.__contains__, signs & {*_SIGNS, *letters}):
            judge = partial(_off, font, sign, shapes)
            # A font that is the same to the byte paints the same.
            key = "glyph", digest, faces, name, sign
            off = JUDGED.get_or_make(key, judge) if digest else judge()
            if off is not None and (other := _mistaken(sign, off, shapes, letters)):
                found.setdefault(name, {})[sign] = other
    return found


def _outlines(side: SideRead, font: Any) -> str:
    """A digest of a font's outlines, taken once: a page that shows it is kept open."""
    kept, key = side.subject.kept, ("outlines", address(font))
    if key not in kept:
        kept[key] = side.page, outlines_digest(font)
    digest: str = kept[key][1]
    return digest


def _off(font: Any, sign: str, shapes: _Shapes) -> _Shape | None:
    """What a font paints for a sign, if that is not its own shape."""
    shown = _shape(glyph_outline(font, sign))
    return shown if shown is not None and _own(sign, shown, shapes) > _OWN_SHAPE else None


def outline_findings(side: SideRead) -> Iterator[SetFinding]:
    """Keyed texts whose letters are outlines, and not those of their words: one for each face."""
    for face, words in side.words.items():
        drawn = [art for art in words if art.item.said_by]
        wrong = [found for slot in face.slots.texts if (found := _not_its_own(face, slot, drawn))]
        if wrong:
            box, what = wrong[0]
            more = f" (and {len(wrong) - 1} more on this page)" if wrong[1:] else ""
            yield face.finding("glyph-wrong", what + more, box)


def _not_its_own(face: FaceRead, slot: Slot, drawn: Sequence[Art]) -> tuple[Rect, str] | None:
    """A key's text in outlines that lack letters of it, with what they lack."""
    said = face.said_at(slot) if slot.style and drawn else []
    form = next((form for form in face.forms[slot.key] if says_just(said, [form])), "")
    if slot.style is None or not form:
        return None
    here = [art for art in drawn if any(art.box.overlaps(text.box) for text in said)]
    painted = [
        shape[:_COUNT]
        for art in here
        for contour in letter_outlines(art.item)
        if (shape := _shape([contour])) is not None
    ]
    if not painted:
        return None
    subject = face.subject
    backwards = slot.style.right_to_left or subject.words.right_to_left  # a mirrored page's
    style = replace(slot.style, language=subject.contents.language, right_to_left=backwards)
    there, lost = np.array(painted), list[str]()
    for sign, shape in _outlines_of(form, style, subject.faces.book()):
        if np.abs(there - shape[:_COUNT]).max(axis=1).min() > _SAME_OUTLINE:
            lost.append(sign)
    if not lost:
        return None
    letters = ", ".join(f"'{sign}'" for sign in dict.fromkeys(lost))
    box = Rect.union(text.box for text in said)
    return box, f"the shapes printed for '{form}' are other letters: {letters} is not there"


@lru_cache(maxsize=4096)
def _outlines_of(text: str, style: Style, book: FontBook) -> tuple[tuple[str, _Shape], ...]:
    """Each contour of a text, with the sign that it is part of (ems); empty for what is no text."""
    try:
        runs = shape(text, style, book)
    except UserError:
        return ()  # a face that is not there is said when sets are built
    if any(run.instance.slanted or run.instance.in_colour or run.upright for run in runs):
        return ()
    found = []
    for run in runs:
        upem = run.instance.hb_face.upem / (1 if run.capitals is None else CAPITALS)
        starts = [*sorted({glyph.cluster for glyph in run.glyphs}), len(run.text)]
        for glyph in run.glyphs:
            pen = RecordingPen()
            run.instance.hb_font.draw_glyph_with_pen(glyph.gid, pen)
            sign = run.text[glyph.cluster : starts[starts.index(glyph.cluster) + 1]]
            rise = glyph.y / run.size
            for one in _cubic(pen):
                outline = _shape([[(x / upem, y / upem - rise) for x, y in one]])
                if outline is not None:
                    found.append((sign, outline))
    return tuple(found)


def _own(sign: str, shown: _Shape, shapes: _Shapes) -> float:
    """How far what is shown is (ems) from the nearest form of a sign."""
    return min(_apart(shown, form) for form in shapes[sign])


def _mistaken(sign: str, shown: _Shape, shapes: _Shapes, letters: str = "") -> str | None:
    """The other sign whose shape a sign has, if it has not its own.

    It is looked for among ``letters`` and our own alphabet and figures.
    """
    own = _own(sign, shown, shapes)
    if own <= _OWN_SHAPE:
        return None
    others = ({*_SIGNS, *letters} - {sign}) & shapes.keys()
    near, other = min((_apart(shown, shapes[name][0]), name) for name in others)
    return other if near < min(2 * _OWN_SHAPE, own / 2) else None


def _apart(shown: _Shape, weights: Sequence[_Shape]) -> float:
    """How far a shape is (ems) from the nearest weight of a face, whose shapes go from the lightest
    to the boldest."""
    known = np.array(weights)
    light, along = (known[:-1], np.diff(known, axis=0)) if len(known) > 1 else (known, 0 * known)
    length, ahead = (along**2).sum(axis=1), ((shown - light) * along).sum(axis=1)
    share = np.clip(ahead / np.where(length, length, 1), 0, 1)
    return float(np.abs(shown - light - share[:, None] * along).max(axis=1).min())


def _stands_alone(sign: str) -> bool:
    """Whether a sign is a letter of a script whose letters do not join, and with no mark apart.

    >>> _stands_alone("é"), _stands_alone("ب"), _stands_alone("5")
    (True, False, False)
    """
    return sign.isalpha() and script_of(sign) in _UNJOINED


@lru_cache(maxsize=64)
def _known_shapes(name: str, book: FontBook) -> _Shapes:
    """The shapes of a face's signs, by the font's name in a file.

    Empty for a family that the collection does not have, or has in several files.
    """
    family = {"".join(one.split()): one for one in book.families}.get(name.partition("-")[0])
    italic = "italic" in name.casefold()
    faces = [one for one in book.faces(family or "") if one.italic == italic]
    return _FaceShapes(faces[0]) if len(faces) == 1 else {}


class _FaceShapes(Mapping[str, _Forms]):
    """The shapes of a face's signs from its lightest weight to its boldest, and those of the other
    forms that the face has of them ("R.alt"), each made when it is first asked for.
    """

    def __init__(self, face: Face) -> None:
        self._blob = hb.Face(hb.Blob.from_file_path(str(face.path)))
        lightest, boldest = face.weights
        between = [weight for weight in range(100, 1000, 100) if lightest < weight < boldest]
        self._fonts = [hb.Font(self._blob) for _ in (lightest, *between, boldest)]
        if "wght" in face.axes:
            for font, weight in zip(self._fonts, (lightest, *between, boldest), strict=True):
                font.set_variations({"wght": weight})
        self._made: dict[str, _Forms] = {}

    @cached_property
    def _kinds(self) -> Mapping[str, list[int]]:
        """The further forms of glyphs, by the names of these."""
        kinds: dict[str, list[int]] = {}
        for glyph in range(self._blob.glyph_count):
            base, dot, _ = self._fonts[0].glyph_to_string(glyph).partition(".")
            if dot and base:
                kinds.setdefault(base, []).append(glyph)
        return kinds

    def __getitem__(self, sign: str) -> _Forms:
        if sign not in self._made:
            self._made[sign] = self._forms(sign)
        if not self._made[sign]:
            raise KeyError(sign)
        return self._made[sign]

    def __iter__(self) -> Iterator[str]:
        """The letters and figures that it has of our own alphabet."""
        return (sign for sign in _SIGNS if sign in self)

    def __len__(self) -> int:
        return sum(1 for _ in self)

    def _forms(self, sign: str) -> _Forms:
        first = self._fonts[0]
        if (glyph := first.get_nominal_glyph(ord(sign))) is None:
            return ()
        own = [glyph, *self._kinds.get(first.glyph_to_string(glyph), ())]
        forms = [
            [one for font in self._fonts if (one := _glyph_shape(font, each)) is not None]
            for each in own
        ]
        return tuple(filter(None, forms)) if forms[0] else ()


def _glyph_shape(font: Any, glyph: int) -> _Shape | None:
    """The shape of a glyph, in ems."""
    pen, upem = RecordingPen(), font.face.upem
    font.draw_glyph_with_pen(glyph, pen)
    return _shape([[(x / upem, y / upem) for x, y in one] for one in _cubic(pen)])


def _cubic(pen: RecordingPen) -> Iterator[list[tuple[float, float]]]:
    """The contours of a pen by all their points, quadratic curves made cubic as readers do."""
    contour: list[tuple[float, float]] = []
    for operator, points in pen.value:
        if operator == "moveTo":
            if contour:
                yield contour
            contour = [points[0]]
        elif operator == "qCurveTo":
            (x0, y0), ((x1, y1), end) = contour[-1], points
            for x, y in ((x0, y0), end):
                contour.append((x + (x1 - x) * 2 / 3, y + (y1 - y) * 2 / 3))
            contour.append(end)
        else:
            contour.extend(points)
    if contour:
        yield contour


def _shape(outline: Sequence[list[tuple[float, float]]]) -> _Shape | None:
    """What an outline looks like, in a few numbers; None when it encloses nothing."""
    area, x_area, y_area = 0.0, 0.0, 0.0
    for contour in outline:
        for (x, y), (x_next, y_next) in zip(contour, contour[1:] + contour[:1], strict=True):
            cross = x * y_next - x_next * y
            area += cross / 2
            x_area += (x + x_next) * cross / 6
            y_area += (y + y_next) * cross / 6
    if abs(area) < 1e-4:
        return None
    box = Rect.around(itertools.chain.from_iterable(outline))
    middle_x, middle_y, many = x_area / area - box.x, y_area / area - box.y, sum(map(len, outline))
    root = math.sqrt(abs(area))
    return np.array([box.width, box.y, box.bottom, middle_x, middle_y, root, many])
