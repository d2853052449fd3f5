# ruff: noqa: E501  (a drawing is a line)
"""Gradients and patterns, in every unit."""

from __future__ import annotations

from tests.draw.feature_samples import Feature, Refused
from tests.draw.feature_samples import picture as quarters

_STOPS = '<stop stop-color="#036"/><stop offset="1" stop-color="#fc6"/>'
_THREE = '<stop stop-color="#036"/><stop offset=".4" stop-color="#fc6"/><stop offset="1" stop-color="#a33"/>'
_BOX = '<rect x="5" y="5" width="50" height="30" fill="url(#g)"/>'
_LEAF = '<path d="M10 20C10 0 40 0 50 20C40 40 10 40 10 20z" fill="url(#g)"/>'
_BERRY = '<circle cx="1.2" cy="1.2" r=".8" fill="#036"/>'
_TILE = '<rect width="4" height="4" fill="#fc6"/><circle cx="4" cy="4" r="2.5" fill="#036"/>'


def _linear(asked: str = "", stops: str = _STOPS) -> str:
    return f'<linearGradient id="g" {asked}>{stops}</linearGradient>'


def _radial(asked: str = "", stops: str = _STOPS) -> str:
    return f'<radialGradient id="g" {asked}>{stops}</radialGradient>'


def _pattern(asked: str = "", content: str = _TILE) -> str:
    """A pattern of tiles 8 × 8 in user units, unless it is asked for."""
    sides = {"width": "8", "height": "8", "patternUnits": "userSpaceOnUse"}
    said = " ".join(f'{name}="{value}"' for name, value in sides.items() if f"{name}=" not in asked)
    return f'<pattern id="g" {said} {asked}>{content}</pattern>'


def _stops(*given: tuple[str, str]) -> str:
    return "".join(f'<stop offset="{at}" stop-color="{colour}"/>' for at, colour in given)


def _tiled(
    content: str, step: tuple[float, float], turn: str = "", start: tuple[float, float] = (0, 0)
) -> str:
    """Tiles as a pattern of ``step`` lays them, one by one within a drawing of their size, seen
    through ``_BOX``; ``start`` is where one of them begins."""
    wide, high = step
    tiles = "".join(
        f'<svg x="{start[0] + column * wide}" y="{start[1] + row * high}" width="{wide}" height="{high}">{content}</svg>'
        for column in range(-10, 30)
        for row in range(-10, 25)
    )
    box = '<clipPath id="box"><rect x="5" y="5" width="50" height="30"/></clipPath>'
    return f'{box}<g clip-path="url(#box)"><g transform="{turn}">{tiles}</g></g>'


_USER = 'gradientUnits="userSpaceOnUse"'

LINEAR = [
    Feature("gradient that is mirrored", f'{_linear("x2=" + chr(34) + ".2" + chr(34) + " spreadMethod=" + chr(34) + "reflect" + chr(34))}{_BOX}'),
    *(
        Feature(f"linear gradient from {x1} {y1} to {x2} {y2} of its box", f'{_linear(f"""x1="{x1}" y1="{y1}" x2="{x2}" y2="{y2}" """)}{_LEAF}')
        for x1, y1, x2, y2 in (("0", "0", "1", "1"), ("10%", "20%", "90%", "60%"), ("1", "0", "0", "0"), ("0", "1", "0", "0"), ("-.5", "0", "1.5", ".5"), (".4", "0", ".6", "0"), ("0", "0", "200%", "0"))
    ),
    *(
        Feature(f"linear gradient from {x1} {y1} to {x2} {y2} of the page", f'{_linear(f"""{_USER} x1="{x1}" y1="{y1}" x2="{x2}" y2="{y2}" """)}{_LEAF}')
        for x1, y1, x2, y2 in (("10", "5", "50", "30"), ("10%", "20%", "90%", "60%"), ("5mm", "0", "10mm", "1cm"), ("30", "0", "30", "40px"), ("2pt", "3pc", ".5in", "1"), ("50", "20", "10", "20"))
    ),
    Feature("linear gradient of the page without ends goes all across it", f"{_linear(_USER)}{_LEAF}"),
    Feature("linear gradient of the page inside a nested drawing", f'<svg x="10" y="5" width="30" height="30" viewBox="0 0 10 10">{_linear(_USER)}<rect width="10" height="10" fill="url(#g)"/></svg>'),
    *(
        Feature(f"linear gradient, spread by {spread}, turned {turn}", f'{_linear(f"""x1=".3" x2=".5" spreadMethod="{spread}" gradientTransform="{turn}" """)}{_LEAF}', reader="poppler")
        for spread in ("pad", "reflect", "repeat")
        for turn in ("rotate(30)", "skewX(30) scale(.7)", "matrix(.8 .3 -.2 1.1 .1 0)")
    ),
    Feature("linear gradient whose spread cannot be read", f'{_linear("x1=" + chr(34) + ".3" + chr(34) + " spreadMethod=" + chr(34) + "x" + chr(34))}{_LEAF}'),
    Feature("linear gradient turned about a point of the page", f'{_linear(_USER + " x1=" + chr(34) + "10" + chr(34) + " x2=" + chr(34) + "50" + chr(34) + " gradientTransform=" + chr(34) + "rotate(60 30 20)" + chr(34))}{_LEAF}'),
    Feature("linear gradient on a turned shape", f'{_linear()}<rect x="15" y="10" width="30" height="20" transform="rotate(30 30 20)" fill="url(#g)"/>'),
    Feature("linear gradient of the page on a turned shape", f'{_linear(_USER + " x1=" + chr(34) + "15" + chr(34) + " x2=" + chr(34) + "45" + chr(34))}<rect x="15" y="10" width="30" height="20" transform="rotate(30 30 20)" fill="url(#g)"/>'),
    Feature("linear gradient flattened to nothing", f'{_linear("gradientTransform=" + chr(34) + "scale(0)" + chr(34))}{_LEAF}<rect width="9" height="9"/>', equal='<rect width="9" height="9"/>'),
    # Both ends on one spot (SVG 1.1, 13.2.2): the last stop's colour.
    Feature("linear gradient of no length", f'{_linear("x1=" + chr(34) + ".5" + chr(34) + " x2=" + chr(34) + ".5" + chr(34))}{_BOX}'),
    Feature("linear gradient of no length with a half-clear end", f'{_linear("x2=" + chr(34) + "0" + chr(34), "<stop/><stop offset=" + chr(34) + "1" + chr(34) + " stop-color=" + chr(34) + "#a33" + chr(34) + " stop-opacity=" + chr(34) + ".4" + chr(34) + "/>")}{_BOX}'),
    Feature("linear gradient of no length, repeated", f'{_linear("x2=" + chr(34) + "0" + chr(34) + " spreadMethod=" + chr(34) + "repeat" + chr(34))}{_BOX}', equal='<rect x="5" y="5" width="50" height="30" fill="#fc6"/>'),
    Feature("linear gradient of almost no length", f'{_linear("x1=" + chr(34) + ".5" + chr(34) + " x2=" + chr(34) + ".50001" + chr(34))}{_BOX}', equal='<rect x="5" y="5" width="25" height="30" fill="#036"/><rect x="30" y="5" width="25" height="30" fill="#fc6"/>'),
    Feature("linear gradient in a style", f'<linearGradient id="g" style="color:#383"><stop style="stop-color:currentColor"/><stop offset="1" style="stop-color:#fc6;stop-opacity:.5"/></linearGradient>{_BOX}'),
]  # fmt: skip

