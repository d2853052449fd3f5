"""Questions to ask of elements: what they are called, inherit, refer to and show."""

from __future__ import annotations

import base64
import contextlib
import functools
import io
import math
import re
import struct
import urllib.parse
import warnings
import zlib
from collections.abc import Iterator
from typing import NamedTuple

import numpy as np
from lxml import etree
from PIL import Image, ImageCms, ImageOps

from pipeline.svg.transform import Matrix, parse_transform

SVG = "{http://www.w3.org/2000/svg}"

DEFINITIONS = frozenset(
    SVG + name
    for name in ("defs", "symbol", "clipPath", "mask", "marker", "pattern", "linearGradient",
                 "radialGradient", "meshgradient", "filter", "solidColor", "solidcolor", "hatch",
                 "font")
)  # fmt: skip
"""Elements that are drawn only where another refers to them."""

FLOW = "data-flow"
"""The attribute of a text that flows, in user units: where its lines begin, how wide they are and
how high all of them may be; without that, the second number is the first baseline."""

NAMES = "data-names"
"""The attribute that holds the names an element goes by, the likelier first."""


_WORDY = frozenset(SVG + name for name in ("text", "tspan", "textPath", "a"))
"""Elements in which a space alone may part words."""


LANGUAGES = "data-languages"
"""Marks what is printed in some languages only: those it is for, and those it is not for."""


class Languages(NamedTuple):
    """The languages that something is printed in: those named (all for none), but for others."""

    only: str
    never: str

    @classmethod
    def of(cls, mark: str) -> Languages:
        """Reads the mark of an element."""
        only, _, never = mark.partition("/")
        return cls(only, never)

    def __str__(self) -> str:
        return f"{self.only}/{self.never}"

    def have(self, language: str) -> bool:
        """Whether it is printed on a page in ``language``.

        >>> Languages("de,en-GB", "").have("de-AT"), Languages("", "de").have("de")
        (True, False)
        """
        wanted = not self.only or _speaks(self.only, language)
        return wanted and not (self.never and _speaks(self.never, language))


def _speaks(named: str, language: str) -> bool:
    """Whether one of the languages named is the page's, a broader or a narrower one (SVG 2,
    5.11.4)."""
    asked = language.lower()
    return bool(asked) and any(
        f"{one}-".startswith(f"{asked}-") or f"{asked}-".startswith(f"{one}-")
        for one in (each.strip().lower() for each in named.split(","))
        if one
    )


def remove(element: etree._Element) -> None:
    """Takes an element out of its tree; the text that follows it stays."""
    parent = element.getparent()
    if parent is None:
        return
    if element.tail and (element.tail.strip() or parent.tag in _WORDY):
        before = element.getprevious()
        if before is not None:
            before.tail = (before.tail or "") + element.tail
        else:
            parent.text = (parent.text or "") + element.tail
    element.tail = None
    parent.remove(element)


def strip(element: etree._Element, *attributes: str) -> None:
    """Takes attributes off an element where it has them."""
    own = element.attrib
    for attribute in attributes:
        if attribute in own:
            del own[attribute]


def names(element: etree._Element) -> tuple[str, ...]:
    """Names the element goes by, the likelier first."""
    return tuple((element.get(NAMES) or "").split())


def by_id(root: etree._Element) -> dict[str, etree._Element]:
    """The elements of a tree by their ids; where several have one, the first counts."""
    found: dict[str, etree._Element] = {}
    for element in root.iter(etree.Element):
        if "id" in element.attrib:
            found.setdefault(str(element.get("id")), element)
    return found


def lineage(element: etree._Element) -> Iterator[etree._Element]:
    """The element, its parent, and so on up to the root."""
    current: etree._Element | None = element
    while current is not None:
        yield current
        current = current.getparent()


def page_matrix(element: etree._Element) -> Matrix:
    """From the element's own coordinates (its ``transform`` counted) to millimetres on the page."""
    result = Matrix()
    for step in lineage(element):
        result = parse_transform(step.get("transform")) @ result
    return result


