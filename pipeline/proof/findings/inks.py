"""Lines, areas and pictures: whether they print, and leave paper that can be written on."""

from __future__ import annotations

import ctypes
import math
from collections import defaultdict
from collections.abc import Iterator

import numpy as np
import pypdfium2 as pdfium
import pypdfium2.raw as pdfium_raw

from pipeline.base.geometry import MM_PER_INCH, Rect, mm
from pipeline.proof.findings.finding import Finding
from pipeline.proof.findings.reading import Art, FaceRead, SideRead, finding_on
from pipeline.proof.findings.subject import Subject
from pipeline.proof.read.contents import Placement
from pipeline.proof.read.coverage import INK_DPI
from pipeline.proof.read.objects import Paint, Painted, points_of
from pipeline.proof.read.raster import area_picture

_RULE_MM = 25.0
"""A straight line so long is ruled; what is shorter is drawn."""
_ROUNDING_MM = 0.006
"""Widths are rounded in a file: to a fiftieth of a point."""
_WORTH_MM2 = 60.0
"""A dark area smaller than this is a line or a letter, not a place to write on."""
_TOUCHES_MM = 0.3
"""Artwork so near a cut reaches it."""
_GLANCE_DPI = 40.0
"""Coarse, so that lines weigh too much: whoever is light even so needs no closer look."""
_UNSEEN = 0.005
"""Ink lighter than this is white: it covers, and is not meant to be seen."""


def art_findings(subject: Subject, side: SideRead) -> Iterator[Finding]:
    """What is wrong with what is painted on the leaves of a side, one finding a kind and face."""
    found: dict[tuple[int, str], list[tuple[FaceRead, Rect, str]]] = defaultdict(list)
    for face, art in side.on_leaf():
        for code, what in _faults(subject, side, face, art):
            found[id(face), code].append((face, art.box, what))
    for (_, code), cases in found.items():
        face, box, what = cases[0]
        more = f" (and {len(cases) - 1} more on this page)" if len(cases) > 1 else ""
        yield finding_on(face, subject, code, what + more, box)


def _faults(
    subject: Subject, side: SideRead, face: FaceRead, art: Art
) -> Iterator[tuple[str, str]]:
    limits, item = subject.limits, art.painted
    if item.kind == "path":
        thin = _too_thin(item, limits.hairline_mm)
        if thin is not None:
            yield "hairline", f"a line {thin:.2f} mm thick"
        if _seen(item.stroke) and item.stroke is not None:
            dark = 100 * item.stroke.darkness
            if dark < limits.lightest_percent:
                yield "ink-light", f"a line of {dark:.0f} % ink"
        if item.fill is not None and 100 * item.fill.darkness > limits.darkest_percent:
            area = _area_mm2(item) if art.box.width * art.box.height >= _WORTH_MM2 else 0.0
            if area >= _WORTH_MM2:
                yield "ink-heavy", f"{area / 100:.1f} cm² of {100 * item.fill.darkness:.0f} % ink"
    elif item.kind == "text" and item.fill is not None and _inked(item):
        dark = 100 * item.fill.darkness
        if dark < limits.lightest_percent:
            said = " ".join(text.text for text in face.texts if text.box.overlaps(art.box, 0.2))
            yield "ink-light", f"'{said}' in {dark:.0f} % ink"
    elif item.kind == "picture":
        dpi = _dpi(item)
        if dpi < limits.raster_dpi:
            yield "picture-coarse", f"a picture of {dpi:.0f} pixels an inch"
    if item.kind != "text" and (_seen(item.fill) or _seen(item.stroke) or item.kind == "picture"):
        edge = _unbled(subject, side, face, art.box)
        if edge:
            yield "art-no-bleed", f"it ends at the {edge} edge of the leaf"


def _seen(paint: Paint | None) -> bool:
    return paint is not None and paint.darkness > _UNSEEN


def _inked(item: Painted) -> bool:
    """Whether letters are painted at all: those over outlines are there to be found only."""
    mode = pdfium_raw.FPDFTextObj_GetTextRenderMode(item.handle)
    return bool(mode != pdfium_raw.FPDF_TEXTRENDERMODE_INVISIBLE) and item.box.height > 0.05


def _too_thin(item: Painted, hairline_mm: float) -> float | None:
    """How thin a line is, mm, when that is too thin; drawn details may be half as thin."""
    least = hairline_mm - _ROUNDING_MM
    if _seen(item.stroke) and item.stroke_mm < least:
        if item.stroke_mm < hairline_mm / 2 - _ROUNDING_MM or _straight(item):
            return item.stroke_mm
    elif _seen(item.fill) and item.stroke is None:
        width, length = sorted((item.box.width, item.box.height))
        if width < least and length >= _RULE_MM and len(points_of(item.handle)) <= 5:
            return width
    return None


