"""Another set of colours for a drawing: in paints, gradients, style sheets and embedded pictures.

Works on the drawing as an editor saved it, so that everything after it knows nothing of colours.
"""

from __future__ import annotations

import base64
import functools
import io
import re
from collections.abc import Mapping

import numpy as np
from lxml import etree
from PIL import Image

from pipeline.svg.paint import Colour, from_light, linear_light
from pipeline.svg.tree import HREFS, SVG, data_of, drawing_of, href

Level = tuple[int, int, int]
"""Red, green and blue of sRGB, 0 to 255."""

PROPERTIES = (
    "fill", "stroke", "color", "stop-color", "flood-color", "lighting-color", "solid-color",
    "text-decoration-color",
)  # fmt: skip
"""What holds a colour, as an attribute or in a style."""

_DECLARED = re.compile(rf"(?<![\w-])({'|'.join(PROPERTIES)})(\s*:\s*)([^;}}\"]+)")
_COLOUR = re.compile(
    r"#[0-9a-fA-F]{3,8}\b|(?:rgba?|hsla?|hwb|(?:ok)?l(?:ab|ch)|color)\([^)]*\)"
    r"|(?<![\w#(-])[a-zA-Z]+(?![\w(-])"
)
_BLACK: Level = (0, 0, 0)


def level(text: str) -> Level | None:
    """The colour that a text says in CSS, without how clear it is; None for any other text.

    >>> level("#369"), level("SteelBlue"), level("none")
    ((51, 102, 153), (70, 130, 180), None)
    """
    colour = Colour.read(text)
    return None if colour is None or text.strip() == "transparent" else colour[:3]


def grey(colour: Level) -> Level:
    """The grey that is as light as a colour: of the same luminance (sRGB, IEC 61966-2-1).

    >>> grey((255, 255, 255)), grey((255, 0, 0)), grey((0, 0, 255))
    ((255, 255, 255), (127, 127, 127), (76, 76, 76))
    """
    light = linear_light(np.array(colour) / 255) @ np.array((0.2126, 0.7152, 0.0722))
    return (round(255 * from_light(float(light))),) * 3


class _Colours:
    """Which colour stands for which; those that were met are noted."""

    def __init__(self, change: Mapping[Level, Level], *, greys: bool) -> None:
        self._change = change
        self._greys = greys
        self.met: set[Level] = set()

    def of(self, colour: Level) -> Level:
        self.met.add(colour)
        return self._change.get(colour, grey(colour) if self._greys else colour)

    def written(self, match: re.Match[str]) -> str:
        colour = level(match[0])
        if colour is None:
            return match[0]
        new, old = self.of(colour), Colour.read(match[0])
        return match[0] if new == colour or old is None else str(Colour(*new, old.alpha))

    def in_value(self, value: str) -> str:
        return _COLOUR.sub(self.written, value)

    def in_style(self, style: str) -> str:
        return _DECLARED.sub(lambda m: m[1] + m[2] + self.in_value(m[3]), style)

    def picture(self, link: str) -> str:
        """An embedded picture in other colours; those it has not are left, pixel by pixel."""
        try:
            drawing = drawing_of(link)
            if drawing is not None:
                _change(drawing, self)
                return _data_link("image/svg+xml", bytes(etree.tostring(drawing)))
            image = Image.open(io.BytesIO(data_of(link)))
            pixels = np.asarray(image.convert("RGBA")).copy()
        except (OSError, ValueError):
            return link  # it is refused where it is drawn
        rgb = pixels[..., :3]
        old, places = np.unique(rgb.reshape(-1, 3), axis=0, return_inverse=True)
        new = np.array([self.of((int(r), int(g), int(b))) for r, g, b in old], dtype=np.uint8)
        if (new == old).all():
            return link
        pixels[..., :3] = new[places.ravel()].reshape(rgb.shape)
        target = io.BytesIO()
        Image.fromarray(pixels).save(target, "PNG")
        return _data_link("image/png", target.getvalue())


def _data_link(kind: str, data: bytes) -> str:
    return f"data:{kind};base64,{base64.b64encode(data).decode()}"


@functools.lru_cache(maxsize=64)
def recoloured(data: bytes, change: tuple[tuple[Level, Level], ...], *, greys: bool) -> bytes:
    """A drawing in other colours; ``change`` has pairs of the drawing's and what stands for it.

    With ``greys`` all other colours become greys as light as they are. What is no SVG comes back
    as it is: reading it says what is wrong with it.
    """
    try:
        root = etree.fromstring(data, etree.XMLParser(huge_tree=True, no_network=True))
    except etree.XMLSyntaxError:
        return data
    colours = _Colours(dict(change), greys=greys)
    _change(root, colours)
    return bytes(etree.tostring(root, xml_declaration=True, encoding="utf-8"))


def colours_in(data: bytes) -> frozenset[Level]:
    """All colours that a drawing asks for, black among them; none of what is no SVG."""
    try:
        root = etree.fromstring(data, etree.XMLParser(huge_tree=True, no_network=True))
    except etree.XMLSyntaxError:
        return frozenset()
    colours = _Colours({}, greys=False)
    _change(root, colours)
    return frozenset(colours.met) | {_BLACK}


def _change(root: etree._Element, colours: _Colours) -> None:
    for element in root.iter(etree.Element):
        for name in PROPERTIES:
            if name in element.attrib:
                element.set(name, colours.in_value(str(element.get(name))))
        if "style" in element.attrib:
            element.set("style", colours.in_style(str(element.get("style"))))
        if element.tag == SVG + "style" and element.text:
            element.text = colours.in_style(element.text)
        if element.tag == SVG + "image" and href(element).startswith("data:"):
            link = next(name for name in HREFS if name in element.attrib)
            element.set(link, colours.picture(href(element)))
    if root.get("fill") is None and (black := colours.of(_BLACK)) != _BLACK:
        root.set("fill", "#{:02x}{:02x}{:02x}".format(*black))  # what has no paint of its own
