"""What SVG has and leafset does not draw, why, and what to do: refused by name, never drawn wrong.

Everything else of SVG 1.1 is drawn, or simplified first (``simplify.py``). What is never printed,
such as a hidden layer, may hold anything.
"""

from __future__ import annotations

import contextlib
import math
import re
from collections.abc import Iterator, Mapping
from types import TracebackType
from typing import NamedTuple

from lxml import etree

from pipeline.base.errors import UserError
from pipeline.svg.path import begins_with_move
from pipeline.svg.styles import AS_WRITTEN, KEYWORDS, are_plain, unread_rule
from pipeline.svg.tree import (
    DEFINITIONS,
    SVG,
    by_id,
    drawing_of,
    href,
    is_huge,
    lineage,
    links,
    names,
    pixels_of,
    size_of,
)
from pipeline.text.style import length, parts


class Unsupported(NamedTuple):
    """A feature that is refused: what it is called, why, and what the illustrator can do."""

    what: str
    why: str
    remedy: str


class Found(NamedTuple):
    """A refused feature, and the element it was found on."""

    feature: Unsupported
    element: etree._Element


MOST_DEPTH = 100
"""Groups and the like in each other; drawings that people make have some tens at most."""

MOST_NESTED = 4
"""Patterns, masks and markers in each other."""

MOST_ELEMENTS = 40_000
"""Elements that are drawn, copies counted: some seconds of work."""

MOST_OUTLINES_MB = 3
"""Path data of a drawing: some seconds of work."""

MOST_LETTERS = 100_000
"""Letters of a drawing, copies counted: three pages of the smallest print."""

_MOST_ATTRIBUTES = 500
_MOST_STOPS = 1_000
_MOST_EFFECTS = 1_000
_MOST_STYLES_KB = 500
"""Of what styles say in more than plain words: some seconds to read."""
_MOST_PIXELS = 100_000_000
"""Of all pictures on a page: some seconds to unpack; a sheet of A4 has 35 million at 600 to the
inch."""
MOST_UNITS = 1e7
"""Coordinates of a drawing, in units of its own: 10 km of a page in millimetres."""

_FLAT = "draw it with flat shapes"

ELEMENTS: Mapping[str, Unsupported] = {
    name: Unsupported(what, why, remedy)
    for name, what, why, remedy in (
        ("foreignObject", "something that isn't a drawing, such as a piece of a web page",
         "only drawn shapes, text and pictures print", "delete it, and " + _FLAT),
        ("meshgradient", "a mesh gradient", "SVG has no meshes", "use a linear or radial gradient"),
        ("hatch", "a hatch", "SVG 1.1 has no hatches", "use a pattern, or draw the lines"),
        ("altGlyph", "a special form of a letter, picked from a table of the font's signs",
         "it is kept by number, and another copy of the font may have another there",
         "type the ordinary letter"),
        ("tref", "text that repeats another text by itself", "it is no longer part of SVG",
         "type the words there"), ("video", "a film", "paper doesn't move", "delete it"),
        ("audio", "a sound", "paper is silent", "delete it"),
        ("canvas", "a picture that a small program in the file paints",
         "programs in drawings are not run", "delete it"),
        ("iframe", "a web page inside the drawing", "only drawn shapes, text and pictures print",
         "delete it"),
        *(
            (tag, "an animation", "paper doesn't move", "delete it")
            for tag in ("animate", "animateTransform", "animateMotion", "set")
        ),
    )
}  # fmt: skip
"""Elements that are refused wherever they would be printed."""


class Property(NamedTuple):
    """A property that is refused, unless its whole value matches ``drawn``."""

    drawn: str
    feature: Unsupported


