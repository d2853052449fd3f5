"""What vector editors can save and the drawing engine does not draw, as a table.

Each row says how a thing is known in a drawing's plain form, what happens to it, and what to do.
A row is here because a sample of it, drawn by us and by a second SVG engine, came out different.
"""

from __future__ import annotations

import re
from dataclasses import dataclass

from lxml import etree

from pipeline.fill.cascade import SVG
from pipeline.lint.drawing import SHAPES, Drawing
from pipeline.lint.finding import Severity

_AS_PICTURE = "turn it into a picture in the editor, or draw it without"
_TEXT = frozenset(("text", "tspan", "textPath"))
_DRAWN = frozenset(tag.removeprefix(SVG) for tag in SHAPES)


@dataclass(frozen=True)
class Undrawn:
    """One thing that is not drawn, or not as the editor shows it.

    It is known by its element's name (``elements``; empty for any) and, where ``properties`` are
    given, by one of them whose value matches ``value``.
    """

    name: str
    message: str
    remedy: str
    elements: frozenset[str] = frozenset()
    properties: tuple[str, ...] = ()
    value: str = r"(?!none$)."
    severity: Severity = Severity.MEND

    def holds_for(self, element: etree._Element) -> bool:
        """Whether the element is such a thing."""
        tag = str(element.tag).removeprefix(SVG)
        if self.elements and tag not in self.elements:
            return False
        if not self.properties:
            return True
        return any(
            re.match(self.value, value.strip(), re.IGNORECASE)
            for value in (_own(element, name) for name in self.properties)
            if value
        )


def _own(element: etree._Element, name: str) -> str:
    """A property an element itself declares, also one that only a style can hold."""
    value = element.get(name)
    if value is not None:
        return value
    for declaration in (element.get("style") or "").split(";"):
        key, _, styled = declaration.partition(":")
        if key.strip() == name:
            return styled
    return ""


