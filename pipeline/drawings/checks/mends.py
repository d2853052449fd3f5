"""Rules that ``--fix`` can help with: the page's size, ids that an editor changed, thin strokes.

What is mechanical is mended byte by byte, and everything else in the file stays as it was: pages
whose editor counts another number of units to the inch get their true size, changed ids get their
plain names back, and strokes that are too thin get the least width, in the unit and the place they
are written in.
"""

from __future__ import annotations

import math
import re
from collections.abc import Iterator
from typing import NamedTuple

from lxml import etree

from pipeline.base.errors import UserError, did_you_mean
from pipeline.base.findings import Severity
from pipeline.base.geometry import MM_PER_INCH, NUMBER, decimal
from pipeline.drawings.checks.inspection import Inspection, is_key, is_stroked, property_of
from pipeline.drawings.checks.sourcetext import Edit, Span, number_of
from pipeline.fill.filling import bleed_advice
from pipeline.fill.keys import key_in, ruled
from pipeline.fill.template import drawn_bleed
from pipeline.impose.leaf import LeafGeometry
from pipeline.svg.tree import SVG, lineage
from pipeline.text.style import length

HAIRLINE_MM = 0.2
"""Thinner lines print unevenly, more so in greys, on printers at home (common practice)."""

BROKEN_MM = 0.1
"""Thinner lines than this, a quarter of a point, are lost in places (common practice)."""
_SLACK_MM = 0.0005
"""Editors round lengths to about this."""

_NEAR_MM = 0.25
"""Editors round sizes in points to two decimals, some to whole ones."""


def check_size(inspection: Inspection) -> None:
    """Holds the page's size against the binder its folder is named after, and its flap."""
    usage, page = inspection.usage, inspection.template
    if usage.binder is None:
        folder = usage.path.resolve().parent.name
        inspection.say(
            "size",
            [],
            f"lies in a folder called {folder!r}, which isn't the name of a binder size, so its"
            " size and its margins are not checked",
            f"name the folder after its size; {did_you_mean(folder, usage.sizes.binders)}",
            milder=Severity.LOOK,
        )
        return
    try:
        LeafGeometry(usage.binder, inspection.flap_mm)
    except UserError as problem:
        inspection.say("size", [], problem.what, problem.remedy)
        return
    if inspection.fits_binder:
        return
    flap = f" with its {inspection.flap_mm:g} mm flap open" if inspection.flap_mm else ""
    width, height = usage.binder.width_mm + inspection.flap_mm, usage.binder.height_mm
    meant, bleed = meant_size(inspection), drawn_bleed(page, (width, height))
    why = f" (it counts {meant.per_inch:g} to the inch instead of 96)" if meant else ""
    inspection.say(
        "size",
        [inspection.template.root],
        f"is {page.width_mm:.1f} × {page.height_mm:.1f} mm{why}, but {usage.binder.title}{flap} is "
        f"{width:g} × {height:g} mm",
        bleed_advice(bleed) if bleed else "",
        mendable=meant is not None,
    )


class Meant(NamedTuple):
    """A page's size in mm as it was meant, and what its editor counts to the inch."""

    width_mm: float
    height_mm: float
    per_inch: float


def meant_size(inspection: Inspection) -> Meant | None:
    """The right size of a page that is too small only because its editor's unit is another.

    Some editors write points as if they were pixels, of which SVG has 96 to the inch.
    """
    usage, page = inspection.usage, inspection.template
    if usage.binder is None or inspection.fits_binder or not inspection.raw.get("viewBox"):
        return None
    width, height = usage.binder.width_mm + inspection.flap_mm, usage.binder.height_mm
    for per_inch in (72, 90, MM_PER_INCH):  # points, an old pixel, millimetres without a unit
        scale = 96 / per_inch
        if (
            abs(page.width_mm * scale - width) <= _NEAR_MM
            and abs(page.height_mm * scale - height) <= _NEAR_MM
        ):
            return Meant(width, height, per_inch)
    return None


class Renamed(NamedTuple):
    """An id as it is, and as it can be written instead."""

    element: etree._Element
    identifier: str
    wanted: str


def renamed(inspection: Inspection) -> list[Renamed]:
    """Ids of keys that an editor wrote its own way, each with the plain name that is free for it.

    A numbered copy beside its original is left alone: it says what it is.
    """
    taken = {identifier for element in inspection.raw.iter() if (identifier := element.get("id"))}
    found = []
    for element in inspection.raw.iter():
        identifier = element.get("id") or ""
        key = key_in(identifier)
        if key == identifier or not (is_key(key) or key.startswith("show-") or ruled(key)):
            continue
        if (
            identifier.startswith(f"{key}-")
            and identifier[len(key) + 1 :].isdigit()
            and key in taken
        ):
            continue
        wanted = key
        number = 2
        while wanted in taken:
            wanted, number = f"{key}-{number}", number + 1
        taken.add(wanted)
        found.append(Renamed(element, identifier, wanted))
    return found


def check_ids(inspection: Inspection) -> None:
    """Notes ids that an editor changed; they are read all the same."""
    for element, identifier, wanted in renamed(inspection):
        inspection.say(
            "renamed",
            [element],
            "was renamed by an editor",
            f"call it {wanted!r}",
            mendable=can_rename(inspection, identifier),
        )


def can_rename(inspection: Inspection, identifier: str) -> bool:
    """Whether nothing else in the file refers to an id."""
    data = inspection.source.data
    return b"#" + identifier.encode() not in data and data.count(identifier.encode()) >= 1