PROPERTIES: Mapping[str, Property] = {
    name: Property(drawn, Unsupported(what, why, remedy))
    for name, drawn, what, why, remedy in (
        ("mix-blend-mode", "(?!plus-).*", "the blend mode 'plus lighter' or 'plus darker'",
         "PDF has no such mode", "use another one, such as screen or multiply"),
        ("vector-effect", "none|non-scaling-stroke",
         "a rule for how a shape keeps its size or place on a screen",
         "paper has no such thing", "turn the shape into a path"),
        ("clip", "auto|rect\\((\\s*auto[\\s,]*){4}\\)", "a cropping rectangle of an outdated kind",
         "programs differ on what it means here", "release it, and clip with a drawn shape"),
        ("writing-mode", "(horizontal|lr|rl|tb|vertical|sideways-rl).*", "text that runs upwards",
         "SVG only knows lines and columns", "rotate a horizontal text"),
        ("text-combine-upright", "none", "letters set side by side in a column",
         "letters of a column stand one below the other", "type them as a text of their own"),
        ("glyph-orientation-horizontal", "auto|0(deg)?", "turned letters",
         "it is no longer part of SVG", "turn the whole text"),
        ("font-palette", "normal|light|dark", "a colour font in colours that were changed",
         "it prints in the colours it comes with", "choose its usual colours, or another font"),
        ("transform-box", "view-box|fill-box|content-box",
         "a turn or stretch about an unusual point",
         "only an object's own box and the page can be used",
         "convert the object to a path"),
        ("offset-path", "none", "an object moved along a path", "it only works in a browser",
         "put it in its place by hand"),
        ("backdrop-filter", "none", "an effect that changes what lies behind an object",
         "it would have to be turned into pixels", "take the effect off"),
        ("clip-path",
         "none|url\\(.*\\)|((inset|circle|ellipse|polygon|path|rect|xywh)\\(.*\\)|[a-z]+-box|\\s)+",
         "a clip by a shape that was written, not drawn", "it is of a kind that is not known here",
         "release it, and clip with a drawn path"),
        ("mask", "none|url\\(.*\\)", "a mask of an unusual kind",
         "only objects in the same file can be masks", "release it, and mask with a drawn object"),
    )
}  # fmt: skip
"""Properties (and attributes) that are refused unless their value matches."""

# fmt: off
VARIABLES = Unsupported("a colour, size or place that is kept as a formula",
                        "this one cannot be worked out",
                        "choose the colour or type the size again in your drawing program")
LINKED_PICTURE = Unsupported("a picture outside the file",
                             "a template must contain everything it shows", "embed the picture")
COLUMN_ON_PATH = Unsupported("text in columns, put on a path",
                             "on a path, letters run along it",
                             "make the text run across")
FLOW_SHAPE = Unsupported("text that fills a shape, and whose lines aren't in the file",
                         "only the program it was made with knows how it fills such a shape",
                         "save it again from that program, or flow it into an upright rectangle")
SVG_PICTURE = Unsupported("a picture that is a broken SVG file", "it cannot be read",
                          "open it, and paste its shapes into your drawing")
UNREADABLE_PICTURE = Unsupported("a picture that cannot be read", "it is broken or unknown",
                                 "open it, export it as PNG or JPEG and embed that")
HUGE_PICTURE = Unsupported("a picture of more than 50 million pixels, or 30,000 in a line",
                           "a sheet of A4 has 35 million at 600 to the inch, more than is printed",
                           "make it smaller in a picture editor and embed that")
OUTSIDE_OBJECT = Unsupported("an object from another file",
                             "a template must contain everything it shows",
                             "copy it into the template")
ENDLESS = Unsupported("something that contains itself", "it would never end",
                      "delete it, or unlink that copy, and draw it anew")
BOX_OF_TEXT = Unsupported("a pattern or clip that stretches with a text",
                          "a text is as long as what it says on each page",
                          "fill it with a plain colour or a gradient, or release the clip")
NO_COLOUR = Unsupported("an invalid colour", "it cannot be read",
                        "choose the colour again, or write it like #336699")
NO_MOVE = Unsupported("a path without a starting point", "it cannot be told where it begins",
                      "delete the path and draw it again")
NO_TRANSFORM = Unsupported("a turn, stretch or slant (a transform) that cannot be read",
                           "it is written wrongly, or is three-dimensional",
                           "draw the object again")
DRAWING_IN_FILTER = Unsupported("an effect with a drawing (an SVG file) in it",
                                "effects only take pictures of pixels",
                                "take the effect off, and lay the drawing there")
