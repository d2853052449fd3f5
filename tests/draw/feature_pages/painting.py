# ruff: noqa: E501  (a drawing is a line)
"""Painting: strokes, dashes, joins, markers, visibility, order, blending of colours."""

from __future__ import annotations

import itertools
import math
from collections.abc import Sequence

from tests.draw.feature_samples import Feature, Refused

_ZIGZAG = "M8 30L16 8L24 30L44 30L50 8"
_FAT = 'fill="none" stroke="#036" stroke-width="5"'
_DASHED = 'stroke="#036" stroke-width="4" fill="none"'
_BOX = '<rect x="10" y="8" width="40" height="24" fill="#fc0" stroke="#024" stroke-width="8" '
_HEAD = '<path d="M0 0L6 3L0 6z" fill="#a03020"/>'
_DOT = '<circle cx="3" cy="3" r="2.5" fill="#a03020"/>'
_SQUARE = '<rect width="6" height="6" fill="#a03020"/><rect width="3" height="3" fill="#036"/>'
_WIDE = '<rect width="12" height="6" fill="#a03020"/><rect width="4" height="3" fill="#036"/>'
_ON = 'marker-start="url(#k)" marker-mid="url(#k)" marker-end="url(#k)"'
_THIN = 'fill="none" stroke="#036"'


def _marker(asked: str = "", content: str = _HEAD) -> str:
    """A marker 6 × 6 in size whose reference point is its middle, unless it is asked for."""
    sides = {"markerWidth": "6", "markerHeight": "6", "refX": "3", "refY": "3"}
    said = " ".join(f'{name}="{value}"' for name, value in sides.items() if name not in asked)
    return f'<marker id="k" {said} {asked}>{content}</marker>'


def _head(x: float, y: float, coming: float, going: float) -> str:
    """A marker's arrow head at a vertex, half way between both directions (radians)."""
    across, down = math.cos(coming) + math.cos(going), math.sin(coming) + math.sin(going)
    turn = math.degrees(math.atan2(down, across))
    stand = f"translate({x} {y}) rotate({turn}) translate(-3 -3)"
    return f'<g transform="{stand}">{_HEAD}</g>'


def _heads(points: Sequence[tuple[float, float]], *, closed: bool = False) -> str:
    """Arrow heads at all points of a line, as SVG 2, 13.7.4 turns them; a closed one's beginning
    and end are turned half way between its last direction and its first."""
    steps = itertools.pairwise([*points, points[0]] if closed else points)
    ways = [math.atan2(to_y - y, to_x - x) for (x, y), (to_x, to_y) in steps]
    first, last = (ways[-1], ways[0]) if closed else (ways[0], ways[-1])
    at = [*points, points[0]] if closed else points
    turns = zip([first, *ways], [*ways, last], strict=True)
    return "".join(_head(*point, *turn) for point, turn in zip(at, turns, strict=True))


_AUTO = _marker('orient="auto"')

STROKES = [
    Feature(
        "dashes that begin inside",
        '<path d="M5 20h50" stroke="black" stroke-width="4" stroke-dasharray="6 3" stroke-dashoffset="2"/>',
    ),
    *(
        Feature(f"stroke as wide as {width}", f'<path d="M5 20h50" {_THIN} font-size="6" stroke-width="{width}"/>')
        for width in ("3px", "2mm", ".1in", "4pt", ".5pc", ".3cm", ".7em", "1ex", "5%", "1e1", "+4", "3.")
    ),
    Feature("stroke of no width shows nothing", f'{_BOX.replace("8", "0", 1).replace(chr(34) + "8" + chr(34) + " ", chr(34) + "0" + chr(34) + " ")}/>'),
    Feature("stroke width that cannot be read", f'<path d="M5 20h50" {_THIN} stroke-width="wide"/><rect x="5" y="25" width="9" height="9"/>'),
    Feature("stroke without a colour of its own in a group", '<g stroke="#036" stroke-width="4"><path d="M5 20h50"/><path d="M5 30h50" stroke="none" fill="red"/></g>'),
    Feature("stroke width in em of a larger group", '<g font-size="10"><path d="M5 20h50" stroke="#036" stroke-width=".4em" font-size="20"/></g>'),
    *(Feature(f"join: {join}", f'<path d="{_ZIGZAG}" {_FAT} stroke-linejoin="{join}"/>') for join in ("miter", "round", "bevel")),
    *(Feature(f"end: {cap}", f'<path d="{_ZIGZAG}M5 35h20" {_FAT} stroke-linecap="{cap}"/>') for cap in ("butt", "round", "square")),
    Feature("join that cannot be read", f'<path d="{_ZIGZAG}" {_FAT} stroke-linejoin="pointed"/>'),
    Feature("end that cannot be read", f'<path d="{_ZIGZAG}" {_FAT} stroke-linecap="flat"/>'),
    *(Feature(f"mitre limit {limit}", f'<path d="{_ZIGZAG}" {_FAT} stroke-miterlimit="{limit}"/>') for limit in ("1", "1.1", "2", "3.5", "10", "1e3")),
    Feature("mitre limits that are none", f'<path d="{_ZIGZAG}" {_FAT} stroke-miterlimit="4px"/>', equal=f'<path d="{_ZIGZAG}" {_FAT}/>'),
    Feature("mitre limit below one counts for nothing", f'<g stroke-miterlimit="2"><path d="{_ZIGZAG}" {_FAT} stroke-miterlimit=".5"/></g>', equal=f'<path d="{_ZIGZAG}" {_FAT} stroke-miterlimit="2"/>'),
    Feature("mitre limit below nothing counts for nothing", f'<path d="{_ZIGZAG}" {_FAT} stroke-miterlimit="-3"/>', equal=f'<path d="{_ZIGZAG}" {_FAT}/>'),
    # SVG 2, 13.5.6: 'miter-clip' and 'arcs' are drawn as their nearest, a mitre.
    Feature("join: miter-clip", f'<path d="{_ZIGZAG}" {_FAT} stroke-linejoin="miter-clip" stroke-miterlimit="9"/>', equal=f'<path d="{_ZIGZAG}" {_FAT} stroke-miterlimit="9"/>'),
    Feature("join: arcs", f'<path d="{_ZIGZAG}" {_FAT} stroke-linejoin="arcs" stroke-miterlimit="9"/>', equal=f'<path d="{_ZIGZAG}" {_FAT} stroke-miterlimit="9"/>'),
    Feature("joins of a square, closed", f'<path d="M15 10h30v20h-30z" {_FAT} stroke-linejoin="round"/>'),
    Feature("join where a path turns back", f'<path d="M15 10h30h-20v20" {_FAT}/>'),
]  # fmt: skip