class Hairline(NamedTuple):
    """A stroke that is too thin: what it is on, and how wide it comes out, mm."""

    element: etree._Element
    width_mm: float


def hairlines(inspection: Inspection) -> list[Hairline]:
    """Every stroke below ``HAIRLINE_MM``."""
    found = []
    for element, matrix in inspection.painted:
        if element.tag != SVG + "image" and is_stroked(element):
            scale = math.sqrt(abs(matrix.a * matrix.d - matrix.b * matrix.c))
            width = length(property_of(element, "stroke-width"), default=1.0) * scale
            if _SLACK_MM < width < HAIRLINE_MM - _SLACK_MM:
                found.append(Hairline(element, width))
    return found


def check_hairlines(inspection: Inspection) -> None:
    """One finding for the strokes that are thin, one for those that are too thin."""
    thin = hairlines(inspection)
    for severity, low, high in ((Severity.LOOK, 0.0, BROKEN_MM), (Severity.NOTE, BROKEN_MM, 1.0)):
        those = [line for line in thin if low <= line.width_mm + _SLACK_MM < high]
        if those:
            least = min(line.width_mm for line in those)
            inspection.say(
                "hairline",
                [line.element for line in those],
                f"has a stroke only {least:.2f} mm wide",
                f"make it {HAIRLINE_MM:g} mm",
                milder=severity,
                mendable=any(can_thicken(inspection, line) for line in those),
            )


_STYLED = re.compile(rb"(?:^|;)\s*stroke-width\s*:\s*([^;]*?)\s*(?:!important\s*)?(?=;|$)")
_NUMBER = re.compile(b"(" + NUMBER.pattern.encode() + rb")(\s*[a-z]*)$", re.IGNORECASE)


class _Written(NamedTuple):
    """Where a stroke's width is written: its bytes, the number in them, and its unit."""

    span: Span
    number: float
    unit: bytes


def fixed(inspection: Inspection) -> tuple[bytes, int]:
    """The file with what is mechanical mended, and how many places were changed.

    A page of the wrong size is mended first and alone: what else there is shows only then.
    """
    edits = list(_size(inspection))
    if not edits:
        # On a page of the wrong size no stroke is as wide as it seems.
        true = inspection.usage.binder is None or inspection.fits_binder
        edits = [*_ids(inspection), *(_strokes(inspection) if true else ())]
    return inspection.source.edited(edits), len(edits)


def can_thicken(inspection: Inspection, line: Hairline) -> bool:
    """Whether a stroke's width stands where it can be changed: not in a style sheet."""
    return _written(inspection, line.element) is not None


def _size(inspection: Inspection) -> Iterator[Edit]:
    """The page's width and height in millimetres, where only the editor's unit is wrong."""
    meant = meant_size(inspection)
    if meant is None:
        return
    for name, length_mm in (("width", meant.width_mm), ("height", meant.height_mm)):
        text = f"{length_mm:g}mm"
        span = inspection.source.value(0, name)
        if span is not None:
            yield Edit(span, text.encode())
        elif (end := inspection.source.name_end(0)) is not None:
            yield Edit(Span(end, end), f' {name}="{text}"'.encode())


def _ids(inspection: Inspection) -> Iterator[Edit]:
    for element, identifier, wanted in renamed(inspection):
        number = number_of(element)
        span = None if number is None else inspection.source.value(number, "id")
        if span is not None and can_rename(inspection, identifier):
            yield Edit(span, wanted.encode())


def _strokes(inspection: Inspection) -> Iterator[Edit]:
    """One edit for each width written, by the thinnest stroke that it makes."""
    thinnest: dict[_Written, float] = {}
    for line in hairlines(inspection):
        written = _written(inspection, line.element)
        if written is not None:
            thinnest[written] = min(line.width_mm, thinnest.get(written, HAIRLINE_MM))
    for written, width in thinnest.items():
        number = _rounded_up(written.number * HAIRLINE_MM / width)
        yield Edit(written.span, number + written.unit)


def _rounded_up(value: float) -> bytes:
    """Three figures that matter, and never less than the value.

    >>> _rounded_up(0.2), _rounded_up(0.56692913), _rounded_up(119.2)
    (b'0.2', b'0.567', b'120')
    """
    decimals = max(0, 2 - math.floor(math.log10(value)))
    step = 10.0**-decimals
    rounded = math.ceil(value / step - 1e-6) * step
    return decimal(rounded, decimals).encode()


def _written(inspection: Inspection, element: etree._Element) -> _Written | None:
    """Where the width of an element's stroke is written, on itself or around it.

    None where a style sheet may have the last word.
    """
    source, number = inspection.source, number_of(element)
    raw = inspection.by_number.get(number) if number is not None else None
    if raw is None or next(inspection.raw.iter(SVG + "style"), None) is not None:
        return None
    for step in lineage(raw):
        here = number_of(step)
        assert here is not None
        styled = source.value(here, "style")
        match = _STYLED.search(source.data, *styled) if styled else None
        span = Span(*match.span(1)) if match else source.value(here, "stroke-width")
        if span is not None:
            return _number(source.data, span)
    return None


def _number(data: bytes, span: Span) -> _Written | None:
    match = _NUMBER.match(data[span.start : span.end].strip())
    if match is None or float(match[1]) <= 0:
        return None
    return _Written(span, float(match[1]), match[2])