PART_FOR_LANGUAGE = Unsupported(
    "content for one language in a text, clip, mask, pattern or marker",
    "only whole texts, shapes and groups can be left out of a page",
    "draw each language's words or shape as a text or shape of its own, outside of it")
PART_SHADOW = Unsupported("a text shadow on a part of a text", "an effect takes a text as a whole",
                          "type that part as a text of its own")
PART_UNSCALED = Unsupported(
    "a line whose width does not scale, in a pattern, mask, marker or filter",
    "what it is part of has a scale of its own",
    "turn the line into a shape (stroke to path)")
STRETCHED_UNSCALED = Unsupported(
    "a line whose width does not scale, on a stretched shape with a gradient, pattern or markers",
    "those would be stretched with the shape, and the line not",
    "turn the line into a shape (stroke to path)")
PAGE_TRANSFORM = Unsupported("a page that is turned or scaled as a whole", "a page lies as it is",
                             "turn or scale its layers instead")
TOO_DEEP = Unsupported(f"things nested more than {MOST_DEPTH} deep",
                       "no drawing needs that, and it may never end", "ungroup them")
TOO_NESTED = Unsupported(
    f"more than {MOST_NESTED} clips, patterns, masks or markers one within another",
    "each has to be drawn again within the other", "replace the inner ones by shapes")
TOO_MANY = Unsupported(
    f"more than {MOST_ELEMENTS:,} things on a page, copies counted",
    "it would take too long to draw",
    "unite shapes of a colour into one, or embed the artwork as a picture")
TOO_MANY_ATTRIBUTES = Unsupported(
    f"an object with more than {_MOST_ATTRIBUTES} hidden entries", "no drawing program saves that",
    "it is probably damaged: delete it, and draw it again")
TOO_LONG = Unsupported(
    f"more than {MOST_OUTLINES_MB} MB of outlines on a page", "it would take too long to draw",
    "simplify the paths, or embed the artwork as a picture")
TOO_MANY_LETTERS = Unsupported(
    f"more than {MOST_LETTERS:,} letters on a page, copies counted",
    "nobody could read them, and they would take too long to set",
    "delete what isn't needed")
TOO_MANY_STOPS = Unsupported(
    f"a gradient of more than {_MOST_STOPS:,} stops", "nobody can tell them apart",
    "draw the gradient again with fewer")
TOO_MANY_EFFECTS = Unsupported(
    f"more than {_MOST_EFFECTS:,} soft effects on a page",
    "each is printed as a picture of its own",
    "group what has the same effect, take it off each and give it to the group; or embed the"
    " artwork as a picture")
TOO_MANY_STYLES = Unsupported(
    f"more than {_MOST_STYLES_KB} kB of hidden styles, or too many of them",
    "they would take too long to read", "save the drawing as plain SVG")
TOO_MANY_TILES = Unsupported(
    "patterns of too many, too small tiles",
    "they would take too long to draw", "make the tiles larger, or simpler")
TOO_MANY_PIXELS = Unsupported(
    f"pictures of more than {_MOST_PIXELS // 1_000_000} million pixels together",
    "a sheet of A4 has 35 million at 600 to the inch, more than is printed",
    "make them smaller in a picture editor and embed those")
TOO_LARGE = Unsupported("a place or a size past all paper", "it cannot be on a page",
                        "delete it, or draw it again")
TOO_FINE = Unsupported("dashes, tiles or repeats too fine to be told apart",
                       "they print as a tint, or take for ever",
                       "make them larger, or use a plain colour")
BRACKETS = Unsupported("a hidden style that is written wrongly", "it cannot be read",
                       "save the drawing as plain SVG")
OUTSIDE_STYLES = Unsupported("styles that are kept in another file",
                             "a template must contain everything it shows",
                             "if it is for a font, install the font and choose it again; else save"
                             " the drawing as plain SVG")
UNREAD_RULE = Unsupported("a hidden style that depends on the screen or window",
                          "a page is only ever printed",
                          "save the drawing again as plain SVG")
# fmt: on

