"""Reads how text is to be set from an element's (inherited) SVG properties."""

from __future__ import annotations

import functools
import math
import re
from collections.abc import Callable, Mapping, Sequence
from typing import Any, NamedTuple

import tinycss2

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
_PER_EM = {"em": 1.0, "ex": 0.5, "ch": 0.5, "ic": 1.0}
"""Units of type; those that go by a face as CSS takes them without one (CSS Values 4, 6.1.1)."""
_PER_DEGREE = {"deg": 1.0, "grad": 0.9, "rad": 180 / math.pi, "turn": 360.0}
_LENGTH = re.compile(rf"\s*({NUMBER.pattern})\s*([a-z%]*)\s*$", re.IGNORECASE)
_FEATURE = re.compile(r"""["'](\w{4})["']\s*(on|off|\d+)?""")
_VARIATION = re.compile(r"""["'](\w{4})["']\s*([-+]?[\d.]+)""")

_STRETCHES = {  # CSS Fonts 4, 2.3
    "ultra-condensed": 50.0, "extra-condensed": 62.5, "condensed": 75.0, "semi-condensed": 87.5,
    "normal": 100.0, "semi-expanded": 112.5, "expanded": 125.0, "extra-expanded": 150.0,
    "ultra-expanded": 200.0,
}  # fmt: skip
_CAPITALS = frozenset(("small-caps", "all-small-caps", "petite-caps", "all-petite-caps", "unicase",
                       "titling-caps"))  # fmt: skip
_VARIANTS: dict[str, dict[str, int]] = {  # CSS Fonts 4, 6.4 to 6.7
    "no-common-ligatures": {"liga": 0, "clig": 0}, "discretionary-ligatures": {"dlig": 1},
    "historical-ligatures": {"hlig": 1}, "no-contextual": {"calt": 0},
    "lining-nums": {"lnum": 1}, "oldstyle-nums": {"onum": 1}, "proportional-nums": {"pnum": 1},
    "tabular-nums": {"tnum": 1}, "diagonal-fractions": {"frac": 1}, "ordinal": {"ordn": 1},
    "stacked-fractions": {"afrc": 1}, "slashed-zero": {"zero": 1}, "sub": {"subs": 1},
    "super": {"sups": 1}, "full-width": {"fwid": 1}, "proportional-width": {"pwid": 1},
    "ruby": {"ruby": 1}, "jis78": {"jp78": 1}, "jis83": {"jp83": 1}, "jis90": {"jp90": 1},
    "jis04": {"jp04": 1}, "simplified": {"smpl": 1}, "traditional": {"trad": 1},
}  # fmt: skip

VARIANTS: Mapping[str, frozenset[str]] = {
    "font-variant-caps": _CAPITALS,
    "font-variant-position": frozenset(("sub", "super")),
    "font-variant-ligatures": frozenset(
        ("none", *(word for word in _VARIANTS if word.endswith(("ligatures", "contextual"))))
    ),
    "font-variant-numeric": frozenset(
        word for word in _VARIANTS if word.endswith(("nums", "fractions", "ordinal", "zero"))
    ),
    "font-variant-east-asian": frozenset(
        word
        for word in _VARIANTS
        if word.startswith(("jis", "simpl", "trad", "full", "prop", "ruby"))
    )
    - {"proportional-nums"},
}
"""What ``font-variant`` is short for, and the words that belong to each of them."""

TEXT_PROPERTIES = (
    "font-family", "font-size", "font-weight", "font-style", "font-stretch", "letter-spacing",
    "word-spacing", "direction", "font-kerning", "font-variant", "font-variant-caps",
    "font-variant-ligatures", "font-variant-numeric", "font-variant-position",
    "font-variant-east-asian", "font-feature-settings",
    "font-variation-settings", "font-size-adjust", "text-transform", "text-anchor",
    "writing-mode", "text-orientation", "glyph-orientation-vertical",
)  # fmt: skip
"""Properties that decide how a text is set; all of them are inherited."""

INITIAL_TYPE = {
    **dict.fromkeys(TEXT_PROPERTIES, "normal"),
    "font-size": "medium", "direction": "ltr", "font-kerning": "auto", "text-anchor": "start",
    "dominant-baseline": "auto", "writing-mode": "horizontal-tb", "white-space": "normal",
    "text-transform": "none", "font-size-adjust": "none", "text-orientation": "mixed",
    "glyph-orientation-vertical": "auto",
}  # fmt: skip
"""What properties of type are where nothing is said (CSS Fonts 4, CSS Text 3, SVG 2, 11)."""


