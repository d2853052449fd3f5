"""Reads how text is to be set from an element's (inherited) SVG properties."""

from __future__ import annotations

import functools
import re
from collections.abc import Callable

from pipeline.base.geometry import NUMBER
from pipeline.text.shape import Style

_WEIGHTS = {"normal": 400.0, "bold": 700.0}
# The keywords of CSS Fonts 4, 2.5 (<absolute-size>), in CSS pixels. That leaves the sizes to
# whoever draws and suggests 3/5, 3/4, 8/9, 1, 6/5, 3/2, 2 and 3 times the medium one; these are
# what browsers take for a medium of 16 px (common practice), so a drawing looks as it does there.
_SIZES = {
    "xx-small": 9.0, "x-small": 10.0, "small": 13.0, "medium": 16.0, "large": 18.0,
    "x-large": 24.0, "xx-large": 32.0, "xxx-large": 48.0,
}  # fmt: skip
_PER_UNIT = {"": 1.0, "px": 1.0, "pt": 96 / 72, "pc": 16.0, "in": 96.0, "cm": 96 / 2.54,
             "mm": 96 / 25.4, "q": 96 / 101.6}  # fmt: skip
_LENGTH = re.compile(rf"\s*({NUMBER.pattern})\s*([a-z%]*)\s*$", re.IGNORECASE)
_FEATURE = re.compile(r"""["'](\w{4})["']\s*(on|off|\d+)?""")
_VARIATION = re.compile(r"""["'](\w{4})["']\s*([-+]?[\d.]+)""")

_STRETCHES = {  # CSS Fonts 4, 2.3
    "ultra-condensed": 50.0, "extra-condensed": 62.5, "condensed": 75.0, "semi-condensed": 87.5,
    "normal": 100.0, "semi-expanded": 112.5, "expanded": 125.0, "extra-expanded": 150.0,
    "ultra-expanded": 200.0,
}  # fmt: skip
_VARIANTS: dict[str, dict[str, int]] = {  # CSS Fonts 4, 6.4 to 6.7
    "small-caps": {"smcp": 1}, "all-small-caps": {"smcp": 1, "c2sc": 1},
    "petite-caps": {"pcap": 1}, "unicase": {"unic": 1}, "titling-caps": {"titl": 1},
    "no-common-ligatures": {"liga": 0, "clig": 0}, "discretionary-ligatures": {"dlig": 1},
    "historical-ligatures": {"hlig": 1}, "no-contextual": {"calt": 0},
    "lining-nums": {"lnum": 1}, "oldstyle-nums": {"onum": 1}, "proportional-nums": {"pnum": 1},
    "tabular-nums": {"tnum": 1}, "diagonal-fractions": {"frac": 1}, "ordinal": {"ordn": 1},
    "slashed-zero": {"zero": 1},
}  # fmt: skip

TEXT_PROPERTIES = (
    "font-family", "font-size", "font-weight", "font-style", "font-stretch", "letter-spacing",
    "word-spacing", "direction", "font-kerning", "font-variant", "font-variant-caps",
    "font-variant-ligatures", "font-variant-numeric", "font-feature-settings",
    "font-variation-settings", "text-anchor", "writing-mode", "text-orientation",
    "glyph-orientation-vertical",
)  # fmt: skip
"""Properties that decide how a text is set; all of them are inherited."""


@functools.lru_cache(maxsize=20_000)
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


def lengths(value: str | None, em: float = 0.0, whole: float = 0.0) -> list[float]:
    """User units for a list of lengths, parted by commas or spaces (see ``length``)."""
    return [length(part, em, whole) for part in (value or "").replace(",", " ").split()]


def font_size(value: str | None, parent: float) -> float:
    """User units for a ``font-size``, relative ones against the parent's size.

    >>> font_size("120%", 10), font_size("small", 10), font_size(None, 10)
    (12.0, 13.0, 10)
    >>> font_size("xxx-large", 10)
    48.0
    """
    if value in _SIZES:
        return _SIZES[value]
    if value in ("smaller", "larger"):
        return parent / 1.2 if value == "smaller" else parent * 1.2
    return length(value, em=parent, whole=parent, default=parent)