OTHERS = (
    VARIABLES, LINKED_PICTURE, SVG_PICTURE, UNREADABLE_PICTURE, HUGE_PICTURE, OUTSIDE_OBJECT,
    ENDLESS,
    BOX_OF_TEXT,
    NO_COLOUR, NO_MOVE, NO_TRANSFORM, COLUMN_ON_PATH, FLOW_SHAPE, PART_FOR_LANGUAGE,
    PART_SHADOW, PART_UNSCALED, STRETCHED_UNSCALED, PAGE_TRANSFORM, TOO_DEEP, TOO_NESTED, TOO_MANY,
    TOO_MANY_ATTRIBUTES, TOO_LONG, TOO_MANY_LETTERS, TOO_MANY_STOPS, TOO_MANY_EFFECTS,
    TOO_MANY_STYLES, TOO_MANY_TILES, TOO_MANY_PIXELS, TOO_LARGE, TOO_FINE, BRACKETS,
    OUTSIDE_STYLES, UNREAD_RULE, DRAWING_IN_FILTER,
)  # fmt: skip
"""What is refused for what it holds or refers to, and not for its name alone."""


def every_feature() -> Iterator[Unsupported]:
    """All that is refused, for a table in the guide."""
    yield from dict.fromkeys(
        (*ELEMENTS.values(), *(each.feature for each in PROPERTIES.values()), *OTHERS)
    )


def error(element: etree._Element, feature: Unsupported, name: str) -> UserError:
    """The error for a feature of an element; ``name`` is the file's."""
    within, identifier = _named(element)
    where = name if within is element else f"{name}, <{str(element.tag).removeprefix(SVG)}>"
    what = f"{feature.what}: {feature.why}" if feature.why else feature.what
    return UserError(where, what, feature.remedy, element=identifier)


def refuse_excess(root: etree._Element, name: str) -> None:
    """Raises UserError for a drawing that is too deep or too much to be read at all.

    ``root`` is the drawing as it was saved, ``name`` its file's.
    """
    refuse_depth(root, MOST_DEPTH, name)
    elements = outlines = written = effects = 0
    styles: set[str] = set()
    for element in root.iter(etree.Element):
        elements += 1
        if len(element.attrib) > _MOST_ATTRIBUTES:
            raise error(element, TOO_MANY_ATTRIBUTES, name)
        outlines += len(element.get("d") or element.get("points") or "")
        style = element.get("style") or ""
        styles.add(style)
        effects += "filter" in element.attrib or "filter:" in style
        styles.update(
            str(value)
            for key, value in element.attrib.items()
            if len(value) > _LONG_VALUE and not _LISTS.match(str(key))
        )
        if element.tag == SVG + "style":
            styles.add(_EMBEDDED.sub("", element.text or ""))
        elif element.tag == SVG + "text":
            written += letters_in(element)
        elif len(element) > _MOST_STOPS and element.tag in _GRADIENTS:
            raise error(element, TOO_MANY_STOPS, name)
    if elements > MOST_ELEMENTS:
        raise error(root, TOO_MANY, name)
    if outlines > MOST_OUTLINES_MB * 1_000_000:
        raise error(root, TOO_LONG, name)
    if effects > _MOST_EFFECTS:
        raise error(root, TOO_MANY_EFFECTS, name)
    if written > MOST_LETTERS:
        raise error(root, TOO_MANY_LETTERS, name)
    said = sum(len(style) for style in styles if not are_plain(style))
    if said > _MOST_STYLES_KB * 1_000:
        raise error(root, TOO_MANY_STYLES, name)


_LONG_VALUE = 100
"""Letters; such as in filters and clips by a shape, which are read as styles are."""
_LISTS = re.compile(
    r"\{|data-|([xy]|dx|dy|rotate|transform|gradientTransform|patternTransform|tableValues|stroke-dasharray"
    rf"|kernelMatrix|{'|'.join(map(re.escape, sorted(AS_WRITTEN)))})$"
)
"""Attributes of lists of numbers, and those that are no CSS values."""
_EMBEDDED = re.compile(r"""url\(\s*["']?data:[^)]*\)""")
"""A face or a picture within a style sheet."""
_GRADIENTS = (SVG + "linearGradient", SVG + "radialGradient")


def letters_in(element: etree._Element) -> int:
    """How many letters are in an element."""
    return sum(map(len, element.itertext()))