def inherited(element: etree._Element, name: str) -> str | None:
    """The value a property has on the element, its own or an ancestor's."""
    for step in lineage(element):
        value = step.get(name)
        if value is not None and value != "inherit":
            return value
    return None


HREFS = ("href", "{http://www.w3.org/1999/xlink}href")
_URL = re.compile(r"url\(\s*['\"]?([^'\")]*)['\"]?\s*\)")


def href(element: etree._Element) -> str:
    """What an element's ``href`` says, in its new or its old form; empty if it has none."""
    return next((str(element.get(name)).strip() for name in HREFS if name in element.attrib), "")


def target(value: str | None) -> str | None:
    """The id in a ``url(#id)``; None for any other value.

    >>> target("url(#leaf) black"), target('url("#a")'), target("black")
    ('leaf', 'a', None)
    """
    match = _URL.match((value or "").strip())
    return match[1].removeprefix("#") if match and match[1].startswith("#") else None


def fallback(value: str) -> str:
    """The paint after a ``url()``; "none" if there is none.

    >>> fallback("url(#leaf) red"), fallback("url(#leaf)")
    ('red', 'none')
    """
    return _URL.sub("", value, count=1).strip() or "none"


def links(element: etree._Element) -> Iterator[str]:
    """The ids that an element refers to."""
    attributes = element.attrib.values()
    if "#" not in " ".join(map(str, attributes)):
        return
    link = href(element)
    if link.startswith("#"):
        yield link[1:]
    for value in attributes:
        if "url(" in str(value):
            yield from (found[1:] for found in _URL.findall(str(value)) if found.startswith("#"))


def data_of(link: str) -> bytes:
    """What a ``data:`` link holds, unpacked if it was packed; empty if it cannot be read."""
    head, _, data = link.partition(",")
    try:
        raw = urllib.parse.unquote_to_bytes(data)
        if head.rstrip().endswith(";base64"):
            raw = b"".join(raw.split())
            raw = base64.b64decode(raw + b"=" * (-len(raw) % 4))
        if raw.startswith(b"\x1f\x8b"):
            raw = zlib.decompressobj(31).decompress(raw, _LARGEST)
    except (ValueError, zlib.error):
        return b""
    return raw


_LARGEST = 100_000_000
"""The most bytes that a packed picture may have when it is unpacked."""


def drawing_of(link: str) -> etree._Element | None:
    """The root of the SVG in a ``data:`` link; None for any other picture.

    Raises ValueError for one that isn't well-formed.
    """
    raw = data_of(link)
    if not raw.removeprefix(b"\xef\xbb\xbf").lstrip().startswith(b"<"):
        return None
    try:
        root = etree.fromstring(raw, svg_parser())
    except etree.XMLSyntaxError as problem:
        raise ValueError(str(problem)) from None
    if root.tag != SVG + "svg":
        raise ValueError("no SVG")
    return root


def svg_parser(*, bare: bool = True) -> etree.XMLParser:
    """What reads SVG without going to the network; ``bare`` leaves out comments and the like."""
    return etree.XMLParser(
        resolve_entities="internal",  # type: ignore[arg-type]  # newer than the stubs
        no_network=True,
        huge_tree=True,
        remove_comments=bare,
        remove_pis=bare,
    )


@functools.lru_cache(maxsize=64)
def size_of(link: str) -> tuple[int, int] | None:
    """Width and height in pixels of the picture in a ``data:`` link; None if it cannot be read.

    A picture that says it lies on its side counts as it is shown.
    """
    read = _read_picture(link)
    return read[1] if read is not None else None


def picture_of(link: str) -> Image.Image | None:
    """The picture in a ``data:`` link, upright, in sRGB, grey or with opacity; None if unreadable.

    Of pictures that move, the first one; of one of more than ``ENOUGH_PIXELS``, a smaller one.
    """
    read = _read_picture(link)
    return read[0] if read is not None else None


