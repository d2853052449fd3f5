"""Mends what is mechanical, byte by byte: everything else in the file stays as it was.

Three things are: pages whose editor counts another number of units to the inch get their true size,
ids that an editor changed get their plain names back, and strokes that are too thin get the least
width, in the unit and the place they are written in.
"""

from __future__ import annotations

import math
import re
from collections.abc import Iterator
from typing import NamedTuple

from lxml import etree

from pipeline.base.geometry import NUMBER, decimal
from pipeline.drawings.checks.drawing import Drawing
from pipeline.drawings.checks.ids import can_rename, renamed
from pipeline.drawings.checks.marks import HAIRLINE_MM, Hairline, hairlines
from pipeline.drawings.checks.sizes import meant_size
from pipeline.drawings.checks.source import Edit, Span, number_of
from pipeline.svg.tree import SVG, lineage

_STYLED = re.compile(rb"(?:^|;)\s*stroke-width\s*:\s*([^;]*?)\s*(?:!important\s*)?(?=;|$)")
_NUMBER = re.compile(b"(" + NUMBER.pattern.encode() + rb")(\s*[a-z]*)$", re.IGNORECASE)


class _Written(NamedTuple):
    """Where a stroke's width is written: its bytes, the number in them, and its unit."""

    span: Span
    number: float
    unit: bytes


def fixed(drawing: Drawing) -> tuple[bytes, int]:
    """The file with what is mechanical mended, and how many places were changed.

    A page of the wrong size is mended first and alone: what else there is shows only then.
    """
    edits = list(_size(drawing))
    if not edits:
        # On a page of the wrong size no stroke is as wide as it seems.
        true = drawing.place.binder is None or drawing.fits_binder
        edits = [*_ids(drawing), *(_strokes(drawing) if true else ())]
    return drawing.source.edited(edits), len(edits)


def can_thicken(drawing: Drawing, line: Hairline) -> bool:
    """Whether a stroke's width stands where it can be changed: not in a style sheet."""
    return _written(drawing, line.element) is not None


def _size(drawing: Drawing) -> Iterator[Edit]:
    """The page's width and height in millimetres, where only the editor's unit is wrong."""
    meant = meant_size(drawing)
    if meant is None:
        return
    for name, length_mm in (("width", meant.width_mm), ("height", meant.height_mm)):
        text = f"{length_mm:g}mm"
        span = drawing.source.value(0, name)
        if span is not None:
            yield Edit(span, text.encode())
        elif (end := drawing.source.name_end(0)) is not None:
            yield Edit(Span(end, end), f' {name}="{text}"'.encode())


def _ids(drawing: Drawing) -> Iterator[Edit]:
    for element, identifier, wanted in renamed(drawing):
        number = number_of(element)
        span = None if number is None else drawing.source.value(number, "id")
        if span is not None and can_rename(drawing, identifier):
            yield Edit(span, wanted.encode())


def _strokes(drawing: Drawing) -> Iterator[Edit]:
    """One edit for each width written, by the thinnest stroke that it makes."""
    thinnest: dict[_Written, float] = {}
    for line in hairlines(drawing):
        written = _written(drawing, line.element)
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


def _written(drawing: Drawing, element: etree._Element) -> _Written | None:
    """Where the width of an element's stroke is written, on itself or around it.

    None where a style sheet may have the last word.
    """
    source, number = drawing.source, number_of(element)
    raw = drawing.by_number.get(number) if number is not None else None
    if raw is None or next(drawing.raw.iter(SVG + "style"), None) is not None:
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