def refuse_depth(root: etree._Element, most: int, name: str) -> None:
    """Raises UserError where things in a drawing are more than ``most`` deep in each other."""
    deepest = root.find("/".join("*" * most))
    if deepest is not None:
        raise error(deepest, TOO_DEEP, name)


def refuse(root: etree._Element, name: str) -> None:
    """Raises UserError for the first thing in a template that would not be drawn right.

    ``root`` is the template with its styles resolved, ``name`` its file's.
    """
    for found in unsupported(root):
        raise error(found.element, found.feature, name)


def unsupported(root: etree._Element) -> Iterator[Found]:
    """All refused features that would be printed, styles for certain devices first."""
    for sheet in root.iter(SVG + "style"):
        rule = unread_rule(sheet)
        features = {
            "@import": OUTSIDE_STYLES, "brackets": BRACKETS, "too much": TOO_MANY_STYLES,
        }  # fmt: skip
        yield Found(features.get(str(rule), UNREAD_RULE), sheet)
    pictures: set[str] = set()
    pixels = 0
    for element in printed(root):
        tag = str(element.tag).removeprefix(SVG)
        if tag in ELEMENTS:
            yield Found(ELEMENTS[tag], element)
        for feature in _of_attributes(element, tag):
            yield Found(feature, element)
        link = href(element) if tag in ("image", "feImage") else ""
        fresh = link and link not in pictures
        if fresh:
            pictures.add(link)
            pixels += math.prod(pixels_of(link))
        held = TOO_MANY_PIXELS if fresh and pixels > _MOST_PIXELS else _held(element, tag)
        if held:
            yield Found(held, element)


_COMPUTED = re.compile(r"\b(?:var|calc|env|min|max|clamp)\(")


def _of_attributes(element: etree._Element, tag: str) -> list[Unsupported]:
    found: list[Unsupported] = []
    for name, value in element.attrib.items():
        if name not in PROPERTIES and "(" not in value and name != "style":
            continue
        rule = PROPERTIES.get(str(name).strip())
        if rule is not None:
            if str(value) in KEYWORDS:
                continue
            drawn = re.fullmatch(rule.drawn, str(value).strip(), re.IGNORECASE)
            if not drawn and not _harmless(element, tag, str(name).strip()):
                found.append(rule.feature)
        if name == "style":  # left there
            found.append(BRACKETS)
        elif (
            "(" in value and not str(name).startswith("data-") and _unsolved(str(name), str(value))
        ):
            found.append(VARIABLES)
    return found


_LENGTHS = frozenset(
    ("x", "y", "width", "height", "rx", "ry", "cx", "cy", "r", "x1", "y1", "x2", "y2", "fx", "fy",
     "fr", "dx", "dy", "textLength", "inline-size", "shape-padding", "line-height",
     "text-decoration-thickness", "text-underline-offset", "stroke-width", "stroke-dasharray",
     "stroke-dashoffset", "font-size", "letter-spacing", "word-spacing", "baseline-shift",
     "startOffset", "markerWidth", "markerHeight", "refX", "refY", "transform", "transform-origin",
     "gradientTransform", "patternTransform")
)  # fmt: skip
"""Attributes that arithmetic with shares and units of type is worked out in."""


def _unsolved(name: str, value: str) -> bool:
    """Whether a value holds a variable, or arithmetic that is not worked out."""
    if not _COMPUTED.search(value):
        return False
    if name not in _LENGTHS or re.search(r"\b(?:var|env)\(", value):
        return True
    if "ransform" in name:  # which is read, or refused, as a whole
        return False
    return any(math.isnan(length(part, 1.0, 1.0, math.nan)) for part in parts(value))


_OLD_CLIP = re.compile(r"rect\(\s*(?:(?:auto|[-+.\w]+)[\s,]*){4}\)", re.IGNORECASE)


def _harmless(element: etree._Element, tag: str, name: str) -> bool:
    """Whether a refused attribute is drawn, or asks for nothing, where it stands."""
    if name == "clip":
        if tag in ("symbol", "image") or (tag == "svg" and element.getparent() is not None):
            return _OLD_CLIP.fullmatch(str(element.get(name)).strip()) is not None
        return tag not in ("svg", "pattern", "marker", "foreignObject")
    return False