ENOUGH_PIXELS = 20_000_000
"""A whole sheet of A5 has 17 million at 600 to the inch, of A4 at 450."""
MOST_PIXELS, MOST_ACROSS = 50_000_000, 30_000
"""Of a larger picture, or a longer one, not even the first look is worth its time."""


def is_huge(link: str) -> bool:
    """Whether a picture has more pixels than are read."""
    wide, high = pixels_of(link)
    return wide * high > MOST_PIXELS or max(wide, high) > MOST_ACROSS


@functools.lru_cache(maxsize=64)
def pixels_of(link: str) -> tuple[int, int]:
    """How wide and high the picture in a ``data:`` link says it is, in pixels; no pixels for one
    that cannot be read, or is a drawing."""
    try:
        with warnings.catch_warnings():
            warnings.simplefilter("ignore", Image.DecompressionBombWarning)
            with Image.open(io.BytesIO(data_of(link))) as picture:
                return picture.size
    except Image.DecompressionBombError:
        return MOST_ACROSS + 1, MOST_ACROSS + 1
    except _BROKEN:
        return 0, 0


@functools.lru_cache(maxsize=2)
def _read_picture(link: str) -> tuple[Image.Image, tuple[int, int]] | None:
    """A picture as ``picture_of`` gives it, with its size before it was made smaller."""
    try:
        with Image.open(io.BytesIO(data_of(link))) as picture:
            picture.load()
            upright = ImageOps.exif_transpose(picture)
            size = upright.size
            if size[0] * size[1] > ENOUGH_PIXELS:
                parts = math.ceil(math.sqrt(size[0] * size[1] / ENOUGH_PIXELS))
                if upright.mode in ("P", "PA", "1"):
                    upright = upright.convert("RGBA")
                upright = upright.reduce(parts)
            return _in_srgb(upright, picture.info.get("icc_profile")), size
    except _BROKEN:
        return None


def link_to(picture: Image.Image) -> str:
    """A ``data:`` link that holds a picture, as PNG."""
    data = io.BytesIO()
    picture.save(data, "PNG", compress_level=1)
    return "data:image/png;base64," + base64.b64encode(data.getvalue()).decode()


_BROKEN = (OSError, ValueError, SyntaxError, EOFError, struct.error, Image.DecompressionBombError)
"""What Pillow raises for pictures that are broken, or larger than any page needs."""


def _in_srgb(picture: Image.Image, profile: bytes | None) -> Image.Image:
    """A picture as grey, RGB or RGB with opacity; colours of a profile become those of sRGB."""
    if picture.mode.startswith("I"):  # 16 bits of grey
        picture = Image.fromarray((np.asarray(picture) >> 8).astype(np.uint8))
    if picture.mode in ("P", "PA", "1", "La", "RGBa", "RGBX", "LAB", "HSV", "YCbCr", "F"):
        clear = "transparency" in picture.info or "a" in picture.mode.lower()
        picture = picture.convert("RGBA" if clear else "RGB")
    elif "transparency" in picture.info:
        picture = picture.convert("RGBA")
    alpha = picture.getchannel("A") if "A" in picture.getbands() else None
    plain = picture.convert(picture.mode.removesuffix("A")) if alpha is not None else picture
    if profile:
        # A profile that is broken, or for other colours, counts for nothing, as in browsers.
        with contextlib.suppress(ImageCms.PyCMSError, OSError):
            given = ImageCms.ImageCmsProfile(io.BytesIO(profile))
            srgb = ImageCms.createProfile("sRGB")
            plain = ImageCms.profileToProfile(plain, given, srgb, outputMode="RGB") or plain
    if plain.mode not in ("L", "RGB"):
        plain = plain.convert("RGB")
    if alpha is not None:
        plain = plain.convert("RGB")
        plain.putalpha(alpha)
    return plain