def font_weight(value: str | None, parent: float = 400.0) -> float:
    """The weight that a ``font-weight`` asks for; lighter and bolder go by the parent's.

    >>> font_weight("bold"), font_weight("bolder", 300), font_weight("lighter", 800)
    (700.0, 400.0, 700.0)
    """
    value = (value or "").strip()
    if value == "bolder":  # CSS Fonts 4, 2.2.1
        return 400.0 if parent < 350 else 700.0 if parent < 550 else max(parent, 900.0)
    if value == "lighter":
        return min(parent, 100.0) if parent < 550 else 400.0 if parent < 750 else 700.0
    return _WEIGHTS.get(value) or length(value, default=parent)


def families(value: str | None) -> tuple[str, ...]:
    """Family names of a ``font-family`` list, quotes taken off.

    >>> families("'Dancing Script', cursive")
    ('Dancing Script', 'cursive')
    """
    names = (name.strip().strip("'\"").strip() for name in (value or "").split(","))
    return tuple(name for name in names if name)


def style_of(
    get: Callable[[str], str | None], size: float, weight: float, language: str = ""
) -> Style:
    """The style that properties spell out; ``get`` gives a property's inherited value.

    Size and weight are given apart, as relative ones go by the parent's: see ``font_size`` and
    ``font_weight``.
    """
    return _style(tuple((name, get(name)) for name in TEXT_PROPERTIES), size, weight, language)


@functools.lru_cache(maxsize=1000)
def _style(
    declared: tuple[tuple[str, str | None], ...], size: float, weight: float, language: str
) -> Style:
    """What ``style_of`` gives; a set asks for few styles, and for each of them often."""
    get = dict(declared).get
    stretch = (get("font-stretch") or "normal").strip()
    return Style(
        families=families(get("font-family")),
        stretch=_STRETCHES.get(stretch) or length(stretch, whole=100, default=100.0),
        right_to_left=(get("direction") or "").strip() == "rtl",
        size=size,
        weight=weight,
        italic=(get("font-style") or "normal").startswith(("italic", "oblique")),
        letter_spacing=length(get("letter-spacing"), em=size),
        word_spacing=length(get("word-spacing"), em=size),
        features=tuple(_features(get).items()),
        variations=tuple(
            (tag, float(value))
            for tag, value in _VARIATION.findall(get("font-variation-settings") or "")
        ),
        language=language,
        orientation=_orientation(get),
    )


def _orientation(get: Callable[[str], str | None]) -> str:
    """How letters stand in text that runs downwards (CSS Writing Modes 4, 5.1); "" for lines."""
    mode = (get("writing-mode") or "").strip()
    if not mode.startswith(("tb", "vertical", "sideways")):
        return ""
    turned = (get("glyph-orientation-vertical") or "").strip().removesuffix("deg")
    said = (get("text-orientation") or {"0": "upright", "90": "sideways"}.get(turned, "")).strip()
    if mode.startswith("sideways") or said.startswith("sideways"):
        return "sideways"
    return "upright" if said == "upright" else "mixed"


def _features(get: Callable[[str], str | None]) -> dict[str, int]:
    """OpenType features that properties ask for (CSS Fonts 4, 6.4 to 6.12)."""
    found: dict[str, int] = {}
    if get("font-kerning") == "none":
        found["kern"] = 0
    variants = " ".join(get(name) or "" for name in TEXT_PROPERTIES if "variant" in name)
    if variants.strip() == "none":
        variants = "no-common-ligatures no-contextual"
    for word in variants.split():
        found.update(_VARIANTS.get(word, {}))
    for tag, value in _FEATURE.findall(get("font-feature-settings") or ""):
        found[tag] = int(value) if value.isdigit() else int(value != "off")
    return found
