"""Plain line artwork straight to PDF operators, many times faster than through a canvas.

Only what needs no second thought is drawn here: paths and basic shapes in flat colours, groups and
transforms. For anything else ``vector_art`` declines, and CairoSVG draws the layer.
"""

from __future__ import annotations

import functools
import json
import zlib
from collections.abc import Mapping, Sequence
from typing import NamedTuple

from cairosvg.colors import color
from lxml import etree

from pipeline.base.geometry import PT_PER_MM, decimal
from pipeline.svg.path import SHAPES, outline
from pipeline.svg.transform import parse_transform
from pipeline.svg.tree import SVG
from pipeline.text.style import length, lengths

_UNKNOWN = frozenset(
    ("mask", "filter", "clip-path", "clip", "marker-start", "marker-mid", "marker-end", "marker",
     "paint-order", "mix-blend-mode", "transform-origin", "style")
)  # fmt: skip
"""Properties that ask for more than lines and flat colours."""

_INHERITED = frozenset(
    ("fill", "stroke", "stroke-width", "stroke-linecap", "stroke-linejoin", "stroke-miterlimit",
     "stroke-dasharray", "stroke-dashoffset", "fill-rule", "fill-opacity", "stroke-opacity",
     "visibility", "color")
)  # fmt: skip
_EFFORT = 5
"""Deflate's level: 6 takes twice the time for streams 1.5 % smaller."""

_CAPS = {"butt": 0, "round": 1, "square": 2}
_JOINS = {"miter": 0, "round": 1, "bevel": 2}
_Rgba = tuple[float, float, float, float]


class DeclinedError(Exception):
    """Raised within this module for what it does not draw."""


class VectorArt(NamedTuple):
    """A deflated content stream for a form, and the opacities its graphics states stand for.

    ``opacities`` maps a state's name to its (fill, stroke) alpha.
    """

    content: bytes
    opacities: Mapping[str, Sequence[float]]

    def as_bytes(self) -> bytes:
        """For keeping: a line of JSON with the opacities, then the stream."""
        return json.dumps(self.opacities).encode() + b"\n" + self.content

    @classmethod
    def from_bytes(cls, data: bytes) -> VectorArt:
        """What ``as_bytes`` gave."""
        head, _, stream = data.partition(b"\n")
        return cls(stream, json.loads(head))


def vector_art(svg: bytes) -> VectorArt | None:
    """The artwork of a simplified SVG in mm, as PDF operators; None when it is not plain enough.

    The stream's origin is the page's lower left corner, its unit the point.
    """
    root = etree.fromstring(svg, etree.XMLParser(huge_tree=True))
    writer = _Writer(length(str(root.get("height", "")).removesuffix("mm")))
    try:
        writer.draw(root, _inheritable(_attributes(root)), 1.0)
    except DeclinedError:
        return None
    opacities = {name: alpha for alpha, name in writer.opacities.items()}
    return VectorArt(zlib.compress("\n".join(writer.steps).encode(), _EFFORT), opacities)


class _Look(NamedTuple):
    """What a style makes of shapes: their paints and opacities, and operators that set them."""

    fill: str
    stroke: str
    """Empty where there is none."""
    opacities: tuple[float, float]
    shares: tuple[float, float]
    """Of the paints themselves, and what the style makes of them."""
    pen: tuple[str, ...]
    rule: str


class _State(NamedTuple):
    """What is set in the PDF's graphics state, to say again only what changes."""

    fill: str = ""
    stroke: str = ""
    pen: tuple[str, ...] = ("", "0 J", "0 j", "4 M", "[] 0 d")
    alpha: tuple[float, float] = (1.0, 1.0)