def _straight(item: Painted) -> bool:
    """Whether a path is a straight line, or several, long enough to be ruled."""
    if max(item.box.width, item.box.height) < _RULE_MM:
        return False
    points = points_of(item.handle)
    return len(points) == 2 or (len(points) % 2 == 0 and min(item.box[2:]) < 2 * item.stroke_mm)


def _area_mm2(item: Painted) -> float:
    """The area a filled path encloses, mm²; curves are taken along their control points."""
    points = points_of(item.handle)
    twice = sum(
        a[0] * b[1] - a[1] * b[0] for a, b in zip(points, points[1:] + points[:1], strict=True)
    )
    matrix = item.matrix
    return abs(twice) / 2 * abs(matrix.a * matrix.d - matrix.b * matrix.c) * mm(1) ** 2


def _dpi(item: Painted) -> float:
    """The pixels an inch of a picture, along the side that has fewer."""
    across, down = ctypes.c_uint(), ctypes.c_uint()
    pdfium_raw.FPDFImageObj_GetImagePixelSize(item.handle, ctypes.byref(across), ctypes.byref(down))
    width, height = mm(item.matrix.scale_x), mm(item.matrix.scale_y)
    if not width or not height:
        return math.inf
    return min(across.value / width, down.value / height) * MM_PER_INCH


def _unbled(subject: Subject, side: SideRead, face: FaceRead, box: Rect) -> str | None:
    """The cut that artwork reaches and does not run past; None when there is none."""
    bleed = subject.limits.bleed_mm
    if not bleed:
        return None
    flat = subject.on_face(face.leaf, face.face).flat
    reaches = {
        "left": box.x - flat.x,
        "right": flat.right - box.right,
        "top": box.y - flat.y,
        "bottom": flat.bottom - box.bottom,
    }
    for edge, room in reaches.items():
        if room <= _TOUCHES_MM and not _runs_past(side, face, box, edge, bleed):
            return edge
    return None


def _runs_past(side: SideRead, face: FaceRead, box: Rect, edge: str, bleed: float) -> bool:
    """Whether there is ink beyond a cut, all the way to the bleed, by the side's own pixels."""
    placed = face.placement
    flat = Rect(0, 0, placed.flat.width, placed.flat.height)
    if placed.turned % 180:
        flat = Rect(0, 0, placed.flat.height, placed.flat.width)
    left, right = max(box.x, 0.0), min(box.right, flat.width)
    top, bottom = max(box.y, 0.0), min(box.bottom, flat.height)
    strip = {
        "left": Rect(-bleed, top, bleed, bottom - top),
        "right": Rect(flat.width, top, bleed, bottom - top),
        "top": Rect(left, -bleed, right - left, bleed),
        "bottom": Rect(left, flat.height, right - left, bleed),
    }[edge]
    if strip.width <= 0 or strip.height <= 0:
        return True
    picture = area_picture(side.page, _on_sheet(strip, placed), 100, placed.turned)
    inked = np.asarray(picture.convert("L")) < 250
    along = inked.all(axis=1 if edge in ("left", "right") else 0)
    return bool(along.mean() >= 0.5)


def _on_sheet(rect: Rect, placement: Placement) -> Rect:
    """A box of an upright leaf where it lies on its sheet."""
    flat = placement.flat
    if placement.turned == 0:
        return rect.moved(flat.x, flat.y)
    if placement.turned == 180:
        return Rect(flat.right - rect.right, flat.bottom - rect.bottom, rect.width, rect.height)
    if placement.turned == 90:
        return Rect(flat.right - rect.bottom, flat.y + rect.x, rect.height, rect.width)
    return Rect(flat.x + rect.y, flat.bottom - rect.right, rect.height, rect.width)


def coverage(subject: Subject, side: SideRead) -> Iterator[Finding]:
    """A side that takes more ink than the limit."""
    limit = subject.limits.coverage_percent
    if _ink(side.page, _GLANCE_DPI) > limit and (ink := _ink(side.page, INK_DPI)) > limit:
        yield Finding(
            "ink-coverage",
            subject.name,
            f"ink covers {ink:.0f} % of the side, the limit is {limit:g} %",
            side.number,
            side.side,
        )


def _ink(page: pdfium.PdfPage, dpi: float) -> float:
    greys = page.render(scale=dpi / 72, grayscale=True).to_numpy()
    return 100.0 * (1.0 - float(np.mean(greys)) / 255.0)