RADIAL = [
    *(
        Feature(f"radial gradient about {cx} {cy}, radius {r}, of its box", f'{_radial(f"""cx="{cx}" cy="{cy}" r="{r}" """)}{_LEAF}')
        for cx, cy, r in (("0", "0", "1"), ("50%", "50%", "30%"), ("1", ".5", ".8"), (".2", "1.5", "1.2"))
    ),
    *(
        Feature(f"radial gradient about {cx} {cy}, radius {r}, of the page", f'{_radial(f"""{_USER} cx="{cx}" cy="{cy}" r="{r}" """)}{_LEAF}')
        for cx, cy, r in (("30", "20", "15"), ("50%", "50%", "30%"), ("5mm", "1cm", ".3in"), ("0", "0", "40"))
    ),
    Feature("radial gradient of the page without a centre", f"{_radial(_USER)}{_LEAF}"),
    *(
        Feature(f"radial gradient, spread by {spread}, with a focus", f'{_radial(f"""r=".3" fx=".6" fy=".4" spreadMethod="{spread}" """)}{_LEAF}', reader="poppler")
        for spread in ("pad", "reflect", "repeat")
    ),
    *(
        Feature(f"radial gradient with a focus at {fx} {fy}", f'{_radial(f"""{fx} {fy}""")}{_LEAF}')
        for fx, fy in (('fx=".3"', ""), ("", 'fy=".3"'), ('fx="30%"', 'fy="70%"'), ('fx=".95"', 'fy=".5"'))
    ),
    # A focus outside lies on the circle's edge (SVG 1.1, 13.2.3; SVG 2, 14.2.3 draws a cone instead).
    Feature("radial gradient with a focus outside the circle", f'{_radial("fx=" + chr(34) + "1.5" + chr(34) + " r=" + chr(34) + ".4" + chr(34))}{_LEAF}'),
    Feature("radial gradient with a focus on the circle", f'{_radial("fx=" + chr(34) + ".9" + chr(34) + " r=" + chr(34) + ".4" + chr(34))}{_LEAF}', reader="poppler"),
    Feature("radial gradient squeezed", f'{_radial("gradientTransform=" + chr(34) + "translate(0 .3) scale(1 .4)" + chr(34))}{_LEAF}'),
    Feature("radial gradient turned in the page", f'{_radial(_USER + " cx=" + chr(34) + "30" + chr(34) + " cy=" + chr(34) + "20" + chr(34) + " r=" + chr(34) + "15" + chr(34) + " gradientTransform=" + chr(34) + "rotate(30 30 20) translate(30 20) scale(1.5 .5) translate(-30 -20)" + chr(34))}{_LEAF}'),
    # A radius of nothing (SVG 1.1, 13.2.3): the last stop's colour.
    Feature("radial gradient of no radius", f'{_radial("r=" + chr(34) + "0" + chr(34))}{_BOX}'),
    Feature("radial gradient of a radius below nothing", f'{_radial("r=" + chr(34) + "-.5" + chr(34))}{_BOX}<rect width="4" height="4"/>'),
    # 'fr', the circle it starts at (SVG 2, 14.2.3).
    Feature("radial gradient that starts at a circle", f'{_radial("fr=" + chr(34) + ".2" + chr(34))}{_LEAF}'),
    Feature("radial gradient that starts at a circle, in per cent", f'{_radial("fr=" + chr(34) + "20%" + chr(34) + " fx=" + chr(34) + "40%" + chr(34))}{_LEAF}'),
    Feature("radial gradient that starts at a circle, in the page", f'{_radial(_USER + " cx=" + chr(34) + "30" + chr(34) + " cy=" + chr(34) + "20" + chr(34) + " r=" + chr(34) + "20" + chr(34) + " fr=" + chr(34) + "2mm" + chr(34))}{_LEAF}'),
    *(
        Feature(f"radial gradient that starts at a circle, spread by {spread}", f'{_radial(f"""r=".4" fr=".2" spreadMethod="{spread}" """)}{_LEAF}', reader="poppler")
        for spread in ("reflect", "repeat")
    ),
    Feature("radial gradient that starts at a circle of three colours", f'{_radial("fr=" + chr(34) + ".1" + chr(34) + " fx=" + chr(34) + ".45" + chr(34), _THREE)}{_LEAF}'),
    Feature("radial gradient that starts at a circle of nothing", f'{_radial("fr=" + chr(34) + "0" + chr(34))}{_LEAF}'),
    Feature("radial gradient that starts at a circle below nothing", f'{_radial("fr=" + chr(34) + "-.3" + chr(34))}{_LEAF}', equal=f"{_radial()}{_LEAF}"),
]  # fmt: skip