@functools.lru_cache(maxsize=20_000)
def length(value: str | None, em: float = 0.0, whole: float = 0.0, default: float = 0.0) -> float:
    """User units (CSS pixels) for an SVG length; ``em`` and ``whole`` resolve em, ex and %.

    >>> length("1in"), length("50%", whole=30), length("2em", em=4), length("inherit", default=7)
    (96.0, 15.0, 8.0, 7)
    """
    match = _LENGTH.match(value or "")
    if not match:
        sum_of = _calculated(value or "", em, whole)
        return sum_of.number if sum_of is not None and sum_of.kind in ("", "px") else default
    number, unit = float(match[1]), match[2].lower()
    if unit == "%":
        return number * whole / 100
    if unit in _PER_EM:
        return number * em * _PER_EM[unit]
    return number * _PER_UNIT[unit] if unit in _PER_UNIT else default


def lengths(value: str | None, em: float = 0.0, whole: float = 0.0) -> list[float]:
    """User units for a list of lengths, parted by commas or spaces (see ``length``)."""
    return [length(part, em, whole) for part in parts(value or "")]


def parts(text: str) -> list[str]:
    """A list's parts, parted by commas or spaces, with all that is in brackets in one."""
    if "(" not in text:
        return text.replace(",", " ").split()
    if bracketed(text):
        return [text]
    tokens = tinycss2.parse_component_value_list(text)
    return [tinycss2.serialize([each]) for each in tokens if each.type not in _BETWEEN]


def bracketed(text: str) -> bool:
    """Whether a style has more brackets in each other than anyone writes, or than can be read."""
    if text.count("(") + text.count("{") + text.count("[") <= _DEEPEST:
        return False
    depth = 0
    for bracket in _BRACKET.findall(text):
        depth += 1 if bracket in "({[" else -1
        if depth > _DEEPEST:
            return True
    return False


_BRACKET = re.compile(r"[(){}\[\]]")
_BETWEEN = ("whitespace", "comment", "literal")
_DEEPEST = 32
"""Brackets within brackets in arithmetic (CSS Values 4, 10.12, asks for as many)."""


class _Quantity(NamedTuple):
    """A number with what it counts: "" alone, "px", "deg", "%", or a unit of type."""

    number: float
    kind: str


def computed(value: str) -> str:
    """A value with such arithmetic worked out as needs neither type nor a whole to be shares of.

    >>> computed("translate(calc(2px + 1in), 5%) rotate(calc(3 * 10deg))")
    'translate(98, 5%) rotate(30deg)'
    >>> computed("calc(50% - 3px)")
    'calc(50% - 3px)'
    """
    written = []
    for token in tinycss2.parse_component_value_list(value):
        if token.type == "function":
            found = _of_call(token, None, None, 0)
            if found is not None:
                written.append(f"{found.number:.9g}" + found.kind.removesuffix("px"))
                continue
            inner = computed(tinycss2.serialize(token.arguments))
            written.append(f"{token.name}({inner})" if token.lower_name not in _MATHS else
                           tinycss2.serialize([token]))  # fmt: skip
        else:
            written.append(tinycss2.serialize([token]))
    return "".join(written)


def _calculated(value: str, em: float | None, whole: float | None) -> _Quantity | None:
    """What one call of ``calc`` and its like comes to; None if it cannot be worked out."""
    if "(" not in value:
        return None
    tokens = [
        each for each in tinycss2.parse_component_value_list(value) if each.type != "whitespace"
    ]
    return _of_call(tokens[0], em, whole, 0) if len(tokens) == 1 else None


def _of_call(token: Any, em: float | None, whole: float | None, depth: int) -> _Quantity | None:
    """A number, or arithmetic in brackets, by CSS Values 4, 10."""
    if token.type == "number":
        return _Quantity(token.value, "")
    if token.type == "percentage":
        if whole is None:
            return _Quantity(token.value, "%")
        return _Quantity(token.value * whole / 100, "px")
    if token.type == "dimension":
        return _of_unit(token.value, token.lower_unit, em)
    brackets = token.type == "() block"
    name = "calc" if brackets else token.lower_name if token.type == "function" else ""
    if name not in _MATHS or depth > _DEEPEST:
        return None
    arguments: list[list[Any]] = [[]]
    for each in token.content if brackets else token.arguments:
        if each == ",":
            arguments.append([])
        elif each.type not in ("whitespace", "comment"):
            arguments[-1].append(each)
    found = [_sum(argument, em, whole, depth + 1) for argument in arguments]
    kinds = {each.kind for each in found if each is not None}
    if None in found or len(kinds) != 1 or len(found) not in _MATHS[name]:
        return None
    numbers = [each.number for each in found if each is not None]
    if name == "clamp":
        result = max(numbers[0], min(numbers[1], numbers[2]))
    else:
        result = min(numbers) if name == "min" else max(numbers)
    return _Quantity(result, kinds.pop())


_MATHS = {"calc": range(1, 2), "min": range(1, 99), "max": range(1, 99), "clamp": range(3, 4)}
"""Functions of arithmetic, and how many arguments they take."""