DASHES = [
    *(
        Feature(f"dashes of {dashes}", f'<path d="M5 20h50" {_DASHED} font-size="5" stroke-dasharray="{dashes}"/>')
        for dashes in ("5", "5,3", "5 , 3", "5 3 1", "10%", "1em 2px", "2mm 1mm", "6 0", "6 0 2 3", "0 0", "none", "5,3,", "-5 3", "5 -3", "x", "1e1 2", "400")
    ),
    *(
        Feature(f"dashes set off by {offset}", f'<path d="M5 20h50" {_DASHED} font-size="5" stroke-dasharray="7 3 1 3" stroke-dashoffset="{offset}"/>')
        for offset in ("3", "-3", "99", "-99", "10%", "1em", "2mm", "x")
    ),
    Feature("dashes of nothing with butt ends", f'<path d="M5 20h50" {_DASHED} stroke-dasharray="0 6"/><path d="M5 30h50" {_DASHED} stroke-dasharray="0 6 0 2 3 1"/>'),
    Feature("dashes of nothing first and last", f'<path d="M5 20h50" {_DASHED} stroke-dasharray="0 6 4 2 3 0" stroke-dashoffset="2"/><path d="M5 30h50" {_DASHED} stroke-dasharray="4 0 2 3 5 0"/>'),
    Feature("dashes of nothing with round ends are dots", f'<path d="M5 20h50" {_DASHED} stroke-dasharray="0 8" stroke-linecap="round"/>'),
    Feature("dashes of nothing with square ends", f'<path d="M5 20h50" {_DASHED} stroke-dasharray="0 8" stroke-linecap="square"/>'),
    Feature("dashes of nothing with square ends, turned", f'<path d="M5 20h50" {_DASHED} stroke-dasharray="0 8" stroke-linecap="square" transform="rotate(20 30 20)"/>'),
    # Square ends lie along the path (SVG 2, 13.5.4).
    Feature("dashes of nothing on a curve with square ends", f'<path d="M5 30C15 0 45 0 55 30" {_DASHED} stroke-dasharray="0 8" stroke-linecap="square"/>', equal=f'<path d="M5 30C15 0 45 0 55 30" {_DASHED} stroke-dasharray=".02 7.98" stroke-linecap="square"/>'),
    Feature("text with dashes, some of nothing", '<text x="5" y="32" font-family="Kalam" font-size="30" fill="none" stroke="#036" stroke-width="1.5" stroke-dasharray="0 3" stroke-linecap="round">le<tspan stroke-dasharray="3 0 1 2" stroke-linecap="butt">af</tspan></text>'),
    Feature("dashes, odd in number, with an offset", f'<path d="M5 20h50" {_DASHED} stroke-dasharray="9 3 1" stroke-dashoffset="8"/>'),
    Feature("dashes begin anew on each subpath", f'<path d="M5 10h22M5 20h30M5 30h47" {_DASHED} stroke-dasharray="7 3"/>'),
    Feature("dashes around a closed path", f'<path d="M10 10h40v20h-40z" {_DASHED} stroke-dasharray="9 5"/>'),
    Feature("dashes around a closed path, the last and first meeting", f'<path d="M10 10h40v20h-40z" {_DASHED} stroke-dasharray="30 10" stroke-dashoffset="10" stroke-linejoin="round"/>'),
    Feature("dashes around a corner", f'<path d="M10 30V10H50V30" {_DASHED} stroke-dasharray="15 4"/>'),
    Feature("dashes on a scaled path", '<path d="M1 4h10" stroke="#036" fill="none" stroke-dasharray="2 1" transform="scale(5)"/>'),
    Feature("dashes in per cent of the page", '<svg viewBox="0 0 30 20"><path d="M5 10h20" stroke="#036" stroke-width="2" stroke-dasharray="10% 5%"/></svg>'),
    Feature("dashes of fat round ends that touch", f'<path d="M5 20h50" {_DASHED} stroke-dasharray="4" stroke-linecap="round"/>'),
    # 'pathLength' (SVG 2, 9.6.1): dashes and their offset are shares of it.
    Feature("dashes measured by a length of their own", f'<path d="M5 20h50" {_DASHED} stroke-dasharray="1" pathLength="10"/>', equal=f'<path d="M5 20h50" {_DASHED} stroke-dasharray="5"/>'),
    Feature("dashes on a curve measured by a length of their own", f'<path d="M10 30V10H50V30z" {_DASHED} stroke-dasharray="8 5" stroke-dashoffset="4" pathLength="60"/>', equal=f'<path d="M10 30V10H50V30z" {_DASHED} stroke-dasharray="16 10" stroke-dashoffset="8"/>'),
    Feature("dashes on a circle measured by a length of their own", f'<circle cx="30" cy="20" r="12" {_DASHED} stroke-dasharray="1 2" pathLength="24"/>', equal=f'<circle cx="30" cy="20" r="12" {_DASHED} stroke-dasharray="3.14159 6.28319"/>'),
    Feature("dashes on a rectangle measured by a length of their own", f'<rect x="10" y="5" width="40" height="30" {_DASHED} stroke-dasharray="4" pathLength="70"/>', equal=f'<rect x="10" y="5" width="40" height="30" {_DASHED} stroke-dasharray="8"/>'),
    Feature("dashes on a line measured by a length of its own, from a group", f'<g stroke-dasharray="1 1"><line x1="5" x2="55" y1="20" y2="20" {_DASHED} pathLength="10"/></g>', equal=f'<path d="M5 20h50" {_DASHED} stroke-dasharray="5"/>'),
    # SVG 2, 9.6.1: a length of nothing leaves one endless dash; one below nothing is an error.
    Feature("dashes measured by a length below nothing", f'<path d="M5 20h50" {_DASHED} stroke-dasharray="5 2" pathLength="-3"/>', equal=f'<path d="M5 20h50" {_DASHED} stroke-dasharray="5 2"/>'),
    Feature("path with a length of its own and no dashes", f'<path d="M5 20h50" {_DASHED} pathLength="10"/>'),
]  # fmt: skip

