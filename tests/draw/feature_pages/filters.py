# ruff: noqa: E501  (a drawing is a line)
"""Filters, and what they stand between."""

from __future__ import annotations

import math

from pipeline.base.geometry import Rect
from tests.draw.feature_samples import Feature, Refused, picture

_LEAF = '<path d="M10 20C10 5 40 5 50 20C40 35 10 35 10 20z" fill="#383"'
_FIELD = '<rect x="6" y="6" width="30" height="20" fill="#c63"/><circle cx="38" cy="24" r="11" fill="#269"/>'
_WORD = 'font-family="Kalam" font-weight="700" font-size="22"'
_PICTURE = picture()
_WHOLE = 'filterUnits="userSpaceOnUse" x="0" y="0" width="60" height="40"'
_SRGB = 'color-interpolation-filters="sRGB"'


def _filter(parts: str, more: str = _WHOLE, drawn: str = _FIELD) -> str:
    return f'<filter id="f" {more}>{parts}</filter><g filter="url(#f)">{drawn}</g>'


def _on_leaf(parts: str, more: str = "") -> str:
    return f'<filter id="f" {more}>{parts}</filter>{_LEAF} filter="url(#f)"/>'


def _css(functions: str, drawn: str = _FIELD) -> str:
    return f'<g style="filter:{functions}">{drawn}</g>'


def _same(parts: str, drawn: str = _FIELD) -> str:
    """What a function of CSS is short for, in a region wide enough to change nothing."""
    region = 'filterUnits="userSpaceOnUse" x="-60" y="-40" width="180" height="120"'
    return _filter(parts, f"{region} {_SRGB}", drawn)


def _laid(tile: Rect) -> str:
    """Tiles laid one by one."""
    columns = range(-math.ceil(tile.x / tile.width), math.ceil(60 / tile.width))
    rows = range(-math.ceil(tile.y / tile.height), math.ceil(40 / tile.height))
    return "".join(
        f'<svg x="{tile.x + across * tile.width}" y="{tile.y + down * tile.height}" width="{tile.width}" height="{tile.height}" viewBox="{tile.x} {tile.y} {tile.width} {tile.height}">{_FIELD}</svg>'
        for across in columns
        for down in rows
    )


_BLUR = '<feGaussianBlur stdDeviation="2"/>'


def _shadow(dx: float, dy: float, blur: float, flood: str) -> str:
    """What drop-shadow() is short for (Filter Effects 1, 9.13); resvg's own is off in colour."""
    return (
        f'<feGaussianBlur stdDeviation="{blur}" result="before"/><feOffset dx="{dx}" dy="{dy}" result="moved"/><feFlood {flood}/>'
        '<feComposite in2="moved" operator="in"/><feMerge><feMergeNode/><feMergeNode in="SourceGraphic"/></feMerge>'
    )


_SHADOW = '<feGaussianBlur in="SourceAlpha" stdDeviation="1.5"/><feOffset dx="3" dy="3" result="o"/><feMerge><feMergeNode in="o"/><feMergeNode in="SourceGraphic"/></feMerge>'


def _transfer(rest: str, alpha: str = "") -> str:
    functions = "".join(f"<feFunc{channel} {rest}/>" for channel in "RGB")
    return f"<feComponentTransfer>{functions}{alpha}</feComponentTransfer>"


