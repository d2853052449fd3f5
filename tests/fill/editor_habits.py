# ruff: noqa: E501  (a drawing is a line)
"""What editors make of a drawing when they save it, each beside the same drawing said plainly.

Written by hand in the manner of many editors' exports. The page is 100 × 60 mm.
"""

from __future__ import annotations

import base64
import io
from typing import NamedTuple

from PIL import Image

MM = 'width="100mm" height="60mm" viewBox="0 0 100 60"'
POINTS = 'width="283.4646pt" height="170.0787pt" viewBox="0 0 283.4646 170.0787"'
PIXELS = 'width="377.9528px" height="226.7717px" viewBox="0 0 377.9528 226.7717"'
INCHES = 'width="3.937008in" height="2.362205in" viewBox="0 0 3.937008 2.362205"'
CENTIMETRES = 'width="10cm" height="6cm" viewBox="0 0 1000 600"'


class Habit(NamedTuple):
    """An export and its plain counterpart: page sizes and contents."""

    name: str
    export: str
    plain: str
    size: str = MM


_FACE = "font-family:'Source Sans 3';font-size:5px;fill:#345"
_PLAIN_FACE = 'font-family="Source Sans 3" font-size="5" fill="#345"'
_BOX = '<rect x="10" y="10" width="60" height="30" fill="none" stroke="#383" stroke-width="1"/>'
_LINES = '<rect id="lines-6mm" x="10" y="10" width="60" height="40" fill="none" stroke="#888" stroke-width="0.25"/>'
_TEXT = f'<text id="day1-name" x="12" y="20" {_PLAIN_FACE}>Monday</text>'
_ART = '<path d="M75 50C75 30 95 30 95 50z" fill="#cde3c0" stroke="#383" stroke-width=".5"/>'


def _picture() -> str:
    image = Image.new("RGB", (4, 2), "#a33")
    image.paste("#33a", (2, 0, 4, 2))
    data = io.BytesIO()
    image.save(data, "PNG")
    return f"data:image/png;base64,{base64.b64encode(data.getvalue()).decode()}"


