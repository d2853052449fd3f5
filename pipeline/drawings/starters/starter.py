"""Starter pages, plain type on a grid at true size for a binder, and new workspaces of them."""

from __future__ import annotations

import contextlib
import datetime as dt
import itertools
import json
import math
import re
from collections.abc import Callable, Iterator, Mapping, Sequence
from importlib import resources
from pathlib import Path
from typing import Any, NamedTuple

import svgwrite
from lxml import etree
from svgwrite.extensions import Inkscape

from pipeline.base.errors import UserError, did_you_mean
from pipeline.base.folders import safe_name, whole_folder, write_files, write_whole
from pipeline.base.geometry import PT_PER_MM, Rect, decimal
from pipeline.fill.filling import TEXT_EDGE_MM
from pipeline.impose.leaf import LeafFace, LeafGeometry
from pipeline.plan.calendar import later, months_of
from pipeline.plan.facts import TAB_LABEL, TAB_NAME
from pipeline.plan.model import Binder, Side
from pipeline.plan.words import words_for
from pipeline.svg.path import Point
from pipeline.svg.transform import Matrix
from pipeline.svg.tree import SVG

SANS = "'Source Sans 3'"
SERIF = "'EB Garamond'"

INK, SOFT, RULE, ACCENT = "#4d534e", "#6a716b", "#949b93", "#4f7a4c"
"""A cheap printer keeps them (common practice: words at 4.5 : 1, rules of 35 % ink and more)."""

_SODIPODI = "{http://sodipodi.sourceforge.net/DTD/sodipodi-0.dtd}"
_INKSCAPE = "{http://www.inkscape.org/namespaces/inkscape}"

_OUTER_MM = 6.0
"""From the trimmed edges to what is printed on a page as large as A5 (common practice)."""
_A5_MM2 = 148.0 * 210.0
"""The area of A5 (ISO 216)."""
_SCALES = 0.66, 1.15
"""How much smaller and larger type gets than on A5, at most (from memory)."""
_PUNCH_ZONE_AIR_MM = 1.25
"""From the punch zone to what is printed, beyond the safe area (from memory)."""
_LEAST_FLAP_MM = 8.0
"""A flap with less room than this stays empty (from memory)."""
_GUIDE_MM = 0.15
"""How thick guides are drawn."""
_SMALLEST_FIGURE_MM = 1.6
"""Figures of a small month below 4.5 points cannot be read (common practice)."""

_SMALLEST_IN_YEAR_MM = 6 / PT_PER_MM
"""A whole year is read from further away than the month on a flap (common practice: 6 points)."""

LABELS: Mapping[str, str] = {"week": "Week", "list": "To do", "notes": "Notes"}
"""The labels that starter pages show, in English."""

_DAYS = ("Monday", "Tuesday", "Wednesday", "Thursday", "Friday", "Saturday", "Sunday")
_MONTHS = ("January", "February", "March", "April", "May", "June", "July", "August", "September",
           "October", "November", "December")  # fmt: skip


