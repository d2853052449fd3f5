"""What in a drawing a second engine draws otherwise, from the file as it was saved.

The engine is resvg. What it is known to lack, or to have otherwise than the standards say, is left
out of what both draw; the pages of ``tests/draw/feature_pages`` hold that list to what is needed.
"""

from __future__ import annotations

import copy
import functools
import io
import itertools
import json
import math
import re
import tempfile
from collections.abc import Iterator, Mapping, Sequence
from pathlib import Path

import numpy as np
import resvg_py
from fontTools.ttLib import TTFont
from lxml import etree
from PIL import Image, ImageFilter

from pipeline.base.cache import Cache, key_of
from pipeline.base.errors import UserError
from pipeline.base.geometry import MM_PER_INCH, Rect
from pipeline.draw import draw
from pipeline.drawings.checks.inspection import DrawingFinding, Inspection, is_key, text_boxes
from pipeline.drawings.checks.sourcetext import NUMBER, number_of, read_on
from pipeline.fill.template import Template, TemplateFile, computed_style, keep_names, trimmed
from pipeline.proof.read.raster import opened, page_picture
from pipeline.svg.markers import KINDS
from pipeline.svg.path import SHAPES, Point, box_of, outline
from pipeline.svg.styles import resolve_styles
from pipeline.svg.transform import parse_transform, view_box
from pipeline.svg.tree import (
    HREFS,
    NAMES,
    SVG,
    data_of,
    drawing_of,
    href,
    inherited,
    lineage,
    link_to,
    links,
    names,
    page_matrix,
    picture_of,
    remove,
    strip,
    target,
)
from pipeline.text.style import families, length

_PER_MM = 3
"""Pixels to the millimetre of the pictures that are compared."""

_LEVELS = 64
"""How far (of 255) a colour may be beyond all that the other picture has within a pixel."""

_CELL = 6
"""How many pixels a side of the squares has in which what differs is counted, 2 mm; what differs
in less than three tenths of one is how an edge falls on pixels (by eye)."""

_PX_MM = MM_PER_INCH / 96


def check_other_engine(inspection: Inspection, cache: Cache) -> Iterator[DrawingFinding]:
    """Places that resvg, a second engine, draws otherwise from the file as it was saved.

    What it finds is kept, so that a drawing is compared once.
    """
    judged = _judged(inspection)
    if judged is None:
        return
    template, root = judged
    plain, saved = bytes(etree.tostring(template.root)), _saved(root)
    try:
        asked = sorted(_faces(inspection, template.root, root).items())
    except UserError:
        return  # of a font, which has a finding of its own
    key = key_of("otherwise", plain, saved, *itertools.chain.from_iterable(asked))

    def compared() -> bytes:
        size = template.width_mm, template.height_mm
        with opened(draw([plain], inspection.book)) as pdf:
            ours = page_picture(pdf[0], _PER_MM * MM_PER_INCH)
        faces = [_called_so(data, *name) for name, data in asked]
        theirs = _by_resvg(saved, faces, ours.size, size)
        return json.dumps(drawn_apart(ours, theirs) if theirs is not None else []).encode()

    for box in (Rect(*each) for each in json.loads(cache.get_or_make(key, compared))):
        element = _likeliest(inspection, (box.x + box.width / 2, box.y + box.height / 2))
        yield inspection.finding(
            "drawn-otherwise",
            [element] if element is not None else [],
            f"looks different there: {box.width:.0f} × {box.height:.0f} mm,"
            f" {box.x:.0f} mm from the left and {box.y:.0f} mm from the top",
        )


