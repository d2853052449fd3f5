# ruff: noqa: E501  (a drawing is a line)
"""Clips, masks, opacity and blend modes."""

from __future__ import annotations

from tests.draw.feature_samples import Feature, Refused, picture

_LEAF = 'd="M10 20C10 5 40 5 50 20C40 35 10 35 10 20z"'
_BARS = "".join(f'<rect x="{x}" width="4" height="40" fill="#336699"/>' for x in range(0, 60, 8))
_FIELD = '<rect width="60" height="40" fill="#c63"/><circle cx="20" cy="20" r="14" fill="#269"/>'
_WORD = 'font-family="Kalam" font-weight="700" font-size="22"'
_PICTURE = picture()
_TO_BLACK = '<stop stop-color="white"/><stop offset="1" stop-color="black"/>'
_WHOLE = 'maskUnits="userSpaceOnUse" x="0" y="0" width="60" height="40"'


def _mask(content: str, masked: str = _FIELD, more: str = _WHOLE) -> str:
    return f'<mask id="m" {more}>{content}</mask><g mask="url(#m)">{masked}</g>'


def _clip(content: str, clipped: str = _BARS, more: str = "") -> str:
    return f'<clipPath id="c" {more}>{content}</clipPath><g clip-path="url(#c)">{clipped}</g>'


def _basic(shape: str, more: str = 'fill="#383"') -> str:
    """A rectangle of 40 × 24 at (10, 8), clipped by a basic shape."""
    return f'<rect x="10" y="8" width="40" height="24" {more} style="clip-path:{shape}"/>'


def _blend(mode: str) -> str:
    return f'<rect x="5" y="5" width="32" height="22" fill="#d94"/><circle cx="36" cy="24" r="13" fill="#47a" style="mix-blend-mode:{mode}"/>'


_RING = "M0 0h30v30h-30zM8 8h14v14h-14z"

