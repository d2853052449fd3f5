# ruff: noqa: E501  (a drawing is a line)
"""Shapes and paths, sound and degenerate."""

from __future__ import annotations

from tests.draw.feature_samples import Feature, Refused

_LINE = 'fill="none" stroke="#036" stroke-width="1.5"'
_FAT = 'fill="none" stroke="#036" stroke-width="6"'


def _path(
    name: str, d: str, paint: str = _LINE, equal: str = "", *, empty: bool = False
) -> Feature:
    """A page with one path; ``equal`` is the same path's data said plainly."""
    plain = f'<path d="{equal}" {paint}/>' if equal else ""
    return Feature(name, f'<path d="{d}" {paint}/>', equal=plain, empty=empty)


PAGES: list[Feature] = [
    Feature("path that closes and goes on", '<path d="M10 10h20v20z l30 5v10"/>'),
    # Path commands, each absolute and relative (SVG 1.1, 8.3).
    _path("lines to points, absolute", "M5 5L55 10L40 35L10 30"),
    _path("lines to points, relative", "m5 5l50 5l-15 25l-30-5"),
    _path("level and upright lines, absolute", "M5 5H55V35H10V15"),
    _path("level and upright lines, relative", "m5 5h50v30h-45v-20"),
    _path("level and upright lines, many after one letter", "M5 5H30 55 40V20 35 28h-5-20v-3-15"),
    _path("cubic curves, absolute", "M5 35C5 5 30 5 30 20C30 35 55 35 55 5"),
    _path("cubic curves, relative", "m5 35c0-30 25-30 25-15c0 15 25 15 25-15"),
    _path("cubic curves, many after one letter", "M5 35C5 5 30 5 30 20 30 35 55 35 55 5c-9 4-9 8-20 0 -5-3-9 2-12 6"),
    _path("smooth cubic curves, absolute", "M5 30C5 5 20 5 20 20S35 35 35 20S55 5 55 30"),
    _path("smooth cubic curves, relative and repeated", "M5 30c0-25 15-25 15-10s15 15 15 0 20-15 20 10"),
    _path("smooth cubic curve after a line", "M5 30L20 10S45 5 55 35"),
    _path("smooth cubic curve after a quadratic one", "M5 30Q15 0 25 20S45 35 55 10"),
    _path("quadratic curves, absolute", "M5 35Q20 0 35 20Q45 35 55 5"),
    _path("quadratic curves, relative and repeated", "M5 35q15-35 30-15 10 15 20-15"),
    _path("smooth quadratic curves, absolute", "M5 20Q10 0 20 20T35 20T55 20"),
    _path("smooth quadratic curves, relative and repeated", "M5 20q5-20 15 0t15 0 20 0"),
    _path("smooth quadratic curve after a line", "M5 20L20 10T35 30T55 10"),
    _path("smooth quadratic curve after a cubic one", "M5 20C5 0 20 0 20 20T40 30T55 10"),
    _path("smooth quadratic curve after a move", "M5 20T30 5T55 30"),
    _path("moves followed by points are lines", "M5 5 55 10 40 35 10 30", "fill='#363'"),
    _path("relative moves followed by points are lines", "m5 5 50 5-15 25-30-5z"),
    _path("second relative move goes from where the last ended", "M5 5h10v10m10 5h20v10"),
    _path("relative move after a closed subpath goes from its beginning", "M10 10h15v15zm20 5h15v15z", "fill='#363'"),
    _path("two subpaths without a close between them", "M5 5h20v20M35 15h20v20", "fill='#363' stroke='#036'"),
    _path("closes twice", "M10 10h30v20zz", "fill='#363' stroke='#036'"),
    _path("draws on from where a subpath closed, curves too", "M10 10h15v15zc10 0 20 20 40 20zq20 0 40 10"),
    _path("lower-case close", "M10 10h30v20z", _FAT),
    _path("close makes a join, not two ends", "M20 10H45V30H20Z", "fill='none' stroke='#036' stroke-width='8'"),
    _path("end that meets its beginning has two ends", "M20 10H45V30H20V10", "fill='none' stroke='#036' stroke-width='8'"),
    # Numbers (SVG 1.1, 8.3.9).
    _path("numbers run together by signs", "M5-0L55-0-5 35z", "fill='#363'", "M5 0L55 0L-5 35z"),
    _path("numbers run together by points", "M5.5.5L50.5.5.5 35.5.5 5z", "fill='#363'", "M5.5 0.5L50.5 0.5L0.5 35.5L0.5 5z"),
    _path("numbers with exponents", "M.5e1 5E0L5.5e+1 100e-1 4000e-2 3.5e1z", "fill='#363'"),
    _path("number that ends in a point", "M5 5L55 10V30L40. 35L10 30z", "fill='#363'"),
    _path("numbers with plus signs", "M+5+5L+55+10+40+35z", "fill='#363'"),
    _path("commas and lines between numbers", "M 5,5\n L 55,10\t, 40 ,35\r\n , 10 , 30 z", "fill='#363'"),
    _path("no space between letters and numbers", "M5,5L55,10L40,35L10,30Z", "fill='#363'"),
    # Arcs (SVG 1.1, 8.3.8 and F.6).
    _path("arcs of all four flags", "M10 20A10 6 0 0 0 25 12M10 20A10 6 0 0 1 25 12M35 20A10 6 0 1 0 50 22M35 20A10 6 0 1 1 50 22"),
    _path("arcs of all four flags, relative", "M10 20a10 6 0 0 0 15-8M10 20a10 6 0 0 1 15-8M35 20a10 6 0 1 0 15 2M35 20a10 6 0 1 1 15 2"),
    _path("arcs with both flags and the end run together", "M10 20a10 6 0 0115-8M10 20a10 6 0 0015-8M35 20a10 6 0 1015 2M35 20a10 6 0 1115 2"),
    _path("arc whose end begins with a point", "M10 20a10,6 0 01.5,15a10,6 0 1120.5-.5"),
    _path("arcs, many after one letter", "M10 20a5 5 0 0 1 10 0 5 5 0 0 0 10 0 5 8 0 0 1 10 0,5 5 0 00 10 0"),
    _path("arc that is turned", "M15 30A20 8 40 1 1 40 12"),
    _path("arc that is turned by more than a turn", "M15 30A20 8 -680 0 1 40 12"),
    _path("arc without a radius across is a line", "M10 30A0 8 0 0 1 50 10"),
    _path("arc without a radius down is a line", "M10 30A8 0 30 0 1 50 10"),
    _path("arc of radii below nothing", "M10 30A-25 -20 0 0 1 50 10"),
    _path("arc that ends where it starts", "M10 30A20 20 0 1 1 10 30L50 10"),
    _path("arc of radii too small", "M10 30A2 4 20 0 1 50 10"),
    _path("arc almost a whole circle", "M30 5A15 15 0 1 1 29.99 5", "fill='#363'"),
    _path("half circle with radii just right", "M10 20A20 20 0 0 1 50 20", "fill='#363'"),
    _path("arc flag that is neither 0 nor 1 ends the path", "M5 30L20 10A10 10 0 2 1 50 10L55 35", equal="M5 30L20 10"),
    # Errors: the path is drawn up to the last good step (SVG 1.1, F.2).
    _path("path that breaks off within a step", "M5 5L30 35L55"),
    _path("path with an unknown letter", "M5 5L30 35L40 10X55 35L10 35"),
    _path("path with a comma too many", "M5 5L30 35,,L55 5"),
    _path("path with too few numbers for its second curve", "M5 5C5 40 30 40 30 20 30 0 55 5"),
    _path("path with a unit in it", "M5 5L30 35L40px 10L55 35"),
    _path("path with a number after its close", "M10 10h30v20z 5 5L55 35"),
    _path("path that ends in a letter", "M10 10h30v20L"),
    _path("path that ends in a move", "M10 10h30v20zM5 5", _FAT),
    _path("path of moves only", "M10 10M30 20m5 5", _FAT, empty=True),
    _path("path of moves only with round ends", "M10 10M30 20m5 5", f"{_FAT} stroke-linecap='round'", empty=True),
    Feature("empty path beside a shape", '<path d="" stroke="red"/><path d="   "/><path/><path d="none"/><rect x="5" y="5" width="20" height="20"/>'),
    # So does Chromium; to resvg the last one counts.
    Feature("moves alone do not count for the box of a gradient", '<linearGradient id="g"><stop stop-color="#036"/><stop offset="1" stop-color="#fc6"/></linearGradient><path d="M0 0M20 10h20v20h-20zM60 40" fill="url(#g)"/>', equal='<linearGradient id="g"><stop stop-color="#036"/><stop offset="1" stop-color="#fc6"/></linearGradient><rect x="20" y="10" width="20" height="20" fill="url(#g)"/>'),
    # Subpaths of no length (SVG 2, 13.5.4): round and square ends show, butt ends do not.
    Feature("points with round ends, said in every way", f'<g {_FAT} stroke-linecap="round"><path d="M10 10z"/><path d="M20 10L20 10"/><path d="M30 10h0"/><path d="M40 10c0 0 0 0 0 0"/><path d="M50 10h0v0z"/><path d="M10 30q0 0 0 0"/><path d="M20 30l0 0 0 0"/><path d="M30 30v0z"/><line x1="40" y1="30" x2="40" y2="30"/><polyline points="50,30 50,30"/></g>'),
    Feature("points with square ends, said in every way", f'<g {_FAT} stroke-linecap="square"><path d="M10 10z"/><path d="M20 10L20 10"/><path d="M30 10h0"/><path d="M40 10c0 0 0 0 0 0"/><path d="M10 30q0 0 0 0"/><path d="M20 30l0 0 0 0"/><path d="M30 30v0z"/><line x1="40" y1="30" x2="40" y2="30"/><polyline points="50,30 50,30"/></g>'),
    # An arc that ends where it starts is left out (SVG 1.1, F.6.2): a move alone leaves no ink.
    Feature("arc of no length with round ends", f'<path d="M30 20a5 5 0 0 1 0 0" {_FAT} stroke-linecap="round"/><rect x="5" y="5" width="9" height="9"/>', equal='<rect x="5" y="5" width="9" height="9"/>'),
    Feature("points with butt ends show nothing", f'<g {_FAT}><path d="M10 10z"/><path d="M20 10L20 10"/><path d="M30 10h0"/><line x1="40" y1="30" x2="40" y2="30"/></g><rect x="5" y="20" width="20" height="15"/>'),
    Feature("points with square ends in a turned group", f'<g {_FAT} stroke-linecap="square" transform="rotate(30 30 20)"><path d="M15 20z"/><path d="M30 20h0"/><path d="M45 20l0 0"/></g>'),
    Feature("point within a path with ends", f'<path d="M10 10h0M20 10h20M50 30z" {_FAT} stroke-linecap="round"/>'),
    Feature("curve whose handles lie on its ends", f'<path d="M10 30C10 30 50 10 50 10" {_LINE}/>'),
    Feature("curve that starts with a double point, with a join before it", f'<path d="M10 30L30 10C30 10 50 10 50 30" {_FAT}/>'),
    Feature("curve that is a loop", f'<path d="M30 35C-20 -10 80 -10 30 35" {_FAT}/>'),
    Feature("line there and back", f'<path d="M15 20H45H15" {_FAT} stroke-linejoin="round"/>'),
    # Rectangles (SVG 2, 10.2).
    Feature("rectangle with its across radius alone", '<rect x="5" y="5" width="50" height="30" rx="12"/>'),
    Feature("rectangle with its down radius alone", '<rect x="5" y="5" width="50" height="30" ry="12"/>'),
    Feature("rectangle with one radius auto", '<rect x="5" y="5" width="50" height="30" rx="auto" ry="9"/>'),
    Feature("rectangle with both radii auto", '<rect x="5" y="5" width="50" height="30" rx="auto" ry="auto"/>'),
    Feature("rectangle with a radius of nothing beside another", '<rect x="5" y="5" width="50" height="30" rx="0" ry="9"/>'),
    Feature("rectangle with both radii too large", '<rect x="5" y="5" width="50" height="30" rx="99" ry="88"/>'),
    Feature("rectangle with one radius too large for half its height", '<rect x="5" y="5" width="50" height="20" rx="20"/>'),
    Feature("rectangle with a radius below nothing", '<rect x="5" y="5" width="50" height="30" rx="-5" ry="9"/>'),
    Feature("rectangle with radii in per cent", '<rect x="5" y="5" width="50" height="30" rx="10%" ry="20%"/>'),
    Feature("rectangle with one radius in per cent", '<rect x="5" y="5" width="50" height="30" rx="10%"/>'),
    Feature("rectangle with radii in a style", '<rect x="5" y="5" width="50" height="30" style="rx:9px;ry:auto"/>', equal='<rect x="5" y="5" width="50" height="30" rx="9"/>'),
    Feature("rectangles with no size or one below nothing", '<rect x="5" y="5" width="0" height="30" stroke="red"/><rect x="5" y="5" width="9" height="-3" stroke="red"/><rect x="5" y="5" width="9" stroke="red"/><rect x="30" y="5" width="20" height="30"/>'),
    Feature("rectangle with sizes auto", '<rect x="5" y="5" width="auto" height="30" stroke="red"/><rect x="30" y="5" width="20" height="30"/>'),
    Feature("rectangle with no place", '<rect width="30" height="20"/>'),
    Feature("rectangle in every unit", '<rect x="1em" y="1ex" width="40px" height="20pt" font-size="5"/>'),
    Feature("rectangle in small units", '<rect x="2mm" y="4q" width=".4in" height=".4pc"/><rect x=".1cm" y="15" width="40%" height="50%"/>', equal='<rect x="7.559" y="3.7795" width="38.4" height="6.4"/><rect x="3.7795" y="15" width="24" height="20"/>'),
    Feature("rectangle dashed from its upper left corner", '<rect x="8" y="6" width="44" height="28" fill="none" stroke="#036" stroke-width="3" stroke-dasharray="20 4 4 4"/>'),
    Feature("rounded rectangle dashed from where its upper edge starts", '<rect x="8" y="6" width="44" height="28" rx="10" fill="none" stroke="#036" stroke-width="3" stroke-dasharray="20 4 4 4"/>'),
    # Circles and ellipses (SVG 2, 10.3 and 10.4).
    Feature("circle in per cent", '<circle cx="50%" cy="50%" r="25%"/>'),
    Feature("circles of no radius", '<circle cx="10" cy="10" r="0" stroke="red"/><circle cx="20" cy="10" r="-4" stroke="red"/><circle cx="30" cy="10" stroke="red"/><circle cx="40" cy="25" r="9"/>'),
    Feature("circle with no centre", '<circle r="20"/>'),
    Feature("circle in units", '<circle cx="1cm" cy="2em" r="6pt" font-size="10"/>'),
    Feature("ellipse with one radius auto", '<ellipse cx="30" cy="20" rx="auto" ry="12"/>'),
    Feature("ellipse with one radius missing", '<ellipse cx="30" cy="20" rx="12"/>'),
    Feature("ellipse in per cent", '<ellipse cx="50%" cy="50%" rx="40%" ry="25%"/>'),
    Feature("ellipses of no radius", '<ellipse cx="10" cy="20" rx="0" ry="9" stroke="red"/><ellipse cx="20" cy="20" rx="9" ry="-9" stroke="red"/><ellipse cx="45" cy="20" rx="9" ry="5"/>'),
    Feature("circle in a style", '<circle style="cx:30px;cy:20px;r:12px"/>', equal='<circle cx="30" cy="20" r="12"/>'),
    # Lines, polylines and polygons.
    Feature("line with its ends in per cent", '<line x1="10%" y1="10%" x2="90%" y2="90%" stroke="#036" stroke-width="3"/>'),
    Feature("line with some ends missing", '<line x2="40" y2="30" stroke="#036" stroke-width="3"/>'),
    Feature("line is never filled", '<line x1="5" y1="5" x2="55" y2="35" fill="red" stroke="#036" stroke-width="3"/>'),
    Feature("polyline with an odd number of coordinates", '<polyline points="5,5 30,35 55,5 40" fill="none" stroke="#036" stroke-width="3"/>'),
    Feature("polygon with an odd number of coordinates", '<polygon points="5,5 30,35 55,5 40"/>'),
    Feature("polyline with an error in it", '<polyline points="5,5 30,35 x 55,5" fill="none" stroke="#036" stroke-width="3"/>'),
    # SVG 2, 10.6 and 10.7: the one is a move, the other a move and a close.
    Feature("polyline and polygon of one point with round ends", f'<polyline points="10,10" {_FAT} stroke-linecap="round"/><polygon points="30,20" {_FAT} stroke-linecap="round"/><rect x="40" y="5" width="9" height="9"/>', equal='<circle cx="30" cy="20" r="3" fill="#036"/><rect x="40" y="5" width="9" height="9"/>'),
    Feature("polygon of two points", f'<polygon points="10,10 50,30" {_FAT}/>'),
    Feature("polygon without points", '<polygon stroke="red"/><polyline points="" stroke="red"/><rect x="5" y="5" width="9" height="9"/>'),
    Feature("polygon with numbers run together", '<polygon points="5.5.5 30-.5-5 35"/>'),
    Feature("polyline that is filled", '<polyline points="5,5 55,10 40,35 10,30" fill="#363" stroke="#036" stroke-width="2"/>'),
    # Attributes that a browser reads too (SVG 2, 9.3: 'd' is a property).
    Feature("path data in a style", '<path style="d:path(\'M5 5L55 10L40 35z\')" fill="#363"/>', equal='<path d="M5 5L55 10L40 35z" fill="#363"/>'),
    Feature("path data in a style sheet, over an attribute", '<style>path{d:path("M5 5L55 10L40 35z")}</style><path d="M0 0h60v40z" fill="#363"/>', equal='<path d="M5 5L55 10L40 35z" fill="#363"/>'),
    Feature("path data of none in a style", '<path d="M0 0h60v40z" style="d:none" fill="red"/><rect x="5" y="5" width="9" height="9"/>', equal='<rect x="5" y="5" width="9" height="9"/>'),
]  # fmt: skip

REFUSALS: list[Refused] = [
    Refused(
        "path without a beginning", '<path id="x" d="L9 9L5 30z"/>', "x", "without a starting point"
    ),
]