def drawn_apart(ours: Image.Image, theirs: Image.Image) -> list[tuple[float, float, float, float]]:
    """Where two pictures differ by more than how edges fall on pixels: x, y, width, height in mm.

    Both are RGB, of the same size, ``_PER_MM`` pixels to the millimetre.
    """
    width, height = (side // _CELL * _CELL for side in ours.size)
    beyond = np.zeros((ours.height, ours.width), dtype=bool)
    for one, other in ((ours, theirs), (theirs, ours)):
        darkest, lightest = other.filter(ImageFilter.MinFilter), other.filter(ImageFilter.MaxFilter)
        here, low, high = (np.asarray(each, dtype=np.int16) for each in (one, darkest, lightest))
        beyond |= ((here < low - _LEVELS) | (here > high + _LEVELS)).any(axis=2)
    cells = beyond[:height, :width].reshape(height // _CELL, _CELL, width // _CELL, _CELL)
    waiting = {(int(y), int(x)) for y, x in np.argwhere(cells.mean(axis=(1, 3)) > 0.3)}
    found = []
    while waiting:
        group = [waiting.pop()]
        for y, x in group:
            near_by = {(y + down, x + along) for down in (-1, 0, 1) for along in (-1, 0, 1)}
            group += near_by & waiting
            waiting -= near_by
        ys, xs = zip(*group, strict=True)
        side = _CELL / _PER_MM
        place = min(xs) * side, min(ys) * side
        found.append((*place, (max(xs) + 1) * side - place[0], (max(ys) + 1) * side - place[1]))
    return sorted(found)


def _judged(inspection: Inspection) -> tuple[Template, etree._Element] | None:
    """A drawing's plain form and its tree as it was saved, both without what resvg is known to
    draw otherwise; None where it does so with all of it."""
    raw = copy.deepcopy(inspection.raw)
    styled = copy.deepcopy(raw)
    keep_names(styled)
    resolve_styles(styled)
    if _unknown(styled):
        return None
    unknown = {number_of(element) for element in _out_of_its_depth(styled)}
    unknown.update(map(number_of, _of_other_faces(inspection)))
    root = _in_attributes(styled) if _HARD_STYLE.search(inspection.source.data) else raw
    template = inspection.template
    read = [_as_read(each) for each in list(root.iter(SVG + "image", SVG + "feImage"))]
    if unknown or any(read):
        for element in [one for one in root.iter(etree.Element) if one.get(NUMBER)]:
            if number_of(element) in unknown and element.getparent() is not None:
                remove(element)
        file = TemplateFile(inspection.usage.path, bytes(etree.tostring(root)))
        usage = inspection.usage
        template = trimmed(read_on(file)[0], usage.size_mm, usage.bleeds_mm)
    return template, root


_HARD_STYLE = re.compile(
    rb"\b(?:var|calc|min|max|clamp)\(|!\s*important|@|<style[^>]*media"
    rb"|[.#\w\])*]\s*[:>+~\[][^;{}]*\{|\d(?:rem|[sld]?v(?:w|h|min|max|i|b))\b"
    rb"|:\s*(?-i:[a-z]*[A-Z][A-Za-z]*|(?!url)[a-z]+\()[^;}]*[;\"'}]|/\*"
    rb"|[;{\"'\s](?:d|x|y|width|height|r|[cr][xy]|transform|scale|rotate|translate)\s*:"
    rb"|:\s*none\s+[;\"'}]"
    rb"|display\s*:\s*(?!none|inline\s*[;\"'}]|block)"
    rb"|(?:width|opacity|size|limit|offset)\s*:\s*[a-z]",
    re.IGNORECASE,
)
"""What resvg does not know of styles; our reading of them is taken for files that have it."""

_STYLE_ONLY = ("mix-blend-mode", "isolation", "mask-type", "transform-box", "font-kerning")
"""Properties that are no attributes."""


def _in_attributes(root: etree._Element) -> etree._Element:
    """A tree whose styles are attributes, as resvg takes them."""
    for element in root.iter(etree.Element):
        said = [f"{name}:{element.get(name)}" for name in _STYLE_ONLY if name in element.attrib]
        if said:
            element.set("style", ";".join(said))
    return root


def _out_of_its_depth(root: etree._Element) -> Iterator[etree._Element]:
    """Elements that have something resvg doesn't draw right, or refer to what has, at any depth."""
    by_id: dict[str, etree._Element] = {}
    twice: set[str] = set()
    for element in root.iter(etree.Element):
        name = element.get("id")
        if name in by_id:
            twice.add(str(name))  # the first counts, for resvg the last
        elif name:
            by_id[str(name)] = element
    known: dict[etree._Element, bool] = {}

    def has(element: etree._Element, within: frozenset[str]) -> bool:
        return (
            _unknown(element)
            or _of_another_kind(element, by_id)
            or any(
                name in twice or reaches(by_id[name], within | {name})
                for name in links(element)
                if name in by_id and name not in within
            )
        )

    def reaches(element: etree._Element, within: frozenset[str]) -> bool:
        if element not in known:
            known[element] = any(has(each, within) for each in element.iter(etree.Element))
        return known[element]

    return (each for each in root.iter(etree.Element) if has(each, frozenset()))


_KINDS = {"clip-path": "clipPath", "mask": "mask", "filter": "filter"}


def _of_another_kind(element: etree._Element, by_id: Mapping[str, etree._Element]) -> bool:
    """Whether an element is clipped, masked or filtered by what is nothing of the kind."""
    for name, tag in _KINDS.items():
        if "url(" in element.get(name, ""):
            shown = by_id.get(target(element.get(name)) or "")
            if shown is None or shown.tag != SVG + tag:
                return True
    return False


def _of_other_faces(inspection: Inspection) -> Iterator[etree._Element]:
    """Texts that resvg has no face for: it slants and thickens none, and takes letters that a face
    lacks from others that it finds by itself."""
    for text in inspection.template.root.iter(SVG + "text"):
        for part in text.iter(etree.Element):
            style = computed_style(part)
            letters = {ord(sign) for sign in "".join(map(str, part.itertext())) if sign.strip()}
            try:
                first, *_ = inspection.book.candidates(style.families, style.weight, style.italic)
            except UserError:
                continue
            made_up = first.slanted or first.emboldened
            if made_up or not letters <= first.characters:
                yield text


def _unknown(element: etree._Element) -> bool:
    """Whether an element has, itself, something that resvg doesn't draw right."""
    tag = str(element.tag).removeprefix(SVG)
    for tags, attributes, values in _LACKING:
        if tags.fullmatch(tag):
            for name, said in element.attrib.items():
                if attributes.fullmatch(str(name)) and values.search(str(said).strip()):
                    return True
    if tag == "text":
        return _unknown_text(element)
    if tag == "image":
        return drawing_of(href(element)) is not None or _in_dots(href(element))
    if tag == "flowRoot":
        return True
    if tag in ("linearGradient", "radialGradient"):
        return _unknown_gradient(element)
    return tag in SHAPES and _unknown_line(element)


def _unknown_gradient(gradient: etree._Element) -> bool:
    """Whether a gradient has almost no length, or a focus on its circle or beyond."""

    def number(name: str, default: float) -> float:
        return length(gradient.get(name), whole=1.0, default=default)

    if parse_transform(gradient.get("gradientTransform")).is_flat:
        return True
    if gradient.tag == SVG + "linearGradient":
        along, down = number("x2", 1.0) - number("x1", 0.0), number("y2", 0.0) - number("y1", 0.0)
        return href(gradient) == "" and math.hypot(along, down) < 1e-3
    focus = (number(f"f{side}", number(f"c{side}", 0.5)) for side in "xy")
    middle = (number(f"c{side}", 0.5) for side in "xy")
    return math.dist(list(focus), list(middle)) > 0.95 * number("r", 0.5)


def _in_dots(link: str) -> bool:
    """Whether a picture is of black and white dots, which are greys of an engine's own choice."""
    try:
        with Image.open(io.BytesIO(data_of(link))) as picture:
            return picture.mode == "1"
    except OSError:
        return False


_LENGTH = r"[-+]?(?:\d+\.?\d*|\.\d+)(?:e[-+]?\d+)?(?:px|pt|pc|mm|cm|in|em|ex|%)?"
_LACKING: Sequence[tuple[re.Pattern[str], re.Pattern[str], re.Pattern[str]]] = tuple(
    (re.compile(tags), re.compile(attributes), re.compile(values))
    for tags, attributes, values in (
        # Structure and values: what is newer than SVG 1.1, or a slip of the pen
        (".*", "systemLanguage|vector-effect|transform-box|transform-origin|font-palette", ""),
        (".*", "clip|text-shadow|pathLength", ""),
        (".*", "clip-path", "^(?!none|url)"),
        (".*", "[a-zA-Z-]+", "^(unset|initial|revert|revert-layer)$|^(?!inherit$)(?i:inherit)$"),
        (".*", "transform|stroke-width|marker", "^inherit$"),
        (".*", "(gradient|pattern|)[tT]ransform",
         r"[^-+\d.,()\seE](?<!matrix)(?<!translate)(?<!scale)(?<!rotate)(?<!skew[XY])\("
         r"|\d(deg|rad|grad|turn|px|mm|cm|in|pt|pc|em|%)"),
        (".*", "display", "^(?!(none|inline|block|inherit)$)"),
        ("(?!fe).*", "x|y|width|height|rx|ry|cx|cy|r|x[12]|y[12]|stroke-width|font-size",
         rf"^(?!{_LENGTH}(?:[\s,]+{_LENGTH})*$|auto$|inherit$|[a-z-]+$)|-\d.*[%a-z]?$(?<=^-\d)"),
        ("(?!fe).*", "stroke-width|font-size", "^[a-z]"),
        ("rect|image|svg|symbol|circle", "width|height|r", "^(-|0(px)?$)"),
        (".*", "fill|stroke|stop-color|flood-color|lighting-color|color",
         r"(?i)^(?!url\(|rgba?\(\s*[\d.]+%?\s*,|hsla?\(\s*-?[\d.]+\s*,)[a-z-]+\(|icc-color"),
        (".*", "fill|stroke|stop-color|flood-color|color",
         r"^(?!currentColor$)([a-z]*[A-Z]|(?i:currentcolor))|\s,|^\w+\([^,]*,[^,]*,[^,]*,[^)]*%"),
        ("clipPath", "transform", ""),
        ("path", "d", r"[Aa]\s*[\d.]*e-"),
        (".*", "filter", r"(\w+\([^)]*\)\s*){9}"),
        (".*", "fill|stroke|clip-path|mask|filter", r"^url\([^)]*\)\s*\S"),
        (".*", ".*", r"^(?!.*\burl\().*\b(calc|min|max|clamp)\("),
        ("symbol", "refX|refY|width|height|transform|x|y", ""),
        ("use", "width|height", "%"),
        (".*", "image-rendering", ""),
        ("image", "overflow", "visible|auto"),
        # Paint
        ("linearGradient|radialGradient|pattern|mask", "color-interpolation", "linearRGB"),
        ("pattern", ".*", ""),
        ("marker", "refX|refY", "[a-z%]"),
        ("marker", "preserveAspectRatio|opacity|filter|style|mix-blend-mode", ""),
        ("marker", "viewBox", r"(\s|,)0\b"),
        (".*", "stroke-miterlimit", "^-|e"),
        # Effects
        (".*", "filter", r"drop-?shadow"),
        ("feDisplacementMap|feDropShadow|feTile|feConvolveMatrix|fe.*Lighting", ".*", ""),
        ("fe.*", "lighting-color|flood-color", "(?i)^current|lighting|^[^#]"),
    )
)  # fmt: skip
"""What resvg lacks or has otherwise than the standards say: elements, attributes and values.

Patterns it lays in whole pixels, which at this fineness are other places.
"""

_UNLIKE_TEXT = re.compile(
    "text-transform|text-decoration.*|direction|unicode-bidi|writing-mode|baseline-shift|side|path"
    "|(dominant|alignment)-baseline|white-space.*|font-(variant.*|feature-settings|size-adjust)"
    "|font-(variation-settings|stretch|kerning)|textLength|lengthAdjust|shape-inside|inline-size"
    "|kerning|line-height|startOffset"
)
"""What resvg lacks or has otherwise of texts."""

_OF_WHOLE_TEXTS = (
    "opacity", "clip-path", "mask", "filter", "mix-blend-mode", "visibility", "display",
)  # fmt: skip
"""What resvg takes of whole texts alone."""

_FROM_THE_RIGHT = re.compile("[\u0590-\u08ff\ufb1d-\ufdff\ufe70-\ufeff\u200e\u200f\u202a-\u202e]")
_COMBINING = re.compile("[\u0300-\u036f]")
_LIGATURES = re.compile("ff|fi|fl|Th")


def _unknown_text(text: etree._Element) -> bool:
    parts = list(text.iterdescendants(etree.Element))
    said = {str(name) for step in lineage(text) for name in step.attrib}
    said.update(str(name) for part in parts for name in part.attrib)
    words = "".join(map(str, text.itertext()))
    places = {name for part in (text, *parts) for name in ("x", "y", "dx", "dy", "rotate")
              if len((part.get(name) or "").replace(",", " ").split()) > 1
              or (part is not text and name in part.attrib)}  # fmt: skip
    spaced = "letter-spacing" in said
    anchored = any(
        (inherited(part, "text-anchor") or "start") != "start" for part in (text, *parts)
    )
    paths = [part for part in parts if part.tag == SVG + "textPath"]
    around = [text.text, *(part.tail for part in parts)]
    beside = len(text) > 1 or any((one or "").strip() for one in around)
    mixed = _FROM_THE_RIGHT.search(words) is not None and (
        bool(parts) or bool(places) or re.search("[0-9A-Za-z]", words) is not None
    )
    return (
        any(_UNLIKE_TEXT.fullmatch(name) for name in said)
        or any(name in part.attrib for part in parts for name in _OF_WHOLE_TEXTS)
        or any(part.tag == _SPACE or _SPACE in part.attrib for part in parts)
        or any(not "".join(map(str, part.itertext())) for part in parts)
        or (anchored and (spaced or bool(places & {"dx", "dy", "rotate"})))
        or (bool(paths) and (anchored or beside))
        or _COMBINING.search(words) is not None
        or ((spaced or bool(parts) or bool(places)) and _LIGATURES.search(words) is not None)
        or mixed
    )


_SPACE = "{http://www.w3.org/XML/1998/namespace}space"


_WIDE_MM = 1.5
"""The width of a line whose corners count."""


def _unknown_line(shape: etree._Element) -> bool:
    """Whether a shape's line ends where it began, with dashes or open: readers of PDF differ on
    whether such ends meet. Also markers, of which resvg turns those on such shapes otherwise."""
    data = outline(shape)
    starts = ends = None
    closed = meets = still = False
    before = ""
    for segment in [*data.segments(), None]:
        open_end = segment is None or segment.operator == "M"
        still |= before == "M" and (open_end or (segment is not None and segment.operator == "Z"))
        meets |= open_end and before in ("L", "C") and ends == starts
        if segment is None:
            break
        before = segment.operator
        if before == "M":
            starts = segment.points[0]
        closed |= before == "Z"
        ends = segment.points[-1] if segment.points else starts
        still |= before in ("L", "C") and all(point == segment.start for point in segment.points)
    dashed = (inherited(shape, "stroke-dasharray") or "none") != "none"
    marked = any((inherited(shape, name) or "none") != "none" for name in KINDS)
    curved = "C" in data.operators
    root = shape.getroottree().getroot()
    page, width = view_box(root.get("viewBox")), length(inherited(shape, "stroke-width"), default=1)
    across = length(root.get("width"), whole=page.width, default=page.width) if page else 1.0
    matrix = page_matrix(shape)
    scale = max(matrix.scale_x, matrix.scale_y) * (across / page.width if page else 1.0)
    wide = width * scale * _PX_MM > _WIDE_MM
    boxed = any("url(" in (inherited(shape, which) or "") for which in ("fill", "stroke"))
    return (
        (marked and (closed or curved or still))
        or (wide and (meets or still or (closed and dashed)))
        or (boxed and still)  # what goes nowhere counts in no box
    )


def _saved(root: etree._Element) -> bytes:
    """A drawing as it was saved, without guides and what keys alone have, its faces in quotes."""
    root = copy.deepcopy(root)
    keep_names(root)
    for element in list(root.iter(etree.Element)):
        own = names(element)
        if "guides" in own and element is not root:
            remove(element)
        elif any(map(is_key, own)):
            for inner in element.iter(etree.Element):
                strip(inner, "textLength", "lengthAdjust")
    for element in root.iter(etree.Element):
        strip(element, NUMBER, NAMES)
        if "font-family" in element.attrib:  # in quotes, as resvg wants names with figures in them
            said = families(element.get("font-family"))
            element.set("font-family", ", ".join(f"'{name}'" for name in said))
    return bytes(etree.tostring(root))


_SIDE = 512
"""The most pixels a side of pictures: more would be thinned out, which each engine does its way."""


def _as_read(element: etree._Element) -> bool:
    """Gives a picture the pixels that are printed of it, and no more than are compared; tells
    whether it had others. Resvg knows no profiles and inks, and turns no photographs."""
    link = href(element)
    if not link.startswith("data:") or drawing_of(link) is not None:
        return False
    read = picture_of(link)
    if read is None:
        return False
    sized = "width" in element.attrib and "height" in element.attrib
    if sized:
        read.thumbnail((_SIDE, _SIDE))
    strip(element, *HREFS)
    element.set("href", link_to(read))
    return True


def _by_resvg(
    svg: bytes, faces: Sequence[bytes], shape: tuple[int, int], size_mm: tuple[float, float]
) -> Image.Image | None:
    """A saved drawing on white as resvg draws it, cut to the page of ``shape`` pixels; None for
    what it cannot read."""
    root = etree.fromstring(svg, etree.XMLParser(huge_tree=True))
    box = view_box(root.get("viewBox"))
    sides = [
        length(root.get(side), whole=whole, default=whole)
        for side, whole in zip(("width", "height"), box[2:] if box else (100, 100), strict=True)
    ]
    if box is None:
        root.set("viewBox", f"0 0 {sides[0]} {sides[1]}")
    pairs = zip(sides, size_mm, strict=True)
    over = [round((side * _PX_MM - shown) / 2 * _PER_MM) for side, shown in pairs]
    columns, rows = shape
    root.set("width", str(columns + 2 * over[0]))
    root.set("height", str(rows + 2 * over[1]))
    with tempfile.TemporaryDirectory() as folder:
        files = []
        for number, data in enumerate(faces):
            files.append(Path(folder) / f"{number}.ttf")
            files[-1].write_bytes(data)
        try:
            drawn = resvg_py.svg_to_bytes(
                svg_string=etree.tostring(root, encoding="unicode"),
                dpi=96,
                skip_system_fonts=True,
                font_files=[str(file) for file in files],
            )
        except BaseException as problem:
            if not isinstance(problem, ValueError) and type(problem).__name__ != "PanicException":
                raise
            return None
    ink = Image.open(io.BytesIO(drawn)).convert("RGBA")
    whole = Image.alpha_composite(Image.new("RGBA", ink.size, "white"), ink).convert("RGB")
    return whole.crop((over[0], over[1], over[0] + columns, over[1] + rows))


def _faces(
    inspection: Inspection, plain: etree._Element, saved: etree._Element
) -> dict[tuple[str, float, bool], bytes]:
    """The font files that texts are set with, by the family, weight and slant they stand for.

    Raises UserError for a text of ours without a face.
    """
    found: dict[tuple[str, float, bool], bytes] = {}
    styled = copy.deepcopy(saved)
    resolve_styles(styled)
    for root in (plain, styled):
        for text in root.iter(SVG + "text", SVG + "tspan"):
            style = computed_style(text)
            try:
                instances = list(
                    inspection.book.candidates(style.families, style.weight, style.italic)
                )
            except UserError:
                if root is plain:
                    raise
                continue
            for place, instance in enumerate(instances):
                asked = style.families[:1] if place == 0 else ()
                family = next(iter(asked), instance.face.family)
                found.setdefault((family, style.weight, style.italic), instance.data)
    return found


@functools.lru_cache(maxsize=64)
def _called_so(data: bytes, family: str, weight: float, italic: bool) -> bytes:
    """A font file under another family's name, at the weight that it is asked for with."""
    font = TTFont(io.BytesIO(data), recalcTimestamp=False)
    for record in list(font["name"].names):
        if record.nameID in (1, 16):
            record.string = family
        elif record.nameID in (2, 17):
            record.string = "Italic" if italic else "Regular"
    font["OS/2"].usWeightClass = round(weight)
    font["OS/2"].fsSelection = 1 if italic else 64
    output = io.BytesIO()
    font.save(output)
    return output.getvalue()


def _likeliest(inspection: Inspection, at: Point) -> etree._Element | None:
    """The smallest of what is painted at a place on the page."""
    found: list[tuple[float, int, etree._Element]] = []
    for place, item in enumerate(inspection.painted):
        if item.element.tag == SVG + "text":
            boxes = text_boxes(item, inspection.book)
        else:
            own = box_of(item.element)
            boxes = [item.matrix.bounds(own).grown(0.5)] if own is not None else []
        for box in boxes:
            if box.x <= at[0] <= box.right and box.y <= at[1] <= box.bottom:
                found.append((box.width * box.height, -place, item.element))
    return min(found)[2] if found else None