MASKS = [
    Feature(
        "mask of greys that overlap",
        _mask(
            '<rect width="60" height="40" fill="white"/><circle cx="30" cy="20" r="12" fill="#555"/>'
        ),
    ),
    Feature(
        "mask with black over white",
        _mask('<rect width="60" height="40" fill="white"/><circle cx="30" cy="20" r="9"/>'),
    ),
    Feature(
        "mask of colours",
        _mask(
            '<rect width="20" height="40" fill="red"/><rect x="20" width="20" height="40" fill="lime"/><rect x="40" width="20" height="40" fill="blue"/>'
        ),
    ),
    Feature(
        "mask with half-clear black over white",
        _mask(
            '<rect width="60" height="40" fill="white"/><rect x="20" y="10" width="20" height="20" fill="black" fill-opacity=".4"/>'
        ),
    ),
    Feature(
        "mask whose gradient changes colour and opacity",
        '<linearGradient id="g"><stop stop-color="white"/><stop offset=".5" stop-color="#f0f" stop-opacity=".6"/><stop offset="1" stop-color="#ff0" stop-opacity="0"/></linearGradient>'
        + _mask("<rect width='60' height='40' fill='url(#g)'/>"),
    ),
    Feature(
        "mask whose gradients lie over each other",
        f'<linearGradient id="g">{_TO_BLACK}</linearGradient><radialGradient id="h"><stop stop-color="black"/><stop offset="1" stop-color="black" stop-opacity="0"/></radialGradient>'
        + _mask(
            "<rect width='60' height='40' fill='url(#g)'/><circle cx='20' cy='20' r='16' fill='url(#h)'/>"
        ),
    ),
    Feature(
        "mask of a picture", _mask(f'<image x="5" y="5" width="50" height="25" href="{_PICTURE}"/>')
    ),
    Feature(
        "mask of a picture as a JPEG",
        _mask(f'<image x="5" y="5" width="50" height="25" href="{picture(kind="JPEG")}"/>'),
    ),
    Feature(
        "mask of a pattern",
        '<pattern id="p" patternUnits="userSpaceOnUse" width="10" height="10"><rect width="10" height="10" fill="#444"/><circle cx="5" cy="5" r="4" fill="#ff8"/></pattern>'
        + _mask("<rect width='60' height='40' fill='url(#p)'/>"),
    ),
    Feature("mask of text", _mask(f'<text x="4" y="28" {_WORD} fill="white">Seeds</text>')),
    Feature(
        "mask of black text on white",
        _mask(
            f'<rect width="60" height="40" fill="white"/><text x="4" y="28" {_WORD}>Seeds</text>'
        ),
    ),
    Feature(
        "mask of strokes",
        _mask(
            '<path d="M5 5L55 35M5 35L55 5" stroke="white" stroke-width="6"/><path d="M30 0V40" stroke="#777" stroke-width="8"/>'
        ),
    ),
    Feature(
        "mask with a group half clear",
        _mask(
            '<rect width="60" height="40" fill="#222"/><g opacity=".5"><circle cx="22" cy="20" r="12" fill="white"/><circle cx="38" cy="20" r="12" fill="white"/></g>'
        ),
    ),
    Feature(
        "mask with a clip inside",
        '<clipPath id="c"><circle cx="30" cy="20" r="15"/></clipPath>'
        + _mask("<rect width='60' height='40' fill='white' clip-path='url(#c)'/>"),
    ),
    Feature(
        "mask in a mask",
        f'<linearGradient id="g">{_TO_BLACK}</linearGradient><mask id="n" {_WHOLE}><rect width="60" height="40" fill="url(#g)"/></mask>'
        + _mask("<circle cx='30' cy='20' r='17' fill='white' mask='url(#n)'/>"),
    ),
    Feature(
        "mask that is masked",
        f'<mask id="n" {_WHOLE}><rect x="15" width="45" height="40" fill="#bbb"/></mask>'
        + _mask("<circle cx='30' cy='20' r='17' fill='white'/>", more=_WHOLE + ' mask="url(#n)"'),
    ),
    Feature(
        "masks on groups in groups",
        f'<mask id="n" {_WHOLE}><rect x="20" width="40" height="40" fill="#aaa"/></mask><g mask="url(#n)">'
        + _mask("<circle cx='30' cy='20' r='17' fill='white'/>")
        + "</g>",
    ),
    Feature(
        "mask by opacity alone",
        _mask(
            '<rect x="5" y="5" width="25" height="30" fill="black"/><rect x="32" y="5" width="23" height="30" fill="red" fill-opacity=".4"/>',
            more=_WHOLE + ' mask-type="alpha"',
        ),
    ),
    Feature(
        "mask by opacity alone, said as a style",
        _mask(
            '<rect x="5" y="5" width="50" height="30" fill="black" opacity=".6"/>',
            more=_WHOLE + ' style="mask-type:alpha"',
        ),
    ),
    Feature(
        "mask by the opacity of a gradient",
        '<linearGradient id="g"><stop stop-color="#008"/><stop offset="1" stop-color="#080" stop-opacity="0"/></linearGradient>'
        + _mask(
            "<rect width='60' height='40' fill='url(#g)'/>", more=_WHOLE + ' mask-type="alpha"'
        ),
    ),
    Feature(
        "mask by the opacity of text",
        _mask(f'<text x="4" y="28" {_WORD}>Seeds</text>', more=_WHOLE + ' mask-type="alpha"'),
    ),
    Feature(
        "mask by opacity within a mask by lightness",
        f'<mask id="n" {_WHOLE} mask-type="alpha"><circle cx="25" cy="20" r="14"/></mask>'
        + _mask("<rect width='60' height='40' fill='white' mask='url(#n)'/>"),
    ),
    # resvg takes no notice of color-interpolation; the lightness of #999 is 0.319, of #4a8 0.335 (CSS Masking 1, 7.10.1).
    Feature(
        "mask in linear light",
        _mask(
            '<rect width="30" height="40" fill="#999"/><rect x="30" width="30" height="40" fill="#4a8"/>',
            more=_WHOLE + ' color-interpolation="linearRGB"',
        ),
        equal=_mask(
            '<rect width="30" height="40" fill="white" opacity=".319"/><rect x="30" width="30" height="40" fill="white" opacity=".335"/>'
        ),
    ),
    Feature(
        "mask in linear light, inherited",
        '<g color-interpolation="linearRGB">'
        + _mask("<rect width='60' height='40' fill='#888'/>")
        + "</g>",
        equal=_mask('<rect width="60" height="40" fill="white" opacity=".246"/>'),
    ),
    Feature(
        "mask in linear light, half clear",
        _mask(
            '<rect x="5" y="5" width="50" height="30" fill="#999" fill-opacity=".6"/>',
            more=_WHOLE + ' color-interpolation="linearRGB"',
        ),
        equal=_mask('<rect x="5" y="5" width="50" height="30" fill="white" opacity=".191"/>'),
    ),
    Feature(
        "mask of a picture in linear light",
        _mask(
            f'<image x="5" y="5" width="50" height="25" href="{_PICTURE}"/>',
            more=_WHOLE + ' color-interpolation="linearRGB"',
        ),
        equal=_mask(
            '<rect x="5" y="5" width="25" height="12.5" fill="white" opacity=".2125"/><rect x="30" y="5" width="25" height="12.5" fill="white" opacity=".154"/><rect x="5" y="17.5" width="25" height="12.5" fill="white" opacity=".072"/><rect x="30" y="17.5" width="25" height="12.5" fill="white" opacity=".928"/>'
        ),
    ),
    Feature(
        "mask cut by its region",
        _mask(
            '<rect width="60" height="40" fill="white"/>',
            more='maskUnits="userSpaceOnUse" x="10" y="8" width="36" height="20"',
        ),
    ),
    Feature(
        "mask region in per cent of the page",
        _mask(
            '<rect width="60" height="40" fill="white"/>',
            more='maskUnits="userSpaceOnUse" x="10%" y="10%" width="60%" height="50%"',
        ),
    ),
    Feature(
        "mask region in millimetres",
        _mask(
            '<rect width="60" height="40" fill="white"/>',
            more='maskUnits="userSpaceOnUse" x="2mm" y="1mm" width="10mm" height="9mm"',
        ),
    ),
    Feature(
        "mask content in shares of the box",
        _mask(
            '<circle cx=".5" cy=".5" r=".45" fill="white"/><rect x=".4" y=".1" width=".2" height=".8" fill="#444"/>',
            more='maskContentUnits="objectBoundingBox"',
        ),
    ),
    Feature(
        "mask of a text in units of its box",
        f'<linearGradient id="g">{_TO_BLACK}</linearGradient><mask id="m"><rect width="60" height="40" fill="url(#g)"/></mask><text x="4" y="28" {_WORD} mask="url(#m)">Seeds</text>',
    ),
    Feature(
        "mask of a group with text in units of its box",
        f'<mask id="m" maskContentUnits="objectBoundingBox"><rect width=".5" height="1" fill="white"/><rect x=".5" width=".5" height="1" fill="#666"/></mask><g mask="url(#m)" fill="#269"><rect x="5" y="4" width="50" height="6"/><text x="5" y="28" {_WORD}>Seeds</text></g>',
    ),
    Feature(
        "mask turned with what it masks",
        '<g transform="rotate(12 30 20)">'
        + _mask(
            "<rect x='10' y='8' width='40' height='24' fill='white'/><circle cx='30' cy='20' r='8' fill='#333'/>"
        )
        + "</g>",
    ),
    Feature(
        "mask moved by what is masked",
        f'<mask id="m" {_WHOLE}><rect width="30" height="40" fill="white"/></mask><rect x="-10" y="5" width="40" height="30" fill="#383" transform="translate(15 0)" mask="url(#m)"/>',
    ),
    Feature(
        "mask on a stroke and a fill",
        f'<mask id="m" {_WHOLE}><rect width="60" height="22" fill="white"/></mask><path {_LEAF} fill="#383" stroke="#a30" stroke-width="4" mask="url(#m)"/>',
    ),
    Feature(
        "mask on a picture",
        f'<mask id="m" {_WHOLE}><circle cx="30" cy="18" r="12" fill="white"/></mask><image x="5" y="5" width="48" height="24" href="{_PICTURE}" mask="url(#m)"/>',
    ),
    Feature(
        "mask on something used",
        f'<mask id="m" {_WHOLE}><rect x="20" width="40" height="40" fill="#ccc"/></mask><defs><g id="o">{_FIELD}</g></defs><use href="#o" mask="url(#m)"/>',
    ),
    Feature(
        "mask made of something used",
        '<defs><circle id="o" cx="30" cy="20" r="15" fill="#eee"/></defs>'
        + _mask("<use href='#o'/>"),
    ),
    Feature(
        "mask and clip and opacity together",
        f'<clipPath id="c"><rect x="8" width="44" height="40"/></clipPath><mask id="m" {_WHOLE}><circle cx="30" cy="20" r="18" fill="white"/></mask><g clip-path="url(#c)" mask="url(#m)" opacity=".6">{_FIELD}</g>',
    ),
    Feature(
        "mask without content",
        f'<mask id="m"/><g mask="url(#m)">{_FIELD}</g><circle cx="30" cy="20" r="6"/>',
    ),
    Feature("mask that is not there", f'<g mask="url(#none)">{_FIELD}</g>'),
    Feature(
        "mask without width",
        f'<mask id="m" {_WHOLE.replace("60", "0")}><rect width="60" height="40" fill="white"/></mask><g mask="url(#m)">{_FIELD}</g><circle cx="30" cy="20" r="6"/>',
    ),
    # No mask element, no mask; so Chromium draws it.
    Feature(
        "mask that is something else",
        '<rect id="m" width="30" height="40" fill="#ddd"/><g mask="url(#m)"><circle cx="40" cy="20" r="12" fill="#383"/></g>',
        equal='<rect width="30" height="40" fill="#ddd"/><circle cx="40" cy="20" r="12" fill="#383"/>',
    ),
    Feature(
        "mask on a line in units of its box",
        '<mask id="m"><rect width="60" height="40" fill="white"/></mask><path d="M5 20H55" stroke="black" stroke-width="4" mask="url(#m)"/><circle cx="30" cy="10" r="5"/>',
    ),
    Feature(
        "mask within a pattern",
        f'<mask id="m" {_WHOLE}><rect width="60" height="40" fill="white"/><circle cx="5" cy="5" r="3"/></mask><pattern id="p" patternUnits="userSpaceOnUse" width="10" height="10"><rect width="9" height="9" fill="#383" mask="url(#m)"/></pattern><rect width="60" height="40" fill="url(#p)"/>',
    ),
    Feature(
        "mask with hidden parts",
        _mask(
            '<rect width="60" height="40" fill="white"/><rect width="30" height="40" visibility="hidden"/><rect x="30" width="10" height="40" display="none"/>'
        ),
    ),
    Feature(
        "masks one after the other",
        f'<mask id="n" {_WHOLE} mask-type="alpha"><rect x="32" y="4" width="24" height="32" opacity=".5"/></mask>'
        + _mask("<rect width='28' height='40' fill='#ddd'/>")
        + '<g mask="url(#n)"><rect width="60" height="40" fill="#269"/></g>',
    ),
]