class StarterPage:
    """A page at its flat size in mm, with layers for artwork, ruled areas, text and guides.

    ``page`` is the area to draw in between binding edge and fore edge, ``flap`` the same on the
    flap (None without one), ``scale`` how large type is compared with A5's. What is added ``only``
    for a fact is shown only where that holds.
    """

    def __init__(self, face: LeafFace, title: str) -> None:
        self.face = face
        trim, safe, flap = face.trim, face.safe, face.flap
        smallest, largest = _SCALES
        size = math.sqrt(trim.width * trim.height / _A5_MM2)
        self.scale = min(largest, max(smallest, size))
        outer = max(TEXT_EDGE_MM + 0.5, _OUTER_MM * min(1.0, self.scale))
        at_left, high = face.binding_x == 0, trim.height - 2 * outer
        inner = safe.x - trim.x if at_left else trim.right - safe.right
        inner = max(inner + _PUNCH_ZONE_AIR_MM, outer)
        left = trim.x + (inner if at_left else outer)
        self.page = Rect(left, outer, trim.width - inner - outer, high)
        self.flap = None
        if flap is not None and flap.width >= outer + TEXT_EDGE_MM + _LEAST_FLAP_MM:
            left = flap.x + (outer if flap.x == 0 else TEXT_EDGE_MM)
            self.flap = Rect(left, outer, flap.width - outer - TEXT_EDGE_MM, high)
        width, height = (f"{side:g}" for side in (face.flat.width, face.flat.height))
        self._drawing = svgwrite.Drawing(
            size=(f"{width}mm", f"{height}mm"), viewBox=f"0 0 {width} {height}", debug=False
        )
        self._drawing.set_desc(title=title)
        inkscape = Inkscape(self._drawing)
        round_ends = {"fill": "none", "stroke_linecap": "round"}
        self._art = inkscape.layer("artwork", id="artwork", **round_ends)
        self._rules = inkscape.layer("rules", id="rules", **round_ends)
        self._text = inkscape.layer("text", id="text")
        self._guides = inkscape.layer("guides", locked=True, id="guides", fill="none")
        self._names: dict[str, int] = {}

    def line(
        self,
        x: float,
        y: float,
        to_x: float,
        *,
        colour: str = RULE,
        width: float = 0.25,
        only: str | None = None,
    ) -> None:
        """A level rule from ``x`` to ``to_x``."""
        ends = (_mm(x), _mm(y)), (_mm(to_x), _mm(y))
        self._add(self._art, self._drawing.line(*ends, stroke=colour, stroke_width=width), only)

    def upright(self, x: float, y: float, to_y: float) -> None:
        """An upright rule from ``y`` to ``to_y``."""
        ends = (_mm(x), _mm(y)), (_mm(x), _mm(to_y))
        self._art.add(self._drawing.line(*ends, stroke=RULE, stroke_width=0.25))

    def ruled(self, name: str, area: Rect, *, width: float = 0.2) -> None:
        """An area to be ruled, such as ``lines-6mm``."""
        stroke = {"stroke": RULE, "stroke_width": width}
        self._rules.add(self._rect(area, id=self._id(name), fill="none", **stroke))

    def key(
        self,
        key: str,
        sample: str,
        box: Rect,
        size: float,
        *,
        anchor: str = "start",
        family: str = SANS,
        weight: int = 400,
        fill: str = INK,
        baseline: float | None = None,
        only: str | None = None,
    ) -> None:
        """A text to be set, in the box that it has to fit (``baseline`` is its y, in mm)."""
        group = self._drawing.g(id=self._id(key))
        group.add(self._rect(box, fill="none"))
        x = {"start": box.x, "middle": box.x + box.width / 2, "end": box.right}[anchor]
        y = box.bottom - 0.26 * size if baseline is None else baseline
        group.add(self._type(sample, (x, y), size, family, weight, fill, anchor))
        self._add(self._text, group, only)

    @contextlib.contextmanager
    def each(self, name: str, room: Rect, cell: Rect, *, stroke: str = "none") -> Iterator[None]:
        """What is drawn meanwhile is the sample of ``each-…``: as large as ``cell``, in a room.

        With a ``stroke`` every place is framed in that colour.
        """
        group, sample = self._drawing.g(id=self._id(name)), self._drawing.g()
        group.add(self._rect(room, fill="none"))
        frame = {"stroke": stroke, "stroke_width": 0.2} if stroke != "none" else {}
        sample.add(self._rect(cell, fill="none", **frame))
        group.add(sample)
        layers = self._art, self._rules, self._text
        self._art = self._rules = self._text = sample
        yield
        self._art, self._rules, self._text = layers
        self._text.add(group)

    def month(self, key: str, area: Rect, size: float = 0.0) -> None:
        """A small month, with samples for its days, weekend days and weekday letters, of ``size``
        (mm) where that is given."""
        size = size or min(0.66 * area.height / 7, 0.5 * area.width / 7)
        group = self._drawing.g(id=self._id(key))
        group.add(self._rect(area, fill="none"))
        for row, sample, column, fill in ((1, "1", 0, INK), (1, "6", 5, ACCENT), (0, "M", 0, SOFT)):
            x = area.x + (column + 0.5) * area.width / 7
            y = area.y + (row + 0.5) * area.height / 7 + 0.33 * size
            group.add(self._type(sample, (x, y), size, SANS, 400, fill, "middle"))
        self._text.add(group)

    def _add(self, layer: Any, element: Any, only: str | None) -> None:
        if only is not None:
            inside, element = element, self._drawing.g(id=self._id(f"show-{only}"))
            element.add(inside)
        layer.add(element)

    def _id(self, name: str) -> str:
        """A name the first time, and with a copy's number from then on."""
        self._names[name] = self._names.get(name, 0) + 1
        return name if self._names[name] == 1 else f"{name}-{self._names[name]}"

    def _rect(self, area: Rect, **attributes: Any) -> Any:
        corner, size = (_mm(area.x), _mm(area.y)), (_mm(area.width), _mm(area.height))
        return self._drawing.rect(corner, size, **attributes)

    def _type(
        self, text: str, at: Point, size: float, family: str, weight: int, fill: str, anchor: str
    ) -> Any:
        style = {"font_family": family, "font_size": _mm(size), "font_weight": weight, "fill": fill}
        if anchor != "start":
            style["text_anchor"] = anchor
        return self._drawing.text(text, (_mm(at[0]), _mm(at[1])), **style)

    def svg(self) -> bytes:
        """The page as a file: UTF-8, a line an element."""
        for layer in (self._art, self._rules, self._text, self._guides):
            self._drawing.add(layer)
        root = etree.fromstring(self._drawing.tostring().encode())
        draw_guides(root[-1], self.face, Matrix())
        view = etree.Element(
            _SODIPODI + "namedview",
            {"id": "view", _INKSCAPE + "document-units": "mm", "pagecolor": "#ffffff"},
        )
        root.insert(1, view)
        for empty in root.iterfind("{*}defs"):
            root.remove(empty)
        etree.indent(root)
        return bytes(etree.tostring(root, xml_declaration=True, encoding="UTF-8")) + b"\n"