STOPS = [
    Feature("stops out of order", f'{_linear("", _stops(("0", "#036"), (".6", "#fc6"), (".3", "#a33"), ("1", "#383")))}{_BOX}', reader="poppler"),
    Feature("stops in per cent", f'{_linear("", _stops(("10%", "#036"), ("60%", "#fc6"), ("90%", "#a33")))}{_BOX}'),
    Feature("stops past the ends", f'{_linear("", _stops(("-1", "#036"), ("-20%", "#383"), ("1.5", "#fc6")))}{_BOX}', reader="poppler"),
    Feature("stops that begin late and end early", f'{_linear("", _stops((".3", "#036"), (".6", "#fc6")))}{_BOX}'),
    Feature("stops that begin late, radial", f'{_radial("", _stops((".4", "#036"), (".8", "#fc6")))}{_BOX}'),
    Feature("stops that begin late, mirrored", f'{_linear("x2=" + chr(34) + ".3" + chr(34) + " spreadMethod=" + chr(34) + "reflect" + chr(34), _stops((".3", "#036"), (".6", "#fc6")))}{_BOX}'),
    Feature("stop without a place or a colour", f'{_linear("", "<stop/><stop offset=" + chr(34) + "1" + chr(34) + " stop-color=" + chr(34) + "#fc6" + chr(34) + "/>")}{_BOX}'),
    Feature("stop whose place cannot be read", f'{_linear("", _stops(("x", "#036"), ("1", "#fc6")))}{_BOX}'),
    Feature("one stop", f'{_linear("", _stops((".5", "#a33")))}{_BOX}'),
    Feature("one stop, half clear", f'{_radial("", "<stop stop-color=" + chr(34) + "#a33" + chr(34) + " stop-opacity=" + chr(34) + "50%" + chr(34) + "/>")}{_BOX}'),
    Feature("no stops", f'{_linear("", "")}<rect x="5" y="5" width="50" height="30" fill="url(#g)" stroke="#036"/>'),
    # A gradient without stops is as 'none', whatever there is to fall back on (SVG 1.1, 13.2.4).
    Feature("no stops, with another paint to fall back on", f'{_linear("", "")}<rect x="5" y="5" width="50" height="30" fill="url(#g) red" stroke="#036"/>', equal='<rect x="5" y="5" width="50" height="30" fill="none" stroke="#036"/>'),
    Feature("all stops on one spot", f'{_linear("", _stops((".5", "#036"), (".5", "#fc6"), (".5", "#a33")))}{_BOX}', equal='<rect x="5" y="5" width="25" height="30" fill="#036"/><rect x="30" y="5" width="25" height="30" fill="#a33"/>'),
    Feature("all stops at the beginning", f'{_linear("", _stops(("0", "#036"), ("0", "#a33")))}{_BOX}', reader="poppler"),
    Feature("all stops at the end", f'{_linear("", _stops(("1", "#036"), ("1", "#a33")))}{_BOX}'),
    Feature("all stops at the end, of the middle of the box", f'{_linear("x1=" + chr(34) + ".2" + chr(34) + " x2=" + chr(34) + ".5" + chr(34), _stops(("1", "#036"), ("1", "#a33")))}{_BOX}', equal='<rect x="5" y="5" width="25" height="30" fill="#036"/><rect x="30" y="5" width="25" height="30" fill="#a33"/>'),
    Feature("hard stops in the middle", f'{_linear("", _stops(("0", "#036"), (".4", "#fc6"), (".4", "#a33"), ("1", "#383")))}{_BOX}', reader="poppler"),
    Feature("three stops on one spot", f'{_linear("", _stops(("0", "#036"), (".5", "#fc6"), (".5", "red"), (".5", "#a33"), ("1", "#383")))}{_BOX}', reader="poppler"),
    Feature("stops half clear", f'{_linear("", "<stop stop-color=" + chr(34) + "#036" + chr(34) + " stop-opacity=" + chr(34) + ".2" + chr(34) + "/><stop offset=" + chr(34) + "1" + chr(34) + " stop-color=" + chr(34) + "#a33" + chr(34) + " stop-opacity=" + chr(34) + "80%" + chr(34) + "/>")}{_BOX}'),
    Feature("stops in colours that are half clear", f'{_linear("", _stops(("0", "rgba(0,50,100,.3)"), ("1", "#aa333380")))}{_BOX}'),
    Feature("stops half clear on a half-clear shape", f'{_radial("", _stops(("0", "rgba(0,50,100,.3)"), ("1", "#a33")))}<rect x="5" y="5" width="50" height="30" fill="url(#g)" fill-opacity=".7" opacity=".8"/>'),
    Feature("stop opacities past their ends", f'{_linear("", "<stop stop-color=" + chr(34) + "#036" + chr(34) + " stop-opacity=" + chr(34) + "3" + chr(34) + "/><stop offset=" + chr(34) + "1" + chr(34) + " stop-color=" + chr(34) + "#a33" + chr(34) + " stop-opacity=" + chr(34) + "-2" + chr(34) + "/>")}{_BOX}'),
    Feature("stop that is transparent", f'{_linear("", _stops(("0", "#036"), ("1", "transparent")))}{_BOX}'),
    Feature("stops in currentColor", f'<g color="#a33">{_linear("", _stops(("0", "currentColor"), ("1", "#fc6")))}</g>{_BOX}'),
    Feature("stops in currentColor of the stop itself", f'{_linear("", "<stop color=" + chr(34) + "#383" + chr(34) + " stop-color=" + chr(34) + "currentColor" + chr(34) + "/><stop offset=" + chr(34) + "1" + chr(34) + " stop-color=" + chr(34) + "#fc6" + chr(34) + "/>")}<g color="red">{_BOX}</g>'),
    Feature("stops that inherit from their gradient", f'{_linear("stop-color=" + chr(34) + "#a33" + chr(34) + " stop-opacity=" + chr(34) + ".5" + chr(34), "<stop stop-color=" + chr(34) + "inherit" + chr(34) + " stop-opacity=" + chr(34) + "inherit" + chr(34) + "/><stop offset=" + chr(34) + "1" + chr(34) + " stop-color=" + chr(34) + "#fc6" + chr(34) + "/>")}{_BOX}'),
    Feature("stops do not inherit by themselves", f'{_linear("stop-color=" + chr(34) + "red" + chr(34), "<stop/><stop offset=" + chr(34) + "1" + chr(34) + " stop-color=" + chr(34) + "#fc6" + chr(34) + "/>")}{_BOX}'),
    Feature("stops between other things", f'{_linear("", "<title>t</title><stop stop-color=" + chr(34) + "#036" + chr(34) + "/><rect/><stop offset=" + chr(34) + "1" + chr(34) + " stop-color=" + chr(34) + "#fc6" + chr(34) + "/>")}{_BOX}'),
    Feature("stop within another element is none", f'{_linear("", "<g><stop stop-color=" + chr(34) + "red" + chr(34) + "/></g>" + _stops(("0", "#036"), ("1", "#fc6")))}{_BOX}'),
    Feature("many stops", f'{_linear("", _stops(*((f"{step / 12}", ("#036", "#fc6", "#a33")[step % 3]) for step in range(13))))}{_BOX}'),
]  # fmt: skip

