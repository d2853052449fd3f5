"""Whether things lie where they should: pages on their sheets, backs behind fronts, texts on pages.

Texts must be whole, apart, and off the cuts, the holes and the fold.
"""

from __future__ import annotations

import itertools
import math
from collections.abc import Callable, Hashable, Iterator, Mapping, Sequence
from dataclasses import replace
from functools import partial
from typing import NamedTuple

import numpy as np
import numpy.typing as npt
import pypdfium2.raw as pdfium_raw

from pipeline.base.errors import UserError
from pipeline.base.geometry import Rect, mm, pt
from pipeline.fill.tablabel import TAB_EDGE_MM
from pipeline.impose.contents import upright
from pipeline.impose.imposing import Job, pile_marks
from pipeline.impose.layout import (
    FULL_MARK_MM,
    GAP_MM,
    MARK_LENGTHS_MM,
    SHORTEST_MARK_MM,
    Layout,
    Rooms,
)
from pipeline.impose.leaf import LeafFace
from pipeline.impose.margins import BAR_MM
from pipeline.impose.marks import (
    RING_MM,
    Line,
    Mark,
    MarkKind,
    Ring,
    mark_places,
    registration,
)
from pipeline.impose.sheet import Placement, Point, PrinterSettings, Sheet
from pipeline.plan.model import Paper, Side
from pipeline.proof.findings.reading import FaceRead, SideRead
from pipeline.proof.findings.subject import SetFinding, Subject
from pipeline.proof.read.objects import (
    Layer,
    Painted,
    Shown,
    form_places,
    lettered,
    middle,
    overlap,
    painted,
    points_of,
    top_forms,
    unpainted,
)
from pipeline.proof.read.raster import grey_picture
from pipeline.proof.read.text import LeafText
from pipeline.svg.transform import Matrix

OFF_MM = 0.1
"""A page so far from its place is off. Both are computed; only the rounding of a file differs."""
_TURNED = 0.05
"""Degrees that a page may lean before it counts as turned: as much as 0.2 mm along a leaf."""
_SCALED = 0.0005
"""A page larger or smaller by such a part isn't true to size: 0.1 mm along a leaf."""


class _Corner(NamedTuple):
    """Where a page's lower left corner lies on a sheet (mm), and its turn, clockwise degrees.

    ``across`` and ``down`` are how large it is shown: 1 is true size.
    """

    x: float
    y: float
    turned: float
    across: float = 1.0
    down: float = 1.0

    @property
    def true(self) -> bool:
        """Whether it is shown as large as it was drawn."""
        return max(abs(self.across - 1), abs(self.down - 1)) <= _SCALED


def misplaced(side: SideRead) -> Iterator[SetFinding]:
    """Pages of a side that do not lie where the set's contents say."""
    shown = Shown(side.page)
    there = [_corner(matrix, shown) for matrix in top_forms(side.page)]
    right = page_forms(side).values()
    for placement, wanted in _wanted(side):
        if placement not in right:
            yield _what_is_wrong(side, placement, wanted, there)


def _wanted(side: SideRead) -> Iterator[tuple[Placement, _Corner]]:
    """The pages that a side is to show, and where."""
    subject = side.subject
    for placement in (face.placement for face in side.faces):
        leaf = subject.contents.leaves[placement.leaf]
        if (note := leaf.page(placement.face)) is not None:
            whole = note.flap_mm is None or note.flap_back
            own = leaf.flap_mm if whole else note.flap_mm or 0.0
            page = subject.geometry(placement.leaf).page(placement.face, own)
            page = page.grown(subject.plan.bleed_mm)
            corner = placement.position.point(page.x, page.bottom)
            yield placement, _Corner(*corner, placement.turned)


def _same(one: _Corner, other: _Corner) -> bool:
    near = math.dist(one[:2], other[:2]) <= OFF_MM
    return near and one.true and abs(signed_angle(one.turned - other.turned)) <= _TURNED


