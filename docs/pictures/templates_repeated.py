"""Draws templates-repeated.png: pages whose samples were drawn once, as the starters draw them.

Run from the project's folder: ``python docs/pictures/templates_repeated.py``. The pages are for A5,
with March 2027, its first day and its year in them.
"""

from __future__ import annotations

import tempfile
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
period = [{{ name = "whole", months = ["2027-{first}", "2027-{last}"] }}]
set = [{{ name = "pages", title = "Pages", spreads = [
  {{ verso = "{kind}", recto = "{kind}", per = "{per}" }} ] }}]
"""


def page(kind: str, per: str) -> Image.Image:
    """A starter's right-hand page with its dates in it."""
    months = ("01", "12") if per == "year" else ("03", "03")
    with tempfile.TemporaryDirectory() as name:
        collection = Path(name) / "templates_svg" / "starters"
        (collection / "a5").mkdir(parents=True)
        (collection / "labels").mkdir()
        drawn = collection / "a5" / f"{kind}.svg"
        drawn.write_bytes(starter_page(kind, load_sizes(None).binder("a5")).svg)
        labels = "\n".join(f'{key} = "{word}"' for key, word in LABELS.items())
        (collection / "labels" / "en.toml").write_text(labels, "utf-8")
        (collection / "collection.toml").write_text('title = "Starters"\n', "utf-8")
        season = Path(name) / "season.toml"
        season.write_text(SEASON.format(kind=kind, per=per, first=months[0], last=months[1]))
        plan = plan_season(season)
        [dated], book = plan.sets, faces_of(plan).book()
        filled = fill_set(dated, {kind: open_template(drawn)}, book)
        document = pdfium.PdfDocument(draw_set(filled[:1], book))
        return document[0].render(scale=DPI / 72).to_pil()


def main() -> None:
    pages = [page(kind, per) for kind, per in KINDS.items()]
    width = sum(one.width for one in pages) + GAP * (len(pages) + 1)
    sheet = Image.new("RGB", (width, pages[0].height + 2 * GAP), "#eeeeea")
    left = GAP
    for one in pages:
        sheet.paste(one, (left, GAP))
        left += one.width + GAP
    save_small(sheet, Path(__file__).with_name("templates-repeated.png"))


if __name__ == "__main__":
    main()
