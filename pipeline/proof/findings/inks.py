"""Lines, areas and pictures: whether they print, and leave paper that can be written on."""

from __future__ import annotations

import ctypes
import itertools
import math
from collections import defaultdict
from collections.abc import Callable, Iterator, Mapping

import numpy as np
import pypdfium2.raw as pdfium_raw

from pipeline.base.geometry import MM_PER_INCH, Rect, mm
from pipeline.proof.findings.placing import page_forms
from pipeline.proof.findings.reading import Art, FaceRead, SideRead
from pipeline.proof.findings.subject import SetFinding
from pipeline.proof.read.objects import (
    Paint,
    Painted,
    line_box,
    middle,
    points_of,
    prints_ink,
    subpaths_of,
    type_size_pt,
)
from pipeline.proof.read.raster import area_picture, ink_percent

_RULE_MM = 25.0
"""A straight line so long is ruled; what is shorter is drawn."""
_ROUNDING_MM = 0.006
"""Widths are rounded in a file: to a fiftieth of a point."""
_ROUNDING_PT = 0.05
_WORTH_MM2 = 60.0
"""A dark area smaller than this is a line or a letter, not a place to write on."""
_PEN_MM = 1.0
"""What is thinner on the whole is a line, by how much edge an area has. By eye."""
_TOUCHES_MM = 0.3
"""Artwork so near a cut reaches it."""
_NEAR_CUT_MM = 1.0
"""Artwork so near a cut is touched by one that is slightly off: common practice."""
_IN_MONTH = 5 / 8
"""The figures of a small month may be so much smaller than other type: they are looked up, not
read (by eye)."""
_SMALL_PAGE_MM, _ON_SMALL_PAGE = 127.0, 3 / 4
"""On pages narrower than 5 in type may be so much smaller: they are held nearer (by eye)."""
_SAME_LEVEL = 2
"""Levels of red, green and blue are rounded in a file."""
_UNSEEN = 0.005
"""Ink lighter than this is white: it covers, and is not meant to be seen."""


def _too_thin(art: Art) -> str | None:
    """Drawn details may be half as thin as ruled lines."""
    item, hairline_mm = art.item, art.face.subject.limits.hairline_mm
    least, thin = hairline_mm - _ROUNDING_MM, item.stroke_mm
    if item.kind != "path":
        return None
    if _seen(item.stroke) and thin < least:
        if thin >= hairline_mm / 2 - _ROUNDING_MM and not _straight(item):
            return None
    elif _seen(item.fill) and item.stroke is None:
        thin, length = sorted((item.box.width, item.box.height))
        if thin >= least or length < _RULE_MM or len(points_of(item.handle)) > 5:
            return None
    else:
        return None
    return f"a line {thin:.2f} mm thick may print broken or not at all"


def _too_light(art: Art) -> str | None:
    item = art.item
    paint = None if item.kind == "text" else item.stroke
    if paint is None or 100 * paint.darkness >= art.face.subject.limits.lightest_percent:
        return None
    return f"a line of {100 * paint.darkness:.0f} % ink" if _seen(paint) else None


def _too_dark(art: Art) -> str | None:
    """Areas of filled paths; curves are taken along their control points.

    What is no thicker than a pen's line, such as a drawn outline, is no area to write on.
    """
    item, box = art.item, art.box
    dark = 100 * item.fill.darkness if item.kind == "path" and item.fill else 0.0
    if dark <= art.face.subject.limits.darkest_percent or box.width * box.height < _WORTH_MM2:
        return None
    edges = [
        (item.matrix.point(*a), item.matrix.point(*b))
        for points in subpaths_of(item.handle)
        for a, b in zip(points, points[1:] + points[:1], strict=True)
    ]
    area = mm(mm(abs(sum(a[0] * b[1] - a[1] * b[0] for a, b in edges)) / 2))
    if 2 * area < _PEN_MM * mm(sum(math.dist(a, b) for a, b in edges)):
        return None
    return f"{area / 100:.1f} cm² of {dark:.0f} % ink" if area >= _WORTH_MM2 else None


def _too_coarse(art: Art) -> str | None:
    """Pictures, by the side that has fewer pixels to the inch."""
    item = art.item
    width, height = mm(item.matrix.scale_x), mm(item.matrix.scale_y)
    if item.kind != "picture" or not width or not height:
        return None
    across, down = ctypes.c_uint(), ctypes.c_uint()
    pdfium_raw.FPDFImageObj_GetImagePixelSize(item.handle, across, down)
    dpi = min(across.value / width, down.value / height) * MM_PER_INCH
    if dpi >= art.face.subject.limits.raster_dpi:
        return None
    return f"a picture of {dpi:.0f} pixels to the inch will look coarse"