PRIMITIVES = [
    Feature("blur", _filter(_BLUR)),
    Feature("blur across only", _filter('<feGaussianBlur stdDeviation="4 0"/>')),
    Feature("blur of nothing", _filter('<feGaussianBlur stdDeviation="0"/>')),
    Feature("blur below nothing", _filter('<feGaussianBlur stdDeviation="-2"/>')),
    Feature("blur in linear light", _filter(_BLUR, _WHOLE + ' color-interpolation-filters="linearRGB"')),
    Feature("blur in the light of the screen", _filter(_BLUR, f"{_WHOLE} {_SRGB}")),
    Feature("blur in a light said by its group", f'<g {_SRGB}>{_filter(_BLUR)}</g>'),
    Feature("shadow", _filter(_SHADOW)),
    Feature("shadow in one step", _filter('<feDropShadow dx="3" dy="2" stdDeviation="1" flood-color="#036" flood-opacity=".6"/>')),
    Feature("glow in a colour", _filter('<feFlood flood-color="#fa0"/><feComposite in2="SourceAlpha" operator="in"/><feGaussianBlur stdDeviation="2" result="o"/><feMerge><feMergeNode in="o"/><feMergeNode in="SourceGraphic"/></feMerge>')),
    Feature("light inside", _filter('<feFlood flood-color="white"/><feComposite in2="SourceAlpha" operator="out"/><feGaussianBlur stdDeviation="2"/><feComposite in2="SourceAlpha" operator="in" result="o"/><feMerge><feMergeNode in="SourceGraphic"/><feMergeNode in="o"/></feMerge>')),
    Feature("flood", _filter('<feFlood flood-color="#8a4" flood-opacity=".5"/>')),
    Feature("flood in the text colour", _filter('<feFlood flood-color="currentColor" x="5" y="5" width="40" height="30"/>', _WHOLE + ' color="#738"'), equal='<rect x="5" y="5" width="40" height="30" fill="#738"/>'),
    Feature("offset", _filter('<feOffset dx="8" dy="5"/>')),
    Feature("colours by a matrix", _filter('<feColorMatrix type="matrix" values=".3 .6 .1 0 0 .2 .7 .1 0 0 .2 .6 .1 0 0 0 0 0 1 0"/>')),
    Feature("colours paler", _filter('<feColorMatrix type="saturate" values=".3"/>')),
    Feature("colours turned", _filter('<feColorMatrix type="hueRotate" values="110"/>')),
    Feature("lightness as opacity", _filter('<feColorMatrix type="luminanceToAlpha"/>')),
    Feature("channels from tables", _filter(_transfer('type="table" tableValues="1 .5 0"'))),
    Feature("channels in steps", _filter(_transfer('type="discrete" tableValues="0 .3 .7 1"'))),
    Feature("channels by lines", _filter(_transfer('type="linear" slope=".5" intercept=".3"'))),
    Feature("channels by powers", _filter(_transfer('type="gamma" exponent="2" amplitude="1" offset=".1"'))),
    Feature("opacity by a table", _filter('<feComponentTransfer><feFuncA type="table" tableValues="0 .4"/></feComponentTransfer>')),
    *(
        Feature(f"composite {operator}", _filter(f'<feFlood x="12" y="10" width="30" height="24" flood-color="#fc0" flood-opacity=".8" result="b"/><feComposite in="SourceGraphic" in2="b" operator="{operator}"/>'))
        for operator in ("over", "in", "out", "atop", "xor")
    ),
    Feature("composite by numbers", _filter('<feFlood flood-color="#fc0" flood-opacity=".8" result="b"/><feComposite in="SourceGraphic" in2="b" operator="arithmetic" k1=".4" k2=".5" k3=".3"/>')),
    *(
        Feature(f"blend in a filter: {mode}", _filter(f'<feFlood x="12" y="10" width="30" height="24" flood-color="#3bd" result="b"/><feBlend in="SourceGraphic" in2="b" mode="{mode}"/>'))
        for mode in ("multiply", "screen", "darken", "lighten", "overlay", "luminosity")
    ),
    Feature("thicker shapes", _filter('<feMorphology operator="dilate" radius="2.032"/>')),
    Feature("thinner shapes", _filter('<feMorphology radius="2 1"/>', drawn='<rect x="6" y="6" width="30" height="20" fill="#c63"/>'), equal='<rect x="8" y="7" width="26" height="18" fill="#c63"/>'),
    Feature("thicker shapes by much", _filter('<feMorphology operator="dilate" radius="4 3"/>', drawn='<rect x="16" y="12" width="20" height="16" fill="#c63"/>'), equal='<rect x="12" y="9" width="28" height="22" fill="#c63"/>'),
    Feature("outline around a group", _filter('<feMorphology in="SourceAlpha" operator="dilate" radius="1"/><feFlood flood-color="#fb0"/><feComposite in2="SourceAlpha" operator="out"/>', drawn=_FIELD)),
    # By scale × (channel - 1/2) (Filter Effects 1, 9.11); resvg squares the scale.
    Feature("moved by a map", _filter('<feFlood flood-color="#e06040" result="m"/><feDisplacementMap in="SourceGraphic" in2="m" scale="20" xChannelSelector="R" yChannelSelector="G"/>', f"{_WHOLE} {_SRGB}"), equal=f'<g transform="translate(-7.57 2.47)">{_FIELD}</g>'),
    Feature("moved by a map, the other way", _filter('<feFlood flood-color="#e06040" result="m"/><feDisplacementMap in="SourceGraphic" in2="m" scale="-20" xChannelSelector="R" yChannelSelector="G"/>', f"{_WHOLE} {_SRGB}"), equal=f'<g transform="translate(7.57 -2.47)">{_FIELD}</g>'),
    # The light's colour is one of linear light here (Filter Effects 1, 9.9): resvg takes it as it is.
    Feature("light from afar", _filter('<feGaussianBlur in="SourceAlpha" stdDeviation="2"/><feDiffuseLighting surfaceScale="3" lighting-color="#fe8"><feDistantLight azimuth="225" elevation="40"/></feDiffuseLighting><feComposite in2="SourceAlpha" operator="in"/>'), equal=_filter('<feGaussianBlur in="SourceAlpha" stdDeviation="2"/><feDiffuseLighting surfaceScale="3" lighting-color="#ffda3f"><feDistantLight azimuth="225" elevation="40"/></feDiffuseLighting><feComposite in2="SourceAlpha" operator="in"/>')),
    Feature("light from a point", _filter('<feGaussianBlur in="SourceAlpha" stdDeviation="2"/><feDiffuseLighting surfaceScale="3" lighting-color="#fe8"><fePointLight x="12" y="6" z="20"/></feDiffuseLighting>'), equal=_filter('<feGaussianBlur in="SourceAlpha" stdDeviation="2"/><feDiffuseLighting surfaceScale="3" lighting-color="#ffda3f"><fePointLight x="12" y="6" z="20"/></feDiffuseLighting>')),
    Feature("light from a lamp", _filter('<feGaussianBlur in="SourceAlpha" stdDeviation="2"/><feDiffuseLighting surfaceScale="3" lighting-color="#fe8"><feSpotLight x="12" y="6" z="25" pointsAtX="30" pointsAtY="20" limitingConeAngle="40"/></feDiffuseLighting>'), equal=_filter('<feGaussianBlur in="SourceAlpha" stdDeviation="2"/><feDiffuseLighting surfaceScale="3" lighting-color="#ffda3f"><feSpotLight x="12" y="6" z="25" pointsAtX="30" pointsAtY="20" limitingConeAngle="40"/></feDiffuseLighting>')),
    Feature("shine", _filter('<feGaussianBlur in="SourceAlpha" stdDeviation="2"/><feSpecularLighting surfaceScale="4" specularExponent="12" lighting-color="#fff" result="s"><feDistantLight azimuth="225" elevation="45"/></feSpecularLighting><feComposite in="SourceGraphic" in2="s" operator="arithmetic" k2="1" k3="1"/>')),
    Feature("picture in a filter", _filter(f'<feImage href="{_PICTURE}" x="8" y="8" width="40" height="24"/>')),
    Feature("picture in a filter, stretched", _filter(f'<feImage href="{_PICTURE}" preserveAspectRatio="none" x="8" y="8" width="20" height="24"/>')),
    Feature("element in a filter", '<defs><circle id="o" cx="30" cy="20" r="12" fill="#a3c"/></defs>' + _filter("<feImage href='#o' result='i'/><feMerge><feMergeNode in='SourceGraphic'/><feMergeNode in='i'/></feMerge>")),
    Feature("group in a filter", f'<defs><g id="o">{_LEAF}/><path d="M10 20H50" stroke="white" stroke-width="2"/></g></defs>' + _filter("<feImage href='#o'/>")),
    Feature("element in a filter, in a region", '<defs><circle id="o" cx="20" cy="15" r="10" fill="#a3c"/></defs>' + _filter("<feImage href='#o' x='12' y='8' width='16' height='20'/>")),
    Feature("element in a filter that begins elsewhere", '<defs><circle id="o" cx="20" cy="15" r="10" fill="#a3c"/></defs>' + _filter("<feImage href='#o'/>", 'filterUnits="userSpaceOnUse" x="4" y="2" width="50" height="35"')),
    *(
        Feature(f"tiles of {width} × {height}", _filter(f'<feOffset in="SourceGraphic" x="28" y="14" width="{width}" height="{height}"/><feTile/>'), equal=_laid(Rect(28, 14, width, height)))
        for width, height in ((6, 6), (3.25, 4.75), (14, 9.125))
    ),
    Feature("tiles by name, in shares of the box", _filter('<feOffset in="SourceGraphic" x=".5" y=".25" width=".25" height=".25" result="t"/><feFlood flood-color="#fc0"/><feTile in="t"/>', f'{_WHOLE} primitiveUnits="objectBoundingBox"'), equal=_laid(Rect(27.5, 13.25, 10.75, 7.25))),
    Feature("tiles of what has no region", _filter('<feOffset in="SourceGraphic"/><feTile/>')),
    Feature("sharper", _filter('<feConvolveMatrix order="3" kernelMatrix="0 0 0 0 1 0 0 0 0"/>')),
    Feature("clouds", _filter('<feTurbulence baseFrequency=".03" numOctaves="1" seed="3"/><feComposite in2="SourceAlpha" operator="in"/>')),
    Feature("parts by name, out of order", _filter('<feOffset in="SourceGraphic" dx="6" result="a"/><feFlood flood-color="#7bd" result="b"/><feBlend in="a" in2="b" mode="multiply"/>')),
    Feature("part that takes what is not there", _filter('<feGaussianBlur in="nothing" stdDeviation="1.5"/>')),
    Feature("filter with remarks in it", _filter("<title>soft</title><!-- soft -->" + _BLUR)),
]  # fmt: skip

