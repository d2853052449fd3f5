"""Markers drawn out as groups at the vertices of their paths (SVG 1.1, 11.6)."""

from __future__ import annotations

import copy
import math
from collections.abc import Iterator, Sequence
from typing import NamedTuple

from lxml import etree

from pipeline.base.geometry import Rect
from pipeline.svg.clip import clip_to
from pipeline.svg.paint import COST, Context, Definitions, put_transform
from pipeline.svg.path import PathData, Point, outline
from pipeline.svg.refusals import ENDLESS, error
from pipeline.svg.transform import Aspect, Matrix, angle, fitted, view_box
from pipeline.svg.tree import SVG, target
from pipeline.text.style import length

KINDS = ("marker-start", "marker-mid", "marker-end")
MARKED = frozenset(("path", "line", "polyline", "polygon"))


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
    for operator, at, points in data.segments():
        end = points[-1]
        if operator == "M":
            first = len(found)
            found.append(Vertex(*end, None, None))
            continue
        coming = _direction(end, [*points[-2::-1], at], back=True)
        found[-1] = found[-1]._replace(going=_direction(at, points))
        if operator == "Z":
            leaves = found[first].going
            found.append(Vertex(*end, coming, leaves))
            found[first] = found[first]._replace(coming=coming)
        else:
            found.append(Vertex(*end, coming, None))
    return found


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
    defs.count(element, COST)
    width = length(marker.get("markerWidth"), default=3.0)
    height = length(marker.get("markerHeight"), default=3.0)
    if width <= 0 or height <= 0:
        return
    unit = 1.0
    if marker.get("markerUnits") != "userSpaceOnUse":
        unit = length(context.style.get("stroke-width"), default=1.0)
    view = view_box(marker.get("viewBox"))
    matrix = Matrix()
    if view is not None:
        room = Rect(0, 0, width, height)
        matrix = fitted(view, room, Aspect.of(marker.get("preserveAspectRatio")))
    ref = (reference(marker.get("refX"), view, 0), reference(marker.get("refY"), view, 1))
    dx, dy = matrix.point(*ref)
    turn = _turn(marker.get("orient"), kind, vertex)
    spin = Matrix(math.cos(turn), math.sin(turn), -math.sin(turn), math.cos(turn), 0, 0)
    stand = Matrix(e=vertex.x, f=vertex.y) @ spin @ Matrix(a=unit, d=unit) @ Matrix(e=-dx, f=-dy)
    style = defs.style_of(marker)
    content = copy.deepcopy(marker)
    for inner in content.iter():
        for paint in ("fill", "stroke"):
            if (inner.get(paint) or "").startswith("context-"):
                source = str(inner.get(paint)).removeprefix("context-")
                inner.set(paint, context.style.get(source, "none"))
    for paint in ("fill", "stroke"):
        if style[paint].startswith("context-"):
            style[paint] = context.style.get(style[paint].removeprefix("context-"), "none")
    inner_context = context._replace(
        style={**style, "marker-start": "none", "marker-mid": "none", "marker-end": "none"},
        within=context.within | {name},
    )
    if view is not None:
        inner_context = inner_context._replace(width=view.width, height=view.height)
    group = defs.content(content, inner_context)
    put_transform(group, matrix)
    if marker.get("overflow", "hidden") in ("hidden", "scroll"):
        group = clip_to(group, Rect(0, 0, width, height), defs)
    outer = etree.Element(SVG + "g")
    put_transform(outer, stand)
    outer.append(group)
    yield outer


def reference(value: str | None, view: Rect | None, axis: int) -> float:
    """``refX`` or ``refY``; SVG 2 also has words for the edges and the middle."""
    words = {"left": 0.0, "top": 0.0, "center": 0.5, "right": 1.0, "bottom": 1.0}
    if value in words and view is not None:
        return (view.x, view.y)[axis] + words[value] * (view.width, view.height)[axis]
    whole = (view.width, view.height)[axis] if view is not None else 0.0
    return length(value, whole=whole)


def _turn(orient: str | None, kind: str, vertex: Vertex) -> float:
    if orient in ("auto", "auto-start-reverse"):
        reverse = orient == "auto-start-reverse" and kind == "marker-start"
        return vertex.angle + (math.pi if reverse else 0.0)
    return math.radians(angle((orient or "0").strip()) or 0.0)
