"""Plain line artwork straight to PDF operators, many times faster than through a canvas.

Only what needs no second thought is drawn here: paths and basic shapes in flat colours, groups and
transforms. For anything else ``vector_art`` declines, and CairoSVG draws the layer.
"""

from __future__ import annotations

import functools
import json
import zlib
from dataclasses import dataclass, field, replace

from cairosvg.colors import color
from lxml import etree

from pipeline.base.geometry import PT_PER_MM, decimal
from pipeline.svg.path import outline
from pipeline.svg.transform import parse_transform
from pipeline.svg.tree import SVG
from pipeline.text.style import length

_TAGS = frozenset(("g", "a", "path", "rect", "circle", "ellipse", "line", "polyline", "polygon"))
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


class DeclinedError(Exception):
    """Raised within this module for what it does not draw."""


@dataclass(frozen=True)
class VectorArt:
    """A deflated content stream for a form, and the opacities its graphics states stand for.

    ``opacities`` maps a state's name to its (fill, stroke) alpha.
    """

    content: bytes
    opacities: dict[str, tuple[float, float]]

    def as_bytes(self) -> bytes:
        """For keeping: a line of JSON with the opacities, then the stream."""
        return json.dumps(self.opacities).encode() + b"\n" + self.content

    @classmethod
    def from_bytes(cls, data: bytes) -> VectorArt:
        """What ``as_bytes`` gave."""
        head, _, stream = data.partition(b"\n")
        states = {name: (fill, stroke) for name, (fill, stroke) in json.loads(head).items()}
        return cls(stream, states)


@dataclass(frozen=True)
class _State:
    """What is set in the PDF's graphics state, to say again only what changes."""

    fill: str = ""
    stroke: str = ""
    pen: tuple[str, ...] = ()
    alpha: tuple[float, float] = (1.0, 1.0)


@dataclass
class _Writer:
    steps: list[str] = field(default_factory=list)
    opacities: dict[tuple[float, float], str] = field(default_factory=dict)


def vector_art(svg: bytes) -> VectorArt | None:
    """The artwork of a simplified SVG in mm, as PDF operators; None when it is not plain enough.

    The stream's origin is the page's lower left corner, its unit the point.
    """
    root = etree.fromstring(svg)
    height = length(str(root.get("height", "")).removesuffix("mm"))
    writer = _Writer()
    unit, high = decimal(PT_PER_MM), decimal(height * PT_PER_MM)
    writer.steps.append(f"{unit} 0 0 -{unit} 0 {high} cm 4 M")
    try:
        _children(root, {}, _State(), 1.0, writer)
    except DeclinedError:
        return None
    opacities = {name: alpha for alpha, name in writer.opacities.items()}
    return VectorArt(zlib.compress("\n".join(writer.steps).encode(), _EFFORT), opacities)


def _children(
    parent: etree._Element,
    style: dict[str, str],
    state: _State,
    scale: float,
    writer: _Writer,
) -> _State:
    for child in parent:
        tag = str(child.tag).removeprefix(SVG)
        if tag == "defs" and not len(child):
            continue
        if tag not in _TAGS:
            raise DeclinedError
        attributes = child.attrib
        if any(name in attributes for name in _UNKNOWN):
            raise DeclinedError
        own = {name: str(attributes[name]) for name in _INHERITED if name in attributes}
        merged = {**style, **own} if own else style
        opacity = float(attributes.get("opacity") or 1)
        transform = attributes.get("transform")
        if transform:
            matrix = parse_transform(str(transform))
            writer.steps.append("q " + " ".join(decimal(value) for value in matrix) + " cm")
            inner = scale * max(matrix.scale_x, matrix.scale_y)
        else:
            inner = scale
        if tag in ("g", "a"):
            if opacity < 1:
                raise DeclinedError
            after = _children(child, merged, state, inner, writer)
        else:
            after = _shape(child, tag, merged, opacity, state, inner, writer)
        if transform:
            writer.steps.append("Q")
        else:
            state = after
    return state


