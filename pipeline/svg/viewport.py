"""How the content of a viewport is laid into it (SVG 1.1, 7.7 to 7.9)."""

from __future__ import annotations

from typing import NamedTuple

from pipeline.base.geometry import Rect
from pipeline.svg.transform import Matrix

_ALIGNED = {"min": 0.0, "mid": 0.5, "max": 1.0}


class Aspect(NamedTuple):
    """What ``preserveAspectRatio`` asks for: None stretches; else shares of the room left over."""

    x: float | None
    y: float
    slice: bool

    @classmethod
    def of(cls, value: str | None) -> Aspect:
        """Reads the attribute.

        >>> Aspect.of("xMinYMax slice"), Aspect.of(None).x, Aspect.of("none").x
        (Aspect(x=0.0, y=1.0, slice=True), 0.5, None)
        """
        words = [word for word in (value or "").split() if word != "defer"]
        align = words[0] if words else "xMidYMid"
        if align == "none":
            return cls(None, 0.0, False)
        x, y = _ALIGNED.get(align[1:4].lower()), _ALIGNED.get(align[5:8].lower())
        if x is None or y is None:
            x = y = 0.5
        return cls(x, y, len(words) > 1 and words[1] == "slice")


def fitted(box: Rect, room: Rect, aspect: Aspect) -> Matrix:
    """From the coordinates of ``box`` to those of the ``room`` it is shown in.

    >>> fitted(Rect(0, 0, 10, 10), Rect(5, 0, 40, 20), Aspect.of(None))
    Matrix(a=2.0, b=0.0, c=0.0, d=2.0, e=15.0, f=0.0)
    """
    scale_x, scale_y = room.width / box.width, room.height / box.height
    if aspect.x is None:
        return Matrix(scale_x, 0, 0, scale_y, room.x - box.x * scale_x, room.y - box.y * scale_y)
    scale = max(scale_x, scale_y) if aspect.slice else min(scale_x, scale_y)
    left = room.x + aspect.x * (room.width - box.width * scale)
    top = room.y + aspect.y * (room.height - box.height * scale)
    return Matrix(scale, 0.0, 0.0, scale, left - box.x * scale, top - box.y * scale)


def view_box(value: str | None) -> Rect | None:
    """A ``viewBox``; None when there is none or it is empty.

    >>> view_box("0,0 10 20"), view_box("0 0 0 5")
    (Rect(x=0.0, y=0.0, width=10.0, height=20.0), None)
    """
    try:
        numbers = [float(part) for part in (value or "").replace(",", " ").split()]
    except ValueError:
        return None
    if len(numbers) != 4 or min(numbers[2:]) <= 0:
        return None
    return Rect(*numbers)
