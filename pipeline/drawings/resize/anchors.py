"""Anchors the illustrator tells: which edges of its panel a thing keeps its distance to."""

from __future__ import annotations

import re
from dataclasses import dataclass

from lxml import etree

from pipeline.base.errors import UserError
from pipeline.base.geometry import Rect
from pipeline.drawings.resize.drawing import names
from pipeline.drawings.resize.stretch import Stretch
from pipeline.impose.leaf import Face

ATTRIBUTE = "data-anchor"
WORDS = ("left", "right", "top", "bottom", "middle")
_ID = re.compile(r"anchor((?:-(?:left|right|top|bottom|middle))+)$")


@dataclass(frozen=True)
class Told:
    """The edges a thing keeps its distance to; with both of two it stretches between them.

    With neither it keeps its place between them, in proportion, as with ``middle``.
    """

    left: bool = False
    right: bool = False
    top: bool = False
    bottom: bool = False


def told_of(element: etree._Element) -> Told | None:
    """What an element's ``data-anchor``, id or label tells; None when nothing.

    Raises UserError for words that are no edges.

    >>> told_of(etree.fromstring('<g data-anchor="top right"/>'))
    Told(left=False, right=True, top=True, bottom=False)
    >>> told_of(etree.fromstring('<g id="anchor-bottom-2"/>'))
    Told(left=False, right=False, top=False, bottom=True)
    """
    said = element.get(ATTRIBUTE)
    if said is not None:
        words = said.replace(",", " ").lower().split()
        unknown = [word for word in words if word not in WORDS]
        if unknown or not words:
            raise UserError(
                f"element {element.get('id', '')!r}, {ATTRIBUTE}",
                f"{said!r} tells no edge",
                "write some of " + ", ".join(WORDS),
            )
        return _told(words)
    for name in names(element):
        match = _ID.match(name)
        if match:
            return _told(match[1].strip("-").split("-"))
    return None


def _told(words: list[str]) -> Told:
    return Told(*(word in words for word in ("left", "right", "top", "bottom")))


def told_stretches(
    told: Told, box: Rect, old: Face, new: Face, x: Stretch, y: Stretch
) -> tuple[Stretch, Stretch]:
    """How a thing in ``box`` goes to another size, given how what is not told goes.

    The distance is kept to the trimmed edge, to the fold and, at the binding edge, to the punch
    zone. What does not fit the new panel is made smaller, in proportion.
    """
    panel, target = _panel(box, old, new)
    wide = box.width if not (told.left and told.right) else None
    high = box.height if not (told.top and told.bottom) else None
    scale = min(
        1.0,
        target.width / wide if wide else 1.0,
        target.height / high if high else 1.0,
    )
    across = _interval(
        (box.x, box.right), (panel.x, panel.right), (target.x, target.right),
        told.left, told.right, scale, x,
    )  # fmt: skip
    along = _interval(
        (box.y, box.bottom), (panel.y, panel.bottom), (target.y, target.bottom),
        told.top, told.bottom, scale, y,
    )  # fmt: skip
    return across, along


def _panel(box: Rect, old: Face, new: Face) -> tuple[Rect, Rect]:
    """The safe area that a box lies in, and the one it goes to."""
    middle = box.x + box.width / 2
    if old.flap and new.flap and old.flap.x <= middle <= old.flap.right:
        return old.flap_safe or old.flap, new.flap_safe or new.flap
    return old.safe, new.safe


def _interval(
    span: tuple[float, float],
    panel: tuple[float, float],
    target: tuple[float, float],
    start: bool,
    end: bool,
    scale: float,
    line: Stretch,
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