REGIONS = [
    Feature("filter in its usual region", _on_leaf(_BLUR)),
    Feature("filter in shares of the box", _on_leaf(_BLUR, 'x=".25" y="0" width=".5" height="1"')),
    Feature("filter in per cent of the box", _on_leaf(_BLUR, 'x="-30%" y="-30%" width="100%" height="160%"')),
    Feature("filter in per cent of the page", _on_leaf(_BLUR, 'filterUnits="userSpaceOnUse" x="10%" y="20%" width="60%" height="50%"')),
    Feature("filter in millimetres", _on_leaf(_BLUR, 'filterUnits="userSpaceOnUse" x="2mm" y="1mm" width="8mm" height="8mm"')),
    Feature("filter of parts in shares of the box", _on_leaf('<feGaussianBlur stdDeviation=".05"/>', 'primitiveUnits="objectBoundingBox"')),
    Feature("filter of an offset in shares of the box", _on_leaf('<feOffset dx=".1" dy=".2"/>', 'primitiveUnits="objectBoundingBox" x="-.5" y="-.5" width="2" height="2"')),
    Feature("filter of a flood in shares of the box", _on_leaf('<feFlood flood-color="#fc0" x=".1" y=".2" width=".5" height=".4"/>', 'primitiveUnits="objectBoundingBox"')),
    Feature("filter part in a region of its own", _filter('<feFlood flood-color="#fc0" x="10" y="10" width="30" height="20"/><feMerge><feMergeNode/><feMergeNode in="SourceGraphic"/></feMerge>')),
    Feature("filter part in per cent", _filter('<feFlood flood-color="#fc0" x="10%" y="10%" width="50%" height="50%"/>')),
    Feature("filter of a region without width", _on_leaf(_BLUR, 'width="0"') + '<circle cx="5" cy="5" r="4"/>'),
    Feature("filter without parts", _on_leaf("") + '<circle cx="5" cy="5" r="4"/>'),
    # "The whole chain is ignored" (Filter Effects 1, 5); so Chromium draws it.
    Feature("filter that is not there", f'{_LEAF} filter="url(#none)"/>', equal=f"{_LEAF}/>"),
    Feature("filter none", f'{_LEAF} filter="none"/>'),
    Feature("filter on an empty group", '<filter id="f" filterUnits="userSpaceOnUse" x="5" y="5" width="30" height="20"><feFlood flood-color="#383"/></filter><g filter="url(#f)"/>'),
    Feature("filter on nothing, in shares of its box", '<filter id="f"><feFlood flood-color="#383"/></filter><g filter="url(#f)"/><circle cx="30" cy="20" r="9"/>'),
    Feature("filter reaches off the page", f'<g transform="translate(-20 -10)">{_on_leaf(_BLUR)}</g>'),
    Feature("filter with an old background", f'<g enable-background="new">{_on_leaf(_BLUR)}</g>'),
    Feature("filter with an old resolution", _on_leaf(_BLUR, 'filterRes="20"')),
]  # fmt: skip