def _unbled(art: Art) -> str | None:
    """The cut that artwork reaches and does not run past."""
    item, box, flat = art.item, art.box, art.face.shape.flat
    bleed, printed = art.face.subject.limits.bleed_mm, art.face.subject.plan.bleed_mm
    bleed = min(bleed, printed) if printed else bleed
    if item.kind == "text" or not _solid(item) or not bleed:
        return None
    for edge, room in _rooms(box, flat).items():
        if room <= _TOUCHES_MM and not _runs_past(art, flat, edge, bleed):
            return f"it ends at the {edge} edge of the leaf; an inexact cut leaves white"
    return None


def _too_near_cut(art: Art) -> str | None:
    """The cut that artwork stops just short of, where nothing behind it runs past."""
    item, box, flat = art.item, art.box, art.face.shape.flat
    bleed = art.face.subject.limits.bleed_mm
    if item.kind == "text" or not _solid(item) or not bleed:
        return None
    for edge, room in _rooms(box.grown(-item.stroke_mm / 2), flat).items():
        if _TOUCHES_MM < room < _NEAR_CUT_MM and not _runs_past(art, flat, edge, bleed):
            return f"it ends {room:.1f} mm from the {edge} edge of the leaf; an inexact cut shows"
    return None


def _punched(art: Art) -> str | None:
    """Artwork that ends where holes are punched; a ground or a band runs past the binding edge."""
    item, box, shape = art.item, art.box, art.face.shape
    if item.kind == "text" or not _solid(item) or box.holds(shape.trim, _NEAR_CUT_MM):
        return None
    strip, flat = shape.punch_zone, shape.flat
    if not box.grown(-item.stroke_mm / 2).overlaps(strip, _TOUCHES_MM):
        return None
    edge = "left" if strip.x < flat.right - strip.right else "right"
    runs_past = _rooms(box, flat)[edge] <= _TOUCHES_MM
    return None if runs_past else f"it lies in the {strip.width:g} mm beside the rings"


def _without_tips(check: Callable[[Art], str | None]) -> Callable[[Art], str | None]:
    """The same of a line without the tips of its joins, which are longer than they are drawn."""

    def checked(art: Art) -> str | None:
        what = check(art)
        if what is None or art.item.kind != "path" or art.item.stroke is None:
            return what
        return check(art._replace(box=art.face.on_leaf(line_box(art.item, art.page))))

    return checked


def _rooms(box: Rect, flat: Rect) -> dict[str, float]:
    """How far a box stays within each edge of the leaf; less than 0 where it runs past."""
    return {
        "left": box.x - flat.x,
        "right": flat.right - box.right,
        "top": box.y - flat.y,
        "bottom": flat.bottom - box.bottom,
    }


def _solid(item: Painted) -> bool:
    return item.kind == "picture" or _seen(item.fill) or _seen(item.stroke)


def _too_small(art: Art) -> str | None:
    """Type, by its size as it is printed, which counts from line to line."""
    item, limit = art.item, art.face.subject.limits.smallest_pt
    if item.kind != "text" or not prints_ink(item):
        return None
    if art.face.subject.plan.binder.width_mm < _SMALL_PAGE_MM:
        limit *= _ON_SMALL_PAGE
    size = type_size_pt(item)
    if size >= limit - _ROUNDING_PT:
        return None
    if any(slot.area.overlaps(middle(art.box)) for slot in art.face.slots.grids):
        limit = min(limit, art.face.subject.limits.smallest_pt * _IN_MONTH)
        if size >= limit - _ROUNDING_PT:
            return None
    return f"'{art.face.words_in(art.box)}' in {size:.1f} pt type, the limit is {limit:.3g} pt"


def _in_its_old_colour(art: Art) -> str | None:
    """Whatever has a colour of the drawings that the set's own colours have another for."""
    colours = art.face.subject.plan.colours
    if colours is None or art.item.kind == "picture":
        return None
    new = dict(colours.change)
    for paint in (art.item.fill, art.item.stroke):
        if paint is None or not paint.opacity:
            continue
        shown = (paint.red, paint.green, paint.blue)
        if any(_alike(shown, one) for one in new.values()):
            continue
        for old, instead in new.items():
            if _alike(shown, old):
                return f"{_named(old)}, where '{colours.name}' has {_named(instead)}"
        if colours.greys and max(shown) - min(shown) > _SAME_LEVEL:
            return f"{_named(shown)}, where '{colours.name}' has a grey"
    return None