def draw_guides(layer: etree._Element, face: LeafFace, to_units: Matrix) -> None:
    """Draws a page's trim, safe area, punch zone, holes and fold into its layer of guides.

    They are for the eye and never printed. ``to_units`` leads from millimetres on the page to the
    layer's own units.
    """
    unit = to_units.scale_x

    def add(tag: str, name: str, style: Mapping[str, str], **values: float) -> None:
        numbers = {key: decimal(value, 4) for key, value in values.items()}
        etree.SubElement(layer, SVG + tag, {"id": name, **numbers, **style})

    def rect(name: str, area: Rect, style: Mapping[str, str]) -> None:
        add("rect", name, style, **to_units.bounds(area)._asdict())

    thin = {"fill": "none", "stroke": "#4f86b8", "stroke-width": decimal(_GUIDE_MM * unit, 4)}
    dashed = {**thin, "stroke-dasharray": f"{decimal(1.5 * unit, 4)} {decimal(unit, 4)}"}
    rect("guide-punch-zone", face.punch_zone, {"fill": "#e8eef4", "stroke": "none"})
    rect("guide-trim", face.flat, thin)
    rect("guide-safe", face.safe, dashed)
    if face.flap_safe is not None:
        rect("guide-safe-flap", face.flap_safe, dashed)
    if face.fold_x is not None:
        x1, y1 = to_units.point(face.fold_x, 0)
        x2, y2 = to_units.point(face.fold_x, face.flat.height)
        add("line", "guide-fold", dashed, x1=x1, y1=y1, x2=x2, y2=y2)
    for number, hole in enumerate(face.holes, 1):
        cx, cy = to_units.point(hole.x, hole.y)
        add("circle", f"guide-hole{number}", thin, cx=cx, cy=cy, r=hole.diameter / 2 * unit)


def _mm(value: float) -> float:
    """Two decimals: a hundredth of a millimetre is finer than any knife."""
    return round(value, 2)


def _week(into: StarterPage) -> None:
    """The seven days one below the other, the week's figures above, the flap for the week."""
    page, scale = into.page, into.scale
    grid = Rect(page.right - 30 * scale, page.y, 30 * scale, 22 * scale)
    head = 24 * scale
    room = page.width
    if into.flap is None:
        into.month("month-grid", grid)
        room = grid.x - page.x - 2 * scale
    into.key("month-name", "March", Rect(page.x, page.y + 4.6 * scale, 0.7 * room, 11 * scale),
              9 * scale, family=SERIF, fill=ACCENT)  # fmt: skip
    base = page.y + 15.6 * scale - 0.26 * 9 * scale
    into.key("year", "2027", Rect(page.x + 0.7 * room, page.y + 6 * scale, 0.3 * room, 8 * scale),
              4 * scale, anchor="end", weight=300, fill=SOFT, baseline=base)  # fmt: skip
    size = 3.6 * scale
    below = Rect(page.x, base + 1.4 * scale, 0.62 * room, 5.2 * scale)
    into.key("week-range", "1 – 7 March", below, size, weight=300)
    right = page.x + room
    number = Rect(right - 1.2 * size, below.y, 1.2 * size, below.height)
    into.key("week-number", "9", number, size, anchor="end", fill=ACCENT)
    week = Rect(below.right, below.y, number.x - 0.25 * size - below.right, below.height)
    into.key("label-week", LABELS["week"], week, size, anchor="end", weight=300, fill=SOFT)
    pitch, count = _even((page.height - head) / 7)
    rows = Rect(page.x, page.bottom - 7 * count * pitch, page.width, count * pitch)
    for day, name in enumerate(_DAYS, 1):
        lines = count if day == 7 else count - 1  # the last one is the next day's first rule
        _week_day(into, day, name, rows.moved(0, (day - 1) * rows.height), pitch, lines)
    if into.flap is not None:
        _week_flap(into, into.flap, rows, pitch, count)


def _even(height: float) -> tuple[float, int]:
    """The pitch of writing lines that fills a row best, mm, and how many go into it."""
    fits = [(int(height / pitch) * pitch, pitch) for pitch in (5.0, 5.5, 6.0, 6.5, 7.0)]
    filled, pitch = max(fits)
    return pitch, round(filled / pitch)