def _held(element: etree._Element, tag: str) -> Unsupported | None:
    """What is refused of what an element holds or refers to."""
    if tag == "svg" and element.getparent() is None:
        moved = element.get("transform", "none").strip() not in ("", "none")
        return PAGE_TRANSFORM if moved else None
    if tag == "path":
        d = str(element.get("d") or "")
        return None if begins_with_move(d) or d.strip() == "none" else NO_MOVE
    link = href(element)
    if (tag == "image" or (tag == "feImage" and link[:1] != "#")) and link:  # else it is empty
        head = link.partition(",")[0].lower()
        if not head.startswith("data:"):
            return LINKED_PICTURE
        try:
            drawn = drawing_of(link) is not None
        except ValueError:
            return SVG_PICTURE
        if drawn and tag == "feImage":
            return DRAWING_IN_FILTER
        if not drawn and is_huge(link):
            return HUGE_PICTURE
        readable = drawn or size_of(link) is not None
        return None if readable else UNREADABLE_PICTURE
    refers = tag in ("use", "textPath", "linearGradient", "radialGradient", "pattern")
    return OUTSIDE_OBJECT if refers and link and not link.startswith("#") else None


_NEVER_DRAWN = frozenset(("metadata", "title", "desc", "script", "view", "cursor"))


def printed(root: etree._Element) -> Iterator[etree._Element]:
    """Every element that can leave ink, and every one that those refer to, once."""
    known = by_id(root)
    seen: set[etree._Element] = set()
    waiting = [root]
    while waiting:
        start = waiting.pop()
        for element in _shown(start, top=True):
            if element in seen:
                continue
            seen.add(element)
            yield element
            for wanted in links(element):
                target = known.get(wanted)
                if target is not None and target not in seen:
                    waiting.append(target)


def _shown(start: etree._Element, top: bool = False) -> Iterator[etree._Element]:
    """What is drawn of an element, in the order of the file; ``top`` asks for a definition."""
    waiting = [start]
    while waiting:
        element = waiting.pop()
        if not isinstance(element.tag, str) or not element.tag.startswith(SVG):
            continue
        tag, asked = element.tag.removeprefix(SVG), top and element is start
        if tag in _NEVER_DRAWN or "requiredExtensions" in element.attrib:
            continue
        hidden = element.tag in DEFINITIONS or tag == "style" or element.get("display") == "none"
        if hidden and not asked:
            continue
        yield element
        children = list(element)
        if tag == "switch":
            shown = [child for child in children if next(_shown(child), None) is not None]
            places = enumerate(shown, 1)
            last = (place for place, each in places if "systemLanguage" not in each.attrib)
            children = shown[: next(last, len(shown))]
        waiting += reversed(children)


def _named(element: etree._Element) -> tuple[etree._Element | None, str]:
    """The element itself or the nearest around it that has an id or a name, and that."""
    for step in lineage(element):
        named = step.get("id") or next(iter(names(step)), None)
        if named:
            return step, named
    return None, ""


@contextlib.contextmanager
def reading(name: str) -> Iterator[None]:
    """Raises whatever goes wrong meanwhile with the template called ``name`` as a UserError.

    A drawing may hold what nobody thought of. Its illustrator is told which element was being
    looked at when it went wrong.
    """
    try:
        yield
    except UserError:
        raise
    except Exception as problem:
        element = _at_hand(problem.__traceback__)
        what = f"cannot be read ({type(problem).__name__}: {problem})"
        if element is None:
            raise UserError(name, what, "save it again from the vector editor") from problem
        raise error(
            element, Unsupported(what, "", "draw it again, or delete it"), name
        ) from problem


def _at_hand(traceback: TracebackType | None) -> etree._Element | None:
    """The element that the innermost function which had one was given or last looked at."""
    found = None
    while traceback is not None:
        values = traceback.tb_frame.f_locals.values()
        mine = [value for value in values if isinstance(value, etree._Element)]
        found = next((one for one in mine if one.getparent() is not None), (*mine, found)[0])
        traceback = traceback.tb_next
    return found
