"""Draws moon-disc.png: the moons of February 2027, seen from the north and from the south.

Run from the project's folder: ``python docs/pictures/moon_disc.py``.
"""

from __future__ import annotations

import tempfile
from pathlib import Path

import pypdfium2 as pdfium
from PIL import Image

from pipeline.app.build import faces_of
from pipeline.draw import draw_set
from pipeline.fill import fill_set
from pipeline.fill.template import open_template
from pipeline.plan import plan_season
from tests.sidebyside import save_small

DPI, GAP = 96.0, 12
PAGE = """<svg xmlns="http://www.w3.org/2000/svg" width="148mm" height="210mm"
  viewBox="0 0 148 210" font-family="Source Sans 3" font-size="3.2" fill="#555555">
  <g id="each-date-alone"><rect x="18" y="10" width="112" height="72" fill="none"/><g>
    <rect x="18" y="10" width="16" height="18" fill="none" stroke="#a0a0a0" stroke-width="0.25"/>
    <text id="date-number" x="19.4" y="14.4">1</text>
    <circle id="date-moon-disc" cx="27" cy="20" r="4.6" fill="#7d775f" stroke="#7d775f"
      stroke-width="0.25"/>
  </g></g>
</svg>"""
SEASON = """
name = "moons"
title = "Moons"
collection = "moons"
language = "en-GB"
first_weekday = "monday"
sizes = "a5"
papers = "a4"
almanac = {{ latitude = {latitude}, longitude = 0 }}
period = [{{ name = "february", month = "2027-02" }}]
set = [{{ name = "pages", spreads = [{{ verso = "moons", recto = "moons", per = "month" }}] }}]
"""


def moons(latitude: int) -> Image.Image:
    """The calendar of a month with its moons."""
    with tempfile.TemporaryDirectory() as name:
        collection = Path(name) / "templates_svg" / "moons"
        (collection / "a5").mkdir(parents=True)
        (collection / "labels").mkdir()
        (collection / "labels" / "en.toml").write_text("")
        (collection / "collection.toml").write_text('title = "Moons"\n')
        drawn = collection / "a5" / "moons.svg"
        drawn.write_text(PAGE)
        season = Path(name) / "season.toml"
        season.write_text(SEASON.format(latitude=latitude))
        plan = plan_season(season)
        [dated], book = plan.sets, faces_of(plan).book()
        filled = fill_set(dated, {"moons": open_template(drawn)}, book)
        document = pdfium.PdfDocument(draw_set(filled[:1], book))
        page = document[0].render(scale=DPI / 72).to_pil()
        left, top, right, bottom = (round(mm * DPI / 25.4) for mm in (14, 6, 134, 86))
        return page.crop((left, top, right, bottom))


def main() -> None:
    north, south = moons(50), moons(-35)
    sheet = Image.new("RGB", (2 * north.width + 3 * GAP, north.height + 2 * GAP), "#eeeeea")
    sheet.paste(north, (GAP, GAP))
    sheet.paste(south, (north.width + 2 * GAP, GAP))
    save_small(sheet, Path(__file__).with_name("moon-disc.png"))


if __name__ == "__main__":
    main()
