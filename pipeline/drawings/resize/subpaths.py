"""Paths by their parts: each moved on its own, written back short."""

from __future__ import annotations

import functools
from collections.abc import Iterable

from pipeline.base.geometry import decimal
from pipeline.svg.path import PathData, Point, path_data


def outline(part: PathData) -> list[Point]:
    """Points that a path goes through: its ends, and three on each curve."""
    return [
        point
        for segment in part.segments()
        if segment.operator != "Z"
        for point in segment.flattened(4)
    ]


def is_straight(part: PathData) -> bool:
    """Whether all lines of a path run level or upright, as a drawn box's do."""
    lines = [one for one in part.segments() if one.operator != "M"]
    return len(part.points) > 1 and all(
        one.operator != "C"
        and any(abs(a - b) < 1e-6 for a, b in zip(one.start, one.points[0], strict=True))
        for one in lines
    )


@functools.lru_cache(maxsize=20_000)
def subpaths(d: str) -> tuple[PathData, ...]:
    """The parts of a path's data."""
    return path_data(d).subpaths()


def path_text(parts: Iterable[PathData], decimals: int = 2) -> str:
    """The ``d`` that says these parts, in steps from point to point, without adding up roundings.

    >>> path_text(subpaths("M1 2 C 2 2 3 3 3.004 4 Z"))
    'M1 2c1 0 2 1 2 2z'
    """
    unit = 10**decimals
    text: list[str] = []
    for part in parts:
        before = ""
        grid = part.moved(lambda x, y: (round(x * unit), round(y * unit)))
        for operator, start, points in grid.segments():
            if operator == "Z":
                text.append("z")
            elif operator == "M":
                text.append("M" + _numbers(points, (0, 0), unit, decimals))
            else:
                steps = _numbers(points, start, unit, decimals)
                again = " " * (steps[0] != "-") if operator == before else operator.lower()
                text.append(again + steps)
            before = operator
    return "".join(text)


def _numbers(points: Iterable[Point], origin: Point, unit: int, n: int) -> str:
    words = ""
    for point in points:
        for value, start in zip(point, origin, strict=True):
            word = number((value - start) / unit, n)
            words += word if not words or word.startswith("-") else " " + word
    return words


def number(value: float, decimals: int = 2) -> str:
    """A number without idle noughts.

    >>> number(1.5), number(-0.25), number(3.0), number(-0.001)
    ('1.5', '-.25', '3', '0')
    """
    text = decimal(value, decimals)
    return text.replace("0.", ".", 1) if text.startswith(("0.", "-0.")) else text
