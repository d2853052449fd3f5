"""What starter pages hold and how it is laid out: plain type on a grid, to be drawn on."""

from __future__ import annotations

from collections.abc import Callable, Mapping

from pipeline.base.geometry import Rect
from pipeline.drawings.starters.sheet import ACCENT, RULE, SERIF, SOFT, Sheet

LABELS: Mapping[str, str] = {
    "week": "Week",
    "list": "To do",
    "notes": "Notes",
}
"""The labels that starter pages show, in English."""

_DAYS = ("Monday", "Tuesday", "Wednesday", "Thursday", "Friday", "Saturday", "Sunday")
_MONTHS = ("January", "February", "March", "April", "May", "June", "July", "August", "September",
           "October", "November", "December")  # fmt: skip

_SMALLEST_FIGURE_MM = 1.6
"""Figures of a small month below 4.5 points are read by nobody (common practice)."""


def draw_week(sheet: Sheet) -> None:
    """The seven days one below the other, the week's figures above, the flap for the week."""
    page, scale = sheet.page, sheet.scale
    grid = Rect(page.right - 30 * scale, page.y, 30 * scale, 22 * scale)
    head = 24 * scale
    room = page.width
    if sheet.flap is None:
        sheet.month("month-grid", grid)
        room = grid.x - page.x - 2 * scale
    sheet.key("month-name", "March", Rect(page.x, page.y + 4.6 * scale, 0.7 * room, 11 * scale),
              9 * scale, family=SERIF, fill=ACCENT)  # fmt: skip
    base = page.y + 15.6 * scale - 0.26 * 9 * scale
    sheet.key("year", "2027", Rect(page.x + 0.7 * room, page.y + 6 * scale, 0.3 * room, 8 * scale),
              4 * scale, anchor="end", weight=300, fill=SOFT, baseline=base)  # fmt: skip
    size = 3.6 * scale
    below = Rect(page.x, base + 1.4 * scale, 0.62 * room, 5.2 * scale)
    sheet.key("week-range", "1 – 7 March", below, size, weight=300)
    right = page.x + room
    number = Rect(right - 1.2 * size, below.y, 1.2 * size, below.height)
    sheet.key("week-number", "9", number, size, anchor="end", fill=ACCENT)
    week = Rect(below.right, below.y, number.x - 0.25 * size - below.right, below.height)
    sheet.key("label-week", LABELS["week"], week, size, anchor="end", weight=300, fill=SOFT)
    pitch, count = _even((page.height - head) / 7)
    rows = Rect(page.x, page.bottom - 7 * count * pitch, page.width, count * pitch)
    for day, name in enumerate(_DAYS, 1):
        lines = count if day == 7 else count - 1  # the last one is the next day's first rule
        _day(sheet, day, name, rows.moved(0, (day - 1) * rows.height), pitch, lines)
    if sheet.flap is not None:
        _week_flap(sheet, sheet.flap, rows, pitch, count)


def _even(height: float) -> tuple[float, int]:
    """The pitch of writing lines that fills a row best, mm, and how many go into it."""
    fits = [(int(height / pitch) * pitch, pitch) for pitch in (5.0, 5.5, 6.0, 6.5, 7.0)]
    filled, pitch = max(fits)
    return pitch, round(filled / pitch)


def _day(sheet: Sheet, number: int, name: str, row: Rect, pitch: float, count: int) -> None:
    scale = sheet.scale
    sheet.line(row.x, row.y, row.right)
    sheet.only(f"day{number}-weekend")
    sheet.line(row.x, row.y, row.right, colour=ACCENT, width=0.35)
    sheet.only(None)
    column = min(30 * scale, 0.34 * row.width)
    figure = min(9.5 * scale, 0.5 * row.height)
    base = row.y + 0.5 * scale + 0.86 * figure
    box = Rect(row.x, base - figure, 0.44 * column, 1.25 * figure)
    sheet.key(
        f"day{number}-number", str(number), box, figure, weight=200, fill=ACCENT, baseline=base
    )
    small = 2.5 * scale
    sheet.only(f"day{number}-month-start")
    beside = Rect(row.x + 0.46 * column, base - small, 0.52 * column, 1.3 * small)
    above = beside.moved(0, -1.05 * small)
    sheet.key(f"day{number}-month", "March", above, small, fill=SOFT, baseline=base - 1.05 * small)
    sheet.only(None)
    ordinal = str(59 + number)
    sheet.key(f"day{number}-of-year", ordinal, beside, small, weight=300, fill=SOFT, baseline=base)
    size = 4.6 * scale
    sheet.key(
        f"day{number}-name",
        name,
        Rect(row.x, base + 0.9 * scale, column, 1.2 * size),
        size,
        family=SERIF,
    )
    left = row.x + column + 2 * scale
    area = Rect(left, row.y, row.right - left, count * pitch)
    sheet.ruled(f"lines-{pitch:g}mm", area)


