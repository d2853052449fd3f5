"""Reads SVG path data (SVG 1.1, 8.3) into absolute lines and curves, fast.

Arcs and quadratic curves become cubic ones, shorthand is written out: what remains is four
operators, which is all that PDF knows as well.
"""

from __future__ import annotations

import functools
import re
from typing import NamedTuple

from fontTools.pens.recordingPen import RecordingPen
from fontTools.svgLib.path.arc import EllipticalArc

from pipeline.base.geometry import Rect

_STEP = re.compile(r"([MmZzLlHhVvCcSsQqTtAa])([^MmZzLlHhVvCcSsQqTtAa]*)")
_NUMBER = re.compile(r"[-+]?(?:\d+\.?\d*|\.\d+)(?:[eE][-+]?\d+)?")
_ARC = re.compile(
    r"\s*,?\s*([-+]?[\d.]+(?:[eE][-+]?\d+)?)\s*,?\s*([-+]?[\d.]+(?:[eE][-+]?\d+)?)"
    r"\s*,?\s*([-+]?[\d.]+(?:[eE][-+]?\d+)?)\s*,?\s*([01])\s*,?\s*([01])"
    r"\s*,?\s*([-+]?(?:\d+\.?\d*|\.\d+)(?:[eE][-+]?\d+)?)"
    r"\s*,?\s*([-+]?(?:\d+\.?\d*|\.\d+)(?:[eE][-+]?\d+)?)"
)


class PathData(NamedTuple):
    """Operators ``M``, ``L``, ``C`` and ``Z``, and the coordinates they take one after another."""

    operators: str
    coordinates: tuple[float, ...]

    @property
    def hull(self) -> Rect | None:
        """The box around all points, control points too; None for an empty path."""
        if not self.coordinates:
            return None
        xs, ys = self.coordinates[::2], self.coordinates[1::2]
        left, top = min(xs), min(ys)
        return Rect(left, top, max(xs) - left, max(ys) - top)


@functools.lru_cache(maxsize=20_000)
def path_data(d: str) -> PathData:
    """The path that a ``d`` attribute describes; what comes after an error is left out (F.2).

    >>> path_data("m1 2h3v4z")
    PathData(operators='MLLZ', coordinates=(1.0, 2.0, 4.0, 2.0, 4.0, 6.0))
    """
    operators: list[str] = []
    out: list[float] = []
    x = y = start_x = start_y = 0.0
    before = ""  # the operator before, and its last control point, for smooth curves
    control_x = control_y = 0.0
    for command, text in _STEP.findall(d):
        kind = command.upper()
        relative = command != kind
        if kind == "Z":
            operators.append("Z")
            x, y, before = start_x, start_y, "Z"
            continue
        if kind == "A":
            for arc in _ARC.findall(text):
                *shape, large, sweep, to_x, to_y = arc
                end = float(to_x) + (x if relative else 0), float(to_y) + (y if relative else 0)
                _arc(operators, out, (x, y), [float(part) for part in shape], large, sweep, end)
                x, y = end
            before = "A"
            continue
        n = [*map(float, _NUMBER.findall(text))]
        if kind == "C" and not relative:
            del n[len(n) // 6 * 6 :]
            if n:
                out += n
                operators.append("C" * (len(n) // 6))
                control_x, control_y, x, y = n[-4:]
        elif kind == "C":
            for i in range(0, len(n) - 5, 6):
                a, b, c, e, f, g = n[i : i + 6]
                a, b, c, e, f, g = a + x, b + y, c + x, e + y, f + x, g + y
                out += (a, b, c, e, f, g)
                operators.append("C")
                control_x, control_y, x, y = c, e, f, g
        elif kind in "ML":
            for i in range(0, len(n) - 1, 2):
                x, y = (x + n[i], y + n[i + 1]) if relative else (n[i], n[i + 1])
                out += (x, y)
                if kind == "M" and i == 0:
                    operators.append("M")
                    start_x, start_y = x, y
                else:
                    operators.append("L")
        elif kind in "HV":
            for value in n:
                if kind == "H":
                    x = x + value if relative else value
                else:
                    y = y + value if relative else value
                out += (x, y)
                operators.append("L")
        elif kind == "S":
            for i in range(0, len(n) - 3, 4):
                c, e, f, g = n[i : i + 4]
                if relative:
                    c, e, f, g = c + x, e + y, f + x, g + y
                smooth = before in ("C", "S")
                a, b = (2 * x - control_x, 2 * y - control_y) if smooth else (x, y)
                out += (a, b, c, e, f, g)
                operators.append("C")
                control_x, control_y, x, y, before = c, e, f, g, "S"
        else:  # Q and T
            step = 4 if kind == "Q" else 2
            for i in range(0, len(n) - step + 1, step):
                if kind == "Q":
                    c, e = (n[i] + x, n[i + 1] + y) if relative else (n[i], n[i + 1])
                else:
                    smooth = before in ("Q", "T")
                    c, e = (2 * x - control_x, 2 * y - control_y) if smooth else (x, y)
                f, g = n[i + step - 2], n[i + step - 1]
                if relative:
                    f, g = f + x, g + y
                out += (
                    x + 2 / 3 * (c - x), y + 2 / 3 * (e - y),
                    f + 2 / 3 * (c - f), g + 2 / 3 * (e - g),
                    f, g,
                )  # fmt: skip
                operators.append("C")
                control_x, control_y, x, y, before = c, e, f, g, kind
        before = kind
    return PathData("".join(operators), tuple(out))


def _arc(
    operators: list[str],
    out: list[float],
    start: tuple[float, float],
    shape: list[float],
    large: str,
    sweep: str,
    end: tuple[float, float],
) -> None:
    """Adds an elliptical arc as cubic curves; one without a radius is a line (F.6.2)."""
    rx, ry, turn = shape
    if start == end:
        return
    if rx == 0 or ry == 0:
        operators.append("L")
        out.extend(end)
        return
    pen = RecordingPen()
    pen.moveTo(start)
    EllipticalArc(
        complex(*start), abs(rx), abs(ry), turn, int(large), int(sweep), complex(*end)
    ).draw(pen)
    for name, points in pen.value[1:]:
        operators.append({"curveTo": "C", "lineTo": "L"}[name])
        for point in points:
            out.extend(point)