PLACES = [
    Feature("filter between other things", f'<rect width="60" height="20" fill="#eda"/>{_filter(_BLUR)}<path d="M0 5L60 35" stroke="black" stroke-width="2"/>'),
    Feature("filter on a text", f'<filter id="f" {_WHOLE}>{_SHADOW}</filter><text x="4" y="28" {_WORD} fill="#a30" filter="url(#f)">Seeds</text>'),
    Feature("filter on a text in its usual region", f'<filter id="f">{_BLUR}</filter><text x="4" y="28" {_WORD} fill="#a30" filter="url(#f)">Seeds</text>'),
    Feature("filter on a group with text", _filter(_SHADOW, drawn=f'<rect x="4" y="30" width="50" height="3" fill="#269"/><text x="4" y="28" {_WORD} fill="#a30">Seeds</text>')),
    Feature("filter on a picture", f'<filter id="f">{_BLUR}</filter><image x="5" y="8" width="48" height="24" href="{_PICTURE}" filter="url(#f)"/>'),
    Feature("filter on something used", f'<filter id="f">{_BLUR}</filter><defs><g id="o">{_FIELD}</g></defs><use href="#o" filter="url(#f)"/>'),
    Feature("filter inside something used", f'<filter id="f">{_BLUR}</filter><defs><circle id="o" cx="14" cy="20" r="9" fill="#269" filter="url(#f)"/></defs><use href="#o"/><use href="#o" x="30"/>'),
    Feature("filter in a turned group", f'<g transform="rotate(20 30 20)">{_on_leaf(_BLUR, _SRGB)}</g>'),
    Feature("filter in a group scaled unevenly", f'<g transform="scale(1 .6)">{_on_leaf(_BLUR)}</g>'),
    Feature("filter with opacity", f'<filter id="f">{_BLUR}</filter>{_LEAF} filter="url(#f)" opacity=".5"/>'),
    Feature("filter with a clip", f'<clipPath id="c"><rect x="20" width="20" height="40"/></clipPath><filter id="f">{_BLUR}</filter>{_LEAF} filter="url(#f)" clip-path="url(#c)"/>'),
    Feature("filter with a mask", f'<mask id="m" maskUnits="userSpaceOnUse" x="0" y="0" width="60" height="40"><rect width="30" height="40" fill="#ccc"/></mask><filter id="f">{_BLUR}</filter>{_LEAF} filter="url(#f)" mask="url(#m)"/>'),
    Feature("filter of what is clipped", _filter(_BLUR, drawn=f'<clipPath id="c"><rect x="20" width="20" height="40"/></clipPath><g clip-path="url(#c)">{_FIELD}</g>')),
    Feature("filter of what is masked", _filter(_BLUR, drawn=f'<mask id="m" maskUnits="userSpaceOnUse" x="0" y="0" width="60" height="40"><rect width="60" height="40" fill="#ddd"/><circle cx="20" cy="16" r="7"/></mask><g mask="url(#m)">{_FIELD}</g>')),
    Feature("filter of what is half clear", _filter(_SHADOW, drawn=f'<g opacity=".6">{_FIELD}</g>')),
    Feature("filter of a gradient and a pattern", '<linearGradient id="g"><stop stop-color="#fd0"/><stop offset="1" stop-color="#06c"/></linearGradient><pattern id="p" patternUnits="userSpaceOnUse" width="6" height="6"><circle cx="3" cy="3" r="2" fill="#a30"/></pattern>' + _filter(_SHADOW, drawn='<rect x="5" y="5" width="24" height="26" fill="url(#g)"/><rect x="32" y="5" width="24" height="26" fill="url(#p)"/>')),
    Feature("filter of what blends", _filter(_SHADOW, drawn='<rect x="6" y="6" width="30" height="20" fill="#e8c840"/><circle cx="36" cy="22" r="10" fill="#47a" style="mix-blend-mode:multiply"/>')),
    Feature("filter that blends with what is below", f'<rect width="60" height="20" fill="#e8c840"/><filter id="f">{_BLUR}</filter>{_LEAF} filter="url(#f)" style="mix-blend-mode:multiply"/>'),
    Feature("filter in a filter", f'<filter id="h" {_WHOLE}><feColorMatrix type="saturate" values=".2"/></filter><g filter="url(#h)">{_filter(_SHADOW)}</g>'),
    Feature("filter in a pattern", '<filter id="f" filterUnits="userSpaceOnUse" x="0" y="0" width="15" height="15"><feGaussianBlur stdDeviation="1"/></filter><pattern id="p" patternUnits="userSpaceOnUse" width="15" height="15"><circle cx="7" cy="7" r="5" fill="#383" filter="url(#f)"/></pattern><rect width="60" height="40" fill="url(#p)"/>'),
    Feature("filter in a mask", f'<mask id="m" maskUnits="userSpaceOnUse" x="0" y="0" width="60" height="40"><filter id="f" {_WHOLE}>{_BLUR}</filter><circle cx="30" cy="20" r="13" fill="#fe8" filter="url(#f)"/></mask><rect width="60" height="40" fill="#269" mask="url(#m)"/>'),
    Feature("filter in a marker", '<filter id="f" filterUnits="userSpaceOnUse" x="-4" y="-4" width="14" height="14"><feGaussianBlur stdDeviation=".6"/></filter><marker id="k" markerWidth="10" markerHeight="10" refX="3" refY="3" overflow="visible"><circle cx="3" cy="3" r="3" fill="#c30" filter="url(#f)"/></marker><path d="M10 20H50" stroke="#036" stroke-width="2" marker-start="url(#k)" marker-end="url(#k)"/>'),
    Feature("filter on a part of a clip does nothing", f'<filter id="f">{_BLUR}</filter><clipPath id="c"><circle cx="30" cy="20" r="14" filter="url(#f)"/></clipPath><rect width="60" height="40" fill="#383" clip-path="url(#c)"/>'),
    Feature("filter on a nested drawing", f'<filter id="f" {_WHOLE}>{_BLUR}</filter><svg x="5" y="5" width="40" height="30" viewBox="0 0 60 45" filter="url(#f)">{_FIELD}</svg>'),
    Feature("filter on strokes and markers", f'<marker id="k" markerWidth="4" markerHeight="4" refX="2" refY="2"><circle cx="2" cy="2" r="2" fill="#c30"/></marker><filter id="f" {_WHOLE}>{_SHADOW}</filter><path d="M10 20L30 8L50 20" fill="none" stroke="#036" stroke-width="3" marker-mid="url(#k)" marker-end="url(#k)" filter="url(#f)"/>'),
    Feature("filter on a level line", f'<filter id="f" {_WHOLE}>{_BLUR}</filter><path d="M10 20H50" stroke="#036" stroke-width="5" filter="url(#f)"/>'),
    Feature("filter on something hidden", f'<filter id="f" {_WHOLE}>{_SHADOW}</filter>{_LEAF} visibility="hidden" filter="url(#f)"/><circle cx="30" cy="20" r="6"/>'),
    Feature("filter twice the same", f'<filter id="f">{_BLUR}</filter><rect x="5" y="8" width="18" height="22" fill="#a30" filter="url(#f)"/><rect x="35" y="8" width="18" height="22" fill="#a30" filter="url(#f)"/>'),
    Feature("filter on the whole drawing", _FIELD + f'<filter id="f" {_WHOLE}>{_BLUR}</filter>', size='width="60mm" height="40mm" viewBox="0 0 60 40" filter="url(#f)"'),
]  # fmt: skip