def _of_unit(number: float, unit: str, em: float | None) -> _Quantity | None:
    if unit in _PER_UNIT:
        return _Quantity(number * _PER_UNIT[unit], "px")
    if unit in _PER_DEGREE:
        return _Quantity(number * _PER_DEGREE[unit], "deg")
    if unit not in _PER_EM:
        return None
    if em is None:
        return _Quantity(number, unit)
    return _Quantity(number * em * _PER_EM[unit], "px")


def _sum(
    tokens: Sequence[Any], em: float | None, whole: float | None, depth: int
) -> _Quantity | None:
    """What quantities with signs between them come to: products first, then sums."""
    total: _Quantity | None = None
    product, sign = None, "+"
    pending = [*tokens, None]
    operator = ""
    for place, token in enumerate(pending):
        if token is None or (place % 2 and token in ("+", "-")):
            if product is None or (total is not None and total.kind != product.kind):
                return None
            signed = product.number if sign == "+" else -product.number
            total = _Quantity(signed + (total.number if total else 0.0), product.kind)
            if token is not None:
                product, sign, operator = None, token.value, ""
        elif place % 2:
            if token not in ("*", "/"):
                return None
            operator = token.value
        else:
            factor = _of_call(token, em, whole, depth)
            product = factor if product is None else _times(product, operator, factor)
            if product is None:
                return None
    return total if len(tokens) % 2 else None


def _times(one: _Quantity, operator: str, other: _Quantity | None) -> _Quantity | None:
    if other is None or (one.kind and other.kind) or (operator == "/" and other.kind):
        return None
    if operator == "/":
        return _Quantity(one.number / other.number, one.kind) if other.number else None
    return _Quantity(one.number * other.number, one.kind or other.kind)


def font_size(value: str | None, parent: float) -> float:
    """User units for a ``font-size``, relative ones against the parent's size.

    >>> font_size("120%", 10), font_size("small", 10), font_size(None, 12.5)
    (12.0, 13.0, 12.5)
    >>> font_size("xxx-large", 10)
    48.0
    """
    if value in _SIZES:
        return _SIZES[value]
    if value in ("smaller", "larger"):
        return parent / 1.2 if value == "smaller" else parent * 1.2
    size = length(value, em=parent, whole=parent, default=parent)
    return size if size >= 0 else parent


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


_SHORTHAND = re.compile(
    r"\s*(?P<before>(?:[a-z-]+\s+|\d+(?:\.\d+)?\s+)*?)"
    rf"(?P<size>{NUMBER.pattern}(?:[a-z]+|%)|(?:x+-)?(?:small|large)|medium|smaller|larger|0)"
    r"(?:\s*/\s*(?P<leading>[\w.%+-]+))?\s+(?P<families>.+?)\s*$",
    re.IGNORECASE | re.DOTALL,
)


def font_shorthand(value: str) -> dict[str, str]:
    """The properties that ``font`` is short for; none when it cannot be read (CSS Fonts 4, 2.7).

    The words for a system's own fonts name a family that no collection has.

    >>> font_shorthand("italic 600 9px/1.5 'EB Garamond', serif")["font-weight"]
    '600'
    >>> font_shorthand("small-caps 2em Kalam")["font-family"], font_shorthand("9px")
    ('Kalam', {})
    """
    if value.strip().lower() in _SYSTEM_FONTS:
        return {"font-family": "system-ui"}
    match = _SHORTHAND.match(value)
    if match is None:
        return {}
    found = {
        "font-style": "normal", "font-variant": "normal", "font-weight": "normal",
        "font-stretch": "normal", "font-size": match["size"].lower(),
        "line-height": match["leading"] or "normal", "font-family": match["families"],
    }  # fmt: skip
    for word in match["before"].lower().split():
        if word in ("italic", "oblique"):
            found["font-style"] = word
        elif word == "small-caps":
            found["font-variant"] = word
        elif word in _STRETCHES and word != "normal":
            found["font-stretch"] = word
        elif word != "normal":
            found["font-weight"] = word
    return found


_SYSTEM_FONTS = frozenset(("caption", "icon", "menu", "message-box", "small-caption", "status-bar"))


def families(value: str | None) -> tuple[str, ...]:
    """Family names of a ``font-family`` list, quotes taken off.

    >>> families("'Dancing Script', cursive")
    ('Dancing Script', 'cursive')
    """
    names = (name.strip().strip("'\"").strip() for name in (value or "").split(","))
    return tuple(name for name in names if name)


class Decoration(NamedTuple):
    """Lines that an element draws on its text (CSS Text Decoration 4, 2).

    ``colour`` is empty where they have the element's own paint; ``thickness`` and ``offset`` are
    as they are written.
    """

    lines: tuple[str, ...]
    look: str = "solid"
    colour: str = ""
    thickness: str = "auto"
    offset: str = "auto"