CLIPS = [
    Feature(
        "clip by shapes with holes",
        _clip(
            f'<path clip-rule="evenodd" d="{_RING}"/><path clip-rule="evenodd" transform="translate(25 8)" d="{_RING}"/>'
        ),
    ),
    Feature(
        "clip by a hole and a shape over it",
        _clip(f'<path clip-rule="evenodd" d="{_RING}"/><circle cx="15" cy="15" r="4"/>'),
    ),
    Feature(
        "clip with rules of both kinds",
        _clip(
            f'<path clip-rule="evenodd" d="{_RING}"/><path d="{_RING}" transform="translate(28 6)"/>'
        ),
    ),
    Feature(
        "clip whose parts are clipped",
        '<clipPath id="d"><circle cx="20" cy="20" r="14"/></clipPath>'
        + _clip("<rect x='5' y='5' width='40' height='30' clip-path='url(#d)'/>"),
    ),
    Feature(
        "clip whose parts are clipped differently",
        '<clipPath id="d"><circle cx="20" cy="20" r="14"/></clipPath><clipPath id="e"><rect x="38" y="10" width="9" height="20"/></clipPath>'
        + _clip(
            "<rect x='5' y='5' width='28' height='30' clip-path='url(#d)'/><rect x='34' y='5' width='20' height='30' clip-path='url(#e)'/>"
        ),
    ),
    Feature("clip by text", _clip(f'<text x="3" y="30" {_WORD}>Seeds</text>')),
    Feature(
        "clip by text and a shape",
        _clip(f'<text x="3" y="30" {_WORD}>Seeds</text><rect x="5" y="32" width="50" height="4"/>'),
    ),
    Feature(
        "clip by text with an outline",
        _clip(f'<text x="3" y="30" {_WORD} fill="none" stroke="red" stroke-width="3">Seeds</text>'),
    ),
    Feature(
        "clip by words in a text",
        _clip(f'<text x="3" y="30" {_WORD}>Se<tspan fill="red" font-size="28">ed</tspan>s</text>'),
    ),
    Feature(
        "clip by text that is used",
        f'<defs><text id="t" x="3" y="30" {_WORD}>Seeds</text></defs>' + _clip("<use href='#t'/>"),
    ),
    Feature(
        "clip of a clip with holes",
        f'<clipPath id="d"><path clip-rule="evenodd" d="{_RING}"/><rect x="35" width="20" height="40"/></clipPath>'
        + _clip("<circle cx='30' cy='15' r='22'/>", more='clip-path="url(#d)"'),
    ),
    Feature(
        "clip with transforms on its parts",
        _clip(
            '<rect width="20" height="10" transform="translate(5 5) rotate(20)"/><circle r="6" transform="matrix(2 0 0 1 40 25)"/>'
        ),
    ),
    Feature(
        "clip with a transform and the box's units",
        f'<clipPath id="c" clipPathUnits="objectBoundingBox" transform="scale(.5)"><rect width="1" height="1"/></clipPath><path {_LEAF} fill="#383" clip-path="url(#c)"/>',
        equal=f'<clipPath id="c"><rect x="0" y="0" width="30" height="20"/></clipPath><path {_LEAF} fill="#383" clip-path="url(#c)"/>',
    ),
    Feature(
        "clip of a text in units of its box",
        f'<clipPath id="c" clipPathUnits="objectBoundingBox"><rect width=".5" height="1"/></clipPath><text x="4" y="28" {_WORD} clip-path="url(#c)">Seeds</text>',
    ),
    Feature(
        "clip of a text by a text",
        f'<clipPath id="c"><text x="8" y="30" {_WORD}>O O</text></clipPath><text x="3" y="28" {_WORD} clip-path="url(#c)">Seeds</text>',
    ),
    Feature(
        "clip on a text",
        f'<clipPath id="c"><rect y="10" width="60" height="11"/></clipPath><text x="4" y="28" {_WORD} clip-path="url(#c)">Seeds</text>',
    ),
    Feature(
        "clip ignores paint and opacity",
        _clip(
            '<circle cx="20" cy="20" r="12" fill="none" stroke="red" stroke-width="9" opacity=".2"/><rect x="36" y="10" width="16" height="20" fill="url(#none)" fill-opacity="0"/>'
        ),
    ),
    Feature(
        "clip ignores hidden parts",
        _clip(
            '<circle cx="20" cy="20" r="12"/><rect x="36" width="20" height="40" visibility="hidden"/><rect x="46" width="20" height="40" display="none"/>'
        ),
    ),
    Feature("clip in per cent", _clip('<rect x="10%" y="20%" width="60%" height="50%"/>')),
    Feature(
        "clip by strokes only clips by areas",
        _clip('<path d="M10 10H50V30" stroke="black" stroke-width="8"/>'),
    ),
    Feature("clip that is not there", f'<g clip-path="url(#none)">{_BARS}</g>'),
    # "If the object is not a clipPath, no clipping is applied" (CSS Masking 1, 5.1).
    Feature(
        "clip that is something else",
        f'<mask id="c"/><g clip-path="url(#c)">{_BARS}</g>',
        equal=_BARS,
    ),
    Feature(
        "clip of a group with text inside and a mask",
        f'<mask id="m" {_WHOLE}><rect width="60" height="40" fill="#ccc"/></mask><clipPath id="c"><text x="3" y="30" {_WORD}>Seeds</text></clipPath><g clip-path="url(#c)" mask="url(#m)">{_FIELD}</g>',
    ),
    Feature(
        "clip by text, half clear",
        f'<clipPath id="c"><text x="3" y="30" {_WORD}>Seeds</text></clipPath><g clip-path="url(#c)" opacity=".5">{_FIELD}</g>',
    ),
    Feature(
        "clip within a pattern",
        '<clipPath id="c"><path clip-rule="evenodd" d="M0 0h9v9h-9zM3 3h3v3h-3z"/><rect x="4" y="4" width="1" height="1"/></clipPath><pattern id="p" patternUnits="userSpaceOnUse" width="10" height="10"><rect width="10" height="10" fill="#383" clip-path="url(#c)"/></pattern><rect width="60" height="40" fill="url(#p)"/>',
    ),
    Feature(
        "clip within a mask",
        f'<clipPath id="c"><text x="3" y="30" {_WORD}>Seeds</text></clipPath>'
        + _mask("<rect width='60' height='40' fill='#ddd' clip-path='url(#c)'/>"),
    ),
    Feature(
        "clips on a used group",
        f'<clipPath id="c"><rect x="5" y="4" width="20" height="30"/></clipPath><defs><g id="o" clip-path="url(#c)">{_BARS}</g></defs><use href="#o"/><use href="#o" x="28"/>',
    ),
    Feature(
        "clip on the whole drawing",
        _BARS,
        size='width="60mm" height="40mm" viewBox="0 0 60 40" style="clip-path:circle(15px at 30px 20px)"',
        equal=f'<clipPath id="c"><circle cx="30" cy="20" r="15"/></clipPath><g clip-path="url(#c)">{_BARS}</g>',
    ),
]
# resvg knows no basic shapes: the same is said as a shape of its own (CSS Shapes 1, 3.1).
BASIC = [
    Feature("clip by inset", _basic("inset(4px 10px 6px 2px)"), equal='<rect x="12" y="12" width="28" height="14" fill="#383"/>'),
    Feature("clip by inset of one length", _basic("inset(5px)"), equal='<rect x="15" y="13" width="30" height="14" fill="#383"/>'),
    Feature("clip by inset in per cent", _basic("inset(25% 10%)"), equal='<rect x="14" y="14" width="32" height="12" fill="#383"/>'),
    Feature("clip by inset with round corners", _basic("inset(2px round 6px)"), equal='<rect x="12" y="10" width="36" height="20" rx="6" fill="#383"/>'),
    Feature("clip by inset with oval corners", _basic("inset(2px round 10px / 5px)"), equal='<rect x="12" y="10" width="36" height="20" rx="10" ry="5" fill="#383"/>'),
    Feature("clip by inset with corners too large", _basic("inset(2px round 40px)"), equal='<rect x="12" y="10" width="36" height="20" rx="10" fill="#383"/>'),
    Feature("clip by a circle of CSS", _basic("circle(10px)"), equal='<circle cx="30" cy="20" r="10" fill="#383"/>'),
    Feature("clip by a circle that reaches the nearest side", _basic("circle()"), equal='<circle cx="30" cy="20" r="12" fill="#383"/>'),
    Feature("clip by a circle that reaches the farthest side", _basic("circle(farthest-side at 20px 50%)"), equal='<clipPath id="c"><circle cx="30" cy="20" r="20"/></clipPath><rect x="10" y="8" width="40" height="24" fill="#383" clip-path="url(#c)"/>'),
    Feature("clip by a circle in per cent", _basic("circle(25% at 25% 50%)"), equal='<circle cx="20" cy="20" r="8.246" fill="#383"/>'),
    Feature("clip by a circle at a corner", _basic("circle(14px at left top)"), equal='<path d="M10 8h14a14 14 0 0 1-14 14z" fill="#383"/>'),
    Feature("clip by a circle set from the far sides", _basic("circle(8px at right 10px bottom 12px)"), equal='<circle cx="40" cy="20" r="8" fill="#383"/>'),
    Feature("clip by a circle at the top", _basic("circle(10px at top)"), equal='<path d="M20 8h20a10 10 0 0 1-20 0z" fill="#383"/>'),
    Feature("clip by an ellipse", _basic("ellipse(15px 8px)"), equal='<ellipse cx="30" cy="20" rx="15" ry="8" fill="#383"/>'),
    Feature("clip by an ellipse that fills the box", _basic("ellipse()"), equal='<ellipse cx="30" cy="20" rx="20" ry="12" fill="#383"/>'),
    Feature("clip by a polygon", _basic("polygon(0 0, 100% 50%, 0 100%)"), equal='<path d="M10 8L50 20L10 32z" fill="#383"/>'),
    Feature("clip by a polygon with a hole", _basic("polygon(evenodd, 0 0, 100% 0, 100% 100%, 0 100%, 0 0, 10px 6px, 30px 6px, 30px 18px, 10px 18px, 10px 6px)"), equal='<path fill-rule="evenodd" d="M10 8h40v24h-40zM20 14h20v12h-20z" fill="#383"/>'),
    Feature("clip by a path of CSS", _basic("path('M0 0H20V12H40V24H0z')"), equal='<path d="M10 8h20v12h20v12h-40z" fill="#383"/>'),
    Feature("clip by a path of CSS with a hole", _basic("path(evenodd, 'M0 0h40v24h-40zM10 6h20v12h-20z')"), equal='<path fill-rule="evenodd" d="M10 8h40v24h-40zM20 14h20v12h-20z" fill="#383"/>'),
    Feature("clip by rect of CSS", _basic("rect(2px 30px 20px 5px)"), equal='<rect x="15" y="10" width="25" height="18" fill="#383"/>'),
    Feature("clip by rect with auto sides", _basic("rect(auto 30px auto 5px)"), equal='<rect x="15" y="8" width="25" height="24" fill="#383"/>'),
    Feature("clip by xywh", _basic("xywh(4px 2px 20px 10px round 3px)"), equal='<rect x="14" y="10" width="20" height="10" rx="3" fill="#383"/>'),
    Feature("clip by a shape in the box with the stroke", _basic("inset(0)", 'fill="#383" stroke="#a30" stroke-width="6"'), equal='<rect x="10" y="8" width="40" height="24" fill="#383" stroke="#a30" stroke-width="6"/>'),
    Feature("clip by a shape in the box without the stroke", _basic("inset(0) fill-box", 'fill="#383" stroke="#a30" stroke-width="6"'), equal='<clipPath id="c"><rect x="10" y="8" width="40" height="24"/></clipPath><rect x="10" y="8" width="40" height="24" fill="#383" stroke="#a30" stroke-width="6" clip-path="url(#c)"/>'),
    Feature("clip by a shape in the view box", _basic("view-box circle(15px)"), equal='<clipPath id="c"><circle cx="30" cy="20" r="15"/></clipPath><rect x="10" y="8" width="40" height="24" fill="#383" clip-path="url(#c)"/>'),
    Feature("clip by a box alone", _basic("fill-box", 'fill="#383" stroke="#a30" stroke-width="6"'), equal='<clipPath id="c"><rect x="10" y="8" width="40" height="24"/></clipPath><rect x="10" y="8" width="40" height="24" fill="#383" stroke="#a30" stroke-width="6" clip-path="url(#c)"/>'),
    Feature("clip by a shape in a text's view box", f'<text x="4" y="28" {_WORD} style="clip-path:inset(14px 0 0 0) view-box">Seeds</text>', equal=f'<clipPath id="c"><rect y="14" width="60" height="30"/></clipPath><text x="4" y="28" {_WORD} clip-path="url(#c)">Seeds</text>'),
    Feature("clip by a shape that is empty", _basic("inset(60%)") + '<circle cx="30" cy="20" r="6"/>', equal='<circle cx="30" cy="20" r="6"/>'),
    Feature("clip by a shape in a turned group", '<g transform="rotate(15 30 20)">' + _basic("circle(10px at 10px 10px)") + '</g>', equal='<g transform="rotate(15 30 20)"><clipPath id="c"><circle cx="20" cy="18" r="10"/></clipPath><rect x="10" y="8" width="40" height="24" fill="#383" clip-path="url(#c)"/></g>'),
]  # fmt: skip