def _what_is_wrong(
    side: SideRead, placement: Placement, wanted: _Corner, there: list[_Corner]
) -> SetFinding:
    where = (side.number, side.side, placement.leaf, placement.face)
    pages = [one for one in there if (one.x, one.y) != (0.0, 0.0)] or there
    if not pages:
        return side.subject.finding("page-missing", "nothing is printed here", *where)
    near = min(pages, key=lambda one: math.dist(one[:2], wanted[:2]))
    turn = abs(signed_angle(near.turned - wanted.turned))
    if not near.true:
        sizes = dict.fromkeys(f"{100 * size:.1f}".removesuffix(".0") for size in near[3:])
        message = f"the page is printed at {' × '.join(sizes)} % of its size"
        return side.subject.finding("page-scaled", message, *where)
    if turn > _TURNED:
        message = f"the page is turned by {turn:.1f}".removesuffix(".0") + "°"
        return side.subject.finding("back-turned", message, *where)
    message = f"the page lies {_way(Point(*wanted[:2]), Point(*near[:2]))}"
    return side.subject.finding("back-shifted", message, *where)


def unregistered(subject: Subject, sheet: Sheet) -> Iterator[SetFinding]:
    """Backs that, by the set's contents, are not behind their fronts."""
    short, (right, down) = subject.printer.flip == "short", subject.printer.back_shift_mm
    behind = {placement.leaf: placement for placement in sheet.side_2}
    for front in sheet.side_1:
        back = behind.pop(front.leaf, None)
        finding = partial(
            subject.finding, sheet=sheet.number, side=2, leaf=front.leaf, face=Side.VERSO
        )
        if back is None or back.face == front.face:
            yield finding("back-elsewhere", "it has no back behind it")
            continue
        flat = front.flat.mirrored_x(sheet.width_mm)
        if short:
            flat = flat.mirrored_x(sheet.width_mm).mirrored_y(sheet.height_mm)
        flat = flat.moved(-right, -down)  # made up for
        if abs(signed_angle(back.turned + front.turned - (180 if short else 0))) > _TURNED:
            yield finding(
                "back-turned", f"it is turned by {back.turned}° and its front by {front.turned}°"
            )
        elif max(abs(a - b) for a, b in zip(flat, back.flat, strict=True)) > OFF_MM:
            way = _way(Point(flat.x, flat.y), Point(back.flat.x, back.flat.y))
            yield finding("back-shifted", f"it lies {way or 'askew'} behind its front")
    for leaf in behind:
        yield subject.finding(
            "back-elsewhere", "it has no front before it", sheet.number, 2, leaf, Side.VERSO
        )


def _corner(matrix: Matrix, shown: Shown) -> _Corner:
    """Where a form with a matrix of PDF space lies."""
    at, along = (shown.rect(*matrix.point(length, 0) * 2) for length in (0, pt(10)))
    turned = math.degrees(math.atan2(along.y - at.y, along.x - at.x))
    return _Corner(at.x, at.y, turned, matrix.scale_x, matrix.scale_y)


def page_forms(side: SideRead) -> dict[int, Placement]:
    """The pages of a side, by the places of their forms among what the sheet paints."""
    shown, found = Shown(side.page), dict[int, Placement]()
    wanted = dict(_wanted(side))
    for place, matrix in form_places(side.page).items():
        there = _corner(matrix, shown)
        for placement, corner in wanted.items():
            if _same(there, corner):
                found[place] = placement
                del wanted[placement]
                break
    return found


def signed_angle(degrees: float) -> float:
    """An angle between -180 and 180 degrees.

    >>> signed_angle(350), signed_angle(180)
    (-10, 180)
    """
    turned = degrees % 360
    return turned - 360 if turned > 180 else turned


_SLACK_MM = 0.1
"""Boxes of letters are a little larger than their ink."""
_ROUNDED_MM = 0.05
"""Distances are said in tenths of a millimetre: what is said to keep the safe area keeps it."""
_SHARED = 0.12
"""Two texts that share so much of the smaller one's box lie on each other; tails may cross."""
_TOUCH_MM = 0.4
"""They share at least so much each way."""
CUT_MM = 0.3
"""A clip that takes so little off a letter takes only the air around it."""


def _over_edge(inked: Rect, face: LeafFace) -> str | None:
    if any(part is not None and part.holds(inked) for part in (face.opened, face.tab)):
        return None
    return "runs over the edge of the leaf"


def _across_fold(inked: Rect, face: LeafFace) -> str | None:
    fold = face.fold_x
    if fold is None or not inked.x < fold < inked.right:
        return None
    return f"runs across the fold, {fold - inked.x + _SLACK_MM:.1f} mm from its left"


