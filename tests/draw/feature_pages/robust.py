# ruff: noqa: E501  (a drawing is a line)
"""Absurd numbers, empty things, circles of references, great depth and number.

What is too deep or too much is made when the tests run: see ``test_excess.py``.
"""

from __future__ import annotations

from tests.draw.feature_samples import HEIGHT, WIDTH, Feature, Refused

_GREEN = '<rect x="10" y="8" width="40" height="24" fill="#383"/>'
_R = '<rect width="9" height="9"/>'
_PEN = 'fill="none" stroke="#369" stroke-width="4"'


def _beside(name: str, nothing: str) -> Feature:
    """Something that leaves no ink, beside a plain rectangle."""
    return Feature(name, nothing + _GREEN, equal=_GREEN)


_EMPTY = [
    _beside("rectangle of no width", '<rect width="0" height="40" stroke="red"/>'),
    _beside("rectangle of a width below nothing", '<rect width="-60" height="40" stroke="red"/>'),
    _beside("rectangle without a size", '<rect stroke="red"/>'),
    _beside("rectangle whose width is words", '<rect width="wide" height="40"/>'),
    _beside("circle of no radius", '<circle cx="30" cy="20" r="0" stroke="red"/>'),
    _beside("circle of a radius below nothing", '<circle cx="30" cy="20" r="-20" stroke="red"/>'),
    _beside("ellipse of one radius of nothing", '<ellipse cx="30" cy="20" rx="30" ry="0" stroke="red"/>'),
    _beside("line that is a point", '<line x1="30" y1="2" x2="30" y2="2" stroke="red" stroke-width="3"/>'),
    _beside("polyline without points", '<polyline stroke="red"/><polyline points="" stroke="red"/>'),
    _beside("polygon of one point", '<polygon points="30 2" stroke="red" stroke-width="3"/>'),
    _beside("path without data", '<path stroke="red"/><path d="" stroke="red"/><path d="  " stroke="red"/>'),
    _beside("path that only moves", '<path d="M30 2" stroke="red" stroke-width="3"/><path d="M1 1M30 2" stroke="red"/>'),
    _beside("text without words", '<text/><text> </text><text font-size="5"><tspan/></text>'),
    _beside("text of no size", '<text font-family="Kalam" font-size="0" y="5">leaf</text>'),
    _beside("text of a size below nothing", '<text font-family="Kalam" font-size="-5" y="5" x="5" visibility="hidden">leaf</text>'),
    _beside("use without a link", '<use/><use href=""/><use href="#"/>'),
    _beside("use of something without an id of its own", '<use href="#nobody"/><use href="nobody"/>').__class__(
        "use of nobody", f'<use href="#nobody"/>{_GREEN}'
    ),
    _beside("group scaled to nothing", '<g transform="scale(0)"><rect width="60" height="40"/></g>'),
    _beside("group flattened", '<g transform="matrix(1 1 1 1 0 0)"><rect width="60" height="40"/></g>'),
    _beside("stroke of no width", '<path d="M0 2H60" stroke="red" stroke-width="0"/>'),
    _beside("opacity below nothing", '<rect width="60" height="40" opacity="-3"/>'),
    _beside("symbol without content", '<symbol id="s"/><use href="#s" width="5" height="5"/>'),
    _beside("clip path without content", '<clipPath id="c"/><rect width="60" height="40" clip-path="url(#c)"/>'),
    _beside("clip path of an empty shape", '<clipPath id="c"><rect width="0" height="9"/></clipPath><rect width="60" height="40" clip-path="url(#c)"/>'),
    _beside("clip path of something hidden", '<clipPath id="c"><rect width="60" height="40" visibility="hidden"/></clipPath><rect width="60" height="40" clip-path="url(#c)"/>'),
    _beside("clip path of something not displayed", '<clipPath id="c"><rect width="60" height="40" display="none"/></clipPath><rect width="60" height="40" clip-path="url(#c)"/>'),
    _beside("mask without content beside a shape", '<mask id="m"/><rect width="60" height="40" mask="url(#m)"/>'),
    _beside("mask of no size", '<mask id="m" width="0" height="1"><rect width="60" height="40" fill="white"/></mask><rect width="60" height="40" mask="url(#m)"/>'),
    _beside("pattern of no size", '<pattern id="p" width="0" height="5"><rect width="60" height="40"/></pattern><rect width="60" height="40" fill="url(#p)"/>'),
    _beside("pattern of a size below nothing", '<pattern id="p" width="-5" height="5" patternUnits="userSpaceOnUse"><rect width="60" height="40"/></pattern><rect width="60" height="40" fill="url(#p)"/>'),
    _beside("pattern without content", '<pattern id="p" width="5" height="5"/><rect width="60" height="40" fill="url(#p)"/>'),
    _beside("gradient without stops", '<linearGradient id="g"/><rect width="60" height="40" fill="url(#g)"/>'),
    _beside("gradient on a line without a height", '<linearGradient id="g"><stop stop-color="red"/><stop offset="1"/></linearGradient><path d="M0 2H60" stroke="url(#g)" stroke-width="3"/>'),
    _beside("marker of a size below nothing, shown beyond its room", '<marker id="k" markerWidth="-3" markerHeight="3" overflow="visible"><rect width="9" height="9" fill="red"/></marker><path d="M0 0h60" style="marker:url(#k)"/>'),
    _beside("marker without content", '<marker id="k"/><path d="M0 0h60" style="marker:url(#k)"/>'),
]  # fmt: skip