OPACITY = [
    Feature("opacity of a group with overlaps", '<g opacity=".5"><circle cx="22" cy="20" r="14" fill="#c30"/><circle cx="38" cy="20" r="14" fill="#036"/></g>'),
    Feature("opacity of a text with overlaps", f'<text x="4" y="28" {_WORD} opacity=".5" stroke="#c30" stroke-width="2" fill="#036" letter-spacing="-4">Seeds</text>'),
    Feature("opacity of something used twice", '<defs><circle id="o" cx="20" cy="20" r="14" fill="#383"/></defs><use href="#o" opacity=".4"/><use href="#o" x="18" opacity=".4"/>'),
    Feature("opacity in per cent", '<rect x="5" y="5" width="50" height="30" fill="#383" opacity="40%"/>'),
    Feature("opacity out of bounds", '<rect x="5" y="5" width="20" height="30" fill="#383" opacity="2"/><rect x="30" y="5" width="20" height="30" fill="#383" opacity="-1"/>'),
    Feature("opacity of a group in a group", '<g opacity=".6"><rect width="40" height="40" fill="#c96"/><g opacity=".5"><rect x="10" y="10" width="40" height="20"/></g></g>'),
    Feature("opacity of a picture in a group", f'<g opacity=".5"><rect width="60" height="40" fill="#383"/><image x="5" y="5" width="48" height="24" href="{_PICTURE}" opacity=".5"/></g>'),
    Feature("opacity of markers with their line", '<marker id="k" markerWidth="6" markerHeight="6" refX="3" refY="3"><circle cx="3" cy="3" r="3" fill="#c30"/></marker><path d="M10 20H50" stroke="#036" stroke-width="3" marker-start="url(#k)" marker-end="url(#k)" opacity=".5"/>'),
]  # fmt: skip

