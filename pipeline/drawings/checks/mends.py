"""Rules whose findings can be mended: the page's size, ids an editor changed, thin strokes.

They carry the edits that mend them, byte by byte: pages whose editor counts another number of units
to the inch get their true size, changed ids get their plain names back, and strokes that are too
thin get the least width, in the unit and the place they are written in.
"""

from __future__ import annotations

import itertools
import math
import re
from collections.abc import Iterator

from lxml import etree

from pipeline.base.errors import UserError, did_you_mean
from pipeline.base.findings import Severity
from pipeline.base.geometry import MM_PER_INCH, NUMBER, decimal
from pipeline.drawings.checks.inspection import (
    DrawingFinding,
    Inspection,
    is_key,
    is_stroked,
    property_of,
)
from pipeline.drawings.checks.sourcetext import Edit, Span, number_of
from pipeline.fill.filling import bleed_advice
from pipeline.fill.keys import key_in, ruled
from pipeline.fill.template import drawn_bleed
from pipeline.impose.leaf import LeafGeometry
from pipeline.svg.path import outline
from pipeline.svg.refusals import printed
from pipeline.svg.transform import Matrix
from pipeline.svg.tree import SVG, lineage
from pipeline.text.style import length

HAIRLINE_MM = 0.2
"""Thinner lines print unevenly, more so in greys, on printers at home (common practice)."""

_BROKEN_MM = 0.1
"""Thinner lines than this, a quarter of a point, are lost in places (common practice)."""
_SLACK_MM = 0.0005
"""Editors round lengths to about this."""
_NEAR_MM = 0.25
"""Editors round sizes in points to two decimals, some to whole ones."""

_STYLED = re.compile(rb"(?:^|;)\s*stroke-width\s*:\s*([^;]*?)\s*(?:!important\s*)?(?=;|$)")
_JOIN = re.compile(r"stroke-linejoin\s*:\s*(arcs|miter-clip)")
_NUMBER = re.compile(b"(" + NUMBER.pattern.encode() + rb")(\s*[a-z]*)$", re.IGNORECASE)


def check_size(inspection: Inspection) -> Iterator[DrawingFinding]:
    """Holds the page's size against the binder its folder is named after, and its flap."""
    usage, page, binder = inspection.usage, inspection.template, inspection.usage.binder
    if binder is None:
        folder = usage.path.resolve().parent.name
        yield inspection.finding(
            "size",
            [],
            f"lies in a folder called {folder!r}, which isn't the name of a binder size, so its"
            " size and its margins are not checked",
            f"name the folder after its size; {did_you_mean(folder, usage.sizes.binders)}",
            milder=Severity.LOOK,
        )
        return
    try:
        leaf = LeafGeometry(binder, inspection.flap_mm)
    except UserError as problem:
        yield inspection.finding("size", [], problem.what, problem.remedy)
        return
    if inspection.fits_binder:
        return
    flap = f" with its {leaf.flap_mm:g} mm flap open" if leaf.flap_mm else ""
    per_inch = _units_per_inch(inspection, leaf)
    why = f" (it counts {per_inch:g} to the inch instead of 96)" if per_inch else ""
    bleed = drawn_bleed(page, (leaf.width_mm, leaf.height_mm))
    yield inspection.finding(
        "size",
        [page.root],
        f"is {page.width_mm:.1f} × {page.height_mm:.1f} mm{why}, but {binder.title}{flap} is "
        f"{leaf.width_mm:g} × {leaf.height_mm:g} mm",
        bleed_advice(bleed) if bleed else "",
        edits=_sized(inspection, leaf) if per_inch else (),
    )


def _units_per_inch(inspection: Inspection, leaf: LeafGeometry) -> float | None:
    """What an editor counts to the inch, where a page is too small by that alone.

    Some editors write points as if they were pixels, of which SVG has 96 to the inch.
    """
    page = inspection.template
    if not inspection.raw.get("viewBox"):
        return None
    for per_inch in (72, 90, MM_PER_INCH):  # points, an old pixel, millimetres without a unit
        scale = 96 / per_inch
        if (
            abs(page.width_mm * scale - leaf.width_mm) <= _NEAR_MM
            and abs(page.height_mm * scale - leaf.height_mm) <= _NEAR_MM
        ):
            return per_inch
    return None


def _sized(inspection: Inspection, leaf: LeafGeometry) -> Iterator[Edit]:
    for name, length_mm in (("width", leaf.width_mm), ("height", leaf.height_mm)):
        text = f"{length_mm:g}mm"
        span = inspection.source.value(0, name)
        if span is not None:
            yield Edit(span, text.encode())
        elif (end := inspection.source.name_end(0)) is not None:
            yield Edit(Span(end, end), f' {name}="{text}"'.encode())


def check_ids(inspection: Inspection) -> Iterator[DrawingFinding]:
    """Ids of keys that an editor wrote its own way; they are read all the same.

    Each gets the plain name that is free for it, unless something in the file refers to it. A
    numbered copy beside its original is left alone: it says what it is.
    """
    source = inspection.source
    taken = {identifier for element in inspection.raw.iter() if (identifier := element.get("id"))}
    for number, element in inspection.by_number.items():
        identifier = element.get("id") or ""
        key = key_in(identifier)
        if key == identifier or not (is_key(key) or key.startswith("show-") or ruled(key)):
            continue
        if key in taken and identifier.removeprefix(f"{key}-").isdigit():
            continue
        wanted, copy = key, 2
        while wanted in taken:
            wanted, copy = f"{key}-{copy}", copy + 1
        taken.add(wanted)
        span, written = source.value(number, "id"), identifier.encode()
        free = span and source.data[slice(*span)] == written and b"#" + written not in source.data
        yield inspection.finding(
            "renamed",
            [element],
            "was given another id by your drawing program; it is taken for the key it was",
            f"name it {wanted!r}",
            edits=[Edit(span, wanted.encode())] if span and free else (),
        )