def _week_day(
    into: StarterPage, number: int, name: str, row: Rect, pitch: float, count: int
) -> None:
    scale = into.scale
    into.line(row.x, row.y, row.right)
    weekend = f"day{number}-weekend"
    into.line(row.x, row.y, row.right, colour=ACCENT, width=0.35, only=weekend)
    column = min(30 * scale, 0.34 * row.width)
    figure = min(9.5 * scale, 0.5 * row.height)
    base = row.y + 0.5 * scale + 0.86 * figure
    box = Rect(row.x, base - figure, 0.44 * column, 1.25 * figure)
    into.key(
        f"day{number}-number", str(number), box, figure, weight=200, fill=ACCENT, baseline=base
    )
    small = 3.4 * scale
    beside = Rect(row.x + 0.46 * column, base - small, 0.52 * column, 1.3 * small)
    into.key(f"day{number}-month", "March", beside, small, fill=SOFT, baseline=base,
             only=f"day{number}-month-start")  # fmt: skip
    size = 4.6 * scale
    box = Rect(row.x, base + 0.9 * scale, column, 1.2 * size)
    into.key(f"day{number}-name", name, box, size, family=SERIF)
    left = row.x + column + 2 * scale
    area = Rect(left, row.y, row.right - left, count * pitch)
    into.ruled(f"lines-{pitch:g}mm", area)


def _week_flap(into: StarterPage, flap: Rect, rows: Rect, pitch: float, count: int) -> None:
    """A small month, and for each day its date over writing lines level with the page's."""
    _flap_month(into, flap)
    small = 2.9 * into.scale
    for number in range(1, 8):
        y = rows.y + (number - 1) * rows.height
        into.line(flap.x, y, flap.right)
        box = Rect(flap.x, y + 0.4 * small, flap.width, 1.35 * small)
        into.key(f"day{number}-date", f"{number} March", box, small, fill=SOFT)
        lines = count - 1 if number == 7 else count - 2
        if lines > 0:
            area = Rect(flap.x, y + pitch, flap.width, lines * pitch)
            into.ruled(f"lines-{pitch:g}mm", area)


def _month(into: StarterPage) -> None:
    """The days of the month in two columns, a writing line each."""
    page, scale = into.page, into.scale
    head = _heading(into, "month-name", "March", beside="year")
    corner = Rect(page.right - 10 * scale, page.y, 10 * scale, 3.6 * scale)
    into.key("month-number", "3", corner, 2.9 * scale, anchor="end", fill=SOFT)
    gap = 5 * scale
    width, pitch = (page.width - gap) / 2, (page.bottom - head) / 16
    size = min(4.2 * scale, 0.62 * pitch)
    for day in range(1, 32):
        column, row = divmod(day - 1, 16)
        x, y = page.x + column * (width + gap), head + (row + 1) * pitch
        only = f"date{day}" if day > 28 else None
        into.line(x, y, x + width, only=only)
        base = y - 0.3 * size
        box = Rect(x, y - 1.2 * size, 1.35 * size, 1.2 * size)
        into.key(f"date{day}-number", str(day), box, size, anchor="end", weight=300, fill=ACCENT,
                 baseline=base, only=only)  # fmt: skip
        box = Rect(x + 1.7 * size, box.y, 0.22 * width, box.height)
        into.key(f"date{day}-name", _DAYS[(day - 1) % 7], box, 0.62 * size, fill=SOFT,
                 baseline=base, only=only)  # fmt: skip
    _flap_notes(into, month=True)


def _month_grid(into: StarterPage) -> None:
    """The month as a calendar with room to write in."""
    page, scale = into.page, into.scale
    head = _heading(into, "month-name", "March", beside="year")
    width, heads = page.width / 7, 6 * scale
    size = max(_SMALLEST_FIGURE_MM, min(2.9 * scale, 0.2 * width))
    room = Rect(page.x, head + 1.5 * scale, page.width, heads)
    cell = Rect(room.x, room.y, width, heads)
    with into.each("each-weekday-across-even", room, cell):
        box = Rect(cell.x + 0.08 * width, cell.y, 0.84 * width, heads)
        into.key("weekday-name", "Monday", box, size, fill=SOFT)
    room = Rect(page.x, room.bottom, page.width, page.bottom - room.bottom)
    cell = Rect(room.x, room.y, width, room.height / 5)
    size = min(4.6 * scale, 0.3 * width)
    with into.each("each-date-alone", room, cell, stroke=RULE):
        box = Rect(cell.x + 0.08 * width, cell.y + 0.06 * width, 1.5 * size, 1.2 * size)
        into.key("date-number", "1", box, size, weight=300, fill=ACCENT)
    _flap_notes(into, month=True)


