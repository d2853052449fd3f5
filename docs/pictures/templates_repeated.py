"""Draws templates-repeated.png: pages whose samples were drawn once, as the starters draw them; and
templates-nested.png: pages whose samples hold others.

Run from the project's folder: ``python docs/pictures/templates_repeated.py``. The pages are for A5,
with March 2027, its first day, its quarter and its year in them.
"""

from __future__ import annotations

import tempfile
from collections.abc import Sequence
from pathlib import Path

import pypdfium2 as pdfium
from PIL import Image

from pipeline.app.build import faces_of
from pipeline.draw import draw_set
from pipeline.drawings.starters.starter import LABELS, starter_page
from pipeline.fill import fill_set
from pipeline.fill.template import open_template
from pipeline.plan import plan_season
from pipeline.plan.sizes import load_sizes
from tests.sidebyside import save_small

DPI = 76.0
GAP = 12
KINDS = {"month-grid": "month", "tracker": "month", "year": "year", "day": "day"}
SEASON = """
name = "starters"
title = "Starters"
collection = "starters"
language = ["en-GB"]
sizes = ["a5"]
papers = ["a4"]
almanac = {{ holidays = ["GB-ENG"] }}
period = [{{ name = "whole", months = ["2027-{first}", "2027-{last}"] }}]
set = [{{ name = "pages", title = "Pages", spreads = [
  {{ verso = "{kind}", recto = "{kind}", per = "{per}" }} ] }}]
"""


INK, GREEN, RULE, CLAY = "#4d534e", "#4f7a4c", "#949b93", "#a25a38"


def rect(x: float, y: float, width: float, height: float, stroke: str = "none") -> str:
    return (
        f'<rect x="{x:.2f}" y="{y:.2f}" width="{width:.2f}" height="{height:.2f}" fill="none"'
        f' stroke="{stroke}" stroke-width="0.2"/>'
    )


def text(key: str, x: float, y: float, size: float, sample: str, look: str = "") -> str:
    return f'<text id="{key}" x="{x:.2f}" y="{y:.2f}" font-size="{size}" {look}>{sample}</text>'


def each(what: str, room: str, *sample: str) -> str:
    return f'<g id="each-{what}">{room}<g>{"".join(sample)}</g></g>'


def headed(key: str, sample: str, *parts: str) -> str:
    """A page with a heading and a rule below it."""
    serif = f'font-family="EB Garamond" fill="{GREEN}"'
    return (
        '<svg xmlns="http://www.w3.org/2000/svg" width="148mm" height="210mm"'
        f' viewBox="0 0 148 210" font-family="Source Sans 3" fill="{INK}">'
        f'{text(key, 15, 18, 9, sample, serif)}<path d="M15 22H142" stroke="{RULE}"'
        f' stroke-width="0.3"/>{"".join(parts)}</svg>'
    )


def year_of_calendars() -> str:
    x, y, wide = 15.0, 27.0, 5.75
    name = text("month-name", x, y + 4, 4, "March", f'font-family="EB Garamond" fill="{GREEN}"')
    head = text("weekday-name", x + wide / 2, y + 8.6, 2.2, "M", 'text-anchor="middle"')
    heads = each(
        "weekday-across-even", rect(x, y + 6.4, 7 * wide, 3), rect(x, y + 6.4, wide, 3), head
    )
    feast = f'<g id="show-feast"><circle cx="{x + 4.6}" cy="{y + 14}" r="0.6" fill="{CLAY}"/></g>'
    cell = rect(x, y + 9.6, wide, 5.2, RULE) + text("date-number", x + 0.7, y + 12, 2.3, "1")
    dates = each("date-alone", rect(x, y + 9.6, 7 * wide, 31), cell, feast)
    month = rect(x, y, 43, 44), name, heads, dates
    return headed("year", "2027", each("month", rect(x, y, 129, 176), *month))


def quarter_of_dates() -> str:
    x, y, wide = 15.0, 27.0, 42.33
    name = text("month-name", x, y + 4, 5, "March", f'font-family="EB Garamond" fill="{GREEN}"')
    row = rect(x, y + 7, wide - 2.5, 5.4) + (
        f'<path d="M{x} {y + 12.4:.2f}h{wide - 2.5:.2f}" stroke="{RULE}" stroke-width="0.2"/>'
    )
    figure = text("date-number", x + 3.8, y + 11.2, 3, "1", f'text-anchor="end" fill="{GREEN}"')
    day = (
        f'<g id="date-name">{rect(x + 5, y + 8, 6.4, 3.6)}'
        f'<text x="{x + 5}" y="{y + 11.2:.2f}" font-size="2.3">Mo</text></g>'
    )
    feast = (
        f'<g id="date-feast">{rect(x + 12, y + 8, 27, 3.6)}'
        f'<text x="{x + 12}" y="{y + 11.2:.2f}" font-size="2.3" fill="{CLAY}">Easter</text></g>'
    )
    dates = each("date-down", rect(x, y + 7, wide - 2.5, 168), row, figure, day, feast)
    month = each("month-across", rect(x, y, 127, 176), rect(x, y, wide, 176), name, dates)
    return headed("period-name", "March", month)


