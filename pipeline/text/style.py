"""Reads how text is to be set from an element's (inherited) SVG properties."""

from __future__ import annotations

import re
from collections.abc import Callable

from pipeline.text.shape import Style

_WEIGHTS = {"normal": 400.0, "bold": 700.0, "lighter": 300.0, "bolder": 700.0}
_SIZES = {  # CSS Fonts 4, 2.5: the absolute size keywords, in CSS pixels for medium = 16 px
    "xx-small": 9.0,
    "x-small": 10.0,
    "small": 13.0,
    "medium": 16.0,
    "large": 18.0,
    "x-large": 24.0,
    "xx-large": 32.0,
}
_PER_UNIT = {"": 1.0, "px": 1.0, "pt": 96 / 72, "pc": 16.0, "in": 96.0, "cm": 96 / 2.54,
             "mm": 96 / 25.4, "q": 96 / 101.6}  # fmt: skip
_LENGTH = re.compile(r"\s*([-+]?(?:\d+\.?\d*|\.\d+)(?:e[-+]?\d+)?)\s*([a-z%]*)\s*$", re.IGNORECASE)
_FEATURE = re.compile(r"""["'](\w{4})["']\s*(on|off|\d+)?""")
_VARIATION = re.compile(r"""["'](\w{4})["']\s*([-+]?[\d.]+)""")

TEXT_PROPERTIES = (
    "font-family",
    "font-size",
    "font-weight",
    "font-style",
    "letter-spacing",
    "font-feature-settings",
    "font-variation-settings",
    "text-anchor",
)
"""Properties that decide how a text is set; all of them are inherited."""


def length(value: str | None, em: float = 0.0, whole: float = 0.0, default: float = 0.0) -> float:
    """User units (CSS pixels) for an SVG length; ``em`` and ``whole`` resolve em, ex and %.

    >>> length("1in"), length("50%", whole=30), length("2em", em=4), length("inherit", default=7)
    (96.0, 15.0, 8.0, 7)
    """
    match = _LENGTH.match(value or "")
    if not match:
        return default
    number, unit = float(match[1]), match[2].lower()
    if unit == "%":
        return number * whole / 100
    if unit in ("em", "rem"):
        return number * em
    if unit == "ex":
        return number * em / 2
    return number * _PER_UNIT.get(unit, 1.0)


def font_size(value: str | None, parent: float) -> float:
    """User units for a ``font-size``, relative ones against the parent's size.

    >>> font_size("120%", 10), font_size("small", 10), font_size(None, 10)
    (12.0, 13.0, 10)
    """
    if value in _SIZES:
        return _SIZES[value]
    if value in ("smaller", "larger"):
        return parent / 1.2 if value == "smaller" else parent * 1.2
    return length(value, em=parent, whole=parent, default=parent)


def families(value: str | None) -> tuple[str, ...]:
    """Family names of a ``font-family`` list, quotes taken off.

    >>> families("'Dancing Script', cursive")
    ('Dancing Script', 'cursive')
    """
    names = (name.strip().strip("'\"").strip() for name in (value or "").split(","))
    return tuple(name for name in names if name)


def style_of(get: Callable[[str], str | None], size: float, language: str = "") -> Style:
    """The style that properties spell out; ``get`` gives a property's inherited value."""
    weight = (get("font-weight") or "normal").strip()
    features = (get("font-feature-settings") or "").strip()
    return Style(
        families=families(get("font-family")),
        size=size,
        weight=_WEIGHTS.get(weight) or length(weight, default=400.0),
        italic=(get("font-style") or "normal").startswith(("italic", "oblique")),
        letter_spacing=length(get("letter-spacing"), em=size),
        features=tuple(
            (tag, {"on": 1, "": 1, "off": 0}.get(value, int(value) if value.isdigit() else 1))
            for tag, value in _FEATURE.findall(features)
        ),
        variations=tuple(
            (tag, float(value))
            for tag, value in _VARIATION.findall(get("font-variation-settings") or "")
        ),
        language=language,
    )