def _week_flap(sheet: Sheet, flap: Rect, rows: Rect, pitch: float, count: int) -> None:
    """A small month, and for each day its date over writing lines level with the page's."""
    scale = sheet.scale
    width = min(flap.width, 34 * scale)
    sheet.month("month-grid", Rect(flap.x, flap.y, width, min(22 * scale, 0.75 * width)))
    small = 2.9 * scale
    for number in range(1, 8):
        y = rows.y + (number - 1) * rows.height
        sheet.line(flap.x, y, flap.right)
        box = Rect(flap.x, y + 0.4 * small, flap.width, 1.35 * small)
        sheet.key(f"day{number}-date", f"{number} March", box, small, fill=SOFT)
        lines = count - 1 if number == 7 else count - 2
        if lines > 0:
            area = Rect(flap.x, y + pitch, flap.width, lines * pitch)
            sheet.ruled(f"lines-{pitch:g}mm", area)


def draw_month(sheet: Sheet) -> None:
    """The days of the month in two columns, a writing line each."""
    page, scale = sheet.page, sheet.scale
    head = _heading(sheet, "month-name", "March", beside="year")
    corner = Rect(page.right - 10 * scale, page.y, 10 * scale, 3.6 * scale)
    sheet.key("month-number", "3", corner, 2.9 * scale, anchor="end", fill=SOFT)
    gap = 5 * scale
    width, pitch = (page.width - gap) / 2, (page.bottom - head) / 16
    size = min(4.2 * scale, 0.62 * pitch)
    for day in range(1, 32):
        column, row = divmod(day - 1, 16)
        x, y = page.x + column * (width + gap), head + (row + 1) * pitch
        sheet.only(f"date{day}" if day > 28 else None)
        sheet.line(x, y, x + width)
        base = y - 0.3 * size
        box = Rect(x, y - 1.2 * size, 1.35 * size, 1.2 * size)
        number, name = f"date{day}-number", f"date{day}-name"
        sheet.key(number, str(day), box, size, anchor="end", weight=300, fill=ACCENT, baseline=base)
        box = Rect(x + 1.7 * size, box.y, 0.22 * width, box.height)
        sheet.key(name, _DAYS[(day - 1) % 7], box, 0.62 * size, fill=SOFT, baseline=base)
        sheet.only(None)
    if sheet.flap is not None:
        _flap_notes(sheet, sheet.flap, "month-grid")


def draw_opening(sheet: Sheet) -> None:
    """The period's name and its months, as many as can be read at this size."""
    page, scale = sheet.page, sheet.scale
    sheet.key(
        "set-title",
        "Week by week",
        Rect(page.x, page.y, page.width, 4 * scale),
        2.9 * scale,
        fill=SOFT,
    )
    head = page.y + 0.16 * page.height
    box = Rect(page.x, head - 14 * scale, page.width, 12 * scale)
    sheet.key("period-name", "March – May 2027", box, 9.5 * scale, family=SERIF, fill=ACCENT)
    sheet.line(page.x, head, page.right)
    box = Rect(page.x, head + 1.5 * scale, page.width, 5 * scale)
    sheet.key("period-range", "1 March – 30 May 2027", box, 3.4 * scale, weight=300)
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
        sheet.only(f"month{number}")
        base = y + name
        box = Rect(x, y, 0.72 * width, 1.3 * name)
        said = _MONTHS[(number + 1) % 12]
        sheet.key(f"month{number}-name", said, box, name, family=SERIF, baseline=base)
        box = Rect(x + 0.74 * width, y, 0.26 * width, 1.3 * name)
        _beside(sheet, f"month{number}-year", box, 0.58 * name, base)
        sheet.only(None)
        sheet.month(f"month{number}-grid", Rect(x, y + 1.7 * name, width, height))
    if sheet.flap is not None:
        _flap_notes(sheet, sheet.flap, None)