FUNCTIONS = [
    Feature("function blur", _css("blur(2px)"), equal=_same(_BLUR)),
    Feature("function blur in millimetres", _css("blur(.5mm)"), equal=_same('<feGaussianBlur stdDeviation="1.8898"/>')),
    Feature("function drop-shadow", _css("drop-shadow(3px 2px 1px #036)"), equal=_same(_shadow(3, 2, 1, 'flood-color="#036"'))),
    Feature("function drop-shadow with its colour first", _css("drop-shadow(rgba(160,48,0,.5) 4px 4px)"), equal=_same(_shadow(4, 4, 0, 'flood-color="#a03000" flood-opacity=".5"'))),
    Feature("function drop-shadow in the text colour", '<g color="#738">' + _css("drop-shadow(3px 3px 0)") + "</g>", equal=_same(_shadow(3, 3, 0, 'flood-color="#738"'))),
    Feature("function brightness", _css("brightness(60%)"), equal=_same(_transfer('type="linear" slope=".6"'))),
    Feature("function contrast", _css("contrast(1.8)"), equal=_same(_transfer('type="linear" slope="1.8" intercept="-.4"'))),
    Feature("function grayscale", _css("grayscale(70%)"), equal=_same('<feColorMatrix type="saturate" values=".3"/>')),
    Feature("function grayscale without a number", _css("grayscale()"), equal=_same('<feColorMatrix type="saturate" values="0"/>')),
    # The matrix of Filter Effects 1, 12.1.2.
    Feature("function sepia", _css("sepia(1)"), equal=_same('<feColorMatrix type="matrix" values=".393 .769 .189 0 0 .349 .686 .168 0 0 .272 .534 .131 0 0 0 0 0 1 0"/>')),
    Feature("function saturate", _css("saturate(2)"), equal=_same('<feColorMatrix type="saturate" values="2"/>')),
    Feature("function hue-rotate", _css("hue-rotate(.25turn)"), equal=_same('<feColorMatrix type="hueRotate" values="90"/>')),
    Feature("function invert", _css("invert(80%)"), equal=_same(_transfer('type="table" tableValues=".8 .2"'))),
    Feature("function opacity", _css("opacity(40%)"), equal=f'<g opacity=".4">{_FIELD}</g>'),
    Feature("functions one after the other", _css("grayscale(1) drop-shadow(2px 2px 1px red)"), equal=_same('<feColorMatrix type="saturate" values="0" result="grey"/>' + _shadow(2, 2, 1, 'flood-color="red"').replace("SourceGraphic", "grey"))),
    Feature("functions blur one after the other", _css("blur(2px) blur(1px) blur(2px)"), equal=_same('<feGaussianBlur stdDeviation="3"/>')),
    Feature("functions blur with another between them", _css("blur(2px) grayscale(1) blur(1px)"), equal=_same('<feColorMatrix type="saturate" values="0"/><feGaussianBlur stdDeviation="2.236"/>')),
    Feature("a hundred functions blur", _css("blur(.3px) " * 100), equal=_same('<feGaussianBlur stdDeviation="3"/>')),
    Feature("functions turn colours all the way round", _css("hue-rotate(45deg) " * 8), equal=_same('<feColorMatrix type="hueRotate" values="45"/>' * 8)),
    Feature("function after a filter", f'<filter id="f" {_WHOLE}><feOffset dx="5"/></filter>' + _css("url(#f) brightness(1.4)"), equal=_filter('<feOffset dx="5"/>' + _transfer('type="linear" slope="1.4"'), f"{_WHOLE} {_SRGB}")),
    Feature("function that is no function", _css("sparkle(3)"), equal=_FIELD),
    Feature("function with a number below nothing", _css("blur(-2px)"), equal=_FIELD),
    Feature("function on a text", f'<text x="4" y="28" {_WORD} fill="#a30" style="filter:drop-shadow(1px 1px 1px #036)">Seeds</text>', equal=_same(_shadow(1, 1, 1, 'flood-color="#036"'), f'<text x="4" y="28" {_WORD} fill="#a30">Seeds</text>')),
    Feature("function in a turned group", f'<g transform="rotate(30 30 20)">{_css("drop-shadow(4px 0 0 #036)")}</g>', equal=f'<g transform="rotate(30 30 20)"><g transform="translate(4 0)" fill="#036"><rect x="6" y="6" width="30" height="20"/><circle cx="38" cy="24" r="11"/></g>{_FIELD}</g>'),
]  # fmt: skip