_NUMBERS = [
    Feature("numbers with many decimals", '<rect x="10.0000000000000000000000000000001" y="8.00000000000000000000000" width="40.123456789012345678901234567890" height="24" fill="#369"/>'),
    Feature("numbers with many noughts before", '<rect x="0000000000000000000000000010" y="+8" width="00040" height="24" fill="#369"/>'),
    Feature("rectangle of numbers with exponents", '<rect x="1e1" y="80e-1" width=".4E+2" height="2.4e1" fill="#369"/>'),
    Feature("number with a point and nothing after it", '<path d="M10. 8.h40.v24.h-40.z" fill="#369"/>', equal='<path d="M10 8h40v24h-40z" fill="#369"/>'),
    Feature("number far too small", '<rect x="1e-300" y="8" width="40" height="24" fill="#369"/><rect width="1e-300" height="1e-300"/>', equal='<rect x="0" y="8" width="40" height="24" fill="#369"/>'),
    Feature("rectangle past the page on all sides", '<rect x="-1e5" y="-1e5" width="2e5" height="2e5" fill="#369"/>'),
    Feature("rectangle past the page, with its corner on it", '<rect x="30" y="20" width="1e6" height="1e6" fill="#369"/>', equal='<rect x="30" y="20" width="100" height="100" fill="#369"/>'),
    Feature("stroke wider than the page", '<path d="M30 20h1" stroke="#369" stroke-width="900"/>'),
    Feature("circle many times the page", '<circle cx="30" cy="10020" r="10000" fill="#369"/>'),
    Feature("radii far too large", '<rect x="10" y="8" width="40" height="24" rx="1e30" ry="1e30" fill="#369"/>', equal='<rect x="10" y="8" width="40" height="24" rx="20" ry="12" fill="#369"/>'),
    Feature("radii below nothing", '<rect x="10" y="8" width="40" height="24" rx="-5" ry="-3" fill="#369"/>', equal='<rect x="10" y="8" width="40" height="24" fill="#369"/>'),
    Feature("drawn large and scaled down", '<g transform="scale(.000123)"><rect x="81300" y="65040" width="325203" height="195122" fill="#369" stroke="#963" stroke-width="16260"/></g>', equal='<rect x="10" y="8" width="40" height="24" fill="#369" stroke="#963" stroke-width="2"/>'),
    Feature("drawn small and scaled up", '<g transform="scale(123000)"><rect x=".0000813008" y=".0000650407" width=".000325203" height=".000195122" fill="#369" stroke="#963" stroke-width=".0000162602"/></g>', equal='<rect x="10" y="8" width="40" height="24" fill="#369" stroke="#963" stroke-width="2"/>'),
    Feature("curves drawn small and scaled up", '<path transform="scale(50000)" d="M.0002 .0004C.0002 .0001 .001 .0001 .001 .0004z" fill="#369"/>', equal='<path d="M10 20C10 5 50 5 50 20z" fill="#369"/>'),
    Feature("scaled down and up again", '<g transform="scale(.00001)"><g transform="scale(100000)"><rect x="10" y="8" width="40" height="24" fill="#369"/></g></g>', equal='<rect x="10" y="8" width="40" height="24" fill="#369"/>'),
    Feature("moved away and back", '<g transform="translate(1e6 -1e6)"><g transform="translate(-1e6 1e6)"><rect x="10" y="8" width="40" height="24" fill="#369"/></g></g>', equal='<rect x="10" y="8" width="40" height="24" fill="#369"/>'),
    Feature("turned many times round", '<rect x="10" y="8" width="20" height="12" fill="#369" transform="rotate(36000010)"/>', equal='<rect x="10" y="8" width="20" height="12" fill="#369" transform="rotate(10)"/>'),
    Feature("view box many times the page", '<circle cx="3e5" cy="2e5" r="1e5" fill="#369"/>', f'width="{WIDTH}mm" height="{HEIGHT}mm" viewBox="0 0 6e5 4e5"'),
    Feature("view box a small part of the page's size", '<circle cx=".0003" cy=".0002" r=".0001" fill="#369"/>', f'width="{WIDTH}mm" height="{HEIGHT}mm" viewBox="0 0 .0006 .0004"', equal='<circle cx=".0003" cy=".0002" r=".0001" fill="#369"/>'),
    Feature("text drawn small and scaled up", '<text transform="scale(1000)" x=".005" y=".025" font-family="Kalam" font-size=".014" fill="#369">Leaf</text>', equal='<text x="5" y="25" font-family="Kalam" font-size="14" fill="#369">Leaf</text>'),
    Feature("text drawn large and scaled down", '<text transform="scale(.001)" x="5000" y="25000" font-family="Kalam" font-size="14000" fill="#369">Leaf</text>', equal='<text x="5" y="25" font-family="Kalam" font-size="14" fill="#369">Leaf</text>'),
    Feature("opacities that are no numbers", '<rect x="10" y="8" width="40" height="24" fill="#369" opacity="none" fill-opacity="x"/>', equal='<rect x="10" y="8" width="40" height="24" fill="#369"/>'),
    Feature("stroke width that is no number", f'<path d="M5 20h50" {_PEN} stroke-width="thick"/>'.replace('stroke-width="4" ', ""), equal='<path d="M5 20h50" stroke="#369"/>'),
    Feature("mitre limit below one", f'<path d="M10 30L30 8L50 30" {_PEN} stroke-miterlimit="0"/>', equal=f'<path d="M10 30L30 8L50 30" {_PEN}/>'),
    Feature("mitre limit that is huge", f'<path d="M10 30L30 8L50 30" {_PEN} stroke-miterlimit="1e9"/>', equal=f'<path d="M10 30L30 8L50 30" {_PEN} stroke-miterlimit="100"/>'),
    Feature("dashes below nothing", f'<path d="M5 20h50" {_PEN} stroke-dasharray="5 -3"/>', equal=f'<path d="M5 20h50" {_PEN}/>'),
    Feature("dashes of nothing", f'<path d="M5 20h50" {_PEN} stroke-dasharray="0 0"/>', equal=f'<path d="M5 20h50" {_PEN}/>'),
    Feature("dashes that are no numbers", f'<path d="M5 20h50" {_PEN} stroke-dasharray="long short"/>', equal=f'<path d="M5 20h50" {_PEN}/>'),
    Feature("dashes longer than the page", f'<path d="M5 20h50" {_PEN} stroke-dasharray="1e6 1e6" stroke-dashoffset="-20"/>', equal=f'<path d="M25 20h30" {_PEN}/>'),
    Feature("dash offset many times round", f'<path d="M5 20h50" {_PEN} stroke-dasharray="6 4" stroke-dashoffset="100003"/>', equal=f'<path d="M5 20h50" {_PEN} stroke-dasharray="6 4" stroke-dashoffset="3"/>'),
    Feature("offsets of stops past their ends", '<linearGradient id="g"><stop offset="-5" stop-color="#369"/><stop offset="1e9" stop-color="#fc6"/></linearGradient><rect x="10" y="8" width="40" height="24" fill="url(#g)"/>', equal='<linearGradient id="g"><stop stop-color="#369"/><stop offset="1" stop-color="#fc6"/></linearGradient><rect x="10" y="8" width="40" height="24" fill="url(#g)"/>'),
    Feature("path with numbers run together", '<path d="M10 8h40v24h-40zM.5.5.5 39.5-1e1-1.0.1" fill="#369"/>'),
    Feature("path with an error after a part", '<path d="M10 8H50V32H10zM5 5 nothing L9 9" fill="#369"/>', equal='<path d="M10 8H50V32H10z" fill="#369"/>'),
    Feature("points of an odd number", '<polygon points="10 8 50 8 50 32 10" fill="#369"/>', equal='<polygon points="10 8 50 8 50 32" fill="#369"/>'),
    Feature("points with an error", '<polyline points="10,8 50,8 50,32 x 10,32" fill="#369"/>', equal='<polyline points="10,8 50,8 50,32" fill="#369"/>'),
    Feature("arc with radii far too small", f'<path d="M10 20A1e-9 1e-9 0 0 1 50 20" {_PEN}/>', equal=f'<path d="M10 20A20 20 0 0 1 50 20" {_PEN}/>'),
    Feature("arc that goes nowhere", f'<path d="M30 20A5 5 0 1 1 30 20" {_PEN}/>{_GREEN}', equal=_GREEN),
    Feature("paint that is a group", f'<g id="g">{_GREEN}</g><rect width="5" height="5" fill="url(#g)"/>', equal=_GREEN),
    Feature("paint that is nobody, and a colour", '<rect x="10" y="8" width="40" height="24" fill="url(#nobody) #369"/>', equal='<rect x="10" y="8" width="40" height="24" fill="#369"/>'),
    # SVG 2, 13.2: a reference to nobody without a colour is painted with none.
    Feature("paint that is nobody", f'<rect width="60" height="40" fill="url(#nobody)"/>{_GREEN}', equal=_GREEN),
    # CSS Masking 1, 5.1 and 4.1: a reference to nobody is as if it were not there.
    Feature("clip that is nobody", '<rect x="10" y="8" width="40" height="24" fill="#383" clip-path="url(#nobody)"/>', equal=_GREEN),
    Feature("mask that is nobody", '<rect x="10" y="8" width="40" height="24" fill="#383" mask="url(#nobody)"/>', equal=_GREEN),
    Feature("marker that is nobody", f'<path d="M5 20h50" {_PEN} marker-end="url(#nobody)"/>', equal=f'<path d="M5 20h50" {_PEN}/>'),
    Feature("clip that is a gradient", '<linearGradient id="c"/><rect x="10" y="8" width="40" height="24" fill="#383" clip-path="url(#c)"/>', equal=_GREEN),
    Feature("ids that come twice", '<linearGradient id="g"><stop stop-color="#383"/></linearGradient><linearGradient id="g"><stop stop-color="red"/></linearGradient><rect x="10" y="8" width="40" height="24" fill="url(#g)"/>', equal=_GREEN),
    Feature("ids that are empty", '<g id=""><rect id="" x="10" y="8" width="40" height="24" fill="#383"/></g>', equal=_GREEN),
    Feature("circle of gradients nobody uses", f'<linearGradient id="a" href="#b"/><linearGradient id="b" href="#a"/>{_GREEN}', equal=_GREEN),
    Feature("circle of uses nobody draws", f'<defs><g id="a"><use href="#b"/></g><g id="b"><use href="#a"/></g></defs>{_GREEN}', equal=_GREEN),
    Feature("many groups in each other", "<g>" * 60 + _GREEN + "</g>" * 60, equal=_GREEN),
    Feature("many transforms in a row", f'<g transform="{"rotate(1) " * 360}">{_GREEN}</g>', equal=_GREEN),
    Feature("style that is broken all over", f'<g style=";;:;{{}}fill:;;stroke">{_GREEN}</g>', equal=_GREEN),
    Feature("style sheet that is broken all over", f"<style>}} @ ; {{ : }} rect {{ fill: </style>{_GREEN}", equal=_GREEN),
]  # fmt: skip

