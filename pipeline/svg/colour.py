"""Colours in whatever way CSS writes them (CSS Color 4), as one plain form."""

from __future__ import annotations

import functools
import re

from tinycss2.color4 import parse_color

_PLAIN = re.compile(r"#[0-9a-f]{6}|#[0-9a-f]{3}")
_ICC = re.compile(r"\s*icc-color\([^)]*\)\s*$")


@functools.lru_cache(maxsize=4096)
def plain_colour(value: str) -> str | None:
    """A colour as ``#rrggbb``, or as ``rgba(r,g,b,a)`` where it is not opaque; None if it is none.

    >>> plain_colour("hsl(120 100% 25%)"), plain_colour("#12345680"), plain_colour("blurple")
    ('#008000', 'rgba(18,52,86,0.502)', None)
    """
    value = _ICC.sub("", value.strip())
    if _PLAIN.fullmatch(value):
        return value
    try:
        colour = parse_color(value)
        if colour is None or colour == "currentcolor":
            return None
        red, green, blue = (_byte(part) for part in colour.to("srgb").coordinates)
        alpha = min(max(float(colour.alpha), 0.0), 1.0)
    except NotImplementedError:
        return None
    if alpha < 1:
        return f"rgba({red},{green},{blue},{alpha:.3g})"
    return f"#{red:02x}{green:02x}{blue:02x}"


def _byte(part: float | None) -> int:
    return round(255 * min(max(part or 0.0, 0.0), 1.0))


def luminance(colour: str) -> tuple[float, float]:
    """How light a plain colour is (0 black, 1 white), by SVG 1.1, 14.4, and its opacity.

    >>> luminance("#ffffff"), luminance("rgba(0,0,0,0.5)")
    ((1.0, 1.0), (0.0, 0.5))
    """
    if colour.startswith("#"):
        digits = colour[1:] if len(colour) == 7 else "".join(2 * digit for digit in colour[1:])
        parts = [int(digits[i : i + 2], 16) for i in (0, 2, 4)]
        alpha = 1.0
    else:
        *rgb, last = colour.removeprefix("rgba(").removesuffix(")").split(",")
        parts, alpha = [int(part) for part in rgb], float(last)
    red, green, blue = (part / 255 for part in parts)
    return 0.2125 * red + 0.7154 * green + 0.0721 * blue, alpha


def share(value: str | None, default: float = 1.0) -> float:
    """An opacity or a stop's offset, also in per cent, between 0 and 1.

    >>> share("50%"), share("2"), share(None)
    (0.5, 1.0, 1.0)
    """
    text = (value or "").strip()
    try:
        number = float(text.removesuffix("%")) / (100 if text.endswith("%") else 1)
    except ValueError:
        return default
    return min(max(number, 0.0), 1.0)