def _in_punch(inked: Rect, face: LeafFace) -> str | None:
    return "is where holes are punched" if inked.overlaps(face.punch_zone) else None


def _unsafe(inked: Rect, face: LeafFace) -> str | None:
    panels = [panel for panel in (face.safe, face.flap_safe) if panel is not None]
    if any(panel.holds(inked, _ROUNDED_MM) for panel in panels):
        return None
    flat = face.opened
    if face.tab is not None and not flat.overlaps(inked):
        flat = face.tab
        if flat.grown(-TAB_EDGE_MM).holds(inked, _SLACK_MM):
            return None
    lines = [flat.x, flat.right] + ([face.fold_x] if face.fold_x is not None else [])
    across = min(abs(edge - x) for x in lines for edge in (inked.x, inked.right))
    near = min(across, inked.y - flat.y, flat.bottom - inked.bottom)
    return f"is {near:.1f} mm from a cut or fold"


TEXT_RULES: Mapping[str, Callable[[Rect, LeafFace], str | None]] = {
    "text-clipped": _over_edge,
    "text-across-fold": _across_fold,
    "text-in-punch": _in_punch,
    "text-unsafe": _unsafe,
}
"""What is wrong with the place of a text's ink, gravest first; only the first is said."""


def placing_findings(face: FaceRead) -> Iterator[SetFinding]:
    """What is wrong with where the texts of a face stand."""
    for text in face.texts:
        for rule, check in TEXT_RULES.items():
            if wrong := check(text.box.grown(-_SLACK_MM), face.shape):
                yield face.finding(rule, f"'{text.text}' {wrong}", text.box)
                break


def overlapping(side: SideRead) -> Iterator[SetFinding]:
    """Texts of a side that lie on each other: their boxes do, and so does their ink."""
    for face in side.faces:
        texts = sorted(face.texts, key=lambda text: text.box.y)
        for index, one in enumerate(texts):
            for other in texts[index + 1 :]:
                if other.box.y >= one.box.bottom:
                    break
                shared = _shared(one, other) if one.box.overlaps(other.box) else None
                if shared is not None and _inks_meet(side, face, one, other):
                    message = f"'{one.text}' and '{other.text}' overlap"
                    yield face.finding("text-overlaps", message, shared)


_NEAR_DPI = 150.0
"""Letters a pixel of this apart, a sixth of a millimetre, look as if they touched."""


def _inks_meet(side: SideRead, face: FaceRead, one: LeafText, other: LeafText) -> bool:
    """Whether the letters of two texts touch; also where they cannot be told apart.

    The bowls and marks of some scripts reach over and under what stands in other lines.
    """
    items = list(lettered(painted(side.page)))
    boxes = [face.on_leaf(item.box) for item in items]

    def drawn(text: LeafText, beside: LeafText) -> npt.NDArray[np.bool_] | None:
        own = {
            number
            for number, (item, box) in enumerate(zip(items, boxes, strict=True))
            if item.kind == "text"
            and text.box.holds(box, _SLACK_MM)
            and not beside.box.holds(box, _SLACK_MM)
        }
        if not own:
            return None
        with unpainted([item.handle for number, item in enumerate(items) if number not in own]):
            white = grey_picture(side.page, _NEAR_DPI)
            black = grey_picture(side.page, _NEAR_DPI, np.zeros_like(white))
        return (white < 192) | (black > 63)

    mine, others = drawn(one, other), drawn(other, one)
    if mine is None or others is None:
        return True
    wider = mine.copy()
    for axis, step in itertools.product((0, 1), (1, -1)):
        wider |= np.roll(mine, step, axis)
    return bool((wider & others).any())


def _shared(one: LeafText, other: LeafText) -> Rect | None:
    """What two texts that lie on each other share."""
    for box, second in itertools.product(_inked(one), _inked(other)):
        shared = overlap(box, second)
        if shared is None or min(shared.width, shared.height) < _TOUCH_MM:
            continue
        smaller = min(box.width * box.height, second.width * second.height)
        if shared.width * shared.height >= _SHARED * smaller:
            return shared
    return None