_ORDERS = (
    "normal",
    "fill",
    "stroke",
    "markers",
    "fill stroke",
    "fill markers",
    "stroke fill",
    "stroke markers",
    "markers fill",
    "markers stroke",
    "fill stroke markers",
    "fill markers stroke",
    "stroke fill markers",
    "stroke markers fill",
    "markers fill stroke",
    "markers stroke fill",
    "stroke fill stroke",
    "fill nonsense",
)
PAINTS = [
    *(
        Feature(f"painted in the order: {order}", f'{_marker("", _DOT)}<path d="M10 30L25 8L40 30L50 10" fill="#fc0" stroke="#036" stroke-width="2" {_ON} paint-order="{order}"/>')
        for order in _ORDERS
    ),
    *(
        Feature(f"text painted in the order: {order}", f'<text x="5" y="30" font-family="Kalam" font-size="26" fill="#fc0" stroke="#036" stroke-width="3" paint-order="{order}">leaf</text>')
        for order in ("normal", "stroke", "markers stroke", "markers", "fill stroke", "stroke fill markers")
    ),
    Feature("text's order of painting from a group and back", '<g paint-order="stroke" font-family="Kalam" font-size="18" fill="#fc0" stroke="#036" stroke-width="3"><text x="5" y="17">leaf</text><text x="5" y="37">le<tspan paint-order="normal">af</tspan></text></g>'),
    Feature("order of painting with opacity", f'{_BOX}paint-order="stroke" opacity=".5"/>'),
    Feature("neither filled nor stroked", f'{_BOX.replace("#fc0", "none").replace("#024", "none")}/><rect x="5" y="5" width="9" height="9"/>'),
    Feature("fill that is not said", '<rect x="10" y="8" width="40" height="24" fill=""/>', equal='<rect x="10" y="8" width="40" height="24"/>'),
    Feature("paint that is not there, with another to fall back on", '<rect x="5" y="5" width="20" height="30" fill="url(#none) #383"/><rect x="35" y="5" width="20" height="30" fill="none" stroke="url(#none) #a33" stroke-width="4"/>'),
    Feature("paint that is not there, with nothing to fall back on", '<rect x="5" y="5" width="20" height="30" fill="url(#none)" stroke="#036"/><rect x="35" y="5" width="20" height="30" fill="url(#none) none" stroke="#036"/>'),
    Feature("paint that is not there, in currentColor", '<g color="#a33"><rect x="5" y="5" width="20" height="30" fill="url(#none) currentColor"/></g>'),
    Feature("paint that is something else", '<rect id="r" x="5" y="5" width="9" height="9"/><rect x="20" y="5" width="20" height="30" fill="url(#r) #383"/>', equal='<rect x="5" y="5" width="9" height="9"/><rect x="20" y="5" width="20" height="30" fill="#383"/>'),
    Feature("paint inherited as a reference", '<linearGradient id="g"><stop stop-color="#036"/><stop offset="1" stop-color="#fc6"/></linearGradient><g fill="url(#g)" stroke="#024"><rect x="5" y="5" width="20" height="30"/><circle cx="42" cy="20" r="12"/></g>'),
    Feature("stroke in a gradient", '<linearGradient id="g"><stop stop-color="#036"/><stop offset="1" stop-color="#fc6"/></linearGradient><path d="M10 30L30 8L50 30" fill="none" stroke="url(#g)" stroke-width="6"/>'),
    Feature("stroke in a gradient with opacity", '<linearGradient id="g"><stop stop-color="#036"/><stop offset="1" stop-color="#fc6"/></linearGradient><path d="M10 30L30 8L50 30" fill="#ccc" stroke="url(#g)" stroke-width="6" stroke-opacity=".5" opacity=".7"/>'),
    # The box of a level or upright line has no area (SVG 1.1, 7.11): the paint is as if it was not there.
    Feature("gradient in units of a box without height", '<linearGradient id="g"><stop stop-color="#036"/><stop offset="1" stop-color="#fc6"/></linearGradient><path d="M10 20H50" stroke="url(#g)" stroke-width="6"/><path d="M30 5V35" stroke="url(#g) #a33" stroke-width="3"/>'),
    Feature("context paint outside of markers and uses", '<rect x="5" y="5" width="20" height="30" fill="context-fill" stroke="#036"/><rect x="35" y="5" width="20" height="30" stroke="context-stroke"/>'),
    Feature("context paint within a use", '<defs><g id="u"><rect width="15" height="20" fill="context-fill" stroke="context-stroke" stroke-width="3"/><circle cx="8" cy="27" r="4" fill="context-stroke"/></g></defs><use href="#u" x="5" y="5" fill="#fc0" stroke="#036"/><use href="#u" x="35" y="5" fill="#383" stroke="#a33"/>'),
    Feature("context paint within a use within a group", '<defs><rect id="u" width="15" height="20" fill="context-stroke"/></defs><g stroke="#036"><use href="#u" x="5" y="5"/></g><g stroke="#a33"><use href="#u" x="35" y="5"/></g>'),
    Feature("context paint within a use of a use", '<defs><rect id="u" width="15" height="20" fill="context-fill" stroke="context-stroke" stroke-width="3"/><use id="v" href="#u" x="5" y="5" fill="context-stroke" stroke="#fc0"/></defs><use href="#v" fill="#383" stroke="#a33"/>', equal='<rect x="5" y="5" width="15" height="20" fill="#a33" stroke="#fc0" stroke-width="3"/>'),
    Feature("context paint that is a gradient in user units", '<linearGradient id="g" gradientUnits="userSpaceOnUse" x1="0" x2="15"><stop stop-color="#036"/><stop offset="1" stop-color="#fc6"/></linearGradient><defs><rect id="u" width="15" height="20" fill="context-fill"/></defs><use href="#u" x="5" y="5" fill="url(#g)"/>', equal='<linearGradient id="g" gradientUnits="userSpaceOnUse" x1="0" x2="15"><stop stop-color="#036"/><stop offset="1" stop-color="#fc6"/></linearGradient><rect width="15" height="20" transform="translate(5 5)" fill="url(#g)"/>'),
    Feature("visible children of hidden groups", '<g visibility="hidden"><rect width="9" height="9"/><g visibility="visible"><rect x="20" y="5" width="20" height="30"/><rect x="30" y="5" width="20" height="30" visibility="collapse" fill="red"/></g></g>'),
    Feature("hidden text with a visible part", '<text x="5" y="30" font-family="Kalam" font-size="20" visibility="hidden">le<tspan visibility="visible">af</tspan></text>'),
    Feature("hidden shape with markers", f'{_marker()}<path d="M10 20H50" stroke="#036" {_ON} visibility="hidden"/><rect x="5" y="5" width="9" height="9"/>'),
    Feature("hidden shape within a clip does not cut", '<clipPath id="c"><rect x="5" y="5" width="20" height="30"/><rect x="30" y="5" width="20" height="30" visibility="hidden"/></clipPath><rect width="60" height="40" clip-path="url(#c)"/>'),
    Feature("fill rules inherited and taken back", '<g fill-rule="evenodd"><path d="M5 5h20v30h-20zM10 10h10v20h-10z"/><path d="M35 5h20v30h-20zM40 10h10v20h-10z" fill-rule="nonzero"/></g>'),
    Feature("star by both fill rules", '<path id="s" d="M15 5L24 33L1 16H29L6 33z"/><use href="#s" x="29" fill-rule="evenodd"/><path d="M44 5L53 33L30 16H58L35 33z" fill-rule="evenodd" fill="#a33"/>'),
    Feature("fill rule does not change a stroke", f'<path d="M10 8h40v24h-40zM20 14h20v12h-20z" fill="#fc0" fill-rule="evenodd" {_THIN.replace(chr(102) + "ill=" + chr(34) + "none" + chr(34), "")} stroke-width="2"/>'),
    Feature("opacities of fill and stroke, in per cent", f'{_BOX}fill-opacity="40%" stroke-opacity="60%"/>'),
    Feature("opacities of fill and stroke, inherited", f'<g fill-opacity=".4" stroke-opacity=".5">{_BOX}/></g>'),
    Feature("opacity is not inherited", f'<g opacity=".5">{_BOX}/><circle cx="30" cy="20" r="9" opacity=".5"/></g>'),
    Feature("opacities of a text", '<text x="5" y="30" font-family="Kalam" font-size="26" fill="#fc0" stroke="#036" stroke-width="2" fill-opacity=".5" stroke-opacity=".4" opacity=".8">leaf</text>'),
    Feature("opacity of nothing", '<rect width="9" height="9" opacity="0" fill="red"/><rect width="9" height="9" fill-opacity="0" fill="red"/><g opacity="0"><rect width="9" height="9" fill="red"/></g><rect x="20" y="5" width="20" height="30"/>'),
    *(
        Feature(f"shape rendering: {way} is left aside", f'<circle cx="30" cy="20" r="14" fill="#fc0" stroke="#036" shape-rendering="{way}"/>', equal='<circle cx="30" cy="20" r="14" fill="#fc0" stroke="#036"/>')
        for way in ("auto", "optimizeSpeed", "crispEdges", "geometricPrecision")
    ),
    Feature("colour rendering and hints for text are left aside", '<g color-rendering="optimizeQuality" text-rendering="optimizeSpeed" color-interpolation="linearRGB"><circle cx="30" cy="20" r="14" fill="#fc0" stroke="#036"/></g>'),
    Feature("colours with spaces and in capitals", '<rect x="5" y="5" width="15" height="30" fill=" #FC0 "/><rect x="22" y="5" width="15" height="30" fill="RGB( 10 , 120 , 60 )"/><rect x="40" y="5" width="15" height="30" fill="DarkRed"/>'),
    Feature("transparent", '<rect x="5" y="5" width="20" height="30" fill="transparent" stroke="#036"/>'),
]  # fmt: skip