CHAINS = [
    Feature("gradient that has its stops and spread from another", f'<linearGradient id="a" spreadMethod="reflect" x2=".3">{_STOPS}</linearGradient><linearGradient id="g" href="#a"/>{_BOX}'),
    Feature("gradient that takes stops from a third", f'<linearGradient id="a">{_STOPS}</linearGradient><linearGradient id="b" href="#a" x2="0" y2="1"/><linearGradient id="g" href="#b"/>{_BOX}'),
    Feature("gradient that overrides what it takes", f'<linearGradient id="a" x2="0" y2="1" gradientTransform="rotate(45)">{_STOPS}</linearGradient><linearGradient id="g" href="#a" y2="0" x2="1" gradientTransform="rotate(0)"><stop stop-color="#a33"/><stop offset="1" stop-color="#383"/></linearGradient>{_BOX}'),
    Feature("radial gradient that takes from a linear one", f'<linearGradient id="a" gradientUnits="userSpaceOnUse" x2="30">{_THREE}</linearGradient><radialGradient id="g" href="#a" cx="30" cy="20" r="20"/>{_BOX}'),
    Feature("linear gradient that takes from a radial one", f'<radialGradient id="a" spreadMethod="repeat" r=".2">{_THREE}</radialGradient><linearGradient id="g" href="#a" x2=".3"/>{_BOX}', reader="poppler"),
    Feature("radial gradient that takes its focus from another", f'<radialGradient id="a" fx=".3" fy=".3">{_THREE}</radialGradient><radialGradient id="g" href="#a" r=".6"/>{_BOX}'),
    Feature("gradient that takes from a later one", f'<linearGradient id="g" href="#a"/>{_BOX}<linearGradient id="a">{_STOPS}</linearGradient>'),
    Feature("gradient that takes from what is not there", f'<linearGradient id="g" href="#none">{_STOPS}</linearGradient>{_BOX}'),
    Feature("gradient that takes from something else", f'<rect id="a"/><linearGradient id="g" href="#a">{_STOPS}</linearGradient>{_BOX}'),
    Feature("gradient by the older kind of link", f'<linearGradient id="a">{_STOPS}</linearGradient><linearGradient id="g" xlink:href="#a" x2="0" y2="1"/>{_BOX}'),
    Feature("gradient on a group, each of its shapes by its own box", f'{_linear()}<g fill="url(#g)"><rect x="5" y="5" width="20" height="30"/><circle cx="43" cy="20" r="13"/></g>'),
    Feature("gradient on a use", f'{_linear()}<defs><rect id="u" width="20" height="30"/></defs><use href="#u" x="5" y="5" fill="url(#g)"/><use href="#u" x="35" y="5" fill="url(#g)"/>'),
    Feature("gradient on text, in units of its box", f'{_linear()}<text x="5" y="30" font-family="Kalam" font-size="26" fill="url(#g)">leaf</text>'),
    Feature("gradient on text, in user units", f'{_linear(_USER)}<text x="5" y="30" font-family="Kalam" font-size="26" fill="url(#g)">le<tspan stroke="url(#g)" fill="none">af</tspan></text>'),
    Feature("gradient on a stroke and its fill", f'{_linear("x2=" + chr(34) + "0" + chr(34) + " y2=" + chr(34) + "1" + chr(34))}<rect x="10" y="8" width="40" height="24" stroke="url(#g)" stroke-width="7" fill="url(#g)"/>'),
    Feature("gradient on a stroke counts the shape's own box", f'{_linear()}<circle cx="30" cy="20" r="13" stroke="url(#g)" stroke-width="9" fill="none"/>'),
    Feature("radial gradient on a level line in user units", f'{_radial(_USER + " cx=" + chr(34) + "30" + chr(34) + " cy=" + chr(34) + "20" + chr(34) + " r=" + chr(34) + "20" + chr(34))}<path d="M5 20h50" stroke="url(#g)" stroke-width="9"/>'),
    Feature("gradient in a clip's box", f'<clipPath id="c"><circle cx="30" cy="20" r="15"/></clipPath>{_linear()}<rect x="5" y="5" width="50" height="30" fill="url(#g)" clip-path="url(#c)"/>'),
    Feature("gradient in the box of a shape that is mirrored", f'{_linear()}<rect x="-55" y="5" width="50" height="30" fill="url(#g)" transform="scale(-1 1)"/>'),
]  # fmt: skip