MEETING = [
    Feature("filter on a tspan does nothing", f'<filter id="f"><feGaussianBlur stdDeviation="1"/></filter><text x="2" y="24" {_WORD} fill="#269">Se<tspan filter="url(#f)" style="mix-blend-mode:multiply">eds</tspan></text>'),
    Feature("filter on a text with a clear word", f'<filter id="f"><feOffset dx="2" dy="3"/></filter><text x="2" y="24" {_WORD} fill="#269" filter="url(#f)">Se<tspan opacity=".5">eds</tspan></text>',equal=f'<text x="4" y="27" {_WORD} fill="#269">Se<tspan fill-opacity=".5">eds</tspan></text>'),
    Feature("filter on stroked lines with markers", '<marker id="k" markerWidth="4" markerHeight="4" refX="2" refY="2"><circle cx="2" cy="2" r="1.5" fill="#a30"/></marker><filter id="f"><feGaussianBlur stdDeviation=".5"/></filter><path d="M8 30L30 8L52 30" fill="#eec" stroke="#269" stroke-width="2" marker-mid="url(#k)" paint-order="markers stroke" filter="url(#f)" opacity=".6"/>'),
    Feature("filter in a picture that is a drawing", '<image x="5" y="5" width="50" height="30" href="data:image/svg+xml;utf8,%3Csvg xmlns=%22http://www.w3.org/2000/svg%22 viewBox=%220 0 50 30%22%3E%3Cfilter id=%22f%22%3E%3CfeGaussianBlur stdDeviation=%221%22/%3E%3C/filter%3E%3Crect x=%224%22 y=%224%22 width=%2230%22 height=%2220%22 fill=%22%23c80%22 filter=%22url(%23f)%22/%3E%3C/svg%3E"/>'),
    Feature("filter on a sharp picture", f'<filter id="f"><feGaussianBlur stdDeviation=".5"/></filter><image x="5" y="8" width="48" height="24" image-rendering="pixelated" href="{_PICTURE}" filter="url(#f)"/>'),
]  # fmt: skip
"""Filters on and in text, pictures and lines of every kind."""