_MODES = (
    "multiply", "screen", "overlay", "darken", "lighten", "color-dodge", "color-burn", "hard-light",
    "soft-light", "difference", "exclusion", "hue", "saturation", "color", "luminosity",
)  # fmt: skip

BLENDS = [
    *(Feature(f"blend mode {mode}", _blend(mode)) for mode in _MODES),
    Feature("blend mode normal", _blend("normal")),
    Feature("blend mode that is no mode", _blend("sparkle")),
    Feature("blend of a group", '<rect width="60" height="25" fill="#e8c840"/><g style="mix-blend-mode:multiply"><circle cx="22" cy="20" r="12" fill="#47a"/><circle cx="36" cy="20" r="12" fill="#b5c"/></g>'),
    Feature("blend within a group sees the page below", '<rect width="60" height="25" fill="#e8c840"/><g><circle cx="30" cy="20" r="12" fill="#47a" style="mix-blend-mode:multiply"/></g>'),
    Feature("blend within an isolated group", '<rect width="60" height="25" fill="#e8c840"/><g style="isolation:isolate"><rect x="5" y="10" width="25" height="20" fill="#c66"/><circle cx="30" cy="20" r="12" fill="#47a" style="mix-blend-mode:multiply"/></g>'),
    Feature("blend within a half-clear group", '<rect width="60" height="25" fill="#e8c840"/><g opacity=".7"><rect x="5" y="10" width="25" height="20" fill="#c66"/><circle cx="30" cy="20" r="12" fill="#47a" style="mix-blend-mode:multiply"/></g>'),
    Feature("blend within a masked group", '<rect width="60" height="25" fill="#e8c840"/>' + _mask("<rect width='60' height='40' fill='#ddd'/>", '<rect x="5" y="10" width="25" height="20" fill="#c66"/><circle cx="30" cy="20" r="12" fill="#47a" style="mix-blend-mode:multiply"/>')),
    Feature("blend within a clipped group", '<rect width="60" height="25" fill="#e8c840"/>' + _clip("<rect x='8' y='4' width='40' height='24'/>", '<rect x="5" y="10" width="25" height="20" fill="#c66"/><circle cx="30" cy="20" r="12" fill="#47a" style="mix-blend-mode:multiply"/>')),
    Feature("blend within a blended group", '<rect width="60" height="25" fill="#e8c840"/><g style="mix-blend-mode:screen"><rect x="5" y="10" width="25" height="20" fill="#366"/><circle cx="30" cy="20" r="12" fill="#47a" style="mix-blend-mode:multiply"/></g>'),
    Feature("blend with opacity", '<rect width="60" height="25" fill="#e8c840"/><circle cx="30" cy="20" r="12" fill="#47a" opacity=".5" style="mix-blend-mode:multiply"/>'),
    Feature("blend with half-clear paint", '<rect width="60" height="25" fill="#e8c840"/><circle cx="30" cy="20" r="12" fill="#47a" fill-opacity=".5" stroke="#036" stroke-width="3" style="mix-blend-mode:multiply"/>'),
    Feature("blend of text", f'<rect width="60" height="22" fill="#e8c840"/><text x="4" y="28" {_WORD} fill="#47a" style="mix-blend-mode:multiply">Seeds</text>'),
    Feature("blend of a picture", f'<rect width="60" height="25" fill="#e8c840"/><image x="5" y="8" width="48" height="24" href="{_PICTURE}" style="mix-blend-mode:multiply"/>'),
    Feature("blend of something used", '<defs><circle id="o" cx="30" cy="20" r="12" fill="#47a"/></defs><rect width="60" height="25" fill="#e8c840"/><use href="#o" style="mix-blend-mode:darken"/>'),
    Feature("blend with a mask of its own", f'<mask id="m" {_WHOLE}><rect width="32" height="40" fill="white"/></mask><rect width="60" height="25" fill="#e8c840"/><circle cx="30" cy="20" r="12" fill="#47a" mask="url(#m)" style="mix-blend-mode:multiply"/>'),
    Feature("blend with a clip of its own", '<clipPath id="c"><rect width="32" height="40"/></clipPath><rect width="60" height="25" fill="#e8c840"/><circle cx="30" cy="20" r="12" fill="#47a" clip-path="url(#c)" style="mix-blend-mode:multiply"/>'),
    Feature("blend with a gradient", '<linearGradient id="g"><stop stop-color="#f0f"/><stop offset="1" stop-color="#0ff" stop-opacity="0"/></linearGradient><rect width="60" height="25" fill="#e8c840"/><rect x="5" y="8" width="50" height="28" fill="url(#g)" style="mix-blend-mode:multiply"/>'),
    Feature("difference leaves the paper alone", '<rect x="10" y="5" width="40" height="30" fill="#47a" style="mix-blend-mode:difference"/>'),
    Feature("blends above words", f'<text x="4" y="28" {_WORD} fill="#a30">Seeds</text><rect x="10" y="5" width="40" height="18" fill="#8cf" style="mix-blend-mode:multiply"/>'),
    Feature("blends between words", f'<text x="4" y="20" {_WORD} fill="#a30">Seeds</text><rect x="10" y="5" width="40" height="24" fill="#8cf" style="mix-blend-mode:multiply"/><text x="14" y="34" {_WORD} fill="#036" style="mix-blend-mode:overlay">Soil</text>'),
    Feature("blend within a mask", _mask("<rect width='60' height='40' fill='#aaa'/><circle cx='30' cy='20' r='14' fill='#888' style='mix-blend-mode:multiply'/>")),
    Feature("blend of the whole drawing", '<rect x="10" y="5" width="40" height="30" fill="#47a"/>', size='width="60mm" height="40mm" viewBox="0 0 60 40" style="mix-blend-mode:difference"'),
    Feature("isolation of the whole drawing", _blend("screen"), size='width="60mm" height="40mm" viewBox="0 0 60 40" style="isolation:isolate"'),
]  # fmt: skip

