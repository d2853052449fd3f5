# ruff: noqa: E501  (a drawing is a line)
"""Pictures of every kind, in pixels and drawn, and how they lie in their boxes."""

from __future__ import annotations

import base64
import gzip
import io
import struct
import urllib.parse
import zlib
from collections.abc import Callable

from PIL import Image

from tests.draw.feature_samples import Feature, Refused

_RED, _GREEN, _BLUE, _YELLOW = (200, 30, 40), (20, 120, 60), (30, 60, 180), (250, 210, 60)
_Pixel = tuple[int, ...]


def _link(data: bytes, kind: str) -> str:
    return f"data:image/{kind};base64,{base64.b64encode(data).decode()}"


def _quarters(mode: str = "RGB", size: tuple[int, int] = (320, 160)) -> Image.Image:
    """Four quarters; each pixel of a quarter many, so that smoothing changes little."""
    width, height = size
    image = Image.new("RGB", size, _RED)
    image.paste(_GREEN, (width // 2, 0, width, height // 2))
    image.paste(_BLUE, (0, height // 2, width // 2, height))
    image.paste(_YELLOW, (width // 2, height // 2, width, height))
    return image.convert(mode)


def _clear(image: Image.Image) -> Image.Image:
    """A picture whose left half is half clear and whose lower right quarter is clear."""
    width, height = image.size
    alpha = Image.new("L", image.size, 255)
    alpha.paste(128, (0, 0, width // 2, height))
    alpha.paste(0, (width // 2, height // 2, width, height))
    image = image.copy()
    image.putalpha(alpha)
    return image


def _saved(image: Image.Image, kind: str, **how: object) -> str:
    data = io.BytesIO()
    image.save(data, kind, **how)
    return _link(data.getvalue(), kind.lower())


def _png(
    pixel: Callable[[int, int], _Pixel],
    depth: int,
    kind: int,
    *chunks: tuple[bytes, bytes],
    interlaced: bool = False,
) -> str:
    """A PNG of 64 × 32 (ISO/IEC 15948) of samples of ``depth`` bits in the colour type ``kind``."""
    width, height = 64, 32
    passes = (
        (
            (0, 0, 8, 8),
            (4, 0, 8, 8),
            (0, 4, 4, 8),
            (2, 0, 4, 4),
            (0, 2, 2, 4),
            (1, 0, 2, 2),
            (0, 1, 1, 2),
        )
        if interlaced
        else ((0, 0, 1, 1),)
    )
    raw = b""
    for left, top, across, down in passes:
        for y in range(top, height, down):
            samples = [value for x in range(left, width, across) for value in pixel(x, y)]
            bits = "".join(f"{value:0{depth}b}" for value in samples)
            bits += "0" * (-len(bits) % 8)
            raw += b"\0" + int(bits or "0", 2).to_bytes(len(bits) // 8, "big")
    head = struct.pack(">IIBBBBB", width, height, depth, kind, 0, 0, int(interlaced))
    parts = [(b"IHDR", head), *chunks, (b"IDAT", zlib.compress(raw)), (b"IEND", b"")]
    data = b"\x89PNG\r\n\x1a\n" + b"".join(
        struct.pack(">I", len(body)) + name + body + struct.pack(">I", zlib.crc32(name + body))
        for name, body in parts
    )
    return _link(data, "png")


def _at(*quarters: _Pixel) -> Callable[[int, int], _Pixel]:
    """One of four pixels, for each quarter of a picture of 64 × 32."""
    return lambda x, y: quarters[(x >= 32) + 2 * (y >= 16)]


_PALETTE = (b"PLTE", bytes(part for colour in (_RED, _GREEN, _BLUE, _YELLOW) for part in colour))
_WIDE = tuple(tuple(257 * part for part in colour) for colour in (_RED, _GREEN, _BLUE, _YELLOW))


def _without_ink_mark(link: str) -> str:
    """A JPEG without the segment (APP14) that says how its inks are meant."""
    data = base64.b64decode(link.partition(",")[2])
    at = data.index(b"\xff\xee")
    length = int.from_bytes(data[at + 2 : at + 4], "big")
    return _link(data[:at] + data[at + 2 + length :], "jpeg")


def _swapped_profile() -> bytes:
    """An ICC profile (ICC.1:2001-04) of a device whose red is sRGB's green, and the other way."""

    def fixed(*values: float) -> bytes:
        return b"".join(struct.pack(">i", round(65536 * value)) for value in values)

    red, green, blue = (0.4361, 0.2225, 0.0139), (0.3851, 0.7169, 0.0971), (0.1431, 0.0606, 0.7141)
    curve = b"curv" + bytes(4) + struct.pack(">IH", 1, round(2.2 * 256)) + bytes(2)
    tags = {
        b"desc": b"desc" + bytes(4) + struct.pack(">I", 2) + b"s\0" + bytes(78),
        b"cprt": b"text" + bytes(4) + b"none\0\0\0\0",
        b"wtpt": b"XYZ " + bytes(4) + fixed(0.9642, 1, 0.8249),
        b"rXYZ": b"XYZ " + bytes(4) + fixed(*green),
        b"gXYZ": b"XYZ " + bytes(4) + fixed(*red),
        b"bXYZ": b"XYZ " + bytes(4) + fixed(*blue),
        b"rTRC": curve, b"gTRC": curve, b"bTRC": curve,
    }  # fmt: skip
    table, body = struct.pack(">I", len(tags)), b""
    start = 128 + 4 + 12 * len(tags)
    for name, data in tags.items():
        data += bytes(-len(data) % 4)
        table += name + struct.pack(">II", start + len(body), len(data))
        body += data
    head = struct.pack(
        ">I4sI4s4s4s", start + len(body), b"lcms", 0x02100000, b"mntr", b"RGB ", b"XYZ "
    )
    head += struct.pack(">6H", 2027, 1, 1, 0, 0, 0) + b"acsp" + bytes(28) + fixed(0.9642, 1, 0.8249)
    return head + bytes(128 - len(head)) + table + body


_WAYS = (
    None,
    Image.Transpose.FLIP_LEFT_RIGHT,
    Image.Transpose.ROTATE_180,
    Image.Transpose.FLIP_TOP_BOTTOM,
    Image.Transpose.TRANSPOSE,
    Image.Transpose.ROTATE_270,
    Image.Transpose.TRANSVERSE,
    Image.Transpose.ROTATE_90,
)
"""What turns a picture upright, by how its camera was held (from 1)."""


def _held(way: int) -> Image.Exif:
    said = Image.Exif()
    said[274] = way
    return said


def _turned(image: Image.Image, way: int) -> Image.Image:
    step = _WAYS[way - 1]
    return image if step is None else image.transpose(step)


def _image(link: str, said: str = 'x="5" y="5" width="48" height="24"') -> str:
    return f'<image {said} href="{link}"/>'


_P = _saved(_quarters(), "PNG")
_SMALL = _saved(_quarters(size=(8, 4)), "PNG")
_SWAPPED = _saved(Image.merge("RGB", [_quarters().split()[band] for band in (1, 0, 2)]), "PNG")
_BACK = '<rect width="60" height="40" fill="#ddc"/>'

KINDS = [
    *(Feature(f"PNG in the mode {mode}", _BACK + _image(_saved(_quarters(mode), "PNG"))) for mode in ("1", "L", "P", "RGB")),
    *(Feature(f"PNG in the mode {mode}A", _BACK + _image(_saved(_clear(_quarters(mode)), "PNG"))) for mode in ("L", "RGB")),
    Feature("PNG with a clear colour in its palette", _BACK + _image(_saved(_quarters("P"), "PNG", transparency=0))),
    Feature("PNG with a clear colour", _BACK + _image(_saved(_quarters(), "PNG", transparency=_RED))),
    Feature("PNG with a clear grey", _BACK + _image(_png(_at((0,), (90,), (180,), (255,)), 8, 0, (b"tRNS", b"\0\xb4")))),
    Feature("PNG with 16 bits", _BACK + _image(_png(_at(*_WIDE), 16, 2))),
    Feature("PNG with 16 bits and opacity", _BACK + _image(_png(_at(*((*colour, alpha) for colour, alpha in zip(_WIDE, (65535, 32768, 0, 20000), strict=True))), 16, 6))),
    Feature("PNG with 16 bits of grey", _BACK + _image(_png(_at((0,), (20000,), (45000,), (65535,)), 16, 0))),
    Feature("PNG with 16 bits of grey and opacity", _BACK + _image(_png(_at((0, 65535), (20000, 32768), (45000, 65535), (65535, 9000)), 16, 4))),
    *(Feature(f"PNG with {depth} bits of grey", _BACK + _image(_png(_at((0,), (1,), ((1 << depth) // 2,), ((1 << depth) - 1,)), depth, 0))) for depth in (1, 2, 4)),
    *(Feature(f"PNG with a palette of {depth} bits", _BACK + _image(_png(_at((0,), (1,), (2,), (3,)), depth, 3, _PALETTE))) for depth in (2, 4)),
    Feature("PNG with a palette with opacities", _BACK + _image(_png(_at((0,), (1,), (2,), (3,)), 2, 3, _PALETTE, (b"tRNS", b"\x80\xff\x00")))),
    Feature("PNG, interlaced", _BACK + _image(_png(_at(_RED, _GREEN, _BLUE, _YELLOW), 8, 2, interlaced=True))),
    Feature("PNG, interlaced, with 16 bits", _BACK + _image(_png(_at(*_WIDE), 16, 2, interlaced=True))),
    Feature("PNG with a gamma of its own", _BACK + _image(_png(_at(_RED, _GREEN, _BLUE, _YELLOW), 8, 2, (b"gAMA", struct.pack(">I", 45455))))),
    *(Feature(f"JPEG in the mode {mode}", _image(_saved(_quarters(mode), "JPEG", quality=95))) for mode in ("L", "RGB")),
    # Without a profile, inks are taken as the complements of red, green and blue, as Chromium takes them.
    Feature("JPEG in inks", _image(_saved(_quarters("CMYK"), "JPEG", quality=95)), equal=_image(_P)),
    Feature("JPEG in inks, without the mark that says how they are meant", _image(_without_ink_mark(_saved(_quarters("CMYK"), "JPEG", quality=95))), equal=_image(_P)),
    Feature("JPEG, progressive", _image(_saved(_quarters(), "JPEG", quality=95, progressive=True))),
    Feature("JPEG with few colours", _image(_saved(_quarters(), "JPEG", quality=95, subsampling=2))),
    Feature("GIF", _BACK + _image(_saved(_quarters("P"), "GIF"))),
    Feature("GIF that moves shows its beginning", _BACK + _image(_saved(_quarters("P"), "GIF", save_all=True, append_images=[Image.new("P", (320, 160), 5)], duration=100))),
    Feature("GIF with a clear colour", _BACK + _image(_saved(_quarters("P"), "GIF", transparency=0))),
    Feature("WebP without loss", _BACK + _image(_saved(_quarters(), "WEBP", lossless=True))),
    Feature("WebP with loss", _BACK + _image(_saved(_quarters(), "WEBP", quality=95))),
    Feature("WebP with opacity", _BACK + _image(_saved(_clear(_quarters()), "WEBP", lossless=True))),
    Feature("BMP", _BACK + _image(_saved(_quarters(), "BMP")), equal=_BACK + _image(_P)),
    # Which way up a camera was held (CIPA DC-008, tag 274); SVG shows pictures upright (CSS Images 3, 5.3).
    *(
        Feature(f"JPEG held in way {way}", _image(_saved(_quarters(), "JPEG", quality=95, exif=_held(way))), equal=_image(_saved(_turned(_quarters(), way), "PNG")))
        for way in range(1, 9)
    ),
    # Colours of a profile are shown in sRGB (SVG 2, 12.3: as CSS Color 4, 9 and 12 say).
    Feature("PNG with a colour profile", _image(_saved(_quarters(), "PNG", icc_profile=_swapped_profile())), equal=_image(_SWAPPED)),
    Feature("PNG with a colour profile and opacity", _BACK + _image(_saved(_clear(_quarters()), "PNG", icc_profile=_swapped_profile())), equal=_BACK + _image(_saved(_clear(Image.merge("RGB", [_quarters().split()[band] for band in (1, 0, 2)])), "PNG"))),
    Feature("PNG with a palette and a colour profile", _image(_saved(_quarters("P"), "PNG", icc_profile=_swapped_profile())), equal=_image(_SWAPPED)),
    Feature("JPEG with a colour profile", _image(_saved(_quarters(), "JPEG", quality=95, icc_profile=_swapped_profile())), equal=_image(_SWAPPED)),
    Feature("WebP with a colour profile", _image(_saved(_quarters(), "WEBP", lossless=True, icc_profile=_swapped_profile())), equal=_image(_SWAPPED)),
    Feature("PNG with a colour profile that is broken", _image(_saved(_quarters(), "PNG", icc_profile=b"no profile" * 20)), equal=_image(_P)),
    Feature("grey JPEG with a colour profile for colours", _image(_saved(_quarters("L"), "JPEG", quality=95, icc_profile=_swapped_profile())), equal=_image(_saved(_quarters("L"), "PNG"))),
]  # fmt: skip

_ALIGNED = [
    f"x{across}Y{down}" for across in ("Min", "Mid", "Max") for down in ("Min", "Mid", "Max")
]
PLACES = [
    *(
        Feature(f"picture that lies {aspect} in a {shape} box", f'<rect x="10" y="4" {sides} fill="#ddc"/>' + _image(_P, f'x="10" y="4" {sides} preserveAspectRatio="{aspect}"'))
        for aspect in ("none", *_ALIGNED, *(f"{way} slice" for way in _ALIGNED))
        for shape, sides in (("high", 'width="20" height="32"'), ("wide", 'width="45" height="12"'))
        if "Mid" in aspect or shape == "high" or "slice" not in aspect
    ),
    Feature("picture whose lie is deferred", _image(_P, 'width="20" height="32" preserveAspectRatio="defer xMinYMin slice"'), equal=_image(_P, 'width="20" height="32" preserveAspectRatio="xMinYMin slice"')),
    Feature("picture whose lie cannot be read", _image(_P, 'width="20" height="32" preserveAspectRatio="middle"')),
    Feature("picture cut, all of it shown", _image(_P, 'x="20" y="4" width="20" height="20" preserveAspectRatio="xMidYMid slice" overflow="visible"'), equal=_image(_P, 'x="10" y="4" width="40" height="20"')),
    Feature("picture with a width alone", _image(_P, 'x="5" y="5" width="40"')),
    Feature("picture with a height alone", _image(_P, 'x="5" y="5" height="20"')),
    Feature("picture as large as its pixels", _image(_saved(_quarters(size=(44, 22)), "PNG"), 'x="5" y="5"')),
    Feature("picture with sizes auto", _image(_saved(_quarters(size=(44, 22)), "PNG"), 'x="5" y="5" width="auto" height="auto"')),
    Feature("picture with sizes in a style", _image(_P, 'style="x:5px;y:5px;width:40px;height:20px"'), equal=_image(_P, 'x="5" y="5" width="40" height="20"')),
    Feature("picture in units and per cent", _image(_P, 'x="10%" y="2mm" width="50%" height=".2in"')),
    Feature("picture of no width", _image(_P, 'x="5" y="5" width="0" height="20"') + '<rect width="9" height="9"/>'),
    Feature("picture of a height below nothing", _image(_P, 'x="5" y="5" width="20" height="-5"') + '<rect width="9" height="9"/>', equal=_image(_P, 'x="5" y="5" width="20" height="10"') + '<rect width="9" height="9"/>'),
    Feature("picture without a link", '<image width="30" height="30"/><image href="" width="30" height="30"/><rect width="9" height="9"/>'),
    Feature("picture with both kinds of link", f'<image x="5" y="5" width="40" height="20" href="{_P}" xlink:href="data:image/png;base64,AAAA"/>'),
    *(Feature(f"small picture shown {way}", _image(_SMALL, f'x="5" y="5" width="48" height="24" image-rendering="{way}"'), equal=_image(_P)) for way in ("pixelated", "crisp-edges", "optimizeSpeed")),
    Feature("small picture shown by a group's wish", f'<g image-rendering="pixelated">{_image(_SMALL)}</g>', equal=_image(_P)),
    *(Feature(f"large picture shown {way}", _image(_P, f'x="5" y="5" width="48" height="24" image-rendering="{way}"')) for way in ("auto", "optimizeQuality", "smooth", "high-quality")),
    Feature("picture half clear", _BACK + _image(_P, 'x="5" y="5" width="48" height="24" opacity=".4"')),
    Feature("picture half clear in a half-clear group", f'{_BACK}<g opacity=".6">{_image(_P, "width=" + chr(34) + "30" + chr(34) + " height=" + chr(34) + "15" + chr(34))}{_image(_P, "x=" + chr(34) + "10" + chr(34) + " y=" + chr(34) + "8" + chr(34) + " width=" + chr(34) + "40" + chr(34) + " height=" + chr(34) + "20" + chr(34) + " opacity=" + chr(34) + ".5" + chr(34))}</g>'),
    Feature("picture is not touched by fill and stroke opacity", f'<g fill-opacity=".3" stroke-opacity=".2" fill="red">{_image(_P)}</g>'),
    Feature("picture that is hidden", _image(_P, 'x="5" y="5" width="48" height="24" visibility="hidden"') + '<rect width="9" height="9"/>'),
    Feature("picture in a hidden group", f'<g visibility="hidden">{_image(_P)}</g><rect width="9" height="9"/>'),
    Feature("picture that is not displayed", _image(_P, 'x="5" y="5" width="48" height="24" display="none"') + '<rect width="9" height="9"/>'),
    Feature("picture turned and skewed", _image(_P, 'x="5" y="5" width="30" height="15" transform="rotate(20) skewX(20)"')),
    Feature("picture mirrored", _image(_P, 'x="-55" y="5" width="48" height="24" transform="scale(-1 1)"')),
    Feature("picture clipped and turned", '<clipPath id="c"><circle cx="25" cy="15" r="10"/></clipPath>' + _image(_P, 'x="5" y="5" width="40" height="20" clip-path="url(#c)" transform="rotate(15)"')),
    Feature("picture clipped in shares of its box", '<clipPath id="c" clipPathUnits="objectBoundingBox"><circle cx=".5" cy=".5" r=".4"/></clipPath>' + _image(_P, 'x="5" y="5" width="40" height="20" clip-path="url(#c)"')),
    Feature("picture used twice", f'<defs><image id="i" width="24" height="12" href="{_P}"/></defs><use href="#i" x="2" y="2"/><use href="#i" x="30" y="20" opacity=".5"/>'),
    Feature("picture in a nested drawing", f'<svg x="10" y="5" width="40" height="20" viewBox="0 0 4 2">{_image(_P, "width=" + chr(34) + "100%" + chr(34) + " height=" + chr(34) + "100%" + chr(34))}</svg>'),
    Feature("picture whose link has lines and spaces", _image(_P[:100] + "\n  " + _P[100:200] + "\r\n\t" + _P[200:])),
    Feature("picture whose link has percent signs", _image(_P.replace("+", "%2B").replace("=", "%3D").replace("base64,", "base64,%0A"))),
    Feature("picture whose link has no end signs", _image(_P.rstrip("="))),
    Feature("picture that is of another kind than it says", _image(_P.replace("image/png", "image/jpeg")), equal=_image(_P)),
    Feature("picture that says nothing of its kind", _image(_P.replace("data:image/png", "data:")), equal=_image(_P)),
    Feature("picture with a kind in capitals and a set of letters", _image(_P.replace("image/png", "IMAGE/PNG;charset=utf-8"))),
]  # fmt: skip


def _drawn(content: str, said: str = 'viewBox="0 0 40 20"', kind: str = "base64") -> str:
    """A drawing as a link; ``kind`` is how it is written."""
    svg = f'<svg xmlns="http://www.w3.org/2000/svg" xmlns:xlink="http://www.w3.org/1999/xlink" {said}>{content}</svg>'
    if kind == "base64":
        return _link(svg.encode(), "svg+xml")
    if kind == "packed":
        return _link(gzip.compress(svg.encode(), mtime=0), "svg+xml")
    return f"data:image/svg+xml;{kind}," + urllib.parse.quote(svg)


_INNER = '<rect width="40" height="20" fill="#fc6"/><circle cx="20" cy="10" r="14" fill="#036"/>'
_WHOLE = 'x="5" y="5" width="40" height="30"'
"""A box in which tiles are whole pixels: resvg draws them so."""

_ROOM = 'x="5" y="5" width="48" height="30"'


def _nested(content: str, said: str = 'viewBox="0 0 40 20"', room: str = _ROOM) -> str:
    return f"<svg {room} {said}>{content}</svg>"


DRAWN = [
    *(Feature(f"drawn picture, {words}", _image(_drawn(_INNER, kind=kind), _ROOM), equal=_nested(_INNER)) for words, kind in (("in letters", "utf8"), ("in letters with a set", "charset=utf-8"), ("in base 64", "base64"), ("packed", "packed"))),
    Feature("drawn picture that begins like any XML", _image(_link(('<?xml version="1.0" encoding="UTF-8"?>\n<!-- by hand -->\n<!DOCTYPE svg>\n<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 40 20">' + _INNER + "</svg>").encode(), "svg+xml"), _ROOM), equal=_nested(_INNER)),
    *(
        Feature(f"drawn picture that lies {aspect}", _image(_drawn('<rect width="40" height="20" fill="#fc6"/><circle cx="5" cy="5" r="4" fill="#036"/>'), f'{_ROOM} preserveAspectRatio="{aspect}"'))
        for aspect in ("none", "xMinYMin", "xMaxYMax meet", "xMidYMid slice", "xMinYMax slice")
    ),
    Feature("drawn picture with sizes and no view box", _image(_drawn(_INNER, 'width="40" height="20"'), _ROOM), equal=_nested(_INNER)),
    Feature("drawn picture with sizes and a view box", _image(_drawn(_INNER, 'width="80" height="40" viewBox="0 0 40 20"'), _ROOM), equal=_nested(_INNER)),
    Feature("drawn picture with sizes in millimetres", _image(_drawn('<rect width="50%" height="100%" fill="#036"/>', 'width="10mm" height="5mm"'), _ROOM)),
    Feature("drawn picture with sizes of another shape than its view box", _image(_drawn(_INNER, 'width="20" height="20" viewBox="0 0 40 20"'), _ROOM), equal=_nested(_INNER)),
    Feature("drawn picture with one size", _image(_drawn(_INNER, 'width="80" viewBox="0 0 40 20"'), _ROOM), equal=_nested(_INNER)),
    Feature("drawn picture with sizes in per cent", _image(_drawn(_INNER, 'width="100%" height="100%" viewBox="0 0 40 20"'), _ROOM), equal=_nested(_INNER)),
    Feature("drawn picture as large as it says", _image(_drawn(_INNER, 'width="40" height="20"'), 'x="5" y="5"'), equal=_nested(_INNER, room='x="5" y="5" width="40" height="20"')),
    Feature("drawn picture with a width alone", _image(_drawn(_INNER), 'x="5" y="5" width="30"'), equal=_nested(_INNER, room='x="5" y="5" width="30" height="15"')),
    Feature("drawn picture with a view box that begins elsewhere", _image(_drawn('<rect x="-20" y="-10" width="40" height="20" fill="#fc6"/><circle r="8" fill="#036"/>', 'viewBox="-20 -10 40 20"'), _ROOM)),
    Feature("drawn picture with styles of its own", f'<style>rect {{ fill: #a33 }}</style>{_image(_drawn("<style>circle { fill: #383 }</style><rect width=" + chr(34) + "40" + chr(34) + " height=" + chr(34) + "20" + chr(34) + "/><circle cx=" + chr(34) + "20" + chr(34) + " cy=" + chr(34) + "10" + chr(34) + " r=" + chr(34) + "8" + chr(34) + "/>"), _ROOM)}<circle cx="55" cy="35" r="4"/>'),
    Feature("drawn picture takes nothing from around it", f'<g fill="red" stroke="red" stroke-width="3" color="red" font-size="30">{_image(_drawn("<rect width=" + chr(34) + "2em" + chr(34) + " height=" + chr(34) + "10" + chr(34) + "/><circle cx=" + chr(34) + "20" + chr(34) + " cy=" + chr(34) + "14" + chr(34) + " r=" + chr(34) + "4" + chr(34) + " fill=" + chr(34) + "currentColor" + chr(34) + "/>"), _ROOM)}</g>'),
    Feature("drawn picture whose root is coloured", _image(_drawn('<rect width="30" height="10"/><circle cx="30" cy="12" r="6" stroke="none"/>', 'viewBox="0 0 40 20" fill="#fc6" stroke="#036" stroke-width="2"'), _ROOM), equal=_nested('<g fill="#fc6" stroke="#036" stroke-width="2"><rect width="30" height="10"/><circle cx="30" cy="12" r="6" stroke="none"/></g>')),
    Feature("drawn picture with ids that are used outside too", f'<linearGradient id="g"><stop stop-color="#a33"/><stop offset="1"/></linearGradient><rect id="r" width="60" height="40" fill="url(#g)"/>{_image(_drawn("<linearGradient id=" + chr(34) + "g" + chr(34) + "><stop stop-color=" + chr(34) + "#383" + chr(34) + "/><stop offset=" + chr(34) + "1" + chr(34) + " stop-color=" + chr(34) + "#fc6" + chr(34) + "/></linearGradient><rect id=" + chr(34) + "r" + chr(34) + " width=" + chr(34) + "40" + chr(34) + " height=" + chr(34) + "20" + chr(34) + " fill=" + chr(34) + "url(#g)" + chr(34) + "/>"), _ROOM)}'),
    Feature("two drawn pictures with the same ids", "".join(_image(_drawn(f'<linearGradient id="g"><stop stop-color="{colour}"/><stop offset="1" stop-color="#fc6"/></linearGradient><clipPath id="c"><circle cx="20" cy="10" r="{r}"/></clipPath><rect width="40" height="20" fill="url(#g)" clip-path="url(#c)"/>'), f'x="{x}" y="5" width="28" height="30"') for colour, r, x in (("#383", 9, 2), ("#a33", 6, 30)))),
    Feature("drawn picture with a pattern, a mask and a marker", _image(_drawn('<pattern id="p" width="4" height="4" patternUnits="userSpaceOnUse"><circle cx="1.5" cy="1.5" r="1.3" fill="#036"/></pattern><mask id="m" maskUnits="userSpaceOnUse" x="0" y="0" width="40" height="20"><circle cx="12" cy="10" r="9" fill="#fff"/></mask><marker id="k" markerWidth="4" markerHeight="4" refX="2" refY="2"><circle cx="2" cy="2" r="2" fill="#a33"/></marker><rect width="24" height="20" fill="url(#p)" mask="url(#m)"/><path d="M26 4L36 16" stroke="#000" marker-end="url(#k)"/>'), _WHOLE), equal=_nested('<pattern id="p" width="4" height="4" patternUnits="userSpaceOnUse"><circle cx="1.5" cy="1.5" r="1.3" fill="#036"/></pattern><mask id="m" maskUnits="userSpaceOnUse" x="0" y="0" width="40" height="20"><circle cx="12" cy="10" r="9" fill="#fff"/></mask><marker id="k" markerWidth="4" markerHeight="4" refX="2" refY="2"><circle cx="2" cy="2" r="2" fill="#a33"/></marker><rect width="24" height="20" fill="url(#p)" mask="url(#m)"/><path d="M26 4L36 16" stroke="#000" marker-end="url(#k)"/>', room=_WHOLE)),
    Feature("drawn picture with uses, symbols and a nested drawing", _image(_drawn('<symbol id="s" viewBox="0 0 4 4"><circle cx="2" cy="2" r="2"/></symbol><use href="#s" width="10" height="10" fill="#383"/><svg x="20" width="20" height="20" viewBox="0 0 2 2"><rect width="1" height="1" fill="#a33"/></svg>'), _ROOM)),
    Feature("drawn picture with text", _image(_drawn('<text x="2" y="15" font-family="Kalam" font-size="16">leaf</text>'), _ROOM), equal=_nested('<text x="2" y="15" font-family="Kalam" font-size="16">leaf</text>')),
    Feature("drawn picture within a drawn picture", _image(_drawn(_image(_drawn(_INNER), 'x="4" y="2" width="30" height="15"') + '<rect width="3" height="20"/>'), _ROOM), equal=_nested(_nested(_INNER, room='x="4" y="2" width="30" height="15"') + '<rect width="3" height="20"/>')),
    Feature("drawn picture with pixels in it", _image(_drawn(_image(_P, 'x="4" y="2" width="30" height="15"') + '<rect width="3" height="20"/>'), _ROOM)),
    Feature("drawn picture that runs over its edges is cut", _image(_drawn('<rect x="-50" y="-50" width="200" height="200" fill="#fc6"/><circle cx="40" cy="20" r="9" fill="#036"/>'), 'x="10" y="5" width="40" height="30" preserveAspectRatio="none"'), equal=_nested('<rect x="-50" y="-50" width="200" height="200" fill="#fc6"/><circle cx="40" cy="20" r="9" fill="#036"/>', 'viewBox="0 0 40 20" preserveAspectRatio="none"', 'x="10" y="5" width="40" height="30"')),
    Feature("drawn picture half clear", _BACK + _image(_drawn(_INNER), f'{_ROOM} opacity=".5"'), equal=_BACK + f'<g opacity=".5">{_nested(_INNER)}</g>'),
    Feature("drawn picture half clear by its root", _BACK + _image(_drawn(_INNER, 'viewBox="0 0 40 20" opacity=".5"'), _ROOM), equal=_BACK + f'<g opacity=".5">{_nested(_INNER)}</g>'),
    Feature("drawn picture turned and clipped", '<clipPath id="c"><circle cx="30" cy="20" r="12"/></clipPath>' + _image(_drawn(_INNER), f'{_ROOM} transform="rotate(10)" clip-path="url(#c)"')),
    Feature("drawn picture that is hidden", _image(_drawn(_INNER), f'{_ROOM} visibility="hidden"') + '<rect width="9" height="9"/>'),
    Feature("drawn picture with a script in it", _image(_drawn("<script>alert(1)</script>" + _INNER), _ROOM), equal=_nested(_INNER)),
    Feature("drawn picture with nothing in it", _image(_drawn(""), _ROOM) + '<rect width="9" height="9"/>'),
    Feature("drawn picture in a pattern", f'<pattern id="g" width="12" height="8" patternUnits="userSpaceOnUse">{_image(_drawn("<circle cx=" + chr(34) + "20" + chr(34) + " cy=" + chr(34) + "10" + chr(34) + " r=" + chr(34) + "9" + chr(34) + " fill=" + chr(34) + "#a33" + chr(34) + "/>"), "width=" + chr(34) + "10" + chr(34) + " height=" + chr(34) + "6" + chr(34))}</pattern><rect x="5" y="5" width="50" height="30" fill="url(#g)"/>'),
    Feature("drawn picture with variables and arithmetic", _image(_drawn('<style>svg { --leaf: #383 } circle { fill: var(--leaf); r: calc(2px + 20%) }</style><circle cx="20" cy="10"/>'), _ROOM), equal=_nested(f'<circle cx="20" cy="10" r="{2 + 0.2 * (1000**0.5)}" fill="#383"/>')),
    Feature("drawn picture that chooses by language", _image(_drawn('<switch><rect width="40" height="20" fill="red" systemLanguage="de"/><rect width="40" height="20" fill="#383"/></switch>'), _ROOM), equal=_nested('<rect width="40" height="20" fill="#383"/>')),
    Feature("drawn picture used twice", f'<defs><image id="i" width="24" height="12" href="{_drawn(_INNER)}"/></defs><use href="#i" x="2" y="2"/><use href="#i" x="30" y="20" opacity=".5"/>', equal=_nested(_INNER, room='x="2" y="2" width="24" height="12"') + '<g opacity=".5">' + _nested(_INNER, room='x="30" y="20" width="24" height="12"') + "</g>"),
]  # fmt: skip


def _in_filter(link: str) -> str:
    return f'<filter id="f"><feImage href="{link}" x="8" y="8" width="40" height="24"/></filter><rect x="6" y="6" width="48" height="28" filter="url(#f)"/>'


def _mask_of(image: Image.Image, more: str = "") -> str:
    return f'<mask id="m"><image x="5" y="5" width="50" height="25" {more} href="{_saved(image, "PNG")}"/></mask><rect width="60" height="40" fill="#269" mask="url(#m)"/>'


SOFT = [
    Feature("picture in the colours of a press in a filter", _in_filter(_saved(_quarters("CMYK"), "JPEG")), equal=_in_filter(_saved(_quarters(), "PNG"))),
    Feature("mask of a picture of clear colours", _mask_of(_clear(_quarters()))),
    # resvg smooths what is "pixelated" (CSS Images 3, 5.3): there each pixel is many.
    Feature("mask of a sharp picture", _mask_of(_quarters(size=(8, 4)), 'image-rendering="pixelated"'), equal=_mask_of(_quarters())),
]  # fmt: skip

PAGES: list[Feature] = [*KINDS, *PLACES, *DRAWN, *SOFT]

_CUT_SHORT = _P[: len(_P) // 2]
REFUSALS: list[Refused] = [
    Refused("picture that is linked", '<image id="x" width="9" height="9" href="leaf.png"/>', "x", "a picture outside the file"),
    Refused("picture from the web", '<image id="x" width="9" height="9" href="https://example.org/leaf.png"/>', "x", "a picture outside the file"),
    Refused("picture that ends too soon", f'<image id="x" width="9" height="9" href="{_CUT_SHORT}"/>', "x", "cannot be read"),
    Refused("JPEG that ends too soon", f'<image id="x" width="9" height="9" href="{_saved(_quarters(), "JPEG")[:900]}"/>', "x", "cannot be read"),
    Refused("picture of too many pixels in a line", f'<image id="x" width="9" height="9" href="{_saved(Image.new("L", (1, 40_000)), "PNG")}"/>', "x", "30,000 in a line"),
    Refused("picture of nothing", '<image id="x" width="9" height="9" href="data:image/png;base64,"/>', "x", "cannot be read"),
    Refused("picture of plain words", '<image id="x" width="9" height="9" href="data:,leaf"/>', "x", "cannot be read"),
    Refused("drawn picture that is broken", f'<image id="x" width="9" height="9" href="{_link(b"<svg", "svg+xml")}"/>', "x", "a broken SVG file"),
    Refused("drawn picture that is packed and broken", f'<image id="x" width="9" height="9" href="{_link(bytes((31, 139, 8, 1)), "svg+xml")}"/>', "x", "cannot be read"),
    Refused("drawn picture that is no drawing", f'<image id="x" width="9" height="9" href="{_link(b"<html/>", "svg+xml")}"/>', "x", "a broken SVG file"),
    Refused("drawn picture with a picture outside the file", f'<image id="x" width="9" height="9" href="{_drawn(_image("leaf.png"))}"/>', "x", "a picture outside the file"),
    Refused("drawn picture with content for one language in a pattern", f'<pattern id="p" width="9" height="9" patternUnits="userSpaceOnUse">{_image(_drawn("<rect width=" + chr(34) + "9" + chr(34) + " height=" + chr(34) + "9" + chr(34) + " systemLanguage=" + chr(34) + "de" + chr(34) + "/>"), "id=" + chr(34) + "x" + chr(34) + " width=" + chr(34) + "9" + chr(34))}</pattern><rect width="60" height="40" fill="url(#p)"/>', "x", "for one language"),
    Refused("drawn picture with things too deep in each other", f'<image id="x" width="9" height="9" href="{_drawn("<g>" * 150 + "</g>" * 150)}"/>', "x", "nested more than"),
    Refused("drawn picture with content that isn't SVG", f'<image id="x" width="9" height="9" href="{_drawn("<foreignObject width=" + chr(34) + "9" + chr(34) + " height=" + chr(34) + "9" + chr(34) + "/>")}"/>', "x", "isn't a drawing"),
]  # fmt: skip