HABITS = (
    Habit(
        "CSS classes with rules in the head",
        "<defs><style>.cls-1{fill:none;stroke:#383;stroke-miterlimit:10;stroke-width:1px;}"
        f".cls-2{{{_FACE}}}.cls-2,.cls-3{{letter-spacing:0em;}}</style></defs>"
        '<g id="Layer_1" data-name="Layer 1"><rect class="cls-1" x="10" y="10" width="60" height="30"/>'
        '<text id="day1-name" class="cls-2" transform="translate(12 20)"><tspan x="0" y="0">Monday</tspan></text></g>',
        _BOX + _TEXT,
    ),
    Habit(
        "ids with escaped characters",
        f'<g id="Week"><text id="day1_x2D_name" transform="matrix(1 0 0 1 12 20)" style="{_FACE}">Monday</text>'
        '<rect id="lines_x2D_6mm_1_" x="10" y="10" style="fill:none;stroke:#888888;stroke-width:0.25;stroke-miterlimit:10;" width="60" height="40"/></g>',
        _TEXT + _LINES,
    ),
    Habit(
        "names kept in a data attribute",
        f'<text data-name="day1-name" id="Text-2" x="12" y="20" {_PLAIN_FACE}>Monday</text>',
        _TEXT,
    ),
    Habit(
        "names kept as object labels",
        f'<text inkscape:label="day1-name" id="text1234" x="12" y="20" style="{_FACE}">Monday</text>',
        _TEXT,
    ),
    Habit(
        "copies with a number after the name",
        f'<g id="day1-name-3"><text id="text7" x="12" y="20" {_PLAIN_FACE}>Monday</text></g>',
        _TEXT,
    ),
    Habit(
        "matrices on every group",
        '<g transform="matrix(2,0,0,2,-40,10)"><g transform="matrix(0.5,0,0,-0.5,20,30)">'
        '<g transform="matrix(1 0 0 -1 0 70)">' + _BOX + _ART + _TEXT + _LINES + "</g></g></g>",
        _BOX + _ART + _TEXT + _LINES,
    ),
    Habit(
        "points",
        '<g transform="scale(2.834646)">' + _BOX + _ART + _TEXT + _LINES + "</g>",
        _BOX + _ART + _TEXT + _LINES,
        POINTS,
    ),
    Habit(
        "pixels",
        f'<g transform="scale(3.779528)">{_BOX}{_ART}{_TEXT}{_LINES}</g>',
        _BOX + _ART + _TEXT + _LINES,
        PIXELS,
    ),
    Habit(
        "inches",
        f'<g transform="scale(.03937008)">{_BOX}{_ART}{_TEXT}{_LINES}</g>',
        _BOX + _ART + _TEXT + _LINES,
        INCHES,
    ),
    Habit(
        "centimetres, a tenth of a millimetre a unit",
        f'<g transform="scale(10)">{_BOX}{_ART}{_TEXT}{_LINES}</g>',
        _BOX + _ART + _TEXT + _LINES,
        CENTIMETRES,
    ),
    Habit(
        "a unit at each length",
        '<rect x="37.795276px" y="28.346457pt" width="6cm" height="1.1811024in" fill="none" stroke="#383" stroke-width="2.8346457pt"/>'
        f'<text id="day1-name" x="45.354331px" y="2cm" style="{_FACE};font-size:14.173228pt">Monday</text>',
        '<rect x="37.795276" y="37.795276" width="226.771654" height="113.385827" fill="none" stroke="#383" stroke-width="3.779528"/>'
        '<text id="day1-name" x="45.354331" y="75.590551" font-family="Source Sans 3" font-size="18.897638" fill="#345">Monday</text>',
        PIXELS,
    ),
    Habit(
        "a drawing nested in a drawing, each with its own units",
        '<svg x="5" y="5" width="90" height="50" viewBox="0 0 900 500"><svg x="50" y="50" width="600" height="400" viewBox="0 0 60 40" overflow="visible">'
        f'<g transform="translate(-10 -10)">{_BOX}{_TEXT}{_LINES}</g></svg></svg>',
        _BOX + _TEXT + _LINES,
    ),
    Habit(
        "symbols placed by use",
        '<symbol id="leaf" viewBox="0 0 20 20"><path d="M0 20C0 0 20 0 20 20z" fill="#cde3c0"/></symbol>'
        '<use xlink:href="#leaf" width="10" height="10" x="80" y="5"/><use href="#leaf" width="20" height="20" transform="translate(75 30)"/>'
        '<defs><text id="word" font-family="Source Sans 3" font-size="5" fill="#345">Monday</text></defs><g id="day1-name"><use href="#word" x="12" y="20"/></g>',
        '<path d="M80 15C80 5 90 5 90 15z" fill="#cde3c0"/><path d="M75 50C75 30 95 30 95 50z" fill="#cde3c0"/>'
        + _TEXT,
    ),
    Habit(
        "ruled areas by use",
        f'<defs>{_LINES}</defs><use href="#lines-6mm" y="5"/>',
        _LINES.replace('y="10"', 'y="15"'),
    ),
    Habit(
        "an artboard as a clip",
        '<defs><clipPath id="artboard"><rect width="100" height="60"/></clipPath></defs>'
        f'<g id="Page" clip-path="url(#artboard)"><rect width="130" height="5" fill="#cde3c0"/>{_TEXT}{_LINES}</g>',
        f'<rect width="100" height="5" fill="#cde3c0"/>{_TEXT}{_LINES}',
    ),
    Habit(
        "a picture inside a shape",
        f'<clipPath id="c"><use xlink:href="#frame" style="overflow:visible"/></clipPath><defs><rect id="frame" x="20" y="10" width="20" height="20"/></defs><g style="clip-path:url(#c)"><image style="overflow:visible" width="4" height="2" transform="matrix(10 0 0 10 10 10)" xlink:href="{_picture()}"/></g>',
        f'<image x="20" y="10" width="20" height="20" preserveAspectRatio="xMidYMid slice" href="{_picture()}"/>',
    ),
    Habit(
        "gradients that share their stops",
        '<defs><linearGradient id="swatch"><stop style="stop-color:#345;stop-opacity:1" offset="0"/></linearGradient>'
        '<linearGradient id="fade"><stop style="stop-color:#cde3c0" offset="0"/><stop style="stop-color:#ffffff" offset="1"/></linearGradient>'
        '<linearGradient xlink:href="#fade" id="lg1" x1="0" y1="0" x2="30" y2="0" gradientUnits="userSpaceOnUse" gradientTransform="translate(10,0)"/></defs>'
        '<rect x="10" y="5" width="30" height="20" style="fill:url(#lg1)"/><rect x="50" y="5" width="30" height="20" style="fill:url(#swatch)"/>',
        '<linearGradient id="a" gradientUnits="userSpaceOnUse" x1="10" y1="0" x2="40" y2="0"><stop stop-color="#cde3c0" offset="0"/><stop stop-color="white" offset="1"/></linearGradient>'
        '<rect x="10" y="5" width="30" height="20" fill="url(#a)"/><rect x="50" y="5" width="30" height="20" fill="#345"/>',
    ),
    Habit(
        "a pattern swatch",
        '<pattern x="0" y="60" width="10" height="10" patternUnits="userSpaceOnUse" id="Dots" viewBox="0 -10 10 10" style="overflow:visible"><g><polygon style="fill:none" points="0,0 10,0 10,-10 0,-10"/><circle style="fill:#383" cx="5" cy="-5" r="1"/></g></pattern>'
        '<rect x="20" y="10" width="30" height="30" style="fill:url(#Dots)"/>',
        "".join(
            f'<circle cx="{x}" cy="{y}" r="1" fill="#383"/>'
            for x in (25, 35, 45)
            for y in (15, 25, 35)
        ),
    ),
    Habit(
        "letters placed one by one",
        f'<text style="{_FACE}"><tspan x="12,15.2,18.4" y="20">abc</tspan><tspan x="12 16 20" y="28" style="fill:#a33">def</tspan></text>',
        "".join(
            f'<text x="{x}" y="{y}" font-family="Source Sans 3" font-size="5" fill="{fill}">{letter}</text>'
            for letter, x, y, fill in (
                ("a", 12, 20, "#345"),
                ("b", 15.2, 20, "#345"),
                ("c", 18.4, 20, "#345"),
                ("d", 12, 28, "#a33"),
                ("e", 16, 28, "#a33"),
                ("f", 20, 28, "#a33"),
            )
        ),
    ),
    Habit(
        "a key's letters placed one by one in nested runs",
        f'<text id="day1-name" style="{_FACE}" xml:space="preserve"><tspan x="12" y="20"><tspan x="12 16 19" y="20" dx="0 .1">Tu</tspan><tspan style="letter-spacing:.2px">esday</tspan></tspan></text>',
        _TEXT,
    ),
    Habit(
        "a key's text stretched to its sample",
        f'<text id="day1-name" x="12" y="20" textLength="30" lengthAdjust="spacingAndGlyphs" style="{_FACE}">Wednesday</text>',
        _TEXT,
    ),
    Habit(
        "layers hidden by a style",
        f'<g style="display:none" inkscape:groupmode="layer">{_ART}<text>No</text></g><g style="display:inline">{_TEXT}</g>'
        '<style>.off{display:none}</style><g class="off"><rect width="50" height="50"/></g>'
        '<g id="guides"><path d="M0 30h100" stroke="cyan" filter="url(#blur)"/></g><g visibility="hidden"><circle r="30"/></g>',
        _TEXT,
    ),
    Habit(
        "namespaces, entities' leavings and private data",
        '<metadata><x:a xmlns:x="http://example.org/private"><x:b/></x:a></metadata><title>week</title>'
        '<switch><foreignObject requiredExtensions="http://example.org/private" x="0" y="0" width="1" height="1"/>'
        f'<g xmlns:i="http://example.org/private" i:extraneous="self">{_BOX}{_TEXT}</g></switch>',
        _BOX + _TEXT,
    ),
    Habit(
        "opacity, caps and joins on groups",
        '<g style="opacity:0.5;stroke-linecap:round;stroke-linejoin:round;stroke-dasharray:2,2"><path style="fill:none;stroke:#383;stroke-width:2;stroke-linecap:butt;stroke-dasharray:none" d="M10 10H50V40"/></g>',
        '<path fill="none" stroke="#383" stroke-width="2" stroke-linejoin="round" stroke-opacity=".5" d="M10 10H50V40"/>',
    ),
    Habit(
        "fill behind a stroke that lies under it",
        '<circle cx="40" cy="30" r="15" style="paint-order:stroke fill markers;fill:#cde3c0;stroke:#383;stroke-width:4"/>',
        '<circle cx="40" cy="30" r="15" fill="none" stroke="#383" stroke-width="4"/><circle cx="40" cy="30" r="15" fill="#cde3c0"/>',
    ),
)