_LINES = ("underline", "overline", "line-through")
_LOOKS = frozenset(("solid", "double", "dotted", "dashed", "wavy"))


def decoration(get: Callable[[str], str | None]) -> Decoration | None:
    """What an element's own properties ask for; None for no lines.

    >>> decoration({"text-decoration": "underline dotted #c30"}.get)
    Decoration(lines=('underline',), look='dotted', colour='#c30', thickness='auto', offset='auto')
    """
    short = get("text-decoration") or ""
    lines = (get("text-decoration-line") or short).split()
    found = tuple(line for line in _LINES if line in lines)
    if not found:
        return None
    words = re.findall(r"[^\s(]+(?:\([^)]*\))?", short)
    look = next((word for word in words if word in _LOOKS), "solid")
    thick = next((word for word in words if word == "from-font" or _LENGTH.match(word)), "auto")
    taken = {*_LINES, *_LOOKS, thick, "none", "blink", "auto"}
    colour = next((word for word in words if word not in taken), "")
    colour = get("text-decoration-color") or colour
    return Decoration(
        found,
        get("text-decoration-style") or look,
        "" if colour.casefold() in ("currentcolor", "initial", "inherit") else colour,
        get("text-decoration-thickness") or thick,
        get("text-underline-offset") or "auto",
    )


def leading(value: str | None, size: float) -> float:
    """How far apart lines lie for a ``line-height``; "normal" is 1.25, as vector editors have it.

    >>> leading(None, 10), leading("1.5", 10), leading("120%", 10), leading("14px", 10)
    (12.5, 15.0, 12.0, 14.0)
    """
    value = (value or "").strip()
    if NUMBER.fullmatch(value):
        return float(value) * size
    return length(value, em=size, whole=size, default=1.25 * size)


def style_of(
    get: Callable[[str], str | None], size: float, weight: float, language: str = ""
) -> Style:
    """The style that properties spell out; ``get`` gives a property's inherited value.

    Size and weight are given apart, as relative ones go by the parent's: see ``font_size`` and
    ``font_weight``.
    """
    return _style(tuple(map(get, TEXT_PROPERTIES)), size, weight, language)


@functools.lru_cache(maxsize=1000)
def _style(said: tuple[str | None, ...], size: float, weight: float, language: str) -> Style:
    """What ``style_of`` gives; a set asks for few styles, and for each of them often."""
    get = dict(zip(TEXT_PROPERTIES, said, strict=True)).get
    stretch = (get("font-stretch") or "normal").strip()
    return Style(
        families=families(get("font-family")),
        stretch=_STRETCHES.get(stretch) or length(stretch, whole=100, default=100.0),
        right_to_left=(get("direction") or "").strip() == "rtl",
        size=size,
        weight=weight,
        italic=(get("font-style") or "normal").startswith(("italic", "oblique")),
        letter_spacing=length(get("letter-spacing"), em=size, whole=size),
        word_spacing=length(get("word-spacing"), em=size, whole=size),
        features=tuple(_features(get).items()),
        variations=tuple(
            (tag, float(value))
            for tag, value in _VARIATION.findall(get("font-variation-settings") or "")
        ),
        language=language,
        case=next((word for word in (get("text-transform") or "").split() if word in _CASES), ""),
        capitals=next((word for word in _variants(get) if word in _CAPITALS), ""),
        aspect=_aspect(get("font-size-adjust") or ""),
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


_CASES = frozenset(("uppercase", "lowercase", "capitalize", "full-width"))


def _aspect(value: str) -> tuple[str, float] | None:
    """What a ``font-size-adjust`` asks for (CSS Fonts 5, 4.4); None for nothing."""
    metric, _, number = value.strip().rpartition(" ")
    metric = metric.strip() or "ex-height"
    if metric not in ("ex-height", "cap-height") or not NUMBER.fullmatch(number):
        return None
    return metric, max(float(number), 0.0)


def _features(get: Callable[[str], str | None]) -> dict[str, int]:
    """OpenType features that properties ask for (CSS Fonts 4, 6.4 to 6.12)."""
    found: dict[str, int] = {}
    if get("font-kerning") == "none":
        found["kern"] = 0
    for word in _variants(get):
        found.update(_VARIANTS.get(word, {}))
    for tag, value in _FEATURE.findall(get("font-feature-settings") or ""):
        found[tag] = int(value) if value.isdigit() else int(value != "off")
    return found


def _variants(get: Callable[[str], str | None]) -> list[str]:
    words = " ".join(get(name) or "" for name in TEXT_PROPERTIES if "variant" in name).split()
    return ["no-common-ligatures", "no-contextual"] if "none" in words else words