UNDRAWN: tuple[Undrawn, ...] = (
    Undrawn(
        "filter",
        "has a filter (a blur, a shadow), which is not drawn",
        _AS_PICTURE,
        properties=("filter",),
    ),
    Undrawn(
        "blend",
        "is blended with what lies below it, which is not drawn",
        "give it the colour it should have there",
        properties=("mix-blend-mode",),
        value=r"(?!normal$).",
    ),
    Undrawn(
        "foreign",
        "holds something that is not SVG, which is not drawn",
        _AS_PICTURE,
        elements=frozenset(("foreignObject", "video", "audio", "iframe", "canvas")),
    ),
    Undrawn(
        "flowed text",
        "is text flowed into a frame in a way only its editor knows, which is not drawn",
        "convert it to text in the editor (in the Text menu)",
        elements=frozenset(("flowRoot",)),
    ),
    Undrawn(
        "text reference",
        "is text taken from elsewhere, which is not drawn",
        "write the text here",
        elements=frozenset(("tref",)),
    ),
    Undrawn(
        "mesh",
        "is a mesh gradient or a hatch, which is not drawn",
        "use a linear or radial gradient, or lines",
        elements=frozenset(("meshgradient", "meshGradient", "mesh", "hatch")),
    ),
    Undrawn(
        "animation",
        "is animated; only its first moment is printed",
        "take the animation out",
        elements=frozenset(
            ("animate", "animateColor", "animateMotion", "animateTransform", "set", "discard")
        ),
        severity=Severity.LOOK,
    ),
    Undrawn(
        "SVG font",
        "is a font drawn in SVG, which is not used",
        "put a TTF or OTF file into the collection's fonts/ folder",
        elements=frozenset(("font", "glyph", "missing-glyph", "font-face")),
    ),
    Undrawn(
        "vertical text",
        "is set from top to bottom, which is not drawn so",
        "turn a level text by 90 degrees",
        elements=_TEXT,
        properties=("writing-mode",),
        value=r"tb|vertical|sideways",
    ),
    Undrawn(
        "text length",
        "is stretched to a given length, which is not drawn so",
        "set letter-spacing instead",
        elements=_TEXT,
        properties=("textLength",),
        value=r".",
        severity=Severity.LOOK,
    ),
    Undrawn(
        "capitals by style",
        "is turned into other letters by its style, which is not drawn so",
        "type it as it should read",
        elements=_TEXT,
        properties=("text-transform",),
    ),
    Undrawn(
        "text decoration",
        "has a line over it, or a shadow, which is not drawn",
        "draw it as a line of its own",
        elements=_TEXT,
        properties=("text-decoration", "text-decoration-line", "text-shadow"),
        value=r".*overline|.*px|.*rgb|.*#",
    ),
    Undrawn(
        "text side",
        "runs along the other side of its path, or along one of its own, which is not drawn so",
        "turn the path round (reverse it) and refer to it",
        elements=frozenset(("textPath",)),
        properties=("side", "path"),
        value=r"(?!left$).",
    ),
    Undrawn(
        "text pattern",
        "is text filled with a pattern, which comes out at another scale",
        "use a plain colour or a gradient",
        elements=_TEXT,
        properties=("fill", "stroke"),
        value=r"pattern",
    ),
    Undrawn(
        "dashed letters",
        "has dashed outlines, which are drawn whole",
        "turn the letters into paths if no key needs them",
        elements=_TEXT,
        properties=("stroke-dasharray",),
        severity=Severity.LOOK,
    ),
    Undrawn(
        "paint order",
        "has its outline painted below its fill, which is drawn the other way round",
        "put a copy with the outline below it",
        elements=_DRAWN | {"g"},
        properties=("paint-order",),
        value=r"stroke|markers",
    ),
    Undrawn(
        "turned by style",
        "is moved or turned about a point of its style's, which is not drawn so",
        "apply the transform to the object in the editor",
        properties=("transform-origin", "transform-box"),
        value=r".",
    ),
    Undrawn(
        "style transform",
        "is turned in units that are not drawn so",
        "apply the transform to the object in the editor",
        properties=("transform",),
        value=r".*\d(deg|rad|turn|grad|%|em|mm|cm|in|pt)",
    ),
    Undrawn(
        "clip",
        "is clipped by a basic shape in its style, which is not drawn",
        "clip it with a path in the editor",
        properties=("clip-path",),
        value=r"(?!none$|url\().",
    ),
    Undrawn(
        "colour",
        "has a colour written in a way that is not drawn",
        "write it as #rrggbb, with the opacity apart",
        properties=("fill", "stroke", "stop-color", "color"),
        value=r"hsla?\(|hwb\(|lab\(|lch\(|oklab\(|oklch\(|color\(|device-cmyk|var\(|rgb\([^,]*\)"
        r"|.*icc-color|#[0-9a-f]{8}$|#[0-9a-f]{4}$|context-",
    ),
    Undrawn(
        "computed length",
        "has a length that must be computed, which is not drawn",
        "give it as a number",
        properties=("x", "y", "width", "height", "rx", "ry", "cx", "cy", "r", "stroke-width"),
        value=r".*(calc|var|min|max|clamp)\(",
    ),
    Undrawn(
        "language switch",
        "is meant for some languages only, but is drawn in all",
        "use labels for words, and delete what is not meant",
        properties=("systemLanguage",),
        value=r".",
        severity=Severity.LOOK,
    ),
    Undrawn(
        "link",
        "refers to something in another file, which is not drawn",
        "copy it into this drawing",
        elements=frozenset(("use",)),
        properties=("href", "{http://www.w3.org/1999/xlink}href"),
        value=r"[^#]",
    ),
)  # fmt: skip
"""Everything that is known not to be drawn as an editor shows it."""


def check_undrawn(drawing: Drawing) -> None:
    """Names every element that the drawing engine leaves out or draws otherwise."""
    for element in drawing.template.root.iter():
        for row in UNDRAWN:
            if row.holds_for(element):
                drawing.say(row.severity, "undrawn", element, row.message, row.remedy)
    for script in drawing.raw.iter(SVG + "script"):
        drawing.say(
            Severity.NOTE, "undrawn", script, "is a script, which is left out", "take it out"
        )