def _shape(
    element: etree._Element,
    tag: str,
    style: dict[str, str],
    opacity: float,
    state: _State,
    scale: float,
    writer: _Writer,
) -> _State:
    if style.get("visibility", "visible") != "visible":
        return state
    fill = _paint(style.get("fill", "black"), style)
    stroke = _paint(style.get("stroke", "none"), style)
    width = length(style.get("stroke-width"), default=1.0)
    if width <= 0:
        stroke = None
    data = outline(element)
    if not data.coordinates or (fill is None and stroke is None):
        return state
    if opacity < 1 and fill is not None and stroke is not None:
        raise DeclinedError  # the two would show through each other
    state = _colours(fill, stroke, style, opacity, state, writer)
    if stroke is not None:
        state = _pen(width, style, state, writer)
    decimals = 3 if scale < 3 else 4 if scale < 30 else 6
    path = _pattern(data.operators, decimals) % data.coordinates
    rule = "*" if style.get("fill-rule") == "evenodd" else ""
    if stroke is None:
        writer.steps += (path, "f" + rule)
    elif fill is None:
        writer.steps += (path, "S")
    elif state.alpha[1] == 1:
        writer.steps += (path, "B" + rule)
    else:  # readers disagree on whether the fill shows through the stroke of one operator
        writer.steps += (path, "f" + rule, path, "S")
    return state


@functools.lru_cache(maxsize=1000)
def _colour(value: str) -> tuple[float, float, float, float]:
    red, green, blue, alpha = color(value)
    return red, green, blue, alpha


def _paint(value: str, style: dict[str, str]) -> tuple[float, float, float, float] | None:
    value = value.strip()
    if value in ("none", "transparent"):
        return None
    if value == "currentColor":
        value = style.get("color", "black")
    if value.startswith("url") or value in ("inherit", "context-fill", "context-stroke"):
        raise DeclinedError
    return _colour(value)


def _colours(
    fill: tuple[float, float, float, float] | None,
    stroke: tuple[float, float, float, float] | None,
    style: dict[str, str],
    opacity: float,
    state: _State,
    writer: _Writer,
) -> _State:
    fill_alpha, stroke_alpha = state.alpha
    if fill is not None:
        words = " ".join(decimal(part) for part in fill[:3]) + " rg"
        if words != state.fill:
            writer.steps.append(words)
            state = replace(state, fill=words)
        fill_alpha = fill[3] * opacity * float(style.get("fill-opacity", 1))
    if stroke is not None:
        words = " ".join(decimal(part) for part in stroke[:3]) + " RG"
        if words != state.stroke:
            writer.steps.append(words)
            state = replace(state, stroke=words)
        stroke_alpha = stroke[3] * opacity * float(style.get("stroke-opacity", 1))
    alpha = (_within(fill_alpha), _within(stroke_alpha))
    if alpha != state.alpha:
        name = writer.opacities.setdefault(alpha, f"/A{len(writer.opacities)}")
        writer.steps.append(f"{name} gs")
        state = replace(state, alpha=alpha)
    return state


def _within(alpha: float) -> float:
    """An opacity as a PDF takes it: drawings may go below 0 and above 1."""
    return round(min(max(alpha, 0.0), 1.0), 4)


def _pen(width: float, style: dict[str, str], state: _State, writer: _Writer) -> _State:
    dashes = style.get("stroke-dasharray", "none").replace(",", " ").split()
    lengths = [length(dash) for dash in dashes] if dashes and dashes != ["none"] else []
    if len(lengths) % 2:
        lengths *= 2
    if not sum(lengths):
        lengths = []
    dash = " ".join(decimal(value) for value in lengths)
    pen = (
        f"{decimal(width)} w",
        f"{_CAPS.get(style.get('stroke-linecap', 'butt'), 0)} J",
        f"{_JOINS.get(style.get('stroke-linejoin', 'miter'), 0)} j",
        f"{decimal(float(style.get('stroke-miterlimit', 4)))} M",
        f"[{dash}] {decimal(length(style.get('stroke-dashoffset')))} d",
    )
    before = state.pen or ("", "0 J", "0 j", "4 M", "[] 0 d")
    changed = [new for new, old in zip(pen, before, strict=True) if new != old]
    if changed:
        writer.steps.append(" ".join(changed))
    return replace(state, pen=pen)


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
