"""Paths by their parts: each moved on its own, written back short."""

from __future__ import annotations

import functools
import itertools
from collections.abc import Callable, Iterable
from typing import NamedTuple

from pipeline.svg.path import path_data

_TAKES = {"M": 1, "L": 1, "C": 3, "Z": 0}

Point = tuple[float, float]


class Subpath(NamedTuple):
    """One part of a path: its operators (``M``, ``L``, ``C``, ``Z``) and all their points."""

    operators: str
    points: tuple[Point, ...]

    def moved(self, to: Callable[[float, float], Point]) -> Subpath:
        """The same part with every point taken elsewhere."""
        return Subpath(self.operators, tuple(to(x, y) for x, y in self.points))

    def outline(self) -> list[Point]:
        """Points that the line goes through: its ends, and three on each curve."""
        found: list[Point] = []
        at = 0
        for operator in self.operators:
            taken = self.points[at : at + _TAKES[operator]]
            at += len(taken)
            if operator == "C":
                found += [_on_curve((found[-1], *taken), t) for t in (0.25, 0.5, 0.75)]
            found += taken[-1:]
        return found

    @property
    def is_straight(self) -> bool:
        """Whether all its lines run level or upright, as a drawn box's do."""
        if "C" in self.operators or len(self.points) < 2:
            return False
        ends = [*self.points, self.points[0]] if "Z" in self.operators else list(self.points)
        pairs = itertools.pairwise(ends)
        return all(abs(a[0] - b[0]) < 1e-6 or abs(a[1] - b[1]) < 1e-6 for a, b in pairs)


def _on_curve(points: tuple[Point, ...], t: float) -> Point:
    """A point of a cubic curve."""
    u = 1 - t
    weights = (u**3, 3 * u * u * t, 3 * u * t * t, t**3)
    x, y = (sum(w * p[axis] for w, p in zip(weights, points, strict=True)) for axis in (0, 1))
    return x, y


@functools.lru_cache(maxsize=20_000)
def subpaths(d: str) -> tuple[Subpath, ...]:
    """The parts of a path's data.

    >>> [part.operators for part in subpaths("M0 0h5M10 10v5h5z")]
    ['ML', 'MLLZ']
    """
    operators, numbers = path_data(d)
    points = list(zip(numbers[::2], numbers[1::2], strict=True))
    parts: list[tuple[str, list[Point]]] = []
    at = 0
    for operator in operators:
        if operator == "M" or not parts or (parts[-1][0].endswith("Z") and operator != "Z"):
            # What goes on after a "z" begins where that part began.
            begun = parts[-1][1][:1] if operator != "M" and parts else []
            parts.append(("M" if begun else "", list(begun)))
        taken = points[at : at + _TAKES[operator]]
        parts[-1] = (parts[-1][0] + operator, parts[-1][1] + taken)
        at += len(taken)
    return tuple(Subpath(operators, tuple(points)) for operators, points in parts)


def path_text(parts: Iterable[Subpath], decimals: int = 2) -> str:
    """The ``d`` that says these parts, in steps from point to point, without adding up roundings.

    >>> path_text(subpaths("M1 2 C 2 2 3 3 3.004 4 Z"))
    'M1 2c1 0 2 1 2 2z'
    """
    unit = 10**decimals
    text: list[str] = []
    for part in parts:
        grid = [(round(x * unit), round(y * unit)) for x, y in part.points]
        at, (x, y) = 0, (0, 0)
        before = ""
        for operator in part.operators:
            if operator == "Z":
                text.append("z")
                before = ""
                continue
            taken = grid[at : at + _TAKES[operator]]
            at += len(taken)
            if operator == "M":
                text.append("M" + _numbers(taken, (0, 0), unit, decimals))
            else:
                sign = operator.lower()
                steps = _numbers(taken, (x, y), unit, decimals)
                text.append(sign + steps if before != sign else " " * (steps[0] != "-") + steps)
                before = sign
            x, y = taken[-1]
    return "".join(text)


def _numbers(points: list[tuple[int, int]], origin: tuple[int, int], unit: int, n: int) -> str:
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
    text = f"{value:.{decimals}f}"
    if "." in text:
        text = text.rstrip("0").rstrip(".")
    if text in ("-0", ""):
        return "0"
    return text.replace("0.", ".", 1) if text.startswith(("0.", "-0.")) else text
