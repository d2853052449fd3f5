"""Where on the page things lie: boxes of texts, and the lines that shapes are drawn with."""

from __future__ import annotations

from collections.abc import Iterator

from lxml import etree

from pipeline.base.errors import UserError
from pipeline.base.geometry import Rect
from pipeline.drawings.checks.drawing import property_of
from pipeline.fill.template import computed_style, rect_of
from pipeline.svg.path import PathData, outline
from pipeline.svg.transform import Matrix
from pipeline.svg.tree import SVG, inherited
from pipeline.text.fonts import FontBook
from pipeline.text.shape import advance
from pipeline.text.style import length

_ASCENT, _DESCENT = 0.75, 0.22
"""How far letters reach above and below their baseline, as shares of their size (by eye)."""

_CURVE_STEPS = 8
"""Of a curve so many points are looked at: enough to tell what it is near."""

Points = list[tuple[float, float]]


def text_boxes(text: etree._Element, matrix: Matrix, book: FontBook) -> list[Rect]:
    """The boxes of a text's lines, mm on the page; none where its font is not there.

    Text on a path is left out: it lies where the path does.
    """
    boxes = []
    for run, words, x, y in _lines(text):
        style = computed_style(run)
        try:
            width = advance(words, style, book)
        except UserError:
            continue
        anchor = inherited(run, "text-anchor") or "start"
        left = x - {"middle": width / 2, "end": width}.get(anchor, 0.0)
        size = style.size
        boxes.append(
            matrix.bounds(Rect(left, y - _ASCENT * size, width, (_ASCENT + _DESCENT) * size))
        )
    return boxes


def _lines(text: etree._Element) -> Iterator[tuple[etree._Element, str, float, float]]:
    """A text's lines: what begins at a place of its own, with its words and that place."""
    x = y = 0.0
    words, run = "", text
    for element in text.iter():
        if element.tag == SVG + "textPath":
            return
        own = [_first(element.get(name)) for name in ("x", "y")]
        moves = [_first(element.get(name)) or 0.0 for name in ("dx", "dy")]
        if any(value is not None for value in own) or moves[1]:
            if words.strip():
                yield run, words.strip(), x, y
            x = (own[0] if own[0] is not None else x) + moves[0]
            y = (own[1] if own[1] is not None else y) + moves[1]
            words, run = "", element
        if not words.strip():
            run = element
        words += " ".join((element.text or "").split())
    if words.strip():
        yield run, words.strip(), x, y


def _first(value: str | None) -> float | None:
    parts = (value or "").replace(",", " ").split()
    return length(parts[0]) if parts else None


def is_inked(element: etree._Element) -> bool:
    """Whether a shape is filled or stroked at all, and seen."""
    fill, stroke = property_of(element, "fill") or "black", property_of(element, "stroke")
    if property_of(element, "visibility") in ("hidden", "collapse"):
        return False
    return fill not in ("none", "transparent") or is_stroked(element, stroke)


def is_stroked(element: etree._Element, stroke: str | None = None) -> bool:
    """Whether a shape or text has a stroke that is drawn."""
    stroke = property_of(element, "stroke") if stroke is None else stroke
    width = length(property_of(element, "stroke-width"), default=1.0)
    return stroke not in ("", "none", "transparent") and width > 0


def outlines(element: etree._Element, matrix: Matrix) -> list[Points]:
    """A shape's subpaths as chains of points, mm on the page."""
    data = _box_outline(element) if element.tag == SVG + "image" else outline(element)
    chains: list[Points] = []
    for segment in data.segments():
        if segment.operator == "M":
            chains.append([])
        chains[-1] += [matrix.point(x, y) for x, y in segment.flattened(_CURVE_STEPS)]
    return chains


def _box_outline(element: etree._Element) -> PathData:
    x, y, width, height = rect_of(element)
    return PathData("MLLLZ", (x, y, x + width, y, x + width, y + height, x, y + height))


def hull(chains: list[Points]) -> Rect | None:
    """The upright box around chains of points."""
    points = [point for chain in chains for point in chain]
    return Rect.around(points) if points else None


def runs_through(chains: list[Points], zone: Rect) -> bool:
    """Whether the lines between the points come into a rectangle (more than to its edge)."""
    slack = 0.01
    inner = zone.grown(-slack)
    for chain in chains:
        for (ax, ay), (bx, by) in zip(chain, chain[1:] or chain, strict=False):
            if _meets(ax, ay, bx, by, inner):
                return True
    return False


def _meets(ax: float, ay: float, bx: float, by: float, zone: Rect) -> bool:
    """Whether a straight line has a point inside a rectangle (Liang and Barsky's clipping)."""
    low, high = 0.0, 1.0
    for start, step, least, most in (
        (ax, bx - ax, zone.x, zone.right),
        (ay, by - ay, zone.y, zone.bottom),
    ):
        if abs(step) < 1e-12:
            if not least <= start <= most:
                return False
            continue
        one, other = (least - start) / step, (most - start) / step
        low, high = max(low, min(one, other)), min(high, max(one, other))
        if low > high:
            return False
    return True