def month_of_weeks() -> str:
    x, y, wide = 15.0, 27.0, 16.6
    number = text("week-number", x + 1, y + 6, 4, "9", f'font-family="EB Garamond" fill="{CLAY}"')
    cell = rect(x + 10.5, y, wide, 33, RULE)
    figure = text("day-number", x + 11.8, y + 5, 4, "1", f'fill="{GREEN}"')
    name = text("day-name", x + 11.8, y + 8.4, 2.3, "Mon")
    days = each("day-across", rect(x + 10.5, y, 7 * wide, 33), cell, figure, name)
    weeks = each("week-down", rect(x, y, 127, 173), rect(x, y, 127, 33), number, days)
    return headed("month-name", "March", weeks)


def habits_of_dates() -> str:
    x, y, wide = 15.0, 27.0, 3.2
    line = text("line", x, y + 6, 3.4, "Walk")
    figure = text(
        "date-number",
        x + 27.8 + wide / 2,
        y + 3.4,
        2.1,
        "1",
        f'text-anchor="middle" fill="{GREEN}"',
    )
    cell = rect(x + 27.8, y + 4.4, wide, 4.6, RULE)
    place = rect(x + 27.8, y, wide, 13.5)
    dates = each("date-across", rect(x + 27.8, y, 31 * wide, 13.5), place, cell, figure)
    lines = each("line-of-habits-down", rect(x, y, 127, 82), rect(x, y, 127, 13.6), line, dates)
    hour = text("hour", x, 123.4, 2.8, "7")
    of_day = rect(x + 14, 118, 113 / 7, 8, RULE) + text("weekday-name", x + 15, 120.8, 2.1, "Mon")
    heads = each("weekday-across-even", rect(x + 14, 118, 113, 8), of_day)
    hours = each("hour-8-17-down", rect(x, 118, 127, 80), rect(x, 118, 127, 8), hour, heads)
    return headed("month-name", "March", lines, hours)


HABITS = "en\nA walk\nTen pages\nEarly to bed\nNo screens\nWater\nStretch\n"


def page(svg: bytes, per: str) -> Image.Image:
    """A right-hand page with its dates in it."""
    months = {"year": ("01", "12"), "quarter": ("01", "03")}.get(per, ("03", "03"))
    with tempfile.TemporaryDirectory() as name:
        collection = Path(name) / "templates_svg" / "starters"
        for folder in ("a5", "labels", "lists"):
            (collection / folder).mkdir(parents=True)
        drawn = collection / "a5" / "page.svg"
        drawn.write_bytes(svg)
        labels = "\n".join(f'{key} = "{word}"' for key, word in LABELS.items())
        (collection / "labels" / "en.toml").write_text(labels, "utf-8")
        (collection / "lists" / "habits.csv").write_text(HABITS, "utf-8")
        (collection / "collection.toml").write_text('title = "Starters"\n', "utf-8")
        season = Path(name) / "season.toml"
        season.write_text(SEASON.format(kind="page", per=per, first=months[0], last=months[1]))
        plan = plan_season(season)
        [dated], book = plan.sets, faces_of(plan).book()
        filled = fill_set(dated, {"page": open_template(drawn)}, book)
        document = pdfium.PdfDocument(draw_set(filled[:1], book))
        return document[0].render(scale=DPI / 72).to_pil()


def side_by_side(pages: Sequence[Image.Image], name: str) -> None:
    width = sum(one.width for one in pages) + GAP * (len(pages) + 1)
    sheet = Image.new("RGB", (width, pages[0].height + 2 * GAP), "#eeeeea")
    left = GAP
    for one in pages:
        sheet.paste(one, (left, GAP))
        left += one.width + GAP
    save_small(sheet, Path(__file__).with_name(name))


def main() -> None:
    a5 = load_sizes(None).binder("a5")
    starters = [page(starter_page(kind, a5).svg, per) for kind, per in KINDS.items()]
    side_by_side(starters, "templates-repeated.png")
    nested = {
        "year": year_of_calendars(),
        "quarter": quarter_of_dates(),
        "month": month_of_weeks(),
    }
    pages = [page(svg.encode(), per) for per, svg in nested.items()]
    side_by_side([*pages, page(habits_of_dates().encode(), "month")], "templates-nested.png")


if __name__ == "__main__":
    main()
