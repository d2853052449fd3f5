"""Draws resize-before-after.png: a spread drawn for A5, and what resizing makes of it by itself.

Run from the project's folder: ``python docs/pictures/resize_before_after.py``. All at one scale,
with the dates of the first week of March 2027 in them; nothing was touched up.
"""

from __future__ import annotations

import tempfile
from pathlib import Path

import pypdfium2 as pdfium
from PIL import Image

from pipeline.app.build import faces_of
from pipeline.draw import draw_set
from pipeline.drawings.resize.resizing import resize_templates
from pipeline.fill import fill_set
from pipeline.fill.template import open_template
from pipeline.plan import plan_season
from pipeline.plan.sizes import load_sizes
from pipeline.text import FontBook
from tests.sidebyside import save_small

DPI = 76.0
GAP = 12
SIZES = ("a5", "personal", "a6")
NAMES = ("week-running-verso", "week-running-recto")
DRAWN = Path(__file__).parents[2] / "templates_svg" / "kitchen_garden"
SEASON = """
name = "resized"
title = "Resized"
collection = "kitchen_garden"
language = ["en-GB"]
sizes = ["{size}"]
papers = ["a4"]
weeks = "majority"
period = [{{ name = "march", month = "2027-03" }}]
set = [{{ name = "running", title = "Running", spreads = [
  {{ verso = "week-running-verso", recto = "week-running-recto", per = "week" }} ] }}]
"""


def spread(size: str) -> Image.Image:
    """The two pages for a size side by side, the first week's dates in them."""
    sizes, pages = load_sizes(None), [open_template(DRAWN / "a5" / f"{name}.svg") for name in NAMES]
    with tempfile.TemporaryDirectory() as name:
        collection = Path(name) / "templates_svg" / "kitchen_garden"
        (collection / size).mkdir(parents=True)
        (collection / "labels").symlink_to(DRAWN / "labels")
        made = resize_templates(pages, sizes.binder(size), sizes, FontBook())
        for page, one in zip(pages, made, strict=True):
            (collection / size / page.path.name).write_bytes(one.data)
        flap = f"[flaps_mm.{size}]\n{NAMES[0]} = {made[0].flap_mm:g}\n"
        (collection / "collection.toml").write_text(f'title = "Resized"\n{flap}')
        season = Path(name) / "season.toml"
        season.write_text(SEASON.format(size=size))
        plan = plan_season(season)
        [dated], book = plan.sets, faces_of(plan).book()
        files = {stem: open_template(collection / size / f"{stem}.svg") for stem in NAMES}
        document = pdfium.PdfDocument(draw_set(fill_set(dated, files, book), book))
        shown = [document[number].render(scale=DPI / 72).to_pil() for number in (0, 1)]
    both = Image.new("RGB", (sum(one.width for one in shown) + 2, shown[0].height), "#d9d9d4")
    both.paste(shown[0], (0, 0))
    both.paste(shown[1], (shown[0].width + 2, 0))
    return both


def main() -> None:
    spreads = [spread(size) for size in SIZES]
    width = sum(one.width for one in spreads) + GAP * (len(spreads) + 1)
    height = max(one.height for one in spreads) + 2 * GAP
    sheet = Image.new("RGB", (width, height), "#eeeeea")
    left = GAP
    for one in spreads:
        sheet.paste(one, (left, GAP))
        left += one.width + GAP
    save_small(sheet, Path(__file__).with_name("resize-before-after.png"))


if __name__ == "__main__":
    main()
