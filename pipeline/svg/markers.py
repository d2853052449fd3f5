"""What lies along a shape's line: dashes, points of no length, and markers as plain groups."""

from __future__ import annotations

import copy
import itertools
import math
from collections.abc import Iterator, Mapping, Sequence
from operator import eq
from typing import NamedTuple

from fontTools.misc.bezierTools import approximateCubicArcLength
from lxml import etree

from pipeline.base.geometry import Rect
from pipeline.svg.clip import clip_to
from pipeline.svg.paint import COST, WHOLE, Context, Definitions, bind_context, put_transform
from pipeline.svg.path import PathData, Point, outline, written
from pipeline.svg.refusals import ENDLESS, error
from pipeline.svg.transform import Aspect, Matrix, angle, fitted, shows_nothing, view_box
from pipeline.svg.tree import SVG, strip, target
from pipeline.text.style import length, lengths

KINDS = ("marker-start", "marker-mid", "marker-end")

_SPECK = 0.01
"""How long a point of no length is made, as a share of its stroke's width: PDF leaves out such
points unless their ends are round (ISO 32000-1, 8.5.3.2), and some readers draw them all longer."""


def encloses(data: PathData) -> bool:
    """Whether a path has an area to fill; readers draw hairlines where one that has none is filled.

    >>> encloses(PathData("MLL", (0, 0, 5, 0, 5, 5))), encloses(PathData("MLL", (0, 0, 5, 0, 9, 0)))
    (True, False)
    """
    if len(data.coordinates) >= 6 and "M" not in data.operators[1:3]:
        x, y, across, down, dx, dy = data.coordinates[:6]
        across, down, dx, dy = across - x, down - y, dx - x, dy - y
        if abs(across * dy - down * dx) > _LEVEL * (across * across + down * down):
            return True
    if "M" not in data.operators[1:] and "Z" not in data.operators[:-1]:
        return _apart(data.points)
    return any(_apart(part.points) for part in data.subpaths())


_LEVEL = 1e-9
"""How far points on one line may lie off it, as a share of the length of its first part."""


def _apart(points: Sequence[Point]) -> bool:
    """Whether points do not all lie on one line."""
    x, y = points[0] if points else (0.0, 0.0)
    ways = [(to_x - x, to_y - y) for to_x, to_y in points if (to_x, to_y) != (x, y)]
    across, down = ways[0] if ways else (0.0, 0.0)
    least = _LEVEL * (across * across + down * down)
    return any(abs(across * dy - down * dx) > least for dx, dy in ways)


def draw_points(element: etree._Element, style: Mapping[str, str]) -> None:
    """Gives subpaths of no length something to be drawn of, where their ends show them.

    Round and square ends do (SVG 2, 13.5.4).
    """
    if style["stroke-linecap"] == "butt":
        return
    data = outline(element)
    speck = _SPECK * length(style["stroke-width"], default=1.0)
    parts = [
        PathData("ML", (*part.points[0], part.points[0][0] + speck, part.points[0][1]))
        if len(part.operators) > 1 and len(set(part.points)) == 1
        else part
        for part in (data.subpaths() if may_have_points(data) else ())
    ]
    mended = PathData(
        "".join(part.operators for part in parts),
        tuple(itertools.chain.from_iterable(part.coordinates for part in parts)),
    )
    if parts and mended != data:
        strip(element, "x1", "y1", "x2", "y2", "points")
        element.tag = SVG + "path"
        element.set("d", written(mended))


def may_have_points(data: PathData) -> bool:
    """Whether a path has a part of no length, which may be a subpath of its own."""
    operators, points = data.operators, data.points
    if "MZ" in operators:
        return True
    same = bytes(map(eq, points, points[1:]))  # whether a point lies where the one before it does
    if "ZL" not in operators and "ZC" not in operators:
        step = b"\1" if "L" in operators else b"\1\1\1"
        if step not in same:
            return False
    return any(
        operator in "LC" and points.count(start) == len(points)
        for operator, start, points in data.segments()
    )