def _day(into: StarterPage) -> None:
    """The hours of a day, and lines below them."""
    page, scale = into.page, into.scale
    head = _heading(into, "day-name", "Monday")
    box = Rect(page.x + 0.5 * page.width, page.y, 0.5 * page.width, 4 * scale)
    into.key("day-date", "1 March", box, 3.4 * scale, anchor="end", weight=300, fill=SOFT)
    pitch = _pitch(scale)
    room = Rect(page.x, head, page.width, 0.68 * (page.bottom - head))
    cell = Rect(room.x, room.y, room.width, room.height / 14)
    size = min(2.9 * scale, 0.5 * cell.height)
    with into.each("each-hour-7-20-down", room, cell):
        into.line(cell.x, cell.bottom, cell.right)
        box = Rect(cell.x, cell.bottom - 1.5 * size, 5 * size, 1.3 * size)
        into.key("hour", "07:00", box, size, fill=SOFT)
    notes = Rect(page.x, room.bottom + 2 * pitch, page.width, page.bottom - room.bottom - 2 * pitch)
    box = Rect(page.x, notes.y - 4.5 * scale, page.width, 4 * scale)
    into.key("label-notes", LABELS["notes"], box, 2.9 * scale, fill=ACCENT)
    into.ruled(f"lines-{pitch:g}mm", notes)
    _flap_notes(into)


def _year(into: StarterPage) -> None:
    """The months of a year, or of the period, as small months; in binders too small for figures
    that one can read, as lines to write on."""
    page, scale = into.page, into.scale
    head = _heading(into, "year", "2027") + 4 * scale
    room = Rect(page.x, head, page.width, page.bottom - head)
    sizes = {columns: _year_figures(room, columns, scale) for columns in (3, 2)}
    columns = max(sizes, key=lambda columns: sizes[columns])
    cell, name, area = _year_cell(room, columns, scale)
    with into.each("each-month", room, cell):
        box = Rect(cell.x, cell.y, area.width, 1.3 * name)
        into.key("month-name", "March", box, name, family=SERIF, fill=ACCENT)
        if sizes[columns]:
            into.month("month-grid", area, sizes[columns])
        else:
            into.ruled(f"lines-{_pitch(scale):g}mm", area)
    _flap_notes(into)


def _year_cell(room: Rect, columns: int, scale: float) -> tuple[Rect, float, Rect]:
    """A month's place on a page for a year, how large its name is, and where its days stand."""
    cell = Rect(room.x, room.y, room.width / columns, room.height * columns / 12)
    name = min(4.2 * scale, 0.14 * cell.height)
    below = cell.height - 1.3 * name - 2.5 * scale
    return cell, name, Rect(cell.x, cell.y + 1.3 * name, cell.width - 4 * scale, below)


def _year_figures(room: Rect, columns: int, scale: float) -> float:
    """How large a year's figures are in so many columns, mm; 0 where they would be too small."""
    _, _, area = _year_cell(room, columns, scale)
    airy = min(0.66 * area.height / 7, 0.5 * area.width / 7)
    tight = min(0.92 * area.height / 7, 0.76 * area.width / 7)
    return max(airy, _SMALLEST_IN_YEAR_MM) if tight >= _SMALLEST_IN_YEAR_MM else 0.0


def _tracker(into: StarterPage) -> None:
    """A row for each date of the month, and columns to tick off one's habits in."""
    page, scale = into.page, into.scale
    head = _heading(into, "month-name", "March", beside="year")
    top = head + 20 * scale
    pitch = (page.bottom - top) / 31
    first = 9 * scale
    columns = max(4, round((page.width - first) / (10 * scale)))
    width = (page.width - first) / columns
    for number in range(columns + 1):
        x = page.x + first + number * width
        into.upright(x, head + 2 * scale, page.bottom)
    room = Rect(page.x, top, page.width, page.bottom - top)
    cell = Rect(room.x, room.y, room.width, pitch)
    size = max(_SMALLEST_FIGURE_MM, min(2.8 * scale, 0.62 * pitch))
    small = max(_SMALLEST_FIGURE_MM, 0.9 * size)
    with into.each("each-date-down", room, cell):
        into.line(cell.x, cell.bottom, cell.right)
        box = Rect(cell.x, cell.bottom - 1.2 * size, 1.6 * size, 1.2 * size)
        base = cell.bottom - 0.32 * size
        into.key(
            "date-number", "1", box, size, anchor="end", weight=300, fill=ACCENT, baseline=base
        )
        box = Rect(cell.x + 1.9 * size, box.y, 1.3 * size, box.height)
        into.key("date-name", "M", box, small, fill=SOFT, baseline=base)
    _flap_notes(into)


