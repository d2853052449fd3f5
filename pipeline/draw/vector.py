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

_UNKNOWN = (
    "mask", "filter", "clip-path", "clip", "marker-start", "marker-mid", "marker-end", "marker",
    "paint-order", "mix-blend-mode", "transform-origin", "style",
)  # fmt: skip
"""Properties that ask for more than lines and flat colours."""

_INHERITED = (
    "fill", "stroke", "stroke-width", "stroke-linecap", "stroke-linejoin", "stroke-miterlimit",
    "stroke-dasharray", "stroke-dashoffset", "fill-rule", "fill-opacity", "stroke-opacity",
    "visibility", "color",
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
    root = etree.fromstring(svg)
    writer = _Writer(length(str(root.get("height", "")).removesuffix("mm")))
    try:
        writer.draw(root, _said(root), 1.0)
    except DeclinedError:
        return None
    opacities = {name: alpha for alpha, name in writer.opacities.items()}
    return VectorArt(zlib.compress("\n".join(writer.steps).encode(), _EFFORT), opacities)


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
        for child in parent:
            tag = str(child.tag).removeprefix(SVG)
            if tag == "defs" and not len(child):
                continue
            attributes = child.attrib
            group = tag in ("g", "a")
            if (not group and tag not in SHAPES) or any(name in attributes for name in _UNKNOWN):
                raise DeclinedError
            own = _said(child)
            merged = {**style, **own} if own else style
            opacity = float(attributes.get("opacity") or 1)
            before, inner = self._state, scale
            transform = attributes.get("transform")
            if transform:
                matrix = parse_transform(str(transform))
                self.steps.append("q " + " ".join(decimal(value) for value in matrix) + " cm")
                inner = scale * max(matrix.scale_x, matrix.scale_y)
            if not group:
                self._shape(child, merged, opacity, inner)
            elif opacity < 1:
                raise DeclinedError
            else:
                self.draw(child, merged, inner)
            if transform:
                self.steps.append("Q")
                self._state = before

    def _shape(
        self, element: etree._Element, style: dict[str, str], opacity: float, scale: float
    ) -> None:
        if style.get("visibility", "visible") != "visible":
            return
        fill = _paint(style.get("fill", "black"), style)
        stroke = _paint(style.get("stroke", "none"), style)
        width = length(style.get("stroke-width"), default=1.0)
        if width <= 0:
            stroke = None
        data = outline(element)
        if not data.coordinates or (fill is None and stroke is None):
            return
        if opacity < 1 and fill is not None and stroke is not None:
            raise DeclinedError  # the two would show through each other
        self._colours(fill, stroke, style, opacity)
        if stroke is not None:
            self._pen(width, style)
        decimals = 3 if scale < 3 else 4 if scale < 30 else 6
        path = _pattern(data.operators, decimals) % data.coordinates
        rule = "*" if style.get("fill-rule") == "evenodd" else ""
        if stroke is None:
            self.steps += (path, "f" + rule)
        elif fill is None:
            self.steps += (path, "S")
        elif self._state.alpha[1] == 1:
            self.steps += (path, "B" + rule)
        else:  # readers disagree on whether the fill shows through the stroke of one operator
            self.steps += (path, "f" + rule, path, "S")

    def _colours(
        self, fill: _Rgba | None, stroke: _Rgba | None, style: dict[str, str], opacity: float
    ) -> None:
        state = self._state
        fill_alpha, stroke_alpha = state.alpha
        if fill is not None:
            state = state._replace(fill=" ".join(decimal(part) for part in fill[:3]) + " rg")
            fill_alpha = fill[3] * opacity * float(style.get("fill-opacity", 1))
        if stroke is not None:
            state = state._replace(stroke=" ".join(decimal(part) for part in stroke[:3]) + " RG")
            stroke_alpha = stroke[3] * opacity * float(style.get("stroke-opacity", 1))
        state = state._replace(alpha=(_within(fill_alpha), _within(stroke_alpha)))
        pairs = zip(state[:2], self._state[:2], strict=True)
        self.steps += [words for words, before in pairs if words != before]
        if state.alpha != self._state.alpha:
            name = self.opacities.setdefault(state.alpha, f"/A{len(self.opacities)}")
            self.steps.append(f"{name} gs")
        self._state = state

    def _pen(self, width: float, style: dict[str, str]) -> None:
        dashes = lengths(style.get("stroke-dasharray"))
        if len(dashes) % 2:
            dashes *= 2
        dash = " ".join(decimal(value) for value in dashes) if sum(dashes) else ""
        pen = (
            f"{decimal(width)} w",
            f"{_CAPS.get(style.get('stroke-linecap', 'butt'), 0)} J",
            f"{_JOINS.get(style.get('stroke-linejoin', 'miter'), 0)} j",
            f"{decimal(float(style.get('stroke-miterlimit', 4)))} M",
            f"[{dash}] {decimal(length(style.get('stroke-dashoffset')))} d",
        )
        changed = [new for new, old in zip(pen, self._state.pen, strict=True) if new != old]
        if changed:
            self.steps.append(" ".join(changed))
        self._state = self._state._replace(pen=pen)


def _said(element: etree._Element) -> dict[str, str]:
    """The inherited properties that an element itself sets."""
    return {name: str(element.attrib[name]) for name in _INHERITED if name in element.attrib}


@functools.lru_cache(maxsize=1000)
def _colour(value: str) -> _Rgba:
    red, green, blue, alpha = color(value)
    return red, green, blue, alpha


def _paint(value: str, style: dict[str, str]) -> _Rgba | None:
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
    return round(min(max(alpha, 0.0), 1.0), 4)


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
