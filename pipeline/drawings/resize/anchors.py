"""Which stretch moves a thing: the page's, that of artwork around it, or one by its own anchor."""

from __future__ import annotations

import re
from typing import NamedTuple

from lxml import etree

from pipeline.base.errors import UserError
from pipeline.base.geometry import Rect
from pipeline.drawings.resize.stretch import Span, Stretch
from pipeline.impose.leaf import LeafFace
from pipeline.svg.path import Point
from pipeline.svg.tree import names

_ATTRIBUTE = "data-keeps-to"
_WORDS = ("left", "right", "top", "bottom", "middle")
_OLD_ATTRIBUTE = "data-anchor"
_OLD_NAME = re.compile(r"anchor(?:-(?:left|right|top|bottom|middle))+$")
_NAME = re.compile(r"keeps((?:-(?:left|right|top|bottom|middle))+)$")


class Stretches(NamedTuple):
    """Where positions go: from left to right, and from top to bottom."""

    x: Stretch
    y: Stretch

    def point(self, x: float, y: float) -> Point:
        """Where a point goes."""
        return self.x(x), self.y(y)

    def rect(self, box: Rect) -> Rect:
        """Where a box goes."""
        (left, right), (top, bottom) = self.x.span(box.x, box.right), self.y.span(box.y, box.bottom)
        return Rect(left, top, right - left, bottom - top)

    def least(self, box: Rect) -> float:
        """How much larger a box becomes, by the side that grows less."""
        return min(self.x.slope(box.x, box.right), self.y.slope(box.y, box.bottom))


def sliced(bounds: Rect, depth: float, page: Stretches) -> Stretches:
    """How a frame stretches: its four sides keep their thickness, what is between them gives."""
    return Stretches(
        _sliced(bounds.x, bounds.right, depth, page.x),
        _sliced(bounds.y, bounds.bottom, depth, page.y),
    )


def _sliced(start: float, end: float, depth: float, line: Stretch) -> Stretch:
    first, last = line.span(start, end)
    if last - first <= 2 * depth or end - start <= 2 * depth:
        return Stretch((start, end), (first, last))
    return Stretch(
        (start, start + depth, end - depth, end), (first, first + depth, last - depth, last)
    )


def is_on_flap(face: LeafFace, box: Rect) -> bool:
    """Whether the middle of a box lies on a page's flap."""
    return face.flap is not None and face.flap.x <= box.x + box.width / 2 <= face.flap.right


def safe_panel(face: LeafFace, on_flap: bool) -> Rect:
    """The safe area of a page, or of its flap where it has one, mm."""
    return (face.flap_safe or face.flap) if on_flap and face.flap else face.safe


def anchor_of(element: etree._Element) -> frozenset[str] | None:
    """The edges that an element's ``data-keeps-to`` or a name of it asks for; None without either.

    To these it keeps its distance, and stretches between both of two. With neither of two it keeps
    its place between them, in proportion, as with ``middle``. Raises UserError for words that
    don't name an edge.

    >>> sorted(anchor_of(etree.fromstring('<g data-keeps-to="top right"/>')))
    ['right', 'top']
    >>> anchor_of(etree.fromstring('<g data-names="keeps-bottom"/>'))
    frozenset({'bottom'})
    """
    value = element.get(_ATTRIBUTE)
    if element.get(_OLD_ATTRIBUTE) is not None or any(map(_OLD_NAME.match, names(element))):
        raise UserError(
            "resizing",
            "'anchor' is no longer read",
            f"write {_ATTRIBUTE} for data-anchor, and keeps-… for an id that begins with anchor-",
            element=element.get("id", ""),
        )
    if value is not None:
        words = value.replace(",", " ").lower().split()
        if not words or not set(words) <= set(_WORDS):
            raise UserError(
                _ATTRIBUTE,
                f"{value!r} doesn't name an edge",
                "write one or more of " + ", ".join(_WORDS),
                element=element.get("id", ""),
            )
        return frozenset(words)
    matches = filter(None, map(_NAME.match, names(element)))
    return next((frozenset(match[1].strip("-").split("-")) for match in matches), None)


def anchored(
    edges: frozenset[str], box: Rect, old: LeafFace, new: LeafFace, page: Stretches
) -> Stretches:
    """How a thing in ``box`` goes to another size by its edges; without one, as the page does.

    The distance is kept to the trimmed edge, to the fold and, at the binding edge, to the punch
    zone. What does not fit the new panel is made smaller, in proportion.
    """
    on_flap = is_on_flap(old, box) and new.flap is not None
    panel, target = safe_panel(old, on_flap), safe_panel(new, on_flap)
    scale = 1.0
    if box.width and not {"left", "right"} <= edges:
        scale = min(scale, target.width / box.width)
    if box.height and not {"top", "bottom"} <= edges:
        scale = min(scale, target.height / box.height)
    return Stretches(
        _interval(
            (box.x, box.right), (panel.x, panel.right), (target.x, target.right),
            "left" in edges, "right" in edges, scale, page.x,
        ),
        _interval(
            (box.y, box.bottom), (panel.y, panel.bottom), (target.y, target.bottom),
            "top" in edges, "bottom" in edges, scale, page.y,
        ),
    )  # fmt: skip


def _interval(
    span: Span, panel: Span, target: Span, start: bool, end: bool, scale: float, line: Stretch
) -> Stretch:
    first, last = span
    size = (last - first) * scale
    from_start, from_end = target[0] + first - panel[0], target[1] - (panel[1] - last)
    middle = line((first + last) / 2)
    to = middle - size / 2, middle + size / 2
    if start and end:
        to = from_start, from_end
        if to[1] - to[0] < 0.1 * (last - first):
            to = line.span(first, last)
    elif start or end:
        to = (from_start, from_start + size) if start else (from_end - size, from_end)
        if panel[0] <= first and last <= panel[1]:
            # What lay inside stays inside, however small the new panel is.
            over = min(0.0, target[1] - to[1]) + max(0.0, target[0] - to[0])
            to = to[0] + over, to[1] + over
    if last - first < 1e-6:
        return Stretch((first - 0.5, first + 0.5), (to[0] - 0.5, to[0] + 0.5))
    return Stretch((first, last), to)