def _opening(into: StarterPage) -> None:
    """The period's name and its months, as many as can be read at this size."""
    page, scale = into.page, into.scale
    box = Rect(page.x, page.y, page.width, 4 * scale)
    into.key("set-title", "Week by week", box, 2.9 * scale, fill=SOFT)
    head = page.y + 0.16 * page.height
    box = Rect(page.x, head - 14 * scale, page.width, 12 * scale)
    into.key("period-name", "March – May 2027", box, 9.5 * scale, family=SERIF, fill=ACCENT)
    into.line(page.x, head, page.right)
    box = Rect(page.x, head + 1.5 * scale, page.width, 5 * scale)
    into.key("period-range", "1 March – 30 May 2027", box, 3.4 * scale, weight=300)
    top = head + 12 * scale
    months, columns = _most_months(Rect(page.x, top, page.width, page.bottom - top), scale)
    gap = 5 * scale
    width = (page.width - (columns - 1) * gap) / columns
    pitch = (page.bottom - top + gap) / (months // columns)
    name = 4.6 * scale
    for number in range(1, months + 1):
        row, column = divmod(number - 1, columns)
        x, y = page.x + column * (width + gap), top + row * pitch
        height = min(pitch - gap - 1.7 * name, 0.85 * width)
        only, base = f"month{number}", y + name
        box = Rect(x, y, 0.72 * width, 1.3 * name)
        said = _MONTHS[(number + 1) % 12]
        into.key(f"{only}-name", said, box, name, family=SERIF, baseline=base, only=only)
        box = Rect(x + 0.74 * width, y, 0.26 * width, 1.3 * name)
        _beside(into, f"{only}-year", box, 0.58 * name, base, only)
        into.month(f"{only}-grid", Rect(x, y + 1.7 * name, width, height))
    _flap_notes(into)


def _most_months(area: Rect, scale: float) -> tuple[int, int]:
    """How many small months go into an area, and in how many columns, with figures one can read."""
    for months, columns in ((12, 3), (6, 2), (4, 2), (3, 1)):
        width = (area.width - (columns - 1) * 5 * scale) / columns
        height = (area.height + 5 * scale) / (months // columns) - 13 * scale
        if min(0.66 * min(height, 0.85 * width) / 7, 0.5 * width / 7) >= _SMALLEST_FIGURE_MM:
            return months, columns
    return 2, 1


def _list(into: StarterPage) -> None:
    """Tick boxes with a writing line each, under a label."""
    head = _heading(into, "label-list", LABELS["list"])
    page, pitch = into.page, _pitch(into.scale) + 1
    area = Rect(page.x, head, page.width, page.bottom - head)
    into.ruled(f"checks-{pitch:g}mm", area, width=0.25)
    _flap_notes(into)


def _notes(into: StarterPage) -> None:
    """A dot grid under a label."""
    head = _heading(into, "label-notes", LABELS["notes"])
    page = into.page
    area = Rect(page.x, head + 2, page.width, page.bottom - head - 2)
    into.ruled("dots-5mm", area, width=0.2)
    _flap_notes(into)


def _divider(into: StarterPage) -> None:
    """A quiet page to begin a section with: its name, lines for what is in it, and its tab."""
    page, scale = into.page, into.scale
    at_left = into.face.binding_x == into.face.trim.x
    size = 3.6 * scale
    wide, high = 7 * size, 1.8 * size
    box = Rect(page.right - wide if at_left else page.x, page.y, wide, high)
    into.key(TAB_LABEL, "March", box, size, anchor="middle", weight=600,
             baseline=box.y + 0.5 * high + 0.33 * size)  # fmt: skip
    size, y = 12 * scale, page.y + 0.36 * page.height
    box = Rect(page.x, y - 1.42 * size, page.width, 1.3 * size)
    into.key(TAB_NAME, "March", box, size, family=SERIF, fill=ACCENT, baseline=y - 0.42 * size)
    into.line(page.x, y, page.right, colour=ACCENT, width=0.35)
    pitch = _pitch(scale) + 2
    lines = int(0.5 * page.height / pitch)
    into.ruled(f"lines-{pitch:g}mm", Rect(page.x, y, page.width, lines * pitch))
    _flap_notes(into)


def _marker(into: StarterPage) -> None:
    """A strip that goes along with the weeks: what is next, to be ticked off."""
    page, scale = into.page, into.scale
    size, y = 5.4 * scale, page.y + 12 * scale
    box = Rect(page.x, y - 1.42 * size, page.width, 1.3 * size)
    base = y - 0.42 * size
    into.key("label-list", LABELS["list"], box, size, family=SERIF, fill=ACCENT, baseline=base)
    into.line(page.x, y, page.right, colour=ACCENT, width=0.35)
    pitch = _pitch(scale) + 1
    into.ruled(f"checks-{pitch:g}mm", Rect(page.x, y, page.width, page.bottom - y), width=0.25)
    _flap_notes(into)


def _heading(into: StarterPage, key: str, sample: str, beside: str | None = None) -> float:
    """A heading over a rule, with a smaller figure at its right; returns the rule's y, mm."""
    page, scale = into.page, into.scale
    size, y = 9 * scale, page.y + 15 * scale
    room, base = page.width * (0.72 if beside else 1), y - 0.42 * size
    box = Rect(page.x, base - size, room, 1.3 * size)
    into.key(key, sample, box, size, family=SERIF, fill=ACCENT, baseline=base)
    if beside:
        box = Rect(page.x + 0.74 * page.width, base - size, 0.26 * page.width, 1.3 * size)
        _beside(into, beside, box, 0.45 * size, base)
    into.line(page.x, y, page.right)
    return y


def _beside(
    into: StarterPage, key: str, box: Rect, size: float, baseline: float, only: str | None = None
) -> None:
    """A year, small and light at the right of what is beside it."""
    into.key(key, "2027", box, size, anchor="end", weight=300, fill=SOFT, baseline=baseline,
             only=only)  # fmt: skip


def _flap_month(into: StarterPage, flap: Rect) -> Rect:
    """A small month at the head of a flap; returns its area, mm."""
    width = min(flap.width, 34 * into.scale)
    area = Rect(flap.x, flap.y, width, min(22 * into.scale, 0.75 * width))
    into.month("month-grid", area)
    return area


def _flap_notes(into: StarterPage, month: bool = False) -> None:
    """The flap of a page that has one: a small month if it is to hold it, and writing lines."""
    flap, scale = into.flap, into.scale
    if flap is None:
        return
    y = flap.y + 15 * scale
    if month:
        y = max(y, _flap_month(into, flap).bottom + 4 * scale)
    into.line(flap.x, y, flap.right)
    into.ruled(f"lines-{_pitch(scale):g}mm", Rect(flap.x, y, flap.width, flap.bottom - y))


def _pitch(scale: float) -> float:
    """Room for handwriting: 6 mm, less in the smallest binders (common practice)."""
    return 6.0 if scale > 0.9 else 5.0


DRAWN: Mapping[str, Callable[[StarterPage], None]] = {
    "week": _week,
    "day": _day,
    "month": _month,
    "month-grid": _month_grid,
    "tracker": _tracker,
    "year": _year,
    "opening": _opening,
    "list": _list,
    "notes": _notes,
    "divider": _divider,
    "marker": _marker,
}
"""What draws a page of each kind."""

KINDS = tuple(DRAWN)


class Starter(NamedTuple):
    """A starter template: the file, and the labels it shows with their English words."""

    svg: bytes
    labels: dict[str, str]


def starter_page(
    kind: str, binder: Binder, flap_mm: float = 0.0, side: Side = Side.RECTO
) -> Starter:
    """A starter template of a kind for one side of a binder's leaf.

    ``flap_mm`` is the width of the flap on its fore edge. Raises UserError for an unknown kind,
    and for a flap that would lie on the rings.

    >>> from pipeline.plan.sizes import load_sizes
    >>> b'id="day1-name"' in starter_page("week", load_sizes(None).binder("a5")).svg
    True
    """
    if kind not in DRAWN:
        raise UserError(f"starter '{kind}'", "no such kind of page", did_you_mean(kind, KINDS))
    face = LeafGeometry(binder, flap_mm).face(side)
    into = StarterPage(face, f"{kind}, {binder.title} {side}")
    DRAWN[kind](into)
    svg = into.svg()
    shown = {key: word for key, word in LABELS.items() if f'"label-{key}"'.encode() in svg}
    return Starter(svg, shown)


def write_starter(target: Path, kind: str, binder: Binder, flap_mm: float, side: Side) -> list[str]:
    """Writes a starter template to ``target``; returns the file and what else it needs, as lines.

    Raises UserError where there is a file already, and as ``starter_page`` does.
    """
    page = starter_page(kind, binder, flap_mm, side)
    if target.exists():
        raise UserError(
            str(target),
            "is there already",
            "give the page another name",
        )
    write_whole(target, page.svg)
    lines = [str(target)]
    if flap_mm:
        lines.append("collection.toml needs:")
        lines += [f"    [flaps_mm.{binder.name}]", f"    {target.stem} = {flap_mm:g}"]
    if f'"{TAB_LABEL}"'.encode() in page.svg:
        lines.append("its set in the season file needs, for six tabs 12 mm deep:")
        lines.append("    tab = { of = 6, reach_mm = 12 }")
    if page.labels:
        lines.append("labels/en.toml needs:")
        lines += [f"    {key} = {json.dumps(word)}" for key, word in page.labels.items()]
    return lines


_PAGES = (("week", Side.VERSO), ("list", Side.RECTO))
"""The pages of a new collection: a spread for each week."""


def new_workspace(
    folder: Path,
    binders: Sequence[Binder],
    month: dt.date,
    *,
    papers: Sequence[str] = ("letter", "a4"),
    languages: Sequence[str] = ("en-GB",),
    first_weekday: str | None = None,
    title: str = "",
    season: str = "",
    command: str = "leafset",
    months: int = 1,
) -> list[Path]:
    """Makes ``folder`` a workspace whose season has the month that ``month`` is in, or so many
    ``months`` from it on (1 to 12), each a period of its own.

    ``command`` is how its Makefile, and what opens its desk, call the program. Returns the files in
    it. The folder's name becomes that of the season and the collection; ``title`` is what both are
    called, unless there is a title for the ``season``. Raises UserError when the
    folder is there already, its name will not do, or a language isn't known.
    """
    name = folder.name
    try:
        safe_name(name)
    except ValueError as problem:
        raise UserError(str(folder), *problem.args) from None
    if folder.exists():
        raise UserError(folder.name, "is there already, as a folder", "choose another name")
    wanted = months_of(month, later(month.replace(day=1), months - 1))
    called = " ".join(title.split()) or name.replace("-", " ").replace("_", " ").capitalize()
    english = all(words_for(one).locale.language == "en" for one in languages)
    further = [] if english else ['label_fallback = "en"']
    further += [f'first_weekday = "{first_weekday}"'] if first_weekday else []
    words = {
        "NAME": name,
        "TITLE": called,
        "TITLE_IN_TOML": json.dumps(called, ensure_ascii=False)[1:-1],
        "SEASON_IN_TOML": json.dumps(" ".join(season.split()) or called, ensure_ascii=False)[1:-1],
        "BINDER": binders[0].name,
        "BINDERS": json.dumps([one.name for one in binders])[1:-1],
        "PAPERS": json.dumps([*papers])[1:-1],
        "LANGUAGES": json.dumps([*languages])[1:-1],
        "FURTHER": "".join(f"{line}\n" for line in further),
        "PERIODS": "".join(_period(one) for one in wanted),
        "COMMAND": command,
        "UNREAD": UNREAD,
        "OPEN": _in_desktop_entry(f'cd "$(dirname "$1")" && exec {command} desk'),
    }
    collection = f"templates_svg/{name}"
    files = {
        "Makefile": _filled("Makefile", words),
        "README.md": _filled("README.md", words),
        ".gitignore": b"build/\n",
        **{file: _filled(file, words) for file in OPENERS},
        f"seasons/{name}.toml": _filled("season.toml", words),
        f"{collection}/collection.toml": _filled("collection.toml", words),
        f"{collection}/labels/en.toml": _labels(),
        f"{collection}/licence/en.txt": _filled("licence.txt", words),
        f"{collection}/words/en.toml": _filled("words.toml", words),
    }
    for binder, (kind, side) in itertools.product(binders, _PAGES):
        files[f"{collection}/{binder.name}/{kind}.svg"] = starter_page(kind, binder, side=side).svg
    with whole_folder(folder) as new:
        write_files(new, files)
        for file in OPENERS:
            (new / file).chmod(0o755)
    return [folder / path for path in files]


def _period(month: dt.date) -> str:
    name = words_for("en-GB").month_name(month)[0].lower()
    return f'[[period]]\nname = "{name}"\nmonth = "{month:%Y-%m}"\n\n'


UNREAD = "# Nobody has read these terms yet. Take this line out when they are what you want to say."
"""Stands in the terms that a shop begins with until somebody says that they are theirs."""

OPENERS = ("Open the desk.command", "Open the desk.bat", "Open the desk.desktop")
"""Files to double-click: on macOS, on Windows, and on the usual desktops of Linux."""


def _in_desktop_entry(argument: str) -> str:
    """An argument quoted as a desktop entry wants it (freedesktop.org, Desktop Entry Specification,
    "The Exec key"): a backslash before quotes, dollars, backticks and backslashes, and in the value
    each backslash twice.
    """
    quoted = re.sub(r'(["`$\\])', r"\\\1", argument)
    return '"' + quoted.replace("\\", "\\\\") + '"'


def _filled(name: str, words: dict[str, str]) -> bytes:
    skeleton = resources.files("pipeline.drawings.starters") / "skeleton"
    text = skeleton.joinpath(name).read_text("utf-8")
    for key, word in words.items():
        text = text.replace(f"@{key}@", word)
    if name.endswith(".bat"):
        text = text.replace("\n", "\r\n")
    return text.encode()


def _labels() -> bytes:
    lines = ["# Words on the pages that are no dates; a list gives shorter forms, longest first."]
    lines += [f"{key} = {json.dumps(word)}" for key, word in LABELS.items()]
    return ("\n".join(lines) + "\n").encode()