MARKERS = [
    *(
        Feature(f"markers turned by {orient}", f'{_marker(f"orient={chr(34)}{orient}{chr(34)}")}<path d="M10 30L25 10L40 30L50 10" {_THIN} {_ON}/>')
        for orient in ("auto", "auto-start-reverse", "30", "-45.5", "0", "400", "90deg", "100grad", "1rad", ".25turn", "x")
    ),
    *(
        Feature(f"markers by the point {x}, {y}", f'{_marker(f"viewBox={chr(34)}0 0 12 12{chr(34)} refX={chr(34)}{x}{chr(34)} refY={chr(34)}{y}{chr(34)}", "<rect width=" + chr(34) + "12" + chr(34) + " height=" + chr(34) + "12" + chr(34) + " fill=" + chr(34) + "#a03020" + chr(34) + "/>")}<path d="M20 30L40 10" {_THIN} {_ON}/>', equal=f'{_marker(f"viewBox={chr(34)}0 0 12 12{chr(34)} refX={chr(34)}{plain_x}{chr(34)} refY={chr(34)}{plain_y}{chr(34)}", "<rect width=" + chr(34) + "12" + chr(34) + " height=" + chr(34) + "12" + chr(34) + " fill=" + chr(34) + "#a03020" + chr(34) + "/>")}<path d="M20 30L40 10" {_THIN} {_ON}/>')
        for x, y, plain_x, plain_y in (("left", "top", 0, 0), ("center", "center", 6, 6), ("right", "bottom", 12, 12), ("50%", "25%", 6, 3), ("100%", "0", 12, 0), ("3px", "1em", 3, 16), ("-2", "20", -2, 20))
    ),
    Feature("marker without sizes is three by three", f'<marker id="k" refX="1.5" refY="1.5">{_SQUARE}</marker><path d="M20 30L40 10" {_THIN} stroke-width="2" {_ON}/>'),
    Feature("marker with sizes in units", f'<marker id="k" markerWidth="1mm" markerHeight="2em" font-size="2" refX="1" refY="1">{_SQUARE}</marker><path d="M20 30L40 10" {_THIN} stroke-width="2" {_ON}/>'),
    Feature("marker with sizes in per cent", f'<marker id="k" markerWidth="5%" markerHeight="15%" markerUnits="userSpaceOnUse" refX="1" refY="1">{_SQUARE}</marker><path d="M20 30L40 10" {_THIN} stroke-width="2" {_ON}/>'),
    Feature("marker of no size", f'{_marker("markerWidth=" + chr(34) + "0" + chr(34))}<path d="M20 30L40 10" {_THIN} {_ON}/>'),
    Feature("marker of a size below nothing", f'{_marker("markerHeight=" + chr(34) + "-4" + chr(34))}<path d="M20 30L40 10" {_THIN} {_ON}/>'),
    *(
        Feature(
            f"marker whose view box lies {aspect}",
            f'<marker id="k" viewBox="0 0 12 6" markerWidth="6" markerHeight="6" refX="3" refY="3" preserveAspectRatio="{aspect}">{_WIDE}</marker><path d="M20 30L40 10" {_THIN} {_ON}/>',
            # What does not fit into the marker's own size is cut (SVG 1.1, 11.6.2).
            equal=f'<marker id="k" markerWidth="6" markerHeight="6" refX="{3 - cut}" refY="3"><g transform="translate({-cut} 0)">{_WIDE}</g></marker><path d="M20 30L40 10" {_THIN} {_ON}/>' if "slice" in aspect else "",
        )
        for aspect, cut in (("none", 0), ("xMinYMin", 0), ("xMaxYMax meet", 0), ("xMidYMid slice", 3), ("xMinYMax slice", 0), ("xMaxYMin slice", 6))
    ),
    Feature("marker whose view box begins elsewhere", f'<marker id="k" viewBox="-3 -3 6 6" markerWidth="6" markerHeight="6" orient="auto"><path d="M-3 -3L3 0L-3 3z" fill="#a03020"/></marker><path d="M20 30L40 10" {_THIN} {_ON}/>'),
    Feature("marker with a view box of no size", f'<marker id="k" viewBox="0 0 0 6" markerWidth="6" markerHeight="6"><rect width="6" height="6" fill="red"/></marker><path d="M20 30L40 10" {_THIN} {_ON}/>', equal=f'<path d="M20 30L40 10" {_THIN}/>'),
    *(
        Feature(f"marker with overflow {way}", f'{_marker(f"overflow={chr(34)}{way}{chr(34)} markerWidth={chr(34)}4{chr(34)} markerHeight={chr(34)}4{chr(34)}")}<path d="M20 30L40 10" {_THIN} {_ON}/>')
        for way in ("visible", "auto", "hidden", "scroll")
    ),
    Feature("marker with overflow and a view box", f'<marker id="k" viewBox="0 0 3 3" markerWidth="3" markerHeight="3" refX="3" refY="3" overflow="visible">{_SQUARE}</marker><path d="M20 30L40 10" {_THIN} {_ON}/>'),
    Feature("marker in user units on a fat line", f'{_marker("markerUnits=" + chr(34) + "userSpaceOnUse" + chr(34))}<path d="M10 30L25 10L40 30L50 10" {_THIN} stroke-width="4" {_ON}/>'),
    Feature("marker on a line that is not stroked", f'{_marker()}<path d="M10 30L25 10L40 30L50 10" fill="#ccc" stroke-width="1.5" {_ON}/>'),
    Feature("marker on a line of no width", f'{_marker()}<path d="M10 30L25 10L40 30L50 10" fill="#ccc" stroke="#036" stroke-width="0" {_ON}/>'),
    Feature("markers on a line, a polyline and a polygon", f'{_AUTO}<g {_THIN} {_ON}><line x1="5" y1="5" x2="55" y2="8"/><polyline points="5,15 20,30 30,15"/><polygon points="35,15 55,15 45,35"/></g>', equal=f'<g {_THIN}><line x1="5" y1="5" x2="55" y2="8"/><polyline points="5,15 20,30 30,15"/><polygon points="35,15 55,15 45,35"/></g>{_heads([(5, 5), (55, 8)])}{_heads([(5, 15), (20, 30), (30, 15)])}{_heads([(35, 15), (55, 15), (45, 35)], closed=True)}'),
    Feature("markers on rectangles, circles and ellipses", f'{_marker()}<g {_THIN} {_ON}><rect x="5" y="5" width="20" height="12"/><circle cx="45" cy="12" r="8"/><ellipse cx="20" cy="30" rx="12" ry="6"/></g>'),
    Feature("no markers on text", f'{_marker()}<text x="5" y="30" font-family="Kalam" font-size="20" {_ON}>leaf</text>'),
    Feature("markers on an arc", f'{_AUTO}<path d="M10 20A20 14 0 0 1 50 20" {_THIN} {_ON}/>'),
    Feature("markers on arcs, one after another", f'{_AUTO}<path d="M8 20A10 10 0 0 1 28 20A10 5 30 1 0 48 20" {_THIN} {_ON}/>'),
    Feature("markers on a large arc", f'{_AUTO}<path d="M25 30A14 14 0 1 1 35 30L50 35" {_THIN} {_ON}/>'),
    Feature("markers on cubic curves", f'{_AUTO}<path d="M8 30C8 5 28 5 28 20S50 35 50 8" {_THIN} {_ON}/>'),
    Feature("markers on quadratic curves", f'{_AUTO}<path d="M8 30Q15 5 28 20T50 8" {_THIN} {_ON}/>'),
    Feature("markers on curves whose handles lie on their ends", f'{_AUTO}<path d="M8 30C8 30 20 5 28 20C35 35 50 8 50 8" {_THIN} {_ON}/>', equal=f'{_AUTO}<path d="M8 30C8.006 29.9875 20 5 28 20C35 35 49.993 8.013 50 8" {_THIN} {_ON}/>'),
    Feature("markers on a closed path", f'{_AUTO}<path d="M10 8H45L30 32z" {_THIN} {_ON}/>', equal=f'<path d="M10 8H45L30 32z" {_THIN}/>{_heads([(10, 8), (45, 8), (30, 32)], closed=True)}'),
    Feature("markers on a path that closes where it began", f'{_AUTO}<path d="M10 8H45L30 32L10 8z" {_THIN} {_ON}/>', equal=f'<path d="M10 8H45L30 32z" {_THIN}/>{_head(10, 8, math.atan2(-24, -20), 0)}{_head(45, 8, 0, math.atan2(24, -15))}{_head(30, 32, math.atan2(24, -15), math.atan2(-24, -20))}{_head(10, 8, math.atan2(-24, -20), math.atan2(-24, -20))}'),
    Feature("markers on several subpaths", f'{_AUTO}<path d="M8 8L20 20M30 8V20M40 30L52 8" {_THIN} {_ON}/>'),
    Feature("markers on several closed subpaths", f'{_AUTO}<path d="M8 8H24L16 30zM32 30L42 8L52 30z" {_THIN} {_ON}/>', equal=f'<path d="M8 8H24L16 30zM32 30L42 8L52 30z" {_THIN}/>{_heads([(8, 8), (24, 8), (16, 30)], closed=True)}{_heads([(32, 30), (42, 8), (52, 30)], closed=True)}'),
    Feature("markers on a path that closes and goes on", f'{_AUTO}<path d="M12 12H30V30zL50 8" {_THIN} {_ON}/>', equal=f'<path d="M12 12H30V30zL50 8" {_THIN}/>{_head(12, 12, math.atan2(-18, -18), 0)}{_head(30, 12, 0, math.pi / 2)}{_head(30, 30, math.pi / 2, math.atan2(-18, -18))}{_head(12, 12, math.atan2(-18, -18), math.atan2(-4, 38))}{_head(50, 8, math.atan2(-4, 38), math.atan2(-4, 38))}'),
    Feature("markers on steps of no length", f'{_AUTO}<path d="M8 30L20 10h0L40 30v0L52 10" {_THIN} {_ON}/>', equal=f'<path d="M8 30L20 10L40 30L52 10" {_THIN}/>{_head(8, 30, math.atan2(-20, 12), math.atan2(-20, 12))}{_head(20, 10, math.atan2(-20, 12), math.atan2(-20, 12))}{_heads([(8, 30), (20, 10), (40, 30)])}{_head(40, 30, math.atan2(20, 20), math.atan2(-20, 12))}{_head(52, 10, math.atan2(-20, 12), math.atan2(-20, 12))}'),
    Feature("markers on a path of one step of no length", f'{_AUTO}<path d="M30 20h0" {_THIN} {_ON}/><rect x="5" y="5" width="9" height="9"/>'),
    Feature("markers on a path that turns back", f'{_AUTO}<path d="M10 20H50H30" {_THIN} {_ON}/>'),
    Feature("markers on a path of a move only", f'{_marker()}<path d="M30 20" {_THIN} {_ON}/><rect x="5" y="5" width="9" height="9"/>', equal=f'<rect x="5" y="5" width="9" height="9"/>{_head(30, 20, 0, 0)}'),
    Feature("markers in the middle alone", f'{_marker()}<path d="M10 30L25 10L40 30L50 10" {_THIN} marker-mid="url(#k)"/>'),
    Feature("markers at the start of a closed path alone", f'{_AUTO}<path d="M10 8H45L30 32z" {_THIN} marker-start="url(#k)"/>', equal=f'<path d="M10 8H45L30 32z" {_THIN}/>{_head(10, 8, math.atan2(-24, -20), 0)}'),
    Feature("markers with a stroke, opacity and a gradient", f'<linearGradient id="g"><stop stop-color="#036"/><stop offset="1" stop-color="#fc6"/></linearGradient>{_marker("orient=" + chr(34) + "auto" + chr(34), "<rect x=" + chr(34) + "1" + chr(34) + " y=" + chr(34) + "1" + chr(34) + " width=" + chr(34) + "4" + chr(34) + " height=" + chr(34) + "4" + chr(34) + " fill=" + chr(34) + "url(#g)" + chr(34) + " stroke=" + chr(34) + "#383" + chr(34) + " stroke-width=" + chr(34) + ".7" + chr(34) + " opacity=" + chr(34) + ".6" + chr(34) + "/>")}<path d="M10 30L25 10L40 30L50 10" {_THIN} stroke-width="1.5" {_ON}/>'),
    Feature("markers with a clip and a mask", f'<clipPath id="c"><circle cx="3" cy="3" r="2.5"/></clipPath>{_marker("", "<rect width=" + chr(34) + "6" + chr(34) + " height=" + chr(34) + "6" + chr(34) + " fill=" + chr(34) + "#a03020" + chr(34) + " clip-path=" + chr(34) + "url(#c)" + chr(34) + "/>")}<path d="M10 30L25 10L40 30L50 10" {_THIN} stroke-width="1.5" {_ON}/>'),
    Feature("marker that is itself half clear", f'{_marker("opacity=" + chr(34) + ".5" + chr(34))}<path d="M20 30L40 10" {_THIN} stroke-width="2" {_ON}/>', equal=f'{_marker()}<path d="M20 30L40 10" {_THIN} stroke-width="2" {_ON}/>'.replace('fill="#a03020"', 'fill="#a03020" fill-opacity=".5"')),
    Feature("marker with a line in it that has a marker", f'<marker id="j" markerWidth="4" markerHeight="4" refX="1" refY="1"><rect width="2" height="2" fill="#fc0"/></marker>{_marker("", "<path d=" + chr(34) + "M0 3H6" + chr(34) + " stroke=" + chr(34) + "#a03020" + chr(34) + " marker-end=" + chr(34) + "url(#j)" + chr(34) + " marker-start=" + chr(34) + "url(#j)" + chr(34) + "/>")}<path d="M10 30L25 10L40 30L50 10" {_THIN} stroke-width="1.5" {_ON}/>', equal=f'{_marker("", "<path d=" + chr(34) + "M0 3H6" + chr(34) + " stroke=" + chr(34) + "#a03020" + chr(34) + "/><rect x=" + chr(34) + "5" + chr(34) + " y=" + chr(34) + "2" + chr(34) + " width=" + chr(34) + "1" + chr(34) + " height=" + chr(34) + "2" + chr(34) + " fill=" + chr(34) + "#fc0" + chr(34) + "/><rect y=" + chr(34) + "2" + chr(34) + " width=" + chr(34) + "1" + chr(34) + " height=" + chr(34) + "2" + chr(34) + " fill=" + chr(34) + "#fc0" + chr(34) + "/>")}<path d="M10 30L25 10L40 30L50 10" {_THIN} stroke-width="1.5" {_ON}/>'),
    Feature("marker with a use and a text in it", f'<defs><rect id="u" width="4" height="4" fill="#fc0"/></defs>{_marker("", "<use href=" + chr(34) + "#u" + chr(34) + "/><text y=" + chr(34) + "5" + chr(34) + " font-size=" + chr(34) + "5" + chr(34) + " font-family=" + chr(34) + "Kalam" + chr(34) + ">a</text>")}<path d="M10 30L25 10L40 30L50 10" {_THIN} stroke-width="1.5" {_ON}/>'),
    Feature("markers on a group are for all in it", f'{_AUTO}<g {_ON} {_THIN}><path d="M10 30L25 10"/><g><path d="M35 30L50 10" marker-end="none"/></g></g>'),
    Feature("markers on a use", f'{_AUTO}<defs><path id="u" d="M0 0L15 20" {_THIN}/></defs><use href="#u" x="8" y="8" {_ON}/><use href="#u" x="35" y="8" marker-end="url(#k)"/>'),
    Feature("markers by their short name in a style, taken back for the middle", f'{_marker()}<path d="M10 30L25 10L40 30L50 10" {_THIN} style="marker:url(#k);marker-mid:none"/>'),
    Feature("short name for markers as an attribute is none", f'{_marker()}<path d="M20 30L40 10" {_THIN} marker="url(#k)"/>', equal=f'<path d="M20 30L40 10" {_THIN}/>'),
    Feature("marker that is not there", f'<path d="M20 30L40 10" {_THIN} marker-end="url(#none)"/>'),
    Feature("marker that is something else", f'<rect id="r" width="9" height="9"/><path d="M20 30L40 10" {_THIN} marker-end="url(#r)"/>'),
    Feature("marker inside a scaled group", f'{_AUTO}<g transform="scale(2 1)"><path d="M5 30L15 10L25 30" {_THIN} {_ON}/></g>'),
    Feature("marker on a dashed line", f'{_AUTO}<path d="M10 30L25 10L40 30L50 10" {_THIN} stroke-dasharray="3 2" {_ON}/>'),
    Feature("marker on a half-clear line", f'{_AUTO}<path d="M10 30L25 10L40 30L50 10" {_THIN} opacity=".5" {_ON}/>'),
    Feature("marker on a line with a clear stroke", f'{_AUTO}<path d="M10 30L25 10L40 30L50 10" {_THIN} stroke-opacity=".3" {_ON}/>'),
    Feature("marker on a clipped line", f'<clipPath id="c"><rect width="40" height="40"/></clipPath>{_marker()}<path d="M10 30L25 10L40 30L50 10" {_THIN} clip-path="url(#c)" {_ON}/>'),
    Feature("marker in colours of its line", f'{_marker("", "<circle cx=" + chr(34) + "3" + chr(34) + " cy=" + chr(34) + "3" + chr(34) + " r=" + chr(34) + "2" + chr(34) + " fill=" + chr(34) + "context-fill" + chr(34) + " stroke=" + chr(34) + "context-stroke" + chr(34) + "/>")}<path d="M10 30L25 10L40 30" fill="#fc0" stroke="#a33" stroke-width="1.5" {_ON}/><path d="M45 30V10" fill="#383" stroke="#036" {_ON}/>'),
    Feature("marker in colours of its line, inherited by it", f'{_marker("fill=" + chr(34) + "context-stroke" + chr(34), "<circle cx=" + chr(34) + "3" + chr(34) + " cy=" + chr(34) + "3" + chr(34) + " r=" + chr(34) + "2" + chr(34) + "/>")}<g stroke="#a33"><path d="M10 30L25 10L40 30" fill="none" stroke-width="1.5" {_ON}/></g>'),
    Feature("marker in the gradient of its line, in user units", f'<linearGradient id="g" gradientUnits="userSpaceOnUse" x1="10" x2="50"><stop stop-color="#036"/><stop offset="1" stop-color="#fc6"/></linearGradient>{_marker("", "<rect width=" + chr(34) + "6" + chr(34) + " height=" + chr(34) + "6" + chr(34) + " fill=" + chr(34) + "context-stroke" + chr(34) + "/>")}<path d="M10 30L25 10L40 30L50 10" fill="none" stroke="url(#g)" stroke-width="1.5" {_ON}/>'),
    Feature("marker in the gradient of its line, in units of its box", f'<linearGradient id="g"><stop stop-color="#036"/><stop offset="1" stop-color="#fc6"/></linearGradient>{_marker("orient=" + chr(34) + "auto" + chr(34), "<rect width=" + chr(34) + "6" + chr(34) + " height=" + chr(34) + "6" + chr(34) + " fill=" + chr(34) + "context-stroke" + chr(34) + "/>")}<path d="M10 30L25 10L40 30L50 10" fill="none" stroke="url(#g)" stroke-width="1.5" {_ON}/>'),
    Feature("marker in currentColor", f'{_marker("color=" + chr(34) + "#383" + chr(34), _HEAD.replace("#a03020", "currentColor"))}<path d="M20 30L40 10" color="red" {_THIN} stroke-width="2" {_ON}/>'),
    Feature("marker whose content is hidden", f'{_marker("visibility=" + chr(34) + "hidden" + chr(34))}<path d="M20 30L40 10" {_THIN} stroke-width="2" {_ON}/>'),
    Feature("marker that is not displayed is drawn all the same", f'{_marker("display=" + chr(34) + "none" + chr(34))}<path d="M20 30L40 10" {_THIN} stroke-width="2" {_ON}/>'),
    Feature("marker within what is not displayed", f'<g display="none">{_marker()}</g><path d="M20 30L40 10" {_THIN} stroke-width="2" {_ON}/>'),
    Feature("marker with a transform", f'{_marker("transform=" + chr(34) + "rotate(45)" + chr(34))}<path d="M20 30L40 10" {_THIN} stroke-width="2" {_ON}/>'),
]  # fmt: skip

PAGES: list[Feature] = [*STROKES, *DASHES, *PAINTS, *MARKERS]

REFUSALS: list[Refused] = [
    Refused(
        "colour that nobody knows",
        '<rect id="x" width="9" height="9" fill="leafish"/>',
        "x",
        "'leafish' isn't a colour",
    ),
]