def _most_months(area: Rect, scale: float) -> tuple[int, int]:
    """How many small months go into an area, and in how many columns, with figures one can read."""
    for months, columns in ((12, 3), (6, 2), (4, 2), (3, 1)):
        width = (area.width - (columns - 1) * 5 * scale) / columns
        height = (area.height + 5 * scale) / (months // columns) - 13 * scale
        if min(0.66 * min(height, 0.85 * width) / 7, 0.5 * width / 7) >= _SMALLEST_FIGURE_MM:
            return months, columns
    return 2, 1


def draw_list(sheet: Sheet) -> None:
    """Tick boxes with a writing line each, under a label."""
    head = _heading(sheet, "label-list", LABELS["list"])
    page, pitch = sheet.page, _pitch(sheet.scale) + 1
    sheet.ruled(
        f"checks-{pitch:g}mm", Rect(page.x, head, page.width, page.bottom - head), width=0.25
    )
    if sheet.flap is not None:
        _flap_notes(sheet, sheet.flap, None)


def draw_notes(sheet: Sheet) -> None:
    """A dot grid under a label."""
    head = _heading(sheet, "label-notes", LABELS["notes"])
    page = sheet.page
    area = Rect(page.x, head + 2, page.width, page.bottom - head - 2)
    sheet.ruled("dots-5mm", area, width=0.2)
    if sheet.flap is not None:
        _flap_notes(sheet, sheet.flap, None)


def _heading(sheet: Sheet, key: str, sample: str, beside: str | None = None) -> float:
    """A heading over a rule, with a smaller figure at its right; returns the rule's y, mm."""
    page, scale = sheet.page, sheet.scale
    size = 9 * scale
    y = page.y + 15 * scale
    room = page.width * (0.72 if beside else 1)
    base = y - 0.42 * size
    sheet.key(
        key,
        sample,
        Rect(page.x, base - size, room, 1.3 * size),
        size,
        family=SERIF,
        fill=ACCENT,
        baseline=base,
    )
    if beside:
        box = Rect(page.x + 0.74 * page.width, base - size, 0.26 * page.width, 1.3 * size)
        _beside(sheet, beside, box, 0.45 * size, base)
    sheet.line(page.x, y, page.right)
    return y


def _beside(sheet: Sheet, key: str, box: Rect, size: float, baseline: float) -> None:
    """A year, small and light at the right of what is beside it."""
    sheet.key(key, "2027", box, size, anchor="end", weight=300, fill=SOFT, baseline=baseline)


def _flap_notes(sheet: Sheet, flap: Rect, month: str | None) -> None:
    """The flap of a page: a small month if it has one, and writing lines."""
    scale = sheet.scale
    y = flap.y + 15 * scale
    if month:
        width = min(flap.width, 34 * scale)
        area = Rect(flap.x, flap.y, width, min(22 * scale, 0.75 * width))
        sheet.month(month, area)
        y = max(y, area.bottom + 4 * scale)
    sheet.line(flap.x, y, flap.right)
    sheet.ruled(
        f"lines-{_pitch(scale):g}mm", Rect(flap.x, y, flap.width, flap.bottom - y), colour=RULE
    )


def _pitch(scale: float) -> float:
    """Room for handwriting: 6 mm, less in the smallest binders."""
    return 6.0 if scale > 0.9 else 5.0


DRAWN: Mapping[str, Callable[[Sheet], None]] = {
    "week": draw_week,
    "month": draw_month,
    "opening": draw_opening,
    "list": draw_list,
    "notes": draw_notes,
}
"""What draws a page of each kind."""