def _inked(text: LeafText) -> Sequence[Rect]:
    """Where a text's ink is: its box, but the middles of its letters where it runs aslant."""
    if not text.aslant:
        return (text.box,)
    letters = zip(text.text, text.letters, strict=True)
    return [
        middle(box).grown(min(box.width, box.height) / 4)
        for sign, box in letters
        if not sign.isspace()
    ]


def clipped(side: SideRead) -> Iterator[SetFinding]:
    """Texts that a clip of the drawing cuts off, by what is painted and what may be seen of it."""
    for item in itertools.chain.from_iterable(layer.texts for layer in side.layers):
        if item.clip is None or item.clip.holds(item.box, CUT_MM):
            continue
        for face in side.faces:
            if face.placement.flat.overlaps(item.box):
                box = upright(item.box, face.placement)
                yield face.finding(
                    "text-clipped", f"'{face.words_in(box)}' is cut off by a clip", box
                )
                break


_ASTRAY_MM = 6.0
"""A mark so near to where one is missing is that one, moved."""
_BAR_OFF_MM = 0.1
"""A ruler shows no less."""


class Stroke(NamedTuple):
    """A straight line beside the leaves, or the two ends of a ring's width; mm of the side."""

    start: Point
    end: Point
    dashed: bool = False

    @property
    def length(self) -> float:
        """From end to end, mm."""
        return math.dist(self.start, self.end)

    @property
    def middle(self) -> Point:
        """Half-way between its ends."""
        return Point((self.start.x + self.end.x) / 2, (self.start.y + self.end.y) / 2)

    @property
    def box(self) -> Rect:
        """What it takes up."""
        return Rect.around((self.start, self.end))


class MarksRead(NamedTuple):
    """The marks of a side as they were found in its file.

    ``lengths`` has each mark's name and length (mm) by where it begins on side 1; ``registers`` are
    the middles of register marks, there too.
    """

    findings: tuple[SetFinding, ...]
    lengths: Mapping[tuple[float, ...], tuple[str, float]]
    registers: tuple[Point, ...]


def marks_read(side: SideRead) -> MarksRead:
    """Reads the marks around the leaves, and holds them against where they must be.

    Where that is follows from the leaves on the side; how long they are, from the room there was.
    """
    marks = _Marks(side)
    # Sheets that are laid alike have the same marks: what is sound on one is so on all.
    sound, laid = side.subject.kept, marks.laid
    if laid in sound:
        known: MarksRead = sound[laid]
        return known
    if side.around or marks.strokes or marks.rings:
        marks.leaves()
        marks.register()
        marks.against(_planned_marks(side, marks))
        marks.bar()
    else:
        marks.say("mark-missing", "nothing is printed beside the leaves", side.sheet)
    wrong = list(marks.wrong.values())
    more = [*(one.box for one in (*marks.strokes, *marks.rings)), *marks.others]
    if more and not wrong:
        narrow, wide = sorted(more[0][2:])
        what = "a line" if narrow < OFF_MM else f"something {narrow:.1f} mm wide and"
        message = f"{what} {wide:.1f} mm long lies beside the leaves"
        wrong.append([side.finding("mark-extra", message, more[0])])
    findings = [
        replace(first, message=first.message + (f", and {len(others)} more" if others else ""))
        for first, *others in wrong
    ]
    read = MarksRead(tuple(findings), marks.lengths, tuple(one.at for one in marks.registers))
    if not findings:
        sound[laid] = read
    return read