def plain_dashes(element: etree._Element, style: Mapping[str, str]) -> None:
    """Gives a stroke dashes in user units, none of them of no length.

    With ``pathLength`` they are shares of it (SVG 2, 9.6.1). A dash of no length shows where its
    ends do.
    """
    own_length = length(element.get("pathLength"), default=-1.0)
    strip(element, "pathLength")
    dashes = [] if style["stroke-dasharray"] == "none" else lengths(style["stroke-dasharray"])
    if not dashes or (own_length < 0 and min(dashes) > 0):
        return
    offset = length(style["stroke-dashoffset"])
    if own_length >= 0:
        factor = _length_of(outline(element)) / own_length if own_length else 0.0
        dashes, offset = [factor * dash for dash in dashes], factor * offset
    speck = 0.0
    if style["stroke-linecap"] != "butt":
        speck = _SPECK * length(style["stroke-width"], default=1.0)
    plain, offset = _merged(dashes * (1 + len(dashes) % 2), offset, speck)
    if len(plain) == 1:
        element.set("stroke", "none")
    element.set("stroke-dasharray", " ".join(f"{dash:.9g}" for dash in plain) or "none")
    element.set("stroke-dashoffset", f"{offset:.9g}")


def _merged(dashes: Sequence[float], offset: float, speck: float) -> tuple[Sequence[float], float]:
    """Dashes and gaps in turn without any of no length, and the offset that they now need.

    Dashes of no length are ``speck`` long. No dashes stand for an unbroken line, a single one for
    none at all.
    """
    runs: list[tuple[bool, float]] = []
    for number, each in enumerate(dashes):
        drawn, share = number % 2 == 0, each
        if drawn and not each:
            share = speck
        elif not drawn and not dashes[number - 1]:
            share = max(each - speck, 0.0)
        if runs and runs[-1][0] == drawn:
            runs[-1] = drawn, runs[-1][1] + share
        elif share:
            runs.append((drawn, share))
    if len({drawn for drawn, _ in runs}) < 2:
        return ((), 0.0) if not runs or runs[0][0] else ((1.0,), 0.0)
    if runs[0][0] == runs[-1][0]:
        offset += runs[-1][1]
        runs[0] = runs[0][0], runs[0][1] + runs.pop()[1]
    if not runs[0][0]:
        offset -= runs[0][1]
        runs.append(runs.pop(0))
    return [share for _, share in runs], offset


def _length_of(data: PathData) -> float:
    """How long a path is."""
    return sum(
        approximateCubicArcLength(start, *points) if operator == "C"
        else math.dist(start, points[0]) if operator != "M" else 0.0
        for operator, start, points in data.segments()
    )  # fmt: skip


class Vertex(NamedTuple):
    """A vertex of a path and the directions (radians) in which the path comes and goes."""

    x: float
    y: float
    coming: float | None
    going: float | None

    @property
    def angle(self) -> float:
        """Half way between both directions."""
        if self.coming is None or self.going is None:
            return self.going if self.coming is None and self.going is not None else (
                self.coming or 0.0
            )  # fmt: skip
        x = math.cos(self.coming) + math.cos(self.going)
        y = math.sin(self.coming) + math.sin(self.going)
        return math.atan2(y, x) if math.hypot(x, y) > 1e-9 else self.coming + math.pi / 2


def vertices(data: PathData) -> list[Vertex]:
    """Every vertex of a path in order; a closed subpath ends where it began.

    >>> corner = vertices(PathData("MLL", (0, 0, 5, 0, 5, 5)))
    >>> [round(math.degrees(vertex.angle)) for vertex in corner]
    [0, 45, 90]
    """
    found: list[Vertex] = []
    first = 0  # of the subpath's vertices
    ways = _ways(data)
    for (operator, _, points), (going, coming) in zip(data.segments(), ways, strict=True):
        end = points[-1]
        if operator == "M":
            first = len(found)
            found.append(Vertex(*end, None, None))
            continue
        found[-1] = found[-1]._replace(going=going)
        if operator == "Z":
            leaves = found[first].going
            found.append(Vertex(*end, coming, leaves))
            found[first] = found[first]._replace(coming=coming)
        else:
            found.append(Vertex(*end, coming, None))
    return found


def _ways(data: PathData) -> list[tuple[float | None, float | None]]:
    """In which direction each step of a path sets out, and in which it arrives.

    A step of no length goes as the one before it, else as the one after it, else to the right
    (SVG 2, 9.5.1).
    """
    ways: list[tuple[float | None, float | None]] = []
    for operator, at, points in data.segments():
        if operator == "M":
            ways.append((None, None))
            continue
        going = _direction(at, points)
        coming = _direction(points[-1], [*points[-2::-1], at], back=True)
        if coming is None:
            going = coming = ways[-1][1]
        ways.append((going, coming))
    following: float | None = None
    for number in reversed(range(len(ways))):
        if data.operators[number] == "M":
            following = None
        elif ways[number][0] is None:
            following = following or 0.0
            ways[number] = following, following
        else:
            following = ways[number][0]
    return ways