_BLURRED = f'<filter id="f" {_WHOLE}>{_BLUR}</filter>'
_DOT = '<circle cx="2" cy="2" r="2" fill="#269"/><circle cx="3" cy="3" r="2" fill="#c63"/>'
_MARKED = '<path d="M9 9h20" stroke="black" stroke-width="3" marker-end="url(#k)"/>'


def _marker(more: str) -> str:
    return f'<marker id="k" markerWidth="4" markerHeight="4" overflow="visible" {more}>{_DOT}</marker>{_MARKED}'


def _on_line(more: str) -> str:
    return f'<path d="M9 9h20" stroke="black" stroke-width="3"/><g transform="translate(29 9) scale(3)"><g {more}>{_DOT}</g></g>'


_UNSCALED = '<path transform="scale(4 2)" vector-effect="non-scaling-stroke" d="M4 4h8v6z" fill="#383" stroke="#333" stroke-width="8"'
# 8 CSS pixels on a page whose user unit is 1 mm.
_SCALED = f'<path d="M16 8h32v12z" fill="#383" stroke="#333" stroke-width="{8 * 25.4 / 96}"'
_UNDER = '<rect width="30" height="40" fill="#fc3"/>'

# SVG 2, 13.7.1 and 13.7.2: effects hold for all of a marker, and a stroke that does not scale is
# part of what is filtered, masked and blended; resvg knows neither.
WITH_STRUCTURE = [
    Feature(
        "marker that is clear as a whole",
        _marker('opacity="0.5"'),
        equal=_on_line('opacity="0.5"'),
    ),
    Feature(
        "marker that is blurred",
        _marker('filter="blur(0.5px)"'),
        equal=_on_line('filter="blur(0.5px)"'),
    ),
    Feature(
        "marker that blends",
        '<rect width="60" height="10" fill="#fc3"/>' + _marker('style="mix-blend-mode:multiply"'),
        equal='<rect width="60" height="10" fill="#fc3"/><path d="M9 9h20" stroke="black" stroke-width="3"/><g transform="translate(29 9) scale(3)" style="mix-blend-mode:multiply">' + _DOT + "</g>",
    ),
    Feature(
        "stroke that does not scale, masked",
        f'<mask id="m" {_WHOLE.replace("filter", "mask")}><circle cx="40" cy="12" r="9" fill="white"/></mask><g mask="url(#m)">{_UNSCALED}/></g>',
        equal=f'<mask id="m" {_WHOLE.replace("filter", "mask")}><circle cx="40" cy="12" r="9" fill="white"/></mask><g mask="url(#m)">{_SCALED}/></g>',
    ),
    Feature(
        "stroke that does not scale, blurred in a group",
        f'{_BLURRED}<g filter="url(#f)">{_UNSCALED}/></g>',
        equal=f'{_BLURRED}<g filter="url(#f)">{_SCALED}/></g>',
    ),
    Feature(
        "stroke that does not scale, blended",
        f'{_UNDER}{_UNSCALED} style="mix-blend-mode:multiply"/>',
        equal=f'{_UNDER}{_SCALED} style="mix-blend-mode:multiply"/>',
    ),
    Feature(
        "stroke that does not scale, clear",
        f'{_UNDER}{_UNSCALED} opacity="0.5"/>',
        equal=f'{_UNDER}{_SCALED} opacity="0.5"/>',
    ),
    Feature(
        "filter in a variable",
        f"<style>svg {{ --soft: url(#f) }} circle {{ filter: var(--soft) }}</style>{_BLURRED}{_FIELD}",
        equal=f"<style>circle {{ filter: url(#f) }}</style>{_BLURRED}{_FIELD}",
    ),
    Feature(
        "blend mode in a variable",
        f"<style>svg {{ --mix: screen }} circle {{ mix-blend-mode: var(--mix) }}</style>{_FIELD}",
        equal=f"<style>circle {{ mix-blend-mode: screen }}</style>{_FIELD}",
    ),
    Feature(
        "flood in a colour of a variable",
        "<style>svg { --ink: #c63 } feFlood { flood-color: var(--ink) }</style>"
        + _filter("<feFlood/>"),
        equal=_filter('<feFlood flood-color="#c63"/>'),
    ),
    Feature(
        "filter on a switch",
        f'{_BLURRED}<switch filter="url(#f)"><g systemLanguage="xx"/>{_FIELD}</switch>',
        equal=f'{_BLURRED}<g filter="url(#f)"><rect x="6" y="6" width="30" height="20" fill="#c63"/></g>',
    ),
]  # fmt: skip

PAGES: list[Feature] = [*PRIMITIVES, *REGIONS, *PLACES, *FUNCTIONS, *MEETING, *WITH_STRUCTURE]

REFUSALS: list[Refused] = [
    Refused("picture outside the file in a filter", '<filter id="f"><feImage id="i" href="seed.png"/></filter><rect width="9" height="9" filter="url(#f)"/>', "i", "outside the file"),
    Refused("picture in a filter that is a drawing", '<filter id="f"><feImage id="i" href="data:image/svg+xml,%3Csvg xmlns=%22http://www.w3.org/2000/svg%22/%3E"/></filter><rect width="9" height="9" filter="url(#f)"/>', "i", "an SVG file"),
    Refused("filter that shows itself", '<filter id="f"><feImage href="#x"/></filter><rect id="x" width="9" height="9" filter="url(#f)"/>', "f", "contains itself"),
    Refused("filter on what is behind", '<rect id="x" width="9" height="9" style="backdrop-filter:blur(2px)"/>', "x", "changes what lies behind"),
]  # fmt: skip