class _Marks:
    """What is left of a side's strokes and rings while marks are recognised among them."""

    def __init__(self, side: SideRead) -> None:
        self.side = side
        self.strokes: list[Stroke] = []
        self.rings: list[Stroke] = []
        self.others: list[Rect] = []
        self.lengths: dict[tuple[float, ...], tuple[str, float]] = {}
        self.registers: list[_Register] = []
        self.wrong: dict[str, list[SetFinding]] = {}
        self.gap = max(GAP_MM, _bleed_mm(side))
        self._sort(side)

    @property
    def laid(self) -> Hashable:
        """All that marks are judged by: what was found, and where the leaves lie."""
        cuts = self.side.cuts
        leaves = tuple(
            (one.placement.position, one.shape, cuts.get(one)) for one in self.side.faces
        )
        found = *self.strokes, None, *self.rings, None, *self.others
        return "marks", self.side.side, self.side.number == 1, self.gap, leaves, found

    def _sort(self, side: SideRead) -> None:
        """Everything painted beside the leaves and their bleed, but for words."""
        leaves = tuple((face.placement.flat, face.shape) for face in side.faces)
        where = "beside", self.gap, leaves
        for layer in side.layers:
            strokes, rings, others = side.known(layer, where, self._sorted)
            self.strokes += strokes
            self.rings += rings
            self.others += others

    def _sorted(self, layer: Layer) -> tuple[list[Stroke], list[Stroke], list[Rect]]:
        shown, strokes, rings = Shown(self.side.page), list[Stroke](), list[Stroke]()
        others: list[Rect] = []
        for item, seen in self._beside(layer):
            points = points_of(item.handle) if item.kind == "path" else []
            ends = [Point(*shown.rect(*item.matrix.point(*at) * 2)[:2]) for at in points]
            if item.stroke is None or item.fill is not None or len(ends) not in (2, _RING_POINTS):
                others.append(seen)
            elif item.stroke.darkness < 0.5:
                continue  # nobody would see it, and so it is missing
            elif len(ends) == 2:
                dashes = pdfium_raw.FPDFPageObj_GetDashCount(item.handle)
                strokes.append(Stroke(ends[0], ends[1], dashes > 0))
            else:
                box = Rect.around(ends)
                level = box.y + box.height / 2
                rings.append(Stroke(Point(box.x, level), Point(box.right, level)))
        return strokes, rings, others

    def _beside(self, layer: Layer) -> list[tuple[Painted, Rect]]:
        """What is seen of a layer beside the leaves and their bleed, but for words."""
        flats = [face.placement.flat for face in self.side.faces]
        wide = [flat.grown(self.gap) for flat in flats]
        return [
            (item, seen)
            for item in layer.items
            if item.kind != "text" and (seen := item.seen) is not None
            if not any(flat.holds(seen) for flat in wide)
            and not any(flat.holds(middle(seen)) for flat in flats)
        ]

    def say(self, rule: str, message: str, place: Rect) -> None:
        """A finding; of one rule only the first is told."""
        self.wrong.setdefault(rule, []).append(self.side.finding(rule, message, place))

    def leaves(self) -> None:
        """Crop, fold and punch marks, and the outline of tabs."""
        for face in self.side.faces:
            lost = [cut for cut in face.cuts if cut not in self.side.cuts.get(face, ())]
            if lost:
                there = face.placement.position.rect(lost[0])
                message = f"the outline of the tab of leaf {face.leaf + 1} is not whole"
                self.say("mark-missing", message, there)
            for place in mark_places(face.shape):
                at, towards = place.on_sheet(face.placement.position)
                name = _called(place.kind, face, at, towards)
                begins = at.along(towards, self.gap)
                found = self._nearest(self.strokes, begins, towards)
                ring = 0.0
                if found is None:
                    self.say("mark-missing", f"{name} is missing", Rect(*begins, 0, 0))
                else:
                    self.strokes.remove(found)
                    self._held(name, found, begins, towards, place.kind)
                if place.kind is MarkKind.PUNCH:
                    ring = self._ring(name, found, begins, towards)
                if found is not None and (ring or place.kind is not MarkKind.PUNCH):
                    where = *self._before(begins), abs(towards.x)
                    key = tuple(round(value, 2) for value in where)
                    self.lengths[key] = name, found.length + ring

    def _nearest(self, strokes: list[Stroke], begins: Point, towards: Point) -> Stroke | None:
        """The stroke that lies along a step and begins nearest to a place."""
        along = [
            stroke
            for stroke in strokes
            if _aside(stroke.start, stroke.end, towards) <= OFF_MM
            and stroke.length <= FULL_MARK_MM + OFF_MM
            and math.dist(_inner(stroke, towards), begins) <= _ASTRAY_MM
        ]
        return min(along, key=lambda one: math.dist(_inner(one, towards), begins), default=None)

    def _held(
        self, name: str, found: Stroke, begins: Point, towards: Point, kind: MarkKind
    ) -> None:
        inner = _inner(found, towards)
        shortest = RING_MM / 2 if kind is MarkKind.PUNCH else SHORTEST_MARK_MM
        if math.dist(inner, begins) > OFF_MM:
            self.say("mark-moved", f"{name} lies {_way(begins, inner)}", found.box)
        elif found.length < shortest - OFF_MM:
            message = f"{name} is {found.length:.1f} mm long, too short to cut by"
            self.say("mark-short", message, found.box)
        elif found.dashed != (kind is MarkKind.FOLD):
            how = "dashed, as if to fold by" if found.dashed else "unbroken, as if to cut by"
            self.say("mark-missing", f"{name} is drawn {how}", found.box)

    def _ring(self, name: str, found: Stroke | None, begins: Point, towards: Point) -> float:
        """The ring at the end of a pin, taken away; its diameter, mm."""
        end = begins if found is None else _inner(found, Point(-towards.x, -towards.y))
        small = [ring for ring in self.rings if ring.length <= RING_MM + OFF_MM]
        near = min(small, key=lambda one: math.dist(one.middle, end), default=None)
        if near is None or math.dist(near.middle, end) > _ASTRAY_MM:
            if found is not None:
                self.say("mark-missing", f"{name} has no ring", found.box)
            return 0.0
        self.rings.remove(near)
        wanted = end.along(towards, near.length / 2)
        if found is not None and math.dist(near.middle, wanted) > OFF_MM:
            message = f"the ring of {name} lies {_way(wanted, near.middle)}"
            self.say("mark-moved", message, near.box)
        return near.length

    def register(self) -> None:
        """Register marks: a ring and a cross in its middle."""
        for ring in list(self.rings):
            arms = []
            for towards in (Point(1, 0), Point(0, 1)):
                near = [
                    stroke
                    for stroke in self.strokes
                    if _aside(stroke.start, stroke.end, towards) <= OFF_MM
                    and math.dist(stroke.middle, ring.middle) <= ring.length
                    and stroke.length <= FULL_MARK_MM + OFF_MM
                ]
                arms += sorted(near, key=lambda one: math.dist(one.middle, ring.middle))[:1]
            self.rings.remove(ring)
            for arm in arms:
                self.strokes.remove(arm)
                if math.dist(arm.middle, ring.middle) > OFF_MM:
                    message = f"a register mark's cross lies {_way(ring.middle, arm.middle)}"
                    self.say("mark-moved", message, ring.box)
            if len(arms) < 2:
                self.say("mark-missing", "a register mark has lost its cross", ring.box)
            shortest = min((arm.length for arm in arms), default=0.0)
            self.registers.append(_Register(self._before(ring.middle), shortest, ring.box))

    def against(self, planned: _PlannedMarks) -> None:
        """How long marks are, and which register marks there are, against what was laid."""
        for key, (name, length) in self.lengths.items():
            wanted = planned.lengths.get(key, length)
            told = any(name in one.message for one in self.wrong.get("mark-short", ()))
            if wanted - length > OFF_MM and not told:
                message = f"{name} is {length:.1f} mm long instead of {wanted:.1f} mm"
                self.say("mark-short", message, self.side.sheet)
        for margin, laid in planned.registers.items():
            where = "in" if self.side.side == 1 else "behind"
            name = f"the register mark {where} the {margin} margin of side 1"
            away = {math.dist(one.at, laid.at): one for one in self.registers}
            far = min(away, default=math.inf)
            if far > _ASTRAY_MM:
                self.say("mark-missing", f"{name} is missing", self.side.sheet)
            elif far > OFF_MM:
                self.say("mark-moved", f"{name} lies {far:.1f} mm off its place", away[far].box)
            elif (short := away[far]).arm and laid.arm - short.arm > OFF_MM:
                message = f"{name} is {short.arm:.1f} mm long instead of {laid.arm:.1f} mm"
                self.say("mark-short", message, short.box)

    def bar(self) -> None:
        """The bar of 100 mm and its ticks, one every 10 mm."""
        bar = max(self.strokes, key=lambda one: one.length, default=None)
        if bar is None or bar.length < BAR_MM / 2:
            message = f"the {BAR_MM:g} mm bar is missing"
            self.say("bar-wrong", message, self.side.sheet)
            return
        self.strokes.remove(bar)
        ticks = [
            one
            for one in self.strokes
            if math.dist(bar.start, one.middle) + math.dist(one.middle, bar.end)
            <= bar.length + OFF_MM
        ]
        for tick in ticks:
            self.strokes.remove(tick)
        at = sorted(math.dist(_first(bar), tick.middle) for tick in ticks)
        wrong = ""
        if abs(bar.length - BAR_MM) > _BAR_OFF_MM:
            wrong = f"is {bar.length:.1f} mm long"
        elif min(bar.box.width, bar.box.height) > _BAR_OFF_MM:
            wrong = "lies aslant"
        elif len(at) != _TICKS:
            wrong = f"has {len(at)} ticks instead of {_TICKS}"
        elif off := [n for n, tick in enumerate(at) if abs(tick - n * 10) > _BAR_OFF_MM]:
            wrong = f"has its tick for {off[0] * 10} mm at {at[off[0]]:.1f} mm"
        elif any(face.placement.flat.overlaps(bar.box.grown(0.01)) for face in self.side.faces):
            wrong = "runs over a leaf"
        if wrong:
            self.say("bar-wrong", f"the {BAR_MM:g} mm bar {wrong}", bar.box)

    def _before(self, point: Point) -> Point:
        """The place of side 1 that a place of this side is at, or behind."""
        return _before(self.side, point)