# Colours mixed in linear light (SVG 1.1, 11.7.1): as many stops of mixed colours.
_LINEAR_LIGHT = [
    Feature("gradient mixed in linear light", f'{_linear("color-interpolation=" + chr(34) + "linearRGB" + chr(34), _stops(("0", "#000"), ("1", "#fff")))}{_BOX}', equal=f'{_linear("", _stops(*((f"{step / 32}", "rgb({0},{0},{0})".format(round(255 * (12.92 * step / 32 if step / 32 <= 0.0031308 else 1.055 * (step / 32) ** (1 / 2.4) - 0.055)))) for step in range(33))))}{_BOX}'),
]  # fmt: skip

PATTERNS = [
    Feature("pattern in user units", f"{_pattern()}{_BOX}"),
    Feature("pattern begun elsewhere", f'{_pattern("x=" + chr(34) + "3" + chr(34) + " y=" + chr(34) + "-2" + chr(34))}{_BOX}'),
    Feature("pattern in shares of the box", f'{_pattern("patternUnits=" + chr(34) + "objectBoundingBox" + chr(34) + " width=" + chr(34) + ".2" + chr(34) + " height=" + chr(34) + ".3" + chr(34))}{_BOX}'),
    Feature("pattern in per cent of the box", f'<pattern id="g" width="20%" height="30%" x="5%" y="10%">{_TILE}</pattern>{_BOX}'),
    Feature("pattern in per cent of the page", f'{_pattern("width=" + chr(34) + "20%" + chr(34) + " height=" + chr(34) + "20%" + chr(34))}{_BOX}'),
    Feature("pattern in millimetres and em", f'{_pattern("width=" + chr(34) + "2mm" + chr(34) + " height=" + chr(34) + "2em" + chr(34) + " font-size=" + chr(34) + "4" + chr(34))}{_BOX}', equal=_tiled(_TILE, (96 / 12.7, 8))),
    Feature("pattern whose content is in shares of the box", '<pattern id="g" width=".2" height=".25" patternContentUnits="objectBoundingBox"><rect width=".1" height=".1" fill="#036"/><circle cx=".12" cy=".15" r=".05" fill="#a33"/></pattern><rect x="5" y="5" width="50" height="30" fill="url(#g)"/>'),
    Feature("pattern in user units whose content is in shares of the box", f'{_pattern("patternContentUnits=" + chr(34) + "objectBoundingBox" + chr(34), "<rect width=" + chr(34) + ".1" + chr(34) + " height=" + chr(34) + ".1" + chr(34) + " fill=" + chr(34) + "#036" + chr(34) + "/>")}{_BOX}'),
    Feature("pattern with a view box", f'{_pattern("viewBox=" + chr(34) + "0 0 16 16" + chr(34))}{_BOX}'),
    Feature("pattern with a view box that begins elsewhere", f'{_pattern("viewBox=" + chr(34) + "-2 -2 10 10" + chr(34))}{_BOX}'),
    *(
        Feature(f"pattern with a view box that lies {aspect}", f'{_pattern(f"""viewBox="0 0 10 5" preserveAspectRatio="{aspect}" """, "<rect width=" + chr(34) + "10" + chr(34) + " height=" + chr(34) + "5" + chr(34) + " fill=" + chr(34) + "#fc6" + chr(34) + "/><rect width=" + chr(34) + "3" + chr(34) + " height=" + chr(34) + "3" + chr(34) + " fill=" + chr(34) + "#036" + chr(34) + "/>")}{_BOX}')
        for aspect in ("none", "xMinYMin", "xMaxYMax", "xMidYMid slice", "xMaxYMid slice")
    ),
    Feature("pattern with a view box and units of the box", f'<pattern id="g" width=".25" height=".25" viewBox="0 0 8 8" patternContentUnits="objectBoundingBox">{_TILE}</pattern>{_BOX}'),
    Feature("pattern with a view box of no size", f'{_pattern("viewBox=" + chr(34) + "0 0 0 8" + chr(34))}<rect x="5" y="5" width="50" height="30" fill="url(#g)" stroke="#036"/>', equal='<rect x="5" y="5" width="50" height="30" fill="none" stroke="#036"/>'),
    *(
        Feature(f"pattern moved by {turn}", f'{_pattern(f"""patternTransform="{turn}" """)}{_BOX}', equal=_tiled(_TILE, (8, 8), turn))
        for turn in ("rotate(30)", "translate(3 1) scale(1.5)", "skewX(20)", "matrix(1 .3 -.2 .8 2 1)", "scale(-1 1)")
    ),
    Feature("pattern in shares of the box, turned", f'<pattern id="g" width=".2" height=".3" patternTransform="rotate(20)">{_TILE}</pattern>{_BOX}'),
    Feature("pattern flattened to nothing", f'{_pattern("patternTransform=" + chr(34) + "scale(0)" + chr(34))}{_BOX}<rect width="9" height="9"/>', equal='<rect width="9" height="9"/>'),
    *(
        Feature(f"pattern with overflow {way}", f'{_pattern(f"""overflow="{way}" """)}{_BOX}', equal=f"{_pattern()}{_BOX}")
        for way in ("hidden",)
    ),
    Feature("pattern of no width", f'{_pattern("width=" + chr(34) + "0" + chr(34))}<rect x="5" y="5" width="50" height="30" fill="url(#g)" stroke="#036"/>'),
    Feature("pattern of a height below nothing", f'{_pattern("height=" + chr(34) + "-5" + chr(34))}<rect x="5" y="5" width="50" height="30" fill="url(#g)" stroke="#036"/>'),
    Feature("pattern without sizes", f'<pattern id="g">{_TILE}</pattern><rect x="5" y="5" width="50" height="30" fill="url(#g)" stroke="#036"/>'),
    Feature("pattern of nothing", f'{_pattern("", "")}<rect x="5" y="5" width="50" height="30" fill="url(#g)" stroke="#036"/>'),
    Feature("pattern on a shape without width falls back", '<pattern id="g" width=".2" height=".2"><rect width="9" height="9" fill="red"/></pattern><path d="M30 5v30" stroke="url(#g) #383" stroke-width="4"/>'),
    Feature("pattern within a pattern", '<pattern id="h" width="2" height="2" patternUnits="userSpaceOnUse"><rect width="1" height="1" fill="#a33"/></pattern><pattern id="g" width="12" height="12" patternUnits="userSpaceOnUse"><rect width="9" height="9" fill="url(#h)" stroke="#036" stroke-width=".5"/></pattern>' + _BOX),
    Feature("pattern within a pattern, both turned", '<pattern id="h" width="3" height="3" patternUnits="userSpaceOnUse" patternTransform="rotate(30)"><rect width="1.5" height="1.5" fill="#a33"/></pattern><pattern id="g" width="16" height="16" patternUnits="userSpaceOnUse" patternTransform="rotate(20)"><circle cx="7" cy="7" r="6" fill="url(#h)" stroke="#036" stroke-width=".5"/></pattern>' + _BOX),
    Feature("pattern within a pattern, in shares of the box", '<pattern id="h" width=".2" height=".2"><rect width="1" height="1" fill="#a33"/></pattern><pattern id="g" width=".25" height=".4"><rect width="9" height="9" fill="url(#h)" stroke="#036" stroke-width=".5"/></pattern>' + _BOX, equal=_tiled(''.join(f'<rect x="{x * 1.8}" y="{y * 1.8}" width="1" height="1" fill="#a33"/>' for x in range(5) for y in range(5)) + '<rect width="9" height="9" fill="none" stroke="#036" stroke-width=".5"/>', (12.5, 12), start=(5, 5))),
    Feature("pattern with a gradient", f'<linearGradient id="h">{_STOPS}</linearGradient>{_pattern("", "<rect width=" + chr(34) + "6" + chr(34) + " height=" + chr(34) + "6" + chr(34) + " fill=" + chr(34) + "url(#h)" + chr(34) + "/>")}{_BOX}'),
    Feature("pattern with text", f'{_pattern("width=" + chr(34) + "14" + chr(34), "<text y=" + chr(34) + "6" + chr(34) + " font-family=" + chr(34) + "Kalam" + chr(34) + " font-size=" + chr(34) + "7" + chr(34) + ">leaf</text>")}{_BOX}'),
    Feature("pattern with a picture", f'{_pattern("width=" + chr(34) + "12" + chr(34), "<image x=" + chr(34) + "1" + chr(34) + " y=" + chr(34) + "1" + chr(34) + " width=" + chr(34) + "10" + chr(34) + " height=" + chr(34) + "5" + chr(34) + " href=" + chr(34) + quarters() + chr(34) + "/>")}{_BOX}', equal=_tiled(f'<image x="1" y="1" width="10" height="5" href="{quarters()}"/>', (12, 8))),
    Feature("pattern with a clip", f'<clipPath id="c"><circle cx="4" cy="4" r="3"/></clipPath>{_pattern("", "<rect width=" + chr(34) + "8" + chr(34) + " height=" + chr(34) + "6" + chr(34) + " fill=" + chr(34) + "#a33" + chr(34) + " clip-path=" + chr(34) + "url(#c)" + chr(34) + "/>")}{_BOX}', equal='<clipPath id="c"><circle cx="4" cy="4" r="3"/></clipPath>' + _tiled('<rect width="8" height="6" fill="#a33" clip-path="url(#c)"/>', (8, 8))),
    Feature("pattern with opacity inside", f'{_pattern("", "<g opacity=" + chr(34) + ".5" + chr(34) + "><rect width=" + chr(34) + "6" + chr(34) + " height=" + chr(34) + "6" + chr(34) + " fill=" + chr(34) + "#a33" + chr(34) + "/><rect x=" + chr(34) + "2" + chr(34) + " y=" + chr(34) + "2" + chr(34) + " width=" + chr(34) + "5" + chr(34) + " height=" + chr(34) + "5" + chr(34) + "/></g>")}{_BOX}', equal=_tiled('<g opacity=".5"><rect width="6" height="6" fill="#a33"/><rect x="2" y="2" width="5" height="5"/></g>', (8, 8))),
    Feature("pattern on a half-clear shape", f'{_pattern()}<rect x="5" y="5" width="50" height="30" fill="url(#g)" fill-opacity=".5"/>'),
    Feature("pattern of several half-clear things on a half-clear fill", f'{_pattern("", "<rect width=" + chr(34) + "6" + chr(34) + " height=" + chr(34) + "6" + chr(34) + " fill=" + chr(34) + "#a33" + chr(34) + "/><rect x=" + chr(34) + "2" + chr(34) + " y=" + chr(34) + "2" + chr(34) + " width=" + chr(34) + "5" + chr(34) + " height=" + chr(34) + "5" + chr(34) + " opacity=" + chr(34) + ".5" + chr(34) + "/>")}<rect x="5" y="5" width="50" height="30" fill="url(#g)" fill-opacity=".5"/>', equal='<g opacity=".5">' + _tiled('<rect width="6" height="6" fill="#a33"/><rect x="2" y="2" width="5" height="5" opacity=".5"/>', (8, 8)) + '</g>'),
    Feature("pattern that inherits its paint from where it stands", f'<g fill="#a33" stroke="#036">{_pattern("", "<rect width=" + chr(34) + "5" + chr(34) + " height=" + chr(34) + "5" + chr(34) + "/>")}</g><g fill="red">{_BOX}</g>'),
    Feature("pattern with its own paint", f'{_pattern("fill=" + chr(34) + "#a33" + chr(34), "<rect width=" + chr(34) + "6" + chr(34) + " height=" + chr(34) + "6" + chr(34) + "/>")}{_BOX}', equal=_tiled('<rect width="6" height="6" fill="#a33"/>', (8, 8))),
    Feature("pattern in a style", f'<pattern id="g" width="8" height="8" patternUnits="userSpaceOnUse" style="fill:#a33;opacity:.2"><rect width="6" height="6"/></pattern>{_BOX}', equal=_tiled('<rect width="6" height="6" fill="#a33"/>', (8, 8))),
    Feature("pattern with a use", f'<defs><g id="u">{_TILE}</g></defs>{_pattern("", "<use href=" + chr(34) + "#u" + chr(34) + "/>")}{_BOX}'),
    Feature("pattern with a symbol", f'<symbol id="u" viewBox="0 0 8 8">{_TILE}</symbol>{_pattern("", "<use href=" + chr(34) + "#u" + chr(34) + " width=" + chr(34) + "6" + chr(34) + " height=" + chr(34) + "6" + chr(34) + "/>")}{_BOX}'),
    Feature("pattern that takes its content from another", f'<pattern id="a" width="8" height="8" patternUnits="userSpaceOnUse">{_TILE}</pattern><pattern id="g" href="#a" width="12"/>{_BOX}'),
    Feature("pattern that takes all but its transform from a third", f'<pattern id="a" width="8" height="8" patternUnits="userSpaceOnUse">{_TILE}</pattern><pattern id="b" href="#a" x="2" patternTransform="rotate(10)"/><pattern id="g" href="#b" patternTransform="scale(1.5)"/>{_BOX}'),
    Feature("pattern that has its own content and another's view box", f'<pattern id="a" width="8" height="8" patternUnits="userSpaceOnUse" viewBox="0 0 16 16"><rect width="9" height="9" fill="red"/></pattern><pattern id="g" href="#a">{_TILE}</pattern>{_BOX}'),
    Feature("pattern on a stroke", f'{_pattern("width=" + chr(34) + "4" + chr(34) + " height=" + chr(34) + "4" + chr(34), "<rect width=" + chr(34) + "2" + chr(34) + " height=" + chr(34) + "4" + chr(34) + " fill=" + chr(34) + "#a33" + chr(34) + "/>")}<circle cx="30" cy="20" r="13" stroke="url(#g)" stroke-width="8" fill="none"/>'),
    Feature("pattern in shares of the box on a stroke", f'<pattern id="g" width=".1" height=".1">{_BERRY}</pattern><circle cx="30" cy="20" r="12" stroke="url(#g)" stroke-width="6" fill="none"/>', equal='<clipPath id="r"><path d="M15 20a15 15 0 0 1 30 0a15 15 0 0 1-30 0zM21 20a9 9 0 0 1 18 0a9 9 0 0 1-18 0z" clip-rule="evenodd"/></clipPath><g clip-path="url(#r)">' + _tiled(_BERRY, (2.4, 2.4), start=(18, 8)) + '</g>'),
    Feature("pattern on text", f'{_pattern("width=" + chr(34) + "4" + chr(34) + " height=" + chr(34) + "4" + chr(34), "<rect width=" + chr(34) + "3" + chr(34) + " height=" + chr(34) + "3" + chr(34) + " fill=" + chr(34) + "#a33" + chr(34) + "/>")}<text x="5" y="30" font-family="Kalam" font-size="26" fill="url(#g)">leaf</text>'),
    Feature("pattern on text and its stroke", f'{_pattern("width=" + chr(34) + "4" + chr(34) + " height=" + chr(34) + "4" + chr(34), "<rect width=" + chr(34) + "3" + chr(34) + " height=" + chr(34) + "3" + chr(34) + " fill=" + chr(34) + "#a33" + chr(34) + "/>")}<text x="5" y="30" font-family="Kalam" font-size="26" fill="none" stroke="url(#g)" stroke-width="2">le<tspan fill="#036">af</tspan></text>'),
    Feature("pattern of tiny tiles", '<pattern id="g" width=".5" height=".5" patternUnits="userSpaceOnUse"><rect width=".5" height=".25" fill="#036"/></pattern><rect x="5" y="5" width="50" height="30" fill="url(#g)"/>', equal="".join(f'<rect x="5" y="{5 + row / 2}" width="50" height=".25" fill="#036"/>' for row in range(60))),
    Feature("pattern of one huge tile", f'{_pattern("width=" + chr(34) + "4000" + chr(34) + " height=" + chr(34) + "4000" + chr(34), "<circle cx=" + chr(34) + "30" + chr(34) + " cy=" + chr(34) + "20" + chr(34) + " r=" + chr(34) + "12" + chr(34) + " fill=" + chr(34) + "#a33" + chr(34) + "/>")}{_BOX}'),
    Feature("pattern on a turned shape", f'{_pattern()}<rect x="15" y="10" width="30" height="20" transform="rotate(30 30 20)" fill="url(#g)"/>'),
    Feature("pattern in a scaled group", f'{_pattern("width=" + chr(34) + "2" + chr(34) + " height=" + chr(34) + "2" + chr(34), "<circle cx=" + chr(34) + "1" + chr(34) + " cy=" + chr(34) + "1" + chr(34) + " r=" + chr(34) + ".7" + chr(34) + " fill=" + chr(34) + "#a33" + chr(34) + "/>")}<g transform="scale(5 4)"><rect x="1" y="1" width="10" height="8" fill="url(#g)"/></g>'),
    Feature("pattern on a group, each shape by its own box", f'<pattern id="g" width=".25" height=".25">{_TILE}</pattern><g fill="url(#g)"><rect x="5" y="5" width="20" height="30"/><circle cx="43" cy="20" r="13"/></g>'),
    Feature("pattern whose content is larger than its tile", f'{_pattern("", "<circle cx=" + chr(34) + "4" + chr(34) + " cy=" + chr(34) + "4" + chr(34) + " r=" + chr(34) + "4.5" + chr(34) + " fill=" + chr(34) + "none" + chr(34) + " stroke=" + chr(34) + "#a33" + chr(34) + "/>")}{_BOX}', reader="poppler"),
    Feature("pattern that is not displayed is used all the same", f'<g display="none">{_pattern()}</g>{_BOX}'),
    Feature("pattern with markers inside", f'<marker id="k" markerWidth="3" markerHeight="3" refX="1" refY="1"><rect width="2" height="2" fill="#a33"/></marker>{_pattern("", "<path d=" + chr(34) + "M2 2L6 5" + chr(34) + " stroke=" + chr(34) + "#036" + chr(34) + " marker-start=" + chr(34) + "url(#k)" + chr(34) + "/>")}{_BOX}'),
]  # fmt: skip

