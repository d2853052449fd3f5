"""The parts of the pictures that a set decides: where it is cut, how its piles lie, its holes.

They are drawn into the areas that a picture keeps for them, in the picture's own millimetres.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass

from lxml import etree

from pipeline.base.geometry import Rect
from pipeline.fill.template import rect_of
from pipeline.impose.bench import Cut, cut_order
from pipeline.plan.model import Binder
from pipeline.publish.directions.account import Account
from pipeline.publish.directions.sample import Sample
from pipeline.svg.tree import SVG, inherited

PAPER, OUTLINE, LEAF, ACCENT = "#ffffff", "#858b80", "#ebf2e5", "#6f8f5f"
# Proportions of the diagrams, chosen by eye.
LINE_MM = 0.26
DASHES = "0.8 0.6"
LABEL_ROOM_MM = 3.4
CAPTION_MM = 2.4
BETWEEN_MM = 1.6
OVERHANG_MM = 0.8
LABEL_GAP_MM = 0.35
LEAST_HOLE_MM = 0.55
RING_RISE = 0.34
MOST_STEP_MM = 4.6


@dataclass(frozen=True)
class Figures:
    """How a picture writes numbers: in the language's own figures, in the style of its sample."""

    write: Callable[[int], str]
    sample: Sample

    def at(
        self,
        number: int | str,
        x: float,
        y: float,
        size: float | None = None,
        anchor: str = "middle",
    ) -> etree._Element:
        """A number at a point (mm), which is in the middle of its height."""
        text = number if isinstance(number, str) else self.write(number)
        size = size or self.sample.style.size
        return self.sample.text(text, x, y + 0.35 * size, size=size, anchor=anchor)


@dataclass(frozen=True)
class _Laid:
    """A small sheet: where it is drawn, and how much smaller than it is."""

    at: tuple[float, float]
    scale: float
    size: tuple[float, float]

    def rect(self, rect: Rect) -> Rect:
        x, y = self.at
        return Rect(
            x + rect.x * self.scale,
            y + rect.y * self.scale,
            rect.width * self.scale,
            rect.height * self.scale,
        )

    @property
    def whole(self) -> Rect:
        return self.rect(Rect(0, 0, *self.size))


def cuts(account: Account, area: Rect, figures: Figures, mirrored: bool) -> list[etree._Element]:
    """Every heap's sheet with its cuts, numbered in their order; what is cut apart says which.

    ``mirrored`` tells that the page will be mirrored afterwards, which these must survive.
    """
    heaps = account.heaps
    drawn: list[etree._Element] = []
    number = 0
    caption = CAPTION_MM + 1 if len(heaps) > 1 else 0.0
    for heap, laid in zip(
        heaps, _laid_out(account, area, LABEL_ROOM_MM, caption, len(heaps)), strict=True
    ):
        flats = _seen(heap.flats, account, mirrored)
        drawn += _sheet(laid, flats)
        order = cut_order(flats, *account.sheet_mm)
        for cut in order:
            number += 1
            beside = [other for other in order if other.across is cut.across]
            crowded = any(_nearer(other, laid) for other in beside)
            drawn += _numbered(cut, number, laid, figures, crowded)
        if len(heaps) > 1:
            write = figures.write
            names = {write(heap.first): None, write(heap.last): None}
            y = laid.whole.bottom + LABEL_ROOM_MM + CAPTION_MM / 2 + 0.4
            middle = laid.whole.x + laid.whole.width / 2
            drawn.append(figures.at("–".join(names), middle, y, CAPTION_MM))
    return drawn


def piles(account: Account, area: Rect, figures: Figures, mirrored: bool) -> list[etree._Element]:
    """Every heap's sheet with its piles, numbered in the order they are laid on one another."""
    drawn: list[etree._Element] = []
    number = 0
    for heap, laid in zip(
        account.heaps, _laid_out(account, area, 0.2, 0.0, len(account.heaps)), strict=True
    ):
        drawn += _sheet(laid, _seen(heap.flats, account, mirrored))
        for flat in _seen(heap.flats, account, mirrored):
            number += 1
            rect = laid.rect(flat)
            size = min(figures.sample.style.size, rect.height * 0.7, rect.width * 0.9)
            drawn.append(
                figures.at(number, rect.x + rect.width / 2, rect.y + rect.height / 2, size)
            )
    return drawn


def pile(account: Account, area: Rect, figures: Figures) -> list[etree._Element]:
    """The piles on one another, the first on top."""
    count = account.piles
    step = min(MOST_STEP_MM, area.height / (count + 1))
    depth = min(area.height - step * (count - 1), 1.5 * step)
    top = area.y + (area.height - step * (count - 1) - depth) / 2
    lean = area.width * 0.2
    drawn: list[etree._Element] = []
    for number in range(count, 0, -1):
        y = top + step * (number - 1)
        corners = (
            f"M{area.x + lean:.3f} {y:.3f}H{area.right:.3f}"
            f"L{area.right - lean:.3f} {y + depth:.3f}H{area.x:.3f}Z"
        )
        drawn.append(_path(corners, OUTLINE, LINE_MM, fill=PAPER))
        size = min(figures.sample.style.size, 0.86 * step)
        at = (area.x + area.width / 2 - lean * 0.2, y + depth - step / 2)
        drawn.append(figures.at(number, *at, size))
    return drawn


