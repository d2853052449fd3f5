"""Shapes of artwork, taken apart as far as they can be moved apart."""

from __future__ import annotations

from dataclasses import dataclass

from lxml import etree

from pipeline.base.geometry import Rect


@dataclass(frozen=True)
class Piece:
    """A shape of artwork, or one part of a path; ``part`` is None for the whole element."""

    element: etree._Element
    part: int | None
    bounds: Rect
    points: tuple[tuple[float, float], ...]
    """Points on its outline, on the page: corners, ends and middles of curves."""
    straight: bool = False
    """Whether it is made of level and upright lines only."""


def gap_between(one: Rect, other: Rect) -> float:
    """How far two boxes are apart, mm; less than 0 when they overlap."""
    across = max(one.x - other.right, other.x - one.right)
    along = max(one.y - other.bottom, other.y - one.bottom)
    return max(across, along)