PAGES: list[Feature] = [*LINEAR, *RADIAL, *STOPS, *CHAINS, *_LINEAR_LIGHT, *PATTERNS]

REFUSALS: list[Refused] = [
    Refused(
        "gradient of a mesh",
        '<meshgradient id="m"/><rect width="9" height="9" fill="url(#m)"/>',
        "m",
        "a mesh gradient",
    ),
    Refused(
        "hatched paint",
        '<hatch id="h"/><rect width="9" height="9" fill="url(#h)"/>',
        "h",
        "a hatch",
    ),
    Refused(
        "pattern in shares of a text's box",
        '<pattern id="g" width=".25" height=".25"><rect width="6" height="4"/></pattern><text id="x" y="30" font-family="Kalam" fill="url(#g)">leaf</text>',
        "x",
        "stretches with a text",
    ),
    Refused(
        "gradients that take from each other",
        f'<linearGradient id="a" href="#x">{_STOPS}</linearGradient><linearGradient id="x" href="#a"/><rect width="9" height="9" fill="url(#x)"/>',
        "x",
        "contains itself",
    ),
    Refused(
        "pattern that holds itself",
        '<pattern id="g" width="9" height="9" patternUnits="userSpaceOnUse"><rect id="x" width="5" height="5" fill="url(#g)"/></pattern><rect width="9" height="9" fill="url(#g)"/>',
        "",
        "contains itself",
    ),
]