def check_hairlines(inspection: Inspection) -> Iterator[DrawingFinding]:
    """One finding for the strokes that are thin, one for those that are too thin."""
    thin: list[tuple[etree._Element, float]] = []
    for element, matrix in inspection.painted:
        if element.tag != SVG + "image" and is_stroked(element):
            width = length(property_of(element, "stroke-width"), default=1.0)
            width *= _least_scale(element, matrix)
            if _SLACK_MM < width < HAIRLINE_MM - _SLACK_MM:
                thin.append((element, width))
    edits: dict[Span | None, Edit] = {}
    if inspection.fits_binder or inspection.usage.binder is None:
        # On a page of the wrong size no stroke is as wide as it seems. What is written once for
        # several is widened by the thinnest stroke that it makes.
        for element, width in sorted(thin, key=lambda one: -one[1]):
            span = _written(inspection, element)
            edit = span and _widened(inspection.source.data, span, HAIRLINE_MM / width)
            if edit:
                edits[span] = edit
    for severity, low, high in ((Severity.LOOK, 0.0, _BROKEN_MM), (Severity.NOTE, _BROKEN_MM, 1.0)):
        those = [(element, w) for element, w in thin if low <= w + _SLACK_MM < high]
        if those:
            spans = dict.fromkeys(_written(inspection, element) for element, _ in those)
            yield inspection.finding(
                "hairline",
                [element for element, _ in those],
                f"has a stroke only {min(width for _, width in those):.2f} mm wide, which may print"
                " broken or not at all",
                f"make it {HAIRLINE_MM:g} mm",
                milder=severity,
                edits=[edits[span] for span in spans if span in edits],
            )


def check_joins(inspection: Inspection) -> Iterator[DrawingFinding]:
    """Joins that PDF does not have, which print as the kind most like them."""
    kinds: dict[str, list[etree._Element]] = {}
    for element in printed(inspection.raw):
        said = f"stroke-linejoin:{element.get('stroke-linejoin')};{element.get('style')}"
        if found := _JOIN.search(said):
            kinds.setdefault(found[1], []).append(element)
    for kind, those in kinds.items():
        yield inspection.finding(
            "join", those, f"has corners of the kind '{kind}', which print as mitres"
        )


def _least_scale(element: etree._Element, matrix: Matrix) -> float:
    """How much wider a stroke becomes, where it becomes least so.

    Under an uneven scale a line keeps less of its width the more it runs along the larger one.
    """
    area = abs(matrix.a * matrix.d - matrix.b * matrix.c)
    across = matrix.a * matrix.c + matrix.b * matrix.d
    if abs(matrix.scale_x - matrix.scale_y) < 1e-4 * matrix.scale_x and abs(across) < 1e-4 * area:
        return math.sqrt(area)
    longest = 0.0
    if element.tag == SVG + "text":  # letters have strokes of all directions
        squares = matrix.scale_x**2 + matrix.scale_y**2
        longest = math.sqrt((squares + math.sqrt(max(0.0, squares**2 - 4 * area**2))) / 2)
    else:
        for segment in outline(element).segments():
            points = [segment.start, *segment.flattened(8)] if segment.operator != "M" else []
            for (x, y), (to_x, to_y) in itertools.pairwise(points):
                way = math.hypot(to_x - x, to_y - y)
                if way > 0:
                    dx, dy = (to_x - x) / way, (to_y - y) / way
                    end = matrix.a * dx + matrix.c * dy, matrix.b * dx + matrix.d * dy
                    longest = max(longest, math.hypot(*end))
    return area / longest if longest else math.sqrt(area)


def _written(inspection: Inspection, element: etree._Element) -> Span | None:
    """Where the width of an element's stroke is written, on itself or around it.

    None where a style sheet may have the last word.
    """
    source, number = inspection.source, number_of(element)
    if number is None or next(inspection.raw.iter(SVG + "style"), None) is not None:
        return None
    for step in lineage(inspection.by_number[number]):
        here = number_of(step)
        assert here is not None
        styled = source.value(here, "style")
        match = _STYLED.search(source.data, *styled) if styled else None
        span = Span(*match.span(1)) if match else source.value(here, "stroke-width")
        if span is not None:
            return span
    return None


def _widened(data: bytes, span: Span, times: float) -> Edit | None:
    """A number and its unit made larger; None where something else is written."""
    match = _NUMBER.match(data[slice(*span)].strip())
    if match is None or float(match[1]) <= 0:
        return None
    return Edit(span, _rounded_up(float(match[1]) * times) + match[2])


def _rounded_up(value: float) -> bytes:
    """Three figures that matter, and never less than the value.

    >>> _rounded_up(0.2), _rounded_up(0.56692913), _rounded_up(119.2)
    (b'0.2', b'0.567', b'120')
    """
    decimals = max(0, 2 - math.floor(math.log10(value)))
    step = 10.0**-decimals
    rounded = math.ceil(value / step - 1e-6) * step
    return decimal(rounded, decimals).encode()