MEETING = [
    Feature("mask of a gradient that starts at a circle", f'<radialGradient id="g" gradientUnits="userSpaceOnUse" cx="30" cy="20" r="20" fr="6">{_TO_BLACK}</radialGradient>'+_mask('<rect width="60" height="40" fill="url(#g)"/>')),
    Feature("mask of a gradient of colours", '<linearGradient id="g"><stop stop-color="red"/><stop offset=".5" stop-color="lime"/><stop offset="1" stop-color="blue"/></linearGradient>'+_mask('<rect width="60" height="40" fill="url(#g)"/>')),
    Feature("mask of a pattern of many tiles", '<pattern id="p" width="1" height="1" patternUnits="userSpaceOnUse"><rect width=".5" height="1" fill="#fff"/><rect x=".5" width=".5" height="1" fill="#888"/></pattern>'+_mask('<rect width="60" height="40" fill="url(#p)"/>')),
    Feature("mask of a picture that is a drawing", _mask('<image x="5" y="5" width="50" height="30" href="data:image/svg+xml;utf8,%3Csvg xmlns=%22http://www.w3.org/2000/svg%22 viewBox=%220 0 50 30%22%3E%3Crect width=%2250%22 height=%2230%22 fill=%22%23c80%22/%3E%3Ccircle cx=%2220%22 cy=%2215%22 r=%2210%22 fill=%22lime%22/%3E%3C/svg%3E"/>')),
    Feature("clip of stretched words", _clip(f'<text x="4" y="28" {_WORD} textLength="50" lengthAdjust="spacingAndGlyphs">Soil</text>')),
    Feature("blend in a picture that is a drawing", '<rect width="60" height="30" fill="#da6"/><image x="5" y="5" width="50" height="30" href="data:image/svg+xml;utf8,%3Csvg xmlns=%22http://www.w3.org/2000/svg%22 viewBox=%220 0 50 30%22%3E%3Crect width=%2230%22 height=%2220%22 fill=%22%23c80%22/%3E%3Ccircle cx=%2225%22 cy=%2215%22 r=%2212%22 fill=%22%23269%22 style=%22mix-blend-mode:multiply%22/%3E%3C/svg%3E"/>'),
    Feature("mask in stretches with a text on one tspan", f'<mask id="m" x="0" y="0" width="1" height="1" maskContentUnits="objectBoundingBox"><rect width=".5" height="1" fill="#fff"/></mask><text x="2" y="24" {_WORD} fill="#269">Se<tspan mask="url(#m)">eds</tspan></text>', equal=f'<mask id="m" x="0" y="0" width="1" height="1" maskContentUnits="objectBoundingBox"><rect width=".5" height="1" fill="#fff"/></mask><text x="2" y="24" {_WORD} fill="#269">Se<tspan visibility="hidden">eds</tspan></text><text x="2" y="24" {_WORD} fill="#269" mask="url(#m)"><tspan visibility="hidden">Se</tspan>eds</text>'),
    Feature("clip of words on one tspan", f'<clipPath id="c"><text x="4" y="26" {_WORD}>Oak</text></clipPath><text x="2" y="24" {_WORD} fill="#269">Se<tspan clip-path="url(#c)">eds</tspan></text>', equal=f'<clipPath id="c"><text x="4" y="26" {_WORD}>Oak</text></clipPath><text x="2" y="24" {_WORD} fill="#269">Se<tspan visibility="hidden">eds</tspan></text><text x="2" y="24" {_WORD} fill="#269" clip-path="url(#c)"><tspan visibility="hidden">Se</tspan>eds</text>'),
    Feature("mask and clip on one tspan", f'<clipPath id="c"><rect width="60" height="20"/></clipPath><mask id="m" {_WHOLE}><rect width="60" height="40" fill="#999"/></mask><text x="2" y="24" {_WORD} fill="#269">Se<tspan clip-path="url(#c)" mask="url(#m)">eds</tspan></text>', equal=f'<clipPath id="c"><rect width="60" height="20"/></clipPath><mask id="m" {_WHOLE}><rect width="60" height="40" fill="#999"/></mask><text x="2" y="24" {_WORD} fill="#269">Se<tspan visibility="hidden">eds</tspan></text><text x="2" y="24" {_WORD} fill="#269" clip-path="url(#c)" mask="url(#m)"><tspan visibility="hidden">Se</tspan>eds</text>'),
    Feature("clip in stretches with a text on one tspan", f'<clipPath id="c" clipPathUnits="objectBoundingBox"><rect width="1" height=".5"/></clipPath><text x="2" y="24" {_WORD} fill="#269">Se<tspan clip-path="url(#c)">eds</tspan></text>', equal=f'<clipPath id="c" clipPathUnits="objectBoundingBox"><rect width="1" height=".5"/></clipPath><text x="2" y="24" {_WORD} fill="#269">Se<tspan visibility="hidden">eds</tspan></text><text x="2" y="24" {_WORD} fill="#269" clip-path="url(#c)"><tspan visibility="hidden">Se</tspan>eds</text>'),
    Feature("mask on text in columns", '<mask id="m"><rect width="60" height="40" fill="#999"/></mask><text x="30" y="4" writing-mode="vertical-rl" font-family="Kalam" font-size="16" fill="#269" mask="url(#m)">Soil</text>'),
]  # fmt: skip
"""Masks, clips and blends of and on text, pictures and paint of every kind."""