PAGES: list[Feature] = [*_EMPTY, *_NUMBERS]

REFUSALS: list[Refused] = [
    Refused("use that uses itself", '<use id="x" href="#x"/>', "x", "contains itself"),
    Refused("group that uses itself", '<g id="a"><use id="x" href="#a"/></g>', "", "contains itself"),
    Refused("uses in a circle", '<g id="a"><use href="#b"/></g><g id="b"><use href="#a"/></g>', "", "contains itself"),
    Refused("symbol that uses itself", '<symbol id="s"><use href="#s"/></symbol><use id="x" href="#s"/>', "", "contains itself"),
    Refused("gradient that takes from itself", f'<linearGradient id="x" href="#x"/>{_R.replace("/>", " fill=" + chr(34) + "url(#x)" + chr(34) + "/>")}', "x", "contains itself"),
    Refused("gradients in a circle", '<linearGradient id="x" href="#y"/><linearGradient id="y" href="#x"/><rect width="9" height="9" fill="url(#x)"/>', "x", "contains itself"),
    Refused("pattern that takes from itself", '<pattern id="x" href="#x" width="5" height="5"/><rect width="9" height="9" fill="url(#x)"/>', "x", "contains itself"),
    Refused("pattern painted with itself", '<pattern id="p" width="5" height="5"><rect id="x" width="5" height="5" fill="url(#p)"/></pattern><rect width="9" height="9" fill="url(#p)"/>', "x", "contains itself"),
    Refused("patterns painted with each other", '<pattern id="p" width="5" height="5"><rect width="5" height="5" fill="url(#q)"/></pattern><pattern id="q" width="5" height="5"><rect id="x" width="5" height="5" fill="url(#p)"/></pattern><rect width="9" height="9" fill="url(#p)"/>', "x", "contains itself"),
    Refused("clips of each other", '<clipPath id="c" clip-path="url(#d)"><rect width="5" height="5"/></clipPath><clipPath id="d" clip-path="url(#c)"><rect width="5" height="5"/></clipPath><rect id="x" width="9" height="9" clip-path="url(#c)"/>', "c", "contains itself"),
    Refused("clip whose shape is clipped by it", '<clipPath id="c"><rect id="x" width="5" height="5" clip-path="url(#c)"/></clipPath><rect width="9" height="9" clip-path="url(#c)"/>', "x", "contains itself"),
    Refused("mask masked by itself", '<mask id="m"><rect id="x" width="5" height="5" fill="white" mask="url(#m)"/></mask><rect width="9" height="9" mask="url(#m)"/>', "x", "contains itself"),
    Refused("mask that uses what it masks", '<mask id="m"><use href="#x"/></mask><rect id="x" width="9" height="9" fill="white" mask="url(#m)"/>', "", "contains itself"),
    Refused("marker on itself", '<marker id="k"><path id="x" d="M0 0h9" stroke="red" marker-end="url(#k)"/></marker><path d="M0 0h9" stroke="red" marker-end="url(#k)"/>', "x", "contains itself"),
    Refused("markers on each other", '<marker id="k"><path d="M0 0h9" marker-end="url(#l)"/></marker><marker id="l"><path id="x" d="M0 0h9" marker-end="url(#k)"/></marker><path d="M0 0h9" marker-end="url(#k)"/>', "x", "contains itself"),
    Refused("rectangle of a width past all paper", '<rect id="x" width="1e30" height="9"/>', "x", "past all paper"),
    Refused("rectangle of a width past all numbers", '<rect id="x" width="1e400" height="9"/>', "x", "past all paper"),
    Refused("path to a place past all paper", '<path id="x" d="M0 0L1e20 5L5 1e25z"/>', "x", "past all paper"),
    Refused("path by steps past all numbers", '<path id="x" d="M0 0l1e308 5l1e308 5z"/>', "x", "past all paper"),
    Refused("stroke of a width past all paper", '<path id="x" d="M0 0h9" stroke="red" stroke-width="1e20"/>', "x", "past all paper"),
    Refused("dashes too fine to be told apart", '<path id="x" d="M0 0h60" stroke="red" stroke-dasharray="1e-7"/>', "x", "too fine"),
    Refused("gradient repeated too finely", '<linearGradient id="g" gradientUnits="userSpaceOnUse" x2="1e-6" spreadMethod="repeat"><stop/><stop offset="1" stop-color="red"/></linearGradient><rect id="x" width="60" height="40" fill="url(#g)"/>', "x", "too fine"),
    Refused("tiles too fine to be told apart", '<pattern id="p" width="1e-6" height="1e-6" patternUnits="userSpaceOnUse"><rect width="1" height="1"/></pattern><rect id="x" width="60" height="40" fill="url(#p)"/>', "x", "too fine"),
    Refused("tiles past all paper", '<pattern id="p" width="1e9" height="1e9" patternUnits="userSpaceOnUse"><rect width="5" height="5"/></pattern><rect id="x" width="60" height="40" fill="url(#p)"/>', "x", "past all paper"),
    Refused("transform past all paper", '<g id="x" transform="translate(1e30 0)"><rect width="9" height="9"/></g>', "x", "past all paper"),
    Refused("transform past all numbers", '<g id="x" transform="scale(1e200) scale(1e200)"><rect width="9" height="9"/></g>', "x", "past all paper"),
    Refused("text at a place past all paper", '<text id="x" x="1e30" font-family="Kalam">leaf</text>', "x", "past all paper"),
    Refused("type of a size past all paper", '<text id="x" y="9" font-size="1e30" font-family="Kalam">leaf</text>', "x", "past all paper"),
]  # fmt: skip