class _Writer:
    def __init__(self, height_mm: float) -> None:
        unit = decimal(PT_PER_MM)
        self.steps = [f"{unit} 0 0 -{unit} 0 {decimal(height_mm * PT_PER_MM)} cm 4 M"]
        self.opacities: dict[tuple[float, float], str] = {}
        self._state = _State()

    def draw(self, parent: etree._Element, style: dict[str, str], scale: float) -> None:
        """Writes all that is in ``parent``; ``scale`` is how much larger its units have become."""
        look: _Look | None = None  # of shapes that say nothing of their own
        for child in parent:
            tag = str(child.tag).removeprefix(SVG)
            if tag == "defs" and not len(child):
                continue
            group = tag in ("g", "a")
            attributes = _attributes(child)
            if (not group and tag not in SHAPES) or not _UNKNOWN.isdisjoint(attributes):
                raise DeclinedError
            own = _inheritable(attributes)
            opacity = float(attributes.get("opacity") or 1)
            before, inner = self._state, scale
            transform = attributes.get("transform")
            if transform:
                matrix = parse_transform(transform)
                self.steps.append("q " + " ".join(decimal(value) for value in matrix) + " cm")
                inner = scale * max(matrix.scale_x, matrix.scale_y)
            if not group:
                if own:
                    self._shape(child, _look({**style, **own}), opacity, inner)
                else:
                    look = look or _look(style)
                    self._shape(child, look, opacity, inner)
            elif opacity < 1:
                raise DeclinedError
            else:
                self.draw(child, {**style, **own} if own else style, inner)
            if transform:
                self.steps.append("Q")
                self._state = before

    def _shape(self, element: etree._Element, look: _Look, opacity: float, scale: float) -> None:
        if not look.fill and not look.stroke:
            return
        data = outline(element)
        if not data.coordinates:
            return
        if opacity < 1 and look.fill and look.stroke:
            raise DeclinedError  # the two would show through each other
        self._take_up(look, opacity)
        decimals = 3 if scale < 3 else 4 if scale < 30 else 6
        path = _pattern(data.operators, decimals) % data.coordinates
        if not look.stroke:
            self.steps += (path, "f" + look.rule)
        elif not look.fill:
            self.steps += (path, "S")
        elif self._state.alpha[1] == 1:
            self.steps += (path, "B" + look.rule)
        else:  # readers disagree on whether the fill shows through the stroke of one operator
            self.steps += (path, "f" + look.rule, path, "S")

    def _take_up(self, look: _Look, opacity: float) -> None:
        """Sets in the graphics state what of a look is not set yet."""
        state, steps = self._state, self.steps
        (fill_alpha, stroke_alpha), pen = state.alpha, state.pen
        if look.fill:
            fill_alpha = _within(look.opacities[0] * opacity * look.shares[0])
            if look.fill != state.fill:
                steps.append(look.fill)
        if look.stroke:
            stroke_alpha = _within(look.opacities[1] * opacity * look.shares[1])
            if look.stroke != state.stroke:
                steps.append(look.stroke)
        alpha = fill_alpha, stroke_alpha
        if alpha != state.alpha:
            steps.append(self.opacities.setdefault(alpha, f"/A{len(self.opacities)}") + " gs")
        if look.stroke and look.pen != pen:
            changed = [new for new, old in zip(look.pen, pen, strict=True) if new != old]
            steps.append(" ".join(changed))
            pen = look.pen
        self._state = _State(look.fill or state.fill, look.stroke or state.stroke, pen, alpha)


def _attributes(element: etree._Element) -> dict[str, str]:
    return {str(name): str(value) for name, value in element.items()}


def _inheritable(attributes: Mapping[str, str]) -> dict[str, str]:
    return {name: attributes[name] for name in attributes if name in _INHERITED}


def _look(style: Mapping[str, str]) -> _Look:
    """The look of shapes in a style; raises DeclinedError for paint that is no flat colour."""
    if style.get("visibility", "visible") != "visible":
        return _UNSEEN
    fill = _paint(style.get("fill", "black"), style)
    stroke = _paint(style.get("stroke", "none"), style)
    width = length(style.get("stroke-width"), default=1.0)
    if width <= 0:
        stroke = None
    paints = fill or _CLEAR, stroke or _CLEAR
    return _Look(
        " ".join(decimal(part) for part in fill[:3]) + " rg" if fill is not None else "",
        " ".join(decimal(part) for part in stroke[:3]) + " RG" if stroke is not None else "",
        (paints[0][3], paints[1][3]),
        (float(style.get("fill-opacity", 1)), float(style.get("stroke-opacity", 1))),
        _pen(width, style) if stroke is not None else (),
        "*" if style.get("fill-rule") == "evenodd" else "",
    )


_CLEAR = (0.0, 0.0, 0.0, 0.0)
_UNSEEN = _Look("", "", (0.0, 0.0), (0.0, 0.0), (), "")


def _pen(width: float, style: Mapping[str, str]) -> tuple[str, ...]:
    """Operators for a line's width, ends, joins and dashes."""
    dashes = lengths(style.get("stroke-dasharray"))
    if len(dashes) % 2:
        dashes *= 2
    dash = " ".join(decimal(value) for value in dashes) if sum(dashes) else ""
    return (
        f"{decimal(width)} w",
        f"{_CAPS.get(style.get('stroke-linecap', 'butt'), 0)} J",
        f"{_JOINS.get(style.get('stroke-linejoin', 'miter'), 0)} j",
        f"{decimal(float(style.get('stroke-miterlimit', 4)))} M",
        f"[{dash}] {decimal(length(style.get('stroke-dashoffset')))} d",
    )


@functools.lru_cache(maxsize=1000)
def _colour(value: str) -> _Rgba:
    red, green, blue, alpha = color(value)
    return red, green, blue, alpha


def _paint(value: str, style: Mapping[str, str]) -> _Rgba | None:
    value = value.strip()
    if value in ("none", "transparent"):
        return None
    if value == "currentColor":
        value = style.get("color", "black")
    if value.startswith("url") or value in ("inherit", "context-fill", "context-stroke"):
        raise DeclinedError
    return _colour(value)


def _within(alpha: float) -> float:
    """An opacity as a PDF takes it: drawings may go below 0 and above 1."""
    return alpha if alpha == 1.0 else round(min(max(alpha, 0.0), 1.0), 4)


@functools.lru_cache(maxsize=20_000)
def _pattern(operators: str, decimals: int) -> str:
    """What a path of these operators looks like, with a place for each of its numbers."""
    place = f"%.{decimals}f"
    words = {
        "M": f"{place} {place} m",
        "L": f"{place} {place} l",
        "C": " ".join([place] * 6) + " c",
        "Z": "h",
    }
    return " ".join(words[operator] for operator in operators)
