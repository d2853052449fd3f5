# ruff: noqa: E501  (a drawing is a line)
"""Features of SVG 1.1 (and what editors save of SVG 2), a small drawing for each.

Each is drawn by us, as a template that goes through reading and drawing, and by another engine.
``WIDTH`` × ``HEIGHT`` user units, a unit a millimetre.
"""

from __future__ import annotations

import base64
import io
from typing import NamedTuple

from PIL import Image

WIDTH, HEIGHT = 60, 40
SIZE = f'width="{WIDTH}mm" height="{HEIGHT}mm" viewBox="0 0 {WIDTH} {HEIGHT}"'


class Feature(NamedTuple):
    """A sample: what it shows, its content, and what a drawing without the feature would lack."""

    name: str
    content: str
    size: str = SIZE
    equal: str = ""
    """Where the other engine is wrong or cannot be asked: the same drawing said plainly."""
    empty: bool = False
    """Whether nothing is to be seen."""
    reader: str = "pdfium"
    """What turns our PDF into pixels: pdfium lays hard edges of gradients up to 2 pixels off."""


class Refused(NamedTuple):
    """A sample that must be refused: the id of the element at fault and words of the error."""

    name: str
    content: str
    element: str
    says: str
    size: str = SIZE


def picture(width: int = 8, height: int = 4, kind: str = "PNG") -> str:
    """A picture as a data link: red, green, blue and yellow quarters."""
    image = Image.new("RGB", (width, height), "red")
    image.paste("green", (width // 2, 0, width, height // 2))
    image.paste("blue", (0, height // 2, width // 2, height))
    image.paste("yellow", (width // 2, height // 2, width, height))
    # Each pixel many, so that engines that smooth and those that do not are alike.
    data = io.BytesIO()
    image.resize((width * 40, height * 40), Image.Resampling.NEAREST).save(data, kind)
    return f"data:image/{kind.lower()};base64,{base64.b64encode(data.getvalue()).decode()}"


_LEAF = 'd="M10 20C10 5 40 5 50 20C40 35 10 35 10 20z"'
_STOPS = '<stop offset="0" stop-color="#205020"/><stop offset="1" stop-color="#f0e040"/>'
_ARROW = '<path d="M0 0L6 3L0 6z" fill="#a03020"/>'
_BARS = "".join(f'<rect x="{x}" width="4" height="40" fill="#336699"/>' for x in range(0, 60, 8))
_OVER = '<rect x="10" y="8" width="40" height="24" fill="#fc0" stroke="#024" stroke-width="8" '

SHAPES = [
    Feature("rectangle", '<rect x="10" y="8" width="40" height="24" fill="#369"/>'),
    Feature("rounded rectangle, one radius", '<rect x="5" y="5" width="50" height="30" rx="8"/>'),
    Feature(
        "rounded rectangle, radii too large",
        '<rect x="5" y="5" width="50" height="30" rx="40" ry="6" fill="none" stroke="red"/>',
    ),
    Feature(
        "circle and ellipse",
        '<circle cx="15" cy="20" r="9"/><ellipse cx="42" cy="20" rx="15" ry="8"/>',
    ),
    Feature(
        "lines, polylines, polygons",
        '<line x1="3" y1="5" x2="57" y2="9" stroke="black"/>'
        '<polyline points="5,30 15,15 25,30" fill="none" stroke="blue"/>'
        '<polygon points="35 30 45 15 55 30" stroke="green" fill="#efe"/>',
    ),
    Feature(
        "arcs with flags run together",
        '<path d="M10 20a10 8 30 1150 3" fill="none" stroke="black" transform="translate(-20)"/>'
        '<path d="M30 30A10 5 0 0 1 50 30" fill="none" stroke="red"/>',
    ),
    Feature(
        "arcs too small for their ends",
        '<path d="M10 20A2 1 0 0 0 50 20" fill="#ccc" stroke="black"/>',
    ),
    Feature(
        "smooth curves",
        '<path d="M5 20Q15 0 25 20T45 20t10 5M5 35C10 25 15 25 20 35S30 45 40 30s5-5 10 3" fill="none" stroke="black"/>',
    ),
    Feature(
        "arcs whose flags touch their neighbours",
        '<path d="M8 8a9.5 9.5 0 0119 0v8a9.5 9.5 0 1119 0l-5 12a4.5 4.5 0 01-9 0 .5.5 0 00-1-.5z" fill="#369"/>',
    ),
    Feature(
        "path with an error in it",
        '<path d="M5 5H40V30x12H5z" fill="none" stroke="#963" stroke-width="2"/>',
    ),
    Feature(
        "dashes around a circle begin at three o'clock",
        '<circle cx="30" cy="20" r="15" fill="none" stroke="#369" stroke-width="3" stroke-dasharray="20 9 3 9"/>',
    ),
    Feature(
        "dashes around an ellipse begin at three o'clock",
        '<ellipse cx="30" cy="20" rx="25" ry="14" fill="none" stroke="#369" stroke-width="3" stroke-dasharray="31 9 3 9"/>',
    ),
    Feature(
        "subpaths and relative moves", '<path d="m10 10h15v15h-15z m20 0h15v15h-15z" fill="#963"/>'
    ),
    Feature(
        "fill rule even-odd",
        f'<path {_LEAF[:-1]}M20 20a10 6 0 1 0 20 0a10 6 0 1 0-20 0z" fill-rule="evenodd"/>',
    ),
    Feature("fill rule nonzero", '<path d="M5 5h50v30h-50zM15 12h30v16h-30z"/>'),
]
STROKES = [
    Feature("half-clear stroke over its fill", f'{_OVER}stroke-opacity=".5"/>'),
    Feature("stroke in a half-clear colour", _OVER.replace("#024", "rgba(0,32,64,.5)") + "/>"),
    Feature(
        "half-clear stroke in a group",
        f'<g stroke-opacity=".5" transform="rotate(5)" fill-opacity=".6">{_OVER}/></g>',
    ),
    Feature(
        "half-clear stroke under its fill", f'{_OVER}stroke-opacity=".5" paint-order="stroke"/>'
    ),
    Feature(
        "half-clear shape with a half-clear stroke", f'{_OVER}stroke-opacity=".5" opacity=".5"/>'
    ),
    Feature("opacities past their ends", f'{_OVER}stroke-opacity="-1" fill-opacity="3"/>'),
    Feature("stroke of a width below nothing", _OVER.replace('"8" ', '"-8" ') + "/>"),
    Feature(
        "dashes with an offset",
        '<path d="M5 20H55" stroke="black" stroke-width="2" stroke-dasharray="6 2 1 2" stroke-dashoffset="3"/>',
    ),
    Feature(
        "dashes, odd in number",
        '<path d="M5 20H55" stroke="black" stroke-width="2" stroke-dasharray="5,3,2"/>',
    ),
    Feature(
        "dashes taken back inside a group",
        '<g stroke="black" stroke-width="2" stroke-dasharray="3"><path d="M5 10H55"/><path d="M5 30H55" stroke-dasharray="none"/></g>',
    ),
    Feature(
        "caps taken back inside a group",
        '<g stroke="black" stroke-width="8" stroke-linecap="round"><path d="M15 10H45"/><path d="M15 30H45" stroke-linecap="butt"/></g>',
    ),
    Feature(
        "joins and their limit",
        '<g fill="none" stroke="black" stroke-width="5"><path d="M8 30L14 10L20 30"/><path d="M24 30L30 10L36 30" stroke-linejoin="round"/><path d="M42 30L44 10L46 30" stroke-miterlimit="2"/></g>',
    ),
    Feature(
        "joins taken back inside a group",
        '<g fill="none" stroke="black" stroke-width="5" stroke-linejoin="bevel"><path d="M8 30L14 10L20 30"/><path d="M34 30L40 10L46 30" stroke-linejoin="miter"/></g>',
    ),
    Feature(
        "square caps",
        '<path d="M15 20H45" stroke="black" stroke-width="9" stroke-linecap="square"/>',
    ),
    Feature(
        "dots of no length",
        '<path d="M15 20h0M30 20h0M45 20h0" stroke="black" stroke-width="6" stroke-linecap="round"/>',
    ),
    Feature("stroke width in per cent", '<path d="M5 20H55" stroke="black" stroke-width="10%"/>'),
    Feature(
        "stroke before fill",
        '<circle cx="30" cy="20" r="12" fill="#fd6" stroke="#a00" stroke-width="6" paint-order="stroke"/>',
    ),
    Feature(
        "stroke before fill, said by a style",
        '<g style="paint-order:stroke fill markers"><circle cx="30" cy="20" r="12" fill="#fd6" stroke="#a00" stroke-width="6"/></g>',
    ),
]
PAINT = [
    Feature(
        "colours by name, short and long",
        '<rect width="20" height="40" fill="SteelBlue"/><rect x="20" width="20" height="40" fill="#c84"/><rect x="40" width="20" height="40" fill="rgb(10%,60%,30%)"/>',
    ),
    Feature(
        "colours by hue",
        '<rect width="30" height="40" fill="hsl(120,50%,40%)"/><rect x="30" width="30" height="40" fill="hsl(20, 80%, 70%)"/>',
    ),
    Feature(
        "colours with opacity",
        '<rect width="30" height="40" fill="rgba(0,80,160,0.5)"/><rect x="30" width="30" height="40" fill="#c8408080"/>',
    ),
    Feature(
        "colour with a printer's colour behind",
        '<rect width="60" height="40" fill="#4080c0 icc-color(press, 0.1, 0.2, 0.3, 0.4)"/>',
        equal='<rect width="60" height="40" fill="#4080c0"/>',
    ),
    Feature(
        "currentColor from a group",
        '<g color="#a05030"><rect x="5" y="5" width="50" height="30" fill="currentColor" stroke="currentColor"/></g>',
    ),
    Feature(
        "currentColor set by what uses it",
        '<defs><rect id="box" width="20" height="20" fill="currentColor"/></defs><use href="#box" x="5" y="10" color="red"/><use href="#box" x="35" y="10" color="blue"/>',
    ),
    Feature(
        "inherit",
        '<g fill="#484" stroke="#844"><rect x="5" y="5" width="50" height="30" fill="inherit" stroke="inherit" stroke-width="3"/></g>',
    ),
    Feature(
        "important declarations",
        '<style>.a{fill:#383 !important} #r{fill:#833}</style><rect id="r" class="a" width="60" height="40" style="fill:#338"/>',
    ),
    Feature(
        "rules by element, child and attribute",
        '<style>g > rect{fill:#383} rect[width="20"]{stroke:#a00;stroke-width:3} rect:first-child{fill-opacity:.4}</style><g><rect x="5" y="5" width="20" height="30"/><rect x="32" y="5" width="22" height="30"/></g>',
    ),
    Feature(
        "opacity of a group",
        '<g opacity="0.5"><rect x="5" y="5" width="30" height="30" fill="#a33"/><rect x="20" y="10" width="30" height="20" fill="#33a"/></g>',
    ),
    Feature(
        "opacity of a shape with a stroke",
        '<rect x="10" y="10" width="40" height="20" fill="#a33" stroke="#33a" stroke-width="8" opacity="0.5"/>',
    ),
    Feature(
        "opacities of fill and stroke",
        '<rect x="10" y="10" width="40" height="20" fill="#a33" stroke="#33a" stroke-width="8" fill-opacity=".3" stroke-opacity=".6"/>',
    ),
    Feature(
        "opacity in per cent",
        '<rect x="10" y="10" width="40" height="20" fill="#a33" opacity="40%"/>',
    ),
    Feature(
        "nested opacities",
        '<g opacity=".6"><g opacity=".5"><circle cx="20" cy="20" r="15"/></g><circle cx="35" cy="20" r="15" fill="#a33"/></g>',
    ),
    Feature(
        "hidden group with a visible child",
        '<g visibility="hidden"><rect width="30" height="40"/><rect x="35" y="5" width="20" height="30" visibility="visible"/></g>',
    ),
    Feature(
        "collapsed",
        '<rect width="30" height="40" visibility="collapse"/><rect x="35" y="5" width="20" height="30"/>',
    ),
    Feature(
        "not displayed",
        '<g style="display:none"><rect width="30" height="40"/></g><rect x="35" y="5" width="20" height="30"/>',
    ),
]
GRADIENTS = [
    Feature(
        "linear gradient in units of the box",
        f'<linearGradient id="g">{_STOPS}</linearGradient><path {_LEAF} fill="url(#g)"/>',
    ),
    Feature(
        "linear gradient in user units",
        f'<linearGradient id="g" gradientUnits="userSpaceOnUse" x1="10" y1="10" x2="40" y2="30">{_STOPS}</linearGradient><path {_LEAF} fill="url(#g)"/>',
    ),
    Feature(
        "gradient turned",
        f'<linearGradient id="g" gradientTransform="rotate(45 .5 .5) scale(.5)">{_STOPS}</linearGradient><rect x="5" y="5" width="50" height="30" fill="url(#g)"/>',
    ),
    Feature(
        "gradient on a curve's true box",
        f'<linearGradient id="g">{_STOPS}</linearGradient><path d="M20 20C-20 -30 80 -30 40 20z" fill="url(#g)"/>',
    ),
    Feature(
        "gradient that takes its stops from another",
        f'<linearGradient id="s">{_STOPS}</linearGradient><linearGradient id="t" href="#s" x2="0" y2="1"/><radialGradient id="g" href="#t" r="0.6"/><rect width="30" height="40" fill="url(#t)"/><rect x="30" width="30" height="40" fill="url(#g)"/>',
    ),
    Feature(
        "gradient with two stops at its end",
        '<linearGradient id="g" gradientUnits="userSpaceOnUse" x1="15" x2="45"><stop offset="0" stop-color="#f0e040"/><stop offset="1" stop-color="#205020"/><stop offset="1" stop-color="#a03020"/></linearGradient><rect width="60" height="40" fill="url(#g)"/>',
        equal='<linearGradient id="g" gradientUnits="userSpaceOnUse" x1="15" x2="75"><stop offset="0" stop-color="#f0e040"/><stop offset="0.5" stop-color="#205020"/><stop offset="0.5" stop-color="#a03020"/><stop offset="1" stop-color="#a03020"/></linearGradient><rect width="60" height="40" fill="url(#g)"/>',
    ),
    Feature(
        "gradient with two stops at its beginning",
        '<linearGradient id="g" gradientUnits="userSpaceOnUse" x1="15" x2="45"><stop offset="0" stop-color="#f0e040"/><stop offset="0" stop-color="#205020"/><stop offset="1" stop-color="#a03020"/></linearGradient><rect width="60" height="40" fill="url(#g)"/>',
        equal='<linearGradient id="g" gradientUnits="userSpaceOnUse" x1="-15" x2="45"><stop offset="0" stop-color="#f0e040"/><stop offset="0.5" stop-color="#f0e040"/><stop offset="0.5" stop-color="#205020"/><stop offset="1" stop-color="#a03020"/></linearGradient><rect width="60" height="40" fill="url(#g)"/>',
    ),
    Feature(
        "gradient with two stops at each end",
        '<linearGradient id="g" gradientUnits="userSpaceOnUse" x1="15" x2="45"><stop offset="0" stop-color="#f0e040"/><stop offset="0" stop-color="#205020"/><stop offset="1" stop-color="#a03020"/><stop offset="1" stop-color="#3060a0"/></linearGradient><rect width="60" height="40" fill="url(#g)"/>',
        equal='<linearGradient id="g" gradientUnits="userSpaceOnUse" x1="0" x2="60"><stop offset="0" stop-color="#f0e040"/><stop offset="0.25" stop-color="#f0e040"/><stop offset="0.25" stop-color="#205020"/><stop offset="0.75" stop-color="#a03020"/><stop offset="0.75" stop-color="#3060a0"/><stop offset="1" stop-color="#3060a0"/></linearGradient><rect width="60" height="40" fill="url(#g)"/>',
    ),
    Feature(
        "radial gradient with two stops at its end",
        '<radialGradient id="g" gradientUnits="userSpaceOnUse" cx="30" cy="20" r="12"><stop offset="0" stop-color="#f0e040"/><stop offset="1" stop-color="#205020"/><stop offset="1" stop-color="#a03020"/></radialGradient><rect width="60" height="40" fill="url(#g)"/>',
        equal='<radialGradient id="g" gradientUnits="userSpaceOnUse" cx="30" cy="20" r="24"><stop offset="0" stop-color="#f0e040"/><stop offset="0.5" stop-color="#205020"/><stop offset="0.5" stop-color="#a03020"/><stop offset="1" stop-color="#a03020"/></radialGradient><rect width="60" height="40" fill="url(#g)"/>',
    ),
    Feature(
        "radial gradient with a focus and two stops at its end",
        '<radialGradient id="g" gradientUnits="userSpaceOnUse" cx="30" cy="20" r="12" fx="26"><stop offset="0" stop-color="#f0e040"/><stop offset="1" stop-color="#205020"/><stop offset="1" stop-color="#a03020"/></radialGradient><rect width="60" height="40" fill="url(#g)"/>',
        equal='<radialGradient id="g" gradientUnits="userSpaceOnUse" cx="34" cy="20" r="24" fx="26"><stop offset="0" stop-color="#f0e040"/><stop offset="0.5" stop-color="#205020"/><stop offset="0.5" stop-color="#a03020"/><stop offset="1" stop-color="#a03020"/></radialGradient><rect width="60" height="40" fill="url(#g)"/>',
    ),
    Feature(
        "gradient spread by repeating",
        f'<linearGradient id="g" x2=".25" spreadMethod="repeat">{_STOPS}</linearGradient><rect width="60" height="40" fill="url(#g)"/>',
    ),
    Feature(
        "gradient spread by reflecting",
        f'<radialGradient id="g" r=".2" spreadMethod="reflect">{_STOPS}</radialGradient><rect width="60" height="40" fill="url(#g)"/>',
    ),
    Feature(
        "radial gradient with a focus",
        f'<radialGradient id="g" cx=".5" cy=".5" r=".5" fx=".3" fy=".35">{_STOPS}</radialGradient><rect width="60" height="40" fill="url(#g)"/>',
    ),
    Feature(
        "radial gradient in user units",
        f'<radialGradient id="g" gradientUnits="userSpaceOnUse" cx="30" cy="20" r="20" gradientTransform="translate(0 10) scale(1 .5)">{_STOPS}</radialGradient><rect width="60" height="40" fill="url(#g)"/>',
    ),
    Feature(
        "gradient with see-through stops",
        '<linearGradient id="g"><stop offset="0" stop-color="#a00"/><stop offset="50%" stop-color="#a00" stop-opacity=".2"/><stop offset="1" style="stop-color:#00a;stop-opacity:0.8"/></linearGradient><rect width="60" height="40" fill="url(#g)"/>',
    ),
    Feature(
        "gradient of one stop",
        '<linearGradient id="g"><stop stop-color="#486" stop-opacity=".6"/></linearGradient><rect x="5" y="5" width="50" height="30" fill="url(#g)"/>',
    ),
    Feature(
        "gradient along a stroke",
        f'<linearGradient id="g">{_STOPS}</linearGradient><path d="M5 35C20 -20 40 50 55 5" fill="none" stroke="url(#g)" stroke-width="4"/>',
    ),
    Feature(
        "gradient inherited from a group",
        f'<linearGradient id="g">{_STOPS}</linearGradient><g fill="url(#g)"><rect x="2" y="5" width="20" height="30"/><rect x="30" y="5" width="28" height="30"/></g>',
    ),
    Feature(
        "paint that is missing, with a colour instead",
        '<rect x="5" y="5" width="50" height="30" fill="url(#nothing) #a60"/>',
    ),
    Feature(
        "stops in colours of the group",
        '<g color="#a60"><linearGradient id="g"><stop stop-color="currentColor"/><stop offset="1" stop-color="white"/></linearGradient><rect width="60" height="40" fill="url(#g)"/></g>',
    ),
    Feature(
        "stops that go back",
        '<linearGradient id="g"><stop offset=".6" stop-color="#a60"/><stop offset=".3" stop-color="#06a"/><stop offset="1" stop-color="white"/></linearGradient><rect width="60" height="40" fill="url(#g)"/>',
        equal='<linearGradient id="g"><stop stop-color="#a60"/><stop offset=".6" stop-color="#a60"/><stop offset=".6" stop-color="#06a"/><stop offset="1" stop-color="white"/></linearGradient><rect width="60" height="40" fill="url(#g)"/>',
    ),
]
_DOTS = (
    '<circle cx="3" cy="3" r="2" fill="#a33"/><path d="M0 6L6 0" stroke="#33a" stroke-width=".5"/>'
)
_PAGE = '<rect width="60" height="40"/>'
_INSIDE = '<rect x="5" y="5" width="50" height="30"/>'


def _tiles(
    tile: str, x: float, y: float, width: float, height: float, shape: str, more: str = ""
) -> str:
    """A shape filled with tiles that are set down one by one."""
    across, down = range(-20, 60), range(-20, 60)
    places = [(x + column * width, y + row * height) for row in down for column in across]
    uses = "".join(
        f'<g transform="translate({left:g} {top:g})"><g clip-path="url(#tile)">{tile}</g></g>'
        for left, top in places
        if -40 < left < 80 and -50 < top < 60
    )
    return (
        f'<clipPath id="tile"><rect width="{width}" height="{height}"/></clipPath>'
        f'<clipPath id="shape">{shape}</clipPath><g clip-path="url(#shape)"><g {more}>{uses}</g></g>'
    )


PATTERNS = [
    Feature(
        "pattern in user units",
        f'<pattern id="p" width="6" height="6" patternUnits="userSpaceOnUse">{_DOTS}</pattern><path {_LEAF} fill="url(#p)"/>',
        equal=_tiles(_DOTS, 0, 0, 6, 6, f"<path {_LEAF}/>"),
    ),
    Feature(
        "pattern that begins elsewhere",
        f'<pattern id="p" x="2" y="1" width="6" height="7" patternUnits="userSpaceOnUse">{_DOTS}</pattern><rect width="60" height="40" fill="url(#p)"/>',
        equal=_tiles(_DOTS, 2, 1, 6, 7, _PAGE),
    ),
    Feature(
        "pattern in units of the box",
        f'<pattern id="p" width=".2" height=".25">{_DOTS}</pattern><rect x="5" y="5" width="50" height="30" fill="url(#p)"/>',
        equal=_tiles(_DOTS, 5, 5, 10, 7.5, _INSIDE),
    ),
    Feature(
        "pattern's content in units of the box",
        '<pattern id="p" width=".2" height=".2" patternContentUnits="objectBoundingBox"><circle cx=".1" cy=".1" r=".08" fill="#383"/></pattern><rect x="5" y="5" width="50" height="30" fill="url(#p)"/>',
        equal=_tiles('<ellipse cx="5" cy="3" rx="4" ry="2.4" fill="#383"/>', 5, 5, 10, 6, _INSIDE),
    ),
    Feature(
        "pattern turned",
        f'<pattern id="p" width="6" height="6" patternUnits="userSpaceOnUse" patternTransform="rotate(30) scale(1.5 1)">{_DOTS}</pattern><rect width="60" height="40" fill="url(#p)"/>',
        equal=_tiles(_DOTS, 0, 0, 6, 6, _PAGE, 'transform="rotate(30) scale(1.5 1)"'),
    ),
    Feature(
        "pattern with a view box",
        f'<pattern id="p" width="12" height="10" patternUnits="userSpaceOnUse" viewBox="0 0 6 6">{_DOTS}</pattern><rect width="60" height="40" fill="url(#p)"/>',
        equal=_tiles(
            f'<g transform="translate(1 0) scale(1.66666667)"><clipPath id="v"><rect x="-.6" width="7.2" height="6"/></clipPath><g clip-path="url(#v)">{_DOTS}</g></g>',
            0,
            0,
            12,
            10,
            _PAGE,
        ),
    ),
    Feature(
        "pattern that takes its content from another",
        f'<pattern id="q" width="6" height="6" patternUnits="userSpaceOnUse">{_DOTS}</pattern><pattern id="p" xlink:href="#q" patternTransform="scale(2)"/><rect width="60" height="40" fill="url(#p)"/>',
        equal=_tiles(_DOTS, 0, 0, 6, 6, _PAGE, 'transform="scale(2)"'),
    ),
    Feature(
        "pattern along a stroke",
        f'<pattern id="p" width="6" height="6" patternUnits="userSpaceOnUse">{_DOTS}</pattern><rect x="10" y="10" width="40" height="20" fill="none" stroke="url(#p)" stroke-width="12"/>',
        equal=_tiles(_DOTS, 0, 0, 6, 6, '<path d="M4 4h52v32h-52zM16 16v8h28v-8z"/>'),
    ),
    Feature(
        "pattern with opacity, in a transform",
        f'<pattern id="p" width="6" height="6" patternUnits="userSpaceOnUse">{_DOTS}</pattern><g transform="translate(5 0) scale(.8)"><rect width="60" height="40" fill="url(#p)" fill-opacity=".5"/></g>',
        equal=_tiles(_DOTS, 0, 0, 6, 6, _PAGE).join(
            ('<g transform="translate(5 0) scale(.8)" opacity=".5">', "</g>")
        ),
    ),
    Feature(
        "pattern in a pattern",
        '<pattern id="q" width="2" height="2" patternUnits="userSpaceOnUse"><rect width="1" height="1"/></pattern><pattern id="p" width="14" height="14" patternUnits="userSpaceOnUse"><rect width="10" height="10" fill="url(#q)"/></pattern><rect width="60" height="40" fill="url(#p)"/>',
        equal=_tiles(
            "".join(
                f'<rect x="{x}" y="{y}" width="1" height="1"/>'
                for x in range(0, 10, 2)
                for y in range(0, 10, 2)
            ),
            0,
            0,
            14,
            14,
            _PAGE,
        ),
    ),
]
CLIPS = [
    Feature(
        "clip by a circle",
        f'<clipPath id="c"><circle cx="30" cy="20" r="14"/></clipPath><g clip-path="url(#c)">{_BARS}</g>',
    ),
    Feature(
        "clip by the even-odd rule",
        f'<clipPath id="c"><path clip-rule="evenodd" d="M5 5h50v30h-50zM15 12h30v16h-30z"/></clipPath><g clip-path="url(#c)">{_BARS}</g>',
    ),
    Feature(
        "clip's rule inherited",
        f'<clipPath id="c" clip-rule="evenodd"><path d="M5 5h50v30h-50zM15 12h30v16h-30z"/></clipPath><g clip-path="url(#c)">{_BARS}</g>',
    ),
    Feature(
        "clip by several shapes",
        f'<clipPath id="c"><circle cx="20" cy="20" r="14"/><path d="M25 35V10H50V35z"/></clipPath><g clip-path="url(#c)">{_BARS}</g>',
    ),
    Feature(
        "clip in units of the box",
        f'<clipPath id="c" clipPathUnits="objectBoundingBox"><circle cx=".5" cy=".5" r=".4"/></clipPath><path {_LEAF} fill="#383" clip-path="url(#c)"/>',
    ),
    Feature(
        "clip in units of a group's box",
        f'<clipPath id="c" clipPathUnits="objectBoundingBox"><rect x=".1" y=".2" width=".8" height=".5"/></clipPath><g clip-path="url(#c)">{_BARS}</g>',
    ),
    Feature(
        "clip of a clip",
        f'<clipPath id="d"><rect x="20" width="40" height="40"/></clipPath><clipPath id="c" clip-path="url(#d)"><circle cx="30" cy="20" r="14"/></clipPath><g clip-path="url(#c)">{_BARS}</g>',
        equal=f'<clipPath id="c"><path d="M20 10.2A14 14 0 1 1 20 29.8z"/></clipPath><g clip-path="url(#c)">{_BARS}</g>',
    ),
    Feature(
        "clip turned with what it clips",
        f'<clipPath id="c"><rect x="15" y="5" width="25" height="30" transform="rotate(10)"/></clipPath><g transform="rotate(10) scale(.9)" clip-path="url(#c)">{_BARS}</g>',
    ),
    Feature(
        "clip by something used",
        f'<defs><circle id="o" cx="30" cy="20" r="14"/></defs><clipPath id="c"><use href="#o" x="5"/></clipPath><g clip-path="url(#c)">{_BARS}</g>',
    ),
    Feature(
        "clip with a transform of its own",
        f'<clipPath id="c" transform="translate(8 0)"><circle cx="30" cy="20" r="14"/></clipPath><g clip-path="url(#c)">{_BARS}</g>',
    ),
    Feature(
        "clip by nothing",
        f'<clipPath id="c"/><g clip-path="url(#c)">{_BARS}</g><circle cx="5" cy="5" r="4"/>',
    ),
    Feature(
        "clips nested",
        f'<clipPath id="c"><circle cx="30" cy="20" r="14"/></clipPath><clipPath id="d"><rect x="25" width="35" height="40"/></clipPath><g clip-path="url(#c)"><g clip-path="url(#d)">{_BARS}</g></g>',
    ),
    Feature(
        "mask that fades",
        f'<linearGradient id="g"><stop stop-color="white"/><stop offset="1" stop-color="black"/></linearGradient><mask id="m" maskUnits="userSpaceOnUse" x="0" y="0" width="60" height="40"><rect width="60" height="40" fill="url(#g)"/></mask><g mask="url(#m)">{_BARS}</g>',
    ),
    Feature(
        "mask of white shapes on black",
        f'<mask id="m" maskUnits="userSpaceOnUse" x="0" y="0" width="60" height="40"><rect width="60" height="40"/><circle cx="30" cy="20" r="14" fill="white"/></mask><g mask="url(#m)">{_BARS}</g>',
    ),
    Feature(
        "mask in grey, with opacity",
        f'<mask id="m"><circle cx="30" cy="20" r="14" fill="#999"/></mask><g mask="url(#m)" opacity=".7">{_BARS}</g>',
    ),
    Feature(
        "mask in units of the box",
        f'<mask id="m" maskContentUnits="objectBoundingBox"><circle cx=".5" cy=".5" r=".4" fill="white"/></mask><path {_LEAF} fill="#383" mask="url(#m)"/>',
    ),
    Feature(
        "mask's own edges",
        f'<mask id="m" x=".25" y=".25" width=".5" height=".5"><rect width="60" height="40" fill="white"/></mask><g mask="url(#m)">{_BARS}</g>',
    ),
]
_HOUSE = '<path d="M0 10V5L5 0L10 5V10z" fill="#a63"/>'
STRUCTURE = [
    Feature(
        "use with a place",
        f'<defs><g id="h">{_HOUSE}</g></defs><use href="#h" x="5" y="10"/><use xlink:href="#h" x="30" y="20" transform="scale(1.2)"/>',
    ),
    Feature(
        "symbol with a view box",
        f'<symbol id="h" viewBox="0 0 10 10">{_HOUSE}</symbol><use href="#h" x="5" y="5" width="20" height="30"/><use href="#h" x="30" y="5" width="30" height="15"/>',
    ),
    Feature(
        "symbol that slices",
        f'<symbol id="h" viewBox="0 0 10 10" preserveAspectRatio="xMinYMin slice">{_HOUSE}</symbol><use href="#h" x="5" y="5" width="20" height="30"/>',
        equal='<path d="M5 35V20L20 5L25 10V35z" fill="#a63"/>',
    ),
    Feature(
        "symbol that overflows",
        f'<symbol id="h" viewBox="0 0 5 5" overflow="visible">{_HOUSE}</symbol><use href="#h" x="5" y="5" width="15" height="15"/>',
        equal='<path d="M5 35V20L20 5L35 20V35z" fill="#a63"/>',
    ),
    Feature(
        "use inherits paint",
        '<defs><rect id="r" width="15" height="30"/></defs><use href="#r" x="5" y="5" fill="#a33"/><g fill="none" stroke="#33a"><use href="#r" x="35" y="5"/></g>',
    ),
    Feature(
        "use of a use",
        f'<defs><g id="h">{_HOUSE}</g><use id="two" href="#h" x="12"/></defs><use href="#two" x="5" y="5"/>',
    ),
    Feature(
        "use of what is drawn as well",
        '<circle id="o" cx="15" cy="20" r="8" fill="#383"/><use href="#o" x="25"/>',
    ),
    Feature(
        "nested drawing with a view box",
        f'<svg x="10" y="5" width="40" height="30" viewBox="0 0 10 10">{_HOUSE}</svg>',
    ),
    Feature(
        "nested drawing, stretched",
        f'<svg x="10" y="5" width="40" height="30" viewBox="0 0 10 10" preserveAspectRatio="none">{_HOUSE}</svg>',
    ),
    Feature(
        "nested drawing clips",
        '<svg x="10" y="5" width="20" height="30"><circle r="15" cx="15" cy="15" fill="#383"/></svg>',
    ),
    Feature(
        "nested drawing that overflows",
        '<svg x="10" y="5" width="20" height="30" overflow="visible"><circle r="15" cx="15" cy="15" fill="#383"/></svg>',
    ),
    Feature(
        "nested drawings in nested drawings",
        f'<svg x="10%" y="10%" width="80%" height="80%" viewBox="0 0 20 20"><svg x="50%" width="50%" height="50%" viewBox="0 0 10 10">{_HOUSE}</svg><rect width="100%" height="100%" fill="none" stroke="black"/></svg>',
    ),
    Feature(
        "switch",
        '<switch><foreignObject requiredExtensions="http://example.org/other"><p/></foreignObject><g><rect x="5" y="5" width="50" height="30" fill="#383"/></g><circle r="30"/></switch>',
    ),
    Feature(
        "links",
        '<a href="http://example.org/"><rect x="5" y="5" width="50" height="30" fill="#383"/></a>',
    ),
    Feature(
        "definitions anywhere",
        '<use href="#later" x="5"/><g display="none"><defs><rect id="later" y="5" width="50" height="30" fill="#383"/></defs></g>',
    ),
    Feature(
        "metadata and titles",
        '<title>A title</title><desc>What it is</desc><metadata/><rect x="5" y="5" width="50" height="30" fill="#383"/>',
    ),
]
UNITS = [
    Feature(
        "units of length",
        '<rect x="1mm" y="1mm" width="0.4in" height="1cm" fill="#383"/><rect x="10pt" y="1pc" width="15px" height="8" fill="#a33"/>',
        'width="60mm" height="40mm"',
    ),
    Feature(
        "percentages of the page",
        '<rect x="10%" y="25%" width="80%" height="50%" rx="5%" fill="#383"/><circle cx="50%" cy="50%" r="10%" fill="white"/>',
    ),
    Feature(
        "page in inches, drawn in points",
        '<rect x="20" y="20" width="100" height="60" fill="#383"/>',
        'width="2in" height="1.5in" viewBox="0 0 144 108"',
    ),
    Feature(
        "page whose view box begins elsewhere",
        '<rect x="-25" y="-15" width="50" height="30" fill="#383"/>',
        'width="60mm" height="40mm" viewBox="-30 -20 60 40"',
    ),
    Feature(
        "page in pixels without a view box",
        '<rect x="20" y="20" width="150" height="90" fill="#383"/>',
        'width="226.77" height="151.18"',
    ),
    Feature(
        "em and ex",
        '<g font-size="4"><rect x="1em" y="2ex" width="10em" height="5em" fill="#383"/></g>',
    ),
    Feature(
        "transforms in a row",
        '<rect width="12" height="8" fill="#383" transform="translate(20,10) rotate(20) scale(1.5 2) skewX(-10)"/>',
    ),
    Feature(
        "transform by a matrix",
        '<rect width="20" height="10" fill="#383" transform="matrix(1.2,.3,-.2,1.1,15,8)"/>',
    ),
    Feature(
        "rotation about a point",
        '<rect x="20" y="10" width="20" height="20" fill="#383" transform="rotate(45,30,20)"/>',
    ),
    Feature(
        "transform as CSS writes it",
        '<rect width="20" height="10" fill="#383" style="transform:translate(20px, 10px) rotate(15deg) scaleX(1.5)"/>',
    ),
    Feature(
        "transform about a point, as CSS writes it",
        '<rect x="20" y="10" width="20" height="20" fill="#383" style="transform:rotate(0.125turn);transform-origin:30px 20px"/>',
        equal='<rect x="20" y="10" width="20" height="20" fill="#383" transform="rotate(45 30 20)"/>',
    ),
    Feature(
        "transform about the middle of a shape",
        '<rect x="20" y="10" width="20" height="15" fill="#383" style="transform:rotate(30deg);transform-origin:center;transform-box:fill-box"/>',
        equal='<rect x="20" y="10" width="20" height="15" fill="#383" transform="rotate(30 30 17.5)"/>',
    ),
    Feature(
        "sizes in a style",
        '<style>rect{x:5px;y:5px;width:50px;height:30px;rx:4px}</style><rect fill="#383"/>',
    ),
]
_MARKER = f'<marker id="k" markerWidth="6" markerHeight="6" refX="3" refY="3" orient="auto">{_ARROW}</marker>'
MARKERS = [
    Feature(
        "markers at start, middle and end",
        f'{_MARKER}<path d="M10 30L25 10L40 30L50 10" fill="none" stroke="black" marker-start="url(#k)" marker-mid="url(#k)" marker-end="url(#k)"/>',
    ),
    Feature(
        "markers on curves and closed paths",
        f'{_MARKER}<path d="M10 20C10 5 40 5 50 20C40 35 20 35 10 20z" fill="none" stroke="black" style="marker:url(#k)"/>',
    ),
    Feature(
        "marker with a view box",
        f'<marker id="k" viewBox="0 0 6 6" markerWidth="4" markerHeight="3" refX="6" refY="3" orient="auto">{_ARROW}</marker><path d="M10 30L50 10" stroke="black" stroke-width="2" marker-end="url(#k)"/>',
    ),
    Feature(
        "marker in user units",
        f'<marker id="k" markerUnits="userSpaceOnUse" markerWidth="6" markerHeight="6" refX="3" refY="3" orient="45">{_ARROW}</marker><polyline points="10 30 30 10 50 30" fill="none" stroke="black" stroke-width=".5" marker-mid="url(#k)"/>',
    ),
    Feature(
        "marker that overflows",
        f'<marker id="k" markerWidth="3" markerHeight="3" refX="3" refY="3" orient="auto" overflow="visible">{_ARROW}</marker><line x1="10" y1="20" x2="45" y2="20" stroke="black" marker-end="url(#k)"/>',
    ),
    Feature(
        "marker that is cut off",
        f'<marker id="k" markerWidth="3" markerHeight="3" refX="1.5" refY="1.5" orient="auto">{_ARROW}</marker><line x1="10" y1="20" x2="45" y2="20" stroke="black" stroke-width="2" marker-end="url(#k)"/>',
    ),
    Feature(
        "marker that looks back at the start",
        f'<marker id="k" markerWidth="6" markerHeight="6" refX="3" refY="3" orient="auto-start-reverse">{_ARROW}</marker><path d="M15 20H45" stroke="black" marker-start="url(#k)" marker-end="url(#k)"/>',
    ),
    Feature(
        "marker in the colour of its line",
        '<marker id="k" markerWidth="6" markerHeight="6" refX="3" refY="3" orient="auto"><path d="M0 0L6 3L0 6z" fill="context-stroke"/></marker><path d="M15 20H45" stroke="#33a" marker-end="url(#k)"/>',
    ),
    Feature(
        "markers under the line",
        '<marker id="k" markerWidth="6" markerHeight="6" refX="3" refY="3"><circle cx="3" cy="3" r="2" fill="#fd6"/></marker><path d="M15 20H45" stroke="#33a" stroke-width="2" paint-order="markers" style="marker:url(#k)"/>',
    ),
    Feature(
        "marker does not inherit",
        '<marker id="k" markerWidth="6" markerHeight="6" refX="3" refY="3"><rect width="6" height="6"/></marker><g fill="red" stroke="blue" stroke-dasharray="2"><path d="M15 20H45" marker-end="url(#k)"/></g>',
    ),
]
_P = picture()
PICTURES = [
    Feature("picture in its own shape", f'<image x="5" y="5" width="48" height="24" href="{_P}"/>'),
    Feature("picture in a square", f'<image x="10" y="5" width="30" height="30" href="{_P}"/>'),
    Feature(
        "picture at the edge",
        f'<image x="10" y="5" width="40" height="10" preserveAspectRatio="xMaxYMid" xlink:href="{_P}"/>',
    ),
    Feature(
        "picture cut",
        f'<image x="10" y="5" width="20" height="30" preserveAspectRatio="xMidYMid slice" href="{_P}"/>',
    ),
    Feature(
        "picture stretched",
        f'<image x="10" y="5" width="20" height="30" preserveAspectRatio="none" href="{_P}"/>',
    ),
    Feature(
        "picture turned, see-through",
        f'<image x="20" y="5" width="40" height="20" opacity=".5" transform="rotate(15)" href="{_P}"/>',
    ),
    Feature(
        "picture of another kind",
        f'<image x="5" y="5" width="48" height="24" href="{picture(kind="JPEG")}"/>',
    ),
    Feature(
        "picture clipped",
        f'<clipPath id="c"><circle cx="30" cy="18" r="12"/></clipPath><image x="5" y="5" width="48" height="24" clip-path="url(#c)" href="{_P}"/>',
    ),
]

FEATURES = [
    *SHAPES, *STROKES, *PAINT, *GRADIENTS, *PATTERNS, *CLIPS, *STRUCTURE, *UNITS, *MARKERS, *PICTURES,
]  # fmt: skip

REFUSED = [
    Refused(
        "foreign object",
        '<foreignObject id="x" width="9" height="9"/>',
        "x",
        "isn't a drawing",
    ),
    Refused(
        "mesh gradient",
        '<meshgradient id="m"/><rect id="x" width="9" height="9" fill="url(#m)"/>',
        "m",
        "a mesh gradient",
    ),
    Refused(
        "hatch", '<hatch id="m"/><rect id="x" width="9" height="9" fill="url(#m)"/>', "m", "a hatch"
    ),
    Refused(
        "animation",
        '<rect id="x" width="9" height="9"><animate attributeName="x"/></rect>',
        "x",
        "an animation",
    ),
    Refused(
        "linked picture",
        '<image id="x" width="9" height="9" href="seed.png"/>',
        "x",
        "outside the file",
    ),
    Refused(
        "picture that is broken",
        '<image id="x" width="9" height="9" href="data:image/png;base64,AAAA"/>',
        "x",
        "cannot be read",
    ),
    Refused("object from another file", '<use id="x" href="other.svg#leaf"/>', "x", "another file"),
    Refused(
        "object made of itself", '<g id="x"><use id="y" href="#x"/></g>', "", "contains itself"
    ),
    Refused(
        "text from elsewhere", '<text id="x"><tref href="#y"/></text>', "x", "repeats another text"
    ),
    Refused(
        "no colour",
        '<rect id="x" width="9" height="9" fill="leafgreen"/>',
        "x",
        "'leafgreen' isn't a colour",
    ),
    Refused("path without a move", '<path id="x" d="L5 5h9z"/>', "x", "without a starting point"),
    Refused(
        "path that is not path data",
        '<path id="x" d="circle(9)"/>',
        "x",
        "without a starting point",
    ),
    Refused(
        "transform in space",
        '<rect id="x" width="9" height="9" style="transform:rotate3d(1,0,0,20deg)"/>',
        "x",
        "a transform",
    ),
    Refused(
        "old clip",
        '<svg id="x" width="9" height="9" style="clip:circle(5px)"><rect width="9" height="9"/></svg>',
        "x",
        "cropping rectangle",
    ),
]
"""Faults that must be refused, each naming its element."""