PAGES: list[Feature] = [
    Feature(
        "clip by two shapes",
        '<clipPath id="c"><rect x="5" y="5" width="20" height="30"/><rect x="35" y="5" width="20" height="30"/></clipPath><rect width="60" height="40" fill="#383" clip-path="url(#c)"/>',
    ),
    *MASKS,
    *CLIPS,
    *BASIC,
    *OPACITY,
    *BLENDS,
    *MEETING,
]

REFUSALS: list[Refused] = [
    Refused("blend mode that PDF lacks", '<rect id="x" width="9" height="9" style="mix-blend-mode:plus-lighter"/>', "x", "blend mode 'plus lighter'"),
    Refused("clip by a shape nobody knows", '<rect id="x" width="9" height="9" style="clip-path:shape(from 0 0, line to 9px 9px)"/>', "x", "a clip by a shape that was written"),
    Refused("clip of a text by a shape in its box", '<text id="x" style="clip-path:circle(40%)" font-family="Kalam">A</text>', "x", "stretches with a text"),
    Refused("mask that masks itself", '<mask id="m"><rect width="9" height="9" mask="url(#m)"/></mask><rect id="x" width="9" height="9" mask="url(#m)"/>', "m", "contains itself"),
    Refused("clip that clips itself", '<clipPath id="c" clip-path="url(#c)"><rect width="9" height="9"/></clipPath><rect id="x" width="9" height="9" clip-path="url(#c)"/>', "c", "contains itself"),
    Refused("mask that is a gradient of CSS", '<rect id="x" width="9" height="9" style="mask:linear-gradient(black, white)"/>', "x", "a mask of an unusual kind"),
]  # fmt: skip