def _alike(one: tuple[int, int, int], other: tuple[int, int, int]) -> bool:
    return all(abs(a - b) <= _SAME_LEVEL for a, b in zip(one, other, strict=True))


def _named(colour: tuple[int, int, int]) -> str:
    return "#{:02x}{:02x}{:02x}".format(*colour)


ART_RULES: Mapping[str, Callable[[Art], str | None]] = {
    "hairline": _too_thin,
    "ink-light": _too_light,
    "ink-heavy": _too_dark,
    "picture-coarse": _too_coarse,
    "art-no-bleed": _without_tips(_unbled),
    "art-near-cut": _without_tips(_too_near_cut),
    "art-in-punch": _without_tips(_punched),
    "type-small": _too_small,
    "colour-unchanged": _in_its_old_colour,
}
"""What is wrong with a thing that is painted on a leaf, by that and by ``Subject.held_to``."""


_BY_CUTS = ("art-no-bleed", "art-near-cut")
_BY_ITSELF = tuple(check for rule, check in ART_RULES.items() if rule not in _BY_CUTS)


def art_findings(side: SideRead) -> Iterator[SetFinding]:
    """What is wrong with what the pages of a side paint, one finding a kind and face."""
    pages = page_forms(side)
    found: dict[tuple[FaceRead, str], list[tuple[Art, str]]] = defaultdict(list)
    faces = ((face.placement.flat, face.shape, face.slots.grids) for face in side.faces)
    where = "suspect", side.subject.held_to, tuple(faces)
    for layer in side.layers:
        # What is sound on one page is so on all that have it at the same place.
        suspect = side.known(layer, where, lambda one: [*map(_is_suspect, side.on_leaves(one))])
        if not any(suspect):
            continue
        for art in itertools.compress(side.on_leaves(layer), suspect):
            if art.item.top not in pages:
                continue  # a stamp, which another finding says
            for rule, check in ART_RULES.items():
                if what := check(art):
                    found[art.face, rule].append((art, what))
    for (face, rule), [(art, what), *others] in found.items():
        more = f" (and {len(others)} more on this page)" if others else ""
        yield face.finding(rule, what + more, art.box)


def _is_suspect(art: Art) -> bool:
    """Whether a thing is wrong, or near a cut, where it depends on what else is on its page."""
    if min(_rooms(art.box, art.face.shape.flat).values()) < _NEAR_CUT_MM:
        return True
    return any(check(art) for check in _BY_ITSELF)


def _seen(paint: Paint | None) -> bool:
    return paint is not None and paint.darkness > _UNSEEN


def _straight(item: Painted) -> bool:
    """Whether a path is a straight line, or several, long enough to be ruled."""
    if max(item.box.width, item.box.height) < _RULE_MM:
        return False
    many = len(points_of(item.handle))
    return many == 2 or (many % 2 == 0 and min(item.box[2:]) < 2 * item.stroke_mm)


def _runs_past(art: Art, flat: Rect, edge: str, bleed: float) -> bool:
    """Whether there is ink beyond a cut, all the way to the bleed, by the side's own pixels."""
    left, right = max(art.box.x, 0.0), min(art.box.right, flat.width)
    top, bottom = max(art.box.y, 0.0), min(art.box.bottom, flat.height)
    strip = {
        "left": Rect(-bleed, top, bleed, bottom - top),
        "right": Rect(flat.width, top, bleed, bottom - top),
        "top": Rect(left, -bleed, right - left, bleed),
        "bottom": Rect(left, flat.height, right - left, bleed),
    }[edge]
    if strip.width <= 0 or strip.height <= 0:
        return True
    position = art.face.placement.position
    picture = area_picture(art.page, position.rect(strip), 100, position.turned)
    inked = np.asarray(picture.convert("L")) < 250
    along = inked.all(axis=1 if edge in ("left", "right") else 0)
    return bool(along.mean() >= 0.5)


def coverage(side: SideRead) -> Iterator[SetFinding]:
    """A side that takes more ink than the limit."""
    limit = side.subject.limits.coverage_percent
    if 100 * side.most_inked <= limit:
        return  # though all of it were black
    glance = 100 * (1 - float(side.greys.mean()) / 255)
    if glance > limit and (ink := ink_percent(side.page)) > limit:
        message = f"ink covers {ink:.0f} % of the side, the limit is {limit:g} %"
        yield side.finding("ink-coverage", message)