def _before(side: SideRead, point: Point) -> Point:
    """The place of side 1 that a place of a side is at, or behind."""
    if side.side == 1:
        return point
    printer, (_, _, wide, high) = side.subject.printer, side.sheet
    right, down = printer.back_shift_mm
    x, y = point.x + right, point.y + down
    return Point(x, high - y) if printer.flip == "short" else Point(wide - x, y)


class _Register(NamedTuple):
    """A register mark: its middle on side 1, how long its cross is, and its ring's box (mm)."""

    at: Point
    arm: float
    box: Rect


class _PlannedMarks(NamedTuple):
    """Marks as they were laid: how long (mm) by where they begin on side 1, as ``MarksRead``.

    ``registers`` are the register marks by the margins of side 1 they are in.
    """

    lengths: Mapping[tuple[float, ...], float]
    registers: Mapping[str, _Register]

    def agrees(self, found: _Marks) -> int:
        """How many of the marks that were found are as long as these."""
        lengths = (
            abs(self.lengths.get(where, 0.0) - length) <= OFF_MM
            for where, (_, length) in found.lengths.items()
        )
        registers = (
            any(abs(one.arm - wanted.arm) <= OFF_MM for wanted in self.registers.values())
            for one in found.registers
        )
        return sum(lengths) + sum(registers)