def holes(binder: Binder, strip: etree._Element) -> list[etree._Element]:
    """A leaf's holes along the middle of a strip that is as high as the leaf, in its style."""
    area = rect_of(strip)
    radius = max(binder.holes.diameter_mm * area.height / binder.height_mm / 2, LEAST_HOLE_MM)
    return [
        etree.Element(
            SVG + "circle",
            {
                **_style(strip),
                "cx": f"{area.x + area.width / 2:.3f}",
                "cy": f"{y:.3f}",
                "r": f"{radius:.3f}",
            },
        )
        for y in _hole_places(binder, area)
    ]


def rings(binder: Binder, strip: etree._Element) -> list[etree._Element]:
    """The rings of an open binder, each from one edge of a strip to the other, in its style."""
    area = rect_of(strip)
    rise = RING_RISE * area.width
    return [
        etree.Element(
            SVG + "path",
            {
                **_style(strip),
                "d": f"M{area.x:.3f} {y + rise / 2:.3f}"
                f"C{area.x:.3f} {y - rise:.3f} {area.right:.3f} {y - rise:.3f} "
                f"{area.right:.3f} {y + rise / 2:.3f}",
            },
        )
        for y in _hole_places(binder, area)
    ]


def _hole_places(binder: Binder, area: Rect) -> list[float]:
    return [area.y + centre * area.height / binder.height_mm for centre in binder.holes.centres_mm]


def _style(strip: etree._Element) -> dict[str, str]:
    found = {name: inherited(strip, name) for name in ("fill", "stroke", "stroke-width")}
    return {name: value for name, value in found.items() if value is not None}


def _laid_out(account: Account, area: Rect, room: float, caption: float, count: int) -> list[_Laid]:
    """``count`` small sheets side by side, as large as they can be, in the middle of the area."""
    width, height = account.sheet_mm
    across = (area.width - BETWEEN_MM * (count - 1)) / count - 2 * room
    scale = min(across / width, (area.height - 2 * room - caption) / height)
    each = width * scale + 2 * room
    x = area.x + (area.width - each * count - BETWEEN_MM * (count - 1)) / 2
    y = area.y + (area.height - caption - height * scale) / 2
    return [
        _Laid((x + room + number * (each + BETWEEN_MM), y), scale, (width, height))
        for number in range(count)
    ]


def _seen(flats: Sequence[Rect], account: Account, mirrored: bool) -> list[Rect]:
    width, _ = account.sheet_mm
    return [flat.mirrored_x(width) if mirrored else flat for flat in flats]


def _sheet(laid: _Laid, flats: Sequence[Rect]) -> list[etree._Element]:
    paper = _box(laid.whole, PAPER, OUTLINE)
    return [paper, *(_box(laid.rect(flat), LEAF, "none") for flat in flats)]


def _nearer(cut: Cut, laid: _Laid) -> int:
    """The edge a cut is nearer to: -1 for the left or upper, 1 for the other, 0 for neither."""
    before = cut.spans[0][0]
    after = laid.size[0 if cut.across else 1] - cut.spans[-1][1]
    return (before > after) - (before < after) if abs(before - after) > 1 else 0


def _numbered(
    cut: Cut, number: int, laid: _Laid, figures: Figures, crowded: bool
) -> list[etree._Element]:
    """One cut and its number, which stands at the edge the cut is nearer to.

    Where it is as near to both, odd numbers stand at one edge and even ones opposite, so that
    those of neighbours do not meet; or all at one, where numbers of shorter cuts are ``crowded``
    in.
    """
    sheet = laid.whole
    at = cut.at * laid.scale + (sheet.y if cut.across else sheet.x)
    start, end = (sheet.x, sheet.right) if cut.across else (sheet.y, sheet.bottom)
    spans = [(start + low * laid.scale, start + high * laid.scale) for low, high in cut.spans]
    nearer = _nearer(cut, laid)
    at_start = nearer < 0 or (nearer == 0 and (crowded or number % 2 == 1))
    tail = (start - OVERHANG_MM, start) if at_start else (end, end + OVERHANG_MM)
    parts = [
        _line(near, at, far, at) if cut.across else _line(at, near, at, far)
        for near, far in (*spans, tail)
    ]
    if cut.across:
        x = tail[0] - LABEL_GAP_MM if at_start else tail[1] + LABEL_GAP_MM
        parts.append(figures.at(number, x, at, anchor="end" if at_start else "start"))
    else:
        half = figures.sample.style.size * 0.35 + LABEL_GAP_MM
        parts.append(figures.at(number, at, tail[0] - half if at_start else tail[1] + half))
    return parts


def _box(rect: Rect, fill: str, stroke: str) -> etree._Element:
    return etree.Element(
        SVG + "rect",
        {
            "x": f"{rect.x:.3f}",
            "y": f"{rect.y:.3f}",
            "width": f"{rect.width:.3f}",
            "height": f"{rect.height:.3f}",
            "fill": fill,
            "stroke": stroke,
            "stroke-width": f"{LINE_MM:g}",
        },
    )


def _line(x1: float, y1: float, x2: float, y2: float) -> etree._Element:
    line = _path(f"M{x1:.3f} {y1:.3f}L{x2:.3f} {y2:.3f}", ACCENT, LINE_MM)
    line.set("stroke-dasharray", DASHES)
    return line


def _path(d: str, stroke: str, width: float, fill: str = "none") -> etree._Element:
    return etree.Element(
        SVG + "path", {"d": d, "fill": fill, "stroke": stroke, "stroke-width": f"{width:g}"}
    )