def _direction(start: Point, points: Sequence[Point], back: bool = False) -> float | None:
    for x, y in points:
        dx, dy = x - start[0], y - start[1]
        if math.hypot(dx, dy) > 1e-9:
            return math.atan2(-dy, -dx) if back else math.atan2(dy, dx)
    return None


def marks(element: etree._Element, context: Context, defs: Definitions) -> list[etree._Element]:
    """The markers of a shape as groups, in its own coordinates, in the order they are painted."""
    ends = {kind: defs.find(target(context.style.get(kind))) for kind in KINDS}
    if not any(marker is not None and marker.tag == SVG + "marker" for marker in ends.values()):
        return []
    places = vertices(outline(element))
    drawn: list[etree._Element] = []
    for number, vertex in enumerate(places):
        kind = "marker-mid"
        kinds = [kind]
        if number == 0:
            kinds = ["marker-start"]
        if number == len(places) - 1:
            kinds = ["marker-end"] if number else ["marker-start", "marker-end"]
        for kind in kinds:
            marker = ends[kind]
            if marker is not None and marker.tag == SVG + "marker":
                drawn += _mark(marker, kind, vertex, element, context, defs)
    return drawn


def _mark(
    marker: etree._Element,
    kind: str,
    vertex: Vertex,
    element: etree._Element,
    context: Context,
    defs: Definitions,
) -> Iterator[etree._Element]:
    name = str(marker.get("id"))
    if name in context.within:
        raise error(element, ENDLESS, defs.name)
    defs.count(element, 2 * COST)
    em = defs.em_of(marker)
    width = length(marker.get("markerWidth"), em, context.width, default=3.0)
    height = length(marker.get("markerHeight"), em, context.height, default=3.0)
    if width <= 0 or height <= 0 or shows_nothing(marker.get("viewBox")):
        return
    unit = 1.0
    if marker.get("markerUnits") != "userSpaceOnUse":
        unit = length(context.style.get("stroke-width"), default=1.0)
    view = view_box(marker.get("viewBox"))
    matrix = Matrix()
    if view is not None:
        room = Rect(0, 0, width, height)
        matrix = fitted(view, room, Aspect.of(marker.get("preserveAspectRatio")))
    shown = view or Rect(0, 0, width, height)
    ref = [reference(marker.get(f"ref{axis}"), em, shown, n) for n, axis in enumerate("XY")]
    dx, dy = matrix.point(*ref)
    turn = _turn(marker.get("orient"), kind, vertex)
    spin = Matrix(math.cos(turn), math.sin(turn), -math.sin(turn), math.cos(turn), 0, 0)
    stand = Matrix(e=vertex.x, f=vertex.y) @ spin @ Matrix(a=unit, d=unit) @ Matrix(e=-dx, f=-dy)
    inner_context = context._replace(
        width=shown.width,
        height=shown.height,
        em=em,
        style=defs.style_of(marker),
        within=context.within | {name},
    )
    content = copy.deepcopy(marker)
    soft = {each: str(marker.get(each)) for each in WHOLE if each in marker.attrib}
    if soft:
        whole = etree.Element(SVG + "g", soft)
        whole.extend(list(content))
        content.append(whole)
    group = defs.content(content, inner_context)
    put_transform(group, matrix)
    if marker.get("overflow", "hidden") in ("hidden", "scroll"):
        group = clip_to(group, Rect(0, 0, width, height), defs)
    outer = etree.Element(SVG + "g")
    put_transform(outer, stand)
    outer.append(group)
    bind_context(outer, element, context, defs)
    yield outer


def reference(value: str | None, em: float, shown: Rect, axis: int) -> float:
    """``refX`` or ``refY``; SVG 2 also has words for the edges and the middle."""
    words = {"left": 0.0, "top": 0.0, "center": 0.5, "right": 1.0, "bottom": 1.0}
    whole = (shown.width, shown.height)[axis]
    if value in words:
        return (shown.x, shown.y)[axis] + words[value] * whole
    return length(value, em, whole)


def _turn(orient: str | None, kind: str, vertex: Vertex) -> float:
    if orient in ("auto", "auto-start-reverse"):
        reverse = orient == "auto-start-reverse" and kind == "marker-start"
        return vertex.angle + (math.pi if reverse else 0.0)
    return math.radians(angle((orient or "0").strip()) or 0.0)