def _planned_marks(side: SideRead, found: _Marks) -> _PlannedMarks:
    """The marks that belong around the leaves of a sheet, computed anew from where those lie.

    All sheets of a stack have the marks of its first, but for those of leaves that they lack and
    of tabs. No file says how long its longest marks were to be: they are as long as most of those
    found.
    """
    subject = side.subject
    sheets, paper = subject.contents.sheets, subject.contents.paper
    number = sheets[side.number - 1].stack
    stack = [one for one in sheets if one.stack == number]
    key = "marks", number
    if key not in subject.kept:
        rooms = Rooms(
            Paper(paper.name, paper.name, paper.width_mm, paper.height_mm, paper.media, ""),
            PrinterSettings(unprintable_mm=subject.printer.unprintable_mm),
            max(_bleed_mm(side), subject.plan.bleed_mm),
        )
        subject.kept[key] = [
            _laid(side, stack, replace(rooms, longest_mm=longest)) for longest in MARK_LENGTHS_MM
        ]
    ways: list[_PlannedMarks] = subject.kept[key]
    return max(ways, key=lambda way: way.agrees(found))


def _laid(side: SideRead, stack: Sequence[Sheet], rooms: Rooms) -> _PlannedMarks:
    """The marks around a stack's leaves, the longest as long as ``rooms`` says."""
    positions = tuple(one.position for one in stack[0].side_1)
    layout, marks = Layout(positions, rooms), list[Mark]()
    lengths: dict[tuple[float, ...], float] = {}
    try:
        job = Job(side.subject.plan, rooms, side.subject.faces.book(), ())
        for number in range(len(positions)):
            leaves = [one.side_1[number] for one in stack if len(one.side_1) > number]
            faces = [side.subject.geometry(one.leaf).face(one.face) for one in leaves]
            marks += pile_marks(job, layout, number, faces)
    except UserError:
        return _PlannedMarks({}, {})  # there is no room for marks so long, or no face for words
    last: tuple[float, ...] = ()
    for mark in marks:
        if isinstance(mark, Line):
            last = _where(mark.start, mark.end)
            lengths[last] = math.dist(mark.start, mark.end)
        elif isinstance(mark, Ring):
            lengths[last] += mark.diameter
    registers, block = dict[str, _Register](), layout.block
    for mark in registration(layout, marks):
        if isinstance(mark, Ring):
            x, y = mark.centre
            beside = "left" if x < block.x else "right" if x > block.right else ""
            margin, ring = beside or ("upper" if y < block.y else "lower"), mark
        elif isinstance(mark, Line):
            length = math.dist(mark.start, mark.end)
            registers[margin] = _Register(ring.centre, length, ring.covers)
    return _PlannedMarks(lengths, registers)


