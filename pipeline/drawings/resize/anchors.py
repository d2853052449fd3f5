"""Which stretch moves a thing: the page's, that of artwork around it, or one by its own anchor."""

from __future__ import annotations

import re
from dataclasses import dataclass
from typing import NamedTuple

from lxml import etree

from pipeline.base.errors import UserError
from pipeline.base.geometry import Rect
from pipeline.drawings.resize.saved import names_of_element
from pipeline.drawings.resize.stretch import Span, Stretch
from pipeline.impose.leaf import LeafFace

ATTRIBUTE = "data-anchor"
WORDS = ("left", "right", "top", "bottom", "middle")
_ID = re.compile(r"anchor((?:-(?:left|right|top|bottom|middle))+)$")


class Stretches(NamedTuple):
    """Where positions go: from left to right, and from top to bottom."""

    x: Stretch
    y: Stretch

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


@dataclass(frozen=True)
class Anchor:
    """The edges a thing keeps its distance to; with both of two it stretches between them.

    With neither it keeps its place between them, in proportion, as with ``middle``.
    """

    left: bool = False
    right: bool = False
    top: bool = False
    bottom: bool = False


def anchor_of(element: etree._Element) -> Anchor | None:
    """The anchor that an element's ``data-anchor``, id or label names; None without one.

    Raises UserError for words that don't name an edge.

    >>> anchor_of(etree.fromstring('<g data-anchor="top right"/>'))
    Anchor(left=False, right=True, top=True, bottom=False)
    >>> anchor_of(etree.fromstring('<g id="anchor-bottom-2"/>'))
    Anchor(left=False, right=False, top=False, bottom=True)
    """
    value = element.get(ATTRIBUTE)
    if value is not None:
        words = value.replace(",", " ").lower().split()
        if not words or not set(words) <= set(WORDS):
            raise UserError(
                ATTRIBUTE,
                f"{value!r} doesn't name an edge",
                "write one or more of " + ", ".join(WORDS),
                element=element.get("id", ""),
            )
        return _anchor(words)
    matches = filter(None, map(_ID.match, names_of_element(element)))
    return next((_anchor(match[1].strip("-").split("-")) for match in matches), None)


def _anchor(words: list[str]) -> Anchor:
    return Anchor(*(word in words for word in ("left", "right", "top", "bottom")))


def anchored(anchor: Anchor, box: Rect, old: LeafFace, new: LeafFace, page: Stretches) -> Stretches:
    """How an anchored thing in ``box`` goes to another size; without an edge, as the page does.

    The distance is kept to the trimmed edge, to the fold and, at the binding edge, to the punch
    zone. What does not fit the new panel is made smaller, in proportion.
    """
    on_flap = is_on_flap(old, box) and new.flap is not None
    panel, target = safe_panel(old, on_flap), safe_panel(new, on_flap)
    wide = box.width if not (anchor.left and anchor.right) else None
    high = box.height if not (anchor.top and anchor.bottom) else None
    scale = min(
        1.0,
        target.width / wide if wide else 1.0,
        target.height / high if high else 1.0,
    )
    return Stretches(
        _interval(
            (box.x, box.right), (panel.x, panel.right), (target.x, target.right),
            anchor.left, anchor.right, scale, page.x,
        ),
        _interval(
            (box.y, box.bottom), (panel.y, panel.bottom), (target.y, target.bottom),
            anchor.top, anchor.bottom, scale, page.y,
        ),
    )  # fmt: skip


def _interval(
    span: Span, panel: Span, target: Span, start: bool, end: bool, scale: float, line: Stretch
) -> Stretch:
    first, last = span
    size = (last - first) * scale
    if start and end:
        to = target[0] + first - panel[0], target[1] - (panel[1] - last)
        if to[1] - to[0] < 0.1 * (last - first):
            to = line.span(first, last)
    elif start:
        to = target[0] + first - panel[0], target[0] + first - panel[0] + size
    elif end:
        to = target[1] - (panel[1] - last) - size, target[1] - (panel[1] - last)
    else:
        middle = line((first + last) / 2)
        to = middle - size / 2, middle + size / 2
    if (start != end) and (panel[0] <= first and last <= panel[1]):
        # What lay inside stays inside, however small the new panel is.
        over = min(0.0, target[1] - to[1]) + max(0.0, target[0] - to[0])
        to = to[0] + over, to[1] + over
    if last - first < 1e-6:
        return Stretch((first - 0.5, first + 0.5), (to[0] - 0.5, to[0] + 0.5))
    return Stretch((first, last), to)