def _where(start: Point, end: Point) -> tuple[float, ...]:
    """Where a mark begins on side 1, and whether it runs across, as ``MarksRead`` knows it."""
    return round(start.x, 2), round(start.y, 2), float(abs(end.x - start.x) > abs(end.y - start.y))


def _bleed_mm(side: SideRead) -> float:
    """How far the BleedBox reaches past the leaves; 0 where it is not the same all round."""
    trim = Rect.union(face.placement.flat for face in side.faces)
    left, bottom, right, top = map(mm, side.page.get_bleedbox())
    high = side.sheet.height
    reach = (trim.x - left, right - trim.right, trim.y - (high - top), high - bottom - trim.bottom)
    return reach[0] if max(reach) - min(reach) <= OFF_MM else 0.0


_RING_POINTS = 13
"""A circle of four curves, as cairo writes it: where it begins, and three points for each."""
_TICKS = 11


def _inner(stroke: Stroke, towards: Point) -> Point:
    """The end of a stroke from which it goes on along a step."""
    ends = (stroke.start, stroke.end)
    return min(ends, key=lambda end: end.x * towards.x + end.y * towards.y)


def _aside(one: Point, other: Point, towards: Point) -> float:
    """How far off a step along two points lie from one another, mm."""
    return abs((other.x - one.x) * towards.y - (other.y - one.y) * towards.x)


def _first(stroke: Stroke) -> Point:
    return min(stroke.start, stroke.end)


def _way(wanted: Point, found: Point) -> str:
    """How far and which way something lies from where it must be."""
    right, down = found.x - wanted.x, found.y - wanted.y
    across, along = "right" if right > 0 else "left", "down" if down > 0 else "up"
    ways = [(right, across), (down, along)]
    return " and ".join(
        f"{abs(off):.1f} mm too far {way}" for off, way in ways if abs(off) >= OFF_MM / 2
    )


_BESIDE: Mapping[tuple[float, float], str] = {
    (0, -1): "above",
    (0, 1): "below",
    (-1, 0): "left of",
    (1, 0): "right of",
}


def _called(kind: MarkKind, face: FaceRead, at: Point, towards: Point) -> str:
    """What people call a mark, by where it is on the side."""
    flat, beside = face.placement.flat, _BESIDE[towards]
    leaf = f"leaf {face.leaf + 1}"
    if kind is not MarkKind.CROP:
        return f"the {kind.value} mark {beside} {leaf}"
    height = "upper" if at.y < flat.y + flat.height / 2 else "lower"
    across = "left" if at.x < flat.x + flat.width / 2 else "right"
    return f"the crop mark {beside} the {height} {across} corner of {leaf}"


def marks_apart(
    front: SideRead, one: MarksRead, back: SideRead, other: MarksRead
) -> Iterator[SetFinding]:
    """Marks of side 2 that are not behind those of side 1, though each side's are sound."""
    if one.findings or other.findings:
        return
    left = list(one.registers)
    for place in other.registers:
        near = min(left, key=lambda known: math.dist(known, place), default=None)
        if near is None or math.dist(near, place) > _ASTRAY_MM:
            yield front.finding("mark-missing", "a register mark of side 2 is not on side 1")
            continue
        left.remove(near)
        if math.dist(near, place) > OFF_MM:
            message = f"a register mark lies {math.dist(near, place):.1f} mm off the one on side 1"
            yield back.finding("mark-moved", message)
    for _ in left:
        yield back.finding("mark-missing", "a register mark of side 1 is not on side 2")
